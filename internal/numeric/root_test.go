package numeric_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/numeric"
)

func TestFindRoot(t *testing.T) {
	for _, p := range []struct {
		name   string
		f      func(float64) float64
		lo, hi float64
		want   float64
	}{
		// Closed forms.
		{"line", func(x float64) float64 { return 3*x - 1 }, -10, 7, 1.0 / 3},
		{"falling line", func(x float64) float64 { return 1 - 3*x }, -10, 7, 1.0 / 3},
		{"cube root", func(x float64) float64 { return x*x*x - 2 }, 0, 2, math.Cbrt(2)},
		{"logarithm of two", func(x float64) float64 { return math.Exp(x) - 2 }, -5, 50, math.Ln2},
		{"logarithm over twelve decades", math.Log, 1e-6, 1e6, 1},
		{"ninth power, flat", func(x float64) float64 { return math.Pow(x-1, 9) }, 0, 5, 1},
		{"nineteenth power, overflowing slope", func(x float64) float64 { return math.Pow(x, 19) - 1 }, 0, 1e6, 1},
		{"square root with its sign, vertical", func(x float64) float64 {
			return math.Copysign(math.Sqrt(math.Abs(x-1)), x-1)
		}, -3, 4, 1},
		{"arc tangent, flat ends", func(x float64) float64 { return math.Atan(x - 1) }, -1e5, 3e6, 1},
		{"root at the lower end", func(x float64) float64 { return x }, 0, 1, 0},
		{"root at the upper end", func(x float64) float64 { return x - 1 }, 0, 1, 1},
		{"bracket of one point", func(x float64) float64 { return x - 1 }, 1, 1, 1},
		{"infinite at an end", func(x float64) float64 { return 1/x - 4 }, 0, 3, 0.25},
		{"tiny values, whose product underflows", func(x float64) float64 { return 1e-200 * (x*x - 2) }, 0, 2, math.Sqrt2},
		{"huge values", func(x float64) float64 { return 1e300 * (x*x - 2) }, 0, 2, math.Sqrt2},
		// Constants of the On-Line Encyclopedia of Integer Sequences, by number.
		{"cos x = x (A003957)", func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 0.73908513321516064},
		{"x exp x = 1 (A030178)", func(x float64) float64 { return x*math.Exp(x) - 1 }, 0, 1, 0.56714329040978387},
		{"tan x = x (A115365)", func(x float64) float64 { return math.Tan(x) - x }, 4, 4.6, 4.4934094579090642},
		{"x³ - 2x = 5, Wallis (A007493)", func(x float64) float64 { return x*x*x - 2*x - 5 }, 2, 3, 2.0945514815423266},
	} {
		t.Run(p.name, func(t *testing.T) {
			for _, tol := range []float64{1e-3, 1e-8, 1e-14} {
				calls := 0
				root, err := numeric.FindRoot(func(x float64) float64 { calls++; return p.f(x) }, p.lo, p.hi, tol)
				require.NoError(t, err)
				// tol, or a few spacings of float64: those of x and of the rounded function.
				assert.InDelta(t, p.want, root.X, tol+1e-15*math.Abs(p.want))
				assert.Equal(t, p.f(root.X), root.Residual)
				assert.LessOrEqual(t, root.Iterations, calls)
				bisections := math.Log2((p.hi-p.lo)/tol) + 1
				assert.LessOrEqual(t, float64(calls), math.Max(10, 1.7*bisections), "no worse than halving by much")
			}
		})
	}
}

func TestFindRootIsFasterThanHalving(t *testing.T) {
	// A smooth function: halving [0, 1] to 1e-12 takes 40 evaluations, a superlinear method about ten.
	root, err := numeric.FindRoot(func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 1e-12)
	require.NoError(t, err)
	assert.LessOrEqual(t, root.Iterations, 10)
}

