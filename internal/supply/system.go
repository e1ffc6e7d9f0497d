// Package supply computes how fuel comes from the tank to the rail: what pumps give against the rail's pressure, lines and
// filters, what returns, what is left when the battery sags, and how long a tank lasts.
//
// The system is one with a return: the pumps run all the time, a regulator at the rail holds its pressure and sends what
// the engine does not take back to the tank, which is vented to the venue.
package supply

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// A Rail is the pressure before the injectors as the regulator holds it.
type Rail struct {
	Pressure        float64 // above the manifold or above the venue, Pa
	FollowsManifold bool    // whether it counts from the manifold
}

// AboveVenue returns the rail's pressure above the venue, Pa, which is what pumps and lines work against, by the
// manifold's and the venue's pressure, Pa absolute.
//
//	following the manifold: p + pm − pa;  fixed: p
func (r Rail) AboveVenue(manifold, venue float64) float64 {
	if r.FollowsManifold {
		return r.Pressure + manifold - venue
	}
	return r.Pressure
}

// A System is what lies between tank and rail.
type System struct {
	Pumps   Source
	Lines   []Line   // from the tank to the rail, one after the other
	Filters []Filter // in them
	Return  []Line   // from the regulator to the tank, one after the other; none: no loss there
}

// Validate returns an error when a figure is outside its range.
func (s *System) Validate() error {
	if s.Pumps == nil {
		return errors.New("there is no pump")
	}
	for i, l := range s.Lines {
		if err := l.Validate(); err != nil {
			return fmt.Errorf("line %d: %w", i+1, err)
		}
	}
	for i, f := range s.Filters {
		if err := f.Validate(); err != nil {
			return fmt.Errorf("filter %d: %w", i+1, err)
		}
	}
	for i, l := range s.Return {
		if err := l.Validate(); err != nil {
			return fmt.Errorf("return line %d: %w", i+1, err)
		}
	}
	return nil
}

// A State is what the system works under.
type State struct {
	Voltage      float64 // at the pumps, V
	RailPressure float64 // that the regulator asks, above the venue, Pa
	Demand       float64 // volume flow that the engine takes Qe, m³/s
	Liquid       Liquid
}

func (s State) validate() error {
	switch {
	case !positive(s.Voltage):
		return fmt.Errorf("voltage at the pumps is %v V; want more than 0", s.Voltage)
	case !positive(s.RailPressure):
		return fmt.Errorf("rail pressure is %v Pa above the venue; want more than 0", s.RailPressure)
	case !positive(s.Demand):
		return fmt.Errorf("fuel demand is %v m³/s; want more than 0", s.Demand)
	}
	return s.Liquid.Validate()
}

// An Operation is how the system works in a state.
type Operation struct {
	PumpFlow     float64 // that the pumps give at the rail pressure asked Q, m³/s
	ReturnFlow   float64 // of it back to the tank, m³/s; 0 when short
	Margin       float64 // Q/Qe − 1; below 0: short
	Rise         float64 // pressure that the pumps add, Pa
	LineLoss     float64 // from tank to rail, filters not counted, Pa
	FilterLoss   float64 // Pa
	ReturnLoss   float64 // from regulator to tank, Pa
	RailPressure float64 // as it is, above the venue, Pa: lower than asked when short, higher when the return line is narrow; 0 when starved
	Notes        Note
}

// Short reports that the pumps give less than the engine takes.
func (o Operation) Short() bool { return o.Notes&NoteShort != 0 }

// At returns how the system works in a state.
//
//	Δp(Q, V) = pr + loss of lines and filters at Q,  Qreturn = Q − Qe,  pr = max(asked, loss of the return line)
//
// Q is the flow the pumps and everything before the regulator carry, whatever the engine takes. With Q below Qe the
// regulator is shut and returns nothing; the rail falls to the pressure at which the pumps give Qe,
//
//	pr = Δp(Qe, V) − loss(Qe)
//
// while PumpFlow, the losses and the rise stay those at the pressure asked. Source: conservation of volume and
// pressure; White, Fluid Mechanics, §6.10 on pipes in series, §11.5 on pumps matched to them (7th edition). Heights and velocity heads in the
// tank are left out: a metre of fuel is 7 kPa. A pump past the end of its tests is a *RangeError.
func (s *System) At(state State) (Operation, error) {
	if err := s.Validate(); err != nil {
		return Operation{}, err
	}
	if err := state.validate(); err != nil {
		return Operation{}, err
	}
	c, err := start(s.Pumps, state.Voltage)
	if err != nil {
		return Operation{}, err
	}
	n := network{System: s, State: state, pumps: c}
	flow, err := n.balance()
	if err != nil {
		return Operation{}, err
	}
	out, err := n.at(flow)
	if err != nil {
		return Operation{}, err
	}
	if flow >= state.Demand {
		return out, nil
	}
	out.Notes |= NoteShort
	return out, n.fall(&out)
}

