package sheet

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/oil"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A Pan is the sump of a run, with how the oil stands in it all round.
type Pan struct {
	run.Sump
	run   *Run
	leans []run.Lean
}

// Pan returns the sump of the run. grip is the acceleration that the tyres hold, m/s²; 0 takes car.grip. The trim has to have a sump.
func (r *Run) Pan(grip float64) (*Pan, error) {
	p := &Pan{Sump: r.Run.Sump(grip), run: r}
	if p.ReachErr != nil && !errors.Is(p.ReachErr, run.ErrNoGrip) {
		return nil, p.ReachErr
	}
	if p.Shape == nil {
		return p, nil
	}
	var err error
	p.leans, err = p.Leans()
	return p, err
}

// Shaped reports whether the shape is given, without which nothing is known of the pickup.
func (p *Pan) Shaped() bool { return p.Shape != nil }

// stays names what has no limit as far as it is looked for.
func stays() string {
	return "covered up to " + units.Mark(oil.MostSearched, units.Acceleration)
}

// uncovering returns the acceleration at which the pickup uncovers.
func uncovering(l *run.Lean) table.Cell {
	if math.IsInf(l.Limit, 1) {
		return table.Missing(stays())
	}
	return table.Num(l.Limit)
}

// lasting returns how long a supply lasts.
func (p *Pan) lasting(lasts float64) table.Cell {
	switch {
	case p.UpErr != nil:
		return table.Missing(p.UpErr.Error())
	case math.IsInf(lasts, 1):
		return table.Missing("for ever: as much comes back as goes up")
	}
	return table.Num(lasts)
}

// Holds returns what the sump or tank holds and, where its shape is given, at which acceleration its pickup uncovers and how much oil keeps it
// covered.
func (p *Pan) Holds() (table.Table, error) {
	fields := []table.Field[*Pan]{
		table.Number("oil_filled_m3", "oil filled", units.TankVolume, func(p *Pan) float64 { return p.Oil }).WithDigits(2),
		table.Number("oil_in_engine_m3", "  of it up in the engine, at most", units.TankVolume, func(p *Pan) float64 { return p.Above }).WithDigits(2),
		table.Number("oil_in_engine_rpm", "  at", units.Speed, func(p *Pan) float64 { return p.Speed }),
		table.Number("sump_oil_m3", "oil left in the "+p.vessel(), units.TankVolume, func(p *Pan) float64 { return p.Volume }).WithDigits(2),
		table.Number("sump_capacity_m3", p.vessel()+" holds up to its lid", units.TankVolume, func(p *Pan) float64 { return p.Capacity }).WithDigits(2),
		table.Number("air_room_m3", "  room for air over all the oil", units.TankVolume, func(p *Pan) float64 { return p.Capacity - p.Oil }).WithDigits(2),
	}
	var notes []string
	if p.Shape != nil {
		more, err := p.pickupFields()
		if err != nil {
			return table.Table{}, err
		}
		fields = append(fields, more...)
		notes = []string{"Oil that sloshes into a corner stands higher at its far side than this, up to twice after a sudden turn."}
	} else {
		notes = []string{"Without the plan of the tank nothing is known of its pickup in corners."}
	}
	t := table.One("sump", p, fields...)
	t.Trim, t.Notes = p.run.Trim.Name, notes
	return t, nil
}

// vessel names what the pump takes its oil from.
func (p *Pan) vessel() string {
	if p.Dry {
		return "tank"
	}
	return "sump"
}

