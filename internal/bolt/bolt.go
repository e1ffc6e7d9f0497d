// Package bolt computes bolted joints: the preload that a tightening torque gives, how far it scatters, what a load that pulls the joint apart leaves
// of the clamp, and the stress in the bolt.
package bolt

import (
	"fmt"
	"math"
)

// A Bolt is a bolt with a metric thread (60° flanks, ISO 68-1).
type Bolt struct {
	Diameter       float64 // of the thread, d, m
	Pitch          float64 // of the thread, P, m
	Shank          float64 // least diameter of a waisted shank, m; 0 when the thread is the weakest
	ThreadFriction float64 // coefficient µG
	HeadFriction   float64 // coefficient µK, under what is turned: head or nut
	HeadDiameter   float64 // outer diameter of the face under it, dw, m
	HoleDiameter   float64 // inner diameter of that face, dh, m
}

// Validate returns an error when the figures are not those of a bolt.
func (b Bolt) Validate() error {
	switch {
	case !(b.Diameter > 0) || math.IsInf(b.Diameter, 0):
		return fmt.Errorf("thread diameter is %v m; want more than 0", b.Diameter)
	case !(b.Pitch > 0 && b.rootDiameter() > 0):
		return fmt.Errorf("pitch is %.4g mm; want more than 0 and less than %.3g mm, which leaves a root", 1e3*b.Pitch, 1e3*b.Diameter/rootDepth)
	case !(b.Shank >= 0) || math.IsInf(b.Shank, 0):
		return fmt.Errorf("shank diameter is %v m; want 0 or more", b.Shank)
	case !(b.ThreadFriction >= 0 && b.ThreadFriction <= 1) || !(b.HeadFriction >= 0 && b.HeadFriction <= 1):
		return fmt.Errorf("friction coefficients are %v and %v; want 0 to 1", b.ThreadFriction, b.HeadFriction)
	case !(b.HoleDiameter >= 0 && b.HeadDiameter >= b.HoleDiameter) || math.IsInf(b.HeadDiameter, 0):
		return fmt.Errorf("the face under the head goes from %.4g mm to %.4g mm; want the outer diameter no less than the hole's",
			1e3*b.HoleDiameter, 1e3*b.HeadDiameter)
	}
	return nil
}

// Depths of the thread over its pitch: d − d2 and d − d3. Source: ISO 68-1 and ISO 724, 60° profile: 3/8 √3 and 17/24 √3.
const (
	pitchDepth = 0.649519
	rootDepth  = 1.226869
)

func (b Bolt) pitchDiameter() float64 { return b.Diameter - pitchDepth*b.Pitch }
func (b Bolt) rootDiameter() float64  { return b.Diameter - rootDepth*b.Pitch }

// weakest returns the diameter that carries: that of the stress area, or of a shank that is thinner, m.
func (b Bolt) weakest() float64 {
	d := (b.pitchDiameter() + b.rootDiameter()) / 2
	if b.Shank > 0 {
		return math.Min(d, b.Shank)
	}
	return d
}

// StressArea returns the area that carries A0, m².
//
//	A0 = π/4 ((d2 + d3)/2)², or that of a shank that is thinner
//
// Source: ISO 898-1.
func (b Bolt) StressArea() float64 { return math.Pi / 4 * b.weakest() * b.weakest() }

// threadArm and headArm are the arms of the friction and the slope of the thread, and of the friction under the head, over the preload, m.
func (b Bolt) threadArm() float64 { return 0.16*b.Pitch + 0.58*b.pitchDiameter()*b.ThreadFriction }
func (b Bolt) headArm() float64   { return (b.HeadDiameter + b.HoleDiameter) / 4 * b.HeadFriction }

// Torque returns the tightening torque MA, N m, that gives a preload FM, N.
//
//	MA = FM (0.16 P + 0.58 d2 µG + DKm/2 µK),  DKm = (dw + dh)/2
//
// Source: VDI 2230:2001, from memory; it gives five rows of the guideline's own table of fine threads within 0.4 %.
func (b Bolt) Torque(preload float64) float64 { return preload * (b.threadArm() + b.headArm()) }

