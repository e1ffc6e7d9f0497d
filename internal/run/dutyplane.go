package run

import (
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

// A DutyRange is between which boosts a pulsed valve holds the engine at each speed of a gate, with all limits of the trim kept.
type DutyRange struct {
	Gate  *Gate
	Speed []SpeedRange // one a point of the gate
}

// A SpeedRange is the boost that can be held at one speed.
type SpeedRange struct {
	Lowest *GatePoint // of the gate: its Lowest is the boost at the duty that opens furthest
	Most   DutyCell   // the engine asked for more than it gives
}

// DutyRange returns between which boosts the pulsed valve holds the engine. The gate is that of Run.Gate, with a pulsed valve.
func (g *Gate) DutyRange() (*DutyRange, error) {
	d := &DutyRange{Gate: g, Speed: make([]SpeedRange, len(g.Points))}
	cells, err := g.askAll([]float64{FarAbove})
	for i, c := range cells {
		d.Speed[i] = SpeedRange{&g.Points[i], c[0]}
	}
	return d, err
}

// LowestKnown returns why the lowest boost is not known; nil where it is.
func (s *SpeedRange) LowestKnown() error {
	switch o := s.Lowest; {
	case o.Err != nil:
		return ErrNoSolution
	case o.TrialErr != nil:
		return o.TrialErr
	default:
		return o.Lowest.Err
	}
}

// Regulated reports whether the duty has a boost to choose at the speed: the highest lies above the lowest.
func (s *SpeedRange) Regulated() bool {
	return s.LowestKnown() == nil && s.Most.Own.Err == nil && s.Most.Comes() > s.Lowest.Lowest.Boost+ReachedWithin
}

// Ends returns the lowest and the highest boost, Pa above the venue, that a duty has to choose at any speed. ok is false where it has none at all.
func (d *DutyRange) Ends() (lowest, highest float64, ok bool) {
	lowest, highest = math.Inf(1), math.Inf(-1)
	for i := range d.Speed {
		if s := &d.Speed[i]; s.Regulated() {
			lowest, highest = math.Min(lowest, s.Lowest.Lowest.Boost), math.Max(highest, s.Most.Comes())
		}
	}
	return lowest, highest, lowest < highest
}

// A DutyPlane is how the boost control holds an engine over engine speed and the boost asked for.
type DutyPlane struct {
	*DutyRange
	Boosts []float64    // Pa above the venue, rising
	Cells  [][]DutyCell // by speed, then boost
}

// Over asks for every boost, Pa above the venue, at every speed. Speeds are spread over the cores; the values do not depend on how many there are.
func (d *DutyRange) Over(boosts []float64) (*DutyPlane, error) {
	cells, err := d.Gate.askAll(boosts)
	return &DutyPlane{d, boosts, cells}, err
}

// askAll asks the run's engine for every boost at every speed. An error is that of the run's context.
func (g *Gate) askAll(boosts []float64) ([][]DutyCell, error) {
	all := make([][]DutyCell, len(g.Run.Outcomes))
	for i := range all {
		all[i] = make([]DutyCell, len(boosts))
	}
	err := boost.Each(g.Run.Context, g.Run.Engine, len(all), func(solver *airpath.Solver, i int) {
		for j, asked := range boosts {
			all[i][j] = g.ask(solver, g.Run.Outcomes[i].Speed, asked)
		}
	})
	return all, err
}

// ask returns how the actuator holds the run's engine at a speed, rad/s, with a boost asked for, Pa above the venue: the run's own point where that
// is its target.
func (g *Gate) ask(solver *airpath.Solver, speed, asked float64) DutyCell {
	o := boost.FullLoad(g.Run.Engine, numeric.Constant(asked))(solver, speed, airpath.Near{})
	return DutyCell{g.Hold(&o)}
}

// A DutyCell is how the actuator holds one speed with one boost asked for, which is the TargetBoost of its outcomes.
type DutyCell struct{ GatePoint }

// Comes returns the boost that the engine comes to, Pa above the venue. It needs a solution.
func (c *DutyCell) Comes() float64 { return c.Own.Boost(c.venue()) }

// A DutyHold is what holds the boost of a cell, or why it is not the boost asked for.
type DutyHold int

// What may hold a boost.
const (
	ByBalance  DutyHold = iota // the forces on the valve balance at the duty
	ByClosing                  // the wastegate is to stay closed: what is asked for is just what the turbine gives
	BySpring                   // at the duty that opens furthest spring or stroke keep the valve further closed: the boost is higher
	ByActuator                 // at the duty that shuts hardest the valve opens further: the boost is lower
	ByCreep                    // the wastegate is wide open: the boost is higher
	ByLimit                    // a limit of the engine, or what the turbine gives, comes first: the boost is lower
)

// HeldBy returns what holds the boost that the engine comes to. The cell has to have a solution.
func (c *DutyCell) HeldBy() DutyHold {
	p, missed := &c.Own.Point, c.missed()
	switch {
	case p.Limit == airpath.Actuator:
		return ByActuator
	case p.Limit == airpath.Spring || missed > ReachedWithin && p.Limits.Has(airpath.Spring):
		return BySpring
	case missed < -ReachedWithin:
		return ByLimit
	case missed > ReachedWithin:
		return ByCreep
	case c.Lift() == 0:
		return ByClosing
	}
	return ByBalance
}

func (c *DutyCell) missed() float64 { return c.Comes() - c.Own.TargetBoost }

// Meets reports whether the duty holds the boost asked for. The cell has to have a solution.
func (c *DutyCell) Meets() bool { return math.Abs(c.missed()) <= ReachedWithin }

// HeldByName returns what holds the boost as tables show it: "balance", "closed", or the name of the limit. The cell has to have a solution.
func (c *DutyCell) HeldByName() string {
	switch c.HeldBy() {
	case ByBalance:
		return "balance"
	case ByClosing:
		return "closed"
	case BySpring:
		return airpath.Spring.String()
	case ByActuator:
		return airpath.Actuator.String()
	case ByCreep:
		return airpath.Creep.String()
	}
	return c.Own.Point.Limit.String()
}

// Errors returns the errors of the cells that have no solution, each with the trim's name and the boost asked for before it.
func (p *DutyPlane) Errors() []error {
	var errs []error
	for i := range p.Cells {
		for j := range p.Cells[i] {
			if err := p.Cells[i][j].Own.Err; err != nil {
				errs = append(errs, fmt.Errorf("trim %q, boost of %s asked for: %w", p.Gate.Run.Trim.Name,
					units.Mark(p.Boosts[j], units.GaugePressure), err))
			}
		}
	}
	return errs
}
