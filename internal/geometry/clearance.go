package geometry

import (
	"fmt"
	"math"
)

// A ValveRoom is a valve above the piston, about the top dead centre of gas exchange.
type ValveRoom struct {
	Drop  float64                     // way from the seat to the piston at top dead centre, along the stem, m
	Angle float64                     // between stem and cylinder axis, rad
	Lift  func(theta float64) float64 // of the valve, m, at crank angle theta, rad after the top dead centre of gas exchange
	Shift float64                     // by which the shaft is set later than Lift says, rad of the crank; negative: earlier
}

// A Clearance is the least room between a valve and the piston.
type Clearance struct {
	Least float64 // along the stem, m; negative where they meet
	Angle float64 // rad after the top dead centre of gas exchange
}

// roomWithin is how far from top dead centre valve and piston are looked at, rad: farther away the piston has gone.
const roomWithin = math.Pi / 2

// At returns the room between valve and piston at crank angle theta, m along the stem.
//
//	drop + x cos α − L(θ − shift)
//
// x is PistonTravel and α the stem's angle: the pocket in the piston is taken to lie parallel to the valve's face. Source: closed form.
func (v ValveRoom) At(c Cylinder, theta float64) float64 {
	return v.Drop + c.PistonTravel(theta)*math.Cos(v.Angle) - v.Lift(theta-v.Shift)
}

// Least returns the least room between valve and piston within a quarter turn of top dead centre.
func (v ValveRoom) Least(c Cylinder) Clearance {
	const steps = 720
	const step = 2 * roomWithin / steps
	best := Clearance{Least: math.Inf(1)}
	see := func(theta float64) float64 {
		x := v.At(c, theta)
		if x < best.Least {
			best = Clearance{x, theta}
		}
		return -x
	}
	for i := range steps + 1 {
		see(-roomWithin + float64(i)*step)
	}
	at := best.Angle
	maximum(see, math.Max(at-step, -roomWithin), math.Min(at+step, roomWithin))
	return best
}

// mostShift is how far a shaft is looked at being moved, rad of the crank: 60°, more than any drive's slots.
const mostShift = math.Pi / 3

// ShiftTo returns how far the shaft may be moved towards the piston from where it is until the least room is least, m: rad of the crank, later for an
// exhaust valve and earlier for an inlet valve. It is negative where the room is less already and the shaft has to go the other way. It is an error
// where no shift within 60° does it.
func (v ValveRoom) ShiftTo(c Cylinder, least float64, inlet bool) (float64, error) {
	sign := 1.0
	if inlet {
		sign = -1
	}
	spare := func(shift float64) float64 {
		moved := v
		moved.Shift += sign * shift
		return moved.Least(c).Least - least
	}
	lo, hi := -mostShift, mostShift
	switch {
	case !(spare(lo) >= 0):
		return 0, fmt.Errorf("not within 60 deg: the valve meets the piston wherever the shaft is")
	case spare(hi) >= 0:
		return 0, fmt.Errorf("more than 60 deg")
	}
	for hi-lo > 1e-6 {
		if mid := (lo + hi) / 2; spare(mid) >= 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, nil
}

// InletLiftAt returns the lift of an inlet valve at crank angle theta, m, rad after the top dead centre of gas exchange, from its events.
//
//	L = Lmax sin²(π (θ − θo)/(θc − θo)) between opening θo and closing θc, else 0
//
// The form is common practice, no source: a cam's own lift differs by a millimetre next to top dead centre.
func (v Valves) InletLiftAt(theta float64) float64 {
	return liftAt(v.InletLift, theta, -v.InletOpens, math.Pi+v.InletCloses)
}

// ExhaustLiftAt returns the same of an exhaust valve; see InletLiftAt.
func (v Valves) ExhaustLiftAt(theta float64) float64 {
	return liftAt(v.ExhaustLift, theta, -math.Pi-v.ExhaustOpens, v.ExhaustCloses)
}

func liftAt(most, theta, opens, closes float64) float64 {
	if !(theta > opens && theta < closes) {
		return 0
	}
	s := math.Sin(math.Pi * (theta - opens) / (closes - opens))
	return most * s * s
}
