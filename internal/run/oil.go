package run

import (
	"errors"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/oil"
)

// An OilPoint is the oil at one speed.
type OilPoint struct {
	*boost.Outcome
	oil.Balance
	Floor     float64 // pressure wanted, Pa above the crankcase
	FloorHeld bool    // beyond its points, whose end is taken
}

// ErrNoPump says why the oil's pressure is not known.
var ErrNoPump = errors.New("oil.pump is not given")

// BearingViscosity returns the dynamic viscosity of the oil in the bearings, Pa s. The trim has to have oil.
func (r *Run) BearingViscosity() (float64, error) {
	return r.Trim.Oil.Liquid.Dynamic(r.Trim.Oil.Bearing)
}

// OilPoints returns what pump and circuit come to at each of the run's speeds. The trim has to have oil; without a pump it is ErrNoPump.
func (r *Run) OilPoints() ([]OilPoint, error) {
	o := r.Trim.Oil
	if o.Pump == nil {
		return nil, ErrNoPump
	}
	mu, err := r.BearingViscosity()
	if err != nil {
		return nil, err
	}
	points := make([]OilPoint, len(r.Outcomes))
	for i := range points {
		p := &points[i]
		p.Outcome = &r.Outcomes[i]
		if p.Balance, err = o.Circuit.Balance(*o.Pump, p.Speed, mu); err != nil {
			return nil, err
		}
		p.Floor, p.FloorHeld = o.Floor.At(p.Speed)
	}
	return points, nil
}

// GasForce returns the force of the gas on the piston at the cycle's peak pressure, N, with the crankcase at the venue's pressure. Around top dead
// centre the pistons' inertia takes off this.
func (r *Run) GasForce(p *airpath.Point) float64 {
	bore := r.Trim.Engine.Cylinder.Bore
	return (p.PeakPressure - r.Trim.Venue.Pressure) * math.Pi / 4 * bore * bore
}

// A PinForce is the greatest force on a big end within the cycle, and the film that it would leave if it lasted.
type PinForce struct {
	oil.Film
	Load  float64 // N
	Angle float64 // crank angle of it, rad after firing top dead centre; NaN where it is the gas force alone
	Err   error
}

// PinForces returns what loads the big ends most at each of the run's points: by the computed pressure and the inertia of what moves, where the trim has
// a bottom end, else the gas force at the peak. The trim has to have oil.
func (r *Run) PinForces() ([]PinForce, error) {
	var cranks *Cranks
	if r.HasBottomEnd() {
		var err error
		if cranks, err = NewCranks(r); err != nil {
			return nil, err
		}
	}
	all := make([]PinForce, len(r.Outcomes))
	for i := range all {
		f, o := &all[i], &r.Outcomes[i]
		if f.Err = o.Err; f.Err != nil {
			continue
		}
		f.Load, f.Angle = r.GasForce(&o.Point), math.NaN()
		if cranks != nil {
			l := cranks.At(o)
			if f.Err = l.Err; f.Err != nil {
				continue
			}
			f.Load, f.Angle = l.Pin.Value, l.Pin.Angle
		}
		f.Film, f.Err = r.PinFilm(f.Load, o.Speed)
	}
	return all, nil
}

// PinFilm returns the film in a big end under a load, N, at a speed, rad/s, as a steady one would leave it: a low bound where the load is a peak of
// the cycle. The trim has to have oil.
func (r *Run) PinFilm(load, speed float64) (oil.Film, error) {
	mu, err := r.BearingViscosity()
	if err != nil {
		return oil.Film{}, err
	}
	return r.Trim.Oil.Pins.Under(load, speed, mu)
}

// oilFlow returns the most oil that goes through the engine at any of the run's speeds, m³/s.
func (r *Run) oilFlow() (float64, error) {
	if r.Trim.Oil == nil {
		return 0, ErrNoPump
	}
	points, err := r.OilPoints()
	most := 0.0
	for i := range points {
		most = math.Max(most, points[i].Engine)
	}
	return most, err
}
