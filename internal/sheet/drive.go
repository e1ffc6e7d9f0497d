package sheet

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/formula"
	"bellmouth/internal/gearing"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A Drive is what the car does with a run's torque, whose tables are asked for.
type Drive struct {
	*run.Drive
	run *Run
}

// Drive is run.Run's, by the points between the speeds asked for too.
func (r *Run) Drive(at run.Place) (*Drive, error) {
	d, err := r.Review().Fine.Drive(at)
	if err != nil {
		return nil, err
	}
	return &Drive{d, r}, nil
}

// endings name what ends a gear's speed.
var endings = map[gearing.Ending]string{
	gearing.ByLimiter: "limiter", gearing.ByResistance: "drag and grade", gearing.ByGrip: "grip", gearing.ByKnowledge: "speeds asked for",
	gearing.CannotPull: "does not pull",
}

// OnTheRoad returns what the car is driven on, and how fast it gets there.
func (d *Drive) OnTheRoad() table.Table {
	v := d.Vehicle
	lo, hi, shifts := d.Band()
	used := table.Known[*Drive](func(*Drive) error {
		switch {
		case slices.ContainsFunc(d.Upshifts, func(u gearing.Upshift) bool { return u.Unknown }):
			return errBeyond
		case !shifts:
			return errNoUpshift
		}
		return nil
	})
	pulls := table.Known[*Drive](func(*Drive) error {
		if d.Top.Ending == gearing.CannotPull {
			return errNoPull
		}
		return nil
	})
	t := table.One("on the road", d,
		table.Words("surface_name", "surface", func(*Drive) string {
			if d.Surface == "" {
				return "the car's grip"
			}
			return d.Surface
		}),
		table.Number("grip_coefficient", "grip coefficient", units.Number, func(*Drive) float64 { return d.Road.Grip }).WithDigits(2),
		table.Number("rolling_resistance", "rolling resistance", units.Number, func(*Drive) float64 { return d.Road.Rolling }).WithDigits(3),
		table.Number("grade", "grade", units.Fraction, func(*Drive) float64 { return d.Road.Grade }).WithDigits(1),
		table.Number("grip_thrust_n", "grip thrust", units.Force, func(*Drive) float64 { return d.Grip }),
		table.Number("mass_kg", "mass", units.Mass, func(*Drive) float64 { return v.Mass }).WithDigits(0),
		table.Number("rolling_radius_m", "rolling radius", units.Length, func(*Drive) float64 { return v.RollingRadius }).WithDigits(0),
		table.Number("drag_area_m2", "drag area", units.Area, func(*Drive) float64 { return v.DragArea }).InDetail(),
		table.Number("density_kg_m3", "air density", units.Density, func(*Drive) float64 { return v.AirDensity }),
		pulls.Number("top_speed_m_s", "top speed", units.RoadSpeed, func(*Drive) float64 { return d.Top.Velocity }),
		pulls.Cells("top_speed_gear", "  in gear", units.Number, func(*Drive) table.Cell { return table.Count(d.Top.Gear + 1) }).WithDigits(0),
		pulls.Number("top_speed_rpm", "  at", units.Speed, func(*Drive) float64 { return d.Top.EngineSpeed }),
		table.Words("top_speed_by", "  ended by", func(*Drive) string { return endings[d.Top.Ending] }),
		used.Number("used_from_rpm", "band used from", units.Speed, func(*Drive) float64 { return lo }),
		used.Number("used_to_rpm", "  to", units.Speed, func(*Drive) float64 { return hi }),
		table.Lists("limiter_in_gears", "limiter seen in", func(*Drive) []string { return d.limiterSeen() }),
	)
	t.Layout, t.Trim = table.Pairs, d.Run.Trim.Name
	return t
}

// limiterSeen names the gears whose limiter comes before the best upshift, and the top gear where the limiter ends the top speed.
func (d *Drive) limiterSeen() []string {
	var gears []string
	for _, u := range d.Upshifts {
		if u.Unknown {
			return []string{"not known"}
		}
		if d.AtLimiter(u) {
			gears = append(gears, fmt.Sprintf("gear %d", u.Gear+1))
		}
	}
	if d.Top.Ending == gearing.ByLimiter && d.Top.Gear == len(d.Tops)-1 {
		gears = append(gears, fmt.Sprintf("gear %d at its top speed", d.Top.Gear+1))
	}
	if gears == nil {
		return []string{"none"}
	}
	return gears
}

// shifts names the upshifts that there are, with the speed of each; none where one of them is not known.
func (d *Drive) shifts() []string {
	shifts := []string{}
	for _, u := range d.Upshifts {
		at := run.Speed(math.Round(u.EngineSpeed*3/math.Pi) * math.Pi / 3)
		if d.AtLimiter(u) {
			at = "limiter"
		}
		if u.Unknown {
			return nil
		}
		if !u.None {
			shifts = append(shifts, fmt.Sprintf("%d-%d %s", u.Gear+1, u.Gear+2, at))
		}
	}
	return shifts
}

