package sheet

import (
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/check"
	"bellmouth/internal/formula"
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
		known.Cells("rail_pressure_pa", "rail pressure", units.GaugePressure, func(f run.Feed) table.Cell {
			return table.Num(f.Operation.RailPressure).Toned(failedIf(f.Operation.Short()))
		}),
		known.Number("rail_asked_pa", "rail target", units.GaugePressure, func(f run.Feed) float64 { return f.Asked }).InDetail(),
	}
	if len(sup.System.Lines) > 0 {
		fields = append(fields, op("line_loss_pa", "line loss", units.PressureDifference,
			func(op *supply.Operation) float64 { return op.LineLoss }).WithDigits(3))
	}
	if len(sup.System.Filters) > 0 {
		fields = append(fields, op("filter_loss_pa", "filter loss", units.PressureDifference,
			func(op *supply.Operation) float64 { return op.FilterLoss }).WithDigits(3))
	}
	fields = append(fields,
		op("pump_rise_pa", "pump pressure", units.PressureDifference, func(op *supply.Operation) float64 { return op.Rise }),
		op("pump_flow_m3_s", "pump flow", units.PumpFlow, func(op *supply.Operation) float64 { return op.PumpFlow }),
		op("return_flow_m3_s", "return flow", units.PumpFlow, func(op *supply.Operation) float64 { return op.ReturnFlow }),
	)
	if len(sup.System.Return) > 0 {
		fields = append(fields, op("return_loss_pa", "return loss", units.PressureDifference,
			func(op *supply.Operation) float64 { return op.ReturnLoss }).InDetail())
	}
	fields = append(fields, known.Cells("pump_margin", "fuel pump margin", units.Fraction, func(f run.Feed) table.Cell {
		return table.Num(f.Margin()).Toned(tone(check.PumpMargin(f.Margin())))
	}).WithDigits(0))
	if sup.Lift != nil {
		lift := known.And(func(f run.Feed) error { return f.LiftErr })
		fields = append(fields,
			lift.Number("lift_flow_m3_s", "lift pump flow", units.PumpFlow, func(f run.Feed) float64 { return f.Lift }).InDetail(),
			lift.Cells("lift_margin", "lift pump margin", units.Fraction, func(f run.Feed) table.Cell {
				return table.Num(f.LiftMargin()).Toned(tone(check.PumpMargin(f.LiftMargin())))
			}).WithDigits(0),
		)
	}
	if len(sup.System.Lines) > 0 {
		fields = append(fields,
			known.Number("line_velocity_m_s", "speed in line", units.Velocity, func(f run.Feed) float64 { return f.Line.Velocity }).InDetail(),
			known.Number("reynolds_number", "Reynolds", units.Number, func(f run.Feed) float64 { return f.Line.Reynolds }).InDetail().WithDigits(0),
			known.Number("friction_factor", "friction factor", units.Number, func(f run.Feed) float64 { return f.Line.FrictionFactor }).InDetail(),
			known.Cells("line_regime", "flow in line", units.Number, func(f run.Feed) table.Cell { return table.Text(f.Line.Regime.String()) }).InDetail(),
		)
	}
	t = table.Of("fuel supply", all, fields...)
	t.Trim = r.Trim.Name
	t.Notes = r.supplyNotes(all)
	return t, true
}

func (r *Run) supplyNotes(all []run.Feed) []string {
	sup := r.Trim.Supply
	notes := []string{fmt.Sprintf("Pumps at %s, fuel at %s.", volts(sup.Voltage), units.Mark(run.FeedTemperature(r.Trim), units.Temperature))}
	if f := run.LeastFeed(all, (*run.Feed).Margin); f != nil {
		text := fmt.Sprintf("The margin is least at %s, where the pumps give %s and the engine takes %s",
			run.Speed(f.Speed), litres(f.Operation.PumpFlow), litres(f.Demand))
		switch {
		case f.Operation.Short():
			text = fmt.Sprintf("The pumps are short at %s. They give %s, the engine takes %s, and the rail falls from %s to %s",
				run.Speed(f.Speed), litres(f.Operation.PumpFlow), litres(f.Demand), bar(f.Asked), bar(f.Operation.RailPressure))
		case check.PumpMargin(f.Margin()) == check.Note:
			text += fmt.Sprintf(". Worn pumps and a loaded filter need %.0f %%", 100*check.LeastPumpMargin)
		}
		notes = append(notes, text+".")
		notes = append(notes, liftNote(sup.Lift, all)...)
	}
	notes = append(notes, r.healthyBattery()...)
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
	text := fmt.Sprintf("The lift pump gives %s at %s against %s.", litres(f.Lift), volts(lift.Voltage), bar(lift.Pressure))
	most := 0.0
	for i := range all {
		most = math.Max(most, all[i].Operation.PumpFlow)
	}
	if f.Lift < most {
		text += fmt.Sprintf(" The main pumps draw up to %s from the pot, so the regulator has to return into it.", litres(most))
	}
	return []string{text}
}

