package fuel

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/gas"
	"bellmouth/internal/refdata"
	"bellmouth/internal/units"
)

// inertAir is air whose carbon dioxide counts as inert, as the published balances take it, per mole of oxygen.
func inertAir(oxygen float64) gas.Composition {
	return gas.Composition{gas.O2: oxygen, gas.N2: oxygen * (1 - 0.209476) / 0.209476}
}

func TestRichProducts(t *testing.T) {
	for _, r := range refdata.Read(t, "rich_products.csv") {
		f := named(t, r["fuel"])
		lambda := r.F(t, "lambda")
		require.Equal(t, frozenWaterGas, r.F(t, "K"))
		p, err := burn(inertAir(lambda*f.oxygenDemand()), f.Carbon, f.Hydrogen, f.Oxygen, false)
		require.NoError(t, err)
		name := r["fuel"] + " at " + r["lambda"]
		within(t, r.F(t, "mol_CO2"), p[gas.CO2], 1e-10, name)
		within(t, r.F(t, "mol_CO"), p[gas.CO], 1e-10, name)
		within(t, r.F(t, "mol_H2O"), p[gas.H2O], 1e-10, name)
		within(t, r.F(t, "mol_H2"), p[gas.H2], 1e-10, name)
		within(t, r.F(t, "mol_air_inert"), p[gas.N2], 1e-10, name)
		dry := p.Moles() - p[gas.H2O]
		within(t, r.F(t, "dry_CO2_percent"), 100*p[gas.CO2]/dry, 1e-10, name)
		within(t, r.F(t, "dry_CO_percent"), 100*p[gas.CO]/dry, 1e-10, name)
		within(t, r.F(t, "dry_H2_percent"), 100*p[gas.H2]/dry, 1e-10, name)
		// The liquid fuel's enthalpy less that of the products, both on the absolute scale.
		m, err := gas.NewMixture(p)
		require.NoError(t, err)
		heat := f.LiquidEnthalpy(298.15) - m.Enthalpy(298.15)*p.Mass()/f.MolarMass
		within(t, r.F(t, "heat_released_kJ_kg_fuel"), heat/1000, 1e-8, name) // heats of formation to 0.01 J/mol, see package gas

		// The charge of real dry air holds 320 ppm of carbon dioxide that takes part: 3 parts in 1000 of its carbon.
		c, err := f.Charge(gas.Air{Pressure: 1e5, Temperature: 298.15}, lambda)
		require.NoError(t, err)
		within(t, r.F(t, "combustion_efficiency"), c.CombustionEfficiency, 1e-3, name)
		within(t, r.F(t, "heat_released_kJ_kg_fuel"), (c.HeatReleased/c.FuelFraction-f.LatentHeat)/1000, 1e-3, name)
		perFuel := f.MolarMass / c.FuelFraction
		within(t, r.F(t, "mol_CO"), c.Products[gas.CO]*perFuel, 5e-3, name)
		within(t, r.F(t, "mol_H2"), c.Products[gas.H2]*perFuel, 5e-3, name)
		within(t, frozenWaterGas, c.Products[gas.CO]*c.Products[gas.H2O]/(c.Products[gas.CO2]*c.Products[gas.H2]), 1e-10, name)
	}
}

func TestWaterGasConstant(t *testing.T) {
	for _, r := range refdata.Read(t, "water_gas_shift.csv") {
		got, err := WaterGasConstant(r.F(t, "T_K"))
		require.NoError(t, err)
		within(t, r.F(t, "K_pCO_pH2O_over_pCO2_pH2"), got, 1e-9, "%s K", r["T_K"])
	}
	// The frozen value is that near 1740 K.
	got, err := WaterGasConstant(1740)
	require.NoError(t, err)
	within(t, frozenWaterGas, got, 0.03)
	for _, T := range []float64{20, 1e4, math.NaN()} {
		_, err := WaterGasConstant(T)
		assert.Error(t, err)
	}
}

