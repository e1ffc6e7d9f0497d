package airpath

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/fuel"
	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
	"bellmouth/internal/restrictor"
	"bellmouth/internal/units"
)

// sweep solves an engine over its speed range.
func sweep(t *testing.T, s Setup, boost float64) []Point {
	t.Helper()
	e, err := New(s)
	require.NoError(t, err)
	v := e.NewSolver()
	var points []Point
	for n := 1500.0; n <= 7800; n += 300 {
		p, err := v.Solve(demand(&s, n*rpm, boost))
		require.NoError(t, err)
		points = append(points, p)
	}
	return points
}

func TestHugeRestrictorChangesNothing(t *testing.T) {
	s := unrestricted()
	without := sweep(t, s, 160e3)
	s.Restrictor = &restrictor.Restrictor{Bore: 1, Discharge: 0.97, Recovery: 0.8}
	for i, p := range sweep(t, s, 160e3) {
		// A metre of bore still takes (m/(Cd A p0))² R T0/2 of the pressure: some 1e-7 here.
		assert.InEpsilon(t, without[i].Power, p.Power, 1e-5, "%v rpm", p.Speed/rpm)
		assert.InEpsilon(t, without[i].ManifoldPressure, p.ManifoldPressure, 1e-5)
		assert.Equal(t, without[i].Limit, p.Limit)
	}
}

func TestMoreBoreNeverLessAir(t *testing.T) {
	s := invented()
	var last []Point
	for _, bore := range []float64{0.026, 0.030, 0.034, 0.038, 0.044, 0.060} {
		r := *s.Restrictor
		r.Bore = bore
		s.Restrictor = &r
		points := sweep(t, s, 160e3)
		for i := range last {
			assert.GreaterOrEqual(t, points[i].AirFlow, last[i].AirFlow*(1-1e-7), "bore %v, %v rpm", bore, points[i].Speed/rpm)
		}
		last = points
	}
}

func TestMoreBoostNeverLessAir(t *testing.T) {
	for name, s := range map[string]Setup{"restricted": invented(), "open": unrestricted()} {
		var last []Point
		for boost := 20e3; boost <= 220e3; boost += 20e3 {
			points := sweep(t, s, boost)
			for i := range last {
				assert.GreaterOrEqual(t, points[i].AirFlow, last[i].AirFlow*(1-1e-6), "%s, boost %v, %v rpm", name, boost, points[i].Speed/rpm)
			}
			last = points
		}
	}
}

func TestHigherVenueNeverMoreChokedFlow(t *testing.T) {
	s := invented()
	last := math.Inf(1)
	for _, altitude := range []float64{0, 400, 800, 1600, 2400} {
		p, T, err := gas.StandardAtmosphere(altitude)
		require.NoError(t, err)
		s.Venue = gas.Air{Pressure: p, Temperature: T}
		point := solved(t, s, 7000*rpm, 160e3)
		assert.Equal(t, Restrictor, point.Limit)
		assert.Less(t, point.AirFlow, last)
		last = point.AirFlow
	}
}

// Shut for good and open for good bracket every state that the wastegate controls.
func TestWastegateShutAndOpenBracket(t *testing.T) {
	s := unrestricted()
	s.Combustion.KnockLimit = 10
	controlled := sweep(t, s, 60e3)
	shut := s
	shut.Wastegate = nil // nothing passes: all the boost the turbine makes, whatever is asked for
	open := s
	for i, p := range controlled {
		d := Demand{Speed: p.Speed, Target: 1.02e5} // less than it can hold: wide open
		e, err := New(open)
		require.NoError(t, err)
		low, err := e.NewSolver().Solve(d)
		require.NoError(t, err)
		assert.LessOrEqual(t, low.ManifoldPressure, p.ManifoldPressure*(1+1e-6), "%v rpm", p.Speed/rpm)
		if p.Limit == Spool {
			assert.Zero(t, p.WastegateFlow)
			continue
		}
		assert.Equal(t, Target, p.Limit)
		e, err = New(shut)
		require.NoError(t, err)
		high, err := e.NewSolver().Solve(Demand{Speed: p.Speed, Target: p.TargetPressure})
		if err != nil {
			continue // the boost runs away: higher than any
		}
		assert.GreaterOrEqual(t, high.ManifoldPressure, p.ManifoldPressure*(1-1e-6), "%v rpm, %d", p.Speed/rpm, i)
	}
}

