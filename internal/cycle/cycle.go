// Package cycle computes one cylinder's cycle, crank angle by crank angle: from the closing of the inlet valve to the opening of the exhaust
// valve pressure, temperature, work, heat to the walls and the knock integral of the end gas (Run), and from there to top dead centre what
// blows down, is pushed out and stays behind (Release).
//
// The gas is one zone of uniform pressure and temperature whose burned share follows a Wiebe function; a second, unburned
// zone at the same pressure is followed for the end gas. Properties vary with temperature and composition, enthalpies are
// absolute (they hold the heat of formation), so that burning needs no heat source: the energy equation is
//
//	dU = −p dV − dQ
//
// Not modelled: dissociation (it lowers the real peak temperature by 100 K to 200 K near stoichiometric, and the work by
// two or three per cent), blow-by and crevices.
package cycle

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/knock"
	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

// wiebeA is Wiebe's form factor a; the other one, m, is 2, which makes the power m + 1 of burnLeft a cube. As usually taken for spark
// ignition: Heywood, Internal Combustion Engine Fundamentals (1988), eq. 9.30.
const wiebeA = 5.0

// Shares of the Wiebe duration at which 50 % and 90 % have burned: (−ln(1−x)/a)^(1/3).
var (
	wiebe50 = math.Cbrt(math.Ln2 / wiebeA)
	wiebe90 = math.Cbrt(math.Ln10 / wiebeA)
)

// burnLeft returns the share of a Wiebe burn that is left when the share y of its duration has passed, y above 0:
//
//	1 − xb = exp(−a y³)
//
// Source: Heywood (1988), eq. 9.30.
func burnLeft(y float64) float64 { return numeric.Exp(-wiebeA * y * y * y) }

// BurnStart returns the crank angle, rad after firing top dead centre, at which a burn that reaches 50 % at ca50 starts.
// burnAngle is the crank angle from 0 to 90 % burned.
func BurnStart(ca50, burnAngle float64) float64 { return ca50 - burnAngle*wiebe50/wiebe90 }

// BurnedAt returns the share of the Wiebe burn that is done at crank angle theta, 0 to 1.
func BurnedAt(theta, ca50, burnAngle float64) float64 {
	y := (theta - BurnStart(ca50, burnAngle)) * wiebe90 / burnAngle
	if y <= 0 {
		return 0
	}
	return 1 - burnLeft(y)
}

// DefaultBurnAngle returns the crank angle from 0 to 90 % burned, rad, that is taken when nothing better is known, and whether
// the speed lies outside of where it holds, 1000 to 10000 rpm, whose end value was used then:
//
//	Δθ = 43° (N / 2000 rpm)^0.2
//
// speed is N in rad/s. The burn takes nearly the same crank angle at every speed because turbulence rises with it;
// Heywood (1988), §9.2.2 and fig. 9-21, has the whole burn grow slowly with speed and lie between about 40° and 60°. The
// exponent is ours, common practice, no source.
func DefaultBurnAngle(speed float64) (angle float64, held bool) {
	rpm := speed * 30 / math.Pi
	within := min(max(rpm, 1000), 10000)
	return 43 * math.Pi / 180 * math.Pow(within/2000, 0.2), within != rpm
}

// A Model is one cylinder made ready for the integration. It does not change once made and serves any number of goroutines.
type Model struct {
	cylinder  geometry.Cylinder
	nodes     []node // from inlet valve closing to exhaust valve opening
	wall      float64
	htcFactor float64 // heat factor × 3.26 B^−0.2, with p in kPa
	displaced float64
	bottomV   float64 // volume at bottom dead centre
	overStart float64 // displacement / volume at inlet valve closing
	release   []outNode
	toBottom  int // steps of release to bottom dead centre
}

// A node is a crank angle of the grid with the middle of the step that leads to the next one.
type node struct {
	theta, step       float64 // rad
	volume, slope     float64 // m³, m³/rad
	area              float64 // wall area, m²
	motored           float64 // motored pressure over that at inlet valve closing
	midVolume         float64
	midSlope, midArea float64
	midMotored        float64
}

// chamberArea is the area of chamber roof and piston crown together over the bore's area: a shallow pent roof over a nearly
// flat crown. Common practice, no source.
const chamberArea = 2.25

// motoredExponent is the polytropic exponent of the motored pressure in Woschni's combustion term: common practice, no source.
const motoredExponent = 1.33

// A Config is what a Model is made from.
type Config struct {
	Cylinder        geometry.Cylinder
	Valves          geometry.Valves
	WallTemperature float64 // mean temperature of the walls, K, 300 to 700
	HeatFactor      float64 // factor on Woschni's coefficient, 0 (no heat loss) to 4
	StepDivisor     int     // divides the crank step, to test the integration; 0 and 1 are the normal step
}

// Crank steps, rad: fine around top dead centre, where the volume turns round and the charge burns, wider elsewhere. They
// are chosen so that work and peak pressure lie within 0.1 % of a run with a tenth of the step.
const (
	fineStep   = 3.5 * math.Pi / 180
	coarseStep = 8 * math.Pi / 180
	fineFrom   = -55 * math.Pi / 180
	fineTo     = 75 * math.Pi / 180
)

