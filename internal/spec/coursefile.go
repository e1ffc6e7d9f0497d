package spec

import (
	"crypto/sha256"
	"math"
	"strings"

	"bellmouth/internal/course"
	"bellmouth/internal/units"
)

// The columns of a course file, in any order there.
const (
	distanceColumn = iota
	radiusColumn
	allowedColumn
	gradeColumn
	surfaceColumn
	bankColumn
)

// courseColumns are those columns.
var courseColumns = []column{
	{name: "distance", kind: units.Distance, min: "0 m", max: "100 km", head: "distance [m]", wants: "one of a length, such as distance [m]"},
	{name: "radius", kind: units.Distance, min: "2 m", max: "100 km", optional: true, head: "radius [m]", wants: "one of a length, such as radius [m]"},
	{name: "allowed speed", kind: units.RoadSpeed, min: "1 km/h", max: "500 km/h", optional: true, head: "allowed speed [km/h]",
		wants: "one of a velocity, such as allowed speed [km/h]"},
	{name: "grade", kind: units.Fraction, min: "-50 %", max: "50 %", optional: true, head: "grade [%]", wants: "[%], rise over run"},
	{name: "surface", bare: true, words: true, optional: true, head: "surface", wants: "none"},
	{name: "bank", kind: units.Fraction, min: "-30 %", max: "30 %", optional: true, head: "bank [%]",
		wants: "[%], fall towards the inside of the corner over width"},
}

// A courseFile is the content of a course file. The roads of its stations have no grip yet.
type courseFile struct {
	stations []course.Station
	surfaces []namedSurface // by station

	digest [sha256.Size]byte
}

// A namedSurface is a surface by name, with where the file names it.
type namedSurface struct {
	name         string // empty: the car's own
	line, column int
}

// straights are what stands for no radius.
var straights = []string{"", "-", "inf", "+inf", "-inf", "infinite", "infinity", "straight", "∞"}

// parseCourse reads a course: a row for each station, from the start to the finish. name is used in messages.
func parseCourse(name string, data []byte) (*courseFile, error) {
	t, err := newTableParser(name, "course", data, courseColumns)
	if err != nil {
		return nil, err
	}
	if t.at[radiusColumn] < 0 && t.at[allowedColumn] < 0 {
		t.fail(0, "has no column radius and none allowed speed; want one of them, with nothing in its cells where the road is straight")
		return nil, t.err()
	}
	p := &courseParser{tableParser: t, last: math.Inf(-1)}
	if err := p.rows(p.read); err != nil {
		return nil, err
	}
	if len(p.stations) < 2 {
		return nil, whole(name, 0, 0, "has fewer than two rows below the header; want one for the start and one for the finish at least")
	}
	p.digest = sha256.Sum256(data)
	return &p.courseFile, nil
}

type courseParser struct {
	courseFile
	*tableParser

	last float64 // distance of the row before, m
}

// read reads one station.
func (p *courseParser) read(record []string) {
	var s course.Station
	var ok bool
	if s.Distance, ok = p.number(record, distanceColumn); ok {
		switch {
		case math.IsInf(p.last, -1) && s.Distance != 0:
			p.fail(p.at[distanceColumn], "distance is %s in the first row; want 0, the start", shown(p.text(record, distanceColumn)))
		case !(s.Distance > p.last):
			p.fail(p.at[distanceColumn], "distance is %s, not above that of the row before; want the distances to rise", shown(p.text(record, distanceColumn)))
		}
		p.last = math.Max(p.last, s.Distance)
	}
	s.Curvature = p.curvature(record)
	if p.text(record, allowedColumn) != "" {
		s.Allowed, _ = p.number(record, allowedColumn)
	}
	if p.at[gradeColumn] >= 0 {
		s.Grade, _ = p.number(record, gradeColumn)
	}
	if p.text(record, bankColumn) != "" {
		s.Bank, _ = p.number(record, bankColumn)
	}
	on := namedSurface{name: p.text(record, surfaceColumn)}
	if on.name != "" {
		on.line, on.column = p.csv.FieldPos(p.at[surfaceColumn])
	}
	p.stations, p.surfaces = append(p.stations, s), append(p.surfaces, on)
}

// curvature returns that of a row's radius, which may have either sign.
func (p *courseParser) curvature(record []string) float64 {
	text := p.text(record, radiusColumn)
	for _, word := range straights {
		if strings.EqualFold(text, word) {
			return 0
		}
	}
	size, left := strings.CutPrefix(text, "-")
	radius, message := p.cell(size, radiusColumn)
	switch {
	case strings.Trim(size, "0.") == "":
		p.fail(p.at[radiusColumn], "radius is %s; want nothing where the road is straight", shown(text))
		return 0
	case message != "" && left:
		p.fail(p.at[radiusColumn], "radius %s", strings.Replace(message, "is ", "is -", 1))
		return 0
	case message != "":
		p.fail(p.at[radiusColumn], "radius %s", message)
		return 0
	case left:
		radius = -radius
	}
	return 1 / radius
}
