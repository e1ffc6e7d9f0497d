package spec

import (
	"crypto/sha256"
	"slices"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/compressor"
	"bellmouth/internal/cooler"
	"bellmouth/internal/exhaust"
	"bellmouth/internal/friction"
	"bellmouth/internal/fuel"
	"bellmouth/internal/gas"
	"bellmouth/internal/gearing"
	"bellmouth/internal/geometry"
	"bellmouth/internal/injector"
	"bellmouth/internal/numeric"
	"bellmouth/internal/restrictor"
	"bellmouth/internal/turbine"
	"bellmouth/internal/wastegate"
)

// A Trim is the engine as it runs in one of its trims: every part built and checked, in SI units. A part that the spec
// lacks is nil, a table it lacks the zero Curve, and a limit it lacks 0. Tables over engine speed are over rad/s.
type Trim struct {
	Name       string
	Venue      gas.Air
	VenueName  string // of the venue among the spec's by name; empty: the one that spec or trim has without a name
	Engine     Engine
	Fuel       *Fuel
	Intake     Intake
	Compressor *Compressor // nil in a naturally aspirated engine
	Turbine    *Turbine
	Wastegate  *turbine.Wastegate
	Actuator   *wastegate.Actuator
	Control    *Control // of the boost; given with the actuator, whose ports it feeds
	Cooler     *Cooler
	Exhaust    Exhaust
	Injection  *Injection
	Supply     *Supply
	Ignition   *Ignition
	Manifold   *Manifold
	Oil        *Oil
	Sump       *Sump
	Cooling    *Cooling
	Boost      Boost
	Driveline  Driveline
	Car        *gearing.Car
	Surfaces   Surfaces
	Wiring     *Wiring
	Course     *Course // nil without a car too
	Limits     Limits
	Waivers    []Waiver  // those of the base, then those of the trim
	Defaults   []Default // what the spec left to its defaults

	given   map[string]bool // what the spec gives, by path
	written *node           // what it says, the trim laid over what it builds on
	file    string
}

// A Default is a value that the spec does not give and that was taken instead.
type Default struct {
	Path   string // "engine.combustion.efficiency"
	Value  string // as one would write it: "0.97"
	Reason string // why it is that, with its source
}

// An Engine is the engine without what feeds it.
type Engine struct {
	Cylinder             geometry.Cylinder
	Cylinders            int
	Chamber              *geometry.Chamber // nil when the compression ratio is given by itself
	Valves               *geometry.Valves
	Limiter              float64       // highest engine speed, rad/s
	VolumetricEfficiency numeric.Curve // fraction over engine speed, referred to manifold density
	Combustion           Combustion
	Heat                 Heat
	Friction             friction.Choice // without a model when the valves are not given
	BottomEnd            *BottomEnd
	Head                 *Head
	PistonToValve        *PistonToValve
	Clearances           []Fit // as measured
}

// A Combustion says how the charge burns.
type Combustion struct {
	BurnAngle      numeric.Curve // crank angle from 0 to 90 % burned, rad, over engine speed; zero when not given
	StatedPressure float64       // in the manifold, Pa absolute, for which burn angle and ignition delay are stated
	StatedLambda   float64       // and the mixture
	BestCA50       float64       // CA50 of best torque, rad after top dead centre
	LatestCA50     float64       // latest CA50 accepted, rad after top dead centre
	Efficiency     float64       // share of the fuel's available heat that is released
	KnockLimit     float64       // Livengood–Wu integral of the mean cycle at which the fastest cycles knock
	KnockMargin    float64       // octane numbers kept clear of it
}

// A Heat says what the gas gives to and takes from the metal.
type Heat struct {
	Factor            float64 // on the correlation's heat transfer coefficient
	WallTemperature   float64 // K
	PortLoss          float64 // share of the exhaust's sensible enthalpy lost between valve and turbine, where PortLossGiven
	PortLossGiven     bool
	ChargeHeating     float64 // rise of the fresh charge on its way past hot walls, K
	ChargeEvaporation float64 // share of the fuel's latent heat that cools the charge before the inlet valve closes
}

// A Fuel is what the engine burns, and how rich.
type Fuel struct {
	Grade       fuel.Fuel
	Temperature float64 // at the injector, K
	Mixture     airpath.Mixture
	KnockOctane float64 // octane number in the knock delay; 0: by research and motor octane number and the charge's state
}

