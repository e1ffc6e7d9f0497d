package check

import (
	"math"

	"bellmouth/internal/injector"
	"bellmouth/internal/run"
)

// PulseMargin is by how much the pulses of both sets are to exceed their shortest where the second set comes in fully, as a
// part of them. Common practice, no source.
const PulseMargin = 0.10

// startSlack is how far a start may lie outside what is suggested, of duty: half of what is printed.
const startSlack = 5e-4

// A Start is how the duty at which the second injector set comes in lies to what is suggested.
type Start int

// The starts.
const (
	Suits Start = iota
	TooEarly
	TooLate
)

// String returns the start in words.
func (s Start) String() string {
	return [...]string{"between the two", "too early", "too late"}[s]
}

// StartOf judges the primary duty at which the second injector set comes in.
func StartOf(duty float64, s injector.Suggestion) Start {
	switch {
	case duty < s.StartDuty-startSlack:
		return TooEarly
	case duty > s.Latest+startSlack:
		return TooLate
	}
	return Suits
}

// A PlaneCount is what an injection plane comes to.
type PlaneCount struct {
	Short   int            // points that need less fuel than the primary's shortest pulse gives
	Over    int            // points that pass the duty allowed
	Richest run.PlanePoint // of the short ones the one with most fuel too much, as a part of that needed
	Surplus float64        // that part
}

// CountPlane judges the points of an injection plane by the duty allowed.
func CountPlane(points []run.PlanePoint, allowed float64) PlaneCount {
	var n PlaneCount
	for _, c := range points {
		if !c.Injected() {
			continue
		}
		in := &c.Point.Injection
		if in.Surplus > 0 {
			if n.Short++; n.Short == 1 || c.Surplus() > n.Surplus {
				n.Richest, n.Surplus = c, c.Surplus()
			}
		}
		if Passes(math.Max(in.Primary.Duty, in.Secondary.Duty), allowed) {
			n.Over++
		}
	}
	return n
}
