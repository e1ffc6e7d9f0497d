package sheet

import "bellmouth/internal/formula"

// Formulas describes the figures that the tables take from no single calculation.
func Formulas() []formula.Entry {
	return nil
}
