package compressor

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/interp"

	"bellmouth/internal/numeric"
)

// The surface is drawn in logarithms, in which similarity is a straight line and a relative error an absolute one:
//
//	ν = ln N            speed
//	μ = ln ṁ            corrected flow
//	x = ln(ṁ²/h)        openness, which rises along a speed line from surge to choke
//	f = ln(ṁ/N)         flow coefficient
//	w = ln(h/(η N²))    work coefficient: on the choke side head and efficiency collapse together and w hardly moves
//
// Lines differ in where along x they bend over into choke. So each is shifted by
// k = ln(φc²/ψp), φc its largest ṁ/N and ψp its largest h/N², and f and w are interpolated between lines at equal s = x − k.
// On NASA's HECC map a line left out is predicted about twice as well this way as by its normalised arc length.

// headExponent is (γ−1)/γ for γ = 1.4. Here it shapes the coordinate along which lines are interpolated, no more; work and
// temperature are computed with the gas at hand.
const headExponent = 2.0 / 7

// surgeSlope is df/dx of a line continued past its surge end, where a line beside it goes further: head goes on rising a little
// as flow falls, 0.4 % for each per cent, as on the measured lines near surge. A level line would have ½.
const surgeSlope = 0.42

// head returns the isentropic head h = PR^(2/7) − 1, in units of cp T1.
func head(pressureRatio float64) float64 {
	return numeric.Expm1(headExponent * numeric.Log(pressureRatio))
}

// A curve is a speed line in the surface's coordinates.
type curve struct {
	nu, k   float64
	x, f, w []float64
	point   []int // index of each point as given
	flow    interp.FritschButland
	work    interp.FritschButland
}

func newCurve(line int, l Line) (curve, error) {
	n := len(l.Points)
	c := curve{nu: numeric.Log(l.Speed), x: make([]float64, n), f: make([]float64, n), w: make([]float64, n), point: make([]int, n)}
	raw := make([]float64, n)
	for j, p := range l.Points {
		c.point[j] = j
		raw[j] = 2*numeric.Log(p.Flow) - numeric.Log(head(p.PressureRatio))
	}
	// On a vertical choke side the order of the points by flow is the flow meter's scatter, and their order by openness is not.
	sort.SliceStable(c.point, func(a, b int) bool { return raw[c.point[a]] < raw[c.point[b]] })
	peak := math.Inf(-1)
	for j, at := range c.point {
		p := l.Points[at]
		c.x[j] = raw[at]
		c.f[j] = numeric.Log(p.Flow) - c.nu
		c.w[j] = numeric.Log(head(p.PressureRatio)/p.Efficiency) - 2*c.nu
		peak = max(peak, 2*c.f[j]-c.x[j])
		if j > 0 && !(c.x[j]-c.x[j-1] > resistanceGap) {
			return curve{}, &MapError{line, at, fmt.Sprintf("lies on the same resistance line as point %d", c.point[j-1]+1)}
		}
	}
	rising(c.f)
	for j, at := range c.point {
		if moved := numeric.Exp(c.f[j]+c.nu)/l.Points[at].Flow - 1; !(math.Abs(moved) < flowStepBack) {
			return curve{}, &MapError{line, at, "pressure ratio rises faster than the square of flow, or the point is out of order"}
		}
	}
	c.k = 2*c.f[n-1] - peak
	if err := c.flow.Fit(c.x, c.f); err != nil {
		return curve{}, &MapError{line, -1, err.Error()}
	}
	if err := c.work.Fit(c.x, c.w); err != nil {
		return curve{}, &MapError{line, -1, err.Error()}
	}
	return c, nil
}

// rising replaces each run of values that falls by its mean (the pool-adjacent-violators algorithm, which gives the nearest
// rising sequence in the sense of least squares).
func rising(y []float64) {
	type block struct {
		mean float64
		n    int
	}
	blocks := make([]block, 0, len(y))
	for _, v := range y {
		b := block{v, 1}
		for len(blocks) > 0 && blocks[len(blocks)-1].mean > b.mean {
			a := blocks[len(blocks)-1]
			blocks = blocks[:len(blocks)-1]
			n := a.n + b.n
			b = block{(a.mean*float64(a.n) + b.mean*float64(b.n)) / float64(n), n}
		}
		blocks = append(blocks, b)
	}
	i := 0
	for _, b := range blocks {
		for range b.n {
			y[i] = b.mean
			i++
		}
	}
}

