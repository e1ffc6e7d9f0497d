package geometry

import "math"

// SweptFlow returns the volume that a four-stroke engine of this displacement, m³, sweeps in a second at engine speed N,
// rad/s: m³/s. Air flow over density times this is the volumetric efficiency.
//
//	Vd N/(4π)
//
// Source: Heywood (1988), eq. 2.27, n = 2 turns a cycle.
func SweptFlow(displacement, speed float64) float64 { return displacement * speed / (4 * math.Pi) }

// Torque returns the torque, N m, of a four-stroke engine of this displacement, m³, at this mean effective pressure, Pa.
//
//	pme Vd/(4π)
//
// Source: Heywood (1988), eq. 2.20.
func Torque(meanEffectivePressure, displacement float64) float64 {
	return meanEffectivePressure * displacement / (4 * math.Pi)
}
