package check

import (
	"fmt"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/run"
	"bellmouth/internal/units"
)

// A Check is one kind of finding.
type Check struct {
	ID      string   // as a finding has it; LIMIT stands for the name of a limit in it, N for the number of a cylinder
	What    string   // in words, as a finding has them
	Judges  string   // what it looks at
	Against string   // the key of the spec, or the part, that it is held against
	Mends   string   // what to do about it
	Stands  []string // what may stand for LIMIT or N, in words; nil where the ID has neither

	always bool // a run that has the parts and the limit has its finding, whatever it comes to
	forced bool // only an engine with a compressor has it

	do func(v *Review, f *Finding) string // see Finding.Do
}

// What stands for one of several in an ID.
const (
	anyLimit    = "LIMIT"
	anyCylinder = "N"
)

// What the ids begin with that a limit's name ends.
const (
	abovePrefix      = "boost-above-"
	passesPrefix     = "boost-passes-"
	notReachedPrefix = "boost-not-reached-"
)

// mostCylinders is how many cylinders a spec may give.
const mostCylinders = 24

// noSolutionID is the id of a point that has no solution.
const noSolutionID = "no-solution"

// Checks returns every kind of finding there is, in the order in which an engine is looked over.
func Checks() []Check {
	var limits, passed, kept []string
	for _, l := range airpath.AllLimits() {
		limits = append(limits, l.String())
		if passive(l) {
			kept = append(kept, l.String())
		} else {
			passed = append(passed, l.String())
		}
	}
	cylinders := make([]string, mostCylinders)
	for i := range cylinders {
		cylinders[i] = fmt.Sprint(i + 1)
	}
	const lessBoost = "lower boost.target there: boost --allowed --as-target prints one that keeps every limit"
	all := []Check{
		{ID: noSolutionID, What: NoSolution, Judges: "whether an operating point was found at a speed", Against: "the whole air path",
			Mends: "ask for less boost, or change the part that the reason names", do: doUnsolved},
		{ID: "boost-reached", What: "boost target is reached", Judges: "the boost at every speed", Against: "boost.target", Mends: "nothing: it is reached",
			forced: true},
		{ID: abovePrefix + anyLimit, What: "boost above the target: " + anyLimit, Judges: "the boost that the wide-open wastegate, or its spring, leaves",
			Against: "boost.target", Mends: "a larger wastegate or turbine; of the spring, less preload, a longer stroke or a higher target", Stands: limits,
			forced: true, do: doAbove},
		{ID: passesPrefix + anyLimit, What: "boost target passes a limit: " + anyLimit, Judges: "the target where a limit is what ends the boost",
			Against: "boost.target and the limit", Mends: lessBoost, Stands: passed, forced: true, do: doPasses},
		{ID: notReachedPrefix + anyLimit, What: "boost target not reached: " + anyLimit, Judges: "the boost where the engine cannot reach the target",
			Against: "boost.target", Mends: "nothing is harmed; a smaller turbine spools earlier, a stiffer spring keeps the wastegate closed", Stands: kept,
			forced: true, do: doNotReached},
		{ID: "shaft-speed", What: "turbocharger shaft speed", Judges: "the shaft's speed at every point",
			Against: "compressor.speed_limit, or the top line of the map",
			Mends:   lessBoost, always: true, forced: true, do: doShaft},
		{ID: closedShaft, What: "shaft speed with the wastegate closed", Judges: "the shaft's speed where the restrictor keeps the boost from its target",
			Against: "compressor.speed_limit, or the top line of the map", Mends: "lower boost.target to the boost that is reached", forced: true, do: doShut},
		{ID: "surge-margin", What: "surge margin", Judges: "how far the flow is above that of the surge line", Against: "limits.surge_margin",
			Mends: "less boost at that speed, or a smaller compressor", always: true, forced: true, do: doSurge},
		{ID: "choke-margin", What: "choke margin", Judges: "how far the flow is below the choke end of the map", Against: "the compressor's map",
			Mends: "less boost at that speed, or a larger compressor", always: true, forced: true, do: doChoke},
		{ID: "injector-duty", What: "injector duty", Judges: "the duty of the set that works harder", Against: "limits.injector_duty",
			Mends: "larger injectors or more rail pressure", always: true, do: doDuty},
		{ID: "cylinder-pressure", What: "cylinder pressure", Judges: "the peak pressure of the mean cycle", Against: "limits.peak_cylinder_pressure",
			Mends: "a later burn or less boost", always: true, do: doPressure},
		{ID: knocks, What: "knock integral", Judges: "the knock integral of the mean cycle", Against: "engine.combustion.knock_limit",
			Mends: "a later burn, a colder charge, more octane or less boost", always: true, do: doKnock},
		{ID: phased, What: "CA50", Judges: "how late half the charge has burned", Against: "engine.combustion.latest_ca50",
			Mends: "a colder charge, more octane or less boost", always: true, do: doLate},
		{ID: "turbine-inlet-temperature", What: "EGT", Judges: "the exhaust's temperature in steady full load",
			Against: "limits.turbine_inlet_temperature, or turbine.inlet_temperature_limit", Mends: "a richer mixture or less boost", always: true, do: doExhaust},
		{ID: "gearbox-torque", What: "gearbox torque", Judges: "the engine's torque", Against: "driveline.gearbox_torque_limit",
			Mends:  "less boost, or a stronger gearbox",
			always: true, do: doTorque},
		{ID: "mean-piston-speed", What: "mean piston speed at the limiter", Judges: "the mean piston speed at the highest engine speed",
			Against: "limits.mean_piston_speed",
			Mends:   "a lower engine.limiter", always: true, do: doPiston},
	}
	all = append(append(all, bottomChecks()...), clearanceChecks()...)
	for _, u := range unmet {
		all = append(all, Check{ID: u.id, What: u.note.Texts()[0], Judges: "points where nothing is left that would keep the limit", Against: u.against,
			Mends: u.mends, do: doUnmet(u.mends)})
	}
	return append(all,
		Check{ID: "actuator-force", What: "wastegate actuator force to spare", Judges: "the force that spring and ports leave over what the valve takes",
			Against: "wastegate.actuator",
			Mends:   "another spring or another port pressure", always: true, forced: true, do: doActuator},
		Check{ID: "actuator-lift", What: "wastegate lift to spare", Judges: "the stroke left at the lift that is needed", Against: "wastegate.actuator",
			Mends: "a longer stroke or a larger wastegate", always: true, forced: true, do: doActuator},
		Check{ID: "boost-control-duty", What: "boost control duty left", Judges: "how far the valve's duty is from 0 and 100 %",
			Against: fmt.Sprintf("%.0f %%, common practice, no source", LittleDuty*100), Mends: "another preload of the spring", forced: true, do: doControl},
		Check{ID: "fuel-pump-margin", What: "fuel pump margin", Judges: "what the pumps give over what the engine takes", Against: "supply.pump and supply.line",
			Mends: "larger pumps, a wider line or less rail pressure", always: true, do: doPump},
		Check{ID: "lift-pump-margin", What: "lift pump margin", Judges: "what the lift pumps give over what the engine takes", Against: "supply.lift",
			Mends: "a larger lift pump", do: doLiftPump},
		Check{ID: "injector-duty-weak-battery", What: "injector duty with the battery at " + units.Mark(run.SagTo, units.Voltage),
			Judges: "the injectors' duty with the dead time, and the pumps, of a weak battery", Against: "the whole cycle",
			Mends:  "larger injectors, or a charging system that holds",
			always: true, do: doWeakBattery},
		Check{ID: "light-load-pulse", What: "primary pulse at light load",
			Judges:  "the pulse needed at " + units.Mark(LightLoad, units.Pressure) + " in the manifold",
			Against: "injection.primary.shortest_pulse", Mends: "smaller primary injectors, with a second set for full load", always: true, do: doPulse},
		Check{ID: "tank-holds-stage", What: "fuel in the tank for one stage or lap", Judges: "the fuel that a stage or lap takes",
			Against: "supply.tank, by the course or supply.use", Mends: "a larger tank",
			always: true, do: doTank},
		Check{ID: wiringSettles, What: "wiring settles", Judges: "whether there are voltages at which currents and drops agree", Against: "wiring",
			Mends: "a shorter or thicker wire, or fewer loads", do: doWiring},
		Check{ID: channelCurrent, What: "current of the channel", Judges: "the current that each managed output carries continuously",
			Against: "wiring.channels.NAME.limit",
			Mends:   "fewer loads on the channel", do: doChannel},
		Check{ID: channelInrush, What: "inrush of the channel", Judges: "the current of each managed output with all its loads of a mode switched on at once",
			Against: "wiring.channels.NAME.peak_limit", Mends: "loads switched on one after the other, or fewer of them on the channel", do: doInrush},
		Check{ID: fuseLoad, What: "load of the fuse", Judges: "the current that each fuse carries continuously, over its rating", Against: "wiring.fuse_load",
			Mends: "a larger fuse, if the wire bears it, or fewer loads on it", do: doFuse},
		Check{ID: fuseRating, What: "fuse protects the wire", Judges: "the rating of each fuse",
			Against: "what its wire carries continuously, by wiring.insulation and wiring.bundle_factor", Mends: "a smaller fuse or a thicker wire", do: doFuseRating},
		Check{ID: wireCurrent, What: "current of the wire", Judges: "the current that heats each wire",
			Against: "what a wire of its area bears for as long as the mode lasts, by wiring.insulation and wiring.bundle_factor",
			Mends:   "a thicker wire", do: doWire},
		Check{ID: wireDrop, What: "voltage lost in wires", Judges: "the voltage lost between source and load, over the source's", Against: "wiring.largest_drop",
			Mends: "a thicker or shorter wire", do: doDrop},
		Check{ID: batteryBalance, What: "battery lasts for the mode", Judges: "how long a full battery feeds what the alternator does not",
			Against: "wiring.modes.NAME.time", Mends: "fewer loads, a larger alternator or battery", do: doBattery},
		Check{ID: arrivesLess, What: "voltage that arrives at full load", Judges: "the voltage that arrives at injectors, coils and pumps",
			Against: "the voltage that the spec states for them", Mends: "a thicker wire, or the voltage that arrives in the spec", do: doArrives},
		Check{ID: "coil-dwell", What: "coil has its full dwell up to", Judges: "whether the whole dwell fits between two sparks",
			Against: "engine.limiter and ignition.coil",
			Mends:   "a coil that charges faster, or one for each cylinder", always: true, do: doDwell},
		Check{ID: "ignition-voltage-margin", What: "ignition voltage margin", Judges: "the coil's voltage over what the plug's gap wants", Against: VoltageKeptText(),
			Mends: "a narrower ignition.gap or a stronger coil", always: true, do: doVoltage},
		Check{ID: OctaneNumber, What: "octane number for full load", Judges: "the octane number at which the knock limit would be met at the latest burn",
			Against: "the fuel's",
			Mends:   "more octane, a colder charge, less boost or less compression", do: doOctane},
		Check{ID: "cylinder-shares", What: "share of the air of each cylinder", Judges: "whether the exhaust temperatures tell it",
			Against: "manifold.spread.exhaust_temperature",
			Mends:   "state manifold.spread.lambda or manifold.spread.flow instead", do: doShares},
		Check{ID: leanestCylinder, What: "leanest cylinder, one fuel for all", Judges: "the lambda of the cylinder with most air",
			Against: "manifold.spread.leanest, or fuel.lambda",
			Mends:   "more fuel for that cylinder, or runners that share the air evenly", always: true, do: doLeanest},
		Check{ID: WorstCylinderKnock, What: "knock integral of the worst cylinder",
			Judges: "the knock integral of every cylinder with the spark of the mean", Against: "engine.combustion.knock_limit",
			Mends: "a later spark for that cylinder, or for all", always: true, do: doWorstKnock},
		Check{ID: FullestCylinderPressure, What: "pressure in the fullest cylinder", Judges: "the peak pressure of every cylinder",
			Against: "limits.peak_cylinder_pressure",
			Mends:   "a later spark for that cylinder, or less boost", always: true, do: doFullest},
		Check{ID: "cylinder-mixture-" + anyCylinder, What: "mixture of cylinder " + anyCylinder + ", one fuel for all",
			Judges:  "whether the model knows a cylinder with that mixture",
			Against: "the mixtures that burn", Mends: "runners that share the air evenly, or fuel by cylinder", Stands: cylinders, do: doMixture},
		Check{ID: pickupUncovers, What: "oil pickup uncovers", Judges: "the acceleration at which the oil's surface leaves the pickup, in every direction",
			Against: "car.grip", Mends: "more oil, a gate round the pickup, another place of it, or a dry sump", do: doPickup},
		Check{ID: cornerSupply, What: "oil supply in a sustained corner", Judges: "how long what is at the pickup lasts", Against: "sump.circulation.time",
			Mends: "more oil at the pickup, or a wider way back for what is up in the engine", do: doCorner},
		Check{ID: scavengeFlow, What: "scavenge pumps' flow of oil", Judges: "the oil that a dry sump's scavenge pumps can move at every speed",
			Against: "what goes through the engine", Mends: "larger scavenge pumps, a faster drive of them, or less air in what they move", do: doScavenge},
		Check{ID: oilFlow, What: "oil pump's flow", Judges: "what the oil pump gives at every speed", Against: "what the turning bearings of the crank take",
			Mends: "a larger oil pump, or a faster drive of it", do: doOilFlow},
		Check{ID: oilPressure, What: "oil pressure", Judges: "the pressure in the oil gallery at every speed, hot",
			Against: "oil.pressure_floor, or 10 psi for each 1000 rpm", Mends: "a larger oil pump, a stiffer relief valve, smaller jets or thicker oil",
			do: doOilPressure},
		Check{ID: uselessGear, What: "gear that gets the car no faster", Judges: "the top speed of each gear on a level road",
			Against: "that of the gear below", Mends: "a shorter gear or final drive", do: doUselessGear},
		Check{ID: shortGear, What: "pulls harder at the limiter than after the upshift",
			Judges:  "the thrust that an upshift loses in the gears whose limiter comes before the best upshift",
			Against: fmt.Sprintf("%.0f %% of the thrust, common practice, no source", HarderAtLimiter*100),
			Mends:   "a higher engine.limiter if the engine may turn faster, or closer gears", do: doShortGear},
		Check{ID: coolantBoils, What: "coolant's distance from boiling",
			Judges:  "how far the hottest coolant is from boiling under its cap, in the duty, or in the mean of a stage or lap without one",
			Against: "limits.boiling_margin, or 0 K, noted below " + units.Mark(LittleToBoiling, units.TemperatureDifference),
			Mends:   "a larger radiator, more air through it, a cap for more pressure, more coolant", always: true, do: doBoils},
		Check{ID: CoolantTooHot, What: "coolant temperature", Judges: "the hottest coolant, in the duty, or in the mean of a stage or lap without one",
			Against: "limits.coolant_temperature", Mends: "a larger radiator, more air through it, or more coolant", always: true, do: doCoolant},
		Check{ID: coolingLasts, What: "cooling through the sections of the duty",
			Judges:  "how long the coolant, from the start of each section, stays below boiling and its limit",
			Against: "cooling.duty.time", Mends: "a fan, more coolant, or colder coolant at the start", always: true, do: doLasts},
		Check{ID: oilTemperature, What: "oil temperature", Judges: "the steady oil before its cooler in the mean of a stage or lap",
			Against: "limits.oil_temperature", Mends: "a larger oil cooler, or more air through it", always: true, do: doOilTemperature},
	)
}

