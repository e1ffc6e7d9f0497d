package check

import (
	"math"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/spec"
	"bellmouth/internal/units"
)

// TestChecksAreWhole: every id can be waived in a spec, none stands twice, and each says what it judges, against what, and what to do.
func TestChecksAreWhole(t *testing.T) {
	form := regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`) // as the spec takes them
	met := map[string]bool{}
	for _, id := range AllIDs() {
		assert.Regexp(t, form, id)
		assert.False(t, met[id], id)
		met[id] = true
		c, ok := Find(id)
		require.True(t, ok, id)
		assert.Equal(t, id, c.ID)
		for _, text := range []string{c.What, c.Judges, c.Against, c.Mends} {
			assert.NotEmpty(t, text, id)
			assert.NotRegexp(t, `LIMIT|\bN\b`, text, id)
		}
	}
	// The four families, from the names of limits in the reports of a run.
	for id, what := range map[string]string{
		"boost-passes-compressor-surge": "boost target passes a limit: compressor surge", "boost-not-reached-turbine": "boost target not reached: turbine",
		"boost-above-wastegate-creep": "boost above the target: wastegate creep", "cylinder-mixture-24": "mixture of cylinder 24, one fuel for all",
	} {
		c, ok := Find(id)
		assert.True(t, ok, id)
		assert.Equal(t, what, c.What)
	}
	for _, id := range []string{"", "boost-passes-LIMIT", "boost-passes-turbine", "boost-not-reached-knock", "cylinder-mixture-0", "cylinder-mixture-25"} {
		_, ok := Find(id)
		assert.False(t, ok, id)
	}
}

func TestWaive(t *testing.T) {
	waivers := []spec.Waiver{{Check: "a", Reason: "old", Line: 3}, {Check: "b", Reason: "new"}, {Check: noSolutionID,
		Reason: "never"}, {Check: "surge-margin", Reason: "none", Line: 5}}
	fs := []Finding{
		{ID: "a", Verdict: Fail, Remark: "too much", Do: "Less."}, {ID: "a", Verdict: OK}, {ID: "b", Verdict: Note}, {ID: "c", Verdict: Fail, Do: "More."},
		{ID: noSolutionID, Verdict: Fail},
	}
	waive(fs, waivers)
	assert.Equal(t, []Finding{
		{ID: "a", Verdict: Waived, Remark: "waived: old; too much"}, {ID: "a", Verdict: OK}, {ID: "b", Verdict: Waived, Remark: "waived: new"},
		{ID: "c", Verdict: Fail, Do: "More."}, {ID: noSolutionID, Verdict: Fail},
	}, fs)
	assert.Len(t, Failed(fs), 1, "the two that failed have no words here")

	// A waiver that two trims have waives something when it does so in one.
	ok := []Finding{{ID: "a", Verdict: OK}, {ID: "b", Verdict: OK}}
	assert.Equal(t, []string{
		"the waiver of no-solution waives nothing: the check did not fail",
		"the waiver of surge-margin on line 5 waives nothing: there are not the parts or the limit for that check",
	}, Idle([]Judged{{ok, waivers}, {fs, waivers}}))
	assert.Len(t, Idle([]Judged{{ok, waivers}}), 4)
	assert.Empty(t, Idle([]Judged{{fs, nil}}))
}

func TestCount(t *testing.T) {
	fs := []Finding{
		{ID: "surge-margin"}, {ID: noSolutionID, Verdict: Fail}, {ID: noSolutionID, Verdict: Fail}, {ID: "gearbox-torque",
			Verdict: Waived}, {ID: "burn-phasing", Verdict: Note},
		{ID: "shaft-speed", Verdict: OK}, {ID: "shaft-speed", Verdict: Note},
	}
	n := Count(fs, true)
	assert.Equal(t, []string{noSolutionID}, n.Failed)
	assert.Equal(t, []string{"gearbox-torque"}, n.Waived)
	assert.Equal(t, []string{"burn-phasing", "shaft-speed"}, n.Noted)
	assert.Equal(t, []string{"surge-margin"}, n.OK)
	assert.Equal(t, 5, n.Checked())
	assert.Contains(t, n.NotJudged, "choke-margin")
	assert.NotContains(t, n.NotJudged, "surge-margin")
	assert.NotContains(t, n.NotJudged, "octane-number", "a finding only where there is something to tell")
	assert.NotContains(t, Count(fs, false).NotJudged, "choke-margin")
	for _, c := range []struct {
		fs            []Finding
		plain, strict Verdict
	}{
		{fs, Fail, Fail}, {fs[3:5], OK, Fail}, {fs[3:4], OK, OK}, {nil, OK, OK},
	} {
		assert.Equal(t, c.plain, Count(c.fs, true).Verdict(false))
		assert.Equal(t, c.strict, Count(c.fs, true).Verdict(true))
	}
}

// TestWorst orders by hand: 20 % past a limit, 10 % below a floor, 5 points of a share past 0, then the notes.
func TestWorst(t *testing.T) {
	fs := []Finding{
		{ID: "ok", Value: 1, Limit: 2},
		{ID: "note", Verdict: Note, Value: 3, Limit: 2, Do: "Do this."},
		{ID: "quiet", Verdict: Note, Value: 3, Limit: 2},
		{ID: "waived", Verdict: Waived, Value: 9, Limit: 2},
		{ID: "share", Verdict: Fail, Kind: units.Fraction, Value: -0.05, Floor: true},
		{ID: "below", Verdict: Fail, Value: 9, Limit: 10, Floor: true},
		{ID: "past", Verdict: Fail, Value: 12, Limit: 10},
		{ID: "force", Verdict: Fail, Kind: units.Force, Value: -3, Floor: true},
		{ID: "unknown", Verdict: Fail, Value: math.NaN(), Limit: math.NaN()},
		{ID: "lesser", Verdict: Note, Value: 2.1, Limit: 2, Do: "Do that."},
	}
	var ids []string
	for _, f := range Worst(fs) {
		ids = append(ids, f.ID)
	}
	assert.Equal(t, []string{"unknown", "force", "past", "below", "share", "note", "lesser"}, ids)
}
