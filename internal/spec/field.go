package spec

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"bellmouth/internal/numeric"
	"bellmouth/internal/oil"
	"bellmouth/internal/units"
)

// A field is one key of the file format as declared, once: decoding, its messages, the nearest key, the merging of trims
// and the commented file to start from all read this declaration.
type field struct {
	key, doc string
	into     any // where the value goes: see decoder.value; nil for a section

	kind     units.Kind // of the value
	min, max string     // its sanity range, as one would write it
	absolute bool       // a pressure that cannot be a gauge pressure, since it is what those count from
	choices  []string   // of a *string: what it may be; of a *[]share: the names that have shares
	over     *axis      // what a table is over; one value may stand for the table of a *numeric.Curve
	inner    *axis      // of a *[]row: what the tables in the table are over

	former map[string]string // what some choices were called before, each with its name of today: read, and never told

	fields  []field                   // of a section; of one whose keys are names, those of each
	member  func(name string) []field // of a section whose keys are names: the fields of one, to read into
	implied bool                      // a section that is there, with its defaults, even when the file lacks it
	done    func()                    // called once the section has been read

	required         bool
	group            string // of the fields with the same group one may be given, and a trim's choice replaces the base's
	with             string // the group with whose choice this value stands and falls: a trim that chooses anew loses the base's
	because          string // why it is wanted, when that needs saying
	fallback, reason string // the default, as one would write it, and why it is that
	example          string // a value for the file to start from; tables in braces
	commented        bool   // stands as a comment in that file
}

// An axis is what a table is over.
type axis struct {
	name     string
	kind     units.Kind
	min, max string
	example  string // a table as one would write it
	counted  bool   // its keys are 1, 2, 3 and so on
	loose    bool   // its keys stand in any order
}

// A share is a part of a blend.
type share struct {
	name  string
	value float64
}

// A named is a value of a table whose keys are names that the file chooses.
type named struct {
	name  string
	value float64
}

// A row is one table of a table of tables.
type row struct {
	at   float64 // its key
	x, y []float64
	node *node
}

func (f *field) isSection() bool { return f.into == nil }

func (f *field) isList() bool {
	switch f.into.(type) {
	case *[]Waiver, *[]oil.Point, *[]string:
		return true
	}
	return false
}

func (f *field) isTable() bool {
	switch f.into.(type) {
	case *numeric.Curve, *[]share, *[]row, *[]Phase, *[]float64, *[]named:
		return true
	}
	return false
}

// find returns the field with a key, or nil.
func find(fields []field, key string) *field {
	for i := range fields {
		if fields[i].key == key {
			return &fields[i]
		}
	}
	return nil
}

// want says what the field takes, for a message: "want 30 mm to 200 mm, such as 84 mm".
func (f *field) want() string {
	var b strings.Builder
	b.WriteString("want ")
	switch f.into.(type) {
	case nil:
		if f.member != nil {
			b.WriteString("a section with one name or more, each with " + keys(f.fields))
			return b.String()
		}
		b.WriteString("a section with " + keys(f.fields))
	case *string:
		if f.choices == nil {
			b.WriteString("text")
		}
		b.WriteString(anyOf(f.choices))
	case trimSet:
		b.WriteString("a section with one trim or more, each with what it changes")
	case venueSet:
		b.WriteString("a section with one venue or more, each with the keys of venue")
	case *[]Waiver:
		b.WriteString("a list of entries with check and reason")
	case *[]oil.Point:
		fmt.Fprintf(&b, "a list of corners in their order, each [forward, left], %s to %s", f.min, f.max)
	case *[]string:
		b.WriteString("a list of names")
	case *[]share:
		b.WriteString("shares by volume that add up to 100 %")
	case *[]named:
		fmt.Fprintf(&b, "a table by name, %s to %s", f.min, f.max)
	case *numeric.Curve, *[]row, *[]float64:
		fmt.Fprintf(&b, "%s, %s to %s", f.tableOver(), f.min, f.max)
	case *[]Phase:
		b.WriteString(f.tableOver() + ", that add up to 100 %")
	default:
		fmt.Fprintf(&b, "%s to %s", f.min, f.max)
	}
	if _, word := f.into.(*string); f.example != "" && !(word && f.choices != nil) {
		b.WriteString(", such as " + f.example)
	}
	return b.String()
}

