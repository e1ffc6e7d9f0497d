package run

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/numeric"
	"bellmouth/internal/wastegate"
)

// HasActuator reports whether the trim says what holds the boost: a wastegate with its actuator and control.
func (r *Run) HasActuator() bool {
	return r.Forced() && r.Trim.Wastegate != nil && r.Trim.Actuator != nil && r.Trim.Control != nil
}

// HasActuator reports whether the spec says what moves the valve.
func (g *Gate) HasActuator() bool { return g.holder != nil }

// Driven reports whether the actuator has a pulsed valve.
func (g *Gate) Driven() bool { return g.holder != nil && g.holder.system.Driven() }

// HeldGate computes how the actuator holds the run's points, and no more, at a hundredth of Gate's work. ok is false without an actuator, or
// without a compressor.
func (r *Run) HeldGate() (g *Gate, ok bool, err error) {
	if !r.HasActuator() {
		return nil, false, nil
	}
	if g, err = NewGate(r); err != nil {
		return nil, false, err
	}
	g.Points = make([]GatePoint, len(r.Outcomes))
	for i := range g.Points {
		g.Points[i] = g.Hold(&r.Outcomes[i])
	}
	return g, true, nil
}

// Hold returns how the actuator holds an operating point of the run's engine, which need not be among the gate's points. It serves any number of
// goroutines.
func (g *Gate) Hold(o *boost.Outcome) GatePoint {
	p := g.point(o)
	p.hold()
	return p
}

// heldByActuator reports whether the boost is what the actuator holds, rather than what is asked for.
func heldByActuator(o *boost.Outcome) bool {
	return o.Err == nil && (o.Point.Limit == airpath.Actuator || o.Point.Limits.Has(airpath.Spring))
}

// unheld returns what finds the outcome that the engine would have without its actuator, where this is what holds the boost or why there is no
// solution: asked of it is what the outcome was asked for. Other outcomes stay. It serves any number of goroutines.
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
		other := boost.FullLoad(e, numeric.Constant(o.TargetBoost))(e.NewSolver(), o.Speed, airpath.Near{})
		if other.Err != nil {
			return o
		}
		other.TargetHeld = o.TargetHeld
		return &other
	}
}

// state returns what actuator and valves find at an operating point, and the lift that the engine needs there.
func (g *Gate) state(p *airpath.Point) wastegate.Point {
	return g.holder.point(airpath.Valve{
		VenuePressure: g.Run.Trim.Venue.Pressure, CompressorPressure: p.CompressorOutlet, CompressorTemperature: p.OutletTemperature,
		ManifoldPressure: p.ManifoldPressure, ManifoldTemperature: p.ManifoldTemperature,
		TurbineInletPressure: p.TurbineInletPressure, TurbineOutletPressure: p.TurbineOutletPressure, Lift: g.lift(p),
	})
}

// State returns what actuator and valves find at the point. It needs an actuator.
func (o *GatePoint) State() wastegate.Point { return o.gate.state(&o.Point) }

// hold finds how the actuator holds the point, if there is one.
func (o *GatePoint) hold() {
	if !o.gate.HasActuator() || o.Err != nil {
		return
	}
	y, here := o.gate.holder.system, o.State()
	o.Preload, o.PreloadErr = y.Actuator.PreloadFor(here)
	if o.Holding, o.HoldErr = y.Hold(here); o.HoldErr == nil && o.WideOpen() {
		o.HoldErr = o.holdOpen(here)
	}
}

// holdOpen puts the duty to the end that opens, where the boost creeps and all that the ports can do is open: that they could not keep the wastegate
// from opening further does no harm.
func (o *GatePoint) holdOpen(here wastegate.Point) error {
	h := &o.Holding
	h.ForceMargin = h.OpeningMargin
	if h.Short == wastegate.OpeningSide || h.Short == wastegate.TravelSide {
		return nil
	}
	h.Short = wastegate.NoSide
	y := o.gate.holder.system
	here.Lift = math.Nextafter(y.Actuator.GreatestLift()*2, math.Inf(1)) // further than the stroke goes
	end, err := y.Hold(here)
	if err != nil {
		return err
	}
	h.OpeningDuty, h.ClosingDuty, h.OpeningPressure, h.ClosingPressure = end.OpeningDuty, end.ClosingDuty, end.OpeningPressure, end.ClosingPressure
	h.AirFlow, h.PortForce, h.Authority = end.AirFlow, end.PortForce, math.NaN()
	return nil
}

