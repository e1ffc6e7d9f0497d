package airpath

import (
	"errors"
	"math"

	"bellmouth/internal/cycle"
	"bellmouth/internal/fuel"
	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/injector"
)

// A regime is what one engine speed fixes before anything is solved.
type regime struct {
	speed     float64 // rad/s
	cycles    float64 // working cycles of all cylinders, 1/s
	swept     float64 // volume swept by all cylinders, m³/s
	ve        float64 // volumetric efficiency at equal manifold and exhaust pressure
	lambda    float64
	charge    fuel.Charge
	fuelRatio float64 // kg fuel per kg moist air
	burnAngle float64 // rad
	delay     float64 // from the spark to the start of burning, rad
	pistonUp  float64 // mean piston speed, m/s
	liquid    float64 // enthalpy of the fuel at the injector, J/kg
	maxFuel   float64 // of one cylinder's cycle at the allowed duty, kg; +Inf without injectors
	held      Note
}

// regimeAt returns the regime of a speed. before is one of the same engine, or the zero regime: its charge is used again when
// the mixture strength is the same.
func (e *Engine) regimeAt(speed float64, before *regime) (regime, error) {
	r := regime{
		speed: speed, cycles: float64(e.Cylinders) / injector.CycleTime(speed), swept: geometry.SweptFlow(e.displaced, speed),
		pistonUp: e.Cylinder.MeanPistonSpeed(speed),
	}
	var held bool
	if r.ve, held = e.VolumetricEfficiency.At(speed); held {
		r.held |= NoteFillingHeld
	}
	if r.lambda, held = e.Lambda.At(speed); held {
		r.held |= NoteLambdaHeld
	}
	if e.Combustion.BurnAngle.IsZero() {
		if r.burnAngle, held = cycle.DefaultBurnAngle(speed); held {
			r.held |= NoteBurnHeld
		}
	} else if r.burnAngle, held = e.Combustion.BurnAngle.At(speed); held {
		r.held |= NoteBurnHeld
	}
	if !e.Combustion.IgnitionDelay.IsZero() {
		if r.delay, held = e.Combustion.IgnitionDelay.At(speed); held {
			r.held |= NoteDelayHeld
		}
	}
	if r.lambda < 0.65 || r.lambda > 1.3 {
		r.held |= NoteLambdaFar
	}
	var err error
	if before.lambda == r.lambda {
		r.charge = before.charge
	} else if r.charge, err = e.Fuel.Charge(e.Venue, r.lambda); err != nil {
		return regime{}, err
	}
	r.fuelRatio = e.dryShare / r.charge.AirFuelRatio
	r.liquid = e.Fuel.LiquidEnthalpy(e.FuelTemperature)
	r.maxFuel = math.Inf(1)
	if e.Injection != nil {
		r.maxFuel, err = e.Injection.maxFuel(speed, e.Injection.RailPressure)
	}
	return r, err
}

// fillingFactor returns the share of the volumetric efficiency that is left when exhaust and manifold pressure differ: gas
// that stays in the clearance volume at exhaust pressure expands to manifold pressure and takes up room.
//
//	f = (rc − (p3/pm)^(1/γ)) / (rc − 1)
//
// Source: Heywood (1988), §6.2, and Eriksson and Nielsen, Modeling and Control of Engines and Drivelines (2014), ch. 7.
// Without valve overlap; scavenging, when the manifold's pressure is the higher one, is not counted.
func fillingFactor(rc, pressureRatio, gamma float64) float64 {
	return (rc - math.Exp(math.Log(pressureRatio)/gamma)) / (rc - 1)
}

// A breath is the charge of one cylinder for one cycle.
type breath struct {
	air, fuel, residual float64 // kg
	residualBurned      float64 // burned mass fraction of the residual and of the exhaust
	residualEnergy      float64 // internal energy of the residual at the end of the exhaust stroke, J
	initialBurned       float64 // of the trapped charge
	finalBurned         float64
	temperature         float64 // at inlet valve closing, K
	wallHeat            float64 // taken from ports, valves and walls before the inlet valve closes, J
	coolingCut          bool    // less fuel evaporated from the charge's heat than stated, see coldestCharge
}

// coldestCharge is the temperature, K, below which evaporating fuel does not cool the air: there the vapour pressure of the
// alcohols, a few kPa, is too small for a rich charge, and what has not evaporated does so on warm walls. Common practice,
// no source; it matters only for alcohols.
const coldestCharge = 273.15

// burnedLeft is the share of the Wiebe burn that is unfinished at exhaust valve opening.
func (e *Engine) burnedLeft(r *regime, ca50 float64) float64 {
	return 1 - cycle.BurnedAt(e.Valves.ExhaustOpeningAngle(), ca50, r.burnAngle)
}

