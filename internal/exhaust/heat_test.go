package exhaust

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/refdata"
	"bellmouth/internal/units"
)

func TestNusseltTable(t *testing.T) {
	for _, r := range refdata.Read(t, "port_nusselt.csv") {
		re := r.F(t, "Re[-]")
		want := r.F(t, "Depcik_Assanis[-]")
		assert.InEpsilon(t, want, Nusselt(re), 1e-5, "Re %v: the table has six digits", re)
		// The running line, which goes through NTU and h: NTU = 4 (L/D) Nu/(Re Pr), h = Nu k/D with k = μ cp/Pr.
		// The pipe is short and held at the gas's temperature, so the mean temperature is the inlet's.
		s := System{Port: Pipe{Length: 0.1, Bore: 0.04, Wall: Wall{Temperature: 1000}}, Primary: Pipe{Bore: 0.04}, Count: 1}
		mu, pr := 3.3e-7*math.Pow(1000, 0.7)/(1+0.027), 0.05+4.2*0.3-6.7*0.09
		res, err := s.Heat(Flow{MassFlow: re * math.Pi * 0.04 * mu / 4, Temperature: 1000, Cp: 1200, Gamma: 1.3, Phi: 1, Ambient: 300})
		require.NoError(t, err)
		assert.InEpsilon(t, want*mu*1200/pr/0.04, res.Port.Transfer, 1e-5)
		assert.InEpsilon(t, 4*0.1/0.04*want/(re*pr), res.Port.NTU, 1e-5)
		assert.InEpsilon(t, re, res.Port.Reynolds, 1e-12)
	}
}

func TestPropertiesAgainstAir(t *testing.T) {
	// Air at 1 atm: Incropera and DeWitt, table A.4 (viscosity, Prandtl number); γ from its cp = 1.051, 1.099, 1.141, 1.175, 1.207
	// kJ/(kg K) and R = 0.287. From memory. The fit has φ = 0. Heywood states it follows a detailed computation to 4 % for burned gas;
	// at 600 K it is 5 % below this table of air.
	for _, p := range []struct{ T, mu, pr, cp float64 }{
		{600, 305.8e-7, 0.685, 1.051},
		{800, 369.8e-7, 0.709, 1.099},
		{1000, 424.4e-7, 0.726, 1.141},
		{1200, 473.0e-7, 0.728, 1.175},
		{1400, 530e-7, 0.703, 1.207},
	} {
		assert.InEpsilon(t, p.mu, Viscosity(p.T, 0), 0.055, "%v K", p.T)
		assert.InEpsilon(t, p.pr, Prandtl(p.cp/(p.cp-0.287)), 0.06, "%v K", p.T)
	}
}

func TestViscosityOfBurnedGas(t *testing.T) {
	// Stoichiometric products of octane at 1000 K: 0.735 N2, 0.125 CO2, 0.140 H2O with 39.99, 39.7 and 37.6 µPa s, mixed by Wilke's
	// rule (1950), give 39.9 µPa s. Pure gases from tables, from memory. They and the rule are good to 2 % each.
	assert.InEpsilon(t, 39.9e-6, Viscosity(1000, 1), 0.03)
}

func car() System {
	s, err := Default(Geometry{Cylinders: 4, Bore: 0.086, ExhaustCount: 2, ExhaustDiameter: 0.030, Turbocharged: true})
	if err != nil {
		panic(err)
	}
	return s
}

func full() Flow {
	return Flow{MassFlow: 0.05, Temperature: 1200, Cp: 1250, Gamma: 1.30, Phi: 1.2, Ambient: 330}
}

func light() Flow {
	return Flow{MassFlow: 0.003, Temperature: 900, Cp: 1200, Gamma: 1.32, Phi: 1, Ambient: 330}
}

func heat(t testing.TB, s System, f Flow) Result {
	t.Helper()
	require.NoError(t, s.Validate())
	r, err := s.Heat(f)
	require.NoError(t, err)
	return r
}

