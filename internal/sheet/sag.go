package sheet

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/injector"
	"bellmouth/internal/remark"
	"bellmouth/internal/run"
	"bellmouth/internal/supply"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// The battery voltages of a sag, V: from a charging system at work to a battery that feeds the car alone and is nearly empty.
const (
	sagFrom = 14.0
	sagTo   = 11.0
	sagStep = 0.5
)

// A sagging is one full load as the battery weakens.
type sagging struct {
	speed  float64
	rows   []supply.SagRow
	breaks []supply.SagBreak // first the first
}

// dutyOf returns the higher duty of the two sets; infinite where nothing is delivered.
func dutyOf(r *supply.SagRow) float64 {
	if !r.Delivered {
		return math.Inf(1)
	}
	return math.Max(r.Injection.Primary.Duty, r.Injection.Secondary.Duty)
}

// pumpDrop is what the wiring to the pumps loses, as far as the spec tells: by how much their voltage is below the injectors'.
func (r *Run) pumpDrop() float64 {
	return math.Max(0, r.Trim.Injection.SupplyVoltage-r.Trim.Supply.Voltage)
}

// sag returns one full load as the battery weakens from a voltage, V, with the rail as the pumps hold it, or as the regulator does where no
// pumps are given.
func (r *Run) sag(p *airpath.Point, liquid supply.Liquid, pumped bool, from float64) (sagging, error) {
	in := r.Trim.Injection
	s := supply.Sag{
		Rail: r.rail(), Staging: &in.Staging, ManifoldPressure: p.ManifoldPressure, VenuePressure: r.Trim.Venue.Pressure,
		Speed: p.Speed, Cylinders: r.Trim.Engine.Cylinders, FuelPerCycle: p.FuelPerCycle, Liquid: liquid, DutyLimit: r.allowedDuty(),
	}
	if pumped {
		s.System, s.PumpDrop = &r.Trim.Supply.System, r.pumpDrop()
		out, err := s.Over(from, sagTo, sagStep)
		return sagging{speed: p.Speed, rows: out.Rows, breaks: out.Breaks}, err
	}
	return r.sagOfInjectors(&s, p.RailDifference, from)
}

// sagOfInjectors is supply.Sag.Over for a rail pressure that holds.
func (r *Run) sagOfInjectors(s *supply.Sag, difference, from float64) (sagging, error) {
	out := sagging{speed: s.Speed}
	at := func(voltage float64) (supply.SagRow, error) {
		row := supply.SagRow{Voltage: voltage, PressureDifference: math.Max(0, difference)}
		if !(difference > 0) {
			return row, nil
		}
		var err error
		row.Injection, err = s.Staging.Split(s.FuelPerCycle, injector.Conditions{
			Speed: s.Speed, PressureDifference: difference, FuelDensity: s.Liquid.Density, Voltage: voltage,
		})
		row.Delivered = err == nil
		return row, err
	}
	passed := func(l supply.SagLimit, row *supply.SagRow) bool {
		if l == supply.SagPrimaryDuty {
			return !row.Delivered || row.Injection.Primary.Duty > s.DutyLimit
		}
		return row.Delivered && row.Injection.Secondary.Duty > s.DutyLimit
	}
	for i := 0; ; i++ {
		voltage := from - float64(i)*sagStep
		if voltage < sagTo-1e-9 {
			break
		}
		row, err := at(voltage)
		if err != nil {
			return sagging{}, err
		}
		out.rows = append(out.rows, row)
	}
	for _, l := range [...]supply.SagLimit{supply.SagPrimaryDuty, supply.SagSecondaryDuty} {
		first := -1
		for i := range out.rows {
			if passed(l, &out.rows[i]) {
				first = i
				break
			}
		}
		if first < 0 {
			continue
		}
		b := supply.SagBreak{Limit: l, Voltage: out.rows[first].Voltage, AtStart: first == 0}
		if first > 0 {
			for holds := out.rows[first-1].Voltage; holds-b.Voltage > 1e-6; {
				mid := (holds + b.Voltage) / 2
				row, err := at(mid)
				if err != nil {
					return sagging{}, err
				}
				if passed(l, &row) {
					b.Voltage = mid
				} else {
					holds = mid
				}
			}
		}
		out.breaks = append(out.breaks, b)
		if n := len(out.breaks); n == 2 && out.breaks[1].Voltage > out.breaks[0].Voltage {
			out.breaks[0], out.breaks[1] = out.breaks[1], out.breaks[0]
		}
	}
	return out, nil
}

