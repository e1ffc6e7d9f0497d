package sheet

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/fuel"
	"bellmouth/internal/injector"
	"bellmouth/internal/render"
	"bellmouth/internal/supply"
	"bellmouth/internal/table"
)

const litreAnHour = 1e-3 / 3600

// pump returns a pump tested at 12 V by its flows, L/h, at pressures, bar.
func pump(t testing.TB, flowAt map[float64]float64, pressures ...float64) *supply.Pump {
	t.Helper()
	test := supply.Test{Voltage: 12}
	for _, p := range pressures {
		test.Points = append(test.Points, supply.Point{Rise: p * 1e5, Flow: flowAt[p] * litreAnHour})
	}
	made, err := supply.NewPump([]supply.Test{test})
	require.NoError(t, err)
	return made
}

// withPumps returns the hillclimb engine's open trim with other pumps and nothing but them.
func withPumps(t testing.TB, pumps supply.Source, speeds ...float64) *Run {
	t.Helper()
	r := solved(t, hillclimb, "open", speeds...)
	sup := *r.Trim.Supply
	sup.System = supply.System{Pumps: pumps}
	sup.Lift = nil
	r.Trim.Supply = &sup
	return r
}

// TestSupplyByHand: the fuel system of the example at 7500 rpm, 5.55 bar of rail above the venue.
func TestSupplyByHand(t *testing.T) {
	r := solved(t, hillclimb, "open", 1500, 7500)
	s, ok := r.Supply()
	require.True(t, ok)
	require.NoError(t, s.Check())
	get := func(row int, key string) float64 { return at(t, s, row, key).Number() }
	p := &r.Outcomes[1].Point
	assert.InDelta(t, 4e5+p.ManifoldPressure-r.Trim.Venue.Pressure, get(1, "rail_pressure_pa"), 1e-6, "the rail follows the manifold")
	for row := range 2 {
		assert.InEpsilon(t, get(row, "rail_pressure_pa")+get(row, "line_loss_pa")+get(row, "filter_loss_pa"), get(row, "pump_rise_pa"), 1e-9)
		assert.InEpsilon(t, get(row, "pump_flow_m3_s")-get(row, "fuel_volume_flow_m3_s"), get(row, "return_flow_m3_s"), 1e-9)
		assert.InEpsilon(t, get(row, "pump_flow_m3_s")/get(row, "fuel_volume_flow_m3_s")-1, get(row, "pump_margin"), 1e-9)
	}
	liquid, err := supply.LiquidOf(r.Trim.Fuel.Grade, 303.15)
	require.NoError(t, err)
	// The line, 3.8 m of 10 mm with fittings of 7: at the pumps' flow v = Q/(π d²/4), Δp = (f L/d + 7) ρ v²/2, with f of
	// a smooth pipe by Blasius, 0.316/Re^0.25, which holds within 2 % here (White, Fluid Mechanics, §6.6).
	v := get(1, "pump_flow_m3_s") / (math.Pi * 0.010 * 0.010 / 4)
	reynolds := liquid.Density * v * 0.010 / liquid.Viscosity
	f := 0.316 / math.Pow(reynolds, 0.25)
	assert.InEpsilon(t, v, get(1, "line_velocity_m_s"), 1e-9)
	assert.InEpsilon(t, reynolds, get(1, "reynolds_number"), 1e-9)
	assert.InEpsilon(t, (f*380+7)*liquid.Density*v*v/2, get(1, "line_loss_pa"), 0.02)
	assert.Equal(t, "turbulent", at(t, s, 1, "line_regime").Text())
	// Two pumps at 13.2 V, straight between the tests at 12 V and 13.5 V: 0.2 and 0.8 of them. Between 5 and 7 bar the curves
	// bend so little that the straight line through those points is within 1 %.
	bar := get(1, "pump_rise_pa") / 1e5
	low, high := 148+(104-148)*(bar-5)/2, 192+(149-192)*(bar-5)/2
	assert.InEpsilon(t, 2*(0.2*low+0.8*high)*litreAnHour, get(1, "pump_flow_m3_s"), 0.01)
	assert.Contains(t, s.Notes[1], "Worst at 7500 rpm")
}

