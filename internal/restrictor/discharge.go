package restrictor

import (
	"math"
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
