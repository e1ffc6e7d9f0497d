package cli

import (
	"context"

	"bellmouth/internal/pool"
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

// solve computes the operating points of the trims; the order is that of the trims.
func (o *options) solve(ctx context.Context, s streams, command string, trims []*spec.Trim) ([]*sheet.Run, error) {
	solve := s.solve
	if solve == nil {
		solve = sheet.Solve
	}
	return each(ctx, trims, func(t *spec.Trim) (*sheet.Run, error) {
		speeds, err := o.speeds(t)
		if err != nil {
			return nil, err
		}
		r, err := solve(ctx, command, t, speeds)
		return r, atVenue(t, err)
	})
}

// eachRun is each of runs, whose errors name the venue.
func eachRun[T any](ctx context.Context, runs []*sheet.Run, build func(r *sheet.Run) (T, error)) ([]T, error) {
	return each(ctx, runs, func(r *sheet.Run) (T, error) {
		x, err := build(r)
		return x, atVenue(r.Trim, err)
	})
}

// each makes something of each of several things, on all cores, and returns what was made in their order. The error is that of the first in
// that order, so that the same input has the same message.
func each[From, To any](ctx context.Context, all []From, build func(x From) (To, error)) ([]To, error) {
	results := make([]To, len(all))
	err := pool.Each(ctx, len(all), func() func(int) error {
		return func(i int) (err error) {
			results[i], err = build(all[i])
			return err
		}
	})
	if err != nil {
		return nil, err
	}
	return results, nil
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
func (o *options) overSpeed(ctx context.Context, s streams, command string, needs []string, build func(doc *table.Document, r *sheet.Run) error) error {
	sp, trims, err := o.load(ctx, s)
	if err != nil {
		return err
	}
	doc := table.Document{Command: command, Spec: sp.Path, Cautions: cautions()}
	if trims, doc.Warnings, err = suited(command, trims, needs...); err != nil {
		return err
	}
	runs, err := o.solve(ctx, s, command, trims)
	if err != nil {
		return err
	}
	for _, r := range runs {
		if err := ctx.Err(); err != nil {
			return err
		}
		from := len(doc.Tables)
		if err := build(&doc, r); err != nil {
			return atVenue(r.Trim, err)
		}
		stamp(doc.Tables[from:], r.Trim.VenueName)
	}
	if err := o.write(ctx, s, doc); err != nil {
		return err
	}
	return unsolved(runs)
}
