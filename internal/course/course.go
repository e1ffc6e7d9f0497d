// Package course computes how long a car takes over a course, and what its speed does there: a point mass that is at every place as fast as engine,
// tyres and brakes let it be.
package course

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/gearing"
	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

const gravity = 9.80665 // standard acceleration of free fall, m/s² (3rd CGPM, 1901)

// A Station is a place on the course. What it says of the road holds up to the next station; of the last one only the distance counts, the finish.
type Station struct {
	Distance  float64 // from the start along the road, m
	Curvature float64 // 1/r of the car's line, 1/m; 0 on a straight
	Allowed   float64 // highest speed, m/s; 0: what the tyres hold
	Bank      float64 // fall across the road towards the inside of the corner, rise over run
	gearing.Road
}

// Bounds on a course, far beyond any real one.
const (
	farthest = 500e3 // m
	tightest = 1.0   // radius of a corner, m
	steepest = 1.0   // bank, rise over run
)

// step is the longest step, m. A tenth of it moves no time by 1e-3 of it: a test says so.
const step = 1.0

// Check returns an error when the stations are no course.
func Check(stations []Station) error {
	if len(stations) < 2 {
		return fmt.Errorf("a course of %d stations; want two at least, start and finish", len(stations))
	}
	for i, s := range stations {
		switch {
		case !(s.Distance >= 0 && s.Distance <= farthest) || i == 0 && s.Distance != 0:
			return fmt.Errorf("station %d is at %v m; want 0 m at the start, and at most %v m", i+1, s.Distance, farthest)
		case i > 0 && !(s.Distance > stations[i-1].Distance):
			return fmt.Errorf("station %d is at %v m after %v m; want the distances to rise", i+1, s.Distance, stations[i-1].Distance)
		case !(math.Abs(s.Curvature) <= 1/tightest):
			return fmt.Errorf("station %d has the curvature %v 1/m; want at most %v 1/m", i+1, s.Curvature, 1/tightest)
		case !(s.Allowed >= 0) || math.IsInf(s.Allowed, 1):
			return fmt.Errorf("station %d allows %v m/s; want 0 or more", i+1, s.Allowed)
		case !(math.Abs(s.Bank) <= steepest):
			return fmt.Errorf("station %d has the bank %v; want -%v to %v, rise over run", i+1, s.Bank, steepest, steepest)
		}
		if err := s.Road.Validate(); err != nil {
			return fmt.Errorf("station %d: %w", i+1, err)
		}
	}
	return nil
}

// A Car is what drives over a course.
type Car struct {
	*gearing.Vehicle
	Upshifts []gearing.Upshift // when to leave each gear but the last, as Gearing has it
	Launch   gearing.Launch    // of a standing start
	DownTime float64           // of a change down under power, in which no thrust is passed, s; on the brakes there is time for it
	Flying   bool              // the course is a lap that begins at the speed with which it ends, rather than a standing start
	Fuel     Fuel
}

// A Fuel is what the engine takes over engine speed, kg/s. Between no torque and full load the flow is taken straight over the torque.
type Fuel struct {
	Full   numeric.Curve // at full load
	Unused numeric.Curve // at no torque: what friction and pumping take
}

// Flow returns the fuel at a share of full load's torque, kg/s.
func (f *Fuel) Flow(speed, share float64) float64 {
	full, _ := f.Full.At(speed)
	unused, _ := f.Unused.At(speed)
	return unused + (full-unused)*min(1, max(0, share))
}

func (c *Car) validate() error {
	if err := c.Vehicle.Validate(); err != nil {
		return err
	}
	if len(c.Upshifts) != len(c.Gears)-1 {
		return fmt.Errorf("%d upshifts for %d gears; want one for each gear but the last", len(c.Upshifts), len(c.Gears))
	}
	if !(c.DownTime >= 0) || math.IsInf(c.DownTime, 1) {
		return fmt.Errorf("a change down takes %v s; want 0 or more", c.DownTime)
	}
	if c.Fuel.Full.IsZero() || c.Fuel.Unused.IsZero() {
		return errors.New("fuel over engine speed is not given")
	}
	lo, hi := c.Span()
	if l := c.Launch.EngineSpeed; !c.Flying && !(l >= lo*(1-1e-9) && l <= hi*(1+1e-9)) {
		return fmt.Errorf("launch at %v rad/s: want %v to %v", l, lo, hi)
	}
	return nil
}

// A Limit is what keeps a car from being faster at a place.
type Limit int

