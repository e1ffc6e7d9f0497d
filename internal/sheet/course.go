package sheet

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/course"
	"bellmouth/internal/formula"
	"bellmouth/internal/gearing"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A Course is the trim's car over its course, whose tables are asked for.
type Course struct {
	*run.Course
	Err error // why the car does not get over it
	run *Run
}

// Course is run.Run's, by the points between the speeds asked for too. What keeps the car from getting over the course is told in its tables; what keeps
// everything from being known of it is an error.
func (r *Run) Course() (*Course, error) {
	c, err := r.Review().Fine.Course()
	if c == nil {
		return nil, err
	}
	return &Course{c, err, r}, nil
}

// limitNames name what limits a car on a course.
var limitNames = map[course.Limit]string{
	course.ByEngine: "engine", course.ByTraction: "traction", course.ByCorner: "corner", course.ByBrakes: "brakes", course.ByLimiter: "limiter",
	course.ByShift: "shift",
}

// errNothingSlows says why a stage has no slowest place.
var errNothingSlows = errors.New("nothing slows the car down")

// Stage returns what the course comes to as a whole.
func (c *Course) Stage() table.Table {
	trim := c.Drive.Run.Trim
	of, density := trim.Course, 0.0
	use, useErr := c.Drive.Run.Use()
	density = use.Density
	known := table.Known[*Course](func(c *Course) error { return c.Err })
	number := func(key, title string, kind units.Kind, get func(s *course.Stage) float64) table.Field[*Course] {
		return known.Number(key, title, kind, func(c *Course) float64 { return get(c.Course.Stage) })
	}
	work := func(key, title string, get func(w *gearing.Work) float64) table.Field[*Course] {
		return number(key, title, units.RunEnergy, func(s *course.Stage) float64 { return get(&s.Work) })
	}
	slowed := known.And(func(c *Course) error {
		if !c.Slowest.Found {
			return errNothingSlows
		}
		return nil
	})
	start := "standing"
	if of.Flying {
		start = "flying lap"
	}
	fields := []table.Field[*Course]{
		table.Words("course_name", "course", func(*Course) string { return of.Name }),
		table.Words("course_start", "start", func(*Course) string { return start }),
		table.Number("course_length_m", "length", units.Distance, func(c *Course) float64 { return c.Stations[len(c.Stations)-1].Distance }),
		table.Number("course_height_m", "finish above start", units.Distance, func(c *Course) float64 { return c.Height }),
		number("course_time_s", "stage time", units.RunTime, func(s *course.Stage) float64 { return s.Time }),
	}
	t := table.One("stage", c, append(fields,
		number("course_mean_speed_m_s", "mean speed", units.RoadSpeed, func(s *course.Stage) float64 { return s.Length / s.Time }).WithDigits(1),
		number("course_top_speed_m_s", "highest speed", units.RoadSpeed, func(s *course.Stage) float64 { return s.Top.Velocity }),
		number("course_top_speed_at_m", "  at", units.Distance, func(s *course.Stage) float64 { return s.Top.Distance }),
		slowed.Number("course_least_speed_m_s", "lowest speed", units.RoadSpeed, func(c *Course) float64 { return c.Slowest.Velocity }),
		slowed.Number("course_least_speed_at_m", "  at", units.Distance, func(c *Course) float64 { return c.Slowest.Distance }),
		number("course_lateral_m_s2", "highest lateral", units.Acceleration, func(s *course.Stage) float64 { return s.Lateral }),
		number("course_lateral_at_m", "  at", units.Distance, func(s *course.Stage) float64 { return s.LateralAt }),
		number("course_full_throttle", "at full throttle", units.Fraction,
			func(s *course.Stage) float64 { return s.Limited[course.ByEngine] / s.Time }).WithDigits(0),
		number("course_longest_full_s", "longest stretch of it", units.RunTime, func(s *course.Stage) float64 { return s.Open.Time }),
		number("course_longest_full_from_m", "  from", units.Distance, func(s *course.Stage) float64 { return s.Open.From }),
		number("course_longest_full_to_m", "  to", units.Distance, func(s *course.Stage) float64 { return s.Open.To }),
		known.Cells("course_upshifts", "upshifts", units.Number, func(c *Course) table.Cell { return table.Count(c.Upshifts) }).WithDigits(0),
		known.Cells("course_downshifts", "downshifts", units.Number, func(c *Course) table.Cell { return table.Count(c.Downshifts) }).WithDigits(0),
		known.Answer("fuel_use_m3", "fuel", units.TankVolume, func(c *Course) (float64, error) { return c.Fuel / density, useErr }).WithDigits(2),
		number("run_fuel_kg", "  which weighs", units.Mass, func(s *course.Stage) float64 { return s.Fuel }).WithDigits(2),
		work("course_brake_work_j", "into the brakes", func(w *gearing.Work) float64 { return w.Brakes }),
		number("course_brake_power_w", "  mean power", units.Power, func(s *course.Stage) float64 { return s.Work.Brakes / s.Time }),
		number("course_brake_peak_w", "  at most", units.Power, func(s *course.Stage) float64 { return s.BrakePower }).WithDigits(0),
		number("course_brake_peak_at_m", "  at", units.Distance, func(s *course.Stage) float64 { return s.BrakeAt }),
		work("run_engine_work_j", "engine work", func(w *gearing.Work) float64 { return w.Engine }).InDetail(),
		work("run_kinetic_j", "kinetic", func(w *gearing.Work) float64 { return w.Kinetic }).InDetail(),
		work("run_drag_j", "drag", func(w *gearing.Work) float64 { return w.Drag }).InDetail(),
		work("run_rolling_j", "rolling", func(w *gearing.Work) float64 { return w.Rolling }).InDetail(),
		work("run_gradient_j", "gradient", func(w *gearing.Work) float64 { return w.Gradient }).InDetail(),
		work("run_gearbox_j", "gearbox", func(w *gearing.Work) float64 { return w.Gearbox }).InDetail(),
		work("run_clutch_j", "clutch", func(w *gearing.Work) float64 { return w.Clutch }).InDetail(),
	)...)
	if c.Err != nil {
		t = table.One("stage", c, fields...)
	}
	t.Layout, t.Trim = table.Pairs, trim.Name
	t.Notes = []string{"Quasi-steady, in the best line that the course has: a driver's time lies above it. Take differences."}
	if of.Flying && math.Abs(c.Height) > lapCloses {
		t.Notes = append(t.Notes, fmt.Sprintf("The lap ends %s above its start. A lap comes back to where it begins: look over the grades.",
			units.Mark(c.Height, units.Distance)))
	}
	return t
}