// An Intake is what lies between the venue and the compressor.
type Intake struct {
	FilterLossCoefficient float64 // k in Δp = k ṁ² T/p, T and p of the venue, Pa² s²/(kg² K); 0 without a filter
	Restrictor            *restrictor.Restrictor
	Measured              *MeasuredBore // of the restrictor; nil when not given
}

// A Compressor is the compressor of one turbocharger and the number of them.
type Compressor struct {
	Map        *compressor.Map
	MapFile    string  // as the spec names it
	Count      int     // equal turbochargers in parallel
	Wheel      float64 // exducer diameter, m; 0 when not given
	SpeedLimit float64 // of the shaft, rad/s; 0 when not given

	mapDigest [sha256.Size]byte // of the map's file
}

// A Turbine is the turbine side of the turbochargers.
type Turbine struct {
	turbine.Turbine
	InletTemperatureLimit float64 // K; 0 when not given
	RotorInertia          float64 // of one turbocharger's shaft with both wheels, kg m²; 0 when not given
	Entries               int     // of one housing
	Pulses                bool    // whether the exhaust's pulses drive it, rather than its mean flow
	ManifoldVolume        float64 // between the exhaust valves and the nozzles, of the whole engine, m³; 0 when not known
}

// A Cooler is the charge cooler.
type Cooler struct {
	cooler.Cooler
	FollowsVenue bool // its coolant is at the venue's temperature because the spec gives none
}

// An Exhaust is what lies between the exhaust valves and the open air, but for the turbine.
type Exhaust struct {
	Pipes                   exhaust.System
	BackPressureCoefficient float64 // k in Δp = k ṁ² T/p, T and p after the turbine, Pa² s²/(kg² K)
}

// An Injection is the fuel system from the rail on.
type Injection struct {
	Direct          bool             // into the cylinder
	RailPressure    float64          // above the manifold or above the venue, Pa
	FollowsManifold bool             // whether the rail pressure counts from the manifold
	SupplyVoltage   float64          // V
	Staging         injector.Staging // without a second set, Secondary.PerCylinder is 0
}

// A Boost is what the boost control is asked for.
type Boost struct {
	Target numeric.Curve // manifold pressure above the venue's, Pa, over engine speed
}

// Limits are what the engine must stay within.
type Limits struct {
	PeakCylinderPressure    float64 // Pa absolute
	TurbineInletTemperature float64 // K
	SurgeMargin             float64 // smallest accepted, fraction
	InjectorDuty            float64 // fraction
	MeanPistonSpeed         float64 // m/s
	RodTension              float64 // N
	RodCompression          float64 // N
	CrankPinPressure        float64 // of the rod's bearing on its projected area, Pa
	RodBoltMargin           float64 // smallest share of the least preload left, fraction
	HeadClampMargin         float64 // the same of the head
	CoolantTemperature      float64 // where the coolant leaves the engine, K
	BoilingMargin           float64 // smallest distance of the coolant from boiling, K
	OilTemperature          float64 // as the oil comes to its cooler, K
}

// Need returns an error that names the command when the trim lacks one of the sections or values it needs. They are named
// by their paths in the file: "compressor", "boost.target".
func (t *Trim) Need(command string, paths ...string) error {
	var lacking []Problem
	fields := (&draft{}).schema()
	for _, path := range t.Lacks(paths...) {
		f := lookup(fields, path)
		message := command + " needs " + path + "; trim " + t.Name + " lacks it"
		switch {
		case f != nil && f.isSection():
			message = command + " needs the section " + path + "; trim " + t.Name + " lacks it"
		case f != nil:
			message += "; " + f.want()
		}
		lacking = append(lacking, Problem{File: t.file, Message: message})
	}
	if lacking == nil {
		return nil
	}
	return &Error{Problems: lacking}
}

// Lacks returns those of the paths that the trim does not give, in their order. What lies in a section that it lacks is not named again.
func (t *Trim) Lacks(paths ...string) []string {
	var lacks []string
	fields := (&draft{}).schema()
	for _, path := range paths {
		f := lookup(fields, path)
		if t.given[path] || f != nil && f.implied {
			continue
		}
		if section, _, _ := strings.Cut(path, "."); section != path && slices.Contains(lacks, section) {
			continue
		}
		lacks = append(lacks, path)
	}
	return lacks
}

// String returns the default as a note on a result that rests on it.
func (d Default) String() string {
	return d.Path + " is not given; " + d.Value + " is taken (" + d.Reason + ")"
}
