package airpath

import (
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// A Mixture is what lambda the engine is given: over speed at full load and towards one value at part load, or over speed and manifold pressure.
type Mixture struct {
	FullLoad numeric.Curve // over engine speed, rad/s
	PartLoad float64       // where the throttle or the wastegate leaves less; 0: FullLoad's everywhere
	From, To float64       // band over which PartLoad goes over into FullLoad, as shares of full load's manifold pressure or the venue's, 0 to 1

	// Where it is given the map takes the place of all the above: for each engine speed, rad/s, rising, lambda over manifold pressure, Pa absolute.
	Speeds []float64
	Rows   []numeric.Curve
}

// Lambda returns λ at an engine speed, rad/s, and manifold pressure, Pa absolute (+Inf: full load), and whether it is held at the end of a table.
// share is that pressure over full load's at the speed, or over the venue's where that is lower: above the venue's the mixture is full load's.
//
//	λ = λpart + (λfull − λpart) s² (3 − 2 s),  s = (share − from)/(to − from), held within 0 to 1
//
// Between the speeds of a map λ runs straight.
func (m *Mixture) Lambda(speed, pressure, share float64) (lambda float64, held bool) {
	if len(m.Rows) == 0 {
		full, held := m.FullLoad.At(speed)
		if m.PartLoad == 0 || share >= m.To {
			return full, held
		}
		s := max((share-m.From)/(m.To-m.From), 0)
		return m.PartLoad + (full-m.PartLoad)*s*s*(3-2*s), held
	}
	last := len(m.Rows) - 1
	i := 0
	for i < last-1 && speed > m.Speeds[i+1] {
		i++
	}
	at := func(i int) float64 {
		_, hi := m.Rows[i].Span()
		v, h := m.Rows[i].At(min(pressure, hi))
		held = held || h || pressure > hi && !math.IsInf(pressure, 1)
		return v
	}
	if last == 0 {
		lambda = at(0)
		return lambda, held || speed != m.Speeds[0]
	}
	f := (speed - m.Speeds[i]) / (m.Speeds[i+1] - m.Speeds[i])
	if f < 0 || f > 1 {
		held = true
		f = min(max(f, 0), 1)
	}
	return at(i)*(1-f) + at(i+1)*f, held
}

// follows reports whether the mixture goes with the share of full load.
func (m *Mixture) follows() bool { return len(m.Rows) == 0 && m.PartLoad != 0 }

func (m *Mixture) check() error {
	switch {
	case len(m.Rows) != len(m.Speeds):
		return &SetupError{fmt.Sprintf("%d rows of lambda for %d speeds", len(m.Rows), len(m.Speeds))}
	case len(m.Rows) > 0:
		for i := 1; i < len(m.Speeds); i++ {
			if !(m.Speeds[i] > m.Speeds[i-1]) {
				return &SetupError{"the speeds of the lambda table do not rise"}
			}
		}
		for i := range m.Rows {
			if m.Rows[i].IsZero() || !(m.Speeds[i] > 0 && m.Speeds[i] <= math.MaxFloat64) {
				return &SetupError{fmt.Sprintf("row %d of the lambda table lacks a speed or its lambdas", i+1)}
			}
		}
		return nil
	case m.FullLoad.IsZero():
		return &SetupError{"no lambda"}
	case m.PartLoad != 0 && !(m.PartLoad >= 0.5 && m.PartLoad <= 2):
		return &SetupError{fmt.Sprintf("lambda at part load is %.4g; want 0.5 to 2", m.PartLoad)}
	case m.PartLoad != 0 && !(m.From >= 0 && m.From < m.To && m.To <= 1):
		return &SetupError{fmt.Sprintf("lambda goes over to full load's from %.4g to %.4g; want a rising band within 0 to 1", m.From, m.To)}
	}
	return nil
}
