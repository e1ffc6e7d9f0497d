package cooler

import (
	"fmt"
	"math"
)

// An Arrangement is how charge and coolant pass each other.
type Arrangement int

const (
	Counterflow      Arrangement = iota // against each other
	CrossflowUnmixed                    // at right angles, both guided by fins: the usual charge-air core
	CrossflowMixed                      // at right angles, charge guided in tubes and coolant free to mix
)

func (a Arrangement) String() string {
	switch a {
	case Counterflow:
		return "counterflow"
	case CrossflowUnmixed:
		return "crossflow, both unmixed"
	case CrossflowMixed:
		return "crossflow, coolant mixed"
	}
	return fmt.Sprintf("arrangement %d", int(a))
}

// EffectivenessFromNTU returns the effectiveness ε of a heat exchanger from its number of transfer units
// NTU = U A/Cmin and the ratio of the capacity rates Cr = Cmin/Cmax, the charge having the smaller.
//
//	any, Cr = 0:              ε = 1 − exp(−NTU)
//	counterflow, Cr < 1:      ε = (1 − exp(−NTU (1−Cr)))/(1 − Cr exp(−NTU (1−Cr)))
//	counterflow, Cr = 1:      ε = NTU/(1 + NTU)
//	crossflow, both unmixed:  ε = 1/(Cr NTU) Σ (1 − e^(−NTU) Σ NTUᵐ/m!) (1 − e^(−Cr NTU) Σ (Cr NTU)ᵐ/m!),
//	                          outer sum over n from 0, inner sums over m from 0 to n
//	crossflow, Cmax mixed:    ε = 1/Cr (1 − exp(−Cr (1 − exp(−NTU))))
//
// Source: Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, table 11.3; for both fluids unmixed the exact
// series of Mason (1954) in place of that table's approximation, which is up to some per cent off.
// Holds for NTU from 0 to 100 and Cr from 0 to 1; outside is an error.
func EffectivenessFromNTU(a Arrangement, ntu, cr float64) (float64, error) {
	if !(ntu >= 0 && ntu <= 100) {
		return 0, fmt.Errorf("number of transfer units is %v; want 0 to 100", ntu)
	}
	if !(cr >= 0 && cr <= 1) {
		return 0, fmt.Errorf("ratio of capacity rates is %v; want 0 to 1", cr)
	}
	// The forms below divide by Cr, or by a difference that goes with NTU (1−Cr).
	if cr < 1e-9 || ntu == 0 {
		return -math.Expm1(-ntu), nil
	}
	switch a {
	case Counterflow:
		if x := ntu * (1 - cr); x > 1e-9 {
			return -math.Expm1(-x) / (1 - cr*math.Exp(-x)), nil
		}
		return ntu / (1 + ntu), nil
	case CrossflowUnmixed:
		return bothUnmixed(ntu, cr), nil
	case CrossflowMixed:
		return -math.Expm1(cr*math.Expm1(-ntu)) / cr, nil
	}
	return 0, fmt.Errorf("no effectiveness is known for %v", a)
}

// bothUnmixed sums Mason's series. Each factor is the chance that a Poisson variable exceeds n, so the terms fall
// monotonically and, past n of about NTU, faster than geometrically.
func bothUnmixed(ntu, cr float64) float64 {
	p, q := math.Exp(-ntu), math.Exp(-cr*ntu) // the chance of exactly n
	hot, cold := -math.Expm1(-ntu), -math.Expm1(-cr*ntu)
	sum := 0.0
	for n := 1; ; n++ {
		term := hot * cold
		sum += term
		if term <= 1e-16*sum || n > 1000 { // at NTU 100 the terms are gone by n = 200
			return sum / (cr * ntu)
		}
		p *= ntu / float64(n)
		q *= cr * ntu / float64(n)
		hot, cold = math.Max(0, hot-p), math.Max(0, cold-q)
	}
}
