package compressor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
	"bellmouth/internal/refdata"
)

// closed bounds a comparison with a closed form printed to twelve digits.
const closed = 1e-9

// compression.csv: library fluids 1.0.22, cp = γ R/(γ − 1).
func TestCompression(t *testing.T) {
	for _, r := range refdata.Read(t, "compression.csv") {
		gamma, R := r.F(t, "gamma"), r.F(t, "R_J_kgK")
		g := PerfectGas{gamma, gamma * R / (gamma - 1)}
		T1, pr, eta := r.F(t, "T1_K"), r.F(t, "p2_Pa")/r.F(t, "p1_Pa"), r.F(t, "isentropic_efficiency")
		T2, work := g.OutletTemperature(T1, pr, eta)
		assert.InEpsilon(t, r.F(t, "T2_K"), T2, closed)
		assert.InEpsilon(t, r.F(t, "work_J_kg"), work, closed)
		assert.InEpsilon(t, r.F(t, "power_W"), r.F(t, "mdot_kg_s")*work, closed)
		assert.InEpsilon(t, r.F(t, "density_ratio"), pr*T1/T2, closed)
		ideal, _ := g.OutletTemperature(T1, pr, 1)
		assert.InEpsilon(t, r.F(t, "T2_isentropic_K"), ideal, closed)
		assert.InEpsilon(t, eta, g.IsentropicEfficiency(T1, r.F(t, "T2_K"), pr), closed)
		assert.InEpsilon(t, r.F(t, "polytropic_efficiency"), g.PolytropicEfficiency(pr, eta), closed)
	}
}

// corrected_flow.csv: Dixon ch. 1, Heywood eqs. 6.38 to 6.40, at three reference states met in published maps.
func TestCorrected(t *testing.T) {
	// 545 °R and 28.4 inHg of mercury at 0 °C (3386.389 Pa to the inch).
	american := Reference{545. / 1.8, 28.4 * 3386.389}
	for _, r := range refdata.Read(t, "corrected_flow.csv") {
		flow, T1, p1 := r.F(t, "mdot_kg_s"), r.F(t, "T_inlet_total_K"), r.F(t, "p_inlet_total_Pa")
		for _, c := range []struct {
			ref    Reference
			column string
			tol    float64
		}{
			{Reference{298.15, 100e3}, "mdot_corrected_298.15K_100kPa_kg_s", closed},
			{Reference{288.15, 101325}, "mdot_corrected_288.15K_101.325kPa_kg_s", closed},
			{american, "mdot_corrected_545R_28.4inHg_kg_s", 2e-7}, // the inch of mercury is given to seven digits
		} {
			got := c.ref.Corrected(flow, T1, p1)
			assert.InEpsilon(t, r.F(t, c.column), got, c.tol, c.column)
		}
		ref := Reference{298.15, 100e3}
		assert.InEpsilon(t, r.F(t, "shaft_rpm"), ref.UncorrectSpeed(r.F(t, "rpm_corrected_298.15K"), T1), closed)
	}
}

// boost_chain.csv: Heywood ch. 2 and 6; Watson & Janota. γ 1.4, R 287.05287.
func TestBoostChain(t *testing.T) {
	g := PerfectGas{1.4, 3.5 * 287.05287}
	for _, r := range refdata.Read(t, "boost_chain.csv") {
		p1, T1 := r.F(t, "p_ambient_Pa")-r.F(t, "intake_loss_Pa"), r.F(t, "T_ambient_K")
		pr := (r.F(t, "p_manifold_Pa") + r.F(t, "charge_cooler_loss_Pa")) / p1
		assert.InEpsilon(t, r.F(t, "compressor_pressure_ratio"), pr, closed)
		T2, work := g.OutletTemperature(T1, pr, r.F(t, "compressor_efficiency"))
		assert.InEpsilon(t, r.F(t, "T_compressor_out_K"), T2, closed)
		flow := r.F(t, "air_flow_kg_s")
		assert.InEpsilon(t, r.F(t, "compressor_power_W"), flow*work, closed)
		assert.InEpsilon(t, r.F(t, "corrected_flow_298.15K_100kPa_kg_s"), Reference{298.15, 100e3}.Corrected(flow, T1, p1), closed)
	}
}

// given collects one example's figures by quantity.
func given(t *testing.T, file, example string) map[string]float64 {
	t.Helper()
	q := map[string]float64{}
	for _, r := range refdata.Read(t, file) {
		if r["example"] == example {
			q[r["quantity"]] = r.F(t, "value")
		}
	}
	require.NotEmpty(t, q, example)
	return q
}

