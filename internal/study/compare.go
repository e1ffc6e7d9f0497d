// Package study solves an engine many times and says what follows from it: variants compared.
package study

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/run"
	"bellmouth/internal/units"
)

// The figures of a run as a whole that no check has. Those that a check may have too go by its id.
const (
	PeakTorque      = "peak-torque"
	PeakTorqueSpeed = "peak-torque-speed"
	PeakPower       = "peak-power"
	PeakPowerSpeed  = "peak-power-speed"
	BoostReached    = "boost-reached-from"
	ChokesFrom      = "restrictor-chokes-from"
	MostAir         = "most-air"
	BestConsumption = "bsfc-at-peak-power"
)

// A Figure is what a variant comes to in one respect.
type Figure struct {
	ID      string // lower case words joined by "-"; of a check, its own
	What    string // in words
	Kind    units.Kind
	Value   float64 // SI; NaN where there is none
	Speed   float64 // engine speed at which it is found, rad/s; NaN where it is a speed itself or none is
	Judged  bool    // it is a check's, which gives the verdict
	Verdict check.Verdict
}

// A Variant is one of the engines compared, looked over as a whole.
type Variant struct {
	Review   *check.Review
	Findings []check.Finding
	Figures  []Figure // each id once
}

// Look judges a run and gathers its figures.
func Look(v *check.Review) (*Variant, error) {
	findings, err := v.Findings()
	if err != nil {
		return nil, err
	}
	return &Variant{v, findings, figures(v.Fine, findings)}, nil
}

// figures returns the figures of a run as a whole, then those of its checks.
func figures(r *run.Run, findings []check.Finding) []Figure {
	none := math.NaN()
	var all []Figure
	add := func(id, what string, kind units.Kind, value, speed float64) {
		all = append(all, Figure{ID: id, What: what, Kind: kind, Value: value, Speed: speed})
	}
	peak := func(get func(p *airpath.Point) float64) (value, speed float64) {
		if o := r.Peak(get); o != nil {
			return get(&o.Point), o.Speed
		}
		return none, none
	}
	torque, torqueSpeed := peak(run.Torque)
	power, powerSpeed := peak(run.Power)
	add(PeakTorque, "peak torque", units.Torque, torque, torqueSpeed)
	add(PeakTorqueSpeed, "speed of peak torque", units.Speed, torqueSpeed, none)
	add(PeakPower, "peak power", units.Power, power, powerSpeed)
	add(PeakPowerSpeed, "speed of peak power", units.Speed, powerSpeed, none)
	if r.Forced() {
		add(BoostReached, "target first reached at", units.Speed, begins(r.Reaching().Onset), none)
	}
	if r.Trim.Intake.Restrictor != nil {
		add(ChokesFrom, "restrictor chokes from", units.Speed, begins(r.Onset(run.RestrictorChokes)), none)
	}
	air, airSpeed := peak(func(p *airpath.Point) float64 { return p.AirFlow })
	add(MostAir, "most air", units.MassFlow, air, airSpeed)
	consumption := none
	if o := r.Peak(run.Power); o != nil && o.Point.Power > 0 {
		consumption = o.Point.Consumption
	}
	add(BestConsumption, "BSFC at peak power", units.FuelConsumption, consumption, powerSpeed)
	all = append(append(all, driven(r)...), cooled(r)...)
	// What has a limit in some variants only is compared all the same.
	unlimited := []struct {
		id, what string
		kind     units.Kind
		applies  bool
		get      func(p *airpath.Point) float64
	}{
		{"turbine-inlet-temperature", "EGT", units.Temperature, true, func(p *airpath.Point) float64 { return p.TurbineInletTemperature }},
		{"cylinder-pressure", "cylinder pressure", units.Pressure, true, func(p *airpath.Point) float64 { return p.PeakPressure }},
		{"shaft-speed", "turbocharger shaft speed", units.Speed, r.Forced(), func(p *airpath.Point) float64 { return p.ShaftSpeed }},
	}
	for _, u := range unlimited {
		if has := slices.ContainsFunc(findings, func(f check.Finding) bool { return f.ID == u.id }); u.applies && !has {
			x, speed := peak(u.get)
			add(u.id, u.what, u.kind, x, speed)
		}
	}
	for _, f := range findings {
		figure := Figure{ID: f.ID, What: f.What, Kind: f.Kind, Value: f.Value, Speed: f.Speed, Judged: true, Verdict: f.Verdict}
		if f.ID == check.OctaneNumber { // what the fuel has stands in the spec; what full load wants is the figure
			figure.Value = f.Limit
		}
		i := slices.IndexFunc(all, func(known Figure) bool { return known.ID == f.ID })
		switch {
		case i < 0:
			all = append(all, figure)
		case figure.Verdict > all[i].Verdict: // the same found at several speeds
			all[i] = figure
		}
	}
	return all
}

