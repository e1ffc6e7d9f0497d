package supply_test

import (
	"math"
	"testing"

	"bellmouth/internal/supply"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	bar   = 1e5
	litre = 1e-3 / 3600 // an hour, m³/s
)

func pump(t testing.TB, tests ...supply.Test) *supply.Pump {
	t.Helper()
	p, err := supply.NewPump(tests)
	require.NoError(t, err)
	return p
}

// straight is a pump of straight lines: flow at no pressure, l/h, down to the shut-off pressure, bar.
func straight(t testing.TB, volts, free, shutoff float64) *supply.Pump {
	t.Helper()
	return pump(t, supply.Test{Voltage: volts, Points: []supply.Point{{Rise: 0, Flow: free * litre}, {Rise: shutoff * bar}}})
}

// main is an invented pump tested at two voltages, from 3 to 6 bar.
func mainPump(t testing.TB) *supply.Pump {
	t.Helper()
	return pump(t,
		supply.Test{Voltage: 12, Points: []supply.Point{{3 * bar, 240 * litre}, {4 * bar, 220 * litre}, {5 * bar, 192 * litre}, {6 * bar, 150 * litre}}},
		supply.Test{Voltage: 13.5, Points: []supply.Point{{3 * bar, 280 * litre}, {4 * bar, 262 * litre}, {5 * bar, 238 * litre}, {6 * bar, 204 * litre}}},
	)
}

func flowAt(t testing.TB, s supply.Source, rise, volts float64) float64 {
	t.Helper()
	q, _, err := supply.FlowAt(s, rise, volts)
	require.NoError(t, err)
	return q
}

func TestPumpGoesThroughItsTests(t *testing.T) {
	p := mainPump(t)
	assert.InEpsilon(t, 220*litre, flowAt(t, p, 4*bar, 12), 1e-12)
	assert.InEpsilon(t, 204*litre, flowAt(t, p, 6*bar, 13.5), 1e-12)
	// Half way between the voltages it is the mean: (192 + 238)/2 l/h.
	assert.InEpsilon(t, 215*litre, flowAt(t, p, 5*bar, 12.75), 1e-12)
	// Below 3 bar along the first line, 20 l/h a bar: 260 l/h at 2 bar; and it says so.
	q, notes, err := supply.FlowAt(p, 2*bar, 12)
	require.NoError(t, err)
	assert.InEpsilon(t, 260*litre, q, 1e-12)
	assert.Equal(t, supply.NotePressureBelow, notes)
	// Above 13.5 V with what the flow at no pressure gains a volt: (334 − 300)/1.5 l/h, so half a volt adds 11.3333.
	q, notes, err = supply.FlowAt(p, 5*bar, 14)
	require.NoError(t, err)
	assert.InEpsilon(t, (238+34.0/3)*litre, q, 1e-12)
	assert.Equal(t, supply.NoteVoltageOutside, notes)
	q, _, err = supply.FlowAt(p, 5*bar, 11)
	require.NoError(t, err)
	assert.InEpsilon(t, (192-34.0/1.5)*litre, q, 1e-12)
}

func TestOneVoltageFollowsTheMotor(t *testing.T) {
	// A pump that displaces D = 0.3 cm³ a turn and leaks 0.2 cm³/s a bar, driven by a motor of k = 0.02 V s/rad and R = 0.5 Ω:
	// torque D Δp/(2π) = k i, speed (V − i R)/k, flow D n/(2π) − leak Δp. The law has to give exactly that at any voltage.
	const D, leak, k, R = 3e-7, 2e-12, 0.02, 0.5
	truth := func(volts, rise float64) float64 {
		i := D * rise / (2 * math.Pi) / k
		return D*(volts-i*R)/k/(2*math.Pi) - leak*rise
	}
	p := pump(t, supply.Test{Voltage: 13.5, Points: []supply.Point{
		{0, truth(13.5, 0)}, {2 * bar, truth(13.5, 2*bar)}, {4 * bar, truth(13.5, 4*bar)}, {6 * bar, truth(13.5, 6*bar)}}})
	for volts := 10.5; volts <= 16; volts += 0.5 {
		for rise := 0.0; rise <= 6*bar; rise += bar / 2 {
			if want := truth(volts, rise); want > 0 {
				assert.InEpsilon(t, want, flowAt(t, p, rise, volts), 1e-9, "%v V, %v Pa", volts, rise)
			}
		}
	}
	// And of two voltages, everywhere.
	two := pump(t,
		supply.Test{Voltage: 11, Points: []supply.Point{{2 * bar, truth(11, 2*bar)}, {6 * bar, truth(11, 6*bar)}}},
		supply.Test{Voltage: 13, Points: []supply.Point{{2 * bar, truth(13, 2*bar)}, {6 * bar, truth(13, 6*bar)}}})
	for volts := 8.5; volts <= 16; volts += 0.25 {
		for rise := 0.0; rise <= 6*bar; rise += bar / 2 {
			if want := truth(volts, rise); want > 0 {
				assert.InEpsilon(t, want, flowAt(t, two, rise, volts), 1e-9, "%v V, %v Pa", volts, rise)
			}
		}
	}
}

