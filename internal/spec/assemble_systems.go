package spec

import (
	"errors"

	"bellmouth/internal/fuel"
	"bellmouth/internal/manifold"
	"bellmouth/internal/spark"
	"bellmouth/internal/supply"
	"bellmouth/internal/units"
	"bellmouth/internal/wastegate"
)

// assembleActuator builds what moves the wastegate's valve.
func (d *draft) assembleActuator(dec *decoder) {
	const actuator, control = "wastegate.actuator", "wastegate.control"
	if !dec.has(actuator) {
		if dec.ok(control) {
			dec.fail(control, dec.given[control], "wants the section actuator beside it, whose ports it feeds")
		}
		return
	}
	a := d.actuator
	if dec.ok("wastegate.bore") && !dec.has(actuator+".valve_diameter") {
		a.ValveDiameter = d.wastegate.Bore
		dec.standIn(actuator+".valve_diameter", dec.given["wastegate.bore"].text, "the seat's bore")
	}
	a.ExhaustShuts = d.exhaustPushes == pushClosed
	if !dec.check(actuator, a.Validate) || dec.bad[control] {
		return
	}
	c := Control{FromManifold: d.control.source == sourceManifold, System: wastegate.System{Actuator: a}}
	c.Opening, c.Closing = d.valve(dec, control+".opening", &d.control.opening), d.valve(dec, control+".closing", &d.control.closing)
	if c.Closing != nil && a.ClosingArea == 0 {
		dec.fail(control+".closing", dec.given[control+".closing"], "feeds a port that the actuator lacks; want actuator.closing_area above 0")
		return
	}
	if dec.has(control) && !dec.check(control, c.System.Validate) || dec.bad[control] {
		return
	}
	if !dec.has(control) {
		dec.standIn(control+".source", sourceCompressor, "common practice, no source")
	}
	d.Trim.Actuator, d.Trim.Control = &c.System.Actuator, &c
}

// valve returns a pulsed valve, or nil where the file has none that can be used.
func (d *draft) valve(dec *decoder, path string, v *valveDraft) *wastegate.PulsedValve {
	if !dec.ok(path) {
		return nil
	}
	kind := map[string]wastegate.Kind{pipedBleed: wastegate.Bleed, pipedThreeWay: wastegate.ThreeWay, pipedVent: wastegate.Vent}[v.kind]
	if kind != wastegate.ThreeWay && v.bleed == 0 {
		dec.fail(path, dec.given[path], "lacks bleed_area; a %s valve works with a fixed orifice", v.kind)
		return nil
	}
	p := &wastegate.PulsedValve{Kind: kind, Area: v.area, BleedArea: v.bleed, RestsOpen: v.rests == pushOpen}
	if !dec.check(path, p.Validate) {
		return nil
	}
	return p
}

// assembleSupply builds the fuel system from the tank to the rail.
func (d *draft) assembleSupply(dec *decoder) {
	if !dec.has("supply") {
		return
	}
	s := &d.supply
	out := Supply{Voltage: s.pumps.voltage, Temperature: s.temperature}
	if !dec.has("supply.temperature") && dec.has("fuel") && !dec.bad["fuel.temperature"] {
		out.Temperature = d.fuel.Temperature
		dec.standIn("supply.temperature", units.Format(out.Temperature, units.Temperature, units.Metric), "the fuel's at the injector")
	}
	if dec.ok("supply.tank") {
		tank := supply.Tank{Volume: s.volume, Reserve: s.reserve}
		if at := "supply.tank.reserve"; tank.Reserve >= tank.Volume {
			dec.fail(at, dec.given[at], "is %s; want less than the volume, %s", shown(dec.given[at].text), dec.inUnitOf(at, units.Volume, tank.Volume))
		}
		out.Tank = &tank
	}
	out.System.Pumps = s.pumps.source(dec, "supply.pumps")
	if pumps := s.lift.source(dec, "supply.lift"); pumps != nil {
		out.Lift = &Lift{Pumps: pumps, Voltage: s.lift.voltage, Pressure: s.liftPressure}
	}
	out.System.Lines = s.line.lines(dec, "supply.line")
	out.System.Return = s.back.lines(dec, "supply.return")
	if dec.ok("supply.filter") {
		out.System.Filters = d.filters(dec, "supply.filter")
	}
	if dec.ok("supply.use") {
		use := s.use
		out.Use = &use
	}
	if dec.bad["supply"] {
		return
	}
	if d.Trim.Fuel != nil {
		if _, err := supply.LiquidOf(d.Trim.Fuel.Grade, out.Temperature); err != nil {
			dec.fail("supply", dec.given["supply"], "cannot be computed: %s", err)
			return
		}
	}
	d.Trim.Supply = &out
}

