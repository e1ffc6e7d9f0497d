package check

import (
	"math"
	"slices"
	"sync"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/numeric"
	"bellmouth/internal/run"
)

// A Review is a run looked over as a whole: what is judged, and what is said of the whole range of speeds, is read from it. The tables over speed keep
// to the speeds asked for.
type Review struct {
	Grid *run.Run // at the speeds asked for
	Fine *run.Run // with what matters between them: where a limit is nearest or furthest passed, where torque, power and fuel flow peak, where
	// limits begin and end, and points without a solution

	at *judged // what is judged at the points of Fine

	findingsOnce sync.Once
	findings     []Finding
	findingsErr  error
}

// Over looks a run over, between its speeds too.
func Over(r *run.Run) *Review {
	at := judging(r)
	search := boost.Search{
		Engine: r.Engine, Load: boost.FullLoad(r.Engine, r.Trim.Boost.Target), Curves: []numeric.Curve{r.Trim.Boost.Target},
		Figures: at.figures(r), Marks: at.marks(r),
	}
	return &Review{Grid: r, Fine: r.With(search.Refine(r.Context, r.Outcomes)), at: at}
}

// At looks a run over at its own speeds alone.
func At(r *run.Run) *Review { return &Review{Grid: r, Fine: r, at: judging(r)} }

// Findings returns what there is to say of the run: of its operating points and of what holds the boost, feeds, fires and fills the engine, as far as
// the spec has the parts. Each says what to do about it, and what the spec waives is told as waived.
func (v *Review) Findings() ([]Finding, error) {
	v.findingsOnce.Do(func() {
		if v.findings, v.findingsErr = v.found(); v.findingsErr == nil {
			v.advise(v.findings)
			waive(v.findings, v.Fine.Trim.Waivers)
		}
	})
	return slices.Clone(v.findings), v.findingsErr
}

func (v *Review) found() ([]Finding, error) {
	findings := Judge(InputOf(v.Fine))
	gate, ok, err := v.gate()
	if err != nil {
		return nil, err
	}
	if ok {
		findings = append(findings, Wastegate(gate)...)
	}
	findings = append(append(findings, v.bottom()...), v.clearances()...)
	findings = append(findings, v.Feed()...)
	if v.Grid.Wired() {
		c, err := v.Grid.Circuits()
		if err != nil {
			return nil, err
		}
		findings = append(findings, Wiring(c, v.Grid)...)
	}
	ignition, err := v.ignition()
	if err != nil {
		return nil, err
	}
	cylinders, err := v.Cylinders()
	if err != nil {
		return nil, err
	}
	oil, err := v.oil()
	if err != nil {
		return nil, err
	}
	cooling, err := v.cooling()
	if err != nil {
		return nil, err
	}
	gears, err := Gears(v.Fine)
	if err != nil {
		return nil, err
	}
	return slices.Concat(findings, ignition, cylinders, oil, cooling, gears), nil
}

// of returns what is remembered at an outcome that has a solution, and what compute returns at one that has none.
func of[T any](m *remembered[T], o *boost.Outcome, compute func(o *boost.Outcome) T) T {
	if o.Err != nil {
		return compute(o)
	}
	return m.of(o)
}

// gate returns how the actuator holds the points; ok is false without one.
func (v *Review) gate() (g *run.Gate, ok bool, err error) {
	if !v.Fine.HasActuator() {
		return nil, false, nil
	}
	if g, err = run.NewGate(v.Fine); err != nil {
		return nil, false, err
	}
	for i := range v.Fine.Outcomes {
		g.Points = append(g.Points, of(v.at.gate, &v.Fine.Outcomes[i], g.Hold))
	}
	return g, true, nil
}

// Feed returns the findings on the fuel system, for what the spec has of it: pump and lift pump margin, injector duty on a weak battery, shortest
// pulse at light load, and whether the tank holds the fuel of a stage or lap.
func (v *Review) Feed() []Finding {
	fs := v.pumps()
	add := func(f Finding, ok bool) {
		if ok {
			fs = append(fs, f)
		}
	}
	add(WeakBattery(v.Fine, v.at.battery))
	add(LightLoadPulse(v.Grid))
	add(Tank(v.Fine))
	return fs
}

func (v *Review) pumps() []Finding {
	if !v.Fine.Fed() {
		return nil
	}
	feeds, system := make([]run.Feed, len(v.Fine.Outcomes)), v.Fine.FuelSystem()
	for i := range feeds {
		feeds[i] = of(v.at.feed, &v.Fine.Outcomes[i], system.At)
	}
	return Pumps(feeds, v.Fine.Trim.Supply.Lift != nil)
}

func (v *Review) ignition() ([]Finding, error) {
	if v.at.octane != nil {
		return Spark(v.Fine, v.at.octane.of), nil
	}
	needs, err := v.Fine.OctaneNeeds()
	if err != nil {
		return nil, err
	}
	return Spark(v.Fine, needs), nil
}

