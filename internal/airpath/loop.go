package airpath

import (
	"math"

	"bellmouth/internal/compressor"
	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
	"bellmouth/internal/turbine"
)

// A flowState is the air path at trial values of the unknowns: every part has answered for its own piece, and the bounds say
// how far the answers are from agreeing with the engine and with each limit.
type flowState struct {
	flow         float64 // moist air, kg/s
	p0           float64 // before the restrictor, behind the filter, Pa
	maxFlow      float64 // at which the restrictor chokes, kg/s; +Inf without one
	p1, p2       float64 // compressor inlet and outlet
	t2           float64
	corrected    float64
	op           compressor.Operation
	shaft        float64 // rad/s
	power        float64 // taken by all compressors, W
	pm, tm       float64
	throttle     float64 // pressure lost in the throttle, Pa; negative in a trial where there is too little
	p3, p4       float64
	tailpipe     float64 // temperature of the exhaust behind turbine and wastegate, K
	exhaustFlow  float64
	turbine      turbine.Operation
	wastegate    float64 // flow that has to pass the wastegate, kg/s; negative: the turbine wants more than there is
	wastegateMax float64
	filling      float64             // ln(flow the cylinders take / flow)
	bounds       [limitCount]float64 // see limits; those that need the cycle are +Inf until it has run
	nozzle       turbine.Nozzle      // what the wastegate finds
	shaftOK      bool
	shutting     float64 // room of the Holder, see there; +Inf without one
	opening      float64
	clamped      bool // a trial so far off that it was bent back; no answer
}

// A trial holds what an evaluation of the air path starts from.
type trial struct {
	r         *regime
	target    float64 // manifold pressure asked for, Pa; +Inf: none
	throttled bool    // a throttle before the manifold takes what pressure there is beyond the target
	held      float64 // compressor outlet pressure that the wastegate holds then, Pa; 0: it is wide open
	shut      bool    // the wastegate is held shut, whatever limit but the target is passed
	t3        float64 // exhaust temperature at the turbine, K
	exhaust   gas.Mixture
	gammaExh  float64
	expansion float64 // of the last evaluation: starts the next and sets the gas's mean temperature
	tailpipe  float64
	aspirated bool          // there is no boost to cut where the engine knocks
	pulse     turbine.Pulse // held while the air path is solved
}

// follow evaluates the air path for an inlet coordinate (see inlet) and an outlet coordinate: ln(PR − 1) of the compressor, ln p2
// without one. It allocates nothing.
//
// Next to a pressure ratio of 1 the turbine's flow goes with the cube root of the compressor's power; over ln(PR − 1) it is as
// smooth there as elsewhere. A compressor that is driven never has less than 1.
func (e *Engine) follow(t *trial, inlet, outlet float64, s *flowState) {
	e.inlet(inlet, s)
	s.p2 = numeric.Exp(outlet)
	if e.Compressor != nil {
		s.p2 = s.p1 * (1 + s.p2)
	}
	flow, p2, t0 := s.flow, s.p2, e.Venue.Temperature
	s.exhaustFlow = flow * (1 + t.r.fuelRatio)
	if e.Compressor != nil {
		e.followCompressor(s)
	} else {
		s.t2, s.power = t0, 0
	}
	s.tm, s.pm = s.t2, p2
	if e.Cooler != nil {
		s.tm, _ = e.Cooler.OutletTemperature(flow, s.t2)
		s.pm = p2 - e.Cooler.Loss(flow, p2, s.t2)
	}
	s.clamped = false
	if !(s.pm > 0.05*p2) {
		s.pm, s.clamped = 0.05*p2, true
	}
	s.throttle = 0
	if t.throttled {
		s.throttle = s.pm - t.target
		s.pm = t.target
	}
	e.followExhaust(t, s)
	ideal := t.r.ve * s.pm / (e.air.GasConstant() * s.tm) * t.r.swept
	factor := e.fillingShare(t, s)
	if !(factor > 0.02) {
		factor, s.clamped = 0.02, true
	}
	s.filling = numeric.Log(ideal * factor / flow)
	e.followHolder(t, s)
	for l := range limits {
		s.bounds[l] = math.Inf(1)
		if bound := limits[l].bound; bound != nil {
			s.bounds[l] = bound(e, t, s)
		}
	}
}

