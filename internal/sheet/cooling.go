package sheet

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A Cooling is what a run's radiators do, whose tables are asked for.
type Cooling struct {
	*run.Cooling
	run *Run
}

// Cooling is run.Run's. The trim has to have cooling.
func (r *Run) Cooling() (*Cooling, error) {
	c, err := r.Run.Cooling()
	if err != nil {
		return nil, err
	}
	return &Cooling{c, r}, nil
}

// Heat returns where the fuel's energy goes over engine speed, by what has to take it.
func (r *Run) Heat() table.Table {
	known := table.Known[run.HeatFlow](func(h run.HeatFlow) error {
		if h.Outcome.Err != nil {
			return run.ErrNoSolution
		}
		return h.Err
	})
	power := func(key, title string, get func(h run.HeatFlow) float64) table.Field[run.HeatFlow] {
		return known.Number(key, title, units.Power, get)
	}
	oil := r.Trim.Cooling != nil && r.Trim.Cooling.Oil != nil
	fields := []table.Field[run.HeatFlow]{
		table.Number("rpm", "speed", units.Speed, func(h run.HeatFlow) float64 { return h.Speed }),
		power("fuel_power_w", "fuel power", func(h run.HeatFlow) float64 { return h.Fuel }).WithDigits(0),
		power("power_w", "power", func(h run.HeatFlow) float64 { return h.Shaft }).WithDigits(0),
		power("coolant_heat_w", "coolant", func(h run.HeatFlow) float64 { return h.Coolant }),
	}
	if oil {
		fields = append(fields, power("oil_heat_w", "oil", func(h run.HeatFlow) float64 { return h.Oil }))
	}
	if r.Forced() && r.Trim.Cooler != nil {
		fields = append(fields, power("charge_heat_w", "charge cooler", func(h run.HeatFlow) float64 { return h.Charge }))
	}
	fields = append(fields,
		power("bonnet_heat_w", "primaries", func(h run.HeatFlow) float64 { return h.Bonnet }),
		power("tailpipe_heat_w", "tailpipe", func(h run.HeatFlow) float64 { return h.Exhaust }).WithDigits(0),
		power("unburned_power_w", "not burned", func(h run.HeatFlow) float64 { return h.Unburned }).WithDigits(0),
		power("brought_in_w", "brought in", func(h run.HeatFlow) float64 { return h.Sensible }),
		known.Cells("coolant_over_power", "coolant over power", units.Fraction, func(h run.HeatFlow) table.Cell {
			if !(h.Shaft > 0) {
				return table.Missing("the engine gives no power")
			}
			return table.Num(h.Coolant / h.Shaft)
		}).WithDigits(0),
	)
	t := table.Of("heat", r.HeatFlows(), fields...)
	t.Trim = r.Trim.Name
	t.Notes = []string{"Full load, steady. Fuel power and what is brought in are the sum of the rest. Primaries: to the air round them."}
	if !oil {
		t.Notes = append(t.Notes, "Without cooling.oil_cooler the oil's heat is the coolant's; what the sump gives to the air is not taken off.")
	}
	if r.Engine.Heat.PortLossGiven {
		t.Notes = append(t.Notes, "engine.heat.port_loss does not tell the exhaust port's heat from the primary's; the coolant has all of it.")
	}
	return t
}

// boils names a coolant that nothing cools.
const boils = "no air goes through the radiator: the coolant boils"

// coolantCell is a temperature of the coolant, which stands out where it boils or passes its limit.
func (c *Cooling) coolantCell(temperature float64) table.Cell {
	if math.IsInf(temperature, 1) {
		return table.Missing(boils).Toned(table.Failed)
	}
	cell := table.Num(temperature)
	switch {
	case check.Passes(temperature, c.Boils):
		return cell.Toned(table.Failed).Noted(fmt.Sprintf("it boils at %s", units.Mark(c.Boils, units.Temperature)))
	case check.Passes(temperature, c.Capped()):
		return cell.Toned(table.Failed)
	}
	return cell
}

