// Package fuel computes what a fuel brings to the engine: its elements, heating value, density and octane numbers, and the
// charge it makes with the air of the venue, before and after it has burned.
//
// Everything is in SI: Pa absolute, K, kg, J. Enthalpies are absolute (elements at 298.15 K), as in package gas.
package fuel

import (
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/gas"
)

// Atomic masses, kg/mol. Source: IUPAC abridged standard atomic weights, 2021.
const (
	carbonMass   = 12.011e-3
	hydrogenMass = 1.008e-3
	oxygenMass   = 15.999e-3
	nitrogenMass = 14.007e-3
)

// Heats of formation of the complete products, J/mol at 298.15 K. Source: NASA/TP-2002-211556.
const (
	formationCO2 = -393510.0
	formationH2O = -241826.0
)

// DensityTemperature is the temperature, K, at which Density is stated, 20 °C.
const DensityTemperature = 293.15

// The temperatures, K, between which the density of the liquid is known. What converts −20 °C leaves a last digit below the
// first of them, which belongs to the range.
const coldestLiquid, hottestLiquid = 253.15, 333.15

// A Fuel is a fuel, liquid unless it says so. Named, Blend, New and Override make it complete; a literal is not.
type Fuel struct {
	Name                     string
	Carbon, Hydrogen, Oxygen float64 // atoms in the mean molecule
	Nitrogen                 float64 // atoms in the mean molecule
	Gaseous                  bool    // it comes to the engine as a gas: it has no liquid's density and no latent heat
	Unrated                  bool    // it has no octane number
	MolarMass                float64 // of the mean molecule, kg/mol
	LowerHeatingValue        float64 // of the liquid, the water formed left as vapour, at 298.15 K, J/kg
	Density                  float64 // of the liquid at 293.15 K, kg/m³
	Expansion                float64 // thermal expansion of the liquid at 293.15 K, 1/K
	LatentHeat               float64 // of evaporation at 298.15 K, J/kg
	LiquidHeatCapacity       float64 // J/(kg K)
	RON, MON                 float64 // research and motor octane number
	Octane                   float64 // octane number of the knock model where it is not the RON; zero for the RON

	vapour gas.Mixture // a kilogram of vapour, absolute enthalpy
}

// A Definition describes a fuel for New, or what to change in one for Override.
type Definition struct {
	Name                     string
	Carbon, Hydrogen, Oxygen float64 // atoms in the mean molecule, or their ratios to one carbon
	Nitrogen                 float64 // likewise
	MolarMass                float64 // kg/mol; zero: the formula's own or, where that is only a ratio, that of the surrogate
	LowerHeatingValue        float64 // J/kg
	Density                  float64 // kg/m³ at 293.15 K
	Expansion                float64 // 1/K; zero: 1.0e-3, common practice for petrol
	LatentHeat               float64 // J/kg at 298.15 K
	LiquidHeatCapacity       float64 // J/(kg K); zero: 2150, common practice for petrol
	RON, MON                 float64
	Octane                   float64 // octane number of the knock model; zero: the RON
}

