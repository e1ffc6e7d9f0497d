package table_test

import (
	"errors"
	"math"
	"testing"

	"bellmouth/internal/table"
	"bellmouth/internal/units"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

type point struct {
	speed, boost float64
	limit        string
}

func points(records ...point) table.Table {
	return table.Of("operating points", records,
		table.Number("rpm", "speed", units.Speed, func(p point) float64 { return p.speed }),
		table.Number("boost_pa", "boost", units.GaugePressure, func(p point) float64 { return p.boost }).WithDigits(3),
		table.Words("limit", "limit", func(p point) string { return p.limit }).InDetail(),
	)
}

func TestOf(t *testing.T) {
	got := points(point{100, 5e4, "target"}, point{200, 6e4, "knock"})
	assert.Equal(t, "operating points", got.Name)
	assert.Equal(t, table.Wide, got.Layout)
	assert.Equal(t, []table.Column{
		{Key: "rpm", Title: "speed", Quantity: units.Speed, Digits: table.DefaultDigits},
		{Key: "boost_pa", Title: "boost", Quantity: units.GaugePressure, Digits: 3},
		{Key: "limit", Title: "limit", Quantity: units.Number, Digits: table.DefaultDigits, Detail: true},
	}, got.Columns)
	assert.Equal(t, [][]table.Cell{
		{table.Num(100), table.Num(5e4), table.Text("target")},
		{table.Num(200), table.Num(6e4), table.Text("knock")},
	}, got.Rows)
	assert.NoError(t, got.Check())
}

func TestOfWithoutRecords(t *testing.T) {
	got := points()
	assert.Empty(t, got.Rows)
	assert.Len(t, got.Columns, 3)
	assert.NoError(t, got.Check())
}

// Rows share one array of cells; a cell added to one must not land in the next.
func TestRowsDoNotOverlap(t *testing.T) {
	got := points(point{}, point{limit: "knock"})
	_ = append(got.Rows[0], table.Text("more"))
	assert.Equal(t, table.Num(0), got.Rows[1][0])
}

func TestOne(t *testing.T) {
	got := table.One("engine", 3,
		table.Counts("cylinders", "cylinders", func(n int) int { return n }),
		table.Truths("odd", "odd", func(n int) bool { return n%2 == 1 }),
		table.Lists("order", "firing order", func(int) []string { return []string{"1", "3", "2"} }),
	)
	assert.Equal(t, table.Tall, got.Layout)
	assert.Equal(t, [][]table.Cell{{table.Num(3), table.YesNo(true), table.List("1", "3", "2")}}, got.Rows)
	assert.Equal(t, 0, got.Columns[0].Digits)
	assert.NoError(t, got.Check())
}

func TestCells(t *testing.T) {
	n := table.Num(1.5)
	assert.Equal(t, table.NumberCell, n.Content())
	assert.Equal(t, 1.5, n.Number())
	assert.Equal(t, table.Plain, n.Tone())
	assert.Equal(t, "held flat", n.Noted("held flat").Note())
	assert.Empty(t, n.Note(), "Noted must not change its receiver")
	assert.Equal(t, table.Failed, n.Toned(table.Failed).Tone())
	kind, own := n.Quantity(units.Length)
	assert.Equal(t, units.Length, kind)
	assert.False(t, own)
	kind, own = n.As(units.Pressure).Quantity(units.Number)
	assert.Equal(t, units.Pressure, kind)
	assert.True(t, own)

	assert.Equal(t, "knock", table.Text("knock").Text())
	assert.Equal(t, []string{"a", "b"}, table.List("a", "b").List())
	assert.Equal(t, table.ListCell, table.List().Content())
	assert.True(t, table.YesNo(true).Yes())
	assert.Equal(t, table.NoValue, table.Missing("no turbine").Content())
	assert.Equal(t, "no turbine", table.Missing("no turbine").Note())
	assert.Equal(t, 7.0, table.Count(7).Number())
}

func TestNumTakesNoNonsense(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		c := table.Num(x)
		assert.Equal(t, table.NoValue, c.Content(), "%v", x)
		assert.Equal(t, table.NotFinite, c.Note(), "%v", x)
		assert.Zero(t, c.Number(), "%v", x)
	}
}

func TestCellNotes(t *testing.T) {
	got := table.Table{
		Columns: []table.Column{{Key: "a"}, {Key: "b"}},
		Rows: [][]table.Cell{
			{table.Num(1), table.Missing("no turbine")},
			{table.Num(2).Noted("held flat"), table.Missing("no turbine")},
			{table.Num(3), table.Missing("did not converge")},
			{table.Num(4).Noted("no turbine")}, // a row too short is not a reason to stop
		},
	}
	assert.Equal(t, []table.CellNote{
		{Text: "held flat", Column: 0, Rows: []int{1}},
		{Text: "no turbine", Column: 0, Rows: []int{3}},
		{Text: "no turbine", Column: 1, Rows: []int{0, 1}},
		{Text: "did not converge", Column: 1, Rows: []int{2}},
	}, got.CellNotes())
	assert.Empty(t, table.Table{}.CellNotes())
}