// The figures of what the car does. Those of its run-ups go by the ids of these, those of its upshifts by the gears.
const TopSpeed = "top-speed"

// driven returns the figures of what the car does on its own grip; none without a car and gears.
func driven(r *run.Run) []Figure {
	if r.Trim.Car == nil || r.Trim.Driveline.Gears == nil {
		return nil
	}
	d, err := r.Drive(run.Place{})
	if err != nil {
		return nil // the torque is known at one speed only
	}
	none := math.NaN()
	all := []Figure{{ID: TopSpeed, What: "top speed", Kind: units.RoadSpeed, Value: d.Top.Velocity, Speed: d.Top.EngineSpeed}}
	for _, u := range d.Upshifts {
		f := Figure{ID: fmt.Sprintf("upshift-%d-%d", u.Gear+1, u.Gear+2), What: fmt.Sprintf("upshift %d-%d", u.Gear+1, u.Gear+2), Kind: units.Speed,
			Value: u.EngineSpeed, Speed: none}
		if u.None || u.Unknown {
			f.Value = none
		}
		all = append(all, f)
	}
	for _, t := range d.RunUps() {
		f := Figure{ID: t.ID, What: t.Name, Kind: units.RunTime, Value: t.Done.Time, Speed: none}
		if t.Err != nil {
			f.Value = none
		}
		all = append(all, f)
	}
	return append(all, timed(r)...)
}

// CourseTime is the figure of the time over the course.
const CourseTime = "course-time"

// timed returns the figure of the time over the course; none without one.
func timed(r *run.Run) []Figure {
	if !r.HasCourse() {
		return nil
	}
	f := Figure{ID: CourseTime, What: "stage time", Kind: units.RunTime, Value: math.NaN(), Speed: math.NaN()}
	if c, err := r.Course(); err == nil {
		f.Value = c.Time
	}
	return []Figure{f}
}

// cooled returns the figure of the hottest coolant; none without cooling. Where it has a limit the check's takes its place.
func cooled(r *run.Run) []Figure {
	if r.Trim.Cooling == nil || r.Trim.Limits.CoolantTemperature > 0 {
		return nil
	}
	f := Figure{ID: check.CoolantTooHot, What: "coolant temperature", Kind: units.Temperature, Value: math.NaN(), Speed: math.NaN()}
	c, err := r.Cooling()
	if err != nil {
		return []Figure{f}
	}
	if hot, err := c.Hottest(); err == nil && !math.IsInf(hot.Temperature, 1) {
		f.Value, f.Speed = hot.Temperature, hot.EngineSpeed
	}
	return []Figure{f}
}

// begins returns the speed of an onset, NaN where it is not found.
func begins(o run.Onset) float64 {
	if !o.Found {
		return math.NaN()
	}
	return o.Speed
}

