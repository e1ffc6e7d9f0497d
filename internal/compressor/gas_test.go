package compressor

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Moist air with 5 % of water vapour by volume, by hand: M = 0.95 · 28.9651 + 0.05 · 18.0153 = 28.4176 g/mol, so R = 292.58 J/(kg K) against 287.05
// of dry air; γ 1.396 against 1.400. The same wheel reads √(292.58/287.05 · 1.400/1.396) = 1.01104 of the flow and
// √(287.05/292.58 · 1.400/1.396) = 0.99192 of the speed.
func TestBreathing(t *testing.T) {
	m := &Map{reference: Reference{Temperature: 298.15, Pressure: 1e5}}
	moist := m.Breathing(292.58, 1.396, 287.05, 1.4)
	assert.InEpsilon(t, 1.01104, moist.Corrected(0.2, 310, 98e3)/m.Corrected(0.2, 310, 98e3), 2e-5)
	assert.InEpsilon(t, 0.99192, m.UncorrectSpeed(1e4, 310)/moist.UncorrectSpeed(1e4, 310), 2e-5)
	same := m.Breathing(287.05, 1.4, 287.05, 1.4)
	assert.InEpsilon(t, m.Corrected(0.2, 310, 98e3), same.Corrected(0.2, 310, 98e3), 1e-12)
	assert.Equal(t, m, m.Breathing(0, 1.4, 287.05, 1.4), "no gas leaves the map as it is")
}
