package wastegate

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/gas"
)

func valves() map[string]*PulsedValve {
	all := map[string]*PulsedValve{"bleed": bleed(), "three-way": threeWay(), "vent": vent(),
		"three-way, narrow vent": {Kind: ThreeWay, Area: 3 * mm2, BleedArea: 1 * mm2}}
	for name, v := range all {
		other := *v
		other.RestsOpen = true
		all[name+", rests open"] = &other
	}
	return all
}

func TestPortPressureFromPrintedTables(t *testing.T) {
	// NACA Report 1135 (1953), Table I, γ = 1.4: columns p/pt and A/A*; A*/A is the flow over that of the choked area.
	const (
		p02, a02 = 0.9725, 2.964 // M 0.2
		p05, a05 = 0.8430, 1.340 // M 0.5
	)
	for _, c := range []struct {
		name             string
		in, inFlow       float64 // p/ps and A*/A of the pulsed valve
		out, outFlow, ps float64 // pa/p and A*/A of the bleed
	}{
		{"both below choke", p02, 1 / a02, p05, 1 / a05, 0},
		{"the other way", p05, 1 / a05, p02, 1 / a02, 0},
		{"valve choked", 0.3, 1, p05, 1 / a05, 0},
		{"both choked", 0.3, 1, 0.4, 1, 0},
	} {
		s := state()
		port := s.VenuePressure / c.out
		s.SourcePressure = port / c.in
		// Ai ps (A*/A)i = Ao p (A*/A)o
		v := PulsedValve{Kind: Bleed, Area: 1, BleedArea: 0.5 * c.inFlow / (c.in * c.outFlow)}
		got, err := v.PortPressure(s, 0.5)
		require.NoError(t, err)
		assert.InEpsilon(t, port-s.VenuePressure, got-s.VenuePressure, 2e-3, c.name) // four printed digits of 1 − p/pt, the smaller of 0.0275
	}
}

func TestPortPressureClosedForms(t *testing.T) {
	// Both areas choked: p/ps = Ai/Ao, whatever γ.
	s := state()
	s.SourcePressure, s.VenuePressure, s.Gamma = 10e5, 1e5, 1.33
	v := PulsedValve{Kind: Bleed, Area: 2 * mm2, BleedArea: 4 * mm2}
	got, err := v.PortPressure(s, 0.6) // 1.2/4
	require.NoError(t, err)
	assert.InDelta(t, 3e5, got, 1e-6)

	// Pressures next to each other: Bernoulli's divider, (ps − p) Ai² = (p − pa) Ao², to the order of the pressure drop.
	s = state()
	s.SourcePressure = s.VenuePressure + 10
	v = PulsedValve{Kind: ThreeWay, Area: 1 * mm2}
	got, err = v.PortPressure(s, 0.25) // (1/3)² = 1/9
	require.NoError(t, err)
	assert.InDelta(t, 1.0, got-s.VenuePressure, 1e-3)
}

func TestPortPressureLimits(t *testing.T) {
	s := state()
	divider := func(in, out float64) float64 { // bisection on continuity, with nothing of the code under test
		lo, hi := s.VenuePressure, s.SourcePressure
		for range 200 {
			p := (lo + hi) / 2
			if in*s.SourcePressure*gas.FlowFunction(p/s.SourcePressure, s.Gamma) > out*p*gas.FlowFunction(s.VenuePressure/p, s.Gamma) {
				lo = p
			} else {
				hi = p
			}
		}
		return lo
	}
	for _, c := range []struct {
		name       string
		valve      *PulsedValve
		shut, open float64
	}{
		{"bleed", bleed(), s.VenuePressure, divider(3, 0.6)},
		{"three-way", threeWay(), s.VenuePressure, s.SourcePressure},
		{"vent", vent(), s.SourcePressure, divider(0.8, 3)},
	} {
		for _, rests := range []bool{false, true} {
			c.valve.RestsOpen = rests
			shut, open := 0.0, 1.0
			if rests {
				shut, open = 1, 0
			}
			got, err := c.valve.PortPressure(s, shut)
			require.NoError(t, err)
			assert.InDelta(t, c.shut, got, 1e-8, "%s shut", c.name)
			got, err = c.valve.PortPressure(s, open)
			require.NoError(t, err)
			assert.InDelta(t, c.open, got, 1e-8, "%s open", c.name)
		}
	}
}

func TestPortPressureIsMonotone(t *testing.T) {
	for name, v := range valves() {
		for _, source := range []float64{96e3 + 1, 97e3, 150e3, 230e3, 400e3, 2e6} {
			s := state()
			s.SourcePressure = source
			before := math.NaN()
			for i := range 1001 {
				p, err := v.PortPressure(s, float64(i)/1000)
				require.NoError(t, err, "%s at %d", name, i)
				require.GreaterOrEqual(t, p, s.VenuePressure)
				require.LessOrEqual(t, p, s.SourcePressure)
				if i > 0 {
					rise := p - before
					if !v.rises() {
						rise = -rise
					}
					require.Greater(t, rise, 0.0, "%s, source %v, step %d", name, source, i)
				}
				before = p
			}
		}
	}
}

