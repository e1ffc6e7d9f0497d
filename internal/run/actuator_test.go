package run

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/wastegate"
)

// The duty of the base table, put back: the actuator is asked where it comes to rest at that duty, with the engine solved anew
// at every trial, and comes to the boost that the duty was found for.
func TestDutyRoundTrip(t *testing.T) {
	const within = 1e3 // Pa; a boost gauge shows 10 kPa, boost control works to 2 kPa
	for name, change := range spectest.BoostControls() {
		for _, trim := range []string{"open", "capped"} {
			g := gateOf(t, trim, change)
			v := g.trial.solvers()
			venue := g.Run.Trim.Venue.Pressure
			held, knocked := 0, 0
			for i := range g.Points {
				o := &g.Points[i]
				require.NoError(t, o.Err)
				require.NoError(t, o.TrialErr)
				require.NoError(t, o.HoldErr)
				if !o.Controls() || o.Holding.Short != wastegate.NoSide {
					continue
				}
				held++
				if o.Point.Limit == airpath.Knock || o.Point.Limit == airpath.CylinderPressure {
					knocked++
				}
				// Force and pressures: what the table prints.
				h := &o.Holding
				scale := g.holder.system.Actuator.Preload + math.Abs(h.PortForce)
				require.InDelta(t, h.NeededForce, h.PortForce, 1e-6*scale, "%s, %s, %v rpm: force left over", name, trim, RPM(o.Speed))
				source := o.State().SourcePressure
				for _, p := range []float64{h.OpeningPressure, h.ClosingPressure} {
					require.GreaterOrEqual(t, p, venue-1e-6)
					require.LessOrEqual(t, p, source+1e-6)
				}
				span := wastegate.Span{Lowest: o.Open.ManifoldPressure - venue, Highest: o.Most.ManifoldPressure - venue}
				back, err := g.holder.system.BoostAt(o.duty(), o.engine(v), span)
				require.NoError(t, err, "%s, %s, %v rpm", name, trim, RPM(o.Speed))
				require.InDelta(t, o.Boost(venue), back.Boost, within, "%s, %s, %v rpm", name, trim, RPM(o.Speed))
				// The solver is good to far better than the kilopascal, and so is this.
				require.InDelta(t, o.Boost(venue), back.Boost, 20, "%s, %s, %v rpm", name, trim, RPM(o.Speed))
			}
			assert.GreaterOrEqual(t, held, 8, "%s, %s: the wastegate controls from spooling up", name, trim)
			if name == "knock ends the boost" && trim == "open" {
				assert.Positive(t, knocked)
			}
		}
	}
}

var soak = flag.Bool("soak", false, "draw all the random boost controls")

// The same with boost controls, wastegates, turbines and fuels thrown together: what is not short comes back.
func TestRandomBoostControls(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 9))
	held := 0
	engines, least := 18, 45
	switch {
	case testing.Short():
		engines, least = 6, 5
	case *soak:
		engines, least = 60, 150
	}
	for n := range engines {
		name := []string{"open", "capped"}[n%2]
		g := gateOf(t, name, spectest.RandomBoostControl(rng))
		v := g.trial.solvers()
		venue := g.Run.Trim.Venue.Pressure
		for i := range g.Points {
			o := &g.Points[i]
			span := wastegate.Span{Lowest: o.Open.ManifoldPressure - venue, Highest: o.Most.ManifoldPressure - venue}
			if o.Err != nil || o.TrialErr != nil || o.HoldErr != nil || !o.Controls() || o.Holding.Short != wastegate.NoSide || !(span.Highest-span.Lowest > controlled) {
				continue
			}
			held++
			back := o.find(span, func(span wastegate.Span) (wastegate.Reach, error) {
				return g.holder.system.BoostAt(o.duty(), o.engine(v), span)
			})
			require.NoError(t, back.Err, "%d, %v rpm", n, RPM(o.Speed))
			require.InDelta(t, o.Boost(venue), back.Boost, 1e3, "%d, %v rpm", n, RPM(o.Speed))
		}
	}
	assert.Greater(t, held, least)
}

