package exhaust

import (
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// A Flow is what one cylinder puts out, as the mean over its cycle.
type Flow struct {
	MassFlow    float64 // of one cylinder ṁ, kg/s
	Temperature float64 // that leaves the valve, by enthalpy Tin, K
	Cp          float64 // heat capacity near the mean temperature cp, J/(kg K)
	Gamma       float64 // ratio of specific heats γ, likewise; 1.2 to 1.4
	Phi         float64 // equivalence ratio φ, 1/λ; 0 to 4
	Ambient     float64 // round the manifold Ta, K
}

func (f *Flow) check() error {
	// One comparison in the usual case: this runs within the search for every operating point.
	if f.MassFlow > 1e-9 && f.MassFlow < 100 && f.Temperature >= 200 && f.Temperature <= 4000 && f.Cp >= 500 && f.Cp <= 5000 &&
		f.Gamma >= 1.2 && f.Gamma <= 1.4 && f.Phi >= 0 && f.Phi <= 4 && f.Ambient >= 150 && f.Ambient <= 1000 {
		return nil
	}
	switch {
	case !(f.MassFlow > 1e-9 && f.MassFlow < 100):
		return fmt.Errorf("exhaust flow of a cylinder is %v kg/s; want more than 1e-9 and less than 100 kg/s", f.MassFlow)
	case !(f.Temperature >= 200 && f.Temperature <= 4000):
		return fmt.Errorf("exhaust temperature is %v K; want 200 K to 4000 K", f.Temperature)
	case !(f.Cp >= 500 && f.Cp <= 5000):
		return fmt.Errorf("heat capacity of the exhaust is %v J/(kg K); want 500 to 5000", f.Cp)
	case !(f.Gamma >= 1.2 && f.Gamma <= 1.4):
		return fmt.Errorf("ratio of specific heats of the exhaust is %v; want 1.2 to 1.4", f.Gamma)
	case !(f.Phi >= 0 && f.Phi <= 4):
		return fmt.Errorf("equivalence ratio of the exhaust is %v; want 0 to 4", f.Phi)
	}
	return fmt.Errorf("temperature round the manifold is %v K; want 150 K to 1000 K", f.Ambient)
}

// A Piece is what one pipe of one cylinder does.
type Piece struct {
	NTU               float64 // transfer units h π D L/(ṁ cp)
	Transfer          float64 // coefficient h from gas to wall, W/(m² K)
	Reynolds          float64 // on the bore, at the mean temperature
	WallTemperature   float64 // Tw, K
	OutletTemperature float64 // Tout, K
	Heat              float64 // the gas gives, W
}

// Effectiveness returns the share of the difference between inlet and wall that the gas loses: 1 − exp(−NTU).
func (p *Piece) Effectiveness() float64 { return -numeric.Expm1(-p.NTU) }

// A Result is the heat the exhaust loses.
type Result struct {
	Port, Primary     Piece   // of one cylinder
	Heat              float64 // of all cylinders, W
	OutletTemperature float64 // after the primary, by cp as given, K
	Notes             Note
}

// Heat returns the heat the exhaust gives to port and primary, and the temperatures it leaves them with. For each in turn
//
//	Tout = Tw + (Tin − Tw) exp(−NTU),  Q = ṁ cp (Tin − Tout)
//	NTU = h π D L/(ṁ cp) = 4 (L/D) Nu/(Re Pr),  Re = 4 ṁ/(π D μ)
//
// with Viscosity, Prandtl and Nusselt at the mean of Tin and Tout. A free pipe has one wall temperature over its length, from
//
//	Q = π Do L F (ε σ (Tw⁴ − Ta⁴) + ho (Tw − Ta)),  Do = D + 2 thickness
//
// Source: exponential course beside a wall of one temperature, Incropera and DeWitt, Fundamentals of Heat and Mass Transfer,
// §8.3.3; the correlation's is at Nusselt. Heat leaves the same energy in gas, walls and surroundings to rounding: a caller
// with real enthalpies takes it from the gas's, and then does not need OutletTemperature. A point outside a correlation's range
// has a note.
//
// The system must be valid. Heat does not allocate. It solves to rounding, so the result is as smooth as the formulas.
func (s *System) Heat(in Flow) (Result, error) {
	var r Result
	if err := in.check(); err != nil {
		return r, err
	}
	pr := Prandtl(in.Gamma)
	// Viscosity goes with T^0.7, so each piece scales that of the valve.
	mu := Viscosity(in.Temperature, in.Phi)
	var mean [2]float64
	var err error
	if r.Port, mean[0], err = s.Port.pass(&in, in.Temperature, mu, pr); err != nil {
		return Result{}, fmt.Errorf("exhaust port: %w", err)
	}
	inlet := r.Port.OutletTemperature
	mu *= numeric.Exp(viscosityPower * numeric.Log(inlet/in.Temperature))
	if r.Primary, mean[1], err = s.Primary.pass(&in, inlet, mu, pr); err != nil {
		return Result{}, fmt.Errorf("exhaust primary: %w", err)
	}
	r.OutletTemperature = r.Primary.OutletTemperature
	r.Heat = float64(s.Count) * (r.Port.Heat + r.Primary.Heat)
	for i, p := range [...]*Piece{&r.Port, &r.Primary} {
		if !(p.Reynolds >= 5e3 && p.Reynolds <= 2e5) {
			r.Notes |= NoteReynolds
		}
		if !(mean[i] >= 500 && mean[i] <= 4000) {
			r.Notes |= NoteTemperature
		}
	}
	return r, nil
}

// pass returns what the pipe does to gas that enters with the temperature tin and the viscosity mu of that temperature, and the
// mean temperature of the gas in it.
//
// Unknown are the mean temperature Tm and the wall's Tw. With n = NTU at Tin, and x = NTU/n = (Tm/Tin)^(0.7/4),
//
//	Tm = Tin − (Tin − Tw) (1 − exp(−n x))/2
//	(Tin − Tw) (1 − exp(−n x))/n = (Do/D) F (ε σ (Tw⁴ − Ta⁴) + ho (Tw − Ta))/h(Tin)
//
// The second is the wall's balance per area, which keeps its meaning as the pipe's length goes to nothing. Newton's method doubles
// the digits of a step: once one is below 1e-7 of Tin the next is below rounding.
func (p *Pipe) pass(in *Flow, tin, mu, pr float64) (piece Piece, tm float64, err error) {
	re := 4 * in.MassFlow / (math.Pi * p.Bore * mu)
	nu := Nusselt(re)
	n := 4 * p.Length / p.Bore * nu / (re * pr)
	h := nu * mu * in.Cp / (pr * p.Bore)

	w := &p.Wall
	held := w.Temperature != 0
	outside := (p.Bore + 2*w.Thickness) / p.Bore * w.Exposure / h
	radiation, ambient := w.Emissivity*stefanBoltzmann, in.Ambient*in.Ambient
	ambient *= ambient

	const power = viscosityPower / 4
	tm, tw, x, done := tin, tin, 1.0, 1.0
	done = -numeric.Expm1(-n)
	if held {
		tw = w.Temperature
	} else {
		// A first guess with the properties of the inlet costs no power of temperature. The outside's loss curves upwards, so
		// that from the gas's temperature Newton's method comes down to it without passing it.
		part := 1.0
		if n > 1e-12 {
			part = done / n
		}
		for range 60 {
			cube := tw * tw * tw
			step := ((tin-tw)*part - outside*(radiation*(cube*tw-ambient)+w.Transfer*(tw-in.Ambient))) /
				(part + outside*(4*radiation*cube+w.Transfer))
			tw += step
			if math.Abs(step) < 1e-3*tin {
				break
			}
		}
	}
	tm -= (tin - tw) * done / 2
	for range 60 {
		x = numeric.Exp(power * numeric.Log(tm/tin))
		done = -numeric.Expm1(-n * x)
		left := 1 - done
		dx := power * x / tm // of x over Tm
		fall := tin - tw
		g := tm - tin + fall*done/2
		gm := 1 + fall*left*n*dx/2
		if held {
			step := g / gm
			tm -= step
			if math.Abs(step) < 1e-7*tin {
				x -= dx * step
				return p.piece(in, tin, tw, done-left*n*dx*step, x, n, h, mu), tm, nil
			}
			continue
		}
		part := x // done/n, at the limit of no length
		if n*x > 1e-12 {
			part = done / n
		}
		cube := tw * tw * tw
		f := fall*part - outside*(radiation*(cube*tw-ambient)+w.Transfer*(tw-in.Ambient))
		fm := fall * left * dx
		fw := -part - outside*(4*radiation*cube+w.Transfer)
		gw := -done / 2
		det := gm*fw - gw*fm
		stepM := (g*fw - gw*f) / det
		stepW := (gm*f - fm*g) / det
		tm -= stepM
		tw -= stepW
		if !(tm > 0 && tw > 0) {
			break
		}
		if math.Abs(stepM) < 1e-7*tin && math.Abs(stepW) < 1e-7*tin {
			x -= dx * stepM
			return p.piece(in, tin, tw, done-left*n*dx*stepM, x, n, h, mu), tm, nil
		}
	}
	return Piece{}, tm, errDiverged
}

// piece returns the figures of a pipe with the wall temperature tw and the effectiveness done; x = NTU/n, and n, h and mu are those at
// the inlet's temperature. x and done come with the last step, short enough to be followed in a straight line.
func (p *Pipe) piece(in *Flow, tin, tw, done, x, n, h, mu float64) Piece {
	thicker := x * x * x * x // the viscosity's ratio
	drop := (tin - tw) * done
	return Piece{
		NTU: n * x, Transfer: h * x, Reynolds: 4 * in.MassFlow / (math.Pi * p.Bore * mu * thicker),
		WallTemperature: tw, OutletTemperature: tin - drop, Heat: in.MassFlow * in.Cp * drop,
	}
}
