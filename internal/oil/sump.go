package oil

import (
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// Gravity is the standard acceleration of free fall, m/s². Source: CGPM 1901.
const Gravity = 9.80665

// A Shelf is a part of the plan in which the floor stands higher.
type Shelf struct {
	Outline Outline
	Height  float64 // of its floor above that of the rest, m
}

// A Gate is a compartment whose doors let oil in and not out.
type Gate struct {
	Outline Outline
	Height  float64 // of its walls above the floor, m
	Covered bool    // a plate lies on the walls, so that nothing spills over them
}

// A Pickup is where the pump takes its oil.
type Pickup struct {
	Place  Point
	Height float64 // above the floor at which the surface has to stand, m
}

// A Shape is a sump or a tank: upright walls on a plan, under a lid. It says nothing of how much oil is in it.
type Shape struct {
	Outline Outline
	Depth   float64 // from the floor to the lid, m
	Shelf   *Shelf
	Gate    *Gate
	Pickup  Pickup
}

// A ShapeError says what part of a shape does not fit.
type ShapeError struct {
	Part   string // "outline", "shelf", "gate" or "pickup"
	Reason string
}

func (e *ShapeError) Error() string { return e.Part + ": " + e.Reason }

// A Sump is a Shape that has been checked. It does not change once made.
type Sump struct {
	shape  Shape
	whole  []prism
	inside []prism // of the gate; nil without one
	spills []Point // the corners of those of its walls over which oil can leave
}

// A prism is upright walls on a plan between two heights. A negative sign takes it away.
type prism struct {
	outline Outline
	lo, hi  float64
	sign    float64
}

// NewSump returns the sump of a shape. What does not fit is a *ShapeError.
func NewSump(s Shape) (*Sump, error) {
	bad := func(part, format string, args ...any) (*Sump, error) {
		return nil, &ShapeError{part, fmt.Sprintf(format, args...)}
	}
	var err error
	if s.Outline, err = s.Outline.checked(); err != nil {
		return bad("outline", "%s", err)
	}
	if !(s.Depth > 0) || !finite(s.Depth) {
		return bad("outline", "the depth is %v m; want more than 0", s.Depth)
	}
	within := func(o Outline) bool { return math.Abs(common(s.Outline, o)-o.Area()) <= sameShare*s.Outline.Area() }
	m := &Sump{whole: []prism{{s.Outline, 0, s.Depth, 1}}}
	if s.Shelf != nil {
		shelf := *s.Shelf
		if shelf.Outline, err = shelf.Outline.checked(); err != nil {
			return bad("shelf", "%s", err)
		}
		switch {
		case !within(shelf.Outline):
			return bad("shelf", "it reaches out of the outline of the whole")
		case !(shelf.Height > 0 && shelf.Height < s.Depth):
			return bad("shelf", "its floor stands %v m high; want more than 0 and less than the depth, %v m", shelf.Height, s.Depth)
		case shelf.Outline.Contains(s.Pickup.Place) && !shelf.Outline.onEdge(s.Pickup.Place) && s.Pickup.Height < shelf.Height:
			return bad("pickup", "it stands in the shelf, below its floor")
		}
		s.Shelf = &shelf
		m.whole = append(m.whole, prism{shelf.Outline, 0, shelf.Height, -1})
	}
	switch {
	case !finite(s.Pickup.Place.X) || !finite(s.Pickup.Place.Y) || !s.Outline.Contains(s.Pickup.Place):
		return bad("pickup", "it stands outside the outline")
	case !(s.Pickup.Height >= 0 && s.Pickup.Height < s.Depth):
		return bad("pickup", "its height is %v m; want 0 or more and less than the depth, %v m", s.Pickup.Height, s.Depth)
	}
	if s.Gate != nil {
		gate := *s.Gate
		if gate.Outline, err = gate.Outline.checked(); err != nil {
			return bad("gate", "%s", err)
		}
		switch {
		case !within(gate.Outline):
			return bad("gate", "it reaches out of the outline of the whole")
		case s.Shelf != nil && common(gate.Outline, s.Shelf.Outline) > sameShare*s.Outline.Area():
			return bad("gate", "it reaches over the shelf; want it beside the shelf")
		case !(gate.Height > 0 && gate.Height <= s.Depth):
			return bad("gate", "its walls are %v m high; want more than 0 and at most the depth, %v m", gate.Height, s.Depth)
		case !gate.Outline.Contains(s.Pickup.Place):
			return bad("gate", "the pickup does not stand in it")
		case gate.Covered && s.Pickup.Height >= gate.Height:
			return bad("gate", "the pickup stands %v m high, not below its cover at %v m", s.Pickup.Height, gate.Height)
		}
		s.Gate = &gate
		top := s.Depth
		if gate.Covered {
			top = gate.Height
		}
		m.inside = []prism{{gate.Outline, 0, top, 1}}
		for i := range gate.Outline {
			a, b := gate.Outline.edge(i)
			if s.Outline.onEdge(a) && s.Outline.onEdge(b) && s.Outline.onEdge(middle(a, b)) {
				continue // the sump's own wall, which goes up to the lid
			}
			m.spills = append(m.spills, a, b)
		}
	}
	m.shape = s
	return m, nil
}

// Shape returns what the sump was made of, with the corners anticlockwise.
func (m *Sump) Shape() Shape { return m.shape }

// An Acceleration is that of the car in the plane of the road, m/s².
type Acceleration struct{ Forward, Left float64 }

// Towards returns an acceleration of a size, m/s², in a direction, rad: 0 gains speed, π/2 turns left, π brakes, −π/2 turns right.
func Towards(direction, size float64) Acceleration {
	return Acceleration{size * math.Cos(direction), size * math.Sin(direction)}
}

// fall returns how the surface falls along X and Y.
//
// The surface of a liquid at rest in an accelerated vessel is normal to apparent gravity, which points along (−ax, −ay, −g): z = h − (ax x + ay y)/g.
// The oil goes where the driver goes. Source: hydrostatics in rigid-body motion, White, Fluid Mechanics, section 2.9. Quasi-static: sloshing after a
// sudden change overshoots this tilt, up to twice for a step (from memory).
func (a Acceleration) fall() Point { return Point{a.Forward / Gravity, a.Left / Gravity} }

// volumeAt returns the volume under the plane z = h − s·r in prisms, m³: in each ∫ max(0, h − lo − s·r) dA − ∫ max(0, h − hi − s·r) dA.
func volumeAt(prisms []prism, s Point, h float64) float64 {
	v := 0.0
	for _, p := range prisms {
		v += p.sign * (p.outline.under(s, h-p.lo) - p.outline.under(s, h-p.hi))
	}
	return v
}

// capacity returns what prisms hold, m³.
func capacity(prisms []prism) float64 {
	v := 0.0
	for _, p := range prisms {
		v += p.sign * p.outline.Area() * (p.hi - p.lo)
	}
	return v
}

// Capacity returns what the sump holds up to its lid, m³.
func (m *Sump) Capacity() float64 { return capacity(m.whole) }

// planeOf returns the height h of the plane z = h − s·r under which prisms hold a volume. More volume has a higher plane, so there is one.
func planeOf(prisms []prism, s Point, volume float64) (float64, error) {
	least, most := prisms[0].outline.spread(s) // the first holds all others
	lo, hi := least+prisms[0].lo, most+prisms[0].hi
	if volume >= capacity(prisms)*(1-sameVolume) {
		return hi, nil
	}
	root, err := numeric.FindRoot(func(h float64) float64 { return volumeAt(prisms, s, h) - volume }, lo, hi, 1e-17*(1+hi-lo))
	return root.X, err
}

// A State is how the oil stands under an acceleration.
type State struct {
	Plane    float64 // height of the surface's plane where X and Y are 0, m; in the gate, where that holds its own
	Cover    float64 // of the oil over the height wanted at the pickup, upright, up to the lid or the gate's cover, m; below 0 it is uncovered
	Held     bool    // the gate's doors are closed, and it has more oil than the plane of all of it would give
	Gated    float64 // oil in the gate, m³; 0 without one
	OverLost float64 // what of the gate's oil went over its walls, m³
}

// At returns how a volume of oil, m³, stands under an acceleration.
//
// Without a gate all oil has one plane. A gate's doors are open where that plane brings more oil into it than it had on the level, and closed where
// it would take oil out: it then has what it had, less what stands higher than its walls at the tilt, with a plane of its own.
func (m *Sump) At(volume float64, a Acceleration) (State, error) {
	if err := m.holds(volume); err != nil {
		return State{}, err
	}
	s := a.fall()
	plane, err := planeOf(m.whole, s, volume)
	if err != nil {
		return State{}, fmt.Errorf("surface of the oil: %w", err)
	}
	state := State{Plane: plane}
	if m.inside != nil {
		state.Gated = volumeAt(m.inside, s, plane)
		level, err := m.level(volume)
		if err != nil {
			return State{}, err
		}
		kept := math.Min(level, m.kept(s))
		own, err := planeOf(m.inside, s, kept)
		if err != nil {
			return State{}, fmt.Errorf("surface of the oil in the gate: %w", err)
		}
		if own > plane {
			state.Held, state.Plane, state.Gated, state.OverLost = true, own, kept, level-kept
		}
	}
	lid := m.shape.Depth
	if m.shape.Gate != nil && m.shape.Gate.Covered {
		lid = m.shape.Gate.Height
	}
	state.Cover = math.Min(lid, state.Plane-s.dot(m.shape.Pickup.Place)) - m.shape.Pickup.Height
	return state, nil
}

func (m *Sump) holds(volume float64) error {
	if most := m.Capacity(); !(volume >= 0 && volume <= most*(1+sameVolume)) {
		return fmt.Errorf("%.4g m³ of oil; the sump holds 0 to %.4g m³", volume, most)
	}
	return nil
}

// level returns what is in the gate with the car at rest, m³.
func (m *Sump) level(volume float64) (float64, error) {
	plane, err := planeOf(m.whole, Point{}, volume)
	if err != nil {
		return 0, fmt.Errorf("level of the oil: %w", err)
	}
	return volumeAt(m.inside, Point{}, plane), nil
}

// kept returns what the gate's walls keep in at a tilt, m³: the plane just meets the top of a wall that oil can leave over.
func (m *Sump) kept(s Point) float64 {
	if m.shape.Gate.Covered || len(m.spills) == 0 {
		return capacity(m.inside)
	}
	plane := math.Inf(1)
	for _, p := range m.spills {
		plane = math.Min(plane, m.shape.Gate.Height+s.dot(p))
	}
	return volumeAt(m.inside, s, plane)
}

// through returns the height of the plane at a tilt that just covers the pickup, m.
func (m *Sump) through(s Point) float64 { return m.shape.Pickup.Height + s.dot(m.shape.Pickup.Place) }

// under returns the volume under that plane, m³.
func (m *Sump) under(s Point) float64 { return volumeAt(m.whole, s, m.through(s)) }

// Needed returns the least volume of oil, m³, that covers the pickup under an acceleration: that under the plane through the height wanted at it.
// With a gate, also what fills the gate so far on the level, where its walls keep that in. More oil never uncovers the pickup: every volume here
// rises with the height of its plane.
func (m *Sump) Needed(a Acceleration) float64 {
	s := a.fall()
	all := m.under(s)
	if m.inside == nil {
		return all
	}
	gated := volumeAt(m.inside, s, m.through(s))
	if m.kept(s) < gated {
		return all
	}
	level := gated / m.inside[0].outline.Area()
	return math.Min(all, volumeAt(m.whole, Point{}, level))
}

// sameVolume is the share of a capacity by which a volume may lack it and count as full: rounding, which next to full moves the plane by much.
const sameVolume = 1e-13

// The search for the acceleration at which the pickup uncovers.
const (
	searchStep = 0.02 * Gravity
	// MostSearched is the greatest acceleration that is looked at, m/s²: no car on wheels corners harder.
	MostSearched = 6 * Gravity
)

// Limit returns the least acceleration in a direction, m/s², at which a volume of oil uncovers the pickup; +Inf where it stays covered up to
// MostSearched. It is looked for in steps of 0.02 g and closed in between: a pickup that uncovers and is covered again within a step is not seen. No
// step is taken where the oil lasts by itself: while the plane through the pickup tilts by one more, the volume under it changes by A times the
// outline's reach from the pickup at most, and a gate only ever lessens what is needed.
func (m *Sump) Limit(volume, direction float64) (float64, error) {
	if err := m.holds(volume); err != nil {
		return 0, err
	}
	ahead := Towards(direction, 1)
	spare := func(size float64) float64 {
		return volume - m.Needed(Acceleration{ahead.Forward * size, ahead.Left * size})
	}
	if spare(0) < 0 {
		return 0, nil
	}
	least, most := m.shape.Outline.spread(ahead.fall())
	at := ahead.fall().dot(m.shape.Pickup.Place)
	steepest := m.shape.Outline.Area() * math.Max(most-at, at-least) // m³ per m/s²
	for lo := 0.0; lo < MostSearched; {
		sure := (volume - m.under(ahead.fall().scaled(lo))) / steepest
		if sure > searchStep {
			lo += sure
			continue
		}
		hi := lo + searchStep
		if spare(hi) >= 0 {
			lo = hi
			continue
		}
		root, err := numeric.FindRoot(spare, lo, hi, 1e-12)
		return root.X, err
	}
	return math.Inf(1), nil
}

// A Reach is the acceleration that a car can reach in every direction.
type Reach struct {
	Grip  float64 // of the tyres on the ground, in every direction, m/s²
	Drive float64 // the most that its driven wheels accelerate it, m/s²; +Inf where that is not known
}

// Towards returns the acceleration that can be reached in a direction, m/s²: the circle of the tyres' grip, cut off where the driven wheels spin.
func (r Reach) Towards(direction float64) float64 {
	if c := math.Cos(direction); c > 1e-9 {
		return math.Min(r.Grip, r.Drive/c)
	}
	return r.Grip
}

// A Fill is a volume of oil and the acceleration that asks for it.
type Fill struct {
	Volume    float64 // m³
	Direction float64 // rad
	Size      float64 // m/s²
}

// LowestFill returns the least volume of oil that keeps the pickup covered in every direction up to what the car reaches. It is looked for in steps
// of 5 degrees and in twenty-fifths of the reach, then in tenths of a degree round the worst.
func (m *Sump) LowestFill(r Reach) Fill {
	const directions, parts, finer = 72, 25, 50
	worst := Fill{Volume: -1}
	same := sameVolume * m.Capacity()
	try := func(direction, share float64) {
		size := r.Towards(direction) * share
		if needed := m.Needed(Towards(direction, size)); needed > worst.Volume+same { // of two sides that are alike, the first
			worst = Fill{needed, direction, size}
		}
	}
	for d := range directions {
		for i := range parts + 1 {
			try(float64(d)*2*math.Pi/directions, float64(i)/parts)
		}
	}
	at := worst
	for i := -finer; i <= finer; i++ {
		direction := at.Direction + float64(i)/finer*2*math.Pi/directions
		try(direction, math.Min(1, at.Size/r.Towards(at.Direction)))
	}
	return worst
}
