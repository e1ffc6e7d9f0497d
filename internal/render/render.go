// Package render writes a table.Document as text, Markdown, CSV or JSON, and a file whole or not at all.
//
// Text and Markdown are for people: units by choice, digits that the quantity deserves, the columns marked as detail left
// out. CSV and JSON are for scripts: every column, full precision, SI but for speeds in rpm and angles in degrees,
// so that what a script read yesterday reads the same tomorrow. JSON stays so whatever the units asked for; CSV takes them, and names them.
//
// The words of a document are in the units chosen already: see table.Document.In. Every string is cleaned on its way out: see Clean.
package render

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// Options are what the reader of text or Markdown chose.
type Options struct {
	System units.System
	Color  bool // text only; whether to is the caller's decision, from the terminal and NO_COLOR
	Width  int  // text only; columns of the terminal: 0 for 100, and at least 40
}

const (
	missing   = "–"
	emptyList = "none"
	maxDigits = 9    // no figure here deserves more, and it bounds the width of a number
	tooLarge  = 1e12 // numbers from here on are printed with an exponent
)

// Clean returns s with every rune that does not print made visible: controls, escape sequences, line breaks, marks that turn the
// writing direction, runes without width, and bytes that are not UTF-8. A spec may come from anyone, and its names must not
// move the cursor or hide text.
func Clean(s string) string {
	if strings.IndexFunc(s, hidden) < 0 && utf8.ValidString(s) {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); {
		r, size := utf8.DecodeRuneInString(s[i:])
		switch {
		case r == utf8.RuneError && size == 1:
			fmt.Fprintf(&b, `\x%02x`, s[i])
		case hidden(r):
			b.WriteString(strings.Trim(strconv.QuoteRuneToASCII(r), "'"))
		default:
			b.WriteRune(r)
		}
		i += size
	}
	return b.String()
}

// hidden reports whether a rune would not be seen: anything but letters, marks, numbers, punctuation, symbols and spaces, and
// those of them that are drawn as nothing.
func hidden(r rune) bool {
	if r >= ' ' && r <= '~' {
		return false
	}
	return !unicode.IsGraphic(r) ||
		unicode.In(r, unicode.Other_Default_Ignorable_Code_Point, unicode.Variation_Selector) ||
		r == '\u2800' // the empty braille pattern: a symbol that looks like a space
}

// A shown column is one that text and Markdown print, with what its numbers are printed in.
type shown struct {
	table.Column
	index  int // in the table's columns
	unit   units.Unit
	digits int
}

// visible returns the columns that text and Markdown show.
func visible(t table.Table, system units.System) (columns []shown) {
	for i, c := range t.Columns {
		if c.Detail {
			continue
		}
		s := shown{Column: c, index: i, unit: units.DisplayUnit(c.Quantity, system)}
		s.digits = units.DigitsIn(c.Quantity, system, c.Digits)
		columns = append(columns, s)
	}
	return columns
}

// A figure is a cell as people read it.
type figure struct {
	body   string // the number or the words
	unit   string // only of a number with a quantity of its own
	mark   string // of its note
	number bool
	tone   table.Tone
}

// A notebook numbers the notes of a table's cells in the order in which they are first asked for.
type notebook struct {
	notes []string
	marks map[string]string
}

func (n *notebook) mark(note string) string {
	if note == "" {
		return ""
	}
	mark, ok := n.marks[note]
	if !ok {
		if n.marks == nil {
			n.marks = map[string]string{}
		}
		n.notes = append(n.notes, note)
		mark = superscript(len(n.notes))
		n.marks[note] = mark
	}
	return mark
}

func superscript(n int) string {
	digits := []rune("⁰¹²³⁴⁵⁶⁷⁸⁹")
	var b strings.Builder
	for _, d := range strconv.Itoa(n) {
		b.WriteRune(digits[d-'0'])
	}
	return b.String()
}

