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

// lightPlane solves the run's speeds at light load, where an actuator's spring keeps the wastegate shut.
func (r *Run) lightPlane() boost.Plane {
	const shut = 100e5 // Pa, more than any compressor gives
	speeds, held := make([]float64, len(r.Outcomes)), make([]float64, len(r.Outcomes))
	for i := range r.Outcomes {
		speeds[i] = r.Outcomes[i].Speed
		if r.Trim.Actuator != nil {
			held[i] = shut
		}
	}
	return boost.SweepPlane(r.Engine, r.Trim.Boost.Target, held, speeds, []float64{lightLoad})
}

// lightLoadFinding judges the primary pulse at light load, where an injector too large for it floods the engine. It harms
// nothing but the mixture there, and so is a note.
func (r *Run) lightLoadFinding() (check.Finding, bool) {
	in := r.Trim.Injection
	if in == nil || !(in.Staging.Primary.Injector.ShortestPulse > 0) {
		return check.Finding{}, false
	}
	plane := r.lightPlane()
	points := planePoints(&plane)
	wanted := func(c planePoint) float64 {
		d := &c.Point.Injection.Primary
		return d.DeadTime + (c.Point.FuelPerCycle-c.Point.Injection.Secondary.Fuel)/d.MassFlow
	}
	least := -1
	for i, c := range points {
		if c.injected() && (least < 0 || wanted(c) < wanted(points[least])) {
			least = i
		}
	}
	if least < 0 {
		return check.Finding{}, false
	}
	c := points[least]
	f := check.Finding{
		What: "primary pulse at light load", Speed: c.speed, Kind: units.Time, Value: wanted(c),
		Limit: in.Staging.Primary.Injector.ShortestPulse, Floor: true,
		Remark: "at " + units.Format(lightLoad, units.Pressure, units.Metric) + " in the manifold",
	}
	if c.Point.Injection.Surplus > 0 {
		f.Verdict = check.Note
		f.Remark += fmt.Sprintf(": the shortest pulse gives %.0f %% too much fuel there", 100*c.surplus())
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
	if r.Trim.Injection == nil || boost.Highest(r.Outcomes, func(p *airpath.Point) float64 { return p.FuelFlow }) < 0 {
		return check.Finding{}, false
	}
	all, _, why, err := r.sags()
	if err != nil {
		return check.Finding{}, false
	}
	end := len(all[0].rows) - 1
	w := &all[0]
	for i := range all {
		if dutyOf(&all[i].rows[end]) > dutyOf(&w.rows[end]) {
			w = &all[i]
		}
	}
	f := check.Finding{
		What: "injector duty with the battery at " + volts(sagTo), Speed: w.speed, Kind: units.Fraction, Value: dutyOf(&w.rows[end]), Limit: 1,
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
	case why != nil: // judged with a rail that may not hold
		f.Verdict = check.Note
		f.Remark = "the rail is taken to hold: " + plainly(why)
	}
	return f, true
}
