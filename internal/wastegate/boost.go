package wastegate

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// An Engine returns the state of the engine at a boost, Pa above the venue, and the wastegate lift that holds it there, m.
type Engine func(boost float64) (Point, error)

// A Span is the range of boost that an engine can be asked for at one speed, Pa above the venue.
type Span struct {
	Lowest  float64 // with the wastegate fully open, or the least of interest
	Highest float64 // with the wastegate shut
}

// An End is where in a span an answer lies.
type End int

// The ends of a span.
const (
	Within  End = iota // forces balance
	Lowest             // the actuator opens the valve further than the lowest boost of the span asks for
	Highest            // the actuator keeps the valve further shut than the highest boost of the span asks for
)

// A Reach is the boost that a setting of the boost control leads to.
type Reach struct {
	Boost  float64 // Pa above the venue
	End    End
	Excess float64 // port force less the one needed, N: next to 0 Within, positive at Lowest, negative at Highest
}

// boostTolerance is 1e-8 of sea-level pressure, a tenth of what an engine's own solution is good for: closer, the search
// would follow that one's last digits.
const boostTolerance = 1e-3

// SpringOnlyBoost returns the boost without any pulsing: the opening port at the source, the closing port vented.
//
//	(ps − pa) Ao = F0 + k L l ∓ (p3 − p4) Av/L, solved for the boost on which ps, l, p3 and p4 depend
//
// Errors are those of BoostAt.
func (a Actuator) SpringOnlyBoost(engine Engine, span Span) (Reach, error) {
	return System{Actuator: a}.boostWhere(engine, span, func(y *System, s *State) (float64, error) { return y.portForce(s, 0) })
}

// BoostAt returns the boost that a duty from 0 to 1 leads to: where the ports give the force that the lift needs which the
// engine needs.
//
//	(po(D) − pa) Ao − (pc(D) − pa) Ac = F0 + k L l ∓ (p3 − p4) Av/L, solved for the boost on which all but D, F0 and k L depend
//
// Where the port force is the larger one all over the span, the answer is its lowest boost, and its highest where it is
// the smaller one. An engine's error, a system without a pulsed valve, and a balance that falls the other way, are errors:
// from that one the valve would snap to its seat or to its stop, as one can that the exhaust presses shut.
func (y System) BoostAt(duty float64, engine Engine, span Span) (Reach, error) {
	if !y.driven() {
		return Reach{}, errors.New("boost at a duty: the boost control has no pulsed valve")
	}
	if !(duty >= 0 && duty <= 1) {
		return Reach{}, fmt.Errorf("duty is %v; want 0 to 1", duty)
	}
	return y.boostWhere(engine, span, func(y *System, s *State) (float64, error) { return y.portForce(s, duty) })
}

// HighestBoost returns the boost with everything holding the valve shut that can: BoostAt the duty of least port force.
// Without a pulsed valve it is that of SpringOnlyBoost.
func (y System) HighestBoost(engine Engine, span Span) (Reach, error) {
	return y.boostWhere(engine, span, func(y *System, s *State) (float64, error) {
		e, err := y.extremes(s)
		return e.least, err
	})
}

// LowestBoost returns the boost with everything pushing the valve open that can: BoostAt the duty of greatest port force.
// Without a pulsed valve it is that of SpringOnlyBoost. A bleed leaves it above that: it keeps the port below the source.
func (y System) LowestBoost(engine Engine, span Span) (Reach, error) {
	return y.boostWhere(engine, span, func(y *System, s *State) (float64, error) {
		e, err := y.extremes(s)
		return e.greatest, err
	})
}

// BoostPerDuty returns how much the boost moves with the duty, Pa per 1 % of duty.
//
//	(boost(D + 1 %) − boost(D − 1 %))/2; to one side at an end of the duty or where the boost has reached an end of the span
//
// The sign is that of boost against duty. It is 0 where the boost at the duty is at an end of the span already.
func (y System) BoostPerDuty(duty float64, engine Engine, span Span) (float64, error) {
	const step = 0.01
	here, err := y.BoostAt(duty, engine, span)
	if err != nil || here.End != Within {
		return 0, err
	}
	lo, hi := here, here
	below, above := 0.0, 0.0
	if d := math.Max(duty-step, 0); d < duty {
		r, err := y.BoostAt(d, engine, span)
		if err != nil {
			return 0, err
		}
		if r.End == Within {
			lo, below = r, duty-d
		}
	}
	if d := math.Min(duty+step, 1); d > duty {
		r, err := y.BoostAt(d, engine, span)
		if err != nil {
			return 0, err
		}
		if r.End == Within {
			hi, above = r, d-duty
		}
	}
	if below+above == 0 {
		return 0, fmt.Errorf("boost over duty: 1 %% to either side of %v leads out of the span of %v Pa to %v Pa", duty, span.Lowest, span.Highest)
	}
	return (hi.Boost - lo.Boost) / (below + above) * step, nil
}

func (y System) boostWhere(engine Engine, span Span, force func(*System, *State) (float64, error)) (Reach, error) {
	if err := y.Validate(); err != nil {
		return Reach{}, err
	}
	if !(span.Lowest < span.Highest) || !finite(span.Lowest) || !finite(span.Highest) {
		return Reach{}, fmt.Errorf("span of boost is %v Pa to %v Pa; want a rising one", span.Lowest, span.Highest)
	}
	var failure error
	ends := [2]float64{math.NaN(), math.NaN()}
	root, err := numeric.FindRoot(func(boost float64) float64 {
		p, err := engine(boost)
		if err == nil {
			err = p.validate()
		}
		var ports float64
		if err == nil {
			ports, err = force(&y, &p.State)
		}
		if err != nil {
			if failure == nil {
				failure = fmt.Errorf("at a boost of %v Pa: %w", boost, err)
			}
			return math.NaN()
		}
		excess := ports - y.Actuator.NeededForce(p.State, p.Lift)
		switch boost {
		case span.Lowest:
			ends[0] = excess
		case span.Highest:
			ends[1] = excess
		}
		return excess
	}, span.Lowest, span.Highest, boostTolerance)

	lowest, highest := ends[0], ends[1]
	switch {
	case failure != nil:
		return Reach{}, failure
	case lowest >= 0 && highest >= 0:
		return Reach{Boost: span.Lowest, End: endUnlessZero(lowest, Lowest), Excess: lowest}, nil
	case lowest <= 0 && highest <= 0:
		return Reach{Boost: span.Highest, End: endUnlessZero(highest, Highest), Excess: highest}, nil
	case lowest > 0:
		return Reach{}, fmt.Errorf("no steady boost in %v Pa to %v Pa: the valve stays open at the one (%v N to spare) and shut at the other (%v N)",
			span.Lowest, span.Highest, lowest, -highest)
	case err != nil:
		return Reach{}, fmt.Errorf("boost: %w", err)
	}
	return Reach{Boost: root.X, Excess: root.Residual}, nil
}

func endUnlessZero(excess float64, end End) End {
	if excess == 0 {
		return Within
	}
	return end
}
