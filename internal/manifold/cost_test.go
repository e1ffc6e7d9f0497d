package manifold_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/cycle"
	"bellmouth/internal/fuel"
	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/knock"
	"bellmouth/internal/manifold"
)

const (
	deg  = math.Pi / 180
	best = 8 * deg
)

// An invented cylinder in closed form: 40 kW an even share of air at its best mixture, λ 0.9, and phasing, less with the
// square of what it is off them; knock goes with the air and falls by e in 1/decay of crank angle.
const (
	full, richLoss, lateLoss, decay = 40e3, 4.0, 0.8, 4.0
	bestLambda                      = 0.9
)

func invented(knock float64) manifold.Engine {
	return manifold.Engine{
		Cylinder: func(c manifold.Charge) (manifold.Answer, error) {
			return manifold.Answer{
				Power: c.Air * full * (1 - richLoss*math.Pow(c.Lambda-bestLambda, 2) - lateLoss*math.Pow(c.CA50-best, 2)),
				Knock: knock * c.Air * math.Exp(-decay*(c.CA50-best)),
			}, nil
		},
		Target: 0.8, KnockLimit: 1, BestCA50: best, LatestCA50: 40 * deg,
	}
}

func TestCostOfMixture(t *testing.T) {
	// Two cylinders with 0.95 and 1.05 of the mean, no knock. By hand: one fuel for both makes λ 0.8 · 0.95/1.05 = 0.723810
	// and 0.8; 1 − 4 · 0.176190² = 0.875828 and 0.96; 40 kW (0.95 · 0.875828 + 1.05 · 0.96) = 73601.45 W against 76800 W.
	e := invented(0.1)
	c, err := e.Cost([]float64{0.475, 0.525})
	require.NoError(t, err)
	assert.InDelta(t, 76800, c.Even.Power, 1e-6)
	assert.InDelta(t, 73601.451, c.CommonFuel.Power, 1e-3)
	assert.InDelta(t, 3198.549, c.Of(manifold.CommonFuel), 1e-3)
	assert.InDelta(t, 0.8/1.05, c.CommonFuel.Lambda, 1e-12)
	assert.InDelta(t, 0.723810, c.CommonFuel.Cylinders[0].Lambda, 1e-6)
	assert.InDelta(t, 0.8, c.CommonFuel.Cylinders[1].Lambda, 1e-12)
	assert.Zero(t, c.CommonFuel.Cylinders[0].FuelCorrection)
	assert.Equal(t, 1, c.CommonFuel.Leanest)
	assert.Equal(t, -1, c.CommonFuel.Knocking)
	assert.Equal(t, best, c.CommonFuel.Cylinders[0].CA50)
	// With fuel of its own each has the target, and without knock nothing is left to lose.
	assert.InDelta(t, 0, c.Of(manifold.OwnFuel), 1e-9)
	assert.InDelta(t, -0.05, c.OwnFuel.Cylinders[0].FuelCorrection, 1e-12)
	assert.Equal(t, 0.8, c.OwnFuel.Cylinders[0].Lambda)

	// Where 0.82 is allowed, the engine is at 0.82/1.05 and not at the target. Where 0.9 is, it is at the target.
	e.Leanest = 0.82
	r, err := e.Run([]float64{0.475, 0.525}, manifold.CommonFuel)
	require.NoError(t, err)
	assert.InDelta(t, 0.82/1.05, r.Lambda, 1e-12)
	e.Leanest = 0.9
	r, err = e.Run([]float64{0.475, 0.525}, manifold.CommonFuel)
	require.NoError(t, err)
	assert.Equal(t, 0.8, r.Lambda)
	assert.False(t, r.TooRich)
	e.Richest = 0.77
	r, err = e.Run([]float64{0.475, 0.525}, manifold.CommonFuel)
	require.NoError(t, err)
	assert.True(t, r.TooRich, "0.76")
}

