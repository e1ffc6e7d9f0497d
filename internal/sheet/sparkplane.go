package sheet

import (
	"fmt"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/formula"
	"bellmouth/internal/remark"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A SparkPlane is a run's spark over engine speed and manifold pressure, whose tables are asked for.
type SparkPlane struct {
	*Spark
	plane *run.SparkPlane
}

// Plane solves the engine at the run's speeds and the manifold pressures, Pa absolute, rising, up to full load.
func (s *Spark) Plane(pressures []float64) (*SparkPlane, error) {
	plane, err := s.Run.Plane(pressures)
	if err != nil {
		return nil, err
	}
	return &SparkPlane{s, s.free.Over(plane)}, nil
}

// LostCells returns the errors of the points of the plane that have no solution, each with the trim's name before it.
func (p *SparkPlane) LostCells() []error { return p.PlaneErrors(&p.plane.Plane) }

// The notes on points of the plane.
const (
	noteAbove   = "above full load, on the line through the last point and full load, so that a control that interpolates meets the spark of full load"
	noteKnocks  = "knocks even at the latest CA50 accepted: not to be run"
	noteUnmet   = "knocks at every CA50 accepted: not to be run"
	notePeak    = "passes the cylinder pressure limit even at the latest CA50 accepted"
	noteTooMuch = "the engine does not get there"
)

// holdNote says why a point is not what was asked for, or is not to be run.
func holdNote(h run.SparkHold) string {
	switch h {
	case run.KnockUnmet:
		return noteUnmet
	case run.PressureUnmet:
		return notePeak
	case run.KnockCuts:
		return noteKnocks
	}
	return noteTooMuch
}

// planeCell is a field of a plane's points that have a solution.
func planeCell(key, title string, quantity units.Kind, get func(c run.SparkPoint) table.Cell) table.Field[run.SparkPoint] {
	return table.Cells(key, title, quantity, func(c run.SparkPoint) table.Cell {
		if c.Err != nil {
			return table.Missing("no solution at this point")
		}
		switch held := c.Hold(); held {
		case run.NotHeld:
			return get(c)
		case run.KnockUnmet, run.PressureUnmet:
			return get(c).Noted(holdNote(held)).Toned(table.Failed)
		default:
			return table.Missing(holdNote(held))
		}
	})
}

func speedAxis() table.Field[run.SparkPoint] {
	return table.Number("rpm", "speed", units.Speed, func(c run.SparkPoint) float64 { return c.Speed })
}

func pressureAxis() table.Field[run.SparkPoint] {
	return table.Number("manifold_pressure_pa", "MAP", units.Pressure, func(c run.SparkPoint) float64 { return c.Pressure })
}

// BaseTable returns the spark over engine speed and manifold pressure: what is put into an engine control to begin with.
func (p *SparkPlane) BaseTable() table.Table {
	solved := planeCell("spark_advance_deg", "spark", units.Angle, func(c run.SparkPoint) table.Cell { return table.Num(-c.Point.SparkAngle) })
	spark := solved
	spark.Get = func(c run.SparkPoint) table.Cell {
		if c.Above {
			return table.Num(c.Spark).Noted(noteAbove)
		}
		return solved.Get(c)
	}
	t := table.Plane("spark base table", p.plane.Points(true), speedAxis(), pressureAxis(), spark,
		table.Truths("above_full_load", "above full load", func(c run.SparkPoint) bool { return c.Above }).InDetail())
	t.Trim = p.Trim.Name
	t.Notes = []string{
		"Where a cell is empty the engine does not get there: put in no more than the cell to the left.",
		p.knocked(), p.restNote(p.plane.Plane.Held, p.plane.Plane.FullLoad),
	}
	return t
}

// knocked says where even the latest CA50 accepted knocks.
func (p *SparkPlane) knocked() string {
	var cut, unmet []float64
	for i := range p.plane.Plane.FullLoad {
		switch o := &p.plane.Plane.FullLoad[i]; {
		case o.Err != nil:
		case o.Point.Notes&airpath.NoteKnockUnmet != 0:
			unmet = append(unmet, o.Speed)
		case o.Point.Limit == airpath.Knock:
			cut = append(cut, o.Speed)
		}
	}
	latest := units.Mark(p.Engine.Combustion.LatestCA50, units.Angle)
	var texts []string
	if cut != nil {
		texts = append(texts, fmt.Sprintf("At %s the boost ends where even the latest CA50 accepted, %s, begins to knock.",
			run.SpeedList(cut), latest))
	}
	if unmet != nil {
		texts = append(texts, fmt.Sprintf("At %s full load knocks at every CA50 accepted.", run.SpeedList(unmet)))
	}
	if texts == nil {
		return fmt.Sprintf("Up to full load the latest CA50 accepted, %s, is enough against knock at every speed.", latest)
	}
	return strings.Join(texts, " ")
}

// BurnPlanes returns what stands behind the base table: CA50, the octane needed for the best one, peak pressure and exhaust gas temperature.
func (p *SparkPlane) BurnPlanes() table.Table {
	best := p.Engine.Combustion.BestCA50
	number := func(key, title string, quantity units.Kind, get func(p *airpath.Point) float64) table.Field[run.SparkPoint] {
		return planeCell(key, title, quantity, func(c run.SparkPoint) table.Cell { return table.Num(get(&c.Point)) })
	}
	atBest := func(key, title string, octane func(f *run.Freed) (float64, error)) table.Field[run.SparkPoint] {
		return planeCell(key, title, units.Number, func(c run.SparkPoint) table.Cell {
			told := p.octaneCell(c.Best, octane)
			if texts := (c.Point.Notes & (airpath.NoteOctaneHot | airpath.NoteDilution)).Texts(); len(texts) > 0 {
				told = told.Noted(remark.Line(texts))
			}
			return told
		})
	}
	points := p.plane.Points(false)
	index := number("octane_index", "octane index", units.Number, func(p *airpath.Point) float64 { return p.KnockOctane }).WithDigits(0)
	notes := append(p.Engine.Remarks(), bestNote(best))
	if least, most := indices(points); most-least < 0.5 { // of a number: the grid would repeat one figure
		index = index.InDetail()
		notes = append(notes, fmt.Sprintf("The fuel's octane index is %.1f at every point.", most))
	}
	t := table.Plane("burn", points, speedAxis(), pressureAxis(),
		planeCell("ca50_deg", "CA50", units.Angle, func(c run.SparkPoint) table.Cell { return lateCell(&c.Point, best) }),
		atBest("best_octane_index", octaneForBest, p.IndexForBest).WithDigits(0),
		index,
		atBest("best_octane_margin", spareAtBest, p.MarginAtBest).WithDigits(1).InDetail(),
		number("peak_pressure_pa", "peak pressure", units.Pressure, func(p *airpath.Point) float64 { return p.PeakPressure }).WithDigits(0),
		number("turbine_inlet_temperature_k", "EGT", units.Temperature, func(p *airpath.Point) float64 { return p.TurbineInletTemperature }),
		number("peak_angle_deg", "peak at", units.Angle, func(p *airpath.Point) float64 { return p.PeakAngle }).InDetail(),
		number("knock_integral", "knock integral", units.Number, func(p *airpath.Point) float64 { return p.KnockIntegral }).WithDigits(2).InDetail(),
		planeCell("octane_margin", "octane to spare", units.Number, func(c run.SparkPoint) table.Cell {
			m, err := p.OctaneMargin(&c.Point)
			if err != nil {
				return table.Missing(err.Error())
			}
			return table.Num(m)
		}).WithDigits(1).InDetail(),
		number("spark_pressure_pa", "pressure at spark", units.Pressure, func(p *airpath.Point) float64 { return p.SparkPressure }).InDetail(),
		number("spark_temperature_k", "temperature at spark", units.Temperature, func(p *airpath.Point) float64 { return p.SparkTemperature }).InDetail(),
		number("torque_nm", "torque", units.Torque, func(p *airpath.Point) float64 { return p.Torque }).WithDigits(0).InDetail(),
	)
	t.Trim = p.Trim.Name
	t.Notes = append(notes, farNote)
	return t
}

// indices returns the least and the most octane index that the fuel has at the points with a solution, 0 without any.
func indices(points []run.SparkPoint) (least, most float64) {
	for i := range points {
		if points[i].Err != nil {
			continue
		}
		index := points[i].Point.KnockOctane
		if most == 0 {
			least = index
		}
		least, most = min(least, index), max(most, index)
	}
	return least, most
}

// sparkplaneEntries explain the columns above.
func sparkplaneEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "above_full_load", Title: "above full load",
			Meaning: "Whether the point lies above the full-load line. Its spark is there for a control that interpolates. " +
				"It lies on the straight line from the last point through full load, and no earlier than that of full load.",
			Formula: "pm > pm(full load)", Source: ours, Range: "the first pressure above the line",
		},
		{
			Key: "spark_pressure_pa", Title: "pressure at spark",
			Meaning: "Pressure in the cylinder at the spark, absolute.",
			Formula: "p(θ) of the cycle at the spark's crank angle", Source: "as peak_pressure_pa", Range: "from inlet valve closing on",
		},
		{
			Key: "spark_temperature_k", Title: "temperature at spark",
			Meaning: "Temperature of the gas in the cylinder at the spark.",
			Formula: "T(θ) of the cycle at the spark's crank angle", Source: "as peak_pressure_pa", Range: "from inlet valve closing on",
		},
	}
}
