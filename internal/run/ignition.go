package run

import (
	"errors"
	"math"
	"slices"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/spark"
)

// Coil returns the trim's ignition coil, nil without one.
func (r *Run) Coil() *spark.Coil {
	if r.Trim.Ignition == nil {
		return nil
	}
	return r.Trim.Ignition.Coil
}

// Fire returns what the coil gives at an engine speed, rad/s, and a supply voltage, V.
func (r *Run) Fire(speed, voltage float64) (spark.Firing, error) {
	dwell, _, err := r.Trim.Ignition.DwellAt(voltage)
	if err != nil {
		return spark.Firing{}, err
	}
	return r.Coil().Fire(spark.Demand{Dwell: dwell, Voltage: voltage, Speed: speed})
}

// ErrEarlySpark says that the charge at the spark is not known.
var ErrEarlySpark = errors.New("the spark comes before the inlet valve has closed")

// SparkState returns the charge at the spark of a point.
func SparkState(p *airpath.Point) (spark.State, error) {
	if !(p.SparkPressure > 0) {
		return spark.State{}, ErrEarlySpark
	}
	return spark.State{Pressure: p.SparkPressure, Temperature: p.SparkTemperature}, nil
}

// BreakdownVoltage returns the voltage that the plug's gap needs at a point, V.
func (r *Run) BreakdownVoltage(p *airpath.Point) (float64, error) {
	state, err := SparkState(p)
	if err != nil {
		return 0, err
	}
	return spark.BreakdownVoltage(r.Trim.Ignition.Gap, state)
}

// VoltageMargin returns the share of the coil's voltage that the gap leaves at a point, at a supply voltage, V.
func (r *Run) VoltageMargin(p *airpath.Point, voltage float64) (float64, error) {
	f, err := r.Fire(p.Speed, voltage)
	if err != nil {
		return 0, err
	}
	needed, err := r.BreakdownVoltage(p)
	if err != nil {
		return 0, err
	}
	return spark.VoltageMargin(f.AvailableVoltage, needed)
}

// WidestGap returns the gap, m, that the coil breaks down at a point at a supply voltage, V, with a share of its own voltage kept back.
func (r *Run) WidestGap(p *airpath.Point, voltage, kept float64) (float64, error) {
	f, err := r.Fire(p.Speed, voltage)
	if err != nil {
		return 0, err
	}
	return spark.WidestGap(f.AvailableVoltage*(1-kept), spark.State{Pressure: p.SparkPressure, Temperature: p.SparkTemperature})
}

// CoilRated reports whether the trim has a coil of which the voltage is known.
func (r *Run) CoilRated() bool { return r.Coil() != nil && r.Coil().RatedCurrent > 0 }

// GapKnown reports whether the trim has a coil of which the voltage is known, and a gap that it is for.
func (r *Run) GapKnown() bool { return r.CoilRated() && r.Trim.Ignition.Gap > 0 }

// LeastVoltageMargin returns the least share of the coil's voltage that the gap leaves at full load at a supply voltage, V, and where; nil where
// none is known.
func (r *Run) LeastVoltageMargin(voltage float64) (least float64, at *boost.Outcome) {
	if !r.GapKnown() {
		return 0, nil
	}
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		if o.Err != nil {
			continue
		}
		if m, err := r.VoltageMargin(&o.Point, voltage); err == nil && (at == nil || m < least) {
			least, at = m, o
		}
	}
	return least, at
}

// A CoilCharge is what a whole dwell makes of the coil at a supply voltage.
type CoilCharge struct {
	Voltage          float64        // supply, V
	Dwell            float64        // s
	Held             bool           // the voltage lies outside the table of dwells, whose end value is taken
	Current          float64        // at the spark, A
	Energy           float64        // stored at the spark, J
	AvailableVoltage float64        // peak secondary voltage, V; 0 when the rating is not stated
	TopSpeed         float64        // highest engine speed at which the whole dwell fits, rad/s
	Err              error          // why there is no dwell
	LeastMargin      float64        // of the voltage margins at full load, with the dwell that fits
	LeastAt          *boost.Outcome // where that is; nil where none is known
}

// CoilCharges returns what the coil gives at the trim's supply voltage and at those of a charging system and of a weak battery, the highest first.
// It needs a coil.
func (r *Run) CoilCharges() []CoilCharge {
	c := r.Coil()
	voltages := SupplyVoltages(r.Trim.Ignition.SupplyVoltage)
	charges := make([]CoilCharge, len(voltages))
	for i, v := range voltages {
		x := &charges[i]
		x.Voltage = v
		x.LeastMargin, x.LeastAt = r.LeastVoltageMargin(v)
		if x.Dwell, x.Held, x.Err = r.Trim.Ignition.DwellAt(v); x.Err != nil {
			continue
		}
		x.Current = c.Current(x.Dwell, v)
		x.Energy, x.AvailableVoltage, x.TopSpeed = c.Energy(x.Current), c.AvailableVoltage(x.Current), c.TopSpeed(x.Dwell)
	}
	return charges
}

// SupplyVoltages returns the voltages, V, at which a coil is computed, the highest first: a charging 12 V system's, a flat battery's, and the
// spec's own; those of a system of several times 12 V likewise.
func SupplyVoltages(own float64) []float64 {
	system := math.Max(1, math.Round(own/13.5))
	voltages := []float64{own, 14 * system, 12 * system, 11 * system}
	slices.Sort(voltages)
	slices.Reverse(voltages)
	return slices.Compact(voltages)
}

// A CoilFiring is what the coil gives at an engine speed.
type CoilFiring struct {
	Speed float64 // rad/s
	Room  float64 // for dwell, from the end of one spark to the coil's next, s
	spark.Firing
	Err error // why it gives none
}

// CoilFirings returns what the coil gives at the run's speeds, at the trim's supply voltage. It needs a coil.
func (r *Run) CoilFirings() []CoilFiring {
	firings := make([]CoilFiring, len(r.Outcomes))
	for i := range r.Outcomes {
		f := &firings[i]
		f.Speed, f.Room = r.Outcomes[i].Speed, r.Coil().DwellRoom(r.Outcomes[i].Speed)
		f.Firing, f.Err = r.Fire(f.Speed, r.Trim.Ignition.SupplyVoltage)
	}
	return firings
}
