// Package spark computes what lighting the charge asks for: the spark's crank angle, the octane numbers to spare at it, the
// voltage its gap needs, and what the coil gives in the time it has.
package spark

import (
	"fmt"
	"math"
)

// A Coil is an inductive ignition coil with its driver, on a four-stroke engine. It gives 1 spark a cycle with a coil for each cylinder, 2 where it
// also fires in the overlap, and n where it serves n cylinders.
type Coil struct {
	Inductance     float64 // of the primary winding L, H
	Resistance     float64 // of the primary circuit R at working temperature, leads included, Ω
	DriverDrop     float64 // voltage across the closed driver U0, V; 0: none
	CurrentLimit   float64 // at which the driver holds the current, A; 0: none
	SparkTime      float64 // from the cut of the current until the coil may be charged again tb, s: the spark's duration
	SparksPerCycle int     // k in the 720° of a cycle
	RatedCurrent   float64 // at which the rated voltage is stated, A; 0: not stated
	RatedVoltage   float64 // peak secondary voltage into the plug's and lead's capacitance, before it breaks down, V; 0: not stated
}

// Validate returns an error when a figure is outside its range.
func (c *Coil) Validate() error {
	for _, v := range []struct {
		name, unit string
		value      float64
	}{
		{"inductance", "H", c.Inductance},
		{"resistance", "Ω", c.Resistance},
	} {
		if !positive(v.value) {
			return fmt.Errorf("coil %s is %v %s; want more than 0", v.name, v.value, v.unit)
		}
	}
	for _, v := range []struct {
		name, unit string
		value      float64
	}{
		{"driver drop", "V", c.DriverDrop},
		{"current limit", "A", c.CurrentLimit},
		{"spark time", "s", c.SparkTime},
		{"rated current", "A", c.RatedCurrent},
		{"rated voltage", "V", c.RatedVoltage},
	} {
		if v.value != 0 && !positive(v.value) {
			return fmt.Errorf("coil %s is %v %s; want 0 or more", v.name, v.value, v.unit)
		}
	}
	if c.SparksPerCycle < 1 {
		return fmt.Errorf("coil gives %d sparks a cycle; want 1 or more", c.SparksPerCycle)
	}
	if (c.RatedCurrent > 0) != (c.RatedVoltage > 0) {
		return fmt.Errorf("coil is rated %v V at %v A; want both or neither", c.RatedVoltage, c.RatedCurrent)
	}
	return nil
}

// A CurrentError reports a primary current that the coil does not reach, however long the dwell.
type CurrentError struct {
	Needed  float64 // A
	Largest float64 // A: the driver's limit, or what the current tends to
	Voltage float64 // supply, V
	Limited bool    // Largest is the driver's limit
}

func (e *CurrentError) Error() string {
	if e.Limited {
		return fmt.Sprintf("the coil's driver holds %.3g A at most; %.3g A are needed", e.Largest, e.Needed)
	}
	return fmt.Sprintf("the coil's current tends to %.3g A on %.3g V and reaches no more; %.3g A are needed", e.Largest, e.Voltage, e.Needed)
}

// final returns the current that the coil tends to without a limit, A, and its time constant, s.
func (c *Coil) final(voltage float64) (current, tau float64) {
	return max(voltage-c.DriverDrop, 0) / c.Resistance, c.Inductance / c.Resistance
}

// LargestCurrent returns the primary current that no dwell exceeds at a supply voltage U, V: A.
//
//	min((U − U0)/R, driver's limit)
//
// Without a limit the current only tends to it. Source: Ohm's law.
func (c *Coil) LargestCurrent(voltage float64) float64 {
	final, _ := c.final(voltage)
	if c.CurrentLimit > 0 {
		return min(final, c.CurrentLimit)
	}
	return final
}

