package spectest

import (
	"math"
	"math/rand/v2"

	"bellmouth/internal/spec"
	"bellmouth/internal/wastegate"
)

// Knocking lets the boost be ended by knock: a poorer fuel.
func Knocking(trim *spec.Trim) { trim.Fuel.KnockOctane = 92 }

// BoostControls returns what makes boost controls of the example's that work each in their own way.
func BoostControls() map[string]func(trim *spec.Trim) {
	return map[string]func(trim *spec.Trim){
		"as given": func(*spec.Trim) {},
		"a bleed on one port": func(trim *spec.Trim) {
			y := &trim.Control.System
			y.Actuator.Preload, y.Actuator.ClosingArea = 150, 0
			y.Opening, y.Closing = &wastegate.PulsedValve{Kind: wastegate.Bleed, Area: 2.2e-6, BleedArea: 1.2e-6}, nil
		},
		"two opposed valves from the manifold": func(trim *spec.Trim) {
			trim.Control.FromManifold = true
			trim.Control.Opening = &wastegate.PulsedValve{Kind: wastegate.ThreeWay, Area: 2.2e-6}
		},
		"pressed shut by the exhaust, a lever": func(trim *spec.Trim) {
			trim.Control.Actuator.ExhaustShuts, trim.Control.Actuator.LeverRatio, trim.Control.Actuator.Stroke = true, 1.6, 0.018
			trim.Control.Actuator.Preload = 100
		},
		"knock ends the boost": Knocking,
	}
}

// RandomBoostControl throws boost control, wastegate, turbine and fuel of the example together.
func RandomBoostControl(rng *rand.Rand) func(trim *spec.Trim) {
	return func(trim *spec.Trim) {
		between := func(lo, hi float64) float64 { return lo * math.Exp(rng.Float64()*math.Log(hi/lo)) }
		trim.Wastegate.Bore *= between(0.4, 1.5)
		trim.Turbine.EffectiveArea *= between(0.7, 1.5)
		trim.Fuel.KnockOctane = between(88, 125)
		y := &trim.Control.System
		y.Actuator.Preload *= between(0.3, 2.5)
		y.Actuator.Rate *= between(0.1, 3)
		y.Actuator.LeverRatio = between(0.5, 2)
		y.Actuator.Stroke *= between(0.3, 2)
		y.Actuator.ValveDiameter *= between(0.3, 1.3)
		y.Actuator.ExhaustShuts = rng.IntN(4) == 0
		trim.Control.FromManifold = rng.IntN(2) == 0
		switch rng.IntN(4) {
		case 0:
			y.Opening, y.Closing = &wastegate.PulsedValve{Kind: wastegate.Bleed, Area: 2e-6, BleedArea: 1e-6 * between(0.2, 3)}, nil
		case 1:
			y.Opening = &wastegate.PulsedValve{Kind: wastegate.ThreeWay, Area: 2e-6}
		case 2:
			y.Opening, y.Closing = nil, &wastegate.PulsedValve{Kind: wastegate.Vent, Area: 2e-6, BleedArea: 1e-6}
		}
	}
}