// upshiftKnown is an upshift that there is.
var upshiftKnown table.Known[gearRow] = func(g gearRow) error {
	return upshiftErr(g.Upshift)
}

// upshiftErr says why there is no upshift to tell, nil where there is one.
func upshiftErr(u gearing.Upshift) error {
	switch {
	case u.Unknown:
		return errBeyond
	case u.None:
		return errNoUpshift
	}
	return nil
}

// A gearRow is a gear with the upshift that leaves it.
type gearRow struct {
	gearing.Upshift
	ratio, overall float64
	top            gearing.Top
	last           bool
	atLimiter      bool
	limitedBelow   float64
}

// The reasons why a figure of a gear is missing.
var (
	errNoUpshift = errors.New("the next gear gets the car no faster")
	errNoPull    = errors.New("it does not pull the car up this grade")
	errLastGear  = errors.New("there is no next gear")
	errBeyond    = errors.New("the engine pulls on beyond the speeds asked for")
	errNoTime    = errors.New("a downshift takes no time")
)

// UpshiftTable returns when to leave each gear.
func (d *Drive) UpshiftTable() table.Table {
	line := d.Run.Trim.Driveline
	rows := make([]gearRow, len(d.Tops))
	for i := range rows {
		rows[i] = gearRow{ratio: line.Gears[i], overall: d.Vehicle.Gears[i].Overall, top: d.Tops[i], last: i == len(rows)-1}
		rows[i].limitedBelow = d.LimitedBelow[i]
		if rows[i].last {
			rows[i].Upshift = gearing.Upshift{Gear: i, None: true}
			continue
		}
		rows[i].Upshift = d.Upshifts[i]
		rows[i].atLimiter = d.AtLimiter(d.Upshifts[i])
	}
	known := table.Known[gearRow](func(g gearRow) error {
		if g.last {
			return errLastGear
		}
		return nil
	}).And(upshiftKnown)
	moves := table.Known[gearRow](func(g gearRow) error {
		if g.top.Ending == gearing.CannotPull {
			return errNoPull
		}
		return nil
	})
	t := table.Of("upshifts", rows,
		table.Counts("gear", "gear", func(g gearRow) int { return g.Gear + 1 }),
		table.Number("gear_ratio", "ratio", units.Number, func(g gearRow) float64 { return g.ratio }).WithDigits(2),
		table.Number("overall_ratio", "overall", units.Number, func(g gearRow) float64 { return g.overall }).WithDigits(2).InDetail(),
		table.Number("grip_limited_to_m_s", "tyres limit to", units.RoadSpeed, func(g gearRow) float64 { return g.limitedBelow }),
		known.Cells("upshift_rpm", "upshift", units.Speed, func(g gearRow) table.Cell {
			c := table.Num(g.EngineSpeed)
			if g.atLimiter {
				return c.Noted("the limiter comes before the best upshift")
			}
			return c
		}),
		known.Number("upshift_from_rpm", "as good from", units.Speed, func(g gearRow) float64 { return g.FromSpeed }),
		known.Number("upshift_to_rpm", "to", units.Speed, func(g gearRow) float64 { return g.ToSpeed }),
		known.Number("upshift_road_speed_m_s", "at", units.RoadSpeed, func(g gearRow) float64 { return g.Velocity }),
		known.Number("landing_rpm", "lands at", units.Speed, func(g gearRow) float64 { return g.Landing }),
		known.Number("late_shift_s", "lost by end", units.Time, func(g gearRow) float64 { return g.Late }).WithDigits(0),
		moves.Number("gear_top_speed_m_s", "top speed", units.RoadSpeed, func(g gearRow) float64 { return g.top.Velocity }),
		table.Words("gear_ends_by", "ended by", func(g gearRow) string { return endings[g.top.Ending] }),
	)
	t.Trim = d.Run.Trim.Name
	s := d.Vehicle.Shift
	cost := fmt.Sprintf("An upshift costs %.0f ms without thrust", s.Time*1000)
	if d.Vehicle.Shifts != nil {
		cost += ", and the torque of the table \"shift cut\""
	} else if s.Kept < 1 && s.Recovery > 0 {
		cost += fmt.Sprintf("; then there is %.0f %% of the torque, back to full load in %.0f ms", s.Kept*100, s.Recovery*1000)
	}
	t.Notes = []string{cost + "."}
	if d.Vehicle.EngineInertia == 0 || d.Vehicle.WheelInertia == 0 {
		t.Notes = append(t.Notes, "What speeds up engine or wheels themselves is counted with driveline.engine_inertia and car.wheel_inertia.")
	}
	return t
}

