package manifold_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/geometry"
	"bellmouth/internal/manifold"
	"bellmouth/internal/refdata"
)

var air = manifold.State{Pressure: 150e3, Temperature: 320, Gamma: 1.4, GasConstant: 287.05}

func TestFlowTable(t *testing.T) {
	// isentropic_flow.csv, NACA Report 1135 (1953), to 12 digits; the subsonic rows are what a duct can do.
	d := manifold.Duct{Bore: 0.05}
	seen := 0
	for _, row := range refdata.Read(t, "isentropic_flow.csv") {
		s := air
		s.Gamma = row.F(t, "gamma")
		m := row.F(t, "mach")
		if m >= 0.95 { // the flow is flat at choke and says little of the Mach number there
			continue
		}
		seen++
		flow := row.F(t, "mdot_sqrtRT0_over_A_p0") * d.Area() * s.Pressure / math.Sqrt(s.GasConstant*s.Temperature)
		f, err := d.Flow(flow, s)
		require.NoError(t, err)
		assert.InEpsilon(t, m, f.Mach, 1e-8)
		// The speed of sound at M = 1 is √(2γ/(γ+1) R T0).
		star := math.Sqrt(2 * s.Gamma / (s.Gamma + 1) * s.GasConstant * s.Temperature)
		assert.InEpsilon(t, row.F(t, "V_over_astar")*star, f.Velocity, 1e-8)
		// Dynamic head ½ ρ v² with the table's density.
		rho := row.F(t, "rho_over_rho0") * s.Pressure / (s.GasConstant * s.Temperature)
		assert.InEpsilon(t, rho*f.Velocity*f.Velocity/2, f.DynamicHead, 1e-8)
		assert.InEpsilon(t, flow, rho*f.Velocity*d.Area(), 1e-8, "continuity")
		assert.Zero(t, f.Loss)
	}
	assert.Greater(t, seen, 10)
}

func TestLossByHand(t *testing.T) {
	// At rest ρ = 150000/(287.05 · 320) = 1.63297 kg/m³. 0.1 kg/s through 50 mm (1.963495e-3 m²): v = 31.188 m/s,
	// ½ ρ v² = 794.2 Pa, M = 0.087, where compressing changes the head by M²/2 of it, 0.4 %.
	d := manifold.Duct{Bore: 0.05, LossCoefficient: 0.5}
	f, err := d.Flow(0.1, air)
	require.NoError(t, err)
	assert.InEpsilon(t, 31.188, f.Velocity, 0.005)
	assert.InEpsilon(t, 794.2, f.DynamicHead, 0.005)
	assert.InEpsilon(t, 0.5*f.DynamicHead, f.Loss, 1e-12)

	// Nothing moves, nothing is lost.
	f, err = d.Flow(0, air)
	require.NoError(t, err)
	assert.Zero(t, f)
}

func TestThrottleShaft(t *testing.T) {
	// The strip that a thin shaft covers is s d; one that fills the bore would cover π d²/4.
	bare, thin := manifold.Duct{Bore: 0.06}, manifold.Duct{Bore: 0.06, Shaft: 1e-4}
	assert.InEpsilon(t, 1e-4*0.06, bare.Area()-thin.Area(), 1e-5)
	assert.InDelta(t, 0, manifold.Duct{Bore: 0.06, Shaft: 0.06}.Area(), 1e-15)
	// By hand, s/d = 1/2: (½ √¾ + π/6)/2 = 0.478306 of d² is covered.
	half := manifold.Duct{Bore: 1, Shaft: 0.5}
	assert.InDelta(t, math.Pi/4-0.478306, half.Area(), 1e-6)
}

func TestMeanMach(t *testing.T) {
	c := geometry.Cylinder{Bore: 0.084, Stroke: 0.082, Rod: 0.144, CompressionRatio: 8.6}
	speed := 6500 * rpm
	r := manifold.Runner{Length: 0.35, Bore: 0.042}
	m, err := manifold.MeanMach(c.BoreArea(), r.Area(), c.MeanPistonSpeed(speed), air.SoundSpeed())
	require.NoError(t, err)
	// By hand: Sp = 0.082 · 6500/30 = 17.767 m/s, four times that in a runner of half the bore: 71.07 m/s, over
	// √(1.4 · 287.05 · 320) = 358.6 m/s.
	assert.InDelta(t, 71.067/358.61, m, 1e-4)
	// A stroke's volume in the time of a stroke is the same air.
	assert.InEpsilon(t, c.Displacement()/(math.Pi/speed)/r.Area()/air.SoundSpeed(), m, 1e-12)
	assert.InDelta(t, 1.6, c.MaxPistonSpeed(speed)/c.MeanPistonSpeed(speed), 0.05)
}

func TestDuctRefuses(t *testing.T) {
	d := manifold.Duct{Bore: 0.05, LossCoefficient: 1}
	nan := math.NaN()
	with := func(change func(*manifold.Duct, *manifold.State)) error {
		d, s := d, air
		change(&d, &s)
		_, err := d.Flow(0.1, s)
		return err
	}
	flow := func(m float64) error { _, err := d.Flow(m, air); return err }
	drop := func(_ float64, err error) error { return err }
	for _, c := range []struct {
		want string
		err  error
	}{
		{"bore is 0 m", with(func(d *manifold.Duct, _ *manifold.State) { d.Bore = 0 })},
		{"shaft is -1 m", with(func(d *manifold.Duct, _ *manifold.State) { d.Shaft = -1 })},
		{"shaft is 0.06 m", with(func(d *manifold.Duct, _ *manifold.State) { d.Shaft = 0.06 })},
		{"less than half", with(func(d *manifold.Duct, _ *manifold.State) { d.Shaft = 0.022 })},
		{"coefficient is NaN", with(func(d *manifold.Duct, _ *manifold.State) { d.LossCoefficient = nan })},
		{"pressure is 0", with(func(_ *manifold.Duct, s *manifold.State) { s.Pressure = 0 })},
		{"temperature is -1", with(func(_ *manifold.Duct, s *manifold.State) { s.Temperature = -1 })},
		{"specific heats is 1", with(func(_ *manifold.Duct, s *manifold.State) { s.Gamma = 1 })},
		{"gas constant is 0", with(func(_ *manifold.Duct, s *manifold.State) { s.GasConstant = 0 })},
		{"mass flow is -1", flow(-1)},
		{"mass flow is NaN", flow(nan)},
		{"chokes at", flow(1)},
		{"want at most a tenth", flow(0.45)},
		{"passage area is 0", drop(manifold.MeanMach(1, 0, 1, 1))},
		{"would choke", drop(manifold.MeanMach(5.5e-3, 5e-4, 25, 340))},
	} {
		assert.ErrorContains(t, c.err, c.want)
	}
}
