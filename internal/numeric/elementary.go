package numeric

import "math"

// Exponential and logarithm for the inner loops, where a cycle calls them a thousand times, each waiting for the last. They are those of math
// to a few units in the last place, in about half the time.
//
// Method: a table over the leading bits and a short polynomial for the rest. Tang, Table-driven implementation of the exponential function in
// IEEE floating-point arithmetic, ACM TOMS 15 (1989) 144; of the logarithm function, 16 (1990) 378.

const (
	tableBits = 7
	tableSize = 1 << tableBits
	mantissa  = 52      // bits of a float64's fraction
	bias      = 1023    // of its exponent
	rounding  = 3 << 51 // added and taken off again it leaves a whole number, which stands in the low bits of the sum
)

// ln 2 in two parts, of which the first leaves the low bits free: a whole number below 2^20 times it is exact.
const (
	ln2Head = 0x1.62e42feep-1
	ln2Tail = 0x1.a39ef35793c76p-33
)

var powersOfTwo = tabulate(func(i float64) float64 { return math.Exp2(i / tableSize) })

type logEntry struct{ inverse, log float64 }

var logarithms = tabulate(func(i float64) logEntry {
	c := 1 + i/tableSize
	return logEntry{1 / c, math.Log(c)}
})

func tabulate[T any](f func(i float64) T) (t [tableSize + 1]T) {
	for i := range t {
		t[i] = f(float64(i))
	}
	return t
}

// reduced is what is left of an exponential: e^x = scale (1 + rest).
func reduced(x float64) (scale, rest float64) {
	sum := x*(tableSize/math.Ln2) + rounding
	k := math.Float64bits(sum)
	n := sum - rounding
	r := x - n*(ln2Head/tableSize) - n*(ln2Tail/tableSize) // within ±ln 2/256
	scale = math.Float64frombits(math.Float64bits(powersOfTwo[k%tableSize]) + k>>tableBits<<mantissa)
	r2 := r * r
	return scale, r + r2*(0.5+r*(1./6)) + r2*r2*(1./24+r*(1./120))
}

// Exp returns e^x, to 2 units in the last place.
func Exp(x float64) float64 {
	if !(x > -700 && x < 700) {
		return math.Exp(x)
	}
	scale, rest := reduced(x)
	return scale + scale*rest
}

// Expm1 returns e^x − 1, to 1e-13 of itself.
func Expm1(x float64) float64 {
	if !(x > -700 && x < 700) {
		return math.Expm1(x)
	}
	scale, rest := reduced(x)
	return (scale - 1) + scale*rest
}

// Log returns ln x, to 1e-15 or, where that is more, 1e-15 of itself.
func Log(x float64) float64 {
	if !(x > 1e-300 && x < 1e300) {
		return math.Log(x)
	}
	bits := math.Float64bits(x)
	m := math.Float64frombits(bits&(1<<mantissa-1) | bias<<mantissa) // 1 to 2
	t := &logarithms[bits>>(mantissa-tableBits)%tableSize+bits>>(mantissa-tableBits-1)&1]
	r := m*t.inverse - 1 // within ±1/256
	r2 := r * r
	return float64(int(bits>>mantissa)-bias)*math.Ln2 + t.log + (r - r2*(0.5-r*(1./3)) - r2*r2*(0.25-r*0.2+r2*(1./6)))
}

// Log1p returns ln(1 + x), to 1e-13 of itself.
func Log1p(x float64) float64 {
	u := 1 + x
	if !(u > 1e-3 && u < 1e9) {
		return math.Log1p(x)
	}
	return Log(u) + (x-(u-1))/u
}
