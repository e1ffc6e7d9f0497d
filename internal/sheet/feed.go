package sheet

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/boost"
	"bellmouth/internal/remark"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/supply"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// leastPumpMargin is the part of the engine's demand by which pumps should give more than that: for a loaded filter, worn
// pumps and a mixture that is enriched. Common practice, no source.
const leastPumpMargin = 0.10

// pumps reports whether the trim says what pumps feed the rail.
func (r *Run) pumps() bool { return r.Trim.Supply != nil && r.Trim.Supply.System.Pumps != nil }

// feedTemperature returns the fuel's temperature between tank and rail, K: that at the injector where the spec has no other.
func feedTemperature(t *spec.Trim) float64 {
	if t.Supply != nil && t.Supply.Temperature > 0 {
		return t.Supply.Temperature
	}
	return t.Fuel.Temperature
}

func (r *Run) liquid() (supply.Liquid, error) {
	return supply.LiquidOf(r.Trim.Fuel.Grade, feedTemperature(r.Trim))
}

// A supplied is one engine speed's full load with the fuel system that feeds it.
type supplied struct {
	row
	demand  float64 // m³/s
	asked   float64 // rail pressure above the venue, Pa
	op      supply.Operation
	line    supply.LineFlow // in the first line
	lift    float64         // flow of the lift pumps, m³/s
	err     error           // of the fuel system
	liftErr error
}

func (s *supplied) liftMargin() float64 { return s.lift/s.demand - 1 }

// A feeder is the fuel system that feeds full loads.
type feeder struct {
	run     *Run
	liquid  supply.Liquid
	err     error
	lift    float64 // flow of the lift pumps, m³/s
	liftErr error
}

func (r *Run) feeder() *feeder {
	f := &feeder{run: r}
	f.liquid, f.err = r.liquid()
	if lift := r.Trim.Supply.Lift; lift != nil {
		f.lift, _, f.liftErr = supply.FlowAt(lift.Pumps, lift.Pressure, lift.Voltage)
	}
	return f
}

// at returns the fuel system at one full load.
func (f *feeder) at(o row) supplied {
	s := supplied{row: o, err: f.err, lift: f.lift, liftErr: f.liftErr}
	if o.Err != nil || f.err != nil {
		return s
	}
	r, sup := f.run, f.run.Trim.Supply
	s.demand = o.Point.FuelFlow / f.liquid.Density
	s.asked = r.rail().AboveVenue(o.Point.ManifoldPressure, r.Trim.Venue.Pressure)
	if s.op, s.err = sup.System.At(supply.State{Voltage: sup.Voltage, RailPressure: s.asked, Demand: s.demand, Liquid: f.liquid}); s.err != nil {
		return s
	}
	if len(sup.System.Lines) > 0 {
		s.line, s.err = sup.System.Lines[0].Flow(s.op.PumpFlow, f.liquid)
	}
	return s
}

// feed returns the fuel system at the run's full loads.
func (r *Run) feed() []supplied {
	all := make([]supplied, len(r.Outcomes))
	f := r.feeder()
	for i, o := range r.rows() {
		if r.at != nil && r.at.feed != nil && o.Err == nil {
			all[i] = r.at.feed.of(o.Outcome)
			continue
		}
		all[i] = f.at(o)
	}
	return all
}

func (r *Run) rail() supply.Rail {
	in := r.Trim.Injection
	return supply.Rail{Pressure: in.RailPressure, FollowsManifold: in.FollowsManifold}
}

// worst returns the index of the full load with the lowest value of f, or −1.
func worst(all []supplied, f func(s *supplied) float64) int {
	w := -1
	for i := range all {
		if s := &all[i]; s.Err == nil && s.err == nil && (w < 0 || f(s) < f(&all[w])) {
			w = i
		}
	}
	return w
}

