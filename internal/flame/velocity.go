// Package flame computes how the angles of combustion, from spark to burning and from burning to burned, change with the state
// of the charge: through its laminar burning velocity and its viscosity.
//
// Published correlations of the burning velocity of one fuel differ by up to 1.8 in its size and much less in its changes. So
// each fuel keeps to one family of correlations, and the model takes nothing but ratios of two velocities of one fuel.
//
// Everything is in SI: Pa absolute, K, m/s. Residual gas is a mole fraction.
package flame

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
)

// A Substance is a fuel with a burning velocity of its own.
type Substance int

const (
	Petrol   Substance = iota // and every liquid hydrocarbon, after Rhodes and Keck
	Ethanol                   // this and the rest after Gülder
	Methanol                  //
	Propane                   // and liquefied petroleum gas
	Methane                   // and natural gas
	substanceCount
)

// Rhodes and Keck, SAE 850047 (1985), gasoline, as in Heywood, Internal Combustion Engine Fundamentals (1988), ch. 9. Constants
// and range of φ from memory.
const (
	petrolPeakPhi     = 1.21
	petrolPeak        = 0.305  // m/s
	petrolCurvature   = -0.549 // m/s
	petrolTemperature = 298.0  // K
	petrolLow         = 0.7    // φ
	petrolHigh        = 1.6    // φ
)

// Gülder, 19th Symposium on Combustion (1982) and SAE 841000 (1984). Range of φ from memory.
const (
	guelderPhi         = 1.075
	guelderTemperature = 300.0 // K
	guelderLow         = 0.7   // φ
	guelderHigh        = 1.4   // φ
)

// referencePressure is 1 atm, Pa, in both families.
const referencePressure = 101325.0

// guelder holds Gülder's constants, from memory.
var guelder = [substanceCount]struct {
	W, eta, xi  float64 // W in m/s
	alpha, beta float64
	bends       bool // β is over √φ when lean and times √φ when rich
}{
	Ethanol:  {0.465, 0.25, 6.34, 1.75, -0.17, true},
	Methanol: {0.492, 0.25, 5.11, 1.75, -0.20, true},
	Propane:  {0.446, 0.12, 4.95, 1.77, -0.2, false},
	Methane:  {0.422, 0.15, 5.18, 2.0, -0.5, false},
}

// law returns what the substance's family says at the equivalence ratio φ: ln S0 with its slope over φ, S0 in m/s at T0, K,
// and 1 atm, and the exponents α and β.
func (s Substance) law(phi float64) (logS0, slope, T0, alpha, beta float64) {
	if s == Petrol {
		d := phi - petrolPeakPhi
		S0 := petrolPeak + petrolCurvature*d*d
		return numeric.Log(S0), 2 * petrolCurvature * d / S0, petrolTemperature,
			2.4 - 0.271*math.Pow(phi, 3.51), -0.357 + 0.14*math.Pow(phi, 2.77)
	}
	g := &guelder[s]
	d := phi - guelderPhi
	beta = g.beta
	if g.bends {
		beta *= math.Sqrt(max(phi, 1/phi))
	}
	return numeric.Log(g.W) + g.eta*numeric.Log(phi) - g.xi*d*d, g.eta/phi - 2*g.xi*d, guelderTemperature, g.alpha, beta
}

// A Fuel is a substance or a blend of substances. Blend and OfFormula make it; a literal is not complete.
type Fuel struct {
	shares [substanceCount]float64 // of the energy, together 1
	flags  Flags
}

// A Part is one substance of a blend.
type Part struct {
	Substance Substance
	Energy    float64 // its share of the fuel's heating value, or in proportion to it
}

// Bounds between hydrocarbons by their hydrogen to carbon ratio: butane has 2.5, propane 2.67, ethane 3, methane 4; liquid
// fuels lie between toluene's 1.14 and hexane's 2.33.
const (
	fewestHydrogen  = 1.0
	propaneHydrogen = 2.45
	methaneHydrogen = 3.5
)

// OfFormula returns the fuel whose mean molecule has so many atoms; ratios to one carbon will do.
//
// Oxygen is read as ethanol's up to one atom to two carbons, and beyond that as methanol's for the rest, so that both pure
// alcohols come out as themselves. Methanol in petrol counts as ethanol then: their exponents are nearly the same; Blend takes
// it as it is. An ether counts as an alcohol. The part of a substance in the carbon stands for that in the energy: per
// carbon atom, petrol and the two alcohols bring the same heat within 7 %. Hydrocarbons go by hydrogen to carbon: from 2.45
// propane, from 3.5 methane, else petrol. Whatever is none of these, such as hydrogen, nitromethane and a nearly bare carbon,
// has no correlation here: it takes petrol's ratios, and the flag NoCorrelation says so. Negative or not finite numbers, and no
// atoms at all, are errors.
func OfFormula(carbon, hydrogen, oxygen float64) (Fuel, error) {
	for _, n := range [...]float64{carbon, hydrogen, oxygen} {
		if !(n >= 0 && n <= math.MaxFloat64) {
			return Fuel{}, fmt.Errorf("fuel C%v H%v O%v: want no number below 0", carbon, hydrogen, oxygen)
		}
	}
	if carbon+hydrogen == 0 {
		return Fuel{}, errors.New("fuel without carbon and hydrogen")
	}
	hc, oc := hydrogen/carbon, oxygen/carbon
	if !(hc >= fewestHydrogen && hc <= 4.01 && oc <= 1.01) {
		return foreign(), nil
	}
	methanol := min(max(2*oc-1, 0), 1)
	ethanol := min(2*oc, 1-methanol)
	petrol := 1 - ethanol - methanol
	f := Fuel{}
	f.shares[Ethanol], f.shares[Methanol] = ethanol, methanol
	base := Petrol
	if petrol > 0 {
		rest := (hc - 3*ethanol - 4*methanol) / petrol
		switch {
		case oc == 0 && rest >= methaneHydrogen:
			base = Methane
		case oc == 0 && rest >= propaneHydrogen:
			base = Propane
		}
	}
	f.shares[base] += petrol
	return f, nil
}