// forEver says that the coolant never gets too hot.
func (c *Cooling) forEver() string {
	return "for ever: it settles below " + units.Mark(c.Capped(), units.Temperature)
}

// Facts returns what the circuit is, and its steady state in the mean of a stage or lap.
func (c *Cooling) Facts() (table.Table, error) {
	mean, err := c.Mean()
	if err != nil {
		return table.Table{}, err
	}
	hot, err := c.Hottest()
	if err != nil {
		return table.Table{}, err
	}
	circuit := &c.Circuit
	air := table.Known[*Cooling](func(*Cooling) error {
		if math.IsInf(mean.Temperature, 1) {
			return errors.New(boils)
		}
		return nil
	})
	hasOil := table.Known[*Cooling](func(*Cooling) error {
		switch {
		case c.Oil == nil:
			return errors.New("cooling.oil_cooler is not given: the oil's heat is the coolant's")
		case math.IsInf(mean.Oil, 1):
			return errors.New("no air goes through the oil cooler")
		}
		return nil
	})
	t := table.One("cooling", c,
		table.Number("coolant_boils_k", "coolant boils at", units.Temperature, func(c *Cooling) float64 { return c.Boils }).WithDigits(1),
		table.Number("coolant_capped_k", "  may reach", units.Temperature, func(c *Cooling) float64 { return c.Capped() }).WithDigits(1),
		table.Cells("coolant_hottest_k", "hottest coolant", units.Temperature, func(c *Cooling) table.Cell { return c.coolantCell(hot.Temperature) }).WithDigits(1),
		table.Words("coolant_hottest_where", "  where", func(c *Cooling) string { return check.HottestText(c.Cooling, &hot) }),
		table.Number("coolant_kg", "coolant filled", units.Mass, func(*Cooling) float64 { return circuit.Coolant.Fill(circuit.Volume) }).WithDigits(1),
		table.Number("glycol_share", "  of it glycol, by volume", units.Fraction, func(*Cooling) float64 { return circuit.Coolant.Glycol }).WithDigits(0),
		table.Number("mean_road_speed_m_s", "mean road speed", units.RoadSpeed, func(c *Cooling) float64 { return c.RoadSpeed }),
		table.Number("mean_load", "  heat over that of full load", units.Fraction, func(c *Cooling) float64 { return c.Load }).WithDigits(0),
		table.Number("mean_engine_rpm", "  engine", units.Speed, func(*Cooling) float64 { return mean.EngineSpeed }),
		table.Number("mean_heat_w", "  heat to the coolant", units.Power, func(*Cooling) float64 { return mean.Condition.Heat }),
		table.Number("mean_flow_m3_s", "  coolant pumped", units.UseFlow, func(*Cooling) float64 { return mean.Flow }).WithDigits(0),
		table.Number("mean_rise_k", "  warmed in the engine by", units.TemperatureDifference, func(*Cooling) float64 { return mean.Rise }),
		air.Number("mean_thermostat", "  thermostat open", units.Fraction, func(*Cooling) float64 { return mean.Open }).WithDigits(0),
		table.Number("mean_radiator_w_k", "  radiator passes", units.ThermalConductance, func(*Cooling) float64 { return mean.Exchange.Heat }).WithDigits(2),
		table.Cells("mean_coolant_k", "  coolant, steady", units.Temperature, func(c *Cooling) table.Cell { return c.coolantCell(mean.Temperature) }).WithDigits(1),
		air.Number("mean_constant_s", "  time constant", units.ShortDuration, func(c *Cooling) float64 { return circuit.TimeConstant(mean.Condition) }).WithDigits(0),
		hasOil.Number("mean_oil_k", "  oil, steady", units.Temperature, func(*Cooling) float64 { return mean.Oil }).WithDigits(1),
	)
	t.Trim = c.run.Trim.Name
	t.Notes = []string{"The coolant is told where it leaves the engine. Water boils at hot walls before that, which is left out: " +
		"keep away from the boiling point."}
	return t, nil
}

