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

// A PerfectGas has constant heat capacity, as in textbooks and quick estimates.
type PerfectGas struct {
	Gamma        float64 // ratio of specific heats γ
	SpecificHeat float64 // at constant pressure cp, J/(kg K)
}

func (g PerfectGas) isentropicRise(pressureRatio float64) float64 {
	return numeric.Expm1((g.Gamma - 1) / g.Gamma * numeric.Log(pressureRatio))
}

// OutletTemperature returns the temperature T2, K, behind a compressor, and the work w, J/kg, put into the gas.
//
//	T2 = T1 (1 + (PR^((γ−1)/γ) − 1)/η),  w = cp (T2 − T1)
//
// Source: Heywood, Internal Combustion Engine Fundamentals, eqs. 6.39 to 6.42. Arguments above zero; a pressure ratio of 1 or
// less gives T2 = T1 and no work.
func (g PerfectGas) OutletTemperature(T1, pressureRatio, efficiency float64) (T2, work float64) {
	if pressureRatio <= 1 {
		return T1, 0
	}
	rise := T1 * g.isentropicRise(pressureRatio) / efficiency
	return T1 + rise, g.SpecificHeat * rise
}

// IsentropicEfficiency returns the isentropic efficiency η, fraction, of a compressor from the temperatures before and behind it.
//
//	η = T1 (PR^((γ−1)/γ) − 1)/(T2 − T1)
//
// Source: Dixon & Hall, ch. 1. Holds for an adiabatic compressor: heat from a hot turbine housing lowers the figure.
func (g PerfectGas) IsentropicEfficiency(T1, T2, pressureRatio float64) float64 {
	return T1 * g.isentropicRise(pressureRatio) / (T2 - T1)
}

// PolytropicEfficiency returns the polytropic efficiency ηp, fraction: that of the small stages into which the compression may
// be thought divided.
//
//	ηp = (γ−1)/γ ln PR / ln(1 + (PR^((γ−1)/γ) − 1)/η)
//
// Source: Dixon & Hall, ch. 1. Holds for a pressure ratio above 1.
func (g PerfectGas) PolytropicEfficiency(pressureRatio, efficiency float64) float64 {
	return (g.Gamma - 1) / g.Gamma * numeric.Log(pressureRatio) / numeric.Log1p(g.isentropicRise(pressureRatio)/efficiency)
}
