package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/spectest"
)

const hilltop = "{altitude: 1640 m, temperature: 7 degC, humidity: 80 %}"

// edited writes the hillclimb spec, with pieces of it replaced, beside the files that it names into a folder of its own, and returns its path.
func edited(t *testing.T, pairs ...string) string {
	t.Helper()
	data, err := os.ReadFile(hillclimb)
	require.NoError(t, err)
	text := string(data)
	for i := 0; i < len(pairs); i += 2 {
		require.Equal(t, 1, strings.Count(text, pairs[i]), pairs[i])
		text = strings.Replace(text, pairs[i], pairs[i+1], 1)
	}
	path := filepath.Join(t.TempDir(), "engine.yaml")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	spectest.CopyFiles(t, filepath.Dir(path))
	return path
}

// written writes a spec and a copy of its map into a folder of their own, and returns the spec's path.
func written(t *testing.T, text, chart string) string {
	t.Helper()
	data, err := os.ReadFile(chart)
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, filepath.Base(chart)), data, 0o644))
	path := filepath.Join(dir, "engine.yaml")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	return path
}

const ownVenue = "venue:\n  altitude: 420 m\n  temperature: 18 degC\n  humidity: 55 %\n"

// What is computed at a venue by name is, byte for byte, what the spec gives whose section venue says the same, but for the venue's name.
func TestVenueIsAnEdit(t *testing.T) {
	t.Parallel()
	path := edited(t)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	there := strings.Replace(string(text), ownVenue, "venue: "+hilltop+"\n", 1)
	require.NotEqual(t, string(text), there)
	for _, line := range []string{
		"sheet --format json --rpm 3000:7000:2000", "sheet --units imperial --trim capped --rpm 5000", "air", "air --format csv", "geometry", "restrictor",
		"compressor --format csv --rpm 3000:7000:2000", "turbine --rpm 3000:7000:2000", "boost --format markdown --rpm 4000:6000:1000",
		"boost --format json --rpm 3000:7000:2000", "boost --allowed --rpm 4000:6000:2000",
		"boost --as-target --trim open --rpm 4000:6000:2000", "boost --by-gear --by-pedal --rpm 4000:6000:2000",
		"wastegate --format json --plane --rpm 3000:7000:2000",
		"manifold --trim open --rpm 3000:7000:2000",
		"fuel --plane --rpm 3000:7000:2000 --pressure 1:2:1 --format csv", "spark --rpm 3000:7000:2000 --pressure 1:2:1", "check --table checks --rpm 3000:7000:2000",
		"check --table checks --format json --trim capped",
	} {
		command := strings.Fields(line)
		require.NoError(t, os.WriteFile(path, []byte(there), 0o644))
		status, want, wantErrs := bellmouth(append(command, path)...)
		require.NoError(t, os.WriteFile(path, text, 0o644))
		again, got, errs := bellmouth(append(command, path, "--venue", "hilltop")...)
		assert.Equal(t, status, again, line)
		unnamed := strings.NewReplacer(", venue hilltop", "", "      \"venue\": \"hilltop\",\n", "", "table,trim,venue,", "table,trim,", ",hilltop,", ",")
		assert.Equal(t, want, unnamed.Replace(got), line)
		assert.Equal(t, wantErrs, unnamed.Replace(errs), line)
		if !strings.Contains(line, "--as-target") {
			assert.Contains(t, got, "hilltop", line)
		}
	}
}