// holdsUpTo is an actuator that keeps the valve shut, or open as far as wanted, up to a compressor outlet pressure, Pa.
type holdsUpTo float64

func (h holdsUpTo) Room(v Valve) (shutting, opening float64) {
	return (float64(h) - v.CompressorPressure) / v.VenuePressure, math.Inf(1)
}

// springHolds is an actuator of which the spring holds a compressor outlet pressure, Pa: below it the valve stays shut.
type springHolds float64

func (h springHolds) Room(v Valve) (shutting, opening float64) {
	return math.Inf(1), (v.CompressorPressure - float64(h)) / v.VenuePressure
}

// What is asked for below the spring's boost is not to be had: the boost stays at the spring's. One that holds less than is asked for changes
// nothing, and nor does one that the turbine does not come to.
func TestSpringHolds(t *testing.T) {
	s := unrestricted()
	free, spooling := solved(t, s, 5000*rpm, 60e3), solved(t, s, 2000*rpm, 60e3)
	require.Equal(t, Spool, spooling.Limit)
	s.Holder = springHolds(200e3)
	held := solved(t, s, 5000*rpm, 60e3)
	assert.InEpsilon(t, 200e3, held.CompressorOutlet, 1e-6)
	assert.Equal(t, Spring, held.Limit)
	assert.Positive(t, held.WastegateLift)
	assert.Greater(t, held.ManifoldPressure, free.ManifoldPressure)
	assert.Equal(t, spooling, solved(t, s, 2000*rpm, 60e3))
	s.Holder = springHolds(140e3)
	assert.Equal(t, free, solved(t, s, 5000*rpm, 60e3))
}

// Behind a throat that chokes below the spring's boost the wastegate stays shut: the throat names the point, and the turbocharger pulls harder
// than it gives.
func TestSpringOverpullsTheThroat(t *testing.T) {
	s := invented()
	free := solved(t, s, 7000*rpm, 160e3)
	require.Equal(t, Restrictor, free.Limit)
	s.Holder = springHolds(free.CompressorOutlet * 1.05)
	held := solved(t, s, 7000*rpm, 160e3)
	assert.Equal(t, Restrictor, held.Limit)
	assert.NotZero(t, held.Notes&NoteOverpulled)
	assert.Zero(t, free.Notes&NoteOverpulled)
	assert.InEpsilon(t, free.CompressorOutlet*1.05, held.CompressorOutlet, 1e-6)
	assert.InEpsilon(t, free.AirFlow, held.AirFlow, 1e-3)
	assert.Less(t, held.CompressorInlet, 0.98*free.CompressorInlet)
}

// What the actuator holds is what is reached; one that holds more than is asked for changes nothing.
func TestActuatorHolds(t *testing.T) {
	s := unrestricted()
	free := solved(t, s, 5000*rpm, 160e3)
	s.Holder = holdsUpTo(230e3)
	held := solved(t, s, 5000*rpm, 160e3)
	assert.InEpsilon(t, 230e3, held.CompressorOutlet, 1e-6)
	assert.Positive(t, held.WastegateLift)
	s.Holder = holdsUpTo(400e3)
	assert.Equal(t, free, solved(t, s, 5000*rpm, 160e3))
	e := must(New(s))
	v := e.NewSolver()
	assert.Zero(t, testing.AllocsPerRun(5, func() { _, _ = v.Solve(demand(&s, 5000*rpm, 160e3)) }))
}

