package render

import (
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A grid is one value column of a table.Grid laid out over its two axes, as people read it.
type grid struct {
	title   string // the value, its unit, and what runs across
	columns []shown
	rows    [][]table.Cell
}

// grids lays out the value columns of a table whose first column runs down and whose second runs across. Where the table has no
// record the cell is empty.
func grids(t table.Table, columns []shown, system units.System) []grid {
	if len(columns) < 3 {
		return nil
	}
	down, across := columns[0], columns[1]
	rowOf, columnOf := map[string]int{}, map[string]int{}
	var rows [][]table.Cell // the axis' own cell of each row
	var heads []string
	var none notebook
	place := func(at map[string]int, axis shown, record []table.Cell) (string, bool) {
		text := axis.figure(record, system, &none).body
		_, known := at[text]
		return text, known
	}
	for _, record := range t.Rows {
		if text, known := place(rowOf, down, record); !known {
			rowOf[text] = len(rows)
			rows = append(rows, record[down.index:down.index+1])
		}
		if text, known := place(columnOf, across, record); !known {
			columnOf[text] = len(heads)
			heads = append(heads, text)
		}
	}
	over := across.Title
	if across.unit.Name != "" {
		over += ", " + across.unit.Name
	}
	var all []grid
	for _, value := range columns[2:] {
		g := grid{title: value.Title, columns: make([]shown, 0, 1+len(heads)), rows: make([][]table.Cell, len(rows))}
		if value.unit.Name != "" {
			g.title += ", " + value.unit.Name
		}
		g.title += ", over " + over
		axis := down
		axis.index = 0
		g.columns = append(g.columns, axis)
		for i, head := range heads {
			column := value
			column.Title, column.index = head, 1+i
			column.unit.Name = "" // it stands in the title, once
			g.columns = append(g.columns, column)
		}
		for i := range rows {
			g.rows[i] = make([]table.Cell, 1+len(heads))
			g.rows[i][0] = rows[i][0]
			for j := range heads {
				g.rows[i][1+j] = table.Blank()
			}
		}
		for _, record := range t.Rows {
			i, _ := place(rowOf, down, record)
			j, _ := place(columnOf, across, record)
			g.rows[rowOf[i]][1+columnOf[j]] = record[value.index]
		}
		all = append(all, g)
	}
	return all
}
