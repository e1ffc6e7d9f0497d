package cli

import (
	"context"
	"slices"
	"strings"

	"bellmouth/internal/check"
	"bellmouth/internal/pool"
	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

// The cautions, said once at the end of what they belong to.
const (
	cautionStart = "Boost and CA50 here are predictions from the spec: starting points for a dynamometer with knock detection, not calibrations. " +
		"Over-boost and lean running destroy engines; fuel burns; turbocharger wheels burst."
	cautionNatural = "CA50 and torque here are predictions from the spec: starting points for a dynamometer with knock detection, not calibrations. " +
		"Knock and lean running destroy engines; fuel burns."
	cautionDefer = "The event's regulations, local law and the judgement of an experienced professional come first."
)

// forced reports whether any trim has a turbocharger.
func forced(trims []*spec.Trim) bool {
	return slices.ContainsFunc(trims, func(t *spec.Trim) bool { return t.Compressor != nil })
}

// cautions are those of commands that solve trims: turbocharged ones, or naturally aspirated ones alone.
func cautions(trims []*spec.Trim) []string {
	if forced(trims) {
		return []string{cautionStart, cautionDefer}
	}
	return []string{cautionNatural, cautionDefer}
}

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

// unsolved returns the error of the runs' points, and of others, that have no solution, or nil.
func unsolved(runs []*sheet.Run, others []error) error {
	var points []error
	for _, r := range runs {
		points = append(points, allAtVenue(r.Trim, r.Unsolved())...)
	}
	points = append(points, others...)
	if points == nil {
		return nil
	}
	return &unsolvedError{points}
}

// A trimPart is what one trim adds to a document.
type trimPart struct {
	tables   []table.Table
	warnings []string
	lost     []error // points that have no solution, besides those of the run
	findings []check.Finding
	course   *sheet.Course
}

// add appends tables that there are.
func (p *trimPart) add(tables ...table.Table) { p.tables = append(p.tables, tables...) }

// addIf appends a table where it has something to say.
func (p *trimPart) addIf(t table.Table, ok bool) {
	if ok {
		p.add(t)
	}
}

// overSpeed is the common course of the commands that print tables of operating points: load, take the trims that have the
// parts, solve, build the tables, write. use is what needs tells the needs of.
func (o *options) overSpeed(ctx context.Context, s streams, use string, build func(r *sheet.Run) (trimPart, error)) error {
	return o.overSpeedWith(ctx, s, use, nil, build)
}

// overSpeedWith is overSpeed with cautions of its own; nil for the usual ones.
func (o *options) overSpeedWith(ctx context.Context, s streams, use string, cautioned []string, build func(r *sheet.Run) (trimPart, error)) error {
	return o.overSpeedThen(ctx, s, use, cautioned, build, func([]trimPart) []table.Table { return nil })
}

// overSpeedThen is overSpeedWith with tables of all trims at a venue behind those of each.
func (o *options) overSpeedThen(ctx context.Context, s streams, use string, cautioned []string, build func(r *sheet.Run) (trimPart, error),
	then func(parts []trimPart) []table.Table) error {
	sp, trims, err := o.load(ctx, s)
	if err != nil {
		return err
	}
	command, _, _ := strings.Cut(use, " ")
	if cautioned == nil {
		cautioned = cautions(trims)
	}
	doc := table.Document{Command: command, Spec: sp.Path, Cautions: cautioned}
	if trims, doc.Warnings, err = suited(use, trims, needs(use)...); err != nil {
		return err
	}
	runs, err := o.solve(ctx, s, use, trims)
	if err != nil {
		return err
	}
	parts, err := eachRun(ctx, runs, build)
	if err != nil {
		return err
	}
	var lost []error
	for _, trims := range byVenue(trims) {
		from := len(doc.Tables)
		for i, p := range parts[:len(trims)] {
			doc.Tables = append(doc.Tables, p.tables...)
			for _, w := range p.warnings {
				doc.Warnings = once(doc.Warnings, w)
			}
			lost = append(lost, allAtVenue(trims[i], p.lost)...)
		}
		doc.Tables = append(doc.Tables, then(parts[:len(trims)])...)
		parts = parts[len(trims):]
		stamp(doc.Tables[from:], trims[0].VenueName)
	}
	if err := o.write(ctx, s, doc); err != nil {
		return err
	}
	return unsolved(runs, lost)
}
