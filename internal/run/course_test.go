package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/course"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// lap is the example's lap, at the engine speeds that it takes.
func lap(t testing.TB, change func(trim *spec.Trim)) *run.Run {
	trim := spectest.Trim(t, spectest.ClubFour, "free")
	change(trim)
	return runtest.Solve(t, trim, 1500, 3000, 4500, 6000, 7000, 8000)
}

func timed(t testing.TB, r *run.Run) *run.Course {
	t.Helper()
	c, err := r.Course()
	require.NoError(t, err)
	return c
}

// TestCourseTakesTheSpec: what the example says of the course, worked out by hand where a figure stands alone.
func TestCourseTakesTheSpec(t *testing.T) {
	c := timed(t, lap(t, func(*spec.Trim) {}))
	assert.InDelta(t, 3000, c.Length, 1e-9)
	assert.InEpsilon(t, c.Trace.Velocity[0], c.Trace.Velocity[len(c.Trace.Velocity)-1], 1e-6, "a flying lap")
	// The chicane from 1265 m on is passed at 70 km/h; the corner of 14 m at 2225 m is the slowest, with the bank of 3 %:
	// v² = r g (0.03 + 1.2)/(1 − 1.2 · 0.03).
	assert.InDelta(t, 70/3.6, c.Trace.Velocity[1270], 1e-9)
	assert.InEpsilon(t, math.Sqrt(14*9.80665*(0.03+1.2)/(1-1.2*0.03)), c.Slowest.Velocity, 2e-3, "and holds itself against drag")
	assert.InDelta(t, 0, c.Height, 0.2)
	// Rolling resistance of the whole lap, on roads hardly steep enough to show: f m g s, 0.5 % more for what the banks press.
	assert.InEpsilon(t, 0.013*960*9.80665*3000, c.Work.Rolling, 0.02)

	standing := timed(t, lap(t, func(trim *spec.Trim) { trim.Course.Flying = false }))
	assert.Zero(t, standing.Trace.Velocity[0])
	assert.Greater(t, standing.Time, c.Time+1)
	for name, worse := range map[string]func(trim *spec.Trim){
		"air":     func(trim *spec.Trim) { trim.Venue.Temperature -= 40 },
		"drag":    func(trim *spec.Trim) { trim.Car.DragArea += 0.1 },
		"gears":   func(trim *spec.Trim) { trim.Driveline.Efficiency[2] -= 0.05 },
		"shift":   func(trim *spec.Trim) { trim.Driveline.Shift.Time += 0.1 },
		"inertia": func(trim *spec.Trim) { trim.Driveline.EngineInertia += 0.1 },
		"surface": func(trim *spec.Trim) { trim.Course.Stations[5].Grip = 0.8 },
		"limiter": func(trim *spec.Trim) { trim.Engine.Limiter *= 0.95 },
	} {
		r := lap(t, func(trim *spec.Trim) {
			if name == "air" { // the same torque in denser air: more drag alone
				return
			}
			worse(trim)
		})
		if name == "air" {
			worse(r.Trim)
		}
		assert.Greater(t, timed(t, r).Time, c.Time+0.02, name)
	}
}

// TestWorth: what a change is worth is the time of a car that has it in its spec.
func TestWorth(t *testing.T) {
	c := timed(t, lap(t, func(*spec.Trim) {}))
	worth := map[string]run.Change{}
	for _, w := range c.Worth() {
		require.NoError(t, w.Err)
		assert.InDelta(t, c.Time-w.Time, w.Gain, 1e-12)
		worth[w.ID] = w
	}
	require.Len(t, worth, 5)
	for id, change := range map[string]func(trim *spec.Trim){
		"less-mass":           func(trim *spec.Trim) { trim.Car.Mass -= 10 },
		"shorter-final-drive": func(trim *spec.Trim) { trim.Driveline.Final *= 1.05 },
		"longer-final-drive":  func(trim *spec.Trim) { trim.Driveline.Final *= 0.95 },
		"more-grip": func(trim *spec.Trim) {
			trim.Car.Grip += 0.05
			for i := range trim.Course.Stations {
				trim.Course.Stations[i].Grip += 0.05
			}
		},
	} {
		assert.InDelta(t, timed(t, lap(t, change)).Time, worth[id].Time, 1e-9, id)
	}
	// 10 kW more at the peak, by one factor at all speeds: the peak of the torque read off as power.
	r := lap(t, func(*spec.Trim) {})
	peak := r.Peak(run.Power).Point.Power
	for i := range r.Outcomes {
		r.Outcomes[i].Point.Torque *= (peak + 10e3) / peak
	}
	assert.InDelta(t, timed(t, r).Time, worth["more-power"].Time, 1e-9)
	assert.Positive(t, worth["more-power"].Gain)
	assert.Positive(t, worth["more-grip"].Gain)
	// Round corners alone the time goes with 1/√μ; a lap that is half corners and brakes gains about half of that.
	all := c.Time * (1 - math.Sqrt(1.2/1.25))
	assert.Greater(t, worth["more-grip"].Gain, all/3)
	assert.Less(t, worth["more-grip"].Gain, all)
}

