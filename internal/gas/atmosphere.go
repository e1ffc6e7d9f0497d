package gas

import "math"

// Constants of the US Standard Atmosphere 1976, identical to ISO 2533:1975 below 32 km but for the last digits of R.
const (
	seaLevelPressure    = 101325.0          // Pa
	seaLevelTemperature = 288.15            // K
	lapseRate           = 6.5e-3            // K per geopotential metre, below 11 km
	standardGravity     = 9.80665           // m/s²
	earthRadius         = 6356766.0         // m, for geopotential altitude
	standardAirConstant = 8314.32 / 28.9644 // J/(kg K)
	lowestAltitude      = -2000.0           // m, where the ISO tables begin
	highestAltitude     = 11000.0           // m, below the tropopause at 11 019 m
)

// StandardAtmosphere returns the pressure, Pa, and temperature, K, of the standard atmosphere at a geometric altitude, m.
//
//	H = r z/(r + z),  T = 288.15 − 0.0065 H,  p = 101325 (T/288.15)^(g/(0.0065 R))
//
// Source: US Standard Atmosphere 1976, the same as ISO 2533:1975. Altitudes outside −2000 m to 11 000 m are an error.
func StandardAtmosphere(geometricAltitude float64) (pressure, temperature float64, err error) {
	if err := CheckRange("altitude", geometricAltitude, lowestAltitude, highestAltitude, "m"); err != nil {
		return 0, 0, err
	}
	H := earthRadius * geometricAltitude / (earthRadius + geometricAltitude)
	temperature = seaLevelTemperature - lapseRate*H
	pressure = seaLevelPressure * math.Pow(temperature/seaLevelTemperature, standardGravity/(lapseRate*standardAirConstant))
	return pressure, temperature, nil
}

// DensityAltitude returns the geometric altitude z, m, at which the standard atmosphere has the given density, kg/m³.
//
//	T = 288.15 (ρ/ρ0)^(1/(g/(0.0065 R) − 1)),  H = (288.15 − T)/0.0065,  z = r H/(r − H),  ρ0 = 101325/(R 288.15)
//
// Source: US Standard Atmosphere 1976, inverted. A density whose altitude is outside −5000 m to 11 000 m is an error;
// below −2000 m the troposphere's law is continued, as for cold air at high pressure.
func DensityAltitude(density float64) (float64, error) {
	rho0 := seaLevelPressure / (standardAirConstant * seaLevelTemperature)
	T := seaLevelTemperature * math.Pow(density/rho0, 1/(standardGravity/(lapseRate*standardAirConstant)-1))
	H := (seaLevelTemperature - T) / lapseRate
	z := earthRadius * H / (earthRadius - H)
	if err := CheckRange("density altitude", z, -5000, highestAltitude, "m"); err != nil {
		return 0, err
	}
	return z, nil
}

// Viscosity returns the dynamic viscosity μ, Pa s, of air at the temperature T, K.
//
//	μ = 1.458e-6 T^1.5/(T + 110.4)
//
// Source: Sutherland's equation with the constants of the US Standard Atmosphere 1976. Fair from 100 K to 1900 K;
// not checked. Humidity lowers it by less than 1 % below 40 °C and is left out.
func Viscosity(T float64) float64 { return 1.458e-6 * T * math.Sqrt(T) / (T + 110.4) }
