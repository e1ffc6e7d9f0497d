package oil

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// A Pump displaces oil in proportion to its speed.
type Pump struct {
	Displacement float64       // of one of its turns, m³
	Ratio        float64       // its turns for one of the engine
	Efficiency   numeric.Curve // volumetric, over engine speed
}

// Flow returns what the pump gives at an engine speed ω, rad/s, in m³/s.
//
//	Q = V i ηv ω/(2π)
//
// Source: definition of the volumetric efficiency.
func (p Pump) Flow(speed float64) float64 {
	eta, _ := p.Efficiency.At(speed)
	return p.Displacement * p.Ratio * eta * speed / (2 * math.Pi)
}

// A Row is equal bearings of one kind.
type Row struct {
	Journal
	Count        int
	Groove       *Groove // nil: fed through a hole, at no more than turning takes
	Eccentricity float64 // mean over the cycle, by which the flow goes
}

// A Circuit is what takes the oil that the pump gives.
type Circuit struct {
	Rows        []Row
	JetFlow     float64 // of jets, turbocharger, valve train and what else is fed through holes, m³/s, at JetPressure
	JetPressure float64 // Pa
	Relief      float64 // pressure at which the relief valve holds, Pa
}

// Turning returns what the turning journals take at a speed, rad/s, whatever the pressure, m³/s.
func (c Circuit) Turning(speed float64) float64 {
	sum := 0.0
	for _, r := range c.Rows {
		sum += float64(r.Count) * r.SideFlow(r.Eccentricity, speed)
	}
	return sum
}

// Demand returns what the circuit takes at a pressure p, Pa, and a speed, rad/s, m³/s: what turning takes, what the pressure drives over the lands of
// grooved bearings, and jets by the square root of the pressure.
//
//	Q = Σ n (ε U c L + Qp) + Qj √(p/pj)
//
// Source: the parts; that turning and pressure add up is an upper bound, ours.
func (c Circuit) Demand(pressure, speed, viscosity float64) float64 {
	sum := c.Turning(speed)
	for _, r := range c.Rows {
		if r.Groove != nil {
			sum += float64(r.Count) * r.FedFlow(*r.Groove, pressure, r.Eccentricity, viscosity)
		}
	}
	if c.JetFlow > 0 {
		sum += c.JetFlow * math.Sqrt(pressure/c.JetPressure)
	}
	return sum
}

// A Balance is what pump and circuit come to.
type Balance struct {
	Pumped   float64 // m³/s
	Turning  float64 // that turning takes by itself, m³/s
	Engine   float64 // that goes through the engine, m³/s
	Relieved float64 // that the relief valve lets go, m³/s
	Pressure float64 // in the gallery, Pa above the crankcase; 0 where the pump gives less than turning takes
}

// Balance returns what pump and circuit come to at a speed, rad/s, and a viscosity, Pa s: the pressure at which the circuit takes what the pump
// gives, at most that of the relief valve.
func (c Circuit) Balance(p Pump, speed, viscosity float64) (Balance, error) {
	if !(speed > 0) || !(viscosity > 0) || !(c.Relief > 0) {
		return Balance{}, errors.New("oil circuit without speed, viscosity or relief pressure")
	}
	b := Balance{Pumped: p.Flow(speed), Turning: c.Turning(speed)}
	switch atRelief := c.Demand(c.Relief, speed, viscosity); {
	case b.Pumped <= b.Turning:
		b.Engine = b.Pumped
	case b.Pumped >= atRelief:
		b.Pressure, b.Engine = c.Relief, atRelief
		b.Relieved = b.Pumped - atRelief
	default:
		root, err := numeric.FindRoot(func(pressure float64) float64 { return c.Demand(pressure, speed, viscosity) - b.Pumped }, 0, c.Relief, 1e-6)
		if err != nil {
			return Balance{}, fmt.Errorf("pressure in the oil gallery: %w", err)
		}
		b.Pressure, b.Engine = root.X, b.Pumped
	}
	return b, nil
}
