package spec

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const bottomEnd = withValves + "  bottom_end:\n    piston: 350 g\n    pin: 90 g\n    rings: 40 g\n    rod: 600 g\n"

// What is weighed comes to the masses that move, and what is left out is told with its reason.
func TestBottomEnd(t *testing.T) {
	trim := trimOf(t, bottomEnd, BaseTrim)
	end := trim.Engine.BottomEnd
	require.NotNil(t, end)
	assert.InDelta(t, 0.48, end.Masses.Piston, 1e-12)
	assert.InDelta(t, 0.18, end.Masses.SmallEnd, 1e-12, "30 % of the rod, as is usual")
	assert.InDelta(t, 0.42, end.Masses.BigEnd, 1e-12)
	assert.Zero(t, end.Masses.Cap)
	assert.Nil(t, end.RodBolts)
	assert.Equal(t, trim.Venue.Pressure, end.CrankcasePressure)
	found := defaultsOf(trim)
	assert.Equal(t, "70 %", found["engine.bottom_end.big_end_share"])
	assert.Equal(t, "0.3 bar", found["engine.bottom_end.overrun_pressure"])
	assert.Contains(t, found, "engine.bottom_end.crankcase_pressure")
	assert.Nil(t, trimOf(t, withValves, BaseTrim).Engine.BottomEnd, "without the section nothing is taken")
}

// Bolts by torque and by preload: the one gives what the other is given.
func TestBolts(t *testing.T) {
	const bolts = "  head_bolts: {count: 12, diameter: 11 mm, pitch: 1.5 mm, joint_factor: 0.2, scatter: 1.5, "
	torque := trimOf(t, withValves+bolts+"torque: 95 Nm}\n", BaseTrim).Engine.Head
	require.NotNil(t, torque)
	assert.InDelta(t, 12./5, torque.Bolts.Count, 1e-12)
	assert.InDelta(t, 1.45*0.011, torque.Bolts.HeadDiameter, 1e-12)
	assert.InDelta(t, math.Pi/4*0.084*0.084, torque.SealArea, 1e-12, "the bore, where nothing says more")
	preload := trimOf(t, withValves+bolts+"preload: 50 kN, seal_diameter: 86 mm}\n", BaseTrim).Engine.Head
	assert.InDelta(t, 50e3, preload.Bolts.Preload.Nominal, 1e-6)
	assert.InDelta(t, 40e3, preload.Bolts.Preload.Least, 1e-6)
	assert.InDelta(t, 60e3, preload.Bolts.Preload.Most, 1e-6)
	assert.InEpsilon(t, 50e3*95/preload.Bolts.Torque, torque.Bolts.Preload.Nominal, 1e-12, "in proportion")
	assert.InDelta(t, math.Pi/4*0.086*0.086, preload.SealArea, 1e-12)
}

// The keys of a lift table stand in any order, and none twice.
func TestLiftTable(t *testing.T) {
	const drop = "  piston_to_valve: {inlet: {drop: 5 mm, angle: 20 deg, lift: "
	lift := trimOf(t, withValves+drop+"{-10 deg: 0.5 mm, -20 deg: 0 mm, 20 deg: 3.5 mm, 0 deg: 1.2 mm}}}\n", BaseTrim).Engine.PistonToValve.Inlet.Lift
	for angle, want := range map[float64]float64{-20: 0, -10: 0.5e-3, 0: 1.2e-3, 20: 3.5e-3} {
		y, held := lift.At(angle * math.Pi / 180)
		assert.InDelta(t, want, y, 1e-15, angle)
		assert.False(t, held)
	}
	assert.Contains(t, messages(t, withValves+drop+"{0 deg: 1 mm, 10 deg: 2 mm, 0.0 deg: 1 mm}}}\n")[0], "has 0.0 deg twice")
}

// A lift that is given needs no events.
func TestRoomWithoutValves(t *testing.T) {
	room := trimOf(t, engine+"  piston_to_valve: {inlet: {drop: 5 mm, angle: 20 deg, lift: {-10 deg: 0 mm, 20 deg: 3 mm}}}\n", BaseTrim).Engine.PistonToValve
	require.NotNil(t, room)
	assert.NotNil(t, room.Inlet)
	assert.Nil(t, room.Exhaust)
}

