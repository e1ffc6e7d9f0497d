package cycle

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/fuel"
	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/knock"
	"bellmouth/internal/numeric"
	"bellmouth/internal/refdata"
)

const (
	rpm = math.Pi / 30
	deg = math.Pi / 180
)

// valves returns the invented cylinder's valves.
func valves() geometry.Valves {
	return geometry.Valves{
		InletCount: 2, InletDiameter: 0.034, InletLift: 0.0102, InletOpens: 15 * deg, InletCloses: 58 * deg,
		ExhaustCount: 2, ExhaustDiameter: 0.03, ExhaustLift: 0.0096, ExhaustOpens: 60 * deg, ExhaustCloses: 20 * deg,
	}
}

// octane returns the knock delay of an octane number at the mixture that leaves it as it is.
func octane(t testing.TB, number float64) knock.Delay {
	d, _, err := knock.New(knock.Charge{Octane: number, Lambda: knock.PeakLambda})
	require.NoError(t, err)
	return d
}

// invented returns an invented boosted cylinder and charge.
func invented(t testing.TB) (Config, Input) {
	f, err := fuel.Named("ron102")
	require.NoError(t, err)
	charge, err := f.Charge(gas.Air{Pressure: 101325, Temperature: 293.15, RelativeHumidity: 0.5}, 0.85)
	require.NoError(t, err)
	return Config{
			Cylinder: geometry.Cylinder{Bore: 0.084, Stroke: 0.082, Rod: 0.144, CompressionRatio: 8.6},
			Valves:   valves(), WallTemperature: 460, HeatFactor: 1,
		}, Input{
			Speed: 6000 * rpm, Unburned: charge.Unburned, Burned: charge.Burned, Mass: 1.45e-3,
			InitialBurned: 0.03, FinalBurned: 0.97, Temperature: 345, CA50: 16 * deg, BurnAngle: 50 * deg, Knock: octane(t, 98),
		}
}

func run(t testing.TB, c Config, in Input) Result {
	t.Helper()
	m, err := New(c)
	require.NoError(t, err)
	var r Result
	require.NoError(t, m.Run(&in, &r))
	return r
}

// beginning returns the stage of a charge at inlet valve closing.
func beginning(t testing.TB, c Config, in *Input) (*Model, *stage) {
	t.Helper()
	m, err := New(c)
	require.NoError(t, err)
	var s stage
	s.begin(m, in)
	return m, &s
}

// Heywood (1988), eq. 9.30, closed form, through what the integration calls. The table has the whole duration Δθ; y is ((ln 2)/5)^(1/3) at 50 %
// and ((ln 10)/5)^(1/3) at 90 %. Rows of other form factors than the 5 and 2 of spark ignition are not this burn.
func TestWiebe(t *testing.T) {
	rows := 0
	for _, row := range refdata.Read(t, "wiebe.csv") {
		if row["a"] != "5" || row["m"] != "2" {
			continue
		}
		rows++
		duration, start, theta := row.F(t, "duration_deg")*deg, row.F(t, "start_deg")*deg, row.F(t, "theta_deg")*deg
		c, in := invented(t)
		in.CA50, in.BurnAngle = start+math.Cbrt(math.Ln2/5)*duration, math.Cbrt(math.Ln10/5)*duration
		in.InitialBurned, in.FinalBurned = 0, 1
		_, s := beginning(t, c, &in)
		want := row.F(t, "burn_fraction")
		assert.InDelta(t, want, s.burnedAt(theta), 1e-11)
		assert.InDelta(t, want, BurnedAt(theta, in.CA50, in.BurnAngle), 1e-11)
		const h = 1e-3 * deg
		assert.InDelta(t, row.F(t, "burn_rate_per_deg"), (s.burnedAt(theta+h)-s.burnedAt(theta-h))/2e-3, 1e-9)
		assert.Zero(t, s.burnedAt(start))
		in.InitialBurned, in.FinalBurned = 0.05, 0.95
		assert.InDelta(t, 0.05+0.9*want, s.burnedAt(theta), 1e-11, "from what is burned beforehand to what burns at all")
	}
	assert.Equal(t, 4, rows)
	assert.Zero(t, BurnedAt(-0.1, 0.3, 0.3))
	assert.InDelta(t, 0.5, BurnedAt(0.3, 0.3, 0.8), 1e-12)
	assert.InDelta(t, 0.9, BurnedAt(BurnStart(0.3, 0.8)+0.8, 0.3, 0.8), 1e-12)
}

