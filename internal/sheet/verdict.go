package sheet

import (
	"fmt"
	"slices"

	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A TrimVerdict is what the checks of a trim come to.
type TrimVerdict struct {
	Run *Run
	check.Tally
}

// Verdicts returns the verdicts on trims, a row each, with the venue where there are several. A strict one counts the notes as failed.
func Verdicts(all []TrimVerdict, strict bool) table.Table {
	count := func(key, title string, ids func(v TrimVerdict) []string) table.Field[TrimVerdict] {
		return table.Counts(key, title, func(v TrimVerdict) int { return len(ids(v)) })
	}
	fields := []table.Field[TrimVerdict]{
		table.Words("trim_name", "trim", func(v TrimVerdict) string { return v.Run.Trim.Name }),
	}
	if slices.ContainsFunc(all, func(v TrimVerdict) bool { return v.Run.Trim.VenueName != all[0].Run.Trim.VenueName }) {
		fields = append(fields, table.Words("venue_name", "venue", func(v TrimVerdict) string { return v.Run.Trim.VenueName }))
	}
	fields = append(fields,
		table.Cells("verdict", "verdict", units.Number, func(v TrimVerdict) table.Cell {
			is := v.Verdict(strict)
			return table.Text(is.String()).Toned(tone(is))
		}),
		count("failed_count", "failed", func(v TrimVerdict) []string { return v.Failed }),
		count("waived_count", "waived", func(v TrimVerdict) []string { return v.Waived }),
		count("noted_count", "notes", func(v TrimVerdict) []string { return v.Noted }),
		table.Counts("checked_count", "checked", func(v TrimVerdict) int { return v.Checked() }),
		count("not_judged_count", "not judged", func(v TrimVerdict) []string { return v.NotJudged }),
		table.Lists("failed_ids", "ids failed", func(v TrimVerdict) []string { return v.Failed }).InDetail(),
		table.Lists("waived_ids", "ids waived", func(v TrimVerdict) []string { return v.Waived }).InDetail(),
		table.Lists("noted_ids", "ids noted", func(v TrimVerdict) []string { return v.Noted }).InDetail(),
		table.Lists("not_judged_ids", "ids not judged", func(v TrimVerdict) []string { return v.NotJudged }).InDetail(),
	)
	t := table.Of("verdict", all, fields...)
	for i := range all {
		v := &all[i]
		if part, ok := v.Run.partText(); ok && (i == 0 || v.Run.Trim.Engine.Limiter != all[i-1].Run.Trim.Engine.Limiter) {
			t.Notes = append(t.Notes, fmt.Sprintf("Judged of %s, as asked for; the limiter stands at %s.", part, run.Speed(v.Run.Trim.Engine.Limiter)))
		}
	}
	if strict {
		t.Notes = append(t.Notes, "By --strict a note that is not waived fails the trim.")
	}
	return t
}

// verdictEntries explain the columns above.
func verdictEntries() []formula.Entry {
	entry := func(key, title, meaning string) formula.Entry {
		return formula.Entry{Key: key, Title: title, Meaning: meaning, Formula: "count by check_id, by its worst verdict", Source: ours, Range: computed}
	}
	return []formula.Entry{
		entry("failed_count", "failed", "Number of checks that failed and are not waived."),
		entry("waived_count", "waived", "Number of checks that failed or are noted, and that the spec's waivers let be."),
		entry("noted_count", "notes", "Number of checks that are noted: no limit is passed, and there is something to know."),
		entry("checked_count", "checked", "Number of checks judged: those that failed, are waived, are noted, or are ok."),
		entry("not_judged_count", "not judged", "Number of checks that such an engine could have, and that were not judged since the spec lacks the part or the limit."),
		entry("failed_ids", "ids failed", "The checks that failed, by id."),
		entry("waived_ids", "ids waived", "The checks that are waived, by id."),
		entry("noted_ids", "ids noted", "The checks that are noted, by id."),
		entry("not_judged_ids", "ids not judged", "The checks that were not judged, by id."),
	}
}
