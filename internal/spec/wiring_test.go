package spec

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/wiring"
)

// example loads the example of the five with values laid over it.
func example(settings ...Setting) (*Spec, error) {
	return Load("../../examples/hillclimb.yaml", settings...)
}

// TestWiring: figures of the example land where they belong, in SI.
func TestWiring(t *testing.T) {
	s, err := example()
	require.NoError(t, err)
	trim, err := s.Trim("open")
	require.NoError(t, err)
	w := trim.Wiring
	require.NotNil(t, w)
	assert.Equal(t, wiring.PVC, w.Insulation)
	assert.InDelta(t, 0.06, w.LargestDrop, 1e-12)
	assert.InDelta(t, 0.8, w.FuseLoad, 1e-12)
	assert.InDelta(t, 20*3600, w.Battery.Charge, 1e-9)
	assert.InDelta(t, 1, w.Battery.Charging, 1e-12) // a twentieth
	assert.InDelta(t, 0.008, w.Battery.Resistance, 1e-12)
	assert.InDelta(t, 4, w.Feed.Length+w.Feed.Return, 1e-12)
	require.Len(t, w.Channels, 10)
	pump := w.Channels[4]
	assert.Equal(t, "pump 1", pump.Name)
	assert.InDelta(t, 20, pump.Limit, 0)
	assert.InDelta(t, 60, pump.Peak, 0)
	assert.InDelta(t, 35+273.15, pump.Wire.Temperature, 1e-9)
	assert.InDelta(t, 0.003, pump.Wire.Contacts, 1e-12)
	require.Len(t, pump.Loads, 1)
	assert.Equal(t, 1, pump.Loads[0].Count)
	assert.InDelta(t, 4, pump.Loads[0].Inrush, 0)
	current, _ := pump.Loads[0].Pump.At(3e5)
	assert.InDelta(t, 8.5, current, 1e-12)
	assert.InDelta(t, 25, w.Channels[3].Peak, 0, "without a peak limit it is the limit")
	control := w.Channels[0]
	require.Len(t, control.Loads, 3)
	assert.True(t, control.Loads[0].EngineOff)
	assert.Equal(t, wiring.Law{Current: 14.0 / 13, Voltage: 13, Exponent: wiring.ConstantPower}, control.Loads[1].Law)
	assert.True(t, control.Loads[2].Closing, "the example has no valve at the other port")
	assert.Equal(t, 5, w.Channels[1].Loads[0].Count, "all five")
	assert.Equal(t, "stage", w.FullLoad.Name)
	assert.True(t, w.FullLoad.Has("coils"))
	assert.False(t, w.FullLoad.Has("fan"))
	assert.False(t, w.Loop.Any(), "all voltages are stated")
	output, outside := w.AlternatorOutput(500 * 3.14 / 30)
	assert.Zero(t, output)
	assert.True(t, outside)

	four, err := Load("../../examples/club-four.yaml")
	require.NoError(t, err)
	trim, err = four.Trim("free")
	require.NoError(t, err)
	engine := trim.Wiring.Channels[0]
	assert.InDelta(t, 20, engine.Fuse, 0)
	assert.InDelta(t, 8.28532657087e-3, engine.Wire.Conductor.Resistance, 1e-12) // 14 AWG by ASTM B258
	assert.Equal(t, 2, engine.Loads[2].Count, "a coil fires twice a cycle in one of two cylinders")
	assert.Equal(t, wiring.ThinWall, trim.Wiring.Insulation)
}

// TestWiringMerges: a trim changes one key of one load, takes a channel's load away, and adds one; the rest stays.
func TestWiringMerges(t *testing.T) {
	s, err := example(Setting{Path: "trims.capped.wiring", Value: "{loads: {ecu: {current: 3 A}, fan: none}, channels: {fan: none, lights: {limit: 20 A}}, " +
		"modes: {night stage: none, idle: {on: [ecu]}}}"})
	require.NoError(t, err)
	capped, err := s.Trim("capped")
	require.NoError(t, err)
	w := capped.Wiring
	assert.Len(t, w.Channels, 9)
	assert.Len(t, w.Modes, 3)
	assert.InDelta(t, 3, w.Channels[0].Loads[0].Law.Current, 0)
	assert.True(t, w.Channels[0].Loads[0].EngineOff)
	lights := w.Channels[8]
	assert.InDelta(t, 20, lights.Limit, 0)
	assert.Zero(t, lights.Fuse, "another choice replaces the fuse")
	assert.Equal(t, []string{"ecu"}, w.Modes[1].On)
	open, err := s.Trim("open")
	require.NoError(t, err)
	assert.Len(t, open.Wiring.Channels, 10)

	set, err := example(Setting{Path: "wiring.channels.pump 1.limit", Value: "30 A"})
	require.NoError(t, err)
	open, err = set.Trim("open")
	require.NoError(t, err)
	assert.InDelta(t, 30, open.Wiring.Channels[4].Limit, 0)
	assert.InDelta(t, 3.6, open.Wiring.Channels[4].Wire.Length, 1e-12)
	differ := Differing([]*Trim{mustTrim(t, "open"), &open})
	require.Len(t, differ, 1)
	assert.Equal(t, "wiring.channels.pump 1.limit", differ[0].Path)
}

