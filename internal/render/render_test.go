package render_test

import (
	"bytes"
	"io"
	"math"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"bellmouth/internal/render"
	"bellmouth/internal/table"
	"bellmouth/internal/units"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// rpm is the inside value of a speed of rotation.
func rpm(n float64) float64 { return n * math.Pi / 30 }

func column(key, title string, quantity units.Kind) table.Column {
	return table.Column{Key: key, Title: title, Quantity: quantity, Digits: table.DefaultDigits}
}

func detail(c table.Column) table.Column {
	c.Detail = true
	return c
}

// document returns one of everything: a wide table with notes, gaps, lists and a detail column, a tall one, and a list of
// limits whose rows differ in quantity. All its figures are invented.
func document() table.Document {
	held := "volumetric efficiency held flat above 6000 rpm"
	return table.Document{
		Command: "boost",
		Spec:    "hill|climb.yaml",
		Tables: []table.Table{
			{
				Name: "operating points", Trim: "capped",
				Columns: []table.Column{
					column("rpm", "speed", units.Speed),
					column("boost_pa", "boost", units.GaugePressure),
					column("air_flow_kg_s", "air flow", units.MassFlow),
					column("shaft_rpm", "shaft speed", units.Speed),
					detail(column("lambda", "lambda", units.Number)),
					column("limits", "limits", units.Number),
				},
				Rows: [][]table.Cell{
					{table.Num(rpm(2000)), table.Num(-40), table.Num(0.05), table.Missing("not enough exhaust"), table.Num(0.9), table.List("turbine")},
					{table.Num(rpm(6500)), table.Num(123456), table.Num(0.2125).Noted(held), table.Num(rpm(118000)), table.Num(0.85), table.List("restrictor", "shaft speed")},
					{table.Num(rpm(7000)), table.Num(1e5), table.Num(math.NaN()), table.Missing("not enough exhaust"), table.Num(0.85).Noted("detail"), table.List()},
				},
				Notes: []string{"Boost is above the venue's pressure."},
			},
			{
				Name: "engine", Layout: table.Tall,
				Columns: []table.Column{
					column("bore_m", "bore", units.Length),
					column("displacement_m3", "displacement", units.Volume),
					column("power_w", "rated power", units.Power),
					column("firing_order", "firing order", units.Number),
					column("valid", "rod clears bore", units.Number),
				},
				Rows: [][]table.Cell{{
					table.Num(0.084), table.Num(2272.1e-6), table.Missing("no fuel"), table.Text("1-2-4-5-3"), table.YesNo(true),
				}},
			},
			{
				Name: "limits",
				Columns: []table.Column{
					column("limit", "limit", units.Number),
					column("value", "value", units.Number),
					column("within", "within", units.Number),
					detail(column("unit", "unit", units.Number)),
				},
				Rows: [][]table.Cell{
					{table.Text("peak pressure"), table.Num(142.5e5).As(units.Pressure), table.YesNo(false).Toned(table.Failed), table.UnitOf(units.Pressure)},
					{table.Text("shaft speed"), table.Num(rpm(118000)).As(units.Speed), table.YesNo(true), table.UnitOf(units.Speed)},
				},
			},
		},
		Warnings: []string{"the map's reference is assumed"},
		Cautions: []string{"A starting point, not a calibration."},
	}
}

func text(t testing.TB, doc table.Document, opts render.Options) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, render.Text(&b, doc, opts))
	return b.String()
}

func TestDocumentIsSound(t *testing.T) {
	assert.NoError(t, document().Check())
}

// hostile holds what a spec from somewhere else could try, and how it is shown.
var hostile = []struct{ in, want string }{
	{"plain – é ½ 漢字 é", "plain – é ½ 漢字 é"},
	{"", ""},
	{"\x1b[2J\x1b]0;title\x07", `\x1b[2J\x1b]0;title\a`},
	{"a\nb\r\tc\x00\x7f", `a\nb\r\tc\x00\x7f`},
	{"\u009b31m", `\u009b31m`},
	{"\u202eevil\u202c \u2066x\u2069", `\u202eevil\u202c \u2066x\u2069`},
	{"a\u200bb\u200d\ufeff\u00ad", `a\u200bb\u200d\ufeff\u00ad`},
	{"a\u034f\u115f\u3164\ufe0f\u2800", `a\u034f\u115f\u3164\ufe0f\u2800`},
	{"line\u2028paragraph\u2029", `line\u2028paragraph\u2029`},
	{"bad\xff\xc3(", `bad\xff\xc3(`},
	{"tag\U000e0041", `tag\U000e0041`},
	{"\ufffd", "\ufffd"}, // the replacement character itself, properly encoded, prints
}

