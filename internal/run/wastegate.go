package run

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/gas"
	"bellmouth/internal/pool"
	"bellmouth/internal/turbine"
	"bellmouth/internal/wastegate"
)

// A Gate is what the wastegate and, where the spec has one, its actuator do at each speed of a run.
type Gate struct {
	Run    *Run
	Points []GatePoint // one an outcome of the run
	holder *holder     // nil without an actuator
	trial  trialEngines
	unheld func(o *boost.Outcome) *boost.Outcome
}

// A GatePoint is one speed. Hold finds how the actuator holds it, and Run.Gate the rest.
type GatePoint struct {
	*boost.Outcome                // that the engine would have without the actuator, where this is what holds it
	Own            *boost.Outcome // of the run

	Open, Most airpath.Point // the trial engine with the wastegate wide open, and with all the boost there is
	TrialErr   error         // why there are no such points
	Left       airpath.Point // with the wastegate as far open as the actuator's stroke goes
	LeftErr    error         // why there is no such point
	Bore       float64       // of a wastegate that would pass what creeps, m; NaN where nothing creeps
	BoreErr    error         // why that is not known

	Holding    wastegate.Holding // how the actuator holds the point
	HoldErr    error             // why that is not known
	Spring     Reach             // without pulsing
	Lowest     Reach             // with the duty that opens furthest
	Highest    Reach             // with the duty that shuts hardest
	PerDuty    float64           // Pa for 1 % of duty; NaN where no duty holds the point
	PerDutyErr error             // why that is not known
	Preload    float64           // of the spring, that holds the point without pulsing, N
	PreloadErr error             // why that is not known

	gate *Gate
}

// A Reach is the boost that a setting of the boost control leads to, or why it is not known.
type Reach struct {
	wastegate.Reach
	Err error
}

// NewGate returns a run's gate with no points. The trim has to have a compressor and a wastegate.
func NewGate(r *Run) (*Gate, error) {
	g := &Gate{Run: r}
	var err error
	if g.holder, err = holderOf(r.Trim); err != nil {
		return nil, err
	}
	g.unheld = r.unheld()
	return g, nil
}

// Gate computes what wastegate and actuator do at the run's points. The trim has to have a compressor and a wastegate. Speeds are spread over the
// cores; the values do not depend on how many there are.
func (r *Run) Gate() (*Gate, error) {
	g, err := NewGate(r)
	if err != nil {
		return nil, err
	}
	if g.trial, err = g.trialEngines(); err != nil {
		return nil, err
	}
	g.Points = make([]GatePoint, len(r.Outcomes))
	for i := range g.Points {
		g.Points[i] = g.point(&r.Outcomes[i])
	}
	err = pool.Each(r.Context, len(g.Points), func() func(int) error {
		v := g.trial.solvers()
		return func(i int) error {
			g.Points[i].solve(v)
			return nil
		}
	})
	return g, err
}

// point returns one speed with nothing computed.
func (g *Gate) point(o *boost.Outcome) GatePoint {
	return GatePoint{Outcome: g.unheld(o), Own: o, gate: g, Bore: math.NaN(), PerDuty: math.NaN()}
}

// ValveLift returns the greatest lift that valve and actuator's stroke give, m.
func (g *Gate) ValveLift() float64 {
	lift := g.Run.Trim.Wastegate.Lift
	if a := g.Run.Trim.Actuator; a != nil {
		lift = math.Min(lift, a.GreatestLift())
	}
	return lift
}

// MostLift returns the greatest lift that counts, m: that of valve and stroke, or a quarter of the bore, beyond which a valve passes no more.
func (g *Gate) MostLift() float64 { return math.Min(g.ValveLift(), g.Run.Trim.Wastegate.Bore/4) }

// Any reports whether something holds at a solved speed.
func (g *Gate) Any(holds func(o *GatePoint) bool) bool {
	for i := range g.Points {
		if o := &g.Points[i]; o.Err == nil && holds(o) {
			return true
		}
	}
	return false
}

