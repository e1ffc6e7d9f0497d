package units

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// A Side is where a figure goes that is not known to the last digit printed.
type Side int

// The sides.
const (
	Nearest Side = iota
	Down         // so that what is set by it errs low
	Up
)

// A Naming is how much of its unit's name a figure carries.
type Naming int

// The namings.
const (
	Full  Naming = iota // with what a pressure counts from: "bar gauge"
	Short               // the unit alone: "bar"
	Bare                // none: another figure of the same unit follows
)

// Significant as Digits, with a number added, stands for that many digits of a figure, wherever its point is; with nothing added for as many as tell
// the value, six in a unit that it is converted to.
const Significant = 100

// A Figure is a quantity inside a sentence. Which units the sentence is read in is not known where it is written: Mark stands for the figure until
// Resolve writes it.
type Figure struct {
	Value  float64 // SI
	Kind   Kind
	Digits int // decimals in the metric unit, as DigitsIn takes them; Significant and a number for that many digits in any
	Side   Side
	Name   Naming
	Unit   string // read in metric instead of the kind's own, as the source of a formula has it: "K"; Digits are its
}

// Mark returns what stands in a text for an SI value that Format would write with that name and those digits.
func Mark(value float64, k Kind) string {
	return Figure{Value: value, Kind: k, Digits: DefaultDigits}.Mark()
}

// Range returns what stands in a text for two values with one unit: "600 to 6000 rpm".
func Range(from, to float64, k Kind) string {
	return Figure{Value: from, Kind: k, Digits: DefaultDigits, Name: Bare}.Mark() + " to " + Mark(to, k)
}

// Whole is Mark with no decimals of the metric unit.
func Whole(value float64, k Kind) string { return Figure{Value: value, Kind: k}.Mark() }

// Kelvin returns what stands in a text for a temperature that metric, too, reads in whole kelvin, as ranges of gas properties are stated.
func Kelvin(t float64) string { return Figure{Value: t, Kind: Temperature, Unit: "K"}.Mark() }

// Rounded returns what stands in a text for an SI value of that many significant digits, with a unit of its own where metric is read: what %.4g and the
// unit would write.
func Rounded(value float64, k Kind, unit string, digits int) string {
	return Figure{Value: value, Kind: k, Digits: Significant + digits, Unit: unit}.Mark()
}

// Marks are runes of the private use area, which no text shows: nothing that a spec may say is taken for one, and one that is left would be escaped.
// A figure has a fixed number of them: firstMark, its kind, its unit, its digits with side and name, and the bits of its value. Words have their three
// wordings between runes of their own.
const (
	firstMark = '\uE000'
	wordsMark = '\uE001'
	nextWords = '\uE002'
	endWords  = '\uE003'
	dataMark  = '\uE800' // and 2047 more, for eleven bits each

	dataBits   = 11
	valueRunes = 6
	digitsBase = 8 // added to the digits, so that Hundreds has bits
)

// Mark returns what stands in a text for the figure.
func (f Figure) Mark() string {
	unit := 0
	if f.Unit != "" {
		unit = 1 + slices.Index(namesOf(f.Kind), f.Unit)
	}
	form := (f.Digits+digitsBase)*9 + int(f.Side)*3 + int(f.Name)
	runes := [4 + valueRunes]rune{firstMark, dataMark + rune(f.Kind), dataMark + rune(unit), dataMark + rune(form)}
	bits := math.Float64bits(f.Value)
	for i := range valueRunes {
		runes[4+i] = dataMark + rune(bits&(1<<dataBits-1))
		bits >>= dataBits
	}
	return string(runes[:])
}

// namesOf returns the names of all units of a kind.
func namesOf(k Kind) (names []string) {
	for _, u := range kinds[k].units {
		names = append(append(names, u.name), u.also...)
	}
	return names
}

// Words returns what stands in a text for words that differ between the systems: "kilogram" and "pound".
func Words(metric, imperial, si string) string {
	return string(wordsMark) + metric + string(nextWords) + imperial + string(nextWords) + si + string(endWords)
}

// In returns the figure as text of a system. Another side than the nearest is kept in that system's unit: what is rounded down there is no more than
// the value, and what is a whole number of the last digit already stays.
func (f Figure) In(s System) string {
	u, digits, name := f.shown(s)
	x := u.fromSI(f.Value)
	if f.Digits >= Significant {
		significant := f.Digits - Significant
		if significant == 0 {
			significant = -1
			if s != Metric {
				significant = 6
			}
		}
		return join(strconv.FormatFloat(x, 'g', significant, 64), name)
	}
	const same = 1e-6 // of the last digit: what rounding leaves of a value that is one already
	switch scale := math.Pow10(digits); f.Side {
	case Down:
		x = math.Floor(x*scale+same) / scale
	case Up:
		x = math.Ceil(x*scale-same) / scale
	}
	return join(Decimal(x, digits), name)
}

// shown returns the unit of the figure in a system, its decimals there and the name that follows.
func (f Figure) shown(s System) (u unit, digits int, name string) {
	display := DisplayUnit(f.Kind, s)
	u, digits, name = display.conversion, f.Digits, display.Name
	if own, ok := find(f.Unit, f.Kind); ok && f.Unit != "" {
		if s == Metric {
			u, name = own, f.Unit
		} else {
			metric := DisplayUnit(f.Kind, Metric).conversion
			digits -= int(math.Round(math.Log10(own.mul / own.div * metric.div / metric.mul)))
		}
	} else if f.Name == Full {
		name = FullName(f.Kind, s)
	}
	if s != Metric || f.Unit == "" {
		digits = DigitsIn(f.Kind, s, digits)
	}
	if f.Name == Bare {
		name = ""
	}
	return u, digits, name
}

// Resolve returns a text with its marks written in a system. What is no whole mark stays as it is.
func Resolve(text string, s System) string {
	next := strings.IndexAny(text, string(firstMark)+string(wordsMark))
	if next < 0 {
		return text
	}
	var b strings.Builder
	for ; next >= 0; next = strings.IndexAny(text, string(firstMark)+string(wordsMark)) {
		b.WriteString(text[:next])
		text = text[next:]
		written, length := resolveFirst(text, s)
		b.WriteString(written)
		text = text[length:]
	}
	b.WriteString(text)
	return b.String()
}

// resolveFirst writes the mark that a text begins with, and returns how many bytes of the text it takes.
func resolveFirst(text string, s System) (written string, length int) {
	start, size := utf8.DecodeRuneInString(text)
	if start == wordsMark {
		inside, _, ended := strings.Cut(text[size:], string(endWords))
		if all := strings.Split(inside, string(nextWords)); ended && len(all) == len(systemNames) {
			return all[s], size + len(inside) + utf8.RuneLen(endWords)
		}
		return text[:size], size
	}
	var data [3 + valueRunes]int
	length = size
	for i := range data {
		r, n := utf8.DecodeRuneInString(text[length:])
		if data[i] = int(r - dataMark); data[i] < 0 || data[i] >= 1<<dataBits {
			return text[:size], size
		}
		length += n
	}
	f := Figure{Kind: Kind(data[0]), Digits: data[2]/9 - digitsBase, Side: Side(data[2] % 9 / 3), Name: Naming(data[2] % 3)}
	if data[0] >= len(kinds) {
		return text[:size], size
	}
	if own := data[1] - 1; own >= 0 {
		all := namesOf(f.Kind)
		if own >= len(all) {
			return text[:size], size
		}
		f.Unit = all[own]
	}
	var bits uint64
	for i := range valueRunes {
		bits |= uint64(data[3+i]) << (dataBits * i)
	}
	f.Value = math.Float64frombits(bits)
	return f.In(s), length
}
