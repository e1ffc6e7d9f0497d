package supply

import (
	"fmt"
	"math"
)

// The Reynolds numbers between which a pipe's flow is neither safely laminar nor fully turbulent.
const (
	laminarEnd     = 2300
	turbulentStart = 4000
)

const (
	highestReynolds  = 1e8  // of the Moody chart
	highestRoughness = 0.05 // of the Moody chart, by the bore
)

// A Regime is how a pipe's flow runs.
type Regime int

const (
	Still        Regime = iota // no flow
	Laminar                    // Reynolds number up to 2300
	Transitional               // between: the factor is not well defined there
	Turbulent                  // from 4000 on
)

func (r Regime) String() string {
	switch r {
	case Still:
		return "still"
	case Laminar:
		return "laminar"
	case Transitional:
		return "transitional"
	case Turbulent:
		return "turbulent"
	}
	return fmt.Sprintf("regime %d", int(r))
}

// FrictionFactor returns the friction factor f of a round pipe (Darcy's, four times Fanning's), dimensionless, and how the
// flow runs, by the Reynolds number Re = v d/ν and the wall's roughness over the bore, ε/d.
//
//	laminar, Re ≤ 2300:     f = 64/Re
//	turbulent, Re ≥ 4000:   1/√f = −2 log10((ε/d)/3.7 + 2.51/(Re √f))
//	between:                straight in Re from 64/2300 to the turbulent value at 4000
//
// Source: Hagen and Poiseuille; Colebrook, Journal of the Institution of Civil Engineers 11 (1939), the equation behind
// the Moody chart, solved to rounding, itself within 15 % of measurements (White, Fluid Mechanics, §6.6). Between the two
// the flow is unsteady and the straight line is common practice, no source: it makes the loss continuous.
// A Reynolds number outside 0 to 1e8, or a roughness outside 0 to 0.05, the chart's range, is an error.
func FrictionFactor(reynolds, relativeRoughness float64) (float64, Regime, error) {
	switch {
	case !(reynolds > 0 && reynolds <= highestReynolds):
		return 0, Still, fmt.Errorf("flow has a Reynolds number of %.4g; want more than 0 and at most %.0e", reynolds, float64(highestReynolds))
	case !(relativeRoughness >= 0 && relativeRoughness <= highestRoughness):
		return 0, Still, fmt.Errorf("roughness over bore is %.4g; want 0 to %v", relativeRoughness, highestRoughness)
	case reynolds <= laminarEnd:
		return 64 / reynolds, Laminar, nil
	case reynolds < turbulentStart:
		const low = 64.0 / laminarEnd
		share := (reynolds - laminarEnd) / (turbulentStart - laminarEnd)
		return low + share*(colebrook(turbulentStart, relativeRoughness)-low), Transitional, nil
	}
	return colebrook(reynolds, relativeRoughness), Turbulent, nil
}

// colebrook solves Colebrook's equation for x = 1/√f by Newton's method. From Haaland's form, within 2 %, three or four
// steps reach rounding: the residual is smooth, rising and concave in x.
func colebrook(reynolds, relativeRoughness float64) float64 {
	x := 1 / math.Sqrt(haaland(reynolds, relativeRoughness))
	rough, b := relativeRoughness/3.7, 2.51/reynolds
	for range 20 {
		inner := rough + b*x
		step := (x + 2*math.Log10(inner)) / (1 + 2/math.Ln10*b/inner)
		x -= step
		if math.Abs(step) <= 1e-14*x {
			break
		}
	}
	return 1 / (x * x)
}

// haaland returns the turbulent friction factor explicitly, within 2 % of Colebrook's.
//
//	1/√f = −1.8 log10(((ε/d)/3.7)^1.11 + 6.9/Re)
//
// Source: Haaland, Journal of Fluids Engineering 105 (1983), as in White, Fluid Mechanics, §6.6.
func haaland(reynolds, relativeRoughness float64) float64 {
	y := -1.8 * math.Log10(math.Pow(relativeRoughness/3.7, 1.11)+6.9/reynolds)
	return 1 / (y * y)
}
