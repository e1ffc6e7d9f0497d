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
