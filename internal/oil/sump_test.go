package oil

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// box returns a sump of length l along X, width w along Y, with its middle at 0, 0.
func box(t testing.TB, l, w, depth float64, at Pickup) *Sump {
	t.Helper()
	m, err := NewSump(Shape{Outline: rectangle(l, w), Depth: depth, Pickup: at})
	require.NoError(t, err)
	return m
}

func rectangle(l, w float64) Outline {
	return Outline{{-l / 2, -w / 2}, {l / 2, -w / 2}, {l / 2, w / 2}, {-l / 2, w / 2}}
}

// star returns an outline with corners at random distances all round, mostly with corners that point inwards.
func star(r *rand.Rand) Outline {
	n := 3 + r.IntN(9)
	var o Outline
	for i := range n {
		angle := 2 * math.Pi * (float64(i) + 0.8*r.Float64()) / float64(n)
		size := 0.05 + 0.2*r.Float64()
		o = append(o, Point{size * math.Cos(angle), size * math.Sin(angle)})
	}
	if r.IntN(2) == 0 {
		slices.Reverse(o)
	}
	return o
}

// Wedges of a box, closed forms of plane geometry: V is the volume, L and W the sides, s the slope, 1 at 1 g (45 degrees).
func TestTiltedBox(t *testing.T) {
	const l, w, depth, v = 0.4, 0.25, 0.2, 0.005 // level 50 mm
	front, rear := Pickup{Place: Point{l / 2, 0}}, Pickup{Place: Point{-l / 2, 0}}
	at := func(p Pickup, g float64) State {
		s, err := box(t, l, w, depth, p).At(v, Towards(0, g*Gravity))
		require.NoError(t, err)
		return s
	}
	const tol = 1e-14
	assert.InDelta(t, 0.050, at(front, 0).Cover, tol, "level: V/(L W)")
	assert.InDelta(t, 0.050-0.2*0.2, at(front, 0.2).Cover, tol, "both ends wet: V/(L W) − s L/2")
	assert.InDelta(t, 0.050+0.2*0.2, at(rear, 0.2).Cover, tol, "the rear has what the front lacks")
	// The floor falls dry in front: a triangle of length b = √(2 V/(W s)) = 0.2 m and height s b.
	assert.InDelta(t, 0.2, at(rear, 1).Cover, tol, "1 g: 45 degrees, as high as long")
	// Beyond, the lid cuts it: V/W is a trapezoid of height D, whose two sides differ by D/s.
	long := v/w/depth + depth/2/2 // on the floor, at 2 g
	assert.InDelta(t, 2*long, at(rear, 2).Plane+2*l/2, tol, "the plane goes on above the lid")
	assert.InDelta(t, depth, at(rear, 2).Cover, tol, "and the oil ends there")

	// A pickup the distance d behind the front wall uncovers at s = 2 V/(W (L − d)²) once the floor in front is dry.
	for _, d := range []float64{0, 0.05, 0.1, 0.18} {
		m := box(t, l, w, depth, Pickup{Place: Point{l/2 - d, 0}})
		got, err := m.Limit(v, 0)
		require.NoError(t, err)
		assert.InDelta(t, 2*v/(w*(l-d)*(l-d)), got/Gravity, 1e-9, "d %v", d)
	}
	// With both ends wet it uncovers at the height z and the distance x from the middle at s = (V/(L W) − z)/x.
	m := box(t, l, w, depth, Pickup{Place: Point{0.1, 0}, Height: 0.030})
	got, err := m.Limit(v, 0)
	require.NoError(t, err)
	assert.InDelta(t, (0.050-0.030)/0.1, got/Gravity, 1e-9)
	got, err = m.Limit(v, math.Pi)
	require.NoError(t, err)
	assert.True(t, math.IsInf(got, 1), "braking sends the oil to it")

	// A corner of the box under combined acceleration, both slopes s: a pyramid, V = s² e³/6 with the three edges e, e, s e.
	corner := box(t, l, w, depth, Pickup{Place: Point{-l / 2, -w / 2}})
	state, err := corner.At(1e-4, Acceleration{2 * Gravity, 2 * Gravity})
	require.NoError(t, err)
	assert.InDelta(t, 2*math.Cbrt(6*1e-4/2), state.Cover, 1e-12, "V = s e³/6")
}

