package exhaust

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCrossflowNusselt(t *testing.T) {
	// Incropera and DeWitt, example 7.4: air at 10 m/s over 12.7 mm, ν = 20.92e-6 m²/s, Pr 0.70: Nu 40.6 as printed.
	assert.InDelta(t, 40.6, CrossflowNusselt(10*0.0127/20.92e-6, 0.70), 0.05)
	// Çengel, Heat Transfer, example 7-5: 8 m/s over 0.1 m, ν = 1.896e-5 m²/s, Pr 0.7202: Nu 124 as printed. Both from memory.
	assert.InDelta(t, 124, CrossflowNusselt(8*0.1/1.896e-5, 0.7202), 0.5)
}

func runner() Stream {
	return Stream{
		MassFlow: 0.05, Pressure: 200e3, Temperature: 1200, WallTemperature: 900, Bore: 0.040,
		Cp: 1250, Gamma: 1.30, GasConstant: 288, Phi: 1.2,
	}
}

func read(t testing.TB, p Probe, s Stream) Reading {
	t.Helper()
	r, err := p.Read(s)
	require.NoError(t, err)
	return r
}

func TestReadingByHand(t *testing.T) {
	// V = 4 · 0.05 · 288 · 1200/(π · 0.0016 · 2e5) = 68.755 m/s; recovery lost 0.32 · 4727.2/2500 = 0.605 K, Te = 1199.395 K.
	// The balance solved on paper and in another language has Tp = 1135.05 K. There the film is at 1167.22 K:
	// μ = 3.3e-7 · 140.28/1.0324 = 4.4841e-5, ρ = 2e5/(288 · 1167.22) = 0.59496, Re = 0.59496 · 68.755 · 0.003/4.4841e-5 = 2736.7,
	// Pr = 0.707, Nu = 0.3 + 0.62 · 52.314 · 0.89085/1.13917 · 1.04391 = 26.778, k = μ cp/Pr = 0.079280 W/(m K),
	// h = 26.778 · 0.079280/0.003 = 707.66 W/(m² K). Gas gives 707.66 · 64.342 = 45.53 kW/m²; the sheath radiates
	// 4.5363e-8 · (1135.05⁴ − 900⁴) = 4.5363e-8 · (1.65983e12 − 0.65610e12) = 45.53 kW/m².
	p := DefaultProbe()
	p.Immersion = 0
	r := read(t, p, runner())
	assert.InDelta(t, 68.755, r.Speed, 0.001)
	assert.InDelta(t, 0.605, r.Recovery, 0.001)
	assert.InDelta(t, 707.66, r.Transfer, 0.02)
	assert.InDelta(t, 1135.05, r.Temperature, 0.01)
	assert.Zero(t, r.Conduction)
}

func TestReadingBalances(t *testing.T) {
	for _, wall := range []float64{400, 700, 900, 1150, 1300} {
		for _, m := range []float64{1e-3, 0.01, 0.1} {
			s := runner()
			s.WallTemperature, s.MassFlow = wall, m
			p := DefaultProbe()
			r := read(t, p, s)
			tp := s.Temperature - r.Recovery - r.Radiation
			loss := 0.8 * 5.670374419e-8 * (math.Pow(tp, 4) - math.Pow(wall, 4))
			assert.InDelta(t, loss, r.Transfer*r.Radiation, 1e-5, "found to 1e-9 K, times h")
			assert.InDelta(t, r.Temperature, s.Temperature-r.Recovery-r.Radiation-r.Conduction, 1e-9)
			// Between gas and wall, whichever is hotter.
			assert.GreaterOrEqual(t, r.Temperature, math.Min(wall, s.Temperature-r.Recovery))
			assert.LessOrEqual(t, r.Temperature, math.Max(wall, s.Temperature-r.Recovery))
		}
	}
}

func TestReadingLimits(t *testing.T) {
	p := DefaultProbe()
	p.Immersion, p.Recovery, p.Emissivity = 0, 1, 0
	assert.Equal(t, 1200.0, read(t, p, runner()).Temperature) // nothing lost

	p = DefaultProbe()
	p.Recovery = 1
	s := runner()
	s.WallTemperature = s.Temperature // the wall as hot as the gas
	assert.InDelta(t, 1200, read(t, p, s).Temperature, 1e-9)

	p = DefaultProbe()
	deep := p
	deep.Immersion = 1
	none := p
	none.Immersion = 0
	assert.InDelta(t, read(t, none, runner()).Temperature, read(t, deep, runner()).Temperature, 1e-9)
	shallow := p
	shallow.Immersion = 1e-6
	assert.InDelta(t, 900, read(t, shallow, runner()).Temperature, 1e-3) // hardly in the gas: it reads the wall

	// A thin probe reads higher, a colder wall or a slower gas lower.
	base := read(t, p, runner()).Temperature
	thin := p
	thin.Diameter = 0.0015
	assert.Greater(t, read(t, thin, runner()).Temperature, base)
	s = runner()
	s.WallTemperature = 700
	assert.Less(t, read(t, p, s).Temperature, base)
	s = runner()
	s.MassFlow = 0.01
	assert.Less(t, read(t, p, s).Temperature, base)
}

