package airpath

import (
	"math"

	"bellmouth/internal/compressor"
	"bellmouth/internal/cycle"
	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/turbine"
)

// A Solver solves the operating points of one engine, one after another. It is not for several goroutines: take one each.
type Solver struct {
	e  *Engine
	w  settler
	r  regime
	b  breath
	in cycle.Input
	// results of the last cycle
	res  cycle.Result
	turn turnOver

	t3     float64 // trial exhaust temperature
	ca50   float64
	cap    float64 // manifold pressure to which knock or cylinder pressure hold the boost
	mode   phasing
	cycles int
	jac    [3][2]float64 // of exhaust temperature, knock and peak pressure over exhaust temperature and the phasing's unknown
}

// NewSolver returns a Solver for the engine.
func (e *Engine) NewSolver() *Solver { return &Solver{e: e, w: settler{e: e}} }

// A phasing is how knock and cylinder pressure are kept within their limits.
type phasing int

const (
	atBest     phasing = iota // best-torque phasing; the limits are kept
	retarding                 // phasing later until they are kept
	cutting                   // latest phasing accepted, boost down until they are kept
	unhelpable                // latest phasing and the wastegate wide open: they are not kept
)

// Rows of the outer Jacobian.
const (
	rowT3 = iota
	rowKnock
	rowPeak
)

// Tolerances: exhaust temperature relative, so that mass flow and shaft power, which go with its square root and with
// itself, are known to 1e-7; knock integral and peak pressure relative.
const (
	t3Tolerance    = 1e-7
	limitTolerance = 1e-5
	maxCycles      = 60
)

// hopeless is the number of cycles after which retarding is given up where the wastegate is wide open or shut: the hotter
// exhaust of a later burn raises the boost there, and what retarding takes off the knock, the boost puts on again.
const hopeless = 16

// A Demand is what is asked of the engine.
type Demand struct {
	Speed  float64 // rad/s
	Target float64 // manifold pressure, Pa absolute; +Inf for all there is
}

// Solve returns the operating point: the boost asked for, or what the governing limit leaves of it. It allocates nothing on
// success unless the mixture strength differs from that of the last point.
//
// Method: the air path is settled for a trial exhaust temperature (see settler), then the cycle is run and gives the exhaust
// temperature anew, until the two agree to 1e-7; knock-limited phasing, or boost, is solved together with it after Broyden.
// An error is a *PointError.
func (v *Solver) Solve(d Demand) (Point, error) {
	e := v.e
	if !(d.Speed > 0 && d.Speed < 5000) || !(d.Target > 0) {
		return Point{}, &PointError{Speed: d.Speed, Stage: "demand", Reason: "engine speed or target is not a positive number"}
	}
	if math.IsInf(d.Target, 1) && e.Compressor != nil {
		return Point{}, &PointError{Speed: d.Speed, Stage: "demand", Reason: "no boost target"}
	}
	if err := v.prepare(d.Speed); err != nil {
		return Point{}, &PointError{Speed: d.Speed, Stage: "charge", Reason: err.Error()}
	}
	if err := v.balance(d.Target); err != nil {
		return Point{}, err
	}
	p := v.point(d.Target)
	if e.Limits.Torque > 0 && p.Torque > e.Limits.Torque {
		return v.limitTorque(d.Target, p)
	}
	return p, nil
}

// prepare sets what the speed fixes and the first guesses.
func (v *Solver) prepare(speed float64) error {
	r, err := v.e.regimeAt(speed, &v.r)
	if err != nil {
		return err
	}
	v.r = r
	v.w.t = trial{r: &v.r}
	v.w.passes, v.cycles = 0, 0
	v.w.known = false
	v.t3 = 1200
	v.b = breath{residualBurned: v.e.Combustion.Efficiency}
	v.toMode(atBest)
	v.ca50 = v.e.Combustion.BestCA50
	v.cap = math.Inf(1)
	v.jac[rowT3][0] = -0.95
	v.w.x[0] = 0
	return nil
}

