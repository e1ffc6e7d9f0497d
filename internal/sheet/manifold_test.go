package sheet

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/manifold"
	"bellmouth/internal/render"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

// manifoldTables returns all tables of the command.
func manifoldTables(t testing.TB, r *Run) []table.Table {
	t.Helper()
	all, err := r.Manifold()
	require.NoError(t, err)
	air, err := r.ManifoldAir()
	require.NoError(t, err)
	all = append(all, air)
	for _, build := range []func() (table.Table, bool, error){r.Cylinders, r.SpreadCost} {
		one, ok, err := build()
		require.NoError(t, err)
		if ok {
			all = append(all, one)
		}
	}
	return all
}

// named returns the table of a name.
func named(t testing.TB, all []table.Table, name string) table.Table {
	t.Helper()
	for _, one := range all {
		if one.Name == name {
			return one
		}
	}
	require.Fail(t, "no table", name)
	return table.Table{}
}

// number returns the number in a row of a table.
func number(t testing.TB, of table.Table, row int, key string) float64 {
	t.Helper()
	c := cell(t, of, row, key)
	require.Equal(t, table.NumberCell, c.Content(), "%s of row %d: %s", key, row, c.Note())
	return c.Number()
}

func cell(t testing.TB, of table.Table, row int, key string) table.Cell {
	t.Helper()
	for i, c := range of.Columns {
		if c.Key == key {
			return of.Rows[row][i]
		}
	}
	require.Fail(t, "no column", key)
	return table.Cell{}
}

// altered returns a run whose trim has been changed before it was solved.
func altered(t testing.TB, path, name string, change func(*spec.Trim), speeds ...float64) *Run {
	t.Helper()
	trim := trimOf(t, path, name)
	if trim.Manifold != nil {
		m := *trim.Manifold
		trim.Manifold = &m
		if m.Spread != nil {
			s := *m.Spread
			m.Spread = &s
		}
		trim.Manifold = &m
	}
	change(trim)
	for i := range speeds {
		speeds[i] *= perRPM
	}
	r, err := Solve(t.Context(), "manifold", trim, speeds)
	require.NoError(t, err)
	return r
}

func TestManifoldTablesAreSound(t *testing.T) {
	lost := solved(t, hillclimb, "capped", 2000, 4000, 6000)
	lost.Outcomes[1].Err = &airpath.PointError{Speed: lost.Outcomes[1].Speed, Stage: "turbine", Reason: "no expansion ratio drives the compressor"}
	none := solved(t, hillclimb, "capped", 2000)
	none.Outcomes[0].Err = lost.Outcomes[1].Err
	bare := func(change func(m *spec.Manifold)) *Run {
		return altered(t, hillclimb, "capped", func(trim *spec.Trim) { change(trim.Manifold) }, 4500)
	}
	for name, r := range map[string]*Run{
		"open": solved(t, hillclimb, "open", 2000, 6000), "capped": solved(t, hillclimb, "capped", 2000, 6000),
		"free": solved(t, clubFour, "free", 2000, 6000), "restricted": solved(t, clubFour, "restricted", 2000, 8000),
		"a point lost": lost, "nothing solved": none,
		"no runner":   bare(func(m *spec.Manifold) { m.Runner = nil }),
		"no throttle": bare(func(m *spec.Manifold) { m.Throttle, m.Duct = nil, nil }),
		"no plenum":   bare(func(m *spec.Manifold) { m.Plenum = 0 }),
		"no spread":   bare(func(m *spec.Manifold) { m.Spread = nil }),
		"nothing":     bare(func(m *spec.Manifold) { *m = spec.Manifold{} }),
		"fat runner": bare(func(m *spec.Manifold) {
			m.Runner = &manifold.Runner{Length: 0.2, Bore: 0.15}
			m.Throttle = &spec.Throttle{Duct: manifold.Duct{Bore: 0.02, LossCoefficient: 1}, Count: 1}
		}),
		"thin runner": bare(func(m *spec.Manifold) { m.Runner = &manifold.Runner{Length: 3, Bore: 0.01} }),
	} {
		doc := table.Document{Command: "manifold", Tables: manifoldTables(t, r)}
		assert.NoError(t, doc.Check(), name)
		assert.NoError(t, render.Text(discard{}, doc, render.Options{}), name)
	}
}