func TestPortByHand(t *testing.T) {
	// A port, 90 mm of 38 mm bore at 480 K; 0.0275 kg/s at 1100 K, γ 1.3, φ 1, cp 1200. By hand with properties at the mean of inlet
	// and outlet, 1076.9 K: μ = 3.3e-7 · 132.596/1.027 = 4.26063e-5, Re = 4 · 0.0275/(π · 0.038 · 4.26063e-5) = 21626,
	// Nu = 0.07 · 1783.4 = 124.835, Pr = 0.707, NTU = 4 · (90/38) · 124.835/(21626 · 0.707) = 0.077348,
	// Tout = 480 + 620 · 0.925568 = 1053.852 K, Q = 0.0275 · 1200 · 46.148 = 1522.9 W. The tolerances are half the last digit kept.
	s := System{Port: Pipe{Length: 0.090, Bore: 0.038, Wall: Cooled()}, Primary: Pipe{Bore: 0.04}, Count: 4}
	r := heat(t, s, Flow{MassFlow: 0.0275, Temperature: 1100, Cp: 1200, Gamma: 1.3, Phi: 1, Ambient: 300})
	assert.InDelta(t, 0.077348, r.Port.NTU, 5e-7)
	assert.InDelta(t, 1053.852, r.Port.OutletTemperature, 5e-4)
	assert.InDelta(t, 4*1522.9, r.Heat, 4*0.05)
	assert.Zero(t, r.Notes)
}

// flows returns flows over the whole of what engines do, and beyond.
func flows() []Flow {
	var fs []Flow
	for _, m := range []float64{1e-6, 2e-4, 1e-3, 0.01, 0.05, 0.3} {
		for _, T := range []float64{310, 500, 900, 1400, 2500} {
			for _, phi := range []float64{0.5, 1.3} {
				fs = append(fs, Flow{MassFlow: m, Temperature: T, Cp: 1200, Gamma: 1.31, Phi: phi, Ambient: 320})
			}
		}
	}
	return fs
}

func TestWallBalance(t *testing.T) {
	// What the gas gives is what leaves the outside: equal to 1e-10 of the heat, or of the outside's terms where they cancel.
	for _, exposure := range []float64{Bare, Wrapped, AirGap, 1e-3} {
		for _, length := range []float64{1e-6, 0.05, 0.25, 0.6, 5} {
			s := car()
			s.Primary.Length, s.Primary.Wall.Exposure = length, exposure
			for _, f := range flows() {
				r := heat(t, s, f)
				p, w := &r.Primary, s.Primary.Wall
				area := math.Pi * (s.Primary.Bore + 2*w.Thickness) * length * exposure
				const sigma = 5.670374419e-8
				ta4 := math.Pow(f.Ambient, 4)
				lost := area * (w.Emissivity*sigma*(math.Pow(p.WallTemperature, 4)-ta4) + w.Transfer*(p.WallTemperature-f.Ambient))
				scale := math.Abs(lost) + area*(w.Emissivity*sigma*ta4+w.Transfer*f.Ambient)
				assert.InDelta(t, lost, p.Heat, 1e-10*scale, "%+v, L %v, F %v", f, length, exposure)
				// The mean temperature difference by its own definition: Q = h A ΔT, ΔT logarithmic.
				a, b := r.Port.OutletTemperature-p.WallTemperature, p.OutletTemperature-p.WallTemperature
				if math.Abs(a-b) > 0.1 && a/b > 0 && math.Abs(b) > 1e-3 {
					assert.InEpsilon(t, p.Transfer*math.Pi*s.Primary.Bore*length*(a-b)/math.Log(a/b), p.Heat, 1e-7)
				}
				// The properties are those of the mean temperature.
				mean := (r.Port.OutletTemperature + p.OutletTemperature) / 2
				mu := 3.3e-7 * math.Pow(mean, 0.7) / (1 + 0.027*f.Phi)
				assert.InEpsilon(t, 4*f.MassFlow/(math.Pi*s.Primary.Bore*mu), p.Reynolds, 1e-10)
				// Energy: both pieces' heat is the gas's.
				assert.InDelta(t, f.MassFlow*f.Cp*(f.Temperature-r.OutletTemperature)*4, r.Heat, 1e-10*f.MassFlow*f.Cp*f.Temperature)
			}
		}
	}
}

