package airpath

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/friction"
	"bellmouth/internal/gearing"
	"bellmouth/internal/geometry"
	"bellmouth/internal/numeric"
	"bellmouth/internal/restrictor"
)

// rally returns a plausible two-litre four: geometry, breathing and fuel as such engines have them, no figure fitted to what is
// asserted below.
func rally() Setup {
	s := unrestricted()
	s.Cylinders = 4
	s.Cylinder = geometry.Cylinder{Bore: 0.0853, Stroke: 0.0871, Rod: 0.140, CompressionRatio: 9}
	s.Valves.InletDiameter, s.Valves.ExhaustDiameter = 0.035, 0.031
	s.VolumetricEfficiency = must(numeric.NewCurve(
		[]float64{2000 * rpm, 3000 * rpm, 4000 * rpm, 5500 * rpm, 7000 * rpm, 8000 * rpm},
		[]float64{0.85, 0.93, 0.99, 1.06, 1.12, 1.10}))
	s.Mixture = rich(0.85)
	s.Pipes = pipes(4, s.Cylinder.Bore, 0.031)
	s.Heat.Factor = 1
	s.Combustion.LatestCA50 = 35 * deg // such engines burn late where the boost is high and the speed low
	s.Injection = nil
	s.Friction = friction.Choice{Factor: 1, Components: &friction.Components{
		MainBearings: friction.Bearings{Diameter: 0.054, Length: 0.020, Count: 5},
		CrankPins:    friction.Bearings{Diameter: 0.048, Length: 0.018, Count: 4},
		ValveTrain:   friction.DOHCDirect, CamBearings: 10, Auxiliaries: 1, OilViscosity: 1,
	}}
	c := *s.Cooler
	c.Effectiveness = numeric.Constant(0.85)
	s.Cooler = &c
	s.Compressor = &Compressor{Map: inventedMap(0.56, 4.2, 0.45), Count: 1}
	t := *s.Turbine
	t.EffectiveArea = 9.5e-4
	s.Turbine = &t
	w := *s.Wastegate
	w.Bore = 0.044
	s.Wastegate = &w
	return s
}

// Common practice, no source: a two-litre four behind a 34 mm restrictor, asked for 2.3 bar, holds about that up to 3,500 to
// 4,500 rpm, then is throttled by the restrictor to about 0.5 bar at 7,000 rpm.
func TestRestrictedTwoLitre(t *testing.T) {
	s := rally()
	s.Restrictor = &restrictor.Restrictor{Bore: 0.034, Discharge: 0.97, Recovery: 0.8}
	// A rally car behind a restrictor carries a turbocharger of the flow the rule allows.
	s.Compressor.Map = inventedMap(0.36, 4.6, 0.42)
	s.Turbine.EffectiveArea = 7.5e-4
	e, err := New(s)
	require.NoError(t, err)
	v := e.NewSolver()
	last := 0.0 // highest speed at which the boost asked for is held, to 0.05 bar
	curve := map[float64]Point{}
	for n := 2500.0; n <= 7500; n += 50 {
		p, err := v.Solve(demand(&s, n*rpm, 230e3))
		require.NoError(t, err)
		curve[n] = p
		if p.ManifoldPressure-s.Venue.Pressure > 225e3 {
			last = n
		}
	}
	assert.True(t, last >= 3500 && last <= 4500, "holds 2.3 bar up to %v rpm", last)
	at7000 := curve[7000]
	boost := (at7000.ManifoldPressure - s.Venue.Pressure) / 1e5
	assert.True(t, boost >= 0.35 && boost <= 0.7, "%.2f bar at 7000 rpm", boost)
	assert.Equal(t, Restrictor, at7000.Limit)
	assert.Equal(t, Restrictor, curve[last+200].Limit)

	// Common practice, no source: with gear steps of about 1.3 the best upshift falls at about 5,500 to 6,000 rpm. It is where
	// the power in the next gear is as high as in this one: P(N) = P(N/1.3).
	power := func(n float64) float64 {
		p, err := v.Solve(demand(&s, n*rpm, 230e3))
		require.NoError(t, err)
		return p.Power
	}
	root, err := numeric.FindRoot(func(n float64) float64 { return power(n) - power(n/1.3) }, 4500, 7500, 1)
	require.NoError(t, err)
	assert.True(t, root.X >= 5500 && root.X <= 6000, "upshift at %.0f rpm", root.X)
	t.Logf("2.3 bar up to %v rpm, %.2f bar at 7000 rpm, upshift at %.0f rpm", last, boost, root.X)

	// Common practice, no source: in such a car on tarmac shifting up at about 5,500 to 6,000 rpm is fastest in every gear, and the limiter is of use
	// in top gear only. The car and its gears are invented, as rally cars have them.
	var speeds, torques []float64
	for n := 2500.0; n <= 7500; n += 50 {
		speeds, torques = append(speeds, n*rpm), append(torques, curve[n].Torque)
	}
	car := gearing.Vehicle{
		Car: gearing.Car{Mass: 1380, Grip: 1.1, RearWeight: 0.45, RearThrust: 0.5, CentreHeight: 0.45, Wheelbase: 2.5, RollingRadius: 0.31,
			DragArea: 0.85, RollingResistance: 0.015, WheelInertia: 4},
		EngineInertia: 0.14, Torque: must(numeric.NewCurve(speeds, torques)), Limiter: 7500 * rpm,
		Shift: gearing.Shift{Time: 0.08, Kept: 0.9, Recovery: 0.2}, AirDensity: 1.17,
	}
	for _, ratio := range []float64{2.75, 2.05, 1.58, 1.24, 1.0} {
		car.Gears = append(car.Gears, gearing.Gear{Overall: ratio * 4.9, Efficiency: 0.9})
	}
	g, err := car.Gearing(car.Road())
	require.NoError(t, err)
	for _, u := range g.Upshifts {
		n := u.EngineSpeed / rpm
		assert.True(t, n >= 5500 && n <= 6000, "gear %d at %.0f rpm", u.Gear+1, n)
		assert.False(t, g.AtLimiter(u))
		t.Logf("gear %d: upshift at %.0f rpm, as good from %.0f to %.0f rpm, lands at %.0f rpm, %.0f ms lost by the limiter", u.Gear+1, n, u.FromSpeed/rpm,
			u.ToSpeed/rpm,
			u.Landing/rpm, u.Late*1000)
	}
	assert.Equal(t, gearing.Top{Gear: 4, Velocity: car.RoadSpeed(7500*rpm, 4.9), EngineSpeed: 7500 * rpm, Ending: gearing.ByLimiter}, g.Top)
}

// Common practice, no source: the same engine, unrestricted at 2.0 bar, is good for around 670 hp at its power peak on a
// competition fuel.
func TestOpenTwoLitre(t *testing.T) {
	s := rally()
	e, err := New(s)
	require.NoError(t, err)
	v := e.NewSolver()
	best := Point{}
	for n := 5000.0; n <= 8500; n += 100 {
		p, err := v.Solve(demand(&s, n*rpm, 200e3))
		require.NoError(t, err)
		if p.Power > best.Power {
			best = p
		}
	}
	hp := best.Power / 745.69987
	assert.True(t, hp >= 600 && hp <= 720, "%.0f hp", hp)
	assert.Equal(t, Target, best.Limit)
	t.Logf("%.0f hp at %.0f rpm, CA50 %.1f°, %.0f K at the turbine, %v", hp, best.Speed/rpm, best.CA50/deg, best.TurbineInletTemperature,
		best.Limits.Names(best.Limit))
	assert.False(t, math.IsNaN(hp))
}
