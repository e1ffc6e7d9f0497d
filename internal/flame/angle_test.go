package flame

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func factor(t testing.TB, stated, here Flame) float64 {
	t.Helper()
	b, err := NewBase(stated)
	require.NoError(t, err)
	f, _, err := b.AngleFactor(here)
	require.NoError(t, err)
	return f
}

func TestDoubledPressure(t *testing.T) {
	// Closed form: at twice the pressure and the same temperature ν ~ 1/p gives 2^(−1/3) = 0.794, and S ~ p^β 2^(−2β/3), 1.08 to
	// 1.11 for the printed β near φ = 1 from −0.17 to −0.217. The product by hand; residual gas does not matter.
	for s, want := range map[Substance]float64{Petrol: 0.877416, Ethanol: 0.858565, Methanol: 0.870551, Propane: 0.870551} {
		m := at(t, pure(t, s), 1)
		f := factor(t, Flame{m, State{15e5, 750, 0.08}}, Flame{m, State{30e5, 750, 0.08}})
		assert.InDelta(t, want, f, 1e-6, "substance %v", s)
	}
	// And methane's, whose flame slows more: 2^(−1/3 + 1/3) = 1.
	m := at(t, pure(t, Methane), 1)
	assert.InDelta(t, 1, factor(t, Flame{m, State{15e5, 750, 0}}, Flame{m, State{30e5, 750, 0}}), 1e-12)
}

func TestHotter(t *testing.T) {
	// Viscosity of air at 600 K and 800 K: 30.58e-6 and 36.98e-6 Pa s in Incropera and DeWitt, Fundamentals of Heat and Mass
	// Transfer, table A.4. Propane's S ~ T^1.77. Tolerance: the table's viscosity differs from Sutherland's by up to 1 %,
	// a third of that in the angle.
	m := at(t, pure(t, Propane), 1)
	want := math.Cbrt(36.98/30.58*800/600) * math.Pow(800.0/600, -1.77*2/3)
	assert.InEpsilon(t, want, factor(t, Flame{m, State{20e5, 600, 0}}, Flame{m, State{20e5, 800, 0}}), 0.004)
}

func TestResidual(t *testing.T) {
	// From the two printed factors at 5 % and 15 % by mole, 0.794849 and 0.521967 (Rhodes and Keck), 0.885 and 0.655 (Gülder).
	for _, c := range []struct {
		s          Substance
		less, more float64
	}{{Petrol, 0.794849, 0.521967}, {Ethanol, 0.885, 0.655}} {
		m := at(t, pure(t, c.s), 1)
		f := factor(t, Flame{m, State{20e5, 750, 0.05}}, Flame{m, State{20e5, 750, 0.15}})
		assert.InEpsilon(t, math.Pow(c.less/c.more, 2.0/3), f, 2e-6, "substance %v", c.s)
	}
}

// Angles over the whole plane of states: longer with more residual, shorter with temperature and pressure, and no step where
// the data on residual gas end.
func TestTrends(t *testing.T) {
	for _, parts := range [][]Part{{{Petrol, 1}}, {{Ethanol, 1}}, {{Methanol, 1}}, {{Petrol, 0.4}, {Ethanol, 0.6}}} {
		f, err := Blend(parts...)
		require.NoError(t, err)
		for _, phi := range []float64{0.8, 1, 1.2, 1.3} {
			m := at(t, f, phi)
			stated := Flame{m, State{20e5, 750, 0.05}}
			base, err := NewBase(stated)
			require.NoError(t, err)
			for _, p := range []float64{3e5, 10e5, 60e5} {
				for _, T := range []float64{500.0, 700, 900} {
					last := 0.0
					for x := 0.0; x < 0.999; x += 0.001 {
						here := Flame{m, State{p, T, x}}
						k, flags, err := base.AngleFactor(here)
						require.NoError(t, err)
						require.Greater(t, k, last)
						if x > 0.01 {
							require.Less(t, k, 1.015*last, "x %v", x)
						}
						assert.Equal(t, x > 0.3, flags&ResidualOutside != 0)
						last = k
					}
					here := Flame{m, State{p, T, 0.1}}
					hot, dense := here, here
					hot.State.Temperature += 10
					dense.State.Pressure *= 1.1
					assert.Less(t, factor(t, stated, hot), factor(t, stated, here))
					assert.Less(t, factor(t, stated, dense), factor(t, stated, here))
				}
			}
		}
	}
}

// A ratio: none for the stated flame itself, there and back is 1, and two steps make one, with two mixtures too.
func TestRatio(t *testing.T) {
	f, err := Blend(Part{Petrol, 0.7}, Part{Methanol, 0.3})
	require.NoError(t, err)
	a := Flame{at(t, f, 1/0.9), State{35e5, 800, 0.05}}
	b := Flame{at(t, f, 1), State{14e5, 840, 0.13}}
	c := Flame{at(t, f, 0.9), State{50e5, 780, 0.03}}
	assert.Equal(t, 1.0, factor(t, a, a))
	assert.InDelta(t, 1, factor(t, a, b)*factor(t, b, a), 1e-12)
	assert.InEpsilon(t, factor(t, a, c), factor(t, a, b)*factor(t, b, c), 1e-12)

	// Leaner from lambda 0.9, same state: slower. Petrol at 298 K and 1 atm by the printed table, φ 1.1 and 0.9.
	petrol := pure(t, Petrol)
	rich, lean := Flame{at(t, petrol, 1.1), State{atm, 298, 0}}, Flame{at(t, petrol, 0.9), State{atm, 298, 0}}
	assert.InEpsilon(t, math.Pow(29.8357/25.2241, 2.0/3), factor(t, rich, lean), 1e-5)
}

