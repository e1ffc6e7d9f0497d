package run

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/wastegate"
)

func targetsOf(t testing.TB, path, name string, change func(trim *spec.Trim)) *Targets {
	t.Helper()
	trim := spectest.Trim(t, path, name)
	if change != nil {
		change(trim)
	}
	r, err := Solve(t.Context(), "boost", trim, boost.Speeds(1500*spectest.PerRPM, 7800*spectest.PerRPM, 700*spectest.PerRPM))
	require.NoError(t, err)
	ts, err := r.Targets()
	require.NoError(t, err)
	return ts
}

// What the pedal asks for, put back into the solver, gives the share of the torque that it stands for.
func TestPedalRoundTrip(t *testing.T) {
	for _, c := range []struct{ path, trim string }{{spectest.Hillclimb, "open"}, {spectest.Hillclimb, "capped"}, {spectest.ClubFour, "restricted"}} {
		ts := targetsOf(t, c.path, c.trim, nil)
		solver := ts.Run.Engine.NewSolver()
		for _, p := range ts.PedalTargets() {
			require.NoError(t, p.TargetErr)
			require.False(t, p.Held)
			got, err := solver.Solve(airpath.Demand{Speed: p.Speed, Target: p.Pressure, Throttled: true, HeldOutlet: p.Lowest.Outlet})
			require.NoError(t, err)
			// The table has a point every fortieth of the pressure; between them the cubic is off by up to this, 1 N m of the engine here.
			require.InDelta(t, p.Pedal*p.Point.Torque, got.Torque, 0.002*p.Point.Torque, "%v, %v rpm, pedal %v", c, RPM(p.Speed), p.Pedal)
			require.Equal(t, p.Throttled(), got.Limit == airpath.Throttle && got.ThrottleLoss > 10, "%v, %v rpm, pedal %v", c, RPM(p.Speed), p.Pedal)
			if p.Pedal == 1 {
				require.InDelta(t, p.Point.ManifoldPressure, p.Pressure, 1e-6, "the floor of the pedal is full load")
			}
		}
	}
}

// Grip by hand, from the example's figures: front-wheel drive, 1080 kg, 62 % of it on the front wheels, h/b = 0.48/2.55, μ = 1.25, rolling
// resistance 0.014, which needs thrust that moves no load off the front wheels.
//
//	F = 1.25 · 1080 kg · 9.80665 m/s² · (0.62 + 0.014 · 0.48/2.55)/(1 + 1.25 · 0.48/2.55) = 6672.9 N
//	first gear: 6672.9 N · 0.298 m/(2.92 · 4.10 · 0.93) = 178.60 N m
func TestGripByHand(t *testing.T) {
	ts := targetsOf(t, spectest.Hillclimb, "open", nil)
	all, thrust, err := ts.Run.Gears()
	require.NoError(t, err)
	assert.InDelta(t, 6672.9, thrust, 0.1)
	assert.InDelta(t, 178.60, all[0].GripTorque, 0.01)
	gears, err := ts.GearTargets()
	require.NoError(t, err)
	solver := ts.Run.Engine.NewSolver()
	capped := 0
	for _, p := range gears {
		require.NoError(t, p.TargetErr)
		if p.Cap() == wastegate.NoCap {
			assert.InDelta(t, p.Point.ManifoldPressure, p.Pressure, 1e-6)
			continue
		}
		capped++
		got, err := solver.Solve(airpath.Demand{Speed: p.Speed, Target: p.Pressure, Throttled: true, HeldOutlet: p.Lowest.Outlet})
		require.NoError(t, err)
		assert.InDelta(t, p.GearCap.Torque, got.Torque, 0.002*p.Point.Torque, "%v rpm, gear %d", RPM(p.Speed), p.Gear)
	}
	assert.Positive(t, capped)
}

// A weak gearbox caps what grip would take.
func TestGearboxCaps(t *testing.T) {
	ts := targetsOf(t, spectest.Hillclimb, "open", func(trim *spec.Trim) { trim.Driveline.TorqueLimit = 300 })
	gears, err := ts.GearTargets()
	require.NoError(t, err)
	names := map[int]map[wastegate.Cap]bool{}
	for _, p := range gears {
		if names[p.Gear] == nil {
			names[p.Gear] = map[wastegate.Cap]bool{}
		}
		names[p.Gear][p.Cap()] = true
		assert.LessOrEqual(t, p.GearCap.Torque, 300*(1+1e-5))
	}
	assert.Equal(t, map[wastegate.Cap]bool{wastegate.NoCap: true, wastegate.GripCap: true}, names[1])
	assert.Equal(t, map[wastegate.Cap]bool{wastegate.NoCap: true, wastegate.GearboxCap: true}, names[5])
}

// Less grip never allows more boost.
func TestGripIsMonotone(t *testing.T) {
	before := map[[2]int]float64{}
	for _, grip := range []float64{0.4, 0.8, 1.25, 2} {
		gears, err := targetsOf(t, spectest.Hillclimb, "capped", func(trim *spec.Trim) { trim.Car.Grip = grip }).GearTargets()
		require.NoError(t, err)
		for _, p := range gears {
			at := [2]int{p.Gear, int(math.Round(RPM(p.Speed)))}
			assert.GreaterOrEqual(t, p.Pressure, before[at])
			before[at] = p.Pressure
		}
	}
}

// Full load that the gearbox's rating ends lies on that rating, a little above or below: either way it is the gearbox that caps it, unless the tyres
// take less.
func TestGearboxEndsFullLoad(t *testing.T) {
	ended := &PartLoad{Outcome: &boost.Outcome{Point: airpath.Point{Limits: airpath.LimitSet(0).With(airpath.GearboxTorque)}}}
	assert.Equal(t, wastegate.GearboxCap, (&Target{PartLoad: ended}).Cap())
	assert.Equal(t, wastegate.GripCap, (&Target{PartLoad: ended, GearCap: wastegate.GearCap{Cap: wastegate.GripCap}}).Cap())
	free := &PartLoad{Outcome: &boost.Outcome{}}
	assert.Equal(t, wastegate.NoCap, (&Target{PartLoad: free}).Cap())
}