// Every limit of the table binds when it is tightened, and names the point.
func TestEveryLimitIsNamed(t *testing.T) {
	seen := map[Limit]bool{Throttle: true} // see TestPartLoadPlane
	for name, c := range map[string]struct {
		change func(*Setup)
		rpm    float64
		boost  float64
		want   Limit
	}{
		"asked and held": {func(s *Setup) { s.Restrictor = nil }, 5000, 100e3, Target},
		"throat choked":  {func(*Setup) {}, 7000, 160e3, Restrictor},
		"no exhaust yet": {func(*Setup) {}, 2500, 160e3, Spool},
		"shaft":          {func(s *Setup) { s.Restrictor = nil; s.Compressor.SpeedLimit = 110000 * rpm }, 6000, 160e3, ShaftSpeed},
		"surge":          {func(s *Setup) { s.Compressor.Map = inventedMap(0.46, 3.67, 0.85); s.Turbine.EffectiveArea = 5e-4 }, 3000, 200e3, Surge},
		"compressor choke": {func(s *Setup) {
			s.Restrictor = nil
			s.Compressor.Map, s.Wastegate.Bore = inventedMap(0.34, 4.5, 0.5), 0.05
		}, 6000, 220e3, Choke},
		"no wastegate":        {func(s *Setup) { s.Restrictor = nil; s.Wastegate = nil; s.Turbine.EffectiveArea = 20e-4 }, 5000, 20e3, Spool},
		"wastegate too small": {func(s *Setup) { s.Restrictor = nil; s.Wastegate.Bore = 0.022; s.Turbine.EffectiveArea = 16e-4 }, 7000, 20e3, Creep},
		"knock":               {func(s *Setup) { s.Restrictor = nil; s.Combustion.LatestCA50 = 11 * deg }, 5000, 160e3, Knock},
		"cylinder pressure": {func(s *Setup) {
			s.Restrictor = nil
			s.Limits.PeakPressure, s.Combustion.LatestCA50 = 75e5, 14*deg
			s.Combustion.KnockLimit = 5
		}, 5000, 160e3, CylinderPressure},
		"actuator": {func(s *Setup) { s.Restrictor = nil; s.Holder = holdsUpTo(230e3) }, 5000, 160e3, Actuator},
		"spring":   {func(s *Setup) { s.Restrictor = nil; s.Holder = springHolds(220e3) }, 5000, 60e3, Spring},
		"gearbox":  {func(s *Setup) { s.Restrictor = nil; s.Limits.Torque = 400 }, 5000, 160e3, GearboxTorque},
		"injector": {func(s *Setup) { s.Restrictor = nil; s.Injection.AllowedDuty = 0.55 }, 7000, 160e3, Injector},
	} {
		t.Run(name, func(t *testing.T) {
			s := invented()
			c.change(&s)
			p := solved(t, s, c.rpm*rpm, c.boost)
			seen[p.Limit] = true
			assert.Equal(t, c.want.String(), p.Limit.String(), "%v", p.Notes.Texts())
			assert.Equal(t, c.want.String(), p.Limits.Names(p.Limit)[0])
		})
	}
	p := solved(t, aspirated(), 4000*rpm, 0)
	assert.Equal(t, Atmosphere, p.Limit)
	seen[p.Limit] = true
	p = solved(t, aspirated(), 7800*rpm, 0)
	assert.Equal(t, Restrictor, p.Limit)
	for l := range limitCount {
		assert.True(t, seen[l], "%v binds nowhere", l)
	}
}

// A twin behaves as one turbocharger of twice the size: shared flow, the same pressures and powers.
func TestTwinIsOneOfTwiceTheSize(t *testing.T) {
	one, two := sweep(t, invented(), 160e3), sweep(t, twin(), 160e3)
	for i := range one {
		assert.InEpsilon(t, one[i].Power, two[i].Power, 1e-5, "%v rpm", one[i].Speed/rpm)
		assert.InEpsilon(t, one[i].ShaftSpeed, two[i].ShaftSpeed, 1e-5)
		assert.InEpsilon(t, one[i].CorrectedFlow/2, two[i].CorrectedFlow, 1e-5)
	}
}

// A twin with a throat for each turbocharger is one turbocharger of twice the size behind one throat of twice the area.
func TestTwinThroatsAreOneOfTwiceTheArea(t *testing.T) {
	one, two := sweep(t, invented(), 160e3), sweep(t, twinThroats(), 160e3)
	choked := 0
	for i := range one {
		assert.InEpsilon(t, one[i].Power, two[i].Power, 1e-5, "%v rpm", one[i].Speed/rpm)
		assert.InEpsilon(t, one[i].RestrictorFlow, two[i].RestrictorFlow, 1e-9)
		assert.InEpsilon(t, one[i].CompressorInlet, two[i].CompressorInlet, 1e-5)
		if one[i].Limits.Has(Restrictor) {
			choked++
			assert.True(t, two[i].Limits.Has(Restrictor))
		}
	}
	assert.Positive(t, choked)
	for _, count := range []int{3, 8} {
		s := twinThroats()
		s.Restrictor.Count = count
		_, err := New(s)
		assert.EqualError(t, err, fmt.Sprintf("%d restrictors; want one, or one for each turbocharger", count))
	}
	s := aspirated()
	s.Restrictor = &restrictor.Restrictor{Bore: 0.024, Count: 2}
	_, err := New(s)
	assert.EqualError(t, err, "2 restrictors; want one, or one for each turbocharger")
}

