package geometry

import (
	"fmt"
	"math"
)

// Masses are what moves with one piston. The rod counts as two points, which keep its mass and its centre of gravity.
type Masses struct {
	Piston   float64 // with pin, rings and clips, kg
	SmallEnd float64 // the rod's share that moves with the piston, kg
	BigEnd   float64 // the rod's share that goes round with the crank pin, bearing shells and bolts with it, kg
	Cap      float64 // of that, what lies below the joint of cap and rod, kg
}

// Validate returns an error when a mass is not finite or below 0, or when the cap is heavier than the big end that it belongs to.
func (m Masses) Validate() error {
	for _, x := range []struct {
		name  string
		value float64
	}{{"piston", m.Piston}, {"rod's small end", m.SmallEnd}, {"rod's big end", m.BigEnd}, {"rod's cap", m.Cap}} {
		if !(x.value >= 0) || math.IsInf(x.value, 0) {
			return fmt.Errorf("the mass of the %s is %v kg; want 0 or more", x.name, x.value)
		}
	}
	if m.Cap > m.BigEnd {
		return fmt.Errorf("the rod's cap, %.4g kg, is heavier than the big end that it is a part of, %.4g kg", m.Cap, m.BigEnd)
	}
	return nil
}

// Reciprocating returns the mass that goes up and down: the piston and the rod's small end, kg.
func (m Masses) Reciprocating() float64 { return m.Piston + m.SmallEnd }

// A Pressure is a pressure in the cylinder, Pa absolute, at a crank angle, rad after firing top dead centre.
type Pressure struct{ Angle, Value float64 }

// Forces are what one cylinder's crank train carries at a crank angle.
type Forces struct {
	Rod    float64 // along the rod, N, compression positive
	Side   float64 // of the piston on the wall, N, positive on the side that the crank pin goes to after top dead centre
	Pin    float64 // on the crank pin's bearing, N
	Joint  float64 // that holds rod and cap together along the rod, N; negative presses them
	Torque float64 // on the crank, N m
}

// Forces returns the forces at crank angle theta and a steady engine speed N, rad/s. over is the cylinder's pressure less the crankcase's, Pa.
//
//	F      = over Ap − (mp + mA) x″ N²
//	rod    = F/cos β,  side = F tan β,  torque = F dx/dθ,  sin β = (a sin φ − e)/l
//	pin    = |rod along the rod + mB a N² outward|
//	joint  = −rod + (mB − mc) a N² cos(φ + β)
//
// mp is the piston, mA and mB the small and the big end of the rod, mc its cap; x is PistonTravel and φ its angle. Friction and weight are left out.
// Source: forces of the slider-crank, closed form, as in Taylor, The Internal-Combustion Engine in Theory and Practice, vol. 2, ch. 8; the rod as two
// points is common practice.
func (c Cylinder) Forces(m Masses, theta, speed, over float64) Forces {
	a, l, e := c.Stroke/2, c.Rod, c.PinOffset
	first, second := c.travelSlopes(theta)
	phi := theta
	if e != 0 {
		phi += math.Asin(e / (l + a))
	}
	sin, cos := math.Sincos(phi)
	sinB := (a*sin - e) / l
	cosB := math.Sqrt(1 - sinB*sinB)
	n2 := speed * speed
	f := over*c.BoreArea() - m.Reciprocating()*second*n2
	rod := f / cosB
	round := m.BigEnd * a * n2
	return Forces{
		Rod: rod, Side: f * sinB / cosB, Torque: f * first,
		Pin:   math.Hypot(rod*cosB-round*cos, rod*sinB+round*sin),
		Joint: (m.BigEnd-m.Cap)*a*n2*(cos*cosB-sin*sinB) - rod,
	}
}

// A Peak is the greatest of something over the cycle, and where.
type Peak struct{ Value, Angle float64 }

func (p *Peak) see(value, angle float64) {
	if value > p.Value {
		p.Value, p.Angle = value, angle
	}
}

// Loads are the greatest forces of a cycle on one cylinder's crank train, N, each at its crank angle, rad after firing top dead centre. What never
// occurs is 0.
type Loads struct {
	Tension     Peak    // of the rod
	Compression Peak    // of the rod
	Side        Peak    // of the piston on either wall
	Pin         Peak    // on the crank pin's bearing
	Joint       Peak    // that pulls rod and cap apart
	MeanPin     float64 // on the crank pin's bearing, over the crank angle, N
	MeanTorque  float64 // on the crank, over the crank angle, N m
}

// Loads returns the greatest forces over a trace of the pressure, in rising order of angle, at engine speed, rad/s. crankcase is the pressure below the
// piston, Pa absolute. The means are by the trapezoidal rule, over the angles of the trace.
func (c Cylinder) Loads(m Masses, speed, crankcase float64, trace []Pressure) Loads {
	var l Loads
	var before Forces
	for i, at := range trace {
		f := c.Forces(m, at.Angle, speed, at.Value-crankcase)
		l.Tension.see(-f.Rod, at.Angle)
		l.Compression.see(f.Rod, at.Angle)
		l.Side.see(math.Abs(f.Side), at.Angle)
		l.Pin.see(f.Pin, at.Angle)
		l.Joint.see(f.Joint, at.Angle)
		if i > 0 {
			half := (at.Angle - trace[i-1].Angle) / 2
			l.MeanPin += half * (before.Pin + f.Pin)
			l.MeanTorque += half * (before.Torque + f.Torque)
		}
		before = f
	}
	if n := len(trace); n > 1 {
		whole := trace[n-1].Angle - trace[0].Angle
		l.MeanPin /= whole
		l.MeanTorque /= whole
	}
	return l
}
