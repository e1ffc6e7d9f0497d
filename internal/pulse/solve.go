package pulse

import (
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
	"bellmouth/internal/turbine"
)

const (
	// defaultTolerance bounds the change of the state over an interval, relative: far below what the model is good for, and below
	// what a difference of two solutions would show.
	defaultTolerance = 1e-7
	// gatherFrom is the change below which sums are taken: the next interval may be the last.
	gatherFrom = 1e-3
	// Where gas starts to flow back into a cylinder just at a step's end, a step more or less of it can be without end. After so many
	// intervals such a state is taken with what change is left, which Result.Residual tells.
	patience      = 30
	lastTolerance = 1e-3
	mostPasses    = 60
)

// Regularisation of the flow next to no pressure difference, in terms of y = 1 − (p/p0)^k squared; see nozzle. The valve's is
// 0.3 % of the pressure, the turbine's 0.04 %.
const (
	valveSmooth  = 7e-4 * 7e-4
	outletSmooth = 1e-4 * 1e-4
)

// A gasState is the gas in a volume.
type gasState struct{ p, m float64 } // Pa, kg

// A run is one State being solved.
type run struct {
	model                     *Model
	dt                        float64 // s
	gamma, k, r, cp           float64
	perGamma, inverse         float64 // 1/γ, 1/(γ−1)
	scale                     float64 // √(2/k)
	rise                      float64 // 1 + k/2: p √T along an isentrope goes with this power of p
	choke                     float64 // pressure ratio at choke
	chokedValve, chokedOutlet float64
	flux                      float64 // cp/√R
	opening                   gasState
	area, p4                  float64
}

// nozzle returns the flow function ψ for the pressure ratio r = p/p0 ≤ 1, and r times its slope over the ratio.
//
//	ψ = √(2/k) r^(1/γ) y/(y² + ε²)^¼,  y = 1 − r^k,  k = (γ−1)/γ
//	r dψ/dr = ψ/γ − √(2/k) k r (1 − y²/(2 (y² + ε²)))/(y² + ε²)^¼
//
// It is gas.FlowFunction but for ε, which takes the place of the infinite slope at r = 1.
func (c *run) nozzle(r, smooth, choked float64) (psi, slope float64) {
	if r <= c.choke {
		return choked, 0
	}
	q := numeric.Exp(c.k * numeric.Log(r))
	y := 1 - q
	root := 1 / math.Sqrt(math.Sqrt(y*y+smooth)) // (y² + ε²)^−¼
	fourth := root * root
	fourth *= fourth
	lift := c.scale * r * root
	psi = lift * y / q
	return psi, psi*c.perGamma - lift*c.k*(1-0.5*y*y*fourth)
}

// energy returns the energy flow from one volume to another, W, and its slopes over the pressures up and down along isentropes.
//
//	H = cp T m = (cp/√R) A p √T ψ(p'/p)
func (c *run) energy(area, up, t, down, smooth, choked float64) (h, dup, ddown float64) {
	g := c.flux * area * up * math.Sqrt(t)
	psi, slope := c.nozzle(down/up, smooth, choked)
	return g * psi, g / up * (psi*c.rise - slope), g * slope / down
}

// fit returns the weight θ of the step's end in its mean, for a difference that decays at z per step.
//
//	θ = ½ + ½ (3x + x²)/(9 + 3x + x²),  x = z/2
//
// The exact weight, with which a linear decay is met at any z, is ½ + ½ (coth x − 1/x); this is within 0.02 of it. θ runs from the
// trapezium rule, of second order, to the implicit end, which does not ring. Source: Liniger and Willoughby, SIAM J. Numer. Anal. 7
// (1970), exponential fitting; the approximation is ours.
func fit(z float64) float64 {
	x := z / 2
	u := x * (3 + x)
	return 0.5 + 0.5*u/(9+u)
}

// A Start is the state at the start of a firing interval: the manifold, then the cylinders that opened in earlier intervals, the
// latest first. The zero Start is none.
type Start struct {
	manifold  gasState
	cylinders [mostSlots]gasState // [0] is not used: it has just opened
	slots     int
}

// sums are what one interval adds up to.
type sums struct {
	account         Account
	pressure        float64 // ∫p dt, Pa s
	square          float64 // ∫p² dt
	temperature     float64 // ∫T dt, K s
	time            float64
	work            float64 // that the turbine would take if all of the flow passed it, J
	ideal           float64 // isentropic work of the flow, J
	peak, lowest    float64
	mass, energyOut float64
}

