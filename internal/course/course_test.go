package course

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/gearing"
	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

const (
	rpm = math.Pi / 30
	g0  = 9.80665
)

func curve(t testing.TB, x, y []float64) numeric.Curve {
	t.Helper()
	c, err := numeric.NewCurve(x, y)
	require.NoError(t, err)
	return c
}

// flat is an engine of the same torque from 1000 to 8000 rpm.
func flat(t testing.TB, torque float64) numeric.Curve {
	return curve(t, []float64{1000 * rpm, 8000 * rpm}, []float64{torque, torque})
}

// strong is an invented car without drag and inertia that spins its front wheels in any gear: F = 5835.76 N at a grip of 1.1 (gearing's TestGripThrustByHand).
func strong(t testing.TB) *gearing.Vehicle {
	return &gearing.Vehicle{
		Car:   gearing.Car{Mass: 1200, Grip: 1.1, RearWeight: 0.45, CentreHeight: 0.5, Wheelbase: 2.5, RollingRadius: 0.3},
		Gears: []gearing.Gear{{Overall: 3, Efficiency: 1}}, Torque: flat(t, 1000), Limiter: 8000 * rpm, AirDensity: 1.2,
	}
}

// driven returns a vehicle with its upshifts, for a standing start at 3000 rpm. The fuel is 1 g/s at no torque, and at full load 1 g/s for each 100 rad/s
// on top.
func driven(t testing.TB, v *gearing.Vehicle) Car {
	t.Helper()
	g, err := v.Gearing(v.Road())
	require.NoError(t, err)
	lo, hi := v.Span()
	return Car{Vehicle: v, Upshifts: g.Upshifts, Launch: gearing.Launch{EngineSpeed: 3000 * rpm},
		Fuel: Fuel{Full: curve(t, []float64{lo, hi}, []float64{1e-3 + lo*1e-5, 1e-3 + hi*1e-5}), Unused: numeric.Constant(1e-3)}}
}

// level is a road of the vehicle's own grip from a distance on.
func level(v *gearing.Vehicle, from, curvature float64) Station {
	return Station{Distance: from, Curvature: curvature, Road: v.Road()}
}

// On a circle without drag the car goes round at √(μ g r).
func TestCircle(t *testing.T) {
	v := strong(t)
	c := driven(t, v)
	c.Flying = true
	for _, radius := range []float64{9, 40, -150} {
		got, err := Drive([]Station{level(v, 0, 1/radius), level(v, 700.5, 0)}, c)
		require.NoError(t, err)
		speed := math.Sqrt(1.1 * g0 * math.Abs(radius))
		assert.InEpsilon(t, 700.5/speed, got.Time, 1e-9)
		assert.InEpsilon(t, 1.1*g0, got.Lateral, 1e-9)
		assert.InDelta(t, got.Time, got.Limited[ByCorner], 1e-9)
	}
	// Banked into the corner v² = r g (tan φ + μ)/(1 − μ tan φ); a text-book's banked curve.
	banked := level(v, 0, 1.0/40)
	banked.Bank = 0.1
	got, err := Drive([]Station{banked, level(v, 100, 0)}, c)
	require.NoError(t, err)
	assert.InEpsilon(t, math.Sqrt(40*g0*(0.1+1.1)/(1-1.1*0.1)), got.Top.Velocity, 1e-9)
	// A speed that the course allows is kept to.
	slow := level(v, 0, 1.0/40)
	slow.Allowed = 12
	got, err = Drive([]Station{slow, level(v, 120, 0)}, c)
	require.NoError(t, err)
	assert.InEpsilon(t, 10.0, got.Time, 1e-9)
	assert.InEpsilon(t, 144.0/40, got.Lateral, 1e-9)
}

// From rest at the grip limit, without drag: t = √(2 s/a), and up a slope a = F cos θ/m − g sin θ.
func TestStraightFromRestAtTheGripLimit(t *testing.T) {
	v := strong(t)
	got, err := Drive([]Station{level(v, 0, 0), level(v, 200, 0)}, driven(t, v))
	require.NoError(t, err)
	const a = 5835.76 / 1200
	assert.InEpsilon(t, math.Sqrt(2*200/a), got.Time, 1e-6)
	assert.InEpsilon(t, math.Sqrt(2*200*a), got.Top.Velocity, 1e-6)
	assert.InDelta(t, got.Time, got.Limited[ByTraction], 1e-9)
	assert.False(t, got.Slowest.Found)

	hill := level(v, 0, 0)
	hill.Grade = 0.09
	got, err = Drive([]Station{hill, level(v, 200, 0)}, driven(t, v))
	require.NoError(t, err)
	up := math.Atan(0.09)
	assert.InEpsilon(t, math.Sqrt(400/(a*math.Cos(up)-g0*math.Sin(up))), got.Time, 1e-6)
	assert.InEpsilon(t, 1200*g0*200*math.Sin(up), got.Work.Gradient, 1e-9)
}