// The duty from the forces by hand, in closed form: a three-way valve is open for the share u of the time for which
// u A ps ψ(pc/ps) = (1 − u) A pc ψ(pa/pc), and pc is what the free body asks for.
func TestDutyByHand(t *testing.T) {
	g := gateOf(t, "open", nil)
	a := g.Run.Trim.Control.Actuator
	pa := g.Run.Trim.Venue.Pressure
	seen := 0
	for i := range g.Points {
		o := &g.Points[i]
		p := &o.Point
		if !o.Controls() {
			continue
		}
		seen++
		exhaust := (p.TurbineInletPressure - p.TurbineOutletPressure) * math.Pi / 4 * 0.040 * 0.040
		spring := 280 + 14e3*p.WastegateLift
		pc := pa + ((p.CompressorOutlet-pa)*40e-4+exhaust-spring)/38e-4
		require.InDelta(t, pc, o.Holding.ClosingPressure, 1, "pressure on the spring's side")
		gamma := g.holder.air.Gamma(p.OutletTemperature)
		in := p.CompressorOutlet * gas.FlowFunction(pc/p.CompressorOutlet, gamma)
		out := pc * gas.FlowFunction(pa/pc, gamma)
		require.InDelta(t, out/(in+out), o.Holding.ClosingDuty, 1e-5)
		require.InDelta(t, 280, a.Preload, 1e-9)
	}
	assert.GreaterOrEqual(t, seen, 8)
}

// Boost over duty by differences: a step of 1 % put through the solver moves the boost by what the table says.
func TestBoostPerDuty(t *testing.T) {
	for _, trim := range []string{"open", "capped"} {
		g := gateOf(t, trim, nil)
		v := g.trial.solvers()
		venue := g.Run.Trim.Venue.Pressure
		for i := range g.Points {
			o := &g.Points[i]
			if math.IsNaN(o.PerDuty) {
				continue
			}
			require.NoError(t, o.PerDutyErr)
			span := wastegate.Span{Lowest: o.Open.ManifoldPressure - venue, Highest: o.Most.ManifoldPressure - venue}
			less, err := g.holder.system.BoostAt(o.duty()-0.01, o.engine(v), span)
			require.NoError(t, err)
			assert.InEpsilon(t, o.Boost(venue)-less.Boost, o.PerDuty, 0.08, "%s, %v rpm: the course of boost over duty bends a little", trim, RPM(o.Speed))
		}
	}
}

// The preloads advised: at their ends every point is still held, beyond them one is not.
func TestPreloadRange(t *testing.T) {
	p, err := gateOf(t, "capped", nil).Preloads()
	require.NoError(t, err)
	require.True(t, p.Possible())
	short := func(preload float64) (speeds []float64) {
		g := gateOf(t, "capped", func(trim *spec.Trim) { trim.Control.Actuator.Preload = preload })
		for i := range g.Points {
			if o := &g.Points[i]; o.Err == nil && o.Short() != Nothing {
				speeds = append(speeds, o.Speed)
			}
		}
		return speeds
	}
	assert.Empty(t, short(p.Lowest+0.1))
	assert.Equal(t, []float64{p.LowestSpeed}, short(p.Lowest-0.1))
	assert.Empty(t, short(p.Highest-0.1))
	assert.Equal(t, []float64{p.HighestSpeed}, short(p.Highest+0.1))
}

