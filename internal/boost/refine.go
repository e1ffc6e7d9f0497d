package boost

import (
	"context"
	"math"
	"sort"

	"bellmouth/internal/airpath"
	"bellmouth/internal/numeric"
	"bellmouth/internal/pool"
)

// A Figure is a figure of an operating point whose highest value over engine speed is looked for.
type Figure struct {
	Of     func(o *Outcome) (value float64, applies bool) // of a solved point; may be called from several goroutines
	Limit  float64                                        // that the value is held against; NaN: none
	Within float64                                        // the share to which it is wanted; 0: 5e-4
	Costly bool                                           // takes as long as the point: asked only where a mark ends and where it is looked for
}

// A Mark is something that holds at a solved point or does not. Where it begins and ends over engine speed is looked for.
type Mark func(o *Outcome) bool

// A Load is an operating point of an engine at a speed, rad/s, from solved ones near it.
type Load func(v *airpath.Solver, speed float64, near airpath.Near) Outcome

// FullLoad returns an engine's full load for a boost target, Pa above the venue over engine speed in rad/s.
func FullLoad(e *airpath.Engine, target numeric.Curve) Load {
	return func(v *airpath.Solver, speed float64, near airpath.Near) Outcome {
		return solve(e, v, target, speed, near)
	}
}

// A Search looks between the speeds of a grid for the speeds that matter.
type Search struct {
	Engine  *airpath.Engine
	Load    Load
	Curves  []numeric.Curve // over engine speed that act on the points besides the engine's own, as the boost target
	Figures []Figure
	Marks   []Mark
	Step    float64 // the widest of a grid that shows what lies in it, rad/s; 0: 500 rpm
}

// How closely a search looks, in rad/s.
const (
	markWithin   = 4 * math.Pi / 30   // a mark's ends
	figureWithin = 1 * math.Pi / 30   // a figure's worst speed, at most
	narrow       = 8 * math.Pi / 30   // a gap without a solution that is not told: the solver's, not the engine's
	widestStep   = 500 * math.Pi / 30 // of a grid that shows what lies in it, where the search has no other
	curveStep    = 10 * math.Pi / 30  // of reading the tables
)

const (
	// A figure's highest value is found to this share of itself or of its limit, and where both are small of what the figure has
	// elsewhere: to less than a gauge shows.
	figureTolerance, elsewhere = 5e-4, 0.05
	// A table that leaves the chord between two speeds by this share of its value makes a point there worth while.
	curveBend = 0.01
	// No step of the grid is given more points than these: 42 for marks, which bring six changes in 500 rpm to within 4 rpm, and 16 for each
	// figure. What still varies then is the solver's residue.
	mostMarked, mostForFigure = 42, 16
)

// Refine solves what lies between the speeds of a grid, of the same load and in rising order: the highest values of the
// figures, the speeds between which the governing limit, the set of limits or a mark changes, and points without a solution that are met, but for
// gaps of less than 8 rpm, which the solver leaves where one limit takes over from another.
// It returns the grid's outcomes and, between them, those found to matter. The result does not depend on the number of cores.
//
// Marks and limits are found by halving, to 4 rpm. Figures are smooth between those, and are taken to bend one way near a
// peak: then the peak lies below the chords of the neighbouring intervals, and where these cross is solved next, until the
// crossing promises no more than 0.05 % of the figure or its limit, or the speeds are 1 rpm apart. With the figure's
// limit between the best known and what the crossing promises, only the latter ends it. Where the tables that the engine
// reads over speed bend between two speeds of the grid, and wherever it steps wider than Step, a point is solved in any case.
//
// Once the context is done it looks no further, and returns the grid.
func (s *Search) Refine(ctx context.Context, grid []Outcome) []Outcome {
	if len(grid) < 2 {
		return grid
	}
	w := &refinement{Search: s, spent: make([]int, len(grid)), spentOn: make([]int, len(s.Figures))}
	for i := range grid {
		w.nodes = append(w.nodes, w.node(grid[i], i, true))
	}
	w.add(ctx, w.scouts())
	for ctx.Err() == nil {
		wants := w.changes()
		if wants == nil {
			w.evaluate(ctx)
			if wants = w.peaks(); wants == nil && ctx.Err() == nil {
				return w.kept()
			}
			wants = w.fromPassing(wants)
		}
		w.add(ctx, wants)
	}
	return grid
}

