package cli

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

type jsonRow = map[string]any

// rowsOf returns the rows of the first table of a name.
func rowsOf(p printed, name string) []jsonRow {
	for _, t := range p.Tables {
		if t.Name == name {
			return t.Rows
		}
	}
	return nil
}

// TestCompareIsTheSingleRuns: every figure of compare is, to the digit, what sheet, check and boost print of the variant by itself, with the same values
// set; and what compare leaves out reads the same in both.
func TestCompareIsTheSingleRuns(t *testing.T) {
	t.Parallel()
	speeds := []string{"--rpm", "3000:7000:2000"}
	bores := map[string]string{"A": "36 mm", "B": "38 mm"}
	p := decode(t, append([]string{"compare", hillclimb, "--trim", "capped", "--vary", "intake.restrictor.bore=36 mm|38 mm", "--over-speed",
		"torque_nm,limits,shaft_rpm"}, speeds...)...)
	figures := rowsOf(p, "figures that differ")
	require.NotEmpty(t, figures)
	type known struct {
		value, speed any
		verdict      string
	}
	compared := map[string]map[string]known{"A": {}, "B": {}}
	for _, row := range figures {
		compared[row["variant"].(string)][row["figure_id"].(string)] = known{row["value"], row["worst_rpm"], row["verdict"].(string)}
	}
	inSummary := map[string]string{
		"peak-torque": "peak_torque_nm", "peak-torque-speed": "peak_torque_rpm", "peak-power": "peak_power_w", "peak-power-speed": "peak_power_rpm",
		"boost-reached-from": "boost_reached_rpm", "restrictor-chokes-from": "restrictor_from_rpm",
	}
	singles := map[string]map[string]jsonRow{} // the checks by what they are called
	for variant, bore := range bores {
		set := append([]string{hillclimb, "--trim", "capped", "--set", "trims.capped.intake.restrictor.bore=" + bore}, speeds...)
		run := decode(t, append([]string{"boost"}, set...)...)
		summary := rowsOf(run, "summary")[0]
		for id, key := range inSummary {
			require.Contains(t, compared[variant], id)
			assert.Equal(t, summary[key], compared[variant][id].value, "%s, %s", variant, id)
		}
		checks := map[string]jsonRow{}
		for _, row := range rowsOf(decode(t, append([]string{"check"}, set...)...), "checks") {
			checks[row["check"].(string)] = row
		}
		singles[variant] = checks
		judged := 0
		for _, row := range figures {
			check := checks[row["figure"].(string)]
			if row["variant"] != variant || check == nil {
				continue
			}
			judged++
			for key, as := range map[string]string{"value": "value", "worst_rpm": "worst_rpm", "verdict": "verdict", "unit": "unit"} {
				assert.Equal(t, check[as], row[key], "%s, %s, %s", variant, row["figure"], key)
			}
		}
		assert.Greater(t, judged, 10)
		// The points over speed are boost's.
		boost := rowsOf(decode(t, append([]string{"boost"}, set...)...), "operating points")
		for key, title := range map[string]string{"torque_nm": "torque", "limits": "limited by", "shaft_rpm": "shaft"} {
			i := 0
			for _, row := range rowsOf(p, title+" over speed") {
				if row["variant"] == variant {
					assert.Equal(t, boost[i]["rpm"], row["rpm"])
					assert.Equal(t, boost[i][key], row[key], key)
					i++
				}
			}
			assert.Equal(t, len(boost), i, key)
		}
		if variant == "B" { // the difference over speed is from A
			torques := map[any]map[any]float64{"A": {}, "B": {}}
			for _, row := range rowsOf(p, "torque over speed") {
				torques[row["variant"]][row["rpm"]] = row["torque_nm"].(float64)
				if row["variant"] == "B" {
					assert.InDelta(t, torques["B"][row["rpm"]]-torques["A"][row["rpm"]], row["difference"], 1e-5, "nine digits of 500 Nm")
				} else {
					assert.Nil(t, row["difference"])
				}
			}
			assert.Len(t, torques["B"], 3)
		}
		// Most air and consumption are of points between the speeds: boost at that speed alone has them, found from another start.
		for id, key := range map[string]string{"most-air": "air_flow_kg_s", "bsfc-at-peak-power": "bsfc_kg_j"} {
			at := fmt.Sprint(compared[variant][id].speed)
			alone := rowsOf(decode(t, "boost", hillclimb, "--trim", "capped", "--set", "trims.capped.intake.restrictor.bore="+bore, "--rpm", at), "operating points")
			assert.InEpsilon(t, alone[0][key], compared[variant][id].value, 1e-5, "%s: the solver agrees to 1e-6", id)
		}
	}
	// What is left out reads the same in the two runs.
	_, a, _ := bellmouth("check", hillclimb, "--trim", "capped", "--set", "trims.capped.intake.restrictor.bore=36 mm", "--rpm", "3000:7000:2000",
		"--columns", "verdict,check,value")
	_, b, _ := bellmouth("check", hillclimb, "--trim", "capped", "--set", "trims.capped.intake.restrictor.bore=38 mm", "--rpm", "3000:7000:2000",
		"--columns", "verdict,check,value")
	listed := func(what string) bool {
		return slices.ContainsFunc(figures, func(row jsonRow) bool { return row["figure"] == what })
	}
	lineOf := func(text, what string) string {
		for _, line := range strings.Split(text, "\n") {
			if strings.Contains(line, "  "+what) {
				return strings.Map(func(r rune) rune {
					if strings.ContainsRune("⁰¹²³⁴⁵⁶⁷⁸⁹ ", r) {
						return -1
					}
					return r
				}, line)
			}
		}
		return ""
	}
	alike := 0
	for what := range singles["A"] {
		if !listed(what) {
			alike++
			require.NotEmpty(t, lineOf(a, what), what)
			assert.Equal(t, lineOf(a, what), lineOf(b, what), what)
		}
	}
	assert.Positive(t, alike)
	for what := range singles["B"] {
		if singles["A"][what] == nil {
			assert.True(t, listed(what), "%s is in one only", what)
		}
	}
}

