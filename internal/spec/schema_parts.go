package spec

import (
	"bellmouth/internal/fuel"
	"bellmouth/internal/injector"
	"bellmouth/internal/restrictor"
	"bellmouth/internal/units"
)

// A fuelDraft is the section fuel as the file says it: a grade by name, blend or formula, and what overrides its figures.
type fuelDraft struct {
	kind                          string
	blend                         []share
	carbon, hydrogen, oxygen      float64
	nitrogen                      float64
	heatingValue, density, latent float64 // 0 when not given
	ron, mon, knockOctane         float64 // 0 when not given
	Fuel
}

type restrictorDraft struct{ restrictor.Restrictor }

type compressorDraft struct {
	Compressor
	refTemperature, refPressure float64
}

type railDraft struct {
	pressure  float64
	reference string
	voltage   float64
}

type injectorDraft struct {
	injector.Injector
	perCylinder int
}

func (d *draft) fuelFields() []field {
	f := &d.fuel
	return []field{
		{key: "kind", doc: "a fuel by name ...", into: &f.kind, choices: fuel.Names(), former: fuel.FormerNames(), required: true,
			group: "fuel", example: "ron98"},
		{key: "blend", doc: "... or shares by volume ...", into: &f.blend, kind: units.Fraction, min: "0 %", max: "100 %", choices: fuel.LiquidNames(),
			former:   fuel.FormerNames(),
			required: true, group: "fuel", commented: true, example: "{isooctane: 60 %, toluene: 30 %, ethanol: 10 %}"},
		{key: "formula", doc: "... or the atoms of its mean molecule, in any proportion, with the figures below", required: true, group: "fuel",
			commented: true, fields: []field{
				{key: "carbon", doc: "atoms", into: &f.carbon, min: "0.1", max: "30", required: true, example: "1"},
				{key: "hydrogen", doc: "atoms", into: &f.hydrogen, min: "0.1", max: "70", required: true, example: "1.87"},
				{key: "oxygen", doc: "atoms", into: &f.oxygen, min: "0", max: "10", fallback: "0", reason: "a hydrocarbon", example: "0"},
				{key: "nitrogen", doc: "atoms", into: &f.nitrogen, min: "0", max: "5", fallback: "0", reason: "a fuel of carbon, hydrogen and oxygen",
					example: "0"},
			}},
		{key: "heating_value", doc: "lower, of the liquid; overrides the grade's", into: &f.heatingValue, kind: units.SpecificEnergy, min: "10 MJ/kg",
			max: "50 MJ/kg", with: "fuel", commented: true, example: "42.8 MJ/kg"},
		{key: "density", doc: "at 20 degC; overrides the grade's", into: &f.density, kind: units.Density, min: "600 kg/m3", max: "1300 kg/m3", with: "fuel",
			commented: true, example: "748 kg/m3"},
		{key: "latent_heat", doc: "at 25 degC; overrides the grade's", into: &f.latent, kind: units.SpecificEnergy, min: "150 kJ/kg", max: "1300 kJ/kg",
			with: "fuel", commented: true, example: "350 kJ/kg"},
		{key: "ron", doc: "research octane number; overrides the grade's", into: &f.ron, min: "60", max: "130", with: "fuel", commented: true,
			example: "98"},
		{key: "mon", doc: "motor octane number; overrides the grade's", into: &f.mon, min: "40", max: "130", with: "fuel", commented: true, example: "88"},
		{key: "knock_octane", doc: "octane number in the knock delay, whatever the charge; default: the octane index, which follows the charge",
			into: &f.knockOctane,
			min:  "60", max: "130", with: "fuel", commented: true, example: "93"},
		{key: "temperature", doc: "at the injector", into: &f.Temperature, kind: units.Temperature, min: "-20 degC", max: "60 degC",
			fallback: "30 degC", reason: "common practice, no source", example: "30 degC"},
		{key: "lambda", doc: "relative air-fuel ratio at full load ...", into: &d.lambda, min: "0.5", max: "2", group: "lambda",
			over: engineSpeed("{2000 rpm: 0.90, 6000 rpm: 0.85}"), example: "{1500 rpm: 0.90, 4500 rpm: 0.84, 7800 rpm: 0.82}"},
		{key: "lambda_map", doc: "... or over MAP at each engine speed", into: &d.lambdaMap, min: "0.5", max: "2", group: "lambda", commented: true,
			over:    engineSpeed("{2000 rpm: {0.6 bar: 1.0, 1.0 bar: 0.9}, 6000 rpm: {0.6 bar: 1.0, 1.0 bar: 0.85}}"),
			inner:   &axis{name: "MAP", kind: units.Pressure, min: "0.05 bar", max: "10 bar", example: "{0.6 bar: 1.0, 1.0 bar: 0.9}"},
			example: "{2000 rpm: {0.6 bar: 1.0, 1.0 bar: 0.9}, 6000 rpm: {0.6 bar: 1.0, 1.0 bar: 0.85}}"},
		{key: "part_load_lambda", doc: "with lambda: the mixture away from full load", into: &f.Mixture.PartLoad, min: "0.5", max: "2",
			fallback: "1", reason: "common practice, no source", example: "1"},
		{key: "enrich_from", doc: "with lambda: share of full load's MAP, or of the venue's pressure where that is lower, " +
			"from which the mixture goes over to full load's",
			into: &f.Mixture.From, kind: units.Fraction, min: "0 %", max: "99 %", fallback: "85 %", reason: "common practice, no source", example: "85 %"},
		{key: "enrich_to", doc: "with lambda: and at which it is there", into: &f.Mixture.To, kind: units.Fraction, min: "1 %", max: "100 %",
			fallback: "95 %", reason: "common practice, no source", example: "95 %"},
	}
}

