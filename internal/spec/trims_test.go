package spec

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A trim that builds on another is that one with its own changes: key by key, tables whole, what is taken away stays away, in any order in the file.
func TestTrimOnATrim(t *testing.T) {
	text := engine + `fuel: {kind: ron98, temperature: 40 degC}
intake: {restrictor: {bore: 38 mm, recovery: 0.5, discharge: 0.95}}
boost: {target: {2000 rpm: 1 bar, 6000 rpm: 2 bar}}
cooler: {effectiveness: 0.7}
trims:
  wet:
    from: damp
    fuel: {kind: e85}
    intake: {restrictor: {bore: 34 mm}}
  damp:
    from: capped
    boost: {target: 1.1 bar}
    intake: {restrictor: {recovery: 0.6}}
  capped:
    engine: {limiter: 7000 rpm}
    intake: {restrictor: {bore: 36 mm}}
    cooler: none
  bare:
    from: capped
    intake: {restrictor: none}
  again:
    from: bare
    intake: {restrictor: {bore: 30 mm}}
  alone:
    from: none
`
	s, err := read(text)
	require.NoError(t, err)
	assert.Equal(t, []string{"wet", "damp", "capped", "bare", "again", "alone"}, s.Trims(), "the file's order")
	wet, damp, capped := trimOf(t, text, "wet"), trimOf(t, text, "damp"), trimOf(t, text, "capped")
	for _, trim := range []Trim{wet, damp, capped} {
		assert.InDelta(t, 7000*rpm, trim.Engine.Limiter, 1e-9, trim.Name)
		assert.Nil(t, trim.Cooler, "%s: none goes on through the chain", trim.Name)
		assert.InDelta(t, 0.95, trim.Intake.Restrictor.Discharge, 1e-12, "%s: the base's", trim.Name)
	}
	assert.InDelta(t, 0.036, capped.Intake.Restrictor.Bore, 1e-12)
	assert.InDelta(t, 0.036, damp.Intake.Restrictor.Bore, 1e-12)
	assert.InDelta(t, 0.034, wet.Intake.Restrictor.Bore, 1e-12)
	assert.InDelta(t, 0.5, capped.Intake.Restrictor.Recovery, 1e-12)
	assert.InDelta(t, 0.6, wet.Intake.Restrictor.Recovery, 1e-12)
	lo, hi := capped.Boost.Target.Span()
	assert.InDelta(t, 2000*rpm, lo, 1e-9)
	assert.InDelta(t, 6000*rpm, hi, 1e-9)
	target, _ := wet.Boost.Target.At(500)
	assert.InDelta(t, 1.1e5, target, 1e-6)
	assert.Equal(t, "e85", wet.Fuel.Grade.Name)
	assert.InDelta(t, 313.15, wet.Fuel.Temperature, 1e-9)

	assert.Nil(t, trimOf(t, text, "bare").Intake.Restrictor)
	again := trimOf(t, text, "again").Intake.Restrictor
	assert.InDelta(t, 0.030, again.Bore, 1e-12)
	assert.Zero(t, again.Discharge, "what was taken away on the way leaves nothing of the base's")
	assert.InDelta(t, 0.8, again.Recovery, 1e-12, "but the default")
	alone := trimOf(t, text, "alone")
	assert.InDelta(t, 0.038, alone.Intake.Restrictor.Bore, 1e-12)
	require.NotNil(t, alone.Cooler)

	// As the same trim written out.
	flat := trimOf(t, engine+`fuel: {kind: e85, temperature: 40 degC}
intake: {restrictor: {bore: 34 mm, recovery: 0.6, discharge: 0.95}}
boost: {target: 1.1 bar}
trims: {wet: {engine: {limiter: 7000 rpm}}}
`, "wet")
	flat.given, wet.given, flat.written, wet.written = nil, nil, nil, nil // how it is written differs
	assert.Equal(t, flat, wet)
}

