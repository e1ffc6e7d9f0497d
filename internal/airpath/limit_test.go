package airpath

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEveryLimitHasItsEntry(t *testing.T) {
	names := map[string]bool{}
	for l := range limitCount {
		entry := &limits[l]
		assert.NotEmpty(t, entry.name, "limit %d", l)
		assert.False(t, names[entry.name], entry.name)
		names[entry.name] = true
		if entry.side == apart {
			assert.True(t, entry.bound == nil && entry.cycle == nil, entry.name)
			continue
		}
		assert.True(t, (entry.bound == nil) != (entry.cycle == nil), "%s: one bound", entry.name)
		assert.Equal(t, int(l) < boundCount, entry.bound != nil, "%s: those of the air path alone come first", entry.name)
		if entry.side == lower {
			assert.NotEmpty(t, entry.reason, "%s: what a boost that it does not hold is refused with", entry.name)
		}
	}
}

// A passage behind the cooler that chokes is one entry more: it stops the boost, and where the wastegate is wide open and passes too
// little, the point bears its name and not the wastegate's.
func TestSecondPassageIsOneEntry(t *testing.T) {
	kept := limits[Injector]
	defer func() { limits[Injector] = kept }()
	const most = 0.16 // kg/s
	limits[Injector] = limitEntry{
		name: "throttle plate", side: upper, passage: true, unmet: NoteOverpulled,
		bound: func(_ *Engine, _ *trial, s *flowState) float64 { return math.Log(most / s.flow) },
	}
	s := unrestricted()
	s.Combustion.KnockLimit = 5
	p := solved(t, s, 4500*rpm, 160e3)
	assert.Equal(t, "throttle plate", p.Limit.String())
	assert.InEpsilon(t, most, p.AirFlow, 1e-6)

	s.Wastegate.Bore = 0.012
	p = solved(t, s, 6500*rpm, 160e3)
	require.Greater(t, p.AirFlow, most)
	assert.InEpsilon(t, p.WastegateMaxFlow, p.WastegateFlow, 1e-6, "wide open")
	assert.Equal(t, "throttle plate", p.Limit.String())
	assert.NotZero(t, p.Notes&NoteOverpulled)
}
