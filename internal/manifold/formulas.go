package manifold

import "bellmouth/internal/formula"

// Formulas returns the description of each figure this package computes for a table.
func Formulas() []formula.Entry {
	const (
		acoustics = "Kinsler, Frey, Coppens and Sanders, Fundamentals of Acoustics"
		ends      = "Levine and Schwinger (1948), Nomura et al. (1960), constants from memory"
		engelman  = "Engelman, ASME 73-WA/DGP-2 (1973), from memory"
		naca      = "NACA Report 1135 (1953), isentropic flow of a perfect gas"
		lambda    = "definition of the relative air–fuel ratio"
		rule      = "bookkeeping over the cylinder's model; common practice, no source, for the tuner's rule"
		shares    = "shares above 0; two cylinders or more"
	)
	return []formula.Entry{
		{
			Key: "acoustic_length_m", Title: "acoustic length",
			Meaning: "Length as which the runner sounds: its own and the end correction of its mouth.",
			Formula: "L = l + 0.8216 d/2 flush with a wall, l + 0.6133 d/2 standing free",
			Source:  ends, Range: "waves long against the bore",
		},
		{
			Key: "pipe_frequency_hz", Title: "runner frequency",
			Meaning: "Lowest natural frequency of the runner with its valve shut.",
			Formula: "f = a/(4 L)",
			Source:  acoustics + ", pipe closed at one end; " + ends, Range: "2π f r/a up to 0.5",
		},
		{
			Key: "pipe_tuning_rpm", Title: "pipe tuning speed",
			Meaning: "Engine speed at which the runner's lowest frequency fits k times into the cycle, so that the suction wave comes back as pressure after 1/k turn.",
			Formula: "N = 4π f/k, f = a/(4 L)",
			Source:  acoustics + ", for f; which orders are of use is common practice, no source", Range: "k from 2 to 8",
		},
		{
			Key: "helmholtz_tuning_rpm", Title: "Helmholtz tuning speed",
			Meaning: "Engine speed to which runner and cylinder are tuned as neck and vessel of a resonator.",
			Formula: "N = 2π f/K, f = a/(2π) √(A/(L Ve)), Ve = Vd/2 (rc + 1)/(rc − 1)",
			Source:  engelman + ", whose constant 162 is 60 · 12 √2/(2π) in feet and inches",
			Range:   "K from 2.0 to 2.5; a runner that holds up to four times Ve",
		},
		{
			Key: "pipe_length_m", Title: "runner length as a pipe",
			Meaning: "Length of a runner that is tuned as a pipe to the speed.",
			Formula: "l = π a/(k N) − end correction",
			Source:  acoustics + "; " + ends, Range: "as the pipe tuning speed; at least a bore long",
		},
		{
			Key: "helmholtz_length_m", Title: "runner length as a neck",
			Meaning: "Length of a runner that is tuned as the neck of the cylinder to the speed.",
			Formula: "l = (a/(K N))² A/Ve − end correction",
			Source:  engelman + "; " + ends, Range: "as the Helmholtz tuning speed; at least a bore long",
		},
		{
			Key: "runner_mach", Title: "mean runner Mach number",
			Meaning: "Mach number in the runner, mean over the inlet stroke; at the piston's fastest about 1.6 times as much.",
			Formula: "M = Ap Sp/(A a)",
			Source:  "continuity, as the inlet Mach index of Taylor, The Internal-Combustion Engine in Theory and Practice, vol. 1, ch. 6",
			Range:   "up to 0.6, where the runner chokes at the piston's fastest",
		},
		{
			Key: "throttle_velocity_m_s", Title: "throttle air speed",
			Meaning: "Speed of the air past the open throttle, its shaft taken off the area.",
			Formula: "v = M √(γ R T), ψ(M) = ṁ √(R T0)/(A p0), A = π d²/4 − (s √(d² − s²) + d² asin(s/d))/2",
			Source:  naca, Range: "below choke; γ 1.05 to 1.7",
		},
		{
			Key: "throttle_mach", Title: "throttle Mach number",
			Meaning: "Mach number of the air past the open throttle.",
			Formula: "M from ψ(M) = ṁ √(R T0)/(A p0)",
			Source:  naca, Range: "below choke; γ 1.05 to 1.7",
		},
		{
			Key: "throttle_loss_pa", Title: "throttle loss",
			Meaning: "Total pressure lost in the throttle.",
			Formula: "Δp0 = K ½ ρ v²",
			Source:  "definition of the loss coefficient; White, Fluid Mechanics, minor losses", Range: "up to a tenth of the pressure",
		},
		{
			Key: "air_share", Title: "share of air",
			Meaning: "Part of the engine's air that the cylinder gets.",
			Formula: "s = f/Σf from bench flow; λ q/Σ(λ q) from λ and fuel q; from exhaust temperature with λi = λ + (Ti − T̄)/(dT/dλ)",
			Source:  lambda + "; the exhaust route linearised, common practice, no source",
			Range:   "λ 0.5 to 2; from exhaust temperature within 0.1 of the engine's λ and with a slope of 100 K or more",
		},
		{
			Key: "air_deviation", Title: "deviation of air",
			Meaning: "By how much the cylinder's air differs from the mean.",
			Formula: "n s − 1", Source: "definition", Range: shares,
		},
		{
			Key: "cylinder_lambda", Title: "cylinder lambda",
			Meaning: "Relative air–fuel ratio of the cylinder: with one fuel quantity for all it goes with the air, and the leanest is at what is allowed.",
			Formula: "λi = n si min(target, leanest/max(n s)); with fuel by cylinder the target",
			Source:  lambda, Range: "λ 0.5 to 2 for the target",
		},
		{
			Key: "fuel_trim", Title: "fuel trim",
			Meaning: "By how much the cylinder's fuel is to differ from the mean for all to have the same lambda; the trims add up to 0.",
			Formula: "n s − 1", Source: lambda, Range: shares,
		},
		{
			Key: "spread_cost_w", Title: "cost of the spread",
			Meaning: "Power that the engine has less than with an even manifold and the same air: one cylinder sets mixture and spark, and the others are richer and later than they need be.",
			Formula: "Peven − P, each the sum of its cylinders at their air, λ and the earliest CA50 at which none passes the knock limit",
			Source:  rule, Range: "the same air, as behind a choked restrictor; as the cylinder's model",
		},
	}
}
