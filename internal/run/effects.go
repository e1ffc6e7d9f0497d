package run

import (
	"cmp"
	"context"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/numeric"
)

// A SparkChange is something that the tuner may find different from the spec.
type SparkChange int

// The changes, each by its step.
const (
	MoreOctane    SparkChange = iota
	WarmerCoolant             // of the charge cooler
	WarmerAir                 // of the venue, as moist; where there is no charge cooler
	MoreCompression
	RicherMixture
)

// The steps of the changes.
const (
	OctaneStep      = 1.0
	WarmerStep      = 10.0 // K
	CompressionStep = 0.2
	LambdaStep      = 0.02
)

// apply makes the change in a setup, whose mixture at an engine speed, rad/s, counts.
func (c SparkChange) apply(s *airpath.Setup, speed float64) {
	switch c {
	case MoreOctane:
		s.Fuel.RON, s.Fuel.MON = s.Fuel.RON+OctaneStep, s.Fuel.MON+OctaneStep
		if s.Fuel.Octane != 0 {
			s.Fuel.Octane += OctaneStep
		}
	case WarmerCoolant:
		cooler := *s.Cooler
		cooler.CoolantTemperature += WarmerStep
		s.Cooler = &cooler
	case WarmerAir:
		vapour := s.Venue.WaterMoleFraction()
		s.Venue.Temperature += WarmerStep
		if vapour > 0 {
			s.Venue.RelativeHumidity *= vapour / s.Venue.WaterMoleFraction()
		}
	case MoreCompression:
		s.Cylinder.CompressionRatio += CompressionStep
	case RicherMixture:
		lambda, _ := s.Mixture.Lambda(speed, math.Inf(1), 1)
		s.Mixture = airpath.Mixture{FullLoad: numeric.Constant(lambda - LambdaStep)}
	}
}

// SparkChanges returns what is changed, one at a time.
func (r *Run) SparkChanges() []SparkChange {
	charge := WarmerCoolant
	if r.Engine.Cooler == nil {
		charge = WarmerAir
	}
	return []SparkChange{MoreOctane, charge, MoreCompression, RicherMixture}
}

// A SparkEffect is a full load solved anew with a change.
type SparkEffect struct {
	Change        SparkChange
	Before, After *boost.Outcome
	Err           error // why there is no full load with the change
	before, after octaneAtBest
}

// An octaneAtBest is the octane of a full load at its best CA50.
type octaneAtBest struct {
	margin float64 // numbers to spare
	index  float64 // needed
	err    error
}

func (r *Run) octaneAtBest(f *Freed) (o octaneAtBest) {
	if o.margin, o.err = r.MarginAtBest(f); o.err == nil {
		o.index, o.err = r.IndexForBest(f)
	}
	return o
}

// octaneErr returns the first reason for which no change of the octane is known.
func (e *SparkEffect) octaneErr() error { return cmp.Or(e.Err, e.after.err, e.before.err) }

// OctaneChange returns what the change adds to the octane numbers to spare at the best CA50.
func (e *SparkEffect) OctaneChange() (float64, error) {
	return e.after.margin - e.before.margin, e.octaneErr()
}

// IndexChange returns what the change adds to the octane index that the best CA50 needs.
func (e *SparkEffect) IndexChange() (float64, error) {
	return e.after.index - e.before.index, e.octaneErr()
}

// SparkEffects returns what the changes do to the full loads at the speeds of peak torque and peak power, or at the one speed that has both: none
// where no point has a solution.
func (k *KnockFree) SparkEffects() []SparkEffect {
	torque, power := boost.Highest(k.Outcomes, Torque), boost.Highest(k.Outcomes, Power)
	if torque < 0 {
		return nil
	}
	at := []int{torque}
	if power != torque {
		at = append(at, power)
	}
	var effects []SparkEffect
	for _, i := range at {
		for _, c := range k.SparkChanges() {
			e := SparkEffect{Change: c, Before: &k.Outcomes[i], Err: context.Canceled} // until it is begun
			e.before = k.octaneAtBest(&k.Full[i])
			effects = append(effects, e)
		}
	}
	_ = boost.Each(k.Context, k.Engine, len(effects), func(_ *airpath.Solver, i int) { k.change(&effects[i]) })
	return effects
}

// change solves a full load anew.
func (k *KnockFree) change(e *SparkEffect) {
	setup := k.Engine.Setup
	e.Change.apply(&setup, e.Before.Speed)
	engine, err := airpath.New(setup)
	if err != nil {
		e.Err = err
		return
	}
	changed := &Run{Trim: k.Trim, Engine: engine, Outcomes: boost.Sweep(k.Context, engine, k.Trim.Boost.Target, []float64{e.Before.Speed}), Context: k.Context}
	e.After = &changed.Outcomes[0]
	if e.Err = e.After.Err; e.Err != nil {
		return
	}
	free, err := changed.KnockFree()
	if err != nil {
		e.Err = err
		return
	}
	e.after = free.octaneAtBest(&free.Full[0])
}
