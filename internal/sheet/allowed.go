package sheet

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// An Allowance is the highest boost at each speed of a run at which every stated limit holds.
type Allowance struct {
	run  *Run
	rows []allowedRow
}

// An allowedRow is one speed.
type allowedRow struct {
	boost.Outcome         // at the boost allowed; its Err is why there is none
	asked         float64 // of the spec, Pa above the venue
	by            string  // what sets it
	turbine       bool    // that is the turbine: there is no more to be had
}

// allowedWithin is how nearly the boost allowed is found, Pa: a tenth of what is printed.
const allowedWithin = 100

// errNothingAllowed says that a limit is passed whatever the boost.
type errNothingAllowed struct{ by string }

func (e errNothingAllowed) Error() string {
	return "passed at the least boost too: " + e.by
}

// Allowed finds the highest boost that the limits allow: those of the operating point, which end it by themselves (knock with its margin, at the
// latest burn accepted; cylinder pressure, gearbox, shaft, surge, choke, throat, injectors, what the actuator holds), and those that are only
// judged: the exhaust's temperature, the fuel pumps, the worst cylinder. Needs a compressor.
func (r *Run) Allowed() *Allowance {
	a := &Allowance{run: r, rows: make([]allowedRow, len(r.Outcomes))}
	judges := r.judges()
	spread(len(a.rows), func() func(int) {
		v := r.Engine.NewSolver()
		return func(i int) {
			o := &r.Outcomes[i]
			a.rows[i] = r.allowedAt(v, o.Speed, judges)
			a.rows[i].asked = o.TargetBoost
		}
	})
	return a
}

// A judge returns by what share of it a limit is passed at a point: above 0, it is.
type judge struct {
	name   string
	excess func(o *boost.Outcome) float64
}

// judges are the limits that an operating point does not keep by itself, or may not be able to.
func (r *Run) judges() []judge {
	var js []judge
	for _, m := range r.limits().Margins() {
		if m.ID == check.ShutShaft {
			continue // of a target out of reach, which this is not
		}
		f := m.Figure()
		scale := math.Abs(f.Limit)
		if scale == 0 {
			scale = 1
		}
		js = append(js, judge{m.ID, func(o *boost.Outcome) float64 {
			x, applies := f.Of(o)
			if !applies {
				return math.Inf(-1)
			}
			return (x - f.Limit) / scale
		}})
	}
	if r.pumps() && r.Trim.Injection != nil {
		f := r.feeder()
		fed := func(get func(s *supplied) float64) func(o *boost.Outcome) float64 {
			return func(o *boost.Outcome) float64 {
				s := f.at(row{o, r})
				if s.err != nil {
					return 1
				}
				return -get(&s)
			}
		}
		js = append(js, judge{"fuel pump", fed(func(s *supplied) float64 { return s.op.Margin })})
		if r.Trim.Supply.Lift != nil {
			js = append(js, judge{"lift pump", fed((*supplied).liftMargin)})
		}
	}
	if shares, _, err := r.Spread(); err == nil && shares != nil {
		js = append(js, judge{"worst cylinder", func(o *boost.Outcome) float64 { return r.cylinderExcess(o, shares) }})
	}
	return append(js, judge{"a limit that nothing keeps", func(o *boost.Outcome) float64 {
		const unmet = airpath.NoteKnockUnmet | airpath.NotePeakPressureUnmet | airpath.NoteSpeedUnmet | airpath.NoteInjectorUnmet | airpath.NoteTorqueUnmet |
			airpath.NotePastSurge | airpath.NoteOverpulled
		if o.Point.Notes&unmet != 0 {
			return 0.01
		}
		return math.Inf(-1)
	}})
}

// cylinderExcess is the share by which the worst cylinder passes the limit of knock, though all burn as late as is accepted, or that of its pressure.
func (r *Run) cylinderExcess(o *boost.Outcome, shares []float64) float64 {
	runs := r.cylindersAt(o, shares)
	if runs.err != nil {
		return math.Inf(-1) // the checks tell
	}
	knock, peak := 0.0, 0.0
	for k := range runs.cylinders {
		if one := &runs.cylinders[k]; one.err == nil {
			knock = math.Max(knock, one.KnockIntegral/r.Trim.Engine.Combustion.KnockLimit)
			if l := r.Trim.Limits.PeakCylinderPressure; l > 0 {
				peak = math.Max(peak, one.PeakPressure/l)
			}
		}
	}
	if knock > 1 && peak <= 1 {
		if _, mends := r.laterBy(&worstCylinder{at: o}, shares); mends {
			return peak - 1
		}
	}
	return math.Max(knock, peak) - 1
}

// passed is the share by which a limit counts as passed, as the checks have it.
const passed = check.Slack

// worstOf returns the limit passed by most.
func worstOf(js []judge, o *boost.Outcome) (excess float64, name string) {
	excess = math.Inf(-1)
	for _, j := range js {
		if x := j.excess(o); x > excess || math.IsNaN(x) {
			excess, name = x, j.name
		}
	}
	return excess, name
}

