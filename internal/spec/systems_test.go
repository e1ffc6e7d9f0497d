package spec

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/manifold"
	"bellmouth/internal/supply"
	"bellmouth/internal/wastegate"
)

// systems holds the sections round the engine, invented; behind the least spec its lines are 8 to 40.
const systems = `wastegate:
  bore: 40 mm
  lift: 10 mm
  actuator: {preload: 280 N, rate: 14 N/mm, opening_area: 40 cm2, closing_area: 38 cm2, stroke: 11 mm}
  control:
    source: manifold
    opening: {kind: bleed, area: 2 mm2, bleed_area: 1 mm2}
    closing: {kind: three-way, area: 2.2 mm2}
supply:
  temperature: 25 degC
  tank: {volume: 32 L, reserve: 4 L}
  pumps:
    count: 2
    voltage: 13 V
    curve:
      12 V: {0 bar: 240 L/h, 4 bar: 168 L/h}
      14 V: {0 bar: 300 L/h, 4 bar: 228 L/h}
  lift: {curve: {12 V: {0 bar: 430 L/h, 0.6 bar: 215 L/h}}}
  line: {length: 4 m, bore: 8 mm, fittings: 7}
  filter: {flow: 200 L/h, loss: 0.1 bar, tested_with: ron95}
  use: {name: hill, time: 95 s, profile: {100 %: 55 %, 8 %: 15 %, 40 %: 30 %}}
ignition:
  coil: {inductance: 3 mH, resistance: 0.5 ohm, rated_current: 8 A, rated_voltage: 38 kV}
  current: 8 A
  gap: 0.6 mm
manifold:
  runner: {length: 330 mm, bore: 42 mm, mouth: standing}
  plenum: {volume: 3 L}
  throttle: {bore: 60 mm, shaft: 8 mm, loss: 0.3}
  duct: {bore: 65 mm, loss: 1.2}
  spread: {flow: {1: 98, 2: 101, 3: 102, 4: 101, 5: 98}, leanest: 0.9}
driveline: {gears: {1: 3, 2: 2, 3: 1.5}, final: 4}
car: {mass: 1000 kg, rear_thrust: 0 %, rear_weight: 38 %, centre_height: 0.5 m, wheelbase: 2.5 m, rolling_radius: 0.3 m, grip: 1.2}
`

