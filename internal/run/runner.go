package run

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/gas"
	"bellmouth/internal/manifold"
	"bellmouth/internal/numeric"
)

// A Sounding is the air in the manifold at full load, over engine speed.
type Sounding struct {
	air         gas.Mixture
	temperature numeric.Curve // K; zero when no point has a solution
}

// Sound returns the air in the manifold as the run's points have it.
func (r *Run) Sound() (Sounding, error) {
	air, err := r.Trim.Venue.Mixture()
	if err != nil {
		return Sounding{}, fmt.Errorf("trim %q: %w", r.Trim.Name, err)
	}
	s := Sounding{air: air}
	var speeds, temperatures []float64
	for i := range r.Outcomes {
		if o := &r.Outcomes[i]; o.Err == nil {
			speeds, temperatures = append(speeds, o.Speed), append(temperatures, o.Point.ManifoldTemperature)
		}
	}
	if len(speeds) == 0 {
		return s, nil
	}
	if s.temperature, err = numeric.NewCurve(speeds, temperatures); err != nil {
		return Sounding{}, fmt.Errorf("trim %q: manifold temperature over engine speed: %w", r.Trim.Name, err)
	}
	return s, nil
}

// Known reports whether any point has told the temperature.
func (s *Sounding) Known() bool { return !s.temperature.IsZero() }

// State returns the manifold's air at rest, at a pressure, Pa absolute, and a temperature, K.
func (s *Sounding) State(pressure, temperature float64) manifold.State {
	return manifold.State{Pressure: pressure, Temperature: temperature, Gamma: s.air.Gamma(temperature), GasConstant: s.air.GasConstant()}
}

// At returns the speed of sound, m/s, and the temperature, K, that the manifold has at an engine speed, rad/s.
func (s *Sounding) At(speed float64) (soundSpeed, temperature float64) {
	temperature, _ = s.temperature.At(speed)
	return s.State(1e5, temperature).SoundSpeed(), temperature
}

// tunedTo returns the engine speed that f gives for the speed of sound which the manifold has at that very engine speed.
func (s *Sounding) tunedTo(guess float64, f func(soundSpeed float64) (float64, error)) (float64, error) {
	speed := guess
	for range 50 { // the temperature answers weakly to the speed, so a few rounds settle it
		a, _ := s.At(speed)
		next, err := f(a)
		if err != nil {
			return 0, err
		}
		if math.Abs(next-speed) < 1e-9*speed {
			return next, nil
		}
		speed = next
	}
	return 0, errors.New("no engine speed agrees with the manifold temperature that it has")
}

// A Band is the engine speeds that are used, rad/s.
type Band struct {
	From, To float64
	ByGears  bool // from where the widest upshift at the limiter lands; otherwise from the speed of peak torque
}

// UsedBand returns the engine speeds that are used: from where the widest upshift at the limiter lands to the limiter. Without gears it begins at the
// point of peak torque; ok is false where that is nil too.
func (r *Run) UsedBand(torque *boost.Outcome) (b Band, ok bool) {
	limiter := r.Trim.Engine.Limiter
	if ratios := r.Trim.Driveline.Ratios(); len(ratios) > 1 {
		least := 1.0
		for i := range ratios[1:] {
			least = math.Min(least, ratios[i+1]/ratios[i])
		}
		if least < 1 {
			return Band{limiter * least, limiter, true}, true
		}
	}
	if torque == nil {
		return Band{}, false
	}
	return Band{From: math.Min(torque.Speed, limiter), To: limiter}, true
}

// Middle returns the engine speed in the middle of the band, rad/s.
func (b Band) Middle() float64 { return (b.From + b.To) / 2 }

// A TuningAim is what a runner is for.
type TuningAim int

// The runner as it is, and those that would be tuned to a speed.
const (
	AsBuilt TuningAim = iota
	ForPeakTorque
	ForMiddleOfBand
)

// A Tuning is one runner: which engine speed it is tuned to by which order, and how long it is for that. Of one as it is the length is given and the
// speed computed, of the others the other way round.
type Tuning struct {
	Aim         TuningAim
	Order       float64 // of a pipe; of a neck K, natural frequency over turns of the crank
	Speed       float64 // engine speed, rad/s
	Length      float64 // from the inlet valve to the plenum, m
	Change      float64 // of the length against the runner as it is, m
	Temperature float64 // of the manifold at the speed, K
	Err         error   // why what is computed is not known
}

// The orders computed. Of the runner as it is they go down to the weakest; lengths are computed for those that are of use.
var (
	ordersAsBuilt = [...]float64{3, 4, 5, 6, 7, 8}
	ordersSought  = [...]float64{3, 4, 5}
	neckRatios    = [...]float64{manifold.LowestRatio, manifold.UsualRatio, manifold.HighestRatio}
)

