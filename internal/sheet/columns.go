package sheet

import (
	"bellmouth/internal/airpath"
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

	manifoldTemperature = figure("manifold_temperature_k", "manifold", units.Temperature, func(p *airpath.Point) float64 { return p.ManifoldTemperature })

	exhaustPressure = figure("turbine_inlet_pressure_pa", "p3", units.Pressure, func(p *airpath.Point) float64 { return p.TurbineInletPressure })

	exhaustTemperature = figure("turbine_inlet_temperature_k", "exhaust", units.Temperature, func(p *airpath.Point) float64 { return p.TurbineInletTemperature })

	wastegateShare = figure("wastegate_fraction", "past turbine", units.Fraction, func(p *airpath.Point) float64 { return p.WastegateFraction })

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

	peakPressure  = figure("peak_pressure_pa", "peak", units.Pressure, func(p *airpath.Point) float64 { return p.PeakPressure }).WithDigits(0)
	ca50          = figure("ca50_deg", "CA50", units.Angle, func(p *airpath.Point) float64 { return p.CA50 })
	knockIntegral = figure("knock_integral", "knock", units.Number, func(p *airpath.Point) float64 { return p.KnockIntegral }).WithDigits(2)
)

// detailIf leaves a field to CSV and JSON where there is no room for it.
func detailIf(detail bool, f table.Field[row]) table.Field[row] {
	f.Detail = f.Detail || detail
	return f
}