// Solve returns the periodic state. from may be nil; else it is the first guess, unless it is of another kind of model or zero, and
// holds the solution afterwards, which saves an interval or two where the next State is near. It returns ErrState when the state is out of range and a *ConvergenceError when there is no
// periodic state. It allocates nothing on success.
//
// Method: all cylinders do the same, one firing interval apart, so one interval of the entry is the cycle: what a cylinder is at
// its end the cylinder before it is at its start. A step is linearly implicit in the pressures, its weights fitted to the decay of
// each (see fit); mass and energy are exchanged as what leaves one volume and enters the other, so that they are conserved to
// rounding whatever the step. The start of the interval is found by Anderson's method of depth 3.
func (m *Model) Solve(s *State, from *Start) (Result, error) {
	if err := s.check(); err != nil {
		return Result{}, err
	}
	c := m.newRun(s)
	var x Start
	if from != nil && from.slots == m.slots {
		x = *from
	} else {
		x = c.guess(s)
	}
	var mix anderson
	var total sums
	last := math.Inf(1)
	for pass := 1; pass <= mostPasses; pass++ {
		accept := m.tolerance
		if pass > patience {
			accept = max(accept, lastTolerance)
		}
		gather := last < max(gatherFrom, accept)
		next := x
		if gather {
			total = sums{lowest: math.Inf(1)}
			c.interval(&next, s, &total)
		} else {
			c.interval(&next, s, nil)
		}
		residual := mix.advance(m.slots, &x, &next)
		if !(residual < math.Inf(1)) {
			return Result{}, &ConvergenceError{residual, pass}
		}
		// A large manifold holds many times what passes: what it gains or loses counts by that.
		if gather && residual*max(1, next.manifold.m/c.opening.m) < accept {
			if from != nil {
				*from = next
			}
			r, err := c.result(s, &total)
			r.Passes, r.Residual = pass, residual
			return r, err
		}
		last = residual
	}
	return Result{}, &ConvergenceError{last, mostPasses}
}

func (m *Model) newRun(s *State) run {
	g := s.Gamma
	c := run{
		model: m, dt: m.step / s.Speed, gamma: g, k: (g - 1) / g, r: s.GasConstant, cp: g / (g - 1) * s.GasConstant,
		perGamma: 1 / g, inverse: 1 / (g - 1), area: s.TurbineArea + s.WastegateArea, p4: s.OutletPressure,
	}
	c.scale = math.Sqrt(2 / c.k)
	c.rise = 1 + c.k/2
	critical := gas.CriticalRatio(g)
	c.chokedValve, _ = c.nozzle(critical, valveSmooth, 0)
	c.chokedOutlet, _ = c.nozzle(critical, outletSmooth, 0)
	c.choke = critical
	c.flux = c.cp / math.Sqrt(c.r)
	c.opening = gasState{s.Pressure, s.Pressure * m.opening / (c.r * s.Temperature)}
	return c
}

// guess returns a first state: the manifold at the pressure at which all that a cylinder holds would leave in an interval, the
// cylinders expanded to it.
func (c *run) guess(s *State) Start {
	m := c.model
	flow := 0.9 * c.opening.m / (c.dt * float64(m.steps))
	hot := s.Temperature
	p := c.p4
	var t float64
	for range 3 {
		t = max(hot*(1+(c.gamma-1)*min(p/s.Pressure, 1))/c.gamma*(0.2+0.8*m.keep), 300)
		psi := flow * math.Sqrt(c.r*t) / (c.area * c.p4)
		q := c.k / 2 * psi * psi
		p = c.p4 * min(math.Pow((1+math.Sqrt(1+4*q))/2, 1/c.k), 1+psi/c.chokedOutlet)
	}
	x := Start{slots: m.slots}
	x.manifold = gasState{p, p * m.volume / (c.r * t)}
	for i := 1; i < m.slots; i++ {
		hot := s.Temperature * numeric.Exp(c.k*numeric.Log(p/s.Pressure))
		x.cylinders[i] = gasState{p, p * m.cylinder[i*m.steps] / (c.r * hot)}
	}
	return x
}

// A link is one open valve during a step.
type link struct {
	a, g, b   float64 // a δ + g δm = b of its cylinder's pressure
	hc, hm, h float64 // energy in the step: h + hc δ + hm δm, J
	keep      float64 // of the energy that reaches the manifold
	forth     bool
}

