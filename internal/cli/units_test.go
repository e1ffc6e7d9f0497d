package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/render"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// metricWord is a metric unit in a text: by its name, or by a letter behind a figure.
var metricWord = regexp.MustCompile(`(?:^|[^\w/.])(bar|mbar|degC|°C|kPa|hPa|MPa|mm|µm|cm2|cm3|mm2|mm2/s|Nm|kN|N/mm|km|km/h|kW|kWh|` +
	`g/kWh|kg|kg/s|kg/m3|g/s|L/h|L/min|kJ|MJ|MJ/kg|m/s|` +
	`liters?|litres?|kilograms?|metres?|kelvin|Celsius)(?:[^\w/]|$)|[0-9] ?(N|K|L|m|Pa|m2|m3)(?:[^\w/]|$)`)

// metricFigure is a figure in a metric unit that SI has another for.
var metricFigure = regexp.MustCompile(`[0-9] ?(bar|degC|°C|rpm|deg|kPa|hPa|MPa|mm|µm|km/h|kW|L|L/h|L/min|g/s|psi|degF|MJ/kg)(?:[^\w/]|$)`)

func cellNotes(t table.Table) (texts []string) {
	for _, n := range t.CellNotes() {
		texts = append(texts, n.Text)
	}
	return texts
}

// bothUnits is a length that is told in both, the product that a breakdown law is stated in, or the size of a wire, which is mm2 in every shop.
var bothUnits = regexp.MustCompile(`-?\d+ m \(-?\d+ ft\)|\d Pa m at the density|\d mm2\b`)

// asWritten reports whether the words of a column are those of a spec: what the user wrote, or what a key of it is taken to say.
func asWritten(tableName, key string) bool {
	switch tableName {
	case "defaults": // of keys, as a spec says them, with the reasons
		return true
	case "inputs that differ", "variants", "engine", "ranking":
		return true
	}
	return false
}

// astray returns the texts of a document, as a command made it, that still hold a mark when they are printed, or a metric unit where imperial ones are
// asked for.
func astray(t *testing.T, marked table.Document) (wrong []string) {
	look := func(where, text string) {
		if metricWord.MatchString(bothUnits.ReplaceAllString(text, "")) {
			wrong = append(wrong, where+": "+text)
		}
	}
	for _, tab := range marked.In(units.SI).Tables {
		for _, n := range append(slices.Clone(tab.Notes), cellNotes(tab)...) {
			if metricFigure.MatchString(bothUnits.ReplaceAllString(n, "")) {
				wrong = append(wrong, tab.Name+", in SI: "+n)
			}
		}
	}
	doc := marked.In(units.Imperial)
	for _, tab := range doc.Tables {
		for i, c := range tab.Columns {
			look(tab.Name+", head", c.Title)
			for _, row := range tab.Rows {
				look(tab.Name+", "+c.Key+", note", row[i].Note())
				if !asWritten(tab.Name, c.Key) {
					look(tab.Name+", "+c.Key, strings.Join(append(row[i].List(), row[i].Text()), "; "))
				}
			}
		}
		for _, n := range tab.Notes {
			look(tab.Name+", below", n)
		}
	}
	for _, w := range slices.Concat(doc.Warnings, doc.Cautions) {
		look("warning", w)
	}
	for _, system := range []units.System{units.Metric, units.Imperial, units.SI} {
		var out bytes.Buffer
		doc := marked.In(system)
		require.NoError(t, render.Text(&out, doc, render.Options{System: system}))
		require.NoError(t, render.Markdown(&out, doc, render.Options{System: system}))
		require.NoError(t, render.JSON(&out, doc))
		require.NoError(t, render.CSV(&out, doc, render.CSVOptions{Units: &system}))
		for _, line := range strings.Split(out.String(), "\n") {
			if leftMark.MatchString(line) {
				wrong = append(wrong, "a mark is left: "+line)
			}
		}
	}
	return wrong
}

// leftMark is what stands for a figure that was not put into a system, as it is or as it is made visible.
var leftMark = regexp.MustCompile(`[\x{E000}-\x{F8FF}]|\\u[eE][0-9a-fA-F]{3}|\\u[fF][0-8][0-9a-fA-F]{2}`)

// TestWordsAreInTheUnitsAskedFor walks all that is printed of both examples and of an engine with two turbochargers.
func TestWordsAreInTheUnitsAskedFor(t *testing.T) {
	t.Parallel()
	found := 0
	for _, path := range []string{hillclimb, clubFour} {
		for _, o := range outputsOf(t, path) {
			assert.Empty(t, astray(t, o.marked), "%s of %s", o.name, path)
			if leftMark.MatchString(strings.Join(allNotes(o.marked), "\n")) {
				found++
			}
		}
	}
	assert.Greater(t, found, 20, "outputs that have figures in their notes")
}

