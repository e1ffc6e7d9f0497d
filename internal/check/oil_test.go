package check_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/numeric"
	"bellmouth/internal/oil"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/units"
)

// oiled returns a run of the example without its points solved.
func oiled(t *testing.T, change func(trim *spec.Trim)) *run.Run {
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	change(trim)
	r := &run.Run{Trim: trim}
	for _, speed := range spectest.Speeds(1500, 7500, 1000) {
		r.Outcomes = append(r.Outcomes, boost.Outcome{Speed: speed})
	}
	return r
}

// TestSump: a pickup that uncovers below what the car reaches fails, one that does not is judged by how long the supply lasts.
func TestSump(t *testing.T) {
	find := func(change func(trim *spec.Trim)) []check.Finding {
		fs, err := check.Sump(oiled(t, change))
		require.NoError(t, err)
		return fs
	}
	fs := find(func(*spec.Trim) {})
	require.Len(t, fs, 2)
	assert.Equal(t, check.OK, fs[0].Verdict)
	assert.Equal(t, check.OK, fs[1].Verdict)
	assert.Greater(t, fs[0].Value, fs[0].Limit)

	fs = find(func(trim *spec.Trim) { trim.Sump.Circulation.Time = fs[1].Value * 1.001 })
	assert.Equal(t, check.Fail, fs[1].Verdict)
	assert.Equal(t, "accelerating in a left turn, 60 deg; the pickup uncovers before the longest corner ends", units.Resolve(fs[1].Remark, units.Metric))

	fs = find(func(trim *spec.Trim) { trim.Sump.Circulation.Back = 1 }) // the gate alone still ends, and all the oil does not
	assert.Equal(t, check.OK, fs[1].Verdict)
	assert.True(t, math.IsNaN(fs[1].Value))
	assert.Equal(t, "as much comes back as goes up: it lasts for ever", fs[1].Remark)

	fs = find(func(trim *spec.Trim) { trim.Sump.Oil = 2.6e-3 })
	require.Len(t, fs, 2)
	assert.Equal(t, check.Fail, fs[0].Verdict)
	assert.Less(t, fs[0].Value, fs[0].Limit)
	assert.Equal(t, check.Fail, fs[1].Verdict, "a supply that is not there does not last, and is told all the same")
	assert.Zero(t, fs[1].Value)

	fs = find(func(trim *spec.Trim) { trim.Sump.Oil = 2e-3 }) // 0.6 L are left on 400 × 240 mm: less than the pickup wants, standing still
	assert.Equal(t, "with the car at rest; the pump draws air, and the bearings run dry", fs[0].Remark)
	assert.Zero(t, fs[0].Value)

	assert.Empty(t, find(func(trim *spec.Trim) { trim.Car = nil }), "nothing to hold it against")
	assert.Empty(t, find(func(trim *spec.Trim) { trim.Sump = nil }))
	assert.Len(t, find(func(trim *spec.Trim) { trim.Sump.Circulation = nil }), 1)
}

// TestDoPickup: what is to be done names the fill that stays covered, the direction, and what there is to be done about the gate.
func TestDoPickup(t *testing.T) {
	do := func(change func(trim *spec.Trim)) string {
		f, err := check.Sump(oiled(t, change))
		require.NoError(t, err)
		require.Equal(t, check.Fail, f[0].Verdict)
		return units.Resolve(check.DoPickup(oiled(t, change), &f[0]), units.Metric)
	}
	// By the table of fills by direction the example wants 5.24 L.
	assert.Regexp(t, `^Fill 5\.3 L of oil, or cover the pickup's gate: it uncovers at 0\.9\d of 1\.25 g accelerating in a (left|right) turn, 6\d deg\.$`,
		do(func(trim *spec.Trim) { trim.Sump.Oil = 4.4e-3 }))
	reshaped := func(change func(s *oil.Shape), litres float64) func(trim *spec.Trim) {
		return func(trim *spec.Trim) {
			shape := trim.Sump.Shape.Shape()
			change(&shape)
			made, err := oil.NewSump(shape)
			require.NoError(t, err)
			trim.Sump.Shape, trim.Sump.Capacity, trim.Sump.Oil = made, made.Capacity(), litres*1e-3
		}
	}
	assert.Regexp(t, `^Fill \S+ L of oil, or hold it at the pickup with a gate: `, do(reshaped(func(s *oil.Shape) { s.Gate = nil }, 4)))
	low := func(s *oil.Shape) { s.Gate, s.Shelf, s.Depth, s.Pickup.Height = nil, nil, 0.06, 0.055 }
	assert.Regexp(t,
		`^Move the pickup, hold it at the pickup with a gate, or fit a dry sump: it uncovers at \S+ of \S+ g .*, and no fill that is held covers it\.$`,
		do(reshaped(low, 5.7)))
}

