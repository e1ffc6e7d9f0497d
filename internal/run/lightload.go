package run

import (
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
)

// lightStep is the step of engine speed, rad/s, in which light load is solved: its pulse runs as smoothly as the tables it comes from.
const lightStep = 1500 * math.Pi / 30

// LightLoads returns the run's engine at light load over its speeds: throttled to a manifold pressure, Pa absolute, with the speed where a
// figure is highest among them. An actuator's spring keeps the wastegate shut there. The boost asked for is NaN.
func (r *Run) LightLoads(pressure float64, figure boost.Figure) []boost.Outcome {
	d := airpath.Demand{Target: pressure, Throttled: true}
	if r.Trim.Actuator != nil {
		d.HeldOutlet = 100e5 // more than any compressor gives
	}
	known := map[float64]float64{} // what full load comes to, by speed
	for i := range r.Outcomes {
		if o := &r.Outcomes[i]; o.Err == nil {
			known[o.Speed] = o.Point.ManifoldPressure
		}
	}
	light := func(v *airpath.Solver, speed float64, _ airpath.Near) boost.Outcome {
		o, d := boost.Outcome{Speed: speed, TargetBoost: math.NaN()}, d
		d.Speed, d.Full = speed, known[speed]
		o.Point, o.Err = v.Solve(d)
		return o
	}
	search := boost.Search{Engine: r.Engine, Load: light, Figures: []boost.Figure{figure}, Step: lightStep}
	return search.Refine(r.Context, boost.SweepLoad(r.Context, r.Engine, light, spaced(r.Speeds(), lightStep)))
}

// spaced returns the first and the last of speeds that rise, and as many between as lie a step apart.
func spaced(speeds []float64, step float64) []float64 {
	var some []float64
	for i, s := range speeds {
		if i == 0 || i == len(speeds)-1 || s >= some[len(some)-1]+step*(1-1e-9) {
			some = append(some, s)
		}
	}
	return some
}

// WantedPulse returns the pulse of the primary injectors that the mixture wants, s, at a point throttled to a manifold pressure, Pa absolute.
// It applies where the engine takes that much and the rail pressure is above the manifold's.
func WantedPulse(p *airpath.Point, pressure float64) (pulse float64, applies bool) {
	d := &p.Injection.Primary
	return d.DeadTime + (p.FuelPerCycle-p.Injection.Secondary.Fuel)/d.MassFlow,
		p.ManifoldPressure > pressure*(1-1e-6) && p.RailDifference > 0
}
