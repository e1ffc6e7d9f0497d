package sheet

import (
	"fmt"

	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
	"bellmouth/internal/wastegate"
)

// Targets are the boosts below full load at each speed of a run, whose tables are asked for.
type Targets struct {
	*run.Targets
	run *Run
}

// Targets is run.Run's, computed once.
func (r *Run) Targets() (*Targets, error) {
	r.targetsOnce.Do(func() { r.targets, r.targetsErr = r.Run.Targets() })
	if r.targetsErr != nil {
		return nil, r.targetsErr
	}
	return &Targets{r.targets, r}, nil
}

// targetKnown is a target that has been found.
var targetKnown table.Known[*run.Target] = func(p *run.Target) error {
	if p.Err != nil {
		return run.ErrNoSolution
	}
	return p.TargetErr
}

func targetSpeed() table.Field[*run.Target] {
	return table.Number("rpm", "speed", units.Speed, func(p *run.Target) float64 { return p.Speed })
}

// restsAt says what keeps the boost control from less boost.
func restsAt(p *run.Target) string {
	if p.Lowest.Outlet > 0 {
		return "below the boost that the spring holds"
	}
	return "the wide-open wastegate leaves more"
}

// Ratings returns what torque each gear takes. The trim has to have a car and gears.
func (t *Targets) Ratings() (table.Table, error) {
	gears, thrust, err := t.run.Gears()
	if err != nil {
		return table.Table{}, err
	}
	targets, err := t.GearTargets()
	if err != nil {
		return table.Table{}, err
	}
	fields := []table.Field[run.Gear]{
		table.Counts("gear", "gear", func(g run.Gear) int { return g.Number }),
		table.Number("gear_ratio", "ratio", units.Number, func(g run.Gear) float64 { return g.Ratio }).WithDigits(2),
		table.Number("overall_ratio", "overall", units.Number, func(g run.Gear) float64 { return g.Overall }).WithDigits(2),
		table.Number("limiter_road_speed_m_s", "at limiter", units.RoadSpeed, func(g run.Gear) float64 { return g.RoadSpeed }),
		table.Number("grip_torque_nm", "grip", units.Torque, func(g run.Gear) float64 { return g.GripTorque }).WithDigits(0),
	}
	if limit := t.run.Trim.Driveline.TorqueLimit; limit > 0 {
		fields = append(fields, table.Number("gearbox_torque_nm", "gearbox", units.Torque, func(run.Gear) float64 { return limit }).WithDigits(0))
	}
	fields = append(fields, table.Lists("capped_at", "caps the full load", func(g run.Gear) []string { return cappedAt(targets, g.Number) }))
	out := table.Of("gears", gears, fields...)
	out.Trim = t.run.Trim.Name
	out.Notes = []string{fmt.Sprintf("Grip: engine torque at which the driven wheels spin; they push %s at the road then. Level road, no downforce, no slip; "+
		"the torque that speeds up engine and wheels is not taken off, so the low gears take somewhat more.", units.Format(thrust, units.Force, units.Metric))}
	return out, nil
}

