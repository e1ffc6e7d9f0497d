package spec

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/agnivade/levenshtein"

	"bellmouth/internal/numeric"
	"bellmouth/internal/oil"
	"bellmouth/internal/units"
)

// A decoder reads nodes into the fields of a schema and collects what is wrong with them.
type decoder struct {
	ps      *problems
	reading         // that is under way; empty while the file is read as it stands
	partial bool    // reads a part by itself: nothing is required of it and no default applies
	ambient float64 // venue pressure, Pa; 0 until it is known

	given    map[string]*node // what the file gives, by the schema's path: "intake.restrictor.bore"
	bad      map[string]bool  // the paths, and the sections they lie in, that have a problem
	defaults []Default
}

func newDecoder(ps *problems, r reading, partial bool) *decoder {
	return &decoder{ps: ps, reading: r, partial: partial, given: map[string]*node{}, bad: map[string]bool{}}
}

// fail reports what is wrong at a node; path is the schema's.
func (d *decoder) fail(path string, n *node, format string, args ...any) {
	d.failAt(path, Problem{Line: n.line, Column: n.column, Path: n.path, Message: fmt.Sprintf(format, args...)})
}

func (d *decoder) failAt(path string, p Problem) {
	d.ps.add(p, d.reading)
	d.spoil(path)
}

// spoil marks a path, and the sections it lies in, as not to be used.
func (d *decoder) spoil(path string) {
	for {
		d.bad[path] = true
		dot := strings.LastIndexByte(path, '.')
		if dot < 0 {
			return
		}
		path = path[:dot]
	}
}

// has reports whether the file gives the value or section at the schema's path.
func (d *decoder) has(path string) bool { return d.given[path] != nil }

// ok reports whether the file gives the value or section at the path, and nothing is wrong with it.
func (d *decoder) ok(path string) bool { return d.has(path) && !d.bad[path] }

// section reads a section's node into its fields; n is nil for an implied section that the file lacks.
func (d *decoder) section(fields []field, n *node, path string) {
	if n != nil && d.partial { // each part of the file is read by itself once
		for _, e := range n.entries {
			if find(fields, e.key) == nil {
				d.failAt(path, Problem{Line: e.line, Column: e.column, Path: e.value.path, Message: unknown(e.key, path, fields)})
			}
		}
	}
	d.groups(fields, n, path)
	for i := range fields {
		f := &fields[i]
		at := join(path, f.key)
		value := n.get(f.key)
		if value != nil && value.none() && (!f.required || f.group != "") && !isChoice(f, "none") {
			value = nil // as if the key were not there
		}
		if value == nil {
			d.missing(f, fields, n, at)
		} else {
			d.value(f, value, at)
		}
		if f.done != nil {
			f.done()
		}
	}
}

func isChoice(f *field, text string) bool { return slices.Contains(f.choices, text) }

// today returns what a choice is called now.
func (f *field) today(text string) string {
	if now, ok := f.former[text]; ok {
		return now
	}
	return text
}

// groups checks that one field of each group is given, and one only.
func (d *decoder) groups(fields []field, n *node, path string) {
	for i := range fields {
		f := &fields[i]
		if f.group == "" || (i > 0 && fields[i-1].group == f.group) { // the fields of a group stand together
			continue
		}
		var names, found []string
		var last *node
		for j := i; j < len(fields) && fields[j].group == f.group; j++ {
			names = append(names, fields[j].key)
			if v := n.get(fields[j].key); v != nil && !v.none() {
				found, last = append(found, fields[j].key), v
			}
		}
		switch {
		case len(found) > 1:
			d.fail(join(path, f.key), last, "is given beside %s; want one of %s", found[0], anyOf(names))
		case len(found) == 0 && f.required && !d.partial && n != nil:
			d.fail(path, n, "lacks %s; want one of them", anyOf(names))
		}
	}
}

// missing takes a field's default, or reports that it has none.
func (d *decoder) missing(f *field, fields []field, parent *node, path string) {
	switch {
	case d.partial || f.group != "":
	case f.isSection() && f.implied:
		d.section(f.fields, nil, path)
	case f.fallback != "":
		d.value(f, &node{path: path, text: f.fallback}, path)
		delete(d.given, path)
		d.defaults = append(d.defaults, Default{Path: path, Value: f.fallback, Reason: f.reason})
	case f.required && parent != nil && misspelt(f.key, fields, parent):
		d.spoil(path) // the key that is meant to be it has its message
	case f.required && parent != nil:
		at := Problem{Line: parent.line, Column: parent.column, Path: join(parent.path, f.key), Message: "is missing; " + f.because + f.want()}
		d.failAt(path, at)
	}
}

// misspelt reports whether a section has an unknown key that was probably meant to be this one.
func misspelt(key string, fields []field, n *node) bool {
	for _, e := range n.entries {
		if find(fields, e.key) == nil && nearest(e.key, names(fields)) == key {
			return true
		}
	}
	return false
}