// A node is one speed of a refinement.
type node struct {
	Outcome
	home    int // the step of the grid that it lies in
	grid    bool
	passing bool   // solved on the way to the end of a mark, or for figures that cost little
	state   uint64 // of the marks
	values  []value
}

type value struct {
	x           float64
	has, looked bool
}

// same reports whether the same limits and marks hold at two solved points.
func (n *node) same(o *node) bool {
	return n.state == o.state && n.Point.Limit == o.Point.Limit && n.Point.Limits == o.Point.Limits
}

type refinement struct {
	*Search
	nodes   []*node // by speed
	spent   []int   // points for marks, by step of the grid
	spentOn []int   // points, by figure
	rounds  int
}

// A want is a speed to be solved.
type want struct {
	speed   float64
	home    int
	passing bool
}

func (w *refinement) node(o Outcome, home int, grid bool) *node {
	n := &node{Outcome: o, home: home, grid: grid, values: make([]value, len(w.Figures))}
	if n.Err == nil {
		for i, m := range w.Marks {
			if m(&n.Outcome) {
				n.state |= 1 << i
			}
		}
	}
	return n
}

// add solves the speeds wanted, on all cores, and puts them in.
func (w *refinement) add(ctx context.Context, wants []want) {
	if len(wants) == 0 {
		return
	}
	added := make([]*node, len(wants))
	for i, x := range wants {
		added[i] = w.node(notBegun(x.speed), x.home, false)
	}
	_ = Each(ctx, w.Engine, len(wants), func(v *airpath.Solver, i int) {
		added[i] = w.node(w.solve(v, wants[i].speed), wants[i].home, false)
		added[i].passing = wants[i].passing
	})
	w.nodes = append(w.nodes, added...)
	sort.SliceStable(w.nodes, func(i, j int) bool { return w.nodes[i].Speed < w.nodes[j].Speed })
}

// solve solves a speed, or one beside it where that alone has no solution: at the very speed where one limit takes over from another
// the solver can be left without a state to settle in.
func (w *refinement) solve(v *airpath.Solver, speed float64) Outcome {
	lost := w.Load(v, speed, w.near(speed))
	if lost.Err == nil {
		return lost
	}
	for _, aside := range [...]float64{-markWithin / 4, markWithin / 4} {
		at := speed + aside
		i := sort.Search(len(w.nodes), func(i int) bool { return w.nodes[i].Speed >= at })
		if i == 0 || i == len(w.nodes) || w.nodes[i-1].Speed >= speed || w.nodes[i].Speed <= speed || w.nodes[i].Speed == at {
			continue // beyond the neighbour
		}
		if o := w.Load(v, at, airpath.Near{}); o.Err == nil {
			return o
		}
	}
	return lost
}

// near returns the points on either side of a speed, where they are solved.
func (w *refinement) near(speed float64) airpath.Near {
	i := sort.Search(len(w.nodes), func(i int) bool { return w.nodes[i].Speed >= speed })
	if i == 0 || i == len(w.nodes) || w.nodes[i-1].Err != nil || w.nodes[i].Err != nil {
		return airpath.Near{}
	}
	return airpath.Near{&w.nodes[i-1].Point, &w.nodes[i].Point}
}

