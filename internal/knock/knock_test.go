package knock

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/fuel"
	"bellmouth/internal/geometry"
	"bellmouth/internal/refdata"
)

// Douaud and Eyzat, SAE 780080, as printed by Heywood (1988), ch. 9. The file's figures have twelve digits.
func TestPetrolDelay(t *testing.T) {
	for _, row := range refdata.Read(t, "knock_delay.csv") {
		d := petrol(t, row.F(t, "octane_number"))
		assert.InEpsilon(t, row.F(t, "tau_ms")*1e-3, 1/d.Rate(math.Log(row.F(t, "p_Pa")), row.F(t, "T_K")), 1e-10)
	}
}

// Petrol of 95 and 100, and ethanol in the shock tube, from ignition_delay_checks.csv: six digits.
func TestDelaysAgainstTable(t *testing.T) {
	const tol = 1e-5
	p95, p100, eth := petrol(t, 95), petrol(t, 100), shockTube(t, 1)
	for _, row := range refdata.Read(t, "ignition_delay_checks.csv") {
		p, T := row.F(t, "p[bar]")*1e5, row.F(t, "T[K]")
		for _, c := range []struct {
			column string
			d      Delay
		}{{"DE_ON95[ms]", p95}, {"DE_ON100[ms]", p100}, {"ethanol_Cancino_extrap[ms]", eth}} {
			assert.InEpsilon(t, row.F(t, c.column)*1e-3, 1/c.d.Rate(math.Log(p), T), tol, "%s at %v Pa, %v K", c.column, p, T)
		}
	}
}

// Kalghatgi's K from octane_index_K.csv, held at −0.75 and 1, and the octane index of a fuel of RON 98, MON 87 with the K
// printed.
func TestOctaneIndex(t *testing.T) {
	for _, row := range refdata.Read(t, "octane_index_K.csv") {
		want := row.F(t, "K[-]")
		k, held, err := K(row.F(t, "Tcomp15[K]"))
		require.NoError(t, err)
		assert.InDelta(t, min(max(want, -0.75), 1), k, 1e-9)
		assert.Equal(t, want < -0.75 || want > 1, held)
		assert.InDelta(t, row.F(t, "OI_for_RON98_MON87[-]"), OctaneIndex(98, 87, want), 1e-9)
	}
	// The two lines meet within 0.01: −0.060 and −0.055.
	below, _, _ := K(825)
	above, _, _ := K(825 + 1e-9)
	assert.InDelta(t, below, above, 0.006)
}

// New uses the octane index: petrol of RON 98, MON 87 at the printed K, against Douaud and Eyzat at the printed index.
func TestDelayByOctaneIndex(t *testing.T) {
	for _, row := range refdata.Read(t, "octane_index_K.csv") {
		k := row.F(t, "K[-]")
		if k < -0.75 || k > 1 {
			continue
		}
		d := delay(t, Charge{RON: 98, MON: 87, K: k, Lambda: PeakLambda})
		oi := row.F(t, "OI_for_RON98_MON87[-]")
		assert.InDelta(t, oi, d.Octane(), 1e-9)
		want := 17.68e-3 * math.Pow(oi/100, 3.402) * math.Pow(40, -1.7) * math.Exp(3800./800)
		assert.InEpsilon(t, want, 1/d.Rate(math.Log(40*101325), 800), 1e-10)
	}
}

// A stated number is used as it is.
func TestStatedOctane(t *testing.T) {
	plain := petrol(t, 104)
	d, notes, err := New(Charge{Octane: 104, RON: 98, MON: 87, K: 0.5, Ethanol: 0.3, Methanol: 0.2, Lambda: PeakLambda})
	require.NoError(t, err)
	assert.Equal(t, plain, d)
	assert.Equal(t, NoteOctane, notes)
}

// The isentrope of a gas of constant γ, by hand: from 1 bar, 300 K with γ 1.4 to 15 bar is 300 · 15^(2/7) = 650.35 K.
func TestT15(t *testing.T) {
	assert.InDelta(t, 650.35, T15(1e5, 300, 1.4), 0.01)
}

