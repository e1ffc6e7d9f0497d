package geometry_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/geometry"
	"bellmouth/internal/refdata"
)

var train = geometry.Masses{Piston: 0.5, SmallEnd: 0.15, BigEnd: 0.35, Cap: 0.12}

// square is a cylinder of round figures: bore area 0.005 m², crank radius 40 mm, rod 140 mm.
var square = geometry.Cylinder{Bore: math.Sqrt(0.02 / math.Pi), Stroke: 0.08, Rod: 0.14, CompressionRatio: 9}

func TestForcesByHand(t *testing.T) {
	// Closed form at the dead centres and where the crank is square to the cylinder, at 800 rad/s, 3 MPa above the crankcase.
	//   top:     x″ = a (1 + a/l) = 51.42857 mm/rad², mass force 0.65 · 0.05142857 · 640000 = 21394.286 N
	//   bottom:  x″ = −a (1 − a/l) = −28.57143 mm/rad², 11885.714 N
	//   square:  x″ = −a²/√(l² − a²) = −1.6e-3/0.134164079 = −11.92570 mm/rad², 4961.0895 N; sin β = 2/7
	const speed, over = 800, 3e6
	top := square.Forces(train, 0, speed, over)
	assert.InDelta(t, 15000-21394.285714, top.Rod, 1e-5)
	assert.InDelta(t, 0, top.Side, 1e-9)
	assert.InDelta(t, 0, top.Torque, 1e-9)
	// The big end pulls the pin outward, away from the rod's pull: 0.35 · 0.04 · 640000 = 8960 N up, and the rod pulls up too.
	assert.InDelta(t, 6394.285714+8960, top.Pin, 1e-5)
	// Without the cap, 0.23 kg go round above the joint: 5888 N more than the rod's pull.
	assert.InDelta(t, 6394.285714+5888, top.Joint, 1e-5)

	bottom := square.Forces(train, math.Pi, speed, over)
	assert.InDelta(t, 15000+11885.714286, bottom.Rod, 1e-5)
	assert.InDelta(t, 15000+11885.714286+8960, bottom.Pin, 1e-5)
	assert.InDelta(t, -15000-11885.714286-5888, bottom.Joint, 1e-5)

	f := 15000 + 4961.089485
	sinB, cosB := 2./7, math.Sqrt(45)/7
	side := square.Forces(train, math.Pi/2, speed, over)
	assert.InDelta(t, f/cosB, side.Rod, 1e-4)
	assert.InDelta(t, f*sinB/cosB, side.Side, 1e-4)
	assert.InDelta(t, f*0.04, side.Torque, 1e-5, "the crank is square to the cylinder: its arm is the radius")
	assert.InDelta(t, math.Hypot(f, f*sinB/cosB+8960), side.Pin, 1e-4)
	assert.InDelta(t, -f/cosB-5888*sinB, side.Joint, 1e-4)
}

// The torque on the crank is the force on its pin times its arm, whatever the geometry: F dx/dθ by virtual work against rod × sin(φ + β) a by the lever,
// and the acceleration in F against a finite difference of the piston's published way.
func TestForcesOfTheCylindersOfTheTable(t *testing.T) {
	for _, r := range refdata.Read(t, "slider_crank.csv") {
		c := geometry.Cylinder{Bore: r.F(t, "bore_mm") / 1e3, Stroke: r.F(t, "stroke_mm") / 1e3, Rod: r.F(t, "rod_mm") / 1e3, CompressionRatio: r.F(t,
			"compression_ratio")}
		theta := r.F(t, "crank_deg") * deg
		f := c.Forces(train, theta, 700, 2e6)
		a := c.Stroke / 2
		beta := math.Asin(a * math.Sin(theta) / c.Rod)
		assert.InDelta(t, f.Rod*math.Sin(theta+beta)*a, f.Torque, 1e-9*math.Abs(f.Rod))
		// piston_travel_mm is the place; the difference is of the same closed form, written out here: l + a − a cos θ − √(l² − a² sin² θ).
		x := func(at float64) float64 {
			s := a * math.Sin(at)
			return c.Rod + a - a*math.Cos(at) - math.Sqrt(c.Rod*c.Rod-s*s)
		}
		assert.InDelta(t, r.F(t, "piston_travel_mm"), 1e3*x(theta), 1e-9)
		const h = 1e-4
		second := (x(theta+h) - 2*x(theta) + x(theta-h)) / (h * h)
		gas := 2e6 * c.BoreArea()
		assert.InDelta(t, gas-train.Reciprocating()*second*700*700, f.Rod*math.Cos(beta), 0.05, "of %.0f N", gas)
	}
}

func TestLoadsAtTheLimits(t *testing.T) {
	const speed = 800
	flat := func(p float64) []geometry.Pressure {
		var trace []geometry.Pressure
		for i := range 721 {
			trace = append(trace, geometry.Pressure{Angle: (float64(i) - 360) * deg, Value: p})
		}
		return trace
	}
	// No pressure difference: masses alone. The greatest tension is that at the top, m a N² (1 + a/l), and no work is done over whole turns.
	l := square.Loads(train, speed, 1e5, flat(1e5))
	assert.InDelta(t, 21394.285714, l.Tension.Value, 1e-5)
	assert.InDelta(t, 0, math.Sin(l.Tension.Angle), 1e-9)
	assert.InDelta(t, 21394.285714+5888, l.Joint.Value, 1e-5)
	assert.InDelta(t, 0, l.MeanTorque, 1e-9)
	assert.InDelta(t, 0, square.Loads(train, speed, 1e5, flat(9e5)).MeanTorque, 1e-9, "a pressure that never changes does none either")
	// No mass: gas alone, whatever the speed. Nothing pulls, and the side thrust is greatest where the rod leans most, F (a/l)/√(1 − (a/l)²).
	l = square.Loads(geometry.Masses{}, speed, 1e5, flat(31e5))
	assert.Zero(t, l.Tension)
	assert.Zero(t, l.Joint)
	assert.InDelta(t, 15000/math.Sqrt(45)*7, l.Compression.Value, 1e-6)
	assert.InDelta(t, 15000*2/math.Sqrt(45), l.Side.Value, 1e-6)
	assert.InDelta(t, l.Compression.Value, l.Pin.Value, 1e-9)
	// A rod without end neither leans nor presses the piston aside, and the masses swing as cos θ: the mean of |cos θ| is 2/π.
	long := square
	long.Rod = 1e6
	l = long.Loads(geometry.Masses{Piston: 0.5}, speed, 1e5, flat(1e5))
	assert.InDelta(t, 12800, l.Tension.Value, 0.01)
	assert.InDelta(t, 12800, l.Compression.Value, 0.01)
	assert.InDelta(t, 0, l.Side.Value, 0.01)
	assert.InEpsilon(t, 12800*2/math.Pi, l.MeanPin, 1e-4)
	// Twice the speed, four times the force.
	assert.InEpsilon(t, 4*l.Tension.Value, long.Loads(geometry.Masses{Piston: 0.5}, 2*speed, 1e5, flat(1e5)).Tension.Value, 1e-12)
}

func TestMassesRefused(t *testing.T) {
	assert.NoError(t, train.Validate())
	for _, m := range []geometry.Masses{{Piston: -1}, {SmallEnd: math.NaN()}, {BigEnd: math.Inf(1)}, {BigEnd: 0.1, Cap: 0.2}} {
		assert.Error(t, m.Validate(), "%+v", m)
	}
}
