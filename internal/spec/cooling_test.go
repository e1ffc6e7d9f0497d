package spec

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/cooling"
)

// cooled is a spec with the least of a section cooling, in lines 8 to 12, and more of it behind.
func cooled(more ...string) string {
	return engine + `cooling:
  radiator: {heat_per_kelvin: {5 m/s: 0.8 kW/K}, coolant_flow: 120 L/min, face_area: 2000 cm2}
  pump: {flow: 2 L/s}
  volume: 8 L
` + strings.Join(more, "")
}

func TestCooling(t *testing.T) {
	c := trimOf(t, cooled(), "base").Cooling
	near := func(want, got float64, what string) {
		assert.InDelta(t, want, got, 1e-9*math.Max(1, math.Abs(want)), what)
	}
	near(0.002, c.Circuit.StatedFlow, "120 L/min")
	near(0.002, c.Circuit.Pump.At(100), "an electric pump")
	near(0.002, c.Circuit.Pump.At(700), "at any speed")
	near(0.2, c.Circuit.Draught.Ram, "ram")
	near(0, c.Circuit.Draught.Fan, "no fan")
	near(1.1e5, c.Circuit.Cap, "cap")
	near(0.6, c.Load, "load")
	near(80/3.6, c.RoadSpeed, "road speed")
	near(0, c.Circuit.Stored, "water alone")
	assert.Equal(t, cooling.Coolant{}, c.Circuit.StatedWith)
	assert.Equal(t, cooling.Thermostat{}, c.Circuit.Thermostat)
	assert.Nil(t, c.Duty)
	assert.Nil(t, c.Oil)
	assert.Nil(t, c.Charge)
	assert.Nil(t, trimOf(t, engine, "base").Cooling)

	const duty = `  duty:
    time: {line: 20 s, hairpins: 15 s, flat out: 2 min}
    engine_speed: {line: 4000 rpm, hairpins: 4500 rpm}
    road_speed: {line: 0 km/h, flat out: 120 km/h}
    gear: {hairpins: 1, flat out: 3}
    load: {line: 10 %}
`
	const car = `driveline: {gears: {1: 2.9, 2: 2.0, 3: 1.5}, final: 4}
car: {mass: 1000 kg, rear_thrust: 0 %, rear_weight: 40 %, centre_height: 0.5 m, wheelbase: 2.5 m, rolling_radius: 0.3 m, grip: 1.2}
`
	c = trimOf(t, cooled(`  thermostat: {opens: 80 degC, full: 92 degC}
  glycol: 30 %
  metal: {aluminium: 10 kg, iron: 20 kg}
  fan: {flow: 0.4 m3/s}
  cap: 1.3 bar
`, duty, car, "sump: {kind: dry, oil: 6 L, in_engine: 1 L, volume: 9 L}\n"), "base").Cooling
	near(10*890+20*470+6e-3*860*2200, c.Circuit.Stored, "metal, and the sump's oil")
	assert.Equal(t, cooling.Coolant{Glycol: 0.3}, c.Circuit.StatedWith, "stated with what runs in it")
	require.Len(t, c.Duty.Sections, 3)
	near(353.15, c.Duty.Start, "where the thermostat opens")
	assert.Equal(t, 1, c.Duty.Rounds)
	s := c.Duty.Sections
	assert.Equal(t, "line hairpins flat out", s[0].Name+" "+s[1].Name+" "+s[2].Name)
	near(120, s[2].Time, "2 min")
	near(0.1, s[0].Load, "load")
	near(1, s[1].Load, "full load where nothing is said")
	near(4500*rpm*0.3/(2.9*4), s[1].RoadSpeed, "of the gear")
	near(120/3.6*1.5*4/0.3, s[2].EngineSpeed, "of the gear")
	assert.Equal(t, 0, s[0].Gear)

	const radiator = "radiator: {heat_per_kelvin: {5 m/s: 0.8 kW/K}, coolant_flow: 120 L/min, face_area: 2000 cm2}"
	for _, p := range []struct{ name, text, want string }{
		{"one value", strings.Replace(cooled(), "{5 m/s: 0.8 kW/K}", "0.8 kW/K", 1),
			"9:31: cooling.radiator.heat_per_kelvin is 0.8 kW/K; want it over the velocity of the air, one point at least, such as {6 m/s: 0.8 kW/K}"},
		{"more than the air takes", strings.Replace(cooled(), "0.8 kW/K", "1.3 kW/K", 1),
			"9:39: cooling.radiator.heat_per_kelvin.5 m/s is 1.3 kW/K at 5 m/s; want at most 1.18 kW/K, what the air at that velocity can take up"},
		{"more than the coolant gives", strings.Replace(strings.Replace(cooled(), "5 m/s", "60 m/s", 1), "0.8 kW/K", "8 kW/K", 1),
			"9:40: cooling.radiator.heat_per_kelvin.60 m/s is 8 kW/K at 60 m/s; want at most 7.95 kW/K, what the liquid of the stated flow can give"},
		{"falling", strings.Replace(cooled(), "0.8 kW/K}", "0.8 kW/K, 8 m/s: 0.7 kW/K}", 1),
			"9:56: cooling.radiator.heat_per_kelvin.8 m/s is 0.7 kW/K after 0.8 kW/K; want more heat in faster air"},
		{"thermostat", cooled("  thermostat: {opens: 90 degC, full: 85 degC}\n"),
			"12:38: cooling.thermostat.full is 85 degC; want more than opens, 90 degC"},
		{"no radiator", strings.Replace(cooled(), radiator, "load: 50 %", 1), "9:3: cooling.radiator is missing; want a section with heat_per_kelvin"},
		{"unknown section", cooled(strings.Replace(duty, "load: {line", "load: {lime", 1), car),
			"17:18: cooling.duty.load.lime is that of lime, which time does not name; it has line, hairpins or flat out"},
		{"gear without a car", cooled(duty), "16:11: cooling.duty.gear wants car and driveline.gears, which tell its road speed"},
		{"too high a gear", cooled(strings.Replace(duty, "{hairpins: 1,", "{hairpins: 4,", 1), car),
			"16:22: cooling.duty.gear.hairpins is 4; want a whole number, 1 to 3, as driveline.gears has"},
		{"half a gear", cooled(strings.Replace(duty, "{hairpins: 1,", "{hairpins: 1.5,", 1), car),
			"16:22: cooling.duty.gear.hairpins is 1.5; want a whole number, 1 to 3"},
		{"past the limiter", cooled(strings.Replace(duty, "4500 rpm", "8000 rpm", 1), car),
			"14:46: cooling.duty.engine_speed.hairpins is 8000 rpm, above engine.limiter, 7800 rpm"},
		{"past the limiter by gear", cooled(strings.Replace(duty, "flat out: 3", "flat out: 1", 1), car),
			"13:5: cooling.duty lets the engine turn at 12308 rpm in flat out; want 100 rpm to engine.limiter, 7800 rpm"},
		{"all three", cooled(strings.Replace(duty, "{hairpins: 1,", "{hairpins: 1, line: 1,", 1), car),
			"13:5: cooling.duty says engine speed, road speed and gear of line; want two of them"},
		{"no gear", cooled(strings.Replace(duty, "gear: {hairpins: 1, ", "gear: {", 1), car),
			"13:5: cooling.duty lacks the speed of hairpins; want engine_speed and road_speed, or one of them and gear"},
		{"a gear alone", cooled(strings.Replace(duty, ", hairpins: 4500 rpm", "", 1), car),
			"13:5: cooling.duty lacks the speed of hairpins; want engine_speed or road_speed beside the gear"},
	} {
		t.Run(p.name, func(t *testing.T) {
			got := messages(t, p.text)
			if assert.Len(t, got, 1) {
				assert.True(t, strings.HasPrefix(got[0], "hillclimb.yaml:"+p.want), "got:  %s\nwant: hillclimb.yaml:%s", got[0], p.want)
			}
		})
	}
}

