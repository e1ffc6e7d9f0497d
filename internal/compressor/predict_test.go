package compressor

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/interp"
)

// A plain map is the usual interpolation, to measure against: beta is the normalised arc length of a line, flow and pressure ratio
// each over its greatest value on the line; flow, pressure ratio and efficiency are monotone cubics along beta on
// each line, and at equal beta between lines in speed.
type plain struct {
	speeds []float64
	lines  [][3]interp.FritschButland
}

func newPlain(t *testing.T, lines []Line) *plain {
	t.Helper()
	var p plain
	for _, l := range lines {
		// Along the vertical choke side the order is that of pressure ratio, as elsewhere.
		points := slices.Clone(l.Points)
		openness := func(q Point) float64 { return q.Flow * q.Flow / head(q.PressureRatio) }
		slices.SortFunc(points, func(a, b Point) int { return cmp.Compare(openness(a), openness(b)) })
		flow, pr := 0.0, 0.0
		for _, q := range points {
			flow, pr = max(flow, q.Flow), max(pr, q.PressureRatio)
		}
		beta := make([]float64, len(points))
		for j := range points[1:] {
			beta[j+1] = beta[j] + math.Hypot((points[j+1].Flow-points[j].Flow)/flow, (points[j+1].PressureRatio-points[j].PressureRatio)/pr)
		}
		length := beta[len(beta)-1]
		var y [3][]float64
		for j, q := range points {
			beta[j] /= length
			y[0], y[1], y[2] = append(y[0], q.Flow), append(y[1], q.PressureRatio), append(y[2], q.Efficiency)
		}
		var c [3]interp.FritschButland
		for k := range c {
			require.NoError(t, c[k].Fit(beta, y[k]))
		}
		p.speeds, p.lines = append(p.speeds, l.Speed), append(p.lines, c)
	}
	return &p
}

func (p *plain) at(t *testing.T, speed, beta float64) Point {
	t.Helper()
	var v [3]float64
	for k := range v {
		y := make([]float64, len(p.lines))
		for i := range p.lines {
			y[i] = p.lines[i][k].Predict(beta)
		}
		var across interp.FritschButland
		require.NoError(t, across.Fit(p.speeds, y))
		v[k] = across.Predict(speed)
	}
	return Point{v[0], v[1], v[2]}
}

// reading returns the point at a speed and pressure ratio, on the stable side; at the end of the line when it has no such pressure ratio.
func (p *plain) reading(t *testing.T, speed, pressureRatio float64) Point {
	t.Helper()
	const steps = 200
	lo, hi := 0.0, 1.0
	for k := range steps + 1 {
		lo = 1 - float64(k)/steps
		if p.at(t, speed, lo).PressureRatio >= pressureRatio {
			break
		}
		hi = lo
	}
	for range 40 {
		mid := (lo + hi) / 2
		if p.at(t, speed, mid).PressureRatio >= pressureRatio {
			lo = mid
		} else {
			hi = mid
		}
	}
	return p.at(t, speed, hi)
}

// A misfit is how far predictions lie from readings: of flow at a line's speed and pressure ratio, relative, and of efficiency there.
type misfit struct{ rms, worst, efficiency float64 }

func misfitOf(l Line, predict func(p Point) Point) misfit {
	var d misfit
	for _, p := range l.Points {
		got := predict(p)
		e := got.Flow/p.Flow - 1
		d.rms += e * e
		d.worst = max(d.worst, math.Abs(e))
		d.efficiency = max(d.efficiency, math.Abs(got.Efficiency-p.Efficiency))
	}
	d.rms = math.Sqrt(d.rms / float64(len(l.Points)))
	return d
}

// Each line of NASA's measured map, left out, is predicted from the others at its speed and pressure ratios: flow better than by a
// plain interpolation on every line, efficiency to half a per cent, which is about the scatter of the readings.
func TestPredictsLineLeftOut(t *testing.T) {
	lines, rows := hecc(t)
	for k := 2; k <= 5; k++ {
		rest := slices.Delete(slices.Clone(lines), k, k+1)
		m, err := NewMap(standardDay, rest)
		require.NoError(t, err)
		own := misfitOf(lines[k], func(p Point) Point {
			flow := m.FlowAt(lines[k].Speed, p.PressureRatio)
			return Point{flow, p.PressureRatio, m.Operate(flow, p.PressureRatio).Efficiency}
		})
		base := newPlain(t, rest)
		other := misfitOf(lines[k], func(p Point) Point { return base.reading(t, lines[k].Speed, p.PressureRatio) })
		line := rows[k][0]["speed_line_pct"]
		assert.Less(t, own.rms, other.rms, "%s %%: rms", line)
		assert.Less(t, own.worst, other.worst, "%s %%: worst flow", line)
		assert.Less(t, own.efficiency, 0.005, "%s %%: worst efficiency", line)
		t.Logf("%s %%: flow rms %.2f %% (plain %.2f), worst %.2f %% (plain %.2f), efficiency worst %.4f (plain %.4f)", line,
			100*own.rms, 100*other.rms, 100*own.worst, 100*other.worst, own.efficiency, other.efficiency)

		// Read the other way, at the flow and pressure ratio measured, speed and efficiency are predicted too.
		for _, p := range lines[k].Points {
			op := m.Operate(p.Flow, p.PressureRatio)
			assert.InDelta(t, 1, op.Speed/lines[k].Speed, 0.01, "%s %%: speed", line)
			assert.InDelta(t, p.Efficiency, op.Efficiency, 0.012, "%s %%: efficiency", line)
		}
	}
}
