package spec

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/compressor"
)

// points is a small map, invented; its lines are 1 to 7.
const points = `speed [rpm], flow [kg/s], pressure ratio, efficiency
60000, 0.05, 1.30, 0.68
60000, 0.10, 1.25, 0.72
60000, 0.14, 1.10, 0.60
90000, 0.09, 1.80, 0.68
90000, 0.16, 1.70, 0.74
90000, 0.21, 1.35, 0.62
`

var reference = compressor.Reference{Temperature: 298.15, Pressure: 100e3}

// mapError returns what is wrong with a map, whether in its text or as a map.
func mapError(text string) error {
	f, err := parseMap("map.csv", []byte(text))
	if err != nil {
		return err
	}
	_, err = f.build("map.csv", reference)
	return err
}

func TestMap(t *testing.T) {
	f, err := parseMap("map.csv", []byte(points))
	require.NoError(t, err)
	require.Len(t, f.lines, 2)
	assert.InDelta(t, 60000*math.Pi/30, f.lines[0].Speed, 1e-9)
	assert.Equal(t, compressor.Point{Flow: 0.16, PressureRatio: 1.70, Efficiency: 0.74}, f.lines[1].Points[1])
	_, err = f.build("map.csv", reference)
	require.NoError(t, err)

	// A byte order mark, and the line ends of Windows and of old: the same map.
	for _, text := range []string{"\ufeff" + points, strings.ReplaceAll(points, "\n", "\r\n"), strings.ReplaceAll(points, "\n", "\r")} {
		g, err := parseMap("map.csv", []byte(text))
		require.NoError(t, err)
		assert.Equal(t, f.lines, g.lines)
	}

	// Other units and order, comments, blank lines, spaces, quotes, Windows line ends: the same map. 1 lb = 0.45359237 kg.
	other := "# a comment, with commas\r\n\"Efficiency [%]\" ,pressure_ratio [-],Flow [lb/min],speed [rev/min]\r\n"
	for _, line := range f.lines {
		for _, p := range line.Points {
			other += fmt.Sprintf("%.6f,%.6f, %.9f ,%.6f\r\n\r\n# between\r\n", p.Efficiency*100, p.PressureRatio, p.Flow*60/0.45359237, line.Speed*30/math.Pi)
		}
	}
	g, err := parseMap("map.csv", []byte(strings.Replace(other, "\"Efficiency [%]\" ", "\"Efficiency [%]\"", 1)))
	require.NoError(t, err)
	require.Len(t, g.lines, 2)
	for i := range f.lines {
		assert.InDelta(t, f.lines[i].Speed, g.lines[i].Speed, 1e-4)
		for j := range f.lines[i].Points {
			assert.InDelta(t, f.lines[i].Points[j].Flow, g.lines[i].Points[j].Flow, 1e-9)
			assert.InDelta(t, f.lines[i].Points[j].Efficiency, g.lines[i].Points[j].Efficiency, 1e-9)
		}
	}
}

func TestMapSpeedScatter(t *testing.T) {
	// A measured line scatters in speed: its rows are one line, at their mean.
	f, err := parseMap("map.csv", []byte(strings.Replace(strings.Replace(points, "60000, 0.10", "60090, 0.10", 1), "60000, 0.14", "59970, 0.14", 1)))
	require.NoError(t, err)
	require.Len(t, f.lines, 2)
	assert.InDelta(t, 60020*math.Pi/30, f.lines[0].Speed, 1e-9)
}

