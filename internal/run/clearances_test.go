package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/numeric"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

func withInlet(t *testing.T, change func(v *spec.ValveRoom)) run.ValveClearance {
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	inlet := *trim.Engine.PistonToValve.Inlet
	change(&inlet)
	trim.Engine.PistonToValve = &spec.PistonToValve{Inlet: &inlet}
	all := run.ValveClearances(trim)
	require.Len(t, all, 1)
	assert.True(t, all[0].Inlet)
	return all[0]
}

// A lift that is told up to 5 deg leaves open what the valve does where the room is least, and the record says so.
func TestLiftTableEnds(t *testing.T) {
	const deg = math.Pi / 180
	whole := withInlet(t, func(*spec.ValveRoom) {})
	assert.False(t, whole.Beyond)
	assert.False(t, whole.ByEvents)
	require.Greater(t, whole.Angle, 5*deg)
	for name, span := range map[string][2]float64{"early": {12 * deg, 40 * deg}, "late": {-40 * deg, -12 * deg}} {
		c, err := numeric.NewCurve([]float64{span[0], span[1]}, []float64{0.002, 0.002})
		require.NoError(t, err)
		v := withInlet(t, func(v *spec.ValveRoom) { v.Lift = c })
		assert.True(t, v.Beyond, name)
		// A constant lift is nearest to the piston at top dead centre.
		assert.InDelta(t, 0, v.Angle, 1e-4, name)
		assert.InDelta(t, 0.0049-0.002, v.Least, 1e-9, name)
		// With the shaft moved there, the table tells it.
		shift := -(span[0] + span[1]) / 2
		assert.False(t, withInlet(t, func(v *spec.ValveRoom) { v.Lift, v.Shift = c, shift }).Beyond, name)
	}
	events := withInlet(t, func(v *spec.ValveRoom) { v.Lift = numeric.Curve{} })
	assert.True(t, events.ByEvents)
	assert.False(t, events.Beyond)
	// 10.2 mm from 15 deg before top to 58 deg after bottom dead centre: at the top 10.2 sin²(180° · 15/253) = 0.350 mm.
	assert.InDelta(t, 0.0049-0.0102*math.Pow(math.Sin(math.Pi*15/253), 2), events.Room.At(spectest.Trim(t, spectest.Hillclimb, "open").Engine.Cylinder, 0), 1e-9)
}

// Moved starts from where the shaft is set.
func TestShaftsMoved(t *testing.T) {
	c := spectest.Trim(t, spectest.Hillclimb, "open").Engine.Cylinder
	base, set := withInlet(t, func(*spec.ValveRoom) {}), withInlet(t, func(v *spec.ValveRoom) { v.Shift = -0.1 })
	assert.Equal(t, base.Clearance, base.Moved(c, 0))
	assert.InDelta(t, base.Moved(c, -0.15).Least, set.Moved(c, -0.05).Least, 1e-12)
	assert.Less(t, set.Least, base.Least, "earlier, an inlet valve comes nearer")
	shift, err := base.Room.ShiftTo(c, base.Wanted, true)
	require.NoError(t, err)
	assert.InDelta(t, base.Wanted, base.Moved(c, -shift).Least, 1e-7)
}
