package spec

import (
	"bellmouth/internal/geometry"
	"bellmouth/internal/numeric"
	"bellmouth/internal/spark"
	"bellmouth/internal/turbine"
	"bellmouth/internal/units"
	"bellmouth/internal/wastegate"
)

// A draft is a trim while it is read: the trim itself, and what the file says in other figures than the parts take.
type draft struct {
	Trim
	name, about, from string

	altitude, pressure, temperature float64 // of the venue
	chamber                         geometry.Chamber
	compressionRatio                float64
	valves                          geometry.Valves
	friction                        frictionDraft
	fuel                            fuelDraft
	filter, cooling, back           loss
	restrictor                      restrictorDraft
	compressor                      compressorDraft
	turbine                         turbineDraft
	wastegate                       turbine.Wastegate
	cooler                          Cooler
	rail                            railDraft
	primary, secondary              injectorDraft
	startDuty, blend                float64
	injectionKind, cover            string
	lambda                          numeric.Curve
	lambdaMap                       []row
	actuator                        wastegate.Actuator
	exhaustPushes                   string
	control                         controlDraft
	supply                          supplyDraft
	ignition                        Ignition
	coil                            spark.Coil
	manifoldDraft
	sump    sumpDraft
	oil     oilDraft
	coolant coolingDraft
	gearingDraft
	course courseDraft
	bottom bottomDraft
	play   clearanceDraft
	wiring wiringDraft

	venueRead func() // called when the section venue has been read
}

// A turbineDraft is a turbine with the bearings and pulses as the file says them.
type turbineDraft struct {
	Turbine
	bearings, pulses           string
	bearingPower, bearingSpeed float64 // the measured point
}

// A loss is a measured pressure loss, one point of a curve that is quadratic in flow.
type loss struct{ flow, drop, pressure, temperature float64 }

// engineSpeed is the axis of the tables over rpm.
func engineSpeed(example string) *axis {
	return &axis{name: "engine speed", kind: units.Speed, min: "100 rpm", max: "30000 rpm", example: example}
}

// schema returns the file format: every key of a spec, each going to its place in the draft. The file to start from has
// them in this order.
func (d *draft) schema() []field {
	return append([]field{
		{key: "name", doc: "what the reports call the engine; default: the file's name", into: &d.name, example: "Hillclimb five"},
		{key: "about", doc: "free text", into: &d.about, example: "Invented five-cylinder hillclimb engine; every figure here is made up."},
		{key: "trims", doc: "named sets of changes to the sections below, laid over them key by key, or over those of another trim that from names",
			into: trimSet{}},
		{key: "venues", doc: "places by name, each with the keys of venue; --venue NAME computes there, whatever the venue of spec and trims",
			into: venueSet{}},
	}, d.parts()...)
}

// What can be round an exhaust primary.
const (
	coverBare = "bare"
	coverWrap = "wrap"
	coverGap  = "air gap"
)

// Where fuel is injected.
const (
	injectPort   = "port"
	injectDirect = "direct"
)

// A trimSet stands for the section trims, whose keys are names and whose values are the parts again; Read sees to it.
type trimSet struct{}