// cutKnown is a shift whose boost is known.
var cutKnown table.Known[run.ShiftCut] = func(c run.ShiftCut) error {
	if err := upshiftErr(c.Upshift); err != nil {
		return err
	}
	return c.Err
}

// ShiftCut returns what each upshift leaves of the boost, with an ignition cut and with a lift; ok is false without a turbocharger whose inertia is given.
func (d *Drive) ShiftCut() (t table.Table, ok bool) {
	cuts, err := d.Run.ShiftCuts(d.Vehicle, d.Gearing)
	if err != nil {
		return table.Table{}, false
	}
	venue := d.Run.Trim.Venue.Pressure
	plenum := d.Run.Trim.Manifold != nil && d.Run.Trim.Manifold.Plenum > 0
	fields := []table.Field[run.ShiftCut]{
		table.Counts("gear", "gear", func(c run.ShiftCut) int { return c.Gear + 1 }),
		cutKnown.Number("upshift_rpm", "upshift", units.Speed, func(c run.ShiftCut) float64 { return c.EngineSpeed }),
		cutKnown.Number("shift_boost_pa", "boost", units.GaugePressure, func(c run.ShiftCut) float64 { return c.Boost - venue }),
		cutKnown.Number("landing_rpm", "lands at", units.Speed, func(c run.ShiftCut) float64 { return c.Upshift.Landing }),
		cutKnown.Number("landing_boost_pa", "full load", units.GaugePressure, func(c run.ShiftCut) float64 { return c.Landing - venue }),
		cutKnown.Number("kept_boost_pa", "boost kept", units.GaugePressure, func(c run.ShiftCut) float64 { return c.After - venue }),
		cutKnown.Number("kept_torque", "torque", units.Fraction, func(c run.ShiftCut) float64 { return c.Torque }).WithDigits(0),
		cutKnown.Number("boost_back_s", "back in", units.Time, func(c run.ShiftCut) float64 { return c.Kept.Recovery }).WithDigits(0),
		cutKnown.Number("shaft_before_rpm", "shaft", units.Speed, func(c run.ShiftCut) float64 { return c.Before }).WithDigits(table.Hundreds),
		cutKnown.Number("shaft_after_rpm", "after", units.Speed, func(c run.ShiftCut) float64 { return c.Kept.After }).WithDigits(table.Hundreds),
		cutKnown.Number("shaft_needed_rpm", "needed", units.Speed, func(c run.ShiftCut) float64 { return c.Needed }).WithDigits(table.Hundreds),
	}
	if plenum {
		fields = append(fields, cutKnown.Number("lift_refill_s", "lift costs", units.Time, func(c run.ShiftCut) float64 { return c.Refill }).WithDigits(0))
	}
	t = table.Of("shift cut", cuts, fields...)
	t.Trim = d.Run.Trim.Name
	t.Notes = []string{fmt.Sprintf("Throttle open, ignition cut for %.0f ms; the shaft coasts. Left out: cold air through the turbine, fuel that burns in it.", d.Vehicle.Shift.Time*1000)}
	if plenum {
		t.Notes = append(t.Notes, "Lift costs: time on top to fill the plenum again when the throttle is closed instead. Hoses and cooler, if vented, take more.")
	}
	return t, true
}

