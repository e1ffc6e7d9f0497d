package geometry_test

import (
	"fmt"
	"math"
	"testing"

	"bellmouth/internal/geometry"
	"bellmouth/internal/refdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const deg = math.Pi / 180

// example returns the numbers of one textbook example by quantity; the answers are recomputed unrounded in the table.
func example(t *testing.T, name string) map[string]float64 {
	t.Helper()
	out := map[string]float64{}
	for _, r := range refdata.Read(t, "textbook_examples.csv") {
		if r["example"] == name {
			out[r["quantity"]] = r.F(t, "value")
		}
	}
	require.NotEmpty(t, out, name)
	return out
}

func TestSliderCrankTable(t *testing.T) {
	// slider_crank.csv: Heywood eqs. 2.4 to 2.11 in closed form, printed to 12 digits.
	const tol = 1e-11
	for _, r := range refdata.Read(t, "slider_crank.csv") {
		c := geometry.Cylinder{
			Bore: r.F(t, "bore_mm") / 1e3, Stroke: r.F(t, "stroke_mm") / 1e3, Rod: r.F(t, "rod_mm") / 1e3,
			CompressionRatio: r.F(t, "compression_ratio"),
		}
		require.NoError(t, c.Validate())
		theta := r.F(t, "crank_deg") * deg
		assert.InEpsilon(t, r.F(t, "Vd_cm3"), c.Displacement()*1e6, tol)
		assert.InEpsilon(t, r.F(t, "Vc_cm3"), c.ClearanceVolume()*1e6, tol)
		assert.InDelta(t, r.F(t, "piston_travel_mm"), c.PistonTravel(theta)*1e3, 1e-9)
		assert.InEpsilon(t, r.F(t, "volume_cm3"), c.Volume(theta)*1e6, tol)
		const speed = 500
		assert.InDelta(t, r.F(t, "piston_speed_over_mean"), c.PistonVelocity(theta, speed)/c.MeanPistonSpeed(speed), 1e-11)
	}
}

func TestEngineGeometryExample(t *testing.T) {
	// Gupta, Fundamentals of Internal Combustion Engines, example 16.1, recomputed to 12 digits.
	x := example(t, "engine_geometry")
	bore := math.Cbrt(4 * x["displacement"] / x["cylinders"] / (math.Pi * x["stroke_over_bore"]))
	c := geometry.Cylinder{
		Bore: bore, Stroke: bore * x["stroke_over_bore"], Rod: x["rod_length"], CompressionRatio: x["compression_ratio"],
	}
	speed := x["engine_speed"] * math.Pi / 30
	theta := x["crank_angle_after_tdc"] * deg
	assert.InEpsilon(t, x["bore"], c.Bore*100, 1e-9)
	assert.InEpsilon(t, x["mean_piston_speed"], c.MeanPistonSpeed(speed), 1e-9)
	assert.InEpsilon(t, x["clearance_volume"], c.ClearanceVolume()*1e6, 1e-9)
	assert.InEpsilon(t, x["piston_speed_at_angle"], c.PistonVelocity(theta, speed), 1e-9)
	assert.InEpsilon(t, x["volume_at_angle"], c.Volume(theta)*1e6, 1e-9)
}

func TestMeanEffectivePressureExample(t *testing.T) {
	// Gupta, example 16.3.
	x := example(t, "bmep_from_torque")
	vd := x["cylinders"] * math.Pi / 4 * x["bore"] * x["bore"] * x["stroke"]
	assert.InEpsilon(t, x["torque"], geometry.Torque(x["bmep"]*1e5, vd), 1e-9)
}

func TestVolumetricEfficiencyExamples(t *testing.T) {
	// Rajput, example 7.2, and Mathur and Sharma, example 10.1.
	x := example(t, "volumetric_efficiency")
	density := x["p_inlet"] / (x["R"] * x["T_inlet"])
	swept := geometry.SweptFlow(x["displacement"], x["engine_speed"]*math.Pi/30)
	assert.InEpsilon(t, x["volumetric_efficiency"], x["air_flow"]/(density*swept), 1e-9)

	x = example(t, "engine_performance")
	density = x["p_inlet"] / (x["R"] * x["T_inlet"])
	swept = geometry.SweptFlow(x["cylinders"]*x["volume_per_cylinder"], x["engine_speed"]*math.Pi/30)
	air := x["fuel_flow"] * x["air_fuel_ratio"] / 3600
	assert.InEpsilon(t, x["volumetric_efficiency"], 100*air/(density*swept), 1e-9)
}

// offset is an engine whose pin stands off its cylinder's axis far more than any real one, so that a wrong sign shows.
func offset(e float64) geometry.Cylinder {
	return geometry.Cylinder{Bore: 0.084, Stroke: 0.082, Rod: 0.144, PinOffset: e, CompressionRatio: 8.6}
}

func TestPinOffset(t *testing.T) {
	// Hand calculation with a = 41, l = 144, e = 10 mm: the rod's ends lie 185 and 103 mm apart at the ends of the
	// stroke, so S = √(185² − 10²) − √(103² − 10²) = 184.729532 − 102.513414 = 82.216118 mm.
	c := offset(0.010)
	require.NoError(t, c.Validate())
	assert.InDelta(t, 0.082216118, c.PistonStroke(), 1e-9)
	assert.Equal(t, 0.082, offset(0).PistonStroke())

	// The volumes at the ends of the stroke are in the compression ratio, and those at any angle lie between.
	top, bottom := math.Inf(1), 0.0
	for i := range 36000 {
		v := c.Volume(float64(i) * deg / 100)
		top, bottom = min(top, v), max(bottom, v)
	}
	assert.InEpsilon(t, c.ClearanceVolume(), top, 1e-12)
	assert.Zero(t, c.PistonTravel(0))
	assert.InEpsilon(t, c.CompressionRatio, bottom/top, 1e-7, "0.01 degree from the bottom")

	// Mirrored, the engine turns the other way: the same volumes at the same angles before top dead centre.
	for _, a := range []float64{-170, -60, -1, 0.1, 33, 90, 145, 200} {
		assert.InEpsilon(t, c.Volume(a*deg), offset(-0.010).Volume(-a*deg), 1e-12)
	}
	// Towards the side the crank pin goes to, the rod stands straighter on the way down: the piston is past the middle
	// of its stroke later, so the way down takes more than half a turn.
	assert.Less(t, c.PistonTravel(90*deg), c.PistonTravel(-90*deg))
}

func TestMotionIsTheDerivativeOfTravel(t *testing.T) {
	const speed, h = 700.0, 1e-4
	for _, e := range []float64{0, 0.0012, -0.01} {
		c := offset(e)
		for a := -355.0; a < 360; a += 17 {
			x0, x1, x2 := c.PistonTravel(a*deg-h), c.PistonTravel(a*deg), c.PistonTravel(a*deg+h)
			// The central differences are good to h² of the third and fourth derivatives.
			assert.InDelta(t, (x2-x0)/(2*h)*speed, c.PistonVelocity(a*deg, speed), 1e-6)
			assert.InDelta(t, (x2-2*x1+x0)/(h*h)*speed*speed, c.PistonAcceleration(a*deg, speed), 2e-1)
			assert.InDelta(t, c.BoreArea()*c.PistonVelocity(a*deg, speed)/speed, c.VolumeSlope(a*deg), 1e-15)
		}
	}
}

func TestTravelNearTheTop(t *testing.T) {
	// For small angles the travel is a (1 + a/l) θ²/2; a difference of cosines would have lost all digits at 1e-8 rad.
	c := offset(0)
	a, l := c.Stroke/2, c.Rod
	for _, theta := range []float64{1e-8, 1e-6, 1e-4} {
		assert.InEpsilon(t, a*(1+a/l)*theta*theta/2, c.PistonTravel(theta), 1e-8)
	}
}

func TestExtremes(t *testing.T) {
	const speed = 7800 * math.Pi / 30
	c := offset(0)
	a, l := c.Stroke/2, c.Rod
	assert.InEpsilon(t, a*(1+a/l)*speed*speed, c.MaxPistonAcceleration(speed), 1e-12)
	assert.InEpsilon(t, math.Asin(41.0/144), c.MaxRodAngle(), 1e-12)
	assert.InEpsilon(t, 144.0/82, c.RodRatio(), 1e-12)
	for _, e := range []float64{0, 0.002, -0.01} {
		c := offset(e)
		v, acc := 0.0, 0.0
		for i := range 72000 { // nothing found on a grid exceeds the extremes, and the grid comes within its step squared
			th := float64(i) * deg / 200
			v = max(v, math.Abs(c.PistonVelocity(th, speed)))
			acc = max(acc, math.Abs(c.PistonAcceleration(th, speed)))
		}
		assert.InEpsilon(t, v, c.MaxPistonSpeed(speed), 1e-7)
		assert.GreaterOrEqual(t, c.MaxPistonSpeed(speed)*(1+1e-12), v)
		assert.InEpsilon(t, acc, c.MaxPistonAcceleration(speed), 1e-7)
		assert.GreaterOrEqual(t, c.MaxPistonAcceleration(speed)*(1+1e-12), acc)
	}
	// With an endless rod the motion is harmonic: the greatest speed is π/2 times the mean.
	c.Rod = 1e5
	assert.InEpsilon(t, math.Pi/2*c.MeanPistonSpeed(speed), c.MaxPistonSpeed(speed), 1e-9)
}

func TestWallArea(t *testing.T) {
	// Flat crown and roof: two bore areas at the top, and the liner's cylinder π B S more at the bottom.
	c := offset(0)
	assert.InEpsilon(t, 2*c.BoreArea(), c.WallArea(0, 2), 1e-12)
	assert.InEpsilon(t, 2*c.BoreArea()+math.Pi*c.Bore*c.Stroke, c.WallArea(math.Pi, 2), 1e-12)
}

func TestCylinderRefusals(t *testing.T) {
	nan := math.NaN()
	for _, p := range []struct {
		change func(*geometry.Cylinder)
		want   string
	}{
		{func(c *geometry.Cylinder) { c.Bore = 0 }, "bore is 0 m; want more than 0"},
		{func(c *geometry.Cylinder) { c.Bore = nan }, "bore is NaN m; want more than 0"},
		{func(c *geometry.Cylinder) { c.Stroke = math.Inf(1) }, "stroke is +Inf m; want more than 0"},
		{func(c *geometry.Cylinder) { c.Rod = 0.04 }, "rod is 0.04 m; want more than half the stroke and the pin offset together, 0.041 m"},
		{func(c *geometry.Cylinder) { c.PinOffset = 0.11 }, "rod is 0.144 m; want more than half the stroke and the pin offset together, 0.151 m"},
		{func(c *geometry.Cylinder) { c.PinOffset = nan }, "rod is 0.144 m; want more than half the stroke and the pin offset together, NaN m"},
		{func(c *geometry.Cylinder) { c.CompressionRatio = 1 }, "compression ratio is 1; want more than 1"},
		{func(c *geometry.Cylinder) { c.CompressionRatio = nan }, "compression ratio is NaN; want more than 1"},
	} {
		c := offset(0)
		p.change(&c)
		assert.EqualError(t, c.Validate(), p.want)
	}
}

func TestChamber(t *testing.T) {
	// Hand calculation: bore and stroke 84 × 82 mm sweep 454.4245 cm³; 46 cm³ head, gasket π/4 · 85² · 1.1 mm =
	// 6.2419 cm³, dish 9 cm³, deck π/4 · 84² · 0.2 mm = 1.1084 cm³: 62.3503 cm³, so 1 + 454.4245/62.3503 = 8.2883.
	ch := geometry.Chamber{Head: 46e-6, GasketBore: 0.085, GasketThickness: 1.1e-3, PistonDish: 9e-6, DeckClearance: 0.2e-3}
	c := offset(0)
	v, err := ch.ClearanceVolume(c.Bore)
	require.NoError(t, err)
	assert.InDelta(t, 62.3503e-6, v, 1e-10)
	rc, err := ch.CompressionRatio(c)
	require.NoError(t, err)
	assert.InDelta(t, 8.2883, rc, 1e-4)
}

func TestChamberRefusals(t *testing.T) {
	ch := geometry.Chamber{Head: 46e-6, GasketBore: 0.085, GasketThickness: 1.1e-3, PistonDish: 9e-6}
	_, err := ch.ClearanceVolume(0.086)
	assert.EqualError(t, err, "gasket bore is 0.085 m; want at least the bore, 0.086 m")
	ch.PistonDish = -60e-6
	_, err = ch.ClearanceVolume(0.084)
	assert.ErrorContains(t, err, "add up to")
	ch.PistonDish = math.NaN()
	_, err = ch.CompressionRatio(offset(0))
	assert.ErrorContains(t, err, "add up to NaN")
	ch.GasketThickness = -1e-3
	_, err = ch.ClearanceVolume(0.084)
	assert.EqualError(t, err, "gasket thickness is -0.001 m; want 0 or more")
	_, err = ch.ClearanceVolume(math.NaN())
	assert.Error(t, err)
}

func valves() geometry.Valves {
	return geometry.Valves{
		InletCount: 2, InletDiameter: 0.034, InletLift: 0.0102, InletCloses: 58 * deg,
		ExhaustCount: 2, ExhaustDiameter: 0.030, ExhaustLift: 0.0096, ExhaustOpens: 60 * deg,
	}
}

func TestValves(t *testing.T) {
	v, c := valves(), offset(0)
	require.NoError(t, v.Validate(c.Bore))
	// Hand calculation: 2 π 34 mm 10.2 mm and 2 π 30 mm 9.6 mm.
	assert.InDelta(t, 2179.0e-6, v.InletCurtainArea(), 1e-7)
	assert.InDelta(t, 1809.6e-6, v.ExhaustCurtainArea(), 1e-7)
	assert.InDelta(t, -122*deg, v.InletClosingAngle(), 1e-12)
	assert.InDelta(t, 120*deg, v.ExhaustOpeningAngle(), 1e-12)

	// Lift over a quarter of the diameter: Ci = 1.45/4 = 0.3625. Two valves of 34 mm in a bore of 84 mm: the bore's area
	// over the heads' is 84²/(2 · 34²) = 3.05190; at 7000 rpm the mean piston speed is 19.1333 m/s;
	// Z = 3.05190 · 19.1333/(0.3625 · 343) = 0.46963.
	ci, given := v.MeanInletFlowCoefficient()
	assert.InDelta(t, 0.3625, ci, 1e-12)
	assert.False(t, given)
	z, err := v.InletMachIndex(c, 7000*math.Pi/30, 343)
	require.NoError(t, err)
	assert.InDelta(t, 0.46963, z, 1e-5)

	v.InletFlow = 0.725 // twice the coefficient, half the index
	half, err := v.InletMachIndex(c, 7000*math.Pi/30, 343)
	require.NoError(t, err)
	assert.InEpsilon(t, z/2, half, 1e-12)
}

func TestEffectiveCompressionRatio(t *testing.T) {
	c := offset(0)
	assert.InEpsilon(t, 8.6, c.EffectiveCompressionRatio(-math.Pi), 1e-12) // closing at bottom dead centre
	assert.Less(t, c.EffectiveCompressionRatio(valves().InletClosingAngle()), 8.6)
}

func TestValveRefusals(t *testing.T) {
	for _, p := range []struct {
		change func(*geometry.Valves)
		want   string
	}{
		{func(v *geometry.Valves) { v.InletCount = 0 }, "inlet valve count is 0; want at least 1"},
		{func(v *geometry.Valves) { v.ExhaustDiameter = math.NaN() }, "exhaust valve diameter is NaN m; want more than 0"},
		{func(v *geometry.Valves) { v.InletLift = -1 }, "inlet valve lift is -1 m; want more than 0"},
		{func(v *geometry.Valves) { v.InletDiameter = 0.060 }, "the valve heads' areas add up to 1.28 of the bore's; they do not fit"},
		{func(v *geometry.Valves) { v.InletCloses = 2 }, "inlet closes 2 rad after bottom dead centre; want at most a quarter turn from it"},
		{func(v *geometry.Valves) { v.ExhaustOpens = -2 }, "exhaust opens -2 rad before bottom dead centre; want at most a quarter turn from it"},
		{func(v *geometry.Valves) { v.InletFlow = 1.2 }, "inlet flow coefficient is 1.2; want 0 to 1"},
	} {
		v := valves()
		p.change(&v)
		assert.EqualError(t, v.Validate(0.084), p.want)
	}
	_, err := valves().InletMachIndex(offset(0), math.NaN(), 343)
	assert.Error(t, err)
	_, err = valves().InletMachIndex(offset(0), 700, 0)
	assert.Error(t, err)
}

func ExampleCylinder() {
	c := geometry.Cylinder{Bore: 0.084, Stroke: 0.082, Rod: 0.144, CompressionRatio: 8.6}
	fmt.Printf("%.1f cm3 swept, %.1f cm3 above\n", c.Displacement()*1e6, c.ClearanceVolume()*1e6)
	// Output: 454.4 cm3 swept, 59.8 cm3 above
}

func BenchmarkVolume(b *testing.B) {
	c := offset(0)
	b.ReportAllocs()
	theta, sum := 0.0, 0.0
	for b.Loop() {
		theta += 1e-3
		sum += c.Volume(theta)
	}
	_ = sum
}
