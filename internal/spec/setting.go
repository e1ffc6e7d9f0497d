package spec

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"
)

// A Setting is a value laid over a spec when it is read, as if the file said it.
type Setting struct {
	Path  string // "intake.restrictor.bore", or "trims.capped.intake.restrictor.bore" for one trim
	Value string // "36 mm", "none", or a table as on one line of a file

	Trim string // the trim that it is laid over, whatever that says itself; empty: as the path says
	From string // what messages say it comes from; empty: --set
}

// ParseSetting reads PATH=VALUE.
func ParseSetting(text string) (Setting, error) {
	path, value, ok := strings.Cut(text, "=")
	s := Setting{Path: strings.TrimSpace(path), Value: strings.TrimSpace(value)}
	switch {
	case !ok || s.Path == "" || s.Value == "":
		return Setting{}, fmt.Errorf("%s is not PATH=VALUE, such as intake.restrictor.bore=36 mm", shown(text))
	case strings.Count(s.Path, ".") >= maxDepth:
		return Setting{}, fmt.Errorf("%s is nested deeper than %d levels", shown(s.Path), maxDepth)
	}
	for _, key := range strings.Split(s.Path, ".") {
		if message := badKey(&yaml.Node{Kind: yaml.ScalarNode, Value: key}); message != "" {
			return Setting{}, fmt.Errorf("the path %s %s", shown(s.Path), message)
		}
	}
	return s, nil
}

// origin is the file that messages about the setting name.
func (s Setting) origin() string {
	if s.From != "" {
		return s.From
	}
	return "--set " + clip(s.Path+"="+s.Value)
}

// keys returns the way to the setting's place in a file. Where the file has no trims there is only the base to lay it over.
func (s Setting) keys(hasTrims bool) []string {
	keys := strings.Split(s.Path, ".")
	if s.Trim != "" && hasTrims {
		return append([]string{"trims", s.Trim}, keys...)
	}
	return keys
}

// overlay returns the settings as one tree, later ones over earlier. Its nodes have the setting's number, from 1, as a negative line:
// problems.add tells the two apart.
func overlay(settings []Setting, hasTrims bool, ps *problems) (*node, error) {
	root := &node{form: mapping}
	fields := (&draft{}).schema()
	for i, s := range settings {
		ps.origins = append(ps.origins, s.origin())
		if f, path := s.through(fields); f != nil {
			ps.add(Problem{Line: -i - 1, Path: path, Message: "is set whole, without " + shown(s.Path[len(path)+1:]) + "; " + f.want()}, reading{})
			continue
		}
		n, err := s.node(ps)
		if err != nil {
			return nil, err
		}
		keys := s.keys(hasTrims)
		n.moveTo(strings.Join(keys, "."), -i-1)
		root.put(keys, n, -i-1)
	}
	return root, nil
}

// through returns the first field on the way to a setting that holds a value and so leads no further, and its path; nil without one.
func (s Setting) through(fields []field) (f *field, path string) {
	keys := strings.Split(s.Path, ".")
	from := 0
	switch keys[0] {
	case "trims":
		from = 2 // the name of the trim
	case "venues":
		from, fields = 2, find(fields, "venue").fields
	}
	for i := from + 1; i < len(keys); i++ {
		if f := lookup(fields, strings.Join(keys[from:i], ".")); f != nil && !f.isSection() {
			return f, strings.Join(keys[:i], ".")
		}
	}
	return nil, ""
}

// node returns the value as a file would have it.
func (s Setting) node(ps *problems) (*node, error) {
	data := []byte(s.Value)
	if err := checkText(s.origin(), data); err != nil {
		return nil, err
	}
	doc, err := parseYAML(data)
	if errors.Is(err, io.EOF) || err == nil && len(doc.Content) == 0 {
		return nil, whole(s.origin(), 0, 0, "has no value")
	}
	if err != nil {
		var bad *Error
		if err = syntaxError(s.origin(), data, err); errors.As(err, &bad) {
			for i := range bad.Problems {
				bad.Problems[i].Line, bad.Problems[i].Column = 0, 0
			}
		}
		return nil, err
	}
	c := converter{file: s.origin(), ps: ps}
	return c.convert(doc.Content[0], s.Path, 0)
}

// moveTo gives a node and all in it a path and a line.
func (n *node) moveTo(path string, line int) {
	n.path, n.line, n.column = path, line, 0
	for i := range n.entries {
		e := &n.entries[i]
		e.line, e.column = line, 0
		e.value.moveTo(join(path, e.key), line)
	}
	for _, item := range n.items {
		item.moveTo(path, line)
	}
}

