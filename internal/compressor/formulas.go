package compressor

import "bellmouth/internal/formula"

// Formulas returns the entries for the figures that this package computes.
func Formulas() []formula.Entry {
	const (
		similarity = "Dixon & Hall, Fluid Mechanics and Thermodynamics of Turbomachinery, ch. 1 and 2; Heywood, Internal Combustion Engine Fundamentals, section 6.8"
		mapping    = "interpolation of this program's own, checked against NASA Glenn's measured HECC stage (HECC Data Archive, 2023)"
		onMap      = "between the lowest and highest speed line and their ends; outside, continued and marked"
	)
	return []formula.Entry{
		{
			Key: "pressure_ratio", Title: "Pressure ratio",
			Meaning: "Total pressure behind the compressor over total pressure at its inlet, PR. Losses of filter, restrictor and cooler make it more than manifold over venue pressure.",
			Formula: "PR = p2/p1",
			Source:  "definition",
			Range:   "above zero",
		},
		{
			Key: "corrected_flow_kg_s", Title: "Corrected flow",
			Meaning: "Air flow through one compressor, brought to the map's reference inlet state, so that it can be read on the map.",
			Formula: "ṁc = ṁ √(T1/Tref)/(p1/pref)",
			Source:  similarity,
			Range:   "one gas; Reynolds number of little influence",
		},
		{
			Key: "corrected_speed_rpm", Title: "Corrected speed",
			Meaning: "Shaft speed brought to the map's reference inlet temperature: the speed line on the map.",
			Formula: "N exp f(N, x) = ṁc solved for N; x = ln(ṁc²/h), h = PR^(2/7) − 1; f = ln(ṁc/N) interpolated by monotone cubics along each line in x and between lines in ln N at equal x − k(N), k = ln(φc²/ψp)",
			Source:  mapping,
			Range:   onMap,
		},
		{
			Key: "compressor_efficiency", Title: "Compressor efficiency",
			Meaning: "Isentropic efficiency, total to total: ideal work over the work taken.",
			Formula: "η = h/(N² exp w), w = ln(h/(η N²)) interpolated as f is for the corrected speed; beyond the choke end ηe/(2 − h/he)",
			Source:  mapping,
			Range:   onMap,
		},
		{
			Key: "shaft_rpm", Title: "Shaft speed",
			Meaning: "Speed of the turbocharger's shaft.",
			Formula: "N = Nc √(T1/Tref)",
			Source:  similarity,
			Range:   "as the corrected speed",
		},
		{
			Key: "surge_margin", Title: "Surge margin",
			Meaning: "How much of the flow could go before the compressor surges at the same pressure ratio; negative past surge. The surge line runs through the lowest flow of each speed line.",
			Formula: "(ṁ − ṁs)/ṁ",
			Source:  "definition, at constant pressure ratio",
			Range:   "past the first and the last line the surge line goes on with h ~ ṁ²",
		},
		{
			Key: "choke_margin", Title: "Choke margin",
			Meaning: "How far flow is below that of the choke end of the line at the same speed; negative past the choke end.",
			Formula: "(ṁc − ṁ)/ṁc; past the choke end ṁe/ṁ − 1, ṁe = ṁ √(h/he) the flow at which the end's resistance line has this pressure ratio",
			Source:  "definition, at constant speed",
			Range:   "−1 at a pressure ratio of 1 or less",
		},
		{
			Key: "compressor_outlet_temperature_k", Title: "Compressor outlet",
			Meaning: "Total temperature of the air behind the compressor, T2.",
			Formula: "s°(T2s) = s°(T1) + R ln PR; h(T2) = h(T1) + (h(T2s) − h(T1))/η",
			Source:  "Moran & Shapiro, Fundamentals of Engineering Thermodynamics, ch. 6; heat capacities from NASA/TP-2002-211556",
			Range:   "adiabatic, ideal gas, 200 K to 6000 K; T2 = T1 at a pressure ratio of 1 or less",
		},
		{
			Key: "compressor_power_w", Title: "Compressor power",
			Meaning: "Power that the compressor takes from the shaft, before the bearings' loss.",
			Formula: "P = ṁ (h(T2) − h(T1))",
			Source:  "first law; Heywood, Internal Combustion Engine Fundamentals, eq. 6.42",
			Range:   "adiabatic",
		},
	}
}
