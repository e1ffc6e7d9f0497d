package render_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"

	"bellmouth/internal/render"
	"bellmouth/internal/table"
	"bellmouth/internal/units"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestJSON(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, render.JSON(&b, document()))
	assert.Equal(t, `{
  "schema": "bellmouth/2",
  "command": "boost",
  "spec": "hill|climb.yaml",
  "tables": [
    {
      "name": "operating points",
      "trim": "capped",
      "rows": [
        {"rpm": 2000, "boost_pa": -40, "air_flow_kg_s": 0.05, "shaft_rpm": null, "lambda": 0.9, "limits": ["turbine"]},
        {"rpm": 6500, "boost_pa": 123456, "air_flow_kg_s": 0.2125, "shaft_rpm": 118000, "lambda": 0.85, "limits": ["restrictor", "shaft speed"]},
        {"rpm": 7000, "boost_pa": 100000, "air_flow_kg_s": null, "shaft_rpm": null, "lambda": 0.85, "limits": []}
      ],
      "notes": [
        "Boost is above the venue's pressure.",
        "air_flow_kg_s, row 2: volumetric efficiency held flat above 6000 rpm",
        "air_flow_kg_s, row 3: the calculation gave no finite number",
        "shaft_rpm, rows 1, 3: not enough exhaust",
        "lambda, row 3: detail"
      ]
    },
    {
      "name": "engine",
      "trim": "",
      "rows": [
        {"bore_m": 0.084, "displacement_m3": 0.0022721, "power_w": null, "firing_order": "1-2-4-5-3", "valid": true}
      ],
      "notes": [
        "power_w: no fuel"
      ]
    },
    {
      "name": "limits",
      "trim": "",
      "rows": [
        {"limit": "peak pressure", "value": 14250000, "within": false, "unit": "pa"},
        {"limit": "shaft speed", "value": 118000, "within": true, "unit": "rpm"}
      ],
      "notes": []
    }
  ],
  "warnings": [
    "the map's reference is assumed"
  ],
  "cautions": [
    "A starting point, not a calibration."
  ]
}
`, b.String())
}

func TestJSONOfNothing(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, render.JSON(&b, table.Document{Command: "boost", Tables: []table.Table{{Name: "points"}}}))
	var got map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes(), &got))
	assert.Equal(t, map[string]any{
		"schema": render.Schema, "command": "boost", "spec": "",
		"tables":   []any{map[string]any{"name": "points", "trim": "", "rows": []any{}, "notes": []any{}}},
		"warnings": []any{}, "cautions": []any{},
	}, got)
}

// Numbers that are hard to print short, what a solver leaves, and both ends of the range.
var hardNumbers = []float64{
	0, math.Copysign(0, -1), 1, -1, 0.1, 1.0 / 3, 101325, 1013250, 1e6, 123456789.123456789, 1e-6, 9.9e-7, 1e-300, 5e-324, 1e20, 1e21,
	math.MaxFloat64, -math.MaxFloat64, math.Pi, 2.2250738585072014e-308, 169999.99999740056,
}

// Nine significant digits read back, no more, and the same in JSON and CSV.
func TestNumbersReadBack(t *testing.T) {
	doc := table.Document{Command: "boost", Tables: []table.Table{{
		Name: "numbers", Columns: []table.Column{column("boost_pa", "boost", units.GaugePressure)},
	}}}
	for _, x := range hardNumbers {
		doc.Tables[0].Rows = append(doc.Tables[0].Rows, []table.Cell{table.Num(x)})
	}
	var b bytes.Buffer
	require.NoError(t, render.JSON(&b, doc))
	var got struct {
		Tables []struct{ Rows []map[string]float64 }
	}
	require.NoError(t, json.Unmarshal(b.Bytes(), &got))
	assert.NotContains(t, b.String(), "-0}")

	var c bytes.Buffer
	require.NoError(t, render.CSV(&c, doc, render.CSVOptions{}))
	records, err := csv.NewReader(&c).ReadAll()
	require.NoError(t, err)
	for i, x := range hardNumbers {
		read := got.Tables[0].Rows[i]["boost_pa"]
		assert.InDelta(t, x, read, 5e-9*math.Abs(x))
		digits, _, _ := strings.Cut(strconv.FormatFloat(math.Abs(read), 'e', -1, 64), "e")
		assert.LessOrEqual(t, len(digits), len("1.23456789"), "no digit more: %v", read)
		field, err := strconv.ParseFloat(records[i+1][2], 64)
		require.NoError(t, err)
		assert.Equal(t, read, field)
		assert.NotEqual(t, "-0", records[i+1][2])
	}
}

