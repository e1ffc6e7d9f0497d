package cli

import (
	"sync"

	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

// The cautions, said once at the end of what they belong to.
const (
	cautionStart = "Boost and phasing here are predictions from the spec: starting points for a dynamometer with knock detection, not calibrations. " +
		"Over-boost and lean running destroy engines; fuel burns; turbocharger wheels burst."
	cautionDefer = "The event's regulations, local law and the judgement of an experienced professional come first."
)

func cautions() []string { return []string{cautionStart, cautionDefer} }

// solve computes the operating points of the trims, each in its own goroutine; the order is that of the trims.
func (o *options) solve(s streams, command string, trims []*spec.Trim) ([]*sheet.Run, error) {
	solve := s.solve
	if solve == nil {
		solve = sheet.Solve
	}
	runs := make([]*sheet.Run, len(trims))
	errs := make([]error, len(trims))
	var group sync.WaitGroup
	for i, t := range trims {
		group.Go(func() {
			var speeds []float64
			if speeds, errs[i] = o.speeds(t); errs[i] == nil {
				runs[i], errs[i] = solve(command, t, speeds)
				errs[i] = atVenue(t, errs[i])
			}
		})
	}
	group.Wait()
	for _, err := range errs { // the first in the order of the trims, so that the same input has the same message
		if err != nil {
			return nil, err
		}
	}
	return runs, nil
}

// unsolved returns the error of the runs' points that have no solution, or nil.
func unsolved(runs []*sheet.Run) error {
	var points []error
	for _, r := range runs {
		points = append(points, allAtVenue(r.Trim, r.Unsolved())...)
	}
	if points == nil {
		return nil
	}
	return &unsolvedError{points}
}

// overSpeed is the common course of the commands that print tables of operating points: load, take the trims that have the
// parts, solve, build the tables, write.
func (o *options) overSpeed(s streams, command string, needs []string, build func(doc *table.Document, r *sheet.Run) error) error {
	sp, trims, err := o.load(s)
	if err != nil {
		return err
	}
	doc := table.Document{Command: command, Spec: sp.Path, Cautions: cautions()}
	if trims, doc.Warnings, err = suited(command, trims, needs...); err != nil {
		return err
	}
	runs, err := o.solve(s, command, trims)
	if err != nil {
		return err
	}
	for _, r := range runs {
		from := len(doc.Tables)
		if err := build(&doc, r); err != nil {
			return atVenue(r.Trim, err)
		}
		stamp(doc.Tables[from:], r.Trim.VenueName)
	}
	if err := o.write(s, doc); err != nil {
		return err
	}
	return unsolved(runs)
}
