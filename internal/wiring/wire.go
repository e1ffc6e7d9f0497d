// Package wiring computes what circuits draw and lose: the voltage that arrives at a load, the wire, fuse or trip setting that suits it, and
// whether alternator and battery feed the sum.
package wiring

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/units"
)

// Annealed copper at 20 °C: 100 % of the International Annealed Copper Standard, IEC 60028.
const (
	resistivity      = 1.7241e-8 // Ω m
	perKelvin        = 0.00393   // change of the resistance, as a share of that at 20 °C
	statedAt         = 293.15    // K
	squareMillimetre = 1e-6      // m²
)

// class5 is the greatest resistance of flexible conductors of plain annealed copper at 20 °C, Ω/km, by area, mm². Source: IEC 60228 class 5.
var class5 = [...]struct{ area, resistance float64 }{
	{0.5, 39}, {0.75, 26}, {1, 19.5}, {1.5, 13.3}, {2.5, 7.98}, {4, 4.95}, {6, 3.3}, {10, 1.91}, {16, 1.21}, {25, 0.78}, {35, 0.554}, {50, 0.386},
}

// A Conductor is a copper conductor.
type Conductor struct {
	Area       float64 // m²
	Resistance float64 // of a metre at 20 °C, Ω/m
}

// Solid returns a round conductor of an area A, m², without strands.
//
//	R = ρ/A
//
// Source: IEC 60028, as ASTM B258 has it for its gauges. A stranded wire of the same gauge has 2 to 4 % more: from memory.
func Solid(area float64) Conductor { return Conductor{area, resistivity / area} }

// Flexible returns a stranded conductor of an area A, m²: at the areas of IEC 60228 class 5 that standard's greatest resistance. Between them, and
// past the ends, the resistance over that of a solid conductor is straight in the area, and held at the ends: ours, since the standard has no other
// sizes.
func Flexible(area float64) Conductor {
	excess := func(i int) float64 {
		return class5[i].resistance * 1e-3 * class5[i].area * squareMillimetre
	}
	a := area / squareMillimetre
	last := len(class5) - 1
	switch {
	case a <= class5[0].area:
		return Conductor{area, excess(0) / area}
	case a >= class5[last].area:
		return Conductor{area, excess(last) / area}
	}
	i := 0
	for a > class5[i+1].area*(1+1e-9) {
		i++
	}
	share := (a - class5[i].area) / (class5[i+1].area - class5[i].area)
	return Conductor{area, (excess(i) + share*(excess(i+1)-excess(i))) / area}
}

// A Wire is the way of a current to its loads and back.
type Wire struct {
	Conductor
	Length      float64 // of the way there, m
	Return      float64 // of the way back through the same conductor, m; 0 where the body or a bar carries it without loss
	Temperature float64 // of the copper at work, K
	Contacts    float64 // of connectors, switch and fuse, Ω
}

// Validate returns an error when a figure is outside its range.
func (w *Wire) Validate() error {
	for _, v := range []struct {
		name, unit string
		value      float64
		least      bool // 0 will do
	}{
		{"area", "m²", w.Area, false},
		{"resistance of a metre", "Ω/m", w.Conductor.Resistance, false},
		{"length", "m", w.Length, true},
		{"return length", "m", w.Return, true},
		{"temperature", "K", w.Temperature, false},
		{"resistance of the contacts", "Ω", w.Contacts, true},
	} {
		if !(v.value >= 0) || math.IsInf(v.value, 1) || !v.least && v.value == 0 {
			return fmt.Errorf("wire's %s is %v %s; want a number above 0", v.name, v.value, v.unit)
		}
	}
	if !(w.heat() > 0) {
		return fmt.Errorf("wire's temperature is %v K, at which copper is said to have no resistance", w.Temperature)
	}
	return nil
}

// heat returns the resistance over that at 20 °C.
func (w *Wire) heat() float64 { return 1 + perKelvin*(w.Temperature-statedAt) }

// Resistance returns the resistance there and back at working temperature R, Ω.
//
//	R = R20 (1 + 0.00393/K (T − 20 °C)) (L + Lreturn) + contacts
//
// Source: IEC 60228 or IEC 60028 for R20, IEC 60028 for the temperature. The contacts are taken as they are.
func (w *Wire) Resistance() float64 {
	return w.Conductor.Resistance*w.heat()*(w.Length+w.Return) + w.Contacts
}

// An Insulation is what is round a conductor.
type Insulation int

const (
	PVC      Insulation = iota // standard wall
	ThinWall                   // cross-linked, for 105 °C
)