// DownshiftTable returns what a change into each lower gear wants of the engine, and from which road speed on it would turn it too fast.
func (d *Drive) DownshiftTable() (t table.Table, ok bool, err error) {
	downs, err := d.Downshifts()
	if err != nil || len(downs) == 0 {
		return table.Table{}, false, err
	}
	known := table.Known[run.Downshift](func(s run.Downshift) error { return upshiftErr(s.Upshift) })
	rises := known.And(func(s run.Downshift) error { return s.Blip.Err })
	held := rises.And(func(s run.Downshift) error { return s.Blip.PartErr })
	fields := []table.Field[run.Downshift]{
		table.Counts("into_gear", "into", func(s run.Downshift) int { return s.Gear + 1 }),
		table.Number("downshift_highest_m_s", "not above", units.RoadSpeed, func(s run.Downshift) float64 { return s.Highest }),
		known.Number("downshift_road_speed_m_s", "at", units.RoadSpeed, func(s run.Downshift) float64 { return s.Velocity }),
		known.Number("downshift_from_rpm", "from", units.Speed, func(s run.Downshift) float64 { return s.From }),
		known.Number("downshift_to_rpm", "to", units.Speed, func(s run.Downshift) float64 { return s.To }),
		known.Number("downshift_rise_rpm", "rise", units.Speed, func(s run.Downshift) float64 { return s.To - s.From }),
	}
	notes := []string{
		"Not above: at more than that the wheels turn the engine faster than its limiter lets it, and nothing holds it.",
		"The rest is told at the road speed of the best upshift out of the gear.",
	}
	if d.Vehicle.EngineInertia > 0 {
		fields = append(fields,
			rises.Number("blip_open_s", "open takes", units.Time, func(s run.Downshift) float64 { return s.Blip.Open }).WithDigits(0),
			known.Answer("blip_torque_nm", "torque", units.Torque, func(s run.Downshift) (float64, error) {
				if math.IsInf(s.Downshift.Torque, 1) {
					return 0, errNoTime
				}
				return s.Downshift.Torque, nil
			}).WithDigits(0),
			held.Number("blip_manifold_pressure_pa", "MAP", units.Pressure, func(s run.Downshift) float64 { return s.Blip.Pressure }),
			held.Number("blip_air_flow_kg_s", "air", units.MassFlow, func(s run.Downshift) float64 { return s.Blip.AirFlow }),
		)
		wants, of := "Torque, MAP and air", "; how far the throttle opens for it is told with manifold.throttle"
		if m := d.Run.Trim.Manifold; m != nil && m.Throttle != nil {
			opens := held.Number("blip_throttle", "throttle", units.Fraction, func(s run.Downshift) float64 { return s.Blip.Throttle })
			fields = append(fields, opens.WithDigits(0))
			wants, of = "Torque, MAP, air and throttle, a share of its area", ""
		}
		gone := ""
		if d.Run.Forced() {
			gone = ", with the boost gone"
		}
		notes = append(notes, "Open takes: the time in which the engine comes up with the clutch out and the throttle open"+gone+".",
			fmt.Sprintf("%s: what brings it up within the %.0f ms of a downshift%s.", wants, d.Run.Trim.Driveline.DownTime*1000, of))
	}
	t = table.Of("downshifts", downs, fields...)
	t.Trim, t.Notes = d.Run.Trim.Name, notes
	return t, true, nil
}

// RunUpTable returns how long the car takes over the runs that it is timed over.
func (d *Drive) RunUpTable() table.Table {
	known := table.Known[run.Timed](func(t run.Timed) error { return t.Err })
	seconds := func(key, title string, get func(t run.Timed) float64) table.Field[run.Timed] {
		return known.Number(key, title, units.RunTime, get)
	}
	work := func(key, title string, get func(w gearing.Work) float64) table.Field[run.Timed] {
		return known.Number(key, title, units.Energy, func(t run.Timed) float64 { return get(t.Done.Work) }).InDetail()
	}
	runs := d.RunUps()
	t := table.Of("run-ups", runs,
		table.Words("run_up", "run", func(t run.Timed) string { return t.Name }),
		seconds("run_up_time_s", "time", func(t run.Timed) float64 { return t.Done.Time }),
		known.Number("run_distance_m", "distance", units.Distance, func(t run.Timed) float64 { return t.Done.Distance }),
		known.Number("run_end_speed_m_s", "end speed", units.RoadSpeed, func(t run.Timed) float64 { return t.Done.Velocity }),
		known.Cells("run_end_gear", "in gear", units.Number, func(t run.Timed) table.Cell { return table.Count(t.Done.Gear + 1) }).WithDigits(0),
		known.Cells("run_shifts", "shifts", units.Number, func(t run.Timed) table.Cell { return table.Count(t.Done.Shifts) }).WithDigits(0),
		seconds("run_grip_limited_s", "tyres limit", func(t run.Timed) float64 { return t.Done.Limited }),
		work("run_engine_work_j", "engine work", func(w gearing.Work) float64 { return w.Engine }),
		work("run_kinetic_j", "kinetic", func(w gearing.Work) float64 { return w.Kinetic }),
		work("run_drag_j", "drag", func(w gearing.Work) float64 { return w.Drag }),
		work("run_rolling_j", "rolling", func(w gearing.Work) float64 { return w.Rolling }),
		work("run_gradient_j", "gradient", func(w gearing.Work) float64 { return w.Gradient }),
		work("run_gearbox_j", "gearbox", func(w gearing.Work) float64 { return w.Gearbox }),
		work("run_clutch_j", "clutch", func(w gearing.Work) float64 { return w.Clutch }),
	)
	t.Trim = d.Run.Trim.Name
	there := "torque"
	if d.Run.Forced() {
		there = "boost"
	}
	t.Notes = []string{
		fmt.Sprintf("Standing start: the clutch slips at %s, with the %s of that speed there from the start.", units.Mark(d.Launch().EngineSpeed, units.Speed),
			there),
	}
	if d.slips(runs) {
		t.Notes = append(t.Notes, "The tyres limit the start alone: the clutch passes on what in gear goes into speeding up the engine.")
	}
	return t
}

// slips reports whether the tyres limit with the clutch slipping, and never in gear.
func (d *Drive) slips(runs []run.Timed) bool {
	inGear := slices.ContainsFunc(d.LimitedBelow, func(velocity float64) bool { return velocity > 0 })
	return !inGear && slices.ContainsFunc(runs, func(t run.Timed) bool { return t.Err == nil && t.Done.Limited > 0 })
}

