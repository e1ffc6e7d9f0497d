package run_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// The spec's pulses, entries, manifold and bearings reach the solver.
func TestExhaustSideReachesTheSolver(t *testing.T) {
	point := func(change func(*spec.Trim)) (flow, boost float64) {
		trim := spectest.Trim(t, spectest.Hillclimb, "open")
		change(trim)
		r := runtest.Solve(t, trim, 2600)
		require.NoError(t, r.Outcomes[0].Err)
		p := r.Outcomes[0].Point
		return p.Pulse.Flow, p.ManifoldPressure
	}
	with := func(entries int, volume float64) func(*spec.Trim) {
		return func(trim *spec.Trim) {
			turbine := *trim.Turbine
			turbine.Pulses, turbine.Entries, turbine.ManifoldVolume = true, entries, volume
			trim.Turbine = &turbine
		}
	}
	none, mean := point(func(*spec.Trim) {})
	assert.Zero(t, none)
	flow, boost := point(with(1, 2.4e-3))
	assert.True(t, flow > 0 && flow < 1)
	assert.Greater(t, boost, mean) // before the boost asked for is reached pulses give more of it
	divided, _ := point(with(2, 2.4e-3))
	assert.Less(t, divided, flow) // fewer cylinders on an entry, pulses further apart
	large, _ := point(with(1, 10e-3))
	assert.Greater(t, large, flow)
	_, dragged := point(func(trim *spec.Trim) {
		turbine := *trim.Turbine
		turbine.BearingLoss = 2e-5
		trim.Turbine = &turbine
	})
	assert.Less(t, dragged, mean)
}