// lapCloses is how far from its begin in height a lap may end without a word, m: grades are measured to a tenth of a per cent.
const lapCloses = 3.0

// A stageShare is a part of the stage's time.
type stageShare struct {
	of, name string
	time     float64
	share    float64
}

// Shares returns what limits the car for how long, and how long it is in each gear.
func (c *Course) Shares() table.Table {
	var all []stageShare
	for _, l := range course.Limits() {
		all = append(all, stageShare{"limited by", limitNames[l], c.Limited[l], c.Limited[l] / c.Time})
	}
	for g, time := range c.InGear {
		all = append(all, stageShare{"in gear", fmt.Sprint(g + 1), time, time / c.Time})
	}
	all = slices.DeleteFunc(all, func(s stageShare) bool { return s.time == 0 })
	t := table.Of("stage shares", all,
		table.Words("share_of", "of", func(s stageShare) string { return s.of }),
		table.Words("share_name", "by", func(s stageShare) string { return s.name }),
		table.Number("share_time_s", "time", units.RunTime, func(s stageShare) float64 { return s.time }),
		table.Number("time_share", "share", units.Fraction, func(s stageShare) float64 { return s.share }),
	)
	t.Trim = c.Drive.Run.Trim.Name
	return t
}

// sectionLength is the length of the sections that a stage is told in, m.
const sectionLength = 250

// Sections returns the stage in parts.
func (c *Course) Sections() table.Table {
	type section = course.Section
	t := table.Of("stage sections", c.Course.Sections(sectionLength),
		table.Number("section_to_m", "to", units.Distance, func(s section) float64 { return s.To }),
		table.Number("section_from_m", "from", units.Distance, func(s section) float64 { return s.From }).InDetail(),
		table.Number("section_time_s", "time", units.RunTime, func(s section) float64 { return s.Time }),
		table.Number("elapsed_s", "since start", units.RunTime, func(s section) float64 { return s.Elapsed }),
		table.Number("section_speed_m_s", "speed at end", units.RoadSpeed, func(s section) float64 { return s.Velocity }),
		table.Number("section_least_m_s", "lowest", units.RoadSpeed, func(s section) float64 { return s.Slowest }),
		table.Number("section_most_m_s", "highest", units.RoadSpeed, func(s section) float64 { return s.Fastest }),
		table.Counts("section_gear", "gear most", func(s section) int { return s.Gear + 1 }),
		table.Words("section_limit", "limited most by", func(s section) string { return limitNames[s.Limit] }),
	)
	t.Trim = c.Drive.Run.Trim.Name
	return t
}

