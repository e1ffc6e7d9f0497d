package sheet

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/table"
)

func targetsOf(t testing.TB, path, name string, change func(trim *spec.Trim)) *Targets {
	t.Helper()
	trim := trimOf(t, path, name)
	if change != nil {
		change(trim)
	}
	r, err := Solve(t.Context(), "boost", trim, boost.Speeds(1500*perRPM, 7800*perRPM, 700*perRPM))
	require.NoError(t, err)
	ts, err := r.Targets()
	require.NoError(t, err)
	return ts
}

// The torque that the tyres take is that worked out by hand in package run.
func TestGripIsPrinted(t *testing.T) {
	ratings, err := targetsOf(t, hillclimb, "open", nil).Ratings()
	require.NoError(t, err)
	assert.InDelta(t, 178.60, column(t, ratings, "grip_torque_nm")[0].Number(), 0.01)
}

// A weak gearbox caps what grip would take, and the speeds where it does are told.
func TestCappedAt(t *testing.T) {
	ts := targetsOf(t, hillclimb, "open", func(trim *spec.Trim) { trim.Driveline.TorqueLimit = 300 })
	gears, err := ts.GearTargets()
	require.NoError(t, err)
	assert.Equal(t, []string{"nowhere"}, cappedAt(gears, 99))
	at := cappedAt(gears, 5)
	require.Len(t, at, 1)
	assert.Contains(t, at[0], "gearbox ")
	at = cappedAt(gears, 1)
	require.Len(t, at, 1)
	assert.Contains(t, at[0], "grip ")
}

// Tables are sound, with and without a compressor, and where points have no solution.
func TestTargetTables(t *testing.T) {
	for _, c := range []struct {
		path, trim string
		change     func(trim *spec.Trim)
	}{
		{hillclimb, "open", nil}, {hillclimb, "capped", spectest.Knocking}, {clubFour, "free", nil},
		{hillclimb, "open", func(trim *spec.Trim) { trim.Wastegate.Bore = 0.022 }},
		{hillclimb, "open", func(trim *spec.Trim) { trim.Car.Grip = 0.1 }},
	} {
		ts := targetsOf(t, c.path, c.trim, c.change)
		for _, lost := range []bool{false, true} {
			if lost {
				ts.run.Outcomes[0].Err = &airpath.PointError{Speed: ts.run.Outcomes[0].Speed, Stage: "turbine", Reason: "no expansion ratio drives the compressor"}
				var err error
				ts, err = ts.run.Targets()
				require.NoError(t, err)
			}
			ratings, err := ts.Ratings()
			require.NoError(t, err)
			caps, err := ts.ByGear()
			require.NoError(t, err)
			doc := table.Document{Command: "boost", Tables: []table.Table{ratings, caps, ts.ByPedal()}}
			assert.NoError(t, doc.Check(), "%v", c)
		}
	}
}
