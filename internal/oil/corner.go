package oil

import "math"

// A Circulation is the oil that goes up into the engine and comes back.
type Circulation struct {
	Up   float64 // that the pump takes at the pickup, m³/s
	Back float64 // that comes back while the acceleration lasts, m³/s
}

// Lasts returns the time t, s, that the supply at the pickup lasts in a sustained acceleration that begins with a volume of oil in the sump, +Inf
// where it lasts for ever.
//
//	t = (V − Vn)/(Up − Back)   all oil, Vn what covers the pickup with one plane
//	t = (Vg − Vgn)/Up          the gate's own, which what comes back falls beside
//
// The longer one counts: once the gate has given its own, what the rest still brings into it goes on. No source: balance of volume. Both are 0 where
// the oil does not cover the pickup to begin with. The oil is taken to stand as the acceleration wants at once.
func (m *Sump) Lasts(volume float64, a Acceleration, c Circulation) (float64, error) {
	state, err := m.At(volume, a)
	if err != nil {
		return 0, err
	}
	s := a.fall()
	lasts := runsOut(volume-m.under(s), c.Up-c.Back)
	if state.Held {
		lasts = math.Max(lasts, runsOut(state.Gated-volumeAt(m.inside, s, m.through(s)), c.Up))
	}
	return lasts, nil
}

// Above returns the oil that the pump can still take under an acceleration before the pickup uncovers, m³: nothing comes back meanwhile.
func (m *Sump) Above(volume float64, a Acceleration) (float64, error) {
	lasts, err := m.Lasts(volume, a, Circulation{Up: 1})
	return lasts, err
}

// runsOut returns when a volume is used up at a net flow.
func runsOut(volume, flow float64) float64 {
	switch {
	case !(volume > 0):
		return 0
	case !(flow > 0):
		return math.Inf(1)
	}
	return volume / flow
}
