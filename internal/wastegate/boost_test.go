package wastegate

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/turbine"
)

const kPa = 1e3

// synthetic is an invented engine: with more boost the pressures before compressor and turbine rise, and less
// exhaust is left for the wastegate, which is wide open at 20 kPa and shut at 180 kPa.
func synthetic(boost float64) (Point, error) {
	p := Point{State: state()}
	p.SourcePressure = p.VenuePressure + 1.04*boost + 2*kPa
	p.TurbineOutletPressure = p.VenuePressure + 0.08*boost
	p.TurbineInletPressure = p.VenuePressure + 1.15*boost + 4e-7*boost*boost
	p.SourceTemperature = 295 + boost*3e-4
	p.Lift = 10 * mm * math.Pow(math.Max(0, (180*kPa-boost)/(160*kPa)), 1.5)
	return p, nil
}

var span = Span{20 * kPa, 180 * kPa}

func TestBoostAndDutyRoundTrip(t *testing.T) {
	for name, y := range systems() {
		within := 0
		for i := range 101 {
			duty := float64(i) / 100
			r, err := y.BoostAt(duty, synthetic, span)
			require.NoError(t, err, name)
			if r.End != Within {
				continue
			}
			within++
			p, err := synthetic(r.Boost)
			require.NoError(t, err)
			h, err := y.Hold(p)
			require.NoError(t, err)
			if h.Short != NoSide { // at an end of the duty the last digit may lie outside
				require.True(t, i == 0 || i == 100, "%s at duty %v", name, duty)
				require.Greater(t, h.ForceMargin, -1e-6, "%s at duty %v", name, duty)
				continue
			}
			back := h.OpeningDuty
			if y.Opening == nil {
				back = h.ClosingDuty
			}
			terms := y.Actuator.Preload + y.Actuator.Rate*p.Lift + (p.TurbineInletPressure-p.TurbineOutletPressure)*math.Pi/4*40*40*mm2
			require.Less(t, math.Abs(r.Excess), 1e-9*terms, "%s at duty %v", name, duty)
			if i > 0 && i < 100 {
				require.InDelta(t, duty, back, 1e-6, name)
			}
			again, err := y.BoostAt(back, synthetic, span)
			require.NoError(t, err)
			require.InDelta(t, r.Boost, again.Boost, 0.1, name)
		}
		assert.Greater(t, within, 10, "%s: duties with a balance", name)
	}
}

// Linear all through, the spring's boost has a closed form.
func TestSpringOnlyBoostByHand(t *testing.T) {
	// ps − pa = b, l = 8 mm (1 − b/200 kPa), p3 − p4 = b on 10 cm², lever 1.25.
	// b · 30 cm² = 150 N + 6 N/mm · 1.25 · 8 mm (1 − b/200 kPa) − b · 10 cm²/1.25
	// b (3 + 0.3 + 0.8) N/kPa = 150 N + 60 N; b = 210/4.1 kPa
	engine := func(boost float64) (Point, error) {
		s := state()
		s.SourcePressure = s.VenuePressure + boost
		s.TurbineInletPressure, s.TurbineOutletPressure = 120e3+boost, 120e3
		return Point{s, 8 * mm * (1 - boost/(200*kPa))}, nil
	}
	a := Actuator{Preload: 150, Rate: 6000, OpeningArea: 30e-4, LeverRatio: 1.25, Stroke: 15 * mm, ValveDiameter: math.Sqrt(4 * 10e-4 / math.Pi)}
	r, err := a.SpringOnlyBoost(engine, Span{1 * kPa, 200 * kPa})
	require.NoError(t, err)
	assert.Equal(t, Within, r.End)
	assert.InDelta(t, 210/4.1*kPa, r.Boost, 0.01)

	// Pressed shut by the exhaust: b (3 + 0.3 − 0.8) = 210.
	a.ExhaustShuts = true
	r, err = a.SpringOnlyBoost(engine, Span{1 * kPa, 200 * kPa})
	require.NoError(t, err)
	assert.InDelta(t, 210/2.5*kPa, r.Boost, 0.01)

	// Preload for 70 kPa: (3 + 0.3 + 0.8) 70 − 60 = 227 N.
	a.ExhaustShuts = false
	p, err := engine(70 * kPa)
	require.NoError(t, err)
	a.Preload, err = a.PreloadFor(p)
	require.NoError(t, err)
	assert.InDelta(t, 227, a.Preload, 1e-9)
	r, err = a.SpringOnlyBoost(engine, Span{1 * kPa, 200 * kPa})
	require.NoError(t, err)
	assert.InDelta(t, 70*kPa, r.Boost, 0.01)

	// A closing port at the source takes its area off the opening one's. Held shut as hard as can be:
	// with F0 = 90 N, b (3 − 2.5 + 0.3 + 0.8) = 90 + 60.
	a.Preload, a.ClosingArea = 90, 25e-4
	y := System{Actuator: a, Closing: threeWay()}
	r, err = y.HighestBoost(engine, Span{1 * kPa, 200 * kPa})
	require.NoError(t, err)
	assert.InDelta(t, 150/1.6*kPa, r.Boost, 0.01)
	r, err = y.LowestBoost(engine, Span{1 * kPa, 200 * kPa})
	require.NoError(t, err)
	assert.InDelta(t, 150/4.1*kPa, r.Boost, 0.01, "the closing port vented: the spring's boost")
}

