package spark

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	rpm = math.Pi / 30
	deg = math.Pi / 180
)

// The figures of this coil are invented.
func invented() Coil {
	return Coil{
		Inductance: 3e-3, Resistance: 0.5, SparkTime: 1.5e-3, SparksPerCycle: 1, RatedCurrent: 8, RatedVoltage: 32e3,
	}
}

func TestCurrentByHand(t *testing.T) {
	// 13.5 V over 0.5 Ω tends to 27 A, L/R is 6 ms: after 2.5 ms 27 (1 − e^−0.416667) = 27 · 0.340760 = 9.2005 A, which
	// stores ½ · 3 mH · 9.2005² = 126.97 mJ.
	c := invented()
	i := c.Current(2.5e-3, 13.5)
	assert.InDelta(t, 9.2005, i, 1e-4)
	assert.InDelta(t, 126.97e-3, c.Energy(i), 1e-5)
	assert.InEpsilon(t, 27, c.LargestCurrent(13.5), 1e-14)

	// One time constant reaches 1 − 1/e, and the current tends to U/R.
	assert.InEpsilon(t, 27*(1-1/math.E), c.Current(6e-3, 13.5), 1e-13)
	assert.InEpsilon(t, 27, c.Current(1, 13.5), 1e-13)
	// At first it rises with U/L, whatever the resistance.
	assert.InEpsilon(t, 13.5/3e-3*1e-9, c.Current(1e-9, 13.5), 1e-6)
	assert.Zero(t, c.Current(0, 13.5))
	assert.Zero(t, c.Current(-1, 13.5))

	c.DriverDrop = 1.5 // the coil sees 12 V
	assert.InEpsilon(t, i*12/13.5, c.Current(2.5e-3, 13.5), 1e-13)
	assert.Zero(t, c.Current(2.5e-3, 1), "below the driver's drop")
}

// integrate solves L di/dt = U − U0 − R i, held at the limit, by the classical Runge–Kutta method, and with it the integrals of i
// and i². It shares nothing with the closed forms.
func integrate(c Coil, dwell, voltage float64, steps int) (i, charge, square float64) {
	h := dwell / float64(steps)
	slope := func(i float64) float64 { return (voltage - c.DriverDrop - c.Resistance*i) / c.Inductance }
	for range steps {
		k1 := slope(i)
		mid := i + h/2*k1
		k2 := slope(mid)
		k3 := slope(i + h/2*k2)
		k4 := slope(i + h*k3)
		next := i + h/6*(k1+2*k2+2*k3+k4)
		if c.CurrentLimit > 0 {
			next = min(next, c.CurrentLimit)
			mid = min(mid, c.CurrentLimit)
		}
		charge += h / 6 * (i + 4*mid + next)
		square += h / 6 * (i*i + 4*mid*mid + next*next)
		i = next
	}
	return i, charge, square
}

func TestFiringAgainstIntegration(t *testing.T) {
	// 2e5 steps put the Runge–Kutta current at rounding and the integrals, of second order through the midpoint, below 1e-9;
	// the step in which the limit is met adds up to 1e-9 more.
	const tol = 3e-9
	for _, tc := range []struct {
		name                  string
		limit, drop, r, dwell float64
	}{
		{"usual", 0, 0, 0.5, 2.5e-3},
		{"with drop", 0, 1.2, 0.5, 2.5e-3},
		{"below the series' switch", 0, 0, 0.5, 0.0099 * 6e-3},
		{"above the series' switch", 0, 0, 0.5, 0.0101 * 6e-3},
		{"long", 0, 0, 3, 12e-3},
		{"limited", 8, 0.8, 0.5, 6e-3},
		{"limit not met", 20, 0.8, 0.5, 6e-3},
		{"limit out of reach", 40, 0.8, 0.5, 6e-3},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c := invented()
			c.CurrentLimit, c.DriverDrop, c.Resistance = tc.limit, tc.drop, tc.r
			require.NoError(t, c.Validate())
			i, charge, square := integrate(c, tc.dwell, 13.5, 200_000)
			f, err := c.Fire(Demand{Dwell: tc.dwell, Voltage: 13.5, Speed: 3000 * rpm}) // 40 ms a cycle
			require.NoError(t, err)
			assert.InEpsilon(t, i, f.Current, tol)
			assert.InEpsilon(t, charge/40e-3, f.MeanCurrent, tol)
			assert.InEpsilon(t, tc.r*square/40e-3, f.Heat, tol)
			assert.Equal(t, tc.name == "limited", f.Limited)

			// What the supply gives is stored, heats the winding, or is left in the driver: closed without a limit, and
			// never less with one. The differences of the closed form cost digits at short dwells.
			given, kept := 13.5*f.MeanCurrent*40e-3, f.Energy+f.Heat*40e-3+tc.drop*f.MeanCurrent*40e-3
			if f.Limited {
				assert.Greater(t, given, kept)
			} else {
				assert.InEpsilon(t, given, kept, 1e-10)
			}
		})
	}
}

