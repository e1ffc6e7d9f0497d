package supply

import (
	"fmt"
	"math"
)

// A Line is a pipe or hose of one bore and what stands in it.
type Line struct {
	Length    float64 // L, m; 0: fittings alone
	Bore      float64 // d, m
	Roughness float64 // of the wall ε, m; drawn tube and hose lining 1.5e-6 (White, Fluid Mechanics, table 6.1)
	Fittings  float64 // sum of the loss coefficients K of bends, unions and valves, of the line's own velocity
}

// Validate returns an error when a figure is outside its range.
func (l Line) Validate() error {
	switch {
	case !notNegative(l.Length):
		return fmt.Errorf("line length is %v m; want 0 or more", l.Length)
	case !positive(l.Bore):
		return fmt.Errorf("line bore is %v m; want more than 0", l.Bore)
	case !(l.Roughness >= 0 && l.Roughness <= highestRoughness*l.Bore):
		return fmt.Errorf("line roughness is %v m; want 0 to %v of the bore", l.Roughness, highestRoughness)
	case !notNegative(l.Fittings):
		return fmt.Errorf("loss coefficient of the line's fittings is %v; want 0 or more", l.Fittings)
	}
	return nil
}

// A LineFlow is what happens in a line at a flow.
type LineFlow struct {
	Loss           float64 // of pressure, friction and fittings, Pa
	Velocity       float64 // m/s
	Reynolds       float64
	FrictionFactor float64 // Darcy's; 0 without flow
	Regime         Regime
}

// Flow returns what a volume flow Q, m³/s, loses in the line, Pa, and how it runs there.
//
//	Δp = (f L/d + K) ρ v²/2,  v = 4 Q/(π d²),  Re = ρ v d/μ
//
// f is FrictionFactor's. Source: Darcy and Weisbach, White, Fluid Mechanics, §6.3 and §6.9. It holds for developed flow: an
// entrance belongs to the fittings, and so does the reading of K, which is of turbulent flow. A flow below 0, or
// one past the range of FrictionFactor, is an error.
func (l Line) Flow(flow float64, liquid Liquid) (LineFlow, error) {
	if err := l.Validate(); err != nil {
		return LineFlow{}, err
	}
	if err := liquid.Validate(); err != nil {
		return LineFlow{}, err
	}
	if !notNegative(flow) {
		return LineFlow{}, fmt.Errorf("flow in the line is %v m³/s; want 0 or more", flow)
	}
	if flow == 0 {
		return LineFlow{}, nil
	}
	v := 4 * flow / (math.Pi * l.Bore * l.Bore)
	out := LineFlow{Velocity: v, Reynolds: liquid.Density * v * l.Bore / liquid.Viscosity}
	var err error
	if out.FrictionFactor, out.Regime, err = FrictionFactor(out.Reynolds, l.Roughness/l.Bore); err != nil {
		return LineFlow{}, err
	}
	out.Loss = (out.FrictionFactor*l.Length/l.Bore + l.Fittings) * liquid.Density * v * v / 2
	return out, nil
}

// A Filter is a fuel filter as it was measured at one flow.
type Filter struct {
	Flow         float64 // Q0, m³/s
	PressureLoss float64 // Δp0, Pa
	LinearShare  float64 // of that loss which goes with the flow, 0 to 1; the rest goes with its square
	Tested       Liquid  // what flowed
}

// Validate returns an error when a figure is outside its range.
func (f Filter) Validate() error {
	switch {
	case !positive(f.Flow):
		return fmt.Errorf("flow of the filter's measurement is %v m³/s; want more than 0", f.Flow)
	case !notNegative(f.PressureLoss):
		return fmt.Errorf("measured loss of the filter is %v Pa; want 0 or more", f.PressureLoss)
	case !(f.LinearShare >= 0 && f.LinearShare <= 1):
		return fmt.Errorf("linear share of the filter's loss is %v; want 0 to 1", f.LinearShare)
	}
	if err := f.Tested.Validate(); err != nil {
		return fmt.Errorf("filter's measurement: %w", err)
	}
	return nil
}

// Loss returns the pressure that a volume flow Q, m³/s, loses in the filter, Pa.
//
//	Δp = Δp0 (s (μ/μ0) (Q/Q0) + (1 − s) (ρ/ρ0) (Q/Q0)²)
//
// Q0 and Δp0 are the measured point with the liquid ρ0, μ0, and s the share of its loss that is the medium's, linear in
// the flow; the rest is that of the ports. Source: Darcy and Forchheimer, flow through porous media (from memory); the
// share has no published value: a fine element is mostly linear, a strainer hardly. A loaded filter loses more.
// A flow below 0 is an error.
func (f Filter) Loss(flow float64, liquid Liquid) (float64, error) {
	if err := f.Validate(); err != nil {
		return 0, err
	}
	if err := liquid.Validate(); err != nil {
		return 0, err
	}
	if !notNegative(flow) {
		return 0, fmt.Errorf("flow in the filter is %v m³/s; want 0 or more", flow)
	}
	q := flow / f.Flow
	linear := f.LinearShare * liquid.Viscosity / f.Tested.Viscosity * q
	square := (1 - f.LinearShare) * liquid.Density / f.Tested.Density * q * q
	return f.PressureLoss * (linear + square), nil
}
