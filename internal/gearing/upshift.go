package gearing

import (
	"errors"
	"math"
)

// An Ending is what ends a gear's speed.
type Ending int

// The endings.
const (
	ByLimiter    Ending = iota // the engine's limiter
	ByResistance               // drag, rolling resistance and gradient take all the thrust of the engine
	ByGrip                     // they take all that the tyres pass on
	ByKnowledge                // the highest speed at which the torque is known, which is below the limiter
	CannotPull                 // the gear does not accelerate the car at any speed
)

// A Top is the highest speed of a gear, or of the car.
type Top struct {
	Gear        int     // from 0
	Velocity    float64 // m/s; 0 where the gear cannot pull
	EngineSpeed float64 // rad/s
	Ending      Ending
}

// scanPoints is how many speeds of a gear are looked at for where thrust and resistance cross.
const scanPoints = 256

// top returns the highest speed that a gear holds.
func (w *way) top(gear int) Top {
	lo, hi := w.Range(gear)
	g := w.Gears[gear]
	at := func(velocity float64, ending Ending) Top {
		return Top{Gear: gear, Velocity: velocity, EngineSpeed: w.EngineSpeed(velocity, g.Overall), Ending: ending}
	}
	if w.in(g, hi, 1).Acceleration >= 0 {
		if _, known := w.Torque.Span(); known < w.Limiter*(1-1e-9) {
			return at(hi, ByKnowledge)
		}
		return at(hi, ByLimiter)
	}
	above := hi
	for i := scanPoints - 1; i >= 0; i-- {
		below := lo + (hi-lo)*float64(i)/scanPoints
		if w.in(g, below, 1).Acceleration >= 0 {
			for range 60 { // halves until nothing is left of the interval
				if middle := (below + above) / 2; w.in(g, middle, 1).Acceleration >= 0 {
					below = middle
				} else {
					above = middle
				}
			}
			if w.in(g, below, 1).Limited {
				return at(below, ByGrip)
			}
			return at(below, ByResistance)
		}
		above = below
	}
	return Top{Gear: gear, Ending: CannotPull}
}

// An Upshift is when to leave a gear.
type Upshift struct {
	Gear        int     // that is left, from 0
	None        bool    // the next gear gets no faster: there is no reason to leave this one
	Unknown     bool    // the engine pulls on where its torque is known no further: the shift lies there, or beyond
	Velocity    float64 // at the best shift, m/s
	EngineSpeed float64 // at it, rad/s
	Landing     float64 // engine speed in the next gear after it, rad/s
	FromSpeed   float64 // engine speeds between which the shift costs less than Unfelt against the best, rad/s
	ToSpeed     float64
	AtEnd       bool    // it lies where the gear ends: at the limiter, where that ends it
	Late        float64 // time lost by staying to the gear's end, s
}

// Unfelt is the time, s, by which an upshift may miss the best and be told as good as that. Common practice, no source: a driver hits a light to a tenth.
const Unfelt = 0.01

// shiftStep is the step of engine speed between which an upshift is looked for, rad/s.
const shiftStep = 25 * math.Pi / 30

// A Gearing is what the gears of a vehicle do on a road.
type Gearing struct {
	Upshifts []Upshift // one a gear but the last
	Tops     []Top     // one a gear
	Top      Top       // the highest of them
	Grip     float64   // greatest thrust of the driven tyres, N
	// LimitedBelow is the road speed up to which the tyres limit each gear, m/s; 0 where they never do.
	LimitedBelow []float64
}

// Gearing returns when to shift up and how fast each gear gets on a road.
//
// An upshift at the road speed v is judged by the time that the car takes over a common distance, at whose end the next gear ends, at the speed ve:
//
//	t − x/ve = ∫ (1 − v/ve)/a dv
//
// in this gear up to v, over the time without thrust, in which drag, rolling resistance and gradient slow the car down, and in the next gear from there,
// where the torque comes back in a straight line. The shift with the least is the best. From where every shift is over all drive on alike: who is there
// later by t and further on by x is at the end of the distance later by t − x/ve. Where the curves of thrust cross says less: it knows nothing of the
// time without thrust and of the torque lost.
//
// Source: Newton's second law; the measure is derived.
func (v *Vehicle) Gearing(road Road) (*Gearing, error) {
	if err := errors.Join(v.Validate(), road.Validate()); err != nil {
		return nil, err
	}
	w := v.on(road)
	g := &Gearing{Grip: w.grip}
	for gear := range v.Gears {
		top := w.top(gear)
		g.Tops = append(g.Tops, top)
		g.LimitedBelow = append(g.LimitedBelow, w.limitedBelow(gear))
		if top.Ending != CannotPull && top.Velocity > g.Top.Velocity || gear == 0 {
			g.Top = top
		}
	}
	for gear := range v.Gears[1:] {
		g.Upshifts = append(g.Upshifts, w.upshift(gear, g.Tops[gear], g.Tops[gear+1]))
	}
	return g, nil
}

