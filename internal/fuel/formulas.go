package fuel

import "bellmouth/internal/formula"

const (
	pureSource  = "pure substances: heats of formation of NASA/TP-2002-211556; generic grades: common practice, no source; else as given"
	heywood     = "Heywood, Internal Combustion Engine Fundamentals (1988)"
	octaneBlend = "among hydrocarbons by volume, alcohols against them by moles: Anderson et al., Energy & Fuels 24 (2010) 6576"
	lambdaRange = "lambda 0.5 to 2"
)

// Formulas describes the figures of the fuel and charge tables.
func Formulas() []formula.Entry {
	return []formula.Entry{
		{
			Key: "stoichiometric_air_fuel_ratio", Title: "stoichiometric air-fuel ratio",
			Meaning: "Mass of dry air that burns a kilogram of the fuel completely.",
			Formula: "AFR = (C + H/4 − O/2)/0.209476 · 28.96512 g/mol/M",
			Source:  heywood + ", section 3.4; atomic masses of IUPAC 2021, dry air of the US Standard Atmosphere 1976", Range: "fuels of C, H, O and N",
		},
		{
			Key: "lower_heating_value_j_kg", Title: "lower heating value",
			Meaning: "Heat released by a kilogram of liquid fuel burned completely at 298.15 K, the water left as vapour.",
			Formula: "LHV = (nCO2 393510 + nH2O 241826 + hf)/M; blends by mass",
			Source:  pureSource, Range: "liquids 10 MJ/kg to 50 MJ/kg, and about 13.1 MJ for each kilogram of oxygen (Huggett 1980)",
		},
		{
			Key: "mixture_energy_j_kg", Title: "mixture energy",
			Meaning: "Heat released per kilogram of dry air at stoichiometric mixture: what the engine's air is worth with this fuel.",
			Formula: "LHV/AFR",
			Source:  "definition", Range: "fuels of C, H, O and N",
		},
		{
			Key: "fuel_density_kg_m3", Title: "fuel density",
			Meaning: "Density of the liquid at its temperature.",
			Formula: "ρ = ρ20 (1 − β (T − 293.15)); blends: volumes add",
			Source:  "pure substances: DIPPR equation 105, Perry's Chemical Engineers' Handbook, 8th ed., table 2-32; grades: common practice, no source", Range: "253.15 K to 333.15 K",
		},
		{
			Key: "latent_heat_j_kg", Title: "latent heat",
			Meaning: "Heat taken up by a kilogram of fuel that evaporates at 298.15 K. It cools the charge.",
			Formula: "(hf gas − hf liquid)/M; blends by mass",
			Source:  pureSource, Range: "298.15 K",
		},
		{
			Key: "research_octane", Title: "RON",
			Meaning: "Research octane number.",
			Formula: "given; blends: " + octaneBlend,
			Source:  "pure substances: handbook values, from memory; grades: their name", Range: "a measured number is better for a blend",
		},
		{
			Key: "motor_octane", Title: "MON",
			Meaning: "Motor octane number.",
			Formula: "given; blends: " + octaneBlend,
			Source:  "pure substances: handbook values, from memory; grades: common practice, no source", Range: "a measured number is better for a blend",
		},
		{
			Key: "knock_octane", Title: "octane number",
			Meaning: "Octane number that the knock model takes.",
			Formula: "RON, or as given: octane index OI = RON − K (RON − MON) with K = 0, as in cooled boosted engines",
			Source:  "Kalghatgi, SAE 2001-01-3584, from memory", Range: "a hot charge wants a lower one, down to (RON + MON)/2; the delay was fitted to primary reference fuels, for which RON and MON are one",
		},
		{
			Key: "hydrogen_carbon_ratio", Title: "H/C",
			Meaning: "Hydrogen atoms per carbon atom.",
			Formula: "H/C; blends by moles", Source: "definition", Range: "0.8 to 4",
		},
		{
			Key: "oxygen_carbon_ratio", Title: "O/C",
			Meaning: "Oxygen atoms per carbon atom.",
			Formula: "O/C; blends by moles", Source: "definition", Range: "0 to 1",
		},
		{
			Key: "molar_mass_kg_mol", Title: "molar mass",
			Meaning: "Mass of a mole of the mean fuel molecule. It matters only to the volume of the vapour.",
			Formula: "12.011 C + 1.008 H + 15.999 O + 14.007 N, g/mol; of a bare ratio, that of the surrogate with the same H/C and O/C",
			Source:  "atomic masses of IUPAC 2021", Range: "fuels of C, H, O and N",
		},
		{
			Key: "lambda", Title: "lambda",
			Meaning: "Air-fuel ratio over the stoichiometric one, both by dry air. Below 1 is rich.",
			Formula: "λ = AFR/AFRst", Source: "definition", Range: lambdaRange,
		},
		{
			Key: "air_fuel_ratio", Title: "air-fuel ratio",
			Meaning: "Mass of dry air per mass of fuel.",
			Formula: "λ AFRst", Source: "definition", Range: lambdaRange,
		},
		{
			Key: "fuel_fraction", Title: "fuel in charge",
			Meaning: "Mass of fuel in a kilogram of fresh charge, humidity counted.",
			Formula: "1/(1 + AFR/y), y the dry air in a kilogram of moist air", Source: "definition", Range: lambdaRange,
		},
		{
			Key: "heat_released_j_kg", Title: "heat released",
			Meaning: "Heat that a kilogram of charge with evaporated fuel releases at 298.15 K.",
			Formula: "h unburned − h burned; rich: CO and H2 by the water-gas equilibrium K = pCO pH2O/(pCO2 pH2) = 3.5",
			Source:  heywood + ", sections 3.5 and 4.9.2", Range: lambdaRange + "; no dissociation",
		},
		{
			Key: "combustion_efficiency", Title: "combustion efficiency",
			Meaning: "Share of the fuel's lower heating value that its oxygen lets it release.",
			Formula: "(heat released per kg fuel − latent heat)/LHV",
			Source:  heywood + ", section 3.5", Range: lambdaRange,
		},
	}
}
