// Package check judges solved operating points against every limit that they know.
package check

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/run"
	"bellmouth/internal/units"
)

// A Verdict is what a check comes to.
type Verdict int

// The verdicts. A Note is a finding that breaks no limit; what is Waived would be a Note or a Fail, and the spec says why it may.
const (
	OK Verdict = iota
	Note
	Waived
	Fail
)

// String returns the verdict as tables show it: "ok", "note", "waived", "FAIL".
func (v Verdict) String() string {
	return [...]string{"ok", "note", "waived", "FAIL"}[v]
}

// Meaning returns what the verdict says.
func (v Verdict) Meaning() string {
	return [...]string{
		"No limit is passed.",
		"No limit is passed, and there is something to know. With check --strict it counts as failed.",
		"The check failed or is noted, and the spec's section waivers gives a reason why it may.",
		"A limit is passed. The exit status of check says so.",
	}[v]
}

// A Finding is one limit judged over all operating points, at the speed where it is closest to being passed or furthest past.
type Finding struct {
	ID      string     // what is judged, the same in every release: lower case words joined by "-"
	What    string     // the same in words
	Speed   float64    // the worst engine speed, rad/s
	From    float64    // the lowest speed at which the value is past the limit, rad/s; 0 where it is not told
	To      float64    // the highest
	AtRest  bool       // judged of an engine at rest, as measured by hand: no speed
	Kind    units.Kind // of value and limit
	Value   float64    // SI; NaN where there is none
	Limit   float64    // SI; NaN where there is none
	Floor   bool       // the value has to stay above the limit instead of below it
	Verdict Verdict
	Remark  string // what to know beside the figures; may be empty

	Do       string  // what to do about it, one sentence; empty where there is nothing to do
	Channel  string  // of the wiring that it is about, or its feed, in words; empty: none
	Cylinder int     // the one that it is about, from 1; 0 for the engine as a whole
	later    float64 // how much later a burn would mend it, rad; 0 where none does
	held     float64 // the limit less its margin, which that burn keeps; 0 without a margin
	gear     int     // the one that it is about, from 1; 0 of none
}

// Margin returns how far the value is on the good side of the limit, in the value's unit; negative past it.
func (f Finding) Margin() float64 {
	if f.Floor {
		return f.Value - f.Limit
	}
	return f.Limit - f.Value
}

// Input is what is judged, in SI units. A limit of 0 is none, as far as it is not said otherwise.
type Input struct {
	Outcomes []boost.Outcome
	Venue    float64 // pressure, Pa

	ShaftSpeed       float64 // rad/s
	MapTop           bool    // it is the speed of the map's top line
	SurgeMargin      float64 // smallest accepted, 0 too
	Duty             float64
	PeakPressure     float64 // Pa
	KnockIntegral    float64
	BestCA50         float64 // rad
	LatestCA50       float64 // rad
	TurbineInlet     float64 // temperature, K
	Torque           float64 // N m
	MeanPistonSpeed  float64 // m/s
	LimiterSpeed     float64 // rad/s
	PistonAtLimiter  float64 // mean piston speed at the limiter, m/s
	Compressor       bool    // the engine has one
	InjectionPresent bool    // injectors are known
}

// A Margin is a limit and the figure that is held against it at an operating point.
type Margin struct {
	ID    string // of the finding
	What  string // in words
	Kind  units.Kind
	Limit float64
	Floor bool                                                 // the figure has to stay above the limit instead of below it
	Of    func(o *boost.Outcome) (value float64, applies bool) // of a solved point
}

// Figure returns the margin's figure as one whose highest value is the worst.
func (m Margin) Figure() boost.Figure {
	if !m.Floor {
		return boost.Figure{Of: m.Of, Limit: m.Limit}
	}
	return boost.Figure{Limit: -m.Limit, Of: func(o *boost.Outcome) (float64, bool) {
		x, ok := m.Of(o)
		return -x, ok
	}}
}

// Finding judges the margin over the outcomes, at the worst of them. ok is false where it applies to none.
func (m Margin) Finding(outcomes []boost.Outcome) (f Finding, ok bool) {
	i := boost.Worst(outcomes, m.Figure().Of)
	if i < 0 {
		return Finding{}, false
	}
	o := &outcomes[i]
	x, _ := m.Of(o)
	f = Finding{ID: m.ID, What: m.What, Speed: o.Speed, Kind: m.Kind, Value: x, Limit: m.Limit, Floor: m.Floor}.judged()
	f.From, f.To, _ = run.Where(outcomes, m.past)
	return f, true
}

