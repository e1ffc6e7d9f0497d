package cooling

import (
	"errors"
	"fmt"

	"bellmouth/internal/cooler"
	"bellmouth/internal/numeric"
)

// A ChargeCooler is a charge cooler with the air that passes it. Its effectiveness is stated elsewhere, for one velocity of that air.
type ChargeCooler struct {
	FaceArea    float64 // that the outer air passes, m²
	Velocity    float64 // of the outer air before the face for which the effectiveness is stated, m/s
	AirShare    float64 // of the outer air's side in the resistance to heat there
	AirExponent float64 // of the outer air's heat transfer coefficient over its mass flow
	AirDensity  float64 // of the stated outer air, kg/m³
	Draught     Draught
}

// Validate returns an error when a figure is outside its range.
func (c *ChargeCooler) Validate() error {
	switch {
	case !positive(c.FaceArea):
		return fmt.Errorf("face area of the charge cooler is %v m²; want more than 0", c.FaceArea)
	case !positive(c.Velocity):
		return fmt.Errorf("air of the charge cooler is stated at %v m/s; want more than 0", c.Velocity)
	case !(c.AirShare > 0 && c.AirShare <= 1):
		return fmt.Errorf("share of the air's side is %v; want more than 0 and at most 1", c.AirShare)
	case !(c.AirExponent > 0 && c.AirExponent < 1):
		return fmt.Errorf("exponent of the air's side is %v; want more than 0 and less than 1", c.AirExponent)
	case !positive(c.AirDensity):
		return fmt.Errorf("air density is %v kg/m³; want more than 0", c.AirDensity)
	}
	return c.Draught.Validate()
}

// A Charge is what comes to a charge cooler.
type Charge struct {
	Capacity      float64 // capacity rate ṁ cp, W/K
	Temperature   float64 // T2, K
	Effectiveness float64 // stated for this flow: (T2 − T)/(T2 − Tc)
	Coolant       float64 // temperature of the outer air that comes to it Tc, K
}

// A Charged is what leaves it.
type Charged struct {
	Velocity      float64 // of the outer air before the face, m/s
	Effectiveness float64 // of the charge
	Temperature   float64 // of the charge, K
	Heat          float64 // that it gave to the outer air, W
}

// ErrTooLittleAir says that the stated air could not take the heat of the stated effectiveness.
var ErrTooLittleAir = errors.New("the air at the stated velocity could not take up the heat of cooler.effectiveness: " +
	"a larger face or a higher velocity is meant")

// At returns what leaves the cooler at a road speed, m/s, in air of a density, kg/m³. The exchanger's size follows from the effectiveness at the stated
// velocity of the outer air, as that of a Core; at another velocity the outer air's side and capacity rate change, the charge's side does not.
//
//	T = T2 − ε (T2 − Tc),  ε = G/(ṁ cp)
//
// ErrTooLittleAir is returned where no exchanger has the stated effectiveness with the stated air.
func (c *ChargeCooler) At(charge Charge, road, density float64) (Charged, error) {
	now := Charged{Velocity: c.Draught.Velocity(road, c.FaceArea)}
	if charge.Effectiveness > 0 {
		core, err := NewCore(Statement{
			FaceArea: c.FaceArea, Velocities: []float64{c.Velocity}, Heats: []float64{charge.Effectiveness * charge.Capacity},
			AirDensity: c.AirDensity, LiquidCapacity: charge.Capacity, AirShare: c.AirShare, AirExponent: c.AirExponent,
		})
		var beyond *StatedError
		if errors.As(err, &beyond) {
			return Charged{}, ErrTooLittleAir
		}
		if err != nil {
			return Charged{}, err
		}
		e := core.Exchange(Air{now.Velocity, density}, Liquid{Capacity: charge.Capacity, Flow: 1, Film: 1})
		now.Effectiveness = e.Heat / charge.Capacity
	}
	made := cooler.Cooler{Effectiveness: numeric.Constant(now.Effectiveness), CoolantTemperature: charge.Coolant}
	now.Temperature, _ = made.OutletTemperature(0, charge.Temperature)
	now.Heat = charge.Capacity * (charge.Temperature - now.Temperature)
	return now, nil
}

// An OilCooler is a cooler of the engine's oil in the air. Its oil flows as stated.
type OilCooler struct {
	Core     *Core
	Draught  Draught
	Capacity float64 // capacity rate of the oil, W/K
}

// Steady returns the temperature of the oil as it comes to the cooler, K, in which the cooler gives off a heat, W: T = Ta + Q/G; +Inf without air.
func (c *OilCooler) Steady(heat, road, air, density float64) float64 {
	if heat == 0 {
		return air
	}
	e := c.Core.Exchange(Air{c.Draught.Velocity(road, c.Core.faceArea), density}, Liquid{Capacity: c.Capacity, Flow: 1, Film: 1})
	return air + heat/e.Heat
}
