// Package restrictor computes what an inlet restrictor lets through: the flow at which it chokes, and the pressure left
// after it below that.
package restrictor

import (
	"fmt"
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

// A Restrictor is a round throat with a diffuser after it, or several equal ones side by side, that all the engine's air passes.
type Restrictor struct {
	Bore      float64 // throat diameter d, m
	Count     int     // n, equal throats side by side, each with its share of the air; 0 is one
	Discharge float64 // discharge coefficient Cd, above 0 to 1; 0: that of ISO 9300 by Reynolds number
	Recovery  float64 // share r of the pressure drop into the throat that the diffuser gives back, 0 to 1
}

// An Upstream is the air before the restrictor.
type Upstream struct {
	Pressure    float64 // total, p0, Pa absolute
	Temperature float64 // total, T0, K
	Gamma       float64
	GasConstant float64 // R, J/(kg K)
}

// Validate returns an error when a figure is not finite and positive, or γ is outside 1.05 to 1.7.
func (up Upstream) Validate() error {
	for _, v := range []struct {
		name, unit string
		value      float64
	}{
		{"pressure before the restrictor", "Pa", up.Pressure},
		{"temperature before the restrictor", "K", up.Temperature},
		{"gas constant", "J/(kg K)", up.GasConstant},
	} {
		if !(v.value > 0) || math.IsInf(v.value, 1) {
			return fmt.Errorf("%s is %v %s; want more than 0", v.name, v.value, v.unit)
		}
	}
	if !(up.Gamma >= 1.05 && up.Gamma <= 1.7) {
		return fmt.Errorf("ratio of heat capacities is %v; want 1.05 to 1.7", up.Gamma)
	}
	return nil
}

// Validate returns an error when a figure is outside its range.
func (r Restrictor) Validate() error {
	if !(r.Bore > 0) || math.IsInf(r.Bore, 1) {
		return fmt.Errorf("restrictor bore is %v m; want more than 0", r.Bore)
	}
	return r.validateCoefficients()
}

func (r Restrictor) validateCoefficients() error {
	switch {
	case r.Count < 0:
		return fmt.Errorf("there are %d restrictors; want 1 or more", r.Count)
	case !(r.Discharge >= 0 && r.Discharge <= 1):
		return fmt.Errorf("discharge coefficient is %v; want more than 0 and at most 1", r.Discharge)
	case !(r.Recovery >= 0 && r.Recovery <= 1):
		return fmt.Errorf("diffuser recovery is %v; want 0 to 1", r.Recovery)
	}
	return nil
}

// Throats returns the number of throats n.
func (r Restrictor) Throats() int { return max(r.Count, 1) }

// Area returns the area A of one throat, m².
//
//	A = π d²/4
func (r Restrictor) Area() float64 { return math.Pi / 4 * r.Bore * r.Bore }

// A Choke is a restrictor with one air before it: its limit, and the pressures on the way there. It does not change and
// is safe for any number of goroutines.
type Choke struct {
	MaxFlow   float64 // at which the throats choke, all together, kg/s
	Onset     float64 // pressure after the restrictor when the throat has just choked, Pa absolute
	Discharge Discharge
	pressure  float64 // p0, Pa
	recovery  float64
	gamma     float64
	scale     float64 // √(R T0)/(n Cd A p0): flow to flow function, s/kg
}

// At returns the restrictor with this air before it. The discharge coefficient, where it goes by Reynolds number, is
// that at choke, also below it.
func (r Restrictor) At(up Upstream) (Choke, error) {
	if err := r.Validate(); err != nil {
		return Choke{}, err
	}
	if err := up.Validate(); err != nil {
		return Choke{}, err
	}
	cd := Discharge{Coefficient: r.Discharge, Given: true, InRange: true}
	ideal := r.Area() * idealFlux(up) // of one throat
	if r.Discharge == 0 {
		cd = chokedDischarge(r.Bore, ideal, gas.Viscosity(up.Temperature))
	} else {
		cd.Reynolds = reynolds(cd.Coefficient*ideal, r.Bore, gas.Viscosity(up.Temperature))
	}
	if !(cd.Coefficient > 0) {
		return Choke{}, fmt.Errorf("a bore of %v m is too small for the discharge coefficients of ISO 9300; give one", r.Bore)
	}
	pt := up.Pressure * gas.CriticalRatio(up.Gamma)
	return Choke{
		MaxFlow:   cd.Coefficient * ideal * float64(r.Throats()),
		Onset:     pt + r.Recovery*(up.Pressure-pt),
		Discharge: cd,
		pressure:  up.Pressure,
		recovery:  r.Recovery,
		gamma:     up.Gamma,
		scale:     math.Sqrt(up.GasConstant*up.Temperature) / (float64(r.Throats()) * cd.Coefficient * r.Area() * up.Pressure),
	}, nil
}

// OutletPressure returns the pressure after the restrictor p1, Pa absolute, at a mass flow, kg/s.
//
//	p1 = pt + r (p0 − pt),  ψ(pt/p0, γ) = m √(R T0)/(n Cd A p0)
//
// From choke on it is the pressure at the onset of choke: no more flows, and how far the pressure falls then is for what
// sucks after it. Compare the flow with MaxFlow. It falls with flow; at no flow or backwards it is p0; NaN gives NaN.
// Source: de Saint-Venant and Wantzel for the throat, as in NACA Report 1135 (1953); the recovery is a definition.
func (c *Choke) OutletPressure(flow float64) float64 {
	ratio := c.throatRatio(flow)
	return c.pressure * (ratio + c.recovery*(1-ratio))
}

// ThroatMach returns the Mach number in the throat at a mass flow, kg/s: 1 from choke on.
//
//	M = √(2/(γ−1) ((p0/pt)^((γ−1)/γ) − 1))
//
// Source: NACA Report 1135 (1953), eq. 44.
func (c *Choke) ThroatMach(flow float64) float64 {
	if flow >= c.MaxFlow {
		return 1
	}
	k := (c.gamma - 1) / c.gamma
	return math.Sqrt(2 / (c.gamma - 1) * numeric.Expm1(-k*numeric.Log(c.throatRatio(flow))))
}

// throatRatio returns pt/p0 at a mass flow.
func (c *Choke) throatRatio(flow float64) float64 {
	switch {
	case flow >= c.MaxFlow:
		return gas.CriticalRatio(c.gamma)
	case flow <= 0:
		return 1
	}
	ratio, ok := gas.SubsonicRatio(flow*c.scale, c.gamma)
	if !ok { // rounding alone lifts the flow function over its top, just below MaxFlow; or the flow is NaN
		if math.IsNaN(flow) {
			return flow
		}
		return gas.CriticalRatio(c.gamma)
	}
	return ratio
}

// MaxFlow returns the mass flow ṁ, kg/s, at which the throats choke, all together. No suction after them draws more.
//
//	ṁ = n Cd A p0/√(R T0) √γ (2/(γ+1))^((γ+1)/(2(γ−1)))
//
// Source: NACA Report 1135 (1953), isentropic flow of a perfect gas. Valid for nearly constant γ.
func (r Restrictor) MaxFlow(up Upstream) (float64, error) {
	c, err := r.At(up)
	return c.MaxFlow, err
}

// OnsetPressure returns the pressure after the restrictor when the throat has just choked, Pa absolute.
//
//	p1 = pt + r (p0 − pt),  pt = p0 (2/(γ+1))^(γ/(γ−1))
func (r Restrictor) OnsetPressure(up Upstream) (float64, error) {
	c, err := r.At(up)
	return c.Onset, err
}

// OutletPressure returns the pressure after the restrictor p1, Pa absolute, at a mass flow, kg/s; see
// Choke.OutletPressure. A flow below 0 or above MaxFlow is an error.
func (r Restrictor) OutletPressure(up Upstream, flow float64) (float64, error) {
	c, err := r.checked(up, flow)
	if err != nil {
		return 0, err
	}
	return c.OutletPressure(flow), nil
}

// ThroatMach returns the Mach number in the throat at a mass flow, kg/s; see Choke.ThroatMach. A flow below 0 or above
// MaxFlow is an error.
func (r Restrictor) ThroatMach(up Upstream, flow float64) (float64, error) {
	c, err := r.checked(up, flow)
	if err != nil {
		return 0, err
	}
	return c.ThroatMach(flow), nil
}

func (r Restrictor) checked(up Upstream, flow float64) (Choke, error) {
	c, err := r.At(up)
	if err != nil {
		return Choke{}, err
	}
	if !(flow >= 0) {
		return Choke{}, fmt.Errorf("mass flow is %v kg/s; want 0 or more", flow)
	}
	if flow > c.MaxFlow {
		return Choke{}, &ChokedError{Flow: flow, MaxFlow: c.MaxFlow}
	}
	return c, nil
}

// A ChokedError reports a mass flow that the restrictor cannot pass.
type ChokedError struct {
	Flow, MaxFlow float64 // kg/s
}

func (e *ChokedError) Error() string {
	return fmt.Sprintf("the restrictor chokes at %s; %s cannot pass",
		units.Rounded(e.MaxFlow, units.MassFlow, "kg/s", 4), units.Rounded(e.Flow, units.MassFlow, "kg/s", 4))
}

// BoreFor returns the throat diameter d, m, that chokes at a mass flow through all throats, kg/s: the smallest that lets it
// through. The restrictor's own bore is not used; its count is, and its discharge coefficient, or that of ISO 9300 when it is 0.
//
//	d = √(4 ṁ/(π n Cd G)),  G the ideal choked flow through a unit of area
func (r Restrictor) BoreFor(up Upstream, flow float64) (float64, error) {
	if err := r.validateCoefficients(); err != nil {
		return 0, err
	}
	if err := up.Validate(); err != nil {
		return 0, err
	}
	if !(flow > 0) || math.IsInf(flow, 1) {
		return 0, fmt.Errorf("mass flow is %v kg/s; want more than 0", flow)
	}
	flux, cd := idealFlux(up), r.Discharge
	flow /= float64(r.Throats())
	if cd > 0 {
		return math.Sqrt(4 * flow / (math.Pi * cd * flux)), nil
	}
	// The coefficient moves the bore by its square root, and the bore the coefficient by some 0.001 of itself: each turn
	// gains three digits.
	mu := gas.Viscosity(up.Temperature)
	cd = 1
	for range 50 {
		bore := math.Sqrt(4 * flow / (math.Pi * cd * flux))
		next := toroidal(reynolds(flow, bore, mu))
		if !(next > 0) {
			return 0, fmt.Errorf("a mass flow of %v kg/s is too small for the discharge coefficients of ISO 9300; give one", flow)
		}
		if math.Abs(next-cd) <= 1e-15 {
			return bore, nil
		}
		cd = next
	}
	return 0, fmt.Errorf("the bore for %v kg/s did not settle", flow)
}

// idealFlux returns the choked mass flow through a unit of area without losses, kg/(s m²).
func idealFlux(up Upstream) float64 {
	return up.Pressure / math.Sqrt(up.GasConstant*up.Temperature) * gas.ChokedFlowFunction(up.Gamma)
}
