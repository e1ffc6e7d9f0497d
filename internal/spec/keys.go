package spec

import "strings"

// A Key is one key of the file format, as the schema declares it, for people.
type Key struct {
	Path    string // "engine.valves.inlet_lift"
	Means   string // what it says
	Takes   string // the values it may have, and, of a section, its keys
	Default string // what is taken where it is not given, and why; empty where it is wanted
	Example string // a value as one would write it; empty for a section
}

// Keys returns every key of a spec, in the order of the file to start from.
func Keys() []Key {
	var all []Key
	var walk func(prefix string, fields []field)
	walk = func(prefix string, fields []field) {
		for i := range fields {
			f := &fields[i]
			all = append(all, Key{prefix + f.key, f.doc, strings.TrimPrefix(f.taking(), "want "), f.absent(), f.example})
			below := prefix + f.key + "."
			if f.member != nil {
				below += anyName + "."
			}
			walk(below, f.fields)
		}
	}
	walk("", (&draft{}).schema())
	return all
}

// SameKey reports whether a path is that of a key of Keys, whatever name it has where the key has one of several; the case of letters does not count.
func SameKey(key, path string) bool {
	keys, steps := strings.Split(key, "."), strings.Split(path, ".")
	if len(keys) != len(steps) {
		return false
	}
	for i := range keys {
		if keys[i] != anyName && !strings.EqualFold(keys[i], steps[i]) {
			return false
		}
	}
	return true
}

// taking is want without the example.
func (f *field) taking() string {
	plain := *f
	plain.example = ""
	return plain.want()
}

// absent says what is taken where the key is not given.
func (f *field) absent() string {
	switch {
	case f.fallback != "":
		return f.fallback + ": " + f.reason
	case f.required:
		return ""
	case f.implied:
		return "the defaults of its keys"
	}
	if _, text, ok := strings.Cut(f.doc, "default: "); ok {
		return text
	}
	return "none: optional"
}
