package run

import (
	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
)

// An ExhaustWay is one engine speed with the exhaust's way from valve to turbine.
type ExhaustWay struct {
	*boost.Outcome
	airpath.Way
	Err error // why there is none, or the full load's
}

// CoolingKnown reports whether the spec leaves to be computed how the exhaust cools from valve to turbine.
func (r *Run) CoolingKnown() bool {
	p := &r.Engine.Pipes
	return !r.Engine.Heat.PortLossGiven && p.Port.Length+p.Primary.Length > 0
}

// ExhaustWays returns how the exhaust cools from valve to turbine, and what a probe there shows, at the run's full loads. See CoolingKnown.
func (r *Run) ExhaustWays() []ExhaustWay {
	ways := make([]ExhaustWay, len(r.Outcomes))
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		ways[i] = ExhaustWay{Outcome: o, Err: o.Err}
		if o.Err == nil {
			ways[i].Way, ways[i].Err = r.Engine.WayOut(&o.Point)
		}
	}
	return ways
}
