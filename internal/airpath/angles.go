package airpath

import (
	"errors"
	"math"

	"bellmouth/internal/cycle"
	"bellmouth/internal/flame"
	"bellmouth/internal/gas"
	"bellmouth/internal/knock"
	"bellmouth/internal/numeric"
)

// angles are those that the charge burns with, rad.
type angles struct {
	burn  float64 // 0 to 90 % burned
	delay float64 // from the spark to the start of burning
}

// bases are the flames of the stated condition: half-way through the burn and at the spark.
type bases struct{ burn, delay flame.Base }

// The stated condition's air and exhaust, where the spec says nothing of them: those of a dynamometer test to SAE J1349 on an engine without boost.
// Common practice, no source.
const (
	statedTemperature = 298.15 // in the manifold, K
	statedExhaust     = 1.05   // pressure behind the valves over that in the manifold
	statedCA50        = 8 * math.Pi / 180
	statedRemainder   = 1300.0 // temperature of the residual gas that the search for it starts from, K
)

// stateAngles finds the angles that the spec states for the speed, and the flames they were stated for: the same engine at the stated manifold
// pressure and lambda, half burned 8° after top dead centre. Its residual gas is that of one cycle of that condition.
func (e *Engine) stateAngles(r *regime) error {
	c := &e.Combustion
	var held bool
	if c.BurnAngle.IsZero() {
		r.stated.burn, held = cycle.DefaultBurnAngle(r.speed)
	} else {
		r.stated.burn, held = c.BurnAngle.At(r.speed)
	}
	if held {
		r.held |= NoteBurnHeld
	}
	if !c.IgnitionDelay.IsZero() {
		if r.stated.delay, held = c.IgnitionDelay.At(r.speed); held {
			r.held |= NoteDelayHeld
		}
	}

	s := *r
	s.lambda, s.charge, s.flame, s.fuelRatio = c.StatedLambda, e.statedCharge, e.statedFlame, e.dryShare/e.statedCharge.AirFuelRatio
	pm, back := c.StatedPressure, c.StatedPressure*statedExhaust
	flow := s.ve * pm / (e.air.GasConstant() * statedTemperature) * s.swept
	if e.Compressor != nil { // without one the volumetric efficiency is that of such a test
		flow *= fillingFactor(e.Cylinder.CompressionRatio, statedExhaust, s.charge.Burned.Gamma(statedRemainder))
	}
	left := e.guessRemainder(&s, back, statedRemainder)
	var b breath
	var res cycle.Result
	var rel cycle.Release
	for i := range 2 {
		var err error
		if b, err = e.breathe(&s, flow, pm, statedTemperature, left, statedCA50, s.stated.burn); err != nil {
			return err
		}
		if i == 1 {
			break
		}
		delay, _, err := e.knockOf(&s, &b)
		if err != nil {
			return err
		}
		in := e.input(&s, &b, statedCA50, s.stated, delay)
		if err = e.model.Run(&in, &res); err != nil {
			return err
		}
		if err = e.model.Release(&in, &res, back, &rel); err != nil {
			return err
		}
		left = remainder{rel.Mass, rel.Temperature}
		turn, err := e.exhaustAfter(&s, &b, &res, &rel, statedTemperature, statedRemainder)
		if err != nil {
			return err
		}
		r.exhaust = turn.t3
		r.tied = tie{rel.Mass * rel.Temperature / back, rel.Temperature - turn.t3}
	}
	mid, spark := e.flames(&s, &b, statedCA50, s.stated)
	var err error
	if r.base.burn, err = flame.NewBase(mid); err != nil {
		return err
	}
	r.base.delay, err = flame.NewBase(spark)
	return err
}

// guessRemainder returns residual gas at the pressure behind the valves, Pa, for the first cycle.
func (e *Engine) guessRemainder(r *regime, back, temperature float64) remainder {
	return remainder{back * e.Cylinder.ClearanceVolume() / (r.charge.Burned.GasConstant() * temperature), temperature}
}

