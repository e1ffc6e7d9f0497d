package render

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strings"

	"bellmouth/internal/table"
)

// A CSVGrid is one figure of a plane, as spreadsheets and engine controls take it: the first row holds the places across, the first column those
// down, and the corner says which figure over what. A point that does not exist, or has no value, is empty.
type CSVGrid struct {
	Key     string // the figure's, without its unit where units were chosen
	head    string
	records [][]string
}

// CSVGrids returns the figures of a plane as grids, in the order of its columns; none for another table.
func CSVGrids(t table.Table, o CSVOptions) []CSVGrid {
	if t.Layout != table.Grid || len(t.Columns) < 3 {
		return nil
	}
	l := o.latticeOf(t)
	all := make([]CSVGrid, 0, len(t.Columns)-2)
	for at, c := range t.Columns[2:] {
		g := CSVGrid{Key: Clean(c.Key), head: o.head(c)}
		if o.Units != nil {
			g.Key = table.Bare(g.Key)
		}
		first := []string{cornerOf(g.head, o.head(t.Columns[0]), o.head(t.Columns[1]))}
		for _, place := range l.across {
			first = append(first, o.field(place, 1, t.Columns[1]))
		}
		g.records = append(g.records, first)
		for i, row := range l.cells(t, 2+at) {
			record := []string{o.field(l.down[i], 0, t.Columns[0])}
			for j := range row {
				record = append(record, o.field(row, j, c))
			}
			g.records = append(g.records, record)
		}
		all = append(all, g)
	}
	return all
}

// cornerOf returns what stands in the corner of a grid.
func cornerOf(figure, down, across string) string {
	return fmt.Sprintf("%s over %s (down) and %s (across)", figure, down, across)
}

func (o CSVOptions) latticeOf(t table.Table) lattice {
	return latticeOf(t, func(record []table.Cell, axis int) string { return o.field(record, axis, t.Columns[axis]) })
}

// Write writes the grid and nothing else.
func (g CSVGrid) Write(w io.Writer) error { return csv.NewWriter(w).WriteAll(g.records) }

// writeNamed writes the grid below a record of the table's name, the trim, the figure and the venue where one was asked for by name, all records of
// the same length.
func (g CSVGrid) writeNamed(w io.Writer, t table.Table) error {
	named := []string{Clean(t.Name), Clean(t.Trim), g.head}
	if t.Venue != "" {
		named = append(named, Clean(t.Venue))
	}
	records := append([][]string{named}, g.records...)
	wide := max(len(named), len(g.records[0]))
	for i, r := range records {
		records[i] = append(slices.Clone(r), make([]string, wide-len(r))...)
	}
	return csv.NewWriter(w).WriteAll(records)
}

// GridNotes returns the notes on the points of a plane, for which its grids have no place: each with the table, the figure and where the points lie.
func GridNotes(t table.Table, o CSVOptions) []string {
	if t.Layout != table.Grid {
		return nil
	}
	l := o.latticeOf(t)
	var notes []string
	for _, n := range t.CellNotes() {
		where := make([]string, 2)
		for axis, places := range [][][]table.Cell{l.down, l.across} {
			lo, hi := len(places), 0
			for _, row := range n.Rows {
				lo, hi = min(lo, l.at[row][axis]), max(hi, l.at[row][axis])
			}
			c := t.Columns[axis]
			where[axis] = o.head(c) + " " + o.field(places[lo], axis, c)
			if hi > lo {
				where[axis] += " to " + o.field(places[hi], axis, c)
			}
		}
		points := "1 point"
		if len(n.Rows) > 1 {
			points = fmt.Sprintf("%d points", len(n.Rows))
		}
		notes = append(notes, fmt.Sprintf("%s: %s, %s at %s: %s", heading(t), o.head(t.Columns[n.Column]), points, strings.Join(where, ", "), Clean(n.Text)))
	}
	return notes
}
