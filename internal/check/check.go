// Package check judges solved operating points against every limit that they know.
package check

import (
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/units"
)

// A Verdict is what a check comes to.
type Verdict int

// The verdicts. A Note is a finding that breaks no limit.
const (
	OK Verdict = iota
	Note
	Fail
)

// String returns the verdict as tables show it: "ok", "note", "FAIL".
func (v Verdict) String() string {
	return [...]string{"ok", "note", "FAIL"}[v]
}

// A Finding is one limit judged over all operating points, at the speed where it is closest to being passed or furthest past.
type Finding struct {
	What    string
	Speed   float64    // the worst engine speed, rad/s
	Kind    units.Kind // of value and limit
	Value   float64    // SI; NaN where there is none
	Limit   float64    // SI; NaN where there is none
	Floor   bool       // the value has to stay above the limit instead of below it
	Verdict Verdict
	Remark  string // what to know beside the figures; may be empty
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

// slack is the share of a limit by which a value may pass it and still count as on it: the solver meets a binding limit to
// about 1e-6, and no gauge shows a tenth of a per mille.
const slack = 1e-4

// boostSlack is how far boost may miss what was asked for and still count as that, Pa: below what a gauge shows.
const boostSlack = 500

// late is how much later than best CA50 counts as late, rad: the tenth of a degree that is printed.
const late = 0.1 * math.Pi / 180

// Judge returns the findings, in the order in which an engine is looked over.
func Judge(in Input) []Finding {
	var fs []Finding
	fs = append(fs, unsolved(in)...)
	add := func(f Finding, ok bool) {
		if ok {
			fs = append(fs, f)
		}
	}
	if in.Compressor {
		fs = append(fs, in.boost()...)
		add(in.highest("turbocharger shaft speed", units.Speed, in.ShaftSpeed, func(p *airpath.Point) float64 { return p.ShaftSpeed }))
		add(in.shut())
		add(in.lowest("surge margin", in.SurgeMargin, func(p *airpath.Point) float64 { return p.Compressor.SurgeMargin }))
		add(in.lowest("choke margin", 0, func(p *airpath.Point) float64 { return p.Compressor.ChokeMargin }))
	}
	if in.InjectionPresent {
		add(in.highest("injector duty", units.Fraction, in.Duty, func(p *airpath.Point) float64 {
			return math.Max(p.Injection.Primary.Duty, p.Injection.Secondary.Duty)
		}))
	}
	add(in.highest("cylinder pressure", units.Pressure, in.PeakPressure, func(p *airpath.Point) float64 { return p.PeakPressure }))
	add(in.highest("knock integral", units.Number, in.KnockIntegral, func(p *airpath.Point) float64 { return p.KnockIntegral }))
	add(in.phasing())
	add(in.highest("exhaust temperature before the turbine", units.Temperature, in.TurbineInlet, func(p *airpath.Point) float64 {
		return p.TurbineInletTemperature
	}))
	add(in.highest("gearbox torque", units.Torque, in.Torque, func(p *airpath.Point) float64 { return p.Torque }))
	if in.MeanPistonSpeed > 0 {
		f := Finding{What: "mean piston speed at the limiter", Speed: in.LimiterSpeed, Kind: units.Velocity, Value: in.PistonAtLimiter, Limit: in.MeanPistonSpeed}
		fs = append(fs, f.judged())
	}
	return append(fs, in.unmet()...)
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
	if !(f.Margin() >= -slack*math.Max(math.Abs(f.Limit), 1e-9)) {
		f.Verdict = Fail
	}
	return f
}

// worst returns the solved outcome with the highest value of f.
func (in Input) worst(f func(p *airpath.Point) float64) *boost.Outcome {
	if i := boost.Highest(in.Outcomes, f); i >= 0 {
		return &in.Outcomes[i]
	}
	return nil
}

// highest judges a value that has an upper limit; without a limit there is nothing to judge.
func (in Input) highest(what string, kind units.Kind, limit float64, get func(p *airpath.Point) float64) (Finding, bool) {
	o := in.worst(get)
	if o == nil || !(limit > 0) {
		return Finding{}, false
	}
	return Finding{What: what, Speed: o.Speed, Kind: kind, Value: get(&o.Point), Limit: limit}.judged(), true
}

// lowest judges a margin that has to stay above a limit.
func (in Input) lowest(what string, limit float64, get func(p *airpath.Point) float64) (Finding, bool) {
	o := in.worst(func(p *airpath.Point) float64 { return -get(p) })
	if o == nil {
		return Finding{}, false
	}
	f := Finding{What: what, Speed: o.Speed, Kind: units.Fraction, Value: get(&o.Point), Limit: limit, Floor: true}
	if !(f.Margin() >= -slack) {
		f.Verdict = Fail
	}
	return f, true
}

// unsolved reports the points without a solution.
func unsolved(in Input) []Finding {
	var fs []Finding
	for i := range in.Outcomes {
		if o := &in.Outcomes[i]; o.Err != nil {
			fs = append(fs, Finding{What: "no solution", Speed: o.Speed, Value: math.NaN(), Limit: math.NaN(), Verdict: Fail, Remark: o.Err.Error()})
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

// boost judges the boost reached against that asked for: one finding for each limit that governs where they differ.
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
		miss := math.Abs(o.Point.TargetPressure - o.Point.ManifoldPressure)
		if !(miss > boostSlack) {
			continue
		}
		g := gaps[o.Point.Limit]
		if g == nil {
			g = &gap{first: o.Speed}
			gaps[o.Point.Limit] = g
			order = append(order, o.Point.Limit)
		}
		g.last = o.Speed
		if g.worst == nil || miss > g.miss {
			g.worst, g.miss = o, miss
		}
	}
	if len(order) == 0 && solved {
		o := in.worst(func(p *airpath.Point) float64 { return p.TargetPressure - p.ManifoldPressure })
		return []Finding{{What: "boost asked for is reached", Speed: o.Speed, Kind: units.GaugePressure, Value: o.Boost(in.Venue), Limit: o.TargetBoost, Floor: true}}
	}
	var fs []Finding
	for _, l := range order {
		g := gaps[l]
		f := Finding{Speed: g.worst.Speed, Kind: units.GaugePressure, Value: g.worst.Boost(in.Venue), Limit: g.worst.TargetBoost, Floor: true, Verdict: Note}
		where := span(g.first, g.last)
		switch {
		case f.Value > f.Limit:
			f.What, f.Verdict, f.Floor = "boost above that asked for: "+l.String(), Fail, false
			f.Remark = where + ": the boost cannot be held down; a larger wastegate or a larger turbine"
		case passive(l):
			f.What = "boost asked for not reached: " + l.String()
			f.Remark = where
		default:
			f.What, f.Verdict = "boost asked for passes a limit: "+l.String(), Fail
			f.Remark = where + ": the engine would reach more, and pass this limit, if the boost control gave what the spec asks for; lower the target to the value"
		}
		fs = append(fs, f)
	}
	return fs
}

// shut judges the shaft speed that a boost target out of reach leads to where the restrictor rules.
func (in Input) shut() (Finding, bool) {
	var worst *boost.Outcome
	for i := range in.Outcomes {
		o := &in.Outcomes[i]
		if o.Overpull != nil && o.Point.TargetPressure-o.Point.ManifoldPressure > boostSlack && (worst == nil || o.Overpull.ShaftSpeed > worst.Overpull.ShaftSpeed) {
			worst = o
		}
	}
	if worst == nil || !(in.ShaftSpeed > 0) {
		return Finding{}, false
	}
	f := Finding{What: "shaft speed with the wastegate held shut", Speed: worst.Speed, Kind: units.Speed, Value: worst.Overpull.ShaftSpeed, Limit: in.ShaftSpeed,
		Remark: "the restrictor keeps the boost from what is asked for, so the boost control shuts the wastegate: lower the target to the boost reached"}
	return f.judged(), true
}

// phasing tells whether the burn has to be later than best.
func (in Input) phasing() (Finding, bool) {
	o := in.worst(func(p *airpath.Point) float64 { return p.CA50 })
	if o == nil || !(in.LatestCA50 > 0) {
		return Finding{}, false
	}
	f := Finding{What: "burn phasing, CA50", Speed: o.Speed, Kind: units.Angle, Value: o.Point.CA50, Limit: in.LatestCA50}.judged()
	var first, last float64
	for i := range in.Outcomes {
		if o := &in.Outcomes[i]; o.Err == nil && o.Point.CA50 > in.BestCA50+late {
			if first == 0 {
				first = o.Speed
			}
			last = o.Speed
		}
	}
	if first > 0 {
		f.Remark = fmt.Sprintf("later than the best, %s, at %s: knock or cylinder pressure costs torque there",
			units.Format(in.BestCA50, units.Angle, units.Metric), span(first, last))
		if f.Verdict == OK {
			f.Verdict = Note
		}
	}
	return f, true
}

// unmet reports the limits that a point passes because nothing is left to do about it.
func (in Input) unmet() []Finding {
	var fs []Finding
	for _, n := range []airpath.Note{airpath.NoteKnockUnmet, airpath.NotePeakPressureUnmet, airpath.NoteSpeedUnmet, airpath.NoteInjectorUnmet,
		airpath.NoteTorqueUnmet, airpath.NotePastSurge, airpath.NoteShortPulse} {
		var first, last float64
		for i := range in.Outcomes {
			if o := &in.Outcomes[i]; o.Err == nil && o.Point.Notes&n != 0 {
				if first == 0 {
					first = o.Speed
				}
				last = o.Speed
			}
		}
		if first > 0 {
			fs = append(fs, Finding{What: n.Texts()[0], Speed: first, Value: math.NaN(), Limit: math.NaN(), Verdict: Fail,
				Remark: span(first, last)})
		}
	}
	return fs
}

// span names the speeds from the first to the last.
func span(first, last float64) string {
	if first == last {
		return fmt.Sprintf("%.0f rpm", rpm(first))
	}
	return fmt.Sprintf("%.0f to %.0f rpm", rpm(first), rpm(last))
}

func rpm(speed float64) float64 { return math.Round(speed * 30 / math.Pi) }
