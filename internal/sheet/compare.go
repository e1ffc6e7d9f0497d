package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/study"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A Variant is one of several engines side by side.
type Variant struct {
	Letter            string
	Spec, Trim, Venue string   // venue: empty where it is that of spec and trim
	Values            []string // what is varied in it, as PATH=VALUE
	MadeOf            string   // what tells it from the others, in short
	*Run
	*study.Variant
}

// Variants are engines side by side, compared with one of them.
type Variants struct {
	All     []Variant
	Against int // index into All
	Venues  bool
}

// List returns what each variant is made of.
func (vs *Variants) List() table.Table {
	t := table.Of("variants", vs.All, vs.identity(false)...)
	t.Notes = []string{vs.against()}
	return t
}

// against says what the others are compared with.
func (vs *Variants) against() string {
	return fmt.Sprintf("Compared with %s; --against chooses another.", vs.All[vs.Against].Letter)
}

// identity are the columns that say what a variant is: in short, with the rest for scripts, or one by one.
func (vs *Variants) identity(short bool) []table.Field[Variant] {
	several := func(get func(v Variant) string) bool {
		return slices.ContainsFunc(vs.All, func(v Variant) bool { return get(v) != get(vs.All[0]) })
	}
	shown := func(f table.Field[Variant], shown bool) table.Field[Variant] {
		if !shown {
			return f.InDetail()
		}
		return f
	}
	file := func(v Variant) string { return v.Spec }
	trim := func(v Variant) string { return v.Variant.Review.Grid.Trim.Name }
	venue := func(v Variant) string { return v.Venue }
	varied := slices.ContainsFunc(vs.All, func(v Variant) bool { return len(v.Values) > 0 })
	fields := []table.Field[Variant]{
		table.Words("variant", "variant", func(v Variant) string { return v.Letter }),
		shown(table.Words("made_of", "made of", func(v Variant) string { return v.MadeOf }), short),
		shown(table.Words("spec", "spec", file), !short && several(file)),
		shown(table.Words("trim_name", "trim", trim), !short),
	}
	if vs.Venues {
		fields = append(fields, shown(table.Words("venue_name", "venue", venue), !short))
	}
	return append(fields,
		shown(table.Lists("values", "values", func(v Variant) []string { return v.Values }), !short && varied),
		table.Truths("reference", "compared with", func(v Variant) bool { return v.Letter == vs.All[vs.Against].Letter }).InDetail(),
	)
}

// Lines returns a line for each variant: what it gives, and how near it is to its limits.
func (vs *Variants) Lines() table.Table {
	figure := func(key, title, id string, kind units.Kind, none string) table.Field[Variant] {
		return table.Cells(key, title, kind, func(v Variant) table.Cell {
			i := slices.IndexFunc(v.Figures, func(f study.Figure) bool { return f.ID == id })
			if i < 0 || math.IsNaN(v.Figures[i].Value) {
				return table.Missing(none)
			}
			return table.Num(v.Figures[i].Value)
		})
	}
	const unsolved = "no point has a solution"
	fields := append(vs.identity(true),
		figure("peak_torque_nm", "peak torque", study.PeakTorque, units.Torque, unsolved),
		figure("peak_power_w", "peak power", study.PeakPower, units.Power, unsolved),
	)
	if slices.ContainsFunc(vs.All, func(v Variant) bool { return v.Forced() }) {
		fields = append(fields, table.Cells("boost_reached_rpm", "target reached at", units.Speed, func(v Variant) table.Cell {
			if !v.Forced() {
				return table.Missing("naturally aspirated")
			}
			return v.reachedFrom()
		}))
	}
	if slices.ContainsFunc(vs.All, func(v Variant) bool { return v.Run.Trim.Intake.Restrictor != nil }) {
		fields = append(fields, table.Cells("restrictor_from_rpm", "restrictor chokes from", units.Speed, func(v Variant) table.Cell {
			if v.Run.Trim.Intake.Restrictor == nil {
				return table.Missing("without a restrictor")
			}
			return v.chokesFrom()
		}))
	}
	if slices.ContainsFunc(vs.All, func(v Variant) bool { return len(v.Run.Trim.Lacks("car", "driveline.gears")) == 0 }) {
		fields = append(fields, figure("standing_400m_s", "0 to "+units.Mark(400, units.Distance), run.Over400, units.RunTime,
			"the car and its gears, or enough speeds, are not known"))
	}
	worst := func(key, title string, get func(f check.Finding, share float64) table.Cell) table.Field[Variant] {
		return table.Cells(key, title, units.Fraction, func(v Variant) table.Cell {
			f, share, ok := v.Worst()
			if !ok {
				return table.Missing("no limit is judged")
			}
			return get(f, share)
		})
	}
	margin := worst("worst_margin", "worst margin", func(f check.Finding, share float64) table.Cell {
		return table.Num(share).Toned(tone(f.Verdict))
	})
	of := worst("worst_margin_check", "of", func(f check.Finding, _ float64) table.Cell { return table.Text(f.What) })
	of.Quantity = units.Number
	fields = append(fields,
		table.Cells("checks_failed", "checks failed", units.Number, func(v Variant) table.Cell {
			n := len(check.Failed(v.Findings))
			return table.Count(n).Toned(failedIf(n > 0))
		}).WithDigits(0),
		table.Lists("failed_checks", "checks failed", func(v Variant) []string { return check.Failed(v.Findings) }).InDetail(),
		margin, of.InDetail(),
	)
	t := table.Of("variants", vs.All, fields...)
	var paths []string
	for _, v := range vs.All[0].Values {
		path, _, _ := strings.Cut(v, "=")
		paths = append(paths, path)
	}
	if len(paths) > 1 {
		t.Notes = []string{"Values: " + strings.Join(paths, ", ") + "."}
	}
	t.Notes = append(t.Notes, "Worst margin: the least of all limits, as a share of the limit, or as it is where the figure is a share itself. "+
		"Below 0 the limit is passed.")
	return t
}

