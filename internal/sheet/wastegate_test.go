package sheet

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/gas"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/wastegate"
)

// gateOf returns the gate of a trim over its whole speed range, the trim changed first.
func gateOf(t testing.TB, name string, change func(trim *spec.Trim)) *Gate {
	t.Helper()
	trim := trimOf(t, hillclimb, name)
	if change != nil {
		change(trim)
	}
	r, err := Solve("wastegate", trim, boost.Speeds(1500*perRPM, 7800*perRPM, 500*perRPM))
	require.NoError(t, err)
	g, err := r.Gate()
	require.NoError(t, err)
	return g
}

// knocking lets the boost be ended by knock: a poorer fuel.
func knocking(trim *spec.Trim) { trim.Fuel.KnockOctane = 92 }

// variants are boost controls that work each in their own way.
func variants() map[string]func(trim *spec.Trim) {
	return map[string]func(trim *spec.Trim){
		"as given": func(*spec.Trim) {},
		"a bleed on one port": func(trim *spec.Trim) {
			y := &trim.Control.System
			y.Actuator.Preload, y.Actuator.ClosingArea = 150, 0
			y.Opening, y.Closing = &wastegate.PulsedValve{Kind: wastegate.Bleed, Area: 2.2e-6, BleedArea: 1.2e-6}, nil
		},
		"two opposed valves from the manifold": func(trim *spec.Trim) {
			trim.Control.FromManifold = true
			trim.Control.Opening = &wastegate.PulsedValve{Kind: wastegate.ThreeWay, Area: 2.2e-6}
		},
		"pressed shut by the exhaust, a lever": func(trim *spec.Trim) {
			trim.Control.Actuator.ExhaustShuts, trim.Control.Actuator.LeverRatio, trim.Control.Actuator.Stroke = true, 1.6, 0.018
			trim.Control.Actuator.Preload = 100
		},
		"knock ends the boost": knocking,
	}
}

// The duty of the base table, put back: the actuator is asked where it comes to rest at that duty, with the engine solved anew
// at every trial, and comes to the boost that the duty was found for.
func TestDutyRoundTrip(t *testing.T) {
	const within = 1e3 // Pa; a boost gauge shows 10 kPa, boost control works to 2 kPa
	for name, change := range variants() {
		for _, trim := range []string{"open", "capped"} {
			g := gateOf(t, trim, change)
			v := g.trial.solvers()
			venue := g.run.Trim.Venue.Pressure
			held, knocked := 0, 0
			for i := range g.rows {
				o := &g.rows[i]
				require.NoError(t, o.Err)
				require.NoError(t, o.trialErr)
				require.NoError(t, o.holdErr)
				if !o.controls() || o.holding.Short != wastegate.NoSide {
					continue
				}
				held++
				if o.Point.Limit == airpath.Knock || o.Point.Limit == airpath.CylinderPressure {
					knocked++
				}
				// Force and pressures: what the table prints.
				h := &o.holding
				scale := g.system.Actuator.Preload + math.Abs(h.PortForce)
				require.InDelta(t, h.NeededForce, h.PortForce, 1e-6*scale, "%s, %s, %v rpm: force left over", name, trim, run.RPM(o.Speed))
				source := g.point(&o.Point).SourcePressure
				for _, p := range []float64{h.OpeningPressure, h.ClosingPressure} {
					require.GreaterOrEqual(t, p, venue-1e-6)
					require.LessOrEqual(t, p, source+1e-6)
				}
				span := wastegate.Span{Lowest: o.open.ManifoldPressure - venue, Highest: o.most.ManifoldPressure - venue}
				back, err := g.system.BoostAt(o.duty(), o.engine(v), span)
				require.NoError(t, err, "%s, %s, %v rpm", name, trim, run.RPM(o.Speed))
				require.InDelta(t, o.Boost(venue), back.Boost, within, "%s, %s, %v rpm", name, trim, run.RPM(o.Speed))
				// The solver is good to far better than the kilopascal, and so is this.
				require.InDelta(t, o.Boost(venue), back.Boost, 20, "%s, %s, %v rpm", name, trim, run.RPM(o.Speed))
			}
			assert.GreaterOrEqual(t, held, 8, "%s, %s: the wastegate controls from spooling up", name, trim)
			if name == "knock ends the boost" && trim == "open" {
				assert.Positive(t, knocked)
			}
		}
	}
}