// TestSupplyShort: pumps that give less than the engine takes, and a curve that ends before the rail's pressure.
func TestSupplyShort(t *testing.T) {
	small := pump(t, map[float64]float64{0: 200, 3: 150, 5: 120, 8: 60}, 0, 3, 5, 8)
	r := withPumps(t, small, 2000, 7500)
	s, ok := r.Supply()
	require.True(t, ok)
	require.NoError(t, s.Check())
	assert.False(t, hasColumn(s, "line_loss_pa") || hasColumn(s, "lift_margin"))
	assert.Positive(t, at(t, s, 0, "pump_margin").Number())
	assert.Negative(t, at(t, s, 1, "pump_margin").Number())
	assert.Zero(t, at(t, s, 1, "return_flow_m3_s").Number())
	rail := at(t, s, 1, "rail_pressure_pa")
	assert.Equal(t, table.Failed, rail.Tone())
	assert.Less(t, rail.Number(), at(t, s, 1, "rail_asked_pa").Number())
	assert.Regexp(t, `^Worst at 7500 rpm: .* and the rail falls from 5\.55 bar to`, s.Notes[1])
	assert.Equal(t, "The spec gives no line, no filter, no return line: no loss is counted there.", s.Notes[2])
	fs := r.FeedFindings()
	assert.Equal(t, "fuel pump margin", fs[0].What)
	assert.Equal(t, check.Fail, fs[0].Verdict)
	assert.InDelta(t, 7500*perRPM, fs[0].Speed, 1e-9)

	r = withPumps(t, pump(t, map[float64]float64{0: 400, 3: 350}, 0, 3), 2000, 7500)
	s, ok = r.Supply()
	require.True(t, ok)
	require.NoError(t, s.Check())
	ends := at(t, s, 1, "pump_flow_m3_s")
	assert.Equal(t, "pressure rise wanted of the pumps is 5.55 bar; the pumps' curve tells from 0.00 bar to 3.00 bar", ends.Note())
	fs = r.FeedFindings()
	assert.Equal(t, check.Fail, fs[0].Verdict, "what cannot be judged must not pass")
	sag, ok := r.Sag()
	require.True(t, ok)
	assert.False(t, hasColumn(sag[0], "pump_flow_m3_s"))
	assert.Contains(t, strings.Join(sag[0].Notes, " "), "The pumps are left out, and the rail is taken to hold: pressure rise wanted")
}

// TestFuelUseByHand: 95 s, 55 % of them at full flow, 30 % at 0.4 of it and 15 % at 0.08: 0.55 + 0.12 + 0.012 = 0.682 of it.
func TestFuelUseByHand(t *testing.T) {
	r := solved(t, hillclimb, "open", 5000, 7500)
	use := r.FuelUse()
	require.NoError(t, use.Check())
	get := func(key string) float64 { return at(t, use, 0, key).Number() }
	density, err := r.Trim.Fuel.Grade.DensityAt(303.15)
	require.NoError(t, err)
	q := r.Outcomes[1].Point.FuelFlow / density
	assert.InEpsilon(t, q, get("full_load_use_m3_s"), 1e-9)
	assert.InDelta(t, 7500*perRPM, get("full_load_use_rpm"), 1e-9)
	assert.InEpsilon(t, 0.682*q, get("mean_use_m3_s"), 1e-9)
	assert.InEpsilon(t, 95*0.682*q, get("fuel_use_m3"), 1e-9)
	assert.InEpsilon(t, 95*0.682*q*density, get("run_fuel_kg"), 1e-9)
	assert.InEpsilon(t, 28e-3/q, get("full_load_time_s"), 1e-9) // 32 L less 4 L of reserve
	assert.InEpsilon(t, 28e-3/(0.682*q), get("tank_time_s"), 1e-9)
	assert.Equal(t, math.Floor(28e-3/(95*0.682*q)), get("tank_runs"))
	assert.InEpsilon(t, 4e-3+95*0.682*q, get("fill_m3"), 1e-9)
}