func TestMapMessages(t *testing.T) {
	replaced := func(from, to string) string { return strings.Replace(points, from, to, 1) }
	header := "want a header such as speed [rpm], flow [kg/s], pressure ratio, efficiency"
	for _, p := range []struct{ name, text, want string }{
		{"empty", "", "map.csv: is empty; " + header},
		{"comments", "# nothing\n", "map.csv: is empty; " + header},
		{"no points", "speed [rpm], flow [kg/s], pressure ratio, efficiency\n", "map.csv: has no points; want a row for each, below the header"},
		{"no header", "60000, 0.05, 1.30, 0.68\n", "map.csv:1:1: has numbers where the header belongs; " + header},
		{"column missing", "speed [rpm], flow [kg/s], pressure ratio\n", "map.csv:1:1: has no column efficiency; " + header},
		{"column twice", "speed [rpm], flow [kg/s], pressure ratio, efficiency, flow [g/s]\n", "map.csv:1:55: has the column flow twice"},
		{"unknown column", replaced("efficiency", "eta"), "map.csv:1:43: has the column eta; " + header},
		{"unit missing", replaced("flow [kg/s]", "flow"), "map.csv:1:14: has no unit in the column flow; want it in brackets, such as flow [kg/s]"},
		{"unit of another kind", replaced("flow [kg/s]", "flow [mm]"),
			"map.csv:1:14: has the unit [mm] in the column flow; want one of a mass flow, such as flow [kg/s]"},
		{"unit unknown", replaced("speed [rpm]", "speed [krpm]"), "map.csv:1:1: has the unit [krpm] in the column speed; want one of a speed of rotation, such as speed [rpm]"},
		{"unit on a ratio", replaced("pressure ratio", "pressure ratio [bar]"), "map.csv:1:27: has the unit [bar] in the column pressure ratio; want none"},
		{"unit of a fraction", replaced("efficiency", "efficiency [bar]"), "map.csv:1:43: has the unit [bar] in the column efficiency; want none, or [%]"},
		{"bracket open", replaced("[kg/s]", "[kg/s"), "map.csv:1:14: has the unit [kg/s] in the column flow"},
		{"semicolons", strings.ReplaceAll(points, ",", ";"), "map.csv:1:1: has columns that no comma separates; " + header},
		{"few columns", replaced("60000, 0.10, 1.25, 0.72", "60000, 0.10, 1.25"), "map.csv:3:1: has 3 columns; want the header's 4"},
		{"decimal commas", replaced("60000, 0.10, 1.25, 0.72", "60000, 0,10, 1,25, 0,72"),
			"map.csv:3:1: has 7 columns; want the header's 4 (a decimal comma? write a decimal point)"},
		{"decimal comma in quotes", replaced("0.10", `"0,10"`), "map.csv:3:8: flow is 0,10; want a number with a decimal point"},
		{"bad number", replaced("0.10", "O.10"), "map.csv:3:8: flow is O.10; want a number"},
		{"not a number", replaced("0.10", "NaN"), "map.csv:3:8: flow is NaN; want a number"},
		{"infinite", replaced("0.10", "Inf"), "map.csv:3:8: flow is Inf; want a number"},
		{"huge", replaced("0.10", "1e400"), "map.csv:3:8: flow is 1e400 kg/s, which is too large to be a mass flow"},
		{"empty cell", replaced("0.10", ""), "map.csv:3:8: flow is missing"},
		{"unit in a row", replaced("0.10", "0.10 kg/s"), "map.csv:3:8: flow is 0.10 kg/s; want a number alone, its unit stands in the header"},
		{"out of range", replaced("0.10", "100"), "map.csv:3:8: flow is 100 kg/s; want 0.001 kg/s to 20 kg/s (10 kg/s?)"},
		{"percent as a fraction", replaced("0.72", "72"), "map.csv:3:20: efficiency is 72; want 0.01 to 1 (0.72?)"},
		{"zero", replaced("0.10", "0"), "map.csv:3:8: flow is 0 kg/s; want 0.001 kg/s to 20 kg/s"},
		{"negative", replaced("1.25", "-1.25"), "map.csv:3:14: pressure ratio is -1.25; want 0.5 to 10"},
		{"control character", replaced("0.10", "0.\x1b10"), "map.csv:3:10: is not plain text: it holds the control character U+001B"},
		{"direction mark", replaced("0.10", "0.\u202e10"), `map.csv:3:8: flow is 0.\u202e10; want a number`},
		{"not UTF-8", replaced("0.10", "0.\xff"), "map.csv:3:10: is not text in UTF-8: byte 0xff"},
		{"quote", replaced("0.10", `0"10`), "map.csv:3:9: is not CSV: bare \" in non-quoted-field"},
		{"the same point", replaced("60000, 0.10, 1.25", "60000, 0.05, 1.30"), "map.csv:3:1: gives the same point as line 2"},
		{"a line in two places", points + "60000, 0.145, 1.05, 0.5\n", "map.csv:8:1: belongs to the speed line that starts on line 2; want its rows together"},
		{"speeds fall", points + "75000, 0.145, 1.05, 0.5\n", "map.csv:8:1: starts a speed line below the one before it; want the speeds to rise"},
		{"flow falls", replaced("0.16, 1.70", "0.08, 1.70"), "map.csv:6: speed line 2 of 2, 90000 rpm, point 2: flow steps back by 11.11 %; points run from surge to choke"},
		{"one speed line", strings.Join(strings.SplitAfter(points, "\n")[:4], ""), "map.csv: is no compressor map: needs at least 2 speed lines, has 1"},
		{"speed lines falling", strings.Join(append(strings.SplitAfter(points, "\n")[:1], append(strings.SplitAfter(points, "\n")[4:],
			strings.SplitAfter(points, "\n")[1:4]...)...), ""),
			"map.csv:5:1: starts a speed line below the one before it; want the speeds to rise"},
		{"few points", replaced("60000, 0.14, 1.10, 0.60\n", ""), "map.csv:2: speed line 1 of 2, 60000 rpm: needs at least 3 points, has 2"},
		{"pressure ratio below 1", replaced("1.10, 0.60", "0.90, 0.60"), "map.csv:4: speed line 1 of 2, 60000 rpm, point 3: pressure ratio must be a number above 1"},
		{"crossing lines", replaced("0.14, 1.10", "0.30, 1.08"), "map.csv:"},
		{"large", points + "#" + strings.Repeat("x", 1<<20), "map.csv: is larger than a compressor map may be, 1 MiB"},
		{"many points", points + strings.Repeat("90000, 0.21, 1.3, 0.6\n", 500), "map.csv:9:1: gives the same point as line 8"},
		{"many speed lines", "speed [rpm], flow [kg/s], pressure ratio, efficiency\n" + lines(70), "map.csv:62:1: starts speed line 61; want at most 60"},
	} {
		t.Run(p.name, func(t *testing.T) {
			err := mapError(p.text)
			var e *Error
			require.ErrorAs(t, err, &e)
			assert.True(t, strings.HasPrefix(err.Error(), p.want), "got:  %s\nwant: %s", err, p.want)
			assertPrintable(t, err.Error())
			if strings.HasPrefix(p.name, "many") {
				assert.LessOrEqual(t, len(e.Problems), maxRowProblems)
			} else {
				assert.Len(t, e.Problems, 1)
			}
		})
	}
	assert.ErrorContains(t, mapError(replaced("0.14, 1.10", "0.30, 1.08")), "meets or crosses")
}