func TestShutOff(t *testing.T) {
	// Shut off at 5 bar at 12 V and 7 bar at 14 V, both 100 l/h a bar. Half way Q = (500 + 700)/2 − 100 Δp: shut off at 6 bar.
	p := pump(t,
		supply.Test{Voltage: 12, Points: []supply.Point{{0, 500 * litre}, {5 * bar, 0}}},
		supply.Test{Voltage: 14, Points: []supply.Point{{0, 700 * litre}, {7 * bar, 0}}})
	assert.InEpsilon(t, 50*litre, flowAt(t, p, 5.5*bar, 13), 1e-12) // past the weaker one's shut-off
	assert.Zero(t, flowAt(t, p, 6*bar*(1+1e-9), 13))
	assert.Zero(t, flowAt(t, p, 20*bar, 13))
	rise, _, err := supply.RiseAt(p, 0, 13)
	require.NoError(t, err)
	assert.InEpsilon(t, 6*bar, rise, 1e-12)
	assert.InDelta(t, 100*litre, flowAt(t, p, 4*bar, 12), 1e-15) // at the test's own voltage
}

func TestFlowAndRiseAreInverse(t *testing.T) {
	a, b := mainPump(t), straight(t, 12.5, 300, 8)
	for name, s := range map[string]supply.Source{
		"one": a, "parallel": supply.Parallel{a, b}, "series": supply.Series{a, b},
		"series of parallel": supply.Series{supply.Parallel{a, a}, straight(t, 13, 520, 2)},
		"parallel of series": supply.Parallel{supply.Series{a, straight(t, 13, 400, 2)}, b},
	} {
		for _, volts := range []float64{11, 12, 12.6, 13.5, 14} {
			last := math.Inf(1)
			for rise := 4.5 * bar; rise < 5.9*bar; rise += 0.1 * bar {
				q := flowAt(t, s, rise, volts)
				assert.Less(t, q, last, "%s, %v V, %v Pa", name, volts, rise)
				last = q
				back, _, err := supply.RiseAt(s, q, volts)
				require.NoError(t, err)
				assert.InEpsilon(t, rise, back, 1e-9, "%s, %v V", name, volts)
			}
		}
		// More voltage, more flow.
		last := 0.0
		for volts := 10.0; volts <= 15; volts += 0.05 {
			q := flowAt(t, s, 5*bar, volts)
			assert.Greater(t, q, last, "%s, %v V", name, volts)
			last = q
		}
	}
}

func TestPumpsTogetherByHand(t *testing.T) {
	// Straight pumps: A 400 l/h down to 8 bar, B 200 l/h down to 5 bar.
	a, b := straight(t, 13, 400, 8), straight(t, 13, 200, 5)
	side, behind := supply.Parallel{a, b}, supply.Series{a, b}
	// Side by side at 3 bar: 250 + 80 l/h. At 6 bar B is past its shut-off and its valve is shut: A's 100 alone.
	assert.InEpsilon(t, 330*litre, flowAt(t, side, 3*bar, 13), 1e-12)
	assert.InEpsilon(t, 100*litre, flowAt(t, side, 6*bar, 13), 1e-12)
	// One behind the other at 100 l/h: 8 · 300/400 + 5 · 100/200 = 8.5 bar; at rest 13 bar.
	rise, _, err := supply.RiseAt(behind, 100*litre, 13)
	require.NoError(t, err)
	assert.InEpsilon(t, 8.5*bar, rise, 1e-12)
	assert.InEpsilon(t, 100*litre, flowAt(t, behind, 8.5*bar, 13), 1e-12)
	assert.Zero(t, flowAt(t, behind, 13*bar, 13))
	// B's free flow, 200 l/h, is the most: A then adds 4 bar.
	assert.InEpsilon(t, 200*litre, flowAt(t, behind, 4*bar, 13), 1e-12)
	_, _, err = supply.FlowAt(behind, 3.9*bar, 13)
	var out *supply.RangeError
	require.ErrorAs(t, err, &out)
	assert.InEpsilon(t, 4*bar, out.Low, 1e-12)
	// Twice the same pump: twice the flow, or twice the pressure.
	assert.InEpsilon(t, 2*flowAt(t, a, 3*bar, 13), flowAt(t, supply.Parallel{a, a}, 3*bar, 13), 1e-12)
	assert.InEpsilon(t, flowAt(t, a, 3*bar, 13), flowAt(t, supply.Series{a, a}, 6*bar, 13), 1e-12)
}

