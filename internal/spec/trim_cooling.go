package spec

import "bellmouth/internal/cooling"

// A Cooling is what takes the engine's heat away, and what it is asked for.
type Cooling struct {
	Circuit   cooling.Circuit
	Load      float64 // mean heat to the coolant over that of full load
	RoadSpeed float64 // mean, m/s
	Duty      *Duty
	Charge    *cooling.ChargeCooler // nil where the outer air of the charge cooler is not given
	Ahead     float64               // share of the charge cooler's heat in the radiator's air
	Oil       *OilCooling           // nil without an oil cooler
}

// An OilCooling is an oil cooler with the heat that comes to the oil.
type OilCooling struct {
	cooling.OilCooler
	FrictionShare float64 // of the engine's friction
	WallShare     float64 // of the heat to the walls of the cylinders
}

// A Duty is what the car does, section by section.
type Duty struct {
	Start    float64 // coolant temperature before the first, K
	Rounds   int
	Sections []DutySection
}

// A DutySection is a part of a stage or lap.
type DutySection struct {
	Name        string
	Time        float64 // s
	EngineSpeed float64 // rad/s
	RoadSpeed   float64 // m/s
	Gear        int     // from 1; 0 where none is given
	Load        float64 // heat over that of full load
}
