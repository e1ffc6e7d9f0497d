// Package turbine computes what an exhaust turbine swallows, the work it takes from the gas and the expansion that
// balances its shaft, and what passes the wastegate beside it.
package turbine

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
)

// MaxExpansionRatio is the greatest total-to-static expansion ratio the searches look at. Radial exhaust turbines of one
// stage are built for less; common practice, no source.
const MaxExpansionRatio = 6.0

// A Turbine is one or several equal exhaust turbines side by side, each on its own shaft.
//
// Flows and powers of its methods are those of all of them together; speeds are those of each shaft.
type Turbine struct {
	EffectiveArea        float64       // Cd A of one turbine, as one nozzle, m²
	Efficiency           numeric.Curve // isentropic efficiency, total to static, over blade speed ratio U/C0; or a constant
	Wheel                float64       // tip diameter of the wheel, m; 0 when the efficiency is a constant
	MechanicalEfficiency float64       // share of the gas's work that the shaft gets, ηm; 1 where the bearings are in BearingLoss or in the efficiency
	BearingLoss          float64       // c of one shaft's bearings, which take c N², N m s; see DefaultBearingLoss
	Count                int           // turbines side by side
}

// DefaultBearingLoss returns c of the power c N² that the floating bearings of one turbocharger take, N m s, from the tip diameter of
// the turbine wheel, m.
//
//	c = 2e-6 N m s (D/45 mm)³
//
// That is 219 W at 100 000 rpm and 711 W at 180 000 rpm with a wheel of 45 mm. From memory c is 1e-6 N m s with hot oil, a round number,
// and the power 0.2 kW to 0.5 kW at 100 000 rpm and 0.6 kW to 1.5 kW at 180 000 rpm with thrust, for 40 mm to 50 mm. This is what both
// allow, known to a factor of two. Ball bearings take about half. The friction torque of like bearings goes with speed and, at one
// viscosity and relative clearance, with the cube of their size (Petroff).
func DefaultBearingLoss(wheel float64) float64 {
	d := wheel / 45e-3
	return 2e-6 * d * d * d
}

// BearingPower returns the power that the bearings of all shafts take at a shaft speed N, rad/s, beside the share that
// MechanicalEfficiency leaves out, W: n c N².
func (t *Turbine) BearingPower(shaftSpeed float64) float64 {
	return float64(t.Count) * t.BearingLoss * shaftSpeed * shaftSpeed
}

// bearings returns what the bearings take of the turbine's power, W.
func (t *Turbine) bearings(in *Inlet) float64 {
	p := t.BearingPower(in.ShaftSpeed)
	if in.BearingCap > 0 {
		p = math.Min(p, in.BearingCap)
	}
	return p
}

// WorkFor returns the power that the turbines have to take from the gas for the compressors to get power, W: (P + n c N²)/ηm, the bearings'
// part no more than Inlet.BearingCap. It is 0 where the compressors give the bearings what they take.
func (t *Turbine) WorkFor(power float64, in Inlet) float64 {
	return math.Max(power+t.bearings(&in), 0) / t.MechanicalEfficiency
}

// Validate returns an error when a figure is outside its range, when an efficiency over blade speed ratio comes without
// a wheel diameter, or when the efficiency rises faster than the square of the blade speed ratio: the power would then
// not rise with the expansion ratio, and no shaft settles on such a stretch.
func (t *Turbine) Validate() error {
	switch {
	case !(t.EffectiveArea > 0) || math.IsInf(t.EffectiveArea, 1):
		return fmt.Errorf("effective area is %v m²; want more than 0", t.EffectiveArea)
	case !(t.MechanicalEfficiency > 0 && t.MechanicalEfficiency <= 1):
		return fmt.Errorf("mechanical efficiency is %v; want more than 0 and at most 1", t.MechanicalEfficiency)
	case !(t.BearingLoss >= 0) || math.IsInf(t.BearingLoss, 1):
		return fmt.Errorf("bearing loss is %v N m s; want 0 or more", t.BearingLoss)
	case t.Count < 1:
		return fmt.Errorf("turbine count is %d; want at least 1", t.Count)
	case t.Efficiency.IsZero():
		return errors.New("turbine efficiency is not given")
	case !(t.Wheel >= 0) || math.IsInf(t.Wheel, 1):
		return fmt.Errorf("wheel diameter is %v m; want 0 or more", t.Wheel)
	}
	lo, hi := t.Efficiency.Span()
	if math.IsInf(lo, -1) || lo == hi { // one value, whatever the speed
		eta, _ := t.Efficiency.At(lo)
		return checkEfficiency(eta)
	}
	if t.Wheel == 0 {
		return errors.New("turbine efficiency is given over the blade speed ratio; the wheel's diameter is needed too")
	}
	if !(lo > 0) {
		return fmt.Errorf("turbine efficiency starts at a blade speed ratio of %v; want more than 0", lo)
	}
	const steps = 200
	last := math.Inf(1)
	for i := range steps + 1 {
		x := lo + (hi-lo)*float64(i)/steps
		eta, _ := t.Efficiency.At(x)
		if err := checkEfficiency(eta); err != nil {
			return fmt.Errorf("blade speed ratio %.3g: %w", x, err)
		}
		v := eta / (x * x)
		if !(v < last) {
			return fmt.Errorf("turbine efficiency rises faster than the square of the blade speed ratio near %.3g", x)
		}
		last = v
	}
	return nil
}

