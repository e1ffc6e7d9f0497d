package sheet

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/numeric"
)

// TestFuelOfAnIdleSet: where the second set does not work at any speed its columns are left to scripts, and the table says so.
func TestFuelOfAnIdleSet(t *testing.T) {
	const idle = "The second set does not work at any of these speeds."
	both, one := solved(t, hillclimb, "open", 3000, 7500).Fuel(), solved(t, hillclimb, "open", 3000).Fuel()
	require.Positive(t, at(t, both, 1, "secondary_pulse_s").Number())
	assert.NotContains(t, both.Notes, idle)
	assert.Contains(t, one.Notes, idle)
	for _, key := range []string{"secondary_pulse_s", "secondary_duty", "secondary_share", "staging"} {
		assert.False(t, both.Columns[columnOf(t, both, key)].Detail, key)
		assert.True(t, one.Columns[columnOf(t, one, key)].Detail, key)
	}
	assert.NotContains(t, solved(t, clubFour, "free", 3000).Fuel().Notes, idle, "which has one set")
}

// TestOneDeadTime: a dead time that does not grow with a weak battery is told.
func TestOneDeadTime(t *testing.T) {
	trim := trimOf(t, hillclimb, "open")
	sets, ok := InjectorSets(trim)
	require.True(t, ok)
	assert.Empty(t, sets.Notes)
	trim.Injection.Staging.Primary.Injector.DeadTime = numeric.Constant(1e-3)
	sets, ok = InjectorSets(trim)
	require.True(t, ok)
	assert.Equal(t, []string{oneDeadTimeNote}, sets.Notes)
}

// TestChokeBoost: the table is there where the restrictor chokes at a speed; else the restrictor's own table says that it does not.
func TestChokeBoost(t *testing.T) {
	const never = "It does not choke at any of these speeds, whatever the target."
	for _, c := range []struct {
		speeds []float64
		chokes bool
	}{{[]float64{2000, 3000}, false}, {[]float64{2000, 6000}, true}} {
		r := solved(t, hillclimb, "capped", c.speeds...)
		own, err := r.Restrictor()
		require.NoError(t, err)
		choke, ok := r.ChokeBoost()
		assert.Equal(t, c.chokes, ok)
		if !c.chokes {
			assert.Contains(t, own.Notes, never)
			continue
		}
		assert.NotContains(t, own.Notes, never)
		assert.InEpsilon(t, 1, at(t, choke, 1, "throat_flow_fraction").Number(), 1e-6)
		assert.Equal(t, at(t, choke, 1, "boost_pa").Number(), at(t, choke, 1, "choke_boost_pa").Number())
		assert.True(t, choke.Columns[columnOf(t, choke, "manifold_pressure_pa")].Detail)
	}
	aspirated, ok := solved(t, clubFour, "restricted", 7500).ChokeBoost()
	require.True(t, ok)
	assert.False(t, aspirated.Columns[columnOf(t, aspirated, "manifold_pressure_pa")].Detail)
	assert.True(t, aspirated.Columns[columnOf(t, aspirated, "choke_boost_pa")].Detail, "which is no boost")
}