// A network is a system in a state.
type network struct {
	*System
	State
	pumps characteristic
	err   error // of a loss on the way
}

func (n *network) loss(flow float64) float64 { return n.lines(n.Lines, flow) + n.filters(flow) }

func (n *network) lines(lines []Line, flow float64) float64 {
	sum := 0.0
	for _, l := range lines {
		x, err := l.Flow(flow, n.Liquid)
		n.keep(err)
		sum += x.Loss
	}
	return sum
}

func (n *network) filters(flow float64) float64 {
	sum := 0.0
	for _, f := range n.Filters {
		x, err := f.Loss(flow, n.Liquid)
		n.keep(err)
		sum += x
	}
	return sum
}

func (n *network) keep(err error) {
	if err != nil && n.err == nil {
		n.err = err
	}
}

// rail returns the rail's pressure with the pumps' flow: the regulator's or, fully open, the return line's.
func (n *network) rail(flow float64) float64 {
	return math.Max(n.RailPressure, n.lines(n.Return, math.Max(0, flow-n.Demand)))
}

// balance returns the pumps' flow. What they add falls with it and what they work against rises, so there is one.
func (n *network) balance() (float64, error) {
	lo, hi, shut := n.pumps.span()
	least, most := n.pumps.flow(hi), n.pumps.flow(lo)
	over := func(flow float64) float64 {
		rise, err := n.pumps.rise(flow)
		n.keep(err)
		return rise - n.rail(flow) - n.loss(flow)
	}
	atLeast, atMost := over(least), over(most)
	switch {
	case n.err != nil:
		return 0, n.err
	case atLeast <= 0 && shut:
		return 0, nil
	case atLeast < 0:
		return 0, &RangeError{"pressure that the pumps have to give", "Pa", n.rail(least) + n.loss(least), lo, hi}
	case atMost > 0:
		return 0, &RangeError{"pressure that the pumps have to give", "Pa", n.rail(most) + n.loss(most), lo, hi}
	}
	root, err := numeric.FindRoot(over, least, most, flowTolerance)
	if n.err != nil {
		return 0, n.err
	}
	return root.X, err
}

func (n *network) at(flow float64) (Operation, error) {
	rise, err := n.pumps.rise(flow)
	if err != nil {
		return Operation{}, err
	}
	back := math.Max(0, flow-n.Demand)
	out := Operation{
		PumpFlow: flow, ReturnFlow: back, Margin: flow/n.Demand - 1, Rise: rise,
		LineLoss: n.lines(n.Lines, flow), FilterLoss: n.filters(flow), ReturnLoss: n.lines(n.Return, back),
		RailPressure: n.rail(flow), Notes: n.pumps.notes(rise),
	}
	if out.RailPressure > n.State.RailPressure {
		out.Notes |= NoteRailCreeps
	}
	for _, run := range [...]struct {
		lines []Line
		flow  float64
	}{{n.Lines, flow}, {n.Return, back}} {
		for _, l := range run.lines {
			if x, err := l.Flow(run.flow, n.Liquid); err == nil && x.Regime == Transitional {
				out.Notes |= NoteTransitional
			}
		}
	}
	return out, n.err
}

// fall finds the rail pressure of pumps that are short.
func (n *network) fall(out *Operation) error {
	lo, _, _ := n.pumps.span()
	out.RailPressure = 0
	if n.Demand > n.pumps.flow(lo) {
		out.Notes |= NoteStarved
		return nil
	}
	rise, err := n.pumps.rise(n.Demand)
	if err != nil {
		return err
	}
	held := rise - n.loss(n.Demand)
	if n.err != nil {
		return n.err
	}
	out.Notes |= n.pumps.notes(rise)
	if held <= 0 {
		out.Notes |= NoteStarved
		return nil
	}
	out.RailPressure = math.Min(held, n.State.RailPressure)
	return nil
}
