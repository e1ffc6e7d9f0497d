package spec

import (
	"fmt"
	"strings"

	"bellmouth/internal/units"
)

// maxMembers is the number of names that a section of named parts may have.
const maxMembers = 100

// anyName stands for a name in the path of a key that parts of that name have.
const anyName = "NAME"

// members reads a section whose keys are names, each with a part of the same keys.
func (d *decoder) members(f *field, n *node, path string) {
	if len(n.entries) == 0 || len(n.entries) > maxMembers {
		d.fail(path, n, "has %d entries; want 1 to %d by name, each with %s", len(n.entries), maxMembers, keys(f.fields))
		return
	}
	for _, e := range n.entries {
		at := join(path, e.key)
		switch {
		case oddName(e.key) || strings.Contains(e.key, "."):
			d.failAt(path, Problem{Line: e.line, Column: e.column, Path: n.path,
				Message: "has the name " + shown(e.key) + "; want letters, digits and - _ + with single spaces"})
		case e.value.none(): // a trim takes it away
		case e.value.form != mapping:
			d.fail(at, e.value, "is %s; want a section with %s", describe(e.value), keys(f.fields))
		default:
			d.given[at] = e.value
			d.section(f.member(e.key), e.value, at)
		}
	}
}

// memberFields returns a section with names as one with a section for each name that the nodes have.
func memberFields(f *field, nodes ...*node) []field {
	var all []field
	for _, n := range nodes {
		if n == nil {
			continue
		}
		for _, e := range n.entries {
			if find(all, e.key) == nil {
				all = append(all, field{key: e.key, fields: f.fields})
			}
		}
	}
	return all
}

// maxWords is the number of names that a list may have.
const maxWords = 100

// words reads a list of names, each once.
func (d *decoder) words(f *field, into *[]string, n *node, path string) {
	if len(n.items) > maxWords {
		d.fail(path, n, "has %d entries; want at most %d", len(n.items), maxWords)
		return
	}
	var names []string
	first := map[string]bool{}
	for _, item := range n.items {
		if item.form != scalar || strings.TrimSpace(item.text) == "" {
			d.fail(path, item, "has the entry %s; want a name", describe(item))
			return
		}
		name := strings.Join(strings.Fields(item.text), " ")
		if first[name] {
			d.fail(path, item, "has %s twice", shown(name))
			return
		}
		first[name] = true
		names = append(names, name)
	}
	*into = names
}

// noSuchName says that what a text names is not among some names, and which is near.
func noSuchName(text, what string, names []string) string {
	message := fmt.Sprintf("is %s, which is no %s; want one of %s", shown(text), what, strings.Join(names, ", "))
	if near := nearestName(text, names); near != "" && len(names) > 1 {
		message += "; " + near + "?"
	}
	return message
}

// nearestName is nearest for names with capitals and spaces.
func nearestName(text string, names []string) string {
	plain := func(s string) string { return strings.NewReplacer(" ", "_", "-", "_").Replace(strings.ToLower(s)) }
	folded := make([]string, len(names))
	for i, name := range names {
		folded[i] = plain(name)
	}
	near := nearest(plain(clip(text)), folded)
	for i := range folded {
		if near != "" && folded[i] == near {
			return names[i]
		}
	}
	return ""
}

// gauge reports whether an area is written as a gauge.
func gauge(text string) bool {
	_, unit := units.Split(text)
	return strings.HasSuffix(unit, "AWG")
}
