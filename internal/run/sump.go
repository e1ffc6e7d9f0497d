package run

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"bellmouth/internal/oil"
	"bellmouth/internal/spec"
)

// A Sump is the sump of a run with the least oil that is in it at any of the run's speeds, and what the car asks of it.
type Sump struct {
	*spec.Sump
	Speed  float64 // at which most oil is up in the engine, rad/s
	Above  float64 // of it up in the engine there, m³
	Volume float64 // left in the sump, m³

	Reach    oil.Reach
	ReachErr error // why it is not known

	Up    float64 // oil that the pump sends up in a sustained corner, m³/s
	Back  float64 // that comes back meanwhile, m³/s
	UpErr error   // why they are not known
}

// ErrNoGrip says why it is not known what the car reaches.
var ErrNoGrip = errors.New("car.grip is not given")

// Sump returns the sump of the run. grip is the acceleration that the tyres hold, m/s²; 0 takes car.grip. The trim has to have a sump.
func (r *Run) Sump(grip float64) Sump {
	s := Sump{Sump: r.Trim.Sump, Above: math.Inf(-1)}
	for i := range r.Outcomes {
		if v, _ := s.InEngine.At(r.Outcomes[i].Speed); v > s.Above {
			s.Speed, s.Above = r.Outcomes[i].Speed, v
		}
	}
	s.Volume = s.Oil - s.Above
	s.Reach, s.ReachErr = r.reach(grip)
	switch c := s.Circulation; {
	case c == nil:
		s.UpErr = errors.New("sump.circulation is not given")
	case c.Flow > 0:
		s.Up = c.Flow
	default:
		s.Up, s.UpErr = r.oilFlow()
	}
	if s.UpErr == nil {
		s.Back = s.Up * s.Circulation.Back
		if s.Scavenge != nil { // they bring no more than they can
			s.Back = math.Min(s.Back, s.Scavenge.Oil(s.Speed))
		}
	}
	return s
}

// reach returns what the car reaches in every direction.
func (r *Run) reach(grip float64) (oil.Reach, error) {
	reach := oil.Reach{Grip: grip, Drive: math.Inf(1)}
	car := r.Trim.Car
	switch {
	case car == nil && grip == 0:
		return reach, ErrNoGrip
	case car == nil:
		return reach, nil
	case grip == 0:
		reach.Grip = car.Grip * oil.Gravity
	}
	on := car.Road()
	on.Grip = reach.Grip / oil.Gravity
	thrust, err := car.GripThrust(on)
	reach.Drive = thrust/car.Mass - on.Rolling*oil.Gravity
	return reach, err
}

// A Lean is how the oil stands in one direction of acceleration.
type Lean struct {
	Direction float64 // rad: 0 gains speed, π/2 turns left, π brakes, −π/2 turns right
	Limit     float64 // at which the pickup uncovers, m/s²; +Inf where it stays covered

	// With what the car reaches in the direction, where that is known.
	Reach  float64 // m/s²
	Cover  float64 // of the surface above the pickup, m
	Needed float64 // oil that has to be in the sump, m³
	Left   float64 // that the pump can take before the pickup uncovers, m³
	Lasts  float64 // the supply, s; NaN without circulation; +Inf for ever
}

// Directions is how many directions are looked at: every 5 degrees.
const Directions = 72

// Leans returns how the oil stands all round and, last, where it is known what the car reaches, in the direction that asks for the most oil, which may lie
// between those. The shape has to be given.
func (s *Sump) Leans() ([]Lean, error) {
	round, err := s.round()
	if err != nil {
		return nil, err
	}
	if s.ReachErr != nil {
		return round, nil
	}
	return s.leans(round, s.LowestFill().Direction)
}

// round returns the directions all round with their limits, which what the car reaches does not change.
func (s *Sump) round() ([]Lean, error) {
	all := make([]Lean, Directions)
	for i := range all {
		l, err := s.limited(2 * math.Pi * float64(i) / Directions)
		if err != nil {
			return nil, err
		}
		all[i] = l
	}
	return all, nil
}

func (s *Sump) limited(direction float64) (Lean, error) {
	limit, err := s.Shape.Limit(s.Volume, direction)
	return Lean{Direction: direction, Limit: limit}, err
}

// leans returns what is in round and the worst direction after it, with what the car reaches, which has to be known.
func (s *Sump) leans(round []Lean, worst float64) ([]Lean, error) {
	last, err := s.limited(worst)
	if err != nil {
		return nil, err
	}
	all := append(slices.Clone(round), last)
	for i := range all {
		if err := s.reached(&all[i]); err != nil {
			return nil, err
		}
	}
	return all, nil
}

func (s *Sump) reached(l *Lean) error {
	l.Reach = s.Reach.Towards(l.Direction)
	a := oil.Towards(l.Direction, l.Reach)
	state, err := s.Shape.At(s.Volume, a)
	if err != nil {
		return err
	}
	l.Cover = state.Cover
	l.Needed = s.Shape.Needed(a)
	if l.Left, err = s.Shape.Above(s.Volume, a); err != nil {
		return err
	}
	l.Lasts = math.NaN()
	if s.UpErr == nil {
		l.Lasts, err = s.Shape.Lasts(s.Volume, a, oil.Circulation{Up: s.Up, Back: s.Back})
	}
	return err
}

