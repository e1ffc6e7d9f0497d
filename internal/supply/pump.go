package supply

import (
	"fmt"
	"math"

	"bellmouth/internal/numeric"
	"bellmouth/internal/remark"
)

// A Point is one point of a pump's test.
type Point struct {
	Rise float64 // pressure the pump adds, Pa
	Flow float64 // m³/s
}

// A Test is a pump's flow against pressure at one voltage at its terminals.
type Test struct {
	Voltage float64 // V
	Points  []Point // by rising pressure, two or more; a last flow of 0 is the shut-off
}

// A PumpError reports what is wrong with a pump's tests.
type PumpError struct {
	Test   int // from 0
	Point  int // in that test, from 0; -1: the whole test
	Reason string
}

func (e *PumpError) Error() string {
	if e.Point < 0 {
		return fmt.Sprintf("test %d of the pump: %s", e.Test+1, e.Reason)
	}
	return fmt.Sprintf("test %d of the pump, point %d: %s", e.Test+1, e.Point+1, e.Reason)
}

// A RangeError reports a figure outside what a pump's tests tell.
type RangeError struct {
	What, Unit string
	Value      float64
	Low, High  float64 // what is known
}

func (e *RangeError) Error() string {
	return fmt.Sprintf("%s is %.4g %s; the pumps are known from %.4g to %.4g %s", e.What, e.Value, e.Unit, e.Low, e.High, e.Unit)
}

// A Note is a remark on a figure, one bit each.
type Note uint

const (
	NoteVoltageOutside Note = 1 << iota // voltage outside a pump's tests, which the motor's law continues
	NotePressureBelow                   // pressure below a pump's first point, the curve continued in a straight line
	NoteTransitional                    // a line's flow between laminar and turbulent
	NoteRailCreeps                      // the return line holds the rail above what the regulator asks
	NoteShort                           // pumps give less than the demand: the rail pressure falls
	NoteStarved                         // pumps do not give the demand even with no rail pressure
)

var noteTexts = map[Note]string{
	NoteVoltageOutside: "voltage outside the pump's tests: flow continued in proportion to the motor's speed",
	NotePressureBelow:  "pressure below the pump's first point: curve continued in a straight line",
	NoteTransitional:   "flow in a line between laminar and turbulent: its loss is uncertain",
	NoteRailCreeps:     "return line too narrow: the rail pressure is above what the regulator asks",
	NoteShort:          "pumps give less than the engine takes: the rail pressure falls",
	NoteStarved:        "pumps do not give what the engine takes at any rail pressure",
}

// Texts returns the remarks in words.
func (n Note) Texts() []string { return remark.Texts(n, noteTexts) }

// A Source is pumps that feed one line: a *Pump, a Parallel or a Series.
type Source interface {
	under(voltage float64) (characteristic, error)
}

// A characteristic is a source at one voltage: a flow that falls strictly with the pressure rise from lowest to highest.
type characteristic interface {
	span() (lowest, highest float64, shut bool) // rises; shut: at the highest the flow is 0, and stays so above
	flow(rise float64) float64
	rise(flow float64) (float64, error) // for flows between those of the span
	notes(rise float64) Note
}

// A Pump is an electric fuel pump as it was tested. It does not change once made.
type Pump struct{ tests []tested }

// The voltages, by those of the tests, to which the motor's law may continue them.
const (
	lowestVoltage  = 0.75
	highestVoltage = 1.25
)

// How well roots are known: far inside 1e-9 of the pressure of a rail and the flow of a pump.
const (
	riseTolerance = 1e-7  // Pa
	flowTolerance = 1e-17 // m³/s
)

// NewPump returns the pump of one or more tests, by rising voltage. Data that are not finite, pressures that do not
// rise, flows that do not fall, and more flow at a lower voltage are a *PumpError.
func NewPump(tests []Test) (*Pump, error) {
	if len(tests) == 0 {
		return nil, &PumpError{0, -1, "there is none"}
	}
	p := &Pump{}
	for i, t := range tests {
		c, err := newTested(i, t)
		if err != nil {
			return nil, err
		}
		if i > 0 {
			if !(t.Voltage > tests[i-1].Voltage) {
				return nil, &PumpError{i, -1, fmt.Sprintf("voltage is %v V after %v V; want rising voltages", t.Voltage, tests[i-1].Voltage)}
			}
			if rise, ok := c.above(&p.tests[i-1]); !ok {
				return nil, &PumpError{i, -1, fmt.Sprintf("at %.4g Pa the flow is not above that of %v V", rise, tests[i-1].Voltage)}
			}
		}
		p.tests = append(p.tests, c)
	}
	return p, nil
}

