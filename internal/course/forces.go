package course

import (
	"fmt"
	"math"

	"bellmouth/internal/gearing"
	"bellmouth/internal/numeric"
)

// A leg is the road between two stations, with what the car's weight does there.
type leg struct {
	from, length float64 // m
	first, steps int     // the first of its steps, and how many
	dx           float64 // of a step, m

	curvature float64
	grip      float64
	rolling   float64
	gradient  float64 // m g sin θ, N
	load      float64 // m g cos θ cos φ, N
	press     float64 // m κ sin φ: load gained with v², kg/m
	slip      float64 // m g cos θ sin φ: what pulls towards the inside, N
	side      float64 // m κ cos φ: side force over v², kg/m
	plain     bool    // no side force at any speed
	over      float64 // thrust over load where it is plain
	cap       float64 // highest v² that tyres and course allow, m²/s²; +Inf: any
}

// A cog is a gear as the forces have it.
type cog struct {
	ratio float64 // engine speed over road speed, 1/m
	eta   float64
	force float64 // thrust over torque, 1/m
	mass  float64 // that stands for the engine's inertia, kg
	top   float64 // v² at the highest engine speed
	up    float64 // v² at the upshift out of it, at most top
}

// A sim is a car on a course.
type sim struct {
	car  Car
	legs []leg
	of   []int32 // the leg of each step
	cogs []cog

	mass, driven, free float64 // of the car, and what stands for the wheels' inertia, kg
	drag               float64 // ρ/2 Cd A, kg/m
	lift               float64 // braking force over load at which the rear wheels leave the road
	lo, hi             float64 // engine speeds at which the torque is known, rad/s
	inertia            float64 // of the engine, kg m²
	limiter            bool    // hi is the limiter
	top                float64 // the highest v² of any gear

	bound  []float64 // highest v² at each node from which the car can brake for all that comes
	failed error     // of a search for a speed, the first; the drive is not to be used then

	stage Stage
	t     []float64 // of the trace
	w     []float64 // v² there
}

func newSim(stations []Station, car Car, step float64) *sim {
	s := &sim{car: car, mass: car.Mass, drag: car.AirDensity / 2 * car.DragArea, inertia: car.EngineInertia}
	s.driven, s.free = car.Inertia()
	s.lo, s.hi = car.Span()
	_, known := car.Torque.Span()
	s.limiter = known >= car.Limiter*(1-1e-9)
	s.lift = math.Inf(1)
	if car.CentreHeight > 0 {
		s.lift = car.RearWeight * car.Wheelbase / car.CentreHeight
	}
	for i, g := range car.Gears {
		c := cog{ratio: g.Overall / car.RollingRadius, eta: g.Efficiency}
		c.force = c.ratio * g.Efficiency
		c.mass = car.EngineInertia * c.ratio * c.ratio * g.Efficiency
		top := s.hi / c.ratio
		c.top = top * top
		c.up = c.top
		if i < len(car.Upshifts) && !car.Upshifts[i].None {
			v := car.Upshifts[i].Velocity
			c.up = min(c.top, v*v)
		}
		s.cogs = append(s.cogs, c)
		s.top = max(s.top, c.top)
	}
	steps := 0
	for i := range stations[1:] {
		l := s.leg(&stations[i], stations[i+1].Distance-stations[i].Distance)
		l.steps = max(1, int(math.Ceil(l.length/step*(1-1e-9))))
		l.first, l.dx = steps, l.length/float64(l.steps)
		steps += l.steps
		s.legs = append(s.legs, l)
	}
	s.of = make([]int32, steps)
	for i := range s.legs {
		l := &s.legs[i]
		for j := range l.steps {
			s.of[l.first+j] = int32(i)
		}
	}
	s.bound, s.w, s.t = make([]float64, steps+1), make([]float64, steps+1), make([]float64, steps+1)
	s.stage.Trace = Trace{
		Distance: make([]float64, steps+1), Velocity: make([]float64, steps+1), Time: s.t,
		Station: s.of, Gear: make([]int8, steps), Limit: make([]Limit, steps),
	}
	s.stage.InGear = make([]float64, len(s.cogs))
	return s
}

// leg returns the road from a station on, of a length.
func (s *sim) leg(at *Station, length float64) leg {
	slope := 1 / math.Sqrt(1+at.Grade*at.Grade)
	bank := 1 / math.Sqrt(1+at.Bank*at.Bank)
	weight := s.mass * gravity
	across := weight * slope * bank * at.Bank
	l := leg{
		from: at.Distance, length: length, curvature: math.Abs(at.Curvature), grip: at.Grip, rolling: at.Rolling,
		gradient: weight * at.Grade * slope, load: weight * slope * bank, slip: across,
	}
	l.press, l.side = s.mass*l.curvature*at.Bank*bank, s.mass*l.curvature*bank
	l.plain = l.curvature == 0 && across == 0
	l.over = s.car.ThrustOverLoad(l.grip, l.rolling)
	// |Y| = μ N: m κ w (cos φ − μ sin φ) = m g cos θ (sin φ + μ cos φ)
	l.cap = math.Inf(1)
	if d := l.side - l.grip*l.press; d > 0 {
		l.cap = max(0, (l.slip+l.grip*l.load)/d)
	}
	if at.Allowed > 0 {
		l.cap = min(l.cap, at.Allowed*at.Allowed)
	}
	return l
}

// atCorner is the v² from which a car counts as at the speed that a corner holds, as a share: 1 % of the speed is left. Common practice, no source.
const atCorner = 0.98