func TestSystems(t *testing.T) {
	text := engine + systems
	trim := trimOf(t, text, BaseTrim)
	near := func(want, got float64, what string) {
		t.Helper()
		assert.InDelta(t, want, got, 1e-9*math.Abs(want), what)
	}
	// The figures of the text, in SI by hand.
	a := trim.Actuator
	require.NotNil(t, a)
	near(280, a.Preload, "preload")
	near(14000, a.Rate, "spring rate")
	near(40e-4, a.OpeningArea, "opening area")
	near(38e-4, a.ClosingArea, "closing area")
	near(1, a.LeverRatio, "lever, by default")
	near(0.011, a.Stroke, "stroke")
	near(0.040, a.ValveDiameter, "valve, as the seat by default")
	assert.False(t, a.ExhaustShuts)
	c := trim.Control
	assert.Equal(t, *a, c.Actuator)
	assert.True(t, c.FromManifold)
	assert.Equal(t, wastegate.Bleed, c.Opening.Kind)
	near(1e-6, c.Opening.BleedArea, "bleed")
	assert.Equal(t, wastegate.ThreeWay, c.Closing.Kind)
	near(2.2e-6, c.Closing.Area, "closing valve")

	s := trim.Supply
	require.NotNil(t, s)
	near(298.15, s.Temperature, "fuel")
	near(0.032, s.Tank.Volume, "tank")
	near(0.004, s.Tank.Reserve, "reserve")
	near(13, s.Voltage, "pumps' voltage")
	// Halfway between the tests, both straight: 2 (270 − 18·2) L/h at 2 bar.
	q, notes, err := supply.FlowAt(s.System.Pumps, 2e5, s.Voltage)
	require.NoError(t, err)
	assert.Zero(t, notes)
	near(2*(270-36)/3.6e6, q, "pumps")
	q, _, err = supply.FlowAt(s.Lift.Pumps, 0.3e5, 12)
	require.NoError(t, err)
	near(322.5/3.6e6, q, "lift pump")
	near(0.2e5, s.Lift.Pressure, "lift, by default")
	near(13.5, s.Lift.Voltage, "lift, by default")
	require.Len(t, s.System.Lines, 1)
	near(1.5e-6, s.System.Lines[0].Roughness, "roughness, by default")
	assert.Empty(t, s.System.Return)
	require.Len(t, s.System.Filters, 1)
	near(1e4, s.System.Filters[0].PressureLoss, "filter")
	assert.NoError(t, s.System.Validate())
	assert.Equal(t, "hill", s.Use.Name)
	near(95, s.Use.Time, "time")
	require.Len(t, s.Use.Profile, 3, "in the order of the file")
	near(0.08, s.Use.Profile[1].Flow, "second phase")
	near(0.15, s.Use.Profile[1].Time, "second phase")

	i := trim.Ignition
	require.NotNil(t, i)
	assert.True(t, i.Delay.IsZero())
	near(3e-3, i.Coil.Inductance, "inductance")
	near(38e3, i.Coil.RatedVoltage, "rated voltage")
	near(0.6e-3, i.Gap, "gap")
	dwell, held, err := i.DwellAt(13.5)
	require.NoError(t, err)
	assert.False(t, held)
	near(-3e-3/0.5*math.Log(1-8*0.5/12), dwell, "dwell for 8 A at 13.5 V less 1.5 V across the driver")

	m := trim.Manifold
	require.NotNil(t, m)
	near(0.330, m.Runner.Length, "runner")
	assert.Equal(t, manifold.Standing, m.Runner.Mouth)
	near(0.003, m.Plenum, "plenum")
	near(0.008, m.Throttle.Shaft, "throttle")
	assert.Equal(t, 1, m.Throttle.Count)
	near(1.2, m.Duct.LossCoefficient, "duct")
	assert.Equal(t, []float64{98, 101, 102, 101, 98}, m.Spread.Flow)
	assert.Nil(t, m.Spread.Lambda)
	near(0.9, m.Spread.Leanest, "leanest")
	assert.Zero(t, m.Spread.Richest)

	assert.Equal(t, []float64{12, 8, 6}, trim.Driveline.Ratios())
	require.NotNil(t, trim.Car)
	near(1000, trim.Car.Mass, "mass")
	near(0.38, trim.Car.RearWeight, "rear weight")
	assert.Zero(t, trim.Car.RearThrust)
	assert.Equal(t, []float64{0.94, 0.94, 0.94}, trim.Driveline.Efficiency, "by default")

	taken := map[string]string{}
	for _, d := range trim.Defaults {
		taken[d.Path] = d.Value
	}
	assert.Equal(t, "40 mm", taken["wastegate.actuator.valve_diameter"])
	assert.Equal(t, "parallel", taken["supply.pumps.connect"])
	assert.NotContains(t, taken, "supply.lift.connect", "one pump")
	assert.Equal(t, "94 %", taken["driveline.efficiency"])
}

// A spec that calls the grades what they were called before says the same.
func TestFormerGrades(t *testing.T) {
	const today = engine + "fuel: {blend: {ron95: 50 %, ron98: 30 %, ron102: 20 %}}\nsupply:\n  filter: {flow: 200 L/h, loss: 0.1 bar, tested_with: ron95}\n"
	former := strings.NewReplacer("ron95", "pump95", "ron98", "pump98", "ron102", "race102").Replace(today)
	require.NotContains(t, former, "ron9")
	now, then := trimOf(t, today, BaseTrim), trimOf(t, former, BaseTrim)
	now.written, then.written = nil, nil // which differs
	assert.Equal(t, now, then)
	for former, today := range map[string]string{"pump95": "ron95", "pump98": "ron98", "race102": "ron102"} {
		trim := trimOf(t, engine+"fuel: {kind: "+former+"}", BaseTrim)
		assert.Equal(t, today, trim.Fuel.Grade.Name)
	}
}

