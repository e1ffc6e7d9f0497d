package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/check"
	"bellmouth/internal/spectest"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// sentence is what a finding says to do: one sentence, with a figure wherever it is about a speed.
var sentence = regexp.MustCompile(`^[A-Z][^.]*(\.[0-9a-z][^.]*)*\.$`)

// untold returns what is wrong with the findings that a document tells: an id or words that the list of checks has not, and a check that failed
// without a word on what to do about it.
func untold(doc table.Document) (wrong []string) {
	for _, t := range doc.Tables {
		if t.Name != "checks" {
			continue
		}
		at := func(key string, row []table.Cell) string {
			return row[slices.IndexFunc(t.Columns, func(c table.Column) bool { return c.Key == key })].Text()
		}
		for _, row := range t.Rows {
			id, what, do, verdict := at("check_id", row), at("check", row), at("do", row), at("verdict", row)
			if c, ok := check.Find(id); !ok || units.Resolve(c.What, units.Metric) != what {
				wrong = append(wrong, fmt.Sprintf("%s, %s: the list has %q", id, what, c.What))
			}
			switch {
			case verdict == "FAIL" && do == "":
				wrong = append(wrong, id+" fails without anything to do about it")
			case do != "" && !sentence.MatchString(do), strings.Contains(do, "NaN"), strings.Contains(do, "Inf"), len(do) > 220:
				wrong = append(wrong, id+" says: "+do)
			case do != "" && verdict != "FAIL" && verdict != "note":
				wrong = append(wrong, id+" is "+verdict+" and says: "+do)
			}
		}
	}
	return wrong
}

// TestFindingsAreTold: those of the examples are in the list of checks, and what fails says what to do.
func TestFindingsAreTold(t *testing.T) {
	told := 0
	for _, spec := range []string{hillclimb, clubFour, twin} {
		for _, o := range outputsOf(t, spec) {
			assert.Empty(t, untold(o.doc), "%s %s", o.name, spec)
			for _, tab := range o.doc.Tables {
				if tab.Name == "checks" {
					told++
				}
			}
		}
	}
	assert.Equal(t, 2*(2+2+1), told, "sheet and check, a table for each trim")
}

// TestCheckListKnowsEveryCylinder: as many as a spec may have.
func TestCheckListKnowsEveryCylinder(t *testing.T) {
	n := 0
	for _, id := range check.AllIDs() {
		if strings.HasPrefix(id, "cylinder-mixture-") {
			n++
		}
	}
	_, _, errs := bellmouth("geometry", hillclimb, "--set", fmt.Sprintf("engine.cylinders=%d", n+1))
	assert.Contains(t, errs, fmt.Sprintf("want 1 to %d", n))
}

// TestVerdictOfTrims reads what a script does: one field a trim, at each venue.
func TestVerdictOfTrims(t *testing.T) {
	t.Parallel()
	args := []string{"check", hillclimb, "--rpm", "4500:5500:500", "--venue", "valley,hilltop"}
	status, doc := documentOf(args, io.Discard, io.Discard)
	assert.Equal(t, statusCheckFailed, status)
	assert.Equal(t, "verdict", doc.Tables[0].Name)
	require.Len(t, doc.Tables, 5)
	p := decode(t, args...)
	var got []string
	for i, row := range p.Tables[0].Rows {
		got = append(got, fmt.Sprint(row["trim_name"], " ", row["venue_name"], " ", row["verdict"]))
		// The counts are those of the table of checks.
		counts := map[string]float64{}
		for _, f := range p.Tables[1+i].Rows {
			counts[f["verdict"].(string)]++
		}
		assert.Equal(t, row["trim_name"], p.Tables[1+i].Trim)
		assert.Equal(t, row["venue_name"], p.Tables[1+i].Venue)
		assert.Equal(t, counts["FAIL"], row["failed_count"])
		assert.Equal(t, counts["note"], row["noted_count"])
		assert.Equal(t, counts["waived"], row["waived_count"])
		assert.Equal(t, float64(len(p.Tables[1+i].Rows)), row["checked_count"])
		assert.Len(t, row["failed_ids"], int(counts["FAIL"]))
	}
	assert.Equal(t, []string{"open valley ok", "capped valley FAIL", "open hilltop ok", "capped hilltop FAIL"}, got)

	// What the spec has no part for, or no limit, is counted; what such an engine cannot have is not.
	p = decode(t, "check", clubFour, "--trim", "free", "--rpm", "5000", "--set", "limits.mean_piston_speed=none", "--set", "ignition=none")
	assert.ElementsMatch(t, []any{"mean-piston-speed", "coil-dwell", "ignition-voltage-margin", "turbine-inlet-temperature",
		"rod-tension", "rod-compression", "crank-pin-pressure", "head-clamp-margin", "head-bolt-stress",
		"coolant-boiling", "coolant-temperature", "cooling-lasts", "oil-temperature"}, p.Tables[0].Rows[0]["not_judged_ids"])
}