func TestRangeOfBoost(t *testing.T) {
	for name, y := range systems() {
		lowest, err := y.LowestBoost(synthetic, span)
		require.NoError(t, err)
		highest, err := y.HighestBoost(synthetic, span)
		require.NoError(t, err)
		spring, err := y.Actuator.SpringOnlyBoost(synthetic, span)
		require.NoError(t, err)
		assert.Less(t, lowest.Boost, highest.Boost, name)
		assert.GreaterOrEqual(t, lowest.Boost, spring.Boost-0.01, "%s: no valve puts more than the source into the opening port", name)
		shut, open := y.Ends()
		at, err := y.BoostAt(shut, synthetic, span)
		require.NoError(t, err)
		assert.Equal(t, highest, at, name)
		at, err = y.BoostAt(open, synthetic, span)
		require.NoError(t, err)
		assert.Equal(t, lowest, at, name)
		before := highest.Boost
		for i := range 21 {
			r, err := y.BoostAt(shut+(open-shut)*float64(i)/20, synthetic, span)
			require.NoError(t, err)
			assert.LessOrEqual(t, r.Boost, before+0.01, "%s: towards open the boost falls", name)
			before = r.Boost
		}
	}
	// Without a pulsed valve there is one boost.
	y := System{Actuator: actuator()}
	spring, err := y.Actuator.SpringOnlyBoost(synthetic, span)
	require.NoError(t, err)
	for _, f := range []func(Engine, Span) (Reach, error){y.LowestBoost, y.HighestBoost} {
		r, err := f(synthetic, span)
		require.NoError(t, err)
		assert.Equal(t, spring, r)
	}
}

func TestEndsOfTheSpan(t *testing.T) {
	a := actuator()
	a.Preload = 1200 // keeps the valve shut whatever the engine does
	r, err := a.SpringOnlyBoost(synthetic, span)
	require.NoError(t, err)
	assert.Equal(t, Highest, r.End)
	assert.InDelta(t, 180*kPa, r.Boost, 0)
	// At 180 kPa: 189.2 kPa on 30 cm² and (1.07·180 + 12.96) kPa on 1256.637 mm² against 1200 N.
	assert.InDelta(t, 567.6+205.56*1.256637-1200, r.Excess, 1e-2)

	a.Preload, a.Rate = 0, 0 // and this one opens it
	r, err = a.SpringOnlyBoost(synthetic, span)
	require.NoError(t, err)
	assert.Equal(t, Lowest, r.End)
	assert.InDelta(t, 20*kPa, r.Boost, 0)
	assert.Positive(t, r.Excess)
}

