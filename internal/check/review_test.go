package check

import (
	"flag"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/boost"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// swept returns a run at every so many rpm from 1500 rpm to the limiter.
func swept(t testing.TB, trim *spec.Trim, step float64) *run.Run {
	t.Helper()
	r, err := run.Solve(t.Context(), "check", trim, boost.Speeds(1500*spectest.PerRPM, trim.Engine.Limiter, step*spectest.PerRPM))
	require.NoError(t, err)
	return r
}

// judgedTrims are the trims of the examples, and changed ones that bring in limits which those do not meet.
func judgedTrims(t *testing.T) map[string]*spec.Trim {
	changed := func(path, name string, change func(trim *spec.Trim)) *spec.Trim {
		trim := spectest.Trim(t, path, name)
		change(trim)
		return trim
	}
	return map[string]*spec.Trim{
		"open": spectest.Trim(t, spectest.Hillclimb, "open"), "capped": spectest.Trim(t, spectest.Hillclimb, "capped"),
		"free": spectest.Trim(t, spectest.ClubFour, "free"), "restricted": spectest.Trim(t, spectest.ClubFour, "restricted"),
		"knocking": changed(spectest.Hillclimb, "open", func(trim *spec.Trim) { trim.Fuel.KnockOctane = trim.Fuel.Grade.RON - 5 }),
		"small gate": changed(spectest.Hillclimb, "open", func(trim *spec.Trim) {
			gate := *trim.Wastegate
			gate.Bore *= 0.5
			trim.Wastegate = &gate
		}),
	}
}

var soak = flag.Bool("soak", false, "sweep as finely, and draw as many engines, as takes a minute")

// TestTheRangeIsJudged holds a coarse grid against a sweep of every 20 rpm, with -soak every 5 rpm: every entry of what is looked for, and
// every verdict.
func TestTheRangeIsJudged(t *testing.T) {
	every := 20.0
	if *soak {
		every = 5
	}
	between := 0
	for name, trim := range judgedTrims(t) {
		if testing.Short() && name != "capped" {
			continue // the race detector needs no more of them
		}
		dense := At(swept(t, trim, every))
		require.Empty(t, dense.Fine.Unsolved(), name)
		for _, step := range []float64{500, 700} {
			coarse := Over(swept(t, trim, step))
			between += compareFigures(t, fmt.Sprintf("%s, %.0f rpm", name, step), coarse, dense)
		}
		compareVerdicts(t, name, Over(swept(t, trim, 500)), dense)
	}
	if testing.Short() {
		return
	}
	assert.Greater(t, between, 40, "figures whose worst the grid by itself misses: without them the comparison proves nothing")
}

// compareFigures wants the worst of every figure found as the sweep has it, and returns how many of them the coarse grid misses.
func compareFigures(t *testing.T, name string, coarse, dense *Review) (missed int) {
	t.Helper()
	grid, fine := coarse.Grid, coarse.Fine
	for i, f := range dense.at.figures(grid) {
		what := fmt.Sprintf("%s, figure %d", name, i)
		d, c, g := boost.Worst(dense.Fine.Outcomes, f.Of), boost.Worst(fine.Outcomes, f.Of), boost.Worst(grid.Outcomes, f.Of)
		if d < 0 {
			assert.Negative(t, c, what)
			continue
		}
		if !assert.GreaterOrEqual(t, c, 0, what) {
			continue
		}
		want, _ := f.Of(&dense.Fine.Outcomes[d])
		got, _ := f.Of(&fine.Outcomes[c])
		if math.IsInf(want, 1) { // a pump whose curve ends: it cannot be judged, which fails
			assert.Equal(t, want, got, what)
			continue
		}
		scale := math.Abs(want)
		if !math.IsNaN(f.Limit) {
			scale = math.Max(scale, math.Abs(f.Limit))
		}
		// The search promises 0.05 % of the figure or its limit; 0.2 % leaves room for what changes within its 4 rpm.
		within := 2e-3 * scale
		assert.GreaterOrEqual(t, got, want-within, "%s: %.0f rpm of the sweep, %.0f rpm found", what, run.RPM(dense.Fine.Outcomes[d].Speed),
			run.RPM(fine.Outcomes[c].Speed))
		if g < 0 {
			missed++
		} else if x, _ := f.Of(&grid.Outcomes[g]); x < want-within {
			missed++
		}
	}
	return missed
}

// compareVerdicts wants the verdicts of the sweep from the coarse grid, with margins no larger.
func compareVerdicts(t *testing.T, name string, coarse, dense *Review) {
	t.Helper()
	want, err := dense.Findings()
	require.NoError(t, err)
	got, err := coarse.Findings()
	require.NoError(t, err)
	require.Len(t, got, len(want), name)
	for _, w := range want {
		at := slices.IndexFunc(got, func(f Finding) bool { return f.What == w.What })
		if !assert.GreaterOrEqual(t, at, 0, "%s: %s", name, w.What) {
			continue
		}
		g := got[at]
		assert.Equal(t, w.Verdict, g.Verdict, "%s: %s", name, w.What)
		most := math.Max(math.Abs(w.Value), math.Abs(w.Limit))
		if math.IsNaN(most) {
			continue
		}
		// A worse one is found where the sweep's step goes past it. Boost asked for and reached both change with speed: what is
		// looked for is the gap.
		assert.LessOrEqual(t, g.Margin(), w.Margin()+2e-3*most, "%s: %s at %.0f rpm, found %.0f rpm", name, w.What, run.RPM(w.Speed), run.RPM(g.Speed))
	}
}

// TestSurgeBetweenTheSpeeds: the margin is kept at every speed of the grid and not between two of them.
func TestSurgeBetweenTheSpeeds(t *testing.T) {
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	r := swept(t, trim, 500)
	const limit = 0.20
	trim.Limits.SurgeMargin = limit // judged; the engine was solved with the example's own, which lets the boost come to this
	for i := range r.Outcomes {
		assert.Greater(t, r.Outcomes[i].Point.Compressor.SurgeMargin, limit)
	}
	plain, err := At(r).Findings()
	require.NoError(t, err)
	assert.NotContains(t, Failed(plain), "surge margin")
	findings, err := Over(r).Findings()
	require.NoError(t, err)
	assert.Contains(t, Failed(findings), "surge margin")
	for _, f := range findings {
		if f.What == "surge margin" {
			assert.Greater(t, f.Speed, 3000*spectest.PerRPM)
			assert.Less(t, f.Speed, 3500*spectest.PerRPM)
			point := runtest.Solved(t, spectest.Hillclimb, "open", f.Speed/spectest.PerRPM).Outcomes[0].Point
			assert.InDelta(t, point.Compressor.SurgeMargin, f.Value, 1e-9, "the figure is that of the speed named")
		}
	}
}
