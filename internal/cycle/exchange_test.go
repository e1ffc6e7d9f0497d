package cycle

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/gas"
)

// The valve's flow function against the isentropic flow relations (NACA Report 1135, through gas.FlowFunction, which has its own published
// table), forwards and, from the other side, backwards.
func TestOutflow(t *testing.T) {
	for _, gamma := range []float64{1.25, 1.33, 1.4} {
		o := outflowOf(gamma)
		for _, r := range []float64{0.2, 0.54, 0.57, 0.6, 0.8, 0.9, 0.95, 0.99, 0.9999} {
			u := -math.Log(r)
			assert.InEpsilon(t, gas.FlowFunction(r, gamma), o.overRoot(u)*math.Sqrt(u), 1e-7, "%v %v", gamma, r)
		}
		for _, r := range []float64{0.6, 0.9, 0.999} { // the cylinder's pressure over the exhaust's
			u := math.Log(r)
			assert.InEpsilon(t, gas.FlowFunction(r, gamma)/r, o.overRoot(u)*math.Sqrt(-u), 1e-7, "%v %v", gamma, r)
		}
		assert.InEpsilon(t, math.Sqrt2, o.overRoot(0), 1e-12, "next to no difference ψ is √(2 Δp/p)")
		assert.InEpsilon(t, o.overRoot(1e-9), o.overRoot(-1e-9), 1e-8)
	}
	for _, c := range []float64{-0.3, -1e-6, 0, 1e-9, 0.02, 1} {
		u := implicit(c, 0.7)
		assert.InDelta(t, c, u+0.7*math.Copysign(math.Sqrt(math.Abs(u)), u), 1e-15)
	}
}

// constant returns a gas of constant heat capacity that stands for exhaust: R 287 J/(kg K), γ 4/3.
func constant(t testing.TB) gas.Mixture {
	fit := gas.Fit{0, 0, 4, 0, 0, 0, 0, 0, 0}
	m, err := gas.NewSpecies(8.314462618/287, fit, fit)
	require.NoError(t, err)
	return m
}

// Blowdown and push-out of a gas of constant heat capacity against an integration of its own: mass and internal energy of the open system
// (Heywood 1988, §14.2) in explicit steps of a thousandth of a degree, with gas.FlowFunction as the valve. Work and what stays behind agree to
// 0.3 % of the work at the step the cycle uses, from slow to fast and from hardly any to strong blowdown.
func TestReleaseAgainstOpenSystem(t *testing.T) {
	c, in := invented(t)
	in.Unburned, in.Burned = constant(t), constant(t)
	m, err := New(c)
	require.NoError(t, err)
	const r, cv = 287.0, 287.0 * 3 // γ 4/3
	opens := c.Valves.ExhaustOpeningAngle()
	for _, run := range []struct{ rpm, pressure, temperature, back float64 }{
		{1500, 3e5, 1300, 1e5}, {6000, 8e5, 1700, 2e5}, {9000, 11e5, 1750, 2.6e5}, {3000, 1.1e5, 1100, 1e5}, {2000, 0.7e5, 1000, 1.02e5},
	} {
		in.Speed = run.rpm * rpm
		in.Mass = run.pressure * c.Cylinder.Volume(opens) / (r * run.temperature)
		res := Result{PressureEnd: run.pressure, TemperatureEnd: run.temperature, BurnedEnd: 1}
		var got Release
		require.NoError(t, m.Release(&in, &res, run.back, &got))

		expansion, work, heat, mass, temperature := openSystem(c, &in, &res, run.back, r, func(float64) float64 { return cv })
		whole := expansion - work
		assert.InDelta(t, expansion, got.Expansion, 3e-3*whole, "%+v", run)
		assert.InDelta(t, -work, got.PushOut, 3e-3*whole, "%+v", run)
		assert.InEpsilon(t, heat, got.Heat, 0.01, "%+v", run)
		assert.InEpsilon(t, mass, got.Mass, 0.01, "%+v", run)
		assert.InEpsilon(t, temperature, got.Temperature, 0.005, "%+v", run)
	}
}

// Of burned gas, whose heat capacity goes with its temperature, the one value that Release takes gives work, mass and temperature to 1 %.
func TestReleaseOfBurnedGas(t *testing.T) {
	c, in := invented(t)
	m, err := New(c)
	require.NoError(t, err)
	mix := in.mixture(1)
	r := mix.GasConstant()
	for _, run := range []struct{ rpm, pressure, temperature, back float64 }{
		{1500, 3e5, 1300, 1e5}, {6000, 8e5, 1700, 2e5}, {9000, 11e5, 1900, 2.6e5},
	} {
		in.Speed = run.rpm * rpm
		in.Mass = run.pressure * c.Cylinder.Volume(c.Valves.ExhaustOpeningAngle()) / (r * run.temperature)
		res := Result{PressureEnd: run.pressure, TemperatureEnd: run.temperature, BurnedEnd: 1}
		var got Release
		require.NoError(t, m.Release(&in, &res, run.back, &got))
		expansion, work, _, mass, temperature := openSystem(c, &in, &res, run.back, r, func(t float64) float64 { return mix.Cp(t) - r })
		whole := expansion - work
		assert.InDelta(t, expansion, got.Expansion, 0.01*whole, "%+v", run)
		assert.InDelta(t, -work, got.PushOut, 0.01*whole, "%+v", run)
		assert.InEpsilon(t, mass, got.Mass, 0.01, "%+v", run)
		assert.InEpsilon(t, temperature, got.Temperature, 0.01, "%+v", run)
	}
}

