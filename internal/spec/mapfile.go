package spec

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"bellmouth/internal/compressor"
	"bellmouth/internal/units"
)

// Bounds on a compressor map, far above any real one.
const (
	maxSpeedLines  = 60
	maxLinePoints  = 200
	maxMapProblems = 20 // that a message about a map lists
)

// speedScatter is how far, as a fraction, the speeds of one line's rows may lie apart: a measured line scatters by a tenth
// of a per cent or so, and neighbouring lines lie at least a few per cent apart. Common practice, no source.
const speedScatter = 0.005

// A mapColumn is a column of a compressor map file.
type mapColumn struct {
	name     string
	kind     units.Kind
	min, max string
	bare     bool   // needs no unit
	wants    string // a unit it takes, for a message
}

// mapColumns are the columns of a compressor map file, in any order there.
var mapColumns = [...]mapColumn{
	{"speed", units.Speed, "5000 rpm", "400000 rpm", false, "one of a speed of rotation, such as speed [rpm]"},
	{"flow", units.MassFlow, "0.001 kg/s", "20 kg/s", false, "one of a mass flow, such as flow [kg/s]"},
	{"pressure ratio", units.Number, "0.5", "10", true, "none"},
	{"efficiency", units.Fraction, "0.01", "1", true, "none, or [%]"},
}

const mapHeader = "speed [rpm], flow [kg/s], pressure ratio, efficiency"

// A mapFile is the content of a compressor map file.
type mapFile struct {
	lines []compressor.Line
	rows  [][]int // the row of the file that each point stands in

	digest [sha256.Size]byte // of the file, to tell two of the same name apart
}

// parseMap reads a compressor map: a header that names the four columns with their units in brackets, then a row for each
// point, those of a speed line together. Lines that start with # are comments. name is used in messages.
func parseMap(name string, data []byte) (*mapFile, error) {
	if len(data) > maxFile {
		return nil, whole(name, 0, 0, "is larger than a compressor map may be, 1 MiB")
	}
	data = trimBOM(data)
	if !bytes.Contains(data, []byte("\n")) {
		data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n")) // the line ends of some spreadsheets
	}
	if err := checkText(name, data); err != nil {
		return nil, err
	}
	p := &mapParser{name: name, csv: csv.NewReader(strings.NewReader(string(data)))}
	p.csv.Comment = '#'
	p.csv.FieldsPerRecord = -1
	p.csv.TrimLeadingSpace = true
	p.csv.ReuseRecord = true
	if err := p.header(); err != nil {
		return nil, err
	}
	for {
		record, err := p.next()
		if err != nil {
			return nil, err
		}
		if record == nil {
			break
		}
		p.row(record)
		if len(p.problems) >= maxMapProblems {
			break
		}
	}
	if p.problems != nil {
		return nil, &Error{Problems: p.problems}
	}
	if len(p.lines) == 0 {
		return nil, whole(name, 0, 0, "has no points; want a row for each, below the header")
	}
	return &p.mapFile, nil
}

type mapParser struct {
	mapFile
	name     string
	csv      *csv.Reader
	problems []Problem

	column [len(mapColumns)]int    // where each column stands in the file
	unit   [len(mapColumns)]string // its unit, as the header has it
	width  int
	sum    float64 // of the speeds of the line that is being read
	stray  float64 // speed of the last row, where that could not be taken into any line; 0 otherwise
}

