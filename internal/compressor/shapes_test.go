package compressor

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// inventedShape returns an invented map of random proportions: five to nine lines of six to fourteen uneven points, with or without a rise on
// the surge side, bent softly or sharply into choke, and scattered as readings are.
func inventedShape(r *rand.Rand) []Line {
	n := 5 + r.IntN(5)
	top, drop, rise := 0.3+0.4*r.Float64(), 0.3+0.4*r.Float64(), 0.08*r.Float64()
	chokeGrowth, surgeGrowth, headGrowth := 0.9+0.5*r.Float64(), 1.3+0.7*r.Float64(), 1.8+0.4*r.Float64()
	surgeShare := 0.3 + 0.3*r.Float64()
	scatter := func(width float64) float64 { return 1 + width*(r.Float64()-0.5) }
	var lines []Line
	for i := range n {
		speed := 0.4 + 0.6*float64(i)/float64(n-1)
		line := Line{Speed: speed * 15000}
		choke, surge := math.Pow(speed, chokeGrowth), surgeShare*math.Pow(speed, surgeGrowth)
		points := 6 + r.IntN(9)
		for j := range points {
			u := float64(j) / float64(points-1)
			if j > 0 && j < points-1 {
				u += 0.4 * (r.Float64() - 0.5) / float64(points-1)
			}
			across := math.Pow(math.Sin(u*math.Pi/2), 1/(0.6+speed))
			down := math.Pow(math.Cos(u*math.Pi/2), 1/(0.6+0.8*speed))
			h := top * math.Pow(speed, headGrowth) * (1 - drop + drop*down + rise*math.Sin(math.Pi*min(2*across, 1)))
			line.Points = append(line.Points, Point{
				Flow:          (surge + (choke-surge)*across) * scatter(1e-3),
				PressureRatio: pressureRatioOf(h * scatter(2e-3)),
				Efficiency:    0.5 + 0.28*math.Sin(math.Pi*(0.2+0.6*across))*down,
			})
		}
		lines = append(lines, line)
	}
	return lines
}

// Maps of all the shapes met in print are taken, give their points back, and are inverted to speed without a fold.
func TestManyShapes(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for k := range 100 {
		lines := inventedShape(r)
		m, err := NewMap(standardDay, lines)
		require.NoError(t, err, "map %d", k)
		for i, l := range lines {
			for j, p := range l.Points {
				op := m.Operate(p.Flow, p.PressureRatio)
				// Scatter that makes flow step back is evened out; hence not exactly.
				require.InDelta(t, 1, op.Speed/l.Speed, 0.003, "map %d line %d point %d", k, i+1, j+1)
				require.InDelta(t, p.Efficiency, op.Efficiency, 0.01, "map %d line %d point %d", k, i+1, j+1)
			}
		}
		for i := range 21 {
			speed := lines[0].Speed + (m.TopSpeed()-lines[0].Speed)*float64(i)/20
			for j := range 21 {
				p := onSurface(m, speed, float64(j)/20)
				op := m.Operate(p.Flow, p.PressureRatio)
				require.InDelta(t, 1, op.Speed/speed, 1e-6, "map %d speed %v beta %v", k, speed, float64(j)/20)
				require.LessOrEqual(t, p.Efficiency, 1.0)
			}
		}
		for _, flow := range flows(m, 10) {
			before := 0.0
			for pr := 0.5; pr < 8; pr *= 1.02 {
				speed := m.Operate(flow, pr).Speed
				require.GreaterOrEqual(t, speed, before*(1-1e-12), "map %d flow %v pressure ratio %v", k, flow, pr)
				before = speed
			}
		}
	}
}

// Newton's method on top of Operate, with slopes by difference, finds the flow that takes a given speed at a given pressure ratio
// in a few steps, as a solver would ask.
func TestSolverOnTop(t *testing.T) {
	m := heccMap(t)
	for i := range 40 {
		speed := m.lines[0].Speed + (m.TopSpeed()-m.lines[0].Speed)*(float64(i)+0.5)/40
		for _, beta := range []float64{0.3, 0.5, 0.7, 0.9} {
			p := onSurface(m, speed, beta)
			flow, pr := p.Flow, p.PressureRatio
			residual := func(v float64) float64 { return math.Log(m.Operate(v, pr).Speed / speed) }
			v, steps := 1.02*flow, 0
			for ; steps < 15; steps++ {
				r := residual(v)
				if math.Abs(r) < 1e-9 {
					break
				}
				const d = 1e-6
				v -= r * v * d / (residual(v*(1+d)) - r)
			}
			assert.Less(t, steps, 8, "speed %v beta %v", speed, beta)
			assert.InDelta(t, 1, v/flow, 1e-6, "speed %v beta %v", speed, beta)
		}
	}
}

func ExampleMap_Operate() {
	// Invented: three lines, flow and pressure ratio corrected to 298.15 K and 100 kPa.
	m, err := NewMap(Reference{Temperature: 298.15, Pressure: 100e3}, []Line{
		{Speed: 8000, Points: []Point{{0.06, 1.42, 0.66}, {0.10, 1.40, 0.74}, {0.14, 1.30, 0.68}, {0.16, 1.18, 0.50}}},
		{Speed: 11000, Points: []Point{{0.10, 1.86, 0.68}, {0.15, 1.82, 0.76}, {0.20, 1.62, 0.70}, {0.22, 1.36, 0.52}}},
		{Speed: 14000, Points: []Point{{0.15, 2.62, 0.68}, {0.21, 2.52, 0.75}, {0.26, 2.15, 0.68}, {0.275, 1.70, 0.52}}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	flow := m.Corrected(0.17, 305, 95e3)
	op := m.Operate(flow, 2)
	fmt.Printf("corrected flow %.3f kg/s, speed %.0f rad/s, efficiency %.2f, surge margin %.2f, choke margin %.2f\n",
		flow, m.UncorrectSpeed(op.Speed, 305), op.Efficiency, op.SurgeMargin, op.ChokeMargin)
	// Output: corrected flow 0.181 kg/s, speed 12238 rad/s, efficiency 0.76, surge margin 0.39, choke margin 0.25
}
