package gas

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/refdata"
)

// within compares with a relative tolerance; NaN fails.
func within(t *testing.T, want, got, rel float64, msg ...any) {
	t.Helper()
	assert.InDelta(t, want, got, rel*max(want, -want), msg...)
}

type printedFit struct {
	molarMass, formation float64
	low, high            Fit
}

func readFits(t testing.TB) map[string]printedFit {
	out := map[string]printedFit{}
	for _, r := range refdata.Read(t, "nasa9_coefficients.csv") {
		s := out[r["species"]]
		s.molarMass, s.formation = r.F(t, "M_g_mol")/1000, r.F(t, "hf298_J_mol")
		var f Fit
		for i, c := range []string{"a1", "a2", "a3", "a4", "a5", "a6", "a7", "b1", "b2"} {
			f[i] = r.F(t, c)
		}
		if r.F(t, "Tmax_K") == BreakTemperature {
			s.low = f
		} else {
			s.high = f
		}
		out[r["species"]] = s
	}
	return out
}

func one(t testing.TB, s Species) Mixture {
	t.Helper()
	var c Composition
	c[s] = 1
	m, err := NewMixture(c)
	require.NoError(t, err)
	return m
}

func TestCoefficientsAreThoseOfTheTable(t *testing.T) {
	fits := readFits(t)
	for s := Species(0); s < speciesCount; s++ {
		want, ok := fits[s.String()]
		require.True(t, ok, "%v", s)
		got := speciesTable[s]
		assert.Equal(t, want.low, got.low, "%v", s)
		assert.Equal(t, want.high, got.high, "%v", s)
		within(t, want.molarMass, s.MolarMass(), 1e-15, "%v", s)
		m := one(t, s)
		// The fit meets the heat of formation to its printed digits: 0.01 J/mol in 400 000.
		assert.InDelta(t, want.formation, m.Enthalpy(ReferenceTemperature)*want.molarMass, 1e-2, "%v", s)
	}
	assert.Equal(t, "unknown species", Species(99).String())
	assert.Zero(t, Species(-1).MolarMass())
}

func TestThermoProperties(t *testing.T) {
	fits := readFits(t)
	seen := map[string]bool{}
	for _, r := range refdata.Read(t, "thermo_properties.csv") {
		name, T, M := r["species"], r.F(t, "T_K"), r.F(t, "M_g_mol")/1000
		seen[name] = true
		m, err := NewSpecies(M, fits[name].low, fits[name].high)
		require.NoError(t, err)
		for s := Species(0); s < speciesCount; s++ {
			if s.String() == name {
				m = one(t, s) // the embedded coefficients rather than the table's
			}
		}
		within(t, r.F(t, "cp_J_molK"), m.Cp(T)*M, 1e-9, "%s %v", name, T)
		within(t, r.F(t, "cp_J_kgK"), m.Cp(T), 1e-9, "%s %v", name, T)
		within(t, r.F(t, "gamma"), m.Gamma(T), 1e-9, "%s %v", name, T)
		within(t, r.F(t, "s_J_molK"), m.Entropy(T)*M, 1e-9, "%s %v", name, T)
		// Enthalpies cross zero, so the tolerance is 1e-9 of R T, the size of the terms that make them up.
		tol := 1e-9 * MolarGasConstant * T
		assert.InDelta(t, r.F(t, "h_J_mol"), m.Enthalpy(T)*M, max(tol, 1e-9*math.Abs(r.F(t, "h_J_mol"))), "%s %v", name, T)
		rise := (m.Enthalpy(T) - m.Enthalpy(ReferenceTemperature)) * M
		assert.InDelta(t, r.F(t, "h_minus_h298_J_mol"), rise, max(tol, 1e-9*rise), "%s %v", name, T)
		cp, h := m.CpEnthalpy(T)
		within(t, m.Cp(T), cp, 1e-14)
		assert.InDelta(t, m.Enthalpy(T), h, 1e-12*math.Abs(h)+1e-6)
		within(t, m.Enthalpy(T)-m.GasConstant()*T, m.InternalEnergy(T), 1e-14)
		within(t, m.Cp(T)-m.GasConstant(), m.Cv(T), 1e-14)
	}
	assert.Len(t, seen, 8)
}