// openSystem integrates mass and internal energy of the cylinder in steps of a thousandth of a degree, for a gas constant r and cv at a temperature.
func openSystem(c Config, in *Input, res *Result, back, r float64, cvAt func(float64) float64) (expansion, work, heat, mass, temperature float64) {
	opens := c.Valves.ExhaustOpeningAngle()
	mass, temperature = in.Mass, res.TemperatureEnd
	pressure := res.PressureEnd
	film := c.HeatFactor / in.Speed
	speed := 6.18 * c.Cylinder.MeanPistonSpeed(in.Speed)
	const h = 1e-3 * deg
	for theta := opens; theta < 2*math.Pi; theta += h {
		if theta > math.Pi && expansion == 0 {
			expansion, work = work, 0
		}
		cv := cvAt(temperature)
		gamma := 1 + r/cv
		dv := c.Cylinder.VolumeSlope(theta)
		flow := 0.0
		if ratio := back / pressure; ratio < 1 {
			flow = c.Valves.ExhaustFlowArea(theta) * pressure / math.Sqrt(r*temperature) * gas.FlowFunction(ratio, gamma)
		} else if ratio > 1 {
			flow = -c.Valves.ExhaustFlowArea(theta) * back / math.Sqrt(r*temperature) * gas.FlowFunction(1/ratio, gamma)
		}
		q := film * woschni(c.Cylinder.Bore, pressure, temperature, speed) * c.Cylinder.WallArea(theta, chamberArea) * (temperature - c.WallTemperature)
		temperature += h * (-pressure*dv - r*temperature*flow/in.Speed - q) / (mass * cv)
		mass -= h * flow / in.Speed
		work += h * pressure * dv
		heat += h * q
		pressure = mass * r * temperature / c.Cylinder.Volume(theta+h)
	}
	return expansion, work, heat, mass, temperature
}

// With the valve all but shut nothing leaves, and without heat the gas is back on its own isentrope at the top.
func TestReleaseShut(t *testing.T) {
	c, in := invented(t)
	in.Unburned, in.Burned = constant(t), constant(t)
	c.HeatFactor, c.Valves.ExhaustFlow = 0, 1e-9
	m, err := New(c)
	require.NoError(t, err)
	v0 := c.Cylinder.Volume(c.Valves.ExhaustOpeningAngle())
	in.Mass = 3e5 * v0 / (287 * 1000)
	var got Release
	require.NoError(t, m.Release(&in, &Result{PressureEnd: 3e5, TemperatureEnd: 1000, BurnedEnd: 1}, 1e5, &got))
	// The step's second order leaves 1 % over a compression of eight to one.
	assert.InEpsilon(t, 3e5*math.Pow(v0/c.Cylinder.ClearanceVolume(), 4.0/3), got.Pressure, 0.01)
	assert.InEpsilon(t, 1000*math.Cbrt(v0/c.Cylinder.ClearanceVolume()), got.Temperature, 0.003)
}

// A later opening keeps expansion work, a larger valve pushes out for less, and a faster engine loses more in the valve.
func TestReleaseTrends(t *testing.T) {
	c, in := invented(t)
	release := func(c Config, in Input) Release {
		m, err := New(c)
		require.NoError(t, err)
		var r Result
		require.NoError(t, m.Run(&in, &r))
		var out Release
		require.NoError(t, m.Release(&in, &r, 1.5e5, &out))
		return out
	}
	base := release(c, in)
	big := c
	big.Valves.ExhaustDiameter = 0.034
	assert.Less(t, release(big, in).PushOut, base.PushOut)
	fast := in
	fast.Speed *= 1.4
	assert.Greater(t, release(c, fast).PushOut, base.PushOut)
	slow := in
	slow.Speed /= 6
	ideal := 1.5e5 * c.Cylinder.Displacement()
	assert.InEpsilon(t, ideal, release(c, slow).PushOut, 0.02, "slow, the piston pushes against the exhaust's pressure alone")
}

func TestReleaseErrors(t *testing.T) {
	c, in := invented(t)
	m, err := New(c)
	require.NoError(t, err)
	var out Release
	assert.ErrorIs(t, m.Release(&in, &Result{PressureEnd: 5e5, TemperatureEnd: 1500, BurnedEnd: 0.9}, math.NaN(), &out), ErrState)
	assert.ErrorIs(t, m.Release(&in, &Result{PressureEnd: 5e5, TemperatureEnd: 1500, BurnedEnd: 0.9}, 1e9, &out), ErrState)
	assert.Zero(t, testing.AllocsPerRun(20, func() {
		_ = m.Release(&in, &Result{PressureEnd: 5e5, TemperatureEnd: 1500, BurnedEnd: 0.9}, 1.5e5, &out)
	}))
}

func BenchmarkRelease(b *testing.B) {
	c, in := invented(b)
	m, err := New(c)
	require.NoError(b, err)
	var r Result
	require.NoError(b, m.Run(&in, &r))
	var out Release
	b.ReportAllocs()
	for b.Loop() {
		if err := m.Release(&in, &r, 1.6e5, &out); err != nil {
			b.Fatal(err)
		}
	}
}
