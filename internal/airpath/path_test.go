package airpath

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/compressor"
	"bellmouth/internal/refdata"
)

// measured returns NASA's measured stage scaled down: flow by a factor, speed up by its root, as geometrically similar stages do.
func measured(t testing.TB, divisor float64) *compressor.Map {
	t.Helper()
	var lines []compressor.Line
	name := ""
	for _, r := range refdata.Read(t, "hecc_vaned_map.csv") {
		if r["speed_line_pct"] != name {
			name = r["speed_line_pct"]
			lines = append(lines, compressor.Line{})
		}
		l := &lines[len(lines)-1]
		l.Points = append(l.Points, compressor.Point{
			Flow: r.F(t, "corrected_flow_kg_s") / divisor, PressureRatio: r.F(t, "pressure_ratio"), Efficiency: r.F(t, "isentropic_efficiency"),
		})
		l.Speed += r.F(t, "corrected_speed_rpm") * rpm * math.Sqrt(divisor)
	}
	for i := range lines {
		lines[i].Speed /= float64(len(lines[i].Points))
	}
	return must(compressor.NewMap(compressor.Reference{Temperature: 288.15, Pressure: 101325}, lines))
}

// twoLitre returns the rally four on NASA's stage.
func twoLitre(t testing.TB, divisor float64) Setup {
	s := rally()
	s.Compressor = &Compressor{Map: measured(t, divisor), Count: 1}
	return s
}

// jumps reports whether the boost jumps between two speeds: it differs by more than a share however near the speeds are brought to each
// other. It returns the points on both sides of the jump.
func jumps(v *Solver, target func(speed float64) Demand, a, b Point) (lo, hi Point, jump bool, err error) {
	const far = 0.02
	for b.Speed-a.Speed > 0.003*rpm {
		mid, err := v.Solve(target((a.Speed + b.Speed) / 2))
		if err != nil {
			return a, b, false, err
		}
		left := math.Abs(mid.ManifoldPressure - a.ManifoldPressure)
		if right := math.Abs(b.ManifoldPressure - mid.ManifoldPressure); left > right {
			b = mid
		} else {
			a = mid
		}
		if math.Abs(b.ManifoldPressure-a.ManifoldPressure) < far*a.ManifoldPressure/2 {
			return a, b, false, nil
		}
	}
	return a, b, math.Abs(b.ManifoldPressure-a.ManifoldPressure) > far*a.ManifoldPressure/2, nil
}

// named reports whether a point says that there is another state nearby: a second steady state, or a knock that neither phasing keeps.
func named(p *Point) bool {
	return p.Notes&(NoteTwoStates|NoteKnockUnmet|NotePeakPressureUnmet) != 0
}

func TestBoostDoesNotHop(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	points, refused, folds := 0, 0, 0
	for i := range drawn(200) {
		s := random(r)
		for s.Compressor == nil {
			s = random(r)
		}
		if i%4 == 0 {
			venue := s.Venue
			s = twoLitre(t, 6+14*r.Float64())
			s.Venue = venue
		}
		e, err := New(s)
		require.NoError(t, err)
		v := e.NewSolver()
		boost := 0.2e5 + 2.2e5*r.Float64()
		target := func(speed float64) Demand { return demand(&s, speed, boost) }
		from := (1500 + 6000*r.Float64()) * rpm
		last := Point{}
		for k := range 30 {
			p, err := v.Solve(target(from + float64(10*k)*rpm))
			points++
			if err != nil {
				var pe *PointError
				require.True(t, errors.As(err, &pe))
				refused++
				if pe.Stage == "air path" || pe.Stage == "EGT and CA50" {
					t.Errorf("engine %d: %v", i, err)
				}
				last = Point{}
				continue
			}
			if last.Speed > 0 && math.Abs(p.ManifoldPressure-last.ManifoldPressure) > 0.02*p.ManifoldPressure {
				a, b, jump, err := jumps(v, target, last, p)
				if err == nil && jump {
					if folds++; !named(&a) && !named(&b) {
						t.Errorf("engine %d: boost hops between %.3f and %.3f rpm from %.4g (%v, knock %.3f) to %.4g Pa (%v, knock %.3f)", i,
							a.Speed/rpm, b.Speed/rpm, a.ManifoldPressure, a.Limits.Names(a.Limit), a.KnockIntegral, b.ManifoldPressure, b.Limits.Names(b.Limit), b.KnockIntegral)
					}
				}
			}
			last = p
		}
	}
	t.Logf("%d points, %d refused, %d folds", points, refused, folds)
}

// More asked for is never less reached.
func TestMoreAskedNeverLessBoost(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	for i := range drawn(200) {
		s := random(r)
		for s.Compressor == nil {
			s = random(r)
		}
		if i%4 == 0 {
			s = twoLitre(t, 6+14*r.Float64())
		}
		e, err := New(s)
		require.NoError(t, err)
		v := e.NewSolver()
		speed := (1500 + 6000*r.Float64()) * rpm
		last := Point{}
		for boost := -0.2e5; boost < 2.8e5; boost += 0.1e5 {
			p, err := v.Solve(demand(&s, speed, boost))
			if err != nil {
				continue
			}
			// Where knock holds the boost, its integral is solved to 1e-5, which is 3e-6 of the pressure.
			if !(p.ManifoldPressure >= last.ManifoldPressure*(1-5e-6)) {
				t.Errorf("engine %d, %.1f rpm, boost %.3g: %.6g Pa (%v, knock %.4f), before %.6g Pa (%v, knock %.4f)", i, speed/rpm, boost, p.ManifoldPressure,
					p.Limits.Names(p.Limit), p.KnockIntegral, last.ManifoldPressure, last.Limits.Names(last.Limit), last.KnockIntegral)
			}
			last = p
		}
	}
}

// The state with the wastegate held shut is the first at which the way up comes to rest, whichever way it was found.
func TestOverpullIsTheFirstRest(t *testing.T) {
	r := rand.New(rand.NewPCG(77, 78))
	count := 0
	for range 150 {
		s := random(r)
		if s.Restrictor == nil || s.Turbine == nil {
			continue
		}
		v := must(New(s)).NewSolver()
		for n := 3000.0; n <= 7000; n += 1000 {
			p, err := v.Solve(demand(&s, n*rpm, 160e3))
			if err != nil || p.Limit != Restrictor {
				continue
			}
			pull, err := v.Overpull()
			if err != nil {
				continue
			}
			v.w.t.shut, v.w.t.target = true, v.want
			v.w.s.bounds[Target] = targetBound(v.e, &v.w.t, &v.w.s)
			here := v.remember()
			if !(here.rise > 0) {
				continue
			}
			a, b, found, err := v.next(here, 1)
			require.NoError(t, err)
			require.True(t, found)
			require.NoError(t, v.rest(a, b))
			assert.InEpsilon(t, v.w.s.shaft, pull.ShaftSpeed, 3e-4, "%v rpm", n)
			count++
		}
	}
	assert.Greater(t, count, 50)
}
