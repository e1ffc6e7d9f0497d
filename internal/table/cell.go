package table

import (
	"math"
	"strings"

	"bellmouth/internal/units"
)

// A Content is the kind of thing that a Cell holds.
type Content int

// The contents of a cell.
const (
	NoValue    Content = iota // not computed; the note says why
	NumberCell                // a number in SI
	TextCell
	ListCell
	YesNoCell
	UnitCell // the name of a unit
)

// A Tone is how a cell stands out where there is colour.
type Tone int

// The tones of a cell.
const (
	Plain   Tone = iota
	Caution      // close to a limit
	Failed       // past a limit
)

// NotFinite is the note of a cell that was given a NaN or an infinity.
const NotFinite = "the calculation gave no finite number"

// A Cell is one value of a table. The zero Cell is a missing value without a note.
type Cell struct {
	content Content
	tone    Tone
	yes     bool
	null    bool       // there is no value, and none is missed
	own     bool       // kind is this cell's own, rather than its column's
	kind    units.Kind // of the number, if own; what the unit is of
	digits  int        // as a Column's Digits, if own
	number  float64
	text    string
	list    []string
	note    string
}

// Num returns a number in SI. A NaN or an infinity becomes a missing value with a note, and is never printed.
func Num(x float64) Cell {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return Missing(NotFinite)
	}
	return Cell{content: NumberCell, number: x}
}

// Count returns a whole number.
func Count(n int) Cell { return Num(float64(n)) }

// Text returns words.
func Text(s string) Cell { return Cell{content: TextCell, text: s} }

// List returns a list of words: an array in JSON, joined elsewhere. It may be empty.
func List(items ...string) Cell { return Cell{content: ListCell, list: items} }

// YesNo returns a truth: true or false in CSV and JSON, yes or no in text.
func YesNo(yes bool) Cell { return Cell{content: YesNoCell, yes: yes} }

// UnitOf returns the name of the unit that the row's numbers of that quantity are given in, for the column that As asks for. In SI it is spelled
// as keys spell it, without the leading underscore: "pa", "kg_s", "rpm", "deg"; empty for numbers and fractions.
func UnitOf(kind units.Kind) Cell {
	return Cell{content: UnitCell, own: true, kind: kind, text: strings.TrimPrefix(units.SISuffix(kind), "_")}
}

// Blank returns a cell without anything in it, where there is nothing to be known: a point of a plane that does not exist.
func Blank() Cell { return Text("") }

// Missing returns a value that was not computed, with the reason.
func Missing(note string) Cell { return Cell{note: note} }

// Null returns a number that has no sense here, such as the difference from itself: null in JSON, empty elsewhere.
func Null() Cell { return Cell{null: true} }

// As returns the cell as a number of its own quantity, for a column whose rows differ in it, such as the figures of a list
// of limits. Text shows the unit beside the number; CSV and JSON need a column that names it, for which see UnitOf.
func (c Cell) As(kind units.Kind) Cell {
	c.own, c.kind, c.digits = true, kind, DefaultDigits
	return c
}

// WithDigits returns a cell that has a quantity of its own with digits of its own, as a Column's Digits.
func (c Cell) WithDigits(digits int) Cell {
	c.digits = digits
	return c
}

// Noted returns the cell with a note on it, in place of the one it had.
func (c Cell) Noted(note string) Cell {
	c.note = note
	return c
}

// Toned returns the cell with a tone.
func (c Cell) Toned(tone Tone) Cell {
	c.tone = tone
	return c
}

// Content returns what the cell holds, and so which of the methods below has something to say.
func (c Cell) Content() Content { return c.content }

// Number returns the number in SI, finite; zero if the cell holds none.
func (c Cell) Number() float64 { return c.number }

// Quantity returns what the number is in a column of the given quantity, and whether that is the cell's own.
func (c Cell) Quantity(column units.Kind) (kind units.Kind, own bool) {
	if c.own {
		return c.kind, true
	}
	return column, false
}

// Digits returns the digits of a cell that has a quantity of its own, as a Column's Digits.
func (c Cell) Digits() int { return c.digits }

// Text returns the words, or the SI unit as keys spell it; empty if the cell holds neither.
func (c Cell) Text() string { return c.text }

// List returns the list of words; nil if the cell holds none.
func (c Cell) List() []string { return c.list }

// Yes returns the truth; false if the cell holds none.
func (c Cell) Yes() bool { return c.yes }

// IsBlank reports whether there is nothing in the cell, and nothing missing.
func (c Cell) IsBlank() bool { return c.null || c.content == TextCell && c.text == "" }

// Note returns the note on the cell; empty if there is none.
func (c Cell) Note() string { return c.note }

// Tone returns how the cell stands out.
func (c Cell) Tone() Tone { return c.tone }
