package run

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/spec"
)

// TestChangesOfTheSetup: each step changes what it names, by itself, and leaves the engine that it is taken from as it was. Without a cooler it is
// the venue's air that warms, and takes its water along.
func TestChangesOfTheSetup(t *testing.T) {
	for path, name := range map[string]string{"hillclimb": "open", "club-four": "free"} {
		s, err := spec.Load("../../examples/" + path + ".yaml")
		require.NoError(t, err)
		trim, err := s.Trim(name)
		require.NoError(t, err)
		r, err := Solve(t.Context(), "sheet", &trim, nil)
		require.NoError(t, err)
		const speed = 5000 * math.Pi / 30
		was := r.Engine.Setup
		lambda := func(s *airpath.Setup) float64 {
			l, _ := s.Mixture.Lambda(speed, math.Inf(1), 1)
			return l
		}
		changes := r.SparkChanges()
		require.Len(t, changes, 4)
		for _, c := range changes {
			setup := r.Engine.Setup
			c.apply(&setup, speed)
			assert.InDelta(t, was.Venue.WaterMoleFraction(), setup.Venue.WaterMoleFraction(), 1e-9)
			by := func(change SparkChange, step float64) float64 {
				if c == change {
					return step
				}
				return 0
			}
			assert.InDelta(t, by(MoreOctane, 1), setup.Fuel.RON-was.Fuel.RON, 1e-12)
			assert.InDelta(t, by(MoreOctane, 1), setup.Fuel.MON-was.Fuel.MON, 1e-12)
			assert.InDelta(t, by(WarmerAir, 10), setup.Venue.Temperature-was.Venue.Temperature, 1e-12)
			assert.InDelta(t, by(MoreCompression, 0.2), setup.Cylinder.CompressionRatio-was.Cylinder.CompressionRatio, 1e-12)
			assert.InDelta(t, by(RicherMixture, -0.02), lambda(&setup)-lambda(&was), 1e-12)
			if was.Cooler != nil {
				assert.InDelta(t, by(WarmerCoolant, 10), setup.Cooler.CoolantTemperature-was.Cooler.CoolantTemperature, 1e-12)
			}
		}
		assert.Equal(t, was, r.Engine.Setup)
		want := WarmerCoolant
		if was.Cooler == nil {
			want = WarmerAir
		}
		assert.Equal(t, want, changes[1], name)
	}
}

// TestOctaneChangeUnknown: without an octane number before the change or after it, no change of it is made up, and the first reason is told.
func TestOctaneChangeUnknown(t *testing.T) {
	known := octaneAtBest{margin: 3, index: 99}
	for _, c := range []struct {
		effect SparkEffect
		want   error
	}{
		{SparkEffect{before: known, after: octaneAtBest{margin: 1, index: 101}}, nil},
		{SparkEffect{before: known, after: octaneAtBest{err: errBestUnsolved}}, errBestUnsolved},
		{SparkEffect{before: octaneAtBest{err: errBestFar}, after: known}, errBestFar},
		{SparkEffect{before: known, after: known, Err: ErrNoSolution}, ErrNoSolution},
	} {
		spare, err := c.effect.OctaneChange()
		assert.Equal(t, c.want, err)
		needed, err := c.effect.IndexChange()
		assert.Equal(t, c.want, err)
		if c.want == nil {
			assert.Equal(t, -2.0, spare)
			assert.Equal(t, 2.0, needed)
		}
	}
}
