// Package wastegate computes what holds the boost: the forces on the wastegate's actuator, the pressures that pulsed
// valves put into its ports, and the boost that follows.
package wastegate

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/units"
)

// A State is what the actuator and its valves find at one operating point.
type State struct {
	VenuePressure         float64 // round the actuator and at every vent pa, Pa absolute
	SourcePressure        float64 // where the valves take their air, the compressor's outlet or the manifold, ps, Pa absolute
	SourceTemperature     float64 // there, K
	TurbineInletPressure  float64 // p3, Pa absolute
	TurbineOutletPressure float64 // p4, Pa absolute
	Gamma                 float64 // of the source's air
	GasConstant           float64 // of the source's air R, J/(kg K)
}

// Validate returns an error when a figure is not finite and positive, or γ is outside 1.05 to 1.7.
func (s State) Validate() error {
	for _, v := range []struct {
		name, unit string
		value      float64
	}{
		{"venue pressure", "Pa", s.VenuePressure},
		{"pressure of the control air", "Pa", s.SourcePressure},
		{"temperature of the control air", "K", s.SourceTemperature},
		{"turbine inlet pressure", "Pa", s.TurbineInletPressure},
		{"turbine outlet pressure", "Pa", s.TurbineOutletPressure},
		{"gas constant", "J/(kg K)", s.GasConstant},
	} {
		if !positive(v.value) {
			return fmt.Errorf("%s is %v %s; want more than 0", v.name, v.value, v.unit)
		}
	}
	if !(s.Gamma >= 1.05 && s.Gamma <= 1.7) {
		return fmt.Errorf("ratio of heat capacities is %v; want 1.05 to 1.7", s.Gamma)
	}
	return nil
}

// An Actuator is a spring-loaded diaphragm that moves one valve, directly or by a lever.
//
// The free body is everything that moves: diaphragm, rod, lever and valve. s is the diaphragm's travel, l the valve's
// lift, both from the seat and positive towards open; the lever makes s = L l.
//
//	         vent or pulsed valve
//	                  │
//	┌─────────────────┴───┐
//	│ pc ⇊ spring F0 + k s│  closing port: pc on Ac
//	╞══════════╤══════════╡  diaphragm, travel s ↑ opens
//	│ po       │          │  opening port: po on Ao
//	└─────┬────┼──────────┘
//	      │    │ rod, its end in the venue's air pa
//	    source └──o── lever, s = L l ── valve, lift l, pushed by (p3 − p4) Av
//
// At rest the forces do no work in a small travel δs, with δl = δs/L at the valve:
//
//	[po Ao − pc Ac − pa (Ao − Ac) − (F0 + k s)] δs ± (p3 − p4) Av δl = 0
//
// pa pushes on what the two areas differ by, the rod's section. Divided by δs:
//
//	(po − pa) Ao − (pc − pa) Ac = F0 + k L l ∓ (p3 − p4) Av/L,  Av = π d²/4
//
// The left side is the port force; the right side the force the ports have to give. A diaphragm that travels L times as
// far as the valve feels 1/L of the valve's force. The upper sign holds for a valve that the exhaust pushes open, the
// lower for one that it pushes closed.
//
// Source: principle of virtual work. Left out: friction, the valve stem's section, the fall of the pressure on the
// valve's face once it is off its seat, the exhaust's pulsation, and the change of a diaphragm's area over its travel.
type Actuator struct {
	Preload       float64 // spring force with the valve closed F0, at the diaphragm, N
	Rate          float64 // of the spring k, N/m
	OpeningArea   float64 // that the opening port's pressure acts on Ao, m²
	ClosingArea   float64 // that the closing port's acts on, the spring's side, Ac, m²; 0: that side is open to the venue
	LeverRatio    float64 // diaphragm travel over valve lift L; 1 for a valve on the rod
	Stroke        float64 // greatest diaphragm travel, m
	ValveDiameter float64 // of the face the exhaust pushes on d, m; 0 for a balanced valve
	ExhaustShuts  bool    // the exhaust manifold lies behind the valve, so that p3 − p4 presses it onto its seat
}

