package airpath

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The whole plane of speed and manifold pressure, from 0.3 bar absolute to the full-load line and past it: the same conservation
// as at full load, and part load meets full load without a step.
func TestPartLoadPlane(t *testing.T) {
	for name, s := range map[string]Setup{"restricted": invented(), "open": unrestricted(), "aspirated": aspirated(), "twin": twin()} {
		e, err := New(s)
		require.NoError(t, err)
		v := e.NewSolver()
		for n := 1500.0; n <= 7800; n += 450 {
			last := Point{}
			for pm := 30e3; pm <= 280e3; pm += 12.5e3 {
				p, err := v.Solve(Demand{Speed: n * rpm, Target: pm, Throttled: true})
				if !assert.NoError(t, err, "%s %v rpm %v Pa", name, n, pm) {
					continue
				}
				closed(t, v, &p, name)
				if p.Limit == Throttle {
					assert.InEpsilon(t, pm, p.ManifoldPressure, 1e-12)
					assert.Positive(t, p.ThrottleLoss)
				} else {
					assert.Zero(t, p.ThrottleLoss)
				}
				if last.AirFlow > 0 {
					assert.GreaterOrEqual(t, p.AirFlow, last.AirFlow*(1-1e-6), "%s: more pressure never less air: %v rpm %v Pa", name, n, pm)
				}
				last = p
			}
		}
	}
}

func TestPartLoadRandom(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	points, failed := 0, 0
	for range 150 {
		s := random(r)
		e, err := New(s)
		require.NoError(t, err)
		v := e.NewSolver()
		for n := 1500.0; n <= 8000; n += 1300 {
			pm := 30e3 + 100e3*r.Float64()
			points++
			p, err := v.Solve(Demand{Speed: n * rpm, Target: pm, Throttled: true})
			if err != nil {
				failed++
				continue
			}
			closed(t, v, &p, "random engine at part load")
		}
	}
	t.Logf("%d points, %d without a solution", points, failed)
	assert.Less(t, failed, points/50)
}

// Full load that is known already is what part load finds by itself: the same mixture, and so the same point.
func TestPartLoadFromKnownFullLoad(t *testing.T) {
	compared := 0
	r := rand.New(rand.NewPCG(7, 8))
	for range 60 {
		s := random(r)
		s.Mixture.PartLoad, s.Mixture.From, s.Mixture.To = 1, 0.7, 0.95
		e, err := New(s)
		require.NoError(t, err)
		finds, told := e.NewSolver(), e.NewSolver()
		for n := 1500.0; n <= 8000; n += 2100 {
			full := Demand{Speed: n * rpm, Target: s.Venue.Pressure * (1 + r.Float64())}
			if s.Compressor == nil {
				full.Target = math.Inf(1)
			}
			p, err := finds.Solve(full)
			if err != nil {
				continue
			}
			part := Demand{Speed: n * rpm, Target: p.ManifoldPressure * (0.6 + 0.35*r.Float64()), Throttled: true}
			want, err := finds.Solve(part)
			if err != nil {
				continue
			}
			part.Full = p.ManifoldPressure
			got, err := told.Solve(part)
			require.NoError(t, err)
			assert.InEpsilon(t, want.Lambda, got.Lambda, 1e-6, "%v rpm", n)
			assert.InEpsilon(t, want.Torque, got.Torque, 1e-5, "%v rpm", n)
			compared++
		}
	}
	assert.Greater(t, compared, 150)
}

// Where the throttle has just nothing left to take, part load is full load with the wastegate wide open.
func TestPartLoadMeetsFullLoad(t *testing.T) {
	s := unrestricted()
	e, err := New(s)
	require.NoError(t, err)
	v := e.NewSolver()
	open, err := v.Solve(Demand{Speed: 5000 * rpm, Target: 60e3})
	require.NoError(t, err)
	require.Equal(t, Creep, open.Limit, "the wastegate wide open")
	below, err := v.Solve(Demand{Speed: 5000 * rpm, Target: open.ManifoldPressure * 0.9999, Throttled: true})
	require.NoError(t, err)
	assert.Equal(t, Throttle, below.Limit)
	assert.InEpsilon(t, open.AirFlow, below.AirFlow, 3e-4)
	assert.InEpsilon(t, open.Torque, below.Torque, 3e-4)
	above, err := v.Solve(Demand{Speed: 5000 * rpm, Target: open.ManifoldPressure * 1.0001, Throttled: true})
	require.NoError(t, err)
	assert.Equal(t, Target, above.Limit)
	assert.InEpsilon(t, open.AirFlow, above.AirFlow, 3e-4)
	assert.False(t, math.Signbit(above.ThrottleLoss))
}

// With a spring that holds the gate, part load lies at a higher exhaust pressure: the gate is shut, or the spring's pressure is
// held, and part load meets full load where the spring's boost is asked for.
func TestPartLoadOnTheSpring(t *testing.T) {
	s := unrestricted()
	e, err := New(s)
	require.NoError(t, err)
	v := e.NewSolver()
	const held = 165e3
	shut, holding := 0, 0
	for n := 1500.0; n <= 7800; n += 450 {
		for pm := 30e3; pm <= 250e3; pm += 12.5e3 {
			p, err := v.Solve(Demand{Speed: n * rpm, Target: pm, Throttled: true, HeldOutlet: held})
			require.NoError(t, err, "%v rpm %v Pa", n, pm)
			closed(t, v, &p, "on the spring")
			open, err := v.Solve(Demand{Speed: n * rpm, Target: pm, Throttled: true})
			require.NoError(t, err)
			if p.Limit != Throttle {
				continue
			}
			assert.InEpsilon(t, pm, p.ManifoldPressure, 1e-12)
			switch {
			case p.WastegateFlow == 0:
				shut++
				assert.LessOrEqual(t, p.CompressorOutlet, held*(1+1e-6))
			default:
				holding++
				assert.InEpsilon(t, held, p.CompressorOutlet, 1e-6)
			}
			assert.GreaterOrEqual(t, p.TurbineInletPressure, open.TurbineInletPressure*(1-1e-6))
			assert.LessOrEqual(t, p.AirFlow, open.AirFlow*(1+1e-6), "back pressure takes air")
		}
	}
	assert.Greater(t, shut, 20)
	assert.Greater(t, holding, 20)

	// The manifold pressure that the spring alone leads to with the throttle wide open, from either side.
	full, err := v.Solve(Demand{Speed: 5500 * rpm, Target: 155e3})
	require.NoError(t, err)
	part, err := v.Solve(Demand{Speed: 5500 * rpm, Target: 155e3 * 0.9999, Throttled: true, HeldOutlet: full.CompressorOutlet})
	require.NoError(t, err)
	assert.Equal(t, Throttle, part.Limit)
	assert.InEpsilon(t, full.AirFlow, part.AirFlow, 3e-4)
	assert.InEpsilon(t, full.WastegateFlow, part.WastegateFlow, 3e-3)
}

func BenchmarkPartLoad(b *testing.B) {
	e := must(New(unrestricted()))
	v := e.NewSolver()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := v.Solve(Demand{Speed: 4000 * rpm, Target: 60e3, Throttled: true}); err != nil {
			b.Fatal(err)
		}
	}
}
