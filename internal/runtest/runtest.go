// Package runtest serves the tests of what is made of solved trims: it loads the trims of the example specs and solves them.
package runtest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"bellmouth/internal/run"
	"bellmouth/internal/spec"
)

// PerRPM is an engine speed of 1 rpm, rad/s.
const PerRPM = math.Pi / 30

// The example specs, as seen from a package under internal.
const (
	Hillclimb = "../../examples/hillclimb.yaml"
	ClubFour  = "../../examples/club-four.yaml"
)

// Trim returns a trim of a spec file.
func Trim(t testing.TB, path, name string) *spec.Trim {
	t.Helper()
	s, err := spec.Load(path)
	require.NoError(t, err)
	trim, err := s.Trim(name)
	require.NoError(t, err)
	return &trim
}

// Solve solves a trim at engine speeds, rpm.
func Solve(t testing.TB, trim *spec.Trim, rpm ...float64) *run.Run {
	t.Helper()
	speeds := make([]float64, len(rpm))
	for i := range rpm {
		speeds[i] = rpm[i] * PerRPM
	}
	r, err := run.Solve("sheet", trim, speeds)
	require.NoError(t, err)
	return r
}

// Solved solves a trim of a spec file at engine speeds, rpm.
func Solved(t testing.TB, path, name string, rpm ...float64) *run.Run {
	t.Helper()
	return Solve(t, Trim(t, path, name), rpm...)
}
