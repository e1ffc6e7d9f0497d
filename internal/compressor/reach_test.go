package compressor

import (
	"math"

	"bellmouth/internal/numeric"
)

// ends returns the place of a speed, and its distance in ln N from the nearest line when off the map.
func (m *Map) ends(speed float64) (p place, on, off float64) {
	su := &m.surface
	nu := numeric.Log(speed)
	on = min(max(nu, su.ribs[0].nu), su.ribs[len(su.ribs)-1].nu)
	return su.place(su.gap(on), on), on, nu - on
}

// FlowAt returns the corrected flow, kg/s, at a corrected speed, rad/s, and a pressure ratio. Where a line has the pressure
// ratio twice, it is the greater flow, on the stable side. Below the pressure ratio of the choke end it is the choke flow; above that
// of the surge end, it is a flow on the line's continuation, below the surge flow. Off the lines' speeds it goes by similarity.
func (m *Map) FlowAt(speed, pressureRatio float64) float64 {
	su := &m.surface
	p, on, off := m.ends(speed)
	h := head(pressureRatio)
	choke := su.level(&p, p.end)
	logHead := func(s float64) float64 {
		f := su.level(&p, s)
		return 2*(on+f) - s - p.k
	}
	target := math.Inf(-1)
	if h > 0 {
		target = numeric.Log(h) - 2*off
	}
	hi := p.end
	if target <= logHead(hi) {
		return numeric.Exp(on + off + choke)
	}
	// From choke toward surge, to the first node that reaches the head: what lies between is on the falling side.
	lo := hi
	for lo > su.s0 {
		lo = max(hi-su.step, su.s0)
		if logHead(lo) >= target {
			break
		}
		hi = lo
	}
	if missing := target - logHead(lo); missing > 0 {
		// Past the table every line goes on with the slope of surgeSlope: ln h = 2(ν + f) − x.
		f := su.level(&p, lo)
		return numeric.Exp(on + off + f - surgeSlope*missing/(1-2*surgeSlope))
	}
	for range 60 {
		mid := (lo + hi) / 2
		if logHead(mid) >= target {
			lo = mid
		} else {
			hi = mid
		}
	}
	f := su.level(&p, (lo+hi)/2)
	return numeric.Exp(on + off + f)
}

// SurgeFlow returns the corrected flow ṁs, kg/s, of the surge line at a pressure ratio: the line through the lowest flows of the speed
// lines, continued by similarity past the first and the last. It is 0 at a pressure ratio of 1 or less.
func (m *Map) SurgeFlow(pressureRatio float64) float64 {
	h := head(pressureRatio)
	if !(h > 0) {
		return 0
	}
	return numeric.Exp(m.surge.at(numeric.Log(h)))
}

// ChokeFlow returns the corrected flow ṁc, kg/s, at the choke end of the line of a corrected speed, rad/s. Off the lines' speeds
// it is proportional to speed.
func (m *Map) ChokeFlow(speed float64) float64 {
	p, on, off := m.ends(speed)
	f := m.surface.level(&p, p.end)
	return numeric.Exp(on + off + f)
}