// TestRunnerByHand: the runner's figures against the closed forms, with a speed of sound of dry air, γ 1.4: the venue's moist air
// has one 0.2 % higher.
func TestRunnerByHand(t *testing.T) {
	r := solved(t, hillclimb, "capped", 3500, 4500, 5500, 6500, 7500)
	all := manifoldTables(t, r)
	pipe, neck := named(t, all, "runner as a pipe"), named(t, all, "runner as a neck")
	sound := func(of table.Table, row int) float64 {
		return math.Sqrt(1.4 * 287.05 * number(t, of, row, "manifold_temperature_k"))
	}
	const (
		bore = 0.042
		end  = 0.8216 * bore / 2 // flush
		long = 0.330 + end
		area = math.Pi / 4 * bore * bore
	)
	// Mean volume: 84 mm by 82 mm is 454.4 cm³; half of it times 9.6/7.6 at a compression ratio of 8.6 is 287.0 cm³. The spec's
	// ratio is the last figure.
	c := r.Trim.Engine.Cylinder
	volume := math.Pi / 4 * 0.084 * 0.084 * 0.082 / 2 * (c.CompressionRatio + 1) / (c.CompressionRatio - 1)
	for i := range pipe.Rows {
		k, n, l := number(t, pipe, i, "pipe_order"), number(t, pipe, i, "pipe_tuning_rpm")/perRPM, number(t, pipe, i, "pipe_length_m")
		// A quarter of a wave in the length, k of them in two turns: N = 2 · 60 f/k with f = a/(4 L).
		assert.InEpsilon(t, 30*sound(pipe, i)/(k*(l+end)), n, 3e-3, "row %d", i)
		assert.InDelta(t, l-0.330, number(t, pipe, i, "length_change_m"), 1e-12)
		assert.InDelta(t, 360/k, number(t, pipe, i, "wave_return_deg")*180/math.Pi, 1e-9)
	}
	for i := range neck.Rows {
		k, n, l := number(t, neck, i, "neck_ratio"), number(t, neck, i, "helmholtz_tuning_rpm")/perRPM, number(t, neck, i, "helmholtz_length_m")
		assert.InEpsilon(t, 60*sound(neck, i)/(2*math.Pi*k)*math.Sqrt(area/((l+end)*volume)), n, 3e-3, "row %d", i)
	}
	head := named(t, all, "manifold")
	assert.InDelta(t, long, number(t, head, 0, "acoustic_length_m"), 1e-12)
	assert.InEpsilon(t, volume, number(t, head, 0, "mean_cylinder_volume_m3"), 1e-9)
	// Second gear lands lowest: 2.05/2.92 of the limiter's 7800 rpm.
	assert.InDelta(t, 7800*2.05/2.92, number(t, head, 0, "band_from_rpm")/perRPM, 1e-6)
	assert.InDelta(t, 7800, number(t, head, 0, "band_to_rpm")/perRPM, 1e-6)
	assert.InDelta(t, peakTorque(t, r), number(t, head, 0, "peak_torque_rpm")/perRPM, 30)
}

// peakTorque is the speed of highest torque, rpm, of a sweep in steps of 10 rpm. Next to it the torque is flat: 30 rpm are 0.05 % of it.
func peakTorque(t *testing.T, r *Run) float64 {
	t.Helper()
	outcomes := boost.Sweep(t.Context(), r.Engine, r.Trim.Boost.Target, boost.Speeds(3500*perRPM, 5500*perRPM, 10*perRPM))
	best := boost.Highest(outcomes, func(p *airpath.Point) float64 { return p.Torque })
	require.GreaterOrEqual(t, best, 0)
	return outcomes[best].Speed / perRPM
}

