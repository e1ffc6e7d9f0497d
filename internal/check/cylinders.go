package check

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/fuel"
	"bellmouth/internal/run"
	"bellmouth/internal/units"
)

// The ids of the findings on single cylinders that the boost acts on.
const (
	WorstCylinderKnock      = "worst-cylinder-knock"
	FullestCylinderPressure = "fullest-cylinder-pressure"
)

// UnreadShares is the finding that the spec's figures tell no shares of the air.
func UnreadShares(doubt *run.UnreadSharesError) Finding {
	return Finding{
		ID: "cylinder-shares", What: "share of the air of each cylinder", Speed: doubt.Speed, Value: math.NaN(), Limit: math.NaN(), Verdict: Note,
		Remark: "not judged: " + doubt.Error(),
	}
}

// Cylinders judges what the shares of the air do to single cylinders when all have the fuel and the spark of the operating point: mixture, knock and
// cylinder pressure. at returns the cylinders of a point, as run.Run's SinglesAt does.
func Cylinders(r *run.Run, shares []float64, at func(o *boost.Outcome) run.Singles) ([]Finding, error) {
	t := r.Trim
	leanest := t.Manifold.Spread.Leanest
	lean := worstCylinder{id: leanestCylinder, what: "leanest cylinder, one fuel for all"}
	knock := worstCylinder{id: WorstCylinderKnock, what: "knock integral of the worst cylinder", limit: t.Engine.Combustion.KnockLimit}
	peak := worstCylinder{id: FullestCylinderPressure, what: "pressure in the fullest cylinder", kind: units.Pressure, limit: t.Limits.PeakCylinderPressure}
	var beyond []Finding // cylinders that the model does not know, the first speed of each
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		if o.Err != nil {
			continue
		}
		singles := at(o)
		if singles.Err != nil {
			return nil, fmt.Errorf("trim %q: %w", t.Name, singles.Err)
		}
		lean.limit = leanest
		if leanest == 0 {
			lean.limit = o.Point.Lambda
		}
		for k := range singles.Cylinders {
			one := &singles.Cylinders[k]
			lean.see(o, k, one.Lambda)
			if one.Err != nil {
				beyond = unjudged(beyond, o, k, one)
				continue
			}
			knock.see(o, k, one.KnockIntegral)
			peak.see(o, k, one.PeakPressure)
		}
	}
	var fs []Finding
	for _, w := range []*worstCylinder{&lean, &knock, &peak} {
		if w.at != nil && w.worstLimit > 0 {
			fs = append(fs, w.finding(shares))
		}
	}
	if leanest == 0 && len(fs) > 0 && fs[0].Verdict == Fail {
		fs[0].Verdict = Note
		fs[0].Remark += "; the spec gives no manifold.spread.leanest, so that it is held against fuel.lambda"
	}
	fs = append(fs, beyond...)
	for i := range fs {
		if fs[i].ID == WorstCylinderKnock && fs[i].Verdict == Fail {
			text, by := laterBy(r, knock.at, shares)
			if held := r.Engine.Combustion.KnockLimit; by > 0 && held < fs[i].Limit {
				fs[i].held = held
				text += fmt.Sprintf(" with its margin, %s", shown(held, fs[i].Kind))
			}
			fs[i].Remark += text
			if fs[i].later = by; by > 0 { // the operating points' spark is that of an even manifold; a later one keeps the limit
				fs[i].Verdict = Note
			}
		}
	}
	return fs, nil
}

// unjudged adds the finding that the model knows no cylinder that runs like this one, unless the cylinder has it already.
func unjudged(fs []Finding, o *boost.Outcome, cylinder int, one *run.Single) []Finding {
	f := Finding{
		ID: fmt.Sprintf("cylinder-mixture-%d", cylinder+1), What: fmt.Sprintf("mixture of cylinder %d, one fuel for all", cylinder+1),
		Speed: o.Speed, Value: one.Lambda, Limit: fuel.LowestLambda, Floor: true, Verdict: Fail, Cylinder: cylinder + 1,
		Remark: "there the model ends: knock and pressure of this cylinder are not judged",
	}
	var stuck *airpath.PointError
	switch {
	case one.Lambda < fuel.LowestLambda:
	case one.Lambda > fuel.HighestLambda:
		f.Limit, f.Floor = fuel.HighestLambda, false
	case errors.As(one.Err, &stuck):
		f.Limit = math.NaN()
		f.Remark = "the model does not know a cylinder with so much or so little air: " + stuck.Reason
	default:
		f.Limit = math.NaN()
		f.Remark = "the model does not know a cylinder with so much or so little air: " + one.Err.Error()
	}
	for _, has := range fs {
		if has.ID == f.ID {
			return fs
		}
	}
	return append(fs, f)
}

// A worstCylinder is the cylinder that is nearest to a limit, or furthest past it, over all speeds.
type worstCylinder struct {
	id, what   string
	kind       units.Kind
	limit      float64
	at         *boost.Outcome
	cylinder   int // from 0
	value      float64
	worstLimit float64 // at that speed

	first, last float64 // speeds at which a cylinder passes the limit, rad/s; 0 without one
}

func (w *worstCylinder) see(o *boost.Outcome, cylinder int, value float64) {
	if w.at == nil || value*w.worstLimit > w.value*w.limit {
		w.at, w.cylinder, w.value, w.worstLimit = o, cylinder, value, w.limit
	}
	if w.limit > 0 && Passes(value, w.limit) {
		if w.first == 0 {
			w.first = o.Speed
		}
		w.last = o.Speed
	}
}

func (w *worstCylinder) finding(shares []float64) Finding {
	off := float64(len(shares))*shares[w.cylinder] - 1
	than := "more"
	if off < 0 {
		than = "less"
	}
	return Finding{
		ID: w.id, What: w.what, Speed: w.at.Speed, Kind: w.kind, Value: w.value, Limit: w.worstLimit, Cylinder: w.cylinder + 1,
		From: w.first, To: w.last,
		Remark: fmt.Sprintf("cylinder %d, with %.1f %% %s air than the mean", w.cylinder+1, math.Abs(off)*100, than),
	}.judged()
}

// laterBy says how much later, rad, the burn of all cylinders has to be for the worst of them to keep its limits with the fuel as it is; by is 0
// where no CA50 accepted does.
func laterBy(r *run.Run, o *boost.Outcome, shares []float64) (text string, by float64) {
	c, err := r.CylindersAt(&o.Point)
	if err != nil || c.Past != nil {
		return "", 0
	}
	ca50, err := c.CA50For(shares)
	if err != nil {
		return ": " + err.Error(), 0
	}
	by = ca50 - o.Point.CA50
	return fmt.Sprintf(": a burn %s later in all cylinders, or in this one, keeps the limit", lateAngle(by)), by
}