// Worst returns the finding with the least margin as a share of its limit, and that share; of a figure that is a share itself, the margin is one. What
// passes no limit, such as a boost that is not reached, has none, and what is waived. ok is false without any.
func (v *Variant) Worst() (f check.Finding, share float64, ok bool) {
	for _, one := range v.Findings {
		if one.AtRest && one.Verdict != check.Fail {
			continue // a clearance within its range is no margin that running uses up
		}
		margin := one.Margin()
		if one.Kind != units.Fraction {
			if one.Limit == 0 {
				continue
			}
			margin /= math.Abs(one.Limit)
		}
		if math.IsNaN(margin) || margin < 0 && one.Verdict != check.Fail && one.To == 0 {
			continue // no limit is passed: a boost that is not reached
		}
		if !ok || margin < share {
			f, share, ok = one, margin, true
		}
	}
	return f, share, ok
}

// An Entry is a variant's part in a comparison.
type Entry struct {
	Figure
	Has        bool    // the variant has the figure: the check applies, the finding is made
	Difference float64 // from the reference, SI; NaN where either has no value, and at the reference
	Relative   float64 // the difference as a share of the reference's value; of a figure that is a share itself, the difference. NaN where there is none
}

// A Comparison is one figure of all variants.
type Comparison struct {
	ID, What string
	Kind     units.Kind
	Of       []Entry // by variant
}

// judged reports whether a check says something of the variant.
func (e *Entry) judged() bool { return e.Has && e.Judged }

// VerdictChanges reports whether the verdict on a variant is another than that on the reference.
func (c *Comparison) VerdictChanges(against, variant int) bool {
	a, b := &c.Of[against], &c.Of[variant]
	return a.judged() != b.judged() || a.judged() && a.Verdict != b.Verdict
}

// effect returns the largest relative difference of any variant, infinite where only some have the figure, or it differs from nothing.
func (c *Comparison) effect() float64 {
	first := &c.Of[0]
	most := 0.0
	for i := range c.Of {
		e := &c.Of[i]
		switch valued := !math.IsNaN(e.Value); {
		case valued != !math.IsNaN(first.Value), !valued && e.judged() != first.judged():
			return math.Inf(1)
		case !math.IsNaN(e.Relative):
			most = max(most, math.Abs(e.Relative))
		case !math.IsNaN(e.Difference) && e.Difference != 0:
			return math.Inf(1)
		}
	}
	return most
}

// Compare returns every figure that any variant has, with the differences from one of them: those with the largest relative difference first.
func Compare(variants []*Variant, against int) []Comparison {
	var all []Comparison
	index := map[string]int{}
	for i, v := range variants {
		for _, f := range v.Figures {
			at, known := index[f.ID]
			if !known {
				at = len(all)
				index[f.ID] = at
				all = append(all, Comparison{ID: f.ID, What: f.What, Kind: f.Kind, Of: make([]Entry, len(variants))})
				for k := range all[at].Of {
					all[at].Of[k] = Entry{Figure: Figure{ID: f.ID, What: f.What, Kind: f.Kind, Value: math.NaN(), Speed: math.NaN()}}
				}
			}
			all[at].Of[i] = Entry{Figure: f, Has: true}
		}
	}
	effects := make(map[string]float64, len(all))
	for i := range all {
		all[i].differ(against)
		effects[all[i].ID] = all[i].effect()
	}
	slices.SortStableFunc(all, func(a, b Comparison) int { return cmp.Compare(effects[b.ID], effects[a.ID]) })
	return all
}

// differ fills in the differences from one of the variants.
func (c *Comparison) differ(against int) {
	reference := c.Of[against].Value
	for i := range c.Of {
		e := &c.Of[i]
		e.Difference, e.Relative = math.NaN(), math.NaN()
		if i == against {
			continue
		}
		e.Difference = e.Value - reference
		switch {
		case c.Kind == units.Fraction:
			e.Relative = e.Difference
		case reference != 0:
			e.Relative = e.Difference / math.Abs(reference)
		}
	}
}
