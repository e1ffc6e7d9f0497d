package run

import (
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/gas"
	"bellmouth/internal/restrictor"
)

// A Throat is the restrictor choked, with what the filter leaves of the venue's air before it.
type Throat struct {
	restrictor.Choke
	Upstream restrictor.Upstream
}

// Throat returns the run's restrictor choked. It needs a restrictor.
//
// The flow at choke is c p0, and the filter leaves p0 = p − k ṁ² T/p of the venue's pressure p: a quadratic in p0.
func (r *Run) Throat() (Throat, error) {
	th, err := r.throat()
	if err != nil {
		return Throat{}, fmt.Errorf("trim %q: %w", r.Trim.Name, err)
	}
	return th, nil
}

func (r *Run) throat() (Throat, error) {
	venue := r.Trim.Venue
	air, err := venue.Mixture()
	if err != nil {
		return Throat{}, err
	}
	up := restrictor.Upstream{
		Pressure: venue.Pressure, Temperature: venue.Temperature, Gamma: air.Gamma(venue.Temperature), GasConstant: air.GasConstant(),
	}
	choke, err := r.Trim.Intake.Restrictor.At(up)
	if err != nil {
		return Throat{}, err
	}
	if k := r.Trim.Intake.FilterLossCoefficient; k > 0 {
		c := choke.MaxFlow / venue.Pressure
		q := k * c * c * venue.Temperature / venue.Pressure
		up.Pressure = 2 * venue.Pressure / (1 + math.Sqrt(1+4*q*venue.Pressure))
		if choke, err = r.Trim.Intake.Restrictor.At(up); err != nil {
			return Throat{}, err
		}
	}
	return Throat{choke, up}, nil
}

// Pressure returns the static pressure in the choked throat, Pa absolute: p0 (2/(γ+1))^(γ/(γ−1)).
// Source: NACA Report 1135 (1953).
func (th *Throat) Pressure() float64 {
	return th.Upstream.Pressure * gas.CriticalRatio(th.Upstream.Gamma)
}

// Temperature returns the static temperature in the choked throat, K: 2 T0/(γ+1). Source: NACA Report 1135 (1953).
func (th *Throat) Temperature() float64 {
	return th.Upstream.Temperature * gas.TemperatureRatio(1, th.Upstream.Gamma)
}

// Loss returns the pressure before the restrictor less that behind its diffuser, Pa, at an air flow up to choke, kg/s.
func (th *Throat) Loss(flow float64) float64 { return th.Upstream.Pressure - th.OutletPressure(flow) }

// PowerCeiling returns the power that the most air of a throat can make, W, and the full load that it is taken from: the best power per
// kilogram of air that the engine has at any speed of the run. ok is false where no point gives power.
func (r *Run) PowerCeiling(th *Throat) (power float64, at *boost.Outcome, ok bool) {
	at = r.Peak(func(p *airpath.Point) float64 { return p.Power / p.AirFlow })
	if at == nil || !(at.Point.Power > 0) {
		return 0, nil, false
	}
	return th.MaxFlow * at.Point.Power / at.Point.AirFlow, at, true
}
