package restrictor

import "bellmouth/internal/formula"

// Formulas returns the description of each figure this package computes for a table.
func Formulas() []formula.Entry {
	const (
		naca = "NACA Report 1135 (1953), isentropic flow of a perfect gas"
		one  = "one-dimensional flow of nearly constant γ, 1.05 to 1.7"
	)
	return []formula.Entry{
		{
			Key: "max_flow_kg_s", Title: "choked flow",
			Meaning: "Air flow at which the throat of the restrictor chokes, or all n throats of it; no suction behind draws more.",
			Formula: "ṁ = n Cd π d²/4 p0/√(R T0) √γ (2/(γ+1))^((γ+1)/(2(γ−1)))",
			Source:  naca, Range: one,
		},
		{
			Key: "discharge_coefficient", Title: "discharge coefficient",
			Meaning: "Flow at choke over that of the same throat without losses: as given, or for a bellmouth entry by Reynolds number.",
			Formula: "Cd = 0.9959 − 2.720/√Re, Re = 4 ṁ/(π d μ0), iterated, where none is given",
			Source:  "ISO 9300:2005, toroidal throat; viscosity by US Standard Atmosphere 1976",
			Range:   "Re 2.1e4 to 3.2e7 (from memory); an upper bound for an intake, and not for a drilled plate",
		},
		{
			Key: "restrictor_outlet_pressure_pa", Title: "pressure behind the restrictor",
			Meaning: "Pressure behind the diffuser; at choke that of its onset.",
			Formula: "p1 = pt + r (p0 − pt), ψ(pt/p0, γ) = ṁ √(R T0)/(n Cd A p0)",
			Source:  naca + ", for the throat; the recovery r is a definition",
			Range:   one + "; flow up to the choked flow; r and Cd do not change with flow",
		},
		{
			Key: "throat_mach", Title: "throat Mach number",
			Meaning: "Mach number in the throat, 1 at choke.",
			Formula: "M = √(2/(γ−1) ((p0/pt)^((γ−1)/γ) − 1))",
			Source:  naca, Range: one,
		},
		{
			Key: "restrictor_bore_m", Title: "restrictor bore",
			Meaning: "Smallest throat diameter that lets a flow through.",
			Formula: "d = √(4 ṁ/(π n Cd G)), G the choked flow through a unit of area without losses",
			Source:  naca, Range: one,
		},
	}
}
