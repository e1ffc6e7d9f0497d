package fuel

import (
	"fmt"
	"strconv"
)

// heatPerOxygen is the heat, J, that a fuel of carbon, hydrogen and oxygen releases for each kilogram of oxygen it consumes, at
// 298.15 K and with the water left as vapour. Source: Thornton, Philosophical Magazine 33 (1917) 196, that it hardly depends on
// the fuel; Huggett, Fire and Materials 4 (1980) 61, this mean, within 5 % for fuels in use. Both from memory.
const heatPerOxygen = 13.1e6

// How far a heating value may lie from that mean. Twice Huggett's 5 %, since a mean formula and a measured heating value have
// their own errors. The nitro group holds its oxygen loosely, but not for nothing: nitromethane lies 12 % below.
const (
	heatSpread      = 0.10
	heatSpreadNitro = 0.15 // downwards, of a fuel with nitrogen
)

// densestHydrocarbon is the highest density, kg/m³ at 20 °C, of a liquid without oxygen and nitrogen: methylnaphthalene has
// 1020, from memory.
const densestHydrocarbon = 1050

// A ContradictionError reports a figure of a fuel that its formula does not allow.
type ContradictionError struct {
	Fuel, Formula    string
	Figure           string  // "heating value" or "density"
	Value, Low, High float64 // SI
}

func (e *ContradictionError) Error() string {
	return fmt.Sprintf("fuel %s: %s is %.4g, which %s cannot have; want %.4g to %.4g", e.Fuel, e.Figure, e.Value, e.Formula, e.Low, e.High)
}

// HeatingValues returns the lowest and the highest lower heating value of the liquid, J/kg, that the formula allows.
//
//	LHV = q (C + H/4 − max(O − 2 N, 0)/2) 31.998e-3/M,  q = 13.1 MJ per kg of oxygen
//
// within 10 %, with nitrogen 15 % downwards. Oxygen bound to nitrogen, two atoms to one, burns the rest of the molecule as the
// air's does. Source: Thornton (1917), Huggett (1980). Hydrogen by itself, a fifth above, is no fuel of that kind.
func (f Fuel) HeatingValues() (low, high float64) {
	oxygen := f.Carbon + f.Hydrogen/4 - max(f.Oxygen-2*f.Nitrogen, 0)/2
	q := heatPerOxygen * oxygen * 2 * oxygenMass / f.MolarMass
	down := heatSpread
	if f.Nitrogen > 0 {
		down = heatSpreadNitro
	}
	return q * (1 - down), q * (1 + heatSpread)
}

// contradiction returns a *ContradictionError where formula, heating value and density do not go together.
func (f Fuel) contradiction() error {
	fail := func(figure string, value, low, high float64) error {
		return &ContradictionError{Fuel: f.Name, Formula: f.Formula(), Figure: figure, Value: value, Low: low, High: high}
	}
	if low, high := f.HeatingValues(); f.Carbon > 0 && !(f.LowerHeatingValue >= low && f.LowerHeatingValue <= high) {
		return fail("heating value", f.LowerHeatingValue, low, high)
	}
	if f.Oxygen == 0 && f.Nitrogen == 0 && !f.Gaseous && !(f.Density <= densestHydrocarbon) {
		return fail("density", f.Density, 600, densestHydrocarbon)
	}
	return nil
}

// Formula returns the atoms of the fuel in a line, by one atom of carbon: "CH1.87O0.016".
func (f Fuel) Formula() string {
	per := f.Carbon
	if per == 0 {
		per = 1
	}
	text := ""
	for _, a := range []struct {
		symbol string
		n      float64
	}{{"C", f.Carbon}, {"H", f.Hydrogen}, {"N", f.Nitrogen}, {"O", f.Oxygen}} {
		n, _ := strconv.ParseFloat(strconv.FormatFloat(a.n/per, 'g', 3, 64), 64)
		switch n {
		case 0:
		case 1:
			text += a.symbol
		default:
			text += a.symbol + strconv.FormatFloat(n, 'f', -1, 64)
		}
	}
	return text
}
