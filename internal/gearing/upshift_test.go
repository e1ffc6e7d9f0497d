package gearing

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Up a grade without drag a car that coasts slows down evenly, by g sin θ: x = v t − g sin θ t²/2. With flat torque that comes back in a straight line the
// acceleration rises evenly from a0 to a1 in the time R: v = v0 + (a0 + a1)/2 R, x = v0 R + a0 R²/2 + (a1 − a0) R²/6. The lag is the time less x/end.
func TestThroughAShiftByHand(t *testing.T) {
	const grade, cut, kept, back, end, from = 0.5, 0.3, 0.4, 0.6, 40.0, 18.0
	v := vehicle(t) // 4000 N in the second gear for 1200 kg
	v.Shift = Shift{Time: cut, Kept: 1}
	w := v.on(Road{Grip: 4, Grade: grade})
	slows := gravity * grade / math.Sqrt(1+grade*grade)
	lag, after := w.through(0, from, end)
	assert.InDelta(t, from-slows*cut, after, 1e-12)
	assert.InDelta(t, cut-(from*cut-slows*cut*cut/2)/end, lag, 1e-12)

	v.Shift = Shift{Kept: kept, Recovery: back}
	a0, a1 := kept*4000/1200-slows, 4000.0/1200-slows
	lag, after = w.through(0, from, end)
	assert.InDelta(t, from+(a0+a1)/2*back, after, 1e-12)
	assert.InDelta(t, back-(from*back+a0*back*back/2+(a1-a0)*back*back/6)/end, lag, 1e-12)
}

// Torque that falls in a straight line gives a gear the thrust F = A (1 − v/V). Against a constant resistance the gear's own speed has an end, which it
// never quite reaches: what a shift there would lose has none. Where the thrust of the next gear crosses close below that end the best shift is there all
// the same, v* = V0/(i1 + i2) with V0 = ω0 r, as of TestUpshiftWhereThrustCrosses. What waiting on to 99.5 % of the end loses is
// ∫ (1 − v/ve) (1/a1 − 1/a2) dv, here by 100000 midpoints.
func TestUpshiftCloseToTheEndOfAGear(t *testing.T) {
	const mass, first, second, least, zero = 1200.0, 12.0, 8.0, 400.0, 8000 * rpm
	v := vehicle(t)
	v.Torque = curve(t, map[float64]float64{1000: 350, 7900: 5}, 1000, 7900) // T = 400 N m (1 − ω/8000 rpm)
	v.Gears = []Gear{{first, 1}, {second, 1}}
	crossing := zero * 0.3 / (first + second)
	thrust := func(ratio, velocity float64) float64 { return least * ratio / 0.3 * (1 - velocity*ratio/0.3/zero) }
	for _, share := range []float64{0.93, 0.97} { // of the first gear's end
		resistance := thrust(first, crossing/share)
		v.RollingResistance = resistance / (mass * gravity)
		g, err := v.Gearing(v.Road())
		require.NoError(t, err)
		require.Equal(t, ByResistance, g.Tops[0].Ending)
		assert.InEpsilon(t, crossing/share, g.Tops[0].Velocity, 1e-9)
		u := g.Upshifts[0]
		assert.False(t, u.AtEnd)
		assert.InEpsilon(t, crossing, u.Velocity, 2e-3, "what is lost by a miss grows with its square")
		end := g.Tops[1].Velocity
		want, late := 0.0, 0.995*crossing/share
		const parts = 100000
		for i := range parts {
			at := crossing + (late-crossing)*(float64(i)+0.5)/parts
			want += (late - crossing) / parts * (1 - at/end) * mass * (1/(thrust(first, at)-resistance) - 1/(thrust(second, at)-resistance))
		}
		// The last step is as long as what is left to where nothing accelerates: Simpson's rule is 0.2 % off on 1/x from 1 to 2.
		assert.InEpsilon(t, want, u.Late, 2e-3)
	}
}

// With torque that falls in a straight line, without drag and inertia, Simpson's rule over a step has to give the closed form:
// T = T0 (1 − ω/ω0), a = A (1 − v/V), ∫ (1 − v/ve)/a dv = V/A ((1 − V/ve) ln((V − v1)/(V − v2)) + (v2 − v1)/ve).
func TestLagAgainstClosedForm(t *testing.T) {
	v := vehicle(t)
	v.Torque = curve(t, map[float64]float64{1000: 350, 7900: 5}, 1000, 7900)
	w := v.on(v.Road())
	const a, top, end = 400 * 12 / 0.3 / 1200.0, 8000 * rpm * 0.3 / 12, 30.0
	width := shiftStep * 0.3 / 12
	for _, from := range []float64{5, 10, 15, 19} {
		to := from + width
		want := top / a * ((1-top/end)*math.Log((top-from)/(top-to)) + (to-from)/end)
		assert.InEpsilon(t, want, w.lag(v.Gears[0], from, to, end), 1e-6, "%v m/s", from)
	}
	assert.Zero(t, w.lag(v.Gears[0], 10, 9, end))
}

