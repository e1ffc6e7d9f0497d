package boost

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/numeric"
)

func TestSweepPlane(t *testing.T) {
	e := engine(t)
	speeds := Speeds(2000*rpm, 7000*rpm, 1000*rpm)
	pressures := []float64{30e3, 50e3, 70e3, 90e3, 110e3}
	p := SweepPlane(t.Context(), e, numeric.Curve{}, nil, speeds, pressures)
	require.Len(t, p.Cells, len(speeds))
	solver := e.NewSolver()
	for i := range speeds {
		require.NoError(t, p.FullLoad[i].Err)
		full := p.FullLoad[i].Point.ManifoldPressure
		for j, pm := range pressures {
			c := p.Cells[i][j]
			require.NoError(t, c.Err)
			assert.Equal(t, pm > full, c.Beyond, "%v Pa of %v", pm, full)
			if c.Beyond {
				continue
			}
			assert.Equal(t, airpath.Throttle, c.Point.Limit)
			assert.InEpsilon(t, pm, c.Point.ManifoldPressure, 1e-9)
			assert.Less(t, c.Point.AirFlow, p.FullLoad[i].Point.AirFlow)
			want, err := solver.Solve(airpath.Demand{Speed: speeds[i], Target: pm, Throttled: true})
			require.NoError(t, err)
			assert.Equal(t, want, c.Point)
			if j > 0 {
				assert.Greater(t, c.Point.IMEP, p.Cells[i][j-1].Point.IMEP)
			}
		}
	}
	assert.False(t, math.IsNaN(p.Cells[0][0].Point.Torque))
}
