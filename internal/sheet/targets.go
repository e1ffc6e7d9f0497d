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

// heldBy says what keeps the boost control from less boost, and what is left to do.
func heldBy(p *run.Target) string {
	if p.Lowest.Outlet > 0 {
		return "below the boost on the spring: the throttle does the rest"
	}
	return "the wide-open wastegate leaves more: the throttle does the rest"
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
	fields = append(fields, table.Lists("capped_at", "limits full load", func(g run.Gear) []string { return cappedAt(targets, g.Number) }))
	out := table.Of("gears", gears, fields...)
	out.Trim = t.run.Trim.Name
	out.Notes = []string{
		fmt.Sprintf("At the grip torque the driven wheels push %s at the road.", units.Mark(thrust, units.Force)),
		"The low gears take somewhat more: the torque that speeds up engine and wheels is not counted.",
	}
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
		texts = append(texts, capName(first.Cap())+" "+run.Speeds(first.Speed, last.Speed))
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
				return c.Toned(table.Caution).Noted(heldBy(p))
			}
			return c
		}),
	}
	fields = append(fields, duties...)
	fields = append(fields,
		table.Number("road_speed_m_s", "road speed", units.RoadSpeed, func(p *run.Target) float64 { return p.RoadSpeed }),
		targetKnown.Cells("gear_throttled", "throttled", units.Number, func(p *run.Target) table.Cell { return table.YesNo(p.Throttled()) }).InDetail(),
		targetKnown.Number("torque_cap_nm", "torque", units.Torque, func(p *run.Target) float64 { return p.GearCap.Torque }).WithDigits(0).InDetail(),
		targetKnown.Cells("capped_by", "limited by", units.Number, func(p *run.Target) table.Cell {
			if p.Cap() == wastegate.NoCap {
				return table.Blank()
			}
			return table.Text(capName(p.Cap()))
		}).InDetail(),
		targetKnown.Number("gear_manifold_pressure_pa", "MAP", units.Pressure, func(p *run.Target) float64 { return p.Pressure }).InDetail(),
	)
	out := table.Plane("boost by gear", targets, targetSpeed(), table.Counts("gear", "gear", func(p *run.Target) int { return p.Gear }), fields...)
	out.Trim = t.run.Trim.Name
	out.Notes = t.doubts()
	return out, nil
}

// doubts says what to doubt of how the engine is held at part load.
func (t *Targets) doubts() []string {
	held := make([]float64, len(t.Loads))
	for i := range t.Loads {
		held[i] = t.Loads[i].Lowest.Outlet
	}
	return t.run.restDoubts(held, t.run.Outcomes)
}

// ByPedal returns the manifold pressure and the boost that the pedal asks for, in proportion to torque.
func (t *Targets) ByPedal() table.Table {
	venue := t.run.Trim.Venue.Pressure
	const lower = "even the lowest pressure computed gives more torque than the pedal asks for"
	out := table.Plane("boost by pedal", t.PedalTargets(),
		targetSpeed(),
		table.Number("pedal", "pedal", units.Fraction, func(p *run.Target) float64 { return p.Pedal }).WithDigits(0),
		targetKnown.Cells("pedal_manifold_pressure_pa", "MAP", units.Pressure, func(p *run.Target) table.Cell {
			c := table.Num(p.Pressure)
			if p.Held {
				return c.Noted(lower)
			}
			return c
		}),
		targetKnown.Cells("pedal_boost_pa", "boost", units.GaugePressure, func(p *run.Target) table.Cell {
			if p.Throttled() {
				return table.Missing(heldBy(p))
			}
			return table.Num(p.Pressure - venue)
		}),
		targetKnown.Number("pedal_torque_nm", "torque", units.Torque, func(p *run.Target) float64 {
			return p.Pedal * p.Torque.FullLoad()
		}).WithDigits(0).InDetail(),
		targetKnown.Cells("pedal_throttled", "throttled", units.Number, func(p *run.Target) table.Cell { return table.YesNo(p.Throttled()) }).InDetail(),
	)
	out.Trim = t.run.Trim.Name
	out.Notes = append([]string{"Pedal: the share of full load's torque that is asked for."}, t.doubts()...)
	return out
}

// partLoadHeld says how the engine is held below full load.
const partLoadHeld = "Above the boost on the spring the throttle is open and the wastegate sets the pressure. " +
	"Below it the wastegate is as far open as the spring lets it, and the throttle does the rest."

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
			Meaning: "Engine torque at which the driven wheels spin in the gear, at full grip.",
			Formula: "F r/(i η), F = min(μ m g w/(q − μ h/b), μ m g (1 − w)/(1 − q + μ h/b))",
			Source:  "Gillespie, Fundamentals of Vehicle Dynamics (1992), ch. 2 (from memory)",
			Range:   "level road, one grip coefficient, no downforce, inertia of engine and wheels left out",
		},
		{
			Key: "gearbox_torque_nm", Title: "gearbox",
			Meaning: "Highest engine torque the gearbox takes.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "capped_at", Title: "limits full load",
			Meaning: "What limits the torque of full load in the gear, with the speeds where it does.",
			Formula: "see torque_cap_nm", Source: ours, Range: computed,
		},
		{
			Key: "gear_boost_pa", Title: "boost",
			Meaning: "Boost with which the engine gives no more torque than tyres and gearbox take in the gear. " +
				"Where they take all of it, the boost of full load. " + partLoadHeld,
			Formula: "pm(torque cap) − venue",
			Source:  "see torque_cap_nm", Range: "steady; torque over manifold pressure through the points of part load, monotone cubic",
		},
		{
			Key: "torque_cap_nm", Title: "torque",
			Meaning: "Engine torque accepted in the gear.",
			Formula: "min(grip torque, gearbox rating, full load)", Source: ours, Range: "0 or more",
		},
		{
			Key: "capped_by", Title: "limited by",
			Meaning: "What limits the torque: grip or gearbox. Empty where full load stays within both.",
			Formula: "see torque_cap_nm", Source: ours, Range: always,
		},
		{
			Key: "gear_manifold_pressure_pa", Title: "MAP",
			Meaning: "MAP with which the engine gives the torque that the gear takes.",
			Formula: "pm(torque cap)",
			Source:  "see torque_cap_nm", Range: "steady; torque over manifold pressure through the points of part load, monotone cubic",
		},
		{
			Key: "pedal", Title: "pedal",
			Meaning: "Pedal position, which asks for that share of the full-load torque at the speed.",
			Formula: "pm(T), T = pedal · full-load torque", Source: practice, Range: "0 to 1",
		},
		{
			Key: "pedal_manifold_pressure_pa", Title: "MAP",
			Meaning: "MAP at which the engine gives the share of the full-load torque that the pedal asks for.",
			Formula: "pm(T), T = pedal · full-load torque",
			Source:  practice, Range: "steady; torque over manifold pressure through the points of part load, monotone cubic",
		},
		{
			Key: "pedal_boost_pa", Title: "boost",
			Meaning: "Boost that the boost control is asked for at the pedal position. " + partLoadHeld + " It is empty where the throttle does the rest.",
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
			Meaning: "Whether the boost control leaves a higher MAP than the pedal asks for, however far it opens the wastegate. " +
				"The throttle has to close then.",
			Formula: "pm < pm(boost on the spring), or wastegate wide open without an actuator", Source: ours, Range: "steady",
		},
	}
}
