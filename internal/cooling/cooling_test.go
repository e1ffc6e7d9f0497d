package cooling

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/cooler"
)

const litre, rpm, kmh = 1e-3, math.Pi / 30, 1 / 3.6

// TestBoilingWater: IAPWS-IF97 (2007), table 36, from memory.
func TestBoilingWater(t *testing.T) {
	for _, p := range []struct{ pressure, want float64 }{{0.1e6, 372.755919}, {1e6, 453.035632}, {10e6, 584.149488}} {
		got, err := boilingWater(p.pressure)
		require.NoError(t, err)
		assert.InDelta(t, p.want, got, 5e-7, "%v Pa", p.pressure)
	}
	got, err := boilingWater(101325) // 99.974 °C on ITS-90, the same formulation's normal boiling point, as printed with it
	require.NoError(t, err)
	assert.InDelta(t, 373.124, got, 1e-3)
	got, err = boilingWater(22.064e6) // the critical point, 647.096 K
	require.NoError(t, err)
	assert.InDelta(t, 647.096, got, 1e-3)
	for _, p := range []float64{600, 23e6, math.NaN()} {
		_, err := boilingWater(p)
		assert.ErrorContains(t, err, "the saturation line of water holds from 611.213 Pa to 2.2064e+07 Pa")
	}
}

// TestGlycolBoils: what coolant concentrates print for sea level, from memory: 108 °C at half by volume, 111 °C at 60 %, known to about a kelvin.
func TestGlycolBoils(t *testing.T) {
	for _, p := range []struct{ share, want, near float64 }{{0, 99.97, 0.01}, {0.5, 107.8, 1}, {0.6, 111.1, 1}} {
		got, err := Coolant{Glycol: p.share}.Boiling(101325)
		require.NoError(t, err)
		assert.InDelta(t, p.want, got-273.15, p.near, "%v", p.share)
	}
	_, err := Coolant{Glycol: 0.8}.Boiling(101325)
	assert.EqualError(t, err, "share of glycol is 0.8; want 0 to 0.7")
	_, err = Coolant{}.Boiling(1)
	assert.ErrorContains(t, err, "pressure is 1 Pa")
}

// TestCoolant: water's own figures at 90 °C, and half glycol against what is printed for it, from memory: 3.6 kJ/(kg K) and 1.03 kg/L at 90 °C. The ideal
// mixture is some per cent below the first.
func TestCoolant(t *testing.T) {
	assert.InDelta(t, 4206, Coolant{}.SpecificHeat(), 1e-9)
	assert.InDelta(t, 965.3, Coolant{}.Density(), 1e-9)
	half := Coolant{Glycol: 0.5}
	assert.InEpsilon(t, 3600, half.SpecificHeat(), 0.06)
	assert.Less(t, half.SpecificHeat(), 3600.0)
	assert.InEpsilon(t, 1030, half.Density(), 0.02)
	assert.InDelta(t, 0.527, half.mass(), 0.001, "1113/(1113 + 998.2)")
	assert.InDelta(t, 10*0.5*(1.113+0.9982), half.Fill(10*litre), 1e-9)
	assert.InDelta(t, 1, Coolant{}.film()/Coolant{}.film(), 1e-12)
	// The tube's wall: water (0.6757/0.2613)^0.7 (4206/2696)^0.3 (965.3/1071)^0.8 (314/2620)^−0.5 of glycol.
	all := math.Pow(0.6757/0.2613, 0.7) * math.Pow(4206/2696.0, 0.3) * math.Pow(965.3/1071, 0.8) * math.Pow(314/2620.0, -0.5)
	assert.InEpsilon(t, all, Coolant{}.film()/Coolant{Glycol: 1}.film(), 1e-9)
}

// stated is a radiator as a test stand might tell of it.
func stated() Statement {
	return Statement{
		FaceArea: 0.25, Velocities: []float64{3, 6, 10}, Heats: []float64{700, 1100, 1450}, AirDensity: 1.2,
		LiquidCapacity: 2 * litre * Coolant{}.Density() * Coolant{}.SpecificHeat(), AirShare: 0.8, AirExponent: 0.5,
	}
}

