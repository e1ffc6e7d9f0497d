package cycle

import (
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/numeric"
)

// A Release is what becomes of the gas from exhaust valve opening to top dead centre: it blows down into the exhaust and the piston
// pushes out the rest.
type Release struct {
	Expansion   float64 // work on the piston from exhaust opening to bottom dead centre, J
	PushOut     float64 // work of the piston on the gas from bottom to top dead centre, J
	Heat        float64 // to the walls, J
	Mass        float64 // left in the clearance volume at top dead centre, kg
	Pressure    float64 // there, Pa
	Temperature float64 // there, K
}

// An outNode is a crank angle of the grid from exhaust opening to top dead centre, with the middle and the end of the step that leads to it.
type outNode struct {
	step        float64 // rad
	theta       float64 // at its end, rad after firing top dead centre
	volume      float64 // m³
	rise        float64 // of ln V over the step
	midRise     float64 // and over its first half
	area, mid   float64 // effective area of the exhaust valves over the volume at the end and in the middle of the step, 1/m
	wall        float64 // area of the walls at its start, m²
	startVolume float64 // m³
}

// Crank step from exhaust opening on, rad: what is left of the step in the work of gas exchange lies below 0.2 % of it.
const outStep = 6 * math.Pi / 180

// addRelease makes the grid from exhaust opening to top dead centre.
func (m *Model) addRelease(v geometry.Valves, divisor float64) {
	add := func(from, to float64) int {
		count := int(math.Ceil((to-from)/(outStep/divisor) - 1e-9))
		h := (to - from) / float64(count)
		for i := range count {
			m.release = append(m.release, m.outNodeAt(v, from+h*float64(i), h))
		}
		return count
	}
	m.toBottom = add(v.ExhaustOpeningAngle(), math.Pi)
	add(math.Pi, 2*math.Pi)
}

func (m *Model) outNodeAt(v geometry.Valves, theta, step float64) outNode {
	before, mid, after := m.cylinder.Volume(theta), m.cylinder.Volume(theta+step/2), m.cylinder.Volume(theta+step)
	return outNode{
		step: step, theta: theta + step, volume: after, startVolume: before, rise: numeric.Log(after / before), midRise: numeric.Log(mid / before),
		area: v.ExhaustFlowArea(theta+step) / after, mid: v.ExhaustFlowArea(theta+step/2) / mid,
		wall: m.cylinder.WallArea(theta, chamberArea),
	}
}

// An outflow is the flow through the valve for one gas.
type outflow struct {
	kappa, root float64 // (γ−1)/γ, √(2/κ)
	critical    float64 // −ln of the critical pressure ratio
	choked      float64 // ψ there
}

func outflowOf(gamma float64) outflow {
	o := outflow{kappa: (gamma - 1) / gamma}
	o.root = math.Sqrt(2 / o.kappa)
	o.critical = numeric.Log((gamma+1)/2) / o.kappa
	o.choked = gas.ChokedFlowFunction(gamma)
	return o
}

// overRoot returns the flow function ψ = ṁ √(R T)/(A p) over √|u|, where u = ln p/p3 is what drives the flow. The quotient has no corner where
// the pressures on both sides of the valve are equal. Behind it (u < 0) the exhaust flows back, for which the gas is taken to be the cylinder's own.
//
//	ψ = r^(1−κ) √(2/κ (1 − r^κ)),  r = p3/p, κ = (γ−1)/γ; constant where choked; backwards ψ(p/p3) p3/p
//
// Source: de Saint-Venant and Wantzel, as in NACA Report 1135 (1953).
func (o *outflow) overRoot(u float64) float64 {
	if u > o.critical {
		return o.choked / math.Sqrt(u)
	}
	k := o.kappa * math.Abs(u)
	// (1 − e^−k)/k without cancelling where k is small.
	share := 1 - k/2*(1-k/3*(1-k/4))
	a := numeric.Exp(-k)
	if k > 0.02 {
		share = (1 - a) / k
	}
	psi := math.Sqrt(2 * share)
	if u > 0 {
		return psi * numeric.Exp(u*(o.kappa-1))
	}
	return psi / a // the flow of the exhaust's pressure, over the cylinder's
}