// Woschni, SAE 670931, in the form of Heywood eqs. 12.18 and 12.19, through what the integration calls: a cylinder and a charge are made that
// have the row's figures at inlet valve closing.
func TestWoschni(t *testing.T) {
	for _, row := range refdata.Read(t, "woschni.csv") {
		c, in := invented(t)
		displaced, closed := row.F(t, "Vd_cm3")*1e-6, row.F(t, "V_ref_cm3")*1e-6
		c.Cylinder.Bore = row.F(t, "bore_mm") * 1e-3
		c.Cylinder.Stroke = displaced / (math.Pi / 4 * c.Cylinder.Bore * c.Cylinder.Bore)
		c.Cylinder.CompressionRatio = closed / (closed - displaced)
		c.Valves.InletCloses = 0 // at bottom dead centre
		in.Speed = row.F(t, "mean_piston_speed_m_s") * math.Pi / c.Cylinder.Stroke
		in.Temperature = row.F(t, "T_ref_K")
		charge := in.mixture(in.InitialBurned)
		in.Mass = row.F(t, "p_ref_Pa") * closed / (charge.GasConstant() * in.Temperature)
		_, s := beginning(t, c, &in)
		theta := s.burnStart - 0.1
		if row["combustion"] == "true" {
			theta = s.burnStart + 0.1
		}
		p, T, motored := row.F(t, "p_Pa"), row.F(t, "T_K"), row.F(t, "p_motored_Pa")/row.F(t, "p_ref_Pa")
		want := row.F(t, "h_W_m2K")
		assert.InEpsilon(t, want, s.filmAt(p, T, 1, motored, theta)*in.Speed, 1e-10)
		assert.InEpsilon(t, want, woschni(c.Cylinder.Bore, p, T, row.F(t, "w_m_s")), 1e-10)
	}
}

// woschni returns the coefficient of Woschni's correlation, W/(m² K), at a gas velocity w, m/s.
func woschni(bore, p, temperature, w float64) float64 {
	return 3.26 * math.Pow(bore, -0.2) * math.Pow(p/1000, 0.8) * math.Pow(temperature, -0.55) * math.Pow(w, 0.8)
}

// What the grid holds for Woschni's correlation, by hand: the motored pressure goes with V^−1.33, and the walls are the liner, π B over the
// height that the gas stands in it, and 2.25 bores' areas of roof and crown.
func TestGridForWoschni(t *testing.T) {
	c, in := invented(t)
	m, _ := beginning(t, c, &in)
	y := c.Cylinder
	bore := math.Pi / 4 * y.Bore * y.Bore
	first := y.Volume(c.Valves.InletClosingAngle())
	walls := func(theta float64) float64 {
		return 2.25*bore + math.Pi*y.Bore*(y.Volume(theta)-y.ClearanceVolume())/bore
	}
	for _, n := range m.nodes {
		mid := n.theta + n.step/2
		assert.InEpsilon(t, math.Pow(first/y.Volume(n.theta), 1.33), n.motored, 1e-12)
		assert.InEpsilon(t, math.Pow(first/y.Volume(mid), 1.33), n.midMotored, 1e-12)
		assert.InEpsilon(t, walls(n.theta), n.area, 1e-12)
		assert.InEpsilon(t, walls(mid), n.midArea, 1e-12)
	}
	theta := c.Valves.ExhaustOpeningAngle()
	for _, n := range m.release {
		assert.InEpsilon(t, walls(theta), n.wall, 1e-9)
		theta += n.step
	}
}