// A tested is a Test that can be read at any pressure.
type tested struct {
	voltage       float64
	curve         numeric.Curve
	first, last   Point
	front, behind float64 // slopes at both ends, m³/(s Pa), of the straight line through the two points there
	shut          bool    // last is the shut-off
}

func newTested(i int, t Test) (tested, error) {
	if !positive(t.Voltage) {
		return tested{}, &PumpError{i, -1, fmt.Sprintf("voltage is %v V; want more than 0", t.Voltage)}
	}
	n := len(t.Points)
	if n < 2 {
		return tested{}, &PumpError{i, -1, fmt.Sprintf("points are %d; want 2 or more", n)}
	}
	x, y := make([]float64, n), make([]float64, n)
	for j, pt := range t.Points {
		x[j], y[j] = pt.Rise, pt.Flow
		switch {
		case !notNegative(pt.Rise):
			return tested{}, &PumpError{i, j, fmt.Sprintf("pressure is %v Pa; want 0 or more", pt.Rise)}
		case !notNegative(pt.Flow):
			return tested{}, &PumpError{i, j, fmt.Sprintf("flow is %v m³/s; want 0 or more", pt.Flow)}
		case j > 0 && !(pt.Rise > x[j-1]):
			return tested{}, &PumpError{i, j, fmt.Sprintf("pressure is %v Pa after %v Pa; want rising pressures", pt.Rise, x[j-1])}
		case j > 0 && !(pt.Flow < y[j-1]):
			return tested{}, &PumpError{i, j, fmt.Sprintf("flow is %v m³/s after %v m³/s; want falling flows", pt.Flow, y[j-1])}
		}
	}
	c, err := numeric.NewCurve(x, y)
	if err != nil {
		return tested{}, &PumpError{i, -1, err.Error()}
	}
	slope := func(a, b int) float64 { return (y[b] - y[a]) / (x[b] - x[a]) }
	out := tested{
		voltage: t.Voltage, curve: c, first: t.Points[0], last: t.Points[n-1],
		front: slope(0, 1), behind: slope(n-2, n-1), shut: y[n-1] == 0,
	}
	return out, nil
}

// at returns the flow; below 0 past the shut-off, as of a pump that would be pushed back.
func (t *tested) at(rise float64) float64 {
	switch {
	case rise < t.first.Rise:
		return t.first.Flow + t.front*(rise-t.first.Rise)
	case rise > t.last.Rise:
		return t.last.Flow + t.behind*(rise-t.last.Rise)
	}
	flow, _ := t.curve.At(rise)
	return flow
}

// above reports whether the test has more flow than a lower one wherever both have points, and where it has not.
func (t *tested) above(lower *tested) (float64, bool) {
	end := math.Min(t.last.Rise, lower.last.Rise)
	const steps = 200
	for i := range steps + 1 {
		rise := end * float64(i) / steps
		if !(t.at(rise) > lower.at(rise)) {
			return rise, false
		}
	}
	return 0, true
}

// under returns the pump at a voltage; FlowAt tells by which laws.
func (p *Pump) under(voltage float64) (characteristic, error) {
	if p == nil || len(p.tests) == 0 {
		return nil, fmt.Errorf("pump has no tests")
	}
	n := len(p.tests)
	low, high := &p.tests[0], &p.tests[n-1]
	if !(voltage >= lowestVoltage*low.voltage && voltage <= highestVoltage*high.voltage) {
		return nil, &RangeError{"voltage at the pumps", "V", voltage, lowestVoltage * low.voltage, highestVoltage * high.voltage}
	}
	a := &running{}
	switch {
	case voltage < low.voltage:
		a.low, a.high, a.outside = low, low, true
		a.shift = (voltage - low.voltage) * p.perVolt(0, 1)
	case voltage > high.voltage:
		a.low, a.high, a.outside = high, high, true
		a.shift = (voltage - high.voltage) * p.perVolt(n-2, n-1)
	default:
		i := 0
		for i+1 < n-1 && voltage > p.tests[i+1].voltage {
			i++
		}
		a.low, a.high = &p.tests[i], &p.tests[min(i+1, n-1)]
		switch voltage { // at a test that alone counts, with its own end
		case a.low.voltage:
			a.high = a.low
		case a.high.voltage:
			a.low = a.high
		default:
			a.share = (voltage - a.low.voltage) / (a.high.voltage - a.low.voltage)
		}
	}
	return a, a.limit()
}