// Supply returns how pumps, line, filter and regulator feed the full load over engine speed; ok is false where the spec has no
// pumps, or no rail for them.
func (r *Run) Supply() (t table.Table, ok bool) {
	if !r.pumps() || r.Trim.Injection == nil {
		return table.Table{}, false
	}
	sup := r.Trim.Supply
	all := r.feed()
	value := func(key, title string, quantity units.Kind, get func(s *supplied) table.Cell) table.Field[supplied] {
		return table.Cells(key, title, quantity, func(s supplied) table.Cell {
			switch {
			case s.Err != nil:
				return table.Missing("no solution at this speed")
			case s.err != nil:
				return table.Missing(plainly(s.err))
			}
			return get(&s)
		})
	}
	number := func(key, title string, quantity units.Kind, get func(s *supplied) float64) table.Field[supplied] {
		return value(key, title, quantity, func(s *supplied) table.Cell { return table.Num(get(s)) })
	}
	fields := []table.Field[supplied]{
		table.Cells("rpm", "speed", units.Speed, func(s supplied) table.Cell {
			c := table.Num(s.Speed)
			if texts := s.op.Notes.Texts(); len(texts) > 0 {
				return c.Noted(remark.Line(texts))
			}
			return c
		}),
		number("fuel_volume_flow_m3_s", "engine takes", units.PumpFlow, func(s *supplied) float64 { return s.demand }),
		value("rail_pressure_pa", "rail", units.GaugePressure, func(s *supplied) table.Cell {
			return table.Num(s.op.RailPressure).Toned(failedIf(s.op.Short()))
		}),
		number("rail_asked_pa", "rail asked", units.GaugePressure, func(s *supplied) float64 { return s.asked }).InDetail(),
	}
	if len(sup.System.Lines) > 0 {
		fields = append(fields, number("line_loss_pa", "line loss", units.PressureDifference, func(s *supplied) float64 { return s.op.LineLoss }).WithDigits(3))
	}
	if len(sup.System.Filters) > 0 {
		fields = append(fields, number("filter_loss_pa", "filter loss", units.PressureDifference, func(s *supplied) float64 { return s.op.FilterLoss }).WithDigits(3))
	}
	fields = append(fields,
		number("pump_rise_pa", "at the pumps", units.PressureDifference, func(s *supplied) float64 { return s.op.Rise }),
		number("pump_flow_m3_s", "pumps", units.PumpFlow, func(s *supplied) float64 { return s.op.PumpFlow }),
		number("return_flow_m3_s", "return", units.PumpFlow, func(s *supplied) float64 { return s.op.ReturnFlow }),
	)
	if len(sup.System.Return) > 0 {
		fields = append(fields, number("return_loss_pa", "return loss", units.PressureDifference, func(s *supplied) float64 { return s.op.ReturnLoss }).InDetail())
	}
	fields = append(fields, value("pump_margin", "margin", units.Fraction, func(s *supplied) table.Cell {
		return table.Num(s.op.Margin).Toned(marginTone(s.op.Margin))
	}).WithDigits(0))
	if sup.Lift != nil {
		lift := func(get func(s *supplied) table.Cell) func(s *supplied) table.Cell {
			return func(s *supplied) table.Cell {
				if s.liftErr != nil {
					return table.Missing(plainly(s.liftErr))
				}
				return get(s)
			}
		}
		fields = append(fields,
			value("lift_flow_m3_s", "lift pump", units.PumpFlow, lift(func(s *supplied) table.Cell { return table.Num(s.lift) })).InDetail(),
			value("lift_margin", "lift margin", units.Fraction, lift(func(s *supplied) table.Cell {
				return table.Num(s.liftMargin()).Toned(marginTone(s.liftMargin()))
			})).WithDigits(0),
		)
	}
	if len(sup.System.Lines) > 0 {
		fields = append(fields,
			number("line_velocity_m_s", "speed in line", units.Velocity, func(s *supplied) float64 { return s.line.Velocity }).InDetail(),
			number("reynolds_number", "Reynolds", units.Number, func(s *supplied) float64 { return s.line.Reynolds }).InDetail().WithDigits(0),
			number("friction_factor", "friction", units.Number, func(s *supplied) float64 { return s.line.FrictionFactor }).InDetail(),
			value("line_regime", "in the line", units.Number, func(s *supplied) table.Cell { return table.Text(s.line.Regime.String()) }),
		)
	}
	t = table.Of("fuel supply", all, fields...)
	t.Trim = r.Trim.Name
	t.Notes = r.supplyNotes(all)
	return t, true
}