// Corners returns the corners that hold the car back; ok is false where none does.
func (c *Course) Corners() (t table.Table, ok bool) {
	type corner = course.Corner
	all := c.Course.Corners(c.Stations)
	bends := table.Known[corner](func(k corner) error {
		if math.IsInf(k.Radius, 1) {
			return errors.New("no radius: the course allows a speed there")
		}
		return nil
	})
	t = table.Of("stage corners", all,
		table.Number("corner_at_m", "at", units.Distance, func(k corner) float64 { return k.From }),
		table.Number("corner_to_m", "to", units.Distance, func(k corner) float64 { return k.To }).InDetail(),
		bends.Number("corner_radius_m", "radius", units.Distance, func(k corner) float64 { return k.Radius }).WithDigits(1),
		table.Words("corner_way", "turns", func(k corner) string {
			switch {
			case math.IsInf(k.Radius, 1):
				return ""
			case k.Right:
				return "right"
			}
			return "left"
		}),
		table.Number("corner_enter_m_s", "enters at", units.RoadSpeed, func(k corner) float64 { return k.Enter }),
		table.Number("corner_least_m_s", "lowest", units.RoadSpeed, func(k corner) float64 { return k.Slowest }),
		table.Number("corner_exit_m_s", "leaves at", units.RoadSpeed, func(k corner) float64 { return k.Exit }),
		table.Counts("corner_gear", "gear", func(k corner) int { return k.Gear + 1 }),
		bends.Number("corner_lateral_m_s2", "lateral", units.Acceleration, func(k corner) float64 { return k.Lateral }),
		table.Number("corner_time_s", "time", units.RunTime, func(k corner) float64 { return k.Time }),
	)
	t.Trim = c.Drive.Run.Trim.Name
	return t, len(all) > 0
}

// Worth returns what changes of the car are worth.
func (c *Course) Worth() table.Table {
	known := table.Known[run.Change](func(ch run.Change) error { return ch.Err })
	t := table.Of("what a change is worth", c.Course.Worth(),
		table.Words("car_change", "change", func(ch run.Change) string { return ch.What }),
		table.Words("car_change_id", "change", func(ch run.Change) string { return ch.ID }).InDetail(),
		known.Number("course_time_s", "stage time", units.RunTime, func(ch run.Change) float64 { return ch.Time }),
		known.Number("time_gained_s", "gains", units.RunTime, func(ch run.Change) float64 { return ch.Gain }),
	)
	t.Trim = c.Drive.Run.Trim.Name
	t.Notes = []string{fmt.Sprintf("%[1]s more: the torque at every speed by the same factor, so that the peak power rises by %[1]s. A gain below 0 is a loss.", units.Whole(run.MorePower, units.Power)),
		"Where the tyres limit, power is worth nothing, and mass little: one coefficient of friction holds for all loads here. Real tyres lose some with the load."}
	return t
}

// ByTrim returns the stage times of several trims, with what each gains on the first that has one; ok is false where there are not two to compare.
func ByTrim(courses []*Course) (t table.Table, ok bool) {
	known := table.Known[*Course](func(c *Course) error { return c.Err })
	first := slices.IndexFunc(courses, func(c *Course) bool { return c.Err == nil })
	if len(courses) < 2 || first < 0 {
		return table.Table{}, false
	}
	of := courses[first]
	t = table.Of("stage by trim", courses,
		table.Words("trim_name", "trim", func(c *Course) string { return c.Drive.Run.Trim.Name }),
		table.Words("course_name", "course", func(c *Course) string { return c.Drive.Run.Trim.Course.Name }),
		known.Number("course_time_s", "stage time", units.RunTime, func(c *Course) float64 { return c.Time }),
		known.Cells("time_gained_s", "gains", units.RunTime, func(c *Course) table.Cell {
			if c == of {
				return table.Null()
			}
			return table.Num(of.Time - c.Time)
		}),
	)
	t.Notes = []string{fmt.Sprintf("Gains are on the trim %s.", of.Drive.Run.Trim.Name)}
	return t, true
}

