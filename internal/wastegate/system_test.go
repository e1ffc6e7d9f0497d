package wastegate

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func systems() map[string]System {
	a, one := actuator(), actuator()
	one.ClosingArea = 0
	restsOpen := threeWay()
	restsOpen.RestsOpen = true
	narrow := bleed()
	narrow.BleedArea = 0.05 * mm2
	return map[string]System{
		"one port, bleed":             {Actuator: one, Opening: bleed()},
		"one port, narrow bleed":      {Actuator: one, Opening: narrow},
		"one port, three-way":         {Actuator: one, Opening: threeWay()},
		"one port, rests open":        {Actuator: one, Opening: restsOpen},
		"one port, vent":              {Actuator: one, Opening: vent()},
		"closing port, three-way":     {Actuator: a, Closing: threeWay()},
		"closing port, bleed":         {Actuator: a, Closing: bleed()},
		"closing port, rests open":    {Actuator: a, Closing: restsOpen},
		"pair":                        {Actuator: a, Opening: threeWay(), Closing: threeWay()},
		"pair of bleeds":              {Actuator: a, Opening: bleed(), Closing: bleed()},
		"pair, rests open":            {Actuator: a, Opening: restsOpen, Closing: restsOpen},
		"pair, vent beside rest open": {Actuator: a, Opening: vent(), Closing: restsOpen},
	}
}

// imbalance is the sum of the forces on diaphragm and valve over their sum without signs, written out with absolute
// pressures and port pressures found anew from the duties.
func imbalance(t *testing.T, y System, p Point, h Holding) float64 {
	t.Helper()
	s, a := p.State, y.Actuator
	opening, closing := s.SourcePressure, s.VenuePressure
	var err error
	if y.Opening != nil {
		opening, err = y.Opening.PortPressure(s, h.OpeningDuty)
		require.NoError(t, err)
	}
	if y.Closing != nil {
		closing, err = y.Closing.PortPressure(s, h.ClosingDuty)
		require.NoError(t, err)
	}
	assert.InDelta(t, opening, h.OpeningPressure, 1e-8)
	assert.InDelta(t, closing, h.ClosingPressure, 1e-8)
	exhaust := (s.TurbineInletPressure - s.TurbineOutletPressure) * math.Pi / 4 * a.ValveDiameter * a.ValveDiameter / a.LeverRatio
	if a.ExhaustShuts {
		exhaust = -exhaust
	}
	sum, size := 0.0, 0.0
	for _, f := range []float64{
		(opening - s.VenuePressure) * a.OpeningArea, -(closing - s.VenuePressure) * a.ClosingArea,
		-a.Preload, -a.Rate * a.LeverRatio * p.Lift, exhaust,
	} {
		sum, size = sum+f, size+math.Abs(f)
	}
	assert.InDelta(t, sum, h.PortForce-h.NeededForce, 1e-6)
	return sum / size
}

func TestHoldBalancesForces(t *testing.T) {
	for name, y := range systems() {
		rng := rand.New(rand.NewPCG(5, 8))
		held := 0
		for range 1000 {
			p := Point{state(), 10 * mm * rng.Float64()}
			p.SourcePressure = p.VenuePressure + 250e3*rng.Float64()
			p.TurbineInletPressure = p.TurbineOutletPressure + 250e3*rng.Float64()
			y.Actuator.Preload = 400 * rng.Float64()
			y.Actuator.LeverRatio = math.Exp(rng.Float64() - 0.5)
			y.Actuator.ExhaustShuts = rng.IntN(4) == 0
			h, err := y.Hold(p)
			require.NoError(t, err)
			if h.Short != NoSide {
				continue
			}
			held++
			require.InDelta(t, 0, imbalance(t, y, p, h), 1e-9, name)
			require.True(t, h.OpeningMargin >= 0 && h.ClosingMargin >= 0 && h.TravelMargin >= 0)
			require.InDelta(t, math.Min(h.OpeningMargin, h.ClosingMargin), h.ForceMargin, 0)
			duty := h.OpeningDuty
			if y.Opening == nil {
				duty = h.ClosingDuty
			}
			require.InDelta(t, math.Min(duty, 1-duty), h.Authority, 0)
			if y.Opening != nil && y.Closing != nil {
				require.InDelta(t, 1, h.OpeningDuty+h.ClosingDuty, 1e-15)
			}
		}
		assert.Greater(t, held, 50, "%s: points that can be held", name)
	}
}

// More lift takes more port force, so the duty goes one way with it.
func TestDutyIsMonotoneInLift(t *testing.T) {
	for name, y := range systems() {
		p := Point{state(), 0}
		shut, open := y.Ends()
		before := shut
		for i := 1; i <= 100; i++ {
			p.Lift = float64(i) * 0.1 * mm
			h, err := y.Hold(p)
			require.NoError(t, err)
			duty := h.OpeningDuty
			if y.Opening == nil {
				duty = h.ClosingDuty
			}
			require.GreaterOrEqual(t, (duty-before)*(open-shut), 0.0, "%s at %v", name, p.Lift)
			before = duty
		}
	}
}

