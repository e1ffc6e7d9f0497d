package run_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

func freed(t testing.TB, r *run.Run) *run.KnockFree {
	t.Helper()
	k, err := r.KnockFree()
	require.NoError(t, err)
	return k
}

// TestOctaneForBestPhasing: a fuel with the octane numbers that are said to be short has the burn where a fuel that does not knock has it,
// and knocks just not.
func TestOctaneForBestPhasing(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "capped", 5100)
	k := freed(t, r)
	margin, err := r.MarginAtBest(&k.Full[0])
	require.NoError(t, err)
	short := -margin
	require.Greater(t, short, 5.0)
	require.Greater(t, r.Outcomes[0].Point.CA50, k.Full[0].Point.CA50+5*degree)
	setup := r.Engine.Setup
	setup.Fuel.RON, setup.Fuel.MON = setup.Fuel.RON+short, setup.Fuel.MON+short
	e, err := airpath.New(setup)
	require.NoError(t, err)
	p, err := e.NewSolver().Solve(airpath.Demand{Speed: r.Outcomes[0].Speed, Target: r.Outcomes[0].Point.ManifoldPressure})
	require.NoError(t, err)
	assert.InDelta(t, k.Full[0].Point.CA50, p.CA50, 0.01*degree)
	assert.InDelta(t, setup.Combustion.KnockLimit, p.KnockIntegral, 1e-3, "the solver's knock limit is met to 1e-5")

	// What is to spare where nothing holds the burn: a fuel with that much less knocks just not.
	free := runtest.Solved(t, spectest.Hillclimb, "capped", 7000)
	k = freed(t, free)
	margin, err = free.MarginAtBest(&k.Full[0])
	require.NoError(t, err)
	require.Greater(t, margin, 5.0)
	here, err := free.OctaneMargin(&free.Outcomes[0].Point)
	require.NoError(t, err)
	assert.Equal(t, here, margin, "the burn is at its best")
	setup = free.Engine.Setup
	setup.Fuel.RON, setup.Fuel.MON = setup.Fuel.RON-margin, setup.Fuel.MON-margin
	e, err = airpath.New(setup)
	require.NoError(t, err)
	p = boost.Sweep(t.Context(), e, free.Trim.Boost.Target, []float64{free.Outcomes[0].Speed})[0].Point
	assert.InDelta(t, setup.Combustion.BestCA50, p.CA50, 0.01*degree)
	assert.InDelta(t, setup.Combustion.KnockLimit, p.KnockIntegral, 1e-3)
}

// TestMarginThatNothingTells: without a point at the best CA50, or too far from it, no number is made up.
func TestMarginThatNothingTells(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "capped", 5100)
	_, err := r.MarginAtBest(&run.Freed{Err: run.ErrNoSolution})
	assert.EqualError(t, err, "no solution with the burn at its best")
	far := r.Outcomes[0].Point
	far.KnockIntegral = 10
	_, err = r.MarginAtBest(&run.Freed{Point: far})
	assert.ErrorContains(t, err, "no octane number tells")
}

// TestBorder: at the border the charge knocks as the spec's own limit says, without the margin kept; where it does not knock it is the best CA50,
// and where it knocks at the latest there is none.
func TestBorder(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "capped", 4500, 7000)
	limit := r.Trim.Engine.Combustion.KnockLimit
	require.Less(t, r.Engine.Combustion.KnockLimit, limit)
	borders := r.Borders()
	require.Len(t, borders, 2)
	p := &r.Outcomes[0].Point
	require.NoError(t, borders[0].Err)
	assert.Less(t, borders[0].CA50, p.CA50)
	one, err := r.Engine.SingleAt(p)
	require.NoError(t, err)
	res, err := one.Run(1, p.Lambda, borders[0].CA50)
	require.NoError(t, err)
	assert.InDelta(t, limit, res.KnockIntegral, 1e-5)
	assert.InDelta(t, res.SparkAngle, borders[0].Spark, 1e-6)
	assert.Equal(t, r.Engine.Combustion.BestCA50, borders[1].CA50)

	r.Trim.Engine.Combustion.KnockLimit = 0.1
	assert.ErrorContains(t, r.BorderAt(p).Err, "knock even at the latest CA50")
	r.Outcomes[0].Err = run.ErrNoSolution
	assert.ErrorIs(t, r.Borders()[0].Err, run.ErrNoSolution)
}

