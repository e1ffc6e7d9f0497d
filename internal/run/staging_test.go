package run_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/injector"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
	"bellmouth/internal/units"
)

// TestSecondSetByHand: at the limiter, 7800 rpm, the second set at its full share S has 10 % more than its shortest pulse of
// 1.8 ms; fuel = ṁ2 (1.98 ms − d2)/S, of which the primary alone would make (fuel/ṁ1 + d1) of the cycle of 120/7800 s.
func TestSecondSetByHand(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 3000, 6000)
	second, err := r.SecondSet(0.10)
	require.NoError(t, err)
	const share, ratio = 850.0 / 1400, 850.0 / 550 // both sets rated alike
	d1, _ := r.Trim.Injection.Staging.Primary.Injector.DeadTime.At(13.5)
	d2, _ := r.Trim.Injection.Staging.Secondary.Injector.DeadTime.At(13.5)
	assert.InEpsilon(t, (ratio*(1.98e-3-d2)/share+d1)/(120.0/7800), second.StartDuty, 1e-9)
	assert.InDelta(t, 7800*spectest.PerRPM, second.Speed, 1e-9)
	assert.InDelta(t, 0.9, second.Latest, 1e-12)

	r.Trim.Limits.InjectorDuty = 0.1
	_, err = r.SecondSet(0.10)
	var none *injector.StartError
	require.ErrorAs(t, err, &none)
	assert.InDelta(t, 0.1, none.Ceiling, 1e-12)
}

// TestPlanePoints: what lies above the full-load line is no point, and what has no solution is told with its pressure.
func TestPlanePoints(t *testing.T) {
	r := runtest.Solved(t, spectest.ClubFour, "free", 6000)
	p := boost.SweepPlane(t.Context(), r.Engine, r.Trim.Boost.Target, nil, []float64{3000 * spectest.PerRPM}, []float64{40e3, 80e3, 200e3})
	points := run.PlanePoints(&p)
	require.Len(t, points, 2, "the engine draws 2 bar at no speed")
	for i, pm := range []float64{40e3, 80e3} {
		assert.InDelta(t, pm, points[i].Pressure, 1e-9)
		assert.True(t, points[i].Injected())
		// A regulator that does not follow the manifold leaves more over the injectors in vacuum.
		assert.InDelta(t, 3.5e5+r.Trim.Venue.Pressure-pm, points[i].Point.RailDifference, 1)
	}
	assert.True(t, run.SecondRests(points), "there is none")
	assert.Empty(t, r.PlaneErrors(&p))
	p.Cells[0][0].Err = &airpath.PointError{Speed: 3000 * spectest.PerRPM, Stage: "manifold", Reason: "no way"}
	assert.False(t, points[0].Injected())
	errs := r.PlaneErrors(&p)
	require.Len(t, errs, 1)
	assert.Equal(t, `trim "free", manifold at 0.40 bar abs: 3000 rpm: manifold: no way`, units.Resolve(errs[0].Error(), units.Metric))
}

// TestAllowedDuty: a spec without a limit allows the whole cycle.
func TestAllowedDuty(t *testing.T) {
	r := &run.Run{Trim: spectest.Trim(t, spectest.Hillclimb, "open"), Context: t.Context()}
	assert.InDelta(t, 0.9, r.AllowedDuty(), 1e-12)
	r.Trim.Limits.InjectorDuty = 0
	assert.InDelta(t, 1, r.AllowedDuty(), 1e-12)
}
