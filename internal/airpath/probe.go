package airpath

import (
	"errors"

	"bellmouth/internal/exhaust"
	"bellmouth/internal/gas"
)

// A Way is what the exhaust of a point passes from valve to turbine.
type Way struct {
	exhaust.Result
	Probe exhaust.Reading // what a probe before the turbine shows
}

// ErrPortLoss is returned where the spec states the heat lost before the turbine, so that the walls are not computed.
var ErrPortLoss = errors.New("the heat lost before the turbine is stated, so that the walls' temperatures are not known")

// WayOut returns the heat, the walls and a probe's reading of a point that the engine's own Solver has solved. The probe is
// exhaust.DefaultProbe at the end of a primary.
func (e *Engine) WayOut(p *Point) (Way, error) {
	if e.Heat.PortLossGiven {
		return Way{}, ErrPortLoss
	}
	charge, err := e.Fuel.Charge(e.Venue, p.Lambda)
	if err != nil {
		return Way{}, err
	}
	mix := gas.Mix(charge.Unburned, charge.Burned, p.ExhaustBurned)
	cp := mix.Cp(p.TurbineInletTemperature)
	gamma := cp / (cp - mix.GasConstant())
	flow := p.ExhaustFlow / float64(e.Cylinders)
	var w Way
	if w.Result, err = e.Pipes.Heat(exhaust.Flow{
		MassFlow: flow, Temperature: p.ValveTemperature, Cp: cp, Gamma: gamma, Phi: 1 / p.Lambda, Ambient: e.Venue.Temperature + underBonnet,
	}); err != nil {
		return w, err
	}
	probe := exhaust.DefaultProbe()
	w.Probe, err = probe.Read(exhaust.Stream{
		MassFlow: flow, Pressure: p.TurbineInletPressure, Temperature: p.TurbineInletTemperature, WallTemperature: w.Primary.WallTemperature,
		Bore: e.Pipes.Primary.Bore, Cp: cp, Gamma: gamma, GasConstant: mix.GasConstant(), Phi: 1 / p.Lambda,
	})
	return w, err
}