func core(t testing.TB, s Statement) *Core {
	t.Helper()
	c, err := NewCore(s)
	require.NoError(t, err)
	return c
}

func TestCoreGivesWhatIsStated(t *testing.T) {
	s := stated()
	c := core(t, s)
	for i, v := range s.Velocities {
		e := c.Exchange(Air{v, s.AirDensity}, Liquid{s.LiquidCapacity, 1, 1})
		assert.InDelta(t, s.Heats[i], e.Heat, 1e-6, "%v m/s", v)
		assert.InDelta(t, v*1.2*0.25*1007, e.Air, 1e-9)
		assert.False(t, e.Scaled)
	}
	// Thinner air counts by its mass flow: half the density at twice the velocity is the same.
	e := c.Exchange(Air{12, 0.6}, Liquid{s.LiquidCapacity, 1, 1})
	assert.InDelta(t, 1100, e.Heat, 1e-6)
	assert.True(t, c.Exchange(Air{2.9, 1.2}, Liquid{s.LiquidCapacity, 1, 1}).Scaled)
	assert.True(t, c.Exchange(Air{10.1, 1.2}, Liquid{s.LiquidCapacity, 1, 1}).Scaled)
	assert.Zero(t, c.Exchange(Air{0, 1.2}, Liquid{s.LiquidCapacity, 1, 1}).Heat)
	assert.Zero(t, c.Exchange(Air{5, 1.2}, Liquid{0, 0, 1}).Heat)
}

// TestScaling by hand, from one point: resistances in series, the air's with m = 0.5, the liquid's with 0.8.
func TestScaling(t *testing.T) {
	const share, m = 0.8, 0.5
	s := Statement{FaceArea: 0.2, Velocities: []float64{5}, Heats: []float64{800}, AirDensity: 1.2, LiquidCapacity: 8000, AirShare: share, AirExponent: m}
	c := core(t, s)
	at := c.Exchange(Air{5, 1.2}, Liquid{8000, 1, 1})
	for _, p := range []struct{ air, liquid, film float64 }{{0.25, 1, 1}, {4, 1, 1}, {1, 0.3, 1}, {1, 1, 0.6}, {2, 1.5, 0.8}} {
		resistance := (share*math.Pow(p.air, -m) + (1-share)*math.Pow(p.liquid, -0.8)/p.film) / at.Transfer
		air, liquid := p.air*5*1.2*0.2*1007, p.liquid*8000
		lesser, greater := math.Min(air, liquid), math.Max(air, liquid)
		eps, err := cooler.Crossflow(1/(resistance*lesser), lesser/greater)
		require.NoError(t, err)
		got := c.Exchange(Air{p.air * 5, 1.2}, Liquid{liquid, p.liquid, p.film})
		assert.InEpsilon(t, 1/resistance, got.Transfer, 1e-12)
		assert.InEpsilon(t, eps*lesser, got.Heat, 1e-12)
	}
}

func TestCoreRefusals(t *testing.T) {
	for _, p := range []struct {
		change func(s *Statement)
		want   string
	}{
		{func(s *Statement) { s.Heats = nil }, "a core needs its heat at one velocity of the air at least"},
		{func(s *Statement) { s.FaceArea = 0 }, "face area is 0 m²; want more than 0"},
		{func(s *Statement) { s.AirDensity = math.NaN() }, "air density is NaN kg/m³; want more than 0"},
		{func(s *Statement) { s.LiquidCapacity = -1 }, "capacity rate of the liquid is -1 W/K; want more than 0"},
		{func(s *Statement) { s.AirShare = 1.1 }, "share of the air's side is 1.1; want more than 0 and at most 1"},
		{func(s *Statement) { s.AirExponent = 1 }, "exponent of the air's side is 1; want more than 0 and less than 1"},
		{func(s *Statement) { s.Heats = []float64{700, 650, 1450} }, "point 2 of the heat is 650 W/K at 6 m/s; want both to rise from above 0"},
		{func(s *Statement) { s.Heats[0] = 900 }, "heat of point 1 is more than the air takes up: want less than 888.2 W/K"}, // 0.98 · 3 · 1.2 · 0.25 · 1007
		{func(s *Statement) { s.LiquidCapacity = 1400 }, "heat of point 3 is more than the liquid gives: want less than 1372 W/K"},
		{func(s *Statement) { s.AirShare = 0.01; s.Heats = []float64{880, 890, 900} }, "leaves nothing for the air's side; want a greater share of that"},
	} {
		s := stated()
		p.change(&s)
		_, err := NewCore(s)
		assert.ErrorContains(t, err, p.want)
	}
}

