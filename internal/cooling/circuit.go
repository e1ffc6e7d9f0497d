package cooling

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// A Pump moves the coolant through the engine, thermostat open.
type Pump struct {
	Flow  float64 // as stated, m³/s
	Speed float64 // of the pump at that flow, rad/s; 0 for one that moves it at any engine speed
	Ratio float64 // turns of the pump for one of the engine
}

// At returns the flow at an engine speed, rad/s, m³/s: V = V0 n i/n0.
//
// Source: similarity of centrifugal pumps on a circuit whose loss goes with the square of the flow.
func (p Pump) At(speed float64) float64 {
	if p.Speed == 0 {
		return p.Flow
	}
	return p.Flow * speed * p.Ratio / p.Speed
}

// A Thermostat lets the coolant through the radiator.
type Thermostat struct {
	Opens float64 // from, K; 0 without a thermostat
	Full  float64 // open from, K
}

// Share returns the share of the coolant that goes through the radiator at a temperature, K: straight from 0 to 1 between both.
func (t Thermostat) Share(temperature float64) float64 {
	switch {
	case temperature >= t.Full:
		return 1
	case temperature <= t.Opens:
		return 0
	}
	return (temperature - t.Opens) / (t.Full - t.Opens)
}

// A Circuit is an engine's coolant with what cools it. Its temperature is that where it leaves the engine, its hottest.
type Circuit struct {
	Radiator   *Core
	Draught    Draught
	StatedFlow float64 // of the coolant through the radiator, m³/s, for which the core is stated
	StatedWith Coolant // what it was measured with
	Coolant    Coolant
	Pump       Pump
	Thermostat Thermostat
	Volume     float64 // of the coolant, filled cold, m³
	Stored     float64 // heat capacity of metal and oil that warm up with it, J/K
	Cap        float64 // pressure of the cap above the venue's, Pa
}

// Validate returns an error when a figure is outside its range.
func (c *Circuit) Validate() error {
	if err := errors.Join(c.Draught.Validate(), c.Coolant.Validate(), c.StatedWith.Validate()); err != nil {
		return err
	}
	t := c.Thermostat
	switch {
	case c.Radiator == nil:
		return errors.New("a circuit needs a radiator")
	case !positive(c.StatedFlow):
		return fmt.Errorf("stated flow of coolant is %v m³/s; want more than 0", c.StatedFlow)
	case !positive(c.Pump.Flow) || !notNegative(c.Pump.Speed) || c.Pump.Speed > 0 && !positive(c.Pump.Ratio):
		return fmt.Errorf("pump moves %v m³/s at %v rad/s with %v turns for one of the engine; want more than 0", c.Pump.Flow, c.Pump.Speed, c.Pump.Ratio)
	case t.Opens != 0 && !(t.Opens > 0 && t.Full > t.Opens):
		return fmt.Errorf("thermostat opens from %v to %v K; want a rising band", t.Opens, t.Full)
	case !positive(c.Volume):
		return fmt.Errorf("volume of the coolant is %v m³; want more than 0", c.Volume)
	case !notNegative(c.Stored):
		return fmt.Errorf("heat capacity of the metal is %v J/K; want 0 or more", c.Stored)
	case !notNegative(c.Cap):
		return fmt.Errorf("cap holds %v Pa; want 0 or more", c.Cap)
	}
	return nil
}

// HeatCapacity returns that of coolant, metal and oil, J/K.
func (c *Circuit) HeatCapacity() float64 {
	return c.Coolant.Fill(c.Volume)*c.Coolant.SpecificHeat() + c.Stored
}

// Boils returns the temperature at which the coolant boils under the cap, at a venue's pressure, Pa, K. What boils at hot walls before the bulk does is
// left out, and so is what the pump adds to the pressure.
func (c *Circuit) Boils(venue float64) (float64, error) { return c.Coolant.Boiling(venue + c.Cap) }

