package oil_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/numeric"
	"bellmouth/internal/oil"
	"bellmouth/internal/refdata"
	"bellmouth/internal/units"
)

// ASTM D341: a published case and rows computed with the same law, to the digits that they are printed with.
func TestViscosity(t *testing.T) {
	for _, r := range refdata.Read(t, "walther_oil.csv") {
		zero, nu := 273.15, map[string][2]float64{"0W-20": {45, 8.5}, "5W-30": {62, 10.5}, "5W-40": {80, 13.5}, "10W-60": {160, 24}}
		points, known := nu[strings.Fields(r["oil"])[0]]
		if !known { // the published case, which counts kelvin from −273 °C
			require.Contains(t, r["oil"], "32/5.4 cSt")
			points, zero = [2]float64{32, 5.4}, 273
		}
		l, err := oil.NewLiquid(r.F(t, "T1[K]"), points[0]*1e-6, r.F(t, "T2[K]"), points[1]*1e-6, 860)
		require.NoError(t, err)
		got, err := l.Kinematic(zero + r.F(t, "t[degC]"))
		require.NoError(t, err)
		want := r.F(t, "nu[mm2/s]")
		assert.InDelta(t, want, got*1e6, 1e-5*want, r["oil"])
		a, b := l.Law()
		assert.InDelta(t, r.F(t, "A[-]"), a, 6e-6)
		assert.InDelta(t, r.F(t, "B[-]"), b, 6e-6)
	}
	l, err := oil.NewLiquid(313.15, 80e-6, 373.15, 13.5e-6, 860)
	require.NoError(t, err)
	assert.InDelta(t, 860*(1-7e-4*85), l.Density(373.15), 1e-9)
	mu, err := l.Dynamic(373.15)
	require.NoError(t, err)
	assert.InDelta(t, 13.5e-6*860*(1-7e-4*85), mu, 1e-12)
	for _, bad := range []float64{200, 500, math.NaN()} {
		_, err := l.Kinematic(bad)
		require.Error(t, err)
		assert.Contains(t, units.Resolve(err.Error(), units.Metric), "its viscosity is known from 243.15 to 473.15 K")
	}
	thin, err := oil.NewLiquid(313.15, 9e-6, 373.15, 2.2e-6, 830)
	require.NoError(t, err)
	_, err = thin.Kinematic(420)
	require.Error(t, err)
	assert.Contains(t, units.Resolve(err.Error(), units.Metric), "ASTM D341 holds as it is from 2 mm²/s")
	assert.Contains(t, units.Resolve(err.Error(), units.Imperial), " at 296.3 degF; ASTM D341 holds as it is from 2 cSt") // 420 K are 146.85 degC
	for _, bad := range [][5]float64{{373.15, 80e-6, 313.15, 13e-6, 860}, {313.15, 13e-6, 373.15, 80e-6, 860}, {313.15, 80e-6, 373.15, 1e-6, 860},
		{313.15, 80e-6, 373.15, 13e-6, 86}} {
		_, err := oil.NewLiquid(bad[0], bad[1], bad[2], bad[3], bad[4])
		assert.Error(t, err)
	}
}

// NACA TR 1157: the load over the eccentricity, its attitude and the film, to the digits printed.
func TestShortBearing(t *testing.T) {
	j := oil.Journal{Diameter: 0.05, Length: 0.02, Clearance: 25e-6}
	const speed, mu = 600.0, 0.009
	u := speed * 0.025
	for _, r := range refdata.Read(t, "short_bearing_ocvirk.csv") {
		e := r.F(t, "eccentricity[-]")
		want := r.F(t, "W_c2_over_muUL3[-]")
		w := j.Load(e, speed, mu)
		assert.InDelta(t, want, w*25e-6*25e-6/(mu*u*0.02*0.02*0.02), 4e-6*want, "eccentricity %v", e)
		f, err := j.Under(w, speed, mu)
		require.NoError(t, err)
		assert.InDelta(t, e, f.Eccentricity, 1e-12)
		assert.InDelta(t, r.F(t, "attitude[deg]"), f.Attitude*180/math.Pi, 6e-5)
		assert.InDelta(t, r.F(t, "hmin_over_c[-]"), f.Thickness/25e-6, 1e-12)
		assert.InDelta(t, w/(0.05*0.02), f.Specific, 1e-6)
	}
	f, err := j.Under(0, speed, mu)
	require.NoError(t, err)
	assert.Zero(t, f.Eccentricity)
	assert.InDelta(t, math.Pi/2, f.Attitude, 1e-15, "without load the journal would go off sideways")
	_, err = j.Under(1e12, speed, mu)
	assert.ErrorContains(t, err, "leave less than a ten thousandth of the clearance")
	for _, bad := range [][3]float64{{-1, 600, 0.01}, {100, 0, 0.01}, {100, 600, 0}, {math.NaN(), 600, 0.01}, {math.Inf(1), 600, 0.01}} {
		_, err := j.Under(bad[0], bad[1], bad[2])
		assert.Error(t, err)
	}
}

