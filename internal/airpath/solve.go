package airpath

import (
	"math"

	"bellmouth/internal/cycle"
	"bellmouth/internal/flame"
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
	rel  cycle.Release
	turn turnOver
	left remainder // residual gas that the last cycle started with
	tied tie       // and how the next one's follows from the air path
	off  float64   // by how much the last cycle leaves other gas than it started with, next to the exhaust
	angles
	doubts     flame.Flags
	anglesHeld bool // at the longest there are
	knocking   Note // of the knock delay

	fullSpeed, fullPressure float64 // of knowFull

	want    float64 // manifold pressure asked for, Pa
	governs Limit   // of the state found
	nearest float64 // highest bound of the relative limits on the way up

	doubtful int // place on the way up from which on the boost may rise again
	risen    int // the boost rises for sure at all places below this one, and does not choke at the last of them

	early   bool // the phasing is at its best, whatever the knock
	guessed bool // the first guess of the air path is there
	endless bool // on the way up the boost did not come to rest

	t3     float64 // trial exhaust temperature
	ca50   float64
	cap    float64 // manifold pressure to which knock or cylinder pressure hold the boost
	mode   phasing
	cycles int
	beat   beat
	// pulseHeld is what there is to say of the pulses.
	pulseHeld Note
	jac       [3][2]float64 // of exhaust temperature, knock and peak pressure over exhaust temperature and the phasing's unknown
}

// NewSolver returns a Solver for the engine.
func (e *Engine) NewSolver() *Solver { return &Solver{e: e, w: settler{e: e}} }

// Tolerances: exhaust temperature relative, so that mass flow and shaft power, which go with its square root and with
// itself, are known to 1e-7; knock integral and peak pressure relative.
const (
	t3Tolerance    = 1e-7
	limitTolerance = 1e-5
	leftTolerance  = 1e-7 // of the gas left from cycle to cycle, next to the exhaust
	maxCycles      = 60

	// A step of the unknowns teaches the Jacobian something when the gas left from cycle to cycle changes by less than this share of it.
	quiet = 0.3
)

// A Demand is what is asked of the engine.
type Demand struct {
	Speed  float64 // rad/s
	Target float64 // manifold pressure, Pa absolute; +Inf for all there is

	// Throttled closes a throttle before the manifold where less is asked for than the engine takes by itself: part load. Without
	// it the throttle is wide open.
	Throttled bool

	// HeldOutlet is the compressor outlet pressure, Pa absolute, that the wastegate's spring holds by itself: at part load the
	// gate stays shut below it, and above it the throttle takes the rest. 0: the gate is wide open at part load.
	HeldOutlet float64

	// Full is the manifold pressure, Pa absolute, that the engine is known to come to at this speed at full load, with a boost target that is none
	// below the venue's pressure. Part load spares itself the solving. 0: not known.
	Full float64

	Near Near // a first guess
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
	if d.Throttled {
		v.knowFull(d.Speed, d.Full)
	}
	v.want = d.Target
	if d.Throttled && v.throttle(d) {
		const choked = 1e-6
		if p := v.point(d.Target); !(p.AirFlow > p.RestrictorFlow*(1-choked)) {
			return p, nil
		}
		// Next to choke the flow does not tell how far the throttle is open. Where all there is comes to no more than is asked for it is wide open.
		full := d
		if full.Throttled = false; e.Compressor == nil {
			full.Target = math.Inf(1)
		}
		if p, err := v.Solve(full); err == nil && p.ManifoldPressure <= d.Target*(1+choked) {
			p.TargetPressure = d.Target
			return p, nil
		}
		v.want = d.Target
		if v.throttle(d) {
			return v.point(d.Target), nil
		}
	}
	if err := v.prepare(d.Speed); err != nil {
		return Point{}, &PointError{Speed: d.Speed, Stage: "charge", Reason: err.Error()}
	}
	v.guessed = v.guess(d.Near)
	p, err := v.quick(d.Target)
	sure, more := false, false
	if err == nil && e.Turbine == nil { // the boost has one way to be, and one limit
		rise, _ := v.w.s.rising(&v.w.t, math.NaN())
		sure = math.Abs(rise) < 1e-6 || limits[v.governs].cycle != nil
	}
	if err == nil && e.Turbine != nil && v.mode != unhelpable {
		sure, more = v.survey(v.asked(d.Target))
	}
	if !sure {
		if err := v.climbWithPulses(d.Target); err != nil {
			return Point{}, err
		}
		p, more = v.point(d.Target), e.Turbine != nil
		if more && v.mode != unhelpable {
			_, more = v.survey(v.asked(d.Target))
		}
	}
	if more {
		v.tellSecond(d.Target, &p)
	}
	return p, nil
}