// Inputs returns the values of the specs that the variants differ in; ok is false where there is none.
func (vs *Variants) Inputs(inputs []spec.Input) (t table.Table, ok bool) {
	type said struct {
		path, letter string
		spec.Said
	}
	var all []said
	for _, in := range inputs {
		for i, one := range in.Of {
			all = append(all, said{in.Path, vs.All[i].Letter, one})
		}
	}
	t = table.SideBySide("inputs that differ", all,
		table.Words("path", "value of", func(s said) string { return s.path }),
		table.Words("variant", "variant", func(s said) string { return s.letter }),
		table.Cells("says", "says", units.Number, func(s said) table.Cell {
			switch s.From {
			case spec.ByDefault:
				return table.Text(s.Text).Noted("the default: the spec does not say it")
			case spec.NotSaid:
				return table.Missing("the spec does not say it")
			}
			return table.Text(s.Text)
		}),
		table.Words("says_from", "from", func(s said) string {
			return [...]string{spec.Given: "given", spec.ByDefault: "default", spec.NoPart: "no part", spec.NotSaid: "not given"}[s.From]
		}).InDetail(),
	)
	return t, len(all) > 0
}

// Figures returns the figures that the variants differ in, with the differences from the one that they are compared with.
func (vs *Variants) Figures() table.Table {
	type entry struct {
		*study.Comparison
		study.Entry
		at int
	}
	variants := make([]*study.Variant, len(vs.All))
	for i := range vs.All {
		variants[i] = vs.All[i].Variant
	}
	comparisons := study.Compare(variants, vs.Against)
	var all []entry
	alike := 0
	for c := range comparisons {
		comparison := &comparisons[c]
		if vs.reads(comparison) {
			alike++
			continue
		}
		for i, e := range comparison.Of {
			all = append(all, entry{comparison, e, i})
		}
	}
	kind := func(e entry) units.Kind { return e.Comparison.Kind }
	told := func(e entry, x float64, kind units.Kind) table.Cell {
		if e.at == vs.Against || math.IsNaN(x) {
			return table.Null()
		}
		return table.Num(x).As(kind).WithDigits(figureDigits(e.Figure, kind))
	}
	t := table.SideBySide("figures that differ", all,
		table.Words("figure", "figure", func(e entry) string { return e.Comparison.What }),
		table.Words("variant", "variant", func(e entry) string { return vs.All[e.at].Letter }),
		table.Cells("value", "value", units.Number, func(e entry) table.Cell { return vs.value(&vs.All[e.at], e.Entry) }),
		table.Cells("difference", "difference", units.Number, func(e entry) table.Cell { return told(e, e.Difference, difference(kind(e))) }),
		table.Cells("relative_difference", "change", units.Fraction, func(e entry) table.Cell {
			if kind(e) == units.Fraction { // which the difference tells already
				return table.Null()
			}
			return told(e, e.Relative, units.Fraction)
		}),
		table.Cells("verdict_change", "verdict", units.Number, func(e entry) table.Cell {
			if e.at == vs.Against || !e.VerdictChanges(vs.Against, e.at) {
				return table.Blank()
			}
			return table.Text(verdictOn(e.Of[vs.Against]) + " → " + verdictOn(e.Entry)).Toned(tone(e.Verdict))
		}),
		table.Words("verdict", "verdict", func(e entry) string {
			if !e.Judged {
				return ""
			}
			return e.Verdict.String()
		}).InDetail(),
		table.Words("figure_id", "figure", func(e entry) string { return e.Comparison.ID }).InDetail(),
		table.Cells("worst_rpm", "worst at", units.Speed, func(e entry) table.Cell {
			if !(e.Speed > 0) { // NaN, or of an engine at rest
				return table.Null()
			}
			return table.Num(e.Speed)
		}).InDetail(),
		table.Cells("unit", "unit", units.Number, func(e entry) table.Cell { return table.UnitOf(kind(e)) }).InDetail(),
		table.Cells("difference_unit", "unit", units.Number, func(e entry) table.Cell { return table.UnitOf(difference(kind(e))) }).InDetail(),
	)
	t.Notes = []string{
		fmt.Sprintf("Differences are from %s, as a share of its value; the largest come first, before them what only some variants have.", vs.All[vs.Against].Letter),
		fmt.Sprintf("Alike to the last digit printed: %s.", counted(alike, "other figure")),
	}
	return t
}

