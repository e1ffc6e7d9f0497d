package spec

import (
	"bellmouth/internal/fuel"
	"bellmouth/internal/manifold"
	"bellmouth/internal/units"
)

const (
	chargingSystem = "a charging 12 V system; common practice, no source"
	restVoltage    = "13.5 V"
)

// A controlDraft is the section wastegate.control as the file says it.
type controlDraft struct {
	source           string
	opening, closing valveDraft
}

type valveDraft struct {
	kind, rests string
	area, bleed float64
}

const (
	sourceCompressor = "compressor outlet"
	sourceManifold   = "manifold"
	pushOpen         = "open"
	pushClosed       = "closed"
	pipedBleed       = "bleed"
	pipedThreeWay    = "three-way"
	pipedVent        = "vent"
)

// formerShut is what closed was called.
var formerShut = map[string]string{"shut": pushClosed}

func (d *draft) actuatorFields() []field {
	a := &d.actuator
	return []field{
		{key: "preload", doc: "spring force with the valve closed, at the diaphragm", into: &a.Preload,
			kind: units.Force, min: "0 N", max: "5000 N", required: true, example: "240 N"},
		{key: "rate", doc: "of the spring", into: &a.Rate, kind: units.Stiffness, min: "0 N/mm", max: "500 N/mm", required: true, example: "12 N/mm"},
		{key: "opening_area", doc: "of the diaphragm, on which the port that opens the valve acts", into: &a.OpeningArea, kind: units.Area,
			min: "1 cm2", max: "300 cm2", required: true, example: "34 cm2"},
		{key: "closing_area", doc: "of the diaphragm on the spring's side, on which the port that closes the valve acts", into: &a.ClosingArea,
			kind: units.Area, min: "0 cm2", max: "300 cm2", fallback: "0 cm2", reason: "one port, the spring's side open to the venue", example: "32 cm2"},
		{key: "lever_ratio", doc: "travel of the diaphragm over lift of the valve", into: &a.LeverRatio, min: "0.1", max: "20",
			fallback: "1", reason: "a valve on the actuator's rod", example: "1"},
		{key: "stroke", doc: "greatest travel of the diaphragm", into: &a.Stroke,
			kind: units.Length, min: "0.5 mm", max: "200 mm", required: true, example: "11 mm"},
		{key: "valve_diameter", doc: "of the face that the exhaust pushes on, 0 mm for a balanced valve; default: the seat's bore", into: &a.ValveDiameter,
			kind: units.Length, min: "0 mm", max: "150 mm", commented: true, example: "38 mm"},
		{key: "exhaust_pushes", doc: "which way the turbine inlet pressure pushes the valve", into: &d.exhaustPushes,
			choices: []string{pushOpen, pushClosed}, former: formerShut,
			fallback: pushOpen, reason: "a valve that lifts off its seat with the flow; common practice, no source", example: pushOpen},
	}
}

func (d *draft) controlFields() []field {
	c := &d.control
	return []field{
		{key: "source", doc: "where the ports take their air", into: &c.source, choices: []string{sourceCompressor, sourceManifold},
			fallback: sourceCompressor, reason: "common practice, no source", example: sourceCompressor},
		{key: "opening", doc: "the pulsed valve of the port that opens the wastegate; without it the port is fed straight from the source",
			fields: c.opening.fields(pipedBleed, "2.5 mm2", "1.2 mm2"), commented: true},
		{key: "closing", doc: "the pulsed valve of the port that closes the wastegate; without it the port is open to the venue; " +
			"with both, the one's duty is 100 % less the other's",
			fields: c.closing.fields(pipedThreeWay, "3 mm2", "3 mm2")},
	}
}

func (v *valveDraft) fields(kind, area, bleed string) []field {
	return []field{
		{key: "kind", doc: "three-way joins the port to source or venue; bleed feeds a port with a fixed orifice to the venue; " +
			"vent empties a port with a fixed orifice from the source",
			into: &v.kind, choices: []string{pipedThreeWay, pipedBleed, pipedVent}, required: true, example: kind},
		{key: "area", doc: "effective, Cd A, of the open valve", into: &v.area,
			kind: units.Area, min: "0.05 mm2", max: "500 mm2", required: true, example: area},
		{key: "bleed_area", doc: "effective, of the fixed orifice, or of the three-way valve's way to the venue; default there: as area",
			into: &v.bleed, kind: units.Area, min: "0.02 mm2", max: "500 mm2", example: bleed},
		{key: "rests", doc: "how the valve is without current", into: &v.rests, choices: []string{pushClosed, pushOpen}, former: formerShut,
			fallback: pushClosed, reason: "common practice, no source", example: pushClosed},
	}
}

// A supplyDraft is the section supply as the file says it.
type supplyDraft struct {
	temperature     float64
	volume, reserve float64
	pumps, lift     pumpsDraft
	liftPressure    float64
	line, back      lineDraft
	filter          filterDraft
	use             Use
}