// A pullCell is what a gear does at one engine speed.
type pullCell struct {
	gearing.Pull
	gear     int
	velocity float64
	speed    float64
	err      error
}

// Thrust returns what each gear does over the engine speeds asked for.
func (d *Drive) Thrust() (table.Table, error) {
	var cells []pullCell
	for i := range d.run.Outcomes {
		o := &d.run.Outcomes[i]
		for gear, g := range d.Vehicle.Gears {
			c := pullCell{gear: gear + 1, velocity: d.Vehicle.RoadSpeed(o.Speed, g.Overall), speed: o.Speed}
			if o.Err != nil {
				c.err = run.ErrNoSolution
			} else if c.Pull, c.err = d.Vehicle.Pull(gear, c.velocity, d.Road); c.err != nil {
				return table.Table{}, c.err
			}
			cells = append(cells, c)
		}
	}
	known := table.Known[pullCell](func(c pullCell) error { return c.err })
	noted := func(c pullCell, x float64) table.Cell {
		cell := table.Num(x)
		if c.Limited {
			return cell.Noted("the tyres take no more; the engine is held to the torque for that").Toned(table.Caution)
		}
		return cell
	}
	t := table.Plane("thrust by gear", cells,
		table.Number("rpm", "speed", units.Speed, func(c pullCell) float64 { return c.speed }),
		table.Counts("gear", "gear", func(c pullCell) int { return c.gear }),
		table.Number("road_speed_m_s", "road speed", units.RoadSpeed, func(c pullCell) float64 { return c.velocity }),
		known.Cells("thrust_n", "thrust", units.Force, func(c pullCell) table.Cell { return noted(c, c.Pull.Thrust) }),
		known.Cells("acceleration_m_s2", "acceleration", units.Acceleration, func(c pullCell) table.Cell { return noted(c, c.Acceleration) }),
		known.Cells("thrust_grip_limited", "limited by grip", units.Number, func(c pullCell) table.Cell { return table.YesNo(c.Limited) }).InDetail(),
		known.Number("thrust_torque_nm", "torque", units.Torque, func(c pullCell) float64 { return c.Pull.Torque }).WithDigits(0).InDetail(),
		known.Number("drag_n", "drag", units.Force, func(c pullCell) float64 { return c.Drag }).InDetail(),
		known.Number("rolling_n", "rolling", units.Force, func(c pullCell) float64 { return c.Rolling }).InDetail(),
		known.Number("gradient_n", "gradient", units.Force, func(c pullCell) float64 { return c.Gradient }).InDetail(),
	)
	t.Trim = d.Run.Trim.Name
	return t, nil
}

