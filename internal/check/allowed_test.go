package check

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/numeric"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// What is allowed, asked for, passes every check; a little more is either not to be had, since the limit ends it, or passes the limit named.
func TestAllowedIsTheHighest(t *testing.T) {
	for _, name := range []string{"open", "capped"} {
		r := runtest.Solved(t, spectest.Hillclimb, name, 3500, 4500, 5500, 6500, 7500)
		a := Allowed(r)
		var speeds, boosts []float64
		v := r.Engine.NewSolver()
		for i := range a.Speeds {
			o := &a.Speeds[i]
			require.NoError(t, o.Err)
			assert.Empty(t, fails(r, &o.Outcome), "%s, %v rpm", name, run.RPM(o.Speed))
			speeds, boosts = append(speeds, o.Speed), append(boosts, o.Boost(r.Trim.Venue.Pressure))
			more := o.Point.ManifoldPressure + 2*AllowedWithin
			p, err := v.Solve(airpath.Demand{Speed: o.Speed, Target: more})
			require.NoError(t, err)
			beyond := o.Outcome
			beyond.Point = p
			assert.True(t, fails(r, &beyond) != "" || p.ManifoldPressure < more-AllowedWithin, "%s, %v rpm: %v", name, run.RPM(o.Speed), o.By)
		}
		target, err := numeric.NewCurve(speeds, boosts)
		require.NoError(t, err)
		trim := spectest.Trim(t, spectest.Hillclimb, name)
		trim.Boost.Target = target
		again, err := run.Solve(t.Context(), "check", trim, speeds)
		require.NoError(t, err)
		for i := range again.Outcomes {
			assert.InDelta(t, boosts[i], again.Outcomes[i].Boost(trim.Venue.Pressure), 2*AllowedWithin)
		}
		for _, m := range InputOf(again).Margins() {
			f, ok := m.Finding(again.Outcomes)
			if ok {
				assert.NotEqual(t, Fail, f.Verdict, "%s: %s", name, m.ID)
			}
		}
	}
}

// Each limit tightened sets the boost allowed, under its name.
func TestEachLimitSetsTheBoostAllowed(t *testing.T) {
	for want, tighten := range map[string]func(trim *spec.Trim){
		"EGT":            func(trim *spec.Trim) { trim.Limits.TurbineInletTemperature = 273.15 + 950 },
		"gearbox torque": func(trim *spec.Trim) { trim.Driveline.TorqueLimit = 420 },
		"shaft speed":    func(trim *spec.Trim) { trim.Compressor.SpeedLimit = 100000 * spectest.PerRPM },
		"injector":       func(trim *spec.Trim) { trim.Limits.InjectorDuty = 0.55 },
		"cylinder pressure": func(trim *spec.Trim) {
			trim.Limits.PeakCylinderPressure, trim.Engine.Combustion.LatestCA50 = 95e5, 14*math.Pi/180
			trim.Engine.Combustion.KnockLimit, trim.Manifold = 1.4, nil
		},
		"knock": func(trim *spec.Trim) { trim.Engine.Combustion.LatestCA50, trim.Manifold = 10*math.Pi/180, nil },
		"fuel pump margin": func(trim *spec.Trim) {
			trim.Supply.System.Pumps = spectest.Pump(t, map[float64]float64{0: 90, 8: 80}, 0, 8)
		},
		"knock integral of the worst cylinder": func(*spec.Trim) {},
	} {
		trim := spectest.Trim(t, spectest.Hillclimb, "open")
		tighten(trim)
		r, err := run.Solve(t.Context(), "boost", trim, []float64{5000 * spectest.PerRPM})
		require.NoError(t, err)
		o := &Allowed(r).Speeds[0]
		if !assert.NoError(t, o.Err, want) {
			continue
		}
		assert.True(t, strings.HasPrefix(o.By, want), "%s: set by %s", want, o.By)
	}
}

// Nothing is allowed where a limit is passed at the least boost too, and that is said; the line for a spec leaves such a speed out.
func TestNothingAllowed(t *testing.T) {
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	trim.Limits.TurbineInletTemperature = 273.15 + 600
	r, err := run.Solve(t.Context(), "boost", trim, []float64{5000 * spectest.PerRPM, 7000 * spectest.PerRPM})
	require.NoError(t, err)
	a := Allowed(r)
	assert.EqualError(t, a.Speeds[0].Err, "fails at the least boost too: EGT")
	_, ok := a.AsTarget()
	assert.False(t, ok)
}

// The line for a spec: rounded down, clear of the limit, and asked for by the next speed that has a limit where the turbine gives no more.
func TestAllowedAsTarget(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "capped", 2000, 5000, 7000)
	a := Allowed(r)
	line, ok := a.AsTarget()
	require.True(t, ok)
	require.True(t, a.Speeds[0].Turbine && !a.Speeds[1].Turbine && !a.Speeds[2].Turbine)
	var at2000, at5000, at7000 float64
	_, err := fmt.Sscanf(line, "target: {2000 rpm: %f bar, 5000 rpm: %f bar, 7000 rpm: %f bar}", &at2000, &at5000, &at7000)
	require.NoError(t, err, line)
	assert.Equal(t, at5000, at2000)
	for i, bar := range map[int]float64{1: at5000, 2: at7000} {
		under := a.Speeds[i].Boost(r.Trim.Venue.Pressure) - bar*1e5
		assert.True(t, under >= 1e3 && under < 2e3, "%s: %v Pa under what is allowed", line, under)
	}
}
