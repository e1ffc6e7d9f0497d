package cli

import (
	"slices"

	"bellmouth/internal/check"
	"bellmouth/internal/spec"
)

// waiversKnown refuses waivers of checks that do not exist, or that cannot be waived. The spec reads the list; what can be in it the checks know.
func waiversKnown(file string, trims []*spec.Trim) error {
	var bad spec.Error
	for _, t := range trims {
		for _, w := range t.Waivers {
			known, may := check.Waivable(w.Check)
			if may {
				continue
			}
			p := spec.Problem{File: file, Line: w.Line, Path: "waivers.check",
				Message: "is " + w.Check + ", which no check has as its id; \"bellmouth explain\" lists them"}
			if near := nearestOf(w.Check, check.AllIDs(), 1); len(near) > 0 {
				p.Message = "is " + w.Check + ", which no check has as its id; " + near[0] + "?"
			}
			if known {
				p.Message = "is " + w.Check + ", which cannot be waived: nobody knows what a point without a solution comes to"
			}
			if w.Line == 0 {
				p.File = "--set"
			}
			if !slices.Contains(bad.Problems, p) {
				bad.Problems = append(bad.Problems, p)
			}
		}
	}
	if bad.Problems == nil {
		return nil
	}
	return &bad
}
