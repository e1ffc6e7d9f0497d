package airpath

import (
	"fmt"
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/pulse"
	"bellmouth/internal/turbine"
)

// Pulses are what turns the blowdown of the cylinders into the pulses that drive the turbine.
type Pulses struct {
	Entries int     // of one turbine's housing, each with its share of the nozzle and of the cylinders
	Volume  float64 // between the exhaust valves and the nozzles, of the whole engine, m³
}

// pulsePortLoss is the share of the exhaust's sensible enthalpy that the walls take before the turbine, as far as the pulses are concerned: only
// their shape hangs on it. Common practice, no source.
const pulsePortLoss = 0.08

// pulseModel makes the model of one turbine entry. Where the cylinders do not share out evenly, an entry has the next whole number of
// them, firing evenly, with nozzle and volume in proportion. It returns how much larger than in truth the entry is then.
func (s *Setup) pulseModel() (m *pulse.Model, larger float64, err error) {
	p := s.Pulses
	if !(p.Entries == 1 || p.Entries == 2) {
		return nil, 0, &SetupError{fmt.Sprintf("%d entries of a turbine; want 1 or 2", p.Entries)}
	}
	each := float64(s.Cylinders) / float64(p.Entries*s.Turbine.Count)
	whole := math.Ceil(each - 1e-9)
	loss := pulsePortLoss
	if s.Heat.PortLossGiven {
		loss = s.Heat.PortLoss
	}
	m, err = pulse.New(pulse.Config{
		Cylinder: s.Cylinder, Cylinders: int(whole), Volume: p.Volume * whole / float64(s.Cylinders), PortLoss: loss,
		Opens: s.Valves.ExhaustOpeningAngle(), Closes: 2*math.Pi + s.Valves.ExhaustCloses, EffectiveArea: s.Valves.ExhaustFlowArea,
	})
	return m, whole / each, err
}

// A beat is what a Solver knows of the pulses.
type beat struct {
	from   pulse.Start
	result pulse.Result
}

// left returns what there is to say of the last pulses solved for.
func (b *beat) left(known bool) Note {
	switch {
	case !known:
		return NotePulsesUnknown
	case b.result.Residual > pulseTolerance:
		return NotePulsesUnsettled
	}
	return 0
}

// Rounds in which factors of the pulses and operating point are brought together, tries to follow them half of the way, and the
// difference of a factor that is left.
const (
	pulseRounds    = 10
	pulseHalvings  = 4
	pulseTolerance = 1e-4
)

// balanceWithPulses solves for one target with the pulses that its own state gives: the air path is solved with the factors of the last state,
// which are then taken anew from the cylinder's state at exhaust valve opening, until they stay. Where no pulses can be told the turbine
// is driven by the mean flow, and the point says so. The rounds go by Anderson's method of depth 2 on the logarithms of the factors at
// the expansion ratio of the first.
func (v *Solver) balanceWithPulses(target float64) error {
	v.w.t.pulse, v.pulseHeld = turbine.Pulse{}, 0
	if err := v.balance(target); err != nil || v.e.pulse == nil {
		return err
	}
	cycles := v.cycles
	v.beat.from = pulse.Start{}
	var reference float64
	var held, image, miss [2]float64 // ln of the factors, at the reference
	var past secant
	for round := 1; ; round++ {
		found, ok := v.pulses()
		if v.pulseHeld = v.beat.left(ok); !ok {
			found.Flow, found.Power = 1, 1
		}
		if round == 1 {
			reference = found.ExpansionRatio
		}
		var used turbine.Pulse
		used.Flow, used.Power = v.w.t.pulse.Factors(found.ExpansionRatio)
		if math.Abs(found.Flow-used.Flow) < pulseTolerance && math.Abs(found.Power-used.Power) < pulseTolerance {
			break
		}
		if round > pulseRounds {
			v.pulseHeld |= NotePulsesUnsettled
			break
		}
		weight := turbine.PulseWeight(reference, found.ExpansionRatio)
		image = [2]float64{math.Log(found.Flow) / weight, math.Log(found.Power) / weight}
		miss = [2]float64{image[0] - held[0], image[1] - held[1]}
		next := past.next(round, image, miss)
		spent, err := v.towards(target, reference, &next, held)
		cycles += spent
		if err != nil {
			return err
		}
		held = next
	}
	v.cycles = cycles
	return nil
}

