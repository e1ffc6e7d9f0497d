package sheet

import "bellmouth/internal/formula"

// FeedFormulas describes the figures of the tables of the fuel system that no calculation package describes.
func FeedFormulas() []formula.Entry {
	const (
		computed = "at the speeds computed"
		practice = "the trade's practice, no published source"
		balance  = "conservation of mass"
		orifice  = "ISO 5167-1, incompressible, constant discharge coefficient"
	)
	e := func(key, title, meaning, text, source, holds string) formula.Entry {
		return formula.Entry{Key: key, Title: title, Meaning: meaning, Formula: text, Source: source, Range: holds}
	}
	return []formula.Entry{
		e("surplus_share", "Too much fuel", "Part by which the primary's shortest pulse gives more fuel than is wanted; 0 where a longer one is asked for.", "(ṁ (shortest − dead time) − fuel)/fuel, at least 0", balance, "0 with longer pulses"),
		e("earliest_start_duty", "Earliest start of the second set", "Lowest primary duty from which both sets, the second with its full share, keep a margin to their shortest pulses at every speed up to the limiter.", "D = (max(ṁ2 (1.1 s2 − d2)/S, ṁ1 (1.1 s1 − d1)/(1 − S))/ṁ1 + d1) N/(4π), S = ṁ2/(ṁ1 + ṁ2), s shortest pulse, d dead time", practice+"; the margin of 10 % is common practice, no source", "at the supply voltage; any pressure, since both flows change alike"),
		e("blend_duty", "Blend of the second set", "Band of duty over which the second set comes in from its earliest start: that of the spec, or less where the primary would pass the duty allowed.", "widest band up to the spec's with primary duty ≤ limit", practice, "at the supply voltage"),
		e("decided_by", "Why not earlier", "Which set's pulse keeps the second set from coming in earlier.", "the larger of the two bounds of earliest_start_duty", practice, "at the supply voltage"),
		e("decided_rpm", "Decided at", "Engine speed that decides the earliest start, as a rule the limiter, where a cycle is shortest.", "N at the largest start duty", practice, "speeds computed and the limiter"),
		e("latest_start_duty", "Latest start of the second set", "Primary duty up to which the primary may work alone: the duty allowed.", "limits.injector_duty", given, always),
		e("peak_primary_duty", "Highest primary duty", "Highest duty of the primary until the second set has its full share, started as early as it may.", "max over the fuel of the primary's duty", practice, "speeds computed and the limiter"),
		e("least_entry_share", "Least share at entry", "Smallest share of the fuel with which the second set comes in, over the speeds: that of its shortest pulse.", "m2/m at the first fuel past the start", practice, "speeds computed and the limiter"),
		e("most_entry_share", "Greatest share at entry", "Largest share of the fuel with which the second set comes in, over the speeds.", "m2/m at the first fuel past the start", practice, "speeds computed and the limiter"),
		e("start_duty", "Start in the spec", "Primary duty at which the spec brings in the second set.", given, given, always),
		e("spec_blend_duty", "Blend in the spec", "Band of duty over which the spec blends in the second set.", given, given, always),
		e("start_verdict", "The spec's start", "How the spec's start lies to the earliest and the latest.", "earliest ≤ start ≤ latest", ours, "at the supply voltage"),
		e("rail_asked_pa", "Rail asked", "Rail pressure above the venue's that the regulator asks for.", "p + pm − pa following the manifold; p fixed", ours, always),
		e("lift_flow_m3_s", "Lift pump flow", "Volume flow of the lift pumps against the pressure of the spec.", "the pumps' tests, monotone cubic over pressure, straight over voltage", given, "pressures of the pump's tests; 0.75 of the lowest voltage tested to 1.25 of the highest"),
		e("lift_margin", "Lift pump margin", "By how much the lift pumps give more than the engine takes, as a part of that. Enough where the regulator returns into the pot; a return into the tank wants the main pumps' whole flow.", "Q/Qe − 1", ours, "demand above 0"),
		e("line_regime", "Flow in the line", "How the fuel flows in the line: laminar, transitional or turbulent.", "laminar up to Re 2300, turbulent from 4000, transitional between", "White, Fluid Mechanics, §6.1 and §6.6", "round, straight pipe"),
		e("full_load_use_rpm", "Speed of most use", "Engine speed at which most fuel is taken.", "N at max ṁf", ours, computed),
		e("run_name", "Stage or lap", "What the spec calls the stage or lap.", given, given, always),
		e("run_time_s", "Time of a stage or lap", "How long it takes.", given, given, always),
		e("mean_use_m3_s", "Mean use", "Mean volume flow over the stage or lap.", "Σ share Q, Q = share of the highest flow × that", balance, "shares of time that add up to 1"),
		e("run_fuel_kg", "Fuel of a stage or lap", "Mass of the fuel that it takes.", "ρ t Σ share Q", balance, "shares of time that add up to 1"),
		e("tank_usable_m3", "Tank less reserve", "Volume that can be counted on.", "volume − reserve", given, always),
		e("full_load_time_s", "Tank at full load", "Time for which the tank lasts at the highest use.", "(volume − reserve)/Q", balance, computed),
		e("fill_m3", "Fill for one", "What the tank has to hold for one stage or lap that ends on its reserve.", "fuel of the run + reserve", balance, "shares of time that add up to 1"),
		e("fill_kg", "Mass of that fill", "What it weighs.", "ρ (fuel of the run + reserve)", balance, "shares of time that add up to 1"),
		e("battery_voltage_v", "Battery", "Battery voltage. The injectors have it, the pumps that less what the spec has them below the injectors.", "14 V to 11 V by 0.5 V", "common practice, no source", "14 V to 11 V"),
		e("primary_dead_time_s", "Primary dead time", "Dead time of the primary injectors at the voltage.", "the spec's table over voltage, monotone cubic", given, "within the table; held at its ends, with a note"),
		e("secondary_dead_time_s", "Secondary dead time", "Dead time of the secondary injectors at the voltage.", "the spec's table over voltage, monotone cubic", given, "within the table; held at its ends, with a note"),
		e("sag_limit", "What breaks", "The limit that a weak battery passes.", "see the rows", ours, always),
		e("sag_rpm", "Breaks first at", "Engine speed at which the limit is passed at the highest voltage.", "N at max V", ours, computed),
		e("sag_reason", "Not computed", "Why the sag could not be computed.", "see the row", ours, always),
		e("density_change", "Density from 10 to 60 °C", "Change of the fuel's density.", "ρ60/ρ10 − 1, ρ = ρ20 (1 − β (T − 293.15))", "DIPPR fits of the pure components, within 0.3 %", "10 °C to 60 °C"),
		e("injector_flow_change", "Injector flow from 10 to 60 °C", "Change of the mass that an open injector passes, at the same pressure.", "√(ρ60/ρ10) − 1", orifice, "10 °C to 60 °C, no vapour in the rail"),
		e("lambda_change", "Lambda from 10 to 60 °C", "Change of lambda with the same pulses and air, dead time not counted.", "√(ρ10/ρ60) − 1", orifice, "10 °C to 60 °C, no vapour in the rail"),
	}
}
