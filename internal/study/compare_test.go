package study

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/check"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
	"bellmouth/internal/units"
)

func figure(id string, kind units.Kind, x float64) Figure {
	return Figure{ID: id, What: id, Kind: kind, Value: x, Speed: math.NaN()}
}

func finding(id string, x float64, v check.Verdict) Figure {
	f := figure(id, units.Fraction, x)
	f.Judged, f.Verdict = true, v
	return f
}

// TestCompareOrder holds differences and their order against figures worked by hand.
func TestCompareOrder(t *testing.T) {
	none := math.NaN()
	a := &Variant{Figures: []Figure{
		figure("torque", units.Torque, 500), figure("power", units.Power, 200e3), figure("from-nothing", units.Force, 0), figure("below", units.Force, -40),
		figure("chokes", units.Speed, none), finding("surge", 0.10, check.OK), finding("knock-unmet", none, check.Fail),
	}}
	b := &Variant{Figures: []Figure{
		figure("torque", units.Torque, 490), figure("power", units.Power, 230e3), figure("from-nothing", units.Force, 5), figure("below", units.Force, -30),
		figure("chokes", units.Speed, none), finding("surge", 0.02, check.Fail), finding("late", 0.5, check.Note),
	}}
	got := Compare([]*Variant{a, b}, 0)
	var order []string
	byID := map[string]*Comparison{}
	for i := range got {
		order = append(order, got[i].ID)
		byID[got[i].ID] = &got[i]
	}
	// Only in one, or from nothing; then 10 of 40, 30 of 200, eight points of a share, 10 of 500, and what neither has.
	assert.Equal(t, []string{"from-nothing", "knock-unmet", "late", "below", "power", "surge", "torque", "chokes"}, order)
	for id, want := range map[string][2]float64{"torque": {-10, -0.02}, "power": {30e3, 0.15}, "below": {10, 0.25}, "surge": {-0.08, -0.08}} {
		e := byID[id].Of[1]
		assert.InDelta(t, want[0], e.Difference, 1e-9, id)
		assert.InDelta(t, want[1], e.Relative, 1e-9, id)
		assert.True(t, math.IsNaN(byID[id].Of[0].Difference), id)
	}
	assert.InDelta(t, 10.0/490, Compare([]*Variant{a, b}, 1)[6].Of[0].Relative, 1e-9, "the other way round")
	assert.True(t, math.IsNaN(byID["from-nothing"].Of[1].Relative))
	changes := map[string]bool{"surge": true, "knock-unmet": true, "late": true}
	for id, c := range byID {
		assert.Equal(t, changes[id], c.VerdictChanges(0, 1), id)
		assert.False(t, c.VerdictChanges(1, 1), id)
	}
}

// TestWorst: the least margin, of shares as it is and of the rest over the limit; a note past its figure passes no limit.
func TestWorst(t *testing.T) {
	v := Variant{Findings: []check.Finding{
		{ID: "reached", Kind: units.GaugePressure, Value: 0.5e5, Limit: 1e5, Floor: true, Verdict: check.Note},
		{ID: "pressure", Kind: units.Pressure, Value: 100e5, Limit: 125e5},
		{ID: "force", Kind: units.Force, Value: 3, Limit: 0, Floor: true},
		{ID: "surge", Kind: units.Fraction, Value: 0.13, Limit: 0.03, Floor: true},
		{ID: "nothing", Kind: units.Pressure, Value: math.NaN(), Limit: math.NaN(), Verdict: check.Fail},
	}}
	f, share, ok := v.Worst()
	require.True(t, ok)
	assert.Equal(t, "surge", f.ID)
	assert.InDelta(t, 0.10, share, 1e-12)
	v.Findings = append(v.Findings, check.Finding{ID: "speed", Kind: units.Speed, Value: 110, Limit: 100, Verdict: check.Fail})
	f, share, _ = v.Worst()
	assert.Equal(t, "speed", f.ID)
	assert.InDelta(t, -0.1, share, 1e-12)
	_, _, ok = (&Variant{}).Worst()
	assert.False(t, ok)
}

// TestHottestCoolant: the figure of the hottest coolant is the run's where there is no limit of it, and the check's where there is.
func TestHottestCoolant(t *testing.T) {
	r := runtest.Solved(t, spectest.ClubFour, "free", 4000, 6000, 8000)
	c, err := r.Cooling()
	require.NoError(t, err)
	hot, err := c.Hottest()
	require.NoError(t, err)
	all := cooled(r)
	require.Len(t, all, 1)
	assert.Equal(t, "coolant-temperature", all[0].ID)
	assert.InDelta(t, hot.Temperature, all[0].Value, 1e-12)
	assert.InDelta(t, 7000*spectest.PerRPM, all[0].Speed, 1e-9, "on the straights")
	r.Trim.Limits.CoolantTemperature = 400
	assert.Empty(t, cooled(r))
	r.Trim.Limits.CoolantTemperature, r.Trim.Cooling.Duty.Sections[0].RoadSpeed = 0, 0 // no fan
	assert.False(t, math.IsInf(cooled(r)[0].Value, 1), "34 s are not for ever")
	r.Trim.Cooling = nil
	assert.Empty(t, cooled(r))
}