// Every table of a script for several venues tells trim and venue, those of a venue in a row; without --venue nothing names one.
func TestVenuesInScripts(t *testing.T) {
	t.Parallel()
	type key struct{ name, trim, venue string }
	for _, command := range []string{"sheet", "air", "geometry", "restrictor", "compressor", "turbine", "boost", "wastegate", "manifold", "fuel",
		"spark", "check"} {
		args := []string{command, hillclimb}
		if command != "air" {
			args = append(args, "--rpm", "5000:6000:1000")
		}
		plain := decode(t, args...)
		p := decode(t, append(args, "--venue", "seaside, hilltop")...)
		if command == "check" { // whose verdict has a row for each trim and venue, see TestVerdictOfTrims
			require.Equal(t, "verdict", p.Tables[0].Name)
			plain.Tables, p.Tables = plain.Tables[1:], p.Tables[1:]
		}
		require.Len(t, p.Tables, 2*len(plain.Tables), command)
		if command == "sheet" {
			assert.Equal(t, decode(t, append(args, "--venue", "hilltop")...).Tables, p.Tables[len(plain.Tables):], "as by itself")
		}
		seen := map[key]bool{}
		for i, tab := range p.Tables {
			other := plain.Tables[i%len(plain.Tables)]
			assert.Equal(t, other.Name, tab.Name, command)
			assert.Equal(t, other.Trim, tab.Trim, command)
			assert.Empty(t, other.Venue)
			assert.Equal(t, []string{"seaside", "hilltop"}[i/len(plain.Tables)], tab.Venue, "%s: %s", command, tab.Name)
			assert.False(t, seen[key{tab.Name, tab.Trim, tab.Venue}])
			seen[key{tab.Name, tab.Trim, tab.Venue}] = true
		}
		_, text, _ := bellmouth(append(args, "--format", "json")...)
		assert.NotContains(t, text, `"venue":`, command)
		_, text, _ = bellmouth(append(args, "--format", "csv")...)
		assert.NotContains(t, text, "trim,venue", command)
	}
	status, out, _ := bellmouth("boost", hillclimb, "--venue", "all", "--rpm", "6000", "--format", "csv", "--table", "operating-points", "--columns", "rpm")
	assert.Equal(t, statusWell, status)
	assert.Equal(t, "table,trim,venue,rpm,notes\noperating points,open,hilltop,6000,\noperating points,capped,hilltop,6000,\n"+
		"operating points,open,valley,6000,\noperating points,capped,valley,6000,\noperating points,open,seaside,6000,\noperating points,capped,seaside,6000,\n", out)
	_, out, _ = bellmouth("boost", hillclimb, "--venue", "all", "--rpm", "4000", "--as-target", "--trim", "capped")
	assert.Regexp(t, `^# trim capped, venue hilltop\ntarget: .*\n# trim capped, venue valley\ntarget: .*\n# trim capped, venue seaside\ntarget: .*\n$`, out)
	dir := filepath.Join(t.TempDir(), "out") + "/"
	_, _, errs := bellmouth("air", hillclimb, "--venue", "hilltop,valley", "--format", "csv", "--columns", "pressure_pa", "-o", dir)
	written, err := os.ReadFile(dir + "air.csv")
	require.NoError(t, err, errs)
	assert.Equal(t, "table,trim,venue,pressure_pa,notes\nair,,hilltop,83117.749,\nair,,valley,99181.2966,\n", string(written))
}

// Each grid of each venue has a file of its own, and says its venue where all stand in one.
func TestVenueGrids(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	args := []string{"spark", hillclimb, "--trim", "capped", "--rpm", "5000:6000:1000", "--pressure", "1:1.4:0.2", "--format", "csv", "--grid"}
	status, _, errs := bellmouth(append(args, "--venue", "hilltop,valley", "-o", dir+"/")...)
	require.Equal(t, statusWell, status, errs)
	texts := map[string]string{}
	for _, venue := range []string{"hilltop", "valley"} {
		both, err := os.ReadFile(filepath.Join(dir, "burn-capped@"+venue+"-torque_nm.csv"))
		require.NoError(t, err)
		single := filepath.Join(t.TempDir(), "out")
		status, _, errs := bellmouth(append(args, "--venue", venue, "-o", single+"/")...)
		require.Equal(t, statusWell, status, errs)
		alone, err := os.ReadFile(filepath.Join(single, "burn-capped@"+venue+"-torque_nm.csv"))
		require.NoError(t, err)
		assert.Equal(t, string(alone), string(both))
		texts[venue] = string(both)
		_, out, _ := bellmouth(append(args, "--venue", "hilltop,valley")...)
		assert.Regexp(t, `(?m)^burn,capped,torque_nm,`+venue+`,*$`, out)
	}
	assert.NotEqual(t, texts["hilltop"], texts["valley"])
}

// --venue wins over the section venue of spec and trim.
func TestVenueWins(t *testing.T) {
	path := edited(t, "  open:\n    intake:", "  open:\n    venue: {altitude: 100 m}\n    intake:")
	pressures := func(args ...string) (found []float64) {
		for _, tab := range decode(t, append([]string{"air", path}, args...)...).Tables {
			found = append(found, tab.Rows[0]["pressure_pa"].(float64))
		}
		return found
	}
	// The standard atmosphere, ISO 2533, by hand: 101325 Pa (1 − 0.0065 H/288.15)^5.25588, H = 6356766 h/(6356766 + h), at 100 m, 420 m and 1640 m.
	const sea, low, high = 100129.5, 96380.5, 83117.7
	own := pressures()
	require.Len(t, own, 2)
	assert.InDelta(t, sea, own[0], 0.1)
	assert.InDelta(t, low, own[1], 0.1)
	named := pressures("--venue", "hilltop")
	require.Len(t, named, 1, "one air for all trims")
	assert.InDelta(t, high, named[0], 0.1)
	set := pressures("--venue", "hilltop", "--set", "venues.hilltop.altitude=100 m")
	assert.InDelta(t, sea, set[0], 0.1)
	for _, at := range []string{"venue.altitude", "trims.open.venue.altitude"} {
		_, _, errs := bellmouth("air", path, "--venue", "hilltop", "--set", at+"=3 m")
		assert.Contains(t, errs, "bellmouth: warning: --set "+at+" does not reach what --venue hilltop computes; set venues.NAME and the key\n")
	}
	_, _, errs := bellmouth("air", path, "--set", "trims.open.venue.altitude=3 m")
	assert.Empty(t, errs)
}

