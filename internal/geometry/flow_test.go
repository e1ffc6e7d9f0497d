package geometry

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The mean of the flow area over the opening is the flow bench's: Ce n π D²/4. It is nothing outside, and most half-way.
func TestFlowArea(t *testing.T) {
	v := Valves{
		InletCount: 2, InletDiameter: 0.034, InletLift: 0.0102, InletOpens: 0.26, InletCloses: 1.01,
		ExhaustCount: 2, ExhaustDiameter: 0.030, ExhaustLift: 0.006, ExhaustOpens: 1.05, ExhaustCloses: 0.35,
	}
	for _, c := range []struct {
		area         func(float64) float64
		opens, shuts float64
		bench        float64 // Taylor's 1.45 L/D, at most at a quarter, of the heads' area, by hand
	}{
		{v.InletFlowArea, -0.26, math.Pi + 1.01, 0.3625 * 2 * math.Pi / 4 * 0.034 * 0.034},
		{v.ExhaustFlowArea, math.Pi - 1.05, 2*math.Pi + 0.35, 0.29 * 2 * math.Pi / 4 * 0.030 * 0.030},
	} {
		const steps = 2000
		sum, most := 0.0, 0.0
		for i := range steps {
			a := c.area(c.opens + (c.shuts-c.opens)*(float64(i)+0.5)/steps)
			sum, most = sum+a/steps, max(most, a)
		}
		assert.InEpsilon(t, c.bench, sum, 1e-6)
		assert.InEpsilon(t, 2*c.bench, most, 1e-5)
		assert.Zero(t, c.area(c.opens-1e-9))
		assert.Zero(t, c.area(c.shuts+1e-9))
	}
	v.ExhaustFlow = 0.4
	given, ok := v.MeanExhaustFlowCoefficient()
	assert.True(t, ok)
	assert.InDelta(t, 0.4, given, 1e-12)
}

// A valve that is open alike over the whole stroke, as far as the piston can tell: events far outside of it. With a constant area A the loss has a
// closed form, ½ (Ap/A)² <u³>/Sp² with u the piston's velocity over the mean, which for a long rod is (π/2)² · 2/3.
func TestInletLossOfAnOpenValve(t *testing.T) {
	c := Cylinder{Bore: 0.0853, Stroke: 0.0871, Rod: 8.6, CompressionRatio: 10}
	v := Valves{InletCount: 2, InletDiameter: 0.03, InletLift: 0.009, InletFlow: 0.35}
	// Over ±200 strokes the sin² is flat at its top, twice the mean.
	v.InletOpens, v.InletCloses = 200*math.Pi, 200*math.Pi
	area := 2 * 0.35 * 2 * math.Pi / 4 * 0.03 * 0.03
	ratio := c.BoreArea() / area
	assert.InEpsilon(t, ratio*ratio/2*math.Pi*math.Pi/4*2/3, v.InletLoss(c), 2e-3)
}

// The loss goes with the fourth power of the valves over the bore, and is of the size of the friction paper's valve term: Patton, Nitschke and
// Heywood, SAE 890836 (1989), 4.12e-3 Sp²/(n² r⁴) kPa for each kind of valve, from memory; so within a factor of two.
func TestInletLossIsTheTradesSize(t *testing.T) {
	c := Cylinder{Bore: 0.0853, Stroke: 0.0871, Rod: 0.143, CompressionRatio: 10}
	v := Valves{InletCount: 2, InletDiameter: 0.40 * c.Bore, InletLift: 0.11 * c.Bore, InletOpens: 0.26, InletCloses: 0.96}
	const density, sp = 1.18, 15.0
	want := 4.12 * sp * sp / (4 * math.Pow(0.40, 4))
	got := v.InletLoss(c) * density * sp * sp
	assert.True(t, got > want/2 && got < want*2, "%.0f Pa, the paper's term %.0f Pa", got, want)
	smaller := v
	smaller.InletDiameter, smaller.InletLift = v.InletDiameter*0.9, v.InletLift*0.9
	assert.InEpsilon(t, math.Pow(0.9, -4), smaller.InletLoss(c)/v.InletLoss(c), 1e-9)
}
