package exhaust

import "bellmouth/internal/formula"

// Formulas returns the description of each figure this package computes for a table.
func Formulas() []formula.Entry {
	const (
		depcik    = "Depcik and Assanis, SAE 2002-01-0372"
		incropera = "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer"
		reynolds  = "Re 5e3 to 2e5 and 500 K to 4000 K, with a note outside"
	)
	return []formula.Entry{
		{
			Key: "exhaust_heat_w", Title: "exhaust heat",
			Meaning: "Heat that the exhaust of all cylinders gives to ports and manifold before turbine, collector or probe.",
			Formula: "Q = ṁ cp (Tin − Tw) (1 − exp(−NTU)), port, then primary; NTU = 4 (L/D) Nu/(Re Pr), Nu = 0.07 Re^0.75",
			Source:  depcik + "; " + incropera + ", §8.3.3; properties of burned gas by Heywood (1988), §4.8",
			Range:   reynolds,
		},
		{
			Key: "exhaust_wall_temperature_k", Title: "manifold wall temperature",
			Meaning: "Temperature of the manifold's pipes, as the mean over their length.",
			Formula: "Q = π Do L F (ε σ (Tw⁴ − Ta⁴) + ho (Tw − Ta))",
			Source:  "heat balance; ε, ho and F are assumptions where not given", Range: reynolds,
		},
		{
			Key: "probe_reading_k", Title: "probe reading",
			Meaning: "Temperature that a sheathed thermocouple shows in the exhaust. Pulses are not counted; they make it lower still.",
			Formula: "h (Te − Tp) = ε σ (Tp⁴ − Tw⁴), Te = T0 − (1 − r) V²/(2 cp); less (Tp − Tw)/cosh(m ℓ) along the sheath",
			Source:  "Churchill and Bernstein, J. Heat Transfer 99 (1977) 300, for h; " + incropera + ", §3.6 and ch. 13",
			Range:   "steady flow up to Mach 0.5, with a note above",
		},
	}
}
