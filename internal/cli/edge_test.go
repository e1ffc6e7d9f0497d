package cli

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/render"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

var soak = flag.Bool("soak", false, "run the engines at the edge over all speeds")

// edgeSpeeds are few speeds up to the limiter, of engines that have another range than most, among them those that take long; empty: the usual grid.
var edgeSpeeds = map[string]string{"slow": "", "fast": "13000:25000:6000", "twin": "1500:7200:1900", "24 cylinders": "3300:5400:2100",
	"no wastegate": "4000:6100:2100", "tiny turbine": "2500:4600:2100", "tiny restrictor": "1500:3600:2100", "short stroke": "5700:7800:2100"}

// sameAir are engines whose operating points are near those of the template, as are those of most engines that lack a section: few speeds do.
var sameAir = []string{"fixed rail", "one injector set", "thin fuel line", "flat battery", "uneven", "tiny injectors", "eight restrictors"}

// TestEdges runs every kind of engine at the edge of what a spec may say, and every output of it: nothing that is not a
// number comes out, the text keeps to the page, JSON reads, and the exit status is one of those promised. All outputs of an engine are made
// from the same solved points. Every fifth engine is run, in one of its trims; -soak runs all engines and trims, over all speeds.
func TestEdges(t *testing.T) {
	template := string(spec.Template())
	swap := func(from, to string) string {
		require.Contains(t, template, from)
		return strings.Replace(template, from, to, 1)
	}
	value := func(key, to string) string {
		was := regexp.MustCompile(`(?m)^( *` + key + `:) .*$`)
		require.Regexp(t, was, template)
		return was.ReplaceAllString(template, "$1 "+to)
	}
	without := func(text string, sections ...string) string {
		for _, s := range sections {
			was := regexp.MustCompile(`(?m)^` + s + `:\n(?:[ #].*\n|\n)*`)
			require.Regexp(t, was, text)
			text = was.ReplaceAllString(text, "")
		}
		return text
	}
	section := func(name string) string { return without(template, name) }
	twin, err := os.ReadFile("testdata/twin.yaml")
	require.NoError(t, err)
	twinMap, err := os.ReadFile("testdata/twin-map.csv")
	require.NoError(t, err)
	engines := map[string]string{
		"one cylinder":    swap("cylinders: 5", "cylinders: 1"),
		"24 cylinders":    swap("cylinders: 5", "cylinders: 24"),
		"huge boost":      value("target", "6 bar"),
		"no boost":        value("target", "0 bar"),
		"tiny turbine":    value("effective_area", "0.5 cm2"),
		"huge turbine":    value("effective_area", "100 cm2"),
		"tiny restrictor": swap("bore: 38 mm                     # of one throat", "bore: 10 mm #"),
		"tiny injectors":  strings.NewReplacer("650 cm3/min", "20 cm3/min", "850 cm3/min", "20 cm3/min").Replace(template),
		"lean":            value("lambda", "2"),
		"rich":            value("lambda", "0.5"),
		"eight turbos":    regexp.MustCompile(`(?m)(^compressor:\n(?:[ #].*\n)*?  count:) 1`).ReplaceAllString(template, "$1 8"),
		"eight restrictors": strings.NewReplacer("  count: 1\n  wheel:", "  count: 8\n  wheel:", "    count: 1\n    discharge: 0.97",
			"    count: 8\n    discharge: 0.97").Replace(template),
		"cold": swap("temperature: 18 degC", "temperature: -30 degC"),
		"fast": value("limiter", "25000 rpm"),
		"slow": strings.NewReplacer("launch_speed: 5000 rpm", "launch_speed: 900 rpm", "speed: 6500 rpm", "speed: 950 rpm",
			"{start line: 5000 rpm, hairpins: 4500 rpm, straight: 7000 rpm}", "{start line: 900 rpm, hairpins: 800 rpm, straight: 950 rpm}").
			Replace(value("limiter", "1000 rpm")),
		"no cooler":           section("cooler"),
		"no wastegate":        section("wastegate"),
		"no injection":        section("injection"),
		"no limits":           section("limits"),
		"no exhaust":          section("exhaust"),
		"no valves":           regexp.MustCompile(`(?m)^  valves:\n(    .*\n)*`).ReplaceAllString(template, ""),
		"no fuel":             section("fuel"),
		"no turbine":          section("turbine"),
		"no supply":           section("supply"),
		"no ignition":         section("ignition"),
		"no manifold":         section("manifold"),
		"no driveline":        section("driveline"),
		"no car":              section("car"),
		"fixed rail":          value("reference", "venue"),
		"one injector set":    regexp.MustCompile(`(?m)^  (secondary|staging):.*\n((    .*)?\n)*`).ReplaceAllString(template, ""),
		"weak spring":         value("preload", "0 N"),
		"short stroke":        swap("stroke: 11 mm", "stroke: 0.5 mm"),
		"thin fuel line":      swap("bore: 8 mm", "bore: 2 mm"),
		"flat battery":        strings.ReplaceAll(template, "supply_voltage: 13.5 V", "supply_voltage: 8 V"),
		"uneven":              swap("  # spread:\n", "  spread: {flow: {1: 5, 2: 100, 3: 101, 4: 100, 5: 99}}\n  # spread:\n"),
		"twin":                string(twin),
		"naturally aspirated": without(template, "compressor", "turbine", "wastegate", "cooler", "boost", "trims", "intake"),
	}
	for i, name := range slices.Sorted(maps.Keys(engines)) {
		if !*soak && i%5 != 0 || testing.Short() && i%10 != 0 {
			continue // a fifth of them, and for the race detector half of that
		}
		text := engines[name]
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			path := filepath.Join(dir, "engine.yaml")
			require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
			require.NoError(t, os.WriteFile(filepath.Join(dir, spec.TemplateMapName), spec.TemplateMap(), 0o644))
			require.NoError(t, os.WriteFile(filepath.Join(dir, "twin-map.csv"), twinMap, 0o644))
			enough, trims := enoughOf(t, path)
			switch {
			case name == "tiny restrictor":
				trims = []string{"capped"}
			case !*soak:
				trims = trims[i%len(trims):][:1]
			}
			isEnough := func(use string) bool {
				return slices.ContainsFunc(trims, func(trim string) bool { return slices.Contains(enough[use], trim) })
			}
			var once solvedOnce
			for _, u := range uses() {
				if !*soak && isEnough(u.name) && isEnough("sheet --full") && inFullSheet(u.name) {
					continue // the full sheet has its tables, from the same function
				}
				if !*soak && (u.name == "compare" && i%2 == 0 || u.name == "compare --lines" && i%2 != 0) {
					continue // they print the same variants: turn about
				}
				args := append(u.args(path), u.variants()...)
				if u.name != "spec check" {
					args = append(args, "--trim", strings.Join(trims, ","))
				}
				speeds, own := edgeSpeeds[name]
				switch {
				case own:
				case strings.HasPrefix(name, "no ") && name != "no boost" && name != "no wastegate" || slices.Contains(sameAir, name):
					speeds = "3300:5400:2100"
				default:
					speeds = "1500:7800:2100"
				}
				if u.speeds && !*soak && speeds != "" {
					args = append(args, "--rpm", speeds)
				}
				if u.pressure {
					args = append(args, "--pressure", "0.5:2.5:1")
				}
				switch u.name { // both print what takes longest, the same part loads
				case "boost --by-gear":
					args = append(args, "--by-pedal")
				case "boost --by-pedal":
					if isEnough("boost --by-gear") {
						assert.True(t, isEnough(u.name))
						continue
					}
				}
				var o, e bytes.Buffer
				var marked, doc table.Document
				on := streams{in: strings.NewReader(""), out: &o, err: &e, seen: func(d table.Document) { marked, doc = d, d.In(units.Metric) }, solve: once.solve}
				status := mainOn(t.Context(), args, on)
				out, errs := o.String(), e.String()
				assert.Contains(t, []int{statusWell, statusCheckFailed, statusInput, statusNoSolution}, status)
				if u.name != "spec check" {
					assert.Contains(t, enough, u.name)
					assert.Equal(t, isEnough(u.name), status != statusInput, "%s: what spec check says", u.name)
				}
				assert.NotRegexp(t, `\b(NaN|Inf)\b|\s-0(\.0+)?\s`, out+errs, u.name)
				for _, line := range strings.Split(out, "\n") {
					assert.LessOrEqual(t, utf8.RuneCountInString(line), 100, "%s: %s", u.name, line)
				}
				if status == statusInput {
					assert.Empty(t, out)
					for _, line := range strings.Split(strings.TrimSpace(errs), "\n") {
						assert.Regexp(t, "^"+regexp.QuoteMeta(path)+`[^ ]*: [a-z]+( --(by-[a-z]+|allowed|plane|loads))? needs [^;]+; trim [a-z]+ lacks it(; want .+)?$`, line)
					}
				} else {
					assert.NotEmpty(t, out)
				}
				if status == statusInput {
					continue
				}
				assert.Empty(t, unexplained(doc), u.name)
				assert.Empty(t, untold(doc), u.name)
				assert.Empty(t, astray(t, marked), u.name)
				// The same tables for a script.
				var answer bytes.Buffer
				require.NoError(t, render.JSON(&answer, doc), u.name)
				var read map[string]any
				assert.NoError(t, json.Unmarshal(answer.Bytes(), &read), u.name)
				answer.Reset()
				require.NoError(t, render.CSV(&answer, doc, render.CSVOptions{}), u.name)
				lines := csv.NewReader(&answer)
				lines.FieldsPerRecord = -1
				_, err := lines.ReadAll()
				assert.NoError(t, err, u.name)
			}
		})
	}
}

