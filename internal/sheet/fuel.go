package sheet

import (
	"fmt"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/gas"
	"bellmouth/internal/injector"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// massUnit names the unit that a heat is told for.
var massUnit = units.Words("kilogram", "pound", "kilogram")

// overInjector heads the pressure that drives the fuel through an injector.
const overInjector = "pressure over injector"

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
	second := []table.Field[row]{
		figure("secondary_pulse_s", "secondary pulse", units.Time, func(p *airpath.Point) float64 { return p.Injection.Secondary.Pulse }),
		duty("secondary_duty", "secondary duty", func(p *airpath.Point) float64 { return p.Injection.Secondary.Duty }),
		figure("secondary_share", "secondary share", units.Fraction, func(p *airpath.Point) float64 { return p.Injection.SecondaryShare }),
		cells("staging", "sets", units.Number, func(_ row, p *airpath.Point) table.Cell { return table.Text(p.Injection.Mode.String()) }),
	}
	_, _, works := run.Where(r.Outcomes, run.SecondSetWorks)
	idle := two && !works
	for i := range second {
		second[i].Detail = idle // columns of nothing but zeros are no reading
	}
	t := r.overSpeed("fuel", join(
		[]table.Field[row]{
			speedField(airpath.NoteLambdaHeld | airpath.NoteDeadTimeHeld | airpath.NoteShortPulse | airpath.NoteInjectorUnmet),
			lambda,
			figure("air_fuel_ratio", "AFR", units.Number, func(p *airpath.Point) float64 { return p.AirFuelRatio }).WithDigits(2),
			fuelFlow,
			cells("fuel_volume_flow_m3_s", "fuel volume", units.VolumeFlow, func(_ row, p *airpath.Point) table.Cell {
				if densityErr != nil {
					return table.Missing(densityErr.Error())
				}
				return table.Num(p.FuelFlow / density)
			}),
			figure("fuel_per_cycle_kg", "fuel per cycle", units.SmallMass, func(p *airpath.Point) float64 { return p.FuelPerCycle }).InDetail(),
			consumption,
		},
		when(in != nil,
			detailIf(in != nil && in.FollowsManifold, figure("rail_difference_pa", overInjector, units.PressureDifference,
				func(p *airpath.Point) float64 { return p.RailDifference })),
			figure("primary_pulse_s", "primary pulse", units.Time, func(p *airpath.Point) float64 { return p.Injection.Primary.Pulse }),
			duty("primary_duty", "primary duty", func(p *airpath.Point) float64 { return p.Injection.Primary.Duty }),
		),
		when(two, second...),
	)...)
	if in == nil {
		t.Notes = []string{"The spec has no section injection: pulses and duty are left out."}
		return t
	}
	t.Notes = []string{fmt.Sprintf("Pulses at %s. Duty up to %.0f %% is allowed.", volts(in.SupplyVoltage), allowed*100)}
	if idle {
		t.Notes = append(t.Notes, "The second set does not work at any of these speeds.")
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
		table.Number("lower_heating_value_j_kg", "lower heating value", units.SpecificEnergy,
			func(*spec.Fuel) float64 { return g.LowerHeatingValue }).WithDigits(2),
		table.Number("mixture_energy_j_kg", "heat per "+massUnit+" of air at lambda 1", units.SpecificEnergy,
			func(*spec.Fuel) float64 { return g.MixtureEnergy() }).WithDigits(3),
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
				return table.Missing("the octane index, which follows the charge; bellmouth spark tells it at full load")
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
		t.Notes = append(t.Notes, fmt.Sprintf("The fuel is a gas. Injected into the port it takes %.1f %% of the charge's volume at lambda 1. "+
			"engine.volumetric_efficiency has to be that of the air with this fuel running, since nothing is taken off it here. "+
			"Injectors and fuel supply are not computed.", share*100))
	}
	if g.Unrated {
		t.Notes = append(t.Notes, "The knock delay is petrol's, and so is a burn angle that the spec does not give. With this fuel both are guesses.")
	}
	return t
}

// oneDeadTime reports that an injector's dead time does not grow as the battery sags, which no injector's does.
func oneDeadTime(in *injector.Injector) bool {
	strong, _ := in.DeadTime.At(run.SagFrom)
	weak, _ := in.DeadTime.At(run.SagTo)
	return weak == strong
}

