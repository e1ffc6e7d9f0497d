package airpath

import (
	"fmt"
	"math"

	"bellmouth/internal/compressor"
	"bellmouth/internal/injector"
	"bellmouth/internal/knock"
	"bellmouth/internal/remark"
	"bellmouth/internal/turbine"
	"bellmouth/internal/units"
)

// A Point is a solved operating point. Pressures are absolute, Pa; temperatures K; flows and powers those of the whole engine.
type Point struct {
	Speed          float64 // of the engine, rad/s
	TargetPressure float64 // asked for in the manifold; +Inf when naturally aspirated
	Limit          Limit   // that governs the boost
	Limits         LimitSet

	AirFlow, FuelFlow, ExhaustFlow float64 // kg/s; the air is moist
	Lambda                         float64
	AirFuelRatio                   float64 // dry air over fuel

	InletPressure     float64 // before the restrictor, behind the filter
	RestrictorFlow    float64 // at which the throat chokes, kg/s; +Inf without one
	ThroatMach        float64
	CompressorInlet   float64 // pressure
	CompressorOutlet  float64 // pressure
	OutletTemperature float64 // of the compressor
	PressureRatio     float64
	CorrectedFlow     float64 // of one compressor
	Compressor        compressor.Operation
	ShaftSpeed        float64 // rad/s
	CompressorPower   float64 // of all compressors, W

	ManifoldPressure, ManifoldTemperature float64
	CoolerLoss, CoolerHeat                float64 // Pa, W
	ThrottleLoss                          float64 // Pa; 0 at full load
	VolumetricEfficiency                  float64 // moist air over displacement at manifold density
	ResidualFraction                      float64
	ResidualTemperature                   float64 // at the end of the exhaust stroke
	ChargeTemperature                     float64 // at inlet valve closing
	ClosingRatio                          float64 // pressure over the manifold's where the charge is shut in

	TurbineInletPressure, TurbineInletTemperature float64
	ValveTemperature                              float64 // of the exhaust that leaves the cylinders
	TurbineOutletPressure, TailpipeTemperature    float64
	ExpansionRatio, TurbineEfficiency             float64
	BladeSpeedRatio                               float64
	TurbineFlow, TurbinePower                     float64       // of all turbines; power at the compressor
	TurbineWork                                   float64       // taken from the gas, W
	Pulse                                         turbine.Pulse // factors of the exhaust's pulses at equal mean pressure; zero in a steady stream
	WastegateFlow, WastegateMaxFlow               float64
	WastegateFraction                             float64 // of the exhaust flow
	WastegateLift                                 float64 // m

	IMEP, PMEP, FMEP, BMEP      float64 // gross indicated, pumping, friction, brake; Pa
	Torque, Power               float64
	Consumption                 float64 // brake specific, kg/J; 0 when the engine gives no power
	PeakPressure, PeakAngle     float64
	CA50, BurnStart, BurnAngle  float64 // rad
	IgnitionDelay               float64 // crank angle from the spark to the start of burning, rad
	SparkAngle                  float64 // rad after firing top dead centre
	SparkPressure               float64 // in the cylinder at the spark
	SparkTemperature            float64
	KnockIntegral               float64
	KnockOctane                 float64 // octane index of the charge
	PeakTemperature, EndGasPeak float64
	CylinderHeat, PortHeat      float64 // lost to walls, W
	FreshHeat                   float64 // gained by the fresh charge from walls, W
	ExhaustBurned               float64 // burned mass fraction of the exhaust
	FuelPerCycle                float64 // of one cylinder, kg
	Injection                   injector.Split
	RailDifference              float64 // rail less manifold pressure, Pa
	Energy                      Energy
	Notes                       Note
	Upper                       float64 // manifold pressure of a second steady state, reached from more boost, Pa; 0: there is none
	Cycles, Passes              int     // cycles integrated and air paths evaluated to get here
	Residual                    float64 // largest relative imbalance left, of mass flow, shaft power and exhaust temperature
}

// A Note is a set of remarks that cast doubt on a point without stopping it.
type Note uint

// The remarks.
const (
	NoteFillingHeld       Note = 1 << iota // speed outside the volumetric efficiency table
	NoteLambdaHeld                         // speed outside the lambda table
	NoteLambdaFar                          // lambda where knock delay and burn angle are not known to hold
	NoteBurnHeld                           // speed outside the burn angle table
	NoteLossLarge                          // a pressure loss larger than its form holds for
	NoteDelayHeld                          // speed outside the ignition delay table
	NoteBelowLowestLine                    // compressor below its map's lowest line
	NoteAboveTopLine                       // compressor above its map's top line
	NotePastChoke                          // compressor right of the choke end of its lines
	NotePastSurge                          // compressor left of its surge line
	NoteCoolerHeld                         // flow outside the effectiveness table
	NoteTurbineHeld                        // blade speed ratio outside the turbine's efficiency table
	NoteDeadTimeHeld                       // voltage outside a dead time table
	NoteShortPulse                         // less fuel needed than the primary set's shortest pulse gives
	NoteCoolingCut                         // less fuel evaporated from the charge's heat than stated
	NoteClosingHigh                        // more air than the inlet closing can hold at the manifold's pressure
	NoteClosingLow                         // less air than is in the cylinder at inlet closing at the manifold's pressure
	NoteOctaneHeld                         // charge so cold at 15 bar that the octane index is held
	NoteOctaneHot                          // charge so hot at 15 bar that the octane index is held
	NoteDilution                           // more burned gas in the charge than the knock delay is known with
	NoteFlame                              // mixture, residual gas or temperature outside what burning velocities were measured with
	NoteAngleLongest                       // burn angle or ignition delay held at the longest that an engine runs with
	NoteNoTorque                           // friction and gas exchange take more than the cycle gives
	NoteOverpulled                         // throat choked and the wastegate opens no further: the engine pulls harder than the throat gives
	NoteKnockUnmet                         // knock limit exceeded although nothing more can be done
	NotePeakPressureUnmet                  // peak pressure limit exceeded although nothing more can be done
	NoteSpeedUnmet                         // shaft speed limit exceeded although the wastegate is wide open
	NoteInjectorUnmet                      // injector duty exceeded although the wastegate is wide open
	NotePulsesUnknown                      // no exhaust pulses told at so little expansion: the turbine is taken as driven by the mean flow
	NotePulsesUnsettled                    // pulses and operating point still move each other a little
	NoteTorqueUnmet                        // gearbox torque exceeded although the wastegate is wide open
	NoteFrictionSpeed                      // speed outside those the friction was fitted at
	NoteFrictionBoost                      // boost, without which the friction was fitted
	NoteFrictionHeld                       // mean piston speed at which a term of the friction is held
	NoteTwoStates                          // a second steady state at a higher boost: see Point.Upper
	noteEnd
)