// What covers the pickup of a box at an acceleration, closed form, and over all directions of a circle.
func TestLowestFillOfABox(t *testing.T) {
	const l, w, g = 0.4, 0.25, 0.2
	m := box(t, l, w, 0.2, Pickup{Height: 0.05})
	fill := m.LowestFill(Reach{g * Gravity, math.Inf(1)})
	assert.InDelta(t, l*w*0.05, fill.Volume, 1e-12, "a pickup in the middle wants its height in every direction while the floor is wet")
	m = box(t, l, w, 0.2, Pickup{Place: Point{0.1, 0.05}, Height: 0.05})
	fill = m.LowestFill(Reach{g * Gravity, math.Inf(1)})
	away := math.Hypot(0.1, 0.05)
	assert.InDelta(t, l*w*(0.05+g*away), fill.Volume, 1e-9, "straight away from the middle: the plane through the middle at height z + s r")
	assert.InDelta(t, math.Atan2(0.05, 0.1), fill.Direction, 1e-3)
	// Driven wheels that bring half the grip cap what lies ahead: the worst is where the cap meets the circle.
	fill = m.LowestFill(Reach{g * Gravity, g / 2 * Gravity})
	assert.InDelta(t, l*w*(0.05+g/2*0.1+g*math.Sqrt(0.75)*0.05), fill.Volume, 1e-7)
}

// simpson returns the volume of a prism under the plane z = h − s·r by strips across the slope: in each the width is straight and the height too, so
// that Simpson's rule is exact.
func simpson(o Outline, s Point, h, depth float64) float64 {
	slope := s.length()
	turn := func(p Point) Point { return Point{(p.X*s.X + p.Y*s.Y) / slope, (p.Y*s.X - p.X*s.Y) / slope} }
	var q Outline
	cuts := []float64{h / slope, (h - depth) / slope}
	for _, p := range o {
		p = turn(p)
		q = append(q, Point{p.Y, p.X}) // so that at cuts along what was the slope
		cuts = append(cuts, p.X)
	}
	slices.Sort(cuts)
	at := func(x, inside float64) float64 { // the width near x, continued straight from inside the strip
		width := func(x float64) (sum float64) {
			xs := q.at(x)
			for i := 0; i+1 < len(xs); i += 2 {
				sum += xs[i+1] - xs[i]
			}
			return sum
		}
		near := inside + (x-inside)*0.5
		return width(inside) + 2*(width(near)-width(inside))
	}
	v := 0.0
	for i := 1; i < len(cuts); i++ {
		a, b := cuts[i-1], cuts[i]
		m := (a + b) / 2
		deep := func(x float64) float64 { return math.Max(0, math.Min(depth, h-slope*x)) }
		v += (b - a) / 6 * (at(a, m)*deep(a) + 4*at(m, m)*deep(m) + at(b, m)*deep(b))
	}
	return v
}

// The volume under the plane is the one that was put in, to rounding, by an integration that shares nothing with the one that placed it.
func TestVolumeIsConserved(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		o := star(r)
		checked, err := o.checked()
		require.NoError(t, err, "%v", o)
		depth := 0.05 + 0.2*r.Float64()
		m, err := NewSump(Shape{Outline: o, Depth: depth, Pickup: Pickup{Place: o[0]}})
		require.NoError(t, err)
		volume := m.Capacity() * r.Float64()
		a := Towards(2*math.Pi*r.Float64(), Gravity*(0.01+3*r.Float64()))
		s, err := m.At(volume, a)
		require.NoError(t, err)
		require.InDelta(t, volume, simpson(checked, a.fall(), s.Plane, depth), 1e-12*m.Capacity(), "%v %v", o, a)
	}
}

