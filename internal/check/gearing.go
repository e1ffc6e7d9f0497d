package check

import (
	"errors"
	"fmt"

	"bellmouth/internal/gearing"
	"bellmouth/internal/run"
	"bellmouth/internal/units"
)

// What the ids of the findings on the gears are.
const (
	shortGear   = "limiter-before-upshift"
	uselessGear = "gear-no-faster"
)

// HarderAtLimiter is the share of thrust that an upshift at the limiter may lose without being told. Most gears are left at
// the limiter, and some per cent less in the next one are what gears are for: common practice, no source.
const HarderAtLimiter = 0.15

// Gears returns the notes on the gears, on a level road of the car's own grip: one that the limiter ends while the engine still pulls much harder in it than
// the next one will, and one that gets the car no faster than the one below. None without a car and gears, and of torque that is known at one speed only.
func Gears(r *run.Run) ([]Finding, error) {
	if r.Trim.Car == nil || r.Trim.Driveline.Gears == nil {
		return nil, nil
	}
	d, err := r.Drive(run.Place{})
	if errors.Is(err, run.ErrTooFewSpeeds) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var fs []Finding
	for i, below := range d.Tops[:len(d.Tops)-1] {
		top := d.Tops[i+1]
		if below.Ending == gearing.ByKnowledge || below.Ending == gearing.CannotPull || top.Velocity > below.Velocity {
			continue
		}
		fs = append(fs, Finding{ID: uselessGear, What: "gear that gets the car no faster", Speed: below.EngineSpeed, Kind: units.RoadSpeed, Value: top.Velocity,
			Limit: below.Velocity, Floor: true, Verdict: Note, gear: i + 2,
			Remark: fmt.Sprintf("gear %d does not get the car faster than gear %d", i+2, i+1)})
		break // a longer one still is no better
	}
	worst := Finding{ID: shortGear, What: "pulls harder at the limiter than after the upshift", Speed: r.Trim.Engine.Limiter, Kind: units.Fraction,
		Limit: HarderAtLimiter, Verdict: Note}
	for _, u := range d.Upshifts {
		if !d.AtLimiter(u) {
			continue
		}
		here, err := d.Vehicle.Pull(u.Gear, u.Velocity, d.Road)
		next, also := d.Vehicle.Pull(u.Gear+1, u.Velocity, d.Road)
		if err != nil || also != nil || !(here.Thrust > 0) {
			continue
		}
		if lost := 1 - next.Thrust/here.Thrust; lost > worst.Value {
			worst.Value, worst.gear = lost, u.Gear+1
			worst.Remark = fmt.Sprintf("in gear %d: the limiter comes before the best upshift", worst.gear)
		}
	}
	if Passes(worst.Value, worst.Limit) {
		fs = append(fs, worst)
	}
	return fs, nil
}

func doShortGear(_ *Review, f *Finding) string {
	return fmt.Sprintf("Raise engine.limiter if the engine may turn faster, or bring gears %d and %d closer: an upshift at %s loses %s of the thrust.",
		f.gear, f.gear+1, rpm(f.Speed), shown(f.Value, f.Kind))
}

func doUselessGear(_ *Review, f *Finding) string {
	if f.Value == 0 {
		return fmt.Sprintf("Shorten gear %d or the final drive: it does not pull the car, and gear %d reaches %s.", f.gear, f.gear-1, shown(f.Limit, f.Kind))
	}
	return fmt.Sprintf("Shorten gear %d or the final drive: the car reaches %s in it, and %s in gear %d.", f.gear, shown(f.Value, f.Kind),
		shown(f.Limit, f.Kind), f.gear-1)
}
