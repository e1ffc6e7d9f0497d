package cycle

import "bellmouth/internal/formula"

// Formulas describes the figures that the cycle gives.
func Formulas() []formula.Entry {
	const (
		heywood = "Heywood, Internal Combustion Engine Fundamentals (1988)"
		cycle   = "one zone, unburned end gas followed; no dissociation, blow-by or crevices"
		always  = "everywhere"
	)
	return []formula.Entry{
		{
			Key: "peak_pressure_pa", Title: "Peak pressure",
			Meaning: "Highest pressure in the cylinder, absolute, of the mean cycle; single cycles go higher.",
			Formula: "max p(θ)",
			Source:  "energy equation dU = −p dV − dQ, Wiebe burning, Woschni heat transfer, " + heywood + ", ch. 9 and 12", Range: cycle,
		},
		{
			Key: "peak_angle_deg", Title: "Angle of peak pressure",
			Meaning: "Crank angle of the peak pressure after firing top dead centre.",
			Formula: "θ at max p",
			Source:  "as peak_pressure_pa", Range: cycle,
		},
		{
			Key: "burn_start_deg", Title: "Start of burning",
			Meaning: "Crank angle at which burning starts, negative before firing top dead centre. The spark is earlier by the ignition delay.",
			Formula: "from CA50 by the Wiebe function xb = 1 − exp(−5 y³)",
			Source:  heywood + ", eq. 9.30", Range: always,
		},
		{
			Key: "burn_angle_deg", Title: "Burn angle",
			Meaning: "Crank angle from 0 to 90 % burned.",
			Formula: "the spec's table, or 43° (N/2000 rpm)^0.2, for the stated condition; × burn_angle_factor for the charge",
			Source:  heywood + ", §9.2.2; the exponent is common practice, no source; factor after Hires, Tabaczynski and Novak, SAE 780232 (1978)", Range: "1000 to 10000 rpm for the default",
		},
		{
			Key: "knock_integral", Title: "Knock integral",
			Meaning: "Livengood–Wu integral of the mean cycle's end gas up to 90 % burned; 1 is autoignition, its fastest cycles get there first.",
			Formula: "∫dt/τ, τ = 17.68 ms (ON/100)^3.402 p^−1.7 exp(3800/T), p in atm, ON the octane index, × factors of mixture and residual gas",
			Source:  "Douaud and Eyzat, SAE 780080 (1978); Livengood and Wu (1955); octane index after Kalghatgi", Range: "octane 80 to 100; higher is an extrapolation",
		},
		{
			Key: "peak_temperature_k", Title: "Peak temperature",
			Meaning: "Highest mean temperature in the cylinder.",
			Formula: "max T(θ)",
			Source:  "as peak_pressure_pa", Range: cycle + ": 100 to 200 K too high near lambda 1",
		},
		{
			Key: "end_gas_temperature_k", Title: "End gas temperature",
			Meaning: "Highest temperature of the unburned gas while the knock integral runs.",
			Formula: "compressed with the cylinder's pressure",
			Source:  "as peak_pressure_pa", Range: cycle,
		},
	}
}
