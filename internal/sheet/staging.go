package sheet

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/injector"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// errRailTooLow is why a point has no pulses.
var errRailTooLow = errors.New("the rail pressure does not reach MAP")

// InjectionPlane returns the pulses and duties of the injector sets over engine speed and manifold pressure; ok is false
// without injectors.
func (r *Run) InjectionPlane(p *boost.Plane) (t table.Table, ok bool) {
	in := r.Trim.Injection
	if in == nil {
		return table.Table{}, false
	}
	two := in.Staging.TwoSets()
	allowed := r.AllowedDuty()
	points := run.PlanePoints(p)
	known := table.Known[run.PlanePoint](func(c run.PlanePoint) error {
		switch {
		case c.Err != nil:
			return fmt.Errorf("no solution: trim %q, %w", r.Trim.Name, c.Err)
		case !c.Injected():
			return errRailTooLow
		}
		return nil
	})
	duty := func(key, title string, get func(c run.PlanePoint) float64) table.Field[run.PlanePoint] {
		return known.Cells(key, title, units.Fraction, func(c run.PlanePoint) table.Cell {
			return table.Num(get(c)).Toned(failedIf(check.Passes(get(c), allowed)))
		})
	}
	fields := []table.Field[run.PlanePoint]{
		known.Number("fuel_per_cycle_kg", "fuel per cycle", units.SmallMass, func(c run.PlanePoint) float64 { return c.Point.FuelPerCycle }).InDetail(),
		known.Number("rail_difference_pa", overInjector, units.PressureDifference, func(c run.PlanePoint) float64 { return c.Point.RailDifference }).InDetail(),
		known.Cells("primary_pulse_s", "primary pulse", units.Time, func(c run.PlanePoint) table.Cell {
			n := table.Num(c.Point.Injection.Primary.Pulse)
			if c.Point.Injection.Surplus > 0 {
				return n.Toned(table.Caution).Noted("the shortest pulse, which gives more fuel than is needed")
			}
			return n
		}),
		duty("primary_duty", "primary duty", func(c run.PlanePoint) float64 { return c.Point.Injection.Primary.Duty }),
	}
	if two {
		second := []table.Field[run.PlanePoint]{
			known.Number("secondary_pulse_s", "secondary pulse", units.Time, func(c run.PlanePoint) float64 { return c.Point.Injection.Secondary.Pulse }),
			duty("secondary_duty", "secondary duty", func(c run.PlanePoint) float64 { return c.Point.Injection.Secondary.Duty }),
			known.Number("secondary_share", "secondary share", units.Fraction, func(c run.PlanePoint) float64 { return c.Point.Injection.SecondaryShare }),
		}
		for i := range second {
			second[i].Detail = run.SecondRests(points) // grids of nothing but zeros are no reading
		}
		fields = append(fields, second...)
	}
	fields = append(fields, known.Number("surplus_share", "too much fuel", units.Fraction, run.PlanePoint.Surplus).InDetail())
	t = table.Plane("injection plane", points,
		table.Number("rpm", "speed", units.Speed, func(c run.PlanePoint) float64 { return c.Speed }),
		table.Number("manifold_pressure_pa", "MAP", units.Pressure, func(c run.PlanePoint) float64 { return c.Pressure }),
		fields...)
	t.Trim = r.Trim.Name
	t.Notes = r.planeNotes(points, p)
	return t, true
}

