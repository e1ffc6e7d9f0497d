package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/injector"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
)

// TestLightLoads: each point has the pressure asked for, and at no more than that a spring keeps the wastegate shut; without an actuator in the
// spec it is taken to be wide open.
func TestLightLoads(t *testing.T) {
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	r := runtest.Solve(t, trim, 2000, 3000, 5000, 7000)
	fuel := boost.Figure{Limit: math.NaN(), Of: func(o *boost.Outcome) (float64, bool) { return o.Point.FuelPerCycle, true }}
	light := func() []boost.Outcome {
		all := r.LightLoads(40e3, fuel)
		assert.InDelta(t, 2000*spectest.PerRPM, all[0].Speed, 1e-9)
		assert.InDelta(t, 7000*spectest.PerRPM, all[len(all)-1].Speed, 1e-9)
		for i := range all {
			require.NoError(t, all[i].Err)
			assert.InEpsilon(t, 40e3, all[i].Point.ManifoldPressure, 1e-6)
			assert.True(t, math.IsNaN(all[i].TargetBoost), "no boost is asked for")
		}
		return all
	}
	for _, o := range light() {
		assert.InDelta(t, 0, o.Point.WastegateFlow, 1e-9)
	}
	trim.Actuator = nil
	for _, o := range light() {
		assert.Positive(t, o.Point.WastegateFlow)
	}
}

// TestPartLoadMixture: where full load comes to more than the venue's pressure, the mixture at part load goes by the share of that one, as
// Mixture.Lambda has it, at light load and in the plane; the targets' torque over pressure is that of the plane.
func TestPartLoadMixture(t *testing.T) {
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	m := &trim.Fuel.Mixture
	m.PartLoad, m.From, m.To = 1.1, 0.2, 0.95
	venue := trim.Venue.Pressure
	r := runtest.Solve(t, trim, 2500, 5000)
	wanted := func(speed, pressure float64) float64 {
		lambda, _ := m.Lambda(speed, pressure, pressure/venue)
		full, _ := m.Lambda(speed, pressure, 1)
		require.Greater(t, lambda, full+0.02, "it is neither of both ends")
		require.Less(t, lambda, m.PartLoad-0.02, "it is neither of both ends")
		return lambda
	}
	const pressure = 55e3
	fuel := boost.Figure{Limit: math.NaN(), Of: func(o *boost.Outcome) (float64, bool) { return o.Point.FuelPerCycle, true }}
	for _, o := range r.LightLoads(pressure, fuel) {
		require.NoError(t, o.Err)
		assert.InDelta(t, wanted(o.Speed, pressure), o.Point.Lambda, 1e-6)
	}
	targets, err := r.Targets()
	require.NoError(t, err)
	for i, speed := range r.Speeds() {
		plane, err := r.Plane([]float64{pressure})
		require.NoError(t, err)
		c := plane.Cells[i][0]
		require.NoError(t, c.Err)
		assert.InDelta(t, wanted(speed, pressure), c.Point.Lambda, 1e-6)
		asked, _ := targets.Loads[i].Torque.PressureFor(c.Point.Torque)
		assert.InEpsilon(t, pressure, asked, 0.01, "between its points the table is interpolated")
	}
}

// TestWantedPulse: 8 mg, 2 of them by the second set, at 3 g/s and 1 ms of dead time are 6/3 + 1 = 3 ms.
func TestWantedPulse(t *testing.T) {
	p := airpath.Point{ManifoldPressure: 40e3, RailDifference: 3e5, FuelPerCycle: 8e-6}
	p.Injection = injector.Split{Primary: injector.Delivery{DeadTime: 1e-3, MassFlow: 3e-3}, Secondary: injector.Delivery{Fuel: 2e-6}}
	pulse, applies := run.WantedPulse(&p, 40e3)
	assert.InDelta(t, 3e-3, pulse, 1e-15)
	assert.True(t, applies)
	_, applies = run.WantedPulse(&p, 41e3)
	assert.False(t, applies, "the engine takes less than that")
	p.RailDifference = 0
	_, applies = run.WantedPulse(&p, 40e3)
	assert.False(t, applies)
}
