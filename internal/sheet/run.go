// Package sheet lays out results: the columns and the words of the tables that the commands print.
//
// Every table is built by one function, and the build sheet is made of the same tables as the commands that ask one question,
// so that the two cannot differ.
package sheet

import (
	"context"
	"sync"
	"sync/atomic"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

// A Run is a trim solved over engine speed, whose tables are asked for.
type Run struct {
	*run.Run // at the speeds asked for

	once   sync.Once
	review atomic.Pointer[check.Review] // nil before it is asked for

	targetsOnce sync.Once
	targets     *run.Targets
	targetsErr  error

	mostOnce sync.Once
	most     *Run // see everything
}

// Review returns the run looked over as a whole. It is computed once.
func (r *Run) Review() *check.Review {
	r.once.Do(func() { r.review.Store(check.Over(r.Run)) })
	return r.review.Load()
}

// peak returns the outcome with the highest value of a figure over the whole range of speeds; nil where no point has a solution.
func (r *Run) peak(get func(p *airpath.Point) float64) *boost.Outcome {
	return r.Review().Fine.Peak(get)
}

// Solve is run.Solve.
func Solve(ctx context.Context, command string, trim *spec.Trim, speeds []float64) (*Run, error) {
	r, err := run.Solve(ctx, command, trim, speeds)
	if err != nil {
		return nil, err
	}
	return &Run{Run: r}, nil
}

// Unsolved is run.Run's for the speeds asked for, and, once the run has been judged, for those met between.
func (r *Run) Unsolved() []error {
	if review := r.review.Load(); review != nil {
		return review.Fine.Unsolved()
	}
	return r.Run.Unsolved()
}

// onset returns the lowest speed at which a mark holds, found between the speeds asked for as closely as a refined run has it, or none
// where it holds at no speed. The mark has to be one of the run's, or follow from the limits.
func (r *Run) onset(has boost.Mark, none string) table.Cell {
	return onsetCell(r.Review().Fine.Onset(has), none)
}

func onsetCell(o run.Onset, none string) table.Cell {
	switch {
	case !o.Found:
		return table.Missing(none)
	case o.OrBelow:
		return table.Num(o.Speed).Noted("or below: it does so at the lowest speed computed")
	}
	return table.Num(o.Speed)
}
