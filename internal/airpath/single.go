package airpath

import (
	"fmt"
	"math"

	"bellmouth/internal/cycle"
)

// A Single is one cylinder of an engine at a solved operating point, by itself: manifold and exhaust stay as they are while its
// air, mixture and phasing differ from those of the others. It does not change and serves any number of goroutines.
type Single struct {
	e *Engine
	r regime
	p Point

	left remainder
}

// A SingleResult is what one cylinder makes of its charge.
type SingleResult struct {
	IndicatedPower     float64 // gross, W
	Power              float64 // brake: less pumping and its own part of the friction, W
	KnockIntegral      float64
	PeakPressure       float64 // Pa
	ExhaustTemperature float64 // at the turbine, or at the end of the port, K
	SparkAngle         float64 // rad after firing top dead centre
}

// SingleAt returns one cylinder of the engine at a point that the engine's own Solver has solved.
func (e *Engine) SingleAt(p *Point) (*Single, error) {
	if !(p.Speed > 0 && p.AirFlow > 0 && p.ManifoldPressure > 0 && p.ManifoldTemperature > 0 && p.TurbineInletPressure > 0 &&
		p.TurbineInletTemperature > 0) {
		return nil, &PointError{Speed: p.Speed, Stage: "single cylinder", Reason: "the point has not been solved"}
	}
	r, err := e.regimeAt(p.Speed, &regime{})
	if err != nil {
		return nil, &PointError{Speed: p.Speed, Stage: "charge", Reason: err.Error()}
	}
	if err := e.setLambda(&r, p.Lambda); err != nil {
		return nil, &PointError{Speed: p.Speed, Stage: "charge", Reason: err.Error()}
	}
	mass := p.AirFlow / r.cycles * (1 + r.fuelRatio)
	left := remainder{mass * p.ResidualFraction / (1 - p.ResidualFraction), p.ResidualTemperature}
	return &Single{e: e, r: r, p: *p, left: left}, nil
}

// Run returns what the cylinder makes of air times the mean of all cylinders, burned at λ of lambda with half of it done at ca50,
// rad after firing top dead centre.
//
// It is the Solver's own last cycle with another charge: with air of 1 and the point's λ and CA50 it gives what the point has.
// The residual gas is that of the point, not of the cylinder's own last cycle.
func (s *Single) Run(air, lambda, ca50 float64) (SingleResult, error) {
	var x singleCycle
	if err := s.cycleOf(&x, s.e.model, air, lambda, ca50, nil); err != nil {
		return SingleResult{}, err
	}
	e, p, r, b := s.e, &s.p, &x.r, &x.b
	res, rel := &x.res, &x.rel
	turn, err := e.exhaustAfter(r, b, res, rel, p.ManifoldTemperature, p.TurbineInletTemperature)
	if err != nil {
		return SingleResult{}, s.fails("exhaust", err)
	}
	friction := e.friction.MeanEffectivePressure(e.frictionState(p, res.PeakPressure)) * e.Cylinder.Displacement()
	rate := r.cycles / float64(e.Cylinders)
	return SingleResult{
		IndicatedPower: turn.gross * rate,
		Power:          (turn.gross - turn.pumping - friction) * rate,
		KnockIntegral:  res.KnockIntegral, PeakPressure: res.PeakPressure, ExhaustTemperature: turn.t3, SparkAngle: x.in.SparkAngle,
	}, nil
}

// A singleCycle is one cylinder's cycle with what it was made of.
type singleCycle struct {
	r   regime
	b   breath
	in  cycle.Input
	res cycle.Result
	rel cycle.Release
}

func (s *Single) fails(stage string, err error) error {
	return &PointError{Speed: s.p.Speed, Stage: stage, Reason: err.Error()}
}

// cycleOf runs the cycle of one cylinder up to the top dead centre of gas exchange; tell, where it is not nil, is told its pressure on the way.
func (s *Single) cycleOf(x *singleCycle, model *cycle.Model, air, lambda, ca50 float64, tell func(theta, pressure float64)) error {
	switch {
	case !(air > 0) || math.IsInf(air, 1):
		return s.fails("single cylinder", fmt.Errorf("air is %v of the mean; want more than 0", air))
	case !(ca50 >= -0.5 && ca50 <= 1.5):
		return s.fails("single cylinder", fmt.Errorf("CA50 is %v rad; want -0.5 to 1.5", ca50))
	}
	e, p := s.e, &s.p
	x.r = s.r
	if err := e.setLambda(&x.r, lambda); err != nil {
		return s.fails("charge", err)
	}
	var err error
	if x.b, err = e.breathe(&x.r, p.AirFlow*air, p.ManifoldPressure, p.ManifoldTemperature, s.left, ca50, p.BurnAngle); err != nil {
		return s.fails("inlet", err)
	}
	a, _, _, err := e.anglesOf(&x.r, &x.b, ca50)
	if err != nil {
		return s.fails("burn", err)
	}
	delay, _, err := e.knockOf(&x.r, &x.b)
	if err != nil {
		return s.fails("knock", err)
	}
	x.in = e.input(&x.r, &x.b, ca50, a, delay)
	if err := model.RunTold(&x.in, &x.res, tell); err != nil {
		return s.fails("cycle", err)
	}
	if err := model.ReleaseTold(&x.in, &x.res, p.TurbineInletPressure, &x.rel, tell); err != nil {
		return s.fails("exhaust stroke", err)
	}
	return nil
}
