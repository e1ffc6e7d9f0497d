package units_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/refdata"
	"bellmouth/internal/units"
)

func allKinds() []units.Kind {
	var kinds []units.Kind
	for k := units.Number; k <= units.Stiffness; k++ {
		kinds = append(kinds, k)
	}
	return kinds
}

func TestUnitConversions(t *testing.T) {
	// GNU Units 2.22; 1e-9 relative, absolute for temperatures, as the table says. The wire diameter is not a unit of
	// length here: TestGaugeDiameter has it.
	for _, row := range refdata.Read(t, "unit_conversions.csv") {
		from := row["from_value"] + " " + row["from_unit"]
		to, want := row["to_unit"], row.F(t, "to_value")
		if to == "mm diameter" {
			continue
		}
		fits := 0
		for _, k := range allKinds() {
			u, ok := units.UnitNamed(to, k)
			if !ok {
				continue
			}
			si, err := units.Parse(from, k)
			if err != nil || k == units.TemperatureDifference { // the rows are readings of a thermometer
				continue
			}
			fits++
			tol := 1e-9 * math.Abs(want)
			if k == units.Temperature {
				tol = 1e-9
			}
			assert.InDelta(t, want, u.FromSI(si), tol, "%s in %s", from, to)

			back, err := units.Parse(row["to_value"]+" "+to, k) // and the unit answered in is read, too
			require.NoError(t, err)
			assert.InDelta(t, si, back, 1e-9*si, "%v %s", want, to)
		}
		assert.Positive(t, fits, "no kind takes %s and %s", from, to)
	}
}

