package units_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/units"
)

func TestParse(t *testing.T) {
	for _, p := range []struct {
		text string
		kind units.Kind
		want float64
	}{
		{"84 mm", units.Length, 0.084},
		{"84mm", units.Length, 0.084},
		{"1.6 bar", units.GaugePressure, 160000},
		{"18 degC", units.Temperature, 291.15},
		{"78 %", units.Fraction, 0.78},
		{"8.6", units.Number, 8.6},
	} {
		got, err := units.Parse(p.text, p.kind)
		require.NoError(t, err, p.text)
		assert.InDelta(t, p.want, got, 1e-12*p.want, p.text)
	}
}
