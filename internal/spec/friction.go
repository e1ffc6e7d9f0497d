package spec

import (
	"slices"
	"strconv"

	"bellmouth/internal/friction"
	"bellmouth/internal/units"
)

// The friction models.
const (
	byComponents = "components"
	byChenFlynn  = "chen-flynn"
)

// The kinds of cam follower.
const (
	flatFollower   = "flat"
	rollerFollower = "roller"
)

// A frictionDraft is the section friction as the file says it. What stays 0 or empty is not given.
type frictionDraft struct {
	model                       string
	mainBearings, crankPins     friction.Bearings
	valveTrain, follower        string
	camBearings                 int
	auxiliaries, oilViscosity   float64
	constant, peak, pistonSpeed float64 // the last in bar per m/s
}

// barPerPistonSpeed is the unit of the friction's piston speed term in the file, bar per m/s, in Pa per m/s.
const barPerPistonSpeed = 1e5

const (
	pattonHeywood = "Patton, Nitschke and Heywood, SAE 890836 (1989)"
	chenFlynn     = "Chen and Flynn, SAE 650733 (1965), for a compression-ignition engine"
)

func (d *draft) frictionFields() []field {
	f := &d.friction
	bearings := func(into *friction.Bearings, diameter, length, count, diameterDefault, lengthDefault, countDefault string) []field {
		return []field{
			{key: "diameter", doc: "of the journal; default: " + diameterDefault + " of the bore", into: &into.Diameter, kind: units.Length,
				min: "5 mm", max: "200 mm", example: diameter},
			{key: "length", doc: "that carries; default: " + lengthDefault + " of the bore", into: &into.Length, kind: units.Length,
				min: "2 mm", max: "150 mm", example: length},
			{key: "count", doc: "in the whole engine; default: " + countDefault, into: &into.Count, min: "1", max: "30", example: count},
		}
	}
	return []field{
		{key: "model", doc: "by the parts below, which suits spark ignition, or by Chen and Flynn's sum; default: " + byComponents, into: &f.model,
			choices: []string{byComponents, byChenFlynn}, group: "friction", example: byComponents},
		{key: "main_bearing", doc: "of the crank", with: "friction",
			fields: bearings(&f.mainBearings, "54 mm", "20 mm", "6", "0.64", "0.23", "one beside each throw, more than six cylinders in two banks")},
		{key: "crank_pin", doc: "and its big ends", with: "friction",
			fields: bearings(&f.crankPins, "47 mm", "18 mm", "5", "0.56", "0.21", "one for each cylinder")},
		{key: "valve_train", doc: "camshafts, and what lies between cam and valve; " +
			"default: two camshafts on tappets from four valves on, else one with rockers",
			into: &f.valveTrain, choices: friction.ValveTrains(), with: "friction", example: friction.DOHCDirect.String()},
		{key: "follower", doc: "how it meets the cam; default: " + flatFollower, into: &f.follower, choices: []string{flatFollower, rollerFollower},
			with: "friction", example: flatFollower},
		{key: "cam_bearings", doc: "of all camshafts; default: one more than cylinders on each", into: &f.camBearings, min: "1", max: "120",
			with: "friction", example: "12"},
		{key: "auxiliaries", doc: "factor on what oil pump, water pump and alternator of a road engine take; default: 1", into: &f.auxiliaries, min: "0",
			max: "3", with: "friction", example: "1"},
		{key: "oil_viscosity", doc: "kinematic viscosity of the oil as it runs, over that of warm multigrade; default: 1", into: &f.oilViscosity,
			min: "0.1", max: "30", with: "friction", example: "1"},
		{key: "constant", doc: "of " + byChenFlynn + ": the part that is always there; default: 0.137 bar", into: &f.constant,
			kind: units.PressureDifference,
			min:  "0 bar", max: "3 bar", with: "friction", commented: true, example: "0.137 bar"},
		{key: "peak_pressure", doc: "of " + byChenFlynn + ": for each bar of peak cylinder pressure, bar; default: 0.005", into: &f.peak,
			min: "0", max: "0.05", with: "friction", commented: true, example: "0.005"},
		{key: "piston_speed", doc: "of " + byChenFlynn + ": for each m/s of mean piston speed, bar; default: 0.162", into: &f.pistonSpeed,
			min: "0", max: "1", with: "friction", commented: true, example: "0.162"},
		{key: "factor", doc: "on the sum, to fit it to a measured engine", into: &d.Engine.Friction.Factor, min: "0", max: "4", fallback: "1",
			reason: "the model as published", example: "1"},
	}
}

// frictionKeys are the keys that each model has for itself.
var frictionKeys = map[string][]string{
	byComponents: {"main_bearing", "crank_pin", "valve_train", "follower", "cam_bearings", "auxiliaries", "oil_viscosity"},
	byChenFlynn:  {"constant", "peak_pressure", "piston_speed"},
}

