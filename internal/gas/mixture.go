// Package gas computes the properties of air and burned charge, and the flow of a gas through an area.
//
// Everything is in SI: Pa absolute, K, kg, J. The thermodynamic functions come from the nine-coefficient fits of
// NASA/TP-2002-211556 (McBride, Zehe and Gordon), so enthalpies include the heat of formation and a reaction at constant
// pressure and without heat loss is simply a step at equal enthalpy.
package gas

import (
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

// The temperatures, K, between which the fits of the species hold, and the one at which the two ranges meet.
const (
	LowestTemperature  = 200.0
	BreakTemperature   = 1000.0
	HighestTemperature = 6000.0
)

// A Composition is an amount of gas, mol of each species (or mole fractions, where it sums to one).
type Composition [speciesCount]float64

// Moles returns the total amount, mol.
func (c *Composition) Moles() float64 {
	var n float64
	for _, x := range c {
		n += x
	}
	return n
}

// Mass returns the mass, kg, with the molar masses of the fits.
func (c *Composition) Mass() float64 {
	var m float64
	for i, x := range c {
		m += x * speciesTable[i].molarMass
	}
	return m
}

// MolarMass returns the mean molar mass M, kg/mol. It is NaN for an empty composition.
func (c *Composition) MolarMass() float64 { return c.Mass() / c.Moles() }

// Scaled returns k times the amount of every species.
func (c Composition) Scaled(k float64) Composition {
	for i := range c {
		c[i] *= k
	}
	return c
}

func (c *Composition) check() error {
	for i, x := range c {
		if !(x >= 0 && x <= math.MaxFloat64) {
			return fmt.Errorf("amount of %v is %v mol; want zero or more", Species(i), x)
		}
	}
	if !(c.Mass() > 0) {
		return fmt.Errorf("the composition is empty")
	}
	return nil
}

// DryAir returns the mole fractions of dry air: N2 0.78084, O2 0.209476, Ar 0.009365, CO2 0.000319.
// Source: US Standard Atmosphere 1976 (neon and the rarer gases counted as argon), the air of NASA/TP-2002-211556.
func DryAir() Composition {
	return Composition{N2: 0.78084, O2: 0.209476, Ar: 0.009365, CO2: 0.000319}
}

// MoistAir returns the mole fractions of air of which waterMoleFraction (0 to 1) is vapour and the rest DryAir.
// A fraction outside that range gives a Composition that NewMixture refuses.
func MoistAir(waterMoleFraction float64) Composition {
	c := DryAir().Scaled(1 - waterMoleFraction)
	c[H2O] = waterMoleFraction
	return c
}

// A Mixture is one kilogram of an ideal gas of fixed composition: its gas constant and its enthalpy as a function of
// temperature. It is a plain value; build it with NewMixture, NewSpecies, Mix or Combine.
//
// The methods do not check the temperature: the fits hold from 200 K to 6000 K (fuel vapours from 300 K, see package fuel).
type Mixture struct {
	r         float64 // gas constant, J/(kg K)
	low, high Fit     // below and above BreakTemperature, multiplied by r: b1 in J/kg, b2 in J/(kg K)
}

// NewMixture returns the mixture whose composition is c, in moles or mole fractions.
// A negative or non-finite amount and an empty composition are errors.
func NewMixture(c Composition) (Mixture, error) {
	if err := c.check(); err != nil {
		return Mixture{}, err
	}
	return c.perKilogram(c.Mass()), nil
}

// NewMixtureOfMass returns the mixture whose kilogram holds 1/mass times the moles of c.
//
// It differs from NewMixture where the moles were counted with other atomic masses than those of the fits, as a fuel's
// are: the atoms are then kept exactly, at the cost of a few parts in a million between the two tables of masses.
// A mass, kg, more than 1e-4 away from that of c is an error.
func NewMixtureOfMass(c Composition, mass float64) (Mixture, error) {
	if err := c.check(); err != nil {
		return Mixture{}, err
	}
	if own := c.Mass(); !(math.Abs(mass-own) <= 1e-4*own) {
		return Mixture{}, fmt.Errorf("mass is %v kg but the composition weighs %v kg", mass, own)
	}
	return c.perKilogram(mass), nil
}

func (c *Composition) perKilogram(mass float64) Mixture {
	var m Mixture
	for i, n := range c {
		if n != 0 {
			s := &speciesTable[i]
			m.add(n*MolarGasConstant/mass, &s.low, &s.high)
		}
	}
	return m
}

func (m *Mixture) add(r float64, low, high *Fit) {
	m.r += r
	for i := range m.low {
		m.low[i] += r * low[i]
		m.high[i] += r * high[i]
	}
}

// NewSpecies returns a kilogram of a single gas from its own fit: its molar mass, kg/mol, and the coefficients below and
// above BreakTemperature. A molar mass that is not positive, or a coefficient that is not finite, is an error.
func NewSpecies(molarMass float64, low, high Fit) (Mixture, error) {
	if !(molarMass > 0 && molarMass <= math.MaxFloat64) {
		return Mixture{}, fmt.Errorf("molar mass is %v kg/mol; want more than zero", molarMass)
	}
	for i := range low {
		if !(math.Abs(low[i]) <= math.MaxFloat64 && math.Abs(high[i]) <= math.MaxFloat64) {
			return Mixture{}, fmt.Errorf("coefficient %d of the fit is not finite", i+1)
		}
	}
	var m Mixture
	m.add(MolarGasConstant/molarMass, &low, &high)
	return m, nil
}

// Mix returns a kilogram of which massFractionB (0 to 1, not checked) is b and the rest a. Neither reacts.
// It allocates nothing.
func Mix(a, b Mixture, massFractionB float64) (m Mixture) {
	m.Blend(&a, &b, massFractionB)
	return m
}

// Blend sets the mixture to Mix(a, b, massFractionB).
func (m *Mixture) Blend(a, b *Mixture, massFractionB float64) {
	wa := 1 - massFractionB
	m.r = wa*a.r + massFractionB*b.r
	for i := range m.low {
		m.low[i] = wa*a.low[i] + massFractionB*b.low[i]
		m.high[i] = wa*a.high[i] + massFractionB*b.high[i]
	}
}

// A Share is one part of a Combine.
type Share struct {
	Mixture Mixture
	Mass    float64 // kg, or any other measure of mass common to the shares
}

// Combine returns a kilogram of the shares mixed in proportion to their masses, without reaction.
// A negative or non-finite mass, and shares without any mass, are errors.
func Combine(shares ...Share) (Mixture, error) {
	var total float64
	for _, s := range shares {
		if !(s.Mass >= 0 && s.Mass <= math.MaxFloat64) {
			return Mixture{}, fmt.Errorf("mass of a share is %v kg; want zero or more", s.Mass)
		}
		total += s.Mass
	}
	if !(total > 0) {
		return Mixture{}, fmt.Errorf("the shares have no mass")
	}
	var m Mixture
	for i := range shares {
		m.add(shares[i].Mass/total, &shares[i].Mixture.low, &shares[i].Mixture.high)
		m.r += shares[i].Mass / total * (shares[i].Mixture.r - 1) // add counted the weight as the gas constant
	}
	return m, nil
}

// GasConstant returns R, J/(kg K).
func (m *Mixture) GasConstant() float64 { return m.r }

// MolarMass returns the mean molar mass, kg/mol.
func (m *Mixture) MolarMass() float64 { return MolarGasConstant / m.r }

func (m *Mixture) fit(T float64) *Fit {
	if T > BreakTemperature {
		return &m.high
	}
	return &m.low
}

// Cp returns the specific heat at constant pressure cp, J/(kg K), at the temperature T, K.
//
//	cp = R (a1/T² + a2/T + a3 + a4 T + a5 T² + a6 T³ + a7 T⁴)
//
// Source: NASA/TP-2002-211556. Holds from 200 K to 6000 K; not checked.
func (m *Mixture) Cp(T float64) float64 {
	a, v := m.fit(T), 1/T
	return (a[0]*v+a[1])*v + a[2] + T*(a[3]+T*(a[4]+T*(a[5]+T*a[6])))
}

// Cv returns the specific heat at constant volume cv = cp − R, J/(kg K), at the temperature T, K.
func (m *Mixture) Cv(T float64) float64 { return m.Cp(T) - m.r }

// Gamma returns the ratio of specific heats γ = cp/(cp − R) at the temperature T, K.
func (m *Mixture) Gamma(T float64) float64 {
	cp := m.Cp(T)
	return cp / (cp - m.r)
}

// Enthalpy returns the specific enthalpy h, J/kg, at the temperature T, K. It includes the heat of formation from the
// elements at 298.15 K, so the difference between charge and products is the heat of reaction.
//
//	h = R (−a1/T + a2 ln T + a3 T + a4 T²/2 + a5 T³/3 + a6 T⁴/4 + a7 T⁵/5 + b1)
//
// Source: NASA/TP-2002-211556. Holds from 200 K to 6000 K; not checked.
func (m *Mixture) Enthalpy(T float64) float64 {
	a := m.fit(T)
	return a[1]*numeric.Log(T) - a[0]/T + a[7] +
		T*(a[2]+T*(a[3]*(1./2)+T*(a[4]*(1./3)+T*(a[5]*(1./4)+T*a[6]*(1./5)))))
}

// CpEnthalpy returns cp, J/(kg K), and h, J/kg, at the temperature T, K, for less than the price of both.
func (m *Mixture) CpEnthalpy(T float64) (cp, h float64) {
	a, v := m.fit(T), 1/T
	cp = (a[0]*v+a[1])*v + a[2] + T*(a[3]+T*(a[4]+T*(a[5]+T*a[6])))
	h = a[1]*numeric.Log(T) - a[0]*v + a[7] +
		T*(a[2]+T*(a[3]*(1./2)+T*(a[4]*(1./3)+T*(a[5]*(1./4)+T*a[6]*(1./5)))))
	return cp, h
}

// InternalEnergy returns the specific internal energy u = h − R T, J/kg, at the temperature T, K.
func (m *Mixture) InternalEnergy(T float64) float64 { return m.Enthalpy(T) - m.r*T }

// Entropy returns the standard specific entropy s°, J/(kg K), at the temperature T, K, and 1 bar.
//
//	s° = R (−a1/2T² − a2/T + a3 ln T + a4 T + a5 T²/2 + a6 T³/3 + a7 T⁴/4 + b2)
//
// At another pressure s = s° − R ln(p / 1 bar). The entropy of mixing is left out: it is constant for a fixed composition
// and drops out of every difference, which is what compression and expansion need.
// Source: NASA/TP-2002-211556. Holds from 200 K to 6000 K; not checked.
func (m *Mixture) Entropy(T float64) float64 {
	a, v := m.fit(T), 1/T
	return a[2]*numeric.Log(T) - (a[0]*v*0.5+a[1])*v + a[8] +
		T*(a[3]+T*(a[4]*(1./2)+T*(a[5]*(1./3)+T*a[6]*(1./4))))
}

// SpeedOfSound returns a = √(γ R T), m/s, at the temperature T, K.
func (m *Mixture) SpeedOfSound(T float64) float64 { return math.Sqrt(m.Gamma(T) * m.r * T) }

// WithEnthalpy returns the same gas with its heat of formation shifted so that its enthalpy at T, K, is h, J/kg.
func (m Mixture) WithEnthalpy(T, h float64) Mixture {
	shift := h - m.Enthalpy(T)
	m.low[7] += shift
	m.high[7] += shift
	return m
}

// WithGasConstant returns a gas of the same heat capacity per kilogram whose gas constant is R, J/(kg K): a mixture of
// known mean molar mass whose heat capacity is borrowed from a like one.
func (m Mixture) WithGasConstant(R float64) Mixture {
	m.r = R
	return m
}

// TemperatureOf returns the temperature, K, at which the enthalpy is h, J/kg, starting from guess, K.
//
// Newton's method, stopped when a step is below 1e-10 of the temperature: h rises with T everywhere, and its own rounding
// is worth about 1e-12 K. At 1000 K the two ranges of the fits join with a gap worth up to 1e-5 K, and an h in the gap
// gives 1000 K. A result outside 200 K to 6000 K, and a search that does not settle, are errors.
func (m *Mixture) TemperatureOf(h, guess float64) (float64, error) {
	T := min(max(guess, LowestTemperature), HighestTemperature)
	if T != T {
		T = ReferenceTemperature
	}
	var step float64
	var crossings int
	for range 60 {
		cp, own := m.CpEnthalpy(T)
		step = (h - own) / cp
		next := T + min(max(step, -0.5*T), T)
		T1 := min(max(next, LowestTemperature), HighestTemperature)
		if math.Abs(next-T) <= 1e-10*T {
			return T1, nil
		}
		if T1 == T { // at an end of the range and still pushing outwards
			return 0, CheckRange("temperature", next, LowestTemperature, HighestTemperature, "K")
		}
		if (T > BreakTemperature) != (next > BreakTemperature) && math.Abs(next-T) < 2e-5 {
			if crossings++; crossings == 2 {
				return BreakTemperature, nil
			}
		}
		T = T1
	}
	return 0, &EnthalpyError{Enthalpy: h, Temperature: T, Step: step}
}

// An EnthalpyError reports an enthalpy for which no temperature was found.
type EnthalpyError struct {
	Enthalpy    float64 // the enthalpy sought, J/kg
	Temperature float64 // the last temperature, K
	Step        float64 // the last step, K
}

func (e *EnthalpyError) Error() string {
	return fmt.Sprintf("no temperature found for an enthalpy of %.6g J/kg; the last step was %.3g K at %.6g K", e.Enthalpy, e.Step, e.Temperature)
}

// A RangeError reports a value outside the range for which a relation holds.
type RangeError struct {
	Quantity  string
	Value     float64
	Low, High float64
	Unit      string
}

func (e *RangeError) Error() string {
	kind, read := map[string]units.Kind{"K": units.Temperature, "Pa": units.Pressure, "m": units.Distance}[e.Unit]
	figure := func(x float64) string {
		if read {
			return units.Rounded(x, kind, e.Unit, 6)
		}
		return strings.TrimSpace(fmt.Sprintf("%.6g %s", x, e.Unit))
	}
	return fmt.Sprintf("%s is %s; want %s to %s", e.Quantity, figure(e.Value), figure(e.Low), figure(e.High))
}

// CheckRange returns a *RangeError unless low ≤ value ≤ high; NaN fails.
func CheckRange(quantity string, value, low, high float64, unit string) error {
	if value >= low && value <= high {
		return nil
	}
	return &RangeError{Quantity: quantity, Value: value, Low: low, High: high, Unit: unit}
}