func TestLimits(t *testing.T) {
	s := car()
	s.Port.Length, s.Primary.Length = 0, 0
	r := heat(t, s, full())
	assert.Zero(t, r.Heat) // no pipe, no heat
	assert.Equal(t, 1200.0, r.OutletTemperature)

	s.Primary.Length = 1e-9 // a short pipe's wall has the temperature of the limit
	assert.InDelta(t, r.Primary.WallTemperature, heat(t, s, full()).Primary.WallTemperature, 1e-5)

	s = car()
	s.Port.Length = 10 // as long as the port may be, and slow: the gas takes the wall's temperature
	f := full()
	f.MassFlow = 1e-5
	assert.InDelta(t, PortWallTemperature, heat(t, s, f).Port.OutletTemperature, 1e-9)

	s = car()
	s.Primary.Wall.Exposure = 0 // adiabatic outside
	r = heat(t, s, full())
	assert.InDelta(t, 0, r.Primary.Heat, 1e-8)
	assert.InDelta(t, r.Port.OutletTemperature, r.Primary.WallTemperature, 1e-9)

	s = car()
	s.Primary.Wall.Emissivity, s.Primary.Wall.Transfer = 0, 0
	assert.InDelta(t, 0, heat(t, s, full()).Primary.Heat, 1e-8)

	s = car() // gas colder than the wall is warmed
	f = full()
	f.Temperature = 400
	r = heat(t, s, f)
	assert.Negative(t, r.Port.Heat)
	assert.Greater(t, r.Port.OutletTemperature, 400.0)

	s = car() // gas of the surroundings' temperature in a pipe: nothing
	s.Port.Wall.Temperature = 330
	f.Temperature = 330
	assert.InDelta(t, 0, heat(t, s, f).Heat, 1e-8)
}

func TestFreePipeAgainstManyShortOnes(t *testing.T) {
	// The wall has one temperature over a piece. 200 short pieces follow it along the pipe. The difference is what the one
	// temperature costs: it stays below 2 % of the primary's heat with the turbocharged engine's 250 mm and below 5 % with 600 mm.
	for _, p := range []struct{ length, tol float64 }{{0.250, 0.02}, {0.600, 0.05}} {
		for _, f := range []Flow{full(), light()} {
			s := car()
			s.Primary.Length = p.length
			one := heat(t, s, f)
			s.Port.Length, s.Primary.Length = 0, p.length/200
			f.Temperature = one.Port.OutletTemperature
			sum := 0.0
			for range 200 {
				r := heat(t, s, f)
				sum += r.Primary.Heat
				f.Temperature = r.OutletTemperature
			}
			assert.InEpsilon(t, sum, one.Primary.Heat, p.tol, "%v m", p.length)
		}
	}
}

