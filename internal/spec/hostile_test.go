package spec

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestHostile(t *testing.T) {
	bomb := "a: &a [x, x, x, x, x, x, x, x, x, x]\n"
	for c := 'b'; c < 'k'; c++ {
		bomb += fmt.Sprintf("%c: &%c [%s]\n", c, c, strings.TrimSuffix(strings.Repeat(fmt.Sprintf("*%c, ", c-1), 10), ", "))
	}
	for _, p := range []struct{ name, text, want string }{
		{"empty", "", "is empty; want a spec, with at least the section engine"},
		{"spaces", "  \n\n", "is empty; want a spec, with at least the section engine"},
		{"comments", "# nothing\n", "is empty; want a spec, with at least the section engine"},
		{"null", "~\n", "is empty; want a spec, with at least the section engine"},
		{"value", "84 mm\n", "1:1: holds a value; want a spec, with at least the section engine"},
		{"list", "- a\n", "1:1: holds a list; want a spec, with at least the section engine"},
		{"two documents", engine + "---\n" + engine, "holds more than one YAML document (after a line ---); want one spec a file"},
		{"tab", "engine:\n\tbore: 84 mm\n", "2:1: is not YAML: a tab indents this line; want spaces"},
		{"syntax", "engine: {bore: 84 mm\n", "hillclimb.yaml:1:9: is not YAML: the bracket { opens here and is not closed"},
		{"syntax below", engine + "intake: {restrictor: {bore: 84 mm}\n", "hillclimb.yaml:8:9: is not YAML: the bracket { opens here and is not closed"},
		{"colon missing", strings.Replace(engine, "bore: 84", "bore 84", 1), "hillclimb.yaml:3:3: is not YAML: a line without a colon; want key: value"},
		{"indentation", strings.Replace(engine, "  stroke", "   stroke", 1), "hillclimb.yaml:4:4: is not YAML: a second colon or a key below a value; want one key and its value on a line, and a section's keys below a key without value"},
		{"unknown anchor", engine + "intake: *x\n", "hillclimb.yaml:8:9: is not YAML: unknown anchor 'x' referenced"},
		{"not UTF-8", "engine:\n  bore: \xff84 mm\n", "2:9: is not text in UTF-8: byte 0xff"},
		{"binary", "\x7fELF\x02\x01\x01\x00\x00", "1:1: is not plain text: it holds the control character U+007F"},
		{"UTF-16", "\xff\xfee\x00n\x00", "1:1: is not text in UTF-8: byte 0xff"},
		{"escape", "name: a\x1b[2Jb\n", "1:8: is not plain text: it holds the control character U+001B"},
		{"large", engine + "#" + strings.Repeat("x", 1<<20), "is larger than a spec may be, 1 MiB"},
		{"alias bomb", bomb, "holds more than 20000 values, aliases counted where they are used"},
		{"alias of itself", "a: &a {b: *a}\n", "is nested deeper than 16 levels"},
		{"alias of itself, wide", "a: &a [*a, *a, *a, *a]\n", "is nested deeper than 16 levels"},
		{"key is an alias of itself", "? &a [*a]\n: 1\n", "has a key that is not a word"},
		{"deep", strings.Repeat("[", 5000) + strings.Repeat("]", 5000), "is nested deeper than 16 levels"},
		{"deeper", strings.Repeat("[", 100000), "is not YAML: exceeded max depth"},
		{"deep blocks", strings.Repeat("- ", 100000), "is not YAML: exceeded max depth"},
		{"many values", "a: [" + strings.Repeat("1,", 30000) + "]", "holds more than 20000 values"},
		{"many trims", engine + "trims:\n" + numbered("  t%d: {}\n", 1000), "trims has 1000 trims; want at most 64"},
		{"many venues", engine + "venues:\n" + numbered("  v%d: {}\n", 1000), "venues has 1000 venues; want at most 16"},
		{"key is a section", engine + "{a: 1}: 2\n", ""},
	} {
		t.Run(p.name, func(t *testing.T) {
			start := time.Now()
			_, err := read(p.text)
			require.Error(t, err)
			assert.Contains(t, err.Error(), p.want)
			assert.Less(t, len(err.Error()), 20000)
			assert.Less(t, time.Since(start), 5*time.Second)
			assertPrintable(t, err.Error())
		})
	}
}

func numbered(format string, n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, format, i)
	}
	return b.String()
}

func assertPrintable(t testing.TB, text string) {
	t.Helper()
	for _, r := range text {
		if r != '\n' && !unicode.IsPrint(r) {
			t.Fatalf("message holds U+%04X: %q", r, text)
		}
	}
}

// A file of the largest size, whatever it repeats, is read or refused in bounded time.
func TestLargeInTime(t *testing.T) {
	for _, unit := range []string{"a", "a: 1\n", "a%d: 1\n", "? ", "- ", "#\n", "# x\n\n", "- # x\n", "\n", " ", "a:\n", "[", "{a: ", "'", "\"", "|\n",
		"&a ", "*a ", "!", "%", "--- a\n", "a: b: c\n",
		"x: |\n  a\n", "é", "{}", "[],", ",", ":", "a: 'b\n\n", "  t%d: {boost: {target: 1 bar}}\n", "boost: {target: {1 rpm: 1 bar, 2 rpm: x}}\n"} {
		text := unit
		if strings.Contains(unit, "%d") {
			text = numbered(unit, 100000)
		} else {
			text = strings.Repeat(unit, 1+(1<<20)/len(unit))
		}
		start := time.Now()
		_, err := read(text[:min(len(text), 1<<20)])
		require.Error(t, err, "%q", unit)
		assertPrintable(t, err.Error())
		if took := time.Since(start); took > 20*time.Second {
			t.Errorf("1 MiB of %q takes %v", unit, took)
		}
	}
}

