package sheet

import (
	"bellmouth/internal/airpath"
	"bellmouth/internal/formula"
	"bellmouth/internal/remark"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// frictionNotes are the remarks on the friction. They stand at its figure.
const frictionNotes = airpath.NoteFrictionSpeed | airpath.NoteFrictionBoost | airpath.NoteFrictionHeld

// The columns that stand in more than one table, so that they read the same in each. They are never written to.
var (
	shaft = figure("shaft_rpm", "shaft", units.Speed, func(p *airpath.Point) float64 { return p.ShaftSpeed }).WithDigits(table.Hundreds)

	pressureRatio = figure("pressure_ratio", "PR", units.Number, func(p *airpath.Point) float64 { return p.PressureRatio }).WithDigits(2)

	correctedFlow = figure("corrected_flow_kg_s", "corr. flow", units.MassFlow, func(p *airpath.Point) float64 { return p.CorrectedFlow })

	compressorEfficiency = figure("compressor_efficiency", "eff.", units.Fraction, func(p *airpath.Point) float64 { return p.Compressor.Efficiency })

	manifoldTemperature = figure("manifold_temperature_k", "IAT", units.Temperature, func(p *airpath.Point) float64 { return p.ManifoldTemperature })

	exhaustPressure = figure("turbine_inlet_pressure_pa", "turbine inlet", units.Pressure, func(p *airpath.Point) float64 { return p.TurbineInletPressure })

	exhaustTemperature = figure("turbine_inlet_temperature_k", "EGT", units.Temperature, func(p *airpath.Point) float64 { return p.TurbineInletTemperature })

	wastegateShare = figure("wastegate_fraction", "wastegate share", units.Fraction, func(p *airpath.Point) float64 { return p.WastegateFraction })

	volumetricEfficiency = figure("volumetric_efficiency", "vol. eff.", units.Fraction, func(p *airpath.Point) float64 { return p.VolumetricEfficiency })
	lambda               = figure("lambda", "lambda", units.Number, func(p *airpath.Point) float64 { return p.Lambda }).WithDigits(2)

	fuelFlow = figure("fuel_flow_kg_s", "fuel", units.MassFlow, func(p *airpath.Point) float64 { return p.FuelFlow })

	imep = figure("imep_pa", "IMEP", units.PressureDifference, func(p *airpath.Point) float64 { return p.IMEP }).WithDigits(1)
	pmep = figure("pmep_pa", "PMEP", units.PressureDifference, func(p *airpath.Point) float64 { return p.PMEP })
	fmep = cells("fmep_pa", "FMEP", units.PressureDifference, func(_ row, p *airpath.Point) table.Cell {
		c := table.Num(p.FMEP)
		if texts := (p.Notes & frictionNotes).Texts(); len(texts) > 0 {
			return c.Noted(remark.Line(texts))
		}
		return c
	})
	bmep = figure("bmep_pa", "BMEP", units.PressureDifference, func(p *airpath.Point) float64 { return p.BMEP }).WithDigits(1)

	consumption = cells("bsfc_kg_j", "BSFC", units.FuelConsumption, func(_ row, p *airpath.Point) table.Cell {
		if !(p.Power > 0) {
			return table.Missing("the engine gives no power")
		}
		return table.Num(p.Consumption)
	})

	peakPressure  = figure("peak_pressure_pa", "peak pressure", units.Pressure, func(p *airpath.Point) float64 { return p.PeakPressure }).WithDigits(0)
	ca50          = figure("ca50_deg", "CA50", units.Angle, func(p *airpath.Point) float64 { return p.CA50 })
	knockIntegral = figure("knock_integral", "knock integral", units.Number, func(p *airpath.Point) float64 { return p.KnockIntegral }).WithDigits(2)
)

// detailIf leaves a field to CSV and JSON where there is no room for it.
func detailIf(detail bool, f table.Field[row]) table.Field[row] {
	f.Detail = f.Detail || detail
	return f
}

// Texts that several explanations of these columns share.
const (
	solved1e6       = "solution of the whole air path: flow, shaft power and exhaust temperature agree to 1e-6"
	oneZone         = "one zone, unburned end gas followed; no dissociation, blow-by or crevices"
	turboSimilarity = "Dixon & Hall, Fluid Mechanics and Thermodynamics of Turbomachinery, ch. 1 and 2; " +
		"Heywood, Internal Combustion Engine Fundamentals, section 6.8"
)

// columnsEntries explain the columns above.
func columnsEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "shaft_rpm", Title: "shaft",
			Meaning: "Speed of the turbocharger's shaft; of each where there are several.",
			Formula: "N = Nc √(T1/Tref)",
			Source:  turboSimilarity, Range: "as the corrected speed",
		},
		{
			Key: "pressure_ratio", Title: "PR",
			Meaning: "Total pressure after the compressor over total pressure at its inlet. " +
				"Losses of filter, restrictor and cooler make it more than MAP over the venue's pressure.",
			Formula: "PR = p2/p1", Source: ours, Range: "above zero",
		},
		{
			Key: "corrected_flow_kg_s", Title: "corr. flow",
			Meaning: "Air flow through one compressor, brought to the map's reference inlet state, so that it can be read on the map.",
			Formula: "ṁc = ṁ √(T1/Tref)/(p1/pref)",
			Source:  turboSimilarity, Range: "one gas; Reynolds number of little influence",
		},
		{
			Key: "compressor_efficiency", Title: "eff.",
			Meaning: "Isentropic efficiency, total to total: ideal work over the work taken.",
			Formula: "η = h/(N² exp w), w = ln(h/(η N²)) interpolated as f is for the corrected speed; beyond the choke end ηe/(2 − h/he)",
			Source:  "interpolation of this program's own, checked against NASA Glenn's measured HECC stage (HECC Data Archive, 2023)",
			Range:   "between the lowest and highest speed line and their ends; outside, continued and marked",
		},
		{
			Key: "manifold_temperature_k", Title: "IAT",
			Meaning: "Intake air temperature: that of the charge in the inlet manifold.",
			Formula: "T2 − ε (T2 − Tc) after a cooler, else T2",
			Source:  "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, §11.4", Range: full,
		},
		{
			Key: "turbine_inlet_pressure_pa", Title: "turbine inlet",
			Meaning: "Pressure at the turbine's inlet, absolute, p3 in formulas. Without a turbine, that in the collector.",
			Formula: "p3 = p4 × expansion ratio",
			Source:  solved1e6, Range: full,
		},
		{
			Key: "turbine_inlet_temperature_k", Title: "EGT",
			Meaning: "Exhaust gas temperature before the turbine. Without a turbine, that in the collector.",
			Formula: "energy of the charge less work, wall heat and the heat of port and primary",
			Source:  "energy balance; fuel that finds no oxygen does not burn; pipes by exhaust_heat_w",
			Range:   "steady full load; a probe reads lower, see probe_reading_k",
		},
		{
			Key: "wastegate_fraction", Title: "wastegate share",
			Meaning: "Share of the exhaust that goes through the wastegate.",
			Formula: "wastegate flow/exhaust flow", Source: ours, Range: "0 to 1",
		},
		{
			Key: "volumetric_efficiency", Title: "vol. eff.",
			Meaning: "Moist air taken over displacement filled at manifold density.",
			Formula: "the spec's table × f(p3/pm)/f(r0), f(r) = rc − r^(1/γ); " +
				"r0 = 1 with a compressor, else p3/pm at full load without a restrictor",
			Source: "Heywood, Internal Combustion Engine Fundamentals (1988), §6.2, form; " +
				"Eriksson and Nielsen, Modeling and Control of Engines and Drivelines (2014), ch. 7",
			Range: "within the spec's table; held at its ends, with a note",
		},
		{
			Key: "lambda", Title: "lambda", Also: []string{"target lambda"},
			Meaning: "Air-fuel ratio over the stoichiometric one, both by dry air. Below 1 is rich.",
			Formula: "λ = AFR/AFRst", Source: ours, Range: "lambda 0.5 to 2",
		},
		{
			Key: "fuel_flow_kg_s", Title: "fuel",
			Meaning: "Fuel that the engine takes.",
			Formula: "ṁf = ṁ x/(AFRst λ), x dry air in the air", Source: "definition of lambda by dry air", Range: full,
		},
		{
			Key: "fuel", Title: "fuel",
			Meaning: "The fuel's name: a grade, a blend or a formula.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "imep_pa", Title: "IMEP",
			Meaning: "Gross indicated mean effective pressure: the work of compression and expansion.",
			Formula: "∫p dV from bottom to bottom dead centre over Vd, blowdown by valve flow",
			Source:  "Heywood, Internal Combustion Engine Fundamentals (1988), §2.4", Range: oneZone,
		},
		{
			Key: "pmep_pa", Title: "PMEP",
			Meaning: "Pumping mean effective pressure; negative where the gas exchange drives the engine.",
			Formula: "(∮ of the exhaust stroke − (pm − Δp) Vd)/Vd, Δp lost in the inlet valves",
			Source: "flow through the exhaust valve by de Saint-Venant and Wantzel, crank angle by crank angle; inlet valves by displacement; " +
				"Heywood, Internal Combustion Engine Fundamentals (1988), §13.2 and §14.2",
			Range: "without overlap, waves in the pipes and backflow at it",
		},
		{
			Key: "fmep_pa", Title: "FMEP",
			Meaning: "Friction mean effective pressure of crank, pistons, valve train and auxiliaries. Pumping is in the PMEP.",
			Formula: "by components: f (crank + piston + gas load + valve train + auxiliaries); by Chen and Flynn: f (A + B pmax + C Sp)",
			Source: "Patton, Nitschke and Heywood, SAE 890836 (1989), revised by Sandoval and Heywood, SAE 2003-01-0725; constants from memory; " +
				"Chen and Flynn, SAE 650733 (1965)",
			Range: "fitted at 600 to 6000 rpm without boost to engines of the 1980s; extrapolated beyond, with a note; " +
				"Chen and Flynn: fitted to a compression-ignition single, the factor fits the engine at hand",
		},
		{
			Key: "bmep_pa", Title: "BMEP",
			Meaning: "Brake mean effective pressure.",
			Formula: "IMEP − PMEP − FMEP", Source: "Heywood, Internal Combustion Engine Fundamentals (1988), §2.4", Range: always,
		},
		{
			Key: "bsfc_kg_j", Title: "BSFC",
			Meaning: "Fuel for the brake work.",
			Formula: "ṁf/P",
			Source:  "Heywood, Internal Combustion Engine Fundamentals (1988), eq. 2.22", Range: "where the engine gives power",
		},
		{
			Key: "peak_pressure_pa", Title: "peak pressure",
			Meaning: "Highest pressure in the cylinder, absolute, of the mean cycle; single cycles go higher.",
			Formula: "max p(θ)",
			Source: "energy equation dU = −p dV − dQ, Wiebe burning, Woschni heat transfer, " +
				"Heywood, Internal Combustion Engine Fundamentals (1988), ch. 9 and 12",
			Range: oneZone,
		},
		{
			Key: "ca50_deg", Title: "CA50",
			Meaning: "Crank angle after firing top dead centre at which half the charge has burned. " +
				"It is at best CA50 unless knock or cylinder pressure holds it later, which costs torque.",
			Formula: "best CA50, or where the knock integral or the peak pressure meets its limit",
			Source:  solved1e6, Range: "up to the latest CA50 of the spec",
		},
		{
			Key: "knock_integral", Title: "knock integral",
			Meaning: "Livengood–Wu integral of the mean cycle's end gas up to 90 % burned. " +
				"At 1 the mean cycle's end gas ignites itself; that of the fastest cycles does so earlier.",
			Formula: "∫dt/τ, τ = 17.68 ms (ON/100)^3.402 p^−1.7 exp(3800/T), p in atm, ON the octane index, × factors of mixture and residual gas",
			Source:  "Douaud and Eyzat, SAE 780080 (1978); Livengood and Wu (1955); octane index after Kalghatgi",
			Range:   "octane 80 to 100; higher is an extrapolation",
		},
	}
}