// roadSpeeds are those of the tables where none are asked for, km/h.
var roadSpeeds = [...]float64{0, 20, 40, 60, 80, 100, 130, 160, 200}

// A roadRow is a road speed with what comes of it.
type roadRow struct {
	driven run.Driven
	err    error
	full   run.Cooled
	part   run.Cooled
	lasts  float64 // full load from the steady coolant of the mean, s; +Inf for ever
}

// onRoad returns the rows of road speeds, m/s; nil takes the usual ones that the gears reach.
func (c *Cooling) onRoad(speeds []float64) ([]roadRow, error) {
	fastest, limited := c.Fastest()
	if speeds == nil {
		for _, v := range roadSpeeds {
			if v /= 3.6; !limited || v <= fastest {
				speeds = append(speeds, v)
			}
		}
	}
	warm, err := c.Warm()
	if err != nil {
		return nil, err
	}
	rows := make([]roadRow, len(speeds))
	for i, v := range speeds {
		r := &rows[i]
		if r.driven, r.err = c.Driven(v); r.err != nil {
			continue
		}
		if r.full, err = c.At(r.driven); err != nil {
			return nil, err
		}
		part := r.driven
		part.Load = c.Load
		if r.part, err = c.At(part); err != nil {
			return nil, err
		}
		if r.lasts, err = c.Circuit.Lasts(r.full.Condition, warm, c.Capped()); err != nil {
			return nil, err
		}
	}
	return rows, nil
}

// rowKnown is a road speed that the car reaches.
var rowKnown table.Known[roadRow] = func(r roadRow) error { return r.err }

// roadFields are the first columns of the tables over road speed.
func roadFields() []table.Field[roadRow] {
	geared := rowKnown.And(func(r roadRow) error {
		if r.driven.Gear == 0 {
			return errors.New("car and driveline.gears are not given: the engine turns where it gives the coolant most heat")
		}
		return nil
	})
	return []table.Field[roadRow]{
		table.Number("road_speed_m_s", "road speed", units.RoadSpeed, func(r roadRow) float64 { return r.driven.RoadSpeed }),
		geared.Cells("gear", "gear", units.Number, func(r roadRow) table.Cell {
			cell := table.Count(r.driven.Gear)
			if r.driven.Slipping {
				return cell.Noted("the clutch slips")
			}
			return cell
		}).WithDigits(0),
		rowKnown.Number("engine_rpm", "engine", units.Speed, func(r roadRow) float64 { return r.driven.EngineSpeed }),
	}
}

