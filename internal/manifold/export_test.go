package manifold

import "fmt"

// A Cost is what an uneven manifold takes from an engine.
type Cost struct {
	Even, CommonFuel, OwnFuel, OwnFuelSpark Running
}

// Of returns the power that is lost with a correction against an even manifold with the same air, W.
//
//	Peven − P
//
// It is what the others give away by being richer and later than they need be. Below 0 the even engine's target is leaner
// than the mixture of most torque, and a richer one would pay in any case.
func (c Cost) Of(k Correction) float64 {
	switch k {
	case OwnFuel:
		return c.Even.Power - c.OwnFuel.Power
	case OwnFuelSpark:
		return c.Even.Power - c.OwnFuelSpark.Power
	}
	return c.Even.Power - c.CommonFuel.Power
}

// Cost returns what sharing the air this way costs, with each correction.
func (e Engine) Cost(shares []float64) (Cost, error) {
	var c Cost
	var err error
	if c.Even, err = e.even(len(shares)); err != nil {
		return Cost{}, err
	}
	for _, way := range []struct {
		with Correction
		into *Running
	}{{CommonFuel, &c.CommonFuel}, {OwnFuel, &c.OwnFuel}, {OwnFuelSpark, &c.OwnFuelSpark}} {
		if *way.into, err = e.Run(shares, way.with); err != nil {
			return Cost{}, fmt.Errorf("%v: %w", way.with, err)
		}
	}
	return c, nil
}

// even returns how the engine runs with air shared evenly.
func (e Engine) even(cylinders int) (Running, error) {
	shares, err := LinearShares(cylinders, 0)
	if err != nil {
		return Running{}, err
	}
	r, err := e.Run(shares, CommonFuel)
	if err != nil {
		return Running{}, fmt.Errorf("even manifold: %w", err)
	}
	return r, nil
}

// LinearShares returns the shares of air of cylinders whose filling rises evenly from the first to the last, as in a plenum
// fed from one end.
//
//	si = (1 + d (2 i/(n − 1) − 1))/n,  i = 0 … n − 1
//
// deviation is d, the greatest deviation from the mean, 0 to 0.5.
func LinearShares(cylinders int, deviation float64) ([]float64, error) {
	if cylinders < 2 {
		return nil, fmt.Errorf("cylinders are %d; want at least 2", cylinders)
	}
	if !(deviation >= 0 && deviation <= highestDeviation) {
		return nil, fmt.Errorf("deviation is %v; want 0 to %v", deviation, highestDeviation)
	}
	s := make([]float64, cylinders)
	for i := range s {
		s[i] = (1 + deviation*(2*float64(i)/float64(cylinders-1)-1)) / float64(cylinders)
	}
	return s, nil
}

const highestDeviation = 0.5