func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// value returns a variant's figure as the commands print it.
func (vs *Variants) value(v *Variant, e study.Entry) table.Cell {
	switch {
	case !e.Has:
		return table.Missing("this variant has no such figure or finding")
	case e.ID == study.BoostReached:
		return v.reachedFrom().As(units.Speed)
	case e.ID == study.ChokesFrom:
		return v.chokesFrom().As(units.Speed)
	case math.IsNaN(e.Value) && e.Judged:
		return table.Missing("a finding without a figure")
	case math.IsNaN(e.Value):
		return table.Missing("no point has a solution, or none that gives it")
	}
	return table.Num(e.Value).As(e.Kind).WithDigits(figureDigits(e.Figure, e.Kind))
}

// verdictOn returns what a check says of a variant, a dash where it says nothing.
func verdictOn(e study.Entry) string {
	if !e.Has || !e.Judged {
		return "–"
	}
	return e.Verdict.String()
}

// figureDigits returns the digits of a figure: those of the tables that have it.
func figureDigits(f study.Figure, kind units.Kind) int {
	switch {
	case kind == units.Speed && !f.Judged && f.ID != "shaft-speed": // of the engine
		return table.DefaultDigits
	case kind == units.MassFlow:
		return 0
	}
	return deserved(check.Finding{Kind: f.Kind}, kind)
}

// reads reports whether a figure reads the same in all variants, with the same verdict.
func (vs *Variants) reads(c *study.Comparison) bool {
	for i, e := range c.Of {
		if c.VerdictChanges(vs.Against, i) || printed(e.Figure) != printed(c.Of[0].Figure) {
			return false
		}
	}
	return true
}

// printed returns a figure as a table prints it.
func printed(f study.Figure) string {
	if math.IsNaN(f.Value) {
		return ""
	}
	digits := units.DigitsIn(f.Kind, units.Metric, figureDigits(f, f.Kind))
	return units.Decimal(units.DisplayUnit(f.Kind, units.Metric).FromSI(f.Value), digits)
}

// An UnknownKeyError says that the operating points have no figure of a key.
type UnknownKeyError struct {
	Key  string
	Have []string
}

func (e *UnknownKeyError) Error() string {
	return fmt.Sprintf("no figure over speed has the key %s; want of %s", e.Key, strings.Join(e.Have, ", "))
}

// OverSpeed returns a figure of the operating points over engine speed, by the key that boost prints it with: a line for each speed, the variants
// across and, of two, the difference. A key that no variant has is an *UnknownKeyError.
func (vs *Variants) OverSpeed(key string) (table.Table, error) {
	type place struct {
		speed      float64
		letter     string
		value      table.Cell
		difference float64
	}
	var column *table.Column
	var have []string
	var places []place
	values := make([]map[float64]table.Cell, len(vs.All))
	for i := range vs.All {
		points := vs.All[i].Points()
		at := -1
		for c := range points.Columns {
			if k := points.Columns[c].Key; k == key && c > 0 {
				at, column = c, &points.Columns[c]
			} else if c > 0 && !slices.Contains(have, k) {
				have = append(have, k)
			}
		}
		values[i] = map[float64]table.Cell{}
		for row, o := range vs.All[i].Outcomes {
			cell := table.Missing("a naturally aspirated engine has no such figure")
			if at >= 0 {
				cell = points.Rows[row][at]
			}
			values[i][o.Speed] = cell
			places = append(places, place{o.Speed, vs.All[i].Letter, cell, math.NaN()})
		}
	}
	if column == nil {
		return table.Table{}, &UnknownKeyError{key, have}
	}
	two := len(vs.All) == 2
	for i := range places {
		p := &places[i]
		if p.letter == vs.All[vs.Against].Letter || p.value.Content() != table.NumberCell {
			continue
		}
		if other, ok := values[vs.Against][p.speed]; ok && other.Content() == table.NumberCell {
			p.difference = p.value.Number() - other.Number()
		}
	}
	slices.SortStableFunc(places, func(a, b place) int {
		switch {
		case a.speed < b.speed:
			return -1
		case a.speed > b.speed:
			return 1
		}
		return 0
	})
	value := *column
	value.Detail = false
	fields := []table.Field[place]{{Column: value, Get: func(p place) table.Cell { return p.value }}}
	if of := difference(column.Quantity); two && slices.ContainsFunc(places, func(p place) bool { return !math.IsNaN(p.difference) }) {
		fields = append(fields,
			table.Cells("difference", "difference", units.Number, func(p place) table.Cell {
				if math.IsNaN(p.difference) {
					return table.Null()
				}
				return table.Num(p.difference).As(of).WithDigits(column.Digits)
			}),
			table.Cells("difference_unit", "unit", units.Number, func(place) table.Cell { return table.UnitOf(of) }).InDetail(),
		)
	}
	t := table.SideBySide(strings.TrimSpace(column.Title)+" over speed", places,
		table.Number("rpm", "speed", units.Speed, func(p place) float64 { return p.speed }),
		table.Words("variant", "variant", func(p place) string { return p.letter }),
		fields...)
	return t, nil
}

