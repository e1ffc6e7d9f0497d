package gas

import (
	"fmt"
	"math"

	"bellmouth/internal/units"
)

// A Correction is the factor by which a power measured in some air is multiplied to state it for a standard's
// reference air.
type Correction struct {
	Factor float64 // dimensionless
	Note   string  // why the standard would not allow it, empty when it does
}

// CorrectionSAEJ1349 returns the factor of SAE J1349 (June 1990) for spark ignition, dimensionless.
//
//	1.180 (990/pd) √((t + 273)/298) − 0.18
//
// pd is the dry pressure, mbar; t in °C. Reference: 99 kPa dry, 25 °C. It assumes a mechanical efficiency of 85 %.
// Range, from memory: 90 kPa to 105 kPa dry and 15 °C to 35 °C; outside it the result carries a note.
// Air that Validate refuses is an error.
func (a Air) CorrectionSAEJ1349() (Correction, error) {
	if err := a.Validate(); err != nil {
		return Correction{}, err
	}
	pd, t := a.dryPressure(), a.celsius()
	return Correction{saeJ1349(pd, t), conditionNote("SAE J1349", pd, 90e3, 105e3, t, 15, 35)}, nil
}

// CorrectionSAEJ607 returns the factor of SAE J607, dimensionless.
//
//	(29.92/pd) √((F + 460)/520)
//
// pd is the dry pressure, inHg at 0 °C; F in °F. Reference: 29.92 inHg dry, 60 °F. The standard is withdrawn; its factor is
// about 4 % larger than that of SAE J1349. No range of it was to hand: a note is given outside 0.93 to 1.07, as for ISO 1585.
// Air that Validate refuses is an error.
func (a Air) CorrectionSAEJ607() (Correction, error) {
	if err := a.Validate(); err != nil {
		return Correction{}, err
	}
	f := saeJ607(a.dryPressure(), a.celsius())
	return Correction{f, factorNote("SAE J607", f, 0.93, 1.07)}, nil
}

// CorrectionDIN70020 returns the factor of DIN 70020, dimensionless.
//
//	(1013/p) √((t + 273)/293)
//
// p is the barometric pressure, mbar, vapour included; t in °C. Reference: 1013 mbar, 20 °C. The standard is withdrawn.
// No range of it was to hand: a note is given outside 0.93 to 1.07, as for ISO 1585. Air that Validate refuses is an error.
func (a Air) CorrectionDIN70020() (Correction, error) {
	if err := a.Validate(); err != nil {
		return Correction{}, err
	}
	f := din70020(a.Pressure, a.celsius())
	return Correction{f, factorNote("DIN 70020", f, 0.93, 1.07)}, nil
}

// CorrectionISO1585 returns the factor αa of ISO 1585 (also UN ECE R85) for spark ignition, dimensionless.
//
//	αa = (99/pd)^1.2 (T/298)^0.6
//
// pd is the dry pressure, kPa; T = t + 273. Reference: 99 kPa dry, 298 K.
// Range, from memory: a factor of 0.93 to 1.07; outside it the result carries a note. Air that Validate refuses is an error.
func (a Air) CorrectionISO1585() (Correction, error) {
	if err := a.Validate(); err != nil {
		return Correction{}, err
	}
	f := iso1585Spark(a.dryPressure(), a.celsius())
	return Correction{f, factorNote("ISO 1585", f, 0.93, 1.07)}, nil
}

// The bare formulas take the dry (DIN: barometric) pressure in Pa and t in °C, and add 273 as the standards print it.

func saeJ1349(pd, t float64) float64 { return 1.180*(99e3/pd)*math.Sqrt((t+273)/298) - 0.18 }

func saeJ607(pd, t float64) float64 {
	const inHg = 3386.388640341 // Pa, mercury at 0 °C
	return 29.92 / (pd / inHg) * math.Sqrt((t*1.8+32+460)/520)
}

func din70020(p, t float64) float64 { return 101300 / p * math.Sqrt((t+273)/293) }

func iso1585Spark(pd, t float64) float64 {
	return math.Pow(99e3/pd, 1.2) * math.Pow((t+273)/298, 0.6)
}

func (a Air) celsius() float64 { return a.Temperature - 273.15 }

// dryPressure is p − φ psv, Pa. The standards take the saturation pressure of pure water, without the enhancement factor
// of the density equation, which would change the dry pressure by 2e-4 at most.
func (a Air) dryPressure() float64 {
	return a.Pressure - a.RelativeHumidity*SaturationPressure(a.Temperature)
}

func conditionNote(standard string, pd, pLow, pHigh, t, tLow, tHigh float64) string {
	switch {
	case !(pd >= pLow && pd <= pHigh):
		return fmt.Sprintf("%s: dry pressure %s is outside %s to %s, "+
			"beyond which the correction is not trusted", standard, kilopascals(pd, 1), kilopascals(pLow, 0), kilopascals(pHigh, 0))
	case !(t >= tLow && t <= tHigh):
		return fmt.Sprintf("%s: air at %s is outside %s to %s, beyond which the correction is not trusted", standard,
			celsius(t, 1), celsius(tLow, 0), celsius(tHigh, 0))
	}
	return ""
}

// Figures inside notes, in the units of the standards they are about where metric is read.

func kilopascals(p float64, digits int) string { return pressureIn("kPa", p, digits) }

func hectopascals(p float64) string { return pressureIn("hPa", p, 0) }

func pressureIn(unit string, p float64, digits int) string {
	return units.Figure{Value: p, Kind: units.Pressure, Digits: digits, Unit: unit}.Mark()
}

// celsius names a temperature, °C.
func celsius(t float64, digits int) string {
	return units.Figure{Value: t + 273.15, Kind: units.Temperature, Digits: digits, Unit: "degC"}.Mark()
}

func factorNote(standard string, f, low, high float64) string {
	if f >= low && f <= high {
		return ""
	}
	return fmt.Sprintf("%s: factor %.3f is outside %.2f to %.2f, beyond which the correction is not trusted", standard, f, low, high)
}
