package manifold

import (
	"fmt"
	"math"

	"bellmouth/internal/units"
)

// AirShares returns each cylinder's share of the engine's air from figures in proportion to it, such as the flow of each
// port and runner on a flow bench.
//
//	si = fi/Σf
//
// The shares add up to 1, and equal figures have equal shares. Flow at one lift is not the filling of a running engine:
// it leaves out the waves and the neighbours. A figure that is not positive, or fewer than two, is an error.
func AirShares(figures []float64) ([]float64, error) {
	return shares("flow", figures, nil)
}

// AirSharesFromLambda returns each cylinder's share of the engine's air from its relative air–fuel ratio, measured while the
// cylinders have these fuel quantities.
//
//	si = λi qi/Σ(λ q)
//
// fuel is q, in any unit; nil when all have the same, so that the shares go with λ alone. Source: definition of λ, with one
// fuel for all. Each λ is to be 0.5 to 2, where one that was measured means something.
func AirSharesFromLambda(lambda, fuel []float64) ([]float64, error) {
	if fuel != nil && len(fuel) != len(lambda) {
		return nil, fmt.Errorf("fuel is given for %d cylinders and λ for %d", len(fuel), len(lambda))
	}
	for i, l := range lambda {
		if !(l >= lowestLambda && l <= highestLambda) {
			return nil, fmt.Errorf("cylinder %d: λ is %.4g; want %v to %v", i+1, l, lowestLambda, highestLambda)
		}
		if fuel != nil {
			if err := checkPositive("fuel", fuel[i], ""); err != nil {
				return nil, fmt.Errorf("cylinder %d: %w", i+1, err)
			}
		}
	}
	return shares("λ", lambda, fuel)
}

const lowestLambda, highestLambda = 0.5, 2

// An ExhaustResponse is how the exhaust's temperature answers to the mixture near an operating point.
type ExhaustResponse struct {
	Lambda float64 // λ of the whole engine when the temperatures were taken
	Slope  float64 // dT/dλ, K; above 0 when rich
}

// Farthest that a cylinder's λ may lie from the engine's for the slope to stand for a curve that bends.
const farthestLambda = 0.1

// AirSharesFromExhaust returns each cylinder's share of the engine's air from its exhaust temperature, K, while all cylinders
// have the same fuel and spark.
//
//	λi = λ + (Ti − T̄)/(dT/dλ),  si = λi/Σλ
//
// With the same fuel the mean of the cylinders' λ is the engine's, and so it comes out. The slope is the caller's: a central
// difference of a model, or of a sweep of the mixture. The temperature's dependence on a cylinder's
// residual, on its spark and on its probe is taken for none, so this is the weakest of the three routes; near its peak, about λ of 0.95, the
// temperature says nothing. A λi more than 0.1 from the engine's, or a slope of less than 100 K, is an error.
// Source: linearised; common practice, no source.
func AirSharesFromExhaust(temperature []float64, r ExhaustResponse) ([]float64, error) {
	if !(r.Lambda >= lowestLambda && r.Lambda <= highestLambda) {
		return nil, fmt.Errorf("λ of the engine is %.4g; want %v to %v", r.Lambda, lowestLambda, highestLambda)
	}
	if !(math.Abs(r.Slope) >= 100) || math.IsInf(r.Slope, 0) {
		return nil, fmt.Errorf("exhaust temperature changes by %s a unit of λ; want %s or more: it says nothing of the mixture here",
			difference(r.Slope, 4), difference(100, 4))
	}
	var mean float64
	for i, t := range temperature {
		if err := checkPositive("exhaust temperature", t, "K"); err != nil {
			return nil, fmt.Errorf("cylinder %d: %w", i+1, err)
		}
		mean += t / float64(len(temperature))
	}
	lambda := make([]float64, len(temperature))
	for i, t := range temperature {
		off := (t - mean) / r.Slope
		if !(math.Abs(off) <= farthestLambda) {
			return nil, fmt.Errorf("cylinder %d: %s is %s from the mean, which makes λ %.3g from the engine's; want at most %v",
				i+1, units.Rounded(t, units.Temperature, "K", 4), difference(t-mean, 3), off, farthestLambda)
		}
		lambda[i] = r.Lambda + off
	}
	return shares("λ", lambda, nil)
}

// difference names a temperature difference, K, with that many digits.
func difference(x float64, digits int) string {
	return units.Rounded(x, units.TemperatureDifference, "K", digits)
}

// shares returns figure times weight over their sum; nil weights are all the same.
func shares(what string, figures, weights []float64) ([]float64, error) {
	if len(figures) < 2 {
		return nil, fmt.Errorf("%s is given for %d cylinders; want at least 2", what, len(figures))
	}
	s := make([]float64, len(figures))
	var sum float64
	for i, f := range figures {
		if err := checkPositive(what, f, ""); err != nil {
			return nil, fmt.Errorf("cylinder %d: %w", i+1, err)
		}
		s[i] = f
		if weights != nil {
			s[i] *= weights[i]
		}
		sum += s[i]
	}
	if err := checkPositive("sum of "+what, sum, ""); err != nil {
		return nil, err
	}
	for i := range s {
		s[i] /= sum
	}
	return s, nil
}

// Deviation returns the greatest deviation of a cylinder's air from the mean, a fraction.
//
//	d = max |n si − 1|
//
// shares are those of one engine, which AirShares and its like return.
func Deviation(shares []float64) float64 {
	var d float64
	for _, s := range shares {
		d = math.Max(d, math.Abs(float64(len(shares))*s-1))
	}
	return d
}

func checkShares(shares []float64) error {
	if len(shares) < 2 {
		return fmt.Errorf("air is shared between %d cylinders; want at least 2", len(shares))
	}
	var sum float64
	for i, s := range shares {
		if !(s > 0 && s < 1) {
			return fmt.Errorf("cylinder %d: share of air is %v; want more than 0 and less than 1", i+1, s)
		}
		sum += s
	}
	if !(math.Abs(sum-1) <= 1e-9) {
		return fmt.Errorf("shares of air add up to %.10g; want 1", sum)
	}
	return nil
}
