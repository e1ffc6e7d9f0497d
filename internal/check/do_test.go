package check

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/units"
)

// TestDo: the figures that are worked out for a sentence, by hand.
func TestDo(t *testing.T) {
	const perRPM = math.Pi / 30
	for want, got := range map[string]string{
		// 9000 rpm · 23.0/24.6 = 8414.6 rpm, rounded down to what a limiter is set to.
		"Lower engine.limiter from 9000 rpm to 8410 rpm: the pistons reach 24.6 of 23.0 m/s.": doPiston(nil,
			&Finding{Speed: 9000 * perRPM, Kind: units.Velocity, Value: 24.6, Limit: 23}),
		// 1.10/0.92 = 1.1957
		"Fit pumps or a line that give 20 % more at 7000 rpm: their margin is -8.0 %, and 10 % are needed.": doPump(nil,
			&Finding{Speed: 7000 * perRPM, Kind: units.Fraction, Value: -0.08}),
		// 0.95/0.92 = 1.0326, rounded up
		"Give cylinder 3 3.3 % more fuel at 1500 rpm: its lambda is 0.95 of 0.92.": doLeanest(nil, &Finding{Speed: 1500 * perRPM, Value: 0.95, Limit: 0.92,
			Cylinder: 3}),
		// 0.026 rad = 1.49 deg
		"Retard cylinder 2 by 1.5 deg at 3400 rpm, or all of them: its knock integral is 0.86 of 0.85.": doWorstKnock(nil,
			&Finding{Speed: 3400 * perRPM, Value: 0.86, Limit: 0.85, Cylinder: 2, later: 0.026}),
		// 0.0265 rad = 1.518 deg: what is set errs late
		"Retard cylinder 2 by 1.6 deg at 3400 rpm, or all of them: its knock integral is 0.86 of 0.85.": doWorstKnock(nil,
			&Finding{Speed: 3400 * perRPM, Value: 0.86, Limit: 0.85, Cylinder: 2, later: 0.0265}),
		// 1.3072 bar: what is asked for errs low
		"Lower the target from 1.55 bar gauge to 1.30 bar gauge at 3400 rpm: gearbox torque forbids more.": doPasses(nil,
			&Finding{ID: "boost-passes-gearbox-torque", Speed: 3400 * perRPM, Kind: units.GaugePressure, Value: 1.3072e5, Limit: 1.55e5}),
		// A pump that gives nothing has no share by which it could give more.
		"Fit pumps for more pressure, or a line or filter that takes less: they give nothing at 7000 rpm.": doPump(nil,
			&Finding{Speed: 7000 * perRPM, Kind: units.Fraction, Value: -1}),
		"Fit a lift pump for more pressure: it gives nothing against the pressure it works against.": doLiftPump(nil, &Finding{Kind: units.Fraction, Value: -1}),
		"Fit a tank that holds 2.0 L more: the stage or lap takes 5.0 L, and 3.0 L can be used.": doTank(nil, &Finding{Kind: units.TankVolume,
			Value: 3e-3, Limit: 5e-3}),
		// 19.16/12.38 = 1.5477, rounded up
		"Fit scavenge pumps that move 55 % more: at 2500 rpm they bring 12.38 of 19.16 L/min of oil.": doScavenge(nil,
			&Finding{Speed: 2500 * perRPM, Kind: units.UseFlow, Value: 12.38e-3 / 60, Limit: 19.16e-3 / 60}),
		"Fit a larger oil pump: at 1500 rpm it gives 0.50 L/min, and the turning bearings take 0.91 L/min.": doOilFlow(nil,
			&Finding{Speed: 1500 * perRPM, Kind: units.UseFlow, Value: 0.5e-3 / 60, Limit: 0.91e-3 / 60}),
		"Lower engine.limiter, or fit lighter pistons: the rods are pulled with 23135 of 20000 N at 7800 rpm on the overrun.": doTension(nil,
			&Finding{Speed: 7800 * perRPM, Kind: units.Force, Value: 23135, Limit: 20e3, Remark: overrunRemark(true)}),
		"Tighten the rod bolts more, or lower engine.limiter: 5.0 % of the clamp are left at 7800 rpm, and 10.0 % are needed.": doRodClamp(nil,
			&Finding{Speed: 7800 * perRPM, Kind: units.Fraction, Value: 0.05, Limit: 0.1}),
		"Tighten the head bolts less, or fit stronger ones: they are stressed with 921.0 of 900.0 MPa.": doBoltStress(nil,
			&Finding{ID: headStress, Kind: units.Stress, Value: 921e6, Limit: 900e6}),
		// What is told to be too wide errs wide: 38.0019 mm.
		"Fit a restrictor of 38.000 mm or less at 20 degC: the one measured has 38.002 mm there.": doBore(nil, &Finding{Value: 38.0019e-3, Limit: 38e-3}),
		"Lower the target from 1.55 bar gauge to 1.30 bar gauge at 3385 rpm: compressor surge forbids more.": doPasses(nil,
			&Finding{ID: "boost-passes-compressor-surge", Speed: 3385 * perRPM, Kind: units.GaugePressure, Value: 1.3e5, Limit: 1.55e5}),
		"Fit a larger radiator, bring more air through it, or fit a cap for more pressure: the coolant is 5.5 K from boiling in finish.": doBoils(nil,
			&Finding{Kind: units.TemperatureDifference, Value: 5.5, Remark: "below 8.0 K, common practice without a source; in finish"}),
		"Give the radiator a fan or air: the coolant boils, steady at 0 km/h.": doBoils(nil,
			&Finding{Value: math.NaN(), Remark: "no air goes through the radiator; steady at 0 km/h"}),
		"Fit a larger radiator, or bring more air through it: the coolant reaches 119 of 118 degC in woods.": doCoolant(nil,
			&Finding{Kind: units.Temperature, Value: 392.15, Limit: 391.15, Remark: "in woods"}),
		"Come to woods with colder coolant, or fit a larger radiator: the cooling lasts 8.0 s of 30.0 s there.": doLasts(nil,
			&Finding{Kind: units.ShortDuration, Value: 8, Limit: 30, Remark: "woods; then the coolant has 118 degC"}),
		"Fit a larger oil cooler, or bring more air through it: the oil reaches 146 of 140 degC, steady at 80 km/h.": doOilTemperature(nil,
			&Finding{Kind: units.Temperature, Value: 419.15, Limit: 413.15, Remark: "steady at 80 km/h"}),
		"Give the oil cooler air: none goes through it, steady at 0 km/h.": doOilTemperature(nil,
			&Finding{Value: math.NaN(), Remark: "no air goes through the oil cooler; steady at 0 km/h"}),
	} {
		assert.Equal(t, want, units.Resolve(got, units.Metric))
	}
	assert.Equal(t, "178300 of 148000 rpm", units.Resolve(ofLimit(&Finding{Kind: units.Speed, Value: 178345 * perRPM, Limit: 148000 * perRPM}), units.Metric))
	assert.Equal(t, "130 of 125 bar", units.Resolve(ofLimit(&Finding{Kind: units.Pressure, Value: 130.2e5, Limit: 125e5}), units.Metric))
}

