package turbine_test

import (
	"fmt"
	"math"
	"testing"

	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
	"bellmouth/internal/refdata"
	"bellmouth/internal/turbine"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func constant() turbine.Turbine {
	return turbine.Turbine{EffectiveArea: 7.5e-4, Efficiency: numeric.Constant(0.70), MechanicalEfficiency: 0.97, Count: 1}
}

// bladed has an efficiency over blade speed ratio, invented.
func bladed(t testing.TB) turbine.Turbine {
	curve, err := numeric.NewCurve([]float64{0.3, 0.5, 0.68, 0.8, 1.0}, []float64{0.48, 0.66, 0.73, 0.69, 0.50})
	require.NoError(t, err)
	tb := turbine.Turbine{EffectiveArea: 7.5e-4, Efficiency: curve, Wheel: 0.056, MechanicalEfficiency: 0.97, Count: 2}
	require.NoError(t, tb.Validate())
	return tb
}

func exhaust() turbine.Gas { return turbine.Gas{Gamma: 1.33, GasConstant: 287, Cp: 1157} }

func inlet() turbine.Inlet {
	return turbine.Inlet{Gas: exhaust(), Temperature: 1150, OutletPressure: 108e3, ShaftSpeed: 120000 * math.Pi / 30}
}

func TestExpansionTable(t *testing.T) {
	// expansion.csv: Dixon, Fluid Mechanics and Thermodynamics of Turbomachinery, ch. 2; closed form to 12 digits.
	for _, r := range refdata.Read(t, "expansion.csv") {
		g := turbine.Gas{Gamma: r.F(t, "gamma"), GasConstant: 287, Cp: r.F(t, "cp_J_kgK")}
		t3, er, eta := r.F(t, "T3_K"), r.F(t, "p3_Pa")/r.F(t, "p4_Pa"), r.F(t, "isentropic_efficiency")
		w := turbine.Work(g, t3, er, eta)
		assert.InEpsilon(t, r.F(t, "work_J_kg"), w, 1e-10)
		assert.InEpsilon(t, r.F(t, "T4_K"), turbine.OutletTemperature(g, t3, w), 1e-10)
		assert.InEpsilon(t, r.F(t, "T4_isentropic_K"), turbine.OutletTemperature(g, t3, turbine.Work(g, t3, er, 1)), 1e-10)
		assert.InEpsilon(t, r.F(t, "power_W"), w*r.F(t, "mdot_kg_s"), 1e-10)
	}
}

func TestTurbochargerBalanceExample(t *testing.T) {
	// Nag, Power Plant Engineering, example 11.2, recomputed to 12 digits.
	x := map[string]float64{}
	for _, r := range refdata.Read(t, "textbook_examples.csv") {
		if r["example"] == "turbocharger_balance" {
			x[r["quantity"]] = r.F(t, "value")
		}
	}
	g := turbine.Gas{Gamma: x["gamma_gas"], GasConstant: 287, Cp: x["cp_gas"]}
	w := turbine.Work(g, x["T_turbine_in"], x["p_turbine_in"]/x["p_turbine_out"], x["turbine_isentropic_efficiency"])
	assert.InEpsilon(t, x["T_turbine_out"], turbine.OutletTemperature(g, x["T_turbine_in"], w)-273, 1e-9)
	perAir := w * (1 + 1/x["air_fuel_ratio"]) / 1e3
	assert.InEpsilon(t, x["turbine_work_per_kg_air"], perAir, 1e-9)
	assert.InEpsilon(t, x["mechanical_loss_share_of_turbine_work"], 100*(1-x["compressor_work_per_kg_air"]/perAir), 1e-9)
}

func TestSwallowTable(t *testing.T) {
	// nozzle_flow.csv, isentropic relations of NACA Report 1135: the throat at p/p0 is a turbine at ER = p0/p.
	for _, r := range refdata.Read(t, "nozzle_flow.csv") {
		d := r.F(t, "throat_diameter_mm") / 1e3
		g := turbine.Gas{Gamma: r.F(t, "gamma"), GasConstant: r.F(t, "R_J_kgK"), Cp: 1150}
		ratio := r.F(t, "throat_p_over_p0")
		in := turbine.Inlet{Gas: g, Temperature: r.F(t, "T0_K"), OutletPressure: ratio * r.F(t, "p0_Pa")}
		tb := constant()
		tb.EffectiveArea = math.Pi / 4 * d * d
		flow := r.F(t, "mdot_ideal_kg_s")
		assert.InEpsilon(t, flow, tb.Swallow(in, 1/ratio), 1e-9)

		op, ok := tb.ExpansionForFlow(in, flow) // and back
		assert.True(t, ok)
		assert.InEpsilon(t, 1/ratio, op.ExpansionRatio, 1e-9)

		// A wastegate lifted fully is the same nozzle; so is one at half the lift and half the flow.
		w := turbine.Wastegate{Bore: d, Lift: d / 4, Discharge: 1, Count: 1}
		n := turbine.Nozzle{
			Pressure: r.F(t, "p0_Pa"), Temperature: in.Temperature, OutletPressure: in.OutletPressure,
			Gamma: g.Gamma, GasConstant: g.GasConstant,
		}
		assert.InEpsilon(t, flow, w.MaxFlow(n), 1e-9)
		lift, ok := w.LiftFor(n, flow/2)
		assert.True(t, ok)
		assert.InEpsilon(t, d/8, lift, 1e-9)
	}
}

func TestBladeSpeedRatio(t *testing.T) {
	// Hand calculation: cp 1157, T3 1150 K, ER 2, γ 1.33: 2^(−0.33/1.33) = 0.84198; C0 = √(2 · 1157 · 1150 · 0.15802)
	// = 648.5 m/s; the tip, 56 mm at 120 000 rpm, runs at 351.86 m/s; their ratio is 0.5426.
	assert.InDelta(t, 648.5, turbine.SpoutingVelocity(exhaust(), 1150, 2), 0.1)
	tb := bladed(t)
	op := tb.Operate(inlet(), 2)
	assert.InDelta(t, 0.5426, op.BladeSpeedRatio, 1e-4)
	assert.False(t, op.EfficiencyHeld)
	slow := inlet()
	slow.ShaftSpeed = 1000
	op = tb.Operate(slow, 2)
	assert.True(t, op.EfficiencyHeld)
	assert.Equal(t, 0.48, op.Efficiency)
	c := constant()
	op = c.Operate(inlet(), 2)
	assert.False(t, op.EfficiencyHeld)
	assert.Zero(t, op.BladeSpeedRatio)
}

func TestEnthalpyDropIsPowerOverFlow(t *testing.T) {
	// First law: what the gas loses is what reaches the compressor and the bearings' loss.
	two := bladed(t)
	for _, tb := range []turbine.Turbine{constant(), two} {
		for _, er := range []float64{1.01, 1.3, 1.85, 1.9, 2.6, 5} {
			in := inlet()
			op := tb.Operate(in, er)
			drop := in.Gas.Cp * (in.Temperature - turbine.OutletTemperature(in.Gas, in.Temperature, op.SpecificWork))
			assert.InEpsilon(t, drop, op.Power/tb.MechanicalEfficiency/op.MassFlow, 1e-9)
		}
	}
}

func TestPowerFindsItsExpansion(t *testing.T) {
	// The answer is put in first: each expansion ratio's own power must lead back to it, whatever the start.
	two := bladed(t)
	for i, tb := range []turbine.Turbine{constant(), two} {
		in := inlet()
		for _, er := range []float64{1.0001, 1.01, 1.2, 1.8, 1.85, 1.9, 2.6, 4, 5.99} {
			want := tb.Operate(in, er)
			for _, start := range []float64{0, 1, 1.2, 2, 5.9, 7, math.NaN(), math.Inf(1)} {
				op, ok := tb.ExpansionForPower(in, want.Power, start)
				assert.True(t, ok)
				assert.InEpsilon(t, er-1, op.ExpansionRatio-1, 1e-8, "turbine %d, %v from %v", i, er, start)
				assert.InEpsilon(t, want.Power, op.Power, 1e-8)
				assert.LessOrEqual(t, op.Iterations, 15)
			}
		}
	}
}

func TestMorePowerNeverLessExpansion(t *testing.T) {
	two := bladed(t)
	for _, tb := range []turbine.Turbine{constant(), two} {
		in := inlet()
		most := tb.Operate(in, turbine.MaxExpansionRatio).Power
		last := 1.0
		for i := 1; i < 3000; i++ {
			op, ok := tb.ExpansionForPower(in, most*float64(i)/3000, last)
			require.True(t, ok)
			assert.Greater(t, op.ExpansionRatio, last)
			last = op.ExpansionRatio
		}
	}
}

func TestPowerBeyondReach(t *testing.T) {
	tb := bladed(t)
	in := inlet()
	most := tb.Operate(in, turbine.MaxExpansionRatio)
	for _, start := range []float64{0, 1.5, 5.9} {
		op, ok := tb.ExpansionForPower(in, 1.001*most.Power, start)
		assert.False(t, ok)
		assert.Equal(t, most.ExpansionRatio, op.ExpansionRatio)
		assert.InEpsilon(t, most.Power, op.Power, 1e-12)
		op, ok = tb.ExpansionForPower(in, 1e12, start)
		assert.False(t, ok)
		assert.Equal(t, most.ExpansionRatio, op.ExpansionRatio)
		op, ok = tb.ExpansionForPower(in, most.Power, start)
		assert.True(t, ok)
		assert.InEpsilon(t, turbine.MaxExpansionRatio, op.ExpansionRatio, 1e-8)
	}
	op, ok := tb.ExpansionForPower(in, 1e-20, 2) // an expansion ratio that rounds to 1
	assert.True(t, ok)
	assert.InDelta(t, 1, op.ExpansionRatio, 1e-12)
	op, ok = tb.ExpansionForPower(in, 0, 2)
	assert.True(t, ok)
	assert.Equal(t, 1.0, op.ExpansionRatio)
	assert.Zero(t, op.MassFlow)
	_, ok = tb.ExpansionForPower(in, math.NaN(), 2)
	assert.False(t, ok)
	in.Temperature = math.NaN()
	_, ok = tb.ExpansionForPower(in, 1e4, 2)
	assert.False(t, ok)
}

func TestExpansionForFlow(t *testing.T) {
	tb := bladed(t)
	in := inlet()
	for _, er := range []float64{1.000001, 1.1, 1.84, 1.851, 1.86, 3, 6} { // chokes at 1.8506 for γ = 1.33
		op, ok := tb.ExpansionForFlow(in, tb.Swallow(in, er))
		assert.True(t, ok)
		assert.InEpsilon(t, er, op.ExpansionRatio, 1e-9)
		assert.Equal(t, er > 1.8506, op.Choked)
	}
	op, ok := tb.ExpansionForFlow(in, 1.01*tb.Swallow(in, 6))
	assert.False(t, ok)
	assert.Equal(t, turbine.MaxExpansionRatio, op.ExpansionRatio)
	op, ok = tb.ExpansionForFlow(in, 0)
	assert.True(t, ok)
	assert.Zero(t, op.MassFlow)
	_, ok = tb.ExpansionForFlow(in, math.NaN())
	assert.False(t, ok)
}

func TestTwoTurbinesShare(t *testing.T) {
	one := bladed(t)
	one.Count = 1
	two := bladed(t)
	assert.InEpsilon(t, 2*one.Swallow(inlet(), 2.2), two.Swallow(inlet(), 2.2), 1e-12)
	assert.InEpsilon(t, 2*one.Operate(inlet(), 2.2).Power, two.Operate(inlet(), 2.2).Power, 1e-12)
}

// The factors of pulses multiply flow and power at one expansion ratio, by definition, and the searches find the way back.
func TestPulseFactors(t *testing.T) {
	for _, tb := range []turbine.Turbine{constant(), bladed(t)} {
		steady, pulsed := inlet(), inlet()
		pulsed.Pulse = turbine.Pulse{Flow: 0.9, Power: 1.08}
		// Found at one expansion ratio they are that there, weaken above it and grow below.
		found := turbine.Pulse{Flow: 0.8, Power: 1.3, ExpansionRatio: 1.8}
		f, g := found.Factors(1.8)
		assert.InEpsilon(t, 0.8, f, 1e-12)
		assert.InEpsilon(t, 1.3, g, 1e-12)
		f, g = found.Factors(1)
		assert.InEpsilon(t, math.Pow(0.8, math.Sqrt2), f, 1e-12)
		assert.InEpsilon(t, math.Pow(1.3, math.Sqrt2), g, 1e-12)
		f, g = found.Factors(1e12)
		assert.InDelta(t, 1, f, 1e-5)
		assert.InDelta(t, 1, g, 1e-5)
		fading := inlet()
		fading.Pulse = found
		lastPower, lastFlow := 0.0, 0.0
		for er := 1.01; er < 6; er *= 1.07 {
			op := tb.Operate(fading, er)
			assert.Greater(t, op.Power, lastPower)
			assert.Greater(t, op.MassFlow, lastFlow)
			lastPower, lastFlow = op.Power, op.MassFlow
			back, ok := tb.ExpansionForPower(fading, op.Power, 2)
			assert.True(t, ok)
			assert.InEpsilon(t, er-1, back.ExpansionRatio-1, 1e-8)
			back, ok = tb.ExpansionForFlow(fading, op.MassFlow)
			assert.True(t, ok)
			assert.InEpsilon(t, er-1, back.ExpansionRatio-1, 1e-8)
		}
		last := 1.0
		for _, er := range []float64{1.001, 1.1, 1.5, 1.85, 2.4, 4, 5.99} {
			a, b := tb.Operate(steady, er), tb.Operate(pulsed, er)
			assert.InEpsilon(t, 0.9*a.MassFlow, b.MassFlow, 1e-12)
			assert.InEpsilon(t, 1.08*a.Power, b.Power, 1e-12)
			assert.InEpsilon(t, b.Power/tb.MechanicalEfficiency, b.MassFlow*b.SpecificWork, 1e-12)
			back, ok := tb.ExpansionForPower(pulsed, b.Power, 2)
			assert.True(t, ok)
			assert.InEpsilon(t, er-1, back.ExpansionRatio-1, 1e-8)
			assert.Greater(t, back.ExpansionRatio, last)
			last = back.ExpansionRatio
			back, ok = tb.ExpansionForFlow(pulsed, b.MassFlow)
			assert.True(t, ok)
			assert.InEpsilon(t, er-1, back.ExpansionRatio-1, 1e-8)
		}
		// A valve beside the turbine passes what its share of the area says, in a steady stream and under pulses.
		w := turbine.Wastegate{Bore: 0.04, Lift: 0.01, Discharge: 0.7, Count: 1}
		for _, in := range []turbine.Inlet{steady, pulsed} {
			n := turbine.Nozzle{
				Pressure: 2 * in.OutletPressure, Temperature: in.Temperature, OutletPressure: in.OutletPressure, Gamma: in.Gas.Gamma,
				GasConstant: in.Gas.GasConstant, Pulse: in.Pulse,
			}
			share := 0.7 * w.OpenArea(1) / (float64(tb.Count) * tb.EffectiveArea)
			assert.InEpsilon(t, share*tb.Swallow(in, 2), w.MaxFlow(n), 1e-12)
			lift, ok := w.LiftFor(n, w.MaxFlow(n)/2)
			assert.True(t, ok)
			assert.InEpsilon(t, 0.005, lift, 1e-9)
		}
	}
}

// Power balance of the shaft: what the gas gives is what compressors and bearings take.
func TestBearings(t *testing.T) {
	// By hand: a friction torque of 1e-6 N m per rad/s takes 110 W at 100 000 rpm and 355 W at 180 000 rpm.
	const thousand = 1000 * math.Pi / 30
	tb := constant()
	tb.BearingLoss = 1e-6
	assert.InDelta(t, 110, tb.BearingPower(100*thousand), 0.5)
	assert.InDelta(t, 355, tb.BearingPower(180*thousand), 0.5)
	// The default lies within what is quoted from memory for wheels of 40 mm to 50 mm: 0.2 kW to 0.5 kW and 0.6 kW to 1.5 kW, and
	// two to four times 1e-6 N m s, which is from memory too.
	tb.BearingLoss = turbine.DefaultBearingLoss(0.045)
	assert.True(t, tb.BearingPower(100*thousand) > 200 && tb.BearingPower(100*thousand) < 500)
	assert.True(t, tb.BearingPower(180*thousand) > 600 && tb.BearingPower(180*thousand) < 1500)
	assert.True(t, tb.BearingLoss/1e-6 >= 2 && tb.BearingLoss/1e-6 <= 4)
	assert.InEpsilon(t, 8*turbine.DefaultBearingLoss(0.03), turbine.DefaultBearingLoss(0.06), 1e-12)

	for _, tb := range []turbine.Turbine{constant(), bladed(t)} {
		tb.BearingLoss = 3e-6
		in := inlet()
		loss := float64(tb.Count) * 3e-6 * in.ShaftSpeed * in.ShaftSpeed
		for _, er := range []float64{1.02, 1.3, 2.2, 5} {
			op := tb.Operate(in, er)
			assert.InEpsilon(t, tb.MechanicalEfficiency*op.MassFlow*op.SpecificWork, op.Power+loss, 1e-12)
			assert.InEpsilon(t, op.MassFlow*op.SpecificWork, tb.WorkFor(op.Power, in), 1e-12)
			back, ok := tb.ExpansionForPower(in, op.Power, 2)
			assert.True(t, ok)
			assert.InEpsilon(t, er-1, back.ExpansionRatio-1, 1e-8)
		}
		// Compressors that take nothing leave the bearings to be driven, and those that give what the bearings take leave nothing.
		op, ok := tb.ExpansionForPower(in, 0, 2)
		assert.True(t, ok)
		assert.InDelta(t, 0, op.Power, 1e-6*loss)
		assert.Greater(t, op.ExpansionRatio, 1.0)
		op, ok = tb.ExpansionForPower(in, -loss, 2)
		assert.True(t, ok)
		assert.Equal(t, 1.0, op.ExpansionRatio)
		assert.InEpsilon(t, -loss, op.Power, 1e-12)
		assert.Zero(t, tb.WorkFor(-2*loss, in))
		// A cap below what the shaft's speed asks for is what they take instead.
		in.BearingCap = loss / 3
		op = tb.Operate(in, 2.2)
		assert.InEpsilon(t, tb.MechanicalEfficiency*op.MassFlow*op.SpecificWork, op.Power+loss/3, 1e-12)
		in.BearingCap = 3 * loss
		op = tb.Operate(in, 2.2)
		assert.InEpsilon(t, tb.MechanicalEfficiency*op.MassFlow*op.SpecificWork, op.Power+loss, 1e-12)
	}
}

func TestGasOf(t *testing.T) {
	// The products of burning a hydrocarbon of H/C 1.87 with the right amount of air, in moles, from its equation:
	// CH1.87 + 1.4675 (O2 + 3.7274 N2 + 0.0445 Ar). The work of the real mixture comes from its enthalpy between the temperature before and
	// that of the same entropy at the lower pressure, found by halving.
	var c gas.Composition
	c[gas.CO2], c[gas.H2O], c[gas.N2], c[gas.Ar] = 1, 0.935, 5.470, 0.0653
	mix, err := gas.NewMixture(c)
	require.NoError(t, err)
	for _, t3 := range []float64{900, 1150, 1300} {
		for _, er := range []float64{1.05, 1.5, 2.5, 4, 6} {
			lo, hi := t3/2, t3
			for range 60 {
				mid := (lo + hi) / 2
				if mix.Entropy(t3)-mix.Entropy(mid) > mix.GasConstant()*math.Log(er) {
					lo = mid
				} else {
					hi = mid
				}
			}
			real := mix.Enthalpy(t3) - mix.Enthalpy(lo)
			g := turbine.GasOf(&mix, t3, er)
			assert.InEpsilon(t, real, turbine.Work(g, t3, er, 1), 3e-4, "T3 %v, ER %v", t3, er)
		}
	}
	// Without expansion it is the mixture as it is.
	g := turbine.GasOf(&mix, 1150, 1)
	assert.InEpsilon(t, mix.Cp(1150), g.Cp, 1e-12)
	assert.InEpsilon(t, mix.Gamma(1150), g.Gamma, 1e-12)
}

func TestTurbineRefusals(t *testing.T) {
	steep, err := numeric.NewCurve([]float64{0.2, 0.4, 0.7}, []float64{0.1, 0.6, 0.7}) // sixfold over a doubling
	require.NoError(t, err)
	high, err := numeric.NewCurve([]float64{0.4, 0.7}, []float64{0.7, 1.2})
	require.NoError(t, err)
	zero, err := numeric.NewCurve([]float64{0, 0.7}, []float64{0.5, 0.7})
	require.NoError(t, err)
	for _, p := range []struct {
		change func(*turbine.Turbine)
		want   string
	}{
		{func(x *turbine.Turbine) { x.EffectiveArea = math.NaN() }, "effective area is NaN m²; want more than 0"},
		{func(x *turbine.Turbine) { x.MechanicalEfficiency = 1.1 }, "mechanical efficiency is 1.1; want more than 0 and at most 1"},
		{func(x *turbine.Turbine) { x.BearingLoss = math.NaN() }, "bearing loss is NaN N m s; want 0 or more"},
		{func(x *turbine.Turbine) { x.Count = 0 }, "turbine count is 0; want at least 1"},
		{func(x *turbine.Turbine) { x.Efficiency = numeric.Curve{} }, "turbine efficiency is not given"},
		{func(x *turbine.Turbine) { x.Efficiency = numeric.Constant(0) }, "turbine efficiency is 0; want more than 0 and at most 1"},
		{func(x *turbine.Turbine) { x.Wheel = math.NaN() }, "wheel diameter is NaN m; want 0 or more"},
		{func(x *turbine.Turbine) { x.Wheel = 0 }, "turbine efficiency is given over the blade speed ratio; the wheel's diameter is needed too"},
		{func(x *turbine.Turbine) { x.Efficiency = zero }, "turbine efficiency starts at a blade speed ratio of 0; want more than 0"},
		{func(x *turbine.Turbine) { x.Efficiency = high }, "want more than 0 and at most 1"},
		{func(x *turbine.Turbine) { x.Efficiency = steep }, "turbine efficiency rises faster than the square of the blade speed ratio near"},
	} {
		x := bladed(t)
		p.change(&x)
		assert.ErrorContains(t, x.Validate(), p.want)
	}
	c := constant()
	assert.NoError(t, c.Validate())
}

func TestWastegate(t *testing.T) {
	w := turbine.Wastegate{Bore: 0.038, Lift: 0.012, Discharge: 0.72, Count: 2}
	require.NoError(t, w.Validate())
	// Hand calculation: curtain 2 π 38 · 5 = 1193.8 mm² at 5 mm; from 9.5 mm on the seats, 2 π/4 38² = 2268.2 mm².
	assert.InDelta(t, 1193.8e-6, w.OpenArea(0.005), 1e-7)
	assert.InDelta(t, 2268.2e-6, w.OpenArea(0.0095), 1e-7)
	assert.Equal(t, w.OpenArea(0.0095), w.OpenArea(0.012))
	assert.Equal(t, w.OpenArea(0.012), w.OpenArea(1))
	assert.Zero(t, w.OpenArea(-0.001))
	w.Lift = 0.004 // stops short of the seats' area
	assert.InDelta(t, 955.0e-6, w.OpenArea(0.012), 1e-7)

	n := turbine.Nozzle{Pressure: 240e3, Temperature: 1150, OutletPressure: 108e3, Gamma: 1.33, GasConstant: 287}
	most := w.MaxFlow(n)
	lift, ok := w.LiftFor(n, most)
	assert.True(t, ok)
	assert.InEpsilon(t, 0.004, lift, 1e-12)
	lift, ok = w.LiftFor(n, 1.001*most)
	assert.False(t, ok)
	assert.Equal(t, 0.004, lift)
	lift, ok = w.LiftFor(n, 0)
	assert.True(t, ok)
	assert.Zero(t, lift)
	_, ok = w.LiftFor(n, math.NaN())
	assert.False(t, ok)
	n.Pressure = 100e3 // below the pressure behind
	assert.Zero(t, w.MaxFlow(n))
	_, ok = w.LiftFor(n, 0.01)
	assert.False(t, ok)

	for _, p := range []struct {
		w    turbine.Wastegate
		want string
	}{
		{turbine.Wastegate{Lift: 1, Discharge: 1, Count: 1}, "wastegate bore is 0 m; want more than 0"},
		{turbine.Wastegate{Bore: 1, Lift: math.NaN(), Discharge: 1, Count: 1}, "wastegate lift is NaN m; want more than 0"},
		{turbine.Wastegate{Bore: 1, Lift: 1, Discharge: 1.2, Count: 1}, "wastegate discharge coefficient is 1.2; want more than 0 and at most 1"},
		{turbine.Wastegate{Bore: 1, Lift: 1, Discharge: 1}, "wastegate count is 0; want at least 1"},
	} {
		assert.EqualError(t, p.w.Validate(), p.want)
	}
}

// The figures printed are those of halving the interval on the same two formulas, done apart from this code.
func ExampleTurbine_ExpansionForPower() {
	t := turbine.Turbine{EffectiveArea: 7.5e-4, Efficiency: numeric.Constant(0.70), MechanicalEfficiency: 0.97, Count: 1}
	in := turbine.Inlet{
		Gas:         turbine.Gas{Gamma: 1.33, GasConstant: 287, Cp: 1157},
		Temperature: 1150, OutletPressure: 108e3,
	}
	op, ok := t.ExpansionForPower(in, 25e3, 2)
	fmt.Printf("expansion ratio %.3f, %.4f kg/s %v\n", op.ExpansionRatio, op.MassFlow, ok)
	// Output: expansion ratio 1.933, 0.1834 kg/s true
}

func BenchmarkExpansionForPower(b *testing.B) {
	for _, p := range []struct {
		name string
		tb   turbine.Turbine
	}{{"constant", constant()}, {"bladed", bladed(b)}} {
		for _, start := range []float64{0, 2.19} { // from nothing, and from 3 % off
			b.Run(fmt.Sprintf("%s/start=%v", p.name, start), func(b *testing.B) {
				in, tb := inlet(), p.tb
				power := tb.Operate(in, 2.126).Power
				b.ReportAllocs()
				for b.Loop() {
					if _, ok := tb.ExpansionForPower(in, power, start); !ok {
						b.Fatal("not found")
					}
				}
			})
		}
	}
}

func BenchmarkOperate(b *testing.B) {
	in, tb := inlet(), bladed(b)
	b.ReportAllocs()
	for b.Loop() {
		tb.Operate(in, 2.1)
	}
}
