package spec

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The bearings of the file, in SI by hand: 100 000 rpm is 10 472 rad/s.
func TestBearings(t *testing.T) {
	const turbine = "turbine:\n  effective_area: 7.5 cm2\n  efficiency: 0.7\n  wheel: 56 mm\n"
	for _, p := range []struct {
		text       string
		share, cee float64
	}{
		{"", 1, 2e-6 * math.Pow(56.0/45, 3)},
		{"  bearings: separate\n", 1, 2e-6 * math.Pow(56.0/45, 3)},
		{"  bearings: included\n", 1, 0},
		{"  bearing_loss: {power: 250 W, speed: 100000 rpm}\n", 1, 250 / (10471.9755 * 10471.9755)},
		{"  mechanical_efficiency: 97 %\n", 0.97, 0},
	} {
		trim := trimOf(t, engine+turbine+p.text, BaseTrim)
		assert.Equal(t, p.share, trim.Turbine.MechanicalEfficiency, p.text)
		assert.InDelta(t, p.cee, trim.Turbine.BearingLoss, 1e-8*p.cee, p.text)
	}
	assert.Contains(t, messages(t, engine+turbine+"  bearings: included\n  mechanical_efficiency: 0.97\n")[0],
		"is given beside bearings; want one of bearings, bearing_loss or mechanical_efficiency")
	// A trim's choice takes the place of the base's.
	trim := trimOf(t, engine+turbine+"  mechanical_efficiency: 0.97\ntrims:\n  new:\n    turbine: {bearings: included}\n", "new")
	assert.Equal(t, 1.0, trim.Turbine.MechanicalEfficiency)
	assert.Zero(t, trim.Turbine.BearingLoss)
	// Without a wheel, of a size that suits the nozzle: √(4 · 7.5 cm²/(0.3 π)) = 56.4 mm.
	trim = trimOf(t, engine+"turbine: {effective_area: 7.5 cm2, efficiency: 0.7}\n", BaseTrim)
	assert.InEpsilon(t, 2e-6*math.Pow(56.42/45, 3), trim.Turbine.BearingLoss, 1e-3)
}

func TestPulses(t *testing.T) {
	const turbine = "turbine:\n  effective_area: 7.5 cm2\n  efficiency: 0.7\n"
	trim := trimOf(t, engine+turbine, BaseTrim)
	assert.False(t, trim.Turbine.Pulses)
	assert.Equal(t, 1, trim.Turbine.Entries)
	trim = trimOf(t, engine+turbine+"  pulses: computed\n  entries: 2\n  manifold_volume: 2.5 L\n", BaseTrim)
	assert.True(t, trim.Turbine.Pulses)
	assert.Equal(t, 2, trim.Turbine.Entries)
	assert.InEpsilon(t, 2.5e-3, trim.Turbine.ManifoldVolume, 1e-12)
	// Hand calculation: five ports of 9 cm · 12.566 cm² and five primaries of 30 cm · 13.854 cm² are 2.6436 L; the housing 15 · 7.5 cm²^1.5 is 0.3081 L.
	const pipes = "exhaust: {port: {length: 90 mm, bore: 40 mm}, primary: {length: 300 mm, bore: 42 mm}}\n"
	const valves = "  valves: {inlet_count: 2, inlet_diameter: 34 mm, inlet_lift: 10 mm, inlet_closes: 58 deg, exhaust_count: 2, " +
		"exhaust_diameter: 30 mm, exhaust_lift: 9.6 mm, exhaust_opens: 60 deg}\n"
	trim = trimOf(t, engine+valves+pipes+turbine+"  pulses: computed\n", BaseTrim)
	assert.InEpsilon(t, 2.9517e-3, trim.Turbine.ManifoldVolume, 1e-4)
}
