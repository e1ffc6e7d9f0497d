package sheet

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// courseOn returns the course of an example's trim, with something changed in it.
func courseOn(t *testing.T, path, name string, change func(trim *spec.Trim)) *Course {
	t.Helper()
	trim := trimOf(t, path, name)
	change(trim)
	lo, hi := 1500*perRPM, trim.Engine.Limiter
	r, err := Solve(t.Context(), "course", trim, []float64{lo, (3*lo + hi) / 4, (lo + hi) / 2, (lo + 3*hi) / 4, hi})
	require.NoError(t, err)
	c, err := r.Course()
	require.NoError(t, err)
	return c
}

// What the tables of a stage say agrees: shares add up to the whole twice over, sections to the time, and the figures are those of the run.
func TestStageTablesAgree(t *testing.T) {
	c := courseOn(t, clubFour, "free", func(*spec.Trim) {})
	require.NoError(t, c.Err)
	sum := func(made table.Table, key string) (total float64) {
		for _, cell := range column(t, made, key) {
			total += cell.Number()
		}
		return total
	}
	stage := c.Stage()
	assert.InDelta(t, c.Time, column(t, stage, "course_time_s")[0].Number(), 1e-12)
	assert.InEpsilon(t, 3000/c.Time, column(t, stage, "course_mean_speed_m_s")[0].Number(), 1e-12)
	assert.InEpsilon(t, 2, sum(c.Shares(), "time_share"), 1e-9)
	assert.InEpsilon(t, c.Time, sum(c.Sections(), "section_time_s"), 1e-9)
	assert.Len(t, c.Sections().Rows, 12)
	assert.NotContains(t, stage.Notes, "The lap ends")
	corners, ok := c.Corners()
	require.True(t, ok)
	assert.Less(t, sum(corners, "corner_time_s"), c.Time)
	for i, gained := range column(t, c.Worth(), "time_gained_s") {
		assert.InDelta(t, c.Time, gained.Number()+column(t, c.Worth(), "course_time_s")[i].Number(), 1e-9)
	}
	up := courseOn(t, clubFour, "free", func(trim *spec.Trim) { trim.Course.Stations[0].Grade = 0.1 })
	assert.Regexp(t, `The lap ends 2\d m above its start`, units.Resolve(up.Stage().Notes[1], units.Metric), "260 m up by 10 % rather than 0.5 %")
	straight := courseOn(t, clubFour, "free", func(trim *spec.Trim) {
		trim.Course.Flying = false
		for i := range trim.Course.Stations {
			trim.Course.Stations[i].Curvature, trim.Course.Stations[i].Allowed = 0, 0
		}
	})
	_, ok = straight.Corners()
	assert.False(t, ok)
	assert.Equal(t, "nothing slows the car down", column(t, straight.Stage(), "course_least_speed_m_s")[0].Note())
}

// A car that does not get over the course, and torque that is not known up to the limiter, are told in the place of the figures.
func TestStageWithoutATime(t *testing.T) {
	c := courseOn(t, hillclimb, "open", func(trim *spec.Trim) { trim.Course.Stations[8].Grip = 0.05 })
	stage := c.Stage()
	assert.Regexp(t, `^the car comes to a stand at \d+ m: engine and tyres do not move it on there$`, units.Resolve(column(t, stage,
		"course_time_s")[0].Note(), units.Metric))
	for _, col := range stage.Columns {
		assert.NotEqual(t, "course_mean_speed_m_s", col.Key)
	}
	f := false
	for _, finding := range c.run.Review().Feed() {
		if finding.ID == "tank-holds-stage" {
			f = true
			assert.Contains(t, finding.Remark, "comes to a stand")
		}
	}
	assert.True(t, f, "what is not known does not pass")

	free := courseOn(t, clubFour, "free", func(*spec.Trim) {})
	slow := courseOn(t, clubFour, "restricted", func(*spec.Trim) {})
	made, ok := ByTrim([]*Course{c, free, slow})
	require.True(t, ok)
	gains := column(t, made, "time_gained_s")
	assert.Contains(t, gains[0].Note(), "comes to a stand")
	assert.True(t, gains[1].IsBlank())
	assert.InDelta(t, free.Time-slow.Time, gains[2].Number(), 1e-12)
	assert.Negative(t, gains[2].Number())
	_, ok = ByTrim([]*Course{free})
	assert.False(t, ok)

	few := solved(t, clubFour, "free", 3000)
	_, err := few.Course()
	assert.ErrorContains(t, err, "torque is not known at two engine speeds")
}
