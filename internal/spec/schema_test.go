package spec

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/oil"
)

// The declaration of the file format holds together: whatever a message or the file to start from takes from it is readable.
func TestSchema(t *testing.T) {
	var walk func(fields []field, path string)
	walk = func(fields []field, path string) {
		seen := map[string]bool{}
		for i := range fields {
			f := &fields[i]
			at := join(path, f.key)
			assert.False(t, seen[f.key], "%s is declared twice", at)
			seen[f.key] = true
			assert.NotEmpty(t, f.doc, at)
			assert.NotContains(t, f.doc, "\n", at)
			assert.Equal(t, f.fallback != "", f.reason != "", "%s: a default has its reason", at)
			assert.False(t, f.required && f.fallback != "", at)
			assert.Regexp(t, `^[a-z][a-z0-9_]*$`, f.key)
			if f.isSection() {
				assert.NotEmpty(t, f.fields, at)
				walk(f.fields, at)
				continue
			}
			switch f.into.(type) {
			case *string, trimSet, venueSet, *[]Waiver, *[]oil.Point, *[]string:
				continue
			case *[]share, *[]named:
				continue
			}
			r := reader{kind: f.kind, ambient: 1e5}
			if f.absolute {
				r.ambient = 0
			}
			lo, err := r.read(f.min)
			assert.NoError(t, err, at)
			hi, err := r.read(f.max)
			assert.NoError(t, err, at)
			assert.Less(t, lo, hi, at)
			assert.NotEmpty(t, f.example, at)
			for _, text := range []string{f.example, f.fallback} {
				if text == "" || text[0] == '{' {
					continue
				}
				v, err := r.read(text)
				assert.NoError(t, err, at)
				assert.Empty(t, r.check(text, v, f.min, f.max), at)
			}
			_, nested := f.into.(*[]row)
			assert.Equal(t, f.isTable(), f.over != nil, at)
			assert.Equal(t, nested, f.inner != nil, at)
			for _, a := range []*axis{f.over, f.inner} {
				if a == nil {
					continue
				}
				keys := reader{kind: a.kind}
				lo, err := keys.read(a.min)
				assert.NoError(t, err, at)
				hi, err := keys.read(a.max)
				assert.NoError(t, err, at)
				assert.Less(t, lo, hi, at)
				assert.NotEmpty(t, a.example, at)
			}
		}
	}
	walk((&draft{}).schema(), "")
}