// scouts returns the speeds that are solved whatever the grid's points say: where a table bends, and in wide steps.
func (w *refinement) scouts() []want {
	e := w.Engine
	curves := append([]numeric.Curve{e.VolumetricEfficiency, e.Mixture.FullLoad, e.Combustion.BurnAngle, e.Combustion.IgnitionDelay}, w.Curves...)
	widest := w.Step
	if widest == 0 {
		widest = widestStep
	}
	var wants []want
	for i := range len(w.nodes) - 1 {
		lo, hi := w.nodes[i].Speed, w.nodes[i+1].Speed
		var inside []float64
		for _, c := range curves {
			if !c.IsZero() {
				inside = bends(inside, c, lo, hi)
			}
		}
		for n, k := math.Ceil((hi-lo)/widest*(1-1e-9)), 1.0; k < n; k++ {
			inside = append(inside, lo+(hi-lo)*k/n)
		}
		sort.Float64s(inside)
		last := lo
		for _, x := range inside {
			if x-last >= curveStep && hi-x >= curveStep {
				wants, last = append(wants, want{speed: x, home: i}), x
			}
		}
	}
	return wants
}

// bends adds to xs the places between lo and hi where the chord leaves a curve, taking the curve apart there until it does not.
func bends(xs []float64, c numeric.Curve, lo, hi float64) []float64 {
	a, _ := c.At(lo)
	b, _ := c.At(hi)
	at, most := 0.0, 0.0
	for x := lo + curveStep; x < hi-curveStep/2; x += curveStep {
		y, _ := c.At(x)
		if off := math.Abs(y-(a+(b-a)*(x-lo)/(hi-lo))) / math.Max(math.Abs(y), math.Max(math.Abs(a), math.Abs(b))); off > most {
			at, most = x, off
		}
	}
	if most < curveBend {
		return xs
	}
	xs = bends(append(xs, at), c, lo, at)
	return bends(xs, c, at, hi)
}

// changes returns the middles between neighbours of which limits or marks differ.
func (w *refinement) changes() []want {
	var wants []want
	for i := range len(w.nodes) - 1 {
		a, b := w.nodes[i], w.nodes[i+1]
		if a.Err != nil || b.Err != nil || a.same(b) || b.Speed-a.Speed <= markWithin || w.spent[a.home] >= mostMarked {
			continue
		}
		w.spent[a.home]++
		wants = append(wants, want{speed: (a.Speed + b.Speed) / 2, home: a.home, passing: true})
	}
	if wants == nil { // what now stands on the two sides of a change is more than a step on the way
		for i := range len(w.nodes) - 1 {
			if a, b := w.nodes[i], w.nodes[i+1]; a.Err == nil && b.Err == nil && !a.same(b) {
				a.passing, b.passing = false, false
			}
		}
	}
	return wants
}

// evaluate asks for the figures that are not known yet.
func (w *refinement) evaluate(ctx context.Context) {
	type task struct {
		n *node
		i int
	}
	var tasks []task
	for _, n := range w.nodes {
		for i := range w.Figures {
			f := &w.Figures[i]
			switch {
			case n.Err != nil || n.values[i].looked || f.Costly && n.passing:
			case f.Costly:
				tasks = append(tasks, task{n, i})
			default:
				n.values[i].x, n.values[i].has = f.Of(&n.Outcome)
			}
			n.values[i].looked = n.values[i].looked || !(f.Costly && n.passing)
		}
	}
	_ = pool.Each(ctx, len(tasks), func() func(int) error { // after an end of the context nobody looks at the values
		return func(i int) error {
			t := tasks[i]
			t.n.values[t.i].x, t.n.values[t.i].has = w.Figures[t.i].Of(&t.n.Outcome)
			return nil
		}
	})
}

// peaks returns the speeds at which figures may be higher than anywhere known.
func (w *refinement) peaks() []want {
	w.rounds++
	var wants []want
	line := make([]*node, 0, len(w.nodes))
	for i := range w.Figures {
		if w.spentOn[i] >= mostForFigure {
			continue
		}
		line = line[:0]
		for _, n := range w.nodes {
			if n.Err != nil || n.values[i].looked {
				line = append(line, n)
			}
		}
		wants = append(wants, w.peaksOf(i, line)...)
	}
	sort.SliceStable(wants, func(i, j int) bool { return wants[i].speed < wants[j].speed })
	return w.apart(wants)
}