func TestCostOfSpark(t *testing.T) {
	// Knock is at the limit when CA50 is ln(1.2 air)/4 late of the best: for the even engine at 0.045580 rad, for a share of
	// 1.05 at 0.057778 rad, for 0.95 at 0.032757 rad.
	e := invented(1.2)
	late := func(air float64) float64 { return math.Log(1.2*air) / decay }
	c, err := e.Cost([]float64{0.475, 0.525})
	require.NoError(t, err)
	phasing := func(r manifold.Running) (got []float64) {
		for _, cyl := range r.Cylinders {
			got = append(got, cyl.CA50-best)
		}
		return got
	}
	const tol = 2e-9 // of the root, rad
	assert.InDelta(t, 0.045580, late(1), 1e-6)
	assert.InDeltaSlice(t, []float64{late(1), late(1)}, phasing(c.Even), tol)
	assert.InDeltaSlice(t, []float64{late(1.05), late(1.05)}, phasing(c.CommonFuel), tol)
	assert.InDeltaSlice(t, []float64{late(1.05), late(1.05)}, phasing(c.OwnFuel), tol)
	assert.InDeltaSlice(t, []float64{late(0.95), late(1.05)}, phasing(c.OwnFuelSpark), tol)
	for _, r := range []manifold.Running{c.CommonFuel, c.OwnFuel, c.OwnFuelSpark} {
		assert.Equal(t, 1, r.Knocking)
		assert.InDelta(t, 1, r.Cylinders[1].Knock, 1e-8)
		assert.InDelta(t, r.Power, r.Cylinders[0].Power+r.Cylinders[1].Power, 1e-9)
	}
	// All that fuel by cylinder leaves: 40 kW · 2 · 0.8 (0.057778² − 0.045580²) = 80.7 W.
	assert.InDelta(t, 2*full*lateLoss*(math.Pow(late(1.05), 2)-math.Pow(late(1), 2)), c.Of(manifold.OwnFuel), 1e-3)
	// Own spark as well: Σ air late².
	want := full * lateLoss * (0.95*math.Pow(late(0.95), 2) + 1.05*math.Pow(late(1.05), 2) - 2*math.Pow(late(1), 2))
	assert.InDelta(t, want, c.Of(manifold.OwnFuelSpark), 1e-3)
}

func TestEvenCostsNothing(t *testing.T) {
	for n := 2; n <= 12; n++ {
		same := make([]float64, n)
		for i := range same {
			same[i] = 7.3
		}
		shares, err := manifold.AirShares(same)
		require.NoError(t, err)
		c, err := invented(1.3).Cost(shares)
		require.NoError(t, err)
		for _, k := range []manifold.Correction{manifold.CommonFuel, manifold.OwnFuel, manifold.OwnFuelSpark} {
			// To the spark's tolerance: 40 kW · 2 · 0.8 · 0.066 rad · 1e-9 rad for each cylinder.
			assert.InDelta(t, 0, c.Of(k), 1e-5*float64(n))
		}
		linear, err := manifold.LinearShares(n, 0)
		require.NoError(t, err)
		c, err = invented(1.3).Cost(linear)
		require.NoError(t, err)
		assert.Zero(t, c.Of(manifold.CommonFuel))
	}
}

func TestCostRisesWithSpread(t *testing.T) {
	for _, knock := range []float64{0.5, 0.99, 1.3} { // never, from some spread on, always
		last := map[manifold.Correction]float64{}
		for d := 0.005; d < 0.25; d += 0.005 {
			shares, err := manifold.LinearShares(5, d)
			require.NoError(t, err)
			c, err := invented(knock).Cost(shares)
			require.NoError(t, err)
			assert.Greater(t, c.Of(manifold.CommonFuel), last[manifold.CommonFuel], "%v", d)
			assert.GreaterOrEqual(t, c.Of(manifold.OwnFuel), last[manifold.OwnFuel]-1e-4, "%v", d)
			for k := range 3 {
				last[manifold.Correction(k)] = c.Of(manifold.Correction(k))
			}
		}
	}
}

