package exhaust

import (
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// A Probe is a sheathed thermocouple that stands across the gas.
type Probe struct {
	Diameter     float64 // of the sheath d, m
	Emissivity   float64 // of the sheath ε
	Recovery     float64 // share r of the gas's speed that the sheath feels as temperature
	Immersion    float64 // length in the gas ℓ, m; 0: no heat is led to the wall
	Conductivity float64 // of sheath, filling and wires together k, W/(m K)
}

// DefaultProbe returns a 3 mm probe, 20 mm in the gas. Emissivity and immersion are assumptions, from memory: an oxidised sheath has
// 0.7 to 0.9, and a tip should reach the middle of the pipe. So is the conductivity; steel at 1100 K has 25 W/(m K) and
// the filling less. The recovery of 0.68 (±0.07) is that of wires across the gas: Moffat, Gas Temperature Measurement (1962), from memory.
func DefaultProbe() Probe {
	return Probe{Diameter: 0.003, Emissivity: 0.8, Recovery: 0.68, Immersion: 0.020, Conductivity: 20}
}

// Validate returns an error when a figure is outside its range.
func (p *Probe) Validate() error {
	switch {
	case !(p.Diameter >= 1e-4 && p.Diameter <= 0.02):
		return fmt.Errorf("diameter of the probe is %v m; want 0.0001 m to 0.02 m", p.Diameter)
	case !(p.Emissivity >= 0 && p.Emissivity <= 1):
		return fmt.Errorf("emissivity of the probe is %v; want 0 to 1", p.Emissivity)
	case !(p.Recovery >= 0 && p.Recovery <= 1):
		return fmt.Errorf("recovery of the probe is %v; want 0 to 1", p.Recovery)
	case !(p.Immersion >= 0 && p.Immersion <= 1):
		return fmt.Errorf("immersion of the probe is %v m; want 0 to 1 m", p.Immersion)
	case p.Immersion > 0 && !(p.Conductivity > 0 && p.Conductivity <= 500):
		return fmt.Errorf("conductivity of the probe is %v W/(m K); want more than 0 and at most 500", p.Conductivity)
	}
	return nil
}

// A Stream is the gas past a probe, as the mean over time.
type Stream struct {
	MassFlow        float64 // through the pipe ṁ, kg/s
	Pressure        float64 // p, Pa absolute
	Temperature     float64 // total T0, K
	WallTemperature float64 // of the pipe Tw, K
	Bore            float64 // of the pipe D, m
	Cp              float64 // cp, J/(kg K)
	Gamma           float64 // ratio of specific heats γ; 1.2 to 1.4
	GasConstant     float64 // R, J/(kg K)
	Phi             float64 // equivalence ratio φ; 0 to 4
}

func (s *Stream) check() error {
	switch {
	case !(s.MassFlow > 1e-9 && s.MassFlow < 100):
		return fmt.Errorf("flow past the probe is %v kg/s; want more than 1e-9 and less than 100 kg/s", s.MassFlow)
	case !(s.Pressure >= 1e4 && s.Pressure <= 2e6):
		return fmt.Errorf("pressure at the probe is %v Pa; want 1e4 Pa to 2e6 Pa", s.Pressure)
	case !(s.Temperature >= 200 && s.Temperature <= 4000):
		return fmt.Errorf("gas temperature at the probe is %v K; want 200 K to 4000 K", s.Temperature)
	case !(s.WallTemperature >= 150 && s.WallTemperature <= 4000):
		return fmt.Errorf("wall temperature at the probe is %v K; want 150 K to 4000 K", s.WallTemperature)
	case !(s.Bore >= 0.005 && s.Bore <= 0.5):
		return fmt.Errorf("bore at the probe is %v m; want 0.005 m to 0.5 m", s.Bore)
	case !(s.Cp >= 500 && s.Cp <= 5000):
		return fmt.Errorf("heat capacity of the exhaust is %v J/(kg K); want 500 to 5000", s.Cp)
	case !(s.Gamma >= 1.2 && s.Gamma <= 1.4):
		return fmt.Errorf("ratio of specific heats of the exhaust is %v; want 1.2 to 1.4", s.Gamma)
	case !(s.GasConstant >= 200 && s.GasConstant <= 500):
		return fmt.Errorf("gas constant of the exhaust is %v J/(kg K); want 200 to 500", s.GasConstant)
	case !(s.Phi >= 0 && s.Phi <= 4):
		return fmt.Errorf("equivalence ratio of the exhaust is %v; want 0 to 4", s.Phi)
	}
	return nil
}

// A Reading is what a probe shows, and why it is not the gas's temperature. The reading is T0 less the three losses.
type Reading struct {
	Temperature float64 // shown, K
	Recovery    float64 // lost since the gas is not brought to rest, K
	Radiation   float64 // lost by radiation to the pipe's wall, K
	Conduction  float64 // lost along the sheath, K
	Speed       float64 // of the gas, m/s
	Transfer    float64 // coefficient from gas to sheath h, W/(m² K)
	Notes       Note
}

// Read returns what the probe shows at rest.
//
//	V = 4 ṁ R T0/(π D² p),  Te = T0 − (1 − r) V²/(2 cp)
//	h (Te − Tp) = ε σ (Tp⁴ − Tw⁴),  h = CrossflowNusselt μ cp/(Pr d) at (Te + Tp)/2
//	reading = Tp − (Tp − Tw)/cosh(m ℓ),  m² = 4 (h + 4 ε σ Tp³)/(k d)
//
// The last line is a fin with a dry tip, its foot at the wall's temperature, its radiation made linear. Source: fin and
// small body in a large enclosure, Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, §3.6 and ch. 13.
//
// The flow is taken as steady. A probe in a pulsing flow shows nearly the mean over time, which lies below the mean
// by mass or enthalpy, since the hot gas goes past at a high rate in a short time. This is not computed, so a real probe shows less still.
// Nor is what a probe lags behind a change. Above Mach 0.5, and where CrossflowNusselt does not hold, the result has a note.
func (p *Probe) Read(s Stream) (Reading, error) {
	if err := p.Validate(); err != nil {
		return Reading{}, err
	}
	if err := s.check(); err != nil {
		return Reading{}, err
	}
	var r Reading
	r.Speed = 4 * s.MassFlow * s.GasConstant * s.Temperature / (math.Pi * s.Bore * s.Bore * s.Pressure)
	r.Recovery = (1 - p.Recovery) * r.Speed * r.Speed / (2 * s.Cp)
	if !(r.Speed <= 0.5*math.Sqrt(s.Gamma*s.GasConstant*s.Temperature)) {
		r.Notes |= NoteSpeed
	}
	if !(r.Speed <= math.Sqrt(s.Gamma*s.GasConstant*s.Temperature)) {
		return Reading{}, fmt.Errorf("gas past the probe would go at %.0f m/s, more than sound", r.Speed)
	}
	te := s.Temperature - r.Recovery
	pr := Prandtl(s.Gamma)
	radiation := p.Emissivity * stefanBoltzmann
	wall := s.WallTemperature * s.WallTemperature
	wall *= wall
	reynolds := func(tp float64) float64 {
		film := (te + tp) / 2
		return s.Pressure / (s.GasConstant * film) * r.Speed * p.Diameter / Viscosity(film, s.Phi)
	}
	transfer := func(tp float64) float64 {
		return CrossflowNusselt(reynolds(tp), pr) * Viscosity((te+tp)/2, s.Phi) * s.Cp / (pr * p.Diameter)
	}
	root, err := numeric.FindRoot(func(tp float64) float64 {
		return transfer(tp)*(te-tp) - radiation*(tp*tp*tp*tp-wall)
	}, min(te, s.WallTemperature), max(te, s.WallTemperature), 1e-9) // far below what any probe resolves
	if err != nil {
		return Reading{}, fmt.Errorf("balance of the probe: %w", err)
	}
	tp := root.X
	r.Transfer = transfer(tp)
	r.Radiation = te - tp
	if !(reynolds(tp)*pr > 0.2) {
		r.Notes |= NoteSlow
	}
	if film := (te + tp) / 2; !(film >= 500 && film <= 4000) {
		r.Notes |= NoteTemperature
	}
	if p.Immersion > 0 {
		m := math.Sqrt(4 * (r.Transfer + 4*radiation*tp*tp*tp) / (p.Conductivity * p.Diameter))
		r.Conduction = (tp - s.WallTemperature) / math.Cosh(m*p.Immersion)
	}
	r.Temperature = tp - r.Conduction
	return r, nil
}

// CrossflowNusselt returns the mean Nusselt number of a cylinder across a flow Nu, on its diameter, by the Reynolds and
// Prandtl numbers at the mean of gas and surface temperature.
//
//	Nu = 0.3 + 0.62 Re^(1/2) Pr^(1/3) (1 + (0.4/Pr)^(2/3))^(−1/4) (1 + (Re/282 000)^(5/8))^(4/5)
//
// Source: Churchill and Bernstein, J. Heat Transfer 99 (1977) 300. Range: Re Pr above 0.2. A sheath in exhaust has Re 100 to 10 000.
func CrossflowNusselt(reynolds, prandtl float64) float64 {
	return 0.3 + 0.62*math.Sqrt(reynolds)*math.Cbrt(prandtl)/math.Pow(1+math.Pow(0.4/prandtl, 2.0/3), 0.25)*
		math.Pow(1+math.Pow(reynolds/282000, 0.625), 0.8)
}
