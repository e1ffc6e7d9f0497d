package spec

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/compressor"
	"bellmouth/internal/units"
)

// Bounds on a compressor map, far above any real one.
const (
	maxSpeedLines = 60
	maxLinePoints = 200
)

// speedScatter is how far, as a fraction, the speeds of one line's rows may lie apart: a measured line scatters by a tenth
// of a per cent or so, and neighbouring lines lie at least a few per cent apart. Common practice, no source.
const speedScatter = 0.005

// mapColumns are the columns of a compressor map file, in any order there.
var mapColumns = []column{
	{name: "speed", kind: units.Speed, min: "5000 rpm", max: "400000 rpm", head: "speed [rpm]", wants: "one of a speed of rotation, such as speed [rpm]"},
	{name: "flow", kind: units.MassFlow, min: "0.001 kg/s", max: "20 kg/s", head: "flow [kg/s]", wants: "one of a mass flow, such as flow [kg/s]"},
	{name: "pressure ratio", kind: units.Number, min: "0.5", max: "10", bare: true, head: "pressure ratio", wants: "none"},
	{name: "efficiency", kind: units.Fraction, min: "0.01", max: "1", bare: true, head: "efficiency", wants: "none, or [%]"},
}

// A mapFile is the content of a compressor map file.
type mapFile struct {
	lines []compressor.Line
	rowOf [][]int // the row of the file that each point stands in

	digest [sha256.Size]byte // of the file, to tell two of the same name apart
}

// parseMap reads a compressor map: the four columns, and a row for each point, those of a speed line together. name is used in messages.
func parseMap(name string, data []byte) (*mapFile, error) {
	t, err := newTableParser(name, "compressor map", data, mapColumns)
	if err != nil {
		return nil, err
	}
	p := &mapParser{tableParser: t}
	if err := p.rows(p.read); err != nil {
		return nil, err
	}
	if len(p.lines) == 0 {
		return nil, whole(name, 0, 0, "has no points; want a row for each, below the header")
	}
	p.digest = sha256.Sum256(data)
	return &p.mapFile, nil
}

type mapParser struct {
	mapFile
	*tableParser

	sum   float64 // of the speeds of the line that is being read
	stray float64 // speed of the last row, where that could not be taken into any line; 0 otherwise
}

// read reads one point.
func (p *mapParser) read(record []string) {
	var v [4]float64
	good := true
	for c := range v {
		var ok bool
		v[c], ok = p.number(record, c)
		good = good && ok
	}
	if good {
		p.point(v[0], compressor.Point{Flow: v[1], PressureRatio: v[2], Efficiency: v[3]})
	}
}

// point adds a point to the speed line that is being read, or starts the next one.
func (p *mapParser) point(speed float64, pt compressor.Point) {
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
				p.fail(0, "gives the same point as line %d", p.rowOf[last][i])
				return
			}
		}
		line.Points = append(line.Points, pt)
		p.rowOf[last] = append(p.rowOf[last], p.row())
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
			p.fail(0, "belongs to the speed line that starts on line %d; want its rows together", p.rowOf[i][0])
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
	p.rowOf = append(p.rowOf, []int{p.row()})
	p.sum = speed
}

// build makes the map ready for use. What its package refuses is told with the row of the file.
func (f *mapFile) build(name string, ref compressor.Reference) (*compressor.Map, error) {
	m, err := compressor.NewMap(ref, f.lines)
	if err == nil {
		return m, nil
	}
	var bad *compressor.MapError
	if !errors.As(err, &bad) || bad.Line < 0 || bad.Line >= len(f.rowOf) {
		reason := err.Error()
		if bad != nil {
			reason = bad.Reason
		}
		return nil, whole(name, 0, 0, "is no compressor map: %s", reason)
	}
	rows := f.rowOf[bad.Line]
	where, row := fmt.Sprintf("speed line %d of %d, %s", bad.Line+1, len(f.rowOf), units.Format(f.lines[bad.Line].Speed, units.Speed, units.Metric)), rows[0]
	if bad.Point >= 0 && bad.Point < len(rows) {
		where, row = fmt.Sprintf("%s, point %d", where, bad.Point+1), rows[bad.Point]
	}
	return nil, whole(name, row, 0, "%s: %s", where, bad.Reason)
}