// So is one of the most trims, each built on the one before, at the most venues, beside as many values as a spec may hold.
func TestManyTrimsAtManyVenuesInTime(t *testing.T) {
	text := engine + numbered("key%d: 1\n", 19000) + "trims:\n  t0: {}\n"
	for i := range 63 {
		text += fmt.Sprintf("  t%d: {from: t%d}\n", i+1, i)
	}
	text += "venues:\n" + numbered("  v%d: {}\n", 16)
	start := time.Now()
	_, err := read(text)
	require.ErrorContains(t, err, "and 18950 more")
	assert.Less(t, time.Since(start), 20*time.Second)
}

func TestManyProblems(t *testing.T) {
	_, err := read(engine + numbered("key%d: 1\n", 3000))
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.Len(t, e.Problems, 50)
	assert.Equal(t, 2950, e.Omitted)
	assert.True(t, strings.HasSuffix(err.Error(), "\nand 2950 more"))
	assert.Equal(t, 8, e.Problems[0].Line)
	assert.Equal(t, 57, e.Problems[49].Line)
}

func TestByteOrderMark(t *testing.T) {
	_, err := read("\ufeff" + strings.ReplaceAll(engine, "\n", "\r\n"))
	assert.NoError(t, err)
}

func TestUnprintablePath(t *testing.T) {
	_, err := Load("a\x1b[2J.yaml")
	assert.EqualError(t, err, `a\x1b[2J.yaml: does not exist`)
}

func FuzzSpec(f *testing.F) {
	for _, name := range []string{"testdata/hillclimb.yaml"} {
		data, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(data)
	}
	f.Add(Template())
	f.Add([]byte(engine))
	f.Add([]byte(engine + systems))
	f.Add([]byte(engine + "supply: {pumps: {curve: {12 V: {0 bar: 9 L/h, 1 bar: 9 L/h}, 9 V: {}}}, use: {time: 1 h, profile: {0: 1}}}\n"))
	f.Add([]byte(engine + "driveline: {gears: {1: 3, 3: 2}}\nmanifold: {spread: {lambda: {1: 0.9, 2: 1}}}\nignition: {coil: {}, dwell: {9 V: 1 ms}}\n"))
	f.Add([]byte("a: &a {b: *a}\n"))
	f.Add([]byte("engine: {bore: 3 mm, chamber: none}\ntrims: {a: none, b: {engine: none}}\n"))
	f.Add([]byte(engine + "boost: {target: {1000 rpm: 1 bar abs, 2000 rpm: -1 bar}}\nvenue: {altitude: 5500 m}\n"))
	f.Add([]byte(engine + "intake: {restrictor: {bore: 28 mm, count: 2}}\n"))
	f.Add([]byte(engine + "trims: {a: {from: b, engine: none}, b: {from: c}, c: {from: none}, d: {from: d}, e: {from: {}}}\n"))
	f.Add([]byte(engine + "venue: {altitude: 5 km}\nvenues: {a: {pressure: 900 hPa}, b: none, c: {humidity: 2}}\ntrims: {x: {venue: {}}}\n"))
	f.Add([]byte(engine + "waivers: [{check: a-b, reason: x}, {check: a-b}, [], 3, {reason: {}}]\ntrims: {x: {waivers: none}, y: {from: x, waivers: [{check: c, reason: none}]}}\n"))
	table := TemplateMap()
	f.Fuzz(func(t *testing.T, data []byte) {
		start := time.Now()
		s, err := Read("fuzz.yaml", data, func(string) ([]byte, error) { return table, nil })
		if took := time.Since(start); took > 20*time.Second {
			t.Fatalf("takes %v", took)
		}
		if err != nil {
			var e *Error
			require.ErrorAs(t, err, &e)
			require.NotEmpty(t, e.Problems)
			assertPrintable(t, err.Error())
			return
		}
		require.NotEmpty(t, s.Trims())
		for _, name := range s.Trims() {
			assertPrintable(t, name)
			trim, err := s.Trim(name)
			require.NoError(t, err)
			require.NoError(t, trim.Venue.Validate())
			require.NoError(t, trim.Engine.Cylinder.Validate())
			for _, venue := range s.Venues() {
				assertPrintable(t, venue)
				trim, err := s.TrimAt(name, venue)
				require.NoError(t, err)
				require.NoError(t, trim.Venue.Validate())
			}
		}
	})
}

func BenchmarkLoad(b *testing.B) {
	data, err := os.ReadFile("testdata/hillclimb.yaml")
	require.NoError(b, err)
	table, err := os.ReadFile(filepath.Join("testdata", TemplateMapName))
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read("hillclimb.yaml", data, func(string) ([]byte, error) { return bytes.Clone(table), nil }); err != nil {
			b.Fatal(err)
		}
	}
}