// past reports whether the margin is passed at an outcome.
func (m Margin) past(o *boost.Outcome) bool {
	x, ok := m.Of(o)
	return ok && passes(x, m.Limit, m.Floor)
}

// Margins returns the limits with a figure at every operating point, in the order in which an engine is looked over.
func (in Input) Margins() []Margin {
	var ms []Margin
	point := func(id, what string, kind units.Kind, limit float64, floor bool, get func(p *airpath.Point) float64) {
		if floor || limit > 0 {
			ms = append(ms, Margin{id, what, kind, limit, floor, func(o *boost.Outcome) (float64, bool) { return get(&o.Point), true }})
		}
	}
	if in.Compressor {
		point(shaftSpeed, "turbocharger shaft speed", units.Speed, in.ShaftSpeed, false, func(p *airpath.Point) float64 { return p.ShaftSpeed })
		if in.ShaftSpeed > 0 {
			ms = append(ms, Margin{closedShaft, "shaft speed with the wastegate closed", units.Speed, in.ShaftSpeed, false, closedSpeed})
		}
		point("surge-margin", "surge margin", units.Fraction, in.SurgeMargin, true, func(p *airpath.Point) float64 { return p.Compressor.SurgeMargin })
		point("choke-margin", "choke margin", units.Fraction, 0, true, func(p *airpath.Point) float64 { return p.Compressor.ChokeMargin })
	}
	if in.InjectionPresent {
		point("injector-duty", "injector duty", units.Fraction, in.Duty, false, func(p *airpath.Point) float64 {
			return math.Max(p.Injection.Primary.Duty, p.Injection.Secondary.Duty)
		})
	}
	point("cylinder-pressure", "cylinder pressure", units.Pressure, in.PeakPressure, false, func(p *airpath.Point) float64 { return p.PeakPressure })
	point(knocks, "knock integral", units.Number, in.KnockIntegral, false, func(p *airpath.Point) float64 { return p.KnockIntegral })
	point(phased, "CA50", units.Angle, in.LatestCA50, false, func(p *airpath.Point) float64 { return p.CA50 })
	point("turbine-inlet-temperature", "EGT", units.Temperature, in.TurbineInlet, false, func(p *airpath.Point) float64 {
		return p.TurbineInletTemperature
	})
	point("gearbox-torque", "gearbox torque", units.Torque, in.Torque, false, func(p *airpath.Point) float64 { return p.Torque })
	return ms
}

// The margins that have more to say than their figures.
const (
	closedShaft = "shaft-speed-wastegate-shut"
	shaftSpeed  = "shaft-speed"
	phased      = "burn-phasing"
	knocks      = "knock-integral"
)

// gapWithin is the share to which the worst gap between target and boost is looked for: below the last digit printed.
const gapWithin = 3e-3

// Figures returns what to look for between the speeds of a grid: the worst of every margin, and the greatest gap between target and
// boost by the limit that governs.
func (in Input) Figures() []boost.Figure {
	var fs []boost.Figure
	for _, m := range in.Margins() {
		fs = append(fs, m.Figure())
	}
	if in.Compressor {
		for l := airpath.Target; l <= airpath.Throttle; l++ {
			fs = append(fs, boost.Figure{Limit: math.NaN(), Within: gapWithin, Of: func(o *boost.Outcome) (float64, bool) {
				gap := miss(o)
				return gap, o.Point.Limit == l && gap > run.ReachedWithin
			}})
		}
	}
	return fs
}

// Marks returns what begins and ends somewhere between the speeds of a grid and is told with the speeds.
func (in Input) Marks() []boost.Mark {
	var ms []boost.Mark
	if in.Compressor {
		ms = append(ms, func(o *boost.Outcome) bool { return miss(o) > run.ReachedWithin })
	}
	if in.LatestCA50 > 0 {
		ms = append(ms, in.late)
	}
	for _, m := range in.Margins() {
		ms = append(ms, m.past)
	}
	if in.InjectionPresent { // the primary set's duty peaks where the second set comes in
		ms = append(ms, run.SecondSetWorks)
	}
	for _, u := range unmet {
		n := u.note
		ms = append(ms, func(o *boost.Outcome) bool { return o.Point.Notes&n != 0 })
	}
	return ms
}

