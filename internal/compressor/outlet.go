package compressor

import (
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
)

// outletStep is the step, as a fraction of temperature, below which Newton's method has arrived; the next step would be of the
// order of its square.
const outletStep = 1e-6

// OutletTemperature returns the temperature T2, K, behind a compressor, and the work w, J/kg, put into the gas.
//
//	s°(T2s) = s°(T1) + R ln PR,  w = (h(T2s) − h(T1))/η,  h(T2) = h(T1) + w
//
// mix is the gas, with heat capacities that change with temperature; T1 the inlet total temperature, K; pressureRatio is total to
// total; efficiency η is isentropic, total to total. The shaft's power is ṁ w, before mechanical losses.
// At a pressure ratio of 1 or less the wheel is taken to throttle: T2 = T1 and no work, in or out.
// Source: Moran & Shapiro, Fundamentals of Engineering Thermodynamics, ch. 6: ideal gas, adiabatic. It holds where the
// mixture's enthalpy does (200 K to 6000 K); the arguments, all above zero, are not checked.
func OutletTemperature(mix *gas.Mixture, T1, pressureRatio, efficiency float64) (T2, work float64) {
	if pressureRatio <= 1 {
		return T1, 0
	}
	cp1, h1 := mix.CpEnthalpy(T1)
	rise := mix.GasConstant() * numeric.Log(pressureRatio)
	s2 := mix.Entropy(T1) + rise
	// With the cp of the inlet the guess is a few kelvin high; Newton's steps on s°, whose slope is cp/T, take it from there.
	T2s := T1 * numeric.Exp(rise/cp1)
	for range 20 {
		step := (s2 - mix.Entropy(T2s)) * T2s / mix.Cp(T2s)
		T2s += step
		if math.Abs(step) < outletStep*T2s {
			break
		}
	}
	cp, h2s := mix.CpEnthalpy(T2s)
	work = (h2s - h1) / efficiency
	T2 = T2s + (h1+work-h2s)/cp
	for range 20 {
		cp, h := mix.CpEnthalpy(T2)
		step := (h1 + work - h) / cp
		T2 += step
		if math.Abs(step) < outletStep*T2 {
			break
		}
	}
	return T2, work
}
