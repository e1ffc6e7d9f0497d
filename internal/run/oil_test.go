package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/numeric"
	"bellmouth/internal/oil"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// The oil of the example by hand, from the figures of its file and the published formulas, worked out apart: viscosity by D341 at 128 °C, six main
// bearings of 54 × 20 mm and 54 µm clearance with a groove of 180 degrees and 3 mm, five big ends of 47 × 18 mm and 48 µm, jets of 15 L/min at 4 bar.
func TestOilByHand(t *testing.T) {
	r := &run.Run{Trim: spectest.Trim(t, spectest.Hillclimb, "open")}
	for _, n := range []float64{1500, 3000, 7800} {
		r.Outcomes = append(r.Outcomes, boost.Outcome{Speed: n * spectest.PerRPM})
	}
	mu, err := r.BearingViscosity()
	require.NoError(t, err)
	assert.InDelta(t, 6.4174834e-3, mu, 1e-9)
	points, err := r.OilPoints()
	require.NoError(t, err)
	const litre = 1e-3 / 60 // L/min
	assert.InDelta(t, 22.881113, points[1].Engine/litre, 1e-5, "on the relief valve")
	assert.InDelta(t, 25.799567, points[2].Engine/litre, 1e-5)
	assert.Equal(t, 5.6e5, points[1].Pressure)
	assert.InDelta(t, 9.5e-6*50*0.82/litre, points[1].Pumped/litre, 1e-9, "50 turns a second at 82 %")
	assert.InDelta(t, points[1].Pumped, points[1].Engine+points[1].Relieved, 1e-18)
	assert.Zero(t, points[0].Relieved)
	assert.InDelta(t, 1.5*10*6894.757, points[0].Floor, 1, "10 psi for each 1000 rpm")
	assert.False(t, points[0].FloorHeld)

	f, err := r.PinFilm(53585, 5000*spectest.PerRPM)
	require.NoError(t, err)
	assert.InDelta(t, 0.9396511, f.Eccentricity, 1e-7)
	assert.InDelta(t, 1.4483728e-6, f.Thickness, 1e-12)
	// 98 bar on a piston of 84 mm, the venue's 0.9638 bar below it.
	force := r.GasForce(&airpath.Point{PeakPressure: 98e5})
	assert.InDelta(t, (98e5-r.Trim.Venue.Pressure)*math.Pi*0.084*0.084/4, force, 1e-6)

	// Scavenge pumps of 24 cm³ at half the engine's speed move 24 × 0.5 × 0.75 cm³ a turn, 55 % of it oil: short at 3000 rpm, enough at 7800.
	trim := *r.Trim
	sump := *trim.Sump
	sump.Scavenge = &spec.Scavenge{Pump: oil.Pump{Displacement: 24e-6, Ratio: 0.5, Efficiency: numeric.Constant(0.75)}, Air: 0.45}
	trim.Sump = &sump
	dry := &run.Run{Trim: &trim, Outcomes: r.Outcomes}
	scavenged, err := dry.Scavenging()
	require.NoError(t, err)
	assert.InDelta(t, 50*24e-6*0.5*0.75*0.55, scavenged[1].Oil, 1e-15)
	assert.InDelta(t, 14.85/22.881113-1, scavenged[1].Margin(), 1e-7)
	up, _ := sump.InEngine.At(3000 * spectest.PerRPM)
	assert.InDelta(t, (6e-3-up)/((22.881113-14.85)*litre), scavenged[1].Empties, 1e-4)
	assert.True(t, math.IsInf(scavenged[2].Empties, 1))
	assert.InDelta(t, 0.75*25.799567, dry.Sump(0).Back/litre, 1e-5, "what the corner brings back")
	sump.Scavenge.Air = 0.9
	assert.InDelta(t, 0.1*130*24*0.5*0.75*0.06, dry.Sump(0).Back/litre, 1e-9, "no more than the pumps move")

	// In a sustained corner the pump sends up what goes through the engine, unless the spec says.
	s := r.Sump(0)
	require.NoError(t, s.UpErr)
	assert.InDelta(t, 25.799567, s.Up/litre, 1e-5)
	r.Trim.Oil.Pump = nil
	assert.ErrorIs(t, r.Sump(0).UpErr, run.ErrNoPump)
	_, err = r.OilPoints()
	assert.ErrorIs(t, err, run.ErrNoPump)
	r.Trim.Sump.Circulation.Flow = 30 * litre
	assert.InDelta(t, 30, r.Sump(0).Up/litre, 1e-12)

	// What the run says of the sump is what the sump says by itself.
	at, err := s.Shape.At(s.Volume, oil.Towards(0, s.Reach.Drive))
	require.NoError(t, err)
	all, err := s.Leans()
	require.NoError(t, err)
	assert.Equal(t, at.Cover, all[0].Cover)
}

// TestPinForces: at 7800 rpm the big ends carry most at the top dead centre of gas exchange, where next to no gas stands against the inertia: what goes up
// and down at its greatest acceleration r ω² (1 + r/l), and the rod's lower end round the crank at r ω² (Heywood, 1988, ch. 13). At 4500 rpm the gas takes
// the lead. Without masses the load is the gas force alone.
func TestPinForces(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 4500, 7800)
	forces, err := r.PinForces()
	require.NoError(t, err)
	e := r.Trim.Engine
	throw, omega := e.Cylinder.Stroke/2, 7800*spectest.PerRPM
	m := e.BottomEnd.Masses
	inertia := throw * omega * omega * ((m.Piston+m.SmallEnd)*(1+throw/e.Cylinder.Rod) + m.BigEnd)
	assert.InEpsilon(t, inertia, forces[1].Load, 0.03, "the cylinder is a little above the crankcase's pressure there")
	assert.InDelta(t, -2*math.Pi, forces[1].Angle, 0.05)
	assert.Less(t, forces[0].Load, r.GasForce(&r.Outcomes[0].Point))
	assert.Positive(t, forces[0].Angle)
	cranks, err := run.NewCranks(r)
	require.NoError(t, err)
	l := cranks.At(&r.Outcomes[0])
	assert.Equal(t, l.Pin.Value, forces[0].Load)
	film, err := r.PinFilm(l.Pin.Value, 4500*spectest.PerRPM)
	require.NoError(t, err)
	assert.Equal(t, film, forces[0].Film)

	trim := *r.Trim
	trim.Engine.BottomEnd = nil
	alone, err := (&run.Run{Trim: &trim, Engine: r.Engine, Outcomes: r.Outcomes}).PinForces()
	require.NoError(t, err)
	assert.Equal(t, r.GasForce(&r.Outcomes[1].Point), alone[1].Load)
	assert.True(t, math.IsNaN(alone[1].Angle))
}