// sags returns every solved full load as the battery weakens, and with which fuel and pumps: without those where there are none, or none
// that the voltages can be judged with.
func (r *Run) sags() (all []sagging, b *battery, err error) {
	run := func(b *battery) ([]sagging, error) {
		var all []sagging
		for i := range r.Outcomes {
			o := &r.Outcomes[i]
			if o.Err != nil {
				continue
			}
			s, err := r.sag(&o.Point, b.liquid, b.pumped, sagFrom)
			if err != nil {
				return nil, fmt.Errorf("%.0f rpm: %w", run.RPM(o.Speed), err)
			}
			all = append(all, s)
		}
		if len(all) == 0 {
			return nil, errors.New("no point has a solution")
		}
		return all, nil
	}
	var why error
	if r.pumps() {
		b = &battery{pumped: true}
		if b.liquid, why = r.liquid(); why == nil {
			if all, why = run(b); why == nil {
				return all, b, nil
			}
		}
	}
	density, err := r.Trim.Fuel.Grade.DensityAt(r.Trim.Fuel.Temperature)
	if err != nil {
		return nil, nil, err
	}
	b = &battery{liquid: supply.Liquid{Density: density}, why: why}
	all, err = run(b)
	return all, b, err
}

// worstSag returns the full load that breaks at the highest voltage; where none breaks, the one with the highest duty in the end.
func worstSag(all []sagging) *sagging {
	first := func(s *sagging) float64 {
		if len(s.breaks) == 0 {
			return 0
		}
		return s.breaks[0].Voltage
	}
	w := &all[0]
	for i := range all {
		s := &all[i]
		a, b := first(s), first(w)
		if a > b || a == b && dutyOf(&s.rows[len(s.rows)-1]) > dutyOf(&w.rows[len(w.rows)-1]) {
			w = s
		}
	}
	return w
}

// Sag returns what a weak battery does at the worst full load, and at which voltage each limit is passed at any; ok is false
// without injectors.
func (r *Run) Sag() (tables []table.Table, ok bool) {
	in := r.Trim.Injection
	if in == nil {
		return nil, false
	}
	all, b, err := r.sags()
	if err != nil {
		return []table.Table{r.noSag(err)}, true
	}
	w := worstSag(all)
	return []table.Table{r.sagTable(w, b.pumped, b.why), r.sagBreaks(all, b.pumped)}, true
}

func (r *Run) noSag(err error) table.Table {
	t := table.One("battery sag", err, table.Words("sag_reason", "not computed", func(err error) string { return plainly(err) }))
	t.Trim = r.Trim.Name
	return t
}

