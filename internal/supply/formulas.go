package supply

import "bellmouth/internal/formula"

// Formulas returns the description of each figure this package computes for a table.
func Formulas() []formula.Entry {
	const (
		white    = "White, Fluid Mechanics"
		balance  = "conservation of volume"
		profile  = "shares of time that add up to 1"
		tested   = "pressures of the pump's tests; 0.75 of the lowest voltage tested to 1.25 of the highest"
		velocity = "v = 4 Q/(π d²)"
	)
	return []formula.Entry{
		{
			Key: "pump_flow_m3_s", Title: "pump flow",
			Meaning: "Volume flow that the pumps give against the rail's pressure and what lines and filters lose on the way.",
			Formula: "Δp(Q, V) = rail above venue + loss(Q), solved for Q; one behind the other pressures add, side by side flows",
			Source:  "the pump's tests, monotone cubic over pressure; " + white + ", §6.10 and §11.5", Range: tested,
		},
		{
			Key: "pump_rise_pa", Title: "pump pressure",
			Meaning: "Pressure that the pumps add to what they draw from the tank.",
			Formula: "Δp = rail above venue + line loss + filter loss", Source: "conservation of pressure along the line", Range: tested,
		},
		{
			Key: "rail_pressure_pa", Title: "rail pressure",
			Meaning: "Pressure before the injectors above the venue's.",
			Formula: "p + pm − pa following the manifold, p fixed; at least the return line's loss; Δp(Qe) − loss(Qe) when the pumps are short",
			Source:  "definition; conservation of pressure", Range: "tank vented to the venue, regulator at the rail",
		},
		{
			Key: "line_loss_pa", Title: "line loss",
			Meaning: "Pressure lost between tank and rail by wall friction and fittings, at the pumps' flow.",
			Formula: "(f L/d + K) ρ v²/2, " + velocity, Source: "Darcy and Weisbach, " + white + ", §6.3 and §6.9",
			Range: "Reynolds number up to 1e8, roughness up to 0.05 of the bore",
		},
		{
			Key: "friction_factor", Title: "friction factor",
			Meaning: "Darcy's friction factor of a line.",
			Formula: "64/Re up to Re 2300; 1/√f = −2 log10((ε/d)/3.7 + 2.51/(Re √f)) from 4000; straight in Re between",
			Source:  "Colebrook, J. Inst. Civil Engineers 11 (1939); " + white + ", §6.6; between: common practice, no source",
			Range:   "Reynolds number up to 1e8, roughness up to 0.05 of the bore",
		},
		{
			Key: "reynolds_number", Title: "Reynolds number",
			Meaning: "Of a line's flow, by its bore.",
			Formula: "Re = ρ v d/μ, " + velocity, Source: "definition", Range: "everywhere",
		},
		{
			Key: "line_velocity_m_s", Title: "speed in the line",
			Meaning: "Mean velocity of the fuel in a line.",
			Formula: velocity, Source: balance, Range: "everywhere",
		},
		{
			Key: "fuel_viscosity_pa_s", Title: "fuel viscosity",
			Meaning: "Dynamic viscosity of the liquid fuel at its temperature.",
			Formula: "μ = μ0 exp(B (1/T − 1/273.15)); ln μ straight in the oxygen by mass between petrol, ethanol and methanol",
			Source:  "alcohols: CRC Handbook of Chemistry and Physics, from memory; petrol 0.50 mPa s at 20 °C and mixing: common practice, no source",
			Range:   "253 K to 333 K",
		},
		{
			Key: "filter_loss_pa", Title: "filter loss",
			Meaning: "Pressure lost in the filters at the pumps' flow, clean.",
			Formula: "Δp0 (s μ/μ0 Q/Q0 + (1 − s) ρ/ρ0 (Q/Q0)²), s the linear share at the measured point",
			Source:  "Darcy and Forchheimer, from memory", Range: "near the measured flow; a loaded filter loses more",
		},
		{
			Key: "return_flow_m3_s", Title: "return flow",
			Meaning: "Volume flow that the regulator sends back to the tank.",
			Formula: "Q − Qe, at least 0", Source: balance, Range: "systems with a return",
		},
		{
			Key: "return_loss_pa", Title: "return line loss",
			Meaning: "Pressure lost from the regulator to the tank; the rail cannot be lower.",
			Formula: "as the line loss, at the return flow", Source: "Darcy and Weisbach, " + white + ", §6.3", Range: "as the line loss",
		},
		{
			Key: "pump_margin", Title: "pump margin",
			Meaning: "By how much the pumps give more than the engine takes, as a part of that; below 0 the rail falls.",
			Formula: "Q/Qe − 1", Source: "definition", Range: "demand above 0",
		},
		{
			Key: "sag_voltage_v", Title: "breaks at",
			Meaning: "Battery voltage below which a limit is passed: pump margin, rail pressure, or the duty of a set of injectors.",
			Formula: "pump flow and dead time at the voltage less the wiring's drop, rail as the pumps hold it; halved to 1e-9 V",
			Source:  "the pump's and the injectors' own tests", Range: "voltages of the sag",
		},
		{
			Key: "full_load_use_m3_s", Title: "use at full load",
			Meaning: "Volume flow of fuel at full load.",
			Formula: "Qe = fuel flow/ρ", Source: balance, Range: "everywhere",
		},
		{
			Key: "fuel_use_m3", Title: "fuel of a run",
			Meaning: "Volume of fuel that a stage or lap takes.",
			Formula: "t Σ share Q", Source: balance, Range: profile,
		},
		{
			Key: "tank_time_s", Title: "tank lasts",
			Meaning: "Time until only the reserve is left.",
			Formula: "(volume − reserve)/Σ share Q", Source: balance, Range: profile,
		},
		{
			Key: "tank_runs", Title: "runs in a tank",
			Meaning: "Whole stages or laps that the tank lasts before its reserve.",
			Formula: "(volume − reserve)/fuel of a run, rounded down", Source: balance, Range: profile,
		},
		{
			Key: "tank_volume_m3", Title: "tank wanted",
			Meaning: "Volume of a tank that holds a use and a reserve of a share of it.",
			Formula: "use/(1 − reserve share)", Source: balance, Range: "reserve below the whole tank",
		},
	}
}
