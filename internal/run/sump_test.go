package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/boost"
	"bellmouth/internal/numeric"
	"bellmouth/internal/oil"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// A box of 400 × 250 mm with its pickup in the middle, 10 mm high, by hand: 6 L less 1.5 L up in the engine stand 45 mm high. Each way the pickup
// uncovers once the floor on its far side is dry and a triangle is left whose height at the pickup is 10 mm:
//
//	V/W = s b²/2 with s (b − L/2) = 10 mm, b = L/2 + z/s
func TestSump(t *testing.T) {
	made, err := oil.NewSump(oil.Shape{
		Outline: oil.Outline{{X: -0.2, Y: -0.125}, {X: 0.2, Y: -0.125}, {X: 0.2, Y: 0.125}, {X: -0.2, Y: 0.125}}, Depth: 0.5, Pickup: oil.Pickup{Height: 0.01},
	})
	require.NoError(t, err)
	up, err := numeric.NewCurve([]float64{3000 * spectest.PerRPM, 6000 * spectest.PerRPM}, []float64{0.5e-3, 1.5e-3})
	require.NoError(t, err)
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	trim.Sump = &spec.Sump{Shape: made, Oil: 6e-3, InEngine: up, Circulation: &spec.Circulation{Flow: 5e-4, Back: 0.6, Time: 4}}
	r := &run.Run{Trim: trim}
	for _, speed := range spectest.Speeds(3000, 6000, 1000) {
		r.Outcomes = append(r.Outcomes, boost.Outcome{Speed: speed})
	}
	s := r.Sump(0)
	assert.InDelta(t, 4.5e-3, s.Volume, 1e-15)
	assert.InDelta(t, 6000*spectest.PerRPM, s.Speed, 1e-9)
	require.NoError(t, s.ReachErr)
	assert.InDelta(t, 1.25*9.80665, s.Reach.Grip, 1e-12)
	// Front-wheel drive with 38 % of the weight at the rear: thrust over weight μ (1 − w + f h/b)/(1 + μ h/b), Gillespie, ch. 2, less the rolling
	// resistance f, 0.014.
	drive := func(mu float64) float64 { return mu*(0.62+0.014*0.48/2.55)/(1+mu*0.48/2.55) - 0.014 }
	assert.InDelta(t, drive(1.25)*9.80665, s.Reach.Drive, 1e-9)

	all, err := s.Leans()
	require.NoError(t, err)
	by := func(degrees int) *run.Lean { return &all[degrees/5] }
	slope := func(l, w float64) float64 { // of V/w = s b²/2: s² l²/4 + (l z − 2 V/w) s + z² = 0, the larger root
		b := 2*4.5e-3/w - l*0.01
		return (b + math.Sqrt(b*b-l*l*1e-4)) / (l * l / 2)
	}
	assert.InDelta(t, slope(0.4, 0.25), by(180).Limit/9.80665, 1e-9)
	assert.InDelta(t, slope(0.25, 0.4), by(90).Limit/9.80665, 1e-9)
	// Gaining speed it is covered: the plane through the pickup leaves V − W s b²/2 above it, and two fifths of what is pumped do not come back.
	reach := s.Reach.Drive / 9.80665
	b := 0.2 + 0.01/reach
	left := 4.5e-3 - 0.25*reach*b*b/2
	assert.InDelta(t, left, by(0).Left, 1e-14)
	assert.InDelta(t, left/(5e-4*0.4), by(0).Lasts, 1e-9)
	assert.Zero(t, by(180).Lasts, "braking at 1.25 g uncovers it at once")
	assert.Less(t, by(180).Cover, 0.0)
	assert.Less(t, run.Nearest(all).Spare(), by(180).Spare()+1e-12)
	assert.Zero(t, run.Shortest(all).Lasts)

	// What is asked of the tyres instead: half the grip, and the driven wheels' with it.
	half := r.Sump(0.5 * oil.Gravity)
	assert.InDelta(t, 0.5*9.80665, half.Reach.Grip, 1e-12)
	assert.InDelta(t, drive(0.5)*9.80665, half.Reach.Drive, 1e-9)
	trim.Car = nil
	assert.ErrorIs(t, r.Sump(0).ReachErr, run.ErrNoGrip)
	assert.True(t, math.IsInf(r.Sump(4).Reach.Drive, 1))
}

