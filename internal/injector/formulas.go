package injector

import "bellmouth/internal/formula"

// Formulas returns the description of each figure this package computes for a table.
func Formulas() []formula.Entry {
	const (
		orifice  = "liquid through an orifice of constant discharge coefficient, ISO 5167-1, incompressible"
		practice = "common practice, no source"
		pulse    = "pulse not shorter than the injector's shortest"
	)
	return []formula.Entry{
		{
			Key: "fuel_per_cycle_kg", Title: "fuel a cycle",
			Meaning: "Fuel that one cylinder gets in one cycle.",
			Formula: "m = ṁ 4π/(N cylinders)", Source: "mass balance of a four-stroke engine", Range: "speed above 0",
		},
		{
			Key: "primary_flow_kg_s", Title: "primary injector flow",
			Meaning: "Static flow of one cylinder's primary injectors at the pressure they have.",
			Formula: "ṁ = n Q ρt √(Δp/Δpt) √(ρ/ρt)",
			Source:  orifice, Range: "Δp about half to twice that of the rating (common practice)",
		},
		{
			Key: "secondary_flow_kg_s", Title: "secondary injector flow",
			Meaning: "As the primary injector flow, of the secondary injectors.",
			Formula: "ṁ = n Q ρt √(Δp/Δpt) √(ρ/ρt)",
			Source:  orifice, Range: "Δp about half to twice that of the rating (common practice)",
		},
		{
			Key: "primary_pulse_s", Title: "primary pulse",
			Meaning: "Time for which each primary injector is driven in a cycle, dead time included.",
			Formula: "fuel of the set/ṁ + dead time(voltage)", Source: practice, Range: pulse,
		},
		{
			Key: "secondary_pulse_s", Title: "secondary pulse",
			Meaning: "Time for which each secondary injector is driven in a cycle, dead time included; 0 while they rest.",
			Formula: "fuel of the set/ṁ + dead time(voltage)", Source: practice, Range: pulse,
		},
		{
			Key: "primary_duty", Title: "primary duty",
			Meaning: "Share of the cycle that the primary pulse takes; above 1 it cannot be delivered.",
			Formula: "pulse N/(4π)", Source: "definition, four-stroke", Range: "0 to 1",
		},
		{
			Key: "secondary_duty", Title: "secondary duty",
			Meaning: "Share of the cycle that the secondary pulse takes; above 1 it cannot be delivered.",
			Formula: "pulse N/(4π)", Source: "definition, four-stroke", Range: "0 to 1",
		},
		{
			Key: "secondary_share", Title: "secondary share",
			Meaning: "Part of the fuel that the secondary injectors give.",
			Formula: "ṁs/(ṁp + ṁs) min(1, (D − start)/blend), D the duty the primary would need alone; at least the shortest pulse",
			Source:  practice, Range: "from the start duty on",
		},
	}
}
