package spec

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const settingFile = "testdata/hillclimb.yaml"

func readWith(t *testing.T, text string, sets ...string) (*Spec, error) {
	t.Helper()
	settings := make([]Setting, len(sets))
	for i, set := range sets {
		var err error
		settings[i], err = ParseSetting(set)
		require.NoError(t, err)
	}
	return Read(settingFile, []byte(text), openRegular, settings...)
}

// A setting reads as the same edit of the file does, in the base, in a section that the file lacks, in a trim, of a table, of a part taken away,
// and of another choice of the same group.
func TestSettingIsAnEdit(t *testing.T) {
	data, err := os.ReadFile(settingFile)
	require.NoError(t, err)
	text := string(data)
	edit := func(from, to string) string {
		require.Equal(t, 1, strings.Count(text, from), from)
		return strings.Replace(text, from, to, 1)
	}
	for name, c := range map[string]struct {
		edited string
		sets   []string
	}{
		"value":      {edit("bore: 84 mm", "bore: 85 mm"), []string{"engine.bore=85 mm"}},
		"later wins": {edit("bore: 84 mm", "bore: 85 mm"), []string{"engine.bore=86 mm", "engine.bore = 85 mm"}},
		"table": {edit("volumetric_efficiency: {1500 rpm: 0.78, 3000 rpm: 0.90, 4500 rpm: 0.99, 6000 rpm: 1.02, 7000 rpm: 0.99, 7800 rpm: 0.94}",
			"volumetric_efficiency: {1500 rpm: 0.7, 7800 rpm: 0.9}"), []string{"engine.volumetric_efficiency={1500 rpm: 0.7, 7800 rpm: 0.9}"}},
		"new section": {text + "\ncar: {mass: 900 kg}\n", []string{"car.mass=900 kg"}},
		"trim":        {edit("{bore: 38 mm,", "{bore: 36 mm,"), []string{"trims.capped.intake.restrictor.bore=36 mm"}},
		"name":        {edit("name: Hillclimb five", "name: Another"), []string{"name=Another"}},
	} {
		want, wantErr := Read(settingFile, []byte(c.edited), openRegular)
		got, err := readWith(t, text, c.sets...)
		if wantErr != nil { // the same is wrong with both, in other words for the place
			require.Error(t, err, name)
			continue
		}
		require.NoError(t, err, name)
		assert.Equal(t, want.Name, got.Name, name)
		require.Equal(t, want.Trims(), got.Trims(), name)
		for _, trim := range want.Trims() {
			a, _ := want.Trim(trim)
			b, _ := got.Trim(trim)
			assert.Equal(t, a.Engine, b.Engine, "%s, %s", name, trim)
			assert.Equal(t, a.Intake, b.Intake, "%s, %s", name, trim)
			assert.Equal(t, a.Car, b.Car, "%s, %s", name, trim)
		}
	}
	taken, err := readWith(t, text, "cooler=none")
	require.NoError(t, err)
	trim, err := taken.Trim(taken.Trims()[0])
	require.NoError(t, err)
	assert.Nil(t, trim.Cooler)
	chamber, err := readWith(t, text, "engine.chamber={head: 45 cm3, gasket_thickness: 1 mm, gasket_bore: 85 mm}")
	require.NoError(t, err, "the other way to state the compression ratio takes the file's place")
	trim, err = chamber.Trim(chamber.Trims()[0])
	require.NoError(t, err)
	assert.Greater(t, trim.Engine.Cylinder.CompressionRatio, 5.0)
	assert.NotEqual(t, 8.8, trim.Engine.Cylinder.CompressionRatio)
}

func TestSettingMessages(t *testing.T) {
	data, err := os.ReadFile(settingFile)
	require.NoError(t, err)
	for set, want := range map[string]string{
		"engine.boer=84 mm":            "--set engine.boer=84 mm: engine.boer is not a key of engine; bore?",
		"engine.bore=3.8 mm":           "--set engine.bore=3.8 mm: engine.bore is 3.8 mm; want 30 mm to 200 mm (38 mm?)",
		"engine.bore={":                "--set engine.bore={: is not YAML: the bracket { opens here and is not closed",
		"trims.caped.engine.bore=8 cm": "--set trims.caped.engine.bore=8 cm: trims has no trim caped; it has open, capped; capped?",
		"trims=1":                      "--set trims=1: trims is 1; want a section with one trim or more, each with what it changes",
		"boost.target={2000: 1 bar}":   "--set boost.target={2000: 1 bar}: boost.target has the key 2000, which has no unit; want a speed of rotation in rpm",
		"name=a\x1bb":                  "U+001B",
		"name=#none":                   "--set name=#none: has no value",
		"boost.target.2000 rpm=1 bar":  "--set boost.target.2000 rpm=1 bar: boost.target is set whole, without 2000 rpm; want ",
		"trims.open.engine.bore.x=1":   "--set trims.open.engine.bore.x=1: trims.open.engine.bore is set whole, without x; want 30 mm to 200 mm",
	} {
		_, err := readWith(t, string(data), set)
		if assert.Error(t, err, set) {
			assert.Contains(t, err.Error(), want)
			assert.NotContains(t, err.Error(), "\n", "one line")
			assert.NotContains(t, err.Error(), "\x1b")
		}
	}
	for _, text := range []string{"", "engine.bore", "=3", "engine.bore=", "a..b=1", strings.Repeat("a.", 20) + "a=1", "a\x1b=1"} {
		_, err := ParseSetting(text)
		assert.Error(t, err, "%q", text)
	}
}

// A setting of the base does not reach a trim that says the same itself, and that is told.
func TestSettingThatDoesNotReachATrim(t *testing.T) {
	data, err := os.ReadFile(settingFile)
	require.NoError(t, err)
	s, err := readWith(t, string(data), "intake.restrictor.bore=36 mm", "engine.bore=85 mm")
	require.NoError(t, err)
	require.NotEmpty(t, s.Remarks)
	for _, r := range s.Remarks {
		assert.Contains(t, r, "--set intake.restrictor.bore does not reach the trim ")
	}
}

func FuzzSetting(f *testing.F) {
	data, err := os.ReadFile(settingFile)
	require.NoError(f, err)
	for _, s := range []string{"engine.bore=84 mm", "trims.capped=none", "a.b={c: [1]}", "name=&a *a", "venues={a: {}}", "trims.open.from=capped",
		"engine=none", "trims={open: {}}"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ParseSetting(text)
		if err != nil {
			return
		}
		_, _ = Read(settingFile, data, openRegular, s)
	})
}
