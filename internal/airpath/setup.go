// Package airpath finds the operating point: it follows the air from the venue through filter, restrictor, compressor,
// cooler, cylinders, turbine and wastegate to the tailpipe, and finds the state in which every part agrees.
package airpath

import (
	"fmt"
	"math"

	"bellmouth/internal/compressor"
	"bellmouth/internal/cooler"
	"bellmouth/internal/cycle"
	"bellmouth/internal/exhaust"
	"bellmouth/internal/flame"
	"bellmouth/internal/friction"
	"bellmouth/internal/fuel"
	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/injector"
	"bellmouth/internal/knock"
	"bellmouth/internal/numeric"
	"bellmouth/internal/pulse"
	"bellmouth/internal/restrictor"
	"bellmouth/internal/turbine"
)

// A Setup is one engine in one trim at one venue. Compressor, Turbine, Wastegate, Holder, Restrictor, Cooler and Injection may be
// nil: an engine without a compressor is naturally aspirated and has no turbine either.
type Setup struct {
	Venue                gas.Air
	Cylinder             geometry.Cylinder
	Cylinders            int
	Valves               geometry.Valves
	VolumetricEfficiency numeric.Curve // over engine speed, rad/s; referred to manifold density, at the exhaust pressure of fillingShare
	Combustion           Combustion
	Heat                 Heat
	Friction             friction.Choice
	Fuel                 fuel.Fuel
	FuelTemperature      float64 // at the injector, K
	Mixture              Mixture
	FilterLoss           float64 // k in Δp = k m² T/p before the restrictor, Pa² s²/(kg² K)
	Restrictor           *restrictor.Restrictor
	Compressor           *Compressor
	Turbine              *turbine.Turbine
	Wastegate            *turbine.Wastegate
	Holder               Holder // of the wastegate's valve; nil holds it wherever it is wanted
	Cooler               *cooler.Cooler
	Pipes                exhaust.System // from the exhaust valves to the turbine
	ExhaustLoss          float64        // k in Δp = k m² T/p after the turbine, Pa² s²/(kg² K)
	Injection            *Injection
	Limits               Limits
	Pulses               *Pulses // nil: the turbine is driven by the exhaust's mean flow
}

// parts returns those of the parts it has that check themselves.
func (s *Setup) parts() []interface{ Validate() error } {
	parts := []interface{ Validate() error }{&s.Pipes}
	if s.Restrictor != nil {
		parts = append(parts, s.Restrictor)
	}
	if s.Turbine != nil {
		parts = append(parts, s.Turbine)
	}
	if s.Wastegate != nil {
		parts = append(parts, s.Wastegate)
	}
	if s.Cooler != nil {
		parts = append(parts, s.Cooler)
	}
	if s.Injection != nil {
		parts = append(parts, &s.Injection.Staging)
	}
	return parts
}

// Remarks returns what casts doubt on every point of the engine.
func (e *Engine) Remarks() []string {
	var remarks []string
	if octane := e.Fuel.RON; e.Fuel.Octane != 0 || octane > 0 {
		index := ", up to the octane index that it goes by"
		if e.Fuel.Octane != 0 {
			octane, index = e.Fuel.Octane, ""
		}
		if octane < 80 || octane > 100 {
			remarks = append(remarks, fmt.Sprintf("Octane number %.4g: the knock delay was fitted to 80 to 100 and is extrapolated%s.", octane, index))
		}
	}
	if e.knock.Methanol > 0 && e.Fuel.Octane == 0 {
		remarks = append(remarks, "No knock delay of methanol is published: it is taken by octane index.")
	}
	if !e.flame.Known() {
		remarks = append(remarks, "No burning velocity of this fuel is known here: burn angle and ignition delay change with the charge as petrol's do.")
	}
	return remarks
}

// Combustion is how and when the charge burns.
type Combustion struct {
	BurnAngle numeric.Curve // 0 to 90 % burned, rad over rad/s; the zero Curve takes cycle.DefaultBurnAngle
	// IgnitionDelay is the crank angle from the spark to the start of burning, rad over rad/s; the zero Curve puts the spark where
	// the burn starts.
	IgnitionDelay numeric.Curve
	// The condition for which the two are stated: they are scaled from there to every other.
	StatedPressure float64 // in the manifold, Pa absolute
	StatedLambda   float64

	BestCA50   float64 // crank angle at 50 % burned for best torque, rad after firing top dead centre
	LatestCA50 float64 // latest accepted
	Efficiency float64 // share of the charge that burns, 0 to 1
	KnockLimit float64 // Livengood–Wu integral accepted
}