// parts returns what a trim may change.
func (d *draft) parts() []field {
	return []field{
		{key: "venue", doc: "the air that the engine breathes", fields: d.venueFields(), implied: true, done: d.venueRead},
		{key: "engine", doc: "the engine itself", fields: d.engineFields(), required: true},
		{key: "fuel", doc: "what it burns, and how rich", fields: d.fuelFields()},
		{key: "intake", doc: "from the venue to the compressor", fields: d.intakeFields()},
		{key: "compressor", doc: "the compressor, with its map; without it the engine is naturally aspirated", fields: d.compressorFields()},
		{key: "turbine", doc: "the turbine that drives it", fields: d.turbineFields()},
		{key: "wastegate", doc: "the valve past the turbine", fields: d.wastegateFields()},
		{key: "cooler", doc: "the charge cooler", fields: d.coolerFields()},
		{key: "exhaust", doc: "from the valves to the open air", implied: true, fields: []field{
			{key: "port", doc: "of one cylinder, in the head", implied: true, fields: []field{
				{key: "length", doc: "from the valve to the face of the head; default: by the cylinder's bore", into: &d.Exhaust.Pipes.Port.Length,
					kind: units.Length, min: "0 mm", max: "500 mm", example: "88 mm"},
				{key: "bore", doc: "of a round port as large as it is in the middle; default: by the valves", into: &d.Exhaust.Pipes.Port.Bore,
					kind: units.Length, min: "10 mm", max: "200 mm", example: "38 mm"},
				{key: "wall_temperature", doc: "of the cooled port", into: &d.Exhaust.Pipes.Port.Wall.Temperature, kind: units.Temperature,
					min: "300 K", max: "900 K", fallback: "480 K", reason: "a water-cooled head, 420 to 520 K; from memory", example: "480 K"},
			}},
			{key: "primary", doc: "of one cylinder, from the head to the turbine or the collector", implied: true, fields: []field{
				{key: "length", doc: "default: 250 mm to a turbine, 600 mm to a collector", into: &d.Exhaust.Pipes.Primary.Length,
					kind: units.Length, min: "0 mm", max: "3 m", example: "250 mm"},
				{key: "bore", doc: "inside; default: a twentieth more than the port's", into: &d.Exhaust.Pipes.Primary.Bore,
					kind: units.Length, min: "10 mm", max: "200 mm", example: "40 mm"},
				{key: "wall", doc: "thickness of the wall; default: 3 mm to a turbine, 1.5 mm to a collector",
					into: &d.Exhaust.Pipes.Primary.Wall.Thickness,
					kind: units.Length, min: "0.3 mm", max: "20 mm", example: "3 mm"},
				{key: "cover", doc: "what is round it", into: &d.cover, choices: []string{coverBare, coverWrap, coverGap}, fallback: coverBare,
					reason: "common practice, no source", example: coverBare},
			}},
			{key: "back_pressure", doc: "one measured point of the pressure loss after the turbine, quadratic in flow", fields: []field{
				flowField(&d.back.flow, "mass flow of the point", "0.25 kg/s"),
				lossField(&d.back.drop, "0.2 Pa", "14 kPa"),
				{key: "temperature", doc: "of the gas at that point", into: &d.back.temperature, kind: units.Temperature,
					min: "273 K", max: "1500 K", required: true, example: "1100 K"},
			}},
		}},
		{key: "injection", doc: "the fuel system from the rail on", fields: d.injectionFields()},
		{key: "supply", doc: "the fuel system up to the rail", fields: d.supplyFields()},
		{key: "ignition", doc: "what lights the charge", fields: d.ignitionFields()},
		{key: "manifold", doc: "the way of the air to the inlet valves", fields: d.manifoldFields()},
		{key: "oil", doc: "what runs through the bearings, and what pumps it", fields: d.oilFields()},
		{key: "sump", doc: "where the pump takes its oil", fields: d.sumpFields()},
		{key: "wiring", doc: "what feeds the electrical loads", fields: d.wiringFields()},
		{key: "cooling", doc: "what takes the engine's heat away", fields: d.coolingFields()},
		{key: "boost", doc: "what the boost control is asked for", fields: []field{
			{key: "target", doc: "boost to reach; a bare pressure counts from the venue's, `bar abs` works too", into: &d.Boost.Target,
				kind: units.GaugePressure, min: "0 bar", max: "6 bar",
				over:    engineSpeed("{2500 rpm: 0.8 bar, 3500 rpm: 1.5 bar}"),
				example: "{1500 rpm: 0.3 bar, 2500 rpm: 0.6 bar, 3500 rpm: 1.5 bar, 7800 rpm: 1.4 bar}"},
		}},
		{key: "driveline", doc: "what takes the torque", fields: d.drivelineFields()},
		{key: "car", doc: "what the torque has to move", fields: d.carFields()},
		{key: "surfaces", doc: "what the car may drive on, by name; --surface NAME takes one in the place of the car's own figures", fields: d.surfaceFields()},
		{key: "course", doc: "what the car is timed over", fields: d.courseFields(), commented: true},
		{key: "limits", doc: "what the engine must stay within", implied: true, fields: []field{
			{key: "peak_cylinder_pressure", doc: "highest pressure in the cylinder, absolute", into: &d.Limits.PeakCylinderPressure,
				kind: units.Pressure, min: "20 bar", max: "400 bar", example: "130 bar"},
			{key: "turbine_inlet_temperature", doc: "highest EGT, before the turbine or in the collector", into: &d.Limits.TurbineInletTemperature,
				kind: units.Temperature, min: "700 K", max: "1500 K", example: "1050 degC"},
			{key: "surge_margin", doc: "smallest accepted distance from surge, as a share of the flow", into: &d.Limits.SurgeMargin,
				kind: units.Fraction, min: "0 %", max: "50 %", fallback: "0 %",
				reason: "the map's own surge line; common practice keeps a margin, no source", example: "5 %"},
			{key: "injector_duty", doc: "highest share of the cycle that an injector may be open", into: &d.Limits.InjectorDuty,
				kind: units.Fraction, min: "10 %", max: "100 %", fallback: "90 %", reason: "common practice, no source", example: "90 %"},
			{key: "mean_piston_speed", doc: "highest mean piston speed", into: &d.Limits.MeanPistonSpeed,
				kind: units.Velocity, min: "5 m/s", max: "40 m/s", example: "24 m/s"},
			{key: "rod_tension", doc: "highest pull on a rod", into: &d.Limits.RodTension, kind: units.Force, min: "1 kN", max: "500 kN", example: "32 kN"},
			{key: "rod_compression", doc: "highest push on a rod", into: &d.Limits.RodCompression, kind: units.Force, min: "1 kN", max: "1000 kN",
				example: "75 kN"},
			{key: "crank_pin_pressure", doc: "highest pressure of a rod bearing on its projected area", into: &d.Limits.CrankPinPressure, kind: units.Stress,
				min: "1 MPa", max: "500 MPa", example: "90 MPa"},
			{key: "rod_bolt_margin", doc: "smallest share of the least preload that must be left of the rod bolts' clamp; default: 0 %, the joint just holds",
				into: &d.Limits.RodBoltMargin, kind: units.Fraction, min: "0 %", max: "95 %", example: "10 %"},
			{key: "head_clamp_margin", doc: "smallest share of the least preload that must be left of the head's clamp; default: 0 %, the head just stays down",
				into: &d.Limits.HeadClampMargin, kind: units.Fraction, min: "0 %", max: "95 %", example: "20 %"},
			{key: "coolant_temperature", doc: "highest temperature of the coolant where it leaves the engine", into: &d.Limits.CoolantTemperature,
				kind: units.Temperature, min: "50 degC", max: "180 degC", example: "115 degC"},
			{key: "boiling_margin", doc: "smallest distance of the coolant from boiling; default: 0 K, it just does not boil", into: &d.Limits.BoilingMargin,
				kind: units.TemperatureDifference, min: "0 K", max: "80 K", example: "8 K"},
			{key: "oil_temperature", doc: "highest temperature of the oil as it comes to its cooler", into: &d.Limits.OilTemperature,
				kind: units.Temperature, min: "60 degC", max: "220 degC", example: "135 degC"},
		}},
		{key: "waivers", doc: "checks that may fail, each with its reason, so that they are told as waived; a trim's add to these", into: &d.Waivers,
			commented: true,
			example:   "[{check: mean-piston-speed, reason: pistons and rods are new every season}]"},
	}
}