// TestCompareDifferences: a difference is the variant's value less that of the one compared with, none at that one, and turns its sign with it.
func TestCompareDifferences(t *testing.T) {
	args := []string{"compare", hillclimb, "--trim", "capped", "--vary", "intake.restrictor.bore=36 mm|38 mm", "--rpm", "5000"}
	number := func(x any) float64 {
		f, ok := x.(float64)
		if !ok {
			return math.NaN()
		}
		return f
	}
	read := func(against string) map[string][2]jsonRow {
		all := map[string][2]jsonRow{}
		for _, row := range rowsOf(decode(t, append(args, "--against", against)...), "figures that differ") {
			pair := all[row["figure_id"].(string)]
			pair[strings.Index("AB", row["variant"].(string))] = row
			all[row["figure_id"].(string)] = pair
		}
		return all
	}
	first, second := read("A"), read("2")
	require.Greater(t, len(first), 10)
	require.Contains(t, first, "surge-margin")
	for id, pair := range first {
		a, b := pair[0], pair[1]
		assert.Nil(t, a["difference"], id)
		assert.Nil(t, second[id][1]["difference"], id)
		if a["value"] == nil || b["value"] == nil {
			continue
		}
		d := number(b["value"]) - number(a["value"])
		digits := 2e-8 * math.Max(math.Abs(number(a["value"])), math.Abs(number(b["value"]))) // nine of each
		assert.InDelta(t, d, number(b["difference"]), digits, id)
		assert.InDelta(t, -d, number(second[id][0]["difference"]), digits, id)
		if strings.Contains(id, "margin") || strings.Contains(id, "duty") { // shares: the difference says it
			assert.Nil(t, b["relative_difference"], id)
			continue
		}
		assert.InDelta(t, d/math.Abs(number(a["value"])), number(b["relative_difference"]), 1e-6, id)
	}
	assert.Positive(t, number(first["most-air"][1]["difference"]), "the larger bore passes more air")
	assert.Negative(t, number(second["most-air"][0]["difference"]))
	status, out, _ := bellmouth(append(args, "--vary", "turbine.wheel=58 mm|60 mm", "--against", "c")...)
	assert.Equal(t, statusWell, status)
	assert.Contains(t, out, "Compared with C")
}