func TestTrimsNeverCostMore(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for range 500 {
		flow := make([]float64, 2+random.IntN(7))
		for i := range flow {
			flow[i] = 1 + 0.3*random.Float64()
		}
		shares, err := manifold.AirShares(flow)
		require.NoError(t, err)
		e := invented(0.6 + random.Float64())
		c, err := e.Cost(shares)
		require.NoError(t, err)
		assert.LessOrEqual(t, c.Of(manifold.OwnFuel), c.Of(manifold.CommonFuel)+1e-4)
		assert.LessOrEqual(t, c.Of(manifold.OwnFuelSpark), c.Of(manifold.OwnFuel)+1e-4)
		for _, r := range []manifold.Running{c.CommonFuel, c.OwnFuel, c.OwnFuelSpark} {
			var air, fuel float64
			for _, cyl := range r.Cylinders {
				assert.LessOrEqual(t, cyl.Lambda, 0.8*(1+1e-15))
				assert.LessOrEqual(t, cyl.Knock, 1+1e-8)
				air += cyl.Air
				fuel += cyl.Air / cyl.Lambda
			}
			assert.InDelta(t, r.Lambda, air/fuel, 1e-12, "all air over all fuel")
			assert.InDelta(t, len(shares), air, 1e-12, "the same air")
		}
	}
}

func TestEngineRefuses(t *testing.T) {
	shares := []float64{0.475, 0.525}
	nan := math.NaN()
	for _, c := range []struct {
		want   string
		change func(*manifold.Engine)
	}{
		{"model is missing", func(e *manifold.Engine) { e.Cylinder = nil }},
		{"target λ is 0.4", func(e *manifold.Engine) { e.Target = 0.4 }},
		{"target λ is NaN", func(e *manifold.Engine) { e.Target = nan }},
		{"leanest λ is 0.7", func(e *manifold.Engine) { e.Leanest = 0.7 }},
		{"richest λ is 0.9", func(e *manifold.Engine) { e.Richest = 0.9 }},
		{"latest CA50", func(e *manifold.Engine) { e.LatestCA50 = 0 }},
		{"latest CA50", func(e *manifold.Engine) { e.LatestCA50 = math.Inf(1) }},
		{"knock limit is 0", func(e *manifold.Engine) { e.KnockLimit = 0 }},
		{"even manifold: cylinder 1: broken", func(e *manifold.Engine) {
			e.Cylinder = func(manifold.Charge) (manifold.Answer, error) { return manifold.Answer{}, errors.New("broken") }
		}},
		{"model answers NaN W", func(e *manifold.Engine) {
			e.Cylinder = func(manifold.Charge) (manifold.Answer, error) { return manifold.Answer{Power: nan}, nil }
		}},
		{"common fuel: cylinder 2: too much", func(e *manifold.Engine) {
			model := e.Cylinder
			e.Cylinder = func(c manifold.Charge) (manifold.Answer, error) {
				if c.Air > 1.01 {
					return manifold.Answer{}, errors.New("too much")
				}
				return model(c)
			}
		}},
		{"even manifold: cylinder 1 knocks", func(e *manifold.Engine) { e.KnockLimit = 0.01 }},
		{"common fuel: cylinder 2 knocks", func(e *manifold.Engine) { e.LatestCA50 = best + math.Log(1.21)/decay }},
	} {
		e := invented(1.2)
		c.change(&e)
		_, err := e.Cost(shares)
		assert.ErrorContains(t, err, c.want)
	}
	e := invented(1.2)
	for _, c := range []struct {
		want   string
		shares []float64
	}{
		{"between 1 cylinders", []float64{1}},
		{"cylinder 2: share of air is 0", []float64{0.9, 0}},
		{"cylinder 1: share of air is NaN", []float64{nan, 0.5}},
		{"add up to 0.9", []float64{0.4, 0.5}},
	} {
		_, err := e.Run(c.shares, manifold.CommonFuel)
		assert.ErrorContains(t, err, c.want)
	}
	_, err := e.Run(shares, 9)
	assert.ErrorContains(t, err, "correction is 9")
	_, err = e.Cost(nil)
	assert.ErrorContains(t, err, "cylinders are 0")
	assert.Equal(t, "common fuel, fuel by cylinder, fuel and spark by cylinder, correction 9",
		fmt.Sprintf("%v, %v, %v, %v", manifold.CommonFuel, manifold.OwnFuel, manifold.OwnFuelSpark, manifold.Correction(9)))
}

