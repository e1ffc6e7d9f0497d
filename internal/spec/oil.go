package spec

import (
	"math"

	"bellmouth/internal/friction"
	"bellmouth/internal/geometry"
	"bellmouth/internal/numeric"
	"bellmouth/internal/oil"
	"bellmouth/internal/units"
)

// An Oil is the oil that runs through the engine, and what it runs through.
type Oil struct {
	Liquid      oil.Liquid
	Temperature float64     // in the gallery, K
	Bearing     float64     // in the bearings' films, K
	Mains, Pins oil.Journal // of the crank
	Circuit     oil.Circuit
	Pump        *oil.Pump
	Floor       numeric.Curve // pressure wanted in the gallery, Pa above the crankcase, over engine speed
	FloorGiven  bool          // by the spec, rather than by common practice
}

// An oilDraft is the section oil as the file says it.
type oilDraft struct {
	cold, hot, density     float64
	temperature, rise      float64
	mainClearance          float64 // over the diameter, as a workshop measures it
	pinClearance           float64
	grooveArc, grooveWidth float64
	eccentricity           float64
	jetFlow, jetPressure   float64
	pump                   oil.Pump
	relief                 float64
	floor                  numeric.Curve
}

// Where a data sheet states viscosities, K.
const (
	sheetCold = 313.15
	sheetHot  = 373.15
)

// Width of a groove over the length of its bearing: common practice, no source.
const grooveShare = 0.15

// Pressure that is wanted in the gallery for each rad/s, Pa: 10 psi for each 1000 rpm, hot. Common practice, no source.
const floorSlope = 10 * 6894.757293168361 / (1000 * math.Pi / 30)

func (d *draft) oilFields() []field {
	o := &d.oil
	return []field{
		{key: "viscosity_40", doc: "kinematic, at 40 degC, as its data sheet states it", into: &o.cold, kind: units.KinematicViscosity, min: "5 mm2/s",
			max:      "600 mm2/s",
			required: true, example: "80 mm2/s"},
		{key: "viscosity_100", doc: "kinematic, at 100 degC", into: &o.hot, kind: units.KinematicViscosity, min: "2 mm2/s", max: "60 mm2/s",
			required: true, example: "13.5 mm2/s"},
		{key: "density", doc: "at 15 degC", into: &o.density, kind: units.Density, min: "750 kg/m3", max: "1050 kg/m3", fallback: "860 kg/m3",
			reason: "common practice, no source", example: "860 kg/m3"},
		{key: "temperature", doc: "in the gallery, hot", into: &o.temperature, kind: units.Temperature, min: "20 degC", max: "170 degC", required: true,
			example: "105 degC"},
		{key: "bearing_rise", doc: "of the film's temperature over the gallery's", into: &o.rise, kind: units.TemperatureDifference, min: "0 K",
			max: "80 K", fallback: "20 K",
			reason: "common practice, no source", example: "20 K"},
		{key: "main_clearance", doc: "of the main bearings, over the diameter; default: engine.clearances.main_bearing, else 0.001 of the journal",
			into: &o.mainClearance, kind: units.Length,
			min: "0.01 mm",
			max: "0.3 mm", example: "0.055 mm"},
		{key: "pin_clearance", doc: "of the big ends, over the diameter; default: engine.clearances.crank_pin, else 0.001 of the journal",
			into: &o.pinClearance, kind: units.Length,
			min: "0.01 mm",
			max: "0.3 mm", example: "0.048 mm"},
		{key: "groove_arc", doc: "of the oil groove round the main bearings, 360 deg all round", into: &o.grooveArc, kind: units.Angle, min: "10 deg",
			max:      "360 deg",
			fallback: "180 deg", reason: "the upper shell; common practice, no source", example: "180 deg"},
		{key: "groove_width", doc: "of that groove; default: 0.15 of the bearing's length", into: &o.grooveWidth, kind: units.Length, min: "0.5 mm",
			max:     "20 mm",
			example: "3 mm"},
		{key: "eccentricity", doc: "mean over the cycle, of the crank's journals, by which their flow goes: 0 central, 1 touching", into: &o.eccentricity,
			min: "0", max: "0.99",
			fallback: "0.7", reason: "loaded bearings, 0.5 to 0.9; common practice, no source", example: "0.7"},
		{key: "jets", doc: "what takes oil through holes: piston jets, turbocharger, valve train, tensioner", fields: []field{
			{key: "flow", doc: "of all of them", into: &o.jetFlow, kind: units.UseFlow, min: "0.1 L/min", max: "200 L/min", required: true,
				example: "15 L/min"},
			{key: "pressure", doc: "at which they take it; the flow goes with the square root", into: &o.jetPressure, kind: units.PressureDifference,
				min: "0.2 bar", max: "15 bar",
				required: true, example: "4 bar"},
		}},
		{key: "pump", doc: "the pressure pump", fields: []field{
			{key: "displacement", doc: "of one of its turns", into: &o.pump.Displacement, kind: units.Volume, min: "0.5 cm3", max: "200 cm3",
				required: true, example: "11 cm3"},
			{key: "ratio", doc: "its turns for one of the engine", into: &o.pump.Ratio, min: "0.1", max: "3", fallback: "1",
				reason:  "on the crank; common practice, no source",
				example: "1"},
			{key: "efficiency", doc: "volumetric, hot", into: &o.pump.Efficiency, kind: units.Fraction, min: "5 %", max: "100 %", fallback: "80 %",
				reason: "a gear pump with hot oil; common practice, no source", over: engineSpeed("{1000 rpm: 65 %, 3000 rpm: 82 %}"),
				example: "{1000 rpm: 65 %, 3000 rpm: 82 %}"},
			{key: "relief", doc: "pressure at which the relief valve holds", into: &o.relief, kind: units.PressureDifference, min: "0.5 bar",
				max: "15 bar", required: true,
				example: "5 bar"},
		}},
		{key: "pressure_floor", doc: "pressure wanted in the gallery; default: 10 psi for each 1000 rpm, common practice, no source", into: &o.floor,
			kind: units.PressureDifference, min: "0 bar", max: "15 bar", over: engineSpeed("{1000 rpm: 1 bar, 6000 rpm: 4 bar}"),
			example: "{1000 rpm: 1 bar, 6000 rpm: 4 bar}"},
	}
}

