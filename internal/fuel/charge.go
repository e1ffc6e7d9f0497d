package fuel

import (
	"fmt"
	"math"

	"bellmouth/internal/gas"
)

// The relative air-fuel ratios for which Charge holds.
const (
	LowestLambda  = 0.5
	HighestLambda = 2.0
)

// frozenWaterGas is the equilibrium constant K = pCO pH2O/(pCO2 pH2) of burned rich charge, dimensionless: the water-gas
// reaction freezes near 1740 K as the gas expands. Source: Heywood, Internal Combustion Engine Fundamentals (1988), section 4.9.2.
const frozenWaterGas = 3.5

// A Charge is a kilogram of air and fuel vapour, before and after burning.
type Charge struct {
	Lambda               float64 // relative air-fuel ratio, by dry air
	AirFuelRatio         float64 // kg of dry air per kg of fuel
	FuelFraction         float64 // mass of fuel in a kilogram of charge
	DryAirFraction       float64 // mass of dry air in a kilogram of charge
	WaterFraction        float64 // mass of the air's humidity in a kilogram of charge
	Unburned, Burned     gas.Mixture
	Products             gas.Composition // mol in a kilogram of burned charge
	HeatReleased         float64         // at 298.15 K, from vapour fuel, J per kg of charge
	CombustionEfficiency float64         // share of the liquid fuel's lower heating value that is released
}

// Charge returns the charge of the fuel with the air at lambda.
//
// Lean and stoichiometric charge burns to CO2, H2O and the oxygen left over. Rich charge uses up its oxygen, and the
// water-gas equilibrium at its frozen constant of 3.5 shares it between CO, CO2, H2 and H2O; humidity and the air's carbon
// dioxide take part. Both mixtures hold the same atoms on the same absolute scale, so
//
//	Unburned.Enthalpy(298.15) − Burned.Enthalpy(298.15) = HeatReleased
//
// which is the fuel's lower heating value plus its latent heat when lean, less what CO and H2 keep when rich.
// Source: Heywood, Internal Combustion Engine Fundamentals (1988), sections 3.4, 3.5 and 4.9.2. There is no dissociation:
// near lambda 1 true flame temperatures are 100 K to 200 K lower.
// Lambda outside 0.5 to 2, air that Validate refuses and an incomplete fuel are errors, and so is charge so rich that it would soot.
func (f Fuel) Charge(air gas.Air, lambda float64) (Charge, error) {
	if err := gas.CheckRange("lambda", lambda, LowestLambda, HighestLambda, ""); err != nil {
		return Charge{}, err
	}
	if !f.complete() {
		return Charge{}, fmt.Errorf("fuel %q is incomplete", f.Name)
	}
	moist, err := air.Mixture()
	if err != nil {
		return Charge{}, err
	}
	dry := gas.DryAir()
	c := Charge{Lambda: lambda, AirFuelRatio: lambda * f.StoichiometricAirFuelRatio(dry)}
	dryFraction := air.DryAirFraction()
	c.FuelFraction = 1 / (1 + c.AirFuelRatio/dryFraction)
	c.DryAirFraction = c.AirFuelRatio * c.FuelFraction
	c.WaterFraction = c.DryAirFraction * (1 - dryFraction) / dryFraction
	c.Unburned = gas.Mix(moist, f.vapour, c.FuelFraction)

	reactants := dry.Scaled(c.DryAirFraction / dry.Mass())
	reactants[gas.H2O] += c.WaterFraction / gas.H2O.MolarMass()
	n := c.FuelFraction / f.MolarMass
	reactants[gas.N2] += n * f.Nitrogen / 2 // of the fuel, which leaves as the air's does
	c.Products, err = burn(reactants, n*f.Carbon, n*f.Hydrogen, n*f.Oxygen, lambda >= 1)
	if err != nil {
		return Charge{}, fmt.Errorf("fuel %s at lambda %.3g: %w", f.Name, lambda, err)
	}
	// The fuel's atomic masses differ from those of the gas fits in the sixth digit; atoms and energy are kept exactly.
	c.Burned, err = gas.NewMixtureOfMass(c.Products, 1)
	if err != nil {
		return Charge{}, fmt.Errorf("fuel %s at lambda %.3g: %w", f.Name, lambda, err)
	}
	c.HeatReleased = c.Unburned.Enthalpy(gas.ReferenceTemperature) - c.Burned.Enthalpy(gas.ReferenceTemperature)
	c.CombustionEfficiency = (c.HeatReleased/c.FuelFraction - f.LatentHeat) / f.LowerHeatingValue
	return c, nil
}

// burn returns the products, mol, of air with fuel atoms, mol. Lean says that there is oxygen enough.
func burn(air gas.Composition, carbon, hydrogen, oxygen float64, lean bool) (gas.Composition, error) {
	p := air
	carbon += air[gas.CO2]
	water := hydrogen/2 + air[gas.H2O]                      // H2O and H2 together
	oxygen += 2*air[gas.O2] + 2*air[gas.CO2] + air[gas.H2O] // atoms
	if lean {
		p[gas.CO2], p[gas.H2O] = carbon, water
		p[gas.O2] = max((oxygen-2*carbon-water)/2, 0) // zero but for rounding at lambda 1
		return p, nil
	}
	w := oxygen - carbon // what is left once every carbon has its first oxygen
	if !(w > 0) {
		return p, fmt.Errorf("not enough oxygen to burn the carbon even to CO")
	}
	// (C−x)(w−x) = K x (h−w+x), with x the moles of CO2 and h those of H2O and H2 together.
	const K = frozenWaterGas
	b := carbon + w + K*(water-w)
	root := math.Sqrt(b*b + 4*(K-1)*carbon*w)
	x := 2 * carbon * w / (b + root)
	if b < 0 {
		x = (root - b) / (2 * (K - 1))
	}
	p[gas.O2] = 0
	p[gas.CO2] = x
	p[gas.CO] = max(carbon-x, 0)
	p[gas.H2O] = max(w-x, 0)
	p[gas.H2] = max(water-w+x, 0)
	return p, nil
}
