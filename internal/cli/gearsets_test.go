package cli

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestCompareGearSets: compare tells of each set of gears, to the digit, the upshifts, run-ups and top speed that gearing tells of it by itself, and in lines
// the 400 m of each. The longer last gear is the faster one in the end by the ratio, since the limiter ends both.
func TestCompareGearSets(t *testing.T) {
	t.Parallel()
	const short, long = "{1: 2.92, 2: 2.05, 3: 1.58, 4: 1.27, 5: 1.06}", "{1: 2.6, 2: 1.8, 3: 1.35, 4: 1.1, 5: 0.9}"
	speeds := []string{"--rpm", "2000:7800:1450", "--trim", "capped"}
	vary := append([]string{"compare", hillclimb, "--vary", "driveline.gears=" + short + "|" + long}, speeds...)
	compared := map[string]map[string]any{"A": {}, "B": {}}
	for _, row := range rowsOf(decode(t, vary...), "figures that differ") {
		compared[row["variant"].(string)][row["figure_id"].(string)] = row["value"]
	}
	lines := rowsOf(decode(t, append(vary, "--lines")...), "variants")
	for i, gears := range []string{short, long} {
		variant := string(rune('A' + i))
		alone := decode(t, append([]string{"gearing", hillclimb, "--set", "trims.capped.driveline.gears=" + gears}, speeds...)...)
		got := compared[variant]
		runs := rowsOf(alone, "run-ups")
		for j, id := range []string{"from-60-to-130-kmh", "over-400-m"} { // to 100 km/h the tyres limit both, which reads the same
			assert.Equal(t, runs[j+1]["run_up_time_s"], got[id], "%s, %s", variant, id)
		}
		assert.Equal(t, rowsOf(alone, "on the road")[0]["top_speed_m_s"], got["top-speed"])
		assert.Equal(t, rowsOf(alone, "upshifts")[3]["upshift_rpm"], got["upshift-4-5"])
		assert.Equal(t, runs[2]["run_up_time_s"], lines[i]["standing_400m_s"])
	}
	require.NotNil(t, compared["B"]["top-speed"])
	assert.InDelta(t, 1.06/0.9, compared["B"]["top-speed"].(float64)/compared["A"]["top-speed"].(float64), 1e-8, "both ended by the limiter")
}
