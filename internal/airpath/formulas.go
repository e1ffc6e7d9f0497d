package airpath

import "bellmouth/internal/formula"

// Formulas describes the figures of an operating point that come from the solution of the whole air path.
func Formulas() []formula.Entry {
	const (
		loop    = "solution of the whole air path: flow, shaft power and exhaust temperature agree to 1e-6"
		heywood = "Heywood, Internal Combustion Engine Fundamentals (1988)"
		solved  = "steady full load"
		cycle   = "one zone, unburned end gas followed; no dissociation, blow-by or crevices"
		always  = "everywhere"
		given   = "given in the spec"
	)
	return []formula.Entry{
		{
			Key: "target_boost_pa", Title: "Boost asked for",
			Meaning: "Manifold pressure above the venue's that the spec asks for at this speed.",
			Formula: "the spec's table over speed, monotone cubic",
			Source:  given, Range: "within the table; held at its ends, with a note",
		},
		{
			Key: "boost_pa", Title: "Boost",
			Meaning: "Manifold pressure above the venue's, as it is reached.",
			Formula: "pm − p(venue)",
			Source:  loop, Range: solved,
		},
		{
			Key: "manifold_pressure_pa", Title: "Manifold pressure",
			Meaning: "Absolute pressure in the inlet manifold.",
			Formula: "pm = p2 − cooler loss, where the engine swallows what the compressor gives",
			Source:  loop, Range: solved,
		},
		{
			Key: "manifold_temperature_k", Title: "Manifold temperature",
			Meaning: "Temperature of the charge in the inlet manifold.",
			Formula: "T2 − ε (T2 − Tc) behind a cooler, else T2",
			Source:  "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, §11.4", Range: solved,
		},
		{
			Key: "air_flow_kg_s", Title: "Air flow",
			Meaning: "Moist air that the engine takes.",
			Formula: "ṁ = ηv ρm Vd N/(4π)",
			Source:  heywood + ", eq. 2.27", Range: solved,
		},
		{
			Key: "fuel_flow_kg_s", Title: "Fuel flow",
			Meaning: "Fuel that the engine takes.",
			Formula: "ṁf = ṁ x/(AFRst λ), x dry air in the air",
			Source:  "definition of lambda by dry air", Range: solved,
		},
		{
			Key: "volumetric_efficiency", Title: "Volumetric efficiency",
			Meaning: "Moist air taken over displacement filled at manifold density.",
			Formula: "the spec's table × f(p3/pm)/f(r0), f(r) = rc − r^(1/γ); r0 = 1 with a compressor, else p3/pm at full load without a restrictor",
			Source:  heywood + ", §6.2, form; Eriksson and Nielsen, Modeling and Control of Engines and Drivelines (2014), ch. 7", Range: "within the spec's table; held at its ends, with a note",
		},
		{
			Key: "limit", Title: "Governing limit",
			Meaning: "What keeps the boost from being higher or, for wastegate creep and the wastegate's spring, lower.",
			Formula: "the bound that the solution rests on",
			Source:  loop, Range: solved,
		},
		{
			Key: "limits", Title: "Limited by",
			Meaning: "All limits that bind at the point, the governing one first.",
			Formula: "the bounds that the solution rests on",
			Source:  loop, Range: solved,
		},
		{
			Key: "torque_nm", Title: "Torque",
			Meaning: "Brake torque at the crank.",
			Formula: "T = BMEP Vd/(4π)",
			Source:  heywood + ", eq. 2.20", Range: "four-stroke",
		},
		{
			Key: "power_w", Title: "Power",
			Meaning: "Brake power at the crank.",
			Formula: "P = T N",
			Source:  "definition", Range: always,
		},
		{
			Key: "bsfc_kg_j", Title: "BSFC",
			Meaning: "Fuel for the brake work.",
			Formula: "ṁf/P",
			Source:  heywood + ", eq. 2.22", Range: "where the engine gives power",
		},
		{
			Key: "imep_pa", Title: "IMEP",
			Meaning: "Gross indicated mean effective pressure: the work of compression and expansion.",
			Formula: "∫p dV from bottom to bottom dead centre over Vd, blowdown by valve flow",
			Source:  heywood + ", §2.4", Range: cycle,
		},
		{
			Key: "pmep_pa", Title: "PMEP",
			Meaning: "Pumping mean effective pressure; negative where the gas exchange drives the engine.",
			Formula: "(∮ of the exhaust stroke − (pm − Δp) Vd)/Vd, Δp lost in the inlet valves",
			Source:  "flow through the exhaust valve by de Saint-Venant and Wantzel, crank angle by crank angle; inlet valves by displacement; " + heywood + ", §13.2 and §14.2", Range: "without overlap, waves in the pipes and backflow at it",
		},
		{
			Key: "bmep_pa", Title: "BMEP",
			Meaning: "Brake mean effective pressure.",
			Formula: "IMEP − PMEP − FMEP",
			Source:  heywood + ", §2.4", Range: always,
		},
		{
			Key: "ca50_deg", Title: "CA50",
			Meaning: "Crank angle at which half the charge has burned, after firing top dead centre: at the best unless knock or cylinder pressure holds it later.",
			Formula: "best CA50, or where the knock integral or the peak pressure meets its limit",
			Source:  loop, Range: "up to the latest CA50 of the spec",
		},
		{
			Key: "residual_fraction", Title: "Residual",
			Meaning: "Share of burned gas from the last cycle in the charge.",
			Formula: "what is in the clearance volume at the end of the exhaust stroke, over the charge",
			Source:  "flow through the exhaust valve, crank angle by crank angle, without valve overlap", Range: "little overlap",
		},
		{
			Key: "charge_temperature_k", Title: "Charge temperature",
			Meaning: "Temperature in the cylinder as the inlet valve closes.",
			Formula: "energy of fresh air, wall heat, evaporated fuel and residual gas, mixed, with the piston's work",
			Source:  "energy balance", Range: solved,
		},
		{
			Key: "compressor_inlet_pressure_pa", Title: "Compressor inlet",
			Meaning: "Pressure before the compressor, absolute: venue less filter and restrictor.",
			Formula: "p1",
			Source:  "see restrictor_outlet_pressure_pa", Range: solved,
		},
		{
			Key: "exhaust_flow_kg_s", Title: "Exhaust flow",
			Meaning: "Air and fuel together.",
			Formula: "ṁ + ṁf",
			Source:  "conservation of mass", Range: always,
		},
		{
			Key: "turbine_inlet_pressure_pa", Title: "Back pressure",
			Meaning: "Pressure before the turbine, absolute; without one, that of the exhaust.",
			Formula: "p3 = p4 × expansion ratio",
			Source:  loop, Range: solved,
		},
		{
			Key: "turbine_inlet_temperature_k", Title: "Exhaust temperature",
			Meaning: "Temperature of the exhaust before the turbine.",
			Formula: "energy of the charge less work, wall heat and the heat of port and primary",
			Source:  "energy balance; fuel that finds no oxygen does not burn; pipes by exhaust_heat_w", Range: solved + "; a probe reads lower, see probe_reading_k",
		},
		{
			Key: "exhaust_valve_temperature_k", Title: "Exhaust at the valve",
			Meaning: "Mean temperature of the gas that leaves the cylinders, by what it carries.",
			Formula: "me h = ma ha + mf hf + Qfresh − W − Qcylinder",
			Source:  "energy balance", Range: solved,
		},
		{
			Key: "turbine_outlet_pressure_pa", Title: "Behind the turbine",
			Meaning: "Pressure behind the turbine, absolute.",
			Formula: "p4 − k ṁ² T/p4 = p(venue)",
			Source:  "loss of a fixed geometry with dynamic pressure; definition", Range: "losses up to a third of the pressure",
		},
		{
			Key: "tailpipe_temperature_k", Title: "Tailpipe temperature",
			Meaning: "Temperature of turbine and wastegate flow mixed.",
			Formula: "energy balance of the two flows",
			Source:  "energy balance", Range: "without heat loss behind the turbine",
		},
		{
			Key: "wastegate_max_flow_kg_s", Title: "Wastegate wide open",
			Meaning: "What the wastegate passes at this point when wide open.",
			Formula: "Cd A p3/√(R T3) ψ(p4/p3, γ) at full lift",
			Source:  "de Saint-Venant and Wantzel, as in NACA Report 1135 (1953)", Range: always,
		},
		{
			Key: "fuel_power_w", Title: "Fuel power",
			Meaning: "Lower heating value of the fuel flow.",
			Formula: "ṁf LHV",
			Source:  "first law over the whole engine, closed to 1e-6", Range: solved,
		},
		{
			Key: "brake_share", Title: "To the crank",
			Meaning: "Brake power over fuel power: the brake efficiency.",
			Formula: "P/(ṁf LHV)",
			Source:  "first law over the whole engine, closed to 1e-6", Range: solved,
		},
		{
			Key: "friction_share", Title: "Friction",
			Meaning: "Friction power over fuel power.",
			Formula: "FMEP Vd N/(4π)/(ṁf LHV)",
			Source:  "first law over the whole engine, closed to 1e-6", Range: solved,
		},
		{
			Key: "coolant_share", Title: "To the walls",
			Meaning: "Heat to the cylinder walls, less what the fresh charge took from walls, over fuel power.",
			Formula: "(Qcyl − Qfresh)/(ṁf LHV)",
			Source:  "first law over the whole engine, closed to 1e-6", Range: solved,
		},
		{
			Key: "port_share", Title: "Exhaust ports",
			Meaning: "Heat lost by the exhaust between valve and turbine over fuel power.",
			Formula: "exhaust_heat_w/(ṁf LHV), or the share of the sensible enthalpy that the spec states",
			Source:  "first law over the whole engine, closed to 1e-6", Range: solved,
		},
		{
			Key: "cooler_share", Title: "Charge cooler",
			Meaning: "Heat given up in the charge cooler over fuel power.",
			Formula: "ṁ (h2 − hm)/(ṁf LHV)",
			Source:  "first law over the whole engine, closed to 1e-6", Range: solved,
		},
		{
			Key: "exhaust_share", Title: "Exhaust heat",
			Meaning: "Sensible enthalpy of the exhaust at the tailpipe above 25 °C over fuel power.",
			Formula: "ṁe (h − h(298.15 K))/(ṁf LHV)",
			Source:  "first law over the whole engine, closed to 1e-6", Range: solved,
		},
		{
			Key: "unburned_share", Title: "Not burned",
			Meaning: "Heating value left in the exhaust over fuel power: what had no oxygen, and what did not burn.",
			Formula: "1 − heat released/(ṁf LHV)",
			Source:  "first law over the whole engine, closed to 1e-6", Range: solved,
		},
	}
}