type pumpsDraft struct {
	count   int
	connect string
	voltage float64
	tests   []row
}

type lineDraft struct{ length, bore, roughness, fittings float64 }

type filterDraft struct {
	flow, loss, linear, temperature float64
	fuel                            string
}

const (
	sideBySide = "parallel"
	inSeries   = "series"
)

func (d *draft) supplyFields() []field {
	s := &d.supply
	lift := append(s.lift.fields("1", "{12 V: {0 bar: 250 L/h, 0.5 bar: 170 L/h}}"),
		field{key: "pressure", doc: "that they work against on the way to the pot", into: &s.liftPressure, kind: units.PressureDifference,
			min: "0 bar", max: "10 bar", fallback: "0.2 bar", reason: "hose and strainer; common practice, no source", example: "0.2 bar"})
	return []field{
		{key: "temperature", doc: "of the fuel on its way; default: fuel.temperature", into: &s.temperature, kind: units.Temperature,
			min: "-20 degC", max: "60 degC", commented: true, example: "30 degC"},
		{key: "tank", doc: "what holds the fuel", fields: []field{
			{key: "volume", doc: "filled", into: &s.volume, kind: units.Volume, min: "0.5 L", max: "1000 L", required: true, example: "40 L"},
			{key: "reserve", doc: "of it not counted on: what the pickup cannot reach, and what must be left", into: &s.reserve, kind: units.Volume,
				min: "0 L", max: "500 L", fallback: "0 L", reason: "all of the volume given is used", example: "4 L"},
		}},
		{key: "pumps", doc: "the main pumps", fields: s.pumps.fields("2", "{12 V: {0 bar: 250 L/h, 3 bar: 210 L/h, 6 bar: 145 L/h, 8 bar: 95 L/h}}")},
		{key: "lift", doc: "pumps that fill a pot from which the main pumps take the fuel", fields: lift},
		{key: "line", doc: "from the tank to the rail", fields: s.line.fields("4 m", "8 mm", "6")},
		{key: "return", doc: "from the regulator to the tank; without it the line back loses nothing", fields: s.back.fields("4 m", "8 mm", "4")},
		{key: "filter", doc: "in the line, as measured at one flow", fields: []field{
			{key: "flow", doc: "of the measurement", into: &s.filter.flow, kind: units.VolumeFlow, min: "1 L/h", max: "10000 L/h", required: true,
				example: "250 L/h"},
			{key: "loss", doc: "of pressure at that flow", into: &s.filter.loss, kind: units.PressureDifference, min: "0 bar", max: "5 bar", required: true,
				example: "0.1 bar"},
			{key: "linear_share", doc: "of that loss which goes with the flow, in the medium; the rest, in the ports, goes with its square",
				into: &s.filter.linear,
				kind: units.Fraction, min: "0 %", max: "100 %", fallback: "50 %",
				reason: "between a fine element and a strainer; common practice, no source", example: "60 %"},
			{key: "tested_with", doc: "the fuel of the measurement; default: the spec's own", into: &s.filter.fuel, choices: fuel.LiquidNames(),
				former: fuel.FormerNames(), example: "ron95"},
			{key: "test_temperature", doc: "of the fuel of the measurement", into: &s.filter.temperature, kind: units.Temperature, min: "-20 degC",
				max:      "60 degC",
				fallback: "20 degC", reason: "common practice, no source", example: "20 degC"},
		}},
		{key: "use", doc: "how one stage or lap takes fuel, where no course tells", fields: []field{
			{key: "name", doc: "what the reports call it", into: &s.use.Name, example: "hill"},
			{key: "time", doc: "that it takes", into: &s.use.Time, kind: units.Time, min: "1 s", max: "24 h", required: true, example: "100 s"},
			{key: "profile", doc: "share of the time at a share of the highest fuel flow at full load", into: &s.use.Profile, kind: units.Fraction,
				min: "0 %", max: "100 %", required: true,
				over:    &axis{name: "fuel flow", kind: units.Fraction, min: "0 %", max: "100 %", loose: true, example: "{100 %: 60 %, 10 %: 40 %}"},
				example: "{100 %: 55 %, 40 %: 30 %, 8 %: 15 %}"},
		}},
	}
}

