package sheet

import (
	"bellmouth/internal/airpath"
	"bellmouth/internal/formula"
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
			figure("fuel_power_w", "fuel power", units.Power, func(p *airpath.Point) float64 { return p.Energy.Fuel }).WithDigits(0),
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
	t.Notes = []string{"Shares of the fuel power. A radiator also gives off the heat of friction and of the ports."}
	return t
}

// energyEntries explain the columns above.
func energyEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "fuel_power_w", Title: "fuel power",
			Meaning: "Lower heating value of the fuel flow. The shares add up to it but for the little that air and fuel bring in above 25 °C.",
			Formula: "ṁf LHV", Source: "first law over the whole engine, closed to 1e-6", Range: full,
		},
		{
			Key: "brake_share", Title: "crank",
			Meaning: "Brake power over fuel power: the brake efficiency.",
			Formula: "P/(ṁf LHV)", Source: "first law over the whole engine, closed to 1e-6", Range: full,
		},
		{
			Key: "friction_share", Title: "friction",
			Meaning: "Friction power over fuel power.",
			Formula: "FMEP Vd N/(4π)/(ṁf LHV)", Source: "first law over the whole engine, closed to 1e-6", Range: full,
		},
		{
			Key: "coolant_share", Title: "walls",
			Meaning: "Heat to the walls of the cylinders alone, less what the fresh charge took from walls, over fuel power.",
			Formula: "(Qcyl − Qfresh)/(ṁf LHV)", Source: "first law over the whole engine, closed to 1e-6", Range: full,
		},
		{
			Key: "port_share", Title: "port, primary",
			Meaning: "Heat lost by the exhaust between valve and turbine over fuel power.",
			Formula: "exhaust_heat_w/(ṁf LHV), or the share of the sensible enthalpy that the spec states",
			Source:  "first law over the whole engine, closed to 1e-6", Range: full,
		},
		{
			Key: "cooler_share", Title: "charge cooler",
			Meaning: "Heat given up in the charge cooler over fuel power.",
			Formula: "ṁ (h2 − hm)/(ṁf LHV)", Source: "first law over the whole engine, closed to 1e-6", Range: full,
		},
		{
			Key: "bearing_share", Title: "bearings",
			Meaning: "Turbine work that does not reach the compressor, over fuel power.",
			Formula: "(turbine work − compressor power)/(ṁf LHV), bearings by the square of shaft speed or a share 1 − ηm",
			Source:  "first law over the whole engine, closed to 1e-6", Range: always,
		},
		{
			Key: "exhaust_share", Title: "exhaust",
			Meaning: "Sensible enthalpy of the exhaust at the tailpipe above 25 °C over fuel power.",
			Formula: "ṁe (h − h(298.15 K))/(ṁf LHV)", Source: "first law over the whole engine, closed to 1e-6", Range: full,
		},
		{
			Key: "unburned_share", Title: "not burned",
			Meaning: "Heating value left in the exhaust over fuel power. It is what a rich mixture has no oxygen for, and what the burn leaves.",
			Formula: "1 − heat released/(ṁf LHV)", Source: "first law over the whole engine, closed to 1e-6", Range: full,
		},
		{
			Key: "sensible_share", Title: "brought in",
			Meaning: "Heat that air and fuel bring above 25 °C, over fuel power; negative when they are colder. The other shares add up to 1 and this.",
			Formula: "(ṁ (h − h(298.15 K)) + ṁf c (T − 298.15 K))/(ṁf LHV)",
			Source:  "first law over the whole engine, closed to 1e-6", Range: always,
		},
	}
}