// A Condition is what a circuit is asked for.
type Condition struct {
	Heat        float64 // to the coolant Q, W
	EngineSpeed float64 // rad/s
	RoadSpeed   float64 // m/s
	Air         float64 // temperature of the venue's air, K
	Density     float64 // of it, kg/m³
	Before      float64 // heat that the radiator's air has taken up before it, W
	Hottest     float64 // temperature of what gave that heat, which the air cannot pass, K
}

// A State is a circuit at a condition.
type State struct {
	Temperature float64  // of the coolant as it leaves the engine, K; +Inf where nothing takes the heat
	Open        float64  // share of the coolant that goes through the radiator
	Flow        float64  // of the coolant through the engine, m³/s
	Rise        float64  // of the coolant in the engine, K
	Velocity    float64  // of the air before the radiator's face, m/s
	Inlet       float64  // temperature of that air, K
	Outlet      float64  // behind the radiator, K
	Exchange    Exchange // of the radiator
}

// A held is a circuit at a condition but for its temperature.
type held struct {
	*Circuit
	Condition
	velocity, inlet float64
	capacity        float64  // capacity rate of the coolant through the engine, W/K
	film            float64  // see Liquid
	open            Exchange // with the thermostat fully open
}

func (c *Circuit) at(on Condition) held {
	h := held{Circuit: c, Condition: on, velocity: c.Draught.Velocity(on.RoadSpeed, c.Radiator.faceArea), inlet: on.Air}
	if air := h.velocity * on.Density * c.Radiator.faceArea * airHeat; air > 0 && on.Before > 0 {
		h.inlet = math.Min(on.Air+on.Before/air, math.Max(on.Hottest, on.Air))
	}
	h.capacity = c.Pump.At(on.EngineSpeed) * c.Coolant.Density() * c.Coolant.SpecificHeat()
	h.film = c.Coolant.film() / c.StatedWith.film()
	h.open = h.exchange(1)
	return h
}

// exchange returns what the radiator does with a share of the coolant.
func (h *held) exchange(share float64) Exchange {
	return h.Radiator.Exchange(Air{h.velocity, h.Density}, Liquid{
		Capacity: share * h.capacity, Flow: share * h.Pump.At(h.EngineSpeed) / h.StatedFlow, Film: h.film,
	})
}

// given returns the heat that the radiator takes from the coolant at a temperature, W.
func (h *held) given(temperature float64) float64 {
	share := h.Thermostat.Share(temperature)
	if share == 1 {
		return h.open.Heat * (temperature - h.inlet)
	}
	return h.exchange(share).Heat * (temperature - h.inlet)
}

// Steady returns the state in which the radiator gives off what comes to the coolant.
//
//	G(T) (T − Ta) = Q,  G of the share of the coolant that the thermostat lets through at T
//
// Ta is the temperature of the air at the radiator, Before in it. T is that of the coolant as it leaves the engine and comes to the radiator. Without air
// it is infinite.
func (c *Circuit) Steady(on Condition) (State, error) {
	h := c.at(on)
	t, err := h.steady()
	if err != nil {
		return State{}, err
	}
	s := State{
		Temperature: t, Open: c.Thermostat.Share(t), Flow: c.Pump.At(on.EngineSpeed), Rise: on.Heat / h.capacity,
		Velocity: h.velocity, Inlet: h.inlet, Outlet: h.inlet,
	}
	s.Exchange = h.exchange(s.Open)
	if s.Exchange.Air > 0 {
		s.Outlet += on.Heat / s.Exchange.Air
	}
	return s, nil
}