func TestParse(t *testing.T) {
	for _, p := range []struct {
		text string
		kind units.Kind
		want float64
	}{
		// By definition of the prefixes and of the minute and hour.
		{"38 mm", units.Length, 0.038}, {"3.8 cm", units.Length, 0.038}, {"420 m", units.Length, 420},
		{"1.2 km", units.Length, 1200}, {"5 µm", units.Length, 5e-6}, {"5 um", units.Length, 5e-6},
		{"7.5 cm2", units.Area, 7.5e-4}, {"7.5 cm²", units.Area, 7.5e-4}, {"2.5 mm2", units.Area, 2.5e-6},
		{"2.1 m2", units.Area, 2.1}, {"2.1 m^2", units.Area, 2.1},
		{"46 cm3", units.Volume, 46e-6}, {"46 cc", units.Volume, 46e-6}, {"46 cm³", units.Volume, 46e-6},
		{"2.3 L", units.Volume, 2.3e-3}, {"2.3 l", units.Volume, 2.3e-3}, {"900 mL", units.Volume, 900e-6},
		{"3 dm3", units.Volume, 3e-3}, {"20 mm3", units.Volume, 20e-9}, {"1 m3", units.Volume, 1},
		{"1180 kg", units.Mass, 1180}, {"430 g", units.Mass, 0.43}, {"60 mg", units.Mass, 60e-6},
		{"1.6 ms", units.Time, 1.6e-3}, {"95 s", units.Time, 95}, {"50 µs", units.Time, 50e-6},
		{"50 \u03bcs", units.Time, 50e-6}, {"50 us", units.Time, 50e-6}, {"2 min", units.Time, 120}, {"1 h", units.Time, 3600},
		{"180 deg", units.Angle, math.Pi}, {"180°", units.Angle, math.Pi}, {"1 rad", units.Angle, 1},
		{"18 degR", units.TemperatureDifference, 10}, {"540 degR", units.Temperature, 300}, {"540 °R", units.Temperature, 300},
		{"50 Hz", units.Speed, 100 * math.Pi}, {"50 rev/s", units.Speed, 100 * math.Pi},
		{"60 rpm", units.Speed, 2 * math.Pi}, {"60 rev/min", units.Speed, 2 * math.Pi}, {"3 rad/s", units.Speed, 3},
		{"24 m/s", units.Velocity, 24}, {"36 km/h", units.Velocity, 10},
		{"2 g", units.Acceleration, 19.6133}, {"9 m/s2", units.Acceleration, 9}, {"9 m/s²", units.Acceleration, 9},
		{"18 degC", units.Temperature, 291.15}, {"18 °C", units.Temperature, 291.15}, {"18 C", units.Temperature, 291.15},
		{"-40 degF", units.Temperature, 233.15}, {"-40 °F", units.Temperature, 233.15}, {"-40 F", units.Temperature, 233.15},
		{"460 K", units.Temperature, 460}, {"-273.15 degC", units.Temperature, 0},
		{"8 K", units.TemperatureDifference, 8}, {"8 degC", units.TemperatureDifference, 8},
		{"9 degF", units.TemperatureDifference, 5}, {"-9 F", units.TemperatureDifference, -5},
		{"963 hPa", units.Pressure, 96300}, {"963 mbar", units.Pressure, 96300}, {"100 kPa", units.Pressure, 1e5},
		{"13 MPa", units.Pressure, 13e6}, {"101325 Pa", units.Pressure, 101325}, {"1 atm", units.Pressure, 101325},
		{"2 bar abs", units.Pressure, 2e5}, {"2 bar absolute", units.Pressure, 2e5}, {"2 bara", units.Pressure, 2e5},
		{"1.6 bar", units.GaugePressure, 1.6e5}, {"1.6bar", units.GaugePressure, 1.6e5},
		{"1.6 bar gauge", units.GaugePressure, 1.6e5}, {"1.6 barg", units.GaugePressure, 1.6e5},
		{"-0.4 bar", units.GaugePressure, -0.4e5}, {"0.7 kPa", units.PressureDifference, 700},
		{"0.20 kg/s", units.MassFlow, 0.2}, {"200 g/s", units.MassFlow, 0.2}, {"720 kg/h", units.MassFlow, 0.2},
		{"12 kg/min", units.MassFlow, 0.2},
		{"600 cm3/min", units.VolumeFlow, 1e-5}, {"600 cc/min", units.VolumeFlow, 1e-5},
		{"600 cm³/min", units.VolumeFlow, 1e-5}, {"600 mL/min", units.VolumeFlow, 1e-5}, {"36 L/h", units.VolumeFlow, 1e-5},
		{"0.6 L/min", units.VolumeFlow, 1e-5}, {"10 cm3/s", units.VolumeFlow, 1e-5}, {"2 L/s", units.VolumeFlow, 2e-3},
		{"36 m3/h", units.VolumeFlow, 0.01}, {"1 m3/s", units.VolumeFlow, 1},
		{"748 kg/m3", units.Density, 748}, {"0.748 g/cm3", units.Density, 748}, {"0.748 kg/L", units.Density, 748},
		{"120 N", units.Force, 120}, {"1.2 kN", units.Force, 1200}, {"1 kgf", units.Force, 9.80665},
		{"620 Nm", units.Torque, 620}, {"620 N m", units.Torque, 620}, {"620 N·m", units.Torque, 620},
		{"250 kW", units.Power, 250e3}, {"55 W", units.Power, 55},
		{"80 mJ", units.Energy, 0.08}, {"2 J", units.Energy, 2}, {"3 kJ", units.Energy, 3e3}, {"3 MJ", units.Energy, 3e6},
		{"42.8 MJ/kg", units.SpecificEnergy, 42.8e6}, {"350 kJ/kg", units.SpecificEnergy, 350e3},
		{"5 J/kg", units.SpecificEnergy, 5},
		{"360 g/kWh", units.FuelConsumption, 1e-7}, {"0.36 kg/kWh", units.FuelConsumption, 1e-7},
		{"1e-7 kg/J", units.FuelConsumption, 1e-7},
		{"13.5 V", units.Voltage, 13.5}, {"200 mV", units.Voltage, 0.2}, {"30 kV", units.Voltage, 30e3},
		{"7.5 A", units.Current, 7.5}, {"20 mA", units.Current, 0.02},
		{"0.45 ohm", units.Resistance, 0.45}, {"12 Ω", units.Resistance, 12}, {"450 mohm", units.Resistance, 0.45},
		{"5 kohm", units.Resistance, 5e3}, {"450 m\u2126", units.Resistance, 0.45},
		{"3 mH", units.Inductance, 3e-3}, {"1 H", units.Inductance, 1}, {"90 µH", units.Inductance, 90e-6},
		{"12 N/mm", units.Stiffness, 12e3}, {"12 kN/m", units.Stiffness, 12e3}, {"400 N/m", units.Stiffness, 400},
		{"1.2 kW/K", units.ThermalConductance, 1200}, {"150 W/K", units.ThermalConductance, 150},
		{"78 %", units.Fraction, 0.78}, {"78%", units.Fraction, 0.78}, {"0.78", units.Fraction, 0.78},
		{"8.6", units.Number, 8.6}, {" +8.6 ", units.Number, 8.6}, {".5", units.Number, 0.5}, {"5.", units.Number, 5},
		{"1.5e3", units.Number, 1500}, {"2E-2 m", units.Length, 0.02}, {"0e400", units.Number, 0}, {"-0", units.Number, 0},
	} {
		got, err := units.Parse(p.text, p.kind)
		require.NoError(t, err, p.text)
		// One rounding in the conversicontinuouslye in the figure above; a shift adds that of 273.15.
		assert.InDelta(t, p.want, got, 4e-16*math.Max(math.Abs(p.want), 273), p.text)
	}
}

