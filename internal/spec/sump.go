package spec

import (
	"errors"
	"math"
	"strings"

	"bellmouth/internal/numeric"
	"bellmouth/internal/oil"
	"bellmouth/internal/units"
)

// A Sump is where the pump takes its oil, the tank of a dry one, and how much oil there is.
type Sump struct {
	Dry         bool
	Shape       *oil.Sump     // nil where a tank's is not given
	Capacity    float64       // m³
	Scavenge    *Scavenge     // of a dry sump
	Oil         float64       // filled, all of it, m³
	InEngine    numeric.Curve // of it up in the engine, m³, over engine speed
	Circulation *Circulation
}

// A Scavenge is what brings the oil from under the engine to the tank.
type Scavenge struct {
	Pump oil.Pump // all stages together
	Air  float64  // share of what they move that is air
}

// Oil returns the oil that scavenge pumps move at an engine speed, rad/s, in m³/s: (1 − air share) of what they displace.
func (s Scavenge) Oil(speed float64) float64 { return (1 - s.Air) * s.Pump.Flow(speed) }

// A Circulation is what a sustained corner asks of a sump.
type Circulation struct {
	Flow float64 // that the pump sends up, m³/s; 0: what goes through the engine with the oil's pump
	Back float64 // share of it that comes back meanwhile
	Time float64 // that the longest corner lasts, s
}

// A sumpDraft is the section sump as the file says it.
type sumpDraft struct {
	kind                   string
	fill, depth, volume    float64
	scavenge               Scavenge
	inEngine               numeric.Curve
	outline, shelf, gate   []oil.Point
	shelfHeight, gateWalls float64
	cover                  string
	pickup                 oil.Pickup
	circulation            Circulation
}

// The kinds of sump.
const (
	wetSump = "wet"
	drySump = "dry"
)

// What can lie on the walls of a gate.
const (
	gateOpen    = "open"
	gateCovered = "covered"
)

