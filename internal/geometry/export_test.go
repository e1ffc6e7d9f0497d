package geometry

// PistonVelocity returns the piston's velocity, m/s, positive downwards, at crank angle theta and engine speed, rad/s.
//
//	v = dx/dθ N
//
// Source: Heywood (1988), eq. 2.11, with the pin's offset put in.
func (c Cylinder) PistonVelocity(theta, speed float64) float64 {
	first, _ := c.travelSlopes(theta)
	return first * speed
}
