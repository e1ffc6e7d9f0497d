package sheet

import (
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/check"
	"bellmouth/internal/remark"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/supply"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// Supply returns how pumps, line, filter and regulator feed the full load over engine speed; ok is false where the spec has no
// pumps, or no rail for them.
func (r *Run) Supply() (t table.Table, ok bool) {
	if !r.Fed() {
		return table.Table{}, false
	}
	sup := r.Trim.Supply
	all := r.Feeds()
	known := table.Known[run.Feed](func(f run.Feed) error {
		if !f.Solved {
			return run.ErrNoSolution
		}
		return f.Err
	})
	op := func(key, title string, quantity units.Kind, get func(op *supply.Operation) float64) table.Field[run.Feed] {
		return known.Number(key, title, quantity, func(f run.Feed) float64 { return get(&f.Operation) })
	}
	fields := []table.Field[run.Feed]{
		table.Cells("rpm", "speed", units.Speed, func(f run.Feed) table.Cell {
			c := table.Num(f.Speed)
			if texts := f.Operation.Notes.Texts(); len(texts) > 0 {
				return c.Noted(remark.Line(texts))
			}
			return c
		}),
		known.Number("fuel_volume_flow_m3_s", "engine takes", units.PumpFlow, func(f run.Feed) float64 { return f.Demand }),
		known.Cells("rail_pressure_pa", "rail", units.GaugePressure, func(f run.Feed) table.Cell {
			return table.Num(f.Operation.RailPressure).Toned(failedIf(f.Operation.Short()))
		}),
		known.Number("rail_asked_pa", "rail asked", units.GaugePressure, func(f run.Feed) float64 { return f.Asked }).InDetail(),
	}
	if len(sup.System.Lines) > 0 {
		fields = append(fields, op("line_loss_pa", "line loss", units.PressureDifference, func(op *supply.Operation) float64 { return op.LineLoss }).WithDigits(3))
	}
	if len(sup.System.Filters) > 0 {
		fields = append(fields, op("filter_loss_pa", "filter loss", units.PressureDifference, func(op *supply.Operation) float64 { return op.FilterLoss }).WithDigits(3))
	}
	fields = append(fields,
		op("pump_rise_pa", "at the pumps", units.PressureDifference, func(op *supply.Operation) float64 { return op.Rise }),
		op("pump_flow_m3_s", "pumps", units.PumpFlow, func(op *supply.Operation) float64 { return op.PumpFlow }),
		op("return_flow_m3_s", "return", units.PumpFlow, func(op *supply.Operation) float64 { return op.ReturnFlow }),
	)
	if len(sup.System.Return) > 0 {
		fields = append(fields, op("return_loss_pa", "return loss", units.PressureDifference, func(op *supply.Operation) float64 { return op.ReturnLoss }).InDetail())
	}
	fields = append(fields, known.Cells("pump_margin", "margin", units.Fraction, func(f run.Feed) table.Cell {
		return table.Num(f.Margin()).Toned(tone(check.PumpMargin(f.Margin())))
	}).WithDigits(0))
	if sup.Lift != nil {
		lift := known.And(func(f run.Feed) error { return f.LiftErr })
		fields = append(fields,
			lift.Number("lift_flow_m3_s", "lift pump", units.PumpFlow, func(f run.Feed) float64 { return f.Lift }).InDetail(),
			lift.Cells("lift_margin", "lift margin", units.Fraction, func(f run.Feed) table.Cell {
				return table.Num(f.LiftMargin()).Toned(tone(check.PumpMargin(f.LiftMargin())))
			}).WithDigits(0),
		)
	}
	if len(sup.System.Lines) > 0 {
		fields = append(fields,
			known.Number("line_velocity_m_s", "speed in line", units.Velocity, func(f run.Feed) float64 { return f.Line.Velocity }).InDetail(),
			known.Number("reynolds_number", "Reynolds", units.Number, func(f run.Feed) float64 { return f.Line.Reynolds }).InDetail().WithDigits(0),
			known.Number("friction_factor", "friction", units.Number, func(f run.Feed) float64 { return f.Line.FrictionFactor }).InDetail(),
			known.Cells("line_regime", "in the line", units.Number, func(f run.Feed) table.Cell { return table.Text(f.Line.Regime.String()) }),
		)
	}
	t = table.Of("fuel supply", all, fields...)
	t.Trim = r.Trim.Name
	t.Notes = r.supplyNotes(all)
	return t, true
}

func (r *Run) supplyNotes(all []run.Feed) []string {
	sup := r.Trim.Supply
	notes := []string{fmt.Sprintf("Rail above the venue's pressure, which is what the pumps work against: %s. Pumps at %s, fuel at %s. Margin: what the pumps give there beyond what the engine takes.",
		railWords(r.Trim.Injection.RailPressure, r.Trim.Injection.FollowsManifold), units.Format(sup.Voltage, units.Voltage, units.Metric),
		units.Format(run.FeedTemperature(r.Trim), units.Temperature, units.Metric))}
	if f := run.LeastFeed(all, (*run.Feed).Margin); f != nil {
		text := fmt.Sprintf("Worst at %.0f rpm: the pumps give %s of the %s the engine takes, %.0f %% to spare",
			run.RPM(f.Speed), litres(f.Operation.PumpFlow), litres(f.Demand), 100*f.Margin())
		switch {
		case f.Operation.Short():
			text = fmt.Sprintf("Worst at %.0f rpm: the pumps give %s of the %s the engine takes, and the rail falls from %s to %s",
				run.RPM(f.Speed), litres(f.Operation.PumpFlow), litres(f.Demand), bar(f.Asked), bar(f.Operation.RailPressure))
		case check.PumpMargin(f.Margin()) == check.Note:
			text += fmt.Sprintf(", less than the %.0f %% wanted for wear and a loaded filter", 100*check.LeastPumpMargin)
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
func liftNote(lift *spec.Lift, all []run.Feed) []string {
	f := run.LeastFeed(all, func(f *run.Feed) float64 { return -f.Demand })
	if lift == nil || f == nil || f.LiftErr != nil {
		return nil
	}
	text := fmt.Sprintf("Lift pump: %s at %s against %s; the engine takes %s at most.", litres(f.Lift), units.Format(lift.Voltage, units.Voltage, units.Metric),
		units.Format(lift.Pressure, units.PressureDifference, units.Metric), litres(f.Demand))
	most := 0.0
	for i := range all {
		most = math.Max(most, all[i].Operation.PumpFlow)
	}
	if f.Lift < most {
		text += fmt.Sprintf(" The main pumps draw up to %s from the pot, so the regulator has to return into it.", litres(most))
	}
	return []string{text}
}

func litres(flow float64) string { return units.Format(flow, units.PumpFlow, units.Metric) }

func bar(difference float64) string {
	return units.Format(difference, units.PressureDifference, units.Metric)
}

// FuelUse returns what fuel the engine takes from the tank, and how long the tank lasts.
func (r *Run) FuelUse() table.Table {
	u, err := r.Review().Fine.Use()
	known := table.Known[run.Use](func(run.Use) error { return err })
	number := func(key, title string, quantity units.Kind, x float64) table.Field[run.Use] {
		return known.Number(key, title, quantity, func(run.Use) float64 { return x })
	}
	fields := []table.Field[run.Use]{
		number("full_load_use_m3_s", "at full load", units.UseFlow, u.Most),
		number("full_load_use_rpm", "  at", units.Speed, u.Speed),
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
			table.Words("run_name", "stage or lap", func(run.Use) string { return name }),
			number("run_time_s", "  takes", units.Duration, use.Time).InDetail(),
			number("mean_use_m3_s", "  mean use", units.UseFlow, u.Mean),
			number("fuel_use_m3", "  fuel", units.TankVolume, u.Stage).WithDigits(2),
			number("run_fuel_kg", "  which weighs", units.Mass, u.Stage*u.Density).WithDigits(2),
		)
	}
	if tank != nil {
		fields = append(fields,
			known.Number("tank_usable_m3", "tank less reserve", units.TankVolume, func(u run.Use) float64 { return u.Usable() }),
			known.Answer("full_load_time_s", "  lasts at full load", units.Duration, func(u run.Use) (float64, error) { return u.Tank.Time(u.Most) }),
		)
		if use != nil {
			fields = append(fields,
				known.Answer("tank_time_s", "  lasts as the stage or lap is driven", units.Duration, func(u run.Use) (float64, error) { return u.Tank.Time(u.Mean) }),
				known.Answer("tank_runs", "  stages or laps", units.Number, func(u run.Use) (float64, error) {
					n, err := u.Tank.Runs(u.Stage)
					return float64(n), err
				}).WithDigits(0),
				known.Number("fill_m3", "fill for one, with the reserve", units.TankVolume, func(u run.Use) float64 { return u.Fill() }).WithDigits(2),
				known.Number("fill_kg", "  which weighs", units.Mass, func(u run.Use) float64 { return u.Fill() * u.Density }).WithDigits(2),
			)
		}
	}
	t := table.One("fuel use", u, fields...)
	t.Trim = r.Trim.Name
	t.Notes = []string{fmt.Sprintf("Volumes at %s. Full load: the highest use over the range of speeds.", units.Format(run.FeedTemperature(r.Trim), units.Temperature, units.Metric))}
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
		{"supply.pumps", r.Trim.Supply == nil || r.HasPumps()},
		{"supply.tank", r.Trim.Supply == nil || r.Trim.Supply.Tank != nil},
		{"supply.use", r.Trim.Supply == nil || r.Trim.Supply.Use != nil},
	} {
		if !p.has {
			left = append(left, p.name)
		}
	}
	return left
}

// FuelTemperature returns the density used and what warmer fuel does to the flow.
func (r *Run) FuelTemperature() table.Table {
	warm, err := run.Warm(r.Trim.Fuel)
	known := table.Known[run.Warming](func(run.Warming) error { return err })
	fields := []table.Field[run.Warming]{
		known.Number("fuel_density_kg_m3", "density used", units.Density, func(w run.Warming) float64 { return w.Density }).WithDigits(0),
		table.Number("fuel_temperature_k", "  at", units.Temperature, func(run.Warming) float64 { return r.Trim.Fuel.Temperature }),
		known.Number("density_change", "density, 10 to 60 degC", units.Fraction, func(w run.Warming) float64 { return w.Change }),
	}
	if r.Trim.Injection != nil {
		fields = append(fields,
			known.Number("injector_flow_change", "injector flow by mass, 10 to 60 degC", units.Fraction, func(w run.Warming) float64 { return w.Flow }),
			known.Number("lambda_change", "lambda, where nothing corrects it", units.Fraction, func(w run.Warming) float64 { return w.Lambda }),
		)
	}
	t := table.One("fuel temperature", warm, fields...)
	t.Trim = r.Trim.Name
	t.Notes = []string{"An injector passes a mass that goes with the square root of the density. What viscosity and vapour in a hot rail do is not counted."}
	return t
}
