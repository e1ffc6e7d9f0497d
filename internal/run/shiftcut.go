package run

import (
	"errors"
	"fmt"

	"bellmouth/internal/airpath"
	"bellmouth/internal/gearing"
	"bellmouth/internal/numeric"
)

// A ShiftCut is what an upshift with an ignition cut leaves of the boost, against one with a lift.
type ShiftCut struct {
	gearing.Upshift
	gearing.Kept
	Boost   float64 // full load before the shift, manifold pressure, Pa absolute
	Landing float64 // full load in the next gear, manifold pressure, Pa absolute
	After   float64 // right after the cut, Pa absolute
	Refill  float64 // time that a lift costs besides, s; 0 without a plenum in the spec
	Err     error   // why nothing is known
}

// ErrNoSpool says that the spec has nothing to compute a turbocharger's coasting with.
var ErrNoSpool = errors.New("turbine.rotor_inertia is not given")

var errNaturally = errors.New("no turbocharger")

// ShiftCuts returns what each upshift of a gearing leaves of the boost, by the run's points: with the throttle open and the ignition cut, or with a lift.
func (r *Run) ShiftCuts(v *gearing.Vehicle, g *gearing.Gearing) ([]ShiftCut, error) {
	switch {
	case !r.Forced() || r.Trim.Turbine == nil:
		return nil, errNaturally
	case r.Trim.Turbine.RotorInertia == 0:
		return nil, ErrNoSpool
	}
	state, err := r.states()
	if err != nil {
		return nil, err
	}
	t := r.Trim
	cuts := make([]ShiftCut, len(g.Upshifts))
	for i, u := range g.Upshifts {
		c := &cuts[i]
		c.Upshift = u
		if u.None {
			continue
		}
		before, after := state.rotor(u.EngineSpeed), state.rotor(u.Landing)
		c.Kept, c.Err = gearing.Keep(before, after, t.Turbine.RotorInertia, v.Shift.Time)
		c.Boost, _ = state.pressure.At(u.EngineSpeed)
		c.Landing, _ = state.pressure.At(u.Landing)
		c.After = c.Landing * c.Ratio / after.PressureRatio
		if t.Manifold != nil && t.Manifold.Plenum > 0 {
			flow, _ := state.flow.At(u.Landing)
			temperature, _ := state.temperature.At(u.Landing)
			c.Refill = gearing.Refill(t.Manifold.Plenum, c.After, t.Venue.Pressure, state.gasConstant, temperature, flow)
		}
	}
	return cuts, nil
}

// The states of a run's full loads over engine speed.
type states struct {
	shaft, power, spare, ratio, gamma, indicated, brake, pressure, flow, temperature numeric.Curve

	gasConstant float64
}

func (r *Run) states() (*states, error) {
	air, err := r.Trim.Venue.Mixture()
	if err != nil {
		return nil, err
	}
	s := &states{gasConstant: air.GasConstant()}
	count := float64(r.Trim.Compressor.Count)
	for _, c := range []struct {
		into *numeric.Curve
		get  func(p *airpath.Point) float64
	}{
		{&s.shaft, func(p *airpath.Point) float64 { return p.ShaftSpeed }},
		{&s.power, func(p *airpath.Point) float64 { return p.TurbineWork / count }},
		{&s.spare, func(p *airpath.Point) float64 { return p.WastegateFraction }},
		{&s.ratio, func(p *airpath.Point) float64 { return p.PressureRatio }},
		{&s.gamma, func(p *airpath.Point) float64 { return air.Gamma((r.Trim.Venue.Temperature + p.OutletTemperature) / 2) }},
		{&s.indicated, func(p *airpath.Point) float64 { return p.IMEP }},
		{&s.brake, func(p *airpath.Point) float64 { return p.BMEP }},
		{&s.pressure, func(p *airpath.Point) float64 { return p.ManifoldPressure }},
		{&s.flow, func(p *airpath.Point) float64 { return p.AirFlow }},
		{&s.temperature, func(p *airpath.Point) float64 { return p.ManifoldTemperature }},
	} {
		var speeds, values []float64
		for i := range r.Outcomes {
			if o := &r.Outcomes[i]; o.Err == nil {
				speeds, values = append(speeds, o.Speed), append(values, c.get(&o.Point))
			}
		}
		if *c.into, err = numeric.NewCurve(speeds, values); err != nil {
			return nil, fmt.Errorf("full load over engine speed: %w", err)
		}
	}
	return s, nil
}

// rotor returns the turbocharger at full load at an engine speed, rad/s.
func (s *states) rotor(speed float64) gearing.Rotor {
	at := func(c numeric.Curve) float64 { y, _ := c.At(speed); return y }
	return gearing.Rotor{
		Speed: at(s.shaft), Power: at(s.power), Spare: at(s.spare), PressureRatio: at(s.ratio), Gamma: at(s.gamma), Indicated: at(s.indicated), Brake: at(s.brake),
	}
}

// spool lets each upshift cost what its cut leaves of the boost, where the spec gives the rotor, and returns the gearing that follows from it.
func (d *Drive) spool() error {
	if !d.Run.Trim.Driveline.ShiftComputed {
		return nil
	}
	cuts, err := d.Run.ShiftCuts(d.Vehicle, d.Gearing)
	if err != nil {
		return err
	}
	for _, c := range cuts {
		s := d.Vehicle.Shift
		if !c.None && c.Err == nil {
			s.Kept, s.Recovery = c.Torque, c.Kept.Recovery
		}
		d.Vehicle.Shifts = append(d.Vehicle.Shifts, s)
	}
	d.Gearing, err = d.Vehicle.Gearing(d.Road)
	return err
}
