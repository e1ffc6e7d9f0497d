package sheet

import (
	"fmt"
	"slices"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/remark"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A row is one engine speed of a run.
type row struct {
	*boost.Outcome
	run *Run
}

func (r *Run) rows() []row {
	rows := make([]row, len(r.Outcomes))
	for i := range r.Outcomes {
		rows[i] = row{&r.Outcomes[i], r}
	}
	return rows
}

// noSolution stands in the limit's column of a point that has none.
const noSolution = "no solution"

// unsolved says why a point has no solution. It stands once, at the limit; the other columns only say that there is none.
func (o row) unsolved() string {
	return fmt.Sprintf("%s: trim %q, %s", noSolution, o.run.Trim.Name, o.Err)
}

// solvedRow makes fields of what a solved point has.
var solvedRow table.Known[row] = func(o row) error {
	if o.Err != nil {
		return run.ErrNoSolution
	}
	return nil
}

// cells is a field of what a solved point has; where there is none it says why.
func cells(key, title string, quantity units.Kind, get func(o row, p *airpath.Point) table.Cell) table.Field[row] {
	return solvedRow.Cells(key, title, quantity, func(o row) table.Cell { return get(o, &o.Point) })
}

// figure is a field of a solved point's number.
func figure(key, title string, quantity units.Kind, get func(p *airpath.Point) float64) table.Field[row] {
	return cells(key, title, quantity, func(_ row, p *airpath.Point) table.Cell { return table.Num(get(p)) })
}

// speedField is the first column of every table over engine speed. of says which remarks on a point concern the table.
func speedField(of airpath.Note) table.Field[row] {
	return table.Cells("rpm", "speed", units.Speed, func(o row) table.Cell {
		c := table.Num(o.Speed)
		if o.Err != nil {
			return c
		}
		if texts := (o.Point.Notes & of).Texts(); len(texts) > 0 {
			return c.Noted(remark.Line(texts))
		}
		return c
	})
}

// overSpeed makes a table of the run's points.
func (r *Run) overSpeed(name string, fields ...table.Field[row]) table.Table {
	t := table.Of(name, r.rows(), fields...)
	t.Trim = r.Trim.Name
	return t
}

// tones mark the limit that governs where it is not the target.
func limitCell(o row) table.Cell {
	if o.Err != nil {
		return table.List(noSolution).Toned(table.Failed).Noted(o.unsolved())
	}
	c := table.List(o.Point.Limits.Names(o.Point.Limit)...)
	switch o.Point.Limit {
	case airpath.Target, airpath.Atmosphere:
		return c
	default:
		return c.Toned(table.Caution)
	}
}

// spans returns what f tells of the run's points, each with the speeds where it rules, in the order of speed: "turbine to 2500 rpm".
func spans(r *run.Run, f func(o *boost.Outcome) string) []string {
	spans := run.Spans(r.Outcomes, f)
	texts := make([]string, len(spans))
	for i, s := range spans {
		texts[i] = s.Of + " " + run.Speeds(s.First, s.Last)
	}
	return texts
}

func governing(o *boost.Outcome) string {
	if o.Err != nil {
		return noSolution
	}
	return o.Point.Limit.String()
}

// when drops fields that do not apply.
func when(applies bool, fields ...table.Field[row]) []table.Field[row] {
	if !applies {
		return nil
	}
	return fields
}

func join(groups ...[]table.Field[row]) []table.Field[row] { return slices.Concat(groups...) }