// short keeps clear of a speed that is reached never: one where nothing is left to accelerate with.
const short = 0.995

func (w *way) upshift(gear int, top, next Top) Upshift {
	u := Upshift{Gear: gear}
	if top.Ending == CannotPull || next.Ending == CannotPull || next.Velocity <= top.Velocity {
		u.None = true
		return u
	}
	this, other := w.Gears[gear], w.Gears[gear+1]
	from, _ := w.Range(gear)
	if lands, _ := w.Range(gear + 1); lands > from {
		from = lands
	}
	end := top.Velocity
	if top.Ending == ByResistance || top.Ending == ByGrip {
		end *= short
	}
	if !(from < end) {
		u.None, u.Unknown = true, top.Ending == ByKnowledge
		return u
	}
	for i := scanPoints - 1; i >= 0; i-- { // from where the gear pulls all the way up: below that nobody gets to the shift
		if below := from + (end-from)*float64(i)/scanPoints; !(w.in(this, below, 1).Acceleration > 0) {
			from += (end - from) * float64(i+1) / scanPoints
			break
		}
	}
	if !(from < end) {
		u.None = true
		return u
	}
	// A step or two at the least, evenly spread, and the end itself. Above that the next gear goes on to where the latest shift is over.
	steps := max(2, int(math.Ceil(w.EngineSpeed(end-from, this.Overall)/shiftStep)))
	width := (end - from) / float64(steps)
	at := func(i int) float64 { return from + (end-from)*float64(i)/float64(steps) }
	_, over := w.through(gear, end, next.Velocity)
	stay, leave := make([]float64, steps+1), make([]float64, steps+1) // in this gear from `from` on; in the next one until all is over
	leave[steps] = w.lag(other, end, over, next.Velocity)
	for i := 1; i <= steps; i++ {
		stay[i] = stay[i-1] + w.lag(this, at(i-1), at(i), next.Velocity)
	}
	for i := steps - 1; i >= 0; i-- {
		leave[i] = leave[i+1] + w.lag(other, at(i), at(i+1), next.Velocity)
	}
	whole := func(velocity float64) float64 {
		i := min(steps-1, max(0, int((velocity-from)/width)))
		lost, after := w.through(gear, velocity, next.Velocity)
		all := stay[i] + w.lag(this, at(i), velocity, next.Velocity) + lost
		if after >= end {
			return all + w.lag(other, after, over, next.Velocity)
		}
		j := min(steps, max(0, int(math.Ceil((after-from)/width))))
		return all + w.lag(other, after, at(j), next.Velocity) + leave[j]
	}
	lags := make([]float64, steps+1)
	best := 0
	for i := range lags {
		if lags[i] = whole(at(i)); lags[i] < lags[best] {
			best = i
		}
	}
	velocity, least := at(best), lags[best]
	if math.IsInf(least, 1) { // the next gear gets faster, but not from where this one ends
		u.None = true
		return u
	}
	if best == steps {
		velocity = end // to the last digit, so that a run meets it
	}
	if best > 0 && best < steps {
		velocity, least = golden(whole, at(best-1), at(best+1))
	}
	u.Velocity, u.AtEnd, u.Late = velocity, best == steps, lags[steps]-least
	u.Unknown = u.AtEnd && top.Ending == ByKnowledge
	u.EngineSpeed = w.EngineSpeed(velocity, this.Overall)
	u.Landing = w.EngineSpeed(velocity, other.Overall)
	lo, hi := best, best
	for lo > 0 && lags[lo-1]-least < Unfelt {
		lo--
	}
	for hi < steps && lags[hi+1]-least < Unfelt {
		hi++
	}
	u.FromSpeed, u.ToSpeed = w.EngineSpeed(at(lo), this.Overall), w.EngineSpeed(at(hi), this.Overall)
	return u
}