// at returns f and w at a shifted openness s, and their slopes in s. Past the surge end the line goes on nearly level, past the
// choke end straight down.
func (c *curve) at(s float64) (f, w, fs, ws float64) {
	x, last := s+c.k, len(c.x)-1
	switch {
	case x < c.x[0]:
		return c.f[0] + surgeSlope*(x-c.x[0]), c.w[0], surgeSlope, 0
	case x > c.x[last]:
		return c.f[last], c.w[last], 0, 0
	}
	return c.flow.Predict(x), c.work.Predict(x), c.flow.PredictDerivative(x), c.work.PredictDerivative(x)
}

// nodes is the number of places along s at which the surface is tabulated; between them it is cubic.
const nodes = 256

// A node holds f and w on one line at one s: value, slope in s times the step, slope in ν, and the cross slope times the step.
type node struct {
	f, fs, fn, fns float64
	w, ws, wn, wns float64
}

// A rib holds what belongs to a line as a whole: its shift k and its ends in s, with their slopes in ν.
type rib struct {
	nu                 float64
	k, start, end      float64
	kn, startN, endN   float64
	width, inverseWide float64 // distance in ν to the next line
}

// A surface is the map as a function of speed and openness: f(ν, s), w(ν, s) and the ends of the lines.
type surface struct {
	s0, step, inverseStep float64
	ribs                  []rib
	table                 []node // line by line
}

func newSurface(curves []curve) surface {
	n := len(curves)
	nu := make([]float64, n)
	lo, hi := math.Inf(1), math.Inf(-1)
	su := surface{ribs: make([]rib, n), table: make([]node, n*nodes)}
	for i, c := range curves {
		nu[i] = c.nu
		r := &su.ribs[i]
		r.nu, r.k, r.start, r.end = c.nu, c.k, c.x[0]-c.k, c.x[len(c.x)-1]-c.k
		lo, hi = min(lo, r.start), max(hi, r.end)
		if i > 0 {
			su.ribs[i-1].width = r.nu - su.ribs[i-1].nu
			su.ribs[i-1].inverseWide = 1 / su.ribs[i-1].width
		}
	}
	su.s0, su.step = lo, (hi-lo)/(nodes-1)
	su.inverseStep = 1 / su.step

	y, slope := make([]float64, n), make([]float64, n)
	var across interp.FritschButland
	slopes := func() {
		// Fit fails on fewer than two values or on abscissae that do not rise, both refused by NewMap.
		if across.Fit(nu, y) != nil {
			return
		}
		for i := range slope {
			slope[i] = across.PredictDerivative(nu[i])
		}
	}
	for _, v := range []struct {
		value, slope func(*rib) *float64
	}{
		{func(r *rib) *float64 { return &r.k }, func(r *rib) *float64 { return &r.kn }},
		{func(r *rib) *float64 { return &r.start }, func(r *rib) *float64 { return &r.startN }},
		{func(r *rib) *float64 { return &r.end }, func(r *rib) *float64 { return &r.endN }},
	} {
		for i := range y {
			y[i] = *v.value(&su.ribs[i])
		}
		slopes()
		for i := range y {
			*v.slope(&su.ribs[i]) = slope[i]
		}
	}
	for j := range nodes {
		s := su.s0 + float64(j)*su.step
		for i := range curves {
			a := &su.table[i*nodes+j]
			a.f, a.w, a.fs, a.ws = curves[i].at(s)
			a.fs *= su.step
			a.ws *= su.step
			y[i] = a.f
		}
		slopes()
		for i := range curves {
			su.table[i*nodes+j].fn = slope[i]
			y[i] = su.table[i*nodes+j].w
		}
		slopes()
		for i := range curves {
			su.table[i*nodes+j].wn = slope[i]
		}
	}
	for i := range curves {
		reach := su.ribs[max(i-1, 0)].width
		if i < n-1 {
			reach = max(reach, su.ribs[i].width)
		}
		settle(su.table[i*nodes:(i+1)*nodes], reach/3)
	}
	return su
}