func TestAdiabaticFlame(t *testing.T) {
	const octane = -250260 // enthalpy of liquid n-octane at 298.15 K, J/mol, NASA/TP-2002-211556
	for _, r := range refdata.Read(t, "adiabatic_flame.csv") {
		var C, H, O, h float64 // per mole of fuel
		if r["fuel"] == "n-octane(l)" {
			C, H, h = 8, 18, octane
		} else {
			f := named(t, strings.TrimSuffix(r["fuel"], "(l)"))
			C, H, O, h = f.Carbon, f.Hydrogen, f.Oxygen, f.LiquidEnthalpy(298.15)*f.MolarMass
		}
		require.Equal(t, 298.15, r.F(t, "air_T_K"))
		n := (C + H/4 - O/2) / r.F(t, "equivalence_ratio")
		air := gas.Composition{gas.O2: n, gas.N2: n * r.F(t, "N2_per_O2")}
		m, err := gas.NewMixture(air)
		require.NoError(t, err)
		h += m.Enthalpy(298.15) * air.Mass()
		p, err := burn(air, C, H, O, true)
		require.NoError(t, err)
		burned, err := gas.NewMixture(p)
		require.NoError(t, err)
		require.Equal(t, "constant pressure", r["process"])
		T, err := burned.TemperatureOf(h/p.Mass(), 2000)
		require.NoError(t, err)
		assert.InDelta(t, r.F(t, "T_adiabatic_complete_K"), T, 1e-4, "%s %s", r["fuel"], r["equivalence_ratio"])
		if r.Has("T_printed_K") {
			within(t, r.F(t, "T_printed_K"), T, 0.01, r["fuel"])
		}
	}
}

// TestChargeKeepsAtomsAndEnergy holds for every fuel, lambda and humidity.
func TestChargeKeepsAtomsAndEnergy(t *testing.T) {
	for _, name := range Names() {
		f := named(t, name)
		for _, air := range []gas.Air{{Pressure: 1e5, Temperature: 293.15}, {Pressure: 95e3, Temperature: 308.15, RelativeHumidity: 0.9}} {
			for _, lambda := range []float64{0.5, 0.7, 0.85, 0.9999, 1, 1.0001, 1.5, 2} {
				c, err := f.Charge(air, lambda)
				require.NoError(t, err)
				within(t, 1, c.FuelFraction+c.DryAirFraction+c.WaterFraction, 1e-12)
				within(t, lambda*f.StoichiometricAirFuelRatio(gas.DryAir()), c.DryAirFraction/c.FuelFraction, 1e-12)

				n := c.FuelFraction / f.MolarMass
				dry := gas.DryAir()
				d := dry.Scaled(c.DryAirFraction / dry.Mass())
				w := c.WaterFraction / gas.H2O.MolarMass()
				p := c.Products
				within(t, n*f.Carbon+d[gas.CO2], p[gas.CO2]+p[gas.CO], 1e-12, "carbon")
				within(t, n*f.Hydrogen/2+w, p[gas.H2O]+p[gas.H2], 1e-12, "hydrogen")
				within(t, n*f.Oxygen+2*d[gas.O2]+2*d[gas.CO2]+w, 2*p[gas.CO2]+p[gas.CO]+p[gas.H2O]+2*p[gas.O2], 1e-12, "oxygen")
				within(t, d[gas.N2]+n*f.Nitrogen/2, p[gas.N2], 1e-12, "nitrogen")
				within(t, d[gas.Ar], p[gas.Ar], 1e-12, "argon")
				for s, x := range p {
					assert.GreaterOrEqual(t, x, 0.0, "%v", gas.Species(s))
				}
				within(t, 1, p.Mass(), 1e-5) // two tables of atomic masses
				within(t, p.Moles()*gas.MolarGasConstant, c.Burned.GasConstant(), 1e-12)
				within(t, (n+d.Moles()+w)*gas.MolarGasConstant, c.Unburned.GasConstant(), 1e-12)

				within(t, c.HeatReleased, c.Unburned.Enthalpy(298.15)-c.Burned.Enthalpy(298.15), 1e-12)
				if lambda >= 1 {
					within(t, f.LowerHeatingValue+f.LatentHeat, c.HeatReleased/c.FuelFraction, 1e-8)
					within(t, 1, c.CombustionEfficiency, 1e-8)
				} else {
					// What CO and H2 keep: their own heats of combustion.
					kept := p[gas.CO]*(393510-110535.196) + p[gas.H2]*241826
					within(t, (f.LowerHeatingValue+f.LatentHeat)*c.FuelFraction-kept, c.HeatReleased, 1e-8)
				}
			}
			// Nothing jumps at lambda 1.
			rich, err := f.Charge(air, 1-1e-9)
			require.NoError(t, err)
			lean, err := f.Charge(air, 1)
			require.NoError(t, err)
			within(t, lean.HeatReleased, rich.HeatReleased, 1e-7)
			within(t, lean.Burned.Cp(1500), rich.Burned.Cp(1500), 1e-7)
		}
	}
}

