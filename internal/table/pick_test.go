package table_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

type car struct {
	name  string
	mass  float64
	known bool
}

func cars(trim string) table.Table {
	t := table.Of("fast cars", []car{{"b", 900, true}, {"a", 1100, true}, {"c", 0, false}, {"d", 700, true}},
		table.Words("name", "name", func(c car) string { return c.name }),
		table.Cells("mass_kg", "mass", units.Number, func(c car) table.Cell {
			if !c.known {
				return table.Missing("not weighed")
			}
			return table.Num(c.mass)
		}).InDetail(),
	)
	t.Trim = trim
	return t
}

func names(t table.Table) (all []string) {
	for _, row := range t.Rows {
		all = append(all, row[0].Text())
	}
	return all
}

func document() table.Document {
	plane := table.Plane("plane", []float64{2, 1}, table.Number("x", "x", units.Number, func(x float64) float64 { return x }),
		table.Number("y", "y", units.Number, func(x float64) float64 { return -x }),
		table.Number("mass_kg", "m", units.Number, func(x float64) float64 { return 10 * x }), table.Number("other", "o", units.Number,
			func(x float64) float64 { return x }))
	return table.Document{Command: "test", Tables: []table.Table{cars("one"), plane, cars("two")}}
}

func TestPickTables(t *testing.T) {
	all, err := table.Pick{}.Of(document())
	require.NoError(t, err)
	assert.Equal(t, document(), all)
	for _, name := range []string{"fast cars", "fast-cars", "Fast_Cars"} {
		got, err := table.Pick{Tables: []string{name}}.Of(document())
		require.NoError(t, err)
		require.Len(t, got.Tables, 2)
		assert.Equal(t, "two", got.Tables[1].Trim)
	}
	_, err = table.Pick{Tables: []string{"slow cars"}}.Of(document())
	var bad *table.PickError
	require.ErrorAs(t, err, &bad)
	assert.EqualError(t, err, "no table slow cars; want of fast cars, plane")
}

func TestPickColumns(t *testing.T) {
	got, err := table.Pick{Columns: []string{"mass_kg", "name"}}.Of(document())
	require.NoError(t, err)
	require.Len(t, got.Tables, 3)
	assert.Equal(t, "mass_kg", got.Tables[0].Columns[0].Key)
	assert.False(t, got.Tables[0].Columns[0].Detail, "what is asked for is shown")
	assert.Equal(t, "b", got.Tables[0].Rows[0][1].Text())
	assert.Equal(t, []string{"x", "y", "mass_kg"}, []string{got.Tables[1].Columns[0].Key, got.Tables[1].Columns[1].Key, got.Tables[1].Columns[2].Key},
		"a plane keeps its axes")
	assert.Len(t, got.Tables[1].Columns, 3)
	got, err = table.Pick{Columns: []string{"name"}}.Of(document())
	require.NoError(t, err)
	assert.Len(t, got.Tables, 2, "the plane has no such column")
	_, err = table.Pick{Columns: []string{"colour"}}.Of(document())
	assert.EqualError(t, err, "no column colour; want of name, mass_kg, x, y, other")
}

func TestPickSorts(t *testing.T) {
	before := document()
	got, err := table.Pick{Sort: "mass_kg"}.Of(before)
	require.NoError(t, err)
	assert.Equal(t, []string{"d", "b", "a", "c"}, names(got.Tables[0]), "what is missing comes last")
	assert.Equal(t, document(), before, "the document itself stays")
	got, err = table.Pick{Sort: "-mass_kg"}.Of(document())
	require.NoError(t, err)
	assert.Equal(t, []string{"a", "b", "d", "c"}, names(got.Tables[0]))
	assert.InDelta(t, 2, got.Tables[1].Rows[0][0].Number(), 0, "a plane keeps its order")
	got, err = table.Pick{Sort: "name"}.Of(document())
	require.NoError(t, err)
	require.Len(t, got.Tables, 2)
	assert.Equal(t, []string{"a", "b", "c", "d"}, names(got.Tables[1]))
	_, err = table.Pick{Sort: "-colour"}.Of(document())
	assert.Error(t, err)
}