func litres(flow float64) string { return units.Mark(flow, units.PumpFlow) }

func bar(difference float64) string {
	return units.Mark(difference, units.PressureDifference)
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
	name := "unnamed"
	if u.Name != "" {
		name = u.Name
	}
	driven := known.And(func(u run.Use) error { return u.Unknown })
	if u.Given() {
		fields = append(fields,
			table.Words("run_name", "stage or lap", func(run.Use) string { return name }),
			driven.Number("run_time_s", "  takes", units.Duration, func(u run.Use) float64 { return u.Time }).InDetail(),
			driven.Number("mean_use_m3_s", "  mean use", units.UseFlow, func(u run.Use) float64 { return u.Mean }),
			driven.Number("fuel_use_m3", "  fuel", units.TankVolume, func(u run.Use) float64 { return u.Stage }).WithDigits(2),
			driven.Number("run_fuel_kg", "  which weighs", units.Mass, func(u run.Use) float64 { return u.Stage * u.Density }).WithDigits(2),
		)
	}
	if u.Tank != nil {
		fields = append(fields,
			known.Number("tank_usable_m3", "tank less reserve", units.TankVolume, func(u run.Use) float64 { return u.Usable() }),
			known.Answer("full_load_time_s", "  lasts at full load", units.Duration, func(u run.Use) (float64, error) { return u.Tank.Time(u.Most) }),
		)
		if u.Given() {
			fields = append(fields,
				driven.Answer("tank_time_s", "  lasts as the stage or lap is driven", units.Duration,
					func(u run.Use) (float64, error) { return u.Tank.Time(u.Mean) }),
				driven.Answer("tank_runs", "  stages or laps", units.Number, func(u run.Use) (float64, error) {
					n, err := u.Tank.Runs(u.Stage)
					return float64(n), err
				}).WithDigits(0),
				driven.Number("fill_m3", "fill for one, with the reserve", units.TankVolume, func(u run.Use) float64 { return u.Fill() }).WithDigits(2),
				driven.Number("fill_kg", "  which weighs", units.Mass, func(u run.Use) float64 { return u.Fill() * u.Density }).WithDigits(2),
			)
		}
	}
	t := table.One("fuel use", u, fields...)
	t.Trim = r.Trim.Name
	t.Notes = []string{fmt.Sprintf("Volumes at %s.", units.Mark(run.FeedTemperature(r.Trim), units.Temperature))}
	switch {
	case u.Driven && u.Unknown == nil:
		t.Notes[0] += fmt.Sprintf(" Stage or lap: %s, the course, driven in %.2f s.", name, u.Time)
	case u.Given() && !u.Driven:
		t.Notes[0] += fmt.Sprintf(" Stage or lap: %s, %.0f s, %s of the use at full load.", name, u.Time, profileWords(r.Trim.Supply.Use))
		if u.Instead != nil {
			t.Notes = append(t.Notes, fmt.Sprintf("This profile stands in for the course: %s.", u.Instead))
		}
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
		{"supply.use", r.Trim.Supply == nil || r.Trim.Supply.Use != nil || r.HasCourse()},
	} {
		if !p.has {
			left = append(left, p.name)
		}
	}
	return left
}

// warmed names the temperatures that the fuel is taken to warm from and to.
var warmed = units.Range(run.ColdFuel, run.HotFuel, units.Temperature)

// FuelTemperature returns the density used and what warmer fuel does to the flow.
func (r *Run) FuelTemperature() table.Table {
	warm, err := run.Warm(r.Trim.Fuel)
	known := table.Known[run.Warming](func(run.Warming) error { return err })
	fields := []table.Field[run.Warming]{
		known.Number("fuel_density_kg_m3", "density used", units.Density, func(w run.Warming) float64 { return w.Density }).WithDigits(0),
		table.Number("fuel_temperature_k", "  at", units.Temperature, func(run.Warming) float64 { return r.Trim.Fuel.Temperature }),
		known.Number("density_change", "density, "+warmed, units.Fraction, func(w run.Warming) float64 { return w.Change }),
	}
	if r.Trim.Injection != nil {
		fields = append(fields,
			known.Number("injector_flow_change", "injector flow by mass, "+warmed, units.Fraction, func(w run.Warming) float64 { return w.Flow }),
			known.Number("lambda_change", "lambda, where nothing corrects it", units.Fraction, func(w run.Warming) float64 { return w.Lambda }),
		)
	}
	t := table.One("fuel temperature", warm, fields...)
	t.Trim = r.Trim.Name
	t.Notes = []string{"Viscosity is not counted, nor is vapour in a hot rail."}
	return t
}