// courseEntries explain the columns above.
func courseEntries() []formula.Entry {
	const (
		newton = "Newton's second law"
		most   = "the engine's own drag does not help: the most there is"
		steady = "quasi-steady point mass; no crests, no downforce, no turning in"
		pass   = "(m + mw + Ie i² η/r²) Δ(v²)/2 = (F − D − R − G) Δs in steps of 1 m at most; |Y| ≤ μ N, F and brakes at most √(μ² − (Y/N)²) N"
	)
	see := func(key, title, meaning string) formula.Entry {
		return formula.Entry{Key: key, Title: title, Meaning: meaning, Formula: "see course_time_s", Source: newton, Range: steady}
	}
	return []formula.Entry{
		{Key: "course_name", Title: "course", Meaning: "What the course is called.", Formula: given, Source: given, Range: always},
		{Key: "course_start", Title: "start",
			Meaning: "How the course begins: from rest, or as a lap at the speed with which it ends.", Formula: given, Source: given,
			Range: always},
		{Key: "course_length_m", Title: "length", Meaning: "Length of the course along the road.", Formula: given, Source: given, Range: always},
		{Key: "course_height_m", Title: "finish above start",
			Meaning: "Height of the finish above the start.", Formula: "Σ Δs sin(atan grade)", Source: ours,
			Range: "the distance counts along the road"},
		{Key: "course_time_s", Title: "stage time",
			Meaning: "Time over the course, as fast as engine, tyres and brakes let the car be at every place.",
			Formula: pass, Source: "Newton's second law; circle of friction: Gillespie, Fundamentals of Vehicle Dynamics (1992), ch. 10, from memory", Range: steady},
		{Key: "course_mean_speed_m_s", Title: "mean speed",
			Meaning: "Length of the course over the time.", Formula: "s/t", Source: ours, Range: steady},
		see("course_top_speed_m_s", "highest speed", "Highest speed on the course."),
		{
			Key: "course_top_speed_at_m", Title: "at",
			Meaning: "Distance from the start at which the car is fastest.",
			Formula: seeRow, Source: ours, Range: steady,
		},
		{Key: "course_least_speed_m_s", Title: "lowest speed",
			Meaning: "Lowest speed after the first place that slows the car down.", Formula: "see course_time_s",
			Source: newton, Range: steady},
		{Key: "course_least_speed_at_m", Title: "at",
			Meaning: "Distance from the start at which that is.", Formula: seeRow, Source: ours, Range: steady},
		{
			Key: "course_lateral_m_s2", Title: "highest lateral",
			Meaning: "Highest lateral acceleration on the course.",
			Formula: "v²/r", Source: "kinematics", Range: steady,
		},
		{Key: "course_lateral_at_m", Title: "at",
			Meaning: "Distance from the start at which that is.", Formula: seeRow, Source: ours, Range: steady},
		{Key: "course_full_throttle", Title: "at full throttle",
			Meaning: "Share of the time in which full load drives the car. Shifts are not counted in.",
			Formula: "Σ Δt at full load/t", Source: ours, Range: steady},
		{Key: "course_longest_full_s", Title: "longest stretch of it",
			Meaning: "Time of the longest stretch at full throttle, with the shifts in it. What heats up with the load has that long to do so.",
			Formula: "see course_time_s", Source: ours, Range: steady},
		{
			Key: "course_longest_full_from_m", Title: "from",
			Meaning: "Where the longest stretch at full throttle begins.",
			Formula: seeRow, Source: ours, Range: steady,
		},
		{Key: "course_longest_full_to_m", Title: "to", Meaning: "Where it ends.", Formula: seeRow, Source: ours, Range: steady},
		{Key: "course_upshifts", Title: "upshifts",
			Meaning: "Upshifts on the course, each at the speed of upshift_rpm; none where the next corner makes staying in the gear quicker.",
			Formula: "see upshift_rpm", Source: ours, Range: "each costs driveline.shift"},
		{Key: "course_downshifts", Title: "downshifts",
			Meaning: "Gears changed down on the course. On the brakes they cost nothing; up a slope that the gear does not pull they cost driveline.shift.time.",
			Formula: "a gear is taken again 10 % below the speed of its upshift; common practice, no source", Source: ours, Range: steady},
		{Key: "course_brake_work_j", Title: "into the brakes", Meaning: "Energy that goes into the brakes, those of all wheels together.",
			Formula: "Σ (F − D − R − G) Δs − Δ(kinetic) where it brakes", Source: "conservation of energy",
			Range: most},
		{Key: "course_brake_power_w", Title: "mean power",
			Meaning: "Mean power into the brakes over the whole course.", Formula: "into the brakes/t",
			Source: ours, Range: most},
		{Key: "course_brake_peak_w", Title: "at most",
			Meaning: "Highest power into the brakes, over a step.", Formula: "into the brakes in the step/Δt", Source: ours,
			Range: most},
		{Key: "course_brake_peak_at_m", Title: "at", Meaning: "Where that is.", Formula: seeRow, Source: ours, Range: steady},
		{
			Key: "share_of", Title: "of",
			Meaning: "What the time is shared by: what limits the car, or the gear that it is in.",
			Formula: seeRow, Source: ours, Range: steady,
		},
		{Key: "share_name", Title: "by",
			Meaning: "What limits: engine (full load), traction (the driven tyres take no more), corner (side force, or the speed that the course allows), " +
				"brakes (the tyres take no more), limiter, shift. Or the gear.", Formula: "see course_time_s", Source: ours,
			Range: "corner: within 1 % of the speed that it holds; common practice, no source"},
		{Key: "share_time_s", Title: "time", Meaning: "Time with that limit, or in that gear.", Formula: "Σ Δt", Source: ours, Range: steady},
		{Key: "time_share", Title: "share", Meaning: "That time as a share of the stage time.", Formula: "Σ Δt/t", Source: ours, Range: steady},
		{
			Key: "section_to_m", Title: "to",
			Meaning: "Distance from the start at which the section ends.",
			Formula: "every 250 m", Source: ours, Range: always,
		},
		{
			Key: "section_from_m", Title: "from",
			Meaning: "Distance from the start at which the section begins.",
			Formula: "every 250 m", Source: ours, Range: always,
		},
		see("section_time_s", "time", "Time in the section."),
		see("elapsed_s", "since start", "Time from the start to the end of the section."),
		see("section_speed_m_s", "speed at end", "Speed at the end of the section."),
		see("section_least_m_s", "lowest", "Lowest speed in the section."),
		see("section_most_m_s", "highest", "Highest speed in the section."),
		see("section_gear", "gear most", "Gear in which the car is for most of the section's time."),
		see("section_limit", "limited most by", "What limits the car for most of the section's time; see share_name."),
		{Key: "corner_at_m", Title: "at",
			Meaning: "Distance from the start at which the corner begins.", Formula: given, Source: given, Range: always},
		{Key: "corner_to_m", Title: "to",
			Meaning: "Distance from the start at which the corner ends.", Formula: given, Source: given, Range: always},
		{Key: "corner_radius_m", Title: "radius",
			Meaning: "Radius of the corner where it is tightest.", Formula: given, Source: given, Range: always},
		{
			Key: "corner_way", Title: "turns",
			Meaning: "Which way the corner turns: right with a radius above 0, left with one below.",
			Formula: given, Source: given, Range: always,
		},
		see("corner_enter_m_s", "enters at", "Speed at the start of the corner."),
		see("corner_least_m_s", "lowest", "Lowest speed in the corner."),
		see("corner_exit_m_s", "leaves at", "Speed at the end of the corner."),
		see("corner_gear", "gear", "Gear where the car is slowest in the corner."),
		{
			Key: "corner_lateral_m_s2", Title: "lateral",
			Meaning: "Highest lateral acceleration in the corner.",
			Formula: "v²/r", Source: "kinematics", Range: steady,
		},
		see("corner_time_s", "time", "Time in the corner."),
		{
			Key: "car_change", Title: "change",
			Meaning: "What is changed in the car to see what it is worth.",
			Formula: seeRow, Source: ours, Range: "the upshifts follow it",
		},
		{Key: "car_change_id", Title: "change", Meaning: "Name of the change for scripts.", Formula: seeRow, Source: ours, Range: always},
		{Key: "time_gained_s", Title: "gains",
			Meaning: "Stage time without the change, or of the trim compared with, less that with it. Below 0 it is slower.",
			Formula: "t − t'", Source: ours, Range: steady},
	}
}