// WidestLift returns the solved point with the largest lift; nil where none is solved.
func (g *Gate) WidestLift() (widest *GatePoint) {
	for i := range g.Points {
		if o := &g.Points[i]; o.Err == nil && (widest == nil || o.Lift() > widest.Lift()) {
			widest = o
		}
	}
	return widest
}

// LargestBore returns the point that wants the largest bore against creep; nil where the boost creeps at none, or no bore is found.
func (g *Gate) LargestBore() (largest *GatePoint) {
	for i := range g.Points {
		if o := &g.Points[i]; o.BoreErr == nil && !math.IsNaN(o.Bore) && (largest == nil || o.Bore > largest.Bore) {
			largest = o
		}
	}
	return largest
}

// Trial engines are asked what boost an actuator would lead to. The limits that only the boost control keeps are off, since here it is the boost
// control that is asked: gearbox, injectors, speed limit of the shaft, surge margin, and the actuator itself. What the parts cannot pass stays:
// throat, turbine, surge line and map.
type trialEngines struct {
	plain   *airpath.Engine // knock and cylinder pressure hold the burn late as at the run's own points, and then the boost down
	late    *airpath.Engine // the burn at the latest accepted whatever the knock: where the plain one would lower the boost
	reached *airpath.Engine // plain, with the lift that the actuator's stroke gives; plain itself where that is all of it
	large   *airpath.Engine // plain, with a wastegate that passes whatever it has to
}

// noKnockLimit is a knock integral that no engine comes to before its boost is out of the map.
const noKnockLimit = 10

// largeScale is how much larger than the wastegate the one is, in bore and lift, with which the state is found that a creeping boost keeps from
// being reached.
const largeScale = 4

func (g *Gate) trialEngines() (t trialEngines, err error) {
	s := g.Run.Engine.Setup
	s.Limits = airpath.Limits{PeakPressure: s.Limits.PeakPressure}
	s.Injection, s.Holder = nil, nil
	c := *s.Compressor
	c.SpeedLimit = 0
	s.Compressor = &c
	build := func(change func(s *airpath.Setup)) *airpath.Engine {
		own := s
		w := *s.Wastegate
		own.Wastegate = &w
		change(&own)
		e, failure := airpath.New(own)
		if err == nil && failure != nil {
			err = fmt.Errorf("trim %q: %w", g.Run.Trim.Name, failure)
		}
		return e
	}
	t.plain = build(func(*airpath.Setup) {})
	t.late = build(func(s *airpath.Setup) {
		s.Limits.PeakPressure, s.Combustion.KnockLimit = 0, noKnockLimit
		s.Combustion.BestCA50 = s.Combustion.LatestCA50
	})
	t.reached = t.plain
	if lift := g.ValveLift(); lift < s.Wastegate.Lift {
		t.reached = build(func(s *airpath.Setup) { s.Wastegate.Lift = lift })
	}
	t.large = build(func(s *airpath.Setup) {
		s.Wastegate.Bore *= largeScale
		s.Wastegate.Lift *= largeScale
	})
	return t, err
}

// trialSolvers solve the trial engines' points; each goroutine has its own.
type trialSolvers struct{ plain, late, reached, large *airpath.Solver }

func (t *trialEngines) solvers() *trialSolvers {
	return &trialSolvers{t.plain.NewSolver(), t.late.NewSolver(), t.reached.NewSolver(), t.large.NewSolver()}
}

// at returns the operating point for a manifold pressure, Pa absolute.
func (v *trialSolvers) at(speed, pressure float64) (airpath.Point, error) {
	d := airpath.Demand{Speed: speed, Target: pressure}
	p, err := v.plain.Solve(d)
	if err == nil && (p.Limit == airpath.Knock || p.Limit == airpath.CylinderPressure) && !came(&p, pressure) {
		return v.late.Solve(d)
	}
	return p, err
}