func TestTrimOnATrimMessages(t *testing.T) {
	for _, p := range []struct {
		name, text string
		want       []string
	}{
		{"unknown", "trims:\n  open: {}\n  capped: {}\n  wet: {from: caped}\n", []string{
			"hillclimb.yaml:11:15: trims.wet.from is caped, which is no trim; want one of open, capped; capped?"}},
		{"no other", "trims:\n  wet: {from: capped}\n", []string{"hillclimb.yaml:9:15: trims.wet.from is capped, and the spec has no other trim"}},
		{"itself", "trims:\n  open: {}\n  wet: {from: wet}\n", []string{"hillclimb.yaml:10:15: trims.wet.from is the trim itself; want another trim"}},
		{"each other", "trims:\n  a: {from: b}\n  b: {from: a}\n", []string{"hillclimb.yaml:9:13: trims.a.from is b, which builds on a itself"}},
		{"in a ring, and one that hangs on it", "trims:\n  d: {from: b}\n  a: {from: b}\n  b: {from: c}\n  c: {from: a}\n", []string{
			"hillclimb.yaml:10:13: trims.a.from is b, which builds on a itself by way of c"}},
		{"a section", "trims:\n  a: {}\n  b: {from: {a: 1}}\n", []string{"hillclimb.yaml:10:13: trims.b.from is a section; want text, such as capped"}},
		{"nothing", "trims:\n  a: {}\n  b: {from: }\n", []string{"hillclimb.yaml:10:13: trims.b.from has no value; want text, such as capped"}},
		{"on one that is wrong", "trims:\n  a: 3 mm\n  b: {from: a}\n", []string{"hillclimb.yaml:9:6: trims.a is 3 mm; want a section with what the trim changes"}},
		{"not for the spec", "from: a\ntrims: {a: {}}\n", []string{"hillclimb.yaml:8:1: from is not a key of a spec; its keys are "}},
		{"a value of the one below, once", "trims:\n  a: {engine: {rod: 5 mm}}\n  b: {from: a}\n  c: {from: b}\n", []string{
			"hillclimb.yaml:9:21: trims.a.engine.rod is 5 mm; want 50 mm to 500 mm (50 mm?)"}},
		{"a value of the one below that does not suit the one above", "trims:\n  a: {engine: {rod: 60 mm}}\n  b: {from: a, engine: {stroke: 130 mm}}\n", []string{
			"hillclimb.yaml:9:21: trims.a.engine.rod is 60 mm; want more than half the stroke and the pin offset together, 65 mm (in trim b)"}},
	} {
		t.Run(p.name, func(t *testing.T) {
			got := messages(t, engine+p.text)
			require.Len(t, got, len(p.want), "%v", got)
			for i := range p.want {
				assert.Contains(t, got[i], p.want[i])
			}
		})
	}
	assert.Contains(t, messages(t, engine+"trims: {a: {form: b}, b: {}}\n")[0], "trims.a.form is not a key of a trim; from?")
	// A long ring has one short line.
	text := engine + "trims:\n"
	for i := range 64 {
		text += "  t" + string(rune('0'+i/10)) + string(rune('0'+i%10)) + ": {from: t" + string(rune('0'+(i+1)%64/10)) + string(rune('0'+(i+1)%64%10)) + "}\n"
	}
	assert.Equal(t, []string{"hillclimb.yaml:9:15: trims.t00.from is t01, which builds on t00 itself by way of 62 others"}, messages(t, text))
}

// What is set in a trim is seen by those that build on it; what is set in the base is not where one on the way says it.
func TestSettingInAChain(t *testing.T) {
	const text = engine + "intake: {restrictor: {bore: 38 mm}}\ntrims:\n  wet: {from: damp}\n  damp: {from: capped}\n  capped: {intake: {restrictor: {bore: 36 mm}}}\n  open: {}\n"
	bore := func(s *Spec, name string) float64 {
		trim, err := s.Trim(name)
		require.NoError(t, err)
		return trim.Intake.Restrictor.Bore
	}
	s, err := readWith(t, text, "trims.capped.intake.restrictor.bore=35 mm")
	require.NoError(t, err)
	assert.Empty(t, s.Remarks)
	for name, want := range map[string]float64{"wet": 0.035, "damp": 0.035, "capped": 0.035, "open": 0.038} {
		assert.InDelta(t, want, bore(s, name), 1e-12, name)
	}
	s, err = readWith(t, text, "intake.restrictor.bore=35 mm", "trims.damp.intake.restrictor.bore=34 mm")
	require.NoError(t, err)
	assert.Equal(t, []string{
		"--set intake.restrictor.bore does not reach the trim wet, which has intake.restrictor.bore from the trim damp; set trims.damp.intake.restrictor.bore",
		"--set intake.restrictor.bore does not reach the trim damp, which says intake.restrictor.bore itself; set trims.damp.intake.restrictor.bore",
		"--set intake.restrictor.bore does not reach the trim capped, which says intake.restrictor.bore itself; set trims.capped.intake.restrictor.bore",
	}, s.Remarks)
	for name, want := range map[string]float64{"wet": 0.034, "damp": 0.034, "capped": 0.036, "open": 0.035} {
		assert.InDelta(t, want, bore(s, name), 1e-12, name)
	}
	s, err = readWith(t, text, "trims.wet.from=open")
	require.NoError(t, err)
	assert.InDelta(t, 0.038, bore(s, "wet"), 1e-12)
	s, err = readWith(t, text, "trims.damp.from=none")
	require.NoError(t, err)
	assert.InDelta(t, 0.038, bore(s, "wet"), 1e-12)
	_, err = readWith(t, text, "trims.capped.from=wet")
	assert.EqualError(t, err, "testdata/hillclimb.yaml:10:15: trims.wet.from is damp, which builds on wet itself by way of capped")
	_, err = readWith(t, text, "trims.capped.from=caped")
	assert.EqualError(t, err, "--set trims.capped.from=caped: trims.capped.from is caped, which is no trim; want one of wet, damp, open")
}
