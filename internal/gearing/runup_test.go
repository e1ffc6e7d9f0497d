package gearing

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func runUp(t testing.TB, v *Vehicle, road Road, launchRPM float64, aim Aim, step float64) (RunUp, error) {
	t.Helper()
	g, err := v.Gearing(road)
	require.NoError(t, err)
	return v.runUp(g, road, Launch{launchRPM * rpm}, aim, step)
}

// Without drag and resistance a car at the grip limit has a constant acceleration a = F/m: t = v/a, and √(2 s/a) over a distance.
func TestRunUpWithoutDragByHand(t *testing.T) {
	v := vehicle(t)
	v.Torque = flat(t, 600)
	v.Gears = []Gear{{5, 1}} // 104.7 rad/s are 6.28 m/s, 8000 rpm 50.3 m/s; 10 kN, more than the tyres take
	v.Grip = 1.1
	// Front drive: F = 5835.76 N (TestGripThrustByHand), a = 4.863134 m/s².
	const a = 5835.76 / 1200
	got, err := runUp(t, v, v.Road(), 3000, Aim{Velocity: 27.7777778}, runStep)
	require.NoError(t, err)
	assert.InEpsilon(t, 27.7777778/a, got.Time, 1e-6)
	assert.InEpsilon(t, 27.7777778*27.7777778/2/a, got.Distance, 1e-6)
	assert.InDelta(t, got.Time, got.Limited, 1e-9)
	assert.Zero(t, got.Shifts)
	got, err = runUp(t, v, v.Road(), 3000, Aim{Distance: 200}, runStep)
	require.NoError(t, err)
	assert.InEpsilon(t, math.Sqrt(400/a), got.Time, 1e-6)
	assert.InEpsilon(t, math.Sqrt(400*a), got.Velocity, 1e-6)
	// The clutch slips up to 3000 rpm, 18.85 m/s: the engine's torque is F r/i, its work there T ω t, half of which the car gets.
	slip := 3000 * rpm * 0.3 / 5
	torque := 5835.76 * 0.3 / 5
	assert.InEpsilon(t, torque*3000*rpm*slip/a/2, got.Work.Clutch, 1e-5)
}

// With constant thrust against drag alone v = vt tanh(F t/(m vt)), x = m vt²/F ln cosh(F t/(m vt)), vt = √(2 F/(ρ Cd A)).
func TestRunUpWithDrag(t *testing.T) {
	v := vehicle(t)
	v.Gears = []Gear{{6, 0.9}}
	v.DragArea = 2
	const force, mass = 200 * 6 * 0.9 / 0.3, 1200.0
	vt := math.Sqrt(2 * force / (1.2 * 2))
	at := func(velocity float64) float64 { return mass * vt / force * math.Atanh(velocity/vt) }
	where := func(velocity float64) float64 {
		return mass * vt * vt / force * math.Log(math.Cosh(force*at(velocity)/(mass*vt)))
	}
	got, err := runUp(t, v, v.Road(), 2000, Aim{From: 60 / 3.6, Velocity: 130 / 3.6}, runStep)
	require.NoError(t, err)
	assert.InEpsilon(t, at(130/3.6)-at(60/3.6), got.Time, 1e-9)
	assert.InEpsilon(t, where(130/3.6)-where(60/3.6), got.Distance, 1e-9)
}

// A shift without thrust on a level road without drag leaves the speed as it is: two stretches of constant thrust with the cut between.
func TestRunUpWithAShiftByHand(t *testing.T) {
	v := vehicle(t) // 8000 N and 4000 N for 1200 kg; the limiter of the first gear is at 20.94 m/s
	v.Shift.Time = 0.15
	limit := 8000 * rpm * 0.3 / 12
	got, err := runUp(t, v, v.Road(), 2000, Aim{Velocity: 30}, runStep)
	require.NoError(t, err)
	assert.Equal(t, 1, got.Shifts)
	assert.Equal(t, 1, got.Gear)
	want := limit/(8000.0/1200) + 0.15 + (30-limit)/(4000.0/1200)
	assert.InEpsilon(t, want, got.Time, 1e-9)
	distance := limit*limit/2/(8000.0/1200) + 0.15*limit + (900-limit*limit)/2/(4000.0/1200)
	assert.InEpsilon(t, distance, got.Distance, 1e-9)
	// The torque comes back from 40 % in a straight line in 0.5 s: 0.3 s of full torque are lost on the way.
	v.Shift.Kept, v.Shift.Recovery = 0.4, 0.5
	v.Shift.Time = 0
	late, err := runUp(t, v, v.Road(), 2000, Aim{Velocity: 30}, runStep)
	require.NoError(t, err)
	assert.InEpsilon(t, want-0.15+0.6*0.5/2, late.Time, 1e-9)
	// Up to the limiter of the last gear, 41.9 m/s, and along it.
	v.Shift = Shift{}
	top := 8000 * rpm * 0.3 / 6
	far, err := runUp(t, v, v.Road(), 2000, Aim{Distance: 1000}, runStep)
	require.NoError(t, err)
	up := limit*limit/2/(8000.0/1200) + (top*top-limit*limit)/2/(4000.0/1200)
	assert.InEpsilon(t, limit/(8000.0/1200)+(top-limit)/(4000.0/1200)+(1000-up)/top, far.Time, 1e-9)
}