func checkEfficiency(eta float64) error {
	if !(eta > 0 && eta <= 1) {
		return fmt.Errorf("turbine efficiency is %v; want more than 0 and at most 1", eta)
	}
	return nil
}

// A Gas is the perfect gas that stands for the exhaust over one expansion.
type Gas struct {
	Gamma       float64 // ratio of heat capacities γ
	GasConstant float64 // R, J/(kg K)
	Cp          float64 // J/(kg K)
}

// GasOf returns the perfect gas that stands for a mixture expanding isentropically from temperature, K, through
// expansionRatio ER.
//
//	T4s = T3 ER^(−R/cp'),  cp' = cp((T3 − T4s)/ln(T3/T4s)),  γ = cp'/(cp' − R),  Cp = cp((T3 + T4s)/2)
//
// The heat capacity in the work is a mean over temperature and that in the exponent a mean over its logarithm, hence the
// two means: where cp is a straight line the work is that of the real mixture. cp' comes from two rounds, the first with
// cp(T3). For burned gas the work is within 0.03 % up to an expansion ratio of 6, where cp(T3) alone is 0.5 % off.
func GasOf(mix *gas.Mixture, temperature, expansionRatio float64) Gas {
	r, cp := mix.GasConstant(), mix.Cp(temperature)
	if !(expansionRatio > 1) {
		return Gas{Gamma: cp / (cp - r), GasConstant: r, Cp: cp}
	}
	rise := r * numeric.Log(expansionRatio) // of entropy at constant temperature, J/(kg K)
	var fall float64                        // (T3 − T4s)/T3
	for range 2 {
		fall = -numeric.Expm1(-rise / cp)
		cp = mix.Cp(temperature * fall * cp / rise)
	}
	return Gas{Gamma: cp / (cp - r), GasConstant: r, Cp: mix.Cp(temperature * (1 - fall/2))}
}

// An Inlet is what the turbine finds on both its sides.
type Inlet struct {
	Gas            Gas
	Temperature    float64 // total temperature before the turbine T3, K
	OutletPressure float64 // static pressure after it p4, Pa absolute
	ShaftSpeed     float64 // N, rad/s; needed where the efficiency or the bearings depend on it
	// BearingCap is the most that the bearings are taken to need, W; 0: no cap. Next to a compressor pressure ratio of 1 the shaft's speed is the map's
	// for a compressor that is driven, and the true one, of a wheel dragged along by the air, is less.
	BearingCap float64
	Pulse      Pulse // how the exhaust's pulses change flow and power; the zero Pulse is a steady stream
}

// A Pulse is how flow and power under the exhaust's pulses compare with those of a steady stream at the time-mean inlet pressure and
// mass-mean inlet temperature, with which the expansion ratio and the temperature of an Inlet are meant then. The zero Pulse is a steady
// stream.
//
// The factors were found at one expansion ratio and are that there. At another they fade with the share that the pulses have in the
// pressure over the nozzle, so that a search does not carry the strong pulses of a little boost to a high one:
//
//	f = F^√(2 x0/(x0 + x)),  x = ER − 1
//
// from F^√2 without expansion to 1. The form is ours: it moves the way to a state in which the factors are those of the state, and not the
// state. While F is below 50 the power still rises with the expansion ratio.
type Pulse struct {
	Flow           float64 // mean flow over that at the time-mean pressure; 0 is 1
	Power          float64 // mean power over that at the time-mean pressure; 0 is 1
	ExpansionRatio float64 // at which the two were found; 0 or 1: they hold at any
}

