package sheet

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

func targetsOf(t testing.TB, path, name string, change func(trim *spec.Trim)) *Targets {
	t.Helper()
	trim := trimOf(t, path, name)
	if change != nil {
		change(trim)
	}
	r, err := Solve("boost", trim, boost.Speeds(1500*perRPM, 7800*perRPM, 700*perRPM))
	require.NoError(t, err)
	ts, err := r.Targets()
	require.NoError(t, err)
	return ts
}

// What the pedal asks for, put back into the solver, gives the share of the torque that it stands for.
func TestPedalRoundTrip(t *testing.T) {
	for _, c := range []struct{ path, trim string }{{hillclimb, "open"}, {hillclimb, "capped"}, {clubFour, "restricted"}} {
		ts := targetsOf(t, c.path, c.trim, nil)
		solver := ts.run.Engine.NewSolver()
		for _, p := range ts.pedals() {
			require.NoError(t, p.err)
			require.False(t, p.held)
			got, err := solver.Solve(airpath.Demand{Speed: p.Speed, Target: p.pressure, Throttled: true, HeldOutlet: p.rest.outlet})
			require.NoError(t, err)
			// The table has a point every fortieth of the pressure; between them the cubic is off by up to this, 1 N m of the engine here.
			require.InDelta(t, p.pedal*p.Point.Torque, got.Torque, 0.002*p.Point.Torque, "%v, %v rpm, pedal %v", c, run.RPM(p.Speed), p.pedal)
			require.Equal(t, p.throttled(), got.Limit == airpath.Throttle && got.ThrottleLoss > 10, "%v, %v rpm, pedal %v", c, run.RPM(p.Speed), p.pedal)
			if p.pedal == 1 {
				require.InDelta(t, p.Point.ManifoldPressure, p.pressure, 1e-6, "the floor of the pedal is full load")
			}
		}
	}
}

// Grip by hand, from the example's figures: front-wheel drive, 1080 kg, 62 % of it on the front wheels, h/b = 0.48/2.55, μ = 1.25.
//
//	F = 1.25 · 1080 kg · 9.80665 m/s² · 0.62/(1 + 1.25 · 0.48/2.55) = 6644.7 N
//	first gear: 6644.7 N · 0.298 m/(2.92 · 4.10 · 0.94) = 175.95 N m
func TestGripByHand(t *testing.T) {
	ts := targetsOf(t, hillclimb, "open", nil)
	ratings, err := ts.Ratings()
	require.NoError(t, err)
	for i, c := range ratings.Columns {
		if c.Key == "grip_torque_nm" {
			assert.InDelta(t, 175.95, ratings.Rows[0][i].Number(), 0.01)
		}
	}
	gears, err := ts.gears()
	require.NoError(t, err)
	solver := ts.run.Engine.NewSolver()
	capped := 0
	for _, p := range gears {
		require.NoError(t, p.err)
		if capName(p) == fullLoad {
			assert.InDelta(t, p.Point.ManifoldPressure, p.pressure, 1e-6)
			continue
		}
		capped++
		got, err := solver.Solve(airpath.Demand{Speed: p.Speed, Target: p.pressure, Throttled: true, HeldOutlet: p.rest.outlet})
		require.NoError(t, err)
		assert.InDelta(t, p.cap.Torque, got.Torque, 0.002*p.Point.Torque, "%v rpm, gear %d", run.RPM(p.Speed), p.gear)
	}
	assert.Positive(t, capped)
}

// A weak gearbox caps what grip would take.
func TestGearboxCaps(t *testing.T) {
	ts := targetsOf(t, hillclimb, "open", func(trim *spec.Trim) { trim.Driveline.TorqueLimit = 300 })
	gears, err := ts.gears()
	require.NoError(t, err)
	names := map[int]map[string]bool{}
	for _, p := range gears {
		if names[p.gear] == nil {
			names[p.gear] = map[string]bool{}
		}
		names[p.gear][capName(p)] = true
		assert.LessOrEqual(t, p.cap.Torque, 300*(1+1e-5))
	}
	assert.Equal(t, map[string]bool{fullLoad: true, "grip": true}, names[1])
	assert.Equal(t, map[string]bool{fullLoad: true, "gearbox": true}, names[5])
	assert.Equal(t, []string{"nowhere"}, ts.cappedAt(gears, 99))
	at := ts.cappedAt(gears, 5)
	require.Len(t, at, 1)
	assert.Contains(t, at[0], "gearbox ")
}

// Tables are sound, with and without a compressor, and where points have no solution.
func TestTargetTables(t *testing.T) {
	for _, c := range []struct {
		path, trim string
		change     func(trim *spec.Trim)
	}{
		{hillclimb, "open", nil}, {hillclimb, "capped", knocking}, {clubFour, "free", nil},
		{hillclimb, "open", func(trim *spec.Trim) { trim.Wastegate.Bore = 0.022 }},
		{hillclimb, "open", func(trim *spec.Trim) { trim.Car.Grip = 0.1 }},
	} {
		ts := targetsOf(t, c.path, c.trim, c.change)
		for range 2 {
			ratings, err := ts.Ratings()
			require.NoError(t, err)
			caps, err := ts.ByGear()
			require.NoError(t, err)
			doc := table.Document{Command: "boost", Tables: []table.Table{ratings, caps, ts.ByPedal()}}
			assert.NoError(t, doc.Check(), "%v", c)
			ts.run.Outcomes[0].Err = &airpath.PointError{Speed: ts.run.Outcomes[0].Speed, Stage: "turbine", Reason: "no expansion ratio drives the compressor"}
			ts, err = ts.run.Targets()
			require.NoError(t, err)
		}
	}
}

// Less grip never allows more boost.
func TestGripIsMonotone(t *testing.T) {
	before := map[[2]int]float64{}
	for _, grip := range []float64{0.4, 0.8, 1.25, 2} {
		gears, err := targetsOf(t, hillclimb, "capped", func(trim *spec.Trim) { trim.Car.Grip = grip }).gears()
		require.NoError(t, err)
		for _, p := range gears {
			at := [2]int{p.gear, int(math.Round(run.RPM(p.Speed)))}
			assert.GreaterOrEqual(t, p.pressure, before[at])
			before[at] = p.pressure
		}
	}
}
