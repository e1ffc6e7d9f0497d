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
	"bellmouth/internal/render"
	"bellmouth/internal/run"
	"bellmouth/internal/spectest"
	"bellmouth/internal/supply"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// withPumps returns the hillclimb engine's open trim with other pumps and nothing but them.
func withPumps(t testing.TB, pumps supply.Source, speeds ...float64) *Run {
	t.Helper()
	r := solved(t, hillclimb, "open", speeds...)
	spectest.FitPumps(r.Trim, pumps)
	return r
}

// TestSupply: what the fuel system does at full load stands in the table; the figures by hand stand in package run.
func TestSupply(t *testing.T) {
	r := solved(t, hillclimb, "open", 1500, 7500)
	s, ok := r.Supply()
	require.True(t, ok)
	require.NoError(t, s.Check())
	for row, f := range r.Feeds() {
		for key, want := range map[string]float64{
			"rpm": f.Speed, "fuel_volume_flow_m3_s": f.Demand, "rail_pressure_pa": f.Operation.RailPressure, "rail_asked_pa": f.Asked,
			"line_loss_pa": f.Operation.LineLoss, "filter_loss_pa": f.Operation.FilterLoss, "pump_rise_pa": f.Operation.Rise,
			"pump_flow_m3_s": f.Operation.PumpFlow, "return_flow_m3_s": f.Operation.ReturnFlow, "return_loss_pa": f.Operation.ReturnLoss,
			"pump_margin": f.Margin(), "lift_flow_m3_s": f.Lift, "lift_margin": f.LiftMargin(),
			"line_velocity_m_s": f.Line.Velocity, "reynolds_number": f.Line.Reynolds, "friction_factor": f.Line.FrictionFactor,
		} {
			assert.Equal(t, want, at(t, s, row, key).Number(), key)
		}
	}
	assert.Equal(t, "turbulent", at(t, s, 1, "line_regime").Text())
	assert.Contains(t, s.In(units.Metric).Notes[1], "The margin is least at 7500 rpm")
	_, ok = r.Sag()
	assert.False(t, ok, "no limit is passed, so that there is no table")
	assert.Contains(t, s.In(units.Metric).Notes, "No limit is passed with a battery that sags to 11.00 V.")
}