func TestFinExample(t *testing.T) {
	// A fin with a dry tip keeps 1/cosh(m ℓ) of its foot's difference at the tip (Incropera and DeWitt, table 3.4, case B). Without
	// radiation m² = 4 h/(k d); at m ℓ = 2, that is 1/cosh 2 = 0.26580.
	p := DefaultProbe()
	p.Emissivity, p.Recovery = 0, 1
	s := runner()
	h := read(t, p, s).Transfer
	p.Immersion = 2 / math.Sqrt(4*h/(p.Conductivity*p.Diameter))
	assert.InDelta(t, 0.26580*300, read(t, p, s).Conduction, 0.002)
}

func TestProbeRefusalsAndNotes(t *testing.T) {
	for _, c := range []struct {
		change func(*Probe, *Stream)
		want   string
	}{
		{func(p *Probe, _ *Stream) { p.Diameter = 0 }, "diameter of the probe is 0 m; want 0.0001 m to 0.02 m"},
		{func(p *Probe, _ *Stream) { p.Emissivity = 2 }, "emissivity of the probe is 2; want 0 to 1"},
		{func(p *Probe, _ *Stream) { p.Recovery = math.NaN() }, "recovery of the probe is NaN; want 0 to 1"},
		{func(p *Probe, _ *Stream) { p.Immersion = -1 }, "immersion of the probe is -1 m; want 0 to 1 m"},
		{func(p *Probe, _ *Stream) { p.Conductivity = 0 }, "conductivity of the probe is 0 W/(m K); want more than 0 and at most 500"},
		{func(_ *Probe, s *Stream) { s.MassFlow = 0 }, "flow past the probe is 0 kg/s; want more than 1e-9 and less than 100 kg/s"},
		{func(_ *Probe, s *Stream) { s.Pressure = math.NaN() }, "pressure at the probe is NaN Pa; want 1e4 Pa to 2e6 Pa"},
		{func(_ *Probe, s *Stream) { s.Temperature = 0 }, "gas temperature at the probe is 0 K; want 200 K to 4000 K"},
		{func(_ *Probe, s *Stream) { s.WallTemperature = 0 }, "wall temperature at the probe is 0 K; want 150 K to 4000 K"},
		{func(_ *Probe, s *Stream) { s.Bore = 0 }, "bore at the probe is 0 m; want 0.005 m to 0.5 m"},
		{func(_ *Probe, s *Stream) { s.Cp = 1 }, "heat capacity of the exhaust is 1 J/(kg K); want 500 to 5000"},
		{func(_ *Probe, s *Stream) { s.Gamma = 1.5 }, "ratio of specific heats of the exhaust is 1.5; want 1.2 to 1.4"},
		{func(_ *Probe, s *Stream) { s.GasConstant = 8.3 }, "gas constant of the exhaust is 8.3 J/(kg K); want 200 to 500"},
		{func(_ *Probe, s *Stream) { s.Phi = 5 }, "equivalence ratio of the exhaust is 5; want 0 to 4"},
		{func(_ *Probe, s *Stream) { s.MassFlow = 0.6 }, "gas past the probe would go at 825 m/s, more than sound"},
	} {
		p, s := DefaultProbe(), runner()
		c.change(&p, &s)
		_, err := p.Read(s)
		assert.EqualError(t, err, c.want)
	}
	for _, c := range []struct {
		change func(*Stream)
		want   Note
	}{
		{func(*Stream) {}, 0},
		{func(s *Stream) { s.MassFlow = 0.3 }, NoteSpeed},
		{func(s *Stream) { s.MassFlow = 2e-6 }, NoteSlow},
		{func(s *Stream) { s.Temperature, s.WallTemperature = 450, 400 }, NoteTemperature},
	} {
		s := runner()
		c.change(&s)
		assert.Equal(t, c.want, read(t, DefaultProbe(), s).Notes)
	}
}

func BenchmarkRead(b *testing.B) {
	p, s := DefaultProbe(), runner()
	b.ReportAllocs()
	sum := 0.0
	for b.Loop() {
		r, _ := p.Read(s)
		sum += r.Temperature
	}
	_ = sum
}