func TestDraught(t *testing.T) {
	d := Draught{Ram: 0.25, Fan: 0.5}
	assert.Equal(t, 2.0, d.Velocity(0, 0.25), "the fan alone")
	assert.Equal(t, 2.0, d.Velocity(8, 0.25))
	assert.Equal(t, 5.0, d.Velocity(20, 0.25), "the road speed alone")
	assert.EqualError(t, Draught{Ram: 1.2}.Validate(), "ram is 1.2 of the road speed; want 0 to 1")
	assert.EqualError(t, Draught{Fan: -1}.Validate(), "fan moves -1 m³/s; want 0 or more")
}

func TestThermostat(t *testing.T) {
	s := Thermostat{Opens: 355, Full: 365}
	for _, p := range []struct{ at, want float64 }{{300, 0}, {355, 0}, {357.5, 0.25}, {365, 1}, {400, 1}} {
		assert.InDelta(t, p.want, s.Share(p.at), 1e-12)
	}
	assert.Equal(t, 1.0, Thermostat{}.Share(300), "without one all goes through")
}

func TestPump(t *testing.T) {
	p := Pump{Flow: 120, Speed: 4000 * rpm, Ratio: 0.8}
	assert.InDelta(t, 120*6000*0.8/4000, p.At(6000*rpm), 1e-12)
	assert.Equal(t, 120.0, Pump{Flow: 120}.At(6000*rpm), "an electric one")
}

func circuit(t testing.TB) *Circuit {
	c := &Circuit{
		Radiator: core(t, stated()), Draught: Draught{Ram: 0.22, Fan: 0.4}, StatedFlow: 2 * litre, StatedWith: Coolant{}, Coolant: Coolant{Glycol: 0.3},
		Pump: Pump{Flow: 2.2 * litre, Speed: 6000 * rpm, Ratio: 1}, Thermostat: Thermostat{Opens: 355, Full: 367},
		Volume: 9 * litre, Stored: 60 * 600, Cap: 1.1e5,
	}
	require.NoError(t, c.Validate())
	return c
}

func condition() Condition {
	return Condition{Heat: 70e3, EngineSpeed: 6000 * rpm, RoadSpeed: 100 * kmh, Air: 293, Density: 1.2}
}

func steady(t testing.TB, c *Circuit, on Condition) State {
	t.Helper()
	s, err := c.Steady(on)
	require.NoError(t, err)
	return s
}

// TestBalance: what the coolant brings from the engine, what the radiator takes and what the air takes away are one heat, thermostat in its band or open.
func TestBalance(t *testing.T) {
	c := circuit(t)
	for _, heat := range []float64{0, 5e3, 40e3, 70e3, 120e3} {
		on := condition()
		on.Heat = heat
		s := steady(t, c, on)
		coolant := s.Flow * c.Coolant.Density() * c.Coolant.SpecificHeat() * s.Rise
		air := s.Exchange.Air * (s.Outlet - s.Inlet)
		assert.InDelta(t, heat, coolant, 1e-6*heat+1e-6)
		assert.InDelta(t, heat, air, 1e-6*heat+1e-6)
		assert.InDelta(t, heat, s.Exchange.Heat*(s.Temperature-s.Inlet), 1e-5*heat+0.1, "%v W", heat)
		if heat <= 40e3 {
			assert.True(t, s.Temperature >= 355 && s.Temperature <= 367, "%v W sit in the thermostat's band, not at %v K", heat, s.Temperature)
		}
	}
}