func (v *Solver) toMode(m phasing) {
	v.mode = m
	// First guesses of how the figures move, per radian of phasing or per unit of ln boost, from the demonstration engine;
	// they only save a step or two.
	switch m {
	case retarding:
		v.jac = [3][2]float64{{v.jac[rowT3][0], 280}, {0, 5.2}, {0, 1.2}}
	case cutting:
		v.jac = [3][2]float64{{v.jac[rowT3][0], 20}, {0, -3.5}, {0, -0.9}}
	}
}

// balance solves for one target. What the solver holds from the last one is its first guess.
func (v *Solver) balance(target float64) error {
	tolerance := 1e-4
	var last [3]float64
	var d [2]float64
	stepped := atBest - 1
	for v.cycles < maxCycles {
		if err := v.settleAt(min(target, v.cap), tolerance); err != nil {
			return err
		}
		if err := v.runCycle(); err != nil {
			return err
		}
		now := [3]float64{v.turn.t3 - v.t3, math.Log(v.e.Combustion.KnockLimit / v.res.KnockIntegral), math.Inf(1)}
		if v.e.Limits.PeakPressure > 0 {
			now[rowPeak] = math.Log(v.e.Limits.PeakPressure / v.res.PeakPressure)
		}
		if tolerance <= settleTolerance && math.Abs(now[rowT3]) < t3Tolerance*v.t3 && v.limitsSettled(now) {
			return nil
		}
		if stepped == v.mode {
			v.broyden(d, &last, &now)
		}
		before := v.mode
		d = v.step(target, &now)
		last, stepped = now, v.mode
		if before != v.mode && before != atBest && v.mode != atBest {
			stepped = atBest - 1 // the unknown is another one now
		}
		tolerance = settleTolerance
		if math.Abs(d[0]) > 30 {
			tolerance = 1e-5
		}
	}
	return v.fail("exhaust temperature and phasing", "air path and cycle do not agree", math.Abs(v.turn.t3-v.t3)/v.t3, v.cycles)
}

// broyden updates the outer Jacobian so that it explains the last step.
func (v *Solver) broyden(d [2]float64, last, now *[3]float64) {
	// Kelvin and radians or ln boost differ in size; weigh them by how far each typically moves.
	const kelvin, other = 1e-2, 10
	w := [2]float64{d[0] * kelvin * kelvin, d[1] * other * other}
	square := d[0]*w[0] + d[1]*w[1]
	if !(square > 1e-16) {
		return
	}
	for row := range v.jac {
		change := now[row] - last[row]
		miss := (change - v.jac[row][0]*d[0] - v.jac[row][1]*d[1]) / square
		if math.Abs(miss) < math.Inf(1) {
			v.jac[row][0] += miss * w[0]
			v.jac[row][1] += miss * w[1]
		}
	}
}

// limitsSettled reports whether knock and peak pressure are where the mode wants them.
func (v *Solver) limitsSettled(now [3]float64) bool {
	least := min(now[rowKnock], now[rowPeak])
	switch v.mode {
	case atBest:
		return least >= -limitTolerance
	case retarding:
		return math.Abs(least) <= limitTolerance
	case cutting:
		return math.Abs(least) <= limitTolerance && v.w.active == Target
	}
	return true
}

