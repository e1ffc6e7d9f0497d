package sheet

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/numeric"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/wastegate"
)

// Awkward engines, drawn at random, and the demonstration spec where its turbine's curve folds. What is expected is physics and no
// figure: a point where the neighbours have one, and no jump of the boost that is not told.

func steps(from, to, step float64) []float64 {
	var speeds []float64
	for n := from; n <= to; n += step {
		speeds = append(speeds, n)
	}
	return speeds
}

// unbroken asserts that every speed is solved and that the boost goes from speed to speed without a jump of more than a share of the
// pressure, except above a point that tells of a second state.
func unbroken(t *testing.T, r *Run, share float64) (jumps int) {
	t.Helper()
	var last *boost.Outcome
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		require.NoError(t, o.Err)
		if last != nil && math.Abs(o.Point.ManifoldPressure-last.Point.ManifoldPressure) > share*last.Point.ManifoldPressure {
			jumps++
			assert.NotZero(t, last.Point.Notes&airpath.NoteTwoStates, "boost jumps from %.0f to %.0f rpm, from %.4g to %.4g Pa", last.Speed/perRPM, o.Speed/perRPM,
				last.Point.ManifoldPressure, o.Point.ManifoldPressure)
			assert.Greater(t, o.Point.ManifoldPressure, last.Point.ManifoldPressure, "a fold is left upwards as the speed rises")
		}
		last = o
	}
	return jumps
}

// With the wastegate wide open the creeping boost has one fold, and rises with the speed.
func TestCreepHasOneFold(t *testing.T) {
	r := solved(t, "testdata/cases/s44.yaml", "base", steps(2240, 2450, 10)...)
	assert.LessOrEqual(t, unbroken(t, r, 0.1), 1)
	for i := range r.Outcomes[1:] {
		assert.Greater(t, r.Outcomes[i+1].Point.ManifoldPressure, r.Outcomes[i].Point.ManifoldPressure)
	}
}

// At the onset of the throat's choke, next to no boost and past the choke end of the map.
func TestWideOpenAtTheOnsetOfChoke(t *testing.T) {
	r := solved(t, "testdata/cases/s1198.yaml", "base", steps(5600, 5680, 5)...)
	assert.Zero(t, unbroken(t, r, 0.01))
}

// Knock that a later burn makes worse: best phasing comes to rest where retarding would let the boost run away.
func TestWideOpenAndKnocking(t *testing.T) {
	r := altered(t, "testdata/cases/s4029.yaml", "base", func(trim *spec.Trim) { trim.Engine.Combustion.KnockLimit = 0.2 }, steps(1870, 1920, 4)...)
	assert.Zero(t, unbroken(t, r, 0.05))
	for i := range r.Outcomes {
		assert.NotZero(t, r.Outcomes[i].Point.Notes&airpath.NoteKnockUnmet)
	}
}

// Where two states knock, the one with the wastegate open knocks less than the one with it shut. The spec's spring would keep it shut.
func TestLessKnockOfTwo(t *testing.T) {
	speeds := steps(2460, 2550, 10)
	r := altered(t, "testdata/cases/s1207.yaml", "base", func(trim *spec.Trim) { trim.Actuator, trim.Control = nil, nil }, append([]float64(nil), speeds...)...)
	shut := altered(t, "testdata/cases/s1207.yaml", "base", func(trim *spec.Trim) { trim.Wastegate = nil }, speeds...)
	assert.Zero(t, unbroken(t, r, 0.05))
	for i := range r.Outcomes {
		p := &r.Outcomes[i].Point
		assert.Positive(t, p.WastegateFlow)
		if o := &shut.Outcomes[i]; o.Err == nil { // else the boost runs away
			assert.Less(t, p.KnockIntegral, o.Point.KnockIntegral, "%v rpm", p.Speed/perRPM)
		}
	}
}

func TestDemonstrationIsUnbroken(t *testing.T) {
	r := solved(t, hillclimb, "capped", steps(3000, 3400, 10)...)
	assert.Equal(t, 1, unbroken(t, r, 0.1), "one fold, told")
	for _, n := range []float64{3198, 3243, 3282} {
		assert.NoError(t, solved(t, hillclimb, "capped", n).Outcomes[0].Err)
	}
}

// Between the speed at which a second state first is and that at which the boost is reached from below there are two states at every speed, and
// what the summary says of it does not go with the grid.
func TestTwoStatesWithoutHoles(t *testing.T) {
	for _, name := range []string{"open", "capped"} {
		trim := trimOf(t, hillclimb, name)
		fine, err := Solve(t.Context(), "boost", trim, steps(3100*perRPM, 3450*perRPM, 5*perRPM))
		require.NoError(t, err)
		first, last, count := math.NaN(), math.NaN(), 0
		for i := range fine.Outcomes {
			o := &fine.Outcomes[i]
			if require.NoError(t, o.Err); o.Point.Notes&airpath.NoteTwoStates != 0 {
				if count++; count == 1 {
					first = o.Speed
				}
				last = o.Speed
			}
		}
		require.Greater(t, count, 20, name)
		assert.InDelta(t, float64(count-1), (last-first)/(5*perRPM), 0.01, "%s: holes from %.0f to %.0f rpm", name, first/perRPM, last/perRPM)
		for _, step := range []float64{250, 500, 1000, 1500} {
			r, err := Solve(t.Context(), "boost", trim, boost.Speeds(1500*perRPM, 7500*perRPM, step*perRPM))
			require.NoError(t, err)
			down := r.onset(run.KeepsBoost, "")
			assert.InDelta(t, first/perRPM, down.Number()/perRPM, 10, "%s at every %.0f rpm", name, step)
		}
	}
}

// withActuator changes the example's actuator and what drives it.
func withActuator(t *testing.T, name string, target float64, change func(y *wastegate.System)) *spec.Trim {
	trim := trimOf(t, hillclimb, name)
	change(&trim.Control.System)
	trim.Actuator = &trim.Control.Actuator
	trim.Boost.Target = numeric.Constant(target)
	return trim
}

// A spring too strong for what is asked fails the check by the force that the ports lack, and the check and the wastegate's tables have the boost
// of the operating points.
func TestSpringTooStrongIsJudged(t *testing.T) {
	strong := func(preload float64) (trim *spec.Trim, r *Run, spare float64) {
		trim = withActuator(t, "open", 0.3e5, func(y *wastegate.System) { y.Actuator.Preload = preload })
		r, err := Solve(t.Context(), "sheet", trim, steps(4000*perRPM, 7500*perRPM, 500*perRPM))
		require.NoError(t, err)
		findings, err := r.Judge()
		require.NoError(t, err)
		i := slices.IndexFunc(findings, func(f check.Finding) bool { return f.What == "wastegate actuator force to spare" })
		require.GreaterOrEqual(t, i, 0)
		assert.Equal(t, check.Fail, findings[i].Verdict)
		return trim, r, findings[i].Value
	}
	trim, r, spare := strong(520)
	_, _, before := strong(400)
	assert.InDelta(t, 520-400, before-spare, 1e-3, "at the boost asked for the ports lack what the spring has more")
	g, err := r.Gate()
	require.NoError(t, err)
	for i := range g.Points {
		held, ok := g.Points[i].Held()
		require.True(t, ok)
		assert.InDelta(t, r.Outcomes[i].Boost(trim.Venue.Pressure), held, 5)
		assert.Negative(t, g.Points[i].Holding.OpeningMargin)
	}
}