// On a long straight the car comes to the top speed that gearing finds by the balance of thrust and resistance.
func TestTerminalSpeed(t *testing.T) {
	v := strong(t)
	v.Torque = flat(t, 200)
	v.Gears = []gearing.Gear{{Overall: 9, Efficiency: 0.95}, {Overall: 4, Efficiency: 0.95}, {Overall: 3, Efficiency: 0.95}}
	v.DragArea, v.RollingResistance = 1.3, 0.015
	g, err := v.Gearing(v.Road())
	require.NoError(t, err)
	require.Equal(t, gearing.ByResistance, g.Top.Ending)
	got, err := Drive([]Station{level(v, 0, 0), level(v, 20000, 0)}, driven(t, v))
	require.NoError(t, err)
	assert.InEpsilon(t, g.Top.Velocity, got.Top.Velocity, 1e-6)
	assert.Equal(t, int8(g.Top.Gear), got.Trace.Gear[len(got.Trace.Gear)-1])
}

// Into a corner v0² − v1² = 2 a s with a = μ g; with drag dv²/ds = −2 (μ g + k v²/m), and uphill a = g (μ cos θ + sin θ).
func TestBrakingIntoACorner(t *testing.T) {
	v := strong(t)
	for _, c := range []struct{ grade, drag float64 }{{0, 0}, {0.08, 0}, {-0.08, 0}, {0, 2}} {
		v.DragArea = c.drag
		road := v.Road()
		road.Grade = c.grade
		got, err := Drive([]Station{{Road: road}, {Distance: 400, Curvature: 1.0 / 20, Road: road}, {Distance: 410, Road: road}}, driven(t, v))
		require.NoError(t, err)
		slope := math.Atan(c.grade)
		a := g0 * (1.1*math.Cos(slope) + math.Sin(slope))
		corner := sq(got.Trace.Velocity[400])
		held := 1.1 * g0 * math.Cos(slope) * 20
		if c.grade < 0 { // the tyres have to hold it back on the slope too: (v⁴/r² + g² sin² θ) = μ² g² cos² θ
			held = 20 * math.Sqrt(sq(1.1*g0*math.Cos(slope))-sq(g0*math.Sin(slope)))
		}
		assert.InEpsilon(t, held, corner, 1e-6)
		k := 1.2 / 2 * c.drag / 1200
		braked := 0
		for i, limit := range got.Trace.Limit {
			if limit != ByBrakes || got.Trace.Limit[i-1] != ByBrakes { // the first braking begins within its step
				continue
			}
			braked++
			s := 400 - got.Trace.Distance[i]
			want := corner + 2*a*s
			if k > 0 {
				want = (corner+a/k)*math.Exp(2*k*s) - a/k
			}
			require.InEpsilon(t, want, got.Trace.Velocity[i]*got.Trace.Velocity[i], 1e-6, "%v m before", s)
		}
		assert.Greater(t, braked, 50)
		if c.grade == 0 && c.drag == 0 { // the braking begins at v² = 2 F/m x = corner + 2 μ g (400 − x)
			begin := (corner + 2*a*400) / (2*5835.76/1200 + 2*a)
			assert.InDelta(t, begin, got.Trace.Distance[at(got, ByBrakes)], 1)
			assert.InEpsilon(t, 1200.0/2*(2*a*(400-begin)), got.Work.Brakes, 0.005, "up to half a step less")
			assert.InDelta(t, 400, got.Slowest.Distance, 1)
			assert.InDelta(t, begin, got.BrakeAt, 2)
			assert.InEpsilon(t, 1200*a*math.Sqrt(corner+2*a*(400-begin)), got.BrakePower, 0.02, "mean over a step")
		}
	}
}

// at returns the first step that a limit holds in.
func at(s *Stage, l Limit) int {
	for i := range s.Trace.Limit {
		if s.Trace.Limit[i] == l {
			return i
		}
	}
	return -1
}

// random returns an invented car, of any drive, with three gears.
func random(t testing.TB, r *rand.Rand) *gearing.Vehicle {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	peak := between(200, 600)
	return &gearing.Vehicle{
		Car: gearing.Car{Mass: between(600, 1500), Grip: between(0.5, 1.4), RearWeight: between(0.35, 0.6), RearThrust: math.Round(between(0, 2)) / 2,
			CentreHeight: between(0.3, 0.6), Wheelbase: between(2.2, 2.8), RollingRadius: between(0.27, 0.33), DragArea: between(0.3, 1.2),
			RollingResistance: between(0.008, 0.05), WheelInertia: between(0, 6)},
		Gears: []gearing.Gear{
			{Overall: between(10, 14), Efficiency: 0.92}, {Overall: between(6, 9), Efficiency: 0.93}, {Overall: between(3.5, 5), Efficiency: 0.95},
		},
		EngineInertia: between(0, 0.3),
		Torque:        curve(t, []float64{1000 * rpm, 4000 * rpm, 8000 * rpm}, []float64{peak * between(0.5, 0.8), peak, peak * between(0.5, 0.9)}),
		Limiter:       8000 * rpm,
		Shift:         gearing.Shift{Time: between(0, 0.3), Kept: between(0.4, 1), Recovery: between(0, 0.6)},
		AirDensity:    1.2,
	}
}

// winding returns an invented course: straights, sweeps and hairpins up and down, some banked, some with a speed allowed, on the car's own grip.
func winding(r *rand.Rand, v *gearing.Vehicle, length float64) []Station {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	var all []Station
	for at := 0.0; ; {
		s := Station{Distance: at, Road: v.Road()}
		s.Grade = between(-0.08, 0.1)
		s.Bank = between(-0.04, 0.06)
		switch r.IntN(4) {
		case 0:
			s.Curvature = 1 / between(8, 30)
		case 1:
			s.Curvature = -1 / between(30, 200)
		case 2:
			s.Allowed = between(8, 40)
		}
		if len(all) == 0 { // a start that any car gets away from
			s.Curvature, s.Grade, s.Bank, s.Allowed = 0, 0, 0, 0
		}
		all = append(all, s)
		if at >= length {
			return all
		}
		at += between(3, 250)
	}
}

