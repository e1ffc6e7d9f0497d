package cli

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Two restrictors of 28 mm before two turbochargers are one of 28 √2 mm, with the coefficient held fixed; the command tells the share of each.
func TestOneRestrictorForEach(t *testing.T) {
	read := func(set string) (first map[string]any, points []map[string]any) {
		for _, tab := range decode(t, "restrictor", twin, "--rpm", "4000:7000:1500", "--set", "intake.restrictor="+set).Tables {
			switch tab.Name {
			case "restrictor":
				first = tab.Rows[0]
			case "choke boost":
				points = tab.Rows
			}
		}
		require.NotNil(t, first)
		return first, points
	}
	two, points := read("{count: 2, bore: 28 mm, discharge: 0.97}")
	wide, alike := read("{bore: 39.59797974644666 mm, discharge: 0.97}")
	assert.Equal(t, 2.0, two["restrictor_count"])
	assert.NotContains(t, wide, "restrictor_count")
	for _, key := range []string{"max_flow_kg_s", "power_ceiling_w", "upstream_pressure_pa", "restrictor_outlet_pressure_pa"} {
		assert.InEpsilon(t, wide[key], two[key], 1e-7, key)
	}
	assert.InEpsilon(t, two["max_flow_kg_s"], 2*two["one_max_flow_kg_s"].(float64), 1e-8)
	assert.InEpsilon(t, two["power_ceiling_w"], 2*two["one_power_ceiling_w"].(float64), 1e-8)
	require.NotEmpty(t, points)
	require.Len(t, points, len(alike))
	for i := range points {
		assert.Equal(t, alike[i]["limits"], points[i]["limits"])
		assert.InEpsilon(t, alike[i]["power_w"], points[i]["power_w"], 1e-5, "the points are solved to 1e-7")
	}
	// The spec as a file says the same as the setting.
	text, err := os.ReadFile(twin)
	require.NoError(t, err)
	status, _, errs := bellmouth("spec", "check", written(t, string(text)+"\nintake: {restrictor: {count: 3, bore: 28 mm}}\n", "testdata/twin-map.csv"))
	assert.Equal(t, statusInput, status)
	assert.Contains(t, errs, "intake.restrictor.count is 3; want 1, or 2 as compressor.count says\n")
}