// A script has to find the speeds that it asked for.
func TestSpeedsAndAngles(t *testing.T) {
	tab := table.Table{Name: "speeds", Columns: []table.Column{column("rpm", "speed", units.Speed), column("ca50_deg", "CA50", units.Angle)}}
	var want []map[string]float64
	for n := 500.0; n <= 12000; n += 250 {
		tab.Rows = append(tab.Rows, []table.Cell{table.Num(rpm(n)), table.Num(n / 250 * math.Pi / 180)})
		want = append(want, map[string]float64{"rpm": n, "ca50_deg": n / 250})
	}
	var b bytes.Buffer
	require.NoError(t, render.JSON(&b, table.Document{Tables: []table.Table{tab}}))
	var got struct {
		Tables []struct{ Rows []map[string]float64 }
	}
	require.NoError(t, json.Unmarshal(b.Bytes(), &got))
	assert.Equal(t, want, got.Tables[0].Rows)
}

// Escapes in JSON change no value, but for bytes that were no text to begin with.
func TestJSONStringsReadBack(t *testing.T) {
	for _, h := range hostile {
		doc := table.Document{
			Command: h.in,
			Tables:  []table.Table{{Columns: []table.Column{{Key: "text"}, {Key: "list"}}, Rows: [][]table.Cell{{table.Text(h.in), table.List(h.in)}}}},
		}
		var b bytes.Buffer
		require.NoError(t, render.JSON(&b, doc))
		var got struct {
			Command string
			Tables  []struct {
				Rows []struct {
					Text string
					List []string
				}
			}
		}
		require.NoError(t, json.Unmarshal(b.Bytes(), &got), b.String())
		want := strings.ToValidUTF8(h.in, "\ufffd")
		if strings.Contains(h.in, "\xff\xc3") { // a replacement for each byte, where ToValidUTF8 puts one for the run
			want = strings.ReplaceAll(h.in, "\xff\xc3", "\ufffd\ufffd")
		}
		assert.Equal(t, want, got.Command)
		assert.Equal(t, want, got.Tables[0].Rows[0].Text)
		assert.Equal(t, []string{want}, got.Tables[0].Rows[0].List)
	}
}

func TestCSV(t *testing.T) {
	doc := document()
	doc.Tables[1].Rows[0][3] = table.Text(`one, "two"`)
	var b bytes.Buffer
	require.NoError(t, render.CSV(&b, doc, render.CSVOptions{}))
	assert.Equal(t, `table,trim,rpm,boost_pa,air_flow_kg_s,shaft_rpm,lambda,limits,notes
operating points,capped,2000,-40,0.05,,0.9,turbine,shaft_rpm: not enough exhaust
operating points,capped,6500,123456,0.2125,118000,0.85,restrictor; shaft speed,air_flow_kg_s: volumetric efficiency held flat above 6000 rpm
operating points,capped,7000,100000,,,0.85,,air_flow_kg_s: the calculation gave no finite number; shaft_rpm: not enough exhaust; lambda: detail

table,trim,bore_m,displacement_m3,power_w,firing_order,valid,notes
engine,,0.084,0.0022721,,"one, ""two""",true,power_w: no fuel

table,trim,limit,value,within,unit,notes
limits,,peak pressure,14250000,false,pa,
limits,,shaft speed,118000,true,rpm,
`, b.String())
	assert.Equal(t, []string{"operating points, trim capped: Boost is above the venue's pressure."}, render.TableNotes(doc.Tables))
}

