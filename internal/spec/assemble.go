package spec

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/exhaust"
	"bellmouth/internal/fuel"
	"bellmouth/internal/gas"
	"bellmouth/internal/injector"
	"bellmouth/internal/knock"
	"bellmouth/internal/numeric"
	"bellmouth/internal/turbine"
	"bellmouth/internal/units"
)

// settleVenue fills in what the file does not say of the venue's air.
func (d *draft) settleVenue(dec *decoder) {
	if dec.bad["venue"] {
		return
	}
	pressure, temperature, err := gas.StandardAtmosphere(d.altitude)
	if err != nil {
		dec.fail("venue.altitude", dec.given["venue.altitude"], "is outside the standard atmosphere: %s", err)
		return
	}
	d.Venue.Pressure, d.Venue.Temperature = d.pressure, d.temperature
	reason := "standard atmosphere at " + withUnit(d.altitude, "m") + ", ISO 2533"
	if !dec.has("venue.pressure") {
		d.Venue.Pressure = pressure
		dec.standIn("venue.pressure", units.Format(pressure, units.Pressure, units.Metric), reason)
	}
	if !dec.has("venue.temperature") {
		d.Venue.Temperature = temperature
		dec.standIn("venue.temperature", units.Format(temperature, units.Temperature, units.Metric), reason)
	}
	// From degC to K the last digit goes astray, and -30 degC, the end of the range, would lie outside it.
	d.Venue.Temperature = math.Round(d.Venue.Temperature*1e9) / 1e9
	if err := d.Venue.Validate(); err != nil {
		if n := dec.given["venue"]; n != nil {
			dec.fail("venue", n, "cannot be used: %s", err)
		}
		return
	}
	dec.ambient = d.Venue.Pressure
}

// standIn records a default that follows from other values.
func (d *decoder) standIn(path, value, reason string) {
	if !d.partial {
		d.defaults = append(d.defaults, Default{Path: path, Value: value, Reason: reason})
	}
}

// assemble builds the parts from what was read and checks that they fit together.
func (d *draft) assemble(dec *decoder, files *fileStore) {
	d.assembleEngine(dec)
	d.assembleBottomEnd(dec)
	d.assembleClearances(dec)
	if dec.ok("fuel") {
		d.assembleFuel(dec)
	}
	d.assembleAir(dec)
	if dec.has("compressor") {
		d.assembleCompressor(dec, files)
	}
	if dec.ok("injection") {
		d.assembleInjection(dec)
	}
	d.assembleEvaporation(dec)
	d.Engine.Heat.PortLossGiven = dec.ok("engine.heat.port_loss")
	d.assembleActuator(dec)
	d.assembleSupply(dec)
	d.assembleIgnition(dec)
	d.assembleManifold(dec)
	d.assembleCar(dec)
	d.assembleCourse(dec, files)
	d.assembleOil(dec)
	d.assembleSump(dec)
	d.assembleWiring(dec)
	d.assembleCooling(dec)
	d.tellComputed(dec)
	d.Defaults = dec.defaults
	d.given = make(map[string]bool, len(dec.given)+len(dec.defaults))
	for path := range dec.given {
		d.given[path] = true
	}
	for _, f := range dec.defaults {
		d.given[f.Path] = true
	}
}

// tellComputed records the defaults that are computed rather than a figure of the schema.
func (d *draft) tellComputed(dec *decoder) {
	lacks := func(section, key string) bool { return dec.ok(section) && !dec.has(section+"."+key) }
	if lacks("intake.restrictor", "discharge") {
		dec.standIn("intake.restrictor.discharge", "by ISO 9300", "a bellmouth throat, by Reynolds number")
	}
	const taylor = "1.45 lift/diameter; Taylor, vol. 1, ch. 6, from memory"
	if v := d.Engine.Valves; v != nil {
		if ci, given := v.MeanInletFlowCoefficient(); !given {
			dec.standIn("engine.valves.inlet_flow_coefficient", units.Decimal(ci, 2), taylor)
		}
		if ce, given := v.MeanExhaustFlowCoefficient(); !given {
			dec.standIn("engine.valves.exhaust_flow_coefficient", units.Decimal(ce, 2), taylor)
		}
	}
	if lacks("ignition", "delay") {
		dec.standIn("ignition.delay", "by engine speed", "4 deg at 2000 rpm, with the cube root of speed; common practice, no source")
	}
	if dec.ok("driveline.gears") && lacks("driveline", "launch_speed") {
		dec.standIn("driveline.launch_speed", "of peak torque", "common practice, no source")
	}
}