// ByRoadSpeed returns the steady coolant over road speeds, m/s; nil takes the usual ones.
func (c *Cooling) ByRoadSpeed(speeds []float64) (table.Table, error) {
	rows, err := c.onRoad(speeds)
	if err != nil {
		return table.Table{}, err
	}
	oil := func(get func(r roadRow) run.Cooled) func(r roadRow) table.Cell {
		return func(r roadRow) table.Cell {
			t := get(r).Oil
			if math.IsInf(t, 1) {
				return table.Missing("no air goes through the oil cooler").Toned(table.Failed)
			}
			cell := table.Num(t)
			if l := c.run.Trim.Limits.OilTemperature; l > 0 && check.Passes(t, l) {
				return cell.Toned(table.Failed)
			}
			return cell
		}
	}
	full, part := func(r roadRow) run.Cooled { return r.full }, func(r roadRow) run.Cooled { return r.part }
	fields := append(roadFields(),
		rowKnown.Number("face_velocity_m_s", "air at face", units.Velocity, func(r roadRow) float64 { return r.full.Velocity }),
		rowKnown.Number("radiator_w_k", "radiator", units.ThermalConductance, func(r roadRow) float64 { return r.full.Exchange.Heat }).WithDigits(2).InDetail(),
		rowKnown.Number("radiator_air_k", "air in", units.Temperature, func(r roadRow) float64 { return r.full.Inlet }),
		rowKnown.Number("coolant_heat_w", "heat", units.Power, func(r roadRow) float64 { return r.full.Condition.Heat }).WithDigits(0),
		rowKnown.Cells("coolant_full_k", "coolant", units.Temperature, func(r roadRow) table.Cell { return c.coolantCell(r.full.Temperature) }),
		rowKnown.Cells("full_lasts_s", "lasts", units.ShortDuration, func(r roadRow) table.Cell {
			if math.IsInf(r.lasts, 1) {
				return table.Missing(c.forEver())
			}
			return table.Num(r.lasts)
		}).WithDigits(0),
		rowKnown.Cells("coolant_part_k", "at mean load", units.Temperature, func(r roadRow) table.Cell { return c.coolantCell(r.part.Temperature) }),
		rowKnown.Cells("boiling_margin_k", "to boiling", units.TemperatureDifference, func(r roadRow) table.Cell {
			if math.IsInf(r.part.Temperature, 1) {
				return table.Missing(boils)
			}
			return table.Num(c.Margin(r.part.Temperature))
		}).WithDigits(0),
		rowKnown.Number("thermostat_open", "thermostat", units.Fraction, func(r roadRow) float64 { return r.part.Open }).InDetail(),
	)
	if c.Oil != nil {
		fields = append(fields, rowKnown.Cells("oil_full_k", "oil", units.Temperature, oil(full)),
			rowKnown.Cells("oil_part_k", "at mean load", units.Temperature, oil(part)))
	}
	t := table.Of("coolant by road speed", rows, fields...)
	t.Trim = c.run.Trim.Name
	warm, err := c.Warm()
	if err != nil {
		return table.Table{}, err
	}
	t.Notes = []string{fmt.Sprintf("As if the car went on like that for minutes: at full load, and at a mean load with %.0f %% of its heat, "+
		"for which the distance to boiling is told. The gear is the one with most heat. Lasts: full load, from %s until the coolant has %s.", c.Load*100,
		units.Mark(warm, units.Temperature), units.Mark(c.Capped(), units.Temperature))}
	return t, nil
}

// chargeKnown is a charge whose temperature is known.
var chargeKnown = rowKnown.And(func(r roadRow) error { return r.full.ChargeErr })

// ChargeByRoadSpeed returns the charge's temperature over road speeds, m/s; ok is false without the charge cooler's outer air.
func (c *Cooling) ChargeByRoadSpeed(speeds []float64) (t table.Table, ok bool, err error) {
	if c.Charge == nil {
		return t, false, nil
	}
	rows, err := c.onRoad(speeds)
	if err != nil {
		return t, false, err
	}
	t = table.Of("charge by road speed", rows, append(roadFields(),
		chargeKnown.Number("outer_velocity_m_s", "air at face", units.Velocity, func(r roadRow) float64 { return r.full.Charge.Velocity }),
		chargeKnown.Number("outer_effectiveness", "effectiveness", units.Fraction, func(r roadRow) float64 { return r.full.Charge.Effectiveness }),
		chargeKnown.Number("charge_heat_w", "heat", units.Power, func(r roadRow) float64 { return r.full.Charge.Heat }),
		chargeKnown.Number("charge_k", "charge", units.Temperature, func(r roadRow) float64 { return r.full.Charge.Temperature }),
		rowKnown.Number("solved_charge_k", "as solved", units.Temperature, func(r roadRow) float64 { return r.full.Solved }),
		chargeKnown.Number("charge_rise_k", "hotter by", units.TemperatureDifference, func(r roadRow) float64 {
			return r.full.Charge.Temperature - r.full.Solved
		}),
	)...)
	t.Trim = c.run.Trim.Name
	t.Notes = []string{"Boost, spark and power are solved with the effectiveness of the section cooler at every road speed. " +
		"Where the charge is hotter than that, knock comes earlier: compare spark with a smaller cooler.effectiveness."}
	return t, true, nil
}

