package spec

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// differing returns what Differing tells of two trims, a line for each path.
func differing(t *testing.T, a, b *Spec, trimA, trimB string) []string {
	t.Helper()
	x, err := a.Trim(trimA)
	require.NoError(t, err)
	y, err := b.Trim(trimB)
	require.NoError(t, err)
	var lines []string
	for _, in := range Differing([]*Trim{&x, &y}) {
		lines = append(lines, in.Path+": "+in.Of[0].Text+" | "+in.Of[1].Text)
	}
	return lines
}

// What differs in the values as written counts, not how they are written.
func TestDiffering(t *testing.T) {
	data, err := os.ReadFile(settingFile)
	require.NoError(t, err)
	text := string(data)
	base, err := readWith(t, text)
	require.NoError(t, err)
	for set, want := range map[string][]string{
		"engine.bore=84 mm":                  nil,
		"engine.bore=8.4 cm":                 nil,
		"engine.bore=85 mm":                  {"engine.bore: 84 mm | 85 mm"},
		"engine.combustion.efficiency=97 %":  nil, // the default, or what the file says
		"engine.combustion.knock_limit=0.85": nil, // the default
		"engine.combustion.knock_limit=0.8":  {"engine.combustion.knock_limit: 0.85 | 0.8"},
		"engine.volumetric_efficiency={1500 rpm: 78 %, 3000 rpm: 0.9, 4500 rpm: 0.99, 6000 rpm: 1.02, 7000 rpm: 0.99, 7800 rpm: 0.94}": nil,
		"engine.volumetric_efficiency={1500 rpm: 78 %, 3000 rpm: 0.9}": {
			"engine.volumetric_efficiency: {1500 rpm: 0.78, 3000 rpm: 0.90, 4500 rpm: 0.99, 6000 rpm: 1.02, 7000 rpm: 0.99, 7800 rpm: 0.94} | {1500 rpm: 78 %, 3000 rpm: 0.9}"},
		"name=Another": nil, // of the file, and no input
	} {
		other, err := readWith(t, text, set)
		require.NoError(t, err, set)
		assert.Equal(t, want, differing(t, base, other, "capped", "capped"), set)
	}
	assert.Equal(t, []string{
		"intake.restrictor.bore: none | 38 mm", "intake.restrictor.discharge: none | 0.97", "intake.restrictor.recovery: none | 0.80",
		"boost.target: {2000 rpm: 0.9 bar, 3000 rpm: 1.6 bar, 7800 rpm: 1.5 bar} | 1.3 bar",
	}, differing(t, base, base, "open", "capped"))
}

// What is called by a former name, or stands in another order where none counts, means the same.
func TestDifferingNames(t *testing.T) {
	const today = engine + "fuel: {blend: {ron95: 50 %, ron98: 30 %, ron102: 20 %}}\nsupply:\n  filter: {flow: 200 L/h, loss: 0.1 bar, tested_with: ron95}\n"
	one, err := read(today)
	require.NoError(t, err)
	for text, want := range map[string][]string{
		strings.NewReplacer("ron95", "pump95", "ron98", "pump98", "ron102", "race102").Replace(today): nil,
		strings.Replace(today, "ron95: 50 %, ron98: 30 %", "ron98: 0.3, ron95: 50 %", 1):              nil,
		strings.Replace(today, "tested_with: ron95", "tested_with: ron98", 1):                         {"supply.filter.tested_with: ron95 | ron98"},
		strings.Replace(today, "ron95: 50 %, ron98: 30 %", "ron98: 50 %, ron95: 30 %",
			1): {"fuel.blend: {ron95: 50 %, ron98: 30 %, ron102: 20 %} | {ron98: 50 %, ron95: 30 %, ron102: 20 %}"},
	} {
		other, err := read(text)
		require.NoError(t, err)
		assert.Equal(t, want, differing(t, one, other, BaseTrim, BaseTrim))
	}
}

// Sources of the values: given, a default, a part that is not there, and nothing.
func TestDifferingSources(t *testing.T) {
	data, err := os.ReadFile(settingFile)
	require.NoError(t, err)
	base, err := readWith(t, string(data))
	require.NoError(t, err)
	other, err := readWith(t, string(data), "engine.combustion.knock_limit=0.8", "engine.valves.inlet_flow_coefficient=0.4", "fuel.heating_value=43 MJ/kg")
	require.NoError(t, err)
	x, _ := base.Trim("open")
	y, _ := other.Trim("capped")
	sources := map[string][2]Source{}
	for _, in := range Differing([]*Trim{&x, &y}) {
		sources[in.Path] = [2]Source{in.Of[0].From, in.Of[1].From}
	}
	assert.Equal(t, [2]Source{ByDefault, Given}, sources["engine.combustion.knock_limit"])
	assert.Equal(t, [2]Source{ByDefault, Given}, sources["engine.valves.inlet_flow_coefficient"], "a default that is computed")
	assert.Equal(t, [2]Source{NotSaid, Given}, sources["fuel.heating_value"])
	assert.Equal(t, [2]Source{NoPart, Given}, sources["intake.restrictor.bore"])
}

// A setting for a trim is laid over what the trim says itself, and reaches no other trim; without trims it is laid over the base.
func TestSettingForATrim(t *testing.T) {
	data, err := os.ReadFile(settingFile)
	require.NoError(t, err)
	s, err := Read(settingFile, data, openRegular, Setting{Path: "intake.restrictor.bore", Value: "36 mm", Trim: "capped", From: "--vary"},
		Setting{Path: "engine.bore", Value: "85 mm", Trim: "capped"})
	require.NoError(t, err)
	assert.Empty(t, s.Remarks, "it reaches")
	capped, _ := s.Trim("capped")
	open, _ := s.Trim("open")
	assert.InDelta(t, 0.036, capped.Intake.Restrictor.Bore, 1e-12)
	assert.InDelta(t, 0.085, capped.Engine.Cylinder.Bore, 1e-12)
	assert.InDelta(t, 0.084, open.Engine.Cylinder.Bore, 1e-12)
	assert.Nil(t, open.Intake.Restrictor)

	text := string(data)
	i := strings.Index(text, "\ntrims:")
	require.Positive(t, i)
	bare, err := Read(settingFile, []byte(text[:i+1]), openRegular, Setting{Path: "engine.bore", Value: "85 mm", Trim: BaseTrim})
	require.NoError(t, err)
	only, _ := bare.Trim(BaseTrim)
	assert.InDelta(t, 0.085, only.Engine.Cylinder.Bore, 1e-12)

	_, err = Read(settingFile, data, openRegular, Setting{Path: "engine.bore", Value: "85", Trim: "capped", From: "--vary engine.bore, variant B"})
	assert.ErrorContains(t, err, "--vary engine.bore, variant B: trims.capped.engine.bore is 85, which has no unit")
}
