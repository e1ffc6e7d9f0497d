package run

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/boost"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// gateOf returns the gate of a trim over its whole speed range, the trim changed first.
func gateOf(t testing.TB, name string, change func(trim *spec.Trim)) *Gate {
	t.Helper()
	trim := spectest.Trim(t, spectest.Hillclimb, name)
	if change != nil {
		change(trim)
	}
	r, err := Solve(t.Context(), "wastegate", trim, boost.Speeds(1500*spectest.PerRPM, 7800*spectest.PerRPM, 500*spectest.PerRPM))
	require.NoError(t, err)
	g, err := r.Gate()
	require.NoError(t, err)
	return g
}

// The gas rebuilt for the wastegate is the one the point was solved with: through the same area the same flow passes.
func TestNozzle(t *testing.T) {
	g := gateOf(t, "open", nil)
	for i := range g.Points {
		o := &g.Points[i]
		n, err := g.nozzle(&o.Point)
		require.NoError(t, err)
		assert.InEpsilon(t, o.Point.WastegateMaxFlow, g.Run.Trim.Wastegate.MaxFlow(n), 1e-5)
	}
}

// A wastegate of the bore that is advised holds what crept; a slightly smaller one does not.
func TestBoreAgainstCreep(t *testing.T) {
	small := func(bore float64) func(trim *spec.Trim) {
		return func(trim *spec.Trim) {
			trim.Fuel.KnockOctane = 130 // no knock: late burning makes the exhaust hotter, and the first bore would do for less
			trim.Wastegate.Bore = bore
		}
	}
	g := gateOf(t, "open", small(0.022))
	worst := 0.0
	for i := range g.Points {
		if o := &g.Points[i]; !math.IsNaN(o.Bore) {
			require.NoError(t, o.BoreErr)
			assert.Equal(t, ValveArea, o.Short())
			assert.Positive(t, o.Creep())
			worst = math.Max(worst, o.Bore)
		}
	}
	require.Positive(t, worst, "a wastegate of 22 mm creeps")
	assert.Equal(t, worst, g.LargestBore().Bore)
	for i := range g.Points {
		assert.LessOrEqual(t, g.Points[i].Lift(), g.WidestLift().Lift())
	}
	creeps := func(bore float64) bool {
		return gateOf(t, "open", small(bore)).Any((*GatePoint).Creeps)
	}
	assert.True(t, creeps(worst*0.998))
	assert.False(t, creeps(worst*1.002))
}

// BenchmarkGate is a trim from its operating points to all that the actuator does: 14 speeds.
func BenchmarkGate(b *testing.B) {
	r := gateOf(b, "open", nil).Run
	b.ReportAllocs()
	for b.Loop() {
		if _, err := r.Gate(); err != nil {
			b.Fatal(err)
		}
	}
}
