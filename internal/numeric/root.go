// Package numeric finds roots of scalar functions inside a bracket and interpolates tables that must not overshoot.
package numeric

import (
	"errors"
	"fmt"
	"math"
)

// A Root is a solved unknown and how well it is known.
type Root struct {
	X, Residual float64 // Residual is f(X), in the unit of f
	Iterations  int     // steps taken after the two ends of the bracket
}

// A BracketError reports that the ends of an interval do not enclose a root: f has the same sign at both, is not a
// number at one of them, or the interval itself is empty or not finite.
type BracketError struct {
	Lo, Hi   float64
	FLo, FHi float64 // f at the ends; NaN where f was not asked
}

func (e *BracketError) Error() string {
	switch {
	case !isFinite(e.Hi-e.Lo) || e.Lo > e.Hi:
		return fmt.Sprintf("[%g, %g] is not a finite rising interval", e.Lo, e.Hi)
	case math.IsNaN(e.FLo):
		return fmt.Sprintf("the function is not a number at %g, the lower end of [%g, %g]", e.Lo, e.Lo, e.Hi)
	case math.IsNaN(e.FHi):
		return fmt.Sprintf("the function is not a number at %g, the upper end of [%g, %g]", e.Hi, e.Lo, e.Hi)
	}
	return fmt.Sprintf("no sign change in [%g, %g]: the function is %g and %g at the ends", e.Lo, e.Hi, e.FLo, e.FHi)
}

// A ConvergenceError reports a search that stopped without a root: at the iteration limit, where f is not a number,
// or at a place where f changes sign by a jump to infinity.
type ConvergenceError struct {
	X, Residual float64 // the last x and f there
	Iterations  int
	Lo, Hi      float64 // what was left of the bracket
}

func (e *ConvergenceError) Error() string {
	switch {
	case math.IsNaN(e.Residual):
		return fmt.Sprintf("the function is not a number at %g (iteration %d, in [%g, %g])", e.X, e.Iterations, e.Lo, e.Hi)
	case e.Iterations >= maxIterations:
		return fmt.Sprintf("no root after %d iterations: last %g, residual %g, in [%g, %g]",
			e.Iterations, e.X, e.Residual, e.Lo, e.Hi)
	}
	return fmt.Sprintf("the function changes sign at %g by a jump, not a root: residual %g after %d iterations",
		e.X, e.Residual, e.Iterations)
}

const (
	// Past this many steps the search only halves, so that a function made to defeat interpolation costs
	// bisection's count and no more.
	maxInterpolations = 60
	// Halving takes 53 steps per factor of 2^53 between bracket and tolerance; 300 leaves room for a root 200 binary
	// orders below the bracket.
	maxIterations = 300

	epsilon = 0x1p-52
)

// FindRoot returns an x in [lo, hi] where f is zero, to within tol of x or to the spacing of float64 there, whichever
// is larger. The root lies between x and a neighbour of opposite sign no further away than that.
//
// The method is inverse quadratic interpolation where its three points make that safe and bisection elsewhere.
// Source: Chandrupatla, A new hybrid quadratic/bisection algorithm for finding the zero of a nonlinear function
// without using derivatives, Advances in Engineering Software 28 (1997). A bracket rather than a first guess, since the
// parts of an engine give one and nothing then wanders off.
//
// f must have opposite signs at lo and hi, or be zero at one of them: else the error is a *BracketError. A function
// that is not a number on the way, or that jumps across zero through infinity, is a *ConvergenceError. A finite
// jump cannot be told from a steep root; Residual shows it. f may be infinite at an end. FindRoot does not allocate.
func FindRoot(f func(float64) float64, lo, hi, tol float64) (Root, error) {
	if !(tol > 0) {
		return Root{}, errors.New("a root needs a tolerance above zero")
	}
	if !(lo <= hi) || !isFinite(hi-lo) {
		return Root{}, &BracketError{lo, hi, math.NaN(), math.NaN()}
	}
	flo, fhi := f(lo), f(hi)
	switch {
	case math.IsNaN(flo) || math.IsNaN(fhi):
		return Root{}, &BracketError{lo, hi, flo, fhi}
	case flo == 0:
		return Root{X: lo, Residual: flo}, nil
	case fhi == 0:
		return Root{X: hi, Residual: fhi}, nil
	case (flo > 0) == (fhi > 0): // signs, since the product of two tiny values is zero
		return Root{}, &BracketError{lo, hi, flo, fhi}
	}

	// x1 is the latest point, x2 the other end of the bracket, x3 the point that x1 or x2 replaced.
	x1, f1, x2, f2 := hi, fhi, lo, flo
	t := 0.5
	for i := 1; i <= maxIterations; i++ {
		x := x1 + t*(x2-x1)
		fx := f(x)
		if math.IsNaN(fx) {
			return Root{}, &ConvergenceError{x, fx, i, math.Min(x1, x2), math.Max(x1, x2)}
		}
		var x3, f3 float64
		if (fx > 0) == (f1 > 0) {
			x3, f3 = x1, f1
		} else {
			x3, f3 = x2, f2
			x2, f2 = x1, f1
		}
		x1, f1 = x, fx

		best, fbest := x1, f1
		if math.Abs(f2) < math.Abs(f1) {
			best, fbest = x2, f2
		}
		width := math.Abs(x2 - x1)
		near := 0.5*tol + epsilon*math.Abs(best)
		if f1 == 0 || width <= 2*near {
			// A root's residual shrinks with the bracket; a pole's grows past what the ends showed.
			if math.Abs(fbest) > math.Max(math.Abs(flo), math.Abs(fhi)) {
				return Root{}, &ConvergenceError{best, fbest, i, math.Min(x1, x2), math.Max(x1, x2)}
			}
			return Root{best, fbest, i}, nil
		}
		if i == maxIterations {
			return Root{}, &ConvergenceError{best, fbest, i, math.Min(x1, x2), math.Max(x1, x2)}
		}

		t = 0.5
		if i < maxInterpolations {
			xi, phi := (x1-x2)/(x3-x2), (f1-f2)/(f3-f2)
			if phi*phi < xi && (1-phi)*(1-phi) < 1-xi { // false for infinities, which then bisect
				t = f1/(f2-f1)*f3/(f2-f3) + (x3-x1)/(x2-x1)*f1/(f3-f1)*f2/(f3-f2)
			}
		}
		limit := near / width // a step shorter than the tolerance could not close the bracket
		if !(t > limit) {
			t = limit
		}
		if t > 1-limit {
			t = 1 - limit
		}
	}
	panic("unreachable: the loop returns at its limit")
}

func isFinite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
