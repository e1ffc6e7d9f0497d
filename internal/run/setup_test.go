package run_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/restrictor"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// TestSetup: what is missing is named, with what asked for it.
func TestSetup(t *testing.T) {
	read := func(text string) *spec.Trim {
		s, err := spec.Read("x.yaml", []byte(text), nil)
		require.NoError(t, err)
		trim, err := s.Trim(spec.BaseTrim)
		require.NoError(t, err)
		return &trim
	}
	_, err := run.Setup("boost", read("engine: {cylinders: 4, bore: 85.3 mm, stroke: 87.1 mm, rod: 146 mm, compression_ratio: 10, limiter: 7000 rpm}\n"))
	require.Error(t, err)
	for _, part := range []string{"boost needs", "engine.valves", "engine.volumetric_efficiency", "the section fuel"} {
		assert.ErrorContains(t, err, part)
	}
	var bad *spec.Error
	assert.ErrorAs(t, err, &bad)

	s, err := run.Setup("boost", spectest.Trim(t, spectest.Hillclimb, "capped"))
	require.NoError(t, err)
	assert.Equal(t, &restrictor.Restrictor{Bore: 0.038, Count: 1, Discharge: 0.97, Recovery: 0.8}, s.Restrictor)
	assert.InDelta(t, 0.9, s.Injection.AllowedDuty, 1e-12)
	assert.False(t, s.Injection.Fixed)
	assert.InDelta(t, 4e5, s.Injection.RailPressure, 1e-6)

	n, err := run.Setup("sheet", spectest.Trim(t, spectest.ClubFour, "free"))
	require.NoError(t, err)
	assert.Nil(t, n.Compressor)
	assert.Nil(t, n.Restrictor)
	assert.True(t, n.Injection.Fixed)
}
