// Package geometry computes what follows from an engine's dimensions alone: volumes, compression ratio, piston motion,
// valve openings.
package geometry

import (
	"fmt"
	"math"
)

// A Cylinder is one cylinder with its crank throw, rod and piston pin.
//
// Crank angles are in rad, 0 at firing top dead centre, and top dead centre is where the piston stands highest, as a dial
// gauge on the piston finds it. With an offset pin the crank is then asin(e/(l+a)) past the cylinder's axis.
type Cylinder struct {
	Bore             float64 // B, m
	Stroke           float64 // twice the crank radius, 2a, m; the piston's own stroke is longer when the pin is offset
	Rod              float64 // distance between the centres of the connecting rod's eyes, l, m
	PinOffset        float64 // e, m: from the crank's axis to the line the pin moves on; positive towards the side the crank pin goes to after top dead centre
	CompressionRatio float64 // rc, of the volumes at the ends of the stroke
}

// Validate returns an error when a dimension is not finite and positive, when the compression ratio is not above 1, or
// when the rod is too short for the crank to turn: l > a + |e|.
func (c Cylinder) Validate() error {
	for _, d := range []struct {
		name  string
		value float64
	}{{"bore", c.Bore}, {"stroke", c.Stroke}, {"rod", c.Rod}} {
		if !positive(d.value) {
			return fmt.Errorf("%s is %v m; want more than 0", d.name, d.value)
		}
	}
	if !(c.Rod > c.Stroke/2+math.Abs(c.PinOffset)) {
		return fmt.Errorf("rod is %v m; want more than half the stroke and the pin offset together, %v m",
			c.Rod, c.Stroke/2+math.Abs(c.PinOffset))
	}
	if !(c.CompressionRatio > 1) || math.IsInf(c.CompressionRatio, 0) {
		return fmt.Errorf("compression ratio is %v; want more than 1", c.CompressionRatio)
	}
	return nil
}

// BoreArea returns the area of the bore Ap, m².
//
//	Ap = π B²/4
func (c Cylinder) BoreArea() float64 { return math.Pi / 4 * c.Bore * c.Bore }

// PistonStroke returns the piston's stroke from its highest to its lowest place, m.
//
//	S = √((l+a)² − e²) − √((l−a)² − e²)
//
// It is 2a when the pin is not offset.
func (c Cylinder) PistonStroke() float64 {
	if c.PinOffset == 0 {
		return c.Stroke
	}
	a, e2 := c.Stroke/2, c.PinOffset*c.PinOffset
	return math.Sqrt((c.Rod+a)*(c.Rod+a)-e2) - math.Sqrt((c.Rod-a)*(c.Rod-a)-e2)
}

// Displacement returns the swept volume Vd of this one cylinder, m³.
//
//	Vd = Ap S
//
// Source: Heywood, Internal Combustion Engine Fundamentals (1988), §2.2.
func (c Cylinder) Displacement() float64 { return c.BoreArea() * c.PistonStroke() }

// ClearanceVolume returns the volume Vc above the piston at top dead centre, m³.
//
//	Vc = Vd/(rc − 1)
//
// Source: Heywood (1988), eq. 2.1.
func (c Cylinder) ClearanceVolume() float64 { return c.Displacement() / (c.CompressionRatio - 1) }

// PistonTravel returns how far the piston stands below top dead centre at crank angle theta, m.
//
//	x = √((l+a)² − e²) − a cos φ − √(l² − (a sin φ − e)²),  φ = θ + asin(e/(l+a))
//
// Source: Heywood (1988), eqs. 2.4 and 2.5, with the pin's offset put in.
func (c Cylinder) PistonTravel(theta float64) float64 {
	a, l, e := c.Stroke/2, c.Rod, c.PinOffset
	if e == 0 {
		// a (1 − cos θ) + l − √(l² − a² sin² θ), each difference in the form that does not cancel near the top.
		h := math.Sin(theta / 2)
		s := a * math.Sin(theta)
		return 2*a*h*h + s*s/(l+math.Sqrt(l*l-s*s))
	}
	sin, cos := math.Sincos(theta + math.Asin(e/(l+a)))
	w := a*sin - e
	return math.Max(0, math.Sqrt((l+a)*(l+a)-e*e)-a*cos-math.Sqrt(l*l-w*w))
}

// Volume returns the volume V above the piston at crank angle theta, m³.
//
//	V = Vc + Ap x
//
// Source: Heywood (1988), eq. 2.6.
func (c Cylinder) Volume(theta float64) float64 {
	return c.ClearanceVolume() + c.BoreArea()*c.PistonTravel(theta)
}

// VolumeSlope returns dV/dθ at crank angle theta, m³/rad.
//
//	dV/dθ = Ap dx/dθ
func (c Cylinder) VolumeSlope(theta float64) float64 {
	first, _ := c.travelSlopes(theta)
	return c.BoreArea() * first
}

// WallArea returns the area the gas touches at crank angle theta, m².
//
//	A = k Ap + π B x
//
// chamber is k, the area of chamber roof and piston crown together over the bore area: 2 when both are flat, more for a
// domed crown or a roof that slopes. The strip of liner above the piston at top dead centre belongs to k.
// Source: Heywood (1988), eq. 2.7.
func (c Cylinder) WallArea(theta, chamber float64) float64 {
	return chamber*c.BoreArea() + math.Pi*c.Bore*c.PistonTravel(theta)
}

