package injector_test

import (
	"fmt"
	"math"
	"testing"

	"bellmouth/internal/injector"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func wish() injector.Wish {
	return injector.Wish{Conditions: []injector.Conditions{conditions()}, PulseMargin: 0.25, DutyCeiling: 0.80, Blend: 0.20}
}

func TestSuggestStartByHand(t *testing.T) {
	// Primary 8.2875 mg/ms after 1.0 ms, shortest 1.6 ms; secondary 10.8375 mg/ms after 1.1 ms, shortest 1.7 ms; 20 ms a
	// cycle; S = 850/1500. A quarter more than the shortest pulses is 2.0 ms and 2.125 ms: 8.2875 mg and 11.1084375 mg.
	// 11.1084375/S = 19.603125 mg; 8.2875/(1 − S) = 19.125 mg; together 19.3959 mg. The first decides:
	// (19.603125/8.2875 + 1)/20 = 0.1682692.
	s := staging(t)
	x, err := s.SuggestStart(wish())
	require.NoError(t, err)
	assert.InDelta(t, 0.168269231, x.StartDuty, 1e-9)
	assert.Equal(t, injector.SecondaryPulse, x.Reason)
	assert.Equal(t, 0.20, x.Blend)
	assert.Equal(t, 0.80, x.Latest)
	// It comes in with its shortest pulse: 6.5025 of 19.603125 mg.
	assert.InDelta(t, 6.5025/19.603125, x.LeastShare, 1e-9)
	assert.InDelta(t, 6.5025/19.603125, x.MostShare, 1e-9)

	// A primary that meters only from 3 ms on, 3.75 ms with the margin: 22.790625 mg over 1 − S is 52.5937 mg, more than the
	// sum of 33.8991 mg.
	s.Primary.Injector.ShortestPulse = 3e-3
	x, err = s.SuggestStart(wish())
	require.NoError(t, err)
	assert.Equal(t, injector.PrimaryPulse, x.Reason)
	assert.InDelta(t, (52.59375/8.2875+1)/20, x.StartDuty, 1e-9)
}

func TestSuggestBlendUnderTheCeiling(t *testing.T) {
	// With a start late and a ceiling just above it, a wide blend would let the primary run on past the ceiling.
	s := staging(t)
	s.Primary.Injector.ShortestPulse = 9e-3 // 11.25 ms with the margin: 84.946875 mg, 196.0312 mg by 1 − S, duty 1.2327
	w := wish()
	_, err := s.SuggestStart(w)
	var start *injector.StartError
	require.ErrorAs(t, err, &start)
	assert.InDelta(t, (84.946875/(1-850.0/1500)/8.2875+1)/20, start.Lowest, 1e-9)
	assert.ErrorContains(t, err, "above the ceiling of 0.8: primary pulse beside the full share")

	s = staging(t)
	s.Secondary.Injector.RatedFlow = 150 * ccPerMinute // S = 0.1875: the primary hardly notices
	w.DutyCeiling, w.Blend = 0.5, 0.6
	x, err := s.SuggestStart(w)
	require.NoError(t, err)
	assert.Less(t, x.Blend, 0.6)
	assert.Greater(t, x.Blend, 0.0)
	assert.InDelta(t, 0.5, x.PeakDuty, 1e-9)
	// Past the start the primary has, at the band's end, (1 − S) of the fuel: (start + blend − dead) (1 − S) + dead = ceiling.
	const dead = 1.0 / 20
	assert.InDelta(t, 0.5, (x.StartDuty+x.Blend-dead)*(1-0.1875)+dead, 1e-9)
}

// Over a plane of engine speed and manifold pressure the sets, staged as suggested, give together what is wanted: the
// total follows the fuel wanted with no step, and no set leaves its range.
func TestNoStepOverThePlane(t *testing.T) {
	const (
		most    = 230e-6 // kg a cycle at 3 bar; fuel goes with the pressure
		tol     = 1e-9
		lowest  = 0.25
		highest = 3.0
	)
	at := func(speed, bar float64) injector.Conditions {
		c := conditions()
		c.Speed = speed * rpm
		c.PressureDifference = 4e5 - 0.2e5*bar // a rail that follows the manifold incompletely
		return c
	}
	s := staging(t)
	w := wish()
	w.Conditions = nil
	for _, speed := range []float64{1500, 4000, 7800} {
		for _, bar := range []float64{lowest, highest} {
			w.Conditions = append(w.Conditions, at(speed, bar))
		}
	}
	x, err := s.SuggestStart(w)
	require.NoError(t, err)
	s.StartDuty, s.Blend = x.StartDuty, x.Blend
	require.NoError(t, s.Validate())

	for speed := 1500.0; speed <= 7800; speed += 175 {
		before, wantedBefore := 0.0, 0.0
		for i := 0; i <= 500; i++ {
			bar := lowest + (highest-lowest)*float64(i)/500
			c := at(speed, bar)
			wanted := most * bar / highest
			got := split(t, s, wanted, c)
			total := got.Primary.Fuel + got.Secondary.Fuel
			where := fmt.Sprintf("%v rpm, %v bar", speed, bar)
			require.InDelta(t, 1, total/wanted, tol, where)
			require.Zero(t, got.Surplus, where)
			// What the pulses give, from the injectors' own flow and dead time, is that fuel.
			pulses := 0.0
			for _, p := range []struct {
				d  injector.Delivery
				in injector.Injector
			}{{got.Primary, s.Primary.Injector}, {got.Secondary, s.Secondary.Injector}} {
				if p.d.Pulse > 0 {
					dead, _ := p.in.DeadTime.At(c.Voltage)
					pulses += (p.d.Pulse - dead) * p.in.MassFlow(c.PressureDifference, c.FuelDensity)
					require.GreaterOrEqual(t, p.d.Pulse, p.in.ShortestPulse*(1-tol), where)
				}
			}
			require.InDelta(t, 1, pulses/wanted, tol, where)
			if i > 0 {
				require.InDelta(t, wanted-wantedBefore, total-before, tol*most, where)
			}
			if got.Mode == injector.PrimaryOnly || got.Mode == injector.Blending {
				require.LessOrEqual(t, got.Primary.Duty, w.DutyCeiling*(1+tol), where)
				require.LessOrEqual(t, got.Primary.Duty, x.PeakDuty*(1+tol), where)
			}
			if got.Mode == injector.Both {
				require.GreaterOrEqual(t, got.Primary.Pulse, s.Primary.Injector.ShortestPulse*1.25*(1-tol), where)
				require.GreaterOrEqual(t, got.Secondary.Pulse, s.Secondary.Injector.ShortestPulse*1.25*(1-tol), where)
			}
			before, wantedBefore = total, wanted
		}
	}
}

// A start a little below the one suggested, with no blend, breaks the margin; the suggested one keeps it.
func TestSuggestedStartIsTheLowest(t *testing.T) {
	s, w := staging(t), wish()
	w.Blend = 0
	x, err := s.SuggestStart(w)
	require.NoError(t, err)
	for _, p := range []struct {
		duty  float64
		keeps bool
	}{{x.StartDuty * (1 + 1e-6), true}, {x.StartDuty * (1 - 1e-3), false}} {
		s.StartDuty, s.Blend = p.duty, 0
		c := conditions()
		fuel := (p.duty*injector.CycleTime(c.Speed) - 1e-3) * s.Primary.Injector.MassFlow(c.PressureDifference, c.FuelDensity)
		got := split(t, s, fuel*(1+1e-9), c)
		require.Equal(t, injector.Both, got.Mode)
		keeps := got.Secondary.Pulse >= 1.25*1.7e-3 && got.Primary.Pulse >= 1.25*1.6e-3
		assert.Equal(t, p.keeps, keeps, "start %v", p.duty)
	}
}

func TestSuggestRefusals(t *testing.T) {
	for _, p := range []struct {
		change func(*injector.Wish)
		want   string
	}{
		{func(w *injector.Wish) { w.Conditions = nil }, "there are no conditions to stage for"},
		{func(w *injector.Wish) { w.PulseMargin = math.NaN() }, "margin of the pulses is NaN; want 0 or more"},
		{func(w *injector.Wish) { w.DutyCeiling = 1.2 }, "duty ceiling is 1.2; want more than 0 and at most 1"},
		{func(w *injector.Wish) { w.Blend = -1 }, "blend wished is -1; want 0 or more"},
		{func(w *injector.Wish) { w.Conditions[0].Voltage = 0 }, "condition 1: supply voltage is 0 V; want more than 0"},
	} {
		s, w := staging(t), wish()
		p.change(&w)
		_, err := s.SuggestStart(w)
		assert.EqualError(t, err, p.want)
	}
	s := staging(t)
	s.Secondary.PerCylinder = 0
	_, err := s.SuggestStart(wish())
	assert.EqualError(t, err, "there is no second set to bring in")
}
