package render

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// blocks reads CSV block by block, as a reader does that wants every record of a block to be as long as its first.
func blocks(t *testing.T, text string) [][][]string {
	t.Helper()
	var all [][][]string
	for _, block := range strings.Split(text, "\n\n") {
		r := csv.NewReader(strings.NewReader(block))
		r.FieldsPerRecord = 0
		records, err := r.ReadAll()
		require.NoError(t, err, block)
		all = append(all, records)
	}
	return all
}

// TestCSVGrid: the figures of plane() by hand, the point that it lacks empty.
func TestCSVGrid(t *testing.T) {
	doc := plane()
	doc.Tables[0].Trim = "open"
	var out bytes.Buffer
	require.NoError(t, CSV(&out, doc, CSVOptions{Grid: true}))
	assert.Equal(t, [][][]string{
		{
			{"base table", "open", "spark_advance_deg", ""},
			{"spark_advance_deg over rpm (down) and manifold_pressure_pa (across)", "40000", "80000", "120000"},
			{"2000", "30.25", "22", ""},
			{"3000", "33", "25", "12.5"},
		}, {
			{"base table", "open", "pulse_s", ""},
			{"pulse_s over rpm (down) and manifold_pressure_pa (across)", "40000", "80000", "120000"},
			{"2000", "0.0025", "0.004125", ""},
			{"3000", "0.0024", "0.004", "0.0062"},
		},
	}, blocks(t, out.String()))

	metric := units.Metric
	grids := CSVGrids(doc.Tables[0], CSVOptions{Units: &metric})
	require.Len(t, grids, 2)
	assert.Equal(t, "spark_advance", grids[0].Key, "the key would name another unit")
	assert.Equal(t, "pulse_s", CSVGrids(doc.Tables[0], CSVOptions{})[1].Key)
	out.Reset()
	require.NoError(t, grids[1].Write(&out))
	assert.Equal(t, `pulse [ms] over speed [rpm] (down) and manifold_pressure [bar abs] (across),0.4,0.8,1.2
2000,2.5,4.125,
3000,2.4,4,6.2
`, out.String())
}

// TestCSVGridBesideTables: what is no plane stays a list, and one pressure makes a grid too.
func TestCSVGridBesideTables(t *testing.T) {
	doc := plane()
	list := doc.Tables[0]
	list.Name, list.Layout = "points", table.Wide
	narrow := doc.Tables[0]
	narrow.Name, narrow.Rows = "one pressure", list.Rows[:1]
	doc.Tables = []table.Table{list, narrow, list}
	doc.Picked = true
	var out bytes.Buffer
	require.NoError(t, CSV(&out, doc, CSVOptions{Grid: true}))
	all := blocks(t, out.String())
	require.Len(t, all, 4)
	for _, list := range [][][]string{all[0], all[3]} {
		require.Len(t, list, 6)
		assert.Equal(t, []string{"table", "trim", "rpm", "manifold_pressure_pa", "spark_advance_deg", "pulse_s", "notes"}, list[0])
	}
	assert.Equal(t, [][]string{
		{"one pressure", "", "spark_advance_deg"},
		{"spark_advance_deg over rpm (down) and manifold_pressure_pa (across)", "40000", ""},
		{"2000", "30.25", ""},
	}, all[1])
	assert.Empty(t, CSVGrids(list, CSVOptions{}))
	assert.Empty(t, GridNotes(list, CSVOptions{}))
}

// TestGridNotes: what holds of points is told with where they lie.
func TestGridNotes(t *testing.T) {
	tab := plane().Tables[0]
	for _, row := range []int{1, 4} { // at 2000 and 3000 rpm, 80 and 120 kPa
		tab.Rows[row][2] = tab.Rows[row][2].Noted("held")
	}
	tab.Rows[3][3] = table.Missing("none")
	imperial := units.Imperial
	assert.Equal(t, []string{
		"base table: spark_advance_deg, 2 points at rpm 2000 to 3000, manifold_pressure_pa 80000 to 120000: held",
		"base table: pulse_s, 1 point at rpm 3000, manifold_pressure_pa 80000: none",
	}, GridNotes(tab, CSVOptions{}))
	// A psi is 6894.75729 Pa.
	assert.Contains(t, GridNotes(tab, CSVOptions{Units: &imperial})[1], "pulse [ms], 1 point at speed [rpm] 3000, manifold_pressure [psi abs] 11.603019: none")
}
