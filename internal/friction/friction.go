// Package friction computes the mean effective pressure that an engine's friction takes: by components, from the dimensions
// of bearings, pistons and valve train, or by Chen and Flynn's sum.
//
// Pumping and the flow through the valves are not part of it. The component model's source counts them as friction; here they
// belong to the gas exchange, which is computed from the cycle.
package friction

import (
	"fmt"

	"bellmouth/internal/geometry"
)

// An Engine is what of an engine its friction depends on, but for the parts that a Components names.
type Engine struct {
	Cylinder  geometry.Cylinder
	Cylinders int
	Valves    geometry.Valves
}

// A State is what the friction depends on while the engine runs.
type State struct {
	Speed            float64 // of the engine N, rad/s; more than 0
	ManifoldPressure float64 // pi, Pa absolute
	AmbientPressure  float64 // pa, Pa absolute
	PeakPressure     float64 // in the cylinder, Pa absolute
}

// StandardPressure is the ambient pressure, Pa, that the engines of the correlation ran at: rings are loaded by the gas's own pressure, so that
// a venue high up does not load them more for the same pressure in the manifold.
const StandardPressure = 101325.0

// A Choice says by which model the friction is computed. One of Components and ChenFlynn is given.
type Choice struct {
	Components *Components
	ChenFlynn  *ChenFlynn
	Factor     float64 // on the sum, to fit it to a measured engine
}

// A Law is a Choice made ready for one engine. It does not change and serves any number of goroutines.
type Law struct {
	factor     float64
	components *Model // nil by Chen and Flynn
	chenFlynn  ChenFlynn
	cylinder   geometry.Cylinder
}

// mostFactor is the largest factor taken: beyond it the correlation says nothing of the engine.
const mostFactor = 5

// For makes the choice ready for an engine.
func (c Choice) For(e Engine) (Law, error) {
	switch {
	case !(c.Factor >= 0 && c.Factor <= mostFactor):
		return Law{}, fmt.Errorf("friction factor is %.4g; want 0 to %v", c.Factor, mostFactor)
	case c.Components != nil && c.ChenFlynn != nil:
		return Law{}, fmt.Errorf("friction by components and by Chen and Flynn; want one of them")
	case c.ChenFlynn != nil:
		if err := e.Cylinder.Validate(); err != nil {
			return Law{}, err
		}
		return Law{factor: c.Factor, chenFlynn: *c.ChenFlynn, cylinder: e.Cylinder}, c.ChenFlynn.Validate()
	case c.Components != nil:
		m, err := New(e, *c.Components)
		return Law{factor: c.Factor, components: m, cylinder: e.Cylinder}, err
	}
	return Law{}, fmt.Errorf("no friction model")
}

// MeanEffectivePressure returns the friction mean effective pressure FMEP, Pa: the factor times the model's. It allocates
// nothing.
func (l Law) MeanEffectivePressure(s State) float64 {
	if l.components != nil {
		return l.factor * l.components.MeanEffectivePressure(s)
	}
	return l.factor * l.chenFlynn.MeanEffectivePressure(s.PeakPressure, l.cylinder.MeanPistonSpeed(s.Speed))
}

// Parts returns what the parts of the engine take, each times the factor, and whether the model tells them apart. Chen and
// Flynn's does not.
func (l Law) Parts(s State) (Parts, bool) {
	if l.components == nil {
		return Parts{}, false
	}
	p := l.components.Parts(s)
	f := l.factor
	return Parts{
		Crank: f * p.Crank, Piston: f * p.Piston, GasLoad: f * p.GasLoad, ValveTrain: f * p.ValveTrain, Auxiliaries: f * p.Auxiliaries,
	}, true
}

// Beyond returns in what the state lies beyond what the model was fitted to.
func (l Law) Beyond(s State) Beyond {
	if l.components == nil {
		return 0
	}
	return l.components.Beyond(s)
}

// ChenFlynn holds the coefficients of Chen and Flynn's friction mean effective pressure.
type ChenFlynn struct {
	Constant     float64 // A, Pa
	PeakPressure float64 // B, Pa per Pa of peak cylinder pressure
	PistonSpeed  float64 // C, Pa per m/s of mean piston speed
}

// PublishedChenFlynn returns the constants as printed in SAE 650733 (1965): 0.137 bar, 0.005, 0.162 bar per m/s.
func PublishedChenFlynn() ChenFlynn {
	return ChenFlynn{Constant: 0.137e5, PeakPressure: 0.005, PistonSpeed: 0.162e5}
}

// Validate returns an error when a coefficient is negative or too large to be one of friction.
func (c ChenFlynn) Validate() error {
	for _, r := range []struct {
		name  string
		v, hi float64
	}{
		{"constant", c.Constant, 5e5}, {"share of peak pressure", c.PeakPressure, 0.1}, {"share of piston speed", c.PistonSpeed, 2e5},
	} {
		if !(r.v >= 0 && r.v <= r.hi) {
			return fmt.Errorf("friction's %s is %.4g; want 0 to %.4g", r.name, r.v, r.hi)
		}
	}
	return nil
}

// MeanEffectivePressure returns the friction mean effective pressure, Pa:
//
//	FMEP = A + B pmax + C Sp
//
// pmax is the peak cylinder pressure, Pa; Sp the mean piston speed, m/s.
// Source: Chen and Flynn, SAE 650733 (1965), a compression-ignition single. A spark-ignition engine needs its own
// coefficients, or a factor.
func (c ChenFlynn) MeanEffectivePressure(peakPressure, meanPistonSpeed float64) float64 {
	return c.Constant + c.PeakPressure*peakPressure + c.PistonSpeed*meanPistonSpeed
}
