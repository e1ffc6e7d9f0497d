package run_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// outcomes returns points made by hand at 1, 2, ... rad/s: asked for 2 bar absolute, with what is reached from less boost and, where it is more,
// the second state. 0 is a point without a solution.
func outcomes(reached ...[2]float64) *run.Run {
	r := &run.Run{Outcomes: make([]boost.Outcome, len(reached))}
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		o.Speed, o.Point.TargetPressure = float64(i+1)*100, 2e5
		o.Point.ManifoldPressure, o.Point.Upper = reached[i][0], reached[i][1]
		if reached[i][0] == 0 {
			o.Err = &airpath.PointError{Speed: o.Speed, Stage: "turbine", Reason: "none"}
		}
	}
	return r
}

// TestReaching: 500 Pa short of the boost asked for is reached, 501 Pa is not; a lower speed at which it stays is told.
func TestReaching(t *testing.T) {
	got := outcomes([2]float64{1.2e5}, [2]float64{1.5e5, 2e5}, [2]float64{2e5 - 501}, [2]float64{2e5 - 500}).Reaching()
	assert.Equal(t, run.Onset{Speed: 400, Found: true}, got.Onset)
	assert.Equal(t, run.Onset{Speed: 200, Found: true}, got.Staying)
	assert.True(t, got.Two)

	got = outcomes([2]float64{1.2e5}, [2]float64{2e5}).Reaching()
	assert.Equal(t, run.Onset{Speed: 200, Found: true}, got.Onset)
	assert.False(t, got.Two)

	// Below the first speed that has a solution nothing is known.
	got = outcomes([2]float64{}, [2]float64{2e5}, [2]float64{2e5}).Reaching()
	assert.Equal(t, run.Onset{Speed: 200, Found: true, OrBelow: true}, got.Onset)

	// Reached by nobody who comes from less.
	got = outcomes([2]float64{1.2e5}, [2]float64{1.2e5, 2e5}).Reaching()
	assert.False(t, got.Found)
	assert.True(t, got.Two)

	// Kept up to the speed at which it is reached, or only for a while.
	assert.Equal(t, 400.0, outcomes([2]float64{1.2e5}, [2]float64{1.5e5, 2e5}, [2]float64{1.5e5, 2e5}, [2]float64{2e5}).Reaching().StaysTo)
	while := outcomes([2]float64{1.2e5}, [2]float64{1.5e5, 2e5}, [2]float64{1.5e5, 1.9e5}, [2]float64{2e5}).Reaching()
	assert.True(t, while.Two)
	assert.Equal(t, 200.0, while.StaysTo)

	// Two onsets a search cannot tell apart are one: 10 rpm are 1.047 rad/s.
	near := outcomes([2]float64{1.2e5}, [2]float64{1.2e5, 2e5}, [2]float64{2e5})
	near.Outcomes[2].Speed = near.Outcomes[1].Speed + 1.04
	assert.False(t, near.Reaching().Two)
	near.Outcomes[2].Speed = near.Outcomes[1].Speed + 1.06
	assert.True(t, near.Reaching().Two)
}

// TestPart: a run from 1500 rpm, or half of a low limiter, to the limiter is of all speeds.
func TestPart(t *testing.T) {
	for _, c := range []struct {
		limiter, first, last float64
		part                 bool
	}{
		{7800, 1500, 7800, false}, {7800, 1000, 7800, false}, {7800, 1501, 7800, true}, {7800, 1500, 7799, true}, {1400, 700, 1400, false}, {1400, 710, 1400, true},
	} {
		trim := &spec.Trim{Engine: spec.Engine{Limiter: c.limiter * spectest.PerRPM}}
		r := &run.Run{Trim: trim, Outcomes: []boost.Outcome{{Speed: c.first * spectest.PerRPM}, {Speed: c.last * spectest.PerRPM}}}
		_, _, part := r.Part()
		assert.Equal(t, c.part, part, "%v", c)
	}
}

func TestSpans(t *testing.T) {
	r := outcomes([2]float64{1e5}, [2]float64{1e5}, [2]float64{2e5}, [2]float64{1e5})
	full := func(o *boost.Outcome) bool { return o.Point.ManifoldPressure == 2e5 }
	assert.Equal(t, []run.Span[bool]{{Of: false, First: 100, Last: 200}, {Of: true, First: 300, Last: 300}, {Of: false, First: 400, Last: 400}},
		run.Spans(r.Outcomes, full))
	assert.Empty(t, run.Spans(nil, full))
}

func TestWhere(t *testing.T) {
	r := outcomes([2]float64{1e5}, [2]float64{2e5}, [2]float64{2e5}, [2]float64{})
	reaches := func(o *boost.Outcome) bool {
		return o.Point.TargetPressure-o.Point.ManifoldPressure <= 0 || o.Err != nil
	}
	first, last, ok := run.Where(r.Outcomes, reaches)
	assert.True(t, ok)
	assert.InDelta(t, 200, first, 0)
	assert.InDelta(t, 300, last, 0, "what has no solution has no marks")
	_, _, ok = run.Where(r.Outcomes, func(*boost.Outcome) bool { return false })
	assert.False(t, ok)
}