// DutyTable returns the sections of the duty one after the other; ok is false without one.
func (c *Cooling) DutyTable() (t table.Table, ok bool, err error) {
	rounds, err := c.Duty()
	if err != nil || rounds == nil {
		return t, false, err
	}
	last := rounds[len(rounds)-1]
	t = table.Of("cooling duty", last,
		table.Words("duty_section", "section", func(s run.Section) string { return s.Name }),
		table.Number("road_speed_m_s", "road speed", units.RoadSpeed, func(s run.Section) float64 { return s.RoadSpeed }),
		table.Cells("engine_rpm", "engine", units.Speed, func(s run.Section) table.Cell {
			cell := table.Num(s.EngineSpeed)
			if s.Held {
				return cell.Noted("beyond the engine speeds solved: the heat of the nearest is taken")
			}
			return cell
		}),
		table.Number("duty_load", "load", units.Fraction, func(s run.Section) float64 { return s.Load }).WithDigits(0),
		table.Number("coolant_heat_w", "heat", units.Power, func(s run.Section) float64 { return s.Condition.Heat }),
		table.Number("duty_time_s", "takes", units.ShortDuration, func(s run.Section) float64 { return s.Time }).WithDigits(0),
		table.Cells("duty_from_k", "coolant from", units.Temperature, func(s run.Section) table.Cell { return c.coolantCell(s.From) }),
		table.Cells("duty_to_k", "to", units.Temperature, func(s run.Section) table.Cell { return c.coolantCell(s.To) }),
		table.Cells("duty_steady_k", "steady", units.Temperature, func(s run.Section) table.Cell { return c.coolantCell(s.Temperature) }),
		table.Cells("duty_lasts_s", "lasts", units.ShortDuration, func(s run.Section) table.Cell {
			if math.IsInf(s.Lasts, 1) {
				return table.Missing(c.forEver())
			}
			return table.Num(s.Lasts)
		}).WithDigits(0),
	)
	t.Trim = c.run.Trim.Name
	t.Notes = []string{fmt.Sprintf("Steady: where the coolant would settle. Lasts: from the start of the section until it has %s.",
		units.Mark(c.Capped(), units.Temperature))}
	if n := len(rounds); n > 1 {
		t.Notes = append(t.Notes, fmt.Sprintf("Round %d of %d; the first begins at %s and ends at %s.", n, n,
			units.Mark(rounds[0][0].From, units.Temperature), units.Mark(rounds[0][len(rounds[0])-1].To, units.Temperature)))
	}
	return t, true, nil
}

