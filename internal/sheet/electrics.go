package sheet

import (
	"fmt"
	"math"

	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/injector"
	"bellmouth/internal/run"
	"bellmouth/internal/spark"
	"bellmouth/internal/spec"
	"bellmouth/internal/supply"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
	"bellmouth/internal/wiring"
)

func (r *Run) balance(all []run.Balance) table.Table {
	known := table.Known[run.Balance](func(b run.Balance) error { return b.Err })
	number := func(key, title string, kind units.Kind, get func(b *run.Balance) float64) table.Field[run.Balance] {
		return known.Number(key, title, kind, func(b run.Balance) float64 { return get(&b) })
	}
	t := table.Of("electrical balance", all,
		table.Words("mode", "mode", func(b run.Balance) string { return b.Mode.Name }),
		table.Number("mode_rpm", "speed", units.Speed, func(b run.Balance) float64 { return b.Speed }),
		number("load_current_a", "loads", units.Current, func(b *run.Balance) float64 { return b.Sum }),
		table.Cells("alternator_limit_a", "alternator at most", units.Current, func(b run.Balance) table.Cell {
			if b.Beyond {
				return table.Num(b.Output).Noted("speed outside the alternator's table: nothing below it, held above")
			}
			return table.Num(b.Output)
		}),
		number("alternator_current_a", "alternator", units.Current, func(b *run.Balance) float64 { return b.State.Supply.Alternator }).InDetail(),
		number("alternator_spare_a", "to spare", units.Current, func(b *run.Balance) float64 { return b.Output - b.Sum }).InDetail(),
		number("battery_current_a", "into battery", units.Current, func(b *run.Balance) float64 { return b.State.Supply.Battery }),
		number("source_voltage_v", "voltage", units.Voltage, func(b *run.Balance) float64 { return b.State.Supply.Voltage }),
		number("bus_voltage_v", "at the channels", units.Voltage, func(b *run.Balance) float64 { return b.State.Bus }).InDetail(),
		known.Cells("battery_lasts_s", "battery lasts", units.Duration, func(b run.Balance) table.Cell {
			if math.IsInf(b.Lasts, 1) {
				return table.Missing(errUnlimited.Error())
			}
			return table.Num(b.Lasts).Toned(failedIf(b.Negative()))
		}),
		table.Cells("mode_time_s", "mode lasts", units.Duration, func(b run.Balance) table.Cell {
			if b.Mode.Time == 0 {
				return table.Missing("the mode has no time")
			}
			return table.Num(b.Mode.Time)
		}),
		known.Answer("battery_used_a_s", "out of battery", units.Charge, func(b run.Balance) (float64, error) {
			if math.IsNaN(b.Used) {
				return 0, errOpenEnded
			}
			return b.Used, nil
		}).WithDigits(2),
		known.Answer("battery_energy_j", "energy", units.BatteryEnergy, func(b run.Balance) (float64, error) {
			if math.IsNaN(b.Drawn) {
				return 0, errOpenEnded
			}
			return b.Drawn, nil
		}),
		known.Cells("battery_regained_s", "won back in", units.Duration, func(b run.Balance) table.Cell {
			switch {
			case math.IsNaN(b.Back):
				return table.Null()
			case math.IsInf(b.Back, 1):
				return table.Missing(errNotBack.Error())
			}
			return table.Num(b.Back)
		}),
		known.Cells("point_rpm", "points of", units.Speed, func(b run.Balance) table.Cell {
			if b.At == nil {
				return table.Missing(noSolution)
			}
			return table.Num(b.At.Speed)
		}).InDetail(),
	)
	battery := r.Trim.Wiring.Battery
	t.Notes = []string{fmt.Sprintf("Full battery, %s, of which %.0f %% counts; won back in the mode %s. Injection, pumps and boost of the solved full load nearest in speed, with the mode's share of its fuel.",
		units.Format(battery.Charge, units.Charge, units.Metric), 100*battery.Usable, r.Trim.Wiring.FullLoad.Name)}
	return t
}

