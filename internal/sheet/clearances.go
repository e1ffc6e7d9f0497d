package sheet

import (
	"math"

	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/geometry"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

func sideOf(inlet bool) string {
	if inlet {
		return "inlet"
	}
	return "exhaust"
}

// PistonToValve returns the room between valves and piston. ok is false where the trim does not tell it.
func PistonToValve(trim *spec.Trim, name string) (t table.Table, ok bool) {
	rooms := run.ValveClearances(trim)
	if rooms == nil {
		return table.Table{}, false
	}
	c := trim.Engine.Cylinder
	t = table.Of("piston to valve", rooms,
		table.Words("valve_side", "valve", func(v run.ValveClearance) string { return sideOf(v.Inlet) }),
		table.Number("valve_drop_m", "at TDC", units.Length, func(v run.ValveClearance) float64 { return v.Room.At(c, 0) }).WithDigits(2),
		table.Cells("piston_to_valve_m", "least", units.Length, func(v run.ValveClearance) table.Cell {
			cell := table.Num(v.Least).Toned(failedIf(check.Tight(v.Least, v.Wanted)))
			switch {
			case v.ByEvents:
				return cell.Noted("lift by the valve's events, which stands for no cam: measure it, or give the cam's lift")
			case v.Beyond:
				return cell.Noted("outside of the angles that the lift is given for, whose end value is taken")
			}
			return cell
		}).WithDigits(2),
		table.Number("piston_to_valve_angle_deg", "at", units.Angle, func(v run.ValveClearance) float64 { return v.Angle }),
		table.Number("least_piston_to_valve_m", "wanted", units.Length, func(v run.ValveClearance) float64 { return v.Wanted }).WithDigits(2),
		table.Number("shaft_shift_deg", "shaft set later by", units.Angle, func(v run.ValveClearance) float64 { return v.Room.Shift }),
		table.Cells("shaft_room_deg", "may move by", units.Angle, func(v run.ValveClearance) table.Cell {
			shift, err := v.Room.ShiftTo(c, v.Wanted, v.Inlet)
			if err != nil {
				return table.Missing(err.Error())
			}
			return table.Num(shift)
		}),
		table.Words("shaft_way", "towards", func(v run.ValveClearance) string {
			if v.Inlet {
				return "earlier"
			}
			return "later"
		}),
	)
	t.Trim = name
	t.Notes = []string{"Along the stem, in degrees of the crank after the top dead centre of gas exchange, cold and turned by hand. " +
		"The valves of one side against those of the other are not looked at."}
	return t, true
}

// A movedShaft is a shift of the shafts with the room that it leaves.
type movedShaft struct {
	shift float64 // rad of the crank
	rooms []run.ValveClearance
}

// ShaftsMoved returns the least room of each side over how far its shaft is moved from where it is. ok is false where the trim does not tell it.
func ShaftsMoved(trim *spec.Trim, name string) (t table.Table, ok bool) {
	rooms := run.ValveClearances(trim)
	if rooms == nil {
		return table.Table{}, false
	}
	c := trim.Engine.Cylinder
	const step, steps = 4 * math.Pi / 180, 5
	var rows []movedShaft
	for i := -steps; i <= steps; i++ {
		rows = append(rows, movedShaft{float64(i) * step, rooms})
	}
	fields := []table.Field[movedShaft]{
		table.Number("moved_deg", "moved later by", units.Angle, func(m movedShaft) float64 { return m.shift }).WithDigits(0),
	}
	for i := range rooms {
		side := sideOf(rooms[i].Inlet)
		least := func(m movedShaft) geometry.Clearance { return m.rooms[i].Moved(c, m.shift) }
		fields = append(fields,
			table.Cells(side+"_to_piston_m", side, units.Length, func(m movedShaft) table.Cell {
				x := least(m).Least
				return table.Num(x).Toned(failedIf(check.Tight(x, m.rooms[i].Wanted)))
			}).WithDigits(2),
			table.Number(side+"_to_piston_angle_deg", "at", units.Angle, func(m movedShaft) float64 { return least(m).Angle }),
		)
	}
	t = table.Of("shafts moved", rows, fields...)
	t.Trim = name
	t.Notes = []string{"Least room along the stem, each shaft by itself, from where it is set. Negative: the valve meets the piston."}
	return t, true
}

// Clearances returns the measured clearances against their ranges. ok is false where the trim has none.
func Clearances(trim *spec.Trim, name string) (t table.Table, ok bool) {
	if len(trim.Engine.Clearances) == 0 {
		return table.Table{}, false
	}
	bound := func(key, title string, get func(f spec.Fit) float64) table.Field[spec.Fit] {
		return table.Cells(key, title, units.Length, func(f spec.Fit) table.Cell {
			if get(f) == 0 {
				return table.Blank()
			}
			return table.Num(get(f))
		}).WithDigits(3)
	}
	t = table.Of("clearances", trim.Engine.Clearances,
		table.Words("clearance", "clearance", func(f spec.Fit) string { return check.FitName(&f) }),
		table.Cells("measured_clearance_m", "measured", units.Length, func(f spec.Fit) table.Cell {
			return table.Num(f.Measured).Toned(tone(check.FitVerdict(&f)))
		}).WithDigits(3),
		bound("least_clearance_m", "from", func(f spec.Fit) float64 { return f.Least }),
		bound("most_clearance_m", "to", func(f spec.Fit) float64 { return f.Most }),
		table.Words("range_by", "range by", func(f spec.Fit) string {
			if f.Usual {
				return "common practice"
			}
			return "the spec"
		}),
	)
	t.Trim = name
	t.Notes = []string{"Common practice has no source: what the maker of shells, rings and pistons states comes first."}
	return t, true
}

// MeasuredRestrictor returns the bore of the restrictor at 20 °C from one measured warm. ok is false where none was measured.
func (r *Run) MeasuredRestrictor() (t table.Table, ok bool) {
	bore, ok := run.RestrictorAt20(r.Trim)
	if !ok {
		return table.Table{}, false
	}
	m, allowed := r.Trim.Intake.Measured, r.Trim.Intake.Restrictor.Bore
	t = table.One("restrictor measured", m,
		table.Number("measured_bore_m", "bore as measured", units.Length, func(m *spec.MeasuredBore) float64 { return m.Bore }).WithDigits(3),
		table.Number("measured_at_k", "  at", units.Temperature, func(m *spec.MeasuredBore) float64 { return m.Temperature }).WithDigits(1),
		table.Cells("bore_at_20_m", boreTitle, units.Length, func(*spec.MeasuredBore) table.Cell {
			return table.Num(bore).Toned(failedIf(check.Tight(allowed, bore)))
		}).WithDigits(3),
		table.Number("allowed_bore_m", "bore of the spec", units.Length, func(*spec.MeasuredBore) float64 { return allowed }).WithDigits(3),
	)
	t.Trim = r.Trim.Name
	expansion := func(s units.System, degree string) string {
		return units.Decimal(m.Expansion*1e6/units.DisplayUnit(units.TemperatureDifference, s).FromSI(1), 1) + " millionths a " + degree
	}
	t.Notes = []string{"Expansion " + units.Words(expansion(units.Metric, "kelvin"), expansion(units.Imperial, "degF"), expansion(units.SI, "kelvin")) + "."}
	return t, true
}

var boreTitle = "bore at " + units.Mark(geometry.BoreTemperature, units.Temperature)

// clearancesEntries explain the columns above.
func clearancesEntries() []formula.Entry {
	const (
		crank  = "slider-crank, closed form; the pocket parallel to the valve's face"
		within = "cold, turned by hand, within a quarter turn of top dead centre; lift by table, or by events as sin²"
	)
	at := func(key, what string) formula.Entry {
		return formula.Entry{Key: key, Title: "at", Meaning: "Crank angle of the least room " + what + ", after the top dead centre of gas exchange.",
			Formula: "where it is least",
			Source:  crank, Range: within}
	}
	return []formula.Entry{
		{Key: "valve_side", Title: "valve", Meaning: "Inlet or exhaust valves.", Formula: "given", Source: ours, Range: always},
		{Key: "valve_drop_m", Title: "at TDC", Meaning: "Room between valve and piston at top dead centre, along the stem, with the valve's lift there.",
			Formula: "drop − L(−shift)",
			Source:  crank, Range: within},
		{Key: "piston_to_valve_m", Title: "least", Meaning: "Least room between valve and piston, along the stem. Negative: they meet.",
			Formula: "least of drop + x cos α − L(θ − shift)", Source: crank, Range: within},
		at("piston_to_valve_angle_deg", "between valve and piston"),
		{Key: "least_piston_to_valve_m", Title: "wanted", Meaning: "Least room that is accepted.", Formula: "given", Source: ours, Range: always},
		{Key: "shaft_shift_deg", Title: "shaft set later by",
			Meaning: "How much later the shaft is set than events or table say, in degrees of the crank.", Formula: "given", Source: ours, Range: always},
		{Key: "shaft_room_deg", Title: "may move by",
			Meaning: "How far the shaft may be moved towards the piston, in degrees of the crank, until the least room is what is wanted. Negative: it has to go back.",
			Formula: "shift at which the least room is the wanted one", Source: crank, Range: "60 deg either way"},
		{Key: "shaft_way", Title: "towards", Meaning: "Which way the valve comes nearer to the piston: an inlet valve earlier, an exhaust valve later.",
			Formula: "given", Source: ours, Range: always},
		{Key: "moved_deg", Title: "moved later by",
			Meaning: "How far a shaft is moved later from where it is set, in degrees of the crank. Negative: earlier.", Formula: "given", Source: ours,
			Range: always},
		{Key: "inlet_to_piston_m", Title: "inlet", Meaning: "Least room between inlet valve and piston with the inlet shaft moved so.",
			Formula: "least of drop + x cos α − L(θ − shift)", Source: crank, Range: within},
		at("inlet_to_piston_angle_deg", "of the inlet valve"),
		{Key: "exhaust_to_piston_m", Title: "exhaust", Meaning: "Least room between exhaust valve and piston with the exhaust shaft moved so.",
			Formula: "least of drop + x cos α − L(θ − shift)", Source: crank, Range: within},
		at("exhaust_to_piston_angle_deg", "of the exhaust valve"),
		{Key: "clearance", Title: "clearance", Meaning: "What was measured: across the journal, the pin or the skirt, or the gap of a ring in its bore.",
			Formula: "given", Source: ours, Range: always},
		{Key: "measured_clearance_m", Title: "measured", Meaning: "The clearance as built.", Formula: "given", Source: ours, Range: always},
		{Key: "least_clearance_m", Title: "from", Meaning: "Smallest that is accepted.",
			Formula: "given; else bearings 0.001 D, top ring 0.0045 to 0.0065 B by use, second ring 1.25 of that, oil ring 0.38 mm", Source: practice,
			Range: "the maker's figures come first"},
		{Key: "most_clearance_m", Title: "to", Meaning: "Greatest that is accepted; blank where there is none.",
			Formula: "given; else bearings 0.001 D + 0.0127 mm", Source: practice, Range: "the maker's figures come first"},
		{Key: "range_by", Title: "range by", Meaning: "Whether the spec states the range, or common practice does.", Formula: "given", Source: ours,
			Range: always},
		{Key: "measured_bore_m", Title: "bore as measured", Meaning: "Bore of the restrictor as measured, warm.", Formula: "given", Source: ours, Range: always},
		{Key: "measured_at_k", Title: "at", Meaning: "Temperature of the restrictor as its bore was measured.", Formula: "given", Source: ours, Range: always},
		{Key: "bore_at_20_m", Title: boreTitle,
			Meaning: "Bore that the restrictor has at " + units.Mark(geometry.BoreTemperature, units.Temperature) + ", at which bores are stated.",
			Formula: "d/(1 + α (T − 293.15 K))",
			Source:  "mean coefficient of linear expansion, by definition; ISO 1 for 20 degC", Range: "one temperature throughout; α as stated"},
		{Key: "allowed_bore_m", Title: "bore of the spec", Meaning: "Bore that the spec gives the restrictor.", Formula: "given", Source: ours, Range: always},
	}
}
