package check_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/check"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/units"
)

// TestSpark: what is well, what is only to be noted and what fails, each once.
func TestSpark(t *testing.T) {
	judge := func(name, trimName, path string, change func(trim *spec.Trim), speeds ...float64) map[string]check.Finding {
		trim := spectest.Trim(t, path, trimName)
		change(trim)
		r := runtest.Solve(t, trim, speeds...)
		needs, err := r.OctaneNeeds()
		require.NoError(t, err, name)
		byID := map[string]check.Finding{}
		for _, f := range check.Spark(r, needs) {
			assert.NotContains(t, byID, f.ID, name)
			byID[f.ID] = f
		}
		return byID
	}
	const dwell, margin, octane = "coil-dwell", "ignition-voltage-margin", "octane-number"

	well := judge("as it is", "open", spectest.Hillclimb, func(*spec.Trim) {}, 3000, 4500, 7000)
	require.Len(t, well, 2)
	assert.Equal(t, "coil has its full dwell up to", well[dwell].What)
	assert.Equal(t, "ignition voltage margin", well[margin].What)
	assert.Equal(t, check.OK, well[dwell].Verdict)
	assert.Equal(t, check.OK, well[margin].Verdict)
	assert.InDelta(t, 4500*spectest.PerRPM, well[margin].Speed, 1e-9, "where the gas is densest")
	assert.Contains(t, well[margin].Remark, "20 %, common practice, no source")

	one := judge("one coil for all", "open", spectest.Hillclimb, func(trim *spec.Trim) { trim.Ignition.Coil.SparksPerCycle = 5 }, 4500)
	assert.Equal(t, check.Note, one[dwell].Verdict)
	assert.InDelta(t, 31510*spectest.PerRPM/5, one[dwell].Value, spectest.PerRPM)
	assert.Contains(t, units.Resolve(one[dwell].Remark, units.Metric),
		"at the limiter the coil is charged for 1.68 ms instead of 2.41 ms") // 4π/(5 · 816.8 rad/s) − 1.4 ms

	never := judge("no time", "open", spectest.Hillclimb, func(trim *spec.Trim) {
		trim.Ignition.Coil.SparksPerCycle, trim.Ignition.Coil.SparkTime = 5, 4e-3
	}, 4500)
	assert.Equal(t, check.Fail, never[dwell].Verdict)

	assert.Equal(t, check.Note, judge("wide gap", "open", spectest.Hillclimb, func(trim *spec.Trim) { trim.Ignition.Gap = 0.6e-3 }, 4500)[margin].Verdict)
	assert.Equal(t, check.Fail, judge("far too wide", "open", spectest.Hillclimb, func(trim *spec.Trim) { trim.Ignition.Gap = 0.9e-3 }, 4500)[margin].Verdict)
	assert.Empty(t, judge("no ignition", "open", spectest.Hillclimb, func(trim *spec.Trim) { trim.Ignition = nil }, 4500))
	untold := judge("a spark at every turn of the crank", "open", spectest.Hillclimb, func(trim *spec.Trim) {
		trim.Ignition.Coil.SparksPerCycle, trim.Ignition.Coil.SparkTime = 5, 9e-3
	}, 7000)
	assert.Equal(t, check.Fail, untold[margin].Verdict)
	assert.Contains(t, untold[margin].Remark, "not known at any speed: ")

	poor := judge("poor fuel", "open", spectest.Hillclimb, func(trim *spec.Trim) { trim.Fuel.KnockOctane = 88 }, 2500, 4500)
	f := poor[octane]
	assert.Equal(t, "octane number for full load", f.What)
	assert.Equal(t, check.Fail, f.Verdict)
	assert.InDelta(t, 4500*spectest.PerRPM, f.Speed, 1e-9)
	assert.Greater(t, f.Limit, 88.5)

	assert.Equal(t, check.Fail, judge("naturally aspirated", "free", spectest.ClubFour, func(trim *spec.Trim) { trim.Fuel.KnockOctane = 70 },
		2500)[octane].Verdict)
}

func TestVoltageShort(t *testing.T) {
	assert.Equal(t, check.OK, check.VoltageShort(0.2))
	assert.Equal(t, check.Note, check.VoltageShort(0.19))
	assert.Equal(t, check.Note, check.VoltageShort(0))
	assert.Equal(t, check.Fail, check.VoltageShort(-0.01))
}
