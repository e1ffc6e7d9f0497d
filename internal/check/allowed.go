package check

import (
	"context"
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/run"
)

// An Allowance is the highest boost at each speed of a run at which every stated limit holds.
type Allowance struct {
	Run    *run.Run
	Speeds []AllowedBoost
}

// An AllowedBoost is that of one speed.
type AllowedBoost struct {
	boost.Outcome         // at the boost allowed; its Err is why there is none
	Target        float64 // of the spec, Pa above the venue
	By            string  // what sets it
	Turbine       bool    // that is the turbine: there is no more to be had
}

// AllowedWithin is how nearly the boost allowed is found, Pa: a tenth of what is printed.
const AllowedWithin = 100

// NoSolution is what is said of a point that has none.
const NoSolution = "no solution"

// A NothingAllowedError says that a limit is passed whatever the boost.
type NothingAllowedError struct{ By string }

func (e NothingAllowedError) Error() string {
	return "fails at the least boost too: " + e.By
}

// Allowed finds the highest boost that the limits allow: those of the operating point, which end it by themselves (knock with its margin, at the
// latest burn accepted; cylinder pressure, gearbox, shaft, surge, choke, throat, injectors, what the actuator holds), and those that are only
// judged: EGT, the fuel pumps, the worst cylinder. Needs a compressor.
func Allowed(r *run.Run) *Allowance {
	a := &Allowance{Run: r, Speeds: make([]AllowedBoost, len(r.Outcomes))}
	for i := range a.Speeds {
		a.Speeds[i].Err = context.Canceled // until it is begun
	}
	_ = boost.Each(r.Context, r.Engine, len(a.Speeds), func(v *airpath.Solver, i int) {
		o := &r.Outcomes[i]
		a.Speeds[i] = allowedAt(r, v, o.Speed)
		a.Speeds[i].Target = o.TargetBoost
	})
	return a
}

// fails returns the first check of an operating point that the point fails, empty where it passes all. Checks that less boost does not mend, as the
// mixture of a lean cylinder, are left to the checks.
func fails(r *run.Run, o *boost.Outcome) string {
	one := At(r.With([]boost.Outcome{*o}))
	in := InputOf(one.Fine)
	var fs []Finding
	for _, m := range in.Margins() {
		if f, ok := m.Finding(in.Outcomes); ok {
			fs = append(fs, f)
		}
	}
	fs = append(fs, in.Unmet()...)
	fs = append(fs, one.pumps()...)
	cylinders, err := one.Cylinders()
	if err != nil {
		return "the cylinders cannot be judged"
	}
	for _, f := range cylinders {
		if f.ID == WorstCylinderKnock || f.ID == FullestCylinderPressure {
			fs = append(fs, f)
		}
	}
	if failed := Failed(fs); failed != nil {
		return failed[0]
	}
	return ""
}

func allowedAt(r *run.Run, v *airpath.Solver, speed float64) AllowedBoost {
	venue := r.Trim.Venue.Pressure
	at := func(target float64) boost.Outcome {
		o := boost.Outcome{Speed: speed, TargetBoost: target - venue}
		o.Point, o.Err = v.Solve(airpath.Demand{Speed: speed, Target: target})
		return o
	}
	top := at(venue + run.FarAbove)
	if top.Err != nil {
		return AllowedBoost{Outcome: top}
	}
	by := fails(r, &top)
	if by == "" {
		return AllowedBoost{Outcome: top, By: strings.Join(top.Point.Limits.Names(top.Point.Limit), ", "), Turbine: top.Point.Limit == airpath.Spool}
	}
	best := boost.Outcome{Speed: speed}
	if best.Point, best.Err = run.WideOpenPoint(v, speed, venue); best.Err != nil {
		return AllowedBoost{Outcome: best}
	}
	if failed := fails(r, &best); failed != "" {
		best.Err = NothingAllowedError{failed}
		return AllowedBoost{Outcome: best}
	}
	// The highest target that fails no check, by halving: the boost may jump on the way, and with it what fails.
	lo, hi := best.Point.ManifoldPressure, top.Point.ManifoldPressure
	for hi-lo > AllowedWithin {
		mid := (lo + hi) / 2
		o := at(mid)
		failed := NoSolution
		if o.Err == nil {
			failed = fails(r, &o)
		}
		if failed != "" {
			hi, by = mid, failed
		} else {
			lo, best = mid, o
		}
	}
	return AllowedBoost{Outcome: best, By: by}
}

// AsTarget returns the boost allowed as a line to put into a spec. A boost is rounded down to 0.01 bar, and left as much below what a limit sets: the
// table of targets runs smoothly between its points, and not quite as the limits do. Where the turbine gives no more, the next speed that has
// a limit says what to ask for. ok is false where no speed has one.
func (a *Allowance) AsTarget() (line string, ok bool) {
	const step, clear = 1e3, 1e3 // Pa
	venue := a.Run.Trim.Venue.Pressure
	var pairs []string
	for i := range a.Speeds {
		o := &a.Speeds[i]
		next := i
		for next < len(a.Speeds) && (a.Speeds[next].Err != nil || a.Speeds[next].Turbine) {
			next++
		}
		if o.Err != nil || next == len(a.Speeds) {
			continue
		}
		pascals := math.Floor((a.Speeds[next].Boost(venue)-clear)/step) * step
		if pascals < 0 {
			continue
		}
		pairs = append(pairs, fmt.Sprintf("%.0f rpm: %.2f bar", run.RPM(o.Speed), pascals/1e5))
	}
	if pairs == nil {
		return "", false
	}
	return "target: {" + strings.Join(pairs, ", ") + "}", true
}