// step moves the outer unknowns: the exhaust temperature and, when a limit asks for it, the phasing or the boost. It returns
// how far.
func (v *Solver) step(target float64, now *[3]float64) [2]float64 {
	const largest = 300 // K
	least := min(now[rowKnock], now[rowPeak])
	slope := min(max(v.jac[rowT3][0], -1.6), -0.4)
	v.jac[rowT3][0] = slope
	if v.mode == atBest && least < -limitTolerance && math.Abs(now[rowT3]) < 80 {
		v.toMode(retarding)
		v.ca50 = v.e.Combustion.BestCA50
	}
	if v.mode == retarding && v.cycles > hopeless && (v.w.active == Creep || v.w.active == Spool) {
		v.ca50 = v.e.Combustion.LatestCA50
		if v.w.active == Creep {
			v.mode = unhelpable
		} else {
			v.toMode(cutting)
			v.cap = v.w.s.pm * 0.98
			return v.stepT3(now, 0)
		}
	}
	if v.mode == cutting && v.w.active != Target {
		switch {
		case v.w.active == Creep:
			v.mode = unhelpable
			v.cap = math.Inf(1)
		case least > 0:
			v.toMode(retarding)
			v.cap = math.Inf(1)
		default:
			v.cap = v.w.s.pm
		}
	}
	if v.mode == atBest || v.mode == unhelpable {
		d := min(max(-now[rowT3]/slope, -largest), largest)
		v.t3 += d
		return [2]float64{d, 0}
	}

	d1 := math.Inf(1)
	if v.mode == retarding {
		d1 = math.Inf(-1)
	}
	for _, row := range []int{rowKnock, rowPeak} {
		g := now[row]
		if math.IsInf(g, 1) {
			continue
		}
		a, b := v.jac[rowT3], v.jac[row]
		need := -(g - now[rowT3]*b[0]/a[0]) / (b[1] - a[1]*b[0]/a[0])
		if v.mode == retarding {
			d1 = max(d1, need)
		} else {
			d1 = min(d1, need)
		}
	}
	const largestRetard, largestCut = 0.15, 0.15 // rad; unit of ln boost
	switch v.mode {
	case retarding:
		best, latest := v.e.Combustion.BestCA50, v.e.Combustion.LatestCA50
		d1 = min(max(d1, -largestRetard), largestRetard)
		if !(math.Abs(d1) < 1) {
			d1 = -least // the Jacobian is of no use: a step in the right direction
			v.toMode(retarding)
		}
		if v.ca50+d1 >= latest {
			if v.ca50 == latest {
				if v.e.Compressor == nil || v.w.active == Creep {
					v.mode = unhelpable
				} else {
					v.toMode(cutting)
					v.cap = v.w.s.pm * math.Exp(max(least/3.5, -largestCut))
				}
				return v.stepT3(now, 0)
			}
			d1 = latest - v.ca50
		}
		if d1 < 0 && least < -limitTolerance && v.ca50+d1 <= best {
			if v.w.active == Creep {
				// Later burning makes the exhaust hotter, and with the wastegate wide open that raises the boost: it does
				// not help.
				v.ca50, v.mode = best, unhelpable
				return v.stepT3(now, 0)
			}
			v.toMode(retarding) // the Jacobian is of no use: a step in the right direction
			d1 = min(-least/v.jac[rowKnock][1], latest-v.ca50)
		}
		if v.ca50+d1 <= best {
			d1 = best - v.ca50
			v.ca50, v.mode = best, atBest
		} else if v.ca50+d1 >= latest-1e-12 {
			v.ca50 = latest
		} else {
			v.ca50 += d1
		}
	case cutting:
		d1 = min(max(d1, -largestCut), largestCut)
		if !(math.Abs(d1) < 1) {
			d1 = least / 4
			v.toMode(cutting)
		}
		if v.cap*math.Exp(d1) >= target {
			v.toMode(retarding)
			v.cap = math.Inf(1)
			return v.stepT3(now, 0)
		}
		v.cap *= math.Exp(d1)
	}
	return v.stepT3(now, d1)
}

// stepT3 moves the exhaust temperature as the first row asks, given the move of the other unknown.
func (v *Solver) stepT3(now *[3]float64, d1 float64) [2]float64 {
	a := v.jac[rowT3]
	d := min(max(-(now[rowT3]+a[1]*d1)/a[0], -300), 300)
	v.t3 += d
	return [2]float64{d, d1}
}