// TestAnotherFit compares with the seven-term fits of GRI-Mech 3.0, made by other people from other tables.
func TestAnotherFit(t *testing.T) {
	for _, r := range refdata.Read(t, "nasa7_coefficients.csv") {
		var m Mixture
		for s := Species(0); s < speciesCount; s++ {
			if s.String() == r["species"] {
				m = one(t, s)
			}
		}
		require.NotZero(t, m.GasConstant(), r["species"])
		R := 8.314462618 / r.F(t, "M_g_mol") * 1000
		a := make([]float64, 8)
		for i := 1; i <= 7; i++ {
			a[i] = r.F(t, "a"+string(rune('0'+i)))
		}
		cp := func(T float64) float64 { return R * (a[1] + T*(a[2]+T*(a[3]+T*(a[4]+T*a[5])))) }
		h := func(T float64) float64 {
			return R * (a[6] + T*(a[1]+T*(a[2]/2+T*(a[3]/3+T*(a[4]/4+T*a[5]/5)))))
		}
		for T := max(r.F(t, "Tmin_K"), 300.); T <= min(r.F(t, "Tmax_K"), 3500); T += 50 {
			within(t, cp(T), m.Cp(T), 0.005, "%s cp at %v K", r["species"], T)
			from := r.F(t, "Tmin_K")
			if from < 300 {
				from = ReferenceTemperature
			}
			rise := h(T) - h(from)
			// A rise of a few kelvin is made of cp alone, hence the floor of 0.5 % of one kelvin.
			assert.InDelta(t, rise, m.Enthalpy(T)-m.Enthalpy(from), 0.005*(math.Abs(rise)+cp(T)), "%s h at %v K", r["species"], T)
		}
	}
}

// TestDryAirIsThePublishedMixture compares the sum of the species with the fit that the same source gives for air.
func TestDryAirIsThePublishedMixture(t *testing.T) {
	f := readFits(t)["Air"]
	published, err := NewSpecies(f.molarMass, f.low, f.high)
	require.NoError(t, err)
	own, err := NewMixture(DryAir())
	require.NoError(t, err)
	within(t, f.molarMass, own.MolarMass(), 2e-9) // printed to nine digits
	for T := 300.; T <= 3000; T += 100 {
		// The fit of air is a separate one; it repeats the sum to a few parts in 1e5.
		within(t, published.Cp(T), own.Cp(T), 5e-5, "%v K", T)
		within(t, published.Gamma(T), own.Gamma(T), 5e-5, "%v K", T)
		assert.InDelta(t, published.Enthalpy(T), own.Enthalpy(T), 5e-5*1005*T, "%v K", T)
	}
}

func TestMixing(t *testing.T) {
	a, err := NewMixture(DryAir())
	require.NoError(t, err)
	b := one(t, H2O)
	const x = 0.3
	mixed := Mix(a, b, x)
	combined, err := Combine(Share{a, 7}, Share{b, 3})
	require.NoError(t, err)
	// The same mixture by moles.
	c := DryAir()
	air := DryAir()
	c = c.Scaled(0.7 / air.Mass())
	c[H2O] += 0.3 / H2O.MolarMass()
	byMoles, err := NewMixture(c)
	require.NoError(t, err)
	for _, T := range []float64{250, 298.15, 700, 1000, 1000.5, 2500} {
		want := 0.7*a.Enthalpy(T) + 0.3*b.Enthalpy(T)
		for _, m := range []Mixture{mixed, combined, byMoles} {
			within(t, want, m.Enthalpy(T), 1e-12)
			within(t, 0.7*a.Cp(T)+0.3*b.Cp(T), m.Cp(T), 1e-12)
			within(t, 0.7*a.GasConstant()+0.3*b.GasConstant(), m.GasConstant(), 1e-12)
		}
	}
	assert.Equal(t, a, Mix(a, b, 0))
	assert.Equal(t, b, Mix(a, b, 1))

	moist := MoistAir(0.02)
	within(t, 1, moist.Moles(), 1e-12)
	within(t, 0.98*0.0289651159+0.02*0.01801528, moist.MolarMass(), 2e-9)
}

func TestEnthalpyShift(t *testing.T) {
	m := one(t, N2)
	up := m.WithEnthalpy(400, 1e6)
	within(t, 1e6, up.Enthalpy(400), 1e-12)
	assert.InDelta(t, m.Enthalpy(1500)-m.Enthalpy(400), up.Enthalpy(1500)-1e6, 1e-6)
	within(t, m.Cp(1500), up.Cp(1500), 0)
	within(t, 250, func() float64 { r := m.WithGasConstant(250); return r.GasConstant() }(), 0)
}

