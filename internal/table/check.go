package table

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"bellmouth/internal/units"
)

// Bare returns a key without its unit: "boost" of "boost_pa". A key that is nothing but a unit, such as "rpm", stays.
func Bare(key string) string { return strings.TrimSuffix(key, unitIn(key)) }

// unitIn returns the longest end of a key that is some quantity's SI unit: "_kg_s" and not "_s"; empty without one.
func unitIn(key string) string {
	longest, key := "", "_"+key
	for kind := units.Number; kind <= units.Stiffness; kind++ {
		if suffix := units.SISuffix(kind); len(suffix) > len(longest) && strings.HasSuffix(key, suffix) {
			longest = suffix
		}
	}
	return longest
}

var keyForm = regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)

// Check returns what is wrong with the document's tables, all at once; nil if they are sound. It is meant for tests: a
// table's columns are fixed in the code, and its callers need not check them at every run.
func (d Document) Check() error {
	var errs []error
	if d.Command == "" {
		errs = append(errs, errors.New("no command"))
	}
	type identity struct{ name, trim, venue string }
	seen := map[identity]bool{}
	for _, t := range d.Tables {
		id := identity{t.Name, t.Trim, t.Venue}
		if seen[id] {
			errs = append(errs, fmt.Errorf("table %q, trim %q: twice in the document", t.Name, t.Trim))
		}
		seen[id] = true
		if err := t.Check(); err != nil {
			errs = append(errs, fmt.Errorf("table %q, trim %q: %w", t.Name, t.Trim, err))
		}
	}
	return errors.Join(errs...)
}

// Check returns what is wrong with the table, all at once: a key that is not lower case, comes twice or whose last part is
// not the SI unit of its quantity, a column without a title, a row of the wrong length, a missing value without a note, a
// number with its own quantity and no column that names the unit.
func (t Table) Check() error {
	var errs []error
	report := func(format string, args ...any) { errs = append(errs, fmt.Errorf(format, args...)) }
	if t.Name == "" {
		report("no name")
	}
	if len(t.Columns) == 0 {
		report("no columns")
	}
	seen := map[string]bool{"table": true, "trim": true, "venue": true, "notes": true} // CSV's own columns
	namesUnit := false
	for _, c := range t.Columns {
		if seen[c.Key] {
			report("column %q: key twice", c.Key)
		}
		seen[c.Key] = true
		if c.Key == "unit" || strings.HasSuffix(c.Key, "_unit") {
			namesUnit = true
		}
		if !keyForm.MatchString(c.Key) {
			report("column %q: key is not lower case words joined by underscores", c.Key)
		}
		if c.Title == "" {
			report("column %q: no title", c.Key)
		}
		want, found := units.SISuffix(c.Quantity), unitIn(c.Key)
		switch {
		case !strings.HasSuffix("_"+c.Key, want):
			report("column %q: key does not end in %q", c.Key, want)
		case found != want:
			report("column %q: key ends in %q, the unit of another quantity", c.Key, found)
		}
		if c.Digits < Hundreds {
			report("column %q: %d digits", c.Key, c.Digits)
		}
	}
	if t.Layout.Axes() > 0 && len(t.Columns) < 3 {
		report("%d columns in a grid: want two axes and a value", len(t.Columns))
	}
	if (t.Layout == Tall || t.Layout == Pairs) && len(t.Rows) != 1 {
		report("%d rows in a tall table", len(t.Rows))
	}
	for i, row := range t.Rows {
		if len(row) != len(t.Columns) {
			report("row %d: %d cells for %d columns", i+1, len(row), len(t.Columns))
			continue
		}
		for j, cell := range row {
			switch {
			case cell.content == NoValue && cell.note == "" && !cell.null:
				report("row %d, column %q: missing without a note", i+1, t.Columns[j].Key)
			case cell.own && !namesUnit:
				report("row %d, column %q: a quantity of its own, and no column names its unit", i+1, t.Columns[j].Key)
			}
		}
	}
	return errors.Join(errs...)
}
