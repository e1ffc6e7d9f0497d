package geometry

import "bellmouth/internal/formula"

// Formulas returns the description of each figure this package computes for a table.
func Formulas() []formula.Entry {
	const (
		heywood = "Heywood, Internal Combustion Engine Fundamentals (1988)"
		slider  = "rod longer than half the stroke and the pin offset together"
	)
	return []formula.Entry{
		{
			Key: "displacement_m3", Title: "displacement",
			Meaning: "Volume that all pistons sweep in one stroke each.",
			Formula: "n π B²/4 S, S = √((l+a)² − e²) − √((l−a)² − e²), a half the crank's stroke",
			Source:  heywood + ", §2.2", Range: slider,
		},
		{
			Key: "clearance_volume_m3", Title: "clearance volume",
			Meaning: "Volume above one piston at top dead centre.",
			Formula: "Vc = Vd/(rc − 1); from the parts: head + gasket + dish + deck",
			Source:  heywood + ", eq. 2.1", Range: "compression ratio above 1",
		},
		{
			Key: "compression_ratio", Title: "compression ratio",
			Meaning: "Greatest over least volume of a cylinder.",
			Formula: "rc = (Vd + Vc)/Vc",
			Source:  heywood + ", eq. 2.1", Range: "the crevice round the top land is left out unless measured into the dish",
		},
		{
			Key: "effective_compression_ratio", Title: "effective compression ratio",
			Meaning: "Volume trapped when the inlet closes over the clearance volume.",
			Formula: "V(θ inlet closing)/Vc",
			Source:  heywood + ", eqs. 2.4 to 2.6", Range: slider,
		},
		{
			Key: "head_volume_m3", Title: "head volume",
			Meaning: "Volume of the chamber in the head that gives the compression ratio with gasket, piston and deck as they are.",
			Formula: "Vd/(rc − 1) − gasket − dish − deck",
			Source:  heywood + ", eq. 2.1, solved for a part of Vc", Range: "a positive volume is left",
		},
		{
			Key: "rod_stroke_ratio", Title: "rod to stroke ratio",
			Meaning: "Length of the rod over the crank's stroke.",
			Formula: "l/(2a)", Source: "definition", Range: slider,
		},
		{
			Key: "max_rod_angle_deg", Title: "greatest rod angle",
			Meaning: "Greatest angle between rod and cylinder axis, which presses the piston on the wall.",
			Formula: "asin((a + |e|)/l)", Source: "slider-crank geometry, closed form", Range: slider,
		},
		{
			Key: "mean_piston_speed_m_s", Title: "mean piston speed",
			Meaning: "Way of the piston in a turn over the turn's time.",
			Formula: "Sp = S N/π", Source: heywood + ", eq. 2.9", Range: "any speed",
		},
		{
			Key: "max_piston_speed_m_s", Title: "greatest piston speed",
			Meaning: "Greatest speed of the piston within a turn.",
			Formula: "greatest of |dx/dθ| N over both strokes; dx/dθ = a sin φ + w w'/√(l² − w²), w = a sin φ − e",
			Source:  heywood + ", eq. 2.11, with the pin's offset put in", Range: slider,
		},
		{
			Key: "max_piston_acceleration_m_s2", Title: "greatest piston acceleration",
			Meaning: "Greatest acceleration of the piston within a turn, near top dead centre, at steady engine speed.",
			Formula: "greatest of d²x/dθ² N²; without offset a N² (1 + a/l)",
			Source:  "slider-crank geometry, closed form", Range: slider,
		},
		{
			Key: "inlet_curtain_area_m2", Title: "inlet curtain area",
			Meaning: "Area of the cylinders round one cylinder's inlet valves between seat and head at full lift.",
			Formula: "n π D L", Source: heywood + ", §6.3.2", Range: "geometric; the flow area is smaller by the discharge coefficient",
		},
		{
			Key: "exhaust_curtain_area_m2", Title: "exhaust curtain area",
			Meaning: "As the inlet curtain area, of one cylinder's exhaust valves.",
			Formula: "n π D L", Source: heywood + ", §6.3.2", Range: "geometric; the flow area is smaller by the discharge coefficient",
		},
		{
			Key: "inlet_mach_index", Title: "inlet Mach index",
			Meaning: "Mean Mach number of the flow past the inlet valves; volumetric efficiency falls quickly above about 0.6.",
			Formula: "Z = B²/(n D²) Sp/(Ci a); Ci = 1.45 L/D, L/D at most 0.25, where no mean flow coefficient is given",
			Source:  "Taylor, The Internal-Combustion Engine in Theory and Practice, vol. 1, ch. 6; the estimate of Ci from memory",
			Range:   "speed 0 or more; the limit of 0.6 is for usual valve timing",
		},
	}
}
