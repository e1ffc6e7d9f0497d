package run_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/friction"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
)

// What the spec says of the friction reaches the solved point: of the auxiliaries at 5000 rpm the whole factor of their term,
// 8.32 + 1.86e-3 N + 7.45e-7 N² kPa (SAE 2003-01-0725, from memory), and Chen and Flynn's sum with its own keys.
func TestFrictionIsWired(t *testing.T) {
	solve := func(change func(c *friction.Choice)) float64 {
		trim := spectest.Trim(t, spectest.ClubFour, "free")
		change(&trim.Engine.Friction)
		r := runtest.Solve(t, trim, 5000)
		require.NoError(t, r.Outcomes[0].Err)
		p := r.Outcomes[0].Point
		if trim.Engine.Friction.ChenFlynn != nil {
			return p.FMEP - trim.Engine.Friction.ChenFlynn.PeakPressure*p.PeakPressure
		}
		return p.FMEP
	}
	auxiliaries := func(factor float64) func(c *friction.Choice) {
		return func(c *friction.Choice) {
			parts := *c.Components
			parts.Auxiliaries = factor
			c.Components = &parts
		}
	}
	const aux = 8.32e3 + 1.86*5000 + 7.45e-4*5000*5000
	assert.InDelta(t, 0.6*aux, solve(auxiliaries(1))-solve(auxiliaries(0.4)), 1e-3)

	trim := spectest.Trim(t, spectest.ClubFour, "free")
	got := solve(func(c *friction.Choice) {
		c.Components, c.ChenFlynn = nil, &friction.ChenFlynn{Constant: 20e3, PeakPressure: 0.004, PistonSpeed: 9e3}
	})
	up := 2 * trim.Engine.Cylinder.Stroke * 5000 / 60 // m/s, without pin offset
	assert.InDelta(t, 20e3+9e3*up, got, 1e-3)
}

// The parts without boost are those of the naturally aspirated point but for its manifold pressure, which moves the gas load alone.
func TestFrictionOver(t *testing.T) {
	trim := spectest.Trim(t, spectest.ClubFour, "free")
	rows, ok := run.FrictionOver(trim, []float64{3000 * spectest.PerRPM, 7000 * spectest.PerRPM})
	require.True(t, ok)
	require.Len(t, rows, 2)
	for _, f := range rows {
		p := runtest.Solve(t, trim, f.Speed/spectest.PerRPM).Outcomes[0].Point
		load := f.GasLoad * (p.ManifoldPressure/trim.Venue.Pressure - 1)
		assert.InDelta(t, p.FMEP, f.Sum()+load, 1e-3, "%v rpm", f.Speed/spectest.PerRPM)
	}
	assert.Zero(t, rows[0].Notes)
	assert.NotZero(t, rows[1].Notes, "the law is fitted to 6000 rpm")

	chenFlynn := friction.PublishedChenFlynn()
	trim.Engine.Friction = friction.Choice{ChenFlynn: &chenFlynn, Factor: 1}
	_, ok = run.FrictionOver(trim, nil)
	assert.False(t, ok, "the sum does not tell the parts apart")
}
