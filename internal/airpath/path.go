package airpath

import "math"

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

// lost reports whether the present state is beyond what the parts are known for.
func (w *settler) lost() bool {
	s := &w.s
	return s.clamped || s.unheld() || w.e.Compressor != nil && (!s.shaftOK || s.shaft > farthestSpeed*w.e.topSpeed)
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
	stepTolerance = 1e-4 // of the exhaust temperature on the way up: 0.1 K
	tangent       = 0.1  // rise below which a dip between two places is looked into
	farthestOn    = 2.0  // steps by which a state is continued in a straight line
)

// look evaluates a place, from the state at another one. It reports whether the state there is one that the parts are known for.
func (v *Solver) look(x float64, from *step) (step, bool, error) {
	v.goTo(from)
	return v.lookHere(x)
}

// lookOn is look, from the states at two places on the same way.
func (v *Solver) lookOn(x float64, before, from *step) (step, bool, error) {
	v.goOn(x, before, from)
	return v.lookHere(x)
}

// goOn takes as the first guess a remembered state, continued in a straight line from one before it.
func (v *Solver) goOn(x float64, before, from *step) {
	v.goTo(from)
	on := (x - from.x) / (from.x - before.x)
	if !(math.Abs(on) < farthestOn) {
		return
	}
	v.t3 += on * (from.t3 - before.t3)
	v.ca50 = max(v.ca50+on*(from.ca50-before.ca50), v.e.Combustion.BestCA50)
	v.w.x[0] += on * (from.inlet - before.inlet)
	if v.e.Restrictor != nil {
		v.w.x[0] = min(v.w.x[0], highestInlet)
	}
}

func (v *Solver) lookHere(x float64) (step, bool, error) {
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
		now, known, err := v.lookOn(x, &before, &last)
		if err != nil || !known {
			return v.edge(last, x, sign, err)
		}
		if sign*now.rise <= 0 {
			return last, now, true, nil
		}
		through := max(v.nearest, v.w.s.bounds[Choke]) // this place
		gone := sign < 0 && now.rise < last.rise && v.gone(i)
		if last.x > from.x && !limits[last.by].relative && sign*last.rise < tangent && sign*last.rise <= sign*before.rise && last.rise*sign <= sign*now.rise {
			v.nearest = early
			if a, b, ok := v.dip(before, last, now, sign); ok {
				return a, b, true, nil
			}
		}
		if gone {
			return last, now, false, nil
		}
		early, v.nearest = nearest, through
		nearest = through
		before, last = last, now
	}
	return last, last, false, nil
}

// gone reports whether the boost falls from the present place to the end of the way, without looking further by cycles. The pressure is above
// what is asked for, and rises on; so only a wastegate that passes too little, or a spring that holds it shut, could let the boost rise again, and
// at the present exhaust temperature both leave more than enough all the way. The solver's state stays.
func (v *Solver) gone(i int) bool {
	const above, plenty = 0.03, 0.1
	enough := func() bool {
		gate, _ := v.w.s.gate()
		return v.w.s.bounds[Target] < -above && gate > plenty
	}
	if !enough() {
		return false
	}
	saved := *v
	defer func() { *v = saved }()
	v.t3 += retardHeat / -givenBack * (v.e.Combustion.LatestCA50 - v.ca50) // the exhaust is hotter further up, and with the latest burn
	v.warm()
	for i++; i < v.e.pathLength(); i++ {
		x := v.e.pathAt(i)
		v.w.x[0] = min(v.w.x[0]+v.e.inletSlope()*(boostLog(x)-boostLog(v.w.x[1])), highestInlet)
		v.w.x[1] = x
		if !v.w.fill(scanTolerance) {
			return false
		}
		if v.w.lost() {
			return true
		}
		if !enough() {
			return false
		}
	}
	return true
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
		// The rise is taken to bend one way on either side: then it lies above the chord of one side, continued beyond the other. Half as
		// much again leaves room for one that does not.
		const room = 1.5
		down := room * max((a.rise-b.rise)*sign/(b.x-a.x)*(c.x-b.x), (c.rise-b.rise)*sign/(c.x-b.x)*(b.x-a.x))
		if sign*b.rise > down {
			return a, b, false
		}
		left := b.x-a.x > c.x-b.x
		x := (b.x + c.x) / 2
		if left {
			x = (a.x + b.x) / 2
		}
		other := &c
		if left {
			other = &a
		}
		now, known, err := v.lookOn(x, other, &b)
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
