package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/spectest"
)

// What is set on the command line prints the same, byte for byte, as the file edited so.
func TestSetIsAnEdit(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(hillclimb)
	require.NoError(t, err)
	dir := t.TempDir()
	path := filepath.Join(dir, "engine.yaml")
	spectest.CopyFiles(t, dir)
	edited := string(text)
	for _, e := range [][2]string{{"compression_ratio: 8.8", "compression_ratio: 9.2"},
		{"target: {1500 rpm: 0.6 bar, 2500 rpm: 1.2 bar, 3500 rpm: 1.55 bar, 7800 rpm: 1.55 bar}", "target: 1.2 bar"}} {
		require.Equal(t, 1, strings.Count(edited, e[0]), e[0])
		edited = strings.Replace(edited, e[0], e[1], 1)
	}
	sets := []string{"--set", "engine.compression_ratio=9.2", "--set", "boost.target=1.2 bar"}
	for _, command := range [][]string{
		{"sheet", "--rpm", "3000:7000:2000"}, {"check", "--rpm", "3000:7000:2000"}, {"boost", "--rpm", "3000:7000:2000", "--format", "json"},
		{"spec", "check"}, {"fuel", "--plane", "--pressure", "1", "--rpm", "3000:7000:2000"},
	} {
		require.NoError(t, os.WriteFile(path, []byte(edited), 0o644))
		status, want, wantErrs := bellmouth(append(command, path)...)
		require.NoError(t, os.WriteFile(path, text, 0o644))
		again, got, errs := bellmouth(append(append(command, path), sets...)...)
		assert.Equal(t, status, again, command)
		assert.Equal(t, want, got, command)
		assert.Equal(t, wantErrs, errs, command)
		if command[0] != "spec" { // which shows no figure that was given
			_, plain, _ := bellmouth(append(command, path)...)
			assert.NotEqual(t, plain, got, command)
		}
	}
}

func TestSetIsTold(t *testing.T) {
	status, out, errs := bellmouth("boost", hillclimb, "--rpm", "6000", "--set", "intake.restrictor.bore=36 mm")
	assert.Equal(t, statusWell, status)
	assert.NotEmpty(t, out)
	assert.Contains(t, errs, "bellmouth: warning: --set intake.restrictor.bore does not reach the trim capped, which says intake.restrictor.bore itself; set trims.capped.intake.restrictor.bore\n")
	for set, want := range map[string]string{
		"engine.bore":        "bellmouth: --set: engine.bore is not PATH=VALUE, such as intake.restrictor.bore=36 mm\n",
		"engine.bore=3.8 mm": "--set engine.bore=3.8 mm: engine.bore is 3.8 mm; want 30 mm to 200 mm (38 mm?)\n",
	} {
		status, out, errs := bellmouth("boost", hillclimb, "--set", set)
		assert.Equal(t, statusInput, status, set)
		assert.Empty(t, out)
		assert.Equal(t, want, errs)
	}
}

// A spec from standard input is the file's; what it names is looked for in the working directory.
func TestSpecFromStandardInput(t *testing.T) {
	text, err := os.ReadFile(hillclimb)
	require.NoError(t, err)
	_, want, _ := bellmouth("boost", hillclimb, "--rpm", "5000", "--format", "csv")
	t.Chdir(filepath.Dir(hillclimb))
	var out, errs bytes.Buffer
	assert.Equal(t, statusWell, Main([]string{"boost", "-", "--rpm", "5000", "--format", "csv"}, bytes.NewReader(text), &out, &errs), errs.String())
	assert.Equal(t, want, out.String())
	out.Reset()
	errs.Reset()
	assert.Equal(t, statusInput, Main([]string{"spec", "check", "-"}, strings.NewReader("engine: {bore: 3 mm}"), &out, &errs))
	assert.Contains(t, errs.String(), "standard input:1:16: engine.bore is 3 mm")
	assert.Empty(t, out.String())
}
