package cycle

import (
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/knock"
	"bellmouth/internal/numeric"
)

// A stage holds the integration's state: the gas at the crank angle reached.
type stage struct {
	m           *Model
	in          *Input
	mix         gas.Mixture // at the burned fraction of the last evaluation
	unburned    gas.Mixture // composition of the end gas
	burned      float64     // burned mass fraction mix is made for
	temperature float64
	pressure    float64
	cv          float64 // heat capacity at constant volume, J/(kg K), and
	knownT      float64 // K, where it was looked up
	knownU      float64 // with the internal energy there, J/kg
	known       bool    // both are of mix
	film        float64 // heat transfer coefficient × area / ω, J/(K rad)
	fixedW      float64 // Woschni's velocity without combustion, m/s
	burningW    float64 // its combustion term over the pressure difference, m/(s Pa)
	startP      float64
	burnStart   float64
	perRadian   float64 // 1 / Wiebe duration
	bad         bool
}

// Run integrates one cycle. It returns ErrInput when the input is out of range and ErrState when the temperature leaves 200 K to
// 6000 K. It allocates nothing.
//
// Method: classical fourth-order Runge–Kutta on the internal energy, the work and the heat, so that their sum is conserved
// to rounding; temperature follows from energy by Newton's method in every stage.
func (m *Model) Run(in *Input, out *Result) error { return m.run(in, out, nil) }

// RunTold is Run that tells the pressure, Pa, at every crank angle of its grid, rad after firing top dead centre, from inlet valve closing to exhaust
// valve opening.
func (m *Model) RunTold(in *Input, out *Result, tell func(theta, pressure float64)) error {
	return m.run(in, out, tell)
}

func (m *Model) run(in *Input, out *Result, tell func(theta, pressure float64)) error {
	if err := in.check(); err != nil {
		return err
	}
	var s stage
	s.begin(m, in)
	first := &m.nodes[0]
	s.film = s.filmAt(s.pressure, in.Temperature, first.area, first.motored, first.theta)

	energy := in.Mass * (s.mix.Enthalpy(in.Temperature) - s.mix.GasConstant()*in.Temperature)
	*out = Result{
		EnergyStart: energy, PressureStart: s.pressure, BurnStart: s.burnStart,
		PeakPressure: s.pressure, PeakAngle: first.theta, PeakTemperature: in.Temperature,
	}
	k := endGas{delay: in.Knock, speed: in.Speed, logT: numeric.Log(in.Temperature), logP: numeric.Log(s.pressure)}
	k.temperature = in.Temperature
	k.rate = k.rateAt(k.logP, in.Temperature)
	k.kappa = s.unburned.GasConstant() / s.unburned.Cp(in.Temperature)
	k.endAngle = s.burnStart + math.Cbrt(-numeric.Log(1-knockUntil)/wiebeA)/s.perRadian

	work, heat := 0.0, 0.0
	slope := 0.0 // of the temperature, K/rad: guesses the next one
	var trail trail
	trail.push(first.theta, s.pressure)
	if tell != nil {
		tell(first.theta, s.pressure)
	}
	for i := range m.nodes[:len(m.nodes)-1] {
		n, next := &m.nodes[i], &m.nodes[i+1]
		h := n.step
		p1, t1 := s.pressure, s.temperature
		w1 := p1 * n.slope
		q1 := s.film * (t1 - m.wall)

		midTheta := n.theta + h/2
		midBurned := s.burnedAt(midTheta)
		s.evaluate(energy-h/2*(w1+q1), t1+slope*h/2, midBurned, n.midVolume)
		w2 := s.pressure * n.midSlope
		s.film = s.filmAt(s.pressure, s.temperature, n.midArea, n.midMotored, midTheta)
		q2 := s.film * (s.temperature - m.wall)
		s.evaluate(energy-h/2*(w2+q2), s.temperature, midBurned, n.midVolume)
		w3 := s.pressure * n.midSlope
		q3 := s.film * (s.temperature - m.wall)
		midP, midFilm := s.pressure, s.film
		midHeat := in.Mass * s.cv * s.temperature

		endBurned := s.burnedAt(next.theta)
		s.evaluate(energy-h*(w3+q3), 2*s.temperature-t1, endBurned, next.volume)
		w4 := s.pressure * next.slope
		// The film at the end of the trial step is that of the next step's start too: they differ by the integration's own error.
		s.film = s.filmAt(s.pressure, s.temperature, next.area, next.motored, next.theta)
		q4 := s.film * (s.temperature - m.wall)

		// The trial state in the middle is of first order only. The formula's own value there is of third (Hairer, Nørsett and Wanner,
		// Solving Ordinary Differential Equations I, §II.6): what its energy differs by, heats the gas in the same volume.
		ahead := h/2*(w2+q2) - h*(5./24*(w1+q1)+1./6*(w2+q2+w3+q3)-1./24*(w4+q4))
		midP *= 1 + ahead/midHeat

		dw := h / 6 * (w1 + 2*(w2+w3) + w4)
		dq := h / 6 * (q1 + 2*(q2+q3) + q4)
		energy -= dw + dq
		work += dw
		heat += dq
		s.evaluate(energy, s.temperature, endBurned, next.volume)
		if s.bad {
			return ErrState
		}
		slope = (s.temperature - t1) / h
		k.advance(&s, n.theta, h, midP, midFilm, out)

		if in.SparkAngle >= n.theta && in.SparkAngle < next.theta {
			// Nothing burns yet; the walls take what they take at the step's start.
			v := m.cylinder.Volume(in.SparkAngle)
			gamma := s.unburned.Gamma(t1)
			out.SparkPressure = p1 * numeric.Exp(gamma*numeric.Log(n.volume/v)-(gamma-1)*q1*(in.SparkAngle-n.theta)/(p1*n.volume))
			out.SparkTemperature = t1 * out.SparkPressure * v / (p1 * n.volume)
		}
		if s.temperature > out.PeakTemperature {
			out.PeakTemperature = s.temperature
		}
		trail.push(next.theta, s.pressure)
		if tell != nil {
			tell(next.theta, s.pressure)
		}
		if i >= 4 {
			if angle, top, ok := trail.peak(); ok && top > out.PeakPressure {
				out.PeakAngle, out.PeakPressure = angle, top
			}
		}
	}
	out.Work, out.Heat = work, heat
	out.EnergyEnd = energy
	out.PressureEnd, out.TemperatureEnd, out.BurnedEnd = s.pressure, s.temperature, s.burned
	out.KnockIntegral = k.integral
	if !(out.PeakPressure > 0) || math.IsInf(out.Work, 0) || math.IsNaN(out.KnockIntegral) {
		return ErrState
	}
	return nil
}

