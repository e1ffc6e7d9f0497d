package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/injector"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
	"bellmouth/internal/supply"
	"bellmouth/internal/units"
)

// TestSag: the row of the spec's voltage is the operating point of the full load; the pumps are short just below the voltage
// found, and not above it.
func TestSag(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 7500)
	all, b, err := r.Sags()
	require.NoError(t, err)
	require.NoError(t, b.Why)
	require.True(t, b.Pumped)
	p := &r.Outcomes[0].Point
	assert.InDelta(t, 13.5, all[0].Rows[1].Voltage, 1e-12)
	assert.InEpsilon(t, p.Injection.Primary.Duty, all[0].Rows[1].Injection.Primary.Duty, 1e-9)
	assert.InEpsilon(t, p.Injection.Secondary.Pulse, all[0].Rows[1].Injection.Secondary.Pulse, 1e-9)
	weakest, err := r.Weakest(p, b)
	require.NoError(t, err)
	assert.Equal(t, *all[0].Weakest(), weakest)
	assert.InDelta(t, 11, weakest.Voltage, 1e-12)

	// A single pump of 150 L/h at 5.55 bar and 12 V.
	r = runtest.Solved(t, spectest.Hillclimb, "open", 5000, 7500)
	spectest.FitPumps(r.Trim, spectest.Pump(t, map[float64]float64{0: 230, 3: 185, 5: 159, 8: 110}, 0, 3, 5, 8))
	all, b, err = r.Sags()
	require.NoError(t, err)
	worst := run.WorstSag(all)
	require.Len(t, worst.Rows, 7)
	last := math.Inf(1)
	for _, row := range worst.Rows {
		assert.Less(t, row.Supply.PumpFlow, last, "less voltage, less flow")
		last = row.Supply.PumpFlow
	}
	breaks := r.Breaks(all, b.Pumped)
	require.Len(t, breaks, 3)
	assert.Equal(t, supply.SagPumpMargin, breaks[0].Limit)
	assert.InDelta(t, 7500*spectest.PerRPM, breaks[0].Speed, 1e-9)
	assert.Same(t, &breaks[0], run.FirstBreak(breaks))
	liquid, err := r.Liquid()
	require.NoError(t, err)
	o := &r.Outcomes[1].Point
	margin := func(battery float64) float64 {
		op, err := r.Trim.Supply.System.At(supply.State{
			Voltage: battery - 0.3, RailPressure: 4e5 + o.ManifoldPressure - r.Trim.Venue.Pressure, Demand: o.FuelFlow / liquid.Density, Liquid: liquid,
		})
		require.NoError(t, err)
		return op.Margin
	}
	assert.InDelta(t, 0.3, r.PumpDrop(), 1e-12, "13.5 V at the injectors, 13.2 V at the pumps")
	assert.Negative(t, margin(breaks[0].Voltage-1e-6))
	assert.Positive(t, margin(breaks[0].Voltage+1e-6))
}

// TestSagOfInjectors: without pumps the duty alone rises with the dead time, and the voltage found is where it passes its limit.
func TestSagOfInjectors(t *testing.T) {
	breaks := func(rpm ...float64) (*run.Run, []run.Break) {
		r := runtest.Solved(t, spectest.Hillclimb, "open", rpm...)
		r.Trim.Supply = nil
		r.Trim.Limits.InjectorDuty = 0.615
		all, b, err := r.Sags()
		require.NoError(t, err)
		require.False(t, b.Pumped)
		require.NoError(t, b.Why)
		return r, r.Breaks(all, b.Pumped)
	}
	_, found := breaks(5000, 5500, 7500)
	require.Len(t, found, 2)
	assert.True(t, found[0].AtStart, "the primary passes 61.5 % at 14 V already at 5500 rpm")

	r, found := breaks(5000, 7500)
	o := &r.Outcomes[0].Point
	density, err := r.Trim.Fuel.Grade.DensityAt(303.15)
	require.NoError(t, err)
	duty := func(voltage float64) float64 {
		s, err := r.Trim.Injection.Staging.Split(o.FuelPerCycle, injector.Conditions{Speed: o.Speed, PressureDifference: 4e5, FuelDensity: density, Voltage: voltage})
		require.NoError(t, err)
		return s.Primary.Duty
	}
	assert.Equal(t, supply.SagPrimaryDuty, found[0].Limit)
	assert.Greater(t, duty(found[0].Voltage-1e-3), 0.615)
	assert.Less(t, duty(found[0].Voltage+1e-3), 0.615)
	assert.Equal(t, supply.SagSecondaryDuty, found[1].Limit)
	assert.False(t, found[1].Passed, "the secondary holds")
}

// TestSagWithoutThePumps: pumps that the voltages cannot be judged with are left out, and why is told in the units of their data sheet.
func TestSagWithoutThePumps(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 7500)
	spectest.FitPumps(r.Trim, spectest.Pump(t, map[float64]float64{0: 400, 3: 350}, 0, 3))
	all, b, err := r.Sags()
	require.NoError(t, err)
	assert.Len(t, all, 1)
	assert.False(t, b.Pumped)
	assert.Equal(t, "pressure that the pumps have to give is 5.55 bar; the pumps' curve tells from 0.00 bar to 3.00 bar",
		units.Resolve(b.Why.Error(), units.Metric))
}

// TestWorstSag: what breaks at the highest voltage is the worst; of those that hold it is the one with the highest duty in the end.
func TestWorstSag(t *testing.T) {
	made := func(speed, breaks, duty float64) run.Sagging {
		row := supply.SagRow{Delivered: true, Injection: injector.Split{Primary: injector.Delivery{Duty: duty}, Secondary: injector.Delivery{Duty: 0.1}}}
		s := run.Sagging{Speed: speed, SagResult: supply.SagResult{Rows: []supply.SagRow{{}, row}}}
		if breaks > 0 {
			s.Breaks = []supply.SagBreak{{Limit: supply.SagPrimaryDuty, Voltage: breaks}}
		}
		return s
	}
	assert.InDelta(t, 200, run.WorstSag([]run.Sagging{made(100, 0, 0.5), made(200, 0, 0.7), made(300, 0, 0.6)}).Speed, 0)
	all := []run.Sagging{made(100, 0, 0.99), made(200, 11.5, 0.7), made(300, 12.5, 0.6)}
	assert.InDelta(t, 300, run.WorstSag(all).Speed, 0)
	breaks := (&run.Run{Trim: spectest.Trim(t, spectest.ClubFour, "free"), Context: t.Context()}).Breaks(all, true)
	require.Len(t, breaks, 2, "one set of injectors")
	assert.False(t, breaks[0].Passed)
	assert.InDelta(t, 12.5, breaks[1].Voltage, 0)
	assert.InDelta(t, 300, breaks[1].Speed, 0)
	assert.Same(t, &breaks[1], run.FirstBreak(breaks))
	assert.Nil(t, run.FirstBreak(breaks[:1]))

	dry := made(400, 0, 0)
	dry.Rows[1].Delivered = false
	assert.True(t, math.IsInf(run.HighestDuty(dry.Weakest()), 1))
}
