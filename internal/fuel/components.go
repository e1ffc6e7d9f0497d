package fuel

import (
	"math"

	"bellmouth/internal/gas"
)

// A component is a pure substance that fuels are blended from.
type component int

const (
	isooctane component = iota
	heptane
	toluene
	alcohol     // ethanol
	woodAlcohol // methanol
	nitromethane
	methane
	hydrogen
	componentCount
)

// A substance is the data of a component.
type substance struct {
	name                     string
	carbon, hydrogen, oxygen float64
	nitrogen                 float64
	gas, unrated             bool
	liquid, gaseous          float64    // heat of formation at 298.15 K, J/mol
	density                  [4]float64 // ρ = C1/C2^(1 + (1 − T/C3)^C4)
	heatCapacity             float64    // J/(kg K)
	ron, mon                 float64
	low, high                gas.Fit
}

// components holds the pure substances.
//
// Heats of formation, liquid and gas, and the fits of the vapour: NASA/TP-2002-211556, whose liquid and gaseous figures also
// give the heat of evaporation. Liquid density: DIPPR equation 105 as in Perry's Chemical Engineers' Handbook, 8th ed., table
// 2-32, kmol/m³. Liquid heat capacity near 298 K and octane numbers: handbook values, from memory (isooctane and
// n-heptane define the octane scale). Nitromethane: heat of formation of the liquid and heat of evaporation at 298.15 K from
// the CRC Handbook of Chemistry and Physics, density by the same equation and table, all from memory; its vapour by the
// seven coefficients of Burcat and Ruscic, ANL-05/20 (2005), from memory, which meet each other at 1000 K.
// Methane and hydrogen are gases and have no liquid's figures. An octane number of none of those three is known: they are
// unrated, since methane and hydrogen lie off the scale and nitromethane ignites of itself in ways that the scale does not rank.
var components = [componentCount]substance{
	isooctane: {
		name: "isooctane", carbon: 8, hydrogen: 18, oxygen: 0,
		liquid: -259160, gaseous: -224010,
		density: [4]float64{0.59059, 0.27424, 543.8, 0.2847}, heatCapacity: 2090,
		ron: 100, mon: 100,
		low:  gas.Fit{-168875.8565, 3126.903227, -21.23502828, 0.1489151508, -0.0001151180135, 4.47321617e-08, -5.55488207e-12, -44680.6062, 141.7455793},
		high: gas.Fit{13527650.32, -46633.7034, 77.9531318, 0.01423729984, -5.07359391e-06, 7.24823297e-10, -3.81919011e-14, 254117.8017, -493.388719},
	},
	heptane: {
		name: "n-heptane", carbon: 7, hydrogen: 16, oxygen: 0,
		liquid: -224350, gaseous: -187780,
		density: [4]float64{0.61259, 0.26211, 540.2, 0.28141}, heatCapacity: 2242,
		ron: 0, mon: 0,
		low:  gas.Fit{-612743.289, 11840.85437, -74.871886, 0.2918466052, -0.000341679549, 2.159285269e-07, -5.65585273e-11, -80134.0894, 440.721332},
		high: gas.Fit{9135632.47, -39233.1969, 78.8978085, -0.00465425193, 2.071774142e-06, -3.4425393e-10, 1.976834775e-14, 205070.8295, -485.110402},
	},
	toluene: {
		name: "toluene", carbon: 7, hydrogen: 8, oxygen: 0,
		liquid: 12180, gaseous: 50170,
		density: [4]float64{0.8792, 0.27136, 591.75, 0.29241}, heatCapacity: 1707,
		ron: 120, mon: 109,
		low:  gas.Fit{-287796.222, 6133.94152, -45.7470676, 0.1936895724, -0.0002304305304, 1.459301178e-07, -3.7907961e-11, -23084.02499, 269.3915042},
		high: gas.Fit{6184538.35, -29902.84056, 59.8200597, -0.00569698396, 1.080748416e-06, -1.098702235e-10, 4.62474022e-15, 178204.7857, -369.808225},
	},
	alcohol: {
		name: "ethanol", carbon: 2, hydrogen: 6, oxygen: 1,
		liquid: -277510, gaseous: -234950,
		density: [4]float64{1.6288, 0.27469, 514, 0.23178}, heatCapacity: 2438,
		ron: 108.6, mon: 89.7,
		low:  gas.Fit{-234279.1392, 4479.18055, -27.44817302, 0.1088679162, -0.0001305309334, 8.4373464e-08, -2.234559017e-11, -50222.29, 176.4829211},
		high: gas.Fit{4694817.65, -19297.98213, 34.4758404, -0.00323616598, 5.78494772e-07, -5.56460027e-11, 2.2262264e-15, 86016.2271, -203.4801732},
	},
	woodAlcohol: {
		name: "methanol", carbon: 1, hydrogen: 4, oxygen: 1,
		liquid: -238910, gaseous: -200940,
		density: [4]float64{2.3267, 0.27073, 512.5, 0.24713}, heatCapacity: 2531,
		ron: 108.7, mon: 88.6,
		low:  gas.Fit{-241664.2886, 4032.14719, -20.46415436, 0.0690369807, -7.59893269e-05, 4.59820836e-08, -1.158706744e-11, -44332.6117, 140.014219},
		high: gas.Fit{3411570.76, -13455.00201, 22.61407623, -0.002141029179, 3.73005054e-07, -3.49884639e-11, 1.366073444e-15, 56360.8156, -127.7814279},
	},
	nitromethane: {
		name: "nitromethane", carbon: 1, hydrogen: 3, oxygen: 2, nitrogen: 1, unrated: true,
		liquid: -112600, gaseous: -74330,
		density: [4]float64{1.3728, 0.23793, 588.15, 0.29601}, heatCapacity: 1747,
		low:  gas.Fit{0, 0, 3.54053638, 1.86559899e-03, 4.44946580e-05, -5.87057133e-08, 2.30684496e-11, -1.11385976e+04, 10.6884657},
		high: gas.Fit{0, 0, 6.73034758, 1.09601272e-02, -4.05357875e-06, 6.67102246e-10, -4.04686823e-14, -1.29143475e+04, -10.1800883},
	},
	methane: {
		name: "methane", carbon: 1, hydrogen: 4, gas: true, unrated: true,
		liquid: -74600, gaseous: -74600,
		low:  gas.Fit{-176685.0998, 2786.18102, -12.0257785, 0.0391761929, -3.61905443e-05, 2.026853043e-08, -4.97670549e-12, -23313.1436, 89.0432275},
		high: gas.Fit{3730042.76, -13835.01485, 20.49107091, -0.001961974759, 4.72731304e-07, -3.72881469e-11, 1.623737207e-15, 75320.6691, -121.9124889},
	},
	hydrogen: {
		name: "hydrogen", hydrogen: 2, gas: true, unrated: true,
		low:  gas.Fit{40783.2321, -800.918604, 8.21470201, -0.01269714457, 1.753605076e-05, -1.20286027e-08, 3.36809349e-12, 2682.484665, -30.43788844},
		high: gas.Fit{560812.801, -837.150474, 2.975364532, 0.001252249124, -3.74071619e-07, 5.9366252e-11, -3.6069941e-15, 5339.82441, -2.202774769},
	},
}

