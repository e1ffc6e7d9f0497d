package friction

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/geometry"
	"bellmouth/internal/refdata"
)

const (
	rpm = math.Pi / 30
	atm = 101325.0
)

// genericFour is the engine of friction_generic_four.csv, as its second line gives it.
func genericFour() (Engine, Components) {
	e := Engine{
		Cylinder:  geometry.Cylinder{Bore: 0.086, Stroke: 0.086, Rod: 0.143, CompressionRatio: 10},
		Cylinders: 4,
		Valves: geometry.Valves{
			InletCount: 2, InletDiameter: 0.034, InletLift: 0.0095, InletCloses: 1,
			ExhaustCount: 2, ExhaustDiameter: 0.029, ExhaustLift: 0.0095, ExhaustOpens: 1,
		},
	}
	c := Components{
		MainBearings: Bearings{0.055, 0.020, 5}, CrankPins: Bearings{0.048, 0.018, 4}, ValveTrain: DOHCDirect, CamBearings: 10,
		Auxiliaries: 1, OilViscosity: 1,
	}
	return e, c
}

func model(t testing.TB, e Engine, c Components) *Model {
	t.Helper()
	m, err := New(e, c)
	require.NoError(t, err)
	return m
}

// aspirated is a state at full load without boost.
func aspirated(speed float64) State {
	return State{Speed: speed * rpm, ManifoldPressure: atm, AmbientPressure: atm, PeakPressure: 70e5}
}

func setRows(t *testing.T, set string) []refdata.Row {
	var rows []refdata.Row
	for _, row := range refdata.Read(t, "friction_generic_four.csv") {
		if row["set"] == set {
			rows = append(rows, row)
		}
	}
	require.Len(t, rows, 8)
	return rows
}

// Every term against friction_generic_four.csv, set SH03: the revised paper's. The file's values were computed apart from this
// code, but from the same constants, which are from memory: they guard the copying, units and whole-engine counts, not the
// constants. What speaks for those is TestAgainstIndependentForms.
func TestTerms(t *testing.T) {
	e, c := genericFour()
	m := model(t, e, c)
	for _, row := range setRows(t, "SH03") {
		got := m.terms(aspirated(row.F(t, "speed[rev/min]")))
		const tol = 5e-6 // six digits are printed
		for column, v := range map[string]float64{
			"crank_seal[kPa]": got.seals, "main_bearing[kPa]": got.mains, "crank_turbulent[kPa]": got.thrown, "piston_hydro[kPa]": got.skirts,
			"ring_boundary[kPa]": got.rings, "rod_bearing[kPa]": got.pins, "gas_load[kPa]": got.gas, "cam_const[kPa]": got.camSeals,
			"cam_bearing[kPa]": got.camBearings, "follower_flat[kPa]": got.follower, "osc_hydro[kPa]": got.rocking, "osc_mixed[kPa]": got.rubbing,
			"auxiliary[kPa]": got.auxiliaries,
		} {
			assert.InEpsilon(t, row.F(t, column), v, tol, "%s at %s rev/min", column, row["speed[rev/min]"])
		}
		sum := m.MeanEffectivePressure(aspirated(row.F(t, "speed[rev/min]")))
		assert.InEpsilon(t, row.F(t, "rubbing_plus_aux[kPa]")*1e3, sum, tol, "the parts hold every term once")
	}
}

