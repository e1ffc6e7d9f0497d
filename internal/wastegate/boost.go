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
	Highest float64 // with the wastegate closed
}

// An End is what a boost is held by: the balance of forces, or an end of the span or of the stroke.
type End int

// Where an answer can lie.
const (
	Within  End = iota // the forces balance
	Lowest             // the actuator opens the valve further than the lowest boost of the span asks for
	Highest            // the actuator keeps the valve further closed than the highest boost of the span asks for
	Stop               // the actuator's stroke ends: boost rises to where its greatest lift suffices
)

// A Reach is the boost that a setting of the boost control leads to.
type Reach struct {
	Boost  float64 // Pa above the venue
	End    End
	Excess float64 // port force less the one needed, N: next to 0 Within, positive at Lowest and Stop, negative at Highest
}

// boostTolerance keeps the force balance of a smooth engine below 1e-9 of its terms from 10 kPa on: superlinear steps
// end well inside of it. Closer, the search would only follow the last digits of an engine's own solution.
const boostTolerance = 1e-4

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
// the smaller one. Where it takes more lift than the stroke gives, boost rises to where that lift is enough, or to
// the span's highest. An engine's error, a system without a pulsed valve, and a balance that falls the other way, are errors:
// from that one the valve would snap to its seat or to its stop, as one can that the exhaust presses closed.
func (y System) BoostAt(duty float64, engine Engine, span Span) (Reach, error) {
	if !y.Driven() {
		return Reach{}, errors.New("boost at a duty: the boost control has no pulsed valve")
	}
	if !(duty >= 0 && duty <= 1) {
		return Reach{}, fmt.Errorf("duty is %v; want 0 to 1", duty)
	}
	return y.boostWhere(engine, span, func(y *System, s *State) (float64, error) { return y.portForce(s, duty) })
}

// HighestBoost returns the boost with everything holding the valve closed that can: BoostAt the duty of least port force.
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
//	(boost(D + 1 %) − boost(D − 1 %))/2; to one side within 1 % of an end of the duty, or where the boost has an End other than Within
//
// The sign is that of boost against duty. It is 0 where the boost at the duty has such an End itself.
func (y System) BoostPerDuty(duty float64, engine Engine, span Span) (float64, error) {
	const step = 0.01
	here, err := y.BoostAt(duty, engine, span)
	if err != nil || here.End != Within {
		return 0, err
	}
	var boosts, duties []float64
	for _, d := range []float64{duty - step, duty, duty + step} {
		if !(d >= 0 && d <= 1) {
			continue
		}
		r := here
		if d != duty {
			if r, err = y.BoostAt(d, engine, span); err != nil {
				return 0, err
			}
		}
		if r.End == Within {
			boosts, duties = append(boosts, r.Boost), append(duties, d)
		}
	}
	last := len(boosts) - 1
	if last < 1 {
		return 0, fmt.Errorf("boost over duty: 1 %% to either side of %v leads out of the span of %s to %s", duty, pascals(span.Lowest), pascals(span.Highest))
	}
	return (boosts[last] - boosts[0]) / (duties[last] - duties[0]) * step, nil
}

func (y System) boostWhere(engine Engine, span Span, force func(*System, *State) (float64, error)) (Reach, error) {
	if err := y.Validate(); err != nil {
		return Reach{}, err
	}
	if !(span.Lowest < span.Highest) || !finite(span.Lowest) || !finite(span.Highest) {
		return Reach{}, fmt.Errorf("span of boost is %v Pa to %v Pa; want a rising one", span.Lowest, span.Highest)
	}
	var failure error
	// excess returns the port force less the one needed, N, and the lift to spare as a force: stretched as a spring that
	// takes the venue's pressure on the opening area for the whole stroke, so that both weigh alike.
	excess := func(boost float64) (forces, travel float64) {
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
				failure = fmt.Errorf("at a boost of %s: %w", pascals(boost), err)
			}
			return math.NaN(), math.NaN()
		}
		greatest := y.Actuator.GreatestLift()
		return ports - y.Actuator.NeededForce(p.State, p.Lift), (1 - p.Lift/greatest) * p.VenuePressure * y.Actuator.OpeningArea
	}
	var lowest, highest struct{ forces, travel float64 }
	root, err := numeric.FindRoot(func(boost float64) float64 {
		forces, travel := excess(boost)
		switch boost {
		case span.Lowest:
			lowest.forces, lowest.travel = forces, travel
		case span.Highest:
			highest.forces, highest.travel = forces, travel
		}
		return math.Min(forces, travel) // both rise with the boost, and the boost has to satisfy both
	}, span.Lowest, span.Highest, boostTolerance)

	low, high := math.Min(lowest.forces, lowest.travel), math.Min(highest.forces, highest.travel)
	switch {
	case failure != nil:
		return Reach{}, failure
	case low > 0 && high > 0:
		return Reach{Boost: span.Lowest, End: Lowest, Excess: lowest.forces}, nil
	case low < 0 && high < 0 && highest.forces > 0:
		return Reach{Boost: span.Highest, End: Stop, Excess: highest.forces}, nil
	case low < 0 && high < 0:
		return Reach{Boost: span.Highest, End: Highest, Excess: highest.forces}, nil
	case low > 0 && high < 0:
		return Reach{}, fmt.Errorf("no steady boost in %s to %s: the valve stays open at the one (%s to spare) and closed at the other (%s)",
			pascals(span.Lowest), pascals(span.Highest), newtons(low), newtons(-high))
	case err != nil:
		return Reach{}, fmt.Errorf("boost: %w", err)
	}
	r := Reach{Boost: root.X, Excess: root.Residual}
	if lowest.travel < 0 { // the stop may have been the one that counts
		forces, travel := excess(root.X)
		if failure != nil {
			return Reach{}, failure
		}
		if r.Excess = forces; travel < forces {
			r.End = Stop
		}
	}
	return r, nil
}
