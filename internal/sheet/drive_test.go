package sheet

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/boost"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
)

// driveOf returns what the car of a changed trim does, solved up to a share of its limiter.
func driveOf(t testing.TB, path, name string, share float64, change func(trim *spec.Trim)) *Drive {
	t.Helper()
	trim := trimOf(t, path, name)
	if change != nil {
		change(trim)
	}
	r, err := Solve(t.Context(), "gearing", trim, boost.Speeds(2000*perRPM, share*trim.Engine.Limiter, 1500*perRPM))
	require.NoError(t, err)
	d, err := r.Drive(run.Place{})
	require.NoError(t, err)
	return d
}

// TestDownshiftTable: into first at the limiter of 8000 rpm the engine comes from 8000 · 2.10/2.85 = 5894.7 rpm; 0.09 kg m² by 2105.3 rpm in 180 ms are
// 110.23 N m. 205/50R15 rolls 3.05 (15 · 25.4 + 205) mm a turn, 8000/(2.85 · 4.30) turns a minute are 70.005 km/h.
func TestDownshiftTable(t *testing.T) {
	d := driveOf(t, clubFour, "free", 1, nil)
	down, ok, err := d.DownshiftTable()
	require.NoError(t, err)
	require.True(t, ok)
	require.Len(t, down.Rows, 4)
	for key, want := range map[string]float64{
		"into_gear": 1, "downshift_highest_m_s": 70.005 / 3.6, "downshift_road_speed_m_s": 70.005 / 3.6, "downshift_from_rpm": 8000 * perRPM * 2.10 / 2.85,
		"downshift_to_rpm": 8000 * perRPM, "downshift_rise_rpm": 8000 * perRPM * 0.75 / 2.85, "blip_torque_nm": 110.23,
	} {
		assert.InEpsilon(t, want, column(t, down, key)[0].Number(), 1e-4, key)
	}
	downs, err := d.Downshifts()
	require.NoError(t, err)
	b := downs[0].Blip
	for key, want := range map[string]float64{
		"blip_open_s": b.Open, "blip_manifold_pressure_pa": b.Pressure, "blip_air_flow_kg_s": b.AirFlow, "blip_throttle": b.Throttle,
	} {
		assert.InDelta(t, want, column(t, down, key)[0].Number(), 0, key)
	}
	assert.NotContains(t, strings.Join(down.Notes, " "), "boost")
}

// TestDownshiftTableWithLess: what the spec or the speeds do not tell is left out, and the table says which key would tell it.
func TestDownshiftTableWithLess(t *testing.T) {
	table := func(share float64, change func(trim *spec.Trim)) (notes string, keys []string, missing string) {
		d := driveOf(t, hillclimb, "open", share, change)
		down, ok, err := d.DownshiftTable()
		if err != nil || !ok {
			return "", nil, ""
		}
		for _, c := range down.Columns {
			keys = append(keys, c.Key)
		}
		assert.False(t, math.IsNaN(column(t, down, "downshift_highest_m_s")[0].Number()))
		return strings.Join(down.Notes, " "), keys, column(t, down, keys[len(keys)-1])[0].Note()
	}
	notes, keys, missing := table(1, func(trim *spec.Trim) { trim.Driveline.DownTime = 0.05 })
	assert.Contains(t, keys, "blip_throttle")
	assert.Contains(t, notes, "with the boost gone")
	assert.Equal(t, run.ErrTooSlow.Error(), missing)
	notes, keys, _ = table(1, func(trim *spec.Trim) { trim.Manifold.Throttle = nil })
	assert.NotContains(t, keys, "blip_throttle")
	assert.Contains(t, keys, "blip_air_flow_kg_s")
	assert.Contains(t, notes, "manifold.throttle")
	_, keys, missing = table(1, func(trim *spec.Trim) { trim.Driveline.EngineInertia = 0 })
	assert.Equal(t, "downshift_rise_rpm", keys[len(keys)-1])
	assert.Empty(t, missing)
	down, ok, err := driveOf(t, hillclimb, "open", 0.6, nil).DownshiftTable()
	require.NoError(t, err)
	require.True(t, ok)
	for _, c := range down.Columns[2:] {
		assert.Equal(t, errBeyond.Error(), column(t, down, c.Key)[0].Note(), c.Key)
	}
	_, keys, _ = table(1, func(trim *spec.Trim) {
		trim.Driveline.Gears, trim.Driveline.Efficiency = trim.Driveline.Gears[:1], trim.Driveline.Efficiency[:1]
	})
	assert.Nil(t, keys, "one gear has no downshift")
}

// TestShiftWithoutTime: a shift that takes no time wants an infinite torque, and none is printed.
func TestShiftWithoutTime(t *testing.T) {
	down, ok, err := driveOf(t, clubFour, "free", 1, func(trim *spec.Trim) { trim.Driveline.DownTime = 0 }).DownshiftTable()
	require.NoError(t, err)
	require.True(t, ok)
	assert.Equal(t, errNoTime.Error(), column(t, down, "blip_torque_nm")[0].Note())
	assert.Equal(t, run.ErrTooSlow.Error(), column(t, down, "blip_throttle")[0].Note())
}

// TestStartNotes: the tyres of the club car take what first gear gives and not what the slipping clutch does, which is told; those of the hillclimb car take
// neither.
func TestStartNotes(t *testing.T) {
	const alone, torque = "The tyres limit the start alone", "with the torque of that speed"
	club := strings.Join(driveOf(t, clubFour, "free", 1, nil).RunUpTable().Notes, " ")
	assert.Contains(t, club, alone)
	assert.Contains(t, club, torque)
	hill := strings.Join(driveOf(t, hillclimb, "open", 1, nil).RunUpTable().Notes, " ")
	assert.NotContains(t, hill, alone)
	assert.Contains(t, hill, "with the boost of that speed")
	sticky := strings.Join(driveOf(t, clubFour, "free", 1, func(trim *spec.Trim) { trim.Car.Grip = 3 }).RunUpTable().Notes, " ")
	assert.NotContains(t, sticky, alone)
}