// Shares of the latent heat that the charge gives before the inlet valve closes. Fuel on a hot inlet valve and port takes most of it from there;
// direct injection cools the charge by 70 % of the thermodynamic limit more than port injection (SAE 2012-01-1277, abstract, turbocharged engine,
// petrol to E85). The port's share is common practice, no source, 0.1 to 0.4.
const (
	portEvaporation   = 0.3
	directEvaporation = 1.0
)

// assembleEvaporation takes the share of fuel that evaporates out of the charge's heat by where it is injected.
func (d *draft) assembleEvaporation(dec *decoder) {
	const path = "engine.heat.charge_evaporation"
	if dec.has(path) || dec.bad["engine.heat"] {
		return
	}
	share, reason := portEvaporation, "injection into the port, onto hot walls, 0.1 to 0.4; common practice, no source"
	if d.injectionKind == injectDirect {
		share, reason = directEvaporation, "direct injection: 70 % of the latent heat more than into the port, measured"
	}
	d.Engine.Heat.ChargeEvaporation = share
	dec.standIn(path, units.Format(share, units.Fraction, units.Metric), reason)
}

// check reports what a part says of its own figures, at its section. Sections whose values are bad by themselves are left
// alone: they have their message.
func (d *decoder) check(path string, validate func() error) bool {
	if !d.ok(path) {
		return false
	}
	if err := validate(); err != nil {
		d.fail(path, d.given[path], "does not hold together: %s", err)
		return false
	}
	return true
}

// inUnitOf writes an SI value in the unit that the file has at a path.
func (d *decoder) inUnitOf(path string, k units.Kind, value float64) string {
	return inUnitOf(d.given[path].text, k, value)
}

// inUnitOf writes an SI value in the unit that a text has.
func inUnitOf(text string, k units.Kind, value float64) string {
	_, unit := units.Split(text)
	if u, ok := units.UnitNamed(unit, k); ok {
		return u.Text(value)
	}
	return units.Format(value, k, units.SI)
}

func (d *draft) assembleEngine(dec *decoder) {
	e := &d.Engine
	if c := &e.Combustion; !dec.bad["engine.combustion"] && c.LatestCA50 < c.BestCA50 {
		at := "engine.combustion.latest_ca50"
		if !dec.has(at) {
			at = "engine.combustion.best_ca50"
		}
		dec.fail(at, dec.given[at], "leaves a latest CA50 of %s, before the best at %[2]s; want %[2]s or later",
			units.Format(c.LatestCA50, units.Angle, units.Metric), units.Format(c.BestCA50, units.Angle, units.Metric))
	}
	if dec.bad["engine"] || !dec.has("engine") {
		return
	}
	c := &e.Cylinder
	if least := c.Stroke/2 + math.Abs(c.PinOffset); !(c.Rod > least) {
		dec.fail("engine.rod", dec.given["engine.rod"], "is %s; want more than half the stroke and the pin offset together, %s",
			shown(dec.given["engine.rod"].text), dec.inUnitOf("engine.rod", units.Length, least))
		return
	}
	c.CompressionRatio = d.compressionRatio
	if dec.has("engine.chamber") {
		ratio, err := d.chamber.CompressionRatio(*c)
		if err != nil {
			dec.fail("engine.chamber", dec.given["engine.chamber"], "does not hold together: %s", err)
			return
		}
		if lo, hi := 4.0, 20.0; !(ratio >= lo && ratio <= hi) {
			dec.fail("engine.chamber", dec.given["engine.chamber"], "makes a compression ratio of %s; want %v to %v", withUnit(ratio, ""), lo, hi)
			return
		}
		c.CompressionRatio = ratio
		chamber := d.chamber
		e.Chamber = &chamber
	}
	if !dec.check("engine", c.Validate) {
		return
	}
	if dec.check("engine.valves", func() error { return d.valves.Validate(c.Bore) }) {
		valves := d.valves
		e.Valves = &valves
		d.assembleFriction(dec)
	}
}

