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
	fail := func(stage string, err error) (SingleResult, error) {
		return SingleResult{}, &PointError{Speed: s.p.Speed, Stage: stage, Reason: err.Error()}
	}
	switch {
	case !(air > 0) || math.IsInf(air, 1):
		return fail("single cylinder", fmt.Errorf("air is %v of the mean; want more than 0", air))
	case !(ca50 >= -0.5 && ca50 <= 1.5):
		return fail("single cylinder", fmt.Errorf("CA50 is %v rad; want -0.5 to 1.5", ca50))
	}
	e, p, r := s.e, &s.p, s.r
	if err := e.setLambda(&r, lambda); err != nil {
		return fail("charge", err)
	}
	b, err := e.breathe(&r, p.AirFlow*air, p.ManifoldPressure, p.ManifoldTemperature, s.left, ca50, p.BurnAngle)
	if err != nil {
		return fail("inlet", err)
	}
	a, _, _, err := e.anglesOf(&r, &b, ca50)
	if err != nil {
		return fail("burn", err)
	}
	delay, _, err := e.knockOf(&r, &b)
	if err != nil {
		return fail("knock", err)
	}
	in := e.input(&r, &b, ca50, a, delay)
	var res cycle.Result
	if err := e.model.Run(&in, &res); err != nil {
		return fail("cycle", err)
	}
	var rel cycle.Release
	if err := e.model.Release(&in, &res, p.TurbineInletPressure, &rel); err != nil {
		return fail("exhaust stroke", err)
	}
	turn, err := e.exhaustAfter(&r, &b, &res, &rel, p.ManifoldTemperature, p.TurbineInletTemperature)
	if err != nil {
		return fail("exhaust", err)
	}
	friction := e.friction.MeanEffectivePressure(e.frictionState(p, res.PeakPressure)) * e.Cylinder.Displacement()
	rate := r.cycles / float64(e.Cylinders)
	return SingleResult{
		IndicatedPower: turn.gross * rate,
		Power:          (turn.gross - turn.pumping - friction) * rate,
		KnockIntegral:  res.KnockIntegral, PeakPressure: res.PeakPressure, ExhaustTemperature: turn.t3, SparkAngle: in.SparkAngle,
	}, nil
}
