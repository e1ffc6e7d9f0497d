package check_test

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/injector"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
	"bellmouth/internal/supply"
	"bellmouth/internal/units"
)

// fed returns a full load whose engine takes 100 L/h, with what main and lift pumps give, L/h.
func fed(n, pumps, lift float64) run.Feed {
	return run.Feed{
		Speed: n * rpm, Solved: true, Demand: 100 * spectest.LitreAnHour, Lift: lift * spectest.LitreAnHour,
		Operation: supply.Operation{Margin: pumps/100 - 1},
	}
}

// judged wants a finding with its remark only where it is not all well.
func judged(t *testing.T, f check.Finding, ok bool, verdict check.Verdict) check.Finding {
	t.Helper()
	require.True(t, ok)
	assert.Equal(t, verdict, f.Verdict, "%s: %s", f.What, f.Remark)
	assert.Equal(t, verdict == check.OK, f.Remark == "", f.What)
	assert.NotEmpty(t, f.ID)
	return f
}

// TestPumps: less than the demand fails, 10 % more than it is well, and the worst speed is named for each.
func TestPumps(t *testing.T) {
	fs := check.Pumps([]run.Feed{fed(3000, 150, 111), fed(5000, 110.1, 180), fed(6000, 130, 130)}, true)
	require.Len(t, fs, 2)
	pumps, lift := judged(t, fs[0], true, check.OK), judged(t, fs[1], true, check.OK)
	assert.Equal(t, "fuel pump margin", pumps.What)
	assert.InDelta(t, 5000*rpm, pumps.Speed, 1e-9)
	assert.InDelta(t, 0.101, pumps.Margin(), 1e-12)
	assert.Equal(t, "lift pump margin", lift.What)
	assert.InDelta(t, 3000*rpm, lift.Speed, 1e-9)
	assert.InDelta(t, 0.11, lift.Margin(), 1e-12)

	fs = check.Pumps([]run.Feed{fed(3000, 103, 99)}, true)
	assert.Equal(t, "below 10 % nothing is left for a loaded filter and worn pumps", judged(t, fs[0], true, check.Note).Remark)
	judged(t, fs[1], true, check.Fail)
	assert.Len(t, check.Pumps([]run.Feed{fed(3000, 103, 99)}, false), 1, "without lift pumps none are judged")

	// What cannot be judged must not pass.
	ends := fed(6000, 0, 150)
	ends.Err = errors.New("the curve ends")
	fs = check.Pumps([]run.Feed{fed(3000, 150, 150), ends}, true)
	require.Len(t, fs, 1)
	assert.Equal(t, "the curve ends", judged(t, fs[0], true, check.Fail).Remark)
	assert.InDelta(t, 6000*rpm, fs[0].Speed, 1e-9)
	unknown := fed(3000, 150, 0)
	unknown.LiftErr = ends.Err
	fs = check.Pumps([]run.Feed{unknown}, true)
	assert.Equal(t, "the curve ends", judged(t, fs[1], true, check.Fail).Remark)

	// A full load without a solution says nothing of the pumps.
	assert.Empty(t, check.Pumps([]run.Feed{{Speed: 3000 * rpm}}, true))
	assert.Empty(t, check.Pumps(nil, true))
}

// TestPumpsOfTheEngine: the pumps of a spec, on the engine that they feed.
func TestPumpsOfTheEngine(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 3000, 7500)
	pumps := func() []check.Finding { return check.Pumps(r.Feeds(), r.Trim.Supply.Lift != nil) }
	for _, f := range pumps() {
		judged(t, f, true, check.OK)
	}
	// 80 L/h of lift pumps are less than the engine takes, and against 2 bar a curve that ends at 1 bar tells nothing.
	r.Trim.Supply.Lift.Pumps = spectest.Pump(t, map[float64]float64{0: 120, 1: 80}, 0, 1)
	judged(t, pumps()[1], true, check.Fail)
	r.Trim.Supply.Lift.Pressure = 2e5
	f := judged(t, pumps()[1], true, check.Fail)
	assert.True(t, math.IsNaN(f.Value))

	spectest.FitPumps(r.Trim, spectest.Pump(t, map[float64]float64{0: 200, 3: 150, 5: 120, 8: 60}, 0, 3, 5, 8))
	f = judged(t, pumps()[0], true, check.Fail)
	assert.Equal(t, "fuel pump margin", f.What)
	assert.InDelta(t, 7500*rpm, f.Speed, 1e-9)

	// 3 % over the demand is a note. Petrol of the example has 747 kg/m³ at 30 °C.
	takes := r.Outcomes[1].Point.FuelFlow / 747 / spectest.LitreAnHour
	spectest.FitPumps(r.Trim, spectest.Pump(t, map[float64]float64{0: 1.06 * takes, 8: 1.02 * takes}, 0, 8))
	r.Trim.Supply.Voltage = 12
	judged(t, pumps()[0], true, check.Note)

	spectest.FitPumps(r.Trim, spectest.Pump(t, map[float64]float64{0: 400, 3: 350}, 0, 3))
	judged(t, pumps()[0], true, check.Fail)
}

