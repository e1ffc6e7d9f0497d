package flame

import "bellmouth/internal/formula"

// Formulas returns the description of each figure this package computes for a table.
func Formulas() []formula.Entry {
	const (
		families = "Rhodes and Keck, SAE 850047 (1985), for petrol; Gülder, SAE 841000 (1984), for the rest; most constants from memory"
		law      = "Hires, Tabaczynski and Novak, SAE 780232 (1978), in the form of Heywood, Internal Combustion Engine Fundamentals (1988), " +
			"ch. 9, from memory; the chamber's height at the spark is left out"
		holds = "same engine and speed, burn phased about alike; equivalence ratio 0.7 to 1.6 (petrol) or 1.4, residual gas up to 30 % by mole"
	)
	return []formula.Entry{
		{
			Key: "flame_speed_m_s", Title: "Flame speed",
			Meaning: "Laminar burning velocity of the unburned charge. Only its changes with one fuel are used: its size differs by up to 1.8 between " +
				"sources.",
			Formula: "S = S0(φ) (T/T0)^α(φ) (p/1 atm)^β(φ) r(x), r = 1 − 2.06 x^0.77 with petrol, 1 − 2.3 x with the rest; ln S of a blend is the mean by energy",
			Source:  families, Range: "equivalence ratio 0.7 to 1.6 (petrol) or 1.4, residual gas up to 30 % by mole; pressure and temperature of an engine are beyond the fits",
		},
		{
			Key: "burn_angle_factor", Title: "Burn angle",
			Meaning: "Factor on the stated burn angle for the charge's state half-way through the burn.",
			Formula: "Δθ/Δθ0 = (ν/ν0)^(1/3) (S0/S)^(2/3), ν = μ R T/p, S the flame speed",
			Source:  law, Range: holds,
		},
		{
			Key: "ignition_delay_factor", Title: "Ignition delay",
			Meaning: "Factor on the stated angle from spark to the start of burning, for the charge's state at the spark.",
			Formula: "Δθd/Δθd0 = (ν/ν0)^(1/3) (S0/S)^(2/3), ν = μ R T/p, S the flame speed",
			Source:  law, Range: holds,
		},
	}
}