// lookup returns the field at a path of the schema, or nil.
func lookup(fields []field, path string) *field {
	for {
		key, rest, more := cutPath(path)
		f := find(fields, key)
		if f == nil || !more {
			return f
		}
		if f.member != nil { // behind a name
			var name string
			if name, rest, more = cutPath(rest); !more {
				return &field{key: name, fields: f.fields}
			}
		}
		fields, path = f.fields, rest
	}
}

func flowField(into *float64, doc, example string) field {
	return field{key: "flow", doc: doc, into: into, kind: units.MassFlow, min: "0.001 kg/s", max: "20 kg/s", required: true, example: example}
}

func lossField(into *float64, min, example string) field {
	return field{key: "loss", doc: "pressure lost at that flow", into: into, kind: units.PressureDifference,
		min: min, max: "200 kPa", required: true, example: example}
}

func (d *draft) venueFields() []field {
	return []field{
		{key: "altitude", doc: "above sea level; gives what is missing of pressure and temperature by the standard atmosphere; default: 0 m",
			into: &d.altitude,
			kind: units.Length, min: "-450 m", max: "5500 m", example: "420 m"},
		{key: "pressure", doc: "of the air, absolute, not reduced to sea level", into: &d.pressure,
			kind: units.Pressure, absolute: true, min: "500 hPa", max: "1200 hPa", example: "963 hPa"},
		{key: "temperature", doc: "of the air", into: &d.temperature,
			kind: units.Temperature, min: "-30 degC", max: "60 degC", example: "18 degC"},
		{key: "humidity", doc: "relative humidity of the air", into: &d.Venue.RelativeHumidity,
			kind: units.Fraction, min: "0 %", max: "100 %", fallback: "0 %", reason: "dry air, as in ISO 2533", example: "55 %"},
	}
}

