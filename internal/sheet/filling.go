package sheet

import (
	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/remark"
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
	t.Notes = []string{"Of one cylinder in one cycle. " +
		"The volumetric efficiency is the moist air taken over the displacement at manifold density, back pressure counted; manifold pressure is absolute. Charge: as the inlet valve closes."}
	return t
}

// A wayRow is one engine speed with the exhaust's way from valve to turbine.
type wayRow struct {
	*boost.Outcome
	airpath.Way
	err error
}

// WayOut returns how the exhaust cools from valve to turbine and what a probe there shows over engine speed, and whether the spec leaves that to
// be computed.
func (r *Run) WayOut() (t table.Table, ok bool) {
	if p := &r.Engine.Pipes; r.Engine.Heat.PortLossGiven || p.Port.Length+p.Primary.Length == 0 {
		return table.Table{}, false
	}
	rows := make([]wayRow, len(r.Outcomes))
	var notes []string
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		rows[i] = wayRow{Outcome: o, err: o.Err}
		if o.Err == nil {
			rows[i].Way, rows[i].err = r.Engine.WayOut(&o.Point)
		}
	}
	of := func(key, title string, quantity units.Kind, get func(w *wayRow) float64) table.Field[wayRow] {
		return table.Cells(key, title, quantity, func(w wayRow) table.Cell {
			if w.err != nil {
				return table.Missing("no solution at this speed")
			}
			return table.Num(get(&w))
		})
	}
	t = table.Of("exhaust from valve to turbine", rows,
		table.Cells("rpm", "speed", units.Speed, func(w wayRow) table.Cell {
			c := table.Num(w.Speed)
			if texts := append(w.Result.Notes.Texts(), w.Probe.Notes.Texts()...); w.err == nil && len(texts) > 0 {
				return c.Noted(remark.Line(texts))
			}
			return c
		}),
		of("exhaust_valve_temperature_k", "at the valve", units.Temperature, func(w *wayRow) float64 { return w.Point.ValveTemperature }),
		of("exhaust_heat_w", "heat lost", units.Power, func(w *wayRow) float64 { return w.Heat }),
		of("exhaust_wall_temperature_k", "manifold wall", units.Temperature, func(w *wayRow) float64 { return w.Primary.WallTemperature }),
		of("turbine_inlet_temperature_k", "exhaust", units.Temperature, func(w *wayRow) float64 { return w.Point.TurbineInletTemperature }),
		of("probe_reading_k", "probe reads", units.Temperature, func(w *wayRow) float64 { return w.Probe.Temperature }),
	)
	t.Trim = r.Trim.Name
	where := "turbine"
	if !r.Forced() {
		where = "collector"
	}
	t.Notes = append(notes, "Mean temperatures of the gas, by what it carries. Exhaust: before the "+where+". A 3 mm probe at the end of one primary, in that cylinder's flow, loses heat to cooler walls and reads less than the gas, and less again than this, since it follows the mean over time and the hot gas rushes past; where the gas of all cylinders passes it reads nearer: "+
		"hold a logged temperature against the probe, and the limit of the turbine's maker against whatever he says it is of.")
	return t, true
}
