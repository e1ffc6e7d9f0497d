package cli

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestExplainKnowsEveryColumn walks the columns of every table that any command prints, and wants an entry for each key.
func TestExplainKnowsEveryColumn(t *testing.T) {
	known := map[string]bool{}
	for _, e := range formulas() {
		known[e.Key] = true
		assert.NotEmpty(t, e.Title, e.Key)
		assert.NotEmpty(t, e.Meaning, e.Key)
		assert.NotEmpty(t, e.Formula, e.Key)
		assert.NotEmpty(t, e.Source, e.Key)
		assert.NotEmpty(t, e.Range, e.Key)
	}
	missing := map[string]bool{}
	for _, spec := range []string{hillclimb, clubFour, twin} {
		for _, o := range outputsOf(t, spec) {
			for _, table := range o.doc.Tables {
				for _, c := range table.Columns {
					if !known[c.Key] {
						missing[c.Key] = true
					}
				}
			}
			for _, table := range o.read.Tables {
				for _, row := range table.Rows {
					for key := range row {
						if !known[key] {
							missing[key] = true
						}
					}
				}
			}
		}
	}
	for _, table := range decode(t, "restrictor", twin, "--rpm", "5000", "--set", "intake.restrictor={bore: 28 mm, count: 2}").Tables {
		for key := range table.Rows[0] {
			if !known[key] {
				missing[key] = true
			}
		}
	}
	assert.Empty(t, missing)
}

func TestFind(t *testing.T) {
	all := formulas()
	for word, want := range map[string]string{"surge_margin": "surge_margin", "shaft": "shaft_rpm", " Shaft ": "shaft_rpm", "choke margin": "choke_margin"} {
		e, err := find(all, word)
		require.NoError(t, err, word)
		assert.Equal(t, want, e.Key)
	}
	for word, want := range map[string]string{"surge": "surge_margin", "surge_margn": "surge_margin", "shaft_rmp": "shaft_rpm"} {
		_, err := find(all, word)
		assert.ErrorContains(t, err, want, word)
	}
	for _, word := range []string{"", "qqqqqqqqqq", strings.Repeat("x", 5000)} {
		_, err := find(all, word)
		assert.Error(t, err)
	}
}
