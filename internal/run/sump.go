package run

import (
	"errors"
	"math"

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
	UpErr error   // why it is not known
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
	on := *car
	on.Grip = reach.Grip / oil.Gravity
	thrust, err := on.GripThrust()
	reach.Drive = thrust / on.Mass
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

// leans is how many directions are looked at: every 5 degrees.
const leans = 72

// Leans returns how the oil stands all round.
func (s *Sump) Leans() ([]Lean, error) {
	all := make([]Lean, leans)
	for i := range all {
		l := &all[i]
		l.Direction = 2 * math.Pi * float64(i) / leans
		if err := s.lean(l); err != nil {
			return nil, err
		}
	}
	return all, nil
}

func (s *Sump) lean(l *Lean) (err error) {
	if l.Limit, err = s.Shape.Limit(s.Volume, l.Direction); err != nil || s.ReachErr != nil {
		return err
	}
	l.Reach = s.Reach.Towards(l.Direction)
	a := oil.Towards(l.Direction, l.Reach)
	state, err := s.Shape.At(s.Volume, a)
	if err != nil {
		return err
	}
	l.Cover = state.Cover
	if l.Needed, err = s.Shape.Needed(a); err != nil {
		return err
	}
	if l.Left, err = s.Shape.Above(s.Volume, a); err != nil {
		return err
	}
	l.Lasts = math.NaN()
	if s.UpErr == nil {
		l.Lasts, err = s.Shape.Lasts(s.Volume, a, oil.Circulation{Up: s.Up, Back: s.Up * s.Circulation.Back})
	}
	return err
}

// Spare returns how much more acceleration the pickup takes than the car reaches, m/s²; below 0 it uncovers. +Inf where it never does.
func (l *Lean) Spare() float64 { return l.Limit - l.Reach }

// Nearest returns the direction in which the pickup is nearest to being uncovered, or furthest past it: by what the car reaches where that is known, else by the
// limit alone.
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

// LowestFill returns the least oil that has to be filled in so that the pickup stays covered up to what the car reaches, m³, with what asks for it. What is up in the
// engine is counted.
func (s *Sump) LowestFill() (oil.Fill, error) {
	f, err := s.Shape.LowestFill(s.Reach)
	f.Volume += s.Above
	return f, err
}
