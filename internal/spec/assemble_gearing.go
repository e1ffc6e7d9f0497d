package spec

import (
	"regexp"
	"slices"
	"strconv"

	"bellmouth/internal/gearing"
	"bellmouth/internal/units"
)

// assembleCar checks the driveline and builds the car.
func (d *draft) assembleCar(dec *decoder) {
	d.assembleDriveline(dec)
	d.assembleSurfaces(dec)
	if !dec.ok("car") || !d.tyreFits(dec) {
		return
	}
	if dec.check("car", d.car.Validate) {
		d.Trim.Car = &d.car
	}
}

func (d *draft) assembleDriveline(dec *decoder) {
	const launch = "driveline.launch_speed"
	if n := dec.given[launch]; n != nil && dec.ok(launch) && dec.ok("engine.limiter") && d.Driveline.LaunchSpeed > d.Engine.Limiter {
		dec.fail(launch, n, "is %s, above engine.limiter, %s", shown(n.text), shown(dec.given["engine.limiter"].text))
	}
	gears := dec.given["driveline.gears"]
	if gears != nil && dec.ok("driveline.gears") {
		if !dec.has("driveline.final") {
			dec.fail("driveline.gears", gears, "wants final beside it, the ratio of the final drive")
		}
		for i, e := range gears.entries {
			if ratios := d.Driveline.Gears; i > 0 && !(ratios[i] < ratios[i-1]) {
				dec.fail("driveline.gears", e.value, "is %s after %s; want the ratios to fall from gear to gear",
					shown(e.value.text), shown(gears.entries[i-1].value.text))
				break
			}
		}
	}
	const path = "driveline.efficiency"
	if gears == nil {
		return
	}
	if given := dec.given[path]; given != nil && given.form == mapping && dec.ok(path) && dec.ok("driveline.gears") && len(given.entries) != len(gears.entries) {
		dec.fail(path, given, "has a value for each of %d; driveline.gears has %d", len(given.entries), len(gears.entries))
	}
	all, _ := units.Parse(efficiency, units.Fraction)
	if !dec.has(path) {
		dec.standIn(path, efficiency, efficiencyReason)
	}
	d.Driveline.Efficiency = make([]float64, len(d.Driveline.Gears))
	for i := range d.Driveline.Efficiency {
		d.Driveline.Efficiency[i] = all
		if !d.efficiency.IsZero() {
			d.Driveline.Efficiency[i], _ = d.efficiency.At(float64(i + 1))
		}
	}
	kept, keptReason := keptNatural, keptNaturalReason
	if dec.has("compressor") {
		kept, keptReason = keptForced, keptForcedReason
	}
	// Computed is what the spec gives the rotor for, unless it says itself what is kept.
	d.Driveline.ShiftComputed = dec.has("compressor") && dec.ok("turbine.rotor_inertia") && !dec.has("driveline.shift.torque_kept") && !dec.has("driveline.shift.recovery")
	shift := &d.Driveline.Shift
	for _, missing := range []struct {
		key          string
		into         *float64
		kind         units.Kind
		text, reason string
	}{
		{"time", &shift.Time, units.Time, shiftTime, shiftTimeReason},
		{"torque_kept", &shift.Kept, units.Fraction, kept, keptReason},
		{"recovery", &shift.Recovery, units.Time, recovery, recoveryReason},
	} {
		path := "driveline.shift." + missing.key
		if dec.has(path) {
			continue
		}
		*missing.into, _ = units.Parse(missing.text, missing.kind)
		if missing.key == "time" || !d.Driveline.ShiftComputed {
			dec.standIn(path, missing.text, missing.reason)
		}
	}
	if !dec.has("driveline.shift.down_time") {
		d.Driveline.DownTime = shift.Time
	}
}

// tyreSize is a radial tyre's size: 225/40R18, with or without spaces, the speed rating's letter between or not.
var tyreSize = regexp.MustCompile(`^(\d{2,3})/(\d{2,3}) ?Z?R ?(\d{2}(?:\.5)?)$`)

// What tyres there are: a section of mm, a height of its per cent, a rim of inches.
const (
	narrowest, widest    = 100, 500
	flattest, tallest    = 20, 100
	smallest, largestRim = 8, 26
)

// tyreFits takes the rolling radius from the size of the tyres, where the file gives that.
func (d *draft) tyreFits(dec *decoder) bool {
	const path = "car.tyre"
	n := dec.given[path]
	if n == nil {
		return true
	}
	parts := tyreSize.FindStringSubmatch(d.tyre)
	var figures [3]float64
	good := parts != nil
	for i := range figures {
		if good {
			figures[i], _ = strconv.ParseFloat(parts[i+1], 64)
		}
	}
	width, aspect, rim := figures[0], figures[1], figures[2]
	within := func(x, lo, hi float64) bool { return x >= lo && x <= hi }
	if !good || !within(width, narrowest, widest) || !within(aspect, flattest, tallest) || !within(rim, smallest, largestRim) {
		dec.fail(path, n, "is %s; want width in mm, %d to %d, height in %%, %d to %d, and rim in inches, %d to %d, such as 225/40R18",
			shown(n.text), narrowest, widest, flattest, tallest, smallest, largestRim)
		return false
	}
	const inch = 0.0254
	d.car.RollingRadius = gearing.Tyre{Width: width / 1000, Aspect: aspect / 100, Rim: rim * inch}.RollingRadius()
	return true
}

// assembleSurfaces puts grip and rolling resistance of the surfaces together.
func (d *draft) assembleSurfaces(dec *decoder) {
	if !dec.ok("surfaces") {
		return
	}
	for _, g := range d.grips {
		s := Surface{Name: g.name, Grip: g.value, Rolling: d.car.RollingResistance}
		if i := slices.IndexFunc(d.rollings, func(r named) bool { return r.name == g.name }); i >= 0 {
			s.Rolling = d.rollings[i].value
		}
		d.Trim.Surfaces = append(d.Trim.Surfaces, s)
	}
	const path = "surfaces.rolling_resistance"
	for i, r := range d.rollings {
		if _, ok := d.Trim.Surfaces.Named(r.name); !ok {
			e := dec.given[path].entries[i]
			dec.fail(path, e.value, "is that of %s, which surfaces.grip does not name; it has %s", shown(r.name), anyOf(d.Trim.Surfaces.Names()))
		}
	}
}