// assembleFriction makes the choice of the friction model, with what the file leaves open.
func (d *draft) assembleFriction(dec *decoder) {
	const at = "engine.friction"
	f := &d.friction
	if dec.bad[at] {
		return
	}
	chosen, how := f.model, "is given"
	if !dec.has(at + ".model") {
		chosen, how = byComponents, "is taken where none is given"
		given := func(key string) bool { return dec.has(at + "." + key) }
		if slices.ContainsFunc(frictionKeys[byChenFlynn], given) && !slices.ContainsFunc(frictionKeys[byComponents], given) {
			chosen = byChenFlynn // as the keys say
		}
	}
	other := byChenFlynn
	if chosen == byChenFlynn {
		other = byComponents
	}
	for _, key := range frictionKeys[other] {
		if path := at + "." + key; dec.has(path) {
			dec.fail(path, dec.given[path], "belongs to model: %s, but model: %s %s; want that model beside it, or none of %s",
				other, chosen, how, anyOf(frictionKeys[other]))
			return
		}
	}
	if !dec.has(at+".model") && chosen == byComponents {
		dec.standIn(at+".model", chosen, "made for spark ignition: "+pattonHeywood+", revised in SAE 2003-01-0725")
	}
	if chosen == byChenFlynn {
		d.assembleChenFlynn(dec, at)
		return
	}
	d.assembleComponents(dec, at)
}

func (d *draft) assembleChenFlynn(dec *decoder, at string) {
	f := &d.friction
	for _, v := range []struct {
		key, text string
		into      *float64
		published float64 // in the unit of the draft
	}{
		{".constant", "0.137 bar", &f.constant, friction.PublishedChenFlynn().Constant},
		{".peak_pressure", "0.005", &f.peak, friction.PublishedChenFlynn().PeakPressure},
		{".piston_speed", "0.162", &f.pistonSpeed, friction.PublishedChenFlynn().PistonSpeed / barPerPistonSpeed},
	} {
		if !dec.has(at + v.key) {
			*v.into = v.published
			dec.standIn(at+v.key, v.text, chenFlynn)
		}
	}
	d.Engine.Friction.ChenFlynn = &friction.ChenFlynn{
		Constant: f.constant, PeakPressure: f.peak, PistonSpeed: f.pistonSpeed * barPerPistonSpeed,
	}
}

func (d *draft) assembleComponents(dec *decoder, at string) {
	const practice = "common practice, no source"
	f, e := &d.friction, &d.Engine
	engine := friction.Engine{Cylinder: e.Cylinder, Cylinders: e.Cylinders, Valves: *e.Valves}
	length := func(key string, into *float64, usual, overBore float64) {
		if !dec.has(at + key) {
			*into = usual
			dec.standIn(at+key, units.Format(usual, units.Length, units.Metric), withUnit(overBore, "")+" of the bore; "+practice)
		}
	}
	count := func(key string, into *int, usual int, reason string) {
		if !dec.has(at + key) {
			*into = usual
			dec.standIn(at+key, strconv.Itoa(usual), reason+"; "+practice)
		}
	}
	main, pins := friction.UsualMainBearings(engine), friction.UsualCrankPins(engine)
	length(".main_bearing.diameter", &f.mainBearings.Diameter, main.Diameter, friction.MainDiameterOverBore)
	length(".main_bearing.length", &f.mainBearings.Length, main.Length, friction.MainLengthOverBore)
	count(".main_bearing.count", &f.mainBearings.Count, main.Count, "one beside each throw, up to six cylinders in line, more in two banks")
	length(".crank_pin.diameter", &f.crankPins.Diameter, pins.Diameter, friction.PinDiameterOverBore)
	length(".crank_pin.length", &f.crankPins.Length, pins.Length, friction.PinLengthOverBore)
	count(".crank_pin.count", &f.crankPins.Count, pins.Count, "one for each cylinder")
	train, known := friction.ValveTrainNamed(f.valveTrain)
	if !known {
		train = friction.UsualValveTrain(*e.Valves)
		dec.standIn(at+".valve_train", train.String(), "usual with so many valves; "+practice)
	}
	if !dec.has(at + ".follower") {
		dec.standIn(at+".follower", flatFollower, practice)
	}
	count(".cam_bearings", &f.camBearings, friction.UsualCamBearings(engine, train), "one more than cylinders on each shaft")
	if !dec.has(at + ".auxiliaries") {
		f.auxiliaries = 1
		dec.standIn(at+".auxiliaries", "1", "those of a road engine, as in the correlation")
	}
	if !dec.has(at + ".oil_viscosity") {
		f.oilViscosity = 1
		dec.standIn(at+".oil_viscosity", "1", "the oil of the correlation's engines")
	}
	c := friction.Components{
		MainBearings: f.mainBearings, CrankPins: f.crankPins, ValveTrain: train, Roller: f.follower == rollerFollower, CamBearings: f.camBearings,
		Auxiliaries: f.auxiliaries, OilViscosity: f.oilViscosity,
	}
	if dec.has(at) && !dec.check(at, func() error { return c.Validate(engine) }) {
		return
	}
	e.Friction.Components = &c
}
