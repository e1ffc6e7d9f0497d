package wastegate

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every figure of the test systems is invented.
const mm, mm2 = 1e-3, 1e-6

func state() State {
	return State{
		VenuePressure: 96e3, SourcePressure: 230e3, SourceTemperature: 330,
		TurbineInletPressure: 260e3, TurbineOutletPressure: 110e3, Gamma: 1.4, GasConstant: 287.05,
	}
}

func actuator() Actuator {
	return Actuator{
		Preload: 240, Rate: 9000, OpeningArea: 3000 * mm2, ClosingArea: 2800 * mm2,
		LeverRatio: 1, Stroke: 14 * mm, ValveDiameter: 40 * mm,
	}
}

func threeWay() *PulsedValve { return &PulsedValve{Kind: ThreeWay, Area: 3 * mm2} }
func bleed() *PulsedValve    { return &PulsedValve{Kind: Bleed, Area: 3 * mm2, BleedArea: 0.6 * mm2} }
func vent() *PulsedValve     { return &PulsedValve{Kind: Vent, Area: 3 * mm2, BleedArea: 0.8 * mm2} }

func TestNeededForceByHand(t *testing.T) {
	// 100 kPa on π/4 (40 mm)² = 1256.637 mm² are 125.6637 N at the valve. A lift of 4 mm stretches a spring of 5 N/mm.
	s := state()
	s.TurbineInletPressure, s.TurbineOutletPressure = 210e3, 110e3
	a := Actuator{Preload: 150, Rate: 5000, OpeningArea: 1, Stroke: 1, ValveDiameter: 40 * mm}
	for _, c := range []struct {
		lever  float64
		shuts  bool
		needed float64
	}{
		{1, false, 150 + 20 - 125.6637},
		{2, false, 150 + 40 - 62.83185}, // the diaphragm goes twice as far: twice the spring, half the valve's force
		{0.5, false, 150 + 10 - 251.3274},
		{1, true, 150 + 20 + 125.6637},
		{2, true, 150 + 40 + 62.83185},
	} {
		a.LeverRatio, a.ExhaustShuts = c.lever, c.shuts
		assert.InDelta(t, c.needed, a.NeededForce(s, 4*mm), 1e-4, "lever %v, shuts %v", c.lever, c.shuts)
	}
	a.LeverRatio = 2
	assert.InDelta(t, 0.5, a.GreatestLift(), 0)
	a.ValveDiameter, a.LeverRatio = 0, 1
	assert.InDelta(t, 170, a.NeededForce(s, 4*mm), 1e-12, "a balanced valve does not feel the exhaust")
}

func TestPortForceByHand(t *testing.T) {
	// 60 kPa on 30 cm² less 20 kPa on 25 cm².
	s := state()
	a := Actuator{OpeningArea: 30e-4, ClosingArea: 25e-4}
	assert.InDelta(t, 180-50, a.PortForce(s, s.VenuePressure+60e3, s.VenuePressure+20e3), 1e-9)
	// All at the venue's pressure, whatever that is and whatever the areas: no force.
	assert.InDelta(t, 0, a.PortForce(s, s.VenuePressure, s.VenuePressure), 0)
}

// Where forces balance, the work of all of them over a small travel is zero: the energy of spring, ports and exhaust,
// written over the valve's lift in absolute pressures, is at a minimum. It contains no lever but s = L l.
func TestBalanceIsTheLeastEnergy(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for range 300 {
		s, a := state(), actuator()
		a.LeverRatio = math.Exp(2*rng.Float64() - 1)
		a.Rate *= 0.2 + rng.Float64()
		a.ClosingArea *= rng.Float64()
		a.ValveDiameter *= rng.Float64()
		a.ExhaustShuts = rng.IntN(2) == 0
		lift := 6 * mm * rng.Float64()
		closing := s.VenuePressure + rng.Float64()*1e5
		// The opening pressure that balances.
		opening := s.VenuePressure + (a.NeededForce(s, lift)+(closing-s.VenuePressure)*a.ClosingArea)/a.OpeningArea
		energy := func(l float64) float64 {
			travel := a.LeverRatio * l
			swept := math.Pi / 4 * a.ValveDiameter * a.ValveDiameter * l
			if a.ExhaustShuts {
				swept = -swept
			}
			return a.Preload*travel + a.Rate*travel*travel/2 -
				opening*a.OpeningArea*travel + closing*a.ClosingArea*travel + s.VenuePressure*(a.OpeningArea-a.ClosingArea)*travel -
				s.TurbineInletPressure*swept + s.TurbineOutletPressure*swept
		}
		const step = 0.1 * mm
		slope := (energy(lift+step) - energy(lift-step)) / (2 * step) // exact for a parabola, to rounding
		require.InDelta(t, 0, slope, 1e-9*opening*a.OpeningArea*a.LeverRatio)
		require.Greater(t, energy(lift+step), energy(lift))
		require.Greater(t, energy(lift-step), energy(lift))
	}
}

