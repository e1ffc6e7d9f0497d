package sheet

import (
	"fmt"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
	"bellmouth/internal/wastegate"
)

// Page returns a trim's page of the build sheet: what it is and what it gives, what is to be done, and what goes into the car.
func (r *Run) Page(name string, findings []check.Finding) ([]table.Table, error) {
	tables := []table.Table{r.pageHead(name, findings)}
	if t, ok := r.toDo(findings); ok {
		tables = append(tables, t)
	}
	car, err := r.intoTheCar()
	return append(tables, car), err
}

// pageHead returns what the trim is and what it gives.
func (r *Run) pageHead(name string, findings []check.Finding) table.Table {
	trim := r.Trim
	e, venue := &trim.Engine, trim.Venue
	torque, power := r.peak(run.Torque), r.peak(run.Power)
	solved := table.Known[*Run](func(*Run) error {
		if torque == nil {
			return errNoPoint
		}
		return nil
	})
	fields := []table.Field[*Run]{
		table.Cells("sheet_verdict", "verdict", units.Number, func(*Run) table.Cell { return r.verdictOf(findings) }),
		table.Words("name", "engine", func(*Run) string { return name }),
		table.Lists("ruled_by", "limited by", func(r *Run) []string { return spans(r.Review().Fine, governing) }),
		table.Counts("cylinders", "cylinders", func(*Run) int { return e.Cylinders }),
		table.Number("displacement_m3", "displacement", units.Volume, func(*Run) float64 { return e.Cylinder.Displacement() * float64(e.Cylinders) }).WithDigits(0),
		table.Number("compression_ratio", "compression ratio", units.Number, func(*Run) float64 { return e.Cylinder.CompressionRatio }).WithDigits(2),
		table.Number("limiter_rpm", "limiter", units.Speed, func(*Run) float64 { return e.Limiter }),
		table.Words("fuel", "fuel", func(*Run) string { return trim.Fuel.Grade.Name }),
	}
	if c := trim.Compressor; c != nil {
		fields = append(fields, table.Counts("turbochargers", "turbochargers", func(*Run) int { return c.Count }))
	}
	if throat := trim.Intake.Restrictor; throat != nil {
		fields = append(fields, table.Number("restrictor_bore_m", "restrictor", units.Length, func(*Run) float64 { return throat.Bore }).WithDigits(2))
	}
	fields = append(fields,
		table.Number("pressure_pa", "venue pressure", units.Pressure, func(*Run) float64 { return venue.Pressure }).WithDigits(3),
		table.Number("temperature_k", "venue temperature", units.Temperature, func(*Run) float64 { return venue.Temperature }),
		table.Number("relative_humidity", "relative humidity", units.Fraction, func(*Run) float64 { return venue.RelativeHumidity }).WithDigits(0),
		table.Number("density_kg_m3", "air density", units.Density, func(*Run) float64 { return venue.Density() }),
		solved.Number("peak_torque_nm", "peak torque", units.Torque, func(*Run) float64 { return torque.Point.Torque }),
		solved.Number("peak_torque_rpm", "  at", units.Speed, func(*Run) float64 { return torque.Speed }),
		solved.Number("peak_power_w", "peak power", units.Power, func(*Run) float64 { return power.Point.Power }),
		solved.Number("peak_power_rpm", "  at", units.Speed, func(*Run) float64 { return power.Speed }),
	)
	fields = append(fields, r.onsets()...)
	if len(trim.Lacks("car", "driveline.gears")) == 0 {
		if d, err := r.Drive(run.Place{}); err == nil && len(d.shifts()) > 0 { // one speed alone tells no upshift
			fields = append(fields, table.Lists("upshifts", "shift up", func(*Run) []string { return d.shifts() }))
		}
	}
	if c, err := r.Course(); err == nil && c.Err == nil {
		fields = append(fields, table.Number("course_time_s", "stage time", units.RunTime, func(*Run) float64 { return c.Time }))
	}
	t := table.One("build sheet", r, fields...)
	t.Layout, t.Trim = table.Pairs, trim.Name
	return t
}

