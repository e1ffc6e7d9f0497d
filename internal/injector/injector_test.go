package injector_test

import (
	"fmt"
	"math"
	"testing"

	"bellmouth/internal/injector"
	"bellmouth/internal/numeric"
	"bellmouth/internal/refdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	ccPerMinute = 1e-6 / 60
	rpm         = math.Pi / 30
)

func TestInjectorTable(t *testing.T) {
	// injectors.csv: fuel mass balance and orifice scaling in closed form, 12 digits. It rates with the fuel itself.
	const tol = 1e-10
	for _, r := range refdata.Read(t, "injectors.csv") {
		density := r.F(t, "fuel_density_kg_m3")
		in := injector.Injector{TestPressure: r.F(t, "rated_dp_kPa") * 1e3, TestDensity: density}
		fuel := r.F(t, "power_kW") * r.F(t, "bsfc_g_kWh") / 3.6e6
		assert.InEpsilon(t, r.F(t, "fuel_kg_s"), fuel, tol)
		each := fuel / (r.F(t, "injectors") * r.F(t, "max_duty"))
		assert.InEpsilon(t, r.F(t, "static_flow_each_kg_s"), each, tol)

		dp := r.F(t, "actual_dp_kPa") * 1e3
		rating, err := in.RatingFor(each, dp, density)
		require.NoError(t, err)
		assert.InEpsilon(t, r.F(t, "required_rating_at_rated_dp_cc_min"), rating/ccPerMinute, tol)
		in.RatedFlow = rating
		assert.InEpsilon(t, each, in.MassFlow(dp, density), tol)
		assert.InEpsilon(t, r.F(t, "static_flow_at_actual_dp_cc_min"), in.MassFlow(dp, density)/density/ccPerMinute, tol)
	}
}

func TestFuelPerInjectionExample(t *testing.T) {
	// Mathur and Sharma, Internal Combustion Engine, example 12.1, recomputed to 12 digits; the book prints 0.0577 cm³.
	x := map[string]float64{}
	for _, r := range refdata.Read(t, "textbook_examples.csv") {
		if r["example"] == "fuel_per_injection" {
			x[r["quantity"]] = r.F(t, "value")
		}
	}
	flow := x["bsfc"] * x["brake_power"] / 3.6e6
	m := flow * injector.CycleTime(x["engine_speed"]*rpm) / x["cylinders"]
	assert.InEpsilon(t, x["fuel_volume_per_cycle_per_cylinder"], m/x["fuel_density"]*1e6, 1e-9)
}

func TestMassFlowByDensity(t *testing.T) {
	// An orifice passes a mass that goes with √ρ: rated 650 cm³/min of 765 kg/m³ at 3 bar, that is 8.2875 g/s; at 4 bar
	// and 740 kg/m³ it is 8.2875 √(4/3 · 740/765) = 9.4120 g/s.
	in := primary(t).Injector
	assert.InDelta(t, 8.2875e-3, in.MassFlow(3e5, 765), 1e-9)
	assert.InDelta(t, 9.4120e-3, in.MassFlow(4e5, 740), 1e-7)
	assert.Zero(t, in.MassFlow(0, 740))
	assert.Zero(t, in.MassFlow(-1e5, 740))
}

func TestCycleTime(t *testing.T) {
	// A four-stroke cycle at 6000 rpm lasts 20 ms.
	assert.InEpsilon(t, 0.020, injector.CycleTime(6000*rpm), 1e-12)
}

// The figures of these sets are invented.
func primary(t testing.TB) injector.Set {
	dead, err := numeric.NewCurve([]float64{10, 12, 14}, []float64{1.9e-3, 1.3e-3, 1.0e-3})
	require.NoError(t, err)
	return injector.Set{PerCylinder: 1, Injector: injector.Injector{
		RatedFlow: 650 * ccPerMinute, TestPressure: 3e5, TestDensity: 765, DeadTime: dead, ShortestPulse: 1.6e-3,
	}}
}

func secondary(t testing.TB) injector.Set {
	dead, err := numeric.NewCurve([]float64{10, 12, 14}, []float64{2.0e-3, 1.4e-3, 1.1e-3})
	require.NoError(t, err)
	return injector.Set{PerCylinder: 1, Injector: injector.Injector{
		RatedFlow: 850 * ccPerMinute, TestPressure: 3e5, TestDensity: 765, DeadTime: dead, ShortestPulse: 1.7e-3,
	}}
}

func staging(t testing.TB) injector.Staging {
	s := injector.Staging{Primary: primary(t), Secondary: secondary(t), StartDuty: 0.65, Blend: 0.20}
	require.NoError(t, s.Validate())
	return s
}

func conditions() injector.Conditions {
	return injector.Conditions{Speed: 6000 * rpm, PressureDifference: 3e5, FuelDensity: 765, Voltage: 14}
}

