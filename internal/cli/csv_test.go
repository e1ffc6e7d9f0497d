package cli

import (
	"bytes"
	"context"
	"encoding/csv"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/render"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// printing are the commands that print tables, with what makes them print all of theirs.
var printing = []string{
	"sheet", "air", "geometry", "restrictor", "compressor", "turbine", "wastegate --plane", "boost", "boost --by-gear --by-pedal", "boost --allowed", "manifold",
	"fuel --plane", "spark", "check", "compare --vary limits.surge_margin=given|1%", "compare --lines --vary limits.surge_margin=given|1%",
	"spec check",
}

// document runs a command and returns what it printed, as tables and as text.
func document(t *testing.T, args ...string) (doc table.Document, out string) {
	t.Helper()
	var o, e strings.Builder
	status, doc := documentOf(args, &o, &e)
	require.Less(t, status, statusInput, "%v: %s", args, e.String())
	return doc, o.String()
}

// documentOf runs a command and returns its exit status and what it printed.
func documentOf(args []string, out, errs io.Writer) (status int, doc table.Document) {
	status = mainOn(context.Background(), args, streams{in: strings.NewReader(""), out: out, err: errs,
		seen: func(d table.Document) { doc = d.In(units.Metric) }, solve: solved.solve})
	return status, doc
}

// A whole is what a command came to that is run on a spec as it is: its status, what it printed, and what a script finds on standard error.
type whole struct {
	status int
	doc    table.Document
	errs   string
}

// wholes are those known, by command and spec.
var wholes sync.Map

// wholeOf runs a command on a spec, once for all tests. The document is not to be changed.
func wholeOf(command, spec string) whole {
	run, _ := wholes.LoadOrStore(command+" "+spec, sync.OnceValue(func() whole {
		args := append(strings.Fields(command), "--format", "csv")
		if command != "explain" {
			args = append(args, spec)
		}
		var errs strings.Builder
		status, doc := documentOf(args, io.Discard, &errs)
		return whole{status, doc, errs.String()}
	}))
	return run.(func() whole)()
}

// drawn returns a document as CSV.
func drawn(t *testing.T, doc table.Document, o render.CSVOptions) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, render.CSV(&b, doc, o))
	return b.String()
}

// records reads CSV as others do.
func records(t *testing.T, text string) [][]string {
	t.Helper()
	r := csv.NewReader(strings.NewReader(text))
	r.FieldsPerRecord = -1
	all, err := r.ReadAll()
	require.NoError(t, err)
	return all
}

// TestUnitsInCSV reads every figure of every command back from the unit in its head, with the reader of specs, and compares it with the SI of the
// output that scripts have always had.
func TestUnitsInCSV(t *testing.T) {
	t.Parallel()
	head := regexp.MustCompile(`^(.*) \[(.*)\]$`)
	compared := 0
	for _, command := range printing {
		doc := wholeOf(command, hillclimb).doc
		want := records(t, drawn(t, doc, render.CSVOptions{}))
		for _, system := range []units.System{units.Metric, units.Imperial} {
			got := records(t, drawn(t, doc, render.CSVOptions{Units: &system}))
			require.Len(t, got, len(want), command)
			line := 0
			for _, tab := range doc.Tables {
				heads, keys := got[line], want[line]
				require.Len(t, heads, len(tab.Columns)+3)
				assert.Equal(t, "table", heads[0])
				seen := map[string]bool{}
				for _, h := range heads {
					assert.False(t, seen[h], "%s: %s twice", tab.Name, h)
					seen[h] = true
				}
				for range tab.Rows {
					line++
					for i, c := range tab.Columns {
						was, is := want[line][2+i], got[line][2+i]
						m := head.FindStringSubmatch(heads[2+i])
						if m == nil {
							assert.Equal(t, c.Key, heads[2+i])
							if c.Quantity != units.Number || units.SISuffix(c.Quantity) != "" {
								assert.Fail(t, "no unit in the head", "%s: %s", tab.Name, c.Key)
							}
							continue
						}
						name := strings.TrimSuffix(c.Key, units.SISuffix(c.Quantity))
						if c.Key == "rpm" {
							name = "speed" // as maps have it
						}
						assert.Equal(t, name, m[1])
						if was == "" || is == "" {
							assert.Equal(t, was, is, "%s: %s", tab.Name, c.Key)
							continue
						}
						x, err := strconv.ParseFloat(was, 64)
						if err != nil {
							continue // words
						}
						back, err := units.Parse(is+" "+m[2], c.Quantity)
						require.NoError(t, err, "%s: %s", tab.Name, heads[2+i])
						// Each has nine digits; those of a temperature in degC count from elsewhere.
						assert.InDelta(t, x, units.JSONValue(back, c.Quantity), 1.1e-8*math.Max(math.Abs(x), 1e-300)+temperatureDigits(c.Quantity), "%s: %s", tab.Name, c.Key)
						compared++
					}
				}
				assert.Equal(t, tab.Columns[0].Key, keys[2])
				line++
			}
		}
	}
	assert.Greater(t, compared, 10000)
}

