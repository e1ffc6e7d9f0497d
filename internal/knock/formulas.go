package knock

import "bellmouth/internal/formula"

// Formulas describes the figures of the knock delay.
func Formulas() []formula.Entry {
	const delaySource = "Douaud and Eyzat, SAE 780080 (1978), as printed by Heywood (1988), ch. 9"
	return []formula.Entry{
		{
			Key: "knock_delay_s", Title: "Knock delay",
			Meaning: "Time in which the end gas at a pressure and temperature ignites itself. The knock integral adds up time over it.",
			Formula: "τ = 17.68 ms (OI/100)^3.402 p^−1.7 exp(3800/T) m(λ) d(x), p in atm",
			Source:  delaySource, Range: "octane 80 to 100, end gas 700 K to 900 K; beyond is an extrapolation",
		},
		{
			Key: "octane_index", Title: "Octane index",
			Meaning: "Octane number of the primary reference fuel that knocks as the fuel does in this engine. An alcohol's RON counts without the cold charge that it makes in its test, since the cycle computes that.",
			Formula: "OI = RON − K (RON − MON); or the octane number stated for knock",
			Source:  "Kalghatgi, SAE 2001-01-3584; Zhou et al., SAE 2017-01-0666; cooling of alcohols estimated, 7 K to an octane number by SAE 960497 (1996)",
			Range:   "petrol and alcohols; over 100 the delay is an extrapolation",
		},
		{
			Key: "octane_index_k", Title: "K of the octane index",
			Meaning: "How far the engine lies from the research test (0) towards the motor test (1). Below 0 a fuel of low MON is better than its RON says.",
			Formula: "K = 0.0056 T15 − 4.68 up to 825 K, 0.0426 T15 − 35.2 above; held at −0.75 and 1",
			Source:  "Kalghatgi, SAE 2003-01-1816 and 2005-01-0239; constants from memory", Range: "T15 702 K to 850 K",
		},
		{
			Key: "t15_k", Title: "Temperature at 15 bar",
			Meaning: "Temperature of the unburned charge when compression passes 15 bar.",
			Formula: "T15 = T (15 bar/p)^((γ−1)/γ) from inlet valve closing",
			Source:  "isentropic compression of a perfect gas", Range: "less than 15 bar at inlet valve closing; no heat to the walls",
		},
		{
			Key: "knock_mixture_factor", Title: "Delay by mixture",
			Meaning: "Factor of the knock delay for the chemistry of a leaner or richer mixture. What the mixture does to temperatures is in the cycle.",
			Formula: "m = (λ/0.95)^0.385",
			Source:  "He et al., Combustion and Flame 142 (2005) 266, half of its exponent: an assumption", Range: "lambda 0.7 to 1.3; held outside",
		},
		{
			Key: "knock_dilution_factor", Title: "Delay by dilution",
			Meaning: "Factor of the knock delay for burned gas in the charge beyond the 5 % that engines hold at full load.",
			Formula: "d = (1 + 0.3 (x − 0.05))^3.402",
			Source:  "Hoepke et al., SAE 2012-01-0707, abstract; the form is an inference", Range: "x up to 30 %; held beyond",
		},
		{
			Key: "knock_border", Title: "Knock border",
			Meaning: "Knock integral of the mean cycle at which a cycle two standard deviations faster ignites its end gas.",
			Formula: "1/((1 − 2v) (1 + 4v/3)^(n + κ E/T)), v variation of peak pressure",
			Source:  "derived from the delay; v 5 to 8 % and a burn shorter by as much as the peak is higher: common practice, no source",
			Range:   "v up to 10 %",
		},
	}
}