// begin sets the stage at inlet valve closing, all but the film.
func (s *stage) begin(m *Model, in *Input) {
	*s = stage{m: m, in: in, burnStart: BurnStart(in.CA50, in.BurnAngle), perRadian: wiebe90 / in.BurnAngle}
	s.mix = gas.Mix(in.Unburned, in.Burned, in.InitialBurned)
	s.unburned, s.burned = s.mix, in.InitialBurned
	s.temperature = in.Temperature
	s.pressure = in.Mass * s.mix.GasConstant() * in.Temperature / m.nodes[0].volume
	s.startP = s.pressure
	s.fixedW = 2.28 * m.cylinder.MeanPistonSpeed(in.Speed)
	s.burningW = 3.24e-3 * m.overStart * in.Temperature / s.startP
}

// A trail is the pressure at the last six nodes, oldest first.
type trail struct{ theta, p [6]float64 }

func (t *trail) push(theta, p float64) {
	copy(t.theta[:], t.theta[1:])
	copy(t.p[:], t.p[1:])
	t.theta[5], t.p[5] = theta, p
}

// slope returns dp/dθ at one of the two middle nodes: that of the quartic through five equally spaced nodes.
func (t *trail) slope(i int) float64 {
	h := (t.theta[i+2] - t.theta[i-2]) / 4
	return (8*(t.p[i+1]-t.p[i-1]) - (t.p[i+2] - t.p[i-2])) / (12 * h)
}

// peak returns the top of the pressure between the two middle nodes, if it has one there. Between nodes it is the cubic with the
// pressures and slopes of its ends: both are continuous, and so the peak moves without a step when the burn does. The nodes are
// equally spaced where a peak can be, about top dead centre and where the charge burns.
func (t *trail) peak() (angle, pressure float64, ok bool) {
	mb, mc := t.slope(2), t.slope(3)
	if !(mb >= 0 && mc <= 0) {
		return 0, 0, false
	}
	h, rise := t.theta[3]-t.theta[2], t.p[3]-t.p[2]
	// p'(x) h = a x² + b x + c over the step's share x: it falls from c ≥ 0 to a + b + c ≤ 0.
	a, b, c := 3*h*(mb+mc)-6*rise, 6*rise-4*h*mb-2*h*mc, h*mb
	x := 0.0
	if root := b*b - 4*a*c; root >= 0 && c > 0 {
		x = min(2*c/(math.Sqrt(root)-b), 1) // the form that does not cancel
	}
	return t.theta[2] + x*h, t.p[2] + x*(c+x*(b/2+x*a/3)), true
}

// burnedAt returns the burned mass fraction of the whole charge at a crank angle.
func (s *stage) burnedAt(theta float64) float64 {
	y := (theta - s.burnStart) * s.perRadian
	if y <= 0 {
		return s.in.InitialBurned
	}
	return s.in.FinalBurned - (s.in.FinalBurned-s.in.InitialBurned)*burnLeft(y)
}