func TestParseImperial(t *testing.T) {
	// NIST Special Publication 811 (2008), appendix B.8, printed to seven digits or exact.
	for _, p := range []struct {
		text string
		kind units.Kind
		want float64
	}{
		{"1 in", units.Length, 2.54e-2}, {"1 ft", units.Length, 3.048e-1}, {"1 mile", units.Length, 1.609344e3}, {"1 thou", units.Length, 2.54e-5},
		{"1 in2", units.Area, 6.4516e-4}, {"1 ft2", units.Area, 9.290304e-2},
		{"1 ci", units.Volume, 1.638706e-5}, {"1 in3", units.Volume, 1.638706e-5}, {"1 ft3", units.Volume, 2.831685e-2},
		{"1 US gal", units.Volume, 3.785412e-3}, {"1 imp gal", units.Volume, 4.54609e-3},
		{"1 lb", units.Mass, 4.535924e-1}, {"1 oz", units.Mass, 2.834952e-2},
		{"1 mph", units.Velocity, 4.4704e-1}, {"1 knot", units.Velocity, 5.144444e-1},
		{"1 ft/s", units.Velocity, 3.048e-1}, {"1 ft/min", units.Velocity, 5.08e-3},
		{"1 ft/s2", units.Acceleration, 3.048e-1},
		{"1 psi", units.Pressure, 6.894757e3}, {"1 inHg", units.Pressure, 3.386389e3}, {"1 mmHg", units.Pressure, 1.333224e2},
		{"1 inH2O", units.Pressure, 2.490889e2}, {"1 kgf/cm2", units.Pressure, 9.80665e4},
		{"1 lb/min", units.MassFlow, 7.559873e-3}, {"1 lb/h", units.MassFlow, 1.259979e-4},
		{"1 US gal/min", units.VolumeFlow, 6.309020e-5}, {"1 US gal/h", units.PumpFlow, 1.051503e-6},
		{"1 CFM", units.VolumeFlow, 4.719474e-4}, {"1 ft3/min", units.VolumeFlow, 4.719474e-4},
		{"1 lb/ft3", units.Density, 1.601846e1}, {"1 lb/US gal", units.Density, 1.198264e2}, {"1 lb/imp gal", units.Density, 9.977637e1}, {"1 lbf",
			units.Force, 4.448222},
		{"1 lbf ft", units.Torque, 1.355818}, {"1 ft lbf", units.Torque, 1.355818}, {"1 lb ft", units.Torque, 1.355818},
		{"1 lbf in", units.Torque, 1.129848e-1}, {"1 kgf m", units.Torque, 9.80665},
		{"1 hp", units.Power, 7.456999e2}, {"1 PS", units.Power, 7.354988e2},
		{"1 BTU", units.Energy, 1.055056e3}, {"1 BTU/lb", units.SpecificEnergy, 2.326e3},
		{"1 lb/hp/h", units.FuelConsumption, 1.689659e-7}, {"1 lbf/in", units.Stiffness, 1.751268e2},
		{"1 BTU/min/degF", units.ThermalConductance, 3.165168e1}, // 1055.056 J/60 s, times 1.8
	} {
		got, err := units.Parse(p.text, p.kind)
		require.NoError(t, err, p.text)
		assert.InDelta(t, p.want, got, 5e-7*p.want, p.text)
	}
}

