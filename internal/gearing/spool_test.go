package gearing

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func rotor() Rotor { // invented
	return Rotor{Speed: 13000, Power: 30e3, Spare: 0.3, PressureRatio: 2.5, Gamma: 1.4, Indicated: 26e5, Brake: 22e5}
}

// The shaft's way down and back, integrated in small steps.
func TestRotorAgainstItsEquation(t *testing.T) {
	r := rotor()
	const inertia = 1.1e-4
	speed := r.Speed
	for range 70000 { // 70 ms
		speed -= 1e-6 * r.Power / (inertia * speed) * (speed / r.Speed) * (speed / r.Speed)
	}
	assert.InEpsilon(t, speed, r.Coasted(inertia, 0.07), 1e-5)
	energy, full := inertia/2*speed*speed, inertia/2*r.Speed*r.Speed
	back := 0.0
	for energy < 0.98*full {
		energy += 1e-6 * r.Power * (1/(1-0.3) - energy/full)
		back += 1e-6
	}
	assert.InEpsilon(t, back, r.Back(inertia, speed), 1e-4)
	assert.Zero(t, r.Back(inertia, 0.995*r.Speed), "it is back")
	r.Spare = 0
	assert.Greater(t, r.Back(inertia, speed), back, "nothing to spare takes longer")
}

func TestKeepByHand(t *testing.T) {
	// exp(−30000 · 0.07/(1.1e-4 · 13000²)) = exp(−0.1129640) = 0.8931829: 11611.38 rad/s. PR^(2/7) = 1.2992632;
	// (1 + 0.2992632 · 0.7977756)^3.5 = 1.2387449^3.5 = 2.1156147. T'/T = (26 · 0.8462459 − 4)/22 = 0.8182906.
	k, err := Keep(rotor(), rotor(), 1.1e-4, 0.07)
	require.NoError(t, err)
	assert.InDelta(t, 11611.38, k.After, 0.01)
	assert.InDelta(t, 2.115615, k.Ratio, 2e-6)
	assert.InDelta(t, 0.8182906, k.Torque, 1e-6)
	next := rotor()
	next.Speed = 11000
	k, err = Keep(rotor(), next, 1.1e-4, 0.07)
	require.NoError(t, err)
	assert.Equal(t, Kept{Before: 13000, After: k.After, Needed: 11000, Ratio: 2.5, Torque: 1}, k, "more than the next gear needs")
	// A heavier rotor and a shorter cut keep more.
	heavy, err := Keep(rotor(), rotor(), 2.2e-4, 0.07)
	require.NoError(t, err)
	short, err := Keep(rotor(), rotor(), 1.1e-4, 0.035)
	require.NoError(t, err)
	assert.Greater(t, heavy.Torque, 0.82)
	assert.InDelta(t, heavy.Torque, short.Torque, 1e-12)
	// 4 L from 1 to 2.5 bar at 320 K and 0.2 kg/s: 600 J/(287.05 · 320 · 0.2 J/s) = 32.66 ms.
	assert.InDelta(t, 0.03266, Refill(0.004, 2.5e5, 1e5, 287.05, 320, 0.2), 1e-5)
	assert.Zero(t, Refill(0.004, 0.9e5, 1e5, 287.05, 320, 0.2), "nothing to fill")
	assert.Zero(t, rotor().TorqueShare(0.1), "friction of 4 bar takes more than a tenth of 26 bar gives")
}

func TestKeepRefuses(t *testing.T) {
	for _, c := range []struct {
		change func(*Rotor)
		want   string
	}{
		{func(r *Rotor) { r.Speed = 0 }, "shaft speed is 0 rad/s; want more than 0"},
		{func(r *Rotor) { r.Power = math.NaN() }, "turbine power is NaN W; want more than 0"},
		{func(r *Rotor) { r.Spare = 1 }, "share of the wastegate is 1; want 0 to less than 1"},
		{func(r *Rotor) { r.PressureRatio = 0.9 }, "pressure ratio is 0.9; want 1 or more"},
		{func(r *Rotor) { r.Gamma = 1 }, "ratio of heat capacities is 1; want more than 1"},
		{func(r *Rotor) { r.Brake = 30e5 }, "mean pressures are 2.6e+06 and 3e+06 Pa; want them above 0, the brake one the lower"},
	} {
		r := rotor()
		c.change(&r)
		_, err := Keep(rotor(), r, 1e-4, 0.1)
		assert.EqualError(t, err, c.want)
	}
	_, err := Keep(rotor(), rotor(), 0, 0.1)
	assert.EqualError(t, err, "inertia of the rotor is 0 kg m² and the cut takes 0.1 s; want more than 0, and 0 or more")
}
