package airpath

import (
	"errors"
	"math"

	"bellmouth/internal/numeric"
)

// climbUp follows the way up from no boost to where it first comes to rest.
//
// With the wastegate wide open a later burn makes the exhaust hotter and raises the boost, and with it the knock. Where retarding for it
// does not keep the limits, the way is followed at best phasing too, and taken where that is clearly less far beyond them. Where the two
// are about as bad the burn stays late, so that the boost does not hop between them from speed to speed. The state at best phasing counts
// only where the wastegate is wide open: elsewhere the boost would fall when more is asked.
func (v *Solver) climbUp(target float64) error {
	const clearly = 0.05 // of ln knock integral or peak pressure
	v.early, v.endless = false, false
	failure := v.climbOnce(target)
	if failure == nil && v.mode != unhelpable || failure != nil && !v.endless {
		return failure
	}
	least := math.Inf(-1)
	if failure == nil {
		least = min(v.knockRoom(), v.peakRoom()) + clearly
	}
	saved := *v
	v.early = true
	if v.climbOnce(target) != nil || min(v.knockRoom(), v.peakRoom()) < least || failure == nil && v.governs != Creep {
		*v = saved
		return failure
	}
	return nil
}

func (v *Solver) climbOnce(target float64) error {
	v.begin(target)
	from := step{x: v.e.lowestPlace(), inlet: v.e.inletFor(1e-3), rise: 1, t3: 1000, ca50: v.e.Combustion.BestCA50}
	v.nearest = math.Inf(-1)
	if i := v.risen - 1; i > 0 && !v.early {
		if there, known, err := v.look(v.e.pathAt(i), &from); err == nil && known && there.rise > 0 {
			from, v.nearest = there, v.w.s.bounds[Choke]
		} else {
			v.begin(target)
		}
	}
	a, b, found, err := v.next(from, 1)
	switch {
	case err != nil:
		return err
	case !found:
		return v.ends(&a)
	}
	return v.rest(a, b)
}

// begin sets the first guesses for a target.
func (v *Solver) begin(target float64) {
	v.w.t.target = target
	v.w.t.expansion, v.w.t.tailpipe = 1.1, 900
	v.cap, v.jac = math.Inf(1), retardSlopes
	v.b, v.tied, v.angles = breath{residualBurned: v.e.Combustion.Efficiency}, v.r.tied, v.r.stated
	v.w.known, v.w.slope = false, 0
	v.t3, v.ca50 = 1000, v.e.Combustion.BestCA50
}

// second looks for another steady state above the present one, and leaves the solver there if there is one.
func (v *Solver) second() bool {
	v.jac = retardSlopes
	from := v.remember()
	if i := v.doubtful - 1; i >= 0 && v.e.pathAt(i) > from.x {
		last, known, err := v.look(v.e.pathAt(i), &from) // up to there the boost falls for sure
		if err != nil || !known {
			return false
		}
		if last.rise < 0 {
			from = last
		}
	}
	_, up, found, err := v.next(from, -1)
	if err != nil || !found {
		return false
	}
	a, b, found, err := v.next(up, 1)
	return err == nil && found && v.rest(a, b) == nil
}

// ends tells why the boost does not come to rest: a is the last place that the parts are known for.
func (v *Solver) ends(a *step) error {
	v.endless = true
	s := v.w.s
	s.bounds[Spool] = math.Inf(1)
	_, rules := s.rising(&v.w.t, v.nearest) // the turbine's power, of which there is enough, does not let it run away
	by := &limits[rules]
	switch {
	case s.unheld():
		return v.failUnheld()
	case rules == Creep && v.e.Wastegate == nil:
		return v.fail("turbine", "without a wastegate the boost runs away, beyond what map and turbine are known for", 0, 0)
	case by.stage != "":
		return v.fail(by.stage, by.reason, 0, 0)
	case v.w.s.clamped:
		return v.fail("air path", "the losses take nearly all of the pressure", 0, 0)
	case v.e.Compressor != nil && !v.w.s.shaftOK:
		return v.fail("turbine", "no expansion ratio drives the compressor", 0, 0)
	}
	return v.fail("air path", "the boost does not come to rest within what the parts are known for", 0, 0)
}

