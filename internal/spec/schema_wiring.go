package spec

import (
	"slices"

	"bellmouth/internal/units"
	"bellmouth/internal/wiring"
)

// A wiringDraft is the section wiring as the file says it.
type wiringDraft struct {
	Wiring
	insulation string
	fullLoad   string
	alternator Alternator
	feed       wireDraft
	channels   []*channelDraft
	loads      []*loadDraft
	modes      []*modeDraft
}

type wireDraft struct{ area, length, back, temperature, contacts float64 }

type channelDraft struct {
	Channel
	wire wireDraft
}

type loadDraft struct {
	ElectricLoad
	kind, channel, port, without string
	count                        int
	current, power, at           float64
}

type modeDraft struct{ Mode }

const (
	insulationPVC      = "PVC"
	insulationThinWall = "thin wall"
	portOpening        = "opening"
	portClosing        = "closing"
	goesOn             = "goes on"
	ratedVoltage       = "13 V"
	inrushTime         = "150 ms"
	engineStops        = "engine stops"
)

func (d *draft) wiringFields() []field {
	w := &d.wiring
	w.channels, w.loads, w.modes = nil, nil, nil
	return []field{
		{key: "insulation", doc: "by which the current that a wire carries is known", into: &w.insulation, choices: []string{insulationPVC, insulationThinWall},
			fallback: insulationPVC, reason: "the lower currents, as read; those of thin walls are from memory", example: insulationPVC},
		{key: "largest_drop", doc: "accepted between source and load, as a share of the source's voltage", into: &w.LargestDrop, kind: units.Fraction,
			min: "0.1 %", max: "50 %", fallback: "5 %", reason: "common practice, no source", example: "5 %"},
		{key: "fuse_load", doc: "share of a fuse's rating, or of a channel's trip current, that may flow continuously", into: &w.FuseLoad, kind: units.Fraction,
			min: "10 %", max: "100 %", fallback: "80 %", reason: "common practice, a weak source", example: "80 %"},
		{key: "bundle_factor",
			doc: "share of a single wire's current that a wire carries in its bundle and heat; 50 % for heat alone of PVC in air of 60 degC", into: &w.Bundle,
			kind: units.Fraction,
			min:  "10 %", max: "100 %", fallback: "100 %", reason: "single wires in free air at 30 degC; no figure for bundles with a source was found", example: "80 %"},
		{key: "alternator", doc: "what charges; without it the battery feeds everything", fields: []field{
			{key: "voltage", doc: "that its regulator holds at the battery", into: &w.alternator.Voltage, kind: units.Voltage, min: "6 V", max: "60 V",
				fallback: "14 V", reason: "a charging 12 V system; common practice, no source", example: "14 V"},
			{key: "pulley_ratio", doc: "its speed over the engine's, the crank's pulley over its own", into: &w.alternator.Pulley, min: "0.2", max: "6",
				fallback: "1", reason: "output is stated over the engine's speed", example: "1"},
			{key: "output", doc: "highest current, hot, over the alternator's speed", into: &w.alternator.Output, kind: units.Current, min: "0 A",
				max: "1000 A", required: true,
				over: engineSpeed("{900 rpm: 25 A, 3000 rpm: 60 A}"), example: "{900 rpm: 25 A, 2000 rpm: 48 A, 5000 rpm: 70 A}"},
		}},
		{key: "battery", doc: "at rest, as it is in the car", required: true, fields: []field{
			{key: "voltage", doc: "without load", into: &w.Battery.Voltage, kind: units.Voltage, min: "5 V", max: "60 V", fallback: "12.6 V",
				reason: "a charged lead-acid battery of six cells; common practice, no source", example: "12.6 V"},
			{key: "capacity", doc: "when full", into: &w.Battery.Charge, kind: units.Charge, min: "0.5 Ah", max: "1000 Ah", required: true, example: "20 Ah"},
			{key: "resistance", doc: "inside, with its terminals", into: &w.Battery.Resistance, kind: units.Resistance, min: "0.1 mohm", max: "500 mohm", required: true,
				example: "12 mohm"},
			{key: "charging", doc: "current that it takes at the alternator's voltage when nearly full; default: a twentieth of the capacity in an hour",
				into: &w.Battery.Charging, kind: units.Current, min: "0.05 A", max: "200 A", commented: true, example: "1 A"},
			{key: "usable", doc: "share of the capacity that is counted on", into: &w.Battery.Usable, kind: units.Fraction, min: "1 %", max: "100 %", fallback: "50 %",
				reason: "a lead-acid battery that is to start the engine again; common practice, no source", example: "50 %"},
		}},
		{key: "feed", doc: "the cable from the battery to where the channels begin; without it nothing is lost there",
			fields: w.feed.fields("16 mm2", "2.5 m", "1 m")},
		{key: "channels", doc: "managed outputs or fuses by name, each with the wire to its loads", required: true, example: "control",
			fields: (&channelDraft{}).fields(),
			member: func(name string) []field {
				c := &channelDraft{Channel: Channel{Name: name}}
				w.channels = append(w.channels, c)
				return c.fields()
			}},
		{key: "loads", doc: "what draws current, by name", required: true, example: "ecu", fields: (&loadDraft{}).fields(),
			member: func(name string) []field {
				l := &loadDraft{ElectricLoad: ElectricLoad{Name: name}}
				w.loads = append(w.loads, l)
				return l.fields()
			}},
		{key: "modes", doc: "which loads are on, by name", required: true, example: "stage", fields: (&modeDraft{}).fields(),
			member: func(name string) []field {
				m := &modeDraft{Mode: Mode{Name: name}}
				w.modes = append(w.modes, m)
				return m.fields()
			}},
		{key: "full_load", doc: "the mode whose loads are on at full load; default: the one with the highest engine speed", into: &w.fullLoad, example: "stage"},
	}
}