// As TestThroughAShiftByHand, with torque that falls in a straight line: dv/dt = s(t) A (1 − v/V) gives V − (V − v0) exp(−A/V ∫ s dt), and ∫ s dt over the
// way back is R (1 + kept)/2. The distance is that of 100000 midpoints.
func TestTorqueComesBackAgainstClosedForm(t *testing.T) {
	const kept, back, end, from = 0.2, 1.5, 40.0, 12.0
	v := vehicle(t)
	v.Torque = curve(t, map[float64]float64{1000: 350, 7900: 5}, 1000, 7900)
	v.Shift = Shift{Kept: kept, Recovery: back}
	w := v.on(v.Road())
	const a, top = 400 * 6 / 0.3 / 1200.0, 8000 * rpm * 0.3 / 6
	at := func(now float64) float64 {
		return top - (top-from)*math.Exp(-a/top*(kept*now+(1-kept)*now*now/2/back))
	}
	way := 0.0
	const parts = 100000
	for i := range parts {
		way += back / parts * at((float64(i)+0.5)*back/parts)
	}
	lag, after := w.through(0, from, end)
	const steps = 3e-5 // half a millimetre per second: what a rule of second order misses by in steps of 94 ms, and far too little to move a shift
	assert.InEpsilon(t, at(back), after, steps)
	assert.InEpsilon(t, back-way/end, lag, steps)
}

// Between what is told as good as the best less than 0.01 s is lost, and 25 rpm further out more, by the closed form of TestLagAgainstClosedForm.
func TestAsGoodAsTheBest(t *testing.T) {
	v := vehicle(t)
	v.Torque = curve(t, map[float64]float64{1000: 350, 7900: 5}, 1000, 7900)
	for _, ratio := range []float64{10, 9.5, 9, 8.5, 8, 7.5, 7} {
		v.Gears[1].Overall = ratio
		g, err := v.Gearing(v.Road())
		require.NoError(t, err)
		u := g.Upshifts[0]
		end := g.Tops[1].Velocity
		in := func(overall, from, to float64) float64 {
			a, top := 400*overall/0.3/1200, 8000*rpm*0.3/overall
			return top / a * ((1-top/end)*math.Log((top-from)/(top-to)) + (to-from)/end)
		}
		best := 8000 * rpm * 0.3 / (12 + ratio)
		lost := func(engineSpeed float64) float64 { // by a shift at another engine speed than the best
			at := engineSpeed * 0.3 / 12
			return in(12, best, at) - in(ratio, best, at)
		}
		const step = 25 * rpm
		assert.Less(t, lost(u.FromSpeed), 0.01, "%v", ratio)
		assert.Greater(t, lost(u.FromSpeed-step), 0.01, "%v", ratio)
		assert.Less(t, lost(u.ToSpeed), 0.01, "%v", ratio)
		if g.Tops[0].EngineSpeed-u.ToSpeed > step {
			assert.Greater(t, lost(u.ToSpeed+step), 0.01, "%v", ratio)
		}
	}
}

// TestUpshiftBetweenTwoSpeeds: gears so close that the next one's known speeds begin 15 rpm below the limiter leave room for a shift all the same.
func TestUpshiftBetweenTwoSpeeds(t *testing.T) {
	v := vehicle(t)
	const best, x = 7992.0, 7000 / 7985.0
	const zero = best * (1 + x) // so that TestUpshiftWhereThrustCrosses has it at best
	v.Torque = curve(t, map[float64]float64{7000: 400 * (1 - 7000/zero), 8000: 400 * (1 - 8000/zero)}, 7000, 8000)
	v.Gears[1].Overall = 12 * x
	g, err := v.Gearing(v.Road())
	require.NoError(t, err)
	assert.InDelta(t, best, g.Upshifts[0].EngineSpeed/rpm, 0.1)
}

