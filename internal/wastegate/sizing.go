package wastegate

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/turbine"
)

// Preloads are the spring preloads that hold every one of several points.
type Preloads struct {
	Lowest    float64 // N; below it the valve opens further than LowestAt wants
	Highest   float64 // N; above it the valve does not open as far as HighestAt wants; +Inf when all points want it closed
	LowestAt  int     // index of the point that sets Lowest; −1 when none does and Lowest is 0
	HighestAt int     // index of the point that sets Highest; −1 when none does
}

// Possible reports whether one preload serves all points.
func (p Preloads) Possible() bool { return p.Lowest <= p.Highest }

// Preloads returns the spring preloads with which some duty holds each of the points.
//
//	least port force ≤ F0 + k L l ∓ (p3 − p4) Av/L ≤ greatest port force
//
// A point of lift 0 sets no highest preload. The actuator's own preload does not count. The points want their range of
// boost from one spring: low boost, with the valve wide open, sets the highest; high boost, the lowest. A point
// whose lift is more than the actuator's greatest is an error.
func (y System) Preloads(points []Point) (Preloads, error) {
	y.Actuator.Preload = 0
	if err := y.Validate(); err != nil {
		return Preloads{}, err
	}
	if len(points) == 0 {
		return Preloads{}, errors.New("preload: there are no points to hold")
	}
	all := Preloads{Lowest: 0, Highest: math.Inf(1), LowestAt: -1, HighestAt: -1}
	for i := range points {
		p := &points[i]
		if err := p.validate(); err != nil {
			return Preloads{}, fmt.Errorf("point %d: %w", i+1, err)
		}
		if greatest := y.Actuator.GreatestLift(); !(p.Lift <= greatest) {
			return Preloads{}, fmt.Errorf("point %d: lift is %v m; the actuator's greatest is %v m", i+1, p.Lift, greatest)
		}
		e, err := y.extremes(&p.State)
		if err != nil {
			return Preloads{}, fmt.Errorf("point %d: %w", i+1, err)
		}
		rest := y.Actuator.besidesPreload(p.State, p.Lift)
		lowest, highest := e.least-rest, e.greatest-rest
		if !finite(lowest) || !finite(highest) {
			return Preloads{}, fmt.Errorf("point %d: forces on the actuator are out of all bounds", i+1)
		}
		if lowest > all.Lowest {
			all.Lowest, all.LowestAt = lowest, i
		}
		if p.Lift > 0 && highest < all.Highest {
			all.Highest, all.HighestAt = highest, i
		}
	}
	return all, nil
}

// BoreFor returns the seat bore d, m, with which the wastegate passes a flow, kg/s, at its greatest lift: the cure for
// boost that creeps past what is wanted with the valve fully open.
//
//	A = m/(Cd p3/√(R T3) ψ(p4/p3, γ)) = n π d min(l, d/4);  d = max(√(4 A/(n π)), A/(n π l))
//
// The wastegate's own bore does not count. A larger face also gives the exhaust more to push on. n.Pressure at or below
// n.OutletPressure, where nothing flows, is an error.
func BoreFor(w turbine.Wastegate, n turbine.Nozzle, flow float64) (float64, error) {
	w.Bore = 4 * w.Lift // any bore will do to find the flow through a unit of area
	if err := w.Validate(); err != nil {
		return 0, err
	}
	if !positive(flow) {
		return 0, fmt.Errorf("wastegate flow is %v kg/s; want more than 0", flow)
	}
	most := w.MaxFlow(n)
	if !positive(most) {
		return 0, fmt.Errorf("wastegate bore: nothing flows from %v Pa to %v Pa at %v K", n.Pressure, n.OutletPressure, n.Temperature)
	}
	perValve := w.OpenArea(w.Lift) / most * flow / float64(w.Count)
	return math.Max(math.Sqrt(4*perValve/math.Pi), perValve/(math.Pi*w.Lift)), nil
}
