package run

import (
	"errors"
	"fmt"

	"bellmouth/internal/boost"
	"bellmouth/internal/spec"
	"bellmouth/internal/supply"
	"bellmouth/internal/units"
)

// FeedTemperature returns the fuel's temperature between tank and rail, K: that at the injector where the spec has no other.
func FeedTemperature(t *spec.Trim) float64 {
	if t.Supply != nil && t.Supply.Temperature > 0 {
		return t.Supply.Temperature
	}
	return t.Fuel.Temperature
}

// HasPumps reports whether the trim says what pumps feed the rail.
func (r *Run) HasPumps() bool { return r.Trim.Supply != nil && r.Trim.Supply.System.Pumps != nil }

// Fed reports whether the trim has pumps and injectors for them to feed.
func (r *Run) Fed() bool { return r.HasPumps() && r.Trim.Injection != nil }

// Liquid returns the fuel as it flows between tank and rail.
func (r *Run) Liquid() (supply.Liquid, error) {
	return supply.LiquidOf(r.Trim.Fuel.Grade, FeedTemperature(r.Trim))
}

// rail returns the rail as the trim's regulator holds it. It needs injectors.
func (r *Run) rail() supply.Rail {
	in := r.Trim.Injection
	return supply.Rail{Pressure: in.RailPressure, FollowsManifold: in.FollowsManifold}
}

// A Feed is one engine speed's full load with the fuel system that feeds it.
type Feed struct {
	Speed     float64 // of the engine, rad/s
	Solved    bool    // the full load has a solution; false: nothing below is known
	Demand    float64 // volume flow that the engine takes Qe, m³/s
	Asked     float64 // rail pressure that the regulator asks, above the venue, Pa
	Operation supply.Operation
	Line      supply.LineFlow // in the first line; zero without one
	Lift      float64         // flow of the lift pumps, m³/s; 0 without them
	Err       error           // why Operation is not known
	LiftErr   error           // why Lift is not known
}

// Known reports whether the full load has a solution and the fuel system an operation there.
func (f *Feed) Known() bool { return f.Solved && f.Err == nil }

// Margin returns by how much the pumps give more than the engine takes, as a part of that: Q/Qe − 1.
func (f *Feed) Margin() float64 { return f.Operation.Margin }

// LiftMargin returns by how much the lift pumps give more than the engine takes, as a part of that: Q/Qe − 1.
func (f *Feed) LiftMargin() float64 { return f.Lift/f.Demand - 1 }

// A FuelSystem is what feeds a run's full loads.
type FuelSystem struct {
	run     *Run
	liquid  supply.Liquid
	err     error
	lift    float64 // flow of the lift pumps, m³/s
	liftErr error
}

// FuelSystem returns what feeds the run's full loads. The run has to be Fed.
func (r *Run) FuelSystem() *FuelSystem {
	f := &FuelSystem{run: r}
	f.liquid, f.err = r.Liquid()
	if lift := r.Trim.Supply.Lift; lift != nil {
		f.lift, _, f.liftErr = supply.FlowAt(lift.Pumps, lift.Pressure, lift.Voltage)
		f.liftErr = asOnDataSheet(f.liftErr)
	}
	return f
}

// At returns a full load with the fuel system as it works there.
func (f *FuelSystem) At(o *boost.Outcome) Feed {
	s := Feed{Speed: o.Speed, Solved: o.Err == nil, Err: f.err, Lift: f.lift, LiftErr: f.liftErr}
	if !s.Known() {
		return s
	}
	r, sup := f.run, f.run.Trim.Supply
	s.Demand = o.Point.FuelFlow / f.liquid.Density
	s.Asked = r.rail().AboveVenue(o.Point.ManifoldPressure, r.Trim.Venue.Pressure)
	state := supply.State{Voltage: sup.Voltage, RailPressure: s.Asked, Demand: s.Demand, Liquid: f.liquid}
	if s.Operation, s.Err = sup.System.At(state); s.Err != nil {
		s.Err = asOnDataSheet(s.Err)
		return s
	}
	if len(sup.System.Lines) > 0 {
		s.Line, s.Err = sup.System.Lines[0].Flow(s.Operation.PumpFlow, f.liquid)
	}
	return s
}

// Feeds returns the fuel system at the run's full loads. The run has to be Fed.
func (r *Run) Feeds() []Feed {
	f := r.FuelSystem()
	all := make([]Feed, len(r.Outcomes))
	for i := range r.Outcomes {
		all[i] = f.At(&r.Outcomes[i])
	}
	return all
}

// LeastFeed returns the full load with the lowest value of a figure among those whose feed is known; nil where none is.
func LeastFeed(all []Feed, figure func(f *Feed) float64) *Feed {
	var least *Feed
	for i := range all {
		if f := &all[i]; f.Known() && (least == nil || figure(f) < figure(least)) {
			least = f
		}
	}
	return least
}

// A dataSheetError is a supply.RangeError in the units of a pump's data sheet.
type dataSheetError struct{ out *supply.RangeError }

func (e *dataSheetError) Unwrap() error { return e.out }

func (e *dataSheetError) Error() string {
	kind := units.Voltage
	switch e.out.Unit {
	case "Pa":
		kind = units.PressureDifference
	case "m³/s":
		kind = units.PumpFlow
	}
	in := func(x float64) string { return units.Mark(x, kind) }
	return fmt.Sprintf("%s is %s; the pumps' curve tells from %s to %s", e.out.What, in(e.out.Value), in(e.out.Low), in(e.out.High))
}

// asOnDataSheet returns an error that a pump's curve ends in the units of its data sheet, and any other as it is.
func asOnDataSheet(err error) error {
	var out *supply.RangeError
	if !errors.As(err, &out) {
		return err
	}
	return &dataSheetError{out}
}
