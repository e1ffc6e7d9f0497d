package cli

import (
	"bellmouth/internal/formula"
	"bellmouth/internal/table"
	"io"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestExplainKnowsEveryColumn walks the columns of every table that any command prints, and wants an entry for each key, with the head as it stands
// above the column or beside the row.
func TestExplainKnowsEveryColumn(t *testing.T) {
	require.NoError(t, formula.Check(formulas()))
	var docs []table.Document
	for _, spec := range []string{hillclimb, clubFour, twin} {
		for _, o := range outputsOf(t, spec) {
			docs = append(docs, o.doc)
		}
	}
	status, several := documentOf([]string{"restrictor", twin, "--rpm", "5000", "--set", "intake.restrictor={bore: 28 mm, count: 2}"}, io.Discard, io.Discard)
	require.Equal(t, statusWell, status)
	docs = append(docs, several)
	for _, doc := range docs {
		assert.Empty(t, unexplained(doc))
	}
}

// headsByKey returns the heads that explain knows, by key.
var headsByKey = sync.OnceValue(func() map[string][]string {
	heads := map[string][]string{}
	for _, e := range formulas() {
		heads[e.Key] = append([]string{e.Title}, e.Also...)
	}
	return heads
})

// unexplained returns the columns of a document that explain does not know under the head that they are printed with.
func unexplained(doc table.Document) []string {
	var unknown []string
	for _, t := range doc.Tables {
		for _, c := range t.Columns {
			if !slices.Contains(headsByKey()[c.Key], strings.TrimSpace(c.Title)) {
				unknown = append(unknown, t.Name+", "+c.Key+": "+c.Title)
			}
		}
	}
	return unknown
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
