package cooler_test

import (
	"fmt"
	"math"
	"testing"

	"bellmouth/internal/cooler"
	"bellmouth/internal/numeric"
	"bellmouth/internal/refdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestBoostChainTable(t *testing.T) {
	// boost_chain.csv: T = T2 − ε (T2 − Tambient), closed form to 12 digits.
	for _, r := range refdata.Read(t, "boost_chain.csv") {
		c := cooler.Cooler{
			Effectiveness:      numeric.Constant(r.F(t, "cooler_effectiveness")),
			CoolantTemperature: r.F(t, "T_ambient_K"),
		}
		require.NoError(t, c.Validate())
		got, held := c.OutletTemperature(r.F(t, "air_flow_kg_s"), r.F(t, "T_compressor_out_K"))
		assert.InEpsilon(t, r.F(t, "T_after_cooler_K"), got, 1e-11)
		assert.False(t, held)
	}
}

func TestAftercoolerExample(t *testing.T) {
	// Gupta, Fundamentals of Internal Combustion Engines, example 15.5, recomputed to 12 digits; the book prints 5.14 kW.
	x := map[string]float64{}
	for _, r := range refdata.Read(t, "textbook_examples.csv") {
		if r["example"] == "compressor_aftercooler" {
			x[r["quantity"]] = r.F(t, "value")
		}
	}
	q := cooler.HeatRejected(x["air_mass_flow"], x["cp"], x["T_compressor_out"], x["T_after_cooler"])
	assert.InEpsilon(t, x["cooler_heat_rejected"], q/1e3, 1e-9)
}

func TestOutletTemperature(t *testing.T) {
	curve, err := numeric.NewCurve([]float64{0.05, 0.3}, []float64{0.9, 0.7})
	require.NoError(t, err)
	c := cooler.Cooler{Effectiveness: curve, CoolantTemperature: 295}
	require.NoError(t, c.Validate())
	// Half way along the line the effectiveness is 0.8: 415 − 0.8 · 120 = 319 K.
	got, held := c.OutletTemperature(0.175, 415)
	assert.InDelta(t, 319, got, 1e-9)
	assert.False(t, held)
	got, held = c.OutletTemperature(0.4, 415) // 415 − 0.7 · 120
	assert.InDelta(t, 331, got, 1e-9)
	assert.True(t, held)
	got, _ = c.OutletTemperature(0.175, 295) // nothing to give
	assert.Equal(t, 295.0, got)
	got, _ = c.OutletTemperature(0.175, 275) // warmed: 275 + 0.8 · 20
	assert.InDelta(t, 291, got, 1e-9)
}

func TestLoss(t *testing.T) {
	// Through one point, 9 kPa at 0.25 kg/s, 2 bar and 400 K; twice the flow loses four times as much, twice the pressure
	// half as much, three quarters of the temperature three quarters.
	m := cooler.Measurement{MassFlow: 0.25, Loss: 9e3, Pressure: 200e3, Temperature: 400}
	k, err := cooler.LossCoefficientFrom(m)
	require.NoError(t, err)
	c := cooler.Cooler{Effectiveness: numeric.Constant(0.78), CoolantTemperature: 295, LossCoefficient: k}
	assert.InDelta(t, 9e3, c.Loss(0.25, 200e3, 400), 1e-9)
	assert.InDelta(t, 36e3, c.Loss(0.5, 200e3, 400), 1e-8)
	assert.InDelta(t, 4.5e3, c.Loss(0.25, 400e3, 400), 1e-9)
	assert.InDelta(t, 6.75e3, c.Loss(0.25, 200e3, 300), 1e-9)
	assert.InDelta(t, -9e3, c.Loss(-0.25, 200e3, 400), 1e-9)

	// The pressure before less the loss is the pressure behind.
	assert.InDelta(t, 200e3, c.InletPressure(191e3, 0.25, 400), 1e-6)
	last := 0.0
	for flow := 0.0; flow < 1; flow += 0.01 {
		p2 := c.InletPressure(180e3, flow, 420)
		assert.InDelta(t, 180e3, p2-c.Loss(flow, p2, 420), 1e-6)
		assert.Greater(t, p2, last)
		last = p2
	}
}

