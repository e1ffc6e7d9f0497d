package spec

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTrimsMerge(t *testing.T) {
	text := engine + `fuel: {kind: ron98, ron: 99, temperature: 40 degC, lambda: {2000 rpm: 0.9, 6000 rpm: 0.8}}
intake: {restrictor: {bore: 38 mm, recovery: 0.5}}
boost: {target: {2000 rpm: 1 bar, 6000 rpm: 2 bar}}
cooler: {effectiveness: 0.7}
trims:
  as it is:
  other:
    engine: {limiter: 8000 rpm}
    fuel: {kind: e85, lambda: 0.8}
    intake: {restrictor: {bore: 40 mm}}
    boost: {target: {3000 rpm: 1.5 bar}}
    cooler: none
  blended:
    fuel: {blend: {isooctane: 1}}
    boost: {target: none}
`
	s, err := read(text)
	require.NoError(t, err)
	require.Equal(t, []string{"as it is", "other", "blended"}, s.Trims())

	base, other, blended := trimOf(t, text, "as it is"), trimOf(t, text, "other"), trimOf(t, text, "blended")
	assert.InDelta(t, 99, base.Fuel.Grade.RON, 1e-9)
	require.NotNil(t, base.Cooler)

	assert.InDelta(t, 8000*rpm, other.Engine.Limiter, 1e-9)
	assert.InDelta(t, 0.084, other.Engine.Cylinder.Bore, 1e-12, "sections merge key by key")
	assert.InDelta(t, 0.040, other.Intake.Restrictor.Bore, 1e-12)
	assert.InDelta(t, 0.5, other.Intake.Restrictor.Recovery, 1e-12, "at any depth")
	assert.Equal(t, "e85", other.Fuel.Grade.Name)
	assert.NotEqual(t, 99.0, other.Fuel.Grade.RON, "figures of the base's grade are not those of another")
	assert.InDelta(t, 313.15, other.Fuel.Temperature, 1e-9)
	lambda, held := other.Fuel.Mixture.FullLoad.At(1)
	assert.InDelta(t, 0.8, lambda, 1e-12)
	assert.False(t, held)
	lo, hi := other.Boost.Target.Span()
	assert.InDelta(t, 3000*rpm, lo, 1e-9, "tables are replaced whole")
	assert.InDelta(t, 3000*rpm, hi, 1e-9)
	assert.Nil(t, other.Cooler, "none takes a part away")

	assert.InDelta(t, 100, blended.Fuel.Grade.RON, 1e-6, "another way to name the fuel takes the place of the base's")
	assert.True(t, blended.Boost.Target.IsZero())
	_, hi = base.Boost.Target.Span()
	assert.InDelta(t, 6000*rpm, hi, 1e-9, "and leave the base alone")
	assert.False(t, math.IsNaN(hi))
}