// Current returns the primary current i after a dwell t, s, at a supply voltage U, V: A.
//
//	i = (U − U0)/R (1 − exp(−t R/L)), at most the driver's limit
//
// Source: step response of a series inductance and resistance. It holds for a core that does not saturate: where it does,
// the current rises faster near the end of the dwell, and stores less energy than Energy says. A dwell below 0 counts as 0.
func (c *Coil) Current(dwell, voltage float64) float64 {
	final, tau := c.final(voltage)
	return min(-final*math.Expm1(-max(dwell, 0)/tau), c.LargestCurrent(voltage))
}

// DwellFor returns the dwell t, s, that brings the primary current to i, A, at a supply voltage U, V.
//
//	t = −L/R ln(1 − i R/(U − U0))
//
// It is Current solved for t. A current out of reach is a *CurrentError, which names the largest.
func (c *Coil) DwellFor(current, voltage float64) (float64, error) {
	if !positive(voltage) {
		return 0, fmt.Errorf("supply voltage is %v V; want more than 0", voltage)
	}
	if !positive(current) {
		return 0, fmt.Errorf("coil current is %v A; want more than 0", current)
	}
	final, tau := c.final(voltage)
	if current >= final {
		return 0, &CurrentError{Needed: current, Largest: final, Voltage: voltage}
	}
	if c.CurrentLimit > 0 && current > c.CurrentLimit {
		return 0, &CurrentError{Needed: current, Largest: c.CurrentLimit, Voltage: voltage, Limited: true}
	}
	return -tau * math.Log1p(-current/final), nil
}

// Energy returns the energy stored in the coil at a primary current i, A: J.
//
//	½ L i²
//
// Source: energy of a constant inductance. The spark gets the part of it that the secondary side does not lose.
func (c *Coil) Energy(current float64) float64 { return c.Inductance * current * current / 2 }

// AvailableVoltage returns the peak secondary voltage that a primary current i, A, raises before the gap breaks down, V; 0
// when the coil's rating is not stated.
//
//	Ur min(1, i/Ir)
//
// Source: what is stored, ½ L i², goes into the same capacitance, ½ C U², so that U rises with i; above the rated current
// the voltage is held to the rated one, since the driver clamps the primary: common practice, no source. It holds for the
// load, plug and lead, that the rating is stated with.
func (c *Coil) AvailableVoltage(current float64) float64 {
	if c.RatedCurrent == 0 {
		return 0
	}
	return c.RatedVoltage * min(1, current/c.RatedCurrent)
}

// Period returns the time between two sparks of this coil at engine speed N, rad/s: s.
//
//	4π/(N k)
//
// Source: a four-stroke cycle takes two turns. A coil that serves several cylinders is taken to fire evenly.
func (c *Coil) Period(speed float64) float64 {
	return 4 * math.Pi / (speed * float64(c.SparksPerCycle))
}

// DwellRoom returns the longest dwell that fits between the end of one spark and the next at engine speed N, rad/s: s. It is
// negative where not even the spark fits.
//
//	4π/(N k) − tb
func (c *Coil) DwellRoom(speed float64) float64 { return c.Period(speed) - c.SparkTime }

// TopSpeed returns the engine speed N above which a dwell, s, no longer fits whole: rad/s. It is +Inf when neither dwell nor
// spark takes time.
//
//	4π/(k (t + tb))
//
// It is DwellRoom solved for N.
func (c *Coil) TopSpeed(dwell float64) float64 {
	return 4 * math.Pi / (float64(c.SparksPerCycle) * (dwell + c.SparkTime))
}

// A Demand is what is asked of a coil.
type Demand struct {
	Dwell   float64 // time for which the driver is to be closed t, s
	Voltage float64 // supply U, V
	Speed   float64 // engine speed N, rad/s
}