func marginTone(margin float64) table.Tone {
	switch {
	case !(margin >= 0):
		return table.Failed
	case margin < leastPumpMargin:
		return table.Caution
	}
	return table.Plain
}

func (r *Run) supplyNotes(all []supplied) []string {
	sup := r.Trim.Supply
	notes := []string{fmt.Sprintf("Rail above the venue's pressure, which is what the pumps work against: %s. Pumps at %s, fuel at %s. Margin: what the pumps give there beyond what the engine takes.",
		railWords(r.Trim.Injection.RailPressure, r.Trim.Injection.FollowsManifold), units.Format(sup.Voltage, units.Voltage, units.Metric),
		units.Format(feedTemperature(r.Trim), units.Temperature, units.Metric))}
	if w := worst(all, func(s *supplied) float64 { return s.op.Margin }); w >= 0 {
		s := &all[w]
		text := fmt.Sprintf("Worst at %.0f rpm: the pumps give %s of the %s the engine takes, %.0f %% to spare",
			run.RPM(s.Speed), litres(s.op.PumpFlow), litres(s.demand), 100*s.op.Margin)
		switch {
		case s.op.Short():
			text = fmt.Sprintf("Worst at %.0f rpm: the pumps give %s of the %s the engine takes, and the rail falls from %s to %s",
				run.RPM(s.Speed), litres(s.op.PumpFlow), litres(s.demand), bar(s.asked), bar(s.op.RailPressure))
		case s.op.Margin < leastPumpMargin:
			text += fmt.Sprintf(", less than the %.0f %% wanted for wear and a loaded filter", 100*leastPumpMargin)
		}
		notes = append(notes, text+".")
		notes = append(notes, liftNote(sup.Lift, all)...)
	}
	var left []string
	if len(sup.System.Lines) == 0 {
		left = append(left, "line")
	}
	if len(sup.System.Filters) == 0 {
		left = append(left, "filter")
	}
	if len(sup.System.Return) == 0 {
		left = append(left, "return line")
	}
	if len(left) > 0 {
		notes = append(notes, fmt.Sprintf("The spec gives no %s: no loss is counted there.", strings.Join(left, ", no ")))
	}
	return notes
}

// liftNote says what the lift pumps leave, and where the return has to go for it.
func liftNote(lift *spec.Lift, all []supplied) []string {
	w := worst(all, func(s *supplied) float64 { return -s.demand })
	if lift == nil || w < 0 || all[w].liftErr != nil {
		return nil
	}
	s := &all[w]
	text := fmt.Sprintf("Lift pump: %s at %s against %s; the engine takes %s at most.", litres(s.lift), units.Format(lift.Voltage, units.Voltage, units.Metric),
		units.Format(lift.Pressure, units.PressureDifference, units.Metric), litres(s.demand))
	most := 0.0
	for i := range all {
		most = math.Max(most, all[i].op.PumpFlow)
	}
	if s.lift < most {
		text += fmt.Sprintf(" The main pumps draw up to %s from the pot, so the regulator has to return into it.", litres(most))
	}
	return []string{text}
}

func litres(flow float64) string { return units.Format(flow, units.PumpFlow, units.Metric) }

func bar(difference float64) string {
	return units.Format(difference, units.PressureDifference, units.Metric)
}