func (d *draft) intakeFields() []field {
	r := &d.restrictor
	return []field{
		{key: "filter_loss", doc: "one measured point of the loss of filter and pipe in the venue's air, quadratic in flow", fields: []field{
			flowField(&d.filter.flow, "mass flow of the point", "0.20 kg/s"),
			lossField(&d.filter.drop, "0.2 Pa", "0.7 kPa"),
		}},
		{key: "restrictor", doc: "a round throat that all the air passes; none: no restrictor", fields: []field{
			{key: "bore", doc: "of one throat", into: &r.Bore, kind: units.Length, min: "10 mm", max: "100 mm", required: true, example: "38 mm"},
			{key: "count", doc: "equal throats side by side, one for all turbochargers or one for each", into: &r.Count, min: "1", max: "8",
				fallback: "1", reason: "one throat; common practice, no source", example: "1"},
			{key: "discharge", doc: "discharge coefficient; default: of a bellmouth entry by ISO 9300", into: &r.Discharge,
				kind: units.Fraction, min: "0.5", max: "1", example: "0.97"},
			{key: "recovery", doc: "share of the pressure drop into the throat that the diffuser gives back", into: &r.Recovery,
				kind: units.Fraction, min: "0", max: "0.98", fallback: "0.80", reason: "a long diffuser of small angle; common practice, no source",
				example: "0.80"},
			{key: "measured", doc: "its bore as measured warm, which is told for 20 degC", fields: d.measuredBoreFields()},
		}},
	}
}

// noReference is why a map's reference conditions have no default.
const noReference = "a map without the conditions that it is corrected to cannot be used; "

func (d *draft) compressorFields() []field {
	c := &d.compressor
	return []field{
		{key: "map", doc: "the compressor map, a CSV file; its path is relative to this file", into: &c.MapFile, required: true, example: TemplateMapName},
		{key: "reference_temperature", doc: "to which the map's flow and speed are corrected", into: &c.refTemperature,
			kind: units.Temperature, min: "250 K", max: "350 K", required: true, because: noReference, example: "298.15 K"},
		{key: "reference_pressure", doc: "to which the map's flow is corrected, absolute", into: &c.refPressure,
			kind: units.Pressure, absolute: true, min: "500 hPa", max: "1200 hPa", required: true, because: noReference, example: "100 kPa"},
		{key: "count", doc: "equal turbochargers in parallel, each with its compressor and turbine", into: &c.Count, min: "1", max: "8",
			fallback: "1", reason: "one turbocharger; common practice, no source", example: "1"},
		{key: "wheel", doc: "exducer diameter", into: &c.Wheel, kind: units.Length, min: "20 mm", max: "250 mm", example: "62 mm"},
		{key: "speed_limit", doc: "of the shaft", into: &c.SpeedLimit, kind: units.Speed, min: "10000 rpm", max: "400000 rpm", example: "165000 rpm"},
	}
}

// What the values of turbine.bearings and turbine.pulses may be.
const (
	bearingsSeparate = "separate"
	bearingsIncluded = "included"
	pulsesComputed   = "computed"
	pulsesNone       = "none"
)