// figure returns the row's cell in this column as people read it.
func (s shown) figure(row []table.Cell, system units.System, notes *notebook) figure {
	var cell table.Cell
	if s.index < len(row) {
		cell = row[s.index]
	}
	note := cell.Note()
	f := figure{tone: cell.Tone()}
	switch cell.Content() {
	case table.NumberCell:
		unit, digits := s.unit, s.digits
		if kind, own := cell.Quantity(s.Quantity); own {
			unit = units.DisplayUnit(kind, system)
			digits = units.DigitsIn(kind, system, cell.Digits())
			f.unit = unit.Name
		}
		x := unit.FromSI(cell.Number())
		if math.IsNaN(x) || math.IsInf(x, 0) { // a finite number can still pass the largest one in a smaller unit
			f.body, f.unit, note = missing, "", table.NotFinite
			break
		}
		f.body, f.number = number(x, digits), true
	case table.TextCell:
		f.body = Clean(cell.Text())
	case table.UnitCell:
		f.body = unitName(cell, system)
	case table.ListCell:
		f.body = joined(cell.List(), ", ")
		if len(cell.List()) == 0 {
			f.body = emptyList
		}
	case table.YesNoCell:
		f.body = "no"
		if cell.Yes() {
			f.body = "yes"
		}
	default:
		if !cell.IsBlank() {
			f.body = missing
		}
	}
	f.mark = notes.mark(note)
	return f
}

// number returns x with that many decimals, with an exponent when it is very large. Negative digits round to tens and
// hundreds.
func number(x float64, digits int) string {
	if math.Abs(x) >= tooLarge {
		return strconv.FormatFloat(x, 'e', 6, 64)
	}
	return units.Decimal(x, min(digits, maxDigits))
}

// significant is the number of digits that CSV and JSON carry: more is the solver's residue.
const significant = 9

// contract returns the cell's number as JSON gives it, and CSV unless units are chosen, and whether it has one.
func contract(cell table.Cell, column table.Column) (x float64, ok bool) {
	kind, _ := cell.Quantity(column.Quantity)
	return carried(units.JSONValue(cell.Number(), kind))
}

// carried returns x with the digits that CSV and JSON carry; ok is false where it is not finite.
func carried(x float64) (short float64, ok bool) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, false
	}
	if short, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', significant-1, 64), 64); err == nil {
		x = short
	}
	return x + 0, true // minus zero plus zero is zero
}

// unitName returns the unit that a cell names, in a system.
func unitName(cell table.Cell, system units.System) string {
	kind, _ := cell.Quantity(units.Number)
	return units.DisplayUnit(kind, system).Name
}

func joined(items []string, separator string) string {
	clean := make([]string, len(items))
	for i, item := range items {
		clean[i] = Clean(item)
	}
	return strings.Join(clean, separator)
}

// heading returns what stands above a table.
func heading(t table.Table) string {
	text := Clean(t.Name)
	if t.Trim != "" {
		text += ", trim " + Clean(t.Trim)
	}
	if t.Venue != "" {
		text += ", venue " + Clean(t.Venue)
	}
	return text
}

// scriptNotes returns the notes of a table as a script's reader needs them, who has no marks: those on cells with the
// column's key and the rows, counted from 1.
func scriptNotes(t table.Table) []string {
	notes := append([]string{}, t.Notes...)
	for _, n := range t.CellNotes() {
		where := t.Columns[n.Column].Key
		if len(t.Rows) > 1 {
			where += ", " + rowRanges(n.Rows)
		}
		notes = append(notes, where+": "+n.Text)
	}
	return notes
}

// rowRanges returns "row 3" or "rows 1-4, 7" for rising indexes from 0.
func rowRanges(rows []int) string {
	var parts []string
	for i := 0; i < len(rows); {
		j := i
		for j+1 < len(rows) && rows[j+1] == rows[j]+1 {
			j++
		}
		part := strconv.Itoa(rows[i] + 1)
		if j > i {
			part += "-" + strconv.Itoa(rows[j]+1)
		}
		parts = append(parts, part)
		i = j + 1
	}
	if len(rows) == 1 {
		return "row " + parts[0]
	}
	return "rows " + strings.Join(parts, ", ")
}
