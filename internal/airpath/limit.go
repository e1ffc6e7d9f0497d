package airpath

import (
	"math"

	"bellmouth/internal/numeric"
)

// A Limit is what keeps the boost of an operating point from being higher, or, for the wastegate, lower.
type Limit int

// The limits, in the order in which they stand in lists.
const (
	Target           Limit = iota // the boost asked for is reached
	Atmosphere                    // naturally aspirated: the manifold has all the pressure there is
	Restrictor                    // the throat is choked
	Surge                         // the compressor would surge
	Choke                         // the compressor is choked
	ShaftSpeed                    // of the turbocharger, or the top line of the map
	Spool                         // the turbine takes all exhaust and gives what power there is
	Creep                         // the wastegate is wide open and passes no more
	Injector                      // allowed duty
	Actuator                      // of the wastegate: it lets the valve open further than the boost needs
	Spring                        // of that actuator, or its stroke: it keeps the valve further closed than less boost needs
	Knock                         // at the latest phasing accepted
	CylinderPressure              // at the latest phasing accepted
	GearboxTorque
	Throttle // part load: less is asked for than the wide-open wastegate leaves, or than the atmosphere gives
	limitCount
)

// A side is the way a limit works on the boost.
type side int

const (
	apart side = iota // it names a point without being sought
	upper             // the wastegate opens, so that the boost is not higher
	lower             // whatever the wastegate is told, the boost is not lower
	power             // the turbine's power ends, and the boost with it, wastegate or not
)

// A limitEntry is all that the solver knows of a limit. A bound is positive where the limit is kept, 0 where it binds and negative
// where it is not kept, in its natural scale: a logarithm of a ratio, or a share. +Inf is no limit.
type limitEntry struct {
	name    string
	meaning string // for people, one line
	side    side
	bound   func(e *Engine, t *trial, s *flowState) float64 // of the air path alone
	cycle   func(v *Solver) float64                         // of air path and cycle; nil for those above

	// relative limits count from where the way up has come nearest to keeping them: next to no boost every compressor is past the
	// choke end of its map, and leaves it behind; where the map is never reached the boost ends where it comes nearest.
	relative bool

	// cold limits do not know the exhaust's temperature: their bound is right whatever that is.
	cold bool

	// passage limits are a place that all the air has to pass. Where it is choked and the wastegate wide open, the passage
	// names the point and not the wastegate: no lower boost would give more air.
	passage bool

	unmet  Note   // on a point that does not keep it although the wastegate is wide open
	stage  string // and reason: the words of a refusal where a lower limit is not kept up to the end of what the parts are known for
	reason string
}