func (d *draft) turbineFields() []field {
	t := &d.turbine
	return []field{
		{key: "effective_area", doc: "Cd A of one turbine, as one nozzle", into: &t.EffectiveArea,
			kind: units.Area, min: "0.5 cm2", max: "100 cm2", required: true, example: "7.5 cm2"},
		{key: "efficiency", doc: "isentropic, total to static; over blade-speed ratio it needs the wheel", into: &t.Efficiency,
			kind: units.Fraction, min: "0.2", max: "0.95", required: true,
			over:    &axis{name: "blade-speed ratio", kind: units.Number, min: "0.05", max: "1.5", example: "{0.4: 0.60, 0.65: 0.74, 0.9: 0.60}"},
			example: "0.70"},
		{key: "wheel", doc: "tip diameter", into: &t.Wheel, kind: units.Length, min: "20 mm", max: "250 mm", example: "56 mm"},
		{key: "bearings", doc: "separate: beside the efficiency, with the square of shaft speed, by the wheel's size; " +
			"included: the efficiency holds them already; default: " + bearingsSeparate + " ...",
			into: &t.bearings, choices: []string{bearingsSeparate, bearingsIncluded}, group: "bearings", example: bearingsSeparate},
		{key: "bearing_loss", doc: "... or one measured point of what the bearings of one turbocharger take, quadratic in shaft speed ...",
			group: "bearings", commented: true, fields: []field{
				{key: "power", doc: "lost at that speed", into: &t.bearingPower, kind: units.Power, min: "1 W", max: "20 kW", required: true,
					example: "250 W"},
				{key: "speed", doc: "of the shaft", into: &t.bearingSpeed, kind: units.Speed, min: "5000 rpm", max: "400000 rpm", required: true,
					example: "100000 rpm"},
			}},
		{key: "mechanical_efficiency", doc: "... or the share of its work that reaches the compressor, the same at all speeds",
			into: &t.MechanicalEfficiency,
			kind: units.Fraction, min: "0.7", max: "1", group: "bearings", commented: true, example: "0.97"},
		{key: "rotor_inertia", doc: "moment of inertia of one turbocharger's shaft with both wheels; with it gearing computes what a shift leaves of the boost",
			into: &t.RotorInertia, kind: units.Inertia, min: "1 kg mm2", max: "5000 kg mm2", example: "95 kg mm2"},
		{key: "entries", doc: "of one turbine's housing; two keep the cylinders apart in halves, each with half of the nozzle", into: &t.Entries,
			min: "1", max: "2", fallback: "1", reason: "a single entry; common practice, no source", example: "1"},
		{key: "pulses", doc: "whether the turbine is driven by the exhaust's pulses, computed from manifold and valves, or by its mean flow",
			into: &t.pulses, choices: []string{pulsesComputed, pulsesNone}, fallback: pulsesNone,
			reason: "the mean flow, what a turbine's effective area and efficiency are mostly stated for", example: pulsesNone},
		{key: "manifold_volume", doc: "of ports, manifold and housings between the exhaust valves and the nozzles, all together; " +
			"default: exhaust port and primary of every cylinder, and housings",
			into: &t.ManifoldVolume, kind: units.Volume, min: "50 cm3", max: "100000 cm3", example: "2300 cm3"},
		{key: "inlet_temperature_limit", doc: "highest gas temperature it withstands", into: &t.InletTemperatureLimit,
			kind: units.Temperature, min: "700 K", max: "1500 K", example: "1050 degC"},
	}
}

func (d *draft) wastegateFields() []field {
	w := &d.wastegate
	return []field{
		{key: "bore", doc: "of the valve's seat", into: &w.Bore, kind: units.Length, min: "5 mm", max: "120 mm", required: true, example: "38 mm"},
		{key: "lift", doc: "fully open", into: &w.Lift, kind: units.Length, min: "0.5 mm", max: "60 mm", required: true, example: "9 mm"},
		{key: "discharge", doc: "discharge coefficient", into: &w.Discharge, kind: units.Fraction, min: "0.2", max: "1",
			fallback: "0.72", reason: "common practice, no source", example: "0.72"},
		{key: "count", doc: "equal valves in parallel", into: &w.Count, min: "1", max: "8",
			fallback: "1", reason: "one valve; common practice, no source", example: "1"},
		{key: "actuator", doc: "what moves the valve", fields: d.actuatorFields()},
		{key: "control", doc: "what feeds the actuator's ports; needs the actuator beside it", fields: d.controlFields()},
	}
}

