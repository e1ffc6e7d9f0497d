package run

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/injector"
	"bellmouth/internal/spark"
	"bellmouth/internal/spec"
	"bellmouth/internal/supply"
	"bellmouth/internal/units"
	"bellmouth/internal/wiring"
)

// Circuits compute what the trim's wiring does at a run's points.
type Circuits struct {
	run     *Run
	density float64 // of the fuel at the injectors, kg/m³; 0 without them
	liquid  supply.Liquid
	err     error // why the pumps are not known
	gate    *Gate // nil without an actuator
}

// Wired reports whether the trim says what feeds its electrical loads.
func (r *Run) Wired() bool { return r.Trim.Wiring != nil }

// Circuits returns what computes the run's wiring. The run has to be Wired.
func (r *Run) Circuits() (*Circuits, error) {
	c := &Circuits{run: r}
	var err error
	if r.Trim.Injection != nil { // without it the fuel may be a gas
		if c.density, err = r.Trim.Fuel.Grade.DensityAt(r.Trim.Fuel.Temperature); err != nil {
			return nil, err
		}
	}
	c.liquid, c.err = r.Liquid()
	if r.HasActuator() {
		if c.gate, err = NewGate(r); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// A Circuit is the wiring with the loads of a mode on.
type Circuit struct {
	Mode   *spec.Mode
	Speed  float64        // of the engine, rad/s
	At     *boost.Outcome // the solved full load whose fuel and pressures are taken: the nearest in speed; nil: none is needed, or there is none
	Output float64        // of the alternator at most, A
	Beyond bool           // the speed lies outside of the alternator's table
	State  wiring.NetworkState
	Err    error // why State is not known
}

// Modes returns the wiring in each of its modes.
func (c *Circuits) Modes() []Circuit {
	w := c.run.Trim.Wiring
	all := make([]Circuit, len(w.Modes))
	for i := range w.Modes {
		all[i] = c.In(&w.Modes[i], w.Modes[i].Speed)
	}
	return all
}

// FullLoads returns the wiring at the run's full loads, with the loads of its full-load mode on.
func (c *Circuits) FullLoads() []Circuit {
	full := *c.run.Trim.Wiring.FullLoad
	full.Fuel = 1
	all := make([]Circuit, len(c.run.Outcomes))
	for i := range all {
		all[i] = c.In(&full, c.run.Outcomes[i].Speed)
	}
	return all
}

// In returns the wiring with the loads of a mode on at an engine speed, rad/s.
//
// Currents, and what they come from, go round with the voltages until they agree: the injectors' dead time and so their duty, the coil's dwell, the
// pumps' operating point. The points of the run stay as they are: their fuel of a cycle, rail and boost.
func (c *Circuits) In(m *spec.Mode, speed float64) Circuit {
	w := c.run.Trim.Wiring
	out := Circuit{Mode: m, Speed: speed, At: c.nearest(speed)}
	out.Output, out.Beyond = w.AlternatorOutput(speed)
	n := wiring.Network{Source: wiring.Source{Battery: w.Battery, Output: out.Output}, Feed: w.Feed, Channels: make([]wiring.Channel, len(w.Channels))}
	if w.Alternator != nil {
		n.Source.Set = w.Alternator.Voltage
	}
	for i := range w.Channels {
		ch := &w.Channels[i]
		n.Channels[i] = wiring.Channel{Name: ch.Name, Wire: ch.Wire}
		for k := range ch.Loads {
			if l := &ch.Loads[k]; m.Has(l.Name) {
				n.Channels[i].Loads = append(n.Channels[i].Loads, wiring.Load{Name: l.Name, Draw: c.draw(l, m, speed, out.At)})
			}
		}
	}
	out.State, out.Err = n.Settle()
	return out
}

// nearest returns the solved outcome that is nearest in speed; nil without one.
func (c *Circuits) nearest(speed float64) *boost.Outcome {
	var near *boost.Outcome
	for i := range c.run.Outcomes {
		if o := &c.run.Outcomes[i]; o.Err == nil && (near == nil || math.Abs(o.Speed-speed) < math.Abs(near.Speed-speed)) {
			near = o
		}
	}
	return near
}

// draw returns what a load draws at the voltage that arrives.
func (c *Circuits) draw(l *spec.ElectricLoad, m *spec.Mode, speed float64, at *boost.Outcome) func(voltage float64) (wiring.Draw, error) {
	fed := func(of func(p *airpath.Point, voltage float64) (wiring.Draw, error)) func(voltage float64) (wiring.Draw, error) {
		return func(voltage float64) (wiring.Draw, error) {
			if at == nil {
				return wiring.Draw{}, errNoPoint
			}
			return of(&at.Point, voltage)
		}
	}
	switch l.Kind {
	case spec.PrimaryInjectors, spec.SecondaryInjectors:
		return fed(func(p *airpath.Point, voltage float64) (wiring.Draw, error) {
			return c.injectors(l, m, speed, p, voltage)
		})
	case spec.Coils:
		return func(voltage float64) (wiring.Draw, error) { return c.coils(l, speed, voltage) }
	case spec.MainPumps:
		return fed(func(p *airpath.Point, voltage float64) (wiring.Draw, error) {
			op, err := c.Pumping(m, speed, p, voltage)
			return c.pumpDraw(l, op.Rise, c.run.Trim.Supply.System.Pumps, err)
		})
	case spec.LiftPumps:
		return func(float64) (wiring.Draw, error) {
			lift := c.run.Trim.Supply.Lift
			return c.pumpDraw(l, lift.Pressure, lift.Pumps, nil)
		}
	case spec.BoostValve:
		var duty float64
		if at != nil && c.gate != nil {
			duty = c.duty(l, at)
		}
		return func(voltage float64) (wiring.Draw, error) {
			return wiring.Together(1, 1, wiring.Saturated(voltage, l.Resistance, duty)), nil
		}
	}
	return func(voltage float64) (wiring.Draw, error) { return wiring.Steady(l.Law.At(voltage)), nil }
}

// Inject returns how the injectors share a mode's fuel at an engine speed, rad/s, and a voltage that arrives, V.
func (c *Circuits) Inject(m *spec.Mode, speed float64, p *airpath.Point, voltage float64) (injector.Split, error) {
	return c.run.Trim.Injection.Staging.Split(m.Fuel*p.FuelPerCycle, injector.Conditions{
		Speed: speed, PressureDifference: p.RailDifference, FuelDensity: c.density, Voltage: voltage,
	})
}

func (c *Circuits) injectors(l *spec.ElectricLoad, m *spec.Mode, speed float64, p *airpath.Point, voltage float64) (wiring.Draw, error) {
	if speed == 0 {
		return wiring.Draw{}, nil
	}
	split, err := c.Inject(m, speed, p, voltage)
	if err != nil {
		return wiring.Draw{}, err
	}
	set := split.Primary
	if l.Kind == spec.SecondaryInjectors {
		set = split.Secondary
	}
	pulse := wiring.PeakAndHold(l.Peak, l.Hold, l.PeakTime, set.Pulse)
	if l.Resistance > 0 {
		pulse = wiring.Saturated(voltage, l.Resistance, set.Pulse)
	}
	return wiring.Together(l.Count, injector.CycleTime(speed), pulse), nil
}

// Charge returns what a coil is charged to at an engine speed, rad/s, and a voltage that arrives, V. Where the voltage does not bring it to the
// current of the spec, it is charged for as long as there is room.
func (c *Circuits) Charge(speed, voltage float64) (spark.Firing, error) {
	coil := c.run.Coil()
	dwell, _, err := c.run.Trim.Ignition.DwellAt(voltage)
	var short *spark.CurrentError
	if errors.As(err, &short) {
		dwell, err = coil.DwellRoom(speed), nil
	}
	if err != nil {
		return spark.Firing{}, err
	}
	return coil.Fire(spark.Demand{Dwell: dwell, Voltage: voltage, Speed: speed})
}

func (c *Circuits) coils(l *spec.ElectricLoad, speed, voltage float64) (wiring.Draw, error) {
	coil := c.run.Coil()
	if speed == 0 || voltage <= coil.DriverDrop {
		return wiring.Draw{}, nil
	}
	f, err := c.Charge(speed, voltage)
	if err != nil {
		return wiring.Draw{}, err
	}
	period := coil.Period(speed)
	return wiring.Together(l.Count, period, wiring.Pulse{
		Time: f.Dwell, Charge: f.MeanCurrent * period, Square: f.Heat / coil.Resistance * period, Peak: f.Current,
	}), nil
}

// Pumping returns the operation of the main pumps with a mode's fuel of a cycle at an engine speed, rad/s, and a voltage that arrives, V.
func (c *Circuits) Pumping(m *spec.Mode, speed float64, p *airpath.Point, voltage float64) (supply.Operation, error) {
	if c.err != nil {
		return supply.Operation{}, c.err
	}
	t := c.run.Trim
	demand := math.Max(m.Fuel*speed/p.Speed, leastDemand) * p.FuelFlow / c.liquid.Density
	op, err := t.Supply.System.At(supply.State{
		Voltage: voltage, RailPressure: c.run.rail().AboveVenue(p.ManifoldPressure, t.Venue.Pressure), Demand: demand, Liquid: c.liquid,
	})
	return op, asOnDataSheet(err)
}

// leastDemand is the share of full load's fuel that pumps are asked for where the engine takes none.
const leastDemand = 1e-3

// pumpDraw returns what a load's pumps draw when all pumps together add a pressure, Pa.
func (c *Circuits) pumpDraw(l *spec.ElectricLoad, rise float64, pumps supply.Source, err error) (wiring.Draw, error) {
	if err != nil {
		return wiring.Draw{}, err
	}
	if s, ok := pumps.(supply.Series); ok {
		rise /= float64(len(s))
	}
	current, held := l.Pump.At(rise)
	if lo, hi := l.Pump.Span(); held && rise > hi && lo < hi {
		return wiring.Draw{}, fmt.Errorf("pump_current ends at %s, and the pump adds %s", units.Mark(hi, units.PressureDifference), units.Mark(rise,
			units.PressureDifference))
	}
	return wiring.Steady(float64(l.Count) * current), nil
}

// duty returns the duty of a boost valve at a full load: all of the time where it is not known.
func (c *Circuits) duty(l *spec.ElectricLoad, at *boost.Outcome) float64 {
	g := c.gate.Hold(at)
	duty := g.Holding.OpeningDuty
	if l.Closing {
		duty = g.Holding.ClosingDuty
	}
	if g.HoldErr != nil || math.IsNaN(duty) {
		return 1
	}
	return duty
}
