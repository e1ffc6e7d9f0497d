package cli

import (
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/render"
	"bellmouth/internal/units"
)

// aBlock is a block of a table in text with its heading, which has two blank lines inside: below the heading and below the head.
type aBlock struct {
	heading string
	columns int // as many as the fullest line has
}

var gaps = regexp.MustCompile(` {2,}`)

// continued returns the blocks of a text that go on with a table.
func continued(text string) []aBlock {
	var found []aBlock
	paragraphs := strings.Split(text, "\n\n")
	for i, p := range paragraphs {
		if !strings.HasSuffix(p, ", continued") || i+2 >= len(paragraphs) {
			continue
		}
		b := aBlock{heading: p}
		for _, line := range strings.Split(paragraphs[i+1]+"\n"+paragraphs[i+2], "\n") {
			b.columns = max(b.columns, len(gaps.Split(strings.TrimSpace(line), -1)))
		}
		found = append(found, b)
	}
	return found
}

// TestNoLonelyColumn: whatever a command prints, at the usual widths a table that does not fit goes on with two columns at least beside the one
// that it repeats: a column by itself is read against nothing.
func TestNoLonelyColumn(t *testing.T) {
	t.Parallel()
	seen := 0
	for _, spec := range []string{hillclimb, clubFour} {
		for _, command := range append([]string{"explain"}, printing...) {
			printed := wholeOf(command, spec)
			if printed.status == statusInput {
				require.Equal(t, clubFour, spec, "%s: %s", command, printed.errs)
				continue // needs a turbocharger
			}
			for _, width := range []int{80, 100} {
				for _, system := range []units.System{units.Metric, units.Imperial, units.SI} {
					var b strings.Builder
					require.NoError(t, render.Text(&b, printed.doc, render.Options{System: system, Width: width}))
					for _, line := range strings.Split(b.String(), "\n") {
						assert.LessOrEqual(t, utf8.RuneCountInString(line), width, "%s: %s", command, line)
					}
					for _, block := range continued(b.String()) {
						assert.Greater(t, block.columns, 2, "%s of %s at %d columns, %s: %s", command, spec, width, system, block.heading)
						seen++
					}
				}
			}
		}
	}
	assert.Greater(t, seen, 100, "tables that do not fit")
}
