package airpath

import (
	"errors"
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/numeric"
)

// The way up. At one engine speed the boost is a coordinate: for each the flow is what the cylinders take, and exhaust temperature
// and phasing are those on which air path and cycle agree. Along it flowState.rising says whether the boost rises or falls.
// An engine comes from low boost and stays where the rise first falls through 0. A second place further up, where the rise has
// come back and falls through 0 again, is a second steady state: an engine that is above stays there.

// A step is what is remembered of a place on the way up.
type step struct {
	x, inlet float64
	rise     float64
	by       Limit
	t3, ca50 float64
}

// pathLength is the number of places at which the way up is looked at.
func (e *Engine) pathLength() int { return len(e.pathPlaces()) }

// pathAt returns the outlet coordinate of one of them.
func (e *Engine) pathAt(i int) float64 {
	x := e.pathPlaces()[i]
	if e.Compressor == nil {
		x += math.Log(e.Venue.Pressure)
	}
	return x
}

func (e *Engine) pathPlaces() []float64 {
	if e.Compressor == nil {
		return aspiratedPlaces[:]
	}
	return places[:]
}

// places are ln(PR − 1), wide apart where hardly any boost is and close where the turbine's curve folds: pressure ratios of 1.0001 to 9.
var places = [...]float64{
	-9, -6, -4.6, -3.8, -3.2, -2.7, -2.3, -1.95, -1.65, -1.4, -1.18, -0.98, -0.8, -0.63, -0.47, -0.32, -0.18, -0.05,
	0.07, 0.18, 0.29, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.1, 1.2, 1.3, 1.4, 1.55, 1.7, 1.9, 2.1,
}

// aspiratedPlaces are ln(p2/pa) without a compressor.
var aspiratedPlaces = [...]float64{-2.3, -1.9, -1.5, -1.2, -1, -0.8, -0.65, -0.5, -0.4, -0.3, -0.2, -0.1, 0, 0.1}

// lowestPlace is next to no boost at all, below the first of the places.
func (e *Engine) lowestPlace() float64 {
	if e.Compressor == nil {
		return e.pathAt(0) - 2
	}
	return -16
}

// agree brings air path and cycle to agree at an outlet coordinate: the exhaust temperature to a relative tolerance, and the phasing as late as
// knock and cylinder pressure ask for.
func (v *Solver) agree(x, tolerance float64) error {
	best, latest := v.e.Combustion.BestCA50, v.e.Combustion.LatestCA50
	if v.early {
		latest = best
	}
	v.ca50 = min(v.ca50, latest)
	filled, kept := settleTolerance, limitTolerance
	if tolerance > t3Tolerance {
		filled, kept = tolerance, 10*tolerance
	}
	v.mode = retarding
	var last gaps
	var d move
	for i := range 40 {
		if i%12 == 0 {
			v.jac = [3][2]float64{{-0.95, 280}, {0, 5.2}, {0, 1.2}}
		}
		v.warm()
		v.w.x[1] = x
		if !v.w.fill(filled) {
			return v.fail("air path", "flow and pressure do not agree", math.Abs(v.w.s.filling), v.w.passes)
		}
		if err := v.runCycle(); err != nil {
			return err
		}
		now := gaps{v.turn.t3 - v.t3, v.knockRoom(), v.peakRoom()}
		least := min(now[rowKnock], now[rowPeak])
		held := v.early || v.ca50 <= best && least >= -kept || v.ca50 >= latest && least <= kept
		if math.Abs(now[rowT3]) < tolerance*v.t3 && v.off < max(tolerance, leftTolerance) && (held || math.Abs(least) < kept) {
			for l := range limits {
				if bound := limits[l].cycle; bound != nil {
					v.w.s.bounds[l] = bound(v)
				}
			}
			return nil
		}
		if i%12 > 0 && v.off < quiet*(math.Abs(d[0])/v.t3+math.Abs(d[1])) {
			v.broyden(d, &last, &now)
			v.jac[rowT3][0] = min(max(v.jac[rowT3][0], -1.6), -0.4)
		}
		other := 0.0
		if !held {
			if other = v.wanted(&now); !(math.Abs(other) < 1) || other*least > 0 && math.Abs(least) > 0.05 {
				v.jac = [3][2]float64{{-0.95, 280}, {0, 5.2}, {0, 1.2}}
				other = -least / v.jac[rowKnock][1]
			}
			other = min(max(other, -largestRetard), largestRetard)
			other = min(max(v.ca50+other, best), latest) - v.ca50
		}
		d = v.stepT3(&now, other)
		v.ca50 += other
		last = now
	}
	return v.fail("exhaust temperature and phasing", "air path and cycle do not agree", math.Abs(v.turn.t3-v.t3)/v.t3, v.cycles)
}