// findRange finds between which boosts the control can hold the engine, and what the duty does to the point's.
func (o *GatePoint) findRange(v *trialSolvers) {
	o.findLowest(v)
	span, differs := o.span()
	if !differs || !o.gate.Driven() {
		o.Spring, o.Highest = o.Lowest, o.Lowest
		return
	}
	y, engine := o.gate.holder.system, o.engine(v)
	o.Spring = o.find(span, func(span wastegate.Span) (wastegate.Reach, error) { return y.Actuator.SpringOnlyBoost(engine, span) })
	o.Highest = o.find(span, func(span wastegate.Span) (wastegate.Reach, error) { return y.HighestBoost(engine, span) })
	if o.HoldErr == nil && o.Holding.Short == wastegate.NoSide && o.Controls() {
		o.PerDuty, o.PerDutyErr = o.boostPerDuty(engine, span)
	}
}

// findLowest finds the least boost that the actuator can bring the engine down to, between the ends found before.
func (o *GatePoint) findLowest(v *trialSolvers) {
	y := o.gate.holder.system
	span, differs := o.span()
	if !differs {
		o.Lowest = Reach{Reach: wastegate.Reach{Boost: max(span.Lowest, span.Highest), End: wastegate.Highest}}
		return
	}
	engine := o.engine(v)
	o.Lowest = o.find(span, func(span wastegate.Span) (wastegate.Reach, error) {
		if o.gate.Driven() {
			return y.LowestBoost(engine, span)
		}
		return y.Actuator.SpringOnlyBoost(engine, span)
	})
}

// find looks for a boost in the span. The lift that the engine needs falls with the boost and then, a little above the speed at which boost comes in,
// can rise again, even to more than there is. Where that gets into the way, the boost may have come to rest below already, as it does on its way
// up: up to the run's own point there is always lift enough.
func (o *GatePoint) find(span wastegate.Span, search func(wastegate.Span) (wastegate.Reach, error)) Reach {
	r, err := search(span)
	here := o.Boost(o.venue()) + controlled // so that a balance at the point lies within
	var creeps *reachError
	inTheWay := errors.As(err, &creeps) || err == nil && r.End == wastegate.Stop && r.Boost > here
	if !inTheWay || o.Holding.TravelMargin <= 0 || !(here > span.Lowest && here < span.Highest) {
		return Reach{r, err}
	}
	if below, e := search(wastegate.Span{Lowest: span.Lowest, Highest: here}); e == nil && below.End != wastegate.Highest {
		return Reach{below, nil}
	}
	return Reach{r, err}
}

// neighbour is how far away, Pa, the state may be taken of a trial that the solver does not settle: below the last digit printed, and a third of the
// tolerance to which a boost counts as reached.
const neighbour = 150

// engine returns the state at any boost between the wastegate wide open and all the boost there is.
func (o *GatePoint) engine(v *trialSolvers) wastegate.Engine {
	lowest, highest := o.Open.ManifoldPressure-o.venue(), o.Most.ManifoldPressure-o.venue()
	return func(boost float64) (wastegate.Point, error) {
		switch boost { // the ends are asked for again and again
		case lowest:
			return o.gate.state(&o.Open), nil
		case highest:
			return o.gate.state(&o.Most), nil
		}
		pressure := o.venue() + boost
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
		return o.gate.state(&p), nil
	}
}

// duty returns the duty that drives the system at the point.
func (o *GatePoint) duty() float64 {
	if o.gate.holder.system.Opening != nil {
		return o.Holding.OpeningDuty
	}
	return o.Holding.ClosingDuty
}

