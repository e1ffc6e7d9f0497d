// Package cooler computes what a charge cooler does to the air that passes it: its temperature and pressure behind the
// cooler and the heat it gives up.
package cooler

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// A Cooler is a charge cooler.
type Cooler struct {
	Effectiveness      numeric.Curve // ε over the charge's mass flow, kg/s; or a constant
	CoolantTemperature float64       // of the air or water that comes to the cooler Tc, K
	LossCoefficient    float64       // k of the pressure loss k m² T/p, Pa² s²/(kg² K); 0: no loss
}

// Validate returns an error when a figure is outside its range, at any point of the effectiveness.
func (c *Cooler) Validate() error {
	switch {
	case c.Effectiveness.IsZero():
		return errors.New("cooler effectiveness is not given")
	case !positive(c.CoolantTemperature):
		return fmt.Errorf("coolant temperature is %v K; want more than 0", c.CoolantTemperature)
	case !(c.LossCoefficient >= 0) || math.IsInf(c.LossCoefficient, 1):
		return fmt.Errorf("cooler loss coefficient is %v; want 0 or more", c.LossCoefficient)
	}
	lo, hi := c.Effectiveness.Span()
	const steps = 200
	for i := range steps + 1 {
		flow := lo
		if lo < hi && !math.IsInf(lo, 0) {
			flow = lo + (hi-lo)*float64(i)/steps
		}
		if eps, _ := c.Effectiveness.At(flow); !(eps >= 0 && eps <= 1) {
			return fmt.Errorf("cooler effectiveness is %v; want 0 to 1", eps)
		}
	}
	return nil
}

// OutletTemperature returns the charge's temperature behind the cooler, K, and whether the mass flow, kg/s, lies outside
// the effectiveness table, whose end value was used then.
//
//	T = T2 − ε(m) (T2 − Tc)
//
// inlet is T2, K. A charge colder than the coolant is warmed.
// Source: definition of the effectiveness for the fluid of the smaller capacity rate, here the charge: Incropera and
// DeWitt, Fundamentals of Heat and Mass Transfer, §11.4.
func (c *Cooler) OutletTemperature(flow, inlet float64) (temperature float64, held bool) {
	eps, held := c.Effectiveness.At(flow)
	return inlet - eps*(inlet-c.CoolantTemperature), held
}

// Loss returns the total pressure the charge loses in the cooler, Pa, by the pressure, Pa absolute, and temperature, K,
// before it.
//
//	Δp = k m² T2/p2
//
// The loss goes with the dynamic pressure of a given core, m²/(2 ρ A²), and the density as p/T. Backwards flow has the
// sign the other way. A loss above about a tenth of the pressure is outside of what the form holds for: the density then
// changes too much on the way.
func (c *Cooler) Loss(flow, pressure, temperature float64) float64 {
	return c.LossCoefficient * flow * math.Abs(flow) * temperature / pressure
}

// InletPressure returns the pressure before the cooler p2, Pa absolute, that leaves outletPressure, Pa absolute, behind
// it, at a mass flow, kg/s, and a temperature before the cooler, K.
//
//	p2 = (p + √(p² + 4 k m² T2))/2, the larger root of p2 − k m² T2/p2 = p
//
// It is continuous and rises with the flow.
func (c *Cooler) InletPressure(outletPressure, flow, temperature float64) float64 {
	return (outletPressure + math.Sqrt(outletPressure*outletPressure+4*c.LossCoefficient*flow*flow*temperature)) / 2
}

func positive(x float64) bool { return x > 0 && !math.IsInf(x, 1) }