// TestCompareInputs: the values told to differ are those that were changed, and no others, through trims, what they build on, venues and settings.
func TestCompareInputs(t *testing.T) {
	path := edited(t, "trims:\n", "trims:\n  tight:\n    from: capped\n    intake: {restrictor: {bore: 34 mm}}\n    engine: {compression_ratio: 8.80}\n")
	says := func(args ...string) (all []string) {
		for _, row := range rowsOf(decode(t, append([]string{"compare", path, "--rpm", "5000"}, args...)...), "inputs that differ") {
			all = append(all, fmt.Sprintf("%s %s %s", row["path"], row["variant"], row["says"]))
		}
		return all
	}
	assert.Equal(t, []string{"intake.restrictor.bore A 34 mm", "intake.restrictor.bore B 38 mm"}, says("--trim", "tight,capped"), "8.80 is 8.8")
	assert.Equal(t, []string{"compressor.wheel A 62 mm", "compressor.wheel B 58 mm"},
		says("--trim", "open", "--vary", "compressor.wheel=62 mm, fuel.temperature=303.15 K|58 mm, 30 degC"), "303.15 K is 30 degC")
	assert.Equal(t, []string{"intake.restrictor.recovery A 0.80", "intake.restrictor.recovery B 70 %"},
		says("--trim", "capped", "--vary", "intake.restrictor.recovery=given|70 %", "--set", "trims.capped.intake.restrictor.bore=36 mm"),
		"what is set for all does not differ")
	assert.Equal(t, []string{
		"engine.combustion.knock_margin A 2", "engine.combustion.knock_margin B 3",
	}, says("--trim", "open", "--vary", "engine.combustion.knock_margin=given|3"), "the default's value where one leaves it out")
	assert.Equal(t, []string{
		"venue.altitude A 1640 m", "venue.altitude B 180 m", "venue.temperature A 7 degC", "venue.temperature B 31 degC", "venue.humidity A 80 %",
		"venue.humidity B 40 %",
	}, says("--trim", "open", "--venue", "hilltop,valley"))
	assert.Equal(t, []string{
		"engine.compression_ratio A 8.8", "engine.compression_ratio B 8.5",
		"cooler.effectiveness A {0.02 kg/s: 0.92, 0.20 kg/s: 0.82, 0.40 kg/s: 0.74}", "cooler.effectiveness B none",
		"cooler.coolant_temperature A 22 degC", "cooler.coolant_temperature B none",
		"cooler.loss.flow A 0.30 kg/s", "cooler.loss.flow B none", "cooler.loss.loss A 9 kPa", "cooler.loss.loss B none",
		"cooler.loss.pressure A 2.5 bar abs", "cooler.loss.pressure B none", "cooler.loss.temperature A 400 K", "cooler.loss.temperature B none",
	}, says("--trim", "open", "--vary", "given|cooler=none, engine.compression_ratio=8.5"))
	_, _, errs := bellmouth("compare", path, edited(t), "--trim", "open", "--rpm", "5000")
	assert.Contains(t, errs, "warning: the variants' specs differ in no value")
}

// TestCompareMaps: two maps of the same name are told apart by what is in them.
func TestCompareMaps(t *testing.T) {
	one, two := edited(t), edited(t)
	rows := func() []jsonRow {
		return rowsOf(decode(t, "compare", one, two, "--trim", "open", "--rpm", "5000"), "inputs that differ")
	}
	assert.Empty(t, rows())
	name := filepath.Join(filepath.Dir(two), "hillclimb-compressor.csv")
	data, err := os.ReadFile(name)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(name, append([]byte("# another\n"), data...), 0o644))
	got := rows()
	require.Len(t, got, 2)
	assert.Equal(t, "compressor.map", got[0]["path"])
	assert.Equal(t, filepath.Join(filepath.Dir(one), "hillclimb-compressor.csv"), got[0]["says"])
	assert.Equal(t, name, got[1]["says"])
}