func TestParseWireGauge(t *testing.T) {
	// ASTM B258: 4/0 has 0.46 in by definition and 36 has 0.005 in.
	area := func(inches float64) float64 { return math.Pi / 4 * math.Pow(inches*0.0254, 2) }
	for text, want := range map[string]float64{
		"0000 AWG": area(0.46), "36 AWG": area(0.005),
		"1/0 AWG": area(0.3249), "2/0 AWG": area(0.3648), "3/0 AWG": area(0.4096), "4/0 AWG": area(0.46), "2/0AWG": area(0.3648),
		"0 AWG": area(0.3249), "00 AWG": area(0.3648), "000 AWG": area(0.4096), "10 AWG": area(0.1019), // as printed there
	} {
		got, err := units.Parse(text, units.Area)
		require.NoError(t, err, text)
		assert.InDelta(t, want, got, 5e-4*want, "%s: a diameter of four digits", text)
	}
	for _, text := range []string{"41 AWG", "-1 AWG", "10.5 AWG", "00000 AWG", "001 AWG", "00.0 AWG", "1e9 AWG",
		"0/0 AWG", "5/0 AWG", "-2/0 AWG", "02/0 AWG", "2.0/0 AWG"} {
		_, err := units.Parse(text, units.Area)
		assert.ErrorContains(t, err, "is no wire gauge; want 0000, 000, 00, 0 (or 4/0 to 1/0) or a whole number from 1 to 40", text)
	}
}

func TestParseRefuses(t *testing.T) {
	const (
		lengths   = "a length in mm, cm, m, km, µm, in, ft, mile, thou"
		pressures = "bar, kPa, hPa, Pa, MPa, mbar, psi, inHg, mmHg, inH2O, atm, kgf/cm2"
	)
	for _, p := range []struct {
		text string
		kind units.Kind
		want string
	}{
		{"38", units.Length, `"38" has no unit; want ` + lengths},
		{"1.6", units.GaugePressure, `"1.6" has no unit; want a gauge pressure in ` + pressures},
		{"1.6 mm", units.GaugePressure, `"1.6 mm" is a length; want a gauge pressure in ` + pressures},
		{"1.6 bar", units.Length, `"1.6 bar" is a pressure; want ` + lengths},
		{"1.6 bar abs", units.Length, `"1.6 bar abs" is an absolute pressure; want ` + lengths},
		{"3 g", units.Length, `"3 g" is a mass or an acceleration; want ` + lengths},
		{"3 K", units.Length, `"3 K" is a temperature; want ` + lengths},
		{"18 AWG", units.Length, `"18 AWG" is an area; want ` + lengths},
		{"3 mm", units.Area, `"3 mm" is a length; want an area in cm2, mm2, m2, in2, ft2, AWG`},
		{"84 mn", units.Length, `"84 mn" has the unknown unit "mn"; want ` + lengths},
		{"84 MM", units.Length, `"84 MM" has the unknown unit "MM" (mm?); want ` + lengths},
		{"3 mj", units.Energy, `"3 mj" has the unknown unit "mj" (mJ or MJ?); want an energy in J, mJ, kJ, MJ, BTU`},
		{"1.6 bar gauge", units.Pressure, `"1.6 bar gauge" is a gauge pressure; want an absolute pressure in ` + pressures},
		{"1.6 bar abs", units.GaugePressure, `"1.6 bar abs" is an absolute pressure; want a gauge pressure in ` + pressures},
		{"1.6 psig", units.PressureDifference, `"1.6 psig" is a gauge pressure; want a pressure difference in ` + pressures},
		{"8.6 mm", units.Number, `"8.6 mm" is a length; want a plain number`},
		{"86 %", units.Number, `"86 %" is a fraction; want a plain number`},
		{"86 mm", units.Fraction, `"86 mm" is a length; want a fraction, such as 0.78 or 78 %`},
		{"", units.Length, `"" is empty; want ` + lengths},
		{"  ", units.Number, `"  " is empty; want a plain number`},
		{"mm", units.Length, `"mm" does not begin with a number; want ` + lengths},
		{"NaN", units.Number, `"NaN" does not begin with a number; want a plain number`},
		{"Inf mm", units.Length, `"Inf mm" does not begin with a number; want ` + lengths},
		{"-Inf", units.Number, `"-Inf" does not begin with a number; want a plain number`},
		{"1,5 bar", units.Pressure, `"1,5 bar" has a comma in its number; write a decimal point and no thousands mark`},
		{"1 600 mm", units.Length, `"1 600 mm" has a gap or a mark in its number; write the digits together, with one decimal point`},
		{"1_600 mm", units.Length, `"1_600 mm" has a gap or a mark in its number; write the digits together, with one decimal point`},
		{"1.6.2 mm", units.Length, `"1.6.2 mm" has a gap or a mark in its number; write the digits together, with one decimal point`},
		{"0x1F mm", units.Length, `"0x1F mm" has the unknown unit "x1F mm"; want ` + lengths},
		{"1e400 m", units.Length, `"1e400 m" is too large to be a length`},
		{"1e31 m", units.Length, `"1e31 m" is too large to be a length`},
		{"1e-400 m", units.Length, `"1e-400 m" is too small to be a length`},
		{"-1e-31 m", units.Length, `"-1e-31 m" is too small to be a length`},
		{"-300 degC", units.Temperature, `"-300 degC" is below absolute zero`},
		{"-1 bar", units.Pressure, `"-1 bar" is below vacuum; an absolute pressure has no sign`},
		{"84 mm\x00", units.Length, `"84 mm\x00" has the unknown unit "mm\x00"; want ` + lengths},
		{"84 mmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmm", units.Number,
			`"84 mmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmm…" has the unknown unit "mmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmm…"; want a plain number`},
	} {
		_, err := units.Parse(p.text, p.kind)
		var refused *units.Error
		require.ErrorAs(t, err, &refused, p.text)
		assert.EqualError(t, err, p.want)
		assert.Equal(t, p.text, refused.Text)
		assert.Equal(t, p.kind, refused.Kind)
	}
}

