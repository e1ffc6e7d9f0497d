package sheet

import (
	"bellmouth/internal/airpath"
	"bellmouth/internal/formula"
	"bellmouth/internal/remark"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// Filling returns what one cylinder takes in a cycle over engine speed, and from which manifold: what an engine control that
// computes its fuel from filling is given.
func (r *Run) Filling() table.Table {
	return r.overSpeed("filling",
		speedField(airpath.NoteFillingHeld|airpath.NoteLambdaHeld|airpath.NoteCoolerHeld|airpath.NoteLossLarge|airpath.NoteLambdaFar),
		figure("manifold_pressure_pa", "MAP", units.Pressure, func(p *airpath.Point) float64 { return p.ManifoldPressure }),
		manifoldTemperature,
		volumetricEfficiency,
		figure("air_per_cycle_kg", "air per cycle", units.SmallMass, run.AirPerCycle),
		lambda,
		figure("fuel_per_cycle_kg", "fuel per cycle", units.SmallMass, func(p *airpath.Point) float64 { return p.FuelPerCycle }).WithDigits(2),
		figure("charge_temperature_k", "charge", units.Temperature, func(p *airpath.Point) float64 { return p.ChargeTemperature }),
	)
}

// WayOut returns how the exhaust cools from valve to turbine and what a probe there shows over engine speed, and whether the spec leaves that to
// be computed.
func (r *Run) WayOut() (t table.Table, ok bool) {
	if !r.CoolingKnown() {
		return table.Table{}, false
	}
	known := table.Known[run.ExhaustWay](func(w run.ExhaustWay) error {
		if w.Err != nil {
			return run.ErrNoSolution
		}
		return nil
	})
	t = table.Of("exhaust from valve to turbine", r.ExhaustWays(),
		table.Cells("rpm", "speed", units.Speed, func(w run.ExhaustWay) table.Cell {
			c := table.Num(w.Speed)
			if texts := append(w.Result.Notes.Texts(), w.Probe.Notes.Texts()...); w.Err == nil && len(texts) > 0 {
				return c.Noted(remark.Line(texts))
			}
			return c
		}),
		known.Number("exhaust_valve_temperature_k", "at the valve", units.Temperature, func(w run.ExhaustWay) float64 { return w.Point.ValveTemperature }),
		known.Number("exhaust_heat_w", "heat lost", units.Power, func(w run.ExhaustWay) float64 { return w.Heat }),
		known.Number("exhaust_wall_temperature_k", "manifold wall", units.Temperature, func(w run.ExhaustWay) float64 { return w.Primary.WallTemperature }),
		known.Number("turbine_inlet_temperature_k", "EGT", units.Temperature, func(w run.ExhaustWay) float64 { return w.Point.TurbineInletTemperature }),
		known.Number("probe_reading_k", "probe reads", units.Temperature, func(w run.ExhaustWay) float64 { return w.Probe.Temperature }),
	)
	t.Trim = r.Trim.Name
	t.Notes = []string{"Compare a logged temperature with what the probe reads, and the turbine maker's limit with whatever it is stated for."}
	return t, true
}

// fillingEntries explain the columns above.
func fillingEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "air_per_cycle_kg", Title: "air per cycle",
			Meaning: "Moist air that one cylinder takes in one cycle.",
			Formula: "ṁ 4π/(N z)", Source: ours, Range: always,
		},
		{
			Key: "fuel_per_cycle_kg", Title: "fuel per cycle",
			Meaning: "Fuel that one cylinder gets in one cycle.",
			Formula: "m = ṁ 4π/(N cylinders)", Source: "mass balance of a four-stroke engine", Range: "speed above 0",
		},
		{
			Key: "exhaust_valve_temperature_k", Title: "at the valve",
			Meaning: "Mean temperature of the gas that leaves the cylinders, by what it carries.",
			Formula: "me h = ma ha + mf hf + Qfresh − W − Qcylinder", Source: "energy balance", Range: full,
		},
		{
			Key: "exhaust_heat_w", Title: "heat lost",
			Meaning: "Heat that the exhaust of all cylinders gives to ports and manifold before turbine, collector or probe.",
			Formula: "Q = ṁ cp (Tin − Tw) (1 − exp(−NTU)), port, then primary; NTU = 4 (L/D) Nu/(Re Pr), Nu = 0.07 Re^0.75",
			Source: "Depcik and Assanis, SAE 2002-01-0372; Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, §8.3.3; " +
				"properties of burned gas by Heywood (1988), §4.8",
			Range: "Re 5e3 to 2e5 and 500 K to 4000 K, with a note outside",
		},
		{
			Key: "exhaust_wall_temperature_k", Title: "manifold wall",
			Meaning: "Temperature of the manifold's pipes, as the mean over their length.",
			Formula: "Q = π Do L F (ε σ (Tw⁴ − Ta⁴) + ho (Tw − Ta))",
			Source:  "heat balance; ε, ho and F are assumptions where not given", Range: "Re 5e3 to 2e5 and 500 K to 4000 K, with a note outside",
		},
		{
			Key: "probe_reading_k", Title: "probe reads",
			Meaning: "Temperature that a 3 mm sheathed thermocouple shows at the end of one primary. " +
				"It loses heat to cooler walls, so it reads less than the gas. It follows the mean over time while the hot gas rushes past, " +
				"so it reads less again than the EGT. Where the gas of all cylinders passes it reads nearer. " +
				"Pulses are not counted; they make it lower still.",
			Formula: "h (Te − Tp) = ε σ (Tp⁴ − Tw⁴), Te = T0 − (1 − r) V²/(2 cp); less (Tp − Tw)/cosh(m ℓ) along the sheath",
			Source: "Churchill and Bernstein, J. Heat Transfer 99 (1977) 300, for h; Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, " +
				"§3.6 and ch. 13",
			Range: "steady flow up to Mach 0.5, with a note above",
		},
	}
}