// feedEntries explain the columns above.
func feedEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "rail_pressure_pa", Title: "rail pressure",
			Meaning: "Pressure before the injectors above the venue's, which is what the pumps work against.",
			Formula: "p + pm − pa following the manifold, p fixed; at least the return line's loss; Δp(Qe) − loss(Qe) when the pumps are short",
			Source:  "definition; conservation of pressure", Range: "tank vented to the venue, regulator at the rail",
		},
		{
			Key: "rail_asked_pa", Title: "rail target",
			Meaning: "Rail pressure above the venue's to which the regulator is set.",
			Formula: "p + pm − pa following the manifold; p fixed", Source: ours, Range: always,
		},
		{
			Key: "line_loss_pa", Title: "line loss",
			Meaning: "Pressure lost between tank and rail by wall friction and fittings, at the pumps' flow.",
			Formula: "(f L/d + K) ρ v²/2, v = 4 Q/(π d²)",
			Source:  "Darcy and Weisbach, White, Fluid Mechanics, §6.3 and §6.9", Range: "Reynolds number up to 1e8, roughness up to 0.05 of the bore",
		},
		{
			Key: "filter_loss_pa", Title: "filter loss",
			Meaning: "Pressure lost in the filters at the pumps' flow, clean.",
			Formula: "Δp0 (s μ/μ0 Q/Q0 + (1 − s) ρ/ρ0 (Q/Q0)²), s the linear share at the measured point",
			Source:  "Darcy and Forchheimer, from memory", Range: "near the measured flow; a loaded filter loses more",
		},
		{
			Key: "pump_rise_pa", Title: "pump pressure",
			Meaning: "Pressure that the pumps add to what they draw from the tank.",
			Formula: "Δp = rail above venue + line loss + filter loss",
			Source:  "conservation of pressure along the line",
			Range:   "pressures of the pump's tests; 0.75 of the lowest voltage tested to 1.25 of the highest",
		},
		{
			Key: "pump_flow_m3_s", Title: "pump flow",
			Meaning: "Volume flow that the pumps give against the rail's pressure and what lines and filters lose on the way.",
			Formula: "Δp(Q, V) = rail above venue + loss(Q), solved for Q; one behind the other pressures add, side by side flows",
			Source:  "the pump's tests, monotone cubic over pressure; White, Fluid Mechanics, §6.10 and §11.5",
			Range:   "pressures of the pump's tests; 0.75 of the lowest voltage tested to 1.25 of the highest",
		},
		{
			Key: "return_flow_m3_s", Title: "return flow",
			Meaning: "Volume flow that the regulator sends back to the tank.",
			Formula: "Q − Qe, at least 0", Source: "conservation of volume", Range: "systems with a return",
		},
		{
			Key: "return_loss_pa", Title: "return loss",
			Meaning: "Pressure lost from the regulator to the tank; the rail cannot be lower.",
			Formula: "as the line loss, at the return flow",
			Source:  "Darcy and Weisbach, White, Fluid Mechanics, §6.3", Range: "as the line loss",
		},
		{
			Key: "pump_margin", Title: "fuel pump margin",
			Meaning: "By how much the pumps give more than the engine takes, as a part of that; below 0 the rail falls.",
			Formula: "Q/Qe − 1", Source: ours, Range: "demand above 0",
		},
		{
			Key: "margin", Title: "margin",
			Meaning: "How far the value is on the good side of its limit; negative past it.",
			Formula: "limit − value, or value − limit for what must not fall below", Source: ours, Range: always,
		},
		{
			Key: "lift_flow_m3_s", Title: "lift pump flow",
			Meaning: "Volume flow of the lift pumps against the pressure of the spec.",
			Formula: "the pumps' tests, monotone cubic over pressure, straight over voltage",
			Source:  given, Range: "pressures of the pump's tests; 0.75 of the lowest voltage tested to 1.25 of the highest",
		},
		{
			Key: "lift_margin", Title: "lift pump margin",
			Meaning: "By how much the lift pumps give more than the engine takes, as a part of that. " +
				"It is enough where the regulator returns into the pot. With a return into the tank the lift pumps need to give the main pumps' " +
				"whole flow.",
			Formula: "Q/Qe − 1", Source: ours, Range: "demand above 0",
		},
		{
			Key: "line_velocity_m_s", Title: "speed in line",
			Meaning: "Mean velocity of the fuel in a line.",
			Formula: "v = 4 Q/(π d²)", Source: "conservation of volume", Range: always,
		},
		{
			Key: "reynolds_number", Title: "Reynolds",
			Meaning: "Of a line's flow, by its bore.",
			Formula: "Re = ρ v d/μ, v = 4 Q/(π d²)", Source: ours, Range: always,
		},
		{
			Key: "friction_factor", Title: "friction factor",
			Meaning: "Darcy's friction factor of a line.",
			Formula: "64/Re up to Re 2300; 1/√f = −2 log10((ε/d)/3.7 + 2.51/(Re √f)) from 4000; straight in Re between",
			Source:  "Colebrook, J. Inst. Civil Engineers 11 (1939); White, Fluid Mechanics, §6.6; between: common practice, no source",
			Range:   "Reynolds number up to 1e8, roughness up to 0.05 of the bore",
		},
		{
			Key: "line_regime", Title: "flow in line",
			Meaning: "How the fuel flows in the line: laminar, transitional or turbulent.",
			Formula: "laminar up to Re 2300, turbulent from 4000, transitional between",
			Source:  "White, Fluid Mechanics, §6.1 and §6.6", Range: "round, straight pipe",
		},
		{
			Key: "full_load_use_m3_s", Title: "at full load",
			Meaning: "Volume flow of fuel at full load, the highest over the range of speeds.",
			Formula: "Qe = fuel flow/ρ", Source: "conservation of volume", Range: always,
		},
		{
			Key: "full_load_use_rpm", Title: "at",
			Meaning: "Engine speed at which most fuel is taken.",
			Formula: "N at max ṁf", Source: ours, Range: computed,
		},
		{
			Key: "run_name", Title: "stage or lap",
			Meaning: "What the spec calls the stage or lap.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "run_time_s", Title: "takes",
			Meaning: "How long it takes.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "mean_use_m3_s", Title: "mean use",
			Meaning: "Mean volume flow over the stage or lap.",
			Formula: "Σ share Q, Q = share of the highest flow × that",
			Source:  "conservation of mass", Range: "shares of time that add up to 1",
		},
		{
			Key: "fuel_use_m3", Title: "fuel",
			Meaning: "Volume of fuel that a stage or lap takes.",
			Formula: "t Σ share Q", Source: "conservation of volume", Range: "shares of time that add up to 1",
		},
		{
			Key: "run_fuel_kg", Title: "which weighs",
			Meaning: "Mass of the fuel that it takes.",
			Formula: "ρ t Σ share Q", Source: "conservation of mass", Range: "shares of time that add up to 1",
		},
		{
			Key: "tank_usable_m3", Title: "tank less reserve",
			Meaning: "Volume that can be counted on.",
			Formula: "volume − reserve", Source: given, Range: always,
		},
		{
			Key: "full_load_time_s", Title: "lasts at full load",
			Meaning: "Time for which the tank lasts at the highest use.",
			Formula: "(volume − reserve)/Q", Source: "conservation of mass", Range: computed,
		},
		{
			Key: "tank_time_s", Title: "lasts as the stage or lap is driven",
			Meaning: "Time until only the reserve is left.",
			Formula: "(volume − reserve)/Σ share Q", Source: "conservation of volume", Range: "shares of time that add up to 1",
		},
		{
			Key: "tank_runs", Title: "stages or laps",
			Meaning: "Whole stages or laps that the tank lasts before its reserve.",
			Formula: "(volume − reserve)/fuel of a run, rounded down",
			Source:  "conservation of volume", Range: "shares of time that add up to 1",
		},
		{
			Key: "fill_m3", Title: "fill for one, with the reserve",
			Meaning: "What the tank has to hold for one stage or lap that ends on its reserve.",
			Formula: "fuel of the run + reserve", Source: "conservation of mass", Range: "shares of time that add up to 1",
		},
		{
			Key: "fill_kg", Title: "which weighs",
			Meaning: "What it weighs.",
			Formula: "ρ (fuel of the run + reserve)", Source: "conservation of mass", Range: "shares of time that add up to 1",
		},
		{
			Key: "density_change", Title: "density, " + warmed,
			Meaning: "Change of the fuel's density.",
			Formula: "ρ60/ρ10 − 1, ρ = ρ20 (1 − β (T − 293.15))",
			Source:  "DIPPR fits of the pure components, within 0.3 %", Range: "10 °C to 60 °C",
		},
		{
			Key: "injector_flow_change", Title: "injector flow by mass, " + warmed,
			Meaning: "Change of the mass that an open injector passes, at the same pressure. It goes with the square root of the density.",
			Formula: "√(ρ60/ρ10) − 1",
			Source:  "ISO 5167-1, incompressible, constant discharge coefficient", Range: "10 °C to 60 °C, no vapour in the rail",
		},
		{
			Key: "lambda_change", Title: "lambda, where nothing corrects it",
			Meaning: "Change of lambda with the same pulses and air, dead time not counted.",
			Formula: "√(ρ10/ρ60) − 1",
			Source:  "ISO 5167-1, incompressible, constant discharge coefficient", Range: "10 °C to 60 °C, no vapour in the rail",
		},
	}
}