// Plausibility, common practice, no source: part load needs 2° to 3° more spark for each 10 kPa less in the manifold, which
// from 100 kPa to 50 kPa means that the burn angle from 0 to 90 % grows by about 20 % to 45 %. Residual gas doubles from 6 % to
// 12 % by mole; fresh charge of 310 K mixed with it (1100 K, and 920 K after it has expanded to the lower pressure) is 357 K
// and 383 K; both are compressed 35 times, by an exponent of 1.33, to half-way through the burn.
func TestPartLoad(t *testing.T) {
	m := at(t, pure(t, Petrol), 1)
	rise := math.Pow(35, 0.33/1.33)
	full, part := Flame{m, State{35e5, 357 * rise, 0.06}}, Flame{m, State{17.5e5, 383 * rise, 0.12}}
	assert.InDelta(t, 1.325, factor(t, full, part), 0.125)
}

func TestResidualMoleFraction(t *testing.T) {
	// Molar masses 30 and 28 g/mol, a mole of burned gas in ten: y = 28/(28 + 9 · 30), and R the mean by mass.
	assert.InDelta(t, 0.1, ResidualMoleFraction(28.0/(28+9*30), 8314.0/28, 8314.0*10/(28+9*30)), 1e-12)
}

func TestErrorsAndFlags(t *testing.T) {
	m := at(t, pure(t, Petrol), 1)
	good := Flame{m, State{20e5, 750, 0.05}}
	base, err := NewBase(good)
	require.NoError(t, err)
	_, _, err = Base{}.AngleFactor(good)
	assert.EqualError(t, err, "the stated flame is missing")
	for _, c := range []struct {
		here Flame
		want string
	}{
		{Flame{m, State{0, 750, 0}}, "pressure of the unburned gas is 0 Pa; want more than 0"},
		{Flame{m, State{math.NaN(), 750, 0}}, "pressure of the unburned gas is NaN Pa; want more than 0"},
		{Flame{m, State{1e5, -1, 0}}, "temperature of the unburned gas is -1 K; want more than 0"},
		{Flame{m, State{1e5, math.Inf(1), 0}}, "temperature of the unburned gas is +Inf K; want more than 0"},
		{Flame{m, State{1e5, 750, 1}}, "residual mole fraction is 1; want 0 to less than 1"},
		{Flame{m, State{1e5, 750, math.NaN()}}, "residual mole fraction is NaN; want 0 to less than 1"},
		{Flame{State: State{1e5, 750, 0}}, "the mixture of the flame is incomplete"},
		{Flame{m, State{5e-324, 1e308, 0}}, "the angle of combustion has no finite factor at 5e-324 Pa and 1e+308 K"},
	} {
		_, _, err := base.AngleFactor(c.here)
		assert.EqualError(t, err, c.want)
		if c.here.State.Temperature < 1e308 || math.IsInf(c.here.State.Temperature, 1) {
			_, err = NewBase(c.here)
			assert.EqualError(t, err, "stated: "+c.want)
			_, _, err = c.here.Velocity()
			assert.EqualError(t, err, c.want)
		}
	}

	rich, err := pure(t, Petrol).At(1.7)
	require.NoError(t, err)
	for _, c := range []struct {
		stated, here Flame
		want         Flags
	}{
		{good, good, 0},
		{good, Flame{m, State{150e5, 750, 0.3}}, 0}, // no flag for an engine's pressure
		{good, Flame{m, State{20e5, 1150, 0.05}}, TemperatureOutside},
		{Flame{m, State{20e5, 240, 0.05}}, good, TemperatureOutside},
		{Flame{rich, good.State}, Flame{m, State{20e5, 750, 0.31}}, PhiOutside | ResidualOutside},
	} {
		base, err := NewBase(c.stated)
		require.NoError(t, err)
		_, flags, err := base.AngleFactor(c.here)
		require.NoError(t, err)
		assert.Equal(t, c.want, flags)
	}
}

func BenchmarkAngleFactor(b *testing.B) {
	for _, c := range []struct {
		name  string
		parts []Part
	}{{"petrol", []Part{{Petrol, 1}}}, {"ethanol", []Part{{Ethanol, 1}}}, {"blend", []Part{{Petrol, 0.3}, {Ethanol, 0.7}}}} {
		b.Run(c.name, func(b *testing.B) {
			f, err := Blend(c.parts...)
			require.NoError(b, err)
			stated, here := Flame{at(b, f, 1.1), State{35e5, 800, 0.05}}, Flame{at(b, f, 1), State{14e5, 840, 0.13}}
			base, err := NewBase(stated)
			require.NoError(b, err)
			b.ReportAllocs()
			for b.Loop() {
				if _, _, err := base.AngleFactor(here); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkAt(b *testing.B) {
	f, err := Blend(Part{Petrol, 0.3}, Part{Ethanol, 0.7})
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := f.At(1.1); err != nil {
			b.Fatal(err)
		}
	}
}
