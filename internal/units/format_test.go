package units_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/units"
)

func TestFormat(t *testing.T) {
	for _, p := range []struct {
		value                float64
		kind                 units.Kind
		metric, imperial, si string
	}{
		{0.038, units.Length, "38.0 mm", "1.496 in", "0.0380 m"},
		{7.5e-4, units.Area, "7.50 cm2", "1.163 in2", "0.000750 m2"},
		{2.2721e-3, units.Volume, "2272.1 cm3", "138.65 ci", "0.0022721 m3"},
		{1180, units.Mass, "1180.000 kg", "2601.455 lb", "1180.000000 kg"},
		{1.6e-3, units.Time, "1.60 ms", "1.60 ms", "0.00160 s"},
		{math.Pi / 20, units.Angle, "9.0 deg", "9.0 deg", "0.1571 rad"},
		{6500 * math.Pi / 30, units.Speed, "6500 rpm", "6500 rpm", "680.68 rad/s"},
		{17.8, units.Velocity, "17.8 m/s", "58.4 ft/s", "17.80 m/s"},
		{9.80665, units.Acceleration, "1.00 g", "1.00 g", "9.81 m/s2"},
		{291.15, units.Temperature, "18 degC", "64 degF", "291.1 K"},
		{8, units.TemperatureDifference, "8.0 K", "14.4 degF", "8.00 K"},
		{96300, units.Pressure, "0.96 bar abs", "14.0 psi abs", "96300 Pa abs"},
		{1.6e5, units.GaugePressure, "1.60 bar gauge", "23.2 psi gauge", "160000 Pa gauge"},
		{-4e4, units.GaugePressure, "-0.40 bar gauge", "-5.8 psi gauge", "-40000 Pa gauge"},
		{-100, units.PressureDifference, "0.00 bar", "0.0 psi", "-100 Pa"},
		{0.2571, units.MassFlow, "257.1 g/s", "34.01 lb/min", "0.25710 kg/s"},
		{650e-6 / 60, units.VolumeFlow, "650 cm3/min", "650 cm3/min", "0.000010833 m3/s"},
		{245e-3 / 3600, units.PumpFlow, "245 L/h", "64.7 US gal/h", "0.000068056 m3/s"},
		{2.41e-3 / 60, units.UseFlow, "2.41 L/min", "0.64 US gal/min", "0.000040167 m3/s"},
		{45e-3, units.TankVolume, "45.0 L", "11.89 US gal", "0.04500 m3"},      // a US gallon is 3.785 411 784 L
		{27e-6, units.FilmThickness, "27.00 µm", "1.063 thou", "0.00002700 m"}, // an inch is 25.4 mm
		{12.1e-6, units.KinematicViscosity, "12.1 mm2/s", "12.1 cSt", "0.000012100 m2/s"},
		{95, units.Duration, "1.6 min", "1.6 min", "95 s"},
		{1.1614, units.Density, "1.161 kg/m3", "0.0725 lb/ft3", "1.1614 kg/m3"},
		{250, units.Force, "250 N", "56 lbf", "250.0 N"},
		{90e6, units.Stress, "90.0 MPa", "13053 psi", "90000000 Pa"}, // a psi is 6894.757 Pa
		{412.4, units.Torque, "412 Nm", "304 lbf ft", "412.4 Nm"},
		{212.4e3, units.Power, "212.4 kW", "284.8 hp", "212400 W"},
		{4.25, units.SmallPower, "4 W", "4 W", "4.2 W"},
		{2.5e-6, units.WireArea, "2.50 mm2", "2.50 mm2", "0.000002500 m2"},
		{4.2 * 3600, units.BatteryEnergy, "4.2 Wh", "4.2 Wh", "15120 J"},
		{12.5 * 3600, units.Charge, "12.5 Ah", "12.5 Ah", "45000 As"},
		{54.5308968733, units.RoadSpeed, "196 km/h", "122 mph", "54.53 m/s"}, // testdata/reference/gearing.csv
		{28.4e3, units.HighVoltage, "28.4 kV", "28.4 kV", "28400 V"},
		{0.08, units.Energy, "80.0 mJ", "80.0 mJ", "0.0800 J"},
		{42.8e6, units.SpecificEnergy, "42.800 MJ/kg", "18401 BTU/lb", "42800000 J/kg"},
		{7.5e-8, units.FuelConsumption, "270 g/kWh", "0.444 lb/hp/h", "0.00000007500 kg/J"},
		{13.5, units.Voltage, "13.50 V", "13.50 V", "13.500 V"},
		{7.5, units.Current, "7.5 A", "7.5 A", "7.500 A"},
		{0.45, units.Resistance, "0.450 ohm", "0.450 ohm", "0.45000 ohm"},
		{3e-3, units.Inductance, "3.00 mH", "3.00 mH", "0.003000 H"},
		{12e3, units.Stiffness, "12.0 N/mm", "68.5 lbf/in", "12000 N/m"},
		{0.783, units.Fraction, "78.3 %", "78.3 %", "0.7830"},
		{8.6, units.Number, "8.600", "8.600", "8.600"},
		{math.NaN(), units.Power, "NaN kW", "NaN hp", "NaN W"},
	} {
		assert.Equal(t, p.metric, units.Format(p.value, p.kind, units.Metric))
		assert.Equal(t, p.imperial, units.Format(p.value, p.kind, units.Imperial))
		assert.Equal(t, p.si, units.Format(p.value, p.kind, units.SI))
	}
}