// Heat is what the gas gives to and takes from walls.
type Heat struct {
	Factor            float64 // on Woschni's coefficient
	WallTemperature   float64 // K
	PortLoss          float64 // share of the exhaust's sensible enthalpy lost between valve and turbine, where PortLossGiven: else by Pipes
	PortLossGiven     bool
	ChargeHeating     float64 // rise of the fresh air on its way past hot ports and valves, K
	ChargeEvaporation float64 // share of the fuel that evaporates out of the charge's own heat before the inlet valve closes
}

// A Compressor is one map driven by Count equal turbochargers side by side.
type Compressor struct {
	Map        *compressor.Map
	Count      int
	SpeedLimit float64 // of the shaft, rad/s; 0 when only the map's top line limits it
}

// Injection is what limits the fuel at an operating point.
type Injection struct {
	Staging       injector.Staging
	RailPressure  float64 // above the manifold, or above the venue when Fixed, Pa
	Fixed         bool    // the regulator is referred to the venue
	SupplyVoltage float64 // V
	FuelDensity   float64 // at the injector, kg/m³
	AllowedDuty   float64 // fraction
}

// Limits bound the boost; a zero is no limit.
type Limits struct {
	PeakPressure float64 // in the cylinder, Pa
	Torque       float64 // into the gearbox, N m
	SurgeMargin  float64 // smallest accepted
}

// An Engine is a Setup made ready to be solved. It does not change and serves any number of goroutines.
type Engine struct {
	Setup
	model     *cycle.Model
	friction  friction.Law
	air       gas.Mixture // moist air of the venue
	dryShare  float64     // kg dry air per kg moist air
	gammaAir  float64     // at the venue
	hAir      float64     // enthalpy of the venue's air, J/kg
	displaced float64     // of all cylinders, m³
	choke     restrictor.Choke
	onset     float64 // p1/p0 at which the restrictor chokes
	chokedPsi float64 // flow function of the choked throat
	bottom    float64 // cylinder volume at bottom dead centre, m³
	closing   float64 // at inlet valve closing, m³
	inletLoss float64 // pressure lost in the inlet valves over density and the square of piston speed

	flame        flame.Fuel
	statedCharge fuel.Charge
	statedFlame  flame.Mixture
	knock        knock.Charge // the fuel's part of it
	speedLimit   float64      // of the shaft, rad/s
	topSpeed     float64      // of the map's top line at the venue, rad/s

	pulse       *pulse.Model // of one turbine entry; nil in a steady stream
	pulseLarger float64      // that entry's size over the true one's
}

// New checks a Setup and makes it ready.
func New(s Setup) (*Engine, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	e := &Engine{Setup: s}
	var err error
	if e.model, err = cycle.New(cycle.Config{
		Cylinder: s.Cylinder, Valves: s.Valves, WallTemperature: s.Heat.WallTemperature, HeatFactor: s.Heat.Factor,
	}); err != nil {
		return nil, err
	}
	if e.friction, err = s.Friction.For(friction.Engine{Cylinder: s.Cylinder, Cylinders: s.Cylinders, Valves: s.Valves}); err != nil {
		return nil, &SetupError{err.Error()}
	}
	if e.air, err = s.Venue.Mixture(); err != nil {
		return nil, err
	}
	e.dryShare = s.Venue.DryAirFraction()
	e.gammaAir = e.air.Gamma(s.Venue.Temperature)
	e.hAir = e.air.Enthalpy(s.Venue.Temperature)
	e.displaced = s.Cylinder.Displacement() * float64(s.Cylinders)
	if s.Restrictor != nil {
		if e.choke, err = s.Restrictor.At(restrictor.Upstream{
			Pressure: s.Venue.Pressure, Temperature: s.Venue.Temperature, Gamma: e.gammaAir, GasConstant: e.air.GasConstant(),
		}); err != nil {
			return nil, err
		}
		e.onset = e.choke.Onset / s.Venue.Pressure
		e.chokedPsi = gas.ChokedFlowFunction(e.gammaAir)
	}
	e.bottom = s.Cylinder.Displacement() + s.Cylinder.ClearanceVolume()
	e.closing = s.Cylinder.Volume(s.Valves.InletClosingAngle())
	e.inletLoss = s.Valves.InletLoss(s.Cylinder)
	if err = e.prepareFuel(); err != nil {
		return nil, err
	}
	if s.Turbine != nil && s.Pulses != nil {
		if e.pulse, e.pulseLarger, err = s.pulseModel(); err != nil {
			return nil, err
		}
	}
	if s.Compressor != nil {
		dry, err := gas.NewMixture(gas.DryAir())
		if err != nil {
			return nil, err
		}
		c := *s.Compressor
		c.Map = c.Map.Breathing(e.air.GasConstant(), e.gammaAir, dry.GasConstant(), dry.Gamma(s.Venue.Temperature))
		e.Compressor, s.Compressor = &c, &c
		e.topSpeed = s.Compressor.Map.UncorrectSpeed(s.Compressor.Map.TopSpeed(), s.Venue.Temperature)
		e.speedLimit = e.topSpeed
		if l := s.Compressor.SpeedLimit; l > 0 && l < e.speedLimit {
			e.speedLimit = l
		}
	}
	return e, nil
}