// Spare returns how much more acceleration the pickup takes than the car reaches, m/s²; below 0 it uncovers. +Inf where it never does.
func (l *Lean) Spare() float64 { return l.Limit - l.Reach }

// Nearest returns the direction in which the pickup is nearest to being uncovered, or furthest past it: by what the car reaches where that is known,
// else by the limit alone.
func Nearest(all []Lean) *Lean {
	worst := &all[0]
	for i := range all {
		if all[i].Spare() < worst.Spare() {
			worst = &all[i]
		}
	}
	return worst
}

// Shortest returns the direction in which the supply lasts the shortest; nil without circulation.
func Shortest(all []Lean) *Lean {
	worst := &all[0]
	for i := range all {
		if all[i].Lasts < worst.Lasts {
			worst = &all[i]
		}
	}
	if math.IsNaN(worst.Lasts) {
		return nil
	}
	return worst
}

// LowestFill returns the least oil that has to be filled in so that the pickup stays covered up to what the car reaches, m³, with what asks for it.
// What is up in the engine is counted.
func (s *Sump) LowestFill() oil.Fill {
	f := s.Shape.LowestFill(s.Reach)
	f.Volume += s.Above
	return f
}

// A ScavengePoint is what the scavenge pumps bring at one speed, against what the engine takes.
type ScavengePoint struct {
	Speed   float64 // rad/s
	Flow    float64 // that the pumps displace, m³/s
	Oil     float64 // of it oil, at most, m³/s
	Engine  float64 // oil that goes through the engine, m³/s
	Empties float64 // time in which the tank runs empty, s; +Inf where the pumps keep up
}

// Margin returns by how much more oil the scavenge pumps can move than goes through the engine, as a share of that.
func (p *ScavengePoint) Margin() float64 { return p.Oil/p.Engine - 1 }

// Scavenging returns what the scavenge pumps do at each of the run's speeds. Without a pressure pump in the spec what is stated of the circulation
// goes through the engine; without either it is ErrNoPump. The trim has to have scavenge pumps.
func (r *Run) Scavenging() ([]ScavengePoint, error) {
	s := r.Trim.Sump
	var oils []OilPoint
	if r.Trim.Oil != nil && r.Trim.Oil.Pump != nil {
		var err error
		if oils, err = r.OilPoints(); err != nil {
			return nil, err
		}
	} else if s.Circulation == nil || s.Circulation.Flow == 0 {
		return nil, ErrNoPump
	}
	points := make([]ScavengePoint, len(r.Outcomes))
	for i := range points {
		p := &points[i]
		p.Speed = r.Outcomes[i].Speed
		p.Flow, p.Oil = s.Scavenge.Pump.Flow(p.Speed), s.Scavenge.Oil(p.Speed)
		if oils != nil {
			p.Engine = oils[i].Engine
		} else {
			p.Engine = s.Circulation.Flow
		}
		p.Empties = math.Inf(1)
		if short := p.Engine - p.Oil; short > 0 {
			above, _ := s.InEngine.At(p.Speed)
			p.Empties = (s.Oil - above) / short
		}
	}
	return points, nil
}

// A Ground is a grip, and what the sump makes of it.
type Ground struct {
	Name  string  // what it is: "car.grip", a surface of the spec, or none: a grip by itself
	Grip  float64 // acceleration that the tyres hold, m/s²
	Worst Lean    // nearest to uncovering, or furthest past it
	Fill  oil.Fill
	Lasts float64 // the supply in the worst direction, s; NaN where it is not known
}

// groundSteps are the grips that are looked at besides the car's, from ice to slicks on tarmac, as shares of g.
var groundSteps = [...]float64{0.2, 0.4, 0.6, 0.8, 1, 1.2, 1.4, 1.6}

// Grounds returns what the sump makes of grips, the car's and those of the spec's surfaces among them, in rising order. The shape has to be given.
func (r *Run) Grounds() ([]Ground, error) {
	var all []Ground
	for _, g := range groundSteps {
		all = append(all, Ground{Grip: g * oil.Gravity})
	}
	if r.Trim.Car != nil {
		all = append(all, Ground{Name: "car.grip", Grip: r.Trim.Car.Grip * oil.Gravity})
	}
	for _, on := range r.Trim.Surfaces {
		all = append(all, Ground{Name: on.Name, Grip: on.Grip * oil.Gravity})
	}
	slices.SortStableFunc(all, func(a, b Ground) int { return cmp.Compare(a.Grip, b.Grip) })
	var round []Lean
	for i := range all {
		g := &all[i]
		s := r.Sump(g.Grip)
		if s.ReachErr != nil {
			return nil, s.ReachErr
		}
		if round == nil {
			var err error
			if round, err = s.round(); err != nil {
				return nil, err
			}
		}
		g.Fill = s.LowestFill()
		leans, err := s.leans(round, g.Fill.Direction)
		if err != nil {
			return nil, err
		}
		g.Worst, g.Lasts = *Nearest(leans), math.NaN()
		if shortest := Shortest(leans); shortest != nil {
			g.Lasts = shortest.Lasts
		}
	}
	return all, nil
}
