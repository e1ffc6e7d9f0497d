package units

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// A Error reports text that is not a quantity of the kind wanted.
type Error struct {
	Text   string // as written
	Kind   Kind   // what was wanted
	Reason string // what is wrong and what would do: "has no unit; want a length in mm, cm, m"
}

func (e *Error) Error() string {
	return quote(e.Text) + " " + e.Reason
}

// quote makes any text safe to print, and short.
func quote(text string) string {
	if r := []rune(text); len(r) > 40 {
		text = string(r[:40]) + "…"
	}
	return strconv.Quote(text)
}

// Sizes past these, in the unit written, measure nothing on a car: they are slips of the exponent, and refusing them
// keeps every conversion finite.
const (
	largest  = 1e30
	smallest = 1e-30
)

// Split cuts text into its leading number and the unit behind it, both as written and without the spaces around them.
// The number is empty when text does not begin with one; the unit is whatever follows.
func Split(text string) (number, unit string) {
	text = strings.TrimSpace(text)
	n := numberLength(text)
	return text[:n], strings.TrimSpace(text[n:])
}

// numberLength returns how many bytes at the start of s are a decimal number. "Inf", "NaN" and hexadecimal are words
// to it, and an e without digits behind it belongs to the unit.
func numberLength(s string) int {
	i := 0
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	start := i
	for i < len(s) && isDigit(s[i]) {
		i++
	}
	digits := i - start
	if i < len(s) && s[i] == '.' {
		j := i + 1
		for j < len(s) && isDigit(s[j]) {
			j++
		}
		if decimals := j - i - 1; decimals > 0 || digits > 0 {
			digits += decimals
			i = j
		}
	}
	if digits == 0 {
		return 0
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		j := i + 1
		if j < len(s) && (s[j] == '+' || s[j] == '-') {
			j++
		}
		if j < len(s) && isDigit(s[j]) {
			for j < len(s) && isDigit(s[j]) {
				j++
			}
			i = j
		}
	}
	return i
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// Parse returns the value, in SI, of text that holds a quantity of kind k: "84 mm" is 0.084 for Length. A bare number
// is an error except for Number and Fraction; so is a unit of another kind. A bare unit of pressure means absolute for
// Pressure and above the venue for GaugePressure; "bar abs" is refused by the second and "bar gauge" by the first,
// since which of the two was meant cannot be told without the venue. An error is an *Error.
func Parse(text string, k Kind) (float64, error) {
	v, name, err := scan(text, k)
	if err != nil {
		return 0, err
	}
	name, ref := reference(name, k)
	switch {
	case ref == absolute && k != Pressure:
		return 0, &Error{text, k, "is an absolute pressure; want " + wanted(k)}
	case ref == gauge && k != GaugePressure:
		return 0, &Error{text, k, "is a gauge pressure; want " + wanted(k)}
	}
	return convert(text, v, name, k)
}

// A Reading is a pressure in Pa, and whether it counts from the venue's pressure or from vacuum.
type Reading struct {
	Value float64
	Gauge bool
}

// ParsePressure returns the pressure that text holds, absolute or gauge as its unit says ("1.6 bar abs", "1.6 bar
// gauge"). Where the unit does not say, bareIsGauge decides. An error is an *Error.
func ParsePressure(text string, bareIsGauge bool) (Reading, error) {
	k := Pressure
	if bareIsGauge {
		k = GaugePressure
	}
	v, name, err := scan(text, k)
	if err != nil {
		return Reading{}, err
	}
	name, ref := reference(name, k)
	switch ref {
	case absolute:
		k = Pressure
	case gauge:
		k = GaugePressure
	}
	v, err = convert(text, v, name, k)
	if err != nil {
		return Reading{}, err
	}
	return Reading{Value: v, Gauge: k == GaugePressure}, nil
}

// Absolute returns the pressure, Pa absolute, where ambient is the venue's pressure, Pa absolute.
func (r Reading) Absolute(ambient float64) float64 {
	if r.Gauge {
		return r.Value + ambient
	}
	return r.Value
}

// AboveVenue returns the pressure above ambient, Pa, where ambient is the venue's pressure, Pa absolute.
func (r Reading) AboveVenue(ambient float64) float64 {
	if r.Gauge {
		return r.Value
	}
	return r.Value - ambient
}

// scan reads the number of text and returns it with the unit's name, normalised.
func scan(text string, k Kind) (v float64, name string, err error) {
	number, name := Split(text)
	if number == "" {
		if strings.TrimSpace(text) == "" {
			return 0, "", &Error{text, k, "is empty; want " + wanted(k)}
		}
		return 0, "", &Error{text, k, "does not begin with a number; want " + wanted(k)}
	}
	if name != "" {
		switch {
		case name[0] == ',':
			return 0, "", &Error{text, k, "has a comma in its number; write a decimal point and no thousands mark"}
		case isDigit(name[0]) || name[0] == '.' || name[0] == '_' || name[0] == '\'':
			return 0, "", &Error{text, k, "has a gap or a mark in its number; write the digits together, with one decimal point"}
		}
	}
	v, err = strconv.ParseFloat(number, 64)
	if err != nil || math.Abs(v) > largest { // the only error left is a number past the range of float64
		return 0, "", &Error{text, k, "is too large to be " + kinds[k].noun}
	}
	if math.Abs(v) < smallest && (v != 0 || strings.ContainsAny(mantissa(number), "123456789")) {
		return 0, "", &Error{text, k, "is too small to be " + kinds[k].noun}
	}
	return v, normalise(name), nil
}

func mantissa(number string) string {
	if i := strings.IndexAny(number, "eE"); i >= 0 {
		return number[:i]
	}
	return number
}

var spellings = strings.NewReplacer(
	"²", "2", "³", "3", "^", "", "·", " ", "*", " ",
	"\u03bc", "\u00b5", // Greek mu for the micro sign
	"\u2126", "\u03a9", // ohm sign for Greek omega
	"º", "°", "\u00a0", " ", "\u202f", " ", "\t", " ",
)

// normalise returns a unit as the table spells it: powers as plain digits, one space for a product.
func normalise(name string) string {
	plain := true
	for i := 0; i < len(name) && plain; i++ {
		c := name[i]
		plain = c < 0x80 && c != '^' && c != '*' && c != '\t' && (c != ' ' || name[i-1] != ' ')
	}
	if plain {
		return name
	}
	return strings.Join(strings.Fields(spellings.Replace(name)), " ")
}

type datum int

const (
	unsaid datum = iota
	absolute
	gauge
)

// reference cuts the word that says what a pressure counts from off a unit of pressure.
func reference(name string, k Kind) (string, datum) {
	if k != Pressure && k != GaugePressure && k != PressureDifference {
		return name, unsaid
	}
	for _, w := range [...]struct {
		word string
		ref  datum
	}{{" abs", absolute}, {" absolute", absolute}, {" gauge", gauge}} {
		if unit, ok := strings.CutSuffix(name, w.word); ok {
			return unit, w.ref
		}
	}
	switch name { // the short forms in common use; no other unit has one that is as well known
	case "bara", "psia":
		return name[:len(name)-1], absolute
	case "barg", "psig":
		return name[:len(name)-1], gauge
	}
	return name, unsaid
}

// convert returns the SI value of v in the unit called name.
func convert(text string, v float64, name string, k Kind) (float64, error) {
	if name == "" {
		if k == Number || k == Fraction {
			return v, nil
		}
		return 0, &Error{text, k, "has no unit; want " + wanted(k)}
	}
	switch {
	case k != Area && k != WireArea:
	case name == "AWG":
		return gaugeArea(text, v)
	case name == "/0 AWG" || name == "/0AWG": // the other way to write 0, 00, 000 and 0000
		if number, _ := Split(text); len(number) != 1 || number < "1" || number > "4" {
			return 0, &Error{text, k, badGauge}
		}
		return wireArea(1 - v), nil
	}
	u, ok := find(name, k)
	if !ok {
		return 0, &Error{text, k, misfit(name, k)}
	}
	si := u.toSI(v)
	if si < 0 {
		switch k {
		case Temperature:
			return 0, &Error{text, k, "is below absolute zero"}
		case Pressure:
			return 0, &Error{text, k, "is below vacuum; an absolute pressure has no sign"}
		}
	}
	return si, nil
}

const badGauge = "is no wire gauge; want 0000, 000, 00, 0 (or 4/0 to 1/0) or a whole number from 1 to 40"

// gaugeArea returns the cross-section, m², of a wire of American Wire Gauge n.
func gaugeArea(text string, n float64) (float64, error) {
	number, _ := Split(text)
	if strings.HasPrefix(number, "00") { // 00 is a size of its own, which the number 0 is not
		n = 1 - float64(len(number))
		if strings.Trim(number, "0") != "" {
			n = math.NaN()
		}
	} else if n < 0 {
		n = math.NaN()
	}
	if !(n >= -3 && n <= 40) || n != math.Trunc(n) {
		return 0, &Error{text, Area, badGauge}
	}
	return wireArea(n), nil
}

// wireArea returns the cross-section, m², of a round wire of American Wire Gauge n, as gaugeDiameter has it.
func wireArea(n float64) float64 {
	d := gaugeDiameter(n)
	return math.Pi / 4 * d * d
}

// wanted says what would do: "a length in mm, cm, m".
func wanted(k Kind) string {
	switch k {
	case Number:
		return "a plain number"
	case Fraction:
		return "a fraction, such as 0.78 or 78 %"
	case Area, WireArea:
		return kinds[k].noun + " in " + unitNames(k) + ", AWG"
	}
	return kinds[k].noun + " in " + unitNames(k)
}

// misfit says what the unit called name is instead of a unit of kind k.
func misfit(name string, k Kind) string {
	if what := meaning(name); what != "" {
		return fmt.Sprintf("is %s; want %s", what, wanted(k))
	}
	var near []string
	for _, u := range kinds[k].units {
		if strings.EqualFold(u.name, name) {
			near = append(near, u.name)
		}
	}
	hint := ""
	if len(near) > 0 {
		hint = " (" + strings.Join(near, " or ") + "?)"
	}
	return fmt.Sprintf("has the unknown unit %s%s; want %s", quote(name), hint, wanted(k))
}

// meaning says what the unit called name measures, "a mass or an acceleration"; it is empty for an unknown unit.
func meaning(name string) string {
	bare, ref := reference(name, Pressure)
	if _, ok := find(bare, Pressure); ok {
		switch ref {
		case absolute:
			return kinds[Pressure].noun
		case gauge:
			return kinds[GaugePressure].noun
		}
		return "a pressure"
	}
	if name == "AWG" || name == "/0 AWG" {
		return kinds[Area].noun
	}
	var found []string
	for k := range kinds {
		if Kind(k) == TemperatureDifference { // its units are those of temperature
			continue
		}
		if _, ok := find(name, Kind(k)); ok {
			if !slices.Contains(found, kinds[k].noun) { // a quantity may be shown in two ways
				found = append(found, kinds[k].noun)
			}
		}
	}
	return strings.Join(found, " or ")
}
