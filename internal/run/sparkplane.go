package run

import (
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
)

// A SparkPlane is a run's spark over engine speed and manifold pressure.
type SparkPlane struct {
	*KnockFree
	Plane boost.Plane
	best  [][]Freed // by speed, then pressure
}

// Over returns the spark over a plane that has been solved at the run's speeds.
func (k *KnockFree) Over(plane boost.Plane) *SparkPlane {
	p := &SparkPlane{KnockFree: k, Plane: plane, best: make([][]Freed, len(k.Outcomes))}
	for i := range p.best {
		p.best[i] = make([]Freed, len(plane.Pressures))
	}
	_ = boost.Each(k.Context, k.free, len(k.Outcomes), func(solver *airpath.Solver, i int) {
		for j := range plane.Pressures {
			if c := &p.Plane.Cells[i][j]; !c.Beyond && c.Err == nil {
				p.best[i][j] = k.freed(solver, &c.Point, airpath.Demand{Throttled: true, HeldOutlet: plane.Held[i]})
			}
		}
	})
	return p
}

// A SparkPoint is one point of the plane.
type SparkPoint struct {
	Speed, Pressure float64 // rad/s; in the manifold, Pa absolute, as asked for
	*boost.Cell
	Best  *Freed
	Above bool    // above the full-load line
	Spark float64 // of a point above the line, rad before firing top dead centre
}

// A SparkHold is why a solved point of the plane is not what was asked for, or is not to be run.
type SparkHold int

// The reasons.
const (
	NotHeld       SparkHold = iota
	KnockUnmet              // it knocks whatever the CA50 accepted
	PressureUnmet           // it passes the cylinder pressure limit, or is cut short by it, even at the latest CA50 accepted
	KnockCuts               // to get there it would knock even at the latest CA50 accepted
	NotReached              // the engine does not get there
)

// atFullLoad is the share by which a pressure may lie above full load and still count as that: naturally aspirated engines take the same
// pressure at every speed but for the filter.
const atFullLoad = 5e-3

// Hold returns why the solved point is not what was asked for, or is not to be run.
func (c *SparkPoint) Hold() SparkHold {
	p := &c.Point
	switch {
	case p.Notes&airpath.NoteKnockUnmet != 0:
		return KnockUnmet
	case p.Notes&airpath.NotePeakPressureUnmet != 0:
		return PressureUnmet
	case p.ManifoldPressure >= c.Pressure*(1-2*atFullLoad):
		return NotHeld
	case p.Limit == airpath.Knock:
		return KnockCuts
	case p.Limit == airpath.CylinderPressure:
		return PressureUnmet
	}
	return NotReached
}

// Points returns the points of the plane up to full load, by speed and pressure. above adds the first one above full load at each speed.
func (p *SparkPlane) Points(above bool) []SparkPoint {
	points := make([]SparkPoint, 0, len(p.Plane.Speeds)*len(p.Plane.Pressures))
	for i, speed := range p.Plane.Speeds {
		for j, pressure := range p.Plane.Pressures {
			c := SparkPoint{Speed: speed, Pressure: pressure, Cell: &p.Plane.Cells[i][j], Best: &p.best[i][j]}
			if full := &p.Plane.FullLoad[i]; c.Beyond && pressure <= full.Point.ManifoldPressure*(1+atFullLoad) {
				c.Cell, c.Best = &boost.Cell{Point: full.Point}, &p.Full[i]
			}
			if !c.Beyond {
				points = append(points, c)
				continue
			}
			if c.Spark, c.Above = p.sparkAbove(i, j); above && c.Above {
				points = append(points, c)
			}
			break
		}
	}
	return points
}

// sparkAbove returns the spark, rad before top dead centre, to put where the pressure first lies above the full-load line of a speed: on the
// straight line from the last point below through full load, and no earlier than that of full load. A last point close to the line gives no
// direction: then from the one before it.
func (p *SparkPlane) sparkAbove(i, j int) (spark float64, ok bool) {
	full := &p.Plane.FullLoad[i]
	if j == 0 || full.Err != nil {
		return 0, false
	}
	const near = 0.25 // of the step
	from := j - 1
	if from > 0 && full.Point.ManifoldPressure-p.Plane.Pressures[from] < near*(p.Plane.Pressures[j]-p.Plane.Pressures[from]) {
		from--
	}
	last := &p.Plane.Cells[i][from]
	if last.Err != nil || !(full.Point.ManifoldPressure > p.Plane.Pressures[from]) {
		return 0, false
	}
	at := -full.Point.SparkAngle
	slope := (at + last.Point.SparkAngle) / (full.Point.ManifoldPressure - p.Plane.Pressures[from])
	return at + math.Min(slope, 0)*(p.Plane.Pressures[j]-full.Point.ManifoldPressure), true
}
