package injector

import (
	"errors"
	"fmt"
	"math"
)

// A Set is the equal injectors that a cylinder has of one kind, fired together.
type Set struct {
	Injector    Injector
	PerCylinder int // injectors; 0: there is no such set
}

// A Staging is how one or two sets of injectors share the fuel.
//
// The primary set works alone up to StartDuty. From there the secondary takes a share of the fuel that rises in a
// straight line over the duty the primary would need alone, until Blend later it has the share of its static flow in that
// of both sets. It never gets less than its shortest pulse: that is the step with which it comes in, and the primary
// steps down by as much.
type Staging struct {
	Primary   Set
	Secondary Set
	StartDuty float64 // duty of the primary set, above 0 to 1, up to which it works alone
	Blend     float64 // band of that duty over which the secondary comes in fully, 0 or more
}

// TwoSets reports whether there is a second set.
func (s *Staging) TwoSets() bool { return s.Secondary.PerCylinder > 0 }

// Validate returns an error when a figure is outside its range.
func (s *Staging) Validate() error {
	if s.Primary.PerCylinder < 1 {
		return fmt.Errorf("primary injectors a cylinder are %d; want at least 1", s.Primary.PerCylinder)
	}
	if err := s.Primary.Injector.Validate(); err != nil {
		return fmt.Errorf("primary: %w", err)
	}
	switch {
	case s.Secondary.PerCylinder < 0:
		return fmt.Errorf("secondary injectors a cylinder are %d; want 0 or more", s.Secondary.PerCylinder)
	case s.Secondary.PerCylinder == 0:
		return nil
	}
	if err := s.Secondary.Injector.Validate(); err != nil {
		return fmt.Errorf("secondary: %w", err)
	}
	switch {
	case !(s.StartDuty > 0 && s.StartDuty <= 1):
		return fmt.Errorf("staging start duty is %v; want more than 0 and at most 1", s.StartDuty)
	case !(s.Blend >= 0) || math.IsInf(s.Blend, 1):
		return fmt.Errorf("staging blend is %v; want 0 or more", s.Blend)
	}
	return nil
}

// A Mode is which sets work, and why.
type Mode int

const (
	NoFuel        Mode = iota // no fuel needed
	BelowShortest             // less fuel needed than the primary set's shortest pulse gives, which gives more
	PrimaryOnly               // primary set alone
	Blending                  // secondary set coming in
	Both                      // both sets, each with its full share
)

func (m Mode) String() string {
	switch m {
	case NoFuel:
		return "no fuel"
	case BelowShortest:
		return "below shortest pulse"
	case PrimaryOnly:
		return "primary"
	case Blending:
		return "blending"
	case Both:
		return "both"
	}
	return fmt.Sprintf("mode %d", int(m))
}

// A Delivery is what one set does in a cycle.
type Delivery struct {
	Fuel         float64 // that the set gives one cylinder in a cycle, kg
	Pulse        float64 // of each injector, dead time included, s; 0: none
	Duty         float64 // above 1: cannot be delivered
	DeadTime     float64 // s
	MassFlow     float64 // static, of all the set's injectors at one cylinder, kg/s
	DeadTimeHeld bool    // the voltage lies outside the dead time table, whose end value was used
}

// A Split is how the sets share one cylinder's fuel of a cycle.
type Split struct {
	Mode               Mode
	Primary, Secondary Delivery
	SecondaryShare     float64 // of the fuel given
	Surplus            float64 // fuel given beyond that needed, kg; only BelowShortest
}

// Split returns how the sets share the fuel that one cylinder needs in a cycle, kg.
//
//	pulse = fuel/ṁ + dead time,  duty = pulse N/(4π)
//	share = ṁs/(ṁp + ṁs) · min(1, (D − StartDuty)/Blend), D the duty the primary would need alone, from StartDuty on
//
// The two sets' fuel adds up to the fuel needed, but for less than the primary's shortest pulse gives: then that pulse is
// given and Surplus tells by how much it is too much. The secondary set's fuel never falls with more fuel needed; it
// steps once, from none to its shortest pulse, at StartDuty, or later when the primary would fall below its own
// shortest pulse by it. A duty above 1 is returned as it is and cannot be delivered: compare with a limit.
// Source: the trade's practice with two sets, no published source; the balance of fuel is exact.
func (s *Staging) Split(fuel float64, c Conditions) (Split, error) {
	p, err := s.plan(c)
	if err != nil {
		return Split{}, err
	}
	if !(fuel >= 0) || math.IsInf(fuel, 1) {
		return Split{}, fmt.Errorf("fuel of a cycle is %v kg; want 0 or more", fuel)
	}
	out := Split{Primary: p.primary.idle(), Secondary: p.secondary.idle()}
	if fuel == 0 {
		return out, nil
	}
	secondary, mode := p.secondaryFuel(fuel)
	primary := fuel - secondary
	if mode == PrimaryOnly && primary < p.primary.least {
		mode, primary = BelowShortest, p.primary.least
		out.Surplus = primary - fuel
	}
	out.Mode = mode
	p.primary.give(&out.Primary, primary, p.cycle)
	if secondary > 0 {
		p.secondary.give(&out.Secondary, secondary, p.cycle)
		out.SecondaryShare = secondary / fuel
	}
	return out, nil
}

