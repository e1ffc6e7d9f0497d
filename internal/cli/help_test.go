package cli

import (
	"bytes"
	"io"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// commands returns all commands of the tree.
func commands(c *cobra.Command) []*cobra.Command {
	all := []*cobra.Command{c}
	for _, sub := range c.Commands() {
		all = append(all, commands(sub)...)
	}
	return all
}

// TestExamples runs every example that a help text shows, from a folder as the repository's root is.
func TestExamples(t *testing.T) {
	dir := t.TempDir()
	ran := 0
	for _, c := range commands(newRoot(streams{})) {
		if c.Runnable() && !c.HasSubCommands() {
			assert.NotEmpty(t, c.Example, c.CommandPath())
		}
		for _, line := range strings.Split(c.Example, "\n") {
			args := inShell.FindAllString(line, -1)
			for i := range args {
				args[i] = strings.Trim(args[i], `"`)
				if strings.HasPrefix(args[i], "examples/") {
					args[i] = "../../" + args[i]
				} else if args[i] == "engine.yaml" {
					args[i] = filepath.Join(dir, args[i])
				}
			}
			if len(args) == 0 {
				continue
			}
			assert.Equal(t, "bellmouth", args[0], c.CommandPath())
			status, _, errs := bellmouth(args[1:]...)
			assert.Equal(t, statusWell, status, "%s: %s", line, errs)
			ran++
		}
	}
	assert.Greater(t, ran, 12)
}

// inShell matches the words of a line as a shell reads it, those in quotes as one.
var inShell = regexp.MustCompile(`"[^"]*"|\S+`)

// TestHelpFits wants help texts that fit 100 columns, as the tables do.
func TestHelpFits(t *testing.T) {
	for _, c := range commands(newRoot(streams{})) {
		assert.NotEmpty(t, c.Short, c.CommandPath())
		c.InitDefaultHelpFlag()
		for _, line := range strings.Split(c.Long+"\n"+c.UsageString(), "\n") {
			assert.LessOrEqual(t, utf8.RuneCountInString(line), 100, "%s: %s", c.CommandPath(), line)
		}
	}
}

// TestSpeeds holds the range that --rpm takes.
func TestSpeeds(t *testing.T) {
	for _, good := range []struct {
		text         string
		lo, hi, step float64
	}{
		{"2000:7500:250", 2000, 7500, 250},
		{"6500", 6500, 6500, 0},
		{"6500 rpm", 6500, 6500, 0},
		{"2000 rpm : 3000 : 500 rpm", 2000, 3000, 500},
		{"500", 500, 500, 0},
		{"2000:2000:100", 2000, 2000, 100},
	} {
		lo, hi, step, err := parseSpeeds(good.text)
		require.NoError(t, err, good.text)
		assert.InDelta(t, good.lo, lo, 1e-9, good.text)
		assert.InDelta(t, good.hi, hi, 1e-9, good.text)
		assert.InDelta(t, good.step, step, 1e-9, good.text)
	}
	for text, want := range map[string]string{
		"":                "neither LO:HI:STEP",
		"2000::500":       "neither LO:HI:STEP",
		"7000:2000:500":   "runs downwards",
		"2000:7000:0":     "step that is not above zero",
		"2000:7000:-500":  "step that is not above zero",
		"499":             "begins below 500 rpm",
		"-500":            "begins below 500 rpm",
		"2000:3000":       "neither LO:HI:STEP",
		"2000:3000:5:5":   "neither LO:HI:STEP",
		"2000:7000:0.001": "more than 2000 speeds",
		"2000 kHz":        "rpm",
		"NaN":             "does not begin with a number",
		"2000:Inf:100":    "does not begin with a number",
	} {
		_, _, _, err := parseSpeeds(text)
		assert.ErrorContains(t, err, want, text)
	}
}

// TestExact: a speed that the spec and the step both name is one number.
func TestExact(t *testing.T) {
	for rpm := 500.0; rpm <= 20000; rpm += 100 {
		assert.Equal(t, rpm*3.141592653589793/30, exact([]float64{rpm*perRPM + 1e-10})[0])
	}
}

// TestBrokenOutput: output that cannot be written is an error, and not a panic.
func TestBrokenOutput(t *testing.T) {
	var errs bytes.Buffer
	assert.Equal(t, statusInput, Main([]string{"version"}, strings.NewReader(""), brokenWriter{}, &errs))
	assert.Equal(t, statusInput, Main([]string{"air", "../../examples/hillclimb.yaml"}, strings.NewReader(""), brokenWriter{}, &errs))
	assert.Contains(t, errs.String(), io.ErrClosedPipe.Error())
}

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }
