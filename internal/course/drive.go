package course

import (
	"fmt"
	"math"
)

// A phase is what the driveline does for a while.
type phase int8

const (
	driving phase = iota
	launching
	cut // a shift without thrust
)

// A state is where the car is and what it does there.
type state struct {
	step    int     // that it is in
	x       float64 // how far into it, m
	w       float64 // v²
	t       float64 // since the start, s
	phase   phase
	gear    int
	from    int     // gear before the last shift
	left    float64 // of the cut, s
	since   float64 // the end of the last shift, s; infinite where full load is there again
	spin    float64 // kinetic energy of the engine, J
	keep    bool    // no shift up before the next place that slows the car down
	chosen  bool    // the gear to leave the last such place with has been chosen
	most    int     // the highest gear that it was come to with
	touches bool    // at the end of the step the car is as fast as it may be for what comes
	stands  bool    // it has come to a stand
	stuck   bool    // more happened in one step than may
}

// A move is a part of a step in which nothing changes but the speed.
type move struct {
	leg     *leg
	x       float64 // its length, m
	w0, w1  float64 // v² at its ends
	time    float64 // s
	limited bool    // the driven tyres limit it
	held    bool    // the engine's highest speed does
	bound   bool    // what comes does
}

// run drives from the start to the finish; a lap until it ends as it begins.
func (s *sim) run() error {
	st := state{since: math.Inf(1), chosen: true}
	if !s.car.Flying {
		st.phase = launching
		return s.over(st)
	}
	st.w, st.gear = s.bound[0], len(s.cogs)-1
	for range laps {
		st.gear = s.fit(st.w, st.gear)
		if err := s.over(st); err != nil {
			return err
		}
		n := len(s.of)
		end := min(s.w[n], s.bound[0])
		if math.Abs(end-st.w) <= same*end {
			return nil
		}
		st.w, st.gear = end, int(s.stage.Trace.Gear[n-1])
	}
	return ErrNoLap
}

const (
	laps = 100  // in which a lap comes to end as it begins, or it never does
	same = 1e-6 // how near v² at its end has to come to v² at its begin, as a share
)

// over drives from a state on to the finish and keeps the books.
func (s *sim) over(st state) error {
	clear(s.stage.InGear)
	s.stage = Stage{InGear: s.stage.InGear, Trace: s.stage.Trace}
	b := &book{sim: s}
	st.spin = s.spinning(st.gear, st.w, s.slips(&st))
	begin := s.kinetic(&st)
	s.w[0], s.t[0] = st.w, 0
	for i := range s.of {
		b.begin()
		s.advance(&st, b)
		l := &s.legs[s.of[i]]
		switch {
		case s.failed != nil:
			return s.failed
		case st.stuck:
			return fmt.Errorf("the car shifts without an end at %.0f m of the course", l.from)
		case st.stands:
			return &StandstillError{l.from + float64(i-l.first)*l.dx}
		case b.unknown:
			return ErrUnknown
		}
		s.w[i+1], s.t[i+1] = st.w, st.t
		s.stage.Trace.Gear[i] = int8(st.gear)
		s.stage.Trace.Limit[i] = b.most()
	}
	s.stage.Time = st.t
	s.stage.Work.Kinetic = s.kinetic(&st) - begin
	return nil
}

// kinetic returns the kinetic energy of car, wheels and engine, J.
func (s *sim) kinetic(st *state) float64 { return (s.mass+s.driven+s.free)/2*st.w + st.spin }

// spinning returns the kinetic energy of the engine in a gear at v², not slower than the clutch slips at, J.
func (s *sim) spinning(gear int, w, slip float64) float64 {
	speed := max(slip, math.Sqrt(w)*s.cogs[gear].ratio)
	return s.inertia / 2 * speed * speed
}

// slips returns the engine speed below which the clutch slips, rad/s.
func (s *sim) slips(st *state) float64 {
	if st.phase == launching {
		return s.car.Launch.EngineSpeed
	}
	return s.lo
}

// share returns the torque that is there in the middle of the rest of a step, as a share of full load.
func (s *sim) share(st *state, rest float64) float64 {
	if math.IsInf(st.since, 1) || !(st.w > 0) {
		return 1
	}
	return s.shift(st.from, st.gear).Share(st.since + rest/2/math.Sqrt(st.w))
}

// mostEvents is how many things may happen in one step: a shift or two do, and every gear of the most that there are has three.
const mostEvents = 100

// advance drives to the end of the step that the state is in. Without a book it only looks ahead, and shifts without doing so again.
func (s *sim) advance(st *state, b *book) {
	l := &s.legs[s.of[st.step]]
	from, to := s.bound[st.step], s.bound[st.step+1]
	st.touches = false
	for range mostEvents {
		rest := l.dx - st.x
		s.shiftUp(st, l, b)
		free, limited := s.unbound(st, l, rest)
		if s.shiftDown(st, l, free, limited, b) {
			continue
		}
		if !st.chosen && st.phase == driving && free < to && !l.holds(st.w) {
			st.chosen = true
			if s.leaveIn(st, l, b) {
				free, limited = s.unbound(st, l, rest)
			}
		}
		m := move{leg: l, x: rest, w0: st.w, w1: free, limited: limited}
		ends := s.event(st, &m)
		if !(m.w1 > 0) {
			st.stands = true
			return
		}
		if m.w1 >= from+(to-from)*(st.x+m.x)/l.dx {
			m.x, m.w1, m.bound, m.held, ends = rest, to, true, false, false
			st.touches = true
		}
		s.carry(st, &m, b)
		if ends {
			s.endPhase(st, b)
		}
		if !(st.x < l.dx*(1-1e-12)) {
			st.step, st.x = st.step+1, 0
			return
		}
	}
	st.stuck = true
}

