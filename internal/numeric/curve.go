package numeric

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"
)

// A Curve is a table of values over a rising abscissa, read between its points without overshoot: where the data rise
// so does the curve, and no value lies outside its two neighbours.
//
// The interpolation is the monotone piecewise cubic of Fritsch and Butland, A method for constructing local monotone
// piecewise cubic interpolants, SIAM J. Sci. Stat. Comput. 5 (1984); two points make a line. Outside its points the
// curve is held at the end value, which At reports. The zero Curve is "not given".
//
// A Curve does not change once made and is safe for any number of goroutines.
type Curve struct {
	lo, hi   float64 // -Inf and +Inf for a constant
	ylo, yhi float64
	cubic    *interp.FritschButland // nil for a constant and for one point
	given    bool
}

// A PointError reports the point of a table that a curve cannot go through.
type PointError struct {
	Index  int // of the point, from 0
	Reason string
}

func (e *PointError) Error() string { return fmt.Sprintf("point %d %s", e.Index+1, e.Reason) }

// NewCurve returns the curve through the points (x[i], y[i]). The abscissae must be finite and strictly rising, and
// the values finite; a point that is not is a *PointError. One point alone is a value known at one place: the curve
// is flat and held on both sides of it.
func NewCurve(x, y []float64) (Curve, error) {
	if len(x) != len(y) {
		return Curve{}, fmt.Errorf("a curve needs as many values as abscissae, not %d and %d", len(y), len(x))
	}
	if len(x) == 0 {
		return Curve{}, errors.New("a curve needs at least one point")
	}
	for i := range x {
		switch {
		case !isFinite(x[i]):
			return Curve{}, &PointError{i, fmt.Sprintf("lies at %g, which is not finite", x[i])}
		case !isFinite(y[i]):
			return Curve{}, &PointError{i, fmt.Sprintf("has the value %g, which is not finite", y[i])}
		case i > 0 && x[i] == x[i-1]:
			return Curve{}, &PointError{i, fmt.Sprintf("lies at %g, as the one before it", x[i])}
		case i > 0 && x[i] < x[i-1]:
			return Curve{}, &PointError{i, fmt.Sprintf("lies at %g, below %g before it", x[i], x[i-1])}
		}
	}
	last := len(x) - 1
	if !isFinite(x[last] - x[0]) {
		return Curve{}, &PointError{last, fmt.Sprintf("at %g is too far from the first at %g", x[last], x[0])}
	}
	c := Curve{lo: x[0], hi: x[last], ylo: y[0], yhi: y[last], given: true}
	if last == 0 {
		return c, nil
	}
	c.cubic = new(interp.FritschButland)
	// Fit keeps no reference to its arguments; it panics on what the loop above refused and returns no error.
	if err := c.cubic.Fit(x, y); err != nil {
		return Curve{}, err
	}
	for i := 1; i <= last; i++ { // values too far apart, or abscissae too close, overflow the coefficients
		if mid := c.cubic.Predict(x[i-1] + (x[i]-x[i-1])/2); !isFinite(mid) || !isFinite(y[i]-y[i-1]) {
			return Curve{}, &PointError{i, fmt.Sprintf("(%g, %g) makes too steep a step from (%g, %g)", x[i], y[i], x[i-1], y[i-1])}
		}
	}
	return c, nil
}

// Constant returns a curve that has the value y everywhere and holds nothing, since it has no ends.
func Constant(y float64) Curve {
	return Curve{lo: math.Inf(-1), hi: math.Inf(1), ylo: y, yhi: y, given: true}
}

// At returns the curve's value at x, and whether x lies outside its points, where the value is that of the nearer end.
// At NaN, and on the zero Curve, the value is NaN and held is true. At does not allocate.
func (c Curve) At(x float64) (y float64, held bool) {
	switch {
	case !c.given || math.IsNaN(x):
		return math.NaN(), true
	case x <= c.lo:
		return c.ylo, x < c.lo
	case x >= c.hi:
		return c.yhi, x > c.hi
	case c.cubic == nil:
		return c.ylo, false
	}
	return c.cubic.Predict(x), false
}

// Span returns the first and last abscissa; a constant spans everything, -Inf to +Inf, and the zero Curve 0 to 0.
func (c Curve) Span() (lo, hi float64) { return c.lo, c.hi }

// IsZero reports whether the curve was never given.
func (c Curve) IsZero() bool { return !c.given }
