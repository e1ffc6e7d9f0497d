package units_test

import (
	"math"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/units"
)

var systems = []units.System{units.Metric, units.Imperial, units.SI}

// A mark of any kind reads as Format writes the value, in every system, and holds nothing that could be read as text.
func TestMarkReadsAsFormat(t *testing.T) {
	for k := units.Number; k <= units.Stress; k++ {
		for _, x := range []float64{0, 1, -273.15, 1.55e5, 0.038, math.Pi, 1e-12, 7e20, -1e-300, math.NaN(), math.Inf(1)} {
			mark := units.Mark(x, k)
			for _, r := range mark {
				assert.True(t, unicode.Is(unicode.Co, r), "%v %v", k, x)
			}
			for _, s := range systems {
				assert.Equal(t, "("+units.Format(x, k, s)+", twice "+units.Format(x, k, s)+")", units.Resolve("("+mark+", twice "+mark+")", s), "%v %v", k, x)
			}
		}
	}
}

// By hand: 1.37 bar are 19.870 psi, and 19.9 psi would be 1.372 bar; 1.3 degrees are 0.02269 rad; 5.24 L are 1.38426 US gal.
func TestFigureKeepsItsSide(t *testing.T) {
	const degree = math.Pi / 180
	for _, p := range []struct {
		figure               units.Figure
		metric, imperial, si string
	}{
		{units.Figure{Value: 1.37e5, Kind: units.GaugePressure, Digits: units.DefaultDigits, Side: units.Down},
			"1.37 bar gauge", "19.8 psi gauge", "137000 Pa gauge"},
		{units.Figure{Value: 1.3799e5, Kind: units.GaugePressure, Digits: units.DefaultDigits, Side: units.Down},
			"1.37 bar gauge", "20.0 psi gauge", "137990 Pa gauge"},
		{units.Figure{Value: 15 * 6894.757293168, Kind: units.GaugePressure, Digits: units.DefaultDigits, Side: units.Down},
			"1.03 bar gauge", "15.0 psi gauge", "103421 Pa gauge"}, // what is a whole number of its last digit already stays
		{units.Figure{Value: 1.21 * degree, Kind: units.Angle, Digits: units.DefaultDigits, Side: units.Up}, "1.3 deg", "1.3 deg", "0.0212 rad"},
		{units.Figure{Value: 1.3 * degree, Kind: units.Angle, Digits: units.DefaultDigits, Side: units.Up}, "1.3 deg", "1.3 deg", "0.0227 rad"},
		{units.Figure{Value: 5.24e-3, Kind: units.TankVolume, Digits: units.DefaultDigits, Side: units.Up}, "5.3 L", "1.39 US gal", "0.00524 m3"},
		{units.Figure{Value: -1.37e5, Kind: units.GaugePressure, Digits: units.DefaultDigits, Side: units.Down},
			"-1.37 bar gauge", "-19.9 psi gauge", "-137000 Pa gauge"},
	} {
		mark := p.figure.Mark()
		assert.Equal(t, p.metric, units.Resolve(mark, units.Metric))
		assert.Equal(t, p.imperial, units.Resolve(mark, units.Imperial))
		assert.Equal(t, p.si, units.Resolve(mark, units.SI))
	}
}