// source returns the pumps, or nil where the file has none that can be used.
func (p *pumpsDraft) source(dec *decoder, path string) supply.Source {
	if !dec.ok(path) {
		return nil
	}
	connect := join(path, "connect")
	path = join(path, "curve")
	tests := make([]supply.Test, len(p.tests))
	for i, r := range p.tests {
		tests[i].Voltage = r.at
		if len(r.x) < 2 {
			dec.fail(path, r.node, "has one pressure; want two or more, such as {0 bar: 250 L/h, 5 bar: 160 L/h}")
			return nil
		}
		for j := range r.x {
			if j > 0 && !(r.y[j] < r.y[j-1]) {
				e, before := r.node.entries[j], r.node.entries[j-1]
				dec.fail(path, e.value, "is %s after %s; want the flow to fall as the pressure rises", shown(e.value.text), shown(before.value.text))
				return nil
			}
			tests[i].Points = append(tests[i].Points, supply.Point{Rise: r.x[j], Flow: r.y[j]})
		}
	}
	pump, err := supply.NewPump(tests)
	var bad *supply.PumpError
	if errors.As(err, &bad) && bad.Test < len(p.tests) {
		dec.fail(path, p.tests[bad.Test].node, "cannot be used: %s", bad.Reason)
		return nil
	}
	if err != nil {
		dec.fail(path, dec.given[path], "cannot be used: %s", err)
		return nil
	}
	if p.count == 1 {
		return pump
	}
	pumps := make([]supply.Source, p.count)
	for i := range pumps {
		pumps[i] = pump
	}
	switch p.connect {
	case inSeries:
		return supply.Series(pumps)
	case "":
		dec.standIn(connect, sideBySide, "common practice, no source")
	}
	return supply.Parallel(pumps)
}

// lines returns the line, or none where the file has none that can be used.
func (l *lineDraft) lines(dec *decoder, path string) []supply.Line {
	line := supply.Line{Length: l.length, Bore: l.bore, Roughness: l.roughness, Fittings: l.fittings}
	if !dec.check(path, line.Validate) {
		return nil
	}
	return []supply.Line{line}
}

// filters returns the filter, with what it was measured with.
func (d *draft) filters(dec *decoder, path string) []supply.Filter {
	s := &d.supply.filter
	at, grade := path, fuel.Fuel{}
	switch {
	case s.fuel != "":
		at = join(path, "tested_with")
		var err error
		if grade, err = fuel.Named(s.fuel); err != nil {
			dec.fail(at, dec.given[at], "cannot be used: %s", err)
			return nil
		}
	case d.Trim.Fuel != nil:
		grade = d.Trim.Fuel.Grade
	case dec.has("fuel"):
		return nil // the fuel has its message
	default:
		dec.fail(path, dec.given[path], "needs tested_with, the fuel of the measurement, in a spec without the section fuel")
		return nil
	}
	liquid, err := supply.LiquidOf(grade, s.temperature)
	if err != nil {
		dec.fail(at, dec.given[at], "cannot be used: %s", err)
		return nil
	}
	f := supply.Filter{Flow: s.flow, PressureLoss: s.loss, LinearShare: s.linear, Tested: liquid}
	if !dec.check(path, f.Validate) {
		return nil
	}
	return []supply.Filter{f}
}

// assembleIgnition builds what lights the charge.
func (d *draft) assembleIgnition(dec *decoder) {
	if !dec.ok("ignition") {
		return
	}
	i := &d.ignition
	if dec.has("ignition.coil") {
		if !d.ratingWhole(dec) || !d.sparksFit(dec) || !dec.check("ignition.coil", d.coil.Validate) {
			return
		}
		i.Coil = &d.coil
		if !dec.has("ignition.dwell") && !dec.has("ignition.current") {
			dec.fail("ignition.coil", dec.given["ignition.coil"], "needs dwell or current beside it, which says how long it is charged")
			return
		}
	}
	if at := dec.given["ignition.current"]; at != nil && i.Coil != nil {
		var short *spark.CurrentError
		_, _, err := i.DwellAt(i.SupplyVoltage)
		switch errors.As(err, &short); {
		case err == nil:
		case short != nil && short.Limited:
			dec.fail("ignition.current", at, "is %s; the driver holds the coil at %s", shown(at.text), shown(dec.given["ignition.coil.current_limit"].text))
			return
		case short != nil && short.Largest <= 0:
			dec.fail("ignition.current", at, "is %s; at %s the driver leaves no voltage for the coil", shown(at.text),
				units.Format(short.Voltage, units.Voltage, units.Metric))
			return
		case short != nil:
			dec.fail("ignition.current", at, "is %s; at %s the coil's resistance and its driver leave it below %s", shown(at.text),
				units.Format(short.Voltage, units.Voltage, units.Metric), dec.inUnitOf("ignition.current", units.Current, short.Largest))
			return
		default:
			dec.fail("ignition.current", at, "cannot be reached: %s", err)
			return
		}
	}
	d.Trim.Ignition = i
}

