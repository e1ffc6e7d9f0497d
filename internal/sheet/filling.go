package sheet

import (
	"bellmouth/internal/airpath"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// Filling returns what one cylinder takes in a cycle over engine speed, and from which manifold: what an engine control that
// computes its fuel from filling is given.
func (r *Run) Filling() table.Table {
	perCycle := func(p *airpath.Point) float64 { return p.FuelPerCycle * p.AirFlow / p.FuelFlow }
	t := r.overSpeed("filling",
		speedField(airpath.NoteFillingHeld|airpath.NoteLambdaHeld|airpath.NoteCoolerHeld|airpath.NoteLossLarge|airpath.NoteLambdaFar),
		figure("manifold_pressure_pa", "manifold", units.Pressure, func(p *airpath.Point) float64 { return p.ManifoldPressure }),
		figure("manifold_temperature_k", "manifold", units.Temperature, func(p *airpath.Point) float64 { return p.ManifoldTemperature }),
		volumetricEfficiency,
		figure("air_per_cycle_kg", "air", units.SmallMass, perCycle),
		lambda,
		figure("fuel_per_cycle_kg", "fuel", units.SmallMass, func(p *airpath.Point) float64 { return p.FuelPerCycle }).WithDigits(2),
		figure("charge_temperature_k", "charge", units.Temperature, func(p *airpath.Point) float64 { return p.ChargeTemperature }),
	)
	t.Notes = []string{"Of one cylinder in one cycle. The volumetric efficiency is the moist air taken over the displacement at manifold density, back pressure counted; manifold pressure is absolute. Charge: as the inlet valve closes."}
	return t
}
