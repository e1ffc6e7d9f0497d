package run

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/cooling"
	"bellmouth/internal/numeric"
	"bellmouth/internal/spec"
)

// A HeatFlow is where the fuel's energy goes at one speed, by what has to take it, W. With what air and fuel bring in,
//
//	Fuel + Sensible = Shaft + Coolant + Oil + Charge + Bonnet + Exhaust + Unburned
type HeatFlow struct {
	*boost.Outcome
	Err error // why there is none: the full load's

	Fuel, Sensible float64
	Shaft          float64
	Coolant        float64
	Oil            float64 // 0 without an oil cooler: the coolant has it
	Charge         float64 // of the charge in its cooler
	Bonnet         float64 // of the exhaust's primaries to the air round them
	Exhaust        float64 // at the tailpipe above 298.15 K
	Unburned       float64
}

// HeatFlows returns where the fuel's energy goes at the run's points: the terms of their balance, put together by what takes them.
//
// The coolant has the heat of cylinders and exhaust ports, the friction and what the bearings of the turbochargers take. With an oil cooler the oil has
// its share of the walls' heat and of the friction, and the turbochargers' bearings. Where the spec states the heat that is lost between exhaust valve and
// turbine, it does not tell the port's from the primary's, and the coolant has all of it.
func (r *Run) HeatFlows() []HeatFlow {
	flows := make([]HeatFlow, len(r.Outcomes))
	for i := range flows {
		h := &flows[i]
		h.Outcome = &r.Outcomes[i]
		if h.Err = h.Outcome.Err; h.Err == nil {
			h.Err = r.heatFlow(h)
		}
	}
	return flows
}

func (r *Run) heatFlow(h *HeatFlow) error {
	e := &h.Point.Energy
	port := e.Ports
	switch way, err := r.Engine.WayOut(&h.Point); {
	case errors.Is(err, airpath.ErrPortLoss):
	case err != nil:
		return err
	case way.Heat != 0:
		port *= way.Port.Heat / (way.Port.Heat + way.Primary.Heat)
	}
	h.Fuel, h.Sensible, h.Shaft, h.Charge = e.Fuel, e.Sensible, e.Brake, e.Cooler
	h.Exhaust, h.Unburned, h.Bonnet = e.Exhaust, e.Unburned, e.Ports-port
	h.Coolant = e.Coolant + port + e.Friction + e.Bearings
	if c := r.Trim.Cooling; c != nil && c.Oil != nil {
		h.Oil = c.Oil.WallShare*e.Coolant + c.Oil.FrictionShare*e.Friction + e.Bearings
		h.Coolant -= h.Oil
	}
	return nil
}

// A Cooling is what a trim's radiators do with the heat of a run's points.
type Cooling struct {
	*spec.Cooling
	Boils float64 // temperature at which the coolant boils under its cap, K

	run    *Run
	speeds []float64 // at which the heat is known, rad/s

	coolant, oil                       numeric.Curve // heat over engine speed, W
	flow, capacity, before, after, eps numeric.Curve // of the charge: ṁ, ṁ cp, temperatures of the cooler and its effectiveness
}

// ErrNoHeat says that a run has no point whose heat is known.
var ErrNoHeat = errors.New("no operating point tells the heat")

// Cooling returns what the radiators do with the heat of the run's points. The trim has to have cooling.
func (r *Run) Cooling() (*Cooling, error) {
	c := &Cooling{Cooling: r.Trim.Cooling, run: r}
	var err error
	if c.Boils, err = c.Circuit.Boils(r.Trim.Venue.Pressure); err != nil {
		return nil, fmt.Errorf("trim %q: %w", r.Trim.Name, err)
	}
	var figures [7][]float64
	for _, h := range r.HeatFlows() {
		if h.Err != nil {
			continue
		}
		c.speeds = append(c.speeds, h.Speed)
		p := &h.Point
		eps := 0.0
		if r.Trim.Cooler != nil {
			eps, _ = r.Trim.Cooler.Effectiveness.At(p.AirFlow)
		}
		capacity := p.AirFlow * usualAirHeat
		if fall := p.OutletTemperature - p.ManifoldTemperature; math.Abs(fall) > 1 {
			capacity = p.CoolerHeat / fall
		}
		for i, x := range [...]float64{h.Coolant, h.Oil, p.AirFlow, capacity, p.OutletTemperature, p.ManifoldTemperature, eps} {
			figures[i] = append(figures[i], x)
		}
	}
	if c.speeds == nil {
		return nil, ErrNoHeat
	}
	for i, to := range [...]*numeric.Curve{&c.coolant, &c.oil, &c.flow, &c.capacity, &c.before, &c.after, &c.eps} {
		if *to, err = numeric.NewCurve(c.speeds, figures[i]); err != nil {
			return nil, fmt.Errorf("trim %q: heat over engine speed: %w", r.Trim.Name, err)
		}
	}
	return c, nil
}