func (d *draft) sumpFields() []field {
	s := &d.sump
	corners := func(doc string, into *[]oil.Point, example string) field {
		return field{key: "outline", doc: doc, into: into, kind: units.Length, min: "-2 m", max: "2 m", required: doc != sumpPlan, example: example}
	}
	return []field{
		{key: "kind", doc: "wet, under the engine, or dry, with a tank that scavenge pumps fill: the plan, its depth and the pickup are then the tank's",
			into:    &s.kind,
			choices: []string{wetSump, drySump}, fallback: wetSump, reason: "common practice, no source", example: wetSump},
		{key: "oil", doc: "filled, all of it", into: &s.fill, kind: units.Volume, min: "0.3 L", max: "60 L", required: true, example: "6.0 L"},
		{key: "in_engine", doc: "of it up in the engine while it runs: in galleries, head, cooler and on the way back", into: &s.inEngine, kind: units.Volume,
			min: "0 L", max: "30 L", required: true, over: engineSpeed("{1000 rpm: 0.6 L, 7800 rpm: 1.4 L}"), example: "{1000 rpm: 0.6 L, 7800 rpm: 1.4 L}"},
		corners(sumpPlan, &s.outline, "[[-190 mm, -120 mm], [210 mm, -120 mm], [210 mm, 120 mm], [-190 mm, 120 mm]]"),
		{key: "depth", doc: "from the floor to the windage tray, or to what else is the lid; goes with outline", into: &s.depth, kind: units.Length,
			min: "10 mm", max: "1 m",
			example: "150 mm"},
		{key: "shelf", doc: "where the floor stands higher", fields: []field{
			corners("plan of it, inside that of the whole", &s.shelf, "[[-190 mm, -120 mm], [-10 mm, -120 mm], [-10 mm, 120 mm], [-190 mm, 120 mm]]"),
			{key: "height", doc: "of its floor above the floor of the rest", into: &s.shelfHeight, kind: units.Length, min: "1 mm", max: "1 m", required: true,
				example: "85 mm"},
		}},
		{key: "gate", doc: "a compartment round the pickup, whose doors let oil in and not out", fields: []field{
			corners("plan of it, beside the shelf", &s.gate, "[[20 mm, -70 mm], [170 mm, -70 mm], [170 mm, 70 mm], [20 mm, 70 mm]]"),
			{key: "height", doc: "of its walls above the floor", into: &s.gateWalls, kind: units.Length, min: "1 mm", max: "1 m", required: true,
				example: "95 mm"},
			{key: "cover", doc: "whether oil can go over the walls", into: &s.cover, choices: []string{gateOpen, gateCovered}, fallback: gateOpen,
				reason: "walls without a plate on them; common practice, no source", example: gateOpen},
		}},
		{key: "pickup", doc: "where the pump takes the oil; goes with outline", fields: []field{
			{key: "forward", doc: "from where the outline counts", into: &s.pickup.Place.X, kind: units.Length, min: "-2 m", max: "2 m", required: true,
				example: "100 mm"},
			{key: "left", doc: "from where the outline counts", into: &s.pickup.Place.Y, kind: units.Length, min: "-2 m", max: "2 m", required: true,
				example: "0 mm"},
			{key: "height", doc: "above the floor that the surface must not fall below: of its mouth, with what has to stand over that",
				into: &s.pickup.Height,
				kind: units.Length, min: "0 mm", max: "1 m", required: true, example: "14 mm"},
		}},
		{key: "volume", doc: "of a dry sump's tank, where its plan is not given", into: &s.volume, kind: units.Volume, min: "0.5 L", max: "100 L",
			commented: true, example: "9 L"},
		{key: "scavenge", doc: "the pumps that fill a dry sump's tank", commented: true, fields: []field{
			{key: "displacement", doc: "of one turn of all stages together", into: &s.scavenge.Pump.Displacement, kind: units.Volume, min: "0.5 cm3",
				max: "500 cm3", required: true,
				example: "40 cm3"},
			{key: "ratio", doc: "their turns for one of the engine", into: &s.scavenge.Pump.Ratio, min: "0.1", max: "3", fallback: "0.5",
				reason: "a toothed belt from the crank; common practice, no source", example: "0.5"},
			{key: "efficiency", doc: "volumetric, hot, with what they move", into: &s.scavenge.Pump.Efficiency, kind: units.Fraction, min: "5 %",
				max: "100 %", fallback: "75 %",
				reason: "a gear pump with foam; common practice, no source", over: engineSpeed("{1000 rpm: 60 %, 4000 rpm: 78 %}"), example: "75 %"},
			{key: "air_share", doc: "share of what they move that is air and gas", into: &s.scavenge.Air, kind: units.Fraction, min: "0 %", max: "95 %",
				required: true,
				example:  "45 %"},
		}},
		{key: "circulation", doc: "of the oil in a sustained corner", fields: []field{
			{key: "flow", doc: "that the pump sends up; default: the most that goes through the engine with oil.pump", into: &s.circulation.Flow,
				kind: units.UseFlow,
				min:  "0.1 L/min", max: "500 L/min", commented: true, example: "32 L/min"},
			{key: "back", doc: "share of it that comes back meanwhile", into: &s.circulation.Back, kind: units.Fraction, min: "0 %", max: "100 %",
				required: true,
				example:  "80 %"},
			{key: "time", doc: "that the longest corner lasts", into: &s.circulation.Time, kind: units.ShortDuration, min: "0.1 s", max: "120 s",
				required: true,
				example:  "4 s"},
		}},
	}
}

// sumpPlan is what the outline of the whole is; a dry sump's tank may do without.
const sumpPlan = "plan of the inside, forward and to the left from any place; a wet sump has it, with depth and pickup"

// corners reads an outline: a list of pairs.
func (d *decoder) corners(f *field, into *[]oil.Point, n *node, path string) {
	points := make([]oil.Point, 0, len(n.items))
	for i, item := range n.items {
		if item.form != list || len(item.items) != 2 || item.items[0].form != scalar || item.items[1].form != scalar {
			d.fail(path, item, "has the corner %d as %s; want [forward, left], such as [100 mm, -80 mm]", i+1, flow(item))
			return
		}
		x, okX := d.quantity(f, item.items[0], path)
		y, okY := d.quantity(f, item.items[1], path)
		if !okX || !okY {
			return
		}
		points = append(points, oil.Point{X: x, Y: y})
	}
	*into = points
}

