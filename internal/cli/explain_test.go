package cli

import (
	"bytes"
	"encoding/json"
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
	for _, spec := range []string{"../../examples/hillclimb.yaml", "../../examples/club-four.yaml", "testdata/twin.yaml"} {
		for _, command := range []string{"sheet", "air", "geometry", "restrictor", "compressor", "turbine", "boost", "boost --by-gear --by-pedal", "wastegate", "fuel", "fuel --plane", "check", "manifold", "spark", "spec check"} {
			for _, key := range keysOf(t, append(strings.Fields(command), spec)) {
				if !known[key] {
					missing[key] = true
				}
			}
		}
	}
	for _, key := range keysOf(t, []string{"restrictor", twin, "--rpm", "5000", "--set", "intake.restrictor={bore: 28 mm, count: 2}"}) {
		if !known[key] {
			missing[key] = true
		}
	}
	assert.Empty(t, missing)
}

func keysOf(t *testing.T, args []string) (keys []string) {
	t.Helper()
	var out, errs bytes.Buffer
	if Main(append(args, "--format", "json"), strings.NewReader(""), &out, &errs) > statusCheckFailed {
		return nil // a command that the spec has not the parts for
	}
	var doc struct {
		Tables []struct{ Rows []map[string]any }
	}
	require.NoError(t, json.Unmarshal(out.Bytes(), &doc))
	for _, table := range doc.Tables {
		if len(table.Rows) > 0 {
			for key := range table.Rows[0] {
				keys = append(keys, key)
			}
		}
	}
	return keys
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
