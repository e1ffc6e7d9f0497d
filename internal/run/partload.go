package run

import (
	"fmt"

	"bellmouth/internal/boost"
	"bellmouth/internal/pool"
)

// A LowestBoost is where the boost comes to rest when the boost control opens the wastegate as far as it can: the spring still holds some. What is
// asked for below, the throttle has to do.
type LowestBoost struct {
	Boost  float64 // Pa above the venue; meaningless where Outlet is 0
	Outlet float64 // compressor outlet pressure there, Pa absolute; 0: not known, the wastegate is taken to open at will
}

// LowestBoosts returns the lowest boost that the boost control lets the engine come down to at each of the run's speeds. Without an actuator
// nothing is known. A speed at which it is not found is left out: the wastegate is taken to open at will there.
func (r *Run) LowestBoosts() ([]LowestBoost, error) {
	lowest := make([]LowestBoost, len(r.Outcomes))
	if !r.HasActuator() {
		return lowest, nil
	}
	g, err := NewGate(r)
	if err != nil {
		return nil, err
	}
	if g.trial, err = g.trialEngines(); err != nil {
		return nil, err
	}
	err = pool.Each(r.Context, len(lowest), func() func(int) error {
		v := g.trial.solvers()
		return func(i int) error {
			o := g.Hold(&r.Outcomes[i])
			if o.Err != nil || !o.findEnds(v) {
				return nil
			}
			if o.findLowest(v); o.Lowest.Err != nil {
				return nil
			}
			if p, err := v.at(o.Speed, o.venue()+o.Lowest.Boost); err == nil {
				lowest[i] = LowestBoost{o.Lowest.Boost, p.CompressorOutlet}
			}
			return nil
		}
	})
	return lowest, err
}

// Plane solves the run's engine at its speeds and at manifold pressures, Pa absolute, with the wastegate on its spring at part load.
func (r *Run) Plane(pressures []float64) (boost.Plane, error) {
	lowest, err := r.LowestBoosts()
	if err != nil {
		return boost.Plane{}, fmt.Errorf("trim %q: %w", r.Trim.Name, err)
	}
	held := make([]float64, len(lowest))
	for i := range lowest {
		held[i] = lowest[i].Outlet
	}
	return boost.SweepPlane(r.Context, r.Engine, r.Trim.Boost.Target, held, r.Speeds(), pressures), r.Context.Err()
}