// TestAirBefore: the charge cooler's heat warms the radiator's air by Q/(ṁ cp), but not past what gives it.
func TestAirBefore(t *testing.T) {
	c, on := circuit(t), condition()
	on.Before, on.Hottest = 10e3, 420
	s := steady(t, c, on)
	assert.InDelta(t, 293+10e3/(0.22*100/3.6*1.2*0.25*1007), s.Inlet, 1e-9)
	on.Before = 1e7
	assert.InDelta(t, 420, steady(t, c, on).Inlet, 1e-9)
	cold := condition()
	assert.Equal(t, 293.0, steady(t, c, cold).Inlet)
}

// TestHotter: whatever should make the coolant hotter does.
func TestHotter(t *testing.T) {
	base := steady(t, circuit(t), condition()).Temperature
	for name, change := range map[string]func(c *Circuit, on *Condition){
		"hotter venue":  func(_ *Circuit, on *Condition) { on.Air += 10 },
		"thinner air":   func(_ *Circuit, on *Condition) { on.Density *= 0.85 },
		"slower road":   func(_ *Circuit, on *Condition) { on.RoadSpeed *= 0.8 },
		"more heat":     func(_ *Circuit, on *Condition) { on.Heat *= 1.1 },
		"more glycol":   func(c *Circuit, _ *Condition) { c.Coolant.Glycol = 0.5 },
		"slower pump":   func(c *Circuit, _ *Condition) { c.Pump.Ratio = 0.6 },
		"air warmed":    func(_ *Circuit, on *Condition) { on.Before, on.Hottest = 5e3, 420 },
		"less ram":      func(c *Circuit, _ *Condition) { c.Draught.Ram = 0.18 },
		"slower engine": func(_ *Circuit, on *Condition) { on.EngineSpeed *= 0.7 },
	} {
		c, on := circuit(t), condition()
		change(c, &on)
		assert.Greater(t, steady(t, c, on).Temperature, base+0.1, name)
	}
	c, on := circuit(t), condition()
	on.RoadSpeed, c.Draught.Fan = 0, 0
	assert.True(t, math.IsInf(steady(t, c, on).Temperature, 1), "no air")
	// A radiator that was measured with the mixture that runs in it is the better one with that mixture.
	c, on = circuit(t), condition()
	c.StatedWith = c.Coolant
	assert.Less(t, steady(t, c, on).Temperature, base)
}

// TestWarmsUp against the closed form of a lump, T = T∞ + (T0 − T∞) e^(−t/τ), τ = C/G, thermostat open.
func TestWarmsUp(t *testing.T) {
	c, on := circuit(t), condition()
	c.Thermostat = Thermostat{}
	s := steady(t, c, on)
	mass := 9 * (0.3*1.113 + 0.7*0.9982) // kg of coolant filled
	capacity := mass*c.Coolant.SpecificHeat() + 36000
	assert.InDelta(t, capacity, c.HeatCapacity(), 1e-6)
	tau := capacity / s.Exchange.Heat
	assert.InEpsilon(t, tau, c.TimeConstant(on), 1e-12)
	for _, time := range []float64{0, 1, 30, 200, 900} {
		got, err := c.After(on, 320, time)
		require.NoError(t, err)
		assert.InDelta(t, s.Temperature+(320-s.Temperature)*math.Exp(-time/tau), got, 1e-6, "%v s", time)
	}
	limit := s.Temperature - 5
	got, err := c.Lasts(on, 330, limit)
	require.NoError(t, err)
	assert.InEpsilon(t, tau*math.Log((s.Temperature-330)/5), got, 1e-8)
}