// TestCompareLines: twelve variants get a line each, in the order of their letters, the last --vary changing fastest, and --sort puts them in another.
func TestCompareLines(t *testing.T) {
	t.Parallel()
	args := []string{
		"compare", hillclimb, "--trim", "capped", "--rpm", "5000", "--vary", "compressor.wheel=60 mm|62 mm",
		"--vary", "turbine.effective_area=9.2 cm2, turbine.wheel=58 mm|10.4 cm2, 60 mm", "--vary", "injection.primary.flow=450 cm3/min|550 cm3/min|650 cm3/min",
	}
	p := decode(t, args...)
	lines := rowsOf(p, "variants")
	require.Len(t, lines, 12)
	assert.Empty(t, rowsOf(p, "figures that differ"))
	for i, row := range lines {
		assert.Equal(t, letter(i), row["variant"])
		assert.Equal(t, fmt.Sprintf("%s, %s, %s", []string{"60 mm", "62 mm"}[i/6],
			[]string{"9.2 cm2, 58 mm", "10.4 cm2, 60 mm"}[i/3%2], []string{"450 cm3/min", "550 cm3/min", "650 cm3/min"}[i%3]), row["made_of"])
	}
	set := []string{hillclimb, "--trim", "capped", "--rpm", "5000", "--set", "compressor.wheel=62 mm", "--set", "turbine.effective_area=10.4 cm2",
		"--set", "turbine.wheel=60 mm", "--set", "injection.primary.flow=450 cm3/min"}
	summary := rowsOf(decode(t, append([]string{"boost"}, set...)...), "summary")[0]
	for _, key := range []string{"peak_torque_nm", "peak_power_w", "boost_reached_rpm", "restrictor_from_rpm", "failed_checks"} {
		assert.Equal(t, summary[key], lines[9][key], key)
	}
	assert.Equal(t, float64(len(summary["failed_checks"].([]any))), lines[9]["checks_failed"])
	// The worst margin is the least of those that check prints, as a share of the limit. None that is a share itself lies below 0 here.
	least, of := 0.0, any(nil)
	for _, row := range rowsOf(decode(t, append([]string{"check"}, set...)...), "checks") {
		margin, _ := row["margin"].(float64)
		if row["unit"] == "" {
			assert.True(t, margin >= 0 || row["verdict"] == "note", row["check"])
			continue
		}
		if limit, ok := row["limit_value"].(float64); ok && row["verdict"] == "FAIL" && margin/limit < least {
			least, of = margin/limit, row["check"]
		}
	}
	require.NotNil(t, of)
	assert.InDelta(t, least, lines[9]["worst_margin"], 1e-6)
	assert.Equal(t, of, lines[9]["worst_margin_check"])

	sorted := rowsOf(decode(t, append(args, "--sort", "-peak_torque_nm")...), "variants")
	require.Len(t, sorted, 12)
	for i := range sorted[1:] {
		assert.GreaterOrEqual(t, sorted[i]["peak_torque_nm"], sorted[i+1]["peak_torque_nm"])
	}
	assert.Len(t, rowsOf(decode(t, append(args, "--lines=false")...), "variants"), 12)
	assert.NotEmpty(t, rowsOf(decode(t, append(args, "--lines=false")...), "figures that differ"))
}

// TestCompareOctane: of the octane the figure is what full load wants, which differs with the charge, and not what the fuel has.
func TestCompareOctane(t *testing.T) {
	args := []string{hillclimb, "--trim", "capped", "--rpm", "4000:5000:500"}
	wanted := rowsOf(decode(t, append([]string{"check", "--set", "cooler=none"}, args...)...), "checks")
	i := slices.IndexFunc(wanted, func(row jsonRow) bool { return row["check"] == "octane number for full load" })
	require.GreaterOrEqual(t, i, 0)
	found := false
	for _, row := range rowsOf(decode(t, append([]string{"compare", "--vary", "cooler=given|none"}, args...)...), "figures that differ") {
		if row["figure_id"] == "octane-number" && row["variant"] == "B" {
			found = true
			assert.Equal(t, wanted[i]["limit_value"], row["value"])
			assert.Greater(t, row["value"], wanted[i]["value"])
			assert.Equal(t, "– → FAIL", row["verdict_change"])
		}
	}
	assert.True(t, found)
}

// TestCompareOverSpeedIsExplained: what --over-speed adds, which no other test prints, is explained, and sound.
func TestCompareOverSpeedIsExplained(t *testing.T) {
	for _, spec := range []string{hillclimb, clubFour} {
		doc, _ := document(t, "compare", spec, "--rpm", "5000", "--over-speed", "torque_nm,limits,torque_nm,ca50_deg")
		assert.Empty(t, unexplained(doc))
		assert.NoError(t, doc.Check())
		assert.Equal(t, "CA50 over speed", doc.Tables[len(doc.Tables)-1].Name)
	}
}

// TestCompareOrder: specs, trims, venues, values.
func TestCompareOrder(t *testing.T) {
	other := edited(t, "name: Hillclimb five", "name: Another five")
	p := decode(t, "compare", hillclimb, other, "--trim", "capped,open", "--venue", "valley,hilltop", "--vary", "fuel.temperature=20 degC|40 degC",
		"--rpm", "5000")
	var made []string
	for _, row := range rowsOf(p, "variants") {
		made = append(made, row["made_of"].(string))
	}
	require.Len(t, made, 16)
	assert.Equal(t, []string{
		"hillclimb, capped, valley, temperature 20 degC", "hillclimb, capped, valley, temperature 40 degC", "hillclimb, capped, hilltop, temperature 20 degC",
	}, made[:3])
	assert.Equal(t, "hillclimb, open, valley, temperature 20 degC", made[4])
	assert.Equal(t, "engine, capped, valley, temperature 20 degC", made[8])
}