func (p *Pan) pickupFields() ([]table.Field[*Pan], error) {
	level, err := p.Shape.At(p.Volume, oil.Acceleration{})
	if err != nil {
		return nil, err
	}
	height := p.Shape.Shape().Pickup.Height
	worst := run.Nearest(p.leans)
	var fill oil.Fill
	if p.ReachErr == nil {
		fill = p.LowestFill()
	}
	reached := table.Known[*Pan](func(p *Pan) error { return p.ReachErr })
	uncovers := table.Known[*Pan](func(*Pan) error {
		if math.IsInf(worst.Limit, 1) {
			return errors.New(stays())
		}
		return nil
	})
	shortest := func(p *Pan) table.Cell {
		if l := run.Shortest(p.leans); l != nil {
			return p.lasting(l.Lasts)
		}
		return p.lasting(worst.Lasts)
	}
	return []table.Field[*Pan]{
		table.Number("sump_level_m", "oil level at rest", units.Length, func(*Pan) float64 { return level.Cover + height }),
		table.Number("pickup_height_m", "  wanted at the pickup", units.Length, func(*Pan) float64 { return height }),
		reached.Number("grip_reach_m_s2", "car corners and brakes at", units.Acceleration, func(p *Pan) float64 { return p.Reach.Grip }),
		reached.Cells("drive_reach_m_s2", "car accelerates at, at most", units.Acceleration, func(p *Pan) table.Cell {
			if math.IsInf(p.Reach.Drive, 1) {
				return table.Missing("the section car is not given")
			}
			return table.Num(math.Min(p.Reach.Drive, p.Reach.Grip))
		}),
		uncovers.Cells("worst_direction", "nearest to uncovering", units.Number,
			func(*Pan) table.Cell { return table.Text(check.LeanText(worst)) }),
		uncovers.Number("uncover_m_s2", "  uncovers at", units.Acceleration, func(*Pan) float64 { return worst.Limit }),
		reached.And(uncovers).Number("reach_m_s2", "  of what the car reaches there", units.Acceleration, func(*Pan) float64 { return worst.Reach }),
		reached.Cells("lowest_fill_m3", "lowest fill that stays covered", units.TankVolume, func(p *Pan) table.Cell { return p.lowest(fill) }).WithDigits(2),
		reached.Cells("fill_direction", "  asked for", units.Number, func(*Pan) table.Cell { return table.Text(check.DirectionText(fill.Direction)) }),
		reached.Cells("supply_lasts_s", "supply lasts, in the worst direction", units.ShortDuration, shortest),
	}, nil
}

// lowest returns the lowest fill, which the vessel may not hold.
func (p *Pan) lowest(fill oil.Fill) table.Cell {
	if fill.Volume > p.Capacity {
		return table.Missing("no fill that the " + p.vessel() + " holds stays covered up to what the car reaches")
	}
	return table.Num(fill.Volume)
}

// The directions of the table of cover over acceleration.
var mainWays = []struct {
	key, title string
	direction  float64
}{
	{"left_turn_cover_m", "left turn", math.Pi / 2},
	{"right_turn_cover_m", "right turn", -math.Pi / 2},
	{"braking_cover_m", "braking", math.Pi},
	{"accelerating_cover_m", "accelerating", 0},
}

// Cover returns the height of the oil above the pickup over the acceleration in each direction.
func (p *Pan) Cover() (table.Table, error) {
	most := 1.5 * oil.Gravity
	if p.ReachErr == nil {
		most = math.Max(most, 1.1*p.Reach.Grip)
	}
	const step = 0.1 * oil.Gravity
	var sizes []float64
	for i := 0; float64(i)*step < most+step/2; i++ {
		sizes = append(sizes, float64(i)*step)
	}
	var failed error
	fields := []table.Field[float64]{table.Number("acceleration_m_s2", "at", units.Acceleration, func(a float64) float64 { return a })}
	for _, way := range mainWays {
		fields = append(fields, table.Number(way.key, way.title, units.Length, func(a float64) float64 {
			s, err := p.Shape.At(p.Volume, oil.Towards(way.direction, a))
			if err != nil {
				failed = err
			}
			return s.Cover
		}))
	}
	t := table.Of("pickup cover", sizes, fields...)
	t.Trim, t.Notes = p.run.Trim.Name, []string{"Below 0 the pickup is uncovered."}
	return t, failed
}