// planeNotes tells what holds for the plane as a whole.
func (r *Run) planeNotes(points []run.PlanePoint, p *boost.Plane) []string {
	in := r.Trim.Injection
	s := &in.Staging
	two := s.TwoSets()
	notes := []string{"MAP ends at full load. " + r.restNote(p.Held, p.FullLoad)}
	dead := func(i *injector.Injector) string {
		d, _ := i.DeadTime.At(in.SupplyVoltage)
		return units.Mark(d, units.Time)
	}
	text := fmt.Sprintf("Pulses include the dead time at %s, %s", volts(in.SupplyVoltage), dead(&s.Primary.Injector))
	if two {
		text += fmt.Sprintf(" of the primary and %s of the secondary set", dead(&s.Secondary.Injector))
	}
	notes = append(notes, text+".")
	if two && run.SecondRests(points) {
		notes = append(notes, "The second set does not work at any of these points.")
	}

	n := check.CountPlane(points, r.AllowedDuty())
	if n.Short > 0 {
		notes = append(notes, fmt.Sprintf("%d of %d points need less fuel than the primary's shortest pulse, %s, gives. "+
			"They get up to %.0f %% too much (%s, %s).", n.Short, len(points), units.Mark(s.Primary.Injector.ShortestPulse, units.Time),
			math.Ceil(n.Surplus*100), run.Speed(n.Richest.Speed), units.Mark(n.Richest.Pressure, units.Pressure)))
	}
	if n.Over > 0 {
		notes = append(notes, fmt.Sprintf("%d of %d points pass the duty allowed, %.0f %%.", n.Over, len(points), r.AllowedDuty()*100))
	}
	return notes
}

// SecondSet returns where to bring in the second injector set, and why; ok is false without one.
func (r *Run) SecondSet() (t table.Table, ok bool) {
	in := r.Trim.Injection
	if in == nil || !in.Staging.TwoSets() {
		return table.Table{}, false
	}
	s, err := r.Run.SecondSet(check.PulseMargin)
	known := table.Known[*injector.Staging](func(*injector.Staging) error { return stageable(err) })
	figure := func(key, title string, quantity units.Kind, x float64) table.Field[*injector.Staging] {
		return known.Number(key, title, quantity, func(*injector.Staging) float64 { return x })
	}
	t = table.One("second set", &in.Staging,
		figure("earliest_start_duty", "earliest, at a primary duty of", units.Fraction, s.StartDuty),
		figure("blend_duty", "  and blend over", units.Fraction, s.Blend),
		table.Words("decided_by", "why not earlier", func(*injector.Staging) string {
			if err != nil {
				return "no start does"
			}
			return reasonWords(s.Reason)
		}),
		figure("decided_rpm", "  decided at", units.Speed, s.Speed),
		figure("latest_start_duty", "at the latest, without a blend", units.Fraction, s.Latest),
		figure("peak_primary_duty", "highest primary duty while it blends in", units.Fraction, s.PeakDuty),
		figure("least_entry_share", "least share of the fuel it comes in with", units.Fraction, s.LeastShare),
		figure("most_entry_share", "  most", units.Fraction, s.MostShare),
		table.Number("start_duty", "the spec brings it in at", units.Fraction, func(s *injector.Staging) float64 { return s.StartDuty }),
		table.Number("spec_blend_duty", "  and blends over", units.Fraction, func(s *injector.Staging) float64 { return s.Blend }),
		known.Cells("start_verdict", "  which is", units.Number, func(st *injector.Staging) table.Cell {
			is := check.StartOf(st.StartDuty, s.Suggestion)
			if is != check.Suits {
				return table.Text(is.String()).Toned(table.Caution)
			}
			return table.Text(is.String())
		}),
	)
	t.Trim = r.Trim.Name
	t.Notes = []string{fmt.Sprintf("Any start between the earliest and the latest will do. A later one leaves less duty in hand. Pulses at %s.",
		volts(in.SupplyVoltage)), r.secondAtFullLoad()}
	return t, true
}

// secondAtFullLoad says from where to where the second set works at full load, as the spec stages it.
func (r *Run) secondAtFullLoad() string {
	first, last, works := run.Where(r.Outcomes, run.SecondSetWorks)
	if !works {
		return "As the spec has it, the second set does not work at full load at any of these speeds."
	}
	return fmt.Sprintf("As the spec has it, the second set works at full load from %s to %s.", run.Named(first, units.Bare), run.Speed(last))
}

// reasonWords says what keeps the second set from coming in earlier.
func reasonWords(r injector.Reason) string {
	switch r {
	case injector.SecondaryPulse:
		return "the second set's pulse would come too near its shortest"
	case injector.PrimaryPulse:
		return "the primary's pulse would come too near its shortest"
	}
	return r.String()
}

