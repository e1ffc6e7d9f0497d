package gearing

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/numeric"
)

const rpm = math.Pi / 30

func curve(t testing.TB, torqueAt map[float64]float64, speeds ...float64) numeric.Curve {
	t.Helper()
	var x, y []float64
	for _, n := range speeds {
		x, y = append(x, n*rpm), append(y, torqueAt[n])
	}
	c, err := numeric.NewCurve(x, y)
	require.NoError(t, err)
	return c
}

// flat is an engine of the same torque at all speeds from 1000 to 8000 rpm.
func flat(t testing.TB, torque float64) numeric.Curve {
	return curve(t, map[float64]float64{1000: torque, 8000: torque}, 1000, 8000)
}

// vehicle is an invented car with two gears whose figures are easy to follow by hand: 200 N m, 0.3 m, overall 12 and 6, no losses, much grip.
func vehicle(t testing.TB) *Vehicle {
	c := car()
	c.Grip = 4
	return &Vehicle{Car: c, Gears: []Gear{{12, 1}, {6, 1}}, Torque: flat(t, 200), Limiter: 8000 * rpm, AirDensity: 1.2}
}

func TestPullByHand(t *testing.T) {
	v := vehicle(t)
	// 200 N m · 12/0.3 m = 8000 N for 1200 kg.
	p, err := v.Pull(0, 10, v.Road())
	require.NoError(t, err)
	assert.InDelta(t, 8000, p.Thrust, 1e-9)
	assert.InDelta(t, 8000.0/1200, p.Acceleration, 1e-12)
	assert.InDelta(t, 10*12/0.3, p.EngineSpeed, 1e-9)
	assert.False(t, p.Limited)

	// Drag 0.5 · 1.2 · 0.8 · 20² = 192 N; rolling 0.02 · 1200 · 9.80665 cos θ, gradient 1200 · 9.80665 sin θ with tan θ = 0.1:
	// cos 0.99503719, sin 0.099503719, so 234.1916 N and 1170.9578 N. 90 % of 4000 N = 3600 N. 3600 − 192 − 234.1916 − 1170.9578 = 2002.8506 N.
	// Inertia: 6 kg m²/0.09 m² = 66.6667 kg; 0.15 · 36/0.09 · 0.9 = 54 kg. a = 2002.8506/1320.66667 = 1.516545 m/s².
	v.DragArea, v.WheelInertia, v.EngineInertia = 0.8, 6, 0.15
	v.Gears[1].Efficiency = 0.9
	p, err = v.Pull(1, 20, Road{Grip: 4, Rolling: 0.02, Grade: 0.1})
	require.NoError(t, err)
	assert.InDelta(t, 192, p.Drag, 1e-9)
	assert.InDelta(t, 234.1916, p.Rolling, 1e-4)
	assert.InDelta(t, 1170.9578, p.Gradient, 1e-4)
	assert.InDelta(t, 1.516545, p.Acceleration, 1e-6)
	// Front drive: engine and half the wheels take (54 + 33.3333) kg · 1.516545 m/s² = 132.4450 N off the thrust at the road.
	assert.InDelta(t, 3600-132.4450, p.Thrust, 1e-3)
	v.RearThrust = 0.45 // all the wheels are driven
	p, err = v.Pull(1, 20, Road{Grip: 4, Rolling: 0.02, Grade: 0.1})
	require.NoError(t, err)
	assert.InDelta(t, 3600-(54+66.6667)*1.516545, p.Thrust, 1e-3)
}

// Where the tyres limit, the loads of the axles under the acceleration found carry exactly the thrust, and the torque left gives just that.
func TestPullAtTheGripLimit(t *testing.T) {
	for i := range 50 {
		v := vehicle(t)
		v.Grip, v.DragArea, v.RollingResistance, v.WheelInertia, v.EngineInertia = 0.5, 0.8, 0.02, 4, 0.1
		v.RearThrust = float64(i) / 49
		road := v.Road()
		road.Grade = 0.08
		const velocity = 12.0
		p, err := v.Pull(0, velocity, road)
		require.NoError(t, err)
		require.True(t, p.Limited)
		cos := 1 / math.Sqrt(1+0.08*0.08)
		weight := 1200 * gravity * cos
		// What acts at the height of the centre of mass: inertia of the car with that of the free wheels, drag, gradient.
		free := 4 / 0.09 / 2
		if v.RearThrust > 0 && v.RearThrust < 1 {
			free = 0
		}
		shift := ((1200+free)*p.Acceleration + p.Drag + p.Gradient) * v.CentreHeight / v.Wheelbase
		rear := weight*v.RearWeight + shift
		used := math.Max(v.RearThrust*p.Thrust/(0.5*rear), (1-v.RearThrust)*p.Thrust/(0.5*(weight-rear)))
		require.InDelta(t, 1, used, 1e-12)
		driven := 4/0.09 - free
		me := 0.1 * 12 * 12 / 0.09
		require.InDelta(t, p.Thrust, p.Torque*12/0.3-(me+driven)*p.Acceleration, 1e-9)
		require.InDelta(t, p.Thrust-p.Drag-p.Rolling-p.Gradient, (1200+free)*p.Acceleration, 1e-9)
	}
}

