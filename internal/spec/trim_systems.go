package spec

import (
	"errors"

	"bellmouth/internal/manifold"
	"bellmouth/internal/numeric"
	"bellmouth/internal/spark"
	"bellmouth/internal/supply"
	"bellmouth/internal/wastegate"
)

// A Control is the wastegate's actuator with what feeds its ports.
type Control struct {
	wastegate.System
	FromManifold bool // the ports take their air from the manifold, not from the compressor's outlet
}

// A Supply is the fuel system from the tank to the rail.
type Supply struct {
	System      supply.System // main pumps, line, filter and return line; no pumps when not given
	Voltage     float64       // at the main pumps, V
	Temperature float64       // of the fuel on its way, K; 0 when neither it nor the fuel's is given
	Tank        *supply.Tank
	Lift        *Lift
	Use         *Use
}

// A Lift is the pumps that fill the pot from which the main pumps take the fuel.
type Lift struct {
	Pumps    supply.Source
	Voltage  float64 // at the pumps, V
	Pressure float64 // that they work against on the way to the pot, Pa
}

// A Use is how a stage or lap takes fuel.
type Use struct {
	Name    string  // "" when not given
	Time    float64 // that it takes, s
	Profile []Phase // shares of time add up to 1
}

// A Phase is a part of a stage or lap.
type Phase struct {
	Flow float64 // fuel flow over the highest at full load, fraction
	Time float64 // share of the time, fraction
}

// An Ignition is what lights the charge.
type Ignition struct {
	Delay         numeric.Curve // crank angle from spark to start of burning, rad, over engine speed; zero: that of spark.IgnitionDelay
	Coil          *spark.Coil
	Current       float64       // primary current that the dwell is to reach, A; 0 when the dwell is given instead
	Dwell         numeric.Curve // s, over supply voltage, V; zero when the current is given instead
	SupplyVoltage float64       // at the coil, V
	Gap           float64       // of the plug, m; 0 when not given
}

// DwellAt returns the dwell t, s, at a supply voltage, V, and whether the voltage lies outside of the table's, whose end
// was used then. Where the spec gives a current instead, the dwell is the one that reaches it, and an error that of the
// coil's DwellFor. An ignition without a coil has no dwell: that is an error too.
func (i *Ignition) DwellAt(voltage float64) (dwell float64, held bool, err error) {
	switch {
	case i.Coil == nil:
		return 0, false, errors.New("the ignition has no coil")
	case i.Dwell.IsZero():
		dwell, err = i.Coil.DwellFor(i.Current, voltage)
		return dwell, false, err
	}
	dwell, held = i.Dwell.At(voltage)
	return dwell, held, nil
}

// A Manifold is the way of the air from the compressor, or the filter, to the inlet valves.
type Manifold struct {
	Runner   *manifold.Runner
	Plenum   float64 // volume, m³; 0 when not given
	Throttle *Throttle
	Duct     *manifold.Duct
	Spread   *Spread
}

// A Throttle is one throttle and the number of them.
type Throttle struct {
	manifold.Duct
	Count int // equal throttles side by side, each with its share of the air
}

// A Spread is what was measured of how the cylinders share the air, from the first cylinder to the last. One of the three
// is given.
type Spread struct {
	Flow               []float64 // in proportion to each cylinder's air, in any unit
	Lambda             []float64
	ExhaustTemperature []float64 // K
	Leanest            float64   // highest λ accepted in any cylinder; 0 when not given
	Richest            float64   // lowest; 0 when not given
}