// driveEntries explain the columns above.
func driveEntries() []formula.Entry {
	const newton = "Newton's second law; Gillespie, Fundamentals of Vehicle Dynamics (1992), ch. 2 (from memory)"
	const rolls = "no slip, no wind, no downforce, full load steady at every speed"
	return []formula.Entry{
		{
			Key: "surface_name", Title: "surface",
			Meaning: "Surface that the car drives on, of those that the spec names.",
			Formula: "--surface", Source: given, Range: always,
		},
		{
			Key: "grip_coefficient", Title: "grip coefficient",
			Meaning: "Friction coefficient between tyre and road.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "rolling_resistance", Title: "rolling resistance",
			Meaning: "Rolling resistance over the weight on the axles.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "grade", Title: "grade",
			Meaning: "Rise of the road over its run, positive uphill.",
			Formula: "--grade", Source: given, Range: "-50 % to 50 %",
		},
		{
			Key: "grip_thrust_n", Title: "grip thrust",
			Meaning: "Greatest thrust of the driven tyres at which neither axle spins, with the load that the acceleration moves.",
			Formula: "min(μ (W w − f W h/b)/(q − μ h/b), μ (W (1 − w) + f W h/b)/(1 − q + μ h/b)), W = m g cos θ",
			Source:  "Gillespie, Fundamentals of Vehicle Dynamics (1992), ch. 2 (from memory)",
			Range:   "one grip coefficient, a locked differential, no downforce",
		},
		{
			Key: "mass_kg", Title: "mass",
			Meaning: "Mass of the car with driver and fuel.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "rolling_radius_m", Title: "rolling radius",
			Meaning: "Rolling radius of the driven wheels, as given or by the size of their tyres.",
			Formula: "3.05 D/(2π), D = rim + 2 height · width", Source: "rule of the tyre standards for radial tyres, from memory", Range: "loaded, about 60 km/h",
		},
		{
			Key: "drag_area_m2", Title: "drag area",
			Meaning: "Drag coefficient times frontal area.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "top_speed_m_s", Title: "top speed",
			Meaning: "Highest speed that the car holds: where drag, rolling resistance and gradient take all the thrust, or at the limiter.",
			Formula: "T i η/r = ρ/2 Cd A v² + f m g cos θ + m g sin θ, or v = ω r/i", Source: newton, Range: rolls,
		},
		{
			Key: "top_speed_gear", Title: "in gear",
			Meaning: "Gear of the top speed.",
			Formula: "see top_speed_m_s", Source: newton, Range: rolls,
		},
		{
			Key: "top_speed_rpm", Title: "at",
			Meaning: "Engine speed at the top speed.",
			Formula: "ω = v i/r", Source: "kinematics of a rolling wheel", Range: rolls,
		},
		{
			Key: "top_speed_by", Title: "ended by",
			Meaning: "What ends the top speed: drag, with rolling resistance and gradient, the limiter, or the end of the speeds asked for.",
			Formula: "see top_speed_m_s", Source: newton, Range: rolls,
		},
		{
			Key: "used_from_rpm", Title: "band used from",
			Meaning: "Lowest engine speed that an upshift lands at, each at its best.",
			Formula: "least of landing_rpm", Source: ours, Range: rolls,
		},
		{
			Key: "used_to_rpm", Title: "to",
			Meaning: "Highest engine speed at a best upshift.",
			Formula: "most of upshift_rpm", Source: ours, Range: rolls,
		},
		{
			Key: "limiter_in_gears", Title: "limiter seen in",
			Meaning: "Gears in which the limiter comes before the best upshift, and whether it ends the top speed.",
			Formula: "see upshift_rpm", Source: ours, Range: rolls,
		},
		{
			Key: "grip_limited_to_m_s", Title: "tyres limit to",
			Meaning: "Road speed up to which the engine gives more thrust in the gear than the driven tyres take; 0 where it never does.",
			Formula: "X = T i η/r − (Ie i² η + Iw driven)/r² a against grip_thrust_n", Source: newton, Range: rolls,
		},
		{
			Key: "upshift_rpm", Title: "upshift",
			Meaning: "Engine speed at which to shift up: the one that loses least over a common distance, the time without thrust and the torque lost counted.",
			Formula: "least of ∫ (1 − v/vb)/a dv over both gears and the shift, up to the speed vb at which the gear ends",
			Source:  "Newton's second law; the measure is derived", Range: rolls,
		},
		{
			Key: "upshift_from_rpm", Title: "as good from",
			Meaning: "Lowest engine speed at which the upshift loses less than 0.01 s against the best.",
			Formula: "see upshift_rpm", Source: "0.01 s: common practice, no source", Range: rolls,
		},
		{
			Key: "upshift_to_rpm", Title: "to",
			Meaning: "Highest engine speed at which the upshift loses less than 0.01 s against the best.",
			Formula: "see upshift_rpm", Source: "0.01 s: common practice, no source", Range: rolls,
		},
		{
			Key: "upshift_road_speed_m_s", Title: "at",
			Meaning: "Road speed at the best upshift.",
			Formula: "v = ω r/i", Source: "kinematics of a rolling wheel", Range: rolls,
		},
		{
			Key: "landing_rpm", Title: "lands at",
			Meaning: "Engine speed in the next gear after the best upshift.",
			Formula: "upshift_rpm × ratio of the next gear over that of this one", Source: "kinematics of a rolling wheel", Range: rolls,
		},
		{
			Key: "late_shift_s", Title: "lost by end",
			Meaning: "Time lost by staying in the gear to its end instead of shifting at the best speed: to the limiter, or to 99.5 % of the speed that drag leaves.",
			Formula: "see upshift_rpm", Source: "derived", Range: rolls,
		},
		{
			Key: "gear_top_speed_m_s", Title: "top speed",
			Meaning: "Highest speed that the gear holds.",
			Formula: "see top_speed_m_s", Source: newton, Range: rolls,
		},
		{
			Key: "gear_ends_by", Title: "ended by",
			Meaning: "What ends the gear's speed: the limiter, drag with rolling resistance and gradient, or the end of the speeds asked for.",
			Formula: "see top_speed_m_s", Source: newton, Range: rolls,
		},
		{
			Key: "thrust_n", Title: "thrust",
			Meaning: "Thrust of the driven tyres at the road, at most what they take.",
			Formula: "X = T i η/r − (Ie i² η + Iw driven)/r² a", Source: newton, Range: rolls,
		},
		{
			Key: "acceleration_m_s2", Title: "acceleration", Also: []string{"at"},
			Meaning: "Acceleration of the car. Of the cover over the pickup: that it is told for.",
			Formula: "a = (T i η/r − ρ/2 Cd A v² − f m g cos θ − m g sin θ)/(m + Iw/r² + Ie i² η/r²)", Source: newton, Range: rolls,
		},
		{
			Key: "thrust_grip_limited", Title: "limited by grip",
			Meaning: "Whether the engine would give more thrust than the driven tyres take.",
			Formula: "see grip_thrust_n", Source: newton, Range: rolls,
		},
		{
			Key: "thrust_torque_nm", Title: "torque",
			Meaning: "Torque of the engine that the tyres take.",
			Formula: "full load, or that of grip_thrust_n", Source: newton, Range: rolls,
		},
		{
			Key: "shift_boost_pa", Title: "boost", Meaning: "Boost of full load at the upshift.",
			Formula: "see boost_pa", Source: solution, Range: "steady",
		},
		{
			Key: "landing_boost_pa", Title: "full load", Meaning: "Boost of full load where the next gear lands.",
			Formula: "see boost_pa", Source: solution, Range: "steady",
		},
		{
			Key: "kept_boost_pa", Title: "boost kept",
			Meaning: "Boost right after a shift with an ignition cut: that of full load where the shaft is still fast enough for it, else what its speed gives.",
			Formula: "p PR'/PR, PR'^k − 1 = (PR^k − 1) (Ω'/Ω)², k = (γ − 1)/γ", Source: "similarity of compressors",
			Range: "same flow, efficiency and flow coefficient",
		},
		{
			Key: "kept_torque", Title: "torque",
			Meaning: "Torque right after the shift as a share of full load in the next gear.",
			Formula: "(IMEP p'/p − (IMEP − BMEP))/BMEP", Source: "derived: friction and pumping stay", Range: "same burn and mixture",
		},
		{
			Key: "boost_back_s", Title: "back in",
			Meaning: "Time in which the shaft is back at 98 % of the energy that full load in the next gear has, with the wastegate closed.",
			Formula: "E0/P ln((1/(1 − f) − e)/(1/(1 − f) − 0.98)), E0 = I Ω²/2, e = (Ω'/Ω)², f the wastegate's share", Source: "conservation of energy",
			Range: "exhaust of full load: less boost gives less, so that it takes somewhat longer",
		},
		{
			Key: "shaft_before_rpm", Title: "shaft", Meaning: "Speed of the shaft at full load before the shift.",
			Formula: "see shaft_rpm", Source: solution, Range: "steady",
		},
		{
			Key: "shaft_after_rpm", Title: "after",
			Meaning: "Speed of the shaft after the cut.",
			Formula: "Ω0 exp(−P t/(I Ω0²)), P the turbine's power of full load", Source: "angular momentum; work of a compressor after Euler",
			Range: "no exhaust drives it, the engine draws the same flow: somewhat less than it really has",
		},
		{
			Key: "shaft_needed_rpm", Title: "needed", Meaning: "Speed of the shaft that full load has where the next gear lands.",
			Formula: "see shaft_rpm", Source: solution, Range: "steady",
		},
		{
			Key: "lift_refill_s", Title: "lift costs",
			Meaning: "Time that the compressors take to fill the plenum again after a closed throttle let it fall to the venue's pressure.",
			Formula: "V (p − pa)/(R T m)", Source: "conservation of mass", Range: "plenum alone; the shaft coasts as with the cut",
		},
		{
			Key: "into_gear", Title: "into", Meaning: "Gear that is changed into, from the next higher one.",
			Formula: seeRow, Source: ours, Range: always,
		},
		{
			Key: "downshift_highest_m_s", Title: "not above",
			Meaning: "Road speed above which a change into the gear turns the engine faster than its limiter lets it.",
			Formula: "v = ω r/i at engine.limiter", Source: "kinematics of a rolling wheel", Range: rolls,
		},
		{
			Key: "downshift_road_speed_m_s", Title: "at",
			Meaning: "Road speed that the downshift is told for: that of the best upshift out of the gear.",
			Formula: "see upshift_road_speed_m_s", Source: ours, Range: rolls,
		},
		{
			Key: "downshift_from_rpm", Title: "from", Meaning: "Engine speed before the downshift.",
			Formula: "ω = v i/r in the higher gear", Source: "kinematics of a rolling wheel", Range: rolls,
		},
		{
			Key: "downshift_to_rpm", Title: "to", Meaning: "Engine speed after the downshift, which the driver matches with the throttle.",
			Formula: "ω = v i/r in the lower gear", Source: "kinematics of a rolling wheel", Range: rolls,
		},
		{
			Key: "downshift_rise_rpm", Title: "rise", Meaning: "Engine speed that a downshift adds.",
			Formula: "downshift_to_rpm − downshift_from_rpm", Source: "kinematics of a rolling wheel", Range: rolls,
		},
		{
			Key: "blip_open_s", Title: "open takes",
			Meaning: "Time in which the engine comes up for a downshift with the clutch out and the throttle open, without boost.",
			Formula: "Ie ∫ dω/T, by Simpson's rule from three speeds", Source: "angular momentum",
			Range: "torque of the venue's pressure in the manifold, steady; the throttle opens at once",
		},
		{
			Key: "blip_torque_nm", Title: "torque",
			Meaning: "Torque, after friction and gas exchange, that brings the engine up in the time of a downshift.",
			Formula: "T = Ie Δω/driveline.shift.down_time", Source: "angular momentum", Range: rolls,
		},
		{
			Key: "blip_manifold_pressure_pa", Title: "MAP",
			Meaning: "Manifold pressure at which the engine gives that torque half-way up.",
			Formula: "part load, see torque_nm", Source: solution, Range: "steady; at most the venue's pressure",
		},
		{
			Key: "blip_air_flow_kg_s", Title: "air", Meaning: "Air that the engine takes then.",
			Formula: "part load, see air_flow_kg_s", Source: solution, Range: "steady",
		},
		{
			Key: "blip_throttle", Title: "throttle",
			Meaning: "Share of the throttle's free area that lets that air through.",
			Formula: "ṁ √(R T)/(p0 ψ(pm/p0)) over the free area of manifold.throttle", Source: "NACA Report 1135 (1953), flow through a nozzle",
			Range: "a nozzle without losses: a plate has to open somewhat further",
		},
		{
			Key: "run_up", Title: "run",
			Meaning: "What the car is timed over: between two road speeds, or over a distance.",
			Formula: seeRow, Source: ours, Range: always,
		},
		{
			Key: "run_up_time_s", Title: "time",
			Meaning: "Time over the run at full load, with the best upshifts; no reaction time.",
			Formula: "∫ dt, a = (T i η/r − D − R − m g sin θ)/(m + Iw/r² + Ie i² η/r²), at most what the tyres take; Runge–Kutta in 5 ms",
			Source:  newton, Range: rolls,
		},
		{Key: "run_distance_m", Title: "distance", Meaning: "Distance of the run.", Formula: "∫ v dt", Source: newton, Range: rolls},
		{Key: "run_end_speed_m_s", Title: "end speed", Meaning: "Road speed at the end of the run.", Formula: "∫ a dt", Source: newton, Range: rolls},
		{Key: "run_end_gear", Title: "in gear", Meaning: "Gear at the end of the run.", Formula: "see run_up_time_s", Source: newton, Range: rolls},
		{Key: "run_shifts", Title: "shifts", Meaning: "Upshifts in the run.", Formula: "see run_up_time_s", Source: newton, Range: rolls},
		{
			Key: "run_grip_limited_s", Title: "tyres limit",
			Meaning: "Time of the run in which the tyres take less than the engine gives.", Formula: "see run_up_time_s", Source: newton, Range: rolls,
		},
		{Key: "run_engine_work_j", Title: "engine work", Meaning: "Work of the engine in the run.", Formula: "∫ T ω dt", Source: newton, Range: rolls},
		{
			Key: "run_kinetic_j", Title: "kinetic", Meaning: "Kinetic energy that car, wheels and engine gained in the run.",
			Formula: "Δ(m + Iw/r²) v²/2 + Δ Ie ω²/2", Source: newton, Range: rolls,
		},
		{Key: "run_drag_j", Title: "drag", Meaning: "Work against the air in the run.", Formula: "∫ D v dt", Source: newton, Range: rolls},
		{Key: "run_rolling_j", Title: "rolling", Meaning: "Work against the rolling resistance in the run.", Formula: "R x", Source: newton, Range: rolls},
		{Key: "run_gradient_j", Title: "gradient", Meaning: "Work up the grade in the run.", Formula: "m g sin θ x", Source: newton, Range: rolls},
		{
			Key: "run_gearbox_j", Title: "gearbox", Meaning: "Work lost in gearbox, final drive and joints in the run.",
			Formula: "∫ (1 − η) (T − Ie dω/dt) ω dt", Source: newton, Range: rolls,
		},
		{
			Key: "run_clutch_j", Title: "clutch", Meaning: "Work lost in the clutch: at the start, and in slowing the engine down in shifts.",
			Formula: "∫ T (ωe − ωg) dt + Σ Ie (ω1² − ω2²)/2", Source: newton, Range: rolls,
		},
		{Key: "drag_n", Title: "drag", Meaning: "Drag of the air.", Formula: "ρ/2 Cd A v²", Source: "definition of the drag coefficient", Range: rolls},
		{Key: "rolling_n", Title: "rolling", Meaning: "Rolling resistance.", Formula: "f m g cos θ", Source: ours, Range: "at any speed alike"},
		{Key: "gradient_n", Title: "gradient", Meaning: "Part of the weight that pulls the car down the grade.", Formula: "m g sin θ", Source: newton, Range: always},
	}
}
