package wastegate

import (
	"errors"
	"fmt"

	"bellmouth/internal/gearing"
	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

// A TorqueTable is the engine's torque over manifold pressure at one speed, up to full load.
type TorqueTable struct {
	pressure numeric.Curve // over torque
	full     float64
}

// NewTorqueTable returns a table of torques, N m, over manifold pressures, Pa absolute, the last of them at full load. Both have to
// rise from point to point, two points at least, and the last torque has to be above 0.
func NewTorqueTable(pressures, torques []float64) (TorqueTable, error) {
	switch {
	case len(pressures) != len(torques):
		return TorqueTable{}, fmt.Errorf("torque over manifold pressure: %d pressures for %d torques", len(pressures), len(torques))
	case len(pressures) < 2:
		return TorqueTable{}, errors.New("torque over manifold pressure: want two points at least")
	}
	for i, p := range pressures {
		if !positive(p) || i > 0 && !(p > pressures[i-1]) {
			return TorqueTable{}, fmt.Errorf("torque over manifold pressure: pressure of point %d is %v Pa; want them above 0 and rising", i+1, p)
		}
	}
	full := torques[len(torques)-1]
	if !(full > 0) {
		return TorqueTable{}, fmt.Errorf("torque over manifold pressure: torque at full load is %s; want more than 0",
			units.Rounded(full, units.Torque, "N m", 0))
	}
	curve, err := numeric.NewCurve(torques, pressures)
	if err != nil {
		return TorqueTable{}, fmt.Errorf("torque over manifold pressure, by torque: %w", err)
	}
	return TorqueTable{curve, full}, nil
}

// FullLoad returns the torque of the table's last point, N m.
func (t TorqueTable) FullLoad() float64 { return t.full }

// PressureFor returns the manifold pressure pm, Pa absolute, that gives a torque, N m, and whether the torque lies outside
// the table, whose end was used.
//
//	pm(T), monotone cubic through the table's points by torque
func (t TorqueTable) PressureFor(torque float64) (pressure float64, held bool) {
	return t.pressure.At(torque)
}

// PedalPressure returns the manifold pressure, Pa absolute, that a pedal position from 0 to 1 asks for, and whether
// the torque asked for lies below the table, whose lowest pressure was used: the throttle has to do the rest.
//
//	pm(T),  T = pedal · full-load torque
//
// The law is linear in torque, so that the pedal's travel means the same at any speed. Source: common practice, no source.
func (t TorqueTable) PedalPressure(pedal float64) (pressure float64, held bool, err error) {
	if !(pedal >= 0 && pedal <= 1) {
		return 0, false, fmt.Errorf("pedal is at %v; want 0 to 1", pedal)
	}
	if t.pressure.IsZero() {
		return 0, false, errors.New("pedal: torque over manifold pressure is not given")
	}
	pressure, held = t.PressureFor(pedal * t.full)
	return pressure, held, nil
}

// A Cap is what caps the torque in a gear.
type Cap int

// The caps of torque.
const (
	NoCap      Cap = iota // full load stays within both
	GripCap               // the tyres
	GearboxCap            // the gearbox's rating
)

// A GearCap is the torque and the manifold pressure that one gear takes.
type GearCap struct {
	Gear       int     // 1 for the first ratio given
	GripTorque float64 // engine torque at which the driven wheels spin, N m
	Torque     float64 // accepted: the least of grip, gearbox and full load, N m
	Cap        Cap
	Pressure   float64 // manifold pressure that gives Torque, Pa absolute
	Held       bool    // Torque lies below the table, whose lowest pressure was used: boost alone cannot come down to it
}

// GearCaps returns, gear by gear, the torque that grip and gearbox take and the manifold pressure for it.
//
//	T = min(F r/(i η), gearbox rating, full load);  pm(T)
//
// F is the thrust at which the driven wheels spin; rating is the gearbox's, N m, 0 where there is none. The torque that speeds up engine and wheels
// themselves is not taken off: in low gears the tyres take somewhat more than this.
func (t TorqueTable) GearCaps(car gearing.Car, road gearing.Road, gears []gearing.Gear, rating float64) ([]GearCap, error) {
	thrust, err := car.GripThrust(road)
	if err != nil {
		return nil, err
	}
	if !notNegative(rating) {
		return nil, fmt.Errorf("gearbox torque rating is %v N m; want 0 or more", rating)
	}
	if t.pressure.IsZero() {
		return nil, errors.New("torque by gear: torque over manifold pressure is not given")
	}
	caps := make([]GearCap, len(gears))
	for i, gear := range gears {
		if err := gear.Validate(); err != nil {
			return nil, fmt.Errorf("gear %d: %w", i+1, err)
		}
		g := GearCap{Gear: i + 1, GripTorque: car.EngineTorque(thrust, gear), Torque: t.full}
		if g.GripTorque < g.Torque {
			g.Torque, g.Cap = g.GripTorque, GripCap
		}
		if rating > 0 && rating < g.Torque {
			g.Torque, g.Cap = rating, GearboxCap
		}
		g.Pressure, g.Held = t.PressureFor(g.Torque)
		caps[i] = g
	}
	return caps, nil
}
