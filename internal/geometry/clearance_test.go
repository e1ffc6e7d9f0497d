package geometry_test

import (
	"math"
	"testing"

	"bellmouth/internal/geometry"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPistonToValveByHand(t *testing.T) {
	// A rod without end: x = a (1 − cos θ), 40 mm throw. A lift that rises in proportion, 20 mm a radian from top dead centre on, and a stem in line with the
	// cylinder: drop + 40 (1 − cos θ) − 20 θ is least where 40 sin θ = 20, at 30°: 6 + 40 · 0.1339746 − 20 · 0.5235988 = 0.8870082 mm.
	long := geometry.Cylinder{Bore: 0.08, Stroke: 0.08, Rod: 1e6, CompressionRatio: 9}
	rising := func(theta float64) float64 { return 0.020 * math.Max(theta, 0) }
	v := geometry.ValveRoom{Drop: 0.006, Lift: rising}
	least := v.Least(long)
	assert.InDelta(t, 0.8870082e-3, least.Least, 1e-9)
	assert.InDelta(t, math.Pi/6, least.Angle, 1e-5)
	// A stem at 60° sees half of the piston's way: 20 sin θ = 20, at 90°, the end of what is looked at: 6 + 20 − 20 π/2 = −5.415927 mm.
	v.Angle = math.Pi / 3
	least = v.Least(long)
	assert.InDelta(t, 6e-3+20e-3-10e-3*math.Pi, least.Least, 1e-9)
	assert.InDelta(t, math.Pi/2, least.Angle, 1e-9)
	// The shaft 0.05 rad earlier takes 1 mm more lift at every angle past opening: the least of a straight rise is 1 mm less.
	v.Angle, v.Shift = 0, -0.05
	assert.InDelta(t, 0.8870082e-3-1e-3, v.Least(long).Least, 1e-9)
	// From there, least 0.5 mm: (0.8870082 − 0.5)/20 rad earlier than unmoved is what may be, so it has to come back.
	shift, err := v.ShiftTo(long, 0.5e-3, true)
	require.NoError(t, err)
	assert.InDelta(t, 0.3870082/20-0.05, shift, 2e-6)

	// The same from the other side: an exhaust valve that closes at top dead centre mirrors it.
	mirror := geometry.ValveRoom{Drop: 0.006, Lift: func(theta float64) float64 { return rising(-theta) }}
	least = mirror.Least(long)
	assert.InDelta(t, 0.8870082e-3, least.Least, 1e-9)
	assert.InDelta(t, -math.Pi/6, least.Angle, 1e-5)
	shift, err = mirror.ShiftTo(long, 0.5e-3, false)
	require.NoError(t, err)
	assert.InDelta(t, 0.3870082/20, shift, 2e-6)

	still := geometry.ValveRoom{Drop: 0.006, Lift: func(float64) float64 { return 0 }}
	assert.InDelta(t, 0.006, still.Least(square).Least, 1e-12, "a valve on its seat is nearest at top dead centre")
	_, err = still.ShiftTo(square, 1e-3, true)
	assert.EqualError(t, err, "more than 60 deg")
	_, err = still.ShiftTo(square, 7e-3, true)
	assert.ErrorContains(t, err, "wherever the shaft is")
}

// The lift from the events is that of the flow area of the same events: both go by the same sin², whose mean over the opening is a half.
func TestLiftOfTheEvents(t *testing.T) {
	v := geometry.Valves{
		InletCount: 2, InletDiameter: 0.034, InletLift: 0.0102, InletOpens: 0.3, InletCloses: 1, ExhaustCount: 2, ExhaustDiameter: 0.03, ExhaustLift: 0.0096,
		ExhaustOpens: 1.05, ExhaustCloses: 0.35,
	}
	assert.Zero(t, v.InletLiftAt(-0.3))
	assert.Zero(t, v.InletLiftAt(math.Pi+1))
	assert.InDelta(t, 0.0102, v.InletLiftAt((math.Pi+1-0.3)/2), 1e-12)
	assert.InDelta(t, 0.0096, v.ExhaustLiftAt((-math.Pi-1.05+0.35)/2), 1e-12)
	assert.Zero(t, v.ExhaustLiftAt(0.35))
	for _, theta := range []float64{-0.2, 0, 0.3, 1, 3} {
		assert.InEpsilon(t, v.InletFlowArea(theta)/v.InletFlowArea((math.Pi+0.7)/2), v.InletLiftAt(theta)/0.0102, 1e-9)
	}
	for _, theta := range []float64{-3, -1, 0, 0.2} {
		assert.InEpsilon(t, v.ExhaustFlowArea(theta+2*math.Pi)/v.ExhaustFlowArea(2*math.Pi+(-math.Pi-0.7)/2), v.ExhaustLiftAt(theta)/0.0096, 1e-9)
	}
}
