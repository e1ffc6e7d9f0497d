package spec

import (
	"math"

	"bellmouth/internal/bolt"
	"bellmouth/internal/geometry"
	"bellmouth/internal/numeric"
)

// A BottomEnd is what moves with the pistons, and what holds the rods together.
type BottomEnd struct {
	Masses            geometry.Masses
	CrankcasePressure float64     // Pa absolute
	OverrunPressure   float64     // in the cylinder at the top dead centre of gas exchange with the throttle closed, Pa absolute
	RodBolts          *Fastenings // of one rod; nil when not given
}

// Fastenings are the bolts of a joint, with how they are tightened.
type Fastenings struct {
	bolt.Joint
	Torque float64 // that gives the nominal preload, N m
	Proof  float64 // stress that a bolt may be pulled with, Pa; 0 when not given
}

// A Head is what clamps the cylinder head.
type Head struct {
	Bolts    Fastenings // as many as share the force of one cylinder
	SealArea float64    // on which the cylinder's pressure lifts the head, of one cylinder, m²
}

// A PistonToValve is the room above the piston for the valves, as measured; a side that the spec lacks is nil.
type PistonToValve struct{ Inlet, Exhaust *ValveRoom }

// A ValveRoom is one side's.
type ValveRoom struct {
	Drop  float64       // way from the seat to the piston at top dead centre, along the stem, m
	Angle float64       // between stem and cylinder axis, rad
	Lift  numeric.Curve // m, over crank angle, rad after the top dead centre of gas exchange; zero: by the valve's events
	Shift float64       // by which the shaft is set later, rad of the crank
	Least float64       // smallest accepted, m
}

// A Fit is a measured clearance with its range.
type Fit struct {
	Key         string  // as the file has it
	Measured    float64 // m
	Least, Most float64 // m; Most 0 where there is none
	Usual       bool    // the range is common practice; the spec states none
}

// A MeasuredBore is the restrictor's bore as measured warm.
type MeasuredBore struct {
	Bore        float64 // m
	Temperature float64 // K
	Expansion   float64 // 1/K
}

// Room returns the side's room above the piston, with the lift by the valves' events where the spec has no table; within are the crank angles that
// the lift is known between, rad after the top dead centre of gas exchange.
func (r *ValveRoom) Room(events func(theta float64) float64) (room geometry.ValveRoom, within [2]float64) {
	room = geometry.ValveRoom{Drop: r.Drop, Angle: r.Angle, Shift: r.Shift, Lift: events}
	within = [2]float64{math.Inf(-1), math.Inf(1)}
	if !r.Lift.IsZero() {
		room.Lift = func(theta float64) float64 {
			lift, _ := r.Lift.At(theta)
			return lift
		}
		within[0], within[1] = r.Lift.Span()
	}
	return room, within
}