// TestTank: 28 litres, 32 less a reserve of 4, hold a stage of 2.6 litres; one does not.
func TestTank(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 3000, 7500)
	f, ok := check.Tank(r)
	assert.InDelta(t, 28e-3, judged(t, f, ok, check.OK).Value, 1e-12)
	r.Trim.Supply.Tank.Volume = 5e-3
	f, ok = check.Tank(r)
	judged(t, f, ok, check.Fail)
	r.Trim.Supply.Use = nil
	_, ok = check.Tank(r)
	assert.False(t, ok)
}

func TestWeakBattery(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 3000, 7500)
	f, ok := check.WeakBattery(r, r.Battery())
	judged(t, f, ok, check.OK)
	assert.Equal(t, "injector duty with the battery at 11.00 V", units.Resolve(f.What, units.Metric))

	// At 7000 rpm and 11 V the injectors are open for 65.1 % of 17.1 ms, 1.42 ms of it dead time, 8.3 %. At 0.6 of their flow
	// that is 56.8/0.6 + 8.3 = 103.0 %, which does not fit; at 0.648 of it 96.0 %.
	tired := runtest.Solved(t, spectest.ClubFour, "free", 3000, 7000)
	tired.Trim.Supply = nil
	tired.Trim.Injection.Staging.Primary.Injector.RatedFlow *= 0.6
	f, ok = check.WeakBattery(tired, tired.Battery())
	assert.InDelta(t, 1.030, judged(t, f, ok, check.Fail).Value, 2e-3)
	tired.Trim.Injection.Staging.Primary.Injector.RatedFlow *= 1.08
	f, ok = check.WeakBattery(tired, tired.Battery())
	assert.Equal(t, "above the 90 % that the spec allows", judged(t, f, ok, check.Note).Remark)

	// A rail below the manifold's pressure gives nothing.
	tired.Trim.Injection.RailPressure = 1
	tired.Outcomes[1].Point.ManifoldPressure = tired.Trim.Venue.Pressure + 2
	f, ok = check.WeakBattery(tired, tired.Battery())
	assert.Equal(t, "no pressure is left over the injectors", judged(t, f, ok, check.Fail).Remark)

	// A pump tested at 16 V alone tells nothing below 12 V: the rest is judged, and the doubt said.
	curve := []supply.Point{{Rise: 0, Flow: 600 * spectest.LitreAnHour}, {Rise: 9e5, Flow: 300 * spectest.LitreAnHour}}
	high, err := supply.NewPump([]supply.Test{{Voltage: 16, Points: curve}})
	require.NoError(t, err)
	spectest.FitPumps(r.Trim, high)
	judged(t, check.Pumps(r.Feeds(), false)[0], true, check.OK)
	f, ok = check.WeakBattery(r, r.Battery())
	assert.Equal(t, "the rail pressure is taken as it is: voltage at the pumps is 11.70 V; the pumps' curve tells from 12.00 V to 20.00 V",
		units.Resolve(judged(t, f, ok, check.Note).Remark, units.Metric))

	r.Trim.Injection = nil
	_, ok = check.WeakBattery(r, r.Battery())
	assert.False(t, ok)
}

