package airpath

import (
	"errors"
	"math"

	"bellmouth/internal/cycle"
	"bellmouth/internal/exhaust"
	"bellmouth/internal/flame"
	"bellmouth/internal/fuel"
	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/injector"
	"bellmouth/internal/numeric"
	"bellmouth/internal/units"
)

// A regime is what one engine speed fixes before anything is solved, and the mixture at hand.
type regime struct {
	speed     float64 // rad/s
	cycles    float64 // working cycles of all cylinders, 1/s
	swept     float64 // volume swept by all cylinders, m³/s
	ve        float64 // volumetric efficiency, see Setup
	pistonUp  float64 // mean piston speed, m/s
	inletLoss float64 // pressure lost in the inlet valves over the charge's density, m²/s²
	liquid    float64 // enthalpy of the fuel at the injector, J/kg
	maxFuel   float64 // of one cylinder's cycle at the allowed duty, kg; +Inf without injectors

	lambda    float64
	charge    fuel.Charge
	fuelRatio float64 // kg fuel per kg moist air
	flame     flame.Mixture

	stated    angles // of the condition that the spec's angles are stated for
	base      bases
	exhaust   float64 // temperature at the turbine in that condition, K: starts the search for others
	tied      tie     // and its remainder
	held      Note    // of the speed
	mixtureIs Note    // of the mixture
}

// regimeAt returns the regime of a speed with full load's mixture. before is one of the same engine, or the zero regime: what it holds of the
// same speed or mixture is used again.
func (e *Engine) regimeAt(speed float64, before *regime) (regime, error) {
	if before.speed == speed {
		r := *before
		return r, e.mix(&r, math.Inf(1), 1)
	}
	r := regime{
		speed: speed, cycles: float64(e.Cylinders) / injector.CycleTime(speed), swept: geometry.SweptFlow(e.displaced, speed),
		pistonUp: e.Cylinder.MeanPistonSpeed(speed), liquid: e.Fuel.LiquidEnthalpy(e.FuelTemperature), maxFuel: math.Inf(1),
		lambda: before.lambda, charge: before.charge, fuelRatio: before.fuelRatio, flame: before.flame,
	}
	r.inletLoss = e.inletLoss * r.pistonUp * r.pistonUp
	var held bool
	if r.ve, held = e.VolumetricEfficiency.At(speed); held {
		r.held |= NoteFillingHeld
	}
	if err := e.mix(&r, math.Inf(1), 1); err != nil {
		return regime{}, err
	}
	if err := e.stateAngles(&r); err != nil {
		return regime{}, err
	}
	if e.Injection != nil {
		var err error
		if r.maxFuel, err = e.Injection.maxFuel(speed, e.Injection.RailPressure); err != nil {
			return regime{}, err
		}
	}
	return r, nil
}

// Lambda between which burning velocity and knock delay are known: flame's correlations and knock's share of the mixture end there.
const LowestLambda, HighestLambda = 0.7, 1.3

// mix gives the regime the mixture of a manifold pressure, Pa absolute, that is the share of full load's.
func (e *Engine) mix(r *regime, pm, share float64) error {
	lambda, held := e.Mixture.Lambda(r.speed, pm, share)
	r.mixtureIs = 0
	if held {
		r.mixtureIs |= NoteLambdaHeld
	}
	if !(lambda >= LowestLambda && lambda <= HighestLambda) {
		r.mixtureIs |= NoteLambdaFar
	}
	return e.setLambda(r, lambda)
}

// setLambda gives the regime a mixture.
func (e *Engine) setLambda(r *regime, lambda float64) error {
	if lambda == r.lambda {
		return nil
	}
	var err error
	if r.charge, err = e.Fuel.Charge(e.Venue, lambda); err != nil {
		return err
	}
	if r.flame, err = e.flame.At(1 / lambda); err != nil {
		return err
	}
	r.lambda, r.fuelRatio = lambda, e.dryShare/r.charge.AirFuelRatio
	return nil
}

// fillingFactor returns the share of the volumetric efficiency that is left when exhaust and manifold pressure differ: gas
// that stays in the clearance volume at exhaust pressure expands to manifold pressure and takes up room.
//
//	f = (rc − (p3/pm)^(1/γ)) / (rc − 1)
//
// Source: Heywood (1988), §6.2, and Eriksson and Nielsen, Modeling and Control of Engines and Drivelines (2014), ch. 7.
// Without valve overlap; scavenging, when the manifold's pressure is the higher one, is not counted.
func fillingFactor(rc, pressureRatio, gamma float64) float64 {
	return (rc - numeric.Exp(numeric.Log(pressureRatio)/gamma)) / (rc - 1)
}

