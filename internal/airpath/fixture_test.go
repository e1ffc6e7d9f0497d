package airpath

import (
	"flag"
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"bellmouth/internal/compressor"
	"bellmouth/internal/cooler"
	"bellmouth/internal/exhaust"
	"bellmouth/internal/friction"
	"bellmouth/internal/fuel"
	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/injector"
	"bellmouth/internal/numeric"
	"bellmouth/internal/restrictor"
	"bellmouth/internal/turbine"
)

const (
	rpm = math.Pi / 30
	deg = math.Pi / 180
)

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

var soak = flag.Bool("soak", false, "draw all the random engines")

// drawn returns how many random engines a test takes: all of them with -soak, otherwise the first three in ten.
func drawn(all int) int {
	if *soak {
		return all
	}
	return all * 3 / 10
}

// inventedMaps are those made so far, by their arguments: a map does not change, and takes longer to make than a point to solve.
var inventedMaps sync.Map

// inventedMap is a compressor map of round shapes: choke flow at the top line in kg/s, head coefficient and width by a
// stretch of the surge line. It stands for no compressor.
func inventedMap(chokeFlow, topRatio, surge float64) *compressor.Map {
	key := [3]float64{chokeFlow, topRatio, surge}
	if known, ok := inventedMaps.Load(key); ok {
		return known.(*compressor.Map)
	}
	var lines []compressor.Line
	top := 150000 * rpm
	head := math.Pow(topRatio, 1/3.5) - 1
	for _, n := range []float64{0.4, 0.55, 0.7, 0.82, 0.92, 1} {
		line := compressor.Line{Speed: n * top}
		high := math.Pow(1+head*n*n, 3.5)
		choke := chokeFlow * n * (0.75 + 0.25*n)
		low := choke * surge * (0.56 + 0.44*n)
		for k := range 9 {
			flow := low + (choke-low)*math.Sin(float64(k)/8*math.Pi/2)
			x := (flow - low) / (choke - low)
			line.Points = append(line.Points, compressor.Point{
				Flow: flow, PressureRatio: 1 + (high-1)*(1-0.02*x-0.38*math.Pow(x, 5)),
				Efficiency: 0.79 - 0.35*math.Pow(x-0.45, 2) - 0.25*math.Pow(n-0.75, 2) - 0.12*math.Pow(x, 8),
			})
		}
		lines = append(lines, line)
	}
	m := must(compressor.NewMap(compressor.Reference{Temperature: 298.15, Pressure: 1e5}, lines))
	inventedMaps.Store(key, m)
	return m
}

// invented returns an invented five-cylinder engine behind a restrictor.
func invented() Setup {
	ve := must(numeric.NewCurve(
		[]float64{1500 * rpm, 3000 * rpm, 4500 * rpm, 6000 * rpm, 7000 * rpm, 7800 * rpm},
		[]float64{0.78, 0.9, 0.99, 1.02, 0.99, 0.94}))
	f := must(fuel.Named("ron102"))
	set := func(ccm float64) injector.Set {
		return injector.Set{PerCylinder: 1, Injector: injector.Injector{
			RatedFlow: ccm * 1e-6 / 60, TestPressure: 3e5, TestDensity: 765, DeadTime: numeric.Constant(1.1e-3), ShortestPulse: 1.5e-3,
		}}
	}
	return Setup{
		Venue:     gas.Air{Pressure: 101325, Temperature: 293.15, RelativeHumidity: 0.5},
		Cylinder:  geometry.Cylinder{Bore: 0.084, Stroke: 0.082, Rod: 0.144, CompressionRatio: 8.6},
		Cylinders: 5,
		Valves: geometry.Valves{
			InletCount: 2, InletDiameter: 0.034, InletLift: 0.0102, InletCloses: 58 * deg,
			ExhaustCount: 2, ExhaustDiameter: 0.03, ExhaustLift: 0.0096, ExhaustOpens: 60 * deg,
			InletOpens: 15 * deg, ExhaustCloses: 20 * deg,
		},
		VolumetricEfficiency: ve,
		Combustion:           Combustion{BestCA50: 8 * deg, LatestCA50: 28 * deg, Efficiency: 0.97, KnockLimit: 1, StatedPressure: 1e5, StatedLambda: 0.9},
		Heat:                 Heat{Factor: 1, WallTemperature: 460, ChargeHeating: 8, ChargeEvaporation: 0.6},
		Friction: friction.Choice{Factor: 1, Components: &friction.Components{
			MainBearings: friction.Bearings{Diameter: 0.054, Length: 0.020, Count: 6},
			CrankPins:    friction.Bearings{Diameter: 0.047, Length: 0.018, Count: 5},
			ValveTrain:   friction.DOHCDirect, CamBearings: 12, Auxiliaries: 1, OilViscosity: 1,
		}},
		Fuel: f, FuelTemperature: 303, Mixture: rich(0.85),
		Pipes:       pipes(5, 0.084, 0.03),
		FilterLoss:  lossThrough(0.2, 700, 293, 97000),
		ExhaustLoss: lossThrough(0.25, 14000, 1100, 1.1e5),
		Restrictor:  &restrictor.Restrictor{Bore: 0.038, Discharge: 0.97, Recovery: 0.8},
		Compressor:  &Compressor{Map: inventedMap(0.46, 3.67, 0.5), Count: 1, SpeedLimit: 150000 * rpm},
		Turbine:     &turbine.Turbine{EffectiveArea: 11e-4, Efficiency: numeric.Constant(0.7), MechanicalEfficiency: 0.97, Count: 1},
		Wastegate:   &turbine.Wastegate{Bore: 0.038, Lift: 0.009, Discharge: 0.72, Count: 1},
		Cooler: &cooler.Cooler{
			Effectiveness: numeric.Constant(0.78), CoolantTemperature: 293.15, LossCoefficient: lossThrough(0.25, 9000, 400, 2e5),
		},
		Injection: &Injection{
			Staging:      injector.Staging{Primary: set(650), Secondary: set(850), StartDuty: 0.65, Blend: 0.2},
			RailPressure: 4e5, SupplyVoltage: 13.5, FuelDensity: must(f.DensityAt(303)), AllowedDuty: 0.95,
		},
	}
}

