package sheet_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/run"
	"bellmouth/internal/sheet"
	"bellmouth/internal/spectest"
	"bellmouth/internal/table"
)

// TestCoolingTables: the tables have what the run says, each in its column.
func TestCoolingTables(t *testing.T) {
	r, err := sheet.Solve(context.Background(), "cooling", spectest.Trim(t, spectest.Hillclimb, "open"), spectest.Speeds(2500, 6500, 2000))
	require.NoError(t, err)
	heat := r.Heat()
	for i := range heat.Rows {
		out := 0.0
		for _, key := range []string{"power_w", "coolant_heat_w", "oil_heat_w", "charge_heat_w", "bonnet_heat_w", "tailpipe_heat_w", "unburned_power_w"} {
			out += cellsOf(t, heat, key)[i].Number()
		}
		in := cellsOf(t, heat, "fuel_power_w")[i].Number() + cellsOf(t, heat, "brought_in_w")[i].Number()
		assert.InDelta(t, in, out, 1e-6*in, "the fuel's energy")
	}
	c, err := r.Cooling()
	require.NoError(t, err)
	speeds := []float64{0, 10, 20, 30, 60}
	by, err := c.ByRoadSpeed(speeds)
	require.NoError(t, err)
	charge, ok, err := c.ChargeByRoadSpeed(speeds)
	require.NoError(t, err)
	require.True(t, ok)
	warm, err := c.Warm()
	require.NoError(t, err)
	for i, road := range speeds[:4] {
		d, err := c.Driven(road)
		require.NoError(t, err)
		full, err := c.At(d)
		require.NoError(t, err)
		d.Load = 0.5
		part, err := c.At(d)
		require.NoError(t, err)
		is := func(in table.Table, key string, want float64) {
			assert.InDelta(t, want, cellsOf(t, in, key)[i].Number(), 1e-9*want+1e-9, "%s, %v m/s", key, road)
		}
		is(by, "road_speed_m_s", road)
		is(by, "engine_rpm", d.EngineSpeed)
		is(by, "coolant_heat_w", full.Condition.Heat)
		is(by, "face_velocity_m_s", full.Velocity)
		is(by, "radiator_air_k", full.Inlet)
		is(by, "coolant_full_k", full.Temperature)
		is(by, "coolant_part_k", part.Temperature)
		assert.InDelta(t, c.Boils-part.Temperature, cellsOf(t, by, "boiling_margin_k")[i].Number(), 1e-9)
		lasts := cellsOf(t, by, "full_lasts_s")[i]
		if want, err := c.Circuit.Lasts(full.Condition, warm, c.Capped()); assert.NoError(t, err) && full.Temperature > c.Capped() {
			assert.InDelta(t, want, lasts.Number(), 1e-9)
		} else {
			assert.Equal(t, "for ever: it settles below 118 degC", lasts.Note())
		}
		if road > 0 {
			is(by, "oil_full_k", full.Oil)
			is(by, "oil_part_k", part.Oil)
		} else {
			assert.Equal(t, "no air goes through the oil cooler", cellsOf(t, by, "oil_full_k")[i].Note())
		}
		is(charge, "charge_k", full.Charge.Temperature)
		is(charge, "solved_charge_k", full.Solved)
		is(charge, "outer_velocity_m_s", full.Charge.Velocity)
		assert.InDelta(t, full.Charge.Temperature-full.Solved, cellsOf(t, charge, "charge_rise_k")[i].Number(), 1e-9)
	}
	assert.Equal(t, run.ErrBeyondGears.Error(), cellsOf(t, by, "coolant_full_k")[4].Note())

	duty, ok, err := c.DutyTable()
	require.NoError(t, err)
	require.True(t, ok)
	rounds, err := c.Duty()
	require.NoError(t, err)
	for i, s := range rounds[0] {
		assert.Equal(t, s.Name, cellsOf(t, duty, "duty_section")[i].Text())
		assert.InDelta(t, s.From, cellsOf(t, duty, "duty_from_k")[i].Number(), 1e-9)
		assert.InDelta(t, s.To, cellsOf(t, duty, "duty_to_k")[i].Number(), 1e-9)
		assert.InDelta(t, s.Temperature, cellsOf(t, duty, "duty_steady_k")[i].Number(), 1e-9)
	}
	facts, err := c.Facts()
	require.NoError(t, err)
	mean, err := c.Mean()
	require.NoError(t, err)
	assert.InDelta(t, mean.Temperature, cellsOf(t, facts, "mean_coolant_k")[0].Number(), 1e-9)
	assert.InDelta(t, mean.Oil, cellsOf(t, facts, "mean_oil_k")[0].Number(), 1e-9)
	assert.InDelta(t, rounds[0][4].To, cellsOf(t, facts, "coolant_hottest_k")[0].Number(), 1e-9)
}
