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
	x      [2]float64 // ln flow, ln p2; when suction rules: ln suction, ln p2
	deep   bool       // the throat is choked and the unknown is how hard the engine pulls at it
	active Limit
	jac    [2 + boundCount][2]float64 // row 0: filling; row 1+l: limit l
	known  bool                       // jac holds something useful
	passes int
}

// Tolerances of the unknowns' equations, relative: far below the 1e-6 that the operating point is solved to.
const (
	settleTolerance = 1e-8
	differenceStep  = 1e-4
	largestStep     = 0.3
)

func (w *settler) evaluate() {
	w.passes++
	if w.deep {
		w.e.follow(&w.t, w.e.chokedFlow(), math.Exp(w.x[1]), math.Exp(w.x[0]), &w.s)
		return
	}
	w.e.follow(&w.t, math.Exp(w.x[0]), math.Exp(w.x[1]), 1, &w.s)
}

// chokedFlow returns the flow at which the restrictor chokes behind the filter, kg/s: m = M p0(m)/pa.
func (e *Engine) chokedFlow() float64 {
	// p0/pa = 1 − a m² with a = k T/pa², so m = M (1 − a m²).
	a := e.FilterLoss * e.Venue.Temperature / (e.Venue.Pressure * e.Venue.Pressure)
	m := e.choke.MaxFlow
	if a == 0 {
		return m
	}
	return (math.Sqrt(1+4*a*m*m) - 1) / (2 * a * m)
}

// start sets a first guess from the target.
func (w *settler) start() {
	e, t := w.e, &w.t
	w.deep, w.known = false, false
	w.active = Target
	pm := t.target
	if e.Compressor == nil {
		w.active = Atmosphere
		pm = min(pm, e.Venue.Pressure)
	}
	const guess = 320 // K in the manifold
	flow := t.r.ve * pm / (e.air.GasConstant() * guess) * e.displaced * t.r.speed / (4 * math.Pi)
	if e.Restrictor != nil {
		if most := e.chokedFlow(); flow > most {
			pm *= most / flow
			flow = most
			w.active = Restrictor
		}
	}
	w.x = [2]float64{math.Log(flow), math.Log(pm * 1.02)}
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
		if w.deep && w.x[0] > 0.5 {
			return false
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

// along returns how fast a limit's bound changes, per unit of ln p2, when the boost rises and the cylinders keep taking what
// the path gives.
func (w *settler) along(l Limit) float64 {
	return w.jac[1+l][1] - w.jac[1+l][0]*w.jac[0][1]/w.jac[0][0]
}

// upper reports whether a limit keeps the boost from being higher; creep alone keeps it from being lower.
func upper(l Limit) bool { return l != Creep }

// settle finds the state and which limit rules. It reports whether it did.
func (w *settler) settle(tolerance float64) bool {
	if w.settleBySets(tolerance) {
		return true
	}
	return w.climb(tolerance)
}

// settleBySets tries one limit after another: solve with one ruling, then hand over to the limit that is violated most.
func (w *settler) settleBySets(tolerance float64) bool {
	slack := max(tolerance, 1e-7)
	for range 8 {
		if !w.newton(tolerance) {
			return false
		}
		if w.deep {
			return w.deepHolds(slack)
		}
		if w.active != Creep && w.s.bounds[Creep] < -slack {
			// Wide open, the wastegate passes too little: the boost rises above what any wish allows. Only a choked throat
			// stops the flow, and then the engine pulls harder at it.
			if w.active == Restrictor {
				w.deep = true
				w.x[0] = -0.02
				w.known = false
			}
			w.active = Creep
			continue
		}
		if w.active == Creep {
			if w.s.bounds[Target] > slack {
				w.active = Target // the wastegate can hold it after all
				continue
			}
			if w.s.bounds[Restrictor] < -slack {
				w.active = Restrictor
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

// deepHolds reports whether a state with a choked throat and a wide-open wastegate is one: suction at most that of onset.
func (w *settler) deepHolds(slack float64) bool {
	if w.x[0] <= slack {
		return true
	}
	w.deep, w.known = false, false
	w.active = Restrictor
	return false
}

// Steps of the climb, in ln p2: the wide ones find the limit, the narrow bracket is where Newton's method is tried again.
const (
	climbStep    = 0.2
	climbBracket = 0.02
)

// climb raises the boost in steps from none until a limit stops it, as an engine does on its way up, and then closes in on
// that limit by bisection and Newton's method. It is slow and sure.
func (w *settler) climb(tolerance float64) bool {
	venue := w.e.Venue.Pressure
	most := venue
	if !math.IsInf(w.t.target, 1) {
		most = max(most, w.t.target)
	}
	from, top := math.Log(0.3*venue), math.Log(4*most)
	w.deep = false
	if _, ok := w.room(from); !ok {
		return false // no boost is low enough
	}
	for from < top {
		to := from + climbStep
		limit, ok := w.room(to)
		if ok {
			from = to
			continue
		}
		for {
			if to-from < climbBracket {
				if done := w.closeIn(limit, from, to, tolerance); done || to-from < 1e-9 {
					return done
				}
			}
			mid := (from + to) / 2
			if l, ok := w.room(mid); ok {
				from = mid
			} else {
				to, limit = mid, l
			}
		}
	}
	return false
}

// room reports whether there is room for more boost at the compressor outlet pressure of ln p2 = x, and else which limit
// leaves none. Where the wide-open wastegate passes too little the boost rises by itself, whatever is wished, unless the
// throat is choked.
func (w *settler) room(x float64) (Limit, bool) {
	w.x[1] = x
	if !w.fill() {
		return Target, false
	}
	limit, least := Target, math.Inf(1)
	for l := range Limit(boundCount) {
		if upper(l) && w.s.bounds[l] < least {
			limit, least = l, w.s.bounds[l]
		}
	}
	creeps := w.s.bounds[Creep] < 0 && w.s.bounds[Restrictor] > 0
	return limit, least >= 0 || creeps
}

// closeIn solves for the limit that rules between two values of ln p2.
func (w *settler) closeIn(limit Limit, from, to, tolerance float64) bool {
	for _, l := range []Limit{limit, Creep} {
		w.deep, w.known, w.active = false, false, l
		w.x[1] = (from + to) / 2
		if !w.newton(tolerance) || w.x[1] < from-climbBracket || w.x[1] > to+climbBracket {
			continue
		}
		switch {
		case l == Creep:
			return w.s.bounds[Restrictor] > -1e-7 // found, or else the throat chokes first
		case w.s.bounds[Creep] > -1e-7:
			return true
		case l == Restrictor:
			w.deep, w.known, w.active = true, false, Creep
			w.x[0] = -0.02
			return w.newton(tolerance) && w.deepHolds(1e-7)
		}
	}
	return false
}

// fill finds the flow the cylinders take at the compressor outlet pressure of x[1], by bracketed secant steps.
func (w *settler) fill() bool {
	lo, hi := math.Log(1e-5), math.Log(20)
	x := min(max(w.x[0], lo), hi)
	var lastX, lastF float64
	for i := range 80 {
		w.x[0] = x
		w.evaluate()
		f := w.s.filling
		if math.Abs(f) < settleTolerance {
			return true
		}
		switch {
		case f > 0:
			lo = x
		case f < 0:
			hi = x
		default:
			return false
		}
		slope := -1.1
		if i > 0 {
			if s := (f - lastF) / (x - lastX); s < -0.3 && s > -20 {
				slope = s
			}
		}
		lastX, lastF = x, f
		if x -= f / slope; !(x > lo && x < hi) {
			x = (lo + hi) / 2
		}
	}
	return false
}
