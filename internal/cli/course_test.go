package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Another course is another value of the spec: on the command line, in a trim and in a comparison.
func TestCourseBySetting(t *testing.T) {
	path := edited(t)
	dir := filepath.Dir(path)
	straight := filepath.Join(dir, "strip.csv")
	require.NoError(t, os.WriteFile(straight, []byte("distance [m],radius [m],surface\n0,,tarmac-dry\n400,,\n"), 0o600))
	run := func(args ...string) map[string]any {
		rows := rowsOf(decode(t, append([]string{"course", path, "--trim", "open"}, args...)...), "stage")
		require.Len(t, rows, 1)
		return rows[0]
	}
	hill, strip := run(), run("--set", "course.file=strip.csv", "--set", "course.name=none")
	assert.Equal(t, "hill", hill["course_name"])
	assert.Equal(t, "strip", strip["course_name"])
	assert.InDelta(t, 400, strip["course_length_m"], 1e-9)
	// The strip is what gearing times over 400 m on that surface, with shifts of its own.
	over := 0.0
	for _, row := range rowsOf(decode(t, "gearing", path, "--trim", "open", "--surface", "tarmac-dry"), "run-ups") {
		if row["run_up"] == "0 to 400 m" {
			over = row["run_up_time_s"].(float64)
		}
	}
	assert.InEpsilon(t, over, strip["course_time_s"], 2e-3)

	inputs := rowsOf(decode(t, "compare", path, "--trim", "open", "--vary", "course.file=given|strip.csv"), "inputs that differ")
	require.NotEmpty(t, inputs)
	assert.Equal(t, "course.file", inputs[0]["path"])

	status, out, errs := bellmouth("course", path, "--set", "course.file=gone.csv")
	assert.Equal(t, statusInput, status)
	assert.Empty(t, out)
	assert.Equal(t, "--set course.file=gone.csv: course.file is gone.csv; "+filepath.Join(dir, "gone.csv")+" does not exist\n", errs)
	status, _, errs = bellmouth("course", path, "--set", "course=none")
	assert.Equal(t, statusInput, status)
	assert.Contains(t, errs, "course needs the section course; trim open lacks it")

	// The course is an input, which no output goes over.
	kept, err := os.ReadFile(straight)
	require.NoError(t, err)
	status, _, errs = bellmouth("course", path, "--set", "course.file=strip.csv", "--format", "csv", "--output", straight, "--force")
	assert.Equal(t, statusInput, status)
	assert.Contains(t, errs, "would overwrite what it is computed from")
	now, err := os.ReadFile(straight)
	require.NoError(t, err)
	assert.Equal(t, kept, now)
}

// Speeds that do not reach the limiter, or one alone, are told, and the sheet goes without.
func TestCourseWithFewSpeeds(t *testing.T) {
	_, out, _ := bellmouth("course", clubFour, "--trim", "free", "--rpm", "3000:6000:1500")
	assert.Contains(t, strings.Join(strings.Fields(out), " "),
		"the torque is not known at the engine speeds that the course takes; want a range of them up to the limiter")
	status, out, errs := bellmouth("course", clubFour, "--trim", "free", "--rpm", "5000")
	assert.Equal(t, statusInput, status)
	assert.Empty(t, out)
	assert.Contains(t, errs, "torque is not known at two engine speeds")
	_, out, _ = bellmouth("sheet", clubFour, "--trim", "free", "--rpm", "5000")
	assert.NotContains(t, out, "stage time")
}