var errNoNeck = errors.New("the runner would hold more than four times the mean volume above the piston: that is a pipe, not a neck")

// Tunings returns the trim's runner as a pipe and as a neck: the speeds it is tuned to, and the lengths that would be tuned to the speed of peak
// torque and to the middle of the used band. torque is the point of peak torque, nil where there is none. It needs a runner and a known Sounding.
func (r *Run) Tunings(s *Sounding, torque *boost.Outcome) (pipes, necks []Tuning, err error) {
	runner := *r.Trim.Manifold.Runner
	c := r.Trim.Engine.Cylinder
	volume, err := manifold.MeanVolume(c.Displacement(), c.CompressionRatio)
	if err != nil {
		return nil, nil, fmt.Errorf("trim %q: %w", r.Trim.Name, err)
	}
	type target struct {
		aim   TuningAim
		speed float64
	}
	var targets []target
	if torque != nil {
		targets = append(targets, target{ForPeakTorque, torque.Speed})
	}
	band, ok := r.UsedBand(torque)
	if ok {
		targets = append(targets, target{ForMiddleOfBand, band.Middle()})
	}
	tunings := func(asBuilt, sought []float64, speedOf func(order, a float64) (float64, error),
		lengthFor func(order, speed, a float64) (float64, error)) []Tuning {
		var all []Tuning
		for _, k := range asBuilt {
			t := Tuning{Aim: AsBuilt, Order: k, Length: runner.Length}
			t.Speed, t.Err = s.tunedTo(r.Trim.Engine.Limiter, func(a float64) (float64, error) { return speedOf(k, a) })
			_, t.Temperature = s.At(t.Speed)
			all = append(all, t)
		}
		for _, at := range targets {
			for _, k := range sought {
				t := Tuning{Aim: at.aim, Order: k, Speed: at.speed}
				var a float64
				a, t.Temperature = s.At(at.speed)
				t.Length, t.Err = lengthFor(k, at.speed, a)
				t.Change = t.Length - runner.Length
				all = append(all, t)
			}
		}
		return all
	}
	pipes = tunings(ordersAsBuilt[:], ordersSought[:],
		func(k, a float64) (float64, error) { return runner.PipeTuningSpeed(k, a) },
		func(k, speed, a float64) (float64, error) { return runner.PipeLengthFor(speed, k, a) })
	necks = tunings(neckRatios[:], neckRatios[:],
		func(k, a float64) (float64, error) {
			if runner.Area()*runner.AcousticLength() > 4*volume {
				return 0, errNoNeck
			}
			return runner.HelmholtzTuningSpeed(volume, k, a)
		},
		func(k, speed, a float64) (float64, error) {
			if crank := k * speed; runner.Area()*a/crank > 2*volume { // the volume that is tuned to it is (A a/(K N))²/V
				return 0, errNoNeck
			}
			return runner.HelmholtzLengthFor(speed, volume, k, a)
		})
	return pipes, necks, nil
}

// An InletSpeed is how fast the air moves on its way to the valves at full load, and what throttle and duct cost. What the spec has no parts for
// is zero.
type InletSpeed struct {
	RunnerVelocity float64 // mean over the inlet stroke, m/s
	RunnerMach     float64
	RunnerErr      error
	ValveIndex     float64 // inlet Mach index after Taylor
	ValveErr       error
	Throttle, Duct Passage
}

// A Passage is the mean flow through a throttle or a duct, or why there is none.
type Passage struct {
	manifold.Flow
	Err error
}

// InletSpeedAt returns how fast the air moves at a solved point.
func (r *Run) InletSpeedAt(s *Sounding, p *airpath.Point) InletSpeed {
	m, c, valves := r.Trim.Manifold, r.Trim.Engine.Cylinder, r.Trim.Engine.Valves
	state := s.State(p.ManifoldPressure, p.ManifoldTemperature)
	sound := state.SoundSpeed()
	var v InletSpeed
	if m.Runner != nil {
		v.RunnerMach, v.RunnerErr = manifold.MeanMach(c.BoreArea(), m.Runner.Area(), c.MeanPistonSpeed(p.Speed), sound)
		v.RunnerVelocity = v.RunnerMach * sound
	}
	if valves != nil {
		v.ValveIndex, v.ValveErr = valves.InletMachIndex(c, p.Speed, sound)
	}
	if t := m.Throttle; t != nil {
		v.Throttle.Flow, v.Throttle.Err = t.Duct.Flow(p.AirFlow/float64(t.Count), state)
	}
	if m.Duct != nil {
		v.Duct.Flow, v.Duct.Err = m.Duct.Flow(p.AirFlow, state)
	}
	return v
}
