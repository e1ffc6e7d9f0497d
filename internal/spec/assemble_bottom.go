package spec

import (
	"math"
	"slices"

	"bellmouth/internal/bolt"
	"bellmouth/internal/geometry"
	"bellmouth/internal/units"
)

// What stands in for the face under a bolt's head: common practice, no source.
const (
	headOverThread = 1.45
	holeOverThread = 1.05
)

// assembleBottomEnd builds the moving masses and the bolts of rod and head.
func (d *draft) assembleBottomEnd(dec *decoder) {
	const at, head = "engine.bottom_end", "engine.head_bolts"
	b, e := &d.bottom, &d.Engine
	if dec.ok(at) {
		if !dec.has(at + ".crankcase_pressure") {
			b.crankcase = d.Venue.Pressure
			dec.standIn(at+".crankcase_pressure", units.Format(b.crankcase, units.Pressure, units.Metric), "the venue's, as vented")
		}
		end := BottomEnd{
			Masses: geometry.Masses{
				Piston: b.piston + b.pin + b.rings, SmallEnd: b.rod * (1 - b.bigEnd), BigEnd: b.rod * b.bigEnd, Cap: b.cap,
			},
			CrankcasePressure: b.crankcase, OverrunPressure: b.overrun,
		}
		if dec.check(at, end.Masses.Validate) {
			if dec.has(at + ".rod_bolts") {
				end.RodBolts, _ = b.rodBolts.joint(dec, at+".rod_bolts", float64(b.rodBolts.count))
			}
			e.BottomEnd = &end
		}
	}
	if !dec.ok(head) || dec.bad["engine.cylinders"] || e.Cylinders == 0 {
		return
	}
	bolts, ok := b.headBolts.joint(dec, head, float64(b.headBolts.count)/float64(e.Cylinders))
	if !ok {
		return
	}
	if !dec.has(head + ".seal_diameter") {
		b.seal = e.Cylinder.Bore
		reason := "the bore"
		if e.Chamber != nil && e.Chamber.GasketThickness > 0 {
			b.seal, reason = e.Chamber.GasketBore, "the hole in the gasket"
		}
		dec.standIn(head+".seal_diameter", units.Format(b.seal, units.Length, units.Metric), reason)
	}
	e.Head = &Head{Bolts: *bolts, SealArea: math.Pi / 4 * b.seal * b.seal}
}

// joint builds the bolts of a section, of which so many share the force.
func (b *boltsDraft) joint(dec *decoder, at string, sharing float64) (*Fastenings, bool) {
	length := func(key string, into *float64, ratio float64) {
		if !dec.has(at + key) {
			*into = ratio * b.diameter
			dec.standIn(at+key, units.Format(*into, units.Length, units.Metric), withUnit(ratio, "")+" of the thread's; common practice, no source")
		}
	}
	length(".head_diameter", &b.headDiameter, headOverThread)
	length(".hole_diameter", &b.holeDiameter, holeOverThread)
	f := Fastenings{Torque: b.torque, Proof: b.proving, Joint: bolt.Joint{
		Bolt: bolt.Bolt{
			Diameter: b.diameter, Pitch: b.pitch, Shank: b.shank, ThreadFriction: b.threadFriction, HeadFriction: b.headFriction,
			HeadDiameter: b.headDiameter, HoleDiameter: b.holeDiameter,
		},
		Count: sharing, Factor: b.jointFactor,
	}}
	if !dec.check(at, f.Bolt.Validate) {
		return nil, false
	}
	nominal := b.preload
	if dec.has(at + ".torque") {
		nominal = f.Bolt.Preload(b.torque)
	} else {
		f.Torque = f.Bolt.Torque(nominal)
	}
	f.Preload = bolt.Scattered(nominal, b.scatter)
	return &f, dec.check(at, f.Joint.Validate)
}

// assembleClearances builds what the file says of room and play.
func (d *draft) assembleClearances(dec *decoder) {
	p, e := &d.play, &d.Engine
	if at := "engine.piston_to_valve"; dec.ok(at) {
		side := func(key string, room *ValveRoom) *ValveRoom {
			path := at + key
			switch {
			case !dec.ok(path):
				return nil
			case !dec.has(path+".lift") && !dec.has("engine.valves"):
				dec.fail(path, dec.given[path], "wants lift in it, or the section engine.valves, whose events the lift goes by else")
				return nil
			case !dec.has(path+".lift") && e.Valves == nil:
				return nil // for a reason that is told
			}
			return room
		}
		e.PistonToValve = &PistonToValve{Inlet: side(".inlet", &p.inlet), Exhaust: side(".exhaust", &p.exhaust)}
	}
	if dec.ok("intake.restrictor.measured") {
		m := p.measured
		m.Expansion *= 1e-6
		d.Intake.Measured = &m
	}
	const at = "engine.clearances"
	unbuilt := dec.bad["engine"] && e.Friction.Components == nil && e.Friction.ChenFlynn == nil // for a reason that is told
	if !dec.ok(at) || unbuilt {
		return
	}
	use := geometry.RaceRings
	if dec.has("compressor") {
		use = geometry.RaceBoostRings
	}
	if i := slices.Index(ringUses(), p.ringUse); i >= 0 {
		use = geometry.RingUse(i)
	}
	top, second := geometry.UsualRingGap(e.Cylinder.Bore, use)
	mains, pins := d.friction.mainBearings.Diameter, d.friction.crankPins.Diameter // 0 where neither given nor taken
	bearing := func(journal float64) [2]float64 {
		least, most := geometry.UsualBearingClearance(journal)
		if journal == 0 {
			return [2]float64{}
		}
		return [2]float64{least, most}
	}
	for _, x := range []struct {
		key   string
		draft *fitDraft
		usual [2]float64
	}{
		{"main_bearing", &p.mains, bearing(mains)}, {"crank_pin", &p.pins, bearing(pins)}, {"piston_pin", &p.pin, [2]float64{}}, {"piston", &p.piston, [2]float64{}},
		{"top_ring", &p.topRing, [2]float64{top}}, {"second_ring", &p.secondRing, [2]float64{second}}, {"oil_ring", &p.oilRing, [2]float64{geometry.UsualOilRingGap}},
	} {
		path := at + "." + x.key
		if !dec.has(path) {
			continue
		}
		f := Fit{Key: x.key, Measured: x.draft.measured, Least: x.draft.least, Most: x.draft.most}
		switch {
		case !dec.has(path+".least") && !dec.has(path+".most"):
			f.Least, f.Most, f.Usual = x.usual[0], x.usual[1], true
			if f.Least == 0 {
				dec.fail(path, dec.given[path], "lacks least and most; no usual range of it is known here, so want one of them or both")
				continue
			}
		case f.Most > 0 && f.Most < f.Least:
			at := path + ".most"
			dec.fail(at, dec.given[at], "is %s; want least or more, %s", shown(dec.given[at].text), dec.inUnitOf(at, units.Length, f.Least))
			continue
		}
		e.Clearances = append(e.Clearances, f)
	}
}