func TestCheck(t *testing.T) {
	column := func(key string, kind units.Kind) table.Column {
		return table.Column{Key: key, Title: "title", Quantity: kind, Digits: table.DefaultDigits}
	}
	good := func(change func(*table.Table)) table.Table {
		t := table.Table{
			Name:    "points",
			Columns: []table.Column{column("rpm", units.Speed), column("limit", units.Number)},
			Rows:    [][]table.Cell{{table.Num(1), table.Text("knock")}},
		}
		change(&t)
		return t
	}
	for _, test := range []struct {
		name   string
		change func(*table.Table)
		want   string // empty when sound
	}{
		{"sound", func(*table.Table) {}, ""},
		{"shaft speed", func(t *table.Table) { t.Columns[0].Key = "shaft_rpm" }, ""},
		{"pressure", func(t *table.Table) { t.Columns[0] = column("boost_pa", units.GaugePressure) }, ""},
		{"fraction", func(t *table.Table) { t.Columns[0] = column("wastegate_fraction", units.Fraction) }, ""},
		{"own quantity with its unit", func(t *table.Table) {
			t.Columns[0] = column("unit", units.Number)
			t.Rows = [][]table.Cell{{table.Text("pa"), table.Num(2).As(units.Pressure)}}
		}, ""},
		{"no name", func(t *table.Table) { t.Name = "" }, "no name"},
		{"no columns", func(t *table.Table) { t.Columns, t.Rows = nil, nil }, "no columns"},
		{"same key", func(t *table.Table) { t.Columns[1] = t.Columns[0] }, `column "rpm": key twice`},
		{"key of CSV", func(t *table.Table) { t.Columns[1].Key = "trim" }, `column "trim": key twice`},
		{"capitals", func(t *table.Table) { t.Columns[1].Key = "Limit" }, `column "Limit": key is not lower case words joined by underscores`},
		{"no title", func(t *table.Table) { t.Columns[1].Title = "" }, `column "limit": no title`},
		{"wrong unit", func(t *table.Table) { t.Columns[0].Key = "boost_bar" }, `column "boost_bar": key does not end in "_rpm"`},
		{"torque for length", func(t *table.Table) { t.Columns[0] = column("bore_nm", units.Length) }, `column "bore_nm": key does not end in "_m"`},
		{"flow for time", func(t *table.Table) { t.Columns[0] = column("pulse_kg_s", units.Time) },
			`column "pulse_kg_s": key ends in "_kg_s", the unit of another quantity`},
		{"unit of a number", func(t *table.Table) { t.Columns[0] = column("boost_pa", units.Number) },
			`column "boost_pa": key ends in "_pa", the unit of another quantity`},
		{"digits", func(t *table.Table) { t.Columns[0].Digits = -3 }, `column "rpm": -3 digits`},
		{"short row", func(t *table.Table) { t.Rows[0] = t.Rows[0][:1] }, "row 1: 1 cells for 2 columns"},
		{"tall", func(t *table.Table) { t.Layout, t.Rows = table.Tall, nil }, "0 rows in a tall table"},
		{"silent gap", func(t *table.Table) { t.Rows[0][0] = table.Cell{} }, `row 1, column "rpm": missing without a note`},
		{"unit unnamed", func(t *table.Table) { t.Rows[0][0] = table.Num(2).As(units.Pressure) },
			`row 1, column "rpm": a quantity of its own, and no column names its unit`},
	} {
		t.Run(test.name, func(t *testing.T) {
			err := good(test.change).Check()
			if test.want == "" {
				assert.NoError(t, err)
				return
			}
			assert.EqualError(t, err, test.want)
		})
	}
}

func TestCheckDocument(t *testing.T) {
	p := points(point{})
	assert.NoError(t, table.Document{Command: "boost", Tables: []table.Table{p}}.Check())

	open := p
	open.Trim = "open"
	there := open
	there.Venue = "hilltop"
	assert.NoError(t, table.Document{Command: "boost", Tables: []table.Table{p, open, there}}.Check())

	open.Columns = nil
	err := table.Document{Tables: []table.Table{p, p, open}}.Check()
	require.Error(t, err)
	assert.ErrorContains(t, err, "no command")
	assert.ErrorContains(t, err, `table "operating points", trim "": twice in the document`)
	assert.ErrorContains(t, err, `table "operating points", trim "open": no columns`)
}

func TestUnit(t *testing.T) {
	assert.Equal(t, "pa", table.UnitOf(units.GaugePressure).Text())
	assert.Equal(t, "kg_s", table.UnitOf(units.MassFlow).Text())
	assert.Equal(t, "rpm", table.UnitOf(units.Speed).Text())
	assert.Empty(t, table.UnitOf(units.Fraction).Text())
}

func TestKnown(t *testing.T) {
	unsolved, outside := errors.New("no solution at this speed"), errors.New("outside the map")
	solved := table.Known[point](func(p point) error {
		if p.limit == "none" {
			return unsolved
		}
		return nil
	})
	inside := solved.And(func(p point) error {
		if p.boost > 2e5 {
			return outside
		}
		return nil
	})
	got := table.Of("figures", []point{{100, 1e5, "knock"}, {200, 3e5, "knock"}, {300, 3e5, "none"}},
		solved.Number("boost_pa", "boost", units.GaugePressure, func(p point) float64 { return p.boost }),
		inside.Cells("speed_m_s", "speed", units.Velocity, func(p point) table.Cell { return table.Num(p.speed).Noted("mean") }),
		inside.Answer("ratio", "ratio", units.Number, func(p point) (float64, error) {
			if p.speed == 100 {
				return 0, errors.New("no ratio")
			}
			return 1, nil
		}),
	)
	assert.Equal(t, [][]table.Cell{
		{table.Num(1e5), table.Num(100).Noted("mean"), table.Missing("no ratio")},
		{table.Num(3e5), table.Missing("outside the map"), table.Missing("outside the map")},
		{table.Missing("no solution at this speed"), table.Missing("no solution at this speed"), table.Missing("no solution at this speed")},
	}, got.Rows)
	assert.NoError(t, got.Check())
}