// The knock accumulator on the polytropic compressions of livengood_wu.csv (scipy quadrature to 1e-12). A gas of constant heat
// capacity with κ = (n−1)/n and no heat loss follows p V^n exactly, so what is tested is the quadrature: Simpson's rule at the
// cycle's own step. 1e-3 of an integral is far below what a knock limit means.
func TestKnockIntegralAgainstQuadrature(t *testing.T) {
	for _, row := range refdata.Read(t, "livengood_wu.csv") {
		cyl := geometry.Cylinder{
			Bore: row.F(t, "bore_mm") * 1e-3, Stroke: row.F(t, "stroke_mm") * 1e-3, Rod: row.F(t, "rod_mm") * 1e-3,
			CompressionRatio: row.F(t, "compression_ratio"),
		}
		n := row.F(t, "polytropic_n")
		from, to := row.F(t, "start_deg")*deg, row.F(t, "end_deg")*deg
		p0, t0 := row.F(t, "p_start_Pa"), row.F(t, "T_start_K")
		v0 := cyl.Volume(from)
		pressure := func(theta float64) float64 { return p0 * math.Pow(v0/cyl.Volume(theta), n) }
		temperature := func(theta float64) float64 { return t0 * math.Pow(v0/cyl.Volume(theta), n-1) }
		speed := row.F(t, "rpm") * rpm
		k := endGas{delay: octane(t, row.F(t, "octane_number")), speed: speed, endAngle: math.Inf(1)}
		k.rate = k.rateAt(math.Log(p0), t0)
		steps := int(math.Round((to - from) / (2 * deg)))
		h := (to - from) / float64(steps)
		for i := range steps {
			theta := from + float64(i)*h
			k.add(theta, h, k.rateAt(math.Log(pressure(theta+h/2)), temperature(theta+h/2)), k.rateAt(math.Log(pressure(theta+h)), temperature(theta+h)))
		}
		assert.InEpsilon(t, row.F(t, "knock_integral"), k.integral, 1e-5)
		assert.InEpsilon(t, row.F(t, "p_end_Pa"), pressure(to), 1e-9)
		assert.InEpsilon(t, row.F(t, "T_end_K"), temperature(to), 1e-9)
	}
}

// With combustion and heat transfer off, pressure and work follow the isentrope to 1e-6. The isentrope is found without the
// integration: entropy s0(T) − R ln p is constant, so T(V) is a root, and the work is the loss of internal energy.
func TestIsentrope(t *testing.T) {
	c, in := invented(t)
	c.HeatFactor = 0
	in.InitialBurned, in.FinalBurned = 0, 0
	for _, cr := range []float64{7, 10, 14} {
		c.Cylinder.CompressionRatio = cr
		r := run(t, c, in)
		mix := in.Unburned
		v0 := c.Cylinder.Volume(-math.Pi + c.Valves.InletCloses)
		isentropic := func(v float64) float64 {
			f := func(T float64) float64 {
				return mix.Entropy(T) - mix.Entropy(in.Temperature) + mix.GasConstant()*math.Log(v/v0*in.Temperature/T)
			}
			root, err := numeric.FindRoot(f, 200, 3000, 1e-10)
			require.NoError(t, err)
			return root.X
		}
		top := isentropic(c.Cylinder.ClearanceVolume())
		peak := in.Mass * mix.GasConstant() * top / c.Cylinder.ClearanceVolume()
		assert.InEpsilon(t, peak, r.PeakPressure, 1e-5, "between the nodes about the top; compression ratio %v", cr)
		v1 := c.Cylinder.Volume(math.Pi - c.Valves.ExhaustOpens)
		end := isentropic(v1)
		assert.InEpsilon(t, end, r.TemperatureEnd, 1e-6)
		assert.InEpsilon(t, in.Mass*mix.GasConstant()*end/v1, r.PressureEnd, 1e-6)
		work := in.Mass * (mix.InternalEnergy(in.Temperature) - mix.InternalEnergy(end))
		compression := in.Mass * (mix.InternalEnergy(top) - mix.InternalEnergy(in.Temperature))
		assert.InDelta(t, work, r.Work, 1e-6*compression)
		assert.Zero(t, r.Heat)
	}
}

// Work within 0.1 % and peak pressure within 0.1 % of a run with a tenth of the crank step, from slow to fast, early to late,
// short to long burns.
func TestStepSize(t *testing.T) {
	c, in := invented(t)
	fine := c
	fine.StepDivisor = 10
	for _, speed := range []float64{1500, 4000, 9000} {
		for _, ca50 := range []float64{4, 12, 30} {
			for _, burn := range []float64{30, 45, 70} {
				for _, cr := range []float64{7, 9, 13} {
					in.Speed, in.CA50, in.BurnAngle = speed*rpm, ca50*deg, burn*deg
					c.Cylinder.CompressionRatio, fine.Cylinder.CompressionRatio = cr, cr
					a, b := run(t, c, in), run(t, fine, in)
					tag := []any{"%v rpm, CA50 %v, burn %v, ratio %v", speed, ca50, burn, cr}
					assert.InEpsilon(t, b.Work, a.Work, 1e-3, tag...)
					assert.InEpsilon(t, b.PeakPressure, a.PeakPressure, 1e-3, tag...)
					assert.InDelta(t, b.PeakAngle, a.PeakAngle, 0.5*deg, tag...)
					assert.InEpsilon(t, b.Heat, a.Heat, 1e-3, tag...)
					assert.InEpsilon(t, b.KnockIntegral, a.KnockIntegral, 3e-4, tag...)
				}
			}
		}
	}
}

