package run_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/cooling"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// TestHeatFlowsConserve: what goes out by crank, coolant, oil, charge, primaries and tailpipe is the fuel's energy with what is brought in, to the solver's
// tolerance, at every point of the examples; with an oil cooler and without, and where the spec states the heat lost before the turbine.
func TestHeatFlowsConserve(t *testing.T) {
	const tol = 1e-6
	for _, p := range []struct {
		path, trim string
		change     func(trim *spec.Trim)
	}{
		{spectest.Hillclimb, "open", func(*spec.Trim) {}},
		{spectest.Hillclimb, "capped", func(trim *spec.Trim) { trim.Cooling.Oil = nil }},
		{spectest.Hillclimb, "open", func(trim *spec.Trim) { trim.Engine.Heat.PortLoss, trim.Engine.Heat.PortLossGiven = 0.08, true }},
		{spectest.ClubFour, "free", func(*spec.Trim) {}},
		{spectest.ClubFour, "restricted", func(trim *spec.Trim) { trim.Cooling = nil }},
	} {
		trim := spectest.Trim(t, p.path, p.trim)
		p.change(trim)
		r := runtest.Solve(t, trim, 1500, 3000, 4500, 6000, 7500)
		for _, h := range r.HeatFlows() {
			require.NoError(t, h.Err)
			assert.InDelta(t, h.Fuel+h.Sensible, h.Shaft+h.Coolant+h.Oil+h.Charge+h.Bonnet+h.Exhaust+h.Unburned, tol*h.Fuel)
			assert.Greater(t, h.Coolant, 0.0)
			assert.GreaterOrEqual(t, h.Bonnet, 0.0)
			e := &h.Point.Energy
			if c := trim.Cooling; c == nil || c.Oil == nil {
				assert.Zero(t, h.Oil)
			} else {
				assert.InDelta(t, 0.15*e.Coolant+0.6*e.Friction+e.Bearings, h.Oil, 1e-6, "the shares that the spec is left to")
			}
			// Trade, from memory: the coolant of an engine at full load takes 15 to 30 % of the fuel at low and 7 to 20 % at high speed.
			share := (h.Coolant + h.Oil) / h.Fuel
			assert.True(t, share > 0.07 && share < 0.30, "%v of the fuel at %v rad/s", share, h.Speed)
			if trim.Engine.Heat.PortLossGiven {
				assert.Zero(t, h.Bonnet, "all of the stated loss is the coolant's")
			}
		}
	}
}

// The coolant has the port's heat, not the primary's: computed with no primary, whose heat is all the bonnet's, the exhaust's loss is the coolant's.
func TestPortAndPrimary(t *testing.T) {
	trim := spectest.Trim(t, spectest.ClubFour, "free")
	trim.Exhaust.Pipes.Primary.Length = 0
	h := runtest.Solve(t, trim, 5000).HeatFlows()[0]
	require.NoError(t, h.Err)
	assert.InDelta(t, 0, h.Bonnet, 1e-9)
	assert.Greater(t, h.Point.Energy.Ports, 1000.0)
	assert.InDelta(t, h.Point.Energy.Coolant+h.Point.Energy.Ports+h.Point.Energy.Friction, h.Coolant, 1e-6)

	trim = spectest.Trim(t, spectest.ClubFour, "free")
	trim.Exhaust.Pipes.Port.Length = 0
	h = runtest.Solve(t, trim, 5000).HeatFlows()[0]
	require.NoError(t, h.Err)
	assert.InDelta(t, h.Point.Energy.Ports, h.Bonnet, 1e-6)
}

// hill is the example's open trim solved at a few speeds.
func hill(t testing.TB, change func(trim *spec.Trim)) *run.Cooling {
	t.Helper()
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	change(trim)
	c, err := runtest.Solve(t, trim, 2000, 4000, 5500, 7000).Cooling()
	require.NoError(t, err)
	return c
}

func unchanged(*spec.Trim) {}