func (r *Run) allowedAt(v *airpath.Solver, speed float64, js []judge) allowedRow {
	venue := r.Trim.Venue.Pressure
	at := func(target float64) boost.Outcome {
		o := boost.Outcome{Speed: speed, TargetBoost: target - venue}
		o.Point, o.Err = v.Solve(airpath.Demand{Speed: speed, Target: target})
		return o
	}
	top := at(venue + farAbove)
	if top.Err != nil {
		return allowedRow{Outcome: top}
	}
	if excess, _ := worstOf(js, &top); excess <= passed {
		return allowedRow{Outcome: top, by: strings.Join(top.Point.Limits.Names(top.Point.Limit), ", "), turbine: top.Point.Limit == airpath.Spool}
	}
	low := boost.Outcome{Speed: speed}
	if low.Point, low.Err = wideOpenPoint(v, speed, venue); low.Err != nil {
		return allowedRow{Outcome: low}
	}
	if excess, name := worstOf(js, &low); excess > passed {
		low.Err = errNothingAllowed{name}
		return allowedRow{Outcome: low}
	}
	// The highest target that passes nothing, by halving: the boost may jump on the way, and with it what is passed.
	best, by := low, ""
	lo, hi := low.Point.ManifoldPressure, top.Point.ManifoldPressure
	for hi-lo > allowedWithin {
		mid := at((lo + hi) / 2)
		if mid.Err != nil {
			hi = (lo + hi) / 2
			continue
		}
		if excess, name := worstOf(js, &mid); excess > passed {
			hi, by = (lo+hi)/2, name
			continue
		}
		lo, best = (lo+hi)/2, mid
	}
	if by == "" {
		_, by = worstOf(js, &top)
	}
	return allowedRow{Outcome: best, by: by}
}

// Table returns the boost allowed over engine speed, and what the engine does there.
func (a *Allowance) Table() table.Table {
	r := a.run
	venue := r.Trim.Venue.Pressure
	cellsOf := func(key, title string, quantity units.Kind, get func(o *allowedRow) table.Cell) table.Field[*allowedRow] {
		return table.Cells(key, title, quantity, func(o *allowedRow) table.Cell {
			var nothing errNothingAllowed
			switch {
			case errors.As(o.Err, &nothing):
				return table.Missing(nothing.Error())
			case o.Err != nil:
				return table.Missing(noSolution + ": " + withoutSearch(o.Err))
			}
			return get(o)
		})
	}
	point := func(key, title string, quantity units.Kind, get func(p *airpath.Point) float64) table.Field[*allowedRow] {
		return cellsOf(key, title, quantity, func(o *allowedRow) table.Cell { return table.Num(get(&o.Point)) })
	}
	rows := make([]*allowedRow, len(a.rows))
	for i := range a.rows {
		rows[i] = &a.rows[i]
	}
	t := table.Of("allowed boost", rows,
		table.Number("rpm", "speed", units.Speed, func(o *allowedRow) float64 { return o.Speed }),
		table.Number("target_boost_pa", "asked", units.GaugePressure, func(o *allowedRow) float64 { return o.asked }),
		cellsOf("allowed_boost_pa", "allowed", units.GaugePressure, func(o *allowedRow) table.Cell {
			c := table.Num(o.Boost(venue))
			if o.asked > o.Boost(venue)+reachedWithin && !o.turbine {
				return c.Toned(table.Caution)
			}
			return c
		}),
		cellsOf("allowed_by", "set by", units.Number, func(o *allowedRow) table.Cell { return table.Text(o.by) }),
		point("torque_nm", "torque", units.Torque, torqueOf).WithDigits(0),
		point("power_w", "power", units.Power, powerOf).WithDigits(1),
		point("shaft_rpm", "shaft", units.Speed, func(p *airpath.Point) float64 { return p.ShaftSpeed }).WithDigits(table.Hundreds),
		point("turbine_inlet_temperature_k", "exhaust", units.Temperature, func(p *airpath.Point) float64 { return p.TurbineInletTemperature }),
		point("peak_pressure_pa", "peak", units.Pressure, func(p *airpath.Point) float64 { return p.PeakPressure }).WithDigits(0),
		point("ca50_deg", "CA50", units.Angle, func(p *airpath.Point) float64 { return p.CA50 }),
	)
	t.Trim = r.Trim.Name
	t.Notes = []string{"The highest boost at which every limit of the spec holds, steady, and what sets it; the turbine where it gives no more. Limits that the spec does not state are not kept. " +
		"A weak battery and the spark's voltage are not counted here: the checks judge them at the boost asked for."}
	return t
}

// AsTarget returns the boost allowed as a line to put into a spec. A boost is rounded down, and left a step below what a limit sets. Where the turbine
// gives no more, the next speed that has a limit says what to ask for. ok is false where no speed has one.
func (a *Allowance) AsTarget() (line string, ok bool) {
	const step, clear = 1e3, 1e3 // Pa: 0.01 bar
	venue := a.run.Trim.Venue.Pressure
	var pairs []string
	for i := range a.rows {
		o := &a.rows[i]
		next := i
		for next < len(a.rows) && (a.rows[next].Err != nil || a.rows[next].turbine) {
			next++
		}
		if o.Err != nil || next == len(a.rows) {
			continue
		}
		pascals := math.Floor((a.rows[next].Boost(venue)-clear)/step) * step
		if pascals < 0 {
			continue
		}
		pairs = append(pairs, fmt.Sprintf("%.0f rpm: %.2f bar", rpm(o.Speed), pascals/1e5))
	}
	if pairs == nil {
		return "", false
	}
	return "target: {" + strings.Join(pairs, ", ") + "}", true
}
