package cli

import (
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestScriptKeys: what the help lists as only for scripts is what the tables of all commands have so, over all examples.
func TestScriptKeys(t *testing.T) {
	t.Parallel()
	type place struct{ command, table string }
	keys := map[place][]string{}
	for _, spec := range []string{hillclimb, clubFour, twin} {
		for _, o := range outputsOf(t, spec) {
			command, _, _ := strings.Cut(o.name, " ")
			if o.name == "sheet --full" || command == "spec" { // the first has those of all
				continue
			}
			for _, table := range o.doc.Tables {
				at := place{command, table.Name}
				for _, c := range table.Columns {
					if c.Detail && !slices.Contains(keys[at], c.Key) {
						keys[at] = append(keys[at], c.Key)
					}
				}
			}
		}
	}
	var want strings.Builder
	for _, at := range slices.SortedFunc(maps.Keys(keys), func(a, b place) int {
		return strings.Compare(a.command+a.table, b.command+b.table)
	}) {
		want.WriteString(at.command + "\t" + at.table + "\t" + strings.Join(keys[at], " ") + "\n")
	}
	if *update {
		require.NoError(t, os.WriteFile("scriptkeys.txt", []byte(want.String()), 0o644))
	}
	got, err := os.ReadFile("scriptkeys.txt")
	require.NoError(t, err)
	assert.Equal(t, want.String(), string(got), "go test ./internal/cli -run ScriptKeys -update writes it")
}
