package sheet

import "bellmouth/internal/formula"

const (
	given  = "given in the spec"
	always = "everywhere"
	ours   = "definition"
)

// Formulas describes the figures that the tables themselves make of what the calculations return, and the columns that hold
// what the spec says.
func Formulas() []formula.Entry {
	e := func(key, title, meaning, text, source, holds string) formula.Entry {
		return formula.Entry{Key: key, Title: title, Meaning: meaning, Formula: text, Source: source, Range: holds}
	}
	said := func(key, title, meaning string) formula.Entry { return e(key, title, meaning, given, given, always) }
	return []formula.Entry{
		e("rpm", "Speed", "Engine speed of the row.", "1500 rpm to the limiter in steps of 500 rpm, the limiter included, or what --rpm asks for", "the command line", "500 rpm to the limiter"),
		e("ruled_by", "Limited by", "The limit that governs the boost, with the speeds where it does.", "governing limit of each operating point, equal neighbours joined", ours, "at the speeds computed"),
		e("failed_checks", "Checks failed", "What the checks of the trim come to.", "the checks whose verdict is FAIL", ours, "at the speeds computed"),
		e("peak_torque_nm", "Peak torque", "Highest torque of the speeds computed.", "max T", ours, "at the speeds computed"),
		e("peak_torque_rpm", "Speed of peak torque", "Where the highest torque is.", "N at max T", ours, "to the step between the speeds"),
		e("peak_power_w", "Peak power", "Highest power of the speeds computed.", "max P", ours, "at the speeds computed"),
		e("peak_power_rpm", "Speed of peak power", "Where the highest power is.", "N at max P", ours, "to the step between the speeds"),
		e("boost_reached_rpm", "Boost reached from", "Lowest speed at which the boost asked for is reached, within 5 mbar: the end of spooling, at steady full load.", "bisection between the speeds computed, to 5 rpm", ours, "steady; a pull through the gears spools later"),
		e("restrictor_from_rpm", "Restrictor chokes from", "Lowest speed at which the restrictor's throat is choked.", "bisection between the speeds computed, to 5 rpm", ours, "for the boost asked for"),
		e("allowed_boost_pa", "Allowed boost", "Highest boost at which every limit of the spec holds, within 1 mbar.", "halving of the target between the least boost and the most", ours, "steady, at the speeds computed"),
		e("allowed_by", "Set by", "What sets the boost allowed: a limit of the operating point, one that is judged, or the turbine where it gives no more.", "the limit passed just above", ours, "steady"),
		e("over_shaft_limit", "Over shaft limit", "Whether the turbocharger would turn faster than its limit or the map's top line.", "shaft speed > min(speed_limit, top line)", ours, always),
		e("knocks", "Knocks", "Whether the knock integral would be over its limit at the latest phasing accepted.", "knock integral > its limit", ours, "steady"),
		e("past_surge", "Past surge", "Whether the compressor would be left of its surge line.", "surge margin < smallest accepted", ours, "within the compressor map"),
		e("past_choke", "Past choke", "Whether the compressor would be beyond the choke end of its map, where its efficiency is a guess.", "choke margin < 0", ours, "within the compressor map"),
		e("bearing_share", "Bearings", "Turbine work that does not reach the compressor, over fuel power.", "(turbine work − compressor power)/(ṁf LHV), bearings by the square of shaft speed or a share 1 − ηm", "first law over the whole engine, closed to 1e-6", always),
		e("sensible_share", "Brought in", "Heat that air and fuel bring above 25 °C, over fuel power; negative when they are colder. The other shares add up to 1 and this.", "(ṁ (h − h(298.15 K)) + ṁf c (T − 298.15 K))/(ṁf LHV)", "first law over the whole engine, closed to 1e-6", always),
		e("compressor_outlet_pressure_pa", "Compressor outlet", "Pressure behind the compressor, absolute: manifold pressure and the cooler's loss.", "p2 = pm + cooler loss", "solution of the whole air path", "steady full load"),
		e("back_pressure_ratio", "Back pressure ratio", "Pressure before the turbine over manifold pressure, both absolute. Below 1 the gas exchange drives the engine; above, exhaust stays in the cylinder.", "p3/pm", ours, always),
		e("fuel_volume_flow_m3_s", "Fuel volume flow", "Fuel flow by volume, as a pump or a flow meter has it.", "ṁf/ρ(T)", ours, "-20 °C to 60 °C"),
		e("rail_difference_pa", "Rail over manifold", "Pressure that drives the fuel through the injector: rail less manifold.", "Δp = rail pressure, or venue + rail pressure − pm with a regulator that does not follow the manifold", ours, always),
		e("air_per_cycle_kg", "Air of a cycle", "Moist air that one cylinder takes in one cycle.", "ṁ 4π/(N z)", ours, always),
		e("staging", "Sets at work", "Which injector sets work: primary alone, the secondary coming in (blending), or both with their full shares.", "by the duty that the primary would need alone, see secondary_share", "the trade's practice with two sets, no published source", always),
		e("throat_flow_fraction", "Share of choke flow", "Air flow over the flow at which the throat chokes.", "ṁ/ṁmax", ours, "0 to 1"),
		e("choke_boost_pa", "Choke boost", "Boost at which the restrictor chokes at this speed: asking for more gives none.", "operating point with 5 bar asked for, where the restrictor binds", ours, "the spec's other limits hold and may come first"),
		e("restrictor_loss_pa", "Lost in the restrictor", "Pressure before the restrictor less pressure behind its diffuser.", "p0 − p1", ours, "up to choke"),
		e("diffuser_recovery", "Diffuser recovery", "Share of the pressure drop into the throat that the diffuser gives back.", given, "given in the spec; the default is common practice, no source", "0 to 1"),
		e("discharge_from", "Discharge coefficient from", "Where the discharge coefficient comes from.", "the spec's, or ISO 9300 by throat Reynolds number", "ISO 9300:2005", "see discharge_coefficient"),
		e("throat_reynolds", "Throat Reynolds number", "Reynolds number of the choked throat.", "4 ṁ/(π d μ0)", "ISO 9300:2005", always),
		e("upstream_pressure_pa", "Pressure before the restrictor", "What the filter leaves of the venue's pressure when the throat is choked.", "p0 = p − k (c p0)² T/p, ṁmax = c p0", "loss of a fixed geometry with dynamic pressure; definition", "losses up to a third of the pressure"),
		e("throat_pressure_pa", "Pressure in the throat", "Static pressure in the choked throat.", "p0 (2/(γ+1))^(γ/(γ−1))", "NACA Report 1135 (1953)", "choked"),
		e("throat_temperature_k", "Temperature in the throat", "Static temperature in the choked throat; below freezing, moist air can ice it.", "2 T0/(γ+1)", "NACA Report 1135 (1953)", "choked, no condensation"),
		e("power_ceiling_w", "Power ceiling", "Power that the most air the restrictor passes can make, at the best power per kilogram of air that the engine has at any of the speeds computed.", "ṁmax max(P/ṁ) = ṁmax x/(AFR b), x dry air in the air, b BSFC", ours, "an upper bound: friction and back pressure where the throat chokes leave less"),
		said("restrictor_count", "Restrictors", "Equal restrictors side by side, one for each turbocharger."),
		e("one_max_flow_kg_s", "Choked flow of one", "Air flow at which one of several equal restrictors chokes.", "ṁmax/n", ours, always),
		e("one_power_ceiling_w", "Power ceiling of one", "Power that the most air of one of several equal restrictors can make.", "power ceiling/n", ours, "as power_ceiling_w"),
		e("ceiling_bsfc_kg_j", "BSFC of the ceiling", "Specific consumption at the speed of best power per kilogram of air.", "b at max(P/ṁ)", ours, "at the speeds computed"),
		e("ceiling_lambda", "Lambda of the ceiling", "Lambda at the speed of best power per kilogram of air.", "λ at max(P/ṁ)", ours, "at the speeds computed"),
		e("ceiling_rpm", "Speed of the ceiling", "Speed of best power per kilogram of air.", "N at max(P/ṁ)", ours, "to the step between the speeds"),
		e("cylinder_displacement_m3", "Displacement of a cylinder", "Swept volume of one cylinder.", "π B² S/4", "Heywood, Internal Combustion Engine Fundamentals (1988), §2.2", always),
		e("injector_flow_kg_s", "Injector flow", "Fuel that one injector passes wide open, at this rail pressure and with this fuel.", "ṁ = Q ρt √(Δp/Δpt) √(ρ/ρt)", "ISO 5167-1, incompressible, constant discharge coefficient", "half to twice the rated pressure; common practice, no source"),
		e("dead_time_s", "Dead time", "Time by which the delivery falls short of the pulse at the supply voltage.", "the spec's table over voltage, monotone cubic", given, "within the table; held at its ends, with a note"),
		e("verdict", "Verdict", "ok; note for a finding that passes no limit; FAIL for a limit passed.", "margin < 0, beyond 1e-4 of the limit, fails", ours, "at the speeds computed"),
		e("check", "What is checked", "The limit that is judged.", "see the rows", ours, always),
		e("worst_rpm", "Worst at", "Engine speed at which the limit is nearest or furthest passed.", "N at the least margin", ours, "at the speeds computed"),
		e("value", "Value", "The figure at its worst, in the unit of its row.", "see the row's figure", ours, always),
		e("limit_value", "Limit", "The limit that the value is held against, in the unit of its row.", "the spec's, the map's or the boost asked for", given, always),
		e("margin", "Margin", "How far the value is on the good side of its limit; negative past it.", "limit − value, or value − limit for what must not fall below", ours, always),
		e("unit", "Unit", "Unit of value, limit and margin of the row.", "rpm for speeds, deg for angles, else SI, unless --units asks for others in CSV", ours, always),
		said("name", "Name", "What the spec calls the engine."),
		said("about", "About", "What the spec says of itself."),
		e("spec", "Spec", "The spec file, as named on the command line.", "the command line", "the command line", always),
		said("trims", "Trims", "The trims that the spec has."),
		said("cylinders", "Cylinders", "Number of cylinders."),
		said("fuel", "Fuel", "The fuel's name: a grade, a blend or a formula."),
		said("fuel_temperature_k", "Fuel temperature", "Temperature of the fuel at the injector."),
		said("set", "Set", "Which injector set."),
		said("per_cylinder", "Injectors a cylinder", "Injectors of the set that a cylinder has."),
		said("rated_flow_m3_s", "Rated flow", "Static flow of the test fluid through one injector."),
		said("rated_difference_pa", "Rated at", "Pressure difference of the rating."),
		said("shortest_pulse_s", "Shortest pulse", "Shortest pulse that still meters in proportion, dead time included."),
		said("trim_name", "Trim", "Name of the trim."),
		said("venue_name", "Venue", "Name of the venue, for --venue."),
		said("parts", "Parts", "The parts that the trim has."),
		said("limiter_rpm", "Limiter", "Highest engine speed."),
		said("command", "Command", "What can be asked of the spec."),
		said("enough", "Enough", "Whether a trim gives all that the command needs."),
		said("enough_trims", "In trims", "The trims that do."),
		said("lacks", "Lacks", "What the others lack."),
		e("defaults", "Defaults", "Number of values that the trim leaves to defaults.", "count", ours, always),
		e("path", "Value of", "Path in the spec of a value that it does not give.", "see the row", ours, always),
		e("taken", "Taken", "What was taken in its place.", "see the row", "see the row's reason", always),
		e("reason", "Because", "Why that was taken, with its source.", "see the row", "see the row", always),
		e("in_trims", "In trims", "The trims that rest on the default.", "see the row", ours, always),
	}
}
