package spec

import (
	"bellmouth/internal/cooling"
	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

// A coolingDraft is the section cooling as the file says it.
type coolingDraft struct {
	radiator        coreDraft
	coolantFlow     float64
	measuredWith    float64 // glycol by volume
	fan             float64
	pump            cooling.Pump
	thermostat      cooling.Thermostat
	cap             float64
	glycol          float64
	volume          float64
	aluminium, iron float64 // mass, kg
	load, road      float64

	charge      coreDraft
	chargeSpeed float64
	ahead       float64

	oil           coreDraft
	oilFlow       float64
	frictionShare float64
	wallShare     float64

	start                                       float64
	rounds                                      int
	times, engineSpeeds, roadSpeeds, gears, use []named
}

// A coreDraft is a core that air passes as the file says it.
type coreDraft struct {
	area, density, share, exponent, ram float64
	heat                                numeric.Curve // over the air's velocity
}

// coreFields are the keys that every core has besides what it is stated by.
func (c *coreDraft) fields(area, share, reason string) []field {
	return []field{
		{key: "face_area", doc: "that the air passes", into: &c.area, kind: units.Area, min: "50 cm2", max: "3 m2", required: true, example: area},
		{key: "air_density", doc: "of the air of the measurement", into: &c.density, kind: units.Density, min: "0.5 kg/m3", max: "2 kg/m3",
			fallback: "1.2 kg/m3", reason: "20 degC at sea level", example: "1.2 kg/m3"},
		{key: "air_share", doc: "of the air's side in the resistance to heat, at the highest air velocity stated", into: &c.share, kind: units.Fraction,
			min: "10 %", max: "100 %", fallback: share, reason: reason + "; common practice, no source", example: share},
		{key: "air_exponent", doc: "power of the air's mass flow that its heat transfer coefficient goes with", into: &c.exponent, min: "0.2", max: "0.9",
			fallback: "0.5", reason: "louvred fins, Colburn factor by Re^-0.49; Chang and Wang (1997), from memory", example: "0.5"},
		{key: "ram", doc: "velocity of the air before the face over the road speed, without the fan", into: &c.ram, kind: units.Fraction,
			min: "1 %", max: "100 %", fallback: "20 %", reason: "15 to 35 % by duct and grille; common practice, no source", example: "22 %"},
	}
}

// heatField is a core's heat over the velocity of its air.
func (c *coreDraft) heatField(doc, example string) field {
	return field{key: "heat_per_kelvin", doc: doc, into: &c.heat, kind: units.ThermalConductance, min: "1 W/K", max: "20 kW/K", required: true,
		over: &axis{name: "air velocity", kind: units.Velocity, min: "0.5 m/s", max: "60 m/s", example: example}, example: example}
}

func (d *draft) coolingFields() []field {
	c := &d.coolant
	radiator := append([]field{c.radiator.heatField("that it passes for each kelvin between the coolant and the air that come to it, "+
		"over the velocity of that air before the face; one point at least", "{3 m/s: 0.75 kW/K, 6 m/s: 1.15 kW/K, 10 m/s: 1.5 kW/K}"),
		field{key: "coolant_flow", doc: "through it, of the measurement", into: &c.coolantFlow, kind: units.UseFlow, min: "2 L/min", max: "1000 L/min",
			required: true, example: "120 L/min"},
		field{key: "glycol", doc: "by volume in the coolant of the measurement; default: that of the engine", into: &c.measuredWith, kind: units.Fraction,
			min: "0 %", max: "70 %", commented: true, example: "0 %"},
	}, c.radiator.fields("0.24 m2", "80 %", "a car's radiator")...)
	charge := append([]field{
		{key: "air_velocity", doc: "of the outer air before its face, for which cooler.effectiveness holds", into: &c.chargeSpeed, kind: units.Velocity,
			min: "0.5 m/s", max: "60 m/s", required: true, example: "8 m/s"},
		{key: "ahead", doc: "share of its heat that the radiator's air has taken up; above 0 % the radiator's fan draws through it too", into: &c.ahead,
			kind: units.Fraction, min: "0 %", max: "100 %", fallback: "100 %", reason: "it stands before the radiator; common practice, no source", example: "100 %"},
	}, c.charge.fields("0.12 m2", "50 %", "a charge cooler of fins on both sides")...)
	oil := append([]field{c.oil.heatField("that it passes for each kelvin between the oil and the air that come to it, "+
		"over the velocity of that air before the face; one point at least", "{5 m/s: 0.16 kW/K, 10 m/s: 0.22 kW/K}"),
		field{key: "oil_flow", doc: "through it, of the measurement and in the car", into: &c.oilFlow, kind: units.UseFlow, min: "1 L/min", max: "500 L/min",
			required: true, example: "25 L/min"},
		field{key: "friction_share", doc: "of the engine's friction that the oil takes up", into: &c.frictionShare, kind: units.Fraction, min: "0 %",
			max: "100 %", fallback: "60 %", reason: "bearings, valve train and half of the pistons; common practice, no source", example: "60 %"},
		field{key: "wall_share", doc: "of the heat to the cylinders' walls that the oil takes from the pistons", into: &c.wallShare, kind: units.Fraction,
			min: "0 %", max: "60 %", fallback: "15 %", reason: "with piston jets 10 to 25 %; common practice, no source", example: "15 %"},
	}, c.oil.fields("0.06 m2", "50 %", "fins on both sides")...)
	section := func(key, doc string, into *[]named, kind units.Kind, min, max, example string) field {
		return field{key: key, doc: doc, into: into, kind: kind, min: min, max: max, example: example}
	}
	times := section("time", "that each section lasts, by its name, in the order of the road", &c.times, units.ShortDuration, "0.1 s", "1 h",
		"{start line: 20 s, hairpins: 15 s, straight: 12 s}")
	times.required = true
	return []field{
		{key: "radiator", doc: "of the coolant", required: true, fields: radiator},
		{key: "fan", doc: "on the radiator, running whenever it moves more air than the road speed does", fields: []field{
			{key: "flow", doc: "of air that it draws through the radiator with the car at rest", into: &c.fan, kind: units.UseFlow, min: "0.01 m3/s",
				max: "5 m3/s", required: true, example: "0.45 m3/s"},
		}},
		{key: "pump", doc: "of the coolant", required: true, fields: []field{
			{key: "flow", doc: "through the engine, thermostat open", into: &c.pump.Flow, kind: units.UseFlow, min: "2 L/min", max: "1000 L/min", required: true,
				example: "150 L/min"},
			{key: "speed", doc: "of the pump at that flow, which goes with its speed; without it the flow is the same at any engine speed, as of an electric pump",
				into: &c.pump.Speed, kind: units.Speed, min: "100 rpm", max: "30000 rpm", example: "6000 rpm"},
			{key: "ratio", doc: "its turns for one of the engine", into: &c.pump.Ratio, min: "0.1", max: "5", fallback: "1",
				reason: "as fast as the crank; common practice, no source", example: "1"},
		}},
		{key: "thermostat", doc: "without it all the coolant goes through the radiator", fields: []field{
			{key: "opens", doc: "coolant temperature from which it opens", into: &c.thermostat.Opens, kind: units.Temperature, min: "30 degC", max: "120 degC",
				required: true, example: "82 degC"},
			{key: "full", doc: "from which it is fully open", into: &c.thermostat.Full, kind: units.Temperature, min: "31 degC", max: "140 degC", required: true,
				example: "95 degC"},
		}},
		{key: "cap", doc: "pressure that the cap holds above the venue's", into: &c.cap, kind: units.PressureDifference, min: "0 bar", max: "3 bar",
			fallback: "1.1 bar", reason: "0.9 to 1.4 bar; common practice, no source", example: "1.1 bar"},
		{key: "glycol", doc: "ethylene glycol in the coolant by volume", into: &c.glycol, kind: units.Fraction, min: "0 %", max: "70 %", fallback: "0 %",
			reason: "water, as many events demand; common practice, no source", example: "30 %"},
		{key: "volume", doc: "of all the coolant, filled cold", into: &c.volume, kind: units.TankVolume, min: "0.5 L", max: "100 L", required: true, example: "8 L"},
		{key: "metal", doc: "what warms up with the coolant: head, block and what is on them; the sump's oil counts by itself where it has no cooler",
			fields: []field{
				{key: "aluminium", doc: "mass of it", into: &c.aluminium, kind: units.Mass, min: "0 kg", max: "1000 kg", fallback: "0 kg", reason: "none is counted",
					example: "35 kg"},
				{key: "iron", doc: "mass of it, steel too", into: &c.iron, kind: units.Mass, min: "0 kg", max: "1000 kg", fallback: "0 kg", reason: "none is counted",
					example: "45 kg"},
			}},
		{key: "load", doc: "heat of a stage or lap in its mean, as a share of that of full load", into: &c.load, kind: units.Fraction, min: "5 %", max: "100 %",
			fallback: "60 %", reason: "40 to 70 %; common practice, no source", example: "60 %"},
		{key: "road_speed", doc: "of a stage or lap in its mean", into: &c.road, kind: units.RoadSpeed, min: "0 km/h", max: "400 km/h", fallback: "80 km/h",
			reason: "a hillclimb or a rally stage; common practice, no source", example: "85 km/h"},
		{key: "charge_cooler", doc: "the outer air of the charge cooler, which counts with compressor and cooler, the charge's side", fields: charge},
		{key: "oil_cooler", doc: "of the engine's oil in the air; without it the oil's heat is the coolant's", fields: oil},
		{key: "duty", doc: "what the car does, section by section, each table by the names of the sections; " +
			"an engine speed is needed beside a road speed or a gear, or a road speed and a gear", fields: []field{
			times,
			section("engine_speed", "in the section", &c.engineSpeeds, units.Speed, "100 rpm", "30000 rpm",
				"{start line: 5000 rpm, hairpins: 4500 rpm, straight: 7000 rpm}"),
			section("road_speed", "in the section", &c.roadSpeeds, units.RoadSpeed, "0 km/h", "500 km/h", "{start line: 0 km/h, hairpins: 45 km/h}"),
			section("gear", "in the section", &c.gears, units.Number, "1", "12", "{straight: 4}"),
			section("load", "heat in the section as a share of that of full load; default: 100 %", &c.use, units.Fraction, "0 %", "100 %",
				"{start line: 15 %, hairpins: 60 %}"),
			{key: "start", doc: "coolant temperature before the first section; default: thermostat.opens, or 85 degC", into: &c.start, kind: units.Temperature,
				min: "-30 degC", max: "130 degC", commented: true, example: "85 degC"},
			{key: "rounds", doc: "how often the sections follow each other, as laps do", into: &c.rounds, min: "1", max: "200", fallback: "1",
				reason: "a stage, driven once", example: "1"},
		}},
	}
}