// unbound returns v² at the end of the rest of a step as the engine alone has it, and whether the driven tyres limit it.
func (s *sim) unbound(st *state, l *leg, rest float64) (w float64, limited bool) {
	if st.phase == cut {
		return max(0, st.w+2*rest*s.coasting(l, st.w, rest)), false
	}
	m := motion{leg: l, gear: st.gear, slip: s.slips(st), share: s.share(st, rest)}
	w = s.after(&m, st.w, rest)
	_, limited = s.pull(l, st.gear, (st.w+w)/2, m.slip, m.share)
	return w, limited
}

// event ends a move where a gear, a cut or the slipping of the clutch ends within it. It reports whether the phase ends there.
func (s *sim) event(st *state, m *move) bool {
	upTo := func(w float64) bool { // ends the move where v² rises past w
		if !(m.w1 > w) {
			return false
		}
		m.x, m.w1 = m.x*max(0, w-m.w0)/(m.w1-m.w0), max(w, m.w0)
		return true
	}
	c := &s.cogs[st.gear]
	switch st.phase {
	case cut:
		a, v := (m.w1-m.w0)/(2*m.x), math.Sqrt(m.w0)
		if st.left > 2*m.x/(v+math.Sqrt(m.w1)) {
			return false
		}
		m.x = min(m.x, max(0, v*st.left+a/2*st.left*st.left))
		m.w1 = m.w0 + 2*m.x*s.coasting(m.leg, m.w0, m.x)
		return true
	case launching:
		caught := s.car.Launch.EngineSpeed / c.ratio
		return upTo(caught * caught)
	}
	if caught := s.lo / c.ratio; m.w0 < caught*caught {
		upTo(caught * caught)
		return false
	}
	if s.mayShiftUp(st) && m.w0 < c.up {
		upTo(c.up)
		return false
	}
	if m.w0 >= c.top && m.w1 > m.w0 {
		m.w1, m.held = m.w0, true
		return false
	}
	upTo(c.top)
	return false
}

// carry moves the state along.
func (s *sim) carry(st *state, m *move, b *book) {
	if m.x > 0 {
		m.time = 2 * m.x / (math.Sqrt(m.w0) + math.Sqrt(m.w1))
	}
	e := s.effort(st, m)
	if b != nil {
		b.write(st, m, &e)
	}
	st.x += m.x
	st.w = m.w1
	st.t += m.time
	st.since += m.time
	st.left -= m.time
	st.spin = e.spin
	if m.bound {
		s.slowed(st, e.brakes > 0, b)
	}
}

// endPhase lets the clutch close.
func (s *sim) endPhase(st *state, b *book) {
	if st.phase == cut {
		st.since = 0
	}
	st.phase = driving
	s.spinUp(st, b)
}

// spinUp brings the engine to the speed of its gear: it works for that, or what it has is lost in the clutch.
func (s *sim) spinUp(st *state, b *book) {
	spin := s.spinning(st.gear, st.w, s.slips(st))
	if b != nil {
		b.spun(spin - st.spin)
	}
	st.spin = spin
}

// An effort is what it takes to make a move.
type effort struct {
	torque  float64 // of the engine, N m
	speed   float64 // of the engine, rad/s
	engine  float64 // work of the engine, J
	gearbox float64 // lost in the driveline, J
	clutch  float64 // lost in the slipping clutch, J
	brakes  float64 // J
	spin    float64 // kinetic energy of the engine at its end, J
}

// effort returns the work of engine and brakes that a move takes: what is left of the change of kinetic energy, drag, rolling resistance and slope.
//
// An engine that gives no torque still gives up its own kinetic energy, by way of the driveline.
func (s *sim) effort(st *state, m *move) effort {
	c := &s.cogs[st.gear]
	work := (s.mass+s.driven+s.free)/2*(m.w1-m.w0) + s.against(m.leg, (m.w0+m.w1)/2)*m.x // at the wheels
	turned := m.x * c.ratio
	e := effort{spin: st.spin}
	if m.time > 0 {
		e.speed = turned / m.time
	}
	if st.phase == cut || m.x == 0 {
		e.brakes = max(0, -work)
		return e
	}
	if slip := s.slips(st); work >= 0 && e.speed < slip {
		e.speed = slip
		e.torque = work / (c.eta * turned)
		e.engine = e.torque * slip * m.time
		e.clutch = e.torque * (slip*m.time - turned)
		e.gearbox = (1 - c.eta) * e.torque * turned
		return e
	}
	e.spin = s.spinning(st.gear, m.w1, 0)
	gain := e.spin - st.spin
	switch through := max(work, 0) / c.eta; {
	case through+gain >= 0:
		e.engine = through + gain
		e.torque = e.engine / turned
		e.gearbox = (1 - c.eta) * through
		e.brakes = max(0, -work)
	default:
		e.gearbox = -(1 - c.eta) * gain
		e.brakes = -c.eta*gain - work
	}
	return e
}
