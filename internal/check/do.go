package check

import (
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/run"
	"bellmouth/internal/units"
)

// advise says of each finding that failed, and of each note that asks for something, what to do about it.
func (v *Review) advise(fs []Finding) {
	all := map[string]Check{}
	for _, c := range Checks() {
		for _, one := range c.Each() {
			all[one.ID] = one
		}
	}
	for i := range fs {
		f := &fs[i]
		if c := all[f.ID]; c.do != nil && (f.Verdict == Fail || f.Verdict == Note) {
			f.Do = c.do(v, f)
			if text, ok := strings.CutSuffix(f.Do, "."); ok && f.From < f.To {
				f.Do = fmt.Sprintf("%s, past it from %s.", text, Span(f.From, f.To))
			}
		}
	}
}

// less tells the tuner to ask for less at the finding's speed, or, where the wastegate opens no further, how there is less.
func (v *Review) less(f *Finding) string {
	switch {
	case !v.Fine.Forced():
		return "Close the throttle further at " + rpm(f.Speed)
	case v.leastAt(f.Speed):
		return "Fit a larger wastegate or turbine for less boost at " + rpm(f.Speed)
	}
	return LowerTarget + " at " + rpm(f.Speed)
}

// LowerTarget begins what to do where the boost target is too high.
const LowerTarget = "Lower the target"

// leastAt reports whether no lower target would lower the boost at a speed.
func (v *Review) leastAt(speed float64) bool {
	const wideOpen = airpath.NoteKnockUnmet | airpath.NotePeakPressureUnmet | airpath.NoteSpeedUnmet | airpath.NoteInjectorUnmet | airpath.NoteTorqueUnmet
	_, _, ok := run.Where(v.Fine.Outcomes, func(o *boost.Outcome) bool {
		p := &o.Point
		return o.Speed == speed && (p.Limit == airpath.Creep || p.Limit == airpath.Spring || p.Notes&wideOpen != 0)
	})
	return ok
}

func doUnsolved(v *Review, f *Finding) string {
	if v.Fine.Forced() {
		return "Lower the target at " + rpm(f.Speed) + ", or change the part that the reason names: the point has no solution."
	}
	return "Change the part that the reason names: " + rpm(f.Speed) + " has no solution."
}

func doAbove(v *Review, f *Finding) string {
	reaches := fmt.Sprintf(": the boost is %s at %s, and the target %s.", shown(f.Value, f.Kind), rpm(f.Speed), shown(f.Limit, f.Kind))
	switch {
	case f.ID == abovePrefix+slug(airpath.Spring):
		return "Take preload off the wastegate's spring, lengthen the stroke, or raise the target to the boost that it holds" + reaches
	case v.Fine.Trim.Wastegate == nil:
		return "Fit a wastegate or a larger turbine, or raise the target to the boost there is" + reaches
	}
	return "Fit a larger wastegate or a larger turbine, or raise the target to the boost there is" + reaches
}

func doPasses(_ *Review, f *Finding) string {
	why := strings.ReplaceAll(strings.TrimPrefix(f.ID, passesPrefix), "-", " ") + " forbids more"
	if f.ID == passesPrefix+slug(airpath.Creep) || f.ID == passesPrefix+slug(airpath.Spring) {
		why = "the wastegate opens no further there, and another limit is passed"
	}
	return fmt.Sprintf("Lower the target from %s to %s at %s: %s.", shown(f.Limit, f.Kind), lowBoost(f.Value), rpm(f.Speed), why)
}

func doNotReached(_ *Review, f *Finding) string {
	if f.ID != notReachedPrefix+slug(airpath.Actuator) {
		return "" // nothing is harmed: what harm the restrictor's does has a check of its own
	}
	return fmt.Sprintf("Preload the wastegate's spring more, or lower the target from %s to %s at %s: the actuator lets the valve open.",
		shown(f.Limit, f.Kind), lowBoost(f.Value), rpm(f.Speed))
}

func doShaft(v *Review, f *Finding) string {
	return fmt.Sprintf("%s: the shaft reaches %s.", v.less(f), ofLimit(f))
}