// A stated end of a range stands by itself; without either, common practice does, by the use that the rings are for.
func TestClearancesRead(t *testing.T) {
	fits := map[string]Fit{}
	for _, f := range trimOf(t, withValves+"  clearances: {ring_use: road, crank_pin: {measured: 0.05 mm}, top_ring: {measured: 0.4 mm}, second_ring: {measured: 0.5 mm, least: 0.45 mm}, "+
		"piston: {measured: 0.08 mm, most: 0.1 mm}}\n", BaseTrim).Engine.Clearances {
		fits[f.Key] = f
	}
	require.Len(t, fits, 4)
	assert.InDelta(t, 0.04704e-3, fits["crank_pin"].Least, 1e-12) // a thousandth of 0.56 · 84 mm
	assert.True(t, fits["crank_pin"].Usual)
	assert.InDelta(t, 0.378e-3, fits["top_ring"].Least, 1e-12) // 0.0045 · 84 mm
	assert.Equal(t, Fit{Key: "second_ring", Measured: 0.5e-3, Least: 0.45e-3}, fits["second_ring"])
	assert.Equal(t, Fit{Key: "piston", Measured: 0.08e-3, Most: 0.1e-3}, fits["piston"])
	race := trimOf(t, withValves+"  clearances: {top_ring: {measured: 0.4 mm}}\n", BaseTrim).Engine.Clearances
	assert.InDelta(t, 0.0055*0.084, race[0].Least, 1e-12, "race without a compressor")
}

func TestBottomMessages(t *testing.T) {
	for want, text := range map[string]string{
		"engine.bottom_end does not hold together: the rod's cap, 0.5 kg, is heavier than the big end that it is a part of, 0.42 kg": bottomEnd + "    cap: 500 g\n",
		"engine.bottom_end.rod_bolts lacks torque or preload; want one of them": bottomEnd +
			"    rod_bolts: {count: 2, diameter: 9 mm, pitch: 1 mm, joint_factor: 0.2}\n",
		"engine.bottom_end.rod_bolts does not hold together: the face under the head goes from 9.45 mm to 9 mm": bottomEnd +
			"    rod_bolts: {count: 2, diameter: 9 mm, pitch: 1 mm, joint_factor: 0.2, torque: 40 Nm, head_diameter: 9 mm}\n",
		"engine.clearances.piston lacks least and most; no usual range of it is known here, so want one of them or both": withValves +
			"  clearances: {piston: {measured: 0.09 mm}}\n",
		"engine.clearances.piston.most is 0.08 mm; want least or more, 0.1 mm": withValves +
			"  clearances: {piston: {measured: 0.09 mm, least: 0.1 mm, most: 0.08 mm}}\n",
		"engine.piston_to_valve.inlet wants lift in it, or the section engine.valves": engine + "  piston_to_valve: {inlet: {drop: 5 mm, angle: 20 deg}}\n",
		"engine.bottom_end.piston is 350 mm, which is a length; want a mass in kg, g": withValves + "  bottom_end: {piston: 350 mm, rod: 560 g}\n",
	} {
		_, err := read(text)
		assert.ErrorContains(t, err, want)
	}
	// Where the engine does not hold together nothing is said of the ranges that follow from it.
	said := messages(t, strings.Replace(withValves, "144 mm", "50 mm", 1)+"  pin_offset: 19 mm\n  clearances: {crank_pin: {measured: 0.05 mm}}\n")
	require.Len(t, said, 1)
	assert.Contains(t, said[0], "engine.rod is 50 mm")
}

// What a bearing was measured at is what its oil film is reckoned with, unless the oil says otherwise.
func TestMeasuredClearanceOfTheFilm(t *testing.T) {
	const oil = "oil: {viscosity_40: 80 mm2/s, viscosity_100: 13.5 mm2/s, temperature: 105 degC"
	spec := withValves + "  clearances: {crank_pin: {measured: 0.062 mm}}\n" + oil
	assert.InDelta(t, 0.031e-3, trimOf(t, spec+"}\n", BaseTrim).Oil.Pins.Clearance, 1e-12, "of the radius")
	assert.InDelta(t, 0.025e-3, trimOf(t, spec+", pin_clearance: 0.05 mm}\n", BaseTrim).Oil.Pins.Clearance, 1e-12)
	assert.InDelta(t, 0.5*0.04704e-3, trimOf(t, withValves+oil+"}\n", BaseTrim).Oil.Pins.Clearance, 1e-12)
}
