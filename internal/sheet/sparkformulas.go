package sheet

import "bellmouth/internal/formula"

// SparkFormulas describes the figures that the tables about the spark make of what the calculations return.
func SparkFormulas() []formula.Entry {
	const (
		again  = "the engine solved anew with the change, less the engine as it is"
		solved = "steady full load, the spec's boost asked for"
	)
	by := func(key, title, meaning string) formula.Entry {
		return formula.Entry{Key: key, Title: title, Meaning: meaning, Formula: again, Source: ours, Range: solved}
	}
	return []formula.Entry{
		{
			Key: "best_octane_margin", Title: "Octane to spare at best phasing",
			Meaning: "Octane numbers to spare with the burn at its best and the same manifold pressure; negative, what the fuel would need more for that.",
			Formula: "ON (1 − (K/Kl)^(1/3.402)), K the knock integral of the engine solved anew with a knock limit of 10, Kl the limit accepted",
			Source:  "as octane_margin", Range: "as octane_margin; best as far as cylinder pressure lets it",
		},
		{
			Key: "border_spark_deg", Title: "Spark at the knock limit",
			Meaning: "Spark before firing top dead centre with which the fastest cycles of this charge begin to knock; no earlier than at best phasing.",
			Formula: "the spark at which the mean cycle's knock integral is engine.combustion.knock_limit, air and exhaust as they are",
			Source:  "as knock_integral; the limit below 1 is common practice, no source", Range: "within best and latest CA50",
		},
		{
			Key: "border_ca50_deg", Title: "CA50 at the knock limit",
			Meaning: "CA50 with which the fastest cycles of this charge begin to knock; no earlier than the best.",
			Formula: "as border_spark_deg",
			Source:  "as border_spark_deg", Range: "within best and latest CA50",
		},
		{
			Key: "above_full_load", Title: "Above full load",
			Meaning: "Whether the point lies above the full-load line. Its spark is there for a control that interpolates: on the straight line from the last point through full load, and no earlier than that of full load.",
			Formula: "pm > pm(full load)",
			Source:  ours, Range: "the first pressure above the line",
		},
		{
			Key: "change", Title: "Change",
			Meaning: "What is changed, by itself; the rest stays as the spec has it.",
			Formula: "octane number + 1; coolant of the charge cooler, or the venue's air at the same share of water, + 10 K; compression ratio + 0.2; λ − 0.02",
			Source:  ours, Range: always,
		},
		by("spark_change_deg", "Spark by", "By how much the change lets the spark be earlier; negative later."),
		by("ca50_change_deg", "CA50 by", "By how much the change moves CA50; negative earlier."),
		by("torque_change_nm", "Torque by", "What the change adds to the torque."),
		by("boost_change_pa", "Boost by", "What the change adds to the boost."),
		by("octane_change", "Octane to spare by", "What the change adds to the octane numbers to spare at the best phasing."),
		by("exhaust_change_k", "Exhaust by", "What the change adds to the exhaust temperature before the turbine."),
		{
			Key: "supply_voltage_v", Title: "Supply voltage",
			Meaning: "Voltage at the coil.",
			Formula: "the spec's, and 14, 12 and 11 V; of a system of several times 12 V so many times that",
			Source:  given, Range: always,
		},
		{
			Key: "dwell_shortened", Title: "Cut short",
			Meaning: "Whether the whole dwell does not fit between two sparks of the coil.",
			Formula: "dwell asked for > dwell_room_s",
			Source:  ours, Range: "sparks evenly apart",
		},
		{
			Key: "least_voltage_margin", Title: "Least voltage margin",
			Meaning: "The least of the voltage margins at full load, with the dwell that fits at each speed. 20 % kept back is common practice, no source.",
			Formula: "min (U available − U breakdown)/U available",
			Source:  ours, Range: "at the speeds computed",
		},
		{
			Key: "least_margin_rpm", Title: "Speed of the least margin",
			Meaning: "Engine speed at which the voltage margin is the least.",
			Formula: "N at the least margin",
			Source:  ours, Range: "at the speeds computed",
		},
	}
}
