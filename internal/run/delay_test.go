package run_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/numeric"
	"bellmouth/internal/run"
	"bellmouth/internal/spark"
	"bellmouth/internal/spectest"
)

// TestIgnitionDelay: the spec's table, or the default of package spark over all of the speeds where it holds.
func TestIgnitionDelay(t *testing.T) {
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	require.True(t, trim.Ignition.Delay.IsZero())
	s, err := run.Setup("spark", trim)
	require.NoError(t, err)
	for n := 1000.0; n <= 10000; n += 37 {
		want, _, err := spark.IgnitionDelay(numeric.Curve{}, n*spectest.PerRPM)
		require.NoError(t, err)
		got, held := s.Combustion.IgnitionDelay.At(n * spectest.PerRPM)
		assert.False(t, held)
		assert.InDelta(t, want, got, 0.01*degree, "a tenth of what is printed, at %v rpm", n)
	}
	trim.Ignition.Delay = numeric.Constant(9 * degree)
	s, err = run.Setup("spark", trim)
	require.NoError(t, err)
	got, _ := s.Combustion.IgnitionDelay.At(4000 * spectest.PerRPM)
	assert.InDelta(t, 9*degree, got, 1e-12)
}
