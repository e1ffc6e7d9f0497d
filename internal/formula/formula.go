// Package formula holds the form in which a calculation package describes the figures it computes: what a figure is,
// the formula as coded, where the formula comes from and where it holds.
package formula

import (
	"fmt"
	"regexp"
)

// An Entry describes one figure that a table prints.
type Entry struct {
	Key     string   // the column key, as in JSON: "boost_pa"
	Title   string   // the head that stands above it, as printed
	Also    []string // other words that it is printed under
	Meaning string   // what it is, in a sentence or two
	Formula string   // the formula as coded
	Source  string   // where the formula comes from, or "common practice, no source"
	Range   string   // where it holds
}

var keyForm = regexp.MustCompile(`^[a-z][a-z0-9_]*$`)

// Check returns an error when entries of one package are not whole: a key out of form or given twice, or a text missing.
func Check(entries []Entry) error {
	seen := map[string]bool{}
	for _, e := range entries {
		switch {
		case !keyForm.MatchString(e.Key):
			return fmt.Errorf("key %q: want lower case, digits and _", e.Key)
		case seen[e.Key]:
			return fmt.Errorf("key %q stands twice", e.Key)
		case e.Title == "" || e.Meaning == "" || e.Formula == "" || e.Source == "" || e.Range == "":
			return fmt.Errorf("key %q: a text is missing", e.Key)
		}
		seen[e.Key] = true
	}
	return nil
}
