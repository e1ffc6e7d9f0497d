package spec

import (
	"errors"
	"math"
	"slices"

	"bellmouth/internal/cooling"
	"bellmouth/internal/units"
)

// Specific heats, J/(kg K): cast aluminium and iron about 370 K, engine oil at 370 K. Source: Incropera and DeWitt, Fundamentals of Heat and Mass Transfer,
// tables A.1 and A.5, rounded; from memory.
const (
	aluminiumHeat = 890
	ironHeat      = 470
	oilHeat       = 2200
)

// Density of the oil where the spec has no section oil, kg/m³: that of its default.
const oilDensity = 860

// assembleCooling builds what takes the engine's heat away.
func (d *draft) assembleCooling(dec *decoder) {
	if !dec.ok("cooling") || dec.bad["engine"] || !dec.has("engine") {
		return
	}
	c := &d.coolant
	if t := c.thermostat; dec.has("cooling.thermostat") && !(t.Full > t.Opens) {
		at := "cooling.thermostat.full"
		dec.fail(at, dec.given[at], "is %s; want more than opens, %s", shown(dec.given[at].text), shown(dec.given["cooling.thermostat.opens"].text))
		return
	}
	out := Cooling{Load: c.load, RoadSpeed: c.road, Ahead: c.ahead}
	circuit := &out.Circuit
	*circuit = cooling.Circuit{
		Draught: cooling.Draught{Ram: c.radiator.ram, Fan: c.fan}, StatedFlow: c.coolantFlow, StatedWith: cooling.Coolant{Glycol: c.measuredWith},
		Coolant: cooling.Coolant{Glycol: c.glycol}, Pump: c.pump, Thermostat: c.thermostat, Volume: c.volume, Cap: c.cap,
		Stored: c.aluminium*aluminiumHeat + c.iron*ironHeat,
	}
	if !dec.has("cooling.radiator.glycol") {
		circuit.StatedWith = circuit.Coolant
	}
	if !dec.has("cooling.oil_cooler") { // whose oil has a temperature of its own
		circuit.Stored += d.oilHeatCapacity(dec)
	}
	stated := circuit.StatedWith
	core, ok := c.radiator.build(dec, "cooling.radiator", c.coolantFlow*stated.Density()*stated.SpecificHeat())
	if !ok {
		return
	}
	circuit.Radiator = core
	if !dec.check("cooling", circuit.Validate) {
		return
	}
	if dec.has("cooling.charge_cooler") && dec.has("cooler") && dec.has("compressor") { // without the charge's side, as in a trim, it has no heat
		out.Charge = &cooling.ChargeCooler{
			FaceArea: c.charge.area, Velocity: c.chargeSpeed, AirShare: c.charge.share, AirExponent: c.charge.exponent, AirDensity: c.charge.density,
			Draught: cooling.Draught{Ram: c.charge.ram},
		}
		if out.Ahead > 0 { // the fan draws its air through both
			out.Charge.Draught.Fan = c.fan / c.radiator.area * c.charge.area
		}
		if !dec.check("cooling.charge_cooler", out.Charge.Validate) {
			return
		}
	}
	if dec.has("cooling.oil_cooler") {
		capacity := c.oilFlow * d.densityOfOil(dec) * oilHeat
		core, ok := c.oil.build(dec, "cooling.oil_cooler", capacity)
		if !ok {
			return
		}
		out.Oil = &OilCooling{
			OilCooler:     cooling.OilCooler{Core: core, Capacity: capacity, Draught: cooling.Draught{Ram: c.oil.ram}},
			FrictionShare: c.frictionShare, WallShare: c.wallShare,
		}
	}
	if dec.has("cooling.duty") {
		if out.Duty, ok = d.duty(dec); !ok {
			return
		}
	}
	d.Trim.Cooling = &out
}

// densityOfOil returns the density of the spec's oil, kg/m³.
func (d *draft) densityOfOil(dec *decoder) float64 {
	if dec.ok("oil") {
		return d.oil.density
	}
	return oilDensity
}

// oilHeatCapacity returns that of all the oil, J/K; 0 where the spec does not say how much there is.
func (d *draft) oilHeatCapacity(dec *decoder) float64 {
	if !dec.ok("sump") {
		return 0
	}
	return d.sump.fill * d.densityOfOil(dec) * oilHeat
}

// build makes a core of what the file states of it. capacity is the capacity rate of its liquid, W/K.
func (c *coreDraft) build(dec *decoder, path string, capacity float64) (*cooling.Core, bool) {
	at := path + ".heat_per_kelvin"
	n := dec.given[at]
	if n.form != mapping {
		dec.fail(at, n, "is %s; want it over the velocity of the air, one point at least, such as {6 m/s: %[1]s}", shown(n.text))
		return nil, false
	}
	s := cooling.Statement{FaceArea: c.area, AirDensity: c.density, LiquidCapacity: capacity, AirShare: c.share, AirExponent: c.exponent}
	for _, e := range n.entries {
		v, err := units.Parse(e.key, units.Velocity)
		if err != nil {
			return nil, false // which has its message
		}
		heat, _ := c.heat.At(v)
		if i := len(s.Heats) - 1; i >= 0 && !(heat > s.Heats[i]) {
			dec.fail(at, e.value, "is %s after %s; want more heat in faster air", shown(e.value.text), shown(n.entries[i].value.text))
			return nil, false
		}
		s.Velocities, s.Heats = append(s.Velocities, v), append(s.Heats, heat)
	}
	core, err := cooling.NewCore(s)
	var beyond *cooling.StatedError
	if errors.As(err, &beyond) {
		e := n.entries[beyond.Index]
		why := "what the liquid of the stated flow can give"
		if beyond.Air {
			why = "what the air at that velocity can take up"
		}
		dec.fail(at, e.value, "is %s at %s; want at most %s, %s", shown(e.value.text), shown(e.key),
			inUnitOf(e.value.text, units.ThermalConductance, floorTo(beyond.Most, 3)), why)
		return nil, false
	}
	if err != nil {
		dec.fail(path, dec.given[path], "does not hold together: %s", err)
		return nil, false
	}
	return core, true
}

