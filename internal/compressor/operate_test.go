package compressor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func inventedMap(t testing.TB) *Map {
	t.Helper()
	m, err := NewMap(standardDay, inventedLines())
	require.NoError(t, err)
	return m
}

// eachMap runs a test on the measured map and on an invented one.
func eachMap(t *testing.T, f func(t *testing.T, m *Map)) {
	t.Run("hecc", func(t *testing.T) { f(t, heccMap(t)) })
	t.Run("invented", func(t *testing.T) { f(t, inventedMap(t)) })
	t.Run("two lines", func(t *testing.T) {
		lines := inventedLines()
		m, err := NewMap(standardDay, []Line{lines[1], lines[4]})
		require.NoError(t, err)
		f(t, m)
	})
}

// onSurface returns the point of the surface at a speed and beta.
func onSurface(m *Map, speed, beta float64) Point {
	su := &m.surface
	nu := math.Log(speed)
	p := su.place(su.gap(nu), nu)
	s := p.start + beta*(p.end-p.start)
	f, w := su.flowAndWork(&p, s)
	mu := nu + f
	h := math.Exp(2*mu - s - p.k)
	return Point{math.Exp(mu), pressureRatioOf(h), h / math.Exp(w+2*nu)}
}

// Along the surface, (speed, beta) to (flow, pressure ratio) and back.
func TestOperateInvertsSurface(t *testing.T) {
	eachMap(t, func(t *testing.T, m *Map) {
		low, top := m.lines[0].Speed, m.TopSpeed()
		for i := range 201 {
			speed := low + (top-low)*float64(i)/200
			for j := range 101 {
				beta := float64(j) / 100
				p := onSurface(m, speed, beta)
				op := m.Operate(p.Flow, p.PressureRatio)
				require.InDelta(t, 1, op.Speed/speed, 1e-6, "speed %v beta %v", speed, beta)
				require.InDelta(t, p.Efficiency, op.Efficiency, 1e-6, "speed %v beta %v", speed, beta)
				require.InDelta(t, beta, op.Beta, 1e-5, "speed %v beta %v", speed, beta)
				require.Equal(t, Inside, op.Region, "speed %v beta %v", speed, beta)
				require.GreaterOrEqual(t, op.SurgeMargin, -1e-6)
				require.GreaterOrEqual(t, op.ChokeMargin, -1e-6)
				if beta == 0 {
					require.InDelta(t, 1, m.SurgeFlow(p.PressureRatio)/p.Flow, 1e-6, "surge flow at speed %v", speed)
				}
				if beta == 1 {
					require.InDelta(t, 1, m.ChokeFlow(speed)/p.Flow, 1e-9, "choke flow at speed %v", speed)
				}
			}
		}
	})
}

// FlowAt and Operate answer the same question from its two ends.
func TestFlowAtInvertsOperate(t *testing.T) {
	eachMap(t, func(t *testing.T, m *Map) {
		low, top := m.lines[0].Speed, m.TopSpeed()
		for i := range 61 {
			speed := low * math.Pow(1.2*top/low/0.5, float64(i)/60) * 0.5 // below the lowest line to above the top one
			for j := range 41 {
				pr := 1 + 6*float64(j+1)/41
				flow := m.FlowAt(speed, pr)
				op := m.Operate(flow, pr)
				if op.Region&PastSurge != 0 {
					assert.Less(t, flow, m.SurgeFlow(pr))
					continue // held at the surge line
				}
				assert.InDelta(t, 1, op.Speed/speed, 1e-6, "speed %v pressure ratio %v", speed, pr)
			}
		}
	})
}

// ratios and flows span the map and well beyond it.
func ratios() []float64 {
	var v []float64
	for pr := 0.5; pr < 9; pr *= 1.003 {
		v = append(v, pr)
	}
	return v
}

func flows(m *Map, n int) []float64 {
	lo, hi := 0.02*m.ChokeFlow(m.lines[0].Speed), 1.6*m.ChokeFlow(m.TopSpeed())
	v := make([]float64, n)
	for i := range v {
		v[i] = lo * math.Pow(hi/lo, float64(i)/float64(n-1))
	}
	return v
}