// Without a spring, with equal areas and a balanced valve, nothing but the ports acts: their pressures must be equal, and two equal
// three-way valves in opposition do that at half duty.
func TestNoSpringEqualAreas(t *testing.T) {
	y := System{
		Actuator: Actuator{OpeningArea: 30e-4, ClosingArea: 30e-4, LeverRatio: 1.4, Stroke: 20 * mm},
		Opening:  threeWay(), Closing: threeWay(),
	}
	p := Point{state(), 5 * mm}
	h, err := y.Hold(p)
	require.NoError(t, err)
	assert.InDelta(t, 0.5, h.OpeningDuty, 1e-12)
	assert.InDelta(t, 0.5, h.Authority, 1e-12)
	assert.InDelta(t, 0, h.PortForce, 1e-9)
	assert.InDelta(t, h.OpeningMargin, h.ClosingMargin, 1e-9)
	assert.InDelta(t, 134e3*30e-4, h.OpeningMargin, 1e-6, "the whole source pressure on one side")

	// The exhaust's push, 188.4956 N at the valve and 1/1.4 of it at the diaphragm, is met by pressure on the closing side.
	y.Actuator.ValveDiameter = 40 * mm
	h, err = y.Hold(p)
	require.NoError(t, err)
	assert.InDelta(t, 188.4956/1.4/30e-4, h.ClosingPressure-h.OpeningPressure, 0.05)
	assert.InDelta(t, 0, imbalance(t, y, p, h), 1e-9)
	assert.Less(t, h.OpeningDuty, 0.5)
}

func TestHoldAtTheEndsOfTheDuty(t *testing.T) {
	for name, y := range systems() {
		y.Actuator.Preload = 0
		p := Point{state(), 5 * mm}
		e, err := y.extremes(&p.State)
		require.NoError(t, err)
		rest := y.Actuator.NeededForce(p.State, p.Lift)
		least, greatest := e.least-rest, e.greatest-rest // preloads that ask for just these forces
		for _, c := range []struct {
			preload, shortBy float64
			side             Side
			duty             float64
		}{
			{greatest - 1e-6, -1e-6, NoSide, e.open},
			{greatest + 7, 7, OpeningSide, e.open},
			{least + 1e-6, -1e-6, NoSide, e.shut},
			{least - 5, 5, ClosingSide, e.shut},
		} {
			if c.preload < 0 {
				continue
			}
			y.Actuator.Preload = c.preload
			h, err := y.Hold(p)
			require.NoError(t, err)
			assert.Equal(t, c.side, h.Short, name)
			assert.InDelta(t, -c.shortBy, h.ForceMargin, 1e-9, name)
			duty := h.OpeningDuty
			if y.Opening == nil {
				duty = h.ClosingDuty
			}
			// Three-way valves reach their ends flat, so a force of 1e-6 N is some 1e-4 of duty.
			assert.InDelta(t, c.duty, duty, 1e-3, name)
			if c.side == NoSide {
				assert.InDelta(t, 0, h.Authority, 1e-3, name)
				continue
			}
			assert.Zero(t, h.Authority, name)
			assert.Equal(t, c.duty, duty, name)
			// What is short is the force left over at that end.
			assert.InDelta(t, c.shortBy, math.Abs(h.NeededForce-h.PortForce), 1e-9, name)
		}
	}
}

func TestHoldShut(t *testing.T) {
	y := System{Actuator: actuator(), Opening: threeWay(), Closing: threeWay()}
	p := Point{state(), 0}
	h, err := y.Hold(p)
	require.NoError(t, err)
	assert.Zero(t, h.OpeningDuty)
	assert.InDelta(t, 1, h.ClosingDuty, 0)
	assert.Equal(t, NoSide, h.Short)
	assert.True(t, math.IsNaN(h.Authority))
	// 240 N of preload less 188.4956 N of exhaust, and 134 kPa on 28 cm² that help to shut.
	assert.InDelta(t, 240-188.4956+375.2, h.ForceMargin, 1e-3)
	assert.InDelta(t, 0, h.AirFlow, 1e-15, "neither valve of a pair at its ends lets anything through to the venue")

	// One port alone: nothing but the spring shuts, and the exhaust can blow it open.
	y = System{Actuator: actuator(), Opening: bleed()}
	y.Actuator.ClosingArea = 0
	p.TurbineInletPressure = 360e3 // 250 kPa: 314.1593 N
	h, err = y.Hold(p)
	require.NoError(t, err)
	assert.Equal(t, ClosingSide, h.Short)
	assert.InDelta(t, 240-314.1593, h.ForceMargin, 1e-3)
	assert.InDelta(t, p.VenuePressure, h.OpeningPressure, 1e-9)
}

func TestHoldTravel(t *testing.T) {
	y := System{Actuator: actuator(), Opening: threeWay()}
	y.Actuator.LeverRatio = 2 // 14 mm of stroke are 7 mm of lift
	p := Point{state(), 7 * mm}
	h, err := y.Hold(p)
	require.NoError(t, err)
	assert.Equal(t, NoSide, h.Short)
	p.Lift = 7.5 * mm
	h, err = y.Hold(p)
	require.NoError(t, err)
	assert.Equal(t, TravelSide, h.Short)
	assert.InDelta(t, -0.5*mm, h.TravelMargin, 1e-12)
	assert.InDelta(t, 1, h.OpeningDuty, 0, "as far open as it goes")
}