// TestCSVInUnits: units that are chosen stand in the heads, and in the column that names the units of rows. A pound-force per square inch is
// 0.45359237 kg times 9.80665 m/s² on the square of 25.4 mm (NIST SP 811); the imperial figures are worked out from that with fractions.
func TestCSVInUnits(t *testing.T) {
	for system, want := range map[units.System]string{
		units.Metric: `table,trim,speed [rpm],boost [bar gauge],air_flow [g/s],shaft [rpm],lambda,limits,notes
operating points,capped,2000,-0.0004,50,,0.9,turbine,shaft_rpm: not enough exhaust
operating points,capped,6500,1.23456,212.5,118000,0.85,restrictor; shaft speed,air_flow_kg_s: volumetric efficiency held flat above 6000 rpm
operating points,capped,7000,1,,,0.85,,air_flow_kg_s: the calculation gave no finite number; shaft_rpm: not enough exhaust; lambda: detail

table,trim,bore [mm],displacement [cm3],power [kW],firing_order,valid,notes
engine,,84,2272.1,,1-2-4-5-3,true,power_w: no fuel

table,trim,limit,value,within,unit,notes
limits,,peak pressure,142.5,false,bar,
limits,,shaft speed,118000,true,rpm,
`,
		units.Imperial: `table,trim,speed [rpm],boost [psi gauge],air_flow [lb/min],shaft [rpm],lambda,limits,notes
operating points,capped,2000,-0.00580150951,6.61386787,,0.9,turbine,shaft_rpm: not enough exhaust
operating points,capped,6500,17.9057789,28.1089384,118000,0.85,restrictor; shaft speed,air_flow_kg_s: volumetric efficiency held flat above 6000 rpm
operating points,capped,7000,14.5037738,,,0.85,,air_flow_kg_s: the calculation gave no finite number; shaft_rpm: not enough exhaust; lambda: detail

table,trim,bore [in],displacement [ci],power [hp],firing_order,valid,notes
engine,,3.30708661,138.652049,,1-2-4-5-3,true,power_w: no fuel

table,trim,limit,value,within,unit,notes
limits,,peak pressure,2066.78776,false,psi,
limits,,shaft speed,118000,true,rpm,
`,
	} {
		var b bytes.Buffer
		require.NoError(t, render.CSV(&b, document(), render.CSVOptions{Units: &system}))
		assert.Equal(t, want, b.String())
	}
}

func TestNotesNameRowsInRanges(t *testing.T) {
	tab := table.Table{Name: "points", Columns: []table.Column{column("power_w", "power", units.Power)}}
	for i := range 9 {
		cell := table.Num(1)
		if i < 3 || i == 5 || i > 6 {
			cell = table.Missing("no fuel")
		}
		tab.Rows = append(tab.Rows, []table.Cell{cell})
	}
	var b bytes.Buffer
	require.NoError(t, render.JSON(&b, table.Document{Tables: []table.Table{tab}}))
	assert.Contains(t, b.String(), `"power_w, rows 1-3, 6, 8-9: no fuel"`)
}

func TestMarkdown(t *testing.T) {
	doc := document()
	doc.Tables[0].Trim = "cap_ped|<b>"
	doc.Tables[1].Rows[0][3] = table.Text(`a\|b *c* [d](e) & ~f~ #g`)
	var b bytes.Buffer
	require.NoError(t, render.Markdown(&b, doc, render.Options{}))
	assert.Equal(t, `### operating points, trim cap\_ped\|\<b\>

| speed (rpm) | boost (bar) | air flow (g/s) | shaft speed (rpm) | limits |
| ---: | ---: | ---: | ---: | --- |
| 2000 | 0.00 | 50.0 | –¹ | turbine |
| 6500 | 1.23 | 212.5² | 118000 | restrictor, shaft speed |
| 7000 | 1.00 | –³ | –¹ | none |

¹ not enough exhaust

² volumetric efficiency held flat above 6000 rpm

³ the calculation gave no finite number

Boost is above the venue's pressure.

### engine

| figure | value | unit |
| --- | ---: | --- |
| bore | 84.0 | mm |
| displacement | 2272.1 | cm3 |
| rated power | –¹ | |
| firing order | a\\\|b \*c\* \[d\](e) \& \~f\~ \#g | |
| rod clears bore | yes | |

¹ no fuel

### limits

| limit | value | within |
| --- | ---: | --- |
| peak pressure | 142.50 bar | no |
| shaft speed | 118000 rpm | yes |

Caution: A starting point, not a calibration.
`, b.String())
}
