package cli

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/spec"
)

// namesOf returns the names of a command's tables.
func namesOf(t *testing.T, args ...string) (names []string) {
	t.Helper()
	for _, table := range decode(t, args...).Tables {
		names = append(names, table.Name)
	}
	return names
}

// TestFuelPlane: the plane is printed when asked for, by its flag or by its pressures.
func TestFuelPlane(t *testing.T) {
	const plane = "injection plane"
	assert.NotContains(t, namesOf(t, "fuel", hillclimb, "--trim", "open", "--rpm", "3000"), plane)
	assert.Contains(t, namesOf(t, "fuel", hillclimb, "--trim", "open", "--rpm", "3000", "--plane"), plane)
	for _, table := range decode(t, "fuel", hillclimb, "--trim", "open", "--rpm", "4000", "--pressure", "60:100:20 kPa").Tables {
		if table.Name == plane {
			require.Len(t, table.Rows, 3)
			assert.InDelta(t, 60e3, table.Rows[0]["manifold_pressure_pa"], 1e-6)
			assert.InDelta(t, 100e3, table.Rows[2]["manifold_pressure_pa"], 1e-6)
		}
	}
	status, out, errs := bellmouth("fuel", hillclimb, "--pressure", "2:1:0.1")
	assert.Equal(t, statusInput, status)
	assert.Empty(t, out)
	assert.Contains(t, errs, "--pressure")
}

// TestFuelWithoutParts: what the spec lacks is left out and named once; the plane says what it needs.
func TestFuelWithoutParts(t *testing.T) {
	t.Parallel()
	template := string(spec.Template())
	without := func(sections ...string) string {
		text := template
		for _, s := range sections {
			was := regexp.MustCompile(`(?m)^` + s + `:\n(?:[ #].*\n|\n)*`)
			require.Regexp(t, was, text)
			text = was.ReplaceAllString(text, "")
		}
		dir := t.TempDir()
		path := filepath.Join(dir, "engine.yaml")
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		require.NoError(t, os.WriteFile(filepath.Join(dir, spec.TemplateMapName), spec.TemplateMap(), 0o644))
		return path
	}
	for _, sections := range [][]string{nil, {"supply"}, {"injection"}, {"supply", "injection"}, {"supply", "limits"}} {
		path := without(sections...)
		status, out, errs := bellmouth("fuel", path, "--rpm", "2000:7000:2500")
		require.Equal(t, statusWell, status, errs)
		for _, s := range sections {
			if s != "limits" {
				assert.Regexp(t, `Not in the spec, and left out with what needs it: [a-z, ]*`+s, out)
			}
		}
		lacksInjection := strings.Contains(strings.Join(sections, " "), "injection")
		status, out, errs = bellmouth("fuel", path, "--plane", "--rpm", "2000:7000:2500")
		if lacksInjection {
			assert.Equal(t, statusInput, status)
			assert.Empty(t, out)
			assert.Contains(t, errs, "fuel --plane needs the section injection")
			continue
		}
		assert.Equal(t, statusWell, status, errs)
		assert.NotRegexp(t, `\b(NaN|Inf)\b|\s-0(\.0+)?\s`, out+errs)
		for _, line := range strings.Split(out, "\n") {
			assert.LessOrEqual(t, utf8.RuneCountInString(line), 100, line)
		}
	}
}