// Cylinders returns the findings on single cylinders, none without a section manifold.spread. The shares of the air are those at the speeds asked for.
func (v *Review) Cylinders() ([]Finding, error) {
	shares, err := v.Grid.Shares()
	if doubt := run.Unread(err); doubt != nil {
		return []Finding{UnreadShares(doubt)}, nil
	}
	if err != nil || shares == nil {
		return nil, err
	}
	return Cylinders(v.Fine, shares.Air, v.at.cylinders.of)
}

// InputOf returns a run's operating points with what they are judged by.
func InputOf(r *run.Run) Input {
	t := r.Trim
	c := t.Engine.Cylinder
	in := Input{
		Outcomes:         r.Outcomes,
		Venue:            t.Venue.Pressure,
		SurgeMargin:      t.Limits.SurgeMargin,
		Duty:             t.Limits.InjectorDuty,
		PeakPressure:     t.Limits.PeakCylinderPressure,
		KnockIntegral:    t.Engine.Combustion.KnockLimit,
		BestCA50:         t.Engine.Combustion.BestCA50,
		LatestCA50:       t.Engine.Combustion.LatestCA50,
		TurbineInlet:     t.Limits.TurbineInletTemperature,
		Torque:           t.Driveline.TorqueLimit,
		MeanPistonSpeed:  t.Limits.MeanPistonSpeed,
		LimiterSpeed:     t.Engine.Limiter,
		PistonAtLimiter:  c.MeanPistonSpeed(t.Engine.Limiter),
		Compressor:       r.Forced(),
		InjectionPresent: t.Injection != nil,
	}
	if r.Forced() {
		// The map's top line is a limit of its own: beyond it nothing is known.
		in.ShaftSpeed, in.MapTop = r.Engine.Compressor.Map.UncorrectSpeed(t.Compressor.Map.TopSpeed(), t.Venue.Temperature), true
		if l := t.Compressor.SpeedLimit; l > 0 && l <= in.ShaftSpeed {
			in.ShaftSpeed, in.MapTop = l, false
		}
		if l := t.Turbine.InletTemperatureLimit; l > 0 && (in.TurbineInlet == 0 || l < in.TurbineInlet) {
			in.TurbineInlet = l
		}
	}
	return in
}

// marks are what a table or a verdict names the speeds of.
func (c *judged) marks(r *run.Run) []boost.Mark {
	ms := InputOf(r).Marks()
	if r.Forced() {
		ms = append(ms, run.ReachesBoost, run.KeepsBoost)
	}
	if c.cylinders != nil {
		for _, past := range []func(s *run.Single) bool{
			func(s *run.Single) bool { return Passes(s.KnockIntegral, r.Trim.Engine.Combustion.KnockLimit) },
			func(s *run.Single) bool {
				most := r.Trim.Limits.PeakCylinderPressure
				return most > 0 && Passes(s.PeakPressure, most)
			},
		} {
			ms = append(ms, func(o *boost.Outcome) bool {
				return slices.ContainsFunc(c.cylinders.of(o).Cylinders, func(s run.Single) bool { return s.Err == nil && past(&s) })
			})
		}
	}
	if c.battery != nil && r.Trim.Injection.Staging.TwoSets() {
		ms = append(ms, func(o *boost.Outcome) bool { // with a weak battery the second set comes in elsewhere
			row, err := r.Weakest(&o.Point, c.battery)
			return err == nil && row.Injection.Secondary.Pulse > 0
		})
	}
	return ms
}

