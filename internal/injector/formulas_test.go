package injector_test

import (
	"testing"

	"bellmouth/internal/injector"

	"github.com/stretchr/testify/assert"
)

func TestFormulasAreWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, e := range injector.Formulas() {
		assert.Regexp(t, "^[a-z][a-z0-9_]*$", e.Key)
		assert.False(t, seen[e.Key], e.Key)
		seen[e.Key] = true
		for _, text := range []string{e.Title, e.Meaning, e.Formula, e.Source, e.Range} {
			assert.NotEmpty(t, text, e.Key)
		}
	}
	assert.NotEmpty(t, seen)
}
