package pulse

import "bellmouth/internal/formula"

// Formulas returns the description of each figure this package computes for a table.
func Formulas() []formula.Entry {
	const (
		watson = "Watson and Janota, Turbocharging the Internal Combustion Engine (1982), ch. 7 and 8, filling and emptying"
		held   = "one volume for each turbine entry, the turbine quasi-steady; no waves, no mixing of entries; even firing, 1 to 12 cylinders an entry"
	)
	return []formula.Entry{
		{
			Key: "pulse_power_at_mean_flow", Title: "pulse power factor at equal mean flow",
			Meaning: "Mean turbine power under pulses over that of a steady stream of the same mean mass flow and mass-mean temperature.",
			Formula: "∮P dt/τ over P(m̄), P = η m cp T (1 − (p4/p3)^((γ−1)/γ))",
			Source:  "definition; " + watson, Range: held + "; not to be confused with the one at equal mean pressure",
		},
		{
			Key: "pulse_power_at_mean_pressure", Title: "pulse power factor at equal mean pressure",
			Meaning: "Mean turbine power under pulses over that of a steady stream at the time-mean inlet pressure and mass-mean temperature.",
			Formula: "∮P dt/τ over P(p̄3)",
			Source:  "definition; " + watson, Range: held + "; not to be confused with the one at equal mean flow",
		},
		{
			Key: "pulse_flow_at_mean_pressure", Title: "pulse flow factor at equal mean pressure",
			Meaning: "Mean flow under pulses over what the turbine swallows of a steady stream at the time-mean inlet pressure.",
			Formula: "∮m dt/τ over m(p̄3)",
			Source:  "definition; " + watson, Range: held,
		},
		{
			Key: "pulse_unsteadiness", Title: "unsteadiness of the pulses",
			Meaning: "Standard deviation over time of the pressure difference over the turbine, over its mean.",
			Formula: "√(mean of (p3 − p̄3)²)/(p̄3 − p4); half sines without a pause have √(π²/8 − 1) = 0.483",
			Source:  "definition", Range: held,
		},
		{
			Key: "pulse_efficiency_loss", Title: "efficiency lost to pulses",
			Meaning: "Share of the quasi-steady power that is lost because the flow in the wheel lags behind the pulses.",
			Formula: "L c/√(c² + 0.483²), c the unsteadiness, L = 7 %",
			Source:  "two measured points of a twin-entry turbine, 3.0 % and 7.0 % below steady; the form is ours",
			Range:   "25 Hz and 33 Hz, cold gas, 60 000 rpm and 100 000 rpm; taken for all",
		},
	}
}
