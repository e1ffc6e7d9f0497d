package cooling

import (
	"fmt"
	"math"
)

// The pressures that the saturation line holds between, Pa: at 273.15 K and at the critical point.
const (
	leastSaturation = 611.213
	mostSaturation  = 22.064e6
)

// boilingWater returns the temperature at which water boils under a pressure, K.
//
//	β = (p/1 MPa)^(1/4),  E = β² + n3 β + n6,  F = n1 β² + n4 β + n7,  G = n2 β² + n5 β + n8
//	D = 2 G/(−F − √(F² − 4 E G)),  T = (n10 + D − √((n10 + D)² − 4 (n9 + n10 D)))/2
//
// Source: IAPWS Industrial Formulation 1997, region 4, backward equation (31), coefficients of its table 34, from memory; they give the check values of
// its table 36. Holds from 611.213 Pa to 22.064 MPa; outside is an error.
func boilingWater(pressure float64) (float64, error) {
	if !(pressure >= leastSaturation && pressure <= mostSaturation) {
		return 0, fmt.Errorf("pressure is %v Pa; the saturation line of water holds from %v Pa to %v Pa", pressure, leastSaturation, mostSaturation)
	}
	const (
		n1, n2, n3, n4, n5 = 0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7
		n6, n7, n8, n9     = 0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849
		n10                = 0.65017534844798e3
	)
	beta := math.Sqrt(math.Sqrt(pressure / 1e6))
	e := beta*beta + n3*beta + n6
	f := n1*beta*beta + n4*beta + n7
	g := n2*beta*beta + n5*beta + n8
	d := 2 * g / (-f - math.Sqrt(f*f-4*e*g))
	return (n10 + d - math.Sqrt((n10+d)*(n10+d)-4*(n9+n10*d))) / 2, nil
}