func TestSystemsLacking(t *testing.T) {
	trim := trimOf(t, engine+"wastegate: {bore: 40 mm, lift: 10 mm}\ndriveline: {gearbox_torque_limit: 500 Nm}\n", BaseTrim)
	assert.Nil(t, trim.Actuator)
	assert.Nil(t, trim.Control)
	assert.Nil(t, trim.Supply)
	assert.Nil(t, trim.Ignition)
	assert.Nil(t, trim.Manifold)
	assert.Nil(t, trim.Car)
	assert.Nil(t, trim.Driveline.Ratios())
	assert.Nil(t, trim.Driveline.Efficiency)
	for _, d := range trim.Defaults {
		assert.NotContains(t, d.Path, "driveline", "nothing rests on it")
	}
	assert.ErrorContains(t, trim.Need("car", "car", "driveline.gears"), "hillclimb.yaml: car needs the section car; trim base lacks it\n"+
		"hillclimb.yaml: car needs driveline.gears; trim base lacks it; want a table by gear from 1, 0.2 to 20, such as {1: 2.92")

	// Parts of a section stand by themselves.
	trim = trimOf(t, engine+"supply: {tank: {volume: 30 L}}\nignition: {delay: 8 deg}\nmanifold: {plenum: {volume: 2 L}}\n", BaseTrim)
	assert.Nil(t, trim.Supply.System.Pumps)
	assert.Nil(t, trim.Supply.Use)
	assert.Zero(t, trim.Supply.Temperature)
	assert.Nil(t, trim.Ignition.Coil)
	delay, _ := trim.Ignition.Delay.At(1)
	assert.InDelta(t, 8*math.Pi/180, delay, 1e-12)
	_, _, err := trim.Ignition.DwellAt(12)
	assert.EqualError(t, err, "the ignition has no coil")
	assert.Nil(t, trim.Manifold.Runner)

	// An actuator without a control is fed straight from the compressor.
	trim = trimOf(t, engine+pushed("closed"), BaseTrim)
	require.NotNil(t, trim.Control)
	assert.False(t, trim.Control.FromManifold)
	assert.Nil(t, trim.Control.Opening)
	assert.Nil(t, trim.Control.Closing)
	assert.True(t, trim.Actuator.ExhaustShuts)
	assert.NoError(t, trim.Control.Validate())
}

// pushed is a wastegate whose exhaust pushes its valve a way.
func pushed(way string) string {
	return "wastegate: {bore: 40 mm, lift: 10 mm, " +
		"actuator: {preload: 90 N, rate: 9 N/mm, opening_area: 20 cm2, closing_area: 18 cm2, stroke: 11 mm, exhaust_pushes: " + way + "}}\n"
}

// TestShutIsClosed: the word that specs had for closed is read, and not offered.
func TestShutIsClosed(t *testing.T) {
	assert.True(t, trimOf(t, engine+pushed("shut"), BaseTrim).Actuator.ExhaustShuts)
	for rests, open := range map[string]bool{"shut": false, "closed": false, "open": true} {
		text := engine + strings.TrimSuffix(pushed("open"), "}\n") + ", control: {closing: {kind: three-way, area: 2 mm2, rests: " + rests + "}}}\n"
		assert.Equal(t, open, trimOf(t, text, BaseTrim).Control.Closing.RestsOpen, rests)
	}
	assert.Contains(t, messages(t, engine+pushed("sideways"))[0], "want open or closed")
}

