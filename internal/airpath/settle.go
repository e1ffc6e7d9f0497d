package airpath

import (
	"math"
)

// A settler finds the air path's state for one exhaust temperature: the mass flow and compressor outlet pressure at which the
// cylinders take what the path gives and one limit rules. It is Newton's method on the logarithms of the two, the Jacobian
// once by differences and then updated after Broyden; where that fails, a climb in small steps from low boost.
type settler struct {
	e      *Engine
	t      trial
	s      flowState
	x      [2]float64 // inlet and outlet coordinate, see Engine.follow
	active Limit
	jac    [1 + boundCount][2]float64 // row 0: filling; row 1+l: limit l
	known  bool                       // jac holds something useful
	passes int
	slope  float64 // of the last flow found: the next begins with it
}

// Tolerances of the unknowns' equations, relative: far below the 1e-6 that the operating point is solved to.
const (
	settleTolerance = 1e-8
	differenceStep  = 1e-4
	largestStep     = 0.3
	scanTolerance   = 2e-3 // of a flow on the way up, where the next step is looked for
)

// highestInlet bounds the inlet coordinate of a restrictor: 98 % of the pressure lost.
var highestInlet = math.Log(0.98)

func (w *settler) evaluate() {
	w.passes++
	w.e.follow(&w.t, w.x[0], w.x[1], &w.s)
}

// start sets a first guess from the target.
func (w *settler) start() {
	e, t := w.e, &w.t
	w.known = false
	w.active = Target
	pm := t.target
	if e.Compressor == nil {
		w.active = Atmosphere
		pm = min(pm, e.Venue.Pressure)
	}
	const guess = 320 // K in the manifold
	flow := t.r.ve * pm / (e.air.GasConstant() * guess) * t.r.swept
	if e.Restrictor != nil {
		if most := e.chokedFlow(); flow > most {
			pm *= most / flow
			flow = most
			w.active = Restrictor
		}
	}
	w.x = [2]float64{e.inletFor(flow), math.Log(pm * 1.02)}
	if e.Compressor != nil {
		e.inlet(w.x[0], &w.s)
		w.x[1] = math.Log(max(pm*1.02/w.s.p1-1, 1e-3))
	}
	t.expansion, t.tailpipe = 1.8, t.t3*0.9
}

// jacobian sets every row by differences about the current state.
func (w *settler) jacobian() {
	w.evaluate()
	base := w.s
	for i := range 2 {
		x := w.x[i]
		w.x[i] = x + differenceStep
		w.evaluate()
		w.x[i] = x
		w.jac[0][i] = (w.s.filling - base.filling) / differenceStep
		for l := range boundCount {
			w.jac[1+l][i] = (w.s.bounds[l] - base.bounds[l]) / differenceStep
		}
	}
	w.s = base
	w.known = true
}

// newton solves filling = 0 and the active limit's bound = 0. It reports whether it got there.
func (w *settler) newton(tolerance float64) bool {
	fresh := false
	if !w.known {
		w.jacobian()
		fresh = true
	} else {
		w.evaluate()
	}
	row := 1 + int(w.active)
	last := math.Inf(1)
	for range 20 {
		f, c := w.s.filling, w.s.bounds[w.active]
		size := max(math.Abs(f), math.Abs(c))
		if !(size < math.Inf(1)) {
			return false
		}
		if size < tolerance {
			return true
		}
		if size > 0.7*last && !fresh {
			w.jacobian()
			fresh = true
		} else {
			fresh = false
		}
		last = size
		a, b := w.jac[0], w.jac[row]
		det := a[0]*b[1] - a[1]*b[0]
		d := [2]float64{(-f*b[1] + c*a[1]) / det, (-c*a[0] + f*b[0]) / det}
		step := max(math.Abs(d[0]), math.Abs(d[1]))
		if !(step < math.Inf(1)) {
			return false
		}
		if step > largestStep {
			d[0] *= largestStep / step
			d[1] *= largestStep / step
		}
		before := w.s
		w.x[0] += d[0]
		w.x[1] += d[1]
		if w.e.Restrictor != nil {
			w.x[0] = min(w.x[0], highestInlet)
		}
		w.evaluate()
		w.broyden(d, &before)
	}
	return false
}