// TestLimits of the transient: a long time leads to the steady state, thermostat or not, from either side; without air the heat stays, Q t = C ΔT; below
// the thermostat too.
func TestLimits(t *testing.T) {
	c, on := circuit(t), condition()
	for _, heat := range []float64{10e3, 30e3, 70e3} {
		on.Heat = heat
		want := steady(t, c, on).Temperature
		for _, from := range []float64{300, 400} {
			got, err := c.After(on, from, 1e6)
			require.NoError(t, err)
			assert.InDelta(t, want, got, 1e-5, "%v W from %v K", heat, from)
		}
	}
	capacity := c.HeatCapacity()
	on = condition()
	got, err := c.After(on, 300, 20) // well below the thermostat
	require.NoError(t, err)
	assert.InDelta(t, 300+70e3*20/capacity, got, 1e-9)
	lasts, err := c.Lasts(on, 300, 350)
	require.NoError(t, err)
	assert.InEpsilon(t, capacity*50/70e3, lasts, 1e-9)

	on.RoadSpeed, c.Draught.Fan = 0, 0
	lasts, err = c.Lasts(on, 350, 390)
	require.NoError(t, err)
	assert.InEpsilon(t, capacity*40/70e3, lasts, 1e-12)
	got, err = c.After(on, 350, lasts)
	require.NoError(t, err)
	assert.InDelta(t, 390, got, 1e-9)
}

// TestLastsAndAfterAgree: what After makes of the time that Lasts tells is the limit, through the thermostat's band.
func TestLastsAndAfterAgree(t *testing.T) {
	c, on := circuit(t), condition()
	on.RoadSpeed = 20 * kmh
	for _, p := range []struct{ from, limit float64 }{{340, 360}, {350, 380}, {358, 385}, {330, 395}} {
		lasts, err := c.Lasts(on, p.from, p.limit)
		require.NoError(t, err)
		got, err := c.After(on, p.from, lasts)
		require.NoError(t, err)
		assert.InDelta(t, p.limit, got, 1e-3)
	}
	s := steady(t, c, on).Temperature
	lasts, err := c.Lasts(on, 340, s+0.1)
	require.NoError(t, err)
	assert.True(t, math.IsInf(lasts, 1), "it settles below the limit")
	lasts, err = c.Lasts(on, 380, 375)
	require.NoError(t, err)
	assert.Zero(t, lasts, "it is past it")
	lasts, err = c.Lasts(on, 340, s-1e-6)
	require.NoError(t, err)
	assert.True(t, lasts > 1000 && !math.IsInf(lasts, 1))
}

func TestCircuitRefusals(t *testing.T) {
	for _, p := range []struct {
		change func(c *Circuit)
		want   string
	}{
		{func(c *Circuit) { c.Radiator = nil }, "a circuit needs a radiator"},
		{func(c *Circuit) { c.StatedFlow = 0 }, "stated flow of coolant is 0 m³/s; want more than 0"},
		{func(c *Circuit) { c.Pump.Flow = math.NaN() }, "pump moves NaN m³/s at 628.3185307179587 rad/s with 1 turns for one of the engine; want more than 0"},
		{func(c *Circuit) { c.Thermostat.Full = 350 }, "thermostat opens from 355 to 350 K; want a rising band"},
		{func(c *Circuit) { c.Volume = 0 }, "volume of the coolant is 0 m³; want more than 0"},
		{func(c *Circuit) { c.Stored = -1 }, "heat capacity of the metal is -1 J/K; want 0 or more"},
		{func(c *Circuit) { c.Cap = math.Inf(1) }, "cap holds +Inf Pa; want 0 or more"},
		{func(c *Circuit) { c.Coolant.Glycol = 2 }, "share of glycol is 2; want 0 to 0.7"},
		{func(c *Circuit) { c.Draught.Ram = -1 }, "ram is -1 of the road speed; want 0 to 1"},
	} {
		c := circuit(t)
		p.change(c)
		assert.ErrorContains(t, c.Validate(), p.want)
	}
	c, on := circuit(t), condition()
	on.Heat = math.NaN()
	_, err := c.Steady(on)
	assert.ErrorContains(t, err, "heat NaN W")
	_, err = c.After(on, 300, 1)
	assert.Error(t, err)
	_, err = c.Lasts(on, 300, 400)
	assert.Error(t, err)
	_, err = c.After(condition(), 300, -1)
	assert.ErrorContains(t, err, "for -1 s")
	_, err = c.Lasts(condition(), math.NaN(), 400)
	assert.ErrorContains(t, err, "from NaN K")
}