// A placed load is a load in the mode in which it draws most.
type placedLoad struct {
	at      *run.Circuit // nil where no mode that is known has it on
	channel string
	name    string
	least   float64 // voltage that arrives in any mode, V
	wiring.LoadState
}

func (r *Run) electricLoads(modes []run.Circuit) table.Table {
	var all []placedLoad
	for k, c := range r.Trim.Wiring.Channels {
		for _, l := range c.Loads {
			all = append(all, placedLoad{channel: c.Name, name: l.Name, least: math.Inf(1)})
		}
		first := len(all) - len(c.Loads)
		for i := range modes {
			m, n := &modes[i], 0
			if m.Err != nil {
				continue
			}
			for j, l := range c.Loads {
				if !m.Mode.Has(l.Name) {
					continue
				}
				p, s := &all[first+j], m.State.Channels[k].Loads[n]
				n++
				p.least = math.Min(p.least, s.Voltage)
				if p.at == nil || s.Mean > p.Mean {
					p.at, p.LoadState = m, s
				}
			}
		}
	}
	known := table.Known[placedLoad](func(p placedLoad) error {
		if p.at == nil {
			return errNotOn
		}
		return nil
	})
	number := func(key, title string, kind units.Kind, get func(p *placedLoad) float64) table.Field[placedLoad] {
		return known.Number(key, title, kind, func(p placedLoad) float64 { return get(&p) })
	}
	t := table.Of("electrical loads", all,
		table.Words("electrical_load", "load", func(p placedLoad) string { return p.name }),
		table.Words("channel", "channel", func(p placedLoad) string { return p.channel }),
		known.Cells("mode", "mode", units.Number, func(p placedLoad) table.Cell { return table.Text(p.at.Mode.Name) }),
		number("mean_current_a", "mean", units.Current, func(p *placedLoad) float64 { return p.Mean }).WithDigits(2),
		number("drawing_current_a", "while it draws", units.Current, func(p *placedLoad) float64 { return p.While }).WithDigits(2),
		number("peak_current_a", "peak", units.Current, func(p *placedLoad) float64 { return p.LoadState.Peak }),
		number("supply_drop_v", "drop", units.Voltage, func(p *placedLoad) float64 { return p.Drop }),
		number("arriving_voltage_v", "arrives", units.Voltage, func(p *placedLoad) float64 { return p.Voltage }),
		number("arriving_power_w", "power", units.SmallPower, func(p *placedLoad) float64 { return p.Voltage * p.Mean }),
		number("least_arriving_voltage_v", "at least", units.Voltage, func(p *placedLoad) float64 { return p.least }),
	)
	t.Notes = []string{"Figures of the mode in which the load draws most; at least: the voltage in any mode."}
	return t
}

// An arrived row is one full load with what arrives at its parts.
type arrivedRow struct {
	*run.Circuit
	of                  map[spec.LoadKind]run.Arrival
	split               injector.Split
	firing              spark.Firing
	operation           supply.Operation
	splitErr, firingErr error
	operationErr        error
}

