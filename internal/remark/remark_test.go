package remark

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestTexts(t *testing.T) {
	words := map[uint8]string{1: "one", 4: "four", 128: "last"}
	assert.Equal(t, []string{"one", "four", "last"}, Texts(uint8(1|2|4|128), words))
	assert.Empty(t, Texts(uint8(2), words))
	assert.Empty(t, Texts(uint8(0), words))
}

func TestLine(t *testing.T) {
	assert.Equal(t, "a: x; y; b; c: z", Line([]string{"a: x", "a: y", "b", "c: z"}))
	assert.Equal(t, "b; b: x; b", Line([]string{"b", "b: x", "b"}))
	assert.Empty(t, Line(nil))
}
