package turbine

import "math"

// Work returns the work w that a turbine of isentropic efficiency eta takes from the gas, J/kg.
//
//	w = η cp T3 (1 − ER^(−(γ−1)/γ))
//
// temperature is T3, K; expansionRatio is ER = p3/p4, at least 1.
// Source: Dixon, Fluid Mechanics and Thermodynamics of Turbomachinery, ch. 2.
func Work(g Gas, temperature, expansionRatio, eta float64) float64 {
	return eta * idealWork(g, temperature, expansionRatio)
}

// OutletTemperature returns the gas's temperature after the turbine T4, K.
//
//	T4 = T3 − w/cp
//
// Source: energy balance; Dixon, ch. 2.
func OutletTemperature(g Gas, temperature, specificWork float64) float64 {
	return temperature - specificWork/g.Cp
}

// SpoutingVelocity returns the velocity C0 that the isentropic work would give the gas, m/s.
//
//	C0 = √(2 cp T3 (1 − ER^(−(γ−1)/γ)))
//
// Source: Watson and Janota, Turbocharging the Internal Combustion Engine (1982), ch. 5.
func SpoutingVelocity(g Gas, temperature, expansionRatio float64) float64 {
	return math.Sqrt(2 * idealWork(g, temperature, expansionRatio))
}