// A naturally aspirated engine's manifold holds what the filter leaves, and the exhaust what the tailpipe asks.
func TestAspirated(t *testing.T) {
	s := aspirated()
	s.Restrictor = nil
	p := solved(t, s, 5000*rpm, 0)
	drop := s.FilterLoss * p.AirFlow * p.AirFlow * s.Venue.Temperature / s.Venue.Pressure
	assert.InEpsilon(t, s.Venue.Pressure-drop, p.ManifoldPressure, 1e-7)
	assert.Equal(t, s.Venue.Temperature, p.ManifoldTemperature)
	back := p.TurbineInletPressure * (p.TurbineInletPressure - s.Venue.Pressure)
	assert.InEpsilon(t, s.ExhaustLoss*p.ExhaustFlow*p.ExhaustFlow*p.TurbineInletTemperature, back, 1e-7)
	assert.Zero(t, p.ShaftSpeed)
}

// Pulling at a choked throat with the wastegate shut: same air, a faster shaft, hotter, at a lower inlet pressure.
func TestOverpull(t *testing.T) {
	s := invented()
	e, err := New(s)
	require.NoError(t, err)
	v := e.NewSolver()
	p, err := v.Solve(demand(&s, 6500*rpm, 160e3))
	require.NoError(t, err)
	require.Equal(t, Restrictor, p.Limit)
	o, err := v.Overpull()
	require.NoError(t, err)
	assert.Greater(t, o.ShaftSpeed, 1.2*p.ShaftSpeed)
	assert.Less(t, o.CompressorInlet, p.CompressorInlet)
	assert.Greater(t, o.OutletTemperature, p.OutletTemperature)
	assert.Greater(t, o.PressureRatio, p.PressureRatio)
	assert.False(t, o.AtTarget)
	again, err := v.Solve(demand(&s, 6500*rpm, 160e3))
	require.NoError(t, err)
	assert.InEpsilon(t, p.Power, again.Power, 1e-6, "the solver is as it was")

	// A target between the two is where it stops.
	between := (p.ManifoldPressure + o.ManifoldPressure) / 2
	_, err = v.Solve(Demand{Speed: 6500 * rpm, Target: between})
	require.NoError(t, err)
	stopped, err := v.Overpull()
	require.NoError(t, err)
	assert.True(t, stopped.AtTarget)
	assert.InEpsilon(t, between, stopped.ManifoldPressure, 1e-6)
	assert.Less(t, stopped.ShaftSpeed, o.ShaftSpeed)

	// The same air sucked at harder is hotter: what the latest burn just keeps at the point, it no longer keeps here.
	late := invented()
	late.Combustion.LatestCA50, late.Combustion.KnockLimit = p.CA50, p.KnockIntegral*1.001
	e, err = New(late)
	require.NoError(t, err)
	v = e.NewSolver()
	_, err = v.Solve(demand(&late, 6500*rpm, 160e3))
	require.NoError(t, err)
	assert.False(t, o.KnockUnmet)
	knocking, err := v.Overpull()
	require.NoError(t, err)
	assert.True(t, knocking.KnockUnmet)
	assert.Greater(t, knocking.KnockIntegral, late.Combustion.KnockLimit)

	e, err = New(s)
	require.NoError(t, err)
	v = e.NewSolver()
	_, err = v.Solve(demand(&s, 2500*rpm, 160e3))
	require.NoError(t, err)
	_, err = v.Overpull()
	assert.ErrorContains(t, err, "does not limit the last point")
}

// The answer does not depend on what was solved before.
func TestOrderDoesNotMatter(t *testing.T) {
	s := invented()
	e, err := New(s)
	require.NoError(t, err)
	v := e.NewSolver()
	first := sweep(t, s, 160e3)
	for _, i := range rand.New(rand.NewPCG(3, 4)).Perm(len(first)) {
		p, err := v.Solve(demand(&s, first[i].Speed, 160e3))
		require.NoError(t, err)
		assert.Equal(t, first[i], p)
	}
}