// ratingWhole checks that the coil's rating is given whole or not at all.
func (d *draft) ratingWhole(dec *decoder) bool {
	const current, voltage = "ignition.coil.rated_current", "ignition.coil.rated_voltage"
	given, lacking := current, "rated_voltage, which the coil gives at that current"
	if dec.has(voltage) {
		given, lacking = voltage, "rated_current, at which the coil gives that voltage"
	}
	if dec.has(current) == dec.has(voltage) {
		return true
	}
	dec.fail(given, dec.given[given], "wants %s, beside it", lacking)
	return false
}

// sparksFit checks that one coil gives no more sparks than the engine has cylinders to fire, or two with one that also fires in the overlap.
func (d *draft) sparksFit(dec *decoder) bool {
	const at = "ignition.coil.sparks_per_cycle"
	if !dec.has(at) || !dec.ok("engine.cylinders") {
		return true
	}
	if most := max(2, d.Engine.Cylinders); d.coil.SparksPerCycle > most {
		dec.fail(at, dec.given[at], "is %s; want 1 to %d, with engine.cylinders %d", shown(dec.given[at].text), most, d.Engine.Cylinders)
		return false
	}
	return true
}

// shaftFits checks the throttle's shaft, in the unit it is written in, against the bore: the widest leaves half of the area free.
func (d *draft) shaftFits(dec *decoder) bool {
	const bore, shaft = "manifold.throttle.bore", "manifold.throttle.shaft"
	if !dec.has(bore) || !dec.has(shaft) || dec.bad[bore] || dec.bad[shaft] {
		return true
	}
	if widest := widestShaft * d.throttle.Bore; d.throttle.Shaft >= widest {
		dec.fail(shaft, dec.given[shaft], "is %s; want less than %s, which leaves half the area of a bore of %s free",
			shown(dec.given[shaft].text), dec.inUnitOf(shaft, units.Length, widest), shown(dec.given[bore].text))
		return false
	}
	return true
}

// widestShaft is the shaft over the bore that leaves just over half of the area: x √(1 − x²) + asin x = π/4 has its root at 0.404.
const widestShaft = 0.4

// assembleManifold builds the way of the air to the inlet valves.
func (d *draft) assembleManifold(dec *decoder) {
	if !dec.has("manifold") {
		return
	}
	m := Manifold{Plenum: d.plenum}
	d.runner.Mouth = map[string]manifold.Mouth{mouthFlush: manifold.Flush, mouthStanding: manifold.Standing, mouthUncounted: manifold.Uncounted}[d.mouth]
	if dec.check("manifold.runner", d.runner.Validate) {
		m.Runner = &d.runner
	}
	if d.shaftFits(dec) && dec.check("manifold.throttle", d.throttle.Validate) {
		m.Throttle = &d.throttle
	}
	if dec.check("manifold.duct", d.duct.Validate) {
		m.Duct = &d.duct
	}
	if dec.ok("manifold.spread") && d.spreadHolds(dec) {
		m.Spread = &d.spread
	}
	if !dec.bad["manifold"] {
		d.Trim.Manifold = &m
	}
}

// spreadHolds checks the figures of the cylinders: as many as cylinders, and such that shares follow from them.
func (d *draft) spreadHolds(dec *decoder) bool {
	const path = "manifold.spread"
	s := &d.spread
	if s.Leanest > 0 && s.Richest > s.Leanest {
		at := path + ".richest"
		dec.fail(at, dec.given[at], "is %s, above leanest, %s", shown(dec.given[at].text), shown(dec.given[path+".leanest"].text))
		return false
	}
	at, figures := path+".flow", s.Flow
	switch {
	case s.Lambda != nil:
		at, figures = path+".lambda", s.Lambda
	case s.ExhaustTemperature != nil:
		at, figures = path+".exhaust_temperature", s.ExhaustTemperature
	}
	if dec.ok("engine.cylinders") && len(figures) != d.Engine.Cylinders {
		dec.fail(at, dec.given[at], "has figures for %d cylinders; the engine has %d", len(figures), d.Engine.Cylinders)
		return false
	}
	var err error
	if s.Lambda != nil {
		_, err = manifold.AirSharesFromLambda(figures, nil)
	} else {
		_, err = manifold.AirShares(figures)
	}
	if err != nil {
		dec.fail(at, dec.given[at], "cannot be used: %s", err)
	}
	return err == nil
}
