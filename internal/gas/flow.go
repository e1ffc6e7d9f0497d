package gas

import (
	"math"

	"bellmouth/internal/numeric"
)

// The flow relations below are those of a perfect gas (constant γ) in steady, adiabatic, frictionless flow from rest.
// Their arguments are not checked: γ must be above 1, pressure ratios and Mach numbers zero or more. A NaN gives a NaN.
// Source for all: NACA Report 1135 (1953), equations for isentropic flow; the flow through an area after
// de Saint-Venant and Wantzel (1839).

// FlowFunction returns ψ = ṁ √(R T0) / (Cd A p0), dimensionless, of the flow through an area from the total state p0, T0 to
// the static pressure p after it.
//
//	ψ = √(2γ/(γ−1) (r^(2/γ) − r^((γ+1)/γ))),  r = p/p0
//
// At and below CriticalRatio the area is choked and ψ stays at ChokedFlowFunction. At r of 1 and above it is zero:
// the relation does not flow backwards.
func FlowFunction(pressureRatio, gamma float64) float64 {
	if pressureRatio >= 1 {
		return 0
	}
	if !(pressureRatio > 0) {
		if pressureRatio <= 0 {
			return ChokedFlowFunction(gamma)
		}
		return pressureRatio // not a number
	}
	// With q = r^((γ−1)/γ), the throat's T/T0: ψ² = 2γ/(γ−1) (r/q)² (1 − q). Taking 1 − q from Expm1 keeps small flows exact.
	y := -numeric.Expm1((gamma - 1) / gamma * numeric.Log(pressureRatio))
	if y >= (gamma-1)/(gamma+1) {
		return ChokedFlowFunction(gamma)
	}
	return pressureRatio / (1 - y) * math.Sqrt(2*gamma/(gamma-1)*y)
}

// CriticalRatio returns p/p0, dimensionless, at and below which an area chokes: (2/(γ+1))^(γ/(γ−1)).
func CriticalRatio(gamma float64) float64 {
	return numeric.Exp(gamma / (gamma - 1) * numeric.Log(2/(gamma+1)))
}

// ChokedFlowFunction returns the largest ψ = ṁ √(R T0) / (Cd A p0), dimensionless: √γ (2/(γ+1))^((γ+1)/(2(γ−1))).
func ChokedFlowFunction(gamma float64) float64 {
	return math.Sqrt(gamma) * numeric.Exp((gamma+1)/(2*(gamma-1))*numeric.Log(2/(gamma+1)))
}

// SubsonicRatio returns the pressure ratio p/p0 on the unchoked branch at which FlowFunction is psi, and whether there is
// one: false for a psi below zero or above ChokedFlowFunction, with the nearer end of the branch as the ratio, and for NaN.
//
// Newton's method in s = √(1 − (ψ/ψ*)²), which runs straight through the choke point, where ψ itself has a flat top;
// close to choke the ratio is known only to √ε ≈ 1e-8, as the flat top implies. It allocates nothing.
func SubsonicRatio(psi, gamma float64) (ratio float64, ok bool) {
	if !(psi >= 0) {
		return 1, false
	}
	// y = 1 − T/T0 at the throat solves (1−y)^e y = c. The left side rises from 0 to top at yTop, where the flow chokes.
	// Since γ/(γ−1) = 1 + e/2, the ratio is (1−y) √((1−y)^e).
	e := 2 / (gamma - 1)
	yTop := 1 / (e + 1)
	power := numeric.Exp(e * numeric.Log(1-yTop))
	top := power * yTop
	c := psi * psi / (gamma * e) // 2γ/(γ−1) = γ e
	share := c / top
	if !(share < 1) {
		// Rounding may leave the choked flow itself a hair above the top.
		return (1 - yTop) * math.Sqrt(power), share <= 1+1e-12
	}
	if share < 1e-3 {
		// Small flows: y = c/(1−y)^e contracts by e·y a step and keeps the last digits of a tiny y.
		y := c
		for range 8 {
			last := y
			y = c * numeric.Exp(-e*numeric.Log1p(-y))
			if math.Abs(y-last) <= 1e-15*y {
				break
			}
		}
		return numeric.Exp((1 + e/2) * numeric.Log1p(-y)), true
	}
	s := math.Sqrt(1 - share)
	// First guess: the quintic in s that has the value, slope and curvature of the solution at both ends.
	n3 := (e + 1) * (e + 1) * (e + 1)
	a1 := -math.Sqrt(2 * e / n3)
	a2 := 2 * (1 - 1/(e*e)) * e * e / (3 * n3)
	v, d, k := -(yTop + a1 + a2), -2*top-a1-2*a2, -2*top+8*e*top*top-2*a2
	a3, a4, a5 := 10*v-4*d+k/2, -15*v+7*d-k, 6*v-3*d+k/2
	y := yTop + s*(a1+s*(a2+s*(a3+s*(a4+s*a5))))
	for range 20 {
		y = min(max(y, 0), yTop)
		logT := numeric.Log1p(-y)
		power = numeric.Exp(e * logT)
		w := math.Sqrt(max(1-power*y/top, 0))
		slope := power * (1 - (e+1)*y) / (1 - y) // of (1−y)^e y; that of w is −slope/(2 w top)
		if !(slope*w > 0) {
			return numeric.Exp((1 + e/2) * logT), true // at the top to the last digit
		}
		step := -2 * w * top * (s - w) / slope
		if math.Abs(step) <= 1e-6*y {
			// The next step would be about the square of this one. ln(1−y) moves along by its series.
			z := step / (1 - y)
			return numeric.Exp((1 + e/2) * (logT - z*(1+z/2))), true
		}
		y += step
	}
	return numeric.Exp((1 + e/2) * numeric.Log1p(-y)), false
}

// Mach returns the Mach number M, dimensionless, reached at the pressure ratio p/p0 in (0, 1]: √(2/(γ−1) ((p/p0)^(−(γ−1)/γ) − 1)).
func Mach(pressureRatio, gamma float64) float64 {
	return math.Sqrt(2 / (gamma - 1) * numeric.Expm1(-(gamma-1)/gamma*numeric.Log(pressureRatio)))
}

// TemperatureRatio returns T/T0, dimensionless, at the Mach number: 1/(1 + (γ−1)/2 M²).
func TemperatureRatio(mach, gamma float64) float64 { return 1 / (1 + (gamma-1)/2*mach*mach) }