// Judge returns the findings, in the order in which an engine is looked over.
func Judge(in Input) []Finding {
	fs := unsolved(in)
	if in.Compressor {
		fs = append(fs, in.boost()...)
	}
	for _, m := range in.Margins() {
		f, ok := m.Finding(in.Outcomes)
		if !ok {
			continue
		}
		if in.MapTop && (m.ID == closedShaft || m.ID == shaftSpeed) {
			f.Remark = "the top line of the map, at the venue's temperature, is the limit"
		}
		switch m.ID {
		case closedShaft:
			f.From, f.To = 0, 0 // what to do tells from where on the target is too high
			why := "the restrictor keeps the boost below the target, so the boost control keeps the wastegate closed: " +
				"lower the target to the boost that is reached"
			if f.Remark != "" {
				why = f.Remark + "; " + why
			}
			f.Remark = why
		case phased:
			in.tellLate(&f)
		case knocks:
			if f.Limit > 1 && f.Verdict == OK {
				f.Verdict, f.Remark = Note, "a limit above 1 lets the mean cycle knock, and its fast ones far more"
			}
		}
		fs = append(fs, f)
	}
	if in.MeanPistonSpeed > 0 {
		f := Finding{ID: "mean-piston-speed", What: "mean piston speed at the limiter", Speed: in.LimiterSpeed, Kind: units.Velocity,
			Value: in.PistonAtLimiter, Limit: in.MeanPistonSpeed}
		fs = append(fs, f.judged())
	}
	return append(fs, in.Unmet()...)
}

// Failed returns what failed, in order, each once.
func Failed(fs []Finding) []string {
	var whats []string
	for _, f := range fs {
		if f.Verdict == Fail && !slices.Contains(whats, f.What) {
			whats = append(whats, f.What)
		}
	}
	return whats
}

func (f Finding) judged() Finding {
	if passes(f.Value, f.Limit, f.Floor) {
		f.Verdict = Fail
	}
	return f
}

// passes reports whether a value is past a limit, which is a floor or a ceiling.
func passes(value, limit float64, floor bool) bool {
	if floor {
		return Lacks(value, limit)
	}
	return Passes(value, limit)
}

// unsolved reports the points without a solution.
func unsolved(in Input) []Finding {
	var fs []Finding
	for i := range in.Outcomes {
		if o := &in.Outcomes[i]; o.Err != nil {
			fs = append(fs, Finding{ID: noSolutionID, What: NoSolution, Speed: o.Speed, Value: math.NaN(), Limit: math.NaN(), Verdict: Fail,
				Remark: o.Err.Error()})
		}
	}
	return fs
}

// passive tells the limits that the engine cannot pass, whatever is asked for: asking for more than they leave harms nothing.
// The others are passed when the boost control does as it is told.
func passive(l airpath.Limit) bool {
	switch l {
	case airpath.Target, airpath.Atmosphere, airpath.Restrictor, airpath.Spool, airpath.Actuator:
		return true
	}
	return false
}

// boost judges the boost reached against the target: one finding for each limit that governs where they differ.
func (in Input) boost() []Finding {
	type gap struct {
		worst       *boost.Outcome
		first, last float64
		miss        float64
	}
	gaps := map[airpath.Limit]*gap{}
	var order []airpath.Limit
	solved := false
	for i := range in.Outcomes {
		o := &in.Outcomes[i]
		if o.Err != nil {
			continue
		}
		solved = true
		miss := miss(o)
		if !(miss > run.ReachedWithin) {
			continue
		}
		l := o.Point.Limit
		if o.Point.ManifoldPressure > o.Point.TargetPressure && o.Point.Limits.Has(airpath.Spring) {
			l = airpath.Spring // whatever keeps the boost from being higher still
		}
		g := gaps[l]
		if g == nil {
			g = &gap{first: o.Speed}
			gaps[l] = g
			order = append(order, l)
		}
		g.last = o.Speed
		if g.worst == nil || miss > g.miss {
			g.worst, g.miss = o, miss
		}
	}
	if len(order) == 0 && solved {
		o := &in.Outcomes[boost.Worst(in.Outcomes, func(o *boost.Outcome) (float64, bool) {
			return o.Point.TargetPressure - o.Point.ManifoldPressure, true
		})]
		return []Finding{{ID: "boost-reached", What: "boost target is reached", Speed: o.Speed, Kind: units.GaugePressure, Value: o.Boost(in.Venue),
			Limit: o.TargetBoost, Floor: true}}
	}
	var fs []Finding
	for _, l := range order {
		g := gaps[l]
		f := Finding{Speed: g.worst.Speed, Kind: units.GaugePressure, Value: g.worst.Boost(in.Venue), Limit: g.worst.TargetBoost, Floor: true, Verdict: Note}
		where := Span(g.first, g.last)
		switch {
		case f.Value > f.Limit:
			f.ID, f.What, f.Verdict, f.Floor = abovePrefix+slug(l), "boost above the target: "+l.String(), Fail, false
			f.Remark = where + ": the boost cannot be held down; it needs a larger wastegate or a larger turbine"
			if l == airpath.Spring {
				f.Remark = where + ": the actuator opens the wastegate no further; it needs a softer spring, a longer stroke, " +
					"or a target no lower than the boost on the spring"
			}
		case passive(l):
			f.ID, f.What = notReachedPrefix+slug(l), "boost target not reached: "+l.String()
			f.Remark = where
		default:
			f.ID, f.What, f.Verdict = passesPrefix+slug(l), "boost target passes a limit: "+l.String(), Fail
			f.Remark = where + ": at the target the engine would pass this limit; lower the target to the value"
		}
		fs = append(fs, f)
	}
	return fs
}

