// Package gearing computes what a car does with the torque that its engine gives: thrust and grip by gear, when to shift up, and how fast it gets.
package gearing

import (
	"fmt"
	"math"
)

const gravity = 9.80665 // standard acceleration of free fall, m/s² (3rd CGPM, 1901)

// A Car is what the torque has to move.
type Car struct {
	Mass              float64 // with driver and fuel m, kg
	Grip              float64 // friction coefficient between tyre and road μ, where no surface is named
	RearWeight        float64 // share of the weight on the rear axle at rest w
	RearThrust        float64 // share of the thrust at the rear axle q: 1 rear drive, 0 front drive, between: all-wheel drive
	CentreHeight      float64 // of the centre of mass h, m
	Wheelbase         float64 // b, m
	RollingRadius     float64 // of the driven wheels r, m
	DragArea          float64 // drag coefficient times frontal area Cd A, m²
	RollingResistance float64 // force over weight on the axles f, where no surface is named
	WheelInertia      float64 // of all wheels with what turns with them Iw, kg m²; 0 when not given
}

// Validate returns an error when a figure is outside its range.
func (c Car) Validate() error {
	switch {
	case !positive(c.Mass):
		return fmt.Errorf("mass of the car is %v kg; want more than 0", c.Mass)
	case !positive(c.Grip):
		return fmt.Errorf("grip is %v; want more than 0", c.Grip)
	case !(c.RearWeight > 0 && c.RearWeight < 1):
		return fmt.Errorf("share of the weight on the rear axle is %v; want more than 0 and less than 1", c.RearWeight)
	case !(c.RearThrust >= 0 && c.RearThrust <= 1):
		return fmt.Errorf("share of the thrust at the rear axle is %v; want 0 to 1", c.RearThrust)
	case !notNegative(c.CentreHeight):
		return fmt.Errorf("height of the centre of mass is %v m; want 0 or more", c.CentreHeight)
	case !positive(c.Wheelbase):
		return fmt.Errorf("wheelbase is %v m; want more than 0", c.Wheelbase)
	case !positive(c.RollingRadius):
		return fmt.Errorf("rolling radius is %v m; want more than 0", c.RollingRadius)
	case !notNegative(c.DragArea):
		return fmt.Errorf("drag area is %v m²; want 0 or more", c.DragArea)
	case !notNegative(c.RollingResistance):
		return fmt.Errorf("rolling resistance is %v; want 0 or more", c.RollingResistance)
	case !notNegative(c.WheelInertia):
		return fmt.Errorf("inertia of the wheels is %v kg m²; want 0 or more", c.WheelInertia)
	}
	return nil
}

// A Road is what the car drives on.
type Road struct {
	Grip    float64 // friction coefficient between tyre and road μ
	Rolling float64 // rolling resistance over the weight on the axles f
	Grade   float64 // rise over run, positive uphill: tan θ
}

// Road returns the level road of the car's own grip and rolling resistance.
func (c Car) Road() Road { return Road{Grip: c.Grip, Rolling: c.RollingResistance} }

// Validate returns an error when a figure is outside its range.
func (r Road) Validate() error {
	switch {
	case !positive(r.Grip):
		return fmt.Errorf("grip is %v; want more than 0", r.Grip)
	case !notNegative(r.Rolling):
		return fmt.Errorf("rolling resistance is %v; want 0 or more", r.Rolling)
	case !(math.Abs(r.Grade) <= 1):
		return fmt.Errorf("grade is %v; want -1 to 1, rise over run", r.Grade)
	}
	return nil
}

// slope returns sin θ and cos θ of the road.
func (r Road) slope() (sin, cos float64) {
	cos = 1 / math.Sqrt(1+r.Grade*r.Grade)
	return r.Grade * cos, cos
}

