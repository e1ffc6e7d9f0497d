package flame

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
)

// Flags are the reasons to doubt a figure of this package; none is zero.
type Flags uint8

const (
	PhiOutside         Flags = 1 << iota // mixture richer or leaner than the burning velocity was measured
	ResidualOutside                      // more residual gas than the burning velocity was measured with
	TemperatureOutside                   // charge far colder or hotter than the correlations are used for
	NoCorrelation                        // a fuel without a correlation, taken as petrol
)

// Temperatures of the unburned charge, K, outside of which a doubt is told. The fits end near 300 K and 700 K; the charge of
// an engine starts burning at 600 K to 800 K and its last part reaches 1000 K. Common practice, no source.
const (
	coldest = 250.0
	hottest = 1100.0
)

// A State is the unburned gas ahead of the flame.
type State struct {
	Pressure    float64 // p, Pa absolute
	Temperature float64 // T of the unburned gas, K
	Residual    float64 // x, mole fraction of burned gas in the unburned, from 0 to less than 1
}

// A Flame is what burns, and the state it burns in.
type Flame struct {
	Mixture Mixture
	State   State
}

// ResidualMoleFraction returns the mole fraction x of residual gas whose mass fraction is y, dimensionless.
//
//	x = y Rb/R
//
// Rb and R are the gas constants of the burned gas and of the whole charge, J/(kg K). At lambda 1 a small x is some 5 % above y.
func ResidualMoleFraction(massFraction, burnedR, chargeR float64) float64 {
	return massFraction * burnedR / chargeR
}

func (f *Flame) check() (Flags, error) {
	s := &f.State
	switch {
	case !f.Mixture.made:
		return 0, errors.New("the mixture of the flame is incomplete")
	case !(s.Pressure > 0 && s.Pressure <= math.MaxFloat64):
		return 0, fmt.Errorf("pressure of the unburned gas is %v Pa; want more than 0", s.Pressure)
	case !(s.Temperature > 0 && s.Temperature <= math.MaxFloat64):
		return 0, fmt.Errorf("temperature of the unburned gas is %v K; want more than 0", s.Temperature)
	case !(s.Residual >= 0 && s.Residual < 1):
		return 0, fmt.Errorf("residual mole fraction is %v; want 0 to less than 1", s.Residual)
	}
	flags := f.Mixture.flags
	if s.Residual > greatestResidual {
		flags |= ResidualOutside
	}
	if s.Temperature < coldest || s.Temperature > hottest {
		flags |= TemperatureOutside
	}
	return flags, nil
}

// logVelocity returns ln S, S in m/s, without checking.
func (f *Flame) logVelocity(logT, logp float64) float64 {
	return f.Mixture.base + f.Mixture.alpha*logT + f.Mixture.beta*logp + f.Mixture.logResidual(f.State.Residual)
}

// logAngle returns ln of ν^(1/3) S^(−2/3), short of a constant.
func (f *Flame) logAngle() float64 {
	T, p := f.State.Temperature, f.State.Pressure
	logT, logp := numeric.Log(T), numeric.Log(p)
	logViscosity := numeric.Log(gas.Viscosity(T)) + logT - logp // of μ T/p
	return (logViscosity - 2*f.logVelocity(logT, logp)) / 3
}

// A Base is a stated flame made ready for the loop. NewBase makes it; the zero Base is not one.
type Base struct {
	logAngle float64
	flags    Flags
	made     bool
}

// NewBase returns the base of the flame for which an angle of combustion is known. What Velocity refuses is an error.
func NewBase(stated Flame) (Base, error) {
	flags, err := stated.check()
	if err != nil {
		return Base{}, fmt.Errorf("stated: %w", err)
	}
	return Base{logAngle: stated.logAngle(), flags: flags, made: true}, nil
}

// AngleFactor returns the factor on a crank angle of combustion, known for the base, that makes it the angle of the flame here in
// the same engine at the same speed. Dimensionless.
//
//	Δθ/Δθ0 = (ν/ν0)^(1/3) (S0/S)^(2/3),  ν = μ(T) R T/p
//
// It serves the burn angle with both states, base and here, taken half-way through the burn, and the ignition delay with both taken at the
// spark. The two mixtures may differ in φ; they are of one fuel. S is the laminar burning velocity (Velocity), μ the viscosity
// of air; that R changes with mixture and residual is left out: 2 % of R, and less than 1 % of the angle.
//
// Source: Hires, Tabaczynski and Novak, SAE 780232 (1978), in the form of Heywood, Internal Combustion Engine Fundamentals
// (1988), ch. 9, from memory:
//
//	delay  Δθd = C (Sp ν)^(1/3) (h/S)^(2/3),  burn  Δθb = C' (B/h*) (Sp ν*)^(1/3) (hi/S*)^(2/3)
//
// The piston speed Sp cancels at one speed, the bore B in one engine. The heights of the chamber at the spark, h and hi, and
// half-way through the burn, h*, are left out: h* is the same while the burn is phased alike. An earlier spark finds a higher
// chamber (compression ratio 9, spark at 35° instead of 20°: 1.5 times as high), for which the law asks 29 % longer angles,
// hence a still earlier spark. That loop nearly feeds itself, and rests on eddies as large as the chamber is high; the term
// is not carried over. The factor is then on the short side where the spark is much earlier than at the stated load, and does
// not hold for a burn phased much later.
//
// The result is not bounded: a charge full of residual gas gets an angle no engine would burn in, and its flag.
// What Velocity refuses is an error here, and so is a factor out of the range of numbers.
func (b Base) AngleFactor(here Flame) (float64, Flags, error) {
	if !b.made {
		return 0, 0, errors.New("the stated flame is missing")
	}
	flags, err := here.check()
	if err != nil {
		return 0, 0, err
	}
	factor := numeric.Exp(here.logAngle() - b.logAngle)
	if !(factor > 0 && factor <= math.MaxFloat64) {
		return 0, 0, fmt.Errorf("the angle of combustion has no finite factor at %v Pa and %v K", here.State.Pressure, here.State.Temperature)
	}
	return factor, b.flags | flags, nil
}
