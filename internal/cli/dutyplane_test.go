package cli

import (
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/spectest"
)

// TestBoosts holds the range that --boost takes.
func TestBoosts(t *testing.T) {
	for text, want := range map[string][]float64{
		"0.6:1.4:0.4":               {60e3, 100e3, 140e3},
		"0.6:1.3:0.4":               {60e3, 100e3, 130e3},
		"60:100:20 kPa":             {60e3, 80e3, 100e3},
		"0:0.4:0.2 bar gauge":       {0, 20e3, 40e3},
		"6:18:6 psi":                {6 * 6894.757, 12 * 6894.757, 18 * 6894.757},
		"1.5":                       {150e3},
		" 0.5 bar : 100 kPa : 0.5 ": {50e3, 100e3},
		"0:6:6":                     {0, 600e3},
	} {
		got, err := parseBoosts(text)
		require.NoError(t, err, text)
		require.Len(t, got, len(want), text)
		for i := range want {
			assert.InDelta(t, want[i], got[i], 1, text)
		}
	}
	for text, want := range map[string]string{
		"0.4:2.4":         "neither LO:HI:STEP",
		"0.4::0.2":        "neither LO:HI:STEP",
		"2.4:0.4:0.2":     "runs downwards",
		"0.4:2.4:0.01":    "a step below 0.05 bar",
		"0.4:2.4:-0.2":    "a step below 0.05 bar",
		"-0.1":            "begins below 0 bar",
		"0.4:7:1":         "goes beyond 6 bar",
		"0:6:0.05":        "more than 100 boosts",
		"NaN":             "does not begin with a number",
		"1.2 bar abs":     "--boost",
		"0.4:2.4:0.2 rpm": "want",
	} {
		got, err := parseBoosts(text)
		require.Error(t, err, "%q: %v", text, got)
		assert.Contains(t, err.Error(), want, "%q", text)
		assert.Contains(t, err.Error(), "--boost", "%q", text)
	}
}

// TestPlaneBoosts holds the boosts of a plane by default: round ones from the lowest held on, and the highest reached, in few columns.
func TestPlaneBoosts(t *testing.T) {
	for _, c := range []struct {
		lowest, highest float64
		want            []float64
	}{
		{0.61e5, 0.93e5, []float64{0.65e5, 0.70e5, 0.75e5, 0.80e5, 0.85e5, 0.90e5, 0.93e5}},
		{0.61e5, 0.91e5, []float64{0.65e5, 0.70e5, 0.75e5, 0.80e5, 0.85e5, 0.91e5}}, // no two columns close together
		{0.69e5, 1.87e5, []float64{0.7e5, 0.8e5, 0.9e5, 1.0e5, 1.1e5, 1.2e5, 1.3e5, 1.4e5, 1.5e5, 1.6e5, 1.7e5, 1.8e5, 1.87e5}},
		{-0.2e5, 2.1e5, []float64{0, 0.2e5, 0.4e5, 0.6e5, 0.8e5, 1.0e5, 1.2e5, 1.4e5, 1.6e5, 1.8e5, 2.0e5, 2.1e5}},
		{0.61e5, 0.63e5, []float64{0.65e5}},
	} {
		got := planeBoosts(c.lowest, c.highest)
		require.LessOrEqual(t, len(got), 14)
		assert.InDeltaSlice(t, c.want, got, 1, "%v", c)
	}
}

// TestWastegatePlane: the plane is printed when asked for, by its flag or by its boosts, and the base table's duty stands in it at the target.
func TestWastegatePlane(t *testing.T) {
	const plane = "duty base table"
	open := []string{"wastegate", hillclimb, "--trim", "open", "--rpm", "5000"}
	assert.NotContains(t, namesOf(t, open...), plane)
	assert.Contains(t, namesOf(t, append(open, "--plane")...), plane)
	tables := decode(t, append(open, "--boost", "0.4:1.55:1.15")...).Tables
	var base any
	for _, table := range tables {
		switch table.Name {
		case "boost control":
			base = table.Rows[0]["closing_duty"]
		case plane:
			require.Len(t, table.Rows, 2)
			assert.Nil(t, table.Rows[0]["closing_duty"], "below the spring's boost")
			assert.Equal(t, "wastegate spring", table.Rows[0]["boost_held_by"])
			require.NotNil(t, base)
			assert.Equal(t, base, table.Rows[1]["closing_duty"], "1.55 bar is the target")
			assert.Equal(t, "balance", table.Rows[1]["boost_held_by"])
		}
	}
	status, out, errs := bellmouth("wastegate", hillclimb, "--boost", "2:1:0.1")
	assert.Equal(t, statusInput, status)
	assert.Empty(t, out)
	assert.Contains(t, errs, "--boost 2:1:0.1 runs downwards")
}

// TestWastegatePlaneWithoutDuty: what has no duty over boost says so in a line, and prints the rest.
func TestWastegatePlaneWithoutDuty(t *testing.T) {
	_, out, errs := bellmouth("wastegate", hillclimb, "--plane", "--trim", "open", "--rpm", "1500:2000:500")
	assert.Contains(t, errs+out, "at no speed computed has the duty a boost to choose")
	assert.Contains(t, out, "boost held by duty")
	assert.NotContains(t, out, "duty base table")

	text, err := os.ReadFile(hillclimb)
	require.NoError(t, err)
	closing := regexp.MustCompile(`    closing: \{kind: three-way.*\n`)
	require.Regexp(t, closing, string(text))
	dir := t.TempDir()
	path := filepath.Join(dir, "engine.yaml")
	require.NoError(t, os.WriteFile(path, closing.ReplaceAll(text, nil), 0o644))
	spectest.CopyFiles(t, dir)
	_, out, errs = bellmouth("wastegate", path, "--plane", "--trim", "open", "--rpm", "5000")
	assert.Contains(t, errs+out, "has no pulsed valve in wastegate.control")
	assert.Contains(t, out, "boost range")
	assert.NotContains(t, out, "duty base table")
}
