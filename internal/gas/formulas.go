package gas

import "bellmouth/internal/formula"

const (
	cipmSource = "CIPM-2007: Picard, Davis, Gläser and Fujii, Metrologia 45 (2008) 149"
	cipmRange  = "stated for 600 hPa to 1100 hPa and 15 °C to 27 °C; continued with a note to 50 kPa to 120 kPa and -30 °C to 60 °C"
	stdSource  = "US Standard Atmosphere 1976, the same as ISO 2533:1975"
	noTurbo    = " It is meant for engines that breathe the barometer: one whose boost is held to an absolute pressure gains less, and the factor then flatters it."
)

// Formulas describes the figures of the air table.
func Formulas() []formula.Entry {
	return []formula.Entry{
		{
			Key: "pressure_pa", Title: "pressure",
			Meaning: "Absolute pressure of the venue's air: the barometer as read, not reduced to sea level, or that of the standard atmosphere at the altitude.",
			Formula: "p = 101325 (T/288.15)^(g/(0.0065 R)), T = 288.15 − 0.0065 H, H = r z/(r + z), R = 287.0531 J/(kg K), r = 6356766 m",
			Source:  stdSource, Range: "-2000 m to 11 000 m",
		},
		{
			Key: "temperature_k", Title: "temperature",
			Meaning: "Temperature of the venue's air, given or that of the standard atmosphere at the altitude.",
			Formula: "T = 288.15 − 0.0065 H, H = r z/(r + z)",
			Source:  stdSource, Range: "-2000 m to 11 000 m",
		},
		{
			Key: "relative_humidity", Title: "relative humidity",
			Meaning: "Vapour pressure as a fraction of that of air saturated over liquid water.",
			Formula: "given", Source: "definition", Range: "0 to 1",
		},
		{
			Key: "density_kg_m3", Title: "density",
			Meaning: "Mass of a cubic metre of the moist air.",
			Formula: "ρ = p Ma/(Z R T) (1 − xv (1 − Mv/Ma)), Z = 1 − p/T (a0 + a1 t + a2 t² + (b0 + b1 t) xv + (c0 + c1 t) xv²) + p²/T² (d + e xv²)",
			Source:  cipmSource + ", equations 1 and A1.4", Range: cipmRange,
		},
		{
			Key: "vapour_pressure_pa", Title: "vapour pressure",
			Meaning: "Partial pressure of the water vapour.",
			Formula: "pv = xv p",
			Source:  cipmSource + ", equations A1.1 and A1.2", Range: cipmRange,
		},
		{
			Key: "water_mole_fraction", Title: "water vapour",
			Meaning: "Share of the molecules that are water.",
			Formula: "xv = φ f psv/p, f = 1.00062 + 3.14e-8 p + 5.6e-7 t², psv = exp(1.2378847e-5 T² − 1.9121316e-2 T + 33.93711047 − 6343.1645/T)",
			Source:  cipmSource + ", equations A1.1 and A1.2", Range: cipmRange,
		},
		{
			Key: "oxygen_mole_fraction", Title: "oxygen",
			Meaning: "Share of the molecules that are oxygen. Humidity displaces it.",
			Formula: "xO2 = 0.209476 (1 − xv)",
			Source:  "dry air of the US Standard Atmosphere 1976", Range: cipmRange,
		},
		{
			Key: "dry_air_fraction", Title: "dry air",
			Meaning: "Mass of dry air in a kilogram of the moist air. Fuel is metered to it.",
			Formula: "(1 − xv) Ma/((1 − xv) Ma + xv Mv), Ma = 28.96512 g/mol, Mv = 18.01528 g/mol",
			Source:  "definition; molar masses of NASA/TP-2002-211556", Range: cipmRange,
		},
		{
			Key: "density_altitude_m", Title: "density altitude",
			Meaning: "Geometric altitude at which the standard atmosphere is as dense as this air.",
			Formula: "T = 288.15 (ρ/ρ0)^(1/(g/(0.0065 R) − 1)), H = (288.15 − T)/0.0065, z = r H/(r − H), ρ0 = 1.2250 kg/m³",
			Source:  stdSource + ", inverted", Range: "-5000 m to 11 000 m; below -2000 m the law of the troposphere is continued",
		},
		{
			Key: "speed_of_sound_m_s", Title: "speed of sound",
			Meaning: "Speed of small pressure waves in the moist air.",
			Formula: "a = √(γ R T), γ = cp/(cp − R)",
			Source:  "cp from the fits of NASA/TP-2002-211556", Range: "ideal gas; 200 K to 6000 K",
		},
		{
			Key: "viscosity_pa_s", Title: "viscosity",
			Meaning: "Dynamic viscosity of dry air; humidity lowers it by less than 1 % below 40 °C.",
			Formula: "μ = 1.458e-6 T^1.5/(T + 110.4)",
			Source:  "Sutherland's equation with the constants of the US Standard Atmosphere 1976", Range: "100 K to 1900 K",
		},
		{
			Key: "correction_sae_j1349", Title: "SAE J1349",
			Meaning: "Factor that states a power measured in this air for 99 kPa dry and 25 °C, at 85 % mechanical efficiency." + noTurbo,
			Formula: "1.180 (990/pd) √((t + 273)/298) − 0.18, pd = p − φ psv in mbar, t in °C",
			Source:  "SAE J1349, June 1990", Range: "90 kPa to 105 kPa dry, 15 °C to 35 °C (from memory); a note outside",
		},
		{
			Key: "correction_sae_j607", Title: "SAE J607",
			Meaning: "Factor that states a power measured in this air for 29.92 inHg dry and 60 °F; withdrawn, and about 4 % above SAE J1349." + noTurbo,
			Formula: "(29.92/pd) √((F + 460)/520), pd = p − φ psv in inHg at 0 °C, F in °F",
			Source:  "SAE J607", Range: "no published range to hand; a note outside a factor of 0.93 to 1.07",
		},
		{
			Key: "correction_din_70020", Title: "DIN 70020",
			Meaning: "Factor that states a power measured in this air for 1013 mbar and 20 °C; withdrawn, and blind to humidity." + noTurbo,
			Formula: "(1013/p) √((t + 273)/293), p the barometer in mbar, t in °C",
			Source:  "DIN 70020", Range: "no published range to hand; a note outside a factor of 0.93 to 1.07",
		},
		{
			Key: "correction_iso_1585", Title: "ISO 1585",
			Meaning: "Factor that states the power of a spark-ignition engine measured in this air for 99 kPa dry and 25 °C." + noTurbo,
			Formula: "(99/pd)^1.2 (T/298)^0.6, pd = p − φ psv in kPa, T = t + 273",
			Source:  "ISO 1585, also UN ECE R85", Range: "a factor of 0.93 to 1.07 (from memory); a note outside",
		},
	}
}
