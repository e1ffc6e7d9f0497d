package course

import "math"

// again is how far below the speed of its upshift a gear is worth taking, as a share of that speed: one that is used for less does not earn its shifts.
// Common practice, no source.
const again = 0.9

// fit returns the lowest gear that is worth taking at v², at most the highest given.
func (s *sim) fit(w float64, most int) int {
	for g := range most {
		if w < again*again*s.cogs[g].up {
			return g
		}
	}
	return most
}

func (s *sim) mayShiftUp(st *state) bool {
	return st.phase == driving && st.gear < len(s.cogs)-1 && !st.keep
}

// shiftUp leaves a gear at its upshift, where the next one still pulls. With a book it looks ahead first: where the car has to slow down soon, staying in
// the gear may be quicker.
func (s *sim) shiftUp(st *state, l *leg, b *book) {
	if !s.mayShiftUp(st) || st.w < s.cogs[st.gear].up*(1-near) {
		return
	}
	if a, _ := s.pull(l, st.gear+1, st.w, s.lo, 1); !(a > 0) {
		return
	}
	if b != nil {
		stay, shift := *st, *st
		stay.keep = true
		s.change(&shift, st.gear+1, nil)
		if !s.quicker(stay, shift) {
			st.keep = true
			return
		}
	}
	s.change(st, st.gear+1, b)
}

// shiftDown changes down where the engine does not hold the speed, and reports whether it does.
func (s *sim) shiftDown(st *state, l *leg, free float64, limited bool, b *book) bool {
	if st.phase != driving || st.gear == 0 || limited || free >= st.w || !math.IsInf(st.since, 1) && st.since < s.shift(st.from, st.gear).Recovery {
		return false
	}
	if st.w >= s.cogs[st.gear-1].up {
		return false
	}
	this, _ := s.pull(l, st.gear, st.w, s.lo, 1)
	if lower, _ := s.pull(l, st.gear-1, st.w, s.lo, 1); !(lower > this) || this >= 0 {
		return false
	}
	s.change(st, st.gear-1, b)
	return true
}

// change begins a shift to a gear.
func (s *sim) change(st *state, gear int, b *book) {
	if b != nil {
		b.shifted(st.gear, gear)
	}
	st.from, st.gear, st.most = st.gear, gear, gear
	st.phase, st.left = cut, s.shift(st.from, gear).Time
}

// leaveIn chooses the gear with which the car leaves a place that slowed it down: the lowest that is worth it, or the next, where that saves a shift. It
// reports whether it is the next.
func (s *sim) leaveIn(st *state, l *leg, b *book) bool {
	if b == nil || st.gear >= st.most {
		return false
	}
	next := *st
	next.gear++
	if a, _ := s.pull(l, next.gear, next.w, s.lo, 1); !(a > 0) || !s.quicker(*st, next) {
		return false
	}
	st.gear = next.gear
	b.stage().Downshifts--
	s.spinUp(st, b)
	return true
}

// slowed lets the car change down while something else than its engine limits it.
func (s *sim) slowed(st *state, brakes bool, b *book) {
	st.keep = false
	if brakes {
		st.chosen = false
		if st.phase != driving {
			s.endPhase(st, b)
		}
	}
	if st.phase != driving {
		return
	}
	st.since = math.Inf(1)
	st.most = max(st.most, st.gear)
	if g := s.fit(st.w, st.gear); g < st.gear {
		if b != nil {
			b.stage().Downshifts += st.gear - g
		}
		st.gear = g
		s.spinUp(st, b)
	}
}

// ahead is how many steps a choice of gear looks ahead.
const ahead = 2000

// quicker reports whether the second of two cars in the same place is ahead where both have to slow down for the same thing.
func (s *sim) quicker(a, b state) bool {
	settled := func(st *state) bool {
		return st.phase == driving && (math.IsInf(st.since, 1) || st.since >= s.shift(st.from, st.gear).Recovery)
	}
	for range ahead {
		if a.step >= len(s.of) {
			break
		}
		s.advance(&a, nil)
		s.advance(&b, nil)
		switch {
		case a.stands || b.stands:
			return a.stands && !b.stands
		case a.stuck || b.stuck:
			return false
		case a.touches && b.touches:
			return b.t < a.t
		case !settled(&a) || !settled(&b):
		case a.t <= b.t && a.w >= b.w && a.gear == b.gear:
			return false
		case b.t <= a.t && b.w >= a.w && (a.gear == b.gear || a.keep):
			return true
		}
	}
	return b.t < a.t
}