// What a tuner is told to set errs low in boost and late in spark in every unit. By hand: 1.37 bar are 19.870 psi, 1.3799 bar 137990 Pa; 1.21 degrees are
// 0.021118 rad; 38.0019 mm are 1.496138 in, and 38 mm are 1.496063 in.
func TestWhatIsSetKeepsItsSide(t *testing.T) {
	const degree = math.Pi / 180
	in := func(s units.System, text string) string { return units.Resolve(text, s) }
	assert.Equal(t, "1.37 bar gauge", in(units.Metric, lowBoost(1.3799e5)))
	assert.Equal(t, "19.8 psi gauge", in(units.Imperial, lowBoost(1.37e5)))
	assert.Equal(t, "137990 Pa gauge", in(units.SI, lowBoost(137990.7)))
	assert.Equal(t, "1.3 deg", in(units.Imperial, lateAngle(1.21*degree)))
	assert.Equal(t, "0.0212 rad", in(units.SI, lateAngle(1.21*degree)))
	assert.Equal(t, "Fit a restrictor of 1.49606 in or less at 68 degF: the one measured has 1.49614 in there.",
		in(units.Imperial, doBore(nil, &Finding{Value: 38.0019e-3, Limit: 38e-3})))
	assert.Equal(t, "1951 of 1742 degF", in(units.Imperial, ofLimit(&Finding{Kind: units.Temperature, Value: 1339.26, Limit: 1223.15})))
	// 0.070 mm are 0.0027559 in, 0.075 mm 0.0029528 in: what is told to be reached is reached.
	wide := Finding{What: "piston clearance", Kind: units.Length, Value: 70e-6, Limit: 75e-6, Floor: true}
	assert.Equal(t, "Open the piston clearance from 0.00276 in to 0.00296 in or more.", in(units.Imperial, doFit(nil, &wide)))
}
