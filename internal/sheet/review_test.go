package sheet

import (
	"math"
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
	r, err := Solve(t.Context(), "check", trim, boost.Speeds(1500*perRPM, trim.Engine.Limiter, step*perRPM))
	require.NoError(t, err)
	return r
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
	fine := r.Review().Fine
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
