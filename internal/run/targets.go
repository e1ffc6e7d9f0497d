package run

import (
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/wastegate"
)

// Targets are the boosts below full load that a gear takes or the pedal asks for, at each speed of a run.
type Targets struct {
	Run   *Run
	Loads []PartLoad // one an outcome of the run
}

// A PartLoad is the torque of one speed over manifold pressure, up to the run's own point.
type PartLoad struct {
	*boost.Outcome
	Torque    wastegate.TorqueTable
	TorqueErr error // why there is none
	Lowest    LowestBoost
	floor     float64 // manifold pressure that remains with the wastegate as far open as the boost control gets it, Pa absolute
}

// The torque over manifold pressure: from next to no torque to full load, in as many steps.
const (
	lowestPressure = 25e3 // Pa absolute
	pressureSteps  = 40
)

// Targets solves the run's speeds at part load, for the torque over manifold pressure.
func (r *Run) Targets() (*Targets, error) {
	lowest, err := r.LowestBoosts()
	if err != nil {
		return nil, err
	}
	t := &Targets{Run: r, Loads: make([]PartLoad, len(r.Outcomes))}
	err = boost.Each(r.Context, r.Engine, len(t.Loads), func(solver *airpath.Solver, i int) {
		t.Loads[i] = PartLoad{Outcome: &r.Outcomes[i], Lowest: lowest[i]}
		t.Loads[i].solve(r, solver)
	})
	return t, err
}

func (o *PartLoad) solve(r *Run, solver *airpath.Solver) {
	full := &o.Point
	if o.TorqueErr = o.Err; o.TorqueErr != nil {
		return
	}
	o.floor = full.ManifoldPressure // without a compressor the throttle is all there is
	if r.Forced() {
		open, err := WideOpenPoint(solver, o.Speed, r.Trim.Venue.Pressure)
		if o.TorqueErr = err; err != nil {
			return
		}
		o.floor = math.Min(open.ManifoldPressure, full.ManifoldPressure)
		if o.Lowest.Outlet > 0 {
			o.floor = math.Min(r.Trim.Venue.Pressure+o.Lowest.Boost, full.ManifoldPressure)
		}
	}
	var pressures, torques []float64
	low := math.Min(lowestPressure, full.ManifoldPressure/2)
	trials := make([]float64, 0, pressureSteps+1)
	for i := range pressureSteps {
		trials = append(trials, low+(full.ManifoldPressure-low)*float64(i)/pressureSteps)
	}
	if o.floor > low && o.floor < full.ManifoldPressure {
		trials = append(trials, o.floor) // the torque has a bend where the boost control takes over from the throttle
		slices.Sort(trials)
	}
	for _, pm := range trials {
		p, err := solver.Solve(airpath.Demand{Speed: o.Speed, Target: pm, Throttled: true, HeldOutlet: o.Lowest.Outlet, Full: full.ManifoldPressure})
		if err != nil || !came(&p, pm) || len(torques) > 0 && !(p.Torque > torques[len(torques)-1]) || !(p.Torque < full.Torque) {
			continue // the others tell enough
		}
		pressures, torques = append(pressures, pm), append(torques, p.Torque)
	}
	o.Torque, o.TorqueErr = wastegate.NewTorqueTable(append(pressures, full.ManifoldPressure), append(torques, full.Torque))
}

// A Target is what one gear takes, or one pedal position asks for, at one speed.
type Target struct {
	*PartLoad
	Gear      int               // from 1; 0 of a pedal position
	Pedal     float64           // 0 to 1; 0 of a gear
	GearCap   wastegate.GearCap // of a gear
	RoadSpeed float64           // in a gear, m/s
	Pressure  float64           // in the manifold, Pa absolute
	Held      bool              // it is the lowest of the torques computed, below which the throttle has to go
	TargetErr error             // why it is not known
}

// Throttled reports whether the boost control leaves more than is asked for with the wastegate as far open as it gets it, so that the throttle has to
// close.
func (p *Target) Throttled() bool { return p.Pressure < p.floor*(1-sameBoost) }

// Cap returns what caps the torque in the gear. The run's own points stay within the gearbox's rating already.
func (p *Target) Cap() wastegate.Cap {
	if p.GearCap.Cap == wastegate.NoCap && p.Point.Limits.Has(airpath.GearboxTorque) {
		return wastegate.GearboxCap
	}
	return p.GearCap.Cap
}

// A Gear is one gear of the driveline and the engine torque with which the driven wheels spin in it.
type Gear struct {
	Number     int     // from 1
	Ratio      float64 // of the gear
	Overall    float64 // with the final drive
	GripTorque float64 // N m
	RoadSpeed  float64 // at the limiter, m/s
}

// Gears returns the gears of the run's driveline, and the greatest thrust of the driven wheels, N. The trim has to have a car and gears.
func (r *Run) Gears() (gears []Gear, thrust float64, err error) {
	car, line := r.Trim.Car, r.Trim.Driveline
	if thrust, err = car.GripThrust(car.Road()); err != nil {
		return nil, 0, fmt.Errorf("trim %q: car: %w", r.Trim.Name, err)
	}
	for i, g := range line.Overall() {
		gears = append(gears, Gear{i + 1, line.Gears[i], g.Overall, car.EngineTorque(thrust, g), car.RoadSpeed(r.Trim.Engine.Limiter, g.Overall)})
	}
	return gears, thrust, nil
}

// GearTargets returns the targets by speed and gear. The trim has to have a car and gears.
func (t *Targets) GearTargets() ([]*Target, error) {
	trim := t.Run.Trim
	gears := trim.Driveline.Overall()
	all := make([]*Target, 0, len(t.Loads)*len(gears))
	for i := range t.Loads {
		o := &t.Loads[i]
		var caps []wastegate.GearCap
		if o.TorqueErr == nil {
			var err error
			if caps, err = o.Torque.GearCaps(*trim.Car, trim.Car.Road(), gears, trim.Driveline.TorqueLimit); err != nil {
				return nil, fmt.Errorf("trim %q: %w", trim.Name, err)
			}
		}
		for gear := range gears {
			p := &Target{PartLoad: o, Gear: gear + 1, RoadSpeed: trim.Car.RoadSpeed(o.Speed, gears[gear].Overall), TargetErr: o.TorqueErr}
			if o.TorqueErr == nil {
				p.GearCap = caps[gear]
				p.Pressure, p.Held = caps[gear].Pressure, caps[gear].Held && caps[gear].Torque < o.Torque.FullLoad()
			}
			all = append(all, p)
		}
	}
	return all, nil
}

// PedalTargets returns the targets by speed and pedal position, every tenth of it.
func (t *Targets) PedalTargets() []*Target {
	const step = 10 // per cent
	var all []*Target
	for i := range t.Loads {
		o := &t.Loads[i]
		for percent := step; percent <= 100; percent += step {
			p := &Target{PartLoad: o, Pedal: float64(percent) / 100, TargetErr: o.TorqueErr}
			if o.TorqueErr == nil {
				var held bool
				p.Pressure, held, p.TargetErr = o.Torque.PedalPressure(p.Pedal)
				p.Held = held && percent < 100
			}
			all = append(all, p)
		}
	}
	return all
}
