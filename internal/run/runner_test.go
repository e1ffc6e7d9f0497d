package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/manifold"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
)

// TestUsedBand: from where the widest upshift lands, second gear's, 2.05/2.92 of the limiter's 7800 rpm; without gears from peak torque.
func TestUsedBand(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "capped", 3500, 4500, 5500)
	band, ok := r.UsedBand(nil)
	assert.True(t, ok)
	assert.True(t, band.ByGears)
	assert.InDelta(t, 7800*2.05/2.92, band.From/spectest.PerRPM, 1e-6)
	assert.InDelta(t, 7800, band.To/spectest.PerRPM, 1e-9)
	assert.InDelta(t, 7800*(2.05/2.92+1)/2, band.Middle()/spectest.PerRPM, 1e-6)

	r.Trim.Driveline.Gears = nil
	_, ok = r.UsedBand(nil)
	assert.False(t, ok)
	torque := r.Peak(run.Torque)
	band, ok = r.UsedBand(torque)
	assert.True(t, ok)
	assert.False(t, band.ByGears)
	assert.Equal(t, torque.Speed, band.From)
	assert.InDelta(t, 7800, band.To/spectest.PerRPM, 1e-9)
}

// TestTunings: a runner is tuned for the speed of sound that the manifold has at that very speed, and one of the length found for a speed is tuned
// to that speed. A pipe by a quarter of a wave in its length, k of them in two turns: N = 2 · 60 f/k with f = a/(4 L).
func TestTunings(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 3500, 4500, 5500, 6500, 7500)
	s, err := r.Sound()
	require.NoError(t, err)
	require.True(t, s.Known())
	torque := r.Peak(run.Torque)
	pipes, necks, err := r.Tunings(&s, torque)
	require.NoError(t, err)
	require.Len(t, pipes, 6+3+3)
	require.Len(t, necks, 3+3+3)
	end := r.Trim.Manifold.Runner.Mouth.EndCorrection(r.Trim.Manifold.Runner.Bore)
	for _, p := range pipes {
		require.NoError(t, p.Err)
		a, temperature := s.At(p.Speed)
		assert.InDelta(t, temperature, p.Temperature, 1e-9)
		assert.InEpsilon(t, 30*a/(p.Order*(p.Length+end))*math.Pi/30, p.Speed, 1e-8)
	}
	for _, sought := range append(pipes[6:], necks[3:]...) {
		other := *r.Trim.Manifold.Runner
		other.Length = sought.Length
		assert.InDelta(t, sought.Length-r.Trim.Manifold.Runner.Length, sought.Change, 1e-12)
		m, trim := *r.Trim.Manifold, *r.Trim
		m.Runner = &other
		trim.Manifold = &m
		builtPipes, builtNecks, err := (&run.Run{Trim: &trim, Engine: r.Engine, Outcomes: r.Outcomes, Context: t.Context()}).Tunings(&s, torque)
		require.NoError(t, err)
		for _, built := range append(builtPipes, builtNecks...) {
			if built.Aim == run.AsBuilt && built.Order == sought.Order {
				assert.InEpsilon(t, sought.Speed, built.Speed, 1e-8)
			}
		}
	}
	// A fat runner is no neck.
	fat, trim := *r.Trim.Manifold, *r.Trim
	fat.Runner = &manifold.Runner{Length: 0.2, Bore: 0.15}
	trim.Manifold = &fat
	_, necks, err = (&run.Run{Trim: &trim, Engine: r.Engine, Outcomes: r.Outcomes, Context: t.Context()}).Tunings(&s, torque)
	require.NoError(t, err)
	assert.ErrorContains(t, necks[0].Err, "that is a pipe, not a neck")
}

// TestNothingToSound: without a solved point no temperature is known.
func TestNothingToSound(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 3500)
	r.Outcomes[0].Err = run.ErrNoSolution
	s, err := r.Sound()
	require.NoError(t, err)
	assert.False(t, s.Known())
}
