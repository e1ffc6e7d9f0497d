package gearing

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// A Vehicle is a car with its engine and gearbox.
type Vehicle struct {
	Car
	Gears         []Gear
	EngineInertia float64       // of crank, flywheel and clutch Ie, kg m²; 0 when not given
	Torque        numeric.Curve // full load T, N m, over engine speed, rad/s
	Limiter       float64       // highest engine speed, rad/s
	Shift         Shift
	Shifts        []Shift // of each gear that is left, in the place of Shift, where what a shift leaves of the boost is computed; nil otherwise
	AirDensity    float64 // ρ, kg/m³
}

// A Shift is what an upshift costs.
type Shift struct {
	Time     float64 // without thrust, s
	Kept     float64 // torque right after it, as a share of full load
	Recovery float64 // time in which that comes back to full load, in a straight line, s
}

// share returns the torque a time after an upshift, as a share of full load.
func (s Shift) share(since float64) float64 {
	if !(since < s.Recovery) {
		return 1
	}
	return s.Kept + (1-s.Kept)*since/s.Recovery
}

func (s Shift) validate() error {
	switch {
	case !notNegative(s.Time):
		return fmt.Errorf("a shift takes %v s; want 0 or more", s.Time)
	case !(s.Kept >= 0 && s.Kept <= 1):
		return fmt.Errorf("a shift keeps %v of the torque; want 0 to 1", s.Kept)
	case !notNegative(s.Recovery):
		return fmt.Errorf("the torque comes back in %v s; want 0 or more", s.Recovery)
	}
	return nil
}

// Validate returns an error when a figure is outside its range.
func (v *Vehicle) Validate() error {
	if err := v.Car.Validate(); err != nil {
		return err
	}
	if len(v.Gears) == 0 {
		return errors.New("there is no gear")
	}
	for i, g := range v.Gears {
		if err := g.Validate(); err != nil {
			return fmt.Errorf("gear %d: %w", i+1, err)
		}
		if i > 0 && !(g.Overall < v.Gears[i-1].Overall) {
			return fmt.Errorf("overall ratio of gear %d is %v after %v; want the ratios to fall", i+1, g.Overall, v.Gears[i-1].Overall)
		}
	}
	lo, hi := v.Torque.Span()
	switch {
	case v.Torque.IsZero() || !(hi > lo) || !positive(lo) || !positive(hi):
		return errors.New("torque over engine speed: want two speeds at least, above 0")
	case !notNegative(v.EngineInertia):
		return fmt.Errorf("inertia of the engine is %v kg m²; want 0 or more", v.EngineInertia)
	case !positive(v.Limiter) || !(v.Limiter > lo):
		return fmt.Errorf("limiter is at %v rad/s; want more than the lowest engine speed, %v rad/s", v.Limiter, lo)
	case !positive(v.AirDensity):
		return fmt.Errorf("air density is %v kg/m³; want more than 0", v.AirDensity)
	}
	for gear := range v.Gears {
		if err := v.shift(gear).validate(); err != nil {
			return err
		}
	}
	return nil
}

// shift returns what it costs to leave a gear, from 0.
func (v *Vehicle) shift(gear int) Shift {
	if gear >= 0 && gear < len(v.Shifts) {
		return v.Shifts[gear]
	}
	return v.Shift
}

// Span returns the engine speeds between which the torque is known and the limiter lets the engine run, rad/s.
func (v *Vehicle) Span() (lo, hi float64) {
	lo, hi = v.Torque.Span()
	return lo, math.Min(hi, v.Limiter)
}

// Range returns the road speeds between which a gear, from 0, can be used, m/s.
func (v *Vehicle) Range(gear int) (lo, hi float64) {
	lo, hi = v.Span()
	return v.RoadSpeed(lo, v.Gears[gear].Overall), v.RoadSpeed(hi, v.Gears[gear].Overall)
}

// A Pull is what a gear does at a road speed, and what works against it.
type Pull struct {
	EngineSpeed  float64 // rad/s
	Torque       float64 // of the engine, what the tyres do not take left out, N m
	Thrust       float64 // of the driven tyres at the road X, N
	Limited      bool    // the tyres take no more
	Drag         float64 // of the air D, N
	Rolling      float64 // resistance R, N
	Gradient     float64 // m g sin θ, N
	Acceleration float64 // a, m/s²
}