// The same with boost controls, wastegates, turbines and fuels thrown together: what is not short comes back, and the tables
// of those that creep, run away or have no balance are sound.
func TestRandomBoostControls(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 9))
	held := 0
	engines, least := 60, 150
	if testing.Short() {
		engines, least = 6, 5
	}
	for n := range engines {
		spread := func(lo, hi float64) float64 { return lo * math.Exp(rng.Float64()*math.Log(hi/lo)) }
		name := []string{"open", "capped"}[n%2]
		g := gateOf(t, name, func(trim *spec.Trim) {
			trim.Wastegate.Bore *= spread(0.4, 1.5)
			trim.Turbine.EffectiveArea *= spread(0.7, 1.5)
			trim.Fuel.KnockOctane = spread(88, 125)
			y := &trim.Control.System
			y.Actuator.Preload *= spread(0.3, 2.5)
			y.Actuator.Rate *= spread(0.1, 3)
			y.Actuator.LeverRatio = spread(0.5, 2)
			y.Actuator.Stroke *= spread(0.3, 2)
			y.Actuator.ValveDiameter *= spread(0.3, 1.3)
			y.Actuator.ExhaustShuts = rng.IntN(4) == 0
			trim.Control.FromManifold = rng.IntN(2) == 0
			switch rng.IntN(4) {
			case 0:
				y.Opening, y.Closing = &wastegate.PulsedValve{Kind: wastegate.Bleed, Area: 2e-6, BleedArea: 1e-6 * spread(0.2, 3)}, nil
			case 1:
				y.Opening = &wastegate.PulsedValve{Kind: wastegate.ThreeWay, Area: 2e-6}
			case 2:
				y.Opening, y.Closing = nil, &wastegate.PulsedValve{Kind: wastegate.Vent, Area: 2e-6, BleedArea: 1e-6}
			}
		})
		doc := table.Document{Command: "wastegate", Tables: gateTables(g)}
		require.NoError(t, doc.Check(), "%d", n)
		v := g.trial.solvers()
		venue := g.run.Trim.Venue.Pressure
		for i := range g.rows {
			o := &g.rows[i]
			span := wastegate.Span{Lowest: o.open.ManifoldPressure - venue, Highest: o.most.ManifoldPressure - venue}
			if o.Err != nil || o.trialErr != nil || o.holdErr != nil || !o.controls() || o.holding.Short != wastegate.NoSide || !(span.Highest-span.Lowest > controlled) {
				continue
			}
			held++
			back := o.find(span, func(span wastegate.Span) (wastegate.Reach, error) {
				return g.system.BoostAt(o.duty(), o.engine(v), span)
			})
			require.NoError(t, back.err, "%d, %v rpm", n, run.RPM(o.Speed))
			require.InDelta(t, o.Boost(venue), back.Boost, 1e3, "%d, %v rpm", n, run.RPM(o.Speed))
		}
	}
	assert.Greater(t, held, least)
}

// The duty from the forces by hand, in closed form: a three-way valve is open for the share u of the time for which
// u A ps ψ(pc/ps) = (1 − u) A pc ψ(pa/pc), and pc is what the free body asks for.
func TestDutyByHand(t *testing.T) {
	g := gateOf(t, "open", nil)
	a := g.run.Trim.Control.Actuator
	pa := g.run.Trim.Venue.Pressure
	seen := 0
	for i := range g.rows {
		o := &g.rows[i]
		p := &o.Point
		if !o.controls() {
			continue
		}
		seen++
		exhaust := (p.TurbineInletPressure - p.TurbineOutletPressure) * math.Pi / 4 * 0.040 * 0.040
		spring := 280 + 14e3*p.WastegateLift
		pc := pa + ((p.CompressorOutlet-pa)*40e-4+exhaust-spring)/38e-4
		require.InDelta(t, pc, o.holding.ClosingPressure, 1, "pressure on the spring's side")
		gamma := g.air.Gamma(p.OutletTemperature)
		in := p.CompressorOutlet * gas.FlowFunction(pc/p.CompressorOutlet, gamma)
		out := pc * gas.FlowFunction(pa/pc, gamma)
		require.InDelta(t, out/(in+out), o.holding.ClosingDuty, 1e-5)
		require.InDelta(t, 280, a.Preload, 1e-9)
	}
	assert.GreaterOrEqual(t, seen, 8)
}