// prepareFuel makes the fuel ready for flame and knock.
func (e *Engine) prepareFuel() error {
	f := &e.Fuel
	var err error
	if e.flame, err = flame.OfFormula(f.Carbon, f.Hydrogen, f.Oxygen); err != nil {
		return err
	}
	if e.statedFlame, err = e.flame.At(1 / e.Combustion.StatedLambda); err != nil {
		return err
	}
	if e.statedCharge, err = f.Charge(e.Venue, e.Combustion.StatedLambda); err != nil {
		return err
	}
	e.knock = knock.Charge{RON: f.RON, MON: f.MON, Octane: f.Octane}
	e.knock.Ethanol, e.knock.Methanol = f.Alcohols()
	return e.knock.CheckFuel()
}

// maxRecovery is the highest diffuser recovery taken: with all of the pressure given back the pressure behind the throat would
// tell nothing of the flow, and no diffuser does it.
const maxRecovery = 0.98

// A SetupError names what makes a Setup unusable.
type SetupError struct{ Reason string }

func (e *SetupError) Error() string { return e.Reason }

func (s *Setup) check() error {
	if err := s.Venue.Validate(); err != nil {
		return err
	}
	if err := s.Cylinder.Validate(); err != nil {
		return err
	}
	if err := s.Valves.Validate(s.Cylinder.Bore); err != nil {
		return err
	}
	for _, r := range []struct {
		name      string
		v, lo, hi float64
	}{
		{"number of cylinders", float64(s.Cylinders), 1, 24},
		{"combustion efficiency", s.Combustion.Efficiency, 0.5, 1},
		{"best CA50", s.Combustion.BestCA50, -0.1, 0.7},
		{"latest CA50", s.Combustion.LatestCA50, s.Combustion.BestCA50, 0.9},
		{"knock limit", s.Combustion.KnockLimit, 0.05, 10},
		{"stated manifold pressure", s.Combustion.StatedPressure, 2e4, 6e5},
		{"stated lambda", s.Combustion.StatedLambda, 0.65, 1.3},
		{"port heat loss", s.Heat.PortLoss, 0, 0.5},
		{"charge heating", s.Heat.ChargeHeating, 0, 100},
		{"charge evaporation", s.Heat.ChargeEvaporation, 0, 1},
		{"peak pressure limit", s.Limits.PeakPressure, 0, math.MaxFloat64},
		{"gearbox torque limit", s.Limits.Torque, 0, math.MaxFloat64},
		{"fuel temperature", s.FuelTemperature, 230, 400},
		{"filter loss", s.FilterLoss, 0, math.MaxFloat64},
		{"exhaust loss", s.ExhaustLoss, 0, math.MaxFloat64},
		{"smallest surge margin", s.Limits.SurgeMargin, 0, 0.5},
	} {
		if !(r.v >= r.lo && r.v <= r.hi) {
			return &SetupError{fmt.Sprintf("%s is %.4g; want %.4g to %.4g", r.name, r.v, r.lo, r.hi)}
		}
	}
	if err := s.Mixture.check(); err != nil {
		return err
	}
	for _, part := range s.parts() {
		if err := part.Validate(); err != nil {
			return err
		}
	}
	switch {
	case s.Restrictor != nil && !(s.Restrictor.Recovery <= maxRecovery):
		return &SetupError{fmt.Sprintf("restrictor's recovery is %.4g; want 0 to %g", s.Restrictor.Recovery, maxRecovery)}
	case s.Restrictor != nil && s.Restrictor.Throats() > 1 && (s.Compressor == nil || s.Restrictor.Throats() != s.Compressor.Count):
		return &SetupError{fmt.Sprintf("%d restrictors; want one, or one for each turbocharger", s.Restrictor.Throats())}
	case s.VolumetricEfficiency.IsZero():
		return &SetupError{"no volumetric efficiency"}
	case (s.Compressor == nil) != (s.Turbine == nil):
		return &SetupError{"compressor and turbine go together: one of them is missing"}
	case s.Compressor != nil && s.Compressor.Count != s.Turbine.Count:
		return &SetupError{fmt.Sprintf("%d compressors on %d turbines", s.Compressor.Count, s.Turbine.Count)}
	case s.Wastegate != nil && s.Turbine == nil:
		return &SetupError{"a wastegate without a turbine"}
	}
	return nil
}
