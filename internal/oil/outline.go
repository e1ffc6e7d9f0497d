// Package oil computes whether oil stays at the pickup: the surface of the oil in a sump or tank under acceleration, how long the supply lasts, the
// oil's viscosity over temperature, what the bearings take of it and what the pump gives.
package oil

import (
	"fmt"
	"math"
	"slices"
)

// A Point is a place in plan, from where the outline counts: X towards the front of the car, Y towards its left, m.
type Point struct{ X, Y float64 }

func (p Point) minus(q Point) Point       { return Point{p.X - q.X, p.Y - q.Y} }
func (p Point) dot(q Point) float64       { return p.X*q.X + p.Y*q.Y }
func (p Point) cross(q Point) float64     { return p.X*q.Y - p.Y*q.X }
func (p Point) length() float64           { return math.Hypot(p.X, p.Y) }
func (p Point) scaled(by float64) Point   { return Point{p.X * by, p.Y * by} }
func (p Point) plus(q Point) Point        { return Point{p.X + q.X, p.Y + q.Y} }
func middle(p, q Point) Point             { return p.plus(q).scaled(0.5) }
func between(p, q Point, t float64) Point { return p.plus(q.minus(p).scaled(t)) }

// An Outline is the corners of a plan in their order, either way round. Its edges do not cross.
type Outline []Point

// Bounds on an outline.
const (
	leastCorners = 3
	mostCorners  = 100
	sameShare    = 1e-9 // of an outline's size: what counts as one place
)

// edge returns the ends of the edge that begins at corner i.
func (o Outline) edge(i int) (a, b Point) { return o[i], o[(i+1)%len(o)] }

// size returns the length of the diagonal of the rectangle round the outline.
func (o Outline) size() float64 {
	lo, hi := o[0], o[0]
	for _, p := range o {
		lo, hi = Point{math.Min(lo.X, p.X), math.Min(lo.Y, p.Y)}, Point{math.Max(hi.X, p.X), math.Max(hi.Y, p.Y)}
	}
	return hi.minus(lo).length()
}

// signed returns the area, m², positive where the corners go round anticlockwise.
func (o Outline) signed() float64 {
	sum := 0.0
	for i := range o {
		a, b := o.edge(i)
		sum += a.minus(o[0]).cross(b.minus(o[0]))
	}
	return sum / 2
}

// Area returns the area A, m²: half the sum of the cross products of the corners that follow each other.
func (o Outline) Area() float64 { return math.Abs(o.signed()) }

// checked returns the outline with its corners anticlockwise, or what is wrong with it.
func (o Outline) checked() (Outline, error) {
	if len(o) < leastCorners || len(o) > mostCorners {
		return nil, fmt.Errorf("it has %d corners; want %d to %d", len(o), leastCorners, mostCorners)
	}
	for i, p := range o {
		if !finite(p.X) || !finite(p.Y) {
			return nil, fmt.Errorf("corner %d is no place", i+1)
		}
	}
	same := sameShare * o.size()
	for i := range o {
		a, b := o.edge(i)
		if b.minus(a).length() <= same {
			return nil, fmt.Errorf("corners %d and %d are at one place; the last joins the first by itself", i+1, (i+1)%len(o)+1)
		}
	}
	for i := range o {
		for j := i + 1; j < len(o); j++ {
			a, b := o.edge(i)
			c, d := o.edge(j)
			next, round := j == i+1, i == 0 && j == len(o)-1
			if next && folds(a, b, d, same) || round && folds(c, d, b, same) || !next && !round && meet(a, b, c, d, same) {
				return nil, fmt.Errorf("its edge from corner %d to %d meets that from %d to %d; want edges that do not cross",
					i+1, (i+1)%len(o)+1, j+1, (j+1)%len(o)+1)
			}
		}
	}
	if o.Area() <= same*o.size() {
		return nil, fmt.Errorf("it encloses nothing")
	}
	if o.signed() < 0 {
		o = slices.Clone(o)
		slices.Reverse(o)
	}
	return o, nil
}

// folds reports whether an edge from b to c goes back along the one from a to b.
func folds(a, b, c Point, same float64) bool {
	return b.minus(a).dot(c.minus(b)) < 0 && (distance(c, a, b) <= same || distance(a, b, c) <= same)
}

