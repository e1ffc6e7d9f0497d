package sheet

import (
	"flag"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
)

// swept returns a run at every so many rpm from 1500 rpm to the limiter.
func swept(t testing.TB, trim *spec.Trim, step float64) *Run {
	t.Helper()
	r, err := Solve("check", trim, boost.Speeds(1500*perRPM, trim.Engine.Limiter, step*perRPM))
	require.NoError(t, err)
	return r
}

// unrefined returns the run as one that is judged at its own speeds alone.
func unrefined(r *Run) *Run {
	plain := &Run{Run: &run.Run{Trim: r.Trim, Engine: r.Engine, Outcomes: r.Outcomes}, at: r.judged()}
	plain.fine = plain
	return plain
}

// judgedTrims are the trims of the examples, and changed ones that bring in limits which those do not meet.
func judgedTrims(t *testing.T) map[string]*spec.Trim {
	changed := func(path, name string, change func(trim *spec.Trim)) *spec.Trim {
		trim := trimOf(t, path, name)
		change(trim)
		return trim
	}
	return map[string]*spec.Trim{
		"open": trimOf(t, hillclimb, "open"), "capped": trimOf(t, hillclimb, "capped"),
		"free": trimOf(t, clubFour, "free"), "restricted": trimOf(t, clubFour, "restricted"),
		"knocking": changed(hillclimb, "open", func(trim *spec.Trim) { trim.Fuel.KnockOctane = trim.Fuel.Grade.RON - 5 }),
		"small gate": changed(hillclimb, "open", func(trim *spec.Trim) {
			gate := *trim.Wastegate
			gate.Bore *= 0.5
			trim.Wastegate = &gate
		}),
	}
}

var soak = flag.Bool("soak", false, "sweep as finely, and draw as many engines, as takes a minute")

// TestTheRangeIsJudged holds a coarse grid against a sweep of every 12.5 rpm, with -soak every 5 rpm: every entry of what is looked for, and
// every verdict.
func TestTheRangeIsJudged(t *testing.T) {
	every := 12.5
	if *soak {
		every = 5
	}
	between := 0
	for name, trim := range judgedTrims(t) {
		if testing.Short() && name != "capped" {
			continue // the race detector needs no more of them
		}
		dense := unrefined(swept(t, trim, every))
		require.Empty(t, dense.Unsolved(), name)
		for _, step := range []float64{500, 700} {
			coarse := swept(t, trim, step)
			between += compareFigures(t, fmt.Sprintf("%s, %.0f rpm", name, step), coarse, dense)
		}
		compareVerdicts(t, name, swept(t, trim, 500), dense)
	}
	if testing.Short() {
		return
	}
	assert.Greater(t, between, 40, "figures whose worst the grid by itself misses: without them the comparison proves nothing")
}

// compareFigures wants the worst of every figure found as the sweep has it, and returns how many of them the coarse grid misses.
func compareFigures(t *testing.T, name string, coarse, dense *Run) (missed int) {
	t.Helper()
	fine := coarse.refined()
	for i, f := range coarse.figures(dense.at) {
		what := fmt.Sprintf("%s, figure %d", name, i)
		d, c, g := boost.Worst(dense.Outcomes, f.Of), boost.Worst(fine.Outcomes, f.Of), boost.Worst(coarse.Outcomes, f.Of)
		if d < 0 {
			assert.Negative(t, c, what)
			continue
		}
		if !assert.GreaterOrEqual(t, c, 0, what) {
			continue
		}
		want, _ := f.Of(&dense.Outcomes[d])
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
		assert.GreaterOrEqual(t, got, want-within, "%s: %.0f rpm of the sweep, %.0f rpm found", what, run.RPM(dense.Outcomes[d].Speed), run.RPM(fine.Outcomes[c].Speed))
		if g < 0 {
			missed++
		} else if x, _ := f.Of(&coarse.Outcomes[g]); x < want-within {
			missed++
		}
	}
	return missed
}

// compareVerdicts wants the verdicts of the sweep from the coarse grid, with margins no larger.
func compareVerdicts(t *testing.T, name string, coarse, dense *Run) {
	t.Helper()
	want, err := dense.Judge()
	require.NoError(t, err)
	got, err := coarse.Judge()
	require.NoError(t, err)
	require.Len(t, got, len(want), name)
	for _, w := range want {
		at := slices.IndexFunc(got, func(f check.Finding) bool { return f.What == w.What })
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
	trim := trimOf(t, hillclimb, "open")
	r := swept(t, trim, 500)
	const limit = 0.20
	trim.Limits.SurgeMargin = limit // judged; the engine was solved with the example's own, which lets the boost come to this
	for i := range r.Outcomes {
		assert.Greater(t, r.Outcomes[i].Point.Compressor.SurgeMargin, limit)
	}
	plain, err := unrefined(r).Judge()
	require.NoError(t, err)
	assert.NotContains(t, check.Failed(plain), "surge margin")
	findings, err := r.Judge()
	require.NoError(t, err)
	assert.Contains(t, check.Failed(findings), "surge margin")
	for _, f := range findings {
		if f.What == "surge margin" {
			assert.Greater(t, f.Speed, 3000*perRPM)
			assert.Less(t, f.Speed, 3500*perRPM)
			point := solved(t, hillclimb, "open", f.Speed/perRPM).Outcomes[0].Point
			assert.InDelta(t, point.Compressor.SurgeMargin, f.Value, 1e-9, "the figure is that of the speed named")
		}
	}
	assert.Len(t, r.Points().Rows, len(r.Outcomes), "the tables keep to the speeds asked for")
}

// TestSummaryOfTheRange: peaks and thresholds of the summary are those of a sweep of every 5 rpm.
func TestSummaryOfTheRange(t *testing.T) {
	for _, name := range []string{"open", "capped"} {
		trim := trimOf(t, hillclimb, name)
		dense, s := swept(t, trim, 5).Outcomes, swept(t, trim, 500).Summary(nil)
		best := func(get func(p *airpath.Point) float64) float64 { return get(&dense[boost.Highest(dense, get)].Point) }
		assert.InEpsilon(t, best(run.Torque), number(t, s, 0, "peak_torque_nm"), 5e-4, name)
		assert.InEpsilon(t, best(run.Power), number(t, s, 0, "peak_power_w"), 5e-4, name)
		from := func(m boost.Mark) float64 { return dense[boost.First(dense, m)].Speed / perRPM }
		const within = 5 + 4 // rpm: the sweep's step and the search's
		assert.InDelta(t, from(run.ReachesBoost), number(t, s, 0, "boost_reached_rpm")/perRPM, within, name)
		if name == "capped" {
			assert.InDelta(t, from(func(o *boost.Outcome) bool { return o.Point.Limits.Has(airpath.Restrictor) }), number(t, s, 0, "restrictor_from_rpm")/perRPM, within)
		}
	}
}

// TestLostBetween: a point without a solution that is met between two of the speeds asked for is told once the run is judged.
func TestLostBetween(t *testing.T) {
	r := swept(t, trimOf(t, clubFour, "free"), 500)
	require.Empty(t, r.Unsolved())
	fine := r.refined()
	for i := range fine.Outcomes {
		if o := &fine.Outcomes[i]; math.Abs(o.Speed/perRPM-math.Round(o.Speed/perRPM/500)*500) > 1 {
			o.Err = &airpath.PointError{Speed: o.Speed, Stage: "turbine", Reason: "none"}
			break
		}
	}
	require.Len(t, r.Unsolved(), 1)
	findings, err := r.Judge()
	require.NoError(t, err)
	assert.Equal(t, []string{"no solution"}, check.Failed(findings))
}