// usualStart is the coolant's temperature before a stage where nothing says it, K: 85 °C, common practice, no source.
const usualStart = 358.15

// duty puts the tables of the sections together.
func (d *draft) duty(dec *decoder) (*Duty, bool) {
	const path = "cooling.duty"
	c := &d.coolant
	out := &Duty{Start: c.start, Rounds: c.rounds}
	if !dec.has(path + ".start") {
		out.Start = usualStart
		reason := "common practice, no source"
		if dec.has("cooling.thermostat") {
			out.Start, reason = c.thermostat.Opens, "thermostat.opens"
		}
		dec.standIn(path+".start", units.Format(out.Start, units.Temperature, units.Metric), reason)
	}
	var names []string
	for _, t := range c.times {
		names = append(names, t.name)
		out.Sections = append(out.Sections, DutySection{Name: t.name, Time: t.value, Load: 1})
	}
	missing := math.NaN()
	for i := range out.Sections {
		out.Sections[i].EngineSpeed, out.Sections[i].RoadSpeed = missing, missing
	}
	good := true
	lay := func(key string, from []named, take func(s *DutySection, value float64, at *node) bool) {
		n := dec.given[path+"."+key]
		for k, v := range from {
			i := slices.Index(names, v.name)
			if i < 0 {
				dec.fail(path+"."+key, n.entries[k].value, "is that of %s, which time does not name; it has %s", shown(v.name), anyOf(names))
				good = false
				continue
			}
			good = take(&out.Sections[i], v.value, n.entries[k].value) && good
		}
	}
	lay("engine_speed", c.engineSpeeds, func(s *DutySection, v float64, at *node) bool {
		s.EngineSpeed = v
		if v > d.Engine.Limiter {
			dec.fail(path+".engine_speed", at, "is %s, above engine.limiter, %s", shown(at.text), shown(dec.given["engine.limiter"].text))
			return false
		}
		return true
	})
	lay("road_speed", c.roadSpeeds, func(s *DutySection, v float64, _ *node) bool {
		s.RoadSpeed = v
		return true
	})
	lay("load", c.use, func(s *DutySection, v float64, _ *node) bool {
		s.Load = v
		return true
	})
	ratios := d.Driveline.Ratios()
	if at := path + ".gear"; dec.has(at) && (d.Trim.Car == nil || ratios == nil) {
		dec.fail(at, dec.given[at], "wants car and driveline.gears, which tell its road speed")
		return nil, false
	}
	lay("gear", c.gears, func(s *DutySection, v float64, at *node) bool {
		if v != math.Trunc(v) || int(v) > len(ratios) {
			dec.fail(path+".gear", at, "is %s; want a whole number, 1 to %d, as driveline.gears has", shown(at.text), len(ratios))
			return false
		}
		s.Gear = int(v)
		return true
	})
	for i := range out.Sections {
		if good {
			good = d.complete(dec, &out.Sections[i])
		}
	}
	return out, good
}

// complete takes the speed of a section that the file leaves out from its gear, and reports whether all is known then.
func (d *draft) complete(dec *decoder, s *DutySection) bool {
	const path = "cooling.duty"
	engine, road := !math.IsNaN(s.EngineSpeed), !math.IsNaN(s.RoadSpeed)
	fail := func(format string, args ...any) bool {
		dec.fail(path, dec.given[path], format, args...)
		return false
	}
	switch {
	case engine && road && s.Gear > 0:
		return fail("says engine speed, road speed and gear of %s; want two of them", shown(s.Name))
	case engine && road:
	case s.Gear == 0:
		return fail("lacks the speed of %s; want engine_speed and road_speed, or one of them and gear", shown(s.Name))
	case engine:
		s.RoadSpeed = d.Trim.Car.RoadSpeed(s.EngineSpeed, d.Driveline.Ratios()[s.Gear-1])
	case road:
		s.EngineSpeed = d.Trim.Car.EngineSpeed(s.RoadSpeed, d.Driveline.Ratios()[s.Gear-1])
		if least := 100 * math.Pi / 30; !(s.EngineSpeed >= least && s.EngineSpeed <= d.Engine.Limiter) {
			return fail("lets the engine turn at %s in %s; want %s to engine.limiter, %s", units.Format(s.EngineSpeed, units.Speed, units.Metric), shown(s.Name),
				units.Format(least, units.Speed, units.Metric), shown(dec.given["engine.limiter"].text))
		}
	default:
		return fail("lacks the speed of %s; want engine_speed or road_speed beside the gear", shown(s.Name))
	}
	return true
}
