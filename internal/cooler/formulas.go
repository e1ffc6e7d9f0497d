package cooler

import "bellmouth/internal/formula"

// Formulas returns the description of each figure this package computes for a table.
func Formulas() []formula.Entry {
	const incropera = "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer"
	return []formula.Entry{
		{
			Key: "cooler_outlet_temperature_k", Title: "temperature after the cooler",
			Meaning: "Temperature of the charge behind the cooler.",
			Formula: "T = T2 − ε(m) (T2 − Tc), Tc of the coolant coming in",
			Source:  incropera + ", §11.4, definition of the effectiveness",
			Range:   "charge of the smaller heat capacity rate; flow inside the table of effectiveness, held outside",
		},
		{
			Key: "cooler_effectiveness", Title: "cooler effectiveness",
			Meaning: "Temperature drop of the charge over the greatest possible: as given, or from the number of transfer units.",
			Formula: "ε(NTU, Cr); counterflow (1 − exp(−NTU (1−Cr)))/(1 − Cr exp(−NTU (1−Cr)))",
			Source:  incropera + ", table 11.3; crossflow with both fluids unmixed by the series of Mason (1954)",
			Range:   "NTU 0 to 100, Cr 0 to 1",
		},
		{
			Key: "cooler_heat_w", Title: "heat rejected",
			Meaning: "Heat that the charge gives the coolant.",
			Formula: "Q = m cp (T2 − T)", Source: "energy balance", Range: "cp at the mean of the two temperatures",
		},
		{
			Key: "cooler_loss_pa", Title: "cooler pressure loss",
			Meaning: "Total pressure that the charge loses in the cooler.",
			Formula: "Δp = k m² T2/p2, k through one measured point",
			Source:  "loss in proportion to dynamic pressure, common practice, no source",
			Range:   "losses up to about a tenth of the pressure",
		},
	}
}
