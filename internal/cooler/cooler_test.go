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
	const k = 9e3 * 200e3 / (0.25 * 0.25 * 400)
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
