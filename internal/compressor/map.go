package compressor

import (
	"fmt"
	"math"
	"slices"
)

// A Point is one reading on a speed line.
type Point struct {
	Flow          float64 // corrected, kg/s
	PressureRatio float64 // total to total
	Efficiency    float64 // isentropic, total to total, fraction
}

// A Line is a speed line: the readings at one corrected speed, from the surge side (lowest flow) to the choke side.
// The readings of a measured line scatter in speed by a tenth of a per cent or so; Speed is their mean.
type Line struct {
	Speed  float64 // corrected, rad/s
	Points []Point
}

// A Map is a compressor map made ready for use. It does not change once made, so that any number of goroutines can read it.
type Map struct {
	reference Reference
	lines     []Line
	surface   surface
	surge     boundary

	flowGas, speedGas float64 // see Breathing; 0 counts as 1
}

// A MapError says which line and point of a map cannot be used, and why.
type MapError struct {
	Line   int // index into the lines; −1 when the fault is not one line's
	Point  int // index into the line's points as given; −1 when the fault is not one point's
	Reason string
}

func (e *MapError) Error() string {
	switch {
	case e.Line < 0:
		return "compressor map: " + e.Reason
	case e.Point < 0:
		return fmt.Sprintf("compressor map: line %d: %s", e.Line+1, e.Reason)
	default:
		return fmt.Sprintf("compressor map: line %d, point %d: %s", e.Line+1, e.Point+1, e.Reason)
	}
}

const (
	// flowStepBack is how far flow may fall from one point to the next toward choke. Measured choke sides are vertical to
	// within the scatter of the flow meter (0.27 % in NASA's HECC stage), and the limit is about twice that.
	flowStepBack = 0.005
	// lineGap is the least rise in flow, as a fraction, from a line to the next along a resistance line. Lines
	// that run closer leave the speed undetermined.
	lineGap = 1e-4
	// surgeScatter is how far, as a fraction of flow, a point may lie left of the surge line: the same scatter.
	surgeScatter = flowStepBack / 2
	// resistanceGap is the least distance between two points of a line in ln(h/ṁ²); closer ones are the same point twice.
	resistanceGap = 1e-6
)

// NewMap returns the map through the given speed lines, which rise in speed and run from surge to choke.
//
// Flow at the choke side may step back by up to 0.5 %; it is evened out there, so that flow never falls along a line (the
// mean of the points that are out of order, each moved by half of the step at most). Pressure ratio may rise and fall again
// on the surge side. What cannot be used is a *MapError: fewer than two lines or than three points on one, numbers that are
// not finite, flow or speed that is not positive, a pressure ratio of 1 or less, an efficiency outside (0, 1], lines or points out of order, a
// point given twice, lines that meet or cross, surge ends whose pressure ratio does not rise with
// speed, and points left of the line through the surge ends.
func NewMap(ref Reference, lines []Line) (*Map, error) {
	if !(positive(ref.Temperature) && positive(ref.Pressure)) {
		return nil, &MapError{-1, -1, "the reference temperature and pressure must both be given, above zero"}
	}
	if len(lines) < 2 {
		return nil, &MapError{-1, -1, fmt.Sprintf("needs at least 2 speed lines, has %d", len(lines))}
	}
	curves := make([]curve, len(lines))
	for i, line := range lines {
		if !positive(line.Speed) {
			return nil, &MapError{i, -1, "speed must be a number above zero"}
		}
		if i > 0 && !(line.Speed > lines[i-1].Speed*(1+lineGap)) {
			return nil, &MapError{i, -1, "speed must be above that of the line before"}
		}
		if err := checkPoints(i, line.Points); err != nil {
			return nil, err
		}
		c, err := newCurve(i, line)
		if err != nil {
			return nil, err
		}
		curves[i] = c
	}
	m := &Map{reference: ref, lines: copyLines(lines), surface: newSurface(curves)}
	if err := m.surface.check(curves); err != nil {
		return nil, err
	}
	surge, err := m.surface.surgeBoundary()
	if err != nil {
		return nil, err
	}
	m.surge = surge
	if err := m.checkSurgeSide(curves); err != nil {
		return nil, err
	}
	return m, nil
}

// checkSurgeSide refuses a line of which a part lies left of the surge line through the lines' ends.
func (m *Map) checkSurgeSide(curves []curve) error {
	for i, c := range curves {
		for j, x := range c.x {
			mu := c.f[j] + c.nu
			if !(mu > m.surge.at(2*mu-x)-surgeScatter) {
				return &MapError{i, c.point[j], "lies left of the line through the surge ends of the speed lines; " +
					"pressure ratio rises faster along its line than along that"}
			}
		}
	}
	return nil
}

// TopSpeed returns the corrected speed of the highest line, rad/s.
func (m *Map) TopSpeed() float64 { return m.lines[len(m.lines)-1].Speed }

func copyLines(lines []Line) []Line {
	out := slices.Clone(lines)
	for i := range out {
		out[i].Points = slices.Clone(out[i].Points)
	}
	return out
}

func positive(v float64) bool { return v > 0 && !math.IsInf(v, 1) }

// checkPoints refuses what a reader of the row alone can see to be wrong.
func checkPoints(line int, points []Point) error {
	if len(points) < 3 {
		return &MapError{line, -1, fmt.Sprintf("needs at least 3 points, has %d", len(points))}
	}
	highest := 0.0
	for j, p := range points {
		switch {
		case !positive(p.Flow):
			return &MapError{line, j, "flow must be a number above zero"}
		case !(p.PressureRatio > 1) || math.IsInf(p.PressureRatio, 1):
			return &MapError{line, j, "pressure ratio must be a number above 1"}
		case !(p.Efficiency > 0 && p.Efficiency <= 1):
			return &MapError{line, j, "efficiency must be a fraction above 0, up to 1"}
		case p.Flow < highest*(1-flowStepBack):
			return &MapError{line, j, fmt.Sprintf("flow steps back by %.2f %%; points run from surge to choke, and at most %.1f %% is taken for scatter",
				100*(1-p.Flow/highest), 100*flowStepBack)}
		}
		for k, q := range points[:j] {
			if p.Flow == q.Flow && p.PressureRatio == q.PressureRatio {
				return &MapError{line, j, fmt.Sprintf("flow and pressure ratio are those of point %d", k+1)}
			}
		}
		highest = max(highest, p.Flow)
	}
	return nil
}
