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

// TestSurgeBetweenSpeedsFails: a surge margin that is kept at 3000 and 3500 rpm, as at all the speeds of the default grid, and not where
// the boost comes in between those two. The exit status says so.
func TestSurgeBetweenSpeedsFails(t *testing.T) {
	text, err := os.ReadFile(hillclimb)
	require.NoError(t, err)
	require.Contains(t, string(text), "surge_margin: 3 %")
	dir := t.TempDir()
	path := filepath.Join(dir, "engine.yaml")
	require.NoError(t, os.WriteFile(path, []byte(strings.Replace(string(text), "surge_margin: 3 %", "surge_margin: 20 %", 1)), 0o644))
	spectest.CopyFiles(t, dir)

	for _, speed := range []string{"1500", "2000", "2500", "3000", "3500", "4000", "4500", "5000", "5500", "6000", "6500", "7000", "7500", "7800"} {
		status, _, errs := bellmouth("check", path, "--trim", "open", "--rpm", speed)
		assert.Equal(t, statusWell, status, "%s rpm by itself: %s", speed, errs)
	}
	status, out, _ := bellmouth("check", path, "--trim", "open")
	assert.Equal(t, statusCheckFailed, status)
	assert.Regexp(t, `FAIL +boost target passes a limit: compressor +3[1-4]\d\d `, out)

	// What the command names is there when it is asked for.
	for _, table := range decode(t, "check", path, "--trim", "open").Tables[1:] { // behind the verdict
		for _, row := range table.Rows {
			if row["verdict"] != "FAIL" {
				continue
			}
			speed := row["worst_rpm"].(float64)
			assert.Greater(t, speed, 3000.0)
			assert.Less(t, speed, 3500.0)
		}
	}
}