// verdictOf says what the checks come to, and of which speeds where they are not all.
func (r *Run) verdictOf(findings []check.Finding) table.Cell {
	failed := check.Failed(findings)
	text, tone := fmt.Sprintf("FAIL: %d checks of %d", len(failed), len(findings)), table.Failed
	switch len(failed) {
	case 0:
		text, tone = fmt.Sprintf("ok: no check of %d fails", len(findings)), table.Plain
	case 1:
		text = fmt.Sprintf("FAIL: 1 check of %d", len(findings))
	}
	if waived := check.Count(findings, true).Waived; len(waived) > 0 {
		text += fmt.Sprintf(", %d waived", len(waived))
	}
	if part, ok := r.partText(); ok {
		text += ", of " + part
	}
	return table.Text(text).Toned(tone)
}

// partText names the speeds of a run that are not all there are.
func (r *Run) partText() (string, bool) {
	first, last, ok := r.Part()
	if !ok {
		return "", false
	}
	return check.Span(first, last), true
}

// toDo returns what the findings ask for, worst first; ok is false where they ask for nothing.
func (r *Run) toDo(findings []check.Finding) (t table.Table, ok bool) {
	var asking []check.Finding
	for _, f := range check.Worst(findings) {
		if f.Do != "" {
			asking = append(asking, f)
		}
	}
	if asking == nil {
		return table.Table{}, false
	}
	t = table.Of("to do", asking,
		table.Cells("verdict", "verdict", units.Number, func(f check.Finding) table.Cell { return table.Text(f.Verdict.String()).Toned(tone(f.Verdict)) }),
		table.Words("do", "what to do", func(f check.Finding) string { return f.Do }),
		table.Words("check_id", "id", func(f check.Finding) string { return f.ID }).InDetail(),
		table.Cells("worst_rpm", "worst at", units.Speed, worstAt).InDetail(),
	)
	lower := 0
	for _, f := range asking {
		if f.Verdict == check.Fail && strings.HasPrefix(f.Do, check.LowerTarget) {
			lower++
		}
	}
	if lower > 1 {
		t.Notes = append(t.Notes, "bellmouth boost --allowed prints the boost at which all limits hold.")
	}
	t.Trim = r.Trim.Name
	return t, true
}

// A setting is one engine speed with how the actuator holds it.
type setting struct {
	row
	held *run.GatePoint // nil without an actuator
}

// set makes a field of the operating points one of the settings.
func set(f table.Field[row]) table.Field[setting] {
	return table.Field[setting]{Column: f.Column, Get: func(s setting) table.Cell { return f.Get(s.row) }}
}

// intoTheCar returns the table that is set up in the engine's controls, with what the engine does there.
func (r *Run) intoTheCar() (table.Table, error) {
	held, driven, err := r.HeldGate()
	if err != nil {
		return table.Table{}, err
	}
	driven = driven && held.Driven()
	settings := make([]setting, len(r.Outcomes))
	for i, o := range r.rows() {
		settings[i].row = o
		if driven {
			settings[i].held = &held.Points[i]
		}
	}
	var fields []table.Field[setting]
	add := func(applies bool, fs ...table.Field[row]) {
		for _, f := range fs {
			if applies {
				fields = append(fields, set(f))
			}
		}
	}
	forced, in := r.Forced(), r.Trim.Injection
	whole := func(f table.Field[row]) table.Field[row] { return f.WithDigits(0) }
	add(true, speedField(0))
	add(forced, targetBoost, boostReached)
	add(true, manifoldPressure, governingField,
		figure("torque_nm", "torque", units.Torque, run.Torque).WithDigits(0),
		whole(figure("power_w", "power", units.Power, run.Power)),
		sparkAdvance, lambda)
	if in != nil {
		allowed := r.AllowedDuty()
		duty := func(key, title string, get func(p *airpath.Point) float64) table.Field[row] {
			return cells(key, title, units.Fraction, func(_ row, p *airpath.Point) table.Cell {
				return table.Num(get(p)).Toned(failedIf(check.Passes(get(p), allowed)))
			}).WithDigits(0)
		}
		first := "inj."
		if in.Staging.TwoSets() {
			first = "inj. 1"
		}
		add(true, duty("primary_duty", first, func(p *airpath.Point) float64 { return p.Injection.Primary.Duty }))
		add(in.Staging.TwoSets(), duty("secondary_duty", "inj. 2", func(p *airpath.Point) float64 { return p.Injection.Secondary.Duty }))
	}
	if driven {
		fields = append(fields, wastegateDuty(&r.Trim.Control.System))
	}
	add(forced, shaft)
	add(true, exhaustTemperature, peakPressure)
	add(!forced, bmep, consumption)
	t := table.Of("into the car", settings, fields...)
	t.Trim = r.Trim.Name
	t.Notes = append([]string{carNote(in != nil, driven)}, eachShaft(r.Trim, "")...)
	return t, nil
}