func ExampleParse() {
	boost, err := units.Parse("1.6 bar", units.GaugePressure)
	fmt.Println(boost, err)
	_, err = units.Parse("84", units.Angle)
	fmt.Println(err)
	// Output:
	// 160000 <nil>
	// "84" has no unit; want an angle in deg, rad
}

func TestParseSystem(t *testing.T) {
	for _, s := range []units.System{units.Metric, units.Imperial, units.SI} {
		got, err := units.ParseSystem(s.String())
		require.NoError(t, err)
		assert.Equal(t, s, got)
	}
	_, err := units.ParseSystem("cgs")
	assert.EqualError(t, err, `no system of units is called "cgs"; want metric, imperial, si`)
}

func TestUnitNamedAnswersInTheUnitFound(t *testing.T) {
	for _, p := range []struct {
		name  string
		kind  units.Kind
		value float64
		want  string
	}{
		{"mm", units.Length, 0.0038, "3.8 mm"}, {"in", units.Length, 0.1, "3.93701 in"}, {"m", units.Length, 0.01, "0.01 m"},
		{"bar gauge", units.GaugePressure, 1.6e5, "1.6 bar gauge"}, {"psia", units.Pressure, 1e5, "14.5038 psia"},
		{"cm²", units.Area, 7.5e-4, "7.5 cm²"}, {"%", units.Fraction, 0.78, "78 %"}, {"", units.Fraction, 0.78, "0.78"},
		{"", units.Number, 8.6, "8.6"}, {"°F", units.Temperature, 273.15, "32 °F"}, {"rpm", units.Speed, 7000 * math.Pi / 30, "7000 rpm"},
	} {
		u, ok := units.UnitNamed(p.name, p.kind)
		require.True(t, ok, p.name)
		assert.Equal(t, p.want, u.Text(p.value))
	}
	for name, k := range map[string]units.Kind{"mm": units.Area, "": units.Length, "AWG": units.Area, "gauge": units.Pressure} {
		_, ok := units.UnitNamed(name, k)
		assert.False(t, ok, "%q as %v", name, k)
	}
}

func TestJSONValue(t *testing.T) {
	for rpm := 250.0; rpm <= 200000; rpm += 250 { // exactly, so that a script may look a speed up
		assert.InDelta(t, rpm, units.JSONValue(rpm*math.Pi/30, units.Speed), 0)
	}
	assert.InDelta(t, 8.5, units.JSONValue(8.5*math.Pi/180, units.Angle), 0)
	assert.InDelta(t, 1.6e5, units.JSONValue(1.6e5, units.GaugePressure), 0)
	assert.InDelta(t, 3e8, units.JSONValue(1e7*math.Pi, units.Speed), 1e-6)
	assert.True(t, math.IsNaN(units.JSONValue(math.NaN(), units.Speed)))
}

func TestSISuffix(t *testing.T) {
	for k, want := range map[units.Kind]string{
		units.Pressure: "_pa", units.GaugePressure: "_pa", units.Temperature: "_k", units.MassFlow: "_kg_s", units.Power: "_w",
		units.Torque: "_nm", units.Length: "_m", units.Time: "_s", units.Speed: "_rpm", units.Angle: "_deg", units.Fraction: "",
		units.FuelConsumption: "_kg_j", units.Number: "",
	} {
		assert.Equal(t, want, units.SISuffix(k), "%v", k)
	}
}

func TestKindString(t *testing.T) {
	assert.Equal(t, "gauge pressure", units.GaugePressure.String())
	assert.Equal(t, "unknown kind", units.Kind(-1).String())
	assert.Equal(t, "unknown kind", units.Kind(1000).String())
}
