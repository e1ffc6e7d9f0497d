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
	visits int // times settled since the start
}

// Tolerances of the unknowns' equations, relative: far below the 1e-6 that the operating point is solved to.
const (
	settleTolerance = 1e-8
	differenceStep  = 1e-4
	largestStep     = 0.3
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
	w.visits = 0
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

// upper reports whether a limit keeps the boost from being higher; creep alone keeps it from being lower.
func upper(l Limit) bool { return l != Creep }

// settle finds the state and which limit rules. It reports whether it did.
func (w *settler) settle(tolerance float64) bool {
	w.visits++
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
		// The spring keeps the gate shut up to the pressure it holds, opens it as far as that takes, and no further than it goes.
		slack := max(tolerance, 1e-7)
		w.active = Target
		switch held := w.newton(tolerance); {
		case held && w.s.bounds[Spool] > -slack && w.s.bounds[Creep] > -slack:
			return true
		case held && w.s.bounds[Creep] < -slack:
			return w.settleOn(Creep, tolerance)
		}
		return w.settleOn(Spool, tolerance)
	}
	return w.settleOn(w.e.idleLimit(), tolerance)
}

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
		if !w.fill() || math.Abs(w.s.filling) > settleTolerance {
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
		if w.active != Creep && w.s.bounds[Creep] < -slack {
			// Wide open, the wastegate passes too little: the boost rises above what any wish allows, or the engine pulls
			// at a choked throat harder than it need.
			w.active = Creep
			continue
		}
		if w.active == Creep {
			if w.s.bounds[Target] > slack && w.s.bounds[Restrictor] > -slack {
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
			if l == w.active || !upper(l) || !(w.s.bounds[l] < -slack) {
				continue
			}
			slope := w.along(l)
			if l == Choke && slope >= 0 {
				continue // see room
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
			return w.along(w.active) < 0 && !w.barred()
		}
		w.active = next
	}
	return false
}

// barred reports whether the turbine could not bring the engine to the present state from a lower boost: just above the speed
// where boost comes in, it may hold a high boost and yet fall short of the power on the way there. An engine on its way up
// stays at the lower one.
func (w *settler) barred() bool {
	const spare = 0.05 // share of the exhaust past the turbine above which no shortfall has been seen below
	const enough = 8   // visits after which the branch is kept: on the edge the two would take turns for ever
	if w.e.Turbine == nil || w.active == Spool || w.s.bounds[Spool] > spare || w.visits > enough {
		return false
	}
	const idle = -3 // ln(PR − 1) next to no boost
	state, x := w.s, w.x
	barred := false
	for _, share := range [...]float64{0.2, 0.4, 0.6, 0.8} {
		w.x[1] = (1-share)*idle + share*x[1]
		if w.fill() && w.s.bounds[Spool] < 0 {
			barred = true
			break
		}
		w.s = state
	}
	w.s, w.x = state, x
	return barred
}

// The climb goes over the outlet coordinate: wide steps find the limit, the narrow bracket is where Newton's method is tried again.
const (
	climbStep    = 0.6
	climbBracket = 0.1
)

// climb raises the boost in steps from none until a limit stops it, as an engine does on its way up, and then closes in on
// that limit by bisection and Newton's method. It is slow and sure.
func (w *settler) climb(tolerance float64) bool {
	e := w.e
	from, lowest, top := -5.0, -12.0, 3.0 // pressure ratios of 1.007, 1.000006 and 21
	if e.Compressor == nil {
		from, lowest, top = math.Log(0.9*e.Venue.Pressure), math.Log(0.1*e.Venue.Pressure), math.Log(2*e.Venue.Pressure)
	}
	if _, ok := w.room(from, math.Inf(-1)); !ok {
		from = lowest
		if _, ok := w.room(from, math.Inf(-1)); !ok {
			// No boost is low enough; or the throat is choked without any, and the engine pulls at it.
			return w.s.bounds[Restrictor] < 0 && e.Compressor != nil && w.pull(tolerance)
		}
	}
	choke := w.s.bounds[Choke]
	for from < top {
		to := from + climbStep
		limit, ok := w.room(to, choke)
		if ok {
			from, choke = to, w.s.bounds[Choke]
			continue
		}
		for {
			if to-from < climbBracket && w.closeIn(limit, from, to, tolerance) {
				return true
			}
			if to-from < 1e-12 {
				return w.accept(to, limit)
			}
			mid := (from + to) / 2
			if l, ok := w.room(mid, choke); ok {
				from, choke = mid, w.s.bounds[Choke]
			} else {
				to, limit = mid, l
			}
		}
	}
	return false
}

// pull solves for the engine that swallows more than the choked throat gives even without boost: the pressure behind the throat
// falls until it does not, and the wastegate is wide open.
func (w *settler) pull(tolerance float64) bool {
	const idle = -3 // ln(PR − 1)
	w.x = [2]float64{math.Log(1 - w.s.p1/w.s.p0*math.Exp(-w.s.filling)), idle}
	w.known, w.active = false, Creep
	if w.e.Wastegate == nil {
		w.active = Spool
	}
	return w.newton(tolerance)
}

// room reports whether there is room for more boost at an outlet coordinate, and else which limit
// leaves none. Where the wide-open wastegate passes too little the boost rises by itself, whatever is wished, unless the
// throat is choked. Being past the choke end of the map counts when more boost leads further past it: at next to no boost
// every compressor is, and boost leads away from there. choke is the margin at a lower boost.
func (w *settler) room(x, choke float64) (Limit, bool) {
	w.x[1] = x
	if !w.fill() {
		return Target, false
	}
	limit, least := Target, math.Inf(1)
	for l := range Limit(boundCount) {
		if l == Choke && w.s.bounds[l] >= choke {
			continue
		}
		if upper(l) && w.s.bounds[l] < least {
			limit, least = l, w.s.bounds[l]
		}
	}
	creeps := w.s.bounds[Creep] < 0 && w.s.bounds[Restrictor] > 0
	return limit, least >= 0 || creeps
}

// closeIn solves for the limit that rules between two values of the outlet coordinate.
func (w *settler) closeIn(limit Limit, from, to, tolerance float64) bool {
	for _, l := range []Limit{limit, Creep} {
		w.x[1] = (from + to) / 2
		if !w.fill() {
			return false
		}
		w.known, w.active = false, l
		if !w.newton(tolerance) || w.x[1] < from-climbBracket || w.x[1] > to+climbBracket {
			continue
		}
		if l == Creep || w.holds() {
			return true
		}
	}
	return false
}

// accept takes the state that bisection has closed in on where Newton's method fails.
func (w *settler) accept(x float64, limit Limit) bool {
	const close = 1e-6
	if w.room(x, math.Inf(-1)); math.Abs(w.s.filling) > settleTolerance {
		return false
	}
	for _, l := range []Limit{Creep, limit} {
		if w.active = l; math.Abs(w.s.bounds[l]) < close && (l == Creep || w.holds()) {
			w.known = false
			return true
		}
	}
	return false
}

// holds reports whether every limit but the active one is kept.
func (w *settler) holds() bool {
	for l := range Limit(boundCount) {
		if l != w.active && !(w.s.bounds[l] > -1e-6) && !(l == Choke && w.along(l) >= 0) {
			return false
		}
	}
	return true
}

// fill finds the flow the cylinders take at the outlet coordinate x[1], by bracketed secant steps. Where they want more than a
// choked throat gives, it leaves the state at the onset of choke and marks the restrictor as exceeded.
func (w *settler) fill() bool {
	lo, hi := w.e.inletFor(1e-5), math.Log(20)
	if w.e.Restrictor != nil {
		hi = w.e.inletFor(math.Inf(1))
	}
	x := w.x[0]
	if !(x > lo && x < hi) {
		x = w.e.inletFor(0.5 * w.s.flow)
	}
	var lastX, lastF float64
	triedEnd := false
	for i := range 120 {
		w.x[0] = x
		w.evaluate()
		f := w.s.filling
		if math.Abs(f) < settleTolerance {
			return true
		}
		if x == hi && f > 0 {
			if w.e.Restrictor != nil {
				w.s.bounds[Restrictor] = -f
			}
			return w.e.Restrictor != nil
		}
		switch {
		case f > 0:
			lo = x
		case f < 0:
			hi = x
		default:
			return false
		}
		slope := -0.8
		if i > 0 {
			if s := (f - lastF) / (x - lastX); s < -0.02 && s > -20 {
				slope = s
			}
		}
		slow := i > 2 && math.Abs(f) > 0.5*math.Abs(lastF) // next to choke the slope vanishes and secants creep
		lastX, lastF = x, f
		switch x -= f / slope; {
		case x >= hi && !triedEnd && hi > lo:
			x, triedEnd = hi, true
		case !(x > lo && x < hi) || slow:
			x = (lo + hi) / 2
		}
	}
	return false
}
