package oil

import (
	"fmt"
	"math"

	"bellmouth/internal/units"
)

// A Liquid is an oil: its viscosity by two points, and its density.
type Liquid struct {
	a, b    float64 // of log10 log10(ν + 0.7) = a − b log10 T
	density float64 // at 15 °C, kg/m³
}

// Where the liquid's law is taken.
const (
	coldest, hottest = 243.15, 473.15 // K
	thinnest         = 2e-6           // m²/s; below it the standard's law has further terms
	thickest         = 0.1
)

// Expansion is the share of its density at 15 °C that a mineral or synthetic engine oil loses for each kelvin, 1/K. From memory: 6.5e-4 to 7.5e-4.
const Expansion = 7e-4

const reference = 288.15 // K, at which data sheets state the density

// NewLiquid returns the oil with kinematic viscosities ν1 and ν2, m²/s, at temperatures T1 and T2, K, and a density at 15 °C, kg/m³.
func NewLiquid(t1, nu1, t2, nu2, density float64) (Liquid, error) {
	switch {
	case !(t1 >= coldest && t2 > t1 && t2 <= hottest):
		return Liquid{}, fmt.Errorf("viscosities at %.4g K and %.4g K; want two rising temperatures from %v to %v K", t1, t2, coldest, hottest)
	case !(nu2 >= thinnest && nu1 > nu2 && nu1 <= thickest):
		return Liquid{}, fmt.Errorf("viscosities are %.4g and %.4g mm²/s; want them to fall with temperature, from %.4g to %.4g mm²/s", nu1*1e6, nu2*1e6,
			thinnest*1e6, thickest*1e6)
	case !(density > 500 && density < 1500):
		return Liquid{}, fmt.Errorf("density is %.4g kg/m³; want 500 to 1500 kg/m³", density)
	}
	y1, y2 := walther(nu1), walther(nu2)
	b := (y1 - y2) / math.Log10(t2/t1)
	return Liquid{a: y1 + b*math.Log10(t1), b: b, density: density}, nil
}

// walther returns log10 log10(ν + 0.7) of a viscosity in m²/s.
func walther(nu float64) float64 { return math.Log10(math.Log10(nu*1e6 + 0.7)) }

// Kinematic returns the kinematic viscosity ν at a temperature T, K, in m²/s.
//
//	log10 log10(ν + 0.7) = A − B log10 T, ν in mm²/s
//
// Source: ASTM D341, after Walther (1931). The law holds above 2 mm²/s, and below that is an error. It knows no shear rate: multigrade oils are
// thinner than this in a bearing, by up to a third (from memory).
func (l Liquid) Kinematic(t float64) (float64, error) {
	if !(t >= coldest && t <= hottest) {
		return 0, fmt.Errorf("oil at %s; its viscosity is known from %s to %s", units.Rounded(t, units.Temperature, "K", 4),
			units.Figure{Value: coldest, Kind: units.Temperature, Unit: "K", Digits: units.Significant + 6, Name: units.Bare}.Mark(),
			units.Rounded(hottest, units.Temperature, "K", 6))
	}
	nu := (math.Pow(10, math.Pow(10, l.a-l.b*math.Log10(t))) - 0.7) * 1e-6
	if !(nu >= thinnest) || !finite(nu) {
		return 0, fmt.Errorf("oil has %.3g %s at %s; ASTM D341 holds as it is from %.0f %[2]s", nu*1e6, units.Words("mm²/s", "cSt", "mm²/s"),
			units.Rounded(t, units.Temperature, "K", 4), thinnest*1e6)
	}
	return nu, nil
}

// Density returns the density ρ at a temperature T, K, in kg/m³.
//
//	ρ = ρ15 (1 − α (T − 288.15 K))
//
// Source: definition of the expansion α, see Expansion.
func (l Liquid) Density(t float64) float64 { return l.density * (1 - Expansion*(t-reference)) }

// Dynamic returns the dynamic viscosity µ = ν ρ at a temperature, K, in Pa s.
func (l Liquid) Dynamic(t float64) (float64, error) {
	nu, err := l.Kinematic(t)
	return nu * l.Density(t), err
}