// holds reports whether v² is what the corner, or the speed that the course allows, holds the car at.
func (l *leg) holds(w float64) bool { return w >= atCorner*l.cap }

// loaded returns the load on the road at v², N.
func (l *leg) loaded(w float64) float64 { return l.load + l.press*w }

// left returns the friction coefficient that the side force leaves along the car at v².
func (l *leg) left(w float64) float64 {
	used := (l.side*w - l.slip) / l.loaded(w)
	if rest := l.grip*l.grip - used*used; rest > 0 {
		return math.Sqrt(rest)
	}
	return 0
}

// against returns drag, rolling resistance and slope at v², N.
func (s *sim) against(l *leg, w float64) float64 {
	return s.drag*w + l.rolling*l.loaded(w) + l.gradient
}

// traction returns the greatest thrust of the driven tyres at v², N.
func (s *sim) traction(l *leg, w float64) float64 {
	if l.plain {
		return l.over * l.load
	}
	return s.car.ThrustOverLoad(l.left(w), l.rolling) * l.loaded(w)
}

// braking returns how hard the car slows down at v² with all the braking that the tyres take, m/s².
func (s *sim) braking(l *leg, w float64) float64 {
	mu := l.grip
	if !l.plain {
		mu = l.left(w)
	}
	return (min(mu, s.lift)*l.loaded(w) + s.against(l, w)) / s.mass
}

// pull returns the acceleration of a gear at v² with a share of full load, and whether the tyres limit it. Below the engine speed slip the clutch slips
// there.
//
// It is gearing.Vehicle.Pull with the grip and the load of a corner.
func (s *sim) pull(l *leg, gear int, w, slip, share float64) (a float64, limited bool) {
	c := &s.cogs[gear]
	speed, mass := math.Sqrt(w)*c.ratio, c.mass
	if speed < slip {
		speed, mass = slip, 0
	}
	torque, _ := s.car.Torque.At(speed)
	force, against := torque*share*c.force, s.against(l, w)
	a = (force - against) / (s.mass + mass + s.driven + s.free)
	if grip := s.traction(l, w); force-(mass+s.driven)*a > grip {
		return (grip - against) / (s.mass + s.free), true
	}
	return a, false
}

// coasting returns the acceleration of a step from v² on without thrust, the mean of the step of length x.
//
//	(m + mw) a = −A − B (w + x a),  A + B w what works against it
func (s *sim) coasting(l *leg, w, x float64) float64 {
	b := s.drag + l.rolling*l.press
	return -s.against(l, w) / (s.mass + s.driven + s.free + b*x)
}

// A motion is what a step's acceleration follows from.
type motion struct {
	leg   *leg
	gear  int
	slip  float64 // engine speed at which the clutch slips, rad/s
	share float64 // of full load
	back  bool    // braking, seen from the step's end
}

func (s *sim) rate(m *motion, w float64) float64 {
	if m.back {
		return s.braking(m.leg, w)
	}
	a, _ := s.pull(m.leg, m.gear, w, m.slip, m.share)
	return a
}

// near is how near to each other two v² are that count as one.
const near = 1e-9

// after returns v² at the other end of a step of length x.
//
//	w1 = w0 + 2 x a((w0 + w1)/2)
//
// The implicit midpoint rule: near the highest speed of a corner the thrust falls so steeply with the speed that an explicit one swings about it.
// 0 where the car would come to a stand.
func (s *sim) after(m *motion, w0, x float64) float64 {
	at := func(w1 float64) float64 { return w0 + 2*x*s.rate(m, (w0+w1)/2) }
	w := max(0, w0+2*x*s.rate(m, w0))
	for range 4 {
		next := max(0, at(w))
		if math.Abs(next-w) <= near*(next+1) {
			return next
		}
		w = next
	}
	if at(0) <= 0 {
		return 0
	}
	lo, hi := 0.0, max(w, w0)+x
	for at(hi) > hi && hi < math.MaxFloat64/4 {
		lo, hi = hi, 2*hi+x
	}
	root, err := numeric.FindRoot(func(w float64) float64 { return at(w) - w }, lo, hi, near*(lo+1))
	if err != nil && s.failed == nil {
		s.failed = fmt.Errorf("speed at %.0f m of the course: %w", m.leg.from, err)
	}
	return root.X
}

// bounds fills in how fast the car may be at each place.
func (s *sim) bounds() error {
	n := len(s.of)
	last := math.Inf(1)
	for range 3 { // of a lap the end is bound by what the begin is, which it is bound by in turn
		w := min(last, s.top, s.legs[s.of[n-1]].cap)
		s.bound[n] = w
		for i := n - 1; i >= 0; i-- {
			l := &s.legs[s.of[i]]
			m := motion{leg: l, back: true}
			most := min(s.top, l.cap)
			if i > 0 {
				most = min(most, s.legs[s.of[i-1]].cap)
			}
			if w < most || !(s.braking(l, most) >= 0) {
				w = min(most, s.after(&m, w, l.dx))
			} else {
				w = most
			}
			if s.bound[i] = w; s.failed != nil {
				return s.failed
			} else if !(w > 0) {
				return &SlideError{l.from}
			}
		}
		if !s.car.Flying || s.bound[0] >= s.bound[n] {
			break
		}
		last = s.bound[0]
	}
	return s.failed
}

// shift returns what it costs to go from one gear to another.
func (s *sim) shift(from, to int) gearing.Shift {
	if to > from {
		return s.car.ShiftFrom(from)
	}
	return gearing.Shift{Time: s.car.DownTime, Kept: 1} // the engine is faster after it, and so is the shaft of its turbocharger
}
