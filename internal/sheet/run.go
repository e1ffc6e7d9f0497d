package sheet

import (
	"fmt"
	"math"
	"sync"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/numeric"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

// A Run is a trim solved over engine speed.
type Run struct {
	Trim     *spec.Trim
	Engine   *airpath.Engine
	Outcomes []boost.Outcome // at the speeds asked for, in rising order

	once sync.Once
	fine *Run      // with what matters between the speeds; nil before it is asked for
	grid *Run      // of a refined run: the one that it refines
	at   *judgedAt // of a refined run: what is judged at its points
}

// Solve returns the operating points of a trim at the engine speeds, rad/s. command is what a missing section is missing for.
func Solve(command string, trim *spec.Trim, speeds []float64) (*Run, error) {
	s, err := Setup(command, trim)
	if err != nil {
		return nil, err
	}
	e, err := airpath.New(s)
	if err != nil {
		return nil, fmt.Errorf("trim %q: %w", trim.Name, err)
	}
	return &Run{Trim: trim, Engine: e, Outcomes: boost.Sweep(e, trim.Boost.Target, speeds)}, nil
}

// Unsolved returns the errors of the points that have no solution, each with the trim's name before it: of those at the speeds asked
// for, and, once the run has been judged, of those met between.
func (r *Run) Unsolved() []error {
	outcomes := r.Outcomes
	if r.fine != nil {
		outcomes = r.fine.Outcomes
	}
	var errs []error
	for i := range outcomes {
		if err := outcomes[i].Err; err != nil {
			errs = append(errs, fmt.Errorf("trim %q, %w", r.Trim.Name, err))
		}
	}
	return errs
}

// Forced reports whether the trim has a compressor.
func (r *Run) Forced() bool { return r.Trim.Compressor != nil }

// farAbove is a boost target, Pa, that no engine here reaches: what limits the boost then is the engine, not the target.
const farAbove = 5e5

// everything solves the trim once more at the same speeds, with a target out of reach.
func (r *Run) everything() *Run {
	return &Run{Trim: r.Trim, Engine: r.Engine, Outcomes: boost.Sweep(r.Engine, numeric.Constant(farAbove), r.speeds())}
}

// speeds returns the engine speeds of the run, rad/s.
func (r *Run) speeds() []float64 {
	speeds := make([]float64, len(r.Outcomes))
	for i := range r.Outcomes {
		speeds[i] = r.Outcomes[i].Speed
	}
	return speeds
}

// onset returns the lowest speed at which a mark holds, found between the speeds asked for as closely as a refined run has it, or none
// where it holds at no speed. The mark has to be one of the run's, or follow from the limits.
func (r *Run) onset(has boost.Mark, none string) table.Cell {
	all := r.refined().Outcomes
	first := boost.First(all, has)
	if first < 0 {
		return table.Missing(none)
	}
	c := table.Num(all[first].Speed)
	if boost.First(all[:first], func(*boost.Outcome) bool { return true }) < 0 {
		return c.Noted("or below: it does so at the lowest speed computed")
	}
	return c
}

// rpm returns a speed of rotation in rpm, for words.
func rpm(speed float64) float64 { return math.Round(speed * 30 / math.Pi) }