func TestSystemsMerge(t *testing.T) {
	text := engine + systems + `trims:
  base:
  soft:
    wastegate: {actuator: {preload: 200 N}, control: {opening: none}}
    supply: {pumps: {count: 1, connect: series, curve: {13 V: {0 bar: 100 L/h, 2 bar: 0 L/h}}}, lift: none, use: {profile: {1: 1}}}
    ignition: {dwell: {10 V: 4 ms, 14 V: 3 ms}}
    manifold: {spread: {lambda: {1: 0.8, 2: 0.8, 3: 0.85, 4: 0.8, 5: 0.8}}, runner: {mouth: flush}}
    driveline: {gears: {1: 4, 2: 3}}
  bare:
    wastegate: {control: none}
    ignition: none
    car: none
`
	base, soft, bare := trimOf(t, text, "base"), trimOf(t, text, "soft"), trimOf(t, text, "bare")
	assert.InDelta(t, 200, soft.Actuator.Preload, 1e-12)
	assert.InDelta(t, 14000, soft.Actuator.Rate, 1e-9)
	assert.InDelta(t, 280, base.Actuator.Preload, 1e-12)
	assert.Nil(t, soft.Control.Opening)
	assert.NotNil(t, soft.Control.Closing)
	assert.NotNil(t, base.Control.Opening)
	q, _, err := supply.FlowAt(soft.Supply.System.Pumps, 1e5, 13)
	require.NoError(t, err)
	assert.InDelta(t, 50/3.6e6, q, 1e-12, "a table of tables is replaced whole")
	assert.Nil(t, soft.Supply.Lift)
	assert.NotNil(t, soft.Supply.Tank)
	assert.Equal(t, []Phase{{Flow: 1, Time: 1}}, soft.Supply.Use.Profile)
	dwell, held, err := soft.Ignition.DwellAt(16)
	require.NoError(t, err)
	assert.InDelta(t, 3e-3, dwell, 1e-15, "a dwell takes the place of the current")
	assert.True(t, held)
	assert.Zero(t, soft.Ignition.Current)
	assert.Nil(t, soft.Manifold.Spread.Flow)
	assert.Len(t, soft.Manifold.Spread.Lambda, 5)
	assert.Equal(t, manifold.Flush, soft.Manifold.Runner.Mouth)
	assert.Equal(t, []float64{16, 12}, soft.Driveline.Ratios())

	assert.NotNil(t, bare.Actuator)
	assert.Nil(t, bare.Control.Closing)
	assert.Nil(t, bare.Ignition)
	assert.Nil(t, bare.Car)
	assert.NotNil(t, base.Car)
}