func (d *draft) engineFields() []field {
	e, c := &d.Engine, &d.Engine.Cylinder
	return []field{
		{key: "cylinders", doc: "number of cylinders", into: &e.Cylinders, min: "1", max: "24", required: true, example: "5"},
		{key: "bore", doc: "cylinder bore", into: &c.Bore, kind: units.Length, min: "30 mm", max: "200 mm", required: true, example: "84 mm"},
		{key: "stroke", doc: "twice the crank radius", into: &c.Stroke, kind: units.Length, min: "30 mm", max: "200 mm", required: true, example: "82 mm"},
		{key: "rod", doc: "connecting rod, centre to centre", into: &c.Rod, kind: units.Length, min: "50 mm", max: "500 mm", required: true,
			example: "144 mm"},
		{key: "pin_offset", doc: "of the piston pin's line from the crank's axis, positive towards the side the crank pin goes to after top dead centre",
			into: &c.PinOffset, kind: units.Length, min: "-20 mm", max: "20 mm", fallback: "0 mm", reason: "no offset; common practice, no source",
			example: "0 mm"},
		{key: "compression_ratio", doc: "either this ...", into: &d.compressionRatio, min: "4", max: "20", required: true, group: "compression",
			example: "8.6"},
		{key: "chamber", doc: "... or the volumes of the parts", required: true, group: "compression", commented: true, fields: []field{
			{key: "head", doc: "combustion chamber in the head", into: &d.chamber.Head, kind: units.Volume, min: "0 cm3", max: "500 cm3", required: true,
				example: "46 cm3"},
			{key: "gasket_bore", doc: "hole in the head gasket", into: &d.chamber.GasketBore, kind: units.Length, min: "30 mm", max: "220 mm",
				required: true, example: "85 mm"},
			{key: "gasket_thickness", doc: "when clamped", into: &d.chamber.GasketThickness, kind: units.Length, min: "0 mm", max: "10 mm", required: true,
				example: "1.1 mm"},
			{key: "piston_dish", doc: "in the crown, negative for a dome", into: &d.chamber.PistonDish, kind: units.Volume, min: "-200 cm3", max: "300 cm3",
				fallback: "0 cm3", reason: "a flat crown; common practice, no source", example: "9 cm3"},
			{key: "deck_clearance", doc: "piston below the deck at top dead centre, negative above it", into: &d.chamber.DeckClearance, kind: units.Length,
				min: "-5 mm", max: "20 mm", fallback: "0 mm", reason: "flush with the deck; common practice, no source", example: "0.2 mm"},
		}},
		{key: "limiter", doc: "highest engine speed", into: &e.Limiter, kind: units.Speed, min: "1000 rpm", max: "25000 rpm", required: true,
			example: "7800 rpm"},
		{key: "volumetric_efficiency", doc: "of the cylinder, referred to the density in the manifold; " +
			"with a compressor at a turbine inlet pressure equal to MAP, else at full load with its exhaust on",
			into: &e.VolumetricEfficiency, kind: units.Fraction, min: "0.2", max: "1.5",
			over:    engineSpeed("{2000 rpm: 0.86, 4000 rpm: 0.98}"),
			example: "{1500 rpm: 0.78, 3000 rpm: 0.90, 4500 rpm: 0.99, 6000 rpm: 1.02, 7000 rpm: 0.99, 7800 rpm: 0.94}"},
		{key: "valves", doc: "of one cylinder", fields: d.valveFields()},
		{key: "bottom_end", doc: "what moves with one piston", fields: d.bottomEndFields()},
		{key: "piston_to_valve", doc: "room above the piston for the valves", fields: d.pistonToValveFields()},
		{key: "clearances", doc: "as measured, each with the range that it may lie in", fields: d.clearanceFields()},
		{key: "head_bolts", doc: "what clamps the cylinder head", fields: d.headBoltFields()},
		{key: "combustion", doc: "how the charge burns", implied: true, fields: []field{
			{key: "burn_angle", doc: "crank angle from 0 to 90 % burned; default: by engine speed", into: &e.Combustion.BurnAngle,
				kind: units.Angle, min: "10 deg", max: "120 deg",
				over: engineSpeed("{1500 rpm: 42 deg, 7800 rpm: 54 deg}"), example: "{1500 rpm: 42 deg, 7800 rpm: 54 deg}"},
			{key: "stated_pressure", doc: "manifold pressure, absolute, for which burn angle and ignition delay are stated; both follow the charge from there",
				into: &e.Combustion.StatedPressure, kind: units.Pressure, absolute: true, min: "0.3 bar", max: "5 bar", fallback: "1 bar",
				reason: "full load without boost", example: "1 bar"},
			{key: "stated_lambda", doc: "lambda for which burn angle and ignition delay are stated", into: &e.Combustion.StatedLambda, min: "0.7", max: "1.2",
				fallback: "0.9",
				reason:   "full load without boost", example: "0.9"},
			{key: "best_ca50", doc: "crank angle at 50 % burned that gives best torque, after top dead centre", into: &e.Combustion.BestCA50,
				kind: units.Angle, min: "0 deg", max: "20 deg", fallback: "8 deg", reason: "common practice, no source", example: "8 deg"},
			{key: "latest_ca50", doc: "latest crank angle at 50 % burned that is accepted to keep clear of knock", into: &e.Combustion.LatestCA50,
				kind: units.Angle, min: "5 deg", max: "40 deg", fallback: "28 deg", reason: "common practice, no source", example: "28 deg"},
			{key: "efficiency", doc: "share of the fuel's available heat that is released", into: &e.Combustion.Efficiency,
				kind: units.Fraction, min: "50 %", max: "100 %", fallback: "0.97",
				reason: "Heywood (1988), fig. 3-9: 95 to 98 % in spark-ignition engines, quoted from memory", example: "0.97"},
			{key: "knock_limit", doc: "Livengood-Wu integral of the mean cycle at which its fastest cycles begin to knock", into: &e.Combustion.KnockLimit,
				min: "0.2", max: "3", fallback: "0.85",
				reason: "1 is autoignition, Livengood and Wu (1955); the fastest cycles get there first, 0.8 to 0.9, common practice, no source", example: "0.85"},
			{key: "knock_margin", doc: "octane numbers kept clear of that limit in everything that is computed", into: &e.Combustion.KnockMargin,
				min: "0", max: "20", fallback: "2", reason: "for a hot day and a poor delivery, one or two degrees of spark; common practice, no source",
				example: "2"},
		}},
		{key: "heat", doc: "what the gas gives to the metal and takes from it", implied: true, fields: []field{
			{key: "factor", doc: "on Woschni's heat transfer coefficient", into: &e.Heat.Factor,
				min: "0", max: "4", fallback: "1", reason: "as published, Woschni, SAE 670931 (1967), for compression ignition; 0.5 to 2 in use, no source",
				example: "1"},
			{key: "wall_temperature", doc: "mean over the combustion chamber's walls", into: &e.Heat.WallTemperature,
				kind: units.Temperature, min: "300 K", max: "700 K", fallback: "460 K", reason: "common practice, no source", example: "460 K"},
			{key: "port_loss", doc: "share of the exhaust's sensible enthalpy lost between valve and turbine, where it is known; default: from the pipes in exhaust",
				into: &e.Heat.PortLoss,
				kind: units.Fraction, min: "0 %", max: "50 %", commented: true, example: "8 %"},
			{key: "charge_heating", doc: "rise of the fresh charge on its way past hot walls", into: &e.Heat.ChargeHeating,
				kind: units.TemperatureDifference, min: "0 K", max: "100 K", fallback: "8 K", reason: "common practice, no source", example: "8 K"},
			{key: "charge_evaporation", doc: "share of the fuel's latent heat that cools the charge before the inlet valve closes",
				into: &e.Heat.ChargeEvaporation,
				kind: units.Fraction, min: "0 %", max: "100 %", commented: true, example: "30 %"},
		}},
		{key: "friction", doc: "what turning the engine takes, pumping not included", implied: true, fields: d.frictionFields()},
	}
}