// slug returns a limit's name as part of an id.
func slug(l airpath.Limit) string { return strings.ReplaceAll(l.String(), " ", "-") }

// miss returns by how much the boost differs from the target, Pa.
func miss(o *boost.Outcome) float64 {
	return math.Abs(o.Point.TargetPressure - o.Point.ManifoldPressure)
}

// closedSpeed returns the shaft speed, rad/s, that a boost target out of reach leads to where the restrictor rules.
func closedSpeed(o *boost.Outcome) (speed float64, applies bool) {
	if o.Overpull == nil || !(o.Point.TargetPressure-o.Point.ManifoldPressure > run.ReachedWithin) {
		return 0, false
	}
	return o.Overpull.ShaftSpeed, true
}

// late reports whether the burn is later than best.
func (in Input) late(o *boost.Outcome) bool { return Late(o.Point.CA50, in.BestCA50) }

// tellLate adds where the burn has to be later than best.
func (in Input) tellLate(f *Finding) {
	if first, last, ok := run.Where(in.Outcomes, in.late); ok {
		f.Remark = fmt.Sprintf("later than best CA50, %s, at %s: knock or cylinder pressure costs torque there",
			units.Mark(in.BestCA50, units.Angle), Span(first, last))
		if f.Verdict == OK {
			f.Verdict = Note
		}
	}
}

// unmet are the remarks on a point that passes a limit because nothing is left to do about it.
var unmet = [...]struct {
	id             string
	note           airpath.Note
	against, mends string // for the list of checks
}{
	{"knock-unmet", airpath.NoteKnockUnmet, "engine.combustion.knock_limit", "use more octane, cool the charge or lower the compression"},
	{"cylinder-pressure-unmet", airpath.NotePeakPressureUnmet, "limits.peak_cylinder_pressure", "lower the compression, or fit a larger wastegate or turbine"},
	{"shaft-speed-unmet", airpath.NoteSpeedUnmet, "compressor.speed_limit, or the top line of the map", "fit a larger wastegate or turbine"},
	{"injector-duty-unmet", airpath.NoteInjectorUnmet, "limits.injector_duty", "fit larger injectors or raise the rail pressure"},
	{"gearbox-torque-unmet", airpath.NoteTorqueUnmet, "driveline.gearbox_torque_limit", "close the throttle further or fit a stronger gearbox"},
	{"surge-unmet", airpath.NotePastSurge, "the compressor's map", "fit a smaller compressor or a larger turbine"},
	{"short-pulse-unmet", airpath.NoteShortPulse, "injection.primary.shortest_pulse", "fit smaller primary injectors"},
}

// Unmet reports the limits that a point passes because nothing is left to do about it.
func (in Input) Unmet() []Finding {
	var fs []Finding
	for _, u := range unmet {
		n := u.note
		if first, last, ok := run.Where(in.Outcomes, func(o *boost.Outcome) bool { return o.Point.Notes&n != 0 }); ok {
			fs = append(fs, Finding{ID: u.id, What: n.Texts()[0], Speed: first, Value: math.NaN(), Limit: math.NaN(), Verdict: Fail,
				Remark: Span(first, last)})
		}
	}
	return fs
}

// Span names the speeds from the first to the last, rad/s.
func Span(first, last float64) string { return run.Speeds(first, last) }