// settle fills in the cross slopes of a line and limits its slopes so that f never falls with s, on any speed between the lines:
// flow at a pressure ratio, and so speed at a flow, are then monotone.
//
// A cubic lies between its Bernstein coefficients. Across a gap between lines these are f and f ± d/3, d the slope in ν times the gap.
// Where each of them rises with s, so does every cubic between. reach is a third of the wider gap beside the line.
func settle(row []node, reach float64) {
	// From the choke end, where f is level and so must its slope in ν be, toward surge.
	for j := len(row) - 2; j >= 0; j-- {
		room := (row[j+1].f - row[j].f) / reach
		row[j].fn = min(max(row[j].fn, row[j+1].fn-room), row[j+1].fn+room)
	}
	// rise is how much f + sign·d/3 rises from a node to the next; a cubic that leaves and arrives with up to three times that is monotone.
	rise := func(j int, sign float64) float64 {
		return row[j+1].f - row[j].f + sign*reach*(row[j+1].fn-row[j].fn)
	}
	limit := func(j int, sign float64) float64 {
		return 3 * max(min(rise(max(j-1, 0), sign), rise(min(j, len(row)-2), sign)), 0)
	}
	for j := range row {
		before, after := max(j-1, 0), min(j+1, len(row)-1)
		// The slopes in ν have no slope of their own in s to take: their differences serve.
		cross := (row[after].fn - row[before].fn) / float64(after-before)
		up, down := limit(j, 1), limit(j, -1)
		fs := min(max(row[j].fs, 0), limit(j, 0), up, down)
		row[j].fs = fs
		row[j].fns = min(max(cross, -fs/reach, (fs-down)/reach), fs/reach, (up-fs)/reach)
		row[j].wns = (row[after].wn - row[before].wn) / float64(after-before)
	}
}

// A cubic holds the weights of a cubic between two places: of the values a and b there, and of the slopes times the distance.
type cubic struct{ a, da, b, db float64 }

func cubicAt(t float64) cubic {
	r := 1 - t
	return cubic{(1 + 2*t) * r * r, t * r * r, t * t * (3 - 2*t), -t * t * r}
}

// cubicSlopeAt returns the weights of the cubic's slope times the distance.
func cubicSlopeAt(t float64) cubic {
	r := 1 - t
	return cubic{-6 * t * r, r * (1 - 3*t), 6 * t * r, t * (3*t - 2)}
}

func (c *cubic) of(a, da, b, db float64) float64 { return c.a*a + c.da*da + c.b*b + c.db*db }

// locate returns the node at or before s and how far s is toward the next. Left of the table, where every line is past its surge
// end, it is the first node, and over is how far (negative); right of it, where every line is past its choke end, the last.
func (su *surface) locate(s float64) (j int, t, over float64) {
	u := (s - su.s0) * su.inverseStep
	if !(u > 0) {
		return 0, 0, s - su.s0
	}
	if u >= nodes-1 {
		return nodes - 2, 1, 0
	}
	j = int(u)
	return j, u - float64(j), 0
}

// flowOn returns f on line i at s.
func (su *surface) flowOn(i int, s float64) float64 {
	j, t, over := su.locate(s)
	p, q := &su.table[i*nodes+j], &su.table[i*nodes+j+1]
	c := cubicAt(t)
	return c.of(p.f, p.fs, q.f, q.fs) + surgeSlope*over
}

// A place is a speed on the surface: the gap between lines that it lies in, and what the ends of the lines are there.
type place struct {
	line          int
	v             cubic   // weights across the gap, slopes in ν
	dv            cubic   // and of the slope in ν
	k, start, end float64 // as in rib
	kn, endN      float64
}