// New returns the fuel of a definition.
//
// No molecule of a liquid fuel is lighter than methanol's 0.032 kg/mol, so a lighter formula ("CH1.87") is taken as a ratio
// and scaled to the molar mass. The heat capacity of the vapour, per kilogram, is that of the surrogate of isooctane,
// toluene and ethanol (methanol too, where ethanol alone cannot bring the oxygen, and nitromethane for nitrogen) with the same
// ratios to carbon, or the nearest such mixture: common practice, no source. Only the vapour, a few percent of the charge of
// petrol and alcohol, is affected. A figure outside the ranges of liquid fuels is an error, and so are figures that contradict
// each other, a *ContradictionError.
func New(d Definition) (Fuel, error) {
	if err := d.checkFormula(); err != nil {
		return Fuel{}, err
	}
	if err := d.checkFigures(true); err != nil {
		return Fuel{}, err
	}
	f := Fuel{
		Name: d.Name, Carbon: d.Carbon, Hydrogen: d.Hydrogen, Oxygen: d.Oxygen, Nitrogen: d.Nitrogen,
		LowerHeatingValue: d.LowerHeatingValue, Density: d.Density, Expansion: d.Expansion,
		LatentHeat: d.LatentHeat, LiquidHeatCapacity: d.LiquidHeatCapacity,
		RON: d.RON, MON: d.MON, Octane: d.Octane, MolarMass: d.MolarMass,
	}
	if f.Expansion == 0 {
		f.Expansion = 1.0e-3
	}
	if f.LiquidHeatCapacity == 0 {
		f.LiquidHeatCapacity = 2150
	}
	vapour, surrogateMass, err := surrogate(d.Hydrogen/d.Carbon, d.Oxygen/d.Carbon, d.Nitrogen/d.Carbon)
	if err != nil {
		return Fuel{}, err
	}
	own := formulaMass(d.Carbon, d.Hydrogen, d.Oxygen, d.Nitrogen)
	if f.MolarMass == 0 {
		f.MolarMass = own
		if own < 0.030 {
			f.MolarMass = surrogateMass
		}
	}
	k := f.MolarMass / own
	f.Carbon, f.Hydrogen, f.Oxygen, f.Nitrogen = k*f.Carbon, k*f.Hydrogen, k*f.Oxygen, k*f.Nitrogen
	if err := f.contradiction(); err != nil {
		return Fuel{}, err
	}
	f.vapour = vapour.WithGasConstant(gas.MolarGasConstant / f.MolarMass)
	return f.anchored(), nil
}

// checkFormula returns what is wrong with the atoms. A fuel needs air: a quarter of a mole of oxygen or more for each atom of
// carbon. Nitromethane, which needs the least of the fuels known here, takes three quarters.
func (d *Definition) checkFormula() error {
	nitrogen := d.Nitrogen / d.Carbon
	return d.check([]figure{
		{"carbon", d.Carbon, 0.01, 20, "atoms"},
		{"nitrogen to carbon ratio", nitrogen, 0, 1.01, ""},
		{"hydrogen to carbon ratio", d.Hydrogen / d.Carbon, 0.8, 4.01, ""},
		{"oxygen to carbon ratio", d.Oxygen / d.Carbon, 0, 1.01 + 2*nitrogen, ""},
		{"oxygen needed to carbon", (d.Carbon + d.Hydrogen/4 - d.Oxygen/2) / d.Carbon, 0.25, 3, "mol"},
		{"molar mass", d.MolarMass, 0.030, 0.250, "kg/mol"},
	}, "molar mass")
}

// checkFigures returns what is wrong with the figures that are given. With whole, those without a default must be.
func (d *Definition) checkFigures(whole bool) error {
	optional := []string{"expansion", "liquid heat capacity", "octane number"}
	if !whole {
		optional = append(optional, "lower heating value", "density", "latent heat", "RON", "MON")
	}
	return d.check([]figure{
		{"lower heating value", d.LowerHeatingValue, 10e6, 50e6, "J/kg"},
		{"density", d.Density, 600, 1300, "kg/m³"},
		{"expansion", d.Expansion, 0.5e-3, 2e-3, "1/K"},
		{"latent heat", d.LatentHeat, 150e3, 1300e3, "J/kg"},
		{"liquid heat capacity", d.LiquidHeatCapacity, 1500, 3000, "J/(kg K)"},
		{"RON", d.RON, 40, 130, ""},
		{"MON", d.MON, 40, 130, ""},
		{"octane number", d.Octane, 40, 130, ""},
	}, optional...)
}

// A figure is one number of a definition with its range.
type figure struct {
	name             string
	value, low, high float64
	unit             string
}

// check returns an error for the first figure outside its range; one of the optional ones may be zero.
func (d *Definition) check(figures []figure, optional ...string) error {
	for _, r := range figures {
		if r.value == 0 && slices.Contains(optional, r.name) {
			continue
		}
		if err := gas.CheckRange(r.name, r.value, r.low, r.high, r.unit); err != nil {
			return fmt.Errorf("fuel %s: %w", d.Name, err)
		}
	}
	return nil
}