// tableOver says what the table of a field is over.
func (f *field) tableOver() string {
	switch f.into.(type) {
	case *[]row:
		return "a table over " + f.over.name + " of tables over " + f.inner.name
	case *[]float64:
		return "a table by " + f.over.name + " from 1"
	case *[]Phase:
		return "a table of shares by " + f.over.name
	}
	return "one value or a table over " + f.over.name
}

// keys lists the keys of a section for a message.
func keys(fields []field) string {
	return strings.Join(names(fields), ", ")
}

// names returns the keys of a section.
func names(fields []field) []string {
	names := make([]string, len(fields))
	for i := range fields {
		names[i] = fields[i].key
	}
	return names
}

// A reader turns the text of a quantity into SI. It knows the venue's pressure, on which gauge and absolute pressures hang.
type reader struct {
	kind    units.Kind
	ambient float64 // Pa; 0 while the venue is not known
	percent bool    // a fraction may be written in per cent where it stands
}

// read returns the text's value in SI. A gauge pressure may be written as an absolute one and the other way round.
func (r reader) read(text string) (float64, error) {
	switch r.kind {
	case units.GaugePressure, units.Pressure:
		if r.ambient == 0 {
			break
		}
		p, err := units.ParsePressure(text, r.kind == units.GaugePressure)
		if err != nil {
			return 0, err
		}
		if r.kind == units.GaugePressure {
			return p.AboveVenue(r.ambient), nil
		}
		return p.Absolute(r.ambient), nil
	}
	return units.Parse(text, r.kind)
}

// check returns an empty string when a value lies inside the range min to max, and otherwise what is wrong, in the unit
// that the value was written in: "is 3.8 mm; want 10 mm to 100 mm (38 mm?)".
func (r reader) check(text string, value float64, min, max string) string {
	plain := reader{kind: r.kind, ambient: r.ambient}
	lo, errLo := plain.read(min)
	hi, errHi := plain.read(max)
	if errLo != nil || errHi != nil {
		// Cannot happen: a test reads the range of every field.
		return "has no readable range"
	}
	// The ends of the range belong to it in every unit: 140 degF is 60 degC, but for the last digit of the conversion.
	if slack := 1e-12 * math.Max(math.Abs(lo), math.Abs(hi)); value >= lo-slack && value <= hi+slack {
		return ""
	}
	number, unit := units.Split(text)
	inUnit := func(si float64) (float64, bool) { return si, true }
	if unit != "" {
		inUnit = r.unitScale(unit)
	}
	loText, hiText := min, max
	if a, ok := inUnit(lo); ok {
		if b, ok := inUnit(hi); ok {
			loText, hiText = withUnit(a, unit), withUnit(b, unit)
		}
	}
	message := fmt.Sprintf("is %s; want %s to %s", shown(text), loText, hiText)
	written, err := strconv.ParseFloat(number, 64)
	if err != nil || !(written > 0) {
		return message
	}
	if v, err := r.read(number + " %"); r.percent && unit == "" && err == nil && v >= lo && v <= hi {
		return message + " (" + number + " %?)"
	}
	// A slipped decimal point or a wrong prefix is the usual cause.
	for _, factor := range []float64{10, 0.1, 100, 0.01, 1000, 0.001} {
		guess := withUnit(written*factor, unit)
		if v, err := r.read(guess); err == nil && v >= lo && v <= hi {
			return message + " (" + guess + "?)"
		}
	}
	return message
}

// unitScale returns a function from SI to a unit, which every unit is a straight line of.
func (r reader) unitScale(unit string) func(si float64) (float64, bool) {
	one, err1 := r.read("1 " + unit)
	two, err2 := r.read("2 " + unit)
	slope := two - one
	if err1 != nil || err2 != nil || !(math.Abs(slope) > 0) {
		return func(float64) (float64, bool) { return 0, false }
	}
	return func(si float64) (float64, bool) { return (si-one)/slope + 1, true }
}

// withUnit writes a number with four significant digits and its unit.
func withUnit(x float64, unit string) string {
	text := strconv.FormatFloat(x, 'g', 4, 64)
	if rounded, err := strconv.ParseFloat(text, 64); err == nil && math.Abs(rounded) < 1e9 && (rounded == 0 || math.Abs(rounded) >= 1e-6) {
		if math.Abs(rounded) < 1e-9 {
			rounded = 0
		}
		text = strconv.FormatFloat(rounded, 'f', -1, 64)
	}
	if unit == "" {
		return text
	}
	return text + " " + unit
}
