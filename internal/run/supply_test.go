package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
	"bellmouth/internal/supply"
	"bellmouth/internal/units"
)

// TestFeedByHand: the fuel system of the example at 7500 rpm, 5.55 bar of rail above the venue.
func TestFeedByHand(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 1500, 7500)
	require.True(t, r.Fed())
	all := r.Feeds()
	liquid, err := supply.LiquidOf(r.Trim.Fuel.Grade, 303.15)
	require.NoError(t, err)
	p := &r.Outcomes[1].Point
	assert.InDelta(t, 4e5+p.ManifoldPressure-r.Trim.Venue.Pressure, all[1].Operation.RailPressure, 1e-6, "the rail follows the manifold")
	for i, f := range all {
		op := &f.Operation
		require.True(t, f.Known())
		assert.InEpsilon(t, r.Outcomes[i].Point.FuelFlow/liquid.Density, f.Demand, 1e-9)
		assert.InEpsilon(t, op.RailPressure+op.LineLoss+op.FilterLoss, op.Rise, 1e-9)
		assert.InEpsilon(t, op.PumpFlow-f.Demand, op.ReturnFlow, 1e-9)
		assert.InEpsilon(t, op.PumpFlow/f.Demand-1, f.Margin(), 1e-9)
		assert.InEpsilon(t, f.Lift/f.Demand-1, f.LiftMargin(), 1e-9)
	}
	// The line, 3.8 m of 10 mm with fittings of 7: at the pumps' flow v = Q/(π d²/4), Δp = (f L/d + 7) ρ v²/2, with f of
	// a smooth pipe by Blasius, 0.316/Re^0.25, which holds within 2 % here (White, Fluid Mechanics, §6.6).
	f := &all[1]
	v := f.Operation.PumpFlow / (math.Pi * 0.010 * 0.010 / 4)
	reynolds := liquid.Density * v * 0.010 / liquid.Viscosity
	factor := 0.316 / math.Pow(reynolds, 0.25)
	assert.InEpsilon(t, v, f.Line.Velocity, 1e-9)
	assert.InEpsilon(t, reynolds, f.Line.Reynolds, 1e-9)
	assert.InEpsilon(t, (factor*380+7)*liquid.Density*v*v/2, f.Operation.LineLoss, 0.02)
	assert.Equal(t, supply.Turbulent, f.Line.Regime)
	// Two pumps at 13.2 V, straight between the tests at 12 V and 13.5 V: 0.2 and 0.8 of them. Between 5 and 7 bar the curves
	// bend so little that the straight line through those points is within 1 %.
	bar := f.Operation.Rise / 1e5
	low, high := 148+(104-148)*(bar-5)/2, 192+(149-192)*(bar-5)/2
	assert.InEpsilon(t, 2*(0.2*low+0.8*high)*spectest.LitreAnHour, f.Operation.PumpFlow, 0.01)
	assert.Same(t, f, run.LeastFeed(all, (*run.Feed).Margin), "the more it takes, the less is left")
}

// TestFeedShort: pumps that give less than the engine takes, a curve that ends before the rail's pressure, and a full load without a solution.
func TestFeedShort(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 2000, 7500)
	spectest.FitPumps(r.Trim, spectest.Pump(t, map[float64]float64{0: 200, 3: 150, 5: 120, 8: 60}, 0, 3, 5, 8))
	all := r.Feeds()
	assert.Positive(t, all[0].Margin())
	assert.Negative(t, all[1].Margin())
	assert.Zero(t, all[1].Operation.ReturnFlow)
	assert.True(t, all[1].Operation.Short())
	assert.Less(t, all[1].Operation.RailPressure, all[1].Asked)
	assert.Zero(t, all[1].Line)

	spectest.FitPumps(r.Trim, spectest.Pump(t, map[float64]float64{0: 400, 3: 350}, 0, 3))
	all = r.Feeds()
	require.Equal(t, "pressure that the pumps have to give is 5.55 bar; the pumps' curve tells from 0.00 bar to 3.00 bar",
		units.Resolve(all[1].Err.Error(), units.Metric))
	var ends *supply.RangeError
	assert.ErrorAs(t, all[1].Err, &ends)
	assert.False(t, all[1].Known())
	assert.NotSame(t, &all[1], run.LeastFeed(all, (*run.Feed).Margin), "what is not known is not the least")

	r.Outcomes[0].Err = &airpath.PointError{Speed: r.Outcomes[0].Speed, Stage: "turbine", Reason: "no way"}
	all = r.Feeds()
	assert.False(t, all[0].Solved)
	assert.Nil(t, run.LeastFeed(all, (*run.Feed).Margin))
}

// TestUseByHand: 95 s, 55 % of them at full flow, 30 % at 0.4 of it and 15 % at 0.08: 0.55 + 0.12 + 0.012 = 0.682 of it.
func TestUseByHand(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 5000, 7500)
	u, err := r.Use()
	require.NoError(t, err)
	density, err := r.Trim.Fuel.Grade.DensityAt(303.15)
	require.NoError(t, err)
	q := r.Outcomes[1].Point.FuelFlow / density
	assert.InEpsilon(t, density, u.Density, 1e-12)
	assert.InEpsilon(t, q, u.Most, 1e-9)
	assert.InDelta(t, 7500*spectest.PerRPM, u.Speed, 1e-9)
	assert.InEpsilon(t, 0.682*q, u.Mean, 1e-9)
	assert.InEpsilon(t, 95*0.682*q, u.Stage, 1e-9)
	assert.InDelta(t, 28e-3, u.Usable(), 1e-12) // 32 L less 4 L of reserve
	assert.InEpsilon(t, 4e-3+95*0.682*q, u.Fill(), 1e-9)
	for i := range r.Outcomes {
		r.Outcomes[i].Err = &airpath.PointError{Speed: r.Outcomes[i].Speed, Stage: "turbine", Reason: "no way"}
	}
	_, err = r.Use()
	assert.EqualError(t, err, "no point has a solution")
}

// TestWarm: mass flow through an orifice goes with √ρ, so that the square of its change is the density's.
func TestWarm(t *testing.T) {
	w, err := run.Warm(spectest.Trim(t, spectest.Hillclimb, "open").Fuel)
	require.NoError(t, err)
	assert.InEpsilon(t, 1+w.Change, (1+w.Flow)*(1+w.Flow), 1e-12)
	assert.InEpsilon(t, 1, (1+w.Flow)*(1+w.Lambda), 1e-12)
	// Petrols expand by 0.095 to 0.1 % a kelvin (common practice, no source): 50 K of it.
	assert.InDelta(t, -0.049, w.Change, 0.003)
}