// rich returns a mixture that is the same everywhere.
func rich(lambda float64) Mixture { return Mixture{FullLoad: numeric.Constant(lambda)} }

// pipes returns the default way out of a turbocharged engine with two exhaust valves a cylinder.
func pipes(cylinders int, bore, valve float64) exhaust.System {
	return must(exhaust.Default(exhaust.Geometry{
		Cylinders: cylinders, Bore: bore, ExhaustCount: 2, ExhaustDiameter: valve, Turbocharged: true,
	}))
}

// lossThrough returns k of Δp = k m² T/p through one measured point.
func lossThrough(flow, loss, temperature, pressure float64) float64 {
	return loss * pressure / (flow * flow * temperature)
}

// usualFriction returns the component model of a setup's engine with the parts such an engine usually has.
func usualFriction(s Setup) friction.Choice {
	e := friction.Engine{Cylinder: s.Cylinder, Cylinders: s.Cylinders, Valves: s.Valves}
	train := friction.UsualValveTrain(e.Valves)
	c := friction.Components{
		MainBearings: friction.UsualMainBearings(e), CrankPins: friction.UsualCrankPins(e), ValveTrain: train,
		CamBearings: friction.UsualCamBearings(e, train), Auxiliaries: 1, OilViscosity: 1,
	}
	return friction.Choice{Components: &c, Factor: 1}
}

// unrestricted returns the invented engine without its restrictor.
func unrestricted() Setup {
	s := invented()
	s.Restrictor = nil
	return s
}

// aspirated returns an invented naturally aspirated four behind a restrictor.
func aspirated() Setup {
	s := invented()
	s.Cylinders = 4
	s.Friction = usualFriction(s)
	s.Cylinder.CompressionRatio = 12
	s.Compressor, s.Turbine, s.Wastegate, s.Cooler, s.Injection = nil, nil, nil, nil, nil
	s.Restrictor = &restrictor.Restrictor{Bore: 0.024, Discharge: 0.97, Recovery: 0.8}
	return s
}

// twin returns the invented engine with two turbochargers of half the size.
func twin() Setup {
	s := invented()
	s.Compressor = &Compressor{Map: inventedMap(0.23, 3.67, 0.5), Count: 2, SpeedLimit: 150000 * rpm}
	t := *s.Turbine
	t.EffectiveArea, t.Count = t.EffectiveArea/2, 2
	s.Turbine = &t
	return s
}

// twinThroats returns the twin with a throat for each turbocharger in place of the one throat of twice the area.
func twinThroats() Setup {
	s := twin()
	r := *s.Restrictor
	r.Bore, r.Count = r.Bore/math.Sqrt2, 2
	s.Restrictor = &r
	return s
}

