package sheet

import (
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
	"bellmouth/internal/wastegate"
)

// Targets are the boosts below full load that a gear takes or the pedal asks for, at each speed of a run.
type Targets struct {
	run  *Run
	rows []targetRow
}

// A targetRow is one speed.
type targetRow struct {
	*boost.Outcome
	torque wastegate.TorqueTable // over manifold pressure, up to the run's own point
	err    error                 // why there is none
	rest   rest
	floor  float64 // manifold pressure that remains with the wastegate as far open as the boost control gets it, Pa absolute
}

// The torque over manifold pressure: from next to no torque to full load, in as many steps.
const (
	lowestPressure = 25e3 // Pa absolute
	pressureSteps  = 40
)

// Targets solves the run's speeds at part load, for the torque over manifold pressure.
func (r *Run) Targets() (*Targets, error) {
	rests, err := r.rests()
	if err != nil {
		return nil, err
	}
	t := &Targets{run: r, rows: make([]targetRow, len(r.Outcomes))}
	spread(len(t.rows), func() func(int) {
		solver := r.Engine.NewSolver()
		return func(i int) {
			t.rows[i] = targetRow{Outcome: &r.Outcomes[i], rest: rests[i]}
			t.rows[i].solve(r, solver)
		}
	})
	return t, nil
}

func (o *targetRow) solve(r *Run, solver *airpath.Solver) {
	full := &o.Point
	if o.err = o.Err; o.err != nil {
		return
	}
	o.floor = full.ManifoldPressure // without a compressor the throttle is all there is
	if r.Forced() {
		open, err := solver.Solve(airpath.Demand{Speed: o.Speed, Target: belowAll * r.Trim.Venue.Pressure})
		if o.err = err; err != nil {
			return
		}
		o.floor = math.Min(open.ManifoldPressure, full.ManifoldPressure)
		if o.rest.outlet > 0 {
			o.floor = math.Min(r.Trim.Venue.Pressure+o.rest.boost, full.ManifoldPressure)
		}
	}
	var pressures, torques []float64
	low := math.Min(lowestPressure, full.ManifoldPressure/2)
	trials := make([]float64, 0, pressureSteps+1)
	for i := range pressureSteps {
		trials = append(trials, low+(full.ManifoldPressure-low)*float64(i)/pressureSteps)
	}
	if o.floor > low && o.floor < full.ManifoldPressure {
		trials = append(trials, o.floor) // the torque has a bend where the boost control takes over from the throttle
		slices.Sort(trials)
	}
	for _, pm := range trials {
		p, err := solver.Solve(airpath.Demand{Speed: o.Speed, Target: pm, Throttled: true, HeldOutlet: o.rest.outlet})
		if err != nil || !came(&p, pm) || len(torques) > 0 && !(p.Torque > torques[len(torques)-1]) || !(p.Torque < full.Torque) {
			continue // the others tell enough
		}
		pressures, torques = append(pressures, pm), append(torques, p.Torque)
	}
	o.torque, o.err = wastegate.NewTorqueTable(append(pressures, full.ManifoldPressure), append(torques, full.Torque))
}

// A target is what one gear takes, or one pedal position asks for, at one speed.
type target struct {
	*targetRow
	gear     int
	pedal    float64
	cap      wastegate.GearCap
	pressure float64 // in the manifold, Pa absolute
	held     bool    // the table's lowest pressure, below which the throttle has to go
	err      error
}

// throttled reports whether the boost control leaves more than is asked for with the wastegate as far open as it gets it, so that the
// throttle has to close.
func (p *target) throttled() bool { return p.pressure < p.floor*(1-sameBoost) }

// rests says what the boost comes to rest at.
func (p *target) rests() string {
	if p.rest.outlet > 0 {
		return "below the boost that the spring holds"
	}
	return "the wide-open wastegate leaves more"
}

// targetCells is a field of a target that is known.
func targetCells(key, title string, quantity units.Kind, get func(p *target) table.Cell) table.Field[*target] {
	return table.Cells(key, title, quantity, func(p *target) table.Cell {
		switch {
		case p.Err != nil:
			return table.Missing(noGatePoint)
		case p.err != nil:
			return table.Missing(p.err.Error())
		}
		return get(p)
	})
}

func targetSpeed() table.Field[*target] {
	return table.Number("rpm", "speed", units.Speed, func(p *target) float64 { return p.Speed })
}

