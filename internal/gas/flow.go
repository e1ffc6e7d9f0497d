package gas

import "math"

// The flow relations below are those of a perfect gas (constant γ) in steady, adiabatic, frictionless flow from rest.
// Their arguments are not checked: γ must be above 1, pressure ratios and Mach numbers zero or more.
// Source for all: NACA Report 1135 (1953), equations for isentropic flow; the flow through an area after
// de Saint-Venant and Wantzel (1839).

// FlowFunction returns ψ = ṁ √(R T0) / (Cd A p0), dimensionless, of the flow through an area from the total state p0, T0 to
// the static pressure p behind it.
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
	y := -math.Expm1((gamma - 1) / gamma * math.Log(pressureRatio))
	if y >= (gamma-1)/(gamma+1) {
		return ChokedFlowFunction(gamma)
	}
	return pressureRatio / (1 - y) * math.Sqrt(2*gamma/(gamma-1)*y)
}

// CriticalRatio returns p/p0, dimensionless, at and below which an area chokes: (2/(γ+1))^(γ/(γ−1)).
func CriticalRatio(gamma float64) float64 {
	return math.Exp(gamma / (gamma - 1) * math.Log(2/(gamma+1)))
}

// ChokedFlowFunction returns the largest ψ = ṁ √(R T0) / (Cd A p0), dimensionless: √γ (2/(γ+1))^((γ+1)/(2(γ−1))).
func ChokedFlowFunction(gamma float64) float64 {
	return math.Sqrt(gamma) * math.Exp((gamma+1)/(2*(gamma-1))*math.Log(2/(gamma+1)))
}

// SubsonicRatio returns the pressure ratio p/p0 on the unchoked branch at which FlowFunction is psi, and whether there is
// one: false for a psi below zero or above ChokedFlowFunction, with the nearer end of the branch as the ratio.
//
// Newton's method in s = √(1 − (ψ/ψ*)²), which runs straight through the choke point, where ψ itself has a flat top;
// close to choke the ratio is known only to √ε ≈ 1e-8, as the flat top implies. It allocates nothing.
func SubsonicRatio(psi, gamma float64) (ratio float64, ok bool) {
	// y = 1 − T/T0 at the throat solves (1−y)^e y = c. The left side rises from 0 to top at y*, where the flow chokes.
	e := 2 / (gamma - 1)
	yTop := 1 / (e + 1)
	top := math.Exp(e*math.Log1p(-yTop)) * yTop
	share := psi * psi * (gamma - 1) / (2 * gamma) / top
	k := gamma / (gamma - 1)
	if !(psi >= 0) {
		return 1, false
	}
	if share >= 1 {
		// Rounding may leave the choked flow itself a hair above the top.
		return math.Exp(k * math.Log1p(-yTop)), share <= 1+1e-12
	}
	if share < 1e-3 {
		// Small flows: iterate y = c/(1−y)^e, which contracts by e·y a step and keeps the last digits of a tiny y.
		c := share * top
		y := c
		for range 8 {
			next := c * math.Exp(-e*math.Log1p(-y))
			done := math.Abs(next-y) <= 1e-15*next
			y = next
			if done {
				break
			}
		}
		return math.Exp(k * math.Log1p(-y)), true
	}
	s := math.Sqrt(1 - share)
	// First guess: the cubic in s with the right value and slope at both ends.
	d0, d1 := -math.Sqrt(2*e/((e+1)*(e+1)*(e+1))), -2*top
	c2 := -3*yTop - 2*d0 - d1
	c3 := 2*yTop + d0 + d1
	y := yTop + s*(d0+s*(c2+s*c3))
	for range 20 {
		y = min(max(y, 0), yTop)
		power := math.Exp(e * math.Log1p(-y))
		w2 := 1 - power*y/top
		if !(w2 > 0) {
			break // at the top to the last digit
		}
		w := math.Sqrt(w2)
		slope := power * (1 - (e+1)*y) / (1 - y) / (-2 * w * top)
		if slope == 0 {
			break
		}
		step := (s - w) / slope
		y += step
		if math.Abs(step) <= 1e-9*y {
			break // the next step would be the square of this one
		}
	}
	return math.Exp(k * math.Log1p(-min(max(y, 0), yTop))), true
}

// Mach returns the Mach number M, dimensionless, reached at the pressure ratio p/p0 in (0, 1]: √(2/(γ−1) ((p/p0)^(−(γ−1)/γ) − 1)).
func Mach(pressureRatio, gamma float64) float64 {
	return math.Sqrt(2 / (gamma - 1) * math.Expm1(-(gamma-1)/gamma*math.Log(pressureRatio)))
}

// TemperatureRatio returns T/T0, dimensionless, at the Mach number: 1/(1 + (γ−1)/2 M²).
func TemperatureRatio(mach, gamma float64) float64 { return 1 / (1 + (gamma-1)/2*mach*mach) }

// PressureRatio returns p/p0, dimensionless, at the Mach number: (1 + (γ−1)/2 M²)^(−γ/(γ−1)).
func PressureRatio(mach, gamma float64) float64 {
	return math.Exp(-gamma / (gamma - 1) * math.Log1p((gamma-1)/2*mach*mach))
}

// DensityRatio returns ρ/ρ0, dimensionless, at the Mach number: (1 + (γ−1)/2 M²)^(−1/(γ−1)).
func DensityRatio(mach, gamma float64) float64 {
	return math.Exp(-1 / (gamma - 1) * math.Log1p((gamma-1)/2*mach*mach))
}

// MachFlowFunction returns ψ = ṁ √(R T0) / (A p0), dimensionless, at the Mach number, below or above 1:
// √γ M (1 + (γ−1)/2 M²)^(−(γ+1)/(2(γ−1))).
func MachFlowFunction(mach, gamma float64) float64 {
	return math.Sqrt(gamma) * mach * math.Exp(-(gamma+1)/(2*(gamma-1))*math.Log1p((gamma-1)/2*mach*mach))
}

// AreaRatio returns A/A*, dimensionless, the area at the Mach number over that of the choked throat:
// (1/M) (2/(γ+1) (1 + (γ−1)/2 M²))^((γ+1)/(2(γ−1))). It is infinite at rest.
func AreaRatio(mach, gamma float64) float64 {
	return ChokedFlowFunction(gamma) / MachFlowFunction(mach, gamma)
}
