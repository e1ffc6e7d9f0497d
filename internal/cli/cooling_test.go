package cli

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestRoadSpeeds holds what --speed takes, and what it says of the rest.
func TestRoadSpeeds(t *testing.T) {
	for text, want := range map[string][]float64{"": nil, "36": {10}, "0, 36 km/h,5 m/s": {0, 10, 5}, "10 mph": {4.4704}} {
		got, err := parseRoadSpeeds(text)
		assert.NoError(t, err, text)
		assert.InDeltaSlice(t, want, got, 1e-12, text)
	}
	for text, want := range map[string]string{
		"fast": `--speed "fast": `, "-5": "--speed -5 is out of range; want 0 to 500 km/h", "501": "--speed 501 is out of range; want 0 to 500 km/h",
		"20,,40": "names an empty road speed", "20,20": "names 20 twice", "3 bar": `--speed "3 bar": `, "NaN": "--speed",
	} {
		_, err := parseRoadSpeeds(text)
		assert.ErrorContains(t, err, want, text)
	}
	status, _, errs := bellmouth("cooling", hillclimb, "--speed", "900")
	assert.Equal(t, statusInput, status)
	assert.Contains(t, errs, "want 0 to 500 km/h")
	status, _, errs = bellmouth("cooling", twin)
	assert.Equal(t, statusInput, status)
	assert.Contains(t, errs, "cooling needs the section cooling")
}

// TestCoolingTables: road speeds as asked for, the venues of the spec each with its own, and what no gear reaches is said.
func TestCoolingTables(t *testing.T) {
	_, out, _ := bellmouth("cooling", hillclimb, "--trim", "capped", "--rpm", "3000:6000:1500", "--speed", "30,250", "--table",
		"coolant-by-road-speed", "--venue", "hilltop,valley")
	assert.Contains(t, out, "trim capped, venue hilltop")
	assert.Contains(t, out, "trim capped, venue valley")
	assert.Contains(t, out, "faster than the gears go at the engine speeds solved")
	assert.Regexp(t, `\n +30 +1`, out)
	assert.NotRegexp(t, `\n +20 `, out)
}

// TestCoolingWithoutAPoint: where no point has a solution there is no heat to tell, which is no wrong input.
func TestCoolingWithoutAPoint(t *testing.T) {
	for _, command := range [][]string{{"cooling"}, {"check"}, {"sheet", "--full"}} {
		status, out, errs := bellmouth(append(command, hillclimb, "--trim", "open", "--set", "wastegate=none", "--rpm", "7000")...)
		assert.Equal(t, statusNoSolution, status, "%v: %s", command, errs)
		assert.NotContains(t, out, "coolant boils at")
	}
}
