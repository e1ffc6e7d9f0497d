package cli

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/agnivade/levenshtein"
	"github.com/spf13/cobra"

	"bellmouth/internal/formula"
	"bellmouth/internal/sheet"
	"bellmouth/internal/table"
)

func newExplainCmd(s streams) *cobra.Command {
	var o outputOptions
	cmd := &cobra.Command{
		Use:   "explain [WORD]",
		Short: "What any word of the output or the spec means; of a figure, its formula and source",
		Long: `explain prints what a word means that another command prints or the spec has:

  a figure       by its key in CSV and JSON, with or without its unit, or by its head in a
                 table: what it is, the formula as coded, its source and where it holds
  a check        by its id or its words: what it judges, against what, and what to do about it
  a limit, a verdict, a table, by name
  a key of the spec, by its path or the end of it: what it takes, its default, an example
  a term of the trade that the notes use

A word that several things go by lists them. Without WORD it lists everything, kind by kind.`,
		Example: "  bellmouth explain surge_margin\n  bellmouth explain boost-passes-knock\n  bellmouth explain knock_limit\n  bellmouth explain",
		Args:    usageArgs(cobra.ArbitraryArgs),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := o.check(); err != nil {
				return err
			}
			return runExplain(cmd.Context(), s, o, args)
		},
	}
	o.flags(cmd)
	return cmd
}

// formulas returns what every column means, by key.
func formulas() []formula.Entry {
	all := slices.Concat(sheet.Explained(), needsEntries(), venueEntries(), explainEntries())
	slices.SortFunc(all, func(a, b formula.Entry) int { return strings.Compare(a.Key, b.Key) })
	return all
}

func runExplain(ctx context.Context, s streams, o outputOptions, args []string) error {
	all := words()
	doc := table.Document{Command: "explain"}
	if len(args) == 0 {
		for _, k := range kinds {
			var of []word
			for _, w := range all {
				if w.kind == k.name {
					of = append(of, w)
				}
			}
			second := table.Words("meaning", "is", func(w word) string { return w.meaning })
			if k.head != "" {
				second = table.Words("title", k.head, func(w word) string { return capitalized(w.title) })
			}
			doc.Tables = append(doc.Tables, table.Of(k.list, of, table.Words("key", "key", func(w word) string { return w.key }), second))
		}
		return o.write(ctx, s, doc)
	}
	found, also, err := find(all, strings.Join(args, " "))
	if err != nil {
		return err
	}
	if len(found) == 0 {
		doc.Tables = []table.Table{table.Of("meanings", also,
			table.Words("kind", "kind", func(w word) string { return w.kind }),
			table.Words("key", "key", func(w word) string { return w.key }),
			table.Words("meaning", "is", func(w word) string { return w.meaning }),
		)}
		return o.write(ctx, s, doc)
	}
	for _, w := range found {
		doc.Tables = append(doc.Tables, w.explained())
	}
	doc.Tables[len(doc.Tables)-1].Notes = also.notes()
	return o.write(ctx, s, doc)
}

// explained returns the word as a table of all that is known of it.
func (w word) explained() table.Table {
	say := func(key, title string, text string) table.Field[word] {
		return table.Words(key, title, func(word) string { return text })
	}
	fields := []table.Field[word]{say("key", "key", w.key), say("kind", "kind", w.kind)}
	for _, k := range kinds {
		if k.name == w.kind && k.head != "" {
			fields = append(fields, say("title", k.head, capitalized(w.title)))
		}
	}
	fields = append(fields, say("meaning", "is", w.meaning))
	for _, f := range w.facts {
		if f.text != "" {
			fields = append(fields, say(f.key, f.title, f.text))
		}
	}
	return table.One("explanation", w, fields...)
}

// notes names the words in a line below a table; nil without any.
func (ws wordList) notes() []string {
	if len(ws) == 0 {
		return nil
	}
	var names []string
	for _, w := range ws {
		names = append(names, w.kind+" "+w.key)
	}
	return []string{"Also called so: " + strings.Join(names, ", ") + "."}
}

// find returns the words that are meant by a text: those whose key it is, or the only one that goes by it. also are the others that go by it; where
// several do and it is the key of none, all of them are. An error names what comes near.
func find(all []word, text string) (found, also wordList, err error) {
	plain := strings.ToLower(strings.Join(strings.Fields(text), " "))
	for _, w := range all {
		switch w.goesBy(plain) {
		case exactly:
			found = append(found, w)
		case byName:
			also = append(also, w)
		}
	}
	switch {
	case len(found) > 0:
		return found, also, nil
	case len(also) == 1:
		return also, nil, nil
	case len(also) > 0:
		return nil, also, nil
	case strings.HasSuffix(plain, overSpeed): // a table of compare's, of that figure
		return find(all, strings.TrimSuffix(plain, overSpeed))
	case len(plain) > longestWord:
		return nil, nil, errors.New("nothing has so long a name; \"bellmouth explain\" lists what has one")
	}
	var names []string
	for _, w := range all {
		names = append(names, w.names()...)
	}
	if near := nearestOf(plain, names, mostNear); len(near) > 0 {
		return nil, nil, fmt.Errorf("nothing is called %q; near it: %s", text, strings.Join(near, ", "))
	}
	return nil, nil, fmt.Errorf("nothing is called %q; \"bellmouth explain\" lists what has a name", text)
}

// overSpeed ends the name of a table that has one figure over engine speed, the variants side by side.
const overSpeed = " over speed"

const (
	longestWord = 100 // length, in bytes, up to which a text is looked at
	mostNear    = 8   // names that are told as near
	leastHeld   = 3   // letters that a name has to hold to be near: fewer are in most
)

// nearestOf returns up to most of the names that hold the text, those that begin with it first; without one, those that differ by few letters.
func nearestOf(text string, names []string, most int) []string {
	if text == "" || len(text) > longestWord {
		return nil
	}
	spaced := strings.NewReplacer("_", " ", "-", " ").Replace
	text = spaced(text)
	distance := map[string]int{}
	var near []string
	met := map[string]bool{} // a key and a head that read the same are one name
	add := func(name string, far int) {
		if plain := spaced(strings.ToLower(name)); !met[plain] {
			near, distance[name], met[plain] = append(near, name), far, true
		}
	}
	for _, name := range names {
		if at := strings.Index(spaced(strings.ToLower(name)), text); at >= 0 && len(text) >= leastHeld {
			add(name, at)
		}
	}
	if len(near) == 0 {
		allowed := max(2, len(text)/3)
		for _, name := range names {
			plain := spaced(strings.ToLower(name))
			last := plain[strings.LastIndex(plain, ".")+1:] // of a path
			if d := min(levenshtein.ComputeDistance(text, plain), levenshtein.ComputeDistance(text, last)); d <= allowed {
				add(name, d)
			}
		}
	}
	slices.SortStableFunc(near, func(a, b string) int { return distance[a] - distance[b] })
	return near[:min(len(near), most)]
}