// usualAirHeat is the specific heat of air where the cooler passes next to no heat, J/(kg K), from which the point's own would follow.
const usualAirHeat = 1007

// Capped is the temperature that the coolant may reach: limits.coolant_temperature, or where it boils, K.
func (c *Cooling) Capped() float64 {
	if l := c.run.Trim.Limits.CoolantTemperature; l > 0 {
		return math.Min(l, c.Boils)
	}
	return c.Boils
}

// A Driven is a car at a speed on the road, with the heat of its engine.
type Driven struct {
	RoadSpeed   float64 // m/s
	EngineSpeed float64 // rad/s
	Gear        int     // from 1; 0 where no gear is known
	Slipping    bool    // the first gear would turn the engine slower: the clutch slips
	Load        float64 // heat over that of full load
}

// A Cooled is what comes of a Driven.
type Cooled struct {
	Driven
	Condition cooling.Condition
	Held      bool // the engine speed lies beyond those solved, whose end is taken
	cooling.State

	Solved    float64         // charge temperature that the points have, K; NaN without a charge cooler's outer air
	Charge    cooling.Charged // with the outer air of this road speed
	ChargeErr error           // why it is not known

	Oil     float64 // temperature of the oil as it comes to its cooler, K; NaN without an oil cooler, +Inf without air
	OilHeat float64 // W
}

// ErrNoChargeCooler says why the charge's temperature is not known by road speed.
var ErrNoChargeCooler = errors.New("cooling.charge_cooler is not given")

// At returns the steady state of coolant, charge and oil of a driven car. It takes the heat of full load at the engine speed times the share of load; of the
// charge cooler's heat too.
func (c *Cooling) At(d Driven) (Cooled, error) {
	out := Cooled{Driven: d, Oil: math.NaN(), Solved: math.NaN()}
	venue := &c.run.Trim.Venue
	heat, held := c.coolant.At(d.EngineSpeed)
	out.Held = held
	on := cooling.Condition{
		Heat: heat * d.Load, EngineSpeed: d.EngineSpeed, RoadSpeed: d.RoadSpeed, Air: venue.Temperature, Density: venue.Density(),
	}
	on.Heat = math.Max(0, on.Heat)
	out.ChargeErr = ErrNoChargeCooler
	if c.Charge != nil {
		charge := cooling.Charge{Coolant: c.run.Trim.Cooler.CoolantTemperature}
		charge.Capacity, _ = c.capacity.At(d.EngineSpeed)
		charge.Temperature, _ = c.before.At(d.EngineSpeed)
		charge.Effectiveness, _ = c.eps.At(d.EngineSpeed)
		out.Solved, _ = c.after.At(d.EngineSpeed)
		if out.Charge, out.ChargeErr = c.Charge.At(charge, d.RoadSpeed, on.Density); out.ChargeErr == nil {
			on.Before, on.Hottest = c.Ahead*d.Load*out.Charge.Heat, charge.Temperature
		} else { // the points' own, which errs hot
			on.Before, on.Hottest = c.Ahead*d.Load*charge.Capacity*(charge.Temperature-out.Solved), charge.Temperature
		}
	}
	if c.Oil != nil {
		oil, _ := c.oil.At(d.EngineSpeed)
		out.OilHeat = math.Max(0, oil*d.Load)
		out.Oil = c.Oil.Steady(out.OilHeat, d.RoadSpeed, on.Air, on.Density)
	}
	out.Condition = on
	var err error
	out.State, err = c.Circuit.Steady(on)
	return out, err
}

// Margin returns how far the coolant is from boiling, K; below 0 it boils.
func (c *Cooling) Margin(temperature float64) float64 { return c.Boils - temperature }

// ErrBeyondGears says that no gear reaches a road speed at the engine speeds solved.
var ErrBeyondGears = errors.New("faster than the gears go at the engine speeds solved")

// Driven returns how the car goes at a road speed: in the gear, of those that reach it at the engine speeds solved, whose full load gives the coolant most
// heat. Below them the clutch slips in first, at driveline.launch_speed or at the speed of most heat. Without car and gears the engine turns where it gives
// most heat. Load is 1.
func (c *Cooling) Driven(road float64) (Driven, error) {
	d := Driven{RoadSpeed: road, EngineSpeed: c.hottestSpeed(), Load: 1}
	ratios := c.run.Trim.Driveline.Ratios()
	car := c.run.Trim.Car
	if car == nil || ratios == nil {
		return d, nil
	}
	lo, hi := c.speeds[0], c.speeds[len(c.speeds)-1]
	most := math.Inf(-1)
	for i, ratio := range ratios {
		n := car.EngineSpeed(road, ratio)
		if !(n >= lo*(1-1e-9) && n <= hi*(1+1e-9)) {
			continue
		}
		if heat, _ := c.coolant.At(n); heat > most {
			most, d.EngineSpeed, d.Gear = heat, n, i+1
		}
	}
	switch {
	case d.Gear > 0:
	case car.EngineSpeed(road, ratios[0]) < lo:
		d.Gear, d.Slipping = 1, true
		if n := c.run.Trim.Driveline.LaunchSpeed; n > 0 {
			d.EngineSpeed = math.Min(math.Max(n, lo), hi)
		}
	default:
		return d, ErrBeyondGears
	}
	return d, nil
}