// Directions returns all round where the pickup uncovers, what the car reaches and how much oil that takes.
func (p *Pan) Directions() table.Table {
	const every = 3 // of the directions looked at
	var some []*run.Lean
	for i := 0; i < run.Directions; i += every {
		some = append(some, &p.leans[i])
	}
	reached := table.Known[*run.Lean](func(*run.Lean) error { return p.ReachErr })
	t := table.Of("pickup by direction", some,
		table.Number("direction_deg", "direction", units.Angle, func(l *run.Lean) float64 { return l.Direction }).WithDigits(0),
		table.Words("direction", "which is", func(l *run.Lean) string {
			text := check.DirectionText(l.Direction)
			for i := range text {
				if text[i] == ',' { // the angle has its column
					return text[:i]
				}
			}
			return text
		}),
		table.Cells("uncover_m_s2", "uncovers at", units.Acceleration, uncovering),
		reached.Number("reach_m_s2", "car reaches", units.Acceleration, func(l *run.Lean) float64 { return l.Reach }),
		reached.Number("reach_cover_m", "cover there", units.Length, func(l *run.Lean) float64 { return l.Cover }),
		reached.Number("fill_needed_m3", "fill needed", units.TankVolume, func(l *run.Lean) float64 { return l.Needed + p.Above }).WithDigits(2),
		reached.Number("oil_above_pickup_m3", "above pickup", units.TankVolume, func(l *run.Lean) float64 { return l.Left }).WithDigits(2),
		reached.Cells("supply_lasts_s", "lasts", units.ShortDuration, func(l *run.Lean) table.Cell { return p.lasting(l.Lasts) }),
	)
	t.Trim = p.run.Trim.Name
	t.Notes = []string{fmt.Sprintf("%s gains speed, %s turns left, %s brakes, %s turns right. Of the oil filled, %s are up in the engine.",
		units.Whole(0, units.Angle), units.Whole(math.Pi/2, units.Angle), units.Whole(math.Pi, units.Angle), units.Whole(1.5*math.Pi, units.Angle),
		units.Mark(p.Above, units.TankVolume))}
	return t
}

// ByGrip returns what the sump makes of grips from ice to slicks, and of the car's own.
func (p *Pan) ByGrip() (table.Table, error) {
	grounds, err := p.run.Grounds()
	if err != nil {
		return table.Table{}, err
	}
	uncovers := table.Known[run.Ground](func(g run.Ground) error {
		if math.IsInf(g.Worst.Limit, 1) {
			return errors.New(stays())
		}
		return nil
	})
	t := table.Of("pickup by grip", grounds,
		table.Number("grip", "grip", units.Number, func(g run.Ground) float64 { return g.Grip / oil.Gravity }).WithDigits(2),
		table.Words("grip_from", "which is", func(g run.Ground) string { return g.Name }),
		table.Truths("stays_covered", "stays covered", func(g run.Ground) bool { return !check.Passes(g.Fill.Volume, p.Oil) }),
		uncovers.Number("uncover_m_s2", "uncovers at", units.Acceleration, func(g run.Ground) float64 { return g.Worst.Limit }),
		uncovers.Cells("worst_direction", "nearest to uncovering", units.Number,
			func(g run.Ground) table.Cell { return table.Text(check.LeanText(&g.Worst)) }),
		table.Cells("lowest_fill_m3", "lowest fill", units.TankVolume, func(g run.Ground) table.Cell { return p.lowest(g.Fill) }).WithDigits(2),
		table.Cells("supply_lasts_s", "lasts", units.ShortDuration, func(g run.Ground) table.Cell { return p.lasting(g.Lasts) }),
	)
	t.Trim = p.run.Trim.Name
	t.Notes = []string{"Grip of tyre and ground, common practice without a source: ice 0.1 to 0.2, gravel 0.5 to 0.7, " +
		"wet tarmac 0.7 to 0.9, dry tarmac 1.0 to 1.2, slicks 1.3 to 1.6."}
	return t, nil
}