// implicit returns u at the end of a step that starts from c once everything but the flow has acted, the flow b √|u| being that of the end: the
// root of u + b √|u| sgn u = c.
func implicit(c, b float64) float64 {
	s := 2 * c / (b + math.Sqrt(b*b+4*math.Abs(c)))
	return s * math.Abs(s)
}

// Release follows the gas from the end of a cycle to top dead centre, against the pressure behind the exhaust valve, Pa. It allocates nothing.
//
//	d ln p/dθ = −γ (A √(R T) ψ/(ω V) + d ln V/dθ + q'),  d ln T = κ d ln p − q' dθ,  q' = κ h Aw (T − Tw)/(ω p V)
//
// The gas that leaves is the cylinder's, its heat capacity one value. h is Woschni's for gas exchange, w = 6.18 Up. Work and heat are sums over
// the path and the rest of the energy is what left: it is conserved whatever the step. Source: energy and mass of an open system, Heywood (1988),
// §14.2; Woschni, SAE 670931 (1967).
//
// Method: implicit Euler steps in u = ln p/p3, for which the root of the flow law is solved in closed form, extrapolated from a whole and two half
// steps to second order. It follows the pressure without swinging also where it lies next to the exhaust's.
func (m *Model) Release(in *Input, res *Result, back float64, out *Release) error {
	return m.letGo(in, res, back, out, nil)
}

// ReleaseTold is Release that tells the pressure, Pa, at every crank angle of its grid, rad after firing top dead centre, behind exhaust opening.
func (m *Model) ReleaseTold(in *Input, res *Result, back float64, out *Release, tell func(theta, pressure float64)) error {
	return m.letGo(in, res, back, out, tell)
}

func (m *Model) letGo(in *Input, res *Result, back float64, out *Release, tell func(theta, pressure float64)) error {
	mix := in.mixture(res.BurnedEnd)
	r := mix.GasConstant()
	cp := mix.Cp(0.85 * res.TemperatureEnd) // between the gas at opening and what is pushed out
	gamma := cp / (cp - r)
	o := outflowOf(gamma)
	film := m.htcFactor / in.Speed * numeric.Exp(0.8*numeric.Log(6.18e-3*m.cylinder.MeanPistonSpeed(in.Speed)))
	p, t := res.PressureEnd, res.TemperatureEnd
	u, lnT, lnBack := numeric.Log(p/back), numeric.Log(t), numeric.Log(back)
	*out = Release{}
	heat, work := 0.0, 0.0
	lastLoss, lastStep := 0.0, 0.0
	for i := range m.release {
		n := &m.release[i]
		loss := film * n.wall * numeric.Exp(0.8*(u+lnBack)-0.55*lnT) * (t - m.wall) // J/rad
		q := loss * o.kappa / (p * n.startVolume) * n.step
		flow := gamma * math.Sqrt(r*t) / in.Speed * n.step
		drive := o.overRoot(u)
		whole := implicit(u-gamma*(n.rise+q), flow*n.area*drive)
		half := implicit(u-gamma*(n.midRise+q/2), flow/2*n.mid*drive)
		flow *= 1 + o.kappa/2*(half-u)
		twice := implicit(half-gamma*(n.rise-n.midRise+q/2), flow/2*n.area*o.overRoot(half))
		d := 2*twice - whole - u
		u += d
		lnT += o.kappa*d - q
		before := p
		p, t = numeric.Exp(u+lnBack), numeric.Exp(lnT)
		work += (before + p) / 2 * (n.volume - n.startVolume)
		if tell != nil {
			tell(n.theta, p)
		}
		if i > 0 {
			heat += (lastLoss + loss) / 2 * lastStep
		}
		lastLoss, lastStep = loss, n.step
		if i+1 == m.toBottom {
			out.Expansion, work = work, 0
		}
	}
	heat += lastLoss * lastStep // at the top the gas cools no more than at the step's start, next to it
	out.PushOut, out.Heat = -work, heat
	out.Pressure, out.Temperature = p, t
	out.Mass = p * m.release[len(m.release)-1].volume / (r * t)
	if !(p > 0 && t > 200 && t < 6000 && out.Mass < in.Mass) {
		return ErrState
	}
	return nil
}