// asked returns the manifold pressure that stands for the target in a look along the air path alone: where the cycle limits the
// boost, what it leaves.
func (v *Solver) asked(target float64) float64 {
	if limits[v.governs].cycle != nil {
		return v.w.s.pm
	}
	return target
}

// tellSecond notes on a point the second steady state above it, if there is one. The solver's state stays.
func (v *Solver) tellSecond(target float64, p *Point) {
	saved := *v
	if v.w.t.target = target; v.second() {
		p.Upper = v.w.s.pm
		p.Notes |= NoteTwoStates
	}
	*v = saved
}

// quick solves by Newton's method from a guess.
func (v *Solver) quick(target float64) (Point, error) {
	if err := v.balanceWithPulses(target); err != nil {
		return Point{}, err
	}
	p := v.point(target)
	if v.e.Limits.Torque > 0 && p.Torque > v.e.Limits.Torque {
		return v.limitTorque(target, p)
	}
	return p, nil
}

// throttle tries to solve with the throttle taking the rest, and reports whether it did and there is a rest to take. Where there
// is none the engine is at full load.
func (v *Solver) throttle(d Demand) bool {
	if math.IsInf(d.Target, 1) || v.prepare(d.Speed) != nil {
		return false
	}
	v.w.t.throttled, v.w.t.held = true, d.HeldOutlet
	solved := v.balanceWithPulses(d.Target) == nil
	if solved && v.e.Turbine != nil {
		solved, _ = v.survey(d.Target)
	}
	if !solved {
		solved = v.climbWithPulses(d.Target) == nil
	}
	return solved && v.w.s.throttle >= 0
}

// knowFull finds the manifold pressure that counts as full load for the mixture: the venue's or, where the engine does not come to it with the
// throttle open, what it comes to. known is what full load comes to, or 0: whatever more is asked for, the same limits leave.
func (v *Solver) knowFull(speed, known float64) {
	e := v.e
	if v.fullSpeed == speed || !e.Mixture.follows() {
		return
	}
	if known > 0 {
		v.fullSpeed, v.fullPressure = speed, min(known, e.Venue.Pressure)
		return
	}
	target := math.Inf(1)
	if e.Compressor != nil {
		target = e.Venue.Pressure
	}
	v.fullSpeed, v.fullPressure = speed, e.Venue.Pressure
	if p, err := v.Solve(Demand{Speed: speed, Target: target}); err == nil {
		v.fullPressure = min(v.fullPressure, p.ManifoldPressure)
	}
}

// prepare sets what the speed fixes and the first guesses.
func (v *Solver) prepare(speed float64) error {
	r, err := v.e.regimeAt(speed, &v.r)
	if err != nil {
		return err
	}
	v.r = r
	v.w.t = trial{r: &v.r, aspirated: v.e.Compressor == nil}
	v.w.passes, v.cycles = 0, 0
	v.w.slope, v.w.s, v.early = 0, flowState{}, false
	v.w.known = false
	v.risen, v.guessed = 0, false
	v.t3 = r.exhaust
	v.b = breath{residualBurned: v.e.Combustion.Efficiency}
	v.tied, v.angles = r.tied, r.stated
	v.toMode(atBest)
	v.ca50 = v.e.Combustion.BestCA50
	v.cap = math.Inf(1)
	v.jac[rowT3][0] = givenBack
	v.w.x[0] = 0
	return nil
}

// balance solves for one target. What the solver holds from the last one is its first guess.
func (v *Solver) balance(target float64) error {
	tolerance := 1e-4
	var last gaps
	var d move
	stepped := atBest - 1
	for v.cycles < maxCycles {
		if err := v.settleAt(min(target, v.cap), tolerance); err != nil {
			return err
		}
		if err := v.runCycle(); err != nil {
			return err
		}
		now := gaps{v.turn.t3 - v.t3, v.knockRoom(), v.peakRoom()}
		if tolerance <= settleTolerance && math.Abs(now[rowT3]) < t3Tolerance*v.t3 && v.off < leftTolerance && v.limitsSettled(now) {
			v.governs = v.w.active
			if v.mode == cutting {
				v.governs = Knock
				if now[rowPeak] < now[rowKnock] {
					v.governs = CylinderPressure
				}
			}
			return v.believable()
		}
		if stepped == v.mode && v.off < quiet*(math.Abs(d[0])/v.t3+math.Abs(d[1])) {
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
			tolerance = 1e-5 // far from the end: no need to be exact
		}
	}
	return v.fail("EGT and CA50", "air path and cycle do not agree", math.Abs(v.turn.t3-v.t3)/v.t3, v.cycles)
}

