package injector

import (
	"errors"
	"fmt"
	"math"
)

// A Wish is what a staging should keep to.
type Wish struct {
	Conditions  []Conditions // where the second set may come in: the corners of the speed and pressure range
	PulseMargin float64      // by which both sets' pulses exceed their shortest, as a part of it, 0 or more
	DutyCeiling float64      // highest duty of the primary set until the second has its full share, above 0 to 1
	Blend       float64      // widest band wished, 0 or more
}

// A Reason is what decides where the second set can come in at the earliest.
type Reason int

const (
	SecondaryPulse Reason = iota // the second set at its full share would be too near its shortest pulse
	PrimaryPulse                 // the first set relieved of that share would be too near its own
)

func (r Reason) String() string {
	switch r {
	case SecondaryPulse:
		return "secondary pulse at its full share"
	case PrimaryPulse:
		return "primary pulse beside the full share"
	}
	return fmt.Sprintf("reason %d", int(r))
}

// A Suggestion is where to bring in the second set.
type Suggestion struct {
	StartDuty  float64 // of the primary set
	Blend      float64 // band of duty, at most that wished
	Reason     Reason  // why not earlier
	At         int     // the condition that decides it, from 0
	Latest     float64 // start duty with no blend: the ceiling
	PeakDuty   float64 // highest of the primary set until the second has its full share
	LeastShare float64 // smallest share of the fuel with which the second set comes in, over the conditions
	MostShare  float64 // largest
}

// A StartError reports sets that cannot be staged as wished: the second set would come in above the ceiling.
type StartError struct {
	Lowest, Ceiling float64 // duty
	Reason          Reason
	At              int // condition, from 0
}

func (e *StartError) Error() string {
	return fmt.Sprintf("second set can come in from a primary duty of %.3g on, above the ceiling of %.3g: %s", e.Lowest, e.Ceiling, e.Reason)
}

// SuggestStart returns where to bring in the second set: the lowest start duty at which, in every condition, both sets
// keep a margin to their shortest pulses, and the widest blend up to that wished with which the primary's duty stays
// under the ceiling until the second set has its full share S.
//
//	fuel ≥ m2'/S,  fuel ≥ m1'/(1 − S),  S = ṁ2/(ṁ1 + ṁ2)
//	m' = ṁ (shortest (1 + margin) − dead time),  start duty = (fuel/ṁ1 + dead time)/cycle
//
// The highest speed decides as a rule: pulses are a larger part of a short cycle. The total fuel has no step whatever the
// start, since Split shares it exactly; what the start settles is that neither set is asked for a pulse it cannot
// meter. While it blends in the second set may stay at its shortest pulse, without the margin; with no blend it
// has the margin from its first pulse on. Any later start up to Latest does as well, with less blend. The staging's own
// StartDuty and Blend are not used. Source: the trade's practice, no published source; the bounds follow from Split.
// No start below the ceiling is a *StartError.
func (s *Staging) SuggestStart(w Wish) (Suggestion, error) {
	if err := w.validate(); err != nil {
		return Suggestion{}, err
	}
	if s.Secondary.PerCylinder < 1 {
		return Suggestion{}, errors.New("there is no second set to bring in")
	}
	trial := *s
	trial.StartDuty, trial.Blend = w.DutyCeiling, 0
	out := Suggestion{Latest: w.DutyCeiling}
	for i, c := range w.Conditions {
		p, err := trial.plan(c)
		if err != nil {
			return Suggestion{}, fmt.Errorf("condition %d: %w", i+1, err)
		}
		fuel, reason := p.earliest(s, w.PulseMargin)
		if duty := (fuel/p.primary.flow + p.primary.dead) / p.cycle; duty > out.StartDuty {
			out.StartDuty, out.Reason, out.At = duty, reason, i
		}
	}
	if out.StartDuty > w.DutyCeiling {
		return Suggestion{}, &StartError{out.StartDuty, w.DutyCeiling, out.Reason, out.At}
	}
	trial.StartDuty = out.StartDuty
	var err error
	if trial.Blend, err = trial.widest(w); err != nil {
		return Suggestion{}, err
	}
	out.Blend = trial.Blend
	out.LeastShare = 1
	for _, c := range w.Conditions {
		p, err := trial.plan(c)
		if err != nil {
			return Suggestion{}, err
		}
		out.PeakDuty = math.Max(out.PeakDuty, p.peakDuty())
		first := math.Nextafter(p.start, math.Inf(1))
		fuel, _ := p.secondaryFuel(first)
		out.LeastShare = math.Min(out.LeastShare, fuel/first)
		out.MostShare = math.Max(out.MostShare, fuel/first)
	}
	return out, nil
}

func (w *Wish) validate() error {
	switch {
	case len(w.Conditions) == 0:
		return errors.New("there are no conditions to stage for")
	case !(w.PulseMargin >= 0) || math.IsInf(w.PulseMargin, 1):
		return fmt.Errorf("margin of the pulses is %v; want 0 or more", w.PulseMargin)
	case !(w.DutyCeiling > 0 && w.DutyCeiling <= 1):
		return fmt.Errorf("duty ceiling is %v; want more than 0 and at most 1", w.DutyCeiling)
	case !(w.Blend >= 0) || math.IsInf(w.Blend, 1):
		return fmt.Errorf("blend wished is %v; want 0 or more", w.Blend)
	}
	return nil
}

// earliest returns the least fuel, kg, at which both sets have their margin at the full share. That leaves the primary room
// to step down by the second's pulse too: m1' + m2' is the mean of m1'/(1 − S) and m2'/S, weighed by 1 − S and S.
func (p *plan) earliest(s *Staging, margin float64) (float64, Reason) {
	with := func(x *set, in *Injector) float64 {
		return x.flow * math.Max(0, in.ShortestPulse*(1+margin)-x.dead)
	}
	first, second := with(&p.primary, &s.Primary.Injector), with(&p.secondary, &s.Secondary.Injector)
	fuel, reason := second/p.share, SecondaryPulse
	if f := first / (1 - p.share); f > fuel {
		fuel, reason = f, PrimaryPulse
	}
	return fuel, reason
}

// widest returns the widest blend up to that wished that keeps the primary under the ceiling. A wider one gives the
// second set less at any fuel, so the primary's peak rises with it.
func (s *Staging) widest(w Wish) (float64, error) {
	trial := *s
	var fault error
	within := func(blend float64) bool {
		trial.Blend = blend
		for _, c := range w.Conditions {
			p, err := trial.plan(c)
			if err != nil {
				fault = err
				return false
			}
			if !(p.peakDuty() <= w.DutyCeiling*(1+1e-12)) {
				return false
			}
		}
		return true
	}
	if within(w.Blend) {
		return w.Blend, fault
	}
	lo, hi := 0.0, w.Blend
	for range 60 {
		if mid := (lo + hi) / 2; within(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, fault
}

// peakDuty returns the primary's highest duty until the second set has its full share.
func (p *plan) peakDuty() float64 {
	peak := p.start
	for _, fuel := range [...]float64{p.peakFuel(), p.full} {
		if fuel > p.start {
			second, _ := p.secondaryFuel(fuel)
			peak = math.Max(peak, fuel-second)
		}
	}
	return (peak/p.primary.flow + p.primary.dead) / p.cycle
}
