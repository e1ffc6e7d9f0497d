package sheet

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/injector"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// planeOf returns a run's plane of count speeds and pressures, from 0.4 bar absolute to its full-load line.
func planeOf(r *Run, lo, hi float64, speeds, pressures int) boost.Plane {
	n := boost.Speeds(lo*perRPM, hi*perRPM, (hi-lo)*perRPM/float64(speeds-1))
	full := boost.Sweep(r.Context, r.Engine, r.Trim.Boost.Target, n)
	most := 0.0
	for i := range full {
		most = math.Max(most, full[i].Point.ManifoldPressure)
	}
	return boost.SweepPlane(r.Context, r.Engine, r.Trim.Boost.Target, nil, n, boost.Speeds(40e3, most, (most-40e3)/float64(pressures-1)))
}

func columnOf(t testing.TB, of table.Table, key string) int {
	t.Helper()
	for i, c := range of.Columns {
		if c.Key == key {
			return i
		}
	}
	require.Fail(t, "no column", "%s in %s", key, of.Name)
	return -1
}

// at returns a table's cell by its row and key.
func at(t testing.TB, of table.Table, row int, key string) table.Cell {
	t.Helper()
	return of.Rows[row][columnOf(t, of, key)]
}

func hasColumn(of table.Table, key string) bool {
	for _, c := range of.Columns {
		if c.Key == key {
			return true
		}
	}
	return false
}

// TestTotalFuelHasNoStep walks from each point of the plane to its neighbours in small steps of speed, fuel and pressure, and
// from each on to three times its fuel, since the capped engine does not take enough for the second set: what the pulses of
// both sets deliver is the fuel wanted, to 1e-9, where the second set comes in as everywhere.
func TestTotalFuelHasNoStep(t *testing.T) {
	const tol, steps = 1e-9, 100
	for _, name := range []string{"open", "capped"} {
		r := solved(t, hillclimb, name, 7800)
		p := planeOf(r, 1500, 7800, 23, 12)
		require.Len(t, p.Speeds, 23)
		require.Len(t, p.Pressures, 12)
		st := r.Trim.Injection.Staging
		density, err := r.Trim.Fuel.Grade.DensityAt(r.Trim.Fuel.Temperature)
		require.NoError(t, err)
		gives := func(d *injector.Delivery) float64 {
			if d.Pulse == 0 {
				return 0
			}
			return (d.Pulse - d.DeadTime) * d.MassFlow
		}
		comesIn, walks := 0, 0
		walk := func(a, b *boost.Cell) {
			if a.Beyond || b.Beyond {
				return
			}
			require.NoError(t, a.Err)
			require.NoError(t, b.Err)
			walks++
			was := injector.NoFuel
			lastGiven, lastWanted := 0.0, 0.0
			for k := range steps + 1 {
				between := func(x, y float64) float64 { return x + (y-x)*float64(k)/steps }
				wanted := between(a.Point.FuelPerCycle, b.Point.FuelPerCycle)
				s, err := st.Split(wanted, injector.Conditions{
					Speed:              between(a.Point.Speed, b.Point.Speed),
					PressureDifference: between(a.Point.RailDifference, b.Point.RailDifference),
					FuelDensity:        density, Voltage: r.Trim.Injection.SupplyVoltage,
				})
				require.NoError(t, err)
				given := gives(&s.Primary) + gives(&s.Secondary) - s.Surplus
				require.InDelta(t, wanted, given, tol*wanted)
				if k > 0 {
					require.InDelta(t, wanted-lastWanted, given-lastGiven, tol*wanted)
					if s.Secondary.Pulse > 0 && was == injector.PrimaryOnly {
						comesIn++
					}
				}
				if s.Secondary.Pulse > 0 {
					require.GreaterOrEqual(t, s.Secondary.Pulse, st.Secondary.Injector.ShortestPulse-1e-15)
				}
				require.GreaterOrEqual(t, s.Primary.Pulse, st.Primary.Injector.ShortestPulse-1e-15)
				was, lastGiven, lastWanted = s.Mode, given, wanted
			}
		}
		for i := range p.Cells {
			for j := range p.Cells[i] {
				if j+1 < len(p.Cells[i]) {
					walk(&p.Cells[i][j], &p.Cells[i][j+1])
				}
				if i+1 < len(p.Cells) {
					walk(&p.Cells[i][j], &p.Cells[i+1][j])
				}
				rich := p.Cells[i][j]
				rich.Point.FuelPerCycle *= 3
				walk(&p.Cells[i][j], &rich)
			}
		}
		assert.Greater(t, walks, 300, name)
		assert.Positive(t, comesIn, "%s: a plane where the second set comes in is needed to prove it", name)
	}
}

