package sheet

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/boost"
	"bellmouth/internal/injector"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A planePoint is one point of a plane that lies on or below the full-load line.
type planePoint struct {
	speed, pressure float64
	*boost.Cell
}

func planePoints(p *boost.Plane) []planePoint {
	var points []planePoint
	for i, speed := range p.Speeds {
		for j, pressure := range p.Pressures {
			if c := &p.Cells[i][j]; !c.Beyond {
				points = append(points, planePoint{speed, pressure, c})
			}
		}
	}
	return points
}

// PlaneErrors returns the errors of a plane's points that have no solution, each with the trim's name and the pressure before it.
func (r *Run) PlaneErrors(p *boost.Plane) []error {
	var errs []error
	for _, c := range planePoints(p) {
		if c.Err != nil {
			errs = append(errs, fmt.Errorf("trim %q, manifold at %s: %w", r.Trim.Name, units.Format(c.pressure, units.Pressure, units.Metric), c.Err))
		}
	}
	return errs
}

// injected reports whether a point has pulses: it has a solution, and the rail pressure is above the manifold's.
func (c planePoint) injected() bool { return c.Err == nil && c.Point.RailDifference > 0 }

// surplus returns by how much the fuel given is more than that wanted, as a part of it.
func (c planePoint) surplus() float64 { return c.Point.Injection.Surplus / c.Point.FuelPerCycle }

func hasSecond(s *injector.Staging) bool { return s.Secondary.PerCylinder > 0 }

// allowedDuty returns the highest injector duty that the trim accepts.
func (r *Run) allowedDuty() float64 {
	if l := r.Trim.Limits.InjectorDuty; l > 0 && l < 1 {
		return l
	}
	return 1
}

// InjectionPlane returns the pulses and duties of the injector sets over engine speed and manifold pressure; ok is false
// without injectors.
func (r *Run) InjectionPlane(p *boost.Plane) (t table.Table, ok bool) {
	in := r.Trim.Injection
	if in == nil {
		return table.Table{}, false
	}
	two := hasSecond(&in.Staging)
	allowed := r.allowedDuty()
	points := planePoints(p)
	value := func(key, title string, quantity units.Kind, get func(c planePoint) table.Cell) table.Field[planePoint] {
		return table.Cells(key, title, quantity, func(c planePoint) table.Cell {
			switch {
			case c.Err != nil:
				return table.Missing(fmt.Sprintf("no solution: trim %q, %s", r.Trim.Name, c.Err))
			case !c.injected():
				return table.Missing("the rail pressure does not reach that in the manifold")
			}
			return get(c)
		})
	}
	number := func(key, title string, quantity units.Kind, get func(c planePoint) float64) table.Field[planePoint] {
		return value(key, title, quantity, func(c planePoint) table.Cell { return table.Num(get(c)) })
	}
	duty := func(key, title string, get func(c planePoint) float64) table.Field[planePoint] {
		return value(key, title, units.Fraction, func(c planePoint) table.Cell {
			return table.Num(get(c)).Toned(failedIf(get(c) > allowed*(1+1e-4)))
		})
	}
	fields := []table.Field[planePoint]{
		number("fuel_per_cycle_kg", "fuel of a cycle", units.SmallMass, func(c planePoint) float64 { return c.Point.FuelPerCycle }).InDetail(),
		number("rail_difference_pa", "over injector", units.PressureDifference, func(c planePoint) float64 { return c.Point.RailDifference }).InDetail(),
		value("primary_pulse_s", "primary pulse", units.Time, func(c planePoint) table.Cell {
			n := table.Num(c.Point.Injection.Primary.Pulse)
			if c.Point.Injection.Surplus > 0 {
				return n.Toned(table.Caution).Noted("the shortest pulse, which gives more fuel than is wanted")
			}
			return n
		}),
		duty("primary_duty", "primary duty", func(c planePoint) float64 { return c.Point.Injection.Primary.Duty }),
	}
	if two {
		second := []table.Field[planePoint]{
			number("secondary_pulse_s", "secondary pulse", units.Time, func(c planePoint) float64 { return c.Point.Injection.Secondary.Pulse }),
			duty("secondary_duty", "secondary duty", func(c planePoint) float64 { return c.Point.Injection.Secondary.Duty }),
			number("secondary_share", "secondary share", units.Fraction, func(c planePoint) float64 { return c.Point.Injection.SecondaryShare }),
		}
		for i := range second {
			second[i].Detail = rests(points) // grids of nothing but zeros are no reading
		}
		fields = append(fields, second...)
	}
	fields = append(fields, number("surplus_share", "too much fuel", units.Fraction, planePoint.surplus).InDetail())
	t = table.Plane("injection plane", points,
		table.Number("rpm", "speed", units.Speed, func(c planePoint) float64 { return c.speed }),
		table.Number("manifold_pressure_pa", "manifold", units.Pressure, func(c planePoint) float64 { return c.pressure }),
		fields...)
	t.Trim = r.Trim.Name
	t.Notes = r.planeNotes(points, p)
	return t, true
}

