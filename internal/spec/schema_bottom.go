package spec

import (
	"bellmouth/internal/geometry"
	"bellmouth/internal/units"
)

// A bottomDraft is what the file says of masses and bolts.
type bottomDraft struct {
	piston, pin, rings, rod, bigEnd, cap float64
	crankcase, overrun                   float64
	rodBolts, headBolts                  boltsDraft
	seal                                 float64
}

type boltsDraft struct {
	count                         int
	diameter, pitch, shank        float64
	torque, preload               float64
	threadFriction, headFriction  float64
	headDiameter, holeDiameter    float64
	scatter, jointFactor, proving float64
}

func (d *draft) bottomEndFields() []field {
	b := &d.bottom
	return []field{
		{key: "piston", doc: "one, bare, or with what is not given beside it", into: &b.piston, kind: units.Mass, min: "10 g", max: "5 kg", required: true,
			example: "355 g"},
		{key: "pin", doc: "piston pin with its clips", into: &b.pin, kind: units.Mass, min: "0 g", max: "3 kg", fallback: "0 g",
			reason: "weighed with the piston", example: "92 g"},
		{key: "rings", doc: "of one piston", into: &b.rings, kind: units.Mass, min: "0 g", max: "1 kg", fallback: "0 g", reason: "weighed with the piston",
			example: "38 g"},
		{key: "rod", doc: "one, with bolts and bearing shells", into: &b.rod, kind: units.Mass, min: "50 g", max: "10 kg", required: true, example: "560 g"},
		{key: "big_end_share", doc: "of the rod's mass, by weighing it level on its eyes: what goes round with the crank pin", into: &b.bigEnd,
			kind: units.Fraction, min: "40 %", max: "90 %", fallback: "70 %", reason: "common practice, no source", example: "71 %"},
		{key: "cap", doc: "of the rod, with its shell and the bolts: what does not hang on the bolts", into: &b.cap, kind: units.Mass, min: "0 g", max: "5 kg",
			fallback: "0 g", reason: "all of the big end hangs on the bolts, which errs on the safe side", example: "150 g"},
		{key: "crankcase_pressure", doc: "absolute; default: the venue's", into: &b.crankcase, kind: units.Pressure, absolute: true, min: "0.2 bar",
			max: "2 bar", example: "0.95 bar"},
		{key: "overrun_pressure", doc: "in the cylinder between exhaust and inlet stroke with the throttle closed, absolute; it takes no load off the rod",
			into: &b.overrun, kind: units.Pressure, absolute: true, min: "0.05 bar", max: "2 bar", fallback: "0.3 bar",
			reason: "the manifold's behind a closed throttle; common practice, no source", example: "0.3 bar"},
		{key: "rod_bolts", doc: "of one rod", fields: b.rodBolts.fields("2", "in one rod", "9 mm", "1 mm", "46 Nm", "13 mm", "9.3 mm", "0.2", "1080 MPa", true)},
	}
}

func (d *draft) headBoltFields() []field {
	b := &d.bottom
	return append(b.headBolts.fields("12", "in the whole head, which share the force evenly", "11 mm", "1.5 mm", "95 Nm", "19 mm", "12 mm", "0.2",
		"1040 MPa", false),
		field{key: "seal_diameter", doc: "of the circle that the pressure lifts the head on; default: the hole in the gasket, or the bore", into: &b.seal,
			kind: units.Length, min: "30 mm", max: "250 mm", example: "86 mm"})
}