// Preload returns the preload FM, N, that a tightening torque, N m, gives: Torque the other way round.
func (b Bolt) Preload(torque float64) float64 { return torque / (b.threadArm() + b.headArm()) }

// TighteningStress returns the equivalent stress while the bolt is tightened to a preload FM, Pa.
//
//	σ = √((FM/A0)² + 3 τ²),  τ = FM (0.16 P + 0.58 d2 µG)/(π/12 d0³)
//
// d0 is the diameter of A0, and π/12 d0³ the section modulus of a bolt that yields all through. Source: VDI 2230:2001, from memory; it gives the 90 %
// of the yield stress that the guideline's table of fine threads is made for.
func (b Bolt) TighteningStress(preload float64) float64 { return b.equivalent(preload, preload, 1) }

// WorkingStress returns the equivalent stress of a bolt tightened to a preload and pulled with a force more, Pa. Half of the torsion is taken to be
// left.
//
// Source: VDI 2230:2001, kτ = 0.5, from memory.
func (b Bolt) WorkingStress(preload, more float64) float64 {
	return b.equivalent(preload, preload+more, 0.5)
}

func (b Bolt) equivalent(tightened, pull, torsion float64) float64 {
	d0 := b.weakest()
	sigma := pull / b.StressArea()
	tau := torsion * tightened * b.threadArm() / (math.Pi / 12 * d0 * d0 * d0)
	return math.Sqrt(sigma*sigma + 3*tau*tau)
}

// A Spread is a preload with what tightening makes of it, N.
type Spread struct{ Least, Nominal, Most float64 }

// Scattered returns the least and the greatest preload round the nominal one, by the tightening factor αA.
//
//	αA = Fmax/Fmin,  (Fmin + Fmax)/2 = the nominal one
//
// Source: VDI 2230:2001.
func Scattered(nominal, alpha float64) Spread {
	least := 2 * nominal / (1 + alpha)
	return Spread{Least: least, Nominal: nominal, Most: alpha * least}
}

// A Joint is a number of equal bolts that hold two parts together against a force that pulls them apart.
type Joint struct {
	Bolt
	Count   float64 // of bolts that share the force; not whole where cylinders share bolts
	Preload Spread  // of each
	Factor  float64 // Φ, the bolt's share of a force on the joint: its stiffness over that of bolt and parts together, 0 to 1
}

// Validate returns an error when the figures are not those of a joint.
func (j Joint) Validate() error {
	switch {
	case !(j.Count > 0) || math.IsInf(j.Count, 0):
		return fmt.Errorf("number of bolts is %v; want more than 0", j.Count)
	case !(j.Preload.Least > 0 && j.Preload.Most >= j.Preload.Least) || math.IsInf(j.Preload.Most, 0):
		return fmt.Errorf("preload is %v N to %v N; want more than 0", j.Preload.Least, j.Preload.Most)
	case !(j.Factor >= 0 && j.Factor < 1):
		return fmt.Errorf("joint factor is %v; want 0 to less than 1", j.Factor)
	}
	return j.Bolt.Validate()
}

// ClampLeft returns what a force, N, leaves of the clamp where the preload is least, as a share of it; negative where the parts lift off each other.
//
//	1 − (1 − Φ) F/(n Fmin)
//
// Source: the bolted joint as two springs, closed form; VDI 2230:2001, FKR.
func (j Joint) ClampLeft(force float64) float64 {
	return 1 - (1-j.Factor)*force/(j.Count*j.Preload.Least)
}

// LiftOff returns the force at which the parts lift off each other where the preload is least, N.
//
//	n Fmin/(1 − Φ)
func (j Joint) LiftOff() float64 { return j.Count * j.Preload.Least / (1 - j.Factor) }

// Stress returns the stress of a bolt under a force on the joint, Pa, where the preload is greatest: its working stress with its share Φ F/n of the
// force, or, if that is more, with all of what goes beyond the clamp.
func (j Joint) Stress(force float64) float64 {
	share := j.Factor * force / j.Count
	if lifted := force/j.Count - j.Preload.Most; lifted > share {
		share = lifted // the parts no longer touch: the bolt carries all of it
	}
	return j.WorkingStress(j.Preload.Most, math.Max(share, 0))
}
