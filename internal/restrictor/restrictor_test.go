package restrictor_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"bellmouth/internal/gas"
	"bellmouth/internal/refdata"
	"bellmouth/internal/restrictor"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func upstream(p0, t0 float64) restrictor.Upstream {
	return restrictor.Upstream{Pressure: p0, Temperature: t0, Gamma: 1.4, GasConstant: 287.05287}
}

func TestRestrictorTable(t *testing.T) {
	// restrictor_flow.csv: closed forms and converged fixed points, printed to 12 digits.
	const tol = 1e-10
	for _, r := range refdata.Read(t, "restrictor_flow.csv") {
		up := restrictor.Upstream{
			Pressure: r.F(t, "p0_Pa"), Temperature: r.F(t, "T0_K"), Gamma: r.F(t, "gamma"), GasConstant: r.F(t, "R_J_kgK"),
		}
		bore := r.F(t, "throat_diameter_mm") / 1e3
		ideal, err := restrictor.Restrictor{Bore: bore, Discharge: 1}.MaxFlow(up)
		require.NoError(t, err)
		assert.InEpsilon(t, r.F(t, "mdot_ideal_kg_s"), ideal, tol)

		cd, err := restrictor.DischargeISO9300(bore, up)
		require.NoError(t, err)
		assert.InEpsilon(t, r.F(t, "Cd_toroidal"), cd.Coefficient, tol)
		assert.InEpsilon(t, r.F(t, "Re_throat_toroidal"), cd.Reynolds, tol)
		assert.True(t, cd.InRange)
		real, err := restrictor.Restrictor{Bore: bore}.MaxFlow(up) // no discharge coefficient given
		require.NoError(t, err)
		assert.InEpsilon(t, r.F(t, "mdot_toroidal_kg_s"), real, tol)

		// And back: the bore that passes this flow.
		back, err := restrictor.Restrictor{}.BoreFor(up, real)
		require.NoError(t, err)
		assert.InEpsilon(t, bore, back, tol)
		back, err = restrictor.Restrictor{Discharge: 1}.BoreFor(up, ideal)
		require.NoError(t, err)
		assert.InEpsilon(t, bore, back, tol)
	}
}

func TestNozzleTable(t *testing.T) {
	// nozzle_flow.csv: isentropic relations of NACA Report 1135, printed to 12 digits. Without recovery the pressure behind
	// the restrictor is that in the throat.
	for _, r := range refdata.Read(t, "nozzle_flow.csv") {
		up := restrictor.Upstream{
			Pressure: r.F(t, "p0_Pa"), Temperature: r.F(t, "T0_K"), Gamma: r.F(t, "gamma"), GasConstant: r.F(t, "R_J_kgK"),
		}
		c, err := restrictor.Restrictor{Bore: r.F(t, "throat_diameter_mm") / 1e3, Discharge: 1}.At(up)
		require.NoError(t, err)
		flow := r.F(t, "mdot_ideal_kg_s")
		if r["choked"] == "true" {
			assert.InEpsilon(t, flow, c.MaxFlow, 1e-10)
			assert.InEpsilon(t, gas.CriticalRatio(up.Gamma), c.OutletPressure(c.MaxFlow)/up.Pressure, 1e-12)
			assert.Equal(t, 1.0, c.ThroatMach(c.MaxFlow))
			continue
		}
		assert.InEpsilon(t, r.F(t, "throat_p_over_p0"), c.OutletPressure(flow)/up.Pressure, 1e-10)
		assert.InEpsilon(t, r.F(t, "throat_mach"), c.ThroatMach(flow), 1e-9)
	}
}

func TestHandbookFigure(t *testing.T) {
	// A 20 mm throat passes about 0.074 kg/s of sea-level air, at 300 K. From memory.
	m, err := restrictor.Restrictor{Bore: 0.020, Discharge: 1}.MaxFlow(upstream(101325, 300))
	require.NoError(t, err)
	assert.InDelta(t, 0.074, m, 0.0005)
}

