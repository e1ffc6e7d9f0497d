package airpath

import (
	"errors"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/turbine"
)

// pulsed returns an engine with its turbine driven by pulses through manifolds of 300 mm of pipe a cylinder.
func pulsed(s Setup, entries int) Setup {
	head := s.Valves.ExhaustDiameter
	s.Pulses = &Pulses{Entries: entries, Volume: float64(s.Cylinders)*0.3*2*0.785*head*head + 0.3e-3}
	return s
}

// Mass, shaft power and energy close to 1e-6 with pulses as without, in every trim and at random.
func TestConservationPulsed(t *testing.T) {
	for name, s := range map[string]Setup{
		"single": pulsed(unrestricted(), 1), "restricted": pulsed(invented(), 1), "divided": pulsed(invented(), 2), "twin": pulsed(twin(), 1),
	} {
		e, err := New(s)
		require.NoError(t, err)
		v := e.NewSolver()
		for n := 1500.0; n <= 7800; n += 300 {
			p, err := v.Solve(demand(&s, n*rpm, 160e3))
			if assert.NoError(t, err, "%s %v rpm", name, n) {
				closed(t, v, &p, name)
				assert.Zero(t, p.Notes&(NotePulsesUnsettled|NotePulsesUnknown), "%s %v rpm", name, n)
				assert.True(t, p.Pulse.Flow > 0.4 && p.Pulse.Flow < 1.01 && p.Pulse.Power > 0.9 && p.Pulse.Power < 2.5, "%s %v rpm: %+v", name, n, p.Pulse)
			}
		}
	}
	r := rand.New(rand.NewPCG(7, 8))
	points, unsolved, unsettled, unknown := 0, 0, 0, 0
	for i := range 100 {
		s := random(r)
		if s.Turbine != nil {
			// random draws nozzles for the mean flow. Of that a nozzle passes 0.6 to 0.9 under pulses, and the boost of an engine without
			// a wastegate that suits it would run away more often for that reason alone.
			s.Turbine.EffectiveArea /= 0.75
			s = pulsed(s, 1+r.IntN(2))
		}
		e, err := New(s)
		require.NoError(t, err, i)
		boost := 0.3e5 + 2.2e5*r.Float64()
		v := e.NewSolver()
		for n := 1500.0; n <= 8000; n += 1300 {
			points++
			p, err := v.Solve(demand(&s, n*rpm, boost))
			if err != nil {
				var pe *PointError
				assert.True(t, errors.As(err, &pe) && pe.Stage != "", "%v", err)
				unsolved++
				continue
			}
			closed(t, v, &p, "random engine")
			if p.Notes&NotePulsesUnsettled != 0 {
				unsettled++
			}
			if p.Notes&NotePulsesUnknown != 0 {
				unknown++
			}
		}
	}
	t.Logf("%d points, %d without a solution, %d with pulses unsettled, %d unknown", points, unsolved, unsettled, unknown)
	// More run away than by the mean flow (one in thirty): a nozzle that suits it is too small for the pulses of one or two cylinders.
	// What stays unsettled is mostly out of its knock limit, where each state may have its own phasing, or next to no boost.
	assert.Less(t, unsolved, points/10)
	assert.Less(t, unsettled, points/20)
}

// threshold returns the lowest engine speed, rpm, at which a boost, Pa, is reached.
func threshold(t *testing.T, s Setup, boost float64) float64 {
	e, err := New(s)
	require.NoError(t, err)
	v := e.NewSolver()
	for n := 1500.0; n <= 7000; n += 20 {
		p, err := v.Solve(demand(&s, n*rpm, boost))
		require.NoError(t, err, "%v rpm", n)
		if p.ManifoldPressure-s.Venue.Pressure > 0.98*boost {
			return n
		}
	}
	return 7000
}

// Common practice, no source: pulses bring the boost in at a lower engine speed than the mean flow would, and two entries, which keep
// the cylinders apart, lower still.
func TestPulsesBringBoostEarlier(t *testing.T) {
	s := rally()
	steady := threshold(t, s, 120e3)
	one := threshold(t, pulsed(s, 1), 120e3)
	two := threshold(t, pulsed(s, 2), 120e3)
	t.Logf("1.2 bar from %v rpm by the mean flow, %v rpm with pulses, %v rpm with two entries", steady, one, two)
	assert.Less(t, one, steady)
	assert.Less(t, two, one)
}

// In the limit of an endless manifold the pulses are gone, and the point is that of the mean flow, to the tolerance of the factors.
func TestEndlessManifoldIsSteady(t *testing.T) {
	s := unrestricted()
	for _, n := range []float64{2000, 3000, 5000} {
		steady := solved(t, s, n*rpm, 120e3)
		s := s
		s.Pulses = &Pulses{Entries: 1, Volume: 0.8}
		p := solved(t, s, n*rpm, 120e3)
		assert.InEpsilon(t, steady.ManifoldPressure, p.ManifoldPressure, 2e-3, "%v rpm", n)
		assert.InEpsilon(t, steady.ExpansionRatio, p.ExpansionRatio, 2e-3, "%v rpm", n)
		assert.Equal(t, turbine.Pulse{}, steady.Pulse)
	}
}

func TestPulsesRefused(t *testing.T) {
	s := pulsed(invented(), 3)
	_, err := New(s)
	assert.ErrorContains(t, err, "3 entries of a turbine; want 1 or 2")
	s = pulsed(invented(), 1)
	s.Pulses.Volume = 1e-6
	_, err = New(s)
	assert.ErrorContains(t, err, "manifold of one turbine entry")
}

func BenchmarkPulsedPoint(b *testing.B) {
	for name, s := range map[string]Setup{"steady": unrestricted(), "pulsed": pulsed(unrestricted(), 1)} {
		s.Combustion.KnockLimit = 5
		for _, n := range []float64{2500, 5000} {
			b.Run(name+map[float64]string{2500: "/spool", 5000: "/target"}[n], func(b *testing.B) {
				v := must(New(s)).NewSolver()
				d := demand(&s, n*rpm, 160e3)
				b.ReportAllocs()
				var p Point
				for b.Loop() {
					var err error
					if p, err = v.Solve(d); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(p.Cycles), "cycles")
			})
		}
	}
}
