package cli

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/agnivade/levenshtein"
	"github.com/spf13/cobra"

	"bellmouth/internal/formula"
	"bellmouth/internal/sheet"
	"bellmouth/internal/table"
)

func newExplainCmd(s streams) *cobra.Command {
	var o outputOptions
	cmd := &cobra.Command{
		Use:   "explain [KEY]",
		Short: "What a figure means, its formula as coded, the source and where it holds",
		Long: `explain prints what a figure is, the formula as coded, where the formula comes from and where
it holds. KEY is the column's key as in CSV and JSON, with or without its unit: boost_pa or
boost. Without KEY it lists all keys.`,
		Example: "  bellmouth explain surge_margin\n  bellmouth explain",
		Args:    usageArgs(cobra.MaximumNArgs(1)),
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
	all := slices.Concat(sheet.Explained(), needsEntries(), venueEntries())
	slices.SortFunc(all, func(a, b formula.Entry) int { return strings.Compare(a.Key, b.Key) })
	return all
}

func runExplain(ctx context.Context, s streams, o outputOptions, args []string) error {
	all := formulas()
	doc := table.Document{Command: "explain"}
	if len(args) == 0 {
		doc.Tables = []table.Table{table.Of("keys", all,
			table.Words("key", "key", func(e formula.Entry) string { return e.Key }),
			table.Words("title", "figure", heading),
		)}
		return o.write(ctx, s, doc)
	}
	e, err := find(all, args[0])
	if err != nil {
		return err
	}
	doc.Tables = []table.Table{table.One("explanation", e,
		table.Words("key", "key", func(e formula.Entry) string { return e.Key }),
		table.Words("title", "figure", heading),
		table.Words("meaning", "is", func(e formula.Entry) string { return e.Meaning }),
		table.Words("formula", "formula", func(e formula.Entry) string { return e.Formula }),
		table.Words("source", "source", func(e formula.Entry) string { return e.Source }),
		table.Words("range", "holds", func(e formula.Entry) string { return e.Range }),
	)}
	return o.write(ctx, s, doc)
}

// heading returns the title of an entry with a capital first letter, as headings have.
func heading(e formula.Entry) string {
	first, size := utf8.DecodeRuneInString(e.Title)
	return string(unicode.ToUpper(first)) + e.Title[size:]
}

// find returns the entry of a key. A key without its unit will do; one that is not there is an error that names the nearest.
func find(all []formula.Entry, key string) (formula.Entry, error) {
	key = strings.ToLower(strings.ReplaceAll(strings.TrimSpace(key), " ", "_"))
	for _, e := range all {
		if e.Key == key || table.Bare(e.Key) == key {
			return e, nil
		}
	}
	if near := nearest(all, key); len(near) > 0 {
		return formula.Entry{}, fmt.Errorf("no figure has the key %q; near it: %s", key, strings.Join(near, ", "))
	}
	if len(key) > longestKey {
		return formula.Entry{}, errors.New("no figure has so long a key; \"bellmouth explain\" lists the keys")
	}
	return formula.Entry{}, fmt.Errorf("no figure has the key %q; \"bellmouth explain\" lists the keys", key)
}

// longestKey is the length, in bytes, up to which a key is looked at.
const longestKey = 60

// nearest returns the keys that hold the word, those that begin with it first; without one, those that differ by few letters.
func nearest(all []formula.Entry, key string) []string {
	const most = 6
	if key == "" || len(key) > longestKey {
		return nil
	}
	var near []string
	for _, e := range all {
		if strings.Contains(e.Key, key) {
			near = append(near, e.Key)
		}
	}
	slices.SortStableFunc(near, func(a, b string) int { return strings.Index(a, key) - strings.Index(b, key) })
	if len(near) == 0 {
		allowed := max(2, len(key)/3)
		distance := map[string]int{}
		for _, e := range all {
			if d := min(levenshtein.ComputeDistance(key, e.Key), levenshtein.ComputeDistance(key, table.Bare(e.Key))); d <= allowed {
				near = append(near, e.Key)
				distance[e.Key] = d
			}
		}
		slices.SortStableFunc(near, func(a, b string) int { return distance[a] - distance[b] })
	}
	return near[:min(len(near), most)]
}
