package sheet

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/friction"
	"bellmouth/internal/units"
)

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
	assert.Contains(t, tab.In(units.Metric).Rows[1][0].Note(), "600 to 6000 rpm")

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

// TestSameShapeByVenue: trims in dry air of one temperature share the table of friction only where the pressure, which loads the rings, is the same too.
func TestSameShapeByVenue(t *testing.T) {
	low, high := trimOf(t, hillclimb, "open"), trimOf(t, hillclimb, "open")
	low.Venue.RelativeHumidity, high.Venue.RelativeHumidity = 0, 0
	assert.True(t, SameShape(low, high))
	high.Venue.Pressure -= 15e3
	assert.False(t, SameShape(low, high))
}
