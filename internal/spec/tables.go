package spec

import (
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

// maxPoints is the number of points a table in the spec may have.
const maxPoints = 200

// points reads a table: its keys by the axis, its values with read, which says whether a value is good. It reports whether
// all is well.
func (d *decoder) points(a *axis, n *node, path string, read func(key float64, value *node) bool) bool {
	if len(n.entries) == 0 || len(n.entries) > maxPoints {
		d.fail(path, n, "is a table of %d points; want 1 to %d, such as %s", len(n.entries), maxPoints, a.example)
		return false
	}
	keyReader := reader{kind: a.kind, percent: a.kind == units.Fraction}
	good := true
	var keys []float64
	var lines []int
	for i, e := range n.entries {
		at := Problem{Line: e.line, Column: e.column, Path: n.path}
		v, err := keyReader.read(e.key)
		if err != nil {
			at.Message = "has the key " + because(e.key, err)
			d.failAt(path, at)
			good = false
			continue
		}
		first := slices.Index(keys, v)
		if m := keyReader.check(e.key, v, a.min, a.max); m != "" {
			at.Message = "has a key that " + m
		} else if first >= 0 {
			at.Message = fmt.Sprintf("has %s twice; the first is on line %d", shown(e.key), lines[first])
		} else if a.counted && v != float64(i+1) {
			at.Message = fmt.Sprintf("has the %s %s where %d belongs; want 1, 2, 3 and so on", a.name, shown(e.key), i+1)
		} else if !a.loose && len(keys) > 0 && !(v > keys[len(keys)-1]) {
			at.Message = fmt.Sprintf("has %s after %s; want the %s to rise", shown(e.key), shown(n.entries[i-1].key), a.name)
		}
		if at.Message != "" {
			d.failAt(path, at)
			good = false
			if a.counted {
				return false // each one after it would be told the same
			}
		}
		keys, lines = append(keys, v), append(lines, e.line)
		good = read(v, e.value) && good
	}
	return good
}

// point reads a value of a table.
func (d *decoder) point(f *field, n *node, path string) (float64, bool) {
	if n.form != scalar {
		d.fail(path, n, "is %s; want %s to %s", describe(n), f.min, f.max)
		return 0, false
	}
	return d.quantity(f, n, path)
}

// line reads a table over the axis.
func (d *decoder) line(f *field, a *axis, n *node, path string) (x, y []float64, good bool) {
	_, curve := f.into.(*numeric.Curve) // which wants them rising, in whatever order they stand
	good = d.points(a, n, path, func(key float64, value *node) bool {
		v, ok := d.point(f, value, path)
		if a.loose && curve {
			i, _ := slices.BinarySearch(x, key)
			x, y = slices.Insert(x, i, key), slices.Insert(y, i, v)
			return ok
		}
		x, y = append(x, key), append(y, v)
		return ok
	})
	return x, y, good
}

func (d *decoder) curve(f *field, into *numeric.Curve, n *node, path string) {
	if n.form == scalar {
		if v, ok := d.quantity(f, n, path); ok {
			*into = numeric.Constant(v)
		}
		return
	}
	x, y, good := d.line(f, f.over, n, path)
	if !good {
		return
	}
	curve, err := numeric.NewCurve(x, y)
	if err != nil {
		d.fail(path, n, "is no table to interpolate: %s", err)
		return
	}
	*into = curve
}

// rows reads a table of tables.
func (d *decoder) rows(f *field, into *[]row, n *node, path string) {
	if n.form != mapping {
		d.fail(path, n, "is %s; %s", describe(n), f.want())
		return
	}
	var rows []row
	good := d.points(f.over, n, path, func(key float64, value *node) bool {
		if value.form != mapping {
			d.fail(path, value, "is %s; want a table over %s, such as %s", describe(value), f.inner.name, f.inner.example)
			return false
		}
		x, y, ok := d.line(f, f.inner, value, path)
		rows = append(rows, row{at: key, x: x, y: y, node: value})
		return ok
	})
	if good {
		*into = rows
	}
}

// numbered reads values keyed 1, 2, 3 and so on.
func (d *decoder) numbered(f *field, into *[]float64, n *node, path string) {
	if n.form != mapping {
		d.fail(path, n, "is %s; %s", describe(n), f.want())
		return
	}
	if _, y, good := d.line(f, f.over, n, path); good {
		*into = y
	}
}

// loads reads shares of the time by share of the fuel flow, in any order; together they are the whole time.
func (d *decoder) loads(f *field, into *[]Phase, n *node, path string) {
	if n.form != mapping {
		d.fail(path, n, "is %s; %s", describe(n), f.want())
		return
	}
	flow, time, good := d.line(f, f.over, n, path)
	if !good || !d.makeWhole(time, n, path) {
		return
	}
	loads := make([]Phase, len(flow))
	for i := range loads {
		loads[i] = Phase{Flow: flow[i], Time: time[i]}
	}
	*into = loads
}

// named reads values by names that the file chooses, one at the least.
func (d *decoder) named(f *field, into *[]named, n *node, path string) {
	if n.form != mapping || len(n.entries) == 0 || len(n.entries) > maxPoints {
		d.fail(path, n, "is %s; %s", describe(n), f.want())
		return
	}
	good := true
	var values []named
	for _, e := range n.entries {
		if oddName(e.key) {
			d.failAt(path, Problem{Line: e.line, Column: e.column, Path: n.path, Message: fmt.Sprintf("has the name %s; %s", shown(e.key), wantName)})
			good = false
			continue
		}
		v, ok := d.point(f, e.value, path)
		good = good && ok
		values = append(values, named{e.key, v})
	}
	if good {
		*into = values
	}
}

// shares reads a blend: names with fractions that add up to one.
func (d *decoder) shares(f *field, into *[]share, n *node, path string) {
	if n.form != mapping || len(n.entries) == 0 {
		d.fail(path, n, "is %s; %s", describe(n), f.want())
		return
	}
	good := true
	var names []string
	var values []float64
	for _, e := range n.entries {
		name := f.today(e.key)
		if !isChoice(f, name) {
			at := Problem{Line: e.line, Column: e.column, Path: e.value.path, Message: "is not known; want " + anyOf(f.choices)}
			if near := nearest(e.key, f.choices); near != "" {
				at.Message += "; " + near + "?"
			}
			d.failAt(path, at)
			good = false
			continue
		}
		v, ok := d.point(f, e.value, path)
		good = good && ok
		names, values = append(names, name), append(values, v)
	}
	if !good || !d.makeWhole(values, n, path) {
		return
	}
	parts := make([]share, len(names))
	for i := range parts {
		parts[i] = share{names[i], values[i]}
	}
	*into = parts
}

// makeWhole reports whether shares add up to one but for what rounding leaves, and takes that off them.
func (d *decoder) makeWhole(shares []float64, n *node, path string) bool {
	sum := 0.0
	for _, s := range shares {
		sum += s
	}
	if !(math.Abs(sum-1) <= 1e-3) { // written to a tenth of a per cent
		d.fail(path, n, "adds up to %s; want 100 %%", withUnit(100*sum, "%"))
		return false
	}
	for i := range shares {
		shares[i] /= sum
	}
	return true
}
