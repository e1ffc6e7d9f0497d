// Package pulse computes what a turbine makes of exhaust that comes in pulses: the pressure in the manifold of one turbine entry,
// crank angle by crank angle, filled by its cylinders and emptied through turbine and wastegate, and the factors by which flow
// and power differ from those of a steady stream.
//
// The manifold is one volume of uniform pressure and temperature (filling and emptying), the turbine a nozzle that follows the
// pressure at once (quasi-steady), its shaft too heavy to change speed within a cycle. The gas is perfect, with one γ.
//
// Not modelled: waves in the pipes, so that lengths do not count; the mixing of two entries at the wheel, so that each entry has
// its share of the nozzle to itself; the overlap of the valves. Where the wheel lags behind the pulses its efficiency is lower:
// see UnsteadyLoss.
package pulse

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/geometry"
	"bellmouth/internal/numeric"
)

// A Config is what a Model is made from.
type Config struct {
	Cylinder  geometry.Cylinder
	Cylinders int     // that feed the entry, firing at even spacing, 1 to 12
	Volume    float64 // of manifold and housing between the valves and the nozzle of one entry, m³
	PortLoss  float64 // share of the sensible enthalpy, above 25 °C, lost between valve and turbine, 0 to 0.5

	// The exhaust valve opens and closes at these crank angles, rad after firing top dead centre.
	Opens, Closes float64
	// EffectiveArea is that of the cylinder's exhaust valves at a crank angle between the two, m².
	EffectiveArea func(theta float64) float64

	StepDivisor int     // divides the crank step, to test the integration; 0 and 1 are the normal step
	Tolerance   float64 // largest relative change of the state over a firing interval; 0 is 1e-7
}

const (
	mostCylinders = 12
	mostSlots     = 7 // cylinders with an open exhaust valve at one time
	// largestStep is the crank step, rad, chosen so that power and flow at the mean pressure lie within 1 % of a run with an eighth of
	// it, most of them within 0.2 %.
	largestStep = 4 * math.Pi / 180
)

// A Model is one turbine entry and its cylinders made ready to be solved. It does not change once made and serves any number of
// goroutines.
type Model struct {
	cylinders int
	volume    float64
	keep      float64   // share of the sensible enthalpy that passes the port
	step      float64   // rad
	steps     int       // of one firing interval
	slots     int       // cylinders that can have an open valve at one time
	area      []float64 // effective area in the middle of each step after opening, m²
	cylinder  []float64 // cylinder volume at the start of each step, and at the end of the last, m³
	opening   float64   // cylinder volume at exhaust valve opening, m³
	tolerance float64
}

// New makes a Model. A value outside the ranges of Config is an error.
func New(c Config) (*Model, error) {
	if err := c.Cylinder.Validate(); err != nil {
		return nil, err
	}
	swept := c.Cylinder.Displacement()
	switch {
	case !(c.Cylinders >= 1 && c.Cylinders <= mostCylinders):
		return nil, fmt.Errorf("%d cylinders on one turbine entry; want 1 to %d", c.Cylinders, mostCylinders)
	case !(c.Volume >= leastVolume*swept && c.Volume <= 1):
		return nil, fmt.Errorf("manifold of one turbine entry has %.4g m³; want %.4g m³, %g of a cylinder, to 1 m³", c.Volume, leastVolume*swept, leastVolume)
	case !(c.PortLoss >= 0 && c.PortLoss <= 0.5):
		return nil, fmt.Errorf("port heat loss is %.4g; want 0 to 0.5", c.PortLoss)
	case !(c.Opens >= math.Pi/2 && c.Opens <= 3*math.Pi/2):
		return nil, fmt.Errorf("exhaust opens %.4g rad after firing top dead centre; want half π to three halves π", c.Opens)
	case !(c.Closes >= c.Opens+math.Pi/2 && c.Closes <= c.Opens+2*math.Pi):
		return nil, fmt.Errorf("exhaust closes %.4g rad after it opens; want half π to 2π", c.Closes-c.Opens)
	case !(c.Tolerance >= 0 && c.Tolerance <= 1e-3):
		return nil, fmt.Errorf("tolerance of the exhaust pulses is %v; want 0 to 0.001", c.Tolerance)
	case c.EffectiveArea == nil:
		return nil, errors.New("effective area of the exhaust valves is not given")
	}
	if c.Tolerance == 0 {
		c.Tolerance = defaultTolerance
	}
	interval := 4 * math.Pi / float64(c.Cylinders)
	m := &Model{cylinders: c.Cylinders, volume: c.Volume, keep: 1 - c.PortLoss, tolerance: c.Tolerance}
	m.steps = int(math.Ceil(interval/(largestStep/float64(max(c.StepDivisor, 1))) - 1e-9))
	m.step = interval / float64(m.steps)
	count := int(math.Ceil((c.Closes-c.Opens)/m.step - 1e-9))
	m.slots = (count + m.steps - 1) / m.steps
	largest := 0.0
	for j := range count {
		theta := c.Opens + float64(j)*m.step
		// The last step may end past closing: its area is that of the part in which the valve is open.
		open := math.Min(m.step, c.Closes-theta)
		a := c.EffectiveArea(theta+open/2) * open / m.step
		if !(a >= 0 && a < 1) {
			return nil, fmt.Errorf("effective area of the exhaust valves is %v m² at %.4g rad; want 0 or more", a, theta)
		}
		largest = math.Max(largest, a)
		m.area = append(m.area, a)
		m.cylinder = append(m.cylinder, c.Cylinder.Volume(theta))
	}
	if !(largest > 0) {
		return nil, errors.New("the exhaust valves do not open")
	}
	m.cylinder = append(m.cylinder, c.Cylinder.Volume(c.Opens+float64(count)*m.step))
	m.opening = m.cylinder[0]
	return m, nil
}

