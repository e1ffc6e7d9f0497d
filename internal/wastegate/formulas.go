package wastegate

import "bellmouth/internal/formula"

// Formulas returns the description of each figure this package computes for a table.
func Formulas() []formula.Entry {
	const (
		flow    = "continuity; each flow after de Saint-Venant and Wantzel, as in NACA Report 1135 (1953)"
		balance = "principle of virtual work on diaphragm, lever and valve"
		noLoss  = "no friction, steady exhaust pressure, its full push on the valve at any lift"
		grip    = "Gillespie, Fundamentals of Vehicle Dynamics (1992), ch. 2 (from memory)"
	)
	return []formula.Entry{
		{
			Key: "opening_port_pressure_pa", Title: "opening port",
			Meaning: "Mean pressure in the port that pushes the wastegate open, absolute.",
			Formula: "Ai ps ψ(po/ps, γ) = Ao po ψ(pa/po, γ); bleed: Ai = u A, Ao = B; three-way: u A, (1 − u) B; vent: B, u A; u the share of time open",
			Source:  flow, Range: "pulses short against the time the port takes to fill; from the venue's pressure to the source's",
		},
		{
			Key: "closing_port_pressure_pa", Title: "closing port",
			Meaning: "Mean pressure in the port on the spring's side, which helps to keep the wastegate shut, absolute.",
			Formula: "Ai ps ψ(pc/ps, γ) = Ao pc ψ(pa/pc, γ), areas as for the opening port; the venue's pressure without a valve",
			Source:  flow, Range: "pulses short against the time the port takes to fill; from the venue's pressure to the source's",
		},
		{
			Key: "opening_duty", Title: "opening duty",
			Meaning: "Share of the time that the opening port's valve is energised to hold the lift; at an end where none does.",
			Formula: "D from (po(D) − pa) Ao − (pc − pa) Ac = F0 + k L l ∓ (p3 − p4) Av/L",
			Source:  balance, Range: "0 to 1; " + noLoss,
		},
		{
			Key: "closing_duty", Title: "closing duty",
			Meaning: "Share of the time that the closing port's valve is energised; beside an opening valve it is 1 less that one's duty.",
			Formula: "D from (po − pa) Ao − (pc(D) − pa) Ac = F0 + k L l ∓ (p3 − p4) Av/L",
			Source:  balance, Range: "0 to 1; " + noLoss,
		},
		{
			Key: "duty_authority", Title: "authority",
			Meaning: "Distance of the duty from the nearer of its ends: what is left to regulate with. Blank while the valve is to stay shut.",
			Formula: "min(D, 1 − D)", Source: "definition", Range: "0 to 0.5; 0 also where no duty holds the lift",
		},
		{
			Key: "actuator_force_margin_n", Title: "force margin",
			Meaning: "Force the ports have to spare, at the diaphragm: the smaller of that left to open and that left to shut; shut, only the latter. Negative: short by that much.",
			Formula: "min(Pmax − N, N − Pmin), P = (po − pa) Ao − (pc − pa) Ac, N = F0 + k L l ∓ (p3 − p4) Av/L",
			Source:  balance, Range: noLoss,
		},
		{
			Key: "control_air_flow_kg_s", Title: "control air",
			Meaning: "Mean flow that the pulsed valves take from the charge.",
			Formula: "m = Ao p/√(R T) ψ(pa/p, γ), summed over the ports",
			Source:  flow, Range: "port air as warm as the source",
		},
		{
			Key: "spring_only_boost_pa", Title: "spring-only boost",
			Meaning: "Boost without any pulsing: the opening port at the source, the closing port vented.",
			Formula: "(ps − pa) Ao = F0 + k L l ∓ (p3 − p4) Av/L, solved for the boost",
			Source:  balance, Range: "between the boost of the fully open and the shut valve; " + noLoss,
		},
		{
			Key: "lowest_boost_pa", Title: "lowest boost",
			Meaning: "Boost with the duty at the end that opens the wastegate furthest.",
			Formula: "Pmax = F0 + k L l ∓ (p3 − p4) Av/L, solved for the boost",
			Source:  balance, Range: "between the boost of the fully open and the shut valve; " + noLoss,
		},
		{
			Key: "highest_boost_pa", Title: "highest boost",
			Meaning: "Boost with the duty at the end that shuts the wastegate hardest.",
			Formula: "Pmin = F0 + k L l ∓ (p3 − p4) Av/L, solved for the boost",
			Source:  balance, Range: "between the boost of the fully open and the shut valve; " + noLoss,
		},
		{
			Key: "boost_per_duty_pa", Title: "boost per duty",
			Meaning: "How much the boost moves for 1 % of duty, in Pa for that 1 %.",
			Formula: "(boost(D + 0.01) − boost(D − 0.01))/2, to one side at an end",
			Source:  "central difference", Range: "where the boost is held by a balance of forces",
		},
		{
			Key: "preload_n", Title: "preload",
			Meaning: "Spring force at the diaphragm with the valve shut that gives the boost without pulsing.",
			Formula: "F0 = (ps − pa) Ao − k L l ± (p3 − p4) Av/L",
			Source:  balance, Range: "0 or more; " + noLoss,
		},
		{
			Key: "wastegate_bore_m", Title: "wastegate bore",
			Meaning: "Seat bore with which the wastegate passes the flow at its greatest lift.",
			Formula: "d = max(√(4 A/(n π)), A/(n π l)), A = m √(R T3)/(Cd p3 ψ(p4/p3, γ))",
			Source:  "continuity; de Saint-Venant and Wantzel, as in NACA Report 1135 (1953)", Range: "at the state given, which a larger valve changes",
		},
		{
			Key: "pedal", Title: "pedal",
			Meaning: "Pedal position, which asks for that share of the full-load torque at the speed.",
			Formula: "pm(T), T = pedal · full-load torque", Source: "common practice, no source", Range: "0 to 1",
		},
		{
			Key: "gear", Title: "gear",
			Meaning: "Gear, counted from the first ratio given.", Formula: "given", Source: "given", Range: "from 1",
		},
		{
			Key: "grip_torque_nm", Title: "grip torque",
			Meaning: "Engine torque at which the driven wheels spin in the gear.",
			Formula: "F r/(i η), F = min(μ m g w/(q − μ h/b), μ m g (1 − w)/(1 − q + μ h/b))",
			Source:  grip, Range: "level road, one grip coefficient, no downforce, inertia of engine and wheels left out",
		},
		{
			Key: "torque_cap_nm", Title: "torque cap",
			Meaning: "Engine torque accepted in the gear.",
			Formula: "min(grip torque, gearbox rating, full load)", Source: "definition", Range: "0 or more",
		},
	}
}
