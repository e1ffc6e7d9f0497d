package airpath

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/geometry"
)

// Work is conserved: what gas and masses do on the crank over the cycle is the indicated work of the operating point, gas exchange included, and the
// masses, which end as fast as they began, do none of it.
func TestTraceDoesTheIndicatedWork(t *testing.T) {
	t.Parallel()
	const tol = 5e-4 // straight lines between the angles told, and the solver's own steps, four times as wide
	offset := invented()
	offset.Cylinder.PinOffset = 0.003
	for name, c := range map[string]struct {
		setup        Setup
		speed, boost float64
	}{
		"boosted, slow": {invented(), 3500, 1.4e5}, "boosted, fast": {invented(), 6500, 1.0e5}, "aspirated": {aspirated(), 5000, 0},
		"offset pin": {offset, 5000, 0.9e5},
	} {
		p := solved(t, c.setup, c.speed*math.Pi/30, c.boost)
		e, err := New(c.setup)
		require.NoError(t, err)
		tracer, err := e.NewTracer()
		require.NoError(t, err)
		trace, err := tracer.At(&p)
		require.NoError(t, err)
		assert.InDelta(t, -2*math.Pi, trace[0].Angle, 1e-9, name)
		assert.InDelta(t, 2*math.Pi, trace[len(trace)-1].Angle, 1e-9, name)
		peak := 0.0
		for i, at := range trace {
			peak = max(peak, at.Value)
			if i > 0 {
				assert.GreaterOrEqual(t, at.Angle, trace[i-1].Angle, name) // at bottom dead centre the pressure steps
			}
		}
		assert.InEpsilon(t, p.PeakPressure, peak, 2e-3, name)
		cylinder := c.setup.Cylinder
		indicated := (p.IMEP - p.PMEP) * cylinder.Displacement() / (4 * math.Pi)
		for _, m := range []geometry.Masses{{}, {Piston: 0.5, SmallEnd: 0.2, BigEnd: 0.4}} {
			l := cylinder.Loads(m, p.Speed, 1e5, trace)
			assert.InEpsilon(t, indicated, l.MeanTorque, tol, "%s, %+v", name, m)
		}
	}
}

// TestTraceKnowsItsPoints refuses a point that nothing solved.
func TestTraceKnowsItsPoints(t *testing.T) {
	e, err := New(invented())
	require.NoError(t, err)
	tracer, err := e.NewTracer()
	require.NoError(t, err)
	_, err = tracer.At(&Point{Speed: 400})
	assert.ErrorContains(t, err, "has not been solved")
}
