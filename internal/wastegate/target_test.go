package wastegate

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/gearing"
	"bellmouth/internal/units"
)

func table(t *testing.T) TorqueTable {
	t.Helper()
	// Invented. A straight line: 2 N m a kPa above 40 kPa.
	table, err := NewTorqueTable([]float64{60e3, 100e3, 180e3, 290e3}, []float64{40, 120, 280, 500})
	require.NoError(t, err)
	return table
}

func TestPedal(t *testing.T) {
	table := table(t)
	assert.InDelta(t, 500, table.FullLoad(), 0)
	for _, c := range []struct {
		pedal, pressure float64
		held            bool
	}{
		{1, 290e3, false},
		{0.5, 165e3, false}, // 250 N m
		{0.24, 100e3, false},
		{0.08, 60e3, false},
		{0.07, 60e3, true},
		{0, 60e3, true},
	} {
		got, held, err := table.PedalPressure(c.pedal)
		require.NoError(t, err)
		assert.InDelta(t, c.pressure, got, 1e-6, "pedal %v", c.pedal)
		assert.Equal(t, c.held, held, "pedal %v", c.pedal)
	}
	for _, pedal := range []float64{-0.01, 1.01, math.NaN()} {
		_, _, err := table.PedalPressure(pedal)
		assert.ErrorContains(t, err, "want 0 to 1")
	}
	_, _, err := TorqueTable{}.PedalPressure(0.5)
	assert.EqualError(t, err, "pedal: torque over manifold pressure is not given")
}

// Whatever the table, more pedal is more pressure, and the table's points come back.
func TestPedalIsMonotone(t *testing.T) {
	pressures, torques := []float64{50e3, 90e3, 150e3, 230e3, 260e3}, []float64{-12, 95, 240, 402, 431}
	table, err := NewTorqueTable(pressures, torques)
	require.NoError(t, err)
	for i := range torques {
		got, held := table.PressureFor(torques[i])
		assert.InDelta(t, pressures[i], got, 1e-6)
		assert.False(t, held)
	}
	before := 0.0
	for i := range 1001 {
		got, held, err := table.PedalPressure(float64(i) / 1000)
		require.NoError(t, err)
		require.False(t, held, "the table goes below no torque")
		require.Greater(t, got, before)
		before = got
	}
}

func TestTorqueTableRefuses(t *testing.T) {
	for _, c := range []struct {
		pressures, torques []float64
		want               string
	}{
		{[]float64{1e5, 2e5}, []float64{100}, "torque over manifold pressure: 2 pressures for 1 torques"},
		{[]float64{1e5}, []float64{100}, "torque over manifold pressure: want two points at least"},
		{nil, nil, "torque over manifold pressure: want two points at least"},
		{[]float64{1e5, 1e5}, []float64{100, 200}, "torque over manifold pressure: pressure of point 2 is 100000 Pa; want them above 0 and rising"},
		{[]float64{math.NaN(), 1e5}, []float64{100, 200}, "torque over manifold pressure: pressure of point 1 is NaN Pa; want them above 0 and rising"},
		{[]float64{1e5, 2e5}, []float64{-100, 0}, "torque over manifold pressure: torque at full load is 0 N m; want more than 0"},
		{[]float64{1e5, 2e5, 3e5}, []float64{100, 90, 200}, "torque over manifold pressure, by torque: point 2 lies at 90, below 100 before it"},
	} {
		_, err := NewTorqueTable(c.pressures, c.torques)
		require.Error(t, err)
		assert.Equal(t, c.want, metric(err))
	}
}

// metric returns what an error says where metric is read.
func metric(err error) string { return units.Resolve(err.Error(), units.Metric) }

func car() gearing.Car { // invented
	return gearing.Car{Mass: 1200, Grip: 1.1, RearWeight: 0.45, RearThrust: 0, CentreHeight: 0.5, Wheelbase: 2.5, RollingRadius: 0.3}
}

func gears(overall ...float64) []gearing.Gear {
	var all []gearing.Gear
	for _, i := range overall {
		all = append(all, gearing.Gear{Overall: i, Efficiency: 0.9})
	}
	return all
}

func TestGearCapsByHand(t *testing.T) {
	// Front drive: F = 5835.76 N; at 0.3 m and 90 % that is 1945.25 N m before the ratio.
	// First 13: 149.63 N m; second 8: 243.16; third 5.5: 353.68; fourth 4.2: 463.16; fifth 3.3: 589.47.
	caps, err := table(t).GearCaps(car(), car().Road(), gears(13, 8, 5.5, 4.2, 3.3), 440)
	require.NoError(t, err)
	for i, c := range []struct {
		grip, torque float64
		cap          Cap
	}{
		{149.63, 149.63, GripCap}, {243.16, 243.16, GripCap}, {353.68, 353.68, GripCap}, {463.16, 440, GearboxCap}, {589.47, 440, GearboxCap},
	} {
		assert.Equal(t, i+1, caps[i].Gear)
		assert.InDelta(t, c.grip, caps[i].GripTorque, 0.02)
		assert.InDelta(t, c.torque, caps[i].Torque, 0.02)
		assert.Equal(t, c.cap, caps[i].Cap)
		assert.InDelta(t, 40e3+c.torque*500, caps[i].Pressure, 10, "2 N m a kPa above 40 kPa")
		assert.False(t, caps[i].Held)
	}
	caps, err = table(t).GearCaps(car(), car().Road(), gears(80, 3.3), 0)
	require.NoError(t, err)
	assert.True(t, caps[0].Held, "24 N m are below the table")
	assert.InDelta(t, 60e3, caps[0].Pressure, 1e-6)
	assert.Equal(t, NoCap, caps[1].Cap)
	assert.InDelta(t, 290e3, caps[1].Pressure, 1e-6)
}

func TestGearCapsRefuse(t *testing.T) {
	_, err := table(t).GearCaps(gearing.Car{}, gearing.Road{Grip: 1}, gears(10), 0)
	assert.EqualError(t, err, "mass of the car is 0 kg; want more than 0")
	_, err = table(t).GearCaps(car(), car().Road(), gears(10, 0), 0)
	assert.EqualError(t, err, "gear 2: overall ratio is 0; want more than 0")
	_, err = table(t).GearCaps(car(), car().Road(), []gearing.Gear{{Overall: 10, Efficiency: 1.1}}, 0)
	assert.EqualError(t, err, "gear 1: driveline efficiency is 1.1; want more than 0 and at most 1")
	_, err = table(t).GearCaps(car(), car().Road(), gears(10), -1)
	assert.EqualError(t, err, "gearbox torque rating is -1 N m; want 0 or more")
	_, err = TorqueTable{}.GearCaps(car(), car().Road(), gears(10), 0)
	assert.EqualError(t, err, "torque by gear: torque over manifold pressure is not given")
}
