package gearing

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/refdata"
	"bellmouth/internal/units"
)

func car() Car { // invented
	return Car{Mass: 1200, Grip: 1.1, RearWeight: 0.45, RearThrust: 0, CentreHeight: 0.5, Wheelbase: 2.5, RollingRadius: 0.3}
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
		got, err := car.GripThrust(car.Road())
		require.NoError(t, err)
		assert.InDelta(t, c.want, got, 0.01, c.name)
	}
	low := car() // no height, no load transfer
	low.CentreHeight = 0
	for _, c := range []struct{ thrust, want float64 }{{0, 1.1 * 11767.98 * 0.55}, {1, 1.1 * 11767.98 * 0.45}} {
		low.RearThrust = c.thrust
		got, err := low.GripThrust(low.Road())
		require.NoError(t, err)
		assert.InDelta(t, c.want, got, 0.01)
	}
	// Rear drive, tall and short with much grip: the front wheels leave the road at m g (1 − w) b/h.
	tall := car()
	tall.RearThrust, tall.Grip, tall.CentreHeight, tall.Wheelbase = 1, 1.5, 0.8, 1.4
	got, err := tall.GripThrust(tall.Road())
	require.NoError(t, err)
	assert.InDelta(t, 11767.98*0.55*1.4/0.8, got, 0.01)
	// Rolling resistance alone takes more load off light rear wheels than they carry: 0.05 W against 0.3 W · 0.5.
	light := car()
	light.RearThrust, light.RearWeight, light.CentreHeight, light.Wheelbase = 1, 0.05, 1, 2
	got, err = light.GripThrust(Road{Grip: 0.5, Rolling: 0.3})
	require.NoError(t, err)
	assert.Zero(t, got)
}

// A thrust of 1000 N on wheels of 0.3 m is 300 N m there; 12 to 1 with 90 % of it left takes 300/10.8 N m.
func TestEngineTorqueByHand(t *testing.T) {
	assert.InDelta(t, 300/10.8, car().EngineTorque(1000, Gear{12, 0.9}), 1e-12)
}

// At the thrust found, the axle loads with the acceleration's transfer carry exactly the thrust of the axle that spins.
func TestGripThrustAgainstAxleLoads(t *testing.T) {
	for i := range 101 {
		car := car()
		car.RearThrust = float64(i) / 100
		f, err := car.GripThrust(car.Road())
		require.NoError(t, err)
		acceleration := f / car.Mass
		shift := car.Mass * acceleration * car.CentreHeight / car.Wheelbase
		rear := car.Mass*gravity*car.RearWeight + shift
		front := car.Mass*gravity - rear
		used := math.Max(car.RearThrust*f/(car.Grip*rear), (1-car.RearThrust)*f/(car.Grip*front))
		require.InDelta(t, 1, used, 1e-12)
	}
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
		{func(c *Car) { c.DragArea = -1 }, "drag area is -1 m²; want 0 or more"},
		{func(c *Car) { c.RollingResistance = math.NaN() }, "rolling resistance is NaN; want 0 or more"},
		{func(c *Car) { c.WheelInertia = -2 }, "inertia of the wheels is -2 kg m²; want 0 or more"},
	} {
		car := car()
		c.change(&car)
		_, err := car.GripThrust(Road{Grip: 1})
		assert.EqualError(t, err, c.want)
	}
}