// settleAt settles the air path for the trial exhaust temperature.
func (v *Solver) settleAt(target, tolerance float64) error {
	t := &v.w.t
	t.target, t.t3 = target, v.t3
	t.exhaust = gas.Mix(v.r.charge.Unburned, v.r.charge.Burned, v.b.residualBurned)
	t.gammaExh = t.exhaust.Gamma(v.t3)
	if v.cycles == 0 {
		v.w.start()
	}
	if !v.w.settle(tolerance) {
		stage, reason := v.w.complaint()
		return v.fail(stage, reason, max(math.Abs(v.w.s.filling), math.Abs(v.w.s.bounds[v.w.active])), v.w.passes)
	}
	return nil
}

// complaint names what kept the air path from settling.
func (w *settler) complaint() (stage, reason string) {
	s := &w.s
	switch {
	case w.e.Turbine != nil && s.bounds[Creep] < -1e-6:
		return "wastegate", "wide open it passes too little and the boost runs away, beyond what map and turbine are known for"
	case s.bounds[Choke] < 0:
		return "compressor", "the engine takes more than the compressor passes at any boost"
	case w.e.Compressor != nil && !s.shaftOK:
		return "turbine", "no expansion ratio drives the compressor"
	case s.bounds[Surge] < 0:
		return "compressor", "in surge at any boost"
	case s.bounds[ShaftSpeed] < 0:
		return "compressor", "over its speed limit at any boost"
	case s.bounds[Injector] < 0:
		return "injector", "too small at any boost"
	}
	return "air path", "flow and pressure do not agree"
}

// runCycle runs the cycle on what the air path gives and closes its energy balance.
func (v *Solver) runCycle() error {
	e, s := v.e, &v.w.s
	v.cycles++
	var err error
	if v.b, err = e.breathe(&v.r, s.flow, s.p3, v.t3, s.tm, v.ca50); err != nil {
		return v.fail("inlet", err.Error(), 0, 0)
	}
	v.in = cycle.Input{
		Speed: v.r.speed, Unburned: v.r.charge.Unburned, Burned: v.r.charge.Burned,
		Mass: v.b.air + v.b.fuel + v.b.residual, InitialBurned: v.b.initialBurned, FinalBurned: v.b.finalBurned,
		Temperature: v.b.temperature, CA50: v.ca50, BurnAngle: v.r.burnAngle, Octane: e.Fuel.KnockOctane(),
	}
	if err = e.model.Run(&v.in, &v.res); err != nil {
		return v.fail("cycle", err.Error(), 0, 0)
	}
	if v.turn, err = e.exhaustAfter(&v.r, &v.b, &v.res, s.pm, s.p3, s.tm, v.t3); err != nil {
		return v.fail("exhaust", err.Error(), 0, 0)
	}
	return nil
}

func (v *Solver) fail(stage, reason string, residual float64, steps int) error {
	return &PointError{Speed: v.r.speed, Stage: stage, Reason: reason, Residual: residual, Steps: steps}
}

// limitTorque lowers the boost until the gearbox's torque is kept, by secant steps on the logarithms.
func (v *Solver) limitTorque(target float64, p Point) (Point, error) {
	cycles, passes := p.Cycles, p.Passes
	limit := v.e.Limits.Torque
	x, f := math.Log(p.ManifoldPressure), math.Log(p.Torque/limit)
	slope := 1.15 // torque rises a little faster than manifold pressure, since friction does not
	for range 20 {
		if v.w.active == Creep {
			p.Notes |= NoteTorqueUnmet
			p.Limits = p.Limits.With(GearboxTorque)
			return p, nil
		}
		next := x - f/slope
		v.cap = math.Inf(1)
		if v.mode == cutting {
			v.toMode(retarding)
		}
		v.cycles, v.w.passes = 0, 0
		v.cycles = 1 // keeps the last state as the first guess
		if err := v.balance(math.Exp(next)); err != nil {
			return Point{}, err
		}
		p = v.point(target)
		cycles += v.cycles - 1
		passes += v.w.passes
		p.Cycles, p.Passes = cycles, passes
		g := math.Log(p.Torque / limit)
		if math.Abs(g) < 1e-6 || (g < 0 && p.Limit != Target) {
			if math.Abs(g) < 1e-6 {
				p.Limit = GearboxTorque
				p.Limits = p.Limits.With(GearboxTorque)
			}
			return p, nil
		}
		if s := (g - f) / (next - x); s > 0.2 && s < 5 {
			slope = s
		}
		x, f = next, g
	}
	return Point{}, v.fail("gearbox torque", "no boost gives the torque allowed", math.Abs(f), v.cycles)
}