// sameBoost is how far the boost of a trial may miss what was asked for, as a share of the manifold pressure: what the solver leaves open.
const sameBoost = 1e-5

// came reports whether a point came to the manifold pressure asked for, Pa absolute.
func came(p *airpath.Point, pressure float64) bool {
	return math.Abs(p.ManifoldPressure-pressure) <= sameBoost*pressure
}

// belowAll is a target as a share of the venue's pressure that a wide-open wastegate does not come down to.
const belowAll = 0.5

// isWideOpen reports whether the wastegate is as far open as it goes: the boost creeps past what is asked for, or the turbocharger pulls at a
// choked restrictor harder than it need.
func isWideOpen(p *airpath.Point) bool {
	return p.Limit == airpath.Creep || p.Notes&airpath.NoteOverpulled != 0 && !p.Limits.Has(airpath.Spring)
}

// WideOpenPoint returns the operating point at a speed, rad/s, with the wastegate as far open as it goes. venue is the pressure there, Pa. With a
// throat that is choked even so, the solver finds it from a little boost.
func WideOpenPoint(solver *airpath.Solver, speed, venue float64) (airpath.Point, error) {
	const little = 1.1
	p, err := solver.Solve(airpath.Demand{Speed: speed, Target: belowAll * venue})
	if err == nil {
		return p, nil
	}
	if again, e := solver.Solve(airpath.Demand{Speed: speed, Target: little * venue}); e == nil && isWideOpen(&again) {
		return again, nil
	}
	return airpath.Point{}, err
}

// solve finds all that the actuator and the valve do at the point.
func (o *GatePoint) solve(v *trialSolvers) {
	if o.Err != nil {
		return
	}
	o.hold()
	if !o.findEnds(v) {
		return
	}
	o.Left = o.Open
	if o.gate.trial.reached != o.gate.trial.plain {
		o.Left, o.LeftErr = WideOpenPoint(v.reached, o.Speed, o.venue())
	}
	if o.Creeps() {
		o.Bore, o.BoreErr = o.boreNeeded(v.large)
	}
	if o.gate.HasActuator() {
		o.findRange(v)
	}
}

func (o *GatePoint) venue() float64 { return o.gate.Run.Trim.Venue.Pressure }

// findEnds solves the trial engine with the wastegate wide open and with all the boost there is. It reports whether it could.
func (o *GatePoint) findEnds(v *trialSolvers) bool {
	if o.Open = o.Point; !o.WideOpen() {
		o.Open, o.TrialErr = WideOpenPoint(v.plain, o.Speed, o.venue())
	}
	if o.TrialErr == nil {
		o.Most, o.TrialErr = v.at(o.Speed, o.venue()+FarAbove)
	}
	return o.TrialErr == nil
}

// controlled is the least difference of boost, Pa, between the wide-open and the shut wastegate that is taken for one.
const controlled = 100

// span returns the boost between the two ends, and whether the wastegate makes a difference there.
func (o *GatePoint) span() (wastegate.Span, bool) {
	span := wastegate.Span{Lowest: o.Open.ManifoldPressure - o.venue(), Highest: o.Most.ManifoldPressure - o.venue()}
	return span, span.Highest-span.Lowest > controlled
}

// Lift returns the lift l that the engine needs at the point, m: beyond a quarter of the bore a valve passes no more.
func (o *GatePoint) Lift() float64 { return o.gate.lift(&o.Point) }

func (g *Gate) lift(p *airpath.Point) float64 {
	return math.Min(p.WastegateLift, g.Run.Trim.Wastegate.Bore/4)
}

// WideOpen reports whether the wastegate is as far open as it goes at the point: the boost creeps, or the turbocharger pulls at a choked restrictor
// harder than it need.
func (o *GatePoint) WideOpen() bool { return isWideOpen(&o.Point) }