// What the forces of a stage are, step by step, worked out from its speeds alone: no tyre holds more than its grip, and no engine gives more than full load.
func TestEveryStepKeepsToTheTyres(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	most := 0.0
	for range 20 {
		v := random(t, r)
		stations := winding(r, v, 3000)
		got, err := Drive(stations, driven(t, v))
		if err != nil {
			var stand *StandstillError
			require.ErrorAs(t, err, &stand)
			continue
		}
		tr := &got.Trace
		for i := range tr.Limit {
			s := &stations[tr.Station[i]]
			dx := tr.Distance[i+1] - tr.Distance[i]
			w := (tr.Velocity[i]*tr.Velocity[i] + tr.Velocity[i+1]*tr.Velocity[i+1]) / 2
			a := (tr.Velocity[i+1]*tr.Velocity[i+1] - tr.Velocity[i]*tr.Velocity[i]) / 2 / dx
			slope, bank := math.Atan(s.Grade), math.Atan(s.Bank)
			load := v.Mass * (g0*math.Cos(slope)*math.Cos(bank) + w*math.Abs(s.Curvature)*math.Sin(bank))
			side := v.Mass * (w*math.Abs(s.Curvature)*math.Cos(bank) - g0*math.Cos(slope)*math.Sin(bank))
			along := v.Mass*a + 0.6*v.DragArea*w + s.Rolling*load + v.Mass*g0*math.Sin(slope)
			used := math.Hypot(along, side) / (s.Grip * load)
			require.Less(t, used, 1+1e-6, "step %d, %v, w %v", i, tr.Limit[i], w)
			most = math.Max(most, used)
		}
	}
	assert.Greater(t, most, 0.999, "the tyres are used")
}

// The engine's work is what car, wheels and engine gained and what drag, rolling resistance, slope, driveline, clutch and brakes took. Drag, rolling resistance
// and slope are worked out anew here from speeds and stations.
func TestEnergyBalance(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	driven1 := 0
	for i := range 30 {
		v := random(t, r)
		stations := winding(r, v, 2500)
		c := driven(t, v)
		c.Flying = i%3 == 0
		got, err := Drive(stations, c)
		if err != nil {
			var stand *StandstillError
			require.ErrorAs(t, err, &stand)
			continue
		}
		driven1++
		var drag, rolling, height float64
		tr := &got.Trace
		for i := range tr.Limit {
			s := &stations[tr.Station[i]]
			dx := tr.Distance[i+1] - tr.Distance[i]
			w := (tr.Velocity[i]*tr.Velocity[i] + tr.Velocity[i+1]*tr.Velocity[i+1]) / 2
			slope, bank := math.Atan(s.Grade), math.Atan(s.Bank)
			drag += 0.6 * v.DragArea * w * dx
			rolling += s.Rolling * v.Mass * (g0*math.Cos(slope)*math.Cos(bank) + w*math.Abs(s.Curvature)*math.Sin(bank)) * dx
			height += math.Sin(slope) * dx
		}
		e := got.Work
		require.InEpsilon(t, drag, e.Drag, 1e-3, "shifts within a step")
		require.InEpsilon(t, rolling, e.Rolling, 1e-6)
		require.InDelta(t, v.Mass*g0*height, e.Gradient, 1e-6*e.Engine)
		last := tr.Velocity[len(tr.Velocity)-1]
		wheels := v.WheelInertia / v.RollingRadius / v.RollingRadius
		require.InDelta(t, (v.Mass+wheels)/2*(last*last-tr.Velocity[0]*tr.Velocity[0]), e.Kinetic, v.EngineInertia/2*sq(8000*rpm)+1e-6)
		left := e.Engine - e.Kinetic - e.Drag - e.Rolling - e.Gradient - e.Gearbox - e.Clutch - e.Brakes
		require.InDelta(t, 0, left/e.Engine, 1e-9)
		for _, part := range []float64{e.Engine, e.Drag, e.Rolling, e.Gearbox, e.Clutch, e.Brakes} {
			require.GreaterOrEqual(t, part, 0.0)
		}
		if c.Flying {
			require.InEpsilon(t, tr.Velocity[0], last, 1e-6, "a lap ends as it begins")
		}
		sum := 0.0
		for _, l := range got.Limited {
			sum += l
		}
		require.InEpsilon(t, got.Time, sum, 1e-9)
		gears := 0.0
		for _, g := range got.InGear {
			gears += g
		}
		require.InEpsilon(t, got.Time, gears, 1e-9)
	}
	assert.Greater(t, driven1, 15)
}

func sq(x float64) float64 { return x * x }