func (b *boltsDraft) fields(count, of, diameter, pitch, torque, head, hole, factor, proof string, shank bool) []field {
	most := "40"
	if shank {
		most = "8"
	}
	return []field{
		{key: "count", doc: "of the bolts or studs " + of, into: &b.count, min: "1", max: most, required: true, example: count},
		{key: "diameter", doc: "of the thread", into: &b.diameter, kind: units.Length, min: "4 mm", max: "24 mm", required: true, example: diameter},
		{key: "pitch", doc: "of the thread", into: &b.pitch, kind: units.Length, min: "0.4 mm", max: "3 mm", required: true, example: pitch},
		{key: "shank", doc: "least diameter, where it is thinner than the thread", into: &b.shank, kind: units.Length, min: "2 mm", max: "24 mm",
			commented: true,
			example:   "8 mm"},
		{key: "torque", doc: "that each is tightened with, or ...", into: &b.torque, kind: units.Torque, min: "2 Nm", max: "600 Nm", required: true,
			group: "tightening", example: torque},
		{key: "preload", doc: "... the pull that tightening by stretch or angle gives it", into: &b.preload, kind: units.Force, min: "500 N", max: "500 kN",
			required: true, group: "tightening", commented: true, example: "34 kN"},
		{key: "thread_friction", doc: "coefficient in the thread as it is oiled", into: &b.threadFriction, min: "0.02", max: "0.4", fallback: "0.12",
			reason: "oiled; VDI 2230, from memory: 0.08 to 0.16", example: "0.12"},
		{key: "head_friction", doc: "coefficient under the head or nut", into: &b.headFriction, min: "0.02", max: "0.4", fallback: "0.12",
			reason: "oiled; VDI 2230, from memory: 0.08 to 0.16", example: "0.12"},
		{key: "head_diameter", doc: "of the face under head or nut; default: 1.45 of the thread's", into: &b.headDiameter, kind: units.Length, min: "4 mm",
			max: "60 mm", example: head},
		{key: "hole_diameter", doc: "of the hole in that face; default: 1.05 of the thread's", into: &b.holeDiameter, kind: units.Length, min: "3 mm",
			max: "50 mm", example: hole},
		{key: "scatter", doc: "tightening factor: the greatest preload over the least of the bolts tightened alike", into: &b.scatter, min: "1", max: "4",
			fallback: "1.6", reason: "a torque wrench, 1.4 to 1.6; by stretch or angle 1.05 to 1.2; VDI 2230, from a weak source", example: "1.5"},
		{key: "joint_factor", doc: "share of a force on the joint that the bolts take: their stiffness over that of bolts and parts together; 0.1 to 0.3 is usual",
			into: &b.jointFactor, min: "0", max: "0.9", required: true, example: factor},
		{key: "proof_stress", doc: "that the bolts may be stressed to", into: &b.proving, kind: units.Stress, min: "100 MPa", max: "3000 MPa", example: proof},
	}
}

// A clearanceDraft is what the file says of room and play.
type clearanceDraft struct {
	inlet, exhaust                                         ValveRoom
	ringUse                                                string
	mains, pins, piston, topRing, secondRing, oilRing, pin fitDraft
	measured                                               MeasuredBore
}

type fitDraft struct{ measured, least, most float64 }

func (d *draft) pistonToValveFields() []field {
	side := func(v *ValveRoom, drop, lift, least, why string) []field {
		return []field{
			{key: "drop", doc: "way from the seat to the piston at top dead centre, along the stem, valve lash taken up", into: &v.Drop, kind: units.Length,
				min: "0.2 mm", max: "40 mm", required: true, example: drop},
			{key: "angle", doc: "between stem and cylinder axis", into: &v.Angle, kind: units.Angle, min: "0 deg", max: "50 deg", required: true,
				example: "20 deg"},
			{key: "lift", doc: "of the valve; default: from its events, by a curve that stands for no cam", into: &v.Lift, kind: units.Length, min: "0 mm",
				max: "30 mm",
				over: &axis{name: "crank angle after the top dead centre of gas exchange", kind: units.Angle, min: "-360 deg", max: "360 deg",
					loose:   true,                                                         // what writes a spec anew orders keys as text, where -10 deg comes before -20 deg
					example: "{-20 deg: 0.2 mm, 0 deg: 1.4 mm, 20 deg: 3.6 mm}"}, example: lift},
			{key: "shift", doc: "by which the shaft is set later than events or table say, in degrees of the crank; negative: earlier", into: &v.Shift,
				kind: units.Angle, min: "-40 deg", max: "40 deg", fallback: "0 deg", reason: "as the events say", example: "0 deg"},
			{key: "least", doc: "smallest room accepted, cold and turned by hand", into: &v.Least, kind: units.Length, min: "0 mm", max: "10 mm", fallback: least,
				reason: why, example: least},
		}
	}
	const practice = "for what rod, belt and heat take at speed; common practice, no source"
	return []field{
		{key: "inlet", doc: "the inlet valves", fields: side(&d.play.inlet, "6.4 mm",
			"{-20 deg: 0 mm, -10 deg: 0.4 mm, 0 deg: 1.2 mm, 10 deg: 2.3 mm, 20 deg: 3.6 mm, 40 deg: 6.4 mm, 60 deg: 8.6 mm}", "1.5 mm", practice)},
		{key: "exhaust", doc: "the exhaust valves", fields: side(&d.play.exhaust, "6.0 mm",
			"{-60 deg: 8.0 mm, -40 deg: 5.8 mm, -20 deg: 3.1 mm, -10 deg: 1.9 mm, 0 deg: 1.0 mm, 10 deg: 0.4 mm, 25 deg: 0 mm}", "2 mm", practice)},
	}
}