// random returns a valid engine drawn at random: any size, any tune, parts that need not suit each other.
func random(r *rand.Rand) Setup {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	s := invented()
	s.Venue = gas.Air{Pressure: between(70e3, 104e3), Temperature: between(268, 313), RelativeHumidity: between(0, 1)}
	bore := between(0.066, 0.104)
	s.Cylinder = geometry.Cylinder{
		Bore: bore, Stroke: bore * between(0.75, 1.2), CompressionRatio: between(7, 12),
	}
	s.Cylinder.Rod = s.Cylinder.Stroke * between(1.5, 2.1)
	s.Cylinders = 2 + r.IntN(7)
	s.Valves.InletDiameter, s.Valves.ExhaustDiameter = bore*0.38, bore*0.33
	s.Valves.InletCloses, s.Valves.ExhaustOpens = between(30, 75)*deg, between(35, 75)*deg
	peak := between(0.85, 1.15)
	s.VolumetricEfficiency = must(numeric.NewCurve(
		[]float64{1500 * rpm, 4000 * rpm, between(5000, 6500) * rpm, 8000 * rpm},
		[]float64{peak * between(0.7, 0.9), peak * between(0.85, 1), peak, peak * between(0.8, 0.95)}))
	s.Combustion = Combustion{
		BestCA50: between(5, 12) * deg, LatestCA50: between(16, 35) * deg, Efficiency: between(0.92, 1), KnockLimit: between(0.5, 1.5),
		StatedPressure: 1e5, StatedLambda: 0.9,
	}
	s.Heat = Heat{
		Factor: between(0.5, 1.5), WallTemperature: between(420, 520), ChargeHeating: between(0, 20),
		ChargeEvaporation: between(0, 1),
	}
	if r.IntN(5) == 0 {
		s.Heat.PortLossGiven, s.Heat.PortLoss = true, between(0, 0.15)
	}
	s.Friction = usualFriction(s)
	s.Friction.Factor = between(0.8, 1.2)
	switch c := s.Friction.Components; r.IntN(4) {
	case 0:
		chenFlynn := friction.PublishedChenFlynn()
		s.Friction.Components, s.Friction.ChenFlynn = nil, &chenFlynn
	case 1:
		c.ValveTrain, c.Roller = friction.SOHCFinger, true
	default:
		c.Auxiliaries, c.OilViscosity = between(0, 1.5), between(0.5, 2)
	}
	names := fuel.Names()
	for s.Fuel = must(fuel.Named(names[r.IntN(len(names))])); s.Fuel.KnockOctane() < 60; { // n-heptane is no engine fuel
		s.Fuel = must(fuel.Named(names[r.IntN(len(names))]))
	}
	s.Mixture = rich(between(0.75, 1.1))
	s.Pipes = pipes(s.Cylinders, bore, s.Valves.ExhaustDiameter)
	s.Pipes.Primary.Length *= between(0, 2)
	displaced := s.Cylinder.Displacement() * float64(s.Cylinders)
	size := displaced / 2.27e-3
	s.FilterLoss *= between(0, 2) / (size * size)
	s.ExhaustLoss *= between(0, 2) / (size * size)
	s.Restrictor = nil
	if r.IntN(2) == 0 {
		s.Restrictor = &restrictor.Restrictor{Bore: between(0.024, 0.05) * math.Sqrt(size), Discharge: between(0.85, 1), Recovery: between(0, 0.95)}
	}
	s.Injection = nil
	if r.IntN(8) == 0 {
		s.Compressor, s.Turbine, s.Wastegate, s.Cooler = nil, nil, nil, nil
		return s
	}
	count := 1 + r.IntN(2)
	share := size / float64(count)
	s.Compressor = &Compressor{
		Map: inventedMap(0.46*share*between(0.7, 1.4), between(2.5, 4.5), between(0.35, 0.6)), Count: count, SpeedLimit: between(100000, 160000) * rpm,
	}
	s.Turbine = &turbine.Turbine{
		EffectiveArea: 11e-4 * share * between(0.6, 1.7), Efficiency: numeric.Constant(between(0.55, 0.78)),
		MechanicalEfficiency: between(0.9, 1), Count: count,
	}
	if r.IntN(4) == 0 {
		s.Turbine.Efficiency = must(numeric.NewCurve([]float64{0.2, 0.65, 1.1}, []float64{0.4, between(0.65, 0.78), 0.45}))
		s.Turbine.Wheel = between(0.04, 0.07)
	}
	if count == 1 { // half of the engines lose power in the bearings with the square of the shaft speed
		s.Turbine.MechanicalEfficiency, s.Turbine.BearingLoss = 1, turbine.DefaultBearingLoss(0.056*math.Sqrt(share))
	}
	s.Wastegate = nil
	if r.IntN(5) > 0 {
		s.Wastegate = &turbine.Wastegate{Bore: 0.038 * math.Sqrt(size) * between(0.5, 1.2), Lift: 0.009, Discharge: 0.72, Count: 1}
	}
	if r.IntN(5) == 0 {
		s.Cooler = nil
	} else {
		c := *s.Cooler
		c.Effectiveness = numeric.Constant(between(0.4, 0.95))
		c.CoolantTemperature = s.Venue.Temperature + between(-5, 20)
		c.LossCoefficient *= between(0, 2) / (size * size)
		s.Cooler = &c
	}
	if r.IntN(3) == 0 {
		s.Limits.PeakPressure = between(70e5, 160e5)
	}
	if r.IntN(5) == 0 {
		s.Limits.Torque = displaced * between(0.9e5, 2.4e5)
	}
	return s
}

// demands returns targets for an engine: a boost of so many Pa above the venue, or all there is.
func demand(s *Setup, speed, boost float64) Demand {
	if s.Compressor == nil {
		return Demand{Speed: speed, Target: math.Inf(1)}
	}
	return Demand{Speed: speed, Target: s.Venue.Pressure + boost}
}

func solved(t testing.TB, s Setup, speed, boost float64) Point {
	t.Helper()
	e, err := New(s)
	if err != nil {
		t.Fatal(err)
	}
	p, err := e.NewSolver().Solve(demand(&s, speed, boost))
	if err != nil {
		t.Fatal(err)
	}
	return p
}
