package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
)

// TestThroat: the filter's loss and the throat's flow, each by its own formula, agree at the state found.
func TestThroat(t *testing.T) {
	for path, trim := range map[string]string{spectest.Hillclimb: "capped", spectest.ClubFour: "restricted"} {
		r := runtest.Solved(t, path, trim, 5000)
		th, err := r.Throat()
		require.NoError(t, err)
		v := r.Trim.Venue
		loss := r.Trim.Intake.FilterLossCoefficient * th.MaxFlow * th.MaxFlow * v.Temperature / v.Pressure
		// Where the discharge coefficient goes by Reynolds number it moves a little with the pressure: 1e-6 of the loss's change.
		assert.InDelta(t, v.Pressure-loss, th.Upstream.Pressure, 0.5, trim)
		assert.Greater(t, loss, 100.0, "a filter that loses something is needed to prove it")

		// NACA Report 1135 (1953), eqs. 44 and 43 at M = 1, by the air's own γ.
		g := th.Upstream.Gamma
		assert.InEpsilon(t, math.Pow(2/(g+1), g/(g-1)), th.Pressure()/th.Upstream.Pressure, 1e-12)
		assert.InEpsilon(t, 2/(g+1), th.Temperature()/v.Temperature, 1e-12)
		assert.Zero(t, th.Loss(0))
	}
}

// TestThroatOfThePoint: the most air of the throat is what the solved engine takes where it chokes; the two come by different ways. The power
// of that air is the point's, since no other speed here makes more of a kilogram.
func TestThroatOfThePoint(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "capped", 7000)
	p := &r.Outcomes[0].Point
	require.Equal(t, airpath.Restrictor, p.Limit)
	th, err := r.Throat()
	require.NoError(t, err)
	assert.InEpsilon(t, th.MaxFlow, p.AirFlow, 1e-4)
	power, at, ok := r.PowerCeiling(&th)
	require.True(t, ok)
	assert.Same(t, &r.Outcomes[0], at)
	assert.InEpsilon(t, p.Power, power, 1e-4)
	p.Power = -1
	_, _, ok = r.PowerCeiling(&th)
	assert.False(t, ok)
}
