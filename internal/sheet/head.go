package sheet

import (
	"strings"

	"bellmouth/internal/formula"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// Head returns what the sheet is about: the engine, its file and the air. What differs between the trims is left to the
// commands that print it trim by trim.
func Head(s *spec.Spec, trims []*spec.Trim) table.Table {
	first := trims[0]
	sameAir, sameShape := true, true
	for _, t := range trims[1:] {
		sameAir = sameAir && SameAir(first, t)
		sameShape = sameShape && SameShape(first, t)
	}
	fields := []table.Field[*spec.Spec]{
		table.Words("name", "name", func(s *spec.Spec) string { return s.Name }),
		table.Words("about", "about", func(s *spec.Spec) string { return oneLine(s.About) }),
		table.Words("spec", "spec", func(s *spec.Spec) string { return s.Path }),
		table.Lists("trims", "trims", (*spec.Spec).Trims),
	}
	var notes []string
	if sameShape {
		c := first.Engine.Cylinder
		fields = append(fields,
			table.Counts("cylinders", "cylinders", func(*spec.Spec) int { return first.Engine.Cylinders }),
			table.Number("displacement_m3", "displacement", units.Volume, func(*spec.Spec) float64 {
				return c.Displacement() * float64(first.Engine.Cylinders)
			}).WithDigits(0),
			table.Number("compression_ratio", "compression ratio", units.Number, func(*spec.Spec) float64 { return c.CompressionRatio }).WithDigits(2),
		)
	} else {
		notes = append(notes, "The trims differ in the engine's geometry: see bellmouth geometry.")
	}
	if sameAir {
		a := first.Venue
		fields = append(fields,
			table.Number("pressure_pa", "venue pressure", units.Pressure, func(*spec.Spec) float64 { return a.Pressure }).WithDigits(3),
			table.Number("temperature_k", "venue temperature", units.Temperature, func(*spec.Spec) float64 { return a.Temperature }),
			table.Number("relative_humidity", "relative humidity", units.Fraction, func(*spec.Spec) float64 { return a.RelativeHumidity }).WithDigits(0),
			table.Number("density_kg_m3", "air density", units.Density, func(*spec.Spec) float64 { return a.Density() }),
		)
	} else {
		notes = append(notes, "The trims breathe different air: see bellmouth air.")
	}
	t := table.One("engine", s, fields...)
	t.Notes = notes
	return t
}

// oneLine takes the line breaks out of a spec's free text.
func oneLine(s string) string {
	if s = strings.Join(strings.Fields(s), " "); s == "" {
		return "nothing said"
	}
	return s
}

// Defaults returns what the trims leave to defaults, each with the trims it is taken in; ok is false when they leave nothing.
func Defaults(trims []*spec.Trim) (t table.Table, ok bool) {
	type taken struct {
		spec.Default
		trims []string
	}
	var all []taken
	index := map[spec.Default]int{}
	for _, trim := range trims {
		for _, d := range trim.Defaults {
			i, seen := index[d]
			if !seen {
				i = len(all)
				index[d] = i
				all = append(all, taken{Default: d})
			}
			all[i].trims = append(all[i].trims, trim.Name)
		}
	}
	if len(all) == 0 {
		return table.Table{}, false
	}
	t = table.Of("defaults", all,
		table.Words("path", "value of", func(d taken) string { return d.Path }),
		table.Words("taken", "taken", func(d taken) string { return d.Value }),
		table.Words("reason", "because", func(d taken) string { return d.Reason }),
		table.Lists("in_trims", "trims", func(d taken) []string { return d.trims }),
	)
	t.Notes = []string{"What the spec does not give, and what was taken instead."}
	return t, true
}

// Trims returns what the trims are made of.
func Trims(trims []*spec.Trim) table.Table {
	return table.Of("trims", trims,
		table.Words("trim_name", "trim", func(t *spec.Trim) string { return t.Name }),
		table.Lists("parts", "parts", func(t *spec.Trim) []string {
			var parts []string
			for _, p := range []struct {
				name string
				has  bool
			}{
				{"valves", t.Engine.Valves != nil}, {"fuel", t.Fuel != nil}, {"restrictor", t.Intake.Restrictor != nil},
				{"compressor", t.Compressor != nil}, {"turbine", t.Turbine != nil}, {"wastegate", t.Wastegate != nil},
				{"cooler", t.Cooler != nil}, {"injection", t.Injection != nil}, {"boost target", !t.Boost.Target.IsZero()},
			} {
				if p.has {
					parts = append(parts, p.name)
				}
			}
			return parts
		}),
		table.Number("limiter_rpm", "limiter", units.Speed, func(t *spec.Trim) float64 { return t.Engine.Limiter }),
		table.Counts("defaults", "defaults", func(t *spec.Trim) int { return len(t.Defaults) }),
	)
}

// headEntries explain the columns above.
func headEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "name", Title: "name",
			Meaning: "What the spec calls the engine.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "about", Title: "about",
			Meaning: "What the spec says of itself.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "spec", Title: "spec",
			Meaning: "The spec file, as named on the command line.",
			Formula: "the command line", Source: "the command line", Range: always,
		},
		{
			Key: "trims", Title: "trims",
			Meaning: "The trims that the spec has.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "cylinders", Title: "cylinders",
			Meaning: "Number of cylinders.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "defaults", Title: "defaults",
			Meaning: "Number of values that the trim leaves to defaults.",
			Formula: "count", Source: ours, Range: always,
		},
		{
			Key: "path", Title: "value of",
			Meaning: "Path in the spec of a value that it does not give.",
			Formula: seeRow, Source: ours, Range: always,
		},
		{
			Key: "taken", Title: "taken",
			Meaning: "What was taken in its place.",
			Formula: seeRow, Source: "see the row's reason", Range: always,
		},
		{
			Key: "reason", Title: "because",
			Meaning: "Why that was taken, with its source.",
			Formula: seeRow, Source: seeRow, Range: always,
		},
		{
			Key: "in_trims", Title: "trims",
			Meaning: "The trims that take the default.",
			Formula: seeRow, Source: ours, Range: always,
		},
		{
			Key: "trim_name", Title: "trim",
			Meaning: "Name of the trim.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "parts", Title: "parts",
			Meaning: "The parts that the trim has.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "limiter_rpm", Title: "limiter",
			Meaning: "Highest engine speed.",
			Formula: given, Source: given, Range: always,
		},
	}
}