// TestSag: the row of the spec's voltage is the operating point of the full load; the pumps are short just below the voltage
// found, and not above it.
func TestSag(t *testing.T) {
	r := solved(t, hillclimb, "open", 7500)
	all, b, err := r.sags()
	require.NoError(t, err)
	require.NoError(t, b.why)
	require.True(t, b.pumped)
	p := &r.Outcomes[0].Point
	assert.InDelta(t, 13.5, all[0].rows[1].Voltage, 1e-12)
	assert.InEpsilon(t, p.Injection.Primary.Duty, all[0].rows[1].Injection.Primary.Duty, 1e-9)
	assert.InEpsilon(t, p.Injection.Secondary.Pulse, all[0].rows[1].Injection.Secondary.Pulse, 1e-9)

	// A single pump of 150 L/h at 5.55 bar and 12 V.
	r = withPumps(t, pump(t, map[float64]float64{0: 230, 3: 185, 5: 159, 8: 110}, 0, 3, 5, 8), 5000, 7500)
	tables, ok := r.Sag()
	require.True(t, ok)
	require.Len(t, tables, 2)
	for _, made := range tables {
		require.NoError(t, made.Check())
	}
	require.Len(t, tables[0].Rows, 7)
	last := math.Inf(1)
	for row := range tables[0].Rows {
		flow := at(t, tables[0], row, "pump_flow_m3_s").Number()
		assert.Less(t, flow, last, "less voltage, less flow")
		last = flow
	}
	limits := tables[1]
	assert.Equal(t, "pumps short, rail pressure falls", at(t, limits, 0, "sag_limit").Text())
	v := at(t, limits, 0, "sag_voltage_v").Number()
	assert.InDelta(t, 7500*perRPM, at(t, limits, 0, "sag_rpm").Number(), 1e-9)
	assert.Contains(t, limits.Notes[0], "First of all: pumps short, rail pressure falls, at ")
	liquid, err := r.liquid()
	require.NoError(t, err)
	o := &r.Outcomes[1].Point
	margin := func(battery float64) float64 {
		op, err := r.Trim.Supply.System.At(supply.State{
			Voltage: battery - 0.3, RailPressure: 4e5 + o.ManifoldPressure - r.Trim.Venue.Pressure, Demand: o.FuelFlow / liquid.Density, Liquid: liquid,
		})
		require.NoError(t, err)
		return op.Margin
	}
	assert.InDelta(t, 0.3, r.pumpDrop(), 1e-12, "13.5 V at the injectors, 13.2 V at the pumps")
	assert.Negative(t, margin(v-1e-6))
	assert.Positive(t, margin(v+1e-6))
}

// TestSagOfInjectors: without pumps the duty alone rises with the dead time, and the voltage found is where it passes its limit.
func TestSagOfInjectors(t *testing.T) {
	r := solved(t, hillclimb, "open", 5000, 5500, 7500)
	r.Trim.Supply = nil
	r.Trim.Limits.InjectorDuty = 0.615
	tables, ok := r.Sag()
	require.True(t, ok)
	assert.False(t, hasColumn(tables[0], "pump_flow_m3_s"))
	limits := tables[1]
	require.Len(t, limits.Rows, 2)
	v := at(t, limits, 0, "sag_voltage_v")
	assert.NotEmpty(t, v.Note(), "the primary passes 61.5 % at 14 V already at 5500 rpm")

	r = solved(t, hillclimb, "open", 5000, 7500)
	r.Trim.Supply = nil
	r.Trim.Limits.InjectorDuty = 0.615
	tables, ok = r.Sag()
	require.True(t, ok)
	limits = tables[1]
	o := &r.Outcomes[0].Point
	density, err := r.Trim.Fuel.Grade.DensityAt(303.15)
	require.NoError(t, err)
	duty := func(voltage float64) float64 {
		s, err := r.Trim.Injection.Staging.Split(o.FuelPerCycle, injector.Conditions{Speed: o.Speed, PressureDifference: 4e5, FuelDensity: density, Voltage: voltage})
		require.NoError(t, err)
		return s.Primary.Duty
	}
	at5000 := at(t, limits, 0, "sag_voltage_v").Number()
	assert.Greater(t, duty(at5000-1e-3), 0.615)
	assert.Less(t, duty(at5000+1e-3), 0.615)
	assert.Equal(t, table.NoValue, at(t, limits, 1, "sag_voltage_v").Content(), "the secondary holds")
}