// MaxFuel returns the most fuel one cylinder can be given in a cycle, kg, up to which no set exceeds a duty limit. With
// a set that exceeds it on the way and not beyond, it is the fuel at which it first does.
//
// A limit that leaves the primary set less than its shortest pulse is an error.
func (s *Staging) MaxFuel(limit float64, c Conditions) (float64, error) {
	p, err := s.plan(c)
	if err != nil {
		return 0, err
	}
	if !(limit > 0 && limit <= 1) {
		return 0, fmt.Errorf("duty limit is %v; want more than 0 and at most 1", limit)
	}
	most := p.primary.flow * (limit*p.cycle - p.primary.dead)
	if !(most >= p.primary.least && most > 0) {
		return 0, fmt.Errorf("a duty of %.3g lasts %.3g s at this speed, less than the primary injectors' shortest pulse",
			limit, limit*p.cycle)
	}
	if p.secondary.flow == 0 || most < p.start {
		return most, nil
	}
	return p.mostOfBoth(most, p.secondary.flow*(limit*p.cycle-p.secondary.dead)), nil
}

// A set is a Set under given conditions. The zero set is none.
type set struct {
	flow  float64 // of all its injectors at one cylinder, kg/s
	dead  float64 // s
	least float64 // fuel of its shortest pulse, kg
	held  bool
}

func (s *set) idle() Delivery {
	return Delivery{DeadTime: s.dead, MassFlow: s.flow, DeadTimeHeld: s.held}
}

func (s *set) give(d *Delivery, fuel, cycle float64) {
	d.Fuel = fuel
	d.Pulse = fuel/s.flow + s.dead
	d.Duty = d.Pulse / cycle
}

func (s *Set) under(c Conditions) (set, error) {
	if s.PerCylinder < 1 {
		return set{}, nil
	}
	dead, held := s.Injector.DeadTime.At(c.Voltage)
	if !(dead >= 0) {
		return set{}, fmt.Errorf("dead time is %v s at %v V; want 0 or more", dead, c.Voltage)
	}
	flow := float64(s.PerCylinder) * s.Injector.MassFlow(c.PressureDifference, c.FuelDensity)
	if !positive(flow) {
		return set{}, errors.New("injectors have no flow")
	}
	return set{flow: flow, dead: dead, held: held, least: flow * math.Max(0, s.Injector.ShortestPulse-dead)}, nil
}

// A plan is a Staging under given conditions: the fuel at which it changes its ways.
type plan struct {
	primary, secondary set
	cycle              float64 // s
	begin, full        float64 // fuel at which the share begins to rise and is full, kg
	start              float64 // fuel above which the secondary works, kg
	share              float64 // the secondary's full share
}

func (s *Staging) plan(c Conditions) (plan, error) {
	if err := s.Validate(); err != nil {
		return plan{}, err
	}
	if err := c.Validate(); err != nil {
		return plan{}, err
	}
	p := plan{cycle: CycleTime(c.Speed)}
	var err error
	if p.primary, err = s.Primary.under(c); err != nil {
		return plan{}, fmt.Errorf("primary %w", err)
	}
	if p.secondary, err = s.Secondary.under(c); err != nil {
		return plan{}, fmt.Errorf("secondary %w", err)
	}
	if p.secondary.flow > 0 {
		alone := func(duty float64) float64 { return math.Max(0, p.primary.flow*(duty*p.cycle-p.primary.dead)) }
		p.begin, p.full = alone(s.StartDuty), alone(s.StartDuty+s.Blend)
		p.share = p.secondary.flow / (p.primary.flow + p.secondary.flow)
		// Later where the step would leave the primary, or the full share does leave it, less than its shortest pulse.
		p.start = math.Max(p.begin, p.primary.least+p.secondary.least)
		p.start = math.Max(p.start, p.primary.least/(1-p.share))
	}
	return p, nil
}

// secondaryFuel returns the secondary set's part of the fuel, kg. It never falls with more fuel.
func (p *plan) secondaryFuel(fuel float64) (float64, Mode) {
	if p.secondary.flow == 0 || fuel <= p.start {
		return 0, PrimaryOnly
	}
	share, mode := p.share, Both
	if fuel < p.full {
		share *= (fuel - p.begin) / (p.full - p.begin)
		mode = Blending
	}
	if most := share * fuel; most > p.secondary.least {
		return most, mode
	}
	return p.secondary.least, Blending
}

// mostOfBoth returns the fuel, above start, up to which neither set gives more than its own most.
func (p *plan) mostOfBoth(primary, secondary float64) float64 {
	// With the limit at the start duty the primary is at its most just when the secondary comes in and relieves it;
	// rounding must not take that for the end.
	const slack = 1 + 1e-12
	primary, secondary = primary*slack, secondary*slack
	within := func(fuel float64) bool {
		s, _ := p.secondaryFuel(fuel)
		return s <= secondary && fuel-s <= primary
	}
	// The secondary's part never falls with more fuel. The primary's, fuel − max(least, share fuel), rises to a peak, may
	// fall from there until the share is full, and rises again. So on each of three stretches the first place over a
	// limit lies between the ends, or there is none.
	hi := primary + secondary
	peak := p.peakFuel()
	lo := math.Nextafter(p.start, math.Inf(1))
	if !within(lo) {
		return p.start
	}
	for _, end := range [...]float64{peak, p.full, hi} {
		if end <= lo {
			continue
		}
		if within(end) {
			lo = end
			continue
		}
		for end-lo > 1e-15*end {
			mid := lo + (end-lo)/2
			if mid <= lo || mid >= end {
				break
			}
			if within(mid) {
				lo = mid
			} else {
				end = mid
			}
		}
		return lo
	}
	return lo
}

// peakFuel returns the fuel, up to that of the full share, past which the primary's part no longer rises.
func (p *plan) peakFuel() float64 {
	if !(p.full > p.begin) {
		return p.full
	}
	band := (p.full - p.begin) / p.share
	top := (band + p.begin) / 2 // of fuel − share fuel
	risen := (p.begin + math.Sqrt(p.begin*p.begin+4*p.secondary.least*band)) / 2
	return math.Min(math.Max(top, risen), p.full)
}
