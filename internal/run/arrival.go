package run

import (
	"context"
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/spec"
	"bellmouth/internal/units"
)

// An Arrival is the voltage that arrives at a part of the engine.
type Arrival struct {
	Load    string
	Kind    spec.LoadKind
	Voltage float64 // that arrives, V
	Stated  float64 // with which the run computes dead time, dwell or pump flow, V
	Key     string  // of the spec that states it
	Given   bool    // it does; false: it follows from the wiring
}

// Arrivals returns what arrives at injectors, coils and pumps of a circuit. One that has no state has none.
func (c *Circuits) Arrivals(at *Circuit) []Arrival {
	var all []Arrival
	if at.Err != nil {
		return nil
	}
	t := c.run.Trim
	w := t.Wiring
	for i := range w.Channels {
		n := 0
		for k := range w.Channels[i].Loads {
			l := &w.Channels[i].Loads[k]
			if !at.Mode.Has(l.Name) {
				continue
			}
			a := Arrival{Load: l.Name, Kind: l.Kind, Voltage: at.State.Channels[i].Loads[n].Voltage}
			n++
			switch l.Kind {
			case spec.PrimaryInjectors, spec.SecondaryInjectors:
				a.Stated, a.Key, a.Given = t.Injection.SupplyVoltage, "injection.supply_voltage", !w.Loop.Injectors
			case spec.Coils:
				a.Stated, a.Key, a.Given = t.Ignition.SupplyVoltage, "ignition.supply_voltage", !w.Loop.Coils
			case spec.MainPumps:
				a.Stated, a.Key, a.Given = t.Supply.Voltage, "supply.pumps.voltage", !w.Loop.Pumps
			case spec.LiftPumps:
				a.Stated, a.Key, a.Given = t.Supply.Lift.Voltage, "supply.lift.voltage", !w.Loop.Lift
			default:
				continue
			}
			all = append(all, a)
		}
	}
	return all
}

// How well the voltages of the loop are known, V, and after how many points there is no use in going on.
const (
	loopSettled = 1e-7
	loopPoints  = 30
)

// throughWiring returns the trim with the voltages that really arrive in the full-load mode of its wiring, in the place of those that the spec leaves to
// defaults: what the spec states counts before. It is the trim itself where there is no wiring, or all voltages are stated.
//
// The loop goes through the operating point at the mode's engine speed: dead time, and what it leaves of the duty, pumps and dwell give currents, these
// the voltages, and they the next point, until nothing moves. Where several loads have one voltage, the least counts. Where it does not come to an end
// the defaults stay, and the error says why.
func throughWiring(ctx context.Context, command string, trim *spec.Trim) (*spec.Trim, error) {
	if trim.Wiring == nil || !trim.Wiring.Loop.Any() {
		return trim, nil
	}
	full := *trim.Wiring.FullLoad
	full.Fuel = 1
	if full.Speed == 0 {
		return trim, fmt.Errorf("mode %s, whose loads are on at full load, has no engine speed", full.Name)
	}
	t := withVoltages(trim, nil)
	for range loopPoints {
		s, err := Setup(command, t)
		if err != nil {
			return trim, nil // which Solve tells
		}
		e, err := airpath.New(s)
		if err != nil {
			return trim, nil
		}
		r := &Run{Trim: t, Engine: e, Outcomes: boost.Sweep(ctx, e, t.Boost.Target, []float64{full.Speed}), Context: ctx}
		if err := errors.Join(ctx.Err(), r.Outcomes[0].Err); err != nil {
			return trim, err
		}
		c, err := r.Circuits()
		if err != nil {
			return trim, err
		}
		at := c.In(&full, full.Speed)
		if at.Err != nil {
			return trim, at.Err
		}
		arrived := c.Arrivals(&at)
		off := 0.0
		for _, a := range arrived {
			if !a.Given {
				least := leastOf(arrived, a.Key)
				off = math.Max(off, math.Abs(least-a.Stated))
			}
		}
		if t = withVoltages(trim, arrived); off < loopSettled {
			return t, nil
		}
	}
	return trim, fmt.Errorf("mode %s: the voltages that arrive and the operating point do not settle", full.Name)
}

// leastOf returns the least voltage that arrives at what a key states.
func leastOf(all []Arrival, key string) float64 {
	least := math.Inf(1)
	for _, a := range all {
		if a.Key == key {
			least = math.Min(least, a.Voltage)
		}
	}
	return least
}

// withVoltages returns a copy of the trim with the voltages that arrive in the place of defaults.
func withVoltages(trim *spec.Trim, arrived []Arrival) *spec.Trim {
	t := *trim
	t.Defaults = append([]spec.Default(nil), trim.Defaults...)
	for _, a := range arrived {
		if a.Given {
			continue
		}
		v := leastOf(arrived, a.Key)
		switch a.Kind {
		case spec.PrimaryInjectors, spec.SecondaryInjectors:
			in := *t.Injection
			in.SupplyVoltage, t.Injection = v, &in
		case spec.Coils:
			in := *t.Ignition
			in.SupplyVoltage, t.Ignition = v, &in
		case spec.MainPumps:
			s := *t.Supply
			s.Voltage, t.Supply = v, &s
		case spec.LiftPumps:
			s := *t.Supply
			lift := *s.Lift
			lift.Voltage = v
			s.Lift, t.Supply = &lift, &s
		}
		for i := range t.Defaults {
			if d := &t.Defaults[i]; d.Path == a.Key {
				d.Value, d.Reason = units.Format(v, units.Voltage, units.Metric), "arrives through the wiring in the mode "+trim.Wiring.FullLoad.Name
			}
		}
	}
	return &t
}
