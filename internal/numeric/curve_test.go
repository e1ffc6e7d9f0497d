package numeric_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/numeric"
)

func mustCurve(t testing.TB, x, y []float64) numeric.Curve {
	t.Helper()
	c, err := numeric.NewCurve(x, y)
	require.NoError(t, err)
	return c
}

func TestCurveGoesThroughItsPoints(t *testing.T) {
	x := []float64{1500, 3000, 4500, 6000, 7000, 7800}
	y := []float64{0.78, 0.90, 0.99, 1.02, 0.99, 0.94}
	c := mustCurve(t, x, y)
	for i := range x {
		got, held := c.At(x[i])
		assert.InDelta(t, y[i], got, 0)
		assert.False(t, held, "a point of the table is not outside it")
	}
	lo, hi := c.Span()
	assert.InDelta(t, 1500, lo, 0)
	assert.InDelta(t, 7800, hi, 0)
	assert.False(t, c.IsZero())
}

func TestCurveBetweenPoints(t *testing.T) {
	// Worked by hand from Fritsch & Butland (1984): with even spacing the slope at an inner point is the harmonic mean
	// of its two neighbours, 2·1·3/4 = 1.5 at x = 1 and 2·3·5/8 = 3.75 at x = 2. A cubic's mid value is the mean
	// of its ends plus h(d1 - d2)/8.
	c := mustCurve(t, []float64{0, 1, 2, 3}, []float64{0, 1, 4, 9})
	got, held := c.At(1.5)
	assert.InDelta(t, 2.5+(1.5-3.75)/8, got, 1e-14)
	assert.False(t, held)

	// An extreme of the data is an extreme of the curve: its slope there is zero.
	c = mustCurve(t, []float64{0, 1, 2}, []float64{0, 1, 0})
	got, _ = c.At(1 + 1e-6)
	assert.InDelta(t, 1, got, 1e-10)
}

func TestCurveOfTwoPointsIsALine(t *testing.T) {
	c := mustCurve(t, []float64{10, 14}, []float64{1.9e-3, 1.0e-3})
	for _, x := range []float64{10, 10.5, 12, 13.9, 14} {
		got, held := c.At(x)
		assert.InDelta(t, 1.9e-3-(x-10)*0.9e-3/4, got, 1e-18)
		assert.False(t, held)
	}
}

func TestCurveHoldsItsEnds(t *testing.T) {
	c := mustCurve(t, []float64{2000, 3000, 7000}, []float64{0.9, 1.6, 1.5})
	for _, p := range []struct {
		x, want float64
		held    bool
	}{
		{math.Inf(-1), 0.9, true}, {-5, 0.9, true}, {math.Nextafter(2000, 0), 0.9, true}, {2000, 0.9, false},
		{7000, 1.5, false}, {math.Nextafter(7000, 8000), 1.5, true}, {1e9, 1.5, true}, {math.Inf(1), 1.5, true},
	} {
		got, held := c.At(p.x)
		assert.InDelta(t, p.want, got, 0, "at %v", p.x)
		assert.Equal(t, p.held, held, "at %v", p.x)
	}
}

func TestCurveOfOnePoint(t *testing.T) {
	c := mustCurve(t, []float64{3000}, []float64{1.2})
	for x, held := range map[float64]bool{2999: true, 3000: false, 3001: true} {
		got, h := c.At(x)
		assert.InDelta(t, 1.2, got, 0)
		assert.Equal(t, held, h, "at %v", x)
	}
}

func TestConstant(t *testing.T) {
	c := numeric.Constant(0)
	assert.False(t, c.IsZero(), "a constant of zero is given")
	for _, x := range []float64{math.Inf(-1), -1, 0, 1e300, math.Inf(1)} {
		got, held := numeric.Constant(0.7).At(x)
		assert.InDelta(t, 0.7, got, 0)
		assert.False(t, held)
	}
	lo, hi := c.Span()
	assert.True(t, math.IsInf(lo, -1) && math.IsInf(hi, 1))
}

func TestCurveNeverHidesANaN(t *testing.T) {
	for name, c := range map[string]numeric.Curve{
		"table":     mustCurve(t, []float64{0, 1, 3}, []float64{1, 2, 3}),
		"line":      mustCurve(t, []float64{0, 1}, []float64{1, 2}),
		"one point": mustCurve(t, []float64{0}, []float64{1}),
		"constant":  numeric.Constant(1),
		"not given": {},
	} {
		got, held := c.At(math.NaN())
		assert.True(t, math.IsNaN(got) && held, name)
	}
	got, held := numeric.Curve{}.At(1)
	assert.True(t, math.IsNaN(got) && held, "a curve that was not given has no values")
	assert.True(t, numeric.Curve{}.IsZero())
}

func TestNewCurveRefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, p := range []struct {
		x, y  []float64
		index int
		want  string
	}{
		{[]float64{1, 3, 2}, []float64{1, 2, 3}, 2, "point 3 lies at 2, below 3 before it"},
		{[]float64{1, 2, 2}, []float64{1, 2, 3}, 2, "point 3 lies at 2, as the one before it"},
		{[]float64{1, nan, 2}, []float64{1, 2, 3}, 1, "point 2 lies at NaN, which is not finite"},
		{[]float64{nan}, []float64{1}, 0, "point 1 lies at NaN, which is not finite"},
		{[]float64{1, 2, inf}, []float64{1, 2, 3}, 2, "point 3 lies at +Inf, which is not finite"},
		{[]float64{1, 2, 3}, []float64{1, nan, 3}, 1, "point 2 has the value NaN, which is not finite"},
		{[]float64{1, 2}, []float64{inf, 1}, 0, "point 1 has the value +Inf, which is not finite"},
		{[]float64{-1e308, 0, 1e308}, []float64{1, 2, 3}, 2, "point 3 at 1e+308 is too far from the first at -1e+308"},
		{[]float64{0, 1}, []float64{-1e308, 1e308}, 1,
			"point 2 (1, 1e+308) makes too steep a step from (0, -1e+308)"},
		{[]float64{0, 1e-200, 1}, []float64{0, 1, 2}, 1, "point 2 (1e-200, 1) makes too steep a step from (0, 0)"},
	} {
		c, err := numeric.NewCurve(p.x, p.y)
		var point *numeric.PointError
		require.ErrorAs(t, err, &point, p.want)
		assert.Equal(t, p.index, point.Index)
		assert.EqualError(t, err, p.want)
		assert.True(t, c.IsZero())
	}
	_, err := numeric.NewCurve([]float64{1, 2}, []float64{1})
	assert.EqualError(t, err, "a curve needs as many values as abscissae, not 1 and 2")
	_, err = numeric.NewCurve(nil, nil)
	assert.EqualError(t, err, "a curve needs at least one point")
}

// Between rising points the curve rises, and between any two it stays within them, whatever the spacing.
func TestCurveIsMonotone(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 300 {
		n := 2 + rng.IntN(9)
		x, rising, any := make([]float64, n), make([]float64, n), make([]float64, n)
		x[0] = rng.NormFloat64()
		for i := range n {
			if i > 0 {
				x[i] = x[i-1] + math.Pow(10, 4*rng.Float64()-2)
				rising[i] = rising[i-1] + math.Pow(10, 6*rng.Float64()-3)
				if rng.IntN(4) == 0 {
					rising[i] = rising[i-1]
				}
			}
			any[i] = rng.NormFloat64()
		}
		up, free := mustCurve(t, x, rising), mustCurve(t, x, any)
		before := rising[0]
		for i := 1; i < n; i++ {
			for j := range 50 {
				at := x[i-1] + (x[i]-x[i-1])*float64(j+1)/50
				got, _ := up.At(at)
				require.GreaterOrEqual(t, got, before-1e-12*rising[n-1], "x %v y %v at %v", x, rising, at)
				before = got
				got, _ = free.At(at)
				require.GreaterOrEqual(t, got, math.Min(any[i-1], any[i])-1e-12)
				require.LessOrEqual(t, got, math.Max(any[i-1], any[i])+1e-12)
			}
		}
	}
}

// The curve keeps its points to itself: the caller may reuse the slices.
func TestCurveCopiesItsPoints(t *testing.T) {
	x, y := []float64{0, 1, 2}, []float64{0, 1, 4}
	c := mustCurve(t, x, y)
	before, _ := c.At(1.5)
	x[1], y[1], y[2] = 1.9, -7, 100
	after, _ := c.At(1.5)
	assert.InDelta(t, before, after, 0)
}

func TestCurveAtDoesNotAllocate(t *testing.T) {
	c := mustCurve(t, []float64{0, 1, 2, 3}, []float64{0, 1, 4, 9})
	sum := 0.0
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		y, _ := c.At(1.7)
		sum += y
	}))
}

func BenchmarkCurveAt(b *testing.B) {
	c := mustCurve(b, []float64{1500, 3000, 4500, 6000, 7000, 7800}, []float64{0.78, 0.90, 0.99, 1.02, 0.99, 0.94})
	b.ReportAllocs()
	x := 1000.0
	for b.Loop() {
		if y, _ := c.At(x); y < 0 {
			b.Fatal(y)
		}
		if x += 7; x > 8000 {
			x = 1000
		}
	}
}