// TestOilPump: too little for the turning bearings fails; a pressure below the spec's own floor fails, below common practice it is noted.
func TestOilPump(t *testing.T) {
	find := func(change func(trim *spec.Trim)) []check.Finding {
		fs, err := check.OilPump(oiled(t, change))
		require.NoError(t, err)
		return fs
	}
	fs := find(func(*spec.Trim) {})
	require.Len(t, fs, 2)
	judged(t, fs[0], true, check.OK)
	judged(t, fs[1], true, check.OK)
	low := func(given bool) func(trim *spec.Trim) {
		return func(trim *spec.Trim) {
			trim.Oil.Circuit.Relief, trim.Oil.FloorGiven = 3e5, given
		}
	}
	fs = find(low(false))
	assert.Equal(t, check.Note, fs[1].Verdict)
	assert.InDelta(t, 7500*spectest.PerRPM, fs[1].Speed, 1e-9)
	assert.InDelta(t, 7.5*10*6894.757, fs[1].Limit, 1)
	assert.Equal(t, check.Fail, find(low(true))[1].Verdict)
	fs = find(func(trim *spec.Trim) {
		pump := *trim.Oil.Pump
		pump.Efficiency = numeric.Constant(0.03)
		trim.Oil.Pump = &pump
	})
	require.Len(t, fs, 1)
	assert.Equal(t, check.Fail, fs[0].Verdict)
	assert.Empty(t, find(func(trim *spec.Trim) { trim.Oil = nil }))
	assert.Empty(t, find(func(trim *spec.Trim) { trim.Oil.Pump = nil }))
}

// TestScavenge: pumps that bring less oil than goes through the engine let the tank run empty.
func TestScavenge(t *testing.T) {
	find := func(displacement float64) []check.Finding {
		fs, err := check.Scavenge(oiled(t, func(trim *spec.Trim) {
			trim.Sump.Scavenge = &spec.Scavenge{Pump: oil.Pump{Displacement: displacement, Ratio: 0.5, Efficiency: numeric.Constant(0.75)}, Air: 0.45}
		}))
		require.NoError(t, err)
		require.Len(t, fs, 1)
		return fs
	}
	f := find(24e-6)[0]
	assert.Equal(t, check.Fail, f.Verdict)
	assert.InDelta(t, 2500*spectest.PerRPM, f.Speed, 1e-9, "where the pressure pump has just come to its relief pressure")
	judged(t, find(50e-6)[0], true, check.OK)
	fs, err := check.Scavenge(oiled(t, func(*spec.Trim) {}))
	assert.NoError(t, err)
	assert.Empty(t, fs)
}

func TestDirectionText(t *testing.T) {
	for degrees, want := range map[float64]string{
		0: "accelerating", 360: "accelerating", 90: "in a left turn", 270: "in a right turn", -90: "in a right turn", 180: "braking", -180: "braking",
		30: "accelerating in a left turn, 30 deg", 135: "braking in a left turn, 135 deg", 300: "accelerating in a right turn, 60 deg",
	} {
		assert.Equal(t, want, units.Resolve(check.DirectionText(degrees*math.Pi/180), units.Metric), "%v", degrees)
	}
}