// Ratings returns what torque each gear takes. The trim has to have a car and gears.
func (t *Targets) Ratings() (table.Table, error) {
	car, line := t.run.Trim.Car, t.run.Trim.Driveline
	thrust, err := car.GripThrust()
	if err != nil {
		return table.Table{}, fmt.Errorf("trim %q: car: %w", t.run.Trim.Name, err)
	}
	targets, err := t.gears()
	if err != nil {
		return table.Table{}, err
	}
	type rating struct {
		gear           int
		ratio, overall float64
	}
	var gears []rating
	for i, overall := range line.Ratios() {
		gears = append(gears, rating{i + 1, line.Gears[i], overall})
	}
	grip := func(g rating) float64 { return thrust * car.RollingRadius / (g.overall * car.DrivelineEfficiency) }
	fields := []table.Field[rating]{
		table.Counts("gear", "gear", func(g rating) int { return g.gear }),
		table.Number("gear_ratio", "ratio", units.Number, func(g rating) float64 { return g.ratio }).WithDigits(2),
		table.Number("overall_ratio", "overall", units.Number, func(g rating) float64 { return g.overall }).WithDigits(2),
		table.Number("grip_torque_nm", "grip", units.Torque, grip).WithDigits(0),
	}
	if line.TorqueLimit > 0 {
		fields = append(fields, table.Number("gearbox_torque_nm", "gearbox", units.Torque, func(rating) float64 { return line.TorqueLimit }).WithDigits(0))
	}
	fields = append(fields,
		table.Lists("capped_at", "caps the full load", func(g rating) []string { return t.cappedAt(targets, g.gear) }),
	)
	out := table.Of("gears", gears, fields...)
	out.Trim = t.run.Trim.Name
	out.Notes = []string{fmt.Sprintf("Grip: engine torque at which the driven wheels spin; they push %s at the road then. Level road, no downforce, no slip; "+
		"the torque that speeds up engine and wheels is not taken off, so the low gears take somewhat more.", units.Format(thrust, units.Force, units.Metric))}
	return out, nil
}

// cappedAt returns what caps the full load in a gear, with the speeds where it does.
func (t *Targets) cappedAt(targets []*target, gear int) []string {
	var texts []string
	var first, last *target
	add := func() {
		if first == nil {
			return
		}
		text := fmt.Sprintf("%s %.0f rpm", capName(first), run.RPM(first.Speed))
		if last != first {
			text = fmt.Sprintf("%s %.0f to %.0f rpm", capName(first), run.RPM(first.Speed), run.RPM(last.Speed))
		}
		texts = append(texts, text)
		first = nil
	}
	for _, p := range targets {
		if p.gear != gear {
			continue
		}
		known := p.Err == nil && p.err == nil && capName(p) != fullLoad
		if first != nil && (!known || capName(p) != capName(first)) {
			add()
		}
		if known {
			if first == nil {
				first = p
			}
			last = p
		}
	}
	add()
	if texts == nil {
		return []string{"nowhere"}
	}
	return texts
}

const fullLoad = "full load"

// capName names what caps the torque. The run's own points stay within the gearbox's rating already.
func capName(p *target) string {
	switch {
	case p.cap.Cap == wastegate.GripCap:
		return "grip"
	case p.cap.Cap == wastegate.GearboxCap || p.Point.Limits.Has(airpath.GearboxTorque):
		return "gearbox"
	}
	return fullLoad
}

// gears returns the targets by speed and gear.
func (t *Targets) gears() ([]*target, error) {
	trim := t.run.Trim
	ratios := trim.Driveline.Ratios()
	all := make([]*target, 0, len(t.rows)*len(ratios))
	for i := range t.rows {
		o := &t.rows[i]
		var caps []wastegate.GearCap
		if o.err == nil {
			var err error
			if caps, err = trim.Car.GearCaps(ratios, trim.Driveline.TorqueLimit, o.torque); err != nil {
				return nil, fmt.Errorf("trim %q: %w", trim.Name, err)
			}
		}
		for gear := range ratios {
			p := &target{targetRow: o, gear: gear + 1, err: o.err}
			if o.err == nil {
				p.cap, p.pressure, p.held = caps[gear], caps[gear].Pressure, caps[gear].Held && caps[gear].Torque < o.torque.FullLoad()
			}
			all = append(all, p)
		}
	}
	return all, nil
}

// ByGear returns the boost that each gear takes. The trim has to have a car and gears.
func (t *Targets) ByGear() (table.Table, error) {
	targets, err := t.gears()
	if err != nil {
		return table.Table{}, err
	}
	venue := t.run.Trim.Venue.Pressure
	out := table.Plane("boost by gear", targets,
		targetSpeed(),
		table.Counts("gear", "gear", func(p *target) int { return p.gear }),
		targetCells("gear_boost_pa", "boost", units.GaugePressure, func(p *target) table.Cell {
			c := table.Num(p.pressure - venue)
			if p.throttled() {
				return c.Toned(table.Caution).Noted(p.rests() + ": the throttle has to take the rest")
			}
			return c
		}),
		targetCells("torque_cap_nm", "torque", units.Torque, func(p *target) table.Cell { return table.Num(p.cap.Torque) }).WithDigits(0).InDetail(),
		targetCells("capped_by", "capped by", units.Number, func(p *target) table.Cell {
			if capName(p) == fullLoad {
				return table.Blank()
			}
			return table.Text(capName(p))
		}).InDetail(),
		targetCells("gear_manifold_pressure_pa", "manifold", units.Pressure, func(p *target) table.Cell { return table.Num(p.pressure) }).InDetail(),
	)
	out.Trim = t.run.Trim.Name
	out.Notes = []string{"Boost, above the venue's pressure, with which the engine gives no more torque than tyres and gearbox take in the gear; where they take all of it, the boost of full load. " + t.restNote()}
	return out, nil
}

