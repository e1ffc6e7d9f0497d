package sheet_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/sheet"
	"bellmouth/internal/spectest"
	"bellmouth/internal/table"
)

// cellsOf returns the cells of a column of a table.
func cellsOf(t *testing.T, tab table.Table, key string) (cells []table.Cell) {
	t.Helper()
	for i, c := range tab.Columns {
		if c.Key == key {
			for _, row := range tab.Rows {
				cells = append(cells, row[i])
			}
			return cells
		}
	}
	require.Fail(t, "no column "+key)
	return nil
}

// With 5 L of oil the pickup of the example stays covered up to the grip whose lowest fill is as much, and at no more; that of the car is in the
// table of the sump too.
func TestPickupByGrip(t *testing.T) {
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	trim.Sump.Oil = 5e-3
	r, err := sheet.Solve(context.Background(), "oil", trim, spectest.Speeds(7800, 7800, 100))
	require.NoError(t, err)
	p, err := r.Pan(0)
	require.NoError(t, err)
	by, err := p.ByGrip()
	require.NoError(t, err)
	fills, stays, from := cellsOf(t, by, "lowest_fill_m3"), cellsOf(t, by, "stays_covered"), cellsOf(t, by, "grip_from")
	yes := 0
	for i := range fills {
		assert.Equal(t, fills[i].Number() <= 5e-3, stays[i].Yes(), "row %d", i)
		if stays[i].Yes() {
			yes++
		}
	}
	assert.Greater(t, yes, 2)
	assert.Less(t, yes, len(fills)-2)
	holds, err := p.Holds()
	require.NoError(t, err)
	for i := range fills {
		if from[i].Text() == "car.grip" {
			assert.Equal(t, cellsOf(t, holds, "lowest_fill_m3")[0].Number(), fills[i].Number())
		}
	}
	// Where the pickup is uncovered the table over acceleration is below 0: accelerating beyond 0.9 g.
	cover, err := p.Cover()
	require.NoError(t, err)
	limit := 0.0
	for _, l := range cellsOf(t, p.Directions(), "uncover_m_s2")[:1] {
		limit = l.Number()
	}
	at, height := cellsOf(t, cover, "acceleration_m_s2"), cellsOf(t, cover, "accelerating_cover_m")
	for i := range at {
		assert.Equal(t, at[i].Number() < limit, height[i].Number() > 0, "%v", at[i].Number())
	}
	assert.Positive(t, limit)
}