// First law: what the gas loses in energy is work and heat. The energies are taken from the end states, the sums from the path.
func TestFirstLaw(t *testing.T) {
	c, in := invented(t)
	r := run(t, c, in)
	mix := gas.Mix(in.Unburned, in.Burned, r.BurnedEnd)
	end := in.Mass * (mix.Enthalpy(r.TemperatureEnd) - mix.GasConstant()*r.TemperatureEnd)
	start := gas.Mix(in.Unburned, in.Burned, in.InitialBurned)
	begin := in.Mass * (start.Enthalpy(in.Temperature) - start.GasConstant()*in.Temperature)
	assert.InEpsilon(t, r.Work+r.Heat, begin-end, 1e-7)
	assert.InEpsilon(t, r.PressureEnd*c.Cylinder.Volume(math.Pi-c.Valves.ExhaustOpens), in.Mass*mix.GasConstant()*r.TemperatureEnd, 1e-12)
}

// An infinitely fast burn without heat loss is the constant-volume cycle. Its efficiency, the work of both strokes over the heat
// released, for a perfect gas is 1 − 1/rc^(γ−1) (Heywood 1988, eq. 5.31).
func TestOttoCycle(t *testing.T) {
	// A gas of constant heat capacity: argon below 1000 K, and its fit's first term above.
	argon, err := gas.NewSpecies(0.039948, gas.Fit{0, 0, 2.5, 0, 0, 0, 0, -745.375, 4.38}, gas.Fit{0, 0, 2.5, 0, 0, 0, 0, -745.375, 4.38})
	require.NoError(t, err)
	const heat = 1.2e6 // J/kg
	burned := argon.WithEnthalpy(300, argon.Enthalpy(300)-heat)
	for _, cr := range []float64{8, 10, 12} {
		c := Config{
			Cylinder: geometry.Cylinder{Bore: 0.084, Stroke: 0.082, Rod: 0.144, CompressionRatio: cr},
			Valves:   valves(), WallTemperature: 460, StepDivisor: 40,
		}
		c.Valves.InletCloses, c.Valves.ExhaustOpens = 0, 0
		in := Input{
			Speed: 3000 * rpm, Unburned: argon, Burned: burned, Mass: 0.5e-3, FinalBurned: 1, Temperature: 300, CA50: 0,
			BurnAngle: 0.5 * deg, Knock: octane(t, 100),
		}
		r := run(t, c, in)
		// A burn of half a degree is off the ideal by the volume's change over it, (0.25°)² in the clearance: 2e-5.
		assert.InDelta(t, 1-math.Pow(cr, -2.0/3), r.Work/(heat*in.Mass), 5e-5)
	}
}

// The peak moves without a step when the burn does: over CA50 in thousandths of a degree it changes by as much as over the next.
func TestPeakIsContinuous(t *testing.T) {
	c, in := invented(t)
	m, err := New(c)
	require.NoError(t, err)
	var last, step float64
	var r Result
	for i := range 8000 {
		in.CA50 = (8 + float64(i)*1e-3) * deg
		require.NoError(t, m.Run(&in, &r))
		if i > 1 {
			assert.InDelta(t, step, r.PeakPressure-last, 2e-7*last, "at CA50 %v°", in.CA50/deg)
		}
		step, last = r.PeakPressure-last, r.PeakPressure
	}
}

func TestEndGas(t *testing.T) {
	// Before the burn the end gas is all the gas: motored, both have the same peak temperature.
	c, in := invented(t)
	in.FinalBurned = in.InitialBurned
	in.CA50 = 60 * deg
	r := run(t, c, in)
	assert.InEpsilon(t, r.PeakTemperature, r.EndGasPeak, 1e-3)
	// Later burning, more octane and a cooler charge all lower the knock integral.
	c, in = invented(t)
	base := run(t, c, in).KnockIntegral
	for name, change := range map[string]func(*Input){
		"later burn":     func(in *Input) { in.CA50 += 4 * deg },
		"more octane":    func(in *Input) { in.Knock = octane(t, 102) },
		"faster engine":  func(in *Input) { in.Speed *= 1.2 },
		"cooler charge":  func(in *Input) { in.Temperature -= 15 },
		"less of charge": func(in *Input) { in.Mass *= 0.9 },
	} {
		other := in
		change(&other)
		assert.Less(t, run(t, c, other).KnockIntegral, base, name)
	}
}

