package boost

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/exhaust"
	"bellmouth/internal/friction"
	"bellmouth/internal/fuel"
	"bellmouth/internal/gas"
	"bellmouth/internal/geometry"
	"bellmouth/internal/numeric"
	"bellmouth/internal/restrictor"
)

const (
	rpm = math.Pi / 30
	deg = math.Pi / 180
)

// engine returns an invented naturally aspirated four behind a small restrictor.
func engine(t testing.TB) *airpath.Engine {
	t.Helper()
	f, err := fuel.Named("ron98")
	require.NoError(t, err)
	pipes, err := exhaust.Default(exhaust.Geometry{Cylinders: 4, Bore: 0.0853, ExhaustCount: 2, ExhaustDiameter: 0.030})
	require.NoError(t, err)
	e, err := airpath.New(airpath.Setup{
		Venue:    gas.Air{Pressure: 1e5, Temperature: 293.15, RelativeHumidity: 0.4},
		Cylinder: geometry.Cylinder{Bore: 0.0853, Stroke: 0.0871, Rod: 0.145, CompressionRatio: 11.5}, Cylinders: 4,
		Valves: geometry.Valves{
			InletCount: 2, InletDiameter: 0.035, InletLift: 0.011, InletOpens: 18 * deg, InletCloses: 60 * deg,
			ExhaustCount: 2, ExhaustDiameter: 0.030, ExhaustLift: 0.0105, ExhaustOpens: 62 * deg, ExhaustCloses: 22 * deg,
		},
		VolumetricEfficiency: numeric.Constant(1),
		Combustion:           airpath.Combustion{BestCA50: 8 * deg, LatestCA50: 28 * deg, Efficiency: 0.97, KnockLimit: 1, StatedPressure: 1e5, StatedLambda: 0.9},
		Heat:                 airpath.Heat{Factor: 1, WallTemperature: 450, ChargeHeating: 10, ChargeEvaporation: 0.5},
		Friction:             friction.Choice{ChenFlynn: &friction.ChenFlynn{Constant: 13700, PeakPressure: 0.005, PistonSpeed: 16200}, Factor: 0.7},
		Fuel:                 f, FuelTemperature: 300, Mixture: airpath.Mixture{FullLoad: numeric.Constant(0.88)}, Pipes: pipes,
		Restrictor: &restrictor.Restrictor{Bore: 0.024, Discharge: 0.97, Recovery: 0.8},
	})
	require.NoError(t, err)
	return e
}

func TestSpeeds(t *testing.T) {
	assert.InDeltaSlice(t, []float64{1500, 2000, 2500}, Speeds(1500, 2500, 500), 1e-9)
	assert.InDeltaSlice(t, []float64{1500, 2000, 2300}, Speeds(1500, 2300, 500), 1e-9, "the end is always there")
	assert.InDeltaSlice(t, []float64{3000}, Speeds(3000, 3000, 500), 1e-9)
}

// Spread over the cores or one after another: the same points in the same order.
func TestSweep(t *testing.T) {
	e := engine(t)
	speeds := Speeds(2000*rpm, 7500*rpm, 250*rpm)
	outcomes := Sweep(t.Context(), e, numeric.Curve{}, speeds)
	require.Len(t, outcomes, len(speeds))
	solver := e.NewSolver()
	choked := false
	for i := range outcomes {
		o := &outcomes[i]
		require.NoError(t, o.Err)
		assert.Equal(t, speeds[i], o.Speed)
		assert.True(t, math.IsNaN(o.TargetBoost), "nothing is asked of a naturally aspirated engine")
		assert.Nil(t, o.Overpull)
		p, err := solver.Solve(airpath.Demand{Speed: speeds[i], Target: math.Inf(1)})
		require.NoError(t, err)
		assert.Equal(t, p, o.Point)
		assert.InDelta(t, p.ManifoldPressure-1e5, o.Boost(1e5), 1e-9)
		choked = choked || p.Limit == airpath.Restrictor
		if choked {
			assert.Equal(t, airpath.Restrictor, p.Limit, "once choked the throat stays so at higher speed")
		}
	}
	assert.True(t, choked)
	top := Highest(outcomes, func(p *airpath.Point) float64 { return p.AirFlow })
	for i := range outcomes {
		assert.LessOrEqual(t, outcomes[i].Point.AirFlow, outcomes[top].Point.AirFlow)
	}
	assert.Equal(t, -1, Highest(nil, func(p *airpath.Point) float64 { return p.Power }))
}

func TestSweepReportsWhatFails(t *testing.T) {
	e := engine(t)
	outcomes := Sweep(t.Context(), e, numeric.Curve{}, []float64{3000 * rpm, -1})
	assert.NoError(t, outcomes[0].Err)
	var pe *airpath.PointError
	assert.ErrorAs(t, outcomes[1].Err, &pe)
	assert.Equal(t, 0, Highest(outcomes, func(p *airpath.Point) float64 { return p.Power }))
}

func BenchmarkSweep(b *testing.B) {
	e := engine(b)
	speeds := Speeds(2000*rpm, 7500*rpm, 250*rpm)
	b.ReportAllocs()
	for b.Loop() {
		Sweep(b.Context(), e, numeric.Curve{}, speeds)
	}
}
