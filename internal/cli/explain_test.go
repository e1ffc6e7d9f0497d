package cli

import (
	"io"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/formula"
	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// dryTank makes a dry sump with a tank of no shape out of the example's.
const dryTank = "sump={kind: dry, oil: 8 L, in_engine: 1.2 L, outline: none, depth: none, pickup: none, shelf: none, gate: none, volume: 11 L, " +
	"scavenge: {displacement: 24 cm3, air_share: 45 %}, circulation: {back: 90 %, time: 5 s}}"

// printedDocuments returns what every use prints of three engines, and what explain prints itself.
func printedDocuments(t *testing.T) (docs []table.Document) {
	for _, spec := range []string{hillclimb, clubFour, twin} {
		for _, o := range outputsOf(t, spec) {
			docs = append(docs, o.doc)
		}
	}
	for _, args := range [][]string{
		{"restrictor", twin, "--rpm", "5000", "--set", "intake.restrictor={bore: 28 mm, count: 2}"},
		{"check", hillclimb, "--trim", "capped", "--rpm", "5000:5200:100", "--set", "waivers=[{check: shaft-speed-wastegate-shut, reason: it is driven by hand}]"},
		{"oil", hillclimb, "--trim", "open", "--rpm", "5000:6000:500", "--set", dryTank},
		{"fuel", hillclimb, "--trim", "open", "--rpm", "5000:6000:500", "--set", "limits.injector_duty=60 %"},
		{"compare", hillclimb, "--rpm", "5000", "--over-speed", "torque_nm,turbine_inlet_temperature_k"}, {"explain"}, {"explain", "knock"},
		{"explain", "surge_margin"},
		{"geometry", clubFour, "--ratio", "12.5"}, {"course", hillclimb},
		{"explain", "boost-passes-knock"}, {"explain", "knock_limit"},
	} {
		status, doc := documentOf(args, io.Discard, io.Discard)
		require.Equal(t, statusWell, status, args)
		docs = append(docs, doc)
	}
	return docs
}

// TestExplainKnowsEveryColumn walks the columns of every table that any command prints, and wants an entry for each key, with the head as it stands
// above the column or beside the row.
func TestExplainKnowsEveryColumn(t *testing.T) {
	t.Parallel()
	require.NoError(t, formula.Check(formulas()))
	for _, doc := range printedDocuments(t) {
		assert.Empty(t, unexplained(doc))
	}
}

// headsByKey returns the heads that explain knows, by key.
var headsByKey = sync.OnceValue(func() map[string][]string {
	heads := map[string][]string{}
	for _, e := range formulas() {
		heads[e.Key] = append([]string{units.Resolve(e.Title, units.Metric)}, e.Also...)
	}
	return heads
})

// unexplained returns the columns of a document that explain does not know under the head that they are printed with.
func unexplained(doc table.Document) []string {
	var unknown []string
	for _, t := range doc.Tables {
		for _, c := range t.Columns {
			if !slices.Contains(headsByKey()[c.Key], strings.TrimSpace(c.Title)) {
				unknown = append(unknown, t.Name+", "+c.Key+": "+c.Title)
			}
		}
	}
	return unknown
}

// TestExplainFindsEveryWord takes the words that are printed, of every kind, and asks explain for each as the user would.
func TestExplainFindsEveryWord(t *testing.T) {
	t.Parallel()
	all, asked := words(), map[string]int{}
	known := map[[2]string]bool{}
	ask := func(kind, text string) {
		if text == "" || known[[2]string{kind, text}] {
			return
		}
		known[[2]string{kind, text}] = true
		found, also, err := find(all, text)
		if assert.NoError(t, err, "%s %q", kind, text) {
			assert.True(t, slices.ContainsFunc(slices.Concat(found, also), func(w word) bool { return w.kind == kind }),
				"%s %q is found as another kind alone", kind, text)
		}
		asked[kind]++
	}
	for _, doc := range printedDocuments(t) {
		for _, tab := range doc.Tables {
			if strings.HasSuffix(tab.Name, overSpeed) && doc.Command == "compare" {
				ask(figureKind, tab.Name)
			} else {
				ask(tableKind, tab.Name)
				ask(tableKind, table.Canonical(tab.Name))
			}
			for i, c := range tab.Columns {
				ask(figureKind, c.Key)
				ask(figureKind, table.Bare(c.Key))
				ask(figureKind, strings.TrimSpace(c.Title)) // the head, or beside the row
				for _, row := range tab.Rows {
					cell := row[i]
					switch {
					case doc.Command == "explain":
					case c.Key == "check", c.Key == "check_id":
						ask(checkKind, cell.Text())
					case c.Key == "verdict":
						ask(verdictKind, cell.Text())
					case c.Key == "limit":
						ask(limitKind, cell.Text())
					case c.Key == "limits":
						for _, l := range cell.List() {
							ask(limitKind, l)
						}
					case strings.HasSuffix(c.Key, "_ids"), c.Key == "failed_checks":
						for _, id := range cell.List() {
							ask(checkKind, id)
						}
					case tab.Name == "defaults" && c.Key == "path", c.Key == "lacks":
						for _, path := range append(cell.List(), cell.Text()) {
							if !strings.HasPrefix(path, "in trim ") {
								ask(specKind, path)
							}
						}
					}
				}
			}
		}
	}
	for _, tab := range slices.Concat(sheet.Tables(), ownTables()) {
		assert.True(t, known[[2]string{tableKind, tab.Name}], "no command prints the table %q", tab.Name)
	}
	for kind, least := range map[string]int{figureKind: 800, tableKind: 100, checkKind: 55, limitKind: 6, verdictKind: 3, specKind: 40} {
		assert.Greater(t, asked[kind], least, kind)
	}
	for _, k := range spec.Keys() {
		ask(specKind, k.Path)
		ask(specKind, k.Path[strings.LastIndex(k.Path, ".")+1:])
	}
	for _, term := range strings.Split("CA50,knock integral,octane index,surge margin,choke,lambda,duty,dead time,MAP,EGT,IAT,BMEP,FMEP,PMEP,IMEP,BSFC,PR,AFR,trim,venue", ",") {
		ask(termKind, term)
		ask(termKind, strings.ToLower(term))
	}
}

// TestWordsAreWhole: every word has a meaning, and no two of a kind have one key.
func TestWordsAreWhole(t *testing.T) {
	met := map[[2]string]bool{}
	for _, w := range words() {
		assert.NotEmpty(t, w.key, w.kind)
		assert.Regexp(t, `^[^ ].*[.!]$`, w.meaning, w.key)
		for _, f := range w.facts {
			assert.NotEqual(t, ".", f.text, w.key)
		}
		assert.False(t, met[[2]string{w.kind, w.key}], "%s %s twice", w.kind, w.key)
		met[[2]string{w.kind, w.key}] = true
	}
}

func TestFind(t *testing.T) {
	all := words()
	for text, want := range map[string]string{
		"surge_margin": "surge_margin", "shaft": "shaft_rpm", " Shaft ": "shaft_rpm", "surge-margin": "surge-margin", "boost-passes-knock": "boost-passes-LIMIT",
		"mixture of cylinder 12, one fuel for all": "cylinder-mixture-N", "limits.surge_margin": "limits.surge_margin",
		"combustion.knock_limit": "engine.combustion.knock_limit",
		"fail":                   "FAIL", "boost range": "boost-range", "Torque over speed": "torque_nm", "coil over speed": "coil-over-speed",
		"air-fuel  ratio": "AFR", "boost_pa": "boost_pa",
	} {
		found, _, err := find(all, text)
		require.NoError(t, err, text)
		require.Len(t, found, 1, text)
		assert.Equal(t, want, found[0].key, text)
	}
	// One head of several columns, and one name of several kinds, lists them all.
	for text, want := range map[string][]string{
		"knock":        {"limit knock", "term knock"},
		"held by":      {"figure boost_held_by", "figure lowest_boost_by"},
		"at":           {"figure peak_torque_rpm", "figure peak_power_rpm"},
		"exhaust":      {"spec key exhaust"},
		"choke margin": {"figure choke_margin", "check choke-margin", "term choke margin"},
	} {
		found, also, err := find(all, text)
		require.NoError(t, err, text)
		var names []string
		for _, w := range slices.Concat(found, also) {
			names = append(names, w.kind+" "+w.key)
		}
		assert.Subset(t, names, want, text)
	}
	for text, want := range map[string]string{
		"surge_margn": "surge_margin", "shaft_rmp": "shaft_rpm", "boost-pases-knock": "boost-passes-knock", "resturictor": "restrictor", "margin of": "nothing",
		"knock_limt": "engine.combustion.knock_limit",
	} {
		_, _, err := find(all, text)
		assert.ErrorContains(t, err, want, text)
	}
	for _, text := range []string{"", "qqqqqqqqqq", strings.Repeat("x", 5000)} {
		_, _, err := find(all, text)
		assert.Error(t, err)
	}
}
