package check_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/check"
	"bellmouth/internal/cooling"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/units"
)

// TestCooling: the coolant is judged by its distance from boiling, by its limit and by how long the sections last; the oil by its limit.
func TestCooling(t *testing.T) {
	base := runtest.Solved(t, spectest.Hillclimb, "open", 2000, 4500, 7000)
	find := func(change func(trim *spec.Trim)) map[string]check.Finding {
		trim := spectest.Trim(t, spectest.Hillclimb, "open")
		change(trim)
		fs, err := check.Cooling(&run.Run{Trim: trim, Engine: base.Engine, Outcomes: base.Outcomes, Context: base.Context})
		require.NoError(t, err)
		by := map[string]check.Finding{}
		for _, f := range fs {
			by[f.ID] = f
		}
		require.Len(t, by, len(fs))
		return by
	}
	const boils, hot, lasts, oil = "coolant-boiling", "coolant-temperature", "cooling-lasts", "oil-temperature"
	fs := find(func(*spec.Trim) {})
	require.Len(t, fs, 4)
	for id, f := range fs {
		assert.Equal(t, check.OK, f.Verdict, id)
		assert.NotEmpty(t, f.Remark, id)
	}
	assert.Equal(t, "in finish", fs[hot].Remark)
	assert.Equal(t, "steady at 85 km/h and 50 % of the heat of full load", units.Resolve(fs[oil].Remark, units.Metric))
	reaches := fs[hot].Value
	margin := fs[boils].Value
	c, err := base.Cooling()
	require.NoError(t, err)
	assert.InDelta(t, c.Boils-reaches, margin, 1e-9, "both of the hottest coolant")

	fs = find(func(trim *spec.Trim) { trim.Limits.CoolantTemperature = reaches - 0.5 })
	assert.Equal(t, check.Fail, fs[hot].Verdict)
	assert.Equal(t, check.Fail, fs[lasts].Verdict, "it lasts until the limit")
	assert.Equal(t, "finish", fs[lasts].Remark[:6])
	assert.Less(t, fs[lasts].Value, 10.0)
	assert.Equal(t, check.OK, fs[boils].Verdict)

	fs = find(func(trim *spec.Trim) { trim.Limits.CoolantTemperature, trim.Limits.BoilingMargin = 0, margin+1 })
	assert.Equal(t, check.Fail, fs[boils].Verdict)
	assert.NotContains(t, fs, hot)

	// A cap that leaves less than is common practice is noted.
	capped := func(kelvin float64) func(trim *spec.Trim) {
		return func(trim *spec.Trim) {
			trim.Limits.CoolantTemperature = 0
			want := reaches + kelvin
			lo, hi := 0.0, 2e5
			for range 60 {
				trim.Cooling.Circuit.Cap = (lo + hi) / 2
				if at, err := trim.Cooling.Circuit.Boils(trim.Venue.Pressure); err == nil && at < want {
					lo = trim.Cooling.Circuit.Cap
				} else {
					hi = trim.Cooling.Circuit.Cap
				}
			}
		}
	}
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	open, err := (&cooling.Circuit{Coolant: trim.Cooling.Circuit.Coolant}).Boils(trim.Venue.Pressure)
	require.NoError(t, err)
	require.Greater(t, reaches+check.LittleToBoiling-1, open, "without a cap it boils colder")
	fs = find(capped(check.LittleToBoiling - 1))
	assert.Equal(t, check.Note, fs[boils].Verdict)
	assert.Equal(t, "below 8.0 K, common practice without a source; in finish", units.Resolve(fs[boils].Remark, units.Metric))
	assert.Equal(t, check.OK, find(capped(check.LittleToBoiling + 1))[boils].Verdict)
	hotter := func(trim *spec.Trim) {
		trim.Cooling.Duty.Start, trim.Limits.CoolantTemperature = open+30, 0
		trim.Cooling.Circuit.Cap = 0
	}
	fs = find(hotter)
	assert.Equal(t, check.Fail, fs[boils].Verdict)
	assert.Equal(t, "in start-line", fs[boils].Remark)
	assert.Equal(t, check.Fail, fs[lasts].Verdict)
	assert.Zero(t, fs[lasts].Value)

	// Without a duty the mean is judged, and nothing lasts; a car at rest without a fan has no air.
	fs = find(func(trim *spec.Trim) { trim.Cooling.Duty = nil })
	assert.NotContains(t, fs, lasts)
	assert.Equal(t, fs[oil].Remark, fs[hot].Remark)
	fs = find(func(trim *spec.Trim) {
		trim.Cooling.Duty, trim.Cooling.RoadSpeed, trim.Cooling.Circuit.Draught.Fan = nil, 0, 0
	})
	assert.Equal(t, check.Fail, fs[boils].Verdict)
	assert.True(t, math.IsNaN(fs[boils].Value))
	assert.Equal(t, "no air goes through the radiator; steady at 0 km/h and 50 % of the heat of full load", units.Resolve(fs[boils].Remark, units.Metric))
	assert.Equal(t, check.Fail, fs[oil].Verdict)
	assert.Contains(t, fs[oil].Remark, "no air goes through the oil cooler; ")

	fs = find(func(trim *spec.Trim) { trim.Limits.OilTemperature = 350 })
	assert.Equal(t, check.Fail, fs[oil].Verdict)
	assert.NotContains(t, find(func(trim *spec.Trim) { trim.Limits.OilTemperature = 0 }), oil)
	assert.NotContains(t, find(func(trim *spec.Trim) { trim.Cooling.Oil = nil }), oil)
	assert.Empty(t, find(func(trim *spec.Trim) { trim.Cooling = nil }))
	fs = find(func(trim *spec.Trim) { trim.Cooling.Duty.Rounds, trim.Limits.CoolantTemperature = 3, 0 })
	assert.Regexp(t, `^in \S+, round [123]$`, fs[boils].Remark)
	fs = find(func(trim *spec.Trim) {
		trim.Cooling.Load = 0.05
		trim.Cooling.Duty.Sections = trim.Cooling.Duty.Sections[:1]
	})
	assert.True(t, math.IsNaN(fs[lasts].Value))
	assert.Equal(t, "every section for ever: the coolant settles below 118 degC", units.Resolve(fs[lasts].Remark, units.Metric))
}
