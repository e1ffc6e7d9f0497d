// Package compressor computes where a turbocharger's compressor runs: shaft speed, efficiency and margins on its map,
// and the outlet temperature and work that go with them.
//
// A map is laid out along resistance lines. At a fixed throttle opening a compressor that keeps its shape of flow moves
// along h/ṁ² = constant, with h = PR^(2/7) − 1 the isentropic head in units of cp T1 and ṁ the corrected flow. Every speed
// line crosses each resistance line once, on its flat side and on its vertical choke side alike, and the resistance line
// through a point is known before its speed is. So flow and pressure ratio give the resistance, and the speed
// is the one remaining unknown.
package compressor

import "math"

// A Reference is the state of the inlet air to which a map's flow and speed are corrected. A map printed without one
// cannot be used.
type Reference struct {
	Temperature float64 // total, K
	Pressure    float64 // total, Pa absolute
}

// Corrected returns the corrected mass flow ṁc, kg/s.
//
//	ṁc = ṁ √(T1/Tref) / (p1/pref)
//
// flow is ṁ, kg/s; T1, K, and p1, Pa absolute, are totals at the compressor inlet.
// Source: Dixon & Hall, Fluid Mechanics and Thermodynamics of Turbomachinery, ch. 1; Heywood, Internal Combustion Engine
// Fundamentals, section 6.8. Holds for one gas and while Reynolds number hardly matters.
func (r Reference) Corrected(flow, T1, p1 float64) float64 {
	return flow * math.Sqrt(T1/r.Temperature) * (r.Pressure / p1)
}

// UncorrectSpeed returns the shaft speed N, rad/s, that a corrected speed stands for: CorrectSpeed the other way.
func (r Reference) UncorrectSpeed(correctedSpeed, T1 float64) float64 {
	return correctedSpeed * math.Sqrt(T1/r.Temperature)
}

// Reference returns the state to which the map is corrected.
func (m *Map) Reference() Reference { return m.reference }

// Breathing returns the map as it reads with another gas than the dry air it is corrected to: with moist air, say.
//
//	ṁ√(R T/γ)/p and N/√(γ R T) are the same in both
//
// gasConstant is R, J/(kg K), and gamma γ of the gas that is breathed, reference and referenceGamma those of dry air. The compressor's shape of line
// is taken not to change with γ. Source: similarity of flow by Mach number, Dixon and Hall, Fluid Mechanics and Thermodynamics of Turbomachinery
// (2010), §2.4. Figures that are not positive leave the map as it is.
func (m *Map) Breathing(gasConstant, gamma, reference, referenceGamma float64) *Map {
	other := *m
	other.flowGas = math.Sqrt(gasConstant / gamma * referenceGamma / reference)
	other.speedGas = math.Sqrt(reference * referenceGamma / (gasConstant * gamma))
	if !(other.flowGas > 0 && other.speedGas > 0 && other.flowGas*other.speedGas <= math.MaxFloat64) {
		return m
	}
	return &other
}

func orOne(factor float64) float64 {
	if factor == 0 {
		return 1
	}
	return factor
}

// Corrected returns the corrected mass flow, kg/s, as Reference.Corrected does, for the gas that is breathed.
func (m *Map) Corrected(flow, T1, p1 float64) float64 {
	return m.reference.Corrected(flow, T1, p1) * orOne(m.flowGas)
}

// UncorrectSpeed returns the shaft speed, rad/s, as Reference.UncorrectSpeed does, for the gas that is breathed.
func (m *Map) UncorrectSpeed(correctedSpeed, T1 float64) float64 {
	return m.reference.UncorrectSpeed(correctedSpeed, T1) / orOne(m.speedGas)
}