// place returns where ν lies; outside the lines, at the nearest.
func (su *surface) place(line int, nu float64) place {
	a, b := &su.ribs[line], &su.ribs[line+1]
	t := min(max((nu-a.nu)*a.inverseWide, 0), 1)
	p := place{line: line, v: cubicAt(t), dv: cubicSlopeAt(t)}
	p.v.da *= a.width
	p.v.db *= a.width
	p.dv.a *= a.inverseWide
	p.dv.b *= a.inverseWide
	p.k = p.v.of(a.k, a.kn, b.k, b.kn)
	p.kn = p.dv.of(a.k, a.kn, b.k, b.kn)
	p.start = p.v.of(a.start, a.startN, b.start, b.startN)
	p.end = p.v.of(a.end, a.endN, b.end, b.endN)
	p.endN = p.dv.of(a.end, a.endN, b.end, b.endN)
	return p
}

// gap returns the gap between lines in which ν lies, the first or the last when outside.
func (su *surface) gap(nu float64) int {
	i := 0
	for i < len(su.ribs)-2 && nu > su.ribs[i+1].nu {
		i++
	}
	return i
}

// flow returns f at s and a place, with its slopes in s and in ν at fixed s.
func (su *surface) flow(p *place, s float64) (f, fs, fn float64) {
	j, t, over := su.locate(s)
	a, b := p.line*nodes+j, (p.line+1)*nodes+j
	a0, a1, b0, b1 := &su.table[a], &su.table[a+1], &su.table[b], &su.table[b+1]
	c, d := cubicAt(t), cubicSlopeAt(t)
	fa, fan := c.of(a0.f, a0.fs, a1.f, a1.fs), c.of(a0.fn, a0.fns, a1.fn, a1.fns)
	fb, fbn := c.of(b0.f, b0.fs, b1.f, b1.fs), c.of(b0.fn, b0.fns, b1.fn, b1.fns)
	f = p.v.of(fa, fan, fb, fbn) + surgeSlope*over
	fn = p.dv.of(fa, fan, fb, fbn)
	fs = su.inverseStep * p.v.of(
		d.of(a0.f, a0.fs, a1.f, a1.fs), d.of(a0.fn, a0.fns, a1.fn, a1.fns),
		d.of(b0.f, b0.fs, b1.f, b1.fs), d.of(b0.fn, b0.fns, b1.fn, b1.fns))
	if over < 0 {
		fs = surgeSlope
	}
	return f, fs, fn
}

// level returns f at s and a place, without the slopes.
func (su *surface) level(p *place, s float64) float64 {
	j, t, over := su.locate(s)
	a, b := p.line*nodes+j, (p.line+1)*nodes+j
	a0, a1, b0, b1 := &su.table[a], &su.table[a+1], &su.table[b], &su.table[b+1]
	c := cubicAt(t)
	return p.v.of(c.of(a0.f, a0.fs, a1.f, a1.fs), c.of(a0.fn, a0.fns, a1.fn, a1.fns),
		c.of(b0.f, b0.fs, b1.f, b1.fs), c.of(b0.fn, b0.fns, b1.fn, b1.fns)) + surgeSlope*over
}

// flowAndWork returns f and w at s and a place.
func (su *surface) flowAndWork(p *place, s float64) (f, w float64) {
	j, t, over := su.locate(s)
	a, b := p.line*nodes+j, (p.line+1)*nodes+j
	a0, a1, b0, b1 := &su.table[a], &su.table[a+1], &su.table[b], &su.table[b+1]
	c := cubicAt(t)
	f = p.v.of(c.of(a0.f, a0.fs, a1.f, a1.fs), c.of(a0.fn, a0.fns, a1.fn, a1.fns),
		c.of(b0.f, b0.fs, b1.f, b1.fs), c.of(b0.fn, b0.fns, b1.fn, b1.fns)) + surgeSlope*over
	w = p.v.of(c.of(a0.w, a0.ws, a1.w, a1.ws), c.of(a0.wn, a0.wns, a1.wn, a1.wns),
		c.of(b0.w, b0.ws, b1.w, b1.ws), c.of(b0.wn, b0.wns, b1.wn, b1.wns))
	return f, w
}
