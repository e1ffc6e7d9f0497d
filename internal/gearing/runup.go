package gearing

import (
	"errors"
	"fmt"
	"math"
)

// A Launch is how the car starts from rest.
type Launch struct {
	EngineSpeed float64 // that the clutch slips at until the car has caught up, rad/s
}

// An Aim is where a run-up ends: at a road speed, or after a distance. One of the two is above 0.
type Aim struct {
	From     float64 // road speed at its begin, m/s; 0: from rest
	Velocity float64 // m/s
	Distance float64 // m
}

// A Work is where the energy of a run goes, J.
type Work struct {
	Engine   float64 // work of the crankshaft
	Kinetic  float64 // gained by the car, its wheels and the engine
	Drag     float64
	Rolling  float64
	Gradient float64
	Gearbox  float64 // lost in the driveline
	Clutch   float64 // lost in the slipping clutch, and when a shift slows the engine down
	Brakes   float64
}

// A RunUp is a run at full load.
type RunUp struct {
	Time     float64 // s
	Distance float64 // m
	Velocity float64 // at its end, m/s
	Gear     int     // at its end, from 0
	Shifts   int
	Limited  float64 // time in which the tyres limit, s
	Work     Work
}

// runStep is the time step of a run-up, s. A tenth of it moves no time by 1e-5 of it: a test says so.
const runStep = 0.005

// longest is when a run-up is given up, s: what takes longer is no acceleration.
const longest = 600

// The reasons why a run-up does not get where it should.
var (
	ErrNeverReached = errors.New("the car does not get there")
	ErrUnknown      = errors.New("the torque is not known at the speeds that the run takes")
)

// A moment is the state of a run: what is integrated.
type moment struct{ x, v, engine, drag, gearbox, clutch float64 }

// plus returns the moment later by a rate times a time.
func (m moment) plus(dt float64, rate moment) moment {
	return moment{m.x + dt*rate.x, m.v + dt*rate.v, m.engine + dt*rate.engine, m.drag + dt*rate.drag, m.gearbox + dt*rate.gearbox, m.clutch + dt*rate.clutch}
}

// A phase is what the driveline does for a while.
type phase int

const (
	slipping phase = iota // the clutch, at the launch's engine speed
	driving
	cut  // a shift without thrust
	held // at the limiter of the last gear of use
)

// A runner follows a run-up.
type runner struct {
	way
	launch Launch
	step   float64
	phase  phase
	gear   int
	since  float64 // time since the last shift began, or is over, at the step's begin, s
	fresh  bool    // no shift yet: full load from the start
}

// rate returns how fast a moment changes, a time after the step's begin.
func (r *runner) rate(m moment, later float64) moment {
	out := moment{x: m.v, drag: r.drag * m.v * m.v * m.v}
	g := r.Gears[r.gear]
	ratio := g.Overall / r.RollingRadius
	switch r.phase {
	case cut:
		out.v = r.coasting(m.v)
	case held:
		torque := r.against(m.v) / (ratio * g.Efficiency)
		out.engine = torque * m.v * ratio
		out.gearbox = out.engine * (1 - g.Efficiency)
	case slipping:
		torque, _ := r.Torque.At(r.launch.EngineSpeed)
		thrust, a, limited := r.pull(torque*ratio*g.Efficiency, 0, m.v)
		if limited {
			torque = (thrust + r.driven*a) / (ratio * g.Efficiency)
		}
		out.v = a
		out.engine = torque * r.launch.EngineSpeed
		out.clutch = torque * (r.launch.EngineSpeed - m.v*ratio)
		out.gearbox = torque * m.v * ratio * (1 - g.Efficiency)
	case driving:
		share := 1.0
		if !r.fresh {
			share = r.shift(r.gear - 1).share(r.since + later)
		}
		p := r.in(g, m.v, share)
		out.v = p.Acceleration
		out.engine = p.Torque * p.EngineSpeed
		out.gearbox = (p.Torque - r.EngineInertia*p.Acceleration*ratio) * p.EngineSpeed * (1 - g.Efficiency)
	}
	return out
}

// advance returns the moment a time later, by the classical Runge–Kutta formula of fourth order.
func (r *runner) advance(m moment, dt float64) moment {
	k1 := r.rate(m, 0)
	k2 := r.rate(m.plus(dt/2, k1), dt/2)
	k3 := r.rate(m.plus(dt/2, k2), dt/2)
	k4 := r.rate(m.plus(dt, k3), dt)
	m = m.plus(dt/6, k1)
	m = m.plus(dt/3, k2)
	m = m.plus(dt/3, k3)
	return m.plus(dt/6, k4)
}

// until returns the share of a step after which what rises from below 0 to above it is 0.
func (r *runner) until(m moment, dt float64, f func(m moment) float64) (moment, float64) {
	lo, hi := 0.0, dt
	end := r.advance(m, dt)
	for range 80 {
		at := (lo + hi) / 2
		if !(at > lo && at < hi) {
			break
		}
		if now := r.advance(m, at); f(now) < 0 {
			lo = at
		} else {
			hi, end = at, now
		}
	}
	return end, hi
}

// RunUp returns the run at full load to an aim on a road, with the best upshifts of Gearing.
//
// From rest the clutch slips at the launch's engine speed until the car has caught up, with the engine's full load of that speed or as much of it as the
// tyres take. From a speed the run begins in the lowest gear whose best upshift lies above. Where a gear has no best upshift below its end, it is left
// there; where no gear gets the car on, the error is ErrNeverReached.
//
// Source: Newton's second law, integrated by the classical Runge–Kutta formula. The boost of full load is there from the start; no reaction time.
func (v *Vehicle) RunUp(g *Gearing, road Road, launch Launch, aim Aim) (RunUp, error) {
	return v.runUp(g, road, launch, aim, runStep)
}

