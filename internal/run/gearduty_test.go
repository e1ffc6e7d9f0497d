package run

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/boost"
	"bellmouth/internal/refdata"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// gearDutiesOf returns the targets by gear of a trim at three speeds, with their duties.
func gearDutiesOf(t testing.TB, name string, change func(trim *spec.Trim)) (ts *Targets, targets []*Target, duties []*DutyCell) {
	t.Helper()
	trim := spectest.Trim(t, spectest.Hillclimb, name)
	change(trim)
	r, err := Solve(t.Context(), "boost", trim, boost.Speeds(2500*spectest.PerRPM, 7500*spectest.PerRPM, 2500*spectest.PerRPM))
	require.NoError(t, err)
	ts, err = r.Targets()
	require.NoError(t, err)
	targets, err = ts.GearTargets()
	require.NoError(t, err)
	duties, ok, err := ts.GearDuties(targets)
	require.NoError(t, err)
	require.True(t, ok)
	require.Len(t, duties, len(targets))
	return ts, targets, duties
}

// The duty of each gear is found at full load for its boost; the target at part load, with the throttle open and the wastegate holding the pressure.
// Both are the same engine: lift and torque agree, and the throttle closes exactly where no duty comes down to the boost.
func TestGearDuties(t *testing.T) {
	all := 0
	for name, change := range spectest.BoostControls() {
		_, targets, duties := gearDutiesOf(t, "open", change)
		held := 0
		for i, p := range targets {
			c := duties[i]
			if p.Throttled() {
				assert.Nil(t, c)
				continue
			}
			require.NotNil(t, c, "%s, %v rpm, gear %d", name, RPM(p.Speed), p.Gear)
			require.NoError(t, c.HoldErr)
			if p.IsFullLoad() {
				assert.Equal(t, &p.Point, &c.Own.Point, "full load is the run's own point")
				continue
			}
			held++
			assert.True(t, c.Meets())
			assert.InDelta(t, p.Pressure, c.Own.Point.ManifoldPressure, 10)
			// The torque is read off a cubic through forty points; see TestPedalRoundTrip.
			assert.InDelta(t, p.GearCap.Torque, c.Own.Point.Torque, 0.002*p.Point.Torque, "%s, %v rpm, gear %d", name, RPM(p.Speed), p.Gear)
		}
		assert.Positive(t, held, name)
		all += held
	}
	assert.GreaterOrEqual(t, all, 15)
}

// Without a pulsed valve nothing sets the boost of a gear.
func TestGearDutiesNeedAPulsedValve(t *testing.T) {
	ts, targets, _ := gearDutiesOf(t, "open", func(*spec.Trim) {})
	ts.Run.Trim.Control.Closing = nil
	_, ok, err := ts.GearDuties(targets)
	require.NoError(t, err)
	assert.False(t, ok)
	ts.Run.Trim.Actuator, ts.Run.Trim.Control = nil, nil
	_, ok, err = ts.GearDuties(targets)
	require.NoError(t, err)
	assert.False(t, ok)
}

// testdata/reference/gearing.csv, with the car and gears of a spec put to each row's.
func TestRoadSpeedOfTheGears(t *testing.T) {
	for _, row := range refdata.Read(t, "gearing.csv") {
		speed := row.F(t, "rpm") * math.Pi / 30
		trim := spectest.Trim(t, spectest.Hillclimb, "capped")
		trim.Car.RollingRadius = row.F(t, "rolling_radius_m")
		trim.Driveline.Final = 4
		trim.Driveline.Gears = []float64{3 * row.F(t, "overall_ratio") / 4, row.F(t, "overall_ratio") / 4}
		trim.Engine.Limiter = speed
		gears, _, err := (&Run{Trim: trim}).Gears()
		require.NoError(t, err)
		assert.InEpsilon(t, row.F(t, "speed_m_s"), gears[1].RoadSpeed, 1e-9)
		assert.InEpsilon(t, row.F(t, "speed_m_s")/3, gears[0].RoadSpeed, 1e-9)
		ts := &Targets{Run: &Run{Trim: trim}, Loads: []PartLoad{{Outcome: &boost.Outcome{Speed: speed / 2}, TorqueErr: ErrNoSolution}}}
		targets, err := ts.GearTargets()
		require.NoError(t, err)
		assert.InEpsilon(t, row.F(t, "speed_m_s")/2, targets[1].RoadSpeed, 1e-9)
	}
}

// BenchmarkGearDuties is the duty of five gears at three speeds.
func BenchmarkGearDuties(b *testing.B) {
	ts, targets, _ := gearDutiesOf(b, "open", func(*spec.Trim) {})
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := ts.GearDuties(targets); err != nil {
			b.Fatal(err)
		}
	}
}