// A Firing is what the coil makes of a Demand.
type Firing struct {
	Dwell            float64 // that it had, s: the one asked for, or what fits
	Current          float64 // primary current at the spark, A
	Energy           float64 // stored at the spark, J
	AvailableVoltage float64 // peak secondary voltage, V; 0 when the rating is not stated
	Duty             float64 // share of the time for which the coil is charged
	MeanCurrent      float64 // drawn from the supply, over the whole period, A
	Heat             float64 // mean heating power of the primary resistance, W
	Shortened        bool    // the dwell asked for does not fit between two sparks
	Limited          bool    // the driver holds the current at its limit, and takes the rest as heat itself
}

// Fire returns what the coil gives at the demand.
//
//	duty = t k N/(4π), mean current = k N/(4π) ∫i dt, heat = k N/(4π) R ∫i² dt over the dwell t
//
// with t no longer than DwellRoom and i as Current says. The heat is the primary's; secondary and core add theirs.
// Source: definitions; the integrals in closed form. A figure that is not positive is an error, and so is a speed at which
// one spark is not over when the next is due.
func (c *Coil) Fire(d Demand) (Firing, error) {
	switch {
	case !positive(d.Dwell):
		return Firing{}, fmt.Errorf("dwell is %v s; want more than 0", d.Dwell)
	case !positive(d.Voltage):
		return Firing{}, fmt.Errorf("supply voltage is %v V; want more than 0", d.Voltage)
	case !positive(d.Speed):
		return Firing{}, fmt.Errorf("engine speed is %v rad/s; want more than 0", d.Speed)
	}
	room := c.DwellRoom(d.Speed)
	if !(room > 0) {
		return Firing{}, fmt.Errorf("no time to charge the coil: its sparks follow %.3g ms apart and last %.3g ms",
			c.Period(d.Speed)*1e3, c.SparkTime*1e3)
	}
	final, tau := c.final(d.Voltage)
	if final == 0 {
		return Firing{}, fmt.Errorf("supply voltage %.3g V does not exceed the driver's %.3g V: no current flows", d.Voltage, c.DriverDrop)
	}
	f := Firing{Dwell: min(d.Dwell, room), Shortened: d.Dwell > room}

	// The rise, and the hold at the limit after it.
	rise := f.Dwell
	if c.CurrentLimit > 0 && c.CurrentLimit < final {
		rise = min(rise, -tau*math.Log1p(-c.CurrentLimit/final))
	}
	hold := f.Dwell - rise
	f.Limited = hold > 0
	f.Current = c.Current(f.Dwell, d.Voltage)
	x := rise / tau
	charge := final*tau*risen(x) + hold*f.Current
	square := final*final*tau*risenSquare(x) + hold*f.Current*f.Current

	period := c.Period(d.Speed)
	f.Energy = c.Energy(f.Current)
	f.AvailableVoltage = c.AvailableVoltage(f.Current)
	f.Duty = f.Dwell / period
	f.MeanCurrent = charge / period
	f.Heat = c.Resistance * square / period
	if !(f.Heat < math.Inf(1) && f.Energy < math.Inf(1)) { // NaN and overflow of figures that are no coil's
		return Firing{}, fmt.Errorf("coil of %v H and %v Ω on %v V: its heat or energy is no finite number", c.Inductance, c.Resistance, d.Voltage)
	}
	return f, nil
}

// series is the share of the time constant below which the closed forms below cancel more digits than their series leaves
// out: 1e-11 of the value either way.
const series = 0.01

// risen returns ∫(1 − e^−s) ds from 0 to x.
func risen(x float64) float64 {
	if x < series {
		return x * x * (1./2 - x*(1./6-x*(1./24-x*(1./120-x/720))))
	}
	return x + math.Expm1(-x)
}

// risenSquare returns ∫(1 − e^−s)² ds from 0 to x.
func risenSquare(x float64) float64 {
	if x < series {
		return x * x * x * (1./3 - x*(1./4-x*(7./60-x*(1./24-x*(31./2520-x/320)))))
	}
	return x + 2*math.Expm1(-x) - math.Expm1(-2*x)/2
}

func positive(x float64) bool { return x > 0 && !math.IsInf(x, 1) }
