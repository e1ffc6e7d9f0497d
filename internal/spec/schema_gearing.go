package spec

import (
	"bellmouth/internal/gearing"
	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

// A gearingDraft is driveline, car and surfaces as the file says them.
type gearingDraft struct {
	efficiency      numeric.Curve // over the number of the gear
	car             gearing.Car
	tyre            string
	grips, rollings []named
}

// efficiency is what a driveline passes on when the spec does not say.
const efficiency, efficiencyReason = "94 %", "gearbox, final drive and joints; common practice, no source"

// What an upshift costs when the spec does not say.
const (
	shiftTime, shiftTimeReason     = "100 ms", "dog gearbox with an ignition cut, 50 to 150 ms; a synchronised one takes 300 to 500 ms; common practice, no source"
	recovery, recoveryReason       = "300 ms", "common practice, no source"
	keptForced, keptForcedReason   = "80 %", "a turbocharger that slows down without the engine's exhaust; common practice, no source"
	keptNatural, keptNaturalReason = "100 %", "no turbocharger that slows down"
)

func (d *draft) drivelineFields() []field {
	l := &d.Driveline
	byGear := func(example string) *axis {
		return &axis{name: "gear", kind: units.Number, min: "1", max: "12", counted: true, example: example}
	}
	return []field{
		{key: "gearbox_torque_limit", doc: "highest engine torque the gearbox takes", into: &l.TorqueLimit,
			kind: units.Torque, min: "10 Nm", max: "5000 Nm", example: "620 Nm"},
		{key: "gears", doc: "ratios, turns of the engine for one of the gearbox; final is needed with them", into: &l.Gears, min: "0.2", max: "20",
			over:    byGear("{1: 2.92, 2: 2.05}"),
			example: "{1: 2.92, 2: 2.05, 3: 1.58, 4: 1.27, 5: 1.06}"},
		{key: "final", doc: "ratio of the final drive, all that follows the gearbox", into: &l.Final, min: "0.2", max: "20", example: "4.10"},
		{key: "efficiency",
			doc:  "torque at the wheels over engine torque times ratio, one value or by gear; default with gears: " + efficiency + ", " + efficiencyReason,
			into: &d.efficiency, kind: units.Fraction, min: "50 %", max: "100 %", over: byGear("{1: 93 %, 2: 94 %}"), example: efficiency},
		{key: "engine_inertia",
			doc:  "moment of inertia of crank, flywheel and clutch; without it what speeds up the engine itself is not counted, nor what a downshift takes",
			into: &l.EngineInertia,
			kind: units.Inertia, min: "0.001 kg m2", max: "5 kg m2", example: "0.14 kg m2"},
		{key: "launch_speed", doc: "engine speed that the clutch slips at on a standing start; default: that of peak torque", into: &l.LaunchSpeed,
			kind: units.Speed, min: "500 rpm", max: "25000 rpm", example: "5000 rpm"},
		{key: "shift", doc: "what an upshift costs, and how long a downshift takes", fields: []field{
			{key: "time", doc: "in which no thrust is passed on; default with gears: " + shiftTime + ", " + shiftTimeReason, into: &l.Shift.Time,
				kind: units.Time, min: "0 ms", max: "2 s", example: shiftTime},
			{key: "torque_kept", doc: "torque right after the shift over that of full load; default with gears: computed with turbine.rotor_inertia, else " + keptForced + " with a compressor, " + keptNatural + " without",
				into: &l.Shift.Kept, kind: units.Fraction, min: "0 %", max: "100 %", example: keptForced},
			{key: "recovery", doc: "time in which the torque comes back to full load, in a straight line; default with gears: computed with turbine.rotor_inertia, else " + recovery + ", " + recoveryReason,
				into: &l.Shift.Recovery, kind: units.Time, min: "0 ms", max: "3 s", example: recovery},
			{key: "down_time", doc: "of a downshift, in which the engine has to come up; default: that of an upshift", into: &l.DownTime,
				kind: units.Time, min: "0 ms", max: "2 s", example: "200 ms"},
		}},
	}
}

func (d *draft) carFields() []field {
	c := &d.car
	return []field{
		{key: "mass", doc: "with driver and fuel", into: &c.Mass, kind: units.Mass, min: "100 kg", max: "10000 kg", required: true, example: "1080 kg"},
		{key: "rear_thrust", doc: "share of the thrust at the rear wheels: 0 % front-wheel drive, 100 % rear-wheel drive, between all-wheel drive",
			into: &c.RearThrust,
			kind: units.Fraction, min: "0 %", max: "100 %", required: true, example: "0 %"},
		{key: "rear_weight", doc: "share of the weight on the rear wheels at rest", into: &c.RearWeight,
			kind: units.Fraction, min: "5 %", max: "95 %", required: true, example: "38 %"},
		{key: "centre_height", doc: "of the centre of mass above the road", into: &c.CentreHeight,
			kind: units.Length, min: "0.05 m", max: "3 m", required: true, example: "0.48 m"},
		{key: "wheelbase", doc: "from axle to axle", into: &c.Wheelbase, kind: units.Length, min: "0.8 m", max: "8 m", required: true, example: "2.55 m"},
		{key: "rolling_radius", doc: "of the driven wheels: either this ...", into: &c.RollingRadius,
			kind: units.Length, min: "0.1 m", max: "1 m", required: true, group: "rolling", example: "0.30 m"},
		{key: "tyre", doc: "... or the size of their tyres, width in mm, height of the section in % of it, rim in inches; the rolling radius is then 3.05/(2 pi) of the free diameter",
			into: &d.tyre, required: true, group: "rolling", commented: true, example: "205/50R16"},
		{key: "grip", doc: "friction coefficient between tyre and road", into: &c.Grip, min: "0.1", max: "5", required: true, example: "1.25"},
		{key: "drag_area", doc: "drag coefficient times frontal area", into: &c.DragArea, kind: units.Area, min: "0 m2", max: "5 m2", fallback: "0.75 m2",
			reason: "a saloon with a wing, 0.6 to 0.9 m2; common practice, no source", example: "0.75 m2"},
		{key: "rolling_resistance", doc: "of the tyres, force over weight", into: &c.RollingResistance, min: "0", max: "0.5", fallback: "0.013",
			reason: "road tyre on asphalt, 0.010 to 0.015", example: "0.013"},
		{key: "wheel_inertia", doc: "moment of inertia of all wheels with what turns with them; without it what speeds them up is not counted", into: &c.WheelInertia,
			kind: units.Inertia, min: "0.01 kg m2", max: "100 kg m2", example: "3.6 kg m2"},
	}
}

func (d *draft) surfaceFields() []field {
	return []field{
		{key: "grip", doc: "friction coefficient between tyre and road by surface", into: &d.grips, min: "0.02", max: "5", required: true,
			example: "{dry: 1.25, wet: 0.85, gravel: 0.62, snow: 0.30}"},
		{key: "rolling_resistance", doc: "of the tyres by surface, where it is not the car's", into: &d.rollings, min: "0", max: "0.5",
			example: "{gravel: 0.03, snow: 0.035}"},
	}
}
