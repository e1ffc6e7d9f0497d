package airpath

import (
	"math"

	"bellmouth/internal/cycle"
	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/numeric"
)

// A Tracer tells the cylinder's pressure over the whole cycle at solved points. It does not change and serves any number of goroutines.
type Tracer struct {
	e     *Engine
	model *cycle.Model
}

// traceFiner divides the solver's crank steps: between the angles told, the pressure is then as good as straight.
const traceFiner = 4

// inletStep is the crank step of the trace while the inlet valve is open, rad.
const inletStep = 2 * math.Pi / 180

// NewTracer makes the engine's Tracer.
func (e *Engine) NewTracer() (*Tracer, error) {
	model, err := cycle.New(cycle.Config{
		Cylinder: e.Cylinder, Valves: e.Valves, WallTemperature: e.Heat.WallTemperature, HeatFactor: e.Heat.Factor, StepDivisor: traceFiner,
	})
	if err != nil {
		return nil, err
	}
	return &Tracer{e: e, model: model}, nil
}

// At returns the pressure in the mean cylinder at a point that the engine's own Solver has solved, from the top dead centre of gas exchange before
// the charge is drawn to the one after it is pushed out.
//
// It is the cycle of the point on a finer grid. Up to inlet valve closing it is what the work of gas exchange is made of: the manifold's pressure
// less what the valves lose on the way down, the manifold's on the way up until the flow ends, and compression without heat from there. See breathe.
func (t *Tracer) At(p *Point) ([]geometry.Pressure, error) {
	s, err := t.e.SingleAt(p)
	if err != nil {
		return nil, err
	}
	var closed []geometry.Pressure
	var x singleCycle
	if err := s.cycleOf(&x, t.model, 1, p.Lambda, p.CA50, func(theta, pressure float64) {
		closed = append(closed, geometry.Pressure{Angle: theta, Value: pressure})
	}); err != nil {
		return nil, err
	}
	e := t.e
	from, to := -2*math.Pi, closed[0].Angle
	pm := p.ManifoldPressure
	trapped := gas.Mix(x.r.charge.Unburned, x.r.charge.Burned, x.b.initialBurned)
	gamma := trapped.Gamma(x.b.temperature)
	drawn := x.b.drawn / e.Cylinder.Displacement()
	var trace []geometry.Pressure
	down := int(math.Ceil(math.Pi/inletStep - 1e-9))
	for i := range down + 1 {
		trace = append(trace, geometry.Pressure{Angle: from + math.Pi*float64(i)/float64(down), Value: drawn})
	}
	up := int(math.Ceil((to+math.Pi)/inletStep - 1e-9))
	for i := range up {
		theta := -math.Pi + (to+math.Pi)*float64(i)/float64(up)
		compressed := x.res.PressureStart * numeric.Exp(gamma*numeric.Log(e.closing/e.Cylinder.Volume(theta)))
		trace = append(trace, geometry.Pressure{Angle: theta, Value: max(pm, compressed)})
	}
	return append(trace, closed...), nil
}