// TestInjectionPlaneByHand: pulse = fuel/flow + dead time, duty = pulse N/120 with N in rpm.
func TestInjectionPlaneByHand(t *testing.T) {
	r := solved(t, hillclimb, "open", 7500)
	p := boost.SweepPlane(t.Context(), r.Engine, r.Trim.Boost.Target, nil, []float64{3000 * perRPM, 7500 * perRPM}, []float64{60e3, 120e3, 250e3, 400e3})
	grid, ok := r.InjectionPlane(&p)
	require.True(t, ok)
	require.NoError(t, grid.Check())
	assert.Equal(t, table.Grid, grid.Layout)
	require.Len(t, grid.Rows, 5, "3000 rpm does not reach 2.5 bar, and nothing 4 bar")
	density, err := r.Trim.Fuel.Grade.DensityAt(303.15)
	require.NoError(t, err)
	// 550 cm3/min of 765 kg/m3 at 3 bar, here with 4 bar.
	flow := 550e-6 / 60 * 765 * math.Sqrt(4.0/3*density/765)
	dead, _ := r.Trim.Injection.Staging.Primary.Injector.DeadTime.At(13.5)
	for row := range 2 {
		pulse := at(t, grid, row, "fuel_per_cycle_kg").Number()/flow + dead
		assert.InEpsilon(t, pulse, at(t, grid, row, "primary_pulse_s").Number(), 1e-9)
		assert.InEpsilon(t, pulse*3000/120, at(t, grid, row, "primary_duty").Number(), 1e-9)
		assert.Zero(t, at(t, grid, row, "secondary_pulse_s").Number())
		assert.InDelta(t, 4e5, at(t, grid, row, "rail_difference_pa").Number(), 1e-6)
	}
	last := len(grid.Rows) - 1
	assert.Positive(t, at(t, grid, last, "secondary_share").Number())
	assert.Len(t, grid.Notes, 2, "nothing to tell of shortest pulses and duties")
	assert.False(t, grid.Columns[columnOf(t, grid, "secondary_pulse_s")].Detail)

	capped := solved(t, hillclimb, "capped", 7500)
	p = boost.SweepPlane(t.Context(), capped.Engine, capped.Trim.Boost.Target, nil, []float64{3000 * perRPM, 7500 * perRPM}, []float64{60e3, 120e3})
	grid, ok = capped.InjectionPlane(&p)
	require.True(t, ok)
	assert.True(t, grid.Columns[columnOf(t, grid, "secondary_pulse_s")].Detail, "grids of zeros are left to scripts")
	assert.Contains(t, grid.Notes[2], "not work at any of these points")
}

