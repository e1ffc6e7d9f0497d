package boost

import (
	"context"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/numeric"
)

// A Plane is an engine over speed and manifold pressure, from the throttled to full load.
type Plane struct {
	Speeds    []float64 // rad/s
	Pressures []float64 // in the manifold, Pa absolute, rising
	Held      []float64 // compressor outlet pressures that the wastegate's spring holds at part load, by speed, Pa; 0: wide open
	FullLoad  []Outcome // by speed
	Cells     [][]Cell  // by speed, then pressure
}

// A Cell is the operating point at one speed and manifold pressure.
type Cell struct {
	Beyond bool // the pressure lies above the full-load line: there is no such point
	Point  airpath.Point
	Err    error // an *airpath.PointError, or context.Canceled where the point was not begun
}

// SweepPlane solves an engine at every speed, rad/s, and manifold pressure, Pa absolute, up to the full-load line that the
// boost target, Pa above the venue over rad/s, and the engine's limits leave. Points are spread over the cores; the values do
// not depend on how many there are. Once the context is done no further speed is begun: the points of one that was not say so.
//
// held are the compressor outlet pressures, Pa absolute, by speed, that the wastegate's spring holds at part load; 0, or nil for
// all, takes the wastegate to be wide open there.
func SweepPlane(ctx context.Context, e *airpath.Engine, target numeric.Curve, held, speeds, pressures []float64) Plane {
	p := Plane{
		Speeds: speeds, Pressures: pressures, Held: make([]float64, len(speeds)), FullLoad: make([]Outcome, len(speeds)), Cells: make([][]Cell, len(speeds)),
	}
	copy(p.Held, held)
	for i, speed := range speeds {
		p.FullLoad[i] = notBegun(speed)
		p.Cells[i] = make([]Cell, len(pressures))
		for j := range p.Cells[i] {
			p.Cells[i][j].Err = context.Canceled
		}
	}
	_ = Each(ctx, e, len(speeds), func(solver *airpath.Solver, i int) {
		p.FullLoad[i] = solve(e, solver, target, speeds[i], airpath.Near{})
		fillRow(solver, &p.FullLoad[i], p.Held[i], pressures, p.Cells[i])
	})
	return p
}

func fillRow(solver *airpath.Solver, full *Outcome, held float64, pressures []float64, cells []Cell) {
	most, known := math.Inf(-1), 0.
	if full.Err == nil {
		known = full.Point.ManifoldPressure
		most = known * (1 + 1e-9)
	}
	for j, pm := range pressures {
		c := &cells[j]
		if c.Beyond = full.Err == nil && pm > most; c.Beyond {
			c.Err = nil
			continue
		}
		c.Point, c.Err = solver.Solve(airpath.Demand{Speed: full.Speed, Target: pm, Throttled: true, HeldOutlet: held, Full: known})
	}
}