// Override returns the fuel with the figures of d that are not zero in place of its own: a delivery's measured density, say,
// in place of the grade's. The formula and molar mass cannot be overridden; giving them, or a figure outside the ranges
// of New, is an error. The heat of formation follows the heating value.
func (f Fuel) Override(d Definition) (Fuel, error) {
	if d.Carbon != 0 || d.Hydrogen != 0 || d.Oxygen != 0 || d.Nitrogen != 0 || d.MolarMass != 0 {
		return Fuel{}, fmt.Errorf("fuel %s: its formula cannot be overridden; define a fuel of its own", f.Name)
	}
	if d.Name == "" {
		d.Name = f.Name
	}
	if err := d.checkFigures(false); err != nil {
		return Fuel{}, err
	}
	if f.Gaseous && (d.Density != 0 || d.LatentHeat != 0 || d.Expansion != 0 || d.LiquidHeatCapacity != 0) {
		return Fuel{}, fmt.Errorf("fuel %s: it is a gas, which has no liquid's density, expansion, heat capacity or latent heat", f.Name)
	}
	for _, p := range []struct {
		to   *float64
		from float64
	}{
		{&f.LowerHeatingValue, d.LowerHeatingValue}, {&f.Density, d.Density}, {&f.Expansion, d.Expansion},
		{&f.LatentHeat, d.LatentHeat}, {&f.LiquidHeatCapacity, d.LiquidHeatCapacity},
		{&f.RON, d.RON}, {&f.MON, d.MON}, {&f.Octane, d.Octane},
	} {
		if p.from != 0 {
			*p.to = p.from
		}
	}
	f.Name = d.Name
	f.Unrated = f.Unrated && f.RON == 0
	if d.LowerHeatingValue != 0 || d.Density != 0 {
		if err := f.contradiction(); err != nil {
			return Fuel{}, err
		}
	}
	return f.anchored(), nil
}

func formulaMass(c, h, o, n float64) float64 {
	return c*carbonMass + h*hydrogenMass + o*oxygenMass + n*nitrogenMass
}

// anchored sets the vapour's enthalpy at 298.15 K so that burning the liquid releases the lower heating value.
func (f Fuel) anchored() Fuel {
	products := (f.Carbon*formationCO2 + f.Hydrogen/2*formationH2O) / f.MolarMass
	f.vapour = f.vapour.WithEnthalpy(gas.ReferenceTemperature, products+f.LowerHeatingValue+f.LatentHeat)
	return f
}

// KnockOctane returns the octane number for the knock model: Octane or, where that is zero, the octane index. It is zero for a
// fuel that is Unrated.
//
//	OI = RON − K (RON − MON), K = 0
//
// K tells where an engine lies between the two octane tests. It falls as the charge gets cooler for its pressure: near 0.5
// in old aspirated engines, about zero and below under boost with a charge cooler. Source: Kalghatgi, SAE 2001-01-3584, from
// memory. The delay correlations were fitted to primary reference fuels, for which RON and MON are the same. An engine with
// a hot charge needs an Octane of its own.
func (f Fuel) KnockOctane() float64 {
	if f.Octane != 0 {
		return f.Octane
	}
	return f.RON
}

// StoichiometricAirFuelRatio returns the mass of air, kg, that burns a kilogram of the fuel completely.
//
//	AFR = (C + H/4 − O/2)/x M_air/M_fuel
//
// x is the mole fraction of oxygen in the air, M_air its molar mass. Dry air gives the ratio by which lambda is counted.
// It is infinite for air without oxygen. Source: Heywood, Internal Combustion Engine Fundamentals (1988), section 3.4.
func (f Fuel) StoichiometricAirFuelRatio(air gas.Composition) float64 {
	return f.oxygenDemand() / air[gas.O2] * air.Mass() / f.MolarMass
}

// Alcohols returns the mole shares of ethanol and methanol in the fuel. They are what its oxygen would be as alcohol: ethanol up to one atom of
// oxygen to two of carbon, methanol beyond that. The rest of the fuel is counted with the carbon of isooctane and toluene, as the vapour's.
func (f Fuel) Alcohols() (ethanol, methanol float64) {
	if f.Oxygen <= 0 || f.Carbon <= 0 || f.Nitrogen > 0 {
		return 0, 0
	}
	oc := f.Oxygen / f.Carbon
	// Moles that together hold one mole of carbon, as in surrogate.
	if oc <= 0.5 {
		ethanol = oc
	} else {
		methanol = min(2*oc-1, 1)
		ethanol = (1 - methanol) / 2
	}
	const restCarbon = 7.2 // atoms, of the mean hydrocarbon of petrol
	moles := ethanol + methanol + max(1-2*ethanol-methanol, 0)/restCarbon
	return ethanol / moles, methanol / moles
}

