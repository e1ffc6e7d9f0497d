package sheet

import (
	"slices"
	"strings"

	"bellmouth/internal/formula"
	"bellmouth/internal/knock"
)

// Texts that many explanations share.
const (
	given    = "given in the spec"
	always   = "everywhere"
	ours     = "definition"
	practice = "common practice, no source"
	full     = "steady full load"
	solution = "solution of the whole air path"
	computed = "at the speeds computed"
	seeRow   = "see the row"
)

// Explained returns what every column means, by key. An entry without a title has further heads of a key that another file explains.
func Explained() []formula.Entry {
	var all []formula.Entry
	also := map[string][]string{}
	for _, e := range slices.Concat(
		pageEntries(), headEntries(), sparkplaneEntries(), manifoldEntries(), wastegateEntries(), wastegateRangeEntries(), spreadEntries(),
		pointsEntries(), fuelEntries(), fillingEntries(), allowedEntries(), engineEntries(), coilEntries(), turboEntries(), sagEntries(),
		energyEntries(), sparkEntries(), stagingEntries(), columnsEntries(), targetsEntries(), restrictorEntries(), checksEntries(), verdictEntries(),
		compareEntries(), feedEntries(), wiringEntries(), electricsEntries(),
		gearsEntries(), driveEntries(), courseEntries(), oilEntries(), coolingEntries(),
		dutyplaneEntries(), severalEntries(), loadsEntries(), chamberEntries(), clearancesEntries(), termEntries(),
	) {
		if e.Title == "" {
			also[e.Key] = append(also[e.Key], e.Also...)
			continue
		}
		all = append(all, e)
	}
	for i := range all {
		all[i].Also = append(all[i].Also, also[all[i].Key]...)
	}
	slices.SortFunc(all, func(a, b formula.Entry) int { return strings.Compare(a.Key, b.Key) })
	return all
}

// entry is an explanation in one line.
func entry(key, title, meaning, formulaText, source, where string, also ...string) formula.Entry {
	return formula.Entry{Key: key, Title: title, Also: also, Meaning: meaning, Formula: formulaText, Source: source, Range: where}
}