func split(t testing.TB, s injector.Staging, fuel float64, c injector.Conditions) injector.Split {
	t.Helper()
	out, err := s.Split(fuel, c)
	require.NoError(t, err)
	return out
}

func TestSplitByHand(t *testing.T) {
	// At 3 bar, 765 kg/m³ and 14 V: primary 8.2875 mg/ms after 1.0 ms, secondary 10.8375 mg/ms after 1.1 ms; the cycle
	// lasts 20 ms. The full share is 850/1500.
	s, c := staging(t), conditions()

	x := split(t, s, 41.4375e-6, c) // 5 ms of primary flow: 6 ms, 30 %
	assert.Equal(t, injector.PrimaryOnly, x.Mode)
	assert.InDelta(t, 6e-3, x.Primary.Pulse, 1e-12)
	assert.InDelta(t, 0.30, x.Primary.Duty, 1e-12)
	assert.Zero(t, x.Secondary.Pulse)
	assert.Zero(t, x.SecondaryShare)

	// 75 % of duty alone: 14 ms of flow, 116.025 mg; half the band, so half the full share: 0.283333 · 116.025 =
	// 32.87375 mg, 3.03333 ms + 1.1 ms. The primary has 83.15125 mg: 10.03333 ms + 1 ms.
	x = split(t, s, 116.025e-6, c)
	assert.Equal(t, injector.Blending, x.Mode)
	assert.InDelta(t, 0.5*850/1500, x.SecondaryShare, 1e-12)
	assert.InDelta(t, 4.13333e-3, x.Secondary.Pulse, 1e-8)
	assert.InDelta(t, 11.03333e-3, x.Primary.Pulse, 1e-8)

	// 95 % alone: past the band. 18 ms of primary flow, 149.175 mg, over both flows, 19.125 mg/ms: 7.8 ms each.
	x = split(t, s, 149.175e-6, c)
	assert.Equal(t, injector.Both, x.Mode)
	assert.InDelta(t, 850.0/1500, x.SecondaryShare, 1e-12)
	assert.InDelta(t, 8.8e-3, x.Primary.Pulse, 1e-11)
	assert.InDelta(t, 8.9e-3, x.Secondary.Pulse, 1e-11)

	// 0.6 ms of primary flow is the least; for half of it the set still gives that, and says so.
	x = split(t, s, 2.48625e-6, c)
	assert.Equal(t, injector.BelowShortest, x.Mode)
	assert.InDelta(t, 1.6e-3, x.Primary.Pulse, 1e-12)
	assert.InDelta(t, 2.48625e-6, x.Surplus, 1e-15)
	assert.InDelta(t, 4.9725e-6, x.Primary.Fuel, 1e-15)

	x = split(t, s, 0, c)
	assert.Equal(t, injector.NoFuel, x.Mode)
	assert.Zero(t, x.Primary.Pulse)
	assert.Zero(t, x.Surplus)
}

func TestSplitAtTheThreshold(t *testing.T) {
	// At the start duty the secondary comes in with its shortest pulse, 0.6 ms of flow: 6.5025 mg.
	s, c := staging(t), conditions()
	at := 12e-3 * 8.2875e-3 // 13 ms of 20 are 65 %
	below, above := split(t, s, at*(1-1e-9), c), split(t, s, at*(1+1e-9), c)
	assert.Equal(t, injector.PrimaryOnly, below.Mode)
	assert.InDelta(t, 0.65, below.Primary.Duty, 1e-8)
	assert.Equal(t, injector.Blending, above.Mode)
	assert.InDelta(t, 1.7e-3, above.Secondary.Pulse, 1e-12)
	assert.InDelta(t, 6.5025e-6, below.Primary.Fuel-above.Primary.Fuel, 1e-12)
}

// extremes are stagings at the edges of what is allowed.
func extremes(t testing.TB) map[string]injector.Staging {
	out := map[string]injector.Staging{"usual": staging(t)}
	s := staging(t)
	s.Blend = 0
	out["no band"] = s
	s = staging(t)
	s.StartDuty = 0.02 // before the primary has reached its shortest pulse
	out["early"] = s
	s = staging(t)
	s.StartDuty, s.Blend = 0.9, 0.5 // full only past a whole cycle
	out["late"] = s
	s = staging(t)
	s.Secondary.Injector.ShortestPulse = 6e-3
	out["long secondary"] = s
	s = staging(t)
	s.Secondary.PerCylinder, s.Secondary.Injector.RatedFlow = 2, 1600*ccPerMinute
	out["big secondary"] = s
	s = staging(t)
	s.Secondary.Injector.RatedFlow = 60 * ccPerMinute
	out["small secondary"] = s
	s = staging(t)
	s.Secondary = injector.Set{}
	out["one set"] = s
	s = staging(t)
	s.Primary.Injector.ShortestPulse = 0
	s.Secondary.Injector.ShortestPulse = 0
	out["no shortest pulse"] = s
	return out
}

