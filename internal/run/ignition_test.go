package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
)

// TestSupplyVoltages: the spec's own among those of its system.
func TestSupplyVoltages(t *testing.T) {
	assert.Equal(t, []float64{14, 13.5, 12, 11}, run.SupplyVoltages(13.5))
	assert.Equal(t, []float64{14, 12, 11}, run.SupplyVoltages(14))
	assert.Equal(t, []float64{28, 27, 24, 22}, run.SupplyVoltages(27))
	assert.Equal(t, []float64{14, 12, 11, 6}, run.SupplyVoltages(6))
}

// TestCoilRecords: 2.9 mH, 0.55 Ω, 12 V across the winding at 13.5 V, 8 A needed.
//
//	t = −2.9 mH/0.55 Ω · ln(1 − 8 · 0.55/12) = 2.408 ms; ½ · 2.9 mH · 8² = 92.8 mJ
//	4π/(2.408 ms + 1.4 ms) = 3300 rad/s = 31510 rpm; at 6000 rpm 20 ms between sparks: room 18.6 ms
func TestCoilRecords(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 3000, 4500, 6000)
	charges := r.CoilCharges()
	require.Len(t, charges, 4)
	own := charges[1]
	assert.InDelta(t, 13.5, own.Voltage, 1e-12)
	assert.InDelta(t, 2.408e-3, own.Dwell, 1e-6)
	assert.InDelta(t, 8, own.Current, 1e-9)
	assert.InDelta(t, 92.8e-3, own.Energy, 1e-6)
	assert.InDelta(t, 38e3, own.AvailableVoltage, 1e-6)
	assert.InDelta(t, 31510, own.TopSpeed/spectest.PerRPM, 5)
	require.NotNil(t, own.LeastAt)
	assert.InDelta(t, 4500, own.LeastAt.Speed/spectest.PerRPM, 1e-9, "where the gas is densest")
	firings := r.CoilFirings()
	require.Len(t, firings, 3)
	assert.InDelta(t, 18.6e-3, firings[2].Room, 1e-9)
	assert.False(t, firings[2].Shortened)

	r.Trim.Ignition.Coil.RatedCurrent = 0
	assert.False(t, r.CoilRated())
	assert.False(t, r.GapKnown())
	r.Trim.Ignition = nil
	assert.Nil(t, r.Coil())
}

// TestGapAtTheSpark: the breakdown law at the spark's own pressure and temperature, and the widest gap put back into it.
func TestGapAtTheSpark(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 4500)
	p := &r.Outcomes[0].Point
	law := func(gap float64) float64 { // kV of the gap, m
		delta := p.SparkPressure / 1e5 * gap * 100 * 293.15 / p.SparkTemperature // bar cm
		return 24.36*delta + 6.72*math.Sqrt(delta)
	}
	needed, err := r.BreakdownVoltage(p)
	require.NoError(t, err)
	assert.InDelta(t, law(0.5e-3), needed/1e3, 1e-6)
	margin, err := r.VoltageMargin(p, 13.5)
	require.NoError(t, err)
	assert.InDelta(t, 1-law(0.5e-3)/38, margin, 1e-9)
	widest, err := r.WidestGap(p, 13.5, 0.2)
	require.NoError(t, err)
	assert.InDelta(t, 0.8*38, law(widest), 1e-6)

	early := *p
	early.SparkPressure = 0
	_, err = r.VoltageMargin(&early, 13.5)
	assert.ErrorIs(t, err, run.ErrEarlySpark)
}