// assembleSump builds the sump and checks that its oil fits into it.
func (d *draft) assembleSump(dec *decoder) {
	if !dec.ok("sump") {
		return
	}
	s := &d.sump
	out := Sump{Dry: s.kind == drySump, Oil: s.fill, InEngine: s.inEngine, Capacity: s.volume}
	if !d.sumpParts(dec, out.Dry) {
		return
	}
	if dec.has("sump.outline") {
		if out.Shape = d.sumpShape(dec); out.Shape == nil {
			return
		}
		out.Capacity = out.Shape.Capacity()
	}
	if s.fill > out.Capacity {
		dec.fail("sump.oil", dec.given["sump.oil"], "is %s; want at most what the sump holds up to its depth, %s",
			shown(dec.given["sump.oil"].text), dec.inUnitOf("sump.oil", units.Volume, floorTo(out.Capacity, 4)))
		return
	}
	if most, at := d.mostInEngine(dec); !(most < s.fill) {
		dec.fail("sump.in_engine", at, "is %s; want less than the oil filled, %s", shown(at.text), dec.inUnitOf("sump.oil", units.Volume, s.fill))
		return
	}
	if dec.has("sump.scavenge") {
		scavenge := s.scavenge
		out.Scavenge = &scavenge
	}
	if dec.has("sump.circulation") {
		c := s.circulation
		if !dec.has("sump.circulation.flow") && !dec.has("oil.pump") {
			dec.fail("sump.circulation", dec.given["sump.circulation"], "lacks flow, which oil.pump would tell; want either")
			return
		}
		out.Circulation = &c
	}
	d.Trim.Sump = &out
}

// sumpParts reports whether the parts that the file gives belong to the kind of sump.
func (d *draft) sumpParts(dec *decoder, dry bool) bool {
	fail := func(at, format string, args ...any) bool {
		dec.fail(at, dec.given[at], format, args...)
		return false
	}
	shape := []string{"outline", "depth", "pickup"}
	var has, lacks []string
	for _, key := range shape {
		if dec.has("sump." + key) {
			has = append(has, key)
		} else {
			lacks = append(lacks, key)
		}
	}
	for _, key := range []string{"volume", "scavenge"} {
		if at := "sump." + key; !dry && dec.has(at) {
			return fail(at, "belongs to a dry sump; want kind: %s beside it", drySump)
		}
	}
	for _, key := range []string{"shelf", "gate"} {
		if at := "sump." + key; lacks != nil && dec.has(at) {
			return fail(at, "wants %s beside it", strings.Join(lacks, ", "))
		}
	}
	switch {
	case !dry && lacks != nil:
		return fail("sump", "lacks %s; a wet sump has all of %s", strings.Join(lacks, ", "), strings.Join(shape, ", "))
	case dec.has("sump.volume") && has != nil:
		return fail("sump.volume", "is given beside %s, which tell it; want either", strings.Join(has, ", "))
	case dry && has == nil && !dec.has("sump.volume"):
		return fail("sump", "lacks volume, that of the tank, or its %s", strings.Join(shape, ", "))
	case has != nil && lacks != nil:
		return fail("sump", "lacks %s; a plan has all of %s", strings.Join(lacks, ", "), strings.Join(shape, ", "))
	}
	return true
}

// sumpShape returns the shape that the file gives, or nil where it fails.
func (d *draft) sumpShape(dec *decoder) *oil.Sump {
	s := &d.sump
	shape := oil.Shape{Outline: s.outline, Depth: s.depth, Pickup: s.pickup}
	if dec.has("sump.shelf") {
		shape.Shelf = &oil.Shelf{Outline: s.shelf, Height: s.shelfHeight}
	}
	if dec.has("sump.gate") {
		shape.Gate = &oil.Gate{Outline: s.gate, Height: s.gateWalls, Covered: s.cover == gateCovered}
	}
	made, err := oil.NewSump(shape)
	var bad *oil.ShapeError
	if errors.As(err, &bad) {
		at := "sump." + bad.Part
		dec.fail(at, dec.given[at], "cannot be: %s", bad.Reason)
		return nil
	}
	return made
}

// mostInEngine returns the most oil that is up in the engine, m³, and where the file says so. A curve is nowhere above its points.
func (d *draft) mostInEngine(dec *decoder) (most float64, at *node) {
	n := dec.given["sump.in_engine"]
	if n.form == scalar {
		most, _ = d.sump.inEngine.At(0)
		return most, n
	}
	most = -1
	for _, e := range n.entries {
		if v, err := units.Parse(e.value.text, units.Volume); err == nil && v > most {
			most, at = v, e.value
		}
	}
	return most, at
}

// floorTo rounds a positive figure down to so many digits, so that what is told as the most is taken.
func floorTo(x float64, digits int) float64 {
	scale := math.Pow(10, float64(digits-1)-math.Floor(math.Log10(x)))
	return math.Floor(x*scale) / scale
}
