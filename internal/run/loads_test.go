package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
)

// The loads of the example at the limiter, by hand from the figures in its file: bore 84, stroke 82, rod 144 mm; piston, pin and rings 484 g, rod
// 565 g of which
// 71 % go round, cap 152 g; 7800 rpm.
func TestOverrunByHand(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 7800)
	c, err := run.NewCranks(r)
	require.NoError(t, err)
	over := c.Overrun()
	n2 := math.Pow(7800*math.Pi/30, 2)
	area := math.Pi / 4 * 0.084 * 0.084
	// The masses pull up, and the crankcase's pressure pushes up against 0.3 bar in the cylinder.
	pull := (0.484+0.565*0.29)*0.041*n2*(1+41./144) + (r.Trim.Venue.Pressure-0.3e5)*area
	assert.InEpsilon(t, pull, over.Tension.Value, 1e-9)
	assert.InEpsilon(t, pull+(0.565*0.71-0.152)*0.041*n2, over.Joint.Value, 1e-9)
	assert.InDelta(t, 2*math.Pi, over.Tension.Angle, 1e-9)
	assert.Zero(t, over.Compression, "the overrun tells pulls alone")

	full := c.At(&r.Outcomes[0])
	require.NoError(t, full.Err)
	assert.InEpsilon(t, 0.047*0.018, full.PinArea, 1e-12, "crank pin 47 by 18 mm")
	assert.Less(t, full.Tension.Value, over.Tension.Value, "the exhaust's pressure takes load off the rod")
	// No mass pushes about firing top dead centre.
	p := &r.Outcomes[0].Point
	assert.Less(t, full.Compression.Value, (p.PeakPressure-r.Trim.Venue.Pressure)*area)

	w, ok := run.Worst(run.RodTension, []run.CrankLoad{full}, over)
	require.True(t, ok)
	assert.True(t, w.Overrun)
	w, ok = run.Worst(run.RodCompression, []run.CrankLoad{full}, over)
	require.True(t, ok)
	assert.False(t, w.Overrun)
	_, ok = run.Worst(run.RodCompression, []run.CrankLoad{{Err: run.ErrNoSolution}}, over)
	assert.False(t, ok, "where nothing has a solution nothing is told")

	rods, ok := r.RodClamp([]run.CrankLoad{full}, over)
	require.True(t, ok)
	// M9 × 1, 46 Nm, µ 0.12, face 13/9.3 mm: 46/(0.16 + 0.58 · 8.350481 · 0.12 + 22.3/4 · 0.12) mm = 32.620 kN, αA 1.4: 27.183 kN at least.
	assert.InDelta(t, 27183, rods.Preload.Least, 1)
	assert.InDelta(t, 1-0.8*over.Joint.Value/(2*27183), rods.Left(), 1e-5)

	head, ok := r.HeadClamp()
	require.True(t, ok)
	// 12 bolts over 5 cylinders, M11 × 1.5 at 95 Nm: 95/(0.24 + 0.58 · 10.0257 · 0.12 + 31/4 · 0.12) mm = 50.862 kN; sealed on 86 mm.
	assert.InDelta(t, 50.862e3/1.2, head.Preload.Least, 1)
	force := (p.PeakPressure - r.Trim.Venue.Pressure) * math.Pi / 4 * 0.086 * 0.086
	assert.InEpsilon(t, force, head.Force, 1e-12)
	assert.InDelta(t, 1-0.8*force/(2.4*50.862e3/1.2), head.Left(), 1e-5)
}

// The mean torque of the table is the indicated torque of the operating point, for every trim.
func TestCranksDoTheIndicatedWork(t *testing.T) {
	for _, of := range [][2]string{{spectest.Hillclimb, "capped"}, {spectest.ClubFour, "free"}} {
		r := runtest.Solved(t, of[0], of[1], 3000, 6500)
		c, err := run.NewCranks(r)
		require.NoError(t, err)
		for i := range r.Outcomes {
			o := &r.Outcomes[i]
			l := c.At(o)
			require.NoError(t, l.Err)
			p := &o.Point
			assert.InEpsilon(t, (p.IMEP-p.PMEP)*r.Trim.Engine.Cylinder.Displacement()/(4*math.Pi), l.MeanTorque, 5e-4)
		}
	}
}

// Without anything on the piston but gas the rod is never pulled at full load, and without gas the loads are those of the masses: see geometry.
func TestCranksOfAWeightlessTrain(t *testing.T) {
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	end := *trim.Engine.BottomEnd
	end.Masses.Piston, end.Masses.SmallEnd, end.Masses.BigEnd, end.Masses.Cap = 0, 0, 0, 0
	end.CrankcasePressure = 0.2e5 // below any in the cylinder
	trim.Engine.BottomEnd = &end
	r := runtest.Solve(t, trim, 5000)
	c, err := run.NewCranks(r)
	require.NoError(t, err)
	l := c.At(&r.Outcomes[0])
	require.NoError(t, l.Err)
	assert.Zero(t, l.Tension)
	assert.Zero(t, l.Joint)
	assert.InEpsilon(t, l.Compression.Value, l.Pin.Value, 1e-12)
}
