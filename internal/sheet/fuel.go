package sheet

import (
	"fmt"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/gas"
	"bellmouth/internal/injector"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// Fuel returns what fuel the engine takes over engine speed, and the pulses that meter it.
func (r *Run) Fuel() table.Table {
	in := r.Trim.Injection
	two := in != nil && in.Staging.TwoSets()
	density, densityErr := r.Trim.Fuel.Grade.DensityAt(r.Trim.Fuel.Temperature)
	allowed := r.AllowedDuty()
	duty := func(key, title string, get func(p *airpath.Point) float64) table.Field[row] {
		return cells(key, title, units.Fraction, func(_ row, p *airpath.Point) table.Cell {
			return table.Num(get(p)).Toned(failedIf(check.Passes(get(p), allowed)))
		})
	}
	t := r.overSpeed("fuel", join(
		[]table.Field[row]{
			speedField(airpath.NoteLambdaHeld | airpath.NoteDeadTimeHeld | airpath.NoteShortPulse | airpath.NoteInjectorUnmet),
			lambda,
			figure("air_fuel_ratio", "AFR", units.Number, func(p *airpath.Point) float64 { return p.AirFuelRatio }).WithDigits(2),
			fuelFlow,
			cells("fuel_volume_flow_m3_s", "volume", units.VolumeFlow, func(_ row, p *airpath.Point) table.Cell {
				if densityErr != nil {
					return table.Missing(densityErr.Error())
				}
				return table.Num(p.FuelFlow / density)
			}),
			figure("fuel_per_cycle_kg", "a cycle", units.SmallMass, func(p *airpath.Point) float64 { return p.FuelPerCycle }).InDetail(),
			consumption,
		},
		when(in != nil,
			detailIf(in != nil && in.FollowsManifold, figure("rail_difference_pa", "over injector", units.PressureDifference,
				func(p *airpath.Point) float64 { return p.RailDifference })),
			figure("primary_pulse_s", "primary pulse", units.Time, func(p *airpath.Point) float64 { return p.Injection.Primary.Pulse }),
			duty("primary_duty", "primary duty", func(p *airpath.Point) float64 { return p.Injection.Primary.Duty }),
		),
		when(two,
			figure("secondary_pulse_s", "sec. pulse", units.Time, func(p *airpath.Point) float64 { return p.Injection.Secondary.Pulse }),
			duty("secondary_duty", "sec. duty", func(p *airpath.Point) float64 { return p.Injection.Secondary.Duty }),
			figure("secondary_share", "sec. share", units.Fraction, func(p *airpath.Point) float64 { return p.Injection.SecondaryShare }),
			cells("staging", "sets", units.Number, func(_ row, p *airpath.Point) table.Cell { return table.Text(p.Injection.Mode.String()) }),
		),
	)...)
	t.Notes = []string{"AFR: dry air over fuel, by mass. Volume at the fuel's temperature at the injector."}
	if in != nil {
		t.Notes = append(t.Notes, fmt.Sprintf("Pulses hold the dead time at %s. Duty up to %.0f %% is allowed.",
			units.Format(in.SupplyVoltage, units.Voltage, units.Metric), allowed*100))
	} else {
		t.Notes = append(t.Notes, "The spec has no section injection: pulses and duty are left out.")
	}
	return t
}

// FuelProperties returns what the trim's fuel is.
func FuelProperties(trim *spec.Trim) table.Table {
	f := trim.Fuel
	g := f.Grade
	octane := func(key, title string, number float64) table.Field[*spec.Fuel] {
		return table.Cells(key, title, units.Number, func(*spec.Fuel) table.Cell {
			if g.Unrated {
				return table.Missing("the fuel has no octane number")
			}
			return table.Num(number)
		}).WithDigits(1)
	}
	byCarbon := func(key, title string, atoms float64) table.Field[*spec.Fuel] {
		return table.Cells(key, title, units.Number, func(*spec.Fuel) table.Cell {
			if g.Carbon == 0 {
				return table.Missing("the fuel has no carbon")
			}
			return table.Num(atoms / g.Carbon)
		})
	}
	t := table.One("fuel properties", f,
		table.Words("fuel", "fuel", func(*spec.Fuel) string { return g.Name }),
		table.Number("stoichiometric_air_fuel_ratio", "AFR at lambda 1", units.Number, func(*spec.Fuel) float64 {
			return g.StoichiometricAirFuelRatio(gas.DryAir())
		}).WithDigits(2),
		table.Number("lower_heating_value_j_kg", "lower heating value", units.SpecificEnergy, func(*spec.Fuel) float64 { return g.LowerHeatingValue }).WithDigits(2),
		table.Number("mixture_energy_j_kg", "heat per kilogram of air at lambda 1", units.SpecificEnergy, func(*spec.Fuel) float64 { return g.MixtureEnergy() }).WithDigits(3),
		table.Number("latent_heat_j_kg", "latent heat", units.SpecificEnergy, func(*spec.Fuel) float64 { return g.LatentHeat }).WithDigits(3),
		table.Cells("fuel_density_kg_m3", "density at the injector", units.Density, func(*spec.Fuel) table.Cell {
			d, err := g.DensityAt(f.Temperature)
			if err != nil {
				return table.Missing(err.Error())
			}
			return table.Num(d)
		}).WithDigits(0),
		table.Number("fuel_temperature_k", "  at", units.Temperature, func(*spec.Fuel) float64 { return f.Temperature }),
		octane("research_octane", "RON", g.RON),
		octane("motor_octane", "MON", g.MON),
		table.Cells("knock_octane", "octane in the knock delay", units.Number, func(*spec.Fuel) table.Cell {
			if f.KnockOctane == 0 {
				return table.Missing("octane index, which follows the charge from between RON and MON to above RON: at full load it is under spark")
			}
			return table.Num(f.KnockOctane)
		}).WithDigits(1),
		byCarbon("hydrogen_carbon_ratio", "hydrogen to carbon", g.Hydrogen).WithDigits(2),
		byCarbon("oxygen_carbon_ratio", "oxygen to carbon", g.Oxygen).WithDigits(3),
	)
	t.Trim = trim.Name
	if g.Gaseous {
		// The volume of a mole is the same for fuel and air.
		air := gas.DryAir()
		share := g.VapourShare(g.StoichiometricAirFuelRatio(air))
		t.Notes = append(t.Notes, fmt.Sprintf("A gas: injected into the port it takes %.1f %% of the charge's volume at lambda 1, and the air has the rest. "+
			"engine.volumetric_efficiency is of the air, so it has to be that with this fuel running; nothing is taken off it here. Injectors and fuel supply are those of liquids and are not computed.", share*100))
	}
	if g.Unrated {
		t.Notes = append(t.Notes, "The knock delay was fitted to petrol's reference fuels, and the burn angle that the spec does not give is petrol's: with this fuel both are guesses.")
	}
	return t
}

// InjectorSets returns the injectors as fitted, at the rail's own pressure difference.
func InjectorSets(trim *spec.Trim) (t table.Table, ok bool) {
	in := trim.Injection
	if in == nil || !in.FollowsManifold {
		return table.Table{}, false
	}
	density, err := trim.Fuel.Grade.DensityAt(trim.Fuel.Temperature)
	if err != nil {
		return table.Table{}, false
	}
	type set struct {
		name string
		injector.Set
	}
	sets := []set{{"primary", in.Staging.Primary}}
	if in.Staging.TwoSets() {
		sets = append(sets, set{"secondary", in.Staging.Secondary})
	}
	t = table.Of("injectors", sets,
		table.Words("set", "set", func(s set) string { return s.name }),
		table.Counts("per_cylinder", "a cylinder", func(s set) int { return s.PerCylinder }),
		table.Number("rated_flow_m3_s", "rated", units.VolumeFlow, func(s set) float64 { return s.Injector.RatedFlow }),
		table.Number("rated_difference_pa", "rated at", units.PressureDifference, func(s set) float64 { return s.Injector.TestPressure }),
		table.Number("injector_flow_kg_s", "here", units.MassFlow, func(s set) float64 { return s.Injector.MassFlow(in.RailPressure, density) }).WithDigits(2),
		table.Number("rail_difference_pa", "here at", units.PressureDifference, func(set) float64 { return in.RailPressure }),
		table.Cells("dead_time_s", "dead time", units.Time, func(s set) table.Cell {
			dead, held := s.Injector.DeadTime.At(in.SupplyVoltage)
			if held {
				return table.Num(dead).Noted("supply voltage outside the dead time table")
			}
			return table.Num(dead)
		}),
		table.Number("shortest_pulse_s", "shortest pulse", units.Time, func(s set) float64 { return s.Injector.ShortestPulse }),
	)
	t.Trim = trim.Name
	t.Notes = []string{"Flow of one injector, wide open; here: this fuel at this rail pressure."}
	return t, true
}