// lag returns ∫ (1 − v/end)/a dv in a gear between two speeds, by Simpson's rule; infinite where the gear does not pull.
func (w *way) lag(g Gear, from, to, end float64) float64 {
	f := func(velocity float64) float64 {
		a := w.in(g, velocity, 1).Acceleration
		if !(a > 0) {
			return math.Inf(1)
		}
		return (1 - velocity/end) / a
	}
	if !(to > from) {
		return 0
	}
	return (to - from) / 6 * (f(from) + 4*f((from+to)/2) + f(to))
}

// recoverySteps is in how many steps the torque's way back after a shift is followed.
const recoverySteps = 16

// through returns what leaving a gear at a road speed adds to t − x/end until the torque is back, and the speed then. Each step takes the
// speed at its middle by the trapezoidal rule, at its end by the midpoint rule, and the distance by Simpson's.
func (w *way) through(gear int, velocity, end float64) (lag, after float64) {
	s, g := w.shift(gear), w.Gears[gear+1]
	after = velocity
	step := func(dt float64, a func(velocity, dt float64) float64) {
		first := a(after, 0)
		half := after + dt/2*first
		half = after + dt/4*(first+a(half, dt/2))
		full := after + dt*a(half, dt/2)
		lag += dt * (1 - (after+4*half+full)/6/end)
		after = full
	}
	if s.Time > 0 {
		step(s.Time, func(velocity, _ float64) float64 { return w.coasting(velocity) })
	}
	for i := range recoverySteps {
		if s.Recovery == 0 || s.Kept == 1 {
			break
		}
		dt := s.Recovery / recoverySteps
		since := float64(i) * dt
		step(dt, func(velocity, later float64) float64 { return w.in(g, velocity, s.share(since+later)).Acceleration })
	}
	return lag, after
}

// golden returns where a function of one valley between two places is least, to a thousandth of what lies between them, and its value there.
func golden(f func(float64) float64, lo, hi float64) (x, y float64) {
	const ratio = 0.6180339887498949
	tol := (hi - lo) / 1000
	a, b := hi-ratio*(hi-lo), lo+ratio*(hi-lo)
	fa, fb := f(a), f(b)
	for hi-lo > tol {
		if fa < fb {
			hi, b, fb = b, a, fa
			a = hi - ratio*(hi-lo)
			fa = f(a)
		} else {
			lo, a, fa = a, b, fb
			b = lo + ratio*(hi-lo)
			fb = f(b)
		}
	}
	if fa < fb {
		return a, fa
	}
	return b, fb
}

// limitedBelow returns the road speed up to which the tyres limit a gear, m/s; 0 where they never do.
func (w *way) limitedBelow(gear int) float64 {
	lo, hi := w.Range(gear)
	g := w.Gears[gear]
	if w.in(g, hi, 1).Limited {
		return hi
	}
	above := hi
	for i := scanPoints - 1; i >= 0; i-- {
		below := lo + (hi-lo)*float64(i)/scanPoints
		if w.in(g, below, 1).Limited {
			for range 60 {
				if middle := (below + above) / 2; w.in(g, middle, 1).Limited {
					below = middle
				} else {
					above = middle
				}
			}
			return below
		}
		above = below
	}
	return 0
}

// AtLimiter reports whether the limiter ends the gear before the best upshift out of it.
func (g *Gearing) AtLimiter(u Upshift) bool { return u.AtEnd && g.Tops[u.Gear].Ending == ByLimiter }

// Band returns the engine speeds between which the gears are used with the best shifts, rad/s: from the lowest landing to the highest shift. ok is false
// where no gear is left, or where one is left at a speed that is not known.
func (g *Gearing) Band() (lo, hi float64, ok bool) {
	for _, u := range g.Upshifts {
		if u.Unknown {
			return 0, 0, false
		}
		if u.None {
			continue
		}
		if !ok {
			lo, ok = u.Landing, true
		}
		lo, hi = math.Min(lo, u.Landing), math.Max(hi, u.EngineSpeed)
	}
	return lo, hi, ok
}
