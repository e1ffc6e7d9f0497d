package sheet

import "bellmouth/internal/formula"

// ManifoldFormulas describes the columns of the manifold's tables that the package manifold does not.
func ManifoldFormulas() []formula.Entry {
	e := func(key, title, meaning, text, source, holds string) formula.Entry {
		return formula.Entry{Key: key, Title: title, Meaning: meaning, Formula: text, Source: source, Range: holds}
	}
	said := func(key, title, meaning string) formula.Entry { return e(key, title, meaning, given, given, always) }
	const (
		engelman = "Engelman, ASME 73-WA/DGP-2 (1973), from memory"
		full     = "full load, at the speeds computed"
		tuner    = "bookkeeping over the cylinder's cycle; common practice, no source, for the tuner's rule"
		held     = "air, manifold and exhaust pressure as with an even manifold"
	)
	return []formula.Entry{
		said("runner_length_m", "Runner length", "Length of a runner along its middle, from the inlet valve to the plenum, the port included."),
		said("runner_bore_m", "Runner bore", "Diameter of the circle with the runner's mean area."),
		said("runner_mouth", "Runner mouth", "How the runner opens into the plenum, which decides the end correction."),
		e("end_correction_m", "End correction", "Length by which the air beyond the runner's mouth moves along with it.", "0.8216 d/2 flush with a wall, 0.6133 d/2 standing free, 0 where the length given is the acoustic one",
			"Levine and Schwinger (1948), Nomura et al. (1960), constants from memory", "waves long against the bore"),
		e("runner_volume_m3", "Runner volume", "Air that one runner holds, end correction included.", "π d²/4 L", ours, always),
		e("mean_cylinder_volume_m3", "Mean volume above a piston", "Volume that stands for the cylinder as a resonator's vessel.", "Ve = Vd/2 (rc + 1)/(rc − 1)", engelman, always),
		said("plenum_volume_m3", "Plenum volume", "Volume of the plenum without runners and throttle."),
		e("plenum_displacement_ratio", "Plenum over displacement", "Plenum volume over the displacement of all cylinders.", "V/Vd", ours, always),
		e("peak_torque_manifold_temperature_k", "Manifold at peak torque", "Manifold temperature at the speed of peak torque.", "Tm at max T", "solution of the whole air path", "steady full load"),
		e("peak_torque_sound_speed_m_s", "Sound at peak torque", "Speed of sound in the manifold at the speed of peak torque.", "a = √(γ R T)", "NACA Report 1135 (1953)", "venue's moist air, γ at the manifold's temperature"),
		e("band_from_rpm", "Used band from", "Lowest engine speed that is used in the run.", "limiter × least ratio of a gear to the one before it; without gears the speed of peak torque", "common practice, no source", "shifts at the limiter, first gear's start left out"),
		e("band_to_rpm", "Used band to", "Highest engine speed that is used in the run.", "limiter", given, "shifts at the limiter"),
		e("band_source", "Band taken", "Where the used band comes from.", "gears, or peak torque and limiter", ours, always),
		e("tuned_for", "Runner for", "The runner as it is, or one that would be tuned to the speed of peak torque or to the middle of the used band.", "see the row", ours, always),
		e("pipe_order", "Order", "How often the runner's lowest natural frequency fits into the cycle; the wave comes back after one turn over the order.", "k = 4π f/N", "common practice, no source", "3 to 5 are of use; 2 to 8 are computed"),
		e("neck_ratio", "K", "Natural frequency of runner and cylinder over turns of the crank at which the inlet has its peak.", "K = 2π f/N", engelman, "2.0 to 2.5, 2.1 most often"),
		e("length_change_m", "Against now", "Length of the row's runner less that of the spec's.", "l − length", ours, always),
		e("wave_return_deg", "Wave back after", "Crank angle after which the suction wave is back at the valve as pressure.", "360°/k", "common practice, no source", "linear acoustics"),
		e("runner_velocity_m_s", "Runner air speed", "Speed of the air in the runner, mean over the inlet stroke.", "v = Ap Sp/A", "continuity", "air that follows the piston without compressing"),
		e("duct_velocity_m_s", "Duct air speed", "Speed of the air in hoses and pipes before the throttle.", "v = M √(γ R T), ψ(M) = ṁ √(R T0)/(A p0)", "NACA Report 1135 (1953)", "manifold's state; below choke"),
		e("duct_mach", "Duct Mach number", "Mach number of the air in hoses and pipes before the throttle.", "M from ψ(M) = ṁ √(R T0)/(A p0)", "NACA Report 1135 (1953)", "manifold's state; below choke"),
		e("duct_loss_pa", "Duct loss", "Total pressure lost in hoses and pipes before the throttle.", "Δp0 = K ½ ρ v²", "definition of the loss coefficient; White, Fluid Mechanics, minor losses", "up to a tenth of the pressure"),
		e("cylinder", "Cylinder", "Number of the cylinder, from 1.", "count", ours, always),
		said("measured_flow", "Measured flow", "Figure in proportion to the cylinder's air, such as its flow on a bench."),
		said("measured_lambda", "Measured lambda", "Lambda of the cylinder while all have the same fuel."),
		said("measured_exhaust_temperature_k", "Measured exhaust temperature", "Exhaust temperature of the cylinder while all have the same fuel and spark."),
		e("cylinder_knock_integral", "Knock with one fuel", "Knock integral of the cylinder when all have one fuel quantity and the one spark that suits the worst.", "∫ dt/τ at its air, λ and CA50", "Livengood and Wu (1955), Douaud and Eyzat (1978)", held),
		e("own_fuel_knock_integral", "Knock with own fuel", "Knock integral of the cylinder when each has its own fuel and all the one spark that suits the worst.", "∫ dt/τ at its air, λ and CA50", "Livengood and Wu (1955), Douaud and Eyzat (1978)", held),
		e("spread_limits", "Limits", "What the cylinder sets for all when they have one fuel quantity and one spark: lean the mixture, knock or pressure the spark; rich: its own mixture is below what runs cleanly.",
			"lean: highest λi and λ below target; knock, pressure: largest of value over limit, on the limit; rich: λi < richest", tuner, held),
		e("spark_trim_deg", "Spark trim", "How much earlier than the one spark that suits all cylinders with their own fuel this one may fire; one degree of CA50 taken as one of spark.", "CA50 of all − CA50 of its own, each the earliest, not before the best, within the limits of knock and cylinder pressure", tuner, held),
		e("common_lambda", "Lambda with one fuel", "Lambda of the engine when all cylinders have one fuel quantity and none is leaner than allowed.", "min(target, leanest/max(n s))", "definition of the relative air–fuel ratio", always),
		e("limited_cylinders", "Limited by", "The cylinders that set mixture or spark for all when they have one fuel quantity and one spark, and by what.", "see spread_limits", tuner, held),
		e("even_power_w", "Even", "Power of the engine when every cylinder has the same air.", "Σ Pi, that of the operating point", "the operating point", full),
		e("common_fuel_power_w", "One fuel", "Power with the spec's spread, one fuel quantity and one spark for all.", "Σ Pi at n si, λi = n si λ and the earliest CA50 that suits the worst cylinder", tuner, held),
		e("own_fuel_power_w", "Own fuel", "Power with the spec's spread, fuel by cylinder and one spark for all.", "Σ Pi at n si, the λ asked for and the earliest CA50 that suits the worst cylinder", tuner, held),
		e("own_fuel_spark_power_w", "Own fuel and spark", "Power with the spec's spread, fuel and spark by cylinder.", "Σ Pi at n si, the λ asked for and each its own earliest CA50", tuner, held),
		e("own_fuel_cost_w", "Costs with own fuel", "Power lost against an even manifold with fuel by cylinder.", "even power − own fuel power", tuner, held),
		e("own_fuel_spark_cost_w", "Costs with both", "Power lost against an even manifold with fuel and spark by cylinder.", "even power − own fuel and spark power", tuner, held),
		e("spread_cost_fraction", "Cost over power", "Power that the spec's spread costs with one fuel quantity and one spark, over that of an even manifold.", "cost/even power", ours, held),
	}
}
