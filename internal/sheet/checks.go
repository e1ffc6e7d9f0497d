package sheet

import (
	"math"

	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// Judge returns the findings on a run, as check.Review has them.
func (r *Run) Judge() ([]check.Finding, error) { return r.Review().Findings() }

// Checks returns the findings on the run as a table, the failed ones first.
func (r *Run) Checks(findings []check.Finding) table.Table {
	sorted := make([]check.Finding, 0, len(findings))
	for _, v := range []check.Verdict{check.Fail, check.Waived, check.Note, check.OK} {
		for _, f := range findings {
			if f.Verdict == v {
				sorted = append(sorted, f)
			}
		}
	}
	const noFigure = "a finding without a figure"
	quantity := func(f check.Finding, x float64, kind units.Kind) table.Cell {
		if math.IsNaN(x) {
			return table.Missing(noFigure)
		}
		return table.Num(x).As(kind).WithDigits(deserved(f, kind))
	}
	t := table.Of("checks", sorted,
		table.Cells("verdict", "verdict", units.Number, func(f check.Finding) table.Cell {
			return table.Text(f.Verdict.String()).Toned(tone(f.Verdict))
		}),
		table.Cells("check", "what", units.Number, func(f check.Finding) table.Cell { return table.Text(f.What).Noted(f.Remark) }),
		table.Cells("worst_rpm", "worst at", units.Speed, worstAt),
		table.Cells("value", "value", units.Number, func(f check.Finding) table.Cell { return quantity(f, f.Value, f.Kind) }),
		table.Cells("limit_value", "limit", units.Number, func(f check.Finding) table.Cell { return quantity(f, f.Limit, f.Kind) }),
		table.Cells("margin", "margin", units.Number, func(f check.Finding) table.Cell { return quantity(f, f.Margin(), difference(f.Kind)) }),
		table.Words("check_id", "id", func(f check.Finding) string { return f.ID }).InDetail(),
		table.Words("do", "what to do", func(f check.Finding) string { return f.Do }).InDetail(),
		table.Cells("unit", "unit", units.Number, func(f check.Finding) table.Cell { return table.UnitOf(f.Kind) }).InDetail(),
	)
	t.Trim = r.Trim.Name
	t.Notes = []string{"Limits that the spec does not give are not judged."}
	return t
}

// worstAt is the speed of a finding, empty for one of an engine at rest.
func worstAt(f check.Finding) table.Cell {
	if f.AtRest {
		return table.Null()
	}
	return table.Num(f.Speed)
}

// deserved returns the digits of a finding's figures: no more than the tables of the operating points have.
func deserved(f check.Finding, kind units.Kind) int {
	switch kind {
	case units.Pressure, units.TemperatureDifference:
		return 0
	case units.PressureDifference:
		if f.Kind == units.Pressure {
			return 0
		}
	case units.Number:
		return 2
	case units.Length:
		if f.AtRest {
			return 3 // a clearance, measured by hand
		}
	case units.Speed:
		return table.Hundreds // of the shaft; engine speeds stand in a column of their own
	}
	return table.DefaultDigits
}

func tone(v check.Verdict) table.Tone {
	switch v {
	case check.Fail:
		return table.Failed
	case check.Note, check.Waived:
		return table.Caution
	}
	return table.Plain
}

// difference is the kind of a difference between two values of a kind.
func difference(k units.Kind) units.Kind {
	switch k {
	case units.Temperature:
		return units.TemperatureDifference
	case units.Pressure, units.GaugePressure:
		return units.PressureDifference
	}
	return k
}

// checksEntries explain the columns above.
func checksEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "verdict", Title: "verdict",
			Meaning: "ok; note for a finding that passes no limit; waived for one that the spec's waivers let be; FAIL for a limit passed. Of a trim: FAIL where a check failed, else ok.",
			Formula: "margin < 0, beyond 1e-4 of the limit, fails; with check --strict a note fails the trim", Source: ours, Range: computed,
		},
		{
			Key: "check", Title: "what",
			Meaning: "The limit that is judged.",
			Formula: "see the rows", Source: ours, Range: always,
		},
		{
			Key: "check_id", Title: "id",
			Meaning: "Name of the check for scripts and for waivers, the same in every release.",
			Formula: "see explain for the list", Source: ours, Range: always,
		},
		{
			Key: "worst_rpm", Title: "worst at",
			Meaning: "Engine speed at which the limit is nearest or furthest passed. It is looked for between the speeds of --rpm too.",
			Formula: "N at the least margin", Source: ours, Range: computed,
		},
		{
			Key: "value", Title: "value",
			Meaning: "The figure at its worst, in the unit of its row.",
			Formula: "see the row's figure", Source: ours, Range: always,
		},
		{
			Key: "limit_value", Title: "limit",
			Meaning: "The limit that the value is held against, in the unit of its row.",
			Formula: "the spec's, the map's or the boost target", Source: given, Range: always,
		},
		{
			Key: "unit", Title: "unit",
			Meaning: "Unit of value, limit and margin of the row.",
			Formula: "rpm for speeds, deg for angles, else SI, unless --units asks for others in CSV", Source: ours, Range: always,
		},
	}
}
