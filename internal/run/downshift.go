package run

import (
	"errors"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/gas"
	"bellmouth/internal/gearing"
	"bellmouth/internal/wastegate"
)

// A Downshift is a change into the next lower gear, at the road speed of the best upshift out of it.
type Downshift struct {
	gearing.Downshift
	Upshift gearing.Upshift // where it is not known, or there is none, only the highest road speed is known of the downshift
	Blip    Blip
}

// A Blip is how the engine comes up to the speed of the lower gear with the clutch open, without boost.
type Blip struct {
	Open float64 // time that it takes with the throttle open, s
	Err  error   // why that is not known

	// What the driver's foot has to do for the time of the downshift.
	Pressure float64 // in the manifold, Pa absolute
	AirFlow  float64 // kg/s
	Throttle float64 // share of its free area that lets the air through; 0 where the spec has no throttle
	PartErr  error   // why that is not known, or not possible
}

// The reasons why a blip is not known.
var (
	ErrNoInertia = errors.New("driveline.engine_inertia is not given")
	ErrTooSlow   = errors.New("more than the open throttle gives: the shift has to take longer")
	errNoRise    = errors.New("the engine does not come up")
	errNoBlip    = errors.New("part load is not known there")
)

// blipSteps is how many manifold pressures the torque of a blip is looked up between.
const blipSteps = 8

// Downshifts returns what each change into a lower gear wants of the engine.
func (d *Drive) Downshifts() ([]Downshift, error) {
	all := make([]Downshift, len(d.Upshifts))
	for i, u := range d.Upshifts {
		down, err := d.Vehicle.Downshift(i, u.Velocity, d.Run.Trim.Driveline.DownTime)
		if err != nil {
			return nil, err
		}
		all[i] = Downshift{Downshift: down, Upshift: u, Blip: Blip{Err: ErrNoInertia, PartErr: ErrNoInertia}}
	}
	if d.Vehicle.EngineInertia == 0 {
		return all, nil
	}
	err := boost.Each(d.Run.Context, d.Run.Engine, len(all), func(v *airpath.Solver, i int) {
		if u := all[i].Upshift; !u.None && !u.Unknown {
			all[i].Blip = d.blip(v, all[i].Downshift)
		}
	})
	return all, err
}

// blip finds how the engine comes up. The boost is taken to be gone: with the throttle closed for the brakes the shaft slows down, and a shift is too short to
// bring it back. So the manifold has the venue's pressure with the throttle open, or what the atmosphere leaves of it.
func (d *Drive) blip(v *airpath.Solver, s gearing.Downshift) (b Blip) {
	at := func(speed, pressure float64) (airpath.Point, error) {
		return v.Solve(airpath.Demand{Speed: speed, Target: pressure, Throttled: true})
	}
	middle := (s.From + s.To) / 2
	var torque [3]float64
	var open airpath.Point
	for i, speed := range []float64{s.From, middle, s.To} {
		p, err := at(speed, d.Run.Trim.Venue.Pressure)
		if err != nil {
			b.Err, b.PartErr = errNoBlip, errNoBlip
			return b
		}
		if torque[i] = p.Torque; i == 1 {
			open = p
		}
	}
	var ok bool
	if b.Open, ok = gearing.Rise(d.Vehicle.EngineInertia, s.From, s.To, torque); !ok {
		b.Err, b.PartErr = errNoRise, errNoRise
		return b
	}
	if s.Torque > open.Torque {
		b.PartErr = ErrTooSlow
		return b
	}
	low := math.Min(lowestPressure, open.ManifoldPressure/2)
	var pressures, torques []float64
	for i := range blipSteps {
		pm := low + (open.ManifoldPressure-low)*float64(i)/blipSteps
		p, err := at(middle, pm)
		if err != nil || !came(&p, pm) || len(torques) > 0 && !(p.Torque > torques[len(torques)-1]) || !(p.Torque < open.Torque) {
			continue // the others tell enough
		}
		pressures, torques = append(pressures, pm), append(torques, p.Torque)
	}
	table, err := wastegate.NewTorqueTable(append(pressures, open.ManifoldPressure), append(torques, open.Torque))
	if err != nil {
		b.PartErr = errNoBlip
		return b
	}
	pressure, held := table.PressureFor(s.Torque)
	p, err := at(middle, pressure)
	if held || err != nil {
		b.PartErr = errNoBlip
		return b
	}
	b.Pressure, b.AirFlow = p.ManifoldPressure, p.AirFlow
	b.Throttle, b.PartErr = d.throttled(&p)
	return b
}

// throttled returns the share of the throttles' free area that lets the air of a point through; 0 where the spec has no throttle.
//
//	A = ṁ √(R T)/(p0 ψ(pm/p0))
//
// It is the area of a nozzle without losses: a plate in its bore passes less by the same gap. Next to the open throttle nothing is lost in it and what it would
// take grows beyond the bore: then it is open.
func (d *Drive) throttled(p *airpath.Point) (float64, error) {
	m := d.Run.Trim.Manifold
	if m == nil || m.Throttle == nil {
		return 0, nil
	}
	air, err := d.Run.Trim.Venue.Mixture()
	if err != nil {
		return 0, err
	}
	before := p.ManifoldPressure + p.ThrottleLoss
	psi := gas.FlowFunction(p.ManifoldPressure/before, air.Gamma(p.ManifoldTemperature))
	area := p.AirFlow * math.Sqrt(air.GasConstant()*p.ManifoldTemperature) / (before * psi)
	return math.Min(1, area/(float64(m.Throttle.Count)*m.Throttle.Area())), nil
}