func (h *held) steady() (float64, error) {
	if !(h.Heat >= 0) || !positive(h.capacity) || !positive(h.inlet) || !notNegative(h.velocity) {
		return 0, fmt.Errorf("heat %v W, flow %v W/K, air %v K and %v m/s: want all of them known, and none below 0", h.Heat, h.capacity, h.inlet, h.velocity)
	}
	if h.open.Heat == 0 {
		return math.Inf(1), nil
	}
	full := h.inlet + h.Heat/h.open.Heat
	if full >= h.Thermostat.Full {
		return full, nil
	}
	// In the thermostat's band: closed it passes nothing, full open more than there is. To 1e-6 K, far below any gauge.
	lo, hi := math.Max(h.Thermostat.Opens, h.inlet), math.Max(h.Thermostat.Full, h.inlet)
	root, err := numeric.FindRoot(func(t float64) float64 { return h.given(t) - h.Heat }, lo, hi, 1e-6)
	return root.X, err
}

// stepShare is the step of the integration over the time in which a fully open radiator takes the coolant to 1/e: it keeps the thermostat's band, which is
// steeper by the distance from the air over its width, to a millikelvin, the corners at its ends included.
const stepShare = 1.0 / 1000

// step returns the temperature a time later by one step of the classic Runge–Kutta formula.
//
//	C dT/dt = Q − G(T) (T − Ta)
func (h *held) step(t, dt, capacity float64) float64 {
	slope := func(t float64) float64 { return (h.Heat - h.given(t)) / capacity }
	k1 := slope(t)
	k2 := slope(t + dt/2*k1)
	k3 := slope(t + dt/2*k2)
	k4 := slope(t + dt*k3)
	return t + dt/6*(k1+2*k2+2*k3+k4)
}

// TimeConstant returns the time in which the coolant comes to 1/e of its distance from the steady temperature, thermostat open, s; +Inf without air.
func (c *Circuit) TimeConstant(on Condition) float64 {
	h := c.at(on)
	return c.HeatCapacity() / h.open.Heat
}

// After returns the temperature a time, s, after the coolant had one of from, K. Water, metal and oil are at one temperature: a lump.
func (c *Circuit) After(on Condition, from, time float64) (float64, error) {
	h := c.at(on)
	if _, err := h.steady(); err != nil {
		return 0, err
	}
	if !positive(from) || !notNegative(time) {
		return 0, fmt.Errorf("from %v K for %v s: want a temperature above 0 and a time of 0 or more", from, time)
	}
	capacity := c.HeatCapacity()
	constant := capacity / h.open.Heat
	time = math.Min(time, 40*constant) // after which nothing moves
	n := 1.0
	if h.open.Heat > 0 {
		n += math.Floor(time / (stepShare * constant))
	}
	for range int(n) {
		from = h.step(from, time/n, capacity)
	}
	return from, nil
}

// Lasts returns how long it takes from one temperature to another above it, K, s: 0 where it is passed already, +Inf where the coolant never gets there.
func (c *Circuit) Lasts(on Condition, from, limit float64) (float64, error) {
	h := c.at(on)
	steady, err := h.steady()
	switch {
	case err != nil:
		return 0, err
	case !positive(from) || !positive(limit):
		return 0, fmt.Errorf("from %v K to %v K: want temperatures above 0", from, limit)
	case from >= limit:
		return 0, nil
	case steady <= limit*(1+1e-9): // nearer to it than anything is known; it takes twenty time constants
		return math.Inf(1), nil
	}
	capacity := c.HeatCapacity()
	if h.open.Heat == 0 { // nothing takes the heat
		return capacity * (limit - from) / h.Heat, nil
	}
	dt := stepShare * capacity / h.open.Heat
	// What comes in alone takes at least this long, in which nothing is missed by larger steps.
	dt = math.Min(dt, math.Max(capacity*(limit-from)/h.Heat, dt/1e3))
	for time := 0.0; ; time += dt {
		next := h.step(from, dt, capacity)
		if next < limit {
			if !(next > from) {
				return math.Inf(1), nil // it has come to rest, by rounding
			}
			from = next
			continue
		}
		part, err := numeric.FindRoot(func(part float64) float64 { return h.step(from, part, capacity) - limit }, 0, dt, 1e-9*dt)
		return time + part.X, err
	}
}