// TestLengthIsTuned: a runner of the length found for a speed is tuned to that speed.
func TestLengthIsTuned(t *testing.T) {
	r := solved(t, hillclimb, "open", 3500, 4500, 5500, 6500, 7500)
	for _, name := range []string{"runner as a pipe", "runner as a neck"} {
		of := func(r *Run) table.Table { return named(t, manifoldTables(t, r), name) }
		order, speed, length := "pipe_order", "pipe_tuning_rpm", "pipe_length_m"
		if name == "runner as a neck" {
			order, speed, length = "neck_ratio", "helmholtz_tuning_rpm", "helmholtz_length_m"
		}
		sought := of(r)
		last := len(sought.Rows) - 1
		for _, row := range []int{last, last - 1, last - 2, last - 3} {
			runner := *r.Trim.Manifold.Runner
			runner.Length = number(t, sought, row, length)
			m := *r.Trim.Manifold
			m.Runner = &runner
			trim := *r.Trim
			trim.Manifold = &m
			built := of(&Run{Run: &run.Run{Trim: &trim, Engine: r.Engine, Outcomes: r.Outcomes, Context: t.Context()}})
			for i := range built.Rows {
				if cell(t, built, i, "tuned_for").Text() == "as it is" && number(t, built, i, order) == number(t, sought, row, order) {
					assert.InEpsilon(t, number(t, sought, row, speed), number(t, built, i, speed), 1e-8)
				}
			}
		}
	}
}

// TestBandWithoutGears runs from peak torque to the limiter.
func TestBandWithoutGears(t *testing.T) {
	r := altered(t, hillclimb, "capped", func(trim *spec.Trim) { trim.Driveline.Gears = nil }, 3500, 4500, 5500)
	head := named(t, manifoldTables(t, r), "manifold")
	assert.InDelta(t, peakTorque(t, r), number(t, head, 0, "band_from_rpm")/perRPM, 30)
	assert.InDelta(t, 7800, number(t, head, 0, "band_to_rpm")/perRPM, 1e-9)
	assert.Contains(t, cell(t, head, 0, "band_source").Text(), "the spec gives no gears")
}

// TestManifoldAirByHand holds speeds and losses against continuity and dynamic head.
func TestManifoldAirByHand(t *testing.T) {
	r := solved(t, hillclimb, "capped", 6500)
	air := named(t, manifoldTables(t, r), "manifold air")
	p := r.Outcomes[0].Point
	// Mean piston speed 0.082 · 6500/30 = 17.767 m/s, four times that in a runner of half the bore.
	assert.InEpsilon(t, 71.07, number(t, air, 0, "runner_velocity_m_s"), 1e-3)
	sound := math.Sqrt(1.4 * 287.05 * p.ManifoldTemperature)
	assert.InEpsilon(t, 71.07/sound, number(t, air, 0, "runner_mach"), 4e-3)
	density := p.ManifoldPressure / (287.05 * p.ManifoldTemperature) // dry: moist air is up to 0.5 % lighter
	// The throttle: 66 mm bore less a strip of 8 mm, and the duct of 68 mm; compressing changes the head by M²/2, below 1 %.
	open := math.Pi/4*0.066*0.066 - 0.008*0.066
	for name, area := range map[string]float64{"throttle": open, "duct": math.Pi / 4 * 0.068 * 0.068} {
		v := p.AirFlow / (density * area)
		loss := map[string]float64{"throttle": 0.25, "duct": 1.4}[name] * density * v * v / 2
		assert.InEpsilon(t, v, number(t, air, 0, name+"_velocity_m_s"), 0.02, name)
		assert.InEpsilon(t, loss, number(t, air, 0, name+"_loss_pa"), 0.03, name)
	}
	// Two throttles have half of the air each, and so a quarter of the loss.
	twins := altered(t, hillclimb, "capped", func(trim *spec.Trim) {
		th := *trim.Manifold.Throttle
		th.Count = 2
		trim.Manifold.Throttle = &th
	}, 6500)
	pair := named(t, manifoldTables(t, twins), "manifold air")
	assert.InEpsilon(t, number(t, air, 0, "throttle_loss_pa")/4, number(t, pair, 0, "throttle_loss_pa"), 0.02)
	// Taylor's index: bore² over the heads' diameters² times piston speed over the flow coefficient and the speed of sound.
	v := r.Trim.Engine.Valves
	ci, _ := v.MeanInletFlowCoefficient()
	z := 0.084 * 0.084 / (float64(v.InletCount) * v.InletDiameter * v.InletDiameter) * 17.767 / (ci * sound)
	assert.InEpsilon(t, z, number(t, air, 0, "inlet_mach_index"), 4e-3)
}