// A straight is a run-up, which gearing integrates over time in steps of its own: the same time, with shifts, torque that comes back and all inertias.
func TestStraightIsARunUp(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	for range 25 {
		v := random(t, r)
		g, err := v.Gearing(v.Road())
		require.NoError(t, err)
		want, err := v.RunUp(g, v.Road(), gearing.Launch{EngineSpeed: 3000 * rpm}, gearing.Aim{Distance: 500})
		require.NoError(t, err)
		got, err := Drive([]Station{level(v, 0, 0), level(v, 500, 0)}, driven(t, v))
		require.NoError(t, err)
		if got.Upshifts != want.Shifts { // it looks ahead to the finish, and does not shift just before it
			require.Equal(t, want.Shifts-1, got.Upshifts)
			require.Less(t, got.Time, want.Time)
			continue
		}
		require.InEpsilon(t, want.Time, got.Time, 1e-4)
		require.InEpsilon(t, want.Velocity, got.Top.Velocity, 1e-3)
		require.InEpsilon(t, want.Work.Engine, got.Work.Engine, 1e-3)
		require.InEpsilon(t, want.Work.Clutch, got.Work.Clutch, 1e-2)
	}
}

// Steps a tenth as long move the time by less than 1e-3 of it. The speed is exact to the square of the step; what remains of first order is where within a
// step a braking begins, at most half a step of speed for each of them.
func TestStep(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	compared := 0
	for range 12 {
		v := random(t, r)
		stations := winding(r, v, 3000)
		c := driven(t, v)
		coarse, err := drive(stations, c, step)
		if err != nil {
			continue
		}
		fine, err := drive(stations, c, step/10)
		require.NoError(t, err)
		compared++
		require.InEpsilon(t, fine.Time, coarse.Time, 1e-3)
		require.InEpsilon(t, fine.Work.Brakes, coarse.Work.Brakes, 5e-3)
		require.InEpsilon(t, fine.Fuel, coarse.Fuel, 5e-3)
	}
	assert.Greater(t, compared, 6)
}

// More grip and more power are never slower, nor less mass where there is no drag and nothing turns. With them the tyres, whose grip grows with the load,
// carry more mass along with the same drag, and with the same wheels. Shifts that cost nothing leave the time free of when they are made; with those that
// do, a shift more may be made for the power, which costs at most what one does.
func TestMoreIsNeverSlower(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 16))
	compared := 0
	for i := range 60 {
		v := random(t, r)
		slack := 1e-4 // of steps
		if i%2 == 0 {
			v.Shift = gearing.Shift{Kept: 1}
		} else {
			slack = 2e-3
		}
		stations := winding(r, v, 2000)
		got, err := Drive(stations, driven(t, v))
		if err != nil {
			continue
		}
		for name, better := range map[string]func(v *gearing.Vehicle, stations []Station){
			"grip": func(_ *gearing.Vehicle, stations []Station) {
				for i := range stations {
					stations[i].Grip += 0.05
				}
			},
			"mass": func(v *gearing.Vehicle, _ []Station) { v.Mass -= 10 },
			"power": func(v *gearing.Vehicle, _ []Station) {
				lo, hi := v.Torque.Span()
				var x, y []float64
				for k := range 30 {
					n := lo + (hi-lo)*float64(k)/29
					torque, _ := v.Torque.At(n)
					x, y = append(x, n), append(y, torque*1.05)
				}
				v.Torque = curve(t, x, y)
			},
		} {
			base, other, road := *v, *v, append([]Station(nil), stations...)
			was := got.Time
			if name == "mass" {
				base.DragArea, base.WheelInertia = 0, 0
				other.DragArea, other.WheelInertia = 0, 0
				without, err := Drive(stations, driven(t, &base))
				if err != nil {
					continue
				}
				was = without.Time
			}
			better(&other, road)
			quick, err := Drive(road, driven(t, &other))
			require.NoError(t, err, name)
			compared++
			require.LessOrEqual(t, quick.Time, was*(1+slack), "%s, %d", name, i)
		}
	}
	assert.Greater(t, compared, 90)
}

// Just before a corner a shift is not worth its cut: the car stays at the limiter for the last metres, and is quicker than with the shift.
func TestNoShiftJustBeforeACorner(t *testing.T) {
	v := strong(t)
	v.Torque = flat(t, 200)
	v.Gears = []gearing.Gear{{Overall: 12, Efficiency: 1}, {Overall: 6, Efficiency: 1}}
	v.Grip, v.Shift.Time = 2, 0.3
	limiter := 8000 * rpm * 0.3 / 12 // 20.94 m/s, reached after v²/(2 F/m) = 32.9 m with F/m = 8000/1200
	reached := limiter * limiter / 2 / (8000.0 / 1200)
	for _, c := range []struct {
		straight float64
		shifts   int
	}{{42, 0}, {200, 1}} {
		got, err := Drive([]Station{level(v, 0, 0), level(v, c.straight, 1.0/12), level(v, c.straight+10, 0)}, driven(t, v))
		require.NoError(t, err)
		assert.Equal(t, c.shifts, got.Upshifts)
		if c.shifts == 0 {
			corner := 2 * g0 * 12
			brakes := (limiter*limiter - corner) / 2 / (2 * g0)
			assert.InDelta(t, (c.straight-reached-brakes)/limiter, got.Limited[ByLimiter], 0.06, "to a step")
			want := limiter/(8000.0/1200) + (c.straight-reached-brakes)/limiter + (limiter-math.Sqrt(corner))/(2*g0) + 10/math.Sqrt(corner)
			assert.InDelta(t, want, got.Time, 0.01)
		}
	}
	// Out of the slow corner it drives in first, which it changes down to on the brakes.
	got, err := Drive([]Station{level(v, 0, 0), level(v, 200, 1.0/12), level(v, 220, 0), level(v, 400, 0)}, driven(t, v))
	require.NoError(t, err)
	assert.Equal(t, int8(0), got.Trace.Gear[221])
	assert.Equal(t, 1, got.Downshifts)
	assert.Equal(t, 2, got.Upshifts)
}