// A remainder is the gas of one cycle that stays in the clearance volume for the next.
type remainder struct{ mass, temperature float64 } // kg, K

// A tie is how the gas that stays behind follows from the exhaust: its mass times its temperature over the pressure behind the valves, kg K/Pa, and
// its temperature above that of the exhaust at the turbine, K. Both hardly move while pressure and temperature of the exhaust are sought.
type tie struct{ share, above float64 }

func (t tie) remainder(p3, t3 float64) remainder {
	hot := t3 + t.above
	return remainder{t.share * p3 / hot, hot}
}

// A breath is the charge of one cylinder for one cycle.
type breath struct {
	air, fuel, residual float64 // kg
	residualBurned      float64 // burned mass fraction of the residual and of the exhaust
	initialBurned       float64 // of the trapped charge
	finalBurned         float64
	temperature         float64 // at inlet valve closing, K
	wallHeat            float64 // taken from ports, valves and walls before the inlet valve closes, J
	drawn               float64 // work of the charge on the piston down to bottom dead centre, J
	closing             float64 // work of the piston on the charge from there to inlet valve closing, J
	closes              float64 // pressure over the manifold's where the charge is shut in, see breathe
	coolingCut          bool    // less fuel evaporated from the charge's heat than stated, see coldestCharge
}

// coldestCharge is the temperature, K, below which evaporating fuel is not let cool the air. Fuel that finds no vapour pressure before the inlet
// valve closes evaporates as the compression warms it, for which it takes the same heat; so the charge may be reckoned colder than any in a port.
// But the gas's properties end at 200 K.
const coldestCharge = 220

// burnedLeft is the share of the Wiebe burn that is unfinished at exhaust valve opening.
func (e *Engine) burnedLeft(ca50, burnAngle float64) float64 {
	return 1 - cycle.BurnedAt(e.Valves.ExhaustOpeningAngle(), ca50, burnAngle)
}

// breathe returns what a cylinder traps: fresh charge of manifold temperature tm and the remainder of the cycle before. Its temperature follows
// from the first law over the time from top dead centre. The piston takes (pm − Δp) Vd on the way down, Δp being lost in the inlet valves
// (geometry.Valves.InletLoss). On the way up the charge stays at pm until the flow through the valves ends in fact, at the volume Vx, and is
// compressed from there:
//
//	m u(Tx) = ma ha(Tm) + mf hf(Tf) + Q + mr ur(Tr) − (pm − Δp) Vd + pm (Vb − Vx),  pm Vx = m R Tx
//	Q = ma cp ΔT + (1 − ε) mf L
//
// Vx lies between the volume at the inlet valve's closing, Vi, and that at bottom dead centre, Vb. The stated closing is that of the seat, later
// than where the flow ends: a charge that would have more than the manifold's pressure at Vi would flow back. Where not even Vb is enough, the
// charge has run itself into the cylinder above the manifold's pressure, and where Vi is too much it is shut in below: the ratio tells whether
// filling and closing angle fit each other. From Vx to Vi it is compressed without heat.
//
// ε is the share of the latent heat L taken from the charge; the rest comes from the walls, and so does the heating ΔT. The residual has the
// composition of the exhaust, which follows from the burned share at the cycle's end in closed form.
func (e *Engine) breathe(r *regime, flow, pm, tm float64, left remainder, ca50, burnAngle float64) (breath, error) {
	b := breath{air: flow / r.cycles, residual: left.mass}
	b.fuel = b.air * r.fuelRatio
	burn := e.Combustion.Efficiency * (1 - e.burnedLeft(ca50, burnAngle)) // share of the unburned gas that burns in a cycle
	fresh := b.air + b.fuel
	mass := fresh + b.residual
	// y = x0 + (1 − x0) burn with x0 = s y, s the residual's share of the mass.
	s := b.residual / mass
	b.residualBurned = burn / (1 - s + s*burn)
	b.initialBurned = s * b.residualBurned
	b.finalBurned = b.initialBurned + (1-b.initialBurned)*e.Combustion.Efficiency
	residual := gas.Mix(r.charge.Unburned, r.charge.Burned, b.residualBurned)

	capacity := b.air * e.air.Cp(tm)
	fromCharge := e.Heat.ChargeEvaporation * b.fuel * e.Fuel.LatentHeat
	if most := max(capacity*(tm+e.Heat.ChargeHeating-coldestCharge), 0); fromCharge > most {
		fromCharge, b.coolingCut = most, true
	}
	b.wallHeat = capacity*e.Heat.ChargeHeating + b.fuel*e.Fuel.LatentHeat - fromCharge
	vd := e.Cylinder.Displacement()
	lost := min(r.inletLoss*pm/(e.air.GasConstant()*tm), largestInletLoss*pm)
	b.drawn = (pm - lost) * vd
	energy := b.air*e.air.Enthalpy(tm) + b.fuel*r.liquid + b.wallHeat + b.residual*residual.InternalEnergy(left.temperature) - b.drawn
	trapped := gas.Mix(r.charge.Unburned, r.charge.Burned, b.initialBurned)
	gasConstant := trapped.GasConstant()

	// At constant pressure the energy less pm Vx is an enthalpy.
	t, err := chargeTemperature(&trapped, (energy+pm*e.bottom)/mass, 0, tm+60)
	if err != nil {
		return b, err
	}
	b.closes = 1
	v := mass * gasConstant * t / pm
	if within := min(max(v, e.closing), e.bottom); within != v {
		v = within
		if t, err = chargeTemperature(&trapped, (energy+pm*(e.bottom-v))/mass, 1, t); err != nil {
			return b, err
		}
		b.closes = mass * gasConstant * t / (v * pm)
	}
	b.temperature = t * numeric.Exp((trapped.Gamma(t)-1)*numeric.Log(v/e.closing))
	b.closing = pm*(e.bottom-v) + mass*(trapped.InternalEnergy(b.temperature)-trapped.InternalEnergy(t))
	return b, nil
}

