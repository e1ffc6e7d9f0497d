package run_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
)

// TestExhaustWays: the heat of the way is what the gas has lost, ΔT of its own heat capacity times its flow; a colder wall than gas, and a probe
// that reads between the two.
func TestExhaustWays(t *testing.T) {
	r := runtest.Solved(t, spectest.ClubFour, "free", 3000, 6000)
	require.True(t, r.CoolingKnown())
	r.Outcomes[0].Err = &airpath.PointError{Speed: r.Outcomes[0].Speed, Stage: "manifold", Reason: "no way"}
	ways := r.ExhaustWays()
	require.Len(t, ways, 2)
	assert.Equal(t, r.Outcomes[0].Err, ways[0].Err)
	w := &ways[1]
	require.NoError(t, w.Err)
	p := &w.Point
	// Exhaust at about 1100 K has 1200 to 1350 J/(kg K), lean to rich (Heywood, Internal Combustion Engine Fundamentals, fig. 4-10).
	cp := w.Heat / (p.ExhaustFlow * (p.ValveTemperature - p.TurbineInletTemperature))
	assert.True(t, cp > 1150 && cp < 1400, "%v J/(kg K)", cp)
	assert.Less(t, w.Primary.WallTemperature, w.Probe.Temperature)
	assert.Less(t, w.Probe.Temperature, p.TurbineInletTemperature)

	stated := spectest.Trim(t, spectest.ClubFour, "free")
	stated.Engine.Heat.PortLossGiven = true
	assert.False(t, runtest.Solve(t, stated, 3000).CoolingKnown())
}
