package run

import (
	"fmt"

	"bellmouth/internal/boost"
	"bellmouth/internal/injector"
	"bellmouth/internal/units"
)

// A SecondSet is where to bring in the second injector set.
type SecondSet struct {
	injector.Suggestion
	Speed float64 // of the engine that decides it, rad/s
}

// SecondSet returns where to bring in the second injector set, with pulses that exceed the shortest of either by a margin, a part of them. It
// asks at the speeds of the run and at the limiter, which decides as a rule. The flows of the sets change alike with the pressure over
// them, so that the pressure moves no start. It needs injectors; a second set that cannot be staged is an *injector.StartError.
func (r *Run) SecondSet(pulseMargin float64) (SecondSet, error) {
	in := r.Trim.Injection
	density, err := r.Trim.Fuel.Grade.DensityAt(r.Trim.Fuel.Temperature)
	if err != nil {
		return SecondSet{}, err
	}
	w := injector.Wish{PulseMargin: pulseMargin, DutyCeiling: r.AllowedDuty(), Blend: in.Staging.Blend}
	add := func(speed float64) {
		w.Conditions = append(w.Conditions, injector.Conditions{
			Speed: speed, PressureDifference: in.RailPressure, FuelDensity: density, Voltage: in.SupplyVoltage,
		})
	}
	top := r.Trim.Engine.Limiter
	for i := range r.Outcomes {
		if o := &r.Outcomes[i]; o.Err == nil && o.Speed < top*(1-1e-9) {
			add(o.Speed)
		}
	}
	add(top)
	s, err := in.Staging.SuggestStart(w)
	if err != nil {
		return SecondSet{}, err
	}
	return SecondSet{Suggestion: s, Speed: w.Conditions[s.At].Speed}, nil
}

// SecondSetWorks reports whether the second injector set works at a solved point.
func SecondSetWorks(o *boost.Outcome) bool { return o.Point.Injection.Secondary.Pulse > 0 }

// A PlanePoint is one point of a plane that lies on or below the full-load line.
type PlanePoint struct {
	Speed    float64 // of the engine, rad/s
	Pressure float64 // in the manifold, Pa absolute
	*boost.Cell
}

// PlanePoints returns the points of a plane, by speed and then by pressure.
func PlanePoints(p *boost.Plane) []PlanePoint {
	var points []PlanePoint
	for i, speed := range p.Speeds {
		for j, pressure := range p.Pressures {
			if c := &p.Cells[i][j]; !c.Beyond {
				points = append(points, PlanePoint{speed, pressure, c})
			}
		}
	}
	return points
}

// Injected reports whether a point has pulses: it has a solution, and the rail pressure is above the manifold's.
func (c PlanePoint) Injected() bool { return c.Err == nil && c.Point.RailDifference > 0 }

// Surplus returns by how much the fuel given is more than that wanted, as a part of it.
func (c PlanePoint) Surplus() float64 { return c.Point.Injection.Surplus / c.Point.FuelPerCycle }

// SecondRests reports that the second injector set works at none of the points.
func SecondRests(points []PlanePoint) bool {
	for _, c := range points {
		if c.Injected() && c.Point.Injection.Secondary.Pulse > 0 {
			return false
		}
	}
	return true
}

// PlaneErrors returns the errors of a plane's points that have no solution, each with the trim's name and the pressure before it.
func (r *Run) PlaneErrors(p *boost.Plane) []error {
	var errs []error
	for _, c := range PlanePoints(p) {
		if c.Err != nil {
			errs = append(errs, fmt.Errorf("trim %q, manifold at %s: %w", r.Trim.Name, units.Mark(c.Pressure, units.Pressure), c.Err))
		}
	}
	return errs
}