// perVolt returns dQ/dV against no pressure, m³/(s V), between two tests.
func (p *Pump) perVolt(i, j int) float64 {
	if len(p.tests) == 1 {
		return p.tests[0].at(0) / p.tests[0].voltage
	}
	a, b := &p.tests[i], &p.tests[j]
	return (b.at(0) - a.at(0)) / (b.voltage - a.voltage)
}

// A running pump is a pump at a voltage.
type running struct {
	low, high    *tested
	share, shift float64
	outside      bool
	end          float64 // highest pressure
	shut         bool
}

func (a *running) raw(rise float64) float64 {
	q := a.low.at(rise)
	if a.share > 0 {
		q = between(q, a.high.at(rise), a.share)
	}
	return q + a.shift
}

// limit finds the highest pressure: where the flow ends, or the table does.
func (a *running) limit() error {
	if !(a.raw(0) > 0) {
		return fmt.Errorf("pump has no flow even against no pressure")
	}
	a.end = math.Inf(1)
	for _, t := range [...]*tested{a.low, a.high} {
		// A shut-off is the end of the flow, which another voltage moves; a table's end is where it is.
		if !t.shut || a.outside && a.shift > 0 {
			a.end = math.Min(a.end, t.last.Rise)
		}
	}
	if math.IsInf(a.end, 1) {
		a.end = math.Max(a.low.last.Rise, a.high.last.Rise)
	}
	if a.raw(a.end) > 0 {
		return nil
	}
	root, err := numeric.FindRoot(a.raw, 0, a.end, riseTolerance)
	if err != nil {
		return fmt.Errorf("shut-off pressure of the pump: %w", err)
	}
	a.end, a.shut = root.X, true
	return nil
}

func (a *running) span() (lowest, highest float64, shut bool) { return 0, a.end, a.shut }

func (a *running) flow(rise float64) float64 {
	if rise >= a.end && a.shut {
		return 0
	}
	return math.Max(0, a.raw(rise))
}

func (a *running) rise(flow float64) (float64, error) { return riseOf(a, flow) }

func (a *running) notes(rise float64) Note {
	var n Note
	if a.outside {
		n |= NoteVoltageOutside
	}
	if rise < math.Max(a.low.first.Rise, a.high.first.Rise) {
		n |= NotePressureBelow
	}
	return n
}

// riseOf inverts the flow. The ends are taken as they are, since a flow that only rounding keeps from them has no bracket.
func riseOf(c characteristic, flow float64) (float64, error) {
	lo, hi, _ := c.span()
	switch {
	case flow >= c.flow(lo):
		return lo, nil
	case flow <= c.flow(hi):
		return hi, nil
	}
	root, err := numeric.FindRoot(func(rise float64) float64 { return c.flow(rise) - flow }, lo, hi, riseTolerance)
	return root.X, err
}

// FlowAt returns the flow of pumps, m³/s, that add a pressure rise Δp, Pa, at a voltage at their terminals, V.
//
// Over the pressure it is the monotone cubic of the tests, below their first point the straight line through the first two;
// between two tests it is straight in the voltage. Past them it goes on from the nearest,
//
//	Q(V, Δp) = Q(Vn, Δp) + (V − Vn) dQ/dV
//
// dQ/dV being that of the flow against no pressure: between the nearest two tests, or Q(Vn, 0)/Vn of a single one. Both
// are exact for a pump that displaces a fixed volume a turn, leaks in proportion to pressure and is driven by a motor with
// a permanent magnet, whose torque goes with the current i and whose speed with V − i R: derived here, no published source.
// A pump that does otherwise, a turbine say, needs tests on both sides. A test that ends in its shut-off before the
// pressure needed counts on along its last line, below 0, for a pump between two tests.
//
// Above the shut-off the flow is 0: each pump has a check valve. A rise past the end of the tests, or a voltage below 0.75
// of the lowest tested or above 1.25 of the highest, is a *RangeError.
func FlowAt(pumps Source, rise, voltage float64) (float64, Note, error) {
	c, err := start(pumps, voltage)
	if err != nil {
		return 0, 0, err
	}
	lo, hi, shut := c.span()
	if !(rise >= lo) || math.IsInf(rise, 1) || rise > hi && !shut {
		return 0, 0, &RangeError{"pressure rise of the pumps", "Pa", rise, lo, hi}
	}
	flow := c.flow(rise)
	if math.IsNaN(flow) {
		return 0, 0, fmt.Errorf("pumps have no flow in common at a rise of %.4g Pa", rise)
	}
	return flow, c.notes(rise), nil
}

func start(pumps Source, voltage float64) (characteristic, error) {
	if pumps == nil {
		return nil, fmt.Errorf("there is no pump")
	}
	return pumps.under(voltage)
}
