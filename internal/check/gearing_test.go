package check

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/gearing"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/units"
)

// geared returns a run of the example with a torque, N m, from 1500 rpm to its limiter, of gears from 12 to 1 down that lose nothing and tyres that take all.
func geared(t *testing.T, torque func(rpm float64) float64, limiter float64, change func(trim *spec.Trim), ratios ...float64) *run.Run {
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	trim.Engine.Limiter = limiter * spectest.PerRPM
	car := *trim.Car
	car.Grip, car.DragArea, car.RollingResistance, car.WheelInertia = 5, 0, 0, 0
	trim.Car = &car
	trim.Driveline = spec.Driveline{Gears: ratios, Final: 1, Efficiency: make([]float64, len(ratios)), Shift: gearing.Shift{Kept: 1}}
	for i := range ratios {
		trim.Driveline.Efficiency[i] = 1
	}
	if change != nil {
		change(trim)
	}
	r := &run.Run{Trim: trim}
	for n := 1500.0; n <= limiter; n += 500 {
		r.Outcomes = append(r.Outcomes, boost.Outcome{Speed: n * spectest.PerRPM, Point: airpath.Point{Torque: torque(n)}})
	}
	return r
}

// TestShortGear: with flat torque the thrust falls as the ratios do, from 10 to 8.6 by 14 %, from 8.6 to 7.2 by 16.28 %. With torque over 1/rpm, which is
// constant power, it does not fall at all.
func TestShortGear(t *testing.T) {
	flat := func(float64) float64 { return 300 }
	fs := gearsOf(t, geared(t, flat, 7000, nil, 10, 8.6, 7.2))
	require.Len(t, fs, 1)
	assert.Equal(t, shortGear, fs[0].ID)
	assert.Equal(t, Note, fs[0].Verdict)
	assert.InDelta(t, 1-7.2/8.6, fs[0].Value, 1e-9)
	assert.Equal(t, "in gear 2: the limiter comes before the best upshift", fs[0].Remark)
	assert.Equal(t, "Raise engine.limiter if the engine may turn faster, or bring gears 2 and 3 closer: an upshift at 7000 rpm loses 16.3 % of the thrust.",
		units.Resolve(doShortGear(nil, &fs[0]), units.Metric))
	assert.Empty(t, gearsOf(t, geared(t, flat, 7000, nil, 10, 8.6)), "fourteen per cent are nothing to tell")
	assert.Empty(t, gearsOf(t, geared(t, func(rpm float64) float64 { return 2e6 / rpm }, 7000, nil, 10, 8, 6)))
	assert.Empty(t, gearsOf(t, geared(t, func(rpm float64) float64 { return 500 - rpm/14 }, 7000, nil, 10, 8, 6)), "the upshift comes first")
	assert.Empty(t, gearsOf(t, geared(t, flat, 7000, func(trim *spec.Trim) { trim.Car.Grip = 0.3 }, 10, 8, 7)), "the tyres take no more in either")
	assert.Empty(t, gearsOf(t, geared(t, flat, 7000, func(trim *spec.Trim) { trim.Car = nil }, 10, 8)))
	one := geared(t, flat, 7000, nil, 10, 8)
	one.Outcomes = one.Outcomes[:1]
	assert.Empty(t, gearsOf(t, one))
	assert.Empty(t, gearsOf(t, geared(t, flat, 7000, nil, 10)), "one gear has no upshift")
}

// TestUselessGear: flat torque T against drag alone reaches √(2 T i/(r ρ Cd A)): a longer gear whose limiter does not come first is the slower one, as √i.
func TestUselessGear(t *testing.T) {
	dragged := func(trim *spec.Trim) { trim.Car.DragArea = 3 }
	r := geared(t, func(float64) float64 { return 300 }, 7000, dragged, 10, 5, 4, 3)
	fs := gearsOf(t, r)
	require.NotEmpty(t, fs)
	f := fs[0]
	longer := gearsOf(t, geared(t, func(float64) float64 { return 300 }, 7000, dragged, 10, 5, 4, 3, 2.5))
	assert.Len(t, longer, len(fs), "one that is longer still is not told")
	assert.Equal(t, f, longer[0])
	assert.Equal(t, uselessGear, f.ID)
	assert.Equal(t, Note, f.Verdict)
	top := func(ratio float64) float64 { return math.Sqrt(2 * 300 * ratio / (0.298 * 1.1485 * 3)) }
	assert.InEpsilon(t, top(4), f.Limit, 1e-4)
	assert.InEpsilon(t, top(3), f.Value, 1e-4)
	assert.Equal(t, "gear 4 does not get the car faster than gear 3", f.Remark)
	assert.Equal(t, "Shorten gear 4 or the final drive: the car reaches 151 km/h in it, and 174 km/h in gear 3.", units.Resolve(doUselessGear(nil, &f),
		units.Metric))
	f.Value = 0
	assert.Equal(t, "Shorten gear 4 or the final drive: it does not pull the car, and gear 3 reaches 174 km/h.", units.Resolve(doUselessGear(nil, &f),
		units.Metric))
}

func gearsOf(t testing.TB, r *run.Run) []Finding {
	t.Helper()
	fs, err := Gears(r)
	require.NoError(t, err)
	return fs
}

// TestFindingsHaveTheGears: an engine held to 5500 rpm far below its peak of power is told so among the findings, with what to do.
func TestFindingsHaveTheGears(t *testing.T) {
	trim := spectest.Trim(t, spectest.ClubFour, "free")
	trim.Engine.Limiter = 5500 * spectest.PerRPM
	findings, err := At(runtest.Solve(t, trim, 2500, 4000, 5500)).Findings()
	require.NoError(t, err)
	i := slices.IndexFunc(findings, func(f Finding) bool { return f.ID == shortGear })
	require.GreaterOrEqual(t, i, 0)
	assert.Contains(t, units.Resolve(findings[i].Do, units.Metric), "bring gears 1 and 2 closer: an upshift at 5500 rpm loses 2")
}
