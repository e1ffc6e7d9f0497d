package spec

import (
	"strings"

	"bellmouth/internal/numeric"
)

// An Edge is one end of the range of one value of the file format, for the tests of what lies behind it.
type Edge struct {
	Path, Value string
	With        *Edge // a second value at its end
}

// Edges returns both ends of every value that has a range, as a spec would say them. A table is its one value, or has it in
// one place; a table over a quantity stands at both ends of that as well.
func Edges() []Edge {
	var edges []Edge
	var walk func(fields []field, path string)
	walk = func(fields []field, path string) {
		for i := range fields {
			f := &fields[i]
			at := join(path, f.key)
			if f.member != nil { // the part of the example that has the name in the file to start from
				walk(f.fields, join(at, f.example))
				continue
			}
			walk(f.fields, at)
			for _, v := range []string{f.min, f.max} {
				switch f.into.(type) {
				case *float64, *int:
					edges = append(edges, Edge{Path: at, Value: v})
				case *numeric.Curve:
					edges = append(edges, Edge{Path: at, Value: v}, Edge{Path: at, Value: "{" + f.over.min + ": " + f.min + ", " + f.over.max + ": " + v + "}"})
				case *[]float64:
					edges = append(edges, Edge{Path: at, Value: "{1: " + v + f.example[strings.IndexByte(f.example, ','):]})
				case *[]row:
					edges = append(edges, Edge{Path: at, Value: "{" + f.over.max + ": {" + f.inner.min + ": " + f.max + ", " + f.inner.max + ": " + f.min + "}}"},
						Edge{Path: at, Value: "{" + f.over.min + ": {" + f.inner.min + ": " + f.max + ", " + f.inner.max + ": " + f.min + "}}"})
				}
			}
		}
	}
	walk((&draft{}).schema(), "")
	return edges
}

// SetEdge puts a value into a spec, read as maps of keys. Sections that are not there get the values of the file to start
// from, and a choice of the same group goes.
func SetEdge(doc map[string]any, e Edge, value any, example func(text string) any) {
	fields := (&draft{}).schema()
	path := e.Path
	for {
		key, rest, more := cutPath(path)
		f := find(fields, key)
		for i := range fields {
			if f.group != "" && fields[i].group == f.group && fields[i].key != key {
				delete(doc, fields[i].key)
			}
		}
		if !more {
			doc[key] = value
			return
		}
		section, ok := doc[key].(map[string]any)
		if !ok {
			section = map[string]any{}
			for i := range f.fields {
				if f.fields[i].required && f.fields[i].example != "" && !(f.fields[i].group != "" && f.fields[i].commented) {
					section[f.fields[i].key] = example(f.fields[i].example)
				}
			}
			doc[key] = section
		}
		if e.Path == "fuel.formula" || strings.HasPrefix(e.Path, "fuel.formula.") {
			for _, k := range []string{"heating_value", "density", "latent_heat", "ron", "mon"} {
				if e.Path != "fuel."+k && doc[k] == nil && key == "formula" {
					doc[k] = example(find(fields, k).example)
				}
			}
		}
		doc, fields, path = section, f.fields, rest
		if f.member != nil {
			name, rest, _ := cutPath(path)
			doc, path = doc[name].(map[string]any), rest
		}
	}
}