// restNote says how the engine is held at part load.
func (t *Targets) restNote() string {
	held := make([]float64, len(t.rows))
	for i := range t.rows {
		held[i] = t.rows[i].rest.outlet
	}
	return t.run.restNote(held, t.run.Outcomes)
}

// pedals returns the targets by speed and pedal position.
func (t *Targets) pedals() []*target {
	const step = 10 // per cent
	var all []*target
	for i := range t.rows {
		o := &t.rows[i]
		for percent := step; percent <= 100; percent += step {
			p := &target{targetRow: o, pedal: float64(percent) / 100, err: o.err}
			if o.err == nil {
				var held bool
				p.pressure, held, p.err = o.torque.PedalPressure(p.pedal)
				p.held = held && percent < 100
			}
			all = append(all, p)
		}
	}
	return all
}

// ByPedal returns the manifold pressure and the boost that the pedal asks for, in proportion to torque.
func (t *Targets) ByPedal() table.Table {
	venue := t.run.Trim.Venue.Pressure
	const lower = "even the lowest pressure computed gives more torque than the pedal asks for"
	out := table.Plane("boost by pedal", t.pedals(),
		targetSpeed(),
		table.Number("pedal", "pedal", units.Fraction, func(p *target) float64 { return p.pedal }).WithDigits(0),
		targetCells("pedal_manifold_pressure_pa", "manifold pressure, absolute", units.Pressure, func(p *target) table.Cell {
			c := table.Num(p.pressure)
			if p.held {
				return c.Noted(lower)
			}
			return c
		}),
		targetCells("pedal_boost_pa", "boost", units.GaugePressure, func(p *target) table.Cell {
			if p.throttled() {
				return table.Missing(p.rests() + ": the throttle does it")
			}
			return table.Num(p.pressure - venue)
		}),
		targetCells("pedal_torque_nm", "torque", units.Torque, func(p *target) table.Cell { return table.Num(p.pedal * p.torque.FullLoad()) }).WithDigits(0).InDetail(),
		targetCells("pedal_throttled", "throttled", units.Number, func(p *target) table.Cell { return table.YesNo(p.throttled()) }).InDetail(),
	)
	out.Trim = t.run.Trim.Name
	text := "The pedal asks for its share of the full-load torque at the speed"
	if t.run.Forced() {
		text += "; boost is what the boost control is asked for"
	}
	out.Notes = []string{text + ". " + t.restNote()}
	return out
}

func targetFormulas() []formula.Entry {
	e := func(key, title, meaning, text, source, holds string) formula.Entry {
		return formula.Entry{Key: key, Title: title, Meaning: meaning, Formula: text, Source: source, Range: holds}
	}
	const steady = "steady; torque over manifold pressure through the points of part load, monotone cubic"
	return []formula.Entry{
		e("gear_ratio", "Ratio", "Ratio of the gear.", given, given, always),
		e("overall_ratio", "Overall ratio", "Turns of the engine for one of the wheels.", "gear × final", ours, always),
		e("gearbox_torque_nm", "Gearbox rating", "Highest engine torque the gearbox takes.", given, given, always),
		e("capped_at", "Caps the full load", "What caps the torque of full load in the gear, with the speeds where it does.", "see torque_cap_nm", ours, "at the speeds computed"),
		e("capped_by", "Capped by", "What caps the torque: grip or gearbox; empty where full load stays within both.", "see torque_cap_nm", ours, always),
		e("gear_boost_pa", "Boost by gear", "Boost with which the engine gives the torque that the gear takes, above the venue's pressure.", "pm(torque cap) − venue", "see torque_cap_nm", steady),
		e("gear_manifold_pressure_pa", "Manifold pressure by gear", "Manifold pressure with which the engine gives the torque that the gear takes, absolute.", "pm(torque cap)", "see torque_cap_nm", steady),
		e("pedal_manifold_pressure_pa", "Manifold pressure by pedal", "Manifold pressure that the pedal position asks for, absolute.", "pm(T), T = pedal · full-load torque", "common practice, no source", steady),
		e("pedal_boost_pa", "Boost by pedal", "Boost that the boost control is asked for at the pedal position; empty where spring or wide-open wastegate leave more and the throttle does the rest.", "pm(T) − venue, T = pedal · full-load torque", "common practice, no source", steady),
		e("pedal_torque_nm", "Torque by pedal", "Torque that the pedal position asks for.", "T = pedal · full-load torque", "common practice, no source", always),
		e("pedal_throttled", "Throttled", "Whether the boost control leaves more manifold pressure than is asked for with the wastegate as far open as it gets it, so that the throttle has to close.", "pm < pm(spring-only boost), or wastegate wide open without an actuator", ours, "steady"),
	}
}
