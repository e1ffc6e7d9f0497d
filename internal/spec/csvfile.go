package spec

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"bellmouth/internal/units"
)

// maxRowProblems is how many problems a message about a table of a file lists.
const maxRowProblems = 20

// A column is a column of a table that lies in a file of its own.
type column struct {
	name     string
	kind     units.Kind
	min, max string
	bare     bool   // needs no unit
	optional bool   // the table may be without it
	words    bool   // its cells are words
	head     string // its head, for a message
	wants    string // a unit it takes, for a message
}

// A tableParser reads a table from CSV: a header that names the columns, with their units in brackets, then rows. Lines that start with # are comments.
type tableParser struct {
	name     string // of the file, for messages
	columns  []column
	csv      *csv.Reader
	problems []Problem

	at    []int    // where each column stands in the file; -1: it does not
	unit  []string // its unit, as the header has it
	width int
}

// newTableParser returns a parser that has read the header. what the file is stands in messages.
func newTableParser(name, what string, data []byte, columns []column) (*tableParser, error) {
	if len(data) > maxFile {
		return nil, whole(name, 0, 0, "is larger than a %s may be, 1 MiB", what)
	}
	data = trimBOM(data)
	if !bytes.Contains(data, []byte("\n")) {
		data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n")) // the line ends of some spreadsheets
	}
	if err := checkText(name, data); err != nil {
		return nil, err
	}
	p := &tableParser{name: name, columns: columns, csv: csv.NewReader(strings.NewReader(string(data)))}
	p.csv.Comment = '#'
	p.csv.FieldsPerRecord = -1
	p.csv.TrimLeadingSpace = true
	p.csv.ReuseRecord = true
	return p, p.header()
}

// rows has every row read, until there is too much wrong with them.
func (p *tableParser) rows(row func(record []string)) error {
	for {
		record, err := p.next()
		if err != nil {
			return err
		}
		if record == nil || len(p.problems) >= maxRowProblems {
			break
		}
		if len(record) != p.width {
			hint := ""
			if len(record) == 2*p.width || len(record) == 2*p.width-1 { // the first is often a whole number
				hint = " (a decimal comma? write a decimal point)"
			}
			p.fail(0, "has %d columns; want the header's %d%s", len(record), p.width, hint)
			continue
		}
		row(record)
	}
	return p.err()
}

// err returns what is wrong, or nil.
func (p *tableParser) err() error {
	if p.problems == nil {
		return nil
	}
	return &Error{Problems: p.problems}
}

// next returns the next record, or nil at the end of the file.
func (p *tableParser) next() ([]string, error) {
	record, err := p.csv.Read()
	var bad *csv.ParseError
	switch {
	case errors.Is(err, io.EOF):
		return nil, nil
	case errors.As(err, &bad):
		return nil, whole(p.name, bad.Line, bad.Column, "is not CSV: %s", bad.Err)
	case err != nil:
		return nil, whole(p.name, 0, 0, "cannot be read: %s", err)
	}
	return record, nil
}

func (p *tableParser) fail(field int, format string, args ...any) {
	line, column := p.csv.FieldPos(field)
	p.problems = append(p.problems, Problem{File: p.name, Line: line, Column: column, Message: fmt.Sprintf(format, args...)})
}

// row returns the line of the record that is being read.
func (p *tableParser) row() int {
	line, _ := p.csv.FieldPos(0)
	return line
}

// headers says what header there may be.
func (p *tableParser) headers() string {
	heads := make([]string, len(p.columns))
	for i := range p.columns {
		heads[i] = p.columns[i].head
	}
	return strings.Join(heads, ", ")
}

// header reads the names and units of the columns.
func (p *tableParser) header() error {
	record, err := p.next()
	if err != nil {
		return err
	}
	if record == nil {
		return whole(p.name, 0, 0, "is empty; want a header such as %s", p.headers())
	}
	p.width = len(record)
	p.at, p.unit = make([]int, len(p.columns)), make([]string, len(p.columns))
	for i := range p.at {
		p.at[i] = -1
	}
	if len(record) == 1 && strings.ContainsAny(record[0], ";\t") {
		p.fail(0, "has columns that no comma separates; want a header such as %s", p.headers())
		return p.err()
	}
	word := func(cell string) bool {
		number, rest := units.Split(strings.TrimSpace(cell))
		return number == "" || rest != ""
	}
	if !slices.ContainsFunc(record, word) {
		p.fail(0, "has numbers where the header belongs; want a header such as %s", p.headers())
		return p.err()
	}
	for i, cell := range record {
		if len(p.problems) >= maxRowProblems {
			break
		}
		p.headCell(i, cell)
	}
	for i, at := range p.at {
		if at < 0 && !p.columns[i].optional && p.problems == nil {
			p.fail(0, "has no column %s; want a header such as %s", p.columns[i].name, p.headers())
		}
	}
	return p.err()
}

func (p *tableParser) headCell(i int, cell string) {
	name, unit, bracket := strings.Cut(cell, "[")
	name = strings.ToLower(strings.ReplaceAll(strings.TrimSpace(name), "_", " "))
	c := slices.IndexFunc(p.columns, func(c column) bool { return c.name == name })
	if c < 0 {
		p.fail(i, "has the column %s; want a header such as %s", shown(cell), p.headers())
		return
	}
	column := p.columns[c]
	if p.at[c] >= 0 {
		p.fail(i, "has the column %s twice", column.name)
		return
	}
	p.at[c] = i
	if !bracket {
		if !column.bare {
			p.fail(i, "has no unit in the column %s; want it in brackets, such as %s", column.name, column.head)
		}
		return
	}
	unit, closed := strings.CutSuffix(strings.TrimSpace(unit), "]")
	unit = strings.TrimSpace(unit)
	if unit == "-" && column.bare {
		unit = ""
	}
	if _, err := units.Parse("1 "+unit, column.kind); err != nil || !closed || column.words && unit != "" {
		p.fail(i, "has the unit %s in the column %s; want %s", shown("["+unit+"]"), column.name, column.wants)
		return
	}
	p.unit[c] = unit
}

// text returns a record's cell of a column, without the spaces around it; empty without the column.
func (p *tableParser) text(record []string, c int) string {
	if p.at[c] < 0 {
		return ""
	}
	return strings.TrimSpace(record[p.at[c]])
}

// number returns a record's cell of a column in SI. What is wrong with it is told, and ok is false then.
func (p *tableParser) number(record []string, c int) (x float64, ok bool) {
	x, message := p.cell(p.text(record, c), c)
	if message != "" {
		p.fail(p.at[c], "%s %s", p.columns[c].name, message)
	}
	return x, message == ""
}

// cell returns a cell's value in SI, or what is wrong with it.
func (p *tableParser) cell(text string, c int) (float64, string) {
	column := p.columns[c]
	number, unit := units.Split(text)
	switch {
	case text == "":
		return 0, "is missing"
	case unit != "" && number != "" && unit[0] != ',':
		return 0, fmt.Sprintf("is %s; want a number alone, its unit stands in the header", shown(text))
	case number != "" && unit != "":
		return 0, fmt.Sprintf("is %s; want a number with a decimal point", shown(text))
	case number == "":
		return 0, fmt.Sprintf("is %s; want a number", shown(text))
	}
	if p.unit[c] != "" {
		text += " " + p.unit[c]
	}
	r := reader{kind: column.kind}
	v, err := r.read(text)
	if err != nil {
		return 0, "is " + because(text, err)
	}
	return v, r.check(text, v, column.min, column.max)
}