func (r *Run) sagTable(w *sagging, pumped bool, why error) table.Table {
	in := r.Trim.Injection
	allowed := r.allowedDuty()
	injected := func(key, title string, quantity units.Kind, get func(s *supply.SagRow) table.Cell) table.Field[supply.SagRow] {
		return table.Cells(key, title, quantity, func(s supply.SagRow) table.Cell {
			if !s.Delivered {
				return table.Missing("no pressure is left over the injectors")
			}
			return get(&s)
		})
	}
	duty := func(key, title string, get func(s *supply.SagRow) float64) table.Field[supply.SagRow] {
		return injected(key, title, units.Fraction, func(s *supply.SagRow) table.Cell {
			return table.Num(get(s)).Toned(failedIf(get(s) > allowed*(1+1e-4)))
		})
	}
	dead := func(key, title string, get func(s *supply.SagRow) *injector.Delivery) table.Field[supply.SagRow] {
		return injected(key, title, units.Time, func(s *supply.SagRow) table.Cell {
			c := table.Num(get(s).DeadTime)
			if get(s).DeadTimeHeld {
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
	if pumped {
		fields = append(fields,
			table.Number("pump_flow_m3_s", "pumps", units.PumpFlow, func(s supply.SagRow) float64 { return s.Supply.PumpFlow }),
			table.Cells("pump_margin", "margin", units.Fraction, func(s supply.SagRow) table.Cell {
				return table.Num(s.Supply.Margin).Toned(marginTone(s.Supply.Margin))
			}).WithDigits(0),
			table.Number("rail_pressure_pa", "rail", units.GaugePressure, func(s supply.SagRow) float64 { return s.Supply.RailPressure }),
		)
	}
	fields = append(fields,
		table.Number("rail_difference_pa", "over injector", units.PressureDifference, func(s supply.SagRow) float64 { return s.PressureDifference }),
		dead("primary_dead_time_s", "primary dead time", func(s *supply.SagRow) *injector.Delivery { return &s.Injection.Primary }),
		injected("primary_pulse_s", "primary pulse", units.Time, func(s *supply.SagRow) table.Cell { return table.Num(s.Injection.Primary.Pulse) }),
		duty("primary_duty", "primary duty", func(s *supply.SagRow) float64 { return s.Injection.Primary.Duty }),
	)
	if hasSecond(&in.Staging) {
		fields = append(fields,
			dead("secondary_dead_time_s", "sec. dead time", func(s *supply.SagRow) *injector.Delivery { return &s.Injection.Secondary }),
			injected("secondary_pulse_s", "sec. pulse", units.Time, func(s *supply.SagRow) table.Cell { return table.Num(s.Injection.Secondary.Pulse) }),
			duty("secondary_duty", "sec. duty", func(s *supply.SagRow) float64 { return s.Injection.Secondary.Duty }),
		)
	}
	t := table.Of("battery sag", w.rows, fields...)
	t.Trim = r.Trim.Name
	text := fmt.Sprintf("At %.0f rpm, full load, the speed at which a limit is passed first.", run.RPM(w.speed))
	if len(w.breaks) == 0 {
		text = fmt.Sprintf("At %.0f rpm, full load, of the speeds computed the one with the highest duty at the lowest voltage: no limit is passed down to %s.", run.RPM(w.speed), volts(sagTo))
	}
	text += " The same fuel all along; injectors at the battery's voltage"
	switch {
	case pumped && r.pumpDrop() > 0:
		text += fmt.Sprintf(", pumps %s below it, as the spec has them", volts(r.pumpDrop()))
	case pumped:
		text += ", and pumps too"
	}
	t.Notes = []string{text + "."}
	if pumped && feedTemperature(r.Trim) != r.Trim.Fuel.Temperature {
		t.Notes = append(t.Notes, fmt.Sprintf("Fuel at %s all the way to the injectors, which moves the duty a little against the table over engine speed.",
			units.Format(feedTemperature(r.Trim), units.Temperature, units.Metric)))
	}
	if oneDeadTime(w) {
		t.Notes = append(t.Notes, "The spec has one dead time for every voltage, so that it does not grow here: give it over voltage.")
	}
	if why != nil {
		t.Notes = append(t.Notes, "The pumps are left out, and the rail is taken to hold: "+plainly(why)+".")
	} else if !pumped {
		t.Notes = append(t.Notes, "Without pumps in the spec the rail is taken to hold.")
	}
	return t
}

// oneDeadTime reports that the dead time of the primary injectors does not change with the voltage.
func oneDeadTime(w *sagging) bool {
	a, b := &w.rows[0], &w.rows[len(w.rows)-1]
	return a.Delivered && b.Delivered && a.Injection.Primary.DeadTime == b.Injection.Primary.DeadTime
}

func volts(v float64) string { return units.Format(v, units.Voltage, units.Metric) }

// sagBreaks returns at which battery voltage each limit is passed first, over all speeds.
func (r *Run) sagBreaks(all []sagging, pumped bool) table.Table {
	type limit struct {
		which  supply.SagLimit
		at     supply.SagBreak
		speed  float64
		passed bool
	}
	which := []supply.SagLimit{supply.SagPumpMargin, supply.SagPrimaryDuty, supply.SagSecondaryDuty}
	if !pumped {
		which = which[1:]
	}
	if !hasSecond(&r.Trim.Injection.Staging) {
		which = which[:len(which)-1]
	}
	limits := make([]limit, 0, len(which))
	first := -1
	for _, l := range which {
		x := limit{which: l}
		for i := range all {
			for _, b := range all[i].breaks {
				if b.Limit == l && (!x.passed || b.Voltage > x.at.Voltage) {
					x.at, x.speed, x.passed = b, all[i].speed, true
				}
			}
		}
		limits = append(limits, x)
		if x.passed && (first < 0 || x.at.Voltage > limits[first].at.Voltage) {
			first = len(limits) - 1
		}
	}
	holds := "holds down to " + volts(sagTo)
	t := table.Of("sag limits", limits,
		table.Words("sag_limit", "what", func(x limit) string { return sagWords(x.which, r.allowedDuty()) }),
		table.Cells("sag_voltage_v", "breaks at", units.Voltage, func(x limit) table.Cell {
			switch {
			case !x.passed:
				return table.Missing(holds)
			case x.at.AtStart:
				return table.Num(x.at.Voltage).Toned(table.Failed).Noted("or above: it is passed at the highest voltage already")
			}
			return table.Num(x.at.Voltage)
		}),
		table.Cells("sag_rpm", "at", units.Speed, func(x limit) table.Cell {
			if !x.passed {
				return table.Missing(holds)
			}
			return table.Num(x.speed)
		}),
	)
	t.Trim = r.Trim.Name
	t.Notes = []string{"Battery voltage at full load; the speed is where it comes first."}
	if r.Trim.Supply != nil && r.Trim.Supply.Lift != nil {
		t.Notes[0] += " The lift pump is not judged."
	}
	if first >= 0 {
		t.Notes[0] += fmt.Sprintf(" First of all: %s, at %s and %.0f rpm.", sagWords(limits[first].which, r.allowedDuty()), volts(limits[first].at.Voltage), run.RPM(limits[first].speed))
	} else {
		t.Notes[0] += fmt.Sprintf(" Nothing breaks down to %s.", volts(sagTo))
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