// TestSupplyShort: pumps that give less than the engine takes, and a curve that ends before the rail's pressure.
func TestSupplyShort(t *testing.T) {
	small := spectest.Pump(t, map[float64]float64{0: 200, 3: 150, 5: 120, 8: 60}, 0, 3, 5, 8)
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
	assert.Regexp(t, `^The pumps are short at 7500 rpm\. .* and the rail falls from 5\.55 bar to`, s.In(units.Metric).Notes[1])
	assert.NotContains(t, strings.Join(s.Notes, " "), "battery", "its tables tell what the battery does")
	assert.Equal(t, "The spec gives no line, no filter, no return line: no loss is counted there.", s.Notes[2])

	r = withPumps(t, spectest.Pump(t, map[float64]float64{0: 400, 3: 350}, 0, 3), 2000, 7500)
	s, ok = r.Supply()
	require.True(t, ok)
	require.NoError(t, s.Check())
	ends := at(t, s, 1, "pump_flow_m3_s")
	assert.Equal(t, "pressure that the pumps have to give is 5.55 bar; the pumps' curve tells from 0.00 bar to 3.00 bar",
		units.Resolve(ends.Note(), units.Metric))
	left := "The pumps are left out of that, and the rail pressure is taken as it is: pressure that the pumps have to give"
	assert.Contains(t, strings.Join(s.Notes, " "), left)
	r.Trim.Limits.InjectorDuty = 0.4
	sag, ok := r.Sag()
	require.True(t, ok)
	assert.False(t, hasColumn(sag[0], "pump_flow_m3_s"))
	assert.Contains(t, strings.Join(sag[0].Notes, " "), left)
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

// TestSag: the worst full load and what breaks stand in the tables; the voltages are proved in package run.
func TestSag(t *testing.T) {
	// A single pump of 150 L/h at 5.55 bar and 12 V.
	r := withPumps(t, spectest.Pump(t, map[float64]float64{0: 230, 3: 185, 5: 159, 8: 110}, 0, 3, 5, 8), 5000, 7500)
	tables, ok := r.Sag()
	require.True(t, ok)
	require.Len(t, tables, 2)
	for _, made := range tables {
		require.NoError(t, made.Check())
	}
	require.Len(t, tables[0].Rows, 7)
	all, b, err := r.Sags()
	require.NoError(t, err)
	for row, want := range run.WorstSag(all).Rows {
		for key, x := range map[string]float64{
			"battery_voltage_v": want.Voltage, "pump_flow_m3_s": want.Supply.PumpFlow, "pump_margin": want.Supply.Margin,
			"rail_pressure_pa": want.Supply.RailPressure, "rail_difference_pa": want.PressureDifference,
			"primary_dead_time_s": want.Injection.Primary.DeadTime, "primary_pulse_s": want.Injection.Primary.Pulse, "primary_duty": want.Injection.Primary.Duty,
			"secondary_dead_time_s": want.Injection.Secondary.DeadTime, "secondary_pulse_s": want.Injection.Secondary.Pulse,
			"secondary_duty": want.Injection.Secondary.Duty,
		} {
			assert.Equal(t, x, at(t, tables[0], row, key).Number(), key)
		}
	}
	assert.False(t, tables[0].Columns[columnOf(t, tables[0], "secondary_duty")].Detail, "the second set works at 7500 rpm")
	limits, first := tables[1], r.Breaks(all, b.Pumped)[0]
	assert.Equal(t, "pumps short, rail pressure falls", at(t, limits, 0, "sag_limit").Text())
	assert.InDelta(t, first.Voltage, at(t, limits, 0, "sag_voltage_v").Number(), 1e-12)
	assert.InDelta(t, 7500*perRPM, at(t, limits, 0, "sag_rpm").Number(), 1e-9)
	assert.Contains(t, limits.Notes[0], "First of all: pumps short, rail pressure falls, at ")
}

// TestSagOfInjectors: without pumps their columns are left out, and a limit passed at the highest voltage already says so.
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
	assert.Equal(t, table.NoValue, at(t, limits, 1, "sag_voltage_v").Content(), "the secondary holds")

	r = solved(t, hillclimb, "open", 4500)
	r.Trim.Limits.InjectorDuty = 0.5
	tables, ok = r.Sag()
	require.True(t, ok)
	assert.True(t, tables[0].Columns[columnOf(t, tables[0], "secondary_duty")].Detail, "the second set does not work at 4500 rpm")
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

// TestFeedFindings: what package check has of the fuel system is judged where the spec has the parts.
func TestFeedFindings(t *testing.T) {
	r := solved(t, hillclimb, "open", 3000, 7500)
	fs := r.Review().Feed()
	assert.Equal(t, []string{"fuel-pump-margin", "lift-pump-margin", "injector-duty-weak-battery", "light-load-pulse", "tank-holds-stage"}, ids(fs))
	assert.NoError(t, r.Checks(fs).Check())
	fine, err := r.Judge()
	require.NoError(t, err)
	for _, id := range ids(fs) {
		assert.Contains(t, ids(fine), id)
	}
	r.Trim.Injection, r.Trim.Supply = nil, nil
	assert.Empty(t, check.At(r.Run).Feed())
}

// ids returns the ids of findings, in order.
func ids(fs []check.Finding) []string {
	var ids []string
	for _, f := range fs {
		ids = append(ids, f.ID)
	}
	return ids
}

// TestFeedTablesAreSound holds keys, titles and units of the fuel system's tables for what a spec may lack, and that each
// column is described.
func TestFeedTablesAreSound(t *testing.T) {
	described := map[string]bool{}
	for _, e := range Explained() {
		described[e.Key] = true
	}
	runs := map[string]*Run{
		"open": solved(t, hillclimb, "open", 2000, 6000), "capped": solved(t, hillclimb, "capped", 2000, 6000),
		"naturally aspirated": solved(t, clubFour, "restricted", 2000, 6000),
	}
	for name, change := range map[string]func(r *Run){
		"no supply":    func(r *Run) { r.Trim.Supply = nil },
		"no pumps":     func(r *Run) { r.Trim.Supply.System.Pumps = nil },
		"no tank":      func(r *Run) { r.Trim.Supply.Tank = nil },
		"no use":       func(r *Run) { r.Trim.Supply.Use, r.Trim.Course = nil, nil },
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
		plane := boost.SweepPlane(t.Context(), r.Engine, r.Trim.Boost.Target, nil, []float64{2000 * perRPM, 6000 * perRPM}, []float64{40e3, 80e3, 120e3})
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
		for _, f := range r.Review().Feed() {
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
	r.Outcomes = boost.Sweep(b.Context(), r.Engine, r.Trim.Boost.Target, speeds)
	b.ReportAllocs()
	for b.Loop() {
		p := boost.SweepPlane(b.Context(), r.Engine, r.Trim.Boost.Target, nil, speeds, boost.Speeds(40e3, 260e3, 20e3))
		if _, ok := r.InjectionPlane(&p); !ok {
			b.Fatal("no plane")
		}
		if _, ok := r.Supply(); !ok {
			b.Fatal("no supply")
		}
		if _, ok := r.Sag(); !ok {
			b.Fatal("no sag")
		}
		if len(r.Review().Feed()) == 0 {
			b.Fatal("no findings")
		}
	}
}