// enoughOf returns for which trims spec check calls a spec enough, by use, and all its trims.
func enoughOf(t *testing.T, path string) (enough map[string][]string, trims []string) {
	status, out, errs := bellmouth("spec", "check", path, "--format", "json", "--table", "enough-for")
	require.Equal(t, statusWell, status, errs)
	var doc printed
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	require.Len(t, doc.Tables, 1)
	enough = map[string][]string{}
	for _, row := range doc.Tables[0].Rows {
		use := row["command"].(string)
		enough[use] = []string{}
		if list, ok := row["enough_trims"].([]any); ok {
			for _, trim := range list {
				enough[use] = append(enough[use], trim.(string))
			}
		}
		assert.Equal(t, len(enough[use]) > 0, row["enough"], use)
	}
	return enough, enough["air"] // which is computed of any
}

// TestSameMessage: what several trims lack is told for the first of them, whichever is computed first.
func TestSameMessage(t *testing.T) {
	path := filepath.Join(t.TempDir(), "engine.yaml")
	text := "engine: {cylinders: 4, bore: 85.3 mm, stroke: 87.1 mm, rod: 146 mm, compression_ratio: 10, limiter: 7000 rpm}\ntrims: {first: {}, second: {}}\n"
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	for range 20 {
		status, _, errs := bellmouth("check", path)
		assert.Equal(t, statusInput, status)
		assert.NotContains(t, errs, "second")
	}
}

// TestCommandLineIsCleaned: what a message quotes from the command line does not act on the terminal.
func TestCommandLineIsCleaned(t *testing.T) {
	const sly = "a\x1b[31mb\u202ec"
	for _, args := range [][]string{
		{sly}, {"explain", sly}, {"boost", sly}, {"boost", hillclimb, "--" + sly}, {"boost", hillclimb, "--format", sly}, {"boost", hillclimb, "--units", sly},
		{"boost", hillclimb, "--trim", sly}, {"boost", hillclimb, "--rpm", sly}, {"boost", hillclimb, "--output", sly + "/x"}, {"spec", "new", sly + "/x"},
		{"help", sly},
	} {
		status, out, errs := bellmouth(args...)
		assert.Equal(t, statusInput, status, "%q", args)
		assert.Empty(t, out)
		assert.NotContains(t, errs, "\x1b", "%q", args)
		assert.NotContains(t, errs, "\u202e", "%q", args)
		assert.Equal(t, 1, strings.Count(errs, "\n"), "%q", errs)
	}
}

// inFullSheet reports whether the full sheet prints the tables of a use.
func inFullSheet(use string) bool {
	return slices.ContainsFunc(asks(), func(a ask) bool { return a.command == use && a.part != nil })
}
