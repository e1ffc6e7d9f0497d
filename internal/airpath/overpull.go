package airpath

import (
	"math"

	"bellmouth/internal/compressor"
)

// An Overpull is what a choked restrictor does to the turbocharger when the wastegate is held shut because the boost asked for
// is out of reach: the same air, but sucked at harder, hotter, and with the shaft faster.
type Overpull struct {
	ShaftSpeed        float64 // rad/s
	CompressorInlet   float64 // pressure, Pa
	PressureRatio     float64
	OutletTemperature float64 // of the compressor, K
	ManifoldPressure  float64 // Pa
	AboveTopLine      bool    // of the map: the speed is by similarity, and where the wheel chokes is not known
	OverSpeed         bool    // above the shaft's speed limit or the map's top line
	PastSurge         bool
	PastChoke         bool // where the map ends; the compressor would stall the shaft's rise somewhere here
}

// Overpull returns the state that the last point solved would reach with the wastegate shut: the flow that of the choked throat,
// the pressure behind it such that the compressor takes all the power the turbine gives. Phasing stays as it is.
// The last point has to be one that the restrictor limits; no such state, or one that is not found, is a *PointError.
func (v *Solver) Overpull() (Overpull, error) {
	if v.e.Restrictor == nil || v.e.Turbine == nil || !(v.w.s.bounds[Restrictor] < 1e-6) {
		return Overpull{}, v.fail("restrictor", "does not limit the last point", 0, 0)
	}
	saved := *v
	defer func() { *v = saved }()
	v.w.known, v.w.active = false, Spool
	for range 20 {
		v.w.t.t3 = v.t3
		if !v.w.newton(settleTolerance) || v.w.s.bounds[Restrictor] > 1e-6 {
			return Overpull{}, v.fail("restrictor", "no state with the wastegate shut", math.Abs(v.w.s.filling), v.w.passes)
		}
		if err := v.runCycle(); err != nil {
			return Overpull{}, err
		}
		if change := v.turn.t3 - v.t3; math.Abs(change) > 1e-5*v.t3 {
			v.t3 += change
			continue
		}
		s := &v.w.s
		return Overpull{
			ShaftSpeed: s.shaft, CompressorInlet: s.p1, PressureRatio: s.p2 / s.p1, OutletTemperature: s.t2, ManifoldPressure: s.pm,
			AboveTopLine: s.op.Region&compressor.AboveTopLine != 0,
			OverSpeed:    s.bounds[ShaftSpeed] < 0, PastSurge: s.bounds[Surge] < 0, PastChoke: s.bounds[Choke] < 0,
		}, nil
	}
	return Overpull{}, v.fail("restrictor", "no agreement with the wastegate shut", math.Abs(v.turn.t3-v.t3)/v.t3, v.cycles)
}