// flames returns the flames half-way through the burn and at the spark of a charge. What the cylinder's pressure will be there is taken from
// closed forms, since the burn is not known yet: the charge compressed without heat from inlet closing, and half of the heat released at once in
// the volume at 50 % burned. The stated condition is treated alike, and only the ratio of the two counts.
//
//	p = pi (Vi/V)^γ [+ ½ (γ − 1) Q/V],  T = Ti (p/pi)^((γ−1)/γ)
func (e *Engine) flames(r *regime, b *breath, ca50 float64, a angles) (mid, spark flame.Flame) {
	trapped := gas.Mix(r.charge.Unburned, r.charge.Burned, b.initialBurned)
	fresh := b.air + b.fuel
	mass := fresh + b.residual
	gamma := trapped.Gamma(b.temperature + 200) // half-way up the compression
	lnT, lnP := numeric.Log(b.temperature), numeric.Log(mass*trapped.GasConstant()*b.temperature/e.closing)
	x := flame.ResidualMoleFraction(b.initialBurned, r.charge.Burned.GasConstant(), trapped.GasConstant())

	at := func(theta, heat float64) flame.State {
		v := e.Cylinder.Volume(theta)
		rise := gamma * numeric.Log(e.closing/v)
		if heat > 0 {
			rise += numeric.Log1p((gamma - 1) * heat / v * numeric.Exp(-rise-lnP))
		}
		return flame.State{Pressure: numeric.Exp(lnP + rise), Temperature: numeric.Exp(lnT + rise*(gamma-1)/gamma), Residual: x}
	}
	start := cycle.BurnStart(ca50, a.burn)
	mid = flame.Flame{Mixture: r.flame, State: at(ca50, fresh*r.charge.HeatReleased*e.Combustion.Efficiency/2)}
	spark = flame.Flame{Mixture: r.flame, State: at(start-a.delay, 0)}
	return mid, spark
}

// anglesOf returns the angles that a charge burns with: the stated ones, scaled by how its flame differs from the stated one
// (flame.Base.AngleFactor). The state at the spark depends on where the spark is, so that the delay d is the first fixed point of d = g(d) from
// the stated one on. held reports that one of the angles is the longest there is.
func (e *Engine) anglesOf(r *regime, b *breath, ca50 float64) (a angles, doubts flame.Flags, held bool, err error) {
	mid, _ := e.flames(r, b, ca50, r.stated)
	factor, doubts, err := r.base.burn.AngleFactor(mid)
	if err != nil {
		return r.stated, doubts, false, err
	}
	a = angles{burn: min(r.stated.burn*factor, longestBurn), delay: min(r.stated.delay, longestDelay)}
	held = a.burn == longestBurn
	if a.delay == 0 {
		return a, doubts, held, nil
	}
	last, lastGap := 0.0, 0.0
	for i := range 60 {
		_, spark := e.flames(r, b, ca50, a)
		factor, more, err := r.base.delay.AngleFactor(spark)
		if err != nil {
			return a, doubts, held, err
		}
		next := min(r.stated.delay*factor, longestDelay)
		gap := next - a.delay
		if math.Abs(gap) < delayTolerance {
			a.delay = next
			return a, doubts | more, held || next == longestDelay, nil
		}
		// By the secant, while g rises by less than its argument does.
		if slope := (gap - lastGap) / (a.delay - last); i > 0 && slope < -0.02 {
			next = a.delay - gap/slope
		}
		last, lastGap = a.delay, gap
		a.delay = min(max(next, 0), longestDelay)
	}
	return a, doubts, held, errDelay
}

// delayTolerance is how nearly the ignition delay is the one of its own spark, rad.
const delayTolerance = 1e-8

var errDelay = errors.New("the ignition delay was not found: each gives another spark, and each spark another delay")

// No engine burns slower than this and still runs; the cycle takes no longer burn. Common practice, no source.
const (
	longestBurn  = 2.6 // rad, 149°
	longestDelay = 0.9 // rad, 52°
)

// knockOf returns the knock delay of a charge, its octane index by the temperature with which the compression passes 15 bar.
func (e *Engine) knockOf(r *regime, b *breath) (knock.Delay, Note, error) {
	var notes Note
	trapped := gas.Mix(r.charge.Unburned, r.charge.Burned, b.initialBurned)
	mass := b.air + b.fuel + b.residual
	p := mass * trapped.GasConstant() * b.temperature / e.closing
	c := e.knock
	c.Lambda, c.Dilution = r.lambda, b.residual/mass-knock.BaseResidual
	if c.Octane == 0 {
		gamma := trapped.Gamma(b.temperature + 200)
		t15 := knock.T15(p, b.temperature, gamma)
		k, held, err := knock.K(min(max(t15, 300), 1500))
		if err != nil {
			return knock.Delay{}, 0, err
		}
		switch {
		case held && k < 0:
			notes |= NoteOctaneHeld
		case held:
			notes |= NoteOctaneHot
		}
		c.K = k
	}
	d, doubts, err := knock.New(c)
	if doubts&knock.NoteDilution != 0 {
		notes |= NoteDilution
	}
	return d, notes, err
}

// input returns the cycle of a charge.
func (e *Engine) input(r *regime, b *breath, ca50 float64, a angles, delay knock.Delay) cycle.Input {
	return cycle.Input{
		Speed: r.speed, Unburned: r.charge.Unburned, Burned: r.charge.Burned,
		Mass: b.air + b.fuel + b.residual, InitialBurned: b.initialBurned, FinalBurned: b.finalBurned,
		Temperature: b.temperature, CA50: ca50, BurnAngle: a.burn, Knock: delay,
		SparkAngle: cycle.BurnStart(ca50, a.burn) - a.delay,
	}
}