// lines returns rows of one point at rising speeds.
func lines(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "%d, 0.1, 1.3, 0.6\n", 10000+1000*i)
	}
	return b.String()
}

// What is wrong in a map's file is told with its own file and line, after what is wrong in the spec, and once.
func TestMapInSpec(t *testing.T) {
	text := engine + `compressor: {map: map.csv, reference_temperature: 298 K, reference_pressure: 1 bar}
boost: {target: 16 bar}
trims: {a: {}, b: {boost: {target: 1 bar}}, c: {compressor: {reference_temperature: 293 K}}}
`
	opened := 0
	from := func(table string) []string {
		_, err := Read("cars/a.yaml", []byte(text), func(path string) ([]byte, error) {
			opened++
			assert.Equal(t, "cars/map.csv", path)
			return []byte(table), nil
		})
		var e *Error
		require.ErrorAs(t, err, &e)
		return strings.Split(err.Error(), "\n")
	}
	assert.Equal(t, []string{
		"cars/a.yaml:9:17: boost.target is 16 bar; want 0 bar to 6 bar (1.6 bar?)",
		"cars/map.csv:3:8: flow is x; want a number",
		"cars/map.csv:5:14: pressure ratio is y; want a number",
	}, from(strings.NewReplacer("0.10", "x", "1.80", "y").Replace(points)))
	assert.Equal(t, 1, opened, "a file is read once for all trims")
	assert.Equal(t, []string{
		"cars/a.yaml:9:17: boost.target is 16 bar; want 0 bar to 6 bar (1.6 bar?)",
		"cars/map.csv:6: speed line 2 of 2, 90000 rpm, point 2: flow steps back by 11.11 %; points run from surge to choke, and at most 0.5 % is taken for scatter",
	}, from(strings.Replace(points, "0.16, 1.70", "0.08, 1.70", 1)))
}

func FuzzMap(f *testing.F) {
	f.Add([]byte(points))
	f.Add(TemplateMap())
	f.Add([]byte("speed [rpm], flow [lb/min], efficiency [%], pressure ratio [-]\n1e5, 30, 70, 2\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		start := time.Now()
		err := mapError(string(data))
		if took := time.Since(start); took > 2*time.Second {
			t.Fatalf("takes %v", took)
		}
		if err != nil {
			var e *Error
			require.ErrorAs(t, err, &e)
			require.NotEmpty(t, e.Problems)
			assertPrintable(t, err.Error())
		}
	})
}