func (d *draft) assembleFuel(dec *decoder) {
	f := &d.fuel
	over := fuel.Definition{
		LowerHeatingValue: f.heatingValue, Density: f.density, LatentHeat: f.latent,
		RON: f.ron, MON: f.mon, Octane: f.knockOctane,
	}
	var err error
	at := "fuel.kind"
	switch {
	case dec.has("fuel.formula"):
		at = "fuel.formula"
		var lacking []string
		for _, key := range []string{"heating_value", "density", "latent_heat", "ron", "mon"} {
			if !dec.has("fuel." + key) {
				lacking = append(lacking, key)
			}
		}
		if lacking != nil {
			dec.fail(at, dec.given[at], "needs %s of the fuel beside it", strings.Join(lacking, ", "))
			return
		}
		over.Name, over.Carbon, over.Hydrogen, over.Oxygen, over.Nitrogen = "formula", f.carbon, f.hydrogen, f.oxygen, f.nitrogen
		f.Grade, err = fuel.New(over)
	case dec.has("fuel.blend"):
		at = "fuel.blend"
		parts := make([]fuel.Part, 0, len(f.blend))
		for _, s := range f.blend {
			if s.value == 0 {
				continue
			}
			grade, err := fuel.Named(s.name)
			if err != nil {
				dec.fail(at, dec.given[at], "cannot be made: %s", err)
				return
			}
			parts = append(parts, fuel.Part{Fuel: grade, VolumeFraction: s.value})
		}
		f.Grade, err = fuel.Blend(parts)
	default:
		f.Grade, err = fuel.Named(f.kind)
	}
	if err == nil && at != "fuel.formula" && over != (fuel.Definition{}) {
		f.Grade, err = f.Grade.Override(over)
	}
	var contradiction *fuel.ContradictionError
	if errors.As(err, &contradiction) && d.contradicts(dec, contradiction) {
		return
	}
	if err == nil && f.Grade.Gaseous {
		err = d.meteredAsLiquid(dec, at)
	}
	if err != nil {
		dec.fail(at, dec.given[at], "cannot be used: %s", err)
		return
	}
	f.KnockOctane = f.Grade.Octane
	if f.Grade.Unrated && f.KnockOctane == 0 {
		dec.fail(at, dec.given[at], "holds a fuel without an octane number, which the knock delay goes by; want fuel.knock_octane beside it, the number of the petrol that knocks alike")
		return
	}
	rated := knock.Charge{RON: f.Grade.RON, MON: f.Grade.MON, Octane: f.KnockOctane}
	rated.Ethanol, rated.Methanol = f.Grade.Alcohols()
	if err := rated.CheckFuel(); err != nil {
		if dec.has("fuel.mon") {
			at = "fuel.mon"
		}
		dec.fail(at, dec.given[at], "gives no knock delay with RON %s and MON %s: %s; or fuel.knock_octane beside it",
			withUnit(f.Grade.RON, ""), withUnit(f.Grade.MON, ""), err)
		return
	}
	if !d.assembleMixture(dec) {
		return
	}
	d.Trim.Fuel = &f.Fuel
}