// interval carries the state over one firing interval. With total it adds up what passed.
func (c *run) interval(x *Start, s *State, total *sums) {
	m := c.model
	man := x.manifold
	cyl := x.cylinders
	cyl[0] = c.opening
	var links [mostSlots]link
	store := m.volume * c.inverse // manifold energy over its pressure
	perStore := 1 / store
	lost := 1 - m.keep // share of the sensible enthalpy
	toT := m.volume / c.r
	perHeat := 1 / (c.gamma * c.inverse)
	t := man.p * toT / man.m
	for i := range m.steps {
		// The outlet first: it has the manifold's weight.
		var h, dm float64
		if man.p >= c.p4 {
			h, dm, _ = c.energy(c.area, man.p, t, c.p4, outletSmooth, c.chokedOutlet)
		} else {
			h, _, dm = c.energy(c.area, c.p4, t, man.p, outletSmooth, c.chokedOutlet)
			h, dm = -h, -dm
		}
		theta := fit(c.dt * dm * perStore)
		left, right := store+c.dt*theta*dm, -c.dt*h
		out, outSlope := c.dt*h, c.dt*theta*dm
		open := 0
		for j := i; j < len(m.area); j += m.steps {
			l := &links[open]
			g := &cyl[open]
			v0, v1 := m.cylinder[j], m.cylinder[j+1]
			hot := g.p * v0 / (c.r * g.m)
			var h, dc, dm float64
			if l.forth = g.p >= man.p; l.forth {
				h, dc, dm = c.energy(m.area[j], g.p, hot, man.p, valveSmooth, c.chokedValve)
				l.keep = 1 - lost*(1-cold/hot)
			} else {
				h, dm, dc = c.energy(m.area[j], man.p, t, g.p, valveSmooth, c.chokedValve)
				h, dm, dc = -h, -dm, -dc
				l.keep = 1
			}
			theta := fit(c.dt * (dc/(v0*c.inverse) - l.keep*dm*perStore))
			l.h, l.hc, l.hm = c.dt*h, c.dt*theta*dc, c.dt*theta*dm
			l.a = v1*c.inverse + (v1-v0)/2 + l.hc
			l.g = l.hm
			l.b = -l.h - g.p*(v1-v0)*c.gamma*c.inverse
			share := l.keep * l.hc / l.a
			left += share*l.g - l.keep*l.hm
			right += l.keep*l.h + share*l.b
			open++
		}
		d := right / left
		p0 := man.p
		man.p += d
		// What leaves the manifold: through the outlet, and back into cylinders.
		out += outSlope * d
		outward := math.Max(out, 0)
		inMass := 0.0
		if out < 0 { // gas from behind the turbine comes in as hot as the manifold
			inMass = -out / (c.cp * t)
		}
		for n := range open {
			l, g := &links[n], &cyl[n]
			j := i + n*m.steps
			v0, v1 := m.cylinder[j], m.cylinder[j+1]
			delta := (l.b - l.g*d) / l.a
			q := l.h + l.hc*delta + l.hm*d
			work := -(g.p + delta/2) * (v1 - v0)
			p1 := g.p + delta
			l.h = q // now what passed
			if l.forth {
				before := q * perHeat / (g.p * v0)
				after := q * perHeat / (p1 * v1)
				th := fit(math.Abs(before))
				mass := g.m * (1 - (1-th)*before) / (1 + th*after)
				gone := g.m - mass
				inMass += gone
				g.m = mass
				if total != nil {
					total.account.ValveMass += gone
				}
			} else if q < 0 {
				outward -= q
			} else { // hardly anything, and from the linearisation alone
				inMass += q / (c.cp * t)
				g.m -= q / (c.cp * t)
				if total != nil {
					total.account.ValveMass += q / (c.cp * t)
				}
			}
			g.p = p1
			if total != nil {
				total.account.PistonWork += work
				total.account.ValveEnergy += q
				total.account.PortHeat += (1 - l.keep) * q
			}
		}
		before := outward * perHeat / (m.volume * p0)
		after := outward * perHeat / (m.volume * man.p)
		th := fit(before)
		mass := (man.m*(1-(1-th)*before) + inMass) / (1 + th*after)
		gone := man.m + inMass - mass
		man.m = mass
		perEnergy := 1 / (c.cp * t) // kg/J of what left
		if outward > 0 {
			perEnergy = gone / outward
		}
		for n := range open {
			if l := &links[n]; !l.forth && l.h < 0 {
				back := -l.h * perEnergy
				cyl[n].m += back
				if total != nil {
					total.account.ValveMass -= back
				}
			}
		}
		t1 := man.p * toT / man.m
		if total != nil {
			passed := out * perEnergy
			if out < 0 {
				passed = out / (c.cp * t)
			}
			total.add(c, s, c.dt, (p0+man.p)/2, (t+t1)/2, out, passed)
			total.peak, total.lowest = math.Max(total.peak, man.p), math.Min(total.lowest, man.p)
		}
		t = t1
		if open > 0 && i+(open-1)*m.steps == len(m.area)-1 && total != nil { // the valve of the earliest has closed
			total.account.LeftMass, total.account.LeftEnergy = cyl[open-1].m, cyl[open-1].p*m.cylinder[len(m.area)]*c.inverse
		}
	}
	x.manifold = man
	for n := m.slots - 1; n > 0; n-- {
		x.cylinders[n] = cyl[n-1]
	}
}