// rests reports that the second set works at none of the points.
func rests(points []planePoint) bool {
	for _, c := range points {
		if c.injected() && c.Point.Injection.Secondary.Pulse > 0 {
			return false
		}
	}
	return true
}

// planeNotes tells what holds for the plane as a whole.
func (r *Run) planeNotes(points []planePoint, p *boost.Plane) []string {
	in := r.Trim.Injection
	s := &in.Staging
	two := hasSecond(s)
	notes := []string{fmt.Sprintf("Manifold pressure is absolute, and ends at the full-load line. %s Each point with its own fuel and lambda, and its own pressure over the injectors: %s.",
		r.restNote(p.Held, p.FullLoad), railWords(in.RailPressure, in.FollowsManifold))}
	dead := func(i *injector.Injector) string {
		d, _ := i.DeadTime.At(in.SupplyVoltage)
		return units.Format(d, units.Time, units.Metric)
	}
	ms := func(t float64) string { return units.Format(t, units.Time, units.Metric) }
	text := fmt.Sprintf("Pulses hold the dead time at %s: %s.", units.Format(in.SupplyVoltage, units.Voltage, units.Metric), dead(&s.Primary.Injector))
	if two {
		text = fmt.Sprintf("Pulses hold the dead time at %s: primary %s, secondary %s. The fuel of the two sets adds up to the fuel wanted, with no step where the second comes in.",
			units.Format(in.SupplyVoltage, units.Voltage, units.Metric), dead(&s.Primary.Injector), dead(&s.Secondary.Injector))
	}
	notes = append(notes, text)
	if two && rests(points) {
		notes = append(notes, "The second set works at none of these points: the primary alone does.")
	}

	short, worst := 0, -1
	over := 0
	for i, c := range points {
		if !c.injected() {
			continue
		}
		if c.Point.Injection.Surplus > 0 {
			short++
			if worst < 0 || c.surplus() > points[worst].surplus() {
				worst = i
			}
		}
		if math.Max(c.Point.Injection.Primary.Duty, c.Point.Injection.Secondary.Duty) > r.allowedDuty()*(1+1e-4) {
			over++
		}
	}
	shortest := ms(s.Primary.Injector.ShortestPulse)
	switch {
	case short > 0:
		w := points[worst]
		notes = append(notes, fmt.Sprintf("%d of %d points want less fuel than the primary's shortest pulse, %s, gives: they get that pulse, and up to %.0f %% too much fuel (%.0f rpm, %s).",
			short, len(points), shortest, math.Ceil(w.surplus()*100), run.RPM(w.speed), units.Format(w.pressure, units.Pressure, units.Metric)))
	case two:
		notes = append(notes, fmt.Sprintf("Both sets keep to their shortest pulses, %s and %s, at every point.", shortest, ms(s.Secondary.Injector.ShortestPulse)))
	default:
		notes = append(notes, fmt.Sprintf("No point asks for less than the shortest pulse, %s.", shortest))
	}
	if over > 0 {
		notes = append(notes, fmt.Sprintf("%d of %d points pass the duty allowed, %.0f %%.", over, len(points), r.allowedDuty()*100))
	}
	return notes
}

// railWords says what the rail pressure counts from.
func railWords(pressure float64, followsManifold bool) string {
	from := "venue's"
	if followsManifold {
		from = "manifold's"
	}
	return fmt.Sprintf("the rail has %s above the %s pressure", units.Format(pressure, units.PressureDifference, units.Metric), from)
}

// pulseMargin is by how much the pulses of both sets are to exceed their shortest where the second set comes in fully, as a
// part of them. Common practice, no source.
const pulseMargin = 0.10

