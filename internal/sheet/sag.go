package sheet

import (
	"errors"
	"fmt"

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
// without injectors.
func (r *Run) Sag() (tables []table.Table, ok bool) {
	if r.Trim.Injection == nil {
		return nil, false
	}
	all, b, err := r.Sags()
	if err != nil {
		return []table.Table{r.noSag(err)}, true
	}
	return []table.Table{r.sagTable(run.WorstSag(all), b), r.sagBreaks(r.Breaks(all, b.Pumped))}, true
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
			table.Number("pump_flow_m3_s", "pumps", units.PumpFlow, func(s supply.SagRow) float64 { return s.Supply.PumpFlow }),
			table.Cells("pump_margin", "margin", units.Fraction, func(s supply.SagRow) table.Cell {
				return table.Num(s.Supply.Margin).Toned(tone(check.PumpMargin(s.Supply.Margin)))
			}).WithDigits(0),
			table.Number("rail_pressure_pa", "rail", units.GaugePressure, func(s supply.SagRow) float64 { return s.Supply.RailPressure }),
		)
	}
	fields = append(fields,
		table.Number("rail_difference_pa", "over injector", units.PressureDifference, func(s supply.SagRow) float64 { return s.PressureDifference }),
		dead("primary_dead_time_s", "primary dead time", func(s *injector.Split) *injector.Delivery { return &s.Primary }),
		pulse("primary_pulse_s", "primary pulse", func(s *injector.Split) float64 { return s.Primary.Pulse }),
		duty("primary_duty", "primary duty", func(s *injector.Split) float64 { return s.Primary.Duty }),
	)
	if r.Trim.Injection.Staging.TwoSets() {
		fields = append(fields,
			dead("secondary_dead_time_s", "sec. dead time", func(s *injector.Split) *injector.Delivery { return &s.Secondary }),
			pulse("secondary_pulse_s", "sec. pulse", func(s *injector.Split) float64 { return s.Secondary.Pulse }),
			duty("secondary_duty", "sec. duty", func(s *injector.Split) float64 { return s.Secondary.Duty }),
		)
	}
	t := table.Of("battery sag", w.Rows, fields...)
	t.Trim = r.Trim.Name
	text := fmt.Sprintf("At %.0f rpm, full load, the speed at which a limit is passed first.", run.RPM(w.Speed))
	if len(w.Breaks) == 0 {
		text = fmt.Sprintf("At %.0f rpm, full load, of the speeds computed the one with the highest duty at the lowest voltage: no limit is passed down to %s.", run.RPM(w.Speed), volts(run.SagTo))
	}
	text += " The same fuel all along; injectors at the battery's voltage"
	switch {
	case b.Pumped && r.PumpDrop() > 0:
		text += fmt.Sprintf(", pumps %s below it, as the spec has them", volts(r.PumpDrop()))
	case b.Pumped:
		text += ", and pumps too"
	}
	t.Notes = []string{text + "."}
	if b.Pumped && run.FeedTemperature(r.Trim) != r.Trim.Fuel.Temperature {
		t.Notes = append(t.Notes, fmt.Sprintf("Fuel at %s all the way to the injectors, which moves the duty a little against the table over engine speed.",
			units.Format(run.FeedTemperature(r.Trim), units.Temperature, units.Metric)))
	}
	if oneDeadTime(w) {
		t.Notes = append(t.Notes, "The spec has one dead time for every voltage, so that it does not grow here: give it over voltage.")
	}
	if b.Why != nil {
		t.Notes = append(t.Notes, "The pumps are left out, and the rail is taken to hold: "+b.Why.Error()+".")
	} else if !b.Pumped {
		t.Notes = append(t.Notes, "Without pumps in the spec the rail is taken to hold.")
	}
	return t
}

// oneDeadTime reports that the dead time of the primary injectors does not change with the voltage.
func oneDeadTime(w *run.Sagging) bool {
	a, b := &w.Rows[0], w.Weakest()
	return a.Delivered && b.Delivered && a.Injection.Primary.DeadTime == b.Injection.Primary.DeadTime
}

func volts(v float64) string { return units.Format(v, units.Voltage, units.Metric) }

// sagBreaks returns at which battery voltage each limit is passed first, over all speeds.
func (r *Run) sagBreaks(breaks []run.Break) table.Table {
	known := table.Known[run.Break](func(b run.Break) error {
		if !b.Passed {
			return errors.New("holds down to " + volts(run.SagTo))
		}
		return nil
	})
	t := table.Of("sag limits", breaks,
		table.Words("sag_limit", "what", func(b run.Break) string { return sagWords(b.Limit, r.AllowedDuty()) }),
		known.Cells("sag_voltage_v", "breaks at", units.Voltage, func(b run.Break) table.Cell {
			if b.AtStart {
				return table.Num(b.Voltage).Toned(table.Failed).Noted("or above: it is passed at the highest voltage already")
			}
			return table.Num(b.Voltage)
		}),
		known.Number("sag_rpm", "at", units.Speed, func(b run.Break) float64 { return b.Speed }),
	)
	t.Trim = r.Trim.Name
	t.Notes = []string{"Battery voltage at full load; the speed is where it comes first."}
	if r.Trim.Supply != nil && r.Trim.Supply.Lift != nil {
		t.Notes[0] += " The lift pump is not judged."
	}
	if first := run.FirstBreak(breaks); first != nil {
		t.Notes[0] += fmt.Sprintf(" First of all: %s, at %s and %.0f rpm.", sagWords(first.Limit, r.AllowedDuty()), volts(first.Voltage), run.RPM(first.Speed))
	} else {
		t.Notes[0] += fmt.Sprintf(" Nothing breaks down to %s.", volts(run.SagTo))
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
			Meaning: "Battery voltage. The injectors have it, the pumps that less what the spec has them below the injectors.",
			Formula: "14 V to 11 V by 0.5 V", Source: practice, Range: "14 V to 11 V",
		},
		{
			Key: "primary_dead_time_s", Title: "primary dead time",
			Meaning: "Dead time of the primary injectors at the voltage.",
			Formula: "the spec's table over voltage, monotone cubic", Source: given, Range: "within the table; held at its ends, with a note",
		},
		{
			Key: "secondary_dead_time_s", Title: "sec. dead time",
			Meaning: "Dead time of the secondary injectors at the voltage.",
			Formula: "the spec's table over voltage, monotone cubic", Source: given, Range: "within the table; held at its ends, with a note",
		},
		{
			Key: "sag_limit", Title: "what",
			Meaning: "The limit that a weak battery passes.",
			Formula: "see the rows", Source: ours, Range: always,
		},
		{
			Key: "sag_voltage_v", Title: "breaks at",
			Meaning: "Battery voltage below which a limit is passed: pump margin, rail pressure, or the duty of a set of injectors.",
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
