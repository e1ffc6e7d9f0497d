package sheet

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/fuel"
	"bellmouth/internal/manifold"
	"bellmouth/internal/units"
)

// CylinderFindings judges what the spread does to single cylinders when all have the fuel and the spark of the operating point:
// mixture, knock and cylinder pressure. Without a section manifold.spread there is nothing to judge.
func (r *Run) CylinderFindings() ([]check.Finding, error) {
	shares, _, err := r.Spread()
	if doubt := unread(err); doubt != nil {
		return []check.Finding{{
			What: "share of the air of each cylinder", Speed: r.Outcomes[doubt.at].Speed, Value: math.NaN(), Limit: math.NaN(), Verdict: check.Note,
			Remark: "not judged: " + doubt.Error(),
		}}, nil
	}
	if err != nil || shares == nil {
		return nil, err
	}
	t := r.Trim
	leanest := t.Manifold.Spread.Leanest
	lean := worstCylinder{what: "leanest cylinder, one fuel for all"}
	knock := worstCylinder{what: worstKnock, limit: t.Engine.Combustion.KnockLimit}
	peak := worstCylinder{what: worstPressure, kind: units.Pressure, limit: t.Limits.PeakCylinderPressure}
	var beyond []check.Finding // cylinders that the model does not know, the first speed of each
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		if o.Err != nil {
			continue
		}
		var runs cylinderRuns
		if r.at != nil && r.at.cylinders != nil {
			runs = r.at.cylinders.of(o)
		} else {
			runs = r.cylindersAt(o, shares)
		}
		if runs.err != nil {
			return nil, fmt.Errorf("trim %q: %w", t.Name, runs.err)
		}
		lean.limit = leanest
		if leanest == 0 {
			lean.limit = o.Point.Lambda
		}
		for k := range runs.cylinders {
			one := &runs.cylinders[k]
			lean.see(o, k, one.lambda)
			if one.err != nil {
				beyond = unjudged(beyond, o, k, one.lambda, one.err)
				continue
			}
			knock.see(o, k, one.KnockIntegral)
			peak.see(o, k, one.PeakPressure)
		}
	}
	var fs []check.Finding
	for _, w := range []*worstCylinder{&lean, &knock, &peak} {
		if w.at != nil && w.worstLimit > 0 {
			fs = append(fs, w.finding(shares))
		}
	}
	if leanest == 0 && len(fs) > 0 && fs[0].Verdict == check.Fail {
		fs[0].Verdict = check.Note
		fs[0].Remark += "; the spec gives no manifold.spread.leanest, so that it is held against fuel.lambda"
	}
	fs = append(fs, beyond...)
	for i := range fs {
		if fs[i].What == knock.what && fs[i].Verdict == check.Fail {
			text, mends := r.laterBy(&knock, shares)
			fs[i].Remark += text
			if mends { // the operating points' spark is that of an even manifold; a later one keeps the limit
				fs[i].Verdict = check.Note
			}
		}
	}
	return fs, nil
}

// The findings on single cylinders that the boost acts on.
const (
	worstKnock    = "knock integral of the worst cylinder"
	worstPressure = "pressure in the fullest cylinder"
)

// cylinderRuns are the cylinders of a point, with one fuel and one spark for all.
type cylinderRuns struct {
	cylinders []cylinderRun
	err       error // why there are none
}

type cylinderRun struct {
	airpath.SingleResult
	lambda float64
	err    error // why the model does not know it
}

// cylindersAt runs each cylinder at a point with its share of the air.
func (r *Run) cylindersAt(o *boost.Outcome, shares []float64) cylinderRuns {
	one, err := r.Engine.SingleAt(&o.Point)
	if err != nil {
		return cylinderRuns{err: err}
	}
	runs := cylinderRuns{cylinders: make([]cylinderRun, len(shares))}
	n := float64(len(shares))
	for k, s := range shares {
		c := &runs.cylinders[k]
		c.lambda = n * s * o.Point.Lambda
		c.SingleResult, c.err = one.Run(n*s, c.lambda, o.Point.CA50)
	}
	return runs
}

// unjudged adds the finding that the model knows no cylinder that runs like this one, unless the cylinder has it already.
func unjudged(fs []check.Finding, o *boost.Outcome, cylinder int, lambda float64, why error) []check.Finding {
	f := check.Finding{
		What: fmt.Sprintf("mixture of cylinder %d, one fuel for all", cylinder+1), Speed: o.Speed, Value: lambda, Limit: fuel.LowestLambda, Floor: true, Verdict: check.Fail,
		Remark: "there the model ends: knock and pressure of this cylinder are not judged",
	}
	var stuck *airpath.PointError
	switch {
	case lambda < fuel.LowestLambda:
	case lambda > fuel.HighestLambda:
		f.Limit, f.Floor = fuel.HighestLambda, false
	case errors.As(why, &stuck):
		f.Limit = math.NaN()
		f.Remark = "the model does not know a cylinder with so much or so little air: " + stuck.Reason
	default:
		f.Limit = math.NaN()
		f.Remark = "the model does not know a cylinder with so much or so little air: " + why.Error()
	}
	for _, has := range fs {
		if has.What == f.What {
			return fs
		}
	}
	return append(fs, f)
}

// A worstCylinder is the cylinder that is nearest to a limit, or furthest past it, over all speeds.
type worstCylinder struct {
	what       string
	kind       units.Kind
	limit      float64
	at         *boost.Outcome
	cylinder   int // from 0
	value      float64
	worstLimit float64 // at that speed
}

func (w *worstCylinder) see(o *boost.Outcome, cylinder int, value float64) {
	if w.at == nil || value*w.worstLimit > w.value*w.limit {
		w.at, w.cylinder, w.value, w.worstLimit = o, cylinder, value, w.limit
	}
}

func (w *worstCylinder) finding(shares []float64) check.Finding {
	off := float64(len(shares))*shares[w.cylinder] - 1
	than := "more"
	if off < 0 {
		than = "less"
	}
	f := check.Finding{
		What: w.what, Speed: w.at.Speed, Kind: w.kind, Value: w.value, Limit: w.worstLimit,
		Remark: fmt.Sprintf("cylinder %d, with %.1f %% %s air than the mean", w.cylinder+1, math.Abs(off)*100, than),
	}
	if !(f.Margin() >= -limitSlack*f.Limit) {
		f.Verdict = check.Fail
	}
	return f
}

// laterBy says how much later the burn of all cylinders has to be for the worst of them to keep its limits with the fuel as it is, and
// whether that is a phasing accepted.
func (r *Run) laterBy(w *worstCylinder, shares []float64) (text string, mends bool) {
	b, err := r.bench(w.at)
	if err != nil || b.past != nil {
		return "", false
	}
	b.Leanest = math.Max(b.Target, float64(len(shares))*b.Target*slices.Max(shares)) // the fuel stays as it is
	run, err := b.run(shares, manifold.CommonFuel)
	if err != nil {
		return ": " + err.Error(), false
	}
	return fmt.Sprintf(": a burn %.1f deg later in all cylinders, or in this one, keeps the limit", (run.Cylinders[0].CA50-w.at.Point.CA50)*180/math.Pi), true
}
