package cooling

import (
	"fmt"
	"math"
)

// MostGlycol is the highest share of ethylene glycol by volume: beyond it coolants are not mixed.
const MostGlycol = 0.7

// A Coolant is water with ethylene glycol.
type Coolant struct {
	Glycol float64 // share by volume, mixed at 20 °C
}

// A liquid is what the mixture's figures are made of.
type liquid struct {
	cold         float64 // density at 20 °C, kg/m³
	density      float64 // kg/m³, and the rest, at 90 °C
	heat         float64 // specific heat, J/(kg K)
	conductivity float64 // W/(m K)
	viscosity    float64 // Pa s
	molar        float64 // kg/mol
}

// Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, tables A.5 and A.6, between their rows; densities at 20 °C of handbooks. From memory.
var (
	water  = liquid{cold: 998.2, density: 965.3, heat: 4206, conductivity: 0.6757, viscosity: 314e-6, molar: 18.015e-3}
	glycol = liquid{cold: 1113, density: 1071, heat: 2696, conductivity: 0.2613, viscosity: 2.62e-3, molar: 62.07e-3}
)

// Validate returns an error when a figure is outside its range.
func (c Coolant) Validate() error {
	if !(c.Glycol >= 0 && c.Glycol <= MostGlycol) {
		return fmt.Errorf("share of glycol is %v; want 0 to %v", c.Glycol, MostGlycol)
	}
	return nil
}

// mass returns the share of glycol by mass w = φ ρg/(φ ρg + (1 − φ) ρw).
func (c Coolant) mass() float64 {
	g, w := c.Glycol*glycol.cold, (1-c.Glycol)*water.cold
	return g / (g + w)
}

// SpecificHeat returns the specific heat cp at 90 °C, J/(kg K): w cg + (1 − w) cw, as of an ideal mixture. That of a real one is some per cent more, so that
// this errs hot. Between 80 and 120 °C it moves by less than 2 %.
func (c Coolant) SpecificHeat() float64 {
	w := c.mass()
	return w*glycol.heat + (1-w)*water.heat
}

// Density returns the density at 90 °C ρ, kg/m³, without a change of volume by mixing: 1/(w/ρg + (1 − w)/ρw).
func (c Coolant) Density() float64 {
	w := c.mass()
	return 1 / (w/glycol.density + (1-w)/water.density)
}

// Fill returns the mass of a volume, m³, filled at 20 °C, kg.
func (c Coolant) Fill(volume float64) float64 {
	return volume * (c.Glycol*glycol.cold + (1-c.Glycol)*water.cold)
}

// film returns what the heat transfer coefficient at a tube's wall goes with besides velocity and bore: k^0.7 cp^0.3 ρ^0.8 μ^−0.5.
//
// Source: Dittus and Boelter, Nu = 0.023 Re^0.8 Pr^0.3 of a liquid that is cooled, as printed by Incropera and DeWitt, eq. 8.60; from memory. Conductivity
// and ln of the viscosity of the mixture by mass: common practice, no source. Turbulent tubes, Re above 10 000.
func (c Coolant) film() float64 {
	w := c.mass()
	k := w*glycol.conductivity + (1-w)*water.conductivity
	mu := math.Exp(w*math.Log(glycol.viscosity) + (1-w)*math.Log(water.viscosity))
	return math.Pow(k, 0.7) * math.Pow(c.SpecificHeat(), 0.3) * math.Pow(c.Density(), 0.8) * math.Pow(mu, -0.5)
}

// Boiling returns the temperature at which the coolant boils under a pressure, Pa absolute, K.
//
//	T = Ts(p/x),  x = mole fraction of the water
//
// Source: Raoult's law with the vapour of the glycol left out, which at these temperatures has a hundredth of the water's pressure; Ts by IAPWS-IF97.
func (c Coolant) Boiling(pressure float64) (float64, error) {
	if err := c.Validate(); err != nil {
		return 0, err
	}
	w := (1 - c.Glycol) * water.cold / water.molar
	g := c.Glycol * glycol.cold / glycol.molar
	return boilingWater(pressure * (w + g) / w)
}