// TestWaivers: a check that the spec waives does not fail, in any of the outputs, and says why; a waiver of nothing is told.
func TestWaivers(t *testing.T) {
	t.Parallel()
	const id, what = "shaft-speed-wastegate-shut", "shaft speed with the wastegate closed"
	on := []string{hillclimb, "--rpm", "4500:5500:500"}
	waived := append(slices.Clone(on), "--set", "waivers=[{check: "+id+", reason: the driver lifts}]")
	run := func(command string, args []string) (int, string, string) {
		return bellmouth(append(strings.Fields(command), args...)...)
	}

	status, out, errs := run("check", on)
	assert.Equal(t, statusCheckFailed, status)
	assert.Contains(t, out, "FAIL     "+what)
	assert.Equal(t, "bellmouth: 1 check failed\n", errs)
	status, out, errs = run("check", waived)
	assert.Equal(t, statusWell, status)
	assert.Regexp(t, `(?m)^  waived +`+what, out)
	assert.Contains(t, out, "waived: the driver lifts; the restrictor keeps the boost")
	assert.Regexp(t, `(?m)^  capped +ok +0 +1 `, out)
	assert.Empty(t, errs, "it waives something in one of the trims")

	_, out, errs = run("sheet", on)
	assert.Contains(t, errs, "trim capped: 1 check failed: "+what)
	assert.Contains(t, out, "FAIL: 1 check of 52, of 4500 to 5500 rpm")
	assert.Contains(t, out, "FAIL     Lower the target to the boost that is reached")
	_, out, errs = run("sheet", waived)
	assert.Empty(t, errs)
	assert.Contains(t, out, "ok: no check of 52 fails, 1 waived")
	assert.NotContains(t, out, "FAIL")
	_, out, _ = run("boost", on)
	assert.Regexp(t, `(?m)^  checks failed +`+what, out)
	_, out, _ = run("boost", waived)
	assert.NotRegexp(t, `(?m)^  checks failed +`+what, out)

	_, out, _ = run("boost --allowed", on)
	assert.NotContains(t, out, "waivers")
	_, with, _ := run("boost --allowed", waived)
	assert.Equal(t, strings.ReplaceAll(with, "  What the spec's waivers let be is kept here all the same.\n", ""), out, "a waiver raises no boost")
	assert.NotEqual(t, with, out)

	for _, command := range []string{"check", "sheet"} {
		status, _, errs = run(command, append(slices.Clone(on), "--trim", "open", "--set", "waivers=[{check: "+id+", reason: x}, {check: surge-margin, reason: y}]"))
		assert.Equal(t, statusWell, status)
		assert.Equal(t, "bellmouth: warning: the waiver of "+id+" waives nothing: the check did not fail\n"+
			"bellmouth: warning: the waiver of surge-margin waives nothing: the check did not fail\n", errs)
	}
	_, _, errs = run("check", append(slices.Clone(on), "--trim", "open", "--set", "driveline=none", "--set", "waivers=[{check: gearbox-torque, reason: y}]"))
	assert.Contains(t, errs, "the waiver of gearbox-torque waives nothing: there are not the parts or the limit for that check\n")
}

// TestWaiversThatCannotBe are refused by every command that reads the spec, with file and line.
func TestWaiversThatCannotBe(t *testing.T) {
	text, err := os.ReadFile(clubFour)
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "engine.yaml")
	lines := strings.Count(string(text), "\n")
	more := "waivers:\n  - {check: mean-piston-sped, reason: x}\n  - {check: no-solution, reason: x}\n  - {check: qqqqqqqqqqqqqqq, reason: x}\n"
	require.NoError(t, os.WriteFile(path, append(text, more...), 0o600))
	spectest.CopyFiles(t, filepath.Dir(path))
	want := fmt.Sprintf("%s:%d: waivers.check is mean-piston-sped, which no check has as its id; mean-piston-speed?\n", path, lines+2) +
		fmt.Sprintf("%s:%d: waivers.check is no-solution, which cannot be waived: nobody knows what a point without a solution comes to\n", path, lines+3) +
		fmt.Sprintf("%s:%d: waivers.check is qqqqqqqqqqqqqqq, which no check has as its id; \"bellmouth explain\" lists them\n", path, lines+4)
	for _, args := range [][]string{{"spec", "check"}, {"check"}, {"air"}} {
		status, out, errs := bellmouth(append(args, path)...)
		assert.Equal(t, statusInput, status)
		assert.Empty(t, out)
		assert.Equal(t, want, errs)
	}
	_, _, errs := bellmouth("air", clubFour, "--set", "waivers=[{check: a, reason: x}]")
	assert.Equal(t, "--set: waivers.check is a, which no check has as its id; \"bellmouth explain\" lists them\n", errs)
}

