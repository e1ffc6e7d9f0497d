package pulse

import (
	"math"

	"bellmouth/internal/geometry"
	"bellmouth/internal/numeric"
)

const (
	rpm = math.Pi / 30
	deg = math.Pi / 180
)

// invented returns an invented turbine entry fed by so many cylinders of 84 mm × 82 mm.
func invented(cylinders int) Config {
	v := Valve{Opens: 120 * deg, Closes: 375 * deg, Lift: 9.6e-3, Diameter: 30e-3, Count: 2, Discharge: 0.7}
	return Config{
		Cylinder:  geometry.Cylinder{Bore: 0.084, Stroke: 0.082, Rod: 0.144, CompressionRatio: 8.6},
		Cylinders: cylinders, Volume: 0.2e-3 + 0.2e-3*float64(cylinders), PortLoss: 0.08,
		Opens: v.Opens, Closes: v.Closes, EffectiveArea: v.EffectiveArea,
	}
}

// blown returns an invented state at 4000 rpm, with a nozzle in proportion to the cylinders.
func blown(cylinders int) State {
	return State{
		Speed: 4000 * rpm, Pressure: 7e5, Temperature: 1650, Gamma: 1.32, GasConstant: 288, OutletPressure: 1.1e5,
		TurbineArea: 1.5e-4 * float64(cylinders), Efficiency: numeric.Constant(0.7),
	}
}