// Two published forms that know nothing of this one bound it. Both are read as bounds, since neither is quite the same quantity.
//
// From above: Barnes-Moss (1975), from Heywood (1988), eq. 13.6, less the pumping that it contains (friction_pumping_terms.csv).
// It was fitted to motored engines older than those of this model, auxiliaries included.
//
// From below: the polynomial of friction_aixlib_polynomial.csv, warm (90 °C), at 10 bar of load, about that of full load without
// boost. It is of newer engines, and whether it contains the auxiliaries is not said. Over speed it rises faster than what rubs
// here and more slowly than that and the auxiliaries together, if it contains a part of them.
func TestAgainstIndependentForms(t *testing.T) {
	e, c := genericFour()
	m := model(t, e, c)
	sum := func(n float64) float64 { return m.MeanEffectivePressure(aspirated(n)) }
	c.Auxiliaries = 0
	bare := model(t, e, c)
	rubs := func(n float64) float64 { return bare.MeanEffectivePressure(aspirated(n)) }

	for _, row := range refdata.Read(t, "friction_pumping_terms.csv") {
		n := row.F(t, "speed[rev/min]")
		pumping := row.F(t, "intake_valve[kPa]") + row.F(t, "exhaust_valve[kPa]") + row.F(t, "exhaust_system[kPa]")
		barnesMoss := 0.97e5 + 0.15e5*n/1000 + 0.05e5*n*n/1e6
		assert.Less(t, sum(n), barnesMoss-pumping*1e3, "%v rev/min", n)
	}
	polynomial := map[float64]float64{}
	for _, row := range refdata.Read(t, "friction_aixlib_polynomial.csv") {
		if row.F(t, "T[degC]") == 90 {
			polynomial[row.F(t, "n[rev/min]")] = row.F(t, "fmep_pme10[bar]") * 1e5
		}
	}
	require.Len(t, polynomial, 8)
	for n, want := range polynomial {
		assert.Greater(t, sum(n), want, "%v rev/min", n)
	}
	rise := polynomial[6000] - polynomial[1000]
	assert.Greater(t, rise, rubs(6000)-rubs(1000))
	assert.Less(t, rise, sum(6000)-sum(1000))

	// The speed of the mixed terms: 500 rev/min is nearer to the polynomial's growth at low speed than 1000, whose mixed terms
	// are those of the first paper's rows.
	older := map[float64]float64{}
	for _, row := range setRows(t, "P89") {
		n := row.F(t, "speed[rev/min]")
		of := m.terms(aspirated(n))
		older[n] = rubs(n) + 1e3*(row.F(t, "ring_boundary[kPa]")-of.rings+row.F(t, "follower_flat[kPa]")-of.follower+row.F(t, "osc_mixed[kPa]")-of.rubbing)
	}
	growth := polynomial[3000] / polynomial[1000]
	assert.Less(t, math.Abs(growth-rubs(3000)/rubs(1000)), math.Abs(growth-older[3000]/older[1000]))
	t.Logf("1000, 3000, 6000 rev/min: sum %.2f %.2f %.2f bar, what rubs %.2f %.2f %.2f, polynomial %.2f %.2f %.2f; growth to 3000: polynomial %.2f, k 500 %.2f, k 1000 %.2f",
		sum(1000)/1e5, sum(3000)/1e5, sum(6000)/1e5, rubs(1000)/1e5, rubs(3000)/1e5, rubs(6000)/1e5,
		polynomial[1000]/1e5, polynomial[3000]/1e5, polynomial[6000]/1e5, growth, rubs(3000)/rubs(1000), older[3000]/older[1000])
}

// Common practice, no source: a two-litre four of 86 mm stroke loses about 2.2 to 2.6 bar at 8000 rpm, auxiliaries included.
func TestAtEightThousand(t *testing.T) {
	e, given := genericFour()
	for name, c := range map[string]Components{"as given": given, "usual": Usual(e)} {
		p := model(t, e, c).Parts(aspirated(8000))
		assert.True(t, p.Sum() >= 2.2e5 && p.Sum() <= 2.6e5, "%s: %.3g Pa", name, p.Sum())
		t.Logf("%s: crank %.2f, piston %.2f, gas load %.2f, valve train %.2f, auxiliaries %.2f, sum %.2f bar",
			name, p.Crank/1e5, p.Piston/1e5, p.GasLoad/1e5, p.ValveTrain/1e5, p.Auxiliaries/1e5, p.Sum()/1e5)
	}
}