// next returns the next record, or nil at the end of the file.
func (p *mapParser) next() ([]string, error) {
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

func (p *mapParser) fail(field int, format string, args ...any) {
	line, column := p.csv.FieldPos(field)
	p.problems = append(p.problems, Problem{File: p.name, Line: line, Column: column, Message: fmt.Sprintf(format, args...)})
}

// header reads the names and units of the columns.
func (p *mapParser) header() error {
	record, err := p.next()
	if err != nil {
		return err
	}
	if record == nil {
		return whole(p.name, 0, 0, "is empty; want a header such as %s", mapHeader)
	}
	p.width = len(record)
	for i := range p.column {
		p.column[i] = -1
	}
	if len(record) == 1 && strings.ContainsAny(record[0], ";\t") {
		p.fail(0, "has columns that no comma separates; want a header such as %s", mapHeader)
		return &Error{Problems: p.problems}
	}
	word := func(cell string) bool {
		number, rest := units.Split(strings.TrimSpace(cell))
		return number == "" || rest != ""
	}
	if !slices.ContainsFunc(record, word) {
		p.fail(0, "has numbers where the header belongs; want a header such as %s", mapHeader)
		return &Error{Problems: p.problems}
	}
	for i, cell := range record {
		if len(p.problems) >= maxMapProblems {
			break
		}
		p.headCell(i, cell)
	}
	for i, at := range p.column {
		if at < 0 && p.problems == nil {
			p.fail(0, "has no column %s; want a header such as %s", mapColumns[i].name, mapHeader)
		}
	}
	if p.problems != nil {
		return &Error{Problems: p.problems}
	}
	return nil
}

func (p *mapParser) headCell(i int, cell string) {
	name, unit, bracket := strings.Cut(cell, "[")
	name = strings.ToLower(strings.ReplaceAll(strings.TrimSpace(name), "_", " "))
	c := slices.IndexFunc(mapColumns[:], func(c mapColumn) bool { return c.name == name })
	if c < 0 {
		p.fail(i, "has the column %s; want a header such as %s", shown(cell), mapHeader)
		return
	}
	column := mapColumns[c]
	if p.column[c] >= 0 {
		p.fail(i, "has the column %s twice", column.name)
		return
	}
	p.column[c] = i
	if !bracket {
		if !column.bare {
			p.fail(i, "has no unit in the column %s; want it in brackets, such as %s", column.name, strings.Split(mapHeader, ", ")[c])
		}
		return
	}
	unit, closed := strings.CutSuffix(strings.TrimSpace(unit), "]")
	unit = strings.TrimSpace(unit)
	if unit == "-" && column.bare {
		unit = ""
	}
	if _, err := units.Parse("1 "+unit, column.kind); err != nil || !closed {
		p.fail(i, "has the unit %s in the column %s; want %s", shown("["+unit+"]"), column.name, column.wants)
		return
	}
	p.unit[c] = unit
}

// row reads one point.
func (p *mapParser) row(record []string) {
	if len(record) != p.width {
		hint := ""
		if len(record) == 2*p.width || len(record) == 2*p.width-1 { // the speed is often a whole number
			hint = " (a decimal comma? write a decimal point)"
		}
		p.fail(0, "has %d columns; want the header's %d%s", len(record), p.width, hint)
		return
	}
	var v [len(mapColumns)]float64
	good := true
	for c, column := range mapColumns {
		at := p.column[c]
		message := ""
		if v[c], message = p.cell(strings.TrimSpace(record[at]), c); message != "" {
			p.fail(at, "%s %s", column.name, message)
			good = false
		}
	}
	if good {
		p.point(v[0], compressor.Point{Flow: v[1], PressureRatio: v[2], Efficiency: v[3]})
	}
}

// cell returns a cell's value in SI, or what is wrong with it.
func (p *mapParser) cell(text string, c int) (float64, string) {
	column := mapColumns[c]
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

// point adds a point to the speed line that is being read, or starts the next one.
func (p *mapParser) point(speed float64, pt compressor.Point) {
	row, _ := p.csv.FieldPos(0)
	last := len(p.lines) - 1
	same := func(line int) bool { return math.Abs(speed/p.lines[line].Speed-1) <= speedScatter }
	if last >= 0 && same(last) {
		line := &p.lines[last]
		if len(line.Points) >= maxLinePoints {
			p.fail(0, "is the point %d of one speed line; want at most %d", len(line.Points)+1, maxLinePoints)
			return
		}
		for i, other := range line.Points {
			if other.Flow == pt.Flow && other.PressureRatio == pt.PressureRatio {
				p.fail(0, "gives the same point as line %d", p.rows[last][i])
				return
			}
		}
		line.Points = append(line.Points, pt)
		p.rows[last] = append(p.rows[last], row)
		p.sum += speed
		line.Speed = p.sum / float64(len(line.Points))
		p.stray = 0
		return
	}
	stray := p.stray
	p.stray = speed
	if stray > 0 && math.Abs(speed/stray-1) <= speedScatter {
		return // the speed line that this row belongs to has its message
	}
	for i := range p.lines {
		if same(i) {
			p.fail(0, "belongs to the speed line that starts on line %d; want its rows together", p.rows[i][0])
			return
		}
	}
	switch {
	case last >= 0 && speed < p.lines[last].Speed:
		p.fail(0, "starts a speed line below the one before it; want the speeds to rise")
		return
	case len(p.lines) >= maxSpeedLines:
		p.fail(0, "starts speed line %d; want at most %d", len(p.lines)+1, maxSpeedLines)
		return
	}
	p.stray = 0
	p.lines = append(p.lines, compressor.Line{Speed: speed, Points: []compressor.Point{pt}})
	p.rows = append(p.rows, []int{row})
	p.sum = speed
}

// build makes the map ready for use. What its package refuses is told with the row of the file.
func (f *mapFile) build(name string, ref compressor.Reference) (*compressor.Map, error) {
	m, err := compressor.NewMap(ref, f.lines)
	if err == nil {
		return m, nil
	}
	var bad *compressor.MapError
	if !errors.As(err, &bad) || bad.Line < 0 || bad.Line >= len(f.rows) {
		reason := err.Error()
		if bad != nil {
			reason = bad.Reason
		}
		return nil, whole(name, 0, 0, "is no compressor map: %s", reason)
	}
	rows := f.rows[bad.Line]
	where, row := fmt.Sprintf("speed line %d of %d, %s", bad.Line+1, len(f.rows), units.Format(f.lines[bad.Line].Speed, units.Speed, units.Metric)), rows[0]
	if bad.Point >= 0 && bad.Point < len(rows) {
		where, row = fmt.Sprintf("%s, point %d", where, bad.Point+1), rows[bad.Point]
	}
	return nil, whole(name, row, 0, "%s: %s", where, bad.Reason)
}
