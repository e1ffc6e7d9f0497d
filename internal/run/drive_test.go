package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
)

// TestDriveTakesTheSpec: what the example says of car, gears and surfaces is what drives, worked out by hand.
func TestDriveTakesTheSpec(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 2000, 3500, 5000, 6500, 7800)
	d, err := r.Drive(run.Place{Surface: "gravel", Grade: 0.08})
	require.NoError(t, err)
	assert.InDelta(t, 1.1485, d.Vehicle.AirDensity, 5e-5, "as the command air prints it")
	assert.InDelta(t, 0.55, d.Road.Grip, 1e-12)
	assert.InDelta(t, 0.030, d.Road.Rolling, 1e-12)
	assert.InDelta(t, 0.08, d.Road.Grade, 1e-12)
	for i, ratio := range []float64{2.92, 2.05, 1.58, 1.27, 1.06} {
		assert.InDelta(t, ratio*4.10, d.Vehicle.Gears[i].Overall, 1e-12)
		assert.InDelta(t, map[bool]float64{true: 0.93, false: 0.94}[i == 0], d.Vehicle.Gears[i].Efficiency, 1e-12)
	}
	assert.InDelta(t, 0.14, d.Vehicle.EngineInertia, 1e-12)
	assert.InDelta(t, 0.07, d.Vehicle.Shift.Time, 1e-12)
	assert.InDelta(t, 0.78, d.Vehicle.DragArea, 1e-12)
	for i := range r.Outcomes {
		torque, _ := d.Vehicle.Torque.At(r.Outcomes[i].Speed)
		assert.InDelta(t, r.Outcomes[i].Point.Torque, torque, 1e-9, "the torque is that of the points")
	}
	// Where the tyres set the thrust, in first gear at 5000 rpm: front-wheel drive on gravel, uphill at atan 0.08. W = 1080 · 9.80665 cos θ = 10557.5 N,
	// F = 0.55 · (0.62 + 0.03 · 0.48/2.55) W/(1 + 0.55 · 0.48/2.55) = 3292.1 N.
	pull, err := d.Vehicle.Pull(0, 5000*spectest.PerRPM*0.298/(2.92*4.10), d.Road)
	require.NoError(t, err)
	weight := 1080 * 9.80665 * math.Cos(math.Atan(0.08))
	assert.InDelta(t, 0.55*(0.62+0.03*0.48/2.55)*weight/(1+0.55*0.48/2.55), pull.Thrust, 1e-6)

	_, err = r.Drive(run.Place{Surface: "gravle"})
	assert.ErrorContains(t, err, `no surface is called "gravle"; surfaces has tarmac-dry, tarmac-wet, gravel, snow`)
	_, err = runtest.Solved(t, spectest.Hillclimb, "open", 5000).Drive(run.Place{})
	assert.ErrorIs(t, err, run.ErrTooFewSpeeds)
}

// TestRunUpTimes: on snow the tyres set the thrust throughout, and against drag a constant force F takes m/√(F k) artanh(v √(k/F)), k = ρ Cd A/2; the wheels
// that are not driven, half of the wheels' inertia, go into m. What the shifts take comes on top.
func TestRunUpTimes(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 1500, 2500, 3500, 4500, 5500, 6500, 7800)
	d, err := r.Drive(run.Place{Surface: "snow"})
	require.NoError(t, err)
	all := d.RunUps()
	require.Len(t, all, 3)
	const k, shift = 1.1485 / 2 * 0.78, 0.070
	force := 1080 * 9.80665 * (0.25*(0.62+0.035*0.48/2.55)/(1+0.25*0.48/2.55) - 0.035)
	mass := 1080 + 3.6/(0.298*0.298)/2
	until := func(v float64) float64 { return mass / math.Sqrt(force*k) * math.Atanh(v*math.Sqrt(k/force)) }
	for i, run := range []struct{ from, to float64 }{{0, 100 / 3.6}, {60 / 3.6, 130 / 3.6}} {
		without := until(run.to) - until(run.from)
		shifts := float64(all[i].Done.Shifts)
		require.NoError(t, all[i].Err)
		require.Positive(t, shifts)
		assert.Greater(t, all[i].Done.Time, without+shift*shifts)
		assert.Less(t, all[i].Done.Time, without+2*shift*shifts, "a shift loses its time, and less than as much again by slowing down")
		assert.InDelta(t, run.to, all[i].Done.Velocity, 1e-6)
	}
}