// The integral over the motored compressions of livengood_wu.csv (scipy quadrature to 1e-12), with the running Rate. Simpson's
// rule in steps of 0.1° leaves far less than the file's digits.
func TestLivengoodWu(t *testing.T) {
	for _, row := range refdata.Read(t, "livengood_wu.csv") {
		cyl := geometry.Cylinder{
			Bore: row.F(t, "bore_mm") * 1e-3, Stroke: row.F(t, "stroke_mm") * 1e-3, Rod: row.F(t, "rod_mm") * 1e-3,
			CompressionRatio: row.F(t, "compression_ratio"),
		}
		n, speed := row.F(t, "polytropic_n"), row.F(t, "rpm")*rpm
		from, to := row.F(t, "start_deg")*deg, row.F(t, "end_deg")*deg
		p0, T0, v0 := row.F(t, "p_start_Pa"), row.F(t, "T_start_K"), cyl.Volume(from)
		d := petrol(t, row.F(t, "octane_number"))
		rate := func(theta float64) float64 {
			r := v0 / cyl.Volume(theta)
			return d.Rate(math.Log(p0)+n*math.Log(r), T0*math.Pow(r, n-1))
		}
		const steps = 1400
		h := (to - from) / steps
		sum := 0.0
		for i := range steps {
			a := from + float64(i)*h
			sum += h / 6 * (rate(a) + 4*rate(a+h/2) + rate(a+h))
		}
		assert.InEpsilon(t, row.F(t, "knock_integral"), sum/speed, 1e-7)
	}
}

// He et al., Combustion and Flame 142 (2005) 266: τ ~ φ^−0.77. From λ 1 to 1.3 the factor is the square root of 1.3^0.77 = 1.2239.
func TestMixtureFactor(t *testing.T) {
	at := func(lambda float64) float64 { m, _ := MixtureFactor(lambda); return m }
	assert.InDelta(t, 1, at(0.95), 1e-12)
	assert.InDelta(t, math.Sqrt(1.2239), at(1.3)/at(1), 1e-4)
	assert.Less(t, at(0.8), at(0.95))
	for _, c := range []struct {
		lambda, as float64
		held       bool
	}{{0.5, 0.7, true}, {0.7, 0.7, false}, {1.3, 1.3, false}, {1.6, 1.3, true}} {
		m, held := MixtureFactor(c.lambda)
		assert.Equal(t, at(c.as), m)
		assert.Equal(t, c.held, held, "%v", c.lambda)
	}
	// New counts it: half of He's exponent between a lean and a stoichiometric charge, for petrol and for alcohol.
	for _, c := range []Charge{{Octane: 95}, {RON: EthanolRON, MON: EthanolMON, Ethanol: 1, EthanolMultiplier: 1}} {
		lean, even := c, c
		lean.Lambda, even.Lambda = 1.3, 1
		dLean, dEven := delay(t, lean), delay(t, even)
		assert.InDelta(t, math.Sqrt(1.2239), dEven.Rate(15, 800)/dLean.Rate(15, 800), 1e-4)
	}
	// In octane numbers it stays below the 2 per unit of air–fuel ratio (0.0685 of lambda for petrol) that SAE 960497 finds of
	// chemistry and temperatures together.
	perAFR := 95 * (math.Pow(at(0.95+1/14.6)/at(0.95), 1/3.402) - 1)
	assert.Positive(t, perAFR)
	assert.Less(t, perAFR, 2.0)
}

// Hoepke et al., SAE 2012-01-0707: 10 points of recirculated gas act like 3 % of octane number, so as octane 97.85 does for 95.
func TestDilution(t *testing.T) {
	for _, lambda := range []float64{0.8, 0.95, 1.1} {
		d := delay(t, Charge{Octane: 95, Lambda: lambda, Dilution: 0.10})
		same := delay(t, Charge{Octane: 97.85, Lambda: lambda})
		assert.InEpsilon(t, same.Rate(15, 800), d.Rate(15, 800), 1e-10)
	}
	plain := delay(t, Charge{Octane: 95, Lambda: 0.95, Dilution: 0})
	assert.InEpsilon(t, petrolRate(95, 40, 800), plain.Rate(math.Log(40*101325), 800), 1e-10)
	held, notes, err := New(Charge{Octane: 95, Lambda: 0.95, Dilution: 0.4})
	require.NoError(t, err)
	assert.Equal(t, NoteDilution, notes)
	assert.Equal(t, delay(t, Charge{Octane: 95, Lambda: 0.95, Dilution: 0.25}), held)
}

func petrolRate(on, atm, T float64) float64 {
	return 1e3 / 17.68 * math.Pow(on/100, -3.402) * math.Pow(atm, 1.7) * math.Exp(-3800/T)
}

