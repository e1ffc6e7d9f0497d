package cli

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The part that --ratio tells, put into the spec, gives the ratio.
func TestRatioIsGiven(t *testing.T) {
	t.Parallel()
	rows := rowsOf(decode(t, "geometry", clubFour, "--ratio", "11.5"), "parts for a ratio")
	require.Len(t, rows, 4)
	for i, key := range []string{"head", "piston_dish", "deck_clearance", "gasket_thickness"} {
		wanted := rows[i]["part_wanted"].(float64)
		unit := map[string]string{"head": " m3", "piston_dish": " m3", "deck_clearance": " m", "gasket_thickness": " m"}[key]
		row := rowsOf(decode(t, "geometry", clubFour, "--rpm", "3000", "--set", "engine.chamber."+key+"="+strconv.FormatFloat(wanted, 'f', -1, 64)+unit),
			"geometry")[0]
		assert.InDelta(t, 11.5, row["compression_ratio"], 1e-6, key)
	}
}

func TestRatioRefused(t *testing.T) {
	t.Parallel()
	for want, args := range map[string][]string{
		"--ratio is 3; want 4 to 20":                                     {clubFour, "--ratio", "3"},
		"--ratio is NaN; want 4 to 20":                                   {clubFour, "--ratio", "NaN"},
		"--ratio and --loads ask for different tables; want one of them": {clubFour, "--ratio", "12", "--loads"},
		"geometry --ratio needs the section engine.chamber":              {hillclimb, "--ratio", "9"},
		"geometry --loads needs the section engine.bottom_end":           {twin, "--loads", "--set", "engine.bottom_end=none"},
	} {
		status, out, errs := bellmouth(append([]string{"geometry"}, args...)...)
		assert.Equal(t, statusInput, status, want)
		assert.Empty(t, out)
		assert.Contains(t, errs, want)
	}
}