// warm hands the trial exhaust temperature to the air path.
func (v *Solver) warm() {
	t := &v.w.t
	t.t3 = v.t3
	t.exhaust = gas.Mix(v.r.charge.Unburned, v.r.charge.Burned, v.b.residualBurned)
	t.gammaExh = t.exhaust.Gamma(v.t3)
}

// afterRetard returns the bound of a limit that a later burn keeps first: its room at the latest phasing accepted, and before that
// what retard is left besides.
func (v *Solver) afterRetard(room float64) float64 {
	const perRadian = 5 // of ln knock integral: a scale
	if v.early {
		return room
	}
	return room + max(v.e.Combustion.LatestCA50-v.ca50, 0)*perRadian
}

// lost reports whether the present state is beyond what the parts are known for.
func (w *settler) lost() bool {
	s := &w.s
	return s.clamped || w.e.Compressor != nil && (!s.shaftOK || s.shaft > farthestSpeed*w.e.topSpeed)
}

// remember records the present state.
func (v *Solver) remember() step {
	n := step{x: v.w.x[1], inlet: v.w.x[0], t3: v.t3, ca50: v.ca50}
	n.rise, n.by = v.rising()
	return n
}

// rising is flowState.rising of the present state.
func (v *Solver) rising() (rise float64, by Limit) { return v.w.s.rising(&v.w.t, v.nearest) }

// goTo takes a remembered state as the first guess.
func (v *Solver) goTo(n *step) {
	v.w.x[0], v.t3, v.ca50 = n.inlet, n.t3, n.ca50
	if t := &v.w.t; !(t.expansion >= 1 && t.tailpipe > 0) { // left behind by a place where there is no state
		t.expansion, t.tailpipe = 1.5, 0.9*n.t3
	}
	if !(v.b.residualBurned > 0) {
		v.b.residualBurned = v.e.Combustion.Efficiency
	}
}

const (
	stepTolerance = 3e-5 // of the exhaust temperature on the way up: 0.03 K
	tangent       = 0.1  // rise below which a dip between two places is looked into
)

// look evaluates a place, from the state at another one. It reports whether the state there is one that the parts are known for.
func (v *Solver) look(x float64, from *step) (step, bool, error) {
	v.goTo(from)
	if err := v.agree(x, stepTolerance); err != nil {
		return step{}, false, err
	}
	return v.remember(), !v.w.lost(), nil
}

// next follows the way up from a place until the rise changes its sign: from rising to falling, sign 1, or from falling to rising, −1. It
// returns the last place before and the first after. found is false where what the parts are known for ends first.
func (v *Solver) next(from step, sign float64) (a, b step, found bool, err error) {
	const apart = 0.02
	before, last := from, from
	early, nearest := v.nearest, v.nearest // as they were at the two
	for i := range v.e.pathLength() {
		x := v.e.pathAt(i)
		if x < from.x+apart {
			continue
		}
		now, known, err := v.look(x, &last)
		if err != nil || !known {
			return v.edge(last, x, sign, err)
		}
		if sign*now.rise <= 0 {
			return last, now, true, nil
		}
		through := max(v.nearest, v.w.s.bounds[Choke]) // this place
		if last.x > from.x && !limits[last.by].relative && sign*last.rise < tangent && sign*last.rise <= sign*before.rise && last.rise*sign <= sign*now.rise {
			v.nearest = early
			if a, b, ok := v.dip(before, last, now, sign); ok {
				return a, b, true, nil
			}
		}
		early, v.nearest = nearest, through
		nearest = through
		before, last = last, now
	}
	return last, last, false, nil
}

// edge looks for the change of sign between a place and one that lies beyond what is known, by halving. Without one the solver is left at
// the last place known.
func (v *Solver) edge(last step, x, sign float64, failure error) (a, b step, found bool, err error) {
	if failure != nil && math.IsNaN(v.w.s.filling) {
		failure = nil // no state at all
	}
	for x-last.x > 1e-3 {
		now, known, err := v.look((last.x+x)/2, &last)
		switch {
		case err != nil || !known:
			x = (last.x + x) / 2
		case sign*now.rise <= 0:
			return last, now, true, nil
		default:
			last = now
		}
	}
	if failure == nil {
		_, _, failure = v.look(last.x, &last)
	}
	return last, last, false, failure
}