// Scavenge returns what the scavenge pumps bring over engine speed; ok is false without them, or where it is not known what goes through the engine.
func (p *Pan) Scavenge() (t table.Table, ok bool, err error) {
	if p.Sump.Scavenge == nil {
		return t, false, nil
	}
	points, err := p.run.Scavenging()
	if errors.Is(err, run.ErrNoPump) {
		return t, false, nil
	}
	t = table.Of("scavenge", points,
		table.Number("rpm", "speed", units.Speed, func(s run.ScavengePoint) float64 { return s.Speed }),
		table.Number("scavenge_flow_m3_s", "pumps move", units.UseFlow, func(s run.ScavengePoint) float64 { return s.Flow }),
		table.Number("scavenge_oil_m3_s", "of it oil", units.UseFlow, func(s run.ScavengePoint) float64 { return s.Oil }),
		table.Number("oil_engine_m3_s", "engine takes", units.UseFlow, func(s run.ScavengePoint) float64 { return s.Engine }),
		table.Number("scavenge_margin", "to spare", units.Fraction, func(s run.ScavengePoint) float64 { return s.Margin() }),
		table.Cells("tank_empties_s", "tank empties in", units.ShortDuration, func(s run.ScavengePoint) table.Cell {
			if math.IsInf(s.Empties, 1) {
				return table.Missing("never: the pumps keep up")
			}
			return table.Num(s.Empties)
		}),
	)
	t.Trim = p.run.Trim.Name
	t.Notes = []string{fmt.Sprintf("The pumps move %.0f %% air, as stated.", 100*p.Sump.Scavenge.Air)}
	return t, err == nil, err
}

// OilProperties returns the oil's viscosity and the bearings that it runs through.
func (r *Run) OilProperties() (table.Table, error) {
	o := r.Trim.Oil
	at := func(temperature float64) (nu float64) {
		nu, err := o.Liquid.Kinematic(temperature)
		if err != nil {
			return math.NaN()
		}
		return nu
	}
	mu, err := r.BearingViscosity()
	if err != nil {
		return table.Table{}, err
	}
	t := table.One("oil", o,
		table.Number("gallery_temperature_k", "oil in the gallery", units.Temperature, func(o *spec.Oil) float64 { return o.Temperature }),
		table.Number("gallery_viscosity_m2_s", "  its viscosity", units.KinematicViscosity, func(o *spec.Oil) float64 { return at(o.Temperature) }),
		table.Number("film_temperature_k", "oil in the bearings", units.Temperature, func(o *spec.Oil) float64 { return o.Bearing }),
		table.Number("film_viscosity_m2_s", "  its viscosity", units.KinematicViscosity, func(o *spec.Oil) float64 { return at(o.Bearing) }),
		table.Number("film_density_kg_m3", "  its density", units.Density, func(o *spec.Oil) float64 { return o.Liquid.Density(o.Bearing) }).WithDigits(0),
		table.Number("film_dynamic_viscosity_pa_s", "  its dynamic viscosity", units.DynamicViscosity, func(*spec.Oil) float64 { return mu }).WithDigits(2),
		table.Number("main_clearance_m", "main bearings' clearance, radial", units.FilmThickness,
			func(o *spec.Oil) float64 { return o.Mains.Clearance }).WithDigits(1),
		table.Number("main_length_ratio", "  length over diameter", units.Number,
			func(o *spec.Oil) float64 { return o.Mains.Length / o.Mains.Diameter }).WithDigits(2),
		table.Number("pin_clearance_m", "big ends' clearance, radial", units.FilmThickness,
			func(o *spec.Oil) float64 { return o.Pins.Clearance }).WithDigits(1),
		table.Number("pin_length_ratio", "  length over diameter", units.Number,
			func(o *spec.Oil) float64 { return o.Pins.Length / o.Pins.Diameter }).WithDigits(2),
	)
	t.Trim = r.Trim.Name
	if longest := math.Max(o.Mains.Length/o.Mains.Diameter, o.Pins.Length/o.Pins.Diameter); longest > oil.LongestShort {
		t.Notes = []string{fmt.Sprintf("A bearing is %.2f of its diameter long. The short bearing holds up to 0.5, and to %.1f with care: "+
			"flows are too high, films too thick.",
			longest, oil.LongestShort)}
	}
	return t, nil
}