// assembleMixture makes lambda over speed and load, and reports whether it could.
func (d *draft) assembleMixture(dec *decoder) bool {
	m := &d.fuel.Mixture
	if !dec.has("fuel.lambda_map") {
		m.FullLoad = d.lambda
		if !(m.From < m.To) {
			at := "fuel.enrich_from"
			if !dec.has(at) {
				at = "fuel.enrich_to"
			}
			dec.fail(at, dec.given[at], "makes the mixture go over to full load's from %s to %s; want a rising band",
				units.Format(m.From, units.Fraction, units.Metric), units.Format(m.To, units.Fraction, units.Metric))
			return false
		}
		return true
	}
	*m = airpath.Mixture{}
	for _, r := range d.lambdaMap {
		curve, err := numeric.NewCurve(r.x, r.y)
		if err != nil {
			dec.fail("fuel.lambda_map", r.node, "cannot be used: %s", err)
			return false
		}
		m.Speeds, m.Rows = append(m.Speeds, r.at), append(m.Rows, curve)
	}
	return true
}

// contradicts reports a figure that the fuel's formula does not allow, at the key that gives it. It reports whether there is one.
func (d *draft) contradicts(dec *decoder, e *fuel.ContradictionError) bool {
	path, kind, why := "fuel.heating_value", units.SpecificEnergy, "about 13.1 MJ for each kilogram of oxygen that it takes"
	if e.Figure == "density" {
		path, kind, why = "fuel.density", units.Density, "a liquid without oxygen and nitrogen"
	}
	n := dec.given[path]
	if n == nil {
		return false
	}
	step := math.Pow(10, math.Floor(math.Log10(e.High))-2) // three digits, inside the range
	e.Low, e.High = math.Ceil(e.Low/step)*step, math.Floor(e.High/step)*step
	dec.fail(path, n, "is %s, which contradicts the formula %s; want %s to %s (%s)",
		shown(n.text), e.Formula, dec.inUnitOf(path, kind, e.Low), dec.inUnitOf(path, kind, e.High), why)
	return true
}

// meteredAsLiquid returns an error for a fuel that is a gas where the spec has what is known for liquids alone.
func (d *draft) meteredAsLiquid(dec *decoder, at string) error {
	for _, section := range []string{"injection", "supply"} {
		if dec.has(section) {
			return fmt.Errorf("%s is a gas, and the section %s is that of a liquid; want %s: none beside it", d.fuel.Grade.Name, section, section)
		}
	}
	return nil
}

// coefficient returns k of Δp = k ṁ² T/p from one measured point; pressure and temperature are those before the loss.
func (l loss) coefficient(pressure, temperature float64) float64 {
	return l.drop * pressure / (l.flow * l.flow * temperature)
}

// assembleAir builds the parts that air and exhaust pass, but for the compressor.
func (d *draft) assembleAir(dec *decoder) {
	if p := "intake.filter_loss"; dec.ok(p) && d.fits(dec, p, d.filter, d.Venue.Pressure) {
		d.Intake.FilterLossCoefficient = d.filter.coefficient(d.Venue.Pressure, d.Venue.Temperature)
	}
	if dec.check("intake.restrictor", d.restrictor.Validate) && d.throatsFit(dec) {
		r := d.restrictor.Restrictor
		d.Intake.Restrictor = &r
	}
	d.assembleTurbine(dec)
	if dec.check("wastegate", d.wastegate.Validate) {
		d.Trim.Wastegate = &d.wastegate
	}
	if p := "cooler.loss"; dec.ok(p) && d.fits(dec, p, d.cooling, d.cooling.pressure) {
		d.cooler.LossCoefficient = d.cooling.coefficient(d.cooling.pressure, d.cooling.temperature)
	}
	if dec.ok("cooler") && !dec.has("cooler.coolant_temperature") {
		d.cooler.FollowsVenue, d.cooler.CoolantTemperature = true, d.Venue.Temperature
		dec.standIn("cooler.coolant_temperature", units.Format(d.Venue.Temperature, units.Temperature, units.Metric), "the venue's air")
	}
	if !dec.bad["venue"] && dec.check("cooler", d.cooler.Validate) {
		d.Trim.Cooler = &d.cooler
	}
	d.assemblePipes(dec)
	d.assemblePulses(dec)
	if p := "exhaust.back_pressure"; dec.ok(p) {
		// The pressure before the loss is what the loss adds to the venue's.
		d.Exhaust.BackPressureCoefficient = d.back.coefficient(d.Venue.Pressure+d.back.drop, d.back.temperature)
	}
}

