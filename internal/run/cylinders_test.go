package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/manifold"
	"bellmouth/internal/numeric"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

const degree = math.Pi / 180

// TestSpreadRoutes: figures that say the same are read the same, whatever they are of.
func TestSpreadRoutes(t *testing.T) {
	even := runtest.WithSpread(t, spectest.Hillclimb, "capped", runtest.Flowing(1, 1, 1, 1, 1), 5000, 5500)
	want := []float64{0.97, 1.01, 1.03, 1, 0.99}
	with := func(s spec.Spread) *run.Run {
		m := *even.Trim.Manifold
		m.Spread = &s
		trim := *even.Trim
		trim.Manifold = &m
		return &run.Run{Trim: &trim, Engine: even.Engine, Outcomes: even.Outcomes, Context: t.Context()}
	}
	// Exhaust temperatures as the model has them at peak power, with the same fuel and spark for all.
	p := even.Outcomes[1].Point
	require.Greater(t, p.Power, even.Outcomes[0].Point.Power)
	one, err := even.Engine.SingleAt(&p)
	require.NoError(t, err)
	var hot, lambda, flow []float64
	for _, w := range want {
		res, err := one.Run(w, w*p.Lambda, p.CA50)
		require.NoError(t, err)
		hot, lambda, flow = append(hot, res.ExhaustTemperature), append(lambda, 0.85*w), append(flow, 83*w)
	}
	for _, c := range []struct {
		spread spec.Spread
		source run.ShareSource
		within float64
	}{
		{spec.Spread{ExhaustTemperature: hot}, run.SharesFromExhaust, 2e-4}, // read with one slope, where the curve bends a little
		{spec.Spread{Lambda: lambda}, run.SharesFromLambda, 1e-12},
		{spec.Spread{Flow: flow}, run.SharesFromFlow, 1e-12},
	} {
		shares, err := with(c.spread).Shares()
		require.NoError(t, err)
		assert.Equal(t, c.source, shares.Source)
		require.Len(t, shares.Figures, 5)
		for i, s := range shares.Air {
			assert.InDelta(t, want[i]/5, s, c.within)
		}
		if c.source == run.SharesFromExhaust {
			assert.Equal(t, even.Outcomes[1].Speed, shares.Speed)
			assert.InEpsilon(t, (hot[2]-hot[0])/(0.06*p.Lambda), shares.Slope, 0.02, "rise from the leanest to the richest")
		}
	}
	// Figures that no mixture explains are a doubt about the result.
	_, err = with(spec.Spread{ExhaustTemperature: []float64{1000, 1300, 1300, 1300, 1300}}).Shares()
	assert.ErrorContains(t, err, "manifold.spread.exhaust_temperature tells no shares of the air: cylinder 1")
	doubt := run.Unread(err)
	require.NotNil(t, doubt)
	assert.Equal(t, even.Outcomes[1].Speed, doubt.Speed)
	assert.Nil(t, run.Unread(run.ErrNoSolution))

	none, err := (&run.Run{Trim: spectest.Trim(t, spectest.Hillclimb, "capped"), Engine: even.Engine, Context: t.Context()}).Shares()
	require.NoError(t, err)
	assert.NotNil(t, none, "flow needs no solved point")
	lost := with(spec.Spread{ExhaustTemperature: hot})
	lost.Outcomes = nil
	none, err = lost.Shares()
	require.NoError(t, err)
	assert.Nil(t, none, "exhaust temperatures do")
}

// TestCylindersAreTheEngine: what the shares are judged with is the engine itself.
func TestCylindersAreTheEngine(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "capped", 4500)
	p := r.Outcomes[0].Point
	c, err := r.CylindersAt(&p)
	require.NoError(t, err)
	charge := manifold.Charge{Air: 1, Lambda: p.Lambda, CA50: p.CA50}
	a, err := c.Engine.Cylinder(charge)
	require.NoError(t, err)
	assert.InEpsilon(t, p.Power/5, a.Power, 1e-9)
	assert.InDelta(t, p.KnockIntegral/r.Engine.Combustion.KnockLimit, a.Knock, 1e-9)
	knock, err := c.KnockIntegral(charge)
	require.NoError(t, err)
	assert.InDelta(t, p.KnockIntegral, knock, 1e-9)
}

// TestPartsOfTheCylinders: the fullest holds the spark by its knock, or by its pressure where that limit is nearer; with less lambda allowed it sets
// the mixture too, and the emptiest are richer than is clean where that is stated.
func TestPartsOfTheCylinders(t *testing.T) {
	parts := func(change func(trim *spec.Trim)) []run.CylinderPart {
		trim := spectest.Trim(t, spectest.Hillclimb, "capped")
		m, s := *trim.Manifold, *trim.Manifold.Spread
		m.Spread = &s
		trim.Manifold = &m
		change(trim)
		r := runtest.Solve(t, trim, 4500)
		shares, err := r.Shares()
		require.NoError(t, err)
		return r.SpreadCostAt(&r.Outcomes[0], shares.Air).Parts
	}
	none := run.CylinderPart{}
	assert.Equal(t, []run.CylinderPart{none, none, {Knock: true}, none, none}, parts(func(*spec.Trim) {}))
	assert.Equal(t, []run.CylinderPart{none, none, {Pressure: true}, none, none},
		parts(func(trim *spec.Trim) { trim.Limits.PeakCylinderPressure = 88e5 }))
	assert.Equal(t, []run.CylinderPart{none, none, {Lean: true, Knock: true}, none, none},
		parts(func(trim *spec.Trim) { trim.Manifold.Spread.Leanest = 0.855 }))
	assert.Equal(t, []run.CylinderPart{{Rich: true}, none, {Knock: true}, none, {Rich: true}},
		parts(func(trim *spec.Trim) { trim.Manifold.Spread.Richest = 0.84 }))
}