// arrivals returns what arrives over engine speed at full load, with what follows from it; ok is false where no load follows the engine.
func (r *Run) arrivals(c *run.Circuits, full []run.Circuit) (t table.Table, ok bool) {
	rows := make([]arrivedRow, len(full))
	has := map[spec.LoadKind]bool{}
	for i := range full {
		row := &rows[i]
		row.Circuit, row.of = &full[i], map[spec.LoadKind]run.Arrival{}
		for _, a := range c.Arrivals(row.Circuit) {
			if old, met := row.of[a.Kind]; !met || a.Voltage < old.Voltage {
				row.of[a.Kind] = a
			}
			has[a.Kind] = true
		}
		o := &r.Outcomes[i]
		if row.Err == nil && o.Err != nil {
			row.Circuit = &run.Circuit{Mode: row.Mode, Speed: row.Speed, Err: run.ErrNoSolution}
		}
		if row.Err != nil {
			continue
		}
		if a, met := row.of[spec.PrimaryInjectors]; met {
			row.split, row.splitErr = c.Inject(row.Mode, row.Speed, &o.Point, a.Voltage)
		}
		if a, met := row.of[spec.Coils]; met {
			row.firing, row.firingErr = c.Charge(row.Speed, a.Voltage)
		}
		if a, met := row.of[spec.MainPumps]; met {
			row.operation, row.operationErr = c.Pumping(row.Mode, row.Speed, &o.Point, a.Voltage)
		}
	}
	if len(has) == 0 {
		return table.Table{}, false
	}
	known := table.Known[arrivedRow](func(a arrivedRow) error { return a.Err })
	fields := []table.Field[arrivedRow]{
		table.Number("rpm", "speed", units.Speed, func(a arrivedRow) float64 { return a.Speed }),
		known.Number("source_voltage_v", "source", units.Voltage, func(a arrivedRow) float64 { return a.State.Supply.Voltage }),
		known.Number("battery_current_a", "into battery", units.Current, func(a arrivedRow) float64 { return a.State.Supply.Battery }),
	}
	arrives := func(kind spec.LoadKind, key, title string) {
		if has[kind] {
			fields = append(fields, known.Number(key, title, units.Voltage, func(a arrivedRow) float64 { return a.of[kind].Voltage }))
		}
	}
	arrives(spec.PrimaryInjectors, "primary_arriving_voltage_v", "at primary injectors")
	if has[spec.PrimaryInjectors] {
		injected := known.And(func(a arrivedRow) error { return a.splitErr })
		fields = append(fields,
			injected.Number("arriving_dead_time_s", "dead time", units.Time, func(a arrivedRow) float64 { return a.split.Primary.DeadTime }),
			injected.Number("arriving_duty", "duty", units.Fraction, func(a arrivedRow) float64 {
				return math.Max(a.split.Primary.Duty, a.split.Secondary.Duty)
			}))
	}
	arrives(spec.SecondaryInjectors, "secondary_arriving_voltage_v", "at secondary injectors")
	arrives(spec.Coils, "coil_arriving_voltage_v", "at coils")
	if has[spec.Coils] {
		fired := known.And(func(a arrivedRow) error { return a.firingErr })
		fields = append(fields,
			fired.Number("arriving_dwell_s", "dwell", units.Time, func(a arrivedRow) float64 { return a.firing.Dwell }),
			fired.Number("arriving_energy_j", "energy", units.Energy, func(a arrivedRow) float64 { return a.firing.Energy }).WithDigits(0))
	}
	arrives(spec.MainPumps, "pump_arriving_voltage_v", "at pumps")
	if has[spec.MainPumps] {
		pumped := known.And(func(a arrivedRow) error { return a.operationErr })
		fields = append(fields, pumped.Cells("arriving_pump_margin", "pump margin", units.Fraction, func(a arrivedRow) table.Cell {
			return table.Num(a.operation.Margin).Toned(tone(check.PumpMargin(a.operation.Margin)))
		}).WithDigits(0))
	}
	arrives(spec.LiftPumps, "lift_arriving_voltage_v", "at lift pumps")
	t = table.Of("voltage at full load", rows, fields...)
	t.Notes = r.loopNotes()
	return t, true
}

// loopNotes says which voltages the other tables are computed with.
func (r *Run) loopNotes() []string {
	w, t := r.Trim.Wiring, r.Trim
	notes := []string{"Loads of the mode " + w.FullLoad.Name + ". Currents, dead time, dwell and pumps go round with the voltages until they agree."}
	if r.LoopErr != nil {
		return append(notes, "The voltages of the other tables are the defaults: "+r.LoopErr.Error()+".")
	}
	var follow, stated string
	say := func(is, looped bool, what string, voltage float64) {
		text := what + " " + volts(voltage)
		switch {
		case !is:
		case looped:
			follow = listed(follow, text)
		default:
			stated = listed(stated, text)
		}
	}
	say(t.Injection != nil, w.Loop.Injectors, "injectors", voltageOf(t.Injection, func(in *spec.Injection) float64 { return in.SupplyVoltage }))
	say(r.Coil() != nil, w.Loop.Coils, "coils", voltageOf(t.Ignition, func(in *spec.Ignition) float64 { return in.SupplyVoltage }))
	say(r.HasPumps(), w.Loop.Pumps, "pumps", voltageOf(t.Supply, func(s *spec.Supply) float64 { return s.Voltage }))
	if follow != "" {
		notes = append(notes, fmt.Sprintf("The other tables take what arrives at %s: %s.", run.Speed(w.FullLoad.Speed), follow))
	}
	if stated != "" {
		notes = append(notes, "The other tables take what the spec states, which counts before the wiring: "+stated+".")
	}
	return notes
}