// TestCompareStandardInput: a spec that is read once from there makes as many variants as a file.
func TestCompareStandardInput(t *testing.T) {
	text, err := os.ReadFile(hillclimb)
	require.NoError(t, err)
	args := []string{"--rpm", "5000", "--vary", "fuel.temperature=20 degC|40 degC"}
	_, want, _ := bellmouth(append([]string{"compare", hillclimb}, args...)...)
	t.Chdir(filepath.Dir(hillclimb))
	var out, errs bytes.Buffer
	assert.Equal(t, statusWell, Main(append([]string{"compare", "-"}, args...), bytes.NewReader(text), &out, &errs), errs.String())
	assert.Equal(t, want, out.String())
}

// TestCompareErrors: each message names the flag, the variant where there is one, and the path.
func TestCompareErrors(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"--trim", "capped", "--vary", "intake.restrictor.bore=36 mm|3.8 mm"},
			"--vary intake.restrictor.bore, variant B: trims.capped.intake.restrictor.bore is 3.8 mm; want 10 mm to 100 mm (38 mm?)\n"},
		{[]string{"--vary", "compressor.map=given|nope.csv"}, "--vary compressor.map, variant B: trims.open.compressor.map is nope.csv; "},
		{[]string{"--vary", "engine.boer=1 mm|2 mm"}, "--vary engine.boer, variant A: trims.open.engine.boer is not a key"},
		{[]string{"--trim", "open", "--vary", "turbine=given|none"}, "trim open lacks it (variant B)\n"},
		{[]string{"--trim", "open"}, "bellmouth: compare has one variant; want a second spec, several trims or venues, or --vary\n"},
		{[]string{"--against", "C"}, "bellmouth: --against \"C\" names no variant; want A to B, or 1 to 2\n"},
		{[]string{"--over-speed", "torque"}, "bellmouth: --over-speed: no figure over speed has the key torque; want of target_boost_pa, "},
		{[]string{"--rpm", "9000"}, "bellmouth: variant A: --rpm 9000 goes beyond the limiter of trim open, 7800 rpm\n"},
		{[]string{"--trim", "shut"}, "hillclimb.yaml: has no trim shut; it has open, capped\n"},
		{[]string{"--venue", "valley", "--vary", "venue.humidity=10 %|20 %"}, "sets venue.humidity, which --venue valley takes the place of"},
		{[]string{hillclimb}, "names ../../examples/hillclimb.yaml twice"},
		{[]string{"--vary", "engine.bore=" + strings.Repeat("84 mm|", 200) + "85 mm"}, "has alternative 1 once more as alternative 2"},
	} {
		status, out, errs := bellmouth(append([]string{"compare", hillclimb}, c.args...)...)
		assert.Equal(t, statusInput, status, c.args)
		assert.Empty(t, out, c.args)
		assert.Contains(t, errs, c.want, c.args)
	}
	var many []string
	for i := range 101 {
		many = append(many, fmt.Sprintf("%d mm", 50+i))
	}
	_, _, errs := bellmouth("compare", hillclimb, "--vary", "engine.rod="+strings.Join(many, "|"))
	assert.Equal(t, "bellmouth: compare has 202 variants; want at most 200\n", errs)
	status, _, errs := bellmouth("compare")
	assert.Equal(t, statusInput, status)
	assert.Contains(t, errs, "compare wants one spec file or more; it got none")
	_, _, errs = bellmouth("compare", hillclimb, "--rpm", "5000", "--vary", "intake.restrictor.bore=36 mm|38 mm")
	assert.Contains(t, errs, "warning: --vary intake.restrictor.bore gives the trim open the section intake.restrictor, which it does not have")
}

// TestCompareUnsolved: a variant's point without a solution is named with the variant, and the figures of the others are printed.
func TestCompareUnsolved(t *testing.T) {
	args := []string{"compare", "testdata/runaway.yaml", "--rpm", "6000", "--vary", "turbine.effective_area=given|40 cm2"}
	status, out, errs := bellmouth(args...)
	assert.Equal(t, statusNoSolution, status)
	assert.Contains(t, errs, "bellmouth: no solution for 1 operating point\n  variant A: trim \"base\", 6000 rpm: turbine: without a wastegate the boost runs away")
	assert.Regexp(t, `\n  no solution +–\S? +–\S? +FAIL → –\n`, out)
	single := rowsOf(decode(t, "boost", "testdata/runaway.yaml", "--rpm", "6000", "--set", "turbine.effective_area=40 cm2"), "summary")[0]
	found := false
	for _, row := range rowsOf(decode(t, args...), "figures that differ") {
		if row["figure_id"] == "peak-torque" && row["variant"] == "B" {
			found = true
			assert.Equal(t, single["peak_torque_nm"], row["value"])
		}
	}
	assert.True(t, found)
}