// A naturally aspirated engine takes at full load what its volumetric efficiency says, with filter and exhaust; behind a restrictor and a throttle
// it takes less, since more exhaust stays behind.
func TestFillingAsMeasured(t *testing.T) {
	s := aspirated()
	s.Restrictor = nil
	require.Positive(t, s.FilterLoss)
	require.Positive(t, s.ExhaustLoss)
	for _, n := range []float64{2000, 4500, 7000} {
		ve, _ := s.VolumetricEfficiency.At(n * rpm)
		full := solved(t, s, n*rpm, math.Inf(1))
		assert.Greater(t, full.TurbineInletPressure, full.ManifoldPressure)
		assert.InEpsilon(t, ve, full.VolumetricEfficiency, 1e-6, "%v rpm", n)
		part, err := must(New(s)).NewSolver().Solve(Demand{Speed: n * rpm, Target: 50e3, Throttled: true})
		require.NoError(t, err)
		assert.Less(t, part.VolumetricEfficiency, 0.97*ve)
	}
	restricted := aspirated()
	restricted.Restrictor.Bore = 0.022
	p := solved(t, restricted, 6000*rpm, math.Inf(1))
	ve, _ := restricted.VolumetricEfficiency.At(6000 * rpm)
	assert.Less(t, p.VolumetricEfficiency, 0.99*ve)
}

// At equal pressures the filling is the table's; back pressure takes away from it; limits of the form.
func TestFillingFactor(t *testing.T) {
	assert.InDelta(t, 1, fillingFactor(9, 1, 1.3), 1e-15)
	assert.InDelta(t, 9.0/8, fillingFactor(9, 1e-12, 1.3), 1e-9, "no residual: the clearance volume fills too")
	assert.InDelta(t, 0, fillingFactor(9, math.Pow(9, 1.3), 1.3), 1e-12, "residual fills the cylinder")
}

func TestBadDemands(t *testing.T) {
	s := invented()
	e, err := New(s)
	require.NoError(t, err)
	v := e.NewSolver()
	for _, d := range []Demand{{}, {Speed: -1, Target: 1e5}, {Speed: math.NaN(), Target: 1e5}, {Speed: 300, Target: math.NaN()}, {Speed: 300,
		Target: math.Inf(1)}, {Speed: 1e9, Target: 2e5}} {
		_, err := v.Solve(d)
		var pe *PointError
		assert.ErrorAs(t, err, &pe, "%+v", d)
	}
	// Boost below what the atmosphere gives: the wastegate, wide open, still leaves more.
	p, err := v.Solve(Demand{Speed: 4000 * rpm, Target: 30e3})
	require.NoError(t, err)
	assert.Equal(t, Creep, p.Limit)
}

// A throat so small that it is choked with the wastegate wide open: whatever is asked for, the state is the same.
func TestChokedWithoutBoost(t *testing.T) {
	s := invented()
	s.Restrictor = &restrictor.Restrictor{Bore: 0.022, Discharge: 0.97, Recovery: 0.8}
	e, err := New(s)
	require.NoError(t, err)
	v := e.NewSolver()
	want, err := v.Solve(Demand{Speed: 6500 * rpm, Target: 2e5})
	require.NoError(t, err)
	require.Equal(t, Restrictor, want.Limit)
	require.NotZero(t, want.Notes&NoteOverpulled)
	for _, target := range []float64{30e3, 90e3, 110e3} {
		p, err := v.Solve(Demand{Speed: 6500 * rpm, Target: target})
		require.NoError(t, err, "%v Pa", target)
		assert.InEpsilon(t, want.ManifoldPressure, p.ManifoldPressure, 1e-6)
		assert.Equal(t, Restrictor, p.Limit)
	}
}

func TestBadSetups(t *testing.T) {
	for name, change := range map[string]func(*Setup){
		"cylinders":           func(s *Setup) { s.Cylinders = 0 },
		"bore":                func(s *Setup) { s.Cylinder.Bore = math.NaN() },
		"no lambda":           func(s *Setup) { s.Mixture = Mixture{} },
		"no filling":          func(s *Setup) { s.VolumetricEfficiency = numeric.Curve{} },
		"no turbine":          func(s *Setup) { s.Turbine = nil },
		"no compressor":       func(s *Setup) { s.Compressor = nil },
		"counts":              func(s *Setup) { s.Compressor.Count = 2 },
		"recovery":            func(s *Setup) { s.Restrictor.Recovery = 1 },
		"latest before best":  func(s *Setup) { s.Combustion.LatestCA50 = 0 },
		"venue":               func(s *Setup) { s.Venue.Pressure = 0 },
		"octane":              func(s *Setup) { s.Fuel = must(fuel.Named("n-heptane")) },
		"negative loss":       func(s *Setup) { s.ExhaustLoss = -1 },
		"wastegate by itself": func(s *Setup) { s.Compressor, s.Turbine = nil, nil },
		"wall":                func(s *Setup) { s.Heat.WallTemperature = math.Inf(1) },
	} {
		s := invented()
		change(&s)
		_, err := New(s)
		assert.Error(t, err, name)
	}
}