// Known reports whether the fuel has a correlation of its own; else it takes petrol's ratios.
func (f Fuel) Known() bool { return f.flags&NoCorrelation == 0 }

func foreign() Fuel {
	f := Fuel{flags: NoCorrelation}
	f.shares[Petrol] = 1
	return f
}

// A Mixture is a fuel with air at one equivalence ratio, made ready for the loop: its burning velocity without residual gas is
// exp(base + α ln T + β ln p). At makes it; the zero Mixture is not one.
type Mixture struct {
	base, alpha, beta float64
	petrol            float64 // share of the fuel whose residual factor is that of Rhodes and Keck
	flags             Flags
	made              bool
}

// Bounds of φ beyond which no engine runs on any of the fuels, common practice, no source.
const (
	leanestPhi = 0.4
	richestPhi = 2.5
)

// At returns the mixture of the equivalence ratio φ, the fuel-air ratio over the stoichiometric one: 1/λ.
//
//	petrol:  S0 = 0.305 − 0.549 (φ − 1.21)² m/s,  α = 2.4 − 0.271 φ^3.51,  β = −0.357 + 0.14 φ^2.77,  T0 = 298 K
//	others:  S0 = W φ^η exp(−ξ (φ − 1.075)²),  α and β by fuel,  T0 = 300 K
//	S = S0 (T/T0)^α (p/1 atm)^β
//
// Source: Rhodes and Keck, SAE 850047 (1985), φ 0.7 to 1.6; Gülder, SAE 841000 (1984), φ 0.7 to 1.4; constants and
// ranges from memory. Beyond the range α and β are held and ln S0 goes on along its tangent, so that the velocity keeps falling
// and stays positive, where the parabola would become negative; PhiOutside says so. The fits were made up to about
// 12 bar and 550 K, which the flame in an engine always exceeds: as nobody can change that, no flag tells it. Petrol's exponents
// move its fastest mixture from φ 1.21 at 298 K and 1 atm to 1.04 at 550 K and to 1.3 in an engine. The trade has it near 1.15
// everywhere: less than 10 % of the velocity hangs on that.
// An equivalence ratio outside 0.4 to 2.5 and an incomplete fuel are errors.
func (f Fuel) At(phi float64) (Mixture, error) {
	if err := gas.CheckRange("equivalence ratio", phi, leanestPhi, richestPhi, ""); err != nil {
		return Mixture{}, err
	}
	m := Mixture{flags: f.flags}
	for s, w := range f.shares {
		if w == 0 {
			continue
		}
		low, high := guelderLow, guelderHigh
		if Substance(s) == Petrol {
			low, high = petrolLow, petrolHigh
			m.petrol = w
		}
		within := min(max(phi, low), high)
		if within != phi {
			m.flags |= PhiOutside
		}
		logS0, slope, T0, alpha, beta := Substance(s).law(within)
		logS0 += slope * (phi - within)
		m.base += w * (logS0 - alpha*numeric.Log(T0) - beta*numeric.Log(referencePressure))
		m.alpha += w * alpha
		m.beta += w * beta
		m.made = true
	}
	if !m.made {
		return Mixture{}, errors.New("the fuel of the flame is incomplete")
	}
	return m, nil
}

// Residual factors by mole, from memory: Rhodes and Keck's, in which x^0.77 makes the first hundredths of residual count most, and Gülder's.
const (
	petrolResidual   = 2.06
	petrolExponent   = 0.77
	guelderResidual  = 2.3
	greatestResidual = 0.3 // mole fraction up to which burning velocities were measured, from memory
)

// At the greatest measured residual: ln of the factor and its slope. Beyond, ln of the factor follows the tangent.
var (
	petrolEdge       = math.Log(1 - petrolResidual*math.Pow(greatestResidual, petrolExponent))
	petrolEdgeSlope  = -petrolResidual * petrolExponent * math.Pow(greatestResidual, petrolExponent-1) / math.Exp(petrolEdge)
	guelderEdge      = math.Log1p(-guelderResidual * greatestResidual)
	guelderEdgeSlope = -guelderResidual / math.Exp(guelderEdge)
)

// logResidual returns ln of the factor by which the mole fraction x of residual gas slows the flame:
//
//	petrol:  1 − 2.06 x^0.77,  others:  1 − 2.3 x
//
// The first is zero at x = 0.39 and the second at 0.43. Beyond 0.3 both go on as the exponential with the same value and slope.
func (m *Mixture) logResidual(x float64) float64 {
	beyond := x - greatestResidual
	var l float64
	if m.petrol > 0 {
		if beyond > 0 {
			l = m.petrol * (petrolEdge + petrolEdgeSlope*beyond)
		} else {
			l = m.petrol * numeric.Log(1-petrolResidual*numeric.Exp(petrolExponent*numeric.Log(x)))
		}
	}
	if m.petrol < 1 {
		if beyond > 0 {
			l += (1 - m.petrol) * (guelderEdge + guelderEdgeSlope*beyond)
		} else {
			l += (1 - m.petrol) * numeric.Log(1-guelderResidual*x)
		}
	}
	return l
}