// plainly puts the error of a fuel system into units that a data sheet has.
func plainly(err error) string {
	var out *supply.RangeError
	if !errors.As(err, &out) {
		return err.Error()
	}
	kind := units.Voltage
	switch out.Unit {
	case "Pa":
		kind = units.PressureDifference
	case "m³/s":
		kind = units.PumpFlow
	}
	in := func(x float64) string { return units.Format(x, kind, units.Metric) }
	return fmt.Sprintf("%s is %s; the pumps' curve tells from %s to %s", out.What, in(out.Value), in(out.Low), in(out.High))
}

// thirstiest returns the full load that takes most fuel, or nil.
func (r *Run) thirstiest() *boost.Outcome { return r.peak(run.FuelFlow) }

// A usage is what the engine takes from the tank.
type usage struct {
	most  float64 // flow at the thirstiest full load, m³/s
	speed float64 // of that
	mean  float64 // flow over the duty profile, m³/s; 0 without one
	run   float64 // of one stage or lap, m³; 0 without a profile
}

func (r *Run) usage(density float64) (u usage, err error) {
	o := r.thirstiest()
	if o == nil {
		return usage{}, errors.New("no point has a solution")
	}
	u.most, u.speed = o.Point.FuelFlow/density, o.Speed
	if r.Trim.Supply == nil || r.Trim.Supply.Use == nil {
		return u, nil
	}
	use := r.Trim.Supply.Use
	profile := make([]supply.Phase, len(use.Profile))
	for i, l := range use.Profile {
		profile[i] = supply.Phase{Share: l.Time, Flow: l.Flow * u.most}
	}
	if u.mean, err = supply.MeanFlow(profile); err != nil {
		return usage{}, err
	}
	u.run, err = supply.Use(profile, use.Time)
	return u, err
}

// FuelUse returns what fuel the engine takes from the tank, and how long the tank lasts.
func (r *Run) FuelUse() table.Table {
	density, err := r.Trim.Fuel.Grade.DensityAt(feedTemperature(r.Trim))
	var u usage
	if err == nil {
		u, err = r.usage(density)
	}
	value := func(key, title string, quantity units.Kind, get func() (float64, error)) table.Field[*Run] {
		return table.Cells(key, title, quantity, func(*Run) table.Cell {
			if err != nil {
				return table.Missing(err.Error())
			}
			x, err := get()
			if err != nil {
				return table.Missing(err.Error())
			}
			return table.Num(x)
		})
	}
	number := func(key, title string, quantity units.Kind, x float64) table.Field[*Run] {
		return value(key, title, quantity, func() (float64, error) { return x, nil })
	}
	fields := []table.Field[*Run]{
		number("full_load_use_m3_s", "at full load", units.UseFlow, u.most),
		number("full_load_use_rpm", "  at", units.Speed, u.speed),
	}
	sup := r.Trim.Supply
	var tank *supply.Tank
	var use *spec.Use
	if sup != nil {
		tank, use = sup.Tank, sup.Use
	}
	name := "unnamed"
	if use != nil {
		if use.Name != "" {
			name = use.Name
		}
		fields = append(fields,
			table.Words("run_name", "stage or lap", func(*Run) string { return name }),
			number("run_time_s", "  takes", units.Duration, use.Time).InDetail(),
			number("mean_use_m3_s", "  mean use", units.UseFlow, u.mean),
			number("fuel_use_m3", "  fuel", units.TankVolume, u.run).WithDigits(2),
			number("run_fuel_kg", "  which weighs", units.Mass, u.run*density).WithDigits(2),
		)
	}
	if tank != nil {
		fields = append(fields,
			number("tank_usable_m3", "tank less reserve", units.TankVolume, tank.Volume-tank.Reserve),
			value("full_load_time_s", "  lasts at full load", units.Duration, func() (float64, error) { return tank.Time(u.most) }),
		)
		if use != nil {
			fields = append(fields,
				value("tank_time_s", "  lasts as the stage or lap is driven", units.Duration, func() (float64, error) { return tank.Time(u.mean) }),
				value("tank_runs", "  stages or laps", units.Number, func() (float64, error) {
					n, err := tank.Runs(u.run)
					return float64(n), err
				}).WithDigits(0),
				number("fill_m3", "fill for one, with the reserve", units.TankVolume, u.run+tank.Reserve).WithDigits(2),
				number("fill_kg", "  which weighs", units.Mass, (u.run+tank.Reserve)*density).WithDigits(2),
			)
		}
	}
	t := table.One("fuel use", r, fields...)
	t.Trim = r.Trim.Name
	t.Notes = []string{fmt.Sprintf("Volumes at %s. Full load: the highest use over the range of speeds.", units.Format(feedTemperature(r.Trim), units.Temperature, units.Metric))}
	if use != nil {
		t.Notes[0] += fmt.Sprintf(" Stage or lap: %s, %.0f s, %s of that.", name, use.Time, profileWords(use))
	}
	if left := r.lacking(); len(left) > 0 {
		t.Notes = append(t.Notes, "Not in the spec, and left out with what needs it: "+strings.Join(left, ", ")+".")
	}
	return t
}

