package check

import (
	"fmt"

	"bellmouth/internal/spec"
)

// waive tells what failed, or is noted, and may do so by the spec, as waived, with the spec's reason. A point without a solution stays one: what was
// not computed, no reason mends.
func waive(fs []Finding, waivers []spec.Waiver) {
	for i := range fs {
		f := &fs[i]
		if f.Verdict != Fail && f.Verdict != Note || f.ID == noSolutionID {
			continue
		}
		for _, w := range waivers {
			if w.Check != f.ID {
				continue
			}
			f.Verdict, f.Do = Waived, ""
			if f.Remark != "" {
				f.Remark = "; " + f.Remark
			}
			f.Remark = "waived: " + w.Reason + f.Remark
		}
	}
}

// A Judged is the findings on a trim, for what is said of several trims.
type Judged struct {
	Findings []Finding
	Waivers  []spec.Waiver
}

// Idle says of each waiver that waived nothing in any of the trims why not, one line each: a waiver of the base holds for all of them.
func Idle(all []Judged) []string {
	type state struct{ met, waived bool }
	known := map[spec.Waiver]*state{}
	var order []spec.Waiver
	for _, j := range all {
		for _, w := range j.Waivers {
			if known[w] == nil {
				known[w] = &state{}
				order = append(order, w)
			}
			for _, f := range j.Findings {
				if f.ID == w.Check {
					known[w].met = true
					known[w].waived = known[w].waived || f.Verdict == Waived
				}
			}
		}
	}
	var lines []string
	for _, w := range order {
		c, _ := Find(w.Check)
		switch line := "the waiver of " + w.Check + onLine(w) + " waives nothing: "; {
		case known[w].waived:
		case !known[w].met && c.always:
			lines = append(lines, line+"there are not the parts or the limit for that check")
		default:
			lines = append(lines, line+"the check did not fail")
		}
	}
	return lines
}

func onLine(w spec.Waiver) string {
	if w.Line == 0 {
		return ""
	}
	return fmt.Sprintf(" on line %d", w.Line)
}

// Waivable reports whether a finding can have the id, and whether it may be waived.
func Waivable(id string) (known, may bool) {
	_, known = Find(id)
	return known, known && id != noSolutionID
}
