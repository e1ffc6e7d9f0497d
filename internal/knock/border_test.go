package knock

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/refdata"
)

// boosted is an invented engine at full load: 2 bar at inlet closing, colder than 350 K, burning late.
func boosted() wiebeEngine {
	return wiebeEngine{
		cyl:   geometry.Cylinder{Bore: 0.084, Stroke: 0.082, Rod: 0.144, CompressionRatio: 9},
		speed: 4000 * rpm, closing: 130 * deg, p: 2e5, T: 350, burnStart: -5 * deg, burnAngle: 45 * deg, heat: chargeHeat,
	}
}

// The closed form against cycles run through: a fast one burns 2v shorter and starts where its peak is 2v higher; the mean cycle's
// integral where the fast one's is 1 is the ratio of the two. 3 % for petrol is 0.9 octane numbers, and small against what v is
// known to. The shock tube's delay gathers later, where more of the excess is there: the closed form, which has both gather in a
// line, must then be too high, and not by more than the 2v/3 of pressure that it leaves out make at most.
func TestFastCycleShare(t *testing.T) {
	for name, d := range map[string]Delay{"petrol": petrol(t, 98), "shock tube": shockTube(t, 1)} {
		for _, v := range []float64{0.03, 0.05, 0.06, 0.08} {
			mean := boosted()
			i0, peak0, T := mean.run(&d)
			fast := mean
			fast.burnAngle *= 1 - 2*v
			lo, hi := -10.0, 10.0
			for range 50 {
				early := (lo + hi) / 2
				fast.burnStart = mean.burnStart - early*deg
				if _, peak, _ := fast.run(&d); peak > peak0*(1+2*v) {
					hi = early
				} else {
					lo = early
				}
			}
			i1, _, _ := fast.run(&d)
			share, err := d.FastCycleShare(v, T)
			require.NoError(t, err)
			if name == "petrol" {
				assert.InEpsilon(t, i0/i1, share, 0.03, "v %v", v)
			} else {
				assert.Greater(t, share, i0/i1, "v %v", v)
				assert.Less(t, share, i0/i1*math.Pow((1+2*v)/(1+4*v/3), d.n+endGasKappa*d.slope/T), "v %v", v)
			}
			t.Logf("%s v %.2f: closed %.3f, cycles %.3f, %.2f° earlier, end gas %.0f K", name, v, share, i0/i1, lo, T)
		}
	}
}

// The default lies between the two tellings of the fast cycle: 2 standard deviations of a peak pressure that varies by 5 to 8 %, and a
// burn 12 % shorter and 2.5° earlier.
func TestBorder(t *testing.T) {
	d := petrol(t, 98)
	mean := boosted()
	i0, peak0, _ := mean.run(&d)
	fast := mean
	fast.burnAngle *= 0.88
	fast.burnStart -= 2.5 * deg
	i1, peak1, _ := fast.run(&d)
	t.Logf("12 %% shorter and 2.5° earlier: %.3f, peak %.3f higher", i0/i1, peak1/peak0-1)
	assert.Greater(t, Border, i0/i1)
	share, err := d.FastCycleShare(0.08, 800)
	require.NoError(t, err)
	t.Logf("8 %%: %.3f", share)
	assert.Less(t, Border, share)

	one, err := d.FastCycleShare(0, 850)
	require.NoError(t, err)
	assert.Equal(t, 1.0, one)
	for _, c := range [][2]float64{{-0.1, 850}, {0.3, 850}, {0.05, 400}, {math.NaN(), 850}} {
		_, err := d.FastCycleShare(c[0], c[1])
		assert.Error(t, err)
	}
}

// With the integral accepted on 98, a fuel of 95 comes just to the border.
func TestWithMargin(t *testing.T) {
	e := boosted()
	d95, d98 := petrol(t, 95), petrol(t, 98)
	i95, _, _ := e.run(&d95)
	i98, _, _ := e.run(&d98)
	accepted, err := WithMargin(i95/2, 95, 3)
	require.NoError(t, err)
	assert.InEpsilon(t, i98/2, accepted, 1e-9)
	for _, c := range [][3]float64{{0, 95, 3}, {11, 95, 3}, {0.85, 20, 3}, {0.85, 95, -1}} {
		_, err := WithMargin(c[0], c[1], c[2])
		assert.Error(t, err)
	}
}

// SAE 960497 (1996), production engines at full load without boost, as bands of half to twice. The engine is invented, as above but
// aspirated at 2000 rpm; the change of intake temperature is taken to reach the charge whole.
func TestGuidelines(t *testing.T) {
	e := boosted()
	e.p, e.T, e.speed, e.burnStart = 0.95e5, 350, 2000*rpm, -15*deg
	d := petrol(t, 95)
	need := func(e wiebeEngine) float64 { i, _, _ := e.run(&d); return 95 * math.Pow(i, 1/3.402) }
	base := need(e)
	hot := e
	hot.T += 7
	dense := e
	dense.p += 10e3
	tight := e
	tight.cyl.CompressionRatio++
	early := e
	early.burnStart -= deg
	for _, row := range refdata.Read(t, "knock_guidelines.csv") {
		var got float64
		switch row["quantity"] {
		case "intake_temperature":
			got = need(hot) - base
		case "intake_pressure":
			got = need(dense) - base
		case "compression_ratio":
			got = need(tight) - base
		case "spark_advance":
			got = need(early) - base
		default:
			continue // through the air path or the mixture: not of this engine
		}
		want := row.F(t, "octane_change")
		t.Logf("%s: %.2f, published %v", row["quantity"], got, want)
		assert.Greater(t, got, want/2, row["quantity"])
		assert.Less(t, got, want*2, row["quantity"])
	}
}

// FastCycleShare returns the knock integral of the mean cycle at which a cycle two standard deviations faster comes to 1.
//
//	share = 1/((1 − 2v) (1 + 4v/3)^(n + κ E/T))
//
// v is the standard deviation of the peak pressure over its mean, 0 to 0.1; T the end gas temperature where most of the
// integral is gathered, 600 K to 1100 K; n and E are those of the delay, κ = (γ−1)/γ.
//
// Derivation: the fast cycle's pressure p is above the mean one's by a share that grows from nothing at the start of the burn to
// 2v at the peak. The rate of gathering grows alike, in a line, so the mean excess over the integral is two thirds of 2v. The
// end gas, compressed with it, is hotter by the power κ; the rate goes with p^n exp(−E/T), so with the power n + κ E/T for
// small v. The burn is shorter by about as much as the peak is higher, and the time with it: 10 to 15 % at v 5 to 8 %, common
// practice, no source. Against cycles run through, it is up to 2 % too high for petrol and 10 % for the shock tube's steeper delay,
// which gathers later.
func (d *Delay) FastCycleShare(v, T float64) (float64, error) {
	if err := gas.CheckRange("variation of peak pressure", v, 0, 0.1, ""); err != nil {
		return 0, err
	}
	if err := gas.CheckRange("end gas temperature", T, 600, 1100, "K"); err != nil {
		return 0, err
	}
	return 1 / ((1 - 2*v) * math.Pow(1+4*v/3, d.n+endGasKappa*d.slope/T)), nil
}

// endGasKappa is (γ−1)/γ of the end gas, γ 1.33.
const endGasKappa = 1 - 1/1.33