func mustTrim(t *testing.T, name string) *Trim {
	s, err := example()
	require.NoError(t, err)
	trim, err := s.Trim(name)
	require.NoError(t, err)
	return &trim
}

func TestWiringMessages(t *testing.T) {
	for _, p := range []struct{ path, value, want string }{
		{"wiring.loads.fan.channel", "fans", "wiring.loads.fan.channel is fans, which is no channel; want one of control, injectors 1,"},
		{"wiring.loads.fan.channel", "fans", "; fan?"},
		{"wiring.loads.fan.channel", "[fan, lights]", "wiring.loads.fan.channel is a list"},
		{"wiring.loads.spare", "{kind: steady, current: 1 A}", "wiring.loads.spare.channel is missing; want text"},
		{"wiring.modes.stage.on", "[ecu, mian pump 1]", "wiring.modes.stage.on is mian pump 1, which is no load; want one of ecu, dash,"},
		{"wiring.modes.stage.on", "[ecu, mian pump 1]", "; main pump 1?"},
		{"wiring.modes.stage.on", "[ecu, ecu]", "wiring.modes.stage.on has ecu twice"},
		{"wiring.modes.stage.on", "ecu", "wiring.modes.stage.on is ecu; want a list of names, such as [ecu]"},
		{"wiring.modes.stage.on", "[{ecu: 1}]", "wiring.modes.stage.on has the entry a section; want a name"},
		{"wiring.modes.stage.speed", "9000 rpm", "wiring.modes.stage.speed is 9000 rpm; want no more than engine.limiter, 7800 rpm"},
		{"wiring.full_load", "stag", "wiring.full_load is stag, which is no mode; want one of stage, night stage, idle, cranking; stage?"},
		{"wiring.channels.spare", "{limit: 5 A, area: 1 mm2, length: 1 m}", "wiring.channels.spare feeds no load; name it as the channel of one"},
		{"wiring.channels.fan", "{limit: 5 A, fuse: 5 A}", "wiring.channels.fan.fuse is given beside limit; want one of limit or fuse"},
		{"wiring.channels.lights.peak_limit", "50 A", "wiring.channels.lights.peak_limit is of a managed output, and the channel has a fuse"},
		{"wiring.channels.fan.peak_limit", "5 A", "wiring.channels.fan.peak_limit is 5 A; want no less than the limit, 25 A"},
		{"wiring.channels.fan.area", "4", "wiring.channels.fan.area is 4, which has no unit; want an area in cm2, mm2"},
		{"wiring.channels.fan.aera", "4 mm2", "wiring.channels.fan.aera is not a key of wiring.channels.fan; area?"},
		{"wiring.loads.coils.current", "3 A", "wiring.loads.coils.current is no key of a load of the kind coils"},
		{"wiring.loads.coils.count", "6", "wiring.loads.coils.count is 6; the engine has 5"},
		{"wiring.loads.fan", "{kind: fan, channel: fan, current: none}", "wiring.loads.fan lacks current, or power, which a load of the kind fan is known by"},
		{"wiring.loads.primary set", "{kind: primary injectors, channel: injectors 1, resistance: none, peak: 4 A}",
			"wiring.loads.primary set lacks resistance, or peak, hold, peak_time, which a load of the kind primary injectors is known by"},
		{"wiring.loads.secondary set.hold", "5 A", "wiring.loads.secondary set.hold is 5 A; want no more than peak, 4 A"},
		{"wiring.loads.secondary set.resistance", "2 ohm", "wiring.loads.secondary set.peak is given beside resistance"},
		{"wiring.loads.main pump 1.count", "none", ""},
		{"wiring.loads.main pump 3", "{kind: fuel pumps, channel: pump 1, pump_current: 9 A}", ""},
		{"wiring.loads.primary too", "{kind: primary injectors, channel: injectors 1, resistance: 12 ohm}",
			"wiring.loads.primary too lacks count: the load primary set is of the same kind and takes all that are on no other"},
		{"wiring.loads", "{a: {kind: coils, channel: coils, count: 3}, b: {kind: coils, channel: coils, count: 3}, coils: none}",
			"wiring.loads.b.count is 3, and the loads of the kind before it have 3; the engine has 5"},
		{"wiring.loads.fan.kind", "wind", "wiring.loads.fan.kind is wind; want steady, fan, lamp,"},
		{"wiring.battery", "none", "wiring.battery is none; want a section with voltage, capacity"},
		{"wiring.loads", "none", "wiring.loads is none; want a section with one name or more"},
		{"wiring.loads", "3 A", "wiring.loads is 3 A; want a section with one name or more, each with kind, channel"},
		{"wiring.loads.fan", "3 A", "wiring.loads.fan is 3 A; want a section with kind, channel"},
	} {
		_, err := example(Setting{Path: p.path, Value: p.value})
		if p.want == "" {
			assert.NoError(t, err, "%s: %s", p.path, p.value)
			continue
		}
		assert.ErrorContains(t, err, p.want, "%s: %s", p.path, p.value)
	}
	_, err := read(engine + "wiring:\n  battery: {capacity: 20 Ah, resistance: 9 mohm}\n  channels: {a.b: {limit: 4 A}}\n  loads: {x: {kind: steady, channel: a, current: 1 A}}\n  modes: {}\n")
	assert.ErrorContains(t, err, "10:14: wiring.channels has the name a.b; want letters, digits and - _ + with single spaces")
	assert.ErrorContains(t, err, "12:10: wiring.modes has 0 entries; want 1 to 100 by name, each with speed, on, time, fuel_share")
}