func (p *pumpsDraft) fields(count, curve string) []field {
	return []field{
		{key: "count", doc: "equal pumps", into: &p.count, min: "1", max: "6", fallback: "1", reason: "one pump; common practice, no source",
			example: count},
		{key: "connect", doc: "how several stand together; default: " + sideBySide, into: &p.connect, choices: []string{sideBySide, inSeries},
			example: sideBySide},
		{key: "voltage", doc: "at the pumps", into: &p.voltage, kind: units.Voltage, min: "6 V", max: "60 V",
			fallback: restVoltage, reason: chargingSystem, example: "13 V"},
		{key: "curve", doc: "flow of one pump as tested", into: &p.tests, kind: units.VolumeFlow, min: "0 L/h", max: "10000 L/h", required: true,
			over:    &axis{name: "voltage", kind: units.Voltage, min: "4 V", max: "80 V", example: "{12 V: {0 bar: 250 L/h, 5 bar: 160 L/h}}"},
			inner:   &axis{name: "pressure", kind: units.PressureDifference, min: "0 bar", max: "50 bar", example: "{0 bar: 250 L/h, 5 bar: 160 L/h}"},
			example: curve},
	}
}

func (l *lineDraft) fields(length, bore, fittings string) []field {
	return []field{
		{key: "length", doc: "of hose and pipe", into: &l.length, kind: units.Length, min: "0 m", max: "50 m", required: true, example: length},
		{key: "bore", doc: "inside", into: &l.bore, kind: units.Length, min: "1 mm", max: "50 mm", required: true, example: bore},
		{key: "roughness", doc: "of the wall", into: &l.roughness, kind: units.Length, min: "0 µm", max: "500 µm",
			fallback: "1.5 µm", reason: "drawn tube, White, Fluid Mechanics, table 6.1", example: "1.5 µm"},
		{key: "fittings", doc: "sum of the loss coefficients of bends, unions and valves", into: &l.fittings, min: "0", max: "1000", required: true,
			example: fittings},
	}
}

func (d *draft) ignitionFields() []field {
	i, c := &d.ignition, &d.coil
	return []field{
		{key: "delay", doc: "crank angle from the spark to the start of burning; default: by engine speed", into: &i.Delay, kind: units.Angle, min: "0 deg",
			max:  "57 deg",
			over: engineSpeed("{1500 rpm: 4 deg, 7800 rpm: 7 deg}"), commented: true, example: "{1500 rpm: 4 deg, 7800 rpm: 7 deg}"},
		{key: "coil", doc: "an inductive coil with its driver; needs dwell or current beside it", fields: []field{
			{key: "inductance", doc: "of the primary winding", into: &c.Inductance, kind: units.Inductance, min: "0.02 mH", max: "50 mH", required: true,
				example: "2.8 mH"},
			{key: "resistance", doc: "of the primary circuit, warm, leads included", into: &c.Resistance, kind: units.Resistance, min: "0.01 ohm",
				max: "20 ohm", required: true, example: "0.6 ohm"},
			{key: "driver_drop", doc: "voltage across the driver while it charges the coil", into: &c.DriverDrop, kind: units.Voltage, min: "0 V", max: "10 V",
				fallback: "1.5 V", reason: "an insulated-gate transistor; common practice, no source", example: "1.5 V"},
			{key: "current_limit", doc: "at most, as the driver limits it", into: &c.CurrentLimit, kind: units.Current, min: "0.5 A", max: "100 A",
				commented: true, example: "10 A"},
			{key: "spark_time", doc: "that the spark lasts, until the coil may be charged again", into: &c.SparkTime, kind: units.Time, min: "0.02 ms", max: "10 ms",
				fallback: "1.5 ms", reason: "common practice, no source", example: "1.5 ms"},
			{key: "sparks_per_cycle",
				doc:  "of one coil in two turns: 1 with a coil for each cylinder, 2 for one that also fires in the overlap, as many as cylinders for a common one",
				into: &c.SparksPerCycle, min: "1", max: "24", fallback: "1", reason: "a coil for each cylinder; common practice, no source", example: "1"},
			{key: "rated_current", doc: "at which the rated voltage is stated; needed with it", into: &c.RatedCurrent, kind: units.Current, min: "0.5 A",
				max: "100 A", example: "8 A"},
			{key: "rated_voltage", doc: "secondary, peak, into plug and lead", into: &c.RatedVoltage, kind: units.Voltage, min: "1 kV", max: "100 kV", example: "38 kV"},
		}},
		{key: "dwell", doc: "time for which the coil is charged ...", into: &i.Dwell, kind: units.Time, min: "0.05 ms", max: "50 ms", group: "dwell",
			over: &axis{name: "supply voltage", kind: units.Voltage, min: "4 V", max: "80 V", example: "{10 V: 4.2 ms, 14 V: 2.6 ms}"}, example: "2.6 ms"},
		{key: "current", doc: "... or the primary current that it is to reach", into: &i.Current, kind: units.Current, min: "0.5 A", max: "100 A",
			group: "dwell", commented: true, example: "8 A"},
		{key: "supply_voltage", doc: "at the coil", into: &i.SupplyVoltage, kind: units.Voltage, min: "6 V", max: "60 V",
			fallback: restVoltage, reason: chargingSystem, example: restVoltage},
		{key: "gap", doc: "of the plug", into: &i.Gap, kind: units.Length, min: "0.1 mm", max: "3 mm", example: "0.6 mm"},
	}
}