// textbook_examples.csv: each example with its book's own constants; the values are unrounded, 1e-6 is fair by the file's head.
func TestTextbookExamples(t *testing.T) {
	const tol = 1e-6
	t.Run("Gupta 15.5", func(t *testing.T) {
		q := given(t, "textbook_examples.csv", "compressor_aftercooler")
		g := PerfectGas{q["gamma"], q["cp"]}
		T2, work := g.OutletTemperature(q["T_ambient"], q["p_boost"]/q["p_ambient"], q["compressor_isentropic_efficiency"])
		assert.InEpsilon(t, q["T_compressor_out"], T2, tol)
		assert.InEpsilon(t, q["power_taken_from_engine"]*1e3, q["air_mass_flow"]*work/q["drive_mechanical_efficiency"], tol)
	})
	t.Run("Nag 11.2", func(t *testing.T) {
		q := given(t, "textbook_examples.csv", "turbocharger_balance")
		g := PerfectGas{q["gamma_air"], q["cp_air"]}
		T2, work := g.OutletTemperature(q["T_compressor_in"], q["p_compressor_out"]/q["p_compressor_in"], q["compressor_isentropic_efficiency"])
		assert.InEpsilon(t, q["T_compressor_out"], T2-273, tol) // the book's °C
		assert.InEpsilon(t, q["compressor_work_per_kg_air"]*1e3, work, tol)
	})
	t.Run("Mathur and Sharma 17.1", func(t *testing.T) {
		q := given(t, "textbook_examples.csv", "boost_power_gain")
		g := PerfectGas{q["gamma"], q["cp"]}
		T2, work := g.OutletTemperature(q["T_ambient"], q["pressure_ratio"], q["blower_isentropic_efficiency"])
		assert.InEpsilon(t, q["T_blower_out"], T2, tol)
		assert.InEpsilon(t, q["blower_drive_power"]*1e3, q["blower_air_flow"]*work/q["mechanical_efficiency"], tol)
	})
	t.Run("Dixon 2.1", func(t *testing.T) {
		q := given(t, "textbook_examples.csv", "compressor_efficiencies")
		g := PerfectGas{Gamma: q["gamma"], SpecificHeat: 1004.5}
		eta := g.IsentropicEfficiency(q["T01"], q["T02"], q["pressure_ratio"])
		assert.InEpsilon(t, q["isentropic_efficiency"], eta, tol)
		assert.InEpsilon(t, q["polytropic_efficiency"], g.PolytropicEfficiency(q["pressure_ratio"], eta), tol)
	})
}

// Rajput, Internal Combustion Engines, ch. 16: γ 1.4, cp 1.005 kJ/(kg K), R 287 J/(kg K).
func TestSuperchargingExamples(t *testing.T) {
	const (
		file = "supercharging_worked_examples.csv"
		tol  = 5e-5 // the answers are given to four or five digits
	)
	g := PerfectGas{1.4, 1005}
	t.Run("16.1", func(t *testing.T) {
		q := given(t, file, "R16.1")
		T2, work := g.OutletTemperature(q["mixture_temperature"], q["supercharger_pressure_ratio"], q["supercharger_isentropic_efficiency"])
		assert.InEpsilon(t, q["discharge_temperature"], T2, tol)
		assert.InEpsilon(t, q["supercharger_power"]*1e3, q["air_flow_boosted"]*work/q["supercharger_mechanical_efficiency"], tol)
	})
	t.Run("16.3", func(t *testing.T) {
		q := given(t, file, "R16.3")
		T2, work := g.OutletTemperature(q["ambient_temperature"], q["compressor_pressure_ratio"], q["compressor_isentropic_efficiency"])
		assert.InEpsilon(t, q["discharge_temperature"], T2, tol)
		assert.InEpsilon(t, q["compressor_power"]*1e3, q["air_flow"]*work/q["mechanical_efficiency"], tol)
	})
	t.Run("16.5", func(t *testing.T) {
		// The example gives no pressure ratio: whatever it is, the efficiency that goes with the two temperatures must lead back
		// to the outlet temperature and to the power.
		q := given(t, file, "R16.5")
		T1, out := q["compressor_inlet_temperature"], q["compressor_discharge_temperature"]
		pr := q["intake_pressure"] / 1.0132
		T2, work := g.OutletTemperature(T1, pr, g.IsentropicEfficiency(T1, out, pr))
		assert.InEpsilon(t, out, T2, 1e-12)
		assert.InEpsilon(t, q["brake_power"]*1e3, q["compressor_air_flow"]/60*work, tol)
	})
}