// VapourShare returns the share of the volume of a charge that the fuel takes as a gas or evaporated whole, a fraction.
//
//	x = 1/(1 + AFR M/Mair)
//
// airFuelRatio is AFR, kg of dry air per kg of fuel; Mair is the molar mass of dry air, 28.965 g/mol. Source: ideal gases.
func (f Fuel) VapourShare(airFuelRatio float64) float64 {
	air := gas.DryAir()
	return 1 / (1 + airFuelRatio*f.MolarMass/air.MolarMass())
}

// oxygenDemand is in mol O2 per mol of fuel.
func (f Fuel) oxygenDemand() float64 { return f.Carbon + f.Hydrogen/4 - f.Oxygen/2 }

// MixtureEnergy returns the heat released per kilogram of dry air at stoichiometric mixture, LHV/AFR, J/kg. It varies much
// less between fuels than the heating value, since an engine is limited by its air.
func (f Fuel) MixtureEnergy() float64 {
	return f.LowerHeatingValue / f.StoichiometricAirFuelRatio(gas.DryAir())
}

// DensityAt returns the density of the liquid, kg/m³, at the temperature T, K.
//
//	ρ = ρ20 (1 − β (T − 293.15))
//
// Linear from 20 °C with the fuel's own expansion β; within 0.3 % of the DIPPR fits of the pure components from 253 K to
// 333 K. A temperature outside that range is an error, and so is a fuel that is a gas.
func (f Fuel) DensityAt(T float64) (float64, error) {
	if f.Gaseous {
		return 0, fmt.Errorf("%s is a gas: it has no liquid's density", f.Name)
	}
	if err := gas.CheckRange("fuel temperature", math.Round(T*1e9)/1e9, coldestLiquid, hottestLiquid, "K"); err != nil {
		return 0, err
	}
	return f.Density * (1 - f.Expansion*(T-DensityTemperature)), nil
}

// LiquidEnthalpy returns the absolute enthalpy of the liquid, J/kg, at the temperature T, K.
//
//	h = h_vapour(298.15) − latent heat + c (T − 298.15)
//
// c is the liquid's heat capacity near 298 K, so that liquid plus latent heat is vapour at 298.15 K.
// Fair from 253 K to 333 K, where c changes by less than 10 %; not checked.
func (f Fuel) LiquidEnthalpy(T float64) float64 {
	return f.vapour.Enthalpy(gas.ReferenceTemperature) - f.LatentHeat + f.LiquidHeatCapacity*(T-gas.ReferenceTemperature)
}

// surrogate returns a kilogram of vapour with about the given atomic ratios to carbon, and its molar mass, kg/mol.
func surrogate(hc, oc, nc float64) (gas.Mixture, float64, error) {
	// Moles of each component that together hold one mole of carbon. Nitromethane brings the nitrogen.
	nitro := min(nc, 1)
	c := 1 - nitro
	hc, oc = max(hc-3*nitro, 0), max(oc-2*nitro, 0)
	var methanol, ethanol float64
	if oc <= 0.5*c {
		ethanol = oc
	} else {
		methanol = min(2*oc-c, c)
		ethanol = (c - methanol) / 2
	}
	c = max(c-2*ethanol-methanol, 0)
	h := hc - 6*ethanol - 4*methanol
	// 8 i + 7 t = c, 18 i + 8 t = h: isooctane and toluene for the rest, held where one of them would be negative.
	i := min(max((7*h-8*c)/(7*18-8*8), 0), c/8)
	t := (c - 8*i) / 7
	var shares []gas.Share
	var moles, mass float64
	for _, p := range []struct {
		n float64
		k component
	}{{i, isooctane}, {t, toluene}, {ethanol, alcohol}, {methanol, woodAlcohol}, {nitro, nitromethane}} {
		v, err := p.k.vapour()
		if err != nil {
			return gas.Mixture{}, 0, err
		}
		m := p.n * p.k.molarMass()
		shares = append(shares, gas.Share{Mixture: v, Mass: m})
		moles += p.n
		mass += m
	}
	v, err := gas.Combine(shares...)
	if err != nil {
		return gas.Mixture{}, 0, err
	}
	return v, mass / moles, nil
}

