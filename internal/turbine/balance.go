package turbine

import (
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
)

// powerTolerance bounds the power's relative error where a search ends: three orders below the loop's 1e-6.
const powerTolerance = 1e-9

// ExpansionForPower returns the turbine's state at the expansion ratio at which it gives the power wanted, W, and whether
// there is one up to MaxExpansionRatio. Where there is none, the state is that at MaxExpansionRatio, which falls short by
// power − Power.
//
// start is a first guess, such as the ratio found last time; any number will do. The power rises with the expansion
// ratio throughout (see Validate), also under pulses, whose factors are held, so the answer is the only one. A power of 0 or less
// together with what the bearings take wants no expansion.
// The flow is what the turbines swallow then; what the engine gives beyond it has to pass the wastegate.
func (t *Turbine) ExpansionForPower(in Inlet, power, start float64) (Operation, bool) {
	bearings := t.bearings(&in)
	shaft := power + bearings // that the shafts have to get
	if !(shaft > 0) {
		return t.Operate(in, 1), shaft <= 0
	}
	search := t.search(&in)

	// The power goes with about the 3/2 power of ln ER, so the search is for a zero of ln(P/Pwanted) over x = ln ln ER,
	// which is nearly a straight line: Newton steps, kept inside a bracket that closes from both sides.
	top := numeric.Log(numeric.Log(MaxExpansionRatio))
	lo, hi := -100.0, top // ER 1 to the last digit, and the most
	if !(start > 1.001 && start < MaxExpansionRatio) {
		start = 2
	}
	x := numeric.Log(numeric.Log(start))
	var lastX, lastEta, bend float64
	const limit = 60
	for i := 1; i <= limit; i++ {
		p, eta, slope := search.power(numeric.Exp(x))
		f := numeric.Log(p / shaft)
		if math.Abs(f) < powerTolerance {
			op := t.Operate(in, numeric.Exp(numeric.Exp(x)))
			op.Iterations = i
			return op, true
		}
		switch {
		case f < 0:
			lo = x
		case f > 0:
			hi = x
		default: // not a number
			return t.Operate(in, MaxExpansionRatio), false
		}
		// The efficiency's own slope is that between the last two places.
		if i > 1 && eta != lastEta {
			bend = numeric.Log(eta/lastEta) / (x - lastX)
		}
		lastX, lastEta = x, eta
		next := x - f/math.Max(slope+bend, slope/4)
		if next >= top && hi == top {
			if op := t.Operate(in, MaxExpansionRatio); !(op.Power > power) {
				op.Iterations = i
				return op, math.Abs(op.Power-power) <= powerTolerance*shaft
			}
		}
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		x = next
	}
	op := t.Operate(in, numeric.Exp(numeric.Exp(x)))
	op.Iterations = limit
	return op, false
}

// A search is a turbine at one inlet, with what does not change while its expansion ratio is sought.
type search struct {
	turbine *Turbine
	k       float64 // (γ−1)/γ
	choke   float64 // 1 − ER^(−k) at choke
	choked  float64 // flow function there over √(2/k)
	scale   float64 // shaft power over η, ER ψ/√(2/k) and 1 − ER^(−k), W
	tip     float64 // tip speed over √(2 cp T3)
	pulse   Pulse
}

func (t *Turbine) search(in *Inlet) search {
	g := in.Gas.Gamma
	k := (g - 1) / g
	heat := in.Gas.Cp * in.Temperature
	return search{
		turbine: t, k: k, choke: (g - 1) / (g + 1), choked: gas.ChokedFlowFunction(g) / math.Sqrt(2/k),
		scale: t.MechanicalEfficiency * float64(t.Count) * t.EffectiveArea * in.OutletPressure * heat * math.Sqrt(2/k) /
			math.Sqrt(in.Gas.GasConstant*in.Temperature),
		tip: t.Wheel / 2 * in.ShaftSpeed / math.Sqrt(2*heat), pulse: in.Pulse,
	}
}

// power returns the power that the shafts get, W, at the logarithm L of the expansion ratio, the efficiency times the pulses' factor
// there, and the slope of ln P over ln L with the efficiency held.
//
//	q = 1 − ER^(−k),  ER ψ = √(2/k) √q/(1−q) unchoked
//	d ln(ER ψ)/dL = k (1+q)/(2q) unchoked, 1 choked;  d ln q/dL = k (1−q)/q
//
// It is Operate with one exponential in place of five.
func (s *search) power(l float64) (power, eta, slope float64) {
	q := -numeric.Expm1(-s.k * l)
	nozzle, rise := math.Sqrt(q)/(1-q), s.k*(1+q)/(2*q)
	if q >= s.choke {
		nozzle, rise = s.choked*numeric.Exp(l), 1
	}
	eta, _ = s.turbine.Efficiency.At(s.tip / math.Sqrt(q))
	if s.pulse != (Pulse{}) {
		_, factor := s.pulse.Factors(numeric.Exp(l))
		eta *= factor
	}
	return s.scale * nozzle * eta * q, eta, l * (rise + s.k*(1-q)/q)
}

// ExpansionForFlow returns the turbine's state at the expansion ratio at which it swallows the mass flow, kg/s, with the
// wastegate closed, and whether that ratio is at most MaxExpansionRatio. Where it is not, the state is that at
// MaxExpansionRatio.
//
//	q = (γ−1)/(2γ) (m √(R T3)/(f n A p4))²,  y = (1 + √(1+4q))/2,  ER = y^(γ/(γ−1))
//
// which is the flow function solved for the upstream pressure; choked, ER is m √(R T3)/(f n A p4) over ψ at choke.
// f is the pulses' factor of flow, 1 in a steady stream.
func (t *Turbine) ExpansionForFlow(in Inlet, flow float64) (Operation, bool) {
	if !(flow > 0) {
		return t.Operate(in, 1), flow <= 0
	}
	g := in.Gas.Gamma
	factor, _ := in.Pulse.Factors(1)
	if in.Pulse.ExpansionRatio > 1 {
		// The factor moves with the answer: a fixed point that closes in, since it weakens as the expansion ratio grows.
		plain := in
		plain.Pulse = Pulse{}
		er := in.Pulse.ExpansionRatio
		for range 60 {
			factor, _ = in.Pulse.Factors(er)
			op, ok := t.ExpansionForFlow(plain, flow/factor)
			if !ok {
				er = MaxExpansionRatio
				continue
			}
			if next := (er + op.ExpansionRatio) / 2; math.Abs(next-er) < 1e-13*er {
				break
			} else {
				er = next
			}
		}
	}
	psi := flow / factor * math.Sqrt(in.Gas.GasConstant*in.Temperature) / (float64(t.Count) * t.EffectiveArea * in.OutletPressure)
	er := pressureRatioFor(psi, g)
	if !(er <= MaxExpansionRatio) {
		return t.Operate(in, MaxExpansionRatio), false
	}
	return t.Operate(in, er), true
}

// pressureRatioFor returns p0/p, at least 1, for m √(R T0)/(A p) = phi, p being the pressure downstream.
func pressureRatioFor(phi, gamma float64) float64 {
	critical := gas.CriticalRatio(gamma)
	if choked := gas.ChokedFlowFunction(gamma); phi*critical >= choked {
		return phi / choked
	}
	q := (gamma - 1) / (2 * gamma) * phi * phi
	y := (1 + math.Sqrt(1+4*q)) / 2
	return numeric.Exp(gamma / (gamma - 1) * numeric.Log(y))
}