func voltageOf[T any](part *T, get func(part *T) float64) float64 {
	if part == nil {
		return 0
	}
	return get(part)
}

func listed(list, more string) string {
	if list == "" {
		return more
	}
	return list + ", " + more
}

// electricsEntries explain the columns above.
func electricsEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "mode", Title: "mode",
			Meaning: "Name of the mode: which loads are on.",
			Formula: given,
			Source:  given, Range: always,
		},
		{
			Key: "mode_rpm", Title: "speed",
			Meaning: "Engine speed of the mode.",
			Formula: given,
			Source:  given, Range: always,
		},
		{
			Key: "load_current_a", Title: "loads",
			Meaning: "Sum of the mean currents of all loads.",
			Formula: "Σ Ī",
			Source:  "Kirchhoff's laws", Range: computed,
		},
		{
			Key: "alternator_limit_a", Title: "alternator at most",
			Meaning: "Highest current of the alternator at the engine speed.",
			Formula: "the table; 0 below it, held above",
			Source:  given, Range: always,
		},
		{
			Key: "alternator_spare_a", Title: "to spare",
			Meaning: "What the alternator can give besides the loads, which a battery that is not full may gain; negative where the battery has to help.",
			Formula: "Imax − Σ Ī",
			Source:  ours, Range: computed,
		},
		{
			Key: "alternator_current_a", Title: "alternator",
			Meaning: "Current that the alternator gives.",
			Formula: "loads + into battery",
			Source:  "Kirchhoff's laws", Range: computed,
		},
		{
			Key: "battery_current_a", Title: "into battery",
			Meaning: "Current into the battery; negative out of it.",
			Formula: "alternator − loads; at the regulator's voltage what a nearly full battery takes",
			Source:  "Kirchhoff's laws", Range: "a battery whose voltage at rest stays as it is",
		},
		{
			Key: "source_voltage_v", Title: "voltage", Also: []string{"source"},
			Meaning: "Voltage at the battery's terminals.",
			Formula: "Ub − Rb (Σ I − Imax) with a current out of the battery; else Ub + (Ur − Ub) (Imax − Σ I)/Ic, at most the regulator's Ur; Ic what the battery takes then",
			Source:  "Kirchhoff's laws", Range: "a battery whose voltage at rest stays as it is",
		},
		{
			Key: "bus_voltage_v", Title: "at the channels",
			Meaning: "Voltage where the channels begin, behind the feed.",
			Formula: "U source − Rf Σ Ī",
			Source:  "Kirchhoff's laws", Range: computed,
		},
		{
			Key: "battery_lasts_s", Title: "battery lasts",
			Meaning: "Time for which a full battery gives what the alternator does not.",
			Formula: "usable share × capacity/I",
			Source:  "conservation of charge", Range: "capacity at the current of its rating; less when cold, old or loaded harder",
		},
		{
			Key: "mode_time_s", Title: "mode lasts",
			Meaning: "Time that the mode lasts at most.",
			Formula: given,
			Source:  given, Range: always,
		},
		{
			Key: "battery_used_a_s", Title: "out of battery",
			Meaning: "Charge out of the battery in the mode's time; negative into it.",
			Formula: "I × time",
			Source:  "conservation of charge", Range: computed,
		},
		{
			Key: "battery_energy_j", Title: "energy",
			Meaning: "Energy out of the battery in the mode's time, at its terminals; negative into it.",
			Formula: "U I × time",
			Source:  "definition", Range: computed,
		},
		{
			Key: "battery_regained_s", Title: "won back in",
			Meaning: "Time in the full-load mode after which the battery has the charge again that the mode takes.",
			Formula: "charge out/charging current in the full-load mode",
			Source:  "conservation of charge", Range: "a battery that takes all that goes in",
		},
		{
			Key: "point_rpm", Title: "points of",
			Meaning: "Engine speed of the solved full load whose fuel, rail and boost are taken for the mode.",
			Formula: "the nearest in speed",
			Source:  ours, Range: computed,
		},
		{
			Key: "electrical_load", Title: "load",
			Meaning: "Name of the load.",
			Formula: given,
			Source:  given, Range: always,
		},
		{
			Key: "drawing_current_a", Title: "while it draws",
			Meaning: "Mean current while the load draws.",
			Formula: "mean of I²/Ī; with pulses of n devices evenly apart, n D = m + f: mean of I² from m² (1 − f) + (m + 1)² f",
			Source:  ours, Range: "pulses evenly apart",
		},
		{
			Key: "least_arriving_voltage_v", Title: "at least",
			Meaning: "Least voltage that arrives at the load in any mode while it draws.",
			Formula: "least of U arriving",
			Source:  "Kirchhoff's laws", Range: "quasi-steady; inductance of wires left out",
		},
		{
			Key: "arriving_power_w", Title: "power",
			Meaning: "Mean power that arrives at the load.",
			Formula: "U arriving × Ī",
			Source:  "Kirchhoff's laws", Range: computed,
		},
		{
			Key: "primary_arriving_voltage_v", Title: "at primary injectors",
			Meaning: "Voltage that arrives at the primary injectors while they draw.",
			Formula: "U source − drop",
			Source:  "Kirchhoff's laws", Range: "quasi-steady; inductance of wires left out",
		},
		{
			Key: "secondary_arriving_voltage_v", Title: "at secondary injectors",
			Meaning: "Voltage that arrives at the secondary injectors while they draw.",
			Formula: "U source − drop",
			Source:  "Kirchhoff's laws", Range: "quasi-steady; inductance of wires left out",
		},
		{
			Key: "coil_arriving_voltage_v", Title: "at coils",
			Meaning: "Voltage that arrives at the ignition coils while they draw.",
			Formula: "U source − drop",
			Source:  "Kirchhoff's laws", Range: "quasi-steady; inductance of wires left out",
		},
		{
			Key: "pump_arriving_voltage_v", Title: "at pumps",
			Meaning: "Voltage that arrives at the main fuel pumps.",
			Formula: "U source − drop",
			Source:  "Kirchhoff's laws", Range: "quasi-steady",
		},
		{
			Key: "lift_arriving_voltage_v", Title: "at lift pumps",
			Meaning: "Voltage that arrives at the lift pumps.",
			Formula: "U source − drop",
			Source:  "Kirchhoff's laws", Range: "quasi-steady",
		},
		{
			Key: "arriving_dead_time_s", Title: "dead time",
			Meaning: "Dead time of the primary injectors at the voltage that arrives.",
			Formula: "the table of the spec",
			Source:  given, Range: "voltages of the table, held outside",
		},
		{
			Key: "arriving_duty", Title: "duty",
			Meaning: "Duty of the injector set that works harder, with the dead time at the voltage that arrives.",
			Formula: "(fuel/ṁ + dead time) N/(4π)",
			Source:  "definition, four-stroke", Range: "fuel and rail of the solved full load",
		},
		{
			Key: "arriving_dwell_s", Title: "dwell",
			Meaning: "Dwell at the voltage that arrives.",
			Formula: "as dwell_s",
			Source:  "step response of a series inductance and resistance", Range: "a core that does not saturate",
		},
		{
			Key: "arriving_energy_j", Title: "energy",
			Meaning: "Energy stored in the coil with that dwell.",
			Formula: "½ L i²",
			Source:  "energy of a constant inductance", Range: "a core that does not saturate",
		},
		{
			Key: "arriving_pump_margin", Title: "pump margin",
			Meaning: "What the pumps give at the voltage that arrives, over what the engine takes.",
			Formula: "Q/Qe − 1",
			Source:  ours, Range: "voltages and pressures of the pump's tests",
		},
	}
}