func TestParsePressure(t *testing.T) {
	const ambient = 96300.0
	for _, p := range []struct {
		text         string
		bareIsGauge  bool
		value        float64
		gauge        bool
		absolute, up float64
	}{
		{"1.6 bar", true, 160000, true, 256300, 160000},
		{"1.6 bar", false, 160000, false, 160000, 63700},
		{"1.6 bar abs", true, 160000, false, 160000, 63700},
		{"1.6 bar gauge", false, 160000, true, 256300, 160000},
		{"0.5 bara", true, 50000, false, 50000, -46300},
		{"-0.5 bar gauge", false, -50000, true, 46300, -50000},
		{"160 kPa  gauge", false, 160000, true, 256300, 160000},
	} {
		r, err := units.ParsePressure(p.text, p.bareIsGauge)
		require.NoError(t, err, p.text)
		assert.Equal(t, p.gauge, r.Gauge, p.text)
		assert.InDelta(t, p.value, r.Value, 1e-9, p.text)
		assert.InDelta(t, p.absolute, r.Absolute(ambient), 1e-9, p.text)
		assert.InDelta(t, p.up, r.AboveVenue(ambient), 1e-9, p.text)
	}
	for text, want := range map[string]string{
		"22 psig": "22 psi gauge", "29.4 psia": "29.4 psi abs", "22 psi gauge": "22 psi gauge",
	} {
		a, err := units.ParsePressure(text, false)
		require.NoError(t, err)
		b, err := units.ParsePressure(want, true)
		require.NoError(t, err)
		assert.Equal(t, b, a)
	}
	for text, want := range map[string]string{
		"-0.5 bar abs": `"-0.5 bar abs" is below vacuum; an absolute pressure has no sign`,
		"1.6 mm":       `"1.6 mm" is a length; want a gauge pressure`,
		"1.6":          `"1.6" has no unit; want a gauge pressure`,
		"1.6 gauge":    `"1.6 gauge" has the unknown unit "gauge"; want a gauge pressure`,
		"1.6 mm gauge": `"1.6 mm gauge" is a length; want a gauge pressure`,
	} {
		_, err := units.ParsePressure(text, true)
		assert.ErrorContains(t, err, want)
	}
}

func TestSplit(t *testing.T) {
	for text, want := range map[string][2]string{
		"1.6 bar abs": {"1.6", "bar abs"}, " 38mm ": {"38", "mm"}, "-4e-3 m": {"-4e-3", "m"}, "5e m": {"5", "e m"},
		"5em": {"5", "em"}, "5.mm": {"5.", "mm"}, ".mm": {"", ".mm"}, "+": {"", "+"}, "-.": {"", "-."},
		"": {"", ""}, "bar": {"", "bar"}, "78%": {"78", "%"}, "2e+": {"2", "e+"},
	} {
		number, unit := units.Split(text)
		assert.Equal(t, want, [2]string{number, unit}, "%q", text)
	}
}