// dip looks between three places, of which the middle one has the least rise, for one where it has changed its sign.
func (v *Solver) dip(a, b, c step, sign float64) (from, to step, found bool) {
	for range 8 {
		left := b.x-a.x > c.x-b.x
		x := (b.x + c.x) / 2
		if left {
			x = (a.x + b.x) / 2
		}
		now, known, err := v.look(x, &b)
		if err != nil || !known {
			return a, b, false
		}
		switch lower := sign*now.rise < sign*b.rise; {
		case sign*now.rise <= 0 && left:
			return a, now, true
		case sign*now.rise <= 0:
			return b, now, true
		case lower && left:
			b, c = now, b
		case lower:
			a, b = b, now
		case left:
			a = now
		default:
			c = now
		}
	}
	return a, b, false
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
		return v.fail("air path", "flow and pressure do not agree", math.Abs(b.rise), v.w.passes)
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

// ahead looks from a place further up for one where the boost no longer rises, at the present exhaust temperature and phasing: without cycles. It
// returns the last place before and the first after.
func (v *Solver) ahead(from step) (a, b step, found bool) {
	const apart = 0.02
	a = from
	v.goTo(&from)
	v.warm()
	v.w.x[1] = from.x
	for i := range v.e.pathLength() {
		x := v.e.pathAt(i)
		if x < from.x+apart {
			continue
		}
		v.w.x[0] = min(v.w.x[0]+v.e.inletSlope()*(boostLog(x)-boostLog(v.w.x[1])), highestInlet)
		v.w.x[1] = x
		if !v.w.fill(scanTolerance) || v.w.lost() {
			return a, b, false
		}
		if b = v.remember(); b.rise <= 0 {
			return a, b, true
		}
		a = b
	}
	return a, b, false
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
		mid, known, err := v.look(x, &lo)
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
	v.goTo(&lo)
	var lastX, lastRise float64
	by, tolerance := lo.by, max(stepTolerance, final)
	for i := range 12 {
		if !(x > min(lo.x, hi.x)-beside && x < max(lo.x, hi.x)+beside) || v.agree(x, tolerance) != nil {
			return false
		}
		rise, now := v.rising()
		kept := restTolerance(now) / 4
		if now != Target {
			kept = max(kept, final/2) // the turbine's power is known no better than the exhaust's temperature
		}
		if tolerance == final && math.Abs(rise) < kept && math.Abs(v.w.s.filling) < 1e-6 {
			return true
		}
		if math.Abs(rise) < 1e-3 {
			tolerance = final
		}
		if i > 0 && now == by {
			if s := (rise - lastRise) / (x - lastX); s*slope > 0 && math.Abs(s) < 1e3 {
				slope = s
			}
		}
		lastX, lastRise, by = x, rise, now
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

// climbUp follows the way up from no boost to where it first comes to rest.
//
// With the wastegate wide open a later burn makes the exhaust hotter and raises the boost, and with it the knock. Where retarding for it
// does not keep the limits, the way is followed at best phasing too, and taken where that is clearly less far beyond them. Where the two
// are about as bad the burn stays late, so that the boost does not hop between them from speed to speed.
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
	if v.climbOnce(target) != nil || min(v.knockRoom(), v.peakRoom()) < least {
		*v = saved
		return failure
	}
	return nil
}

func (v *Solver) climbOnce(target float64) error {
	v.begin(target)
	from := step{x: v.e.lowestPlace(), inlet: v.e.inletFor(1e-3), rise: 1, t3: 1000, ca50: v.e.Combustion.BestCA50}
	v.nearest = math.Inf(-1)
	a, b, found, err := v.next(from, 1)
	switch {
	case err != nil:
		return err
	case !found:
		return v.ends(&a)
	}
	return v.rest(a, b)
}

// ends tells why the boost does not come to rest: a is the last place that the parts are known for.
func (v *Solver) ends(a *step) error {
	by := &limits[a.by]
	v.endless = true
	switch {
	case a.by == Creep && v.e.Wastegate == nil:
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

// begin sets the first guesses for a target.
func (v *Solver) begin(target float64) {
	v.w.t.target = target
	v.w.t.expansion, v.w.t.tailpipe = 1.1, 900
	v.cap = math.Inf(1)
	v.b, v.tied, v.angles = breath{residualBurned: v.e.Combustion.Efficiency}, v.r.tied, v.r.stated
	v.w.known, v.w.slope = false, 0
	v.t3, v.ca50 = 1000, v.e.Combustion.BestCA50
}

// A course is the exhaust temperature along the way up, for a look at it without cycles: known at the present state and at one of hardly
// any boost, both at best phasing and, where the present state burns late, with the retard that knock asked for since it set in.
//
//	T3 = T0 + (T1 − T0) s + a retard,  retard = −room/c within 0 and the greatest
//	s = (PR − 1 share of the way),  room over ln PR a straight line
type course struct {
	lowX, span     float64 // ln(PR − 1) of the low state; PR − 1 from there to the present one
	low, high      float64 // T3 at best phasing, K
	perRadian      float64 // a, K/rad
	slope          float64 // c, of the room over the retard, 1/rad
	latest         float64 // retard there is, rad
	lowRoom        float64 // ln(limit/knock integral), or that of the peak pressure, at the low state
	highRoom       float64 // the same at the present one, at best phasing
	lowRatio, more float64 // ln PR of the low state, and from there to the present one
	spread, bend   float64 // how far T3 may be wrong half way: of the straight line, of the retard; as a share
}

// at returns the exhaust temperature at an outlet coordinate, K, and the share by which it may be wrong.
func (c *course) at(x float64) (t3, doubt float64) {
	up := math.Exp(x)
	s := max((up-math.Exp(c.lowX))/c.span, 0)
	t3 = c.low + (c.high-c.low)*min(s, 1.3)
	doubt = c.spread * min(1, 4*math.Abs(s*(1-s)))
	if c.more > 0 {
		share := (math.Log1p(up) - c.lowRatio) / c.more
		room := c.lowRoom + (c.highRoom-c.lowRoom)*share
		t3 += c.perRadian * min(max(-room/c.slope, 0), c.latest)
		doubt += c.bend * min(1, 4*math.Abs(s*(1-s)))
	}
	return t3, doubt
}

// course returns the course to the present state. It runs one cycle, and leaves the solver at the low state.
func (v *Solver) course() (c course, ok bool) {
	const low = -2.3 // ln(PR − 1)
	x, t3 := v.w.x[1], v.t3
	c = course{lowX: low, span: math.Exp(x) - math.Exp(low), low: t3, high: t3, spread: 0.02}
	if x < low+0.5 {
		c.span = max(c.span, 0.01)
		return c, true
	}
	slope, perRadian := 5.2, 280.0 // see toMode
	if v.mode == retarding {
		if peak := v.peakRoom() < v.knockRoom(); peak {
			slope = 1.2
		}
		if a := v.jac[rowT3][1]; a > 100 && a < 600 {
			perRadian = a
		}
	}
	retard, room := v.ca50-v.e.Combustion.BestCA50, min(v.knockRoom(), v.peakRoom())
	c.perRadian, c.slope, c.latest = perRadian/0.95, slope, v.e.Combustion.LatestCA50-v.e.Combustion.BestCA50
	c.high = t3 - c.perRadian*retard
	v.ca50, v.t3 = v.e.Combustion.BestCA50, c.high
	v.warm()
	if v.w.x[1] = low; !v.w.fill(scanTolerance) || v.runCycle() != nil {
		return c, false
	}
	c.low = v.t3 + (v.turn.t3-v.t3)/0.95
	c.lowRoom, c.highRoom = min(v.knockRoom(), v.peakRoom()), min(room, 0)-slope*retard
	if retard == 0 {
		c.highRoom = room
	}
	c.lowRatio = math.Log1p(math.Exp(low))
	c.more = math.Log1p(math.Exp(x)) - c.lowRatio
	c.spread = 0.75*math.Abs(c.high-c.low)/c.high + 0.003
	c.bend = 0.25 * c.perRadian * retard / c.high
	return c, true
}

// boostLog is ln of the pressure ratio at an outlet coordinate. The flow goes nearly with it: inletSlope is how far the inlet coordinate follows,
// where it is the flow's logarithm and where it is that of the pressure lost in the throat.
func boostLog(x float64) float64 { return math.Log1p(math.Exp(x)) }

func (e *Engine) inletSlope() float64 {
	switch {
	case e.Compressor == nil:
		return 0
	case e.Restrictor == nil:
		return 0.85
	}
	return 1.7
}

// survey looks along the way up at exhaust temperatures between that of the present state and one of hardly any boost. sure says
// that the boost rises all the way up to the present state and falls beyond, by more than the temperatures can be wrong; more,
// that it may rise again further up. The solver's state stays.
func (v *Solver) survey(target float64) (sure, more bool) {
	saved := *v
	v.doubtful = 0
	sure, more = v.lookAlong(target)
	doubtful := v.doubtful
	nearest := v.nearest
	*v = saved
	v.nearest, v.doubtful = nearest, doubtful
	return sure, more
}

func (v *Solver) lookAlong(target float64) (sure, more bool) {
	const clear = 0.003
	x := v.w.x[1]
	v.w.t.target = target
	here := v.w.s.bounds[Choke]
	nearest := math.NaN()
	if limits[v.governs].relative {
		nearest = math.Inf(1)
	}
	v.w.s.bounds[Target] = targetBound(v.e, &v.w.t, &v.w.s)
	if rise, _ := v.w.s.rising(&v.w.t, nearest); !(math.Abs(rise) < 1e-5) || v.mode == cutting && v.ca50 < v.e.Combustion.LatestCA50 {
		return false, true // Newton's method has taken one limit for another
	}
	c, ok := v.course()
	if !ok {
		return false, true
	}
	retarded := v.mode != atBest
	lastHeat, cooler, choked := 0.0, false, false
	v.nearest = math.Inf(-1)
	// look tells whether the boost rises for sure at a place, or falls for sure.
	look := func(x float64) (rise float64, rises, falls, ok bool) {
		var doubt float64
		v.t3, doubt = c.at(x)
		v.warm()
		v.w.x[0] += v.e.inletSlope() * (boostLog(x) - boostLog(v.w.x[1]))
		v.w.x[1] = x
		if !v.w.fill(scanTolerance) {
			return 0, false, false, false
		}
		// The relative limits do not know the exhaust: they are looked at by themselves.
		v.nearest = max(v.nearest, v.w.s.bounds[Choke])
		choked = choked || v.chokeRoom(v.w.s.bounds[Choke]) < chokeScatter/2
		cooler = cooler || retarded && v.w.s.tm < lastHeat-1 // knock may set in and go again
		lastHeat = v.w.s.tm
		rise, by := v.w.s.rising(&v.w.t, math.NaN())
		bounds := &v.w.s.bounds
		if limits[by].cold && !v.w.t.throttled {
			return rise, rise > clear && bounds[Spool] > clear+doubt && bounds[Actuator] > clear+doubt, rise < -clear && bounds[Creep] > clear+doubt, true
		}
		return rise, rise > clear+doubt, rise < -clear-doubt, true
	}
	const close, far = 0.03, 0.15
	sure = true
	i := 0
	for ; i < v.e.pathLength() && v.e.pathAt(i) < x-close; i++ {
		rise, rises, _, ok := look(v.e.pathAt(i))
		if !ok || !rises {
			sure = false
			break
		}
		for skip := rise; skip > far && skip > rise-2.5*far && i+1 < v.e.pathLength() && v.e.pathAt(i+1) < x-close; skip -= far {
			i++
		}
	}
	switch choke := v.chokeRoom(here); {
	case v.w.t.throttled:
	case cooler || choked:
		sure = false // the boost may have come to rest where it knocks, or where the compressor comes nearest to its map
	case limits[v.governs].relative:
		sure = sure && v.nearest > chokeScatter
	case choke < chokeScatter/2:
		sure = false
	}
	cooler = false
	if v.w.t.throttled && !sure {
		return false, false
	}
	if rise, _, _, ok := look(x + close); !ok || !(rise < 0) {
		return false, true
	}
	for ; !v.w.t.throttled && i < v.e.pathLength(); i++ {
		if v.e.pathAt(i) < x+close {
			continue
		}
		rise, _, falls, ok := look(v.e.pathAt(i))
		if !ok || v.w.lost() {
			break
		}
		if !falls || cooler {
			v.doubtful = i
			return sure, true
		}
		if rise < -far || v.w.s.bounds[Spool] < -far || v.w.s.bounds[Creep] > far {
			i++ // far from rising, or a wastegate that has much to spare
		}
	}
	return sure, false
}

// chokeRoom returns a bound of the relative limits as the way up so far leaves it.
func (v *Solver) chokeRoom(bound float64) float64 {
	return bound - min(max(v.nearest, bound)-chokeScatter, 0)
}

// second looks for another steady state above the present one, and leaves the solver there if there is one.
func (v *Solver) second() bool {
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

// torqueRoom returns the logarithm of the gearbox's torque over the engine's; +Inf without a limit, or without torque.
func (v *Solver) torqueRoom() float64 {
	limit := v.e.Limits.Torque
	if limit == 0 {
		return math.Inf(1)
	}
	bmep := (v.turn.gross-v.turn.pumping)/v.e.Cylinder.Displacement() - v.e.friction.MeanEffectivePressure(v.e.frictionAt(v.r.speed, v.w.s.pm, v.res.PeakPressure))
	if !(bmep > 0) {
		return math.Inf(1)
	}
	return math.Log(limit / geometry.Torque(bmep, v.e.displaced))
}
