package check

import (
	"fmt"
	"math"

	"bellmouth/internal/boost"
	"bellmouth/internal/run"
	"bellmouth/internal/units"
)

// LeastPumpMargin is the part of the engine's demand by which pumps should give more than that: for a loaded filter, worn
// pumps and a mixture that is enriched. Common practice, no source.
const LeastPumpMargin = 0.10

// LightLoad is the MAP, Pa, at which the shortest pulse is judged: about as little as an engine takes that
// still pulls.
const LightLoad = 40e3

// PumpMargin judges by how much pumps give more than the engine takes, as a part of that.
func PumpMargin(margin float64) Verdict {
	switch {
	case !(margin >= 0):
		return Fail
	case margin < LeastPumpMargin:
		return Note
	}
	return OK
}

// Pumps returns the findings on pumps at full loads: what the main pumps leave, and, where the spec has them, the lift pumps.
func Pumps(feeds []run.Feed, lift bool) []Finding {
	const id, what, liftID, liftWhat = "fuel-pump-margin", "fuel pump margin", "lift-pump-margin", "lift pump margin"
	unknown := func(id, what string, speed float64, err error) Finding {
		return Finding{ID: id, What: what, Speed: speed, Value: math.NaN(), Limit: math.NaN(), Verdict: Fail, Remark: err.Error()}
	}
	for i := range feeds { // a pump whose curve ends before the rail pressure cannot be judged, and must not pass for it
		if f := &feeds[i]; f.Solved && f.Err != nil {
			return []Finding{unknown(id, what, f.Speed, f.Err)}
		}
	}
	least := func(id, what string, margin func(f *run.Feed) float64, short string) []Finding {
		worst := run.LeastFeed(feeds, margin)
		if worst == nil {
			return nil
		}
		f := Finding{ID: id, What: what, Speed: worst.Speed, Kind: units.Fraction, Value: margin(worst), Floor: true}
		switch f.Verdict = PumpMargin(f.Value); f.Verdict {
		case Fail:
			f.Remark = short
		case Note:
			f.Remark = fmt.Sprintf("below %.0f %% nothing is left for a loaded filter and worn pumps", 100*LeastPumpMargin)
		}
		return []Finding{f}
	}
	fs := least(id, what, (*run.Feed).Margin, "the pumps give less than the engine takes, and the rail pressure falls")
	switch {
	case !lift || len(feeds) == 0:
	case feeds[0].LiftErr != nil:
		fs = append(fs, unknown(liftID, liftWhat, feeds[0].Speed, feeds[0].LiftErr))
	default:
		fs = append(fs, least(liftID, liftWhat, (*run.Feed).LiftMargin, "the lift pump gives less than the engine takes, and the pot runs empty")...)
	}
	return fs
}

// WeakBattery judges the injectors at the weakest battery. Past the whole cycle they cannot deliver, and the engine runs lean. ok is false where
// b is nil, or nothing is known of any full load.
func WeakBattery(r *run.Run, b *run.Battery) (f Finding, ok bool) {
	if b == nil {
		return Finding{}, false
	}
	duty := func(o *boost.Outcome) (float64, bool) {
		row, err := r.Weakest(&o.Point, b)
		return run.HighestDuty(&row), err == nil
	}
	i := boost.Worst(r.Outcomes, duty)
	if i < 0 {
		return Finding{}, false
	}
	f = Finding{
		ID: "injector-duty-weak-battery", What: "injector duty with the battery at " + units.Mark(run.SagTo, units.Voltage),
		Speed: r.Outcomes[i].Speed, Kind: units.Fraction, Limit: 1,
	}
	f.Value, _ = duty(&r.Outcomes[i])
	switch allowed := r.AllowedDuty(); {
	case math.IsInf(f.Value, 1):
		f.Value, f.Limit, f.Verdict = math.NaN(), math.NaN(), Fail
		f.Remark = "no pressure is left over the injectors"
	case !(f.Value <= 1):
		f.Verdict = Fail
		f.Remark = "the injectors cannot deliver it, and the engine runs lean"
	case Passes(f.Value, allowed):
		f.Verdict = Note
		f.Remark = fmt.Sprintf("above the %.0f %% that the spec allows", allowed*100)
	case b.Why != nil: // judged with a rail that may not hold
		f.Verdict = Note
		f.Remark = "the rail pressure is taken as it is: " + b.Why.Error()
	}
	return f, true
}

// LightLoadPulse judges the primary pulse at light load, where an injector too large for it floods the engine. It harms
// nothing but the mixture there, and so is a note. ok is false where the spec has no shortest pulse, or light load no solution.
func LightLoadPulse(r *run.Run) (f Finding, ok bool) {
	in := r.Trim.Injection
	if in == nil || !(in.Staging.Primary.Injector.ShortestPulse > 0) {
		return Finding{}, false
	}
	m := Margin{
		ID: "light-load-pulse", What: "primary pulse at light load", Kind: units.Time, Limit: in.Staging.Primary.Injector.ShortestPulse, Floor: true,
		Of: func(o *boost.Outcome) (float64, bool) { return run.WantedPulse(&o.Point, LightLoad) },
	}
	all := r.LightLoads(LightLoad, m.Figure())
	least := boost.Worst(all, m.Figure().Of)
	if least < 0 {
		return Finding{}, false
	}
	p := &all[least].Point
	f = Finding{ID: m.ID, What: m.What, Speed: p.Speed, Kind: m.Kind, Limit: m.Limit, Floor: true}
	f.Value, _ = m.Of(&all[least])
	f.Remark = "at a MAP of " + units.Mark(LightLoad, units.Pressure)
	if p.Injection.Surplus > 0 {
		f.Verdict = Note
		f.Remark += fmt.Sprintf("; the shortest pulse gives %.0f %% too much fuel there", 100*p.Injection.Surplus/p.FuelPerCycle)
	}
	return f, true
}

// Tank judges whether the tank holds the fuel of a stage or lap. ok is false where the spec lacks either, or the fuel is not known.
func Tank(r *run.Run) (f Finding, ok bool) {
	if r.Trim.Supply == nil || r.Trim.Supply.Tank == nil {
		return Finding{}, false
	}
	u, err := r.Use()
	if err != nil || !u.Given() || run.FewSpeeds(u.Unknown) {
		return Finding{}, false
	}
	f = Finding{
		ID: "tank-holds-stage", What: "fuel in the tank for one stage or lap", Speed: u.Speed, Kind: units.TankVolume,
		Value: u.Usable(), Limit: u.Stage, Floor: true,
	}
	switch {
	case u.Unknown != nil: // what is not known must not pass
		f.Value, f.Limit, f.Verdict, f.Remark = math.NaN(), math.NaN(), Note, u.Unknown.Error()
	case !(f.Value >= f.Limit):
		f.Verdict = Fail
		f.Remark = "full, and without its reserve, the tank does not last"
	}
	return f, true
}