// Out of a corner whose speed is just under the upshift of the lowest gear, the next gear saves a shift where the tyres take no more of either.
func TestLeavesACornerInTheGearThatIsQuicker(t *testing.T) {
	v := strong(t)
	v.Grip, v.Shift.Time = 1, 0.3
	v.Torque = flat(t, 600) // more than the tyres take in any gear
	v.Gears = []gearing.Gear{{Overall: 12, Efficiency: 1}, {Overall: 8, Efficiency: 1}, {Overall: 6, Efficiency: 1}}
	corner := 0.85 * 8000 * rpm * 0.3 / 12
	got, err := Drive([]Station{level(v, 0, 0), level(v, 300, g0/sq(corner)), level(v, 320, 0), level(v, 450, 0)}, driven(t, v))
	require.NoError(t, err)
	assert.Equal(t, int8(0), got.Trace.Gear[315], "in the corner")
	assert.Equal(t, int8(1), got.Trace.Gear[325])
	assert.Equal(t, 3, got.Upshifts, "to third on the straight, and once more after the corner")
	assert.Equal(t, 1, got.Downshifts)
	// One shift from there to the end: a = g 0.55/(1 + 0.2), the speed of the limiter in second, 0.3 s at that speed, and the rest of the 130 m.
	const a = g0 * 0.55 / 1.2
	limiter := 8000 * rpm * 0.3 / 8
	rest := 130 - (sq(limiter)-sq(corner))/2/a - 0.3*limiter
	end := math.Sqrt(sq(limiter) + 2*a*rest)
	assert.InDelta(t, (end-corner)/a+0.3, got.Time-got.Trace.Time[320], 1e-3)
}

// On a slope that gets too steep for the gear the car changes down once, and stays there.
func TestDoesNotHunt(t *testing.T) {
	v := strong(t)
	v.Torque = flat(t, 200)
	v.Gears = []gearing.Gear{{Overall: 12, Efficiency: 1}, {Overall: 6, Efficiency: 1}, {Overall: 4, Efficiency: 1}}
	v.Grip, v.Shift.Time = 2, 0.2
	// First 8000 N, second 4000 N, third 2667 N against m g sin θ: 30 % are 3381 N, 40 % 4370 N.
	for _, c := range []struct {
		grade float64
		gear  int8
		downs int
	}{{0, 2, 0}, {0.3, 1, 1}, {0.4, 0, 2}} {
		flat, steep := level(v, 0, 0), level(v, 300, 0)
		steep.Grade = c.grade
		car := driven(t, v)
		car.DownTime = 0.35
		got, err := Drive([]Station{flat, steep, level(v, 3000, 0)}, car)
		require.NoError(t, err)
		assert.Equal(t, c.gear, got.Trace.Gear[len(got.Trace.Gear)-1], c)
		assert.Equal(t, c.downs, got.Downshifts, c)
		assert.Equal(t, 2, got.Upshifts, c)
		assert.InDelta(t, 0.2*2+0.35*float64(c.downs), got.Limited[ByShift], 1e-9, "each shift under power passes no thrust for its time")
	}
}

// A corner whose speed is just under the upshift of a gear is taken in the next one: the lower would have to be left again at once.
func TestKeepsTheGearInAFastCorner(t *testing.T) {
	v := strong(t)
	v.Torque = flat(t, 200)
	v.Gears = []gearing.Gear{{Overall: 12, Efficiency: 1}, {Overall: 6, Efficiency: 1}}
	v.Grip = 2
	first := 8000 * rpm * 0.3 / 12
	for _, c := range []struct {
		share float64
		gear  int8
	}{{0.95, 1}, {0.85, 0}} {
		curvature := 2 * g0 / sq(c.share*first)
		got, err := Drive([]Station{level(v, 0, 0), level(v, 200, curvature), level(v, 220, 0)}, driven(t, v))
		require.NoError(t, err)
		assert.Equal(t, c.gear, got.Trace.Gear[210], c)
	}
}

// After the brakes full load is there again, whatever the last shift has left of it.
func TestTorqueIsBackAfterTheBrakes(t *testing.T) {
	v := strong(t)
	v.Torque = flat(t, 200)
	v.Gears = []gearing.Gear{{Overall: 12, Efficiency: 1}, {Overall: 4, Efficiency: 1}}
	v.Grip = 2
	out := func(shift gearing.Shift) float64 {
		v.Shift = shift
		got, err := Drive([]Station{level(v, 0, 0), level(v, 45, 1.0/21), level(v, 55, 0), level(v, 200, 0)}, driven(t, v))
		require.NoError(t, err)
		require.Equal(t, int8(1), got.Trace.Gear[60])
		require.Equal(t, 1, got.Upshifts, "before the corner")
		return got.Time - got.Trace.Time[55]
	}
	assert.InDelta(t, out(gearing.Shift{Kept: 1}), out(gearing.Shift{Kept: 0.9, Recovery: 20}), 1e-9)
}

// A tall and short car brakes no harder than its rear wheels stay on the road: X h = m g w b.
func TestBrakingLiftsTheRearWheels(t *testing.T) {
	v := strong(t)
	v.CentreHeight, v.RearWeight, v.Wheelbase = 1.2, 0.4, 2
	got, err := Drive([]Station{level(v, 0, 0), level(v, 300, 1.0/20), level(v, 310, 0)}, driven(t, v))
	require.NoError(t, err)
	const a = g0 * 0.4 * 2 / 1.2
	for s := 1; s < 60; s += 10 {
		assert.InEpsilon(t, 1.1*g0*20+2*a*float64(s), sq(got.Trace.Velocity[300-s]), 1e-6)
	}
}