// broyden updates every row so that it explains the last step.
func (w *settler) broyden(d [2]float64, before *flowState) {
	square := d[0]*d[0] + d[1]*d[1]
	if square < 1e-24 {
		return
	}
	update := func(row *[2]float64, change float64) {
		miss := (change - row[0]*d[0] - row[1]*d[1]) / square
		if math.Abs(miss) < math.Inf(1) {
			row[0] += miss * d[0]
			row[1] += miss * d[1]
		}
	}
	update(&w.jac[0], w.s.filling-before.filling)
	for l := range boundCount {
		update(&w.jac[1+l], w.s.bounds[l]-before.bounds[l])
	}
}

// along returns how fast a limit's bound changes, per unit of the outlet coordinate, when the boost rises and the cylinders keep taking what
// the path gives.
func (w *settler) along(l Limit) float64 {
	return w.jac[1+l][1] - w.jac[1+l][0]*w.jac[0][1]/w.jac[0][0]
}

// settle finds the state and which limit rules. It reports whether it did.
func (w *settler) settle(tolerance float64) bool {
	if w.t.throttled {
		return w.settleThrottled(tolerance)
	}
	if !w.known {
		// Where the first guess wants far more turbine flow than there is exhaust, the turbine rules at a much lower boost,
		// and the climb is the shorter way there.
		if w.evaluate(); w.s.bounds[Spool] < -0.2 && w.climb(tolerance) {
			return true
		}
		w.known = false
	}
	return w.settleBySets(tolerance) || w.climb(tolerance)
}

// settleThrottled finds the state at part load: the throttle takes the rest, so the turbocharger does as little as it can.
func (w *settler) settleThrottled(tolerance float64) bool {
	if w.t.held > 0 && w.e.Wastegate != nil {
		return w.settleHeld(tolerance)
	}
	return w.settleOn(w.e.idleLimit(), tolerance)
}

// settleHeld finds the state at part load with the gate on its spring, which keeps it shut up to the pressure it holds, opens it as far as that
// takes, and no further than it goes. The end that ruled last is tried first.
func (w *settler) settleHeld(tolerance float64) bool {
	slack := max(tolerance, 1e-7)
	from := w.x
	if w.active == Spool || w.t.held > highestRatio*w.e.Venue.Pressure {
		if w.active = Spool; w.newton(tolerance) && w.s.bounds[Target] > 0 && w.s.bounds[Creep] > -slack {
			return true
		}
		w.x, w.known = from, false
	}
	w.active = Target
	held := w.newton(tolerance)
	if held && w.s.bounds[Spool] > -slack && w.s.bounds[Creep] > -slack {
		return true
	}
	end := Spool
	if held && w.s.bounds[Creep] < -slack {
		end = Creep
	}
	if !held {
		w.x, w.known = from, false
	}
	return w.settleOn(end, tolerance)
}

// highestRatio is a pressure ratio that no compressor of one stage comes to.
const highestRatio = 10

// settleOn finds the state at part load in which the wastegate is at one of its ends, or there is none.
func (w *settler) settleOn(end Limit, tolerance float64) bool {
	w.active = end
	if w.newton(tolerance) {
		return true
	}
	if w.e.Compressor == nil {
		return false
	}
	// The bound rises with the outlet coordinate: what the turbine cannot take has to pass the wastegate, or with none, the other
	// way round.
	rising := w.active == Creep
	from, to := -14.0, 3.0
	for to-from > 1e-12 {
		w.x[1] = (from + to) / 2
		if !w.fill(settleTolerance) {
			return false // the choked throat does not give what this manifold pressure takes
		}
		if (w.s.bounds[w.active] < 0) == rising {
			from = w.x[1]
		} else {
			to = w.x[1]
		}
		if math.Abs(w.s.bounds[w.active]) < settleTolerance {
			w.known = false
			return true
		}
	}
	w.known = false
	return w.newton(tolerance)
}