// TestLightLoadPulse: injectors too large for light load get their shortest pulse there, which is a note that says by how much it is too long.
func TestLightLoadPulse(t *testing.T) {
	trim := spectest.Trim(t, spectest.ClubFour, "free")
	r := runtest.Solve(t, trim, 2000, 6000)
	f, ok := check.LightLoadPulse(r)
	require.True(t, ok)
	assert.Equal(t, check.OK, f.Verdict)
	assert.Equal(t, "at a MAP of 0.40 bar abs", units.Resolve(f.Remark, units.Metric))
	// Pulse = fuel/flow + dead time, at the speed named and solved there by itself.
	v := r.Engine.NewSolver()
	p, err := v.Solve(airpath.Demand{Speed: f.Speed, Target: 40e3, Throttled: true})
	require.NoError(t, err)
	in := r.Trim.Injection // at the voltage that arrives
	density, err := trim.Fuel.Grade.DensityAt(trim.Fuel.Temperature)
	require.NoError(t, err)
	dead, _ := in.Staging.Primary.Injector.DeadTime.At(in.SupplyVoltage)
	flow := float64(in.Staging.Primary.PerCylinder) * in.Staging.Primary.Injector.MassFlow(in.RailPressure+trim.Venue.Pressure-40e3, density)
	assert.InEpsilon(t, p.FuelPerCycle/flow+dead, f.Value, 1e-5)
	for _, n := range []float64{2000, 3000, 4000, 5000, 6000} {
		p, err := v.Solve(airpath.Demand{Speed: n * rpm, Target: 40e3, Throttled: true})
		require.NoError(t, err)
		assert.GreaterOrEqual(t, p.FuelPerCycle/flow+dead, f.Value*(1-1e-3), "%v rpm", n)
	}

	trim.Injection.Staging.Primary.Injector.RatedFlow *= 8
	f, ok = check.LightLoadPulse(runtest.Solve(t, trim, 2000, 6000))
	require.True(t, ok)
	assert.Equal(t, "note", f.Verdict.String())
	assert.Negative(t, f.Margin())
	assert.Regexp(t, `; the shortest pulse gives \d+ % too much fuel there$`, f.Remark)

	r.Trim.Injection.Staging.Primary.Injector.ShortestPulse = 0
	_, ok = check.LightLoadPulse(r)
	assert.False(t, ok)
}

// TestStartOf: between the earliest and the latest a start suits, and half of what is printed, 0.05 % of duty, beyond them.
func TestStartOf(t *testing.T) {
	s := injector.Suggestion{StartDuty: 0.3, Latest: 0.9}
	for duty, want := range map[float64]string{
		0.2994: "too early", 0.2996: "between the two", 0.6: "between the two", 0.9004: "between the two", 0.9006: "too late",
	} {
		assert.Equal(t, want, check.StartOf(duty, s).String(), "%v", duty)
	}
}

func TestCountPlane(t *testing.T) {
	point := func(n, primary, secondary, surplus float64) run.PlanePoint {
		c := &boost.Cell{Point: airpath.Point{RailDifference: 3e5, FuelPerCycle: 10e-6}}
		c.Point.Injection = injector.Split{Primary: injector.Delivery{Duty: primary}, Secondary: injector.Delivery{Duty: secondary}, Surplus: surplus}
		return run.PlanePoint{Speed: n * rpm, Pressure: 40e3, Cell: c}
	}
	lost, dry := point(5000, 0.95, 0, 9e-6), point(5000, 0.95, 0, 9e-6)
	lost.Err, dry.Point.RailDifference = errors.New("no way"), 0
	got := check.CountPlane([]run.PlanePoint{
		point(1000, 0.1, 0, 1e-6), point(1500, 0.1, 0, 3e-6), point(2000, 0.1, 0, 2e-6), point(3000, 0.9, 0, 0), point(3500, 0.9*(1+0.9e-4), 0, 0),
		point(4000, 0.9*(1+1.1e-4), 0, 0), point(4500, 0.5, 0.92, 0), lost, dry,
	}, 0.9)
	assert.Equal(t, 3, got.Short)
	assert.Equal(t, 2, got.Over, "a tenth of a per mille of the duty allowed still counts as on it")
	assert.InDelta(t, 1500*rpm, got.Richest.Speed, 1e-9)
	assert.InDelta(t, 0.3, got.Surplus, 1e-12)
}

// TestSlack: a tenth of a per mille of the limit, or of a margin's whole, still counts as on it; what is not a number never does.
func TestSlack(t *testing.T) {
	assert.False(t, check.Passes(200.019, 200))
	assert.True(t, check.Passes(200.021, 200))
	assert.False(t, check.Passes(-1, 0))
	assert.True(t, check.Passes(math.NaN(), 200))
	assert.False(t, check.Lacks(0.04991, 0.05))
	assert.True(t, check.Lacks(0.04989, 0.05))
	assert.False(t, check.Lacks(-0.00009, 0))
	assert.True(t, check.Lacks(-0.00011, 0))
	assert.True(t, check.Lacks(math.NaN(), 0))
	degree := math.Pi / 180
	assert.False(t, check.Late(8.09*degree, 8*degree))
	assert.True(t, check.Late(8.11*degree, 8*degree))
}
