package knock

import (
	"math"

	"bellmouth/internal/gas"
)

// Border is the knock integral of the mean cycle at which the fast cycles begin to knock.
//
// It lies between two ways of telling the fast cycle: a peak pressure of 2 standard deviations above the mean, at the 5 to
// 8 % of full load, gives 0.92 to 0.89 by FastCycleShare; a burn 12 % shorter and also 2.5° earlier gives 0.74 in a boosted
// cycle, whose peak is then 22 % higher, a very rare one. Practice is 0.8 to 0.9. The figures of full load and of practice are
// from memory, no source.
const Border = 0.85

// endGasKappa is (γ−1)/γ of the end gas, γ 1.33.
const endGasKappa = 1 - 1/1.33

// FastCycleShare returns the knock integral of the mean cycle at which a cycle two standard deviations faster comes to 1.
//
//	share = 1/((1 − 2v) (1 + 4v/3)^(n + κ E/T))
//
// v is the standard deviation of the peak pressure over its mean, 0 to 0.1; T the end gas temperature where most of the
// integral is gathered, 600 K to 1100 K; n and E are those of the delay, κ = (γ−1)/γ.
//
// Derivation: the fast cycle's pressure p is above the mean one's by a share that grows from nothing at the start of the burn to
// 2v at the peak. The rate of gathering grows alike, in a line, so the mean excess over the integral is two thirds of 2v. The
// end gas, compressed with it, is hotter by the power κ; the rate goes with p^n exp(−E/T), so with the power n + κ E/T for
// small v. The burn is shorter by about as much as the peak is higher, and the time with it: 10 to 15 % at v 5 to 8 %, common
// practice, no source. Against cycles run through, it is up to 2 % too high for petrol and 10 % for the shock tube's steeper delay,
// which gathers later.
func (d *Delay) FastCycleShare(v, T float64) (float64, error) {
	if err := gas.CheckRange("variation of peak pressure", v, 0, 0.1, ""); err != nil {
		return 0, err
	}
	if err := gas.CheckRange("end gas temperature", T, 600, 1100, "K"); err != nil {
		return 0, err
	}
	return 1 / ((1 - 2*v) * math.Pow(1+4*v/3, d.n+endGasKappa*d.slope/T)), nil
}

// WithMargin returns the knock integral to accept so that octane numbers are left to spare.
//
//	I = border (ON/(ON + margin))^3.402
//
// border is the integral at the knock border, 0.01 to 10; octane the octane number of the delay, 40 to 150; margin the numbers to
// keep, 0 to 30. Derivation: the delay goes with ON^3.402, so the integral with ON^−3.402.
func WithMargin(border, octane, margin float64) (float64, error) {
	if err := gas.CheckRange("knock border", border, 0.01, 10, ""); err != nil {
		return 0, err
	}
	if err := gas.CheckRange("octane number", octane, 40, 150, ""); err != nil {
		return 0, err
	}
	if err := gas.CheckRange("octane margin", margin, 0, 30, ""); err != nil {
		return 0, err
	}
	return border * math.Pow(octane/(octane+margin), octaneExponent), nil
}