// At fixed flow, more pressure ratio never takes less speed; everything is finite, and margins and flags agree.
func TestOperateEverywhere(t *testing.T) {
	eachMap(t, func(t *testing.T, m *Map) {
		for _, flow := range flows(m, 100) {
			before := 0.0
			for _, pr := range ratios() {
				op := m.Operate(flow, pr)
				finite := true
				for _, v := range []float64{op.Speed, op.Efficiency, op.Beta, op.SurgeMargin, op.ChokeMargin} {
					finite = finite && !math.IsNaN(v) && !math.IsInf(v, 0)
				}
				isPastSurge, isPastChoke, isAbove := op.Region&PastSurge != 0, op.Region&PastChoke != 0, op.Region&AboveTopLine != 0
				belowLowest := op.Speed < m.lines[0].Speed*(1-2*edge) || pr <= 1
				for _, held := range []struct { // compared by hand: there are some 100 000 places
					holds bool
					what  string
				}{
					{op.Speed >= before*(1-1e-12), "speed falls as the pressure ratio rises"},
					{finite, "not finite"},
					{op.Efficiency > 0 && op.Efficiency <= 1, "efficiency"},
					{isPastSurge == (op.SurgeMargin < -math.Expm1(edge)), "past surge"},
					{isPastChoke || !(op.ChokeMargin < -1e-5), "not past choke, with a margin below zero"},
					{!isPastChoke || op.ChokeMargin < 0, "past choke, with a margin"},
					{isAbove == (op.Speed > m.TopSpeed()*(1+2*edge)), "above the top line"},
					{!belowLowest || op.Region&BelowLowestLine != 0, "below the lowest line"},
				} {
					if !held.holds {
						require.Fail(t, held.what, "flow %v pressure ratio %v: %+v", flow, pr, op)
					}
				}
				before = op.Speed
			}
		}
	})
}

// A small change of either argument makes a small change of the result, across every border: over the finest step the jump falls with
// the step, which it would not at a break.
func TestOperateIsContinuous(t *testing.T) {
	jump := func(m *Map, step float64) float64 {
		worst := 0.0
		at := func(a, b Operation) {
			worst = max(worst, math.Abs(b.Speed/a.Speed-1), math.Abs(b.Efficiency-a.Efficiency),
				math.Abs(b.ChokeMargin-a.ChokeMargin))
		}
		for _, flow := range flows(m, 160) {
			for pr := 0.5; pr < 9; pr *= 1.04 {
				a := m.Operate(flow, pr)
				at(a, m.Operate(flow*(1+step), pr))
				// Head, not pressure ratio, is what the speed follows near a pressure ratio of 1.
				at(a, m.Operate(flow, 1+(pr-1)*(1+step)))
			}
		}
		return worst
	}
	eachMap(t, func(t *testing.T, m *Map) {
		assert.Less(t, jump(m, 1e-3), 0.06)
		assert.Less(t, jump(m, 1e-6), 6e-5)
	})
}

// The borders themselves: both sides of each meet.
func TestOperateAtBorders(t *testing.T) {
	eachMap(t, func(t *testing.T, m *Map) {
		// Over the step of 2d the steepest slope met is about 5.
		const d, tol = 3e-6, 20 * 3e-6
		low, top := m.lines[0].Speed, m.TopSpeed()
		meet := func(a, b Operation, what string) {
			assert.InDelta(t, 1, a.Speed/b.Speed, tol, what)
			assert.InDelta(t, a.Efficiency, b.Efficiency, tol, what)
			assert.InDelta(t, a.Beta, b.Beta, tol, what)
			assert.InDelta(t, a.SurgeMargin, b.SurgeMargin, tol, what)
			assert.InDelta(t, a.ChokeMargin, b.ChokeMargin, tol, what)
			assert.NotEqual(t, a.Region, b.Region, what)
		}
		for i := range 21 {
			speed := low + (top-low)*float64(i+1)/22
			p := onSurface(m, speed, 0)
			meet(m.Operate(p.Flow*(1-d), p.PressureRatio), m.Operate(p.Flow*(1+d), p.PressureRatio), "surge")
			p = onSurface(m, speed, 1)
			meet(m.Operate(p.Flow, p.PressureRatio*(1-d)), m.Operate(p.Flow, p.PressureRatio*(1+d)), "choke")
			beta := float64(i+1) / 22
			p = onSurface(m, top, beta)
			meet(m.Operate(p.Flow*(1-d), p.PressureRatio*(1-d)), m.Operate(p.Flow*(1+d), p.PressureRatio*(1+d)), "top")
			p = onSurface(m, low, beta)
			meet(m.Operate(p.Flow*(1-d), p.PressureRatio*(1-d)), m.Operate(p.Flow*(1+d), p.PressureRatio*(1+d)), "lowest")
		}
	})
}