// TestUnitsFlagInCSV: without the flag, and with SI, CSV is what it always was.
func TestUnitsFlagInCSV(t *testing.T) {
	args := []string{"boost", hillclimb, "--trim", "open", "--rpm", "5000", "--format", "csv"}
	doc, plain := document(t, args...)
	assert.Equal(t, drawn(t, doc, render.CSVOptions{}), plain)
	for _, system := range []units.System{units.Metric, units.Imperial, units.SI} {
		want := render.CSVOptions{Units: &system}
		if system == units.SI {
			want = render.CSVOptions{}
		}
		_, out := document(t, append(args, "--units", system.String())...)
		assert.Equal(t, drawn(t, doc, want), out)
	}
}

// temperatureDigits is what the ninth digit of a temperature in degC or degF is worth, K.
func temperatureDigits(k units.Kind) float64 {
	if k == units.Temperature {
		return 1e-5
	}
	return 0
}

// TestGridFiles compares the files that planes are written to, a figure each, with the lists that they are printed as otherwise.
func TestGridFiles(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "planes")
	figures := map[string]int{}
	for _, command := range []string{"spark --rpm 2000:6000:1000", "fuel --plane --rpm 2000:6000:1000", "boost --by-gear --by-pedal --rpm 2000:6000:1000",
		"wastegate --plane --rpm 2000:6000:1000"} {
		args := append(strings.Fields(command), hillclimb, "--format", "csv")
		doc, plain := document(t, args...)
		_, out := document(t, append(args, "--grid", "--output", dir+"/")...)
		assert.Empty(t, out)
		list := records(t, plain)
		line := 0
		for _, tab := range doc.Tables {
			keys := list[line]
			for i, c := range tab.Columns {
				if tab.Layout != table.Grid || i < 2 {
					continue
				}
				path := filepath.Join(dir, table.Canonical(tab.Name)+"-"+tab.Trim+"-"+c.Key+".csv")
				text, err := os.ReadFile(path)
				require.NoError(t, err)
				grid, err := csv.NewReader(bytes.NewReader(text)).ReadAll() // which wants all records as long as the first
				require.NoError(t, err, path)
				assert.Equal(t, c.Key+" over "+keys[2]+" (down) and "+keys[3]+" (across)", grid[0][0])
				filled := 0
				at := map[[2]string]string{}
				for _, record := range grid[1:] {
					for j := 1; j < len(record); j++ {
						at[[2]string{record[0], grid[0][j]}] = record[j]
						if record[j] != "" {
							filled++
						}
					}
				}
				wanted := 0
				for _, row := range list[line+1 : line+1+len(tab.Rows)] {
					got, ok := at[[2]string{row[2], row[3]}]
					assert.True(t, ok)
					assert.Equal(t, row[2+i], got, "%s, %s, %s", path, row[2], row[3])
					if row[2+i] != "" {
						wanted++
					}
				}
				assert.Equal(t, wanted, filled, path)
				figures[tab.Name]++
			}
			line += 1 + len(tab.Rows)
		}
		require.NoError(t, os.RemoveAll(dir))
	}
	assert.Len(t, figures, 6, "%v", figures)
}

