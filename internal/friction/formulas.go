package friction

import "bellmouth/internal/formula"

// Formulas returns the description of each figure this package computes for a table.
func Formulas() []formula.Entry {
	const (
		source = "Patton, Nitschke and Heywood, SAE 890836 (1989), revised by Sandoval and Heywood, SAE 2003-01-0725; constants from memory"
		fitted = "fitted at 600 to 6000 rpm to engines of the 1980s; extrapolated beyond, with a note"
		units  = "kPa, mm, rev/min, whole engine"
	)
	return []formula.Entry{
		{
			Key: "fmep_pa", Title: "FMEP",
			Meaning: "Friction mean effective pressure of crank, pistons, valve train and auxiliaries. Pumping is in the PMEP.",
			Formula: "by components: f (crank + piston + gas load + valve train + auxiliaries); by Chen and Flynn: f (A + B pmax + C Sp)",
			Source:  source + "; Chen and Flynn, SAE 650733 (1965)",
			Range:   "fitted at 600 to 6000 rpm without boost to engines of the 1980s; extrapolated beyond, with a note; Chen and Flynn: fitted to a compression-ignition single, the factor fits the engine at hand",
		},
		{
			Key: "crank_fmep_pa", Title: "crank",
			Meaning: "Share of the friction in main bearings, crank pins and crank seals, and in the oil that is thrown about.",
			Formula: "1.22e5 Dm/(B² S nc) + 3.03e-4 √(ν/ν0) N (Dm³ Lm nm + Dp³ Lp np)/(B² S nc) + 1.35e-10 Dm² N² nm/nc; " + units,
			Source:  source, Range: fitted,
		},
		{
			Key: "piston_fmep_pa", Title: "pistons and rings",
			Meaning: "Share of the friction of piston skirts and rings, without what gas pressure adds.",
			Formula: "294 √(ν/ν0) Sp/B + 4.06e4 (1 + 500/N)/B²; Sp in m/s; " + units,
			Source:  source, Range: fitted,
		},
		{
			Key: "gas_load_fmep_pa", Title: "gas load",
			Meaning: "Share of the friction that gas pressure behind the rings adds.",
			Formula: "6.89 pm/pa (0.088 √(ν/ν0) rc + 0.182 rc^(1.33 − 0.0238 Sp)), kPa",
			Source:  source, Range: "fitted without boost, where pm/pa is 1 or less; exponent held above a mean piston speed of 30 m/s, with a note",
		},
		{
			Key: "valve_train_fmep_pa", Title: "valve train",
			Meaning: "Share of the friction of camshafts, followers and what lies between them and the valves.",
			Formula: "4.12 + 244 √(ν/ν0) N ncb/(B² S nc) + (Cff (1 + 500/N) or Crf N) nv/(S nc) + Coh √(ν/ν0) Lv^1.5 √N nv/(B S nc) + Com (1 + 500/N) Lv nv/(S nc); " + units,
			Source:  source, Range: fitted + "; ordinary valve springs",
		},
		{
			Key: "auxiliaries_fmep_pa", Title: "auxiliaries",
			Meaning: "Share of the friction that drives oil pump, water pump and alternator, times the factor of the spec.",
			Formula: "fa (8.32 + 1.86e-3 N + 7.45e-7 N²), kPa, N in rev/min",
			Source:  source, Range: fitted,
		},
	}
}