func doShut(v *Review, f *Finding) string {
	var first, last *boost.Outcome
	for i := range v.Fine.Outcomes {
		o := &v.Fine.Outcomes[i]
		if o.Err != nil {
			continue
		}
		if _, applies := closedSpeed(o); applies {
			if last = o; first == nil {
				first = o
			}
		}
	}
	reached := func(o *boost.Outcome) string {
		return lowBoost(o.Boost(v.Fine.Trim.Venue.Pressure)) + " at " + rpm(o.Speed)
	}
	to := reached(first)
	if last != first {
		to += " and " + reached(last)
	}
	return fmt.Sprintf("Lower the target to the boost that is reached, %s: the restrictor chokes, the wastegate closes and the shaft reaches %s at %s.",
		to, ofLimit(f), rpm(f.Speed))
}

func doSurge(v *Review, f *Finding) string {
	return fmt.Sprintf("%s, or fit a smaller compressor: its surge margin is %s of %s.", v.less(f), shown(f.Value, f.Kind), shown(f.Limit, f.Kind))
}

func doChoke(v *Review, f *Finding) string {
	return fmt.Sprintf("%s, or fit a larger compressor: it runs %s past the choke end of its map.", v.less(f), shown(-f.Value, f.Kind))
}

func doDuty(_ *Review, f *Finding) string {
	return fmt.Sprintf("Fit larger injectors or raise the rail pressure: their duty reaches %s of %s at %s.", shown(f.Value, f.Kind), shown(f.Limit,
		f.Kind), rpm(f.Speed))
}

func doPressure(v *Review, f *Finding) string {
	return fmt.Sprintf("%s, or let the burn come later: the cylinder reaches %s.", v.less(f), ofLimit(f))
}

func doKnock(v *Review, f *Finding) string {
	if f.Verdict == Note {
		return fmt.Sprintf("Lower engine.combustion.knock_limit from %s to 1 or less: the mean cycle may knock.", shown(f.Limit, f.Kind))
	}
	return fmt.Sprintf("%s, cool the charge or use more octane: the knock integral is %s of %s.", v.less(f), shown(f.Value, f.Kind), shown(f.Limit, f.Kind))
}

func doLate(v *Review, f *Finding) string {
	if f.Verdict == Note {
		return ""
	}
	return fmt.Sprintf("%s, cool the charge or use more octane: CA50 is %s, and %s is the latest accepted.",
		v.less(f), shown(f.Value, f.Kind), shown(f.Limit, f.Kind))
}

func doExhaust(v *Review, f *Finding) string {
	return fmt.Sprintf("%s, or enrich the mixture: EGT reaches %s.", v.less(f), ofLimit(f))
}

func doTorque(v *Review, f *Finding) string {
	return fmt.Sprintf("%s: the engine gives %s.", v.less(f), ofLimit(f))
}

func doPiston(v *Review, f *Finding) string {
	const step = 10 * math.Pi / 30 // what a limiter is set to
	return fmt.Sprintf("Lower engine.limiter from %s to %s: the pistons reach %s.", rpm(f.Speed), rpm(math.Floor(f.Speed*f.Limit/f.Value/step)*step), ofLimit(f))
}

// doUnmet returns what says what to do about a limit that nothing is left to keep.
func doUnmet(mends string) func(v *Review, f *Finding) string {
	return func(_ *Review, f *Finding) string {
		return capital(mends) + ", at " + f.Remark + ": nothing else is left that keeps the limit."
	}
}

func doActuator(v *Review, f *Finding) string {
	g, _, err := v.gate()
	if err != nil || g == nil {
		return ""
	}
	for i := range g.Points {
		o := &g.Points[i]
		if o.Err != nil || o.HoldErr != nil || o.Speed != f.Speed {
			continue
		}
		at := " at " + rpm(f.Speed)
		switch {
		case f.ID == "actuator-lift" && o.Short() == run.ValveArea:
			return "Fit a larger wastegate: wide open it passes too little" + at + "."
		case f.ID == "actuator-lift":
			return fmt.Sprintf("Fit an actuator with a longer stroke: %s of lift are missing%s.", shown(-f.Value, f.Kind), at)
		case o.Holding.ClosingMargin < o.Holding.OpeningMargin || o.Point.WastegateLift == 0:
			return fmt.Sprintf("Preload the wastegate's spring more: %s are missing to hold the valve%s.", shown(-f.Value, f.Kind), at)
		}
		return fmt.Sprintf("Preload the wastegate's spring less, or bring more pressure to its opening port: %s are missing to open the valve%s.",
			shown(-f.Value, f.Kind), at)
	}
	return ""
}

