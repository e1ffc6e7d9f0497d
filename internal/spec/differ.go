package spec

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"bellmouth/internal/oil"
	"bellmouth/internal/units"
)

// A Source is where a trim has a value from.
type Source int

// The sources of a value.
const (
	Given     Source = iota // the spec says it
	ByDefault               // the spec does not say it, and a default is taken
	NoPart                  // the part that it belongs to is not there
	NotSaid                 // the spec does not say it, and nothing is taken by itself
)

// A Said is what a trim has at a path of the spec.
type Said struct {
	Text string // as written; of a default, as one would write it; empty where there is nothing
	From Source
}

// An Input is a path of the spec at which trims differ.
type Input struct {
	Path string
	Of   []Said // by trim
}

// Differing returns the paths at which the trims' specs differ, in the order of the file to start from: trims, what they build on, venues and settings are
// laid over each other first. A path that none of them gives is left out, and so is one whose values are written differently and mean the same.
func Differing(trims []*Trim) []Input {
	nodes := make([]*node, len(trims))
	for i, t := range trims {
		nodes[i] = t.written
	}
	d := differ{trims: trims}
	d.section((&draft{}).parts(), nodes, "")
	return d.found
}

type differ struct {
	trims []*Trim
	found []Input
}

// section compares what the trims have in a section. A node is nil where one has none.
func (d *differ) section(fields []field, nodes []*node, path string) {
	for i := range fields {
		f := &fields[i]
		at := join(path, f.key)
		values := make([]*node, len(nodes))
		any := false
		for k, n := range nodes {
			values[k] = n.get(f.key)
			if n != nil && n.none() {
				values[k] = n // the whole part is not there
			}
			any = any || values[k] != nil && !values[k].none()
		}
		switch {
		case !any:
		case f.member != nil:
			d.section(memberFields(f, values...), values, at)
		case f.isSection():
			d.section(f.fields, values, at)
		default:
			d.value(f, values, at)
		}
	}
}

// value keeps a path whose values differ.
func (d *differ) value(f *field, nodes []*node, path string) {
	in := Input{Path: path, Of: make([]Said, len(nodes))}
	differs := false
	for i, n := range nodes {
		in.Of[i] = d.said(f, n, i, path)
		differs = differs || !d.same(f, path, i, in.Of)
	}
	if !differs {
		return
	}
	if d.digest(path, 0) != nil {
		d.placed(in.Of)
	}
	d.found = append(d.found, in)
}

// digest returns what a file is known by that a trim names at a path; nil where it names none. The file counts and not its name.
func (d *differ) digest(path string, trim int) []byte {
	t := d.trims[trim]
	switch {
	case path == "compressor.map" && t.Compressor != nil:
		return t.Compressor.mapDigest[:]
	case path == "course.file" && t.Course != nil:
		return t.Course.digest[:]
	}
	return nil
}

// placed tells files of the same name apart by their folders.
func (d *differ) placed(of []Said) {
	for i := range of {
		for k := range of[:i] {
			if of[i].Text != of[k].Text || of[i].From != Given || d.trims[i].file == d.trims[k].file {
				continue
			}
			for j := range of {
				if of[j].From == Given && !filepath.IsAbs(of[j].Text) {
					of[j].Text = filepath.Join(filepath.Dir(d.trims[j].file), of[j].Text)
				}
			}
			return
		}
	}
}

// said returns what a trim has at a path.
func (d *differ) said(f *field, n *node, trim int, path string) Said {
	switch {
	case n != nil && n.none() && !isChoice(f, "none"):
		return Said{"none", NoPart}
	case n != nil:
		return Said{flow(n), Given}
	}
	defaults := d.trims[trim].Defaults
	if i := slices.IndexFunc(defaults, func(t Default) bool { return t.Path == path }); i >= 0 {
		return Said{defaults[i].Value, ByDefault}
	}
	if section, _, nested := cutLast(path); nested && !d.trims[trim].given[section] {
		if outer, ok := lookupPath(section); ok && !outer.implied {
			return Said{"none", NoPart}
		}
	}
	return Said{From: NotSaid}
}