// An actuator whose stroke ends at 4 mm holds no boost that takes more lift.
func TestBoostAtTheStop(t *testing.T) {
	y := System{Actuator: actuator(), Opening: threeWay()}
	y.Actuator.Preload, y.Actuator.Stroke = 100, 4*mm
	free, err := y.BoostAt(1, synthetic, span)
	require.NoError(t, err)
	// The engine needs 4 mm at 180 kPa − 160 kPa (4/10)^(2/3).
	want := 180*kPa - 160*kPa*math.Pow(0.4, 2./3)
	assert.Equal(t, Stop, free.End)
	assert.InDelta(t, want, free.Boost, 0.01)
	assert.Positive(t, free.Excess, "pressed onto the stop")
	p, err := synthetic(free.Boost)
	require.NoError(t, err)
	h, err := y.Hold(p)
	require.NoError(t, err)
	assert.Equal(t, NoSide, h.Short)

	// Above it the stop changes nothing.
	short, err := y.BoostAt(0.05, synthetic, span)
	require.NoError(t, err)
	require.Equal(t, Within, short.End)
	require.Greater(t, short.Boost, want)
	y.Actuator.Stroke = 14 * mm
	long, err := y.BoostAt(0.05, synthetic, span)
	require.NoError(t, err)
	assert.InDelta(t, long.Boost, short.Boost, 1e-3)
	below, err := y.BoostAt(1, synthetic, span)
	require.NoError(t, err)
	assert.Less(t, below.Boost, want)

	y.Actuator.Preload, y.Actuator.Stroke = 0, 1*mm
	r, err := y.BoostAt(1, synthetic, Span{20 * kPa, 100 * kPa})
	require.NoError(t, err)
	assert.Equal(t, Reach{Boost: 100 * kPa, End: Stop, Excess: r.Excess}, r, "the span ends before 1 mm is enough")
}

// An engine is itself the result of a search and known to some digits only: the boost comes out as well as that.
func TestBoostOfANoisyEngine(t *testing.T) {
	y := System{Actuator: actuator(), Opening: threeWay(), Closing: threeWay()}
	exact, err := y.BoostAt(0.6, synthetic, span)
	require.NoError(t, err)
	calls := 0
	r, err := y.BoostAt(0.6, func(boost float64) (Point, error) {
		calls++
		p, err := synthetic(boost)
		p.Lift *= 1 + 1e-6*math.Sin(1e9*boost)
		p.TurbineInletPressure *= 1 + 1e-6*math.Cos(1e9*boost)
		return p, err
	}, span)
	require.NoError(t, err)
	assert.InDelta(t, exact.Boost, r.Boost, 0.5) // 1e-6 of 250 kPa
	assert.Less(t, calls, 40)
}

// A valve that the exhaust presses shut, too large for its diaphragm, is open at little boost and shut at much: in
// between there is a balance that nothing keeps.
func TestUnstableBalance(t *testing.T) {
	a := actuator()
	a.Preload, a.Rate, a.OpeningArea, a.ExhaustShuts, a.ValveDiameter = 0, 0, 10e-4, true, 40*mm
	engine := func(boost float64) (Point, error) {
		p := Point{state(), 5 * mm}
		p.SourcePressure, p.TurbineInletPressure = p.VenuePressure+boost, p.TurbineOutletPressure+1.5*boost-30*kPa
		return p, nil
	}
	// 10 cm² b − 12.566 cm² (1.5 b − 30 kPa): 20 N at 20 kPa, falling by 0.885 N/kPa.
	_, err := a.SpringOnlyBoost(engine, Span{20 * kPa, 180 * kPa})
	require.Error(t, err)
	assert.Contains(t, metric(err), "no steady boost in 20000 Pa to 180000 Pa")
}

