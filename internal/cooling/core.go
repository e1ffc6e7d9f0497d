// Package cooling computes what an engine's heat does to its coolant, its oil and its charge: what radiators give to the air that the road speed or a fan
// drives through them, the steady temperatures, and how long the heat capacity lasts where they are too high.
package cooling

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/cooler"
	"bellmouth/internal/numeric"
)

// airHeat is the specific heat of air cp, J/(kg K). Source: Incropera and DeWitt, table A.4, 1007 at 300 K and 1009 at 350 K; from memory. Humidity adds
// up to 2 %, which is left out.
const airHeat = 1007.0

// LiquidExponent is how the heat transfer coefficient of a turbulent liquid goes with its flow: Nu ∝ Re^0.8, Dittus and Boelter.
const LiquidExponent = 0.8

// A Statement is what is known of a core: the heat that it passes for each kelvin between the liquid and the air that come to it.
type Statement struct {
	FaceArea       float64   // m²
	Velocities     []float64 // of the air before the face, m/s, rising
	Heats          []float64 // at those, W/K
	AirDensity     float64   // of that air, kg/m³
	LiquidCapacity float64   // capacity rate of the liquid, W/K
	AirShare       float64   // of the air's side in the resistance to heat, at the last velocity
	AirExponent    float64   // m of the air's heat transfer coefficient over its mass flow
}

// A Core is an exchanger that air passes across the liquid.
type Core struct {
	faceArea    float64
	exponent    float64
	liquidSide  float64       // resistance of the liquid's side, wall included, as stated, K/W
	airSide     numeric.Curve // ln of the resistance of the air's side, K/W, over ln of the mass velocity, kg/(m² s)
	first, last float64       // mass velocities that are stated
}

// A StatedError reports the point of a statement that no exchanger has.
type StatedError struct {
	Index int // from 0
	Most  float64
	Air   bool // whether it is the air that takes up no more, rather than the liquid
}

func (e *StatedError) Error() string {
	what := "liquid gives"
	if e.Air {
		what = "air takes up"
	}
	return fmt.Sprintf("heat of point %d is more than the %s: want less than %.4g W/K", e.Index+1, what, e.Most)
}

// mostStated is the share of what air or liquid could take that a core may be stated to take: nearer to all of it nothing is known of its size.
const mostStated = 0.98

// NewCore returns the core of a statement. The resistance to heat of each point, 1/(U A), follows from the effectiveness G/Cmin by cooler.TransferUnits; at
// the last velocity the liquid's side and the wall have what the air's share leaves of it.
func NewCore(s Statement) (*Core, error) {
	switch {
	case len(s.Velocities) == 0 || len(s.Velocities) != len(s.Heats):
		return nil, errors.New("a core needs its heat at one velocity of the air at least")
	case !positive(s.FaceArea):
		return nil, fmt.Errorf("face area is %v m²; want more than 0", s.FaceArea)
	case !positive(s.AirDensity):
		return nil, fmt.Errorf("air density is %v kg/m³; want more than 0", s.AirDensity)
	case !positive(s.LiquidCapacity):
		return nil, fmt.Errorf("capacity rate of the liquid is %v W/K; want more than 0", s.LiquidCapacity)
	case !(s.AirShare > 0 && s.AirShare <= 1):
		return nil, fmt.Errorf("share of the air's side is %v; want more than 0 and at most 1", s.AirShare)
	case !(s.AirExponent > 0 && s.AirExponent < 1):
		return nil, fmt.Errorf("exponent of the air's side is %v; want more than 0 and less than 1", s.AirExponent)
	}
	total, over := make([]float64, len(s.Heats)), make([]float64, len(s.Heats))
	for i, heat := range s.Heats {
		if !positive(s.Velocities[i]) || !positive(heat) || i > 0 && !(heat > s.Heats[i-1]) {
			return nil, fmt.Errorf("point %d of the heat is %v W/K at %v m/s; want both to rise from above 0", i+1, heat, s.Velocities[i])
		}
		flux := s.Velocities[i] * s.AirDensity
		air := flux * s.FaceArea * airHeat
		lesser, greater := math.Min(air, s.LiquidCapacity), math.Max(air, s.LiquidCapacity)
		ratio := lesser / greater
		most, err := cooler.Crossflow(cooler.MostTransferUnits, ratio)
		if err != nil {
			return nil, err
		}
		if most = math.Min(most, mostStated); !(heat <= most*lesser) {
			return nil, &StatedError{Index: i, Most: most * lesser, Air: air < s.LiquidCapacity}
		}
		ntu, err := cooler.TransferUnits(heat/lesser, ratio)
		if err != nil {
			return nil, err
		}
		over[i], total[i] = math.Log(flux), 1/(ntu*lesser)
	}
	c := &Core{faceArea: s.FaceArea, exponent: s.AirExponent, first: math.Exp(over[0]), last: math.Exp(over[len(over)-1])}
	c.liquidSide = (1 - s.AirShare) * total[len(total)-1]
	for i := range total {
		if !(total[i] > c.liquidSide) {
			return nil, fmt.Errorf("point %d of the heat leaves nothing for the air's side; want a greater share of that", i+1)
		}
		total[i] = math.Log(total[i] - c.liquidSide)
	}
	var err error
	c.airSide, err = numeric.NewCurve(over, total)
	return c, err
}