// evaluate sets temperature and pressure for an internal energy, J, in a volume.
func (s *stage) evaluate(energy, guess, burned, volume float64) {
	if burned != s.burned {
		s.mix.Blend(&s.in.Unburned, &s.in.Burned, burned)
		s.burned, s.known = burned, false
	}
	u, t := energy/s.in.Mass, guess
	// Newton's error after a step dt is about dt² cv'/(2 cv), under 2e-4 dt² per kelvin: 2e-5 K for this one. The gas whose energy and heat
	// capacity are known so near needs no look at its properties.
	const near = 0.3
	dt := (u - s.knownU) / s.cv
	if !(s.known && dt < near && dt > -near) {
		for range 20 {
			cp, h := s.mix.CpEnthalpy(t)
			s.cv = cp - s.mix.GasConstant()
			s.knownT, s.knownU, s.known = t, h-s.mix.GasConstant()*t, true
			dt = (u - s.knownU) / s.cv
			t += dt
			if !(t > 200 && t < 6000) {
				s.bad, s.known = true, false
				s.knownT, dt = guess, 0
				break
			}
			if dt < near && dt > -near {
				break
			}
		}
	}
	t = s.knownT + dt
	s.temperature = t
	s.pressure = s.in.Mass * s.mix.GasConstant() * t / volume
}

// filmAt returns Woschni's heat transfer coefficient h × area over the crank's speed, J/(K rad):
//
//	h = 3.26 B^−0.2 p^0.8 T^−0.55 w^0.8, p in kPa
//	w = 2.28 Up + 3.24e-3 (Vd Tr/(pr Vr)) (p − pm), the second term once it burns
//
// r is inlet valve closing, pm the motored pressure. Source: Woschni, SAE 670931 (1967), in the form of Heywood (1988), eqs. 12.18 and 12.19. It
// was fitted to a compression-ignition engine and is used for spark ignition by common practice, with a factor fitted to the engine at hand.
func (s *stage) filmAt(p, t, area, motored, theta float64) float64 {
	if s.m.htcFactor == 0 {
		return 0
	}
	w := s.fixedW
	if theta > s.burnStart {
		if dp := p - motored*s.startP; dp > 0 {
			w += s.burningW * dp
		}
	}
	return s.m.htcFactor * area / s.in.Speed * numeric.Exp(0.8*numeric.Log(p*w*1e-3)-0.55*numeric.Log(t))
}

// An endGas follows the unburned gas: compressed with the rest and losing its share of the wall heat, it adds up the time it has
// had over the time it needs to ignite itself (Livengood and Wu, 5th Symposium on Combustion, 1955).
type endGas struct {
	delay              knock.Delay
	speed              float64 // rad/s
	rate, integral     float64 // per radian
	logT, logP         float64
	temperature, kappa float64 // kappa is R/cp of the end gas
	endAngle           float64
}

func (k *endGas) rateAt(logP, temperature float64) float64 {
	return k.delay.Rate(logP, temperature) / k.speed
}

// advance carries the end gas over one step, by the midpoint rule on d ln T = κ d ln p − film (1 − Tw/T) dθ / (m cp), and
// adds Simpson's rule of the delay rate.
func (k *endGas) advance(s *stage, theta, h, midP, midFilm float64, out *Result) {
	if theta >= k.endAngle {
		return
	}
	logMid, logEnd := numeric.Log(midP), numeric.Log(s.pressure)
	loss := midFilm * k.kappa / (s.in.Mass * s.unburned.GasConstant())
	half := k.kappa*(logMid-k.logP) - h/2*loss*(1-s.m.wall/k.temperature)
	tMid := numeric.Exp(k.logT + half)
	// κ so far is that of the last step's middle. Over the first half of this one it is a quarter of that and three of this middle's.
	last := k.kappa
	k.kappa = s.unburned.GasConstant() / s.unburned.Cp(tMid)
	tMid *= 1 + 0.75*(k.kappa-last)*(logMid-k.logP)
	loss = midFilm * k.kappa / (s.in.Mass * s.unburned.GasConstant())
	k.logT += k.kappa*(logEnd-k.logP) - h*loss*(1-s.m.wall/tMid)
	k.temperature = numeric.Exp(k.logT)
	k.logP = logEnd
	mid, end := k.rateAt(logMid, tMid), k.rateAt(logEnd, k.temperature)
	k.add(theta, h, mid, end)
	if k.temperature > out.EndGasPeak {
		out.EndGasPeak = k.temperature
	}
}

// add integrates the delay rate over one step from its values at the step's start, middle and end: the parabola through them,
// up to the angle where the integral ends. Over a whole step that is Simpson's rule.
func (k *endGas) add(theta, h, mid, end float64) {
	f := min((k.endAngle-theta)/h, 1)
	k.integral += h * f * (k.rate + f*((4*mid-3*k.rate-end)/2+f*(k.rate-2*mid+end)*2/3))
	k.rate = end
}