// The real gas meets the perfect one in the limit of a small rise, and lies below it at a high ratio, where cp has grown.
func TestOutletTemperatureOfRealAir(t *testing.T) {
	air, err := gas.NewMixture(gas.DryAir())
	require.NoError(t, err)
	g := PerfectGas{air.Gamma(300), air.Cp(300)}
	T2, work := OutletTemperature(&air, 300, 1.001, 0.7)
	want, wantWork := g.OutletTemperature(300, 1.001, 0.7)
	assert.InDelta(t, want, T2, 1e-5)
	assert.InEpsilon(t, wantWork, work, 1e-4)
	T2, work = OutletTemperature(&air, 300, 4, 0.7)
	want, _ = g.OutletTemperature(300, 4, 0.7)
	assert.Less(t, T2, want)
	assert.InDelta(t, want, T2, 4)
	assert.InEpsilon(t, air.Enthalpy(T2)-air.Enthalpy(300), work, 1e-12, "first law")

	// Isentropic: entropy stays.
	T2, _ = OutletTemperature(&air, 300, 4, 1)
	assert.InDelta(t, air.Entropy(300)+air.GasConstant()*math.Log(4), air.Entropy(T2), 1e-9)

	// A wheel that throttles does no work.
	for _, pr := range []float64{1, 0.9, 0.5} {
		T2, work = OutletTemperature(&air, 300, pr, 0.7)
		assert.Equal(t, 300., T2)
		assert.Zero(t, work)
		T2, work = g.OutletTemperature(300, pr, 0.7)
		assert.Equal(t, 300., T2)
		assert.Zero(t, work)
	}
}

func BenchmarkOutletTemperature(b *testing.B) {
	air, err := gas.NewMixture(gas.DryAir())
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		OutletTemperature(&air, 300, 2.4, 0.72)
	}
}

// A PerfectGas has constant heat capacity, as in textbooks and quick estimates.
type PerfectGas struct {
	Gamma        float64 // ratio of specific heats γ
	SpecificHeat float64 // at constant pressure cp, J/(kg K)
}

func (g PerfectGas) isentropicRise(pressureRatio float64) float64 {
	return numeric.Expm1((g.Gamma - 1) / g.Gamma * numeric.Log(pressureRatio))
}

// OutletTemperature returns the temperature T2, K, behind a compressor, and the work w, J/kg, put into the gas.
//
//	T2 = T1 (1 + (PR^((γ−1)/γ) − 1)/η),  w = cp (T2 − T1)
//
// Source: Heywood, Internal Combustion Engine Fundamentals, eqs. 6.39 to 6.42. Arguments above zero; a pressure ratio of 1 or
// less gives T2 = T1 and no work.
func (g PerfectGas) OutletTemperature(T1, pressureRatio, efficiency float64) (T2, work float64) {
	if pressureRatio <= 1 {
		return T1, 0
	}
	rise := T1 * g.isentropicRise(pressureRatio) / efficiency
	return T1 + rise, g.SpecificHeat * rise
}

// IsentropicEfficiency returns the isentropic efficiency η, fraction, of a compressor from the temperatures before and behind it.
//
//	η = T1 (PR^((γ−1)/γ) − 1)/(T2 − T1)
//
// Source: Dixon & Hall, ch. 1. Holds for an adiabatic compressor: heat from a hot turbine housing lowers the figure.
func (g PerfectGas) IsentropicEfficiency(T1, T2, pressureRatio float64) float64 {
	return T1 * g.isentropicRise(pressureRatio) / (T2 - T1)
}

// PolytropicEfficiency returns the polytropic efficiency ηp, fraction: that of the small stages into which the compression may
// be thought divided.
//
//	ηp = (γ−1)/γ ln PR / ln(1 + (PR^((γ−1)/γ) − 1)/η)
//
// Source: Dixon & Hall, ch. 1. Holds for a pressure ratio above 1.
func (g PerfectGas) PolytropicEfficiency(pressureRatio, efficiency float64) float64 {
	return (g.Gamma - 1) / g.Gamma * numeric.Log(pressureRatio) / numeric.Log1p(g.isentropicRise(pressureRatio)/efficiency)
}