// stageable puts the error of a suggestion into the units of the table.
func stageable(err error) error {
	var e *injector.StartError
	if errors.As(err, &e) {
		return fmt.Errorf("the second set could come in from a primary duty of %.0f %% on, above the %.0f %% allowed; "+
			"before, %s", e.Lowest*100, e.Ceiling*100, reasonWords(e.Reason))
	}
	return err
}

// stagingEntries explain the columns above.
func stagingEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "surplus_share", Title: "too much fuel",
			Meaning: "Part by which the primary's shortest pulse gives more fuel than is needed; 0 where a longer one is needed.",
			Formula: "(ṁ (shortest − dead time) − fuel)/fuel, at least 0", Source: "conservation of mass", Range: "0 with longer pulses",
		},
		{
			Key: "earliest_start_duty", Title: "earliest, at a primary duty of",
			Meaning: "Lowest primary duty from which both sets, the second with its full share, stay 10 % above their shortest pulses at every speed " +
				"up to the limiter.",
			Formula: "D = (max(ṁ2 (1.1 s2 − d2)/S, ṁ1 (1.1 s1 − d1)/(1 − S))/ṁ1 + d1) N/(4π), S = ṁ2/(ṁ1 + ṁ2), s shortest pulse, d dead time",
			Source:  "the trade's practice, no published source; the margin of 10 % is common practice, no source",
			Range:   "at the supply voltage; any pressure, since both flows change alike",
		},
		{
			Key: "blend_duty", Title: "and blend over",
			Meaning: "Band of duty over which the second set comes in from its earliest start: that of the spec, " +
				"or less where the primary would pass the duty allowed.",
			Formula: "widest band up to the spec's with primary duty ≤ limit",
			Source:  "the trade's practice, no published source", Range: "at the supply voltage",
		},
		{
			Key: "decided_by", Title: "why not earlier",
			Meaning: "Which set's pulse keeps the second set from coming in earlier.",
			Formula: "the larger of the two bounds of earliest_start_duty",
			Source:  "the trade's practice, no published source", Range: "at the supply voltage",
		},
		{
			Key: "decided_rpm", Title: "decided at",
			Meaning: "Engine speed that decides the earliest start, as a rule the limiter, where a cycle is shortest.",
			Formula: "N at the largest start duty",
			Source:  "the trade's practice, no published source", Range: "speeds computed and the limiter",
		},
		{
			Key: "latest_start_duty", Title: "at the latest, without a blend",
			Meaning: "Primary duty up to which the primary may work alone, which is the duty that the spec allows.",
			Formula: "limits.injector_duty", Source: given, Range: always,
		},
		{
			Key: "peak_primary_duty", Title: "highest primary duty while it blends in",
			Meaning: "Highest duty of the primary until the second set has its full share, started as early as it may.",
			Formula: "max over the fuel of the primary's duty",
			Source:  "the trade's practice, no published source", Range: "speeds computed and the limiter",
		},
		{
			Key: "least_entry_share", Title: "least share of the fuel it comes in with",
			Meaning: "Smallest share of the fuel with which the second set comes in, over the speeds: that of its shortest pulse.",
			Formula: "m2/m at the first fuel past the start",
			Source:  "the trade's practice, no published source", Range: "speeds computed and the limiter",
		},
		{
			Key: "most_entry_share", Title: "most",
			Meaning: "Largest share of the fuel with which the second set comes in, over the speeds.",
			Formula: "m2/m at the first fuel past the start",
			Source:  "the trade's practice, no published source", Range: "speeds computed and the limiter",
		},
		{
			Key: "start_duty", Title: "the spec brings it in at",
			Meaning: "Primary duty at which the spec brings in the second set.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "spec_blend_duty", Title: "and blends over",
			Meaning: "Band of duty over which the spec blends in the second set.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "start_verdict", Title: "which is",
			Meaning: "How the spec's start lies to the earliest and the latest.",
			Formula: "earliest ≤ start ≤ latest", Source: ours, Range: "at the supply voltage",
		},
	}
}
