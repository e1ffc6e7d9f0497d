package render

import (
	"bytes"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

type cell struct{ speed, pressure, advance, pulse float64 }

// plane has a point missing at the top right, as a plane under a full-load line has.
func plane() table.Document {
	const rpm, deg = math.Pi / 30, math.Pi / 180
	points := []cell{
		{2000 * rpm, 40e3, 30.25 * deg, 2.5e-3}, {2000 * rpm, 80e3, 22 * deg, 4.125e-3},
		{3000 * rpm, 40e3, 33 * deg, 2.4e-3}, {3000 * rpm, 80e3, 25 * deg, 4e-3}, {3000 * rpm, 120e3, 12.5 * deg, 6.2e-3},
	}
	return table.Document{Command: "spark", Tables: []table.Table{table.Plane("base table", points,
		table.Number("rpm", "speed", units.Speed, func(c cell) float64 { return c.speed }),
		table.Number("manifold_pressure_pa", "manifold", units.Pressure, func(c cell) float64 { return c.pressure }),
		table.Number("spark_advance_deg", "advance", units.Angle, func(c cell) float64 { return c.advance }),
		table.Number("pulse_s", "pulse", units.Time, func(c cell) float64 { return c.pulse }),
	)}}
}

func TestTextGrid(t *testing.T) {
	doc := plane()
	require.NoError(t, doc.Check())
	var out bytes.Buffer
	require.NoError(t, Text(&out, doc, Options{}))
	assert.Equal(t, `base table: advance, deg, over manifold, bar

  speed  0.40  0.80  1.20
    rpm

   2000  30.2  22.0
   3000  33.0  25.0  12.5

base table: pulse, ms, over manifold, bar

  speed  0.40  0.80  1.20
    rpm

   2000  2.50  4.12
   3000  2.40  4.00  6.20
`, out.String())
}

// besides has what is told of some places only, in units of their own.
func besides() table.Document {
	type figure struct {
		what, variant string
		value         float64
		kind          units.Kind
		difference    table.Cell
		told          string
	}
	figures := []figure{
		{"torque", "A", 500, units.Torque, table.Null(), ""}, {"torque", "B", 510, units.Torque, table.Num(10).As(units.Torque), "ok → FAIL"},
		{"pressure", "A", 100e5, units.Pressure, table.Null(), ""}, {"pressure", "B", 98e5, units.Pressure, table.Num(-2e5).As(units.PressureDifference), ""},
	}
	return table.Document{Command: "compare", Tables: []table.Table{table.SideBySide("figures", figures,
		table.Words("figure", "figure", func(f figure) string { return f.what }),
		table.Words("variant", "variant", func(f figure) string { return f.variant }),
		table.Cells("value", "value", units.Number, func(f figure) table.Cell { return table.Num(f.value).As(f.kind) }),
		table.Cells("difference", "difference", units.Number, func(f figure) table.Cell { return f.difference }),
		table.Words("verdict", "verdict", func(f figure) string { return f.told }),
		table.Cells("unit", "unit", units.Number, func(f figure) table.Cell { return table.UnitOf(f.kind) }).InDetail(),
	)}}
}

// Side by side, the first figure of every place stands in a line, then what else is told of a place that has anything.
func TestBeside(t *testing.T) {
	doc := besides()
	require.NoError(t, doc.Check())
	var out bytes.Buffer
	require.NoError(t, Text(&out, doc, Options{}))
	assert.Equal(t, `figures

                                            B
  figure         A          B      difference      B verdict

  torque       500 Nm     510 Nm           10 Nm   ok → FAIL
  pressure  100.00 bar  98.00 bar       -2.00 bar
`, out.String())
	out.Reset()
	require.NoError(t, Markdown(&out, doc, Options{}))
	assert.Contains(t, out.String(), "| figure | A | B | B difference | B verdict |\n| --- | ---: | ---: | ---: | --- |\n| torque | 500 Nm | 510 Nm | 10 Nm | ok → FAIL |\n")
	out.Reset()
	require.NoError(t, JSON(&out, doc))
	assert.Contains(t, out.String(), `{"figure": "torque", "variant": "A", "value": 500, "difference": null, "verdict": "", "unit": "nm"}`)
	out.Reset()
	require.NoError(t, CSV(&out, doc, CSVOptions{}))
	assert.Contains(t, out.String(), "figures,,torque,A,500,,,nm,\n")

	picked, err := table.Pick{Columns: []string{"difference", "unit"}, Sort: "-difference"}.Of(doc)
	require.NoError(t, err)
	keys := []string{}
	for _, c := range picked.Tables[0].Columns {
		keys = append(keys, c.Key)
	}
	assert.Equal(t, []string{"figure", "variant", "difference", "unit"}, keys, "the axes stay")
	assert.Equal(t, "torque", picked.Tables[0].Rows[0][0].Text(), "and their order")
}

func TestMarkdownGrid(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, Markdown(&out, plane(), Options{}))
	assert.Contains(t, out.String(), `### base table: advance, deg, over manifold, bar

| speed (rpm) | 0.40 | 0.80 | 1.20 |
| ---: | ---: | ---: | ---: |
| 2000 | 30.2 | 22.0 | |
| 3000 | 33.0 | 25.0 | 12.5 |
`)
}

// Scripts get one record a point, with every value.
func TestScriptsGetPoints(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, CSV(&out, plane(), CSVOptions{}))
	assert.Contains(t, out.String(), "base table,,3000,120000,12.5,0.0062,\n")
	assert.Equal(t, 6, bytes.Count(out.Bytes(), []byte("\n")), "a head and five points")
}