// Random sumps with shelf and gate: the surface that just covers the pickup is that of the volume needed, more oil never uncovers it, the gate never
// makes it worse, and nothing is not a number.
func TestRandomSumps(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 4))
	held := 0
	for range 400 {
		l, w, depth := 0.2+0.4*r.Float64(), 0.15+0.2*r.Float64(), 0.08+0.15*r.Float64()
		shape := Shape{Outline: rectangle(l, w), Depth: depth,
			Pickup: Pickup{Place: Point{-l / 4 * r.Float64(), w / 5 * (r.Float64() - 0.5)}, Height: 0.02 * r.Float64()}}
		if r.IntN(2) == 0 {
			shape.Shelf = &Shelf{Outline: Outline{{0.1 * l, -w / 2}, {l / 2, -w / 2}, {l / 2, w / 2}, {0.1 * l, w / 2}},
				Height: depth * (0.2 + 0.5*r.Float64())}
		}
		plain, err := NewSump(shape)
		require.NoError(t, err)
		edge := w / 2
		if r.IntN(2) == 0 {
			edge = w / 4
		}
		shape.Gate = &Gate{
			Outline: Outline{{-0.3 * l, -edge}, {0.05 * l, -w / 4}, {0.05 * l, w / 4}, {-0.3 * l, edge}},
			Height:  depth * (0.4 + 0.6*r.Float64()), Covered: r.IntN(2) == 0,
		}
		if shape.Gate.Height <= shape.Pickup.Height {
			continue
		}
		gated, err := NewSump(shape)
		require.NoError(t, err)
		volume := plain.Capacity() * (0.1 + 0.85*r.Float64())
		direction := 2 * math.Pi * r.Float64()
		for _, m := range []*Sump{plain, gated} {
			// The limit is the first of all accelerations, in steps of half of those it is looked for in, at which the pickup is uncovered.
			limit, err := m.Limit(volume, direction)
			require.NoError(t, err)
			for size := 0.0; size < math.Min(limit, MostSearched)-1e-9; size += 0.01 * Gravity {
				require.LessOrEqual(t, m.Needed(Towards(direction, size)), volume*(1+1e-12), "%v of %v m/s²", size, limit)
			}
			if limit < MostSearched {
				require.Greater(t, m.Needed(Towards(direction, limit+1e-6)), volume*(1-1e-12))
			}
		}
		for g := 0.0; g <= 2.5; g += 0.25 {
			a := Towards(direction, g*Gravity)
			p, err := plain.At(volume, a)
			require.NoError(t, err)
			q, err := gated.At(volume, a)
			require.NoError(t, err)
			require.False(t, math.IsNaN(p.Cover+q.Cover+q.Gated))
			lid := depth - shape.Pickup.Height
			if shape.Gate.Covered {
				lid = shape.Gate.Height - shape.Pickup.Height
			}
			require.GreaterOrEqual(t, q.Cover, math.Min(lid, p.Cover)-1e-12, "a gate never makes it worse")
			if q.Held {
				held++
			}
			for _, m := range []*Sump{plain, gated} {
				more, err := m.At(math.Min(m.Capacity(), 1.05*volume), a)
				require.NoError(t, err)
				less, err := m.At(volume, a)
				require.NoError(t, err)
				require.GreaterOrEqual(t, more.Cover, less.Cover-1e-12, "more oil never uncovers it")
				needed := m.Needed(a)
				if needed > 0 && needed < m.Capacity() {
					s, err := m.At(needed, a)
					require.NoError(t, err)
					require.InDelta(t, 0, s.Cover, 1e-8, "what is needed just covers it")
				}
				covered, err := m.Lasts(volume, a, Circulation{Up: 1e-3, Back: 0.5e-3})
				require.NoError(t, err)
				require.Equal(t, less.Cover > 1e-12, covered > 1e-12*1e3, "the supply lasts where it is covered, cover %v", less.Cover)
			}
		}
	}
	assert.Greater(t, held, 300, "gates that hold")
}

