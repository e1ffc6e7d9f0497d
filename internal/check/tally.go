package check

// A Tally is what the findings on a trim come to, by id. What has several findings of one id counts once, by the worst.
type Tally struct {
	Failed, Waived, Noted, OK []string
	NotJudged                 []string // checks that the engine could have, and whose parts or limits the spec lacks
}

// Count returns what findings come to. forced tells an engine with a compressor.
func Count(fs []Finding, forced bool) Tally {
	var t Tally
	worst := map[string]Verdict{}
	var order []string
	for _, f := range fs {
		if _, met := worst[f.ID]; !met {
			order = append(order, f.ID)
		}
		worst[f.ID] = max(worst[f.ID], f.Verdict)
	}
	for _, id := range order {
		into := map[Verdict]*[]string{OK: &t.OK, Note: &t.Noted, Waived: &t.Waived, Fail: &t.Failed}[worst[id]]
		*into = append(*into, id)
	}
	for _, c := range Checks() {
		if _, met := worst[c.ID]; c.always && !met && (forced || !c.forced) {
			t.NotJudged = append(t.NotJudged, c.ID)
		}
	}
	return t
}

// Checked returns how many checks were judged.
func (t Tally) Checked() int { return len(t.Failed) + len(t.Waived) + len(t.Noted) + len(t.OK) }

// Verdict returns Fail where a check failed, or, if strict, one is noted; else OK.
func (t Tally) Verdict(strict bool) Verdict {
	if len(t.Failed) > 0 || strict && len(t.Noted) > 0 {
		return Fail
	}
	return OK
}