// What the form says of each argument: the term that answers, and by how much.
func TestAnswers(t *testing.T) {
	e, c := genericFour()
	base := model(t, e, c).terms(aspirated(4000))

	// Gas pressure loads the rings in proportion to the manifold's; nothing else answers.
	s := aspirated(4000)
	s.ManifoldPressure *= 2
	boosted := model(t, e, c).terms(s)
	assert.InEpsilon(t, 2*base.gas, boosted.gas, 1e-12)
	boosted.gas = base.gas
	assert.Equal(t, base, boosted)

	// Oil four times as thick doubles what swims in it, and what is in mixed contact does not answer.
	thick := c
	thick.OilViscosity = 4
	oiled := model(t, e, thick).terms(aspirated(4000))
	for name, of := range map[string][2]float64{
		"mains": {base.mains, oiled.mains}, "pins": {base.pins, oiled.pins}, "skirts": {base.skirts, oiled.skirts},
		"cam bearings": {base.camBearings, oiled.camBearings}, "rocking": {base.rocking, oiled.rocking},
	} {
		assert.InEpsilon(t, 2*of[0], of[1], 1e-12, name)
	}
	assert.Equal(t, [...]float64{base.seals, base.thrown, base.rings, base.follower, base.rubbing, base.camSeals, base.auxiliaries},
		[...]float64{oiled.seals, oiled.thrown, oiled.rings, oiled.follower, oiled.rubbing, oiled.camSeals, oiled.auxiliaries})
	assert.InEpsilon(t, 6.89*0.088*10, oiled.gas-base.gas, 1e-9, "one of the two summands of the gas term swims")

	// A rolling follower takes less than a sliding one: Crf N against Cff (1 + k/N), 133 and 0.0050 (from memory).
	rolling := c
	rolling.Roller = true
	assert.InEpsilon(t, 0.0050*4000/(133*(1+500.0/4000)), model(t, e, rolling).terms(aspirated(4000)).follower/base.follower, 1e-12)

	half := c
	half.Auxiliaries = 0.5
	assert.InEpsilon(t, base.auxiliaries/2, model(t, e, half).terms(aspirated(4000)).auxiliaries, 1e-12)

	// Two of the engine side by side on one crank: the same mean effective pressure but for the seals, which are shared. The
	// counts are of the whole engine.
	double := e
	double.Cylinders = 8
	twice := c
	twice.MainBearings.Count, twice.CrankPins.Count, twice.CamBearings = 10, 8, 20
	eight := model(t, double, twice).terms(aspirated(4000))
	assert.InEpsilon(t, base.seals/2, eight.seals, 1e-12)
	eight.seals = base.seals
	for i, pair := range [][2]float64{
		{base.mains, eight.mains}, {base.pins, eight.pins}, {base.thrown, eight.thrown}, {base.camBearings, eight.camBearings},
		{base.follower, eight.follower}, {base.rocking, eight.rocking}, {base.rubbing, eight.rubbing},
	} {
		assert.InEpsilon(t, pair[0], pair[1], 1e-12, "term %d", i)
	}
}

// Each arrangement of the valve train at 3000 rev/min, worked by hand from the table of constants (from memory), for the generic
// four: flat follower Cff (1 + 500/3000) 16/(86 · 4), oscillating Com (1 + 500/3000) 9.5 · 16/(86 · 4).
func TestValveTrains(t *testing.T) {
	e, c := genericFour()
	for _, want := range []struct {
		name                               string
		follower, roller, rocking, rubbing float64 // kPa; with rollers N nv/(S nc), 3000 · 16/(86 · 4), times the table's constant
	}{
		{"dohc-direct", 7.21705, 0.697674, 0.43369, 5.51589}, {"sohc-direct", 10.85271, 1.060465, 0.43369, 5.51589},
		{"sohc-finger", 32.55814, 3.167442, 0.173476, 22.06357}, {"sohc-rocker", 21.70543, 2.106977, 0.43369, 11.03178},
		{"push-rod", 21.70543, 2.106977, 0.43369, 16.54767},
	} {
		var known bool
		c.ValveTrain, known = ValveTrainNamed(want.name)
		require.True(t, known)
		assert.Equal(t, want.name, c.ValveTrain.String())
		got := model(t, e, c).terms(aspirated(3000))
		assert.InEpsilon(t, want.follower, got.follower, 1e-5, want.name)
		assert.InEpsilon(t, want.rocking, got.rocking, 1e-5, want.name)
		assert.InEpsilon(t, want.rubbing, got.rubbing, 1e-5, want.name)
		rolling := c
		rolling.Roller = true
		assert.InEpsilon(t, want.roller, model(t, e, rolling).terms(aspirated(3000)).follower, 1e-5, want.name)
	}
	_, known := ValveTrainNamed("desmodromic")
	assert.False(t, known)
	assert.Equal(t, "unknown", ValveTrain(99).String())
}

