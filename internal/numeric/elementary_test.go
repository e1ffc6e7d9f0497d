package numeric

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Against the standard library's, which are good to one unit in the last place.
func TestElementary(t *testing.T) {
	const ulp = 0x1p-52
	rng := rand.New(rand.NewPCG(1, 2))
	near := func(want, got, relative, absolute float64, name string, x float64) {
		t.Helper()
		if !(math.Abs(got-want) <= math.Max(relative*math.Abs(want), absolute)) {
			t.Errorf("%s(%v) = %v, want %v", name, x, got, want)
		}
	}
	for range 200_000 {
		wide, small := 1400*rng.Float64()-700, math.Exp(40*rng.Float64()-40)
		near(math.Exp(wide), Exp(wide), 2*ulp, 0, "Exp", wide)
		near(math.Log(math.Exp(wide*0.98)), Log(math.Exp(wide*0.98)), 1e-15, 1e-15, "Log", math.Exp(wide*0.98))
		for _, x := range []float64{small, -small} {
			near(math.Exp(x), Exp(x), 2*ulp, 0, "Exp", x)
			near(math.Expm1(x), Expm1(x), 1e-13, 0, "Expm1", x)
			near(math.Log(1+x), Log(1+x), 1e-13, 1e-15, "Log", 1+x)
			near(math.Log1p(x), Log1p(x), 1e-13, 0, "Log1p", x)
		}
	}
	// A small unit in Exp's argument where the table's entry changes.
	for i := -300; i <= 300; i++ {
		x := (float64(i) + 0.5) * math.Ln2 / tableSize
		for _, x := range []float64{math.Nextafter(x, 9), x, math.Nextafter(x, -9)} {
			near(math.Exp(x), Exp(x), 2*ulp, 0, "Exp", x)
			near(math.Log(math.Exp(x)), Log(math.Exp(x)), 1e-13, 1e-15, "Log", math.Exp(x))
		}
	}
}

// What lies outside the tables is as the standard library has it.
func TestElementaryEnds(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, math.Copysign(0, -1), 1, -1, 710, -710, -745.5, -1e9, 1e-310, 1e-301, 1e301,
		math.MaxFloat64, 5e-324} {
		same := func(want, got float64) {
			t.Helper()
			assert.True(t, want == got || math.IsNaN(want) && math.IsNaN(got), "%v: %v, want %v", x, got, want)
		}
		if x != 1 && x != -1 {
			same(math.Exp(x), Exp(x))
			same(math.Expm1(x), Expm1(x))
		}
		same(math.Log(x), Log(x))
		if x != 1 {
			same(math.Log1p(x), Log1p(x))
		}
	}
}

func BenchmarkExp(b *testing.B) {
	x := 1.0
	for b.Loop() {
		x = Exp(x * 1e-3)
	}
}

func BenchmarkLog(b *testing.B) {
	x := 2.0
	for b.Loop() {
		x = Log(x) + 2
	}
}