// A mole of ethanol weighs 46.07 g at 789 kg/m³, a mole of petrol about 100 g at 745 kg/m³.
func moleShare(volume float64) float64 {
	e, p := volume*789/46.07, (1-volume)*745/100
	return e / (e + p)
}

// E0 to E100 without a step, and at both ends what the pure fuels have. With octane numbers blended by moles, ln τ is near the mean
// by moles (octane by moles and the mean of ln ON differ by less than 1 % between 92 and 108.6) but for the cooling in the
// research test, which goes with the share of the oxygen, 3x/(3x + 10.575 (1 − x)), and not with that of the moles.
func TestBlends(t *testing.T) {
	const p, T, ron, mon = 45e5, 780.0, 92.0, 83.5
	for _, multiplier := range []float64{0, 0.7} {
		charge := func(x float64) Charge {
			return Charge{
				RON: ron + x*(EthanolRON-ron), MON: mon + x*(EthanolMON-mon), K: -0.4,
				Ethanol: x, Lambda: PeakLambda, EthanolMultiplier: multiplier,
			}
		}
		logTau := func(x float64) float64 { d := delay(t, charge(x)); return -math.Log(d.Rate(math.Log(p), T)) }
		lo, hi := logTau(0), logTau(1)
		oi := OctaneIndex(ron, mon, -0.4)
		assert.InDelta(t, -math.Log(petrolRate(oi, p/101325, T)), lo, 1e-10)
		if multiplier > 0 {
			assert.InDelta(t, math.Log(0.7*math.Pow(10, -1.79)*1e-6*math.Exp(12400/T)*math.Pow(45, -0.83)), hi, 1e-10)
		}
		last := lo
		for i := 1; i <= 100; i++ {
			x := moleShare(float64(i) / 100)
			now := logTau(x)
			assert.Less(t, math.Abs(now-last), 0.12, "multiplier %v, %d %% by volume", multiplier, i)
			w := 3 * x / (3*x + 10.575*(1-x))
			cooling := 3.402 * (1 + 0.4) * 0.5 * 68 / 7 * (x - w) / 105
			assert.InDelta(t, (1-x)*lo+x*hi+cooling, now, 0.03, "multiplier %v, %d %% by volume", multiplier, i)
			last = now
		}
	}
}

// A cooled charge under boost, T15 about 700 K: E85 stands well above petrol of 98, and ethanol above that; without cooling counted
// twice, E85 is worth less than its RON and sensitivity alone would say. Facts of the trade without a source: E85 lets
// a turbocharged engine run like a petrol of over 105.
func TestGradesUnderBoost(t *testing.T) {
	k, held, err := K(710)
	require.NoError(t, err)
	assert.False(t, held)
	index := func(name string, volume float64) float64 {
		f, err := fuel.Named(name)
		require.NoError(t, err)
		d := delay(t, Charge{RON: f.RON, MON: f.MON, K: k, Ethanol: moleShare(volume), Lambda: PeakLambda})
		return d.Octane()
	}
	e10, p95, p98, e85, e100 := index("e10", 0.1), index("ron95", 0), index("ron98", 0), index("e85", 0.85), index("ethanol", 1)
	assert.InDelta(t, p95, e10, 1) // both of RON 95, MON 85
	assert.Less(t, e10, p95)
	assert.Greater(t, e85, 105.0)
	assert.Greater(t, e85, p98)
	assert.Greater(t, e100, e85)
	assert.Less(t, e100, OctaneIndex(EthanolRON, EthanolMON, k))
}

// The octane numbers here are those of package fuel.
func TestEthanolNumbers(t *testing.T) {
	f, err := fuel.Named("ethanol")
	require.NoError(t, err)
	assert.Equal(t, f.RON, EthanolRON)
	assert.Equal(t, f.MON, EthanolMON)
}

