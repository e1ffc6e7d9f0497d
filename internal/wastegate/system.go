package wastegate

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// A System is an actuator with the valves that feed its ports.
//
// One duty drives it: that of the opening port's valve, or that of the closing port's where there is no other. Where both
// ports have a valve they work in opposition, the closing one at 1 less the opening one's duty.
type System struct {
	Actuator Actuator
	Opening  *PulsedValve // nil: the port is fed straight from the source
	Closing  *PulsedValve // nil: the port is open to the venue
}

// Validate returns an error when a part is not valid, a valve feeds a port that has no area, or the two valves work
// against each other: then one raises the port force with the duty and the other lowers it.
func (y System) Validate() error {
	if err := y.Actuator.Validate(); err != nil {
		return err
	}
	if y.Opening != nil {
		if err := y.Opening.Validate(); err != nil {
			return fmt.Errorf("opening port: %w", err)
		}
	}
	if y.Closing != nil {
		if err := y.Closing.Validate(); err != nil {
			return fmt.Errorf("closing port: %w", err)
		}
		if y.Actuator.ClosingArea == 0 {
			return errors.New("closing port: a valve feeds it, but the actuator's closing area is 0")
		}
	}
	if y.Opening != nil && y.Closing != nil && y.Opening.rises() != y.Closing.rises() {
		return errors.New("the two pulsed valves work against each other: with opposed duties the pressures of both ports rise together")
	}
	return nil
}

// Driven reports whether a pulsed valve feeds one of the ports.
func (y System) Driven() bool { return y.Opening != nil || y.Closing != nil }

// Ends returns the duties at which the port force is least and greatest: that which shuts the valve hardest, and that which opens it furthest.
func (y *System) Ends() (shut, open float64) {
	if y.Opening != nil && y.Opening.rises() || y.Opening == nil && y.Closing != nil && !y.Closing.rises() {
		return 0, 1
	}
	return 1, 0
}

// duties returns the duty of each port's valve, NaN where there is none.
func (y *System) duties(duty float64) (opening, closing float64) {
	switch {
	case y.Opening != nil && y.Closing != nil:
		return duty, 1 - duty
	case y.Opening != nil:
		return duty, math.NaN()
	case y.Closing != nil:
		return math.NaN(), duty
	}
	return math.NaN(), math.NaN()
}

// ports returns the pressures of both ports at a duty, Pa absolute.
func (y *System) ports(s *State, duty float64) (opening, closing float64, err error) {
	o, c := y.duties(duty)
	opening, closing = s.SourcePressure, s.VenuePressure
	if y.Opening != nil {
		if opening, err = y.Opening.portPressure(s, o); err != nil {
			return 0, 0, fmt.Errorf("opening port: %w", err)
		}
	}
	if y.Closing != nil {
		if closing, err = y.Closing.portPressure(s, c); err != nil {
			return 0, 0, fmt.Errorf("closing port: %w", err)
		}
	}
	return opening, closing, nil
}

func (y *System) portForce(s *State, duty float64) (float64, error) {
	opening, closing, err := y.ports(s, duty)
	return y.Actuator.PortForce(*s, opening, closing), err
}

// extremes are the duties at which the port force is least and greatest, and those forces, N.
type extremes struct {
	shut, open      float64
	least, greatest float64
}

func (y *System) extremes(s *State) (extremes, error) {
	var e extremes
	var err error
	e.shut, e.open = y.Ends()
	if e.least, err = y.portForce(s, e.shut); err != nil {
		return e, err
	}
	if e.greatest, err = y.portForce(s, e.open); err != nil {
		return e, err
	}
	if e.greatest < e.least { // the source is below the venue
		e = extremes{e.open, e.shut, e.greatest, e.least}
	}
	return e, nil
}

// Room returns what the ports have left at a point's lift. shutting is the force that keeps the valve from opening further when everything holds
// it closed that can, as a share of the venue's pressure on the opening area; opening the like with everything pushing it open that can, or the
// share of the stroke that is left, whichever is less.
//
//	shutting = (N − least port force)/(pa Ao),  opening = min((greatest port force − N)/(pa Ao), 1 − l/lmax)
//	N = F0 + k L l ∓ (p3 − p4) Av/L
//
// With shutting negative the valve opens further: the ports cannot hold as much boost. With opening negative it stays further closed: they cannot
// let the boost be as low. NaN where a port's pressure is not found.
func (y *System) Room(p *Point) (shutting, opening float64) {
	e, err := y.extremes(&p.State)
	if err != nil {
		return math.NaN(), math.NaN()
	}
	needed, scale := y.Actuator.NeededForce(p.State, p.Lift), p.VenuePressure*y.Actuator.OpeningArea
	return (needed - e.least) / scale, min((e.greatest-needed)/scale, 1-p.Lift/y.Actuator.GreatestLift())
}

// A Side is what does not suffice to hold a lift.
type Side int

// The sides that may be short.
const (
	NoSide      Side = iota // the lift can be held
	OpeningSide             // the ports cannot open the valve as far: boost goes past what is wanted
	ClosingSide             // the ports cannot keep the valve from opening further: boost stays below what is wanted
	TravelSide              // the actuator's stroke ends before
)