// TestFuelTemperature: mass flow through an orifice goes with √ρ, so that the square of its change is the density's.
func TestFuelTemperature(t *testing.T) {
	r := solved(t, hillclimb, "open", 5000)
	f := r.FuelTemperature()
	require.NoError(t, f.Check())
	density := at(t, f, 0, "density_change").Number()
	flow := at(t, f, 0, "injector_flow_change").Number()
	assert.InEpsilon(t, 1+density, (1+flow)*(1+flow), 1e-12)
	assert.InEpsilon(t, 1, (1+flow)*(1+at(t, f, 0, "lambda_change").Number()), 1e-12)
	// Petrols expand by 0.095 to 0.1 % a kelvin (common practice, no source): 50 K of it.
	assert.InDelta(t, -0.049, density, 0.003)
	r.Trim.Injection = nil
	f = r.FuelTemperature()
	assert.False(t, hasColumn(f, "lambda_change"))
}

// TestFeedFindings holds what is judged and when it fails.
func TestFeedFindings(t *testing.T) {
	find := func(r *Run, what string) (check.Finding, bool) {
		for _, f := range r.FeedFindings() {
			if strings.HasPrefix(f.What, what) {
				return f, true
			}
		}
		return check.Finding{}, false
	}
	want := func(r *Run, what string, verdict check.Verdict) check.Finding {
		f, ok := find(r, what)
		require.True(t, ok, what)
		assert.Equal(t, verdict, f.Verdict, "%s: %s", what, f.Remark)
		assert.Equal(t, f.Verdict == check.OK || f.What == "primary pulse at light load", f.Remark == "" || f.What == "primary pulse at light load")
		return f
	}
	r := solved(t, hillclimb, "open", 3000, 7500)
	assert.Len(t, r.FeedFindings(), 5)
	want(r, "fuel pump margin", check.OK)
	want(r, "lift pump margin", check.OK)
	want(r, "primary pulse", check.OK)
	want(r, "injector duty", check.OK)
	tank := want(r, "fuel in the tank", check.OK)
	assert.InDelta(t, 28e-3, tank.Value, 1e-12)
	assert.NoError(t, r.Checks(r.FeedFindings()).Check())

	// Five litres less four of reserve do not hold a run of 2.6 litres; 3 % over the demand is a note.
	r.Trim.Supply.Tank.Volume = 5e-3
	want(r, "fuel in the tank", check.Fail)
	takes := r.Outcomes[1].Point.FuelFlow / 747 / litreAnHour
	flat := pump(t, map[float64]float64{0: 1.06 * takes, 8: 1.02 * takes}, 0, 8)
	note := withPumps(t, flat, 7500)
	note.Trim.Supply.Voltage = 12
	want(note, "fuel pump margin", check.Note)
	r.Trim.Supply.Lift.Pumps = pump(t, map[float64]float64{0: 120, 1: 80}, 0, 1)
	want(r, "lift pump margin", check.Fail)
	r.Trim.Supply.Lift.Pressure = 2e5
	want(r, "lift pump margin", check.Fail)

	// At 7000 rpm and 11 V the injectors are open for 65.3 % of 17.1 ms, 1.42 ms of it dead time, 8.3 %. At 0.6 of their flow
	// that is 57.0/0.6 + 8.3 = 103.3 %, which does not fit; at 0.648 of it 96.3 %.
	tired := solved(t, clubFour, "free", 3000, 7000)
	tired.Trim.Supply = nil
	tired.Trim.Injection.Staging.Primary.Injector.RatedFlow *= 0.6
	f := want(tired, "injector duty", check.Fail)
	assert.InDelta(t, 1.033, f.Value, 2e-3)
	tired.Trim.Injection.Staging.Primary.Injector.RatedFlow *= 1.08
	want(tired, "injector duty", check.Note)

	// A pump tested at 16 V alone tells nothing below 12 V: the rest is judged, and the doubt said.
	high, err := supply.NewPump([]supply.Test{{Voltage: 16, Points: []supply.Point{{Rise: 0, Flow: 600 * litreAnHour}, {Rise: 9e5, Flow: 300 * litreAnHour}}}})
	require.NoError(t, err)
	r = withPumps(t, high, 3000, 7500)
	want(r, "fuel pump margin", check.OK)
	f = want(r, "injector duty", check.Note)
	assert.Equal(t, "the rail is taken to hold: voltage at the pumps is 11.70 V; the pumps' curve tells from 12.00 V to 20.00 V", f.Remark)

	tired.Trim.Injection = nil
	assert.Empty(t, tired.FeedFindings())
}