// fromPassing takes nodes that were solved in passing for what is wanted next to them, and returns the other wants.
func (w *refinement) fromPassing(wants []want) []want {
	var others []want
	for _, x := range wants {
		i := sort.Search(len(w.nodes), func(i int) bool { return w.nodes[i].Speed >= x.speed-figureWithin })
		if !x.passing && i < len(w.nodes) && w.nodes[i].Speed <= x.speed+figureWithin {
			w.nodes[i].passing = false
			continue
		}
		others = append(others, x)
	}
	return others
}

// apart leaves out wants that lie next to another: a point serves several figures. wants rise.
func (w *refinement) apart(wants []want) []want {
	var few []want
	for _, x := range wants {
		if n := len(few); n > 0 && x.home == few[n-1].home {
			i := sort.Search(len(w.nodes), func(i int) bool { return w.nodes[i].Speed > x.speed })
			step := w.nodes[i].Speed - w.nodes[i-1].Speed
			if w.nodes[i-1].Speed < few[n-1].speed && x.speed-few[n-1].speed < step/6 {
				few[n-1].passing = few[n-1].passing && x.passing
				continue
			}
		}
		few = append(few, x)
	}
	return few
}

// peaksOf returns the one or two speeds at which a figure promises most. line holds the points at which the figure was asked for.
func (w *refinement) peaksOf(figure int, line []*node) []want {
	at := func(k int) *value {
		if k < 0 || k >= len(line) || line[k].Err != nil || !line[k].values[figure].has {
			return nil
		}
		return &line[k].values[figure]
	}
	best, scale, limit := math.Inf(-1), 0.0, w.Figures[figure].Limit
	for k := range line {
		if v := at(k); v != nil {
			if !(v.x <= math.MaxFloat64) {
				return nil // not a number or without bound: nothing is worse
			}
			best, scale = math.Max(best, v.x), math.Max(scale, math.Abs(v.x))
		}
	}
	if math.IsInf(best, -1) {
		return nil
	}
	scale = math.Max(math.Abs(best), elsewhere*scale)
	if !math.IsNaN(limit) {
		scale = math.Max(scale, math.Abs(limit))
	}
	type promise struct{ speed, bound float64 }
	var most [2]promise
	var homes [2]int
	for k := range len(line) - 1 {
		a, b := line[k], line[k+1]
		if a.Err != nil || b.Err != nil || at(k) == nil && at(k+1) == nil || b.Speed-a.Speed <= figureWithin {
			continue
		}
		// A chord beyond a change of limits says nothing of this side.
		slope := func(i, j int) (float64, bool) {
			if at(i) == nil || at(j) == nil || !line[i].same(line[j]) {
				return 0, false
			}
			return (at(j).x - at(i).x) / (line[j].Speed - line[i].Speed), true
		}
		left, hasLeft := slope(k-1, k)
		right, hasRight := slope(k+1, k+2)
		p := promise{speed: (a.Speed + b.Speed) / 2, bound: math.Inf(1)}
		step := b.Speed - a.Speed
		va, vb := at(k), at(k+1)
		switch {
		case va != nil && vb != nil && hasLeft && hasRight && !a.same(b):
			// Each side goes on as it came, up to the change somewhere between.
			p.bound = math.Max(va.x+math.Max(0, left)*step, vb.x-math.Min(0, right)*step)
		case va != nil && vb != nil && hasLeft && hasRight:
			x := crossing(va.x, left, vb.x, right, step)
			p.bound = math.Min(va.x+left*x, vb.x-right*(step-x))
			if w.rounds%2 == 1 { // every other time halved, so that a jump does not hold it up
				p.speed = a.Speed + math.Min(math.Max(x, step/8), step*7/8)
			}
		case va != nil && hasLeft && !(vb != nil && hasRight):
			p.bound = va.x + math.Max(0, left)*step
			if vb != nil {
				p.bound = math.Max(p.bound, vb.x)
			}
		case vb != nil && hasRight && !(va != nil && hasLeft):
			p.bound = vb.x - math.Min(0, right)*step
			if va != nil {
				p.bound = math.Max(p.bound, va.x)
			}
		}
		gain := p.bound - best
		straddles := best <= limit && p.bound > limit && gain > figureTolerance/20*scale
		if !(gain > max(figureTolerance, w.Figures[figure].Within)*scale) && !straddles {
			continue
		}
		switch {
		case p.bound > most[0].bound || most[0].speed == 0:
			most[1], homes[1] = most[0], homes[0]
			most[0], homes[0] = p, a.home
		case p.bound > most[1].bound || most[1].speed == 0:
			most[1], homes[1] = p, a.home
		}
	}
	var wants []want
	for i, p := range most {
		if p.speed > 0 {
			w.spentOn[figure]++
			wants = append(wants, want{p.speed, homes[i], !w.Figures[figure].Costly})
		}
	}
	return wants
}

