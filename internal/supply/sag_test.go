package supply_test

import (
	"math"
	"testing"

	"bellmouth/internal/injector"
	"bellmouth/internal/numeric"
	"bellmouth/internal/supply"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A point of an invented engine. Cycle 20 ms at 6000 rpm; primary 8.2875 mg/ms at 3 bar and 765 kg/m³, dead time from 1 ms
// at 14 V to 2 ms at 10 V in a straight line; 5 cylinders with 100 mg a cycle, that is 25 g/s, 117.647 l/h.
func sag(t testing.TB) *supply.Sag {
	t.Helper()
	dead, err := numeric.NewCurve([]float64{10, 14}, []float64{2e-3, 1e-3})
	require.NoError(t, err)
	return &supply.Sag{
		// Straight pump, tested at 13 V: 400 l/h down to 8 bar. By the motor's law Q = 400 (V/13 − Δp/8 bar) l/h.
		System: &supply.System{Pumps: straight(t, 13, 400, 8)},
		Rail:   supply.Rail{Pressure: 3 * bar, FollowsManifold: true},
		Staging: &injector.Staging{Primary: injector.Set{PerCylinder: 1, Injector: injector.Injector{RatedFlow: 650e-6 / 60, TestPressure: 3 * bar,
			TestDensity: 765, DeadTime: dead, ShortestPulse: 2.2e-3}}},

		ManifoldPressure: 2 * bar, VenuePressure: 1 * bar, Speed: 6000 * math.Pi / 30, Cylinders: 5, FuelPerCycle: 100e-6,
		Liquid: supply.Liquid{Density: 765, Viscosity: 0.5e-3}, DutyLimit: 0.70,
	}
}

func over(t testing.TB, s *supply.Sag, from, to, step float64) supply.SagResult {
	t.Helper()
	r, err := s.Over(from, to, step)
	require.NoError(t, err)
	return r
}

func TestSagByHand(t *testing.T) {
	// Rail 4 bar above the venue: Q = 400 (V/13 − 0.5) l/h. The pump is short from 117.647 l/h down:
	// V = 13 (0.5 + 0.294118) = 10.323529 V. With no margin asked, margin and rail pass together.
	s := sag(t)
	r := over(t, s, 14, 10, 0.5)
	require.Len(t, r.Rows, 9)
	assert.Equal(t, 14.0, r.Rows[0].Voltage)
	assert.Equal(t, 10.0, r.Rows[8].Voltage)
	require.Len(t, r.Breaks, 3)
	first, some := r.First()
	require.True(t, some)
	assert.Equal(t, supply.SagPumpMargin, first.Limit)
	assert.False(t, first.AtStart)
	const demand = 25.0 / 765 * 3600 / 400 // of the pump's 400 l/h
	assert.InDelta(t, 13*(0.5+demand), first.Voltage, 1e-8)
	assert.Equal(t, supply.SagRail, r.Breaks[1].Limit)
	assert.InDelta(t, 13*(0.5+demand), r.Breaks[1].Voltage, 1e-8)
	// Then the rail falls, Δp = 8 (V/13 − 0.294118) − 1 bar, and the dead time grows, 1 + (14 − V)/4 ms, until the pulse of
	// 100/(8.2875 √(Δp/3)) ms and the dead time are 70 % of 20 ms.
	assert.Equal(t, supply.SagPrimaryDuty, r.Breaks[2].Limit)
	v := r.Breaks[2].Voltage
	dp := 8*(v/13-demand) - 1
	assert.InDelta(t, 14, 100/(8.2875*math.Sqrt(dp/3))+1+(14-v)/4, 1e-7)

	for _, row := range r.Rows {
		assert.InEpsilon(t, 400*(row.Voltage/13-0.5)*litre, row.Supply.PumpFlow, 1e-9)
		assert.True(t, row.Delivered)
	}
	assert.InDelta(t, 3*bar, r.Rows[0].PressureDifference, 1e-6)
	assert.InEpsilon(t, (100/8.2875+1)/20, r.Rows[0].Injection.Primary.Duty, 1e-9)
}

func TestSagSays(t *testing.T) {
	t.Run("a margin passes first", func(t *testing.T) {
		s := sag(t)
		s.LeastMargin = 0.2
		first, _ := supplyFirst(t, s)
		assert.Equal(t, supply.SagPumpMargin, first.Limit)
		assert.InDelta(t, 13*(0.5+1.2*25.0/765*3600/400), first.Voltage, 1e-8)
	})
	t.Run("injectors first", func(t *testing.T) {
		// A duty limit of 68 %: pulse 13.6 ms, dead time 1.533635 ms, 11.865460 V at the injectors, with half a volt lost
		// on the way 12.365460 V at the battery. The pump loses 1 V: 11.323529 V.
		s := sag(t)
		s.DutyLimit, s.InjectorDrop, s.PumpDrop = 0.68, 0.5, 1
		r := over(t, s, 14, 11, 0.25)
		require.Len(t, r.Breaks, 3)
		assert.Equal(t, supply.SagPrimaryDuty, r.Breaks[0].Limit)
		assert.InDelta(t, 14-4*(13.6-100/8.2875-1)+0.5, r.Breaks[0].Voltage, 1e-8)
		assert.Equal(t, supply.SagPumpMargin, r.Breaks[1].Limit)
		assert.InDelta(t, 13*(0.5+25.0/765*3600/400)+1, r.Breaks[1].Voltage, 1e-8)
	})
	t.Run("a falling rail takes the injectors along", func(t *testing.T) {
		// With a constant dead time of 1 ms only the rail moves the duty: √(Δp/3 bar) = 100/8.2875/(0.66 · 20 − 1), where the pump
		// gives 117.647 l/h at Δp + 1 bar: V = 13 ((Δp + 1 bar)/8 bar + 0.294118).
		s := sag(t)
		s.DutyLimit = 0.66
		s.Staging.Primary.Injector.DeadTime = numeric.Constant(1e-3)
		r := over(t, s, 14, 10, 0.5)
		require.Len(t, r.Breaks, 3)
		assert.Equal(t, supply.SagPrimaryDuty, r.Breaks[2].Limit)
		share := 100 / 8.2875 / 12.2
		assert.InDelta(t, 13*((3*share*share+1)/8+25.0/765*3600/400), r.Breaks[2].Voltage, 1e-8)
	})
	t.Run("broken from the start", func(t *testing.T) {
		s := sag(t)
		s.DutyLimit = 0.5
		first, _ := supplyFirst(t, s)
		assert.Equal(t, supply.SagBreak{Limit: supply.SagPrimaryDuty, Voltage: 14, AtStart: true}, first)
	})
	t.Run("all holds", func(t *testing.T) {
		s := sag(t)
		s.FuelPerCycle = 40e-6
		_, some := supplyFirst(t, s)
		assert.False(t, some)
	})
	t.Run("two sets", func(t *testing.T) {
		s := sag(t)
		s.Staging.Secondary = s.Staging.Primary
		s.Staging.StartDuty, s.Staging.Blend, s.DutyLimit = 0.3, 0.1, 0.38
		// Each set has half: 50/8.2875 ms; 38 % is 7.6 ms, dead time 1.566817 ms, 11.732730 V, and both pass at once.
		r := over(t, s, 14, 11, 0.5)
		require.Len(t, r.Breaks, 2)
		assert.Equal(t, supply.SagPrimaryDuty, r.Breaks[0].Limit)
		assert.Equal(t, supply.SagSecondaryDuty, r.Breaks[1].Limit)
		for _, b := range r.Breaks {
			assert.InDelta(t, 14-4*(7.6-50/8.2875-1), b.Voltage, 1e-8)
		}
	})
	t.Run("starved", func(t *testing.T) {
		s := sag(t)
		s.FuelPerCycle = 330e-6
		s.Rail.Pressure = 1 * bar
		r := over(t, s, 14, 12, 1)
		last := r.Rows[len(r.Rows)-1]
		assert.False(t, last.Delivered)
		assert.Zero(t, last.PressureDifference)
		assert.Zero(t, last.Injection)
		assert.NotZero(t, last.Supply.Notes&supply.NoteStarved)
	})
}

// TestSagOfARailThatHolds: without a fuel system the injectors keep their 3 bar, only the dead time grows, and how thick the fuel is does not
// count. At 70 % of 20 ms the pulse is 14 ms: 100/8.2875 ms and a dead time of 1.933635 ms, 10.265460 V.
func TestSagOfARailThatHolds(t *testing.T) {
	s := sag(t)
	s.System, s.Liquid.Viscosity, s.LeastMargin = nil, 0, 0.1
	r := over(t, s, 14, 10, 0.5)
	require.Len(t, r.Rows, 9)
	for _, row := range r.Rows {
		assert.Zero(t, row.Supply)
		assert.InDelta(t, 3*bar, row.PressureDifference, 1e-6)
		assert.InEpsilon(t, (100/8.2875+1+(14-row.Voltage)/4)/20, row.Injection.Primary.Duty, 1e-9)
	}
	require.Len(t, r.Breaks, 1, "no pumps, no margin and no rail to break")
	assert.Equal(t, supply.SagPrimaryDuty, r.Breaks[0].Limit)
	assert.InDelta(t, 14-4*(14-100/8.2875-1), r.Breaks[0].Voltage, 1e-8)

	s.Rail = supply.Rail{Pressure: 3 * bar} // above the venue: 2 bar over the injectors under 1 bar of boost, none under 3
	assert.InDelta(t, 2*bar, over(t, s, 14, 14, 1).Rows[0].PressureDifference, 1e-6)
	s.ManifoldPressure = 4 * bar
	none := over(t, s, 14, 14, 1).Rows[0]
	assert.False(t, none.Delivered)
	assert.Zero(t, none.PressureDifference)
}

func supplyFirst(t testing.TB, s *supply.Sag) (supply.SagBreak, bool) {
	t.Helper()
	r := over(t, s, 14, 11, 0.25)
	return r.First()
}

func TestSagIsMonotone(t *testing.T) {
	s := sag(t)
	s.System = fitted(t)
	s.Rail.Pressure = 3.5 * bar
	r := over(t, s, 14, 10, 0.05)
	require.Len(t, r.Rows, 81)
	for i := 1; i < len(r.Rows); i++ {
		before, now := r.Rows[i-1], r.Rows[i]
		assert.Less(t, now.Voltage, before.Voltage)
		assert.Less(t, now.Supply.PumpFlow, before.Supply.PumpFlow)
		assert.Less(t, now.Supply.Margin, before.Supply.Margin)
		assert.LessOrEqual(t, now.PressureDifference, before.PressureDifference+1e-6)
		assert.Greater(t, now.Injection.Primary.DeadTime, before.Injection.Primary.DeadTime)
		assert.Greater(t, now.Injection.Primary.Duty, before.Injection.Primary.Duty)
	}
	for i := 1; i < len(r.Breaks); i++ {
		assert.LessOrEqual(t, r.Breaks[i].Voltage, r.Breaks[i-1].Voltage)
	}
	for _, b := range r.Breaks {
		assert.NotContains(t, b.Limit.String(), "limit ")
	}
	// Coarser steps find the same voltages.
	assert.Len(t, over(t, s, 14, 10, 4).Rows, 2)
	coarse := over(t, s, 14, 10, 4)
	require.Len(t, coarse.Breaks, len(r.Breaks))
	for i, b := range r.Breaks {
		assert.InDelta(t, b.Voltage, coarse.Breaks[i].Voltage, 2e-9)
	}
	assert.Len(t, over(t, s, 12, 12, 1).Rows, 1)
}

func TestSagRefusals(t *testing.T) {
	for _, p := range []struct {
		change func(*supply.Sag)
		want   string
	}{
		{func(s *supply.Sag) { s.System, s.Liquid = nil, supply.Liquid{Viscosity: 0.5e-3} }, "fuel density is 0 kg/m³; want more than 0"},
		{func(s *supply.Sag) { s.Staging = nil }, "there are no injectors"},
		{func(s *supply.Sag) { s.DutyLimit = 0 }, "duty limit is 0; want more than 0 and at most 1"},
		{func(s *supply.Sag) { s.FuelPerCycle = math.NaN() }, "fuel of a cycle is NaN kg; want more than 0"},
		{func(s *supply.Sag) { s.Cylinders = 0 }, "there are 0 cylinders; want 1 or more"},
		{func(s *supply.Sag) { s.PumpDrop = -1 }, "voltage drop to the pumps is -1 V; want 0 or more"},
		{func(s *supply.Sag) { s.LeastMargin = -1 }, "least pump margin is -1; want 0 or more"},
		{func(s *supply.Sag) { s.Liquid.Density = 0 }, "fuel density is 0 kg/m³; want more than 0"},
	} {
		s := sag(t)
		p.change(s)
		_, err := s.Over(14, 11, 0.5)
		assert.EqualError(t, err, p.want)
	}
	s := sag(t)
	for _, v := range [][3]float64{{11, 14, 1}, {14, 11, 0}, {14, 0, 1}, {math.NaN(), 11, 1}, {math.Inf(1), 11, 1}} {
		_, err := s.Over(v[0], v[1], v[2])
		assert.ErrorContains(t, err, "want falling ones above 0")
	}
	_, err := s.Over(14, 11, 1e-3)
	assert.ErrorContains(t, err, "want at most 1000 steps")
	_, err = s.Over(14, 9, 0.5)
	assert.ErrorContains(t, err, "battery at 9.5 V: voltage at the pumps is 9.5 V; the pumps are known from 9.75 to 16.25 V")
}