// What is short is named, with the boost that it leads to on the right side of the one wanted.
func TestShortSides(t *testing.T) {
	for name, c := range map[string]struct {
		change func(trim *spec.Trim)
		side   Shortage
		above  bool
	}{
		"weak spring":   {func(trim *spec.Trim) { trim.Control.Actuator.Preload = 60 }, ClosingForce, false},
		"strong spring": {func(trim *spec.Trim) { trim.Control.Actuator.Preload = 900 }, OpeningForce, true},
		"short stroke":  {func(trim *spec.Trim) { trim.Control.Actuator.Stroke = 0.0035 }, ActuatorTravel, true},
		"small valve":   {func(trim *spec.Trim) { trim.Wastegate.Bore = 0.022 }, ValveArea, true},
	} {
		g := gateOf(t, "open", c.change)
		found := false
		for i := range g.Points {
			o := &g.Points[i]
			if o.Short() == Nothing {
				continue
			}
			assert.Equal(t, c.side, o.Short(), "%s at %v rpm", name, RPM(o.Speed))
			found = true
			held, ok := o.Held()
			require.True(t, ok, name)
			if c.above {
				assert.Greater(t, held, o.Wanted(), name)
			} else {
				assert.Less(t, held, o.Wanted(), name)
			}
		}
		assert.True(t, found, name)
	}
}

// With half the spring the exhaust blows the valve open before the boost asked for is there: what the operating points reach is what the
// actuator's own balance of forces says, found by another search.
func TestReachedIsWhatTheActuatorHolds(t *testing.T) {
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	trim.Actuator.Preload /= 2
	trim.Control.Actuator.Preload = trim.Actuator.Preload
	r, err := Solve(t.Context(), "sheet", trim, []float64{6500 * spectest.PerRPM, 7000 * spectest.PerRPM, 7500 * spectest.PerRPM})
	require.NoError(t, err)
	g, err := r.Gate()
	require.NoError(t, err)
	limited := 0
	for i := range g.Points {
		o := &g.Points[i]
		require.NoError(t, o.Highest.Err)
		reached := &r.Outcomes[i]
		if reached.Point.Limit != airpath.Actuator {
			continue
		}
		limited++
		assert.InDelta(t, o.Highest.Boost, reached.Boost(trim.Venue.Pressure), 5, "%v rpm", o.Speed/spectest.PerRPM)
		assert.Less(t, reached.Point.ManifoldPressure, reached.Point.TargetPressure)
	}
	assert.Positive(t, limited)
}

// Asked for less than the spring holds, the boost stays at the spring's: the operating points reach what the actuator's own balance of forces
// says, found by another search, and the same with a stroke too short for less.
func TestNoLessThanTheSpringHolds(t *testing.T) {
	for name, change := range map[string]func(a *wastegate.Actuator){
		"spring": func(*wastegate.Actuator) {},
		"stroke": func(a *wastegate.Actuator) { a.Preload, a.Stroke = 100, 0.006 },
	} {
		trim := spectest.Trim(t, spectest.Hillclimb, "open")
		change(trim.Actuator)
		trim.Control.Actuator = *trim.Actuator
		trim.Boost.Target = numeric.Constant(0.2e5)
		r, err := Solve(t.Context(), "sheet", trim, spectest.Speeds(3500, 7500, 500))
		require.NoError(t, err)
		g, err := r.Gate()
		require.NoError(t, err)
		for i := range g.Points {
			o, reached := &g.Points[i], &r.Outcomes[i]
			require.NoError(t, o.Lowest.Err)
			assert.Equal(t, airpath.Spring, reached.Point.Limit, "%s, %v rpm", name, o.Speed/spectest.PerRPM)
			assert.InDelta(t, o.Lowest.Boost, reached.Boost(trim.Venue.Pressure), 5, "%s, %v rpm", name, o.Speed/spectest.PerRPM)
		}
	}
}

