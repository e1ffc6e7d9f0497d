package sheet

import (
	"fmt"

	"bellmouth/internal/formula"
	"bellmouth/internal/geometry"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A chamberPart is a part of the chamber, as it is and as a compression ratio would have it.
type chamberPart struct {
	name   string
	kind   units.Kind
	now    float64
	wanted float64
	err    error // why there is no such part
	squish float64
}

// PartsForRatio returns what each part of a trim's chamber alone would have to be for a compression ratio. It needs a chamber.
func PartsForRatio(trim *spec.Trim, ratio float64, name string) table.Table {
	ch, c := *trim.Engine.Chamber, trim.Engine.Cylinder
	part := func(name string, kind units.Kind, now float64, want func(geometry.Cylinder, float64) (float64, error),
		set func(ch *geometry.Chamber, x float64),
	) chamberPart {
		p := chamberPart{name: name, kind: kind, now: now}
		if p.wanted, p.err = want(c, ratio); p.err == nil {
			changed := ch
			set(&changed, p.wanted)
			p.squish = changed.Squish()
		}
		return p
	}
	parts := []chamberPart{
		part("chamber in the head", units.Volume, ch.Head, ch.HeadFor, func(ch *geometry.Chamber, x float64) { ch.Head = x }),
		part("dish in the piston", units.Volume, ch.PistonDish, ch.DishFor, func(ch *geometry.Chamber, x float64) { ch.PistonDish = x }),
		part("deck clearance", units.Length, ch.DeckClearance, ch.DeckFor, func(ch *geometry.Chamber, x float64) { ch.DeckClearance = x }),
		part("gasket, clamped", units.Length, ch.GasketThickness, ch.GasketFor, func(ch *geometry.Chamber, x float64) { ch.GasketThickness = x }),
	}
	known := table.Known[chamberPart](func(p chamberPart) error { return p.err })
	cell := func(p chamberPart, x float64) table.Cell { return table.Num(x).As(p.kind).WithDigits(2) }
	t := table.Of("parts for a ratio", parts,
		table.Words("part", "part", func(p chamberPart) string { return p.name }),
		table.Cells("part_now", "now", units.Number, func(p chamberPart) table.Cell { return cell(p, p.now) }),
		known.Cells("part_wanted", "wanted", units.Number, func(p chamberPart) table.Cell { return cell(p, p.wanted) }),
		known.Cells("part_change", "change", units.Number, func(p chamberPart) table.Cell { return cell(p, p.wanted-p.now) }),
		known.Number("squish_m", "squish", units.Length, func(p chamberPart) float64 { return p.squish }).WithDigits(2),
		table.Cells("unit", "unit", units.Number, func(p chamberPart) table.Cell { return table.UnitOf(p.kind) }).InDetail(),
	)
	t.Trim = name
	had := c.CompressionRatio
	c.CompressionRatio = ratio
	text := fmt.Sprintf("For a compression ratio of %s in place of %s: each part alone, the others as they are. Clearance volume %s of a cylinder",
		units.Decimal(ratio, 2), units.Decimal(had, 2), units.Mark(c.ClearanceVolume(), units.Volume))
	if v := trim.Engine.Valves; v != nil {
		text += fmt.Sprintf(", ratio from inlet valve closing %s", units.Decimal(c.EffectiveCompressionRatio(v.InletClosingAngle()), 2))
	}
	t.Notes = []string{text + ".", "A negative dish is a dome. Squish is cold and at rest: rod and bearings give at speed."}
	return t
}

// chamberEntries explain the columns above, and what the geometry tells of a measured chamber.
func chamberEntries() []formula.Entry {
	const (
		ratio = "Heywood, Internal Combustion Engine Fundamentals (1988), eq. 2.1, solved for a part of Vc"
		whole = "the crevice round the top land is left out unless measured into the dish"
	)
	return []formula.Entry{
		{Key: "part", Title: "part", Meaning: "A part of the volume above the piston at top dead centre.", Formula: "given", Source: ours, Range: always},
		{Key: "part_now", Title: "now", Meaning: "The part as it is in the spec.", Formula: "given", Source: ours, Range: always},
		{Key: "part_wanted", Title: "wanted", Meaning: "What the part alone would have to be for the compression ratio asked for.",
			Formula: "part + ΔVc; deck: + ΔVc/Ap; gasket: + ΔVc/(π/4 bore²); ΔVc = Vd/(rc − 1) − Vc", Source: ratio, Range: whole},
		{Key: "part_change", Title: "change", Meaning: "What is wanted less what there is.", Formula: "wanted − now", Source: ratio, Range: whole},
		{Key: "squish_m", Title: "squish", Also: []string{"squish, cold and at rest"},
			Meaning: "Distance between the piston's flat and the head at top dead centre, cold and at rest.",
			Formula: "gasket thickness + deck clearance", Source: "closed form", Range: always},
		{Key: "gasket_volume_m3", Title: "gasket", Meaning: "Volume of the hole in the clamped head gasket.",
			Formula: "π/4 (gasket bore)² (gasket thickness)", Source: "closed form", Range: always},
		{Key: "deck_volume_m3", Title: "deck", Meaning: "Volume of the bore above the piston's flat, up to the deck; negative where the piston stands above it.",
			Formula: "π/4 B² (deck clearance)", Source: "closed form", Range: always},
		{Key: "dish_volume_m3", Title: "dish in the piston", Meaning: "Volume of the dish in the piston's crown; negative for a dome.", Formula: "given",
			Source: ours, Range: always},
	}
}
