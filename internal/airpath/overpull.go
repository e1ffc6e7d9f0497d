package airpath

import "bellmouth/internal/compressor"

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
	AtTarget          bool // the boost asked for is reached there, and the wastegate opens; else the turbine's power ends
	KnockIntegral     float64
	KnockUnmet        bool // over its limit even at the latest phasing
}

// Overpull returns the state that the last point solved would reach with the wastegate shut: further up the same way, the flow that of the
// choked throat, to where the compressor takes all the power the turbine gives or the boost asked for is reached. The burn is as late as
// knock asks for.
// The last point has to be one that the restrictor limits; no such state, or one that is not found, is a *PointError.
func (v *Solver) Overpull() (Overpull, error) {
	if v.e.Restrictor == nil || v.e.Turbine == nil || v.w.t.throttled || !(v.w.s.bounds[Restrictor] < 1e-6) {
		return Overpull{}, v.fail("restrictor", "does not limit the last point", 0, 0)
	}
	saved := *v
	defer func() { *v = saved }()
	v.w.t.shut, v.w.t.target = true, v.want
	v.w.s.bounds[Target] = targetBound(v.e, &v.w.t, &v.w.s)
	here := v.remember()
	v.jac = retardSlopes
	const beside = 0.3     // the exhaust gets hotter on the way, and the shut wastegate's boost higher
	const tolerance = 3e-5 // of the exhaust temperature: the shaft speed to a hundredth of what is printed
	if a, b, found := v.ahead(here); here.rise > 0 && found && v.secants(a, b, beside, tolerance) {
		_, by := v.rising()
		v.name(by)
	} else if here.rise > 0 {
		v.goTo(&here)
		a, b, found, err := v.next(here, 1)
		switch {
		case err != nil:
			return Overpull{}, err
		case !found:
			return Overpull{}, v.fail("restrictor", "no state with the wastegate shut", 0, 0)
		}
		if err := v.rest(a, b); err != nil {
			return Overpull{}, err
		}
	}
	s := &v.w.s
	return Overpull{
		ShaftSpeed: s.shaft, CompressorInlet: s.p1, PressureRatio: s.p2 / s.p1, OutletTemperature: s.t2, ManifoldPressure: s.pm,
		AboveTopLine: s.op.Region&compressor.AboveTopLine != 0,
		OverSpeed:    s.bounds[ShaftSpeed] < 0, PastSurge: s.bounds[Surge] < 0, PastChoke: s.op.Region&compressor.PastChoke != 0,
		AtTarget: v.governs == Target, KnockIntegral: v.res.KnockIntegral,
		KnockUnmet: v.knockRoom() < -limitsKept*stepTolerance, // more than agree leaves where a later burn keeps it
	}, nil
}