// put sets the value under a path, and makes the sections that lead to it.
func (n *node) put(path []string, value *node, line int) {
	for i := range n.entries {
		e := &n.entries[i]
		switch {
		case e.key != path[0]:
			continue
		case len(path) == 1:
			e.value, e.line = value, line
		default:
			if e.value.form != mapping {
				e.value = &node{form: mapping, path: e.value.path, line: line}
			}
			e.value.put(path[1:], value, line)
		}
		return
	}
	e := entry{key: path[0], line: line, value: value}
	if len(path) > 1 {
		e.value = &node{form: mapping, path: join(n.path, path[0]), line: line}
		e.value.put(path[1:], value, line)
	}
	n.entries = append(n.entries, e)
}

// laidOver returns the file with the settings over it.
func laidOver(root *node, settings []Setting, ps *problems) (*node, error) {
	over, err := overlay(settings, root.get("trims") != nil, ps)
	if err != nil || len(settings) == 0 {
		return root, err
	}
	d := &draft{}
	fields := d.schema()
	merged := merge(fields, without(root, "trims", "venues"), without(over, "trims", "venues"))
	for _, named := range []struct {
		key, what string
		fields    []field
	}{{"trims", "trim", d.trimFields()}, {"venues", "venue", find(fields, "venue").fields}} {
		if n := overNamed(named.key, named.what, named.fields, root.get(named.key), over.get(named.key), ps); n != nil {
			merged = merged.with(named.key, n)
		}
	}
	return merged, nil
}

// overNamed lays changes over the trims or venues that they name. A name that the file does not have is a slip sooner than a wish.
func overNamed(key, what string, fields []field, named, over *node, ps *problems) *node {
	if over == nil || named != nil && named.form != mapping {
		return named
	}
	if over.form != mapping {
		return over
	}
	all := node{form: mapping, path: key}
	if named != nil {
		all = *named
	}
	all.entries = append([]entry(nil), all.entries...)
	var names []string
	for _, t := range all.entries {
		names = append(names, t.key)
	}
	for _, o := range over.entries {
		i := slices.Index(names, o.key)
		if i < 0 {
			ps.add(Problem{Line: o.line, Path: key, Message: noSuch(what, o.key, names)}, reading{})
			continue
		}
		t := &all.entries[i]
		if t.value.form != mapping || o.value.form != mapping {
			t.value = o.value
		} else {
			t.value = merge(fields, t.value, o.value)
		}
	}
	if len(all.entries) == 0 {
		return nil
	}
	return &all
}

// hidden returns what the settings leave as it was, because a trim says it itself, or one that it builds on: one line each.
func hidden(settings []Setting, trims []*declared) []string {
	var lines []string
	for _, s := range settings {
		if first, _, _ := cutPath(s.Path); s.Trim != "" || first == "trims" || first == "venues" {
			continue
		}
		for _, t := range trims {
			says, path := t.saying(s.Path)
			switch {
			case says == t:
				lines = append(lines, fmt.Sprintf("--set %s does not reach the trim %s, which says %s itself; set trims.%s.%s", s.Path, t.name, path, t.name, s.Path))
			case says != nil:
				lines = append(lines, fmt.Sprintf("--set %s does not reach the trim %s, which has %s from the trim %s; set trims.%s.%s",
					s.Path, t.name, path, says.name, says.name, s.Path))
			}
		}
	}
	return lines
}

// saying returns the trim that says what is at a path, or what stands in its way: the trim itself or, before the rest of the file, one that it builds
// on; and the path of that. nil: none does.
func (t *declared) saying(path string) (*declared, string) {
	for on := t; on != nil && !on.astray; on = on.on {
		n, reached := on.value.deepest(path)
		if n != nil && (n.form != list || reached != "waivers") && (reached == path || n.form != mapping) { // a list of them adds to that of the base
			return on, reached
		}
	}
	return nil, ""
}

// deepest returns the node that a path leads to or, where it leads no further, the last on the way, with its path. nil: not a step.
func (n *node) deepest(path string) (*node, string) {
	var at *node
	reached := ""
	for _, key := range strings.Split(path, ".") {
		next := n.get(key)
		if next == nil {
			break
		}
		n, at, reached = next, next, join(reached, key)
	}
	return at, reached
}