// Each grip has the lowest fill that the sump itself has for it, more for more grip; a pickup that stands with what is filled does so up to some grip
// and no further.
func TestGrounds(t *testing.T) {
	r := &run.Run{Trim: spectest.Trim(t, spectest.ClubFour, "free")}
	for _, speed := range spectest.Speeds(3000, 8000, 1000) {
		r.Outcomes = append(r.Outcomes, boost.Outcome{Speed: speed})
	}
	r.Trim.Surfaces = spec.Surfaces{{Name: "gravel", Grip: 0.55, Rolling: 0.03}}
	all, err := r.Grounds()
	require.NoError(t, err)
	require.Len(t, all, 10)
	named := map[string]float64{}
	for i, g := range all {
		if g.Name != "" {
			named[g.Name] = g.Grip / 9.80665
		}
		drive, err := r.Trim.Car.GripThrust(r.Trim.Car.Road())
		require.NoError(t, err)
		if g.Name == "car.grip" {
			assert.InDelta(t, drive/r.Trim.Car.Mass-r.Trim.Car.RollingResistance*9.80665, r.Sump(g.Grip).Reach.Drive, 1e-9)
		}
		fill := r.Trim.Sump.Shape.LowestFill(r.Sump(g.Grip).Reach)
		assert.InDelta(t, fill.Volume+1.1e-3, g.Fill.Volume, 1e-12, "1.1 L up in the engine at 8000 rpm")
		if i > 0 {
			assert.GreaterOrEqual(t, g.Fill.Volume, all[i-1].Fill.Volume)
			assert.LessOrEqual(t, g.Lasts, all[i-1].Lasts)
		}
	}
	assert.InDeltaMapValues(t, map[string]float64{"car.grip": 1.2, "gravel": 0.55}, named, 1e-12)
	assert.Greater(t, all[9].Fill.Volume, 1.2*all[0].Fill.Volume)
}

// A pickup that lies between two of the directions looked at is judged in its own: with both ends wet it uncovers at s = (V/(L W) − z)/r, straight
// away from the middle.
func TestWorstDirectionLiesBetween(t *testing.T) {
	const direction, r, z, level = 32.5 * math.Pi / 180, 0.1, 0.05, 0.069
	made, err := oil.NewSump(oil.Shape{
		Outline: oil.Outline{{X: -0.2, Y: -0.125}, {X: 0.2, Y: -0.125}, {X: 0.2, Y: 0.125}, {X: -0.2, Y: 0.125}}, Depth: 0.5,
		Pickup: oil.Pickup{Place: oil.Point{X: r * math.Cos(direction), Y: r * math.Sin(direction)}, Height: z},
	})
	require.NoError(t, err)
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	trim.Car, trim.Sump = nil, &spec.Sump{Shape: made, Oil: 0.4 * 0.25 * level, InEngine: numeric.Constant(0)}
	s := (&run.Run{Trim: trim, Outcomes: []boost.Outcome{{Speed: 500}}}).Sump(0.2 * oil.Gravity)
	all, err := s.Leans()
	require.NoError(t, err)
	worst := run.Nearest(all)
	assert.InDelta(t, direction, worst.Direction, 1e-9)
	assert.InDelta(t, (level-z)/r, worst.Limit/oil.Gravity, 1e-9)
	assert.Negative(t, worst.Spare())
}

// BenchmarkGrounds is the example's sump on a dozen grips, 72 directions each.
func BenchmarkGrounds(b *testing.B) {
	r := &run.Run{Trim: spectest.Trim(b, spectest.Hillclimb, "open")}
	for _, speed := range spectest.Speeds(1500, 7500, 500) {
		r.Outcomes = append(r.Outcomes, boost.Outcome{Speed: speed})
	}
	r.Trim.Oil = nil
	b.ReportAllocs()
	for b.Loop() {
		if _, err := r.Grounds(); err != nil {
			b.Fatal(err)
		}
	}
}