// The state at the spark, before anything burns, lies on the isentrope when no heat is lost; in the middle of a step as at its ends.
func TestSparkState(t *testing.T) {
	c, in := invented(t)
	c.HeatFactor = 0
	in.InitialBurned, in.FinalBurned = 0, 0
	v0 := c.Cylinder.Volume(-math.Pi + c.Valves.InletCloses)
	mix := in.Unburned
	for _, angle := range []float64{-80, -41.3, -25, -12.7, -1.1, 0.4} {
		in.SparkAngle = angle * deg
		r := run(t, c, in)
		v := c.Cylinder.Volume(in.SparkAngle)
		root, err := numeric.FindRoot(func(T float64) float64 {
			return mix.Entropy(T) - mix.Entropy(in.Temperature) + mix.GasConstant()*math.Log(v/v0*in.Temperature/T)
		}, 200, 3000, 1e-10)
		require.NoError(t, err)
		assert.InEpsilon(t, root.X, r.SparkTemperature, 2e-4, "%v°", angle)
		assert.InEpsilon(t, in.Mass*mix.GasConstant()*root.X/v, r.SparkPressure, 2e-4, "%v°", angle)
	}
}

func TestBadInput(t *testing.T) {
	c, in := invented(t)
	for name, change := range map[string]func(*Config){
		"inlet closing":    func(c *Config) { c.Valves.InletCloses = -0.1 },
		"exhaust closing":  func(c *Config) { c.Valves.ExhaustCloses = 2 },
		"exhaust opening":  func(c *Config) { c.Valves.ExhaustOpens = math.NaN() },
		"wall temperature": func(c *Config) { c.WallTemperature = 20 },
		"heat factor":      func(c *Config) { c.HeatFactor = math.Inf(1) },
		"bore":             func(c *Config) { c.Cylinder.Bore = 0 },
	} {
		bad := c
		change(&bad)
		_, err := New(bad)
		assert.Error(t, err, name)
	}
	m, err := New(c)
	require.NoError(t, err)
	cold := in
	cold.Temperature = 100
	var r Result
	assert.ErrorIs(t, m.Run(&cold, &r), ErrState)
	for name, change := range map[string]func(*Input){
		"no mass":           func(in *Input) { in.Mass = 0 },
		"NaN":               func(in *Input) { in.CA50 = math.NaN() },
		"burns more":        func(in *Input) { in.FinalBurned = 1.3 },
		"unburns":           func(in *Input) { in.FinalBurned = 0.01 },
		"no burn angle":     func(in *Input) { in.BurnAngle = 0 },
		"backwards":         func(in *Input) { in.BurnAngle = -1 },
		"no octane":         func(in *Input) { in.Knock = knock.Delay{} },
		"far too early":     func(in *Input) { in.CA50 = -2 },
		"standing":          func(in *Input) { in.Speed = 0 },
		"burned beforehand": func(in *Input) { in.InitialBurned = -0.1 },
	} {
		bad := in
		change(&bad)
		assert.ErrorIs(t, m.Run(&bad, &r), ErrInput, name)
	}
}

func TestDefaultBurnAngle(t *testing.T) {
	for _, n := range []float64{1000, 3000, 6000, 9000} {
		// Heywood (1988), fig. 9-21: whole burns of 40° to 60°.
		angle, held := DefaultBurnAngle(n * rpm)
		assert.InDelta(t, 50, angle/deg, 14)
		assert.False(t, held)
	}
	low, _ := DefaultBurnAngle(1000 * rpm)
	lower, held := DefaultBurnAngle(500 * rpm)
	assert.InDelta(t, low, lower, 1e-12)
	assert.True(t, held)
}

func TestNoAllocation(t *testing.T) {
	c, in := invented(t)
	m, err := New(c)
	require.NoError(t, err)
	var r Result
	assert.Zero(t, testing.AllocsPerRun(20, func() { _ = m.Run(&in, &r) }))
}

func BenchmarkRun(b *testing.B) {
	c, in := invented(b)
	m, err := New(c)
	require.NoError(b, err)
	var r Result
	b.ReportAllocs()
	for b.Loop() {
		if err := m.Run(&in, &r); err != nil {
			b.Fatal(err)
		}
	}
}