func TestSystemMessages(t *testing.T) {
	const gate = engine + "wastegate: {bore: 40 mm, lift: 10 mm, "
	const actuator = "actuator: {preload: 90 N, rate: 9 N/mm, opening_area: 20 cm2, stroke: 11 mm}"
	const coil = engine + "ignition: {coil: {inductance: 3 mH, resistance: 0.5 ohm"
	pumps := func(curve string) string { return engine + "supply: {pumps: {curve: " + curve + "}}" }
	for _, p := range []struct{ name, text, want string }{
		// Wastegate
		{"control alone", gate + "control: {source: manifold}}", "8:48: wastegate.control wants the section actuator beside it, whose ports it feeds"},
		{"source", gate + actuator + ", control: {source: turbine}}", "8:135: wastegate.control.source is turbine; want compressor outlet or manifold"},
		{"stiffness", gate + "actuator: {preload: 90 N, rate: 9 N, opening_area: 20 cm2, stroke: 11 mm}}",
			"8:71: wastegate.actuator.rate is 9 N, which is a force; want a stiffness in N/mm"},
		{"preload", gate + strings.Replace(actuator, "90 N", "90 kN", 1) + "}", "8:59: wastegate.actuator.preload is 90 kN; want 0 kN to 5 kN (0.9 kN?)"},
		{"a port that is not there", gate + actuator + ", control: {closing: {kind: three-way, area: 2 mm2}}}",
			"8:136: wastegate.control.closing feeds a port that the actuator lacks; want actuator.closing_area above 0"},
		{"bleed", gate + actuator + ", control: {opening: {kind: bleed, area: 2 mm2}}}",
			"8:136: wastegate.control.opening lacks bleed_area; a bleed valve works with a fixed orifice"},
		{"valves against each other", gate + strings.Replace(actuator, "stroke", "closing_area: 18 cm2, stroke", 1) +
			", control: {opening: {kind: vent, area: 2 mm2, bleed_area: 1 mm2}, closing: {kind: three-way, area: 2 mm2}}}",
			"8:148: wastegate.control does not hold together: the two pulsed valves work against each other: "},
		{"near key", gate + "actuator: {preload: 90 N, rate: 9 N/mm, opening_aera: 20 cm2, stroke: 11 mm}}",
			"8:79: wastegate.actuator.opening_aera is not a key of wastegate.actuator; opening_area?"},

		// Supply
		{"table of values", pumps("{12 V: 200 L/h}"), "8:32: supply.pumps.curve.12 V is 200 L/h; want a table over pressure, such as {0 bar: 250 L/h"},
		{"no table of tables", pumps("200 L/h"), "8:25: supply.pumps.curve is 200 L/h; want a table over voltage of tables over pressure, 0 L/h to 10000 L/h, such as {12 V: {0 bar"},
		{"empty table of tables", pumps("{}"), "8:25: supply.pumps.curve is a table of 0 points; want 1 to 200, such as {12 V: {0 bar: 250 L/h"},
		{"empty table in a table", pumps("{12 V: {}}"), "8:32: supply.pumps.curve.12 V is a table of 0 points; want 1 to 200, such as {0 bar: 250 L/h"},
		{"voltage", pumps("{12 bar: {0 bar: 200 L/h, 3 bar: 150 L/h}}"), "8:26: supply.pumps.curve has the key 12 bar, which is a pressure; want a voltage in V"},
		{"voltages fall", pumps("{14 V: {0 bar: 200 L/h, 3 bar: 150 L/h}, 12 V: {0 bar: 180 L/h, 3 bar: 120 L/h}}"),
			"8:66: supply.pumps.curve has 12 V after 14 V; want the voltage to rise"},
		{"pressures fall", pumps("{12 V: {3 bar: 150 L/h, 0 bar: 200 L/h}}"), "8:49: supply.pumps.curve.12 V has 0 bar after 3 bar; want the pressure to rise"},
		{"flows rise", pumps("{12 V: {0 bar: 150 L/h, 3 bar: 200 L/h}}"),
			"8:56: supply.pumps.curve.12 V.3 bar is 200 L/h after 150 L/h; want the flow to fall as the pressure rises"},
		{"flow out of range", pumps("{12 V: {0 bar: 150 L/min, 3 bar: 200 L/min}}"),
			"8:58: supply.pumps.curve.12 V.3 bar is 200 L/min; want 0 L/min to 166.7 L/min (20 L/min?)"},
		{"one point", pumps("{12 V: {0 bar: 150 L/h}}"), "8:32: supply.pumps.curve.12 V has one pressure; want two or more, such as {0 bar: 250 L/h"},
		{"less at more voltage", pumps("{12 V: {0 bar: 200 L/h, 3 bar: 150 L/h}, 14 V: {0 bar: 180 L/h, 3 bar: 120 L/h}}"),
			"8:72: supply.pumps.curve.14 V cannot be used: at 0 Pa the flow is not above that of 12 V"},
		{"reserve", engine + "supply: {tank: {volume: 30 L, reserve: 30000 cm3}}", "8:40: supply.tank.reserve is 30000 cm3; want less than the volume, 30000 cm3"},
		{"roughness", engine + "supply: {line: {length: 1 m, bore: 1 mm, roughness: 0.2 mm, fittings: 1}}",
			"8:16: supply.line does not hold together: line roughness is 0.0002 m; want 0 to 0.05 of the bore"},
		{"filter's fuel", engine + "supply: {filter: {flow: 200 L/h, loss: 0.1 bar}}",
			"8:18: supply.filter needs tested_with, the fuel of the measurement, in a spec without the section fuel"},
		{"profile", engine + "supply: {use: {time: 90 s, profile: {100 %: 50 %, 30 %: 40 %}}}", "8:37: supply.use.profile adds up to 90 %; want 100 %"},
		{"profile twice", engine + "supply: {use: {time: 90 s, profile: {100 %: 50 %, 30 %: 40 %, 1.0: 10 %}}}",
			"8:63: supply.use.profile has 1.0 twice; the first is on line 8"},
		{"profile above full load", engine + "supply: {use: {time: 90 s, profile: {120 %: 50 %, 30 %: 50 %}}}",
			"8:38: supply.use.profile has a key that is 120 %; want 0 % to 100 % (12 %?)"},
		{"profile without values", engine + "supply: {use: {time: 90 s, profile: 50 %}}",
			"8:37: supply.use.profile is 50 %; want a table of shares by fuel flow, that add up to 100 %, such as {100 %: 55 %"},

		// Ignition
		{"coil alone", coil + "}}", "8:18: ignition.coil needs dwell or current beside it, which says how long it is charged"},
		{"dwell and current", coil + "}, dwell: 3 ms, current: 8 A}", "8:81: ignition.current is given beside dwell; want one of dwell or current"},
		{"half a rating", coil + ", rated_current: 8 A}, dwell: 3 ms}",
			"8:73: ignition.coil.rated_current wants rated_voltage, which the coil gives at that current, beside it"},
		{"the other half", coil + ", rated_voltage: 30 kV}, dwell: 3 ms}",
			"8:73: ignition.coil.rated_voltage wants rated_current, at which the coil gives that voltage, beside it"},
		{"more sparks than cylinders", coil + ", sparks_per_cycle: 9}, dwell: 3 ms}",
			"8:76: ignition.coil.sparks_per_cycle is 9; want 1 to 5, with engine.cylinders 5"},
		{"twice the sparks of one cylinder", strings.Replace(coil, "cylinders: 5", "cylinders: 1", 1) + ", sparks_per_cycle: 3}, dwell: 3 ms}",
			"8:76: ignition.coil.sparks_per_cycle is 3; want 1 to 2, with engine.cylinders 1"},
		{"current past the limit", coil + ", current_limit: 7.5 A}, current: 8 A}", "8:90: ignition.current is 8 A; the driver holds the coil at 7.5 A"},
		{"current out of reach", coil + "}, current: 30000 mA}", "8:68: ignition.current is 30000 mA; at 13.50 V the coil's resistance and its driver leave it below 24000 mA"},
		{"no voltage left", coil + ", driver_drop: 9 V}, supply_voltage: 8 V, current: 8 A}",
			"8:107: ignition.current is 8 A; at 8.00 V the driver leaves no voltage for the coil"},

		// Manifold
		{"runner", engine + "manifold: {runner: {length: 30 mm, bore: 42 mm}}",
			"8:20: manifold.runner does not hold together: runner length 0.03 m is less than its bore, 0.042 m; it is no pipe"},
		{"shaft", engine + "manifold: {throttle: {bore: 50 mm, shaft: 40 mm, loss: 0.2}}",
			"8:43: manifold.throttle.shaft is 40 mm; want less than 20 mm, which leaves half the area of a bore of 50 mm free"},
		{"cylinders", engine + "manifold: {spread: {flow: {1: 98, 2: 101}}}", "8:27: manifold.spread.flow has figures for 2 cylinders; the engine has 5"},
		{"cylinder left out", engine + "manifold: {spread: {flow: {1: 98, 2: 101, 4: 98, 5: 97}}}",
			"8:43: manifold.spread.flow has the cylinder 4 where 3 belongs; want 1, 2, 3 and so on"},
		{"cylinder from 0", engine + "manifold: {spread: {flow: {0: 98, 1: 101}}}", "8:28: manifold.spread.flow has a key that is 0; want 1 to 24"},
		{"cylinder twice", engine + "manifold: {spread: {flow: {1: 98, 1.0: 101}}}", "8:35: manifold.spread.flow has 1.0 twice; the first is on line 8"},
		{"cylinder by name", engine + "manifold: {spread: {flow: {one: 98}}}", "8:28: manifold.spread.flow has the key one, which does not begin with a number"},
		{"one figure for all", engine + "manifold: {spread: {flow: 98}}",
			"8:27: manifold.spread.flow is 98; want a table by cylinder from 1, 0.001 to 1000000, such as {1: 98.2"},
		{"two ways to say it", engine + "manifold: {spread: {flow: {1: 1}, lambda: {1: 1}}}",
			"8:43: manifold.spread.lambda is given beside flow; want one of flow, lambda or exhaust_temperature"},
		{"leanest", engine + "manifold: {spread: {lambda: {1: 0.9, 2: 0.9, 3: 0.9, 4: 0.9, 5: 0.9}, leanest: 0.8, richest: 0.85}}",
			"8:94: manifold.spread.richest is 0.85, above leanest, 0.8"},
		{"one cylinder", strings.Replace(engine, "cylinders: 5", "cylinders: 1", 1) + "manifold: {spread: {flow: {1: 98}}}",
			"8:27: manifold.spread.flow cannot be used: flow is given for 1 cylinders; want at least 2"},

		// Driveline and car
		{"gears without final", engine + "driveline: {gears: {1: 3, 2: 2}}", "8:20: driveline.gears wants final beside it, the ratio of the final drive"},
		{"gears rise", engine + "driveline: {gears: {1: 2, 2: 3, 3: 4}, final: 4}",
			"8:30: driveline.gears.2 is 3 after 2; want the ratios to fall from gear to gear"},
		{"gear left out", engine + "driveline: {gears: {1: 2, 3: 3, 5: 1}, final: 4}",
			"8:27: driveline.gears has the gear 3 where 2 belongs; want 1, 2, 3 and so on"},
		{"driven wheels", engine + "car: {mass: 900 kg, rear_thrust: rear, rear_weight: 50 %, centre_height: 0.5 m, wheelbase: 2.5 m, rolling_radius: 0.3 m, grip: 1}",
			"8:34: car.rear_thrust is rear, which does not begin with a number"},
		{"mass", engine + "car: {mass: 1 t, rear_thrust: 0 %, rear_weight: 50 %, centre_height: 0.5 m, wheelbase: 2.5 m, rolling_radius: 0.3 m, grip: 1}",
			"8:13: car.mass is 1 t, which has the unknown unit \"t\"; want a mass in kg"},
	} {
		t.Run(p.name, func(t *testing.T) {
			got := messages(t, p.text)
			if assert.Len(t, got, 1) {
				assert.True(t, strings.HasPrefix(got[0], "hillclimb.yaml:"+p.want), "got:  %s\nwant: hillclimb.yaml:%s", got[0], p.want)
			}
		})
	}
}

// The examples, too, hold together in every trim.
func TestExamples(t *testing.T) {
	for _, name := range []string{"hillclimb", "club-four"} {
		s, err := Load("../../examples/" + name + ".yaml")
		require.NoError(t, err)
		for _, of := range s.Trims() {
			trim, err := s.Trim(of)
			require.NoError(t, err)
			require.NoError(t, trim.Supply.System.Validate())
			assert.NotNil(t, trim.Ignition.Coil)
			assert.NotNil(t, trim.Manifold.Spread)
			thrust, err := trim.Car.GripThrust(trim.Car.Road())
			require.NoError(t, err)
			assert.Positive(t, thrust)
			assert.NotEmpty(t, trim.Driveline.Ratios())
			// The dwell fits between two sparks up to the limiter.
			dwell, held, err := trim.Ignition.DwellAt(trim.Ignition.SupplyVoltage)
			require.NoError(t, err)
			assert.False(t, held)
			assert.LessOrEqual(t, trim.Engine.Limiter, trim.Ignition.Coil.TopSpeed(dwell))
		}
	}
}