func (s Side) String() string {
	switch s {
	case NoSide:
		return "none"
	case OpeningSide:
		return "opening"
	case ClosingSide:
		return "closing"
	case TravelSide:
		return "travel"
	}
	return fmt.Sprintf("Side(%d)", int(s))
}

// A Holding is how the system holds a lift, or how near it comes.
type Holding struct {
	OpeningDuty     float64 // NaN where the port has no valve
	ClosingDuty     float64 // likewise
	OpeningPressure float64 // po, Pa absolute
	ClosingPressure float64 // pc, Pa absolute
	AirFlow         float64 // taken from the source through the valves, mean, kg/s

	NeededForce   float64 // port force that holds the lift, N
	PortForce     float64 // port force at the duties given, N
	OpeningMargin float64 // greatest port force there is less the one needed, N; negative: short by that much
	ClosingMargin float64 // the one needed less the least there is, N; negative: short by that much
	ForceMargin   float64 // the smaller of the two; for a valve that is to stay closed the closing one
	TravelMargin  float64 // greatest lift less the one wanted, m; negative: short by that much
	Short         Side

	// Authority is the duty's distance from the nearer of its ends, 0 to 0.5: NaN for a valve that is to stay closed,
	// which asks for an end, and where there is no pulsed valve. At an end because a side is short, it is 0.
	Authority float64
}

// dutyTolerance keeps the force balance below 1e-9 of its terms even where the whole stroke lies within 1 % of the duty.
const dutyTolerance = 1e-14

// TravelTolerance is the share of the greatest lift that a lift may lie beyond it: a boost held at the stop is known no better.
const TravelTolerance = 1e-6

// Hold returns the duties that hold the point's lift.
//
//	(po(D) − pa) Ao − (pc(D) − pa) Ac = F0 + k L l ∓ (p3 − p4) Av/L, solved for D in 0 to 1
//
// A lift of 0 asks for no balance, only for no more port force than the right side: the duty is the end that shuts
// hardest. Where no duty holds the lift, the duty is the end that comes nearest and Short tells what is missing.
func (y System) Hold(p Point) (Holding, error) {
	if err := y.Validate(); err != nil {
		return Holding{}, err
	}
	if err := p.validate(); err != nil {
		return Holding{}, err
	}
	s := &p.State
	e, err := y.extremes(s)
	if err != nil {
		return Holding{}, err
	}
	h := Holding{
		NeededForce:  y.Actuator.NeededForce(*s, p.Lift),
		TravelMargin: y.Actuator.GreatestLift() - p.Lift,
	}
	h.OpeningMargin, h.ClosingMargin = e.greatest-h.NeededForce, h.NeededForce-e.least
	if !finite(h.OpeningMargin) || !finite(h.ClosingMargin) {
		return Holding{}, fmt.Errorf("forces on the actuator are out of all bounds: needed %s, ports %s to %s",
			newtons(h.NeededForce), newtons(e.least), newtons(e.greatest))
	}
	h.ForceMargin = h.ClosingMargin
	if p.Lift > 0 {
		h.ForceMargin = math.Min(h.OpeningMargin, h.ClosingMargin)
	}

	var duty float64
	switch {
	case p.Lift == 0:
		duty = e.shut
		if h.ClosingMargin < 0 {
			h.Short = ClosingSide
		}
	case h.TravelMargin < -TravelTolerance*y.Actuator.GreatestLift():
		duty, h.Short = e.open, TravelSide
	case h.OpeningMargin < 0:
		duty, h.Short = e.open, OpeningSide
	case h.ClosingMargin < 0:
		duty, h.Short = e.shut, ClosingSide
	case !y.Driven():
	default:
		if duty, err = y.dutyFor(s, h.NeededForce); err != nil {
			return Holding{}, err
		}
	}
	h.OpeningDuty, h.ClosingDuty = y.duties(duty)
	h.Authority = math.Min(duty, 1-duty)
	if p.Lift == 0 || !y.Driven() {
		h.Authority = math.NaN()
	}
	if h.OpeningPressure, h.ClosingPressure, err = y.ports(s, duty); err != nil {
		return Holding{}, err
	}
	h.PortForce = y.Actuator.PortForce(*s, h.OpeningPressure, h.ClosingPressure)
	if y.Opening != nil {
		h.AirFlow += y.Opening.airFlow(s, h.OpeningDuty, h.OpeningPressure)
	}
	if y.Closing != nil {
		h.AirFlow += y.Closing.airFlow(s, h.ClosingDuty, h.ClosingPressure)
	}
	return h, nil
}

// dutyFor returns the duty at which the port force is the one given, N, which lies between those at the two ends.
func (y *System) dutyFor(s *State, force float64) (float64, error) {
	var failure error
	root, err := numeric.FindRoot(func(duty float64) float64 {
		got, err := y.portForce(s, duty)
		if err != nil {
			failure = err
			return math.NaN()
		}
		return got - force
	}, 0, 1, dutyTolerance)
	if failure != nil {
		return 0, failure
	}
	if err != nil {
		return 0, fmt.Errorf("duty for a port force of %s: %w", newtons(force), err)
	}
	return root.X, nil
}