// TestChargeAndOilCooler: the fan draws through a charge cooler that stands before the radiator, and the oil's density is the spec's.
func TestChargeAndOilCooler(t *testing.T) {
	const parts = "  fan: {flow: 0.4 m3/s}\n  charge_cooler: {face_area: 1000 cm2, air_velocity: 8 m/s}\n" +
		"  oil_cooler: {heat_per_kelvin: {5 m/s: 0.15 kW/K}, oil_flow: 30 L/min, face_area: 600 cm2}\n"
	const oil = "compressor: {map: compressor-map.csv, reference_temperature: 298.15 K, reference_pressure: 100 kPa}\ncooler: {effectiveness: 0.8}\noil: {viscosity_40: 80 cSt, viscosity_100: 13.5 mm2/s, temperature: 100 degC, density: 880 kg/m3}\n"
	c := trimOf(t, cooled(parts, oil), "base").Cooling
	assert.InDelta(t, 0.2, c.Charge.Draught.Fan, 1e-12, "half of the radiator's face has half of its air")
	assert.InDelta(t, 1, c.Ahead, 1e-12)
	assert.InDelta(t, 8, c.Charge.Velocity, 1e-12)
	assert.InDelta(t, 0.5e-3*880*2200, c.Oil.Capacity, 1e-9)
	assert.InDelta(t, 0.6, c.Oil.FrictionShare, 1e-12)
	c = trimOf(t, cooled(strings.Replace(parts, "8 m/s", "8 m/s, ahead: 0 %", 1), oil), "base").Cooling
	assert.Zero(t, c.Charge.Draught.Fan)
	for _, without := range []string{"cooler: none", "compressor: none"} { // as a trim may have it
		assert.Nil(t, trimOf(t, cooled(parts, oil, "trims: {base: {"+without+"}}\n"), "base").Cooling.Charge, without)
	}
	got := messages(t, cooled(strings.Replace(parts, "0.15", "0.5", 1), oil))
	if assert.Len(t, got, 1) {
		assert.Contains(t, got[0], "cooling.oil_cooler.heat_per_kelvin.5 m/s is 0.5 kW/K at 5 m/s; want at most")
	}
}
