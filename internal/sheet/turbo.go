package sheet

import (
	"fmt"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

const mapNotes = airpath.NoteBelowLowestLine | airpath.NoteAboveTopLine | airpath.NotePastChoke | airpath.NotePastSurge |
	airpath.NoteSpeedUnmet | airpath.NoteOverpulled

// Compressor returns where the compressor runs on its map, and the cooler after it.
func (r *Run) Compressor() table.Table {
	limit := r.Trim.Limits.SurgeMargin
	t := r.overSpeed("compressor", join(
		[]table.Field[row]{
			speedField(mapNotes | airpath.NoteCoolerHeld),
			correctedFlow, pressureRatio, compressorEfficiency,
			cells("surge_margin", "surge margin", units.Fraction, func(_ row, p *airpath.Point) table.Cell {
				return table.Num(p.Compressor.SurgeMargin).Toned(failedIf(check.Lacks(p.Compressor.SurgeMargin, limit)))
			}),
			cells("choke_margin", "choke margin", units.Fraction, func(_ row, p *airpath.Point) table.Cell {
				return table.Num(p.Compressor.ChokeMargin).Toned(failedIf(check.Lacks(p.Compressor.ChokeMargin, 0)))
			}),
			figure("corrected_speed_rpm", "corr. speed", units.Speed, func(p *airpath.Point) float64 { return p.Compressor.Speed }).InDetail(),
			shaft,
			figure("compressor_inlet_pressure_pa", "inlet", units.Pressure, func(p *airpath.Point) float64 { return p.CompressorInlet }).WithDigits(3),
			figure("compressor_outlet_pressure_pa", "outlet pressure", units.Pressure, func(p *airpath.Point) float64 {
				return p.CompressorOutlet
			}).InDetail(),
			figure("compressor_outlet_temperature_k", "outlet", units.Temperature, func(p *airpath.Point) float64 { return p.OutletTemperature }),
			figure("compressor_power_w", "power", units.Power, func(p *airpath.Point) float64 { return p.CompressorPower }),
		},
		when(r.Trim.Cooler != nil,
			figure("cooler_heat_w", "cooler heat", units.Power, func(p *airpath.Point) float64 { return p.CoolerHeat }),
			figure("cooler_loss_pa", "cooler loss", units.PressureDifference, func(p *airpath.Point) float64 { return p.CoolerLoss }),
		),
		[]table.Field[row]{manifoldTemperature},
	)...)
	ref := r.Trim.Compressor.Map.Reference()
	each := ""
	if n := r.Trim.Compressor.Count; n > 1 {
		each = fmt.Sprintf(" Flow and shaft speed are those of each of the %d turbochargers, power that of all.", n)
	}
	t.Notes = []string{fmt.Sprintf("Flow is corrected to %s and %s, the reference of %s.%s",
		units.Figure{Value: ref.Temperature, Kind: units.Temperature, Digits: 2, Unit: "K"}.Mark(),
		units.Figure{Value: ref.Pressure, Kind: units.Pressure, Digits: 1, Unit: "kPa"}.Mark(), r.Trim.Compressor.MapFile, each)}
	return t
}

// Turbine returns the exhaust side: turbine, wastegate and what comes after them.
func (r *Run) Turbine() table.Table {
	gate := r.Trim.Wastegate != nil
	t := r.overSpeed("turbine", join(
		[]table.Field[row]{
			speedField(airpath.NoteTurbineHeld | airpath.NoteSpeedUnmet | airpath.NoteOverpulled),
			figure("exhaust_flow_kg_s", "exhaust flow", units.MassFlow, func(p *airpath.Point) float64 { return p.ExhaustFlow }).WithDigits(0).InDetail(),
			exhaustPressure,
			figure("turbine_inlet_to_map", "inlet/MAP", units.Number, func(p *airpath.Point) float64 {
				return p.TurbineInletPressure / p.ManifoldPressure
			}).WithDigits(2),
			exhaustTemperature,
			figure("expansion_ratio", "exp. ratio", units.Number, func(p *airpath.Point) float64 { return p.ExpansionRatio }).WithDigits(2),
			figure("turbine_efficiency", "eff.", units.Fraction, func(p *airpath.Point) float64 { return p.TurbineEfficiency }).InDetail(),
		},
		when(r.Trim.Turbine.Wheel > 0,
			figure("blade_speed_ratio", "U/C0", units.Number, func(p *airpath.Point) float64 { return p.BladeSpeedRatio }).WithDigits(2)),
		[]table.Field[row]{
			figure("turbine_flow_kg_s", "turbine flow", units.MassFlow, func(p *airpath.Point) float64 { return p.TurbineFlow }).WithDigits(0).InDetail(),
			figure("turbine_power_w", "turbine power", units.Power, func(p *airpath.Point) float64 { return p.TurbinePower }),
		},
		when(gate,
			figure("wastegate_flow_kg_s", "wastegate flow", units.MassFlow, func(p *airpath.Point) float64 { return p.WastegateFlow }).WithDigits(0).InDetail(),
			wastegateShare,
			figure("wastegate_max_flow_kg_s", "wastegate wide open", units.MassFlow, func(p *airpath.Point) float64 {
				return p.WastegateMaxFlow
			}).WithDigits(0).InDetail(),
			figure("wastegate_lift_m", "wastegate lift", units.Length, func(p *airpath.Point) float64 { return p.WastegateLift }).WithDigits(1),
		),
		[]table.Field[row]{
			figure("turbine_outlet_pressure_pa", "back pressure", units.Pressure, func(p *airpath.Point) float64 { return p.TurbineOutletPressure }),
			figure("tailpipe_temperature_k", "tailpipe", units.Temperature, func(p *airpath.Point) float64 { return p.TailpipeTemperature }),
		},
	)...)
	if gate {
		t.Notes = []string{fmt.Sprintf("Wide open the wastegate lifts %s.", units.Mark(r.Trim.Wastegate.Lift, units.Length))}
	}
	t.Notes = append(t.Notes, allTurbines(r.Trim, "Exhaust flow, turbine power and wastegate flow are those")...)
	return t
}

// turboEntries explain the columns above.
func turboEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "surge_margin", Title: "surge margin",
			Meaning: "Share of the flow by which it could fall at the same pressure ratio before the compressor surges. Negative past surge. " +
				"The surge line runs through the lowest flow of each speed line.",
			Formula: "(ṁ − ṁs)/ṁ",
			Source:  "definition, at constant pressure ratio", Range: "past the first and the last line the surge line goes on with h ~ ṁ²",
		},
		{
			Key: "choke_margin", Title: "choke margin",
			Meaning: "Share by which the flow is below that at the choke end of the line at the same speed. Negative past the choke end.",
			Formula: "(ṁc − ṁ)/ṁc; past the choke end ṁe/ṁ − 1, ṁe = ṁ √(h/he) the flow at which the end's resistance line has this pressure ratio",
			Source:  "definition, at constant speed", Range: "−1 at a pressure ratio of 1 or less",
		},
		{
			Key: "corrected_speed_rpm", Title: "corr. speed",
			Meaning: "Shaft speed brought to the map's reference inlet temperature: the speed line on the map.",
			Formula: "N exp f(N, x) = ṁc solved for N; x = ln(ṁc²/h), h = PR^(2/7) − 1; " +
				"f = ln(ṁc/N) interpolated by monotone cubics along each line in x and between lines in ln N at equal x − k(N), k = ln(φc²/ψp)",
			Source: "interpolation of this program's own, checked against NASA Glenn's measured HECC stage (HECC Data Archive, 2023)",
			Range:  "between the lowest and highest speed line and their ends; outside, continued and marked",
		},
		{
			Key: "compressor_outlet_pressure_pa", Title: "outlet pressure",
			Meaning: "Pressure after the compressor, absolute: MAP and the cooler's loss.",
			Formula: "p2 = pm + cooler loss", Source: solution, Range: full,
		},
		{
			Key: "compressor_power_w", Title: "power",
			Meaning: "Power that the compressor takes from the shaft, before the bearings' loss.",
			Formula: "P = ṁ (h(T2) − h(T1))",
			Source:  "first law; Heywood, Internal Combustion Engine Fundamentals, eq. 6.42", Range: "adiabatic",
		},
		{
			Key: "cooler_heat_w", Title: "cooler heat",
			Meaning: "Heat that the charge gives the coolant.",
			Formula: "Q = m cp (T2 − T)", Source: "energy balance", Range: "cp at the mean of the two temperatures",
		},
		{
			Key: "cooler_loss_pa", Title: "cooler loss",
			Meaning: "Total pressure that the charge loses in the cooler.",
			Formula: "Δp = k m² T2/p2, k through one measured point",
			Source:  "loss in proportion to dynamic pressure, common practice, no source", Range: "losses up to about a tenth of the pressure",
		},
		{
			Key: "exhaust_flow_kg_s", Title: "exhaust flow",
			Meaning: "Mass flow of the exhaust: air and fuel together.",
			Formula: "ṁ + ṁf", Source: "conservation of mass", Range: always,
		},
		{
			Key: "turbine_inlet_to_map", Title: "inlet/MAP",
			Meaning: "Turbine inlet pressure over MAP. Below 1 the gas exchange drives the engine; above 1 exhaust is pushed back and costs torque.",
			Formula: "p3/pm", Source: ours, Range: always,
		},
		{
			Key: "expansion_ratio", Title: "exp. ratio",
			Meaning: "Turbine inlet pressure over back pressure with which the turbine gives the compressor its power.",
			Formula: "ER = p3/p4 from g ηm n Cd A ER p4/√(R T3) ψ(1/ER, γ) η cp T3 (1 − ER^(−(γ−1)/γ)) = P + n c N², " +
				"g the pulses' power factor at equal mean pressure, 1 in a steady stream",
			Source: "de Saint-Venant and Wantzel, as in NACA Report 1135 (1953); Dixon, Fluid Mechanics and Thermodynamics of Turbomachinery, ch. 2",
			Range:  "1 to 6; the turbine as one nozzle",
		},
		{
			Key: "turbine_efficiency", Title: "eff.",
			Meaning: "Work taken over isentropic work, total to static: as given, over the blade speed ratio or constant.",
			Formula: "η(U/C0), monotone cubic between the points given, held outside",
			Source:  "given", Range: "0 to 1; rising less than with the square of U/C0",
		},
		{
			Key: "blade_speed_ratio", Title: "U/C0",
			Meaning: "Speed of the wheel's tip over the velocity that the isentropic work would give the gas.",
			Formula: "U/C0 = (D N/2)/√(2 cp T3 (1 − ER^(−(γ−1)/γ)))",
			Source:  "Watson and Janota, Turbocharging the Internal Combustion Engine (1982), ch. 5", Range: "ER above 1",
		},
		{
			Key: "turbine_flow_kg_s", Title: "turbine flow",
			Meaning: "Exhaust that passes all turbines.",
			Formula: "m = f n Cd A p3/√(R T3) ψ(p4/p3, γ), f the pulses' flow factor at equal mean pressure, 1 in a steady stream",
			Source: "de Saint-Venant and Wantzel, as in NACA Report 1135 (1953); " +
				"a turbine as one nozzle: Watson and Janota, Turbocharging the Internal Combustion Engine (1982)",
			Range: "choked or not",
		},
		{
			Key: "turbine_power_w", Title: "turbine power",
			Meaning: "Power that all turbines give their compressors.",
			Formula: "P = (g/f) ηm m η cp T3 (1 − ER^(−(γ−1)/γ)) − n c N², g/f the pulses' factors of power over flow, 1 in a steady stream; " +
				"cp and γ at the means of the expansion's temperatures",
			Source: "Dixon, Fluid Mechanics and Thermodynamics of Turbomachinery, ch. 2",
			Range:  "ER 1 to 6, where cp and γ so taken are within 0.03 % of the real gas",
		},
		{
			Key: "wastegate_flow_kg_s", Title: "wastegate flow",
			Meaning: "Exhaust that goes through all wastegate valves, past the turbines.",
			Formula: "exhaust flow − turbine flow; at most Cd A p3/√(R T3) ψ(p4/p3, γ), A = n π d min(l, d/4)",
			Source:  "de Saint-Venant and Wantzel, as in NACA Report 1135 (1953)", Range: "0 to the flow of the open valve",
		},
		{
			Key: "wastegate_max_flow_kg_s", Title: "wastegate wide open",
			Meaning: "Exhaust flow that the wastegate would take here wide open.",
			Formula: "Cd A p3/√(R T3) ψ(p4/p3, γ) at full lift",
			Source:  "de Saint-Venant and Wantzel, as in NACA Report 1135 (1953)", Range: always,
		},
		{
			Key: "wastegate_lift_m", Title: "wastegate lift",
			Meaning: "Lift of one valve at which the valves take the wastegate flow.",
			Formula: "l = m/(Cd n π d p3/√(R T3) ψ(p4/p3, γ))",
			Source:  "de Saint-Venant and Wantzel, as in NACA Report 1135 (1953)",
			Range:   "up to a quarter of the bore, where the curtain reaches the area of the seat, or the greatest lift",
		},
		{
			Key: "turbine_outlet_pressure_pa", Title: "back pressure",
			Meaning: "Pressure after the turbine, absolute, p4 in formulas.",
			Formula: "p4 − k ṁ² T/p4 = p(venue)",
			Source:  "loss of a fixed geometry with dynamic pressure; definition", Range: "losses up to a third of the pressure",
		},
		{
			Key: "tailpipe_temperature_k", Title: "tailpipe",
			Meaning: "Temperature of turbine flow and wastegate flow mixed.",
			Formula: "energy balance of the two flows", Source: "energy balance", Range: "without heat loss after the turbine",
		},
	}
}
