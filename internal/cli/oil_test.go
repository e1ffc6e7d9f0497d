package cli

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestGrip holds what --g takes, and what it says of the rest.
func TestGrip(t *testing.T) {
	for text, want := range map[string]float64{"": 0, "0.6": 0.6 * 9.80665, "1.2 g": 1.2 * 9.80665, "9 m/s2": 9, " 0.05 ": 0.05 * 9.80665} {
		got, err := parseGrip(text)
		assert.NoError(t, err, text)
		assert.InDelta(t, want, got, 1e-12, text)
	}
	for text, want := range map[string]string{
		"fast": `--g "fast": `, "6": "--g 6 is not what tyres hold; want 0.05 to 5 g", "0": "--g 0 is not what tyres hold; want 0.05 to 5 g",
		"-1": "--g -1 is not what tyres hold", "1 bar": `--g "1 bar": `, "NaN": "--g",
	} {
		_, err := parseGrip(text)
		if assert.Error(t, err, text) {
			assert.Contains(t, err.Error(), want)
		}
	}
	status, _, errs := bellmouth("oil", hillclimb, "--g", "12")
	assert.Equal(t, statusInput, status)
	assert.Contains(t, errs, "want 0.05 to 5 g")
	status, _, errs = bellmouth("oil", twin)
	assert.Equal(t, statusInput, status)
	assert.True(t, strings.Contains(errs, "oil needs the section sump"), errs)
	// Less grip asks for less: the table says what was asked.
	_, out, _ := bellmouth("oil", hillclimb, "--trim", "open", "--g", "0.6", "--table", "sump", "--rpm", "5000")
	assert.Regexp(t, `car corners and brakes at +0\.60 g`, out)
}