// OilPressure returns what the pump gives, where it goes and the pressure that comes of it over engine speed; ok is false without a pump.
func (r *Run) OilPressure() (t table.Table, ok bool, err error) {
	points, err := r.OilPoints()
	if errors.Is(err, run.ErrNoPump) {
		return t, false, nil
	}
	if err != nil {
		return t, false, err
	}
	of := func(key, title string, kind units.Kind, get func(p *run.OilPoint) float64) table.Field[*run.OilPoint] {
		return table.Number(key, title, kind, get)
	}
	rows := make([]*run.OilPoint, len(points))
	for i := range points {
		rows[i] = &points[i]
	}
	t = table.Of("oil pressure", rows,
		of("rpm", "speed", units.Speed, func(p *run.OilPoint) float64 { return p.Speed }),
		of("oil_pumped_m3_s", "pump gives", units.UseFlow, func(p *run.OilPoint) float64 { return p.Pumped }),
		of("oil_turning_m3_s", "bearings turn out", units.UseFlow, func(p *run.OilPoint) float64 { return p.Turning }),
		of("oil_engine_m3_s", "engine takes", units.UseFlow, func(p *run.OilPoint) float64 { return p.Engine }),
		of("oil_relieved_m3_s", "relief valve", units.UseFlow, func(p *run.OilPoint) float64 { return p.Relieved }),
		of("oil_pressure_pa", "pressure", units.PressureDifference, func(p *run.OilPoint) float64 { return p.Pressure }),
		table.Cells("oil_floor_pa", "wanted", units.PressureDifference, func(p *run.OilPoint) table.Cell {
			c := table.Num(p.Floor)
			if p.FloorHeld {
				return c.Noted("oil.pressure_floor ends before this speed; its end is taken")
			}
			return c
		}),
		of("oil_pressure_margin_pa", "to spare", units.PressureDifference, func(p *run.OilPoint) float64 { return p.Pressure - p.Floor }),
	)
	t.Trim = r.Trim.Name
	t.Notes = []string{"Hot oil. Pressure in the gallery, above that in the crankcase."}
	return t, true, nil
}

// OilFilm returns the film in the big ends under the greatest load of the cycle, over engine speed.
func (r *Run) OilFilm() (table.Table, error) {
	forces, err := r.PinForces()
	if err != nil {
		return table.Table{}, err
	}
	films := make(map[float64]run.PinForce, len(r.Outcomes))
	for i := range r.Outcomes {
		films[r.Outcomes[i].Speed] = forces[i]
	}
	film := func(get func(f run.PinForce) float64) func(o row, _ *airpath.Point) table.Cell {
		return func(o row, _ *airpath.Point) table.Cell {
			f := films[o.Speed]
			if f.Err != nil {
				return table.Missing(f.Err.Error())
			}
			return table.Num(get(f))
		}
	}
	whole := r.HasBottomEnd()
	t := r.overSpeed("oil film", slices.Concat(when(true,
		speedField(allNotes),
		figure("peak_pressure_pa", "peak pressure", units.Pressure, func(p *airpath.Point) float64 { return p.PeakPressure }).WithDigits(0),
		cells("gas_force_n", "gas force", units.Force, func(o row, p *airpath.Point) table.Cell { return table.Num(o.run.GasForce(p)) })),
		when(whole, cells("pin_peak_load_n", "most on the pin", units.Force, film(func(f run.PinForce) float64 { return f.Load })),
			cells("pin_peak_angle_deg", "at", units.Angle, film(func(f run.PinForce) float64 { return f.Angle })).WithDigits(0)),
		when(true, cells("bearing_load_pa", "on the bearing", units.PressureDifference, film(func(f run.PinForce) float64 { return f.Specific })).WithDigits(0),
			cells("eccentricity", "eccentricity", units.Number, film(func(f run.PinForce) float64 { return f.Eccentricity })),
			cells("film_thickness_m", "thinnest film", units.FilmThickness, film(func(f run.PinForce) float64 { return f.Thickness })),
		))...)
	t.Notes = []string{"Big ends under the greatest load of the cycle, gas and inertia, taken as steady. A short peak squeezes the film less thin: a low bound. " +
		"Compare it between builds."}
	if !whole {
		t.Notes = []string{"Big ends under the gas force at its peak alone, taken as steady. A short peak squeezes the film less thin. " +
			"The pistons' inertia takes off this force, and at high speed loads the bearing by itself: engine.bottom_end tells it. Compare it between builds."}
	}
	return t, nil
}

