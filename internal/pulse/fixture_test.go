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
	v := valve{Opens: 120 * deg, Closes: 375 * deg, Lift: 9.6e-3, Diameter: 30e-3, Count: 2, Discharge: 0.7}
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

// A valve is the exhaust valves of one cylinder and how they open.
type valve struct {
	Opens     float64 // rad after firing top dead centre
	Closes    float64 // rad after firing top dead centre
	Lift      float64 // greatest lift L, m
	Diameter  float64 // of the head D, m
	Count     int
	Discharge float64 // discharge coefficient Cd of the open area
}

// EffectiveArea returns the effective area of the cylinder's exhaust valves at a crank angle, m².
//
//	A = Cd n π D min(l, D/4),  l = L (1 − s²)²
//
// s runs from −1 at opening to 1 at closing. theta is the crank angle after firing top dead centre, rad. The lift curve meets
// its ends with no speed and has a mean of 8/15 of the greatest lift; common practice, no source.
func (v valve) EffectiveArea(theta float64) float64 {
	s := (2*theta - v.Opens - v.Closes) / (v.Closes - v.Opens)
	if !(s > -1 && s < 1) {
		return 0
	}
	lift := v.Lift * (1 - s*s) * (1 - s*s)
	return v.Discharge * float64(v.Count) * math.Pi * v.Diameter * math.Min(lift, v.Diameter/4)
}
