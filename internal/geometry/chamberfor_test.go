package geometry_test

import (
	"math"
	"testing"

	"bellmouth/internal/geometry"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var parts = geometry.Chamber{Head: 46e-6, GasketBore: 0.085, GasketThickness: 1.1e-3, PistonDish: 9e-6, DeckClearance: 0.2e-3}

func TestPartsForARatioByHand(t *testing.T) {
	// Bore 84, stroke 82 mm: Vd 454.42509 cm³, Ap 55.417694 cm²; gasket of 85 mm 56.745017 cm².
	// Vc = 46 + 6.2419519 + 9 + 1.1083539 = 62.3503058 cm³, rc = 8.288269. For 9.5: 454.42509/8.5 = 53.4618 cm³, 8.8885 cm³ less.
	c := geometry.Cylinder{Bore: 0.084, Stroke: 0.082, Rod: 0.144}
	ratio, err := parts.CompressionRatio(c)
	require.NoError(t, err)
	assert.InDelta(t, 8.2883, ratio, 1e-4)
	vd := math.Pi / 4 * 8.4 * 8.4 * 8.2
	less := 46 + math.Pi/4*8.5*8.5*0.11 + 9 + math.Pi/4*8.4*8.4*0.02 - vd/8.5
	assert.InDelta(t, 8.8885, less, 1e-3)
	head, err := parts.HeadFor(c, 9.5)
	require.NoError(t, err)
	assert.InDelta(t, 46-less, head*1e6, 1e-9)
	dish, err := parts.DishFor(c, 9.5)
	require.NoError(t, err)
	assert.InDelta(t, 9-less, dish*1e6, 1e-9)
	// 8.8885 cm³ over 55.4177 cm² is 1.6039 mm more than there is of deck, and over 56.7450 cm² 1.5664 mm of a gasket of 1.1: neither can be.
	_, err = parts.DeckFor(c, 9.5)
	assert.EqualError(t, err, "the piston would meet the head")
	_, err = parts.GasketFor(c, 9.5)
	assert.EqualError(t, err, "the piston would meet the head")
	assert.InDelta(t, 1.3e-3, parts.Squish(), 1e-12)
	_, err = parts.HeadFor(c, 60)
	assert.ErrorContains(t, err, "no head is small enough")
	_, err = parts.DishFor(c, 1)
	assert.Error(t, err)
	thin := parts
	thin.DeckClearance = 3e-3
	_, err = thin.GasketFor(c, 9)
	assert.ErrorContains(t, err, "no gasket is thin enough")
}

// Each part put in gives the ratio that it was asked for.
func TestPartsForARatioGiveIt(t *testing.T) {
	c := geometry.Cylinder{Bore: 0.084, Stroke: 0.082, Rod: 0.144, PinOffset: 0.001}
	for _, want := range []float64{7.6, 8.1, 8.6} {
		for name, change := range map[string]func() (geometry.Chamber, error){
			"head": func() (ch geometry.Chamber, err error) { ch = parts; ch.Head, err = parts.HeadFor(c, want); return },
			"dish": func() (ch geometry.Chamber, err error) {
				ch = parts
				ch.PistonDish, err = parts.DishFor(c, want)
				return
			},
			"deck": func() (ch geometry.Chamber, err error) {
				ch = parts
				ch.DeckClearance, err = parts.DeckFor(c, want)
				return
			},
			"gasket": func() (ch geometry.Chamber, err error) {
				ch = parts
				ch.GasketThickness, err = parts.GasketFor(c, want)
				return
			},
		} {
			ch, err := change()
			require.NoError(t, err, name)
			got, err := ch.CompressionRatio(c)
			require.NoError(t, err, name)
			assert.InEpsilon(t, want, got, 1e-12, name)
		}
	}
}