func (v *Vehicle) runUp(g *Gearing, road Road, launch Launch, aim Aim, step float64) (RunUp, error) {
	if err := errors.Join(v.Validate(), road.Validate()); err != nil {
		return RunUp{}, err
	}
	lo, hi := v.Span()
	switch {
	case !(launch.EngineSpeed >= lo*(1-1e-9) && launch.EngineSpeed <= hi*(1+1e-9)):
		return RunUp{}, fmt.Errorf("launch at %v rad/s: want %v to %v", launch.EngineSpeed, lo, hi)
	case !notNegative(aim.From) || (aim.Velocity > 0) == (aim.Distance > 0) || aim.Velocity > 0 && !(aim.Velocity > aim.From):
		return RunUp{}, fmt.Errorf("run-up from %v to %v m/s or over %v m: want one of the two, above 0 and above its begin", aim.From, aim.Velocity, aim.Distance)
	}
	r := &runner{way: v.on(road), launch: launch, step: step, fresh: true, phase: driving}
	leave := func() float64 { // the road speed at which the gear is left
		if r.gear == len(v.Gears)-1 || g.Upshifts[r.gear].None {
			return math.Inf(1)
		}
		return g.Upshifts[r.gear].Velocity
	}
	for aim.From > 0 && aim.From >= leave() {
		r.gear++
	}
	switch bottom, top := v.Range(r.gear); {
	case aim.From == 0:
		r.phase = slipping
	case aim.From < bottom || aim.From > top:
		return RunUp{}, ErrUnknown
	}
	done := func(m moment) float64 {
		if aim.Distance > 0 {
			return m.x - aim.Distance
		}
		return m.v - aim.Velocity
	}
	caught := v.RoadSpeed(launch.EngineSpeed, v.Gears[0].Overall)
	m := moment{v: aim.From}
	out, start := RunUp{}, r.kinetic(aim.From)
	for out.Time < longest {
		_, top := v.Range(r.gear)
		dt, event := r.step, math.Inf(1) // the road speed that ends the phase
		switch r.phase {
		case slipping:
			event = caught
		case cut:
			dt = math.Min(dt, r.shift(r.gear-1).Time-r.since)
		case driving:
			event = math.Min(leave(), top)
			if back := r.shift(r.gear-1).Recovery - r.since; !r.fresh && back > instant {
				dt = math.Min(dt, back) // no step lies across the end of the torque's way back
			}
		}
		next, took := r.advance(m, dt), dt
		ended := next.v >= event
		if ended {
			next, took = r.until(m, dt, func(m moment) float64 { return m.v - event })
		}
		last := done(next) >= 0
		if last {
			next, took = r.until(m, took, done)
		}
		switch {
		case !(next.v > 0), !last && !ended && aim.Velocity > 0 && r.phase != cut && !(next.v > m.v+took*slowest):
			return out, ErrNeverReached
		}
		if r.limits(m) {
			out.Limited += took
		}
		out.Time += took
		r.since += took
		m = next
		switch {
		case last:
			out.Distance, out.Velocity, out.Gear = m.x, m.v, r.gear
			out.Work = Work{
				Engine: m.engine, Kinetic: r.kinetic(m.v) - start, Drag: m.drag, Rolling: r.rolling * m.x, Gradient: r.gradient * m.x,
				Gearbox: m.gearbox, Clutch: m.clutch,
			}
			return out, nil
		case r.phase == slipping && ended:
			r.phase = driving
		case r.phase == driving && ended && event < leave():
			if g.Tops[r.gear].Ending == ByKnowledge {
				return out, ErrUnknown
			}
			if aim.Velocity > 0 {
				return out, ErrNeverReached
			}
			r.phase = held
		case r.phase == driving && ended:
			m.clutch += r.spinning(m.v)
			out.Shifts++
			r.gear++
			r.phase, r.since = cut, 0
			if r.shift(r.gear-1).Time > 0 {
				break
			}
			fallthrough
		case r.phase == cut && r.since >= r.shift(r.gear-1).Time-instant:
			m.clutch -= r.spinning(m.v)
			r.phase, r.since, r.fresh = driving, 0, false
		}
	}
	return out, ErrNeverReached
}

const (
	instant = 1e-12 // s: times that lie no further apart are one
	slowest = 1e-6  // m/s²: what gains less gets nowhere
)

// limits reports whether the tyres limit the run.
func (r *runner) limits(m moment) bool {
	g := r.Gears[r.gear]
	switch r.phase {
	case cut, held:
		return false
	case slipping:
		torque, _ := r.Torque.At(r.launch.EngineSpeed)
		_, _, limited := r.pull(torque*g.Overall*g.Efficiency/r.RollingRadius, 0, m.v)
		return limited
	}
	share := 1.0
	if !r.fresh {
		share = r.shift(r.gear - 1).share(r.since)
	}
	return r.in(g, m.v, share).Limited
}

// spinning returns the kinetic energy of the engine in gear at a road speed, J.
func (r *runner) spinning(velocity float64) float64 {
	speed := r.EngineSpeed(velocity, r.Gears[r.gear].Overall)
	return r.EngineInertia / 2 * speed * speed
}

// kinetic returns the kinetic energy of the car, its wheels and the engine at a road speed, J. In a shift the engine's counts as lost.
func (r *runner) kinetic(velocity float64) float64 {
	car := (r.Mass + r.driven + r.free) / 2 * velocity * velocity
	switch r.phase {
	case slipping:
		return car + r.EngineInertia/2*r.launch.EngineSpeed*r.launch.EngineSpeed
	case cut:
		return car
	}
	return car + r.spinning(velocity)
}