// As TestRunUpWithAShiftByHand, where the gear that is left has a shift of its own.
func TestRunUpWithTheGearsOwnShift(t *testing.T) {
	v := vehicle(t)
	limit := 8000 * rpm * 0.3 / 12
	v.Shift = Shift{Time: 0.5, Kept: 0.1, Recovery: 2}
	v.Shifts = []Shift{{Time: 0.153, Kept: 0.4, Recovery: 0.5}}
	got, err := runUp(t, v, v.Road(), 2000, Aim{Velocity: 30}, runStep)
	require.NoError(t, err)
	assert.InEpsilon(t, limit/(8000.0/1200)+0.153+0.6*0.5/2+(30-limit)/(4000.0/1200), got.Time, 1e-9)
	// A run that begins at the speed of the shift begins after it.
	got, err = runUp(t, v, v.Road(), 2000, Aim{From: limit, Velocity: 30}, runStep)
	require.NoError(t, err)
	assert.Zero(t, got.Shifts)
	assert.InEpsilon(t, (30-limit)/(4000.0/1200), got.Time, 1e-9)
}

// Tyres that take 3000 N limit both gears, of 8000 N and 4000 N, but not the cut, nor the torque on its way back from half up to three quarters: half of the
// way.
func TestRunUpTellsHowLongTheTyresLimit(t *testing.T) {
	v := vehicle(t)
	v.Shift = Shift{Time: 0.2, Kept: 0.5, Recovery: 0.8}
	// Front drive as in TestSpikes: μ = F/(0.55 W − 0.2 F).
	v.Grip = 3000 / (0.55*1200*gravity - 0.2*3000)
	got, err := runUp(t, v, v.Road(), 2000, Aim{Velocity: 30}, runStep)
	require.NoError(t, err)
	assert.InDelta(t, got.Time-0.2-0.4, got.Limited, 2*runStep)
}

// random returns an invented car, of any drive, and a road.
func random(t testing.TB, r *rand.Rand) (*Vehicle, Road) {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	v := vehicle(t)
	peak := between(200, 600)
	v.Torque = curve(t, map[float64]float64{1000: peak * between(0.5, 0.8), 4000: peak, 8000: peak * between(0.5, 0.9)}, 1000, 4000, 8000)
	v.Car = Car{Mass: between(600, 1500), Grip: between(0.5, 1.4), RearWeight: between(0.35, 0.6), RearThrust: math.Round(between(0, 2)) / 2,
		CentreHeight: between(0.3, 0.6), Wheelbase: between(2.2, 2.8), RollingRadius: between(0.27, 0.33), DragArea: between(0.3, 1.2),
		RollingResistance: between(0.008, 0.05), WheelInertia: between(0, 6)}
	v.Gears = []Gear{{between(10, 14), 0.92}, {between(6, 9), 0.93}, {between(3.5, 5), 0.95}}
	v.EngineInertia = between(0, 0.3)
	v.Shift = Shift{Time: between(0, 0.3), Kept: between(0.4, 1), Recovery: between(0, 0.6)}
	road := v.Road()
	road.Grade = between(-0.05, 0.08)
	return v, road
}

// The engine's work is what car, wheels and engine gained, and what drag, resistance, gradient, gearbox and clutch took.
func TestRunUpKeepsEnergy(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	reached := 0
	for range 40 {
		v, road := random(t, r)
		for _, aim := range []Aim{{Velocity: 100 / 3.6}, {Distance: 400}, {From: 60 / 3.6, Velocity: 130 / 3.6}} {
			got, err := runUp(t, v, road, 4000, aim, runStep)
			if err != nil {
				require.ErrorIs(t, err, ErrNeverReached)
				continue
			}
			reached++
			require.InDelta(t, 0, imbalance(got.Work)/got.Work.Engine, 1e-6, "%+v", got)
			fine, err := runUp(t, v, road, 4000, aim, runStep/10)
			require.NoError(t, err)
			require.InEpsilon(t, fine.Time, got.Time, 1e-5)
			require.InDelta(t, fine.Limited, got.Limited, 2*runStep*float64(1+got.Shifts))
		}
	}
	assert.Greater(t, reached, 60)
}