// A way is a vehicle on a road, with what does not change from place to place.
type way struct {
	*Vehicle
	road         Road
	grip         float64 // greatest thrust, N
	drag         float64 // over the square of the speed, kg/m
	rolling      float64 // N
	gradient     float64 // N
	driven, free float64 // mass that stands for the inertia of the driven wheels, and of the others, kg
}

// on returns the vehicle on a road.
func (v *Vehicle) on(road Road) way {
	sin, cos := road.slope()
	wheels := v.WheelInertia / (v.RollingRadius * v.RollingRadius)
	driven := wheels
	if v.RearThrust == 0 || v.RearThrust == 1 {
		driven = wheels / 2
	}
	return way{
		Vehicle: v, road: road, grip: v.gripThrust(road), drag: v.AirDensity / 2 * v.DragArea,
		rolling: road.Rolling * v.Mass * gravity * cos, gradient: v.Mass * gravity * sin,
		driven: driven, free: wheels - driven,
	}
}

// against returns what works against the car at a road speed, N.
func (w *way) against(velocity float64) float64 {
	return w.drag*velocity*velocity + w.rolling + w.gradient
}

// engineMass returns the mass that stands for the engine's inertia in a gear, kg: Ie i² η/r².
func (w *way) engineMass(g Gear) float64 {
	ratio := g.Overall / w.RollingRadius
	return w.EngineInertia * ratio * ratio * g.Efficiency
}

// pull returns what a thrust before inertia, N, does, with the mass that stands for the engine's inertia, kg.
//
//	X = F − (me + md) a,  m a + mu a = X − D − R − m g sin θ,  X at most what the tyres take
func (w *way) pull(force, engineMass, velocity float64) (thrust, acceleration float64, limited bool) {
	against := w.against(velocity)
	acceleration = (force - against) / (w.Mass + engineMass + w.driven + w.free)
	thrust = force - (engineMass+w.driven)*acceleration
	if thrust > w.grip {
		return w.grip, (w.grip - against) / (w.Mass + w.free), true
	}
	return thrust, acceleration, false
}

// in returns what a gear gives at a road speed with a share of full load's torque. The engine speed has to lie in Span.
func (w *way) in(g Gear, velocity, share float64) Pull {
	speed := w.EngineSpeed(velocity, g.Overall)
	torque, _ := w.Torque.At(speed)
	torque *= share
	ratio := g.Overall * g.Efficiency / w.RollingRadius
	me := w.engineMass(g)
	p := Pull{EngineSpeed: speed, Torque: torque, Drag: w.drag * velocity * velocity, Rolling: w.rolling, Gradient: w.gradient}
	p.Thrust, p.Acceleration, p.Limited = w.pull(torque*ratio, me, velocity)
	if p.Limited {
		p.Torque = (p.Thrust + (me+w.driven)*p.Acceleration) / ratio
	}
	return p
}

// coasting returns the acceleration while the gearbox passes no thrust, m/s².
func (w *way) coasting(velocity float64) float64 {
	return -w.against(velocity) / (w.Mass + w.driven + w.free)
}

// Pull returns what a gear, from 0, does at a road speed, m/s, at full load.
//
//	F = T i η/r,  D = ρ/2 Cd A v²,  R = f m g cos θ
//	a = (F − D − R − m g sin θ)/(m + Iw/r² + Ie i² η/r²)
//
// Where the driven tyres would push harder than they grip, they push as hard as they grip, and the engine is held to the torque for that. The thrust at
// the road is what is left of F when engine and driven wheels have been sped up; one axle drives with half the inertia of the wheels, two with all.
//
// Source: Newton's second law; Gillespie, Fundamentals of Vehicle Dynamics (1992), ch. 2 (from memory). No slip, no wind, no downforce, full load steady
// at every speed. A speed at which the gear has no torque is an error.
func (v *Vehicle) Pull(gear int, velocity float64, road Road) (Pull, error) {
	if err := errors.Join(v.Validate(), road.Validate()); err != nil {
		return Pull{}, err
	}
	if lo, hi := v.Range(gear); !(velocity >= lo*(1-1e-12) && velocity <= hi*(1+1e-12)) {
		return Pull{}, fmt.Errorf("gear %d at %v m/s: want %v to %v", gear+1, velocity, lo, hi)
	}
	w := v.on(road)
	return w.in(v.Gears[gear], velocity, 1), nil
}
