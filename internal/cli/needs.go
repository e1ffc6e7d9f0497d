package cli

import (
	"slices"
	"strings"

	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

// An ask is a command, or a flag of one, with what it needs of a trim and what it prints of one that is solved.
type ask struct {
	command string
	solves  bool     // operating points, which need what run.Needs says
	paths   []string // besides
	part    func(o *options, r *sheet.Run) (trimPart, error)
}

// asks returns what can be asked of a spec, in the order in which an engine is looked over.
func asks() []ask {
	plain := func(build func(r *sheet.Run) (trimPart, error)) func(o *options, r *sheet.Run) (trimPart, error) {
		return func(_ *options, r *sheet.Run) (trimPart, error) { return build(r) }
	}
	return []ask{
		{"air", false, nil, nil},
		{"geometry", false, nil, nil},
		{"geometry --loads", true, []string{"engine.bottom_end"}, plain(loadsPart)},
		{"restrictor", true, []string{"intake.restrictor"}, plain(restrictorPart)},
		{"compressor", true, []string{"compressor"}, plain(compressorPart)},
		{"turbine", true, []string{"turbine"}, plain(turbinePart)},
		{"boost", true, nil, plain(boostPart)},
		{"boost --allowed", true, []string{"compressor"}, plain(allowedPart)},
		{"boost --by-gear", true, []string{"compressor", "car", "driveline.gears"}, plain(byGearPart)},
		{"boost --by-pedal", true, []string{"compressor"}, plain(byPedalPart)},
		{"wastegate", true, []string{"compressor", "wastegate"}, plain(wastegatePart)},
		{"wastegate --plane", true, []string{"compressor", "wastegate", "wastegate.actuator"}, (*options).dutyPlanePart},
		{"manifold", true, []string{"manifold"}, plain(manifoldPart)},
		{"fuel", true, []string{"fuel"}, plain(fuelPart)},
		{"fuel --plane", true, []string{"fuel", "injection"}, (*options).fuelPlanePart},
		{"oil", true, []string{"sump"}, plain(oilPart)},
		{"cooling", true, []string{"cooling"}, plain(coolingPart)},
		{"spark", true, nil, (*options).sparkPart},
		{"gearing", true, []string{"car", "driveline.gears"}, (*options).gearingPart},
		{"wiring", true, []string{"wiring"}, plain(wiringPart)},
		{"course", true, []string{"course", "car", "driveline.gears"}, plain(stagePart)},
		{"check", true, nil, nil},
		{"sheet", true, nil, nil},
		{"sheet --full", true, nil, nil},
		{"compare", true, nil, nil},
		{"compare --lines", true, nil, nil},
	}
}

// needs returns what a command needs besides an operating point.
func needs(command string) []string {
	all := asks()
	i := slices.IndexFunc(all, func(a ask) bool { return a.command == command })
	return all[i].paths
}

// An answer is what a command finds in the trims of a spec.
type answer struct {
	ask
	trims []string // for which it is enough
	lacks []string // of the others: what is missing, by trim where they differ
}

// enoughFor returns which commands the trims are enough for, and what the others lack.
func enoughFor(trims []*spec.Trim) table.Table {
	var answers []answer
	for _, a := range asks() {
		is := answer{ask: a}
		var lacking []string
		for _, t := range trims {
			var paths []string
			if a.solves {
				paths = run.Needs(t, t.Compressor != nil || slices.Contains(a.paths, "compressor"))
			}
			lacks := t.Lacks(append(paths, a.paths...)...)
			if len(lacks) == 0 {
				is.trims = append(is.trims, t.Name)
				continue
			}
			lacking = append(lacking, t.Name)
			for _, path := range lacks {
				if !slices.Contains(is.lacks, path) {
					is.lacks = append(is.lacks, path)
				}
			}
		}
		if len(lacking) > 0 && len(is.trims) > 0 {
			is.lacks = append(is.lacks, "in trim "+strings.Join(lacking, ", "))
		}
		answers = append(answers, is)
	}
	t := table.Of("enough for", answers,
		table.Words("command", "command", func(a answer) string { return a.command }),
		table.Truths("enough", "enough", func(a answer) bool { return len(a.trims) > 0 }),
		table.Lists("enough_trims", "in trims", func(a answer) []string { return a.trims }),
		table.Lists("lacks", "lacks", func(a answer) []string { return a.lacks }),
	)
	t.Notes = []string{"Further parts add tables to these."}
	return t
}

// needsEntries explain the columns above.
func needsEntries() []formula.Entry {
	const given, always = "given in the spec", "everywhere"
	return []formula.Entry{
		{Key: "command", Title: "command", Meaning: "What can be asked of the spec.", Formula: given, Source: given, Range: always},
		{Key: "enough", Title: "enough", Meaning: "Whether a trim gives all that the command needs.", Formula: given, Source: given, Range: always},
		{Key: "enough_trims", Title: "in trims", Meaning: "The trims that do.", Formula: given, Source: given, Range: always},
		{Key: "lacks", Title: "lacks", Meaning: "What the others lack.", Formula: given, Source: given, Range: always},
	}
}
