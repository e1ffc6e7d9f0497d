package airpath

import (
	"math"

	"bellmouth/internal/geometry"
	"bellmouth/internal/numeric"
)

// How the gaps move with the exhaust temperature and with a later burn, before the solver knows better. They are those of a boosted
// four-valve cylinder near its knock limit and only save a step or two.
const (
	givenBack   = -0.95 // of the exhaust temperature's gap, over the temperature
	retardHeat  = 280   // of the same, K/rad
	retardKnock = 5.2   // of ln knock integral, 1/rad
	retardPeak  = 1.2   // of ln peak pressure, 1/rad
)

var retardSlopes = [3][2]float64{{givenBack, retardHeat}, {0, retardKnock}, {0, retardPeak}}

// A phasing is how knock and cylinder pressure are kept within their limits.
type phasing int

const (
	atBest     phasing = iota // best-torque phasing; the limits are kept
	retarding                 // phasing later until they are kept
	cutting                   // latest phasing accepted, boost down until they are kept
	unhelpable                // neither helps: they are not kept
)

// gaps are what the outer iteration brings to nothing: the exhaust temperature of the cycle less the trial, K, and the logarithms
// of limit over value for knock and peak pressure. move is a step of its unknowns, the exhaust temperature, K, and that of the
// mode: the phasing, rad, or the logarithm of the boost.
type (
	gaps [3]float64
	move [2]float64
)

// Rows of the outer Jacobian.
const (
	rowT3 = iota
	rowKnock
	rowPeak
)

// Bounds of one step, so that a poor Jacobian does no harm.
const (
	largestHeat   = 300.0 // K
	largestRetard = 0.15  // rad
	largestCut    = 0.15  // of ln boost
)

// hopeless is the number of cycles after which retarding is given up where the wastegate is wide open or shut: the hotter
// exhaust of a later burn raises the boost there, and what retarding takes off the knock, the boost puts on again.
const hopeless = 16

// knockRoom returns the logarithm of the accepted knock integral over the present one; negative when it knocks.
func (v *Solver) knockRoom() float64 {
	return numeric.Log(v.e.Combustion.KnockLimit / v.res.KnockIntegral)
}

// peakRoom returns the logarithm of the accepted peak pressure over the present one; +Inf without a limit.
func (v *Solver) peakRoom() float64 {
	if v.e.Limits.PeakPressure == 0 {
		return math.Inf(1)
	}
	return numeric.Log(v.e.Limits.PeakPressure / v.res.PeakPressure)
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
	return numeric.Log(limit / geometry.Torque(bmep, v.e.displaced))
}

// toMode changes the mode, with first guesses of how the figures move, per radian of phasing or per unit of ln boost.
func (v *Solver) toMode(m phasing) {
	v.mode = m
	switch m {
	case retarding:
		v.cap = math.Inf(1)
		known := v.jac[rowT3][0]
		v.jac = retardSlopes
		v.jac[rowT3][0] = known
	case cutting:
		v.jac = [3][2]float64{{v.jac[rowT3][0], 20}, {0, -3.5}, {0, -0.9}}
	case unhelpable:
		v.cap = math.Inf(1)
	}
}

// broyden updates the outer Jacobian so that it explains the last step.
func (v *Solver) broyden(d move, last, now *gaps) {
	// Kelvin and radians or ln boost differ in size; weigh them by how far each typically moves.
	const kelvin, other = 1e-2, 10
	w := move{d[0] * kelvin * kelvin, d[1] * other * other}
	square := d[0]*w[0] + d[1]*w[1]
	if !(square > 1e-16) {
		return
	}
	for row := range v.jac {
		change := now[row] - last[row]
		miss := (change - v.jac[row][0]*d[0] - v.jac[row][1]*d[1]) / square
		if math.Abs(miss) < math.Inf(1) {
			v.jac[row][0] += miss * w[0]
			v.jac[row][1] += miss * w[1]
		}
	}
}

// limitsSettled reports whether knock and peak pressure are where the mode wants them.
func (v *Solver) limitsSettled(now gaps) bool {
	least := min(now[rowKnock], now[rowPeak])
	switch v.mode {
	case atBest:
		return least >= -limitTolerance
	case retarding:
		return math.Abs(least) <= limitTolerance
	case cutting:
		return math.Abs(least) <= limitTolerance && v.w.active == Target
	}
	return true
}