// breathe returns what a cylinder traps: fresh charge of manifold temperature tm and residual gas of exhaust pressure p3 from the
// clearance volume. The temperature at inlet closing follows from the first law over the time from the end of the exhaust stroke:
// the piston takes pm Vd on the way down, and gives back the work of the rise from pm to the pressure p at inlet closing.
//
//	m u(T) = ma ha(Tm) + mf hf(Tf) + Q + mr ur(Tr) − pm Vd + (pm + p)/2 (Vb − Vi),  p = m R T/Vi
//	Q = ma cp ΔT + (1 − ε) mf L,  mr = p3 Vc / (R Tr)
//
// ε is the share of the latent heat L taken from the charge; the rest comes from the walls, and so does the heating ΔT. Tr is the
// exhaust's temperature before it loses heat in the port. The residual has the composition of the exhaust, which follows from the
// burned share at the cycle's end in closed form.
func (e *Engine) breathe(r *regime, flow, pm, p3, t3, tm, ca50 float64) (breath, error) {
	b := breath{air: flow / r.cycles}
	b.fuel = b.air * r.fuelRatio
	burn := e.Combustion.Efficiency * (1 - e.burnedLeft(r, ca50)) // share of the unburned gas that burns in a cycle
	fresh := b.air + b.fuel
	// y = x0 + (1 − x0) burn with x0 = s y, s the residual's share of the mass, which itself depends on y through R alone.
	b.residualBurned = burn
	hot, hotter := 0.0, t3
	var err error
	for range 3 {
		exhaust := gas.Mix(r.charge.Unburned, r.charge.Burned, b.residualBurned)
		// The port takes its share of the enthalpy above 25 °C.
		cold := exhaust.Enthalpy(gas.ReferenceTemperature)
		hot = cold + (exhaust.Enthalpy(t3)-cold)/(1-e.Heat.PortLoss)
		if hotter, err = exhaust.TemperatureOf(hot, hotter); err != nil {
			return b, err
		}
		b.residual = p3 * e.Cylinder.ClearanceVolume() / (exhaust.GasConstant() * hotter)
		s := b.residual / (fresh + b.residual)
		b.residualBurned = burn / (1 - s + s*burn)
		b.initialBurned = s * b.residualBurned
	}
	b.finalBurned = b.initialBurned + (1-b.initialBurned)*e.Combustion.Efficiency
	warmed := tm + e.Heat.ChargeHeating
	capacity := b.air * e.air.Cp(tm)
	fromCharge := e.Heat.ChargeEvaporation * b.fuel * e.Fuel.LatentHeat
	if most := max(capacity*(warmed-coldestCharge), 0); fromCharge > most {
		fromCharge, b.coolingCut = most, true
	}
	b.wallHeat = capacity*e.Heat.ChargeHeating + b.fuel*e.Fuel.LatentHeat - fromCharge
	b.residualEnergy = b.residual*hot - p3*e.Cylinder.ClearanceVolume()
	energy := b.air*e.air.Enthalpy(tm) + b.fuel*r.liquid + b.wallHeat + b.residualEnergy -
		pm*e.Cylinder.Displacement() + pm*(e.bottom-e.closing)/2
	trapped := gas.Mix(r.charge.Unburned, r.charge.Burned, b.initialBurned)
	b.temperature, err = closingTemperature(&trapped, energy/(fresh+b.residual), (e.bottom-e.closing)/(2*e.closing), tm+60)
	return b, err
}

// closingTemperature solves u(T) − g R T = energy for T, K: the internal energy, J/kg, less the part of it that the piston gave on
// the way to inlet closing.
func closingTemperature(mix *gas.Mixture, energy, g, guess float64) (float64, error) {
	t, r := guess, mix.GasConstant()*(1+g)
	for range 30 {
		cp, h := mix.CpEnthalpy(t)
		d := (energy - h + r*t) / (cp - r)
		t += d
		if !(t > gas.LowestTemperature && t < 1500) {
			break
		}
		if math.Abs(d) < 1e-9*t {
			return t, nil
		}
	}
	return t, errClosing
}

var errClosing = errors.New("the charge at inlet closing is colder than 200 K or hotter than 1500 K")

// A turnOver is the work and heat of one cylinder's cycle as a whole, J.
type turnOver struct {
	gross    float64 // indicated work of compression and expansion, from bottom to bottom dead centre
	pumping  float64 // work spent on gas exchange, positive when the exhaust pressure is the higher one
	cylinder float64 // heat to the cylinder's walls
	port     float64 // heat lost by the exhaust between valve and turbine
	fresh    float64 // heat gained by the fresh charge
	t3       float64 // mean temperature of the exhaust at the turbine, weighted by enthalpy, K
}

// exhaustAfter closes the energy balance of a cycle and returns the temperature the exhaust is left with.
//
// Between the valve events the work is the cycle's. From exhaust opening to bottom dead centre pressure falls in a straight
// line over volume to p3, and from bottom dead centre to inlet closing it rises so from pm: the blowdown and the filling of a
// real engine, simplified. The exhaust's enthalpy is what is left of the energy that entered:
//
//	me h3 = ma ha(Tm) + mf hf(Tf) + Qfresh − W − Qcylinder − Qport
func (e *Engine) exhaustAfter(r *regime, b *breath, res *cycle.Result, pm, p3, tm, guess float64) (turnOver, error) {
	t := turnOver{cylinder: res.Heat, fresh: b.wallHeat}
	t.gross = res.Work + (res.PressureEnd+p3)/2*(e.bottom-e.opening) - (res.PressureStart+pm)/2*(e.bottom-e.closing)
	t.pumping = (p3 - pm) * e.Cylinder.Displacement()
	mass := b.air + b.fuel
	h := (b.air*e.air.Enthalpy(tm) + b.fuel*r.liquid + t.fresh - t.gross + t.pumping - t.cylinder) / mass
	exhaust := gas.Mix(r.charge.Unburned, r.charge.Burned, b.residualBurned)
	loss := e.Heat.PortLoss * (h - exhaust.Enthalpy(gas.ReferenceTemperature))
	t.port = loss * mass
	var err error
	t.t3, err = exhaust.TemperatureOf(h-loss, guess)
	return t, err
}
