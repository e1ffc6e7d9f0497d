package airpath

import (
	"math"

	"bellmouth/internal/numeric"
)

// Near are solved points of the same engine and kind of demand at a lower and a higher speed, as a first guess for one between; nil: none. They
// change what a solution costs, and the solution by no more than it is known to.
type Near [2]*Point

// guess takes the straight line between two points as the first guess, where limits of the air path govern both: the same one, or two that the
// wastegate keeps at about the same boost. It reports whether it did.
func (v *Solver) guess(near Near) bool {
	a, b := near[0], near[1]
	if a == nil || b == nil || int(max(a.Limit, b.Limit)) >= boundCount || !(a.Speed < v.r.speed && v.r.speed < b.Speed) {
		return false
	}
	const alike = 0.1 // share of the manifold pressure
	if a.Limit != b.Limit && (limits[a.Limit].side != upper || limits[b.Limit].side != upper ||
		math.Abs(a.ManifoldPressure-b.ManifoldPressure) > alike*a.ManifoldPressure) {
		return false
	}
	share := (v.r.speed - a.Speed) / (b.Speed - a.Speed)
	between := func(a, b float64) float64 { return a + share*(b-a) }
	xa, ya := v.e.coordinates(a)
	xb, yb := v.e.coordinates(b)
	v.w.x = [2]float64{between(xa, xb), between(ya, yb)}
	if !(math.Abs(v.w.x[0]) < 100 && math.Abs(v.w.x[1]) < 100) {
		return false
	}
	v.t3 = between(a.TurbineInletTemperature, b.TurbineInletTemperature)
	v.w.t.expansion, v.w.t.tailpipe = max(between(a.ExpansionRatio, b.ExpansionRatio), 1), between(a.TailpipeTemperature, b.TailpipeTemperature)
	v.w.active, v.w.known = a.Limit, false
	ta, tb := v.e.tieOf(a), v.e.tieOf(b)
	v.tied = tie{between(ta.share, tb.share), between(ta.above, tb.above)}
	v.angles = angles{burn: between(a.BurnAngle, b.BurnAngle), delay: between(a.IgnitionDelay, b.IgnitionDelay)}
	if ca50 := between(a.CA50, b.CA50); ca50 > v.ca50 && min(a.CA50, b.CA50) > v.ca50 {
		v.toMode(retarding)
		v.ca50 = ca50
	}
	return true
}

// tieOf returns the tie of a point's residual gas.
func (e *Engine) tieOf(p *Point) tie {
	fresh := p.FuelPerCycle * (1 + p.AirFlow/p.FuelFlow)
	mass := fresh * p.ResidualFraction / (1 - p.ResidualFraction)
	return tie{mass * p.ResidualTemperature / p.TurbineInletPressure, p.ResidualTemperature - p.TurbineInletTemperature}
}

// coordinates returns the inlet and outlet coordinate of a point, see follow.
func (e *Engine) coordinates(p *Point) (inlet, outlet float64) {
	if inlet = numeric.Log(p.AirFlow); e.Restrictor != nil {
		inlet = numeric.Log(1 - p.CompressorInlet/p.InletPressure)
	}
	if outlet = numeric.Log(p.CompressorOutlet); e.Compressor != nil {
		outlet = numeric.Log(p.PressureRatio - 1)
	}
	return inlet, outlet
}