// rest solves for the place between two where the rise is 0, and leaves the solver there.
//
// The place is bracketed to the tolerance of the way up first, which takes a cycle or two a trial, and closed in on by secants with
// air path and cycle in full agreement. Where those do not get there, the bracket itself is closed in on so.
func (v *Solver) rest(a, b step) error {
	v.goTo(&a)
	if v.secants(a, b, 0.02, t3Tolerance) {
		_, by := v.rising()
		v.name(by)
		return nil
	}
	v.goTo(&a)
	var failure error
	rise := func(x float64) float64 {
		if err := v.agree(x, t3Tolerance); err != nil {
			failure = err
			return math.NaN()
		}
		rise, _ := v.rising()
		return rise
	}
	lo, hi := a.x, b.x
	root, err := numeric.FindRoot(rise, lo, hi, 1e-10)
	// The ends were known to the tolerance of the way only: a rest next to one may lie just beyond it.
	const aside = 0.02
	for range 6 {
		var bracket *numeric.BracketError
		if failure != nil || !errors.As(err, &bracket) {
			break
		}
		if bracket.FHi > 0 {
			lo, hi = hi, hi+aside
		} else {
			lo, hi = lo-aside, lo
		}
		root, err = numeric.FindRoot(rise, lo, hi, 1e-10)
	}
	if failure != nil {
		return failure
	}
	if err != nil {
		return v.fail("air path", "the boost turns from rising to falling where no state could be closed in on", math.Abs(b.rise), v.w.passes)
	}
	if err := v.agree(root.X, t3Tolerance); err != nil {
		return err
	}
	left, by := v.rising()
	if !(math.Abs(left) < restTolerance(by) && math.Abs(v.w.s.filling) < 1e-6) {
		return v.fail("air path", "the flow jumps where the boost would come to rest", math.Abs(left), v.w.passes)
	}
	v.name(by)
	return nil
}

// restTolerance is how nearly the rise is 0 where the boost comes to rest: knock and peak pressure are known to limitTolerance.
func restTolerance(by Limit) float64 {
	if by == Knock || by == CylinderPressure {
		return 2 * limitTolerance
	}
	return 1e-6
}

// secants closes in on the place between two, or as near to them as given, where the rise is 0, air path and cycle in agreement to a final
// tolerance. It reports whether it came to it.
func (v *Solver) secants(a, b step, beside, final float64) bool {
	const near = 0.02 // of the coordinate, within which the rise is taken as straight
	lo, hi := a, b
	for range 12 {
		if math.Abs(hi.x-lo.x) < max(near, beside) {
			break
		}
		share := lo.rise / (lo.rise - hi.rise)
		x := lo.x + min(max(share, 0.1), 0.9)*(hi.x-lo.x)
		mid, known, err := v.lookOn(x, &hi, &lo)
		if err != nil || !known {
			return false
		}
		if mid.rise*lo.rise > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	x, slope := lo.x+lo.rise/(lo.rise-hi.rise)*(hi.x-lo.x), (hi.rise-lo.rise)/(hi.x-lo.x)
	before, last := hi, lo
	by, tolerance := lo.by, max(stepTolerance, final)
	for i := range 12 {
		v.goOn(x, &before, &last)
		if !(x > min(lo.x, hi.x)-beside && x < max(lo.x, hi.x)+beside) || v.agree(x, tolerance) != nil {
			return false
		}
		rise, now := v.rising()
		kept := max(restTolerance(now)/4, final/10)
		if now != Target {
			kept = max(kept, final/2) // the turbine's power is known no better than the exhaust's temperature
		}
		if tolerance == final && math.Abs(rise) < kept && math.Abs(v.w.s.filling) < max(1e-6, final) {
			return true
		}
		if math.Abs(rise) < 1e-3 {
			tolerance = final
		}
		if i > 0 && now == by {
			if s := (rise - last.rise) / (x - last.x); s*slope > 0 && math.Abs(s) < 1e3 {
				slope = s
			}
		}
		by, before, last = now, last, v.remember()
		x -= rise / slope
	}
	return false
}

// name takes a limit as the one that governs, and sets how the phasing stands.
func (v *Solver) name(by Limit) {
	least := min(v.knockRoom(), v.peakRoom())
	v.governs = by
	if limits[by].cycle == nil {
		v.w.active = by
	}
	switch {
	case by == Knock || by == CylinderPressure:
		v.mode = cutting
	case least < -2*limitTolerance:
		v.mode = unhelpable
	case v.ca50 > v.e.Combustion.BestCA50:
		v.mode = retarding
	default:
		v.mode = atBest
	}
}
