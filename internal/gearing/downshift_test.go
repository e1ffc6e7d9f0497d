package gearing

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// At 15 m/s wheels of 0.3 m turn with 50 rad/s: the engine with 300 rad/s in the gear of 6 and with 600 rad/s in that of 12. 0.2 kg m² · 300 rad/s are
// 60 N m s, in 0.15 s 400 N m. The limiter of 8000 rpm, 837.758 rad/s, is at 20.944 m/s in the gear of 12.
func TestDownshiftByHand(t *testing.T) {
	v := vehicle(t)
	v.EngineInertia = 0.2
	d, err := v.Downshift(0, 15, 0.15)
	require.NoError(t, err)
	assert.Equal(t, 0, d.Gear)
	assert.InDelta(t, 300, d.From, 1e-9)
	assert.InDelta(t, 600, d.To, 1e-9)
	assert.InDelta(t, 400, d.Torque, 1e-9)
	assert.InDelta(t, 20.94395, d.Highest, 1e-5)
	d, err = v.Downshift(0, 15, 0.3)
	require.NoError(t, err)
	assert.InDelta(t, 200, d.Torque, 1e-9)
	d, err = v.Downshift(0, 15, 0)
	require.NoError(t, err)
	assert.True(t, math.IsInf(d.Torque, 1), "no time")
	d, err = v.Downshift(0, 0, 0)
	require.NoError(t, err)
	assert.Zero(t, d.Torque, "nothing to do")
	v.EngineInertia = 0
	d, err = v.Downshift(0, 15, 0.15)
	require.NoError(t, err)
	assert.Zero(t, d.Torque)
	// The torque need not be known up to the limiter for the speed that it stands for.
	v.Torque = curve(t, map[float64]float64{1000: 200, 5000: 200}, 1000, 5000)
	d, err = v.Downshift(0, 15, 0.15)
	require.NoError(t, err)
	assert.InDelta(t, 20.94395, d.Highest, 1e-5)

	for _, c := range []struct {
		gear           int
		velocity, time float64
		want           string
	}{
		{1, 15, 0.1, "change into gear 2 of 2 at 15 m/s in 0.1 s: want a gear with one above, and speed and time of 0 or more"},
		{-1, 15, 0.1, "change into gear 0 of 2 at 15 m/s in 0.1 s: want a gear with one above, and speed and time of 0 or more"},
		{0, math.NaN(), 0.1, "change into gear 1 of 2 at NaN m/s in 0.1 s: want a gear with one above, and speed and time of 0 or more"},
		{0, 15, -1, "change into gear 1 of 2 at 15 m/s in -1 s: want a gear with one above, and speed and time of 0 or more"},
	} {
		_, err := v.Downshift(c.gear, c.velocity, c.time)
		assert.EqualError(t, err, c.want)
	}
	v.Mass = 0
	_, err = v.Downshift(0, 15, 0.15)
	assert.ErrorContains(t, err, "mass of the car")
}

// With the same torque throughout t = Ie Δω/T; with torque that runs straight from T1 to T2 it is Ie Δω ln(T2/T1)/(T2 − T1).
func TestRise(t *testing.T) {
	got, ok := Rise(0.14, 300, 600, [3]float64{150, 150, 150})
	assert.True(t, ok)
	assert.InDelta(t, 0.28, got, 1e-12)
	got, ok = Rise(0.14, 300, 600, [3]float64{160, 140, 120})
	assert.True(t, ok)
	assert.InEpsilon(t, 0.14*300*math.Log(160.0/120)/40, got, 1e-4)
	for i := range 3 {
		torque := [3]float64{100, 100, 100}
		torque[i] = -1
		_, ok = Rise(0.14, 300, 600, torque)
		assert.False(t, ok)
	}
}
