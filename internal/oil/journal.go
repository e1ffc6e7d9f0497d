package oil

import (
	"fmt"
	"math"

	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

// A Journal is a plain bearing.
type Journal struct {
	Diameter  float64 // of the shaft in it, m
	Length    float64 // that carries, m
	Clearance float64 // radial, m: half of what a workshop measures over the diameter
}

// LongestShort is the length over the diameter up to which the short bearing is taken: it holds up to 0.5, and to 0.7 with care.
const LongestShort = 0.7

// surface returns the speed of the journal's surface U, m/s, at a speed of rotation, rad/s.
func (j Journal) surface(speed float64) float64 { return speed * j.Diameter / 2 }

// Load returns the steady load W that the bearing carries at an eccentricity ε, N; speed in rad/s, viscosity µ in Pa s.
//
//	W = µ U L³/c² · ε/(4 (1 − ε²)²) · √(π² (1 − ε²) + 16 ε²)
//
// Source: short bearing after Ocvirk; DuBois and Ocvirk, NACA TR 1157 (1953). Length at most half the diameter, oil that does not thin on its way, a
// film round half of the journal, load and speed steady.
func (j Journal) Load(eccentricity, speed, viscosity float64) float64 {
	e, free := eccentricity, 1-eccentricity*eccentricity
	scale := viscosity * j.surface(speed) * j.Length * j.Length * j.Length / (j.Clearance * j.Clearance)
	return scale * e / (4 * free * free) * math.Sqrt(math.Pi*math.Pi*free+16*e*e)
}

// SideFlow returns the oil that turning drives out at the bearing's sides at an eccentricity ε, m³/s: what enters at the widest gap over what arrives
// at the narrowest.
//
//	Q = ε U c L
//
// Source: short bearing after Ocvirk, NACA TR 1157.
func (j Journal) SideFlow(eccentricity, speed float64) float64 {
	return eccentricity * j.surface(speed) * j.Clearance * j.Length
}

// A Groove runs round the middle of a bearing and feeds it.
type Groove struct {
	Arc   float64 // of the circle, rad
	Width float64 // along the shaft, m
}

// FedFlow returns the oil that a pressure p, Pa, in the groove drives out over the lands beside it, m³/s.
//
//	Q = 2 p R c³/(12 µ l) ∫ (1 + ε cos θ)³ dθ, l = (L − b)/2
//
// over the groove's arc, which lies round the widest gap. Over the whole circle the integral is 2π (1 + 1.5 ε²), which gives π p R c³/(3 µ l) (1 +
// 1.5 ε²). Source: laminar flow in a narrow gap; Shigley, Mechanical Engineering Design, pressure-fed bearings. A groove over part of the circle is
// the same flow over that part, ours; oil that leaves past its ends is left out.
func (j Journal) FedFlow(g Groove, pressure, eccentricity, viscosity float64) float64 {
	land := (j.Length - g.Width) / 2
	e, half := eccentricity, math.Min(g.Arc, 2*math.Pi)/2
	// The integral of 1 + 3 ε cos θ + 3 ε² cos² θ + ε³ cos³ θ from −half to half.
	s := math.Sin(half)
	integral := 2*half + 6*e*s + 3*e*e*(half+s*math.Cos(half)) + 2*e*e*e*(s-s*s*s/3)
	c := j.Clearance
	return pressure * j.Diameter / 2 * c * c * c / (6 * viscosity * land) * integral
}

// A Film is how a journal runs in its bearing.
type Film struct {
	Eccentricity float64 // ε, share of the clearance
	Attitude     float64 // between the load and the narrowest gap, rad
	Thickness    float64 // of the narrowest gap, m
	Specific     float64 // load over length times diameter, Pa
}

// thinnestShare is the film over the clearance below which it is not told: no surface is so smooth.
const thinnestShare = 1e-4

// Under returns the film under a steady load W, N, at a speed, rad/s, and a viscosity, Pa s: the eccentricity at which Load is W,
//
//	h = c (1 − ε), tan φ = π √(1 − ε²)/(4 ε)
//
// Source: short bearing after Ocvirk, NACA TR 1157. A load that rises and falls with the cycle is carried by squeezing the film as well, which takes
// time to get thin: with the peak of such a load this is a low bound of the film. A load for which nothing is left of the film is an error.
func (j Journal) Under(load, speed, viscosity float64) (Film, error) {
	if !(load >= 0) || !(speed > 0) || !(viscosity > 0) || !finite(load) {
		return Film{}, fmt.Errorf("a load of %.4g N at %.4g rad/s and %.4g Pa s; want a load of 0 or more, speed and viscosity above 0", load, speed,
			viscosity)
	}
	most := 1 - thinnestShare
	if !(j.Load(most, speed, viscosity) >= load) {
		return Film{}, fmt.Errorf("%s leave less than a ten thousandth of the clearance", units.Rounded(load, units.Force, "N", 4))
	}
	root, err := numeric.FindRoot(func(e float64) float64 { return j.Load(e, speed, viscosity) - load }, 0, most, 1e-14)
	if err != nil {
		return Film{}, fmt.Errorf("eccentricity of the journal: %w", err)
	}
	e := root.X
	return Film{e, math.Atan2(math.Pi*math.Sqrt(1-e*e), 4*e), j.Clearance * (1 - e), load / (j.Length * j.Diameter)}, nil
}
