package sheet

import (
	"errors"
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/gas"
	"bellmouth/internal/run"
	"bellmouth/internal/turbine"
	"bellmouth/internal/wastegate"
)

// A Gate is what the wastegate and, where the spec has one, its actuator do at each speed of a run.
type Gate struct {
	run    *Run
	system *wastegate.System // nil without an actuator
	air    gas.Mixture
	trial  trialEngines
	rows   []gateRow
	unheld func(o *boost.Outcome) *boost.Outcome
}

// Trial engines are asked what boost an actuator would lead to. The limits that only the boost control keeps are off, since
// here it is the boost control that is asked: gearbox, injectors, speed limit of the shaft, surge margin, and the
// actuator itself. What the parts cannot
// pass stays: throat, turbine, surge line and map.
type trialEngines struct {
	plain   *airpath.Engine // knock and cylinder pressure hold the burn late as at the run's own points, and then the boost down
	late    *airpath.Engine // the burn at the latest accepted whatever the knock: where the plain one would lower the boost
	reached *airpath.Engine // plain, with the lift that the actuator's stroke gives; plain itself where that is all of it
	large   *airpath.Engine // plain, with a wastegate that passes whatever it has to
}

// noKnockLimit is a knock integral that no engine comes to before its boost is out of the map.
const noKnockLimit = 10

// largeScale is how much larger than the wastegate the one is, in bore and lift, with which the state is found that a
// creeping boost keeps from being reached.
const largeScale = 4

