package manifold

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/formula"
)

func TestFormulas(t *testing.T) {
	assert.NoError(t, formula.Check(Formulas()))
}
