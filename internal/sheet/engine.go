package sheet

import (
	"fmt"

	"bellmouth/internal/check"
	"bellmouth/internal/friction"
	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/remark"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// Geometry returns what follows from the engine's dimensions. name is the trim's, or empty when all trims share it.
func Geometry(trim *spec.Trim, name string) table.Table {
	e := &trim.Engine
	c := e.Cylinder
	fields := []table.Field[*spec.Engine]{
		table.Number("displacement_m3", "displacement", units.Volume, func(e *spec.Engine) float64 { return c.Displacement() * float64(e.Cylinders) }),
		table.Number("cylinder_displacement_m3", "  of one cylinder", units.Volume, func(*spec.Engine) float64 { return c.Displacement() }),
		table.Number("clearance_volume_m3", "clearance volume of one cylinder", units.Volume, func(*spec.Engine) float64 { return c.ClearanceVolume() }).WithDigits(2),
		table.Number("compression_ratio", "compression ratio", units.Number, func(*spec.Engine) float64 { return c.CompressionRatio }).WithDigits(2),
	}
	v := e.Valves
	if v != nil {
		fields = append(fields, table.Number("effective_compression_ratio", "  from inlet valve closing", units.Number, func(*spec.Engine) float64 {
			return c.EffectiveCompressionRatio(v.InletClosingAngle())
		}).WithDigits(2))
	}
	if e.Chamber != nil {
		fields = append(fields, table.Number("head_volume_m3", "chamber in the head", units.Volume, func(e *spec.Engine) float64 { return e.Chamber.Head }).WithDigits(2))
	}
	fields = append(fields,
		table.Number("rod_stroke_ratio", "rod over stroke", units.Number, func(*spec.Engine) float64 { return c.RodRatio() }).WithDigits(3),
		table.Number("max_rod_angle_deg", "greatest rod angle", units.Angle, func(*spec.Engine) float64 { return c.MaxRodAngle() }),
	)
	if v != nil {
		fields = append(fields,
			table.Number("inlet_curtain_area_m2", "inlet curtain area of one cylinder", units.Area, func(*spec.Engine) float64 { return v.InletCurtainArea() }),
			table.Number("exhaust_curtain_area_m2", "exhaust curtain area of one cylinder", units.Area, func(*spec.Engine) float64 { return v.ExhaustCurtainArea() }),
		)
	}
	t := table.One("geometry", e, fields...)
	t.Trim = name
	return t
}

// PistonMotion returns piston speeds and accelerations over engine speed, and how fast the air passes the inlet valves.
func PistonMotion(trim *spec.Trim, speeds []float64, name string) table.Table {
	c, v := trim.Engine.Cylinder, trim.Engine.Valves
	limit := trim.Limits.MeanPistonSpeed
	fields := []table.Field[float64]{
		table.Number("rpm", "speed", units.Speed, func(n float64) float64 { return n }),
		table.Cells("mean_piston_speed_m_s", "mean piston speed", units.Velocity, func(n float64) table.Cell {
			mean := c.MeanPistonSpeed(n)
			return table.Num(mean).Toned(failedIf(limit > 0 && check.Passes(mean, limit)))
		}),
		table.Number("max_piston_speed_m_s", "greatest piston speed", units.Velocity, c.MaxPistonSpeed),
		table.Number("max_piston_acceleration_m_s2", "greatest acceleration", units.Acceleration, c.MaxPistonAcceleration).WithDigits(0),
	}
	var notes []string
	if v != nil {
		sound := trim.Venue.SpeedOfSound()
		fields = append(fields, table.Cells("inlet_mach_index", "inlet Mach index", units.Number, func(n float64) table.Cell {
			z, err := v.InletMachIndex(c, n, sound)
			if err != nil {
				return table.Missing(err.Error())
			}
			return table.Num(z)
		}).WithDigits(2))
		text := "Inlet Mach index after Taylor, at the venue's speed of sound; filling falls quickly above about 0.6."
		if ci, given := v.MeanInletFlowCoefficient(); !given {
			text += fmt.Sprintf(" Mean flow coefficient %.2f from lift and diameter.", ci)
		}
		notes = append(notes, text)
	}
	t := table.Of("piston motion", speeds, fields...)
	t.Trim, t.Notes = name, notes
	return t
}

// Friction returns what the parts of the engine take in friction over engine speed, and whether the trim's model tells them
// apart. The manifold is at the ambient's pressure.
func Friction(trim *spec.Trim, speeds []float64, name string) (table.Table, bool) {
	rows, apart := run.FrictionOver(trim, speeds)
	if !apart {
		return table.Table{}, false
	}
	part := func(key, title string, get func(f run.Friction) float64) table.Field[run.Friction] {
		return table.Number(key, title, units.PressureDifference, get)
	}
	t := table.Of("friction", rows,
		table.Cells("rpm", "speed", units.Speed, func(f run.Friction) table.Cell {
			c := table.Num(f.Speed)
			if texts := f.Notes.Texts(); len(texts) > 0 {
				return c.Noted(remark.Line(texts))
			}
			return c
		}),
		part("crank_fmep_pa", "crank", func(f run.Friction) float64 { return f.Crank }),
		part("piston_fmep_pa", "pistons and rings", func(f run.Friction) float64 { return f.Piston }),
		part("gas_load_fmep_pa", "gas load", func(f run.Friction) float64 { return f.GasLoad }),
		part("valve_train_fmep_pa", "valve train", func(f run.Friction) float64 { return f.ValveTrain }),
		part("auxiliaries_fmep_pa", "auxiliaries", func(f run.Friction) float64 { return f.Auxiliaries }),
		part("fmep_pa", "FMEP", func(f run.Friction) float64 { return f.Sum() }),
	)
	t.Trim = name
	t.Notes = append(t.Notes, "Mean effective pressures with the venue's pressure in the manifold. Under boost the gas load, friction of the rings that gas pressure "+
		"adds, grows with manifold over ambient pressure. Pumping is not part of it.")
	return t, true
}

// engineShape is what the tables of geometry depend on.
type engineShape struct {
	cylinder  geometry.Cylinder
	cylinders int
	chamber   geometry.Chamber
	valves    geometry.Valves
	limiter   float64
	limit     float64
	sound     float64
	friction  friction.Components
	factor    float64
}

func shapeOf(t *spec.Trim) engineShape {
	s := engineShape{cylinder: t.Engine.Cylinder, cylinders: t.Engine.Cylinders, limiter: t.Engine.Limiter, limit: t.Limits.MeanPistonSpeed}
	if t.Engine.Chamber != nil {
		s.chamber = *t.Engine.Chamber
	}
	if t.Engine.Valves != nil {
		s.valves, s.sound = *t.Engine.Valves, t.Venue.SpeedOfSound()
	}
	if c := t.Engine.Friction.Components; c != nil {
		s.friction, s.factor = *c, t.Engine.Friction.Factor
	}
	return s
}

// SameShape reports whether the trims have the same geometry.
func SameShape(a, b *spec.Trim) bool { return shapeOf(a) == shapeOf(b) }

// Air returns the properties of the venue's air. name is the trim's, or empty when all trims share it.
func Air(trim *spec.Trim, name string) table.Table {
	a := trim.Venue
	correction := func(key, title string, get func() (gas.Correction, error)) table.Field[gas.Air] {
		return table.Cells(key, title, units.Number, func(gas.Air) table.Cell {
			c, err := get()
			if err != nil {
				return table.Missing(err.Error())
			}
			return table.Num(c.Factor).Noted(c.Note)
		}).WithDigits(4)
	}
	altitude, err := a.DensityAltitude()
	t := table.One("air", a,
		table.Number("pressure_pa", "pressure", units.Pressure, func(a gas.Air) float64 { return a.Pressure }).WithDigits(4),
		table.Number("temperature_k", "temperature", units.Temperature, func(a gas.Air) float64 { return a.Temperature }).WithDigits(1),
		table.Number("relative_humidity", "relative humidity", units.Fraction, func(a gas.Air) float64 { return a.RelativeHumidity }).WithDigits(0),
		table.Number("density_kg_m3", "density", units.Density, gas.Air.Density).WithDigits(4),
		table.Cells("density_altitude_m", "density altitude", units.Length, func(gas.Air) table.Cell {
			if err != nil {
				return table.Missing(err.Error())
			}
			return table.Num(altitude)
		}).InDetail(),
		table.Number("vapour_pressure_pa", "vapour pressure", units.Pressure, gas.Air.VapourPressure).WithDigits(4),
		table.Number("water_mole_fraction", "water vapour, by volume", units.Fraction, gas.Air.WaterMoleFraction).WithDigits(2),
		table.Number("oxygen_mole_fraction", "oxygen, by volume", units.Fraction, gas.Air.OxygenMoleFraction).WithDigits(2),
		table.Number("dry_air_fraction", "dry air, by mass", units.Fraction, gas.Air.DryAirFraction).WithDigits(2),
		table.Number("speed_of_sound_m_s", "speed of sound", units.Velocity, gas.Air.SpeedOfSound),
		correction("correction_sae_j1349", "power correction, SAE J1349", a.CorrectionSAEJ1349),
		correction("correction_iso_1585", "power correction, ISO 1585", a.CorrectionISO1585),
		correction("correction_din_70020", "power correction, DIN 70020", a.CorrectionDIN70020),
		correction("correction_sae_j607", "power correction, SAE J607", a.CorrectionSAEJ607),
	)
	t.Trim = name
	if err == nil {
		const foot = 0.3048
		t.Notes = append(t.Notes, fmt.Sprintf("Density altitude: %.0f m (%.0f ft).", altitude, altitude/foot))
	}
	t.Notes = append(t.Notes, a.Notes()...)
	t.Notes = append(t.Notes, "A correction multiplies power measured in this air to state it for the standard's. They are made for engines that breathe the barometer: "+
		"where boost is held to an absolute pressure they flatter.")
	return t
}

// SameAir reports whether the trims breathe the same air.
func SameAir(a, b *spec.Trim) bool { return a.Venue == b.Venue }
