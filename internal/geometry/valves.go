package geometry

import (
	"fmt"
	"math"
)

// Valves are the poppet valves of one cylinder.
type Valves struct {
	InletCount      int
	InletDiameter   float64 // of the valve's head, m
	InletLift       float64 // greatest lift, m
	InletCloses     float64 // rad after bottom dead centre
	InletFlow       float64 // mean inlet flow coefficient Ci over the opening, referred to the head's area; 0 when not measured
	ExhaustCount    int
	ExhaustDiameter float64 // of the valve's head, m
	ExhaustLift     float64 // greatest lift, m
	ExhaustOpens    float64 // rad before bottom dead centre
}

// Validate returns an error when there is no valve, a dimension is not positive, the valves do not fit in the bore, or
// an event lies more than a quarter turn from bottom dead centre after or before it.
func (v Valves) Validate(bore float64) error {
	for _, side := range []struct {
		name           string
		count          int
		diameter, lift float64
	}{
		{"inlet", v.InletCount, v.InletDiameter, v.InletLift},
		{"exhaust", v.ExhaustCount, v.ExhaustDiameter, v.ExhaustLift},
	} {
		switch {
		case side.count < 1:
			return fmt.Errorf("%s valve count is %d; want at least 1", side.name, side.count)
		case !positive(side.diameter):
			return fmt.Errorf("%s valve diameter is %v m; want more than 0", side.name, side.diameter)
		case !positive(side.lift):
			return fmt.Errorf("%s valve lift is %v m; want more than 0", side.name, side.lift)
		}
	}
	// Heads cannot overlap: their areas together stay below the area of a roof, which for the steepest in use
	// (30° each side of the ridge) is the bore's over cos 30°.
	heads := float64(v.InletCount)*v.InletDiameter*v.InletDiameter + float64(v.ExhaustCount)*v.ExhaustDiameter*v.ExhaustDiameter
	if !(heads < bore*bore/math.Cos(math.Pi/6)) {
		return fmt.Errorf("the valve heads' areas add up to %.2f of the bore's; they do not fit", heads/(bore*bore))
	}
	if !(math.Abs(v.InletCloses) <= math.Pi/2) {
		return fmt.Errorf("inlet closes %.4g rad after bottom dead centre; want at most a quarter turn from it", v.InletCloses)
	}
	if !(math.Abs(v.ExhaustOpens) <= math.Pi/2) {
		return fmt.Errorf("exhaust opens %.4g rad before bottom dead centre; want at most a quarter turn from it", v.ExhaustOpens)
	}
	if !(v.InletFlow >= 0 && v.InletFlow <= 1) {
		return fmt.Errorf("inlet flow coefficient is %v; want 0 to 1", v.InletFlow)
	}
	return nil
}

// InletClosingAngle returns the crank angle at which the inlet closes before firing, rad from firing top dead centre.
//
//	θ = −π + (closing after bottom dead centre)
func (v Valves) InletClosingAngle() float64 { return v.InletCloses - math.Pi }

// ExhaustOpeningAngle returns the crank angle at which the exhaust opens, rad from firing top dead centre.
//
//	θ = π − (opening before bottom dead centre)
func (v Valves) ExhaustOpeningAngle() float64 { return math.Pi - v.ExhaustOpens }

// InletCurtainArea returns the curtain area of the cylinder's inlet valves at full lift, m².
//
//	A = n π D L
//
// Source: Heywood (1988), §6.3.2.
func (v Valves) InletCurtainArea() float64 {
	return curtain(v.InletCount, v.InletDiameter, v.InletLift)
}

// ExhaustCurtainArea returns the curtain area of the cylinder's exhaust valves at full lift, m²; see InletCurtainArea.
func (v Valves) ExhaustCurtainArea() float64 {
	return curtain(v.ExhaustCount, v.ExhaustDiameter, v.ExhaustLift)
}

func curtain(count int, diameter, lift float64) float64 {
	return float64(count) * math.Pi * diameter * lift
}

// MeanInletFlowCoefficient returns the mean flow coefficient Ci of the inlet valves over their opening, referred to the
// area of the heads, and whether it was given rather than estimated.
//
//	Ci = 1.45 L/D, L/D at most 0.25
//
// Source of the estimate: Taylor, The Internal-Combustion Engine in Theory and Practice, vol. 1, ch. 6, for well-formed
// ports and valves; from memory. Beyond a lift of a quarter of the diameter, where the curtain is as large as the head,
// more lift is taken to gain nothing.
func (v Valves) MeanInletFlowCoefficient() (ci float64, given bool) {
	if v.InletFlow > 0 {
		return v.InletFlow, true
	}
	return 1.45 * math.Min(v.InletLift/v.InletDiameter, 0.25), false
}

// InletMachIndex returns Taylor's mean inlet Mach index Z at engine speed, rad/s, and inlet sound speed, m/s.
//
//	Z = Ap Sp/(Ci Ai a),  Ai = n π D²/4
//
// Sp is the mean piston speed and Ci the mean inlet flow coefficient. Volumetric efficiency falls quickly above about 0.6.
// Source: Taylor, The Internal-Combustion Engine in Theory and Practice, vol. 1, ch. 6; Heywood (1988), eq. 6.10 ff.
func (v Valves) InletMachIndex(c Cylinder, speed, soundSpeed float64) (float64, error) {
	if err := c.Validate(); err != nil {
		return 0, err
	}
	if err := v.Validate(c.Bore); err != nil {
		return 0, err
	}
	if !(speed >= 0) || math.IsInf(speed, 1) {
		return 0, fmt.Errorf("engine speed is %v rad/s; want 0 or more", speed)
	}
	if !positive(soundSpeed) {
		return 0, fmt.Errorf("sound speed is %v m/s; want more than 0", soundSpeed)
	}
	ci, _ := v.MeanInletFlowCoefficient()
	heads := float64(v.InletCount) * v.InletDiameter * v.InletDiameter
	return c.Bore * c.Bore / heads * c.MeanPistonSpeed(speed) / (ci * soundSpeed), nil
}
