package spark

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/cycle"
	"bellmouth/internal/fuel"
	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/knock"
	"bellmouth/internal/numeric"
	"bellmouth/internal/refdata"
)

func TestIgnitionDelay(t *testing.T) {
	for _, tc := range []struct {
		rpm, deg float64
		held     bool
	}{
		{2000, 4, false},
		{6750, 6, false}, // (6750/2000)^(1/3) = 1.5
		{1000, 4 / math.Cbrt(2), false},
		{500, 4 / math.Cbrt(2), true},
		{10000, 4 * math.Cbrt(5), false},
		{12000, 4 * math.Cbrt(5), true},
	} {
		angle, held, err := IgnitionDelay(numeric.Curve{}, tc.rpm*rpm)
		require.NoError(t, err)
		assert.InEpsilon(t, tc.deg*deg, angle, 1e-12)
		assert.Equal(t, tc.held, held, "%v rpm", tc.rpm)
	}

	table, err := numeric.NewCurve([]float64{2000 * rpm, 6000 * rpm}, []float64{3 * deg, 7 * deg})
	require.NoError(t, err)
	angle, held, err := IgnitionDelay(table, 4000*rpm)
	require.NoError(t, err)
	assert.InEpsilon(t, 5*deg, angle, 1e-12)
	assert.False(t, held)
	angle, held, err = IgnitionDelay(table, 7000*rpm)
	require.NoError(t, err)
	assert.InEpsilon(t, 7*deg, angle, 1e-12)
	assert.True(t, held)

	_, _, err = IgnitionDelay(numeric.Constant(5), 4000*rpm)
	assert.EqualError(t, err, "ignition delay is 5 rad; want 0 to 1")
	for _, bad := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		_, _, err := IgnitionDelay(table, bad)
		assert.Error(t, err)
	}
}

// octane is the knock delay for an octane number, at the mixture that leaves it as it is.
func octane(t *testing.T, number float64) knock.Delay {
	d, _, err := knock.New(knock.Charge{Octane: number, Lambda: knock.PeakLambda})
	require.NoError(t, err)
	return d
}

// rate is 1/τ of the knock delay for an octane number.
func rate(t *testing.T, number, p, temperature float64) float64 {
	d := octane(t, number)
	return d.Rate(math.Log(p), temperature)
}

// integral adds up the rate of the knock delay over a row of livengood_wu.csv by Simpson's rule.
func integral(t *testing.T, row refdata.Row, octane float64) float64 {
	cyl := geometry.Cylinder{
		Bore: row.F(t, "bore_mm") * 1e-3, Stroke: row.F(t, "stroke_mm") * 1e-3, Rod: row.F(t, "rod_mm") * 1e-3,
		CompressionRatio: row.F(t, "compression_ratio"),
	}
	n := row.F(t, "polytropic_n")
	from, to := row.F(t, "start_deg")*deg, row.F(t, "end_deg")*deg
	v0 := cyl.Volume(from)
	rate := func(theta float64) float64 {
		x := math.Pow(v0/cyl.Volume(theta), n-1)
		return rate(t, octane, row.F(t, "p_start_Pa")*math.Pow(x, n/(n-1)), row.F(t, "T_start_K")*x)
	}
	const steps = 2000
	h := (to - from) / steps
	sum := 0.0
	for i := range steps {
		theta := from + float64(i)*h
		sum += h / 6 * (rate(theta) + 4*rate(theta+h/2) + rate(theta+h))
	}
	return sum / (row.F(t, "rpm") * rpm)
}

func TestOctaneMarginOnPublishedIntegrals(t *testing.T) {
	// livengood_wu.csv: with the octane number needed, the integral, evaluated anew from the delay, is at the limit.
	for _, row := range refdata.Read(t, "livengood_wu.csv") {
		k := Knock{Octane: row.F(t, "octane_number"), Integral: row.F(t, "knock_integral")}
		// Simpson's rule on 2000 steps is good for 1e-10, the table's integral for 1e-11.
		require.InEpsilon(t, k.Integral, integral(t, row, k.Octane), 1e-9)
		for _, share := range []float64{0.7, 1, 1.2} {
			k.Limit = k.Integral / share
			needed, _, err := k.OctaneNeeded()
			require.NoError(t, err)
			assert.InEpsilon(t, k.Limit, integral(t, row, needed), 1e-9)
			margin, _, err := k.OctaneMargin()
			require.NoError(t, err)
			assert.InDelta(t, k.Octane-needed, margin, 1e-12)
			switch {
			case share < 1:
				assert.Positive(t, margin)
			case share > 1:
				assert.Negative(t, margin)
			default:
				assert.InDelta(t, 0, margin, 1e-12)
			}
		}
	}
}