// A shelf takes its own volume off: on the level, and tilted so far that it is dry.
func TestShelf(t *testing.T) {
	// 400 × 200 mm, 150 mm deep, the front half 100 mm higher: the bowl holds 4 L below the shelf.
	m, err := NewSump(Shape{
		Outline: rectangle(0.4, 0.2), Depth: 0.15, Pickup: Pickup{Place: Point{-0.1, 0}},
		Shelf: &Shelf{Outline: Outline{{0, -0.1}, {0.2, -0.1}, {0.2, 0.1}, {0, 0.1}}, Height: 0.1},
	})
	require.NoError(t, err)
	assert.InDelta(t, 0.4*0.2*0.15-0.2*0.2*0.1, m.Capacity(), 1e-15)
	for _, c := range []struct{ volume, level float64 }{{0.002, 0.05}, {0.004, 0.1}, {0.0056, 0.12}} {
		s, err := m.At(c.volume, Acceleration{})
		require.NoError(t, err)
		assert.InDelta(t, c.level, s.Cover, 1e-14, "%v m³", c.volume)
	}
	// Gaining speed at 1 g with 2 L: all of it in the rear half as a triangle of side √(2 V/W) = 141 mm, whose foot is 41 mm behind the pickup.
	s, err := m.At(0.002, Towards(0, Gravity))
	require.NoError(t, err)
	assert.InDelta(t, math.Sqrt(2*0.002/0.2)-0.1, s.Cover, 1e-14)
}

// A covered gate keeps what it had on the level, whatever the tilt: a box of its own.
func TestGate(t *testing.T) {
	gate := &Gate{Outline: rectangle(0.1, 0.1), Height: 0.1, Covered: true}
	shape := Shape{Outline: rectangle(0.4, 0.25), Depth: 0.15, Pickup: Pickup{Height: 0.01}, Gate: gate}
	m, err := NewSump(shape)
	require.NoError(t, err)
	at := func(m *Sump, volume, direction, g float64) State {
		s, err := m.At(volume, Towards(direction, g*Gravity))
		require.NoError(t, err)
		return s
	}
	// 4 L stand 40 mm high. In its middle a box that keeps its volume keeps its height, while it is wet at both ends: up to 0.8 g. Beyond, the lid
	// not met, the height in the middle of a triangle of side √(2 V/(W s)).
	for _, direction := range []float64{0, math.Pi / 2, math.Pi} {
		assert.InDelta(t, 0.03, at(m, 0.004, direction, 0.7).Cover, 1e-13)
		assert.True(t, at(m, 0.004, direction, 0.7).Held)
	}
	assert.InDelta(t, math.Sqrt(2*0.0004/0.1)-0.05-0.01, at(m, 0.004, 0, 1).Cover, 1e-13)
	// Without its cover, with walls 60 mm high: at 0.7 g the plane meets the wall's top at the far side, 35 mm below in the middle.
	gate.Covered, gate.Height = false, 0.06
	m, err = NewSump(shape)
	require.NoError(t, err)
	s := at(m, 0.004, 0, 0.7)
	assert.InDelta(t, 0.06-0.05*0.7-0.01, s.Cover, 1e-13)
	assert.InDelta(t, 0.1*0.06*(0.06/0.7)/2, s.Gated, 1e-15, "a triangle as high as the wall")
	assert.InDelta(t, 0.0004-s.Gated, s.OverLost, 1e-15)

	// The gate's own oil is used up in (Vg − Vgn)/Up: a plane through the pickup, z = 10 mm in the middle, leaves a triangle of side b = 50 mm + z/s.
	b := 0.05 + 0.01/0.7
	lasts, err := m.Lasts(0.004, Towards(0, 0.7*Gravity), Circulation{Up: 5e-4, Back: 1e-4})
	require.NoError(t, err)
	assert.InDelta(t, (s.Gated-0.1*0.7*b*b/2)/5e-4, lasts, 1e-12)
	// Without g all the oil counts, less what stands below the pickup.
	lasts, err = m.Lasts(0.004, Acceleration{}, Circulation{Up: 5e-4, Back: 1e-4})
	require.NoError(t, err)
	assert.InDelta(t, (0.004-0.1*0.01)/4e-4, lasts, 1e-12)
	lasts, err = m.Lasts(0.004, Acceleration{}, Circulation{Up: 5e-4, Back: 5e-4})
	require.NoError(t, err)
	assert.True(t, math.IsInf(lasts, 1), "what comes back keeps it going")
}