// boostPerDuty is System.BoostPerDuty, or the difference downwards where that is all there is: with all the boost that the engine gives, or with more
// needing a lift that it has not.
func (o *GatePoint) boostPerDuty(engine wastegate.Engine, span wastegate.Span) (float64, error) {
	y, duty := o.gate.holder.system, o.duty()
	if !o.AtMost() {
		if slope, err := y.BoostPerDuty(duty, engine, span); err == nil && slope != 0 {
			return slope, nil
		}
	}
	span.Highest = o.Boost(o.venue())
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

// AtMost reports whether the point has all the boost there is.
func (o *GatePoint) AtMost() bool {
	return o.Point.ManifoldPressure > o.Most.ManifoldPressure*(1-sameBoost)
}

// HighestIsMost reports whether the highest boost that the control can ask for is all that the engine's parts give.
func (o *GatePoint) HighestIsMost() bool {
	return o.Highest.End == wastegate.Highest || o.Highest.Boost >= o.Most.ManifoldPressure*(1-sameBoost)-o.venue()
}

// Regulates reports whether the duty has somewhere to go from where it holds the point.
func (o *GatePoint) Regulates() bool {
	return o.Holding.Short == wastegate.NoSide && o.Holding.Authority >= 0
}

// Held returns the boost that the control comes to with what is wanted of it, Pa above the venue. ok is false where that is not known.
func (o *GatePoint) Held() (boost float64, ok bool) {
	switch {
	case o.Own.Err != nil || o.TrialErr != nil:
		return 0, false
	case heldByActuator(o.Own):
		return o.Own.Boost(o.venue()), true
	case o.WideOpen():
		return o.LeftBoost(), true
	case o.Lowest.Err != nil || o.Highest.Err != nil:
		return 0, false
	}
	held := math.Min(math.Max(o.Wanted(), o.Lowest.Boost), o.Highest.Boost)
	return math.Max(held, o.LeftBoost()), true // what creeps is beyond what a duty does
}

// A Shortage is what does not suffice to hold the boost that the boost control has to hold.
type Shortage int

// What may be short.
const (
	Nothing        Shortage = iota
	OpeningForce            // the ports cannot open the wastegate as far
	ClosingForce            // the ports cannot keep the wastegate from opening further, or shut
	ActuatorTravel          // the actuator's stroke ends before
	ValveArea               // wide open the wastegate passes too little
)

// String returns the shortage as tables show it: "nothing", "opening", "closing", "travel", "valve".
func (s Shortage) String() string {
	if s < Nothing || s > ValveArea {
		return fmt.Sprintf("Shortage(%d)", int(s))
	}
	return [...]string{"nothing", "opening", "closing", "travel", "valve"}[s]
}

// Short returns what does not suffice to hold the point.
func (o *GatePoint) Short() Shortage {
	switch o.Holding.Short {
	case wastegate.OpeningSide:
		return OpeningForce
	case wastegate.ClosingSide:
		return ClosingForce
	case wastegate.TravelSide:
		return ActuatorTravel
	}
	if o.Creeps() {
		return ValveArea
	}
	return Nothing
}

// Preloads are the spring preloads that hold all points of a gate.
type Preloads struct {
	wastegate.Preloads
	LowestSpeed, HighestSpeed float64 // of the points that set them, rad/s; NaN where none does
}

var errNoneInReach = errors.New("no solved point lies within the actuator's stroke and short of wide open")

// Preloads returns the spring preloads that hold all points within the actuator's stroke and short of wide open. It needs an actuator.
func (g *Gate) Preloads() (Preloads, error) {
	var points []wastegate.Point
	var speeds []float64
	y := g.holder.system
	for i := range g.Points {
		o := &g.Points[i]
		if o.Err == nil && !o.WideOpen() && o.Lift() <= y.Actuator.GreatestLift() {
			points, speeds = append(points, o.State()), append(speeds, o.Speed)
		}
	}
	if len(points) == 0 {
		return Preloads{}, errNoneInReach
	}
	p, err := y.Preloads(points)
	if err != nil {
		return Preloads{}, err
	}
	at := func(i int) float64 {
		if i < 0 {
			return math.NaN()
		}
		return speeds[i]
	}
	return Preloads{p, at(p.LowestAt), at(p.HighestAt)}, nil
}