func TestRefusals(t *testing.T) {
	high, err := numeric.NewCurve([]float64{0.1, 0.3}, []float64{0.9, 1.1})
	require.NoError(t, err)
	for _, p := range []struct {
		c    cooler.Cooler
		want string
	}{
		{cooler.Cooler{CoolantTemperature: 295}, "cooler effectiveness is not given"},
		{cooler.Cooler{Effectiveness: numeric.Constant(0.8)}, "coolant temperature is 0 K; want more than 0"},
		{cooler.Cooler{Effectiveness: numeric.Constant(0.8), CoolantTemperature: math.NaN()}, "coolant temperature is NaN K; want more than 0"},
		{cooler.Cooler{Effectiveness: numeric.Constant(-0.1), CoolantTemperature: 295}, "cooler effectiveness is -0.1; want 0 to 1"},
		{cooler.Cooler{Effectiveness: high, CoolantTemperature: 295}, "want 0 to 1"},
		{cooler.Cooler{Effectiveness: numeric.Constant(1), CoolantTemperature: 295, LossCoefficient: -1}, "cooler loss coefficient is -1; want 0 or more"},
	} {
		assert.ErrorContains(t, p.c.Validate(), p.want)
	}
	good := cooler.Measurement{MassFlow: 0.25, Loss: 9e3, Pressure: 200e3, Temperature: 400}
	for _, p := range []struct {
		change func(*cooler.Measurement)
		want   string
	}{
		{func(m *cooler.Measurement) { m.MassFlow = 0 }, "mass flow of the measured loss is 0 kg/s; want more than 0"},
		{func(m *cooler.Measurement) { m.Pressure = math.NaN() }, "pressure of the measured loss is NaN Pa; want more than 0"},
		{func(m *cooler.Measurement) { m.Temperature = math.Inf(1) }, "temperature of the measured loss is +Inf K; want more than 0"},
		{func(m *cooler.Measurement) { m.Loss = 200e3 }, "measured loss is 200000 Pa; want 0 or more and less than the pressure, 200000 Pa"},
	} {
		m := good
		p.change(&m)
		_, err := cooler.LossCoefficientFrom(m)
		assert.EqualError(t, err, p.want)
	}
}

func effectiveness(t *testing.T, a cooler.Arrangement, ntu, cr float64) float64 {
	t.Helper()
	eps, err := cooler.EffectivenessFromNTU(a, ntu, cr)
	require.NoError(t, err)
	return eps
}

var arrangements = []cooler.Arrangement{cooler.Counterflow, cooler.CrossflowUnmixed, cooler.CrossflowMixed}

func TestEffectivenessLimits(t *testing.T) {
	for _, a := range arrangements {
		for _, ntu := range []float64{0, 0.1, 1, 3, 30, 100} {
			// Cr = 0: ε = 1 − exp(−NTU), whatever the arrangement (Incropera and DeWitt, eq. 11.36a); and near it.
			assert.InDelta(t, 1-math.Exp(-ntu), effectiveness(t, a, ntu, 0), 1e-14)
			assert.InDelta(t, 1-math.Exp(-ntu), effectiveness(t, a, ntu, 1e-8), 1e-6)
			// Small NTU: every arrangement tends to NTU itself.
			assert.InEpsilon(t, 1e-7, effectiveness(t, a, 1e-7, 0.7), 1e-6)
		}
	}
	for _, ntu := range []float64{0.2, 1, 4} { // counterflow, Cr = 1: NTU/(1 + NTU), eq. 11.29b; and near it
		assert.InDelta(t, ntu/(1+ntu), effectiveness(t, cooler.Counterflow, ntu, 1), 1e-14)
		assert.InDelta(t, ntu/(1+ntu), effectiveness(t, cooler.Counterflow, ntu, 1-1e-7), 1e-6)
	}
	// Crossflow, Cmax mixed, endless NTU: (1 − exp(−Cr))/Cr. At Cr = 1 that is 1 − 1/e.
	assert.InDelta(t, 1-1/math.E, effectiveness(t, cooler.CrossflowMixed, 100, 1), 1e-12)
}