// What comes in goes out, and what passes does not depend on which of the two is counted.
func TestAirFlowIsContinuous(t *testing.T) {
	for name, v := range valves() {
		for _, source := range []float64{60e3, 120e3, 230e3} {
			s := state()
			s.SourcePressure = source
			for _, duty := range []float64{0.05, 0.3, 0.7, 0.95} {
				p, err := v.PortPressure(s, duty)
				require.NoError(t, err)
				in, _ := v.areas(duty)
				flux := math.Sqrt(s.GasConstant * s.SourceTemperature)
				want := in * source / flux * gas.FlowFunction(p/source, s.Gamma)
				if source < s.VenuePressure {
					want = -in * p / flux * gas.FlowFunction(source/p, s.Gamma)
				}
				assert.InEpsilon(t, want, v.airFlow(&s, duty, p), 1e-9, "%s, source %v, duty %v", name, source, duty)
			}
		}
	}
}

func TestPortPressureOfASourceBelowTheVenue(t *testing.T) {
	s := state()
	s.SourcePressure = 40e3
	for _, c := range []struct {
		duty, want float64
	}{{0, 96e3}, {1, 40e3}} {
		got, err := threeWay().PortPressure(s, c.duty)
		require.NoError(t, err)
		assert.InDelta(t, c.want, got, 1e-9)
	}
	got, err := threeWay().PortPressure(s, 0.5)
	require.NoError(t, err)
	assert.True(t, got > 40e3 && got < 96e3)
	s.SourcePressure = s.VenuePressure
	got, err = bleed().PortPressure(s, 0.5)
	require.NoError(t, err)
	assert.InDelta(t, 96e3, got, 0)
}

func TestPulsedValveRefuses(t *testing.T) {
	for _, c := range []struct {
		valve PulsedValve
		duty  float64
		want  string
	}{
		{PulsedValve{Kind: 7, Area: 1}, 0, "kind of the pulsed valve is 7; want a bleed, a three-way or a vent valve"},
		{PulsedValve{Kind: ThreeWay}, 0, "area of the pulsed valve is 0 m²; want more than 0"},
		{PulsedValve{Kind: ThreeWay, Area: 1, BleedArea: -1}, 0, "bleed area of the pulsed valve is -1 m²; want 0 or more"},
		{PulsedValve{Kind: Bleed, Area: 1}, 0, "bleed area of the pulsed valve is 0; a valve with a fixed orifice needs more than 0"},
		{*threeWay(), 1.01, "duty is 1.01; want 0 to 1"},
		{*threeWay(), math.NaN(), "duty is NaN; want 0 to 1"},
	} {
		_, err := c.valve.PortPressure(state(), c.duty)
		assert.EqualError(t, err, c.want)
	}
	s := state()
	s.Gamma = 2
	_, err := threeWay().PortPressure(s, 0.5)
	assert.EqualError(t, err, "ratio of heat capacities is 2; want 1.05 to 1.7")

	// Figures past all reason are an error, never a number.
	huge := PulsedValve{Kind: Bleed, Area: 1e305, BleedArea: 1e305}
	_, err = huge.PortPressure(state(), 0.5)
	assert.ErrorContains(t, err, "pressure of the port: the function is not a number")
	for _, y := range []System{{Actuator: actuator(), Opening: &huge}, {Actuator: actuator(), Closing: &huge}} {
		_, err = y.Hold(Point{state(), 5 * mm})
		assert.ErrorContains(t, err, "port: pressure of the port: the function is not a number")
		_, err = y.BoostAt(1, synthetic, span)
		require.Error(t, err)
		assert.Contains(t, metric(err), "at a boost of 20000 Pa: ")
		_, err = y.Preloads([]Point{{state(), 5 * mm}})
		assert.ErrorContains(t, err, "point 1: ")
	}
}

func ExamplePulsedValve_PortPressure() {
	v := PulsedValve{Kind: ThreeWay, Area: 3e-6}
	s := State{
		VenuePressure: 1e5, SourcePressure: 2.5e5, SourceTemperature: 330,
		TurbineInletPressure: 2.4e5, TurbineOutletPressure: 1.1e5, Gamma: 1.4, GasConstant: 287.05,
	}
	p, err := v.PortPressure(s, 0.5)
	fmt.Printf("%.0f kPa %v\n", p/1000, err)
	// Output: 202 kPa <nil>
}
