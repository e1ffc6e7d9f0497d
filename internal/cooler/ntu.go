package cooler

import (
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// MostTransferUnits is the highest number of transfer units that Crossflow is computed for.
const MostTransferUnits = 100

// Crossflow returns the effectiveness ε of an exchanger whose fluids cross at right angles, both guided by fins or tubes, from its number of transfer
// units NTU = U A/Cmin and the ratio of the capacity rates Cr = Cmin/Cmax.
//
//	ε = 1/(Cr NTU) Σ (1 − e^(−NTU) Σ NTUᵐ/m!) (1 − e^(−Cr NTU) Σ (Cr NTU)ᵐ/m!),
//	    outer sum over n from 0, inner sums over m from 0 to n;  Cr = 0: ε = 1 − exp(−NTU)
//
// Source: Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, §11.4; the exact series of Mason (1954) in place of the approximation of its table
// 11.3, 1 − exp((1/Cr) NTU^0.22 (exp(−Cr NTU^0.78) − 1)), which is up to 4 % off below NTU 1. Holds for NTU from 0 to 100 and Cr from 0 to 1.
func Crossflow(ntu, cr float64) (float64, error) {
	if !(ntu >= 0 && ntu <= MostTransferUnits) {
		return 0, fmt.Errorf("number of transfer units is %v; want 0 to %v", ntu, MostTransferUnits)
	}
	if !(cr >= 0 && cr <= 1) {
		return 0, fmt.Errorf("ratio of capacity rates is %v; want 0 to 1", cr)
	}
	return crossflow(ntu, cr), nil
}

// crossflow sums the series. Each factor is the chance that a Poisson variable exceeds n, so that the terms fall and, past n of about NTU, fall faster than
// geometrically.
func crossflow(ntu, cr float64) float64 {
	if cr < 1e-9 || ntu < 1e-9 { // the series divides by both
		return -math.Expm1(-ntu)
	}
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

// TransferUnits returns the number of transfer units with which Crossflow has an effectiveness. One that no exchanger of up to MostTransferUnits has is an
// error, and so is one below 0.
func TransferUnits(effectiveness, cr float64) (float64, error) {
	most, err := Crossflow(MostTransferUnits, cr)
	if err != nil {
		return 0, err
	}
	if !(effectiveness >= 0 && effectiveness <= most) {
		return 0, fmt.Errorf("effectiveness is %v; want 0 to %.4f, all that crossflow gives", effectiveness, most)
	}
	if effectiveness == 0 {
		return 0, nil
	}
	// To 1e-12 of transfer units, below what any effectiveness is known to.
	root, err := numeric.FindRoot(func(ntu float64) float64 { return crossflow(ntu, cr) - effectiveness }, 0, MostTransferUnits, 1e-12)
	return root.X, err
}
