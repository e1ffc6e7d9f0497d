package wastegate

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/refdata"
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
		assert.EqualError(t, err, c.want)
	}
}

func car() Car { // invented
	return Car{Mass: 1200, Grip: 1.1, RearWeight: 0.45, RearThrust: 0, CentreHeight: 0.5, Wheelbase: 2.5, RollingRadius: 0.3, DrivelineEfficiency: 0.9}
}

func TestGripThrustByHand(t *testing.T) {
	// m g = 11767.98 N, μ h/b = 0.22.
	for _, c := range []struct {
		name   string
		thrust float64 // share at the rear
		want   float64
	}{
		{"front drive", 0, 1.1 * 11767.98 * 0.55 / 1.22},
		{"rear drive", 1, 1.1 * 11767.98 * 0.45 / 0.78},
		{"all wheels, the front ones spin first", 0.5, 1.1 * 11767.98 * 0.55 / 0.72},
		{"all wheels, split as the load is: both spin together at μ m g", 0.45 + 0.22, 1.1 * 11767.98},
	} {
		car := car()
		car.RearThrust = c.thrust
		got, err := car.GripThrust()
		require.NoError(t, err)
		assert.InDelta(t, c.want, got, 0.01, c.name)
	}
	low := car() // no height, no load transfer
	low.CentreHeight = 0
	for _, c := range []struct{ thrust, want float64 }{{0, 1.1 * 11767.98 * 0.55}, {1, 1.1 * 11767.98 * 0.45}} {
		low.RearThrust = c.thrust
		got, err := low.GripThrust()
		require.NoError(t, err)
		assert.InDelta(t, c.want, got, 0.01)
	}
	// Rear drive, tall and short with much grip: the front wheels leave the road at m g (1 − w) b/h.
	tall := car()
	tall.RearThrust, tall.Grip, tall.CentreHeight, tall.Wheelbase = 1, 1.5, 0.8, 1.4
	got, err := tall.GripThrust()
	require.NoError(t, err)
	assert.InDelta(t, 11767.98*0.55*1.4/0.8, got, 0.01)
}

// At the thrust found, the axle loads with the acceleration's transfer carry exactly the thrust of the axle that spins.
func TestGripThrustAgainstAxleLoads(t *testing.T) {
	for i := range 101 {
		car := car()
		car.RearThrust = float64(i) / 100
		f, err := car.GripThrust()
		require.NoError(t, err)
		acceleration := f / car.Mass
		shift := car.Mass * acceleration * car.CentreHeight / car.Wheelbase
		rear := car.Mass*gravity*car.RearWeight + shift
		front := car.Mass*gravity - rear
		used := math.Max(car.RearThrust*f/(car.Grip*rear), (1-car.RearThrust)*f/(car.Grip*front))
		require.InDelta(t, 1, used, 1e-12)
	}
}

func TestGearCapsByHand(t *testing.T) {
	// Front drive: F = 5835.76 N; at 0.3 m and 90 % that is 1945.25 N m before the ratio.
	// First 13: 149.63 N m; second 8: 243.16; third 5.5: 353.68; fourth 4.2: 463.16; fifth 3.3: 589.47.
	caps, err := car().GearCaps([]float64{13, 8, 5.5, 4.2, 3.3}, 440, table(t))
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
	caps, err = car().GearCaps([]float64{80, 3.3}, 0, table(t))
	require.NoError(t, err)
	assert.True(t, caps[0].Held, "24 N m are below the table")
	assert.InDelta(t, 60e3, caps[0].Pressure, 1e-6)
	assert.Equal(t, NoCap, caps[1].Cap)
	assert.InDelta(t, 290e3, caps[1].Pressure, 1e-6)
}

// testdata/reference/gearing.csv holds road speeds by the kinematics of a rolling wheel, in three units.
func TestRoadSpeed(t *testing.T) {
	const printed = 1e-9 // twelve digits are printed
	for _, row := range refdata.Read(t, "gearing.csv") {
		v := Car{RollingRadius: row.F(t, "rolling_radius_m")}.RoadSpeed(row.F(t, "rpm")*math.Pi/30, row.F(t, "overall_ratio"))
		assert.InEpsilon(t, row.F(t, "speed_m_s"), v, printed)
		for unit, column := range map[string]string{"km/h": "speed_km_h", "mph": "speed_mph"} {
			shown, err := units.Parse(row[column]+" "+unit, units.RoadSpeed)
			require.NoError(t, err)
			assert.InEpsilon(t, shown, v, printed, unit)
		}
	}
}

func TestCarRefuses(t *testing.T) {
	for _, c := range []struct {
		change func(*Car)
		want   string
	}{
		{func(c *Car) { c.Mass = 0 }, "mass of the car is 0 kg; want more than 0"},
		{func(c *Car) { c.Grip = math.NaN() }, "grip is NaN; want more than 0"},
		{func(c *Car) { c.RearWeight = 1 }, "share of the weight on the rear axle is 1; want more than 0 and less than 1"},
		{func(c *Car) { c.RearThrust = 1.2 }, "share of the thrust at the rear axle is 1.2; want 0 to 1"},
		{func(c *Car) { c.CentreHeight = -1 }, "height of the centre of mass is -1 m; want 0 or more"},
		{func(c *Car) { c.Wheelbase = 0 }, "wheelbase is 0 m; want more than 0"},
		{func(c *Car) { c.RollingRadius = math.Inf(1) }, "rolling radius is +Inf m; want more than 0"},
		{func(c *Car) { c.DrivelineEfficiency = 1.1 }, "driveline efficiency is 1.1; want more than 0 and at most 1"},
	} {
		car := car()
		c.change(&car)
		_, err := car.GearCaps([]float64{10}, 0, table(t))
		assert.EqualError(t, err, c.want)
	}
	_, err := car().GearCaps([]float64{10, 0}, 0, table(t))
	assert.EqualError(t, err, "overall ratio of gear 2 is 0; want more than 0")
	_, err = car().GearCaps([]float64{10}, -1, table(t))
	assert.EqualError(t, err, "gearbox torque rating is -1 N m; want 0 or more")
	_, err = car().GearCaps([]float64{10}, 0, TorqueTable{})
	assert.EqualError(t, err, "torque by gear: torque over manifold pressure is not given")
}
