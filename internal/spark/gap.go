package spark

import (
	"fmt"
	"math"

	"bellmouth/internal/units"
)

// Breakdown of air in a uniform field: the critical field over pressure and √(K/C) of the quadratic law of ionisation,
// at 20 °C. Source: Kuffel, Zaengl and Kuffel, High Voltage Engineering: Fundamentals (2nd ed., 2000), ch. 5, after Schumann
// (1923); constants from memory.
const (
	criticalField   = 24.36 // kV/(bar cm)
	ionisationRoot  = 6.72  // kV/√(bar cm)
	breakdownKelvin = 293.15
)

// Products of pressure at 20 °C and gap, Pa m, between which the law is taken. Below, it leaves Paschen's curve before the
// minimum of that (330 V to 350 V near 0.75 Pa m), which no engine comes near: 1 bar over 0.2 mm is 20. Above, no published value
// was compared with.
const (
	leastProduct   = 15.0
	largestProduct = 2000.0
)

// Bounds of the gas temperature at the spark, K, in which the law's scaling by density is taken: hotter gas begins to
// conduct on its own. Common practice, no source.
const (
	coldestGas = 200.0
	hottestGas = 1500.0
)

// A State is the gas between the plug's electrodes at the moment of the spark.
type State struct {
	Pressure    float64 // p, Pa absolute
	Temperature float64 // T of the unburned gas, K
}

// reduced returns p scaled to the density it has at 20 °C, in bar/cm × m: times a gap in m it is the law's p d in bar cm.
func (s State) reduced() (float64, error) {
	if !positive(s.Pressure) {
		return 0, fmt.Errorf("pressure at the spark is %v Pa; want more than 0", s.Pressure)
	}
	if !(s.Temperature >= coldestGas && s.Temperature <= hottestGas) {
		return 0, fmt.Errorf("temperature at the spark is %v K; want %v to %v", s.Temperature, coldestGas, hottestGas)
	}
	return s.Pressure * breakdownKelvin / s.Temperature * barCentimetre, nil
}

// barCentimetre is 1 Pa m in bar cm.
const barCentimetre = 1e-3

// BreakdownVoltage returns the voltage at which a gap d, m, between the plug's electrodes breaks down: V.
//
//	U = 24.36 δ + 6.72 √δ kV,  δ = p d (293.15 K/T) in bar cm
//
// Source: Kuffel, Zaengl and Kuffel, High Voltage Engineering: Fundamentals (2nd ed., 2000), ch. 5, after Schumann (1923), from
// memory: air in a uniform field, by density (Paschen). It holds for δ of 15 to 2000 Pa m and 200 K to 1500 K; outside is an
// error. A plug is not quite that: sharp and hot electrodes break down at less, worn and round ones at about this; above some
// 10 bar at 20 °C, air itself breaks down at less than Paschen's law says. Fuel vapour and turbulence are left out.
func BreakdownVoltage(gap float64, at State) (float64, error) {
	reduced, err := at.reduced()
	if err != nil {
		return 0, err
	}
	if !positive(gap) {
		return 0, fmt.Errorf("plug gap is %v m; want more than 0", gap)
	}
	delta := reduced * gap
	if err := checkProduct(delta); err != nil {
		return 0, err
	}
	return 1e3 * (criticalField*delta + ionisationRoot*math.Sqrt(delta)), nil
}

// WidestGap returns the plug gap d, m, that a voltage U, V, just breaks down.
//
//	√δ = (√(6.72² + 4 · 24.36 U) − 6.72)/(2 · 24.36), U in kV
//
// It is BreakdownVoltage solved for d, and holds where that does.
func WidestGap(voltage float64, at State) (float64, error) {
	reduced, err := at.reduced()
	if err != nil {
		return 0, err
	}
	if !positive(voltage) {
		return 0, fmt.Errorf("voltage for the gap is %v V; want more than 0", voltage)
	}
	root := (math.Sqrt(ionisationRoot*ionisationRoot+4*criticalField*voltage/1e3) - ionisationRoot) / (2 * criticalField)
	delta := root * root
	if err := checkProduct(delta); err != nil {
		return 0, err
	}
	return delta / reduced, nil
}

// checkProduct refuses a p d, bar cm at 20 °C, outside the law's range.
func checkProduct(delta float64) error {
	product := delta / barCentimetre
	if !(product >= leastProduct && product <= largestProduct) {
		return fmt.Errorf("pressure times gap is %.4g Pa m at the density of %s; the breakdown law is taken from %v to %v",
			product, units.Figure{Value: breakdownKelvin, Kind: units.Temperature, Unit: "°C"}.Mark(), leastProduct, largestProduct)
	}
	return nil
}

// VoltageMargin returns how much of the available voltage, V, the gap leaves, as a fraction; negative when it does not break
// down.
//
//	(U available − U breakdown)/U available
func VoltageMargin(available, breakdown float64) (float64, error) {
	switch {
	case !positive(available):
		return 0, fmt.Errorf("available voltage is %v V; want more than 0", available)
	case !positive(breakdown):
		return 0, fmt.Errorf("breakdown voltage is %v V; want more than 0", breakdown)
	}
	return 1 - breakdown/available, nil
}
