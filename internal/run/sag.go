package run

import (
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/supply"
)

// The battery voltages of a sag, V: from a charging system at work to a battery that feeds the car alone and is nearly empty. Common
// practice, no source.
const (
	SagFrom = 14.0
	SagTo   = 11.0
	sagStep = 0.5
)

// A Battery is a weak one's full loads: with which fuel, and whether its pumps sag with it.
type Battery struct {
	Liquid supply.Liquid
	Pumped bool  // the rail is as the pumps hold it; false: it is taken to hold
	Why    error // why the pumps cannot be judged; nil when they can, or there are none
}

// A Sagging is one full load as the battery weakens.
type Sagging struct {
	Speed float64 // of the engine, rad/s
	supply.SagResult
}

// Weakest returns the row of the lowest voltage.
func (s *Sagging) Weakest() *supply.SagRow { return &s.Rows[len(s.Rows)-1] }

// HighestDuty returns the higher duty of the two injector sets; infinite where nothing is delivered.
func HighestDuty(r *supply.SagRow) float64 {
	if !r.Delivered {
		return math.Inf(1)
	}
	return math.Max(r.Injection.Primary.Duty, r.Injection.Secondary.Duty)
}

// AllowedDuty returns the highest injector duty that the trim accepts, above 0 to 1.
func (r *Run) AllowedDuty() float64 {
	if l := r.Trim.Limits.InjectorDuty; l > 0 && l < 1 {
		return l
	}
	return 1
}

// PumpDrop is what the wiring to the pumps loses, V, as far as the spec tells: by how much their voltage is below the injectors'.
func (r *Run) PumpDrop() float64 {
	return math.Max(0, r.Trim.Injection.SupplyVoltage-r.Trim.Supply.Voltage)
}

// sag returns one full load as the battery weakens from a voltage, V, with the rail as the pumps hold it, or as the regulator does where no
// pumps are given.
func (r *Run) sag(p *airpath.Point, b *Battery, from float64) (Sagging, error) {
	s := supply.Sag{
		Rail: r.rail(), Staging: &r.Trim.Injection.Staging, ManifoldPressure: p.ManifoldPressure, VenuePressure: r.Trim.Venue.Pressure,
		Speed: p.Speed, Cylinders: r.Trim.Engine.Cylinders, FuelPerCycle: p.FuelPerCycle, Liquid: b.Liquid, DutyLimit: r.AllowedDuty(),
	}
	if b.Pumped {
		s.System, s.PumpDrop = &r.Trim.Supply.System, r.PumpDrop()
	}
	out, err := s.Over(from, SagTo, sagStep)
	if err != nil {
		err = fmt.Errorf("%s: %w", Speed(p.Speed), err)
	}
	return Sagging{Speed: p.Speed, SagResult: out}, err
}

// Sags returns every solved full load as the battery weakens, and with which fuel and pumps: without those where there are none, or none
// that the voltages can be judged with. It needs injectors.
func (r *Run) Sags() (all []Sagging, b *Battery, err error) {
	over := func(b *Battery) ([]Sagging, error) {
		var all []Sagging
		for i := range r.Outcomes {
			o := &r.Outcomes[i]
			if o.Err != nil {
				continue
			}
			s, err := r.sag(&o.Point, b, SagFrom)
			if err != nil {
				return nil, asOnDataSheet(err)
			}
			all = append(all, s)
		}
		if len(all) == 0 {
			return nil, errNoPoint
		}
		return all, nil
	}
	var why error
	if r.HasPumps() {
		b = &Battery{Pumped: true}
		if b.Liquid, why = r.Liquid(); why == nil {
			if all, why = over(b); why == nil {
				return all, b, nil
			}
		}
	}
	density, err := r.Trim.Fuel.Grade.DensityAt(r.Trim.Fuel.Temperature)
	if err != nil {
		return nil, nil, err
	}
	b = &Battery{Liquid: supply.Liquid{Density: density}, Why: why}
	all, err = over(b)
	return all, b, err
}

// Battery returns the weak battery's case; nil without injectors or without a point.
func (r *Run) Battery() *Battery {
	if r.Trim.Injection == nil {
		return nil
	}
	_, b, err := r.Sags()
	if err != nil {
		return nil
	}
	return b
}

// Weakest returns a full load with the battery at its weakest, at SagTo.
func (r *Run) Weakest(p *airpath.Point, b *Battery) (supply.SagRow, error) {
	s, err := r.sag(p, b, SagTo)
	if err != nil {
		return supply.SagRow{}, err
	}
	return *s.Weakest(), nil
}

// WorstSag returns the full load that breaks at the highest voltage; where none breaks, the one with the highest duty in the end. There has
// to be one.
func WorstSag(all []Sagging) *Sagging {
	first := func(s *Sagging) float64 {
		b, _ := s.First()
		return b.Voltage
	}
	w := &all[0]
	for i := range all {
		s := &all[i]
		a, b := first(s), first(w)
		if a > b || a == b && HighestDuty(s.Weakest()) > HighestDuty(w.Weakest()) {
			w = s
		}
	}
	return w
}

// A Break is the battery voltage at which a limit is passed first over all speeds.
type Break struct {
	supply.SagBreak         // its Limit alone where it is not passed
	Speed           float64 // of the engine at which it is passed first, rad/s
	Passed          bool    // false: it holds down to SagTo
}

// Breaks returns at which battery voltage each limit that applies is passed first over full loads: what the pumps give, where they are known,
// and the duty of each injector set.
func (r *Run) Breaks(all []Sagging, pumped bool) []Break {
	limits := []supply.SagLimit{supply.SagPrimaryDuty}
	if pumped {
		limits = []supply.SagLimit{supply.SagPumpMargin, supply.SagPrimaryDuty}
	}
	if r.Trim.Injection.Staging.TwoSets() {
		limits = append(limits, supply.SagSecondaryDuty)
	}
	breaks := make([]Break, len(limits))
	for i, l := range limits {
		x := Break{SagBreak: supply.SagBreak{Limit: l}}
		for k := range all {
			for _, b := range all[k].Breaks {
				if b.Limit == l && (!x.Passed || b.Voltage > x.Voltage) {
					x = Break{SagBreak: b, Speed: all[k].Speed, Passed: true}
				}
			}
		}
		breaks[i] = x
	}
	return breaks
}

// FirstBreak returns what is passed at the highest voltage; nil where all holds.
func FirstBreak(breaks []Break) *Break {
	var first *Break
	for i := range breaks {
		if b := &breaks[i]; b.Passed && (first == nil || b.Voltage > first.Voltage) {
			first = b
		}
	}
	return first
}
