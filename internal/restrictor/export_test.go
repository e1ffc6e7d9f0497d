package restrictor

import (
	"fmt"
	"math"

	"bellmouth/internal/gas"
)

// DischargeISO9300 returns the discharge coefficient of a venturi with a toroidal throat of this bore, m, at choke, with
// this air before it.
//
//	Cd = 0.9959 − 2.720/√Re,  Re = 4 ṁ/(π d μ0)
//
// ṁ holds Cd itself, so the two are iterated until they agree. μ0 is the viscosity at T0 (US Standard Atmosphere 1976).
// Source: ISO 9300:2005, toroidal throat, stated for Re 2.1e4 to 3.2e7; InRange tells whether it lies there. The nozzle
// has no swirl before it and a wall as the standard draws it, so for an intake this is an upper bound: measured restrictors
// come out lower, and a drilled plate needs its own coefficient.
// A bore so small that the formula has no positive solution is an error.
func DischargeISO9300(bore float64, up Upstream) (Discharge, error) {
	if !(bore > 0) || math.IsInf(bore, 1) {
		return Discharge{}, fmt.Errorf("restrictor bore is %v m; want more than 0", bore)
	}
	if err := up.Validate(); err != nil {
		return Discharge{}, err
	}
	cd := chokedDischarge(bore, math.Pi/4*bore*bore*idealFlux(up), gas.Viscosity(up.Temperature))
	if !(cd.Coefficient > 0) {
		return Discharge{}, fmt.Errorf("a bore of %v m is too small for the discharge coefficients of ISO 9300", bore)
	}
	return cd, nil
}
