// Package boost solves the boost of an engine over its speed range: what is asked for, what can be had, and what limits it.
package boost

import (
	"context"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/numeric"
	"bellmouth/internal/pool"
)

// An Outcome is one engine speed's operating point, or why it has none.
type Outcome struct {
	Speed       float64 // of the engine, rad/s
	TargetBoost float64 // boost asked for, Pa above the venue; NaN when naturally aspirated
	TargetHeld  bool    // the speed lies outside the target's table, whose end value was used
	Point       airpath.Point
	Overpull    *airpath.Overpull // where the restrictor rules: what shutting the wastegate on it would do
	Err         error             // an *airpath.PointError, or context.Canceled where the point was not begun
}

// Boost returns the boost reached, Pa above the venue.
func (o *Outcome) Boost(venue float64) float64 { return o.Point.ManifoldPressure - venue }

// Reached reports whether the boost asked for is reached, to within Pa: by an engine that comes from less boost, and by one that comes from
// more. They differ where there are two steady states.
func (o *Outcome) Reached(within float64) (coming, staying bool) {
	least := o.Point.TargetPressure - within
	coming = o.Point.ManifoldPressure >= least
	return coming, coming || o.Point.Upper >= least
}

// Sweep solves the operating points of an engine at the engine speeds, rad/s, for a boost target, Pa above the venue over
// engine speed in rad/s. Without a compressor the target does not count. Points are independent and are spread over the
// cores; the order and the values do not depend on how many there are. Once the context is done no further point is begun:
// the outcome of one that was not says so.
func Sweep(ctx context.Context, e *airpath.Engine, target numeric.Curve, speeds []float64) []Outcome {
	return SweepLoad(ctx, e, FullLoad(e, target), speeds)
}

// SweepLoad is Sweep for any load.
func SweepLoad(ctx context.Context, e *airpath.Engine, load Load, speeds []float64) []Outcome {
	outcomes := make([]Outcome, len(speeds))
	for i, speed := range speeds {
		outcomes[i] = notBegun(speed)
	}
	_ = Each(ctx, e, len(speeds), func(v *airpath.Solver, i int) { outcomes[i] = load(v, speeds[i], airpath.Near{}) }) // the outcomes tell
	return outcomes
}

// Each does the pieces 0 to n−1 of a work on all cores, which have a solver of the engine each. Once the context is done no further piece is
// begun, and the error is the context's when some were left.
func Each(ctx context.Context, e *airpath.Engine, n int, do func(v *airpath.Solver, i int)) error {
	return pool.Each(ctx, n, func() func(int) error {
		v := e.NewSolver()
		return func(i int) error {
			do(v, i)
			return nil
		}
	})
}

// notBegun returns the outcome of a speed that no solver has come to.
func notBegun(speed float64) Outcome {
	return Outcome{Speed: speed, TargetBoost: math.NaN(), Err: context.Canceled}
}

func solve(e *airpath.Engine, solver *airpath.Solver, target numeric.Curve, speed float64, near airpath.Near) Outcome {
	o := Outcome{Speed: speed, TargetBoost: math.NaN()}
	demand := airpath.Demand{Speed: speed, Target: math.Inf(1), Near: near}
	if e.Compressor != nil {
		o.TargetBoost, o.TargetHeld = target.At(speed)
		demand.Target = e.Venue.Pressure + o.TargetBoost
	}
	if o.Point, o.Err = solver.Solve(demand); o.Err != nil {
		return o
	}
	if e.Compressor != nil && o.Point.Limit == airpath.Restrictor {
		if pull, err := solver.Overpull(); err == nil {
			o.Overpull = &pull
		}
	}
	return o
}

// Speeds returns engine speeds from lo to hi, rad/s, in steps of step, with hi as the last even where the step does not
// meet it.
func Speeds(lo, hi, step float64) []float64 {
	n := int(math.Floor((hi-lo)/step + 1e-6))
	speeds := make([]float64, 0, n+2)
	for i := range n + 1 {
		speeds = append(speeds, lo+float64(i)*step)
	}
	if hi-speeds[n] > 1e-6*hi {
		speeds = append(speeds, hi)
	}
	return speeds
}

// Highest returns the index of the outcome with the highest value of f among those solved, or −1.
func Highest(outcomes []Outcome, f func(*airpath.Point) float64) int {
	best := -1
	for i := range outcomes {
		if outcomes[i].Err == nil && (best < 0 || f(&outcomes[i].Point) > f(&outcomes[best].Point)) {
			best = i
		}
	}
	return best
}
