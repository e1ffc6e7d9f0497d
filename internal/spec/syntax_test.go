package spec

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSyntaxPlaces puts one fault into a whole spec and wants its own line and column, whatever the parser was in the midst of.
func TestSyntaxPlaces(t *testing.T) {
	data, err := os.ReadFile("../../examples/hillclimb.yaml")
	require.NoError(t, err)
	good := string(data)
	for _, c := range []struct {
		name, from, to string
		fault          string // text in the changed spec at whose start the fault is
		want           string // of the message
	}{
		{"quote", "name: Hillclimb five", `name: "Hillclimb five`, `"Hillclimb five`, "the quotation mark \" opens here and is not closed"},
		{"single quote", "bore: 84 mm", "bore: '84 mm", "'84 mm", "the quotation mark ' opens here and is not closed"},
		{"quote in a flow", "{flow: 0.30 kg/s, loss: 0.8 kPa}", `{flow: "0.30 kg/s, loss: 0.8 kPa}`, `"0.30 kg/s`,
			"the quotation mark \" opens here and is not closed"},
		{"quote closed by another's", "fuel:\n  kind: ron102\n  temperature: 30 degC", "fuel:\n  kind: \"ron102\n  temperature: \"30 degC\"", "\"ron102",
			"the quotation mark \" opens here and is not closed before line"},
		{"bracket", "burn_angle: {1500 rpm: 42 deg, 7800 rpm: 54 deg}", "burn_angle: {1500 rpm: 42 deg, 7800 rpm: 54 deg",
			"{1500 rpm: 42 deg, 7800 rpm: 54 deg\n", "the bracket { opens here and is not closed"},
		{"inner bracket", "12 V: {0 bar: 240 L/h, 3 bar: 187 L/h, 5 bar: 148 L/h, 7 bar: 104 L/h}",
			"12 V: {0 bar: 240 L/h, 3 bar: 187 L/h, 5 bar: 148 L/h, 7 bar: 104 L/h", "{0 bar: 240", "the bracket { opens here and is not closed"},
		{"bracket at the end", "measured: {bore: 38.03 mm, temperature: 62 degC, expansion: 23}", "measured: {bore: 38.03 mm, temperature: 62 degC, expansion: 23",
			"{bore: 38.03 mm", "the bracket { opens here and is not closed"},
		{"wrong bracket", "{flow: 0.30 kg/s, loss: 0.8 kPa}", "{flow: 0.30 kg/s, loss: 0.8 kPa]", "{flow: 0.30 kg/s, loss: 0.8 kPa]",
			"the bracket { opens here and is not closed"},
		{"stray bracket", "  bore: 40 mm", "  bore: 40 mm\n  }", "}\n  lift", "the bracket } closes nothing"},
		{"tab", "  limiter: 7800 rpm", "\tlimiter: 7800 rpm", "\tlimiter", "a tab indents this line; want spaces"},
		{"too deep", "  stroke: 82 mm", "    stroke: 82 mm", "stroke: 82 mm", "a second colon or a key below a value"},
		{"too shallow", "    inlet_lift: 10.2 mm", "   inlet_lift: 10.2 mm", "inlet_lift", "this does not line up with the keys above"},
		{"too shallow, far below", "  gap: 0.5 mm", " gap: 0.5 mm", "gap: 0.5", "this does not line up with the keys above"},
		{"no colon", "  rod: 144 mm", "  rod 144 mm", "rod 144", "a line without a colon; want key: value"},
		{"no colon, below a section", "  wheelbase: 2.55 m", "  wheelbase 2.55 m", "wheelbase 2.55", "a line without a colon; want key: value"},
		{"two colons", "  mass: 1080 kg", "  mass: kg: 1080", "mass: kg", "a second colon or a key below a value"},
		{"no comma", "{1500 rpm: 0.89, 3500 rpm: 0.86, 7800 rpm: 0.83}", "{1500 rpm: 0.89 3500 rpm: 0.86, 7800 rpm: 0.83}", "lambda: {1500 rpm: 0.89 3500", ""},
	} {
		require.Equal(t, 1, strings.Count(good, c.from), c.name)
		text := strings.Replace(good, c.from, c.to, 1)
		at := strings.Index(text, c.fault)
		require.GreaterOrEqual(t, at, 0, c.name)
		line := 1 + strings.Count(text[:at], "\n")
		column := at - strings.LastIndex(text[:at], "\n")
		_, err := read(text)
		var e *Error
		require.ErrorAs(t, err, &e, c.name)
		require.Len(t, e.Problems, 1, "%s: %s", c.name, err)
		assert.Equal(t, [2]int{line, column}, [2]int{e.Problems[0].Line, e.Problems[0].Column}, "%s: %s", c.name, err)
		assert.Contains(t, e.Problems[0].Message, "is not YAML: "+c.want, c.name)
	}
}