// figures are what is looked for between the speeds: everything that a verdict or the summary names the worst or the best of.
func (c *judged) figures(r *run.Run) []boost.Figure {
	none := math.NaN()
	fs := InputOf(r).Figures()
	for _, get := range []func(p *airpath.Point) float64{run.Torque, run.Power, run.FuelFlow} {
		fs = append(fs, boost.Figure{Limit: none, Of: func(o *boost.Outcome) (float64, bool) { return get(&o.Point), true }})
	}
	add := func(limit float64, of func(o *boost.Outcome) (float64, bool)) {
		fs = append(fs, boost.Figure{Limit: limit, Of: of, Costly: true})
	}
	if c.gate != nil {
		held := func(get func(g *run.GatePoint) (float64, bool)) func(o *boost.Outcome) (float64, bool) {
			return func(o *boost.Outcome) (float64, bool) {
				g := c.gate.of(o)
				if g.HoldErr != nil {
					return 0, false
				}
				return get(&g)
			}
		}
		add(0, held(func(g *run.GatePoint) (float64, bool) { return -g.Holding.ForceMargin, true }))
		add(0, held(func(g *run.GatePoint) (float64, bool) { return -g.Holding.TravelMargin, true }))
		add(-LittleDuty, held(func(g *run.GatePoint) (float64, bool) { return -g.Holding.Authority, g.Regulates() }))
	}
	if c.feed != nil {
		fed := func(get func(f *run.Feed) float64) func(o *boost.Outcome) (float64, bool) {
			return func(o *boost.Outcome) (float64, bool) {
				f := c.feed.of(o)
				if f.Err != nil {
					return math.Inf(1), true // it cannot be judged, which fails
				}
				return get(&f), true
			}
		}
		add(0, fed(func(f *run.Feed) float64 { return -f.Margin() }))
		if r.Trim.Supply.Lift != nil {
			add(0, fed(func(f *run.Feed) float64 { return -f.LiftMargin() }))
		}
	}
	if c.cranks != nil {
		for _, x := range []struct {
			kind  run.LoadKind
			limit float64
		}{{run.RodCompression, r.Trim.Limits.RodCompression}, {run.PinLoad, r.Trim.Limits.CrankPinPressure}} {
			if x.limit > 0 {
				add(none, func(o *boost.Outcome) (float64, bool) {
					l := c.cranks.of(o)
					return l.Peak(x.kind).Value, l.Err == nil
				})
			}
		}
	}
	if r.Trim.Engine.Head != nil {
		fs = append(fs, boost.Figure{Limit: none, Of: func(o *boost.Outcome) (float64, bool) { return o.Point.PeakPressure, true }})
	}
	if c.battery != nil {
		add(1, func(o *boost.Outcome) (float64, bool) {
			row, err := r.Weakest(&o.Point, c.battery)
			return run.HighestDuty(&row), err == nil
		})
	}
	if r.GapKnown() {
		add(-VoltageKept, func(o *boost.Outcome) (float64, bool) {
			m, err := r.VoltageMargin(&o.Point, r.Trim.Ignition.SupplyVoltage)
			return -m, err == nil
		})
	}
	if c.octane != nil {
		add(none, func(o *boost.Outcome) (float64, bool) {
			n := c.octane.of(o)
			return n.Octane, n.Known
		})
	}
	if c.cylinders != nil {
		worst := func(get func(res *airpath.SingleResult) float64) func(o *boost.Outcome) (float64, bool) {
			return func(o *boost.Outcome) (most float64, any bool) {
				singles := c.cylinders.of(o)
				for k := range singles.Cylinders {
					if one := &singles.Cylinders[k]; one.Err == nil {
						most, any = math.Max(most, get(&one.SingleResult)), true
					}
				}
				return most, any
			}
		}
		add(none, func(o *boost.Outcome) (float64, bool) { return o.Point.Lambda, true }) // a cylinder's is a constant share of it
		add(r.Trim.Engine.Combustion.KnockLimit, worst(func(res *airpath.SingleResult) float64 { return res.KnockIntegral }))
		if l := r.Trim.Limits.PeakCylinderPressure; l > 0 {
			add(l, worst(func(res *airpath.SingleResult) float64 { return res.PeakPressure }))
		}
	}
	return fs
}

// judged computes what is judged at a point besides the point itself, each once. What the spec has no parts for is nil.
type judged struct {
	gate      *remembered[run.GatePoint]
	feed      *remembered[run.Feed]
	battery   *run.Battery
	octane    *remembered[run.OctaneNeed]
	cylinders *remembered[run.Singles]

	crank   *run.Cranks
	cranks  *remembered[run.CrankLoad]
	overrun run.CrankLoad
}

// judging returns what computes it for a run's engine.
func judging(r *run.Run) *judged {
	var c judged
	if r.HasActuator() {
		if g, err := run.NewGate(r); err == nil {
			c.gate = remember(g.Hold)
		}
	}
	if r.Fed() {
		c.feed = remember(r.FuelSystem().At)
	}
	if r.HasBottomEnd() {
		if k, err := run.NewCranks(r); err == nil {
			c.crank, c.cranks, c.overrun = k, remember(k.At), k.Overrun()
		}
	}
	c.battery = r.Battery()
	if needs, err := r.OctaneNeeds(); err == nil {
		c.octane = remember(needs)
	}
	if shares, err := r.Shares(); err == nil && shares != nil {
		c.cylinders = remember(func(o *boost.Outcome) run.Singles { return r.SinglesAt(&o.Point, shares.Air) })
	}
	return &c
}

// remembered computes something of a point once, by its speed. It serves any number of goroutines.
type remembered[T any] struct {
	compute func(o *boost.Outcome) T
	mu      sync.Mutex
	known   map[float64]*once[T]
}

type once[T any] struct {
	sync.Once
	x T
}

func remember[T any](compute func(o *boost.Outcome) T) *remembered[T] {
	return &remembered[T]{compute: compute, known: map[float64]*once[T]{}}
}

func (m *remembered[T]) of(o *boost.Outcome) T {
	m.mu.Lock()
	x := m.known[o.Speed]
	if x == nil {
		x = &once[T]{}
		m.known[o.Speed] = x
	}
	m.mu.Unlock()
	x.Do(func() { x.x = m.compute(o) })
	return x.x
}