// GripThrust returns the greatest thrust F of the driven wheels, N, at which neither axle spins.
//
//	rear:  q F = μ (W w + (F − f W) h/b)              F = μ (W w − f W h/b)/(q − μ h/b), no limit for q ≤ μ h/b
//	front: (1 − q) F = μ (W (1 − w) − (F − f W) h/b)  F = μ (W (1 − w) + f W h/b)/(1 − q + μ h/b)
//
// The smaller one counts; W = m g cos θ. Load moves with the acceleration that the thrust gives, so that both are solved together: inertia, drag and
// gradient, F less the rolling resistance, act at the height of the centre of mass, and move (F − f W) h/b from the front axle to the rear. With rear
// drive alone the front limit is where the front wheels leave the road.
//
// Source: Gillespie, Fundamentals of Vehicle Dynamics (1992), ch. 2, traction-limited acceleration (from memory), with
// both axles driven by the same balance. One coefficient for all loads, a locked differential, no downforce; the reaction of what turns is left out.
func (c Car) GripThrust(road Road) (float64, error) {
	if err := c.Validate(); err != nil {
		return 0, err
	}
	if err := road.Validate(); err != nil {
		return 0, err
	}
	thrust := c.gripThrust(road)
	if !notNegative(thrust) {
		return 0, fmt.Errorf("thrust of a car of %v kg is out of all bounds", c.Mass)
	}
	return thrust, nil
}

func (c Car) gripThrust(road Road) float64 {
	_, cos := road.slope()
	weight, lever := c.Mass*gravity*cos, c.CentreHeight/c.Wheelbase
	rolling, transfer := road.Rolling*weight*lever, road.Grip*lever
	limit := math.Inf(1)
	if d := c.RearThrust - transfer; d > 0 {
		limit = road.Grip * (weight*c.RearWeight - rolling) / d
	}
	if d := 1 - c.RearThrust + transfer; d > 0 {
		limit = math.Min(limit, road.Grip*(weight*(1-c.RearWeight)+rolling)/d)
	}
	return math.Max(0, limit) // much rolling resistance on a tall car with light rear wheels leaves them nothing
}

// A Gear is one gear of the driveline.
type Gear struct {
	Overall    float64 // turns of the engine for one of the wheels i, gear and final drive
	Efficiency float64 // wheel torque over engine torque times ratio η
}

// Validate returns an error when a figure is outside its range.
func (g Gear) Validate() error {
	switch {
	case !positive(g.Overall):
		return fmt.Errorf("overall ratio is %v; want more than 0", g.Overall)
	case !(g.Efficiency > 0 && g.Efficiency <= 1):
		return fmt.Errorf("driveline efficiency is %v; want more than 0 and at most 1", g.Efficiency)
	}
	return nil
}

// EngineTorque returns the engine torque T, N m, with which the driven wheels push with a thrust F, N, in a gear of overall ratio i.
//
//	T = F r/(i η)
func (c Car) EngineTorque(thrust float64, g Gear) float64 {
	return thrust * c.RollingRadius / (g.Overall * g.Efficiency)
}

// RoadSpeed returns the road speed v, m/s, at an engine speed ω, rad/s, in a gear of overall ratio i.
//
//	v = ω r/i
//
// Source: kinematics of a rolling wheel. No slip: under full thrust the wheels turn some per cent faster than the road goes by.
func (c Car) RoadSpeed(speed, ratio float64) float64 { return speed * c.RollingRadius / ratio }

// EngineSpeed returns the engine speed ω, rad/s, at a road speed v, m/s, in a gear of overall ratio i: ω = v i/r.
func (c Car) EngineSpeed(velocity, ratio float64) float64 { return velocity * ratio / c.RollingRadius }

// A Tyre is a tyre's size.
type Tyre struct {
	Width  float64 // of the section, m
	Aspect float64 // height of the section over its width
	Rim    float64 // diameter, m
}

// FreeDiameter returns the diameter D of the unloaded tyre, m.
//
//	D = rim + 2 aspect · width
//
// Source: the meaning of the size's figures.
func (t Tyre) FreeDiameter() float64 { return t.Rim + 2*t.Aspect*t.Width }

// circumference is how far a loaded radial tyre rolls in a turn, over its free diameter.
const circumference = 3.05

// RollingRadius returns the radius r of the loaded tyre as it rolls, m.
//
//	r = 3.05 D/(2π)
//
// so that it is 2.9 % less than half the free diameter. Source: rule of the tyre standards for radial tyres at their load and about 60 km/h, from memory.
// At speed a tyre grows, with less air it shrinks, each by a per cent or so: a measured one is better.
func (t Tyre) RollingRadius() float64 { return circumference * t.FreeDiameter() / (2 * math.Pi) }

func positive(x float64) bool    { return x > 0 && !math.IsInf(x, 1) }
func notNegative(x float64) bool { return x >= 0 && !math.IsInf(x, 1) }