// Validate returns an error when a figure is outside its range.
func (a Actuator) Validate() error {
	switch {
	case !notNegative(a.Preload):
		return fmt.Errorf("actuator preload is %v N; want 0 or more", a.Preload)
	case !notNegative(a.Rate):
		return fmt.Errorf("actuator spring rate is %v N/m; want 0 or more", a.Rate)
	case !positive(a.OpeningArea):
		return fmt.Errorf("actuator opening area is %v m²; want more than 0", a.OpeningArea)
	case !notNegative(a.ClosingArea):
		return fmt.Errorf("actuator closing area is %v m²; want 0 or more", a.ClosingArea)
	case !positive(a.LeverRatio):
		return fmt.Errorf("actuator lever ratio is %v; want more than 0", a.LeverRatio)
	case !positive(a.Stroke):
		return fmt.Errorf("actuator stroke is %v m; want more than 0", a.Stroke)
	case !notNegative(a.ValveDiameter):
		return fmt.Errorf("wastegate valve diameter is %v m; want 0 or more", a.ValveDiameter)
	}
	return nil
}

// GreatestLift returns the valve's lift at full stroke, m.
//
//	l = stroke/L
func (a Actuator) GreatestLift() float64 { return a.Stroke / a.LeverRatio }

// PortForce returns the force of both ports on the diaphragm, N, positive towards open.
//
//	P = (po − pa) Ao − (pc − pa) Ac
//
// opening is po and closing pc, Pa absolute.
func (a Actuator) PortForce(s State, opening, closing float64) float64 {
	return (opening-s.VenuePressure)*a.OpeningArea - (closing-s.VenuePressure)*a.ClosingArea
}

// NeededForce returns the port force that balances spring and exhaust at a valve lift l, m, in N.
//
//	N = F0 + k L l ∓ (p3 − p4) Av/L,  Av = π d²/4
//
// The sign is − where the exhaust pushes the valve open, + where it pushes it closed.
func (a Actuator) NeededForce(s State, lift float64) float64 {
	return a.Preload + a.besidesPreload(s, lift)
}

func (a Actuator) besidesPreload(s State, lift float64) float64 {
	exhaust := (s.TurbineInletPressure - s.TurbineOutletPressure) * math.Pi / 4 * a.ValveDiameter * a.ValveDiameter / a.LeverRatio
	if a.ExhaustShuts {
		exhaust = -exhaust
	}
	return a.Rate*a.LeverRatio*lift - exhaust
}

// PreloadFor returns the preload F0, N, that holds a lift, m, with the opening port at the source and the closing port
// vented: the spring for a boost without any pulsing.
//
//	F0 = (ps − pa) Ao − k L l ± (p3 − p4) Av/L
//
// The actuator's own preload does not count. A negative answer, where even an idle spring is too stiff, is an error.
func (a Actuator) PreloadFor(p Point) (float64, error) {
	a.Preload = 0
	if err := errors.Join(a.Validate(), p.validate()); err != nil {
		return 0, err
	}
	preload := a.PortForce(p.State, p.SourcePressure, p.VenuePressure) - a.besidesPreload(p.State, p.Lift)
	if !notNegative(preload) {
		return 0, fmt.Errorf("no preload holds a lift of %s at a source pressure of %s: spring rate and exhaust leave %s",
			units.Rounded(p.Lift, units.Length, "m", 0), pascals(p.SourcePressure), newtons(preload))
	}
	return preload, nil
}

// A Point is a state and the valve lift that the engine needs in it.
type Point struct {
	State
	Lift float64 // m; 0 for a valve that has to stay closed
}

func (p Point) validate() error {
	if err := p.State.Validate(); err != nil {
		return err
	}
	if !notNegative(p.Lift) {
		return fmt.Errorf("wastegate lift is %v m; want 0 or more", p.Lift)
	}
	return nil
}

func positive(x float64) bool    { return x > 0 && !math.IsInf(x, 1) }
func notNegative(x float64) bool { return x >= 0 && !math.IsInf(x, 1) }
func finite(x float64) bool      { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// pascals and newtons name figures inside a sentence.
func pascals(p float64) string { return units.Rounded(p, units.PressureDifference, "Pa", 0) }
func newtons(f float64) string { return units.Rounded(f, units.Force, "N", 0) }