const oneDeadTimeNote = "The spec has one dead time for every voltage, so that it does not grow with a weak battery. Give it over voltage."

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
		table.Counts("per_cylinder", "per cylinder", func(s set) int { return s.PerCylinder }),
		table.Number("rated_flow_m3_s", "rated flow", units.VolumeFlow, func(s set) float64 { return s.Injector.RatedFlow }),
		table.Number("rated_difference_pa", "rated pressure", units.PressureDifference, func(s set) float64 { return s.Injector.TestPressure }),
		table.Number("injector_flow_kg_s", "flow here", units.MassFlow,
			func(s set) float64 { return s.Injector.MassFlow(in.RailPressure, density) }).WithDigits(2),
		table.Number("rail_difference_pa", overInjector, units.PressureDifference, func(set) float64 { return in.RailPressure }),
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
	if oneDeadTime(&in.Staging.Primary.Injector) {
		t.Notes = []string{oneDeadTimeNote}
	}
	return t, true
}

// fuelEntries explain the columns above.
func fuelEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "air_fuel_ratio", Title: "AFR",
			Meaning: "Air-fuel ratio: mass of dry air per mass of fuel.",
			Formula: "λ AFRst", Source: ours, Range: "lambda 0.5 to 2",
		},
		{
			Key: "fuel_volume_flow_m3_s", Title: "fuel volume", Also: []string{"engine takes"},
			Meaning: "Fuel flow by volume at the fuel's temperature, as a pump or a flow meter has it.",
			Formula: "ṁf/ρ(T)", Source: ours, Range: "-20 °C to 60 °C",
		},
		{
			Key: "rail_difference_pa", Title: overInjector,
			Meaning: "Pressure that drives the fuel through the injector, rail pressure less MAP.",
			Formula: "Δp = rail pressure, or venue + rail pressure − pm with a regulator that does not follow the manifold",
			Source:  ours, Range: always,
		},
		{
			Key: "primary_pulse_s", Title: "primary pulse",
			Meaning: "Time for which each primary injector is driven in a cycle, dead time included.",
			Formula: "fuel of the set/ṁ + dead time(voltage)", Source: practice, Range: "pulse not shorter than the injector's shortest",
		},
		{
			Key: "primary_duty", Title: "primary duty",
			Meaning: "Share of the cycle that the primary pulse takes; above 1 it cannot be delivered.",
			Formula: "pulse N/(4π)", Source: "definition, four-stroke", Range: "0 to 1",
		},
		{
			Key: "secondary_pulse_s", Title: "secondary pulse",
			Meaning: "Time for which each secondary injector is driven in a cycle, dead time included; 0 while they do not work.",
			Formula: "fuel of the set/ṁ + dead time(voltage)", Source: practice, Range: "pulse not shorter than the injector's shortest",
		},
		{
			Key: "secondary_duty", Title: "secondary duty",
			Meaning: "Share of the cycle that the secondary pulse takes; above 1 it cannot be delivered.",
			Formula: "pulse N/(4π)", Source: "definition, four-stroke", Range: "0 to 1",
		},
		{
			Key: "secondary_share", Title: "secondary share",
			Meaning: "Part of the fuel that the secondary injectors give. The fuel of both sets adds up to what is needed, " +
				"with no step where the second comes in.",
			Formula: "ṁs/(ṁp + ṁs) min(1, (D − start)/blend), D the duty the primary would need alone; at least the shortest pulse",
			Source:  practice, Range: "from the start duty on",
		},
		{
			Key: "staging", Title: "sets",
			Meaning: "Which injector sets work: primary alone, the secondary coming in (blending), or both with their full shares.",
			Formula: "by the duty that the primary would need alone, see secondary_share",
			Source:  "the trade's practice with two sets, no published source", Range: always,
		},
		{
			Key: "stoichiometric_air_fuel_ratio", Title: "AFR at lambda 1",
			Meaning: "Mass of dry air that burns a kilogram of the fuel completely.",
			Formula: "AFR = (C + H/4 − O/2)/0.209476 · 28.96512 g/mol/M",
			Source: "Heywood, Internal Combustion Engine Fundamentals (1988), section 3.4; atomic masses of IUPAC 2021, " +
				"dry air of the US Standard Atmosphere 1976",
			Range: "fuels of C, H, O and N",
		},
		{
			Key: "lower_heating_value_j_kg", Title: "lower heating value",
			Meaning: "Heat released by a kilogram of liquid fuel burned completely at 298.15 K, the water left as vapour.",
			Formula: "LHV = (nCO2 393510 + nH2O 241826 + hf)/M; blends by mass",
			Source:  "pure substances: heats of formation of NASA/TP-2002-211556; generic grades: common practice, no source; else as given",
			Range:   "liquids 10 MJ/kg to 50 MJ/kg, and about 13.1 MJ for each kilogram of oxygen (Huggett 1980)",
		},
		{
			Key: "mixture_energy_j_kg", Title: "heat per " + massUnit + " of air at lambda 1",
			Meaning: "Heat released per kilogram of dry air at stoichiometric mixture: what the engine's air is worth with this fuel.",
			Formula: "LHV/AFR", Source: ours, Range: "fuels of C, H, O and N",
		},
		{
			Key: "latent_heat_j_kg", Title: "latent heat",
			Meaning: "Heat taken up by a kilogram of fuel that evaporates at 298.15 K. It cools the charge.",
			Formula: "(hf gas − hf liquid)/M; blends by mass",
			Source:  "pure substances: heats of formation of NASA/TP-2002-211556; generic grades: common practice, no source; else as given",
			Range:   "298.15 K",
		},
		{
			Key: "fuel_density_kg_m3", Title: "density used", Also: []string{"density at the injector"},
			Meaning: "Density of the liquid at its temperature.",
			Formula: "ρ = ρ20 (1 − β (T − 293.15)); blends: volumes add",
			Source:  "pure substances: DIPPR equation 105, Perry's Chemical Engineers' Handbook, 8th ed., table 2-32; grades: common practice, no source",
			Range:   "253.15 K to 333.15 K",
		},
		{
			Key: "fuel_temperature_k", Title: "at",
			Meaning: "Temperature of the fuel at the injector.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "research_octane", Title: "RON",
			Meaning: "Research octane number.",
			Formula: "given; blends: among hydrocarbons by volume, alcohols against them by moles: Anderson et al., Energy & Fuels 24 (2010) 6576",
			Source:  "pure substances: handbook values, from memory; grades: their name", Range: "a measured number is better for a blend",
		},
		{
			Key: "motor_octane", Title: "MON",
			Meaning: "Motor octane number.",
			Formula: "given; blends: among hydrocarbons by volume, alcohols against them by moles: Anderson et al., Energy & Fuels 24 (2010) 6576",
			Source:  "pure substances: handbook values, from memory; grades: common practice, no source", Range: "a measured number is better for a blend",
		},
		{
			Key: "knock_octane", Title: "octane in the knock delay",
			Meaning: "Octane number that the knock model takes.",
			Formula: "RON, or as given: octane index OI = RON − K (RON − MON) with K = 0, as in cooled boosted engines",
			Source:  "Kalghatgi, SAE 2001-01-3584, from memory",
			Range:   "a hot charge needs a lower one, down to (RON + MON)/2; the delay was fitted to primary reference fuels, for which RON and MON are one",
		},
		{
			Key: "hydrogen_carbon_ratio", Title: "hydrogen to carbon",
			Meaning: "Hydrogen atoms per carbon atom.",
			Formula: "H/C; blends by moles", Source: ours, Range: "0.8 to 4",
		},
		{
			Key: "oxygen_carbon_ratio", Title: "oxygen to carbon",
			Meaning: "Oxygen atoms per carbon atom.",
			Formula: "O/C; blends by moles", Source: ours, Range: "0 to 1",
		},
		{
			Key: "set", Title: "set",
			Meaning: "Which injector set.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "per_cylinder", Title: "per cylinder",
			Meaning: "Injectors of the set that a cylinder has.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "rated_flow_m3_s", Title: "rated flow",
			Meaning: "Static flow of the test fluid through one injector.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "rated_difference_pa", Title: "rated pressure",
			Meaning: "Pressure over the injector at which its flow is rated.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "injector_flow_kg_s", Title: "flow here",
			Meaning: "Fuel that one injector passes wide open, at this rail pressure and with this fuel.",
			Formula: "ṁ = Q ρt √(Δp/Δpt) √(ρ/ρt)",
			Source:  "ISO 5167-1, incompressible, constant discharge coefficient", Range: "half to twice the rated pressure; common practice, no source",
		},
		{
			Key: "dead_time_s", Title: "dead time",
			Meaning: "Time by which the delivery falls short of the pulse at the supply voltage.",
			Formula: "the spec's table over voltage, monotone cubic", Source: given, Range: "within the table; held at its ends, with a note",
		},
		{
			Key: "shortest_pulse_s", Title: "shortest pulse",
			Meaning: "Shortest pulse that still meters in proportion, dead time included.",
			Formula: given, Source: given, Range: always,
		},
	}
}
