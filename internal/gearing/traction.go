package gearing

// ThrustOverLoad returns the greatest thrust of the driven wheels over the load on the road F/N, as GripThrust has it, with a friction coefficient and a
// rolling resistance. In a corner the coefficient is what the side force leaves along the car. No range is looked at.
func (c *Car) ThrustOverLoad(grip, rolling float64) float64 {
	return c.gripThrust(Road{Grip: grip, Rolling: rolling}) / (c.Mass * gravity)
}

// ShiftFrom returns what it costs to leave a gear, from 0.
func (v *Vehicle) ShiftFrom(gear int) Shift { return v.shift(gear) }

// Share returns the torque a time after an upshift, s, as a share of full load.
func (s Shift) Share(since float64) float64 { return s.share(since) }

// Inertia returns the mass that stands for the inertia of the driven wheels, and of the others, kg.
func (v *Vehicle) Inertia() (driven, free float64) {
	w := v.on(v.Road())
	return w.driven, w.free
}
