package run

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/airpath"
	"bellmouth/internal/course"
	"bellmouth/internal/gearing"
	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

// A Course is the trim's car driven over the course of its spec.
type Course struct {
	*course.Stage
	Drive    *Drive
	Stations []course.Station
	Height   float64 // of the finish above the start, m

	car course.Car
}

var errNoCourse = errors.New("the spec has no course, or no car for it")

// HasCourse reports whether the trim has a course and what drives over it.
func (r *Run) HasCourse() bool {
	return r.Trim.Course != nil && r.Trim.Car != nil && r.Trim.Driveline.Gears != nil
}

// Course returns what the car does on the course of the trim with the torque of the run's points. The gears are left at the upshifts that Drive has on
// the car's own grip.
func (r *Run) Course() (*Course, error) {
	if !r.HasCourse() {
		return nil, errNoCourse
	}
	d, err := r.Drive(Place{})
	if err != nil {
		return nil, err
	}
	fuel, err := r.FuelOverSpeed()
	if err != nil {
		return nil, fmt.Errorf("trim %q: %w", r.Trim.Name, err)
	}
	of := r.Trim.Course
	c := &Course{Drive: d, Stations: of.Stations}
	c.car = course.Car{Vehicle: d.Vehicle, Upshifts: d.Upshifts, Launch: d.Launch(), DownTime: r.Trim.Driveline.DownTime, Flying: of.Flying, Fuel: fuel}
	for i, s := range of.Stations[1:] {
		before := &of.Stations[i]
		c.Height += (s.Distance - before.Distance) * math.Sin(math.Atan(before.Grade))
	}
	c.Stage, err = course.Drive(of.Stations, c.car)
	return c, err
}

// FuelOverSpeed returns what the engine takes at full load, and at no torque.
//
//	ṁ0 = ṁ (IMEP − BMEP)/IMEP
//
// so that between the two the flow is straight in the torque, with the consumption for work in the cylinder that full load has. Part load is leaner than
// full load, and a closed throttle may cut the fuel: both take less than this.
//
// Source: Willans' line, Heywood, Internal Combustion Engine Fundamentals (1988), ch. 13 (from memory).
func (r *Run) FuelOverSpeed() (fuel course.Fuel, err error) {
	for _, c := range []struct {
		into *numeric.Curve
		get  func(p *airpath.Point) float64
	}{
		{&fuel.Full, FuelFlow},
		{&fuel.Unused, func(p *airpath.Point) float64 { return p.FuelFlow * math.Max(0, 1-p.BMEP/p.IMEP) }},
	} {
		var speeds, flows []float64
		for i := range r.Outcomes {
			if o := &r.Outcomes[i]; o.Err == nil {
				speeds, flows = append(speeds, o.Speed), append(flows, c.get(&o.Point))
			}
		}
		if *c.into, err = numeric.NewCurve(speeds, flows); err != nil {
			return fuel, fmt.Errorf("fuel over engine speed: %w", err)
		}
	}
	return fuel, nil
}

// A Change is what one thing different in the car does to the time over the course.
type Change struct {
	ID   string // in lower case words joined by "-"
	What string
	Time float64 // s
	Gain float64 // of time, s; below 0 where the car is slower
	Err  error
}

// What is changed to see what it is worth.
const (
	MorePower = 10e3 // W
	lessMass  = 10   // kg
	finalBy   = 0.05 // of the final drive's ratio
	moreGrip  = 0.05
)

// Worth returns what changes of the car are worth on the course. The upshifts are found anew for each; what a shift leaves of the boost is taken as it is.
//
// More power is the torque at every engine speed by the same factor, so that the peak rises by as much.
func (c *Course) Worth() []Change {
	r := c.Drive.Run
	with := func(id, what string, change func(v *gearing.Vehicle, stations []course.Station) error) Change {
		out := Change{ID: id, What: what}
		v, stations := *c.Drive.Vehicle, slices.Clone(c.Stations)
		v.Gears = slices.Clone(v.Gears)
		if out.Err = change(&v, stations); out.Err != nil {
			return out
		}
		g, err := v.Gearing(v.Road())
		if err != nil {
			out.Err = err
			return out
		}
		car := c.car
		car.Vehicle, car.Upshifts = &v, g.Upshifts
		s, err := course.Drive(stations, car)
		if err != nil {
			out.Err = err
			return out
		}
		out.Time, out.Gain = s.Time, c.Time-s.Time
		return out
	}
	final := func(id, what string, factor float64) Change {
		return with(id, what, func(v *gearing.Vehicle, _ []course.Station) error {
			for i := range v.Gears {
				v.Gears[i].Overall *= factor
			}
			return nil
		})
	}
	return []Change{
		with("more-power", units.Whole(MorePower, units.Power)+" more", func(v *gearing.Vehicle, _ []course.Station) error {
			o := r.Peak(Power)
			if o == nil {
				return errNoPoint
			}
			stronger := r.With(slices.Clone(r.Outcomes))
			for i := range stronger.Outcomes {
				stronger.Outcomes[i].Point.Torque *= 1 + MorePower/o.Point.Power
			}
			other, err := stronger.Vehicle()
			if err == nil {
				v.Torque = other.Torque
			}
			return err
		}),
		with("less-mass", units.Whole(lessMass, units.Mass)+" less", func(v *gearing.Vehicle, _ []course.Station) error {
			v.Mass -= lessMass
			return nil
		}),
		final("shorter-final-drive", fmt.Sprintf("final drive %.0f %% shorter", finalBy*100), 1+finalBy),
		final("longer-final-drive", fmt.Sprintf("final drive %.0f %% longer", finalBy*100), 1-finalBy),
		with("more-grip", fmt.Sprintf("grip %.2f more", moreGrip), func(v *gearing.Vehicle, stations []course.Station) error {
			v.Grip += moreGrip
			for i := range stations {
				stations[i].Grip += moreGrip
			}
			return nil
		}),
	}
}
