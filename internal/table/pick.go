package table

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"bellmouth/internal/units"
)

// A Pick is what is wanted of a document's tables; empty fields want all.
type Pick struct {
	Tables  []string // names; a table of several trims is wanted of each
	Columns []string // keys, in the order wanted
	Sort    string   // key that the rows rise by; with a minus before it, fall by
}

// IsZero reports whether all is wanted as it is.
func (p Pick) IsZero() bool { return len(p.Tables) == 0 && len(p.Columns) == 0 && p.Sort == "" }

// A PickError says what is wanted of no table, and what there is.
type PickError struct {
	What, Name string // "table" or "column"; as it was asked for
	Have       []string
}

func (e *PickError) Error() string {
	const most = 40
	if len(e.Have) > most {
		return fmt.Sprintf("no %s %s; want of the %d keys at the heads of its CSV", e.What, e.Name, len(e.Have))
	}
	return fmt.Sprintf("no %s %s; want of %s", e.What, e.Name, strings.Join(e.Have, ", "))
}

// Of returns the document with what is wanted of its tables. Tables without any of the columns, or without the one that they are to be sorted by,
// are left out. A plane keeps its axes, and their order. A name or key that no table has is a *PickError.
func (p Pick) Of(doc Document) (Document, error) {
	if p.IsZero() {
		return doc, nil
	}
	doc.Tables, doc.Picked = slices.Clone(doc.Tables), true
	if err := p.named(&doc); err != nil {
		return doc, err
	}
	if err := p.arranged(&doc); err != nil {
		return doc, err
	}
	return doc, nil
}

// Canonical is a table's name as it is compared: of small letters, a hyphen between words.
func Canonical(name string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r == ' ' || r == '-' || r == '_' || r == ',' }), "-")
}

func (p Pick) named(doc *Document) error {
	if len(p.Tables) == 0 {
		return nil
	}
	var have, canonical []string
	for _, t := range doc.Tables {
		if c := Canonical(t.Name); !slices.Contains(canonical, c) {
			have, canonical = append(have, t.Name), append(canonical, c)
		}
	}
	wanted := make([]string, len(p.Tables))
	for i, name := range p.Tables {
		wanted[i] = Canonical(name)
		if !slices.Contains(canonical, wanted[i]) {
			return &PickError{"table", name, have}
		}
	}
	doc.Tables = slices.DeleteFunc(doc.Tables, func(t Table) bool { return !slices.Contains(wanted, Canonical(t.Name)) })
	return nil
}

func (p Pick) arranged(doc *Document) error {
	key, falling := strings.CutPrefix(p.Sort, "-")
	var have []string
	found := map[string]bool{}
	for _, t := range doc.Tables {
		for _, c := range t.Columns {
			if !found[c.Key] {
				have = append(have, c.Key)
			}
			found[c.Key] = true
		}
	}
	for _, name := range append(slices.Clone(p.Columns), key) {
		if name != "" && !found[name] {
			return &PickError{"column", name, have}
		}
	}
	kept := doc.Tables[:0]
	for _, t := range doc.Tables {
		if key != "" {
			at := slices.IndexFunc(t.Columns, func(c Column) bool { return c.Key == key })
			if at < 0 {
				continue
			}
			if t.Layout.Axes() == 0 {
				t.Rows = sortedBy(t.Rows, at, falling)
			}
		}
		if t, ok := p.columnsOf(t); ok {
			kept = append(kept, t)
		}
	}
	doc.Tables = kept
	return nil
}

// sortedBy returns rows by the cells of a column; those without a value come last either way.
func sortedBy(rows [][]Cell, at int, falling bool) [][]Cell {
	rows = slices.Clone(rows)
	slices.SortStableFunc(rows, func(a, b []Cell) int {
		x, y := a[at], b[at]
		if x.Content() == NoValue || y.Content() == NoValue {
			return cmp.Compare(missing(x), missing(y))
		}
		order := cmp.Compare(x.Number(), y.Number())
		if x.Content() != NumberCell {
			order = cmp.Compare(words(x), words(y))
		}
		if falling {
			return -order
		}
		return order
	})
	return rows
}

func words(c Cell) string {
	if c.Content() == YesNoCell && c.Yes() {
		return "yes"
	}
	return units.Resolve(c.Text()+strings.Join(c.List(), "; "), units.Metric) // so that the order is the same in all systems
}

func missing(c Cell) int {
	if c.Content() == NoValue {
		return 1
	}
	return 0
}

// columnsOf returns the table with the columns wanted, shown whether or not they are a detail. ok is false where it has none of them.
func (p Pick) columnsOf(t Table) (picked Table, ok bool) {
	if len(p.Columns) == 0 {
		return t, true
	}
	var at []int
	axes := t.Layout.Axes()
	for i := range axes {
		at = append(at, i)
	}
	for _, key := range p.Columns {
		i := slices.IndexFunc(t.Columns, func(c Column) bool { return c.Key == key })
		if i >= axes && !slices.Contains(at, i) {
			at = append(at, i)
		}
	}
	if len(at) == axes {
		return t, false
	}
	picked = t
	picked.Columns = make([]Column, len(at))
	for i, j := range at {
		picked.Columns[i] = t.Columns[j]
		picked.Columns[i].Detail = false
	}
	picked.Rows = make([][]Cell, len(t.Rows))
	for r, row := range t.Rows {
		picked.Rows[r] = make([]Cell, len(at))
		for i, j := range at {
			if j < len(row) {
				picked.Rows[r][i] = row[j]
			}
		}
	}
	return picked, true
}