func doControl(_ *Review, f *Finding) string {
	return fmt.Sprintf("Change the preload of the wastegate's spring: %s of duty are left to regulate with at %s, and %s are needed.",
		shown(f.Value, f.Kind), rpm(f.Speed), shown(f.Limit, f.Kind))
}

func doPump(_ *Review, f *Finding) string {
	if math.IsNaN(f.Value) {
		return "Fit a wider line or pumps for more pressure, or give their curve further: at " + rpm(f.Speed) + " they need more pressure than it is given for."
	}
	if f.Value <= -1 {
		return "Fit pumps for more pressure, or a line or filter that takes less: they give nothing at " + rpm(f.Speed) + "."
	}
	return fmt.Sprintf("Fit pumps or a line that give %s more at %s: their margin is %s, and %.0f %% are needed.",
		moreFlow(f), rpm(f.Speed), shown(f.Value, f.Kind), 100*LeastPumpMargin)
}

func doLiftPump(_ *Review, f *Finding) string {
	if math.IsNaN(f.Value) {
		return "Fit a lift pump for more pressure, or give its curve further: it needs more pressure than the curve is given for."
	}
	if f.Value <= -1 {
		return "Fit a lift pump for more pressure: it gives nothing against the pressure it works against."
	}
	return fmt.Sprintf("Fit a lift pump that gives %s more at %s: its margin is %s, and %.0f %% are needed.",
		moreFlow(f), rpm(f.Speed), shown(f.Value, f.Kind), 100*LeastPumpMargin)
}

// moreFlow returns by how much pumps of a margin above -1 have to give more for the least margin, in whole per cent.
func moreFlow(f *Finding) string {
	return fmt.Sprintf("%.0f %%", math.Ceil(100*((1+LeastPumpMargin)/(1+f.Value)-1)))
}

func doWeakBattery(v *Review, f *Finding) string {
	at := " at " + rpm(f.Speed) + " with a weak battery"
	switch {
	case math.IsNaN(f.Value):
		return "Fit pumps that hold the rail pressure, or a charging system that holds the voltage: no pressure is left" + at + "."
	case f.Verdict == Note && f.Value <= v.Fine.AllowedDuty():
		return "Give the pump's curve down to that voltage: whether the rail pressure holds" + at + " is not known."
	}
	return fmt.Sprintf("Fit larger injectors, or a charging system that holds the voltage: their duty reaches %s%s.", shown(f.Value, f.Kind), at)
}

func doPulse(_ *Review, f *Finding) string {
	return fmt.Sprintf("Fit smaller primary injectors: at %s light load needs %s, and %s is their shortest pulse.", rpm(f.Speed), shown(f.Value, f.Kind),
		shown(f.Limit, f.Kind))
}

func doTank(_ *Review, f *Finding) string {
	if math.IsNaN(f.Value) {
		return fmt.Sprintf("Look over course, gears and surfaces: %s.", f.Remark)
	}
	return fmt.Sprintf("Fit a tank that holds %s more: the stage or lap takes %s, and %s can be used.", shown(f.Limit-f.Value, f.Kind), shown(f.Limit,
		f.Kind), shown(f.Value, f.Kind))
}

func doDwell(_ *Review, f *Finding) string {
	return fmt.Sprintf("Fit a coil that charges faster, or one for each cylinder: its full dwell fits up to %s of %s.", rpm(f.Value), rpm(f.Limit))
}

func doVoltage(_ *Review, f *Finding) string {
	switch {
	case math.IsNaN(f.Value):
		return "Give ignition.gap and the coil figures that tell the voltage at " + rpm(f.Speed) + ": the margin is not known at any speed."
	case f.Value < 0:
		return fmt.Sprintf("Close the plug's gap or fit a stronger coil: at %s the gap needs %s more voltage than the coil has.", rpm(f.Speed),
			shown(-f.Value, f.Kind))
	}
	return fmt.Sprintf("Close the plug's gap or fit a stronger coil: at %s %s of its voltage are left, and %s are needed.", rpm(f.Speed), shown(f.Value,
		f.Kind), shown(f.Limit, f.Kind))
}

