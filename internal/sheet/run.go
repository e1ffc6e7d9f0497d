package sheet

import (
	"fmt"
	"math"

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
	Outcomes []boost.Outcome
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

// Unsolved returns the errors of the points that have no solution, each with the trim's name before it.
func (r *Run) Unsolved() []error {
	var errs []error
	for i := range r.Outcomes {
		if err := r.Outcomes[i].Err; err != nil {
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
	speeds := make([]float64, len(r.Outcomes))
	for i := range r.Outcomes {
		speeds[i] = r.Outcomes[i].Speed
	}
	return &Run{Trim: r.Trim, Engine: r.Engine, Outcomes: boost.Sweep(r.Engine, numeric.Constant(farAbove), speeds)}
}

// onsetWithin is how closely an onset is found, rad/s.
const onsetWithin = 5 * math.Pi / 30

// onset returns the lowest speed at which has holds, found to within a few rpm between the speeds computed, or none where it
// holds at no speed. A point on the way that has no solution ends the search at the speed reached.
func (r *Run) onset(has func(o *boost.Outcome) bool, none string) table.Cell {
	below := -1
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		if o.Err != nil {
			continue
		}
		if !has(o) {
			below = i
			continue
		}
		hi := o.Speed
		if below < 0 {
			return table.Num(hi).Noted("or below: it does so at the lowest speed computed")
		}
		for lo := r.Outcomes[below].Speed; hi-lo > onsetWithin; {
			mid := boost.Sweep(r.Engine, r.Trim.Boost.Target, []float64{(lo + hi) / 2})[0]
			switch {
			case mid.Err != nil:
				return table.Num(hi)
			case has(&mid):
				hi = mid.Speed
			default:
				lo = mid.Speed
			}
		}
		return table.Num(hi)
	}
	return table.Missing(none)
}

// rpm returns a speed of rotation in rpm, for words.
func rpm(speed float64) float64 { return math.Round(speed * 30 / math.Pi) }