// farthestSpeed is how far above its top line a compressor is followed, as a multiple of that line's speed: beyond, similarity is a
// fairy tale, and so is a boost that has run away to there.
const farthestSpeed = 1.5

// believable refuses an answer outside what the parts are known for by more than a note can excuse.
func (v *Solver) believable() error {
	s := &v.w.s
	switch {
	case s.unheld():
		return v.failUnheld()
	case s.clamped:
		return v.fail("air path", "the losses take nearly all of the pressure", 0, 0)
	case v.w.lost():
		return v.fail("compressor", "beyond what map and turbine are known for", 0, 0)
	}
	return nil
}

// settleAt settles the air path for the trial exhaust temperature.
func (v *Solver) settleAt(target, tolerance float64) error {
	v.w.t.target = target
	v.warm()
	if v.cycles == 0 && !v.guessed {
		v.w.start()
	}
	if !v.w.settle(tolerance) {
		residual := max(math.Abs(v.w.s.filling), math.Abs(v.w.s.bounds[v.w.active]))
		if !(residual < 1e3) { // a state so far off that it says nothing
			residual = 0
		}
		return v.fail("air path", "flow and pressure do not agree", residual, v.w.passes)
	}
	return nil
}

// runCycle runs the cycle on what the air path gives and closes its energy balance.
func (v *Solver) runCycle() error {
	e, s := v.e, &v.w.s
	v.cycles++
	ratio := v.r.fuelRatio
	if v.w.t.throttled || len(e.Mixture.Rows) > 0 {
		share := 1.0
		if v.w.t.throttled && e.Mixture.follows() {
			share = s.pm / v.fullPressure
		}
		if err := e.mix(&v.r, s.pm, share); err != nil {
			return v.fail("charge", err.Error(), 0, 0)
		}
	}
	var err error
	v.left = v.tied.remainder(s.p3, v.t3)
	if v.b, err = e.breathe(&v.r, s.flow, s.pm, s.tm, v.left, v.ca50, v.burn); err != nil {
		return v.fail("inlet", err.Error(), 0, 0)
	}
	if v.angles, v.doubts, v.anglesHeld, err = e.anglesOf(&v.r, &v.b, v.ca50); err != nil {
		return v.fail("burn", err.Error(), 0, 0)
	}
	delay, notes, err := e.knockOf(&v.r, &v.b)
	if err != nil {
		return v.fail("knock", err.Error(), 0, 0)
	}
	v.knocking = notes
	v.in = e.input(&v.r, &v.b, v.ca50, v.angles, delay)
	if err = e.model.Run(&v.in, &v.res); err != nil {
		return v.fail("cycle", err.Error(), 0, 0)
	}
	if err = e.model.Release(&v.in, &v.res, s.p3, &v.rel); err != nil {
		return v.fail("exhaust stroke", err.Error(), 0, 0)
	}
	if v.turn, err = e.exhaustAfter(&v.r, &v.b, &v.res, &v.rel, s.tm, v.t3); err != nil {
		return v.fail("exhaust", err.Error(), 0, 0)
	}
	v.off = (math.Abs(v.rel.Mass-v.left.mass) + v.left.mass*math.Abs(v.rel.Temperature/v.left.temperature-1)) / (v.b.air + v.b.fuel)
	v.off = max(v.off, math.Abs(v.r.fuelRatio/ratio-1))
	v.tied = tie{v.rel.Mass * v.rel.Temperature / s.p3, v.rel.Temperature - v.t3}
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
		if limits[v.w.active].side == lower {
			v.mode = unhelpable // the way up tells
			return p, nil
		}
		next := x - f/slope
		v.cap = math.Inf(1)
		if v.mode == cutting {
			v.toMode(retarding)
		}
		v.cycles, v.w.passes = 1, 0 // not 0, which would start the air path anew: the last state is the first guess
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
				v.governs = GearboxTorque
				p.Limit = GearboxTorque
				p.Limits = p.Limits.Without(Target).With(GearboxTorque)
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