var noteTexts = map[Note]string{
	NoteFillingHeld:     "volumetric efficiency held at the end of its table",
	NoteLambdaHeld:      "lambda held at the end of its table",
	NoteLambdaFar:       "lambda outside 0.7 to 1.3, where burn angle and knock delay are not known to hold",
	NoteLossLarge:       "a pressure loss over a tenth of the pressure (a third after the turbine): larger than its formula holds for",
	NoteBurnHeld:        "burn angle held at the end of its table",
	NoteDelayHeld:       "ignition delay held at the end of its table",
	NoteBelowLowestLine: "compressor below its map's lowest speed line: continued by similarity",
	NoteAboveTopLine:    "compressor above its map's top speed line: continued by similarity",
	NotePastChoke:       "compressor past the choke end of its map: efficiency is a guess",
	NotePastSurge:       "compressor left of its surge line: it will not run there",
	NoteCoolerHeld:      "cooler effectiveness held at the end of its table",
	NoteTurbineHeld:     "turbine efficiency held at the end of its table",
	NoteDeadTimeHeld:    "injector dead time held at the end of its table",
	NoteShortPulse:      "less fuel needed than the primary injectors' shortest pulse gives",
	NoteCoolingCut:      "so much fuel to evaporate that the charge would be colder than gas properties are known for: the rest is taken from the walls",
	NoteClosingHigh: "volumetric efficiency and inlet closing do not fit each other: " +
		"more air than the cylinder holds at bottom dead centre with a fifth over MAP",
	NoteClosingLow: "volumetric efficiency and inlet closing do not fit each other: " +
		"the cylinder at inlet closing holds far more than it is said to take",
	NoteOctaneHeld:        "charge colder at " + knock.OctanePressure + " than the octane index is known for: its K is held at -0.75",
	NoteOctaneHot:         "charge hotter at " + knock.OctanePressure + " than the octane index is known for: its K is held at 1",
	NoteDilution:          "more burned gas in the charge than the knock delay is known with: held at 30 %",
	NoteAngleLongest:      "so slow a burn that its angle is held at 149°, or the delay before it at 52°: the engine would misfire",
	NoteFlame:             "mixture, residual gas or temperature beyond what burning velocities were measured with: burn angle and spark are a guess",
	NoteNoTorque:          "no torque: friction and gas exchange take more than the cycle gives",
	NoteOverpulled:        "throat choked and the wastegate opens no further: the turbocharger pulls harder than the restrictor gives",
	NoteKnockUnmet:        "knock limit exceeded: neither a later burn nor the wastegate mends it",
	NotePeakPressureUnmet: "cylinder pressure limit exceeded: neither a later burn nor the wastegate mends it",
	NoteSpeedUnmet:        "shaft speed limit exceeded: nothing is left that lowers the boost",
	NoteInjectorUnmet:     "injector duty exceeded: nothing is left that lowers the boost",
	NoteFrictionSpeed:     "friction extrapolated: fitted at " + units.Range(600*math.Pi/30, 6000*math.Pi/30, units.Speed),
	NoteFrictionBoost:     "friction extrapolated: fitted without boost",
	NoteFrictionHeld:      "mean piston speed above " + units.Whole(30, units.Velocity) + ": how gas pressure loads the rings is held from there on",
	NotePulsesUnknown:     "exhaust pulses not known at so little expansion: the turbine is taken as driven by the mean flow",
	NotePulsesUnsettled:   "exhaust pulses and operating point were not brought together: the turbine's power is known to some per cent only",
	NoteTorqueUnmet:       "gearbox torque exceeded: nothing is left that lowers the boost",
	NoteTwoStates:         "two steady states: coming from less boost the engine stays here, coming from more it stays higher",
}

// Texts returns the remarks in words, in their order.
func (n Note) Texts() []string { return remark.Texts(n, noteTexts) }

// A PointError tells why an operating point has no solution: which speed, which stage, and how far the search came.
type PointError struct {
	Speed    float64 // rad/s
	Stage    string
	Reason   string
	Residual float64
	Steps    int
}

func (e *PointError) Error() string {
	at := units.Mark(e.Speed, units.Speed)
	if e.Steps > 0 {
		return fmt.Sprintf("%s: %s: %s (residual %.2g after %d steps)", at, e.Stage, e.Reason, e.Residual, e.Steps)
	}
	return fmt.Sprintf("%s: %s: %s", at, e.Stage, e.Reason)
}
