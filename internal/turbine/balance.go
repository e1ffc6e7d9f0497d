package turbine

import (
	"math"
)

// powerTolerance bounds the power's relative error where a search ends: three orders below the loop's 1e-6.
const powerTolerance = 1e-9

// ExpansionForPower returns the turbine's state at the expansion ratio at which it gives the power wanted, W, and whether
// there is one up to MaxExpansionRatio. Where there is none, the state is that at MaxExpansionRatio, which falls short by
// power − Power.
//
// start is a first guess, such as the ratio found last time; any number will do. The power rises with the expansion
// ratio throughout (see Validate), so the answer is the only one. A power of 0 or less wants no expansion.
// The flow is what the turbines swallow then; what the engine gives beyond it has to pass the wastegate.
func (t *Turbine) ExpansionForPower(in Inlet, power, start float64) (Operation, bool) {
	if !(power > 0) {
		return t.Operate(in, 1), power <= 0
	}
	nozzle := t.MechanicalEfficiency * float64(t.Count) * t.EffectiveArea * in.OutletPressure /
		math.Sqrt(in.Gas.GasConstant*in.Temperature)
	tip := t.Wheel / 2 * in.ShaftSpeed

	// The power goes with about the 3/2 power of ln ER, so the search is for a zero of ln(P/Pwanted) over x = ln ln ER,
	// which is nearly a straight line: secant steps, kept inside a bracket that closes from both sides.
	lo, hi := math.Log(1e-12), math.Log(math.Log(MaxExpansionRatio))
	if !(start > 1.001 && start < MaxExpansionRatio) {
		start = 2
	}
	x := math.Log(math.Log(start))
	slope := 1.4
	var lastX, lastF float64
	const limit = 60
	for i := 1; i <= limit; i++ {
		er := math.Exp(math.Exp(x))
		f := math.Log(t.power(&in, nozzle, tip, er) / power)
		if math.Abs(f) < powerTolerance {
			op := t.Operate(in, er)
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
		if i > 1 {
			if s := (f - lastF) / (x - lastX); s > 0.1 {
				slope = s
			}
		}
		lastX, lastF = x, f
		next := x - f/slope
		if !(next > lo && next < hi) {
			if next >= hi && hi == math.Log(math.Log(MaxExpansionRatio)) {
				if op := t.Operate(in, MaxExpansionRatio); !(op.Power > power) {
					op.Iterations = i
					return op, math.Abs(op.Power-power) <= powerTolerance*power
				}
			}
			next = (lo + hi) / 2
		}
		x = next
	}
	op := t.Operate(in, math.Exp(math.Exp(x)))
	op.Iterations = limit
	return op, false
}

// ExpansionForFlow returns the turbine's state at the expansion ratio at which it swallows the mass flow, kg/s, with the
// wastegate shut, and whether that ratio is at most MaxExpansionRatio. Where it is not, the state is that at
// MaxExpansionRatio.
//
//	q = (γ−1)/(2γ) (m √(R T3)/(n A p4))²,  y = (1 + √(1+4q))/2,  ER = y^(γ/(γ−1))
//
// which is the flow function solved for the upstream pressure; choked, ER is m √(R T3)/(n A p4) over ψ at choke.
func (t *Turbine) ExpansionForFlow(in Inlet, flow float64) (Operation, bool) {
	if !(flow > 0) {
		return t.Operate(in, 1), flow <= 0
	}
	g := in.Gas.Gamma
	psi := flow * math.Sqrt(in.Gas.GasConstant*in.Temperature) / (float64(t.Count) * t.EffectiveArea * in.OutletPressure)
	er := pressureRatioFor(psi, g)
	if !(er <= MaxExpansionRatio) {
		return t.Operate(in, MaxExpansionRatio), false
	}
	return t.Operate(in, er), true
}
