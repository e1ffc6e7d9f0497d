package cli

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestEachOfTwoTurbochargers: what a table says is of each is that, and what it says is of all is all: two turbochargers behind a throat each.
func TestEachOfTwoTurbochargers(t *testing.T) {
	const rpm = "6000"
	on := func(command string, more ...string) map[string]printedTable {
		tables := map[string]printedTable{}
		args := append([]string{command, twin, "--set", "intake.restrictor.bore=30 mm", "--rpm", rpm}, more...)
		for _, tab := range decode(t, args...).Tables {
			tables[tab.Name] = tab
		}
		return tables
	}
	two := []string{"--set", "intake.restrictor.count=2"}
	n := func(tab printedTable, key string) float64 {
		require.NotEmpty(t, tab.Rows)
		v, ok := tab.Rows[0][key].(float64)
		require.True(t, ok, "%s: %v", key, tab.Rows[0])
		return v
	}
	points, map_, turbine := on("boost", two...)["operating points"], on("compressor", two...)["compressor"], on("turbine", two...)["turbine"]
	// Each compressor takes half of the air. Corrected to 298.15 K and 100 kPa from the spec's 15 °C.
	each := n(points, "air_flow_kg_s") / 2
	assert.InEpsilon(t, each*math.Sqrt(288.15/298.15)/(n(map_, "compressor_inlet_pressure_pa")/100e3), n(map_, "corrected_flow_kg_s"), 1e-6)
	// All gas: the air and the fuel; all power: what all compressors take, with the bearings' loss.
	assert.InEpsilon(t, n(points, "air_flow_kg_s")+n(points, "fuel_flow_kg_s"), n(turbine, "exhaust_flow_kg_s"), 1e-6)
	assert.InEpsilon(t, n(turbine, "exhaust_flow_kg_s"), n(turbine, "turbine_flow_kg_s")+n(turbine, "wastegate_flow_kg_s"), 1e-6)
	assert.Greater(t, n(turbine, "turbine_power_w"), n(map_, "compressor_power_w")*(1-1e-6))

	throats, one := on("restrictor", two...), on("restrictor")["restrictor"]
	assert.InEpsilon(t, n(one, "max_flow_kg_s"), n(throats["restrictor"], "one_max_flow_kg_s"), 1e-3) // ISO 9300's coefficient hardly moves
	assert.InEpsilon(t, 2*n(throats["restrictor"], "one_max_flow_kg_s"), n(throats["restrictor"], "max_flow_kg_s"), 1e-9)

	for _, c := range []struct {
		tab  printedTable
		says string
	}{
		{points, "Shaft speed is that of each of the 2 turbochargers, air that of all together."},
		{map_, "Flow and shaft speed are those of each of the 2 turbochargers, power that of all."},
		{turbine, "Exhaust flow, turbine power and wastegate flow are those of all 2 turbochargers together."},
		{throats["choke boost"], "Air, torque and power are those with the air of all 2 restrictors together."},
		{throats["restrictor loss"], "Air is that of all 2 restrictors together."},
	} {
		require.NotEmpty(t, c.tab.Notes, c.says)
		assert.Contains(t, strings.Join(c.tab.Notes, " "), c.says)
	}
	for _, tab := range decode(t, "boost", hillclimb, "--trim", "capped", "--rpm", rpm).Tables {
		for _, note := range tab.Notes {
			assert.NotContains(t, note, "each of the")
		}
	}
	for _, tab := range on("restrictor") {
		for _, note := range tab.Notes {
			assert.NotContains(t, note, "together")
		}
	}
}