func allNotes(doc table.Document) (all []string) {
	for _, t := range doc.Tables {
		all = append(all, t.Notes...)
	}
	return all
}

// TestMetricWord: the walk sees what it looks for.
func TestMetricWord(t *testing.T) {
	for _, text := range []string{"from 1.55 bar gauge", "EGT reaches 1066 of 950 degC.", "10.37 L/min",
		"push 6673 N at", "1.4 L are up", "heat per kilogram of air",
		"15 °C to 27 °C", "a gap of 0.50 mm, 13 V", "air 10 K warmer", "tenths of a bar", "0 to 100 km/h", "26.0 µm", "600 hPa", "wide open, 400 m"} {
		assert.Regexp(t, metricWord, text)
	}
	for _, text := range []string{"22.5 psi gauge", "Its K is held at -0.75", "650 cm3/min", "limits.injector_duty", "a number N of them", "1.00 g",
		"at 6500 rpm", "barometer"} {
		assert.NotRegexp(t, metricWord, text)
	}
}

// TestEveryPlaceOfWordsIsInTheUnitsAskedFor: each way out puts figures into units: the formats, the files of a directory, standard error, errors.
func TestEveryPlaceOfWordsIsInTheUnitsAskedFor(t *testing.T) {
	t.Parallel()
	oil := []string{"oil", clubFour, "--trim", "free", "--g", "0.6", "--table", "pickup-by-direction"}
	const metric, imperial, si = "1.1 L are up in the engine", "0.29 US gal are up in the engine", "0.00110 m3 are up in the engine"
	unwrapped := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	for _, p := range []struct{ format, units, want string }{
		{"table", "metric", metric}, {"table", "imperial", imperial}, {"table", "si", si}, {"markdown", "imperial", imperial},
		{"json", "metric", metric}, {"json", "imperial", metric}, {"json", "si", metric},
	} {
		_, out, errs := bellmouth(append(oil, "--format", p.format, "--units", p.units)...)
		assert.Contains(t, unwrapped(out), p.want, "%v: %s", p, errs)
	}
	for units, want := range map[string]string{"metric": metric, "imperial": imperial, "si": metric} {
		dir := filepath.Join(t.TempDir(), "out") + "/"
		status, _, errs := bellmouth(append(oil, "--format", "csv", "--units", units, "--output", dir)...)
		require.Equal(t, statusWell, status, errs)
		notes, err := os.ReadFile(dir + notesFile)
		require.NoError(t, err)
		assert.Contains(t, string(notes), want)
	}
	// A cell's note in CSV: the bore is judged at 20 °C, and the oil pump's flow of the check stands in a sentence.
	for units, want := range map[string]string{"metric": "at a MAP of 0.40 bar abs", "imperial": "at a MAP of 5.8 psi abs", "si": "at a MAP of 0.40 bar abs"} {
		_, out, _ := bellmouth("check", clubFour, "--trim", "free", "--rpm", "3000", "--table", "checks", "--format", "csv", "--units", units)
		assert.Contains(t, out, want)
	}
	// Standard error.
	tight := []string{"sheet", hillclimb, "--trim", "capped", "--rpm", "3000", "--set", "trims.capped.intake.restrictor.measured.bore=38.1 mm"}
	for _, p := range []struct{ format, units, want string }{
		{"table", "metric", "20 degC"}, {"table", "imperial", "68 degF"}, {"csv", "imperial", "68 degF"},
		{"json", "imperial", "20 degC"}, {"table", "si", "293.1 K"},
	} {
		_, _, errs := bellmouth(append(tight, "--format", p.format, "--units", p.units)...)
		assert.Contains(t, errs, "restrictor bore at "+p.want, "%v", p)
	}
	// An error that ends the program.
	for units, want := range map[string]string{"metric": "begins below 0.2 bar absolute", "imperial": "begins below 3 psi absolute"} {
		_, _, errs := bellmouth("spark", hillclimb, "--pressure", "0.01", "--units", units)
		assert.Contains(t, errs, want)
	}
	_, _, errs := bellmouth("spark", hillclimb, "--pressure", "0.01", "--units", "imperial", "--format", "json")
	assert.Contains(t, errs, "begins below 0.2 bar absolute", "JSON's words are metric")
}

// TestTargetLineStaysASpec: what is printed to be put into a spec does not follow --units.
func TestTargetLineStaysASpec(t *testing.T) {
	t.Parallel()
	args := []string{"boost", hillclimb, "--allowed", "--as-target", "--trim", "capped", "--rpm", "5000:6000:1000"}
	_, metric, errs := bellmouth(args...)
	_, imperial, _ := bellmouth(append(args, "--units", "imperial")...)
	assert.NotEmpty(t, metric, errs)
	assert.Equal(t, metric, imperial)
	assert.Contains(t, imperial, " bar")
}
