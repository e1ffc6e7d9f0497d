// Package injector computes the pulses with which one or two sets of fuel injectors meter the fuel of a cycle.
package injector

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// An Injector is a fuel injector as its maker rates it.
type Injector struct {
	RatedFlow     float64       // static volume flow of the test fluid, m³/s
	TestPressure  float64       // pressure difference at which it was rated, Pa
	TestDensity   float64       // density of the test fluid, kg/m³
	DeadTime      numeric.Curve // time by which the delivery falls short of the pulse, s, over supply voltage, V; or a constant
	ShortestPulse float64       // shortest pulse, dead time included, that still meters in proportion, s
}

// Validate returns an error when a figure is outside its range.
func (in *Injector) Validate() error {
	for _, v := range []struct {
		name, unit string
		value      float64
	}{
		{"rated flow", "m³/s", in.RatedFlow},
		{"test pressure", "Pa", in.TestPressure},
		{"test density", "kg/m³", in.TestDensity},
	} {
		if !positive(v.value) {
			return fmt.Errorf("injector %s is %v %s; want more than 0", v.name, v.value, v.unit)
		}
	}
	if in.DeadTime.IsZero() {
		return errors.New("injector dead time is not given")
	}
	if !(in.ShortestPulse >= 0) || math.IsInf(in.ShortestPulse, 1) {
		return fmt.Errorf("injector's shortest pulse is %v s; want 0 or more", in.ShortestPulse)
	}
	return nil
}

// MassFlow returns the injector's static mass flow of fuel ṁ, kg/s, at a pressure difference Δp, Pa, and fuel density ρ,
// kg/m³.
//
//	ṁ = Q ρt √(Δp/Δpt) √(ρ/ρt)
//
// Source: flow of a liquid through an orifice of constant discharge coefficient, ISO 5167-1, incompressible.
// It holds for a pressure difference near the rated one, where the coefficient is the rating's; half to twice is common
// practice, no source. Without a pressure difference nothing flows.
func (in *Injector) MassFlow(pressureDifference, fuelDensity float64) float64 {
	if pressureDifference <= 0 {
		return 0
	}
	return in.RatedFlow * math.Sqrt(pressureDifference/in.TestPressure*fuelDensity*in.TestDensity)
}

// RatingFor returns the rated static volume flow of the test fluid, m³/s, with which an injector tested as this one has
// the mass flow of fuel, kg/s, at a pressure difference, Pa, and fuel density, kg/m³. The injector's own rating is not
// used. It is MassFlow solved for Q.
func (in *Injector) RatingFor(massFlow, pressureDifference, fuelDensity float64) (float64, error) {
	for _, v := range []struct {
		name, unit string
		value      float64
	}{
		{"mass flow", "kg/s", massFlow},
		{"pressure difference", "Pa", pressureDifference},
		{"fuel density", "kg/m³", fuelDensity},
		{"test pressure", "Pa", in.TestPressure},
		{"test density", "kg/m³", in.TestDensity},
	} {
		if !positive(v.value) {
			return 0, fmt.Errorf("%s is %v %s; want more than 0", v.name, v.value, v.unit)
		}
	}
	return massFlow / math.Sqrt(pressureDifference/in.TestPressure*fuelDensity*in.TestDensity), nil
}

// CycleTime returns how long the cycle of a four-stroke engine takes at engine speed N, rad/s: s.
//
//	t = 4π/N
func CycleTime(speed float64) float64 { return 4 * math.Pi / speed }

// Conditions are what the injectors work under.
type Conditions struct {
	Speed              float64 // engine speed N, rad/s
	PressureDifference float64 // rail less manifold Δp, Pa
	FuelDensity        float64 // at the injector ρ, kg/m³
	Voltage            float64 // supply, V
}

// Validate returns an error when a figure is not finite and positive.
func (c Conditions) Validate() error {
	for _, v := range []struct {
		name, unit string
		value      float64
	}{
		{"engine speed", "rad/s", c.Speed},
		{"pressure difference over the injectors", "Pa", c.PressureDifference},
		{"fuel density", "kg/m³", c.FuelDensity},
		{"supply voltage", "V", c.Voltage},
	} {
		if !positive(v.value) {
			return fmt.Errorf("%s is %v %s; want more than 0", v.name, v.value, v.unit)
		}
	}
	return nil
}

func positive(x float64) bool { return x > 0 && !math.IsInf(x, 1) }