// A Part is one fuel of a Blend.
type Part struct {
	Fuel           Fuel
	VolumeFraction float64
}

// alcoholRatio is the oxygen to carbon ratio from which a part counts as alcohol in the octane rule: E85 is above it,
// petrol with its few percent of ethanol far below.
const alcoholRatio = 0.3

// Blend returns the fuel that the parts make by volume at 293.15 K.
//
// Volumes add (no excess volume). Heating value, latent heat and heat capacities are means by mass, the formula the mean by
// moles. Octane numbers: among hydrocarbons by volume, which is exact for primary reference fuels by definition; alcohols
// against the hydrocarbon part by moles, after Anderson et al., Energy & Fuels 24 (2010) 6576. A measured number is better:
// see Override. With a part that has no octane number the blend has none. Fractions that are not positive or do not add up to 1
// within 1e-6, and no parts, are errors.
func Blend(parts []Part) (Fuel, error) {
	var sum float64
	for _, p := range parts {
		if !(p.VolumeFraction > 0 && p.VolumeFraction <= 1+1e-6) {
			return Fuel{}, fmt.Errorf("blend: volume fraction of %s is %v; want more than 0 to 1", p.Fuel.Name, p.VolumeFraction)
		}
		if !p.Fuel.complete() {
			return Fuel{}, fmt.Errorf("blend: %q is not a complete fuel", p.Fuel.Name)
		}
		if p.Fuel.Gaseous {
			return Fuel{}, fmt.Errorf("blend: %s is a gas; the shares are those of liquids by volume", p.Fuel.Name)
		}
		sum += p.VolumeFraction
	}
	if !(math.Abs(sum-1) <= 1e-6) {
		return Fuel{}, fmt.Errorf("blend: volume fractions add up to %v; want 1", sum)
	}
	f := Fuel{Name: "blend"}
	var mass, moles float64
	var volume, amount [2]float64 // of hydrocarbons and of alcohols
	var ron, mon [2]float64
	shares := make([]gas.Share, 0, len(parts))
	for _, p := range parts {
		v := p.VolumeFraction / sum
		m := v * p.Fuel.Density
		n := m / p.Fuel.MolarMass
		mass += m
		moles += n
		f.Carbon += n * p.Fuel.Carbon
		f.Hydrogen += n * p.Fuel.Hydrogen
		f.Oxygen += n * p.Fuel.Oxygen
		f.Nitrogen += n * p.Fuel.Nitrogen
		f.Unrated = f.Unrated || p.Fuel.Unrated
		f.LowerHeatingValue += m * p.Fuel.LowerHeatingValue
		f.LatentHeat += m * p.Fuel.LatentHeat
		f.LiquidHeatCapacity += m * p.Fuel.LiquidHeatCapacity
		f.Expansion += v * p.Fuel.Expansion
		shares = append(shares, gas.Share{Mixture: p.Fuel.vapour, Mass: m})
		group, weight := 0, v
		if p.Fuel.Oxygen >= alcoholRatio*p.Fuel.Carbon {
			group, weight = 1, n
		}
		volume[group] += weight
		amount[group] += n
		ron[group] += weight * p.Fuel.RON
		mon[group] += weight * p.Fuel.MON
	}
	f.Density = mass
	f.MolarMass = mass / moles
	f.Carbon, f.Hydrogen, f.Oxygen, f.Nitrogen = f.Carbon/moles, f.Hydrogen/moles, f.Oxygen/moles, f.Nitrogen/moles
	f.LowerHeatingValue /= mass
	f.LatentHeat /= mass
	f.LiquidHeatCapacity /= mass
	for g := range volume {
		if volume[g] > 0 && !f.Unrated {
			f.RON += amount[g] / moles * ron[g] / volume[g]
			f.MON += amount[g] / moles * mon[g] / volume[g]
		}
	}
	v, err := gas.Combine(shares...)
	if err != nil {
		return Fuel{}, fmt.Errorf("blend: %w", err)
	}
	f.vapour = v
	return f.anchored(), nil
}

func (f *Fuel) complete() bool {
	return f.vapour.GasConstant() > 0 && f.MolarMass > 0 && (f.Density > 0 || f.Gaseous)
}
