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
	InletOpens      float64 // rad before top dead centre
	InletCloses     float64 // rad after bottom dead centre
	InletFlow       float64 // mean inlet flow coefficient Ci over the opening, referred to the head's area; 0 when not measured
	ExhaustCount    int
	ExhaustDiameter float64 // of the valve's head, m
	ExhaustLift     float64 // greatest lift, m
	ExhaustOpens    float64 // rad before bottom dead centre
	ExhaustCloses   float64 // rad after top dead centre
	ExhaustFlow     float64 // mean exhaust flow coefficient over the opening, referred to the head's area; 0 when not measured
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
	for _, e := range []struct {
		name  string
		value float64
	}{{"inlet opens %.4g rad before", v.InletOpens}, {"exhaust closes %.4g rad after", v.ExhaustCloses}} {
		if !(e.value >= -mostLash && e.value <= math.Pi/2) {
			return fmt.Errorf(e.name+" top dead centre; want -%.4g to a quarter turn", e.value, mostLash)
		}
	}
	if !(v.InletFlow >= 0 && v.InletFlow <= 1) {
		return fmt.Errorf("inlet flow coefficient is %v; want 0 to 1", v.InletFlow)
	}
	if !(v.ExhaustFlow >= 0 && v.ExhaustFlow <= 1) {
		return fmt.Errorf("exhaust flow coefficient is %v; want 0 to 1", v.ExhaustFlow)
	}
	return nil
}

// mostLash is how far an inlet may open after, or an exhaust close before, top dead centre: 20°, more than any competition engine's.
// Common practice, no source.
const mostLash = math.Pi / 9

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
	return estimatedFlow(v.InletLift, v.InletDiameter), false
}

// MeanExhaustFlowCoefficient returns the same of the exhaust valves; see MeanInletFlowCoefficient.
func (v Valves) MeanExhaustFlowCoefficient() (ce float64, given bool) {
	if v.ExhaustFlow > 0 {
		return v.ExhaustFlow, true
	}
	return estimatedFlow(v.ExhaustLift, v.ExhaustDiameter), false
}

func estimatedFlow(lift, diameter float64) float64 { return 1.45 * math.Min(lift/diameter, 0.25) }

// ExhaustFlowArea returns the effective area of a cylinder's exhaust valves at crank angle theta, m², rad after firing top dead centre.
//
//	A = Ce n π D²/4 · 2 sin²(π (θ − θo)/(θc − θo)) between opening θo and closing θc, else 0
//
// Ce is the mean flow coefficient over the opening, so that the mean of A is that of the flow bench. The lift over crank angle is taken
// as a sin²: common practice, no source.
func (v Valves) ExhaustFlowArea(theta float64) float64 {
	ce, _ := v.MeanExhaustFlowCoefficient()
	return flowArea(ce, v.ExhaustCount, v.ExhaustDiameter, theta, v.ExhaustOpeningAngle(), 2*math.Pi+v.ExhaustCloses)
}

// InletFlowArea returns the same of the inlet valves, theta in rad after the top dead centre of gas exchange; see ExhaustFlowArea.
func (v Valves) InletFlowArea(theta float64) float64 {
	ci, _ := v.MeanInletFlowCoefficient()
	return flowArea(ci, v.InletCount, v.InletDiameter, theta, -v.InletOpens, math.Pi+v.InletCloses)
}

func flowArea(coefficient float64, count int, diameter, theta, opens, closes float64) float64 {
	if !(theta > opens && theta < closes) {
		return 0
	}
	s := math.Sin(math.Pi * (theta - opens) / (closes - opens))
	return coefficient * float64(count) * math.Pi / 4 * diameter * diameter * 2 * s * s
}

// InletLoss returns the pressure lost in the inlet valves as the piston draws the charge in, weighted by volume over the inlet stroke, over
// the charge's density and the square of the mean piston speed, dimensionless:
//
//	Δp/(ρ Sp²) = 1/Vd ∫ ½ (Ap v/(A Sp))² dV,  v = dx/dθ N
//
// A is InletFlowArea. The flow is taken as that of the piston's displacement, without compressibility: at an inlet Mach index of 0.5 the true
// loss is about a tenth higher. An area under 5 % of the greatest counts as that: next to the dead centre the piston hardly moves.
func (v Valves) InletLoss(c Cylinder) float64 {
	const steps = 180
	ci, _ := v.MeanInletFlowCoefficient()
	least := 0.05 * 2 * ci * float64(v.InletCount) * math.Pi / 4 * v.InletDiameter * v.InletDiameter
	perSpeed := math.Pi / c.PistonStroke() // N/Sp
	var sum float64
	for i := range steps {
		theta := (float64(i) + 0.5) * math.Pi / steps
		slope, _ := c.travelSlopes(theta)
		u := c.BoreArea() * slope * perSpeed / math.Max(v.InletFlowArea(theta), least)
		sum += u * u / 2 * slope
	}
	return sum * math.Pi / steps / c.PistonStroke()
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