func TestBracketError(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	line := func(x float64) float64 { return x }
	for _, p := range []struct {
		name   string
		f      func(float64) float64
		lo, hi float64
		want   string
	}{
		{"same sign", line, 1, 2, "no sign change in [1, 2]: the function is 1 and 2 at the ends"},
		{"same sign, product underflows", func(x float64) float64 { return 1e-200 * x }, 1, 2,
			"no sign change in [1, 2]: the function is 1e-200 and 2e-200 at the ends"},
		{"lower end", math.Log, -1, 2, "the function is not a number at -1, the lower end of [-1, 2]"},
		{"upper end", func(x float64) float64 { return math.Sqrt(1-x) - 1.2 }, 0, 2,
			"the function is not a number at 2, the upper end of [0, 2]"},
		{"falling", line, 2, -1, "[2, -1] is not a finite rising interval"},
		{"infinite", line, -1, inf, "[-1, +Inf] is not a finite rising interval"},
		{"as long as overflows", line, -1e308, 1e308, "[-1e+308, 1e+308] is not a finite rising interval"},
		{"not a number", line, nan, 1, "[NaN, 1] is not a finite rising interval"},
	} {
		t.Run(p.name, func(t *testing.T) {
			_, err := numeric.FindRoot(p.f, p.lo, p.hi, 1e-9)
			var bracket *numeric.BracketError
			require.ErrorAs(t, err, &bracket)
			assert.EqualError(t, err, p.want)
		})
	}
}

func TestConvergenceError(t *testing.T) {
	for _, p := range []struct {
		name        string
		f           func(float64) float64
		lo, hi, tol float64
		want        string
	}{
		{"a pole", func(x float64) float64 { return 1 / (x - 0.25) }, 0, 0.75, 1e-6, "changes sign at 0.25"},
		{"not a number inside", func(x float64) float64 {
			if math.Abs(x) < 0.5 {
				return math.NaN()
			}
			return x
		}, -1, 1, 1e-9, "the function is not a number at 0 (iteration 1, in [-1, 1])"},
		{"2000 halvings", func(x float64) float64 {
			if x < 1e-300 {
				return -1
			}
			return 1
		}, 0, 1e300, 1e-310, "no root after 300 iterations: last"},
	} {
		t.Run(p.name, func(t *testing.T) {
			_, err := numeric.FindRoot(p.f, p.lo, p.hi, p.tol)
			var stopped *numeric.ConvergenceError
			require.ErrorAs(t, err, &stopped)
			assert.ErrorContains(t, err, p.want)
			assert.True(t, stopped.Lo <= stopped.X && stopped.X <= stopped.Hi)
			assert.Positive(t, stopped.Iterations)
		})
	}
}

func TestFindRootNeedsATolerance(t *testing.T) {
	for _, tol := range []float64{0, -1, math.NaN()} {
		_, err := numeric.FindRoot(math.Sin, -1, 1, tol)
		assert.EqualError(t, err, "a root needs a tolerance above zero")
	}
}

// A finite jump is answered with its place, and the residual says that it is none of a root.
func TestFindRootAtAJump(t *testing.T) {
	root, err := numeric.FindRoot(func(x float64) float64 { return math.Copysign(2, x-0.3) }, 0, 1, 1e-9)
	require.NoError(t, err)
	assert.InDelta(t, 0.3, root.X, 1e-9)
	assert.InDelta(t, 2, math.Abs(root.Residual), 0)
}

func TestFindRootDoesNotAllocate(t *testing.T) {
	target := 0.5
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		if _, err := numeric.FindRoot(func(x float64) float64 { return math.Sin(x) - target }, 0, 1, 1e-9); err != nil {
			t.Fatal(err)
		}
	}))
}

func BenchmarkFindRoot(b *testing.B) {
	b.ReportAllocs()
	iterations := 0
	for b.Loop() {
		root, err := numeric.FindRoot(func(x float64) float64 { return x*x*x - 2*x - 5 }, 2, 3, 1e-9)
		if err != nil {
			b.Fatal(err)
		}
		iterations = root.Iterations
	}
	b.ReportMetric(float64(iterations), "iterations")
}