// assemblePipes completes port and primary from cylinder and valves.
func (d *draft) assemblePipes(dec *decoder) {
	if d.Engine.Valves == nil || dec.bad["exhaust"] {
		return
	}
	s := &d.Exhaust.Pipes
	base, err := exhaust.Default(exhaust.Geometry{
		Cylinders: d.Engine.Cylinders, Bore: d.Engine.Cylinder.Bore, ExhaustCount: d.Engine.Valves.ExhaustCount,
		ExhaustDiameter: d.Engine.Valves.ExhaustDiameter, Turbocharged: dec.has("compressor"),
	})
	if err != nil {
		dec.fail("engine.valves", dec.given["engine.valves"], "does not hold together: %s", err)
		return
	}
	s.Count = base.Count
	const practice = "common practice, no source"
	take := func(path string, to *float64, from float64, reason string) {
		if !dec.has(path) {
			*to = from
			dec.standIn(path, units.Format(from, units.Length, units.Metric), reason)
		}
	}
	take("exhaust.port.length", &s.Port.Length, base.Port.Length, "1.05 of the bore; "+practice)
	take("exhaust.port.bore", &s.Port.Bore, base.Port.Bore, "0.81 of the valve heads' area; "+practice)
	take("exhaust.primary.length", &s.Primary.Length, base.Primary.Length, practice)
	take("exhaust.primary.bore", &s.Primary.Bore, base.Primary.Bore/base.Port.Bore*s.Port.Bore, "a twentieth more than the port's; "+practice)
	w := &s.Primary.Wall
	take("exhaust.primary.wall", &w.Thickness, base.Primary.Wall.Thickness, practice)
	exposure := map[string]float64{coverBare: exhaust.Bare, coverWrap: exhaust.Wrapped, coverGap: exhaust.AirGap}[d.cover]
	*w = exhaust.Free(w.Thickness, exposure)
	dec.check("exhaust", s.Validate)
}

// assemblePulses completes the volume in which the exhaust pulses run: the ports and primaries of all cylinders, and the turbines' housings.
func (d *draft) assemblePulses(dec *decoder) {
	t, pipes := d.Trim.Turbine, &d.Exhaust.Pipes
	if t == nil || !t.Pulses || t.ManifoldVolume != 0 || pipes.Count == 0 {
		return
	}
	for _, p := range []exhaust.Pipe{pipes.Port, pipes.Primary} {
		t.ManifoldVolume += float64(pipes.Count) * math.Pi / 4 * p.Bore * p.Bore * p.Length
	}
	t.ManifoldVolume += float64(t.Count) * housingOverArea * t.EffectiveArea * math.Sqrt(t.EffectiveArea)
	dec.standIn("turbine.manifold_volume", units.Format(t.ManifoldVolume, units.Volume, units.Metric),
		"exhaust ports and primaries, and a housing by the effective area; common practice, no source")
}

func (d *draft) assembleTurbine(dec *decoder) {
	t := &d.turbine
	t.Count = max(d.compressor.Count, 1)
	if !dec.ok("turbine") {
		return
	}
	switch {
	case dec.has("turbine.mechanical_efficiency"):
	case dec.has("turbine.bearing_loss"):
		t.MechanicalEfficiency = 1
		t.BearingLoss = t.bearingPower / (t.bearingSpeed * t.bearingSpeed)
	default:
		t.MechanicalEfficiency = 1
		if t.bearings == bearingsIncluded {
			break
		}
		wheel, reason := t.Wheel, "by the size of the wheel; from memory, known to a factor of two"
		if wheel == 0 {
			wheel = math.Sqrt(4 * t.EffectiveArea / (math.Pi * nozzleOverWheel))
			reason = "by the size of a wheel of " + units.Format(wheel, units.Length, units.Metric) + " that suits the effective area; known to a factor of two"
		}
		t.BearingLoss = turbine.DefaultBearingLoss(wheel)
		const at = 100000 * math.Pi / 30
		dec.standIn("turbine.bearing_loss", units.Format(t.BearingLoss*at*at, units.Power, units.Metric)+" at 100000 rpm", reason)
	}
	t.Pulses = t.pulses == pulsesComputed
	if dec.check("turbine", t.Validate) {
		d.Trim.Turbine = &t.Turbine
	}
}