// oilEntries explain the columns above.
func oilEntries() []formula.Entry {
	const (
		hydrostatics = "hydrostatics in rigid-body motion, White, Fluid Mechanics, section 2.9"
		quasi        = "quasi-static: one plane for all oil that is joined, no sloshing; a step overshoots, up to twice (from memory)"
		friction     = "circle of the tyres' grip, no downforce; forwards what the driven wheels hold, whatever the engine's power"
	)
	const (
		walther      = "log10 log10(ν + 0.7) = A − B log10 T, ν in mm²/s"
		d341         = "ASTM D341"
		d341Range    = "2 mm²/s and more; no thinning by shear, which takes up to a third off multigrades (from memory)"
		shortBearing = "short bearing after Ocvirk, NACA TR 1157 (1953)"
		shortRange   = "length up to half the diameter, 0.7 with care; steady load"
	)
	return []formula.Entry{
		entry("oil_filled_m3", "oil filled", "All the oil that is in the engine.", given, given, always),
		entry("oil_in_engine_m3", "of it up in the engine, at most",
			"The most oil that is not in the sump while the engine runs, over the speeds computed.", given, given, computed),
		entry("oil_in_engine_rpm", "at", "Engine speed at which most oil is up in the engine.", "N at the most", ours, computed),
		entry("sump_oil_m3", "oil left in the sump", "Least oil in the sump while the engine runs.", "oil filled − oil up in the engine",
			"balance of volume", computed, "oil left in the tank"),
		entry("sump_capacity_m3", "sump holds up to its lid", "Volume of the sump from its floor to its lid, the shelf taken off.", "A D − As hs",
			"geometry of prisms", always, "tank holds up to its lid"),
		entry("sump_level_m", "oil level at rest", "Height of the oil above the floor with the car on the level.",
			"h where V(h) is the oil left in the sump", hydrostatics, always),
		entry("pickup_height_m", "wanted at the pickup", "Height above the floor that the surface must not fall below at the pickup.", given, given, always),
		entry("grip_reach_m_s2", "car corners and brakes at", "Acceleration that the tyres hold.", "μ g", "Coulomb friction; car.grip, or --g",
			"no downforce"),
		entry("drive_reach_m_s2", "car accelerates at, at most", "Acceleration at which the driven wheels spin.", "F/m, F as grip thrust",
			"Gillespie, Fundamentals of Vehicle Dynamics (1992), ch. 2, from memory",
			"the engine's power may bring less"),
		entry("worst_direction", "nearest to uncovering", "Direction of the car's acceleration in which the pickup has least to spare, or lacks most.",
			"least of uncovers at − reached, every 5 deg", ours, quasi),
		entry("uncover_m_s2", "uncovers at", "Acceleration at which the oil's surface falls to the height wanted at the pickup.",
			"a where V(a) = V: the volume under z = zp − (a·(r − rp))/g, between floor and lid, is the oil that is there", hydrostatics, quasi),
		entry("reach_m_s2", "car reaches", "Acceleration that the car reaches in the direction.", "min(μ g, ad/cos φ)", "friction circle", friction,
			"of what the car reaches there"),
		entry("lowest_fill_m3", "lowest fill that stays covered",
			"Least oil to fill so that the pickup stays covered in every direction, at every acceleration up to what the car reaches.",
			"max over directions and accelerations of the volume under the plane through the pickup, "+
				"with what is up in the engine", hydrostatics, quasi, "lowest fill"),
		entry("fill_direction", "asked for", "Direction that asks for the lowest fill.", "where it is the greatest", ours, quasi),
		entry("supply_lasts_s", "lasts", "How long the pickup stays covered in a sustained corner at what the car reaches.",
			"(V − Vn)/(up − back); of a gate (Vg − Vgn)/up; the longer one counts", "balance of volume", quasi, "supply lasts, in the worst direction"),
		entry("left_turn_cover_m", "left turn", "Height of the oil above what is wanted at the pickup, in a left turn.", "h − a·rp/g − zp", hydrostatics,
			quasi),
		entry("right_turn_cover_m", "right turn", "Height of the oil above what is wanted at the pickup, in a right turn.", "h − a·rp/g − zp",
			hydrostatics, quasi),
		entry("braking_cover_m", "braking", "Height of the oil above what is wanted at the pickup, braking.", "h − a·rp/g − zp", hydrostatics, quasi),
		entry("accelerating_cover_m", "accelerating", "Height of the oil above what is wanted at the pickup, gaining speed.", "h − a·rp/g − zp",
			hydrostatics, quasi),
		entry("direction_deg", "direction", "Direction of the car's acceleration: 0 gains speed, 90 turns left, 180 brakes, 270 turns right.",
			"see the rows", ours, always),
		entry("direction", "which is", "The direction in words.", "see the rows", ours, always),
		entry("reach_cover_m", "cover there", "Height of the oil above what is wanted at the pickup, at what the car reaches.", "h − a·rp/g − zp",
			hydrostatics, quasi),
		entry("fill_needed_m3", "fill needed",
			"Least oil to fill so that the pickup is covered at what the car reaches in the direction, with what is up in the engine.",
			"V under the plane through the pickup + oil up in the engine; "+
				"with a gate the level that fills it so far, where that is less", hydrostatics, quasi),
		entry("air_room_m3", "room for air over all the oil", "Room left when all the oil is back.", "capacity − oil filled", "balance of volume", always),
		entry("grip", "grip", "Friction coefficient between tyre and ground.", "see the rows", ours, always),
		entry("grip_from", "which is", "What the grip is of.", "see the rows", ours, always),
		entry("stays_covered", "stays covered", "Whether the oil filled is at least the lowest fill for that grip.", "oil filled ≥ lowest fill", ours, quasi),
		entry("scavenge_flow_m3_s", "pumps move", "What all stages of the scavenge pumps displace, oil and air.", "V i ηv N",
			"definition of the volumetric efficiency", always),
		entry("scavenge_oil_m3_s", "of it oil", "Oil that the scavenge pumps can move.", "(1 − air share) of what they displace", "balance of volume",
			"the air share as stated"),
		entry("scavenge_margin", "to spare", "Oil that the scavenge pumps can move over what goes through the engine, less one.", "Qs/Q − 1", ours, always),
		entry("tank_empties_s", "tank empties in", "Time in which the tank runs empty, where the scavenge pumps bring less than goes through the engine.",
			"V/(Q − Qs)", "balance of volume", "a pickup at the bottom, no acceleration"),
		entry("gallery_temperature_k", "oil in the gallery", "Temperature of the oil in the gallery.", given, given, always),
		entry("gallery_viscosity_m2_s", "its viscosity", "Kinematic viscosity of the oil in the gallery.", walther, d341, d341Range),
		entry("film_temperature_k", "oil in the bearings", "Temperature of the oil in the bearings' films.", "gallery + oil.bearing_rise", given, always),
		entry("film_viscosity_m2_s", "its viscosity", "Kinematic viscosity of the oil in the bearings.", walther, d341, d341Range),
		entry("film_density_kg_m3", "its density", "Density of the oil in the bearings.", "ρ15 (1 − 7e-4/K (T − 288.15 K))",
			"definition of the expansion; its size from memory", "engine oils"),
		entry("film_dynamic_viscosity_pa_s", "its dynamic viscosity", "Dynamic viscosity of the oil in the bearings.", "ν ρ", ours, d341Range),
		entry("main_clearance_m", "main bearings' clearance, radial", "Half of the clearance over the diameter.", "given, or 0.0005 of the journal",
			"0.001 in for each inch over the diameter, common practice", always),
		entry("main_length_ratio", "length over diameter", "Length of the bearing over the journal's diameter.", "L/D", ours, always),
		entry("pin_clearance_m", "big ends' clearance, radial", "Half of the clearance over the diameter.", "given, or 0.0005 of the journal",
			"0.001 in for each inch over the diameter, common practice", always),
		entry("pin_length_ratio", "length over diameter", "Length of the bearing over the journal's diameter.", "L/D", ours, always),
		entry("oil_pumped_m3_s", "pump gives", "Oil that the pump gives.", "V i ηv N", "definition of the volumetric efficiency", always),
		entry("oil_turning_m3_s", "bearings turn out", "Oil that the turning journals of the crank drive out at their sides, whatever the pressure.",
			"Σ n ε U c L", shortBearing, shortRange),
		entry("oil_engine_m3_s", "engine takes", "Oil that goes through bearings and jets.",
			"Σ n (ε U c L + Qp) + Qj √(p/pj), Qp = p R c³/(6 µ l) ∫ (1 + ε cos θ)³ dθ over the groove",
			shortBearing+"; Shigley, Mechanical Engineering Design, pressure-fed bearings",
			"turning and pressure add up: an upper bound; big ends take what turning takes"),
		entry("oil_relieved_m3_s", "relief valve", "Oil that the relief valve lets go.", "what the pump gives − what the engine takes",
			"balance of volume", always),
		entry("oil_pressure_pa", "pressure",
			"Pressure in the gallery above that in the crankcase, at which the engine takes what the pump gives; at most that of the relief valve.",
			"p where Q(p) = Qpump", "balance of volume", "filter, cooler and lines before the gallery lose nothing"),
		entry("oil_floor_pa", "wanted", "Pressure that the gallery should have.", "as given, or 10 psi for each 1000 rpm", practice, always),
		entry("oil_pressure_margin_pa", "to spare", "Pressure over the one wanted.", "p − pf", ours, always),
		entry("gas_force_n", "gas force", "Force of the gas on the piston at the cycle's peak.", "(pmax − pv) π B²/4", ours, "without inertia"),
		entry("bearing_load_pa", "on the bearing", "Load over the bearing's projected area.", "W/(L D)", ours, always),
		entry("eccentricity", "eccentricity", "How far the journal is from the middle, as a share of the clearance.",
			"W c²/(µ U L³) = ε/(4 (1 − ε²)²) √(π² (1 − ε²) + 16 ε²)", shortBearing, shortRange),
		entry("pin_peak_load_n", "most on the pin", "Greatest force on the crank pin's bearing within the cycle, of gas and inertia.",
			"largest of |F(θ)|", "Newton's second law; Heywood (1988), ch. 13", "rigid parts, mean cycle"),
		entry("film_thickness_m", "thinnest film",
			"Thickness of the oil at the narrowest gap as a steady load of the cycle's peak would leave it: a low bound. Without engine.bottom_end the load is the gas force.",
			"c (1 − ε)",
			shortBearing, shortRange+"; a short peak squeezes the film less thin"),
		entry("oil_above_pickup_m3", "above pickup", "Oil that the pump can still take before the pickup uncovers, at what the car reaches.",
			"V − Vn; of a gate Vg − Vgn; the greater one counts", "balance of volume", quasi),
	}
}
