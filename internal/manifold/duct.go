package manifold

import (
	"fmt"
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/units"
)

// A State is the air in a duct, at rest.
type State struct {
	Pressure    float64 // total p0, Pa absolute
	Temperature float64 // total T0, K
	Gamma       float64 // ratio of specific heats γ
	GasConstant float64 // R, J/(kg K)
}

// Validate returns an error when a figure is outside its range; γ is to be 1.05 to 1.7.
func (s State) Validate() error {
	if err := checkPositive("pressure", s.Pressure, "Pa"); err != nil {
		return err
	}
	if err := checkPositive("temperature", s.Temperature, "K"); err != nil {
		return err
	}
	if !(s.Gamma >= 1.05 && s.Gamma <= 1.7) {
		return fmt.Errorf("ratio of specific heats is %v; want 1.05 to 1.7", s.Gamma)
	}
	return checkPositive("gas constant", s.GasConstant, "J/(kg K)")
}

// SoundSpeed returns the speed of sound a, m/s, of the air at rest: √(γ R T0).
func (s State) SoundSpeed() float64 { return math.Sqrt(s.Gamma * s.GasConstant * s.Temperature) }

// A Duct is a passage that all the air, or its share of it, goes through: a hose, a throttle, a runner.
type Duct struct {
	Bore            float64 // diameter, m
	Shaft           float64 // diameter of a throttle's shaft across the bore, m; 0: none
	LossCoefficient float64 // K, total pressure lost over the dynamic head at the duct's own speed
}

// Validate returns an error when a dimension is outside its range, or when the shaft fills half of the bore or more.
func (d Duct) Validate() error {
	if err := checkPositive("duct bore", d.Bore, "m"); err != nil {
		return err
	}
	if !(d.Shaft >= 0 && d.Area() > math.Pi/8*d.Bore*d.Bore) {
		return fmt.Errorf("throttle shaft is %v m in a bore of %v m; want 0 or more, and less than half of the area", d.Shaft, d.Bore)
	}
	if !(d.LossCoefficient >= 0) || math.IsInf(d.LossCoefficient, 1) {
		return fmt.Errorf("loss coefficient is %v; want 0 or more", d.LossCoefficient)
	}
	return nil
}

// Area returns the area that is free A, m².
//
//	A = π d²/4 − (s √(d² − s²) + d² asin(s/d))/2
//
// What is taken off is the strip, s wide, that the shaft covers; a thin blade in line with it covers no more.
func (d Duct) Area() float64 {
	b, s := d.Bore, d.Shaft
	return math.Pi/4*b*b - (s*math.Sqrt(b*b-s*s)+b*b*math.Asin(s/b))/2
}

// A Flow is how air moves in a duct.
type Flow struct {
	Velocity    float64 // v, m/s
	Mach        float64 // M
	DynamicHead float64 // ½ ρ v², Pa
	Loss        float64 // total pressure lost, Pa
}

// Flow returns how air of a total state moves through the duct at a mass flow, kg/s.
//
//	ψ(p/p0) = ṁ √(R T0)/(A p0),  M and v from p/p0,  Δp0 = K ½ ρ v²
//
// p and ρ are static. Source: NACA Report 1135 (1953) for the state; K ½ ρ v² defines the coefficient, White, Fluid
// Mechanics, minor losses. A flow that the area does not pass at all is an error, and so is a loss above a tenth of the
// pressure, past which one density does not stand for the whole way.
func (d Duct) Flow(massFlow float64, s State) (Flow, error) {
	if err := d.Validate(); err != nil {
		return Flow{}, err
	}
	if err := s.Validate(); err != nil {
		return Flow{}, err
	}
	if !(massFlow >= 0) || math.IsInf(massFlow, 1) {
		return Flow{}, fmt.Errorf("mass flow is %v kg/s; want 0 or more", massFlow)
	}
	flux := s.Pressure / math.Sqrt(s.GasConstant*s.Temperature)
	ratio, ok := gas.SubsonicRatio(massFlow/(d.Area()*flux), s.Gamma)
	if !ok {
		return Flow{}, fmt.Errorf("%s is more than the duct passes; it chokes at %s",
			units.Rounded(massFlow, units.MassFlow, "kg/s", 4), units.Rounded(d.Area()*flux*gas.ChokedFlowFunction(s.Gamma), units.MassFlow, "kg/s", 4))
	}
	m := gas.Mach(ratio, s.Gamma)
	head := s.Gamma / 2 * ratio * s.Pressure * m * m
	f := Flow{
		Velocity:    m * s.SoundSpeed() * math.Sqrt(gas.TemperatureRatio(m, s.Gamma)),
		Mach:        m,
		DynamicHead: head,
		Loss:        d.LossCoefficient * head,
	}
	if !(f.Loss <= s.Pressure/10) {
		return Flow{}, fmt.Errorf("the duct loses %s of %s; want at most a tenth",
			units.Rounded(f.Loss, units.PressureDifference, "Pa", 4), units.Rounded(s.Pressure, units.PressureDifference, "Pa", 4))
	}
	return f, nil
}

// MeanMach returns the mean Mach number M over the inlet stroke in a runner or port of one cylinder.
//
//	M = Ap Sp/(A a)
//
// pistonArea is Ap and area A, m²; meanPistonSpeed Sp and soundSpeed a, m/s. The air is taken to follow the piston without
// compressing; at its fastest it is about 1.6 times as fast. Source: continuity; Taylor, The Internal-Combustion Engine in
// Theory and Practice, vol. 1, ch. 6, has the same index with the valve's area. A mean above 0.6 is an error: the runner
// would choke at the piston's fastest.
func MeanMach(pistonArea, area, meanPistonSpeed, soundSpeed float64) (float64, error) {
	for _, v := range []struct {
		name, unit string
		value      float64
	}{
		{"piston area", "m²", pistonArea},
		{"passage area", "m²", area},
		{"mean piston speed", "m/s", meanPistonSpeed},
		{"sound speed", "m/s", soundSpeed},
	} {
		if err := checkPositive(v.name, v.value, v.unit); err != nil {
			return 0, err
		}
	}
	m := pistonArea * meanPistonSpeed / (area * soundSpeed)
	if !(m <= 0.6) {
		metric, inches := fmt.Sprintf("%.4g m²", area), units.DisplayUnit(units.Area, units.Imperial)
		passage := units.Words(metric, fmt.Sprintf("%.4g %s", inches.FromSI(area), inches.Name), metric)
		return 0, fmt.Errorf("mean Mach number is %.3g; a passage of %s would choke at the piston's fastest", m, passage)
	}
	return m, nil
}