// carNote says what the columns of the car's table are that their heads do not say.
func carNote(injected, driven bool) string {
	texts := []string{"Full load, steady."}
	if injected {
		texts = append(texts, "Inj.: duty of the injectors.")
	}
	if driven {
		texts = append(texts, "WG: duty of the wastegate's valve.")
	}
	return strings.Join(texts, " ")
}

// governingField is the limit that governs, marked where another binds besides.
var governingField = table.Cells("limit", "limited by", units.Number, func(o row) table.Cell {
	if o.Err != nil {
		return table.Text(noSolution).Toned(table.Failed).Noted(o.unsolved())
	}
	p := &o.Point
	c := table.Text(p.Limit.String())
	var held []string
	if p.Limits.Has(airpath.Knock) && p.Limit != airpath.Knock {
		held = append(held, "knock")
	}
	if p.Limits.Has(airpath.CylinderPressure) && p.Limit != airpath.CylinderPressure {
		held = append(held, "cylinder pressure")
	}
	if held != nil {
		c = c.Noted(strings.Join(held, " and ") + " holds the burn later than best")
	}
	if p.Limit != airpath.Target && p.Limit != airpath.Atmosphere {
		c = c.Toned(table.Caution)
	}
	return c
})

// wastegateDuty is the duty that holds the point.
func wastegateDuty(y *wastegate.System) table.Field[setting] {
	key, get := "closing_duty", func(h *wastegate.Holding) float64 { return h.ClosingDuty }
	if y.Opening != nil {
		key, get = "opening_duty", func(h *wastegate.Holding) float64 { return h.OpeningDuty }
	}
	f := gateHeld.Cells(key, "WG", units.Fraction, func(o *run.GatePoint) table.Cell {
		return table.Num(get(&o.Holding)).Toned(failedIf(o.Holding.Short != wastegate.NoSide))
	}).WithDigits(0)
	return table.Field[setting]{Column: f.Column, Get: func(s setting) table.Cell { return f.Get(s.held) }}
}

// pageEntries explain the columns above.
func pageEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "sheet_verdict", Title: "verdict",
			Meaning: "What the checks of the trim come to: how many of them fail.",
			Formula: "checks whose verdict is FAIL", Source: ours, Range: computed,
		},
		{
			Key: "turbochargers", Title: "turbochargers",
			Meaning: "Number of equal turbochargers in parallel.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "do", Title: "what to do",
			Meaning: "What a check that fails, or a note that asks for something, wants done.",
			Formula: "see the check", Source: ours, Range: computed,
		},
		{
			Key: "upshifts", Title: "shift up",
			Meaning: "From which gear to which at what engine speed, with the car's own grip, to the nearest 10 rpm. The limiter: more speed would be faster still. " +
				"A gear that the next one gets no faster in is left out.",
			Formula: "see upshift_rpm", Source: ours, Range: "full load, level road",
		},
		{Key: "name", Also: []string{"engine"}},
		{Key: "restrictor_bore_m", Also: []string{"restrictor"}},
		{Key: "limit", Also: []string{"limited by"}},
		{Key: "primary_duty", Also: []string{"inj.", "inj. 1"}},
		{Key: "secondary_duty", Also: []string{"inj. 2"}},
		{Key: "opening_duty", Also: []string{"WG"}},
		{Key: "closing_duty", Also: []string{"WG"}},
	}
}