// TestCoolingBalances: the heat of full load at an engine speed goes through radiator, coolant and air.
func TestCoolingBalances(t *testing.T) {
	c := hill(t, unchanged)
	full, err := c.At(run.Driven{EngineSpeed: 5500 * spectest.PerRPM, RoadSpeed: 30, Load: 1})
	require.NoError(t, err)
	half, err := c.At(run.Driven{EngineSpeed: 5500 * spectest.PerRPM, RoadSpeed: 30, Load: 0.5})
	require.NoError(t, err)
	assert.InDelta(t, full.Condition.Heat/2, half.Condition.Heat, 1e-9)
	assert.InDelta(t, full.OilHeat/2, half.OilHeat, 1e-9)
	assert.Greater(t, full.Temperature, half.Temperature)
	assert.Greater(t, full.Oil, half.Oil)
	assert.InDelta(t, full.Condition.Heat, full.Exchange.Heat*(full.Temperature-full.Inlet), 1)
	// The charge cooler stands before the radiator: its heat is in the radiator's air, Q/(ρ v A cp).
	density := full.Condition.Density
	assert.InDelta(t, 291.15+full.Charge.Heat/(density*0.22*30*0.20*1007), full.Inlet, 1e-6)
	assert.InDelta(t, (full.Inlet-291.15)/2, half.Inlet-291.15, 1e-6, "half of its heat at half load")
	assert.False(t, full.Held)
	held, err := c.At(run.Driven{EngineSpeed: 7600 * spectest.PerRPM, RoadSpeed: 30, Load: 1})
	require.NoError(t, err)
	assert.True(t, held.Held)
	// The charge's heat at the velocity that its cooler is stated for is that of the solved point: 8 m/s by a quarter of the road speed. Its outer air is
	// thinner here than where it is stated.
	at, err := c.At(run.Driven{EngineSpeed: 5500 * spectest.PerRPM, RoadSpeed: 32 * 1.2 / density, Load: 1})
	require.NoError(t, err)
	assert.InDelta(t, at.Solved, at.Charge.Temperature, 1e-6)
}

// TestChargeAgainstThePoint: the solved charge and its heat are those of the points, by their own balance.
func TestChargeAgainstThePoint(t *testing.T) {
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	r := runtest.Solve(t, trim, 4000, 6000)
	c, err := r.Cooling()
	require.NoError(t, err)
	for i := range r.Outcomes {
		p := &r.Outcomes[i].Point
		at, err := c.At(run.Driven{EngineSpeed: p.Speed, RoadSpeed: 32 * 1.2 / trim.Venue.Density(), Load: 1})
		require.NoError(t, err)
		require.NoError(t, at.ChargeErr)
		assert.InDelta(t, p.ManifoldTemperature, at.Charge.Temperature, 1e-6)
		assert.InDelta(t, p.CoolerHeat, at.Charge.Heat, 1e-6*p.CoolerHeat)
	}
}

// TestGearOfARoadSpeed: of the gears that reach a road speed, the one with most heat; below them the clutch slips; beyond them nothing is told.
func TestGearOfARoadSpeed(t *testing.T) {
	c := hill(t, unchanged)
	speed := func(rpm float64, gear float64) float64 { return rpm * spectest.PerRPM * 0.298 / (gear * 4.10) }
	d, err := c.Driven(speed(6500, 1.58))
	require.NoError(t, err)
	assert.Equal(t, 3, d.Gear, "second gear would turn past the last speed solved, fourth turns slower and heats less")
	assert.InDelta(t, 6500*spectest.PerRPM, d.EngineSpeed, 1e-9)
	assert.False(t, d.Slipping)
	d, err = c.Driven(0)
	require.NoError(t, err)
	assert.True(t, d.Slipping)
	assert.Equal(t, 1, d.Gear)
	assert.InDelta(t, 5000*spectest.PerRPM, d.EngineSpeed, 1e-9, "driveline.launch_speed")
	fastest, ok := c.Fastest()
	require.True(t, ok)
	assert.InDelta(t, speed(7000, 1.06), fastest, 1e-9)
	_, err = c.Driven(fastest * 1.01)
	assert.ErrorIs(t, err, run.ErrBeyondGears)

	c = hill(t, func(trim *spec.Trim) { trim.Car = nil })
	d, err = c.Driven(20)
	require.NoError(t, err)
	assert.Zero(t, d.Gear)
	assert.InDelta(t, 7000*spectest.PerRPM, d.EngineSpeed, 1e-9, "where there is most heat")
	_, ok = c.Fastest()
	assert.False(t, ok)
}