// What lies the same on both sides has the same limits on both sides, and nothing has a limit without g.
func TestSymmetry(t *testing.T) {
	o := Outline{{-0.2, -0.1}, {0.1, -0.13}, {0.25, -0.06}, {0.25, 0.06}, {0.1, 0.13}, {-0.2, 0.1}}
	m, err := NewSump(Shape{Outline: o, Depth: 0.12, Pickup: Pickup{Place: Point{-0.05, 0}, Height: 0.015}})
	require.NoError(t, err)
	for direction := 0.0; direction < math.Pi; direction += 0.1 {
		left, err := m.Limit(0.004, direction)
		require.NoError(t, err)
		right, err := m.Limit(0.004, -direction)
		require.NoError(t, err)
		if !math.IsInf(left, 1) || !math.IsInf(right, 1) {
			assert.InDelta(t, left, right, 1e-9, "direction %v", direction)
		}
		if !math.IsInf(left, 1) { // at the limit the surface meets the pickup
			s, err := m.At(0.004, Towards(direction, left))
			require.NoError(t, err)
			assert.InDelta(t, 0, s.Cover, 1e-10)
		}
	}
	got, err := m.Limit(0.0001, 0)
	require.NoError(t, err)
	assert.Zero(t, got, "oil below the pickup does not reach it even at rest")
}

func TestAreas(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 300 {
		p, err := star(r).checked()
		require.NoError(t, err)
		assert.InDelta(t, p.Area(), common(p, p), 1e-12)
		q, err := star(r).checked()
		require.NoError(t, err)
		var moved Outline
		for _, c := range q {
			moved = append(moved, c.plus(Point{1, 0}))
		}
		assert.Zero(t, common(p, moved))
		assert.InDelta(t, common(p, q), common(q, p), 1e-12)
	}
	assert.InDelta(t, 0.5, common(rectangle(1, 1), Outline{{0, -1}, {1, -1}, {1, 1}, {0, 1}}), 1e-15)
	assert.InDelta(t, 2*(math.Sqrt2-1),
		common(rectangle(1, 1), Outline{{0, -math.Sqrt2 / 2}, {math.Sqrt2 / 2, 0}, {0, math.Sqrt2 / 2}, {-math.Sqrt2 / 2, 0}}), 1e-12,
		"a square and the same turned by 45 degrees: an octagon, area 2 (√2 − 1)")
}