// climbWithPulses is climbUp with the pulses that the state it comes to gives.
func (v *Solver) climbWithPulses(target float64) error {
	err := v.climbUp(target)
	for round := 1; err == nil && v.e.pulse != nil; round++ {
		found, ok := v.pulses()
		if v.pulseHeld = v.beat.left(ok); !ok {
			if v.w.t.pulse == (turbine.Pulse{}) {
				return nil
			}
			v.w.t.pulse, v.risen = turbine.Pulse{}, 0 // the mean flow drives, as the note says
			held := v.pulseHeld
			err = v.climbUp(target)
			v.pulseHeld = held
			return err
		}
		var used turbine.Pulse
		used.Flow, used.Power = v.w.t.pulse.Factors(found.ExpansionRatio)
		if math.Abs(found.Flow-used.Flow) < pulseTolerance && math.Abs(found.Power-used.Power) < pulseTolerance {
			return nil
		}
		if round > pulseRounds {
			v.pulseHeld |= NotePulsesUnsettled
			return nil
		}
		if round > 1 { // the way up does not follow them smoothly: half of the way, so that they do not take turns
			found.Flow, found.Power = math.Sqrt(found.Flow*used.Flow), math.Sqrt(found.Power*used.Power)
		}
		v.w.t.pulse, v.risen = found, 0
		err = v.climbUp(target)
	}
	return err
}

// A secant remembers two rounds: where the factors led, and by how much they missed that.
type secant struct{ image, miss [2][2]float64 } // the last one first

// next returns where the combination of the rounds leads that has missed nothing, as far as they tell: Anderson's method, J. ACM 12
// (1965), of depth 2, and of depth 1 where two differences are alike or there is one only.
func (w *secant) next(round int, image, miss [2]float64) [2]float64 {
	const far = 3.0 // a combination that leads beyond this says little
	to := image
	a := [2]float64{miss[0] - w.miss[0][0], miss[1] - w.miss[0][1]}
	b := [2]float64{miss[0] - w.miss[1][0], miss[1] - w.miss[1][1]}
	var s, t float64
	if det := a[0]*b[1] - a[1]*b[0]; round > 2 && math.Abs(det) > 0.02*math.Hypot(a[0], a[1])*math.Hypot(b[0], b[1]) {
		s, t = (miss[0]*b[1]-miss[1]*b[0])/det, (a[0]*miss[1]-a[1]*miss[0])/det
	}
	if round > 1 && (s == 0 && t == 0 || !(math.Abs(s) < far && math.Abs(t) < far)) {
		s, t = (a[0]*miss[0]+a[1]*miss[1])/(a[0]*a[0]+a[1]*a[1]), 0
	}
	if round > 1 && math.Abs(s) < far { // else the rounds do not say where they lead
		for i := range to {
			to[i] -= s * (image[i] - w.image[0][i])
			if t != 0 {
				to[i] -= t * (image[i] - w.image[1][i])
			}
		}
	}
	w.image, w.miss = [2][2]float64{image, w.image[0]}, [2][2]float64{miss, w.miss[0]}
	return to
}

// towards solves with new factors, given by their logarithms at the reference. Where the boost runs away with them it goes half of the
// way from the ones held so far, and half of that, before it gives up. It returns the cycles it took.
func (v *Solver) towards(target, reference float64, next *[2]float64, held [2]float64) (cycles int, err error) {
	if v.mode == cutting || v.mode == unhelpable { // what another state has led to
		v.toMode(atBest)
		v.ca50, v.cap = v.e.Combustion.BestCA50, math.Inf(1)
	}
	saved := *v
	for range pulseHalvings {
		v.w.t.pulse = turbine.Pulse{Flow: math.Exp(next[0]), Power: math.Exp(next[1]), ExpansionRatio: reference}
		v.w.known = false
		v.cycles = 1 // not 0, which would start the air path anew: the last state is the first guess
		err = v.balance(target)
		cycles += v.cycles - 1
		if err == nil {
			return cycles, nil
		}
		*v = saved
		next[0], next[1] = (next[0]+held[0])/2, (next[1]+held[1])/2
	}
	return cycles, err
}

// pulses returns the factors at the present state, and whether there are any.
func (v *Solver) pulses() (turbine.Pulse, bool) {
	e, s := v.e, &v.w.s
	tb := e.Turbine
	now := turbine.Pulse{ExpansionRatio: s.turbine.ExpansionRatio}
	if !(s.turbine.MassFlow > 0) {
		return now, false
	}
	exhaust := gas.Mix(v.r.charge.Unburned, v.r.charge.Burned, v.b.residualBurned)
	of := turbine.GasOf(&exhaust, v.t3, s.turbine.ExpansionRatio)
	area := tb.EffectiveArea / float64(e.Pulses.Entries) * e.pulseLarger
	state := pulse.State{
		Speed: v.r.speed, Pressure: v.res.PressureEnd, Temperature: v.res.TemperatureEnd, Gamma: of.Gamma, GasConstant: of.GasConstant,
		OutletPressure: s.p4, TurbineArea: area, WastegateArea: area * max(s.wastegate, 0) / s.turbine.MassFlow,
		Efficiency: tb.Efficiency, TipSpeed: tb.Wheel / 2 * s.shaft,
	}
	var err error
	if v.beat.result, err = e.pulse.Solve(&state, &v.beat.from); err != nil {
		return now, false
	}
	f := &v.beat.result.Factors
	now.Flow, now.Power = f.FlowAtMeanPressure, f.PowerAtMeanPressure*f.Efficiency(pulse.UnsteadyLoss)
	return now, true
}