// A lap that is flown begins with the speed and the gear that it ends with, and the begin is braked for before its end.
func TestFlyingLap(t *testing.T) {
	r := rand.New(rand.NewPCG(17, 18))
	v := random(t, r)
	c := driven(t, v)
	standing, err := Drive([]Station{level(v, 0, 0), level(v, 300, 0.01), level(v, 400, 0), level(v, 900, 0)}, c)
	require.NoError(t, err)
	c.Flying = true
	flying, err := Drive([]Station{level(v, 0, 0), level(v, 300, 0.01), level(v, 400, 0), level(v, 900, 0)}, c)
	require.NoError(t, err)
	assert.Less(t, flying.Time, standing.Time)
	assert.InEpsilon(t, flying.Trace.Velocity[0], flying.Trace.Velocity[900], 1e-6)
	// The same lap begun at the corner takes as long.
	again, err := Drive([]Station{level(v, 0, 0.01), level(v, 100, 0), level(v, 900, 0)}, c)
	require.NoError(t, err)
	assert.InEpsilon(t, flying.Time, again.Time, 1e-3)
	assert.InEpsilon(t, math.Sqrt(v.Grip*g0*100), again.Trace.Velocity[0], 1e-6)
	assert.InEpsilon(t, again.Trace.Velocity[0], again.Trace.Velocity[900], 1e-6)
}

// Below the lowest engine speed that is known the clutch slips: a hairpin on ice is driven through.
func TestHairpinOnIce(t *testing.T) {
	v := strong(t)
	v.Grip, v.RollingResistance, v.EngineInertia = 0.1, 0.01, 0.2
	ice := level(v, 0, 1.0/8) // 2.8 m/s, 267 rpm
	got, err := Drive([]Station{level(v, 0, 0), {Distance: 50, Curvature: ice.Curvature, Road: ice.Road}, level(v, 60, 0), level(v, 200, 0)}, driven(t, v))
	require.NoError(t, err)
	assert.InEpsilon(t, math.Sqrt(0.1*g0*8), got.Slowest.Velocity, 0.02)
	e := got.Work
	assert.InDelta(t, 0, (e.Engine-e.Kinetic-e.Drag-e.Rolling-e.Gradient-e.Gearbox-e.Clutch-e.Brakes)/e.Engine, 1e-9)
	assert.Positive(t, e.Clutch)
}

// What fuel the engine takes: all the flow of full load on a straight, that of no torque on the brakes, and in between by the torque.
func TestFuelByHand(t *testing.T) {
	v := strong(t)
	c := driven(t, v)
	c.Fuel = Fuel{Full: numeric.Constant(0.02), Unused: numeric.Constant(0.004)}
	// At the grip limit the tyres take T = F r/i = 583.576 N m of 1000: 0.004 + 0.016 · 0.583576.
	got, err := Drive([]Station{level(v, 0, 0), level(v, 200, 0)}, c)
	require.NoError(t, err)
	assert.InEpsilon(t, (0.004+0.016*0.583576)*got.Time, got.Fuel, 1e-6)
	// An engine that the tyres always take is at full load throughout, and in a cut the fuel flows on.
	strong := *v
	strong.Grip, strong.Shift.Time = 20, 0.5
	strong.Gears = []gearing.Gear{{Overall: 6, Efficiency: 1}, {Overall: 3, Efficiency: 1}}
	other := driven(t, &strong)
	other.Fuel = c.Fuel
	got, err = Drive([]Station{level(&strong, 0, 0), level(&strong, 100, 0)}, other)
	require.NoError(t, err)
	require.InDelta(t, 0.5, got.Limited[ByShift], 1e-9)
	assert.InEpsilon(t, 0.02*got.Time, got.Fuel, 1e-6)
	// Round a circle without drag nothing is asked for.
	c.Flying = true
	got, err = Drive([]Station{level(v, 0, 0.02), level(v, 200, 0)}, c)
	require.NoError(t, err)
	assert.InEpsilon(t, 0.004*got.Time, got.Fuel, 1e-9)
}