// TestInjectionPlaneFixedRail: a regulator that does not follow the manifold leaves more over the injectors in vacuum.
func TestInjectionPlaneFixedRail(t *testing.T) {
	r := solved(t, clubFour, "free", 6000)
	p := boost.SweepPlane(t.Context(), r.Engine, r.Trim.Boost.Target, nil, []float64{3000 * perRPM}, []float64{40e3, 80e3})
	grid, ok := r.InjectionPlane(&p)
	require.True(t, ok)
	require.NoError(t, grid.Check())
	for row, pm := range []float64{40e3, 80e3} {
		assert.InDelta(t, 3.5e5+r.Trim.Venue.Pressure-pm, at(t, grid, row, "rail_difference_pa").Number(), 1)
	}
	assert.False(t, hasColumn(grid, "secondary_share"))
	p.Cells[0][0].Err = &airpath.PointError{Speed: 3000 * perRPM, Stage: "manifold", Reason: "no way"}
	grid, _ = r.InjectionPlane(&p)
	require.NoError(t, grid.Check())
	assert.Equal(t, `no solution: trim "free", 3000 rpm: manifold: no way`, units.Resolve(at(t, grid, 0, "primary_duty").Note(), units.Metric))
	r.Trim.Injection = nil
	_, ok = r.InjectionPlane(&p)
	assert.False(t, ok)
}

// TestShortestPulse: injectors too large for light load get their shortest pulse, and the table says where and by how much.
func TestShortestPulse(t *testing.T) {
	trim := trimOf(t, clubFour, "free")
	trim.Injection.Staging.Primary.Injector.RatedFlow *= 8
	r, err := Solve(t.Context(), "fuel", trim, []float64{2000 * perRPM, 6000 * perRPM})
	require.NoError(t, err)
	p := planeOf(r, 2000, 6000, 5, 6)
	grid, ok := r.InjectionPlane(&p)
	require.True(t, ok)
	shortest := trim.Injection.Staging.Primary.Injector.ShortestPulse
	held, most := 0, 0.0
	for row := range grid.Rows {
		pulse := at(t, grid, row, "primary_pulse_s")
		assert.GreaterOrEqual(t, pulse.Number(), shortest-1e-15)
		surplus := at(t, grid, row, "surplus_share").Number()
		assert.Equal(t, surplus > 0, pulse.Note() != "")
		if surplus > 0 {
			held++
			assert.InDelta(t, shortest, pulse.Number(), 1e-12)
			assert.Equal(t, table.Caution, pulse.Tone())
		}
		most = math.Max(most, surplus)
	}
	assert.Positive(t, held)
	assert.Less(t, held, len(grid.Rows))
	assert.Regexp(t, `^\d+ of \d+ points need less fuel than the primary's shortest pulse, 1\.50 ms, gives\.`, grid.In(units.Metric).Notes[2])
}

// TestSecondSet: what is suggested stands in the table, and how the spec's start lies to it; the figures by hand stand in package run.
func TestSecondSet(t *testing.T) {
	r := solved(t, hillclimb, "open", 3000, 6000)
	second, ok := r.SecondSet()
	require.True(t, ok)
	require.NoError(t, second.Check())
	want, err := r.Run.SecondSet(0.10)
	require.NoError(t, err)
	assert.InEpsilon(t, want.StartDuty, at(t, second, 0, "earliest_start_duty").Number(), 1e-9)
	assert.InDelta(t, 7800*perRPM, at(t, second, 0, "decided_rpm").Number(), 1e-9)
	assert.InDelta(t, 0.9, at(t, second, 0, "latest_start_duty").Number(), 1e-12)
	assert.Equal(t, "between the two", at(t, second, 0, "start_verdict").Text())

	verdict := func(start, allowed float64) table.Cell {
		r.Trim.Injection.Staging.StartDuty, r.Trim.Limits.InjectorDuty = start, allowed
		second, ok := r.SecondSet()
		require.True(t, ok)
		require.NoError(t, second.Check())
		return at(t, second, 0, "start_verdict")
	}
	assert.Equal(t, "too early", verdict(0.1, 0.9).Text())
	assert.Equal(t, "too late", verdict(0.95, 0.9).Text())
	none := verdict(0.5, 0.1)
	assert.Equal(t, table.NoValue, none.Content())
	assert.Equal(t, "the second set could come in from a primary duty of 20 % on, above the 10 % allowed; before, the second set's pulse would come too near its shortest", none.Note())

	_, ok = solved(t, clubFour, "free", 3000).SecondSet()
	assert.False(t, ok)
}