// idleLimit returns the limit that closes the air path when nothing is asked of the turbocharger.
func (e *Engine) idleLimit() Limit {
	switch {
	case e.Compressor == nil:
		return Atmosphere
	case e.Wastegate == nil:
		return Spool
	}
	return Creep
}

// settleBySets tries one limit after another: solve with one ruling, then hand over to the limit that is violated most.
func (w *settler) settleBySets(tolerance float64) bool {
	slack := max(tolerance, 1e-7)
	for range 8 {
		if !w.newton(tolerance) {
			return false
		}
		if room, by := w.s.gate(); w.active != by && w.active != Spool && room < -slack {
			// Wide open, or as far open as the spring lets it, the wastegate passes too little: the boost rises above what any wish allows, or
			// the engine pulls at a choked throat harder than it need.
			w.active = by
			continue
		}
		if limits[w.active].side == lower {
			if rise, _ := w.s.rising(&w.t, math.NaN()); rise > slack {
				w.active = Target // the wastegate can hold it after all
				if w.s.bounds[Spool] < slack {
					w.active = Spool // or rather there is no more to be had
				}
				continue
			}
			return true
		}
		next, worst := w.active, 0.0
		for l := range Limit(boundCount) {
			if side := limits[l].side; l == w.active || side != upper && side != power || !(w.s.bounds[l] < -slack) {
				continue
			}
			slope := w.along(l)
			if limits[l].relative && slope >= 0 {
				continue
			}
			if !(slope < 0) {
				return false
			}
			if need := w.s.bounds[l] / slope; need > worst {
				next, worst = l, need
			}
		}
		if next == w.active {
			// A bound that rises with boost is crossed from the wrong side: the state would run away.
			return w.along(w.active) < 0
		}
		w.active = next
	}
	return false
}

// rising returns by how much the boost rises from a state, and the limit that decides it: positive where it rises, 0 where it rests
// and negative where it falls.
//
//	rise = min(power, max(least upper bound, −least lower bound))
//
// The turbine's power has to be there. It raises the boost as long as every upper limit is kept, since the wastegate is shut then; and
// where one is not, as long as a lower limit is not kept: the wastegate is wide open and passes too little. So boost comes to rest
// where the rise falls through 0, and the least such boost is the one an engine meets on its way up.
//
// nearest is the highest bound of the relative limits on the way up so far; +Inf takes them as they stand, NaN leaves them out.
func (s *flowState) rising(t *trial, nearest float64) (rise float64, by Limit) {
	rise, by = s.leastUpper(t, nearest)
	gate, gateBy := s.gate()
	if t.throttled && t.held == 0 && !math.IsInf(gate, 1) {
		rise = math.Inf(-1) // nothing is asked of the turbocharger
	}
	if -gate > rise && !t.shut {
		rise, by = -gate, gateBy
	}
	if p := s.bounds[Spool]; p < rise {
		rise, by = p, Spool
	}
	return rise, by
}

// leastUpper returns the least bound of the upper limits; nearest as in rising.
func (s *flowState) leastUpper(t *trial, nearest float64) (least float64, by Limit) {
	least = math.Inf(1)
	for l := range limitCount {
		b := s.bounds[l]
		if limits[l].side != upper {
			continue
		}
		if limits[l].relative {
			if math.IsNaN(nearest) {
				continue
			}
			b -= min(max(nearest, b)-chokeScatter, 0)
		}
		if t.throttled && l != Target && l != Atmosphere || t.shut && l != Target || t.aspirated && (l == Knock || l == CylinderPressure) {
			continue
		}
		if b < least {
			least, by = b, l
		}
	}
	return least, by
}