func TestCrossflowAgainstTheTextbookForm(t *testing.T) {
	// Incropera and DeWitt, table 11.3, single pass, both fluids unmixed:
	// ε = 1 − exp((1/Cr) NTU^0.22 (exp(−Cr NTU^0.78) − 1)), an approximation, which only shows that
	// this is the same quantity: below NTU 1 it is up to 4 % off. The proof is the differential equations' below.
	for _, ntu := range []float64{1, 2, 3, 5} {
		for _, cr := range []float64{0.25, 0.5, 0.75, 1} {
			approx := 1 - math.Exp(math.Pow(ntu, 0.22)/cr*(math.Exp(-cr*math.Pow(ntu, 0.78))-1))
			assert.InEpsilon(t, approx, effectiveness(t, cooler.CrossflowUnmixed, ntu, cr), 0.02, "NTU %v, Cr %v", ntu, cr)
		}
	}
}

// march solves a crossflow exchanger with both fluids unmixed from its differential equations on an n × n grid: each cell
// passes heat by the mean temperatures of what enters and leaves it.
func march(ntu, cr float64, n int) float64 {
	a, b := ntu/float64(n)/2, cr*ntu/float64(n)/2 // half the change of each stream over one cell, per degree between them
	cold := make([]float64, n)
	out := 0.0
	for range n { // the hot stream's rows, each at 1
		hot := 1.0
		for j := range n {
			// hot' − hot = −a (hot + hot' − cold − cold'), cold' − cold = b (hot + hot' − cold − cold')
			d := 2 * (hot - cold[j]) / (1 + a + b)
			hot -= a * d
			cold[j] += b * d
		}
		out += hot / float64(n)
	}
	return 1 - out
}

func TestCrossflowAgainstItsDifferentialEquations(t *testing.T) {
	for _, ntu := range []float64{0.3, 1, 2.5, 6} {
		for _, cr := range []float64{0.2, 0.6, 1} {
			// The grid's error goes with its step squared: 400 cells leave (6/400)².
			assert.InDelta(t, march(ntu, cr, 400), effectiveness(t, cooler.CrossflowUnmixed, ntu, cr), 1e-5, "NTU %v, Cr %v", ntu, cr)
		}
	}
}

func TestEffectivenessOrder(t *testing.T) {
	// More area is never worse, a scarcer coolant never better, and nothing beats counterflow.
	for _, a := range arrangements {
		for cr := 0.0; cr <= 1; cr += 0.05 {
			last := -1.0
			for ntu := 0.0; ntu <= 20; ntu += 0.25 {
				eps := effectiveness(t, a, ntu, cr)
				assert.GreaterOrEqual(t, eps, last)
				assert.LessOrEqual(t, eps, effectiveness(t, cooler.Counterflow, ntu, cr)+1e-12)
				assert.GreaterOrEqual(t, eps+1e-12, effectiveness(t, a, ntu, math.Min(1, cr+0.05)))
				last = eps - 1e-12
			}
		}
	}
}

func TestEffectivenessRefusals(t *testing.T) {
	for _, p := range []struct {
		a       cooler.Arrangement
		ntu, cr float64
		want    string
	}{
		{cooler.Counterflow, -1, 0.5, "number of transfer units is -1; want 0 to 100"},
		{cooler.Counterflow, math.NaN(), 0.5, "number of transfer units is NaN; want 0 to 100"},
		{cooler.Counterflow, 1, 1.1, "ratio of capacity rates is 1.1; want 0 to 1"},
		{cooler.Counterflow, 1, math.NaN(), "ratio of capacity rates is NaN; want 0 to 1"},
		{cooler.Arrangement(9), 1, 0.5, "no effectiveness is known for arrangement 9"},
	} {
		_, err := cooler.EffectivenessFromNTU(p.a, p.ntu, p.cr)
		assert.EqualError(t, err, p.want)
	}
	for _, a := range arrangements {
		assert.NotContains(t, a.String(), "arrangement")
	}
}

func ExampleCooler_OutletTemperature() {
	c := cooler.Cooler{Effectiveness: numeric.Constant(0.78), CoolantTemperature: 295.15}
	t, _ := c.OutletTemperature(0.25, 415)
	fmt.Printf("%.1f K\n", t)
	// Output: 321.5 K
}

func BenchmarkInletPressure(b *testing.B) {
	c := cooler.Cooler{Effectiveness: numeric.Constant(0.78), CoolantTemperature: 295, LossCoefficient: 7.2e7}
	b.ReportAllocs()
	sum := 0.0
	for b.Loop() {
		sum += c.InletPressure(200e3, 0.25, 400)
	}
	_ = sum
}
