package sheet

import (
	"errors"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// AllowedBoost returns the boost allowed over engine speed, and what the engine does there.
func AllowedBoost(a *check.Allowance) table.Table {
	r := a.Run
	venue := r.Trim.Venue.Pressure
	known := table.Known[*check.AllowedBoost](func(o *check.AllowedBoost) error {
		var nothing check.NothingAllowedError
		switch {
		case errors.As(o.Err, &nothing):
			return nothing
		case o.Err != nil:
			return errors.New(check.NoSolution + ": " + run.Reason(o.Err))
		}
		return nil
	})
	point := func(key, title string, quantity units.Kind, get func(p *airpath.Point) float64) table.Field[*check.AllowedBoost] {
		return known.Number(key, title, quantity, func(o *check.AllowedBoost) float64 { return get(&o.Point) })
	}
	rows := make([]*check.AllowedBoost, len(a.Speeds))
	for i := range a.Speeds {
		rows[i] = &a.Speeds[i]
	}
	t := table.Of("allowed boost", rows,
		table.Number("rpm", "speed", units.Speed, func(o *check.AllowedBoost) float64 { return o.Speed }),
		table.Number("target_boost_pa", "target", units.GaugePressure, func(o *check.AllowedBoost) float64 { return o.Target }),
		known.Cells("allowed_boost_pa", "allowed", units.GaugePressure, func(o *check.AllowedBoost) table.Cell {
			c := table.Num(o.Boost(venue))
			if o.Target > o.Boost(venue)+run.ReachedWithin && !o.Turbine {
				return c.Toned(table.Caution)
			}
			return c
		}),
		known.Cells("allowed_by", "limited by", units.Number, func(o *check.AllowedBoost) table.Cell { return table.Text(o.By) }),
		point("torque_nm", "torque", units.Torque, run.Torque).WithDigits(0),
		point("power_w", "power", units.Power, run.Power).WithDigits(1),
		point("shaft_rpm", "shaft", units.Speed, func(p *airpath.Point) float64 { return p.ShaftSpeed }).WithDigits(table.Hundreds),
		point("turbine_inlet_temperature_k", "EGT", units.Temperature, func(p *airpath.Point) float64 { return p.TurbineInletTemperature }),
		point("peak_pressure_pa", "peak pressure", units.Pressure, func(p *airpath.Point) float64 { return p.PeakPressure }).WithDigits(0),
		point("ca50_deg", "CA50", units.Angle, func(p *airpath.Point) float64 { return p.CA50 }),
	)
	t.Trim = r.Trim.Name
	t.Notes = []string{
		"Limits that the spec does not state are not kept.",
		"A weak battery and the coil voltage are not counted here: check judges them at the target.",
	}
	if len(r.Trim.Waivers) > 0 {
		t.Notes = append(t.Notes, "What the spec's waivers let be is kept here all the same.")
	}
	t.Notes = append(t.Notes, eachShaft(r.Trim, "")...)
	return t
}

// allowedEntries explain the columns above.
func allowedEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "allowed_boost_pa", Title: "allowed",
			Meaning: "Highest boost at which every limit of the spec holds, within 1 mbar, whatever the target. " +
				"Where the turbine gives no more, that is all there is.",
			Formula: "halving of the target between the least boost and the most", Source: ours, Range: "steady, at the speeds computed",
		},
		{
			Key: "allowed_by", Title: "limited by",
			Meaning: "What limits the boost allowed: a limit of the operating point, a check, or the turbine where it gives no more.",
			Formula: "the limit passed just above", Source: ours, Range: "steady",
		},
	}
}