func TestSplitInvariants(t *testing.T) {
	const steps = 4000
	for name, s := range extremes(t) {
		for _, speed := range []float64{900, 3000, 7800} {
			c := conditions()
			c.Speed = speed * rpm
			var last injector.Split
			switches := 0
			for i := 1; i <= steps; i++ {
				fuel := 400e-6 * float64(i) / steps
				x := split(t, s, fuel, c)
				where := fmt.Sprintf("%s, %v rpm, %v kg", name, speed, fuel)
				// Fuel in is fuel out, and nothing is made up.
				require.InEpsilon(t, fuel, x.Primary.Fuel+x.Secondary.Fuel-x.Surplus, 1e-12, where)
				require.Equal(t, x.Mode == injector.BelowShortest, x.Surplus > 0, where)
				// Each pulse delivers the fuel that is claimed for it.
				require.InEpsilon(t, x.Primary.Fuel, (x.Primary.Pulse-x.Primary.DeadTime)*x.Primary.MassFlow, 1e-9, where)
				// Neither set below its shortest pulse.
				require.GreaterOrEqual(t, x.Primary.Pulse, s.Primary.Injector.ShortestPulse-1e-15, where)
				if x.Secondary.Fuel > 0 {
					require.GreaterOrEqual(t, x.Secondary.Pulse, s.Secondary.Injector.ShortestPulse-1e-15, where)
				}
				// More fuel never takes any from the secondary, which comes in once.
				require.GreaterOrEqual(t, x.Secondary.Fuel, last.Secondary.Fuel, where)
				if x.Secondary.Fuel > 0 && last.Secondary.Fuel == 0 {
					switches++
				} else if i > 1 && s.Blend > 0 {
					// Elsewhere small steps of fuel are small steps of each set: by the band's steepness, at most
					// share · (start + band)/band, some ten times the step here.
					require.Less(t, math.Abs(x.Secondary.Fuel-last.Secondary.Fuel), 20*400e-6/steps, where)
				}
				last = x
			}
			assert.LessOrEqual(t, switches, 1, name)
		}
	}
}

func TestMaxFuel(t *testing.T) {
	s, c := staging(t), conditions()
	// Both sets past the band, limited at 85 % of 20 ms, 17 ms: the secondary, with its longer dead time, has 15.9 ms of
	// 10.8375 mg/ms, 172.31625 mg, which is 850/1500 of 304.0875 mg.
	m, err := s.MaxFuel(0.85, c)
	require.NoError(t, err)
	assert.InDelta(t, 304.0875e-6, m, 1e-12)
	// Below the start duty the primary alone: 50 % is 9 ms of 8.2875 mg/ms.
	m, err = s.MaxFuel(0.5, c)
	require.NoError(t, err)
	assert.InDelta(t, 74.5875e-6, m, 1e-15)
	// One set alone: 16 ms.
	s.Secondary = injector.Set{}
	m, err = s.MaxFuel(0.85, c)
	require.NoError(t, err)
	assert.InDelta(t, 132.6e-6, m, 1e-15)
}

func TestMaxFuelIsTheFirstOverTheLimit(t *testing.T) {
	over := func(x injector.Split, limit float64) bool {
		return x.Primary.Duty > limit*(1+1e-9) || x.Secondary.Duty > limit*(1+1e-9)
	}
	for name, s := range extremes(t) {
		for _, speed := range []float64{900, 3000, 7800} {
			for _, limit := range []float64{0.15, 0.4, 0.65, 0.85, 1} {
				c := conditions()
				c.Speed = speed * rpm
				where := fmt.Sprintf("%s, %v rpm, limit %v", name, speed, limit)
				m, err := s.MaxFuel(limit, c)
				if err != nil {
					assert.ErrorContains(t, err, "shortest pulse", where)
					continue
				}
				for i := 1; i <= 2000; i++ {
					if x := split(t, s, m*float64(i)/2000, c); x.Mode != injector.BelowShortest {
						require.False(t, over(x, limit), "%s: over at %v of %v", where, m*float64(i)/2000, m)
					}
				}
				x := split(t, s, m*(1+1e-6), c)
				assert.True(t, over(x, limit), "%s: nothing over just past %v", where, m)
			}
		}
	}
}

func TestVoltageOutsideTheTable(t *testing.T) {
	s, c := staging(t), conditions()
	c.Voltage = 15
	x := split(t, s, 50e-6, c)
	assert.True(t, x.Primary.DeadTimeHeld)
	assert.Equal(t, 1.0e-3, x.Primary.DeadTime)
	c.Voltage = 13.5
	assert.False(t, split(t, s, 50e-6, c).Primary.DeadTimeHeld)
}