// cutLast cuts a path before its last key.
func cutLast(path string) (section, key string, nested bool) {
	i := strings.LastIndexByte(path, '.')
	if i < 0 {
		return "", path, false
	}
	return path[:i], path[i+1:], true
}

func lookupPath(path string) (*field, bool) {
	f := lookup((&draft{}).parts(), path)
	return f, f != nil
}

// same reports whether a trim has the same as the first one at a path.
func (d *differ) same(f *field, path string, i int, of []Said) bool {
	a, b := of[0], of[i]
	written := func(s Said) bool { return s.From == Given || s.From == ByDefault }
	switch {
	case !written(a) || !written(b):
		return written(a) == written(b)
	case d.digest(path, 0) != nil && d.digest(path, i) != nil:
		return bytes.Equal(d.digest(path, 0), d.digest(path, i))
	case a.Text == b.Text:
		return true
	}
	x, okX := d.meaning(f, a.Text, 0)
	y, okY := d.meaning(f, b.Text, i)
	return okX && okY && x == y
}

// meaning returns a text that is the same for two values that mean the same: its numbers in SI.
func (d *differ) meaning(f *field, text string, trim int) (string, bool) {
	doc, err := parseYAML([]byte(text))
	if err != nil || len(doc.Content) == 0 {
		return "", false
	}
	ps := newProblems("")
	c := converter{ps: ps}
	n, err := c.convert(doc.Content[0], "", 0)
	if err != nil || !ps.empty() {
		return "", false
	}
	switch f.into.(type) {
	case *string:
		return f.today(flow(n)), true
	case *[]Waiver, *[]oil.Point, *[]string:
		return flow(n), true
	}
	return d.numbers(f, []*axis{f.over, f.inner}, n, trim)
}

// numbers returns the numbers of a value, or of a table over axes, in SI.
func (d *differ) numbers(f *field, axes []*axis, n *node, trim int) (string, bool) {
	if n.form == scalar {
		r := reader{kind: f.kind, ambient: d.trims[trim].Venue.Pressure, percent: f.kind == units.Fraction}
		if f.absolute {
			r.ambient = 0
		}
		v, err := r.read(n.text)
		return fmt.Sprintf("%.10g", v), err == nil
	}
	byName := false
	switch f.into.(type) {
	case *[]share, *[]named:
		byName = true
	}
	if n.form != mapping || len(axes) == 0 || axes[0] == nil && !byName {
		return "", false
	}
	points := make([]string, len(n.entries))
	for i, e := range n.entries {
		key := f.today(e.key)
		if !byName {
			x, err := reader{kind: axes[0].kind, percent: axes[0].kind == units.Fraction}.read(e.key)
			if err != nil {
				return "", false
			}
			key = fmt.Sprintf("%.10g", x)
		}
		y, ok := d.numbers(f, axes[1:], e.value, trim)
		if !ok {
			return "", false
		}
		points[i] = key + ": " + y
	}
	slices.Sort(points) // a table whose keys rise has one order, and no other has a meaning
	return "{" + strings.Join(points, ", ") + "}", true
}

// flow writes a node on one line, as a file may have it.
func flow(n *node) string {
	switch n.form {
	case mapping:
		parts := make([]string, len(n.entries))
		for i, e := range n.entries {
			parts[i] = e.key + ": " + flow(e.value)
		}
		return "{" + strings.Join(parts, ", ") + "}"
	case list:
		parts := make([]string, len(n.items))
		for i, item := range n.items {
			parts[i] = flow(item)
		}
		return "[" + strings.Join(parts, ", ") + "]"
	}
	return strings.Join(strings.Fields(n.text), " ")
}
