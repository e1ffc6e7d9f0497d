package cli

import (
	"bytes"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Blocks of README.md between <!-- output: ARGS --> and <!-- end --> hold the command and what it prints; -update renews them. A status that is not 0
// stands before the arguments: <!-- output, status 1: ARGS -->.
var (
	outputBlock = regexp.MustCompile(`(?s)<!-- output(?:, status ([0-9]))?: ([^\n]*) -->\n(.*?)<!-- end -->\n`)
	argument    = regexp.MustCompile(`"[^"]*"|\S+`)
)

// TestReadmeOutputs runs the commands whose output the README shows and compares.
func TestReadmeOutputs(t *testing.T) {
	const path = "../../README.md"
	readme, err := os.ReadFile(path)
	require.NoError(t, err)
	t.Chdir("../..")
	blocks := 0
	renewed := outputBlock.ReplaceAllFunc(readme, func(block []byte) []byte {
		blocks++
		found := outputBlock.FindSubmatch(block)
		head, _, _ := strings.Cut(string(block), "\n")
		line := string(found[2])
		args := argument.FindAllString(line, -1)
		for i := range args {
			args[i] = strings.Trim(args[i], `"`)
		}
		status, _ := strconv.Atoi(string(found[1]))
		var out, errs bytes.Buffer
		assert.Equal(t, status, Main(args, strings.NewReader(""), &out, &errs), "%s: %s", line, errs.String())
		return []byte(head + "\n```\n$ bellmouth " + line + "\n" + strings.Trim(out.String(), "\n") + "\n```\n<!-- end -->\n")
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
