package render

import (
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A lattice is where the records of a table stand over its two axes: the first column runs down, the second across.
type lattice struct {
	down, across [][]table.Cell // the first record of each place
	at           [][2]int       // the places of each record
}

// latticeOf finds the places of a table's records. Records whose axis reads the same share a place; reads says how.
func latticeOf(t table.Table, reads func(record []table.Cell, axis int) string) lattice {
	l := lattice{at: make([][2]int, len(t.Rows))}
	known := [2]map[string]int{{}, {}}
	places := [2]*[][]table.Cell{&l.down, &l.across}
	for i, record := range t.Rows {
		for axis, all := range places {
			text := reads(record, axis)
			place, ok := known[axis][text]
			if !ok {
				place = len(*all)
				known[axis][text] = place
				*all = append(*all, record)
			}
			l.at[i][axis] = place
		}
	}
	return l
}

// cells returns a column's cells by their places, blank where the table has no record.
func (l lattice) cells(t table.Table, column int) [][]table.Cell {
	rows := make([][]table.Cell, len(l.down))
	for i := range rows {
		rows[i] = make([]table.Cell, len(l.across))
		for j := range rows[i] {
			rows[i][j] = table.Blank()
		}
	}
	for i, record := range t.Rows {
		rows[l.at[i][0]][l.at[i][1]] = record[column]
	}
	return rows
}

// A grid is one value column of a table.Grid laid out over its two axes, as people read it.
type grid struct {
	title   string // the value, its unit, and what runs across
	columns []shown
	rows    [][]table.Cell
}

// grids lays out the columns shown of a table, the first two of which are its axes.
func grids(t table.Table, columns []shown, system units.System) []grid {
	if len(columns) < 3 {
		return nil
	}
	down, across := columns[0], columns[1]
	var none notebook
	l := latticeOf(t, func(record []table.Cell, axis int) string { return columns[axis].figure(record, system, &none).body })
	over := across.Title
	if across.unit.Name != "" {
		over += ", " + across.unit.Name
	}
	var all []grid
	for _, value := range columns[2:] {
		g := grid{title: value.Title, columns: make([]shown, 0, 1+len(l.across)), rows: l.cells(t, value.index)}
		if value.unit.Name != "" {
			g.title += ", " + value.unit.Name
		}
		g.title += ", over " + over
		axis := down
		axis.index = 0
		g.columns = append(g.columns, axis)
		for i, place := range l.across {
			column := value
			column.Title, column.index = across.figure(place, system, &none).body, 1+i
			column.unit.Name = "" // it stands in the title, once
			g.columns = append(g.columns, column)
		}
		for i, place := range l.down {
			g.rows[i] = append([]table.Cell{place[down.index]}, g.rows[i]...)
		}
		all = append(all, g)
	}
	return all
}

// beside lays out a table.Beside: the first figure of all places across, then of each place what else is told there, if anything is.
func beside(t table.Table, columns []shown, system units.System) (all []shown, rows [][]table.Cell) {
	if len(columns) < 3 {
		return columns, t.Rows
	}
	down, across := columns[0], columns[1]
	var none notebook
	l := latticeOf(t, func(record []table.Cell, axis int) string { return columns[axis].figure(record, system, &none).body })
	rows = make([][]table.Cell, len(l.down))
	add := func(column shown, title string, cell func(row int) table.Cell) {
		column.Title, column.index = title, len(all)
		all = append(all, column)
		for i := range rows {
			rows[i] = append(rows[i], cell(i))
		}
	}
	add(down, down.Title, func(row int) table.Cell { return l.down[row][down.index] })
	names := make([]string, len(l.across))
	for i, place := range l.across {
		names[i] = across.figure(place, system, &none).body
	}
	cells := make([][][]table.Cell, len(columns)-2)
	for i, c := range columns[2:] {
		cells[i] = l.cells(t, c.index)
	}
	for at, name := range names {
		add(columns[2], name, func(row int) table.Cell { return cells[0][row][at] })
	}
	for at, name := range names {
		for i, c := range columns[3:] {
			told := false
			for row := range rows {
				told = told || !cells[1+i][row][at].IsBlank()
			}
			if told {
				add(c, name+" "+c.Title, func(row int) table.Cell { return cells[1+i][row][at] })
			}
		}
	}
	return all, rows
}