func TestVenueMessages(t *testing.T) {
	for venue, want := range map[string]string{
		"hiltop":          hillclimb + ": has no venue hiltop; it has hilltop, valley, seaside; hilltop?\n",
		"hilltop,,valley": `bellmouth: --venue "hilltop,,valley" names an empty venue; want names with commas between` + "\n",
		"valley,valley":   `bellmouth: --venue "valley,valley" names valley twice` + "\n",
		"all,valley":      `bellmouth: --venue "all,valley" names others beside all` + "\n",
	} {
		for _, command := range []string{"boost", "geometry", "air", "spark"} {
			status, out, errs := bellmouth(command, hillclimb, "--venue", venue)
			assert.Equal(t, statusInput, status)
			assert.Empty(t, out)
			assert.Equal(t, want, errs)
		}
	}
	for _, venue := range []string{"all", "hilltop"} {
		status, _, errs := bellmouth("air", clubFour, "--venue", venue)
		assert.Equal(t, statusInput, status)
		assert.Equal(t, clubFour+": has no venue "+venue+"; the spec declares none\n", errs)
	}
	// The least pressure is absolute, so that it is the venue that the flag does not suit.
	status, _, errs := bellmouth("spark", hillclimb, "--venue", "seaside,hilltop", "--rpm", "5000", "--pressure", "-0.7 bar gauge")
	assert.Equal(t, statusInput, status)
	assert.Equal(t, "bellmouth: venue \"hilltop\", --pressure -0.7 bar gauge begins below 0.2 bar absolute\n", errs)
	// What a trim lacks it lacks anywhere, and is told once; what fails at a venue names it.
	_, _, errs = bellmouth("restrictor", hillclimb, "--venue", "all", "--rpm", "5000")
	assert.Equal(t, 1, strings.Count(errs, "trim open has no intake.restrictor and is left out"), errs)
	_, _, errs = bellmouth("sheet", hillclimb, "--venue", "valley", "--rpm", "5000")
	assert.Contains(t, errs, "bellmouth: warning: trim capped, venue valley: 1 check failed: shaft speed with the wastegate closed\n")
}

// A point without a solution names the venue.
func TestUnsolvedNamesTheVenue(t *testing.T) {
	data, err := os.ReadFile("testdata/runaway.yaml")
	require.NoError(t, err)
	path := written(t, string(data)+"\nvenues: {hill: {altitude: 900 m}}\n", "testdata/twin-map.csv")
	for _, command := range []string{"boost", "spark", "fuel"} {
		args := []string{command, path, "--venue", "hill", "--rpm", "6000"}
		if command != "boost" {
			args = append(args, "--pressure", "2.5")
		}
		status, _, errs := bellmouth(args...)
		assert.Equal(t, statusNoSolution, status, errs)
		for _, line := range strings.Split(strings.TrimSpace(errs), "\n") {
			if strings.Contains(line, "6000 rpm") {
				assert.Contains(t, line, `  venue "hill", trim "base", `, command)
			}
		}
		assert.Contains(t, errs, `  venue "hill", trim "base", `, command)
	}
}

func TestSpecCheckTellsTheVenues(t *testing.T) {
	for _, tab := range decode(t, "spec", "check", hillclimb).Tables {
		if tab.Name == "venues" {
			require.Len(t, tab.Rows, 3)
			assert.Equal(t, "seaside", tab.Rows[2]["venue_name"])
			assert.InDelta(t, 102100, tab.Rows[2]["pressure_pa"], 1e-3)
			assert.InDelta(t, 295.15, tab.Rows[2]["temperature_k"], 1e-6)
			assert.InDelta(t, 0.7, tab.Rows[2]["relative_humidity"], 1e-9)
			return
		}
	}
	t.Fatal("no table of the venues")
}
