package fuel

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/gas"
	"bellmouth/internal/refdata"
)

// within compares with a relative tolerance; NaN fails.
func within(t *testing.T, want, got, rel float64, msg ...any) {
	t.Helper()
	size := max(want, -want)
	assert.InDelta(t, want, got, rel*size, msg...)
}

func named(t testing.TB, name string) Fuel {
	t.Helper()
	f, err := Named(name)
	require.NoError(t, err)
	return f
}

func TestStoichiometry(t *testing.T) {
	// The table takes the molar mass of air as printed, 28.9651159; the sum of its species is 1.2e-9 larger.
	const airTol = 2e-9
	for _, r := range refdata.Read(t, "stoichiometry.csv") {
		name := r["fuel"]
		if name == "gasoline_CH1.87" {
			f, err := New(Definition{Carbon: 1, Hydrogen: 1.87, LowerHeatingValue: 43e6, Density: 745, LatentHeat: 350e3, RON: 95, MON: 85})
			require.NoError(t, err)
			within(t, r.F(t, "AFR_std_air"), f.StoichiometricAirFuelRatio(gas.DryAir()), airTol, name)
			continue
		}
		f := named(t, name)
		within(t, r.F(t, "M_g_mol"), f.MolarMass*1000, 1e-12, name)
		within(t, r.F(t, "AFR_std_air"), f.StoichiometricAirFuelRatio(gas.DryAir()), airTol, name)
		within(t, r.F(t, "lhv_kJ_kg"), f.LowerHeatingValue/1000, 1e-9, name)
		within(t, r.F(t, "rho_293K_kg_m3"), f.Density, 1e-9, name)
		within(t, r.F(t, "stoich_mixture_MJ_per_kg_air"), f.MixtureEnergy()/1e6, airTol, name)
	}
}

func BenchmarkCharge(b *testing.B) {
	f := named(b, "pump98")
	air := gas.Air{Pressure: 96300, Temperature: 291.15, RelativeHumidity: 0.55}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := f.Charge(air, 0.86); err != nil {
			b.Fatal(err)
		}
	}
}
