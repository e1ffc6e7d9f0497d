package sheet

import "bellmouth/internal/formula"

// pointFormulas describes the figures of an operating point that come from the solution of the whole air path.
func pointFormulas() []formula.Entry {
	const (
		loop    = "solution of the whole air path: flow, shaft power and exhaust temperature agree to 1e-6"
		heywood = "Heywood, Internal Combustion Engine Fundamentals (1988)"
		solved  = "steady full load"
		cycle   = "one zone, unburned end gas followed; no dissociation, blow-by or crevices"
	)
	e := func(key, title, meaning, text, source, holds string) formula.Entry {
		return formula.Entry{Key: key, Title: title, Meaning: meaning, Formula: text, Source: source, Range: holds}
	}
	return []formula.Entry{
		e("target_boost_pa", "Boost asked for", "Manifold pressure above the venue's that the spec asks for at this speed.", "the spec's table over speed, monotone cubic", given, "within the table; held at its ends, with a note"),
		e("boost_pa", "Boost", "Manifold pressure above the venue's, as it is reached.", "pm − p(venue)", loop, solved),
		e("manifold_pressure_pa", "Manifold pressure", "Absolute pressure in the inlet manifold.", "pm = p2 − cooler loss, where the engine swallows what the compressor gives", loop, solved),
		e("manifold_temperature_k", "Manifold temperature", "Temperature of the charge in the inlet manifold.", "T2 − ε (T2 − Tc) behind a cooler, else T2", "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, §11.4", solved),
		e("air_flow_kg_s", "Air flow", "Moist air that the engine takes.", "ṁ = ηv ρm Vd N/(4π)", heywood+", eq. 2.27", solved),
		e("fuel_flow_kg_s", "Fuel flow", "Fuel that the engine takes.", "ṁf = ṁ x/(AFRst λ), x dry air in the air", "definition of lambda by dry air", solved),
		e("volumetric_efficiency", "Volumetric efficiency", "Moist air taken over displacement filled at manifold density.", "the spec's table × (rc − (p3/pm)^(1/γ))/(rc − 1)", heywood+", §6.2, form; Eriksson and Nielsen, Modeling and Control of Engines and Drivelines (2014), ch. 7", "within the spec's table; held at its ends, with a note"),
		e("limit", "Governing limit", "What keeps the boost from being higher or, for wastegate creep, lower.", "the bound that the solution rests on", loop, solved),
		e("limits", "Limited by", "All limits that bind at the point, the governing one first.", "the bounds that the solution rests on", loop, solved),
		e("torque_nm", "Torque", "Brake torque at the crank.", "T = BMEP Vd/(4π)", heywood+", eq. 2.20", "four-stroke"),
		e("power_w", "Power", "Brake power at the crank.", "P = T N", "definition", always),
		e("bsfc_kg_j", "BSFC", "Fuel for the brake work.", "ṁf/P", heywood+", eq. 2.22", "where the engine gives power"),
		e("imep_pa", "IMEP", "Gross indicated mean effective pressure: the work of compression and expansion.", "∮p dV over the closed cycle and the ends of the strokes, over Vd", heywood+", §2.4", cycle),
		e("pmep_pa", "PMEP", "Pumping mean effective pressure; negative where the gas exchange drives the engine.", "p3 − pm", heywood+", §5.5, ideal gas exchange", "without valve throttling"),
		e("fmep_pa", "FMEP", "Friction mean effective pressure.", "f (A + B pmax + C Up)", "Chen and Flynn, SAE 650733 (1965)", "fitted to a compression-ignition single; the factor fits the engine at hand"),
		e("bmep_pa", "BMEP", "Brake mean effective pressure.", "IMEP − PMEP − FMEP", heywood+", §2.4", always),
		e("peak_pressure_pa", "Peak pressure", "Highest pressure in the cylinder, absolute, of the mean cycle; single cycles go higher.", "max p(θ)", "energy equation dU = −p dV − dQ, Wiebe burning, Woschni heat transfer, "+heywood+", ch. 9 and 12", cycle),
		e("peak_angle_deg", "Angle of peak pressure", "Crank angle of the peak pressure after firing top dead centre.", "θ at max p", "as peak_pressure_pa", cycle),
		e("ca50_deg", "CA50", "Crank angle at which half the charge has burned, after firing top dead centre: at the best unless knock or cylinder pressure holds it later.", "best CA50, or where the knock integral or the peak pressure meets its limit", loop, "up to the latest CA50 of the spec"),
		e("burn_start_deg", "Start of burning", "Crank angle at which burning starts, negative before firing top dead centre. The spark is earlier by the ignition delay, which is not computed.", "from CA50 by the Wiebe function xb = 1 − exp(−5 y³)", heywood+", eq. 9.30", always),
		e("burn_angle_deg", "Burn angle", "Crank angle from 0 to 90 % burned.", "the spec's table, or 43° (N/2000 rpm)^0.2", heywood+", §9.2.2; the exponent is common practice, no source", "1000 to 10000 rpm for the default"),
		e("knock_integral", "Knock integral", "Livengood–Wu integral of the end gas up to 90 % burned; 1 is autoignition.", "∫dt/τ, τ = 17.68 ms (ON/100)^3.402 p^−1.7 exp(3800/T), p in atm", "Douaud and Eyzat, SAE 780080 (1978); Livengood and Wu (1955)", "octane 80 to 100; higher is an extrapolation"),
		e("residual_fraction", "Residual", "Share of burned gas from the last cycle in the charge.", "clearance volume filled at p3 and exhaust temperature, over the charge", heywood+", §6.4, without valve overlap", "little overlap"),
		e("charge_temperature_k", "Charge temperature", "Temperature in the cylinder as the inlet valve closes.", "energy of fresh air, wall heat, evaporated fuel and residual gas, mixed", "energy balance", solved),
		e("peak_temperature_k", "Peak temperature", "Highest mean temperature in the cylinder.", "max T(θ)", "as peak_pressure_pa", cycle+": 100 to 200 K too high near lambda 1"),
		e("end_gas_temperature_k", "End gas temperature", "Highest temperature of the unburned gas while the knock integral runs.", "compressed with the cylinder's pressure", "as peak_pressure_pa", cycle),
		e("compressor_inlet_pressure_pa", "Compressor inlet", "Pressure before the compressor, absolute: venue less filter and restrictor.", "p1", "see restrictor_outlet_pressure_pa", solved),
		e("exhaust_flow_kg_s", "Exhaust flow", "Air and fuel together.", "ṁ + ṁf", "conservation of mass", always),
		e("turbine_inlet_pressure_pa", "Back pressure", "Pressure before the turbine, absolute; without one, that of the exhaust.", "p3 = p4 × expansion ratio", loop, solved),
		e("turbine_inlet_temperature_k", "Exhaust temperature", "Temperature of the exhaust before the turbine.", "energy of the charge less work, wall heat and port loss", "energy balance; fuel that finds no oxygen does not burn", solved+"; a probe reads lower"),
		e("turbine_outlet_pressure_pa", "Behind the turbine", "Pressure behind the turbine, absolute.", "p4 − k ṁ² T/p4 = p(venue)", "loss of a fixed geometry with dynamic pressure; definition", "losses up to a third of the pressure"),
		e("tailpipe_temperature_k", "Tailpipe temperature", "Temperature of turbine and wastegate flow mixed.", "energy balance of the two flows", "energy balance", "without heat loss behind the turbine"),
		e("wastegate_max_flow_kg_s", "Wastegate wide open", "What the wastegate passes at this point when wide open.", "Cd A p3/√(R T3) ψ(p4/p3, γ) at full lift", "de Saint-Venant and Wantzel, as in NACA Report 1135 (1953)", always),
	}
}
