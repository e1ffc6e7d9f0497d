package check_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/units"
)

func judgeCylinders(t *testing.T, r *run.Run) []check.Finding {
	t.Helper()
	shares, err := r.Shares()
	require.NoError(t, err)
	fs, err := check.Cylinders(r, shares.Air, func(o *boost.Outcome) run.Singles { return r.SinglesAt(&o.Point, shares.Air) })
	require.NoError(t, err)
	return fs
}

func TestCylinders(t *testing.T) {
	judge := func(leanest float64) []check.Finding {
		fs := judgeCylinders(t, runtest.WithSpread(t, spectest.Hillclimb, "capped", func(s *spec.Spread) { s.Leanest = leanest }, 4500, 6500))
		require.Len(t, fs, 3)
		return fs
	}
	fs := judge(0.88)
	r := runtest.Solved(t, spectest.Hillclimb, "capped", 4500)
	p := r.Outcomes[0].Point
	// Cylinder 3 has 102.4 of a mean of 100.
	assert.Equal(t, []string{"leanest-cylinder", check.WorstCylinderKnock, check.FullestCylinderPressure}, []string{fs[0].ID, fs[1].ID, fs[2].ID})
	assert.Equal(t, check.OK, fs[0].Verdict)
	assert.InDelta(t, 1.024*p.Lambda, fs[0].Value, 1e-12)
	assert.InDelta(t, 0.88-1.024*p.Lambda, fs[0].Margin(), 1e-12)
	assert.InDelta(t, 4500, fs[0].Speed/spectest.PerRPM, 1e-9)
	assert.Contains(t, fs[0].Remark, "cylinder 3, with 2.4 % more air")
	assert.Equal(t, check.Fail, judge(0.86)[0].Verdict)
	unstated := judge(0)[0]
	assert.Equal(t, check.Note, unstated.Verdict, "the spec states no limit")
	assert.Contains(t, unstated.Remark, "no manifold.spread.leanest")

	one, err := r.Engine.SingleAt(&p)
	require.NoError(t, err)
	res, err := one.Run(1.024, 1.024*p.Lambda, p.CA50)
	require.NoError(t, err)
	assert.InDelta(t, res.KnockIntegral, fs[1].Value, 1e-12)
	assert.Equal(t, check.Note, fs[1].Verdict, "a later spark keeps the limit")
	assert.Regexp(t, `a burn 1\.\d deg later in all cylinders, or in this one, keeps the limit`, units.Resolve(fs[1].Remark, units.Metric))
	// The retard keeps two octane numbers clear, and the sentence names both figures.
	assert.Less(t, r.Engine.Combustion.KnockLimit, fs[1].Limit)
	assert.Contains(t, units.Resolve(fs[1].Remark, units.Metric), fmt.Sprintf("keeps the limit with its margin, %.2f", r.Engine.Combustion.KnockLimit))
	assert.Equal(t, [2]float64{p.Speed, p.Speed}, [2]float64{fs[1].From, fs[1].To})
	assert.Zero(t, fs[2].To, "no speed is past the limit of pressure")
	assert.Greater(t, fs[2].Value, p.PeakPressure)
	assert.Equal(t, check.OK, fs[2].Verdict)

	// With CA50 already at its latest nothing is left to retard: that fails.
	tight := spectest.Trim(t, spectest.Hillclimb, "capped")
	tight.Engine.Combustion.LatestCA50 = p.CA50 + 0.2*math.Pi/180
	fs = judgeCylinders(t, runtest.Solve(t, tight, 4500))
	assert.Equal(t, check.Fail, fs[1].Verdict)

	for _, f := range judgeCylinders(t, runtest.WithSpread(t, spectest.Hillclimb, "capped", runtest.Flowing(1, 1, 1, 1, 1), 4500)) {
		assert.Equal(t, check.OK, f.Verdict, f.What)
	}
}

// TestCylindersBeyondTheModel: a cylinder with next to no air, or most of it, is a finding and does not stop the others.
func TestCylindersBeyondTheModel(t *testing.T) {
	r := runtest.WithSpread(t, spectest.Hillclimb, "capped", runtest.Flowing(5, 100, 101, 100, 99), 4500, 6500)
	fs := judgeCylinders(t, r)
	require.Len(t, fs, 4, "told once, not at every speed")
	f := fs[3]
	assert.Equal(t, "cylinder-mixture-1", f.ID)
	assert.Equal(t, "mixture of cylinder 1, one fuel for all", f.What)
	assert.Equal(t, check.Fail, f.Verdict)
	assert.InDelta(t, 5*5./405*r.Outcomes[0].Point.Lambda, f.Value, 1e-12)
	assert.Equal(t, 0.5, f.Limit)
	assert.Less(t, f.Margin(), 0.0)

	fs = judgeCylinders(t, runtest.WithSpread(t, spectest.Hillclimb, "capped", runtest.Flowing(400, 100, 101, 100, 99), 4500))
	f = fs[len(fs)-1]
	assert.Equal(t, "mixture of cylinder 1, one fuel for all", f.What)
	assert.Equal(t, 2.0, f.Limit)
	assert.Less(t, f.Margin(), 0.0)
}

func TestUnreadShares(t *testing.T) {
	f := check.UnreadShares(&run.UnreadSharesError{Speed: 500, Reason: "cylinder 1 is cold"})
	assert.Equal(t, check.Note, f.Verdict)
	assert.Equal(t, 500.0, f.Speed)
	assert.Equal(t, "not judged: manifold.spread.exhaust_temperature tells no shares of the air: cylinder 1 is cold", f.Remark)
}