// largestInletLoss is the share of the manifold's pressure that the inlet valves are taken to lose at most: more would choke them.
const largestInletLoss = 0.45

// chargeTemperature solves h(T) − k R T = energy for T, K: k is 0 for an enthalpy and 1 for an internal energy, J/kg.
func chargeTemperature(mix *gas.Mixture, energy, k, guess float64) (float64, error) {
	t, r := guess, mix.GasConstant()*k
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

var errClosing = errors.New("the charge at inlet closing is colder than " + units.Kelvin(200) + " or hotter than " + units.Kelvin(1500))

// A turnOver is the work and heat of one cylinder's cycle as a whole, J.
type turnOver struct {
	gross    float64 // indicated work of compression and expansion, from bottom to bottom dead centre
	pumping  float64 // work spent on gas exchange, from bottom to bottom dead centre
	cylinder float64 // heat to the cylinder's walls
	port     float64 // heat lost by the exhaust between valve and turbine
	fresh    float64 // heat gained by the fresh charge
	valve    float64 // mean temperature of the exhaust that leaves the cylinder, weighted by enthalpy, K
	t3       float64 // and at the turbine, K
	pipes    exhaust.Result
}

// exhaustAfter closes the energy balance of a cycle and returns the temperature the exhaust is left with. Its enthalpy is what is left of the
// energy that entered, and loses its heat to port and primary:
//
//	me h = ma ha(Tm) + mf hf(Tf) + Qfresh − W − Qcylinder,  me h3 = me h − Qport
func (e *Engine) exhaustAfter(r *regime, b *breath, res *cycle.Result, rel *cycle.Release, tm, guess float64) (turnOver, error) {
	t := turnOver{cylinder: res.Heat + rel.Heat, fresh: b.wallHeat}
	t.gross = res.Work + rel.Expansion - b.closing
	t.pumping = rel.PushOut - b.drawn
	mass := b.air + b.fuel
	h := (b.air*e.air.Enthalpy(tm) + b.fuel*r.liquid + t.fresh - t.gross + t.pumping - t.cylinder) / mass
	mix := gas.Mix(r.charge.Unburned, r.charge.Burned, b.residualBurned)
	var err error
	if t.valve, err = mix.TemperatureOf(h, guess); err != nil {
		return t, err
	}
	if e.Heat.PortLossGiven {
		t.port = e.Heat.PortLoss * (h - mix.Enthalpy(gas.ReferenceTemperature)) * mass
		t.t3, err = mix.TemperatureOf(h-t.port/mass, guess)
		return t, err
	}
	cp := mix.Cp(guess)
	perCylinder := r.cycles / float64(e.Cylinders)
	if t.pipes, err = e.Pipes.Heat(exhaust.Flow{
		MassFlow: mass * perCylinder, Temperature: t.valve, Cp: cp, Gamma: cp / (cp - mix.GasConstant()), Phi: 1 / r.lambda,
		Ambient: e.Venue.Temperature + underBonnet,
	}); err != nil {
		return t, err
	}
	t.port = t.pipes.Heat / r.cycles
	t.t3, err = mix.TemperatureOf(h-t.port/mass, guess)
	return t, err
}

// underBonnet is how much warmer the air round the exhaust manifold is than the venue's, K: common practice, no source. Next to the wall's
// temperature it hardly counts.
const underBonnet = 40