func TestMoreFlowDropsLessAndHeatsMore(t *testing.T) {
	for _, turbo := range []bool{true, false} {
		s, err := Default(Geometry{Cylinders: 4, Bore: 0.086, ExhaustCount: 2, ExhaustDiameter: 0.030, Turbocharged: turbo})
		require.NoError(t, err)
		f := full()
		lastDrop, lastHeat, lastWall := math.Inf(1), 0.0, 0.0
		for m := 2e-4; m < 0.3; m *= 1.05 {
			f.MassFlow = m
			r := heat(t, s, f)
			drop := f.Temperature - r.OutletTemperature
			assert.Less(t, drop, lastDrop)
			assert.Greater(t, r.Heat, lastHeat)
			assert.Greater(t, r.Primary.WallTemperature, lastWall)
			lastDrop, lastHeat, lastWall = drop, r.Heat, r.Primary.WallTemperature
		}
	}
	// Longer loses more; covered loses less, with a hotter wall.
	a := heat(t, car(), full())
	s := car()
	s.Primary.Length *= 2
	assert.Greater(t, heat(t, s, full()).Heat, a.Heat)
	s = car()
	s.Primary.Wall.Exposure = Wrapped
	b := heat(t, s, full())
	assert.Less(t, b.Heat, a.Heat)
	assert.Greater(t, b.Primary.WallTemperature, a.Primary.WallTemperature)
	s = car()
	upto := heat(t, s.Until(0.1), full())
	assert.Less(t, upto.Heat, a.Heat)
	assert.Equal(t, 0.1, s.Until(0.1).Primary.Length)
	assert.Equal(t, s, s.Until(1))
	assert.Zero(t, s.Until(-1).Primary.Length)
}

func TestSmooth(t *testing.T) {
	// Second differences of a smooth function go with the step squared; a solver that stopped early leaves steps instead. The outlet
	// temperature's curvature over ln ṁ and over Tin is of the order of 100 K and 1/1000 1/K; rounding adds 1e-12.
	s := car()
	out := func(m, T float64) float64 {
		f := full()
		f.MassFlow, f.Temperature = m, T
		return heat(t, s, f).OutletTemperature
	}
	const d = 1e-5
	for m := 1e-3; m < 0.2; m *= 1.3 {
		for T := 700.0; T < 1400; T += 93 {
			second := out(m*(1+d), T) - 2*out(m, T) + out(m*(1-d), T)
			assert.InDelta(t, 0, second, 500*d*d+3e-12)
			second = out(m, T*(1+d)) - 2*out(m, T) + out(m, T*(1-d))
			assert.InDelta(t, 0, second, 3000*d*d+3e-12)
		}
	}
}

func TestShareOfTheExhaust(t *testing.T) {
	// Port and manifold take about 5 % to 10 % of the exhaust's enthalpy above 25 °C at full load of a turbocharged engine. From memory.
	share := func(f Flow) float64 {
		return heat(t, car(), f).Heat / (4 * f.MassFlow * f.Cp * (f.Temperature - 298.15))
	}
	assert.InDelta(t, 0.075, share(full()), 0.025)
	// 15 % to 30 % at light load. From memory.
	assert.InDelta(t, 0.225, share(light()), 0.075)
}

func TestManifoldTemperature(t *testing.T) {
	// A cast manifold has 800 K to 1000 K at full load. From memory.
	assert.InDelta(t, 900, heat(t, car(), full()).Primary.WallTemperature, 100)
}

func TestDefault(t *testing.T) {
	// An 86 mm engine with two 30 mm valves: 0.9 √2 · 30 = 38.18 mm of port, 90.3 mm long; primary 40.09 mm.
	s := car()
	assert.InDelta(t, 0.03818, s.Port.Bore, 1e-5)
	assert.InDelta(t, 0.0903, s.Port.Length, 1e-9)
	assert.InDelta(t, 0.04009, s.Primary.Bore, 1e-5)
	assert.Equal(t, 4, s.Count)
	for _, p := range []struct {
		g    Geometry
		want string
	}{
		{Geometry{0, 0.086, 2, 0.03, true}, "cylinder count is 0; want at least 1"},
		{Geometry{4, 0, 2, 0.03, true}, "bore is 0 m; want more than 0 and at most 1 m"},
		{Geometry{4, 0.086, 0, 0.03, true}, "exhaust valve count is 0; want at least 1"},
		{Geometry{4, 0.086, 2, math.NaN(), true}, "exhaust valve diameter is NaN m; want more than 0 and at most the bore, 0.086 m"},
		{Geometry{4, 0.086, 1, 0.002, true}, "want 0.005 m to 0.5 m"},
	} {
		_, err := Default(p.g)
		assert.ErrorContains(t, err, p.want)
	}
}