// A heavier car is never quicker where neither tyres nor slope give it more thrust, nor one with more drag, less grip or a longer cut.
func TestRunUpTrends(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	compared := 0
	for range 25 {
		v, road := random(t, r)
		aim := Aim{Distance: 400}
		got, err := runUp(t, v, road, 4000, aim, runStep)
		if err != nil {
			continue
		}
		for name, worse := range map[string]func(v *Vehicle, road *Road){
			"mass":  func(v *Vehicle, _ *Road) { v.Mass *= 1.05 },
			"drag":  func(v *Vehicle, _ *Road) { v.DragArea *= 1.1 },
			"grip":  func(_ *Vehicle, road *Road) { road.Grip *= 0.95 },
			"shift": func(v *Vehicle, _ *Road) { v.Shift.Time += 0.05 },
			"grade": func(_ *Vehicle, road *Road) { road.Grade += 0.01 },
		} {
			if name == "mass" && (got.Limited > 0 || road.Grade < 0) {
				continue // what the tyres limit, or the slope pulls, a heavier car has the more thrust for, and the same drag
			}
			other, slope := *v, road
			worse(&other, &slope)
			slower, err := runUp(t, &other, slope, 4000, aim, runStep)
			if err == nil {
				compared++
				require.GreaterOrEqual(t, slower.Time, got.Time*(1-1e-4), name)
			}
		}
	}
	assert.Greater(t, compared, 80)
}

func TestRunUpRefuses(t *testing.T) {
	v := vehicle(t)
	for _, c := range []struct {
		launch float64
		aim    Aim
		want   string
	}{
		{500, Aim{Velocity: 10}, "launch at 52.35987755982989 rad/s: want 104.71975511965978 to 837.7580409572782"},
		{950, Aim{Velocity: 10}, "launch at 99.48376736367679 rad/s: want 104.71975511965978 to 837.7580409572782"},
		{2000, Aim{}, "run-up from 0 to 0 m/s or over 0 m: want one of the two, above 0 and above its begin"},
		{2000, Aim{From: 20, Velocity: 10}, "run-up from 20 to 10 m/s or over 0 m: want one of the two, above 0 and above its begin"},
		{2000, Aim{Velocity: 60}, "the car does not get there"}, // the limiter of the last gear is at 41.9 m/s
		{2000, Aim{From: 1, Velocity: 10}, "the torque is not known at the speeds that the run takes"},
	} {
		_, err := runUp(t, v, v.Road(), c.launch, c.aim, runStep)
		assert.EqualError(t, err, c.want)
	}
	// Ten minutes are too long: at 41.9 m/s along the limiter 26 km take 620 s, 24 km 573 s.
	_, err := runUp(t, v, v.Road(), 2000, Aim{Distance: 24e3}, runStep)
	assert.NoError(t, err)
	_, err = runUp(t, v, v.Road(), 2000, Aim{Distance: 26e3}, runStep)
	assert.ErrorIs(t, err, ErrNeverReached)
	// A gain of 0.005 m/s² is one: 4000 N less a resistance of 3994 N for 1200 kg.
	slow := v.Road()
	slow.Rolling = 3994 / (1200 * gravity)
	other := *v
	other.Gears = v.Gears[1:]
	got, err := runUp(t, &other, slow, 2000, Aim{From: 20, Velocity: 20.1}, runStep)
	require.NoError(t, err)
	assert.InEpsilon(t, 0.1/0.005, got.Time, 1e-6)
	steep := v.Road()
	steep.Grade = 1
	v.Mass = 6000
	_, err = runUp(t, v, steep, 2000, Aim{Distance: 100}, runStep)
	assert.ErrorIs(t, err, ErrNeverReached)
}

func BenchmarkRunUp(b *testing.B) {
	v := vehicle(b)
	v.DragArea, v.RollingResistance, v.EngineInertia, v.WheelInertia = 0.8, 0.015, 0.15, 4
	g, err := v.Gearing(v.Road())
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		_, err = v.RunUp(g, v.Road(), Launch{3000 * rpm}, Aim{Distance: 400})
	}
	require.NoError(b, err)
}

// imbalance returns what is left of the engine's work when all it goes to is taken off, J.
func imbalance(w Work) float64 {
	return w.Engine - w.Kinetic - w.Drag - w.Rolling - w.Gradient - w.Gearbox - w.Clutch - w.Brakes
}