// Boost over duty by differences: a step of 1 % put through the solver moves the boost by what the table says.
func TestBoostPerDuty(t *testing.T) {
	for _, trim := range []string{"open", "capped"} {
		g := gateOf(t, trim, nil)
		v := g.trial.solvers()
		venue := g.run.Trim.Venue.Pressure
		for i := range g.rows {
			o := &g.rows[i]
			if math.IsNaN(o.perDuty) {
				continue
			}
			require.NoError(t, o.perDutyErr)
			span := wastegate.Span{Lowest: o.open.ManifoldPressure - venue, Highest: o.most.ManifoldPressure - venue}
			less, err := g.system.BoostAt(o.duty()-0.01, o.engine(v), span)
			require.NoError(t, err)
			assert.InEpsilon(t, o.Boost(venue)-less.Boost, o.perDuty, 0.08, "%s, %v rpm: the course of boost over duty bends a little", trim, run.RPM(o.Speed))
		}
	}
}

// The gas rebuilt for the wastegate is the one the point was solved with: through the same area the same flow passes.
func TestNozzle(t *testing.T) {
	g := gateOf(t, "open", nil)
	for i := range g.rows {
		o := &g.rows[i]
		n, err := g.nozzle(&o.Point)
		require.NoError(t, err)
		assert.InEpsilon(t, o.Point.WastegateMaxFlow, g.run.Trim.Wastegate.MaxFlow(n), 1e-5)
	}
}

// A wastegate of the bore that is advised holds what crept; a slightly smaller one does not.
func TestBoreAgainstCreep(t *testing.T) {
	small := func(bore float64) func(trim *spec.Trim) {
		return func(trim *spec.Trim) {
			trim.Fuel.KnockOctane = 130 // no knock: late burning makes the exhaust hotter, and the first bore would do for less
			trim.Wastegate.Bore = bore
		}
	}
	g := gateOf(t, "open", small(0.022))
	worst := 0.0
	for i := range g.rows {
		if o := &g.rows[i]; !math.IsNaN(o.bore) {
			require.NoError(t, o.boreErr)
			assert.Equal(t, valveShort, o.short())
			assert.Positive(t, o.creep())
			worst = math.Max(worst, o.bore)
		}
	}
	require.Positive(t, worst, "a wastegate of 22 mm creeps")
	creeps := func(bore float64) bool {
		return gateOf(t, "open", small(bore)).any((*gateRow).creeps)
	}
	assert.True(t, creeps(worst*0.998))
	assert.False(t, creeps(worst*1.002))
}

// The preloads advised: at their ends every point is still held, beyond them one is not.
func TestPreloadRange(t *testing.T) {
	p, _, err := gateOf(t, "capped", nil).preloads()
	require.NoError(t, err)
	require.True(t, p.Possible())
	short := func(preload float64) bool {
		g := gateOf(t, "capped", func(trim *spec.Trim) { trim.Control.Actuator.Preload = preload })
		return g.any(func(o *gateRow) bool { return o.short() != nothing })
	}
	assert.False(t, short(p.Lowest+0.1))
	assert.True(t, short(p.Lowest-0.1))
	assert.False(t, short(p.Highest-0.1))
	assert.True(t, short(p.Highest+0.1))
}

// What is short is named, with the boost that it leads to on the right side of the one wanted.
func TestShortSides(t *testing.T) {
	for name, c := range map[string]struct {
		change func(trim *spec.Trim)
		side   string
		above  bool
		check  string
	}{
		"weak spring":   {func(trim *spec.Trim) { trim.Control.Actuator.Preload = 60 }, "closing", false, "wastegate actuator force to spare"},
		"strong spring": {func(trim *spec.Trim) { trim.Control.Actuator.Preload = 900 }, "opening", true, "wastegate actuator force to spare"},
		"short stroke":  {func(trim *spec.Trim) { trim.Control.Actuator.Stroke = 0.0035 }, "travel", true, "wastegate lift that the actuator has left"},
		"small valve":   {func(trim *spec.Trim) { trim.Wastegate.Bore = 0.022 }, valveShort, true, ""},
	} {
		g := gateOf(t, "open", c.change)
		found := false
		for i := range g.rows {
			o := &g.rows[i]
			if o.short() == nothing {
				continue
			}
			assert.Equal(t, c.side, o.short(), "%s at %v rpm", name, run.RPM(o.Speed))
			found = true
			held, ok := o.held()
			require.True(t, ok, name)
			if c.above {
				assert.Greater(t, held, o.wanted(), name)
			} else {
				assert.Less(t, held, o.wanted(), name)
			}
			assert.NotEmpty(t, o.shortMeans())
		}
		assert.True(t, found, name)
		if c.check != "" {
			assert.Contains(t, check.Failed(g.Findings()), c.check, name)
		}
	}
}