// limits is the one place where a limit is made: its constant above, and its entry here.
var limits = [limitCount]limitEntry{
	Target: {name: "target", meaning: "The boost target is reached, and the wastegate opens to keep it there.",
		side: upper, cold: true, bound: targetBound},
	Atmosphere: {name: "atmosphere", meaning: "A naturally aspirated engine has all the pressure that the air outside gives.",
		side: upper, cold: true, bound: func(e *Engine, _ *trial, s *flowState) float64 {
			if e.Compressor != nil {
				return math.Inf(1)
			}
			return numeric.Log(s.p1 / s.p2)
		}},
	Restrictor: {name: "restrictor", meaning: "The throat of the inlet restrictor is choked: no suction behind it draws more air.",
		side: upper, cold: true, passage: true, unmet: NoteOverpulled, bound: func(e *Engine, _ *trial, s *flowState) float64 {
			if e.Restrictor == nil {
				return math.Inf(1)
			}
			return numeric.Log(s.p1 / (e.onset * s.p0))
		}},
	Surge: {
		name: "compressor surge", meaning: "More boost at this flow would pass the surge line of the compressor's map, or the margin kept from it.",
		side: upper, cold: true,
		bound: func(e *Engine, _ *trial, s *flowState) float64 {
			if e.Compressor == nil {
				return math.Inf(1)
			}
			return s.op.SurgeMargin - e.Limits.SurgeMargin
		},
	},
	Choke: {
		name: "compressor choke", meaning: "The compressor passes no more air: its flow is at the choke end of the map.",
		side: upper, relative: true,
		bound: func(e *Engine, _ *trial, s *flowState) float64 {
			if e.Compressor == nil {
				return math.Inf(1)
			}
			return s.op.ChokeMargin + chokeScatter
		},
	},
	ShaftSpeed: {
		name: "shaft speed", meaning: "The turbocharger's shaft is at its speed limit, or at the top line of the map.",
		side: upper, cold: true, unmet: NoteSpeedUnmet,
		bound: func(e *Engine, _ *trial, s *flowState) float64 {
			if e.Compressor == nil {
				return math.Inf(1)
			}
			return numeric.Log(e.speedLimit / s.shaft)
		},
	},
	Spool: {name: "turbine", meaning: "The turbine takes all the exhaust and gives what power there is: the turbocharger has not spooled further.",
		side: power, bound: func(e *Engine, _ *trial, s *flowState) float64 {
			if e.Turbine == nil {
				return math.Inf(1)
			}
			return s.wastegate / s.exhaustFlow
		}},
	Creep: {
		name: "wastegate creep", meaning: "The wastegate is wide open and passes no more, so that the boost is not lower.",
		side: lower, stage: "wastegate",
		reason: "wide open it passes too little and the boost runs away, beyond what map and turbine are known for",
		bound: func(e *Engine, _ *trial, s *flowState) float64 {
			if e.Turbine == nil {
				return math.Inf(1)
			}
			return (s.wastegateMax - s.wastegate) / s.exhaustFlow
		},
	},
	Injector: {name: "injector", meaning: "The injectors are at the duty allowed and give no more fuel.",
		side: upper, cold: true, unmet: NoteInjectorUnmet, bound: injectorBound},
	Actuator: {name: "wastegate actuator", meaning: "Spring and ports let the wastegate open further than the target needs, so that the boost is not higher.",
		side: upper, bound: func(_ *Engine, _ *trial, s *flowState) float64 { return s.shutting }},
	Spring: {
		name: "wastegate spring", meaning: "The actuator's spring, or its stroke, opens the wastegate no further, so that the boost is not lower.",
		side: lower, stage: "wastegate actuator",
		reason: "it opens the wastegate too little and the boost runs away, beyond what map and turbine are known for",
		bound:  func(_ *Engine, _ *trial, s *flowState) float64 { return s.opening },
	},
	Knock: {name: "knock",
		meaning: "The burn is at the latest accepted and the knock integral at its limit: more boost would knock. Behind another limit, knock holds the burn late.",
		side:    upper, unmet: NoteKnockUnmet, cycle: func(v *Solver) float64 {
			return v.afterRetard(v.knockRoom())
		}},
	CylinderPressure: {
		name:    "cylinder pressure",
		meaning: "The burn is at the latest accepted and the peak pressure at its limit. Behind another limit, the pressure holds the burn late.",
		side:    upper, unmet: NotePeakPressureUnmet,
		cycle: func(v *Solver) float64 { return v.afterRetard(v.peakRoom()) },
	},
	GearboxTorque: {
		name: "gearbox torque", meaning: "The engine gives the torque that the gearbox takes.",
		side: upper, unmet: NoteTorqueUnmet,
		cycle: (*Solver).torqueRoom,
	},
	Throttle: {name: "throttle", meaning: "Part load: less is asked for than the wide-open wastegate leaves, or than the atmosphere gives.",
		side: apart},
}

// chokeScatter is the share of the flow by which the choke end of a line is passed before it limits the boost: measured choke sides are
// vertical to within it (see compressor.NewMap), and along such a side no place is choked more than another.
const chokeScatter = 0.005

// boundCount is the number of limits that one evaluation of the air path decides, without the cycle.
const boundCount = int(Spring) + 1

// targetBound is ln(pressure asked for / pressure there). At part load the wastegate's spring asks, at the compressor's outlet.
func targetBound(_ *Engine, t *trial, s *flowState) float64 {
	switch {
	case !t.throttled:
		return numeric.Log(t.target / s.pm)
	case t.held > 0:
		return numeric.Log(t.held / s.p2)
	}
	return math.Inf(1)
}