// travelSlopes returns dx/dθ, m/rad, and d²x/dθ², m/rad².
//
//	dx/dθ   = a sin φ + w w'/r
//	d²x/dθ² = a cos φ + (w'² + w w'')/r + (w w')²/r³
//	w = a sin φ − e,  w' = a cos φ,  w'' = −a sin φ,  r = √(l² − w²)
func (c Cylinder) travelSlopes(theta float64) (first, second float64) {
	a, e := c.Stroke/2, c.PinOffset
	if e != 0 {
		theta += math.Asin(e / (c.Rod + a))
	}
	sin, cos := math.Sincos(theta)
	w, w1, w2 := a*sin-e, a*cos, -a*sin
	r := math.Sqrt(c.Rod*c.Rod - w*w)
	first = a*sin + w*w1/r
	second = a*cos + (w1*w1+w*w2)/r + w*w1*w*w1/(r*r*r)
	return first, second
}

// PistonAcceleration returns the piston's acceleration, m/s², positive downwards, at crank angle theta and a steady
// engine speed, rad/s.
//
//	d²x/dt² = d²x/dθ² N²
//
// At top dead centre without offset it is a N² (1 + a/l).
func (c Cylinder) PistonAcceleration(theta, speed float64) float64 {
	_, second := c.travelSlopes(theta)
	return second * speed * speed
}

// MeanPistonSpeed returns the mean piston speed Sp, m/s, at engine speed N, rad/s.
//
//	Sp = S N/π
//
// Source: Heywood (1988), eq. 2.9.
func (c Cylinder) MeanPistonSpeed(speed float64) float64 { return c.PistonStroke() * speed / math.Pi }

// MaxPistonSpeed returns the greatest piston speed of the turn, m/s, at engine speed, rad/s: the greatest of |dx/dθ| N
// over both strokes, which differ when the pin is offset.
func (c Cylinder) MaxPistonSpeed(speed float64) float64 {
	bottom := c.bottomDeadCentre()
	slope := func(theta float64) float64 {
		first, _ := c.travelSlopes(theta)
		return math.Abs(first)
	}
	return math.Max(maximum(slope, 0, bottom), maximum(slope, bottom, 2*math.Pi)) * math.Abs(speed)
}

// MaxPistonAcceleration returns the greatest piston acceleration of the turn, m/s², at engine speed, rad/s. It is that
// near top dead centre, downwards: a N² (1 + a/l) when the pin is not offset.
func (c Cylinder) MaxPistonAcceleration(speed float64) float64 {
	if c.PinOffset == 0 {
		return c.PistonAcceleration(0, speed)
	}
	// An offset moves the peak off top dead centre by a part of its own angle; a quarter turn each way holds it.
	return maximum(func(theta float64) float64 {
		_, second := c.travelSlopes(theta)
		return second
	}, -math.Pi/2, math.Pi/2) * speed * speed
}

// MaxRodAngle returns the greatest angle between rod and cylinder axis, rad.
//
//	asin((a + |e|)/l)
func (c Cylinder) MaxRodAngle() float64 {
	return math.Asin((c.Stroke/2 + math.Abs(c.PinOffset)) / c.Rod)
}

// RodRatio returns the rod's length over the stroke, l/(2a).
func (c Cylinder) RodRatio() float64 { return c.Rod / c.Stroke }

// EffectiveCompressionRatio returns the volume trapped when the inlet closes over the clearance volume. inletCloses is
// the crank angle of closing, rad, as Valves.InletClosingAngle gives it.
func (c Cylinder) EffectiveCompressionRatio(inletCloses float64) float64 {
	return c.Volume(inletCloses) / c.ClearanceVolume()
}

// bottomDeadCentre returns the crank angle at which the piston stands lowest, rad, between 0 and 2π.
func (c Cylinder) bottomDeadCentre() float64 {
	a := c.Stroke / 2
	return math.Pi + math.Asin(c.PinOffset/(c.Rod-a)) - math.Asin(c.PinOffset/(c.Rod+a))
}

// maximum returns the greatest value of f between lo and hi, where f rises and then falls. The golden section leaves the
// place known to 1e-9 rad, the value there, which is flat, to rounding.
func maximum(f func(float64) float64, lo, hi float64) float64 {
	const ratio = 0.6180339887498949 // (√5 − 1)/2
	x1, x2 := hi-ratio*(hi-lo), lo+ratio*(hi-lo)
	f1, f2 := f(x1), f(x2)
	for hi-lo > 1e-9 {
		if f1 < f2 {
			lo, x1, f1 = x1, x2, f2
			x2 = lo + ratio*(hi-lo)
			f2 = f(x2)
		} else {
			hi, x2, f2 = x2, x1, f1
			x1 = hi - ratio*(hi-lo)
			f1 = f(x1)
		}
	}
	return math.Max(f1, f2)
}

// positive reports whether x is finite and above zero.
func positive(x float64) bool { return x > 0 && !math.IsInf(x, 1) }
