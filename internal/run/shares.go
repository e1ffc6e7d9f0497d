package run

import (
	"errors"
	"fmt"

	"bellmouth/internal/boost"
	"bellmouth/internal/fuel"
	"bellmouth/internal/manifold"
	"bellmouth/internal/spec"
)

// A ShareSource is which of the spec's figures tell how the cylinders share the air.
type ShareSource int

// The figures that a section manifold.spread can have.
const (
	SharesFromFlow    ShareSource = iota
	SharesFromLambda              // with the same fuel for all
	SharesFromExhaust             // temperatures, with the same fuel and spark for all
)

// Shares are how the cylinders share the engine's air by the spec's section manifold.spread.
type Shares struct {
	Air     []float64 // each cylinder's part of the engine's air; they add up to 1
	Figures []float64 // the spec's, by cylinder: a flow in any unit, λ, or exhaust temperatures, K
	Source  ShareSource
	Speed   float64 // SharesFromExhaust: engine speed of the full load that the temperatures are taken as of, rad/s
	Slope   float64 // SharesFromExhaust: how the model's exhaust temperature rises with λ there, K
}

// An UnreadSharesError says why the spec's exhaust temperatures tell no shares of the air. Whether they do hangs on the solved point, so that it
// is a doubt about the result rather than a fault of the spec.
type UnreadSharesError struct {
	Speed  float64 // engine speed of the full load that they were taken as of, rad/s
	Reason string
}

func (e *UnreadSharesError) Error() string {
	return "manifold.spread.exhaust_temperature tells no shares of the air: " + e.Reason
}

// Unread returns the doubt that an error of Shares is, or nil.
func Unread(err error) *UnreadSharesError {
	var doubt *UnreadSharesError
	errors.As(err, &doubt)
	return doubt
}

// Shares returns how the cylinders share the air. It is nil where the spec has no section manifold.spread, and where its figures need a solved
// point and there is none. Exhaust temperatures are taken as those of the run's highest power; where they tell nothing, the error is
// an *UnreadSharesError.
func (r *Run) Shares() (*Shares, error) {
	m := r.Trim.Manifold
	if m == nil || m.Spread == nil {
		return nil, nil
	}
	var shares Shares
	var err error
	switch s := m.Spread; {
	case s.Lambda != nil:
		shares.Source, shares.Figures = SharesFromLambda, s.Lambda
		shares.Air, err = manifold.AirSharesFromLambda(s.Lambda, nil)
	case s.ExhaustTemperature != nil:
		return r.sharesFromExhaust(s)
	default:
		shares.Source, shares.Figures = SharesFromFlow, s.Flow
		shares.Air, err = manifold.AirShares(s.Flow)
	}
	if err != nil {
		return nil, fmt.Errorf("trim %q: manifold.spread: %w", r.Trim.Name, err)
	}
	return &shares, nil
}

// sharesFromExhaust reads the shares from exhaust temperatures, with the model's own slope at peak power: with the same fuel a cylinder with more
// air is leaner by as much.
func (r *Run) sharesFromExhaust(s *spec.Spread) (*Shares, error) {
	i := boost.Highest(r.Outcomes, Power)
	if i < 0 {
		return nil, nil
	}
	p := &r.Outcomes[i].Point
	one, err := r.Engine.SingleAt(p)
	if err != nil {
		return nil, err
	}
	const step = 0.01 // of the air: about what a cylinder differs by
	ends := [2]float64{1 - step, 1 + step}
	if p.Lambda*ends[0] < fuel.LowestLambda { // to one side alone at the end of what the model knows
		ends[0] = 1
	}
	if p.Lambda*ends[1] > fuel.HighestLambda {
		ends[1] = 1
	}
	speed := r.Outcomes[i].Speed
	var t [2]float64
	for k, more := range ends {
		res, err := one.Run(more, p.Lambda*more, p.CA50)
		if err != nil {
			return nil, &UnreadSharesError{speed, "the model has no slope there: " + err.Error()}
		}
		t[k] = res.ExhaustTemperature
	}
	slope := (t[1] - t[0]) / ((ends[1] - ends[0]) * p.Lambda)
	air, err := manifold.AirSharesFromExhaust(s.ExhaustTemperature, manifold.ExhaustResponse{Lambda: p.Lambda, Slope: slope})
	if err != nil {
		return nil, &UnreadSharesError{speed, err.Error()}
	}
	return &Shares{Air: air, Figures: s.ExhaustTemperature, Source: SharesFromExhaust, Speed: speed, Slope: slope}, nil
}
