package airpath

import (
	"math"

	"bellmouth/internal/numeric"
)

// survey looks along the way up at exhaust temperatures between that of the present state and one of hardly any boost. sure says
// that the boost rises all the way up to the present state and falls beyond, by more than the temperatures can be wrong; more,
// that it may rise again further up. The solver's state stays.
func (v *Solver) survey(target float64) (sure, more bool) {
	saved := *v
	v.doubtful, v.risen = 0, 0
	sure, more = v.lookAlong(target)
	doubtful, risen := v.doubtful, v.risen
	nearest := v.nearest
	*v = saved
	v.nearest, v.doubtful, v.risen = nearest, doubtful, risen
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
		gate, _ := v.w.s.gate()
		if limits[by].cold && !v.w.t.throttled {
			return rise, rise > clear && bounds[Spool] > clear+doubt && bounds[Actuator] > clear+doubt, rise < -clear && gate > clear+doubt, true
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
		if v.w.s.bounds[Choke] > chokeScatter { // the map's choke end is left behind: the relative limits no longer count from there
			v.risen = i + 1
		}
		for skip := rise; v.w.s.bounds[Choke] > chokeScatter && skip > far && skip > rise-2.5*far && i+1 < v.e.pathLength() && v.e.pathAt(i+1) < x-close; skip -= far {
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
		if gate, _ := v.w.s.gate(); rise < -far || v.w.s.bounds[Spool] < -far || gate > far {
			i++ // far from rising, or a wastegate that has much to spare
		}
	}
	return sure, false
}

// chokeRoom returns a bound of the relative limits as the way up so far leaves it.
func (v *Solver) chokeRoom(bound float64) float64 {
	return bound - min(max(v.nearest, bound)-chokeScatter, 0)
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
//
// Beyond the present state both lines are continued, and may be wrong by as much as they are continued by: the straight line of T3, held from
// s = 1.3, by what it would have gone on, and the fall of the room by as much again.
func (c *course) at(x float64) (t3, doubt float64) {
	up := numeric.Exp(x)
	s := max((up-numeric.Exp(c.lowX))/c.span, 0)
	t3 = c.low + (c.high-c.low)*min(s, 1.3)
	doubt = c.spread*min(1, 4*math.Abs(s*(1-s))) + math.Abs(c.high-c.low)*max(s-1.3, 0)/c.high
	if c.more > 0 {
		share := (numeric.Log1p(up) - c.lowRatio) / c.more
		room := c.lowRoom + (c.highRoom-c.lowRoom)*share
		heat := c.retardHeat(room)
		t3 += heat
		doubt += c.bend * min(1, 4*math.Abs(s*(1-s)))
		if further := c.highRoom - room; share > 1 && further > 0 {
			doubt += (c.retardHeat(room-further) - heat) / c.high
		}
	}
	return t3, doubt
}

// retardHeat returns what the retard that a room at best phasing asks for adds to the exhaust temperature, K.
func (c *course) retardHeat(room float64) float64 {
	return c.perRadian * min(max(-room/c.slope, 0), c.latest)
}

// course returns the course to the present state. It runs one cycle, and leaves the solver at the low state.
func (v *Solver) course() (c course, ok bool) {
	const low = -2.3 // ln(PR − 1)
	x, t3 := v.w.x[1], v.t3
	c = course{lowX: low, span: numeric.Exp(x) - numeric.Exp(low), low: t3, high: t3, spread: 0.02}
	if x < low+0.5 {
		c.span = max(c.span, 0.01)
		return c, true
	}
	slope, perRadian := retardKnock, float64(retardHeat)
	if v.mode == retarding {
		if peak := v.peakRoom() < v.knockRoom(); peak {
			slope = retardPeak
		}
		if a := v.jac[rowT3][1]; a > 100 && a < 600 {
			perRadian = a
		}
	}
	retard, room := v.ca50-v.e.Combustion.BestCA50, min(v.knockRoom(), v.peakRoom())
	c.perRadian, c.slope, c.latest = perRadian/-givenBack, slope, v.e.Combustion.LatestCA50-v.e.Combustion.BestCA50
	c.high = t3 - c.perRadian*retard
	v.ca50, v.t3 = v.e.Combustion.BestCA50, c.high
	v.warm()
	if v.w.x[1] = low; !v.w.fill(scanTolerance) || v.runCycle() != nil {
		return c, false
	}
	c.low = v.t3 + (v.turn.t3-v.t3)/-givenBack
	c.lowRoom, c.highRoom = min(v.knockRoom(), v.peakRoom()), min(room, 0)-slope*retard
	if retard == 0 {
		c.highRoom = room
	}
	c.lowRatio = numeric.Log1p(numeric.Exp(low))
	c.more = numeric.Log1p(numeric.Exp(x)) - c.lowRatio
	c.spread = 0.75*math.Abs(c.high-c.low)/c.high + 0.003
	c.bend = 0.25 * c.perRadian * retard / c.high
	return c, true
}

// boostLog is ln of the pressure ratio at an outlet coordinate. The flow goes nearly with it: inletSlope is how far the inlet coordinate follows,
// where it is the flow's logarithm and where it is that of the pressure lost in the throat.
func boostLog(x float64) float64 { return numeric.Log1p(numeric.Exp(x)) }

func (e *Engine) inletSlope() float64 {
	switch {
	case e.Compressor == nil:
		return 0
	case e.Restrictor == nil:
		return 0.85
	}
	return 1.7
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
