package run

import (
	"errors"
	"fmt"
	"strings"

	"bellmouth/internal/gearing"
	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

// A Drive is what the trim's car does on a road with the torque of a run's points.
type Drive struct {
	*gearing.Gearing
	Run     *Run
	Vehicle *gearing.Vehicle
	Road    gearing.Road
	Surface string // its name; empty: the car's own
}

// ErrTooFewSpeeds says that a run's torque is not known over a range of speeds.
var ErrTooFewSpeeds = errors.New("torque is not known at two engine speeds; want a range of them, such as --rpm 1500:7500:500")

// A Place is where the car drives: on a surface of the spec by name, empty for the car's own, up a grade, rise over run.
type Place struct {
	Surface string
	Grade   float64
}

// Drive returns what the car does at a place with the torque of the run's points. The trim has to have a car and gears. Where the run knows the torque at
// one speed only, the error is ErrTooFewSpeeds.
func (r *Run) Drive(at Place) (*Drive, error) {
	fail := func(err error) (*Drive, error) { return nil, fmt.Errorf("trim %q: %w", r.Trim.Name, err) }
	v, err := r.Vehicle()
	if err != nil {
		return fail(err)
	}
	road := v.Road()
	if at.Surface != "" {
		s, ok := r.Trim.Surfaces.Named(at.Surface)
		if !ok {
			return fail(noSurface(at.Surface, r.Trim.Surfaces.Names()))
		}
		road.Grip, road.Rolling = s.Grip, s.Rolling
	}
	road.Grade = at.Grade
	g, err := v.Gearing(road)
	if err != nil {
		return fail(err)
	}
	d := &Drive{Gearing: g, Run: r, Vehicle: v, Road: road, Surface: at.Surface}
	if err := d.spool(); err != nil {
		return fail(err)
	}
	return d, nil
}

// A RunUp is a run at full load that the car is timed over.
type RunUp struct {
	ID   string // in lower case words joined by "-"
	Name string
	gearing.Aim
}

const kmh = 1 / 3.6 // m/s

// Over400 is the id of the run over 400 m from rest.
const Over400 = "over-400-m"

// runUps are the runs that a car is timed over.
var runUps = [...]RunUp{
	{"from-0-to-100-kmh", units.Range(0, 100*kmh, units.RoadSpeed), gearing.Aim{Velocity: 100 * kmh}},
	{"from-60-to-130-kmh", units.Range(60*kmh, 130*kmh, units.RoadSpeed), gearing.Aim{From: 60 * kmh, Velocity: 130 * kmh}},
	{Over400, "0 to " + units.Mark(400, units.Distance), gearing.Aim{Distance: 400}},
}

// A Timed is a run-up with what came of it, or why nothing did.
type Timed struct {
	RunUp
	Done gearing.RunUp
	Err  error
}

// Launch returns how the car starts from rest: with the clutch slipping at driveline.launch_speed, or at the run's point of most torque.
func (d *Drive) Launch() gearing.Launch {
	speed := d.Run.Trim.Driveline.LaunchSpeed
	if speed == 0 {
		if o := d.Run.Peak(Torque); o != nil {
			speed = o.Speed
		}
	}
	return gearing.Launch{EngineSpeed: speed}
}

// RunUps returns what the car is timed over.
func (d *Drive) RunUps() []Timed {
	var all []Timed
	for _, r := range runUps {
		t := Timed{RunUp: r}
		t.Done, t.Err = d.Vehicle.RunUp(d.Gearing, d.Road, d.Launch(), r.Aim)
		all = append(all, t)
	}
	return all
}

func noSurface(name string, names []string) error {
	if len(names) == 0 {
		return fmt.Errorf("no surface is called %q: the spec has no section surfaces", name)
	}
	return fmt.Errorf("no surface is called %q; surfaces has %s", name, strings.Join(names, ", "))
}

// Vehicle returns the trim's car with the torque of the run's points.
func (r *Run) Vehicle() (*gearing.Vehicle, error) {
	trim := r.Trim
	var speeds, torques []float64
	for i := range r.Outcomes {
		if o := &r.Outcomes[i]; o.Err == nil {
			speeds, torques = append(speeds, o.Speed), append(torques, o.Point.Torque)
		}
	}
	if len(speeds) < 2 {
		return nil, ErrTooFewSpeeds
	}
	torque, err := numeric.NewCurve(speeds, torques)
	if err != nil {
		return nil, fmt.Errorf("torque over engine speed: %w", err)
	}
	line := trim.Driveline
	return &gearing.Vehicle{
		Car: *trim.Car, Gears: line.Overall(), EngineInertia: line.EngineInertia, Torque: torque, Limiter: trim.Engine.Limiter, Shift: line.Shift,
		AirDensity: trim.Venue.Density(),
	}, nil
}
