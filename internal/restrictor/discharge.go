package restrictor

import (
	"fmt"
	"math"

	"bellmouth/internal/gas"
)

// A Discharge is a discharge coefficient and where it comes from.
type Discharge struct {
	Coefficient float64 // Cd
	Reynolds    float64 // of the throat at choke, 4 ṁ/(π d μ0)
	Given       bool    // measured or assumed by the user, not by Reynolds number
	InRange     bool    // the Reynolds number lies where the coefficient's formula is stated
}

// The range of throat Reynolds numbers for which ISO 9300:2005 states the coefficient of toroidal throats; from memory.
const (
	MinReynolds = 2.1e4
	MaxReynolds = 3.2e7
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

// chokedDischarge solves Cd = 0.9959 − 2.720/√(Cd Re1), Re1 = 4 ṁideal/(π d μ0), by Newton on s = √Cd:
//
//	s³ − 0.9959 s + 2.720/√Re1 = 0
//
// From s = 1 the steps fall towards the larger root without passing it. Without a root the coefficient is 0.
func chokedDischarge(bore, idealFlow, mu float64) Discharge {
	re1 := reynolds(idealFlow, bore, mu)
	b := toroidalB / math.Sqrt(re1)
	s := 1.0
	for range 50 {
		step := (s*s*s - toroidalA*s + b) / (3*s*s - toroidalA)
		s -= step
		if !(3*s*s > toroidalA) { // past the lowest point of the cubic: no root
			return Discharge{}
		}
		if math.Abs(step) < 1e-15 {
			break
		}
	}
	cd := s * s
	re := cd * re1
	return Discharge{Coefficient: cd, Reynolds: re, InRange: re >= MinReynolds && re <= MaxReynolds}
}

const (
	toroidalA = 0.9959
	toroidalB = 2.720
)

func toroidal(re float64) float64 { return toroidalA - toroidalB/math.Sqrt(re) }

func reynolds(flow, bore, mu float64) float64 { return 4 * flow / (math.Pi * bore * mu) }
