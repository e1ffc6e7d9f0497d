package gearing

import "fmt"

// A Downshift is a change into the next lower gear.
type Downshift struct {
	Gear     int     // that is changed into, from 0
	Highest  float64 // road speed at which the engine then turns as fast as the limiter lets it, m/s
	Velocity float64 // road speed of the change, m/s
	From, To float64 // engine speed before and after it, rad/s
	Torque   float64 // that brings the engine from one to the other in the time of the change, N m; 0 where its inertia is not given
}

// Downshift returns what the engine has to do when a gear, from 0, is changed into from the next higher one at a road speed v, m/s, in a time t, s.
//
//	ω = v i/r,  T = Ie (ω2 − ω1)/t
//
// Above the highest road speed the wheels turn the engine faster than its limiter, whatever that cuts. The torque is what is left after friction and gas
// exchange, with the clutch open; it is +Inf for a shift that takes no time.
//
// Source: kinematics of a rolling wheel; angular momentum. No slip of the wheels.
func (v *Vehicle) Downshift(gear int, velocity, time float64) (Downshift, error) {
	if err := v.Validate(); err != nil {
		return Downshift{}, err
	}
	if gear < 0 || gear >= len(v.Gears)-1 || !notNegative(velocity) || !notNegative(time) {
		return Downshift{}, fmt.Errorf("change into gear %d of %d at %v m/s in %v s: want a gear with one above, and speed and time of 0 or more",
			gear+1, len(v.Gears), velocity, time)
	}
	lower, upper := v.Gears[gear].Overall, v.Gears[gear+1].Overall
	d := Downshift{
		Gear: gear, Highest: v.RoadSpeed(v.Limiter, lower), Velocity: velocity,
		From: v.EngineSpeed(velocity, upper), To: v.EngineSpeed(velocity, lower),
	}
	if rise := d.To - d.From; v.EngineInertia > 0 && rise > 0 { // at rest there is nothing to do, in no time at all too
		d.Torque = v.EngineInertia * rise / time
	}
	return d, nil
}

// Rise returns the time t, s, in which an engine of the inertia Ie, kg m², comes from one speed to another with the clutch open. torque is the engine's at the
// first speed, half-way and at the last, N m.
//
//	t = Ie ∫ dω/T
//
// by Simpson's rule; ok is false where one of the torques does not speed the engine up. Source: angular momentum.
func Rise(inertia, from, to float64, torque [3]float64) (t float64, ok bool) {
	for _, x := range torque {
		if !positive(x) {
			return 0, false
		}
	}
	return inertia * (to - from) / 6 * (1/torque[0] + 4/torque[1] + 1/torque[2]), true
}