// PulseWeight returns the exponent by which factors of pulses found at one expansion ratio go over into those at another.
func PulseWeight(found, at float64) float64 {
	return math.Sqrt(2 * (found - 1) / (found - 1 + math.Max(at-1, 0)))
}

// Factors returns the factors of flow and of power at an expansion ratio.
func (p Pulse) Factors(expansionRatio float64) (flow, power float64) {
	flow, power = p.Flow, p.Power
	if flow == 0 {
		flow = 1
	}
	if power == 0 {
		power = 1
	}
	if p.ExpansionRatio > 1 && (flow != 1 || power != 1) {
		weight := PulseWeight(p.ExpansionRatio, expansionRatio)
		flow, power = numeric.Exp(weight*numeric.Log(flow)), numeric.Exp(weight*numeric.Log(power))
	}
	return flow, power
}

// An Operation is one state of the turbine.
type Operation struct {
	ExpansionRatio  float64 // ER = p3/p4, total to static
	MassFlow        float64 // through all turbines, kg/s
	Efficiency      float64 // isentropic, total to static; that of the steady stream
	BladeSpeedRatio float64 // U/C0; 0 when no wheel is given
	SpecificWork    float64 // taken from each kilogram of gas, J/kg
	Power           float64 // that reaches the compressors, W; negative where the bearings take more than there is
	EfficiencyHeld  bool    // the blade speed ratio lies outside the efficiency table, whose end value was used
	Choked          bool    // the nozzle is choked
	Iterations      int     // of the search, 0 where there was none
}

// idealWork returns the isentropic work, J/kg. Expm1 keeps the small ones exact, which the search needs near ER = 1.
func idealWork(g Gas, temperature, expansionRatio float64) float64 {
	k := (g.Gamma - 1) / g.Gamma
	return -g.Cp * temperature * numeric.Expm1(-k*numeric.Log(expansionRatio))
}

// Swallow returns the mass flow through all turbines, kg/s, at expansion ratio ER.
//
//	m = f n A p3/√(R T3) ψ(p4/p3, γ),  p3 = ER p4
//
// f is the pulses' factor of flow, 1 in a steady stream. It rises with ER throughout, choked or not. An ER of 1 or less passes nothing.
// Source: de Saint-Venant and Wantzel, as in NACA Report 1135 (1953); a turbine as one nozzle: Watson and Janota (1982).
func (t *Turbine) Swallow(in Inlet, expansionRatio float64) float64 {
	if !(expansionRatio > 1) {
		return 0
	}
	p3 := expansionRatio * in.OutletPressure
	flow, _ := in.Pulse.Factors(expansionRatio)
	return flow * float64(t.Count) * t.EffectiveArea * p3 / math.Sqrt(in.Gas.GasConstant*in.Temperature) *
		gas.FlowFunction(1/expansionRatio, in.Gas.Gamma)
}

// Operate returns the turbine's state at expansion ratio ER.
//
//	P = ηm m w − n c N²,  w = (g/f) η cp T3 (1 − ER^(−(γ−1)/γ)),  U/C0 = (D N/2)/C0
//
// f and g are the pulses' factors of flow and of power, 1 in a steady stream. With an ER of 1 or less flow and work are 0, and the
// power is what the bearings take.
func (t *Turbine) Operate(in Inlet, expansionRatio float64) Operation {
	op := Operation{ExpansionRatio: math.Max(1, expansionRatio)}
	if !(expansionRatio > 1) {
		op.Efficiency, _ = t.Efficiency.At(math.Inf(1))
		op.Power = -t.bearings(&in)
		return op
	}
	ideal := idealWork(in.Gas, in.Temperature, expansionRatio)
	op.MassFlow = t.Swallow(in, expansionRatio)
	var held bool
	if t.Wheel > 0 {
		op.BladeSpeedRatio = t.Wheel / 2 * in.ShaftSpeed / math.Sqrt(2*ideal)
	}
	op.Efficiency, held = t.Efficiency.At(op.BladeSpeedRatio)
	op.EfficiencyHeld = held && t.Wheel > 0
	flow, power := in.Pulse.Factors(expansionRatio)
	op.SpecificWork = op.Efficiency * ideal * (power / flow)
	op.Power = t.MechanicalEfficiency*op.MassFlow*op.SpecificWork - t.bearings(&in)
	op.Choked = 1/expansionRatio <= gas.CriticalRatio(in.Gas.Gamma)
	return op
}
