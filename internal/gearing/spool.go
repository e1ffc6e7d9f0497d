package gearing

import (
	"errors"
	"fmt"
	"math"
)

// A Rotor is the turbocharger at full load at one engine speed, one of several equal ones.
type Rotor struct {
	Speed         float64 // of the shaft Ω, rad/s
	Power         float64 // of the turbine, which compressor and bearings take P, W
	Spare         float64 // share of the exhaust that the wastegate leads past the turbine f
	PressureRatio float64 // of the compressor PR
	Gamma         float64 // of its air γ
	Indicated     float64 // mean pressure of the engine, gross IMEP, Pa
	Brake         float64 // mean pressure, BMEP, Pa
}

// Validate returns an error when a figure is outside its range.
func (r Rotor) Validate() error {
	switch {
	case !positive(r.Speed):
		return fmt.Errorf("shaft speed is %v rad/s; want more than 0", r.Speed)
	case !positive(r.Power):
		return fmt.Errorf("turbine power is %v W; want more than 0", r.Power)
	case !(r.Spare >= 0 && r.Spare < 1):
		return fmt.Errorf("share of the wastegate is %v; want 0 to less than 1", r.Spare)
	case !(r.PressureRatio >= 1):
		return fmt.Errorf("pressure ratio is %v; want 1 or more", r.PressureRatio)
	case !(r.Gamma > 1):
		return fmt.Errorf("ratio of heat capacities is %v; want more than 1", r.Gamma)
	case !positive(r.Indicated) || !positive(r.Brake) || r.Brake > r.Indicated:
		return fmt.Errorf("mean pressures are %v and %v Pa; want them above 0, the brake one the lower", r.Indicated, r.Brake)
	}
	return nil
}

// Coasted returns the shaft's speed after a time t without exhaust to drive it, rad/s.
//
//	I dΩ/dt = −P/Ω · (Ω/Ω0)²,  Ω = Ω0 exp(−P t/(I Ω0²))
//
// What the compressor takes falls with the square of the shaft's speed while the engine draws the same flow. The engine without fire draws about as much as
// before, by its falling manifold pressure somewhat less, and the cold air through the turbine drives it a little: the shaft keeps somewhat more than this.
//
// Source: angular momentum; work of a compressor after Euler.
func (r Rotor) Coasted(inertia, t float64) float64 {
	return r.Speed * math.Exp(-r.Power*t/(inertia*r.Speed*r.Speed))
}

// RatioAt returns the pressure ratio at another speed of the shaft, with the same flow.
//
//	PR'^k − 1 = (PR^k − 1) (Ω'/Ω)²,  k = (γ − 1)/γ
//
// Source: similarity of compressors, head with the square of the speed. Efficiency and flow coefficient are taken for the same.
func (r Rotor) RatioAt(speed float64) float64 {
	k := (r.Gamma - 1) / r.Gamma
	ratio := speed / r.Speed
	return math.Pow(1+(math.Pow(r.PressureRatio, k)-1)*ratio*ratio, 1/k)
}

// TorqueShare returns the engine's torque with a share of the manifold pressure, as a share of full load: friction and pumping stay.
//
//	T'/T = (IMEP p'/p − (IMEP − BMEP))/BMEP, 0 at the least
func (r Rotor) TorqueShare(pressure float64) float64 {
	return math.Max(0, (r.Indicated*pressure-(r.Indicated-r.Brake))/r.Brake)
}

// backAt is the share of the kinetic energy with which a shaft counts as back: 1 % of its speed is missing, as far as a gauge tells.
const backAt = 0.98

// Back returns the time in which the shaft comes back from a lower speed, s, with the wastegate closed.
//
//	dE/dt = P (1/(1 − f) − E/E0),  t = E0/P ln((1/(1 − f) − e)/(1/(1 − f) − 0.98)),  E0 = I Ω0²/2, e = (Ω/Ω0)²
//
// It counts as back with 98 % of the kinetic energy. The exhaust is that of full load: less boost gives less of it, so that it takes somewhat longer.
//
// Source: conservation of energy.
func (r Rotor) Back(inertia, speed float64) float64 {
	e := speed * speed / (r.Speed * r.Speed)
	if e >= backAt {
		return 0
	}
	most := 1 / (1 - r.Spare)
	return inertia * r.Speed * r.Speed / 2 / r.Power * math.Log((most-e)/(most-backAt))
}

// A Kept is what an upshift leaves of the boost.
type Kept struct {
	Before, After float64 // speed of the shaft at the cut and after it, rad/s
	Needed        float64 // that full load has in the next gear, rad/s
	Ratio         float64 // pressure ratio right after the shift
	Torque        float64 // as a share of full load in the next gear
	Recovery      float64 // s
}

// Keep returns what is left after a cut of t seconds between the full loads before and after a shift; the rotor has the inertia I, kg m².
//
// The throttle stays open and the ignition is cut. What the shaft has above what the next gear needs the wastegate takes.
func Keep(before, after Rotor, inertia, t float64) (Kept, error) {
	if err := errors.Join(before.Validate(), after.Validate()); err != nil {
		return Kept{}, err
	}
	if !positive(inertia) || !notNegative(t) {
		return Kept{}, fmt.Errorf("inertia of the rotor is %v kg m² and the cut takes %v s; want more than 0, and 0 or more", inertia, t)
	}
	k := Kept{Before: before.Speed, After: before.Coasted(inertia, t), Needed: after.Speed, Ratio: after.PressureRatio, Torque: 1}
	if k.After < after.Speed {
		k.Ratio = after.RatioAt(k.After)
		k.Torque = after.TorqueShare(k.Ratio / after.PressureRatio)
		k.Recovery = after.Back(inertia, k.After)
	}
	return k, nil
}

// Refill returns how long the compressors take to fill the manifold again after a closed throttle has let it fall to the venue's pressure, s.
//
//	t = V (p − pa)/(R T m)
//
// Source: conservation of mass, perfect gas. The pressure falls lower than the venue's where the throttle stays closed long enough; hoses and cooler before
// the throttle, which a blow-off valve empties, come on top.
func Refill(volume, pressure, venue, gasConstant, temperature, flow float64) float64 {
	return math.Max(0, volume*(pressure-venue)/(gasConstant*temperature*flow))
}