// Controls reports whether it is the wastegate's lift that sets the boost of the point: neither shut nor wide open.
func (o *GatePoint) Controls() bool { return o.Point.WastegateLift > 0 && !o.WideOpen() }

// Creeps reports whether the valve, or the actuator's stroke, is too small for the boost that is wanted.
func (o *GatePoint) Creeps() bool {
	return o.WideOpen() || o.LeftErr != nil || o.Creep() > ReachedWithin
}

// Creep returns by how much the boost is above what is wanted with the wastegate as far open as it goes, Pa.
func (o *GatePoint) Creep() float64 { return math.Max(0, o.LeftBoost()-o.Wanted()) }

// LeftBoost returns what boost remains with the wastegate as far open as it goes, Pa above the venue. Where the boost creeps at the run's own point,
// it is that one's: the knock of what is asked for burns late and keeps the exhaust hot, and the boost does not come down to what it would be
// from below.
func (o *GatePoint) LeftBoost() float64 {
	left := o.Left.ManifoldPressure - o.venue()
	if o.WideOpen() {
		left = math.Max(left, o.Boost(o.venue()))
	}
	return left
}

// Wanted returns the boost that the boost control has to hold, Pa above the venue: what the engine's other limits leave of what is asked for.
func (o *GatePoint) Wanted() float64 {
	if o.WideOpen() {
		return math.Min(o.TargetBoost, o.Boost(o.venue()))
	}
	return o.Boost(o.venue())
}

// boreNeeded returns the seat bore, m, with which the wastegate passes what it has to at the boost asked for.
func (o *GatePoint) boreNeeded(large *airpath.Solver) (float64, error) {
	if o.gate.ValveLift() < o.gate.Run.Trim.Wastegate.Lift && !o.WideOpen() {
		return 0, errors.New("the valve is large enough, the actuator's stroke too short")
	}
	p, err := large.Solve(airpath.Demand{Speed: o.Speed, Target: o.venue() + o.Wanted()})
	if err != nil {
		return 0, err
	}
	if isWideOpen(&p) {
		return 0, fmt.Errorf("a wastegate of %d times its bore and lift creeps as well: a larger turbine", largeScale)
	}
	n, err := o.gate.nozzle(&p)
	if err != nil {
		return 0, err
	}
	return wastegate.BoreFor(*o.gate.trial.reached.Wastegate, n, p.WastegateFlow)
}

// nozzle returns what the wastegate finds at an operating point.
func (g *Gate) nozzle(p *airpath.Point) (turbine.Nozzle, error) {
	charge, err := g.Run.Engine.Fuel.Charge(g.Run.Engine.Venue, p.Lambda)
	if err != nil {
		return turbine.Nozzle{}, err
	}
	exhaust := gas.Mix(charge.Unburned, charge.Burned, p.ExhaustBurned)
	of := turbine.GasOf(&exhaust, p.TurbineInletTemperature, p.ExpansionRatio)
	return turbine.Nozzle{
		Pressure: p.TurbineInletPressure, Temperature: p.TurbineInletTemperature, OutletPressure: p.TurbineOutletPressure,
		Gamma: of.Gamma, GasConstant: of.GasConstant, Pulse: p.Pulse,
	}, nil
}

// A reachError is a trial boost that the engine does not come to.
type reachError struct{ limit airpath.Limit }

func (e *reachError) Error() string { return e.limit.String() + " comes first" }

// Reason says why there is no solution, without the figures of the search.
func Reason(err error) string {
	var point *airpath.PointError
	if errors.As(err, &point) {
		return point.Stage + ": " + point.Reason
	}
	return err.Error()
}

// ReachReason is Reason for a boost that a setting of the boost control leads to.
func ReachReason(err error) string {
	var reach *reachError
	if errors.As(err, &reach) {
		return "no steady boost: on the way " + reach.Error()
	}
	return Reason(err)
}