// leastVolume is the smallest manifold, as a multiple of the displacement of one cylinder: less is no pipe.
const leastVolume = 0.25

// A State is what one entry is fed with and empties into.
type State struct {
	Speed          float64       // of the engine, rad/s
	Pressure       float64       // in the cylinder at exhaust valve opening, Pa absolute
	Temperature    float64       // in the cylinder at exhaust valve opening, K
	Gamma          float64       // of the exhaust
	GasConstant    float64       // R, J/(kg K)
	OutletPressure float64       // after the turbine p4, Pa absolute
	TurbineArea    float64       // Cd A of the turbine, the part of one entry, m²
	WastegateArea  float64       // Cd A open beside it, the part of one entry, m²
	Efficiency     numeric.Curve // of the turbine, isentropic, total to static, over U/C0; or a constant
	TipSpeed       float64       // of the turbine wheel U, m/s; needed where the efficiency depends on it
}

// ErrState is returned when a State is outside of what the model means something for, or when its mean expansion ratio is: 1 or less,
// or above turbine.MaxExpansionRatio.
var ErrState = errors.New("state of the exhaust out of range")

func (s *State) check() error {
	ok := s.Speed > 0 && s.Speed < 5000 && s.Pressure > 1e3 && s.Pressure < 1e8 && s.Temperature > 300 && s.Temperature < 4000 &&
		s.Gamma > 1.05 && s.Gamma < 1.7 && s.GasConstant > 100 && s.GasConstant < 1000 && s.OutletPressure > 1e4 &&
		s.OutletPressure < 1e7 && s.TurbineArea > 0 && s.TurbineArea < 1 && s.WastegateArea >= 0 && s.WastegateArea < 1 &&
		!s.Efficiency.IsZero() && s.TipSpeed >= 0
	if !ok {
		return ErrState
	}
	return nil
}

// Factors tell a turbine under pulses from the same turbine in a steady stream of the mass-mean temperature. Each names what is
// held equal between the two, for they differ a lot.
type Factors struct {
	PowerAtMeanFlow     float64 // mean power over that of a steady stream of the same mean mass flow (a)
	PowerAtMeanPressure float64 // mean power over that of a steady stream at the time-mean inlet pressure (b)
	FlowAtMeanPressure  float64 // mean mass flow over that of a steady stream at the time-mean inlet pressure (c)

	// Unsteadiness is the standard deviation over time of p3 − p4 over its mean.
	Unsteadiness float64
}

// UnsteadyLoss is the share of its efficiency that a turbine loses under the strongest pulses, because the flow in wheel and
// housing does not follow the pressure at once.
//
// Measured on a twin-entry turbine, cold, at 25 Hz and 33 Hz: 3.0 % less than steady at 100 000 rpm and 7.0 % less at 60 000 rpm.
// The larger figure stands for the strongest pulses; see Factors.Efficiency.
const UnsteadyLoss = 0.07

// halfSine is the Unsteadiness of half sines that follow each other without a pause: √(π²/8 − 1).
var halfSine = math.Sqrt(math.Pi*math.Pi/8 - 1)

// Efficiency returns the share of the quasi-steady power that a real turbine gives under these pulses.
//
//	1 − L c/√(c² + c1²)
//
// L is loss, such as UnsteadyLoss; c the unsteadiness; c1 = √(π²/8 − 1) that of half sines without a pause, at which the loss is
// L/√2: 5 %, the middle of what was measured. A steady stream loses nothing. The form is ours; the figures are those of
// UnsteadyLoss.
func (f *Factors) Efficiency(loss float64) float64 {
	return 1 - loss*f.Unsteadiness/math.Hypot(f.Unsteadiness, halfSine)
}

// An Account is what passed in one firing interval, added up where it passed: mass, kg, and energy, J, as cp T counted from 0 K.
type Account struct {
	OpeningMass, OpeningEnergy float64 // internal energy of what is in the cylinder at exhaust valve opening
	LeftMass, LeftEnergy       float64 // and at its closing
	PistonWork                 float64 // done on the gas by the pistons with open exhaust valves
	ValveMass, ValveEnergy     float64 // through the valves, less what comes back
	PortHeat                   float64 // lost between valves and manifold
	OutletMass, OutletEnergy   float64 // through turbine and wastegate, before the turbine's work
}

// A Result is the periodic state. Flows and power are those of one entry, means over the cycle.
type Result struct {
	Factors
	MassFlow            float64 // through turbine and wastegate, kg/s
	TurbineFlow         float64 // kg/s
	WastegateFlow       float64 // kg/s
	MeanPressure        float64 // time mean of p3, Pa absolute
	PeakPressure        float64 // highest p3, Pa absolute
	LowestPressure      float64 // lowest p3, Pa absolute
	MassMeanTemperature float64 // of what leaves the manifold, K
	TimeMeanTemperature float64 // of what is in the manifold, K
	Power               float64 // taken from the gas by a turbine that follows the pulses at once, W
	MeanEfficiency      float64 // that power over the isentropic power of what passes the turbine
	Account             Account
	Passes              int     // firing intervals integrated
	Residual            float64 // largest relative change of the state over the last interval
}

// A ConvergenceError tells that no periodic state was found.
type ConvergenceError struct {
	Residual float64
	Passes   int
}

func (e *ConvergenceError) Error() string {
	return fmt.Sprintf("exhaust pulses do not repeat themselves: residual %.2g after %d firing intervals", e.Residual, e.Passes)
}