// climb raises the boost in steps from none until it rises no more, at one exhaust temperature, and then closes in by bisection and
// Newton's method.
func (w *settler) climb(tolerance float64) bool {
	const narrow = 0.1
	nearest := math.Inf(-1)
	rise := func(x float64) (float64, Limit, bool) {
		w.x[1] = x
		if !w.fill(scanTolerance) {
			return 0, Target, false
		}
		r, by := w.s.rising(&w.t, nearest)
		if r > 0 {
			nearest = max(nearest, w.s.bounds[Choke])
		}
		return r, by, true
	}
	from := math.Inf(-1)
	for i := range w.e.pathLength() {
		to := w.e.pathAt(i)
		r, by, ok := rise(to)
		if !ok {
			return false
		}
		if r > 0 {
			from = to
			continue
		}
		if math.IsInf(from, -1) {
			from = to - 3
		}
		for to-from > narrow {
			mid := (from + to) / 2
			r, l, ok := rise(mid)
			if !ok {
				return false
			}
			if r > 0 {
				from = mid
			} else {
				to, by = mid, l
			}
		}
		for range 4 {
			w.known, w.active = false, by
			if !w.newton(tolerance) || !(w.x[1] > from-narrow && w.x[1] < to+narrow) {
				return false
			}
			least := 0.0
			if least, by = w.s.rising(&w.t, nearest); least > -max(tolerance, 1e-7) || by == w.active {
				return true
			}
		}
		return false
	}
	return false
}

// fill finds the flow the cylinders take at the outlet coordinate x[1], by bracketed secant steps, to a tolerance of its logarithm.
// Past the onset of choke the flow stays and the pressure behind the throat falls. Without a compressor that helps nobody: there the state
// is left at the onset, and the restrictor's bound tells how much more the cylinders want.
func (w *settler) fill(tolerance float64) bool {
	lo, hi := w.e.inletFor(1e-5), math.Log(20)
	if loss := w.e.FilterLoss * w.e.Venue.Temperature; loss > 0 {
		hi = min(hi, math.Log(0.99*w.e.Venue.Pressure/math.Sqrt(loss))) // the filter leaves no pressure for more
	}
	if w.e.Restrictor != nil {
		hi = highestInlet
		if w.e.Compressor == nil {
			hi = w.e.inletFor(math.Inf(1))
		}
	}
	x := w.x[0]
	if !(x > lo && x < hi) {
		x = w.e.inletFor(0.5 * w.s.flow)
		if !(x > lo && x < hi) {
			x = (lo + hi) / 2
		}
	}
	slope := w.slope
	if !(slope < -0.02) {
		slope = -0.8
	}
	lag := 1e-4
	var lastX, lastF float64
	triedEnd := w.e.Restrictor == nil || w.e.Compressor != nil
	for i := range 120 {
		w.x[0] = x
		w.evaluate()
		f := w.s.filling
		if x == hi && f > 0 {
			w.s.bounds[Restrictor] = -f
			return w.e.Compressor == nil && w.e.Restrictor != nil
		}
		if i > 0 {
			if s := (f - lastF) / (x - lastX); s < -0.02 && s > -20 {
				slope = s
			}
		}
		if math.Abs(f) < tolerance {
			w.slope = slope
			return true
		}
		// The exhaust's mean heat capacity is that of the evaluation before: near the answer the sign is not to be trusted, before many trials in
		// one place have brought the two together.
		if i > 20 {
			lag = 0.1 * tolerance
		}
		switch {
		case f > lag:
			lo = x
		case f < -lag:
			hi = x
		case math.IsNaN(f):
			return false
		}
		slow := i > 2 && math.Abs(f) > 0.5*math.Abs(lastF) // round the onset of choke the slope changes and secants creep
		lastX, lastF = x, f
		switch x -= f / slope; {
		case x >= hi && !triedEnd:
			x, triedEnd = hi, true
		case !(x > lo && x < hi) || slow:
			x = (lo + hi) / 2
		}
		if hi-lo < 1e-14*math.Abs(hi+lo) {
			return false // the flow jumps
		}
	}
	return false
}