// SecondSet returns where to bring in the second injector set, and why; ok is false without one.
func (r *Run) SecondSet() (t table.Table, ok bool) {
	in := r.Trim.Injection
	if in == nil || !hasSecond(&in.Staging) {
		return table.Table{}, false
	}
	st := &in.Staging
	wish, err := r.stagingWish()
	var s injector.Suggestion
	if err == nil {
		s, err = st.SuggestStart(wish)
	}
	ceiling := r.allowedDuty()
	figure := func(key, title string, quantity units.Kind, x float64) table.Field[*injector.Staging] {
		return table.Cells(key, title, quantity, func(*injector.Staging) table.Cell {
			if err != nil {
				return table.Missing(cannotStage(err))
			}
			return table.Num(x)
		})
	}
	speed := 0.0
	if err == nil {
		speed = wish.Conditions[s.At].Speed
	}
	t = table.One("second set", st,
		figure("earliest_start_duty", "earliest, at a primary duty of", units.Fraction, s.StartDuty),
		figure("blend_duty", "  and blend over", units.Fraction, s.Blend),
		table.Words("decided_by", "why not earlier", func(*injector.Staging) string {
			if err != nil {
				return "no start does"
			}
			return reasonWords(s.Reason)
		}),
		figure("decided_rpm", "  decided at", units.Speed, speed),
		figure("latest_start_duty", "at the latest, without a blend", units.Fraction, s.Latest),
		figure("peak_primary_duty", "highest primary duty while it blends in", units.Fraction, s.PeakDuty),
		figure("least_entry_share", "least share of the fuel it comes in with", units.Fraction, s.LeastShare),
		figure("most_entry_share", "  most", units.Fraction, s.MostShare),
		table.Number("start_duty", "the spec brings it in at", units.Fraction, func(s *injector.Staging) float64 { return s.StartDuty }),
		table.Number("spec_blend_duty", "  and blends over", units.Fraction, func(s *injector.Staging) float64 { return s.Blend }),
		table.Cells("start_verdict", "  which is", units.Number, func(st *injector.Staging) table.Cell {
			return startVerdict(st.StartDuty, s, err)
		}),
	)
	t.Trim = r.Trim.Name
	t.Notes = []string{fmt.Sprintf("Earliest: from there on both sets, the second with its full share, stay %.0f %% above their shortest pulses at every speed up to the limiter. "+
		"Latest: the primary reaches %.0f %%, which the spec allows. Between the two any start does; later leaves the second set resting longer and less duty in hand. "+
		"At %s.", pulseMargin*100, ceiling*100, units.Format(in.SupplyVoltage, units.Voltage, units.Metric)), r.secondAtFullLoad()}
	return t, true
}

// secondAtFullLoad says from where to where the second set works at full load, as the spec stages it.
func (r *Run) secondAtFullLoad() string {
	first, last := -1, -1
	for i := range r.Outcomes {
		if o := &r.Outcomes[i]; o.Err == nil && o.Point.Injection.Secondary.Pulse > 0 {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	if first < 0 {
		return "As the spec has it, the second set works at none of the full loads computed: the primary alone does."
	}
	return fmt.Sprintf("As the spec has it, the second set works at full load from %.0f to %.0f rpm.", run.RPM(r.Outcomes[first].Speed), run.RPM(r.Outcomes[last].Speed))
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

// cannotStage puts the error of a suggestion into the units of the table.
func cannotStage(err error) string {
	var e *injector.StartError
	if errors.As(err, &e) {
		return fmt.Sprintf("the second set could come in from a primary duty of %.0f %% on, above the %.0f %% allowed: before, %s", e.Lowest*100, e.Ceiling*100, reasonWords(e.Reason))
	}
	return err.Error()
}

func startVerdict(start float64, s injector.Suggestion, err error) table.Cell {
	const slack = 5e-4 // of duty: half of what is printed
	switch {
	case err != nil:
		return table.Missing(cannotStage(err))
	case start < s.StartDuty-slack:
		return table.Text("too early").Toned(table.Caution)
	case start > s.Latest+slack:
		return table.Text("too late").Toned(table.Caution)
	}
	return table.Text("between the two")
}

// stagingWish returns what the second set should keep to: at the speeds computed and the limiter, which decides as a rule.
// The flows of the sets change alike with the pressure over them, so that the pressure moves no start.
func (r *Run) stagingWish() (injector.Wish, error) {
	in := r.Trim.Injection
	density, err := r.Trim.Fuel.Grade.DensityAt(r.Trim.Fuel.Temperature)
	if err != nil {
		return injector.Wish{}, err
	}
	w := injector.Wish{PulseMargin: pulseMargin, DutyCeiling: r.allowedDuty(), Blend: in.Staging.Blend}
	add := func(speed float64) {
		w.Conditions = append(w.Conditions, injector.Conditions{
			Speed: speed, PressureDifference: in.RailPressure, FuelDensity: density, Voltage: in.SupplyVoltage,
		})
	}
	top := r.Trim.Engine.Limiter
	for i := range r.Outcomes {
		if o := &r.Outcomes[i]; o.Err == nil && o.Speed < top*(1-1e-9) {
			add(o.Speed)
		}
	}
	add(top)
	return w, nil
}