// TestFeedTablesAreSound holds keys, titles and units of the fuel system's tables for what a spec may lack, and that each
// column is described.
func TestFeedTablesAreSound(t *testing.T) {
	described := map[string]bool{}
	for _, entries := range [][]formula.Entry{FeedFormulas(), Formulas(), supply.Formulas(), injector.Formulas(), airpath.Formulas(), fuel.Formulas()} {
		for _, e := range entries {
			described[e.Key] = true
		}
	}
	require.NoError(t, formula.Check(FeedFormulas()))
	runs := map[string]*Run{
		"open": solved(t, hillclimb, "open", 2000, 6000), "capped": solved(t, hillclimb, "capped", 2000, 6000),
		"naturally aspirated": solved(t, clubFour, "restricted", 2000, 6000),
	}
	for name, change := range map[string]func(r *Run){
		"no supply":    func(r *Run) { r.Trim.Supply = nil },
		"no pumps":     func(r *Run) { r.Trim.Supply.System.Pumps = nil },
		"no tank":      func(r *Run) { r.Trim.Supply.Tank = nil },
		"no use":       func(r *Run) { r.Trim.Supply.Use = nil },
		"no injection": func(r *Run) { r.Trim.Injection = nil },
		"one lost": func(r *Run) {
			r.Outcomes[1].Err = &airpath.PointError{Speed: r.Outcomes[1].Speed, Stage: "turbine", Reason: "no way"}
		},
		"all lost": func(r *Run) {
			for i := range r.Outcomes {
				r.Outcomes[i].Err = &airpath.PointError{Speed: r.Outcomes[i].Speed, Stage: "turbine", Reason: "no way"}
			}
		},
	} {
		runs[name] = solved(t, hillclimb, "open", 2000, 6000)
		change(runs[name])
	}
	for name, r := range runs {
		doc := table.Document{Command: "fuel", Tables: []table.Table{r.FuelUse(), r.FuelTemperature()}}
		add := func(made table.Table, ok bool) {
			if ok {
				doc.Tables = append(doc.Tables, made)
			}
		}
		plane := boost.SweepPlane(r.Engine, r.Trim.Boost.Target, nil, []float64{2000 * perRPM, 6000 * perRPM}, []float64{40e3, 80e3, 120e3})
		add(r.InjectionPlane(&plane))
		add(r.SecondSet())
		add(r.Supply())
		sag, _ := r.Sag()
		doc.Tables = append(doc.Tables, sag...)
		assert.NoError(t, doc.Check(), name)
		assert.NoError(t, render.Text(discard{}, doc, render.Options{}), name)
		for _, made := range doc.Tables {
			for _, c := range made.Columns {
				assert.True(t, described[c.Key], "%s: %s of %s", name, c.Key, made.Name)
			}
		}
		for _, f := range r.FeedFindings() {
			assert.NotEmpty(t, f.What, name)
		}
	}
	for name, lacks := range map[string]string{
		"no supply": "supply", "no pumps": "supply.pumps", "no tank": "supply.tank", "no use": "supply.use", "no injection": "injection",
	} {
		use := runs[name].FuelUse()
		assert.Equal(t, fmt.Sprintf("Not in the spec, and left out with what needs it: %s.", lacks), use.Notes[len(use.Notes)-1])
	}
}

// BenchmarkFeed is the fuel system of a trim at 14 speeds, plane, sag and findings among it.
func BenchmarkFeed(b *testing.B) {
	r := solved(b, hillclimb, "open", 1500)
	speeds := boost.Speeds(1500*perRPM, 7800*perRPM, 500*perRPM)
	r.Outcomes = boost.Sweep(r.Engine, r.Trim.Boost.Target, speeds)
	b.ReportAllocs()
	for b.Loop() {
		p := boost.SweepPlane(r.Engine, r.Trim.Boost.Target, nil, speeds, boost.Speeds(40e3, 260e3, 20e3))
		if _, ok := r.InjectionPlane(&p); !ok {
			b.Fatal("no plane")
		}
		if _, ok := r.Supply(); !ok {
			b.Fatal("no supply")
		}
		if _, ok := r.Sag(); !ok {
			b.Fatal("no sag")
		}
		if len(r.FeedFindings()) == 0 {
			b.Fatal("no findings")
		}
	}
}
