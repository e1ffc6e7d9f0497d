package sheet

import (
	"fmt"
	"reflect"
	"slices"

	"bellmouth/internal/check"
	"bellmouth/internal/formula"
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
		table.Number("clearance_volume_m3", "clearance volume of one cylinder", units.Volume,
			func(*spec.Engine) float64 { return c.ClearanceVolume() }).WithDigits(2),
		table.Number("compression_ratio", "compression ratio", units.Number, func(*spec.Engine) float64 { return c.CompressionRatio }).WithDigits(2),
	}
	v := e.Valves
	if v != nil {
		fields = append(fields, table.Number("effective_compression_ratio", "  from inlet valve closing", units.Number, func(*spec.Engine) float64 {
			return c.EffectiveCompressionRatio(v.InletClosingAngle())
		}).WithDigits(2))
	}
	if e.Chamber != nil {
		fields = append(fields, table.Number("head_volume_m3", "chamber in the head", units.Volume,
			func(e *spec.Engine) float64 { return e.Chamber.Head }).WithDigits(2),
			table.Number("dish_volume_m3", "dish in the piston", units.Volume, func(e *spec.Engine) float64 { return e.Chamber.PistonDish }).WithDigits(2),
			table.Number("gasket_volume_m3", "gasket", units.Volume, func(e *spec.Engine) float64 { return e.Chamber.GasketVolume() }).WithDigits(2),
			table.Number("deck_volume_m3", "deck", units.Volume, func(e *spec.Engine) float64 { return c.BoreArea() * e.Chamber.DeckClearance }).WithDigits(2),
			table.Number("squish_m", "squish, cold and at rest", units.Length, func(e *spec.Engine) float64 { return e.Chamber.Squish() }).WithDigits(2))
	}
	fields = append(fields,
		table.Number("rod_stroke_ratio", "rod over stroke", units.Number, func(*spec.Engine) float64 { return c.RodRatio() }).WithDigits(3),
		table.Number("max_rod_angle_deg", "greatest rod angle", units.Angle, func(*spec.Engine) float64 { return c.MaxRodAngle() }),
	)
	if v != nil {
		fields = append(fields,
			table.Number("inlet_curtain_area_m2", "inlet curtain area of one cylinder", units.Area, func(*spec.Engine) float64 { return v.InletCurtainArea() }),
			table.Number("exhaust_curtain_area_m2", "exhaust curtain area of one cylinder", units.Area,
				func(*spec.Engine) float64 { return v.ExhaustCurtainArea() }),
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
		text := "Above an inlet Mach index of about 0.6 the cylinder fills badly."
		if ci, given := v.MeanInletFlowCoefficient(); !given {
			text += fmt.Sprintf(" Its mean flow coefficient, %.2f, is estimated from lift and diameter.", ci)
		}
		notes = append(notes, text)
	}
	t := table.Of("piston motion", speeds, fields...)
	t.Trim, t.Notes = name, notes
	return t
}

// Friction returns what the parts of the engine take in friction over engine speed, and whether the trim's model tells them
// apart. MAP is the ambient's pressure.
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
	t.Notes = []string{"With the venue's pressure as MAP. Under boost the gas load grows with MAP."}
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
	pressure  float64 // of the venue, which friction is told at
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
		s.friction, s.factor, s.pressure = *c, t.Engine.Friction.Factor, t.Venue.Pressure
	}
	return s
}

// SameShape reports whether the trims have the same geometry.
func SameShape(a, b *spec.Trim) bool {
	return shapeOf(a) == shapeOf(b) && slices.Equal(a.Engine.Clearances, b.Engine.Clearances) && reflect.DeepEqual(a.Engine.PistonToValve, b.Engine.PistonToValve)
}

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
	if trim.Compressor != nil {
		t.Notes = append(t.Notes, "The power corrections are made for engines that breathe the barometer. Where boost is controlled to an absolute "+
			"pressure they flatter.")
	}
	return t
}

// SameAir reports whether the trims breathe the same air.
func SameAir(a, b *spec.Trim) bool { return a.Venue == b.Venue }