// A manifoldDraft is the section manifold as the file says it.
type manifoldDraft struct {
	runner   manifold.Runner
	mouth    string
	plenum   float64
	throttle Throttle
	duct     manifold.Duct
	spread   Spread
}

const (
	mouthFlush     = "flush"
	mouthStanding  = "standing"
	mouthUncounted = "uncounted"
)

func (d *draft) manifoldFields() []field {
	r, t, p, s := &d.runner, &d.throttle, &d.duct, &d.spread
	cylinder := func(example string) *axis {
		return &axis{name: "cylinder", kind: units.Number, min: "1", max: "24", counted: true, example: example}
	}
	return []field{
		{key: "runner", doc: "of one cylinder, from the inlet valve to the plenum, the port in the head included", fields: []field{
			{key: "length", doc: "along its middle", into: &r.Length, kind: units.Length, min: "20 mm", max: "3 m", required: true, example: "320 mm"},
			{key: "bore", doc: "of the circle with the same mean area", into: &r.Bore, kind: units.Length, min: "10 mm", max: "150 mm", required: true,
				example: "42 mm"},
			{key: "mouth", doc: "how it opens into the plenum; with uncounted the length is the acoustic one", into: &d.mouth,
				choices: []string{mouthFlush, mouthStanding, mouthUncounted}, fallback: mouthFlush, reason: "in the plenum's wall; common practice, no source",
				example: mouthFlush},
		}},
		{key: "plenum", doc: "from which the runners start", fields: []field{
			{key: "volume", doc: "without runners and throttle", into: &d.plenum, kind: units.Volume, min: "0.05 L", max: "100 L", required: true, example: "3 L"},
		}},
		{key: "throttle", doc: "fully open", fields: []field{
			{key: "bore", doc: "of one throttle", into: &t.Bore, kind: units.Length, min: "10 mm", max: "200 mm", required: true, example: "60 mm"},
			{key: "shaft", doc: "diameter of the shaft across the bore", into: &t.Shaft, kind: units.Length, min: "0 mm", max: "60 mm",
				fallback: "0 mm", reason: "a slide or barrel that leaves the bore free", example: "8 mm"},
			lossCoefficient(&t.LossCoefficient, "0.2"),
			{key: "count", doc: "equal throttles side by side", into: &t.Count, min: "1", max: "24", fallback: "1",
				reason: "one throttle; common practice, no source", example: "1"},
		}},
		{key: "duct", doc: "hoses and pipes from the compressor or filter to the throttle, but for the cooler", fields: []field{
			{key: "bore", doc: "inside", into: &p.Bore, kind: units.Length, min: "10 mm", max: "200 mm", required: true, example: "65 mm"},
			lossCoefficient(&p.LossCoefficient, "1.2"),
		}},
		{key: "spread", doc: "how the cylinders share the air, by a figure for each", commented: true, fields: []field{
			{key: "flow", doc: "either in proportion to the air, such as that of a flow bench, in any one unit, without it ...", into: &s.Flow,
				min: "0.001", max: "1000000", required: true, group: "spread", over: cylinder("{1: 98.2, 2: 101.0, 3: 100.8}"),
				example: "{1: 98.2, 2: 101.0, 3: 102.4, 4: 100.6, 5: 97.8}"},
			{key: "lambda", doc: "... or relative air-fuel ratio, all with the same fuel ...", into: &s.Lambda,
				min: "0.5", max: "2", required: true, group: "spread", over: cylinder("{1: 0.84, 2: 0.86, 3: 0.85}"), commented: true,
				example: "{1: 0.82, 2: 0.85, 3: 0.86, 4: 0.85, 5: 0.81}"},
			{key: "exhaust_temperature", doc: "... or exhaust gas temperature, all with the same fuel and spark", into: &s.ExhaustTemperature, kind: units.Temperature,
				min: "500 K", max: "1600 K", required: true, group: "spread", over: cylinder("{1: 905 degC, 2: 921 degC, 3: 916 degC}"), commented: true,
				example: "{1: 905 degC, 2: 921 degC, 3: 926 degC, 4: 919 degC, 5: 902 degC}"},
			{key: "leanest", doc: "highest lambda accepted in any cylinder; default: fuel.lambda", into: &s.Leanest, min: "0.5", max: "2", example: "0.90"},
			{key: "richest", doc: "lowest lambda at which a cylinder still runs cleanly", into: &s.Richest, min: "0.5", max: "2", example: "0.72"},
		}},
	}
}

func lossCoefficient(into *float64, example string) field {
	return field{key: "loss", doc: "coefficient, total pressure lost over the dynamic head in it", into: into, min: "0", max: "100", required: true,
		example: example}
}