// Air is what comes to a core's face.
type Air struct {
	Velocity float64 // m/s
	Density  float64 // kg/m³
}

// A Liquid is what flows through a core.
type Liquid struct {
	Capacity float64 // capacity rate, W/K
	Flow     float64 // over the stated flow
	Film     float64 // heat transfer coefficient over that of the stated liquid at the same flow
}

// An Exchange is what a core does.
type Exchange struct {
	Heat     float64 // for each kelvin between the liquid and the air that come to it G = ε Cmin, W/K
	Air      float64 // capacity rate of the air, W/K
	Transfer float64 // U A, W/K
	Scaled   bool    // the air is slower or faster than at any stated point
}

// Exchange returns what the core does with an air and a liquid.
//
//	1/(U A) = Ra + Rl,  Ra ∝ (ρ v)^−m beyond the stated points, straight in their logarithms between,  Rl = Rl0 (V/V0)^−0.8/film
//	G = ε Cmin,  ε by cooler.Crossflow of U A/Cmin and Cmin/Cmax
//
// Source: resistances in series; Kays and London, Compact Heat Exchangers, for the air's side, whose exponent the statement has; Dittus and Boelter for
// the liquid's. The wall, which is little, scales with the liquid. Without air or liquid there is no exchange.
func (c *Core) Exchange(air Air, by Liquid) Exchange {
	flux := air.Velocity * air.Density
	e := Exchange{Air: flux * c.faceArea * airHeat, Scaled: flux < c.first*(1-1e-9) || flux > c.last*(1+1e-9)}
	if !(e.Air > 0 && by.Capacity > 0) {
		return e
	}
	resistance, _ := c.airSide.At(math.Log(flux))
	resistance = math.Exp(resistance)
	if near := math.Min(math.Max(flux, c.first), c.last); near != flux {
		resistance *= math.Pow(flux/near, -c.exponent)
	}
	if c.liquidSide > 0 {
		resistance += c.liquidSide * math.Pow(by.Flow, -LiquidExponent) / by.Film
	}
	e.Transfer = 1 / resistance
	lesser, greater := math.Min(e.Air, by.Capacity), math.Max(e.Air, by.Capacity)
	effectiveness, err := cooler.Crossflow(math.Min(e.Transfer/lesser, cooler.MostTransferUnits), lesser/greater)
	if err != nil {
		return Exchange{Heat: math.NaN()}
	}
	e.Heat = effectiveness * lesser
	return e
}

// A Draught is what drives air through a core.
type Draught struct {
	Ram float64 // velocity before the face over the road speed
	Fan float64 // volume flow of the fan with the car at rest, m³/s; 0 without one
}

// Velocity returns the velocity of the air before a face of an area, m², at a road speed, m/s: that of the fan or of the road speed, whichever is more.
//
// The sum of their squares' root would be theirs if the fan kept its pressure at any flow. It does not: past the flow that it has by itself a fan helps
// little. The larger of both errs hot.
func (d Draught) Velocity(road, area float64) float64 { return math.Max(d.Ram*road, d.Fan/area) }

// Validate returns an error when a figure is outside its range.
func (d Draught) Validate() error {
	switch {
	case !(d.Ram >= 0 && d.Ram <= 1):
		return fmt.Errorf("ram is %v of the road speed; want 0 to 1", d.Ram)
	case !notNegative(d.Fan):
		return fmt.Errorf("fan moves %v m³/s; want 0 or more", d.Fan)
	}
	return nil
}

func positive(x float64) bool    { return x > 0 && !math.IsInf(x, 1) }
func notNegative(x float64) bool { return x >= 0 && !math.IsInf(x, 1) }