// What is usual for a bore of 86 mm is the generic four of friction_generic_four.csv, to half a millimetre: the file has whole ones.
func TestUsualBearings(t *testing.T) {
	e, want := genericFour()
	got := Usual(e)
	for _, c := range [][2]Bearings{{want.MainBearings, got.MainBearings}, {want.CrankPins, got.CrankPins}} {
		assert.InDelta(t, c[0].Diameter, c[1].Diameter, 0.5e-3)
		assert.InDelta(t, c[0].Length, c[1].Length, 0.5e-3)
		assert.Equal(t, c[0].Count, c[1].Count)
	}
}

// The exponent is held from 30 m/s on, without a step, and the state says so.
func TestBeyond(t *testing.T) {
	e, c := genericFour()
	m := model(t, e, c)
	at30 := 30 / m.ratio // rev/min
	assert.InEpsilon(t, 30/0.086*30, at30, 1e-12)
	below, above, far := m.terms(aspirated(at30*(1-1e-9))), m.terms(aspirated(at30*(1+1e-9))), m.terms(aspirated(at30*1.3))
	assert.InEpsilon(t, below.gas, above.gas, 1e-8)
	assert.Equal(t, above.gas, far.gas)

	for _, at := range []struct {
		speed, ratio float64
		want         Beyond
	}{
		{599, 1, SpeedBeyond}, {600, 1, 0}, {6000, 1, 0}, {6001, 1, SpeedBeyond}, {3000, 0.4, 0}, {3000, 1.1, BoostBeyond},
		{8000, 2, SpeedBeyond | BoostBeyond}, {10600, 1, SpeedBeyond | PistonHeld},
	} {
		s := aspirated(at.speed)
		s.ManifoldPressure *= at.ratio
		assert.Equal(t, at.want, m.Beyond(s), "%v rev/min, %v of the ambient's", at.speed, at.ratio)
	}
}

// What an engine usually has: counts by hand.
func TestUsual(t *testing.T) {
	e, _ := genericFour()
	for _, want := range []struct{ cylinders, mains, pins, cams int }{
		{1, 2, 1, 4}, {4, 5, 4, 10}, {5, 6, 5, 12}, {6, 7, 6, 14}, {8, 5, 8, 20}, {12, 7, 12, 28},
	} {
		e.Cylinders = want.cylinders
		u := Usual(e)
		assert.Equal(t, [3]int{want.mains, want.pins, want.cams}, [3]int{u.MainBearings.Count, u.CrankPins.Count, u.CamBearings}, "%d cylinders", want.cylinders)
		assert.Equal(t, DOHCDirect, u.ValveTrain)
		assert.NoError(t, u.Validate(e))
	}
	e.Valves.InletCount, e.Valves.ExhaustCount = 1, 1
	assert.Equal(t, SOHCRocker, Usual(e).ValveTrain)
	assert.Equal(t, 7, UsualCamBearings(e, PushRod), "one shaft between the banks")
}

// Chen and Flynn's rows of friction.csv, constants as printed there.
func TestChenFlynn(t *testing.T) {
	f := PublishedChenFlynn()
	for _, row := range refdata.Read(t, "friction.csv") {
		got := f.MeanEffectivePressure(row.F(t, "pmax_bar")*1e5, row.F(t, "mean_piston_speed_m_s"))
		assert.InEpsilon(t, row.F(t, "fmep_chen_flynn_bar")*1e5, got, 1e-10)
	}
}

// A Law gives each model what it asks for, and the factor multiplies the sum and each part.
func TestLaw(t *testing.T) {
	e, c := genericFour()
	cf := PublishedChenFlynn()
	s := aspirated(4000)
	law, err := Choice{Components: &c, Factor: 0.9}.For(e)
	require.NoError(t, err)
	// 136.679 kPa at 4000 rev/min: friction_generic_four.csv, SH03.
	assert.InEpsilon(t, 0.9*136.679e3, law.MeanEffectivePressure(s), 5e-6)
	parts, apart := law.Parts(s)
	assert.True(t, apart)
	assert.InEpsilon(t, law.MeanEffectivePressure(s), parts.Sum(), 1e-12)
	assert.Equal(t, SpeedBeyond, law.Beyond(aspirated(7000)))

	law, err = Choice{ChenFlynn: &cf, Factor: 0.9}.For(e)
	require.NoError(t, err)
	// 0.137 + 0.005 · 70 + 0.162 · 11.4667 bar, 86 mm at 4000 rev/min.
	assert.InEpsilon(t, 0.9*2.3446e5, law.MeanEffectivePressure(s), 1e-6)
	_, apart = law.Parts(s)
	assert.False(t, apart)
	assert.Zero(t, law.Beyond(aspirated(9000)))
}

func TestRefuses(t *testing.T) {
	e, good := genericFour()
	cf := PublishedChenFlynn()
	with := func(change func(*Components)) Choice {
		c := good
		change(&c)
		return Choice{Components: &c, Factor: 1}
	}
	for want, c := range map[string]Choice{
		"no friction model":           {Factor: 1},
		"want one of them":            {Components: &good, ChenFlynn: &cf, Factor: 1},
		"friction factor is -1":       {Components: &good, Factor: -1},
		"friction factor is NaN":      {Components: &good, Factor: math.NaN()},
		"main bearing diameter is 55": with(func(c *Components) { c.MainBearings.Diameter = 55 }),
		"main bearing length":         with(func(c *Components) { c.MainBearings.Length = 0 }),
		"main bearing count is 0":     with(func(c *Components) { c.MainBearings.Count = 0 }),
		"crank pin diameter is NaN":   with(func(c *Components) { c.CrankPins.Diameter = math.NaN() }),
		"valve train 9":               with(func(c *Components) { c.ValveTrain = 9 }),
		"cam bearings is 0":           with(func(c *Components) { c.CamBearings = 0 }),
		"auxiliaries' factor is -1":   with(func(c *Components) { c.Auxiliaries = -1 }),
		"viscosity is 0 ":             with(func(c *Components) { c.OilViscosity = 0 }),
		"constant is -1":              {ChenFlynn: &ChenFlynn{Constant: -1}, Factor: 1},
		"piston speed is NaN":         {ChenFlynn: &ChenFlynn{PistonSpeed: math.NaN()}, Factor: 1},
	} {
		_, err := c.For(e)
		assert.ErrorContains(t, err, want)
	}
	for _, bad := range []Engine{{}, {Cylinder: e.Cylinder, Valves: e.Valves}, {Cylinder: e.Cylinder, Cylinders: 4}} {
		_, err := New(bad, good)
		assert.Error(t, err)
	}
}

func BenchmarkMeanEffectivePressure(b *testing.B) {
	e, c := genericFour()
	law, err := Choice{Components: &c, Factor: 1}.For(e)
	require.NoError(b, err)
	s := aspirated(7000)
	b.ReportAllocs()
	for b.Loop() {
		s.Speed += law.MeanEffectivePressure(s) * 1e-12
	}
}

// Usual returns the components that an engine usually has, with flat followers, a road engine's auxiliaries and the reference
// oil.
func Usual(e Engine) Components {
	train := UsualValveTrain(e.Valves)
	return Components{
		MainBearings: UsualMainBearings(e), CrankPins: UsualCrankPins(e), ValveTrain: train, CamBearings: UsualCamBearings(e, train),
		Auxiliaries: 1, OilViscosity: 1,
	}
}