func TestShapeErrors(t *testing.T) {
	whole := func() Shape { return Shape{Outline: rectangle(0.4, 0.25), Depth: 0.15} }
	for name, c := range map[string]struct {
		change func(s *Shape)
		want   string
	}{
		"two corners": {func(s *Shape) { s.Outline = s.Outline[:2] }, "outline: it has 2 corners; want 3 to 100"},
		"self-crossing": {func(s *Shape) { s.Outline = Outline{{0, 0}, {1, 1}, {1, 0}, {0, 1}} },
			"outline: its edge from corner 1 to 2 meets that from 3 to 4; want edges that do not cross"},
		"folded": {func(s *Shape) { s.Outline = Outline{{0, 0}, {1, 0}, {0.5, 0}, {0, 1}} },
			"outline: its edge from corner 1 to 2 meets that from 2 to 3; want edges that do not cross"},
		"closed twice": {func(s *Shape) { s.Outline = append(s.Outline, s.Outline[0]) },
			"outline: corners 5 and 1 are at one place; the last joins the first by itself"},
		"not a number":   {func(s *Shape) { s.Outline[2].X = math.NaN() }, "outline: corner 3 is no place"},
		"no depth":       {func(s *Shape) { s.Depth = 0 }, "outline: the depth is 0 m; want more than 0"},
		"pickup outside": {func(s *Shape) { s.Pickup.Place.X = 0.3 }, "pickup: it stands outside the outline"},
		"pickup above":   {func(s *Shape) { s.Pickup.Height = 0.2 }, "pickup: its height is 0.2 m; want 0 or more and less than the depth, 0.15 m"},
		"shelf outside":  {func(s *Shape) { s.Shelf = &Shelf{rectangle(0.5, 0.1), 0.05} }, "shelf: it reaches out of the outline of the whole"},
		"shelf too high": {func(s *Shape) { s.Shelf = &Shelf{Outline{{0.1, -0.1}, {0.2, -0.1}, {0.2, 0.1}}, 0.15} },
			"shelf: its floor stands 0.15 m high; want more than 0 and less than the depth, 0.15 m"},
		"pickup in shelf": {func(s *Shape) { s.Shelf = &Shelf{rectangle(0.1, 0.1), 0.05} }, "pickup: it stands in the shelf, below its floor"},
		"gate without it": {func(s *Shape) { s.Gate = &Gate{Outline{{0.1, -0.1}, {0.2, -0.1}, {0.2, 0.1}}, 0.05, false} },
			"gate: the pickup does not stand in it"},
		"gate outside": {func(s *Shape) { s.Gate = &Gate{rectangle(0.1, 0.3), 0.05, false} }, "gate: it reaches out of the outline of the whole"},
		"gate too high": {func(s *Shape) { s.Gate = &Gate{rectangle(0.1, 0.1), 0.16, false} },
			"gate: its walls are 0.16 m high; want more than 0 and at most the depth, 0.15 m"},
		"gate on the shelf": {func(s *Shape) {
			s.Gate = &Gate{rectangle(0.3, 0.1), 0.05, false}
			s.Shelf = &Shelf{Outline{{0.1, -0.1}, {0.2, -0.1}, {0.2, 0.1}, {0.1, 0.1}}, 0.05}
		}, "gate: it reaches over the shelf; want it beside the shelf"},
		"pickup over a gate": {func(s *Shape) { s.Gate = &Gate{rectangle(0.1, 0.1), 0.05, true}; s.Pickup.Height = 0.06 },
			"gate: the pickup stands 0.06 m high, not below its cover at 0.05 m"},
	} {
		s := whole()
		c.change(&s)
		_, err := NewSump(s)
		assert.EqualError(t, err, c.want, name)
	}
	m := box(t, 0.4, 0.25, 0.15, Pickup{})
	for _, v := range []float64{-1, 0.0151, math.NaN()} {
		_, err := m.At(v, Acceleration{})
		assert.ErrorContains(t, err, "the sump holds 0 to 0.015 m³")
	}
}

// A gate against the rear wall: gaining speed its oil leans on the sump's own wall and the front one keeps more in; braking it leaves over the front
// one.
func TestGateAtTheWall(t *testing.T) {
	const l, w, high, s = 0.1, 0.25, 0.05, 0.6
	m, err := NewSump(Shape{
		Outline: rectangle(0.4, w), Depth: 0.2, Pickup: Pickup{Place: Point{-0.15, 0}},
		Gate: &Gate{Outline: Outline{{-0.2, -w / 2}, {-0.1, -w / 2}, {-0.1, w / 2}, {-0.2, w / 2}}, Height: high},
	})
	require.NoError(t, err)
	// Through the top of the front wall: rearwards the plane rises, in its middle to 50 mm + 0.6 × 50 mm; braking it falls, to 20 mm there, and meets
	// the floor 83 mm behind the wall.
	assert.InDelta(t, l*w*(high+s*l/2), m.kept(Towards(0, s*Gravity).fall()), 1e-15)
	assert.InDelta(t, w*high*high/s/2, m.kept(Towards(math.Pi, s*Gravity).fall()), 1e-15)
}