func TestRecovery(t *testing.T) {
	up := upstream(98e3, 293.15)
	at := func(r float64) restrictor.Choke {
		c, err := restrictor.Restrictor{Bore: 0.038, Discharge: 0.97, Recovery: r}.At(up)
		require.NoError(t, err)
		return c
	}
	none, some, all := at(0), at(0.8), at(1)
	// Onset with p*/p0 = 0.5282817877 (NACA Report 1135, γ = 1.4): 0.528282 + 0.8 (1 − 0.528282) = 0.905656 of 98 kPa.
	assert.InDelta(t, 0.905656*98e3, some.Onset, 0.1)
	onset, err := restrictor.Restrictor{Bore: 0.038, Discharge: 0.97, Recovery: 0.8}.OnsetPressure(up)
	require.NoError(t, err)
	assert.Equal(t, some.Onset, onset)
	for _, share := range []float64{0, 0.1, 0.5, 0.9, 0.999, 1} {
		m := share * some.MaxFlow
		pt := none.OutletPressure(m)
		assert.InDelta(t, pt+0.8*(98e3-pt), some.OutletPressure(m), 1e-7, "share %v", share)
		assert.InDelta(t, 98e3, all.OutletPressure(m), 1e-7)
	}
}

func TestBothSidesOfChoke(t *testing.T) {
	c, err := restrictor.Restrictor{Bore: 0.038, Recovery: 0.8}.At(upstream(98e3, 293.15))
	require.NoError(t, err)
	below := c.OutletPressure(c.MaxFlow * (1 - 1e-12))
	// Near choke p − p* goes with the square root of what is missing: 1e-12 of the flow is 1e-6 of the pressure.
	assert.InEpsilon(t, c.Onset, below, 2e-6)
	assert.GreaterOrEqual(t, below, c.Onset)
	assert.Equal(t, c.Onset, c.OutletPressure(c.MaxFlow))
	assert.Equal(t, c.Onset, c.OutletPressure(2*c.MaxFlow))
	assert.Equal(t, c.Onset, c.OutletPressure(math.Inf(1)))
	assert.Equal(t, 98e3, c.OutletPressure(0))
	assert.Equal(t, 98e3, c.OutletPressure(-1))
	assert.True(t, math.IsNaN(c.OutletPressure(math.NaN())))
	assert.Zero(t, c.ThroatMach(0))
	assert.InDelta(t, 1, c.ThroatMach(c.MaxFlow*(1-1e-12)), 1e-5)

	r := restrictor.Restrictor{Bore: 0.038, Recovery: 0.8}
	_, err = r.OutletPressure(upstream(98e3, 293.15), 2*c.MaxFlow)
	var choked *restrictor.ChokedError
	require.True(t, errors.As(err, &choked))
	assert.Equal(t, c.MaxFlow, choked.MaxFlow)
	_, err = r.ThroatMach(upstream(98e3, 293.15), math.NaN())
	assert.Error(t, err)
	p, err := r.OutletPressure(upstream(98e3, 293.15), c.MaxFlow)
	require.NoError(t, err)
	assert.Equal(t, c.Onset, p)
	m, err := r.ThroatMach(upstream(98e3, 293.15), 0)
	require.NoError(t, err)
	assert.Zero(t, m)
}

func TestPressureFallsWithFlow(t *testing.T) {
	for _, cd := range []float64{0, 0.6, 0.97} {
		c, err := restrictor.Restrictor{Bore: 0.034, Discharge: cd, Recovery: 0.75}.At(upstream(101325, 288.15))
		require.NoError(t, err)
		last := math.Inf(1)
		for i := range 2001 {
			p := c.OutletPressure(c.MaxFlow * float64(i) / 2000)
			assert.Less(t, p, last, "step %d", i)
			last = p
		}
	}
}

