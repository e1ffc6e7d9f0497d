package cli

import (
	"golang.org/x/sync/errgroup"

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
func (o *options) solve(command string, trims []*spec.Trim) ([]*sheet.Run, error) {
	runs := make([]*sheet.Run, len(trims))
	var group errgroup.Group
	for i, t := range trims {
		group.Go(func() error {
			speeds, err := o.speeds(t)
			if err != nil {
				return err
			}
			runs[i], err = sheet.Solve(command, t, speeds)
			return err
		})
	}
	return runs, group.Wait()
}

// unsolved returns the error of the runs' points that have no solution, or nil.
func unsolved(runs []*sheet.Run) error {
	var points []error
	for _, r := range runs {
		points = append(points, r.Unsolved()...)
	}
	if points == nil {
		return nil
	}
	return &unsolvedError{points}
}

// overSpeed is the common course of the commands that print tables of operating points: load, take the trims that have the
// parts, solve, build the tables, write.
func (o *options) overSpeed(s streams, command string, needs []string, build func(doc *table.Document, r *sheet.Run) error) error {
	sp, trims, err := o.load()
	if err != nil {
		return err
	}
	doc := table.Document{Command: command, Spec: sp.Path, Cautions: cautions()}
	if trims, doc.Warnings, err = suited(command, trims, needs...); err != nil {
		return err
	}
	runs, err := o.solve(command, trims)
	if err != nil {
		return err
	}
	for _, r := range runs {
		if err := build(&doc, r); err != nil {
			return err
		}
	}
	if err := o.write(s, doc); err != nil {
		return err
	}
	return unsolved(runs)
}
