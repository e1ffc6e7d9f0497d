package spark

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/knock"
	"bellmouth/internal/numeric"
)

// IgnitionDelay returns the crank angle from the spark to the start of burning δ, rad, at an engine speed N, rad/s, and whether
// the speed lies outside of where it holds, whose end value was used then. A table over speed, rad/s, gives it; without one
//
//	δ = 4° (N / 2000 rpm)^(1/3), 1000 to 10000 rpm
//
// The exponent is that of Hires, Tabaczynski and Novak, SAE 780232 (1978), for the first part of the burn, whose angle goes with
// the cube root of piston speed; from memory. The 4° are ours, common practice, no source. The start is that of the Wiebe
// function, which burns its first few hundredths slowly: most of what is called flame development is in it.
// Mixture, residual gas and density are left out: lean, diluted or cold charges take longer.
// A speed that is not positive, or a value of the table outside 0 to 1 rad, is an error.
func IgnitionDelay(table numeric.Curve, speed float64) (angle float64, held bool, err error) {
	if !positive(speed) {
		return 0, false, fmt.Errorf("engine speed is %v rad/s; want more than 0", speed)
	}
	if table.IsZero() {
		rpm := speed * 30 / math.Pi
		within := min(max(rpm, 1000), 10000)
		return 4 * math.Pi / 180 * math.Cbrt(within/2000), within != rpm, nil
	}
	angle, held = table.At(speed)
	if !(angle >= 0 && angle <= largestDelay) {
		return 0, false, fmt.Errorf("ignition delay is %.4g rad; want 0 to %v", angle, largestDelay)
	}
	return angle, held, nil
}

// largestDelay, rad, is well above any; it catches degrees taken for radians.
const largestDelay = 1.0

// A Knock is how near the end gas comes to igniting itself.
type Knock struct {
	Octane   float64 // octane number of the fuel ON
	Integral float64 // Livengood–Wu integral K with that fuel
	Limit    float64 // integral accepted Kl
}

// OctaneNeeded returns the octane number with which the knock integral would just meet its limit at the same spark, charge and
// speed, and whether it or the fuel's lies outside the 80 to 100 that the delay was fitted to.
//
//	ON (K/Kl)^(1/3.402)
//
// Derivation: the octane number is a factor of the delay, τ ~ ON^3.402, at every pressure and temperature, hence of the
// whole integral K = ∫dt/τ ~ ON^−3.402. Source of the delay: Douaud and Eyzat, SAE 780080 (1978). Octane 60 to 150 and a
// positive integral and limit; else an error.
func (k Knock) OctaneNeeded() (octane float64, extrapolated bool, err error) {
	switch {
	case !(k.Octane >= 60 && k.Octane <= 150):
		return 0, false, fmt.Errorf("octane number %.4g; want 60 to 150", k.Octane)
	case !positive(k.Integral):
		return 0, false, fmt.Errorf("knock integral %v; want more than 0", k.Integral)
	case !positive(k.Limit):
		return 0, false, fmt.Errorf("knock limit %v; want more than 0", k.Limit)
	}
	octane = k.Octane * math.Pow(k.Integral/k.Limit, 1/knock.OctaneExponent)
	if !positive(octane) {
		return 0, false, errors.New("knock integral and limit lie too far apart for an octane number")
	}
	fitted := func(on float64) bool { return on >= 80 && on <= 100 }
	return octane, !fitted(octane) || !fitted(k.Octane), nil
}

// OctaneMargin returns the octane numbers to spare, negative where they are short, and what OctaneNeeded says of the range.
//
//	ON (1 − (K/Kl)^(1/3.402))
//
// Source and range are OctaneNeeded's.
func (k Knock) OctaneMargin() (margin float64, extrapolated bool, err error) {
	needed, extrapolated, err := k.OctaneNeeded()
	if err != nil {
		return 0, false, err
	}
	return k.Octane - needed, extrapolated, nil
}
