package render

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestWrapKeepsUnits: a line does not end between a figure and its unit, unless the two do not fit on one line.
func TestWrapKeepsUnits(t *testing.T) {
	for _, p := range []struct {
		text string
		room int
		want []string
	}{
		{"of the stage, 55 % of the time", 16, []string{"of the stage,", "55 % of the time"}},
		{"of the stage (that is 100 %), which", 26, []string{"of the stage (that is", "100 %), which"}},
		{"pumps at 13.20 V and -5 degC", 15, []string{"pumps at", "13.20 V and", "-5 degC"}},
		{"cylinders 1 and 2 or 3", 11, []string{"cylinders 1", "and 2 or 3"}},
		{"at 55", 4, []string{"at", "55"}},
		{"it ends at 55  ", 10, []string{"it ends at", "55"}},
		{"filled, 0.29 US gal are up", 18, []string{"filled,", "0.29 US gal are up"}},
		{"filled, 0.29 US gal are up", 12, []string{"filled,", "0.29 US gal", "are up"}},
		{"12345 degC", 6, []string{"12345", "degC"}},
	} {
		assert.Equal(t, p.want, wrap(p.text, p.room), p.text)
	}
}

// TestWrapKeys: a key of the spec that has to be broken is broken behind one of its parts; a word without parts wherever the room ends.
func TestWrapKeys(t *testing.T) {
	assert.Equal(t, []string{"engine.bottom_end.overrun_", "pressure"}, wrap("engine.bottom_end.overrun_pressure", 32))
	assert.Equal(t, []string{"engine.", "valves"}, wrap("engine.valves", 9))
	assert.Equal(t, []string{"abcdefgh", "ij"}, wrap("abcdefghij", 8))
}