func (w *wireDraft) fields(area, length, back string) []field {
	return []field{
		{key: "area", doc: "of the copper, IEC 60228 class 5 where it is one of its sizes, or a gauge such as 14 AWG", into: &w.area, kind: units.WireArea,
			min: "0.1 mm2", max: "150 mm2", required: true, example: area},
		{key: "length", doc: "there", into: &w.length, kind: units.Length, min: "0 m", max: "30 m", required: true, example: length},
		{key: "return_length", doc: "back through a wire of the same area", into: &w.back, kind: units.Length, min: "0 m", max: "30 m", fallback: "0 m",
			reason: "the car's body carries it back without loss", example: back},
		{key: "temperature", doc: "of the copper at work", into: &w.temperature, kind: units.Temperature, min: "-40 degC", max: "200 degC", fallback: "60 degC",
			reason: "in an engine bay, loaded; common practice, no source", example: "60 degC"},
		{key: "contacts", doc: "resistance of connectors, and of switch or fuse", into: &w.contacts, kind: units.Resistance, min: "0 mohm", max: "1 ohm",
			fallback: "0 mohm", reason: "none counted", example: "5 mohm"},
	}
}

func (c *channelDraft) fields() []field {
	return append([]field{
		{key: "limit", doc: "either the current that a managed output bears continuously ...", into: &c.Limit, kind: units.Current, min: "0.1 A", max: "500 A",
			required: true, group: "protection", example: "15 A"},
		{key: "fuse", doc: "... or the rating of a fuse or breaker", into: &c.Fuse, kind: units.Current, min: "0.1 A", max: "500 A", required: true,
			group: "protection", commented: true, example: "15 A"},
		{key: "peak_limit", doc: "current that a managed output bears while its loads start; default: its limit", into: &c.Peak, kind: units.Current,
			min: "0.1 A", max: "2000 A", commented: true, example: "40 A"},
	}, c.wire.fields("1 mm2", "1.5 m", "1.5 m")...)
}

