package sheet

import (
	"math"
	"sync"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/numeric"
	"bellmouth/internal/run"
)

// refined returns the run with what matters between its speeds besides: where a limit is nearest or furthest passed, where torque and
// power peak, where limits begin and end, and points without a solution. What is judged and what is said of the whole range of
// speeds is read from it; the tables over speed keep to the speeds asked for. It is computed once.
func (r *Run) refined() *Run {
	r.once.Do(func() {
		if r.fine != nil {
			return
		}
		c := r.judged()
		fine := &Run{grid: r, at: c}
		fine.fine = fine
		search := boost.Search{
			Engine: r.Engine, Load: boost.FullLoad(r.Engine, r.Trim.Boost.Target), Curves: []numeric.Curve{r.Trim.Boost.Target},
			Figures: r.figures(c), Marks: r.marks(c),
		}
		fine.Run = r.With(search.Refine(r.Outcomes))
		r.fine = fine
	})
	return r.fine
}

// asked returns the run at the speeds asked for.
func (r *Run) asked() *Run {
	if r.grid != nil {
		return r.grid
	}
	return r
}

// peak returns the refined outcome with the highest value of a figure; nil where no point has a solution.
func (r *Run) peak(get func(p *airpath.Point) float64) *boost.Outcome {
	return r.refined().Run.Peak(get)
}

// marks are what a table or a verdict names the speeds of.
func (r *Run) marks(c *judgedAt) []boost.Mark {
	ms := r.limits().Marks()
	if r.Forced() {
		ms = append(ms, run.ReachesBoost, run.KeepsBoost)
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
func (r *Run) figures(c *judgedAt) []boost.Figure {
	none := math.NaN()
	fs := r.limits().Figures()
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
		add(-check.LittleDuty, held(func(g *run.GatePoint) (float64, bool) { return -g.Holding.Authority, g.Regulates() }))
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
	if c.battery != nil {
		add(1, func(o *boost.Outcome) (float64, bool) {
			row, err := r.Weakest(&o.Point, c.battery)
			return run.HighestDuty(&row), err == nil
		})
	}
	if r.GapKnown() {
		add(-check.VoltageKept, func(o *boost.Outcome) (float64, bool) {
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

// judgedAt computes what is judged at a point besides the point itself, each once. What the spec has no parts for is nil.
type judgedAt struct {
	gate      *remembered[run.GatePoint]
	feed      *remembered[run.Feed]
	battery   *run.Battery
	octane    *remembered[run.OctaneNeed]
	cylinders *remembered[run.Singles]
}

// judged returns what computes it.
func (r *Run) judged() *judgedAt {
	var c judgedAt
	if r.HasActuator() {
		if g, err := run.NewGate(r.Run); err == nil {
			c.gate = remember(g.Hold)
		}
	}
	if r.Fed() {
		c.feed = remember(r.FuelSystem().At)
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