// termEntries explain what stands behind the columns and has none of its own.
func termEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "bearing_power_w", Title: "bearing power",
			Meaning: "Power that the bearings of all turbochargers take.",
			Formula: "n c N², c as given or 2e-6 N m s (D/45 mm)³; with a mechanical efficiency in its place (1 − ηm) of the gas's work",
			Source:  "the size of c from memory, known to a factor of two; scaling by Petroff's law",
			Range:   "floating bearings in hot oil; ball bearings take about half",
		},
		{
			Key: "burn_angle_factor", Title: "burn angle",
			Meaning: "Factor on the stated burn angle for the charge's state half-way through the burn.",
			Formula: "Δθ/Δθ0 = (ν/ν0)^(1/3) (S0/S)^(2/3), ν = μ R T/p, S the flame speed",
			Source: "Hires, Tabaczynski and Novak, SAE 780232 (1978), in the form of Heywood, Internal Combustion Engine Fundamentals (1988), ch. 9, " +
				"from memory; the chamber's height at the spark is left out",
			Range: "same engine and speed, burn phased about alike; equivalence ratio 0.7 to 1.6 (petrol) or 1.4, residual gas up to 30 % by mole",
		},
		{
			Key: "combustion_efficiency", Title: "combustion efficiency",
			Meaning: "Share of the fuel's lower heating value that its oxygen lets it release.",
			Formula: "(heat released per kg fuel − latent heat)/LHV",
			Source:  "Heywood, Internal Combustion Engine Fundamentals (1988), section 3.5", Range: "lambda 0.5 to 2",
		},
		{
			Key: "cooler_effectiveness", Title: "cooler effectiveness",
			Meaning: "Temperature drop of the charge over the greatest possible: as given, or from the number of transfer units.",
			Formula: "ε(NTU, Cr) of crossflow, both fluids unmixed; Cr = 0: 1 − exp(−NTU)",
			Source:  "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, §11.4; the series of Mason (1954) in place of the approximation of table 11.3",
			Range:   "NTU 0 to 100, Cr 0 to 1",
		},
		{
			Key: "cooler_outlet_temperature_k", Title: "temperature after the cooler",
			Meaning: "Temperature of the charge behind the cooler.",
			Formula: "T = T2 − ε(m) (T2 − Tc), Tc of the coolant coming in",
			Source:  "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, §11.4, definition of the effectiveness",
			Range:   "charge of the smaller heat capacity rate; flow inside the table of effectiveness, held outside",
		},
		{
			Key: "flame_speed_m_s", Title: "flame speed",
			Meaning: "Laminar burning velocity of the unburned charge. Only its changes with one fuel are used: its size differs by up to 1.8 between sources.",
			Formula: "S = S0(φ) (T/T0)^α(φ) (p/1 atm)^β(φ) r(x), r = 1 − 2.06 x^0.77 with petrol, 1 − 2.3 x with the rest; ln S of a blend is the mean by energy",
			Source:  "Rhodes and Keck, SAE 850047 (1985), for petrol; Gülder, SAE 841000 (1984), for the rest; most constants from memory",
			Range:   "equivalence ratio 0.7 to 1.6 (petrol) or 1.4, residual gas up to 30 % by mole; pressure and temperature of an engine are beyond the fits",
		},
		{
			Key: "fuel_fraction", Title: "fuel in charge",
			Meaning: "Mass of fuel in a kilogram of fresh charge, humidity counted.",
			Formula: "1/(1 + AFR/y), y the dry air in a kilogram of moist air", Source: ours, Range: "lambda 0.5 to 2",
		},
		{
			Key: "fuel_viscosity_pa_s", Title: "fuel viscosity",
			Meaning: "Dynamic viscosity of the liquid fuel at its temperature.",
			Formula: "μ = μ0 exp(B (1/T − 1/273.15)); ln μ straight in the oxygen by mass between petrol, ethanol and methanol",
			Source:  "alcohols: CRC Handbook of Chemistry and Physics, from memory; petrol 0.50 mPa s at 20 °C and mixing: common practice, no source",
			Range:   "253 K to 333 K",
		},
		{
			Key: "heat_released_j_kg", Title: "heat released",
			Meaning: "Heat that a kilogram of charge with evaporated fuel releases at 298.15 K.",
			Formula: "h unburned − h burned; rich: CO and H2 by the water-gas equilibrium K = pCO pH2O/(pCO2 pH2) = 3.5",
			Source:  "Heywood, Internal Combustion Engine Fundamentals (1988), sections 3.5 and 4.9.2", Range: "lambda 0.5 to 2; no dissociation",
		},
		{
			Key: "ignition_delay_factor", Title: "ignition delay",
			Meaning: "Factor on the stated angle from spark to the start of burning, for the charge's state at the spark.",
			Formula: "Δθd/Δθd0 = (ν/ν0)^(1/3) (S0/S)^(2/3), ν = μ R T/p, S the flame speed",
			Source: "Hires, Tabaczynski and Novak, SAE 780232 (1978), in the form of Heywood, Internal Combustion Engine Fundamentals (1988), ch. 9, " +
				"from memory; the chamber's height at the spark is left out",
			Range: "same engine and speed, burn phased about alike; equivalence ratio 0.7 to 1.6 (petrol) or 1.4, residual gas up to 30 % by mole",
		},
		{
			Key: "knock_border", Title: "knock border",
			Meaning: "Knock integral of the mean cycle at which a cycle two standard deviations faster ignites its end gas.",
			Formula: "1/((1 − 2v) (1 + 4v/3)^(n + κ E/T)), v variation of peak pressure",
			Source:  "derived from the delay; v 5 to 8 % and a burn shorter by as much as the peak is higher: common practice, no source", Range: "v up to 10 %",
		},
		{
			Key: "knock_delay_s", Title: "knock delay",
			Meaning: "Time in which the end gas at a pressure and temperature ignites itself. The knock integral adds up time over it.",
			Formula: "τ = 17.68 ms (OI/100)^3.402 p^−1.7 exp(3800/T) m(λ) d(x), p in atm",
			Source:  "Douaud and Eyzat, SAE 780080 (1978), as printed by Heywood (1988), ch. 9",
			Range:   "octane 80 to 100, end gas 700 K to 900 K; beyond is an extrapolation",
		},
		{
			Key: "knock_dilution_factor", Title: "delay by dilution",
			Meaning: "Factor of the knock delay for burned gas in the charge beyond the 5 % that engines hold at full load.",
			Formula: "d = (1 + 0.3 (x − 0.05))^3.402",
			Source:  "Hoepke et al., SAE 2012-01-0707, abstract; the form is an inference", Range: "x up to 30 %; held beyond",
		},
		{
			Key: "knock_mixture_factor", Title: "delay by mixture",
			Meaning: "Factor of the knock delay for the chemistry of a leaner or richer mixture. What the mixture does to temperatures is in the cycle.",
			Formula: "m = (λ/0.95)^0.385",
			Source:  "He et al., Combustion and Flame 142 (2005) 266, half of its exponent: an assumption", Range: "lambda 0.7 to 1.3; held outside",
		},
		{
			Key: "molar_mass_kg_mol", Title: "molar mass",
			Meaning: "Mass of a mole of the mean fuel molecule. It matters only to the volume of the vapour.",
			Formula: "12.011 C + 1.008 H + 15.999 O + 14.007 N, g/mol; of a bare ratio, that of the surrogate with the same H/C and O/C",
			Source:  "atomic masses of IUPAC 2021", Range: "fuels of C, H, O and N",
		},
		{
			Key: "octane_index_k", Title: "K of the octane index",
			Meaning: "How far the engine lies from the research test (0) towards the motor test (1). Below 0 a fuel of low MON is better than its RON says.",
			Formula: "K = 0.0056 T15 − 4.68 up to 825 K, 0.0426 T15 − 35.2 above; held at −0.75 and 1",
			Source:  "Kalghatgi, SAE 2003-01-1816 and 2005-01-0239; constants from memory", Range: "T15 702 K to 850 K",
		},
		{
			Key: "octane_needed", Title: "octane needed",
			Meaning: "Octane number with which the knock integral would just meet its limit.",
			Formula: "ON (K/Kl)^(1/3.402), K the knock integral, Kl its limit",
			Source:  "τ ~ ON^3.402: Douaud and Eyzat, SAE 780080 (1978); derived", Range: "same spark, charge and speed; octane 80 to 100, else an extrapolation",
		},
		{
			Key: "primary_flow_kg_s", Title: "primary injector flow",
			Meaning: "Static flow of one cylinder's primary injectors at the pressure they have.",
			Formula: "ṁ = n Q ρt √(Δp/Δpt) √(ρ/ρt)",
			Source:  "liquid through an orifice of constant discharge coefficient, ISO 5167-1, incompressible",
			Range:   "Δp about half to twice that of the rating (common practice)",
		},
		{
			Key: "pulse_efficiency_loss", Title: "efficiency lost to pulses",
			Meaning: "Share of the quasi-steady power that is lost because the flow in the wheel lags behind the pulses.",
			Formula: "L c/√(c² + 0.483²), c the unsteadiness, L = 7 %",
			Source:  "two measured points of a twin-entry turbine, 3.0 % and 7.0 % below steady; the form is ours",
			Range:   "25 Hz and 33 Hz, cold gas, 60 000 rpm and 100 000 rpm; taken for all",
		},
		{
			Key: "pulse_flow_at_mean_pressure", Title: "pulse flow factor at equal mean pressure",
			Meaning: "Mean flow under pulses over what the turbine swallows of a steady stream at the time-mean inlet pressure.",
			Formula: "∮m dt/τ over m(p̄3)",
			Source:  "definition; Watson and Janota, Turbocharging the Internal Combustion Engine (1982), ch. 7 and 8, filling and emptying",
			Range:   "one volume for each turbine entry, the turbine quasi-steady; no waves, no mixing of entries; even firing, 1 to 12 cylinders an entry",
		},
		{
			Key: "pulse_power_at_mean_flow", Title: "pulse power factor at equal mean flow",
			Meaning: "Mean turbine power under pulses over that of a steady stream of the same mean mass flow and mass-mean temperature.",
			Formula: "∮P dt/τ over P(m̄), P = η m cp T (1 − (p4/p3)^((γ−1)/γ))",
			Source:  "definition; Watson and Janota, Turbocharging the Internal Combustion Engine (1982), ch. 7 and 8, filling and emptying",
			Range: "one volume for each turbine entry, the turbine quasi-steady; no waves, no mixing of entries; even firing, 1 to 12 cylinders an entry; " +
				"not to be confused with the one at equal mean pressure",
		},
		{
			Key: "pulse_power_at_mean_pressure", Title: "pulse power factor at equal mean pressure",
			Meaning: "Mean turbine power under pulses over that of a steady stream at the time-mean inlet pressure and mass-mean temperature.",
			Formula: "∮P dt/τ over P(p̄3)",
			Source:  "definition; Watson and Janota, Turbocharging the Internal Combustion Engine (1982), ch. 7 and 8, filling and emptying",
			Range:   "one volume for each turbine entry, the turbine quasi-steady; no waves, no mixing of entries; even firing, 1 to 12 cylinders an entry; not to be confused with the one at equal mean flow",
		},
		{
			Key: "pulse_unsteadiness", Title: "unsteadiness of the pulses",
			Meaning: "Standard deviation over time of the pressure difference over the turbine, over its mean.",
			Formula: "√(mean of (p3 − p̄3)²)/(p̄3 − p4); half sines without a pause have √(π²/8 − 1) = 0.483",
			Source:  ours, Range: "one volume for each turbine entry, the turbine quasi-steady; no waves, no mixing of entries; even firing, 1 to 12 cylinders an entry",
		},
		{
			Key: "secondary_flow_kg_s", Title: "secondary injector flow",
			Meaning: "As the primary injector flow, of the secondary injectors.",
			Formula: "ṁ = n Q ρt √(Δp/Δpt) √(ρ/ρt)",
			Source:  "liquid through an orifice of constant discharge coefficient, ISO 5167-1, incompressible",
			Range:   "Δp about half to twice that of the rating (common practice)",
		},
		{
			Key: "t15_k", Title: "temperature at " + knock.OctanePressure,
			Meaning: "Temperature of the unburned charge when compression passes " + knock.OctanePressure + ".",
			Formula: "T15 = T (15 bar/p)^((γ−1)/γ) from inlet valve closing",
			Source:  "isentropic compression of a perfect gas", Range: "less than 15 bar at inlet valve closing; no heat to the walls",
		},
		{
			Key: "tank_volume_m3", Title: "tank wanted",
			Meaning: "Volume of a tank that holds a use and a reserve of a share of it.",
			Formula: "use/(1 − reserve share)", Source: "conservation of volume", Range: "reserve below the whole tank",
		},
		{
			Key: "viscosity_pa_s", Title: "viscosity",
			Meaning: "Dynamic viscosity of dry air; humidity lowers it by less than 1 % below 40 °C.",
			Formula: "μ = 1.458e-6 T^1.5/(T + 110.4)",
			Source:  "Sutherland's equation with the constants of the US Standard Atmosphere 1976", Range: "100 K to 1900 K",
		},
	}
}
