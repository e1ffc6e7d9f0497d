package sheet

import (
	"fmt"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/run"
	"bellmouth/internal/wastegate"
)

// A rest is where the boost comes to rest when the boost control opens the wastegate as far as it can: the spring still holds some. What
// is asked for below, the throttle has to do.
type rest struct {
	boost  float64 // Pa above the venue; meaningless where outlet is 0
	outlet float64 // compressor outlet pressure there, Pa; 0: not known, the wastegate is taken to open at will
}

// rests returns where the boost comes to rest at each of the run's speeds. Without an actuator nothing is known. A speed at which it is
// not found is left out: the wastegate is taken to open at will there.
func (r *Run) rests() ([]rest, error) {
	rests := make([]rest, len(r.Outcomes))
	if !r.holds() {
		return rests, nil
	}
	g, err := r.gate()
	if err != nil {
		return nil, err
	}
	if g.trial, err = r.trialEngines(); err != nil {
		return nil, err
	}
	venue := r.Trim.Venue.Pressure
	spread(len(rests), func() func(int) {
		v := g.trial.solvers()
		return func(i int) {
			o := &g.rows[i]
			o.hold()
			if o.Err != nil || !o.findEnds(v) {
				return
			}
			if o.findLowest(v); o.lowest.err != nil {
				return
			}
			if p, err := v.at(o.Speed, venue+o.lowest.Boost); err == nil {
				rests[i] = rest{o.lowest.Boost, p.CompressorOutlet}
			}
		}
	})
	return rests, nil
}

// findEnds solves the trial engine with the wastegate wide open and with all the boost there is. It reports whether it could.
func (o *gateRow) findEnds(v *trialSolvers) bool {
	venue := o.gate.run.Trim.Venue.Pressure
	if o.open = o.Point; !o.wideOpen() {
		o.open, o.trialErr = wideOpenPoint(v.plain, o.Speed, venue)
	}
	if o.trialErr == nil {
		o.most, o.trialErr = v.at(o.Speed, venue+run.FarAbove)
	}
	return o.trialErr == nil
}

// span returns the boost between the two ends, and whether the wastegate makes a difference there.
func (o *gateRow) span() (wastegate.Span, bool) {
	venue := o.gate.run.Trim.Venue.Pressure
	span := wastegate.Span{Lowest: o.open.ManifoldPressure - venue, Highest: o.most.ManifoldPressure - venue}
	return span, span.Highest-span.Lowest > controlled
}

// findLowest finds the least boost that the actuator can bring the engine down to, between the ends found before.
func (o *gateRow) findLowest(v *trialSolvers) {
	y := o.gate.system
	span, differs := o.span()
	if !differs {
		o.lowest = reach{Reach: wastegate.Reach{Boost: max(span.Lowest, span.Highest), End: wastegate.Highest}}
		return
	}
	engine := o.engine(v)
	o.lowest = o.find(span, func(span wastegate.Span) (wastegate.Reach, error) {
		if o.gate.driven() {
			return y.LowestBoost(engine, span)
		}
		return y.Actuator.SpringOnlyBoost(engine, span)
	})
}

// plane solves an engine, the run's or one like it, at the run's speeds and at manifold pressures, Pa absolute, with the wastegate on its
// spring at part load.
func (r *Run) plane(e *airpath.Engine, pressures []float64) (boost.Plane, error) {
	rests, err := r.rests()
	if err != nil {
		return boost.Plane{}, fmt.Errorf("trim %q: %w", r.Trim.Name, err)
	}
	speeds, held := make([]float64, len(r.Outcomes)), make([]float64, len(r.Outcomes))
	for i := range r.Outcomes {
		speeds[i], held[i] = r.Outcomes[i].Speed, rests[i].outlet
	}
	return boost.SweepPlane(e, r.Trim.Boost.Target, held, speeds, pressures), nil
}

// restNote says how the engine is held at part load. held are the compressor outlet pressures that the spring holds, Pa, 0 where
// they are not known, and full the full loads at the same speeds.
func (r *Run) restNote(held []float64, full []boost.Outcome) string {
	switch {
	case !r.Forced() || r.Trim.Wastegate == nil:
		return "At part load the throttle takes the rest."
	case r.Trim.Actuator == nil:
		return "At part load the wastegate is taken to be wide open as far as that leaves enough, and the throttle to take the rest: a spring that keeps it shut leaves more back pressure, less air and less torque. wastegate.actuator in the spec counts it."
	}
	text := "At part load the boost control opens the wastegate as far as its spring lets it, and the throttle takes the rest; above the spring's boost the throttle is open and the wastegate sets the pressure."
	var unknown []string
	for i, outlet := range held {
		if o := &full[i]; outlet == 0 && o.Err == nil {
			unknown = append(unknown, fmt.Sprintf("%.0f", run.RPM(o.Speed)))
		}
	}
	if unknown != nil {
		text += fmt.Sprintf(" At %s rpm no boost is found at which the spring comes to rest: the wastegate is taken to be wide open there.", strings.Join(unknown, ", "))
	}
	return text
}
