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