func charger() ChargeCooler {
	return ChargeCooler{FaceArea: 0.12, Velocity: 8, AirShare: 0.5, AirExponent: 0.5, AirDensity: 1.2, Draught: Draught{Ram: 0.3}}
}

// TestChargeCooler: at the stated velocity of the outer air the stated effectiveness comes back; slower air leaves a hotter charge, none an uncooled one.
func TestChargeCooler(t *testing.T) {
	c := charger()
	require.NoError(t, c.Validate())
	in := Charge{Capacity: 250, Temperature: 420, Effectiveness: 0.78, Coolant: 295}
	s, err := c.At(in, 8/0.3, 1.2)
	require.NoError(t, err)
	assert.InDelta(t, 0.78, s.Effectiveness, 1e-9)
	assert.InDelta(t, 420-0.78*125, s.Temperature, 1e-6)
	assert.InDelta(t, 250*0.78*125, s.Heat, 1e-4)
	last := 419.0
	for _, road := range []float64{2, 5, 10, 20, 40, 80} {
		s, err := c.At(in, road, 1.2)
		require.NoError(t, err)
		assert.Less(t, s.Temperature, last)
		assert.LessOrEqual(t, s.Heat, s.Velocity*1.2*0.12*1007*125, "the air gets no hotter than the charge")
		last = s.Temperature
	}
	s, err = c.At(in, 0, 1.2)
	require.NoError(t, err)
	assert.Equal(t, 420.0, s.Temperature)
	assert.Zero(t, s.Heat)
	in.Effectiveness = 0
	s, err = c.At(in, 20, 1.2)
	require.NoError(t, err)
	assert.Equal(t, 420.0, s.Temperature)

	in = Charge{Capacity: 1200, Temperature: 420, Effectiveness: 0.95, Coolant: 295} // 1140 W/K from air of 1160 W/K
	_, err = c.At(in, 20, 1.2)
	assert.ErrorIs(t, err, ErrTooLittleAir)
	for _, change := range []func(c *ChargeCooler){
		func(c *ChargeCooler) { c.FaceArea = 0 }, func(c *ChargeCooler) { c.Velocity = math.NaN() }, func(c *ChargeCooler) { c.AirShare = 0 },
		func(c *ChargeCooler) { c.AirExponent = 1 }, func(c *ChargeCooler) { c.AirDensity = 0 }, func(c *ChargeCooler) { c.Draught.Ram = 2 },
	} {
		bad := charger()
		change(&bad)
		assert.Error(t, bad.Validate())
	}
}

// TestOilCooler: Q = G (T − Ta), by hand from the stated point.
func TestOilCooler(t *testing.T) {
	o := OilCooler{Capacity: 0.3 * 1.0 * 2000, Draught: Draught{Ram: 0.2}, Core: core(t, Statement{
		FaceArea: 0.06, Velocities: []float64{5}, Heats: []float64{150}, AirDensity: 1.2, LiquidCapacity: 600, AirShare: 0.5, AirExponent: 0.5,
	})}
	assert.InDelta(t, 293+12e3/150, o.Steady(12e3, 25, 293, 1.2), 1e-6)
	assert.Greater(t, o.Steady(12e3, 20, 293, 1.2), 293+12e3/150.0)
	assert.True(t, math.IsInf(o.Steady(12e3, 0, 293, 1.2), 1))
	assert.Equal(t, 293.0, o.Steady(0, 0, 293, 1.2))
}

func BenchmarkSteady(b *testing.B) {
	c, on := circuit(b), condition()
	on.Heat = 30e3 // in the thermostat's band
	b.ReportAllocs()
	for b.Loop() {
		if _, err := c.Steady(on); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLasts(b *testing.B) {
	c, on := circuit(b), condition()
	on.RoadSpeed = 5
	b.ReportAllocs()
	for b.Loop() {
		if _, err := c.Lasts(on, 340, 385); err != nil {
			b.Fatal(err)
		}
	}
}
