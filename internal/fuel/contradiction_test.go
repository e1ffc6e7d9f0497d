package fuel

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/gas"
)

// TestHeatPerOxygen: the fuels whose heats of formation are published lie where the bound expects them. Hydrogen, which is no
// compound of carbon, does not: 120 MJ/kg over 7.94 kg of oxygen is 15.1 MJ/kg.
func TestHeatPerOxygen(t *testing.T) {
	for _, name := range Names() {
		f := named(t, name)
		low, high := f.HeatingValues()
		if name == "hydrogen" {
			assert.Greater(t, f.LowerHeatingValue, high)
			within(t, 15.1/13.1, f.LowerHeatingValue/high*(1+heatSpread), 2e-3)
			continue
		}
		assert.Greater(t, f.LowerHeatingValue, low, name)
		assert.Less(t, f.LowerHeatingValue, high, name)
		if f.Nitrogen == 0 { // Huggett (1980): 5 % for fuels in use
			within(t, high/(1+heatSpread), f.LowerHeatingValue, 0.05, name)
		}
	}
	// Huggett (1980), table of hydrocarbons, from memory: methane 12.54 MJ per kilogram of oxygen.
	m := named(t, "methane")
	within(t, 12.54e6, m.LowerHeatingValue*m.MolarMass/(m.oxygenDemand()*31.998e-3), 1e-3)
}

func TestContradiction(t *testing.T) {
	base := Definition{Name: "formula", Density: 750, LatentHeat: 400e3, RON: 98, MON: 88}
	for _, c := range []struct {
		carbon, hydrogen, oxygen, heat, density float64
		want                                    string
	}{
		{1, 3.59, 0.78, 40.2e6, 750, "heating value"}, // burns with half the air of petrol: not at petrol's heating value
		{1, 1.72, 0.74, 40.2e6, 750, "heating value"},
		{1, 1.87, 0, 20e6, 750, "heating value"},
		{1, 1.87, 0, 43e6, 1100, "density"},
		{1, 1.87, 0.3, 32e6, 1100, ""},
		{1, 1.87, 0, 43e6, 750, ""},
		{1, 4, 1, 19.9e6, 790, ""},
		{1, 3, 0.5, 26.8e6, 790, ""},
	} {
		d := base
		d.Carbon, d.Hydrogen, d.Oxygen, d.LowerHeatingValue, d.Density = c.carbon, c.hydrogen, c.oxygen, c.heat, c.density
		_, err := New(d)
		if c.want == "" {
			assert.NoError(t, err, "%v", c)
			continue
		}
		var contradiction *ContradictionError
		if assert.ErrorAs(t, err, &contradiction, "%v", c) {
			assert.Equal(t, c.want, contradiction.Figure)
			assert.True(t, contradiction.Low < contradiction.High && !(contradiction.Value >= contradiction.Low && contradiction.Value <= contradiction.High))
		}
	}
	// CH3.59O0.78 needs 1 + 3.59/4 − 0.78/2 = 1.5075 mol of oxygen for 28.109 g: 13.1 MJ for each of 48.237 g, by hand.
	d := base
	d.Carbon, d.Hydrogen, d.Oxygen, d.LowerHeatingValue = 1, 3.59, 0.78, 40.2e6
	_, err := New(d)
	assert.EqualError(t, err, "fuel formula: heating value is 4.02e+07, which CH3.59O0.78 cannot have; want 2.023e+07 to 2.473e+07")
	_, err = named(t, "ethanol").Override(Definition{LowerHeatingValue: 43e6})
	assert.ErrorContains(t, err, "which CH3O0.5 cannot have")
}