// inlet sets flow and pressure at the compressor's inlet from the coordinate that the solver moves. Without a restrictor it is
// ln(flow). With one it is ln(1 − p1/p0), the pressure lost in the throat: near choke the flow hardly moves and the pressure
// does, and past choke only the pressure moves, so that the choked throat needs no case of its own. It is negative.
//
//	1 − pt/p0 = (1 − p1/p0)/(1 − r),  m = M ψ(pt/p0)/ψ* · p0/pa,  p0 = pa − k m² T/pa
//
// M is the flow that chokes the throat at the venue's pressure, r the diffuser's recovery; Cd is that at choke.
func (e *Engine) inlet(x float64, s *flowState) {
	pa := e.Venue.Pressure
	a := e.filter()
	if e.Restrictor == nil {
		s.flow = numeric.Exp(x)
		s.p0 = pa * (1 - a*s.flow*s.flow)
		s.p1, s.maxFlow = s.p0, math.Inf(1)
		return
	}
	ratio := -numeric.Expm1(x) // p1/p0
	m := e.choke.MaxFlow
	if ratio > e.onset {
		m *= throatFlow(numeric.Exp(x)/(1-e.Restrictor.Recovery), e.gammaAir) / e.chokedPsi
	}
	s.flow = behindFilter(m, a)
	s.p0 = pa * (1 - a*s.flow*s.flow)
	s.p1 = s.p0 * ratio
	s.maxFlow = e.chokedFlow()
}

// throatFlow returns gas.FlowFunction at the pressure ratio 1 − d, unchoked, to full precision also for a tiny d: a throat far
// too large to matter still has to tell its flow.
func throatFlow(d, gamma float64) float64 {
	l := numeric.Log1p(-d)
	return math.Sqrt(-2*gamma/(gamma-1)*numeric.Expm1(l*(gamma-1)/gamma)) * numeric.Exp(l/gamma)
}

// filter returns the share of the venue's pressure that the air filter takes over flow², s²/kg²: k T/pa².
func (e *Engine) filter() float64 {
	return e.FilterLoss * e.Venue.Temperature / (e.Venue.Pressure * e.Venue.Pressure)
}

// behindFilter returns the flow m p0/pa where p0/pa = 1 − a flow² is what the filter leaves.
func behindFilter(m, a float64) float64 {
	if a == 0 {
		return m
	}
	return 2 * m / (1 + math.Sqrt(1+4*a*m*m))
}

// chokedFlow returns the flow at which the restrictor chokes behind the filter, kg/s.
func (e *Engine) chokedFlow() float64 {
	return behindFilter(e.choke.MaxFlow, e.filter())
}

// inletFor returns the inlet coordinate of a flow, or that of the onset of choke when it is more than the throat passes.
func (e *Engine) inletFor(flow float64) float64 {
	if e.Restrictor == nil {
		return numeric.Log(flow)
	}
	pa := e.Venue.Pressure
	a := e.filter()
	ratio := e.onset
	if flow < e.chokedFlow() {
		ratio = e.choke.OutletPressure(flow/(1-a*flow*flow)) / pa
	}
	return numeric.Log(max(1-ratio, 1e-12))
}

func (e *Engine) followCompressor(s *flowState) {
	m := e.Compressor.Map
	t0 := e.Venue.Temperature
	s.corrected = m.Corrected(s.flow/float64(e.Compressor.Count), t0, s.p1)
	ratio := s.p2 / s.p1
	s.op = m.Operate(s.corrected, ratio)
	s.shaft = m.UncorrectSpeed(s.op.Speed, t0)
	var work float64
	s.t2, work = compressor.OutletTemperature(&e.air, t0, ratio, s.op.Efficiency)
	s.power = s.flow * work
}

// bearingCap is the most that the bearings are taken to need: what the compressors take, see turbine.Inlet.
func bearingCap(s *flowState) float64 { return max(s.power, 1e-6) }

