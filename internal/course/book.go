package course

import "math"

// A book adds up what happens on the way.
type book struct {
	sim     *sim
	unknown bool            // the engine got to where its torque is known no further
	step    [limits]float64 // time in the step, s
	open    Stretch         // at full throttle, that lasts
}

func (b *book) stage() *Stage { return &b.sim.stage }

// begin begins a step.
func (b *book) begin() { b.step = [limits]float64{} }

// most returns the limit that held longest in the step.
func (b *book) most() Limit { return Limit(longest(b.step[:])) }

// spun writes down that the engine was brought to another speed by itself, which takes energy, or by the clutch, which loses it.
func (b *book) spun(gain float64) {
	w := &b.stage().Work
	w.Engine += max(0, gain)
	w.Clutch += max(0, -gain)
}

// shifted writes down a shift.
func (b *book) shifted(from, to int) {
	if to < from {
		b.stage().Downshifts++
		return
	}
	b.stage().Upshifts++
	b.unknown = b.unknown || b.sim.car.Upshifts[from].Unknown
}

// write writes down a move.
func (b *book) write(st *state, m *move, e *effort) {
	s, g := b.sim, b.stage()
	limit := b.limit(st, m, e)
	if limit == ByLimiter && !s.limiter {
		b.unknown = true
	}
	b.step[limit] += m.time
	g.Limited[limit] += m.time
	g.InGear[st.gear] += m.time

	mid := (m.w0 + m.w1) / 2
	w := &g.Work
	w.Engine += e.engine
	w.Gearbox += e.gearbox
	w.Clutch += e.clutch
	w.Brakes += e.brakes
	w.Drag += s.drag * mid * m.x
	w.Rolling += m.leg.rolling * m.leg.loaded(mid) * m.x
	w.Gradient += m.leg.gradient * m.x

	at := m.leg.from + float64(st.step-m.leg.first)*m.leg.dx + st.x
	if m.time > 0 && e.brakes/m.time > g.BrakePower {
		g.BrakePower, g.BrakeAt = e.brakes/m.time, at
	}
	share := 1.0 // in a cut the fuel of full load flows on
	if st.phase != cut {
		full, _ := s.car.Torque.At(e.speed)
		share = e.torque / full
	}
	g.Fuel += s.car.Fuel.Flow(e.speed, share) * m.time

	switch limit {
	case ByEngine, ByShift:
		if b.open.To != at {
			b.open = Stretch{From: at}
		}
		b.open.To = at + m.x
		b.open.Time += m.time
		if b.open.To-b.open.From > g.Open.To-g.Open.From {
			g.Open = b.open
		}
	default:
		b.open = Stretch{}
	}
}

// limit returns what keeps the car from being faster in a move.
func (b *book) limit(st *state, m *move, e *effort) Limit {
	held := m.leg.holds(min(m.w0, m.w1))
	switch {
	case m.bound && held:
		return ByCorner
	case m.bound && m.w1 >= b.sim.top:
		return ByLimiter
	case m.bound && (e.brakes > 0 || m.w1 < m.w0):
		return ByBrakes
	case m.bound:
		return ByCorner
	case st.phase == cut:
		return ByShift
	case m.held:
		return ByLimiter
	case m.limited && held:
		return ByCorner
	case m.limited:
		return ByTraction
	}
	return ByEngine
}

// settle fills in what is read off the trace.
func (s *sim) settle(stations []Station) {
	g, t := &s.stage, &s.stage.Trace
	slowed := false
	for i, w := range s.w {
		v := math.Sqrt(w)
		t.Velocity[i] = v
		t.Distance[i] = stations[len(stations)-1].Distance
		if i < len(s.of) {
			l := &s.legs[s.of[i]]
			t.Distance[i] = l.from + float64(i-l.first)*l.dx
			if a := w * l.curvature; a > g.Lateral {
				g.Lateral, g.LateralAt = a, t.Distance[i]
			}
		}
		if i > 0 {
			l := &s.legs[s.of[i-1]]
			if a := w * l.curvature; a > g.Lateral {
				g.Lateral, g.LateralAt = a, t.Distance[i]
			}
			slowed = slowed || t.Limit[i-1] == ByCorner || t.Limit[i-1] == ByBrakes
		}
		if !g.Top.Found || v > g.Top.Velocity {
			g.Top = Place{v, t.Distance[i], true}
		}
		if slowed && (!g.Slowest.Found || v < g.Slowest.Velocity) {
			g.Slowest = Place{v, t.Distance[i], true}
		}
	}
	g.Length = t.Distance[len(s.of)]
}
