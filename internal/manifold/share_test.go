package manifold_test

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/manifold"
	"bellmouth/internal/units"
)

// sum adds without rounding and rounds once.
func sum(x []float64) float64 {
	s := new(big.Float).SetPrec(2000)
	for _, v := range x {
		s.Add(s, new(big.Float).SetFloat64(v))
	}
	f, _ := s.Float64()
	return f
}

const ulp = 0x1p-52

func TestSharesAddUp(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for n := 2; n <= 16; n++ {
		for range 200 {
			f := make([]float64, n)
			for i := range f {
				f[i] = 1 + random.Float64()
			}
			s, err := manifold.AirShares(f)
			require.NoError(t, err)
			// Each share is rounded by half a unit in its last place, and so is each step of the sum they are taken of.
			assert.InDelta(t, 1, sum(s), float64(n)*ulp/2)
		}
	}
}

func TestEqualFiguresEqualShares(t *testing.T) {
	for n := 2; n <= 16; n++ {
		same := make([]float64, n)
		for i := range same {
			same[i] = 0.83
		}
		even := make([]float64, n)
		for i := range even {
			even[i] = 1 / float64(n)
		}
		// Exactly: the fractions that lost bits are the same on every route.
		flow, err := manifold.AirShares(same)
		require.NoError(t, err)
		lambda, err := manifold.AirSharesFromLambda(same, nil)
		require.NoError(t, err)
		exhaust, err := manifold.AirSharesFromExhaust([]float64{1100, 1100, 1100}, manifold.ExhaustResponse{Lambda: 0.83, Slope: 700})
		require.NoError(t, err)
		for _, s := range [][]float64{flow, lambda, exhaust} {
			for i := range s {
				assert.Equal(t, s[0], s[i])
			}
		}
		assert.InDeltaSlice(t, even, flow, ulp)
		assert.Equal(t, flow, lambda)
		linear, err := manifold.LinearShares(n, 0)
		require.NoError(t, err)
		assert.Equal(t, even, linear)
		assert.Zero(t, manifold.Deviation(linear))
	}
}

func TestRoutesAgree(t *testing.T) {
	// An invented engine: this air by cylinder, kg/s, at an engine λ of 0.82.
	air := []float64{0.0400, 0.0412, 0.0388, 0.0405, 0.0395}
	const lambda, stoich = 0.82, 14.6
	want, err := manifold.AirShares(air)
	require.NoError(t, err)
	// By hand: the sum is 0.2.
	assert.InDeltaSlice(t, []float64{0.2, 0.206, 0.194, 0.2025, 0.1975}, want, 1e-15)
	assert.InDelta(t, 0.03, manifold.Deviation(want), 1e-14)

	// The same fuel for each.
	same := make([]float64, len(air))
	for i, m := range air {
		same[i] = m / (stoich * 0.2 / 5 / (lambda * stoich))
	}
	got, err := manifold.AirSharesFromLambda(same, nil)
	require.NoError(t, err)
	assert.InDeltaSlice(t, want, got, 1e-15)
	// The engine's λ is the cylinders' mean.
	assert.InDelta(t, lambda, sum(same)/5, 1e-14)

	// Fuel of its own for each: λ differs and so does the fuel, the air is the same.
	fuel := []float64{2.9e-3, 3.2e-3, 3.0e-3, 3.3e-3, 3.1e-3}
	own := make([]float64, len(air))
	for i, m := range air {
		own[i] = m / (fuel[i] * stoich)
	}
	got, err = manifold.AirSharesFromLambda(own, fuel)
	require.NoError(t, err)
	assert.InDeltaSlice(t, want, got, 1e-15)

	// An exhaust that follows λ in a straight line.
	exhaust := make([]float64, len(air))
	for i := range air {
		exhaust[i] = 1150 + 650*(same[i]-lambda)
	}
	got, err = manifold.AirSharesFromExhaust(exhaust, manifold.ExhaustResponse{Lambda: lambda, Slope: 650})
	require.NoError(t, err)
	assert.InDeltaSlice(t, want, got, 1e-14)
}

func TestLinearShares(t *testing.T) {
	s, err := manifold.LinearShares(5, 0.04)
	require.NoError(t, err)
	assert.InDeltaSlice(t, []float64{0.192, 0.196, 0.2, 0.204, 0.208}, s, 1e-15)
	assert.InDelta(t, 0.04, manifold.Deviation(s), 1e-15)
}

func TestSharesRefuse(t *testing.T) {
	nan := math.NaN()
	drop := func(_ []float64, err error) error { return err }
	response := manifold.ExhaustResponse{Lambda: 0.85, Slope: 700}
	for _, c := range []struct {
		want string
		err  error
	}{
		{"for 0 cylinders", drop(manifold.AirShares(nil))},
		{"for 1 cylinders", drop(manifold.AirShares([]float64{1}))},
		{"cylinder 2: flow is 0;", drop(manifold.AirShares([]float64{1, 0}))},
		{"cylinder 1: flow is NaN", drop(manifold.AirShares([]float64{nan, 1}))},
		{"sum of flow is +Inf", drop(manifold.AirShares([]float64{1e308, 1e308}))},
		{"cylinder 2: λ is 2.1", drop(manifold.AirSharesFromLambda([]float64{1, 2.1}, nil))},
		{"cylinder 1: λ is NaN", drop(manifold.AirSharesFromLambda([]float64{nan, 1}, nil))},
		{"fuel is given for 1 cylinders", drop(manifold.AirSharesFromLambda([]float64{1, 1}, []float64{1}))},
		{"cylinder 2: fuel is -1", drop(manifold.AirSharesFromLambda([]float64{1, 1}, []float64{1, -1}))},
		{"λ of the engine is 0", drop(manifold.AirSharesFromExhaust([]float64{1100, 1100}, manifold.ExhaustResponse{Slope: 700}))},
		{"says nothing of the mixture", drop(manifold.AirSharesFromExhaust([]float64{1100, 1100}, manifold.ExhaustResponse{Lambda: 0.95, Slope: 50}))},
		{"says nothing of the mixture", drop(manifold.AirSharesFromExhaust([]float64{1100, 1100}, manifold.ExhaustResponse{Lambda: 0.95, Slope: nan}))},
		{"cylinder 2: exhaust temperature is -3 K", drop(manifold.AirSharesFromExhaust([]float64{1100, -3}, response))},
		{"cylinder 1: 900 K", drop(manifold.AirSharesFromExhaust([]float64{900, 1100}, response))},
		{"for 0 cylinders", drop(manifold.AirSharesFromExhaust(nil, response))},
		{"cylinders are 1", drop(manifold.LinearShares(1, 0))},
		{"deviation is 0.6", drop(manifold.LinearShares(4, 0.6))},
		{"deviation is NaN", drop(manifold.LinearShares(4, nan))},
	} {
		require.Error(t, c.err)
		assert.Contains(t, units.Resolve(c.err.Error(), units.Metric), c.want)
	}
}
