package airpath

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A scan is an engine's air path at one speed, outlet coordinate and phasing, found by halving alone: the flow that the cylinders
// take, and the exhaust temperature that the cycle gives back. It shares the equations with the solver, and nothing of its search.
type scan struct {
	spare      float64 // exhaust that the turbine does not need, as a share
	beyondGate float64 // of it what the wide-open wastegate does not pass; positive: the boost rises
	kept       bool    // every limit that opens the wastegate, knock and torque aside
	knocks     bool
	pm         float64
	known      bool // the parts are known for the state
}

func scanAt(v *Solver, speed, target, x, ca50 float64) (scan, bool) {
	e := v.e
	if v.prepare(speed) != nil {
		return scan{}, false
	}
	v.w.t.target = target
	v.ca50 = ca50
	flowAt := func(t3 float64) bool {
		v.t3 = t3
		v.warm()
		lo, hi := math.Log(1e-4), math.Log(3)
		if e.Restrictor != nil {
			lo, hi = math.Log(1e-9), math.Log(0.97)
		}
		for range 60 {
			in := (lo + hi) / 2
			v.w.t.expansion, v.w.t.tailpipe = 1.5, 0.9*t3
			for range 3 { // the exhaust's mean heat capacity settles
				e.follow(&v.w.t, in, x, &v.w.s)
			}
			if v.w.s.filling > 0 {
				lo = in
			} else {
				hi = in
			}
		}
		return math.Abs(v.w.s.filling) < 1e-6
	}
	lo, hi := 500.0, 2200.0
	for range 20 {
		t3 := (lo + hi) / 2
		if !flowAt(t3) || v.runCycle() != nil {
			return scan{}, false
		}
		if v.turn.t3 > t3 {
			lo = t3
		} else {
			hi = t3
		}
	}
	s := &v.w.s
	now := scan{
		spare: 1 - s.turbine.MassFlow/s.exhaustFlow, pm: s.pm,
		known:  !s.clamped && s.shaftOK && s.shaft <= farthestSpeed*e.topSpeed,
		knocks: v.res.KnockIntegral > e.Combustion.KnockLimit,
		kept:   s.pm <= target && s.shaft <= e.speedLimit && s.op.SurgeMargin >= e.Limits.SurgeMargin,
	}
	now.beyondGate = now.spare - s.wastegateMax/s.exhaustFlow
	if e.Restrictor != nil && s.p1 < e.onset*s.p0 {
		now.kept = false
	}
	if e.Limits.PeakPressure > 0 && v.res.PeakPressure > e.Limits.PeakPressure {
		now.knocks = true
	}
	return now, true
}

// What is refused has no solution: from no boost to the end of what the parts are known for the boost rises everywhere. Best phasing
// leaves the exhaust coolest, so that what rises there rises at every phasing.
func TestRefusedHasNoSolution(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	checked := 0
	for i := 0; i < 400 && checked < 5; i++ {
		s := random(r)
		e, err := New(s)
		require.NoError(t, err)
		boost := 0.3e5 + 2.2e5*r.Float64()
		v := e.NewSolver()
		for n := 1500.0; n <= 8000; n += 1300 {
			d := demand(&s, n*rpm, boost)
			_, err := v.Solve(d)
			if err == nil {
				continue
			}
			var pe *PointError
			require.True(t, errors.As(err, &pe))
			assert.Contains(t, []string{"wastegate", "turbine"}, pe.Stage, "%v", err)
			checked++
			for x := -8.0; x < 2.1; x += 0.1 {
				now, ok := scanAt(v, d.Speed, d.Target, x, e.Combustion.BestCA50)
				if !ok || !now.known {
					if x > -1 {
						break
					}
					continue
				}
				assert.Greater(t, now.spare, 0.0, "engine %d, %v rpm, ln(PR − 1) %v: the turbine ends the rise", i, n, x)
				if !now.kept {
					assert.Greater(t, now.beyondGate, 0.0, "engine %d, %v rpm, ln(PR − 1) %v: the wastegate holds it", i, n, x)
				}
			}
		}
	}
	assert.GreaterOrEqual(t, checked, 5)
}

// Both steady states, found by the sign of what moves the shaft on either side of each. An engine that comes from low boost passes
// nothing before the lower one at which it could stay.
func TestTwoSteadyStates(t *testing.T) {
	found := 0
	for name, s := range map[string]Setup{"open": unrestricted(), "restricted": invented()} {
		s.Combustion.KnockLimit = 10 // best phasing throughout
		s.Turbine.EffectiveArea = 9e-4
		s.Compressor.Map = inventedMap(0.46, 3.67, 0.3)
		e, err := New(s)
		require.NoError(t, err)
		v := e.NewSolver()
		for n := 3250.0; n <= 3400; n += 5 {
			d := demand(&s, n*rpm, 160e3)
			lower, upper, ok, err := v.Alternatives(d)
			require.NoError(t, err)
			assert.Equal(t, ok, lower.Notes&NoteTwoStates != 0)
			if !ok {
				assert.Zero(t, lower.Upper)
				continue
			}
			found++
			assert.InEpsilon(t, lower.Upper, upper.ManifoldPressure, 1e-6, name)
			assert.Greater(t, upper.ManifoldPressure, lower.ManifoldPressure)
			rises := func(x float64) bool {
				now, ok := scanAt(v, d.Speed, d.Target, x, e.Combustion.BestCA50)
				require.True(t, ok)
				return now.spare > 0 && (now.kept || now.beyondGate > 0)
			}
			lowX, highX := math.Log(lower.PressureRatio-1), math.Log(upper.PressureRatio-1)
			if found%5 == 1 {
				for x := -5.0; x < lowX-0.002; x += 0.1 {
					assert.True(t, rises(x), "%s, %v rpm: on the way to the lower state at %v", name, n, x)
				}
				assert.True(t, rises(lowX-0.001) && rises(highX-0.001), "%s, %v rpm: below", name, n)
				assert.False(t, rises(lowX+0.001) || rises(highX+0.001), "%s, %v rpm: above", name, n)
			}
		}
	}
	t.Logf("%d speeds with two states", found)
	assert.Greater(t, found, 3)
}

// Alternatives returns both operating points of a demand where there are two: the one an engine comes to from low boost, which is
// that of Solve, and the one at which it stays when it comes from more. ok is false where there is only one.
func (v *Solver) Alternatives(d Demand) (lower, upper Point, ok bool, err error) {
	if lower, err = v.Solve(d); err != nil || lower.Notes&NoteTwoStates == 0 {
		return lower, Point{}, false, err
	}
	saved := *v
	defer func() { *v = saved }()
	if v.w.t.target = d.Target; !v.second() {
		return lower, Point{}, false, nil
	}
	return lower, v.point(d.Target), true, nil
}