// hottestSpeed returns the engine speed, of those solved, whose full load gives the coolant most heat, rad/s.
func (c *Cooling) hottestSpeed() float64 {
	best, most := c.speeds[0], math.Inf(-1)
	for _, n := range c.speeds {
		if heat, _ := c.coolant.At(n); heat > most {
			best, most = n, heat
		}
	}
	return best
}

// Fastest returns the road speed of the top gear at the highest engine speed solved, m/s; ok is false without car and gears.
func (c *Cooling) Fastest() (road float64, ok bool) {
	ratios := c.run.Trim.Driveline.Ratios()
	if c.run.Trim.Car == nil || ratios == nil {
		return 0, false
	}
	return c.run.Trim.Car.RoadSpeed(c.speeds[len(c.speeds)-1], ratios[len(ratios)-1]), true
}

// Mean returns the steady state at cooling.load and cooling.road_speed. A speed that no gear reaches is taken at the engine speed of most heat.
func (c *Cooling) Mean() (Cooled, error) {
	d, _ := c.Driven(c.RoadSpeed)
	d.Load = c.Load
	return c.At(d)
}

// Warm returns the temperature of the coolant of a car that has been driven: the steady one of the mean of a stage or lap, or, where that is more than the
// coolant may reach, that at which the thermostat opens, K.
func (c *Cooling) Warm() (float64, error) {
	mean, err := c.Mean()
	if mean.Temperature < c.Capped() || c.Circuit.Thermostat.Opens == 0 {
		return math.Min(mean.Temperature, c.Capped()), err
	}
	return math.Min(c.Circuit.Thermostat.Opens, c.Capped()), err
}

// A Section is a section of the duty as it is driven.
type Section struct {
	Name string
	Time float64 // that it lasts, s
	Cooled
	From, To float64 // coolant temperature at its begin and end, K
	Lasts    float64 // from its begin until the coolant has the temperature of Capped, s; +Inf for ever
}

// Hottest returns the highest coolant temperature in the section, K.
func (s *Section) Hottest() float64 { return math.Max(s.From, s.To) }

// settled is a difference of temperature between two rounds that are alike, K: far below any gauge.
const settled = 1e-4

// Duty returns the sections of the duty one after the other, round by round; nil without one.
func (c *Cooling) Duty() ([][]Section, error) {
	if c.Cooling.Duty == nil {
		return nil, nil
	}
	steady := make([]Cooled, len(c.Cooling.Duty.Sections))
	for i := range steady {
		s := &c.Cooling.Duty.Sections[i]
		var err error
		if steady[i], err = c.At(Driven{RoadSpeed: s.RoadSpeed, EngineSpeed: s.EngineSpeed, Gear: s.Gear, Load: s.Load}); err != nil {
			return nil, err
		}
	}
	at := c.Cooling.Duty.Start
	rounds := make([][]Section, c.Cooling.Duty.Rounds)
	for k := range rounds {
		if k > 0 && math.Abs(at-rounds[k-1][0].From) < settled { // as the round before
			rounds[k] = rounds[k-1]
			continue
		}
		for i := range steady {
			of := &c.Cooling.Duty.Sections[i]
			s := Section{Name: of.Name, Time: of.Time, Cooled: steady[i], From: at}
			var err error
			if s.Lasts, err = c.Circuit.Lasts(s.Condition, at, c.Capped()); err != nil {
				return nil, err
			}
			if at, err = c.Circuit.After(s.Condition, at, s.Time); err != nil {
				return nil, err
			}
			s.To = at
			rounds[k] = append(rounds[k], s)
		}
	}
	return rounds, nil
}

// A Hottest is where the coolant is hottest.
type Hottest struct {
	Temperature float64  // K; +Inf where nothing takes the heat
	EngineSpeed float64  // rad/s
	Section     *Section // of the duty; nil for the mean of a stage or lap
	Round       int      // of the duty, from 1
}

// Hottest returns where the coolant is hottest: in a section of the duty, or in the mean of a stage or lap where there is none.
func (c *Cooling) Hottest() (Hottest, error) {
	rounds, err := c.Duty()
	if err != nil {
		return Hottest{}, err
	}
	if rounds == nil {
		mean, err := c.Mean()
		return Hottest{Temperature: mean.Temperature, EngineSpeed: mean.EngineSpeed}, err
	}
	h := Hottest{Temperature: math.Inf(-1)}
	for k := range rounds {
		for i := range rounds[k] {
			if s := &rounds[k][i]; s.Hottest() > h.Temperature {
				h = Hottest{s.Hottest(), s.EngineSpeed, s, k + 1}
			}
		}
	}
	return h, nil
}
