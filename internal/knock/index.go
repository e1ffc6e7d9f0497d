package knock

import (
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

// Limits of K. A cooled charge under boost passes 15 bar colder than the engines that K was fitted in; at the hot end the motor
// test's 1 is the highest that a test stands for.
const (
	coldestK = -0.75
	hottestK = 1.0
)

// K returns the weight K of the octane index, and whether it is held at −0.75 or 1.
//
//	K = 0.0056 T15 − 4.68, T15 ≤ 825 K;  K = 0.0426 T15 − 35.2 above
//
// T15 is the temperature, K, of the unburned charge when compression passes 15 bar; see T15. It is 0 in the research test and 1 in
// the motor test. Held at −0.75 below 702 K, where a cold boosted charge left the data: the fuel may be better than told. Held
// at 1 above 850 K. Source: Kalghatgi, SAE 2003-01-1816 and 2005-01-0239; constants from memory. A T15 outside 300 K to 1500 K is an
// error.
func K(T15 float64) (k float64, held bool, err error) {
	if err := gas.CheckRange(t15Name, T15, 300, 1500, "K"); err != nil {
		return 0, false, err
	}
	if T15 <= 825 {
		k = 0.0056*T15 - 4.68
	} else {
		k = 0.0426*T15 - 35.2
	}
	held = k < coldestK || k > hottestK
	return min(max(k, coldestK), hottestK), held, nil
}

// OctaneIndex returns the octane number OI of the primary reference fuel that knocks as the fuel does in this engine.
//
//	OI = RON − K (RON − MON)
//
// Source: Kalghatgi, SAE 2001-01-3584; Zhou et al., SAE 2017-01-0666.
func OctaneIndex(ron, mon, k float64) float64 { return ron - k*(ron-mon) }

// PeakLambda is the mixture that asks for most octane, about 5 % rich of stoichiometric. Source: SAE 960497 (1996), abstract.
const PeakLambda = 0.95

// mixtureExponent is half of the 0.77 of He et al.; see MixtureFactor.
const mixtureExponent = 0.77 / 2

// MixtureFactor returns the factor m of the delay by mixture, 1 at PeakLambda, and whether it is held outside lambda 0.7 to 1.3.
//
//	m = (λ/0.95)^0.385
//
// This is the chemistry alone: a leaner end gas of the same pressure and temperature reacts later, a richer one sooner.
// Temperatures, which make most of what an engine shows, are the cycle's. He et al. (Combustion and Flame 142 (2005) 266)
// measured τ ~ φ^−0.77 with isooctane from φ 0.25 to 1, above 940 K. Half of it is taken, an assumption: the end gas is
// colder, and the source ends at φ 1.
//
// There is no relief on the rich side. SAE 960497 finds 2 octane numbers per unit of air–fuel ratio on either side of the peak. The
// cycle's temperatures give about 2.3 of them rich and 1.6 lean, so what is left for the chemistry is little, and on the
// rich side it works against the builder.
func MixtureFactor(lambda float64) (m float64, held bool) {
	within := min(max(lambda, 0.7), 1.3)
	return math.Pow(within/PeakLambda, mixtureExponent), within != lambda
}

// DilutionFactor returns the factor d of the delay by burned gas in the charge, and whether it is held outside −0.05 to 0.25.
//
//	d = (1 + 0.3 x)^3.402
//
// x is the burned mass share of the charge less BaseResidual; 10 points act like 3 % more octane number. Below the base it
// counts against the builder by the same line, so that nothing bends there. Source: Hoepke et al., SAE 2012-01-0707, abstract (boosted
// engine with recirculated exhaust gas, 14 to 18 bar); the form is an inference, and its use for residual gas an assumption. The
// temperature of the burned gas is the cycle's affair.
func DilutionFactor(x float64) (d float64, held bool) {
	within := min(max(x, -BaseResidual), 0.25)
	return math.Pow(1+0.3*within, OctaneExponent), within != x
}

const octanePressure = 15 * bar

// OctanePressure names the pressure at which the charge's temperature tells the octane index, in a sentence.
var OctanePressure = units.Figure{Value: octanePressure, Kind: units.Pressure, Name: units.Short}.Mark()

// t15Name is made once: T15 is checked in the loop.
var t15Name = "temperature at " + OctanePressure

// T15 returns the temperature, K, of the unburned charge when compression passes 15 bar.
//
//	T15 = T (15 bar/p)^((γ−1)/γ)
//
// p, Pa, and T, K, are those at inlet valve closing, γ the mean ratio of heat capacities. Heat to the walls is left out. It checks nothing, as it
// stands in the loop.
func T15(p, T, gamma float64) float64 {
	return T * numeric.Exp((1-1/gamma)*numeric.Log(octanePressure/p))
}