func TestPreloadFor(t *testing.T) {
	// (230 − 96) kPa on 30 cm² = 402 N; 9 N/mm over 5 mm = 45 N; 150 kPa on 1256.637 mm² = 188.4956 N.
	a := actuator()
	got, err := a.PreloadFor(Point{state(), 5 * mm})
	require.NoError(t, err)
	assert.InDelta(t, 402-45+188.4956, got, 1e-3)

	a.Preload = got
	h, err := System{Actuator: a}.Hold(Point{state(), 5 * mm})
	require.NoError(t, err)
	assert.InDelta(t, 0, h.OpeningMargin, 1e-9)
	assert.InDelta(t, 0, h.ClosingMargin, 1e-9)

	a.Rate = 1e6
	_, err = a.PreloadFor(Point{state(), 5 * mm})
	require.Error(t, err)
	assert.Contains(t, metric(err), "no preload holds a lift of 0.005 m at a source pressure of 230000 Pa: spring rate and exhaust leave -4409.50")
	_, err = a.PreloadFor(Point{state(), -1})
	assert.EqualError(t, err, "wastegate lift is -1 m; want 0 or more")
	a.Rate = -1
	_, err = a.PreloadFor(Point{state(), 0})
	assert.EqualError(t, err, "actuator spring rate is -1 N/m; want 0 or more")
}

func TestActuatorRefuses(t *testing.T) {
	for _, c := range []struct {
		change func(*Actuator)
		want   string
	}{
		{func(a *Actuator) { a.Preload = -1 }, "actuator preload is -1 N; want 0 or more"},
		{func(a *Actuator) { a.Preload = math.NaN() }, "actuator preload is NaN N; want 0 or more"},
		{func(a *Actuator) { a.Rate = math.Inf(1) }, "actuator spring rate is +Inf N/m; want 0 or more"},
		{func(a *Actuator) { a.OpeningArea = 0 }, "actuator opening area is 0 m²; want more than 0"},
		{func(a *Actuator) { a.ClosingArea = -1 }, "actuator closing area is -1 m²; want 0 or more"},
		{func(a *Actuator) { a.LeverRatio = 0 }, "actuator lever ratio is 0; want more than 0"},
		{func(a *Actuator) { a.Stroke = 0 }, "actuator stroke is 0 m; want more than 0"},
		{func(a *Actuator) { a.ValveDiameter = math.NaN() }, "wastegate valve diameter is NaN m; want 0 or more"},
	} {
		a := actuator()
		require.NoError(t, a.Validate())
		c.change(&a)
		assert.EqualError(t, a.Validate(), c.want)
	}
}

func TestStateRefuses(t *testing.T) {
	for _, c := range []struct {
		change func(*State)
		want   string
	}{
		{func(s *State) { s.VenuePressure = 0 }, "venue pressure is 0 Pa; want more than 0"},
		{func(s *State) { s.SourcePressure = math.NaN() }, "pressure of the control air is NaN Pa; want more than 0"},
		{func(s *State) { s.SourceTemperature = -3 }, "temperature of the control air is -3 K; want more than 0"},
		{func(s *State) { s.TurbineInletPressure = math.Inf(1) }, "turbine inlet pressure is +Inf Pa; want more than 0"},
		{func(s *State) { s.TurbineOutletPressure = 0 }, "turbine outlet pressure is 0 Pa; want more than 0"},
		{func(s *State) { s.GasConstant = 0 }, "gas constant is 0 J/(kg K); want more than 0"},
		{func(s *State) { s.Gamma = 1 }, "ratio of heat capacities is 1; want 1.05 to 1.7"},
	} {
		s := state()
		require.NoError(t, s.Validate())
		c.change(&s)
		assert.EqualError(t, s.Validate(), c.want)
	}
}
