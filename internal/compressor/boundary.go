package compressor

import (
	"math"
	"sort"
)

// A boundary is a border of the map, as ln ṁ over ln h: a table at equal steps, cubic between them, and beyond its ends
// the resistance lines ṁ² ~ h through them.
type boundary struct {
	first, inverseStep float64
	mu, slope          []float64 // slope times the step
}

func (b *boundary) at(logHead float64) float64 {
	u, last := (logHead-b.first)*b.inverseStep, len(b.mu)-1
	switch {
	case !(u > 0):
		return b.mu[0] + (logHead-b.first)/2
	case u >= float64(last):
		return b.mu[last] + (u-float64(last))/b.inverseStep/2
	}
	j := int(u)
	c := cubicAt(u - float64(j))
	return c.of(b.mu[j], b.slope[j], b.mu[j+1], b.slope[j+1])
}

// surgeBoundary returns the line through the surge ends.
func (su *surface) surgeBoundary() (boundary, error) {
	// Taken finely along ν first, where the surface is at hand, then turned to equal steps of ln h.
	const perGap = 128
	var nu, lnh []float64
	end := func(v float64) (mu, logHead float64) {
		p := su.place(su.gap(v), v)
		f := su.level(&p, p.start)
		return v + f, 2*(v+f) - p.start - p.k
	}
	for i := range su.ribs[:len(su.ribs)-1] {
		r := &su.ribs[i]
		for j := range perGap {
			nu = append(nu, r.nu+r.width*float64(j)/perGap)
		}
	}
	nu = append(nu, su.ribs[len(su.ribs)-1].nu)
	for k, v := range nu {
		_, l := end(v)
		if k > 0 && !(l > lnh[k-1]) {
			return boundary{}, &MapError{min((k-1)/perGap+1, len(su.ribs)-1), -1, "the pressure ratio of its surge end is not above that of the line before"}
		}
		lnh = append(lnh, l)
	}

	const steps = 1024
	last := len(lnh) - 1
	size := (lnh[last] - lnh[0]) / steps
	b := boundary{first: lnh[0], inverseStep: 1 / size, mu: make([]float64, steps+1), slope: make([]float64, steps+1)}
	for j := range b.mu {
		target := lnh[0] + size*float64(j)
		k := min(max(sort.SearchFloat64s(lnh, target), 1), last)
		slope := (nu[k] - nu[k-1]) / (lnh[k] - lnh[k-1])
		v := nu[k-1]
		// Over so short a chord the slope hardly changes: each step leaves about a hundredth of the error, until none is left.
		for range 8 {
			_, l := end(v)
			before := v
			if v = min(max(v+(target-l)*slope, nu[k-1]), nu[k]); v == before {
				break
			}
		}
		b.mu[j], _ = end(v)
		d := 1e-5 * (nu[last] - nu[0])
		m0, l0 := end(max(v-d, nu[0]))
		m1, l1 := end(min(v+d, nu[last]))
		b.slope[j] = size * (m1 - m0) / (l1 - l0)
	}
	return b, nil
}

// check refuses lines that meet or cross, and a surface on which speed would not follow from flow and pressure ratio.
func (su *surface) check(curves []curve) error {
	on := func(i int, x float64) float64 {
		r := &su.ribs[i]
		return r.nu + su.flowOn(i, min(x-r.k, r.end))
	}
	for i := range len(curves) - 1 {
		a, b := &curves[i], &curves[i+1]
		for j, x := range b.x {
			if !(on(i+1, x) > on(i, x)+lineGap) {
				return &MapError{i + 1, b.point[j], "meets or crosses the line before"}
			}
		}
		for j, x := range a.x {
			if !(on(i+1, x) > on(i, x)+lineGap) {
				return &MapError{i, a.point[j], "meets or crosses the next line"}
			}
		}
		// Between the lines, along resistance lines from one end of the map to the other.
		const across, along = 16, 128
		lo, hi := min(a.x[0], b.x[0]), max(a.x[len(a.x)-1], b.x[len(b.x)-1])
		var nu [across + 1]float64
		var places [across + 1]place
		for n := range nu {
			nu[n] = a.nu + (b.nu-a.nu)*float64(n)/across
			places[n] = su.place(i, nu[n])
		}
		for k := range along + 1 {
			x := lo + (hi-lo)*float64(k)/along
			before := math.Inf(-1)
			for n := range places {
				p := &places[n]
				mu := nu[n] + su.level(p, min(x-p.k, p.end))
				if !(mu > before) {
					return &MapError{i + 1, -1, "too unlike the line before: flow between them does not rise with speed"}
				}
				before = mu
			}
		}
	}
	return nil
}