func TestClean(t *testing.T) {
	for _, h := range hostile {
		assert.Equal(t, h.want, render.Clean(h.in), "%q", h.in)
	}
}

func FuzzClean(f *testing.F) {
	for _, h := range hostile {
		f.Add(h.in)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := render.Clean(s)
		assertPrints(t, got)
		assert.Equal(t, got, render.Clean(got), "cleaning twice changes nothing")
	})
}

// assertPrints holds that a text is UTF-8 of printing runes and line breaks.
func assertPrints(t *testing.T, s string) {
	t.Helper()
	assert.True(t, utf8.ValidString(s), "%q", s)
	for _, r := range s {
		if r != '\n' && (!unicode.IsGraphic(r) || unicode.Is(unicode.Bidi_Control, r) || unicode.Is(unicode.Variation_Selector, r)) {
			t.Errorf("%q holds %U", s, r)
		}
	}
}

// Whatever stands in a document, no renderer passes on a rune that does not print.
func TestNothingHiddenGetsOut(t *testing.T) {
	for _, h := range hostile {
		cells := []table.Cell{table.Text(h.in), table.List(h.in, h.in), table.Missing(h.in + "!"), table.Num(1).Noted(h.in)}
		c := table.Column{Key: h.in, Title: h.in, Digits: table.DefaultDigits}
		columns := []table.Column{c, c, c, c, detail(c)}
		doc := table.Document{
			Command: h.in, Spec: h.in,
			Tables: []table.Table{
				{Name: h.in, Trim: h.in, Columns: columns, Rows: [][]table.Cell{cells, cells}, Notes: []string{h.in}},
				{Name: h.in, Layout: table.Tall, Columns: columns, Rows: [][]table.Cell{cells}},
			},
			Warnings: []string{h.in}, Cautions: []string{h.in},
		}
		assertPrints(t, text(t, doc, render.Options{}))
		for name, write := range map[string]func(io.Writer) error{
			"markdown": func(w io.Writer) error { return render.Markdown(w, doc, render.Options{}) },
			"json":     func(w io.Writer) error { return render.JSON(w, doc) },
			"csv": func(w io.Writer) error {
				assertPrints(t, strings.Join(render.TableNotes(doc.Tables), ""))
				return render.CSV(w, doc, render.CSVOptions{})
			},
		} {
			var b bytes.Buffer
			require.NoError(t, write(&b), name)
			assertPrints(t, b.String())
		}
	}
}

func TestNumbers(t *testing.T) {
	for _, test := range []struct {
		x      float64
		kind   units.Kind
		digits int
		system units.System
		want   string
	}{
		{1234567.8, units.Number, 1, units.Metric, "1234567.8"}, // no marks between thousands
		{0.125, units.Number, 2, units.Metric, "0.12"},          // exact halves to even
		{-0.0004, units.Number, 3, units.Metric, "0.000"},       // no minus before zero
		{math.Copysign(0, -1), units.Number, 0, units.Metric, "0"},
		{-0.0006, units.Number, 3, units.Metric, "-0.001"},
		{5, units.Number, 40, units.Metric, "5.000000000"},
		{999e9, units.Number, 0, units.Metric, "999000000000"},
		{1e12, units.Number, 0, units.Metric, "1.000000e+12"},
		{-1.5e300, units.Number, 3, units.Metric, "-1.500000e+300"},
		{0.781, units.Fraction, table.DefaultDigits, units.Metric, "78.1"},
		// A column of pressures wanted to three digits in bar: one more than usual, in any unit.
		{123456, units.Pressure, 3, units.Metric, "1.235"},
		{123456, units.Pressure, 3, units.Imperial, "17.91"},
		{123456, units.Pressure, 3, units.SI, "123456.0"},
		// To none: two fewer than usual, and never fewer than none.
		{123456, units.Pressure, 0, units.Metric, "1"},
		{123456, units.Pressure, 0, units.SI, "123456"},
	} {
		c := table.Column{Key: "x", Title: "x", Quantity: test.kind, Digits: test.digits}
		doc := table.Document{Tables: []table.Table{{Name: "t", Columns: []table.Column{c}, Rows: [][]table.Cell{{table.Num(test.x)}}}}}
		lines := strings.Split(strings.TrimSpace(text(t, doc, render.Options{System: test.system})), "\n")
		assert.Equal(t, test.want, strings.TrimSpace(lines[len(lines)-1]), "%+v", test)
	}
}