func TestRefusals(t *testing.T) {
	for _, p := range []struct {
		change func(*injector.Staging)
		want   string
	}{
		{func(s *injector.Staging) { s.Primary.PerCylinder = 0 }, "primary injectors a cylinder are 0; want at least 1"},
		{func(s *injector.Staging) { s.Secondary.PerCylinder = -1 }, "secondary injectors a cylinder are -1; want 0 or more"},
		{func(s *injector.Staging) { s.Primary.Injector.RatedFlow = 0 }, "primary: injector rated flow is 0 m³/s; want more than 0"},
		{func(s *injector.Staging) { s.Secondary.Injector.TestPressure = math.NaN() }, "secondary: injector test pressure is NaN Pa; want more than 0"},
		{func(s *injector.Staging) { s.Primary.Injector.TestDensity = -1 }, "primary: injector test density is -1 kg/m³; want more than 0"},
		{func(s *injector.Staging) { s.Primary.Injector.DeadTime = numeric.Curve{} }, "primary: injector dead time is not given"},
		{func(s *injector.Staging) { s.Primary.Injector.ShortestPulse = math.Inf(1) }, "primary: injector's shortest pulse is +Inf s; want 0 or more"},
		{func(s *injector.Staging) { s.StartDuty = 1.2 }, "staging start duty is 1.2; want more than 0 and at most 1"},
		{func(s *injector.Staging) { s.Blend = math.NaN() }, "staging blend is NaN; want 0 or more"},
	} {
		s := staging(t)
		p.change(&s)
		assert.EqualError(t, s.Validate(), p.want)
		_, err := s.Split(50e-6, conditions())
		assert.EqualError(t, err, p.want)
		_, err = s.MaxFuel(0.8, conditions())
		assert.EqualError(t, err, p.want)
	}
	for _, p := range []struct {
		change func(*injector.Conditions)
		want   string
	}{
		{func(c *injector.Conditions) { c.Speed = 0 }, "engine speed is 0 rad/s; want more than 0"},
		{func(c *injector.Conditions) { c.PressureDifference = -1 }, "pressure difference over the injectors is -1 Pa; want more than 0"},
		{func(c *injector.Conditions) { c.FuelDensity = math.NaN() }, "fuel density is NaN kg/m³; want more than 0"},
		{func(c *injector.Conditions) { c.Voltage = math.Inf(1) }, "supply voltage is +Inf V; want more than 0"},
	} {
		s, c := staging(t), conditions()
		p.change(&c)
		_, err := s.Split(50e-6, c)
		assert.EqualError(t, err, p.want)
	}
	s := staging(t)
	_, err := s.Split(math.NaN(), conditions())
	assert.EqualError(t, err, "fuel of a cycle is NaN kg; want 0 or more")
	_, err = s.Split(-1, conditions())
	assert.Error(t, err)
	_, err = s.MaxFuel(1.1, conditions())
	assert.EqualError(t, err, "duty limit is 1.1; want more than 0 and at most 1")
	_, err = s.MaxFuel(0.01, conditions())
	assert.ErrorContains(t, err, "less than the primary injectors' shortest pulse")
	s.Primary.Injector.DeadTime = numeric.Constant(-1)
	_, err = s.Split(50e-6, conditions())
	assert.ErrorContains(t, err, "primary dead time is -1 s at 14 V; want 0 or more")
	in := primary(t).Injector
	_, err = in.RatingFor(0, 3e5, 740)
	assert.EqualError(t, err, "mass flow is 0 kg/s; want more than 0")
}

func ExampleStaging_Split() {
	s := injector.Staging{
		Primary: injector.Set{PerCylinder: 1, Injector: injector.Injector{
			RatedFlow: 650e-6 / 60, TestPressure: 3e5, TestDensity: 765, DeadTime: numeric.Constant(1e-3), ShortestPulse: 1.6e-3,
		}},
	}
	c := injector.Conditions{Speed: 6000 * math.Pi / 30, PressureDifference: 3e5, FuelDensity: 765, Voltage: 14}
	x, err := s.Split(41.4375e-6, c)
	fmt.Printf("%s: %.1f ms, %.0f %% %v\n", x.Mode, x.Primary.Pulse*1e3, x.Primary.Duty*100, err)
	// Output: primary: 6.0 ms, 30 % <nil>
}

func BenchmarkSplit(b *testing.B) {
	s, c := staging(b), conditions()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.Split(116e-6, c); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkMaxFuel(b *testing.B) {
	s, c := staging(b), conditions()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.MaxFuel(0.85, c); err != nil {
			b.Fatal(err)
		}
	}
}