// leanestCylinder is the id of the finding on the cylinder with the leanest mixture.
const leanestCylinder = "leanest-cylinder"

// parameter returns what stands for one of several in the ID; empty where nothing does.
func (c Check) parameter() string {
	switch {
	case c.Stands == nil:
		return ""
	case strings.HasSuffix(c.ID, anyLimit):
		return anyLimit
	}
	return anyCylinder
}

// Each returns the check as the findings have it: itself, or one for each that stands for LIMIT or N.
func (c Check) Each() []Check {
	holder := c.parameter()
	if holder == "" {
		return []Check{c}
	}
	each := make([]Check, len(c.Stands))
	for i, s := range c.Stands {
		each[i] = c
		each[i].Stands = nil
		each[i].ID = strings.TrimSuffix(c.ID, holder) + strings.ReplaceAll(s, " ", "-")
		each[i].What = strings.Replace(c.What, holder, s, 1)
	}
	return each
}

// AllIDs returns every id that a finding can have.
func AllIDs() []string {
	var ids []string
	for _, c := range Checks() {
		for _, one := range c.Each() {
			ids = append(ids, one.ID)
		}
	}
	return ids
}

// Find returns the check that a finding of an id is of, as the finding has it.
func Find(id string) (c Check, ok bool) {
	for _, c := range Checks() {
		for _, one := range c.Each() {
			if one.ID == id {
				return one, true
			}
		}
	}
	return Check{}, false
}