// A number can be finite in SI and past the largest one in the unit shown.
func TestOverflowOfConversion(t *testing.T) {
	doc := table.Document{Tables: []table.Table{{
		Name:    "t",
		Columns: []table.Column{column("x_m", "x", units.Length), column("rpm", "speed", units.Speed)},
		Rows:    [][]table.Cell{{table.Num(1e308), table.Num(1e308)}},
	}}}
	got := text(t, doc, render.Options{})
	assert.NotContains(t, got, "Inf")
	assert.Contains(t, got, table.NotFinite)
	var b bytes.Buffer
	require.NoError(t, render.JSON(&b, doc))
	assert.Contains(t, b.String(), `{"x_m": 1e+308, "rpm": null}`)
}

func BenchmarkText(b *testing.B) {
	benchmark(b, func(doc table.Document) error { return render.Text(io.Discard, doc, render.Options{}) })
}

func BenchmarkJSON(b *testing.B) {
	benchmark(b, func(doc table.Document) error { return render.JSON(io.Discard, doc) })
}

func BenchmarkCSV(b *testing.B) {
	benchmark(b, func(doc table.Document) error { return render.CSV(io.Discard, doc, render.CSVOptions{}) })
}

func BenchmarkMarkdown(b *testing.B) {
	benchmark(b, func(doc table.Document) error { return render.Markdown(io.Discard, doc, render.Options{}) })
}

// benchmark renders what one pull of one trim comes to: 30 operating points of 27 columns.
func benchmark(b *testing.B, write func(table.Document) error) {
	t := table.Table{Name: "operating points", Trim: "open"}
	for range 26 {
		t.Columns = append(t.Columns, column("boost_pa", "turbine inlet pressure", units.Pressure))
	}
	t.Columns = append(t.Columns, column("limit", "limit", units.Number))
	for i := range 30 {
		row := make([]table.Cell, 27)
		for j := range 26 {
			row[j] = table.Num(101325 + 1234.567*float64(i*j))
		}
		row[26] = table.Text("restrictor")
		t.Rows = append(t.Rows, row)
	}
	doc := table.Document{Command: "boost", Tables: []table.Table{t}}
	b.ReportAllocs()
	for b.Loop() {
		if err := write(doc); err != nil {
			b.Fatal(err)
		}
	}
}

// TestDigits: the decimals chosen for the metric unit move with the unit, and hundreds are rounded to.
func TestDigits(t *testing.T) {
	doc := table.Document{Tables: []table.Table{{Name: "t", Columns: []table.Column{
		{Key: "shaft_rpm", Title: "shaft", Quantity: units.Speed, Digits: table.Hundreds},
		{Key: "value", Title: "value", Digits: table.DefaultDigits},
	}, Rows: [][]table.Cell{{table.Num(127851 * math.Pi / 30), table.Num(11875000).As(units.Pressure).WithDigits(0)}}}}}
	for system, want := range map[units.System]string{
		units.Metric: "127900    119 bar", units.Imperial: "127900   1722 psi", units.SI: "13389  11875000 Pa", // 127851 π/30; 118.75 bar / 0.0689476
	} {
		var b strings.Builder
		require.NoError(t, render.Text(&b, doc, render.Options{System: system}))
		assert.Contains(t, b.String(), want, system)
	}
	var b strings.Builder
	require.NoError(t, render.JSON(&b, doc))
	assert.Contains(t, b.String(), `"shaft_rpm": 127851`)
}