func TestTrimMessages(t *testing.T) {
	for _, p := range []struct {
		name, text string
		want       []string
	}{
		{"in the trim's own line", engine + "intake: {restrictor: {bore: 38 mm}}\ntrims:\n  open: {}\n  capped:\n    intake:\n      restrictor:\n        bore: 3.8 mm\n", []string{
			"hillclimb.yaml:14:15: trims.capped.intake.restrictor.bore is 3.8 mm; want 10 mm to 100 mm (38 mm?)"}},
		{"the base's fault once", engine + "intake: {restrictor: {bore: 3.8 mm}}\ntrims: {a: {}, b: {}, c: {boost: {target: 1 bar}}}\n", []string{
			"hillclimb.yaml:8:29: intake.restrictor.bore is 3.8 mm; want 10 mm to 100 mm (38 mm?)"}},
		{"the base's fault that every trim replaces", engine + "boost: {target: 16 bar}\ntrims: {a: {boost: {target: 1 bar}}}\n", []string{
			"hillclimb.yaml:8:17: boost.target is 16 bar; want 0 bar to 6 bar (1.6 bar?)"}},
		{"what the base lacks, in all", engine + "intake: {restrictor: {recovery: 0.5}}\ntrims: {a: {}, b: {}}\n", []string{
			"hillclimb.yaml:8:22: intake.restrictor.bore is missing; want 10 mm to 100 mm, such as 38 mm"}},
		{"what the base lacks, in some", engine + "intake: {restrictor: {recovery: 0.5}}\ntrims: {a: {}, b: {intake: {restrictor: {bore: 38 mm}}}, c: {}}\n", []string{
			"hillclimb.yaml:8:22: intake.restrictor.bore is missing; want 10 mm to 100 mm, such as 38 mm (in trim a, c)"}},
		{"a part that is the trim's alone", engine + "trims: {a: {intake: {restrictor: {recovery: 0.5}}}, b: {}}\n", []string{
			"hillclimb.yaml:8:34: trims.a.intake.restrictor.bore is missing; want 10 mm to 100 mm, such as 38 mm"}},
		{"what does not fit together in one", engine + "trims: {a: {engine: {rod: 50 mm, stroke: 100 mm}}, b: {}}\n", []string{
			"hillclimb.yaml:8:27: trims.a.engine.rod is 50 mm; want more than half the stroke and the pin offset together, 50 mm"}},
		{"the base's value with the trim's", engine + "  pin_offset: 20 mm\ntrims: {a: {engine: {stroke: 200 mm, rod: 130 mm}}, b: {engine: {stroke: 200 mm, rod: 110 mm}}}\n", []string{
			"hillclimb.yaml:9:87: trims.b.engine.rod is 110 mm; want more than half the stroke and the pin offset together, 120 mm"}},
		{"the same anchor in two places", engine + `injection:
  rail: {pressure: 4 bar}
  primary: &set {flow: 500 mm, test_pressure: 3 bar, test_density: 765 kg/m3, dead_time: 1 ms, shortest_pulse: 1.5 ms}
  secondary: *set
  staging: {start_duty: 0.6}
`, []string{
			"hillclimb.yaml:10:24: injection.primary.flow is 500 mm, which is a length; want a volume flow in cm3/min, L/h, L/min, L/s, cm3/s, m3/h, m3/s, CFM, US gal/h, US gal/min"}},
		{"an absolute pressure in a trim with its own venue", engine + "trims: {a: {venue: {pressure: 700 hPa}, boost: {target: 7 bar abs}}, b: {venue: {pressure: 1000 hPa}, boost: {target: 7 bar abs}}}\n", []string{
			"hillclimb.yaml:8:57: trims.a.boost.target is 7 bar abs; want 0.7 bar abs to 6.7 bar abs (0.7 bar abs?)"}},
	} {
		t.Run(p.name, func(t *testing.T) { assert.Equal(t, p.want, messages(t, p.text)) })
	}
}

func TestAnchors(t *testing.T) {
	trim := trimOf(t, engine+`injection:
  rail: {pressure: 4 bar}
  primary: &set {flow: 500 cm3/min, test_pressure: 3 bar, test_density: 765 kg/m3, dead_time: 1 ms, shortest_pulse: 1.5 ms}
  secondary: *set
  staging: {start_duty: 0.6}
`, BaseTrim)
	assert.Equal(t, trim.Injection.Staging.Primary.Injector.RatedFlow, trim.Injection.Staging.Secondary.Injector.RatedFlow)
	assert.InDelta(t, 0.2, trim.Injection.Staging.Blend, 1e-12)
}

func TestAllAtOnce(t *testing.T) {
	got := messages(t, `engine:
  cylinders: 50
  bore: 840 mm
  stroke: 82
  rodd: 144 mm
  compression_ratio: 8.6
  limiter: 7800 rpm
boost: {target: 1.6 mm}
trims:
  open: {boost: {target: 16 bar}}
`)
	assert.Equal(t, []string{
		"hillclimb.yaml:2:14: engine.cylinders is 50; want 1 to 24 (5?)",
		"hillclimb.yaml:3:9: engine.bore is 840 mm; want 30 mm to 200 mm (84 mm?)",
		"hillclimb.yaml:4:11: engine.stroke is 82, which has no unit; want a length in mm, cm, m, km, µm, in, ft, mile, thou",
		"hillclimb.yaml:5:3: engine.rodd is not a key of engine; rod?",
		"hillclimb.yaml:8:17: boost.target is 1.6 mm, which is a length; want a gauge pressure in bar, kPa, hPa, Pa, MPa, mbar, psi, inHg, mmHg, inH2O, atm, kgf/cm2",
		"hillclimb.yaml:10:26: trims.open.boost.target is 16 bar; want 0 bar to 6 bar (1.6 bar?)",
	}, got)
}