// A gear ends where its thrust falls below the resistance for the last time, and the tyres limit it up to where the thrust falls below what they take,
// here on the falling side of a spike 200 rpm wide.
func TestSpikes(t *testing.T) {
	v := vehicle(t)
	v.Gears = []Gear{{12, 1}}
	v.Torque = curve(t, map[float64]float64{1000: 50, 6900: 50, 7000: 150, 7100: 50, 8000: 50}, 1000, 6900, 7000, 7100, 8000)
	at, _ := v.Torque.At(7050 * rpm) // half-way down
	v.RollingResistance = at * 12 / 0.3 / (1200 * gravity)
	assert.InDelta(t, 100, at, 25)
	g, err := v.Gearing(v.Road())
	require.NoError(t, err)
	assert.Equal(t, ByResistance, g.Top.Ending)
	assert.InDelta(t, 7050, g.Top.EngineSpeed/rpm, 1e-6)

	v.RollingResistance = 0
	// Front drive of 0.55 W, 0.5/2.5 of height over wheelbase: F = μ 0.55 W/(1 + 0.2 μ), so that F wants μ = F/(0.55 W − 0.2 F).
	force := at * 12 / 0.3
	v.Grip = force / (0.55*1200*gravity - 0.2*force)
	g, err = v.Gearing(v.Road())
	require.NoError(t, err)
	assert.InDelta(t, 7050*rpm*0.3/12, g.LimitedBelow[0], 1e-9)
	v.Grip = 0.05
	g, err = v.Gearing(v.Road())
	require.NoError(t, err)
	assert.InDelta(t, 8000*rpm*0.3/12, g.LimitedBelow[0], 1e-9, "always")
	v.Grip = 3
	g, err = v.Gearing(v.Road())
	require.NoError(t, err)
	assert.Zero(t, g.LimitedBelow[0])
}

// The curve of TestUpshiftWhereThrustCrosses shifts at ω0/(1 + x) and lands at x of that: 12 to 10 at 4364 on 3636 rpm, 10 to 6 at 5000 on 3000 rpm, 6 to 5 as
// 12 to 10. The band goes from 3000 to 5000 rpm.
func TestBand(t *testing.T) {
	v := vehicle(t)
	v.Torque = curve(t, map[float64]float64{1000: 350, 8000: 0}, 1000, 8000)
	v.Gears = []Gear{{12, 1}, {10, 1}, {6, 1}, {5, 1}}
	g, err := v.Gearing(v.Road())
	require.NoError(t, err)
	lo, hi, ok := g.Band()
	assert.True(t, ok)
	assert.InEpsilon(t, 3000, lo/rpm, 2e-3)
	assert.InEpsilon(t, 5000, hi/rpm, 2e-3)
}

// TestTorqueKnownToShortOfTheLimiter: 4 rpm below the limiter is below it.
func TestTorqueKnownToShortOfTheLimiter(t *testing.T) {
	v := vehicle(t)
	v.Torque = curve(t, map[float64]float64{1000: 200, 7996: 200}, 1000, 7996)
	g, err := v.Gearing(v.Road())
	require.NoError(t, err)
	assert.Equal(t, ByKnowledge, g.Tops[0].Ending)
}

// Wherever the valley of |x − c| lies, it is found to a thousandth of what is searched.
func TestGolden(t *testing.T) {
	for i := 1; i < 40; i++ {
		c := 3 + float64(i)/20
		x, y := golden(func(x float64) float64 { return math.Abs(x - c) }, 3, 5)
		assert.InDelta(t, c, x, 2e-3)
		assert.InDelta(t, math.Abs(x-c), y, 0)
	}
}

// On a grade that the next gear cannot pull at low speeds, a shift is looked for where both gears pull. With torque that rises in a straight line,
// T = 200 N m ω/(8000 rpm), the thrust of a gear is F = 200 i²/r² v/(8000 rpm): the shorter one pulls harder at every speed, so that it is kept to the
// limiter. On snow the grade may take all that the tyres pass on: the top speed is ended by them.
func TestUpshiftUpASteepGrade(t *testing.T) {
	v := vehicle(t)
	v.Torque = curve(t, map[float64]float64{800: 20, 8000: 200}, 800, 8000)
	for _, grade := range []float64{0.01, 0.1, 0.2} {
		g, err := v.Gearing(Road{Grip: 4, Grade: grade})
		require.NoError(t, err)
		u := g.Upshifts[0]
		require.False(t, u.None, "grade %v", grade)
		assert.True(t, u.AtEnd)
		assert.InDelta(t, 0, u.Late, 0)
		assert.InDelta(t, 8000*rpm*0.3/12, u.Velocity, 1e-9)
	}
	g, err := v.Gearing(Road{Grip: 4, Grade: 0.4}) // the second gear gives 200·6/0.3 = 4000 N at most, the grade takes 4371 N
	require.NoError(t, err)
	assert.True(t, g.Upshifts[0].None)
	assert.Equal(t, CannotPull, g.Tops[1].Ending)

	// Drag 0.5 · 1.2 · A v² meets the tyres' thrust at v = 15 m/s; the engine has more.
	v.Torque = flat(t, 200)
	grip := v.on(Road{Grip: 0.2}).grip
	v.DragArea = grip / (0.5 * 1.2 * 15 * 15)
	g, err = v.Gearing(Road{Grip: 0.2})
	require.NoError(t, err)
	assert.Equal(t, ByGrip, g.Tops[0].Ending)
	assert.InDelta(t, 15, g.Tops[0].Velocity, 1e-6)
}
