package render_test

import (
	"bytes"
	"io"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"bellmouth/internal/render"
	"bellmouth/internal/table"
	"bellmouth/internal/units"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var written = map[string]func(w io.Writer, doc table.Document) error{
	render.TextFormat:     func(w io.Writer, doc table.Document) error { return render.Text(w, doc, render.Options{}) },
	render.MarkdownFormat: func(w io.Writer, doc table.Document) error { return render.Markdown(w, doc, render.Options{}) },
	render.JSONFormat:     render.JSON,
	render.CSVFormat:      func(w io.Writer, doc table.Document) error { return render.CSV(w, doc, render.CSVOptions{}) },
}

func drawn(t *testing.T, format string, doc table.Document) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, written[format](&b, doc))
	return b.String()
}

// overAxes returns a document whose first table is a plane.
func overAxes() table.Document {
	doc := document()
	of := func(x float64) float64 { return x }
	doc.Tables = append([]table.Table{table.Plane("base_table", []float64{1, 2}, table.Number("rpm", "speed", units.Speed, of),
		table.Number("load_pa", "load", units.Pressure, of), table.Number("spark_deg", "spark", units.Angle, of))}, doc.Tables...)
	return doc
}

// TestWrote: a file is known again after another run of its command, and what somebody else has written, or changed, is not.
func TestWrote(t *testing.T) {
	for _, doc := range []table.Document{document(), overAxes()} {
		other := doc
		other.Tables = append([]table.Table{}, doc.Tables...)
		other.Tables[0].Trim = "un_limited"
		other.Tables[0].Rows = append(other.Tables[0].Rows, other.Tables[0].Rows...)
		other.Tables[0].Rows[0] = slices.Clone(other.Tables[0].Rows[0])
		other.Tables[0].Rows[0][1] = table.Num(math.Pi)
		other.Tables[0].Notes = []string{"Something else."}
		empty := doc
		empty.Tables = append([]table.Table{}, doc.Tables[0])
		empty.Tables[0].Rows = nil
		for format := range written {
			for before, d := range map[string]table.Document{"the same": doc, "other figures": other, "nothing to show": empty} {
				assert.True(t, render.Wrote(format, []byte(drawn(t, format, d)), doc), "%s, %s", format, before)
			}
			for another := range written {
				if another != format {
					assert.False(t, render.Wrote(format, []byte(drawn(t, another, doc)), doc), "%s as %s", another, format)
				}
			}
			// Another command's; its first table has another name.
			foreign := doc
			foreign.Command = "fuel"
			foreign.Tables = append([]table.Table{}, doc.Tables...)
			foreign.Tables[0].Name += " of fuel"
			assert.False(t, render.Wrote(format, []byte(drawn(t, format, foreign)), doc), format)
			assert.False(t, render.Wrote(format, nil, doc), "%s: an empty file", format)
			assert.False(t, render.Wrote(format, []byte(drawn(t, format, doc)+"\nMy own notes: 17\n"), doc), "%s: something added", format)
			assert.False(t, render.Wrote(format, []byte("mine\n\n"+drawn(t, format, doc)), doc), "%s: something before", format)
			assert.False(t, render.Wrote(format, []byte(drawn(t, format, doc)), table.Document{Command: "none"}), "%s: a document of nothing", format)
		}
	}
}

func TestWroteNotByHand(t *testing.T) {
	doc := document()
	for format := range written {
		for _, path := range []string{"../../examples/hillclimb.yaml", "../../examples/hillclimb-compressor.csv", "../../README.md", "../../go.mod"} {
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.False(t, render.Wrote(format, data, doc), "%s as %s", path, format)
		}
	}
	// A script's reader has added to it, a spreadsheet has saved it, and somebody has changed the head.
	js, list, text := drawn(t, render.JSONFormat, doc), drawn(t, render.CSVFormat, doc), drawn(t, render.TextFormat, doc)
	for format, changed := range map[string][]string{
		render.JSONFormat: {strings.Replace(js, `"command"`, `"mine": 1, "command"`, 1), js + js, strings.Replace(js, `"bellmouth/`, `"other/`, 1), `[1]`},
		render.CSVFormat: {
			strings.ReplaceAll(list, "\n", "\r\n"), strings.Replace(list, ",notes\n", ",notes,mine\n", 1), strings.Replace(list, "table,trim", "name,trim", 1),
			strings.Replace(list, "\noperating points,capped,6500", "\nsum,1\noperating points,capped,6500", 1), "table,trim,notes\nmine,,\n",
		},
		render.TextFormat: {
			"operating points, trim capped\n\n  see the sheet\n\nCaution: A starting point, not a calibration.\n",
			strings.Replace(text, "Caution", "Mind", 1), "operating pointsmen\n" + text,
		},
	} {
		for _, data := range changed {
			assert.False(t, render.Wrote(format, []byte(data), doc), "%s", data)
		}
	}
}

func TestGridWrote(t *testing.T) {
	tab := overAxes().Tables[0]
	imperial := units.Imperial
	for _, before := range []render.CSVOptions{{}, {Units: &imperial}} {
		var b bytes.Buffer
		require.NoError(t, render.CSVGrids(tab, before)[0].Write(&b))
		for _, now := range []render.CSVOptions{{}, {Units: &imperial}} {
			g := render.CSVGrids(tab, now)[0]
			assert.True(t, g.Wrote(b.Bytes()))
			assert.False(t, g.Wrote([]byte(b.String()+"1,2,3,4,5,6\n")))
			assert.False(t, g.Wrote([]byte(strings.Replace(b.String(), "spark", "pulse", 1))))
			assert.False(t, g.Wrote([]byte("spark_deg,1\n2,3\n")))
			assert.False(t, g.Wrote(nil))
		}
	}
	var b bytes.Buffer
	require.NoError(t, render.CSV(&b, overAxes(), render.CSVOptions{Grid: true}))
	assert.True(t, render.Wrote(render.CSVFormat, b.Bytes(), overAxes()), "grids among lists")
	assert.False(t, render.Wrote(render.CSVFormat, b.Bytes(), document()))
}