// TestCourseFuelIsOnTheSafeSide: part load as the whole engine solves it, with the mixture that the spec has for it, takes no more than the course counts.
func TestCourseFuelIsOnTheSafeSide(t *testing.T) {
	r := runtest.Solved(t, spectest.ClubFour, "free", 3000, 6000)
	plane, err := r.Plane([]float64{40e3, 60e3, 80e3})
	require.NoError(t, err)
	fuel, err := r.FuelOverSpeed()
	require.NoError(t, err)
	compared := 0
	for i, cells := range plane.Cells {
		full := &r.Outcomes[i].Point
		for _, cell := range cells {
			if cell.Beyond || cell.Err != nil || !(cell.Point.Torque > 0) {
				continue
			}
			compared++
			counted := fuel.Flow(plane.Speeds[i], cell.Point.Torque/full.Torque)
			assert.Greater(t, counted, cell.Point.FuelFlow, "%.0f rpm, %v Pa", run.RPM(plane.Speeds[i]), cell.Point.ManifoldPressure)
			assert.Less(t, counted, 1.4*cell.Point.FuelFlow, "%.0f rpm, %v Pa", run.RPM(plane.Speeds[i]), cell.Point.ManifoldPressure)
		}
	}
	assert.GreaterOrEqual(t, compared, 5)
	assert.InEpsilon(t, r.Outcomes[0].Point.FuelFlow, fuel.Flow(plane.Speeds[0], 1), 1e-12)
}

// TestUseOfTheCourse: the tank is reckoned by the course, and by the profile where that is not known.
func TestUseOfTheCourse(t *testing.T) {
	r := lap(t, func(*spec.Trim) {})
	c := timed(t, r)
	u, err := r.Use()
	require.NoError(t, err)
	assert.True(t, u.Driven)
	assert.Equal(t, "lap", u.Name)
	assert.InDelta(t, c.Time, u.Time, 0)
	assert.InEpsilon(t, c.Fuel/u.Density, u.Stage, 1e-12)
	assert.InEpsilon(t, u.Stage/c.Time, u.Mean, 1e-12)
	assert.InEpsilon(t, 5e-3+u.Stage, u.Fill(), 1e-12)

	r = runtest.Solved(t, spectest.ClubFour, "free", 3000, 6000)
	u, err = r.Use()
	require.NoError(t, err)
	assert.False(t, u.Driven)
	assert.ErrorIs(t, u.Instead, course.ErrUnknown)
	assert.InDelta(t, 78, u.Time, 1e-12)
	assert.Positive(t, u.Stage)
	r.Trim.Supply.Use = nil
	u, err = r.Use()
	require.NoError(t, err)
	assert.ErrorIs(t, u.Unknown, course.ErrUnknown)
	assert.Zero(t, u.Stage)

	// A car that does not get up the hill has no fuel for it, whatever a profile says.
	steep := lap(t, func(trim *spec.Trim) { trim.Course.Stations[3].Grade = 0.5; trim.Course.Stations[3].Grip = 0.3 })
	u, err = steep.Use()
	require.NoError(t, err)
	var stand *course.StandstillError
	assert.ErrorAs(t, u.Unknown, &stand)

	none := lap(t, func(trim *spec.Trim) { trim.Course = nil })
	_, err = none.Course()
	assert.EqualError(t, err, "the spec has no course, or no car for it")
}

// TestCourseTakesTheDownshiftsTime: on a climb that the upper gears do not pull, each change down passes no thrust for as long as the spec says.
func TestCourseTakesTheDownshiftsTime(t *testing.T) {
	climb := func(down float64) *run.Course {
		return timed(t, lap(t, func(trim *spec.Trim) {
			s := trim.Course.Stations[:3]
			for i := range s {
				s[i].Curvature, s[i].Bank, s[i].Allowed, s[i].Grade, s[i].Distance = 0, 0, 0, 0, 600*float64(i)
			}
			s[1].Grade = 0.4
			trim.Course.Stations, trim.Course.Flying, trim.Driveline.DownTime = s, false, down
		}))
	}
	quick, slow := climb(0), climb(0.3)
	require.Positive(t, quick.Downshifts)
	assert.Greater(t, slow.Time, quick.Time+0.1)
}
