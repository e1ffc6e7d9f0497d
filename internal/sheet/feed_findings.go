package sheet

import (
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/units"
)

// FeedFindings returns the findings on the fuel system, for what the spec has of it: pump and lift pump margin, injector duty
// on a weak battery, shortest pulse at light load, and whether the tank holds the fuel of a stage or lap.
func (r *Run) FeedFindings() []check.Finding {
	var fs []check.Finding
	if r.pumps() && r.Trim.Injection != nil {
		fs = append(fs, r.pumpFindings()...)
	}
	if f, ok := r.sagFinding(); ok {
		fs = append(fs, f)
	}
	if f, ok := r.lightLoadFinding(); ok {
		fs = append(fs, f)
	}
	if f, ok := r.tankFinding(); ok {
		fs = append(fs, f)
	}
	return fs
}

func (r *Run) pumpFindings() []check.Finding {
	all := r.feed()
	var fs []check.Finding
	for i := range all { // a pump whose curve ends before the rail pressure cannot be judged, and must not pass for it
		if s := &all[i]; s.Err == nil && s.err != nil {
			return []check.Finding{{What: "fuel pump margin", Speed: s.Speed, Value: math.NaN(), Limit: math.NaN(), Verdict: check.Fail, Remark: plainly(s.err)}}
		}
	}
	add := func(what string, get func(s *supplied) float64, remark string) {
		w := worst(all, get)
		if w < 0 {
			return
		}
		f := check.Finding{What: what, Speed: all[w].Speed, Kind: units.Fraction, Value: get(&all[w]), Floor: true}
		switch {
		case !(f.Value >= 0):
			f.Verdict, f.Remark = check.Fail, remark
		case f.Value < leastPumpMargin:
			f.Verdict = check.Note
			f.Remark = fmt.Sprintf("below %.0f %% nothing is left for a loaded filter and worn pumps", 100*leastPumpMargin)
		}
		fs = append(fs, f)
	}
	add("fuel pump margin", func(s *supplied) float64 { return s.op.Margin }, "the pumps give less than the engine takes: the rail pressure falls")
	if r.Trim.Supply.Lift != nil {
		if all[0].liftErr != nil {
			return append(fs, check.Finding{What: "lift pump margin", Speed: all[0].Speed, Value: math.NaN(), Limit: math.NaN(), Verdict: check.Fail, Remark: plainly(all[0].liftErr)})
		}
		add("lift pump margin", (*supplied).liftMargin, "the lift pump gives less than the engine takes: the pot runs empty")
	}
	return fs
}

// lightLoad is the manifold pressure, Pa, at which the shortest pulse is judged: about as little as an engine takes that
// still pulls.
const lightLoad = 40e3

// lightStep is the step of engine speed, rad/s, in which light load is solved: its pulse runs as smoothly as the tables it comes from.
const lightStep = 1500 * math.Pi / 30

// spaced returns the first and the last of speeds that rise, and as many between as lie a step apart.
func spaced(speeds []float64, step float64) []float64 {
	var some []float64
	for i, s := range speeds {
		if i == 0 || i == len(speeds)-1 || s >= some[len(some)-1]+step*(1-1e-9) {
			some = append(some, s)
		}
	}
	return some
}

// lightly is light load, where an actuator's spring keeps the wastegate shut.
func (r *Run) lightly() boost.Load {
	d := airpath.Demand{Target: lightLoad, Throttled: true}
	if r.Trim.Actuator != nil {
		d.HeldOutlet = 100e5 // more than any compressor gives
	}
	return func(v *airpath.Solver, speed float64, _ airpath.Near) boost.Outcome {
		o, d := boost.Outcome{Speed: speed, TargetBoost: math.NaN()}, d
		d.Speed = speed
		o.Point, o.Err = v.Solve(d)
		return o
	}
}

// wantedPulse returns the pulse of the primary injectors that the mixture wants, s, at a point of light load. It applies where the engine
// takes that much and the rail pressure is above the manifold's.
func wantedPulse(o *boost.Outcome) (pulse float64, applies bool) {
	p := &o.Point
	d := &p.Injection.Primary
	return d.DeadTime + (p.FuelPerCycle-p.Injection.Secondary.Fuel)/d.MassFlow,
		p.ManifoldPressure > lightLoad*(1-1e-6) && p.RailDifference > 0
}