// assembleOil builds the oil and its circuit. The crank's bearings are those of the friction, or the usual ones where its model has none.
func (d *draft) assembleOil(dec *decoder) {
	if !dec.ok("oil") || dec.bad["engine"] || !dec.has("engine") {
		return
	}
	const practice = "common practice, no source"
	o := &d.oil
	liquid, err := oil.NewLiquid(sheetCold, o.cold, sheetHot, o.hot, o.density)
	if err != nil {
		dec.fail("oil", dec.given["oil"], "does not hold together: %s", err)
		return
	}
	out := Oil{Liquid: liquid, Temperature: o.temperature, Bearing: o.temperature + o.rise, Floor: o.floor}
	if _, err := liquid.Dynamic(out.Bearing); err != nil {
		dec.fail("oil", dec.given["oil"], "is too thin or too hot in the bearings: %s", err)
		return
	}
	engine := friction.Engine{Cylinder: d.Engine.Cylinder, Cylinders: d.Engine.Cylinders}
	mains, pins := friction.UsualMainBearings(engine), friction.UsualCrankPins(engine)
	if c := d.Engine.Friction.Components; c != nil {
		mains, pins = c.MainBearings, c.CrankPins
	}
	clearance := func(path string, given, measured, diameter float64) float64 {
		switch {
		case dec.has(path):
		case measured > 0:
			given = measured
			dec.standIn(path, units.Format(given, units.FilmThickness, units.Metric), "as measured, engine.clearances")
		default:
			given, _ = geometry.UsualBearingClearance(diameter)
			dec.standIn(path, units.Format(given, units.FilmThickness, units.Metric), "0.001 of the journal; "+practice)
		}
		return given / 2
	}
	out.Mains = oil.Journal{Diameter: mains.Diameter, Length: mains.Length,
		Clearance: clearance("oil.main_clearance", o.mainClearance, d.play.mains.measured, mains.Diameter)}
	out.Pins = oil.Journal{Diameter: pins.Diameter, Length: pins.Length,
		Clearance: clearance("oil.pin_clearance", o.pinClearance, d.play.pins.measured, pins.Diameter)}
	if at := "oil.groove_width"; !dec.has(at) {
		o.grooveWidth = grooveShare * mains.Length
		dec.standIn(at, units.Format(o.grooveWidth, units.Length, units.Metric), "0.15 of the bearing's length; "+practice)
	}
	if widest := mains.Length / 2; o.grooveWidth > widest {
		at := "oil.groove_width"
		dec.fail(at, dec.given[at], "is %s; want at most half of the bearing's length, %s", shown(dec.given[at].text), dec.inUnitOf(at, units.Length, widest))
		return
	}
	out.Circuit = oil.Circuit{
		Rows: []oil.Row{
			{Journal: out.Mains, Count: mains.Count, Groove: &oil.Groove{Arc: o.grooveArc, Width: o.grooveWidth}, Eccentricity: o.eccentricity},
			{Journal: out.Pins, Count: pins.Count, Eccentricity: o.eccentricity},
		},
		JetFlow: o.jetFlow, JetPressure: o.jetPressure, Relief: o.relief,
	}
	if dec.has("oil.pump") {
		pump := o.pump
		out.Pump = &pump
	}
	if out.FloorGiven = dec.has("oil.pressure_floor"); !out.FloorGiven {
		lo, hi := 100*math.Pi/30, 30000*math.Pi/30 // rad/s, the ends of the axis
		if out.Floor, err = numeric.NewCurve([]float64{lo, hi}, []float64{floorSlope * lo, floorSlope * hi}); err != nil {
			dec.fail("oil", dec.given["oil"], "has no pressure floor: %s", err)
			return
		}
		dec.standIn("oil.pressure_floor", "10 psi/1000 rpm", practice)
	}
	d.Trim.Oil = &out
}