// TestStrict: notes fail the trim and the status, unless they are waived.
func TestStrict(t *testing.T) {
	t.Parallel()
	args := []string{"check", clubFour, "--trim", "free", "--rpm", "5000"}
	status, _, errs := bellmouth(args...)
	assert.Equal(t, statusWell, status)
	assert.Empty(t, errs)
	args = append(args, "--strict")
	status, out, errs := bellmouth(args...)
	assert.Equal(t, statusCheckFailed, status)
	assert.Equal(t, "bellmouth: no check failed; by --strict 1 note counted as failed\n", errs)
	assert.Regexp(t, `(?m)^  free +FAIL +0 +0 +1 `, out)
	assert.Contains(t, out, "By --strict a note that is not waived fails the trim.")
	status, out, errs = bellmouth(append(args, "--set", "waivers=[{check: burn-phasing, reason: it is so}]")...)
	assert.Equal(t, statusWell, status)
	assert.Empty(t, errs)
	assert.Regexp(t, `(?m)^  free +ok +0 +1 +0 `, out)
	status, _, errs = bellmouth("check", hillclimb, "--trim", "capped", "--rpm", "5000:5500:500", "--strict")
	assert.Equal(t, statusCheckFailed, status)
	assert.Regexp(t, `^bellmouth: 1 check failed; by --strict [0-9] notes counted as failed too\n$`, errs)
}

// TestExplainInJSON: the lists, kind by kind, and one word, for a script.
func TestExplainInJSON(t *testing.T) {
	names := map[string]int{}
	for _, tab := range decode(t, "explain").Tables {
		names[tab.Name] = len(tab.Rows)
	}
	assert.Len(t, names, len(kinds))
	assert.Equal(t, len(check.Checks()), names["check ids"])
	_, out, _ := bellmouth("explain", "gearbox-torque", "--format", "json")
	var p printed
	require.NoError(t, json.Unmarshal([]byte(out), &p))
	row := p.Tables[0].Rows[0]
	assert.Equal(t, "gearbox-torque", row["key"])
	assert.Equal(t, "check", row["kind"])
	assert.Equal(t, "driveline.gearbox_torque_limit", row["against"])
}

// TestDoIsOfItsRow: the sentence on a check has the figures of its row.
func TestDoIsOfItsRow(t *testing.T) {
	met := map[string]bool{}
	for _, tab := range decode(t, "check", hillclimb, "--trim", "capped").Tables[1:] {
		for _, row := range tab.Rows {
			id, _ := row["check_id"].(string)
			switch met[id] = true; id {
			case "shaft-speed-wastegate-shut":
				value, limit := row["value"].(float64), row["limit_value"].(float64)
				assert.Regexp(t, fmt.Sprintf("^Lower the target to the boost that is reached, 1.5[0-9] bar gauge at 47[0-9]{2} rpm and 0.73 bar gauge at 7800 rpm: .* the shaft reaches %.0f of %.0f rpm at %.0f rpm.$",
					math.Round(value/100)*100, math.Round(limit/100)*100, row["worst_rpm"]), row["do"])
			case "worst-cylinder-knock":
				assert.Regexp(t, fmt.Sprintf("^Retard cylinder 3 by [0-9.]+ deg at %.0f rpm, or all of them: its knock integral is %.2f of %.2f, with the margin 0.80, past it from 33[0-9]{2} to 6[0-9]{3} rpm.$",
					row["worst_rpm"], row["value"], row["limit_value"]), row["do"])
			case "boost-not-reached-turbine", "surge-margin":
				assert.Empty(t, row["do"])
			}
		}
	}
	assert.Subset(t, slices.Collect(maps.Keys(met)), []string{"shaft-speed-wastegate-shut", "worst-cylinder-knock", "boost-not-reached-turbine", "surge-margin"})
}

// TestDoWhereNoTargetHelps: where the wide-open wastegate passes too little, a lower target lowers nothing.
func TestDoWhereNoTargetHelps(t *testing.T) {
	met := false
	for _, row := range decode(t, "check", twin, "--rpm", "6500:7200:700").Tables[1].Rows {
		if row["check_id"] == "knock-integral" {
			met = true
			assert.Regexp(t, "^Fit a larger wastegate or turbine for less boost at 7200 rpm, cool the charge or use more octane: ", row["do"])
		}
	}
	assert.True(t, met)
}
