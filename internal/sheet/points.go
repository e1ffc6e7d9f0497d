package sheet

import (
	"fmt"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/knock"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// allNotes are the remarks on a point, but for those that stand at their own figure.
const allNotes = ^(frictionNotes | airpath.NoteOctaneHeld | airpath.NoteOctaneHot)

// Points returns the operating points over engine speed: what is asked for, what is reached, and what it takes.
func (r *Run) Points() table.Table {
	forced := r.Forced()
	t := r.overSpeed("operating points", join(
		[]table.Field[row]{speedField(allNotes)},
		when(forced, targetBoost),
		[]table.Field[row]{
			detailIf(!forced, boostReached),
			detailIf(forced, manifoldPressure),
			manifoldTemperature.InDetail(),
			table.Cells("limits", "limited by", units.Number, limitCell),
			table.Cells("limit", "governing limit", units.Number, func(o row) table.Cell {
				if o.Err != nil {
					return table.Text(noSolution).Toned(table.Failed)
				}
				return table.Text(o.Point.Limit.String())
			}).InDetail(),
			figure("torque_nm", "torque", units.Torque, func(p *airpath.Point) float64 { return p.Torque }).WithDigits(0),
			figure("power_w", "power", units.Power, func(p *airpath.Point) float64 { return p.Power }).WithDigits(1),
			figure("air_flow_kg_s", "air", units.MassFlow, func(p *airpath.Point) float64 { return p.AirFlow }).WithDigits(0),
			fuelFlow.InDetail(), detailIf(forced, lambda),
			volumetricEfficiency.InDetail(),
		},
		when(forced, pressureRatio, correctedFlow.InDetail(), compressorEfficiency.InDetail(), shaft),
		[]table.Field[row]{exhaustPressure.InDetail(), exhaustTemperature},
		when(forced, wastegateShare.InDetail()),
		[]table.Field[row]{
			imep.InDetail(), fmep.InDetail(), pmep.InDetail(), detailIf(forced, bmep), detailIf(forced, consumption),
			peakPressure, ca50, knockIntegral.InDetail(),
		},
	)...)
	t.Notes = eachShaft(r.Trim, "air")
	return t
}

// targetBoost is the boost target.
var targetBoost = table.Cells("target_boost_pa", "target", units.GaugePressure, func(o row) table.Cell {
	c := table.Num(o.TargetBoost)
	if o.TargetHeld {
		return c.Noted("outside the table of boost targets: its end value is taken")
	}
	return c
})

// boostReached is the boost reached.
var boostReached = cells("boost_pa", "boost", units.GaugePressure, func(o row, _ *airpath.Point) table.Cell {
	return table.Num(o.Boost(o.run.Trim.Venue.Pressure))
})

var manifoldPressure = figure("manifold_pressure_pa", "MAP", units.Pressure, func(p *airpath.Point) float64 { return p.ManifoldPressure })

// Summary returns what the points come to: the highest torque and power, and what rules where. failed names the checks
// that failed.
func (r *Run) Summary(failed []string) table.Table {
	const none = "no point has a solution"
	at := func(key, title string, o *boost.Outcome, quantity units.Kind, get func(*boost.Outcome) float64) table.Field[*Run] {
		return table.Cells(key, title, quantity, func(*Run) table.Cell {
			if o == nil {
				return table.Missing(none)
			}
			return table.Num(get(o))
		})
	}
	torque, power := r.peak(run.Torque), r.peak(run.Power)
	speed := func(o *boost.Outcome) float64 { return o.Speed }
	fields := []table.Field[*Run]{
		table.Lists("ruled_by", "limited by", func(r *Run) []string { return spans(r.Review().Fine, governing) }),
		table.Lists("failed_checks", "checks failed", func(*Run) []string { return failed }),
		at("peak_torque_nm", "peak torque", torque, units.Torque, func(o *boost.Outcome) float64 { return o.Point.Torque }),
		at("peak_torque_rpm", "  at", torque, units.Speed, speed),
		at("peak_power_w", "peak power", power, units.Power, func(o *boost.Outcome) float64 { return o.Point.Power }),
		at("peak_power_rpm", "  at", power, units.Speed, speed),
	}
	fields = append(fields, r.onsets()...)
	t := table.One("summary", r, fields...)
	t.Trim = r.Trim.Name
	return t
}

// onsets are the fields of where things begin over engine speed.
func (r *Run) onsets() (fields []table.Field[*Run]) {
	if r.Forced() {
		fields = append(fields, table.Cells("boost_reached_rpm", "target first reached at", units.Speed, func(r *Run) table.Cell {
			return r.reachedFrom()
		}))
	}
	if r.Trim.Intake.Restrictor != nil {
		fields = append(fields, table.Cells("restrictor_from_rpm", "restrictor chokes from", units.Speed, func(r *Run) table.Cell {
			return r.chokesFrom()
		}))
	}
	return fields
}

// reachedFrom returns the lowest speed at which an engine that comes from less boost reaches the target. Where one that comes from
// more stays there down to a lower speed, it says so.
func (r *Run) reachedFrom() table.Cell {
	reached := r.Review().Fine.Reaching()
	c := onsetCell(reached.Onset, "not reached at any of these speeds")
	switch {
	case reached.Two && !(reached.Found && reached.StaysTo >= reached.Speed):
		return c.Noted(fmt.Sprintf("two steady states below: coming from more boost the engine keeps the target from %s",
			check.Span(reached.Staying.Speed, reached.StaysTo)))
	case reached.Two:
		return c.Noted(fmt.Sprintf("two steady states below: coming from more boost the engine keeps the target down to %s",
			run.Speed(reached.Staying.Speed)))
	}
	return c
}

// chokesFrom returns the lowest speed at which the restrictor's throat is choked.
func (r *Run) chokesFrom() table.Cell {
	return r.onset(run.RestrictorChokes, "the restrictor does not choke at any of these speeds")
}

// Closed returns what a boost target left out of reach does where the restrictor rules: the boost control keeps the wastegate
// closed. ok is false where it nowhere rules.
func (r *Run) Closed() (t table.Table, ok bool) {
	type pull struct {
		speed float64
		*airpath.Overpull
	}
	var pulls []pull
	for i := range r.Outcomes {
		if o := &r.Outcomes[i]; o.Overpull != nil {
			pulls = append(pulls, pull{o.Speed, o.Overpull})
		}
	}
	if len(pulls) == 0 {
		return table.Table{}, false
	}
	venue := r.Trim.Venue.Pressure
	t = table.Of("overpull", pulls,
		table.Number("rpm", "speed", units.Speed, func(p pull) float64 { return p.speed }),
		table.Cells("shaft_rpm", "shaft", units.Speed, func(p pull) table.Cell {
			return table.Num(p.ShaftSpeed).Toned(failedIf(p.OverSpeed))
		}).WithDigits(table.Hundreds),
		table.Cells("over_shaft_limit", "over shaft limit", units.Number, func(p pull) table.Cell {
			return table.YesNo(p.OverSpeed).Toned(failedIf(p.OverSpeed))
		}),
		table.Number("compressor_inlet_pressure_pa", "compressor inlet", units.Pressure, func(p pull) float64 { return p.CompressorInlet }),
		table.Number("pressure_ratio", "PR", units.Number, func(p pull) float64 { return p.PressureRatio }).WithDigits(2),
		table.Number("compressor_outlet_temperature_k", "compressor outlet", units.Temperature, func(p pull) float64 { return p.OutletTemperature }),
		table.Cells("boost_pa", "boost", units.GaugePressure, func(p pull) table.Cell {
			c := table.Num(p.ManifoldPressure - venue)
			if p.AtTarget {
				return c.Noted("the target, reached with more suction at the choked restrictor: the wastegate opens again here")
			}
			return c
		}),
		table.Truths("knocks", "knocks", func(p pull) bool { return p.KnockUnmet }),
		table.Truths("past_surge", "past surge", func(p pull) bool { return p.PastSurge }),
		table.Cells("past_choke", "past the map's choke end", units.Number, func(p pull) table.Cell {
			if p.AboveTopLine {
				return table.Missing("above the map's top line: the speed is by similarity, where the wheel chokes is not known")
			}
			return table.YesNo(p.PastChoke)
		}),
	)
	t.Trim = r.Trim.Name
	t.Notes = []string{"Lower the target to the boost that is reached. A target above it keeps the wastegate closed on the choked restrictor, " +
		"which brings no more air, only more heat and a faster shaft."}
	t.Notes = append(t.Notes, eachShaft(r.Trim, "")...)
	return t, true
}

func failedIf(failed bool) table.Tone {
	if failed {
		return table.Failed
	}
	return table.Plain
}

// knockRemarks says what casts doubt on the knock of the whole run.
func (r *Run) knockRemarks() []string {
	remarks := r.Engine.Remarks()
	if first, last, cold := run.Where(r.Outcomes, func(o *boost.Outcome) bool { return o.Point.Notes&airpath.NoteOctaneHeld != 0 }); cold {
		remarks = append(remarks, fmt.Sprintf("The charge at %s is colder than the octane index was measured for, %s. "+
			"Its K is held at -0.75, the most that a fuel with a RON far above its MON can gain.", knock.OctanePressure, between(first, last)))
	}
	return remarks
}

// between names the speeds from the first to the last.
func between(first, last float64) string {
	if first == last {
		return "at " + run.Speed(first)
	}
	return run.Speeds(first, last)
}

// Combustion returns how the charge burns over engine speed.
func (r *Run) Combustion() table.Table {
	best := r.Trim.Engine.Combustion.BestCA50
	t := r.overSpeed("combustion",
		speedField(airpath.NoteBurnHeld|airpath.NoteDelayHeld|airpath.NoteKnockUnmet|airpath.NotePeakPressureUnmet|airpath.NoteCoolingCut|
			airpath.NoteFlame|airpath.NoteAngleLongest|airpath.NoteDilution),
		cells("ca50_deg", "CA50", units.Angle, func(_ row, p *airpath.Point) table.Cell { return lateCell(p, best) }),
		sparkAdvance,
		burnStart.InDetail(),
		figure("burn_angle_deg", "0 to 90 %", units.Angle, func(p *airpath.Point) float64 { return p.BurnAngle }),
		knockIntegral,
		peakPressure,
		figure("peak_angle_deg", "peak at", units.Angle, func(p *airpath.Point) float64 { return p.PeakAngle }),
		figure("residual_fraction", "residual", units.Fraction, func(p *airpath.Point) float64 { return p.ResidualFraction }),
		figure("charge_temperature_k", "charge", units.Temperature, func(p *airpath.Point) float64 { return p.ChargeTemperature }),
		imep, pmep, fmep, bmep,
		figure("peak_temperature_k", "peak temperature", units.Temperature, func(p *airpath.Point) float64 { return p.PeakTemperature }).InDetail(),
		figure("end_gas_temperature_k", "end gas", units.Temperature, func(p *airpath.Point) float64 { return p.EndGasPeak }).InDetail(),
	)
	t.Notes = append(r.knockRemarks(), fmt.Sprintf("Best CA50 is %s; a later one costs torque.", units.Mark(best, units.Angle)))
	return t
}

// pointsEntries explain the columns above.
func pointsEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "target_boost_pa", Title: "target",
			Meaning: "Boost that the spec asks for at this speed, above the venue's pressure.",
			Formula: "the spec's table over speed, monotone cubic", Source: given, Range: "within the table; held at its ends, with a note",
		},
		{
			Key: "boost_pa", Title: "boost", Also: []string{"most boost"},
			Meaning: "Manifold pressure that is reached, above the venue's. Without a compressor it is below 0.",
			Formula: "pm − p(venue)",
			Source:  solved1e6, Range: full,
		},
		{
			Key: "manifold_pressure_pa", Title: "MAP",
			Meaning: "Manifold absolute pressure.",
			Formula: "pm = p2 − cooler loss, where the engine swallows what the compressor gives",
			Source:  solved1e6, Range: full,
		},
		{
			Key: "limits", Title: "limited by",
			Meaning: "All limits that bind at the point, first the one that governs the boost. " +
				"Knock or cylinder pressure after the target or the atmosphere do not lower the boost: they hold the burn later than best CA50.",
			Formula: "the bounds that the solution rests on",
			Source:  solved1e6, Range: full,
		},
		{
			Key: "limit", Title: "governing limit",
			Meaning: "What keeps the boost from being higher or, for wastegate creep and the wastegate's spring, lower.",
			Formula: "the bound that the solution rests on",
			Source:  solved1e6, Range: full,
		},
		{
			Key: "torque_nm", Title: "torque",
			Meaning: "Brake torque at the crank.",
			Formula: "T = BMEP Vd/(4π)", Source: "Heywood, Internal Combustion Engine Fundamentals (1988), eq. 2.20", Range: "four-stroke",
		},
		{
			Key: "power_w", Title: "power",
			Meaning: "Brake power at the crank.",
			Formula: "P = T N", Source: ours, Range: always,
		},
		{
			Key: "air_flow_kg_s", Title: "air",
			Meaning: "Moist air that the engine takes.",
			Formula: "ṁ = ηv ρm Vd N/(4π)", Source: "Heywood, Internal Combustion Engine Fundamentals (1988), eq. 2.27", Range: full,
		},
		{
			Key: "ruled_by", Title: "limited by",
			Meaning: "The limit that governs the boost, with the speeds where it does.",
			Formula: "governing limit of each operating point, equal neighbours joined", Source: ours, Range: computed,
		},
		{
			Key: "failed_checks", Title: "checks failed",
			Meaning: "What the checks of the trim come to.",
			Formula: "the checks whose verdict is FAIL", Source: ours, Range: computed,
		},
		{
			Key: "peak_torque_nm", Title: "peak torque",
			Meaning: "Highest torque of the speeds computed.",
			Formula: "max T", Source: ours, Range: computed,
		},
		{
			Key: "peak_torque_rpm", Title: "at", Also: []string{"peak torque at"},
			Meaning: "Where the highest torque is.",
			Formula: "N at max T", Source: ours, Range: "to the step between the speeds",
		},
		{
			Key: "peak_power_w", Title: "peak power",
			Meaning: "Highest power of the speeds computed.",
			Formula: "max P", Source: ours, Range: computed,
		},
		{
			Key: "peak_power_rpm", Title: "at",
			Meaning: "Where the highest power is.",
			Formula: "N at max P", Source: ours, Range: "to the step between the speeds",
		},
		{
			Key: "boost_reached_rpm", Title: "target first reached at", Also: []string{"target reached at"},
			Meaning: "Lowest speed at which the boost target is reached, within 5 mbar, at steady full load.",
			Formula: "bisection between the speeds computed, to 5 rpm", Source: ours, Range: "steady; a pull through the gears spools later",
		},
		{
			Key: "restrictor_from_rpm", Title: "restrictor chokes from",
			Meaning: "Lowest speed at which the restrictor's throat is choked.",
			Formula: "bisection between the speeds computed, to 5 rpm", Source: ours, Range: "for the boost target",
		},
		{
			Key: "rpm", Title: "speed",
			Meaning: "Engine speed of the row.",
			Formula: "1500 rpm to the limiter in steps of 500 rpm, the limiter included, or what --rpm asks for",
			Source:  "the command line", Range: "500 rpm to the limiter",
		},
		{
			Key: "over_shaft_limit", Title: "over shaft limit",
			Meaning: "Whether the turbocharger would turn faster than its limit or the map's top line, with the wastegate closed on a choked restrictor.",
			Formula: "shaft speed > min(speed_limit, top line)", Source: ours, Range: always,
		},
		{
			Key: "compressor_inlet_pressure_pa", Title: "compressor inlet", Also: []string{"inlet"},
			Meaning: "Pressure before the compressor, absolute: venue less filter and restrictor.",
			Formula: "p1", Source: "see restrictor_outlet_pressure_pa", Range: full,
		},
		{
			Key: "compressor_outlet_temperature_k", Title: "compressor outlet", Also: []string{"outlet"},
			Meaning: "Total temperature of the air after the compressor, T2 in formulas.",
			Formula: "s°(T2s) = s°(T1) + R ln PR; h(T2) = h(T1) + (h(T2s) − h(T1))/η",
			Source:  "Moran & Shapiro, Fundamentals of Engineering Thermodynamics, ch. 6; heat capacities from NASA/TP-2002-211556",
			Range:   "adiabatic, ideal gas, 200 K to 6000 K; T2 = T1 at a pressure ratio of 1 or less",
		},
		{
			Key: "knocks", Title: "knocks",
			Meaning: "Whether the knock integral would be over its limit at the latest CA50 accepted.",
			Formula: "knock integral > its limit", Source: ours, Range: "steady",
		},
		{
			Key: "past_surge", Title: "past surge",
			Meaning: "Whether the compressor would be left of its surge line.",
			Formula: "surge margin < smallest accepted", Source: ours, Range: "within the compressor map",
		},
		{
			Key: "past_choke", Title: "past the map's choke end",
			Meaning: "Whether the compressor would be beyond the choke end of its map, where its efficiency is a guess.",
			Formula: "choke margin < 0", Source: ours, Range: "within the compressor map",
		},
		{
			Key: "burn_angle_deg", Title: "0 to 90 %",
			Meaning: "Crank angle from 0 to 90 % burned.",
			Formula: "the spec's table, or 43° (N/2000 rpm)^0.2, for the stated condition; × burn_angle_factor for the charge",
			Source: "Heywood, Internal Combustion Engine Fundamentals (1988), §9.2.2; the exponent is common practice, no source; " +
				"factor after Hires, Tabaczynski and Novak, SAE 780232 (1978)",
			Range: "1000 to 10000 rpm for the default",
		},
		{
			Key: "peak_angle_deg", Title: "peak at",
			Meaning: "Crank angle of the peak pressure after firing top dead centre.",
			Formula: "θ at max p",
			Source:  "as peak_pressure_pa", Range: oneZone,
		},
		{
			Key: "residual_fraction", Title: "residual",
			Meaning: "Share of burned gas from the last cycle in the charge.",
			Formula: "what is in the clearance volume at the end of the exhaust stroke, over the charge",
			Source:  "flow through the exhaust valve, crank angle by crank angle, without valve overlap", Range: "little overlap",
		},
		{
			Key: "charge_temperature_k", Title: "charge",
			Meaning: "Temperature in the cylinder as the inlet valve closes.",
			Formula: "energy of fresh air, wall heat, evaporated fuel and residual gas, mixed, with the piston's work",
			Source:  "energy balance", Range: full,
		},
		{
			Key: "peak_temperature_k", Title: "peak temperature",
			Meaning: "Highest mean temperature in the cylinder.",
			Formula: "max T(θ)",
			Source:  "as peak_pressure_pa", Range: oneZone + ": 100 to 200 K too high near lambda 1",
		},
		{
			Key: "end_gas_temperature_k", Title: "end gas",
			Meaning: "Highest temperature of the unburned gas while the knock integral runs.",
			Formula: "compressed with the cylinder's pressure",
			Source:  "as peak_pressure_pa", Range: oneZone,
		},
	}
}
