// Package formula holds the form in which a calculation package describes the figures it computes: what a figure is,
// the formula as coded, where the formula comes from and where it holds.
package formula

// An Entry describes one figure that a table prints.
type Entry struct {
	Key     string // the column key, as in JSON: "boost_pa"
	Title   string // the figure's name in the trade
	Meaning string // what it is, in a sentence or two
	Formula string // the formula as coded
	Source  string // where the formula comes from, or "common practice, no source"
	Range   string // where it holds
}