// The limits.
const (
	ByEngine   Limit = iota // full load
	ByTraction              // the driven tyres take no more
	ByCorner                // the side force, or the speed that the course allows
	ByBrakes                // the tyres take no harder braking
	ByLimiter               // the engine's limiter
	ByShift                 // a shift without thrust
	limits
)

// Limits returns all of them.
func Limits() []Limit {
	all := make([]Limit, limits)
	for i := range all {
		all[i] = Limit(i)
	}
	return all
}

// A Stage is a course driven.
type Stage struct {
	Time, Length float64 // s, m
	Top          Place   // where the car is fastest
	Slowest      Place   // where it is slowest after the first place that slows it down; at no place where none does
	Lateral      float64 // highest v²/r, m/s²
	LateralAt    float64 // m
	Limited      [limits]float64
	InGear       []float64 // time in each gear, s
	Upshifts     int
	Downshifts   int
	Open         Stretch // the longest at full throttle, shifts counted in
	Fuel         float64 // kg
	Work         gearing.Work
	BrakePower   float64 // greatest, W
	BrakeAt      float64 // m
	Trace        Trace
}

// A Place is a speed with where it is.
type Place struct {
	Velocity float64 // m/s
	Distance float64 // m
	Found    bool
}

// A Stretch is a part of the course.
type Stretch struct{ From, To, Time float64 } // m, m, s

// A Trace is what the car does from place to place. Distance, Velocity and Time stand at the ends of the steps, the rest at the steps between.
type Trace struct {
	Distance []float64 // m
	Velocity []float64 // m/s
	Time     []float64 // s
	Station  []int32   // that says what the road is
	Gear     []int8    // from 0, at the end of the step
	Limit    []Limit   // that holds longest in the step
}

// The reasons why a course has no time.
var (
	ErrUnknown = errors.New("the torque is not known at the engine speeds that the course takes; want a range of them up to the limiter")
	ErrNoLap   = errors.New("the lap does not settle: however often it is driven, it ends at another speed than it begins with")
)

// A StandstillError reports where a car stops.
type StandstillError struct{ Distance float64 }

func (e *StandstillError) Error() string {
	return fmt.Sprintf("the car comes to a stand at %s: engine and tyres do not move it on there", units.Mark(e.Distance, units.Distance))
}

// A SlideError reports the station from which on no speed is slow enough.
type SlideError struct{ Distance float64 }

func (e *SlideError) Error() string {
	return fmt.Sprintf("the tyres do not hold the car from %s on at any speed: there is too little grip for the slope or the bank",
		units.Mark(e.Distance, units.Distance))
}

// Drive returns the course as a car drives it.
//
// The car is a point mass with the load of its axles. In steps of at most 1 m, and v² as what is integrated, each step with constant forces,
//
//	(m + mw + Ie i² η/r²) (v1² − v0²)/2 = (F − D − R − G) Δs
//
// so that the work of the forces is the change of energy to rounding. Three things bound the speed:
//
// The corner. Side force and load, with the bank φ and the slope θ, are
//
//	Y = m (v²/r cos φ − g cos θ sin φ),  N = m (g cos θ cos φ + v²/r sin φ),  |Y| ≤ μ N
//
// The brakes, from each corner back. All wheels brake at the grip that is left, √(μ² − (Y/N)²) N, at most until the rear wheels leave the road; drag,
// rolling resistance and slope work with them or against.
//
// The engine, from the start on: full load of the gear, at most what the driven tyres take with √(μ² − (Y/N)²) for μ; see gearing.Car.GripThrust. A gear
// is left at its best upshift, unless the next corner comes so soon that staying is quicker, and a shift passes no thrust while it lasts. While it brakes
// the car has time to change down.
//
// Source: Newton's second law; circle of friction, Gillespie, Fundamentals of Vehicle Dynamics (1992), ch. 10 (from memory). Left out: how the line leads into
// a corner, time for turning in and for the feet, crests and dips, downforce, warming tyres and brakes; the boost of full load is there whenever the
// throttle opens. Brakes are limited by grip alone, in the best balance, and the engine's own drag does not help them.
func Drive(stations []Station, car Car) (*Stage, error) { return drive(stations, car, step) }

func drive(stations []Station, car Car, step float64) (*Stage, error) {
	if err := errors.Join(Check(stations), car.validate()); err != nil {
		return nil, err
	}
	s := newSim(stations, car, step)
	if err := s.bounds(); err != nil {
		return nil, err
	}
	if err := s.run(); err != nil {
		return nil, err
	}
	s.settle(stations)
	return &s.stage, nil
}
