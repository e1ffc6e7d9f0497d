package cli

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestPage: a trim's page is one, at the width of a printout, and a naturally aspirated engine's says nothing of a turbocharger.
func TestPage(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ spec, trim string }{{hillclimb, "open"}, {hillclimb, "capped"}, {clubFour, "free"}, {clubFour, "restricted"}, {twin, ""}} {
		args := []string{"sheet", c.spec}
		if c.trim != "" {
			args = append(args, "--trim", c.trim)
		}
		status, out, errs := bellmouth(args...)
		require.Equal(t, statusWell, status, errs)
		lines := strings.Split(strings.TrimSuffix(out, "\n"), "\n")
		assert.LessOrEqual(t, len(lines), 66, c.trim)
		for _, line := range lines {
			assert.LessOrEqual(t, len([]rune(line)), 100, line)
		}
		assert.NotContains(t, out, "continued", "one table goes into the car")
		if c.spec == clubFour {
			assert.NotRegexp(t, regexp.MustCompile(`(?i)turbo|boost|wastegate|shaft|surge|compressor`), out)
		}
	}
}

// TestPageSaysWhatTheCommandsSay: the figures that go into the car are those of the commands that look closer, to the digit.
func TestPageSaysWhatTheCommandsSay(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		spec, trim string
		from       map[string]string // table by command
	}{
		{hillclimb, "capped", map[string]string{"boost": "operating points", "fuel": "fuel", "spark": "spark at full load", "wastegate": "boost control"}},
		{clubFour, "free", map[string]string{"boost": "operating points", "fuel": "fuel", "spark": "spark at full load"}},
	} {
		at := []string{c.spec, "--trim", c.trim, "--rpm", "2500:6500:2000"}
		named := func(p printed, name string) []map[string]any {
			for _, table := range p.Tables {
				if table.Name == name {
					return table.Rows
				}
			}
			t.Fatalf("no table %s", name)
			return nil
		}
		page := decode(t, append([]string{"sheet"}, at...)...)
		car := named(page, "into the car")
		met := map[string]bool{}
		for command, table := range c.from {
			for i, row := range named(decode(t, append([]string{command}, at...)...), table) {
				for key, value := range row {
					if own, has := car[i][key]; has && key != "note" {
						met[key] = true
						assert.Equal(t, value, own, "%s of %s", key, command)
					}
				}
			}
		}
		for key := range car[0] {
			assert.True(t, met[key] || key == "limit", "%s is held against nothing", key)
		}
		summary := named(decode(t, append([]string{"boost"}, at...)...), "summary")[0]
		head := named(page, "build sheet")[0]
		for _, key := range []string{"peak_torque_nm", "peak_torque_rpm", "peak_power_w", "peak_power_rpm", "ruled_by"} {
			assert.Equal(t, summary[key], head[key], key)
		}
	}
}

// TestPageTellsWhatToDo: what fails, and what a note asks for, is on the page, the worst first.
func TestPageTellsWhatToDo(t *testing.T) {
	page := decode(t, "sheet", hillclimb, "--trim", "capped")
	i := slices.IndexFunc(page.Tables, func(p printedTable) bool { return p.Name == "to do" })
	require.GreaterOrEqual(t, i, 0)
	rows := page.Tables[i].Rows
	assert.Equal(t, "FAIL", rows[0]["verdict"])
	assert.Contains(t, rows[0]["do"], "ower the target")
	all := ""
	for _, row := range rows {
		all += row["do"].(string) + "\n"
	}
	assert.Contains(t, all, "cylinder 3", "the worst cylinder knocks")
}

// TestPageShiftsAsGearingDoes: the page has the upshifts of the command gearing, by gear and trim, and none with one gear.
func TestPageShiftsAsGearingDoes(t *testing.T) {
	for _, spec := range []string{hillclimb, clubFour} {
		page, gearing := decode(t, "sheet", spec), decode(t, "gearing", spec, "--table", "upshifts")
		for _, shifts := range gearing.Tables {
			head := page.Tables[slices.IndexFunc(page.Tables, func(p printedTable) bool { return p.Name == "build sheet" && p.Trim == shifts.Trim })].Rows[0]
			told, ok := head["upshifts"].([]any)
			require.True(t, ok)
			require.Len(t, told, len(shifts.Rows)-1)
			for i, text := range told {
				rpm := shifts.Rows[i]["upshift_rpm"].(float64)
				gears, at, _ := strings.Cut(text.(string), " ")
				assert.Equal(t, fmt.Sprintf("%d-%d", i+1, i+2), gears)
				if at == "limiter" {
					assert.InDelta(t, head["limiter_rpm"], rpm, 1e-6)
					continue
				}
				told, err := strconv.ParseFloat(strings.TrimSuffix(at, " rpm"), 64)
				require.NoError(t, err)
				assert.InDelta(t, rpm, told, 5+1e-6, "%s, %s", spec, shifts.Trim)
				assert.Less(t, rpm, head["limiter_rpm"])
			}
		}
	}
	one := decode(t, "sheet", hillclimb, "--set", "driveline.gears={1: 1.5}", "--set", "driveline.efficiency=94 %", "--set", "cooling=none",
		"--rpm", "3000:7000:2000")
	assert.NotContains(t, one.Tables[0].Rows[0], "upshifts")
	few := decode(t, "sheet", hillclimb, "--trim", "open", "--rpm", "4500:5500:500")
	assert.NotContains(t, few.Tables[0].Rows[0], "upshifts", "the engine pulls beyond the speeds asked for")
}