// What evaporation takes from a stoichiometric mixture, from latent heats and air–fuel ratios of package fuel: latent heat over
// AFR · 1.005 kJ/(kg K) and the vapour's 1.5 kJ/(kg K). 3 K is 0.2 octane numbers.
func TestCooling(t *testing.T) {
	kelvin := func(name string) float64 {
		f, err := fuel.Named(name)
		require.NoError(t, err)
		return f.LatentHeat / (1005*f.LowerHeatingValue/f.MixtureEnergy() + 1500)
	}
	petrol := kelvin("isooctane")
	ethanol, methanol := Charge{Ethanol: 1}, Charge{Methanol: 1}
	const tol = 3 * 0.5 / 7
	assert.InDelta(t, 0.5*(kelvin("ethanol")-petrol)/7, ethanol.cooling(), tol)
	assert.InDelta(t, 0.5*(kelvin("methanol")-petrol)/7, methanol.cooling(), tol)
	// In E10 ethanol takes 6.74 % of the oxygen: a mole share of 0.203 takes 0.609, petrol 0.797 · 10.575 = 8.428.
	e10 := Charge{Ethanol: 0.203}
	assert.InDelta(t, 0.0674*4.857, e10.cooling(), 0.002)
	// CH3OH burns with 1.5 O2: of equal moles methanol takes 0.75 and petrol 5.2875 of it, 12.42 % methanol.
	m := Charge{Methanol: 0.5}
	assert.InDelta(t, 0.1242*methanol.cooling(), m.cooling(), 0.002)
}

func TestMethanol(t *testing.T) {
	f, err := fuel.Named("methanol")
	require.NoError(t, err)
	c := Charge{RON: f.RON, MON: f.MON, Methanol: 1, Lambda: PeakLambda, EthanolMultiplier: 1}
	m, notes, err := New(c)
	require.NoError(t, err)
	assert.NotZero(t, notes&NoteMethanol)
	// Its excess over its own octane index is ethanol's.
	tube, oiE := shockTube(t, 1), OctaneIndex(EthanolRON-ethanolCooling, EthanolMON, 0)
	want := math.Pow(m.Octane()/oiE, 3.402)
	assert.InEpsilon(t, want, tube.Rate(15, 800)/m.Rate(15, 800), 1e-9)
}

func TestRefused(t *testing.T) {
	whole := Charge{RON: 98, MON: 87, Lambda: 0.9}
	for name, change := range map[string]func(*Charge){
		"RON":            func(c *Charge) { c.RON = 0 },
		"MON":            func(c *Charge) { c.MON = math.NaN() },
		"octane number":  func(c *Charge) { c.Octane = 20 },
		"K of":           func(c *Charge) { c.K = -0.8 },
		"of ethanol":     func(c *Charge) { c.Ethanol = -0.1 },
		"of methanol":    func(c *Charge) { c.Methanol = 1.1 },
		"of alcohols":    func(c *Charge) { c.Ethanol, c.Methanol = 0.6, 0.6 },
		"lambda":         func(c *Charge) { c.Lambda = 0 },
		"burned gas":     func(c *Charge) { c.Dilution = math.Inf(1) },
		"multiplier of":  func(c *Charge) { c.EthanolMultiplier = 20 },
		"want one of th": func(c *Charge) { c.Octane, c.EthanolMultiplier = 98, 1 },
	} {
		c := whole
		change(&c)
		_, _, err := New(c)
		assert.ErrorContains(t, err, name)
	}
	_, _, err := New(Charge{RON: 130, MON: 60, K: -0.75, Lambda: 0.9})
	assert.ErrorContains(t, err, "octane index")
	for _, T := range []float64{math.NaN(), 200, 2000} {
		_, _, err := K(T)
		assert.Error(t, err)
	}
}

func TestNotes(t *testing.T) {
	_, notes, err := New(Charge{RON: 107, MON: 89, Methanol: 0.5, Lambda: 0.6, Dilution: 0.3})
	require.NoError(t, err)
	assert.Equal(t, NoteOctane|NoteMethanol|NoteLambda|NoteDilution, notes)
}

func BenchmarkRate(b *testing.B) {
	for name, d := range map[string]Delay{
		"petrol": petrol(b, 98),
		"blend":  delay(b, Charge{RON: 106, MON: 89, Ethanol: 0.93, Lambda: 0.85, EthanolMultiplier: 0.8}),
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			x, T := 15.0, 800.0
			for b.Loop() {
				T += 1e-9 * d.Rate(x, T)
			}
		})
	}
}

func BenchmarkNew(b *testing.B) {
	b.ReportAllocs()
	c := Charge{RON: 106, MON: 89, Ethanol: 0.93, Lambda: 0.85, Dilution: 0.02, K: -0.5}
	for b.Loop() {
		if _, _, err := New(c); err != nil {
			b.Fatal(err)
		}
	}
}
