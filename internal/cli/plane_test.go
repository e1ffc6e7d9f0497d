package cli

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/boost"
)

// TestPressures holds the range that --pressure takes.
func TestPressures(t *testing.T) {
	const venue = 96e3
	for text, want := range map[string][]float64{
		"0.4:1.2:0.4":            {40e3, 80e3, 120e3},
		"0.4:1.1:0.4":            {40e3, 80e3, 110e3},
		"0.4:1.25:0.4":           {40e3, 80e3, 125e3}, // no two columns close together
		"40:100:20 kPa":          {40e3, 60e3, 80e3, 100e3},
		"0.4 bar:100 kPa:0.3":    {40e3, 70e3, 100e3},
		"0.4 bar abs:0.8:0.4":    {40e3, 80e3},
		"0:0.4:0.2 bar gauge":    {96e3, 116e3, 136e3},
		" 0.4 : 0.8 : 0.4 ":      {40e3, 80e3},
		"1.5":                    {150e3},
		"0.5 bar gauge":          {146e3},
		"0.4:0.4:0.1":            {40e3},
		"0.2:12:12":              {20e3, 1200e3},
		"6:18:6 psi":             {6 * 6894.757, 12 * 6894.757, 18 * 6894.757},
		"0.4:1.0:0.05":           {40e3, 45e3, 50e3, 55e3, 60e3, 65e3, 70e3, 75e3, 80e3, 85e3, 90e3, 95e3, 100e3},
		"0.40 bar:0.60 bar:2e-1": {40e3, 60e3},
	} {
		got, err := parsePressures(text, venue)
		require.NoError(t, err, text)
		require.Len(t, got, len(want), text)
		for i := range want {
			assert.InDelta(t, want[i], got[i], 1, text)
		}
	}
	for text, want := range map[string]string{
		"":                 "neither LO:HI:STEP",
		"0.4:2.4":          "neither LO:HI:STEP",
		"0.4::0.2":         "neither LO:HI:STEP",
		"0.4:1:0.1:0.1":    "neither LO:HI:STEP",
		"2.4:0.4:0.2":      "runs downwards",
		"0.4:2.4:0":        "a step below 0.05 bar",
		"0.4:2.4:-0.2":     "a step below 0.05 bar",
		"0.4:2.4:0.01":     "a step below 0.05 bar",
		"0.1":              "begins below 0.2 bar absolute",
		"-0.9 bar gauge":   "begins below 0.2 bar absolute",
		"0.4:13:1":         "goes beyond 12 bar absolute",
		"0.2:12:0.05":      "more than 100 pressures",
		"NaN":              "does not begin with a number",
		"0.4:Inf:1":        "does not begin with a number",
		"0.4 mm":           "want",
		"0.4:2.4:0.2 rpm":  "want",
		"0,4:2.4:0.2":      "0,4",
		"0.4:1e400:0.2":    "",
		"\x1b[31m:2.4:0.2": "",
	} {
		_, err := parsePressures(text, venue)
		assert.ErrorContains(t, err, want, "%q", text)
	}
}

// TestPlaneAxes: as many rows and columns as an engine control's table has, round ones, whatever the engine.
func TestPlaneAxes(t *testing.T) {
	for limiter := 1000.0; limiter <= 25000; limiter += 250 {
		lo := 1500 * perRPM
		if limiter <= 1500 {
			lo = limiter / 2 * perRPM
		}
		n := len(boost.Speeds(lo, limiter*perRPM, planeStep(lo, limiter*perRPM)))
		assert.LessOrEqual(t, n, 26, "%v rpm", limiter)
		if limiter >= 4500 {
			assert.GreaterOrEqual(t, n, 13, "%v rpm", limiter)
		}
	}
	for most := 42e3; most < 8e5; most += 1234 {
		got := planePressures(most)
		assert.LessOrEqual(t, len(got), 13, "%v Pa", most)
		assert.InDelta(t, most, got[len(got)-1], 1e-6)
		if most > 90e3 {
			assert.GreaterOrEqual(t, len(got), 6, "%v Pa", most)
		}
		for i := 1; i < len(got); i++ {
			assert.Greater(t, got[i]-got[i-1], 1e3, "two columns that read the same, %v Pa", most)
		}
	}
}