// Off the lines' speeds: flow with speed and head with speed squared, at the same efficiency, margins and beta.
func TestOperateSimilarity(t *testing.T) {
	eachMap(t, func(t *testing.T, m *Map) {
		for _, c := range []struct {
			speed, ratio float64
			region       Region
		}{
			{m.lines[0].Speed, 0.6, BelowLowestLine},
			{m.lines[0].Speed, 0.1, BelowLowestLine},
			{m.TopSpeed(), 1.1, AboveTopLine},
		} {
			for _, beta := range []float64{0.1, 0.5, 0.9} {
				p := onSurface(m, c.speed, beta)
				at := m.Operate(p.Flow, p.PressureRatio)
				op := m.Operate(p.Flow*c.ratio, pressureRatioOf(head(p.PressureRatio)*c.ratio*c.ratio))
				assert.InEpsilon(t, c.speed*c.ratio, op.Speed, 1e-6)
				assert.InDelta(t, at.Efficiency, op.Efficiency, 1e-6)
				assert.InDelta(t, at.Beta, op.Beta, 1e-5)
				assert.InDelta(t, at.ChokeMargin, op.ChokeMargin, 1e-6)
				assert.Equal(t, c.region, op.Region)
				assert.InEpsilon(t, m.ChokeFlow(c.speed)*c.ratio, m.ChokeFlow(c.speed*c.ratio), 1e-12)
			}
		}
	})
}

func TestOperatePastSurgeAndChoke(t *testing.T) {
	eachMap(t, func(t *testing.T, m *Map) {
		speed := (m.lines[0].Speed + m.TopSpeed()) / 2
		p := onSurface(m, speed, 0)
		op := m.Operate(0.8*p.Flow, p.PressureRatio)
		assert.InEpsilon(t, speed, op.Speed, 1e-6, "held at the surge line")
		assert.InDelta(t, p.Efficiency, op.Efficiency, 1e-6)
		assert.InDelta(t, -0.25, op.SurgeMargin, 1e-6, "(0.8 − 1)/0.8")
		assert.Equal(t, PastSurge, op.Region)
		assert.InDelta(t, 0, op.Beta, 1e-6)

		p = onSurface(m, speed, 1)
		h := head(p.PressureRatio)
		op = m.Operate(p.Flow, pressureRatioOf(0.64*h))
		assert.InEpsilon(t, speed, op.Speed, 1e-6, "straight down from the choke end")
		assert.InDelta(t, p.Efficiency/1.36, op.Efficiency, 1e-6)
		assert.InDelta(t, -0.2, op.ChokeMargin, 1e-6, "√0.64 − 1")
		assert.Equal(t, PastChoke, op.Region)
		assert.Equal(t, 1.0, op.Beta)

		for _, pr := range []float64{1, 0.95, 0.5} {
			op = m.Operate(p.Flow, pr)
			assert.InEpsilon(t, speed, op.Speed, 1e-6)
			assert.Equal(t, PastChoke|BelowLowestLine, op.Region)
			assert.Equal(t, -1.0, op.ChokeMargin)
			assert.Equal(t, 1.0, op.SurgeMargin)
			assert.Zero(t, m.SurgeFlow(pr))
			assert.InEpsilon(t, p.Flow, m.FlowAt(speed, pr), 1e-9)
		}
	})
}

// Far past choke the work vanishes with the head, and never grows as head falls.
func TestWorkPastChoke(t *testing.T) {
	m := heccMap(t)
	p := onSurface(m, m.TopSpeed(), 1)
	before := head(p.PressureRatio) / p.Efficiency
	for pr := p.PressureRatio; pr > 1.001; pr = 1 + (pr-1)*0.98 {
		op := m.Operate(p.Flow, pr)
		work := head(pr) / op.Efficiency
		require.LessOrEqual(t, work, before*(1+1e-12))
		before = work
	}
	assert.Less(t, before, 0.01)
}

func TestOperateDoesNotAllocate(t *testing.T) {
	m := heccMap(t)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		m.Operate(3.4, 3)
		m.Operate(1, 1.2)
		m.Operate(6, 6)
		m.FlowAt(m.TopSpeed(), 4)
	}))
}