func TestNotes(t *testing.T) {
	for bit := Note(1); bit < noteEnd; bit <<= 1 {
		assert.Len(t, bit.Texts(), 1, "note %b", bit)
		assert.NotEmpty(t, bit.Texts()[0])
	}
	s := invented()
	s.Mixture.FullLoad = must(numeric.NewCurve([]float64{3000 * rpm, 6000 * rpm}, []float64{0.9, 0.85}))
	assert.Contains(t, solved(t, s, 2000*rpm, 50e3).Notes.Texts(), noteTexts[NoteLambdaHeld])
	assert.NotContains(t, solved(t, s, 4000*rpm, 50e3).Notes.Texts(), noteTexts[NoteLambdaHeld])
}

func TestErrorText(t *testing.T) {
	err := &PointError{Speed: 6500 * rpm, Stage: "turbine", Reason: "no expansion ratio drives the compressor", Residual: 0.02, Steps: 40}
	assert.Equal(t, "6500 rpm: turbine: no expansion ratio drives the compressor (residual 0.02 after 40 steps)", units.Resolve(err.Error(), units.Metric))
}

func ExampleSolver_Solve() {
	s := invented()
	e, err := New(s)
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := e.NewSolver().Solve(Demand{Speed: 6500 * rpm, Target: 2.6e5})
	fmt.Println(p.Limits.Names(p.Limit), err)
	// Output: [restrictor] <nil>
}

// A loss larger than Δp = k m² T/p holds for is told: over a tenth of the pressure, behind the turbine a third of it. One part is made narrower at a time.
func TestNoteLossLarge(t *testing.T) {
	for name, part := range map[string]struct {
		narrower func(s *Setup, by float64)
		most     float64
		share    func(s *Setup, p *Point) float64
	}{
		"filter": {func(s *Setup, by float64) { s.FilterLoss *= by }, 0.1, func(s *Setup, p *Point) float64 { return 1 - p.InletPressure/s.Venue.Pressure }},
		"cooler": {func(s *Setup, by float64) { s.Cooler.LossCoefficient *= by }, 0.1, func(_ *Setup, p *Point) float64 { return p.CoolerLoss / p.CompressorOutlet }},
		"exhaust": {func(s *Setup, by float64) { s.ExhaustLoss *= by }, 1. / 3, func(s *Setup, p *Point) float64 {
			return 1 - s.Venue.Pressure/p.TurbineOutletPressure
		}},
	} {
		seen := map[bool]bool{}
		for by := 1.0; by < 40; by *= 1.15 {
			s := invented()
			part.narrower(&s, by)
			e := must(New(s))
			p, err := e.NewSolver().Solve(demand(&s, 4500*rpm, 80e3))
			if err != nil {
				continue
			}
			share := part.share(&s, &p)
			assert.Equal(t, share > part.most, p.Notes&NoteLossLarge != 0, "%s: %.3f of the pressure", name, share)
			if share > 0.8*part.most && share < 1.2*part.most {
				seen[share > part.most] = true
			}
		}
		assert.Len(t, seen, 2, name)
	}
}

// unfound is an actuator of which a port's pressure is not found.
type unfound struct{}

func (unfound) Room(Valve) (shutting, opening float64) { return math.NaN(), math.NaN() }

// A Holder that cannot be followed is refused, and by its name.
func TestHolderNotFollowed(t *testing.T) {
	s := unrestricted()
	s.Holder = unfound{}
	e, err := New(s)
	require.NoError(t, err)
	for _, n := range []float64{3000, 5000, 7000} {
		_, err := e.NewSolver().Solve(Demand{Speed: n * rpm, Target: 200e3})
		assert.ErrorContains(t, err, "wastegate actuator", "%v rpm", n)
	}
}