// injectorBound is ln(fuel that the allowed duty gives / fuel needed).
func injectorBound(e *Engine, t *trial, s *flowState) float64 {
	if e.Injection == nil {
		return math.Inf(1)
	}
	most := t.r.maxFuel
	if e.Injection.Fixed {
		most = e.Injection.mostFuel(t.r.speed, e.Injection.RailPressure+e.Venue.Pressure-s.pm)
	}
	return numeric.Log(most / (s.flow * t.r.fuelRatio / t.r.cycles))
}

// String returns the limit's name in tables: "compressor surge".
func (l Limit) String() string {
	if l < 0 || l >= limitCount {
		return "unknown"
	}
	return limits[l].name
}

// AllLimits returns every limit there is, in the order in which they stand in lists.
func AllLimits() []Limit {
	all := make([]Limit, limitCount)
	for l := range limitCount {
		all[l] = l
	}
	return all
}

// Meaning returns what it means that the limit governs a point.
func (l Limit) Meaning() string { return limits[l].meaning }

// A LimitSet is a set of limits.
type LimitSet uint

// Has reports whether the set holds a limit.
func (s LimitSet) Has(l Limit) bool { return s&(1<<l) != 0 }

// With returns the set with a limit added.
func (s LimitSet) With(l Limit) LimitSet { return s | 1<<l }

// Without returns the set with a limit taken out.
func (s LimitSet) Without(l Limit) LimitSet { return s &^ (1 << l) }

// Names returns the names of the set with the governing limit first and the others in their order.
func (s LimitSet) Names(governing Limit) []string {
	names := []string{governing.String()}
	for l := range limitCount {
		if l != governing && s.Has(l) {
			names = append(names, l.String())
		}
	}
	return names
}

// A Holder is what holds the wastegate's valve against spring, ports and exhaust.
type Holder interface {
	// Room returns how far the Holder is from letting go of the valve's lift, as a share of its own size. shutting, with everything holding the
	// valve closed that can: negative, the valve opens further. opening, with everything pushing it open: negative, it stays further closed.
	Room(v Valve) (shutting, opening float64)
}

// A Valve is what a Holder finds at a state of the air path. Pressures are absolute, Pa; temperatures K.
type Valve struct {
	VenuePressure                               float64
	CompressorPressure, CompressorTemperature   float64 // at the compressor's outlet
	ManifoldPressure, ManifoldTemperature       float64
	TurbineInletPressure, TurbineOutletPressure float64
	Lift                                        float64 // that passes what the turbine does not need, m; at most a quarter of the bore
}

// followHolder asks the Holder at the lift that the state needs. At part load the spring is counted by the pressure that it holds.
func (e *Engine) followHolder(t *trial, s *flowState) {
	s.shutting, s.opening = math.Inf(1), math.Inf(1)
	if e.Holder == nil || e.Wastegate == nil || t.throttled {
		return
	}
	lift, _ := e.Wastegate.LiftFor(s.nozzle, s.wastegate)
	s.shutting, s.opening = e.Holder.Room(Valve{
		VenuePressure: e.Venue.Pressure, CompressorPressure: s.p2, CompressorTemperature: s.t2, ManifoldPressure: s.pm, ManifoldTemperature: s.tm,
		TurbineInletPressure: s.p3, TurbineOutletPressure: s.p4, Lift: min(lift, e.Wastegate.Bore/4),
	})
}

// unheld reports whether the Holder could not be followed.
func (s *flowState) unheld() bool { return math.IsNaN(s.shutting) || math.IsNaN(s.opening) }

func (v *Solver) failUnheld() error {
	return v.fail("wastegate actuator", "the pressure of a port was not found", 0, 0)
}

// gate returns the least room of the lower limits, and which it is: negative, the boost is higher than it is told.
func (s *flowState) gate() (room float64, by Limit) {
	room, by = math.Inf(1), Creep
	for l := range limits {
		if limits[l].side == lower && s.bounds[l] < room {
			room, by = s.bounds[l], Limit(l)
		}
	}
	return room, by
}
