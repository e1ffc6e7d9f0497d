// Package table is the one model of a result: named tables of typed columns and rows. Text, CSV, JSON, Markdown and the
// printed page are all made from it, so that they cannot differ.
//
// Values are SI; the column's quantity says what they are, and the renderer converts. A table is usually written as one
// list of fields over the records that a calculation returned:
//
//	table.Of("operating points", points,
//		table.Number("rpm", "speed", units.Speed, func(p Point) float64 { return p.Speed }),
//		table.Number("boost_pa", "boost", units.GaugePressure, func(p Point) float64 { return p.Boost }),
//		table.Words("limit", "limit", func(p Point) string { return p.Limit }),
//	)
package table

import "bellmouth/internal/units"

// DefaultDigits as a Column's Digits stands for the digits that its unit has by default.
const DefaultDigits = units.DefaultDigits

// Hundreds as Digits rounds to hundreds of the metric unit: a shaft speed read off a map is not known to single rpm.
const Hundreds = units.Hundreds

// A Layout says how a table reads as text. CSV and JSON are the same for both.
type Layout int

// The layouts.
const (
	Wide   Layout = iota // one line a record, with a head
	Tall                 // one line a figure: title, value, unit; for a single record
	Pairs                // as Tall, two figures a line where the page is wide enough
	Grid                 // a grid for each figure: the first column runs down, the second across; one record a point of the plane
	Beside               // as Grid, with all figures in one: the first beside each other, then what else is told of each place across
)

// Axes returns how many columns, the first ones, are axes: one record stands at each of their places.
func (l Layout) Axes() int {
	if l == Grid || l == Beside {
		return 2
	}
	return 0
}

// A Document is everything a command answers.
type Document struct {
	Command  string // the command's name: "boost"
	Spec     string // the spec file as the user named it; empty without one
	Tables   []Table
	AtVenues bool     // the venues were asked for by name, so that CSV and JSON tell each table's
	Picked   bool     // they were picked: in CSV those of the same columns follow each other under one head
	Warnings []string // doubts about the input or the result as a whole
	Cautions []string // where the work can hurt someone
}

// A Table is a list of rows under one list of columns.
type Table struct {
	Name    string // what the rows are: "operating points"
	Trim    string // the trim they hold for; empty when they hold for all or for none
	Venue   string // the venue they hold for, where venues were asked for by name; empty when they hold for any
	Layout  Layout
	Columns []Column
	Rows    [][]Cell // one cell a column
	Notes   []string // notes on the table as a whole; notes on single cells are in the cells
}

// A Column is what the cells of one position in every row have in common.
type Column struct {
	Key      string     // in CSV and JSON: lower case, SI unit last, as in "boost_pa"
	Title    string     // in text: the trade's short term
	Quantity units.Kind // of the numbers; units.Number where the cells are words
	Digits   int        // decimals in the metric unit, shifted alike in other units; DefaultDigits for the unit's own, or Hundreds
	Detail   bool       // only in CSV and JSON, or where it is asked for; the command's help lists its key
}

// A CellNote is a note that cells of one column carry.
type CellNote struct {
	Text   string
	Column int   // index into Columns
	Rows   []int // indexes into Rows, rising
}

// CellNotes returns the notes that cells carry: by column, and within a column by first row. Cells of a column with the
// same note share one entry.
func (t Table) CellNotes() []CellNote {
	var notes []CellNote
	for column := range t.Columns {
		first := len(notes)
		for row, cells := range t.Rows {
			if column >= len(cells) || cells[column].note == "" {
				continue
			}
			at := first
			for at < len(notes) && notes[at].Text != cells[column].note {
				at++
			}
			if at == len(notes) {
				notes = append(notes, CellNote{Text: cells[column].note, Column: column})
			}
			notes[at].Rows = append(notes[at].Rows, row)
		}
	}
	return notes
}