// TestSpreadCostAddsUp: what is lost is the even engine's power less the sum of the cylinders', and the even engine is the operating point.
func TestSpreadCostAddsUp(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "capped", 4500, 5500)
	shares, err := r.Shares()
	require.NoError(t, err)
	costs := r.SpreadCosts(shares.Air)
	require.Len(t, costs, 2)
	for i := range costs {
		c := &costs[i]
		require.NoError(t, c.Err)
		assert.InEpsilon(t, c.Point.Power, c.Even.Power, 1e-5, "the knock limit is met to 1e-5 by either solution")
		for k := range c.Corrected {
			sum := 0.0
			for _, one := range c.Corrected[k].Cylinders {
				sum += one.Power
			}
			lost, err := c.Lost(manifold.Correction(k))
			require.NoError(t, err)
			assert.InDelta(t, c.Even.Power-sum, lost, 1e-6)
			part, err := c.LostShare(manifold.Correction(k))
			require.NoError(t, err)
			assert.InDelta(t, lost/c.Even.Power, part, 1e-12)
		}
	}
	dead := costs[0]
	dead.Even.Power = 0
	_, err = dead.LostShare(manifold.CommonFuel)
	assert.EqualError(t, err, "the engine gives no power")
	r.Outcomes[0].Err = run.ErrNoSolution
	_, err = r.SpreadCosts(shares.Air)[0].Lost(manifold.CommonFuel)
	assert.ErrorIs(t, err, run.ErrNoSolution)
}

// TestLaterForTheWorst: at the CA50 found with the fuel as it is, the fullest cylinder is on the limit.
func TestLaterForTheWorst(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "capped", 4500)
	p := &r.Outcomes[0].Point
	c, err := r.CylindersAt(p)
	require.NoError(t, err)
	c.Engine.Leanest = p.Lambda // as without manifold.spread.leanest: the fuel still stays as it is
	shares, err := r.Shares()
	require.NoError(t, err)
	ca50, err := c.CA50For(shares.Air)
	require.NoError(t, err)
	assert.Greater(t, ca50, p.CA50+degree)
	one, err := r.Engine.SingleAt(p)
	require.NoError(t, err)
	res, err := one.Run(1.024, 1.024*p.Lambda, ca50) // cylinder 3 has 102.4 of a mean of 100
	require.NoError(t, err)
	assert.InDelta(t, r.Engine.Combustion.KnockLimit, res.KnockIntegral, 1e-6)
	assert.Equal(t, p.Lambda, c.Engine.Leanest, "the cylinders asked are not changed")
}

// TestLeanestAllowed: without a leanest mixture allowed it is that asked for.
func TestLeanestAllowed(t *testing.T) {
	trim := spectest.Trim(t, spectest.Hillclimb, "capped")
	m := *trim.Manifold
	m.Spread = nil
	trim.Manifold = &m
	r := runtest.Solve(t, trim, 5500)
	c, err := r.CylindersAt(&r.Outcomes[0].Point)
	require.NoError(t, err)
	assert.InDelta(t, r.Outcomes[0].Point.Lambda, c.Engine.Leanest, 1e-9)
}

// TestTradesWorthOfAnEvenManifold: an evenly filling manifold is held to be worth about 20 hp on a tune of 300 hp behind a restrictor. Common
// practice, no source. What costs as much here, with one fuel quantity and one spark, has to be a spread that a poor manifold has: more than the few
// per cent of a good one, less than a fifth. Fuel by cylinder is to win a part of it back.
func TestTradesWorthOfAnEvenManifold(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "capped", 5842)
	const worth = 20. / 300
	spread := func(deviation float64) *run.SpreadCost {
		shares := make([]float64, 5) // rising evenly from the first cylinder to the last
		for i := range shares {
			shares[i] = (1 + deviation*(float64(i)/2-1)) / 5
		}
		c := r.SpreadCostAt(&r.Outcomes[0], shares)
		return &c
	}
	lost := func(deviation float64, k manifold.Correction) float64 {
		part, err := spread(deviation).LostShare(k)
		require.NoError(t, err)
		return part
	}
	assert.Less(t, lost(0.05, manifold.CommonFuel), worth)
	assert.Greater(t, lost(0.20, manifold.CommonFuel), worth)
	root, err := numeric.FindRoot(func(d float64) float64 { return lost(d, manifold.CommonFuel) - worth }, 0.05, 0.20, 1e-6)
	require.NoError(t, err)
	d := root.X
	own := lost(d, manifold.OwnFuel)
	assert.Greater(t, own, 0.0)
	assert.Less(t, own, 0.8*worth)
	// Its leanest cylinder has the 0.92 that the spec allows, its richest as much less as it has less air.
	common := spread(d).Corrected[manifold.CommonFuel]
	assert.InDelta(t, 0.92, common.Cylinders[4].Lambda, 1e-9)
	assert.InDelta(t, 0.92*(1-d)/(1+d), common.Cylinders[0].Lambda, 1e-9)

	// Such a spread in the spec costs as much.
	same := runtest.WithSpread(t, spectest.Hillclimb, "capped", runtest.Flowing(1-d, 1-d/2, 1, 1+d/2, 1+d), 5842)
	shares, err := same.Shares()
	require.NoError(t, err)
	assert.InDelta(t, d, manifold.Deviation(shares.Air), 1e-9)
	c := same.SpreadCostAt(&same.Outcomes[0], shares.Air)
	part, err := c.LostShare(manifold.CommonFuel)
	require.NoError(t, err)
	assert.InEpsilon(t, worth, part, 1e-4)
}