// crossing returns where in a step, from its left end, the lower of two lines is highest: one from the left end's value fa
// with the slope left, one into the right end's value fb with the slope right.
func crossing(fa, left, fb, right, step float64) float64 {
	switch {
	case left <= 0 && fa <= fb-right*step:
		return 0
	case right >= 0 && fb <= fa+left*step:
		return step
	case left == right:
		return step / 2
	}
	x := (fb - right*step - fa) / (left - right)
	return math.Min(math.Max(x, 0), step)
}

// kept returns the outcomes that matter.
func (w *refinement) kept() []Outcome {
	keep := make([]bool, len(w.nodes))
	for i, n := range w.nodes {
		keep[i] = keep[i] || n.grid
		if i > 0 && n.Err == nil && w.nodes[i-1].Err == nil && !n.same(w.nodes[i-1]) {
			keep[i-1], keep[i] = true, true
		}
	}
	for f := range w.Figures {
		worst := -1
		for i, n := range w.nodes {
			if v := n.values[f]; n.Err == nil && v.has && (worst < 0 || Worse(v.x, w.nodes[worst].values[f].x)) {
				worst = i
			}
		}
		if worst >= 0 {
			keep[worst] = true
		}
	}
	w.keepLost(keep)
	var outcomes []Outcome
	for i, n := range w.nodes {
		if keep[i] {
			outcomes = append(outcomes, n.Outcome)
		}
	}
	return outcomes
}

// keepLost keeps the first point without a solution of each row of them in which the grid has none. Between solved points that lie
// closer than narrow it is left out.
func (w *refinement) keepLost(keep []bool) {
	for i := 0; i < len(w.nodes); {
		if w.nodes[i].Err == nil {
			i++
			continue
		}
		first, named := i, false
		for ; i < len(w.nodes) && w.nodes[i].Err != nil; i++ {
			named = named || w.nodes[i].grid
		}
		between := math.Inf(1)
		if first > 0 && i < len(w.nodes) {
			between = w.nodes[i].Speed - w.nodes[first-1].Speed
		}
		keep[first] = keep[first] || !named && between > narrow
	}
}

// Worse reports whether a figure's value is worse than another: higher, or not a number where the other is one.
func Worse(x, than float64) bool {
	return x > than || math.IsNaN(x) && !math.IsNaN(than)
}

// Worst returns the index of the solved outcome with the highest value of a figure among those that it applies to, or −1. Where a limit holds
// the figure the same at many speeds, to within what the solver leaves, it is the first of them.
func Worst(outcomes []Outcome, f func(o *Outcome) (value float64, applies bool)) int {
	const same = 2e-5 // share of the value
	worst, most := -1, 0.0
	for i := range outcomes {
		if o := &outcomes[i]; o.Err == nil {
			if x, ok := f(o); ok && (worst < 0 || Worse(x, most)) {
				worst, most = i, x
			}
		}
	}
	for i := range max(worst, 0) {
		if o := &outcomes[i]; o.Err == nil {
			if x, ok := f(o); ok && x >= most-same*math.Abs(most) {
				return i
			}
		}
	}
	return worst
}

// First returns the index of the first solved outcome at which a mark holds, or −1.
func First(outcomes []Outcome, m Mark) int {
	for i := range outcomes {
		if outcomes[i].Err == nil && m(&outcomes[i]) {
			return i
		}
	}
	return -1
}