// meet reports whether two edges have a place in common.
func meet(a, b, c, d Point, same float64) bool {
	if distance(a, c, d) <= same || distance(b, c, d) <= same || distance(c, a, b) <= same || distance(d, a, b) <= same {
		return true
	}
	side := func(p, q, r Point) bool { return q.minus(p).cross(r.minus(p)) > 0 }
	return side(a, b, c) != side(a, b, d) && side(c, d, a) != side(c, d, b)
}

// distance returns how far a place is from an edge, m.
func distance(p, a, b Point) float64 {
	along := b.minus(a)
	t := math.Max(0, math.Min(1, p.minus(a).dot(along)/along.dot(along)))
	return p.minus(between(a, b, t)).length()
}

// onEdge reports whether a place lies on an edge of the outline.
func (o Outline) onEdge(p Point) bool {
	same := sameShare * o.size()
	for i := range o {
		a, b := o.edge(i)
		if distance(p, a, b) <= same {
			return true
		}
	}
	return false
}

// Contains reports whether a place lies inside the outline or on its edge.
func (o Outline) Contains(p Point) bool {
	if o.onEdge(p) {
		return true
	}
	inside := false
	for i := range o {
		a, b := o.edge(i)
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			inside = !inside
		}
	}
	return inside
}

// common returns the area that two outlines have in common, m². Between the heights at which either has a corner or two edges cross, all edges are
// straight and in one order, so that the width in the middle is the mean.
func common(p, q Outline) float64 {
	var heights []float64
	for _, o := range []Outline{p, q} {
		for _, c := range o {
			heights = append(heights, c.Y)
		}
	}
	for i := range p {
		a, b := p.edge(i)
		for j := range q {
			c, d := q.edge(j)
			along, other := b.minus(a), d.minus(c)
			if turn := along.cross(other); turn != 0 {
				if t := c.minus(a).cross(other) / turn; t > 0 && t < 1 {
					heights = append(heights, between(a, b, t).Y)
				}
			}
		}
	}
	slices.Sort(heights)
	area := 0.0
	for i := 1; i < len(heights); i++ {
		y := (heights[i-1] + heights[i]) / 2
		a, b := p.at(y), q.at(y)
		for k := 0; k+1 < len(a); k += 2 {
			for l := 0; l+1 < len(b); l += 2 {
				area += math.Max(0, math.Min(a[k+1], b[l+1])-math.Max(a[k], b[l])) * (heights[i] - heights[i-1])
			}
		}
	}
	return area
}

// at returns where a line across at y passes the edges, in pairs between which it is inside.
func (o Outline) at(y float64) []float64 {
	var xs []float64
	for i := range o {
		a, b := o.edge(i)
		if (a.Y > y) != (b.Y > y) {
			xs = append(xs, a.X+(y-a.Y)/(b.Y-a.Y)*(b.X-a.X))
		}
	}
	slices.Sort(xs)
	return xs
}

// under returns what lies between a plane and the ground, m³, where the plane is above it:
//
//	∫ max(0, t − s·r) dA
//
// over the outline, whose corners have to go round anticlockwise. s is the fall of the plane along X and Y. The part of the outline with s·r < t is
// cut out, and a linear function over it is the sum over the triangles from its first corner, each its area times the mean of its corners' heights.
// That is exact.
func (o Outline) under(s Point, t float64) (volume float64) {
	var first, last, a Point
	var hFirst, hLast float64
	corners := 0
	a = o[len(o)-1]
	ha := t - s.dot(a)
	for _, b := range o {
		hb := t - s.dot(b)
		if ha > 0 != (hb > 0) { // the plane meets the ground on the way from a to b, or at one of them, which then adds nothing
			p := between(a, b, ha/(ha-hb))
			if corners == 0 {
				first, hFirst = p, 0
			} else {
				volume += last.minus(first).cross(p.minus(first)) * (hFirst + hLast)
			}
			last, hLast = p, 0
			corners++
		}
		if hb > 0 {
			if corners == 0 {
				first, hFirst = b, hb
			} else {
				volume += last.minus(first).cross(b.minus(first)) * (hFirst + hLast + hb)
			}
			last, hLast = b, hb
			corners++
		}
		a, ha = b, hb
	}
	return volume / 6
}

// spread returns the least and the greatest of s·r over the outline.
func (o Outline) spread(s Point) (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	for _, p := range o {
		least, most = math.Min(least, s.dot(p)), math.Max(most, s.dot(p))
	}
	return least, most
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