// mostOctane is about the octane number of the fuels that knock least: common practice, no source.
const mostOctane = 120

func doOctane(v *Review, f *Finding) string {
	do := "Lower the compression"
	if v.Fine.Forced() {
		do = v.less(f)
	}
	wanted := math.Ceil(f.Limit)
	if wanted > mostOctane {
		return fmt.Sprintf("%s, or cool the charge: at the latest CA50 accepted it needs an octane number of %.0f, which no fuel has.", do, wanted)
	}
	return fmt.Sprintf("%s, or use fuel of octane number %.0f: it knocks with %.1f at the latest CA50 accepted.", do, wanted, f.Value)
}

func doShares(_ *Review, _ *Finding) string {
	return "Give manifold.spread.lambda or manifold.spread.flow: the exhaust temperatures do not tell the cylinders' air."
}

func doLeanest(_ *Review, f *Finding) string {
	return fmt.Sprintf("Give cylinder %d %.1f %% more fuel at %s: its lambda is %s of %s.",
		f.Cylinder, math.Ceil(1000*(f.Value/f.Limit-1))/10, rpm(f.Speed), shown(f.Value, f.Kind), shown(f.Limit, f.Kind))
}

func doWorstKnock(v *Review, f *Finding) string {
	is := fmt.Sprintf("its knock integral is %s of %s.", shown(f.Value, f.Kind), shown(f.Limit, f.Kind))
	switch {
	case f.held > 0:
		is = fmt.Sprintf("its knock integral is %s of %s, with the margin %s.", shown(f.Value, f.Kind), shown(f.Limit, f.Kind), shown(f.held, f.Kind))
		fallthrough
	case f.later > 0:
		return fmt.Sprintf("Retard cylinder %d by %s at %s, or all of them: %s", f.Cylinder, lateAngle(f.later), rpm(f.Speed), is)
	}
	return fmt.Sprintf("%s, or give cylinder %d more fuel or less air, as no CA50 accepted is late enough for it: %s", v.less(f), f.Cylinder, is)
}

func doFullest(_ *Review, f *Finding) string {
	return fmt.Sprintf("Retard cylinder %d at %s, or lower the load: it reaches %s.", f.Cylinder, rpm(f.Speed), ofLimit(f))
}

func doMixture(_ *Review, f *Finding) string {
	return fmt.Sprintf("Give cylinder %d its own fuel, or even out its air: its lambda is %s at %s.", f.Cylinder, shown(f.Value, f.Kind), rpm(f.Speed))
}

// rpm names a speed of the engine.
func rpm(speed float64) string { return run.Speed(speed) }

// ofLimit names a finding's value and limit: "178300 of 148000 rpm".
func ofLimit(f *Finding) string {
	digits := units.DefaultDigits
	switch f.Kind {
	case units.Speed: // of a shaft, which is not known to single rpm
		digits = units.Hundreds
	case units.Pressure, units.Temperature:
		digits = 0
	}
	figure := func(x float64, name units.Naming) string {
		return units.Figure{Value: x, Kind: f.Kind, Digits: digits, Name: name}.Mark()
	}
	return figure(f.Value, units.Bare) + " of " + figure(f.Limit, units.Short)
}

// What a tuner is told to set errs low in boost and late in spark: it is rounded to that side, not to the nearest, in whatever unit it is read.

// lowBoost names a boost, Pa above the venue, rounded down to what is printed.
func lowBoost(x float64) string {
	return units.Figure{Value: x, Kind: units.GaugePressure, Digits: units.DefaultDigits, Side: units.Down}.Mark()
}

// lateAngle names an angle by which a burn is to come later, rad, rounded up to what is printed.
func lateAngle(x float64) string {
	return units.Figure{Value: x, Kind: units.Angle, Digits: units.DefaultDigits, Side: units.Up}.Mark()
}