// TestLoadsWithoutPart: a load whose part a trim takes away draws nothing, is told, and keeps its place in channels and modes. So is one of more pumps than
// there are.
func TestLoadsWithoutPart(t *testing.T) {
	for _, c := range []struct{ path, value, load, why string }{
		{"supply.lift", "none", "lift pump", "there is no supply.lift"},
		{"supply", "none", "main pump 1", "there is no supply.pumps"},
		{"ignition", "none", "coils", "there is no ignition.coil"},
		{"ignition.coil", "none", "coils", "there is no ignition.coil"},
		{"injection", "{secondary: none, staging: none}", "secondary set", "there is no injection.secondary"},
		{"injection", "none", "main pump 1", "there is no injection, whose rail says what the pumps add"},
		{"wastegate.control", "none", "boost valve", "there is no wastegate.control"},
		{"wiring.loads.boost valve.port", "opening", "boost valve", "there is no wastegate.control.opening"},
		{"wiring.loads.main pump 3", "{kind: fuel pumps, channel: pump 1, pump_current: 9 A}", "main pump 3", "supply.pumps has 2, which are on other loads"},
		{"wiring.loads.main pump 3", "{kind: fuel pumps, channel: pump 1, pump_current: 9 A, count: 1}", "main pump 3",
			"supply.pumps has 2, which are on other loads"},
	} {
		s, err := example(Setting{Path: c.path, Value: c.value})
		require.NoError(t, err, c.path)
		trim, err := s.Trim("open")
		require.NoError(t, err)
		w := trim.Wiring
		assert.Contains(t, w.LeftOut, LeftOut{c.load, c.why}, c.path)
		assert.Len(t, w.Channels, 10)
		assert.Len(t, w.Modes, 4)
		for _, ch := range w.Channels {
			for _, l := range ch.Loads {
				assert.NotEqual(t, c.load, l.Name, c.path)
			}
		}
	}
	s, err := example()
	require.NoError(t, err)
	trim, err := s.Trim("open")
	require.NoError(t, err)
	assert.Empty(t, trim.Wiring.LeftOut)
	s, err = example(Setting{Path: "wiring.loads.main pump 2.count", Value: "none"}) // the rest
	require.NoError(t, err)
	trim, err = s.Trim("open")
	require.NoError(t, err)
	assert.Equal(t, 1, trim.Wiring.Channels[5].Loads[0].Count)
}

// TestPulley: with the crank's pulley twice as large the alternator has at 750 rpm of the engine what it has at 1500 rpm of its own.
func TestPulley(t *testing.T) {
	s, err := example(Setting{Path: "wiring.alternator.pulley_ratio", Value: "2"})
	require.NoError(t, err)
	trim, err := s.Trim("open")
	require.NoError(t, err)
	output, outside := trim.Wiring.AlternatorOutput(750 * math.Pi / 30)
	assert.InDelta(t, 52, output, 1e-9)
	assert.False(t, outside)
	_, outside = trim.Wiring.AlternatorOutput(4000 * math.Pi / 30) // 8000 rpm
	assert.True(t, outside)
}

// TestWiringLoop: a voltage that the spec leaves to its default follows from the wiring, one that it states does not, and neither does that of a part
// which is on no channel.
func TestWiringLoop(t *testing.T) {
	loop := func(settings ...Setting) WiringLoop {
		s, err := example(settings...)
		require.NoError(t, err)
		trim, err := s.Trim("open")
		require.NoError(t, err)
		return trim.Wiring.Loop
	}
	assert.Equal(t, WiringLoop{Injectors: true}, loop(Setting{Path: "injection.supply_voltage", Value: "none"}))
	assert.Equal(t, WiringLoop{Pumps: true, Lift: true}, loop(Setting{Path: "supply.pumps.voltage", Value: "none"}, Setting{Path: "supply.lift.voltage",
		Value: "none"}))
	assert.Equal(t, WiringLoop{Coils: true}, loop(Setting{Path: "ignition.supply_voltage", Value: "none"}))
	s, err := example(Setting{Path: "injection.supply_voltage", Value: "none"})
	require.NoError(t, err)
	trim, err := s.Trim("open")
	require.NoError(t, err)
	assert.Contains(t, trim.Defaults, Default{"injection.supply_voltage", "13.5 V", "to begin with; then what arrives through the wiring in the mode stage"})
	assert.Equal(t, WiringLoop{}, loop(Setting{Path: "ignition.supply_voltage", Value: "none"}, Setting{Path: "wiring.modes.stage.on", Value: "[ecu]"}))
}
