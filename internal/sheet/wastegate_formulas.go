package sheet

import "bellmouth/internal/formula"

// WastegateFormulas describes the figures of the wastegate and of the boost by gear and by pedal.
func WastegateFormulas() []formula.Entry { return append(gateFormulas(), targetFormulas()...) }

func gateFormulas() []formula.Entry {
	e := func(key, title, meaning, text, source, holds string) formula.Entry {
		return formula.Entry{Key: key, Title: title, Meaning: meaning, Formula: text, Source: source, Range: holds}
	}
	said := func(key, title, meaning string) formula.Entry { return e(key, title, meaning, given, given, always) }
	const balance = "principle of virtual work on diaphragm, lever and valve"
	return []formula.Entry{
		e("short_side", "Short", "What does not suffice to hold the boost: the port force that opens, the port force that shuts, the travel of the actuator, or the valve's area.",
			"see actuator_force_margin_n, actuator_travel_margin_m, creep_pa", ours, "nothing where the boost is held"),
		e("actuator_opening_margin_n", "Force left to open", "Greatest port force there is less the one needed.", "Pmax − N, see actuator_force_margin_n", balance, "no friction"),
		e("actuator_closing_margin_n", "Force left to shut", "Port force needed less the least there is.", "N − Pmin, see actuator_force_margin_n", balance, "no friction"),
		e("actuator_needed_force_n", "Needed port force", "Port force that balances spring and exhaust at the lift.", "N = F0 + k L l ∓ (p3 − p4) Av/L", balance, "no friction, steady exhaust pressure"),
		e("actuator_port_force_n", "Port force", "Force of both ports on the diaphragm at the duty, positive towards open.", "P = (po − pa) Ao − (pc − pa) Ac", balance, always),
		e("actuator_travel_margin_m", "Lift left", "Greatest lift that the actuator's stroke gives less the lift needed.", "stroke/L − l", ours, always),
		e("control_source_pressure_pa", "Control air", "Pressure of the air that feeds the ports, absolute.", "compressor outlet or manifold, as the spec says", ours, always),
		e("wanted_boost_pa", "Wanted boost", "Boost that the boost control has to hold: what the engine's other limits leave of what is asked for; where the boost creeps, what is asked for.",
			"boost of the operating point, or min(asked, all there is) where it creeps", ours, "steady full load"),
		e("highest_boost_by", "Highest boost ended by", "What keeps the boost from going higher: the actuator, or the part of the engine that comes first.",
			"actuator where the forces balance below all the boost there is, stroke where it is at its stop", ours, "gearbox, injectors, surge margin and shaft speed limit not counted"),
		e("held_boost_pa", "Held boost", "Boost that the control comes to.", "min(max(wanted, lowest), highest), but never below open boost", ours, "steady full load"),
		e("wastegate_lift_share", "Lift over the most", "Lift over the most that counts: what valve and actuator allow, up to a quarter of the bore, beyond which a valve passes no more.", "l/min(lift, stroke/L, bore/4)", ours, always),
		e("open_boost_pa", "Open boost", "Boost that remains with the wastegate wide open.", "solution of the whole air path with the wastegate at its greatest lift", ours, "steady full load"),
		e("creep_pa", "Creep", "By how much the boost with the wastegate wide open is above the one wanted.", "max(0, open boost − wanted)", ours, always),
		said("given_preload_n", "Preload", "Spring force at the diaphragm with the valve shut."),
		e("lowest_preload_n", "Lowest preload", "Spring preload below which the valve opens further than some point wants.", "max over the points of Pmin − (k L l ∓ (p3 − p4) Av/L)", balance, "no friction; points within the actuator's stroke"),
		e("lowest_preload_rpm", "Speed of the lowest preload", "The speed that sets it.", "N at the largest", ours, "at the speeds computed"),
		e("highest_preload_n", "Highest preload", "Spring preload above which the ports do not open the valve as far as some point wants.", "min over the points of Pmax − (k L l ∓ (p3 − p4) Av/L)", balance, "no friction; points within the actuator's stroke"),
		e("highest_preload_rpm", "Speed of the highest preload", "The speed that sets it.", "N at the smallest", ours, "at the speeds computed"),
		e("widest_lift_m", "Widest lift", "Largest lift of the speeds computed.", "max l", ours, "at the speeds computed"),
		e("widest_lift_rpm", "Speed of the widest lift", "Where the largest lift is.", "N at max l", ours, "to the step between the speeds"),
		e("actuator_lift_m", "Lift of the stroke", "Lift at the actuator's full stroke.", "stroke/L", ours, always),
		said("given_bore_m", "Wastegate bore", "Diameter of the wastegate's seat."),
		e("wastegate_bore_rpm", "Speed of the bore", "The speed that wants the largest bore.", "N at the largest", ours, "at the speeds computed"),
	}
}