func TestOctaneMarginOnACycle(t *testing.T) {
	// An invented boosted cylinder, run whole with the fuel's octane number and again with the one needed.
	f, err := fuel.Named("ron102")
	require.NoError(t, err)
	charge, err := f.Charge(gas.Air{Pressure: 101325, Temperature: 293.15, RelativeHumidity: 0.5}, 0.85)
	require.NoError(t, err)
	m, err := cycle.New(cycle.Config{
		Cylinder: geometry.Cylinder{Bore: 0.084, Stroke: 0.082, Rod: 0.144, CompressionRatio: 8.6},
		Valves: geometry.Valves{
			InletCount: 2, InletDiameter: 0.034, InletLift: 0.0102, InletOpens: 15 * deg, InletCloses: 58 * deg,
			ExhaustCount: 2, ExhaustDiameter: 0.03, ExhaustLift: 0.0096, ExhaustOpens: 60 * deg, ExhaustCloses: 20 * deg,
		},
		WallTemperature: 460, HeatFactor: 1,
	})
	require.NoError(t, err)
	in := cycle.Input{
		Speed: 6000 * rpm, Unburned: charge.Unburned, Burned: charge.Burned, Mass: 1.45e-3,
		InitialBurned: 0.03, FinalBurned: 0.97, Temperature: 345, CA50: 16 * deg, BurnAngle: 50 * deg, Knock: octane(t, 98),
	}
	var r cycle.Result
	require.NoError(t, m.Run(&in, &r))
	const limit = 0.9
	needed, _, err := Knock{Octane: 98, Integral: r.KnockIntegral, Limit: limit}.OctaneNeeded()
	require.NoError(t, err)
	require.Greater(t, math.Abs(needed-98), 1.0, "the case says nothing at the limit")
	in.Knock = octane(t, needed)
	require.NoError(t, m.Run(&in, &r))
	assert.InEpsilon(t, limit, r.KnockIntegral, 1e-11)
}

func TestOctaneRange(t *testing.T) {
	for _, tc := range []struct {
		k            Knock
		extrapolated bool
	}{
		{Knock{98, 0.9, 1}, false}, // 95.0
		{Knock{98, 0.4, 1}, true},  // 74.9
		{Knock{102, 0.9, 1}, true}, // the fuel's own
		{Knock{98, 1.2, 1}, true},  // 103.4
		{Knock{100, 1, 1}, false},  // at the end
		{Knock{80, 1.1, 1}, false}, // 82.3
		{Knock{80, 0.99, 1}, true}, // 79.8
		{Knock{98, 1.8, 2}, false}, // only the ratio counts
		{Knock{98, 0.45, 0.5}, false},
	} {
		_, extrapolated, err := tc.k.OctaneMargin()
		require.NoError(t, err)
		assert.Equal(t, tc.extrapolated, extrapolated, "%+v", tc.k)
	}
	// 98 · 0.9^(1/3.402) = 98 · e^(−0.105361/3.402) = 98 · 0.969505 = 95.0115.
	margin, _, err := Knock{98, 0.9, 1}.OctaneMargin()
	require.NoError(t, err)
	assert.InDelta(t, 98-95.0115, margin, 1e-4)

	nan := math.NaN()
	for _, bad := range []Knock{{59, 1, 1}, {151, 1, 1}, {nan, 1, 1}, {98, 0, 1}, {98, nan, 1}, {98, 1, 0}, {98, 1, math.Inf(1)}, {98, 1e300, 1e-300}} {
		_, _, err := bad.OctaneMargin()
		assert.Error(t, err, "%+v", bad)
	}
}