func TestBiggerBoreNeverLess(t *testing.T) {
	last, lastCd := 0.0, 0.0
	for d := 0.004; d < 0.1; d += 0.0005 {
		c, err := restrictor.Restrictor{Bore: d}.At(upstream(96300, 291.15))
		require.NoError(t, err)
		assert.Greater(t, c.MaxFlow, last)
		assert.Greater(t, c.Discharge.Coefficient, lastCd)
		last, lastCd = c.MaxFlow, c.Discharge.Coefficient
	}
}

func TestDischargeRange(t *testing.T) {
	// At sea level 20 mm has Re 2.7e5 (table above), so 1 mm has about 1.3e4: outside.
	cd, err := restrictor.DischargeISO9300(0.001, upstream(101325, 288.15))
	require.NoError(t, err)
	assert.False(t, cd.InRange)
	// The coefficient that is reported satisfies its own formula at its own Reynolds number.
	assert.InDelta(t, 0.9959-2.720/math.Sqrt(cd.Reynolds), cd.Coefficient, 1e-12)

	_, err = restrictor.DischargeISO9300(1e-7, upstream(101325, 288.15))
	assert.ErrorContains(t, err, "too small")
	_, err = restrictor.Restrictor{Bore: 1e-7}.MaxFlow(upstream(101325, 288.15))
	assert.ErrorContains(t, err, "too small")
	_, err = restrictor.Restrictor{}.BoreFor(upstream(101325, 288.15), 1e-12)
	assert.ErrorContains(t, err, "too small")

	// A coefficient that is given stays as it is, and its Reynolds number is told.
	c, err := restrictor.Restrictor{Bore: 0.038, Discharge: 0.9}.At(upstream(101325, 288.15))
	require.NoError(t, err)
	assert.True(t, c.Discharge.Given)
	assert.InEpsilon(t, 4*c.MaxFlow/(math.Pi*0.038*1.78938027808e-05), c.Discharge.Reynolds, 1e-10)
}

func TestRefusals(t *testing.T) {
	good := restrictor.Restrictor{Bore: 0.038}
	for _, p := range []struct {
		r    restrictor.Restrictor
		up   func(*restrictor.Upstream)
		want string
	}{
		{restrictor.Restrictor{}, nil, "restrictor bore is 0 m; want more than 0"},
		{restrictor.Restrictor{Bore: math.NaN()}, nil, "restrictor bore is NaN m; want more than 0"},
		{restrictor.Restrictor{Bore: 0.038, Discharge: 1.01}, nil, "discharge coefficient is 1.01; want more than 0 and at most 1"},
		{restrictor.Restrictor{Bore: 0.038, Discharge: math.NaN()}, nil, "discharge coefficient is NaN; want more than 0 and at most 1"},
		{restrictor.Restrictor{Bore: 0.038, Recovery: -0.1}, nil, "diffuser recovery is -0.1; want 0 to 1"},
		{good, func(u *restrictor.Upstream) { u.Pressure = 0 }, "pressure before the restrictor is 0 Pa; want more than 0"},
		{good, func(u *restrictor.Upstream) { u.Temperature = -3 }, "temperature before the restrictor is -3 K; want more than 0"},
		{good, func(u *restrictor.Upstream) { u.GasConstant = math.Inf(1) }, "gas constant is +Inf J/(kg K); want more than 0"},
		{good, func(u *restrictor.Upstream) { u.Gamma = 1 }, "ratio of heat capacities is 1; want 1.05 to 1.7"},
	} {
		up := upstream(98e3, 293.15)
		if p.up != nil {
			p.up(&up)
		}
		_, err := p.r.MaxFlow(up)
		assert.EqualError(t, err, p.want)
		_, err = p.r.OnsetPressure(up)
		assert.Error(t, err)
	}
	_, err := good.BoreFor(upstream(98e3, 293.15), 0)
	assert.EqualError(t, err, "mass flow is 0 kg/s; want more than 0")
	_, err = restrictor.Restrictor{Discharge: 2}.BoreFor(upstream(98e3, 293.15), 1)
	assert.Error(t, err)
	_, err = good.BoreFor(restrictor.Upstream{}, 1)
	assert.Error(t, err)
	_, err = restrictor.DischargeISO9300(math.NaN(), upstream(98e3, 293.15))
	assert.Error(t, err)
	_, err = restrictor.DischargeISO9300(0.03, restrictor.Upstream{})
	assert.Error(t, err)
}

