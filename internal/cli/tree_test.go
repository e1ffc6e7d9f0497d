package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A use is a command that prints tables of a spec, alone or with a flag that makes it print others.
type use struct {
	name             string // as asks has it
	speeds, pressure bool   // it takes --rpm, and --pressure without becoming another use
}

func (u use) args(more ...string) []string { return append(strings.Fields(u.name), more...) }

// variants are the arguments that give a use which compares two things to compare, whatever the spec.
func (u use) variants() []string {
	if strings.HasPrefix(u.name, "compare") {
		return []string{"--vary", "limits.surge_margin=given|1 %"}
	}
	return nil
}

// uses returns all of them, from the tree of commands, so that no test forgets one.
func uses() (all []use) {
	var ofOutput cobra.Command // the flags of all that print tables change how they are printed, not which
	new(outputOptions).flags(&ofOutput)
	for _, c := range commands(newRoot(streams{})) {
		if c.Flags().Lookup("set") == nil {
			continue // it reads no spec
		}
		has := func(flag string) bool { return c.Flags().Lookup(flag) != nil }
		plain := use{strings.TrimPrefix(c.CommandPath(), "bellmouth "), has("rpm"), has("pressure") && !has("plane") && !has("full")}
		all = append(all, plain)
		c.Flags().VisitAll(func(f *pflag.Flag) {
			// --as-target is no table but a line of YAML, and --strict prints the same tables; they have tests of their own.
			if f.Value.Type() == "bool" && ofOutput.Flags().Lookup(f.Name) == nil && !slices.Contains([]string{"help", "as-target", "strict"}, f.Name) {
				all = append(all, use{plain.name + " --" + f.Name, plain.speeds, has("pressure") && (f.Name == "plane" || f.Name == "full")})
			}
		})
	}
	return all
}

// TestAsksAreTheUses: what spec check says a spec is enough for is every use there is, besides spec check itself.
func TestAsksAreTheUses(t *testing.T) {
	var told, are []string
	for _, a := range asks() {
		told = append(told, a.command)
	}
	for _, u := range uses() {
		if u.name != "spec check" {
			are = append(are, u.name)
		}
	}
	assert.ElementsMatch(t, are, told)
	assert.Contains(t, are, "boost --by-gear")
}

// A solvedOnce solves a trim once for the same speeds, whichever commands ask for it. Trims are the same when all that the spec says of them is.
type solvedOnce struct {
	mu   sync.Mutex
	runs []solvedTrim
}

type solvedTrim struct {
	trim   *spec.Trim
	speeds []float64
	run    func() (*sheet.Run, error)
}

func (s *solvedOnce) solve(_ context.Context, command string, trim *spec.Trim, speeds []float64) (*sheet.Run, error) {
	return s.known(command, trim, speeds).run()
}

func (s *solvedOnce) known(command string, trim *spec.Trim, speeds []float64) solvedTrim {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, k := range s.runs {
		if slices.Equal(k.speeds, speeds) && reflect.DeepEqual(k.trim, trim) {
			return k
		}
	}
	speeds = slices.Clone(speeds)
	k := solvedTrim{trim, speeds, sync.OnceValues(func() (*sheet.Run, error) { return sheet.Solve(context.Background(), command, trim, speeds) })}
	s.runs = append(s.runs, k)
	return k
}

// solved are the trims that the commands run by bellmouth and document have in common.
var solved solvedOnce

// An output is what one use prints of a spec: as a document, and as a script reads it.
type output struct {
	use
	marked, doc table.Document // before and after its words were put into metric units
	read        printed
}

// outputsOf returns what every use prints of a spec that has the parts for it, at a few speeds. The build sheet is solved by itself; the
// others share what is solved.
func outputsOf(t *testing.T, path string) []output {
	t.Helper()
	outputsMu.Lock()
	defer outputsMu.Unlock()
	if known, ok := outputs[path]; ok {
		return known
	}
	var all []output
	var once solvedOnce
	for _, u := range uses() {
		args := append(u.args(path), u.variants()...)
		if u.speeds {
			args = append(args, "--rpm", upToTheLimiter[path])
		}
		if u.pressure {
			args = append(args, "--pressure", "0.5:2.5:1")
		}
		answer := output{use: u}
		var out, errs bytes.Buffer
		on := streams{in: strings.NewReader(""), out: &out, err: &errs, solve: once.solve}
		on.seen = func(d table.Document) { answer.marked, answer.doc = d, d.In(units.Metric) }
		if u.name == "sheet" {
			on.solve = nil
		}
		if mainOn(t.Context(), append(args, "--format", "json"), on) > statusCheckFailed {
			continue // a use that the spec has not the parts for
		}
		require.NoError(t, json.Unmarshal(out.Bytes(), &answer.read), u.name)
		all = append(all, answer)
	}
	outputs[path] = all
	return all
}

// upToTheLimiter are six speeds of a spec; a course takes all up to the limiter.
var upToTheLimiter = map[string]string{hillclimb: "1500:7800:1260", clubFour: "1500:8000:1300", twin: "1500:7000:1100"}

// outputs are those known, by spec: two tests look at them.
var (
	outputsMu sync.Mutex
	outputs   = map[string][]output{}
)