// By hand: 950 degC are 1742 degF and 1223.15 K; 148000 rpm are 15498.5 rad/s; 100 kPa are 14.5038 psi; 298.15 K are 77 degF; 15 bar are 217.557 psi;
// 1.122e4 Pa are 1.62732 psi; 38.0019 mm are 1.496138 in.
func TestFigureDigitsAndNames(t *testing.T) {
	for _, p := range []struct {
		figure               units.Figure
		metric, imperial, si string
	}{
		{units.Figure{Value: 1223.15, Kind: units.Temperature, Name: units.Bare}, "950", "1742", "1223.2"},
		{units.Figure{Value: 148031 * math.Pi / 30, Kind: units.Speed, Digits: units.Hundreds}, "148000 rpm", "148000 rpm", "15502 rad/s"},
		{units.Figure{Value: 1e5, Kind: units.Pressure, Digits: 1, Unit: "kPa"}, "100.0 kPa", "14.50 psi", "100000.0 Pa"},
		{units.Figure{Value: 298.15, Kind: units.Temperature, Digits: 2, Unit: "K"}, "298.15 K", "77.00 degF", "298.150 K"},
		{units.Figure{Value: 288.15, Kind: units.Temperature, Unit: "°C"}, "15 °C", "59 degF", "288.1 K"},
		{units.Figure{Value: 15e5, Kind: units.Pressure, Name: units.Short}, "15 bar", "218 psi", "1500000 Pa"},
		{units.Figure{Value: 15e5, Kind: units.Pressure}, "15 bar abs", "218 psi abs", "1500000 Pa abs"},
		{units.Figure{Value: 38.0019e-3, Kind: units.Length, Digits: 3, Side: units.Up}, "38.002 mm", "1.49614 in", "0.038002 m"},
	} {
		mark := p.figure.Mark()
		assert.Equal(t, p.metric, units.Resolve(mark, units.Metric))
		assert.Equal(t, p.imperial, units.Resolve(mark, units.Imperial))
		assert.Equal(t, p.si, units.Resolve(mark, units.SI))
	}
	rounded := units.Rounded(1.122e4, units.PressureDifference, "Pa", 4)
	assert.Equal(t, "1.122e+04 Pa", units.Resolve(rounded, units.Metric))
	assert.Equal(t, "1.627 psi", units.Resolve(rounded, units.Imperial))
	assert.Equal(t, "500 K to 4000 K", units.Resolve(units.Kelvin(500)+" to "+units.Kelvin(4000), units.Metric))
	assert.Equal(t, "440 degF to 6740 degF", units.Resolve(units.Kelvin(500)+" to "+units.Kelvin(4000), units.Imperial))
	a := "heat per " + units.Words("kilogram", "pound", "kilogram") + " of air at " + units.Mark(288.15, units.Temperature)
	assert.Equal(t, "heat per kilogram of air at 15 degC", units.Resolve(a, units.Metric))
	assert.Equal(t, "heat per pound of air at 59 degF", units.Resolve(a, units.Imperial))
}

// What is no whole mark stays as it is, whatever it is cut to.
func TestResolveLeavesTheRest(t *testing.T) {
	mark := units.Mark(1.55e5, units.GaugePressure)
	words := units.Words("a", "b", "c")
	for _, s := range systems {
		for _, text := range []string{"", "plain, 1.55 bar", "\uE000", "\uE001", "\uE003\uE002\uE001",
			"\uE000\uEFFF\uE800\uE800\uE800\uE800\uE800\uE800\uE800\uE800",
			"\uE000\uE802\uEFFF\uE800\uE800\uE800\uE800\uE800\uE800\uE800", "\uE001a\uE002b\uE003", "\xff\uE000"} {
			assert.Equal(t, text, units.Resolve(text, s), "%q", text)
		}
		for _, whole := range []string{mark, words} {
			runes := []rune(whole)
			for n := range runes {
				assert.Equal(t, string(runes[:n])+" left", units.Resolve(string(runes[:n])+" left", s))
			}
		}
		assert.Equal(t, "\uE000"+units.Format(1.55e5, units.GaugePressure, s), units.Resolve("\uE000"+mark, s))
	}
}

func FuzzResolve(f *testing.F) {
	f.Add("at " + units.Mark(3, units.Angle) + " " + units.Words("a", "b", "c"))
	f.Add("\uE000\uE8FF\uE8FF\uEFFF\uEFFF")
	f.Fuzz(func(_ *testing.T, text string) {
		for _, s := range systems {
			units.Resolve(text, s)
		}
	})
}

// A mark is made where points are judged: it allocates no more than the text it stands for did.
func TestMarkAllocatesNoMoreThanFormat(t *testing.T) {
	mark := testing.AllocsPerRun(100, func() { sink = units.Mark(1.55e5, units.GaugePressure) })
	format := testing.AllocsPerRun(100, func() { sink = units.Format(1.55e5, units.GaugePressure, units.Metric) })
	assert.LessOrEqual(t, mark, format)
	assert.Less(t, strings.Count(sink, " "), 3)
}

var sink string

// The trade that reads psi reads these as it does elsewhere; everything else has a unit of its own.
func TestImperialHasItsOwnUnits(t *testing.T) {
	same := map[units.Kind]string{
		units.Number: "no unit", units.Fraction: "no unit", units.Time: "time", units.Duration: "time", units.ShortDuration: "time", units.RunTime: "time",
		units.Angle: "crank angle", units.Speed: "rpm", units.Acceleration: "g",
		units.VolumeFlow: "injectors are rated in cm3/min everywhere", units.SmallMass: "what one injection weighs, in mg everywhere",
		units.Voltage: "electrical", units.HighVoltage: "electrical", units.Current: "electrical", units.Resistance: "electrical", units.Inductance: "electrical",
		units.Energy: "of a coil, in mJ", units.SmallPower: "electrical",
	}
	for k := units.Number; k <= units.Stress; k++ {
		metric, imperial := units.DisplayUnit(k, units.Metric).Name, units.DisplayUnit(k, units.Imperial).Name
		assert.Equal(t, same[k] != "", metric == imperial, "%v: %s and %s", k, metric, imperial)
	}
}
