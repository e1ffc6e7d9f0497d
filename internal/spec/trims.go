package spec

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// A declared trim is one that the file has under trims, before it is laid over what it builds on.
type declared struct {
	name   string
	value  *node     // what it changes
	on     *declared // the trim that it builds on; nil: the rest of the file
	astray bool      // what it builds on is not to be had, which has its message
	merged *node     // laid over what it builds on, once it was
}

// over returns the trim laid over what it builds on, and all of that over the base. Its waivers add to theirs.
func (t *declared) over(fields []field, base *node) *node {
	if t.merged != nil { // for another venue, or for a trim that builds on this one
		return t.merged
	}
	if t.on != nil {
		base = t.on.over(fields, base)
	}
	t.merged = merge(fields, base, t.value)
	if both := bothWaivers(base, t.value); both != nil {
		t.merged = t.merged.with("waivers", both)
	}
	return t.merged
}

// trimFields returns the keys of a trim.
func (d *draft) trimFields() []field {
	from := field{key: "from", doc: "the trim that it builds on, instead of the rest of the file", into: &d.from, example: "capped"}
	return append([]field{from}, d.parts()...)
}

// declaredTrims returns the trims of the file, in its order.
func declaredTrims(root *node, ps *problems) []*declared {
	n := root.get("trims")
	if n == nil {
		return nil
	}
	fail := func(line, column int, path, format string, args ...any) {
		ps.add(Problem{Line: line, Column: column, Path: path, Message: fmt.Sprintf(format, args...)}, reading{})
	}
	want := (&field{into: trimSet{}}).want()
	if n.form != mapping || len(n.entries) == 0 {
		fail(n.line, n.column, "trims", "is %s; %s", describe(n), want)
		return nil
	}
	if len(n.entries) > maxTrims {
		fail(n.line, n.column, "trims", "has %d trims; want at most %d", len(n.entries), maxTrims)
		return nil
	}
	var trims []*declared
	for _, e := range n.entries {
		t := &declared{name: e.key, value: e.value}
		switch {
		case oddName(e.key):
			fail(e.line, e.column, "trims", "has the name %s; %s", shown(e.key), wantName)
			continue
		case e.value.form == scalar && e.value.text == "" && !e.value.quoted: // a trim that changes nothing
			t.value = &node{form: mapping, path: e.value.path, line: e.value.line, column: e.value.column}
		case e.value.form != mapping:
			fail(e.value.line, e.value.column, e.value.path, "is %s; want a section with what the trim changes", describe(e.value))
			t.value, t.astray = nil, true
		}
		trims = append(trims, t)
	}
	settleFrom(trims, ps)
	return slices.DeleteFunc(trims, func(t *declared) bool { return t.value == nil })
}

// settleFrom finds the trims that trims build on. Their order in the file does not matter.
func settleFrom(trims []*declared, ps *problems) {
	for _, t := range trims {
		from := t.value.get("from")
		if from == nil || from.none() {
			continue
		}
		name := strings.TrimSpace(from.text)
		i := slices.IndexFunc(trims, func(other *declared) bool { return other.name == name })
		switch {
		case from.form != scalar || name == "": // which is told where the trim is read by itself
			t.astray = true
		case i < 0:
			t.refuse(from, ps, otherTrims(name, t, trims))
		case trims[i] == t:
			t.refuse(from, ps, "is the trim itself; want another trim")
		default:
			t.on = trims[i]
		}
	}
	for _, t := range trims {
		if way := t.wayBack(); way != nil && !slices.ContainsFunc(way, func(other *declared) bool { return other.astray }) {
			t.refuse(t.value.get("from"), ps, roundAbout(way))
		}
	}
	for _, t := range trims { // what builds on a trim that cannot be had cannot either
		seen := 0
		for on := t.on; on != nil && seen < len(trims); on, seen = on.on, seen+1 {
			t.astray = t.astray || on.astray
		}
	}
}

// refuse says what is wrong with what a trim builds on.
func (t *declared) refuse(from *node, ps *problems, message string) {
	t.astray = true
	ps.add(Problem{Line: from.line, Column: from.column, Path: from.path, Message: message}, reading{})
}

// wayBack returns the trims by way of which a trim builds on itself, the trim last; nil when it does not.
func (t *declared) wayBack() []*declared {
	var way []*declared
	for on := t.on; on != nil && !slices.Contains(way, on); on = on.on {
		way = append(way, on)
		if on == t {
			return way
		}
	}
	return nil
}

// roundAbout words a way back.
func roundAbout(way []*declared) string {
	const most = 4
	first, between := way[0].name, way[1:len(way)-1]
	by := ""
	switch {
	case len(between) > most:
		by = fmt.Sprintf(" by way of %d others", len(between))
	case len(between) > 0:
		names := make([]string, len(between))
		for i := range between {
			names[i] = between[i].name
		}
		by = " by way of " + strings.Join(names, ", ")
	}
	return fmt.Sprintf("is %s, which builds on %s itself%s", first, way[len(way)-1].name, by)
}

// otherTrims says that a trim's from names no trim, and which there are besides.
func otherTrims(name string, t *declared, trims []*declared) string {
	var names []string
	for _, other := range trims {
		if other != t {
			names = append(names, other.name)
		}
	}
	if names == nil {
		return fmt.Sprintf("is %s, and the spec has no other trim", shown(name))
	}
	message := fmt.Sprintf("is %s, which is no trim; want one of %s", shown(name), strings.Join(names, ", "))
	if near := nearest(clip(name), names); near != "" && len(names) > 1 {
		message += "; " + near + "?"
	}
	return message
}

const wantName = "want letters, digits and - _ + . with single spaces"

// oddName reports whether a name would not do on a command line, in a heading or in the name of a file.
func oddName(name string) bool {
	return strings.TrimSpace(name) != name || strings.ContainsFunc(name, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune(" -_+.", r)
	})
}
