package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	hillclimb = "../../examples/hillclimb.yaml"
	clubFour  = "../../examples/club-four.yaml"
	twin      = "testdata/twin.yaml"
)

// bellmouth runs the command line and returns what it wrote. What it has in common with other runs is solved once; the outputs of the README and
// the scripts are those of whole runs.
func bellmouth(args ...string) (status int, out, errs string) {
	var o, e bytes.Buffer
	status = mainOn(context.Background(), args, streams{in: strings.NewReader(""), out: &o, err: &e, solve: solved.solve})
	return status, o.String(), e.String()
}

// printed is the JSON contract as a script sees it.
type printed struct {
	Schema, Command, Spec string
	Tables                []printedTable
	Warnings, Cautions    []string
}

type printedTable struct {
	Name, Trim, Venue string
	Rows              []map[string]any
	Notes             []string
}

func decode(t *testing.T, args ...string) printed {
	t.Helper()
	_, out, errs := bellmouth(append(args, "--format", "json")...)
	var p printed
	require.NoError(t, json.Unmarshal([]byte(out), &p), "%v: %s", args, errs)
	return p
}

// TestOperatingPointKeys holds the keys that scripts were promised, their units and their types.
func TestOperatingPointKeys(t *testing.T) {
	keys := strings.Fields(`rpm target_boost_pa boost_pa manifold_pressure_pa manifold_temperature_k air_flow_kg_s fuel_flow_kg_s lambda
		volumetric_efficiency pressure_ratio corrected_flow_kg_s compressor_efficiency shaft_rpm turbine_inlet_pressure_pa
		turbine_inlet_temperature_k wastegate_fraction imep_pa fmep_pa pmep_pa bmep_pa torque_nm power_w bsfc_kg_j peak_pressure_pa
		ca50_deg knock_integral limit limits`)
	p := decode(t, "boost", hillclimb, "--units", "imperial") // units must not matter
	assert.Equal(t, "bellmouth/2", p.Schema)
	assert.Equal(t, "boost", p.Command)
	assert.Equal(t, hillclimb, p.Spec)
	assert.NotEmpty(t, p.Cautions)
	trims := 0
	for _, table := range p.Tables {
		if table.Name != "operating points" {
			continue
		}
		trims++
		require.Len(t, table.Rows, 14) // 1500 to 7500 rpm in steps of 500, and the limiter
		assert.Equal(t, 1500.0, table.Rows[0]["rpm"])
		assert.Equal(t, 7800.0, table.Rows[13]["rpm"])
		for _, row := range table.Rows {
			assert.Len(t, row, len(keys))
			for _, key := range keys {
				switch key {
				case "limit":
					assert.IsType(t, "", row[key])
				case "limits":
					assert.Equal(t, row["limit"], row[key].([]any)[0], "the governing limit comes first")
				default:
					assert.IsType(t, 0.0, row[key], key)
				}
			}
			n := func(key string) float64 { return row[key].(float64) }
			// What the figures mean ties them together, whatever their values.
			assert.InDelta(t, n("torque_nm")*n("rpm")*2*3.14159265358979/60, n("power_w"), 1e-6*n("power_w"), "P = T ω")
			assert.InDelta(t, n("fuel_flow_kg_s"), n("bsfc_kg_j")*n("power_w"), 1e-9, "ṁf = b P")
			assert.InDelta(t, n("imep_pa")-n("fmep_pa")-n("pmep_pa"), n("bmep_pa"), 2e-2, "BMEP is what pumping and friction leave, each of nine digits")
			// The venue of the spec: 420 m, 963.8 hPa in the standard atmosphere.
			assert.InDelta(t, n("manifold_pressure_pa")-n("boost_pa"), 96381, 20)
		}
	}
	assert.Equal(t, 2, trims)
}

// TestPointWithoutCompressor wants no column that does not apply.
func TestPointWithoutCompressor(t *testing.T) {
	p := decode(t, "sheet", clubFour)
	for _, table := range p.Tables {
		assert.NotContains(t, []string{"compressor", "turbine", "overpull"}, table.Name)
		if table.Name != "operating points" {
			continue
		}
		for _, row := range table.Rows {
			for _, key := range []string{"target_boost_pa", "pressure_ratio", "shaft_rpm", "wastegate_fraction"} {
				assert.NotContains(t, row, key)
			}
			assert.Contains(t, []any{"atmosphere", "restrictor"}, row["limit"])
		}
	}
}

// TestFullSheetHasTheTablesOfTheCommands compares the full sheet's tables with those of the other uses: each is in both, the same.
func TestFullSheetHasTheTablesOfTheCommands(t *testing.T) {
	t.Parallel()
	left := []string{ // what spec check says of the file, check and course of all trims, and compare of several variants
		"enough for", "trims", "venues", "verdict", "stage by trim", "variants", "inputs that differ", "figures that differ",
	}
	for _, spec := range []string{hillclimb, clubFour, twin} {
		all := outputsOf(t, spec)
		whole := all[slices.IndexFunc(all, func(o output) bool { return o.name == "sheet --full" })].read
		for _, o := range all {
			for _, table := range o.read.Tables {
				if slices.Contains(left, table.Name) {
					continue
				}
				found := false
				for _, other := range whole.Tables {
					if other.Name == table.Name && other.Trim == table.Trim {
						found = true
						assert.Equal(t, table, other, "%s of %s", o.name, spec)
					}
				}
				assert.True(t, found, "%s of %s: %s, trim %s", o.name, spec, table.Name, table.Trim)
			}
		}
	}
}
