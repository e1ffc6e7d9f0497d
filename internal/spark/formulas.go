package spark

import "bellmouth/internal/formula"

// Formulas describes the figures that this package computes for a table.
func Formulas() []formula.Entry {
	const (
		practice = "common practice, no source"
		coil     = "step response of a series inductance and resistance"
		straight = "a core that does not saturate; R at working temperature"
		kuffel   = "Kuffel, Zaengl and Kuffel, High Voltage Engineering: Fundamentals (2nd ed., 2000), ch. 5, after Schumann (1923), from memory"
		douaud   = "τ ~ ON^3.402: Douaud and Eyzat, SAE 780080 (1978); derived"
		octane   = "same spark, charge and speed; octane 80 to 100, else an extrapolation"
	)
	return []formula.Entry{
		{
			Key: "spark_advance_deg", Title: "Spark advance",
			Meaning: "Crank angle of the spark before firing top dead centre, negative after it: a starting point for a dynamometer with knock detection, not a calibration.",
			Formula: "α = δ − θs, δ the ignition delay, θs the start of burning after top dead centre",
			Source:  "definition", Range: "as the start of burning and the ignition delay",
		},
		{
			Key: "ignition_delay_deg", Title: "Ignition delay",
			Meaning: "Crank angle from the spark to the start of the Wiebe burn.",
			Formula: "the spec's table, or 4° (N/2000 rpm)^(1/3)",
			Source:  "exponent: Hires, Tabaczynski and Novak, SAE 780232 (1978), from memory; the 4° are " + practice,
			Range:   "1000 to 10000 rpm for the default; mixture, residual gas and density left out",
		},
		{
			Key: "octane_needed", Title: "Octane needed",
			Meaning: "Octane number with which the knock integral would just meet its limit.",
			Formula: "ON (K/Kl)^(1/3.402), K the knock integral, Kl its limit",
			Source:  douaud, Range: octane,
		},
		{
			Key: "octane_margin", Title: "Octane margin",
			Meaning: "Octane numbers to spare before the knock integral meets its limit; negative where they are short, 0 where knock holds the burn late.",
			Formula: "ON (1 − (K/Kl)^(1/3.402)), K the knock integral, Kl its limit",
			Source:  douaud, Range: octane,
		},
		{
			Key: "dwell_s", Title: "Dwell",
			Meaning: "Time for which the coil is charged before each spark: that for the current wanted, or what fits between two sparks.",
			Formula: "t = −L/R ln(1 − i R/(U − U0)), at most 4π/(N k) − spark time; k sparks of the coil a cycle, U0 the driver's drop",
			Source:  coil, Range: straight,
		},
		{
			Key: "dwell_room_s", Title: "Room for dwell",
			Meaning: "Longest dwell that fits between the end of one spark of the coil and its next.",
			Formula: "4π/(N k) − spark time; k sparks of the coil a cycle",
			Source:  "definition, four-stroke", Range: "sparks evenly apart",
		},
		{
			Key: "full_dwell_rpm", Title: "Full dwell up to",
			Meaning: "Engine speed above which the whole dwell no longer fits and the coil's energy falls.",
			Formula: "4π/(k (t + spark time)); k sparks of the coil a cycle",
			Source:  "definition, four-stroke", Range: "sparks evenly apart",
		},
		{
			Key: "coil_current_a", Title: "Coil current",
			Meaning: "Current in the coil's primary at the spark.",
			Formula: "i = (U − U0)/R (1 − exp(−t R/L)), at most the driver's limit",
			Source:  coil, Range: straight,
		},
		{
			Key: "coil_energy_j", Title: "Coil energy",
			Meaning: "Energy stored in the coil at the spark; the spark gets the part that the secondary side does not lose.",
			Formula: "½ L i²",
			Source:  "energy of a constant inductance", Range: straight,
		},
		{
			Key: "coil_duty", Title: "Coil duty",
			Meaning: "Share of the time for which the coil is charged.",
			Formula: "t k N/(4π); k sparks of the coil a cycle",
			Source:  "definition, four-stroke", Range: "0 to 1",
		},
		{
			Key: "coil_mean_current_a", Title: "Coil supply current",
			Meaning: "Mean current that one coil draws from the supply.",
			Formula: "k N/(4π) ∫i dt over the dwell",
			Source:  coil, Range: straight,
		},
		{
			Key: "coil_heat_w", Title: "Coil heat",
			Meaning: "Mean heating power in the resistance of one coil's primary; secondary and core add theirs.",
			Formula: "k N/(4π) R ∫i² dt over the dwell",
			Source:  coil, Range: straight,
		},
		{
			Key: "spark_pressure_pa", Title: "Pressure at the spark",
			Meaning: "Pressure in the cylinder at the spark, absolute.",
			Formula: "p(θ) of the cycle at the spark's crank angle",
			Source:  "as peak_pressure_pa", Range: "from inlet valve closing on",
		},
		{
			Key: "spark_temperature_k", Title: "Temperature at the spark",
			Meaning: "Temperature of the gas in the cylinder at the spark.",
			Formula: "T(θ) of the cycle at the spark's crank angle",
			Source:  "as peak_pressure_pa", Range: "from inlet valve closing on",
		},
		{
			Key: "breakdown_voltage_v", Title: "Breakdown voltage",
			Meaning: "Voltage at which the plug's gap breaks down, as of air in a uniform field; sharp and hot electrodes need less, worn ones about this.",
			Formula: "U = 24.36 δ + 6.72 √δ kV, δ = p d (293.15 K/T) in bar cm",
			Source:  kuffel, Range: "p d (293.15 K/T) of 15 to 2000 Pa m, 200 to 1500 K; too high above some 10 bar at 20 °C",
		},
		{
			Key: "available_voltage_v", Title: "Available voltage",
			Meaning: "Peak secondary voltage that the coil raises with the current it has, before the gap breaks down.",
			Formula: "Ur min(1, i/Ir), Ur the rated voltage at the rated current Ir",
			Source:  "½ L i² into a constant capacitance; held above the rated current: " + practice, Range: "the plug and lead that the rating is stated with",
		},
		{
			Key: "voltage_margin", Title: "Voltage margin",
			Meaning: "Part of the available voltage that the gap leaves; negative when it does not break down.",
			Formula: "(U available − U breakdown)/U available",
			Source:  "definition", Range: "as the two voltages",
		},
		{
			Key: "widest_gap_m", Title: "Widest gap",
			Meaning: "Plug gap that the voltage allowed just breaks down.",
			Formula: "the gap at which 24.36 δ + 6.72 √δ kV, δ = p d (293.15 K/T) in bar cm, is that voltage",
			Source:  kuffel, Range: "as breakdown_voltage_v",
		},
	}
}