// coolingEntries explain the columns above.
func coolingEntries() []formula.Entry {
	const (
		balance    = "first law over the whole engine, closed to 1e-6"
		exchanger  = "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, ch. 11; crossflow, both fluids unmixed, by the series of Mason (1954)"
		steady     = "steady; water at hot walls may boil before"
		lump       = "coolant, metal and oil at one temperature"
		roadSteady = "steady full load in the gear with most heat"
		conductive = "G = ε Cmin, 1/(U A) = Ra + Rl, Ra ∝ (ρ v)^−m, Rl ∝ V^−0.8"
		outlet     = "T where G(T) (T − Ta) = Q, the thermostat's share of the coolant in G"
	)
	return []formula.Entry{
		entry("coolant_heat_w", "coolant", "Heat to the coolant.",
			"walls of the cylinders + exhaust ports + friction + bearings of the turbochargers, less the oil's with an oil cooler; × load where there is one",
			balance, full, "heat"),
		entry("oil_heat_w", "oil", "Heat to the oil, where it has a cooler of its own.",
			"friction_share × friction + wall_share × walls + bearings of the turbochargers", balance+"; the shares as given, common practice", full),
		entry("charge_heat_w", "charge cooler", "Heat given up by the charge in its cooler.", "ṁ (h2 − hm); by road speed ε ṁ cp (T2 − Tc)", balance, full, "heat"),
		entry("bonnet_heat_w", "primaries", "Heat of the exhaust's primaries to the air round them.", "exhaust_heat_w less the ports' share", balance, full),
		entry("tailpipe_heat_w", "tailpipe", "Sensible enthalpy of the exhaust at the tailpipe above 25 °C.", "ṁe (h − h(298.15 K))", balance, full),
		entry("unburned_power_w", "not burned", "Heating value left in the exhaust.", "ṁf LHV − heat released", balance, full),
		entry("brought_in_w", "brought in", "Heat that air and fuel bring above 25 °C; negative when they are colder.", "ṁ (h − h(298.15 K)) + ṁf c (T − 298.15 K)",
			balance, full),
		entry("coolant_over_power", "coolant over power", "Heat to the coolant over the power at the crank.", "Q/P", ours, full),
		entry("coolant_boils_k", "coolant boils at", "Temperature at which the coolant boils under the pressure of cap and venue.",
			"Ts((p + Δp)/x), x mole fraction of water", "IAPWS-IF97, region 4, coefficients from memory; Raoult's law", "what the pump adds to the pressure left out"),
		entry("coolant_capped_k", "may reach", "Temperature that the coolant may reach.", "the lower of limits.coolant_temperature and boiling", ours, always),
		entry("coolant_hottest_k", "hottest coolant", "Highest temperature of the coolant in the duty; without one that of the mean of a stage or lap.",
			"max over sections and rounds", lump, "as the duty says"),
		entry("coolant_hottest_where", "where", "Where the coolant is hottest.", seeRow, ours, always),
		entry("coolant_kg", "coolant filled", "Mass of the coolant, filled at 20 °C.", "V (φ ρg + (1 − φ) ρw)", "densities of handbooks, from memory", always),
		entry("glycol_share", "of it glycol, by volume", "Ethylene glycol in the coolant.", given, given, always),
		entry("mean_road_speed_m_s", "mean road speed", "Mean road speed of a stage or lap.", given, given, always),
		entry("mean_load", "heat over that of full load", "Mean heat of a stage or lap over that of full load.", given, given, always),
		entry("mean_engine_rpm", "engine", "Engine speed for the mean road speed, in the gear whose full load gives the coolant most heat.", "v i/r", ours, always),
		entry("mean_heat_w", "heat to the coolant", "Heat to the coolant in the mean of a stage or lap.", "load × coolant heat of full load", ours, "load as given"),
		entry("mean_flow_m3_s", "coolant pumped", "Coolant through the engine.", "V = V0 n i/n0", "similarity of centrifugal pumps", "thermostat open"),
		entry("mean_rise_k", "warmed in the engine by", "Rise of the coolant's temperature in the engine.", "Q/(V ρ cp)", "balance of heat", "properties at 90 °C"),
		entry("mean_thermostat", "thermostat open", "Share of the coolant that goes through the radiator.", "(T − T1)/(T2 − T1), 0 to 1",
			"a straight line, as given", always),
		entry("mean_radiator_w_k", "radiator passes", "Heat that the radiator passes for each kelvin between coolant and air.", conductive, exchanger, steady),
		entry("mean_coolant_k", "coolant, steady", "Steady coolant where it leaves the engine, in the mean of a stage or lap.", outlet, exchanger, steady),
		entry("mean_constant_s", "time constant", "Time in which the coolant comes to 1/e of its distance from the steady temperature, thermostat open.",
			"C/G, C of coolant, metal and oil", "balance of heat", lump),
		entry("mean_oil_k", "oil, steady", "Steady oil before its cooler, in the mean of a stage or lap.", "Ta + Q/G", exchanger, "oil flow as stated"),
		entry("engine_rpm", "engine", "Engine speed at the road speed; in the gear, of those that reach it, whose full load gives the coolant most heat.",
			"v i/r, or as given", "kinematics of a rolling wheel", "no slip; below the first gear's speeds the clutch slips"),
		entry("face_velocity_m_s", "air at face", "Velocity of the air before the radiator's face.", "max(ram × v, fan/A)",
			"the larger of both: a fan helps little past its own flow; ram is common practice", "no wind"),
		entry("radiator_w_k", "radiator", "Heat that the radiator passes for each kelvin between coolant and air, at full load.", conductive, exchanger,
			"beyond the stated air velocities by the law"),
		entry("radiator_air_k", "air in", "Temperature of the air before the radiator, at full load.", "T + ahead × charge cooler's heat/(ṁ cp)",
			"balance of heat", full),
		entry("coolant_full_k", "coolant", "Steady coolant where it leaves the engine, at full load.", outlet, exchanger, roadSteady),
		entry("full_lasts_s", "lasts", "How long full load at that road speed lasts from the start until the coolant has what it may reach.",
			"C dT/dt = Q − G(T) (T − Ta), Runge-Kutta", "balance of heat",
			lump+"; from the steady coolant of the mean, or from where the thermostat opens if that is too hot"),
		entry("coolant_part_k", "at mean load", "Steady coolant where it leaves the engine, at the mean load.", outlet, exchanger, "load × heat of full load"),
		entry("boiling_margin_k", "to boiling", "How far the coolant is from boiling at the mean load; below 0 it boils.", "Tb − T", ours, steady),
		entry("thermostat_open", "thermostat", "Share of the coolant that goes through the radiator at the mean load.", "(T − T1)/(T2 − T1), 0 to 1",
			"a straight line, as given", always),
		entry("oil_full_k", "oil", "Steady oil before its cooler, at full load.", "Ta + Q/G", exchanger, roadSteady),
		entry("oil_part_k", "at mean load", "Steady oil before its cooler, at the mean load.", "Ta + Q/G", exchanger, "load × heat of full load"),
		entry("outer_velocity_m_s", "air at face", "Velocity of the outer air before the charge cooler's face.",
			"max(ram × v, fan/A of the radiator), the fan where it stands before the radiator", "ram is common practice", "no wind"),
		entry("outer_effectiveness", "effectiveness", "Share of the way from the charge's to the outer air's temperature at the road speed.",
			"G/(ṁ cp), G of the size that gives cooler.effectiveness at the stated air", exchanger, "the charge's side as at the solved point"),
		entry("charge_k", "charge", "Temperature of the charge behind its cooler at the road speed.", "T2 − ε (T2 − Tc)", exchanger,
			"flow and T2 as solved with cooler.effectiveness"),
		entry("solved_charge_k", "as solved", "Temperature of the charge that the operating points have.", "T2 − ε (T2 − Tc), ε of the section cooler",
			solved1e6, full),
		entry("charge_rise_k", "hotter by", "By how much the charge is hotter than the operating points have it.", "difference", ours, full),
		entry("duty_section", "section", "Name of the section.", given, given, always),
		entry("duty_load", "load", "Heat in the section over that of full load at its engine speed.", given, given, always),
		entry("duty_time_s", "takes", "Time that the section takes.", given, given, always),
		entry("duty_from_k", "coolant from", "Coolant at the start of the section.", "the end of the one before", ours, lump),
		entry("duty_to_k", "to", "Coolant at the end of the section.", "C dT/dt = Q − G(T) (T − Ta), Runge-Kutta", "balance of heat", lump),
		entry("duty_steady_k", "steady", "Where the coolant would settle if the section went on.", outlet, exchanger, steady),
		entry("duty_lasts_s", "lasts", "Time from the start of the section until the coolant has what it may reach.", "C dT/dt = Q − G(T) (T − Ta), Runge-Kutta",
			"balance of heat", lump),
	}
}