func (r *Run) trialEngines() (t trialEngines, err error) {
	s := r.Engine.Setup
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
			err = fmt.Errorf("trim %q: %w", r.Trim.Name, failure)
		}
		return e
	}
	t.plain = build(func(*airpath.Setup) {})
	t.late = build(func(s *airpath.Setup) {
		s.Limits.PeakPressure, s.Combustion.KnockLimit = 0, noKnockLimit
		s.Combustion.BestCA50 = s.Combustion.LatestCA50
	})
	t.reached = t.plain
	if a := r.Trim.Actuator; a != nil && a.GreatestLift() < s.Wastegate.Lift {
		t.reached = build(func(s *airpath.Setup) { s.Wastegate.Lift = a.GreatestLift() })
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

// sameBoost is how far the boost of a trial may miss what was asked for, as a share of the manifold pressure: what the
// solver leaves open.
const sameBoost = 1e-5

func came(p *airpath.Point, pressure float64) bool {
	return math.Abs(p.ManifoldPressure-pressure) <= sameBoost*pressure
}

// A gateRow is one speed.
type gateRow struct {
	*boost.Outcome                // that the engine would have without the actuator, where this is what holds it
	own            *boost.Outcome // of the run
	gate           *Gate

	open, most airpath.Point // the trial engine with the wastegate wide open, and with all the boost there is
	trialErr   error         // why there are no such points
	left       airpath.Point // with the wastegate as far open as the actuator's stroke goes
	leftErr    error
	bore       float64 // that would pass what creeps, m; NaN where nothing creeps
	boreErr    error

	holding                 wastegate.Holding
	holdErr                 error
	spring, lowest, highest reach
	perDuty                 float64 // Pa for 1 % of duty; NaN where no duty holds the point
	perDutyErr              error
	preload                 float64 // that holds the point without pulsing, N
	preloadErr              error
}

// A reach is the boost that a setting of the boost control leads to, or why it is not known.
type reach struct {
	wastegate.Reach
	err error
}

// Gate computes what wastegate and actuator do at the run's points. The trim has to have a compressor and a wastegate.
// Speeds are spread over the cores; the values do not depend on how many there are.
func (r *Run) Gate() (*Gate, error) {
	g, err := r.gate()
	if err != nil {
		return nil, err
	}
	if g.trial, err = r.trialEngines(); err != nil {
		return nil, err
	}
	spread(len(g.rows), func() func(int) {
		v := g.trial.solvers()
		return func(i int) { g.rows[i].solve(v) }
	})
	return g, nil
}

// HeldGate computes how the actuator holds the run's points, and no more: for Duty and Findings, at a hundredth of Gate's work. ok is
// false without an actuator, or without a compressor.
func (r *Run) HeldGate() (g *Gate, ok bool, err error) {
	if !r.holds() {
		return nil, false, nil
	}
	if g, err = r.gate(); err != nil {
		return nil, false, err
	}
	for i := range g.rows {
		if o := &r.Outcomes[i]; r.at != nil && r.at.gate != nil && o.Err == nil {
			g.rows[i] = r.at.gate.of(o)
			continue
		}
		g.rows[i].hold()
	}
	return g, true, nil
}

// holds reports whether the trim says what holds the boost: a wastegate with its actuator and control.
func (r *Run) holds() bool {
	return r.Forced() && r.Trim.Wastegate != nil && r.Trim.Actuator != nil && r.Trim.Control != nil
}

// gate returns a Gate with nothing computed.
func (r *Run) gate() (*Gate, error) {
	g := &Gate{run: r, rows: make([]gateRow, len(r.Outcomes))}
	if c := r.Trim.Control; c != nil && r.Trim.Actuator != nil {
		g.system = &c.System
	}
	var err error
	if g.air, err = r.Trim.Venue.Mixture(); err != nil {
		return nil, fmt.Errorf("trim %q: %w", r.Trim.Name, err)
	}
	g.unheld = r.unheld()
	for i := range g.rows {
		g.rows[i] = g.row(&r.Outcomes[i])
	}
	return g, nil
}

// unheld returns what finds the outcome that the engine would have without its actuator, where this is what holds the boost or why there is no
// solution: asked of it is what it lacks for that. Other outcomes stay. It serves any number of goroutines.
func (r *Run) unheld() func(o *boost.Outcome) *boost.Outcome {
	free := sync.OnceValue(func() *airpath.Engine {
		s := r.Engine.Setup
		s.Holder = nil
		e, err := airpath.New(s)
		if err != nil {
			return nil
		}
		return e
	})
	return func(o *boost.Outcome) *boost.Outcome {
		if r.Engine.Holder == nil || o.Err == nil && !heldByActuator(o) {
			return o
		}
		e := free()
		if e == nil {
			return o
		}
		other := boost.FullLoad(e, r.Trim.Boost.Target)(e.NewSolver(), o.Speed, airpath.Near{})
		if other.Err != nil {
			return o
		}
		return &other
	}
}

// heldByActuator reports whether the boost is what the actuator holds, rather than what is asked for.
func heldByActuator(o *boost.Outcome) bool {
	return o.Err == nil && (o.Point.Limit == airpath.Actuator || o.Point.Limits.Has(airpath.Spring))
}

// row returns one speed with nothing computed.
func (g *Gate) row(o *boost.Outcome) gateRow {
	return gateRow{Outcome: g.unheld(o), own: o, gate: g, bore: math.NaN(), perDuty: math.NaN()}
}

// spread does n pieces of work on all cores. Each core has a worker of its own, which is handed one piece after another:
// they cost unequally.
func spread(n int, worker func() func(i int)) {
	var next atomic.Int64
	var group sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		group.Go(func() {
			do := worker()
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	group.Wait()
}

// point returns what actuator and valves find at an operating point, and the lift that the engine needs there: beyond a
// quarter of the bore a valve passes no more.
func (g *Gate) point(p *airpath.Point) wastegate.Point {
	s := wastegate.State{
		VenuePressure: g.run.Trim.Venue.Pressure, SourcePressure: p.CompressorOutlet, SourceTemperature: p.OutletTemperature,
		TurbineInletPressure: p.TurbineInletPressure, TurbineOutletPressure: p.TurbineOutletPressure, GasConstant: g.air.GasConstant(),
	}
	if g.run.Trim.Control.FromManifold {
		s.SourcePressure, s.SourceTemperature = p.ManifoldPressure, p.ManifoldTemperature
	}
	s.Gamma = g.air.Gamma(s.SourceTemperature)
	return wastegate.Point{State: s, Lift: g.lift(p)}
}

func (g *Gate) lift(p *airpath.Point) float64 {
	return math.Min(p.WastegateLift, g.run.Trim.Wastegate.Bore/4)
}

// mostLift returns the greatest lift that counts, m: that of the valve, of the actuator's stroke, or a quarter of the bore.
func (g *Gate) mostLift() float64 {
	return math.Min(g.trial.reached.Wastegate.Lift, g.run.Trim.Wastegate.Bore/4)
}

// A reachError is a trial boost that the engine does not come to.
type reachError struct{ limit airpath.Limit }

func (e *reachError) Error() string { return e.limit.String() + " comes first" }

// belowAll is a target as a share of the venue's pressure that a wide-open wastegate does not come down to.
const belowAll = 0.5

// isWideOpen reports whether the wastegate is as far open as it goes: the boost creeps past what is asked for, or the turbocharger
// pulls at a choked restrictor harder than it need.
func isWideOpen(p *airpath.Point) bool {
	return p.Limit == airpath.Creep || p.Notes&airpath.NoteOverpulled != 0 && !p.Limits.Has(airpath.Spring)
}

// wideOpenPoint returns the operating point with the wastegate as far open as it goes. With a throat that is choked even so,
// the solver finds it from a little boost.
func wideOpenPoint(solver *airpath.Solver, speed, venue float64) (airpath.Point, error) {
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

func (o *gateRow) solve(v *trialSolvers) {
	if o.Err != nil {
		return
	}
	o.hold()
	y := o.gate.system
	venue := o.gate.run.Trim.Venue.Pressure
	if !o.findEnds(v) {
		return
	}
	o.left = o.open
	if o.gate.trial.reached != o.gate.trial.plain {
		o.left, o.leftErr = wideOpenPoint(v.reached, o.Speed, venue)
	}
	if o.creeps() {
		o.bore, o.boreErr = o.boreNeeded(v.large)
	}
	if y == nil {
		return
	}
	span, differs := o.span()
	engine := o.engine(v)
	o.findLowest(v)
	if !differs {
		o.spring, o.highest = o.lowest, o.lowest
		return
	}
	if !o.gate.driven() {
		o.spring, o.highest = o.lowest, o.lowest
		return
	}
	o.spring = o.find(span, func(span wastegate.Span) (wastegate.Reach, error) { return y.Actuator.SpringOnlyBoost(engine, span) })
	o.highest = o.find(span, func(span wastegate.Span) (wastegate.Reach, error) { return y.HighestBoost(engine, span) })
	if o.holdErr == nil && o.holding.Short == wastegate.NoSide && o.controls() {
		o.perDuty, o.perDutyErr = o.boostPerDuty(engine, span)
	}
}

// hold finds how the actuator holds the point, if there is one.
func (o *gateRow) hold() {
	y := o.gate.system
	if y == nil || o.Err != nil {
		return
	}
	here := o.gate.point(&o.Point)
	o.preload, o.preloadErr = y.Actuator.PreloadFor(here)
	if o.holding, o.holdErr = y.Hold(here); o.holdErr == nil && o.wideOpen() {
		o.holdErr = o.holdOpen(here)
	}
}

// holdOpen puts the duty to the end that opens, where the boost creeps and all that the ports can do is open: that they could
// not keep the wastegate from opening further does no harm.
func (o *gateRow) holdOpen(here wastegate.Point) error {
	h := &o.holding
	h.ForceMargin = h.OpeningMargin
	if h.Short == wastegate.OpeningSide || h.Short == wastegate.TravelSide {
		return nil
	}
	h.Short = wastegate.NoSide
	here.Lift = math.Nextafter(o.gate.system.Actuator.GreatestLift()*2, math.Inf(1)) // further than the stroke goes
	end, err := o.gate.system.Hold(here)
	if err != nil {
		return err
	}
	h.OpeningDuty, h.ClosingDuty, h.OpeningPressure, h.ClosingPressure = end.OpeningDuty, end.ClosingDuty, end.OpeningPressure, end.ClosingPressure
	h.AirFlow, h.PortForce, h.Authority = end.AirFlow, end.PortForce, math.NaN()
	return nil
}

// find looks for a boost in the span. The lift that the engine needs falls with the boost and then, a little above the speed
// at which boost comes in, can rise again, even to more than there is. Where that gets into the way, the boost may have come
// to rest below already, as it does on its way up: up to the run's own point there is always lift enough.
func (o *gateRow) find(span wastegate.Span, search func(wastegate.Span) (wastegate.Reach, error)) reach {
	r, err := search(span)
	here := o.Boost(o.gate.run.Trim.Venue.Pressure) + controlled // so that a balance at the point lies within
	var creeps *reachError
	inTheWay := errors.As(err, &creeps) || err == nil && r.End == wastegate.Stop && r.Boost > here
	if !inTheWay || o.holding.TravelMargin <= 0 || !(here > span.Lowest && here < span.Highest) {
		return reach{r, err}
	}
	if below, e := search(wastegate.Span{Lowest: span.Lowest, Highest: here}); e == nil && below.End != wastegate.Highest {
		return reach{below, nil}
	}
	return reach{r, err}
}

// controlled is the least difference of boost, Pa, between the wide-open and the shut wastegate that is taken for one.
const controlled = 100

// driven reports whether the actuator has a pulsed valve.
func (g *Gate) driven() bool {
	return g.system != nil && (g.system.Opening != nil || g.system.Closing != nil)
}

// controls reports whether it is the wastegate's lift that sets the boost of the point: neither shut nor wide open.
func (o *gateRow) controls() bool { return o.Point.WastegateLift > 0 && !o.wideOpen() }

func (o *gateRow) wideOpen() bool { return isWideOpen(&o.Point) }

// creeps reports whether the valve, or the actuator's stroke, is too small for the boost that is wanted.
func (o *gateRow) creeps() bool {
	return o.wideOpen() || o.leftErr != nil || o.creep() > run.ReachedWithin
}

// creep returns by how much the boost is above what is wanted with the wastegate as far open as it goes, Pa.
func (o *gateRow) creep() float64 {
	return math.Max(0, o.leftBoost()-o.wanted())
}

// leftBoost returns what boost remains with the wastegate as far open as it goes, Pa above the venue. Where the boost creeps at
// the run's own point, it is that one's: the knock of what is asked for burns late and keeps the exhaust hot, and the
// boost does not come down to what it would be from below.
func (o *gateRow) leftBoost() float64 {
	venue := o.gate.run.Trim.Venue.Pressure
	left := o.left.ManifoldPressure - venue
	if o.wideOpen() {
		left = math.Max(left, o.Boost(venue))
	}
	return left
}

// neighbour is how far away, Pa, the state may be taken of a trial that the solver does not settle: below the last
// digit printed, and a third of the tolerance to which a boost counts as reached.
const neighbour = 150

// engine returns the state at any boost between the wastegate wide open and all the boost there is.
func (o *gateRow) engine(v *trialSolvers) wastegate.Engine {
	venue := o.gate.run.Trim.Venue.Pressure
	lowest, highest := o.open.ManifoldPressure-venue, o.most.ManifoldPressure-venue
	return func(boost float64) (wastegate.Point, error) {
		switch boost { // the ends are asked for again and again
		case lowest:
			return o.gate.point(&o.open), nil
		case highest:
			return o.gate.point(&o.most), nil
		}
		pressure := venue + boost
		p, err := v.at(o.Speed, pressure)
		if err != nil { // one in thousands, where the cycle's peak pressure takes a small step: its neighbour tells as much
			pressure += neighbour
			p, err = v.at(o.Speed, pressure)
		}
		if err != nil {
			return wastegate.Point{}, err
		}
		if !came(&p, pressure) {
			return wastegate.Point{}, &reachError{p.Limit}
		}
		return o.gate.point(&p), nil
	}
}

// duty returns the duty that drives the system at the point.
func (o *gateRow) duty() float64 {
	if o.gate.system.Opening != nil {
		return o.holding.OpeningDuty
	}
	return o.holding.ClosingDuty
}

// atMost reports whether the point has all the boost there is.
func (o *gateRow) atMost() bool {
	return o.Point.ManifoldPressure > o.most.ManifoldPressure*(1-sameBoost)
}

// boostPerDuty is System.BoostPerDuty, or the difference downwards where that is all there is: with all the boost that
// the engine gives, or with more needing a lift that it has not.
func (o *gateRow) boostPerDuty(engine wastegate.Engine, span wastegate.Span) (float64, error) {
	y, duty := o.gate.system, o.duty()
	if !o.atMost() {
		if slope, err := y.BoostPerDuty(duty, engine, span); err == nil && slope != 0 {
			return slope, nil
		}
	}
	span.Highest = o.Boost(o.gate.run.Trim.Venue.Pressure)
	for _, step := range []float64{-0.01, 0.01} {
		if d := duty + step; d >= 0 && d <= 1 && span.Lowest < span.Highest {
			r, err := y.BoostAt(d, engine, span)
			if err != nil {
				return 0, err
			}
			if r.End == wastegate.Within {
				return (r.Boost - span.Highest) * 0.01 / step, nil
			}
		}
	}
	return 0, errors.New("1 % of duty to either side leads out of what the engine can be asked for")
}

// boreNeeded returns the seat bore, m, with which the wastegate passes what it has to at the boost asked for.
func (o *gateRow) boreNeeded(large *airpath.Solver) (float64, error) {
	if o.gate.trial.reached.Wastegate.Lift < o.gate.run.Trim.Wastegate.Lift && !o.wideOpen() {
		return 0, errors.New("the valve is large enough, the actuator's stroke too short")
	}
	p, err := large.Solve(airpath.Demand{Speed: o.Speed, Target: o.gate.run.Trim.Venue.Pressure + o.wanted()})
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
	charge, err := g.run.Engine.Fuel.Charge(g.run.Engine.Venue, p.Lambda)
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

// wanted returns the boost that the boost control has to hold, Pa above the venue: what the engine's other limits leave of
// what is asked for.
func (o *gateRow) wanted() float64 {
	venue := o.gate.run.Trim.Venue.Pressure
	if o.wideOpen() {
		return math.Min(o.TargetBoost, o.Boost(venue))
	}
	return o.Boost(venue)
}
