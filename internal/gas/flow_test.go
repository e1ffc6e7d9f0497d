package gas

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/refdata"
)

func TestIsentropicFlow(t *testing.T) {
	for _, r := range refdata.Read(t, "isentropic_flow.csv") {
		gamma, M := r.F(t, "gamma"), r.F(t, "mach")
		const tol = 1e-11 // twelve digits are printed
		within(t, r.F(t, "T_over_T0"), TemperatureRatio(M, gamma), tol, "M %v", M)
		// V/a* = M √(T/T*)
		within(t, r.F(t, "V_over_astar"), M*math.Sqrt(TemperatureRatio(M, gamma)/TemperatureRatio(1, gamma)), tol, "M %v", M)
		within(t, M, Mach(r.F(t, "p_over_p0"), gamma), 1e-9, "M %v", M) // p/p0 of twelve digits near 1 leaves nine of M
		want := r.F(t, "mdot_sqrtRT0_over_A_p0")
		if M > 1 {
			want *= r.F(t, "A_over_Astar") // a throat before it passes what goes there
		}
		within(t, want, FlowFunction(r.F(t, "p_over_p0"), gamma), 1e-9, "M %v", M)
		if r.Has("T_over_T0_printed4") {
			assert.InDelta(t, r.F(t, "T_over_T0_printed4"), TemperatureRatio(M, gamma), 1e-4, "M %v", M) // one unit in the last printed place
		}
	}
}

func TestChokedFlow(t *testing.T) {
	for _, r := range refdata.Read(t, "choked_flow.csv") {
		gamma, R, p0, T0 := r.F(t, "gamma"), r.F(t, "R_J_kgK"), r.F(t, "p0_Pa"), r.F(t, "T0_K")
		const tol = 1e-11
		within(t, r.F(t, "critical_pressure_ratio"), CriticalRatio(gamma), tol)
		within(t, r.F(t, "p_star_Pa"), CriticalRatio(gamma)*p0, tol)
		within(t, r.F(t, "T_star_K"), TemperatureRatio(1, gamma)*T0, tol)
		within(t, r.F(t, "a_star_m_s"), math.Sqrt(gamma*R*TemperatureRatio(1, gamma)*T0), tol)
		within(t, r.F(t, "critical_flow_factor"), ChokedFlowFunction(gamma), tol)
		within(t, r.F(t, "mass_flux_kg_m2s"), FlowFunction(0.3, gamma)*p0/math.Sqrt(R*T0), tol)
	}
}

func TestNozzleFlow(t *testing.T) {
	for _, r := range refdata.Read(t, "nozzle_flow.csv") {
		gamma, ratio := r.F(t, "gamma"), r.F(t, "throat_p_over_p0")
		d := r.F(t, "throat_diameter_mm") / 1000
		perPsi := math.Pi / 4 * d * d * r.F(t, "p0_Pa") / math.Sqrt(r.F(t, "R_J_kgK")*r.F(t, "T0_K"))
		flow := FlowFunction(ratio, gamma) * perPsi
		within(t, r.F(t, "mdot_ideal_kg_s"), flow, 1e-10)
		choked := ratio <= CriticalRatio(gamma)
		// One row prints the critical ratio itself, rounded up in its last digit.
		assert.Equal(t, r["choked"] == "true", choked || math.Abs(ratio-CriticalRatio(gamma)) < 1e-10)
		within(t, r.F(t, "throat_mach"), Mach(max(ratio, CriticalRatio(gamma)), gamma), 1e-9)
		if r["choked"] == "false" {
			got, ok := SubsonicRatio(r.F(t, "mdot_ideal_kg_s")/perPsi, gamma)
			assert.True(t, ok)
			within(t, ratio, got, 1e-10) // the flow is printed to twelve digits
		}
	}
}

func TestSubsonicRatioInvertsFlowFunction(t *testing.T) {
	for _, gamma := range []float64{1.05, 1.2, 1.3, 1.4, 5. / 3} {
		rc := CriticalRatio(gamma)
		for i := 0; i <= 5000; i++ {
			r := rc + (1-rc)*float64(i)/5000
			psi := FlowFunction(r, gamma)
			got, ok := SubsonicRatio(psi, gamma)
			require.True(t, ok, "gamma %v, r %v", gamma, r)
			// The last digit of a ratio near 1 is itself worth up to 1e-12 of ψ on this grid.
			within(t, psi, FlowFunction(got, gamma), 1e-12, "gamma %v, r %v", gamma, r)
			// ψ has a flat top: a rounding in it grows by one over the distance from choke, and to its root at choke itself.
			tol := 5e-8
			if i > 500 {
				tol = 1e-12
			}
			require.InDelta(t, r, got, tol, "gamma %v, r %v", gamma, r)
		}
		for _, drop := range []float64{1e-3, 1e-5, 1e-8, 1e-12} {
			got, ok := SubsonicRatio(FlowFunction(1-drop, gamma), gamma)
			require.True(t, ok)
			require.InDelta(t, drop, 1-got, 2e-16+1e-12*drop)
		}
	}
}