// What stands in for the exhaust side where the spec does not say: common practice, no source.
const (
	nozzleOverWheel = 0.3 // effective area of a turbine over the disc of its wheel
	housingOverArea = 15  // volume of a housing over its effective area to the power 3/2
)

// throatsFit checks that there is one restrictor, or one for each turbocharger.
func (d *draft) throatsFit(dec *decoder) bool {
	const at = "intake.restrictor.count"
	turbochargers := d.compressor.Count // 0 without a compressor
	switch {
	case d.restrictor.Count == 1 || d.restrictor.Count == turbochargers || dec.bad["compressor.count"]:
		return true
	case turbochargers > 1:
		dec.fail(at, dec.given[at], "is %s; want 1, or %d as compressor.count says", shown(dec.given[at].text), turbochargers)
	case turbochargers == 1:
		dec.fail(at, dec.given[at], "is %s; want 1, as compressor.count is", shown(dec.given[at].text))
	default:
		dec.fail(at, dec.given[at], "is %s; want 1 without a compressor", shown(dec.given[at].text))
	}
	return false
}

// fits checks that a loss is a small share of the pressure it is taken from: the form k ṁ² T/p holds for no more.
func (d *draft) fits(dec *decoder, path string, l loss, pressure float64) bool {
	if pressure == 0 || l.drop < pressure/3 {
		return true
	}
	n := dec.given[path+".loss"]
	dec.fail(path+".loss", n, "is %s, more than a third of the pressure before it, %s", shown(n.text), units.Format(pressure, units.Pressure, units.Metric))
	return false
}

func (d *draft) assembleCompressor(dec *decoder, files *fileStore) {
	c := &d.compressor
	const path = "compressor.map"
	at := dec.given[path]
	if at == nil || dec.bad[path] {
		return
	}
	ready := dec.ok("compressor")
	file, err := load(files, files.maps, c.MapFile, parseMap)
	if err != nil {
		dec.failFile(path, at, err)
		return
	}
	if !ready {
		return // the map is read all the same, for its own faults
	}
	if c.Map, err = files.build(c.MapFile, file, c.refTemperature, c.refPressure); err != nil {
		dec.failFile(path, at, err)
		return
	}
	c.mapDigest = file.digest
	d.Trim.Compressor = &c.Compressor
}

func (d *draft) assembleInjection(dec *decoder) {
	if at := dec.given["injection.rail.pressure"]; d.rail.reference == railManifold {
		if p, err := units.ParsePressure(at.text, true); err == nil && !p.Gauge {
			dec.fail("injection.rail.pressure", at, "is %s, an absolute pressure; want it above the manifold, which it follows", shown(at.text))
			return
		}
	}
	in := Injection{Direct: d.injectionKind == injectDirect, RailPressure: d.rail.pressure, FollowsManifold: d.rail.reference == railManifold,
		SupplyVoltage: d.rail.voltage}
	in.Staging.Primary = injector.Set{Injector: d.primary.Injector, PerCylinder: d.primary.perCylinder}
	if dec.has("injection.secondary") {
		if !dec.has("injection.staging") {
			dec.fail("injection.secondary", dec.given["injection.secondary"], "needs the section staging beside it, which says when it comes in")
			return
		}
		in.Staging.Secondary = injector.Set{Injector: d.secondary.Injector, PerCylinder: d.secondary.perCylinder}
		in.Staging.StartDuty, in.Staging.Blend = d.startDuty, d.blend
	}
	if dec.check("injection", in.Staging.Validate) {
		d.Trim.Injection = &in
	}
}