func TestHoldWithoutValves(t *testing.T) {
	y := System{Actuator: actuator()}
	h, err := y.Hold(Point{state(), 5 * mm})
	require.NoError(t, err)
	assert.True(t, math.IsNaN(h.OpeningDuty) && math.IsNaN(h.ClosingDuty) && math.IsNaN(h.Authority))
	// 402 N on the port against 240 + 45 − 188.4956 N.
	assert.Equal(t, ClosingSide, h.Short)
	assert.InDelta(t, 96.5044-402, h.ClosingMargin, 1e-3)
	assert.InDelta(t, 402-96.5044, h.OpeningMargin, 1e-3)
	assert.Zero(t, h.AirFlow)
}

// The room is what Hold calls the margins, the forces as shares of the venue's pressure on the opening area and the travel of the stroke.
func TestRoomIsTheMargins(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	for name, y := range systems() {
		for range 50 {
			y.Actuator.LeverRatio = 0.5 + 1.5*r.Float64()
			p := Point{State: State{
				VenuePressure: 1e5, SourcePressure: 0.9e5 + 2e5*r.Float64(), SourceTemperature: 380, TurbineInletPressure: 1.2e5 + 2e5*r.Float64(),
				TurbineOutletPressure: 1.1e5, Gamma: 1.4, GasConstant: 287,
			}, Lift: y.Actuator.GreatestLift() * r.Float64()}
			h, err := y.Hold(p)
			require.NoError(t, err)
			shutting, opening := y.Room(&p)
			scale := p.VenuePressure * y.Actuator.OpeningArea
			assert.InDelta(t, h.ClosingMargin/scale, shutting, 1e-9, name)
			assert.InDelta(t, min(h.OpeningMargin/scale, h.TravelMargin/y.Actuator.GreatestLift()), opening, 1e-9, name)
		}
	}
}

func TestHoldWithASourceBelowTheVenue(t *testing.T) {
	y := System{Actuator: actuator(), Opening: threeWay()}
	p := Point{state(), 0}
	p.SourcePressure, p.TurbineInletPressure = 60e3, 115e3
	h, err := y.Hold(p)
	require.NoError(t, err)
	assert.Equal(t, NoSide, h.Short)
	assert.InDelta(t, 60e3, h.OpeningPressure, 1e-9, "suction on the opening side shuts hardest")
}

func TestSystemRefuses(t *testing.T) {
	one := actuator()
	one.ClosingArea = 0
	restsOpen := threeWay()
	restsOpen.RestsOpen = true
	for _, c := range []struct {
		y    System
		p    Point
		want string
	}{
		{System{}, Point{state(), 0}, "actuator opening area is 0 m²; want more than 0"},
		{System{Actuator: actuator(), Opening: &PulsedValve{}}, Point{state(), 0}, "opening port: area of the pulsed valve is 0 m²; want more than 0"},
		{System{Actuator: actuator(), Closing: &PulsedValve{}}, Point{state(), 0}, "closing port: area of the pulsed valve is 0 m²; want more than 0"},
		{System{Actuator: one, Closing: threeWay()}, Point{state(), 0}, "closing port: a valve feeds it, but the actuator's closing area is 0"},
		{System{Actuator: actuator(), Opening: threeWay(), Closing: restsOpen}, Point{state(), 0},
			"the two pulsed valves work against each other: with opposed duties the pressures of both ports rise together"},
		{System{Actuator: actuator()}, Point{state(), math.NaN()}, "wastegate lift is NaN m; want 0 or more"},
		{System{Actuator: actuator()}, Point{}, "venue pressure is 0 Pa; want more than 0"},
	} {
		_, err := c.y.Hold(c.p)
		assert.EqualError(t, err, c.want)
	}
	y := System{Actuator: actuator()}
	y.Actuator.Rate, y.Actuator.LeverRatio = 1e300, 1e300
	_, err := y.Hold(Point{state(), 1 * mm})
	assert.ErrorContains(t, err, "out of all bounds")
}

func TestSideNames(t *testing.T) {
	for side, want := range map[Side]string{NoSide: "none", OpeningSide: "opening", ClosingSide: "closing", TravelSide: "travel", 9: "Side(9)"} {
		assert.Equal(t, want, side.String())
	}
}

func BenchmarkHold(b *testing.B) {
	y := System{Actuator: actuator(), Opening: threeWay(), Closing: threeWay()}
	p := Point{state(), 4 * mm}
	b.ReportAllocs()
	for b.Loop() {
		if h, err := y.Hold(p); err != nil || h.Short != NoSide {
			b.Fatal(h, err)
		}
	}
}

func BenchmarkPortPressure(b *testing.B) {
	v, s := bleed(), state()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := v.PortPressure(s, 0.4); err != nil {
			b.Fatal(err)
		}
	}
}