func TestFlowAtTheEnds(t *testing.T) {
	const gamma = 1.4
	rc, top := CriticalRatio(gamma), ChokedFlowFunction(gamma)
	assert.Zero(t, FlowFunction(1, gamma))
	assert.Zero(t, FlowFunction(1.2, gamma), "no flow backwards")
	assert.Equal(t, top, FlowFunction(0, gamma))
	assert.Equal(t, top, FlowFunction(-1, gamma))
	assert.True(t, math.IsNaN(FlowFunction(math.NaN(), gamma)))
	within(t, top, FlowFunction(rc*(1-1e-12), gamma), 1e-12)
	within(t, top, FlowFunction(rc*(1+1e-12), gamma), 1e-12)
	// A small drop is incompressible: ψ = √(2 (1 − r)).
	for _, drop := range []float64{1e-4, 1e-6, 1e-9} {
		within(t, math.Sqrt(2*drop), FlowFunction(1-drop, gamma), drop+1e-7)
	}

	for _, c := range []struct {
		psi, ratio float64
		ok         bool
	}{{0, 1, true}, {top, rc, true}, {top * 1.001, rc, false}, {-0.1, 1, false}, {math.NaN(), 1, false}, {math.Inf(1), rc, false}} {
		got, ok := SubsonicRatio(c.psi, gamma)
		assert.InDelta(t, c.ratio, got, 3e-8, "%v", c.psi)
		assert.Equal(t, c.ok, ok, "%v", c.psi)
	}
}

// example returns the given and the answer rows of one worked example.
func example(t *testing.T, name string) (given map[string]float64, check func(quantity string, got float64)) {
	given = map[string]float64{}
	answers := map[string]refdata.Row{}
	for _, r := range refdata.Read(t, "textbook_examples.csv") {
		switch {
		case r["example"] != name:
		case r["role"] == "given":
			given[r["quantity"]] = r.F(t, "value")
		default:
			answers[r["quantity"]] = r
		}
	}
	require.NotEmpty(t, answers)
	return given, func(quantity string, got float64) {
		t.Helper()
		r, ok := answers[quantity]
		require.True(t, ok, quantity)
		within(t, r.F(t, "value"), got, 1e-6, quantity)
		if r.Has("printed_answer") {
			within(t, r.F(t, "printed_answer"), got, r.F(t, "rel_tolerance_to_printed"), quantity)
		}
	}
}

func TestWorkedNozzles(t *testing.T) {
	g, check := example(t, "converging_nozzle")
	T0 := g["inlet_T"] + g["inlet_velocity"]*g["inlet_velocity"]/2/g["cp"]
	check("stagnation_T", T0)
	p0 := g["inlet_p"] / math.Pow(g["inlet_T"]/T0, g["gamma"]/(g["gamma"]-1))
	check("stagnation_p", p0)
	perPsi := g["throat_area"] * p0 / math.Sqrt(g["R"]*T0)
	check("throat_mach_a", Mach(g["back_pressure_a"]/p0, g["gamma"]))
	check("mass_flow_a", perPsi*FlowFunction(g["back_pressure_a"]/p0, g["gamma"]))
	check("mass_flow_b_choked", perPsi*FlowFunction(g["back_pressure_b"]/p0, g["gamma"]))

	g, check = example(t, "converging_nozzle_unchoked")
	r := g["back_pressure"] / g["stagnation_p"]
	check("exit_mach", Mach(r, g["gamma"]))
	check("mass_flow", g["throat_area"]*g["stagnation_p"]/math.Sqrt(g["R"]*g["stagnation_T"])*FlowFunction(r, g["gamma"]))

	g, check = example(t, "choked_throat")
	check("throat_p", g["stagnation_p"]*CriticalRatio(g["gamma"]))
	check("throat_T", g["stagnation_T"]*TemperatureRatio(1, g["gamma"]))
	check("mass_flow", g["throat_area"]*g["stagnation_p"]/math.Sqrt(g["R"]*g["stagnation_T"])*ChokedFlowFunction(g["gamma"]))
}

func BenchmarkFlowFunction(b *testing.B) {
	b.ReportAllocs()
	r := 0.8
	for b.Loop() {
		sink = FlowFunction(r, 1.4)
	}
}

func BenchmarkSubsonicRatio(b *testing.B) {
	b.ReportAllocs()
	psi := 0.5
	for b.Loop() {
		sink, _ = SubsonicRatio(psi, 1.4)
	}
}