// The short bearing's film by itself: p = 3 µ U/(R c²) (L²/4 − z²) ε sin θ/(1 + ε cos θ)³ over half the circle, added up in strips, has the load and
// drives out the flow.
func TestShortBearingAddsUp(t *testing.T) {
	j := oil.Journal{Diameter: 0.05, Length: 0.02, Clearance: 25e-6}
	const speed, mu, e, n = 600.0, 0.009, 0.65, 20000
	r, c, l := 0.025, 25e-6, 0.02
	u := speed * r
	along, across, flow := 0.0, 0.0, 0.0
	for i := range n {
		th := (float64(i) + 0.5) * math.Pi / n
		h := 1 + e*math.Cos(th)
		line := 3 * mu * u / (r * c * c) * e * math.Sin(th) / (h * h * h)
		d := line * l * l * l / 6 * r * math.Pi / n // the parabola over the length
		along += -d * math.Cos(th)
		across += d * math.Sin(th)
		flow += 2 * c * c * c * h * h * h / (12 * mu) * line * l * r * math.Pi / n
	}
	assert.InDelta(t, math.Hypot(along, across), j.Load(e, speed, mu), 1e-6*j.Load(e, speed, mu))
	assert.InDelta(t, flow, j.SideFlow(e, speed), 1e-8*flow)

	// A groove all round: Shigley's formula. Over part of the circle: added up.
	const p = 4e5
	g := oil.Groove{Arc: 2 * math.Pi, Width: 0.004}
	land := 0.008
	assert.InDelta(t, math.Pi*p*r*c*c*c/(3*mu*land)*(1+1.5*e*e), j.FedFlow(g, p, e, mu), 1e-15)
	for _, arc := range []float64{0.7, math.Pi, 5} {
		g.Arc = arc
		sum := 0.0
		for i := range n {
			h := 1 + e*math.Cos(arc*((float64(i)+0.5)/n-0.5))
			sum += 2 * p * c * c * c * h * h * h / (12 * mu * land) * r * arc / n
		}
		assert.InDelta(t, sum, j.FedFlow(g, p, e, mu), 1e-8*sum, "arc %v", arc)
	}
}

func circuit() oil.Circuit {
	return oil.Circuit{
		Rows: []oil.Row{
			{Journal: oil.Journal{Diameter: 0.054, Length: 0.02, Clearance: 27e-6}, Count: 6, Groove: &oil.Groove{Arc: math.Pi, Width: 0.004},
				Eccentricity: 0.7},
			{Journal: oil.Journal{Diameter: 0.047, Length: 0.018, Clearance: 24e-6}, Count: 5, Eccentricity: 0.7},
		},
		JetFlow: 1.5e-4, JetPressure: 4e5, Relief: 5e5,
	}
}

// What the pump gives goes through the engine or over the relief valve, at whatever pressure.
func TestBalance(t *testing.T) {
	c := circuit()
	p := oil.Pump{Displacement: 14e-6, Ratio: 1, Efficiency: numeric.Constant(0.85)}
	const mu = 0.009
	assert.InDelta(t, 14e-6*0.85*100, p.Flow(100*2*math.Pi), 1e-15, "a hundred turns a second")
	regions := map[string]int{}
	r := rand.New(rand.NewPCG(7, 8))
	for range 300 {
		speed, mu := 50+800*r.Float64(), 0.003+0.05*r.Float64()
		p.Displacement = 8e-6 * math.Pow(r.Float64(), 3)
		b, err := c.Balance(p, speed, mu)
		require.NoError(t, err)
		require.InDelta(t, b.Pumped, b.Engine+b.Relieved, 1e-15)
		switch {
		case b.Pressure == 0:
			require.LessOrEqual(t, b.Pumped, b.Turning)
			regions["short"]++
		case b.Relieved > 0:
			require.Equal(t, 5e5, b.Pressure)
			regions["relieved"]++
		default:
			require.InDelta(t, b.Pumped, c.Demand(b.Pressure, speed, mu), 1e-9*b.Pumped)
			regions["between"]++
		}
		if thicker, err := c.Balance(p, speed, 1.2*mu); assert.NoError(t, err) {
			require.GreaterOrEqual(t, thicker.Pressure, b.Pressure, "thicker oil never has less pressure")
		}
		wider := c
		wider.Rows = append([]oil.Row(nil), c.Rows...)
		wider.Rows[0].Clearance *= 1.3
		if worn, err := wider.Balance(p, speed, mu); assert.NoError(t, err) {
			require.LessOrEqual(t, worn.Pressure, b.Pressure, "worn bearings never have more pressure")
		}
	}
	assert.Len(t, regions, 3, "%v", regions)
	// Jets alone: p = pj (Q/Qj)².
	alone := oil.Circuit{JetFlow: 1.5e-4, JetPressure: 4e5, Relief: 5e5}
	p.Displacement = 1e-6
	b, err := alone.Balance(p, 100*2*math.Pi, mu)
	require.NoError(t, err)
	assert.InDelta(t, 4e5*math.Pow(0.85e-4/1.5e-4, 2), b.Pressure, 1e-5)
	_, err = alone.Balance(p, 0, mu)
	assert.Error(t, err)
}