// TestDuty: each section begins where the one before ended, and is what the circuit makes of it; more rounds come to rest, and hotter venues are hotter.
func TestDuty(t *testing.T) {
	c := hill(t, unchanged)
	rounds, err := c.Duty()
	require.NoError(t, err)
	require.Len(t, rounds, 1)
	require.Len(t, rounds[0], 5)
	from := 353.15 // cooling.duty.start
	for _, s := range rounds[0] {
		assert.InDelta(t, from, s.From, 1e-9)
		from, err = c.Circuit.After(s.Condition, s.From, s.Time)
		require.NoError(t, err)
		assert.InDelta(t, from, s.To, 1e-9)
		if !math.IsInf(s.Lasts, 1) {
			at, err := c.Circuit.After(s.Condition, s.From, s.Lasts)
			require.NoError(t, err)
			assert.InDelta(t, 391.15, at, 0.01, "%s: limits.coolant_temperature", s.Name)
		}
	}
	assert.Equal(t, 2, rounds[0][1].Gear)
	assert.InDelta(t, 6500*spectest.PerRPM*0.298/(2.05*4.10), rounds[0][1].RoadSpeed, 1e-9)
	assert.InDelta(t, 0.55, rounds[0][2].Load, 1e-12)

	hot, err := c.Hottest()
	require.NoError(t, err)
	assert.Equal(t, "finish", hot.Section.Name)
	assert.InDelta(t, rounds[0][4].To, hot.Temperature, 1e-12)

	many := hill(t, func(trim *spec.Trim) { trim.Cooling.Duty.Rounds = 60 })
	rounds, err = many.Duty()
	require.NoError(t, err)
	require.Len(t, rounds, 60)
	assert.InDelta(t, rounds[58][4].To, rounds[59][4].To, 1e-3, "laps come to rest")
	for k := range rounds[1:] {
		assert.InDelta(t, rounds[k][4].To, rounds[k+1][0].From, 1e-3, "each round begins as the last one ended")
	}
	again, err := many.Hottest()
	require.NoError(t, err)
	assert.GreaterOrEqual(t, again.Temperature, hot.Temperature)

	warmer := hill(t, func(trim *spec.Trim) { trim.Venue.Temperature += 15 })
	other, err := warmer.Hottest()
	require.NoError(t, err)
	assert.Greater(t, other.Temperature, hot.Temperature)

	none := hill(t, func(trim *spec.Trim) { trim.Cooling.Duty = nil })
	rounds, err = none.Duty()
	require.NoError(t, err)
	assert.Nil(t, rounds)
	hot, err = none.Hottest()
	require.NoError(t, err)
	mean, err := none.Mean()
	require.NoError(t, err)
	assert.Nil(t, hot.Section)
	assert.InDelta(t, mean.Temperature, hot.Temperature, 1e-12)
}

// TestWarmCoolant: full load lasts from the mean's coolant, or, where that is too hot already, from where the thermostat opens.
func TestWarmCoolant(t *testing.T) {
	c := hill(t, unchanged)
	mean, err := c.Mean()
	require.NoError(t, err)
	warm, err := c.Warm()
	require.NoError(t, err)
	assert.InDelta(t, mean.Temperature, warm, 1e-12)
	c = hill(t, func(trim *spec.Trim) { trim.Cooling.Load = 1; trim.Cooling.RoadSpeed = 5 })
	warm, err = c.Warm()
	require.NoError(t, err)
	assert.InDelta(t, 351.15, warm, 1e-9)
	c = hill(t, func(trim *spec.Trim) {
		trim.Cooling.Load, trim.Cooling.RoadSpeed, trim.Cooling.Circuit.Thermostat = 1, 5, cooling.Thermostat{}
	})
	warm, err = c.Warm()
	require.NoError(t, err)
	assert.InDelta(t, c.Capped(), warm, 1e-9)
}

// TestNoHeat: a run without a solved point tells no heat.
func TestNoHeat(t *testing.T) {
	r := failedRun(t)
	_, err := r.Cooling()
	assert.ErrorIs(t, err, run.ErrNoHeat)
}

