package sheet

import (
	"bellmouth/internal/airpath"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// Energy returns where the fuel's energy goes over engine speed.
func (r *Run) Energy() table.Table {
	share := func(key, title string, get func(e *airpath.Energy) float64) table.Field[row] {
		return figure(key, title, units.Fraction, func(p *airpath.Point) float64 { return get(&p.Energy) / p.Energy.Fuel })
	}
	t := r.overSpeed("energy", join(
		[]table.Field[row]{
			speedField(0),
			figure("fuel_power_w", "fuel", units.Power, func(p *airpath.Point) float64 { return p.Energy.Fuel }).WithDigits(0),
			share("brake_share", "crank", func(e *airpath.Energy) float64 { return e.Brake }),
			share("friction_share", "friction", func(e *airpath.Energy) float64 { return e.Friction }),
			share("coolant_share", "walls", func(e *airpath.Energy) float64 { return e.Coolant }),
			share("port_share", "port, primary", func(e *airpath.Energy) float64 { return e.Ports }),
		},
		when(r.Forced() && r.Trim.Cooler != nil, share("cooler_share", "charge cooler", func(e *airpath.Energy) float64 { return e.Cooler })),
		when(r.Forced(), share("bearing_share", "bearings", func(e *airpath.Energy) float64 { return e.Bearings }).InDetail()),
		[]table.Field[row]{
			share("exhaust_share", "exhaust", func(e *airpath.Energy) float64 { return e.Exhaust }),
			share("unburned_share", "not burned", func(e *airpath.Energy) float64 { return e.Unburned }),
			share("sensible_share", "brought in", func(e *airpath.Energy) float64 { return e.Sensible }).InDetail(),
		},
	)...)
	t.Notes = []string{"Shares of the fuel's heating value, which they add up to but for the little that air and fuel bring in or lack against 25 degC. " +
		"Walls: of the cylinder alone. A radiator has heat of friction and of the ports to give off besides. Not burned: what a rich mixture has no oxygen for, and what the burn leaves."}
	return t
}
