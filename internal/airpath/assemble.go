package airpath

import (
	"math"

	"bellmouth/internal/compressor"
	"bellmouth/internal/flame"
	"bellmouth/internal/friction"
	"bellmouth/internal/geometry"
)

// Where the charge is shut in its pressure lies between these shares of the manifold's in engines whose filling and inlet closing were measured
// on the same engine: tuned runners can ram a fifth more in. Common practice, no source.
const (
	mostRam   = 1.2
	leastFill = 0.8
)

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
		ManifoldPressure: s.pm, ManifoldTemperature: s.tm, CoolerLoss: s.p2 - s.pm - s.throttle, ThrottleLoss: s.throttle,
		CoolerHeat:           s.flow * (e.air.Enthalpy(s.t2) - e.air.Enthalpy(s.tm)),
		VolumetricEfficiency: s.flow * e.air.GasConstant() * s.tm / (s.pm * r.swept),
		ResidualFraction:     v.b.residual / v.in.Mass, ResidualTemperature: v.left.temperature, ChargeTemperature: v.b.temperature,
		ClosingRatio: v.b.closes, ValveTemperature: v.turn.valve,
		TurbineInletPressure: s.p3, TurbineInletTemperature: v.t3, TurbineOutletPressure: s.p4, TailpipeTemperature: s.tailpipe,
		ExpansionRatio: s.p3 / s.p4, WastegateMaxFlow: s.wastegateMax,
		IMEP: v.turn.gross / vd, PMEP: v.turn.pumping / vd,
		PeakPressure: v.res.PeakPressure, PeakAngle: v.res.PeakAngle, CA50: v.ca50, BurnStart: v.res.BurnStart, BurnAngle: v.burn, IgnitionDelay: v.delay,
		SparkAngle: v.in.SparkAngle, SparkPressure: v.res.SparkPressure, SparkTemperature: v.res.SparkTemperature,
		KnockIntegral: v.res.KnockIntegral, KnockOctane: v.in.Knock.Octane(), PeakTemperature: v.res.PeakTemperature, EndGasPeak: v.res.EndGasPeak,
		CylinderHeat: v.turn.cylinder * r.cycles, PortHeat: v.turn.port * r.cycles, FreshHeat: v.turn.fresh * r.cycles,
		ExhaustBurned: v.b.residualBurned, FuelPerCycle: v.b.fuel,
		Pulse: v.w.t.pulse, Notes: r.held | r.mixtureIs | v.knocking | v.pulseHeld, Cycles: v.cycles, Passes: v.w.passes,
	}
	if v.b.coolingCut {
		p.Notes |= NoteCoolingCut
	}
	if v.b.closes > mostRam {
		p.Notes |= NoteClosingHigh
	}
	if v.b.closes < leastFill {
		p.Notes |= NoteClosingLow
	}
	if v.doubts&(flame.PhiOutside|flame.ResidualOutside|flame.TemperatureOutside) != 0 {
		p.Notes |= NoteFlame
	}
	if v.anglesHeld {
		p.Notes |= NoteAngleLongest
	}
	v.addFriction(&p)
	p.BMEP = p.IMEP - p.PMEP - p.FMEP
	p.Torque = geometry.Torque(p.BMEP, e.displaced)
	p.Power = p.Torque * r.speed
	if p.Power > 0 {
		p.Consumption = p.FuelFlow / p.Power
	} else {
		p.Notes |= NoteNoTorque
	}
	p.Residual = max(math.Abs(s.filling), math.Abs(v.turn.t3-v.t3)/v.t3)
	v.addParts(&p)
	p.Energy = v.energy(&p)
	v.addLimits(&p)
	return p
}

// addFriction adds the friction, and where it is more than its model was fitted to.
func (v *Solver) addFriction(p *Point) {
	state := v.e.frictionState(p, p.PeakPressure)
	p.FMEP = v.e.friction.MeanEffectivePressure(state)
	p.Notes |= FrictionNotes(v.e.friction.Beyond(state))
}

// FrictionNotes returns the remarks on a friction that lies beyond what its model was fitted to.
func FrictionNotes(beyond friction.Beyond) Note {
	var notes Note
	for _, n := range [...]struct {
		beyond friction.Beyond
		note   Note
	}{
		{friction.SpeedBeyond, NoteFrictionSpeed}, {friction.BoostBeyond, NoteFrictionBoost}, {friction.PistonHeld, NoteFrictionHeld},
	} {
		if beyond&n.beyond != 0 {
			notes |= n.note
		}
	}
	return notes
}

// frictionState returns what the friction depends on at a point, with a peak pressure that may be one cylinder's own.
func (e *Engine) frictionState(p *Point, peakPressure float64) friction.State {
	return e.frictionAt(p.Speed, p.ManifoldPressure, peakPressure)
}

func (e *Engine) frictionAt(speed, pm, peakPressure float64) friction.State {
	return friction.State{Speed: speed, ManifoldPressure: pm, AmbientPressure: friction.StandardPressure, PeakPressure: peakPressure}
}

// addParts adds the figures of the parts that an engine may or may not have.
func (v *Solver) addParts(p *Point) {
	e, s := v.e, &v.w.s
	const lossHolds = 0.1 // share of the pressure up to which Δp = k m² T/p holds
	if p.CoolerLoss > lossHolds*s.p2 || e.Venue.Pressure-s.p0 > lossHolds*e.Venue.Pressure || s.p4-e.Venue.Pressure > s.p4/3 {
		p.Notes |= NoteLossLarge
	}
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
			p.WastegateLift, _ = e.Wastegate.LiftFor(s.nozzle, p.WastegateFlow)
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
	s.bounds[GearboxTorque] = math.Inf(1)
	if v.e.Limits.Torque > 0 {
		s.bounds[GearboxTorque] = math.Log(v.e.Limits.Torque / p.Torque)
	}
	s.bounds[Knock], s.bounds[CylinderPressure] = v.knockRoom(), v.peakRoom()
	p.Limit = v.governs
	least := limits[v.governs].side == lower // there is no less boost than this
	rise, _ := s.leastUpper(&v.w.t, math.NaN())
	shut := v.governs == Spool && s.bounds[Spring] < -slack && rise < -slack // the spring keeps it from opening, though it should
	for l := range limitCount {
		entry := &limits[l]
		if entry.side == apart || l == Target {
			continue
		}
		if l == Spring && v.governs != Spring && !shut && s.wastegate < slack*s.exhaustFlow && s.pm <= v.w.t.target*(1+slack) {
			continue // the valve is to stay shut
		}
		if s.bounds[l] < slack && !(v.mode == atBest && (l == Knock || l == CylinderPressure)) {
			p.Limits = p.Limits.With(l)
		}
		if !(s.bounds[l] < -slack) {
			continue
		}
		if least && entry.passage {
			p.Limit = l
		}
		if v.mode == unhelpable || least || shut {
			p.Notes |= entry.unmet
		}
	}
	if p.Limit == Spring && s.bounds[Actuator] < slack && s.pm < v.w.t.target*(1-slack) {
		p.Limit = Actuator // it lets the valve open as far as the stroke goes, or as the spring lets it: what is asked for is more
	}
	if v.e.Wastegate == nil { // nothing to open or shut: what the turbine gives is what there is
		if p.Limit == Creep {
			p.Limit = Spool
		}
		p.Limits = p.Limits.Without(Creep)
	}
	if v.w.t.throttled {
		p.Limit = Throttle
		p.Limits = p.Limits.Without(Creep).Without(Spool).Without(Atmosphere)
	}
	p.Limits = p.Limits.With(p.Limit)
}