// profileWords says for which share of the time a run takes which share of the highest fuel flow.
func profileWords(use *spec.Use) string {
	parts := make([]string, len(use.Profile))
	for i, l := range use.Profile {
		parts[i] = fmt.Sprintf("%.0f %% of the time at %.0f %%", 100*l.Time, 100*l.Flow)
	}
	return strings.Join(parts, ", ")
}

// lacking names the parts of the fuel system that the spec does not have.
func (r *Run) lacking() []string {
	var left []string
	for _, p := range []struct {
		name string
		has  bool
	}{
		{"injection", r.Trim.Injection != nil}, {"supply", r.Trim.Supply != nil},
		{"supply.pumps", r.Trim.Supply == nil || r.pumps()},
		{"supply.tank", r.Trim.Supply == nil || r.Trim.Supply.Tank != nil},
		{"supply.use", r.Trim.Supply == nil || r.Trim.Supply.Use != nil},
	} {
		if !p.has {
			left = append(left, p.name)
		}
	}
	return left
}

// The fuel temperatures between which the change of flow is told, K: a cold morning and a hot rail.
const (
	coldFuel = 283.15
	hotFuel  = 333.15
)

// FuelTemperature returns the density used and what warmer fuel does to the flow.
func (r *Run) FuelTemperature() table.Table {
	g, at := r.Trim.Fuel.Grade, r.Trim.Fuel.Temperature
	used, err := g.DensityAt(at)
	cold, coldErr := g.DensityAt(coldFuel)
	hot, hotErr := g.DensityAt(hotFuel)
	err = errors.Join(err, coldErr, hotErr)
	number := func(key, title string, quantity units.Kind, x float64) table.Field[*Run] {
		return table.Cells(key, title, quantity, func(*Run) table.Cell {
			if err != nil {
				return table.Missing(err.Error())
			}
			return table.Num(x)
		})
	}
	fields := []table.Field[*Run]{
		number("fuel_density_kg_m3", "density used", units.Density, used).WithDigits(0),
		table.Number("fuel_temperature_k", "  at", units.Temperature, func(*Run) float64 { return at }),
		number("density_change", "density, 10 to 60 degC", units.Fraction, hot/cold-1),
	}
	if r.Trim.Injection != nil {
		flow := math.Sqrt(hot/cold) - 1
		fields = append(fields,
			number("injector_flow_change", "injector flow by mass, 10 to 60 degC", units.Fraction, flow),
			number("lambda_change", "lambda, where nothing corrects it", units.Fraction, 1/(1+flow)-1),
		)
	}
	t := table.One("fuel temperature", r, fields...)
	t.Trim = r.Trim.Name
	t.Notes = []string{"An injector passes a mass that goes with the square root of the density. What viscosity and vapour in a hot rail do is not counted."}
	return t
}
