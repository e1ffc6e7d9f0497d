package spec

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	line    = "driveline: {gears: {1: 3, 2: 2}, final: 4, efficiency: {1: 92 %, 2: 95 %}, engine_inertia: 1500 kg cm2, shift: {time: 60 ms}}\n"
	someCar = "mass: 1000 kg, rear_thrust: 0 %, rear_weight: 40 %, centre_height: 0.5 m, wheelbase: 2.5 m, grip: 1.2"
)

func TestGearingSections(t *testing.T) {
	trim := trimOf(t, engine+line+"car: {"+someCar+", tyre: 225/40R18}\nsurfaces: {grip: {tarmac-wet: 0.6, gravel: 0.5}, rolling_resistance: {gravel: 0.03}}\n", BaseTrim)
	l := trim.Driveline
	assert.Equal(t, []float64{0.92, 0.95}, l.Efficiency)
	assert.Equal(t, 12.0, l.Overall()[0].Overall)
	assert.Equal(t, 0.95, l.Overall()[1].Efficiency)
	assert.InDelta(t, 0.15, l.EngineInertia, 1e-12)
	assert.InDelta(t, 0.06, l.Shift.Time, 1e-12)
	assert.InDelta(t, 0.06, l.DownTime, 1e-12, "as long as an upshift")
	slow := trimOf(t, engine+"driveline: {gears: {1: 3, 2: 2}, final: 4, shift: {time: 60 ms, down_time: 0.25 s}}\n", BaseTrim)
	assert.InDelta(t, 0.25, slow.Driveline.DownTime, 1e-12)
	assert.InDelta(t, 0.06, slow.Driveline.Shift.Time, 1e-12)
	assert.InDelta(t, 1, l.Shift.Kept, 0, "no compressor")
	assert.InDelta(t, 0.3, l.Shift.Recovery, 1e-12)
	require.NotNil(t, trim.Car)
	assert.InDelta(t, 0.30931, trim.Car.RollingRadius, 5e-6, "3.05 · 637.2 mm/(2π)")
	assert.InDelta(t, 0.75, trim.Car.DragArea, 1e-12)
	assert.Equal(t, Surfaces{{"tarmac-wet", 0.6, 0.013}, {"gravel", 0.5, 0.03}}, trim.Surfaces)
	for _, tyre := range []string{"225/40 R18", "225/40ZR18", "225/40 ZR 18"} {
		again := trimOf(t, engine+line+"car: {"+someCar+", tyre: "+tyre+"}\n", BaseTrim)
		assert.InDelta(t, trim.Car.RollingRadius, again.Car.RollingRadius, 0, tyre)
	}
}

func TestGearingMessages(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"car: {" + someCar + ", tyre: 225-40R18}\n", `car.tyre is 225-40R18; want width in mm, 100 to 500, height in %, 20 to 100, and rim in inches, 8 to 26, such as 225/40R18`},
		{"car: {" + someCar + ", tyre: 225/10R18}\n", `car.tyre is 225/10R18; want width`},
		{"car: {" + someCar + ", tyre: 225/40R18, rolling_radius: 0.3 m}\n", `is given beside rolling_radius; want one of rolling_radius or tyre`},
		{"car: {" + someCar + "}\n", `car lacks rolling_radius or tyre; want one of them`},
		{"driveline: {gears: {1: 3, 2: 2}, final: 4, efficiency: {1: 92 %}}\n", `driveline.efficiency has a value for each of 1; driveline.gears has 2`},
		{"driveline: {gears: {1: 3, 2: 2}, final: 4, shift: {time: 60}}\n", `driveline.shift.time is 60, which has no unit`},
		{"surfaces: {grip: {wet: 0.6}, rolling_resistance: {gravel: 0.03}}\n",
			`surfaces.rolling_resistance.gravel is that of gravel, which surfaces.grip does not name; it has wet`},
		{"driveline: {launch_speed: 9000 rpm}\n", `driveline.launch_speed is 9000 rpm, above engine.limiter, 7`},
		{"surfaces: {grip: {wet: 60}}\n", `surfaces.grip.wet is 60; want 0.02 to 5`},
		{"surfaces: {grip: {a/b: 0.6}}\n", `has the name a/b; want letters, digits`},
		{"surfaces: {grip: 0.6}\n", `surfaces.grip is 0.6; want a table by name, 0.02 to 5, such as {dry`},
		{"surfaces: {grip: {}}\n", `surfaces.grip is`},
	} {
		_, err := read(engine + c.text)
		assert.ErrorContains(t, err, c.want)
	}
}