func TestFiringSmallTimes(t *testing.T) {
	// To the third order in x = t R/L: ∫i dt = I∞ τ x²/2 (1 − x/3), ∫i² dt = I∞² τ x³/3 (1 − 3x/4). At x = 1e-6 the closed form
	// would have no digit left; what the series leaves out is x², 1e-12.
	c := invented()
	x := 1e-6
	f, err := c.Fire(Demand{Dwell: x * 6e-3, Voltage: 13.5, Speed: 3000 * rpm})
	require.NoError(t, err)
	assert.InEpsilon(t, 27*6e-3*x*x/2*(1-x/3)/40e-3, f.MeanCurrent, 1e-11)
	assert.InEpsilon(t, 0.5*27*27*6e-3*x*x*x/3*(1-3*x/4)/40e-3, f.Heat, 1e-11)
	// Both forms agree where they change hands, to the digits the closed one has left: 1e-16 over x²/3.
	for _, g := range []func(float64) float64{risen, risenSquare} {
		assert.InEpsilon(t, g(series), g(math.Nextafter(series, 0)), 1e-11)
	}
}

func TestDwellFor(t *testing.T) {
	c := invented()
	for _, voltage := range []float64{8, 10, 12, 13.5, 15} {
		for _, current := range []float64{0.01, 2, 8, 15.9} {
			dwell, err := c.DwellFor(current, voltage)
			require.NoError(t, err)
			assert.InEpsilon(t, current, c.Current(dwell, voltage), 1e-12)
		}
	}
	// Half of what it tends to takes ln 2 time constants.
	dwell, err := c.DwellFor(13.5, 13.5)
	require.NoError(t, err)
	assert.InEpsilon(t, 6e-3*math.Ln2, dwell, 1e-13)
	// Less voltage takes longer: 8 A takes 2.11 ms on 13.5 V, 6 ms · ln(27/19), and 4.16 ms on 8 V, 6 ms · ln(16/8).
	dwell, err = c.DwellFor(8, 8)
	require.NoError(t, err)
	assert.InEpsilon(t, 6e-3*math.Ln2, dwell, 1e-13)
}

func TestDwellOutOfReach(t *testing.T) {
	// 6 V over 0.75 Ω is 8 A: not reached in any time, nor is more.
	c := invented()
	c.Resistance = 0.75
	for _, needed := range []float64{8, 9} {
		_, err := c.DwellFor(needed, 6)
		var e *CurrentError
		require.ErrorAs(t, err, &e)
		assert.InEpsilon(t, 8, e.Largest, 1e-14)
		assert.False(t, e.Limited)
	}
	_, err := c.DwellFor(9, 6)
	assert.EqualError(t, err, "the coil's current tends to 8 A on 6 V and reaches no more; 9 A are needed")
	_, err = c.DwellFor(7.999, 6)
	assert.NoError(t, err)

	c.CurrentLimit = 7
	_, err = c.DwellFor(7, 6)
	assert.NoError(t, err, "the limit itself is reached")
	_, err = c.DwellFor(7.5, 6)
	assert.EqualError(t, err, "the coil's driver holds 7 A at most; 7.5 A are needed")
	assert.Equal(t, 7.0, c.LargestCurrent(6))
	assert.InEpsilon(t, 4, c.LargestCurrent(3), 1e-14, "below the limit the resistance rules")

	for _, bad := range []struct{ current, voltage float64 }{{0, 12}, {-1, 12}, {math.NaN(), 12}, {8, 0}, {8, math.NaN()}, {8, math.Inf(1)}} {
		_, err := c.DwellFor(bad.current, bad.voltage)
		assert.Error(t, err, "%v", bad)
	}
}