func TestBoostPerDuty(t *testing.T) {
	for name, y := range systems() {
		shut, open := y.Ends()
		sign := shut - open // towards shut the boost rises
		r, err := y.BoostAt(0.5, synthetic, span)
		require.NoError(t, err)
		if r.End != Within {
			continue
		}
		got, err := y.BoostPerDuty(0.5, synthetic, span)
		require.NoError(t, err)
		assert.Positive(t, got*sign, name)

		// By the rule of implicit functions db/dD = −(∂P/∂D)/(∂(P − N)/∂b), with fine differences of the forces; its mean
		// over 2 % of duty by Simpson's rule in two pieces.
		excess := func(duty, boost float64) float64 {
			p, err := synthetic(boost)
			require.NoError(t, err)
			force, err := y.portForce(&p.State, duty)
			require.NoError(t, err)
			return force - y.Actuator.NeededForce(p.State, p.Lift)
		}
		mean := 0.0
		for _, c := range []struct{ duty, weight float64 }{{0.49, 1. / 12}, {0.495, 4. / 12}, {0.5, 2. / 12}, {0.505, 4. / 12}, {0.51, 1. / 12}} {
			r, err := y.BoostAt(c.duty, synthetic, span)
			require.NoError(t, err)
			require.Equal(t, Within, r.End, name)
			dD := (excess(c.duty+1e-4, r.Boost) - excess(c.duty-1e-4, r.Boost)) / 2e-4
			db := (excess(c.duty, r.Boost+10) - excess(c.duty, r.Boost-10)) / 20
			mean -= dD / db * c.weight
		}
		assert.InEpsilon(t, mean*0.01, got, 1e-4, name)
	}
}

func TestBoostPerDutyAtTheEnds(t *testing.T) {
	y := System{Actuator: actuator(), Opening: threeWay()}
	a, err := y.BoostAt(1, synthetic, span)
	require.NoError(t, err)
	require.Equal(t, Within, a.End)
	b, err := y.BoostAt(0.99, synthetic, span)
	require.NoError(t, err)
	got, err := y.BoostPerDuty(1, synthetic, span)
	require.NoError(t, err)
	assert.InDelta(t, a.Boost-b.Boost, got, 1e-6, "to one side")

	y.Actuator.Preload = 1200
	got, err = y.BoostPerDuty(0.5, synthetic, span)
	require.NoError(t, err)
	assert.Zero(t, got, "the valve stays shut: duty does nothing")
	_, err = y.BoostPerDuty(2, synthetic, span)
	assert.EqualError(t, err, "duty is 2; want 0 to 1")
}

func TestBoostRefuses(t *testing.T) {
	y := System{Actuator: actuator(), Opening: threeWay()}
	_, err := System{Actuator: actuator()}.BoostAt(0.5, synthetic, span)
	assert.EqualError(t, err, "boost at a duty: the boost control has no pulsed valve")
	_, err = y.BoostAt(math.NaN(), synthetic, span)
	assert.EqualError(t, err, "duty is NaN; want 0 to 1")
	_, err = y.BoostAt(0.5, synthetic, Span{2, 1})
	assert.EqualError(t, err, "span of boost is 2 Pa to 1 Pa; want a rising one")
	_, err = y.BoostAt(0.5, synthetic, Span{0, math.Inf(1)})
	assert.EqualError(t, err, "span of boost is 0 Pa to +Inf Pa; want a rising one")
	_, err = System{}.HighestBoost(synthetic, span)
	assert.EqualError(t, err, "actuator opening area is 0 m²; want more than 0")

	broken := errors.New("no operating point")
	_, err = y.BoostAt(0.5, func(float64) (Point, error) { return Point{}, broken }, span)
	assert.ErrorIs(t, err, broken)
	assert.Equal(t, "at a boost of 20000 Pa: no operating point", metric(err))
	_, err = y.BoostAt(0.8, func(b float64) (Point, error) { // in mid-search
		if b > 30*kPa && b < 170*kPa {
			return Point{}, broken
		}
		return synthetic(b)
	}, span)
	assert.ErrorIs(t, err, broken)
	_, err = y.BoostAt(0.5, func(float64) (Point, error) { return Point{state(), math.NaN()}, nil }, span)
	require.Error(t, err)
	assert.Equal(t, "at a boost of 20000 Pa: wastegate lift is NaN m; want 0 or more", metric(err))
}

