package run

import (
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/airpath"
	"bellmouth/internal/gas"
	"bellmouth/internal/knock"
	"bellmouth/internal/numeric"
	"bellmouth/internal/spark"
	"bellmouth/internal/spec"
	"bellmouth/internal/wastegate"
)

// setupNeeds is what an operating point cannot be computed without.
var setupNeeds = []string{"engine.valves", "engine.volumetric_efficiency", "fuel"}

// forcedNeeds is what an operating point with a compressor needs besides.
var forcedNeeds = []string{"turbine", "boost.target"}

// Needs returns what a trim has to give for an operating point, with a compressor or without.
func Needs(trim *spec.Trim, forced bool) []string {
	needs := slices.Clone(setupNeeds)
	if trim.Fuel == nil || len(trim.Fuel.Mixture.Rows) == 0 {
		needs = append(needs, "fuel.lambda")
	}
	if forced {
		needs = append(needs, forcedNeeds...)
	}
	return needs
}

// Setup returns a trim as the operating point computes with it. A section that is missing is the spec's error, which names
// what asked for it.
func Setup(command string, trim *spec.Trim) (airpath.Setup, error) {
	if err := trim.Need(command, Needs(trim, trim.Compressor != nil)...); err != nil {
		return airpath.Setup{}, err
	}
	delay, err := ignitionDelay(trim)
	if err != nil {
		return airpath.Setup{}, err
	}
	e := &trim.Engine
	knockLimit, err := knock.WithMargin(e.Combustion.KnockLimit, trim.Fuel.Grade.KnockOctane(), e.Combustion.KnockMargin)
	if err != nil {
		return airpath.Setup{}, err
	}
	grade := trim.Fuel.Grade
	grade.Octane = trim.Fuel.KnockOctane
	s := airpath.Setup{
		Venue:                trim.Venue,
		Cylinder:             e.Cylinder,
		Cylinders:            e.Cylinders,
		Valves:               *e.Valves,
		VolumetricEfficiency: e.VolumetricEfficiency,
		Combustion: airpath.Combustion{
			BurnAngle: e.Combustion.BurnAngle, IgnitionDelay: delay, BestCA50: e.Combustion.BestCA50, LatestCA50: e.Combustion.LatestCA50,
			StatedPressure: e.Combustion.StatedPressure, StatedLambda: e.Combustion.StatedLambda,
			Efficiency: e.Combustion.Efficiency, KnockLimit: knockLimit,
		},
		Heat: airpath.Heat{
			Factor: e.Heat.Factor, WallTemperature: e.Heat.WallTemperature,
			PortLoss: e.Heat.PortLoss, PortLossGiven: e.Heat.PortLossGiven, ChargeHeating: e.Heat.ChargeHeating, ChargeEvaporation: e.Heat.ChargeEvaporation,
		},
		Friction:        e.Friction,
		Fuel:            grade,
		FuelTemperature: trim.Fuel.Temperature,
		Mixture:         trim.Fuel.Mixture,
		Pipes:           trim.Exhaust.Pipes,
		FilterLoss:      trim.Intake.FilterLossCoefficient,
		Restrictor:      trim.Intake.Restrictor,
		ExhaustLoss:     trim.Exhaust.BackPressureCoefficient,
		Limits: airpath.Limits{
			PeakPressure: trim.Limits.PeakCylinderPressure, Torque: trim.Driveline.TorqueLimit, SurgeMargin: trim.Limits.SurgeMargin,
		},
	}
	if c := trim.Compressor; c != nil {
		s.Compressor = &airpath.Compressor{Map: c.Map, Count: c.Count, SpeedLimit: c.SpeedLimit}
		s.Turbine = &trim.Turbine.Turbine
		if t := trim.Turbine; t.Pulses && t.ManifoldVolume > 0 {
			s.Pulses = &airpath.Pulses{Entries: t.Entries, Volume: t.ManifoldVolume}
		}
		s.Wastegate = trim.Wastegate
		h, err := holderOf(trim)
		if err != nil {
			return airpath.Setup{}, err
		}
		if h != nil { // a nil *holder would be a Holder that is not nil
			s.Holder = h
		}
		if trim.Cooler != nil {
			s.Cooler = &trim.Cooler.Cooler
		}
	}
	if in := trim.Injection; in != nil {
		density, err := grade.DensityAt(trim.Fuel.Temperature)
		if err != nil {
			return airpath.Setup{}, err
		}
		s.Injection = &airpath.Injection{
			Staging: in.Staging, RailPressure: in.RailPressure, Fixed: !in.FollowsManifold, SupplyVoltage: in.SupplyVoltage,
			FuelDensity: density, AllowedDuty: trim.Limits.InjectorDuty,
		}
	}
	return s, nil
}

// ignitionDelay returns the crank angle from the spark to the start of burning, rad, over engine speed, rad/s: the spec's table, or
// the default of package spark, which a curve through a point every 500 rpm follows to a hundredth of a degree.
func ignitionDelay(trim *spec.Trim) (numeric.Curve, error) {
	if DelayGiven(trim) {
		return trim.Ignition.Delay, nil
	}
	var speeds, angles []float64
	for rpm := 1000; rpm <= 10000; rpm += 500 { // where the default holds
		speed := float64(rpm) * math.Pi / 30
		angle, _, err := spark.IgnitionDelay(numeric.Curve{}, speed)
		if err != nil {
			return numeric.Curve{}, err
		}
		speeds, angles = append(speeds, speed), append(angles, angle)
	}
	return numeric.NewCurve(speeds, angles)
}

// DelayGiven reports whether the spec has the ignition delay, rather than leaving it to the default.
func DelayGiven(trim *spec.Trim) bool { return trim.Ignition != nil && !trim.Ignition.Delay.IsZero() }

// A holder is the trim's actuator as the operating point asks it.
type holder struct {
	system       *wastegate.System
	air          gas.Mixture
	fromManifold bool
}

// holderOf returns what holds the trim's wastegate, nil without an actuator.
func holderOf(trim *spec.Trim) (*holder, error) {
	if trim.Wastegate == nil || trim.Actuator == nil || trim.Control == nil {
		return nil, nil
	}
	air, err := trim.Venue.Mixture()
	if err != nil {
		return nil, fmt.Errorf("trim %q: %w", trim.Name, err)
	}
	return &holder{&trim.Control.System, air, trim.Control.FromManifold}, nil
}

// Room is that of wastegate.System at a state of the air path.
func (h *holder) Room(v airpath.Valve) (shutting, opening float64) {
	p := h.point(v)
	return h.system.Room(&p)
}

// point returns what actuator and valves find at a state of the air path.
func (h *holder) point(v airpath.Valve) wastegate.Point {
	p := wastegate.Point{State: wastegate.State{
		VenuePressure: v.VenuePressure, SourcePressure: v.CompressorPressure, SourceTemperature: v.CompressorTemperature,
		TurbineInletPressure: v.TurbineInletPressure, TurbineOutletPressure: v.TurbineOutletPressure, GasConstant: h.air.GasConstant(),
	}, Lift: v.Lift}
	if h.fromManifold {
		p.SourcePressure, p.SourceTemperature = v.ManifoldPressure, v.ManifoldTemperature
	}
	p.Gamma = h.air.Gamma(p.SourceTemperature)
	return p
}
