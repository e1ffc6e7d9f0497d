package knock

import (
	"math"

	"bellmouth/internal/gas"
)

// Border is the knock integral of the mean cycle at which the fast cycles begin to knock.
//
// It lies between two ways of telling the fast cycle: a peak pressure of 2 standard deviations above the mean, at the 5 to
// 8 % of full load, gives 0.92 to 0.89; a burn 12 % shorter and also 2.5° earlier gives 0.74 in a boosted
// cycle, whose peak is then 22 % higher, a very rare one. Practice is 0.8 to 0.9. The figures of full load and of practice are
// from memory, no source.
const Border = 0.85

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
	return border * math.Pow(octane/(octane+margin), OctaneExponent), nil
}