func ExampleRestrictor_MaxFlow() {
	r := restrictor.Restrictor{Bore: 0.038, Discharge: 0.98}
	m, err := r.MaxFlow(restrictor.Upstream{Pressure: 98e3, Temperature: 293.15, Gamma: 1.4, GasConstant: 287.05})
	fmt.Printf("%.4f kg/s %v\n", m, err)
	// Output: 0.2571 kg/s <nil>
}

func BenchmarkAt(b *testing.B) {
	r, up := restrictor.Restrictor{Bore: 0.038, Recovery: 0.8}, upstream(98e3, 293.15)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := r.At(up); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOutletPressure(b *testing.B) {
	c, err := restrictor.Restrictor{Bore: 0.038, Recovery: 0.8}.At(upstream(98e3, 293.15))
	require.NoError(b, err)
	b.ReportAllocs()
	m, sum := 0.0, 0.0
	for b.Loop() {
		if m += 0.0013; m > c.MaxFlow {
			m = 0
		}
		sum += c.OutletPressure(m)
	}
	_ = sum
}

// Two throats of a bore d are one of d √2 when the coefficient is held fixed: the same area. Conservation: each of n throats passes an nth part at the
// pressure that it has by itself.
func TestThroatsSideBySide(t *testing.T) {
	up := upstream(98e3, 293.15)
	at := func(r restrictor.Restrictor) restrictor.Choke {
		c, err := r.At(up)
		require.NoError(t, err)
		return c
	}
	two := at(restrictor.Restrictor{Bore: 0.028, Count: 2, Discharge: 0.97, Recovery: 0.8})
	wide := at(restrictor.Restrictor{Bore: 0.028 * math.Sqrt2, Discharge: 0.97, Recovery: 0.8})
	assert.InEpsilon(t, wide.MaxFlow, two.MaxFlow, 1e-14)
	assert.Equal(t, wide.Onset, two.Onset)
	for n := 1; n <= 4; n++ {
		one, all := at(restrictor.Restrictor{Bore: 0.028, Recovery: 0.8}), at(restrictor.Restrictor{Bore: 0.028, Count: n, Recovery: 0.8})
		assert.InEpsilon(t, float64(n)*one.MaxFlow, all.MaxFlow, 1e-14)
		assert.Equal(t, one.Discharge, all.Discharge, "the coefficient goes by the Reynolds number of one throat")
		for _, share := range []float64{0.1, 0.5, 0.9, 0.999, 1} {
			flow := share * one.MaxFlow
			assert.InEpsilon(t, one.OutletPressure(flow), all.OutletPressure(float64(n)*flow), 1e-7, "%d at %v", n, share)
			assert.InDelta(t, one.ThroatMach(flow), all.ThroatMach(float64(n)*flow), 1e-6)
		}
		for _, cd := range []float64{0, 0.9} {
			r := restrictor.Restrictor{Bore: 0.028, Count: n, Discharge: cd}
			flow, err := r.MaxFlow(up)
			require.NoError(t, err)
			bore, err := r.BoreFor(up, flow)
			require.NoError(t, err)
			assert.InEpsilon(t, 0.028, bore, 1e-10)
		}
	}
	_, err := restrictor.Restrictor{Bore: 0.028, Count: -1}.At(up)
	assert.EqualError(t, err, "there are -1 restrictors; want 1 or more")
}
