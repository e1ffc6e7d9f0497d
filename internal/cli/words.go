package cli

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A word is one thing that explain knows.
type word struct {
	kind    string
	key     string   // its name for scripts, or its only one
	title   string   // as printed
	also    []string // other names
	meaning string
	facts   []fact
	spelled []string // all of those in lower case, in every system of units that a head may have been read in
}

type wordList []word

// A fact is one more line about a word.
type fact struct{ key, title, text string }

// The kinds of words.
const (
	figureKind  = "figure"
	checkKind   = "check"
	limitKind   = "limit"
	verdictKind = "verdict"
	specKind    = "spec key"
	termKind    = "term"
	tableKind   = "table"
)

// kinds are the kinds in the order in which they are listed, with the name of the list and the head of the words as printed; that is empty where they
// are the keys themselves, or sentences.
var kinds = []struct{ name, list, head string }{
	{figureKind, "keys", "figure"},
	{checkKind, "check ids", "check"},
	{limitKind, "limit names", ""},
	{verdictKind, "verdict names", ""},
	{tableKind, "table names", ""},
	{termKind, "terms", ""},
	{specKind, "spec keys", ""},
}

// words returns all that explain knows, in the order of the kinds.
func words() (all []word) {
	for _, e := range formulas() {
		all = append(all, word{kind: figureKind, key: e.Key, title: e.Title, also: e.Also, meaning: e.Meaning,
			facts: []fact{{"formula", "formula", e.Formula}, {"source", "source", e.Source}, {"range", "holds", e.Range}}})
	}
	for _, c := range check.Checks() {
		w := word{kind: checkKind, key: c.ID, title: c.What, meaning: "Judges " + c.Judges + ".",
			facts: []fact{{"against", "against", c.Against}, {"mends", "to do", capitalized(c.Mends) + "."}}}
		if c.Stands != nil {
			for _, one := range c.Each() {
				w.also = append(w.also, one.ID, one.What)
			}
			w.facts = append(w.facts, fact{"stands", "one of", strings.Join(c.Stands, ", ")})
		}
		all = append(all, w)
	}
	for _, l := range airpath.AllLimits() {
		all = append(all, word{kind: limitKind, key: l.String(), title: l.String(), meaning: l.Meaning()})
	}
	for _, v := range []check.Verdict{check.OK, check.Note, check.Waived, check.Fail} {
		all = append(all, word{kind: verdictKind, key: v.String(), title: v.String(), meaning: v.Meaning()})
	}
	for _, t := range slices.Concat(sheet.Tables(), ownTables()) {
		all = append(all, word{kind: tableKind, key: table.Canonical(t.Name), title: t.Name, meaning: t.Meaning})
	}
	for _, t := range sheet.Terms() {
		all = append(all, word{kind: termKind, key: t.Name, title: t.Name, also: t.Also, meaning: t.Meaning})
	}
	for _, k := range spec.Keys() {
		all = append(all, word{kind: specKind, key: k.Path, title: k.Path, meaning: capitalized(k.Means) + ".",
			facts: []fact{{"takes", "takes", k.Takes}, {"fallback", "default", k.Default}, {"example", "example", k.Example}}})
	}
	for i := range all {
		w := &all[i]
		for _, name := range append([]string{w.key, w.title}, w.also...) {
			for _, system := range []units.System{units.Metric, units.Imperial, units.SI} {
				spelled := strings.ToLower(strings.TrimSpace(units.Resolve(name, system)))
				if !slices.Contains(w.spelled, spelled) {
					w.spelled = append(w.spelled, spelled)
				}
			}
		}
	}
	return all
}

// ownTables are the tables that this package builds.
func ownTables() []sheet.Term {
	own := []sheet.Term{
		{Name: "enough for", Meaning: "Which commands the spec has enough for, in which trims, and what the others lack."},
		{Name: "venues", Meaning: "The venues that the spec names, with their air."},
		{Name: "explanation", Meaning: "What a word means."},
		{Name: "meanings", Meaning: "The things that go by one word."},
	}
	for _, k := range kinds {
		own = append(own, sheet.Term{Name: k.list, Meaning: "The words of the kind \"" + k.name + "\" that explain knows."})
	}
	return own
}

// A fit is how a text names a word.
type fit int

const (
	not fit = iota
	byName
	exactly
)

// goesBy reports how a text, in lower case, names the word: exactly is by a key that scripts and specs have, which nothing else is spelled like.
func (w word) goesBy(text string) fit {
	key := strings.ToLower(w.key)
	switch w.kind {
	case figureKind:
		if key == text || table.Bare(w.key) == text {
			return exactly
		}
		if underscored := strings.ReplaceAll(text, " ", "_"); key == underscored || table.Bare(w.key) == underscored {
			return byName
		}
	case checkKind:
		if key == text {
			return exactly
		}
	case specKind:
		if key == text || spec.SameKey(w.key, text) {
			return exactly
		}
		if strings.HasSuffix(w.key, "."+text) {
			return byName
		}
	}
	if slices.Contains(w.spelled, text) {
		return byName
	}
	return not
}

// names are what a word is looked for by where a text names none.
func (w word) names() []string {
	return append([]string{w.key, units.Resolve(w.title, units.Metric)}, w.also...)
}

// capitalized returns a text with a capital first letter, as headings have it.
func capitalized(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

// explainEntries explain the columns of explain's own tables.
func explainEntries() []formula.Entry {
	entry := func(key, title, meaning string, also ...string) formula.Entry {
		return formula.Entry{Key: key, Title: title, Also: also, Meaning: meaning, Formula: "definition", Source: "definition", Range: "everywhere"}
	}
	return []formula.Entry{
		entry("key", "key", "What a word goes by: the key of a figure, the id of a check, the path of a key of the spec, else its name."),
		entry("title", "figure", "The word as it is printed.", "check"),
		entry("kind", "kind", "What a word is: a figure, a check, a limit, a verdict, a table, a term or a key of the spec."),
		entry("meaning", "is", "What a word means."),
		entry("formula", "formula", "The formula of a figure, as coded."),
		entry("source", "source", "Where the formula comes from."),
		entry("range", "holds", "Where the formula holds."),
		entry("against", "against", "The key of the spec, or the part, that a check judges against."),
		entry("mends", "to do", "What to do about a check that fails."),
		entry("stands", "one of", "What may stand for the word in capitals in the id of a check."),
		entry("takes", "takes", "The values that a key of the spec takes."),
		entry("fallback", "default", "What is taken where a key of the spec is not given."),
		entry("example", "example", "A value of a key of the spec."),
	}
}