// point assembles what the solver has found.
func (v *Solver) point(target float64) Point {
	e, s, r := v.e, &v.w.s, &v.r
	vd := e.Cylinder.Displacement()
	p := Point{
		Speed: r.speed, TargetPressure: target,
		AirFlow: s.flow, FuelFlow: s.flow * r.fuelRatio, ExhaustFlow: s.exhaustFlow,
		Lambda: r.lambda, AirFuelRatio: r.charge.AirFuelRatio,
		InletPressure: s.p0, RestrictorFlow: s.maxFlow,
		CompressorInlet: s.p1, CompressorOutlet: s.p2, OutletTemperature: s.t2, PressureRatio: s.p2 / s.p1,
		CorrectedFlow: s.corrected, Compressor: s.op, ShaftSpeed: s.shaft, CompressorPower: s.power,
		ManifoldPressure: s.pm, ManifoldTemperature: s.tm, CoolerLoss: s.p2 - s.pm,
		CoolerHeat:           s.flow * (e.air.Enthalpy(s.t2) - e.air.Enthalpy(s.tm)),
		VolumetricEfficiency: s.flow * e.air.GasConstant() * s.tm / (s.pm * r.swept),
		ResidualFraction:     v.b.residual / v.in.Mass, ChargeTemperature: v.b.temperature,
		TurbineInletPressure: s.p3, TurbineInletTemperature: v.t3, TurbineOutletPressure: s.p4, TailpipeTemperature: s.tailpipe,
		ExpansionRatio: s.p3 / s.p4, WastegateMaxFlow: s.wastegateMax,
		IMEP: v.turn.gross / vd, PMEP: v.turn.pumping / vd,
		PeakPressure: v.res.PeakPressure, PeakAngle: v.res.PeakAngle, CA50: v.ca50, BurnStart: v.res.BurnStart, BurnAngle: r.burnAngle,
		KnockIntegral: v.res.KnockIntegral, PeakTemperature: v.res.PeakTemperature, EndGasPeak: v.res.EndGasPeak,
		CylinderHeat: v.turn.cylinder * r.cycles, PortHeat: v.turn.port * r.cycles, FreshHeat: v.turn.fresh * r.cycles,
		ExhaustBurned: v.b.residualBurned, FuelPerCycle: v.b.fuel,
		Notes: r.held, Cycles: v.cycles, Passes: v.w.passes,
	}
	if v.b.coolingCut {
		p.Notes |= NoteCoolingCut
	}
	p.FMEP = e.Friction.MeanEffectivePressure(p.PeakPressure, r.pistonUp)
	p.BMEP = p.IMEP - p.PMEP - p.FMEP
	p.Torque = geometry.Torque(p.BMEP, e.displaced)
	p.Power = p.Torque * r.speed
	if p.Power > 0 {
		p.Consumption = p.FuelFlow / p.Power
	}
	p.Residual = max(math.Abs(s.filling), math.Abs(v.turn.t3-v.t3)/v.t3)
	v.addParts(&p)
	p.Energy = v.energy(&p)
	v.addLimits(&p)
	return p
}