// The example holds its boost, and its checks say so.
func TestGateFindings(t *testing.T) {
	for _, trim := range []string{"open", "capped"} {
		fs := gateOf(t, trim, nil).Findings()
		assert.Len(t, fs, 3)
		assert.Empty(t, check.Failed(fs))
		for _, f := range fs {
			assert.Equal(t, check.OK, f.Verdict, f.What)
			assert.GreaterOrEqual(t, f.Margin(), 0.0)
		}
	}
	little := gateOf(t, "open", func(trim *spec.Trim) { trim.Control.Actuator.Preload = 705 }).Findings()
	assert.Equal(t, check.Note, little[2].Verdict, "next to no duty: something to know, and nothing that fails")
	bare := gateOf(t, "open", func(trim *spec.Trim) { trim.Actuator, trim.Control = nil, nil })
	assert.Empty(t, bare.Findings())
	assert.False(t, bare.HasActuator())
}

// gateTables returns all tables of a gate.
func gateTables(g *Gate) []table.Table {
	if !g.HasActuator() {
		return []table.Table{g.Valve()}
	}
	return []table.Table{g.Control(), g.Range(), g.Valve(), g.Sizing()}
}

// Tables are sound whatever the boost control is made of, and where points have no solution.
func TestGateTables(t *testing.T) {
	all := variants()
	all["no actuator"] = func(trim *spec.Trim) { trim.Actuator, trim.Control = nil, nil }
	all["no pulsed valve"] = func(trim *spec.Trim) { trim.Control.Opening, trim.Control.Closing = nil, nil }
	all["small valve"] = func(trim *spec.Trim) { trim.Wastegate.Bore = 0.022 }
	all["far too small a valve"] = func(trim *spec.Trim) { trim.Wastegate.Bore = 0.008 }
	all["a very short stroke"] = func(trim *spec.Trim) { trim.Control.Actuator.Stroke = 0.0005 }
	all["no balance"] = func(trim *spec.Trim) {
		trim.Control.Actuator.ValveDiameter, trim.Control.Actuator.ExhaustShuts = 0.09, true
	}
	for name, change := range all {
		for _, trim := range []string{"open", "capped"} {
			doc := table.Document{Command: "wastegate", Tables: gateTables(gateOf(t, trim, change))}
			assert.NoError(t, doc.Check(), "%s, %s", name, trim)
		}
	}
	r := solved(t, hillclimb, "capped", 2000, 4000)
	for i := range r.Outcomes {
		r.Outcomes[i].Err = &airpath.PointError{Speed: r.Outcomes[i].Speed, Stage: "turbine", Reason: "no expansion ratio drives the compressor"}
		g, err := r.Gate()
		require.NoError(t, err)
		doc := table.Document{Command: "wastegate", Tables: gateTables(g)}
		assert.NoError(t, doc.Check())
	}
}

// BenchmarkGate is a trim from its operating points to all that the actuator does: 14 speeds.
func BenchmarkGate(b *testing.B) {
	r := gateOf(b, "open", nil).run
	b.ReportAllocs()
	for b.Loop() {
		if _, err := r.Gate(); err != nil {
			b.Fatal(err)
		}
	}
}

// TestSizingOutOfReach: a stroke too short for every point is said once, and in the tuner's words.
func TestSizingOutOfReach(t *testing.T) {
	trim := trimOf(t, hillclimb, "capped")
	trim.Control.Actuator.Stroke = 0.5e-3
	r, err := Solve("wastegate", trim, []float64{5000 * perRPM})
	require.NoError(t, err)
	g, err := r.Gate()
	require.NoError(t, err)
	assert.Equal(t, "The preload that suits is not known: no solved point lies within the actuator's stroke and short of wide open.", g.Sizing().Notes[0])
}
