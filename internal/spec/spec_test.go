package spec

import (
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// engine is the least that a spec must say; its lines are 1 to 7.
const engine = `engine:
  cylinders: 5
  bore: 84 mm
  stroke: 82 mm
  rod: 144 mm
  compression_ratio: 8.6
  limiter: 7800 rpm
`

const rpm = math.Pi / 30

// read reads a spec whose map files are those of testdata.
func read(text string) (*Spec, error) {
	return Read("hillclimb.yaml", []byte(text), func(path string) ([]byte, error) {
		return os.ReadFile(filepath.Join("testdata", path))
	})
}

// trimOf returns a trim of a spec that is well.
func trimOf(t *testing.T, text, name string) Trim {
	t.Helper()
	s, err := read(text)
	require.NoError(t, err)
	trim, err := s.Trim(name)
	require.NoError(t, err)
	return trim
}

// messages returns what is wrong with a spec, line by line.
func messages(t *testing.T, text string) []string {
	t.Helper()
	_, err := read(text)
	if err == nil {
		return nil
	}
	var e *Error
	require.ErrorAs(t, err, &e)
	return strings.Split(err.Error(), "\n")
}

func TestLoad(t *testing.T) {
	s, err := Load("testdata/hillclimb.yaml")
	require.NoError(t, err)
	assert.Equal(t, "Hillclimb five", s.Name)
	assert.Equal(t, []string{"open", "capped"}, s.Trims())

	capped, err := s.Trim("capped")
	require.NoError(t, err)
	near := func(want, got float64, what string) { assert.InDelta(t, want, got, 1e-9*math.Abs(want), what) }
	// The figures of the file, in SI by hand.
	near(96300, capped.Venue.Pressure, "venue pressure")
	near(291.15, capped.Venue.Temperature, "venue temperature")
	near(0.55, capped.Venue.RelativeHumidity, "humidity")
	near(0.084, capped.Engine.Cylinder.Bore, "bore")
	near(8.6, capped.Engine.Cylinder.CompressionRatio, "compression ratio")
	near(7800*rpm, capped.Engine.Limiter, "limiter")
	near(58*math.Pi/180, capped.Engine.Valves.InletCloses, "inlet closes")
	near(16200, capped.Engine.Friction.ChenFlynn.PistonSpeed, "friction by piston speed, Pa per m/s")
	near(13700, capped.Engine.Friction.ChenFlynn.Constant, "friction constant")
	near(1.05*0.084, capped.Exhaust.Pipes.Port.Length, "port length")
	near(0.25, capped.Exhaust.Pipes.Primary.Length, "primary length")
	near(0.3, capped.Engine.Heat.ChargeEvaporation, "evaporation of fuel injected into the port")
	near(8, capped.Engine.Heat.ChargeHeating, "charge heating")
	ve, held := capped.Engine.VolumetricEfficiency.At(4500 * rpm)
	near(0.99, ve, "volumetric efficiency at 4500 rpm")
	assert.False(t, held)
	near(303.15, capped.Fuel.Temperature, "fuel temperature")
	assert.Zero(t, capped.Fuel.KnockOctane, "by octane index")
	// k = Δp p/(ṁ² T)
	near(700*96300/(0.2*0.2*291.15), capped.Intake.FilterLossCoefficient, "filter loss")
	near(9000*200e3/(0.25*0.25*400), capped.Cooler.LossCoefficient, "cooler loss")
	near(14000*(96300+14000)/(0.25*0.25*1100), capped.Exhaust.BackPressureCoefficient, "back pressure")
	near(0.038, capped.Intake.Restrictor.Bore, "restrictor")
	near(165000*rpm, capped.Compressor.SpeedLimit, "speed limit")
	assert.Equal(t, 1, capped.Compressor.Count)
	near(7.5e-4, capped.Turbine.EffectiveArea, "turbine area")
	assert.Equal(t, 1, capped.Turbine.Count)
	near(1273.15, capped.Turbine.InletTemperatureLimit, "turbine limit")
	near(0.038, capped.Wastegate.Bore, "wastegate")
	assert.False(t, capped.Cooler.FollowsVenue)
	near(4e5, capped.Injection.RailPressure, "rail")
	assert.True(t, capped.Injection.FollowsManifold)
	near(650e-6/60, capped.Injection.Staging.Primary.Injector.RatedFlow, "injector")
	assert.Equal(t, 1, capped.Injection.Staging.Secondary.PerCylinder)
	near(0.65, capped.Injection.Staging.StartDuty, "start duty")
	target, held := capped.Boost.Target.At(5000 * rpm)
	near(1.3e5, target, "boost target")
	assert.False(t, held, "one value holds everywhere")
	near(620, capped.Driveline.TorqueLimit, "gearbox")
	near(13e6, capped.Limits.PeakCylinderPressure, "peak pressure")
	near(0.05, capped.Limits.SurgeMargin, "surge margin")
	near(0.90, capped.Limits.InjectorDuty, "injector duty, by default")
	near(160000*rpm, capped.Compressor.Map.TopSpeed(), "top speed line")
	near(298.15, capped.Compressor.Map.Reference().Temperature, "reference")

	open, err := s.Trim("open")
	require.NoError(t, err)
	assert.Nil(t, open.Intake.Restrictor)
	target, _ = open.Boost.Target.At(3000 * rpm)
	near(1.6e5, target, "boost target of the base")
	assert.Same(t, open.Compressor.Map, capped.Compressor.Map, "trims share what they have in common")
}

func TestLeastSpec(t *testing.T) {
	s, err := read(engine)
	require.NoError(t, err)
	assert.Equal(t, "hillclimb", s.Name, "the file's name")
	assert.Equal(t, []string{BaseTrim}, s.Trims())
	trim, err := s.Trim(BaseTrim)
	require.NoError(t, err)
	assert.Nil(t, trim.Fuel)
	assert.Nil(t, trim.Compressor)
	assert.Nil(t, trim.Injection)
	assert.True(t, trim.Boost.Target.IsZero())
	// The standard atmosphere at sea level, ISO 2533.
	assert.InDelta(t, 101325, trim.Venue.Pressure, 1e-6)
	assert.InDelta(t, 288.15, trim.Venue.Temperature, 1e-9)
	assert.Nil(t, trim.Engine.Friction.Components, "what the valve train takes hangs on the valves")
	var paths []string
	for _, d := range trim.Defaults {
		paths = append(paths, d.Path)
		assert.NotEmpty(t, d.Reason, d.Path)
		assert.NotEmpty(t, d.Value, d.Path)
	}
	assert.Contains(t, paths, "engine.combustion.efficiency")
	assert.Contains(t, paths, "venue.pressure")
	assert.NotContains(t, paths, "wastegate.discharge", "there is no wastegate")
	for _, d := range trim.Defaults {
		if d.Path == "engine.heat.wall_temperature" {
			assert.Equal(t, "engine.heat.wall_temperature is not given; 460 K is taken (common practice, no source)", d.String())
		}
	}
}

func TestVenue(t *testing.T) {
	// US Standard Atmosphere 1976 at 1000 m: 89876 Pa, 281.651 K.
	trim := trimOf(t, engine+"venue: {altitude: 1000 m}\n", BaseTrim)
	assert.InDelta(t, 89876, trim.Venue.Pressure, 1)
	assert.InDelta(t, 281.651, trim.Venue.Temperature, 1e-3)
	trim = trimOf(t, engine+"venue: {altitude: 1000 m, pressure: 905 hPa, temperature: 75 F}\n", BaseTrim)
	assert.InDelta(t, 90500, trim.Venue.Pressure, 1e-9)
	assert.InDelta(t, 297.0389, trim.Venue.Temperature, 1e-4) // (75 + 459.67)/1.8
}

// The ends of a range belong to it, whatever the unit's conversion leaves in the last digit.
func TestVenueEnds(t *testing.T) {
	for _, text := range []string{"-30 degC", "60 degC", "-22 degF", "140 degF"} {
		trim := trimOf(t, engine+"venue: {temperature: "+text+"}\n", BaseTrim)
		assert.NoError(t, trim.Venue.Validate(), text)
	}
}

func TestChamber(t *testing.T) {
	text := strings.Replace(engine, "compression_ratio: 8.6",
		"chamber: {head: 46 cm3, gasket_bore: 85 mm, gasket_thickness: 1.1 mm, piston_dish: 9 cm3, deck_clearance: 0.2 mm}", 1)
	trim := trimOf(t, text, BaseTrim)
	// By hand, cm³: head 46 + gasket π/4·8.5²·0.11 = 6.242 + dish 9 + deck π/4·8.4²·0.02 = 1.108; swept π/4·8.4²·8.2 = 454.43.
	assert.InDelta(t, 1+454.43/62.350, trim.Engine.Cylinder.CompressionRatio, 2e-4)
	require.NotNil(t, trim.Engine.Chamber)
	assert.InDelta(t, 46e-6, trim.Engine.Chamber.Head, 1e-15)
}

func TestFuels(t *testing.T) {
	trim := trimOf(t, engine+"fuel: {kind: isooctane, density: 700 kg/m3, knock_octane: 97}\n", BaseTrim)
	assert.InDelta(t, 700, trim.Fuel.Grade.Density, 1e-9)
	assert.InDelta(t, 97, trim.Fuel.KnockOctane, 1e-9)
	assert.InDelta(t, 2.25, trim.Fuel.Grade.Hydrogen/trim.Fuel.Grade.Carbon, 1e-9) // C8H18
	assert.True(t, trim.Fuel.Mixture.FullLoad.IsZero())

	trim = trimOf(t, engine+"fuel: {blend: {isooctane: 90 %, n-heptane: 0.1}}\n", BaseTrim)
	assert.InDelta(t, 90, trim.Fuel.Grade.RON, 0.1) // a primary reference fuel, by definition

	trim = trimOf(t, engine+`fuel:
  formula: {carbon: 1, hydrogen: 1.87}
  heating_value: 42.8 MJ/kg
  density: 748 kg/m3
  latent_heat: 350 kJ/kg
  ron: 98
  mon: 88
`, BaseTrim)
	assert.InDelta(t, 1.87, trim.Fuel.Grade.Hydrogen/trim.Fuel.Grade.Carbon, 1e-9)
	assert.InDelta(t, 98, trim.Fuel.Grade.RON, 1e-9)
	assert.Zero(t, trim.Fuel.KnockOctane)
}

func TestPressures(t *testing.T) {
	const venue = "venue: {pressure: 950 hPa, temperature: 20 C}\n"
	at := func(text string) float64 {
		trim := trimOf(t, engine+venue+"boost: {target: "+text+"}\n", BaseTrim)
		y, _ := trim.Boost.Target.At(1)
		return y
	}
	assert.InDelta(t, 160e3, at("1.6 bar"), 1e-9)
	assert.InDelta(t, 160e3, at("1.6 bar gauge"), 1e-9)
	assert.InDelta(t, 160e3-95e3, at("1.6 bar abs"), 1e-9)

	cooler := engine + venue + "cooler: {effectiveness: 0.7, loss: {flow: 0.2 kg/s, loss: 10 kPa, pressure: %, temperature: 400 K}}\n"
	for text, pressure := range map[string]float64{"2 bar": 200e3, "2 bar abs": 200e3, "2 bar gauge": 295e3} {
		trim := trimOf(t, strings.Replace(cooler, "%", text, 1), BaseTrim)
		assert.InDelta(t, 10e3*pressure/(0.04*400), trim.Cooler.LossCoefficient, 1e-3, text)
		assert.True(t, trim.Cooler.FollowsVenue)
		assert.InDelta(t, 293.15, trim.Cooler.CoolantTemperature, 1e-9)
	}

	rail := engine + venue + `injection:
  rail: {reference: venue, pressure: 5 bar abs}
  primary: {flow: 500 cm3/min, test_pressure: 3 bar, test_density: 765 kg/m3, dead_time: 1 ms, shortest_pulse: 1.5 ms}
`
	trim := trimOf(t, rail, BaseTrim)
	assert.InDelta(t, 500e3-95e3, trim.Injection.RailPressure, 1e-9)
	assert.Equal(t, []string{"hillclimb.yaml:10:41: injection.rail.pressure is 5 bar abs, an absolute pressure; want it above the manifold, which it follows"},
		messages(t, strings.Replace(rail, "venue, p", "manifold, p", 1)))
}

func TestNeed(t *testing.T) {
	trim := trimOf(t, engine+"boost: {target: 1 bar}\n", BaseTrim)
	assert.NoError(t, trim.Need("boost", "engine", "boost", "boost.target", "engine.bore", "venue.pressure", "engine.heat.factor", "engine.heat",
		"venue", "limits"))
	err := trim.Need("boost", "compressor", "boost.target", "engine.valves")
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.Equal(t, "hillclimb.yaml: boost needs the section compressor; trim base lacks it\n"+
		"hillclimb.yaml: boost needs the section engine.valves; trim base lacks it", err.Error())
	// What stands in a section that is lacking goes without saying.
	assert.EqualError(t, trim.Need("fuel", "engine.volumetric_efficiency", "fuel", "fuel.lambda"),
		"hillclimb.yaml: fuel needs engine.volumetric_efficiency; trim base lacks it; want one value or a table over engine speed, 0.2 to 1.5, such as {1500 rpm: 0.78, 3000 rpm: 0.90, 4500 rpm: 0.99, 6000 rpm: 1.02, 7000 rpm: 0.99, 7800 rpm: 0.94}\n"+
			"hillclimb.yaml: fuel needs the section fuel; trim base lacks it")
}

func TestTrimUnknown(t *testing.T) {
	s, err := Load("testdata/hillclimb.yaml")
	require.NoError(t, err)
	_, err = s.Trim("caped")
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.EqualError(t, err, "testdata/hillclimb.yaml: has no trim caped; it has open, capped; capped?")
}

func TestLoadFiles(t *testing.T) {
	dir := t.TempDir()
	missing := filepath.Join(dir, "missing.yaml")
	_, err := Load(missing)
	assert.EqualError(t, err, missing+": does not exist")
	_, err = Load(dir)
	assert.EqualError(t, err, dir+": is a directory; want a file")

	large := filepath.Join(dir, "large.yaml")
	f, err := os.Create(large)
	require.NoError(t, err)
	require.NoError(t, f.Truncate(50<<20))
	require.NoError(t, f.Close())
	_, err = Load(large)
	assert.EqualError(t, err, large+": is 50.0 MiB large; want at most 1 MiB")

	// A device may have no end, or never answer.
	if _, err := os.Stat("/dev/zero"); err == nil {
		_, err = Load("/dev/zero")
		assert.EqualError(t, err, "/dev/zero: is a device, which may never answer; want a file")
	}

	path := filepath.Join(dir, "a.yaml")
	text := engine + "compressor: {map: maps/none.csv, reference_temperature: 298 K, reference_pressure: 1 bar}\n"
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	_, err = Load(path)
	assert.EqualError(t, err, path+":8:19: compressor.map is maps/none.csv; "+filepath.Join(dir, "maps/none.csv")+" does not exist")
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "maps/none.csv"), 0o755))
	_, err = Load(path)
	assert.EqualError(t, err, path+":8:19: compressor.map is maps/none.csv; "+filepath.Join(dir, "maps/none.csv")+" is a directory; want a file")
	require.NoError(t, os.WriteFile(path, []byte(strings.Replace(text, "maps/none.csv", "/dev/null", 1)), 0o644))
	_, err = Load(path)
	assert.ErrorContains(t, err, "compressor.map is /dev/null; /dev/null is not a regular file")
	var e *Error
	assert.True(t, errors.As(err, &e))
	assert.False(t, errors.Is(err, fs.ErrNotExist))
}

