// Package run makes a trim into an engine, solves it over speed, and tells what follows from that: what holds the boost, feeds, fires and fills the
// engine at each point.
//
// It returns records and knows no tables and no verdicts, so that whatever asks the same question again and again calls the same function as the
// build sheet does.
package run

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/numeric"
	"bellmouth/internal/spec"
	"bellmouth/internal/units"
)

// A Run is a trim solved over engine speed.
type Run struct {
	Trim     *spec.Trim
	Engine   *airpath.Engine
	Outcomes []boost.Outcome // in rising order of speed

	LoopErr error // why the voltages that the spec leaves to the wiring do not follow from it; the defaults are used then

	Context context.Context // ends what is computed of the run; what comes out after its end is not complete
}

// Solve returns the operating points of a trim at the engine speeds, rad/s. command is what a missing section is missing for. Its error is that of
// the context once this is done, which ends what is computed of the run later too.
func Solve(ctx context.Context, command string, trim *spec.Trim, speeds []float64) (*Run, error) {
	trim, loopErr := throughWiring(ctx, command, trim)
	s, err := Setup(command, trim)
	if err != nil {
		return nil, err
	}
	e, err := airpath.New(s)
	if err != nil {
		return nil, fmt.Errorf("trim %q: %w", trim.Name, err)
	}
	r := &Run{Trim: trim, Engine: e, Outcomes: boost.Sweep(ctx, e, trim.Boost.Target, speeds), LoopErr: loopErr, Context: ctx}
	return r, ctx.Err()
}

// ErrNoSolution says why a figure of a point that has no solution is not known.
var ErrNoSolution = errors.New("no solution at this speed")

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

// FarAbove is a boost target, Pa, that no engine here reaches: what limits the boost then is the engine, not the target.
const FarAbove = 5e5

// Everything solves the trim once more at the same speeds, with a target out of reach.
func (r *Run) Everything() *Run {
	return r.With(boost.Sweep(r.Context, r.Engine, numeric.Constant(FarAbove), r.Speeds()))
}

// With returns the run with other outcomes of the same engine.
func (r *Run) With(outcomes []boost.Outcome) *Run {
	return &Run{Trim: r.Trim, Engine: r.Engine, Outcomes: outcomes, LoopErr: r.LoopErr, Context: r.Context}
}

// Speeds returns the engine speeds of the run, rad/s.
func (r *Run) Speeds() []float64 {
	speeds := make([]float64, len(r.Outcomes))
	for i := range r.Outcomes {
		speeds[i] = r.Outcomes[i].Speed
	}
	return speeds
}

// FirstSpeed returns the lowest speed, rad/s, that an engine with this limiter is looked at unless it is asked for otherwise: 1500 rpm, or half the
// limiter where that is no less.
func FirstSpeed(limiter float64) float64 {
	const first = 1500 * math.Pi / 30
	if first >= limiter {
		return limiter / 2 // a range all the same
	}
	return first
}

// Part returns the first and the last of the run's speeds, rad/s. ok is false where they go from FirstSpeed, or below, to the limiter: then the run
// is of all speeds.
func (r *Run) Part() (first, last float64, ok bool) {
	if len(r.Outcomes) == 0 {
		return 0, 0, false
	}
	const same = 1 + 1e-6 // what a sum of steps leaves
	limiter := r.Trim.Engine.Limiter
	first, last = r.Outcomes[0].Speed, r.Outcomes[len(r.Outcomes)-1].Speed
	return first, last, first > FirstSpeed(limiter)*same || last < limiter/same
}

// Peak returns the outcome with the highest value of a figure; nil where no point has a solution.
func (r *Run) Peak(get func(p *airpath.Point) float64) *boost.Outcome {
	if i := boost.Highest(r.Outcomes, get); i >= 0 {
		return &r.Outcomes[i]
	}
	return nil
}

// Torque, Power and FuelFlow are figures to look for the highest of.
func Torque(p *airpath.Point) float64   { return p.Torque }
func Power(p *airpath.Point) float64    { return p.Power }
func FuelFlow(p *airpath.Point) float64 { return p.FuelFlow }

// AirPerCycle returns the moist air that one cylinder takes in a cycle, kg: ṁ 4π/(N z).
func AirPerCycle(p *airpath.Point) float64 { return p.FuelPerCycle * p.AirFlow / p.FuelFlow }

// RPM returns a speed of rotation, rad/s, in rpm, for words.
func RPM(speed float64) float64 { return math.Round(speed * 30 / math.Pi) }

// Speed returns what stands in a sentence for an engine speed, rad/s.
func Speed(speed float64) string { return Named(speed, units.Full) }

// Speeds returns what stands in a sentence for the engine speeds from the first to the last, rad/s.
func Speeds(first, last float64) string {
	if first == last {
		return Speed(first)
	}
	return units.Range(RPM(first)*math.Pi/30, RPM(last)*math.Pi/30, units.Speed)
}

// SpeedList returns what stands in a sentence for engine speeds with commas between, rad/s.
func SpeedList(speeds []float64) string {
	texts := make([]string, len(speeds))
	for i, s := range speeds {
		texts[i] = Named(s, units.Bare)
	}
	if n := len(speeds); n > 0 {
		texts[n-1] = Speed(speeds[n-1])
	}
	return strings.Join(texts, ", ")
}

// Named is Speed with as much of the unit's name as that.
func Named(speed float64, name units.Naming) string {
	return units.Figure{Value: RPM(speed) * math.Pi / 30, Kind: units.Speed, Digits: units.DefaultDigits, Name: name}.Mark()
}