// New makes a Model. A value outside the ranges of Config is an error.
func New(c Config) (*Model, error) {
	if err := c.Cylinder.Validate(); err != nil {
		return nil, err
	}
	if err := c.Valves.Validate(c.Cylinder.Bore); err != nil {
		return nil, err
	}
	switch {
	case !(c.Valves.InletCloses >= 0):
		return nil, fmt.Errorf("inlet valve closing %.4g rad after bottom dead centre; want 0 or more", c.Valves.InletCloses)
	case !(c.Valves.ExhaustOpens >= 0):
		return nil, fmt.Errorf("exhaust valve opening %.4g rad before bottom dead centre; want 0 or more", c.Valves.ExhaustOpens)
	case !(c.WallTemperature >= 300 && c.WallTemperature <= 700):
		return nil, fmt.Errorf("wall temperature %.4g K; want 300 to 700", c.WallTemperature)
	case !(c.HeatFactor >= 0 && c.HeatFactor <= 4):
		return nil, fmt.Errorf("heat factor %.4g; want 0 to 4", c.HeatFactor)
	}
	m := &Model{
		cylinder:  c.Cylinder,
		wall:      c.WallTemperature,
		htcFactor: c.HeatFactor * 3.26 * math.Pow(c.Cylinder.Bore, -0.2),
		displaced: c.Cylinder.Displacement(),
		bottomV:   c.Cylinder.Displacement() + c.Cylinder.ClearanceVolume(),
	}
	closing, opening := c.Valves.InletClosingAngle(), c.Valves.ExhaustOpeningAngle()
	divisor := float64(max(c.StepDivisor, 1))
	m.addSteps(closing, fineFrom, coarseStep/divisor)
	m.addSteps(fineFrom, fineTo, fineStep/divisor)
	m.addSteps(fineTo, opening, coarseStep/divisor)
	m.nodes = append(m.nodes, m.nodeAt(opening, 0))
	m.addRelease(c.Valves, divisor)
	v0 := m.nodes[0].volume
	for i := range m.nodes {
		n := &m.nodes[i]
		n.motored = math.Pow(v0/n.volume, motoredExponent)
		n.midMotored = math.Pow(v0/n.midVolume, motoredExponent)
	}
	m.overStart = m.displaced / v0
	return m, nil
}

// addSteps appends equal steps from one crank angle to another, none wider than step.
func (m *Model) addSteps(from, to, step float64) {
	count := int(math.Ceil((to-from)/step - 1e-9))
	for i := range count {
		h := (to - from) / float64(count)
		m.nodes = append(m.nodes, m.nodeAt(from+float64(i)*h, h))
	}
}

func (m *Model) nodeAt(theta, step float64) node {
	mid := theta + step/2
	return node{
		theta: theta, step: step,
		volume: m.cylinder.Volume(theta), slope: m.cylinder.VolumeSlope(theta), area: m.cylinder.WallArea(theta, chamberArea),
		midVolume: m.cylinder.Volume(mid), midSlope: m.cylinder.VolumeSlope(mid), midArea: m.cylinder.WallArea(mid, chamberArea),
	}
}

// An Input is the charge that one cycle starts from.
type Input struct {
	Speed            float64     // rad/s
	Unburned, Burned gas.Mixture // of the fresh charge, on one base of enthalpy
	Mass             float64     // trapped: fresh charge and residual gas, kg
	InitialBurned    float64     // burned mass fraction at inlet valve closing
	FinalBurned      float64     // burned mass fraction that complete combustion would end with
	Temperature      float64     // at inlet valve closing, K
	CA50             float64     // crank angle at 50 % burned, rad after firing top dead centre, −0.5 to 1.5
	BurnAngle        float64     // crank angle from 0 to 90 % burned, rad, 0.005 to 3
	Knock            knock.Delay // of the end gas
	SparkAngle       float64     // at which the state of the charge is told, rad after firing top dead centre
}

// A Result is what one cycle did.
type Result struct {
	Work             float64 // by the gas on the piston between the valve events, J
	Heat             float64 // to the walls between the valve events, J
	EnergyStart      float64 // absolute internal energy at inlet valve closing, J
	EnergyEnd        float64 // and at exhaust valve opening, J
	PressureStart    float64 // at inlet valve closing, Pa
	PressureEnd      float64 // at exhaust valve opening, Pa
	TemperatureEnd   float64 // at exhaust valve opening, K
	BurnedEnd        float64 // burned mass fraction at exhaust valve opening
	PeakPressure     float64 // Pa
	PeakAngle        float64 // of the peak pressure, rad after firing top dead centre
	PeakTemperature  float64 // of the single zone, K
	EndGasPeak       float64 // highest end-gas temperature while the knock integral runs, K
	KnockIntegral    float64 // Livengood–Wu integral up to 90 % burned; 1 is autoignition
	BurnStart        float64 // rad after firing top dead centre
	SparkPressure    float64 // at the spark angle, Pa
	SparkTemperature float64 // of the unburned charge at the spark angle, K
}

// ErrInput is returned when an Input is not one of a cycle.
var ErrInput = errors.New("cycle input out of range")

// mixture returns the charge at a burned mass fraction.
func (in *Input) mixture(burned float64) gas.Mixture { return gas.Mix(in.Unburned, in.Burned, burned) }

// check holds the ranges in which the model means something.
func (in *Input) check() error {
	ok := in.Speed > 0 && in.Mass > 0 && in.Knock.Octane() > 0 &&
		in.InitialBurned >= 0 && in.InitialBurned <= in.FinalBurned && in.FinalBurned <= 1 &&
		in.CA50 >= -0.5 && in.CA50 <= 1.5 && in.BurnAngle >= 0.005 && in.BurnAngle <= 3
	if !ok {
		return ErrInput
	}
	return nil
}

// ErrState is returned when the gas leaves the range in which its properties are known.
var ErrState = errors.New("the gas in the cylinder leaves " + units.Kelvin(200) + " to " + units.Kelvin(6000))

// knockUntil is the burned share at which the knock integral stops: 90 %, the end of the stated burn angle. What end gas is
// left then is too little, and the pressure falls too fast, for an audible knock: common practice, no source.
const knockUntil = 0.90
