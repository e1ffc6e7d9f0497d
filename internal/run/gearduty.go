package run

import (
	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
)

// IsFullLoad reports whether the target is the run's own point, because nothing caps it.
func (p *Target) IsFullLoad() bool { return p.Pressure == p.Point.ManifoldPressure }

// GearDuties returns how the pulsed valve holds the boost of each target, in their order; nil where the throttle has to close, or the target is not
// known. ok is false where no pulsed valve holds the boost.
func (t *Targets) GearDuties(targets []*Target) (duties []*DutyCell, ok bool, err error) {
	if !t.Run.HasActuator() || !t.Run.Trim.Control.Driven() {
		return nil, false, nil
	}
	g, err := NewGate(t.Run)
	if err != nil {
		return nil, false, err
	}
	duties = make([]*DutyCell, len(targets))
	err = boost.Each(t.Run.Context, t.Run.Engine, len(targets), func(solver *airpath.Solver, i int) { duties[i] = g.duty(solver, targets[i]) })
	return duties, true, err
}

// duty returns how the pulsed valve holds a target. Full load is the run's own point, and is asked for as that.
func (g *Gate) duty(solver *airpath.Solver, p *Target) *DutyCell {
	switch {
	case p.TargetErr != nil || p.Throttled():
		return nil
	case p.IsFullLoad():
		return &DutyCell{g.Hold(p.Outcome)}
	}
	c := g.ask(solver, p.Speed, p.Pressure-g.Run.Trim.Venue.Pressure)
	return &c
}
