package spec

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/friction"
)

// withValves is engine with the valves that the component model hangs on. A section friction may follow.
const withValves = engine + `  valves: {inlet_count: 2, inlet_diameter: 34 mm, inlet_lift: 10.2 mm, inlet_closes: 58 deg, exhaust_count: 2, exhaust_diameter: 30 mm, exhaust_lift: 9.6 mm, exhaust_opens: 60 deg}
`

func defaultsOf(trim Trim) map[string]string {
	found := map[string]string{}
	for _, d := range trim.Defaults {
		found[d.Path] = d.Value
	}
	return found
}

// Without a section friction each part is what the bore of 84 mm and five cylinders usually bring, and each default is told.
func TestFrictionDefaults(t *testing.T) {
	trim := trimOf(t, withValves, BaseTrim)
	c := trim.Engine.Friction.Components
	require.NotNil(t, c)
	assert.Nil(t, trim.Engine.Friction.ChenFlynn)
	assert.Equal(t, 1.0, trim.Engine.Friction.Factor)
	assert.InDelta(t, 0.05376, c.MainBearings.Diameter, 1e-9) // 0.64 · 84 mm
	assert.InDelta(t, 0.01932, c.MainBearings.Length, 1e-9)   // 0.23 · 84 mm
	assert.InDelta(t, 0.04704, c.CrankPins.Diameter, 1e-9)    // 0.56 · 84 mm
	assert.InDelta(t, 0.01764, c.CrankPins.Length, 1e-9)      // 0.21 · 84 mm
	assert.Equal(t, [3]int{6, 5, 12}, [3]int{c.MainBearings.Count, c.CrankPins.Count, c.CamBearings})
	assert.Equal(t, friction.DOHCDirect, c.ValveTrain)
	assert.False(t, c.Roller)
	assert.Equal(t, [2]float64{1, 1}, [2]float64{c.Auxiliaries, c.OilViscosity})
	found := defaultsOf(trim)
	for path, value := range map[string]string{
		"model": "components", "main_bearing.count": "6", "crank_pin.count": "5", "valve_train": "dohc-direct", "follower": "flat",
		"cam_bearings": "12", "auxiliaries": "1", "oil_viscosity": "1", "factor": "1",
	} {
		assert.Equal(t, value, found["engine.friction."+path], path)
	}
	assert.Contains(t, found["engine.friction.main_bearing.diameter"], "53.8 mm")
	assert.NotContains(t, found, "engine.friction.constant")
}

// What the file gives reaches the model, and only the rest is taken by default.
func TestFrictionGiven(t *testing.T) {
	trim := trimOf(t, withValves+`  friction:
    main_bearing: {diameter: 50 mm, length: 19 mm, count: 7}
    crank_pin: {diameter: 45 mm, length: 17 mm, count: 6}
    valve_train: sohc-finger
    follower: roller
    cam_bearings: 6
    auxiliaries: 0.4
    oil_viscosity: 1.3
    factor: 0.9
`, BaseTrim)
	assert.Equal(t, friction.Choice{Factor: 0.9, Components: &friction.Components{
		MainBearings: friction.Bearings{Diameter: 0.050, Length: 0.019, Count: 7}, CrankPins: friction.Bearings{Diameter: 0.045, Length: 0.017, Count: 6},
		ValveTrain: friction.SOHCFinger, Roller: true, CamBearings: 6, Auxiliaries: 0.4, OilViscosity: 1.3,
	}}, trim.Engine.Friction)
	found := defaultsOf(trim)
	assert.Contains(t, found, "engine.friction.model")
	for path := range found {
		assert.False(t, path != "engine.friction.model" && len(path) > 16 && path[:16] == "engine.friction.", path)
	}
}

// Chen and Flynn's constants, SAE 650733: 0.137 bar, 0.005, 0.162 bar per m/s, where the file gives none.
func TestFrictionByChenFlynn(t *testing.T) {
	trim := trimOf(t, withValves+"  friction: {model: chen-flynn, peak_pressure: 0.004}\n", BaseTrim)
	assert.Nil(t, trim.Engine.Friction.Components)
	require.NotNil(t, trim.Engine.Friction.ChenFlynn)
	assert.InDelta(t, 13700, trim.Engine.Friction.ChenFlynn.Constant, 1e-9)
	assert.InDelta(t, 0.004, trim.Engine.Friction.ChenFlynn.PeakPressure, 1e-12)
	assert.InDelta(t, 16200, trim.Engine.Friction.ChenFlynn.PistonSpeed, 1e-9)
	found := defaultsOf(trim)
	assert.Equal(t, "0.137 bar", found["engine.friction.constant"])
	assert.NotContains(t, found, "engine.friction.main_bearing.diameter")
	assert.NotContains(t, found, "engine.friction.peak_pressure")
}

// A trim that chooses the model anew takes nothing over that belongs to the other.
func TestFrictionOfATrim(t *testing.T) {
	text := withValves + `  friction: {auxiliaries: 0.5, factor: 0.9, main_bearing: {diameter: 50 mm}}
trims:
  parts: {fuel: {kind: ron98}}
  sum: {engine: {friction: {model: chen-flynn}}}
`
	parts, sum := trimOf(t, text, "parts"), trimOf(t, text, "sum")
	require.NotNil(t, parts.Engine.Friction.Components)
	assert.Equal(t, 0.5, parts.Engine.Friction.Components.Auxiliaries)
	assert.NotNil(t, sum.Engine.Friction.ChenFlynn)
	assert.Nil(t, sum.Engine.Friction.Components)
	assert.Equal(t, 0.9, sum.Engine.Friction.Factor)
}

func TestFrictionMessages(t *testing.T) {
	for text, want := range map[string]string{
		"{constant: 0.1 bar, auxiliaries: 0.5}": "hillclimb.yaml:9:24: engine.friction.constant belongs to model: chen-flynn, but model: components is taken where none is given; " +
			"want that model beside it, or none of constant, peak_pressure or piston_speed",
		"{model: components, piston_speed: 0.1}": "hillclimb.yaml:9:47: engine.friction.piston_speed belongs to model: chen-flynn, but model: components is given; " +
			"want that model beside it, or none of constant, peak_pressure or piston_speed",
		"{model: chen-flynn, auxiliaries: 0.5, crank_pin: {count: 4}}": "hillclimb.yaml:9:62: engine.friction.crank_pin belongs to model: components, but model: chen-flynn is given; " +
			"want that model beside it, or none of main_bearing, crank_pin, valve_train, follower, cam_bearings, auxiliaries or oil_viscosity",
		"{model: pistons}":                    "hillclimb.yaml:9:21: engine.friction.model is pistons; want components or chen-flynn",
		"{main_bearing: {diameter: 12 mm}}":   "hillclimb.yaml:9:13: engine.friction does not hold together: main bearing diameter is 0.012 m; want 0.2 to 1.2 of the bore, 0.0168 to 0.1008 m",
		"{auxiliaries: 5}":                    "hillclimb.yaml:9:27: engine.friction.auxiliaries is 5; want 0 to 3 (0.5?)",
		"{main_bearing: {diameter: 0.54 mm}}": "hillclimb.yaml:9:39: engine.friction.main_bearing.diameter is 0.54 mm; want 5 mm to 200 mm (5.4 mm?)",
	} {
		assert.Equal(t, []string{want}, messages(t, withValves+"  friction: "+text+"\n"), text)
	}
}
