package airpath

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/units"
)

func singleOf(t testing.TB, s Setup, speed, boost float64) (*Single, Point) {
	t.Helper()
	e, err := New(s)
	require.NoError(t, err)
	p, err := e.NewSolver().Solve(demand(&s, speed, boost))
	require.NoError(t, err)
	one, err := e.SingleAt(&p)
	require.NoError(t, err)
	return one, p
}

// TestSingleIsThePoint: all cylinders alike make up the engine.
func TestSingleIsThePoint(t *testing.T) {
	limited := unrestricted()
	limited.Limits.PeakPressure = 90e5
	for name, s := range map[string]Setup{
		"restricted": invented(), "unrestricted": unrestricted(), "aspirated": aspirated(), "twin": twin(), "peak pressure": limited,
	} {
		for _, speed := range []float64{2500, 4500, 6500} {
			one, p := singleOf(t, s, speed*rpm, 1e5)
			r, err := one.Run(1, p.Lambda, p.CA50)
			require.NoError(t, err)
			n := float64(s.Cylinders)
			// Four-stroke: one cycle in two turns, so the indicated power is IMEP Vd N/(4π).
			assert.InEpsilon(t, p.IMEP*s.Cylinder.Displacement()*p.Speed/(4*math.Pi), r.IndicatedPower, 1e-6, name)
			assert.InEpsilon(t, p.Power, n*r.Power, 1e-6, name)
			assert.InEpsilon(t, p.KnockIntegral, r.KnockIntegral, 1e-6, name)
			assert.InEpsilon(t, p.PeakPressure, r.PeakPressure, 1e-6, name)
			assert.InEpsilon(t, p.TurbineInletTemperature, r.ExhaustTemperature, 1e-6, name)
		}
	}
}

// TestSingleAnswers holds which way a cylinder answers, and by about how much.
func TestSingleAnswers(t *testing.T) {
	one, p := singleOf(t, invented(), 5000*rpm, 1e5)
	run := func(air, lambda, ca50 float64) SingleResult {
		r, err := one.Run(air, lambda, ca50)
		require.NoError(t, err)
		return r
	}
	own := run(1, p.Lambda, p.CA50)
	// Work goes with the heat released, and so with the air: a per cent more of it gives about a per cent more.
	more := run(1.01, p.Lambda, p.CA50)
	assert.InDelta(t, 1.01, more.IndicatedPower/own.IndicatedPower, 2e-3)
	assert.Greater(t, more.KnockIntegral, own.KnockIntegral)
	assert.Greater(t, more.PeakPressure, own.PeakPressure)
	// Richer than lambda 1 the exhaust cools, since more fuel is heated by the same oxygen.
	assert.Less(t, run(1, p.Lambda-0.03, p.CA50).ExhaustTemperature, own.ExhaustTemperature)
	late := run(1, p.Lambda, p.CA50+5*deg)
	assert.Less(t, late.KnockIntegral, own.KnockIntegral)
	assert.Greater(t, late.ExhaustTemperature, own.ExhaustTemperature)
	assert.Less(t, late.IndicatedPower, own.IndicatedPower)
}

func TestSingleRefuses(t *testing.T) {
	one, p := singleOf(t, invented(), 5000*rpm, 1e5)
	for _, bad := range []struct {
		air, lambda, ca50 float64
		want              string
	}{
		{0, 0.85, p.CA50, "air is 0"}, {-1, 0.85, p.CA50, "air is -1"}, {math.NaN(), 0.85, p.CA50, "air is NaN"}, {math.Inf(1), 0.85, p.CA50, "air is +Inf"},
		{1, 0.2, p.CA50, "charge"}, {1, math.NaN(), p.CA50, "charge"}, {1, 0.85, 4, "CA50 is 4"}, {1, 0.85, math.NaN(), "CA50 is NaN"},
	} {
		_, err := one.Run(bad.air, bad.lambda, bad.ca50)
		var at *PointError
		require.ErrorAs(t, err, &at, bad.want)
		assert.ErrorContains(t, err, bad.want)
		require.Error(t, err)
		assert.Contains(t, units.Resolve(err.Error(), units.Metric), "5000 rpm")
	}
	_, err := one.e.SingleAt(&Point{})
	assert.ErrorContains(t, err, "not been solved")
}

func BenchmarkSingle(b *testing.B) {
	one, p := singleOf(b, invented(), 5000*rpm, 1e5)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := one.Run(1.02, 0.83, p.CA50); err != nil {
			b.Fatal(err)
		}
	}
}
