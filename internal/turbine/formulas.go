package turbine

import "bellmouth/internal/formula"

// Formulas returns the description of each figure this package computes for a table.
func Formulas() []formula.Entry {
	const (
		watson = "Watson and Janota, Turbocharging the Internal Combustion Engine (1982)"
		naca   = "de Saint-Venant and Wantzel, as in NACA Report 1135 (1953)"
		dixon  = "Dixon, Fluid Mechanics and Thermodynamics of Turbomachinery, ch. 2"
	)
	return []formula.Entry{
		{
			Key: "expansion_ratio", Title: "expansion ratio",
			Meaning: "Pressure before the turbine over that after it, where the turbine gives the compressor its power.",
			Formula: "ER = p3/p4 from g ηm n Cd A ER p4/√(R T3) ψ(1/ER, γ) η cp T3 (1 − ER^(−(γ−1)/γ)) = P + n c N², g the pulses' power factor at equal mean pressure, 1 in a steady stream",
			Source:  naca + "; " + dixon, Range: "1 to 6; the turbine as one nozzle",
		},
		{
			Key: "blade_speed_ratio", Title: "blade speed ratio",
			Meaning: "Speed of the wheel's tip over the velocity that the isentropic work would give the gas.",
			Formula: "U/C0 = (D N/2)/√(2 cp T3 (1 − ER^(−(γ−1)/γ)))",
			Source:  watson + ", ch. 5", Range: "ER above 1",
		},
		{
			Key: "turbine_efficiency", Title: "turbine efficiency",
			Meaning: "Work taken over isentropic work, total to static: as given, over the blade speed ratio or constant.",
			Formula: "η(U/C0), monotone cubic between the points given, held outside",
			Source:  "given", Range: "0 to 1; rising less than with the square of U/C0",
		},
		{
			Key: "turbine_flow_kg_s", Title: "turbine flow",
			Meaning: "Exhaust that passes all turbines.",
			Formula: "m = f n Cd A p3/√(R T3) ψ(p4/p3, γ), f the pulses' flow factor at equal mean pressure, 1 in a steady stream",
			Source:  naca + "; a turbine as one nozzle: " + watson, Range: "choked or not",
		},
		{
			Key: "turbine_power_w", Title: "turbine power",
			Meaning: "Power that all turbines give their compressors.",
			Formula: "P = (g/f) ηm m η cp T3 (1 − ER^(−(γ−1)/γ)) − n c N², g/f the pulses' factors of power over flow, 1 in a steady stream; cp and γ at the means of the expansion's temperatures",
			Source:  dixon, Range: "ER 1 to 6, where cp and γ so taken are within 0.03 % of the real gas",
		},
		{
			Key: "bearing_power_w", Title: "bearing power",
			Meaning: "Power that the bearings of all turbochargers take.",
			Formula: "n c N², c as given or 2e-6 N m s (D/45 mm)³; with a mechanical efficiency in its place (1 − ηm) of the gas's work",
			Source:  "the size of c between a course's 1e-6 N m s and figures from memory, known to a factor of two; scaling by Petroff's law",
			Range:   "floating bearings in hot oil; ball bearings take about half",
		},
		{
			Key: "wastegate_flow_kg_s", Title: "wastegate flow",
			Meaning: "Exhaust that passes the wastegate beside the turbines.",
			Formula: "exhaust flow − turbine flow; at most Cd A p3/√(R T3) ψ(p4/p3, γ), A = n π d min(l, d/4)",
			Source:  naca, Range: "0 to the flow of the open valve",
		},
		{
			Key: "wastegate_fraction", Title: "wastegate share",
			Meaning: "Wastegate flow over exhaust flow.",
			Formula: "wastegate flow/exhaust flow", Source: "definition", Range: "0 to 1",
		},
		{
			Key: "wastegate_lift_m", Title: "wastegate lift",
			Meaning: "Lift at which the valve passes the wastegate flow.",
			Formula: "l = m/(Cd n π d p3/√(R T3) ψ(p4/p3, γ))",
			Source:  naca, Range: "up to a quarter of the bore, where the curtain reaches the area of the seat, or the greatest lift",
		},
	}
}
