package sheet

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/friction"
)

// What the spec says of the friction reaches the solved point: of the auxiliaries at 5000 rpm the whole factor of their term,
// 8.32 + 1.86e-3 N + 7.45e-7 N² kPa (SAE 2003-01-0725, from memory), and Chen and Flynn's sum with its own keys.
func TestFrictionIsWired(t *testing.T) {
	solve := func(change func(c *friction.Choice)) float64 {
		trim := trimOf(t, clubFour, "free")
		change(&trim.Engine.Friction)
		r, err := Solve("sheet", trim, []float64{5000 * perRPM})
		require.NoError(t, err)
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

	trim := trimOf(t, clubFour, "free")
	got := solve(func(c *friction.Choice) {
		c.Components, c.ChenFlynn = nil, &friction.ChenFlynn{Constant: 20e3, PeakPressure: 0.004, PistonSpeed: 9e3}
	})
	up := 2 * trim.Engine.Cylinder.Stroke * 5000 / 60 // m/s, without pin offset
	assert.InDelta(t, 20e3+9e3*up, got, 1e-3)
}

// The table's columns are whole: they add up to the last, which is the point's friction where there is no boost.
func TestFrictionTable(t *testing.T) {
	trim := trimOf(t, clubFour, "free")
	speeds := []float64{3000 * perRPM, 7000 * perRPM}
	tab, ok := Friction(trim, speeds, "")
	require.True(t, ok)
	require.Len(t, tab.Rows, 2)
	for i := range tab.Rows {
		sum := 0.0
		for k := 1; k <= 5; k++ {
			sum += tab.Rows[i][k].Number()
		}
		assert.InDelta(t, tab.Rows[i][6].Number(), sum, 1e-6)
	}
	assert.Empty(t, tab.Rows[0][0].Note())
	assert.Contains(t, tab.Rows[1][0].Note(), "600 to 6000 rpm")

	chenFlynn := friction.PublishedChenFlynn()
	trim.Engine.Friction = friction.Choice{ChenFlynn: &chenFlynn, Factor: 1}
	_, ok = Friction(trim, speeds, "")
	assert.False(t, ok, "the sum does not tell the parts apart")

	// Trims that differ in it do not share the tables of geometry.
	a, b := trimOf(t, clubFour, "free"), trimOf(t, clubFour, "free")
	assert.True(t, SameShape(a, b))
	b.Engine.Friction.Components.Auxiliaries = 0.5
	assert.False(t, SameShape(a, b))
}
