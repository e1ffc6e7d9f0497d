// Package runtest serves tests: the examples' trims, loaded and altered.
package runtest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"bellmouth/internal/spec"
)

// The examples, as a test of a package under internal finds them.
const (
	Hillclimb = "../../examples/hillclimb.yaml"
	ClubFour  = "../../examples/club-four.yaml"
)

// RPM is one turn a minute, rad/s.
const RPM = math.Pi / 30

// Trim returns a trim of a spec.
func Trim(t testing.TB, path, name string) *spec.Trim {
	t.Helper()
	s, err := spec.Load(path)
	require.NoError(t, err)
	trim, err := s.Trim(name)
	require.NoError(t, err)
	return &trim
}

// Speeds returns engine speeds, rad/s, from one to another, rpm, in steps of so many.
func Speeds(from, to, step float64) []float64 {
	var speeds []float64
	for n := from; n <= to; n += step {
		speeds = append(speeds, n*RPM)
	}
	return speeds
}