func TestTimeBetweenSparks(t *testing.T) {
	// A cycle at 6000 rpm takes 20 ms. A dwell of 3 ms and a spark of 1.5 ms fit until the cycle over the sparks in it takes
	// 4.5 ms: 120/0.0045 = 26667 rpm with a coil for each cylinder, 13333 with one that also fires in the overlap, 5333
	// with one for five cylinders.
	for _, tc := range []struct {
		sparks       int
		period, rpms float64
	}{{1, 20e-3, 26666.667}, {2, 10e-3, 13333.333}, {5, 4e-3, 5333.333}} {
		c := invented()
		c.SparksPerCycle = tc.sparks
		assert.InEpsilon(t, tc.period, c.Period(6000*rpm), 1e-13)
		assert.InDelta(t, tc.period-1.5e-3, c.DwellRoom(6000*rpm), 1e-15)
		top := c.TopSpeed(3e-3)
		assert.InDelta(t, tc.rpms, top/rpm, 1e-3)
		assert.InEpsilon(t, 3e-3, c.DwellRoom(top), 1e-12)

		below, err := c.Fire(Demand{Dwell: 3e-3, Voltage: 13.5, Speed: top * (1 - 1e-9)})
		require.NoError(t, err)
		assert.False(t, below.Shortened)
		assert.InEpsilon(t, 3./4.5, below.Duty, 1e-8)
		above, err := c.Fire(Demand{Dwell: 3e-3, Voltage: 13.5, Speed: top * (1 + 1e-9)})
		require.NoError(t, err)
		assert.True(t, above.Shortened)
		assert.InEpsilon(t, below.Current, above.Current, 1e-7, "nothing jumps there")

		twice, err := c.Fire(Demand{Dwell: 3e-3, Voltage: 13.5, Speed: top * 1.5}) // 3 ms apart: 1.5 ms are left
		require.NoError(t, err)
		assert.InEpsilon(t, 1.5e-3, twice.Dwell, 1e-9)
		assert.InEpsilon(t, 0.5, twice.Duty, 1e-9)
		assert.Less(t, twice.Energy, below.Energy)
	}
}

func TestFireByHand(t *testing.T) {
	c := invented()
	// 2.5 ms of the 20 ms at 6000 rpm.
	f, err := c.Fire(Demand{Dwell: 2.5e-3, Voltage: 13.5, Speed: 6000 * rpm})
	require.NoError(t, err)
	assert.InEpsilon(t, 0.125, f.Duty, 1e-13)
	assert.Equal(t, c.Energy(f.Current), f.Energy)
	assert.Equal(t, 32e3, f.AvailableVoltage, "9.2 A is above the rated 8 A: held")

	// Energy into a constant capacitance: 32 kV stand for ½ · 3 mH · 8², a quarter of that for 16 kV, at 4 A.
	assert.InEpsilon(t, 16e3, c.AvailableVoltage(4), 1e-14)
	assert.InEpsilon(t, 0.25, c.Energy(4)/c.Energy(8), 1e-14)
	c.RatedCurrent, c.RatedVoltage = 0, 0
	assert.Zero(t, c.AvailableVoltage(4), "not stated")
}

func TestFireRefuses(t *testing.T) {
	c := invented()
	good := Demand{Dwell: 2.5e-3, Voltage: 13.5, Speed: 6000 * rpm}
	for _, bad := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		for _, set := range []func(*Demand){
			func(d *Demand) { d.Dwell = bad },
			func(d *Demand) { d.Voltage = bad },
			func(d *Demand) { d.Speed = bad },
		} {
			d := good
			set(&d)
			_, err := c.Fire(d)
			assert.Error(t, err, "%+v", d)
		}
	}
	c.SparksPerCycle = 8
	d := good
	d.Speed = 12000 * rpm // 10 ms over 8 sparks are 1.25 ms, the spark lasts 1.5
	_, err := c.Fire(d)
	assert.EqualError(t, err, "no time to charge the coil: its sparks follow 1.25 ms apart and last 1.5 ms")

	c = invented()
	c.DriverDrop = 1.5
	d = good
	d.Voltage = 1.5
	_, err = c.Fire(d)
	assert.EqualError(t, err, "supply voltage 1.5 V does not exceed the driver's 1.5 V: no current flows")
	d.Voltage = 1e200
	_, err = c.Fire(d)
	assert.ErrorContains(t, err, "no finite number")
}

func TestCoilValidate(t *testing.T) {
	good := invented()
	require.NoError(t, good.Validate())
	for _, set := range []func(*Coil){
		func(c *Coil) { c.Inductance = 0 },
		func(c *Coil) { c.Resistance = -0.5 },
		func(c *Coil) { c.Resistance = math.NaN() },
		func(c *Coil) { c.DriverDrop = -1 },
		func(c *Coil) { c.CurrentLimit = math.Inf(1) },
		func(c *Coil) { c.SparkTime = math.NaN() },
		func(c *Coil) { c.SparksPerCycle = 0 },
		func(c *Coil) { c.RatedVoltage = 0 },
		func(c *Coil) { c.RatedCurrent = 0 },
	} {
		c := invented()
		set(&c)
		assert.Error(t, c.Validate(), "%+v", c)
	}
	c := invented()
	c.Inductance = 0
	assert.EqualError(t, c.Validate(), "coil inductance is 0 H; want more than 0")
}

func BenchmarkFire(b *testing.B) {
	c := invented()
	c.CurrentLimit = 8
	d := Demand{Dwell: 3e-3, Voltage: 13.5, Speed: 6000 * rpm}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := c.Fire(d); err != nil {
			b.Fatal(err)
		}
	}
}
