package sheet

import (
	"bellmouth/internal/check"
	"bellmouth/internal/run"
)

// FeedFindings returns the findings on the fuel system, for what the spec has of it: pump and lift pump margin, injector duty
// on a weak battery, shortest pulse at light load, and whether the tank holds the fuel of a stage or lap.
func (r *Run) FeedFindings() []check.Finding {
	fs := r.pumpFindings()
	add := func(f check.Finding, ok bool) {
		if ok {
			fs = append(fs, f)
		}
	}
	add(check.WeakBattery(r.Run, r.weakBattery()))
	add(check.LightLoadPulse(r.asked().Run))
	add(check.Tank(r.refined().Run))
	return fs
}

func (r *Run) pumpFindings() []check.Finding {
	if !r.Fed() {
		return nil
	}
	return check.Pumps(r.feeds(), r.Trim.Supply.Lift != nil)
}

// feeds returns the fuel system at the run's full loads, as a refined run has it already.
func (r *Run) feeds() []run.Feed {
	if r.at == nil || r.at.feed == nil {
		return r.Feeds()
	}
	all, f := make([]run.Feed, len(r.Outcomes)), r.FuelSystem()
	for i := range r.Outcomes {
		if o := &r.Outcomes[i]; o.Err == nil {
			all[i] = r.at.feed.of(o)
		} else {
			all[i] = f.At(o)
		}
	}
	return all
}

// weakBattery returns the weak battery's case, of a refined run that at the speeds asked for.
func (r *Run) weakBattery() *run.Battery {
	if r.at != nil {
		return r.at.battery
	}
	return r.Battery()
}