// With the same power at all speeds the top speed is where P η = ρ/2 Cd A v³ + f m g v.
func TestTopSpeedOfConstantPower(t *testing.T) {
	const power = 150e3
	v := vehicle(t)
	var x, y []float64
	for n := 1000.0; n <= 8000; n += 50 {
		x, y = append(x, n*rpm), append(y, power/(n*rpm))
	}
	var err error
	v.Torque, err = numeric.NewCurve(x, y)
	require.NoError(t, err)
	v.DragArea, v.RollingResistance, v.AirDensity = 0.8, 0.015, 1.2
	v.Gears = []Gear{{8, 0.9}, {3, 0.9}}
	g, err := v.Gearing(v.Road())
	require.NoError(t, err)
	assert.Equal(t, 1, g.Top.Gear)
	assert.Equal(t, ByResistance, g.Top.Ending)
	root, err := numeric.FindRoot(func(u float64) float64 { return 0.9*power - 0.48*u*u*u - 0.015*1200*gravity*u }, 20, 100, 1e-10)
	require.NoError(t, err)
	assert.InEpsilon(t, root.X, g.Top.Velocity, 1e-6, "the curve through points 50 rpm apart")
	assert.Equal(t, ByLimiter, g.Tops[0].Ending)
	assert.InDelta(t, 8000*rpm*0.3/8, g.Tops[0].Velocity, 1e-9)
	// A grade lowers it, a steep one stops the car.
	hill, err := v.Gearing(Road{Grip: 4, Rolling: 0.015, Grade: 0.15})
	require.NoError(t, err)
	assert.Less(t, hill.Top.Velocity, g.Top.Velocity)
	v.Mass = 6000 // 41.6 kN down the slope; the engine pushes with 150 kW/1000 rpm · 8 · 0.9/0.3 m = 34.4 kN at most
	wall, err := v.Gearing(Road{Grip: 4, Rolling: 0.015, Grade: 1})
	require.NoError(t, err)
	assert.Equal(t, CannotPull, wall.Top.Ending)
	assert.True(t, wall.Upshifts[0].None)
}

// Without drag, resistance and cut, and with torque that falls in a straight line, the shift is best where the thrust of both gears is the same:
// T(ω) i1 = T(ω i2/i1) i2. With T = T0 (1 − ω/ω0), x = i2/i1: 1 − ω/ω0 = x (1 − x ω/ω0), ω/ω0 = 1/(1 + x).
func TestUpshiftWhereThrustCrosses(t *testing.T) {
	v := vehicle(t)
	v.Torque = curve(t, map[float64]float64{1000: 350, 8000: 0}, 1000, 8000) // T0 = 400 N m, ω0 = 8000 rpm
	for _, ratio := range []float64{10, 8, 7} {
		v.Gears[1].Overall = ratio
		g, err := v.Gearing(v.Road())
		require.NoError(t, err)
		assert.InEpsilon(t, 8000/(1+ratio/12), g.Upshifts[0].EngineSpeed/rpm, 2e-3, "what is lost by a miss grows with its square")
		assert.InEpsilon(t, g.Upshifts[0].EngineSpeed*ratio/12, g.Upshifts[0].Landing, 1e-12)
		assert.False(t, g.Upshifts[0].AtEnd)
		lo, hi, ok := g.Band()
		assert.True(t, ok)
		assert.InDelta(t, g.Upshifts[0].Landing, lo, 0)
		assert.InDelta(t, g.Upshifts[0].EngineSpeed, hi, 0)
	}
	// Flat torque: a lower gear always pushes harder.
	v = vehicle(t)
	g, err := v.Gearing(v.Road())
	require.NoError(t, err)
	assert.True(t, g.Upshifts[0].AtEnd)
	assert.True(t, g.AtLimiter(g.Upshifts[0]))
	assert.InDelta(t, 8000*rpm, g.Upshifts[0].EngineSpeed, 1e-9)
	assert.Zero(t, g.Upshifts[0].Late)
}