func TestDriveRefuses(t *testing.T) {
	v := strong(t)
	c := driven(t, v)
	with := func(change func(s []Station)) []Station {
		s := []Station{level(v, 0, 0), level(v, 100, 0), level(v, 200, 0)}
		change(s)
		return s
	}
	for _, k := range []struct {
		change func(s []Station)
		want   string
	}{
		{func(s []Station) { s[0].Distance = 5 }, "station 1 is at 5 m; want 0 m at the start, and at most 500000 m"},
		{func(s []Station) { s[2].Distance = math.NaN() }, "station 3 is at NaN m"},
		{func(s []Station) { s[2].Distance = 100 }, "station 3 is at 100 m after 100 m; want the distances to rise"},
		{func(s []Station) { s[1].Curvature = 2 }, "station 2 has the curvature 2 1/m; want at most 1 1/m"},
		{func(s []Station) { s[1].Curvature = math.NaN() }, "station 2 has the curvature NaN 1/m"},
		{func(s []Station) { s[1].Allowed = -1 }, "station 2 allows -1 m/s; want 0 or more"},
		{func(s []Station) { s[1].Bank = 3 }, "station 2 has the bank 3; want -1 to 1, rise over run"},
		{func(s []Station) { s[1].Grip = 0 }, "station 2: grip is 0; want more than 0"},
		{func(s []Station) { s[0].Grade, s[0].Grip = 0.9, 0.3 }, "the car comes to a stand at 0 m: engine and tyres do not move it on there"},
		{func(s []Station) { s[1].Curvature, s[1].Bank, s[1].Grip = 0.1, -0.5, 0.4 },
			"the tyres do not hold the car from 100 m on at any speed: there is too little grip for the slope or the bank"},
		{func(s []Station) { s[0].Grade, s[0].Grip, s[1].Curvature = -0.9, 0.3, 0.1 }, "the tyres do not hold the car from 0 m on"},
	} {
		_, err := Drive(with(k.change), c)
		require.Error(t, err)
		assert.Contains(t, units.Resolve(err.Error(), units.Metric), k.want)
	}
	_, err := Drive(nil, c)
	assert.EqualError(t, err, "a course of 0 stations; want two at least, start and finish")
	for _, k := range []struct {
		change func(c *Car)
		want   string
	}{
		{func(c *Car) { c.Launch.EngineSpeed = 10 }, "launch at 10 rad/s: want 104.7"},
		{func(c *Car) { c.Fuel.Full = numeric.Curve{} }, "fuel over engine speed is not given"},
		{func(c *Car) { c.Upshifts = make([]gearing.Upshift, 2) }, "2 upshifts for 1 gears; want one for each gear but the last"},
	} {
		other := c
		k.change(&other)
		_, err := Drive(with(func([]Station) {}), other)
		assert.ErrorContains(t, err, k.want)
	}
	// The torque is known up to 4000 rpm only, and the limiter is at 8000.
	short := *v
	short.Torque = curve(t, []float64{1000 * rpm, 4000 * rpm}, []float64{1000, 1000})
	_, err = Drive([]Station{level(v, 0, 0), level(v, 1000, 0)}, driven(t, &short))
	assert.ErrorIs(t, err, ErrUnknown)
	// Nor is a shift there known, which might come later.
	short.Grip = 20
	short.Gears = []gearing.Gear{{Overall: 9, Efficiency: 1}, {Overall: 3, Efficiency: 1}}
	_, err = Drive([]Station{level(&short, 0, 0), level(&short, 30, 0)}, driven(t, &short))
	assert.ErrorIs(t, err, ErrUnknown)
}

// benchmarkCourse is 20 km of winding road.
func benchmarkCourse(b *testing.B) ([]Station, Car) {
	r := rand.New(rand.NewPCG(19, 20))
	v := random(b, r)
	v.Grip, v.Torque = 1.2, flat(b, 400)
	return winding(r, v, 20e3), driven(b, v)
}

func BenchmarkDrive(b *testing.B) {
	stations, c := benchmarkCourse(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Drive(stations, c); err != nil {
			b.Fatal(err)
		}
	}
}

// Sections and corners are the trace read in parts: their times add up, and a corner's figures are those of its speed.
func TestSectionsAndCorners(t *testing.T) {
	v := strong(t)
	stations := []Station{level(v, 0, 0), level(v, 200, 1.0/20), level(v, 210, 1.0/16), level(v, 225, 0), level(v, 425, -1.0/30), level(v, 440, 1.0/30),
		level(v, 455, -1.0/2000), level(v, 600, 0)}
	got, err := Drive(stations, driven(t, v))
	require.NoError(t, err)
	parts := got.Sections(250)
	require.Len(t, parts, 3)
	sum := 0.0
	for i, p := range parts {
		sum += p.Time
		assert.InDelta(t, sum, p.Elapsed, 1e-9)
		assert.InDelta(t, 250*float64(i), p.From, 1e-9)
		assert.LessOrEqual(t, p.Slowest, p.Velocity)
		assert.GreaterOrEqual(t, p.Fastest, p.Velocity)
	}
	assert.InDelta(t, got.Time, sum, 1e-9)
	assert.InDelta(t, 600, parts[2].To, 1e-9)
	assert.Equal(t, ByTraction, parts[0].Limit)
	assert.InDelta(t, got.Top.Velocity, max(parts[0].Fastest, parts[1].Fastest, parts[2].Fastest), 1e-12)

	corners := got.Corners(stations)
	require.Len(t, corners, 3, "the sweep at the end is driven flat out")
	slow := math.Sqrt(1.1 * g0 * 16)
	assert.InDelta(t, slow, corners[0].Slowest, 1e-6)
	assert.InDelta(t, 210, corners[0].At, 1)
	assert.InDelta(t, 16, corners[0].Radius, 1e-9)
	assert.InDelta(t, 1.1*g0, corners[0].Lateral, 1e-6)
	assert.Equal(t, [3]bool{true, false, true}, [3]bool{corners[0].Right, corners[1].Right, corners[2].Right})
	assert.InDelta(t, 15/math.Sqrt(1.1*g0*30), corners[1].Time, 1e-6)
	assert.Zero(t, got.Open, "the tyres limit throughout, so that nothing is at full throttle")

	// An engine that the tyres always take: at full throttle from the start to the braking, the shift counted in, and again from the corner to the finish.
	v.Torque, v.Grip, v.Shift.Time = flat(t, 100), 3, 0.1
	v.Gears = []gearing.Gear{{Overall: 12, Efficiency: 1}, {Overall: 6, Efficiency: 1}}
	got, err = Drive([]Station{level(v, 0, 0), level(v, 300, 1.0/16), level(v, 320, 0), level(v, 400, 0)}, driven(t, v))
	require.NoError(t, err)
	first := at(got, ByBrakes)
	assert.Zero(t, got.Open.From)
	assert.InDelta(t, got.Trace.Distance[first], got.Open.To, 1)
	assert.InDelta(t, got.Trace.Time[first], got.Open.Time, 0.05)
	assert.InEpsilon(t, got.Limited[ByEngine]+got.Limited[ByShift], got.Open.Time+got.Time-got.Trace.Time[320], 0.01)
}

