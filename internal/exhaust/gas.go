package exhaust

import (
	"math"

	"bellmouth/internal/numeric"
)

// viscosityPower is the exponent of temperature in the viscosity of burned gas.
const viscosityPower = 0.7

// Viscosity returns the dynamic viscosity of burned gas μ, Pa s, at the temperature T, K, and the equivalence ratio φ, fuel over
// stoichiometric fuel.
//
//	μ = 3.3e-7 T^0.7/(1 + 0.027 φ)
//
// φ = 0 is air. Source: Heywood, Internal Combustion Engine Fundamentals (1988), §4.8, after Mansouri and Heywood, Combust.
// Sci. Tech. 23 (1980) 251; the constants from memory. Range: 500 K to 4000 K, φ 0 to 4. Table values of air at 600 K to
// 1400 K lie up to 5 % above it.
func Viscosity(T, phi float64) float64 {
	return 3.3e-7 * numeric.Exp(viscosityPower*numeric.Log(T)) / (1 + 0.027*phi)
}

// Prandtl returns the Prandtl number of burned gas Pr by its ratio of specific heats γ.
//
//	Pr = 0.05 + 4.2 (γ − 1) − 6.7 (γ − 1)²
//
// Source: as Viscosity. The source gives it for φ up to 1, and divides by 1 + 0.015e-6 (φT)² for richer gas. That jumps by 2 % at
// φ = 1 and is left out here, since a solver must be able to pass there: rich gas then loses 2 % to 4 % too little heat.
// Range: γ 1.2 to 1.4.
func Prandtl(gamma float64) float64 {
	x := gamma - 1
	return 0.05 + x*(4.2-6.7*x)
}

// Nusselt returns the mean Nusselt number Nu of an exhaust port or runner, by the Reynolds number of the cycle's mean flow on the
// bore.
//
//	Nu = 0.07 Re^(3/4)
//
// Source: Depcik and Assanis, SAE 2002-01-0372 (2002). The pulses are in the constant: it is two to three times steady pipe
// flow. Other authors' forms agree to 10 % or give up to 50 % more from Re 5e3 to 2e5; outside that nothing was compared.
func Nusselt(reynolds float64) float64 {
	root := math.Sqrt(reynolds)
	return 0.07 * root * math.Sqrt(root)
}