// compareEntries explain the columns above.
func compareEntries() []formula.Entry {
	const line = "the command line"
	return []formula.Entry{
		{
			Key: "variant", Title: "variant",
			Meaning: "Letter of the variant: specs, trims, venues and the values of --vary, each with each, the last named varying fastest.",
			Formula: "A, B, ... Z, AA, ...", Source: line, Range: always,
		},
		{
			Key: "made_of", Title: "made of",
			Meaning: "What tells the variant from the others: spec, trim, venue and varied values, as far as they differ.",
			Formula: seeRow, Source: line, Range: always,
		},
		{
			Key: "values", Title: "values",
			Meaning: "The values that --vary lays over the variant's trim.",
			Formula: seeRow, Source: line, Range: always,
		},
		{
			Key: "reference", Title: "compared with",
			Meaning: "Whether the variant is the one that the others are compared with.",
			Formula: seeRow, Source: line, Range: always,
		},
		{
			Key: "says", Title: "says",
			Meaning: "What the variant's spec has at the path, trims, venue and settings laid over each other.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "says_from", Title: "from",
			Meaning: "Where the value is from: given, default, no part (the part that it belongs to is not there) or not given.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "figure", Title: "figure",
			Meaning: "What is compared: a figure of the summary, or of a check at its worst.",
			Formula: seeRow, Source: ours, Range: computed,
		},
		{
			Key: "figure_id", Title: "figure",
			Meaning: "Name of the figure for scripts, the same in every release; that of a check is its id.",
			Formula: seeRow, Source: ours, Range: computed,
		},
		{
			Key: "difference", Title: "difference",
			Meaning: "The variant's value less that of the variant compared with, in the unit of its row.",
			Formula: "x − x(reference)", Source: ours, Range: computed,
		},
		{
			Key: "relative_difference", Title: "change",
			Meaning: "The difference as a share of the value of the variant compared with. A share's own difference says it already.",
			Formula: "(x − x(reference))/|x(reference)|", Source: ours, Range: "a reference that is not 0",
		},
		{
			Key: "difference_unit", Title: "unit",
			Meaning: "Unit of the row's difference.",
			Formula: "rpm for speeds, deg for angles, else SI, unless --units asks for others in CSV", Source: ours, Range: always,
		},
		{
			Key: "verdict_change", Title: "verdict",
			Meaning: "The check's verdict on the variant compared with, and on this one, where they differ.",
			Formula: "see verdict", Source: ours, Range: computed,
		},
		{
			Key: "standing_400m_s", Title: "0 to " + units.Mark(400, units.Distance),
			Meaning: "Time over 400 m from rest at full load, with the best upshifts; no reaction time.",
			Formula: "see run_up_time_s", Source: "Newton's second law", Range: computed,
		},
		{
			Key: "checks_failed", Title: "checks failed",
			Meaning: "Number of checks that fail.",
			Formula: "count of the verdict FAIL", Source: ours, Range: computed,
		},
		{
			Key: "worst_margin", Title: "worst margin",
			Meaning: "Least margin of all limits, as a share of the limit; of a figure that is a share itself, the margin. Below 0 the limit is passed. " +
				"Clearances within their range are left out.",
			Formula: "min of margin/|limit|", Source: ours, Range: "limits that are not 0, or on a share",
		},
		{
			Key: "worst_margin_check", Title: "of",
			Meaning: "The check that has the worst margin.",
			Formula: seeRow, Source: ours, Range: computed,
		},
	}
}
