package supply

import (
	"fmt"
	"math"

	"bellmouth/internal/fuel"
)

// A Liquid is the fuel as it flows.
type Liquid struct {
	Density   float64 // ρ, kg/m³
	Viscosity float64 // dynamic, μ, Pa s
}

// Validate returns an error when a figure is not finite and positive.
func (l Liquid) Validate() error {
	switch {
	case !positive(l.Density):
		return fmt.Errorf("fuel density is %v kg/m³; want more than 0", l.Density)
	case !positive(l.Viscosity):
		return fmt.Errorf("fuel viscosity is %v Pa s; want more than 0", l.Viscosity)
	}
	return nil
}

// LiquidOf returns a fuel's density ρ, kg/m³, and dynamic viscosity μ, Pa s, at the temperature T, K.
//
// The density is the fuel's own. The viscosity is that of Andrade's law through two published values of each part,
//
//	μ = μ0 exp(B (1/T − 1/273.15))
//
// and between petrol, ethanol and methanol ln μ is straight in the fuel's mass fraction of oxygen, 0, 0.347 and 0.499.
// Source: ethanol and methanol from the CRC Handbook of Chemistry and Physics, viscosity of liquids, from memory, met
// within 2 % from 248 K to 348 K; petrol 0.50 mPa s at 20 °C, a typical delivery, and mixing by the oxygen: common
// practice, no source. Petrols and petrol's hydrocarbons differ from it by up to a quarter, which moves a turbulent line's
// loss by about 5 %. A temperature outside 253 K to 333 K is an error, and so is a fuel with more oxygen than methanol.
func LiquidOf(f fuel.Fuel, T float64) (Liquid, error) {
	density, err := f.DensityAt(T)
	if err != nil {
		return Liquid{}, err
	}
	mass := f.Carbon*12.011 + f.Hydrogen*1.008 + f.Oxygen*15.999 + f.Nitrogen*14.007
	oxygen := f.Oxygen * 15.999 / mass
	var l float64
	switch {
	case !(oxygen >= 0 && oxygen <= oxygenOfMethanol+1e-6):
		return Liquid{}, fmt.Errorf("no viscosity is known for a fuel of %.3g oxygen by mass; want 0 to %v", oxygen, oxygenOfMethanol)
	case oxygen <= oxygenOfEthanol:
		l = between(petrol.log(T), ethanol.log(T), oxygen/oxygenOfEthanol)
	default:
		l = between(ethanol.log(T), methanol.log(T), (oxygen-oxygenOfEthanol)/(oxygenOfMethanol-oxygenOfEthanol))
	}
	return Liquid{Density: density, Viscosity: math.Exp(l)}, nil
}

const (
	oxygenOfEthanol  = 0.34729 // by mass, C2H6O
	oxygenOfMethanol = 0.49932 // by mass, CH4O
)

// An andrade is a liquid's viscosity over temperature.
type andrade struct {
	atZero float64 // μ0, of 273.15 K, Pa s
	slope  float64 // B, K
}

func (a andrade) log(T float64) float64 { return math.Log(a.atZero) + a.slope*(1/T-1/273.15) }

// B from two temperatures: ethanol 1.786 mPa s at 0 °C and 0.694 at 50 °C, methanol 0.793 at 0 °C and 0.544 at 25 °C.
// Petrol has heptane's slope, 0.523 mPa s at 0 °C and 0.301 at 50 °C, through 0.50 mPa s at 20 °C.
var (
	ethanol  = andrade{1.786e-3, 1669}
	methanol = andrade{0.793e-3, 1228}
	petrol   = andrade{0.638e-3, 975}
)

func between(a, b, share float64) float64 { return a + (b-a)*share }

func positive(x float64) bool { return x > 0 && !math.IsInf(x, 1) }

func notNegative(x float64) bool { return x >= 0 && !math.IsInf(x, 1) }