// The project's own cylinder, invented and boosted, as the model.
func burning(t testing.TB) manifold.Engine {
	f, err := fuel.Named("ron102")
	require.NoError(t, err)
	venue := gas.Air{Pressure: 98e3, Temperature: 293.15, RelativeHumidity: 0.5}
	model, err := cycle.New(cycle.Config{
		Cylinder: geometry.Cylinder{Bore: 0.084, Stroke: 0.082, Rod: 0.144, CompressionRatio: 8.6},
		Valves: geometry.Valves{
			InletCount: 2, InletDiameter: 0.034, InletLift: 0.0102, InletOpens: 15 * deg, InletCloses: 58 * deg,
			ExhaustCount: 2, ExhaustDiameter: 0.03, ExhaustLift: 0.0096, ExhaustOpens: 60 * deg, ExhaustCloses: 20 * deg,
		},
		WallTemperature: 460, HeatFactor: 1.6,
	})
	require.NoError(t, err)
	delay, _, err := knock.New(knock.Charge{Octane: 96, Lambda: knock.PeakLambda})
	require.NoError(t, err)
	const airMass, speed = 1.05e-3, 6500 * rpm
	return manifold.Engine{
		Cylinder: func(c manifold.Charge) (manifold.Answer, error) {
			charge, err := f.Charge(venue, c.Lambda)
			if err != nil {
				return manifold.Answer{}, err
			}
			in := cycle.Input{
				Speed: speed, Unburned: charge.Unburned, Burned: charge.Burned,
				Mass:          c.Air * airMass / charge.DryAirFraction / 0.97,
				InitialBurned: 0.03, FinalBurned: 0.97, Temperature: 345, CA50: c.CA50, BurnAngle: 50 * deg, Knock: delay,
			}
			var out cycle.Result
			if err := model.Run(&in, &out); err != nil {
				return manifold.Answer{}, err
			}
			return manifold.Answer{Power: out.Work * speed / (4 * math.Pi), Knock: out.KnockIntegral}, nil
		},
		Target: 0.85, KnockLimit: 1, BestCA50: best, LatestCA50: 40 * deg,
	}
}

func TestBurningCylinder(t *testing.T) {
	e := burning(t)
	shares, err := manifold.LinearShares(5, 0.05)
	require.NoError(t, err)
	c, err := e.Cost(shares)
	require.NoError(t, err)
	common, own, spark := c.Of(manifold.CommonFuel), c.Of(manifold.OwnFuel), c.Of(manifold.OwnFuelSpark)
	t.Logf("even %.0f W at %.1f deg; common fuel −%.0f W at λ %.3f and %.1f deg; own fuel −%.0f W; own spark −%.0f W",
		c.Even.Power, c.Even.Cylinders[0].CA50/deg, common, c.CommonFuel.Lambda, c.CommonFuel.Cylinders[0].CA50/deg, own, spark)
	assert.Equal(t, 4, c.CommonFuel.Leanest)
	assert.Equal(t, 4, c.CommonFuel.Knocking, "the fullest cylinder is the leanest and the first to knock")
	assert.Greater(t, common, own)
	assert.Greater(t, own, spark)
	assert.Greater(t, own, 0.0)
	// The mean mixture is 5 % richer. Rich of stoichiometric the oxygen is the same and what is lost is the heat and the spare
	// expansion that fuel without oxygen takes: between nothing and as much as the fuel, 5 %.
	assert.Less(t, common, 0.05*c.Even.Power)
}

func BenchmarkCost(b *testing.B) {
	e := burning(b)
	shares, err := manifold.LinearShares(5, 0.05)
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := e.Cost(shares); err != nil {
			b.Fatal(err)
		}
	}
}