func (d *draft) coolerFields() []field {
	c := &d.cooler
	return []field{
		{key: "effectiveness", doc: "share of the way from charge to coolant temperature", into: &c.Effectiveness,
			kind: units.Fraction, min: "0", max: "1", required: true,
			over:    &axis{name: "mass flow", kind: units.MassFlow, min: "0 kg/s", max: "20 kg/s", example: "{0.05 kg/s: 0.90, 0.3 kg/s: 0.72}"},
			example: "0.78"},
		{key: "coolant_temperature", doc: "of the air or water that comes to it; default: the venue's", into: &c.CoolantTemperature,
			kind: units.Temperature, min: "230 K", max: "400 K", example: "22 degC"},
		{key: "loss", doc: "one measured point of the charge's pressure loss, quadratic in flow", fields: []field{
			flowField(&d.cooling.flow, "mass flow of the point", "0.25 kg/s"),
			lossField(&d.cooling.drop, "0.2 Pa", "9 kPa"),
			{key: "pressure", doc: "before the cooler at that point", into: &d.cooling.pressure, kind: units.Pressure,
				min: "0.5 bar abs", max: "8 bar abs", required: true, example: "2.0 bar abs"},
			{key: "temperature", doc: "before the cooler at that point", into: &d.cooling.temperature, kind: units.Temperature,
				min: "230 K", max: "600 K", required: true, example: "400 K"},
		}},
	}
}

func (d *draft) injectionFields() []field {
	return []field{
		{key: "into", doc: "the port or, by direct injection, the cylinder", into: &d.injectionKind, choices: []string{injectPort, injectDirect},
			fallback: injectPort, reason: "common practice, no source", example: injectPort},
		{key: "rail", doc: "the pressure before the injectors", required: true, fields: []field{
			{key: "reference", doc: "what the rail pressure counts from; with manifold it follows MAP, with venue it stays fixed", into: &d.rail.reference,
				choices: []string{railManifold, railVenue}, fallback: railManifold, reason: "common practice in turbocharged engines, no source",
				example: railManifold},
			{key: "pressure", doc: "above the reference", into: &d.rail.pressure, kind: units.GaugePressure, min: "0.5 bar", max: "400 bar", required: true,
				example: "4.0 bar"},
		}},
		{key: "supply_voltage", doc: "at the injectors", into: &d.rail.voltage, kind: units.Voltage, min: "6 V", max: "60 V",
			fallback: restVoltage, reason: chargingSystem, example: "13.5 V"},
		{key: "primary", doc: "the set that always works", required: true,
			fields: injectorFields(&d.primary, "650 cm3/min", "{10 V: 1.9 ms, 12 V: 1.3 ms, 14 V: 1.0 ms}", "1.6 ms")},
		{key: "secondary", doc: "the set that comes in on top; none: one set",
			fields: injectorFields(&d.secondary, "850 cm3/min", "{10 V: 2.0 ms, 12 V: 1.4 ms, 14 V: 1.1 ms}", "1.7 ms")},
		{key: "staging", doc: "how the secondary set comes in; needed with it", fields: []field{
			{key: "start_duty", doc: "of the primary set, up to which it works alone", into: &d.startDuty, kind: units.Fraction, min: "5 %", max: "100 %",
				required: true, example: "65 %"},
			{key: "blend", doc: "band of duty over which the secondary comes in fully", into: &d.blend, kind: units.Fraction, min: "0 %", max: "100 %",
				fallback: "20 %", reason: "common practice, no source", example: "20 %"},
		}},
	}
}

const (
	railManifold = "manifold"
	railVenue    = "venue"
)

func injectorFields(in *injectorDraft, flow, deadTime, shortest string) []field {
	return []field{
		{key: "per_cylinder", doc: "injectors of this set a cylinder has", into: &in.perCylinder, min: "1", max: "4", fallback: "1",
			reason: "common practice, no source", example: "1"},
		{key: "flow", doc: "static flow of the test fluid through one injector", into: &in.RatedFlow, kind: units.VolumeFlow, min: "20 cm3/min",
			max: "10000 cm3/min", required: true, example: flow},
		{key: "test_pressure", doc: "pressure difference at which it was measured", into: &in.TestPressure, kind: units.PressureDifference, min: "0.5 bar",
			max: "400 bar", required: true, example: "3 bar"},
		{key: "test_density", doc: "of the test fluid", into: &in.TestDensity, kind: units.Density, min: "500 kg/m3", max: "1200 kg/m3", required: true,
			example: "765 kg/m3"},
		{key: "dead_time", doc: "by which the delivery falls short of the pulse", into: &in.DeadTime, kind: units.Time, min: "0 ms", max: "10 ms",
			required: true,
			over:     &axis{name: "supply voltage", kind: units.Voltage, min: "4 V", max: "80 V", example: "{10 V: 1.9 ms, 14 V: 1.0 ms}"}, example: deadTime},
		{key: "shortest_pulse", doc: "shortest pulse, dead time included, that still meters in proportion", into: &in.ShortestPulse, kind: units.Time,
			min: "0 ms", max: "20 ms", required: true, example: shortest},
	}
}
