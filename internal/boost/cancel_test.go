package boost

import (
	"context"
	"math"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/airpath"
	"bellmouth/internal/numeric"
)

// cancelling returns a load that ends a context with its nth point, and counts the points.
func cancelling(cancel func(), nth int64) (load Load, begun *atomic.Int64) {
	begun = new(atomic.Int64)
	made := made(func(n float64) float64 { return 400 - math.Abs(n-4150)/20 }, nil)
	return func(v *airpath.Solver, speed float64, near airpath.Near) Outcome {
		if begun.Add(1) == nth {
			cancel()
		}
		return made(v, speed, near)
	}, begun
}

// TestSweepStops: what was begun before the context ended is there, and what was not says so.
func TestSweepStops(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	speeds := Speeds(2000*rpm, 7000*rpm, 10*rpm)
	load, begun := cancelling(cancel, 5)
	solved := 0
	for i, o := range SweepLoad(ctx, engine(t), load, speeds) {
		assert.Equal(t, speeds[i], o.Speed)
		if o.Err == nil {
			solved++
			continue
		}
		assert.ErrorIs(t, o.Err, context.Canceled)
	}
	assert.EqualValues(t, begun.Load(), solved)
	assert.GreaterOrEqual(t, solved, 5)
	assert.Less(t, solved, len(speeds))
}

// TestSweepPlaneStops: a plane that was not begun has no point, at full load and at part load.
func TestSweepPlaneStops(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	p := SweepPlane(ctx, engine(t), numeric.Curve{}, nil, []float64{3000 * rpm}, []float64{50e3, 80e3})
	assert.ErrorIs(t, p.FullLoad[0].Err, context.Canceled)
	assert.Equal(t, 3000*rpm, p.FullLoad[0].Speed)
	for _, c := range p.Cells[0] {
		assert.ErrorIs(t, c.Err, context.Canceled)
	}
}

// TestRefineStops: it ends with the points under way and returns the grid, whether the context ends while points are solved or while
// figures are computed.
func TestRefineStops(t *testing.T) {
	t.Run("points", func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		load, begun := cancelling(cancel, 10) // the first beside the nine of the grid
		s := Search{Engine: engine(t), Load: load, Figures: []Figure{{Of: torqueFigure, Limit: math.NaN()}}}
		grid := SweepLoad(ctx, s.Engine, load, Speeds(2000*rpm, 6000*rpm, 500*rpm))
		assert.Len(t, s.Refine(ctx, grid), len(grid))
		assert.ErrorIs(t, ctx.Err(), context.Canceled)
		assert.LessOrEqual(t, begun.Load(), int64(len(grid)+2), "a figure promises two points at a time: no more were asked for")
	})
	t.Run("figures", func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		load, begun := cancelling(func() {}, 0)
		s := Search{Engine: engine(t), Load: load, Figures: []Figure{{Limit: math.NaN(), Costly: true, Of: func(o *Outcome) (float64, bool) {
			cancel()
			return torqueFigure(o)
		}}}}
		grid := SweepLoad(ctx, s.Engine, load, Speeds(2000*rpm, 6000*rpm, 500*rpm))
		assert.Len(t, s.Refine(ctx, grid), len(grid))
		assert.EqualValues(t, len(grid), begun.Load(), "no point was begun after it")
	})
}
