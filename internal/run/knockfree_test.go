package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/fuel"
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

// TestOctaneForBestCA50: a fuel with the octane index that best CA50 needs has its burn where a fuel that does not knock has it, and knocks just
// not. So has the spec's fuel with as many octane numbers more as it is short of.
func TestOctaneForBestCA50(t *testing.T) {
	for name, c := range map[string]struct {
		path, trim string
		speed      float64
		least      float64 // octane numbers short
	}{
		"short with boost":     {spectest.Hillclimb, "capped", 5100, 5},
		"short without boost":  {spectest.ClubFour, "free", 1500, 5},
		"to spare":             {spectest.Hillclimb, "capped", 7000, -30},
		"to spare, restricted": {spectest.ClubFour, "restricted", 7500, -30},
	} {
		r := runtest.Solved(t, c.path, c.trim, c.speed)
		k := freed(t, r)
		best := &k.Full[0]
		margin, err := r.MarginAtBest(best)
		require.NoError(t, err, name)
		require.Greater(t, -margin, c.least, name)
		needed, err := r.IndexForBest(best)
		require.NoError(t, err, name)
		has := r.Outcomes[0].Point.KnockOctane
		assert.InDelta(t, has-margin, needed, 1e-9, "%s: the octane index of this charge is held at one K whatever the spark", name)

		solve := func(change func(f *fuel.Fuel)) airpath.Point {
			setup := r.Engine.Setup
			change(&setup.Fuel)
			e, err := airpath.New(setup)
			require.NoError(t, err, name)
			as := airpath.Demand{Speed: r.Outcomes[0].Speed, Target: r.Outcomes[0].Point.ManifoldPressure}
			if setup.Compressor == nil {
				as.Target = math.Inf(1)
			}
			p, err := e.NewSolver().Solve(as)
			require.NoError(t, err, name)
			return p
		}
		limit := r.Engine.Setup.Combustion.KnockLimit
		for way, p := range map[string]airpath.Point{
			"by its index":   solve(func(f *fuel.Fuel) { f.Octane = needed }),
			"by RON and MON": solve(func(f *fuel.Fuel) { f.RON, f.MON = f.RON-margin, f.MON-margin }),
		} {
			assert.InDelta(t, best.Point.CA50, p.CA50, 0.01*degree, "%s, %s", name, way)
			assert.InDelta(t, limit, p.KnockIntegral, 1e-3, "%s, %s: the solver's knock limit is met to 1e-5", name, way)
			assert.InDelta(t, needed, p.KnockOctane, 1e-6, "%s, %s", name, way)
		}
		if margin < 0 {
			assert.Greater(t, r.Outcomes[0].Point.CA50, best.Point.CA50+1*degree, name)
			continue
		}
		// Where nothing holds the burn, what is to spare is to spare with the spark as it is.
		here, err := r.OctaneMargin(&r.Outcomes[0].Point)
		require.NoError(t, err, name)
		assert.Equal(t, here, margin, name)
	}
}

// TestMarginThatNothingTells: without a point at the best CA50, or too far from it, no number is made up.
func TestMarginThatNothingTells(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "capped", 5100)
	_, err := r.MarginAtBest(&run.Freed{Err: run.ErrNoSolution})
	assert.EqualError(t, err, "no solution with the burn at its best")
	_, err = r.IndexForBest(&run.Freed{Err: run.ErrNoSolution})
	assert.EqualError(t, err, "no solution with the burn at its best")
	far := r.Outcomes[0].Point
	far.KnockIntegral = 10
	_, err = r.MarginAtBest(&run.Freed{Point: far})
	assert.ErrorContains(t, err, "no octane number tells")
	_, err = r.IndexForBest(&run.Freed{Point: far})
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
