package sheet

import (
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/remark"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A SparkPlane is a run's spark over engine speed and manifold pressure.
type SparkPlane struct {
	*Spark
	plane boost.Plane
	best  [][]unknocked // by speed, then pressure
}

// Plane solves the engine at the run's speeds and the manifold pressures, Pa absolute, rising, up to full load.
func (s *Spark) Plane(pressures []float64) (*SparkPlane, error) {
	plane, err := s.Run.Plane(pressures)
	if err != nil {
		return nil, err
	}
	p := &SparkPlane{Spark: s, plane: plane, best: make([][]unknocked, len(s.Outcomes))}
	forEach(s.best, len(s.Outcomes), func(solver *airpath.Solver, i int) {
		p.best[i] = make([]unknocked, len(pressures))
		for j := range pressures {
			if c := &p.plane.Cells[i][j]; !c.Beyond && c.Err == nil {
				p.best[i][j] = s.unknock(solver, &c.Point, airpath.Demand{Throttled: true, HeldOutlet: p.plane.Held[i]})
			}
		}
	})
	return p, nil
}

// Unsolved returns the errors of the points of the run and the plane that have no solution, each with the trim's name before it.
func (p *SparkPlane) Unsolved() []error {
	errs := p.Run.Unsolved()
	for i := range p.plane.Cells {
		for j := range p.plane.Cells[i] {
			if c := &p.plane.Cells[i][j]; c.Err != nil {
				errs = append(errs, fmt.Errorf("trim %q, manifold at %s: %w", p.Trim.Name,
					units.Format(p.plane.Pressures[j], units.Pressure, units.Metric), c.Err))
			}
		}
	}
	return errs
}

// A sparkPoint is one point of the plane.
type sparkPoint struct {
	speed, pressure float64
	*boost.Cell
	best  *unknocked
	above bool    // above the full-load line
	spark float64 // of a point above the line
}

// The notes on points of the plane.
const (
	noteAbove   = "above full load: on the line through the last point and full load, so that a control that interpolates meets the spark of full load"
	noteKnocks  = "knocks even at the latest CA50 accepted: not to be run"
	noteUnmet   = "knocks whatever the phasing accepted: not to be run"
	notePeak    = "passes the cylinder pressure limit even at the latest CA50 accepted"
	noteTooMuch = "the engine does not get there"
)

// atFullLoad is the share by which a pressure may lie above full load and still count as that: naturally aspirated engines take the same
// pressure at every speed but for the filter.
const atFullLoad = 5e-3

// held says why a solved point is not what was asked for, or is not to be run.
func (c sparkPoint) held() string {
	p := &c.Point
	reached := p.ManifoldPressure >= c.pressure*(1-2*atFullLoad)
	switch {
	case p.Notes&airpath.NoteKnockUnmet != 0:
		return noteUnmet
	case p.Notes&airpath.NotePeakPressureUnmet != 0:
		return notePeak
	case reached:
		return ""
	case p.Limit == airpath.Knock:
		return noteKnocks
	case p.Limit == airpath.CylinderPressure:
		return notePeak
	}
	return noteTooMuch
}

// points returns the points of the plane. above adds the one above full load at each speed.
func (p *SparkPlane) points(above bool) []sparkPoint {
	points := make([]sparkPoint, 0, len(p.plane.Speeds)*len(p.plane.Pressures))
	for i, speed := range p.plane.Speeds {
		for j, pressure := range p.plane.Pressures {
			c := sparkPoint{speed: speed, pressure: pressure, Cell: &p.plane.Cells[i][j], best: &p.best[i][j]}
			if full := &p.plane.FullLoad[i]; c.Beyond && pressure <= full.Point.ManifoldPressure*(1+atFullLoad) {
				c.Cell, c.best = &boost.Cell{Point: full.Point}, &p.full[i]
			}
			if !c.Beyond {
				points = append(points, c)
				continue
			}
			if c.spark, c.above = p.over(i, j); above && c.above {
				points = append(points, c)
			}
			break
		}
	}
	return points
}

// over returns the spark, rad before top dead centre, to put where the pressure first lies above the full-load line of a speed: on the
// straight line from the last point below through full load, and no earlier than that of full load. A last point close to the line gives no
// direction: then from the one before it.
func (p *SparkPlane) over(i, j int) (spark float64, ok bool) {
	full := &p.plane.FullLoad[i]
	if j == 0 || full.Err != nil {
		return 0, false
	}
	const near = 0.25 // of the step
	from := j - 1
	if from > 0 && full.Point.ManifoldPressure-p.plane.Pressures[from] < near*(p.plane.Pressures[j]-p.plane.Pressures[from]) {
		from--
	}
	last := &p.plane.Cells[i][from]
	if last.Err != nil || !(full.Point.ManifoldPressure > p.plane.Pressures[from]) {
		return 0, false
	}
	at := -full.Point.SparkAngle
	slope := (at + last.Point.SparkAngle) / (full.Point.ManifoldPressure - p.plane.Pressures[from])
	return at + math.Min(slope, 0)*(p.plane.Pressures[j]-full.Point.ManifoldPressure), true
}

// planeCell is a field of a plane's points that have a solution.
func planeCell(key, title string, quantity units.Kind, get func(c sparkPoint) table.Cell) table.Field[sparkPoint] {
	return table.Cells(key, title, quantity, func(c sparkPoint) table.Cell {
		if c.Err != nil {
			return table.Missing("no solution at this point")
		}
		switch held := c.held(); held {
		case "":
			return get(c)
		case noteUnmet, notePeak:
			return get(c).Noted(held).Toned(table.Failed)
		default:
			return table.Missing(held)
		}
	})
}

func speedAxis() table.Field[sparkPoint] {
	return table.Number("rpm", "speed", units.Speed, func(c sparkPoint) float64 { return c.speed })
}

func pressureAxis() table.Field[sparkPoint] {
	return table.Number("manifold_pressure_pa", "manifold", units.Pressure, func(c sparkPoint) float64 { return c.pressure })
}

// BaseTable returns the spark over engine speed and manifold pressure: what is put into an engine control to begin with.
func (p *SparkPlane) BaseTable() table.Table {
	solved := planeCell("spark_advance_deg", "spark", units.Angle, func(c sparkPoint) table.Cell { return table.Num(-c.Point.SparkAngle) })
	spark := solved
	spark.Get = func(c sparkPoint) table.Cell {
		if c.above {
			return table.Num(c.spark).Noted(noteAbove)
		}
		return solved.Get(c)
	}
	t := table.Plane("spark base table", p.points(true), speedAxis(), pressureAxis(), spark,
		table.Truths("above_full_load", "above full load", func(c sparkPoint) bool { return c.above }).InDetail())
	t.Trim = p.Trim.Name
	t.Notes = []string{"Spark before firing top dead centre; manifold pressure absolute. " + p.restNote(p.plane.Held, p.plane.FullLoad) + " " +
		"Burn angle and ignition delay follow the charge from the condition they are stated for: light load burns slower, boost faster. " +
		"Empty: the engine does not get there; put in no more than the cell to the left.",
		p.knocked()}
	return t
}

// knocked says where even the latest phasing knocks.
func (p *SparkPlane) knocked() string {
	var cut, unmet []string
	for i := range p.plane.FullLoad {
		switch o := &p.plane.FullLoad[i]; {
		case o.Err != nil:
		case o.Point.Notes&airpath.NoteKnockUnmet != 0:
			unmet = append(unmet, fmt.Sprintf("%.0f", run.RPM(o.Speed)))
		case o.Point.Limit == airpath.Knock:
			cut = append(cut, fmt.Sprintf("%.0f", run.RPM(o.Speed)))
		}
	}
	latest := units.Format(p.Engine.Combustion.LatestCA50, units.Angle, units.Metric)
	var texts []string
	if cut != nil {
		texts = append(texts, fmt.Sprintf("At %s rpm the boost ends where even the latest CA50 accepted, %s, begins to knock.", strings.Join(cut, ", "), latest))
	}
	if unmet != nil {
		texts = append(texts, fmt.Sprintf("At %s rpm full load knocks, and no phasing accepted mends it.", strings.Join(unmet, ", ")))
	}
	if texts == nil {
		return fmt.Sprintf("Up to full load the latest CA50 accepted, %s, is enough against knock at every speed.", latest)
	}
	return strings.Join(texts, " ")
}

// BurnPlanes returns what stands behind the base table: phasing, octane to spare, peak pressure and exhaust temperature.
func (p *SparkPlane) BurnPlanes() table.Table {
	best := p.Engine.Combustion.BestCA50
	number := func(key, title string, quantity units.Kind, get func(p *airpath.Point) float64) table.Field[sparkPoint] {
		return planeCell(key, title, quantity, func(c sparkPoint) table.Cell { return table.Num(get(&c.Point)) })
	}
	t := table.Plane("burn", p.points(false), speedAxis(), pressureAxis(),
		planeCell("ca50_deg", "CA50", units.Angle, func(c sparkPoint) table.Cell { return lateCell(&c.Point, best) }),
		planeCell("best_octane_margin", "octane to spare", units.Number, func(c sparkPoint) table.Cell {
			m := p.marginAtBest(c.best)
			if texts := (c.Point.Notes & (airpath.NoteOctaneHot | airpath.NoteDilution)).Texts(); len(texts) > 0 {
				m = m.Noted(remark.Line(texts))
			}
			return m
		}).WithDigits(0),
		number("peak_pressure_pa", "peak pressure", units.Pressure, func(p *airpath.Point) float64 { return p.PeakPressure }).WithDigits(0),
		number("turbine_inlet_temperature_k", "exhaust", units.Temperature, func(p *airpath.Point) float64 { return p.TurbineInletTemperature }),
		number("peak_angle_deg", "peak at", units.Angle, func(p *airpath.Point) float64 { return p.PeakAngle }).InDetail(),
		number("knock_integral", "knock", units.Number, func(p *airpath.Point) float64 { return p.KnockIntegral }).WithDigits(2).InDetail(),
		planeCell("octane_margin", "octane to spare", units.Number, func(c sparkPoint) table.Cell { return p.margin(&c.Point) }).WithDigits(1).InDetail(),
		number("spark_pressure_pa", "at the spark", units.Pressure, func(p *airpath.Point) float64 { return p.SparkPressure }).InDetail(),
		number("spark_temperature_k", "at the spark", units.Temperature, func(p *airpath.Point) float64 { return p.SparkTemperature }).InDetail(),
		number("torque_nm", "torque", units.Torque, func(p *airpath.Point) float64 { return p.Torque }).WithDigits(0).InDetail(),
	)
	t.Trim = p.Trim.Name
	t.Notes = append(p.Engine.Remarks(), fmt.Sprintf("CA50, half the charge burned, after firing top dead centre: best at %.1f deg, later where knock or cylinder pressure holds it. "+
		"Octane to spare: at the best phasing that the cylinder pressure limit leaves; negative, what the fuel would need more for it; far from 0 a long extrapolation. Exhaust before the turbine, at the lambda of the point.", best*180/math.Pi))
	return t
}
