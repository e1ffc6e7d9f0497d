// Package runtest serves the tests of what is made of solved trims.
package runtest

import (
	"testing"

	"github.com/stretchr/testify/require"

	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// Solve solves a trim at engine speeds, rpm.
func Solve(t testing.TB, trim *spec.Trim, rpm ...float64) *run.Run {
	t.Helper()
	speeds := make([]float64, len(rpm))
	for i := range rpm {
		speeds[i] = rpm[i] * spectest.PerRPM
	}
	r, err := run.Solve(t.Context(), "sheet", trim, speeds)
	require.NoError(t, err)
	return r
}

// Solved solves a trim of a spec file at engine speeds, rpm.
func Solved(t testing.TB, path, name string, rpm ...float64) *run.Run {
	t.Helper()
	return Solve(t, spectest.Trim(t, path, name), rpm...)
}
