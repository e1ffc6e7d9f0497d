package spec

import "strings"

// merge lays a trim over the base and returns the whole: sections key by key, values and tables whole. What the trim sets
// to none is left out. The nodes keep their own places, so that a message points at the line that says it.
func merge(fields []field, base, over *node) *node {
	if over == nil {
		return base
	}
	if base == nil || base.form != mapping || over.form != mapping {
		return over
	}
	// The place of a merged section is the base's: a key that it lacks is missing there.
	merged := &node{form: mapping, path: base.path, line: base.line, column: base.column}
	merged.entries = make([]entry, 0, len(base.entries)+len(over.entries))
	replaced := map[string]bool{} // groups in which the trim makes another choice
	for _, e := range over.entries {
		if f := find(fields, e.key); f != nil && f.group != "" && !e.value.none() {
			replaced[f.group] = true
		}
	}
	for _, e := range base.entries {
		f := find(fields, e.key)
		value := over.get(e.key)
		switch {
		case value == nil && f != nil && (replaced[f.group] || replaced[f.with]):
			continue
		case value == nil:
		case f != nil && f.member != nil:
			e.value = merge(memberFields(f, e.value), e.value, value)
		case f != nil && f.isSection():
			e.value = merge(f.fields, e.value, value)
		default:
			e.value = value
		}
		merged.entries = append(merged.entries, e)
	}
	for _, e := range over.entries {
		if base.get(e.key) == nil {
			merged.entries = append(merged.entries, e)
		}
	}
	return merged
}

// without returns a mapping without some of its keys.
func without(n *node, keys ...string) *node {
	rest := *n
	rest.entries = make([]entry, 0, len(n.entries))
next:
	for _, e := range n.entries {
		for _, k := range keys {
			if e.key == k {
				continue next
			}
		}
		rest.entries = append(rest.entries, e)
	}
	return &rest
}

// cutPath cuts a path after its first key.
func cutPath(path string) (key, rest string, more bool) { return strings.Cut(path, ".") }