// cold is the temperature from which the port's heat loss counts, K.
const cold = 298.15

// add adds one step in which the energy H, J, and the mass, kg, leave the manifold at the pressure p and temperature T. The turbine
// takes what its efficiency leaves of the isentropic work of it.
//
//	W = η(U/C0) H (1 − (p4/p)^k),  C0 = √(2 cp T (1 − (p4/p)^k))
func (a *sums) add(c *run, s *State, dt, p, t, energy, mass float64) {
	a.time += dt
	a.pressure += p * dt
	a.square += p * p * dt
	a.temperature += t * dt
	a.energyOut += energy
	a.mass += mass
	if !(energy > 0 && p > c.p4) {
		return
	}
	ideal := 1 - numeric.Exp(c.k*numeric.Log(c.p4/p))
	ratio := 0.0
	if s.TipSpeed > 0 {
		ratio = s.TipSpeed / math.Sqrt(2*c.cp*t*ideal)
	}
	eta, _ := s.Efficiency.At(ratio)
	a.work += eta * energy * ideal
	a.ideal += energy * ideal
}

// result makes means and factors of the sums.
func (c *run) result(s *State, a *sums) (Result, error) {
	share := s.TurbineArea / c.area
	r := Result{
		MassFlow: a.mass / a.time, MeanPressure: a.pressure / a.time, PeakPressure: a.peak, LowestPressure: a.lowest,
		MassMeanTemperature: a.energyOut / (c.cp * a.mass), TimeMeanTemperature: a.temperature / a.time,
		Power: share * a.work / a.time, Account: a.account,
	}
	if a.ideal > 0 {
		r.MeanEfficiency = a.work / a.ideal
	}
	r.TurbineFlow = share * r.MassFlow
	r.WastegateFlow = r.MassFlow - r.TurbineFlow
	r.Account.OpeningMass, r.Account.OpeningEnergy = c.opening.m, c.opening.p*c.model.opening*c.inverse
	r.Account.OutletMass, r.Account.OutletEnergy = a.mass, a.energyOut
	drop := r.MeanPressure - c.p4
	if !(drop > 0 && r.MassFlow > 0 && r.MeanPressure <= turbine.MaxExpansionRatio*c.p4) {
		return r, ErrState // less in the cylinders than behind the turbine, or more than a turbine is built for
	}
	r.Unsteadiness = math.Sqrt(math.Max(a.square/a.time-r.MeanPressure*r.MeanPressure, 0)) / drop
	steady := turbine.Turbine{EffectiveArea: s.TurbineArea, Efficiency: s.Efficiency, Wheel: 2, MechanicalEfficiency: 1, Count: 1}
	in := turbine.Inlet{
		Gas:         turbine.Gas{Gamma: s.Gamma, GasConstant: s.GasConstant, Cp: c.cp},
		Temperature: r.MassMeanTemperature, OutletPressure: c.p4, ShaftSpeed: s.TipSpeed,
	}
	if s.TipSpeed == 0 {
		steady.Wheel = 0
	}
	atPressure := steady.Operate(in, r.MeanPressure/c.p4)
	r.PowerAtMeanPressure = r.Power / (atPressure.MassFlow * atPressure.SpecificWork)
	r.FlowAtMeanPressure = r.TurbineFlow / atPressure.MassFlow
	atFlow, ok := steady.ExpansionForFlow(in, r.TurbineFlow)
	r.PowerAtMeanFlow = r.Power / (atFlow.MassFlow * atFlow.SpecificWork)
	if !(ok && r.PowerAtMeanFlow > 0 && r.PowerAtMeanPressure > 0 && r.FlowAtMeanPressure > 0) {
		return r, ErrState
	}
	return r, nil
}
