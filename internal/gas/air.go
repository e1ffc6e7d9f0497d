package gas

import (
	"fmt"
	"math"
)

// Air is the air of the venue.
type Air struct {
	Pressure         float64 // absolute, Pa
	Temperature      float64 // K
	RelativeHumidity float64 // fraction of the saturation over liquid water, 0 to 1
}

// The state of air that Validate accepts. The density equation is stated for less, see Notes; these are the limits within
// which it was compared with that of the ASHRAE Handbook (2017).
const (
	lowestAirPressure     = 50e3
	highestAirPressure    = 120e3
	lowestAirTemperature  = 243.15
	highestAirTemperature = 333.15
)

const (
	waterMolarMass  = 18.01528e-3                                                                         // kg/mol
	dryAirMolarMass = 0.78084*28.0134e-3 + 0.209476*31.9988e-3 + 0.009365*39.948e-3 + 0.000319*44.0095e-3 // that of DryAir, kg/mol
)

// Validate returns an error unless the air is within 50 kPa to 120 kPa, 243.15 K to 333.15 K and relative humidity 0 to 1.
// The other methods of Air do not check.
func (a Air) Validate() error {
	if err := CheckRange("air pressure", a.Pressure, lowestAirPressure, highestAirPressure, "Pa"); err != nil {
		return err
	}
	if err := CheckRange("air temperature", a.Temperature, lowestAirTemperature, highestAirTemperature, "K"); err != nil {
		return err
	}
	return CheckRange("relative humidity", a.RelativeHumidity, 0, 1, "")
}

// Notes returns what casts doubt on the density of this air: the state is outside 60 kPa to 110 kPa or 288.15 K to
// 300.15 K, for which the equation is stated. It is empty within them.
func (a Air) Notes() []string {
	var notes []string
	if !(a.Pressure >= 60e3 && a.Pressure <= 110e3) {
		notes = append(notes, fmt.Sprintf("air density: the equation is stated for %s to %s and is continued to %s",
			hectopascals(600e2), hectopascals(1100e2), hectopascals(a.Pressure)))
	}
	if t := a.Temperature - 273.15; !(t >= 15 && t <= 27) {
		notes = append(notes, fmt.Sprintf("air density: the equation is stated for %s to %s and is continued to %s; "+
			"within 0.06 %% of that of the ASHRAE Handbook (2017) from %s to %s", celsius(15, 0), celsius(27, 0), celsius(t, 0), celsius(-5, 0), celsius(35, 0)))
	}
	return notes
}

// SaturationPressure returns the saturation vapour pressure psv, Pa, over liquid water at the temperature T, K.
//
//	psv = exp(A T² + B T + C + D/T)
//
// Source: CIPM-2007, Picard, Davis, Gläser and Fujii, Metrologia 45 (2008) 149, equation A1.1. Stated for 15 °C to 27 °C; below
// freezing it is over supercooled water, as meteorological humidity is. Not checked.
func SaturationPressure(T float64) float64 {
	const A, B, C, D = 1.2378847e-5, -1.9121316e-2, 33.93711047, -6.3431645e3
	return math.Exp((A*T+B)*T + C + D/T)
}

// WaterMoleFraction returns the mole fraction of water vapour xv, dimensionless.
//
//	xv = φ f psv/p,  f = 1.00062 + 3.14e-8 p + 5.6e-7 t²
//
// φ is the relative humidity, f the enhancement factor, t in °C.
// Source: CIPM-2007, Picard et al., Metrologia 45 (2008) 149, equations A1.1 and A1.2.
func (a Air) WaterMoleFraction() float64 {
	t := a.Temperature - 273.15
	f := 1.00062 + 3.14e-8*a.Pressure + 5.6e-7*t*t
	return a.RelativeHumidity * f * SaturationPressure(a.Temperature) / a.Pressure
}

// VapourPressure returns the partial pressure of water vapour xv p, Pa.
func (a Air) VapourPressure() float64 { return a.WaterMoleFraction() * a.Pressure }

// Density returns the density ρ of the moist air, kg/m³.
//
//	ρ = p Ma/(Z R T) (1 − xv (1 − Mv/Ma))
//	Z = 1 − p/T (a0 + a1 t + a2 t² + (b0 + b1 t) xv + (c0 + c1 t) xv²) + p²/T² (d + e xv²)
//
// with Ma of air holding 400 ppm of carbon dioxide. Source: CIPM-2007, Picard, Davis, Gläser and Fujii, Metrologia 45 (2008)
// 149, equations 1 and A1.4. Stated for 600 hPa to 1100 hPa and 15 °C to 27 °C; Notes tells when the air is outside.
func (a Air) Density() float64 {
	xv := a.WaterMoleFraction()
	Z := a.compressibility(xv)
	const R, Ma, Mv = 8.314472, 28.96546e-3, 18.01528e-3 // the equation's own constants
	return a.Pressure * Ma / (Z * R * a.Temperature) * (1 - xv*(1-Mv/Ma))
}

func (a Air) compressibility(xv float64) float64 {
	const (
		a0, a1, a2 = 1.58123e-6, -2.9331e-8, 1.1043e-10
		b0, b1     = 5.707e-6, -2.051e-8
		c0, c1     = 1.9898e-4, -2.376e-6
		d, e       = 1.83e-11, -0.765e-8
	)
	t, pT := a.Temperature-273.15, a.Pressure/a.Temperature
	return 1 - pT*(a0+a1*t+a2*t*t+(b0+b1*t)*xv+(c0+c1*t)*xv*xv) + pT*pT*(d+e*xv*xv)
}

// Composition returns the mole fractions of the moist air.
func (a Air) Composition() Composition { return MoistAir(a.WaterMoleFraction()) }

// OxygenMoleFraction returns the mole fraction of oxygen, 0.209476 (1 − xv), dimensionless. Humidity displaces oxygen.
func (a Air) OxygenMoleFraction() float64 { return DryAir()[O2] * (1 - a.WaterMoleFraction()) }

// DryAirFraction returns the mass of dry air in a kilogram of the moist air, dimensionless. Fuel is metered to dry air.
//
//	(1 − xv) Ma/((1 − xv) Ma + xv Mv)
func (a Air) DryAirFraction() float64 {
	xv := a.WaterMoleFraction()
	dry := (1 - xv) * dryAirMolarMass
	return dry / (dry + xv*waterMolarMass)
}

// Mixture returns a kilogram of the moist air. Air that Validate refuses is an error.
func (a Air) Mixture() (Mixture, error) {
	if err := a.Validate(); err != nil {
		return Mixture{}, err
	}
	return NewMixture(a.Composition())
}

// SpeedOfSound returns a = √(γ R T), m/s, with γ and R of the moist air at its temperature.
func (a Air) SpeedOfSound() float64 {
	c := a.Composition()
	m := c.perKilogram(c.Mass())
	return m.SpeedOfSound(a.Temperature)
}

// DensityAltitude returns the altitude, m, at which the standard atmosphere has this air's density.
func (a Air) DensityAltitude() (float64, error) { return DensityAltitude(a.Density()) }