// behindTurbine returns the pressure p4, Pa, at which an exhaust flow, kg/s, of a temperature, K, enters what lies before the open air.
//
//	p4 (p4 − pa) = k m² T
func (e *Engine) behindTurbine(flow, temperature float64) float64 {
	pa := e.Venue.Pressure
	return (pa + math.Sqrt(pa*pa+4*e.ExhaustLoss*flow*flow*temperature)) / 2
}

// fillingShare returns the share of the volumetric efficiency that is left at the present pressures. With a compressor it is stated at equal
// pressures before and behind the cylinders, since there is no one exhaust pressure to state it at. A naturally aspirated engine's is measured
// at full load with its exhaust on, and stated so.
func (e *Engine) fillingShare(t *trial, s *flowState) float64 {
	share := fillingFactor(e.Cylinder.CompressionRatio, s.p3/s.pm, t.gammaExh)
	if e.Compressor == nil {
		stated := fillingFactor(e.Cylinder.CompressionRatio, e.ownExhaust(t, s), t.gammaExh)
		if !(stated > 0.1) { // exhaust or filter let hardly anything through: no such engine was measured
			stated, s.clamped = 0.1, true
		}
		share /= stated
	}
	return share
}

// ownExhaust returns the ratio of the pressures behind and before the cylinders with which a naturally aspirated engine's volumetric efficiency is
// measured: at full load without a restrictor, through its own filter and exhaust, the exhaust as hot as it is now.
func (e *Engine) ownExhaust(t *trial, s *flowState) float64 {
	pa, t0 := e.Venue.Pressure, e.Venue.Temperature
	a := e.filter()
	flow := behindFilter(t.r.ve*pa/(e.air.GasConstant()*t0)*t.r.swept, a)
	return e.behindTurbine(flow*(1+t.r.fuelRatio), s.tailpipe) / (pa * (1 - a*flow*flow))
}

// followExhaust finds the exhaust pressure at which the turbine gives the power the compressor takes, and so the share of
// the exhaust that has to pass the wastegate.
func (e *Engine) followExhaust(t *trial, s *flowState) {
	h3 := t.exhaust.Enthalpy(t.t3)
	taken := 0.0
	if e.Turbine != nil {
		taken = e.Turbine.WorkFor(max(s.power, 0), turbine.Inlet{ShaftSpeed: s.shaft, BearingCap: bearingCap(s)}) / s.exhaustFlow
	}
	s.tailpipe = t.t3
	if taken > 0 {
		if tail, err := t.exhaust.TemperatureOf(h3-taken, t.tailpipe); err == nil && tail > 0.4*t.t3 {
			s.tailpipe = tail
		} else {
			s.tailpipe = 0.4 * t.t3 // a trial far off: more work than the exhaust holds
		}
	}
	t.tailpipe = s.tailpipe
	s.p4 = e.behindTurbine(s.exhaustFlow, s.tailpipe)
	if e.Turbine == nil {
		s.p3, s.shaftOK = s.p4, true
		return
	}
	in := turbine.Inlet{
		Gas: turbine.GasOf(&t.exhaust, t.t3, t.expansion), Temperature: t.t3, OutletPressure: s.p4, ShaftSpeed: s.shaft,
		BearingCap: bearingCap(s),
		Pulse:      t.pulse,
	}
	s.turbine, s.shaftOK = e.Turbine.ExpansionForPower(in, max(s.power, 0), t.expansion)
	t.expansion = s.turbine.ExpansionRatio
	s.p3 = s.p4 * s.turbine.ExpansionRatio
	s.wastegate = s.exhaustFlow - s.turbine.MassFlow
	s.wastegateMax = 0
	if e.Wastegate != nil {
		s.nozzle = turbine.Nozzle{
			Pressure: s.p3, Temperature: t.t3, OutletPressure: s.p4, Gamma: in.Gas.Gamma, GasConstant: in.Gas.GasConstant,
			Pulse: t.pulse,
		}
		s.wastegateMax = e.Wastegate.MaxFlow(s.nozzle)
	}
}
