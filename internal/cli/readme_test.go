package cli

import (
	"bytes"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Blocks of README.md between <!-- output: ARGS --> and <!-- end --> hold what the command prints; -update renews them.
var outputBlock = regexp.MustCompile(`(?s)<!-- output: ([^\n]*) -->\n(.*?)<!-- end -->\n`)

// TestReadmeOutputs runs the commands whose output the README shows and compares.
func TestReadmeOutputs(t *testing.T) {
	const path = "../../README.md"
	readme, err := os.ReadFile(path)
	require.NoError(t, err)
	t.Chdir("../..")
	blocks := 0
	renewed := outputBlock.ReplaceAllFunc(readme, func(block []byte) []byte {
		blocks++
		args := string(outputBlock.FindSubmatch(block)[1])
		var out, errs bytes.Buffer
		assert.Equal(t, statusWell, Main(strings.Fields(args), strings.NewReader(""), &out, &errs), "%s: %s", args, errs.String())
		return []byte("<!-- output: " + args + " -->\n```\n" + strings.Trim(out.String(), "\n") + "\n```\n<!-- end -->\n")
	})
	assert.Positive(t, blocks)
	if *update {
		require.NoError(t, os.WriteFile("README.md", renewed, 0o644))
		return
	}
	assert.Equal(t, string(renewed), string(readme), "renew with: go test ./internal/cli -run Readme -update")
}

// TestReadmeNamesEveryCommand wants each command of the tree in the README's table.
func TestReadmeNamesEveryCommand(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	for _, c := range commands(newRoot(streams{})) {
		if c.Runnable() && c.HasParent() && c.Name() != "help" && c.Name() != "completion" {
			use := strings.TrimPrefix(c.CommandPath(), "bellmouth ")
			assert.Contains(t, string(readme), "`"+use, use)
		}
	}
}