func TestTemperatureOf(t *testing.T) {
	air, err := NewMixture(DryAir())
	require.NoError(t, err)
	for _, m := range []Mixture{air, one(t, H2O), one(t, CO2), one(t, H2)} {
		for _, T := range []float64{200, 201, 298.15, 700, 999.9999999, 1000, 1000.0000001, 1000.1, 2500, 5999, 6000} {
			for _, guess := range []float64{1, 200, 300, 999, 1001, 3000, 6000, 1e9, math.NaN()} {
				got, err := m.TemperatureOf(m.Enthalpy(T), guess)
				require.NoError(t, err, "%v K from %v", T, guess)
				tol := 1e-9
				if math.Abs(T-BreakTemperature) < 1e-3 {
					tol = 1e-5 // where the two ranges join there is a gap of this size
				}
				assert.InDelta(t, T, got, tol, "%v K from %v", T, guess)
			}
		}
		// In the gap between the ranges there is no exact answer.
		low, high := m.Enthalpy(1000), m.Enthalpy(math.Nextafter(1000, 2000))
		got, err := m.TemperatureOf((low+high)/2, 400)
		require.NoError(t, err)
		assert.InDelta(t, 1000, got, 1e-5)
		for _, h := range []float64{m.Enthalpy(200) - 1000, m.Enthalpy(6000) + 1000} {
			_, err := m.TemperatureOf(h, 300)
			var outside *RangeError
			assert.True(t, errors.As(err, &outside), "%v", err)
		}
		_, err = m.TemperatureOf(math.NaN(), 300)
		var unknown *EnthalpyError
		assert.True(t, errors.As(err, &unknown), "%v", err)
	}
}

func TestRefusedMixtures(t *testing.T) {
	for _, c := range []Composition{{}, {N2: -1, O2: 2}, {N2: math.NaN()}, {N2: math.Inf(1)}, MoistAir(1.5), MoistAir(-0.1)} {
		_, err := NewMixture(c)
		assert.Error(t, err, "%v", c)
		_, err = NewMixtureOfMass(c, 1)
		assert.Error(t, err, "%v", c)
	}
	for _, mass := range []float64{0.028, 0.030, 0, -1, math.NaN()} {
		_, err := NewMixtureOfMass(DryAir(), mass)
		assert.Error(t, err, "%v", mass)
	}
	m, err := NewMixtureOfMass(DryAir(), 0.0289651159*(1+5e-5))
	require.NoError(t, err)
	within(t, 287.0525/(1+5e-5), m.GasConstant(), 1e-6)
	for _, molarMass := range []float64{0, -0.1, math.NaN(), math.Inf(1)} {
		_, err := NewSpecies(molarMass, Fit{}, Fit{})
		assert.Error(t, err)
	}
	_, err = NewSpecies(0.028, Fit{math.NaN()}, Fit{})
	assert.EqualError(t, err, "coefficient 1 of the fit is not finite")
	for _, shares := range [][]Share{nil, {{m, 0}}, {{m, -1}, {m, 2}}, {{m, math.NaN()}}} {
		_, err := Combine(shares...)
		assert.Error(t, err)
	}
}

func TestHotPathsDoNotAllocate(t *testing.T) {
	m, err := NewMixture(DryAir())
	require.NoError(t, err)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		x := Mix(m, m, 0.5)
		cp, h := x.CpEnthalpy(700)
		T, _ := x.TemperatureOf(h, 300)
		r, _ := SubsonicRatio(FlowFunction(0.8, 1.4), 1.4)
		sink = cp + T + r
	}))
}

var sink float64

func BenchmarkCpEnthalpy(b *testing.B) {
	m := one(b, N2)
	b.ReportAllocs()
	T := 600.0
	for b.Loop() {
		cp, h := m.CpEnthalpy(T)
		sink = cp + h
	}
}

func BenchmarkTemperatureOf(b *testing.B) {
	m := one(b, N2)
	h := m.Enthalpy(1234)
	b.ReportAllocs()
	for b.Loop() {
		sink, _ = m.TemperatureOf(h, 1200)
	}
}

func BenchmarkMix(b *testing.B) {
	m, n := one(b, N2), one(b, H2O)
	b.ReportAllocs()
	for b.Loop() {
		x := Mix(m, n, 0.3)
		sink = x.r
	}
}
