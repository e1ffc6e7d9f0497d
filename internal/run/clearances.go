package run

import (
	"bellmouth/internal/geometry"
	"bellmouth/internal/spec"
)

// A ValveClearance is the room between the valves of one side and the piston.
type ValveClearance struct {
	Inlet bool
	Room  geometry.ValveRoom
	geometry.Clearance
	Wanted   float64 // least accepted, m
	ByEvents bool    // the lift is that of the valve's events, not a cam's
	Beyond   bool    // the least lies outside of the angles that the lift is given for, whose end value was taken
}

// ValveClearances returns the room of the sides that the trim tells, the inlet first.
func ValveClearances(trim *spec.Trim) []ValveClearance {
	e := &trim.Engine
	if e.PistonToValve == nil {
		return nil
	}
	var all []ValveClearance
	add := func(side *spec.ValveRoom, inlet bool, events func(theta float64) float64) {
		if side == nil {
			return
		}
		room, within := side.Room(events)
		v := ValveClearance{Inlet: inlet, Room: room, Clearance: room.Least(e.Cylinder), Wanted: side.Least, ByEvents: side.Lift.IsZero()}
		at := v.Angle - room.Shift
		v.Beyond = at < within[0] || at > within[1]
		all = append(all, v)
	}
	var v geometry.Valves // its events stand in for a lift that is not given
	if e.Valves != nil {
		v = *e.Valves
	}
	add(e.PistonToValve.Inlet, true, v.InletLiftAt)
	add(e.PistonToValve.Exhaust, false, v.ExhaustLiftAt)
	return all
}

// Moved returns the least room with the shaft moved further, rad of the crank, later positive.
func (v ValveClearance) Moved(c geometry.Cylinder, shift float64) geometry.Clearance {
	v.Room.Shift += shift
	return v.Room.Least(c)
}

// RestrictorAt20 returns the restrictor's bore at 20 °C, m; ok is false where it was not measured, or where there is none.
func RestrictorAt20(trim *spec.Trim) (bore float64, ok bool) {
	m := trim.Intake.Measured
	if m == nil || trim.Intake.Restrictor == nil {
		return 0, false
	}
	return geometry.BoreAt20(m.Bore, m.Temperature, m.Expansion), true
}