// TestUnrated holds nitromethane, methane and hydrogen to handbook figures.
func TestUnrated(t *testing.T) {
	// Stoichiometric air: Heywood (1988), table D.4, from memory. Heat of combustion: CRC Handbook, 890.8, 285.8 and 709.2 kJ/mol
	// gross, from memory, less 44.0 kJ/mol for each mole of water.
	for _, c := range []struct {
		name               string
		air, lower, tolAir float64
	}{
		{"methane", 17.23, (890.8 - 88.0) / 16.043, 0.01},
		{"hydrogen", 34.3, (285.8 - 44.0) / 2.016, 0.01},
		{"nitromethane", 1.69, (709.2 - 66.0) / 61.04, 0.02},
	} {
		f := named(t, c.name)
		within(t, c.air, f.StoichiometricAirFuelRatio(gas.DryAir()), c.tolAir, c.name)
		within(t, c.lower*1e6, f.LowerHeatingValue, 1e-3, c.name)
		assert.Zero(t, f.KnockOctane(), c.name)
		over, err := f.Override(Definition{Octane: 110})
		require.NoError(t, err)
		assert.Equal(t, 110.0, over.KnockOctane())
	}
	n := named(t, "nitromethane")
	within(t, 1137, n.Density, 3e-3, "CRC Handbook at 20 °C, from memory")
	within(t, 1.2e-3, n.Expansion, 0.05, "common in tables of solvents, from memory")
	within(t, 38.3e3/61.04e-3, n.LatentHeat, 0.01, "CRC Handbook, from memory")
	// Its vapour's two ranges meet, and give the heat capacities of TRC Thermodynamic Tables, from memory: 57 J/(mol K) at 300 K, 117 at
	// 1000 K; 3 % for what rotors differ by.
	c := &components[nitromethane]
	low, err := gas.NewSpecies(nitromethane.molarMass(), c.low, c.low)
	require.NoError(t, err)
	high, err := gas.NewSpecies(nitromethane.molarMass(), c.high, c.high)
	require.NoError(t, err)
	within(t, low.Cp(1000), high.Cp(1000), 1e-5)
	assert.InDelta(t, low.Enthalpy(999.999999), high.Enthalpy(1000.000001), 1e-5*math.Abs(high.Enthalpy(1000)))
	v := n.Vapour()
	within(t, 57, v.Cp(300)*n.MolarMass, 0.03)
	within(t, 117, v.Cp(1000)*n.MolarMass, 0.03)

	for _, name := range []string{"methane", "hydrogen"} {
		f := named(t, name)
		assert.True(t, f.Gaseous)
		// A mole of methane takes two of oxygen, one of hydrogen half of one.
		oxygen := map[string]float64{"methane": 2, "hydrogen": 0.5}[name]
		within(t, 1/(1+oxygen/0.209476), f.VapourShare(f.StoichiometricAirFuelRatio(gas.DryAir())), 1e-6, name)
		assert.Zero(t, f.LatentHeat)
		assert.NotContains(t, LiquidNames(), name)
		_, err := Blend([]Part{{f, 1}})
		assert.EqualError(t, err, "blend: "+name+" is a gas; the shares are those of liquids by volume")
		_, err = f.Override(Definition{Density: 700})
		assert.EqualError(t, err, "fuel "+name+": it is a gas, which has no liquid's density, expansion, heat capacity or latent heat")
	}
	assert.Contains(t, LiquidNames(), "nitromethane")
}

// TestNitro: with nitromethane's own ratios a fuel by its formula is nitromethane, and a blend with methanol keeps the atoms.
func TestNitro(t *testing.T) {
	n := named(t, "nitromethane")
	f, err := New(Definition{
		Name: "nitro", Carbon: 1, Hydrogen: 3, Oxygen: 2, Nitrogen: 1, LowerHeatingValue: n.LowerHeatingValue, Density: 1137, LatentHeat: n.LatentHeat,
		RON: 100, MON: 100,
	})
	require.NoError(t, err)
	a, b := n.Vapour(), f.Vapour()
	for _, T := range []float64{298.15, 600, 1200} {
		within(t, a.Cp(T), b.Cp(T), 1e-9)
		assert.InDelta(t, a.Enthalpy(T), b.Enthalpy(T), 1e-3)
	}
	within(t, 61.04e-3, f.MolarMass, 1e-4)
	blend, err := Blend([]Part{{n, 0.2}, {named(t, "methanol"), 0.8}})
	require.NoError(t, err)
	assert.True(t, blend.Unrated)
	assert.Zero(t, blend.RON)
	within(t, 1, blend.Carbon, 1e-12)
	within(t, 4-blend.Nitrogen, blend.Hydrogen, 1e-12)
	within(t, 1+blend.Nitrogen, blend.Oxygen, 1e-12)
	// By hand: 0.2·1135.4/61.04 mol of one to 0.8·791.4/32.042 of the other.
	within(t, 0.2*n.Density/61.04/(0.2*n.Density/61.04+0.8*named(t, "methanol").Density/32.042), blend.Nitrogen, 1e-4)
	_, err = New(Definition{Name: "ash", Carbon: 1, Hydrogen: 0.8, Oxygen: 2.4, Nitrogen: 1, LowerHeatingValue: 10e6, Density: 1137, LatentHeat: 4e5,
		RON: 100, MON: 100})
	assert.EqualError(t, err, "fuel ash: oxygen needed to carbon is 0 mol; want 0.25 mol to 3 mol")
}
