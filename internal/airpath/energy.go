package airpath

import "bellmouth/internal/gas"

// Energy is where the fuel's energy goes, W. With the sensible heat that air and fuel bring above 298.15 K,
//
//	Fuel + Sensible = Brake + Friction + Coolant + Ports + Cooler + Bearings + Exhaust + Unburned
type Energy struct {
	Fuel     float64 // lower heating value of the fuel flow
	Sensible float64 // enthalpy of venue air and injected fuel above 298.15 K
	Brake    float64
	Friction float64
	Coolant  float64 // to the cylinder walls, less what the fresh charge took from walls
	Ports    float64 // lost by the exhaust between valve and turbine
	Cooler   float64 // given up by the charge in its cooler
	Bearings float64 // turbocharger work that does not reach the compressor
	Exhaust  float64 // enthalpy of the exhaust at the tailpipe above 298.15 K
	Unburned float64 // heating value left in the exhaust: what had no oxygen, and what did not burn
}

// Sum returns the right-hand side of the balance.
func (b *Energy) Sum() float64 {
	return b.Brake + b.Friction + b.Coolant + b.Ports + b.Cooler + b.Bearings + b.Exhaust + b.Unburned
}

// energy fills in the balance of a point from its flows, works and heats; none of its terms is taken as the rest of the others.
func (v *Solver) energy(p *Point) Energy {
	const t0 = gas.ReferenceTemperature
	e := v.e
	exhaust := gas.Mix(v.r.charge.Unburned, v.r.charge.Burned, p.ExhaustBurned)
	in0 := p.AirFlow*e.air.Enthalpy(t0) + p.FuelFlow*e.Fuel.LiquidEnthalpy(t0)
	out0 := p.ExhaustFlow * exhaust.Enthalpy(t0)
	b := Energy{
		Fuel:     p.FuelFlow * e.Fuel.LowerHeatingValue,
		Sensible: p.AirFlow*e.hAir + p.FuelFlow*v.r.liquid - in0,
		Brake:    p.Power,
		Friction: p.FMEP * v.r.swept,
		Coolant:  p.CylinderHeat - p.FreshHeat,
		Ports:    p.PortHeat,
		Cooler:   p.CoolerHeat,
		Exhaust:  p.ExhaustFlow * (exhaust.Enthalpy(p.TailpipeTemperature) - exhaust.Enthalpy(t0)),
	}
	if e.Turbine != nil {
		b.Bearings = p.TurbineWork - p.TurbinePower
	}
	b.Unburned = b.Fuel - (in0 - out0)
	return b
}
