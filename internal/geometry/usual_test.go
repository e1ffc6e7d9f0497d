package geometry_test

import (
	"testing"

	"bellmouth/internal/geometry"

	"github.com/stretchr/testify/assert"
)

// Two inches of journal have two thousandths, and half a thousandth more at most; four inches of bore have gaps of 18, 20, 22 and 26 thousandths:
// the rules as
// the trade says them.
func TestUsualClearances(t *testing.T) {
	const inch = 0.0254
	least, most := geometry.UsualBearingClearance(2 * inch)
	assert.InDelta(t, 0.0020*inch, least, 1e-12)
	assert.InDelta(t, 0.0025*inch, most, 1e-12)
	for use, want := range map[geometry.RingUse]float64{
		geometry.RoadRings: 0.018, geometry.MildBoostRings: 0.020, geometry.RaceRings: 0.022, geometry.RaceBoostRings: 0.026,
	} {
		top, second := geometry.UsualRingGap(4*inch, use)
		assert.InDelta(t, want*inch, top, 1e-12, use)
		assert.InDelta(t, 1.25*want*inch, second, 1e-12, use)
	}
	assert.InDelta(t, 0.381e-3, geometry.UsualOilRingGap, 1e-12)
}

func TestBoreAt20(t *testing.T) {
	// Aluminium, 23e-6/K, 38.05 mm at 75 degC: 38.05/(1 + 23e-6 · 55) = 38.05/1.001265 = 38.0019276 mm.
	assert.InDelta(t, 38.0019276e-3, geometry.BoreAt20(0.03805, 348.15, 23e-6), 1e-10)
	assert.Equal(t, 0.038, geometry.BoreAt20(0.038, 293.15, 23e-6))
}
