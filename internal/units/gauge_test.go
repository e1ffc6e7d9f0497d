package units

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/refdata"
)

func TestGaugeDiameter(t *testing.T) {
	rows := 0
	for _, row := range refdata.Read(t, "unit_conversions.csv") { // GNU Units 2.22
		if row["to_unit"] != "mm diameter" {
			continue
		}
		rows++
		want := row.F(t, "to_value")
		assert.InDelta(t, want, 1e3*gaugeDiameter(row.F(t, "from_value")), 1e-9*want)
	}
	assert.Equal(t, 1, rows)
}

// Every unit is found under each of its names, by that kind and no name twice, and what a table shows is a unit that
// is read.
func TestTableIsConsistent(t *testing.T) {
	for i, info := range kinds {
		k := Kind(i)
		assert.NotEmpty(t, info.noun)
		seen := map[string]bool{}
		for _, u := range info.units {
			for _, name := range append([]string{u.name}, u.also...) {
				assert.False(t, seen[name], "%v has %s twice", k, name)
				seen[name] = true
				assert.Equal(t, name, normalise(name), "a spelling that no text reaches")
				got, ok := find(name, k)
				assert.True(t, ok)
				assert.Equal(t, u.mul/u.div, got.mul/got.div)
			}
			assert.InDelta(t, 12.5, u.fromSI(u.toSI(12.5)), 1e-12, "%v in %s and back", k, u.name)
		}
		for _, show := range info.show {
			if show.name != "" {
				assert.True(t, seen[show.name], "%v is shown in %s", k, show.name)
			} else {
				assert.True(t, k == Number || k == Fraction, "%v is shown without unit", k)
			}
		}
		assert.Equal(t, k == Number || k == Fraction, info.suffix == "")
	}
}