// carried is what a wire carries continuously, A, by area, mm², in free air at 30 °C. PVC to 3 mm²: one trade page, read there; 4.5 and 6 mm² from memory. Thin
// wall: 2 mm² read in one page, the others to 6 mm² from memory. From 10 mm² on both have the currents of two loaded cores in one PVC cable, IEC
// 60364-5-52 table B.52.10, from memory: a single cable carries more.
var carried = [...][]struct{ area, current float64 }{
	PVC:      {{0.65, 5.75}, {1, 8.75}, {1.5, 12.75}, {2, 17.5}, {2.5, 21.75}, {3, 25.5}, {4.5, 35}, {6, 42}, {10, 70}, {16, 94}, {25, 119}, {35, 148}, {50, 180}},
	ThinWall: {{0.5, 11}, {1, 16.5}, {1.5, 21}, {2, 25}, {2.5, 29}, {3, 33}, {4.5, 42}, {6, 50}, {10, 70}, {16, 94}, {25, 119}, {35, 148}, {50, 180}},
}

// Carries returns the current that a conductor carries continuously, A, and whether its area lies outside of the sizes that are known.
//
// Between the known sizes it is straight in the area. Below them it falls with the area, above them it stays that of the largest: both are less than
// such a wire carries, since a thin one cools better. A bundle carries less, for which no figure with a source was found.
func Carries(i Insulation, area float64) (current float64, outside bool) {
	rows := carried[i]
	a, last := area/squareMillimetre, len(rows)-1
	const slack = 1e-9 // of an area that a unit's conversion left next to a size
	switch {
	case a < rows[0].area*(1-slack):
		return rows[0].current * a / rows[0].area, true
	case a >= rows[last].area*(1-slack):
		return rows[last].current, a > rows[last].area*(1+slack)
	}
	k := 0
	for a > rows[k+1].area {
		k++
	}
	share := math.Max(0, (a-rows[k].area)/(rows[k+1].area-rows[k].area))
	return rows[k].current + share*(rows[k+1].current-rows[k].current), false
}

// hottest is the temperature of a conductor that carries what it carries continuously, °C: 70 °C of PVC by IEC 60364-5-52, 105 °C by the name of the class.
var hottest = [...]float64{PVC: 70, ThinWall: 105}

const (
	free   = 30.0  // of the air round what carried knows, °C
	fault  = 160.0 // to which PVC may come in a fault, °C: IEC 60364-4-43
	copper = 226e6 // K of copper, A √s/m²
	zero   = 234.5 // β of copper, °C: below 0 °C, where its resistance would be none
)

// adiabatic returns k of I² t = k² A², A √s/m²: how much brings a copper wire from one temperature to another, °C, before it loses heat.
//
//	k = K √ln((β + θ2)/(β + θ1))
//
// Source: IEC 60949, from memory; it gives the k of IEC 60364-4-43, table 43A.
func adiabatic(from, to float64) float64 { return copper * math.Sqrt(math.Log((zero+to)/(zero+from))) }

// Bears returns the current that a conductor bears again and again for a time t, s, where a bundle leaves it a share of what a single wire carries, A; a
// time of 0 is continuously.
//
//	the higher of what it carries continuously and k A/√t
//
// with k from 30 °C to the temperature that it has continuously, so that short use makes it no hotter. Source: IEC 60949 for the second, from memory.
func Bears(i Insulation, area, bundle, time float64) (current float64, outside bool) {
	current, outside = Carries(i, area)
	current *= bundle
	if time > 0 {
		if short := adiabatic(free, hottest[i]) * area / math.Sqrt(time); short > current {
			return short, false
		}
	}
	return current, outside
}

// A Need is what a wire is to do.
type Need struct {
	Current    float64 // root of the mean square, which heats it, A
	Time       float64 // for which it flows, s; 0: continuously
	Drawn      float64 // while the loads draw, A, which makes the drop
	Drop       float64 // greatest accepted, V
	Insulation Insulation
	Bundle     float64 // share of a single wire's current that it carries where it lies, above 0 to 1
}

func (n *Need) metBy(w *Wire) bool {
	bears, _ := Bears(n.Insulation, w.Area, n.Bundle, n.Time)
	return bears >= n.Current && n.Drawn*w.Resistance() <= n.Drop
}

// ErrNoWire says that no size of the standard suits.
var ErrNoWire = errors.New("no conductor up to 50 mm2 suits")

// Smallest returns the smallest flexible conductor of the standard sizes that, in the place of a wire's, keeps the drop and carries the current of
// every need.
func Smallest(w Wire, needs ...Need) (Conductor, error) {
	for _, size := range class5 {
		w.Conductor = Flexible(size.area * squareMillimetre)
		if !slices.ContainsFunc(needs, func(n Need) bool { return !n.metBy(&w) }) {
			return w.Conductor, nil
		}
	}
	return Conductor{}, ErrNoWire
}

// Source returns where the currents that wires with the insulation carry come from.
func (i Insulation) Source() string {
	air := units.Whole(303.15, units.Temperature)
	if i == ThinWall {
		return fmt.Sprintf("thin wall for %s in free air at %s, from memory but for %s", units.Whole(378.15, units.Temperature), air, units.Whole(2e-6,
			units.WireArea))
	}
	return fmt.Sprintf("PVC of standard wall in free air at %s, read on one trade page up to %s, above from memory", air, units.Whole(3e-6, units.WireArea))
}
