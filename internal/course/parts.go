package course

import "math"

// A Section is a part of a stage.
type Section struct {
	From, To float64 // m
	Time     float64 // in it, s
	Elapsed  float64 // from the start to its end, s
	Velocity float64 // at its end, m/s
	Slowest  float64 // m/s
	Fastest  float64 // m/s
	Gear     int     // from 0, that it is driven in longest
	Limit    Limit   // that holds longest
}

// Sections returns the stage in parts of a length, m, to the next step; the last is what is left.
func (s *Stage) Sections(every float64) []Section {
	var all []Section
	n := len(s.Trace.Limit)
	for from := 0; from < n; {
		to := from + 1
		for end := s.Trace.Distance[from] + every*(1-1e-9); to < n && s.Trace.Distance[to] < end; {
			to++
		}
		all = append(all, s.section(from, to))
		from = to
	}
	return all
}

// section returns the steps from one up to another.
func (s *Stage) section(from, to int) Section {
	t := &s.Trace
	p := Section{From: t.Distance[from], To: t.Distance[to], Time: t.Time[to] - t.Time[from], Elapsed: t.Time[to], Velocity: t.Velocity[to],
		Slowest: math.Inf(1)}
	for _, v := range t.Velocity[from : to+1] {
		p.Slowest, p.Fastest = min(p.Slowest, v), max(p.Fastest, v)
	}
	var limited [limits]float64
	inGear := make([]float64, len(s.InGear))
	for i := from; i < to; i++ {
		dt := t.Time[i+1] - t.Time[i]
		limited[t.Limit[i]] += dt
		inGear[t.Gear[i]] += dt
	}
	p.Limit, p.Gear = Limit(longest(limited[:])), longest(inGear)
	return p
}

// longest returns the index of the greatest of several times.
func longest(times []float64) int {
	at := 0
	for i := range times {
		if times[i] > times[at] {
			at = i
		}
	}
	return at
}

// A Corner is a corner that the car has to slow down for, or that holds it back.
type Corner struct {
	From, To float64 // m
	Radius   float64 // the tightest, m; infinite where the course allows a speed alone
	Right    bool    // the curvature is above 0
	Enter    float64 // speed where it begins, m/s
	Exit     float64 // where it ends, m/s
	Slowest  float64 // m/s
	At       float64 // where that is, m
	Gear     int     // there, from 0
	Lateral  float64 // highest v²/r, m/s²
	Time     float64 // in it, s
}

// Corners returns the corners that hold the car back. Stations that turn the same way, or allow a speed, one after the other are one corner.
func (s *Stage) Corners(stations []Station) []Corner {
	var all []Corner
	turns := func(i int32) int {
		at := &stations[i]
		switch {
		case at.Curvature > 0:
			return 1
		case at.Curvature < 0:
			return -1
		case at.Allowed > 0:
			return 2
		}
		return 0
	}
	t := &s.Trace
	for from, n := 0, len(t.Limit); from < n; {
		way, to, held := turns(t.Station[from]), from, false
		for to < n && turns(t.Station[to]) == way {
			held = held || t.Limit[to] == ByCorner
			to++
		}
		if way != 0 && held {
			all = append(all, s.corner(stations, from, to))
		}
		from = to
	}
	return all
}

func (s *Stage) corner(stations []Station, from, to int) Corner {
	t := &s.Trace
	c := Corner{From: t.Distance[from], To: t.Distance[to], Enter: t.Velocity[from], Exit: t.Velocity[to], Time: t.Time[to] - t.Time[from],
		Radius: math.Inf(1), Right: stations[t.Station[from]].Curvature > 0, Slowest: math.Inf(1)}
	for i := from; i <= to; i++ {
		step := min(i, to-1)
		curvature, v := math.Abs(stations[t.Station[step]].Curvature), t.Velocity[i]
		c.Radius = min(c.Radius, 1/curvature)
		c.Lateral = max(c.Lateral, v*v*curvature)
		if v < c.Slowest {
			c.Slowest, c.At, c.Gear = v, t.Distance[i], int(t.Gear[step])
		}
	}
	return c
}