// A short stroke behind a weak spring opens as far as it goes long before the boost asked for: it is the actuator that cannot hold more.
func TestWeakAndShortActuatorHoldsNoMore(t *testing.T) {
	trim := withActuator(t, "capped", 1.3e5, func(y *wastegate.System) {
		y.Closing = nil
		y.Actuator.Preload, y.Actuator.Rate, y.Actuator.Stroke, y.Actuator.ValveDiameter = 80, 5e3, 2e-3, 0.02
	})
	r, err := Solve(t.Context(), "sheet", trim, spectest.Speeds(3600, 4200, 100))
	require.NoError(t, err)
	limited := 0
	for i := range r.Outcomes {
		p := &r.Outcomes[i].Point
		require.NoError(t, r.Outcomes[i].Err)
		if p.ManifoldPressure < p.TargetPressure*0.99 {
			assert.NotEqual(t, airpath.Spring, p.Limit)
			if p.Limit == airpath.Actuator {
				limited++
			}
		}
	}
	assert.Positive(t, limited)
}

// A valve that the exhaust presses shut behind a choked throat: what is passed is told, and the spring with it.
func TestShutSpringTellsWhatIsPassed(t *testing.T) {
	trim := withActuator(t, "capped", 1e5, func(y *wastegate.System) {
		y.Actuator.Preload, y.Actuator.Rate, y.Actuator.Stroke, y.Actuator.ValveDiameter, y.Actuator.ExhaustShuts = 400, 30e3, 5e-3, 0.02, true
		y.Closing.RestsOpen = true
	})
	r, err := Solve(t.Context(), "sheet", trim, []float64{7100 * spectest.PerRPM})
	require.NoError(t, err)
	p := &r.Outcomes[0].Point
	require.NoError(t, r.Outcomes[0].Err)
	require.Greater(t, p.ShaftSpeed, trim.Compressor.SpeedLimit)
	assert.True(t, p.Limits.Has(airpath.Spring))
	assert.NotZero(t, p.Notes&airpath.NoteSpeedUnmet)
	assert.NotZero(t, p.Notes&airpath.NoteOverpulled)
}

// A spring that nothing opens is why there is no boost to rest at, and is named; the wastegate's tables still say what it lacks.
func TestSpringThatNothingOpensIsNamed(t *testing.T) {
	trim := withActuator(t, "open", 1.55e5, func(y *wastegate.System) { y.Actuator.Preload = 5000 })
	r, err := Solve(t.Context(), "sheet", trim, []float64{5300 * spectest.PerRPM})
	require.NoError(t, err)
	require.ErrorContains(t, r.Outcomes[0].Err, "wastegate actuator: it opens the wastegate too little")
	g, err := r.Gate()
	require.NoError(t, err)
	assert.Negative(t, g.Points[0].Holding.OpeningMargin)
	_, known := g.Points[0].Held()
	assert.False(t, known)
}

// With a stroke too short for the boost asked for, more asked never gives less, nor does the burn of the engine hop it over speed.
func TestShortStrokeIsMonotone(t *testing.T) {
	for _, n := range []float64{4400, 4500, 4700, 4750, 4900} {
		last := 0.0
		for target := 0.6e5; target <= 1.6e5; target += 0.1e5 {
			trim := withActuator(t, "open", target, func(y *wastegate.System) { y.Actuator.Preload, y.Actuator.Stroke = 400, 3e-3 })
			r, err := Solve(t.Context(), "sheet", trim, []float64{n * spectest.PerRPM})
			require.NoError(t, err)
			o := &r.Outcomes[0]
			require.NoError(t, o.Err)
			assert.GreaterOrEqual(t, o.Point.ManifoldPressure, last*(1-1e-6), "%v rpm, %v Pa", n, target)
			last = o.Point.ManifoldPressure
		}
	}
}

// withActuator changes the example's actuator and what drives it, and asks for one boost at every speed, Pa above the venue.
func withActuator(t testing.TB, name string, target float64, change func(y *wastegate.System)) *spec.Trim {
	trim := spectest.Trim(t, spectest.Hillclimb, name)
	change(&trim.Control.System)
	trim.Boost.Target = numeric.Constant(target)
	return trim
}
