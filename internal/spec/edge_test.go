package spec_test

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gopkg.in/yaml.v3"

	"bellmouth/internal/cli"
	"bellmouth/internal/fuel"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

var soak = flag.Bool("soak", false, "compute at both ends of every value")

// TestAcceptedIsComputed puts every value of the file format at each end of its range, every third end without -soak. What spec check accepts, every
// calculation takes: it may find no solution, but nothing wrong with its input.
func TestAcceptedIsComputed(t *testing.T) {
	const input = 2 // exit status of wrong input
	const exhausts = "{1: 905 degC, 2: 921 degC, 3: 926 degC, 4: 919 degC, 5: 902 degC}"
	text, err := os.ReadFile("../../examples/hillclimb.yaml")
	require.NoError(t, err)
	folder := t.TempDir()
	spectest.CopyFiles(t, folder)
	read := func(text string) (v any) {
		require.NoError(t, yaml.Unmarshal([]byte(text), &v), text)
		return v
	}
	run := func(args ...string) (int, string) {
		var out, errs bytes.Buffer
		return cli.Main(args, strings.NewReader(""), &out, &errs), errs.String()
	}
	var group sync.WaitGroup
	slots := make(chan struct{}, 2)
	var count struct {
		sync.Mutex
		accepted, refused int
	}
	edges := spec.Edges()
	for _, e := range edges {
		if strings.HasPrefix(e.Path, "fuel.lambda") { // a cylinder leaner or richer than the end of the range, read from its exhaust
			edges = append(edges, spec.Edge{Path: "manifold.spread.exhaust_temperature", Value: exhausts, With: &spec.Edge{Path: e.Path, Value: e.Value}})
		}
	}
	for _, name := range fuel.Names() {
		edges = append(edges, spec.Edge{Path: "fuel.kind", Value: name, With: &spec.Edge{Path: "fuel.knock_octane", Value: "110"}})
	}
	edges = append(edges, spec.Edge{Path: "intake.restrictor.count", Value: "8", With: &spec.Edge{Path: "compressor.count", Value: "8"}})
	for _, e := range edges {
		if key, ok := strings.CutPrefix(e.Path, "venue."); ok {
			edges = append(edges, spec.Edge{Path: "venues." + key, Value: e.Value})
		}
	}
	for i, e := range edges {
		if !*soak && i%3 != 0 {
			continue
		}
		var doc map[string]any
		require.NoError(t, yaml.Unmarshal(text, &doc))
		doc["trims"] = map[string]any{"capped": doc["trims"].(map[string]any)["capped"]}
		var at []string
		if key, ok := strings.CutPrefix(e.Path, "venues."); ok { // a venue by name that says this and nothing else
			doc["venues"] = map[string]any{"edge": map[string]any{key: read(e.Value)}}
			at = []string{"--venue", "edge"}
		} else {
			spec.SetEdge(doc, e, read(e.Value), read)
		}
		if e.With != nil {
			spec.SetEdge(doc, *e.With, read(e.With.Value), read)
		}
		gas := e.Path == "fuel.kind" && !slices.Contains(fuel.LiquidNames(), e.Value)
		if gas { // it has neither
			delete(doc, "injection")
			delete(doc, "supply")
		}
		changed, err := yaml.Marshal(doc)
		require.NoError(t, err)
		slots <- struct{}{}
		group.Go(func() {
			defer func() { <-slots }()
			file := filepath.Join(folder, strings.ReplaceAll(e.Path, ".", "-")+"-"+string(rune('a'+i%26))+".yaml")
			if !assert.NoError(t, os.WriteFile(file, changed, 0o600)) {
				return
			}
			speeds := "4500"
			if e.Path == "engine.limiter" {
				speeds = "1000"
			}
			status, message := run(append([]string{"sheet", file, "--rpm", speeds}, at...)...)
			refused := status == input
			count.Lock()
			if refused {
				count.refused++
			} else {
				count.accepted++
			}
			count.Unlock()
			if refused { // then spec check refuses it too
				status, told := run("spec", "check", file)
				assert.Equal(t, input, status, "%v accepted; sheet: %s", e, message)
				assert.Regexp(t, `^\S+\.yaml:\d+:\d+: \S+ `, told, "%v", e)
				return
			}
			// What the sheet leaves to the commands that look closer takes turns, for time.
			closer := [][]string{
				{"fuel", "--plane", "--pressure", "1.5", "--rpm", speeds}, {"boost", "--by-gear", "--by-pedal", "--rpm", speeds},
				{"spark", "--pressure", "1.5", "--rpm", speeds}, {"manifold", "--rpm", speeds}, {"spec", "check"},
				{"geometry", "--loads", "--rpm", speeds}, {"oil", "--rpm", speeds}, {"gearing"}, {"course"}, {"cooling", "--rpm", speeds},
			}
			if command := closer[i/3%len(closer)]; i%3 == 0 && !gas {
				command = append(command, file)
				if command[0] != "spec" { // which looks at every venue
					command = append(command, at...)
				}
				status, message := run(command...)
				assert.NotEqual(t, input, status, "%v accepted; %s: %s", e, command[0], message)
			}
		})
	}
	group.Wait()
	assert.Greater(t, count.accepted, len(edges)/4, "of %d refused", count.refused)
}
