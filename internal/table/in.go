package table

import (
	"slices"

	"bellmouth/internal/units"
)

// In returns the document with the figures that stand inside its words written in a system. What the user wrote, and names of tables, have none.
func (d Document) In(s units.System) Document {
	d.Tables = slices.Clone(d.Tables)
	for i := range d.Tables {
		d.Tables[i] = d.Tables[i].In(s)
	}
	d.Warnings, d.Cautions = allIn(d.Warnings, s), allIn(d.Cautions, s)
	return d
}

// In returns the table with the figures inside its words written in a system.
func (t Table) In(s units.System) Table {
	t.Columns = slices.Clone(t.Columns)
	for i := range t.Columns {
		t.Columns[i].Title = units.Resolve(t.Columns[i].Title, s)
	}
	t.Rows = slices.Clone(t.Rows)
	for i, row := range t.Rows {
		t.Rows[i] = slices.Clone(row)
		for j := range row {
			t.Rows[i][j] = row[j].in(s)
		}
	}
	t.Notes = allIn(t.Notes, s)
	return t
}

func (c Cell) in(s units.System) Cell {
	c.text, c.note, c.list = units.Resolve(c.text, s), units.Resolve(c.note, s), allIn(c.list, s)
	return c
}

// allIn leaves a nil list nil.
func allIn(texts []string, s units.System) []string {
	texts = slices.Clone(texts)
	for i := range texts {
		texts[i] = units.Resolve(texts[i], s)
	}
	return texts
}
