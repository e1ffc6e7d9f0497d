package cli

import (
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the golden files anew")

// goldens are the outputs held, by name.
func goldens() map[string][]string {
	return map[string][]string{
		"sheet":           {"sheet", hillclimb},
		"sheet-full":      {"sheet", "--full", hillclimb, "--trim", "capped", "--rpm", "2500:6500:2000", "--pressure", "0.5:2:0.5"},
		"sheet-na":        {"sheet", clubFour},
		"sheet-imperial":  {"sheet", hillclimb, "--trim", "capped", "--units", "imperial", "--rpm", "3000:7000:1000"},
		"sheet-twin":      {"sheet", twin, "--rpm", "3000:7000:1000"},
		"boost":           {"boost", hillclimb, "--rpm", "2500:7500:1000"},
		"boost-twin":      {"boost", twin, "--set", "intake.restrictor.bore=30 mm", "--set", "intake.restrictor.count=2", "--rpm", "5000:7000:1000"},
		"boost-json":      {"boost", hillclimb, "--trim", "open", "--rpm", "4000:6000:1000", "--format", "json"},
		"boost-csv":       {"boost", hillclimb, "--trim", "open", "--rpm", "4000:6000:1000", "--format", "csv"},
		"boost-markdown":  {"boost", hillclimb, "--trim", "open", "--rpm", "4000:6000:1000", "--format", "markdown"},
		"air":             {"air", hillclimb},
		"air-si":          {"air", hillclimb, "--units", "si"},
		"geometry":        {"geometry", hillclimb},
		"geometry-loads":  {"geometry", hillclimb, "--loads", "--rpm", "2500:7500:1000"},
		"geometry-ratio":  {"geometry", clubFour, "--ratio", "12.5"},
		"geometry-na":     {"geometry", clubFour, "--rpm", "2000:8000:2000"},
		"restrictor":      {"restrictor", hillclimb},
		"restrictor-twin": {"restrictor", twin, "--set", "intake.restrictor.bore=30 mm", "--set", "intake.restrictor.count=2", "--rpm", "5000:7000:1000"},
		"restrictor-na":   {"restrictor", clubFour},
		"compressor":      {"compressor", twin, "--rpm", "4000:6000:1000"},
		"turbine":         {"turbine", twin, "--rpm", "4000:6000:1000"},
		"fuel":            {"fuel", hillclimb, "--trim", "open"},
		"fuel-na":         {"fuel", clubFour, "--trim", "restricted", "--rpm", "2000:8000:1000"},
		"fuel-twin":       {"fuel", twin, "--rpm", "3000:7000:1000"},
		"fuel-plane":      {"fuel", hillclimb, "--trim", "open", "--plane"},
		"fuel-csv":        {"fuel", hillclimb, "--trim", "open", "--plane", "--rpm", "2000:6000:2000", "--pressure", "0.4:2.4:1", "--format", "csv"},
		"fuel-json":       {"fuel", hillclimb, "--trim", "open", "--plane", "--rpm", "5000:6000:1000", "--pressure", "0.4:2.4:1", "--format", "json"},
		"manifold":        {"manifold", hillclimb, "--trim", "capped", "--rpm", "1500:7500:1000"},
		"manifold-na":     {"manifold", clubFour, "--trim", "free", "--rpm", "2000:8000:1000"},
		"manifold-json":   {"manifold", hillclimb, "--trim", "open", "--rpm", "5000:6000:1000", "--format", "json"},
		"spark":           {"spark", hillclimb, "--trim", "capped"},
		"spark-na":        {"spark", clubFour, "--trim", "free", "--rpm", "2000:8000:1000", "--pressure", "40:100:10 kPa"},
		"spark-twin":      {"spark", twin, "--rpm", "3000:7000:1000", "--units", "imperial"},
		"spark-json":      {"spark", hillclimb, "--trim", "open", "--rpm", "4000:6000:1000", "--pressure", "0.6:2.6:0.5", "--format", "json"},
		"wiring":          {"wiring", hillclimb, "--trim", "open", "--rpm", "2500:7500:1000"},
		"wiring-na":       {"wiring", clubFour, "--trim", "free", "--rpm", "2000:8000:2000"},
		"wiring-json":     {"wiring", clubFour, "--trim", "free", "--rpm", "4000:6000:1000", "--format", "json"},
		"wastegate":       {"wastegate", hillclimb},
		"wastegate-twin":  {"wastegate", twin, "--rpm", "3000:7000:1000"},
		"wastegate-plane": {"wastegate", hillclimb, "--plane", "--rpm", "2500:7500:1000", "--table", "duty-base-table,boost-held-by-duty"},
		"wastegate-grid-csv": {"wastegate", hillclimb, "--trim", "capped", "--rpm", "2500:7500:2500", "--boost", "0.6:1.8:0.4", "--format", "csv", "--grid",
			"--table", "duty-base-table"},
		"wastegate-csv":    {"wastegate", hillclimb, "--trim", "capped", "--rpm", "4000:6000:1000", "--format", "csv"},
		"boost-targets":    {"boost", hillclimb, "--by-gear", "--by-pedal", "--rpm", "2500:7500:1000"},
		"boost-allowed":    {"boost", hillclimb, "--allowed", "--rpm", "2500:7500:1000"},
		"boost-pedal":      {"boost", hillclimb, "--by-pedal", "--trim", "open", "--rpm", "3000:6000:1500", "--units", "imperial"},
		"gearing":          {"gearing", hillclimb, "--rpm", "1800:7800:1000", "--surface", "tarmac-wet", "--grade", "8"},
		"gearing-na":       {"gearing", clubFour, "--trim", "free", "--rpm", "2000:8000:1000"},
		"course":           {"course", hillclimb},
		"course-na":        {"course", clubFour, "--trim", "free", "--units", "imperial"},
		"course-json":      {"course", clubFour, "--trim", "free", "--table", "stage,what-a-change-is-worth,stage-shares", "--format", "json"},
		"check":            {"check", hillclimb},
		"oil":              {"oil", hillclimb, "--trim", "open"},
		"oil-dry":          {"oil", hillclimb, "--trim", "open", "--set", dryTank, "--table", "sump,scavenge"},
		"cooling":          {"cooling", hillclimb, "--trim", "open", "--rpm", "1500:7500:1000"},
		"cooling-na":       {"cooling", clubFour, "--trim", "free", "--rpm", "2000:8000:2000", "--speed", "0,30 mph,90", "--units", "imperial"},
		"oil-g":            {"oil", clubFour, "--trim", "free", "--g", "0.6", "--units", "imperial"},
		"compare":          {"compare", hillclimb},
		"compare-vary":     {"compare", hillclimb, "--trim", "capped", "--vary", "intake.restrictor.bore=36 mm|38 mm|40 mm", "--against", "B"},
		"compare-speed":    {"compare", hillclimb, "--rpm", "3000:7000:1000", "--over-speed", "torque_nm,boost_pa,limits", "--units", "imperial"},
		"compare-markdown": {"compare", hillclimb, "--venue", "all", "--trim", "capped", "--rpm", "3000:7000:1000", "--format", "markdown"},
		"compare-lines": {"compare", hillclimb, "--lines", "--vary", "turbine.effective_area=9.2 cm2, turbine.wheel=58 mm|10.4 cm2, 60 mm",
			"--vary", "compressor.wheel=60 mm|62 mm", "--vary", "injection.primary.flow=450 cm3/min|550 cm3/min|650 cm3/min", "--trim", "capped"},
		"compare-json": {"compare", clubFour, "--rpm", "4000:6000:1000", "--over-speed", "torque_nm", "--format", "json"},
		"spec-check":   {"spec", "check", clubFour},
		"explain":      {"explain", "surge_margin"},
		"help":         {},
		"help-boost":   {"boost", "--help"},
		"help-compare": {"compare", "--help"},
	}
}

// TestEveryUseHasAGolden wants a golden file for every command that reads a spec, and for every flag that makes it print other tables.
func TestEveryUseHasAGolden(t *testing.T) {
	for _, u := range uses() {
		has := false
		for _, args := range goldens() {
			name := 0
			for _, word := range u.args() {
				if slices.Contains(args, word) {
					name++
				}
			}
			has = has || name == len(u.args())
		}
		assert.True(t, has, u.name)
	}
}

// TestGolden compares whole outputs with those of before. The numbers are the program's own and prove nothing: what proves
// them stands in the tests of the packages that compute them. These guard against change nobody meant.
func TestGolden(t *testing.T) {
	for name, args := range goldens() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			status, out, errs := bellmouth(args...)
			require.Less(t, status, 2, errs)
			if !strings.HasSuffix(name, "-json") && !strings.HasSuffix(name, "-csv") && !strings.HasSuffix(name, "-markdown") {
				for i, line := range strings.Split(out, "\n") {
					assert.LessOrEqual(t, utf8.RuneCountInString(line), 100, "line %d: %s", i+1, line)
					assert.Equal(t, strings.TrimRight(line, " "), line, "line %d ends in spaces", i+1)
				}
			}
			golden := filepath.Join("testdata", "golden", name+".txt")
			if *update {
				require.NoError(t, os.MkdirAll(filepath.Dir(golden), 0o755))
				require.NoError(t, os.WriteFile(golden, []byte(digits(name, out)), 0o644))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err, "go test ./internal/cli -update writes it")
			assert.Equal(t, string(want), digits(name, out))
		})
	}
}

// digits cuts the numbers of CSV and JSON to six figures: the last ones differ between processors.
func digits(name, out string) string {
	if !strings.HasSuffix(name, "-json") && !strings.HasSuffix(name, "-csv") {
		return out
	}
	return number.ReplaceAllStringFunc(out, shorter)
}

var number = regexp.MustCompile(`-?\d+\.\d+(e[-+]\d+)?`)

func shorter(text string) string {
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return text
	}
	return strconv.FormatFloat(x, 'g', 6, 64)
}
