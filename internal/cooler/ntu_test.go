package cooler_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/cooler"
)

func effectiveness(t *testing.T, ntu, cr float64) float64 {
	t.Helper()
	eps, err := cooler.Crossflow(ntu, cr)
	require.NoError(t, err)
	return eps
}

func TestCrossflowLimits(t *testing.T) {
	for _, ntu := range []float64{0, 0.1, 1, 3, 30, 100} {
		// Cr = 0: ε = 1 − exp(−NTU), whatever the arrangement (Incropera and DeWitt, eq. 11.36a); and near it.
		assert.InDelta(t, 1-math.Exp(-ntu), effectiveness(t, ntu, 0), 1e-14)
		assert.InDelta(t, 1-math.Exp(-ntu), effectiveness(t, ntu, 1e-8), 1e-6)
		// Small NTU: every arrangement tends to NTU itself.
		assert.InEpsilon(t, 1e-7, effectiveness(t, 1e-7, 0.7), 1e-6)
	}
}

// Incropera and DeWitt, table 11.3, single pass, both fluids unmixed: an approximation, up to 4 % off below NTU 1.
func TestCrossflowAgainstTheTextbookForm(t *testing.T) {
	for _, ntu := range []float64{1, 2, 3, 5} {
		for _, cr := range []float64{0.25, 0.5, 0.75, 1} {
			approx := 1 - math.Exp(math.Pow(ntu, 0.22)/cr*(math.Exp(-cr*math.Pow(ntu, 0.78))-1))
			assert.InEpsilon(t, approx, effectiveness(t, ntu, cr), 0.02, "NTU %v, Cr %v", ntu, cr)
		}
	}
	// Its example 11.3, from memory: exhaust gas of 1889 W/K heats water of 4197 W/K from 35 to 125 °C, itself from 300 to 100 °C; ε = 0.75 and Cr = 0.45
	// are read from its figure as NTU 2.1, U A = 3967 W/K, which the reading is good to some per cent for.
	ntu, err := cooler.TransferUnits(1889*(300-100.0)/(1889*(300-35.0)), 1889.0/4197)
	require.NoError(t, err)
	assert.InEpsilon(t, 2.1, ntu, 0.05)
}

// march solves a crossflow exchanger with both fluids unmixed from its differential equations on an n × n grid: each cell passes heat by the mean
// temperatures of what enters and leaves it.
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
			assert.InDelta(t, march(ntu, cr, 400), effectiveness(t, ntu, cr), 1e-5, "NTU %v, Cr %v", ntu, cr)
		}
	}
}

// More area is never worse, a scarcer coolant never better, and nothing beats counterflow, (1 − e^(−NTU (1−Cr)))/(1 − Cr e^(−NTU (1−Cr))).
func TestCrossflowOrder(t *testing.T) {
	counterflow := func(ntu, cr float64) float64 {
		if cr > 1-1e-9 {
			return ntu / (1 + ntu)
		}
		x := ntu * (1 - cr)
		return -math.Expm1(-x) / (1 - cr*math.Exp(-x))
	}
	for cr := 0.0; cr <= 1; cr += 0.1 {
		last := -1.0
		for ntu := 0.0; ntu <= 20; ntu += 0.5 {
			eps := effectiveness(t, ntu, cr)
			assert.GreaterOrEqual(t, eps, last)
			assert.LessOrEqual(t, eps, counterflow(ntu, cr)+1e-12)
			assert.GreaterOrEqual(t, eps+1e-12, effectiveness(t, ntu, math.Min(1, cr+0.05)))
			last = eps - 1e-12
		}
	}
}

func TestTransferUnitsInverts(t *testing.T) {
	for _, cr := range []float64{0, 0.3, 1} {
		for _, ntu := range []float64{0, 0.05, 1, 4} {
			got, err := cooler.TransferUnits(effectiveness(t, ntu, cr), cr)
			require.NoError(t, err)
			assert.InDelta(t, ntu, got, 1e-9)
		}
	}
}

func TestCrossflowRefusals(t *testing.T) {
	for _, p := range []struct {
		ntu, cr float64
		want    string
	}{
		{-1, 0.5, "number of transfer units is -1; want 0 to 100"},
		{math.NaN(), 0.5, "number of transfer units is NaN; want 0 to 100"},
		{1, 1.1, "ratio of capacity rates is 1.1; want 0 to 1"},
		{1, math.NaN(), "ratio of capacity rates is NaN; want 0 to 1"},
	} {
		_, err := cooler.Crossflow(p.ntu, p.cr)
		assert.EqualError(t, err, p.want)
	}
	_, err := cooler.TransferUnits(0.99, 1)
	assert.EqualError(t, err, "effectiveness is 0.99; want 0 to 0.9436, all that crossflow gives")
	_, err = cooler.TransferUnits(0.5, 2)
	assert.EqualError(t, err, "ratio of capacity rates is 2; want 0 to 1")
}

func BenchmarkTransferUnits(b *testing.B) {
	b.ReportAllocs()
	sum := 0.0
	for b.Loop() {
		x, _ := cooler.TransferUnits(0.6, 0.4)
		sum += x
	}
	_ = sum
}