// FuzzParse: whatever the text, Parse answers with a finite value or an *Error, and what Format makes of the value
// is read back as the same value to within the digits shown.
func FuzzParse(f *testing.F) {
	for _, text := range []string{"84 mm", "1.6 bar gauge", "1.6bar abs", "78 %", "-40°F", "18 AWG", "0000 AWG", "1,5 bar",
		"1 600 mm", "NaN", "Inf", "1e999 m", "1e-999 kg", "0e0", "-0 V", "5e", ".5 g", "620 N·m", "50 μs", "lbf ft", "\xff 3 \xff",
		"3 US gal", "-459.67 degF", "6500 rpm", "1e30 h", "-1e30 kN"} {
		for k := range allKinds() {
			f.Add(text, k)
		}
	}
	f.Fuzz(func(t *testing.T, text string, kind int) {
		if kind < 0 || kind > int(units.Stiffness) {
			t.Skip()
		}
		k := units.Kind(kind)
		v, err := units.Parse(text, k)
		if err != nil {
			var refused *units.Error
			require.ErrorAs(t, err, &refused)
			require.NotEmpty(t, refused.Reason)
			require.Zero(t, v)
			return
		}
		require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%q as %v is %v", text, k, v)
		number, _ := units.Split(text)
		require.NotEmpty(t, number)
		if math.Abs(v) > 1e15 {
			return // shown in a smaller unit it may pass the size that Parse takes for a slip
		}
		if k == units.Temperature && v < 1 {
			return // rounded to whole degrees it may fall below absolute zero
		}
		for _, s := range []units.System{units.Metric, units.Imperial, units.SI} {
			shown := units.Format(v, k, s)
			back, err := units.Parse(shown, k)
			require.NoError(t, err, "%q is %v, shown as %q", text, v, shown)
			u := units.DisplayUnit(k, s)
			halfDigit := 0.5 * math.Pow10(-u.Digits)
			require.InDelta(t, u.FromSI(v), u.FromSI(back), halfDigit+1e-12*math.Abs(u.FromSI(v))+1e-9*halfDigit,
				"%q shown as %q", text, shown)
		}
	})
}

func FuzzParsePressure(f *testing.F) {
	for _, text := range []string{"1.6 bar", "1.6 bar abs", "1.6 bar gauge", "22 psig", "14.7 psia", "-0.3 barg", "-1 bar abs",
		"29.92 inHg absolute", "1 gauge", "1 bar gauge gauge", "1e30 MPa", "bar abs", "1.6 mm"} {
		f.Add(text, true)
		f.Add(text, false)
	}
	f.Fuzz(func(t *testing.T, text string, bareIsGauge bool) {
		r, err := units.ParsePressure(text, bareIsGauge)
		if err != nil {
			var refused *units.Error
			require.ErrorAs(t, err, &refused)
			require.Zero(t, r)
			return
		}
		require.False(t, math.IsNaN(r.Value) || math.IsInf(r.Value, 0), "%q is %v", text, r)
		require.True(t, r.Gauge || r.Value >= 0, "%q is below vacuum", text)
		k := units.Pressure
		if r.Gauge {
			k = units.GaugePressure
		}
		same, err := units.Parse(text, k)
		require.NoError(t, err, "%q", text)
		require.InDelta(t, r.Value, same, 0)
		if math.Abs(r.Value) > 1e15 {
			return
		}
		back, err := units.ParsePressure(units.Format(r.Value, k, units.SI), !r.Gauge) // Format says which it is
		require.NoError(t, err)
		require.Equal(t, r.Gauge, back.Gauge)
		require.InDelta(t, r.Value, back.Value, 0.5+1e-12*math.Abs(r.Value))
	})
}

func BenchmarkParse(b *testing.B) {
	for _, p := range []struct {
		name, text string
		kind       units.Kind
	}{
		{"length", "84 mm", units.Length}, {"gauge pressure", "1.6 bar gauge", units.GaugePressure},
		{"last unit", "30 kgf/cm2", units.Pressure}, {"superscript", "7.5 cm²", units.Area},
	} {
		b.Run(p.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := units.Parse(p.text, p.kind); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
