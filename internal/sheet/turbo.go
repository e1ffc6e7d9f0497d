package sheet

import (
	"fmt"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

const mapNotes = airpath.NoteBelowLowestLine | airpath.NoteAboveTopLine | airpath.NotePastChoke | airpath.NotePastSurge |
	airpath.NoteSpeedUnmet | airpath.NoteOverpulled

// Compressor returns where the compressor runs on its map, and the cooler behind it.
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
			figure("compressor_outlet_pressure_pa", "outlet pressure", units.Pressure, func(p *airpath.Point) float64 { return p.CompressorOutlet }).InDetail(),
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
	t.Notes = []string{fmt.Sprintf("Flow corrected to %.2f K and %.1f kPa, the map's reference (%s). Surge margin: share of the flow by which it could fall at the same pressure ratio; "+
		"choke margin: share by which it stays below the line's end.%s", ref.Temperature, ref.Pressure/1e3, r.Trim.Compressor.MapFile, each)}
	return t
}

// Turbine returns the exhaust side: turbine, wastegate and what is behind them.
func (r *Run) Turbine() table.Table {
	gate := r.Trim.Wastegate != nil
	t := r.overSpeed("turbine", join(
		[]table.Field[row]{
			speedField(airpath.NoteTurbineHeld | airpath.NoteSpeedUnmet | airpath.NoteOverpulled),
			figure("exhaust_flow_kg_s", "gas", units.MassFlow, func(p *airpath.Point) float64 { return p.ExhaustFlow }).WithDigits(0),
			exhaustPressure,
			figure("back_pressure_ratio", "p3/pm", units.Number, func(p *airpath.Point) float64 {
				return p.TurbineInletPressure / p.ManifoldPressure
			}).WithDigits(2),
			exhaustTemperature,
			figure("expansion_ratio", "exp. ratio", units.Number, func(p *airpath.Point) float64 { return p.ExpansionRatio }).WithDigits(2),
			figure("turbine_efficiency", "eff.", units.Fraction, func(p *airpath.Point) float64 { return p.TurbineEfficiency }).InDetail(),
		},
		when(r.Trim.Turbine.Wheel > 0, figure("blade_speed_ratio", "U/C0", units.Number, func(p *airpath.Point) float64 { return p.BladeSpeedRatio }).WithDigits(2)),
		[]table.Field[row]{
			figure("turbine_flow_kg_s", "turbine flow", units.MassFlow, func(p *airpath.Point) float64 { return p.TurbineFlow }).WithDigits(0).InDetail(),
			figure("turbine_power_w", "turbine power", units.Power, func(p *airpath.Point) float64 { return p.TurbinePower }),
		},
		when(gate,
			figure("wastegate_flow_kg_s", "gate flow", units.MassFlow, func(p *airpath.Point) float64 { return p.WastegateFlow }).WithDigits(0),
			wastegateShare,
			figure("wastegate_max_flow_kg_s", "gate open", units.MassFlow, func(p *airpath.Point) float64 { return p.WastegateMaxFlow }).WithDigits(0).InDetail(),
			figure("wastegate_lift_m", "gate lift", units.Length, func(p *airpath.Point) float64 { return p.WastegateLift }).WithDigits(1),
		),
		[]table.Field[row]{
			figure("turbine_outlet_pressure_pa", "p4", units.Pressure, func(p *airpath.Point) float64 { return p.TurbineOutletPressure }),
			figure("tailpipe_temperature_k", "tailpipe", units.Temperature, func(p *airpath.Point) float64 { return p.TailpipeTemperature }),
		},
	)...)
	text := "Gas: the exhaust's mass flow. p3 and the exhaust temperature before the turbine, p4 behind it, pm in the manifold, all absolute."
	if gate {
		text += fmt.Sprintf(" The gate's lift is that of one valve, of %s at most.", units.Format(r.Trim.Wastegate.Lift, units.Length, units.Metric))
	}
	t.Notes = []string{text}
	return t
}