// shown names a figure with its unit.
func shown(x float64, kind units.Kind) string {
	if kind == units.Number {
		return units.Decimal(x, 2)
	}
	return units.Mark(x, kind)
}

// capital returns a sentence's beginning with a capital letter.
func capital(text string) string { return string(text[0]-'a'+'A') + text[1:] }

func doPickup(v *Review, f *Finding) string {
	s := v.Grid.Sump(0)
	fill := s.LowestFill()
	way, _, _ := strings.Cut(f.Remark, ";")
	is := fmt.Sprintf("it uncovers at %s %s", ofLimit(f), way)
	hold := "hold it at the pickup with a gate"
	if gate := s.Shape.Shape().Gate; gate != nil && gate.Covered {
		hold = "enlarge the pickup's gate"
	} else if gate != nil {
		hold = "cover the pickup's gate"
	}
	if fill.Volume <= s.Capacity {
		enough := units.Figure{Value: fill.Volume, Kind: units.TankVolume, Digits: units.DefaultDigits, Side: units.Up}
		return fmt.Sprintf("Fill %s of oil, or %s: %s.", enough.Mark(), hold, is)
	}
	if !s.Dry {
		hold += ", or fit a dry sump"
	}
	return fmt.Sprintf("Move the pickup, %s: %s, and no fill that is held covers it.", hold, is)
}

func doScavenge(_ *Review, f *Finding) string {
	return fmt.Sprintf("Fit scavenge pumps that move %.0f %% more: at %s they bring %s of oil.", math.Ceil(100*(f.Limit/f.Value-1)), rpm(f.Speed), ofLimit(f))
}

func doOilFlow(_ *Review, f *Finding) string {
	return fmt.Sprintf("Fit a larger oil pump: at %s it gives %s, and the turning bearings take %s.", rpm(f.Speed), shown(f.Value, f.Kind), shown(f.Limit, f.Kind))
}

func doOilPressure(v *Review, f *Finding) string {
	is := fmt.Sprintf("at %s the pressure is %s.", rpm(f.Speed), ofLimit(f))
	if f.Value >= v.Grid.Trim.Oil.Circuit.Relief {
		return "Set the oil's relief valve higher: " + is
	}
	return "Fit a larger oil pump, smaller jets or thicker oil: " + is
}

func doCorner(_ *Review, f *Finding) string {
	return fmt.Sprintf("Give the pickup's gate more oil, or the oil a wider way back: the supply lasts %s of %s.", shown(f.Value, f.Kind), shown(f.Limit, f.Kind))
}

func doBoils(_ *Review, f *Finding) string {
	where := placed(f.Remark)
	if math.IsNaN(f.Value) {
		return "Give the radiator a fan or air: the coolant boils" + where + "."
	}
	return fmt.Sprintf("Fit a larger radiator, bring more air through it, or fit a cap for more pressure: the coolant is %s from boiling%s.",
		shown(f.Value, f.Kind), where)
}

// placed puts the last part of a remark behind a sentence: " in woods", ", steady at 80 km/h".
func placed(remark string) string {
	if i := strings.LastIndex(remark, "; "); i >= 0 {
		remark = remark[i+2:]
	}
	if strings.HasPrefix(remark, "in ") {
		return " " + remark
	}
	return ", " + remark
}

func doCoolant(_ *Review, f *Finding) string {
	return fmt.Sprintf("Fit a larger radiator, or bring more air through it: the coolant reaches %s%s.", ofLimit(f), placed(f.Remark))
}

func doLasts(_ *Review, f *Finding) string {
	name, _, _ := strings.Cut(f.Remark, ";")
	return fmt.Sprintf("Come to %s with colder coolant, or fit a larger radiator: the cooling lasts %s of %s there.", name, shown(f.Value, f.Kind),
		shown(f.Limit, f.Kind))
}

func doOilTemperature(_ *Review, f *Finding) string {
	where := placed(f.Remark)
	if math.IsNaN(f.Value) {
		return "Give the oil cooler air: none goes through it" + where + "."
	}
	return fmt.Sprintf("Fit a larger oil cooler, or bring more air through it: the oil reaches %s%s.", ofLimit(f), where)
}