func TestTemplate(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "new.yaml")
	require.NoError(t, os.WriteFile(path, Template(), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(dir, TemplateMapName), TemplateMap(), 0o644))
	s, err := Load(path)
	require.NoError(t, err)
	assert.Equal(t, []string{"open", "capped"}, s.Trims())
	assert.Contains(t, strings.SplitN(string(TemplateMap()), "\n", 2)[0], "invented")
	for i, line := range strings.Split(string(Template()), "\n") {
		assert.LessOrEqual(t, len(line), 125, "line %d", i+1)
	}
	// It shows every key there is.
	var keys func(fields []field)
	keys = func(fields []field) {
		for _, f := range fields {
			assert.Contains(t, string(Template()), f.key+":")
			keys(f.fields)
		}
	}
	keys((&draft{}).schema())
	// What it has as comments works when the # is taken away, beside what excludes it.
	text := string(Template())
	for _, path := range []string{"engine.valves.inlet_flow_coefficient", "fuel.heating_value", "fuel.density", "fuel.latent_heat", "fuel.ron", "fuel.mon",
		"fuel.knock_octane", "wastegate.actuator.valve_diameter", "wastegate.control.opening", "supply.temperature", "ignition.delay",
		"ignition.coil.current_limit", "manifold.spread", "waivers"} {
		text = uncommented(t, text, path)
	}
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	s, err = Load(path)
	require.NoError(t, err)
	open, err := s.Trim("open")
	require.NoError(t, err)
	assert.NotNil(t, open.Control.Opening)
	assert.Len(t, open.Waivers, 1)
	assert.Len(t, open.Manifold.Spread.Flow, open.Engine.Cylinders)
	for _, swap := range [][2]string{{"dwell", "current"}, {"flow", "lambda"}, {"flow", "exhaust_temperature"}} {
		at := regexp.MustCompile(`(?m)^( +)` + swap[0] + `: (.*)\n((?: +# .*\n)*) +# ` + swap[1] + `: `)
		require.Regexp(t, at, text)
		other := at.ReplaceAllString(text, "${1}# "+swap[0]+": $2\n$3${1}"+swap[1]+": ")
		if swap[1] == "exhaust_temperature" { // lambda stands between
			assert.NotContains(t, other, "  flow: {1:")
		}
		require.NoError(t, os.WriteFile(path, []byte(other), 0o644))
		_, err = Load(path)
		assert.NoError(t, err, swap)
	}
	for _, swap := range [][2]string{{"kind", "blend"}, {"compression_ratio", "chamber"}, {"kind", "formula"}} {
		other := strings.Replace(text, "  "+swap[0]+":", "  # "+swap[0]+":", 1)
		other = strings.Replace(other, "  # "+swap[1]+":", "  "+swap[1]+":", 1)
		for _, key := range []string{"head", "gasket_bore", "gasket_thickness", "piston_dish", "deck_clearance", "carbon", "hydrogen", "oxygen"} {
			if (swap[1] == "chamber") == (key != "carbon" && key != "hydrogen" && key != "oxygen") && swap[1] != "blend" {
				other = strings.Replace(other, "    # "+key+":", "    "+key+":", 1)
			}
		}
		require.NoError(t, os.WriteFile(path, []byte(other), 0o644))
		_, err = Load(path)
		assert.NoError(t, err, swap)
	}
}

// uncommented returns the template's text with the key at a path in use, with all below it that is no other choice.
func uncommented(t *testing.T, text, path string) string {
	t.Helper()
	f := lookup((&draft{}).schema(), path)
	require.NotNil(t, f, path)
	at := regexp.MustCompile(`(?m)^( *)# ` + f.key + `:(?: .*)?\n((?:\s+# .*\n)*)`)
	require.Regexp(t, at, text)
	return at.ReplaceAllStringFunc(text, func(block string) string {
		block = strings.Replace(block, "# "+f.key+":", f.key+":", 1)
		for _, below := range f.fields {
			if !below.commented {
				block = strings.Replace(block, "# "+below.key+":", below.key+":", 1)
			}
		}
		return block
	})
}