func failedRun(t *testing.T) *run.Run {
	r := runtest.Solve(t, spectest.Trim(t, spectest.Hillclimb, "open"), 4000)
	r.Outcomes[0].Err = assert.AnError
	return r
}

// TestEveryCoolingKeyCounts: each key of the section changes what comes of it. A key without a row fails.
func TestEveryCoolingKeyCounts(t *testing.T) {
	changed := map[string]string{
		"radiator.heat_per_kelvin": "{6 m/s: 0.9 kW/K}", "radiator.coolant_flow": "100 L/min", "radiator.glycol": "0 %", "radiator.face_area": "0.22 m2",
		"radiator.air_density": "1.1 kg/m3", "radiator.air_share": "70 %", "radiator.air_exponent": "0.6", "radiator.ram": "25 %",
		"fan.flow": "0.6 m3/s", "pump.flow": "150 L/min", "pump.speed": "6000 rpm", "pump.ratio": "1",
		"thermostat.opens": "70 degC", "thermostat.full": "92 degC", "cap": "0.9 bar", "glycol": "40 %", "volume": "8 L",
		"metal.aluminium": "20 kg", "metal.iron": "60 kg", "load": "60 %", "road_speed": "70 km/h",
		"charge_cooler.air_velocity": "9 m/s", "charge_cooler.ahead": "50 %", "charge_cooler.face_area": "0.16 m2", "charge_cooler.air_density": "1.1 kg/m3",
		"charge_cooler.air_share": "60 %", "charge_cooler.air_exponent": "0.6", "charge_cooler.ram": "30 %",
		"oil_cooler.heat_per_kelvin": "{6 m/s: 0.2 kW/K}", "oil_cooler.oil_flow": "20 L/min", "oil_cooler.friction_share": "50 %", "oil_cooler.wall_share": "10 %",
		"oil_cooler.face_area": "0.08 m2", "oil_cooler.air_density": "1.1 kg/m3", "oil_cooler.air_share": "60 %", "oil_cooler.air_exponent": "0.6",
		"oil_cooler.ram":    "25 %",
		"duty.time":         "{start-line: 25 s, run-off: 8 s, hairpins: 22 s, woods: 30 s, finish: 11 s}",
		"duty.engine_speed": "{start-line: 3000 rpm, run-off: 6500 rpm, hairpins: 4500 rpm, woods: 6000 rpm, finish: 6800 rpm}",
		"duty.road_speed":   "{start-line: 30 km/h}", "duty.gear": "{run-off: 2, hairpins: 1, woods: 4, finish: 4}", "duty.load": "{hairpins: 80 %}",
		"duty.start": "85 degC", "duty.rounds": "2",
	}
	base := runtest.Solved(t, spectest.Hillclimb, "open", 2000, 4500, 7000)
	told := func(settings ...spec.Setting) string {
		s, err := spec.Load(spectest.Hillclimb, settings...)
		require.NoError(t, err)
		trim, err := s.Trim("open")
		require.NoError(t, err)
		c, err := (&run.Run{Trim: &trim, Engine: base.Engine, Outcomes: base.Outcomes, Context: base.Context}).Cooling()
		require.NoError(t, err)
		mean, err := c.Mean()
		require.NoError(t, err)
		slow, err := c.At(run.Driven{EngineSpeed: 5000 * spectest.PerRPM, RoadSpeed: 2, Load: 1})
		require.NoError(t, err)
		rounds, err := c.Duty()
		require.NoError(t, err)
		return fmt.Sprint(c.Boils, c.Circuit.TimeConstant(mean.Condition), mean, slow, rounds)
	}
	is := told()
	assert.Equal(t, is, told(), "the same twice")
	seen := 0
	for _, k := range spec.Keys() {
		key, ok := strings.CutPrefix(k.Path, "cooling.")
		if !ok || k.Example == "" {
			continue
		}
		value, ok := changed[key]
		if !assert.True(t, ok, "cooling.%s has no row here", key) {
			continue
		}
		seen++
		assert.NotEqual(t, is, told(spec.Setting{Path: k.Path, Value: value}), "%s does nothing", k.Path)
	}
	assert.Equal(t, len(changed), seen)
}