func TestRefusedCharge(t *testing.T) {
	f := named(t, "ron98")
	air := gas.Air{Pressure: 1e5, Temperature: 293.15}
	for _, c := range []struct {
		fuel   Fuel
		air    gas.Air
		lambda float64
		want   string
	}{
		{f, air, 0.4, "lambda is 0.4; want 0.5 to 2"},
		{f, air, 14.7, "lambda is 14.7; want 0.5 to 2"},
		{f, air, math.NaN(), "lambda is NaN; want 0.5 to 2"},
		{f, gas.Air{Pressure: 1e5, Temperature: 20}, 0.9, "air temperature is 20 K; want 243.15 K to 333.15 K"},
		{Fuel{Name: "empty"}, air, 0.9, `fuel "empty" is incomplete`},
	} {
		_, err := c.fuel.Charge(c.air, c.lambda)
		require.Error(t, err)
		assert.Equal(t, c.want, units.Resolve(err.Error(), units.Metric))
	}
	// Richer than CO + H2: no such fuel passes New, so burn is asked itself.
	_, err := burn(inertAir(3), 8, 2, 0, false)
	assert.EqualError(t, err, "not enough oxygen to burn the carbon even to CO")
}

func BenchmarkCharge(b *testing.B) {
	f := named(b, "ron98")
	air := gas.Air{Pressure: 96300, Temperature: 291.15, RelativeHumidity: 0.55}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := f.Charge(air, 0.86); err != nil {
			b.Fatal(err)
		}
	}
}

// WaterGasConstant returns the equilibrium constant K = pCO pH2O/(pCO2 pH2) of CO2 + H2 = CO + H2O, dimensionless, at T, K.
//
//	ln K = −(g_CO + g_H2O − g_CO2 − g_H2)/(R T),  g = h − T s°, molar
//
// Source: Gibbs energies from NASA/TP-2002-211556. A temperature outside 300 K to 6000 K is an error.
func WaterGasConstant(T float64) (float64, error) {
	if err := gas.CheckRange("temperature", T, 300, gas.HighestTemperature, "K"); err != nil {
		return 0, err
	}
	var sum float64 // of g/(R T)
	for _, s := range []struct {
		species gas.Species
		sign    float64
	}{{gas.CO, 1}, {gas.H2O, 1}, {gas.CO2, -1}, {gas.H2, -1}} {
		var c gas.Composition
		c[s.species] = 1
		m, err := gas.NewMixture(c)
		if err != nil {
			return 0, err
		}
		sum += s.sign * (m.Enthalpy(T) - T*m.Entropy(T)) / (m.GasConstant() * T)
	}
	return math.Exp(-sum), nil
}