// addParts adds the figures of the parts that an engine may or may not have.
func (v *Solver) addParts(p *Point) {
	e, s := v.e, &v.w.s
	if e.Restrictor != nil {
		p.ThroatMach = e.choke.ThroatMach(s.flow * e.Venue.Pressure / s.p0)
	}
	if e.Cooler != nil {
		if _, held := e.Cooler.OutletTemperature(s.flow, s.t2); held {
			p.Notes |= NoteCoolerHeld
		}
	}
	if e.Turbine != nil {
		op := s.turbine
		p.TurbineEfficiency, p.BladeSpeedRatio = op.Efficiency, op.BladeSpeedRatio
		p.TurbineFlow, p.TurbinePower = op.MassFlow, op.Power
		p.TurbineWork = op.MassFlow * op.SpecificWork
		p.WastegateFlow = s.exhaustFlow - op.MassFlow
		if math.Abs(p.WastegateFlow) < 1e-6*s.exhaustFlow {
			p.WastegateFlow = 0 // shut: what is left is the tolerance of the solution
		}
		p.WastegateFraction = p.WastegateFlow / s.exhaustFlow
		if op.EfficiencyHeld {
			p.Notes |= NoteTurbineHeld
		}
		if imbalance := math.Abs(op.Power-s.power) / max(s.power, 1); s.power > 1 {
			p.Residual = max(p.Residual, imbalance)
		}
		if e.Wastegate != nil {
			p.WastegateLift, _ = e.Wastegate.LiftFor(turbine.Nozzle{
				Pressure: s.p3, Temperature: v.t3, OutletPressure: s.p4, Gamma: v.w.t.exhaust.Gamma(v.t3),
				GasConstant: v.w.t.exhaust.GasConstant(),
			}, p.WastegateFlow)
		}
	}
	if e.Compressor != nil {
		for _, n := range []struct {
			region compressor.Region
			note   Note
		}{
			{compressor.BelowLowestLine, NoteBelowLowestLine}, {compressor.AboveTopLine, NoteAboveTopLine},
			{compressor.PastChoke, NotePastChoke}, {compressor.PastSurge, NotePastSurge},
		} {
			if s.op.Region&n.region != 0 {
				p.Notes |= n.note
			}
		}
	}
	if e.Injection != nil {
		p.RailDifference = e.Injection.difference(e.Venue.Pressure, s.pm)
		split, err := e.Injection.Staging.Split(p.FuelPerCycle, e.Injection.conditions(v.r.speed, max(p.RailDifference, 1)))
		if err == nil {
			p.Injection = split
		}
		if split.Surplus > 0 {
			p.Notes |= NoteShortPulse
		}
		if split.Primary.DeadTimeHeld || split.Secondary.DeadTimeHeld {
			p.Notes |= NoteDeadTimeHeld
		}
	}
}

// addLimits names the governing limit and the others that bind.
func (v *Solver) addLimits(p *Point) {
	const slack = 1e-4
	s := &v.w.s
	p.Limit = v.w.active
	least := min(math.Log(v.e.Combustion.KnockLimit/v.res.KnockIntegral), math.Inf(1))
	peak := math.Inf(1)
	if v.e.Limits.PeakPressure > 0 {
		peak = math.Log(v.e.Limits.PeakPressure / v.res.PeakPressure)
	}
	if v.mode != atBest {
		if least < slack {
			p.Limits = p.Limits.With(Knock)
		}
		if peak < slack {
			p.Limits = p.Limits.With(CylinderPressure)
		}
	}
	if v.mode == cutting {
		p.Limit = Knock
		if peak < least {
			p.Limit = CylinderPressure
		}
	}
	if v.w.active == Creep && s.bounds[Restrictor] < -slack {
		p.Limit = Restrictor
		p.Notes |= NoteOverpulled
	}
	for l := range Limit(boundCount) {
		if l == Target {
			continue
		}
		if l == Atmosphere && v.e.Compressor != nil {
			continue
		}
		if s.bounds[l] < slack {
			p.Limits = p.Limits.With(l)
		}
	}
	p.Limits = p.Limits.With(p.Limit)
	if v.w.active == Creep {
		if s.bounds[ShaftSpeed] < -slack {
			p.Notes |= NoteSpeedUnmet
		}
		if s.bounds[Injector] < -slack {
			p.Notes |= NoteInjectorUnmet
		}
	}
	if v.mode == unhelpable {
		if least < -slack {
			p.Notes |= NoteKnockUnmet
		}
		if peak < -slack {
			p.Notes |= NotePeakPressureUnmet
		}
	}
}