// TestSparkPlane: full load is the plane's edge, knock holds the burn exactly where it is late, and a control that interpolates across the edge
// meets the spark of full load.
func TestSparkPlane(t *testing.T) {
	trim := spectest.Trim(t, spectest.Hillclimb, "capped")
	trim.Actuator, trim.Control = nil, nil // at part load the wastegate opens at will
	r := runtest.Solve(t, trim, 2500, 4500, 5200, 7000)
	var pressures []float64
	for p := 40e3; p < 270e3; p += 20e3 {
		pressures = append(pressures, p)
	}
	plane := freed(t, r).Over(boost.SweepPlane(t.Context(), r.Engine, r.Trim.Boost.Target, nil, r.Speeds(), pressures))
	limit, best := r.Engine.Combustion.KnockLimit, r.Engine.Combustion.BestCA50
	late := 0
	for _, c := range plane.Points(false) {
		require.Equal(t, run.NotHeld, c.Hold())
		assert.InDelta(t, c.Pressure, c.Point.ManifoldPressure, 1, "%v rpm", run.RPM(c.Speed))
		if c.Point.CA50 > best+0.1*degree {
			late++
			assert.InDelta(t, limit, c.Point.KnockIntegral, 1e-4*limit)
			margin, err := r.MarginAtBest(c.Best)
			require.NoError(t, err)
			assert.Negative(t, margin)
		} else {
			assert.LessOrEqual(t, c.Point.KnockIntegral, limit*(1+1e-4))
		}
	}
	assert.Greater(t, late, 5)

	byPoint := map[[2]float64]float64{}
	edge := map[float64][2]float64{} // by speed: pressure and spark above the line
	for _, c := range plane.Points(true) {
		if c.Above {
			edge[c.Speed] = [2]float64{c.Pressure, c.Spark}
			continue
		}
		byPoint[[2]float64{c.Speed, c.Pressure}] = -c.Point.SparkAngle
	}
	require.Len(t, edge, len(r.Outcomes))
	for i := range r.Outcomes {
		full := &r.Outcomes[i].Point
		above := edge[full.Speed]
		below := above[0] - 20e3
		part := (full.ManifoldPressure - below) / 20e3
		require.True(t, part > 0 && part < 1)
		interpolated := byPoint[[2]float64{full.Speed, below}]*(1-part) + above[1]*part
		// Where full load lies close above a point, the line's direction is that of the point before.
		assert.InDelta(t, -full.SparkAngle, interpolated, 0.2*degree, "%v rpm", run.RPM(full.Speed))
		assert.LessOrEqual(t, above[1], -full.SparkAngle+1e-12)
	}
}

// TestHold: what keeps a point from being what was asked for.
func TestHold(t *testing.T) {
	point := func(reached float64, limit airpath.Limit, notes airpath.Note) run.SparkHold {
		c := run.SparkPoint{Pressure: 1e5, Cell: &boost.Cell{Point: airpath.Point{ManifoldPressure: reached, Limit: limit, Notes: notes}}}
		return c.Hold()
	}
	assert.Equal(t, run.NotHeld, point(1e5, airpath.Target, 0))
	assert.Equal(t, run.NotHeld, point(0.991e5, airpath.Atmosphere, 0), "a filter's loss")
	assert.Equal(t, run.KnockUnmet, point(1e5, airpath.Target, airpath.NoteKnockUnmet))
	assert.Equal(t, run.PressureUnmet, point(1e5, airpath.Target, airpath.NotePeakPressureUnmet))
	assert.Equal(t, run.KnockCuts, point(0.9e5, airpath.Knock, 0))
	assert.Equal(t, run.PressureUnmet, point(0.9e5, airpath.CylinderPressure, 0))
	assert.Equal(t, run.NotReached, point(0.9e5, airpath.Restrictor, 0))
}

// TestOctaneNeed: a fuel with the number that is needed just does it, with the target boost, at the latest CA50. The spec may give the knock's own
// octane number, or RON and MON, of which the charge's temperature makes an index.
func TestOctaneNeed(t *testing.T) {
	for name, c := range map[string]struct {
		octane func(f *spec.Fuel, by float64)
		within float64
	}{
		"one number": {func(f *spec.Fuel, by float64) { f.KnockOctane = 88 + by }, 0.01 * degree},
		// The two octane numbers that are kept clear of the knock limit are a smaller share of the better fuel's: it may burn a little earlier.
		"RON and MON": {func(f *spec.Fuel, by float64) { f.KnockOctane, f.Grade.RON, f.Grade.MON = 0, 92+by, 82+by }, 0.1 * degree},
	} {
		solve := func(by float64) *run.Run {
			trim := spectest.Trim(t, spectest.Hillclimb, "open")
			f := *trim.Fuel
			c.octane(&f, by)
			trim.Fuel = &f
			return runtest.Solve(t, trim, 4500)
		}
		r := solve(0)
		require.Equal(t, airpath.Knock, r.Outcomes[0].Point.Limit, name)
		needs, err := r.OctaneNeeds()
		require.NoError(t, err)
		need := needs(&r.Outcomes[0])
		require.True(t, need.Known)
		short := need.Octane - r.Engine.Fuel.KnockOctane()
		assert.Greater(t, short, 0.5, name)
		enough := solve(short + 1e-3)
		assert.Equal(t, airpath.Target, enough.Outcomes[0].Point.Limit, name)
		assert.InDelta(t, r.Engine.Combustion.LatestCA50, enough.Outcomes[0].Point.CA50, c.within, name)
		needs, err = enough.OctaneNeeds()
		require.NoError(t, err)
		assert.False(t, needs(&enough.Outcomes[0]).Known, "it does not knock there")
	}
}