// barometric is what every power correction is to be taken with.
const barometric = " It is meant for engines that breathe the barometer. One whose boost is controlled to an absolute pressure gains less, " +
	"and the factor then flatters it."

// engineEntries explain the columns above.
func engineEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "displacement_m3", Title: "displacement",
			Meaning: "Volume that all pistons sweep in one stroke each.",
			Formula: "n π B²/4 S, S = √((l+a)² − e²) − √((l−a)² − e²), a half the crank's stroke",
			Source:  "Heywood, Internal Combustion Engine Fundamentals (1988), §2.2", Range: "rod longer than half the stroke and the pin offset together",
		},
		{
			Key: "cylinder_displacement_m3", Title: "of one cylinder",
			Meaning: "Swept volume of one cylinder.",
			Formula: "π B² S/4", Source: "Heywood, Internal Combustion Engine Fundamentals (1988), §2.2", Range: always,
		},
		{
			Key: "clearance_volume_m3", Title: "clearance volume of one cylinder",
			Meaning: "Volume above one piston at top dead centre.",
			Formula: "Vc = Vd/(rc − 1); from the parts: head + gasket + dish + deck",
			Source:  "Heywood, Internal Combustion Engine Fundamentals (1988), eq. 2.1", Range: "compression ratio above 1",
		},
		{
			Key: "compression_ratio", Title: "compression ratio",
			Meaning: "Greatest over least volume of a cylinder.",
			Formula: "rc = (Vd + Vc)/Vc",
			Source:  "Heywood, Internal Combustion Engine Fundamentals (1988), eq. 2.1",
			Range:   "the crevice round the top land is left out unless measured into the dish",
		},
		{
			Key: "effective_compression_ratio", Title: "from inlet valve closing",
			Meaning: "Volume trapped when the inlet closes over the clearance volume.",
			Formula: "V(θ inlet closing)/Vc",
			Source:  "Heywood, Internal Combustion Engine Fundamentals (1988), eqs. 2.4 to 2.6",
			Range:   "rod longer than half the stroke and the pin offset together",
		},
		{
			Key: "head_volume_m3", Title: "chamber in the head",
			Meaning: "Volume of the chamber in the head that gives the compression ratio with gasket, piston and deck as they are.",
			Formula: "Vd/(rc − 1) − gasket − dish − deck",
			Source:  "Heywood, Internal Combustion Engine Fundamentals (1988), eq. 2.1, solved for a part of Vc", Range: "a positive volume is left",
		},
		{
			Key: "rod_stroke_ratio", Title: "rod over stroke",
			Meaning: "Length of the rod over the crank's stroke.",
			Formula: "l/(2a)", Source: ours, Range: "rod longer than half the stroke and the pin offset together",
		},
		{
			Key: "max_rod_angle_deg", Title: "greatest rod angle",
			Meaning: "Greatest angle between rod and cylinder axis, which presses the piston on the wall.",
			Formula: "asin((a + |e|)/l)",
			Source:  "slider-crank geometry, closed form", Range: "rod longer than half the stroke and the pin offset together",
		},
		{
			Key: "inlet_curtain_area_m2", Title: "inlet curtain area of one cylinder",
			Meaning: "Area of the cylinders round one cylinder's inlet valves between seat and head at full lift.",
			Formula: "n π D L",
			Source:  "Heywood, Internal Combustion Engine Fundamentals (1988), §6.3.2",
			Range:   "geometric; the flow area is smaller by the discharge coefficient",
		},
		{
			Key: "exhaust_curtain_area_m2", Title: "exhaust curtain area of one cylinder",
			Meaning: "As the inlet curtain area, of one cylinder's exhaust valves.",
			Formula: "n π D L",
			Source:  "Heywood, Internal Combustion Engine Fundamentals (1988), §6.3.2",
			Range:   "geometric; the flow area is smaller by the discharge coefficient",
		},
		{
			Key: "mean_piston_speed_m_s", Title: "mean piston speed",
			Meaning: "Way of the piston in a turn over the turn's time.",
			Formula: "Sp = S N/π", Source: "Heywood, Internal Combustion Engine Fundamentals (1988), eq. 2.9", Range: "any speed",
		},
		{
			Key: "max_piston_speed_m_s", Title: "greatest piston speed",
			Meaning: "Greatest speed of the piston within a turn.",
			Formula: "greatest of |dx/dθ| N over both strokes; dx/dθ = a sin φ + w w'/√(l² − w²), w = a sin φ − e",
			Source:  "Heywood, Internal Combustion Engine Fundamentals (1988), eq. 2.11, with the pin's offset put in",
			Range:   "rod longer than half the stroke and the pin offset together",
		},
		{
			Key: "max_piston_acceleration_m_s2", Title: "greatest acceleration",
			Meaning: "Greatest acceleration of the piston within a turn, near top dead centre, at steady engine speed.",
			Formula: "greatest of d²x/dθ² N²; without offset a N² (1 + a/l)",
			Source:  "slider-crank geometry, closed form", Range: "rod longer than half the stroke and the pin offset together",
		},
		{
			Key: "inlet_mach_index", Title: "inlet Mach index",
			Meaning: "Mean Mach number of the flow past the inlet valves, at the venue's speed of sound. " +
				"Volumetric efficiency falls quickly above about 0.6.",
			Formula: "Z = B²/(n D²) Sp/(Ci a); Ci = 1.45 L/D, L/D at most 0.25, where no mean flow coefficient is given",
			Source:  "Taylor, The Internal-Combustion Engine in Theory and Practice, vol. 1, ch. 6; the estimate of Ci from memory",
			Range:   "speed 0 or more; the limit of 0.6 is for usual valve timing",
		},
		{
			Key: "crank_fmep_pa", Title: "crank",
			Meaning: "Share of the friction in main bearings, crank pins and crank seals, and in the oil that is thrown about.",
			Formula: "1.22e5 Dm/(B² S nc) + 3.03e-4 √(ν/ν0) N (Dm³ Lm nm + Dp³ Lp np)/(B² S nc) + 1.35e-10 Dm² N² nm/nc; kPa, mm, rev/min, whole engine",
			Source:  "Patton, Nitschke and Heywood, SAE 890836 (1989), revised by Sandoval and Heywood, SAE 2003-01-0725; constants from memory",
			Range:   "fitted at 600 to 6000 rpm to engines of the 1980s; extrapolated beyond, with a note",
		},
		{
			Key: "piston_fmep_pa", Title: "pistons and rings",
			Meaning: "Share of the friction of piston skirts and rings, without what gas pressure adds.",
			Formula: "294 √(ν/ν0) Sp/B + 4.06e4 (1 + 500/N)/B²; Sp in m/s; kPa, mm, rev/min, whole engine",
			Source:  "Patton, Nitschke and Heywood, SAE 890836 (1989), revised by Sandoval and Heywood, SAE 2003-01-0725; constants from memory",
			Range:   "fitted at 600 to 6000 rpm to engines of the 1980s; extrapolated beyond, with a note",
		},
		{
			Key: "gas_load_fmep_pa", Title: "gas load",
			Meaning: "Share of the friction that gas pressure behind the rings adds. It grows with MAP over ambient pressure.",
			Formula: "6.89 pm/pa (0.088 √(ν/ν0) rc + 0.182 rc^(1.33 − 0.0238 Sp)), kPa",
			Source:  "Patton, Nitschke and Heywood, SAE 890836 (1989), revised by Sandoval and Heywood, SAE 2003-01-0725; constants from memory",
			Range:   "fitted without boost, where pm/pa is 1 or less; exponent held above a mean piston speed of 30 m/s, with a note",
		},
		{
			Key: "valve_train_fmep_pa", Title: "valve train",
			Meaning: "Share of the friction of camshafts, followers and what lies between them and the valves.",
			Formula: "4.12 + 244 √(ν/ν0) N ncb/(B² S nc) + (Cff (1 + 500/N) or Crf N) nv/(S nc) + Coh √(ν/ν0) Lv^1.5 √N nv/(B S nc) + Com (1 + 500/N) " +
				"Lv nv/(S nc); kPa, mm, rev/min, whole engine",
			Source: "Patton, Nitschke and Heywood, SAE 890836 (1989), revised by Sandoval and Heywood, SAE 2003-01-0725; constants from memory",
			Range:  "fitted at 600 to 6000 rpm to engines of the 1980s; extrapolated beyond, with a note; ordinary valve springs",
		},
		{
			Key: "auxiliaries_fmep_pa", Title: "auxiliaries",
			Meaning: "Share of the friction that drives oil pump, water pump and alternator, times the factor of the spec.",
			Formula: "fa (8.32 + 1.86e-3 N + 7.45e-7 N²), kPa, N in rev/min",
			Source:  "Patton, Nitschke and Heywood, SAE 890836 (1989), revised by Sandoval and Heywood, SAE 2003-01-0725; constants from memory",
			Range:   "fitted at 600 to 6000 rpm to engines of the 1980s; extrapolated beyond, with a note",
		},
		{
			Key: "pressure_pa", Title: "pressure", Also: []string{"venue pressure"},
			Meaning: "Absolute pressure of the venue's air: the barometer as read, not reduced to sea level, " +
				"or that of the standard atmosphere at the altitude.",
			Formula: "p = 101325 (T/288.15)^(g/(0.0065 R)), T = 288.15 − 0.0065 H, H = r z/(r + z), R = 287.0531 J/(kg K), r = 6356766 m",
			Source:  "US Standard Atmosphere 1976, the same as ISO 2533:1975", Range: "-2000 m to 11 000 m",
		},
		{
			Key: "temperature_k", Title: "temperature", Also: []string{"venue temperature"},
			Meaning: "Temperature of the venue's air, given or that of the standard atmosphere at the altitude.",
			Formula: "T = 288.15 − 0.0065 H, H = r z/(r + z)",
			Source:  "US Standard Atmosphere 1976, the same as ISO 2533:1975", Range: "-2000 m to 11 000 m",
		},
		{
			Key: "relative_humidity", Title: "relative humidity", Also: []string{"humidity"},
			Meaning: "Vapour pressure as a fraction of that of air saturated over liquid water.",
			Formula: "given", Source: ours, Range: "0 to 1",
		},
		{
			Key: "density_kg_m3", Title: "density", Also: []string{"air density"},
			Meaning: "Mass of a cubic metre of the moist air.",
			Formula: "ρ = p Ma/(Z R T) (1 − xv (1 − Mv/Ma)), Z = 1 − p/T (a0 + a1 t + a2 t² + (b0 + b1 t) xv + (c0 + c1 t) xv²) + p²/T² (d + e xv²)",
			Source:  "CIPM-2007: Picard, Davis, Gläser and Fujii, Metrologia 45 (2008) 149, equations 1 and A1.4",
			Range:   "stated for 600 hPa to 1100 hPa and 15 °C to 27 °C; continued with a note to 50 kPa to 120 kPa and -30 °C to 60 °C",
		},
		{
			Key: "density_altitude_m", Title: "density altitude",
			Meaning: "Geometric altitude at which the standard atmosphere is as dense as this air.",
			Formula: "T = 288.15 (ρ/ρ0)^(1/(g/(0.0065 R) − 1)), H = (288.15 − T)/0.0065, z = r H/(r − H), ρ0 = 1.2250 kg/m³",
			Source:  "US Standard Atmosphere 1976, the same as ISO 2533:1975, inverted",
			Range:   "-5000 m to 11 000 m; below -2000 m the law of the troposphere is continued",
		},
		{
			Key: "vapour_pressure_pa", Title: "vapour pressure",
			Meaning: "Partial pressure of the water vapour.",
			Formula: "pv = xv p",
			Source:  "CIPM-2007: Picard, Davis, Gläser and Fujii, Metrologia 45 (2008) 149, equations A1.1 and A1.2",
			Range:   "stated for 600 hPa to 1100 hPa and 15 °C to 27 °C; continued with a note to 50 kPa to 120 kPa and -30 °C to 60 °C",
		},
		{
			Key: "water_mole_fraction", Title: "water vapour, by volume",
			Meaning: "Share of the molecules that are water.",
			Formula: "xv = φ f psv/p, f = 1.00062 + 3.14e-8 p + 5.6e-7 t², psv = exp(1.2378847e-5 T² − 1.9121316e-2 T + 33.93711047 − 6343.1645/T)",
			Source:  "CIPM-2007: Picard, Davis, Gläser and Fujii, Metrologia 45 (2008) 149, equations A1.1 and A1.2",
			Range:   "stated for 600 hPa to 1100 hPa and 15 °C to 27 °C; continued with a note to 50 kPa to 120 kPa and -30 °C to 60 °C",
		},
		{
			Key: "oxygen_mole_fraction", Title: "oxygen, by volume",
			Meaning: "Share of the molecules that are oxygen. Humidity displaces it.",
			Formula: "xO2 = 0.209476 (1 − xv)",
			Source:  "dry air of the US Standard Atmosphere 1976",
			Range:   "stated for 600 hPa to 1100 hPa and 15 °C to 27 °C; continued with a note to 50 kPa to 120 kPa and -30 °C to 60 °C",
		},
		{
			Key: "dry_air_fraction", Title: "dry air, by mass",
			Meaning: "Mass of dry air in a kilogram of the moist air. Fuel is metered to it.",
			Formula: "(1 − xv) Ma/((1 − xv) Ma + xv Mv), Ma = 28.96512 g/mol, Mv = 18.01528 g/mol",
			Source:  "definition; molar masses of NASA/TP-2002-211556",
			Range:   "stated for 600 hPa to 1100 hPa and 15 °C to 27 °C; continued with a note to 50 kPa to 120 kPa and -30 °C to 60 °C",
		},
		{
			Key: "speed_of_sound_m_s", Title: "speed of sound",
			Meaning: "Speed of small pressure waves in the moist air.",
			Formula: "a = √(γ R T), γ = cp/(cp − R)", Source: "cp from the fits of NASA/TP-2002-211556", Range: "ideal gas; 200 K to 6000 K",
		},
		{
			Key: "correction_sae_j1349", Title: "power correction, SAE J1349",
			Meaning: "Factor that states a power measured in this air for 99 kPa dry and 25 °C, at 85 % mechanical efficiency." + barometric,
			Formula: "1.180 (990/pd) √((t + 273)/298) − 0.18, pd = p − φ psv in mbar, t in °C",
			Source:  "SAE J1349, June 1990", Range: "90 kPa to 105 kPa dry, 15 °C to 35 °C (from memory); a note outside",
		},
		{
			Key: "correction_iso_1585", Title: "power correction, ISO 1585",
			Meaning: "Factor that states the power of a spark-ignition engine measured in this air for 99 kPa dry and 25 °C." + barometric,
			Formula: "(99/pd)^1.2 (T/298)^0.6, pd = p − φ psv in kPa, T = t + 273",
			Source:  "ISO 1585, also UN ECE R85", Range: "a factor of 0.93 to 1.07 (from memory); a note outside",
		},
		{
			Key: "correction_din_70020", Title: "power correction, DIN 70020",
			Meaning: "Factor that states a power measured in this air for 1013 mbar and 20 °C; withdrawn, and blind to humidity." + barometric,
			Formula: "(1013/p) √((t + 273)/293), p the barometer in mbar, t in °C",
			Source:  "DIN 70020", Range: "no published range to hand; a note outside a factor of 0.93 to 1.07",
		},
		{
			Key: "correction_sae_j607", Title: "power correction, SAE J607",
			Meaning: "Factor that states a power measured in this air for 29.92 inHg dry and 60 °F; withdrawn, and about 4 % above SAE J1349." + barometric,
			Formula: "(29.92/pd) √((F + 460)/520), pd = p − φ psv in inHg at 0 °C, F in °F",
			Source:  "SAE J607", Range: "no published range to hand; a note outside a factor of 0.93 to 1.07",
		},
	}
}