// value reads a node into its field.
func (d *decoder) value(f *field, n *node, path string) {
	d.given[path] = n
	switch {
	case n.form == scalar && n.text == "" && !n.quoted:
		d.fail(path, n, "has no value; %s", f.want())
		return
	case f.isSection() && n.form != mapping, (n.form == list) != f.isList(), n.form == mapping && !f.isSection() && !f.isTable():
		d.fail(path, n, "is %s; %s", describe(n), f.want())
		return
	}
	switch into := f.into.(type) {
	case nil:
		if f.member != nil {
			d.members(f, n, path)
			return
		}
		d.section(f.fields, n, path)
	case *float64:
		*into, _ = d.quantity(f, n, path)
	case *int:
		d.count(f, into, n, path)
	case *string:
		d.text(f, into, n, path)
	case *numeric.Curve:
		d.curve(f, into, n, path)
	case *[]Waiver:
		d.waivers(into, n, path)
	case *[]oil.Point:
		d.corners(f, into, n, path)
	case *[]string:
		d.words(f, into, n, path)
	case *[]share:
		d.shares(f, into, n, path)
	case *[]named:
		d.named(f, into, n, path)
	case *[]row:
		d.rows(f, into, n, path)
	case *[]Phase:
		d.loads(f, into, n, path)
	case *[]float64:
		d.numbered(f, into, n, path)
	}
}

// describe says what a node is, in a message about one that should be something else.
func describe(n *node) string {
	if n.form == scalar {
		return shown(n.text)
	}
	return n.form.String()
}

func (d *decoder) quantity(f *field, n *node, path string) (float64, bool) {
	if clip(n.text) != n.text {
		d.fail(path, n, "is %s, too long for a quantity; want %s to %s", shown(n.text), f.min, f.max)
		return 0, false
	}
	r := reader{kind: f.kind, ambient: d.ambient, percent: f.kind == units.Fraction}
	if f.absolute {
		r.ambient = 0
	}
	v, err := r.read(n.text)
	if err != nil {
		if d.ambient == 0 && !f.absolute && pressureElsewhere(n.text, f.kind) {
			return 0, false // readable once the venue is known
		}
		d.fail(path, n, "is %s", because(n.text, err))
		return 0, false
	}
	if message := r.check(n.text, v, f.min, f.max); message != "" {
		d.fail(path, n, "%s", message)
		return 0, false
	}
	return v, true
}

// pressureElsewhere reports whether the text is an absolute pressure where a gauge pressure is asked for, or the reverse.
func pressureElsewhere(text string, k units.Kind) bool {
	if k != units.GaugePressure && k != units.Pressure {
		return false
	}
	_, err := units.ParsePressure(text, k == units.GaugePressure)
	return err == nil
}

// because says why a text is not a quantity: "38, which has no unit; want a length in mm, cm, m".
func because(text string, err error) string {
	var bad *units.Error
	if errors.As(err, &bad) {
		return shown(text) + ", which " + bad.Reason
	}
	return shown(text) + ": " + err.Error()
}

func (d *decoder) count(f *field, into *int, n *node, path string) {
	v, ok := d.quantity(f, n, path)
	switch {
	case !ok:
	case v != math.Trunc(v):
		d.fail(path, n, "is %s; want a whole number, %s to %s", shown(n.text), f.min, f.max)
	default:
		*into = int(v)
	}
}

// maxText is the length, in bytes, of the longest text taken from a file.
const maxText = 1000

func (d *decoder) text(f *field, into *string, n *node, path string) {
	if r, bad := unprintable(strings.TrimRight(n.text, "\n")); bad && r != '\n' {
		d.fail(path, n, "is %s, with U+%04X, which does not print", shown(n.text), r)
		return
	}
	text := strings.Join(strings.Fields(n.text), " ") // a folded text is one line
	if len(text) > maxText || text == "" {
		d.fail(path, n, "is %d bytes of text; want 1 to %d", len(text), maxText)
		return
	}
	text = f.today(text)
	if f.choices != nil && !isChoice(f, text) {
		message := fmt.Sprintf("is %s; want %s", shown(n.text), anyOf(f.choices))
		if near := nearest(text, f.choices); near != "" && len(f.choices) > 4 {
			message += "; " + near + "?"
		}
		d.fail(path, n, "%s", message)
		return
	}
	*into = text
}

// unknown is the message about a key that its section does not have.
func unknown(key, path string, fields []field) string {
	section := path
	switch {
	case section != "":
	case find(fields, "trims") != nil:
		section = "a spec"
	default:
		section = "a trim"
	}
	if near := nearest(key, names(fields)); near != "" {
		return fmt.Sprintf("is not a key of %s; %s?", section, near)
	}
	return fmt.Sprintf("is not a key of %s; its keys are %s", section, keys(fields))
}

// nearest returns the name that a key was probably meant to be, or nothing when all are far from it.
func nearest(key string, names []string) string {
	plain := strings.Map(func(r rune) rune {
		if r == '-' || r == ' ' {
			return '_'
		}
		return r
	}, strings.ToLower(key))
	best, distance := "", 1+max(1, min(len(plain), 12)/3) // a third of the letters wrong is still recognised
	for _, name := range names {
		d := levenshtein.ComputeDistance(plain, name)
		if d == 2 && swapped(plain, name) {
			d = 1 // the fingers' most common slip counts as one
		}
		if d < distance {
			best, distance = name, d
		}
	}
	return best
}

// swapped reports whether two words differ by two neighbouring letters in the other order.
func swapped(a, b string) bool {
	if len(a) != len(b) {
		return false
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	return i+1 < len(a) && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:]
}
