package units

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A System is a set of display units.
type System int

const (
	Metric   System = iota // what a European workshop reads: bar, mm, degC, g/s, kW
	Imperial               // psi, in, degF, lb/min, hp
	SI                     // Pa, m, K, kg/s, W
)

var systemNames = [...]string{"metric", "imperial", "si"}

// ParseSystem returns the system called name: metric, imperial or si.
func ParseSystem(name string) (System, error) {
	for i, s := range systemNames {
		if s == name {
			return System(i), nil
		}
	}
	return 0, fmt.Errorf("no system of units is called %q; want %s", name, strings.Join(systemNames[:], ", "))
}

// String returns the name that ParseSystem takes.
func (s System) String() string { return systemNames[s] }

// A Unit is what a value is shown in. Name is empty for numbers.
type Unit struct {
	Name   string
	Digits int // decimals that the quantity's usual accuracy deserves in a table

	conversion unit
}

// DisplayUnit returns the unit and the digits in which a table of system s shows quantities of kind k. Absolute and
// gauge pressures have the same one; the column's title tells them apart.
func DisplayUnit(k Kind, s System) Unit {
	show := kinds[k].show[s]
	u, ok := find(show.name, k)
	if !ok { // a plain number, or a fraction shown as one
		u = unit{mul: 1, div: 1}
	}
	return Unit{Name: show.name, Digits: show.digits, conversion: u}
}

// UnitNamed returns the unit of kind k that a user called name, under the name given, so that a message can answer in
// the unit it found; Text is its use, and Digits is left at 0. ok is false for a unit that does not fit; the empty name fits
// numbers and fractions only.
func UnitNamed(name string, k Kind) (u Unit, ok bool) {
	bare, _ := reference(normalise(strings.TrimSpace(name)), k)
	c, ok := find(bare, k)
	if !ok {
		if bare != "" || k != Number && k != Fraction {
			return Unit{}, false
		}
		c = unit{mul: 1, div: 1}
	}
	return Unit{Name: strings.TrimSpace(name), conversion: c}, true
}

// FromSI returns an SI value in the unit.
func (u Unit) FromSI(value float64) float64 { return u.conversion.fromSI(value) }

// Text returns an SI value in the unit with its name and no more digits than it needs, up to six: "10 mm".
func (u Unit) Text(value float64) string {
	return join(strconv.FormatFloat(roundTo(u.FromSI(value), 6), 'f', -1, 64), u.Name)
}

// roundTo returns v rounded to n significant digits.
func roundTo(v float64, n int) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', n-1, 64), 64)
	if err != nil {
		return v
	}
	return r
}

// Format returns an SI value in the display unit of its kind with that unit's name and digits: "38.0 mm". Pressures
// say what they count from: "1.60 bar gauge". Parse reads the result back.
func Format(value float64, k Kind, s System) string {
	u := DisplayUnit(k, s)
	return join(Decimal(u.FromSI(value), u.Digits), FullName(k, s))
}

// FullName returns the name of a kind's display unit with what a pressure counts from: "bar gauge". It is empty for numbers.
func FullName(k Kind, s System) string {
	name := DisplayUnit(k, s).Name
	switch k {
	case Pressure:
		return name + " abs"
	case GaugePressure:
		return name + " gauge"
	}
	return name
}

// DefaultDigits stands for the digits that a unit has by default.
const DefaultDigits = -1

// Hundreds as digits rounds to hundreds of the metric unit: a shaft speed read off a map is not known to single rpm.
const Hundreds = -2

// DigitsIn returns the decimals with which a system shows quantities of kind k where the metric unit has that many, shifted alike;
// negative for tens and hundreds.
func DigitsIn(k Kind, s System, digits int) int {
	own := DisplayUnit(k, s).Digits
	if digits == DefaultDigits {
		return own
	}
	// The digits were chosen for the metric unit; pascals in place of bar need five fewer.
	shifted := own + digits - DisplayUnit(k, Metric).Digits
	if digits == Hundreds {
		return shifted
	}
	return max(shifted, 0)
}

// Decimal returns v with a number of decimals, negative for tens and hundreds, without the sign that a rounded-off negative would leave on zero.
func Decimal(v float64, digits int) string {
	if digits < 0 {
		scale := math.Pow10(-digits)
		v, digits = math.Round(v/scale)*scale, 0
	}
	text := strconv.FormatFloat(v, 'f', digits, 64)
	if strings.HasPrefix(text, "-") && strings.Trim(text, "-0.") == "" {
		return text[1:]
	}
	return text
}

func join(number, name string) string {
	if name == "" {
		return number
	}
	return number + " " + name
}

// JSONValue returns what JSON holds for an SI value: rpm for speeds, degrees for angles, else the SI value. Speeds and
// angles are rounded to the ninth decimal, which takes off what the conversion left, so that 6500 rpm stays 6500 and a
// script can look for it.
func JSONValue(value float64, k Kind) float64 {
	if k != Speed && k != Angle {
		return value
	}
	shown := DisplayUnit(k, Metric).FromSI(value)
	if math.Abs(shown) > 1e6 { // where 1e-9 is below the spacing of float64
		return shown
	}
	return math.Round(shown*1e9) / 1e9
}