// cappedAt returns what caps the full load in a gear, with the speeds where it does.
func cappedAt(targets []*run.Target, gear int) []string {
	var texts []string
	var first, last *run.Target
	add := func() {
		if first == nil {
			return
		}
		text := fmt.Sprintf("%s %.0f rpm", capName(first.Cap()), run.RPM(first.Speed))
		if last != first {
			text = fmt.Sprintf("%s %.0f to %.0f rpm", capName(first.Cap()), run.RPM(first.Speed), run.RPM(last.Speed))
		}
		texts = append(texts, text)
		first = nil
	}
	for _, p := range targets {
		if p.Gear != gear {
			continue
		}
		known := targetKnown(p) == nil && p.Cap() != wastegate.NoCap
		if first != nil && (!known || p.Cap() != first.Cap()) {
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

// capName names what caps the torque.
func capName(c wastegate.Cap) string {
	if c == wastegate.GripCap {
		return "grip"
	}
	return "gearbox"
}

// ByGear returns the boost that each gear takes. The trim has to have a car and gears.
func (t *Targets) ByGear() (table.Table, error) {
	targets, err := t.GearTargets()
	if err != nil {
		return table.Table{}, err
	}
	duties, err := t.dutyByGear(targets)
	if err != nil {
		return table.Table{}, err
	}
	venue := t.run.Trim.Venue.Pressure
	fields := []table.Field[*run.Target]{
		targetKnown.Cells("gear_boost_pa", "boost", units.GaugePressure, func(p *run.Target) table.Cell {
			c := table.Num(p.Pressure - venue)
			if p.Throttled() {
				return c.Toned(table.Caution).Noted(restsAt(p) + ": the throttle has to take the rest")
			}
			return c
		}),
	}
	fields = append(fields, duties...)
	fields = append(fields,
		table.Number("road_speed_m_s", "road speed", units.RoadSpeed, func(p *run.Target) float64 { return p.RoadSpeed }),
		targetKnown.Cells("gear_throttled", "throttled", units.Number, func(p *run.Target) table.Cell { return table.YesNo(p.Throttled()) }).InDetail(),
		targetKnown.Number("torque_cap_nm", "torque", units.Torque, func(p *run.Target) float64 { return p.GearCap.Torque }).WithDigits(0).InDetail(),
		targetKnown.Cells("capped_by", "capped by", units.Number, func(p *run.Target) table.Cell {
			if p.Cap() == wastegate.NoCap {
				return table.Blank()
			}
			return table.Text(capName(p.Cap()))
		}).InDetail(),
		targetKnown.Number("gear_manifold_pressure_pa", "manifold", units.Pressure, func(p *run.Target) float64 { return p.Pressure }).InDetail(),
	)
	out := table.Plane("boost by gear", targets, targetSpeed(), table.Counts("gear", "gear", func(p *run.Target) int { return p.Gear }), fields...)
	out.Trim = t.run.Trim.Name
	text := "Boost, above the venue's pressure, with which the engine gives no more torque than tyres and gearbox take in the gear; " +
		"where they take all of it, the boost of full load."
	if duties != nil {
		text += " Duty: what holds that boost."
	}
	out.Notes = []string{text + " Road speed without slip. " + t.restNote()}
	return out, nil
}

// restNote says how the engine is held at part load.
func (t *Targets) restNote() string {
	held := make([]float64, len(t.Loads))
	for i := range t.Loads {
		held[i] = t.Loads[i].Lowest.Outlet
	}
	return t.run.restNote(held, t.run.Outcomes)
}

// ByPedal returns the manifold pressure and the boost that the pedal asks for, in proportion to torque.
func (t *Targets) ByPedal() table.Table {
	venue := t.run.Trim.Venue.Pressure
	const lower = "even the lowest pressure computed gives more torque than the pedal asks for"
	out := table.Plane("boost by pedal", t.PedalTargets(),
		targetSpeed(),
		table.Number("pedal", "pedal", units.Fraction, func(p *run.Target) float64 { return p.Pedal }).WithDigits(0),
		targetKnown.Cells("pedal_manifold_pressure_pa", "manifold pressure, absolute", units.Pressure, func(p *run.Target) table.Cell {
			c := table.Num(p.Pressure)
			if p.Held {
				return c.Noted(lower)
			}
			return c
		}),
		targetKnown.Cells("pedal_boost_pa", "boost", units.GaugePressure, func(p *run.Target) table.Cell {
			if p.Throttled() {
				return table.Missing(restsAt(p) + ": the throttle does it")
			}
			return table.Num(p.Pressure - venue)
		}),
		targetKnown.Number("pedal_torque_nm", "torque", units.Torque, func(p *run.Target) float64 { return p.Pedal * p.Torque.FullLoad() }).WithDigits(0).InDetail(),
		targetKnown.Cells("pedal_throttled", "throttled", units.Number, func(p *run.Target) table.Cell { return table.YesNo(p.Throttled()) }).InDetail(),
	)
	out.Trim = t.run.Trim.Name
	text := "The pedal asks for its share of the full-load torque at the speed"
	if t.run.Forced() {
		text += "; boost is what the boost control is asked for"
	}
	out.Notes = []string{text + ". " + t.restNote()}
	return out
}

// targetsEntries explain the columns above.
func targetsEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "gear", Title: "gear",
			Meaning: "Gear, counted from the first ratio given.",
			Formula: "given", Source: "given", Range: "from 1",
		},
		{
			Key: "gear_ratio", Title: "ratio",
			Meaning: "Ratio of the gear.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "overall_ratio", Title: "overall",
			Meaning: "Turns of the engine for one of the wheels.",
			Formula: "gear × final", Source: ours, Range: always,
		},
		{
			Key: "grip_torque_nm", Title: "grip",
			Meaning: "Engine torque at which the driven wheels spin in the gear.",
			Formula: "F r/(i η), F = min(μ m g w/(q − μ h/b), μ m g (1 − w)/(1 − q + μ h/b))",
			Source:  "Gillespie, Fundamentals of Vehicle Dynamics (1992), ch. 2 (from memory)", Range: "level road, one grip coefficient, no downforce, inertia of engine and wheels left out",
		},
		{
			Key: "gearbox_torque_nm", Title: "gearbox",
			Meaning: "Highest engine torque the gearbox takes.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "capped_at", Title: "caps the full load",
			Meaning: "What caps the torque of full load in the gear, with the speeds where it does.",
			Formula: "see torque_cap_nm", Source: ours, Range: computed,
		},
		{
			Key: "gear_boost_pa", Title: "boost",
			Meaning: "Boost with which the engine gives the torque that the gear takes, above the venue's pressure.",
			Formula: "pm(torque cap) − venue",
			Source:  "see torque_cap_nm", Range: "steady; torque over manifold pressure through the points of part load, monotone cubic",
		},
		{
			Key: "torque_cap_nm", Title: "torque",
			Meaning: "Engine torque accepted in the gear.",
			Formula: "min(grip torque, gearbox rating, full load)", Source: ours, Range: "0 or more",
		},
		{
			Key: "capped_by", Title: "capped by",
			Meaning: "What caps the torque: grip or gearbox; empty where full load stays within both.",
			Formula: "see torque_cap_nm", Source: ours, Range: always,
		},
		{
			Key: "gear_manifold_pressure_pa", Title: "manifold",
			Meaning: "Manifold pressure with which the engine gives the torque that the gear takes, absolute.",
			Formula: "pm(torque cap)",
			Source:  "see torque_cap_nm", Range: "steady; torque over manifold pressure through the points of part load, monotone cubic",
		},
		{
			Key: "pedal", Title: "pedal",
			Meaning: "Pedal position, which asks for that share of the full-load torque at the speed.",
			Formula: "pm(T), T = pedal · full-load torque", Source: practice, Range: "0 to 1",
		},
		{
			Key: "pedal_manifold_pressure_pa", Title: "manifold pressure, absolute",
			Meaning: "Manifold pressure that the pedal position asks for, absolute.",
			Formula: "pm(T), T = pedal · full-load torque",
			Source:  practice, Range: "steady; torque over manifold pressure through the points of part load, monotone cubic",
		},
		{
			Key: "pedal_boost_pa", Title: "boost",
			Meaning: "Boost that the boost control is asked for at the pedal position; empty where spring or wide-open wastegate leave more and the throttle does the rest.",
			Formula: "pm(T) − venue, T = pedal · full-load torque",
			Source:  practice, Range: "steady; torque over manifold pressure through the points of part load, monotone cubic",
		},
		{
			Key: "pedal_torque_nm", Title: "torque",
			Meaning: "Torque that the pedal position asks for.",
			Formula: "T = pedal · full-load torque", Source: practice, Range: always,
		},
		{
			Key: "pedal_throttled", Title: "throttled",
			Meaning: "Whether the boost control leaves more manifold pressure than is asked for with the wastegate as far open as it gets it, so that the throttle has to close.",
			Formula: "pm < pm(spring-only boost), or wastegate wide open without an actuator", Source: ours, Range: "steady",
		},
	}
}