func TestPumpOutsideItsTests(t *testing.T) {
	p := mainPump(t)
	for _, x := range []struct{ rise, volts float64 }{{6.01 * bar, 13}, {-1, 13}, {math.NaN(), 13}, {math.Inf(1), 13}, {4 * bar, 8.99}, {4 * bar, 16.9},
		{4 * bar, math.NaN()}} {
		_, _, err := supply.FlowAt(p, x.rise, x.volts)
		var out *supply.RangeError
		require.ErrorAs(t, err, &out, "%v", x)
	}
	_, _, err := supply.FlowAt(p, 7*bar, 12)
	assert.EqualError(t, err, "pressure rise of the pumps is 7e+05 Pa; the pumps are known from 0 to 6e+05 Pa")
	for _, q := range []float64{149 * litre, 400 * litre, math.NaN()} {
		_, _, err = supply.RiseAt(p, q, 12)
		var out *supply.RangeError
		require.ErrorAs(t, err, &out, "%v", q)
	}
	_, _, err = supply.FlowAt(nil, bar, 12)
	assert.EqualError(t, err, "there is no pump")
	for _, s := range []supply.Source{supply.Parallel{}, supply.Series{}} {
		_, _, err = supply.FlowAt(s, bar, 12)
		assert.EqualError(t, err, "there is no pump")
	}
	_, _, err = supply.FlowAt(supply.Parallel{p, &supply.Pump{}}, bar, 12)
	assert.EqualError(t, err, "pump 2 of 2: pump has no tests")
	// A pump whose table ends at 150 l/h or more cannot stand behind one that gives at most 100.
	_, _, err = supply.RiseAt(supply.Series{p, straight(t, 12, 100, 3)}, 100*litre, 12)
	assert.ErrorContains(t, err, "one behind the other")
}

func TestPumpRefusals(t *testing.T) {
	good := func() []supply.Test {
		return []supply.Test{
			{Voltage: 12, Points: []supply.Point{{3 * bar, 2e-5}, {5 * bar, 1e-5}}},
			{Voltage: 13.5, Points: []supply.Point{{3 * bar, 3e-5}, {5 * bar, 2e-5}}},
		}
	}
	for _, p := range []struct {
		change func(x []supply.Test)
		want   string
	}{
		{func(x []supply.Test) { x[0].Voltage = 0 }, "test 1 of the pump: voltage is 0 V; want more than 0"},
		{func(x []supply.Test) { x[1].Voltage = 11 }, "test 2 of the pump: voltage is 11 V after 12 V; want rising voltages"},
		{func(x []supply.Test) { x[0].Points = x[0].Points[:1] }, "test 1 of the pump: points are 1; want 2 or more"},
		{func(x []supply.Test) { x[0].Points[1].Rise = 2 * bar }, "test 1 of the pump, point 2: pressure is 200000 Pa after 300000 Pa; want rising pressures"},
		{func(x []supply.Test) { x[0].Points[1].Flow = 2e-5 }, "test 1 of the pump, point 2: flow is 2e-05 m³/s after 2e-05 m³/s; want falling flows"},
		{func(x []supply.Test) { x[1].Points[0].Rise = math.NaN() }, "test 2 of the pump, point 1: pressure is NaN Pa; want 0 or more"},
		{func(x []supply.Test) { x[1].Points[0].Flow = math.Inf(1) }, "test 2 of the pump, point 1: flow is +Inf m³/s; want 0 or more"},
		{func(x []supply.Test) { x[1].Points[1].Flow = 1e-5 }, "test 2 of the pump: at 5e+05 Pa the flow is not above that of 12 V"},
	} {
		x := good()
		p.change(x)
		_, err := supply.NewPump(x)
		assert.EqualError(t, err, p.want)
		var bad *supply.PumpError
		assert.ErrorAs(t, err, &bad)
	}
	_, err := supply.NewPump(nil)
	assert.Error(t, err)
	_, err = supply.NewPump(good())
	assert.NoError(t, err)
}

func BenchmarkFlowAt(b *testing.B) {
	p := mainPump(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := supply.FlowAt(p, 4.5*bar, 12.8); err != nil {
			b.Fatal(err)
		}
	}
}
