package sheet

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/run"
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
	return "fails at the least boost too: " + e.by
}

// Allowed finds the highest boost that the limits allow: those of the operating point, which end it by themselves (knock with its margin, at the
// latest burn accepted; cylinder pressure, gearbox, shaft, surge, choke, throat, injectors, what the actuator holds), and those that are only
// judged: the exhaust's temperature, the fuel pumps, the worst cylinder. Needs a compressor.
func (r *Run) Allowed() *Allowance {
	a := &Allowance{run: r, rows: make([]allowedRow, len(r.Outcomes))}
	run.InParallel(len(a.rows), func() func(int) {
		v := r.Engine.NewSolver()
		return func(i int) {
			o := &r.Outcomes[i]
			a.rows[i] = r.allowedAt(v, o.Speed)
			a.rows[i].asked = o.TargetBoost
		}
	})
	return a
}

// fails returns the first check of an operating point that the point fails, empty where it passes all. Checks that less boost does not mend, as the
// mixture of a lean cylinder, are left to the checks.
func (r *Run) fails(o *boost.Outcome) string {
	one := &Run{Run: &run.Run{Trim: r.Trim, Engine: r.Engine, Outcomes: []boost.Outcome{*o}}}
	one.fine = one
	in := one.limits()
	var fs []check.Finding
	for _, m := range in.Margins() {
		if f, ok := m.Finding(one.Outcomes); ok {
			fs = append(fs, f)
		}
	}
	fs = append(fs, in.Unmet()...)
	fs = append(fs, one.pumpFindings()...)
	cylinders, err := one.CylinderFindings()
	if err != nil {
		return "the cylinders cannot be judged"
	}
	for _, f := range cylinders {
		if f.ID == check.WorstCylinderKnock || f.ID == check.FullestCylinderPressure {
			fs = append(fs, f)
		}
	}
	if failed := check.Failed(fs); failed != nil {
		return failed[0]
	}
	return ""
}

func (r *Run) allowedAt(v *airpath.Solver, speed float64) allowedRow {
	venue := r.Trim.Venue.Pressure
	at := func(target float64) boost.Outcome {
		o := boost.Outcome{Speed: speed, TargetBoost: target - venue}
		o.Point, o.Err = v.Solve(airpath.Demand{Speed: speed, Target: target})
		return o
	}
	top := at(venue + run.FarAbove)
	if top.Err != nil {
		return allowedRow{Outcome: top}
	}
	by := r.fails(&top)
	if by == "" {
		return allowedRow{Outcome: top, by: strings.Join(top.Point.Limits.Names(top.Point.Limit), ", "), turbine: top.Point.Limit == airpath.Spool}
	}
	best := boost.Outcome{Speed: speed}
	if best.Point, best.Err = run.WideOpenPoint(v, speed, venue); best.Err != nil {
		return allowedRow{Outcome: best}
	}
	if failed := r.fails(&best); failed != "" {
		best.Err = errNothingAllowed{failed}
		return allowedRow{Outcome: best}
	}
	// The highest target that fails no check, by halving: the boost may jump on the way, and with it what fails.
	lo, hi := best.Point.ManifoldPressure, top.Point.ManifoldPressure
	for hi-lo > allowedWithin {
		mid := (lo + hi) / 2
		o := at(mid)
		failed := noSolution
		if o.Err == nil {
			failed = r.fails(&o)
		}
		if failed != "" {
			hi, by = mid, failed
		} else {
			lo, best = mid, o
		}
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
				return table.Missing(noSolution + ": " + run.Reason(o.Err))
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
			if o.asked > o.Boost(venue)+run.ReachedWithin && !o.turbine {
				return c.Toned(table.Caution)
			}
			return c
		}),
		cellsOf("allowed_by", "set by", units.Number, func(o *allowedRow) table.Cell { return table.Text(o.by) }),
		point("torque_nm", "torque", units.Torque, run.Torque).WithDigits(0),
		point("power_w", "power", units.Power, run.Power).WithDigits(1),
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

// AsTarget returns the boost allowed as a line to put into a spec. A boost is rounded down to 0.01 bar, and left as much below what a limit sets: the
// table of targets runs smoothly between its points, and not quite as the limits do. Where the turbine gives no more, the next speed that has
// a limit says what to ask for. ok is false where no speed has one.
func (a *Allowance) AsTarget() (line string, ok bool) {
	const step, clear = 1e3, 1e3 // Pa
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
		pairs = append(pairs, fmt.Sprintf("%.0f rpm: %.2f bar", run.RPM(o.Speed), pascals/1e5))
	}
	if pairs == nil {
		return "", false
	}
	return "target: {" + strings.Join(pairs, ", ") + "}", true
}