// step moves the outer unknowns: the exhaust temperature and, when a limit asks for it, the phasing or the boost. It returns
// how far.
func (v *Solver) step(target float64, now *gaps) move {
	v.jac[rowT3][0] = min(max(v.jac[rowT3][0], -1.6), -0.4) // the exhaust temperature answers weakly to itself
	least := min(now[rowKnock], now[rowPeak])
	v.chooseMode(now, least)
	switch v.mode {
	case retarding:
		return v.stepT3(now, v.retard(now, least))
	case cutting:
		return v.stepT3(now, v.cut(target, now, least))
	}
	return v.stepT3(now, 0)
}

// chooseMode leaves a mode that has no say in what the air path has settled on.
func (v *Solver) chooseMode(now *gaps, least float64) {
	const near = 80 // K: the knock integral of a trial further off says little
	switch active := v.w.active; {
	case v.mode == atBest && least < -limitTolerance && math.Abs(now[rowT3]) < near:
		v.toMode(retarding)
	case v.mode == retarding && v.cycles > hopeless && limits[active].side == lower:
		v.ca50 = v.e.Combustion.LatestCA50
		v.toMode(unhelpable)
	case v.mode == retarding && v.cycles > hopeless && active == Spool:
		v.ca50 = v.e.Combustion.LatestCA50
		v.toMode(cutting)
		v.cap = v.w.s.pm * 0.98
	case v.mode == cutting && limits[active].side == lower:
		v.toMode(unhelpable)
	case v.mode == cutting && active != Target && least > 0:
		v.toMode(retarding)
	case v.mode == cutting && active != Target:
		v.cap = v.w.s.pm // another limit holds the boost lower than the cut: go on from there
	}
}

// wanted returns the move of the mode's unknown that both limits ask for, the exhaust temperature moving along.
func (v *Solver) wanted(now *gaps) float64 {
	need := func(row int) float64 {
		a, b := v.jac[rowT3], v.jac[row]
		return -(now[row] - now[rowT3]*b[0]/a[0]) / (b[1] - a[1]*b[0]/a[0])
	}
	d := need(rowKnock)
	if !math.IsInf(now[rowPeak], 1) {
		if v.mode == retarding {
			d = max(d, need(rowPeak))
		} else {
			d = min(d, need(rowPeak))
		}
	}
	return d
}

// retard moves the phasing, and returns by how much.
func (v *Solver) retard(now *gaps, least float64) float64 {
	best, latest := v.e.Combustion.BestCA50, v.e.Combustion.LatestCA50
	d := min(max(v.wanted(now), -largestRetard), largestRetard)
	if !(math.Abs(d) < 1) || (d < 0 && least < -limitTolerance && v.ca50+d <= best && v.w.active != Creep) {
		v.toMode(retarding) // the Jacobian is of no use: a step in the right direction by the first guess
		d = min(-least/v.jac[rowKnock][1], largestRetard)
	}
	switch from := v.ca50; {
	case d < 0 && least < -limitTolerance && from+d <= best:
		// Later burning makes the exhaust hotter, and with the wastegate wide open that raises the boost: it does not help.
		v.ca50 = best
		v.toMode(unhelpable)
		return best - from
	case from+d >= latest && from == latest && (v.e.Compressor == nil || limits[v.w.active].side == lower):
		v.toMode(unhelpable)
		return 0
	case from+d >= latest && from == latest:
		v.toMode(cutting)
		v.cap = v.w.s.pm * numeric.Exp(max(least/3.5, -largestCut))
		return 0
	case from+d >= latest:
		v.ca50 = latest
		return latest - from
	case from+d <= best:
		v.ca50 = best
		v.toMode(atBest)
		return best - from
	}
	v.ca50 += d
	return d
}

// cut moves the boost, and returns by how much.
func (v *Solver) cut(target float64, now *gaps, least float64) float64 {
	d := min(max(v.wanted(now), -largestCut), largestCut)
	if !(math.Abs(d) < 1) {
		v.toMode(cutting) // the Jacobian is of no use: a step in the right direction
		d = least / 4
	}
	if v.cap*numeric.Exp(d) >= target {
		v.toMode(retarding) // no cut is needed after all
		return 0
	}
	v.cap *= numeric.Exp(d)
	return d
}

// stepT3 moves the exhaust temperature as the first row asks, given the move of the other unknown.
func (v *Solver) stepT3(now *gaps, other float64) move {
	a := v.jac[rowT3]
	d := min(max(-(now[rowT3]+a[1]*other)/a[0], -largestHeat), largestHeat)
	v.t3 += d
	return move{d, other}
}
