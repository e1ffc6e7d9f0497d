package sheet

import (
	"errors"
	"fmt"
	"slices"

	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/injector"
	"bellmouth/internal/remark"
	"bellmouth/internal/run"
	"bellmouth/internal/supply"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// Sag returns what a weak battery does at the worst full load, and at which voltage each limit is passed at any; ok is false
// without injectors, and where no limit is passed down to the lowest voltage.
func (r *Run) Sag() (tables []table.Table, ok bool) {
	if r.Trim.Injection == nil {
		return nil, false
	}
	all, b, err := r.Sags()
	if err != nil {
		return []table.Table{r.noSag(err)}, true
	}
	breaks := r.Breaks(all, b.Pumped)
	if run.FirstBreak(breaks) == nil {
		return nil, false
	}
	return []table.Table{r.sagTable(run.WorstSag(all), b), r.sagBreaks(breaks)}, true
}

// healthyBattery says that no limit is passed down to the lowest voltage, where Sag has nothing to tell.
func (r *Run) healthyBattery() []string {
	all, b, err := r.Sags()
	if err != nil || run.FirstBreak(r.Breaks(all, b.Pumped)) != nil {
		return nil
	}
	text := fmt.Sprintf("No limit is passed with a battery that sags to %s.", volts(run.SagTo))
	if b.Why != nil {
		text += " " + leftOut(b)
	}
	return []string{text}
}

// leftOut says why the pumps are not counted with a weak battery.
func leftOut(b *run.Battery) string {
	return "The pumps are left out of that, and the rail pressure is taken as it is: " + b.Why.Error() + "."
}

func (r *Run) noSag(err error) table.Table {
	t := table.One("battery sag", err, table.Words("sag_reason", "not computed", error.Error))
	t.Trim = r.Trim.Name
	return t
}

// errNoFuel is why an injector's figures are missing.
var errNoFuel = errors.New("no pressure is left over the injectors")

func (r *Run) sagTable(w *run.Sagging, b *run.Battery) table.Table {
	allowed := r.AllowedDuty()
	injected := table.Known[supply.SagRow](func(s supply.SagRow) error {
		if !s.Delivered {
			return errNoFuel
		}
		return nil
	})
	pulse := func(key, title string, get func(s *injector.Split) float64) table.Field[supply.SagRow] {
		return injected.Number(key, title, units.Time, func(s supply.SagRow) float64 { return get(&s.Injection) })
	}
	duty := func(key, title string, get func(s *injector.Split) float64) table.Field[supply.SagRow] {
		return injected.Cells(key, title, units.Fraction, func(s supply.SagRow) table.Cell {
			return table.Num(get(&s.Injection)).Toned(failedIf(check.Passes(get(&s.Injection), allowed)))
		})
	}
	dead := func(key, title string, get func(s *injector.Split) *injector.Delivery) table.Field[supply.SagRow] {
		return injected.Cells(key, title, units.Time, func(s supply.SagRow) table.Cell {
			d := get(&s.Injection)
			c := table.Num(d.DeadTime)
			if d.DeadTimeHeld {
				return c.Noted("voltage outside the dead time table: its end value is taken")
			}
			return c
		})
	}
	fields := []table.Field[supply.SagRow]{
		table.Cells("battery_voltage_v", "battery", units.Voltage, func(s supply.SagRow) table.Cell {
			c := table.Num(s.Voltage)
			if texts := s.Supply.Notes.Texts(); len(texts) > 0 {
				return c.Noted(remark.Line(texts))
			}
			return c
		}).WithDigits(1),
	}
	if b.Pumped {
		fields = append(fields,
			table.Number("pump_flow_m3_s", "pump flow", units.PumpFlow, func(s supply.SagRow) float64 { return s.Supply.PumpFlow }),
			table.Cells("pump_margin", "fuel pump margin", units.Fraction, func(s supply.SagRow) table.Cell {
				return table.Num(s.Supply.Margin).Toned(tone(check.PumpMargin(s.Supply.Margin)))
			}).WithDigits(0),
			table.Number("rail_pressure_pa", "rail pressure", units.GaugePressure, func(s supply.SagRow) float64 { return s.Supply.RailPressure }),
		)
	}
	fields = append(fields,
		table.Number("rail_difference_pa", overInjector, units.PressureDifference, func(s supply.SagRow) float64 { return s.PressureDifference }),
		dead("primary_dead_time_s", "primary dead time", func(s *injector.Split) *injector.Delivery { return &s.Primary }),
		pulse("primary_pulse_s", "primary pulse", func(s *injector.Split) float64 { return s.Primary.Pulse }),
		duty("primary_duty", "primary duty", func(s *injector.Split) float64 { return s.Primary.Duty }),
	)
	if r.Trim.Injection.Staging.TwoSets() {
		second := []table.Field[supply.SagRow]{
			dead("secondary_dead_time_s", "secondary dead time", func(s *injector.Split) *injector.Delivery { return &s.Secondary }),
			pulse("secondary_pulse_s", "secondary pulse", func(s *injector.Split) float64 { return s.Secondary.Pulse }),
			duty("secondary_duty", "secondary duty", func(s *injector.Split) float64 { return s.Secondary.Duty }),
		}
		works := slices.ContainsFunc(w.Rows, func(s supply.SagRow) bool { return s.Injection.Secondary.Pulse > 0 })
		for i := range second {
			second[i].Detail = !works // columns of nothing but zeros are no reading
		}
		fields = append(fields, second...)
	}
	t := table.Of("battery sag", w.Rows, fields...)
	t.Trim = r.Trim.Name
	text := fmt.Sprintf("Full load at %s, the speed at which a limit is passed first.", run.Speed(w.Speed))
	if b.Pumped && r.PumpDrop() > 0 {
		text += fmt.Sprintf(" The pumps have %s less than the battery.", volts(r.PumpDrop()))
	}
	t.Notes = []string{text}
	if b.Pumped && run.FeedTemperature(r.Trim) != r.Trim.Fuel.Temperature {
		t.Notes = append(t.Notes, fmt.Sprintf("The fuel is at %s up to the injectors, which moves the duty a little against the table over engine speed.",
			units.Mark(run.FeedTemperature(r.Trim), units.Temperature)))
	}
	if oneDeadTime(&r.Trim.Injection.Staging.Primary.Injector) {
		t.Notes = append(t.Notes, oneDeadTimeNote)
	}
	if b.Why != nil {
		t.Notes = append(t.Notes, leftOut(b))
	} else if !b.Pumped {
		t.Notes = append(t.Notes, "Without pumps in the spec the rail pressure is taken as it is.")
	}
	return t
}

func volts(v float64) string { return units.Mark(v, units.Voltage) }

// sagBreaks returns at which battery voltage each limit is passed first, over all speeds. One at least is passed.
func (r *Run) sagBreaks(breaks []run.Break) table.Table {
	known := table.Known[run.Break](func(b run.Break) error {
		if !b.Passed {
			return errors.New("holds down to " + volts(run.SagTo))
		}
		return nil
	})
	t := table.Of("sag limits", breaks,
		table.Words("sag_limit", "limit passed", func(b run.Break) string { return sagWords(b.Limit, r.AllowedDuty()) }),
		known.Cells("sag_voltage_v", "battery", units.Voltage, func(b run.Break) table.Cell {
			if b.AtStart {
				return table.Num(b.Voltage).Toned(table.Failed).Noted("or above: it is passed at the highest voltage already")
			}
			return table.Num(b.Voltage)
		}),
		known.Number("sag_rpm", "at", units.Speed, func(b run.Break) float64 { return b.Speed }),
	)
	t.Trim = r.Trim.Name
	first := run.FirstBreak(breaks)
	t.Notes = []string{fmt.Sprintf("First of all: %s, at %s and %s.", sagWords(first.Limit, r.AllowedDuty()), volts(first.Voltage), run.Speed(first.Speed))}
	if r.Trim.Supply != nil && r.Trim.Supply.Lift != nil {
		t.Notes = append(t.Notes, "The lift pump is not judged.")
	}
	return t
}

func sagWords(l supply.SagLimit, duty float64) string {
	switch l {
	case supply.SagPumpMargin:
		return "pumps short, rail pressure falls"
	case supply.SagPrimaryDuty:
		return fmt.Sprintf("primary duty over %.0f %%", duty*100)
	case supply.SagSecondaryDuty:
		return fmt.Sprintf("secondary duty over %.0f %%", duty*100)
	}
	return l.String()
}

// sagEntries explain the columns above.
func sagEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "sag_reason", Title: "not computed",
			Meaning: "Why the sag could not be computed.",
			Formula: seeRow, Source: ours, Range: always,
		},
		{
			Key: "battery_voltage_v", Title: "battery",
			Meaning: "Battery voltage. The injectors have it; the pumps have less by as much as the spec's voltage at the pumps is below that at the " +
				"injectors. The engine's fuel is the same all along.",
			Formula: "14 V to 11 V by 0.5 V", Source: practice, Range: "14 V to 11 V",
		},
		{
			Key: "primary_dead_time_s", Title: "primary dead time",
			Meaning: "Dead time of the primary injectors at the voltage.",
			Formula: "the spec's table over voltage, monotone cubic", Source: given, Range: "within the table; held at its ends, with a note",
		},
		{
			Key: "secondary_dead_time_s", Title: "secondary dead time",
			Meaning: "Dead time of the secondary injectors at the voltage.",
			Formula: "the spec's table over voltage, monotone cubic", Source: given, Range: "within the table; held at its ends, with a note",
		},
		{
			Key: "sag_limit", Title: "limit passed",
			Meaning: "The limit that is passed with a weak battery.",
			Formula: "see the rows", Source: ours, Range: always,
		},
		{
			Key: "sag_voltage_v", Title: "battery",
			Meaning: "Battery voltage below which the limit is passed at full load.",
			Formula: "pump flow and dead time at the voltage less the wiring's drop, rail as the pumps hold it; halved to 1e-9 V",
			Source:  "the pump's and the injectors' own tests", Range: "voltages of the sag",
		},
		{
			Key: "sag_rpm", Title: "at",
			Meaning: "Engine speed at which the limit is passed at the highest voltage.",
			Formula: "N at max V", Source: ours, Range: computed,
		},
	}
}