func (d *draft) valveFields() []field {
	v := &d.valves
	return []field{
		{key: "inlet_count", doc: "inlet valves", into: &v.InletCount, min: "1", max: "4", required: true, example: "2"},
		{key: "inlet_diameter", doc: "of the head", into: &v.InletDiameter, kind: units.Length, min: "10 mm", max: "100 mm", required: true,
			example: "34 mm"},
		{key: "inlet_lift", doc: "greatest", into: &v.InletLift, kind: units.Length, min: "1 mm", max: "30 mm", required: true, example: "10.2 mm"},
		{key: "inlet_opens", doc: "before top dead centre, negative after it", into: &v.InletOpens, kind: units.Angle, min: "-20 deg", max: "90 deg",
			fallback: "15 deg", reason: "common practice, no source", example: "18 deg"},
		{key: "inlet_closes", doc: "after bottom dead centre", into: &v.InletCloses, kind: units.Angle, min: "0 deg", max: "90 deg", required: true,
			example: "58 deg"},
		{key: "inlet_flow_coefficient", doc: "mean over the opening, referred to the head's area; default: from lift and diameter", into: &v.InletFlow,
			kind: units.Fraction, min: "0.1", max: "0.8", commented: true, example: "0.38"},
		{key: "exhaust_count", doc: "exhaust valves", into: &v.ExhaustCount, min: "1", max: "4", required: true, example: "2"},
		{key: "exhaust_diameter", doc: "of the head", into: &v.ExhaustDiameter, kind: units.Length, min: "10 mm", max: "100 mm", required: true,
			example: "30 mm"},
		{key: "exhaust_lift", doc: "greatest", into: &v.ExhaustLift, kind: units.Length, min: "1 mm", max: "30 mm", required: true, example: "9.6 mm"},
		{key: "exhaust_opens", doc: "before bottom dead centre", into: &v.ExhaustOpens, kind: units.Angle, min: "0 deg", max: "90 deg", required: true,
			example: "60 deg"},
		{key: "exhaust_closes", doc: "after top dead centre, negative before it", into: &v.ExhaustCloses, kind: units.Angle, min: "-20 deg", max: "90 deg",
			fallback: "20 deg", reason: "common practice, no source", example: "22 deg"},
		{key: "exhaust_flow_coefficient", doc: "mean over the opening, referred to the head's area; default: from lift and diameter", into: &v.ExhaustFlow,
			kind: units.Fraction, min: "0.1", max: "0.8", commented: true, example: "0.36"},
	}
}