func TestPreloads(t *testing.T) {
	y := System{Actuator: actuator(), Opening: threeWay(), Closing: threeWay()}
	var points []Point
	for _, b := range []float64{50 * kPa, 90 * kPa, 130 * kPa, 180 * kPa} {
		p, err := synthetic(b)
		require.NoError(t, err)
		points = append(points, p)
	}
	got, err := y.Preloads(points)
	require.NoError(t, err)
	assert.True(t, got.Possible())
	assert.Equal(t, 0, got.HighestAt, "the lowest boost leaves the least to open against a spring")
	shorts := func(preload float64) (sides []Side) {
		y.Actuator.Preload = preload
		for _, p := range points {
			h, err := y.Hold(p)
			require.NoError(t, err)
			sides = append(sides, h.Short)
		}
		return sides
	}
	none := []Side{NoSide, NoSide, NoSide, NoSide}
	assert.Equal(t, none, shorts(got.Highest-1e-6))
	assert.Equal(t, OpeningSide, shorts(got.Highest + 1e-6)[got.HighestAt])
	assert.Equal(t, none, shorts(got.Lowest+1e-6))

	// A single port: the exhaust at high boost needs a spring, and the least boost forbids a stiff one.
	y = System{Actuator: actuator(), Opening: threeWay()}
	got, err = y.Preloads(points)
	require.NoError(t, err)
	require.Positive(t, got.Lowest)
	assert.Equal(t, 3, got.LowestAt)
	assert.Equal(t, ClosingSide, shorts(got.Lowest - 1e-6)[got.LowestAt])
	// 205.56 kPa on 1256.637 mm² at 180 kPa, where the valve is to be shut.
	assert.InDelta(t, 205.56*1.256637, got.Lowest, 1e-2)
	// At 50 kPa, where ps − pa is 54 kPa and p3 − p4 54.5 kPa and the lift 7.325 mm.
	assert.InDelta(t, 162+54.5*1.256637-9*10*math.Pow(130./160, 1.5), got.Highest, 1e-2)
	assert.False(t, got.Possible(), "it takes 258 N against the one, and 165 N is the most at the other")

	shut, err := y.Preloads(points[3:])
	require.NoError(t, err)
	assert.True(t, math.IsInf(shut.Highest, 1) && shut.HighestAt == -1)

	_, err = y.Preloads(nil)
	assert.EqualError(t, err, "preload: there are no points to hold")
	_, err = y.Preloads([]Point{points[0], {state(), 20 * mm}})
	assert.EqualError(t, err, "point 2: lift is 0.02 m; the actuator's greatest is 0.014 m")
	_, err = y.Preloads([]Point{{}})
	assert.EqualError(t, err, "point 1: venue pressure is 0 Pa; want more than 0")
	_, err = System{}.Preloads(points)
	assert.Error(t, err)
}

func TestBoreFor(t *testing.T) {
	n := turbine.Nozzle{Pressure: 280e3, Temperature: 1150, OutletPressure: 115e3, Gamma: 1.32, GasConstant: 288}
	for _, w := range []turbine.Wastegate{
		{Lift: 20 * mm, Discharge: 0.7, Count: 1}, // the seat's area counts
		{Lift: 3 * mm, Discharge: 0.7, Count: 1},  // the curtain's
		{Lift: 6 * mm, Discharge: 0.6, Count: 2},
	} {
		for _, flow := range []float64{0.02, 0.1, 0.3} {
			bore, err := BoreFor(w, n, flow)
			require.NoError(t, err)
			w.Bore = bore
			assert.InEpsilon(t, flow, w.MaxFlow(n), 1e-12)
		}
	}
	w := turbine.Wastegate{Lift: 9 * mm, Discharge: 0.7, Count: 1}
	_, err := BoreFor(w, n, 0)
	assert.EqualError(t, err, "wastegate flow is 0 kg/s; want more than 0")
	n.OutletPressure = n.Pressure
	_, err = BoreFor(w, n, 0.1)
	assert.EqualError(t, err, "wastegate bore: nothing flows from 280000 Pa to 280000 Pa at 1150 K")
	w.Count = 0
	_, err = BoreFor(w, n, 0.1)
	assert.EqualError(t, err, "wastegate count is 0; want at least 1")
}
