package wastegate

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/numeric"
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
		return TorqueTable{}, fmt.Errorf("torque over manifold pressure: torque at full load is %v N m; want more than 0", full)
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

const gravity = 9.80665 // standard acceleration of free fall, m/s² (3rd CGPM, 1901)

// A Car is what the torque has to move, on a level road.
type Car struct {
	Mass                float64 // with driver and fuel m, kg
	Grip                float64 // friction coefficient between tyre and road μ
	RearWeight          float64 // share of the weight on the rear axle at rest w
	RearThrust          float64 // share of the thrust at the rear axle q: 1 rear drive, 0 front drive, between: all-wheel drive
	CentreHeight        float64 // of the centre of mass h, m
	Wheelbase           float64 // b, m
	RollingRadius       float64 // of the driven wheels r, m
	DrivelineEfficiency float64 // wheel torque over engine torque times ratio η
}

// Validate returns an error when a figure is outside its range.
func (c Car) Validate() error {
	switch {
	case !positive(c.Mass):
		return fmt.Errorf("mass of the car is %v kg; want more than 0", c.Mass)
	case !positive(c.Grip):
		return fmt.Errorf("grip is %v; want more than 0", c.Grip)
	case !(c.RearWeight > 0 && c.RearWeight < 1):
		return fmt.Errorf("share of the weight on the rear axle is %v; want more than 0 and less than 1", c.RearWeight)
	case !(c.RearThrust >= 0 && c.RearThrust <= 1):
		return fmt.Errorf("share of the thrust at the rear axle is %v; want 0 to 1", c.RearThrust)
	case !notNegative(c.CentreHeight):
		return fmt.Errorf("height of the centre of mass is %v m; want 0 or more", c.CentreHeight)
	case !positive(c.Wheelbase):
		return fmt.Errorf("wheelbase is %v m; want more than 0", c.Wheelbase)
	case !positive(c.RollingRadius):
		return fmt.Errorf("rolling radius is %v m; want more than 0", c.RollingRadius)
	case !(c.DrivelineEfficiency > 0 && c.DrivelineEfficiency <= 1):
		return fmt.Errorf("driveline efficiency is %v; want more than 0 and at most 1", c.DrivelineEfficiency)
	}
	return nil
}

// GripThrust returns the greatest thrust F of the driven wheels, N, at which neither axle spins.
//
//	rear:  q F = μ (m g w + F h/b)        F = μ m g w/(q − μ h/b), no limit for q ≤ μ h/b
//	front: (1 − q) F = μ (m g (1 − w) − F h/b)    F = μ m g (1 − w)/(1 − q + μ h/b)
//
// The smaller one counts. Thrust acts at the road and everything it works against, inertia and drag, is taken to act at
// the height of the centre of mass, so that F h/b moves from the front axle to the rear. With rear drive alone the front
// limit is m g (1 − w) b/h, where the front wheels leave the road.
//
// Source: Gillespie, Fundamentals of Vehicle Dynamics (1992), ch. 2, traction-limited acceleration (from memory), with
// both axles driven by the same balance. One coefficient for all loads, a locked differential, no downforce.
func (c Car) GripThrust() (float64, error) {
	if err := c.Validate(); err != nil {
		return 0, err
	}
	weight, transfer := c.Mass*gravity*c.Grip, c.Grip*c.CentreHeight/c.Wheelbase
	limit := math.Inf(1)
	if d := c.RearThrust - transfer; d > 0 {
		limit = weight * c.RearWeight / d
	}
	if d := 1 - c.RearThrust + transfer; d > 0 {
		limit = math.Min(limit, weight*(1-c.RearWeight)/d)
	}
	if !positive(limit) {
		return 0, fmt.Errorf("thrust of a car of %v kg is out of all bounds", c.Mass)
	}
	return limit, nil
}

// EngineTorque returns the engine torque T, N m, with which the driven wheels push with a thrust F, N, in a gear of overall ratio i.
//
//	T = F r/(i η)
func (c Car) EngineTorque(thrust, ratio float64) float64 {
	return thrust * c.RollingRadius / (ratio * c.DrivelineEfficiency)
}

// RoadSpeed returns the road speed v, m/s, at an engine speed ω, rad/s, in a gear of overall ratio i.
//
//	v = ω r/i
//
// Source: kinematics of a rolling wheel. No slip: under full thrust the wheels turn some per cent faster than the road goes by.
func (c Car) RoadSpeed(speed, ratio float64) float64 { return speed * c.RollingRadius / ratio }

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
// F is the thrust of GripThrust; ratios are the overall ratios i, gear and final drive, of each gear; rating is the
// gearbox's, N m, 0 where there is none. The torque that speeds up engine and wheels themselves is not taken off: in
// low gears the tyres take somewhat more than this.
func (c Car) GearCaps(ratios []float64, rating float64, table TorqueTable) ([]GearCap, error) {
	thrust, err := c.GripThrust()
	if err != nil {
		return nil, err
	}
	if !notNegative(rating) {
		return nil, fmt.Errorf("gearbox torque rating is %v N m; want 0 or more", rating)
	}
	if table.pressure.IsZero() {
		return nil, errors.New("torque by gear: torque over manifold pressure is not given")
	}
	caps := make([]GearCap, len(ratios))
	for i, ratio := range ratios {
		if !positive(ratio) {
			return nil, fmt.Errorf("overall ratio of gear %d is %v; want more than 0", i+1, ratio)
		}
		g := GearCap{Gear: i + 1, GripTorque: c.EngineTorque(thrust, ratio), Torque: table.full}
		if g.GripTorque < g.Torque {
			g.Torque, g.Cap = g.GripTorque, GripCap
		}
		if rating > 0 && rating < g.Torque {
			g.Torque, g.Cap = rating, GearboxCap
		}
		g.Pressure, g.Held = table.PressureFor(g.Torque)
		caps[i] = g
	}
	return caps, nil
}