// TestStandardErrorOfCSV: a script that looks for warnings there finds those of its run, and no cautions and methods.
func TestStandardErrorOfCSV(t *testing.T) {
	t.Parallel()
	for _, command := range printing {
		errs := wholeOf(command, hillclimb).errs
		for _, line := range strings.Split(strings.TrimSuffix(errs, "\n"), "\n") {
			switch command {
			case "sheet":
				assert.Regexp(t, "^bellmouth: warning: trim capped: 1 check failed: ", line)
			case "check":
				assert.Equal(t, "bellmouth: 1 check failed", line)
			case "restrictor":
				assert.Equal(t, "bellmouth: warning: trim open has no intake.restrictor and is left out", line)
			default:
				assert.Empty(t, line, command)
			}
		}
	}
}

// TestOutputAgain: every command replaces its own files in every format, those of another trim and range too, and no file of another command.
func TestOutputAgain(t *testing.T) {
	t.Parallel()
	commands := append([]string{"explain surge_margin", "explain"}, printing...)
	var before, now []table.Document
	for _, command := range commands {
		args := strings.Fields(command)
		narrow := args
		switch command {
		case "explain", "explain surge_margin":
		case "air", "geometry", "spec check":
			narrow = append(slices.Clone(args), hillclimb, "--set", "venue.humidity=0.2")
		default:
			narrow = append(slices.Clone(args), hillclimb, "--trim", "capped", "--rpm", "3000:5000:1000", "--set", "venue.humidity=0.2")
		}
		doc, _ := document(t, narrow...)
		before = append(before, doc)
		if len(narrow) > len(args) {
			doc = wholeOf(command, hillclimb).doc
		}
		now = append(now, doc)
	}
	for _, format := range formats {
		for i, command := range commands {
			path := filepath.Join(t.TempDir(), "out")
			write := func(output string, doc table.Document) error {
				o := outputOptions{format: format, units: "metric", output: output, unitsChosen: func() bool { return false }}
				return o.write(t.Context(), streams{out: io.Discard, err: io.Discard}, doc)
			}
			for _, output := range []string{path, path + "-files/"} {
				assert.NoError(t, write(output, before[i]), "%s, %s", command, format)
				assert.NoError(t, write(output, now[i]), "%s, %s", command, format)
				assert.NoError(t, write(output, before[i]), "%s, %s", command, format)
			}
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			for j, other := range commands {
				same := now[i].Command == now[j].Command
				if format != render.JSONFormat { // which alone names the command
					same = now[i].Tables[0].Name == now[j].Tables[0].Name
				}
				err := write(path, now[j])
				if same {
					assert.NoError(t, err, "%s over %s of %s", other, format, command)
				} else {
					assert.ErrorContains(t, err, "--force replaces it", "%s over %s of %s", other, format, command)
					kept, err := os.ReadFile(path)
					require.NoError(t, err)
					assert.Equal(t, data, kept)
				}
				require.NoError(t, os.WriteFile(path, data, 0o600))
			}
		}
	}
}

// TestOutputOverStandardInput: a spec that comes in through standard input is no less an input, forced or not.
func TestOutputOverStandardInput(t *testing.T) {
	text, err := os.ReadFile(clubFour)
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "piped.yaml")
	require.NoError(t, os.WriteFile(path, text, 0o600))
	for _, more := range [][]string{{}, {"--force"}} {
		in, err := os.Open(path)
		require.NoError(t, err)
		var out, errs bytes.Buffer
		status := Main(append([]string{"boost", "-", "--set", "course=none", "--rpm", "5000", "--output", path}, more...), in, &out, &errs)
		require.NoError(t, in.Close())
		assert.Equal(t, statusInput, status)
		assert.Contains(t, errs.String(), "would overwrite what it is computed from")
		kept, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, text, kept)
	}
}