// TestUpshiftBeyondWhatIsKnown: flat torque pulls to the limiter, and where it is known up to 6000 rpm only, no shift at 6000 is told, nor one of a gear
// that the next one's known speeds do not meet.
func TestUpshiftBeyondWhatIsKnown(t *testing.T) {
	for _, from := range []float64{1000, 3500} { // with 12 to 6 the next gear goes on from half the speed
		v := vehicle(t)
		v.Torque = curve(t, map[float64]float64{from: 200, 6000: 200}, from, 6000)
		g, err := v.Gearing(v.Road())
		require.NoError(t, err)
		assert.True(t, g.Upshifts[0].Unknown, "%v rpm", from)
		assert.Equal(t, from > 3000, g.Upshifts[0].None)
		assert.False(t, g.AtLimiter(g.Upshifts[0]))
		_, _, ok := g.Band()
		assert.False(t, ok)
	}
	v := vehicle(t)
	v.Limiter = 6000 * rpm
	g, err := v.Gearing(v.Road())
	require.NoError(t, err)
	assert.False(t, g.Upshifts[0].Unknown)
	assert.True(t, g.AtLimiter(g.Upshifts[0]))
}

// The shift that is found is the fastest: the run over a distance, integrated by itself in steps of 0.1 ms, takes longer with a shift elsewhere.
func TestUpshiftIsTheFastest(t *testing.T) {
	v := vehicle(t)
	v.Torque = curve(t, map[float64]float64{1000: 300, 3000: 420, 5000: 380, 8000: 160}, 1000, 3000, 5000, 8000)
	v.Gears = []Gear{{12, 0.92}, {8.5, 0.94}}
	v.DragArea, v.RollingResistance, v.EngineInertia, v.WheelInertia = 0.8, 0.015, 0.15, 4
	v.Shift = Shift{Time: 0.12, Kept: 0.6, Recovery: 0.4}
	g, err := v.Gearing(v.Road())
	require.NoError(t, err)
	u := g.Upshifts[0]
	require.False(t, u.AtEnd)
	w := v.on(v.Road())
	drive := func(shiftAt float64, until func(x, velocity float64) bool) (now, x, velocity float64) { // from 10 m/s
		velocity = 10
		shifted := math.Inf(1)
		const dt = 1e-4
		for !until(x, velocity) {
			var a float64
			switch {
			case math.IsInf(shifted, 1) && velocity < shiftAt:
				a = w.in(v.Gears[0], velocity, 1).Acceleration
			case math.IsInf(shifted, 1):
				shifted = now
				continue
			case now < shifted+v.Shift.Time:
				a = w.coasting(velocity)
			default:
				a = w.in(v.Gears[1], velocity, v.Shift.share(now-shifted-v.Shift.Time)).Acceleration
			}
			x += velocity*dt + a*dt*dt/2
			velocity += a * dt
			now += dt
		}
		return now, x, velocity
	}
	// The distance at whose end the next gear ends.
	_, distance, _ := drive(u.Velocity, func(_, velocity float64) bool { return velocity >= g.Tops[1].Velocity })
	over := func(shiftAt float64) float64 {
		now, x, velocity := drive(shiftAt, func(x, _ float64) bool { return x >= distance })
		return now - (x-distance)/velocity
	}
	best := over(u.Velocity)
	for _, off := range []float64{-1000, -500, 500, 1000} {
		assert.Greater(t, over(u.Velocity+off*rpm*0.3/12), best, "%v rpm off", off)
	}
	late := over(g.Tops[0].Velocity)
	assert.InDelta(t, u.Late, late-best, 1e-3)
	for _, edge := range []float64{u.FromSpeed, u.ToSpeed} {
		lost := over(edge*0.3/12) - best
		assert.True(t, lost > 0 && lost < Unfelt+1e-3, "%v s", lost)
	}
}