func (l *loadDraft) fields() []field {
	return []field{
		{key: "kind", doc: "what it is; injectors, coils, pumps and boost valve follow the engine", into: &l.kind, choices: slices.Clone(loadKinds[:]),
			required: true,
			example:  loadKinds[SteadyLoad]},
		{key: "channel", doc: "that feeds it", into: &l.channel, required: true, example: "control"},
		{key: "count", doc: "how many of the injectors, coils or pumps are on it; default: all of them", into: &l.count, min: "1", max: "96", commented: true,
			example: "5"},
		{key: "current", doc: "of a steady load, fan or lamp either its current ...", into: &l.current, kind: units.Current, min: "0 A", max: "500 A", group: "draw",
			example: "2.5 A"},
		{key: "power", doc: "... or its power", into: &l.power, kind: units.SmallPower, min: "0 W", max: "5000 W", group: "draw", commented: true, example: "55 W"},
		{key: "voltage", doc: "at which a steady load, fan or lamp draws that; default: " + ratedVoltage, into: &l.at, kind: units.Voltage, min: "5 V", max: "60 V",
			example: ratedVoltage},
		{key: "resistance", doc: "of one injector, or of a boost valve, that is switched straight on", into: &l.Resistance, kind: units.Resistance, min: "0.2 ohm",
			max: "200 ohm", commented: true, example: "12 ohm"},
		{key: "peak", doc: "current of one injector that opens with a peak", into: &l.Peak, kind: units.Current, min: "0.1 A", max: "50 A", commented: true,
			example: "4 A"},
		{key: "hold", doc: "current that its driver holds after the peak", into: &l.Hold, kind: units.Current, min: "0.05 A", max: "50 A", commented: true,
			example: "1 A"},
		{key: "peak_time", doc: "for which the peak is there", into: &l.PeakTime, kind: units.Time, min: "0 ms", max: "10 ms", commented: true, example: "1 ms"},
		{key: "pump_current", doc: "of one pump", into: &l.Pump, kind: units.Current, min: "0 A", max: "100 A", commented: true,
			over:    &axis{name: "pressure", kind: units.PressureDifference, min: "0 bar", max: "50 bar", example: "{0 bar: 5 A, 5 bar: 10 A}"},
			example: "{0 bar: 5.5 A, 4 bar: 9 A, 7 bar: 12 A}"},
		{key: "port", doc: "of the wastegate that the boost valve feeds", into: &l.port, choices: []string{portOpening, portClosing}, commented: true,
			example: portOpening},
		{key: "inrush", doc: "current when switched on over that at work; default: 4 of fans and pumps, 10 of lamps, else 1", into: &l.Inrush, min: "1", max: "30",
			commented: true, example: "4"},
		{key: "inrush_time", doc: "for which that flows; default: " + inrushTime, into: &l.InrushTime, kind: units.Time, min: "0 ms", max: "10 s",
			example: inrushTime},
		{key: "without", doc: "what the engine does without a steady load, fan or lamp; default: " + goesOn, into: &l.without,
			choices: []string{goesOn, engineStops}, example: engineStops},
	}
}

func (m *modeDraft) fields() []field {
	return []field{
		{key: "speed", doc: "of the engine", into: &m.Speed, kind: units.Speed, min: "0 rpm", max: "25000 rpm", required: true, example: "6500 rpm"},
		{key: "on", doc: "the loads that are on", into: &m.On, required: true, example: "[ecu]"},
		{key: "time", doc: "that it lasts at most; without it there is no end to it", into: &m.Time, kind: units.Time, min: "0.1 s", max: "240 h", commented: true,
			example: "90 s"},
		{key: "fuel_share", doc: "fuel of a cycle over that of full load at this speed, or at the nearest that is solved", into: &m.Fuel, kind: units.Fraction,
			min: "0 %", max: "200 %", fallback: "100 %", reason: "full load", example: "100 %"},
	}
}

// insulationNamed returns the insulation that the file names.
func insulationNamed(name string) wiring.Insulation {
	if name == insulationThinWall {
		return wiring.ThinWall
	}
	return wiring.PVC
}