func (k component) molarMass() float64 {
	c := &components[k]
	return formulaMass(c.carbon, c.hydrogen, c.oxygen, c.nitrogen)
}

// vapour returns a kilogram of the substance's vapour.
func (k component) vapour() (gas.Mixture, error) {
	c := &components[k]
	return gas.NewSpecies(k.molarMass(), c.low, c.high)
}

// densityAt returns the liquid density, kg/m³, at T, K.
func (k component) densityAt(T float64) float64 {
	c := &components[k].density
	return 1000 * k.molarMass() * c[0] / math.Pow(c[1], 1+math.Pow(1-T/c[2], c[3]))
}

func (k component) fuel() (Fuel, error) {
	c := &components[k]
	M := k.molarMass()
	v, err := k.vapour()
	if err != nil {
		return Fuel{}, err
	}
	f := Fuel{
		Name: c.name, Carbon: c.carbon, Hydrogen: c.hydrogen, Oxygen: c.oxygen, Nitrogen: c.nitrogen, MolarMass: M,
		Gaseous: c.gas, Unrated: c.unrated,
		LowerHeatingValue:  (c.liquid - c.carbon*formationCO2 - c.hydrogen/2*formationH2O) / M,
		LatentHeat:         (c.gaseous - c.liquid) / M,
		LiquidHeatCapacity: c.heatCapacity,
		RON:                c.ron, MON: c.mon,
		vapour: v,
	}
	if c.gas { // its enthalpy over temperature, where a liquid's is asked for
		f.LiquidHeatCapacity = v.Cp(gas.ReferenceTemperature)
		return f.anchored(), nil
	}
	f.Density = k.densityAt(DensityTemperature)
	f.Expansion = (k.densityAt(DensityTemperature-0.5) - k.densityAt(DensityTemperature+0.5)) / f.Density
	return f.anchored(), nil
}