// Whatever a spec may say of car and course, there is a time or one of the reasons why there is none, never a figure that is no number.
func TestExtremes(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	ends := func(lo, hi float64) float64 { // the ends as often as what lies between, small and large alike
		switch r.IntN(4) {
		case 0:
			return lo
		case 1:
			return hi
		}
		if lo > 0 {
			return lo * math.Pow(hi/lo, r.Float64())
		}
		return lo + (hi-lo)*r.Float64()
	}
	count := map[string]int{}
	for i := range 600 {
		lo := ends(500, 3000) * rpm
		hi := lo + ends(500, 12000)*rpm
		v := &gearing.Vehicle{
			Car: gearing.Car{Mass: ends(100, 10000), Grip: ends(0.1, 5), RearWeight: ends(0.05, 0.95), RearThrust: ends(0, 1), CentreHeight: ends(0.05, 3),
				Wheelbase: ends(0.8, 8), RollingRadius: ends(0.1, 1), DragArea: ends(0, 5), RollingResistance: ends(0, 0.5), WheelInertia: ends(0, 100)},
			EngineInertia: ends(0, 5), Torque: curve(t, []float64{lo, (lo + hi) / 2, hi}, []float64{ends(1, 2000), ends(1, 2000), ends(1, 2000)}),
			Limiter: lo + (hi-lo)*ends(0.2, 1.1), Shift: gearing.Shift{Time: ends(0, 2), Kept: ends(0, 1), Recovery: ends(0, 3)}, AirDensity: 1.2,
		}
		overall := ends(5, 40)
		for range 1 + r.IntN(6) {
			v.Gears = append(v.Gears, gearing.Gear{Overall: overall, Efficiency: ends(0.5, 1)})
			overall /= 1 + ends(0.01, 2)
		}
		var stations []Station
		at := 0.0
		for range 2 + r.IntN(20) {
			s := Station{Distance: at, Bank: ends(-0.3, 0.3), Road: gearing.Road{Grip: ends(0.02, 5), Rolling: ends(0, 0.5), Grade: ends(-0.5, 0.5)}}
			if r.IntN(2) == 0 {
				s.Curvature = 1 / ends(2, 1e5)
			}
			if r.IntN(3) == 0 {
				s.Allowed = ends(0.3, 140)
			}
			if r.IntN(8) > 0 { // a road that most cars get along
				s.Grade, s.Bank, s.Grip, s.Rolling = 0, 0, 1, 0.01
			}
			stations = append(stations, s)
			at += ends(1e-6, 500)
		}
		c := driven(t, v)
		_, top := v.Span()
		c.Launch.EngineSpeed = lo + (top-lo)*r.Float64()
		c.Flying = r.IntN(3) == 0
		got, err := Drive(stations, c)
		var stand *StandstillError
		var slide *SlideError
		switch {
		case errors.As(err, &stand):
			count["stand"]++
		case errors.As(err, &slide):
			count["slide"]++
		case errors.Is(err, ErrUnknown):
			count["unknown"]++
		case errors.Is(err, ErrNoLap):
			count["no lap"]++
		default:
			require.NoError(t, err, i)
			count["time"]++
			e := got.Work
			for _, x := range []float64{got.Time, got.Fuel, got.Top.Velocity, got.Lateral, got.BrakePower, e.Engine, e.Brakes, e.Clutch, e.Gearbox} {
				require.True(t, x >= 0 && !math.IsInf(x, 0), "%d: %+v", i, got.Work)
			}
			require.Positive(t, got.Time)
			scale := e.Engine + e.Brakes + e.Drag + e.Rolling + math.Abs(e.Gradient)
			require.InDelta(t, 0, (e.Engine-e.Kinetic-e.Drag-e.Rolling-e.Gradient-e.Gearbox-e.Clutch-e.Brakes)/scale, 1e-6, i)
		}
	}
	t.Log(count)
	for _, kind := range []string{"time", "stand", "slide", "unknown"} {
		assert.Greater(t, count[kind], 10, kind)
	}
}

// No step allocates: ten times the road takes as many allocations.
func TestNoStepAllocates(t *testing.T) {
	v := random(t, rand.New(rand.NewPCG(19, 20)))
	v.Grip, v.Torque = 1.2, flat(t, 400)
	c := driven(t, v)
	allocations := func(length float64) float64 {
		stations := []Station{level(v, 0, 0), level(v, length/2, 1.0/20), level(v, length/2+20, 0), level(v, length, 0)}
		return testing.AllocsPerRun(5, func() { _, _ = Drive(stations, c) })
	}
	assert.InDelta(t, allocations(500), allocations(5000), 0.5)
}
