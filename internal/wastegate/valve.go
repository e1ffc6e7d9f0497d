package wastegate

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
)

// A Kind is how a pulsed valve is piped to its port.
type Kind int

// The pipings of a pulsed valve.
const (
	Bleed    Kind = iota // the valve lets air from the source into the port, a fixed orifice bleeds the port to the venue
	ThreeWay             // the valve joins the port to the source while open, to the venue while closed
	Vent                 // a fixed orifice feeds the port from the source, the valve vents it to the venue
)

// A PulsedValve is a valve, opened and closed many times a second, that sets the mean pressure in a port.
type PulsedValve struct {
	Kind      Kind
	Area      float64 // effective area Cd A of the open valve, m²
	BleedArea float64 // of the fixed orifice, or of a three-way valve's way to the venue, m²; 0 there: as Area
	RestsOpen bool    // without current the valve is open: the duty counts the time it is closed
}

// Validate returns an error when a figure is outside its range.
func (v PulsedValve) Validate() error {
	switch {
	case v.Kind < Bleed || v.Kind > Vent:
		return fmt.Errorf("kind of the pulsed valve is %d; want a bleed, a three-way or a vent valve", v.Kind)
	case !positive(v.Area):
		return fmt.Errorf("area of the pulsed valve is %v m²; want more than 0", v.Area)
	case !notNegative(v.BleedArea):
		return fmt.Errorf("bleed area of the pulsed valve is %v m²; want 0 or more", v.BleedArea)
	case v.BleedArea == 0 && v.Kind != ThreeWay:
		return errors.New("bleed area of the pulsed valve is 0; a valve with a fixed orifice needs more than 0")
	}
	return nil
}

// PortPressure returns the mean pressure in the port p, Pa absolute, at a duty D from 0 to 1.
//
//	Ai ps/√(R T) ψ(p/ps, γ) = Ao p/√(R T) ψ(pa/p, γ)
//	bleed: Ai = u A, Ao = B;  three-way: Ai = u A, Ao = (1 − u) B;  vent: Ai = B, Ao = u A
//
// u is the share of the time that the valve is open, D or, where it rests open, 1 − D. With Ai of 0 the port is at the
// venue's pressure, with Ao of 0 at the source's; between, the pressure rises with Ai/Ao, and so goes one way with the duty.
// Source pressures below the venue's reverse both flows.
//
// Source: continuity, each flow after de Saint-Venant and Wantzel. It takes the port's volume as large enough, and the
// pulses as short enough, for the pressure to stand still over a pulse; the opening and shutting times as short against
// it; and the air in the port as warm as at the source. Hoses that cool it by 10 % leave the bleed passing 5 % more.
func (v PulsedValve) PortPressure(s State, duty float64) (float64, error) {
	if err := v.Validate(); err != nil {
		return 0, err
	}
	if err := s.Validate(); err != nil {
		return 0, err
	}
	if !(duty >= 0 && duty <= 1) {
		return 0, fmt.Errorf("duty is %v; want 0 to 1", duty)
	}
	return v.portPressure(&s, duty)
}

// pressureTolerance is 1e-14 of sea-level pressure, about the spacing of numbers there: a force balance to 1e-9 is built on it.
const pressureTolerance = 1e-9

func (v *PulsedValve) portPressure(s *State, duty float64) (float64, error) {
	in, out := v.areas(duty)
	high, low := s.SourcePressure, s.VenuePressure
	if high < low {
		high, low, in, out = low, high, out, in
	}
	switch {
	case in == 0 || high == low:
		return low, nil
	case out == 0:
		return high, nil
	}
	root, err := numeric.FindRoot(func(p float64) float64 {
		return in*high*gas.FlowFunction(p/high, s.Gamma) - out*p*gas.FlowFunction(low/p, s.Gamma)
	}, low, high, pressureTolerance)
	if err != nil {
		return 0, fmt.Errorf("pressure of the port: %w", err)
	}
	return root.X, nil
}

// areas returns the mean effective areas from the source to the port and from the port to the venue.
func (v *PulsedValve) areas(duty float64) (in, out float64) {
	open, shut := duty, 1-duty
	if v.RestsOpen {
		open, shut = shut, open
	}
	switch {
	case v.Kind == Bleed:
		return open * v.Area, v.BleedArea
	case v.Kind == Vent:
		return v.BleedArea, open * v.Area
	case v.BleedArea > 0:
		return open * v.Area, shut * v.BleedArea
	}
	return open * v.Area, shut * v.Area
}

// airFlow returns the mean flow from the source to the venue, kg/s, with the port at a pressure, Pa absolute.
func (v *PulsedValve) airFlow(s *State, duty, port float64) float64 {
	_, out := v.areas(duty)
	scale := out / math.Sqrt(s.GasConstant*s.SourceTemperature)
	if port < s.VenuePressure {
		return -scale * s.VenuePressure * gas.FlowFunction(port/s.VenuePressure, s.Gamma)
	}
	return scale * port * gas.FlowFunction(s.VenuePressure/port, s.Gamma)
}

// rises reports whether the port's pressure rises with the duty, the source being above the venue.
func (v *PulsedValve) rises() bool { return (v.Kind == Vent) == v.RestsOpen }