// More mass, drag or grade never lets a car pull harder or get faster; more grip or torque never slower.
func TestTrends(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*random.Float64() }
	for range 60 {
		v := vehicle(t)
		peak := between(150, 600)
		v.Torque = curve(t, map[float64]float64{1000: peak * between(0.3, 0.8), 4000: peak, 8000: peak * between(0.4, 0.9)}, 1000, 4000, 8000)
		v.Car = Car{Mass: between(600, 1600), Grip: between(0.3, 1.4), RearWeight: between(0.35, 0.6), RearThrust: math.Round(between(0, 2)) / 2,
			CentreHeight: between(0.3, 0.6), Wheelbase: between(2.2, 2.8), RollingRadius: between(0.27, 0.33), DragArea: between(0.3, 1.2),
			RollingResistance: between(0.008, 0.05), WheelInertia: between(0, 6)}
		v.Gears = []Gear{{between(10, 14), 0.93}, {between(6, 9), 0.93}, {between(3.5, 5), 0.93}}
		v.EngineInertia = between(0, 0.3)
		gear := random.IntN(3)
		lo, hi := v.Range(gear)
		velocity := between(lo, hi)
		look := func(change func(v *Vehicle, road *Road)) (a, top float64) {
			other := *v
			road := other.Road()
			if change != nil {
				change(&other, &road)
			}
			p, err := other.Pull(gear, velocity, road)
			require.NoError(t, err)
			g, err := other.Gearing(road)
			require.NoError(t, err)
			return p.Acceleration, g.Top.Velocity
		}
		a, top := look(nil)
		for name, worse := range map[string]func(v *Vehicle, road *Road){
			"drag":    func(v *Vehicle, _ *Road) { v.DragArea *= 1.1 },
			"grade":   func(_ *Vehicle, road *Road) { road.Grade = 0.02 },
			"grip":    func(_ *Vehicle, road *Road) { road.Grip *= 0.9 },
			"inertia": func(v *Vehicle, _ *Road) { v.EngineInertia += 0.05 },
		} {
			b, slower := look(worse)
			if name != "inertia" || a > 0 {
				assert.LessOrEqual(t, b, a+1e-12, name)
			}
			assert.LessOrEqual(t, slower, top*(1+1e-9), name)
		}
		g, err := v.Gearing(v.Road())
		require.NoError(t, err)
		for _, u := range g.Upshifts {
			if g.AtLimiter(u) {
				require.Equal(t, g.Tops[u.Gear].Velocity, u.Velocity, "to the last digit")
			}
		}
	}
}

// The free diameter of 225/40R18 is 18 · 25.4 + 2 · 0.40 · 225 = 637.2 mm; it rolls 3.05 · 637.2 = 1943.46 mm a turn, a radius of 309.31 mm.
func TestTyre(t *testing.T) {
	tyre := Tyre{Width: 0.225, Aspect: 0.40, Rim: 18 * 0.0254}
	assert.InDelta(t, 0.6372, tyre.FreeDiameter(), 1e-12)
	assert.InDelta(t, 0.30931, tyre.RollingRadius(), 5e-6)
}

func TestVehicleRefuses(t *testing.T) {
	for _, c := range []struct {
		change func(*Vehicle)
		want   string
	}{
		{func(v *Vehicle) { v.Mass = 0 }, "mass of the car is 0 kg; want more than 0"},
		{func(v *Vehicle) { v.Gears = nil }, "there is no gear"},
		{func(v *Vehicle) { v.Gears[1].Overall = 12 }, "overall ratio of gear 2 is 12 after 12; want the ratios to fall"},
		{func(v *Vehicle) { v.Gears[1].Efficiency = 0 }, "gear 2: driveline efficiency is 0; want more than 0 and at most 1"},
		{func(v *Vehicle) { v.Torque = numeric.Curve{} }, "torque over engine speed: want two speeds at least, above 0"},
		{func(v *Vehicle) { v.Torque = numeric.Constant(1) }, "torque over engine speed: want two speeds at least, above 0"},
		{func(v *Vehicle) { v.EngineInertia = -1 }, "inertia of the engine is -1 kg m²; want 0 or more"},
		{func(v *Vehicle) { v.Limiter = 100 }, "limiter is at 100 rad/s; want more than the lowest engine speed, 104.71975511965978 rad/s"},
		{func(v *Vehicle) { v.Shift.Time = math.NaN() }, "a shift takes NaN s; want 0 or more"},
		{func(v *Vehicle) { v.Shift.Kept = 2 }, "a shift keeps 2 of the torque; want 0 to 1"},
		{func(v *Vehicle) { v.Shift.Recovery = -1 }, "the torque comes back in -1 s; want 0 or more"},
		{func(v *Vehicle) { v.AirDensity = 0 }, "air density is 0 kg/m³; want more than 0"},
	} {
		v := vehicle(t)
		c.change(v)
		_, err := v.Gearing(Road{Grip: 1})
		assert.EqualError(t, err, c.want)
	}
	for _, c := range []struct {
		road Road
		want string
	}{
		{Road{}, "grip is 0; want more than 0"},
		{Road{Grip: 1, Rolling: -1}, "rolling resistance is -1; want 0 or more"},
		{Road{Grip: 1, Grade: math.NaN()}, "grade is NaN; want -1 to 1, rise over run"},
		{Road{Grip: 1, Grade: 1.5}, "grade is 1.5; want -1 to 1, rise over run"},
	} {
		_, err := vehicle(t).Gearing(c.road)
		assert.EqualError(t, err, c.want)
	}
	_, err := vehicle(t).Pull(0, 100, Road{Grip: 1})
	assert.ErrorContains(t, err, "gear 1 at 100 m/s: want 2.6")
	lo, hi := vehicle(t).Range(0)
	for _, velocity := range []float64{0.999 * lo, 1.001 * hi} {
		_, err = vehicle(t).Pull(0, velocity, Road{Grip: 1})
		assert.ErrorContains(t, err, "gear 1 at")
	}
}