// lightLoadFinding judges the primary pulse at light load, where an injector too large for it floods the engine. It harms
// nothing but the mixture there, and so is a note.
func (r *Run) lightLoadFinding() (check.Finding, bool) {
	in := r.Trim.Injection
	if in == nil || !(in.Staging.Primary.Injector.ShortestPulse > 0) {
		return check.Finding{}, false
	}
	m := check.Margin{
		ID: "light-load-pulse", What: "primary pulse at light load", Kind: units.Time, Limit: in.Staging.Primary.Injector.ShortestPulse, Floor: true, Of: wantedPulse,
	}
	light := r.lightly()
	search := boost.Search{Engine: r.Engine, Load: light, Figures: []boost.Figure{m.Figure()}, Step: lightStep}
	all := search.Refine(boost.SweepLoad(r.Engine, light, spaced(r.asked().Speeds(), lightStep)))
	least := boost.Worst(all, m.Figure().Of)
	if least < 0 {
		return check.Finding{}, false
	}
	p := &all[least].Point
	f := check.Finding{ID: m.ID, What: m.What, Speed: p.Speed, Kind: m.Kind, Limit: m.Limit, Floor: true, Remark: "at " + units.Format(lightLoad, units.Pressure, units.Metric) + " in the manifold"}
	f.Value, _ = wantedPulse(&all[least])
	if p.Injection.Surplus > 0 {
		f.Verdict = check.Note
		f.Remark += fmt.Sprintf(": the shortest pulse gives %.0f %% too much fuel there", 100*p.Injection.Surplus/p.FuelPerCycle)
	}
	return f, true
}

func (r *Run) tankFinding() (check.Finding, bool) {
	if r.Trim.Supply == nil || r.Trim.Supply.Tank == nil || r.Trim.Supply.Use == nil {
		return check.Finding{}, false
	}
	density, err := r.Trim.Fuel.Grade.DensityAt(feedTemperature(r.Trim))
	if err != nil {
		return check.Finding{}, false
	}
	u, err := r.usage(density)
	if err != nil {
		return check.Finding{}, false
	}
	tank := r.Trim.Supply.Tank
	f := check.Finding{
		What: "fuel in the tank for one stage or lap", Speed: u.speed, Kind: units.TankVolume,
		Value: tank.Volume - tank.Reserve, Limit: u.run, Floor: true,
	}
	if !(f.Value >= f.Limit) {
		f.Verdict = check.Fail
		f.Remark = "full, and without its reserve, the tank does not last"
	}
	return f, true
}

// sagFinding judges the injectors at the weakest battery. Past the whole cycle they cannot deliver, and the engine runs lean.
func (r *Run) sagFinding() (check.Finding, bool) {
	var b *battery
	if r.at != nil {
		b = r.at.battery
	} else {
		b = r.battery()
	}
	if b == nil {
		return check.Finding{}, false
	}
	i := boost.Worst(r.Outcomes, func(o *boost.Outcome) (float64, bool) {
		row, err := r.weakest(&o.Point, b)
		return dutyOf(&row), err == nil
	})
	if i < 0 {
		return check.Finding{}, false
	}
	speed := r.Outcomes[i].Speed
	row, _ := r.weakest(&r.Outcomes[i].Point, b)
	f := check.Finding{
		What: "injector duty with the battery at " + volts(sagTo), Speed: speed, Kind: units.Fraction, Value: dutyOf(&row), Limit: 1,
	}
	switch allowed := r.allowedDuty(); {
	case math.IsInf(f.Value, 1):
		f.Value, f.Limit, f.Verdict = math.NaN(), math.NaN(), check.Fail
		f.Remark = "no pressure is left over the injectors"
	case !(f.Value <= 1):
		f.Verdict = check.Fail
		f.Remark = "the injectors cannot deliver it: the engine runs lean"
	case f.Value > allowed*(1+1e-4):
		f.Verdict = check.Note
		f.Remark = fmt.Sprintf("above the %.0f %% that the spec allows", allowed*100)
	case b.why != nil: // judged with a rail that may not hold
		f.Verdict = check.Note
		f.Remark = "the rail is taken to hold: " + plainly(b.why)
	}
	return f, true
}
