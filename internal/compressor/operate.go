package compressor

import (
	"math"

	"bellmouth/internal/numeric"
)

// A Region says where on the map, or off it, a point lies. Its bits combine.
type Region uint8

const (
	PastSurge       Region = 1 << iota // left of the surge ends of the lines
	PastChoke                          // beyond the choke end of the line
	AboveTopLine                       // faster than the highest line
	BelowLowestLine                    // slower than the lowest line, or a pressure ratio of 1 or less
)

// Inside is the Region of a point between the lines and their ends.
const Inside Region = 0

// An Operation is what the map says of one flow and pressure ratio.
type Operation struct {
	Speed       float64 // corrected, rad/s
	Efficiency  float64 // isentropic, total to total, fraction
	Beta        float64 // 0 at the surge end of the line, 1 at its choke end
	SurgeMargin float64 // (ṁ − ṁs)/ṁ, ṁs the surge flow at the same pressure ratio; negative past surge
	ChokeMargin float64 // (ṁc − ṁ)/ṁc, ṁc the choke flow at the same speed; negative past choke
	Region      Region
}

const (
	// speedStep is the step in ln N below which Newton's method has arrived: the error left is of the order of its square.
	speedStep = 1e-8
	// speedIterations bounds the search. Three or four steps are usual; should Newton's steps leave the bracket, halvings
	// narrow it below rounding within this count.
	speedIterations = 60
	// edge is the distance in ln N, ln ṁ or s below which a point counts as being on a border and not past it.
	edge = 1e-6
)

// Operate returns the speed, efficiency and margins at a corrected flow, kg/s, and a pressure ratio, total to total.
//
// Openness x = ln(ṁ²/h), h = PR^(2/7) − 1, is known; the speed N is where the surface's flow at that openness, N exp f(N, x),
// is ṁ. Lines do not cross, so there is one N, and it depends continuously on both arguments wherever flow is above zero, and
// never falls as pressure ratio rises. Off the map:
//
//   - left of the surge ends, speed and efficiency are those at the surge flow of the same pressure ratio;
//   - beyond the choke end of a line, the line is taken to fall straight down: flow alone sets the speed; efficiency is
//     ηe/(2 − h/he), e the end, which begins as on the measured choke side, where the work hardly changes as head collapses, and
//     lets the work vanish with the head; and the choke margin is ṁe/ṁ − 1 instead, ṁe the flow on the resistance line through the end at the same
//     pressure ratio (−1 at a pressure ratio of 1 or less), since a vertical line's own flow cannot tell how far past it is;
//   - above the top line and below the lowest, by similarity: flow goes with speed and isentropic head with speed squared, at the
//     efficiency of that line.
//
// flow must be above zero and pressureRatio above zero; a NaN gives NaN.
// Source of the similarity: Dixon & Hall, ch. 2. The interpolation is this package's own, checked against NASA's measured HECC map.
func (m *Map) Operate(flow, pressureRatio float64) Operation {
	su := &m.surface
	var op Operation
	mu, h := numeric.Log(flow), head(pressureRatio)
	// At a pressure ratio of 1 or less any flow is past choke, and no flow is in surge.
	x, onMap := math.Inf(1), mu
	op.SurgeMargin = 1
	if h > 0 {
		logHead := numeric.Log(h)
		surge := m.surge.at(logHead)
		op.SurgeMargin = -numeric.Expm1(surge - mu)
		if mu < surge {
			onMap = surge
			if mu < surge-edge {
				op.Region |= PastSurge
			}
		}
		x = 2*onMap - logHead
	} else {
		op.Region |= BelowLowestLine
	}

	nu, p := su.speedAt(x, onMap)
	lowest, top := su.ribs[0].nu, su.ribs[len(su.ribs)-1].nu
	switch {
	case nu > top+edge:
		op.Region |= AboveTopLine
	case nu < lowest-edge:
		op.Region |= BelowLowestLine
	}
	s := min(x-p.k, p.end)
	f, w := su.flowAndWork(&p, s)
	op.Speed = numeric.Exp(nu)
	// η = ψ/λ with ψ = φ²/exp(x): the head of the line, at its choke end when past that.
	op.Efficiency = min(numeric.Exp(2*f-s-p.k-w), 1)
	op.Beta = min(max((s-p.start)/(p.end-p.start), 0), 1)
	if past := x - p.k - p.end; past > 0 {
		op.ChokeMargin = numeric.Expm1(-past / 2)
		op.Efficiency /= 2 - numeric.Exp(-past)
		if past > edge {
			op.Region |= PastChoke
		}
	} else {
		choke := su.level(&p, p.end)
		op.ChokeMargin = -numeric.Expm1(mu - nu - choke)
	}
	return op
}

// speedAt returns the ν at which the surface passes flow exp μ at openness x, and its place.
func (su *surface) speedAt(x, mu float64) (float64, place) {
	// Find the gap, by halving: the lines' flows at this openness rise from line to line.
	residual := func(i int) float64 {
		r := &su.ribs[i]
		return r.nu + su.flowOn(i, min(x-r.k, r.end)) - mu
	}
	last := len(su.ribs) - 1
	below, above := 0, last
	rb := residual(below)
	if !(rb < 0) {
		return su.ribs[0].nu - rb, su.place(0, su.ribs[0].nu)
	}
	ra := residual(above)
	if !(ra > 0) {
		return su.ribs[last].nu - ra, su.place(last-1, su.ribs[last].nu)
	}
	for above-below > 1 {
		mid := (below + above) / 2
		if r := residual(mid); r < 0 {
			below, rb = mid, r
		} else {
			above, ra = mid, r
		}
	}

	lo, hi := su.ribs[below].nu, su.ribs[above].nu
	nu := lo - rb*(hi-lo)/(ra-rb)
	var p place
	for range speedIterations {
		p = su.place(below, nu)
		s, sn := x-p.k, -p.kn
		if s > p.end {
			s, sn = p.end, p.endN
		}
		f, fs, fn := su.flow(&p, s)
		r := nu + f - mu
		if r < 0 {
			lo = nu
		} else {
			hi = nu
		}
		next := nu - r/(1+fn+fs*sn)
		if !(next >= lo && next <= hi) {
			next = (lo + hi) / 2
		}
		step := next - nu
		nu = next
		if math.Abs(step) < speedStep {
			break
		}
	}
	return nu, su.place(below, nu)
}