// ringUses are the names of the uses that ring gaps go by.
func ringUses() []string {
	return []string{geometry.RoadRings.String(), geometry.MildBoostRings.String(), geometry.RaceRings.String(), geometry.RaceBoostRings.String()}
}

func (d *draft) clearanceFields() []field {
	const noUsual = "none, and none is known"
	const bearing, ring = "by the journal, common practice", "by bore and ring_use, common practice"
	p := &d.play
	fit := func(key, doc string, f *fitDraft, measured, least, most, usual string) field {
		known := usual != noUsual
		min, max := "0 mm", "5 mm"
		if usual == bearing {
			min, max = "0.01 mm", "0.3 mm" // as oil takes them
		}
		return field{key: key, doc: doc, fields: []field{
			{key: "measured", doc: "as built", into: &f.measured, kind: units.Length, min: min, max: max, required: true, example: measured},
			{key: "least", doc: "smallest accepted; default: " + usual, into: &f.least, kind: units.Length, min: "0 mm", max: "5 mm", commented: known,
				example: least},
			{key: "most", doc: "greatest accepted; default: " + usual, into: &f.most, kind: units.Length, min: "0.001 mm", max: "5 mm", commented: known,
				example: most},
		}}
	}
	return []field{
		{key: "ring_use",
			doc: "what the engine is driven for, by which usual ring gaps go; default: " + geometry.RaceBoostRings.String() + " with a compressor, else " +
				geometry.RaceRings.String(), into: &p.ringUse, choices: ringUses(), example: geometry.RaceBoostRings.String()},
		fit("main_bearing", "across the journal, of the tightest main bearing", &p.mains, "0.060 mm", "0.050 mm", "0.070 mm", bearing),
		fit("crank_pin", "across the journal, of the tightest rod bearing", &p.pins, "0.055 mm", "0.045 mm", "0.065 mm", bearing),
		fit("piston_pin", "across the pin, of the tightest small end", &p.pin, "0.018 mm", "0.015 mm", "0.025 mm", noUsual),
		fit("piston", "across the skirt, of the tightest piston in its bore", &p.piston, "0.090 mm", "0.080 mm", "0.110 mm", noUsual),
		fit("top_ring", "gap of the closest top ring in its bore", &p.topRing, "0.56 mm", "0.50 mm", "0.65 mm", ring),
		fit("second_ring", "gap of the closest second ring in its bore", &p.secondRing, "0.70 mm", "0.62 mm", "0.80 mm", ring),
		fit("oil_ring", "gap of the closest rail of the oil ring", &p.oilRing, "0.45 mm", "0.40 mm", "1.0 mm", "0.38 mm or more, common practice"),
	}
}

func (d *draft) measuredBoreFields() []field {
	m := &d.play.measured
	return []field{
		{key: "bore", doc: "as measured, warm", into: &m.Bore, kind: units.Length, min: "5 mm", max: "130 mm", required: true, example: "38.03 mm"},
		{key: "temperature", doc: "of the restrictor then", into: &m.Temperature, kind: units.Temperature, min: "-30 degC", max: "250 degC", required: true,
			example: "62 degC"},
		{key: "expansion", doc: "of its material, in millionths a kelvin: aluminium about 23, steel 12, from memory", into: &m.Expansion, min: "0", max: "200",
			required: true, example: "23"},
	}
}
