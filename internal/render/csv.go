package render

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// CSVOptions are what the reader of CSV chose.
type CSVOptions struct {
	Units *units.System // named in the heads, "boost [bar gauge]"; nil: SI, as the keys say
	Grid  bool          // planes as grids, one a figure

	atVenues bool // of the document
}

// CSV writes the document's tables.
//
// Each table has a head of keys, whose first two columns are always "table" and "trim", the third "venue" where the document's venues were asked for
// by name, and whose last is "notes", and an empty line stands before the next; of picked tables those with the same keys have one head. Numbers are
// as in JSON unless units are chosen. A missing value is empty. The notes on a row's cells stand at its end, each with its column's key before it.
// A list is joined by "; ", a truth is true or false. The notes on tables as a whole have no place in the data; TableNotes returns them.
//
// With Grid each figure of a plane is a grid, below a record that names table, trim, figure and venue, and an empty line stands before the next.
// The notes on its points have no place there; GridNotes returns them.
func CSV(w io.Writer, doc table.Document, o CSVOptions) error {
	var buf bytes.Buffer
	o.atVenues = doc.AtVenues
	for i, t := range doc.Tables {
		again := i > 0 && doc.Picked && sameKeys(t, doc.Tables[i-1]) && !o.lays(t) && !o.lays(doc.Tables[i-1])
		if i > 0 && !again {
			buf.WriteByte('\n')
		}
		if o.lays(t) {
			for j, g := range CSVGrids(t, o) {
				if j > 0 {
					buf.WriteByte('\n')
				}
				if err := g.writeNamed(&buf, t); err != nil {
					return fmt.Errorf("writing CSV: %w", err)
				}
			}
			continue
		}
		if err := o.table(&buf, t, !again); err != nil {
			return fmt.Errorf("writing CSV: %w", err)
		}
	}
	_, err := w.Write(buf.Bytes())
	return err
}

// lays reports whether a table is laid out as grids.
func (o CSVOptions) lays(t table.Table) bool { return o.Grid && t.Layout == table.Grid }

// TableNotes returns the notes on tables as a whole, each with the table's name before it.
func TableNotes(tables []table.Table) []string {
	var notes []string
	for _, t := range tables {
		for _, note := range t.Notes {
			notes = append(notes, heading(t)+": "+Clean(note))
		}
	}
	return notes
}

func sameKeys(a, b table.Table) bool {
	return slices.EqualFunc(a.Columns, b.Columns, func(a, b table.Column) bool { return a.Key == b.Key })
}

// The columns that stand around those of every table.
const (
	tableHead = "table"
	trimHead  = "trim"
	venueHead = "venue"
	notesHead = "notes"
)

func (o CSVOptions) table(buf *bytes.Buffer, t table.Table, head bool) error {
	w := csv.NewWriter(buf)
	own, record := []string{Clean(t.Name), Clean(t.Trim)}, []string{tableHead, trimHead}
	if o.atVenues {
		own, record = append(own, Clean(t.Venue)), append(record, venueHead)
	}
	for _, c := range t.Columns {
		record = append(record, o.head(c))
	}
	record = append(record, notesHead)
	if head {
		if err := w.Write(record); err != nil {
			return err
		}
	}
	for _, row := range t.Rows {
		record = append(record[:0], own...)
		for i, c := range t.Columns {
			record = append(record, o.field(row, i, c))
		}
		record = append(record, rowNotes(t.Columns, row))
		if err := w.Write(record); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

// rowNotes returns what the cells of a row are noted with.
func rowNotes(columns []table.Column, row []table.Cell) string {
	var notes []string
	for i, c := range columns {
		if i < len(row) && row[i].Note() != "" {
			notes = append(notes, Clean(c.Key)+": "+Clean(row[i].Note()))
		}
	}
	return strings.Join(notes, "; ")
}

// head returns what stands above a column: its key, or the key without its unit and the unit chosen in brackets, as maps have it.
func (o CSVOptions) head(c table.Column) string {
	if o.Units == nil {
		return Clean(c.Key)
	}
	unit := units.FullName(c.Quantity, *o.Units)
	if unit == "" {
		return Clean(c.Key)
	}
	name := table.Bare(c.Key)
	if name == c.Key && "_"+c.Key == units.SISuffix(c.Quantity) {
		name = c.Title // the key is a unit: rpm
	}
	return Clean(name) + " [" + unit + "]"
}

func (o CSVOptions) field(row []table.Cell, index int, column table.Column) string {
	if index >= len(row) {
		return ""
	}
	cell := row[index]
	switch cell.Content() {
	case table.NumberCell:
		if x, ok := o.number(cell, column); ok {
			return plainNumber(x)
		}
	case table.TextCell:
		return Clean(cell.Text())
	case table.UnitCell:
		if o.Units != nil {
			return unitName(cell, *o.Units)
		}
		return cell.Text()
	case table.ListCell:
		return joined(cell.List(), "; ")
	case table.YesNoCell:
		return strconv.FormatBool(cell.Yes())
	}
	return ""
}

func (o CSVOptions) number(cell table.Cell, column table.Column) (x float64, ok bool) {
	if o.Units == nil {
		return contract(cell, column)
	}
	kind, _ := cell.Quantity(column.Quantity)
	return carried(units.DisplayUnit(kind, *o.Units).FromSI(cell.Number()))
}

// plainNumber returns the shortest text that reads back as x, with an exponent only where encoding/json writes one too.
func plainNumber(x float64) string {
	if a := max(x, -x); a != 0 && (a < 1e-6 || a >= 1e21) {
		return strconv.FormatFloat(x, 'e', -1, 64)
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}
