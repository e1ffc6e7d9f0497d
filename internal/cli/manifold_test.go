package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/render"
	"bellmouth/internal/spectest"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// TestManifoldOfEveryKind runs the command on engines that lack parts of what it prints, and on odd ones.
func TestManifoldOfEveryKind(t *testing.T) {
	t.Parallel()
	read := func(path string) string {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		return string(data)
	}
	turbo, aspirated := read(hillclimb), read(clubFour)
	drop := func(text, pattern string) string {
		was := regexp.MustCompile(`(?m)` + pattern)
		require.Regexp(t, was, text)
		return was.ReplaceAllString(text, "")
	}
	spread := `^  spread:\n(    .*\n)+`
	swap := func(text, pattern, with string) string {
		was := regexp.MustCompile(`(?m)` + pattern)
		require.Regexp(t, was, text)
		return was.ReplaceAllString(text, with)
	}
	for name, c := range map[string]struct {
		text   string
		has    []string
		hasNot []string
	}{
		"whole": {turbo, []string{"runner as a pipe", "manifold air", "air by cylinder", "cost of the spread", "from the mean. At peak power"},
			[]string{"trade"}},
		"no spread":   {drop(turbo, spread), []string{"The spec has no manifold.spread"}, []string{"air by cylinder", "cost of the spread"}},
		"no runner":   {drop(turbo, `^  runner: .*\n`), []string{"no section manifold.runner", "throttle"}, []string{"runner as a"}},
		"no throttle": {drop(turbo, `^  throttle: .*\n`), []string{"runner as a pipe", "duct"}, []string{"throttle"}},
		"spread only": {drop(drop(drop(drop(turbo, `^  runner: .*\n`), `^  throttle: .*\n`), `^  duct: .*\n`), `^  plenum: .*\n`),
			[]string{"air by cylinder"}, []string{"runner as a"}},
		"by exhaust": {swap(turbo, `^    flow: {1.*$`, "    exhaust_temperature: {1: 1000 degC, 2: 1004 degC, 3: 1006 degC, 4: 1004 degC, 5: 1000 degC}"),
			[]string{"The shares of the air are from exhaust temperature by cylinder", "measured"}, nil},
		"aspirated": {aspirated, []string{"The shares of the air are from lambda by cylinder", "filling falls in proportion to MAP"},
			[]string{"costs the compressor"}},
		"wide spread": {swap(turbo, `^    flow: {1.*$`, "    flow: {1: 60, 2: 100, 3: 140, 4: 100, 5: 100}"), []string{"air by cylinder",
			"cylinder 1 would run at lambda 0.39: below 0.5 the model ends"}, nil},
		"absurd spread": {swap(turbo, `^    flow: {1.*$`, "    flow: {1: 1, 2: 100, 3: 900, 4: 100, 5: 100}"), []string{"air by cylinder",
			"so much or so little air"}, nil},
		"far too lean":   {swap(turbo, `^    leanest: .*$`, "    leanest: 0.75"), []string{"is leaner than manifold.spread.leanest"}, nil},
		"no restrictor":  {swap(drop(turbo, `^    intake: .*\n`), `^  open:$`, "  open: {}"), []string{"cost of the spread, trim open"}, nil},
		"no gears":       {drop(turbo, `^  gears: .*\n`), []string{"the spec gives no gears"}, nil},
		"huge throttles": {swap(turbo, `^  throttle: .*$`, "  throttle: {bore: 12 mm, loss: 90}"), []string{"chokes at"}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			path := filepath.Join(dir, "engine.yaml")
			require.NoError(t, os.WriteFile(path, []byte(c.text), 0o644))
			spectest.CopyFiles(t, dir)
			var o, e bytes.Buffer
			var doc table.Document
			on := streams{in: strings.NewReader(""), out: &o, err: &e, seen: func(d table.Document) { doc = d.In(units.Metric) }}
			status := mainOn(t.Context(), []string{"manifold", path, "--rpm", "2000:7500:2750"}, on)
			out, errs := o.String(), e.String()
			assert.Equal(t, statusWell, status, errs)
			unwrapped := strings.Join(strings.Fields(out), " ")
			for _, want := range c.has {
				assert.Contains(t, unwrapped, want)
			}
			for _, not := range c.hasNot {
				assert.NotContains(t, unwrapped, not)
			}
			assert.NotRegexp(t, `\b(NaN|Inf)\b|\s-0(\.0+)?\s`, out+errs)
			for _, line := range strings.Split(out, "\n") {
				assert.LessOrEqual(t, utf8.RuneCountInString(line), 100, line)
			}
			assert.NoError(t, render.CSV(&o, doc, render.CSVOptions{}))
			assert.NoError(t, render.JSON(&o, doc))
			assert.NoError(t, render.Markdown(&o, doc, render.Options{}))
		})
	}
}

func TestManifoldStatus(t *testing.T) {
	status, out, errs := bellmouth("manifold", twin)
	assert.Equal(t, statusInput, status)
	assert.Empty(t, out)
	assert.Contains(t, errs, "manifold needs the section manifold; trim")

	data, err := os.ReadFile("testdata/runaway.yaml")
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "runaway.yaml")
	twinMap, err := os.ReadFile("testdata/twin-map.csv")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(filepath.Dir(path), "twin-map.csv"), twinMap, 0o644))
	require.NoError(t, os.WriteFile(path, append(data, "\nmanifold: {runner: {length: 300 mm, bore: 42 mm}}\n"...), 0o644))
	status, out, errs = bellmouth("manifold", path)
	assert.Equal(t, statusNoSolution, status, errs)
	assert.Contains(t, out, "manifold air")
}