func TestSystemRefusals(t *testing.T) {
	for _, p := range []struct {
		change func(*System)
		want   string
	}{
		{func(s *System) { s.Count = 0 }, "cylinder count is 0; want at least 1"},
		{func(s *System) { s.Port.Length = -1 }, "exhaust port: length is -1 m; want 0 to 10 m"},
		{func(s *System) { s.Primary.Length = math.NaN() }, "exhaust primary: length is NaN m; want 0 to 10 m"},
		{func(s *System) { s.Primary.Bore = 0 }, "exhaust primary: bore is 0 m; want 0.005 m to 0.5 m"},
		{func(s *System) { s.Port.Wall.Temperature = 100 }, "exhaust port: wall temperature is 100 K; want 250 K to 1500 K"},
		{func(s *System) { s.Port.Wall.Temperature = math.NaN() }, "exhaust port: wall temperature is NaN K; want 250 K to 1500 K"},
		{func(s *System) { s.Primary.Wall.Thickness = 0.3 }, "exhaust primary: wall thickness is 0.3 m; want 0 to 0.05 m"},
		{func(s *System) { s.Primary.Wall.Emissivity = 1.1 }, "exhaust primary: emissivity of the wall is 1.1; want 0 to 1"},
		{func(s *System) { s.Primary.Wall.Transfer = -1 }, "exhaust primary: outer coefficient of convection is -1 W/(m² K); want 0 to 1000"},
		{func(s *System) { s.Primary.Wall.Exposure = math.NaN() }, "exhaust primary: exposure of the wall is NaN; want 0 to 1"},
	} {
		s := car()
		p.change(&s)
		err := s.Validate()
		require.Error(t, err)
		assert.Equal(t, p.want, units.Resolve(err.Error(), units.Metric))
	}
}

func TestFlowRefusalsAndNotes(t *testing.T) {
	s := car()
	for _, p := range []struct {
		change func(*Flow)
		want   string
	}{
		{func(f *Flow) { f.MassFlow = 0 }, "exhaust flow of a cylinder is 0 kg/s; want more than 1e-9 and less than 100 kg/s"},
		{func(f *Flow) { f.Temperature = math.NaN() }, "exhaust temperature is NaN K; want 200 K to 4000 K"},
		{func(f *Flow) { f.Cp = 1.2 }, "heat capacity of the exhaust is 1.2 J/(kg K); want 500 to 5000"},
		{func(f *Flow) { f.Gamma = 1 }, "ratio of specific heats of the exhaust is 1; want 1.2 to 1.4"},
		{func(f *Flow) { f.Phi = -1 }, "equivalence ratio of the exhaust is -1; want 0 to 4"},
		{func(f *Flow) { f.Ambient = math.Inf(1) }, "temperature round the manifold is +Inf K; want 150 K to 1000 K"},
	} {
		f := full()
		p.change(&f)
		_, err := s.Heat(f)
		assert.EqualError(t, err, p.want)
	}
	assert.Zero(t, heat(t, s, full()).Notes)
	f := full()
	f.MassFlow = 0.001 // Re about 800
	assert.Equal(t, NoteReynolds, heat(t, s, f).Notes)
	f = full()
	f.Temperature = 490
	assert.Equal(t, NoteTemperature, heat(t, s, f).Notes)
	for bit := Note(1); bit < noteEnd; bit <<= 1 {
		assert.Len(t, bit.Texts(), 1)
	}
	assert.Len(t, (noteEnd - 1).Texts(), 4)
}

func BenchmarkHeat(b *testing.B) {
	s, f := car(), full()
	b.ReportAllocs()
	sum := 0.0
	for b.Loop() {
		r, _ := s.Heat(f)
		sum += r.Heat
	}
	_ = sum
}

func BenchmarkHeatLight(b *testing.B) {
	s, f := car(), light()
	b.ReportAllocs()
	sum := 0.0
	for b.Loop() {
		r, _ := s.Heat(f)
		sum += r.Heat
	}
	_ = sum
}
