package run

import (
	"errors"
	"math"

	"bellmouth/internal/course"
	"bellmouth/internal/spec"
	"bellmouth/internal/supply"
)

// A Use is what fuel the engine takes from the tank.
type Use struct {
	Density float64      // of the fuel on its way from the tank, kg/m³
	Most    float64      // flow at the full load that takes most, m³/s
	Speed   float64      // of the engine there, rad/s
	Name    string       // of the stage or lap; empty where the spec names none
	Time    float64      // that it takes, s; 0 where the spec has none
	Mean    float64      // flow over it, m³/s; 0 where the spec has none
	Stage   float64      // fuel of one, m³; 0 where the spec has none
	Driven  bool         // it is the course, driven, rather than the profile of the spec
	Unknown error        // why the fuel of the course is not known
	Instead error        // why the profile stands in for the course; nil where it does not
	Tank    *supply.Tank // nil where the spec has none
}

// Given reports whether there is a stage or lap.
func (u *Use) Given() bool { return u.Driven || u.Time > 0 }

// Use returns what fuel the engine takes, by the full load of the run that takes most.
//
//	mean = Σ share Q, Q the share of the highest flow × that;  fuel of a stage or lap = time × mean
//
// With a course it is that of the course, driven. The spec's profile counts where the run has too few engine speeds for that.
//
// Source: conservation of mass.
func (r *Run) Use() (Use, error) {
	var u Use
	sup := r.Trim.Supply
	if sup != nil {
		u.Tank = sup.Tank
	}
	profiled := sup != nil && sup.Use != nil
	if profiled {
		u.Name, u.Time = sup.Use.Name, sup.Use.Time
	}
	if u.Driven = r.HasCourse(); u.Driven {
		u.Name = r.Trim.Course.Name
	}
	var err error
	if u.Density, err = r.Trim.Fuel.Grade.DensityAt(FeedTemperature(r.Trim)); err != nil {
		return u, err
	}
	o := r.Peak(FuelFlow)
	if o == nil {
		return u, errNoPoint
	}
	u.Most, u.Speed = o.Point.FuelFlow/u.Density, o.Speed
	if u.Driven {
		c, err := r.Course()
		switch {
		case err == nil:
			u.Time, u.Stage = c.Time, c.Fuel/u.Density
			u.Mean = u.Stage / u.Time
			return u, nil
		case !profiled || !FewSpeeds(err):
			u.Unknown = err
			return u, nil
		}
		u.Driven, u.Instead, u.Name = false, err, sup.Use.Name
	}
	if !profiled {
		return u, nil
	}
	profile := make([]supply.Phase, len(sup.Use.Profile))
	for i, l := range sup.Use.Profile {
		profile[i] = supply.Phase{Share: l.Time, Flow: l.Flow * u.Most}
	}
	if u.Mean, err = supply.MeanFlow(profile); err != nil {
		return u, err
	}
	u.Stage, err = supply.Use(profile, sup.Use.Time)
	return u, err
}

// FewSpeeds reports whether a course is not known because the run has too few engine speeds for it, rather than because the car does not get over it.
func FewSpeeds(err error) bool {
	return errors.Is(err, ErrTooFewSpeeds) || errors.Is(err, course.ErrUnknown)
}

// errNoPoint says that nothing can be told of a run's full loads.
var errNoPoint = errors.New("no point has a solution")

// Usable returns the volume of the tank less its reserve, m³.
func (u *Use) Usable() float64 { return u.Tank.Volume - u.Tank.Reserve }

// Fill returns what the tank has to hold for one stage or lap that ends on its reserve, m³.
func (u *Use) Fill() float64 { return u.Stage + u.Tank.Reserve }

// The fuel temperatures between which the change of flow is told, K: a cold morning and a hot rail.
const (
	ColdFuel = 283.15
	HotFuel  = 333.15
)

// A Warming is what the fuel's temperature does to its density and to what injectors pass.
type Warming struct {
	Density float64 // at the injector's temperature, kg/m³
	Change  float64 // of the density from ColdFuel to HotFuel, fraction
	Flow    float64 // change of the mass that an open injector passes at the same pressure, fraction: √(ρhot/ρcold) − 1
	Lambda  float64 // change of lambda with the same pulses and air, dead time not counted, fraction: √(ρcold/ρhot) − 1
}

// Warm returns what warmer fuel does. Source: ISO 5167-1, incompressible flow with a constant discharge coefficient. What viscosity and
// vapour in a hot rail do is not counted.
func Warm(f *spec.Fuel) (Warming, error) {
	used, err := f.Grade.DensityAt(f.Temperature)
	cold, coldErr := f.Grade.DensityAt(ColdFuel)
	hot, hotErr := f.Grade.DensityAt(HotFuel)
	if err := errors.Join(err, coldErr, hotErr); err != nil {
		return Warming{}, err
	}
	flow := math.Sqrt(hot/cold) - 1
	return Warming{Density: used, Change: hot/cold - 1, Flow: flow, Lambda: 1/(1+flow) - 1}, nil
}
